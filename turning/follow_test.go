package turning_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
	"underpin/turning"
	"underpin/unit"
)

// The two methods of reference_test.go are themselves held against the
// 25-digit reference first.
func TestReferenceMethods(t *testing.T) {
	p := path{{2 * math.Pi * 12.5, 1 / 12.5}}
	units := []rod{{0.575, 7.7}}
	const γ = 45.7505169314309 // handbook 04, R4 at 360°
	// Handbook 04, 4.2, column RK4: error in degrees by heading step.
	for _, tt := range []struct{ heading, want float64 }{{20, -2.5e-4}, {10, -1.3e-5}, {5, -7.6e-7}, {2.5, -4.6e-8}, {1, -1.2e-9}} {
		θ := rk4(5.075, -1.275, units, p, int(math.Round(360/tt.heading)))
		got := (θ[0]-θ[1])/deg - γ
		near(t, fmt.Sprintf("RK4, heading step %v°", tt.heading), got, tt.want, 0.1*math.Abs(tt.want))
	}
	θ := chase(5.075, -1.275, units, p, 400)
	near(t, "chase", (θ[0]-θ[1])/deg, γ, 1e-9)
}

// Headings at the end of courses with joints and S-bends, by three methods.
func TestFollowAgainstOtherMethods(t *testing.T) {
	for _, tt := range []struct {
		name  string
		a, b  float64
		units []rod
		path  path
	}{
		{"tractor alone", 4, 0.3, nil, path{{20, 1. / 9}, {5, 0}, {12, -1. / 7}}},
		{"S-bend", 5.075, -1.275, []rod{{0.575, 7.7}}, path{{15, 1 / 12.5}, {15, -1 / 12.5}}},
		{"S-bend with a straight", 3.7, 0, []rod{{0.575, 7.7}}, path{{3, 0}, {12, -1. / 11}, {4, 0}, {25, 1. / 11}, {10, 0}}},
		{"three units, hitch behind", 3.7, 0, []rod{{0.4, 6.5}, {-0.3, 7}}, path{{30, 1. / 12}, {20, -1. / 14}, {10, 0}}},
		{"truck and dolly and semi-trailer", 5, 0, []rod{{-2.2, 4.5}, {0, 8}}, path{{25, 1. / 13}, {15, 0}, {25, -1. / 13}}},
		{"five units", 3.7, 0, []rod{{0.5, 7}, {-2, 2.5}, {0.1, 7}, {-1, 5}}, path{{20, 1. / 15}, {10, 0}, {30, -1. / 20}, {5, 0}}},
		{"folding", 5.9436, 0, []rod{{0, 13.8684}}, path{{math.Pi * 12.4968, 1 / 12.4968}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var course []turning.Segment
			for _, g := range tt.path {
				s := turning.Segment{Length: unit.Length(g[0])}
				if g[1] != 0 {
					s.Radius = unit.Length(1 / g[1])
				}
				course = append(course, s)
			}
			end := endOf(t, plainTrain(tt.a, tt.b, tt.units...), course...)
			runge, chased := rk4(tt.a, tt.b, tt.units, tt.path, 4000), chase(tt.a, tt.b, tt.units, tt.path, 300)
			for i, u := range end.Units {
				near(t, fmt.Sprintf("heading of unit %d against RK4", i), float64(u.Heading), runge[i], 1e-10)
				near(t, fmt.Sprintf("heading of unit %d against chase", i), float64(u.Heading), chased[i], 1e-8)
			}
			x, y, ψ := tt.path.at(tt.path.length())
			near(t, "end of the path", distance(end.Guide, turning.Point{X: unit.Length(x), Y: unit.Length(y)}), 0, 1e-12)
			near(t, "its direction", float64(end.Heading), ψ, 1e-13)
		})
	}
}

