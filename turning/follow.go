package turning

import (
	"math"

	"underpin/unit"
)

// FollowInput is a train that is led along a course, aligned at its beginning.
type FollowInput struct {
	Train  Train
	Course []Segment
}

// FollowResult holds the extremes over the whole course.
type FollowResult struct {
	Hitches []HitchResult // one for each towed unit
	Arcs    []ArcResult   // one for each arc of the course
	End     Pose
}

// HitchResult is the articulation at the hitch of one towed unit, positive
// when the unit points to the right of the one in front.
type HitchResult struct {
	Max, Min, End unit.Angle
}

// ArcResult is what the units do about one arc of the course.
type ArcResult struct {
	Segment int // index in the course
	Centre  Point
	Units   []UnitResult // the tractor first
}

// UnitResult is one unit and one arc.
type UnitResult struct {
	InnerAxle unit.Length // least distance of the inner edge at the axle line to the centre
	InnerBody unit.Length // least distance of the outline; negative: it passes over the centre
	SwingOut  unit.Length // crossing of the arc's entry tangent by the outer corners; 0 if none, NaN if the arc has no entry tangent
}

// Follow returns the extremes of a train of any number of units on any course
// of lines and arcs, S-bends included. From unit to unit, per metre of the
// guided path:
//
//	ω1 = sin φ/a,  v1 = cos φ + (b/a)·sin φ,  φ = ψ − θ1
//	ω(i+1) = [v_i·sin γ_i + e_i·ω_i·cos γ_i] / L(i+1)
//	v(i+1) = v_i·cos γ_i − e_i·ω_i·sin γ_i
//
//	ψ, θ  direction of the path, heading of a unit      rad
//	φ, γ  drift of the guided point, articulation       rad
//	a, b  guided point                                  m
//	e, L  lead of a hitch, hitch to axle                m
//
// A steered axle takes SteeredAxleYaw for its second line. The headings are
// integrated to 1e-12 rad a step and the extremes refined on the solution.
// Every arc of the course is gauged over the whole run. Its entry tangent is
// the straight before it (or before the course), moved to the tractor's outer
// side; what counts as swing-out is a corner beyond it and abreast of it, while
// the train is still coming in and the path has turned by no more than half a
// turn. After an opposite arc it includes what is left of the cut-in of that
// arc. An arc that follows right after another has no entry tangent.
//
// Valid for up to seven towed units with lengths and widths above 0, and a
// course of at most 2 000 000 steps; otherwise the error is a
// *unit.DomainError. If the guided point drifts to 90° or a unit goes right
// round, the error is a *unit.NoAnswerError.
//
// Source: derived (handbook chapter 04, 1.2, 1.7, 4.2 and 4.3).
func Follow(in FollowInput) (FollowResult, error) {
	const name = "follow"
	if err := in.Train.check(name); err != nil {
		return FollowResult{}, err
	}
	course, err := legs(name, in.Course)
	if err != nil {
		return FollowResult{}, err
	}
	c := newChain(in.Train)
	run, err := c.run(name, course, c.stride())
	if err != nil {
		return FollowResult{}, err
	}
	var r FollowResult
	var watches []watch
	for i := 1; i < c.n; i++ {
		for _, sign := range []float64{1, -1} {
			watches = append(watches, watch{newPeak(), func(at *sample, _ *[maxUnits]frame) float64 {
				return sign * (at.θ[i-1] - at.θ[i])
			}})
		}
	}
	hitches := len(watches)
	for segment := range course {
		g := &course[segment]
		if g.κ == 0 {
			continue
		}
		cx, cy := g.centre()
		r.Arcs = append(r.Arcs, ArcResult{Segment: segment, Centre: Point{unit.Length(cx), unit.Length(cy)}})
		for i := 0; i < c.n; i++ {
			watches = append(watches, c.watchArc(course, segment, i)...)
		}
	}
	c.gauge(course, run, watches)
	last := run[len(run)-1]
	for i := 1; i < c.n; i++ {
		w := watches[2*(i-1):]
		r.Hitches = append(r.Hitches, HitchResult{
			Max: unit.Angle(w[0].best), Min: unit.Angle(-w[1].best), End: unit.Angle(last.θ[i-1] - last.θ[i]),
		})
	}
	for k := range r.Arcs {
		for i := 0; i < c.n; i++ {
			w := watches[hitches+3*(k*c.n+i):]
			u := UnitResult{InnerAxle: unit.Length(-w[0].best), InnerBody: unit.Length(-w[1].best)}
			if w[2].best > dust {
				u.SwingOut = unit.Length(w[2].best)
			}
			if s := r.Arcs[k].Segment; s > 0 && course[s-1].κ != 0 {
				u.SwingOut = unit.Length(math.NaN())
			}
			r.Arcs[k].Units = append(r.Arcs[k].Units, u)
		}
	}
	r.End = c.pose(&course[last.leg], last)
	return r, nil
}

