package maintenance

import (
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

// A Verdict is the outcome of an inspection, from best to worst.
type Verdict int

const (
	Serviceable Verdict = iota
	Advisory            // near a limit, or worth a word
	Repair              // may run, to a latest date and a latest distance
	CannotTell          // something is missing; blocks as DoNotUse does
	DoNotUse            // a limit is reached or something was found that must not be driven with
)

var verdicts = [...]Text{
	{"verdict.serviceable", "serviceable"}, {"verdict.advisory", "advisory"}, {"verdict.repair", "repair"},
	{"verdict.cannot-tell", "cannot tell"}, {"verdict.do-not-use", "do not use"},
}

// Text is the verdict in words.
func (v Verdict) Text() Text     { return verdicts[v] }
func (v Verdict) String() string { return verdicts[v].English }

// Blocks tells whether the verdict keeps a vehicle out of service.
func (v Verdict) Blocks() bool { return v >= CannotTell }

// A Subject is what an inspection decides on.
type Subject string

const (
	OfTractor Subject = "tractor" // needs the sheets of tractor alone and of the pair
	OfTrailer Subject = "trailer" // needs the sheet of the trailer alone
	OfPair    Subject = "pair"    // needs all three
)

// Needs are the halves without whose sheets the subject cannot be told.
func (s Subject) Needs() []Half {
	switch s {
	case OfTractor:
		return []Half{Tractor, Pair}
	case OfTrailer:
		return []Half{Trailer}
	}
	return []Half{Tractor, Trailer, Pair}
}

// An Inspection is one filled sheet and what still stands open of it.
type Inspection struct {
	Sheet  Sheet
	Filled Filled
	Open   []Question // that nobody has answered
}

// A Bound is until when and how far a vehicle may run with a repair open.
type Bound struct {
	On       Date
	Distance unit.Length // from the inspection
	Evidence rule.Evidence
	Source   string
}

// RepairBound is how long a repair that may wait waits at the latest, unless the
// user says less. Common practice, no source: the greasing interval.
const repairDistance, repairMonths = 5000 * unit.Kilometre, 1

// A JudgeAsk is all sheets of one subject, newest last, with what decides.
type JudgeAsk struct {
	Of       Subject
	Sheets   []Inspection
	Regime   Regime
	Today    Date
	Allowed  Bound   // how long a repair may wait; the zero Bound: common practice
	Forecast Bound   // careful date and distance on which a dimension reaches its limit; a zero member: none
	Blocks   []Block // events that nobody has checked yet
}

// A Reason is one thing that counts for the verdict.
type Reason struct {
	Verdict Verdict
	Say     Message
	Measure string // or the key of what was looked at
	Work    string // key of the repair that cures it
}

// An Outcome is what an inspection says.
type Outcome struct {
	Verdict   Verdict
	Reasons   []Reason // worst first
	Missing   []Message
	Lacking   []Half // halves whose sheets are missing
	Held      []Held
	Diagnosis wear.Diagnosis
	Repair    *Bound   // set when the verdict is Repair: latest date and distance
	Work      []string // repairs, in working order, each once
	MustNot   []Text
	PlanPin   bool     // a hint for the plan, no verdict: the pin is past half of its wear
	Partners  []string // kinds of part whose partners since the last good measurement must be looked at
}
