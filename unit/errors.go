package unit

import "fmt"

// A DomainError says that an input lies outside the range for which a formula
// holds, so that no number can be given.
type DomainError struct {
	Formula string  // "D-value"
	Input   string  // "U"
	Value   float64 // in SI
	Want    string  // "0 ≤ U < T"
}

func (e *DomainError) Error() string {
	return fmt.Sprintf("%s: %s = %g is outside the formula's range; expected %s", e.Formula, e.Input, e.Value, e.Want)
}

// A NoAnswerError says that the inputs are sound and yet no answer exists:
// there is no steady state, or the law does not cover the case.
type NoAnswerError struct {
	Formula string
	Why     string // "the trailer folds up: the kingpin's radius 5.1 m is not larger than the wheelbase 7.7 m"
}

func (e *NoAnswerError) Error() string { return e.Formula + ": " + e.Why }
