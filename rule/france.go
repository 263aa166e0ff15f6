package rule

import (
	"fmt"
	"math"

	"underpin/unit"
)

// Steps is a French axle limit that grows in steps of 5 cm of spacing.
type Steps struct {
	Steps int // whole steps of 5 cm above 0.90 m
	Limit unit.Mass
}

// wholeSteps counts the whole 5-cm steps of d above 0.90 m. The law does not
// say how a part step counts; whole steps are the safe reading. The dust lets
// 1.30 m be eight steps although 0.40/0.05 is 7.9999 in binary.
func wholeSteps(d unit.Length) int {
	return int(math.Floor((float64(d)-0.90)/0.05 + 1e-7))
}

// FrenchGroupAxle returns the limit on each axle of a group in French domestic
// traffic, by its distance d to the nearest axle of the group:
//
//	d < 0.90 m           7.35 t
//	0.90 ≤ d < 1.35 m    7.35 t + 0.35 t · n
//	1.35 ≤ d < 1.80 m    10.5 t
//
//	n  whole steps of 5 cm in d − 0.90 m
//
// Valid for 0 < d; otherwise the error is a *unit.DomainError. From 1.80 m on
// the axles form no group and the error is a *unit.NoAnswerError.
//
// Source: Code de la route R312-6 I, text of 31 March 2026. That only whole
// steps count is our reading.
func FrenchGroupAxle(d unit.Length) (Steps, error) {
	const name = "french-group-axle"
	if err := groupSpacing(name, d); err != nil {
		return Steps{}, err
	}
	switch {
	case compare(float64(d), 0.90) < 0:
		return Steps{0, 7350}, nil
	case compare(float64(d), 1.35) < 0:
		n := wholeSteps(d)
		return Steps{n, unit.Mass(7350 + 350*n)}, nil
	}
	return Steps{wholeSteps(d), 10500}, nil
}

// FrenchDriveTandem returns the limit on a motor vehicle's driving tandem in
// French domestic traffic, by the spacing d of its axles:
//
//	d < 0.90 m           13.15 t
//	0.90 ≤ d < 1.00 m    13.15 t + 0.65 t · n
//	1.00 ≤ d < 1.35 m    the same, but at least 16 t
//	1.35 ≤ d < 1.80 m    19 t
//
//	n  whole steps of 5 cm in d − 0.90 m
//
// No driving axle of it may exceed 11.5 t.
//
// Valid for 0 < d; otherwise the error is a *unit.DomainError. From 1.80 m on
// the axles form no tandem and the error is a *unit.NoAnswerError.
//
// Source: Code de la route R312-6 II, text of 31 March 2026. That only whole
// steps count is our reading.
func FrenchDriveTandem(d unit.Length) (Steps, error) {
	const name = "french-drive-tandem"
	if err := groupSpacing(name, d); err != nil {
		return Steps{}, err
	}
	n := wholeSteps(d)
	byStep := unit.Mass(13150 + 650*n)
	switch {
	case compare(float64(d), 0.90) < 0:
		return Steps{0, 13150}, nil
	case compare(float64(d), 1.00) < 0:
		return Steps{n, byStep}, nil
	case compare(float64(d), 1.35) < 0:
		return Steps{n, max(byStep, 16000)}, nil
	}
	return Steps{n, 19000}, nil
}

func groupSpacing(name string, d unit.Length) error {
	switch {
	case !(d > 0):
		return &unit.DomainError{Formula: name, Input: "d", Value: float64(d), Want: "0 < d"}
	case compare(float64(d), 1.80) >= 0:
		return &unit.NoAnswerError{Formula: name, Why: fmt.Sprintf("axles %s apart form no group in R312-6, which ends below 1.80 m; treat as separate axles, expert check", unit.Plain(float64(d), unit.M))}
	}
	return nil
}