// Extremes of an S-bend, from poses every centimetre and distances of its own.
func TestFollowExtremesFromPoses(t *testing.T) {
	in := turning.FollowInput{Train: trainE(), Course: []turning.Segment{{Length: 5}, arcOf(12.5, 70), {Length: 12}, arcOf(-12.5, 100), {Length: 30}}}
	r, err := turning.Follow(in)
	if err != nil {
		t.Fatal(err)
	}
	poses, err := turning.Trace(turning.TraceInput{FollowInput: in, Spacing: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	body := [2][2]unit.Length{{5.075, -0.9}, {7.7 + 1.5925, 7.7 - 12}}
	segment := func(c, a, b turning.Point) float64 {
		vx, vy := float64(b.X-a.X), float64(b.Y-a.Y)
		k := (float64(c.X-a.X)*vx + float64(c.Y-a.Y)*vy) / (vx*vx + vy*vy)
		k = math.Max(0, math.Min(1, k))
		return distance(c, turning.Point{X: a.X + unit.Length(k*vx), Y: a.Y + unit.Length(k*vy)})
	}
	if len(r.Arcs) != 2 {
		t.Fatalf("%d arcs, want 2", len(r.Arcs))
	}
	for k, side := range []unit.Length{1.275, -1.275} {
		arc := r.Arcs[k]
		for i := range body {
			axle, line := math.Inf(1), math.Inf(1)
			for _, p := range poses {
				u := p.Units[i]
				axle = math.Min(axle, distance(u.Point(0, side), arc.Centre))
				line = math.Min(line, segment(arc.Centre, u.Point(body[i][0], side), u.Point(body[i][1], side)))
			}
			near(t, fmt.Sprintf("arc %d, unit %d: axle line", k, i), float64(arc.Units[i].InnerAxle), axle, 1e-5)
			near(t, fmt.Sprintf("arc %d, unit %d: body", k, i), float64(arc.Units[i].InnerBody), line, 1e-5)
		}
	}
	// Swing-out of the right-hand arc: over the line of the left-hand side of
	// the tractor at the joint, here found by hand from the pose at the joint.
	var joint turning.Pose
	for _, p := range poses {
		if math.Abs(float64(p.Along-(5+arcLength(70)+12))) < 1e-9 {
			joint = p
		}
	}
	sin, cos := math.Sincos(float64(joint.Heading))
	most := 0.
	for _, p := range poses {
		if p.Along < joint.Along || p.Along > joint.Along+25 {
			continue
		}
		for _, x := range []unit.Length{body[1][0], body[1][1]} {
			c := p.Units[1].Point(x, 1.275)
			dx, dy := float64(c.X-joint.Guide.X), float64(c.Y-joint.Guide.Y)
			if x := dx*cos + dy*sin; -12 <= x && x <= 0 {
				most = math.Max(most, dy*cos-dx*sin-2.55) // the guided corner is the right-hand one
			}
		}
	}
	near(t, "swing-out in the second arc", float64(r.Arcs[1].Units[1].SwingOut), most, 5e-4) // a corner that comes abreast of the straight is seen up to 1 cm late
	plain, err := turning.Follow(turning.FollowInput{Train: in.Train, Course: []turning.Segment{arcOf(-12.5, 100), {Length: 30}}})
	if err != nil {
		t.Fatal(err)
	}
	if alone := float64(plain.Arcs[0].Units[1].SwingOut); !(most > alone+0.1) {
		t.Errorf("handbook 04, 4.1: an opposite turn before it enlarges the swing-out; %v, alone %v", most, alone)
	}
	// One arc right after another has no straight to swing out from.
	direct, err := turning.Follow(turning.FollowInput{Train: in.Train, Course: []turning.Segment{arcOf(12.5, 70), arcOf(-12.5, 100)}})
	if err != nil {
		t.Fatal(err)
	}
	if got := direct.Arcs[1].Units[1].SwingOut; !math.IsNaN(float64(got)) {
		t.Errorf("swing-out of an arc after an arc = %v, want NaN", got)
	}
	max, min := 0., 0.
	for _, p := range poses {
		max, min = math.Max(max, float64(p.Units[1].Articulation)), math.Min(min, float64(p.Units[1].Articulation))
	}
	near(t, "largest articulation to the left", float64(r.Hitches[0].Max), max, 1e-6)
	near(t, "largest articulation to the right", float64(r.Hitches[0].Min), min, 1e-6)
	near(t, "articulation at the end", float64(r.Hitches[0].End), float64(poses[len(poses)-1].Units[1].Articulation), 1e-10)
}

func arcLength(degrees float64) unit.Length { return unit.Length(12.5 * degrees * deg) }

// The pair and the chain are two integrators for the same motion.
func TestTurnAgainstFollow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawTurn(t)
		in.GuideLeft = unit.Length(rapid.Float64Range(-1.3, 1.3).Draw(t, "b"))
		in.Exit = rapid.Bool().Draw(t, "exit")
		r, err := turning.Turn(in)
		if err != nil {
			t.Skip(err)
		}
		train := turning.Train{GuideAhead: in.GuideAhead, GuideLeft: in.GuideLeft,
			Tractor: turning.Tractor{Front: in.GuideAhead, Width: in.Width},
			Towed:   []turning.Towed{{Trailer: turning.Trailer{Lead: in.Lead, PinToBogie: in.PinToBogie, FrontOverhang: in.FrontOverhang, RearEnd: in.RearEnd, Width: in.Width}}}}
		course := []turning.Segment{{Length: unit.Length(in.Angle) * in.GuideRadius, Radius: in.GuideRadius}}
		if in.Exit {
			course = append(course, turning.Segment{Length: 2 * (in.GuideAhead + unit.Length(math.Abs(float64(in.Lead))) + max(in.RearEnd, in.PinToBogie))})
		}
		f, err := turning.Follow(turning.FollowInput{Train: train, Course: course})
		if err != nil {
			t.Fatal(err)
		}
		trailer := f.Arcs[0].Units[1]
		near2(t, "axle line", float64(r.InnerAxle), float64(trailer.InnerAxle), 1e-6)
		near2(t, "body", float64(r.InnerBody), float64(trailer.InnerBody), 1e-6)
		near2(t, "tractor", float64(r.InnerTractor), float64(f.Arcs[0].Units[0].InnerBody), 1e-6)
		near2(t, "articulation", float64(r.ArticulationMax), math.Max(float64(f.Hitches[0].Max), -float64(f.Hitches[0].Min)), 1e-7)
		near2(t, "swing-out", float64(r.SwingOut), float64(trailer.SwingOut), 1e-6)
		if !in.Exit {
			near2(t, "articulation at the end", float64(r.ArticulationEnd), float64(f.Hitches[0].End), 1e-7)
		}
	})
}

