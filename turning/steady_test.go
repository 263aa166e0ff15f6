package turning_test

import (
	"errors"
	"math"
	"testing"

	"underpin/turning"
	"underpin/unit"
)

func TestSteady(t *testing.T) {
	for _, tt := range []struct {
		name   string
		in     turning.SteadyInput
		got    func(turning.SteadyResult) float64
		want   float64
		tol    float64
		source string
	}{
		{"R4 drift", circleE, func(r turning.SteadyResult) float64 { return r.Drift.Degrees() }, 23.9538074763, 5e-11, "handbook 04, R4 steady"},
		{"R4 rear axle", circleE, func(r turning.SteadyResult) float64 { return float64(r.RearAxle) }, 10.1484134566, 5e-11, "handbook 04, R4 steady"},
		{"R4 kingpin", circleE, func(r turning.SteadyResult) float64 { return float64(r.Kingpin) }, 10.1646898962, 5e-11, "handbook 04, R4 steady"},
		{"R4 trailer axle", circleE, func(r turning.SteadyResult) float64 { return float64(r.TrailerAxle) }, 6.63557990576, 5e-12, "handbook 04, R4 steady"},
		{"R4 articulation", circleE, func(r turning.SteadyResult) float64 { return r.Articulation.Degrees() }, 46.0035722537, 5e-11, "handbook 04, R4 steady"},
		{"R4 inner", circleE, func(r turning.SteadyResult) float64 { return float64(r.Inner) }, 5.36057990576, 5e-12, "handbook 04, R4 steady"},
		{"R4 outer", circleE, func(r turning.SteadyResult) float64 { return float64(r.Outer) }, 12.5, 1e-14, "algebra: the outer front corner is the guided point"},
		{"R4 ring", circleE, func(r turning.SteadyResult) float64 { return float64(r.Ring) }, 7.13942009424, 5e-12, "handbook 04, R4 steady"},
		{"R4 trailer front outer corner", circleE, func(r turning.SteadyResult) float64 { return float64(r.TrailerPoint(-1.5925, 1.275)) }, 12.20359909, 5e-9, "handbook 04, R4 steady"},
		{"R4 trailer rear outer corner", circleE, func(r turning.SteadyResult) float64 { return float64(r.TrailerPoint(12, 1.275)) }, 9.003736693, 5e-10, "handbook 04, R4 steady"},
		{"R4 tractor front outer corner", circleE, func(r turning.SteadyResult) float64 { return float64(r.TractorPoint(5.075, 1.275)) }, 12.5, 1e-14, "algebra: the guided point"},
		{"R4 front axle", circleE, func(r turning.SteadyResult) float64 { return float64(r.TractorPoint(3.70, 0)) }, 10.8018653799, 5e-11, "handbook 04, 1.9: front-axle centre of vehicle E"},
		{"R4 equivalent steer", circleE, func(r turning.SteadyResult) float64 { return r.EquivalentSteer(3.70).Degrees() }, 20.0312996935, 5e-11, "handbook 04, R4 steady"},
		{"R2 trailer axle", turning.SteadyInput{10, 3.7, 0, 0, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return float64(r.TrailerAxle) }, 5.19807656735, 5e-12, "handbook 04, R2 steady"},
		{"R2 articulation", turning.SteadyInput{10, 3.7, 0, 0, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return r.Articulation.Degrees() }, 55.9777027575, 5e-11, "handbook 04, R2 steady"},
		{"R2 drift", turning.SteadyInput{10, 3.7, 0, 0, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return r.Drift.Degrees() }, 21.7156172833, 5e-11, "handbook 04, R2 steady"},
		{"outer of a front axle led", turning.SteadyInput{10, 3.7, 0, 0, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return float64(r.Outer) }, 11.1945, 5e-5, "hand: ρ1 = sqrt(100 − 13.69) = 9.29032; sqrt(10.56532² + 13.69)"},
		{"outer of a point beside the vehicle", turning.SteadyInput{10, 3.7, -2, 0, 6, 2}, func(r turning.SteadyResult) float64 { return float64(r.Outer) }, 10, 1e-14, "algebra: the guided point is the outermost"},
		{"R3 articulation", turning.SteadyInput{12, 3.7, 0, 0.575, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return r.Articulation.Degrees() }, 39.4678833711, 5e-11, "handbook 04, R3 steady: 42.3514813195 − 2.88359794831"},
		{"R3 trailer axle", turning.SteadyInput{12, 3.7, 0, 0.575, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return float64(r.TrailerAxle) }, 8.44692991566, 5e-12, "handbook 04, R3 steady"},
		{"R3 kingpin", turning.SteadyInput{12, 3.7, 0, 0.575, 7.7, 2.55}, func(r turning.SteadyResult) float64 { return float64(r.Kingpin) }, 11.4298129906, 5e-11, "handbook 04, R3 steady"},
		{"bogie scrub", turning.SteadyInput{12.5, 5.075, -1.275, 0.575, 7.848580087, 2.55}, func(r turning.SteadyResult) float64 { return float64(r.Inner) }, 5.184157, 5e-7, "handbook 04, 1.6: vehicle E with L_eq"},
		{"R1 as a trailer of no lead", turning.SteadyInput{unit.Length(10 / math.Cos(0.3)), unit.Length(10 * math.Tan(0.3)), 0, 0, 4, 0}, func(r turning.SteadyResult) float64 { return float64(r.TrailerAxle) }, 9.16515138991, 5e-12, "handbook 04, R1 steady: the hitch runs on radius 10"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, err := turning.Steady(tt.in)
			if err != nil {
				t.Fatal(err)
			}
			near(t, tt.source, tt.got(r), tt.want, tt.tol)
		})
	}
}

