package axleload_test

import (
	"errors"
	"math"
	"testing"

	"underpin/axleload"
	"underpin/unit"
)

const (
	t_ = unit.Tonne
	m_ = unit.Metre
	in = unit.Inch
	lb = unit.Pound
)

// near fails unless got lies within tol of want; NaN fails.
func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s = %.7g, want %.7g ± %g (%s)", what, got, want, tol, source)
	}
}

// vehicleA is the two-axle tractor with a three-axle curtain-sider of handbook
// chapter 03, 8 A: 25.9 t at 6.8 m behind the headboard, 1.6 m ahead of the pin.
func vehicleA() axleload.Pair {
	return axleload.Pair{
		Wheelbase: 3.70, Lead: 0.60, TareFront: 5.5 * t_, TareRear: 2.3 * t_,
		PinToBogie: 7.70, TarePin: 1.9 * t_, TareBogie: 4.4 * t_,
		Payload: 25.9 * t_, PayloadAt: 6.8 - 1.6,
	}
}

// vehicleB is the mid-lift tractor of handbook chapter 03, 8 B, lift down; the
// line is computed by ReactionLine in the tests that use it.
func vehicleB(t testing.TB) (axleload.Pair, axleload.Group) {
	t.Helper()
	group := axleload.Group{
		{At: 4.10 - 1.35, Share: 7.5 / 19, Tare: 1.2 * t_},
		{At: 4.10, Share: 11.5 / 19, Tare: 2.2 * t_},
	}
	line, err := axleload.ReactionLine(group)
	if err != nil {
		t.Fatal(err)
	}
	return axleload.Pair{
		Wheelbase: line, Lead: line - 3.50, TareFront: 5.6 * t_, TareRear: 3.4 * t_,
		PinToBogie: 7.70, TarePin: 2.0 * t_, TareBogie: 4.8 * t_,
		Payload: 28.2 * t_, PayloadAt: 6.8 - 1.6,
		Drive: &axleload.DrivePart{Tare: 2.2 * t_, Share: 11.5 / 19},
	}, group
}

// vehicleC is the US three-axle tractor with a 53 ft van of handbook chapter
// 03, 8 C.
func vehicleC(lead unit.Length) axleload.Pair {
	return axleload.Pair{
		Wheelbase: 235 * in, Lead: lead, TareFront: 11000 * lb, TareRear: 7500 * lb,
		PinToBogie: 486 * in, TarePin: 5400 * lb, TareBogie: 9100 * lb,
		Payload: 45000 * lb, PayloadAt: (300 - 36) * in,
	}
}

func wantDomain(t *testing.T, what string, err error) {
	t.Helper()
	var d *unit.DomainError
	if !errors.As(err, &d) {
		t.Errorf("%s: error %v, want a *unit.DomainError", what, err)
	}
}

func wantNoAnswer(t *testing.T, what string, err error) {
	t.Helper()
	var n *unit.NoAnswerError
	if !errors.As(err, &n) {
		t.Errorf("%s: error %v, want a *unit.NoAnswerError", what, err)
	}
}