func near2(t *rapid.T, what string, got, want, tol float64) {
	if diff := math.Abs(got - want); !(diff <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

// drawTurn draws a turn without exit of a pair that has a steady state, its
// lead not behind the axle and shorter than the trailer.
func drawTurn(t *rapid.T) turning.TurnInput {
	a := rapid.Float64Range(2.5, 7).Draw(t, "a")
	R := a * rapid.Float64Range(1.2, 4).Draw(t, "R/a")
	e := a * rapid.Float64Range(0, 0.35).Draw(t, "e/a")
	in := turning.TurnInput{SteadyInput: turning.SteadyInput{
		GuideRadius: unit.Length(R), GuideAhead: unit.Length(a), Lead: unit.Length(e), Width: 2.5,
	}}
	rH := math.Sqrt(R*R - a*a + e*e)
	in.PinToBogie = unit.Length(math.Max(e+0.5, rH*rapid.Float64Range(0.3, 0.9).Draw(t, "L2/rH")))
	if !(float64(in.PinToBogie) < 0.95*rH) {
		t.Skip("no steady state")
	}
	in.Angle = unit.Angle(rapid.Float64Range(5*deg, 2*math.Pi).Draw(t, "angle"))
	in.FrontOverhang = unit.Length(rapid.Float64Range(0, 2).Draw(t, "front"))
	in.RearEnd = in.PinToBogie + unit.Length(rapid.Float64Range(0, 5).Draw(t, "rear"))
	return in
}

// Handbook 04, 4.1: for a lead ≥ 0 and no exit neither the articulation nor
// the cut-in passes its steady value, which makes the steady circle a bound.
func TestSteadyIsABound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawTurn(t)
		steady, err := turning.Steady(in.SteadyInput)
		if err != nil {
			t.Fatal(err)
		}
		r, err := turning.Turn(in)
		if err != nil {
			t.Fatal(err)
		}
		if !(r.ArticulationMax <= steady.Articulation+1e-9) {
			t.Errorf("articulation %v overshoots %v", r.ArticulationMax, steady.Articulation)
		}
		if !(r.InnerAxle >= steady.Inner-1e-8) {
			t.Errorf("inner edge %v inside the steady %v", r.InnerAxle, steady.Inner)
		}
		in.Angle = 30 * 2 * math.Pi
		long, err := turning.Turn(in)
		if err != nil {
			t.Fatal(err)
		}
		// Slow pairs still lag; a rate λ of 0.1 a radian leaves exp(−19).
		near2(t, "articulation after 30 laps", float64(long.ArticulationEnd), float64(steady.Articulation), 1e-6)
	})
}

