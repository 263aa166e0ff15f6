package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/bolting"
	"underpin/unit"
)

// A Place is one hole of a pattern, numbered from 1 in the order of entry:
// single holes, then rows, then their images on the other side.
type Place struct {
	Number  int
	X, Y, D unit.Length
}

// Places lists the holes of a pattern. A pattern that lacks a number lists
// nothing.
func (p *Pattern) Places() []Place {
	if p == nil {
		return nil
	}
	var out []Place
	for i := range p.Holes {
		h := &p.Holes[i]
		if h.X == nil || h.Y == nil || h.D == nil {
			return nil
		}
		out = append(out, Place{X: *h.X, Y: *h.Y, D: *h.D})
	}
	for i := range p.Rows {
		r := &p.Rows[i]
		if r.First == nil || r.Y == nil || r.D == nil || r.Count < 1 || r.Count > mostHoles || r.Count > 1 && r.Pitch == nil {
			return nil
		}
		if len(out) > mostHoles {
			break // refused when the file is read
		}
		for k := range r.Count {
			x := *r.First
			if k > 0 {
				x += unit.Length(k) * *r.Pitch
			}
			out = append(out, Place{X: x, Y: *r.Y, D: *r.D})
		}
	}
	if p.Mirrored {
		for _, h := range slices.Clone(out) {
			if h.Y != 0 {
				out = append(out, Place{X: h.X, Y: -h.Y, D: h.D})
			}
		}
	}
	for i := range out {
		out[i].Number = i + 1
	}
	return out
}

// mostHoles is more than any plate has.
const mostHoles = 200

// points are the places as a bolt group sees them.
func points(places []Place) []bolting.Point {
	out := make([]bolting.Point, len(places))
	for i, p := range places {
		out[i] = bolting.Point{X: p.X, Y: p.Y}
	}
	return out
}

// overlap returns the first two holes of a pattern that run into each other.
func overlap(places []Place) (a, b Place, found bool) {
	for i := range places {
		for k := i + 1; k < len(places); k++ {
			p, q := places[i], places[k]
			if math.Hypot(float64(p.X-q.X), float64(p.Y-q.Y)) < float64(p.D+q.D)/2-1e-9 {
				return p, q, true
			}
		}
	}
	return Place{}, Place{}, false
}

// matching is how far two places may be apart that a drawing gives as one. The
// play of a bolt in its hole is not used up for it.
const matching unit.Length = 0.25e-3

// shifts returns how far a foot may be moved along x from where the two
// patterns' middles lie over each other, so that every hole of the foot lies on
// one of the support. Rising, each once.
func shifts(foot, top []Place) []unit.Length {
	if len(foot) == 0 || len(foot) > len(top) {
		return nil
	}
	grid := slices.Clone(top)
	slices.SortFunc(grid, byXY)
	var out []unit.Length
	for _, t := range top {
		if !near(t.Y, foot[0].Y) {
			continue
		}
		by := t.X - foot[0].X
		if covers(grid, foot, by) {
			out = append(out, by)
		}
	}
	slices.Sort(out)
	return slices.CompactFunc(out, near)
}

func near(a, b unit.Length) bool { return a-b <= matching && b-a <= matching }

func byXY(a, b Place) int {
	switch {
	case a.X < b.X:
		return -1
	case a.X > b.X:
		return 1
	}
	return 0
}

// covers tells whether every hole of the foot, moved along, lies on one of a
// grid sorted by x.
func covers(grid, foot []Place, by unit.Length) bool {
	for _, f := range foot {
		x := f.X + by
		i, _ := slices.BinarySearchFunc(grid, x-matching, func(p Place, x unit.Length) int {
			if p.X < x {
				return -1
			}
			return 1
		})
		hit := false
		for ; i < len(grid) && grid[i].X <= x+matching && !hit; i++ {
			hit = near(grid[i].Y, f.Y)
		}
		if !hit {
			return false
		}
	}
	return true
}

func (p Place) String() string {
	return fmt.Sprintf("hole %d (x %s, y %s)", p.Number, mm(p.X), mm(p.Y))
}

// mm writes a length in millimetres, as many digits as it has.
func mm(l unit.Length) string { return unit.Text(float64(l), unit.MM) }
