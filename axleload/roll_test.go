package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/axleload"
	"underpin/unit"
)

func TestRollThreshold(t *testing.T) {
	const src = "handbook chapter 03, 6.5"
	for _, tt := range []struct{ h, rigid, tolRigid, leaning float64 }{
		{1.2, 0.850, 5e-4, 0.8145}, {1.6, 0.6375, 5e-5, 0.6020}, {2.0, 0.510, 5e-4, 0.4775}, {2.2, 0.4636, 5e-5, 0.4327},
	} {
		got, err := axleload.RollThreshold(2.04, unit.Length(tt.h))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("rigid, h ", tt.h), got, tt.rigid, tt.tolRigid, src)
		got, err = axleload.RollThresholdLeaning(axleload.RollBody{
			Track: 2.04, CentreHeight: unit.Length(tt.h), RollAxis: 0.7, Compliance: 6 * unit.Degree,
		})
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("leaning, h ", tt.h), got, tt.leaning, 5e-5, src)
	}
	// ADR's width rule w ≥ 0.9 h.
	got, err := axleload.RollThreshold(0.9*2, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "w = 0.9 h", got, 0.45, 1e-12, "ADR 9.7.5.1: width at least 90 % of the centre's height")
	nan := unit.Length(math.NaN())
	for _, bad := range [][2]unit.Length{{0, 1}, {2, 0}, {nan, 1}, {1, nan}} {
		_, err := axleload.RollThreshold(bad[0], bad[1])
		wantDomain(t, fmt.Sprint(bad), err)
	}
	_, err = axleload.RollThresholdLeaning(axleload.RollBody{Track: 2, CentreHeight: 1, RollAxis: 1.5})
	wantDomain(t, "axis above centre", err)
}

func TestWheelLifts(t *testing.T) {
	const src = "handbook chapter 03, 6.5, progressive wheel lift"
	axle := axleload.RollSupport{Load: 7.297 * t_, Track: 2.04, Stiffness: 900 * unit.KilonewtonMetre}
	supports := []axleload.RollSupport{axle, axle, axle,
		{Load: 10.309 * t_, Track: 1.90, Stiffness: 4 * 10.309 * 9.81 * unit.KilonewtonMetre}}
	var out [4]axleload.WheelLift
	r, err := axleload.WheelLifts(axleload.RollBody{CentreHeight: 1.92, RollAxis: 0.7}, supports, out[:])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "axle lifts, deg", out[0].Lean.Degrees(), 4.6483, 5e-5, src)
	near(t, "a then", out[0].Acceleration, 0.36373, 5e-6, src)
	near(t, "kingpin lifts, deg", out[3].Lean.Degrees(), 13.6077, 5e-5, src)
	near(t, "threshold", r.Threshold, 0.36867, 5e-6, src)
	near(t, "rigid", r.Rigid, 0.51958, 5e-6, src)
	if r.Governs != 3 {
		t.Errorf("support %d governs, want the kingpin, 3", r.Governs)
	}
	// Very stiff supports on one track come to the rigid threshold.
	stiff := []axleload.RollSupport{{10e3, 2.04, 1e12}, {20e3, 2.04, 1e12}}
	r, err = axleload.WheelLifts(axleload.RollBody{CentreHeight: 2, RollAxis: 0.7}, stiff, out[:])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "stiff", r.Threshold, 0.51, 1e-6, "algebra: t/(2h)")
	_, err = axleload.WheelLifts(axleload.RollBody{CentreHeight: 2, RollAxis: 0}, []axleload.RollSupport{{10e3, 2, 100}}, out[:])
	wantNoAnswer(t, "too soft", err)
	_, err = axleload.WheelLifts(axleload.RollBody{CentreHeight: 2}, nil, out[:])
	wantDomain(t, "no support", err)
	_, err = axleload.WheelLifts(axleload.RollBody{CentreHeight: 2}, []axleload.RollSupport{{unit.Mass(math.NaN()), 2, 1}}, out[:])
	wantDomain(t, "NaN", err)
}

func TestCurveSpeed(t *testing.T) {
	v, err := axleload.CurveSpeed(0.35, 50)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "km/h", v*3.6, 47.2, 0.05, "handbook chapter 03, 6.5: 0.35 g, 50 m")
	_, err = axleload.CurveSpeed(math.NaN(), 50)
	wantDomain(t, "NaN", err)
}

func ExampleRollThreshold() {
	g, err := axleload.RollThreshold(2.04, 2.0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f g\n", g)
	// Output: 0.51 g
}
