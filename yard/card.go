package yard

import (
	"slices"
	"strconv"

	"underpin/record"
	"underpin/unit"
)

// A Flow is one thing that a driver does with a pair.
type Flow string

const (
	Couple     Flow = "couple"
	Restricted Flow = "restricted" // coupling whose lines are joined with the tractor part-way under
	Uncouple   Flow = "uncouple"
	Drop       Flow = "drop"  // uncoupling a trailer that stays behind, with what is left of it
	Slide      Flow = "slide" // moving the slider
)

// Flows lists all flows.
func Flows() []Flow { return []Flow{Couple, Restricted, Uncouple, Drop, Slide} }

// A Kind is what an answer is.
type Kind string

const (
	Done   Kind = "done"   // it was done
	Seen   Kind = "seen"   // yes or no
	Number Kind = "number" // a whole number in a unit
	Photo  Kind = "photo"
	Words  Kind = "words"  // a few words
	Choice Kind = "choice" // one of some texts
)

// An Ask is the answer that a step waits for.
type Ask struct {
	Kind     Kind   `json:"kind"`
	Safe     YesNo  `json:"safe,omitempty"` // of what was seen: the answer that lets go on
	Unit     string `json:"unit,omitempty"`
	Least    int64  `json:"least,omitempty"` // of a number, both bounds included
	Most     int64  `json:"most,omitempty"`
	Choices  []Key  `json:"choices,omitempty"`
	Optional bool   `json:"optional,omitempty"`
}

// A Step is one thing to do or to look at, standing still.
type Step struct {
	Key     string  `json:"key"`  // unique on the card: number of the standstill and name
	Name    string  `json:"name"` // the same step on every card
	Text    Message `json:"text"`
	Caution Message `json:"caution,omitzero"`
	Reason  Reason  `json:"reason"`
	Ask     Ask     `json:"ask"`
	Stops   bool    `json:"stops,omitempty"`   // nothing behind it until it is confirmed
	Lock    bool    `json:"lock,omitempty"`    // a look that proves the lock
	Never   Key     `json:"never,omitempty"`   // the state that a wrong answer means
	Refused bool    `json:"refused,omitempty"` // the facts have answered it: no
}

// A Halt is a standstill: first the driving that leads to it, without any
// answer, then its steps.
type Halt struct {
	Number int       `json:"number"`
	Title  Key       `json:"title"`
	Drive  []Message `json:"drive,omitempty"`
	Steps  []Step    `json:"steps"`
}

// A Card is the steps of one flow for one pair.
type Card struct {
	Flow     Flow      `json:"flow"`
	Country  string    `json:"country"`
	Halts    []Halt    `json:"halts"`
	After    []Message `json:"after,omitempty"` // driving after the last step
	NotKnown []Message `json:"not_known,omitempty"`

	// Travelling is the pair's height on the road today, the largest figure of
	// the card, rounded up; nil cannot be told.
	Travelling *int64   `json:"travelling_mm,omitempty"`
	Meeting    Meeting  `json:"meeting"`
	Setting    *Setting `json:"setting,omitempty"`
}

// A Setting is where the slider may stand for this pair: its lead, in whole
// millimetres. Aim is where it should be put.
type Setting struct {
	Least int64 `json:"least_mm"`
	Most  int64 `json:"most_mm"`
	Aim   int64 `json:"aim_mm"`
}

// A Pair is what a card is built from. Heights and the setting are worked out
// elsewhere; nil is unknown.
type Pair struct {
	Facts      Facts
	Country    string       // whose order of lines; a rulebook's name
	Travelling *unit.Length // overall height on the road today
	Coupling   *unit.Length // top of the fifth wheel, as the tractor reverses
	Plate      *unit.Length // underside of the trailer's plate as it stands
	Setting    *Setting     // where the slider may stand
}

// NewCard builds the card of a flow for a pair.
func NewCard(flow Flow, p Pair) (*Card, error) {
	if !slices.Contains(Flows(), flow) {
		return nil, &record.RuleError{Field: "flow", Found: short(string(flow)), Want: "couple, restricted, uncouple, drop or slide"}
	}
	if err := p.Facts.Check(); err != nil {
		return nil, err
	}
	if flow == Slide && p.Facts.Slider == No {
		return nil, &record.RuleError{Field: "flow", Found: short(string(flow)), Want: "another flow: this fifth wheel does not slide"}
	}
	if s := p.Setting; s != nil && !(s.Least <= s.Aim && s.Aim <= s.Most) {
		return nil, &record.RuleError{Field: "setting", Found: strconv.FormatInt(s.Aim, 10) + " mm", Want: "an aim from least to most"}
	}
	b := newBuilder(flow, p)
	switch flow {
	case Couple, Restricted:
		b.couple()
	case Uncouple, Drop:
		b.uncouple()
	case Slide:
		b.slide()
	}
	return b.card, nil
}

// Steps lists the steps of all standstills in order.
func (c *Card) Steps() []Step {
	var all []Step
	for _, h := range c.Halts {
		all = append(all, h.Steps...)
	}
	return all
}

// Step finds a step by its key.
func (c *Card) Step(key string) (Step, bool) {
	for _, h := range c.Halts {
		for _, s := range h.Steps {
			if s.Key == key {
				return s, true
			}
		}
	}
	return Step{}, false
}

// Open is how many steps from the start may be answered now: all up to and with
// the first stop that is not confirmed.
func (c *Card) Open(answers []Answer) int {
	steps := c.Steps()
	safe := map[string]bool{}
	for _, a := range answers {
		if s, ok := c.Step(a.Step); ok {
			safe[a.Step] = s.safe(a)
		}
	}
	for i, s := range steps {
		if s.Stops && !safe[s.Key] {
			return i + 1
		}
	}
	return len(steps)
}

// Offered lists the flows that this pair has: coupling with the lines within
// reach, part-way under, or both where that is not known; the slider where there
// is or may be one.
func (f Facts) Offered() []Flow {
	var all []Flow
	if f.Reach != No {
		all = append(all, Couple)
	}
	if f.Reach != Yes {
		all = append(all, Restricted)
	}
	all = append(all, Uncouple, Drop)
	if may(f.Slider) {
		all = append(all, Slide)
	}
	return all
}
