package record

import (
	"maps"
	"slices"
)

// The vehicles of a register.
const (
	Tractor     = "tractor"
	SemiTrailer = "semi-trailer"
	Dolly       = "dolly"
)

// A VehicleAdded begins the chain of a vehicle.
type VehicleAdded struct {
	Vehicle      string `json:"vehicle"` // tractor, semi-trailer or dolly; never changes
	Registration string `json:"registration,omitempty"`
	VIN          string `json:"vin,omitempty"`
	Depot        Asset  `json:"depot,omitempty"`
	// Fields are those of the fleet file by their names there, quantities as text
	// with unit; id is the fleet number. This package does not look into them.
	Fields Fields `json:"fields,omitempty"`
}

func (VehicleAdded) Kind() string { return "vehicle-added" }

func (v VehicleAdded) check() error {
	return first(checkOneOf("vehicle", v.Vehicle, true, Tractor, SemiTrailer, Dolly), v.part())
}

func (v VehicleAdded) part() error {
	for _, name := range slices.Sorted(maps.Keys(v.Fields)) {
		if !slug(name) {
			return &RuleError{Field: "fields", Found: quote(name), Want: "a name of the fleet file"}
		}
		if s := string(v.Fields[name]); s == "" || s == "null" {
			return &RuleError{Field: "fields." + name, Found: "null", Want: "a value; what is unknown is left out"}
		}
	}
	return first(
		checkTexts(text{"registration", v.Registration, false}, text{"vin", v.VIN, false}),
		checkAsset("depot", v.Depot, DepotAsset, false))
}

// A VehicleChanged changes what a VehicleAdded said.
type VehicleChanged struct{ Changes }

func (VehicleChanged) Kind() string { return "vehicle-changed" }
func (v VehicleChanged) check() error {
	return checkFor[VehicleAdded](v.Changes, []string{"vehicle"}, nil)
}

// A VehicleScrapped ends a vehicle's use; its history stays.
type VehicleScrapped struct {
	Reading MeterReading `json:"reading,omitzero"`
}

func (VehicleScrapped) Kind() string   { return "vehicle-scrapped" }
func (v VehicleScrapped) check() error { return v.Reading.check("reading") }

// A MeterReplaced says that a vehicle's meter was replaced: distances go on from
// another number.
type MeterReplaced struct {
	Meter string `json:"meter"`
	// Old is what the old meter showed at the end, nil where nobody read it; New is
	// what the new one showed at the start.
	Old *int64 `json:"old_m,omitempty"`
	New int64  `json:"new_m"`
}

func (MeterReplaced) Kind() string { return "meter-replaced" }
func (m MeterReplaced) check() error {
	return first(
		checkOneOf("meter", m.Meter, true, Odometer, HubMeter, Brake),
		checkWhole("old_m", m.Old, 0, maxMetres), checkWhole("new_m", &m.New, 0, maxMetres))
}

// What a person decides on a reading that was questioned.
const (
	KeepReading  = "keep"
	LeaveReading = "leave-out"
	ReadAs       = "read-as"
)

// A ReadingJudged answers the question whether a reading is right. The reading
// itself stays as it came.
type ReadingJudged struct {
	Meter    string `json:"meter"`
	At       Time   `json:"at"` // with Metres, which reading
	Metres   int64  `json:"metres"`
	Decision string `json:"decision"`
	ReadAs   *int64 `json:"read_as_m,omitempty"`
}

func (ReadingJudged) Kind() string { return "reading-judged" }
func (j ReadingJudged) check() error {
	if !j.At.Valid() {
		return &RuleError{Field: "at", Found: "nothing", Want: "when the reading was taken"}
	}
	if (j.Decision == ReadAs) != (j.ReadAs != nil) {
		return &RuleError{Field: "read_as_m", Found: "decision " + quote(j.Decision), Want: "a distance with read-as, and only there"}
	}
	return first(
		checkOneOf("meter", j.Meter, true, Odometer, HubMeter, Brake),
		checkOneOf("decision", j.Decision, true, KeepReading, LeaveReading, ReadAs),
		checkWhole("metres", &j.Metres, 0, maxMetres), checkWhole("read_as_m", j.ReadAs, 0, maxMetres))
}

// A Coupled begins a coupled period. It stands in the chain of the towed
// vehicle.
type Coupled struct {
	By        Asset        `json:"by"` // the vehicle that tows: a tractor, or a dolly
	ByReading MeterReading `json:"by_reading,omitzero"`
	Reading   MeterReading `json:"reading,omitzero"` // of the towed vehicle's own meter
	Place     string       `json:"place,omitempty"`
}

func (Coupled) Kind() string { return "coupled" }
func (c Coupled) check() error {
	return first(
		checkAsset("by", c.By, VehicleAsset, true),
		c.ByReading.check("by_reading"), c.Reading.check("reading"),
		checkTexts(text{"place", c.Place, false}))
}

// An Uncoupled ends the coupled period that a Coupled began. A correction never
// moves it to another period: void it and enter it anew.
type Uncoupled struct {
	Period    ID           `json:"period"` // id of the record that began it
	ByReading MeterReading `json:"by_reading,omitzero"`
	Reading   MeterReading `json:"reading,omitzero"`
	Place     string       `json:"place,omitempty"`
}

func (Uncoupled) Kind() string { return "uncoupled" }
func (u Uncoupled) check() error {
	if !u.Period.Valid() {
		return &RuleError{Field: "period", Found: quote(string(u.Period)), Want: "the id of the record that began the period"}
	}
	return first(u.ByReading.check("by_reading"), u.Reading.check("reading"), checkTexts(text{"place", u.Place, false}))
}
