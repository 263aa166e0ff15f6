package record

import "fmt"

// Kinds of part that this package knows by name; a register may hold others.
const (
	FifthWheel   = "fifth-wheel"
	Kingpin      = "kingpin"
	Mounting     = "mounting"
	RubbingPlate = "rubbing-plate"
)

// Ratings are what the plate or the marking of a part says.
type Ratings struct {
	D       *int64 `json:"d_n,omitempty"`        // D-value, newtons
	Imposed *int64 `json:"imposed_kg,omitempty"` // U
	Pin     *int64 `json:"pin_mm,omitempty"`     // kingpin size it is or takes
}

func (r Ratings) check() error {
	return first(
		checkWhole("d_n", r.D, 1000, 10_000_000),
		checkWhole("imposed_kg", r.Imposed, 100, 1_000_000),
		checkWhole("pin_mm", r.Pin, 20, 200))
}

// A PartAdded begins the chain of a coupling, a kingpin or another part that has
// a life of its own. What is unknown is left out.
type PartAdded struct {
	Part    string `json:"part"`           // what it is; never changes
	Type    Asset  `json:"type,omitempty"` // its type record
	Serial  string `json:"serial,omitempty"`
	Marking string `json:"marking,omitempty"` // approval marking, as stamped
	Class   string `json:"class,omitempty"`   // class as marked, such as G50-X
	Ratings
	ReadFrom string `json:"read_from,omitempty"` // where the marked values were read: plate, document or memory
	Made     string `json:"made,omitempty"`      // date of making, as marked
	Depot    Asset  `json:"depot,omitempty"`     // where it lies while it is not fitted
	Note     string `json:"note,omitempty"`
}

func (PartAdded) Kind() string { return "part-added" }

func (p PartAdded) check() error {
	if !slug(p.Part) {
		return &RuleError{Field: "part", Found: quote(p.Part), Want: "what it is: fifth-wheel, kingpin, mounting or another name in small letters"}
	}
	return p.part()
}

func (p PartAdded) part() error {
	return first(
		checkAsset("type", p.Type, TypeAsset, false),
		checkTexts(text{"serial", p.Serial, false}, text{"marking", p.Marking, false}, text{"class", p.Class, false}, text{"made", p.Made, false}),
		p.Ratings.check(),
		checkOneOf("read_from", p.ReadFrom, false, "plate", "document", "memory"),
		checkAsset("depot", p.Depot, DepotAsset, false),
		checkText("note", p.Note, maxText, false))
}

// A PartChanged changes what a PartAdded said.
type PartChanged struct{ Changes }

func (PartChanged) Kind() string   { return "part-changed" }
func (p PartChanged) check() error { return checkFor[PartAdded](p.Changes, []string{"part"}, nil) }

// Places on a vehicle where parts are fitted; others may be named.
const (
	AtFifthWheel = "fifth-wheel"
	AtKingpin    = "kingpin"
)

// A PartFitted says that the part was fitted to a vehicle.
type PartFitted struct {
	Vehicle Asset        `json:"vehicle"`
	Place   string       `json:"place"` // where on the vehicle; one part at a time has each place
	Reading MeterReading `json:"reading,omitzero"`
}

func (PartFitted) Kind() string { return "part-fitted" }
func (p PartFitted) check() error {
	if !slug(p.Place) {
		return &RuleError{Field: "place", Found: quote(p.Place), Want: "where on the vehicle: fifth-wheel, kingpin or another name in small letters"}
	}
	return first(checkAsset("vehicle", p.Vehicle, VehicleAsset, true), p.Reading.check("reading"))
}

// A PartRemoved says that the part was taken off a vehicle.
type PartRemoved struct {
	Vehicle   Asset        `json:"vehicle"`
	Reading   MeterReading `json:"reading,omitzero"`
	Depot     Asset        `json:"depot,omitempty"` // where it lies now
	Condition string       `json:"condition,omitempty"`
}

func (PartRemoved) Kind() string { return "part-removed" }
func (p PartRemoved) check() error {
	return first(
		checkAsset("vehicle", p.Vehicle, VehicleAsset, true), p.Reading.check("reading"),
		checkAsset("depot", p.Depot, DepotAsset, false), checkText("condition", p.Condition, maxText, false))
}

// A PartScrapped ends the life of a part.
type PartScrapped struct{}

func (PartScrapped) Kind() string { return "part-scrapped" }
func (PartScrapped) check() error { return nil }

// A TypeAdded begins the chain of a type record: what a user copies from the
// maker's instructions of the type that is fitted. Nothing here has a default.
type TypeAdded struct {
	Part    string `json:"part"` // what kind of part it is a type of; never changes
	Name    string `json:"name"`
	Maker   string `json:"maker,omitempty"`
	Marking string `json:"marking,omitempty"` // approval marking of the type
	Class   string `json:"class,omitempty"`
	Ratings
	Lubrication string      `json:"lubrication,omitempty"` // as the instructions call it
	Dimensions  []Dimension `json:"dimensions,omitempty"`
	Intervals   []Interval  `json:"intervals,omitempty"`
	Torques     []Torque    `json:"torques,omitempty"`
	Source      Source      `json:"source,omitzero"` // where all is from that names no other
	Note        string      `json:"note,omitempty"`
}

