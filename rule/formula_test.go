package rule_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/rule"
	"underpin/unit"
)

func TestReferenceWheelbase(t *testing.T) {
	for _, tt := range []struct {
		width, want, tol float64
		source           string
	}{
		{2.55, 8.13, 0.0055, "press note on the French order of 27 December 1999: 8.13 m, cut, not rounded"},
		{2.48, 8.163, 0.0005, "handbook chapter 02, 1.5"},
		{2.50, 8.155311153, 5e-10, "handbook chapter 04, 5"},
		{2.55, 8.135169021, 5e-10, "handbook chapter 04, 5"},
		{2.60, 8.114899876, 5e-10, "handbook chapter 04, 5"},
	} {
		got, err := rule.ReferenceWheelbase(rule.Ring{Width: unit.Length(tt.width), Outer: 12.5, Inner: 5.3, FittingRadius: 2.04})
		if diff := math.Abs(float64(got.Limit) - tt.want); err != nil || !(diff <= tt.tol) {
			t.Errorf("width %v: %v, %v; want %v (%s)", tt.width, got.Limit, err, tt.want, tt.source)
		}
		if !(math.Abs(float64(got.Guide)-10.46) <= 1e-12) {
			t.Errorf("guide %v, want 12.50 − 2.04", got.Guide)
		}
	}
	nan := unit.Length(math.NaN())
	for _, bad := range []rule.Ring{
		{nan, 12.5, 5.3, 2.04}, {2.5, nan, 5.3, 2.04}, {2.5, 12.5, nan, 2.04}, {2.5, 12.5, 5.3, nan}, {0, 12.5, 5.3, 2.04}, {2.5, 12.5, 0, 2.04},
		{2.5, 12.5, 5.3, -0.1}, {2.5, 8, 5.3, 2.04}, {2.5, unit.Length(math.Inf(1)), 5.3, 2.04},
	} {
		_, err := rule.ReferenceWheelbase(bad)
		refusedAsDomain(t, fmt.Sprint(bad), err)
	}
}

func refusedAsDomain(t *testing.T, what string, err error) {
	t.Helper()
	var domain *unit.DomainError
	if !errors.As(err, &domain) {
		t.Errorf("%s: %v, want a *unit.DomainError", what, err)
	}
}

func TestLongestBody(t *testing.T) {
	for _, tt := range []struct {
		width, want, tol float64
		source           string
	}{
		{2.50, 13.61, 0.005, "trade journal of 25 October 1990, p. 50"},
		{2.50, 13.612, 0.0005, "handbook chapter 02, 1.2"},
		{2.55, 13.592, 0.0005, "handbook chapter 02, 1.2"},
		{2.60, 13.572, 0.0005, "handbook chapter 02, 1.2"},
	} {
		got, err := rule.LongestBody(12, 2.04, unit.Length(tt.width))
		if diff := math.Abs(float64(got.Length) - tt.want); err != nil || !(diff <= tt.tol) {
			t.Errorf("width %v: %v, %v; want %v (%s)", tt.width, got.Length, err, tt.want, tt.source)
		}
	}
	for _, bad := range [][3]unit.Length{{0, 2.04, 2.5}, {12, 2.04, 4.08}, {12, 2.04, 0}, {12, unit.Length(math.NaN()), 2.5}, {unit.Length(math.NaN()), 2.04, 2.5}, {12, 2.04, unit.Length(math.NaN())}} {
		_, err := rule.LongestBody(bad[0], bad[1], bad[2])
		refusedAsDomain(t, fmt.Sprint(bad), err)
	}
}

