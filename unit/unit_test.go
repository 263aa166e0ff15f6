package unit_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

// Sources: the definitions at the head of parse_test.go.
func TestQuantityInTradeUnits(t *testing.T) {
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"1 m in mm", unit.Length(1).Millimetres(), 1000},
		{"1 m in m", unit.Length(1).Metres(), 1},
		{"0.9144 m in ft", unit.Length(0.9144).Feet(), 3},
		{"0.9144 m in in", unit.Length(0.9144).Inches(), 36},
		{"45.359237 kg in lb", unit.Mass(45.359237).Pounds(), 100},
		{"1500 kg in kg", unit.Mass(1500).Kilograms(), 1500},
		{"1500 kg in t", unit.Mass(1500).Tonnes(), 1.5},
		{"1500 N in N", unit.Force(1500).Newtons(), 1500},
		{"1500 N in kN", unit.Force(1500).Kilonewtons(), 1.5},
		{"270 N.m in N.m", unit.Torque(270).NewtonMetres(), 270},
		{"π/6 in degrees", unit.Angle(0.52359877559829887).Degrees(), 30},
		{"2 rad in rad", unit.Angle(2).Radians(), 2},
		{"157 mm² in mm²", unit.Area(157e-6).SquareMillimetres(), 157},
		{"940 N/mm² in MPa", unit.Pressure(940e6).Megapascals(), 940},
	} {
		if !near(tt.got, tt.want) {
			t.Errorf("%s: %.17g, want %.17g", tt.name, tt.got, tt.want)
		}
	}
	if unit.Gravity != 9.81 {
		t.Errorf("g = %v; the published D-values were made with 9.81", unit.Gravity)
	}
}

// What was given in a unit comes back in it as it was, and what was computed is
// not cut: the dust of some operations goes, a thousandth of a millionth stays.
func TestFromLeavesNoDust(t *testing.T) {
	for _, tt := range []struct {
		what string
		si   float64
		u    unit.Unit
		want float64
	}{
		{"the US gross limit, by way of kilograms", 80000 * float64(unit.Pound), unit.Lb, 80000},
		{"a US bridge limit, as a sum of two", 34000*float64(unit.Pound) + 44000*float64(unit.Pound), unit.Lb, 78000},
		{"the EU width from millimetres", 2550 * float64(unit.Millimetre), unit.M, 2.55},
		{"the spacing of a tri-axle", 9.01 - 7.70, unit.M, 1.31},
		{"14 ft in feet, by way of inches", 168 * float64(unit.Inch), unit.Ft, 14},
		{"a value that is no such number", 1.31 + 1e-9, unit.M, 1.310000001},
		{"a third", 1.0 / 3, unit.M, 1.0 / 3},
		{"zero", 0, unit.Lb, 0},
	} {
		if got := tt.u.From(tt.si); got != tt.want {
			t.Errorf("%s: %.17g, want %.17g", tt.what, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := float64(rapid.IntRange(0, 2e8).Draw(t, "n")) / 1000
		for _, u := range []unit.Unit{unit.Lb, unit.T, unit.KG, unit.M, unit.MM, unit.Ft, unit.In, unit.KN, unit.Lbf} {
			if got := u.From(u.ToSI(n)); got != n {
				t.Fatalf("%v %s come back as %v", n, u.Symbol, got)
			}
		}
	})
	if v := unit.Lb.From(math.Inf(1)); !math.IsInf(v, 1) || !math.IsNaN(unit.Lb.From(math.NaN())) {
		t.Errorf("infinity comes back as %v", v)
	}
}

func TestDimensionHasAName(t *testing.T) {
	for _, d := range all {
		if d.String() == "" || d.String() == "unknown quantity" {
			t.Errorf("dimension %d is called %q", d, d)
		}
	}
	for _, d := range []unit.Dimension{-1, unit.PressureDim + 1} {
		if d.String() != "unknown quantity" {
			t.Errorf("dimension %d is called %q", int(d), d)
		}
	}
}

// "No number can be given" and "no answer exists" can be told apart.
func TestErrorsCanBeToldApart(t *testing.T) {
	domain := fmt.Errorf("for the report: %w", &unit.DomainError{Formula: "D-value", Input: "U", Value: 20000, Want: "0 ≤ U < T"})
	none := fmt.Errorf("for the report: %w", &unit.NoAnswerError{Formula: "steady circle", Why: "the trailer folds up"})
	var d *unit.DomainError
	var n *unit.NoAnswerError
	if !errors.As(domain, &d) || errors.As(domain, &n) || !errors.As(none, &n) || errors.As(none, &d) {
		t.Error("the two kinds are taken for each other")
	}
	if want := "D-value: U = 20000 is outside the formula's range; expected 0 ≤ U < T"; d.Error() != want {
		t.Errorf("%q, want %q", d, want)
	}
	if want := "steady circle: the trailer folds up"; n.Error() != want {
		t.Errorf("%q, want %q", n, want)
	}
}
