package record

import (
	"encoding/json"
	"fmt"
	"time"
)

// NotInUse is what vehicles stand beside that may not be used, or of which an
// inspection could not tell, so that they are found without going through all. No
// record is about it.
const NotInUse Asset = "limits/not-in-use"

// A TaskDone says that recurring work was done: greased, filled up, checked.
type TaskDone struct {
	Task    string       `json:"task"`           // key of the task
	Part    Asset        `json:"part,omitempty"` // at which it was done, as it sat then
	Reading MeterReading `json:"reading,omitzero"`
	By      string       `json:"by,omitempty"` // who did it, when not who enters it
	Note    string       `json:"note,omitempty"`
}

func (TaskDone) Kind() string { return "task-done" }

func (t TaskDone) check() error {
	return first(checkSlug("task", t.Task), checkAsset("part", t.Part, PartAsset, false), t.Reading.check("reading"),
		checkTexts(text{"by", t.By, false}), checkText("note", t.Note, maxText, false))
}

// A SheetFilled is a gauge sheet as it was filled in. What was typed stands as it
// was typed; nothing of it is reckoned.
type SheetFilled struct {
	Halves     []string            `json:"halves"`            // tractor, trailer, pair
	Partner    Asset               `json:"partner,omitempty"` // the other vehicle of a coupled pair
	Parts      []Asset             `json:"parts,omitempty"`   // what was gauged, as it sat then
	Day        string              `json:"day"`               // 2026-11-25
	Reading    MeterReading        `json:"reading,omitzero"`
	Readings   map[string][]string `json:"readings"`        // by measure, in the order of its takes, text with unit
	Looks      map[string]string   `json:"looks,omitempty"` // by look: fine, found, not-fitted
	Instrument GaugeUsed           `json:"instrument,omitzero"`
	Uncoupled  bool                `json:"uncoupled,omitempty"`
	Cleaned    bool                `json:"cleaned,omitempty"`
	Travel     string              `json:"travel,omitempty"`   // of the adjuster: left, none
	Measured   string              `json:"measured"`           // who measured
	Workshop   string              `json:"workshop,omitempty"` // when it was another's
	Accepted   string              `json:"accepted,omitempty"` // who accepted what another workshop measured
	Photos     []Digest            `json:"photos,omitempty"`
	Confirmed  map[string]string   `json:"confirmed,omitempty"` // questions that were answered: by their key, the reason
}

// A GaugeUsed is what was measured with.
type GaugeUsed struct {
	ID         string `json:"id,omitempty"`
	Calibrated string `json:"calibrated,omitempty"` // until which day
	ErrorUM    *int64 `json:"error_um,omitempty"`   // uncertainty, micrometres
}

func (SheetFilled) Kind() string      { return "sheet-filled" }
func (s SheetFilled) blobs() []Digest { return s.Photos }

func (s SheetFilled) check() error {
	if len(s.Halves) == 0 {
		return &RuleError{Field: "halves", Found: "none", Want: "what stood in the workshop: tractor, trailer, pair"}
	}
	for _, h := range s.Halves {
		if err := checkOneOf("halves", h, true, "tractor", "trailer", "pair"); err != nil {
			return err
		}
	}
	for _, p := range s.Parts {
		if err := checkAsset("parts", p, PartAsset, true); err != nil {
			return err
		}
	}
	for key, takes := range s.Readings {
		if !slug(key) {
			return &RuleError{Field: "readings", Found: quote(key), Want: "the key of a measure"}
		}
		for _, t := range takes {
			if err := checkText("readings."+key, t, maxWord, false); err != nil {
				return err
			}
		}
	}
	for key, seen := range s.Looks {
		if err := first(checkSlug("looks", key), checkOneOf("looks."+key, seen, true, "fine", "found", "not-fitted")); err != nil {
			return err
		}
	}
	for key, why := range s.Confirmed {
		if err := first(checkTexts(text{"confirmed", key, true}), checkText("confirmed."+key, why, maxText, true)); err != nil {
			return err
		}
	}
	if s.Instrument.Calibrated != "" {
		if err := checkDay("instrument.calibrated", s.Instrument.Calibrated); err != nil {
			return err
		}
	}
	return first(checkAsset("partner", s.Partner, VehicleAsset, false), checkDay("day", s.Day), s.Reading.check("reading"),
		checkTexts(text{"instrument.id", s.Instrument.ID, false}, text{"measured", s.Measured, true}, text{"workshop", s.Workshop, false}, text{"accepted", s.Accepted, false}),
		checkWhole("instrument.error_um", s.Instrument.ErrorUM, 0, 1_000_000), checkOneOf("travel", s.Travel, false, "left", "none"))
}