// A right turn is the mirror image of a left turn.
func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 3).Draw(t, "towed")
		b := rapid.Float64Range(-1.2, 1.2).Draw(t, "b")
		train := plainTrain(rapid.Float64Range(3, 6).Draw(t, "a"), b)
		for i := 0; i < n; i++ {
			train.Towed = append(train.Towed, turning.Towed{Trailer: turning.Trailer{
				Lead: unit.Length(rapid.Float64Range(-2, 1).Draw(t, "e")), PinToBogie: unit.Length(rapid.Float64Range(3, 8).Draw(t, "L")),
				FrontOverhang: 1, RearEnd: 9, Width: 2.5,
			}})
		}
		var left, right []turning.Segment
		for i := rapid.IntRange(1, 3).Draw(t, "segments"); i > 0; i-- {
			s := turning.Segment{Length: unit.Length(rapid.Float64Range(1, 15).Draw(t, "length"))}
			if R := rapid.Float64Range(14, 40).Draw(t, "R"); rapid.Bool().Draw(t, "arc") {
				s.Radius = unit.Length(R)
				if rapid.Bool().Draw(t, "right") {
					s.Radius = -s.Radius
				}
			}
			left = append(left, s)
			s.Radius = -s.Radius
			right = append(right, s)
		}
		one, err := turning.Follow(turning.FollowInput{Train: train, Course: left})
		if err != nil {
			t.Skip(err)
		}
		train.GuideLeft = unit.Length(-b)
		two, err := turning.Follow(turning.FollowInput{Train: train, Course: right})
		if err != nil {
			t.Fatal(err)
		}
		for i, u := range one.End.Units {
			m := two.End.Units[i]
			near2(t, "heading", float64(u.Heading), -float64(m.Heading), 1e-12)
			near2(t, "x", float64(u.Axle.X), float64(m.Axle.X), 1e-11)
			near2(t, "y", float64(u.Axle.Y), -float64(m.Axle.Y), 1e-11)
		}
		for i, h := range one.Hitches {
			near2(t, "articulation", float64(h.Max), -float64(two.Hitches[i].Min), 1e-9)
			near2(t, "articulation", float64(h.Min), -float64(two.Hitches[i].Max), 1e-9)
		}
		for k, arc := range one.Arcs {
			for i, u := range arc.Units {
				m := two.Arcs[k].Units[i]
				near2(t, "axle line", float64(u.InnerAxle), float64(m.InnerAxle), 1e-9)
				near2(t, "body", float64(u.InnerBody), float64(m.InnerBody), 1e-9)
				if math.IsNaN(float64(u.SwingOut)) && math.IsNaN(float64(m.SwingOut)) {
					continue // no entry tangent
				}
				near2(t, "swing-out", float64(u.SwingOut), float64(m.SwingOut), 1e-6)
			}
		}
	})
}

