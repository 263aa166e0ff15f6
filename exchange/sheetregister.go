package exchange

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// A Register is what the tables of a whole register hold: the fleet file's, and
// beside them what no fleet file has. Names stand where the register has ids of
// its own. ParseWorkbook, ParseCSV and ParseJSON read it, and their counterparts
// write it.
type Register struct {
	vehicle.Fleet
	Papers   []Papers   `toml:"papers,omitempty" doc:"Registration and VIN of each vehicle."`
	Depots   []Depot    `toml:"depot,omitempty" doc:"The depots."`
	Types    []PartType `toml:"part-type,omitempty" doc:"What is copied from the maker's instructions of the types that are fitted."`
	Parts    []Part     `toml:"part,omitempty" doc:"Fifth wheels, kingpins and other parts with a life of their own."`
	Readings []Reading  `toml:"reading,omitempty" doc:"Odometers, hub meters and brake controllers as they were read."`
}

// Papers are what a vehicle is known by on the road.
type Papers struct {
	Vehicle      string `toml:"vehicle,omitempty" doc:"Id of the vehicle." must:"true"`
	Registration string `toml:"registration,omitempty" doc:"Registration mark." tape:"Number plate."`
	VIN          string `toml:"vin,omitempty" doc:"Vehicle identification number." tape:"Statutory plate, or stamped into the frame."`
	Depot        string `toml:"depot,omitempty" doc:"Name of the depot where it is at home."`
}

// A Depot is a yard of the fleet.
type Depot struct {
	Name     string `toml:"name,omitempty" doc:"Name of the depot." must:"true"`
	Address  string `toml:"address,omitempty" doc:"Where it is."`
	TimeZone string `toml:"time-zone,omitempty" doc:"Time zone by its name in the time zone database, such as Europe/Berlin."`
	Note     string `toml:"note,omitempty" doc:"Anything a reader should know."`
}

// A Part is a coupling, a kingpin or another part that has a life of its own, and
// where it is now.
type Part struct {
	ID       string         `toml:"id,omitempty" doc:"The register's own name for the part; left out for a part that it does not know yet."`
	Part     string         `toml:"part,omitempty" doc:"What it is: fifth-wheel, kingpin, mounting, rubbing-plate or another name in small letters." must:"true"`
	Type     string         `toml:"type,omitempty" doc:"Name of its type."`
	Serial   string         `toml:"serial,omitempty" doc:"Serial number." tape:"Type plate."`
	Marking  string         `toml:"marking,omitempty" doc:"Approval marking, as stamped." tape:"Type plate, or stamped beside it."`
	Class    string         `toml:"class,omitempty" doc:"Class as marked, such as G50-X."`
	D        *unit.Force    `toml:"d-value,omitempty" doc:"Marked D-value." min:"20 kN" max:"1000 kN"`
	Imposed  *unit.Mass     `toml:"imposed,omitempty" doc:"Marked imposed load U." min:"1 t" max:"100 t"`
	Pin      *unit.Length   `toml:"pin,omitempty" doc:"Kingpin size that it is or takes, 50 mm (2 in) or 90 mm (3.5 in)." min:"50 mm" max:"90 mm"`
	ReadFrom string         `toml:"read-from,omitempty" doc:"Where the marked values were read: plate, document or memory." oneof:"plate document memory"`
	Made     string         `toml:"made,omitempty" doc:"Date of making, as marked."`
	Depot    string         `toml:"depot,omitempty" doc:"Name of the depot where it lies while it is not fitted."`
	Vehicle  string         `toml:"vehicle,omitempty" doc:"Id of the vehicle that it is fitted to; left out while it is not fitted."`
	Place    string         `toml:"place,omitempty" doc:"Where on the vehicle: fifth-wheel, kingpin or another name in small letters."`
	Fitted   *tomlfile.Date `toml:"fitted,omitempty" doc:"Day on which it was fitted."`
	Meter    string         `toml:"meter,omitempty" doc:"Meter that was read as it was fitted." oneof:"odometer hub brake"`
	FittedAt *unit.Length   `toml:"fitted-at,omitempty" doc:"What that meter showed." unit:"km" min:"0 km" max:"10000000 km"`
	Note     string         `toml:"note,omitempty" doc:"Anything a reader should know."`
}