// An OutcomeGiven is what an inspection said on the day: the verdict with its
// reasons and the limits by which it was reached. It stands as it was given, for
// whoever has to answer for it; a later edition of the program may judge
// otherwise.
type OutcomeGiven struct {
	Of      string      `json:"of"`      // tractor, trailer
	Sheets  []ID        `json:"sheets"`  // the records of the gauge sheets, oldest first
	Verdict string      `json:"verdict"` // serviceable, advisory, repair, cannot-tell, do-not-use
	Reasons []string    `json:"reasons,omitempty"`
	Missing []string    `json:"missing,omitempty"`
	Work    []string    `json:"work,omitempty"`     // keys of the repairs, in working order
	Until   string      `json:"until,omitempty"`    // of a repair that may wait: the latest day
	Within  *int64      `json:"within_m,omitempty"` // and the distance
	Held    []HeldValue `json:"held,omitempty"`
	Laws    []string    `json:"laws,omitempty"` // countries whose limits were held
	Program string      `json:"program"`
}

// A HeldValue is one measure with all limits that it was held against, strictest
// first.
type HeldValue struct {
	Measure string      `json:"measure"`
	Name    string      `json:"name"`
	Value   string      `json:"value,omitempty"` // left out: not measured
	Holds   string      `json:"holds"`
	Limits  []HeldLimit `json:"limits,omitempty"`
}

// A HeldLimit is one limit as it stood.
type HeldLimit struct {
	Layer    string `json:"layer"`
	Fails    string `json:"fails"` // at or below, below, at or above, above
	Printed  string `json:"printed"`
	Failed   bool   `json:"failed,omitempty"`
	Evidence string `json:"evidence"`
	Source   string `json:"source"`
}

// Verdicts of an inspection, from best to worst.
const (
	VerdictServiceable = "serviceable"
	VerdictAdvisory    = "advisory"
	VerdictRepair      = "repair"
	VerdictCannotTell  = "cannot-tell"
	VerdictDoNotUse    = "do-not-use"
)

func (OutcomeGiven) Kind() string { return "outcome-given" }

func (o OutcomeGiven) check() error {
	if err := checkIDs("sheets", o.Sheets); err != nil {
		return err
	}
	for _, list := range [][]string{o.Reasons, o.Missing, o.Work, o.Laws} {
		for _, t := range list {
			if err := checkText("reasons", t, maxText, true); err != nil {
				return err
			}
		}
	}
	for i, h := range o.Held {
		err := checkTexts(text{"measure", h.Measure, true}, text{"name", h.Name, true}, text{"value", h.Value, false}, text{"holds", h.Holds, true})
		for _, l := range h.Limits {
			err = first(err, checkTexts(text{"layer", l.Layer, true}, text{"fails", l.Fails, true}, text{"printed", l.Printed, true}, text{"evidence", l.Evidence, true}), checkText("source", l.Source, maxText, true))
		}
		if err != nil {
			return inField(fmt.Sprintf("held[%d]", i), err)
		}
	}
	if o.Until != "" {
		if err := checkDay("until", o.Until); err != nil {
			return err
		}
	}
	return first(checkOneOf("of", o.Of, true, "tractor", "trailer"),
		checkOneOf("verdict", o.Verdict, true, VerdictServiceable, VerdictAdvisory, VerdictRepair, VerdictCannotTell, VerdictDoNotUse),
		checkWhole("within_m", o.Within, 0, maxMetres), checkTexts(text{"program", o.Program, false}))
}

// Blocks tells whether the verdict keeps a vehicle out of service.
func (o OutcomeGiven) Blocks() bool {
	return o.Verdict == VerdictDoNotUse || o.Verdict == VerdictCannotTell
}

// A WorkSigned is one step of a work order, signed by who enters it.
type WorkSigned struct {
	Outcome ID     `json:"outcome"` // of the order
	Step    string `json:"step"`
	Text    string `json:"text"`         // as it was signed
	No      bool   `json:"no,omitempty"` // a prerequisite that does not hold
}

func (WorkSigned) Kind() string { return "work-signed" }

func (w WorkSigned) check() error {
	return first(checkID("outcome", w.Outcome), checkTexts(text{"step", w.Step, true}), checkText("text", w.Text, maxText, true))
}

// A ReturnedToService ends what outcomes held back, and says what the work did to
// the lives of the parts.
type ReturnedToService struct {
	Outcomes []ID         `json:"outcomes"` // that held it back
	After    ID           `json:"after"`    // the outcome by which it returns
	Lives    []LifeEnded  `json:"lives,omitempty"`
	Reading  MeterReading `json:"reading,omitzero"`
}