// On the straight after an arc the tractor straightens as Straighten says.
func TestFollowStraightens(t *testing.T) {
	arc := endOf(t, trainE(), arcOf(12.5, 60))
	for _, s := range []unit.Length{1, 5, 12} {
		end := endOf(t, trainE(), arcOf(12.5, 60), turning.Segment{Length: s})
		want, err := turning.Straighten(arc.Units[0].Articulation, 5.075, s)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "drift of the tractor on the straight, handbook 04, 1.4", float64(end.Units[0].Articulation), float64(want), 1e-11)
	}
}

// A steered axle on the circle, against the steady geometry: seen from the
// trailer the centre lies square to the wheels, so
// rH² = L2² + ρ2² + 2·L2·ρ2·sin δ, with δ = −ratio·γ.
func TestFollowSteered(t *testing.T) {
	centre := turning.Point{Y: 12.5}
	plain := endOf(t, trainE(), arcOf(12.5, 20*360))
	for _, tt := range []struct{ ratio, limit float64 }{{0.1, 1}, {0.4, 1}, {0.9, 0.2}, {-0.1, 1}} {
		train := trainE()
		train.Towed[0].Steer = turning.Steering{Ratio: tt.ratio, Limit: unit.Angle(tt.limit)}
		end := endOf(t, train, arcOf(12.5, 20*360))
		γ := float64(end.Units[1].Articulation)
		δ := math.Max(-tt.limit, math.Min(tt.limit, -tt.ratio*γ))
		rH, ρ := distance(end.Units[1].Hitch, centre), distance(end.Units[1].Axle, centre)
		near(t, fmt.Sprintf("steady circle with ratio %v", tt.ratio), rH*rH, 7.7*7.7+ρ*ρ+2*7.7*ρ*math.Sin(δ), 1e-8)
		if wider := ρ > distance(plain.Units[1].Axle, centre); wider != (tt.ratio > 0) {
			t.Errorf("ratio %v: axle on %v, unsteered on %v", tt.ratio, ρ, distance(plain.Units[1].Axle, centre))
		}
	}
	// The heading changes as SteeredAxleYaw says.
	train := trainE()
	train.Towed[0].Steer = turning.Steering{Ratio: 0.3, Limit: 1}
	poses, err := turning.Trace(turning.TraceInput{FollowInput: turning.FollowInput{Train: train, Course: []turning.Segment{arcOf(12.5, 90)}}, Spacing: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	for i := 1000; i < len(poses)-1; i += 3000 {
		before, now, after := poses[i-1].Units[1], poses[i].Units[1], poses[i+1].Units[1]
		moved := distance(before.Hitch, after.Hitch)
		course := math.Atan2(float64(after.Hitch.Y-before.Hitch.Y), float64(after.Hitch.X-before.Hitch.X))
		yaw, err := turning.SteeredAxleYaw(turning.SteeredInput{Course: unit.Angle(course), Heading: now.Heading, Steer: -0.3 * now.Articulation, PinToBogie: 7.7})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "yaw per metre", float64(after.Heading-before.Heading)/moved, yaw, 1e-7)
	}
}

func TestTurnToArticulation(t *testing.T) {
	// A design vehicle that folds up: 41 ft, 19.5 ft, 45.5 ft (dimensions from memory).
	fold := turning.SteadyInput{GuideRadius: 41 * unit.Foot, GuideAhead: 19.5 * unit.Foot, PinToBogie: 45.5 * unit.Foot, Width: 8.5 * unit.Foot}
	for _, tt := range []struct {
		in    turning.SteadyInput
		limit float64
	}{{fold, 30}, {fold, 60}, {fold, 90}, {fold, 120}, {circleE, 10}, {circleE, 45}} {
		r, err := turning.TurnToArticulation(turning.FoldInput{SteadyInput: tt.in, Limit: unit.Angle(tt.limit * deg)})
		if err != nil {
			t.Fatal(err)
		}
		R := float64(tt.in.GuideRadius)
		θ := rk4(float64(tt.in.GuideAhead), float64(tt.in.GuideLeft), []rod{{float64(tt.in.Lead), float64(tt.in.PinToBogie)}}, path{{R * float64(r.Turned), 1 / R}}, 5000)
		near(t, fmt.Sprintf("articulation by RK4 after %.2f°", r.Turned.Degrees()), (θ[0]-θ[1])/deg, tt.limit, 1e-7)
	}
	_, err := turning.TurnToArticulation(turning.FoldInput{SteadyInput: circleE, Limit: 47 * deg}) // steady 46.0°
	checkError(t, err, false)
	tight := circleE
	tight.GuideRadius = 4
	_, err = turning.TurnToArticulation(turning.FoldInput{SteadyInput: tight, Limit: 170 * deg})
	checkError(t, err, false)
	for _, limit := range []unit.Angle{0, math.Pi, unit.Angle(math.NaN())} {
		_, err := turning.TurnToArticulation(turning.FoldInput{SteadyInput: circleE, Limit: limit})
		checkError(t, err, true)
	}
}

func TestTrace(t *testing.T) {
	in := turning.TraceInput{FollowInput: turning.FollowInput{Train: trainE(), Course: []turning.Segment{{Length: 3}, arcOf(12.5, 90), {Length: 7}}}, Spacing: 1}
	poses, err := turning.Trace(in)
	if err != nil {
		t.Fatal(err)
	}
	// 3 + 20 (19.63 m) + 7 intervals.
	if len(poses) != 31 {
		t.Errorf("%d poses, want 31", len(poses))
	}
	for i, p := range poses {
		if i > 0 && !(p.Along > poses[i-1].Along && p.Along <= poses[i-1].Along+1+1e-9) {
			t.Errorf("pose %d at %v after %v", i, p.Along, poses[i-1].Along)
		}
		tractor, trailer := p.Units[0], p.Units[1]
		near(t, "guided point on the tractor", distance(tractor.Point(5.075, -1.275), p.Guide), 0, 1e-12)
		near(t, "kingpin on the tractor", distance(tractor.Point(0.575, 0), trailer.Hitch), 0, 1e-12)
		near(t, "kingpin on the trailer", distance(trailer.Point(7.7, 0), trailer.Hitch), 0, 1e-12)
	}
	// The spacing does not enter the motion.
	in.Spacing = 100
	coarse, err := turning.Trace(in)
	if err != nil {
		t.Fatal(err)
	}
	if len(coarse) != 4 {
		t.Errorf("%d poses, want 4", len(coarse))
	}
	a, b := poses[len(poses)-1].Units[1], coarse[3].Units[1]
	near(t, "last heading", float64(a.Heading), float64(b.Heading), 1e-11)
}

func TestFollowRefuses(t *testing.T) {
	good := turning.FollowInput{Train: trainE(), Course: []turning.Segment{arcOf(12.5, 90)}}
	nan := unit.Length(math.NaN())
	for _, tt := range []struct {
		name   string
		change func(*turning.FollowInput)
		domain bool
	}{
		{"no course", func(in *turning.FollowInput) { in.Course = nil }, true},
		{"segment without length", func(in *turning.FollowInput) { in.Course = []turning.Segment{{}} }, true},
		{"segment NaN", func(in *turning.FollowInput) { in.Course = []turning.Segment{{Length: nan}} }, true},
		{"radius NaN", func(in *turning.FollowInput) { in.Course = []turning.Segment{{Length: 1, Radius: nan}} }, true},
		{"endless course", func(in *turning.FollowInput) { in.Course = []turning.Segment{{Length: 1e9}} }, true},
		{"endless circle", func(in *turning.FollowInput) { in.Course = []turning.Segment{{Length: 1e5, Radius: 1}} }, true},
		{"guide NaN", func(in *turning.FollowInput) { in.Train.GuideAhead = nan }, true},
		{"left NaN", func(in *turning.FollowInput) { in.Train.GuideLeft = nan }, true},
		{"lead NaN", func(in *turning.FollowInput) { in.Train.Towed[0].Lead = nan }, true},
		{"pin NaN", func(in *turning.FollowInput) { in.Train.Towed[0].PinToBogie = nan }, true},
		{"width NaN", func(in *turning.FollowInput) { in.Train.Towed[0].Width = nan }, true},
		{"rear NaN", func(in *turning.FollowInput) { in.Train.Towed[0].RearEnd = nan }, true},
		{"tractor front NaN", func(in *turning.FollowInput) { in.Train.Tractor.Front = nan }, true},
		{"steer ratio NaN", func(in *turning.FollowInput) { in.Train.Towed[0].Steer.Ratio = math.NaN() }, true},
		{"steer limit", func(in *turning.FollowInput) { in.Train.Towed[0].Steer = turning.Steering{0.5, math.Pi / 2} }, true},
		{"too many units", func(in *turning.FollowInput) { in.Train.Towed = make([]turning.Towed, 8) }, true},
		{"circle too tight", func(in *turning.FollowInput) { in.Course = []turning.Segment{arcOf(4, 720)} }, false},
		{"circle too tight for the tractor alone", func(in *turning.FollowInput) {
			in.Train.Towed, in.Course = nil, []turning.Segment{arcOf(4, 720)}
		}, false},
		{"goes right round", func(in *turning.FollowInput) {
			in.Train.Towed[0].PinToBogie, in.Train.Towed[0].RearEnd = 14, 16
			in.Course = []turning.Segment{arcOf(7, 1440)}
		}, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := good
			in.Train = trainE()
			tt.change(&in)
			_, err := turning.Follow(in)
			checkError(t, err, tt.domain)
			_, err = turning.Trace(turning.TraceInput{FollowInput: in, Spacing: 1})
			checkError(t, err, tt.domain)
		})
	}
	_, err := turning.Trace(turning.TraceInput{FollowInput: good})
	checkError(t, err, true)
}

