package record

import (
	"encoding/json"
	"fmt"
)

// CatalogueSet is the name of the asset in whose chain the catalogues of
// mounting parts stand.
const CatalogueSet = "mounting-parts"

// BoltsDue is what vehicles stand beside whose bolts are to be tightened again, so
// that they are found without going through all. No record is about it.
const BoltsDue Asset = "limits/bolts-due"

// A CatalogueKept puts a parts file in the place of the one before: chassis,
// parts, briefs and chosen mountings. The file itself is kept as it came.
type CatalogueKept struct {
	Name     string `json:"name"` // of the file
	Bytes    int64  `json:"bytes"`
	Blob     Digest `json:"blob"`
	Chassis  int64  `json:"chassis"` // how many there are in it
	Parts    int64  `json:"parts"`
	Briefs   int64  `json:"briefs"`
	Fittings int64  `json:"fittings"`
}

func (CatalogueKept) Kind() string      { return "catalogue-kept" }
func (c CatalogueKept) blobs() []Digest { return []Digest{c.Blob} }

func (c CatalogueKept) check() error {
	if c.Blob.Zero() {
		return &RuleError{Field: "blob", Found: "nothing", Want: "the digest of the file"}
	}
	for name, n := range map[string]int64{"chassis": c.Chassis, "parts": c.Parts, "briefs": c.Briefs, "fittings": c.Fittings} {
		if err := checkWhole(name, &n, 0, 1_000_000); err != nil {
			return err
		}
	}
	return first(checkTexts(text{"name", c.Name, true}), checkWhole("bytes", &c.Bytes, 1, 1<<30))
}

// States of a specification that was kept.
const (
	DraftSheet    = "draft"
	ApprovedSheet = "approved" // for fitting
)

// A SpecificationKept keeps one revision of a mounting specification, with all
// that is needed to explain it years later: what it was made of, the data, and
// the paper as it was printed.
type SpecificationKept struct {
	Number   string   `json:"number"`
	Revision string   `json:"revision,omitempty"`
	State    string   `json:"state"`
	Answer   string   `json:"answer"` // over all findings that bind
	Subject  string   `json:"subject,omitempty"`
	Brief    string   `json:"brief,omitempty"`
	Stack    string   `json:"stack"`           // from the base to the fifth wheel
	At       *int64   `json:"at_mm,omitempty"` // behind the front axle; nil: not known
	Warnings []string `json:"warnings,omitempty"`
	Inputs   Digest   `json:"inputs"` // fleet and parts file, from which the same program makes the same sheet
	Sheet    Digest   `json:"sheet"`  // JSON
	Paper    Digest   `json:"paper"`  // PDF
	Rulebook string   `json:"rulebook"`
	Rules    Digest   `json:"rules"`
	Program  string   `json:"program"`
}

func (SpecificationKept) Kind() string      { return "specification-kept" }
func (s SpecificationKept) blobs() []Digest { return []Digest{s.Inputs, s.Sheet, s.Paper} }

func (s SpecificationKept) check() error {
	for name, d := range map[string]Digest{"inputs": s.Inputs, "sheet": s.Sheet, "paper": s.Paper, "rules": s.Rules} {
		if d.Zero() {
			return &RuleError{Field: name, Found: "nothing", Want: "a digest"}
		}
	}
	for i, w := range s.Warnings {
		if err := checkText(fmt.Sprintf("warnings[%d]", i), w, maxText, true); err != nil {
			return err
		}
	}
	if s.State == ApprovedSheet && s.Answer != "fits" {
		return &RuleError{Field: "state", Found: "approved, with the answer " + quote(s.Answer), Want: "draft while a finding that binds does not fit or cannot be told"}
	}
	return first(
		checkOneOf("state", s.State, true, DraftSheet, ApprovedSheet),
		checkOneOf("answer", s.Answer, true, "fits", "does-not-fit", "cannot-tell"),
		checkWhole("at_mm", s.At, 0, 100_000),
		checkText("stack", s.Stack, maxText, true),
		checkTexts(text{"number", s.Number, true}, text{"revision", s.Revision, false}, text{"subject", s.Subject, false}, text{"brief", s.Brief, false},
			text{"rulebook", s.Rulebook, true}, text{"program", s.Program, true}))
}

// A MountingBuilt says what was measured and done when a mounting was fitted by
// a specification. The vehicle's fields change by a record of their own.
type MountingBuilt struct {
	Specification ID              `json:"specification"`
	Measured      json.RawMessage `json:"measured"`          // as it was entered
	Differences   json.RawMessage `json:"differences"`       // held against the specification
	Answer        string          `json:"answer"`            // over all differences
	Reading       MeterReading    `json:"reading,omitzero"`  // at the fitting
	Retighten     Retighten       `json:"retighten"`         // the task that follows
	Changed       []string        `json:"changed,omitempty"` // fields of the vehicle that changed with it
}

// A Retighten is when the bolts of a mounting are tightened again: at the latest
// at this reading or on this day, whichever comes first. What is missing says why
// it cannot be told; there is no interval of ours.
type Retighten struct {
	At       *int64   `json:"at_m,omitempty"` // reading of the meter
	Day      string   `json:"day,omitempty"`  // 2026-11-25
	Document string   `json:"document,omitempty"`
	Missing  []string `json:"missing,omitempty"`
}

func (MountingBuilt) Kind() string { return "mounting-built" }

