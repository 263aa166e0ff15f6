package rule

import (
	"math"

	"underpin/unit"
)

// An Answer is what a limit says of a value, or all findings of a combination.
type Answer string

// The answers. FitsIf belongs to a combination, where another setting or a
// condition would do; a single finding never carries it.
const (
	Fits       Answer = "fits"
	FitsIf     Answer = "fits-if"
	DoesNotFit Answer = "does-not-fit"
	CannotTell Answer = "cannot-tell"
)

// Sense tells on which side of the limit the value must lie.
type Sense string

const (
	AtMost  Sense = "at most"
	AtLeast Sense = "at least"
)

// Evidence tells how well a limit is founded.
type Evidence string

const (
	Read       Evidence = "read"        // read in a law, a standard or a published document, which is cited
	Derived    Evidence = "derived"     // arithmetic or mechanics from values that were read
	SecondHand Evidence = "second-hand" // read in a published summary of the text that is cited, not in the text
	Practice   Evidence = "practice"    // common practice, no source
	Memory     Evidence = "memory"      // not verified
)

// Certifies reports whether a pass against such a limit may be relied on.
// Practice and memory may warn, never certify. What was read at second hand
// certifies, and who relies on it is told to look into the text.
func (e Evidence) Certifies() bool { return e == Read || e == Derived || e == SecondHand }

// dust is the relative binary rounding (11.9 + 0.1) that is absorbed when a
// value is held against a limit. It is no tolerance for measuring.
const dust = 1e-9

// A Finding is one quantity held against one limit.
type Finding struct {
	ID       string // the rule's, or the caller's for a limit that stands on a plate
	Case     string // load case, filled in by the caller
	Quantity string // from the vocabulary
	Title    string // plain words
	Value    float64
	Limit    float64 // Value, Limit and Margin are in Unit; NaN is unknown
	Sense    Sense
	Unit     unit.Unit
	Margin   float64 // room left; negative when beyond
	Answer   Answer
	Binding  bool // false where the evidence does not certify: it warns
	Evidence Evidence
	Calc     string // the calculation that made the value
	Source   string
	Working  string   // why the limit applies and how it was formed
	Note     string   // why there is no limit, or what a failure means, in plain words
	Missing  []string // the facts that would decide, when the answer is cannot-tell
}

// Judge fills in Margin, Answer and Binding from Value, Limit, Sense and
// Evidence. It serves limits that do not come from a rulebook, such as the
// rating on a plate; Limit.Check serves those that do.
func (f Finding) Judge() Finding { return f.judge(f.Limit) }

// judge allows for a limit that a fact not yet declared might replace.
func (f Finding) judge(sure float64) Finding {
	f.Binding = f.Evidence.Certifies()
	f.Margin, f.Answer = decide(f.Sense, f.Value, f.Limit, sure)
	return f
}

// decide holds a value against a limit. Sure is the bound that any resolution
// of undeclared facts keeps: a value beyond the limit and yet within sure can
// still turn out lawful, a value beyond sure cannot.
func decide(sense Sense, value, limit, sure float64) (margin float64, answer Answer) {
	if !finite(value) {
		return math.NaN(), CannotTell // it was not computed, so it has not passed
	}
	var beyond float64
	switch sense {
	case AtMost:
		margin, beyond = limit-value, value-sure
	case AtLeast:
		margin, beyond = value-limit, sure-value
	default:
		return math.NaN(), CannotTell
	}
	// A limit of 0 has no relative dust; a thousandth of the unit stands for it.
	switch {
	case margin >= -dust*math.Max(math.Abs(limit), 1e-3):
		return margin, Fits
	case beyond > dust*math.Max(math.Abs(sure), 1e-3):
		return margin, DoesNotFit
	}
	return margin, CannotTell
}
