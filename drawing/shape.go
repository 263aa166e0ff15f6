package drawing

import (
	"math"

	"underpin/scene"
)

// A corner is a point of an outline that is rounded off.
type corner struct{ x, y, r float64 }

// outline turns corners into a closed line of points.
func outline(cs ...corner) []scene.Pt { return bend(cs, true) }

// bend rounds off the corners of a line. A rounding is never more than half of
// the shorter side that meets in it.
func bend(cs []corner, closed bool) []scene.Pt {
	n := len(cs)
	out := make([]scene.Pt, 0, 4*n)
	for i, c := range cs {
		p := scene.Pt{X: c.x, Y: c.y}
		if c.r <= 0 || (!closed && (i == 0 || i == n-1)) {
			out = append(out, p)
			continue
		}
		a, b := cs[(i+n-1)%n], cs[(i+1)%n]
		ax, ay, al := a.x-c.x, a.y-c.y, math.Hypot(a.x-c.x, a.y-c.y)
		bx, by, bl := b.x-c.x, b.y-c.y, math.Hypot(b.x-c.x, b.y-c.y)
		if al == 0 || bl == 0 {
			out = append(out, p)
			continue
		}
		// Tangent length of an arc of radius r in the angle between the sides.
		half := math.Acos(math.Max(-1, math.Min(1, (ax*bx+ay*by)/(al*bl)))) / 2
		t := c.r / math.Tan(math.Max(half, 0.05))
		t = math.Min(t, math.Min(al, bl)/2)
		if half > 1.5 { // as good as straight
			out = append(out, p)
			continue
		}
		p0 := scene.Pt{X: c.x + ax/al*t, Y: c.y + ay/al*t}
		p1 := scene.Pt{X: c.x + bx/bl*t, Y: c.y + by/bl*t}
		steps := math.Max(3, math.Min(10, math.Round(t/45)))
		for k := 0.; k <= steps; k++ {
			u := k / steps
			v := 1 - u
			out = append(out, scene.Pt{X: v*v*p0.X + 2*u*v*c.x + u*u*p1.X, Y: v*v*p0.Y + 2*u*v*c.y + u*u*p1.Y})
		}
	}
	return out
}

// arch returns points on an arc about a centre from one bearing to another,
// both in radians, ends included.
func arch(x, y, r, from, to float64) []corner {
	const steps = 14
	out := make([]corner, 0, steps+1)
	for k := 0; k <= steps; k++ {
		a := from + (to-from)*float64(k)/steps
		out = append(out, corner{x + r*math.Cos(a), y + r*math.Sin(a), 0})
	}
	return out
}