func TestArticulatedGross(t *testing.T) {
	got, err := rule.ArticulatedGross(rule.Plates{TractorGross: 18000, TractorImposed: 10500, TrailerGross: 36000, TrailerImposed: 12000})
	if err != nil || got.Gross != 42000 || got.Imposed != 12000 {
		t.Errorf("%+v, %v; want 18 + 36 − 12 = 42 t (StVZO § 34(7) no. 3)", got, err)
	}
	got, err = rule.ArticulatedGross(rule.Plates{TractorGross: 18000, TractorImposed: 12500, TrailerGross: 36000, TrailerImposed: 12000})
	if err != nil || got.Gross != 41500 {
		t.Errorf("%+v, %v; want 18 + 36 − 12.5 = 41.5 t: the greater load is taken off", got, err)
	}
	nan := unit.Mass(math.NaN())
	for _, bad := range []rule.Plates{
		{nan, 10500, 36000, 12000}, {18000, nan, 36000, 12000}, {18000, 10500, nan, 12000}, {18000, 10500, 36000, nan},
		{18000, 18000, 36000, 12000}, {18000, 10500, 36000, 36000}, {18000, 0, 36000, 12000}, {0, 0, 36000, 12000},
	} {
		_, err := rule.ArticulatedGross(bad)
		refusedAsDomain(t, fmt.Sprint(bad), err)
	}
}

func TestAxleSpread(t *testing.T) {
	for _, tt := range []struct {
		distance unit.Length
		want     unit.Mass
		source   string
	}{
		{8.0, 44000, "44 000/5 500 = 8.0, consistent with the remembered factor"},
		{8.5, 44000, "capped"},
		{7.271, 40000, "algebra: 39 990.5, up to the next 10"},
		{7.3, 40150, "algebra: 40 150 whole, not 40 160 by binary dust"},
		{7.301, 40160, "algebra: 40 155.5, up to the next 10"},
		{0, 0, "algebra"},
	} {
		got, err := rule.AxleSpread(tt.distance, 5500, 10, 44000)
		if err != nil || got.Limit != tt.want {
			t.Errorf("%v m: %v, %v; want %v (%s)", float64(tt.distance), got, err, tt.want, tt.source)
		}
	}
	// No distance in whole centimetres gains a step by dust: 55 kg per cm.
	for cm := 1; cm <= 800; cm++ {
		want := unit.Mass((55*cm + 9) / 10 * 10)
		if got, err := rule.AxleSpread(unit.Length(float64(cm)/100), 5500, 10, 44000); err != nil || got.Limit != want {
			t.Errorf("%d cm: %v, %v; want %v (whole-number arithmetic)", cm, got.Limit, err, want)
		}
	}
	nan := unit.Mass(math.NaN())
	for _, bad := range []struct {
		d       unit.Length
		f, s, m unit.Mass
	}{{-1, 5500, 10, 44000}, {unit.Length(math.NaN()), 5500, 10, 44000}, {8, nan, 10, 44000}, {8, 5500, nan, 44000}, {8, 5500, 10, nan}, {8, 0, 10, 44000}, {8, 5500, -1, 44000}, {8, 5500, 10, 0}} {
		_, err := rule.AxleSpread(bad.d, bad.f, bad.s, bad.m)
		refusedAsDomain(t, fmt.Sprint(bad), err)
	}
}