// A Dimension is one gauged dimension of a type.
type Dimension struct {
	Name    string `json:"name"`            // such as lock-wear
	What    string `json:"what,omitempty"`  // what is measured where with which gauge
	New     string `json:"new,omitempty"`   // with unit, as printed
	Limit   string `json:"limit,omitempty"` // with unit, as printed
	Sense   string `json:"sense,omitempty"` // max: replace above the limit; min: below
	Reached string `json:"reached,omitempty"`
	Source  Source `json:"source,omitzero"`
}

// An Interval is how often something is done, by distance, by time, or by
// whichever comes first.
type Interval struct {
	Task   string `json:"task"`
	Metres *int64 `json:"distance_m,omitempty"`
	Months *int64 `json:"months,omitempty"`
	Days   *int64 `json:"days,omitempty"`
	Once   bool   `json:"once,omitempty"` // once after fitting, and not again
	Note   string `json:"note,omitempty"`
	Source Source `json:"source,omitzero"`
}

// A Torque is what a fastener is tightened with.
type Torque struct {
	Where  string `json:"where"`
	Thread string `json:"thread,omitempty"`
	Grade  string `json:"grade,omitempty"`
	Least  string `json:"least"`          // with unit, as printed
	Most   string `json:"most,omitempty"` // with unit; left out when one value is printed
	Note   string `json:"note,omitempty"`
	Source Source `json:"source,omitzero"`
}

func (TypeAdded) Kind() string { return "type-added" }

func (t TypeAdded) blobs() []Digest {
	all := t.Source.blobs()
	for _, d := range t.Dimensions {
		all = append(all, d.Source.blobs()...)
	}
	for _, i := range t.Intervals {
		all = append(all, i.Source.blobs()...)
	}
	for _, q := range t.Torques {
		all = append(all, q.Source.blobs()...)
	}
	return all
}

func (t TypeAdded) check() error {
	if !slug(t.Part) {
		return &RuleError{Field: "part", Found: quote(t.Part), Want: "what it is a type of: fifth-wheel, kingpin or another name in small letters"}
	}
	if t.Name == "" {
		return &RuleError{Field: "name", Found: "nothing", Want: "the name of the type"}
	}
	return t.part()
}

func (t TypeAdded) part() error {
	if err := first(
		checkTexts(text{"name", t.Name, false}, text{"maker", t.Maker, false}, text{"marking", t.Marking, false}, text{"class", t.Class, false}, text{"lubrication", t.Lubrication, false}),
		t.Ratings.check(), inField("source", t.Source.check(false)), checkText("note", t.Note, maxText, false)); err != nil {
		return err
	}
	named := map[string]bool{}
	for i, d := range t.Dimensions {
		if named[d.Name] {
			return &RuleError{Field: fmt.Sprintf("dimensions[%d].name", i), Found: quote(d.Name) + " twice", Want: "each name once"}
		}
		named[d.Name] = true
		if err := inField(fmt.Sprintf("dimensions[%d]", i), d.check()); err != nil {
			return err
		}
	}
	for i, v := range t.Intervals {
		if err := inField(fmt.Sprintf("intervals[%d]", i), v.check()); err != nil {
			return err
		}
	}
	for i, q := range t.Torques {
		if err := inField(fmt.Sprintf("torques[%d]", i), q.check()); err != nil {
			return err
		}
	}
	return nil
}

func (d Dimension) check() error {
	if !slug(d.Name) {
		return &RuleError{Field: "name", Found: quote(d.Name), Want: "a name in small letters, digits and hyphens"}
	}
	return first(
		checkText("what", d.What, maxText, false), checkText("reached", d.Reached, maxText, false),
		checkQuantity("new", d.New, false), checkQuantity("limit", d.Limit, false),
		checkOneOf("sense", d.Sense, d.Limit != "", "min", "max"), inField("source", d.Source.check(false)))
}

func (i Interval) check() error {
	if i.Metres == nil && i.Months == nil && i.Days == nil {
		return &RuleError{Field: "distance_m", Found: "no interval", Want: "a distance, months or days"}
	}
	return first(
		checkTexts(text{"task", i.Task, true}), checkText("note", i.Note, maxText, false),
		checkWhole("distance_m", i.Metres, 1000, maxMetres), checkWhole("months", i.Months, 1, 600), checkWhole("days", i.Days, 1, 36_500),
		inField("source", i.Source.check(false)))
}

func (q Torque) check() error {
	return first(
		checkTexts(text{"where", q.Where, true}, text{"thread", q.Thread, false}, text{"grade", q.Grade, false}),
		checkText("note", q.Note, maxText, false),
		checkQuantity("least", q.Least, true), checkQuantity("most", q.Most, false), inField("source", q.Source.check(false)))
}

// A TypeChanged changes what a TypeAdded said; dimensions, intervals and torques
// are each replaced as a whole list.
type TypeChanged struct{ Changes }

func (TypeChanged) Kind() string { return "type-changed" }
func (t TypeChanged) check() error {
	return checkFor[TypeAdded](t.Changes, []string{"part"}, []string{"name"})
}

// blobs are those of the lists that are replaced.
func (t TypeChanged) blobs() []Digest {
	var d TypeAdded
	if whole, err := marshal(t.Set); err != nil || strict(whole, &d) != nil {
		return nil // check says so
	}
	return d.blobs()
}