// Copied is where a value was copied from.
type Copied struct {
	Document string `toml:"document,omitempty" doc:"Title of the document that it was copied from."`
	Edition  string `toml:"edition,omitempty" doc:"Edition of the document."`
	Page     string `toml:"page,omitempty" doc:"Page of the document."`
}

// A PartType is what a user copies from the maker's instructions of a type.
type PartType struct {
	Name        string       `toml:"name,omitempty" doc:"Name of the type." must:"true"`
	Part        string       `toml:"part,omitempty" doc:"What it is a type of: fifth-wheel, kingpin or another name in small letters." must:"true"`
	Maker       string       `toml:"maker,omitempty" doc:"Who makes it."`
	Marking     string       `toml:"marking,omitempty" doc:"Approval marking of the type."`
	Class       string       `toml:"class,omitempty" doc:"Class as marked, such as G50-X."`
	D           *unit.Force  `toml:"d-value,omitempty" doc:"D-value of the type." min:"20 kN" max:"1000 kN"`
	Imposed     *unit.Mass   `toml:"imposed,omitempty" doc:"Imposed load U of the type." min:"1 t" max:"100 t"`
	Pin         *unit.Length `toml:"pin,omitempty" doc:"Kingpin size that it is or takes." min:"50 mm" max:"90 mm"`
	Lubrication string       `toml:"lubrication,omitempty" doc:"Lubrication, as the instructions call it."`
	Copied
	Note       string          `toml:"note,omitempty" doc:"Anything a reader should know."`
	Dimensions []TypeDimension `toml:"dimension,omitempty" doc:"Dimensions that are gauged, new and at the limit."`
	Intervals  []TypeInterval  `toml:"interval,omitempty" doc:"How often something is done."`
	Torques    []TypeTorque    `toml:"torque,omitempty" doc:"What fasteners are tightened with."`
}

// A TypeDimension is one gauged dimension of a type.
type TypeDimension struct {
	Name    string `toml:"name,omitempty" doc:"Name in small letters, digits and hyphens, such as lock-wear." must:"true"`
	What    string `toml:"what,omitempty" doc:"What is measured where with which gauge."`
	New     string `toml:"new,omitempty" doc:"When new, with its unit, as printed."`
	Limit   string `toml:"limit,omitempty" doc:"Limit, with its unit, as printed."`
	Sense   string `toml:"sense,omitempty" doc:"max: replace above the limit; min: below." oneof:"max min"`
	Reached string `toml:"reached,omitempty" doc:"What is done when the limit is reached."`
	Copied
}

// A TypeInterval is how often something is done, by whichever comes first.
type TypeInterval struct {
	Task     string       `toml:"task,omitempty" doc:"What is done." must:"true"`
	Distance *unit.Length `toml:"distance,omitempty" doc:"After this distance." unit:"km" min:"1 km" max:"10000000 km"`
	Months   *int64       `toml:"months,omitempty" doc:"After so many months."`
	Days     *int64       `toml:"days,omitempty" doc:"After so many days."`
	Once     bool         `toml:"once,omitempty" doc:"Once after fitting, and not again."`
	Note     string       `toml:"note,omitempty" doc:"Anything a reader should know."`
	Copied
}

// A TypeTorque is what a fastener is tightened with.
type TypeTorque struct {
	Where  string `toml:"where,omitempty" doc:"Which fastener." must:"true"`
	Thread string `toml:"thread,omitempty" doc:"Its thread, such as M16x1.5."`
	Grade  string `toml:"grade,omitempty" doc:"Its grade, such as 10.9."`
	Least  string `toml:"least,omitempty" doc:"Torque, or the least of a range, with its unit, as printed." must:"true"`
	Most   string `toml:"most,omitempty" doc:"The most of a range, with its unit; left out when one value is printed."`
	Note   string `toml:"note,omitempty" doc:"Anything a reader should know."`
	Copied
}