// A LifeEnded is what one finished work did to the wear life of a part.
type LifeEnded struct {
	Part  string `json:"part"` // kind of part
	Work  string `json:"work"`
	Rule  string `json:"rule"`
	NewUM *int64 `json:"new_um,omitempty"` // size of the new part as measured; nil: not measured
}

func (ReturnedToService) Kind() string { return "returned-to-service" }

func (t ReturnedToService) check() error {
	for i, l := range t.Lives {
		if err := first(checkTexts(text{"part", l.Part, true}, text{"work", l.Work, true}, text{"rule", l.Rule, true}), checkWhole("new_um", l.NewUM, 0, 1_000_000_000)); err != nil {
			return inField(fmt.Sprintf("lives[%d]", i), err)
		}
	}
	return first(checkIDs("outcomes", t.Outcomes), checkID("after", t.After), t.Reading.check("reading"))
}

// A PlayTakenUp says that a lock was adjusted: the wear goes on, and what was taken
// up is added to later readings.
type PlayTakenUp struct {
	Part    Asset        `json:"part,omitempty"`     // the fifth wheel, as it sat then
	Outcome ID           `json:"outcome"`            // of the order
	TakenUM *int64       `json:"taken_um,omitempty"` // below nothing when it was given back; nil: not known
	Reading MeterReading `json:"reading,omitzero"`
}

func (PlayTakenUp) Kind() string { return "play-taken-up" }

func (p PlayTakenUp) check() error {
	return first(checkAsset("part", p.Part, PartAsset, false), checkID("outcome", p.Outcome), checkWhole("taken_um", p.TakenUM, -100_000, 100_000), p.Reading.check("reading"))
}

// A UseBlocked is an event that overloads a coupling at once. It stands in the
// chain of each vehicle that took part.
type UseBlocked struct {
	Event   string       `json:"event"`
	Partner Asset        `json:"partner,omitempty"` // the other vehicle
	Text    string       `json:"text,omitempty"`
	Reading MeterReading `json:"reading,omitzero"`
}

func (UseBlocked) Kind() string { return "use-blocked" }

func (b UseBlocked) check() error {
	return first(checkSlug("event", b.Event), checkAsset("partner", b.Partner, VehicleAsset, false), checkText("text", b.Text, maxText, false), b.Reading.check("reading"))
}

// A UseCleared says that the check after an event was made.
type UseCleared struct {
	Block   ID     `json:"block"`
	Outcome ID     `json:"outcome"` // of the inspection after the event
	Found   string `json:"found"`   // what was looked at and how it was
}

func (UseCleared) Kind() string { return "use-cleared" }

func (c UseCleared) check() error {
	return first(checkID("block", c.Block), checkID("outcome", c.Outcome), checkText("found", c.Found, maxText, true))
}

func checkSlug(name, s string) error {
	if !slug(s) {
		return &RuleError{Field: name, Found: quote(s), Want: "a name in small letters"}
	}
	return nil
}

func checkID(name string, id ID) error {
	if !id.Valid() {
		return &RuleError{Field: name, Found: quote(string(id)), Want: "the id of a record"}
	}
	return nil
}

func checkIDs(name string, ids []ID) error {
	if len(ids) == 0 {
		return &RuleError{Field: name, Found: "none", Want: "the id of a record"}
	}
	for _, id := range ids {
		if err := checkID(name, id); err != nil {
			return err
		}
	}
	return nil
}

func checkDay(name, day string) error {
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return &RuleError{Field: name, Found: quote(day), Want: "a day such as 2026-11-25"}
	}
	return nil
}

// An Upkeep is what was done for a vehicle's coupling and found at it, each list
// oldest first.
type Upkeep struct {
	Tasks    []DoneTask  `json:",omitempty"`
	Sheets   []Filled    `json:",omitempty"`
	Outcomes []Outcome   `json:",omitempty"`
	Signed   []SignedOff `json:",omitempty"`
	Taken    []TakenUp   `json:",omitempty"`
	Returns  []Returned  `json:",omitempty"`
	Events   []Blocked   `json:",omitempty"`
}

// What stands in an Upkeep: the body with the record that entered it.
type (
	DoneTask struct {
		TaskDone
		ID  ID
		At  Time
		Who Who
	}
	Filled struct {
		SheetFilled
		ID  ID
		At  Time
		Who Who
	}
	Outcome struct {
		OutcomeGiven
		ID       ID
		At       Time
		Who      Who
		Returned ID `json:",omitempty"` // by which it holds nothing back any more
	}
	SignedOff struct {
		WorkSigned
		ID  ID
		At  Time
		Who Who
	}
	TakenUp struct {
		PlayTakenUp
		ID  ID
		At  Time
		Who Who
	}
	Returned struct {
		ReturnedToService
		ID  ID
		At  Time
		Who Who
	}
	Blocked struct {
		UseBlocked
		ID      ID
		At      Time
		Who     Who
		Cleared *Cleared `json:",omitempty"`
	}
	Cleared struct {
		UseCleared
		ID  ID
		At  Time
		Who Who
	}
)

