package axleload

import (
	"math"

	"underpin/unit"
)

// The checks are written in the positive form, so that NaN is refused too.

func finite(v float64) bool { return -math.MaxFloat64 <= v && v <= math.MaxFloat64 }

func wantFinite[Q ~float64](formula, input string, v Q) error {
	if !finite(float64(v)) {
		return &unit.DomainError{Formula: formula, Input: input, Value: float64(v), Want: "a finite number"}
	}
	return nil
}

func wantPositive[Q ~float64](formula, input string, v Q) error {
	if !(v > 0 && finite(float64(v))) {
		return &unit.DomainError{Formula: formula, Input: input, Value: float64(v), Want: "more than 0, finite"}
	}
	return nil
}

func wantNotNegative[Q ~float64](formula, input string, v Q) error {
	if !(v >= 0 && finite(float64(v))) {
		return &unit.DomainError{Formula: formula, Input: input, Value: float64(v), Want: "0 or more, finite"}
	}
	return nil
}

func wantShare(formula, input string, v float64) error {
	if !(0 <= v && v <= 1) {
		return &unit.DomainError{Formula: formula, Input: input, Value: v, Want: "a share from 0 to 1"}
	}
	return nil
}

// first returns the first error of a row of checks.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