// Validate returns everything that is wrong with what the tables hold by
// themselves. Whether a name is known to the register is not asked here, nor are the
// axles of a vehicle: what a register does not know yet is unknown there too.
func (r *Register) Validate() []*vehicle.FieldError {
	errs := slices.DeleteFunc(r.Fleet.Validate(), func(e *vehicle.FieldError) bool { return e.Found == "0 axles" || e.Found == "no axle" })
	v := reflect.ValueOf(r).Elem()
	for i := range v.NumField() {
		if f := v.Type().Field(i); !f.Anonymous {
			checkRow(v.Field(i), f, vehicle.Key(f), func(path, found, expected string) {
				errs = append(errs, &vehicle.FieldError{Path: path, Found: found, Expected: expected})
			})
		}
	}
	once := func(i int, list, field, name string, had map[string]bool) {
		if name != "" && had[name] {
			errs = append(errs, &vehicle.FieldError{Path: fmt.Sprintf("%s[%d].%s", list, i, field), Found: field + " = " + quoted(name) + " a second time", Expected: "each " + field + " once"})
		}
		had[name] = true
	}
	papers, depots, types, parts := map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}
	for i, p := range r.Papers {
		once(i, "papers", "vehicle", p.Vehicle, papers)
	}
	for i, d := range r.Depots {
		once(i, "depot", "name", d.Name, depots)
	}
	for i, t := range r.Types {
		once(i, "part-type", "name", t.Name, types)
	}
	for i, p := range r.Parts {
		once(i, "part", "id", p.ID, parts)
		switch where := fmt.Sprintf("part[%d]", i); {
		case (p.Vehicle == "") != (p.Place == ""):
			errs = append(errs, &vehicle.FieldError{Path: where, Found: "vehicle and place not given together", Expected: "both, or neither for a part that is not fitted"})
		case (p.Meter == "") != (p.FittedAt == nil):
			errs = append(errs, &vehicle.FieldError{Path: where, Found: "meter and fitted-at not given together", Expected: "both or neither"})
		}
	}
	for i, m := range r.Readings {
		if m.Vehicle == "" && m.VIN == "" && m.Registration == "" {
			errs = append(errs, &vehicle.FieldError{Path: fmt.Sprintf("reading[%d]", i), Found: "no vehicle", Expected: "one of vehicle, vin, registration"})
		}
	}
	return errs
}

// checkRow holds each value against the min, max, oneof and must of its field.
func checkRow(v reflect.Value, f reflect.StructField, path string, bad func(path, found, expected string)) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	key := path[strings.LastIndexByte(path, '.')+1:]
	switch dim := vehicle.Quantity(v.Type()); {
	case v.Kind() == reflect.Slice:
		for i := range v.Len() {
			checkRow(v.Index(i), f, fmt.Sprintf("%s[%d]", path, i), bad)
		}
	case v.Kind() == reflect.Struct && !isText(v.Type()):
		for i := range v.NumField() {
			in := v.Type().Field(i)
			where := path
			if !in.Anonymous {
				where = tomlfile.Join(path, vehicle.Key(in))
			}
			checkRow(v.Field(i), in, where, bad)
		}
	case v.Kind() == reflect.String:
		words := strings.Fields(f.Tag.Get("oneof"))
		switch s := v.String(); {
		case s == "" && f.Tag.Get("must") != "":
			doc := strings.TrimSuffix(f.Tag.Get("doc"), ".")
			bad(path, "no "+key, strings.ToLower(doc[:1])+doc[1:])
		case s != "" && len(words) > 0 && !slices.Contains(words, s):
			bad(path, key+" = "+quoted(s), oneOf(words))
		}
	case dim != unit.Number && f.Tag.Get("min") != "":
		lo, err1 := unit.Parse(f.Tag.Get("min"), dim)
		hi, err2 := unit.Parse(f.Tag.Get("max"), dim)
		if x := v.Float(); err1 != nil || err2 != nil || !(lo <= x && x <= hi) {
			bad(path, key+" = "+textOf(v), f.Tag.Get("min")+" to "+f.Tag.Get("max"))
		}
	}
}
