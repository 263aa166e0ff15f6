package assess

import (
	"math"
	"slices"
)

// An interval is a closed range of leads in metres; lo > hi is empty.
type interval struct{ lo, hi float64 }

func (i interval) empty() bool { return !(i.lo <= i.hi) }

// dust is the part of a millimetre that binary rounding may eat at the end of
// a range: positions are found by division and checked by multiplication.
const dust = 1e-9 // m

// halfLine returns where a + b·lead keeps the limit, for "at most".
func atMost(a, b, limit float64) interval {
	room := limit - a
	switch {
	case math.IsNaN(room) || math.IsNaN(b):
		return interval{1, 0}
	case b > 0:
		return interval{math.Inf(-1), room / b}
	case b < 0:
		return interval{room / b, math.Inf(1)}
	case room >= -1e-9*math.Abs(limit):
		return interval{math.Inf(-1), math.Inf(1)}
	}
	return interval{1, 0}
}

func atLeast(a, b, limit float64) interval { return atMost(-a, -b, -limit) }

// intersect keeps of each interval in set what lies in one of with. Both are
// sorted and disjoint, and so is the result.
func intersect(set, with []interval) []interval {
	var out []interval
	for _, a := range set {
		for _, b := range with {
			if c := (interval{math.Max(a.lo, b.lo), math.Min(a.hi, b.hi)}); c.lo <= c.hi+dust {
				if c.lo > c.hi { // they touch but for binary dust
					c.lo = c.hi
				}
				out = append(out, c)
			}
		}
	}
	return out
}

// union sorts and joins intervals that meet.
func union(set []interval) []interval {
	set = slices.DeleteFunc(set, interval.empty)
	slices.SortFunc(set, func(a, b interval) int {
		switch {
		case a.lo < b.lo:
			return -1
		case a.lo > b.lo:
			return 1
		}
		return 0
	})
	var out []interval
	for _, i := range set {
		if n := len(out); n > 0 && i.lo <= out[n-1].hi+dust {
			out[n-1].hi = math.Max(out[n-1].hi, i.hi)
			continue
		}
		out = append(out, i)
	}
	return out
}

// summit returns the lead in [lo, hi] at which the least of the lines
// m + s·lead is greatest. The least of straight lines is concave, so walking
// from the left along the lowest line, from crossing to crossing, ends at the
// summit; no sampling. On a flat top it returns the middle of it.
func summit(lines []margin, lo, hi float64) float64 {
	if len(lines) == 0 || !(lo < hi) || math.IsInf(lo, 0) || math.IsInf(hi, 0) {
		return lo
	}
	at := lo
	for range len(lines) + 1 {
		low := lowest(lines, at)
		if lines[low].s < 0 {
			break
		}
		next, flat := hi, lines[low].s == 0
		for _, l := range lines {
			if l.s < lines[low].s {
				if x := (lines[low].m - l.m) / (l.s - lines[low].s); x > at && x < next {
					next = x
				}
			}
		}
		if flat {
			return (at + next) / 2
		}
		if at = next; at >= hi {
			return hi
		}
	}
	return at
}

// A margin is one finding's room as a share of its scale: m + s·lead.
type margin struct{ m, s float64 }

// lowest returns the line that is lowest at x, of those the one that falls
// most to the right.
func lowest(lines []margin, x float64) int {
	best := 0
	for i := range lines {
		d := (lines[i].m + lines[i].s*x) - (lines[best].m + lines[best].s*x)
		if d < -1e-12 || (d < 1e-12 && lines[i].s < lines[best].s) {
			best = i
		}
	}
	return best
}