func (m MountingBuilt) check() error {
	if !m.Specification.Valid() {
		return &RuleError{Field: "specification", Found: quote(string(m.Specification)), Want: "the id of the record that keeps the specification"}
	}
	for name, v := range map[string]struct {
		raw  json.RawMessage
		open byte
		want string
	}{"measured": {m.Measured, '{', "a JSON object"}, "differences": {m.Differences, '[', "a JSON list"}} {
		if len(v.raw) == 0 || v.raw[0] != v.open || !json.Valid(v.raw) {
			return &RuleError{Field: name, Found: quote(string(v.raw)), Want: v.want}
		}
	}
	for i, f := range m.Changed {
		if !slug(f) {
			return &RuleError{Field: fmt.Sprintf("changed[%d]", i), Found: quote(f), Want: "a name of the fleet file"}
		}
	}
	return first(
		checkOneOf("answer", m.Answer, true, "fits", "does-not-fit", "cannot-tell"),
		m.Reading.check("reading"), inField("retighten", m.Retighten.check()))
}

func (r Retighten) check() error {
	if r.Day != "" {
		if err := checkDay("day", r.Day); err != nil {
			return err
		}
	}
	if r.At == nil && r.Day == "" && len(r.Missing) == 0 {
		return &RuleError{Field: "missing", Found: "nothing", Want: "a reading, a day, or what is missing to tell"}
	}
	for i, m := range r.Missing {
		if err := checkText(fmt.Sprintf("missing[%d]", i), m, maxText, true); err != nil {
			return err
		}
	}
	return first(checkWhole("at_m", r.At, 0, maxMetres), checkText("document", r.Document, maxText, false))
}

// A BoltsTightened says that the bolts of a mounting were tightened again, which
// ends the task that the fitting left.
type BoltsTightened struct {
	Built   ID           `json:"built"` // the record of the fitting
	Torques []JointTight `json:"torques"`
	Reading MeterReading `json:"reading,omitzero"`
	Note    string       `json:"note,omitempty"` // what moved, what was loose
}

// A JointTight is the torque that the bolts of one joint were tightened to.
type JointTight struct {
	Joint  string `json:"joint"`  // its upper part
	Torque string `json:"torque"` // 260 N.m
	Wrench string `json:"wrench"` // its number
}

func (BoltsTightened) Kind() string { return "bolts-tightened" }

func (b BoltsTightened) check() error {
	if !b.Built.Valid() {
		return &RuleError{Field: "built", Found: quote(string(b.Built)), Want: "the id of the record of the fitting"}
	}
	if len(b.Torques) == 0 {
		return &RuleError{Field: "torques", Found: "none", Want: "the torque of each joint"}
	}
	for i, t := range b.Torques {
		err := first(checkTexts(text{"joint", t.Joint, true}, text{"wrench", t.Wrench, true}), checkQuantity("torque", t.Torque, true))
		if err != nil {
			return inField(fmt.Sprintf("torques[%d]", i), err)
		}
	}
	return first(b.Reading.check("reading"), checkText("note", b.Note, maxText, false))
}

// A Catalogue is the parts file in force.
type Catalogue struct {
	CatalogueKept
	ID  ID
	At  Time
	Who Who
}

// Catalogue is the parts file in force at an instant, or nil.
func (e *Entity) Catalogue(at Time) (*Catalogue, error) {
	var c *Catalogue
	err := e.until(at, func(entry *Entry) error {
		if entry.Kind != "catalogue-kept" {
			return nil
		}
		c = &Catalogue{ID: entry.ID, At: entry.Happened, Who: entry.Who}
		return entry.read(&c.CatalogueKept)
	})
	return c, err
}

// A Sheet is a specification that was kept.
type Sheet struct {
	SpecificationKept
	ID  ID
	At  Time
	Who Who
}

// A Built is a fitting, with the retightening where it was done.
type Built struct {
	MountingBuilt
	ID    ID
	At    Time
	Who   Who
	Tight *Tight
}

// A Tight is a retightening that was done.
type Tight struct {
	BoltsTightened
	ID  ID
	At  Time
	Who Who
}

// sheet takes an entry about mountings into the view of a vehicle.
func (v *Vehicle) sheet(entry *Entry) error {
	switch entry.Kind {
	case "specification-kept":
		s := Sheet{ID: entry.ID, At: entry.Happened, Who: entry.Who}
		err := entry.read(&s.SpecificationKept)
		v.Sheets = append(v.Sheets, s)
		return err
	case "mounting-built":
		b := Built{ID: entry.ID, At: entry.Happened, Who: entry.Who}
		err := entry.read(&b.MountingBuilt)
		v.Built = append(v.Built, b)
		return err
	case "bolts-tightened":
		t := Tight{ID: entry.ID, At: entry.Happened, Who: entry.Who}
		if err := entry.read(&t.BoltsTightened); err != nil {
			return err
		}
		for i := range v.Built {
			if v.Built[i].ID == t.BoltsTightened.Built {
				v.Built[i].Tight = &t
			}
		}
	}
	return nil
}

// Retightening is the fitting whose bolts are still to be tightened again: the
// last one, unless that was done. A fitting takes the place of the one before.
func (v *Vehicle) Retightening() *Built {
	if n := len(v.Built); n > 0 && v.Built[n-1].Tight == nil {
		return &v.Built[n-1]
	}
	return nil
}
