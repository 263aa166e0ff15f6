package maintenance

import (
	"math"
	"slices"

	"underpin/record"
	"underpin/unit"
)

// An Order is the work that an outcome asks for: steps to be signed one by one,
// parts, torques, and what is measured again.
type Order struct {
	Items    []Item
	Blocked  bool        // the outcome that it comes from keeps the vehicle out of service
	LockPlay unit.Length // of the lock before the work; NaN when not known
	Torques  []TorqueRow
	MustNot  []Text
	Problems []Message
}

// An Item is one repair of an order.
type Item struct {
	Work      Work
	Blocking  bool // the vehicle does not return to service while it is open
	Because   []Message
	Steps     []Step
	Remeasure []string // measures to be taken again afterwards
	Latest    *Bound   // of a repair that may wait
}

// A Step is one line that is signed.
type Step struct {
	Key  string // stable: the work's key and the step's, such as replace-pin/2
	Text Text
	Kind StepKind
}

// A StepKind says what a signature stands for.
type StepKind string

const (
	StepDone         StepKind = "done"
	StepPrerequisite StepKind = "prerequisite" // true before the work is begun
	StepFasteners    StepKind = "fasteners"    // only new ones were used
	StepTorque       StepKind = "torque"       // tightened by the table, which has a document
)

// NewOrder makes the order for an outcome. What blocks is every repair of an
// outcome that blocks; a repair that may wait has its latest date and distance.
func NewOrder(o Outcome, types []record.TypeAdded) Order {
	ord := Order{Blocked: o.Verdict.Blocks(), LockPlay: o.Diagnosis.LockPlay}
	ord.Torques, ord.Problems = TorqueTable(types)
	for _, key := range o.Work {
		w, ok := FindWork(key)
		if !ok {
			continue
		}
		it := Item{Work: w, Remeasure: w.Remeasure}
		for _, r := range o.Reasons {
			if r.Work != key && !(key == SetLockWork && r.Work == ReplacePinWork) {
				continue
			}
			it.Because = append(it.Because, r.Say)
			it.Blocking = it.Blocking || r.Verdict.Blocks()
			if _, measured := FindMeasure(r.Measure); measured && !slices.Contains(it.Remeasure, r.Measure) {
				it.Remeasure = append(slices.Clone(it.Remeasure), r.Measure)
			}
		}
		if !it.Blocking {
			it.Latest = o.Repair
		}
		if key == AdjustLockWork || key == SetLockWork || key == BackOffLock {
			for _, p := range prerequisites {
				if key != AdjustLockWork && p.Key == "not-the-pin" {
					continue
				}
				it.Steps = append(it.Steps, Step{key + "/" + p.Key, p.Name, StepPrerequisite})
			}
		}
		for i, s := range w.Steps {
			it.Steps = append(it.Steps, Step{key + "/" + itoa(i+1), s, StepDone})
		}
		if w.Fasteners {
			it.Steps = append(it.Steps, Step{key + "/fasteners", Text{"step.fasteners", "Only new bolts, nuts and screws were used; the old ones are scrapped."}, StepFasteners})
		}
		if w.Torques {
			it.Steps = append(it.Steps, Step{key + "/torque", Text{"step.torque", "Tightened by the torque table below, each fastener marked."}, StepTorque})
		}
		ord.Items = append(ord.Items, it)
	}
	if len(ord.Items) > 0 {
		ord.MustNot = mustNot
	}
	return ord
}

// A Signature is one step signed.
type Signature struct {
	Step string      `json:"step"`
	Who  record.Who  `json:"who"`
	At   record.Time `json:"at"`
	No   bool        `json:"no,omitempty"` // a prerequisite that does not hold
}

// A Return says whether a vehicle may return to service after an order.
type Return struct {
	Returned bool
	Open     []Message // what keeps it out; nothing when it is returned
	Lives    []LifeChange
}

