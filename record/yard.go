package record

import "encoding/json"

// A CheckDone is a driver's check as it was done and what it came to on the day.
// It stands in the chain of the towed vehicle, or of the tractor where the other
// half is a guest. The check itself is kept as the phone sent it.
type CheckDone struct {
	Flow    string          `json:"flow"` // couple, restricted, uncouple, drop, slide
	Tractor Asset           `json:"tractor,omitempty"`
	Trailer Asset           `json:"trailer,omitempty"`
	Guest   string          `json:"guest,omitempty"` // registration of the half that is not in the register
	Says    string          `json:"says"`            // may-drive, must-not-drive, cannot-tell
	Locked  string          `json:"locked,omitempty"`
	Why     []string        `json:"why,omitempty"`     // each reason as a sentence
	Skipped []string        `json:"skipped,omitempty"` // steps without an answer
	Hasty   []string        `json:"hasty,omitempty"`   // steps answered sooner than they can be read
	Signed  string          `json:"signed,omitempty"`  // name of who signed; empty: nobody
	Phone   string          `json:"phone"`
	Doubted bool            `json:"clock_doubted,omitempty"` // whether the phone's clock was right is not known
	Check   json.RawMessage `json:"check"`                   // whole, as it was sent
	Photos  []Digest        `json:"photos,omitempty"`
}

func (CheckDone) Kind() string      { return "check-done" }
func (c CheckDone) blobs() []Digest { return c.Photos }

func (c CheckDone) check() error {
	if c.Tractor == "" && c.Trailer == "" {
		return &RuleError{Field: "tractor", Found: "no vehicle", Want: "at least one half of the register"}
	}
	var whole map[string]json.RawMessage
	if json.Unmarshal(c.Check, &whole) != nil || len(whole) == 0 {
		return &RuleError{Field: "check", Found: "no object", Want: "the check as it was sent"}
	}
	for _, list := range [][]string{c.Why, c.Skipped, c.Hasty} {
		for _, s := range list {
			if err := checkText("why", s, maxText, true); err != nil {
				return err
			}
		}
	}
	return first(
		checkOneOf("flow", c.Flow, true, "couple", "restricted", "uncouple", "drop", "slide"),
		checkAsset("tractor", c.Tractor, VehicleAsset, false), checkAsset("trailer", c.Trailer, VehicleAsset, false),
		checkOneOf("says", c.Says, true, "may-drive", "must-not-drive", "cannot-tell"),
		checkOneOf("locked", c.Locked, false, "yes", "no"),
		checkTexts(text{"guest", c.Guest, false}, text{"signed", c.Signed, false}, text{"phone", c.Phone, true}))
}

// A TrailerDropped says how a trailer was left standing.
type TrailerDropped struct {
	Check  ID     `json:"check"` // record of the check in which it was dropped
	Place  string `json:"place,omitempty"`
	Ground string `json:"ground,omitempty"` // what it stands on
	Load   string `json:"load,omitempty"`   // what is left on it: empty, part, full
	Brake  string `json:"brake,omitempty"`  // yes, no; empty: not told
	Chocks string `json:"chocks,omitempty"`
	Lock   string `json:"kingpin_lock,omitempty"`
}

func (TrailerDropped) Kind() string { return "trailer-dropped" }

func (t TrailerDropped) check() error {
	return first(checkID("check", t.Check), checkText("place", t.Place, maxText, false), checkTexts(text{"ground", t.Ground, false}),
		checkOneOf("load", t.Load, false, "empty", "part", "full"),
		checkOneOf("brake", t.Brake, false, "yes", "no"), checkOneOf("chocks", t.Chocks, false, "yes", "no"), checkOneOf("kingpin_lock", t.Lock, false, "yes", "no"))
}

// A SliderSet says where a sliding fifth wheel was left: the lead, as the driver
// read it.
type SliderSet struct {
	Check  ID    `json:"check"`
	LeadMM int64 `json:"lead_mm"`
}

func (SliderSet) Kind() string { return "slider-set" }

func (s SliderSet) check() error {
	return first(checkID("check", s.Check), checkWhole("lead_mm", &s.LeadMM, -5_000, 5_000))
}

// A DefectReported is what somebody saw at a vehicle. With DoNotUse it takes the
// vehicle out of use until it is closed.
type DefectReported struct {
	Part     string   `json:"part,omitempty"`
	Words    string   `json:"words,omitempty"`
	State    string   `json:"state,omitempty"`   // key of the state that must never be driven
	Drawing  string   `json:"drawing,omitempty"` // on which was tapped, in thousandths from the upper left
	X        *int64   `json:"x,omitempty"`
	Y        *int64   `json:"y,omitempty"`
	DoNotUse bool     `json:"do_not_use,omitempty"`
	Check    ID       `json:"check,omitempty"` // the check, as the phone named it, during which it was found
	By       string   `json:"by,omitempty"`    // who saw it, when not who enters it
	Phone    string   `json:"phone,omitempty"`
	Photos   []Digest `json:"photos,omitempty"`
}

