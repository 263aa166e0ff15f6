package turning_test

import (
	"math"
	"testing"

	"underpin/turning"
	"underpin/unit"
)

func TestOfftracking(t *testing.T) {
	ft := func(v float64) unit.Length { return unit.Length(v) * unit.Foot }
	for _, tt := range []struct {
		tr, want float64 // ft
		tol      float64
	}{
		{50, 5.88322685, 5e-9}, {100, 2.70593952, 5e-9}, {200, 1.31685651, 5e-9}, {500, 0.520172069, 5e-10}, {1000, 0.259146657, 5e-10},
	} {
		r, err := turning.Offtracking(turning.OfftrackingInput{OuterWheelRadius: ft(tt.tr), HalfTrack: ft(3.21), Wheelbase: ft(105. / 12), Lead: ft(1), PinToBogie: ft(21)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "handbook 04, 1.9, inputs printed on the chart", r.Offtracking.Feet(), tt.want, tt.tol)
	}
	in := turning.OfftrackingInput{OuterWheelRadius: 12, HalfTrack: 1, Wheelbase: 3.7, Lead: 0.5, PinToBogie: 7.7}
	for _, tt := range []struct {
		change func(*turning.OfftrackingInput)
		domain bool
	}{
		{func(in *turning.OfftrackingInput) { in.PinToBogie = 11 }, false},
		{func(in *turning.OfftrackingInput) { in.OuterWheelRadius = 3.7 }, true},
		{func(in *turning.OfftrackingInput) { in.OuterWheelRadius = unit.Length(math.NaN()) }, true},
		{func(in *turning.OfftrackingInput) { in.HalfTrack = -1 }, true},
		{func(in *turning.OfftrackingInput) { in.HalfTrack = 12 }, true},
		{func(in *turning.OfftrackingInput) { in.Wheelbase = 0 }, true},
		{func(in *turning.OfftrackingInput) { in.Lead = unit.Length(math.NaN()) }, true},
		{func(in *turning.OfftrackingInput) { in.PinToBogie = -1 }, true},
	} {
		bad := in
		tt.change(&bad)
		_, err := turning.Offtracking(bad)
		checkError(t, err, tt.domain)
	}
}

func TestSumOfSquares(t *testing.T) {
	r, err := turning.SumOfSquares(10.8018653799, []unit.Length{3.70, 7.70}, []unit.Length{0.575})
	if err != nil {
		t.Fatal(err)
	}
	const source = "handbook 04, 1.9, vehicle E: "
	near(t, source+"sum", float64(r.Sum), 72.649375, 5e-7)
	near(t, source+"OT", float64(r.Offtracking), 4.16628547415, 1e-10) // the radius is printed to 5e-11
	near(t, source+"linear form", float64(r.Linear), 3.362816164, 5e-10)
	near(t, source+"how far the linear form falls short", 1-float64(r.Linear/r.Offtracking), 0.19, 0.005)
	_, err = turning.SumOfSquares(8, []unit.Length{3.70, 7.70}, []unit.Length{0.575})
	checkError(t, err, false)
	// The end of the chain would have a radius, but its first trailer folds.
	_, err = turning.SumOfSquares(8, []unit.Length{3.70, 7.70, 1}, []unit.Length{0, 6})
	checkError(t, err, false)
	_, err = turning.SumOfSquares(12, []unit.Length{3.70, 7.70}, nil)
	checkError(t, err, true)
	_, err = turning.SumOfSquares(12, nil, nil)
	checkError(t, err, true)
}

func TestTurningRadius(t *testing.T) {
	r, err := turning.TurningRadius(198*unit.Inch, 77*unit.Inch, 30*unit.Degree)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "recomputed: handbook 04, 1.9", r.Inches(), 464.282988, 5e-7)
	near(t, "published: example of the city document, 464.3 in", r.Inches(), 464.3, 0.05)
	for _, angle := range []unit.Angle{0, math.Pi / 2, -0.1, unit.Angle(math.NaN())} {
		_, err := turning.TurningRadius(5, 2, angle)
		checkError(t, err, true)
	}
}

func TestEquivalentAxle(t *testing.T) {
	for _, tt := range []struct {
		name             string
		axles            []unit.Length
		centre, spread   float64
		want, tol, tolSp float64
	}{
		{"tridem 1.31, 7.70", []unit.Length{6.39, 7.70, 9.01}, 7.70, 1.14406667, 7.848580087, 5e-10, 5e-9},
		{"tridem 1.31, 8.00", []unit.Length{6.69, 8.00, 9.31}, 8.00, 1.14406667, 8.143008333, 5e-10, 5e-9},
		{"tandem 1.36, 12.30", []unit.Length{11.62, 12.98}, 12.30, 0.4624, 12.3375935, 5e-8, 5e-9},
		{"single", []unit.Length{7.7}, 7.7, 0, 7.7, 1e-15, 0},
	} {
		r, err := turning.EquivalentAxle(tt.axles)
		if err != nil {
			t.Fatal(err)
		}
		const source = ": handbook 04, 1.6 (single: algebra)"
		near(t, tt.name+source, float64(r.Equivalent), tt.want, tt.tol)
		near(t, tt.name+", centre", float64(r.Centre), tt.centre, 1e-14)
		near(t, tt.name+", spread", float64(r.Spread), tt.spread, tt.tolSp)
		var sum, squares float64
		for _, x := range tt.axles {
			sum, squares = sum+float64(x), squares+float64(x*x)
		}
		near(t, tt.name+", algebra Σx²/Σx", float64(r.Equivalent), squares/sum, 1e-14)
	}
	for _, bad := range [][]unit.Length{nil, {}, {7, 0}, {7, -1}, {unit.Length(math.NaN())}} {
		_, err := turning.EquivalentAxle(bad)
		checkError(t, err, true)
	}
}

func TestSteeredAxleYaw(t *testing.T) {
	for _, tt := range []struct {
		name   string
		in     turning.SteeredInput
		want   float64
		source string
	}{
		{"unsteered", turning.SteeredInput{0.3, 0.1, 0, 7.7}, math.Sin(0.2) / 7.7, "algebra: δ = 0 leaves sin γ/L"},
		{"wheels along the path", turning.SteeredInput{0.3, 0.1, 0.2, 7.7}, 0, "algebra: axle and kingpin move alike"},
		{"crab", turning.SteeredInput{0, 0, -0.1, 5}, math.Tan(0.1) / 5, "algebra: sin δ/(L cos δ)"},
	} {
		got, err := turning.SteeredAxleYaw(tt.in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name+": "+tt.source, got, tt.want, 1e-16)
	}
	for _, bad := range []turning.SteeredInput{{0, 0, math.Pi / 2, 5}, {0, 0, 0, 0}, {unit.Angle(math.NaN()), 0, 0, 5}, {0, unit.Angle(math.NaN()), 0, 5}} {
		_, err := turning.SteeredAxleYaw(bad)
		checkError(t, err, true)
	}
}