// The sign of the lead changes the articulation and not the radii; moving the
// coupling hardly changes the cut-in.
func TestSteadyLeadOfEitherSign(t *testing.T) {
	ahead, err := turning.Steady(circleE)
	if err != nil {
		t.Fatal(err)
	}
	in := circleE
	in.Lead = -in.Lead
	behind, err := turning.Steady(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "trailer axle", float64(behind.TrailerAxle), float64(ahead.TrailerAxle), 0)
	near(t, "articulation (γ* + 2·atan(e/ρ1))", float64(behind.Articulation), float64(ahead.Articulation)+2*math.Atan(0.575/float64(ahead.RearAxle)), 1e-15)
	in.Lead = 0
	over, err := turning.Steady(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gain of the lead, handbook 04, 1.3: 25 mm", float64(ahead.Inner-over.Inner), 0.025, 0.0005)
}

func TestSteadyRefuses(t *testing.T) {
	with := func(change func(*turning.SteadyInput)) turning.SteadyInput {
		in := circleE
		change(&in)
		return in
	}
	nan := unit.Length(math.NaN())
	for _, tt := range []struct {
		name   string
		in     turning.SteadyInput
		domain bool // else no answer
	}{
		{"kingpin runs inside the trailer's length", with(func(in *turning.SteadyInput) { in.PinToBogie = 10.2 }), false},
		{"kingpin runs on exactly the trailer's length", turning.SteadyInput{5, 3, 0, 3, 5, 2.5}, false},
		{"guided point ahead of the centre", with(func(in *turning.SteadyInput) { in.GuideRadius = 5 }), false},
		{"R = a", with(func(in *turning.SteadyInput) { in.GuideRadius = in.GuideAhead }), false},
		{"centre under the tractor", with(func(in *turning.SteadyInput) { in.GuideLeft = -12 }), true},
		{"no radius", with(func(in *turning.SteadyInput) { in.GuideRadius = 0 }), true},
		{"radius NaN", with(func(in *turning.SteadyInput) { in.GuideRadius = nan }), true},
		{"radius infinite", with(func(in *turning.SteadyInput) { in.GuideRadius = unit.Length(math.Inf(1)) }), true},
		{"ahead NaN", with(func(in *turning.SteadyInput) { in.GuideAhead = nan }), true},
		{"ahead negative", with(func(in *turning.SteadyInput) { in.GuideAhead = -1 }), true},
		{"left NaN", with(func(in *turning.SteadyInput) { in.GuideLeft = nan }), true},
		{"lead NaN", with(func(in *turning.SteadyInput) { in.Lead = nan }), true},
		{"pin NaN", with(func(in *turning.SteadyInput) { in.PinToBogie = nan }), true},
		{"pin zero", with(func(in *turning.SteadyInput) { in.PinToBogie = 0 }), true},
		{"width NaN", with(func(in *turning.SteadyInput) { in.Width = nan }), true},
		{"width negative", with(func(in *turning.SteadyInput) { in.Width = -1 }), true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := turning.Steady(tt.in)
			checkError(t, err, tt.domain)
			chain := plainTrain(float64(tt.in.GuideAhead), float64(tt.in.GuideLeft), rod{float64(tt.in.Lead), float64(tt.in.PinToBogie)})
			if tt.in.Width == circleE.Width {
				_, err = turning.SteadyChain(tt.in.GuideRadius, chain)
				checkError(t, err, tt.domain)
			}
		})
	}
}