func (DefectReported) Kind() string      { return "defect-reported" }
func (d DefectReported) blobs() []Digest { return d.Photos }

func (d DefectReported) check() error {
	if d.Words == "" && d.State == "" && d.Drawing == "" && len(d.Photos) == 0 {
		return &RuleError{Field: "words", Found: "nothing", Want: "words, a photo, a state or a tap on the drawing"}
	}
	if d.Check != "" && !d.Check.Valid() {
		return checkID("check", d.Check)
	}
	return first(checkTexts(text{"part", d.Part, false}, text{"state", d.State, false}, text{"drawing", d.Drawing, false}, text{"by", d.By, false}, text{"phone", d.Phone, false}),
		checkText("words", d.Words, maxText, false), checkWhole("x", d.X, 0, 1000), checkWhole("y", d.Y, 0, 1000))
}

// A DefectClosed says that a technician saw to a defect.
type DefectClosed struct {
	Defect ID     `json:"defect"` // record by which it was reported
	Done   string `json:"done"`   // what was found and done
}

func (DefectClosed) Kind() string { return "defect-closed" }

func (d DefectClosed) check() error {
	return first(checkID("defect", d.Defect), checkText("done", d.Done, maxText, true))
}

// A Yard is what drivers did and saw at a vehicle, each list oldest first.
type Yard struct {
	Checks  []DoneCheck `json:",omitempty"`
	Dropped []Dropped   `json:",omitempty"`
	Slider  *SliderLeft `json:",omitempty"` // where it was left last
	Defects []Defect    `json:",omitempty"`
}

type (
	// A DoneCheck is a CheckDone with its record.
	DoneCheck struct {
		CheckDone
		ID  ID
		At  Time
		Who Who
	}
	Dropped struct {
		TrailerDropped
		ID  ID
		At  Time
		Who Who
	}
	SliderLeft struct {
		SliderSet
		ID ID
		At Time
	}
	// A Defect is a DefectReported, and how it ended.
	Defect struct {
		DefectReported
		ID     ID
		At     Time
		Who    Who
		Closed *DefectEnd `json:",omitempty"`
	}
	DefectEnd struct {
		DefectClosed
		ID  ID
		At  Time
		Who Who
	}
)

// yard takes an entry of the yard into the view of a vehicle.
func (v *Vehicle) yard(entry *Entry) error {
	if v.Yard == nil {
		v.Yard = &Yard{}
	}
	y := v.Yard
	id, at, who := entry.ID, entry.Happened, entry.Who
	switch entry.Kind {
	case "check-done":
		return took(entry, &y.Checks, func(b CheckDone) DoneCheck { return DoneCheck{b, id, at, who} })
	case "trailer-dropped":
		return took(entry, &y.Dropped, func(b TrailerDropped) Dropped { return Dropped{b, id, at, who} })
	case "defect-reported":
		return took(entry, &y.Defects, func(b DefectReported) Defect { return Defect{b, id, at, who, nil} })
	case "slider-set":
		s := SliderLeft{ID: id, At: at}
		y.Slider = &s
		return entry.read(&s.SliderSet)
	case "defect-closed":
		c := DefectEnd{ID: id, At: at, Who: who}
		if err := entry.read(&c.DefectClosed); err != nil {
			return err
		}
		for i := range y.Defects {
			if y.Defects[i].ID == c.Defect {
				y.Defects[i].Closed = &c
			}
		}
	}
	return nil
}

// Defect is a defect by its record, or nil.
func (y *Yard) Defect(id ID) *Defect {
	if y == nil {
		return nil
	}
	for i := range y.Defects {
		if y.Defects[i].ID == id {
			return &y.Defects[i]
		}
	}
	return nil
}

// Open lists the defects that nobody closed, oldest first.
func (y *Yard) Open() (all []*Defect) {
	if y == nil {
		return nil
	}
	for i := range y.Defects {
		if y.Defects[i].Closed == nil {
			all = append(all, &y.Defects[i])
		}
	}
	return all
}

// Holds lists what keeps a vehicle out of use: what the workshop found, and the
// open defects that take it out of use.
func (v *Vehicle) Holds() []Hold {
	all := v.Upkeep.Holds()
	for _, d := range v.Yard.Open() {
		if d.DoNotUse {
			all = append(all, Hold{Verdict: VerdictDoNotUse, Defect: d})
		}
	}
	return all
}

// Held is the worst of what keeps a vehicle out of use; empty when nothing does.
func (v *Vehicle) Held() string { return worst(v.Holds()) }