func TestFrench(t *testing.T) {
	for _, tt := range []struct {
		cm          int // spacing
		axle, drive float64
		source      string
	}{
		{89, 7350, 13150, "R312-6 I, II: below 0.90 m"},
		{90, 7350, 13150, "R312-6 I, II: no step"},
		{94, 7350, 13150, "whole steps only"},
		{95, 7700, 13800, "one step"},
		{99, 7700, 13800, "one step"},
		{100, 8050, 16000, "two steps; 14.45 t is raised to 16 t"},
		{114, 8750, 16000, "four steps; 15.75 t is raised to 16 t"},
		{115, 9100, 16400, "five steps: 13.15 + 5·0.65"},
		{120, 9450, 17050, "six steps: 13.15 + 6·0.65"},
		{130, 10150, 18350, "eight steps"},
		{134, 10150, 18350, "eight steps"},
		{135, 10500, 19000, "from 1.35 m"},
		{179, 10500, 19000, "up to 1.80 m"},
	} {
		d := unit.Length(float64(tt.cm) / 100)
		axle, err1 := rule.FrenchGroupAxle(d)
		drive, err2 := rule.FrenchDriveTandem(d)
		if err := errors.Join(err1, err2); err != nil || float64(axle.Limit) != tt.axle || float64(drive.Limit) != tt.drive {
			t.Errorf("%d cm: axle %v, tandem %v, %v; want %v and %v (%s)", tt.cm, axle.Limit, drive.Limit, err, tt.axle, tt.drive, tt.source)
		}
	}
	for _, f := range []func(unit.Length) (rule.Steps, error){rule.FrenchGroupAxle, rule.FrenchDriveTandem} {
		var none *unit.NoAnswerError
		if _, err := f(1.80); !errors.As(err, &none) {
			t.Errorf("1.80 m: %v, want a *unit.NoAnswerError", err)
		}
		for _, bad := range []float64{0, -1, math.NaN()} {
			_, err := f(unit.Length(bad))
			refusedAsDomain(t, fmt.Sprint(bad), err)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // more spacing never takes mass away
		d := unit.Length(rapid.Float64Range(0.1, 1.79).Draw(t, "d"))
		more := unit.Length(rapid.Float64Range(float64(d), 1.79).Draw(t, "more"))
		for _, f := range []func(unit.Length) (rule.Steps, error){rule.FrenchGroupAxle, rule.FrenchDriveTandem} {
			a, err1 := f(d)
			b, err2 := f(more)
			if err := errors.Join(err1, err2); err != nil || b.Limit < a.Limit {
				t.Fatalf("%v m: %v; %v m: %v; %v", d, a, more, b, err)
			}
		}
	})
}

// An exact half foot goes up, however the length was put together.
func TestHalfFeet(t *testing.T) {
	for feet := 4; feet < 100; feet++ {
		for _, length := range []unit.Length{
			unit.Length(feet)*unit.Foot + 6*unit.Inch, (unit.Length(feet) + 0.5) * unit.Foot,
			unit.Length(12*feet+6) * unit.Inch, unit.Length(math.Round((float64(feet)+0.5)*3048) / 10000),
		} {
			if b, err := rule.BridgeFormula(3, length, rule.TiesDown); err != nil || b.Feet != feet+1 {
				t.Errorf("%d ft 6 in as %.17g m: %d ft, %v (Wisconsin's guide to s. 348.15(5m))", feet, float64(length), b.Feet, err)
			}
		}
		if b, err := rule.BridgeFormula(3, unit.Length(12*feet+5)*unit.Inch, rule.TiesDown); err != nil || b.Feet != feet {
			t.Errorf("%d ft 5 in: %d ft, %v (Wisconsin's guide to s. 348.15(5m))", feet, b.Feet, err)
		}
	}
}

// The legal kingpin distance and width of the Union leave this body.
func ExampleLongestBody() {
	b, err := rule.LongestBody(12*unit.Metre, 2.04*unit.Metre, 2.55*unit.Metre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("front overhang %.3f m, body %.3f m\n", b.FrontOverhang.Metres(), b.Length.Metres())
	// Output: front overhang 1.592 m, body 13.592 m
}

func ExampleReferenceWheelbase() {
	w, err := rule.ReferenceWheelbase(rule.Ring{Width: 2.55, Outer: 12.5, Inner: 5.3, FittingRadius: 2.04})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f m\n", w.Limit.Metres())
	// Output: 8.135 m
}

func ExampleArticulatedGross() {
	g, err := rule.ArticulatedGross(rule.Plates{TractorGross: 18000, TractorImposed: 10500, TrailerGross: 36000, TrailerImposed: 12000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f t\n", g.Gross.Tonnes())
	// Output: 42.0 t
}