// A watch is a quantity whose largest value over a run is wanted.
type watch struct {
	peak
	of func(*sample, *[maxUnits]frame) float64
}

// watchArc gives the three quantities of UnitResult for unit i.
func (c *chain) watchArc(course []leg, segment, i int) []watch {
	g := &course[segment]
	cx, cy := g.centre()
	u := &c.units[i]
	left := math.Copysign(1, g.κ) // side of the centre
	entry := frame{g.x, g.y, g.cos, g.sin}
	outer := c.units[0].half + left*c.b // from the guided path to the tractor's outer side
	coming := 1.5 * c.length()
	straight := math.Inf(1) // the train comes to the course on a straight
	if segment > 1 {
		straight = course[segment-1].length
	}
	return []watch{
		{newPeak(), func(_ *sample, f *[maxUnits]frame) float64 {
			x, y := f[i].at(0, left*u.half)
			return -math.Hypot(x-cx, y-cy)
		}},
		{newPeak(), func(_ *sample, f *[maxUnits]frame) float64 {
			ahead, side := f[i].local(cx, cy)
			return -u.apart(ahead, side)
		}},
		{newPeak(), func(at *sample, f *[maxUnits]frame) float64 {
			most := math.Inf(-1)
			now := &course[at.leg]
			turned := now.direction(at.s) - g.ψ
			if along := now.s0 + at.s - g.s0; along < 0 || along > coming || math.Abs(turned) > math.Pi {
				return most
			}
			for _, end := range [2]float64{u.front, -u.rear} {
				ahead, side := entry.local(f[i].at(end, -left*u.half))
				if -straight <= ahead && ahead <= 0 {
					most = math.Max(most, -left*side-outer)
				}
			}
			return most
		}},
	}
}

// length of the aligned train from the guided point to the last rear end.
func (c *chain) length() float64 {
	axle := -c.a
	last := c.units[0].rear - axle
	for i := 1; i < c.n; i++ {
		axle += c.units[i].e - c.units[i].l
		last = math.Max(last, c.units[i].rear-axle)
	}
	return last
}

// gauge takes every watch along the run and refines its peaks.
func (c *chain) gauge(course []leg, run []sample, watches []watch) {
	for i := range run {
		at := &run[i]
		g := &course[at.leg]
		f := c.frames(g, at.s, &at.θ)
		for j := range watches {
			w := &watches[j]
			if at.s == 0 {
				w.joint()
			}
			f0, f1 := w.f[0], w.f[1]
			f2 := w.of(at, &f)
			if !w.add(g.s0+at.s, f2) {
				continue
			}
			from := &run[i-2]
			x, v := refine(func(s float64) float64 {
				mid := sample{at.leg, s, c.move(g, from.s, from.θ, s-from.s)}
				f := c.frames(g, s, &mid.θ)
				return w.of(&mid, &f)
			}, bracket{from.s, run[i-1].s, at.s, f0, f1, f2}, 1e-12)
			if v > w.best {
				w.best, w.at = v, g.s0+x
			}
		}
	}
}

// A Pose is where the whole train stands at one place of its course.
type Pose struct {
	Along   unit.Length // path covered by the guided point
	Guide   Point       // the guided point; the course begins at the origin towards +x
	Heading unit.Angle  // of the path
	Units   []UnitPose  // the tractor first
}

