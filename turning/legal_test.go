package turning_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"
	"underpin/turning"
	"underpin/unit"
)

// drawLegal draws a pair for the legal circle, folding ones and couplings
// behind the axle among them.
func drawLegal(t *rapid.T) turning.LegalInput {
	a := rapid.Float64Range(2.5, 7).Draw(t, "a")
	w := rapid.Float64Range(2.3, 2.6).Draw(t, "w")
	R := math.Max(a*rapid.Float64Range(1.1, 4).Draw(t, "R/a"), math.Hypot(a, w/2+1))
	e := rapid.Float64Range(-2.5, 0.35*a).Draw(t, "e")
	l := math.Hypot(math.Sqrt(R*R-a*a)-w/2, e) * rapid.Float64Range(0.2, 1.3).Draw(t, "L2/rH")
	return turning.LegalInput{
		Outer:   unit.Length(R),
		Tractor: turning.Tractor{Front: unit.Length(a), Rear: unit.Length(rapid.Float64Range(0.3, 1.5).Draw(t, "rear")), Width: unit.Length(w)},
		Trailer: turning.Trailer{
			Lead: unit.Length(e), PinToBogie: unit.Length(l), Width: unit.Length(rapid.Float64Range(2.3, 2.6).Draw(t, "w2")),
			FrontOverhang: unit.Length(rapid.Float64Range(0, 2).Draw(t, "xf")), RearEnd: unit.Length(l + rapid.Float64Range(-1, 5).Draw(t, "xr")),
		},
	}
}

// The wide strides of the lap cost less than 0.01 mm, measured against the
// fine ones of Turn, and against the other integrator with its own gauges.
func TestLegalCircleAgainstFinerMethods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawLegal(t)
		r, err := turning.LegalCircle(in)
		if err != nil {
			t.Skip(err)
		}
		train := turning.Train{GuideAhead: in.Tractor.Front, GuideLeft: -in.Tractor.Width / 2, Tractor: in.Tractor, Towed: []turning.Towed{{Trailer: in.Trailer}}}
		f, err := turning.Follow(turning.FollowInput{Train: train, Course: []turning.Segment{{Length: 2 * math.Pi * in.Outer, Radius: in.Outer}}})
		if err != nil {
			t.Fatal(err)
		}
		units := f.Arcs[0].Units
		const claim = 1e-5
		near2(t, "axle line", float64(r.InnerAxle), float64(units[1].InnerAxle), claim)
		// How deep a body covers the centre has kinks; to 1 mm is enough there.
		deep := func(d unit.Length) float64 {
			if d < 0 {
				return 1e-3
			}
			return claim
		}
		near2(t, "body", float64(r.InnerBody), float64(units[1].InnerBody), deep(r.InnerBody))
		near2(t, "tractor", float64(r.InnerTractor), float64(units[0].InnerBody), deep(r.InnerTractor))
		near2(t, "articulation", float64(r.ArticulationMax), math.Max(float64(f.Hitches[0].Max), -float64(f.Hitches[0].Min)), 1e-6)
		near2(t, "articulation at the end", float64(r.ArticulationEnd), float64(f.Hitches[0].End), 1e-6)

		in.Trailer.Width = in.Tractor.Width // Turn knows one width
		if r, err = turning.LegalCircle(in); err != nil {
			t.Fatal(err)
		}
		turn, err := turning.Turn(turning.TurnInput{
			SteadyInput: turning.SteadyInput{GuideRadius: in.Outer, GuideAhead: in.Tractor.Front, GuideLeft: -in.Tractor.Width / 2, Lead: in.Trailer.Lead, PinToBogie: in.Trailer.PinToBogie, Width: in.Tractor.Width},
			Angle:       2 * math.Pi, FrontOverhang: in.Trailer.FrontOverhang, RearEnd: in.Trailer.RearEnd,
		})
		if err != nil {
			t.Fatal(err)
		}
		near2(t, "swing-out", float64(r.SwingOutRear), float64(turn.SwingOut), claim)
	})
}