// A LifeChange is what finished work does to the wear life of a part.
type LifeChange struct {
	Part string // kind of part
	Work string
	Rule LifeRule
	// Taken is the play that an adjustment took up, below nothing when it was given
	// back, and New the size of the new part as measured afterwards; NaN when not
	// measured.
	Taken, New unit.Length
}

// Moment is the change as an entry of the part's wear history, at the distance that
// its place has run. What an adjustment took up must be known, or the wear of the
// lock is not known from then on.
func (c LifeChange) Moment(at unit.Length) Moment {
	m := Moment{At: at, Size: unit.Length(math.NaN()), Rule: c.Rule, New: c.New}
	if c.Rule == LifeAdjusts {
		m.Taken = c.Taken
	}
	return m
}

// Return says whether a vehicle may return to service: every step of every
// blocking item is signed by somebody, prerequisites hold, torques have a
// document, and the outcome of measuring again does not block. After is that
// outcome, nil when nobody has measured.
//
// Items that may wait do not keep it out, but their lives change only when they
// are done.
func (o Order) Return(signed []Signature, after *Outcome) Return {
	var r Return
	by := map[string]Signature{}
	for _, s := range signed {
		by[s.Step] = s
	}
	document := slices.ContainsFunc(o.Torques, func(t TorqueRow) bool { return t.Source != "" })
	blocking := false
	for _, it := range o.Items {
		var open []Message
		for _, s := range it.Steps {
			g, ok := by[s.Key]
			switch {
			case !ok || g.Who.Name == "" || g.At == 0:
				open = append(open, sayUnsigned.with(it.Work.Name.English, s.Text.English))
			case s.Kind == StepPrerequisite && g.No:
				open = append(open, sayPrerequisite.with(it.Work.Name.English, s.Text.English))
			case g.No:
				open = append(open, sayUnsigned.with(it.Work.Name.English, s.Text.English))
			case s.Kind == StepTorque && !document:
				open = append(open, sayNoTorque.with(it.Work.Name.English))
			}
		}
		if len(open) == 0 && it.Work.Life != LifeGoesOn {
			r.Lives = append(r.Lives, o.life(it.Work, after))
		}
		if it.Blocking {
			blocking = true
			r.Open = append(r.Open, open...)
		}
	}
	switch {
	case after == nil && (blocking || o.Blocked):
		r.Open = append(r.Open, sayNotRemeasured.with())
	case after != nil && after.Verdict.Blocks():
		r.Open = append(r.Open, sayStillBlocks.with(after.Verdict.String()))
		r.Open = append(r.Open, after.Missing...)
	case after != nil:
		for _, it := range o.Items {
			for _, key := range it.Remeasure {
				if it.Blocking && !measuredAfter(after, key) && remeasureMust[key] {
					r.Open = append(r.Open, sayRemeasure.with(it.Work.Name.English, key))
				}
			}
		}
	}
	r.Returned = len(r.Open) == 0
	return r
}

// life is what one finished work does to a part.
func (o Order) life(w Work, after *Outcome) LifeChange {
	nan := unit.Length(math.NaN())
	c := LifeChange{w.Part, w.Key, w.Life, nan, nan}
	if after == nil {
		return c
	}
	switch {
	case w.Life == LifeAdjusts:
		c.Taken = o.LockPlay - after.Diagnosis.LockPlay
	case w.Key == RenewLockWork:
		c.New = after.Diagnosis.LockPlay
	case w.Key == ReplacePinWork:
		for _, h := range after.Held {
			if h.Measure == PinNeck {
				c.New = unit.Length(h.Value)
			}
		}
	}
	return c
}

// remeasureMust are the measures that work without fail changes; the others of
// its list are taken where the sheet has them.
var remeasureMust = map[string]bool{PinNeck: true, PinCollar: true, PinTilt: true, LockPlay: true, PadMovement: true, SliderPlay: true, FastenersGone: true, BowDownWide: true, BowUp: true}

func measuredAfter(o *Outcome, key string) bool {
	return slices.ContainsFunc(o.Held, func(h Held) bool { return h.Measure == key && h.Value == h.Value })
}