// UnitPose is where one unit stands.
type UnitPose struct {
	Axle         Point // middle of the equivalent axle
	Hitch        Point // by which the unit is drawn; the guided point for the tractor
	Heading      unit.Angle
	Articulation unit.Angle // heading of the unit in front less its own; the drift for the tractor
}

// Point returns a point of the unit, given ahead of its equivalent axle and to
// the left of its centre line, in the axes of the course.
func (u UnitPose) Point(ahead, left unit.Length) Point {
	sin, cos := math.Sincos(float64(u.Heading))
	f := frame{float64(u.Axle.X), float64(u.Axle.Y), cos, sin}
	x, y := f.at(float64(ahead), float64(left))
	return Point{unit.Length(x), unit.Length(y)}
}

func (c *chain) pose(g *leg, at sample) Pose {
	x, y, _, _ := g.point(at.s)
	ψ := g.direction(at.s)
	f := c.frames(g, at.s, &at.θ)
	p := Pose{Along: unit.Length(g.s0 + at.s), Guide: Point{unit.Length(x), unit.Length(y)}, Heading: unit.Angle(ψ), Units: make([]UnitPose, c.n)}
	for i := range p.Units {
		u := UnitPose{Axle: Point{unit.Length(f[i].x), unit.Length(f[i].y)}, Heading: unit.Angle(at.θ[i])}
		if i == 0 {
			u.Hitch, u.Articulation = p.Guide, unit.Angle(ψ-at.θ[0])
		} else {
			hx, hy := f[i].at(c.units[i].l, 0)
			u.Hitch, u.Articulation = Point{unit.Length(hx), unit.Length(hy)}, unit.Angle(at.θ[i-1]-at.θ[i])
		}
		p.Units[i] = u
	}
	return p
}

// TraceInput asks for the poses of a train along a course.
type TraceInput struct {
	FollowInput
	Spacing unit.Length // largest distance from pose to pose
}

// Trace returns the poses of a train along a course, for a drawing of the
// turn: one at the beginning, one at each joint of the course, one at the end,
// and between them as many as the spacing asks for, evenly. The motion is that
// of Follow; every pose is exact, the spacing does not enter it:
//
//	A1 = P − Rot(θ1)·(a, b)
//	H  = A_i + e·(cos θ_i, sin θ_i),   A_(i+1) = H − L·(cos θ_(i+1), sin θ_(i+1))
//
//	P, A, H  guided point, axle, hitch    m
//	θ        heading                      rad
//
// Valid for the inputs of Follow and a spacing above 0; errors as there.
//
// Source: derived (handbook chapter 04, 1.2).
func Trace(in TraceInput) ([]Pose, error) {
	const name = "trace"
	if err := in.Train.check(name); err != nil {
		return nil, err
	}
	k := check{formula: name}
	k.positive("spacing", in.Spacing)
	if k.err != nil {
		return nil, k.err
	}
	course, err := legs(name, in.Course)
	if err != nil {
		return nil, err
	}
	c := newChain(in.Train)
	total := 0.
	for _, g := range course {
		total += g.length/math.Min(float64(in.Spacing), c.stride()) + 2
	}
	if !(total <= mostSamples) {
		return nil, &unit.DomainError{Formula: name, Input: "course", Value: total, Want: "a course of at most 2 000 000 steps"}
	}
	var θ angles
	out := []Pose{c.pose(&course[0], sample{})}
	for i := range course {
		g := &course[i]
		n := math.Ceil(g.length / float64(in.Spacing))
		m := math.Ceil(g.length / n / c.stride()) // steps from pose to pose
		h := g.length / (n * m)
		for j := 1.; j <= n*m; j++ {
			θ = c.move(g, (j-1)*h, θ, h)
			at := sample{i, j * h, θ}
			if err := c.sound(name, g, at); err != nil {
				return nil, err
			}
			if math.Mod(j, m) == 0 {
				out = append(out, c.pose(g, at))
			}
		}
	}
	return out, nil
}
