package rating

import (
	"math"

	"underpin/unit"
)

// Evidence says how well a fact is known.
type Evidence string

// The marks. Only Read and Derived can make a pass certain; Practice and Memory
// may warn.
const (
	Read     Evidence = "read"     // the law, standard, plate or marking was read
	Derived  Evidence = "derived"  // arithmetic or mechanics from what was read
	Practice Evidence = "practice" // common practice, no source
	Memory   Evidence = "memory"   // not verified
)

// Certifies tells whether a pass may rest on such a fact. An unknown mark
// certifies nothing.
func (e Evidence) Certifies() bool { return e == Read || e == Derived }

// Answer says whether something may be used.
type Answer string

// The answers. What is missing is never a pass.
const (
	Fits       Answer = "fits"
	DoesNotFit Answer = "does-not-fit"
	CannotTell Answer = "cannot-tell"
)

// A Rule is one requirement with what it rests on.
type Rule struct {
	ID       string
	Says     string
	Evidence Evidence
	Source   string
}

// A Finding is a rule held against the facts.
type Finding struct {
	Rule   Rule
	Answer Answer
}

// Binding tells whether the finding decides; otherwise it warns.
func (f Finding) Binding() bool { return f.Rule.Evidence.Certifies() }

// Findings are the findings of one question.
type Findings []Finding

// Answer returns the answer of the binding findings together. Without a binding
// finding nothing is certain.
func (fs Findings) Answer() Answer {
	answer, bound := Fits, false
	for _, f := range fs {
		if !f.Binding() {
			continue
		}
		bound = true
		switch f.Answer {
		case DoesNotFit:
			return DoesNotFit
		case Fits:
		default:
			answer = CannotTell
		}
	}
	if !bound {
		return CannotTell
	}
	return answer
}

// yes turns a fact that may be unknown into an answer.
func yes(fact *bool) Answer {
	switch {
	case fact == nil:
		return CannotTell
	case *fact:
		return Fits
	}
	return DoesNotFit
}

func finite(v float64) bool { return -math.MaxFloat64 <= v && v <= math.MaxFloat64 }

func outside[Q ~float64](formula, input string, v Q, want string) error {
	return &unit.DomainError{Formula: formula, Input: input, Value: float64(v), Want: want}
}

func wantPositive[Q ~float64](formula, input string, v Q) error {
	if !(v > 0 && finite(float64(v))) {
		return outside(formula, input, v, "more than 0, finite")
	}
	return nil
}
