package turning

import (
	"math"
	"sort"

	"underpin/unit"
)

// SweptInput is a left-hand turn between two straights.
type SweptInput struct {
	Train  Train
	Radius unit.Length // R of the guided point's arc
	Angle  unit.Angle  // of the turn
}

// SweptResult is the widest place of the swept path.
type SweptResult struct {
	Width   unit.Length
	Along   unit.Length // where, along the guided path from the beginning of the arc
	Azimuth unit.Angle  // the same as an angle from the beginning of the arc, not beyond its ends
	Outer   unit.Length // distance of the outer edge of the path from the arc's centre; on a straight, square to it
	Inner   unit.Length // of the inner edge
}

// SweptWidth returns the greatest width of the path that all outlines of a
// train sweep in a turn between two straights, measured square to the guided
// path: along the radius on the arc, along the perpendicular on the straights.
// At each place
//
//	width = max over time (outer edge) − min over time (inner edge)
//
// in m, over all units. The motion is that of Follow. Place and time are
// refined on the solution; the width is exact to 0.1 mm.
//
// Valid for the inputs of Follow and 0 < angle ≤ 180°; errors as there.
//
// Source: the manoeuvre of 90° on 12.5 m with straight tangents, led by the
// outermost point of the foremost outside steered wheel: New Zealand method
// for estimating a vehicle's low speed turning performance; evaluation derived.
func SweptWidth(in SweptInput) (SweptResult, error) {
	const name = "swept width"
	if err := in.Train.check(name); err != nil {
		return SweptResult{}, err
	}
	k := check{formula: name}
	k.positive("radius", in.Radius)
	k.want(0 < in.Angle && in.Angle <= math.Pi, "angle", float64(in.Angle), "0 < angle ≤ 180°")
	if k.err != nil {
		return SweptResult{}, k.err
	}
	s := sweep{chain: newChain(in.Train), radius: float64(in.Radius), arc: float64(in.Radius) * float64(in.Angle)}
	long := s.length()
	course, err := legs(name, []Segment{
		{Length: unit.Length(s.arc), Radius: in.Radius},
		{Length: unit.Length(3 * long)},
	})
	if err != nil {
		return SweptResult{}, err
	}
	s.course = course
	if s.run, err = s.chain.run(name, course, s.stride()); err != nil {
		return SweptResult{}, err
	}
	for i := range s.run {
		at := &s.run[i]
		s.at = append(s.at, course[at.leg].s0+at.s)
		s.frame = append(s.frame, s.frames(&course[at.leg], at.s, &at.θ))
	}
	// From the straight on which the train stands at first to where all of it
	// has passed.
	from, to := -long, s.arc+2*long
	n := int(math.Ceil((to - from) / (2 * s.stride())))
	step := (to - from) / float64(n)
	best, width := 0, math.Inf(-1)
	for i := 0; i <= n; i++ {
		if _, _, w := s.width(from+float64(i)*step, false); w > width {
			best, width = i, w
		}
	}
	fine := func(x float64) float64 { _, _, w := s.width(x, true); return w }
	x := from + float64(best)*step
	x, _ = refine(fine, bracket{x - step, x, x + step, fine(x - step), fine(x), fine(x + step)}, 1e-9)
	outer, inner, w := s.width(x, true)
	return SweptResult{
		Width: unit.Length(w), Along: unit.Length(x),
		Azimuth: unit.Angle(math.Max(0, math.Min(x, s.arc)) / s.radius),
		Outer:   unit.Length(outer), Inner: unit.Length(inner),
	}, nil
}

type sweep struct {
	chain
	radius, arc float64
	course      []leg
	run         []sample
	at          []float64 // along the course, of each sample
	frame       [][maxUnits]frame
}

// width of the swept path at a place of the guided path; fine refines the
// moments at which the edges are reached.
func (s *sweep) width(place float64, fine bool) (outer, inner, width float64) {
	// The place, and the unit vector from it towards the centre.
	g := s.course[0]
	switch {
	case place < 0:
		g.κ = 0
	case place > s.arc:
		g = s.course[1]
		place -= s.arc
	}
	x, y, cos, sin := g.point(place)
	across := func(f *[maxUnits]frame, sign float64) float64 {
		most := math.Inf(-1)
		for i := 0; i < s.n; i++ {
			u := &s.units[i]
			ahead, left := f[i].local(x, y)
			dx, dy := -sin*f[i].cos+cos*f[i].sin, cos*f[i].cos+sin*f[i].sin
			cut := span{math.Inf(-1), s.radius} // not beyond the centre
			cut.clip(ahead, dx, -u.rear, u.front)
			cut.clip(left, dy, -u.half, u.half)
			if cut.lo <= cut.hi {
				most = math.Max(most, math.Max(sign*cut.lo, sign*cut.hi))
			}
		}
		return most
	}
	edge := func(sign float64) float64 {
		best, most := -1, math.Inf(-1)
		for i := range s.frame {
			if v := across(&s.frame[i], sign); v > most {
				best, most = i, v
			}
		}
		if fine && best > 0 && best < len(s.at)-1 {
			x0, x1, x2 := s.at[best-1], s.at[best], s.at[best+1]
			// At a joint two samples stand at one place.
			if x0 == x1 && best > 1 {
				x0 = s.at[best-2]
			}
			if x2 == x1 && best+2 < len(s.at) {
				x2 = s.at[best+2]
			}
			value := func(t float64) float64 {
				f := s.moment(t)
				return across(&f, sign)
			}
			if _, v := refine(value, bracket{x0, x1, x2, value(x0), most, value(x2)}, 1e-9); v > most {
				most = v
			}
		}
		return most
	}
	left, right := edge(1), edge(-1)
	if place < 0 { // the wider units in front have passed before
		for i := 0; i < s.n; i++ {
			left = math.Max(left, s.units[i].half-s.b)
			right = math.Max(right, s.units[i].half+s.b)
		}
	}
	return s.radius + right, s.radius - left, left + right
}

// moment places the units when the guided point has covered t of the course.
func (s *sweep) moment(t float64) [maxUnits]frame {
	i := sort.SearchFloat64s(s.at, t)
	if i == len(s.at) || s.at[i] > t {
		i--
	}
	for i+1 < len(s.at) && s.at[i+1] <= t {
		i++
	}
	from := &s.run[i]
	g := &s.course[from.leg]
	at := t - g.s0
	θ := s.move(g, from.s, from.θ, at-from.s)
	return s.frames(g, at, &θ)
}

// A span is the part of a line that lies in an outline; empty when lo > hi.
type span struct{ lo, hi float64 }

// clip keeps the part for which min ≤ from + t·by ≤ max.
func (c *span) clip(from, by, min, max float64) {
	if by == 0 {
		if from < min || from > max {
			c.lo, c.hi = 1, 0
		}
		return
	}
	t0, t1 := (min-from)/by, (max-from)/by
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	c.lo, c.hi = math.Max(c.lo, t0), math.Min(c.hi, t1)
}
