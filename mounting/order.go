package mounting

import (
	"math"
	"slices"
)

// Tightening returns the numbers of the bolts of a pattern in the order in
// which they are tightened: from the middle outwards, and on each ring across
// to the bolt that lies most nearly opposite, so that the parts settle evenly.
//
// Bolts that are equally far from the middle, to within a millimetre, are one
// ring. Each ring begins with its foremost bolt, the left one of two. That the
// order is crosswise is common practice, no source; where the part's document
// gives another, that holds.
func Tightening(places []Place) []int {
	var mx, my float64
	for _, p := range places {
		mx += float64(p.X) / float64(len(places))
		my += float64(p.Y) / float64(len(places))
	}
	// To the micrometre, so that a bolt and its image are equally far.
	far := func(p Place) float64 { return math.Round(math.Hypot(float64(p.X)-mx, float64(p.Y)-my)*1e6) / 1e6 }
	left := slices.Clone(places)
	slices.SortStableFunc(left, func(a, b Place) int {
		if d := far(a) - far(b); math.Abs(d) > 1e-9 {
			return sign(d)
		}
		return foremost(a, b)
	})
	var out []int
	for len(left) > 0 {
		n := 1
		for n < len(left) && far(left[n])-far(left[0]) < 1e-3 {
			n++
		}
		ring := left[:n]
		left = left[n:]
		slices.SortStableFunc(ring, foremost)
		for last := -1; len(ring) > 0; {
			next := 0
			if last >= 0 {
				// The point across the middle from the bolt before.
				p := places[last]
				ox, oy := 2*mx-float64(p.X), 2*my-float64(p.Y)
				off := func(q Place) float64 { return math.Hypot(float64(q.X)-ox, float64(q.Y)-oy) }
				for i := range ring {
					if off(ring[i]) < off(ring[next])-1e-9 {
						next = i
					}
				}
			}
			last = slices.IndexFunc(places, func(q Place) bool { return q.Number == ring[next].Number })
			out = append(out, ring[next].Number)
			ring = slices.Delete(slices.Clone(ring), next, next+1)
		}
	}
	return out
}

// foremost orders bolts front to rear, then left to right, then as entered.
func foremost(a, b Place) int {
	if d := float64(a.X - b.X); math.Abs(d) > 1e-9 {
		return sign(d)
	}
	if d := float64(b.Y - a.Y); math.Abs(d) > 1e-9 {
		return sign(d)
	}
	return a.Number - b.Number
}

func sign(v float64) int {
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}