func checkError(t *testing.T, err error, domain bool) {
	t.Helper()
	var d *unit.DomainError
	var n *unit.NoAnswerError
	switch {
	case domain && !errors.As(err, &d):
		t.Errorf("error %v, want a *unit.DomainError", err)
	case !domain && !errors.As(err, &n):
		t.Errorf("error %v, want a *unit.NoAnswerError", err)
	}
}

func TestSteadyChain(t *testing.T) {
	r5 := turning.Train{GuideAhead: 3.7, Tractor: turning.Tractor{Front: 5, Width: 2.5}, Towed: []turning.Towed{
		{Trailer: turning.Trailer{Lead: 0.4, PinToBogie: 6.5, FrontOverhang: 1, RearEnd: 8, Width: 2.5}},
		{Trailer: turning.Trailer{Lead: -0.3, PinToBogie: 7.0, FrontOverhang: 1, RearEnd: 9, Width: 2.5}},
	}}
	r, err := turning.SteadyChain(12, r5)
	if err != nil {
		t.Fatal(err)
	}
	const source = "handbook 04, R5 steady: "
	near(t, source+"γ1", r.Units[1].Articulation.Degrees(), 32.677844089, 5e-10)
	near(t, source+"γ2", r.Units[2].Articulation.Degrees(), 49.979209221, 5e-10)
	near(t, source+"r(A2)", float64(r.Units[1].Axle), 9.3925502394, 5e-11)
	near(t, source+"r(A3)", float64(r.Units[2].Axle), 6.2697687358, 5e-11)

	// With one trailer the chain is the pair.
	one, err := turning.SteadyChain(12.5, trainE())
	if err != nil {
		t.Fatal(err)
	}
	pair, err := turning.Steady(circleE)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		what      string
		got, want unit.Length
	}{
		{"inner", one.Inner, pair.Inner}, {"outer", one.Outer, pair.Outer}, {"ring", one.Ring, pair.Ring},
		{"hitch", one.Units[1].Hitch, pair.Kingpin}, {"rear axle", one.Units[0].Axle, pair.RearAxle},
		{"trailer front corner", one.Units[1].FrontCorner, pair.TrailerPoint(-1.5925, 1.275)},
		{"trailer rear corner", one.Units[1].RearCorner, pair.TrailerPoint(12, 1.275)},
		{"tractor rear corner", one.Units[0].RearCorner, pair.TractorPoint(-0.9, 1.275)},
	} {
		near(t, row.what, float64(row.got), float64(row.want), 1e-13)
	}
	steered := trainE()
	steered.Towed[0].Steer = turning.Steering{Ratio: 0.3, Limit: 0.5}
	_, err = turning.SteadyChain(12.5, steered)
	checkError(t, err, true)
}

// Single-unit design vehicles of the AASHTO green book on their centre-line
// turning radius. The published inside radii follow from dimensions that the
// tables round; the handbook gives the differences.
func TestSingleUnitDesignVehicles(t *testing.T) {
	const source = "CTR and published: TxDOT Roadway Design Manual, Table 4-1; L and w: AASHTO metric table in ft; computed: handbook 04, 1.11"
	for _, tt := range []struct {
		name                string
		ctr, l, w           float64 // ft
		towed               []rod
		published, computed float64
		published2          float64 // how far the published value may lie off
	}{
		{"P", 21.0, 11, 7, nil, 14.4, 14.3885, 0.05},
		{"SU-30", 38.0, 20, 8, nil, 28.4, 28.3110, 0.1},
		{"City bus", 37.8, 25, 8.5, nil, 24.5, 24.1021, 0.4},
		{"S-BUS36", 34.9, 21.3, 8, nil, 23.8, 23.6463, 0.2},
		{"S-BUS40", 35.4, 20, 8, nil, 25.3, 25.2089, 0.1},
		{"A-BUS", 35.5, 22, 8.5, []rod{{-6.2, 13.2}}, 21.3, 21.0571, 0.25},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ft := func(v float64) unit.Length { return unit.Length(v) * unit.Foot }
			train := turning.Train{GuideAhead: ft(tt.l), Tractor: turning.Tractor{Front: ft(tt.l), Width: ft(tt.w)}}
			for _, u := range tt.towed {
				train.Towed = append(train.Towed, turning.Towed{Trailer: turning.Trailer{Lead: ft(u.e), PinToBogie: ft(u.l), RearEnd: ft(u.l), Width: ft(tt.w)}})
			}
			r, err := turning.SteadyChain(ft(tt.ctr), train)
			if err != nil {
				t.Fatal(err)
			}
			near(t, source+", computed", r.Inner.Feet(), tt.computed, 5e-5)
			near(t, source+", published", r.Inner.Feet(), tt.published, tt.published2)
		})
	}
}

