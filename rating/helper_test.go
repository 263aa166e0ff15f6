package rating_test

import (
	"errors"
	"math"
	"testing"

	"underpin/unit"
)

const (
	t_ = unit.Tonne
	kN = unit.Kilonewton
)

func tonnes(v float64) unit.Mass { return unit.Mass(v) * unit.Tonne }
func kilon(v float64) unit.Force { return unit.Force(v) * unit.Kilonewton }

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s = %.7g, want %.7g ± %g (%s)", what, got, want, tol, source)
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