// Swing-out and outer radius from poses every five millimetres.
func TestLegalCircleFromPoses(t *testing.T) {
	wide := legalE
	wide.Trailer.Width = 2.60
	behind := legalE
	behind.Trailer.Lead, behind.Trailer.PinToBogie, behind.Trailer.RearEnd = -1.5, 5, 8
	long := legalE // folds up if the circle went on, and never comes wholly onto it
	long.Trailer.PinToBogie, long.Trailer.RearEnd = 14, 95
	nose := legalE
	nose.Trailer.FrontOverhang, nose.Trailer.Lead = 2.5, 1.5
	for _, tt := range []struct {
		name string
		in   turning.LegalInput
	}{{"vehicle E", legalE}, {"wider trailer", wide}, {"coupling behind", behind}, {"very long", long}, {"long nose", nose}} {
		t.Run(tt.name, func(t *testing.T) {
			r, err := turning.LegalCircle(tt.in)
			if err != nil {
				t.Fatal(err)
			}
			R := tt.in.Outer
			poses, err := turning.Trace(turning.TraceInput{Spacing: 0.005, FollowInput: turning.FollowInput{
				Train:  turning.Train{GuideAhead: tt.in.Tractor.Front, GuideLeft: -tt.in.Tractor.Width / 2, Tractor: tt.in.Tractor, Towed: []turning.Towed{{Trailer: tt.in.Trailer}}},
				Course: []turning.Segment{{Length: 2 * math.Pi * R, Radius: R}},
			}})
			if err != nil {
				t.Fatal(err)
			}
			v := tt.in.Trailer
			var rear, front, tractor, outer float64
			whole := math.NaN()
			for _, p := range poses {
				ψ := float64(p.Along / R)
				points := [3]turning.Point{
					p.Units[1].Point(v.PinToBogie-v.RearEnd, -v.Width/2), p.Units[1].Point(v.PinToBogie+v.FrontOverhang, -v.Width/2),
					p.Units[0].Point(-tt.in.Tractor.Rear, -tt.in.Tractor.Width/2),
				}
				if math.IsNaN(whole) && points[0].X >= 0 {
					whole, outer = ψ, float64(R)
				}
				if ψ <= math.Pi {
					rear, front, tractor = math.Max(rear, -float64(points[0].Y)), math.Max(front, -float64(points[1].Y)), math.Max(tractor, -float64(points[2].Y))
				}
				for _, q := range points {
					outer = math.Max(outer, distance(q, turning.Point{Y: R}))
				}
				if math.IsNaN(whole) {
					outer = 0
				}
			}
			near(t, "swing-out, rear", float64(r.SwingOutRear), rear, 2e-5)
			near(t, "swing-out, front", float64(r.SwingOutFront), front, 2e-5)
			near(t, "swing-out, tractor", float64(r.SwingOutTractor), tractor, 2e-5)
			near(t, "swing-out", float64(r.SwingOut), math.Max(rear, math.Max(front, tractor)), 2e-5)
			if math.IsNaN(whole) {
				if !math.IsNaN(float64(r.WholeAt)) || !math.IsNaN(float64(r.OuterMax)) {
					t.Errorf("wholly on the circle at %v with outer radius %v; from poses never", r.WholeAt, r.OuterMax)
				}
				near(t, "ring", float64(r.Ring), float64(R-r.Inner), 0)
				return
			}
			near(t, "wholly on the circle at", float64(r.WholeAt), whole, 0.006/float64(R))
			near(t, "outer", float64(r.OuterMax), outer, 1e-3) // the poses see its beginning 5 mm late
			near(t, "ring", float64(r.Ring), float64(r.OuterMax-r.Inner), 0)
		})
	}
}

func TestLegalCircleWithoutSteadyState(t *testing.T) {
	in := legalE
	in.Trailer.PinToBogie, in.Trailer.RearEnd = 10.5, 14
	r, err := turning.LegalCircle(in)
	if err != nil {
		t.Fatal(err)
	}
	if r.HasSteady {
		t.Errorf("steady state with rH = 10.165 below L2 = 10.5")
	}
	// The lap itself against RK4.
	θ := rk4(5.075, -1.275, []rod{{0.575, 10.5}}, path{{2 * math.Pi * 12.5, 1 / 12.5}}, 2000)
	near(t, "articulation at the end by RK4", float64(r.ArticulationEnd), θ[0]-θ[1], 1e-7)
}

func TestLegalCircleRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	for _, tt := range []struct {
		name   string
		change func(*turning.LegalInput)
		domain bool
	}{
		{"outer NaN", func(in *turning.LegalInput) { in.Outer = nan }, true},
		{"outer zero", func(in *turning.LegalInput) { in.Outer = 0 }, true},
		{"front NaN", func(in *turning.LegalInput) { in.Tractor.Front = nan }, true},
		{"front behind the axle", func(in *turning.LegalInput) { in.Tractor.Front = -0.1 }, true},
		{"rear NaN", func(in *turning.LegalInput) { in.Tractor.Rear = nan }, true},
		{"width NaN", func(in *turning.LegalInput) { in.Tractor.Width = nan }, true},
		{"lead NaN", func(in *turning.LegalInput) { in.Trailer.Lead = nan }, true},
		{"pin NaN", func(in *turning.LegalInput) { in.Trailer.PinToBogie = nan }, true},
		{"overhang NaN", func(in *turning.LegalInput) { in.Trailer.FrontOverhang = nan }, true},
		{"rear end NaN", func(in *turning.LegalInput) { in.Trailer.RearEnd = nan }, true},
		{"trailer without length", func(in *turning.LegalInput) { in.Trailer.RearEnd = -2 }, true},
		{"trailer width zero", func(in *turning.LegalInput) { in.Trailer.Width = 0 }, true},
		{"circle too tight", func(in *turning.LegalInput) { in.Outer = 4 }, false},
		{"trailer goes right round", func(in *turning.LegalInput) { in.Outer, in.Trailer.PinToBogie, in.Trailer.RearEnd = 5.6, 9, 10 }, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := legalE
			tt.change(&in)
			_, err := turning.LegalCircle(in)
			checkError(t, err, tt.domain)
		})
	}
}

func TestTurnRefuses(t *testing.T) {
	good := turning.TurnInput{SteadyInput: circleE, Angle: 1, FrontOverhang: 1.5925, RearEnd: 12}
	nan := math.NaN()
	for _, tt := range []struct {
		name   string
		change func(*turning.TurnInput)
		domain bool
	}{
		{"angle zero", func(in *turning.TurnInput) { in.Angle = 0 }, true},
		{"angle NaN", func(in *turning.TurnInput) { in.Angle = unit.Angle(nan) }, true},
		{"angle of 101 laps", func(in *turning.TurnInput) { in.Angle = 101 * 2 * math.Pi }, true},
		{"overhang NaN", func(in *turning.TurnInput) { in.FrontOverhang = unit.Length(nan) }, true},
		{"rear end NaN", func(in *turning.TurnInput) { in.RearEnd = unit.Length(nan) }, true},
		{"rear ahead of front", func(in *turning.TurnInput) { in.RearEnd = -1.5925 }, true},
		{"radius NaN", func(in *turning.TurnInput) { in.GuideRadius = unit.Length(nan) }, true},
		{"circle too tight", func(in *turning.TurnInput) { in.GuideRadius, in.Angle = 4, 6 }, false},
		{"goes right round", func(in *turning.TurnInput) { in.GuideRadius, in.PinToBogie, in.Angle = 7, 14, 30 }, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := good
			tt.change(&in)
			_, err := turning.Turn(in)
			checkError(t, err, tt.domain)
		})
	}
	// Tighter than the guided point lies ahead, but not for long.
	in := good
	in.GuideRadius, in.Angle = 4, 0.5
	r, err := turning.Turn(in)
	if err != nil {
		t.Fatal(err)
	}
	θ := rk4(5.075, -1.275, []rod{{0.575, 7.7}}, path{{4 * 0.5, 1. / 4}}, 1000)
	near(t, "short tight turn by RK4", float64(r.ArticulationEnd), θ[0]-θ[1], 1e-9)
	near(t, "drift", float64(r.DriftEnd), 0.5-θ[0], 1e-9)
}