func TestBound(t *testing.T) {
	in := turning.BoundInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575}
	r, err := turning.LongestPinToBogie(turning.LongestInput{BoundInput: in, Width: 2.55, Inner: 5.30})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "handbook 04, R4: largest L2 for inner radius 5.30", float64(r.PinToBogie), 7.75179306262, 5e-12)
	b, err := turning.KingpinBound(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kingpin, handbook 04, R4", float64(b.Kingpin), 10.1646898962, 5e-11)
	for _, tt := range []struct {
		l2, width, inner unit.Length
		fits             bool
		source           string
	}{
		{7.751, 2.55, 5.30, true, "below the largest L2 of R4"},
		{7.752, 2.55, 5.30, false, "above the largest L2 of R4"},
		{8.135, 2.55, 5.30, false, "handbook 04, 1.11: the deemed length is longer than E allows"},
		{7.70, 2.60, 5.30, true, "ρ2 = 6.63558 ≥ 6.60"},
		{7.70, 2.55, 5.37, false, "inner radius of R4 is 5.36058"},
		{11, 2.55, 5.30, false, "folds up"},
		{7.70, 2.55, -5, false, "an inner radius that leaves no room for the axle"},
		{unit.Length(math.NaN()), 2.55, 5.30, false, "missing data never passes"},
		{7.7, unit.Length(math.NaN()), 5.30, false, "missing data never passes"},
	} {
		if got := b.Fits(tt.l2, tt.width, tt.inner); got != tt.fits {
			t.Errorf("Fits(%v, %v, %v) = %v: %s", tt.l2, tt.width, tt.inner, got, tt.source)
		}
	}
	near(t, "handbook 04, R4 steady: inner", float64(b.Inner(7.70, 2.55)), 5.36057990576, 5e-12)
	if got := b.Inner(11, 2.55); !math.IsNaN(float64(got)) {
		t.Errorf("inner radius of a folded trailer = %v, want NaN", got)
	}
	_, err = turning.LongestPinToBogie(turning.LongestInput{BoundInput: in, Width: 2.55, Inner: 9})
	checkError(t, err, false)
	in.GuideRadius = 5
	_, err = turning.KingpinBound(in)
	checkError(t, err, false)
	in.GuideLeft = unit.Length(math.NaN())
	_, err = turning.KingpinBound(in)
	checkError(t, err, true)
}

func TestDeemedWheelbase(t *testing.T) {
	for _, tt := range []struct {
		width, want, tol float64
		source           string
	}{
		{2.50, 8.155311153, 5e-10, "handbook 04, 1.11"},
		{2.55, 8.135169021, 5e-10, "handbook 04, 1.11"},
		{2.60, 8.114899876, 5e-10, "handbook 04, 1.11"},
		{2.48, 8.163, 5e-4, "handbook 02, 1.5"},
		{2.55, 8.13, 6e-3, "published: press note on the French arrêté of 27 December 1999, 8.13 m, cut off rather than rounded"},
	} {
		r, err := turning.DeemedWheelbase(turning.DeemedInput{Width: unit.Length(tt.width), Outer: 12.50, Inner: 5.30, FittingRadius: 2.04})
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.source, float64(r.ReferenceWheelbase), tt.want, tt.tol)
	}
	r, err := turning.DeemedWheelbase(turning.DeemedInput{Width: 2.55, Outer: 12.50, Inner: 5.30, FittingRadius: 2.04})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "handbook 02, section 6, row 6: margin of RWB 7.70", float64(r.ReferenceWheelbase)-7.70, 0.435, 5e-4)
	near(t, "handbook 04, 1.11: kingpin", float64(r.Kingpin), 10.46, 1e-12)
	_, err = turning.DeemedWheelbase(turning.DeemedInput{Width: 2.55, Outer: 12.5, Inner: 9.5, FittingRadius: 2.04})
	checkError(t, err, false)
	_, err = turning.DeemedWheelbase(turning.DeemedInput{Width: 2.55, Outer: 12.5, Inner: 5.3, FittingRadius: 13})
	checkError(t, err, true)
}