// upkeep takes an entry about upkeep into the view of a vehicle.
func (v *Vehicle) upkeep(entry *Entry) error {
	if v.Upkeep == nil {
		v.Upkeep = &Upkeep{}
	}
	u := v.Upkeep
	id, at, who := entry.ID, entry.Happened, entry.Who
	switch entry.Kind {
	case "task-done":
		return took(entry, &u.Tasks, func(b TaskDone) DoneTask { return DoneTask{b, id, at, who} })
	case "sheet-filled":
		return took(entry, &u.Sheets, func(b SheetFilled) Filled { return Filled{b, id, at, who} })
	case "outcome-given":
		return took(entry, &u.Outcomes, func(b OutcomeGiven) Outcome { return Outcome{b, id, at, who, ""} })
	case "work-signed":
		return took(entry, &u.Signed, func(b WorkSigned) SignedOff { return SignedOff{b, id, at, who} })
	case "play-taken-up":
		return took(entry, &u.Taken, func(b PlayTakenUp) TakenUp { return TakenUp{b, id, at, who} })
	case "use-blocked":
		return took(entry, &u.Events, func(b UseBlocked) Blocked { return Blocked{b, id, at, who, nil} })
	case "returned-to-service":
		err := took(entry, &u.Returns, func(b ReturnedToService) Returned { return Returned{b, id, at, who} })
		if err != nil {
			return err
		}
		for _, of := range u.Returns[len(u.Returns)-1].Outcomes {
			for i := range u.Outcomes {
				if u.Outcomes[i].ID == of {
					u.Outcomes[i].Returned = id
				}
			}
		}
	case "use-cleared":
		c := Cleared{ID: id, At: at, Who: who}
		if err := entry.read(&c.UseCleared); err != nil {
			return err
		}
		for i := range u.Events {
			if u.Events[i].ID == c.Block {
				u.Events[i].Cleared = &c
			}
		}
	}
	return nil
}

func took[B, T any](entry *Entry, list *[]T, as func(B) T) error {
	var b B
	if err := json.Unmarshal(entry.Body, &b); err != nil {
		return err
	}
	*list = append(*list, as(b))
	return nil
}

// Sheet is a gauge sheet by its record, or nil.
func (u *Upkeep) Sheet(id ID) *Filled {
	for i := range u.Sheets {
		if u.Sheets[i].ID == id {
			return &u.Sheets[i]
		}
	}
	return nil
}

// Outcome is an outcome by its record, or nil.
func (u *Upkeep) Outcome(id ID) *Outcome {
	if u == nil {
		return nil
	}
	for i := range u.Outcomes {
		if u.Outcomes[i].ID == id {
			return &u.Outcomes[i]
		}
	}
	return nil
}

// Last is the outcome given last, or nil.
func (u *Upkeep) Last() *Outcome {
	if u == nil || len(u.Outcomes) == 0 {
		return nil
	}
	return &u.Outcomes[len(u.Outcomes)-1]
}

// A Hold is what keeps a vehicle out of use.
type Hold struct {
	Verdict string // do-not-use or cannot-tell
	Outcome *Outcome
	Event   *Blocked
	Defect  *Defect
}

// Holds lists what keeps a vehicle out of use: every event whose check is not made,
// every outcome of do-not-use until the vehicle was returned to service, and the
// last outcome while it could not tell. Oldest first.
func (u *Upkeep) Holds() (all []Hold) {
	if u == nil {
		return nil
	}
	for i := range u.Events {
		if u.Events[i].Cleared == nil {
			all = append(all, Hold{Verdict: VerdictDoNotUse, Event: &u.Events[i]})
		}
	}
	for i := range u.Outcomes {
		o := &u.Outcomes[i]
		if o.Returned == "" && (o.Verdict == VerdictDoNotUse || o.Verdict == VerdictCannotTell && i == len(u.Outcomes)-1) {
			all = append(all, Hold{Verdict: o.Verdict, Outcome: o})
		}
	}
	return all
}

// Held is the worst of what keeps a vehicle out of use; empty when nothing does.
func (u *Upkeep) Held() string { return worst(u.Holds()) }

func worst(holds []Hold) (verdict string) {
	for _, h := range holds {
		if verdict == "" || h.Verdict == VerdictDoNotUse {
			verdict = h.Verdict
		}
	}
	return verdict
}