// The defining property: no axle moves across the direction of its wheels.
// Seen from the road, in steps of a millimetre, whatever the train.
func TestAxlesRollWithoutSideSlip(t *testing.T) {
	train := trainE()
	train.Towed = append(train.Towed, train.Towed[0], train.Towed[0])
	train.Towed[1].Lead, train.Towed[1].PinToBogie, train.Towed[1].RearEnd = -3, 5, 8
	train.Towed[1].Steer = turning.Steering{Ratio: 0.4, Limit: 0.3}
	poses, err := turning.Trace(turning.TraceInput{
		FollowInput: turning.FollowInput{Train: train, Course: []turning.Segment{{Length: 2}, arcOf(14, 110), {Length: 3}, arcOf(-16, 60)}},
		Spacing:     0.001,
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(poses)-1; i += 97 {
		for k := range poses[i].Units {
			before, now, after := poses[i-1].Units[k], poses[i].Units[k], poses[i+1].Units[k]
			wheels := float64(now.Heading)
			if k == 2 {
				wheels -= math.Max(-0.3, math.Min(0.3, 0.4*float64(now.Articulation)))
			}
			dx, dy := float64(after.Axle.X-before.Axle.X), float64(after.Axle.Y-before.Axle.Y)
			sin, cos := math.Sincos(wheels)
			near(t, fmt.Sprintf("side-slip of unit %d at %.3f m per metre", k, poses[i].Along), (dy*cos-dx*sin)/float64(poses[i+1].Along-poses[i-1].Along), 0, 2e-4)
			if k == 0 {
				continue
			}
			hitch := poses[i].Units[k-1].Point(train.Towed[k-1].Lead, 0)
			near(t, "hitch", distance(hitch, now.Hitch), 0, 1e-12)
		}
	}
}
