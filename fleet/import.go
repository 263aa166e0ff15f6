package fleet

import (
	"context"
	"errors"
	"reflect"
	"strings"

	"underpin/record"
	"underpin/vehicle"
)

// A Delivery is what a reader found in a file that somebody wants to bring in.
// Rows are taken in this order: depots, types, vehicles, parts, then readings.
type Delivery struct {
	Source   string // name of the file
	Depots   []DepotRow
	Types    []TypeRow
	Vehicles []VehicleRow
	Parts    []PartRow
	Readings []ReadingRow
	// Settings and Loads are those at the head of a fleet file; nil leaves as it is.
	Settings, Loads record.Fields

	Reason string
}

// A VehicleRow is one vehicle of a delivery. The fleet number tells which it is: a
// known one is changed, another is added. What a row leaves out stays as it is;
// what it clears is unknown from then on.
type VehicleRow struct {
	Place             Place
	Vehicle           string // tractor, semi-trailer, dolly
	Registration, VIN string
	Depot             string // name of a depot
	// Papers is the row of the table papers from which the three are, where they are
	// from one; 0: they stand in the row itself.
	Papers int
	Fields record.Fields // of the fleet file, id among them
	Clear  []string      // fields, registration, vin or depot
}

// A PartRow is one part of a delivery. What part it is and its serial tell which,
// together with its type where that is given.
type PartRow struct {
	Place                        Place
	ID                           record.Asset // the register's own name of the part, where it is known
	Part, Serial, Marking, Class string
	Type                         string // name of a type
	record.Ratings
	ReadFrom, Made, Note string
	Depot                string // name of a depot where it lies
	// On is the fleet number of the vehicle that it sits on; left out: it is not said.
	On      string
	Where   string // place on the vehicle; left out: where such a part belongs
	Since   record.Time
	Reading record.MeterReading
}

// A DepotRow is one depot of a delivery, known by its name.
type DepotRow struct {
	Place Place
	record.DepotAdded
}

// A TypeRow is one type of a delivery, known by what it is a type of and its name.
type TypeRow struct {
	Place Place
	record.TypeAdded
}

// What a row of a delivery comes to.
const (
	RowAdds    = "add"
	RowChanges = "change"
	RowSame    = "same"
	RowWrong   = "wrong"
)

// A RowOutcome is one line of the table of what a delivery would change.
type RowOutcome struct {
	Place    Place
	Kind     string // vehicle, part, type, depot, settings
	Title    string
	What     string // add, change, same, wrong
	Asset    record.Asset
	Changes  []Difference // Was and Yours; Theirs is the same as Was
	Warnings []Problem
	Problems []RowProblem
}

// A DeliveryReport is the table of what a delivery would change, or did.
type DeliveryReport struct {
	Rows     []RowOutcome
	Readings *ReadingsReport
	Counts   map[string]int // rows by What
	Entered  bool           // it was entered; else nothing was
}

// Wrong lists every problem of every row, readings included.
func (d *DeliveryReport) Wrong() []RowProblem {
	var all []RowProblem
	for _, row := range d.Rows {
		all = append(all, row.Problems...)
	}
	if d.Readings != nil {
		all = append(all, d.Readings.Wrong...)
	}
	return all
}

// How says how far Import goes.
type How int

const (
	DryRun   How = iota // enter nothing and tell what would change
	AllGood             // enter all, or nothing when a row is wrong
	OnlyGood            // enter the rows that are right
)

// Import brings in a delivery. Vehicles, parts, types and depots are entered in
// one transaction; readings follow in another when that went well.
func (r *Register) Import(ctx context.Context, d Delivery, how How) (*DeliveryReport, error) {
	actor, err := r.actor(ctx, Import)
	if err != nil {
		return nil, err
	}
	for try := 1; ; try++ {
		report, p, err := r.importOnce(ctx, actor, d, how)
		if err != nil {
			return nil, err
		}
		wrong := len(report.Wrong()) > 0
		if how == DryRun || how == AllGood && wrong {
			return report, nil
		}
		if len(p.batch.Records) > 0 {
			_, err = p.commit()
		}
		switch {
		case err == nil:
			report.Entered = true
			if len(d.Readings) > 0 {
				report.Readings, err = r.enterReadings(ctx, actor, Readings{Source: d.Source, Rows: d.Readings, OnlyGood: how == OnlyGood})
			}
			return report, err
		case !outrun(err) || try == mostTries || ctx.Err() != nil:
			return nil, p.explain(err)
		}
	}
}

// importOnce plans every row.
func (r *Register) importOnce(ctx context.Context, actor *Actor, d Delivery, how How) (*DeliveryReport, *plan, error) {
	i := &importer{plan: r.newPlan(ctx, actor), delivery: &d, report: &DeliveryReport{Counts: map[string]int{}}, numbers: map[string]bool{}}
	if err := i.names(); err != nil {
		return nil, nil, err
	}
	var err error
	row := func(place Place, kind, title string, fn func(*RowOutcome) error) {
		if err == nil {
			err = i.row(place, kind, title, fn)
		}
	}
	for k := range d.Depots {
		x := &d.Depots[k]
		row(x.Place, record.DepotAsset, x.Name, func(o *RowOutcome) error { return i.depot(o, x) })
	}
	for k := range d.Types {
		x := &d.Types[k]
		row(x.Place, record.TypeAsset, x.TypeAdded.Name, func(o *RowOutcome) error { return i.typ(o, x) })
	}
	for k := range d.Vehicles {
		x := &d.Vehicles[k]
		row(x.Place, record.VehicleAsset, textOf(x.Fields["id"]), func(o *RowOutcome) error { return i.vehicle(o, x) })
		if err == nil && x.Papers > 0 {
			i.report.Rows[len(i.report.Rows)-1].inPapers(x.Papers)
		}
	}
	for k := range d.Parts {
		x := &d.Parts[k]
		row(x.Place, record.PartAsset, strings.TrimSpace(x.Part+" "+x.Serial), func(o *RowOutcome) error { return i.part(o, x) })
	}
	for _, set := range []struct {
		name   string
		values record.Fields
	}{{SettingsSet, d.Settings}, {LoadsSet, d.Loads}} {
		if set.values != nil {
			row(Place{Sheet: set.name}, "settings", set.name, func(o *RowOutcome) error { return i.settings(o, set.name, set.values) })
		}
	}
	if err != nil {
		return nil, nil, err
	}
	if len(d.Readings) > 0 {
		if i.report.Readings, err = i.readings(); err != nil {
			return nil, nil, err
		}
	}
	return i.report, i.plan, nil
}

// An importer plans the rows of one delivery.
type importer struct {
	*plan
	delivery *Delivery
	report   *DeliveryReport
	depots   map[string]record.Asset // by name
	types    map[string]record.Asset // by part and name
	parts    map[string][]record.Asset
	numbers  map[string]bool // vehicles and parts of the delivery, so that none is there twice
}

// row plans one row and notes what it comes to. An error that the row is not to
// blame for is returned.
func (i *importer) row(place Place, kind, title string, fn func(*RowOutcome) error) error {
	o := RowOutcome{Place: place, Kind: kind, Title: title, What: RowSame}
	err := fn(&o)
	switch problems, blame := blamed(err); {
	case err == nil:
	case !blame:
		return err
	default:
		o.What = RowWrong
		for _, p := range problems {
			o.Problems = append(o.Problems, RowProblem{place, p})
		}
	}
	i.report.Counts[o.What]++
	i.report.Rows = append(i.report.Rows, o)
	return nil
}

// inPapers puts what is wrong with a vehicle's papers where it stands.
func (o *RowOutcome) inPapers(row int) {
	for i := range o.Problems {
		if p := &o.Problems[i]; p.Where == "registration" || p.Where == "vin" || p.Where == "depot" {
			p.Place = Place{"papers", row}
		}
	}
}

// blamed tells what in an error is the row's own fault.
func blamed(err error) ([]Problem, bool) {
	if e, ok := errors.AsType[*Invalid](err); ok {
		return e.Problems, true
	}
	if e, ok := errors.AsType[*NotFound](err); ok {
		return []Problem{{e.What, show(encoded(e.Name)), "one that is in the register"}}, true
	}
	if e, ok := errors.AsType[*NotAllowed](err); ok {
		return []Problem{{"", e.Error(), "a row that you may enter"}}, true
	}
	return nil, false
}

// do plans one command of a row.
func (i *importer) do(o *RowOutcome, c Command, what string) error {
	done, err := i.run(c)
	if err != nil {
		return err
	}
	if o.Asset == "" {
		o.Asset = done.Asset
	}
	o.Warnings = append(o.Warnings, done.Warnings...)
	if done.Record != "" && o.What == RowSame {
		o.What = what
	}
	return nil
}

// once refuses a second row for the same thing.
func (i *importer) once(where, name string) error {
	if i.numbers[name] {
		return invalid("", where, "a second row for it", "one row for each")
	}
	i.numbers[name] = true
	return nil
}

func (i *importer) meta() Meta { return Meta{Reason: i.delivery.Reason} }

// compare notes how details change.
func (o *RowOutcome) compare(was, now any) error {
	before, err := flatten(was)
	if err != nil {
		return err
	}
	after, err := flatten(now)
	if err != nil {
		return err
	}
	o.Changes = differences(before, before, after)
	return nil
}

func (i *importer) depotOf(name string) (record.Asset, error) {
	if name == "" {
		return "", nil
	}
	if a, known := i.depots[folded(name)]; known {
		return a, nil
	}
	return "", invalid("", "depot", show(encoded(name)), "the name of a depot of the register")
}

// readings tells what would come of the readings, vehicles of the same delivery
// counted in.
func (i *importer) readings() (*ReadingsReport, error) {
	coming := map[string]string{}
	for k := range i.delivery.Vehicles {
		x := &i.delivery.Vehicles[k]
		coming[folded(textOf(x.Fields["id"]))] = x.Vehicle
	}
	for _, row := range i.report.Rows {
		if row.Kind == record.VehicleAsset && row.What == RowWrong {
			delete(coming, folded(row.Title))
		}
	}
	var known []ReadingRow
	now := i.now
	rows, wrong, err := i.r.resolve(i.ctx, i.delivery.Readings, i.delivery.Vehicles)
	if err != nil {
		return nil, err
	}
	for k := range rows {
		row := &rows[k]
		if _, err := i.r.byNumber(i.ctx, row.Vehicle); err == nil || record.Asset(row.Vehicle).Kind() == record.VehicleAsset {
			known = append(known, *row)
			continue
		} else if !missing(err) {
			return nil, err
		}
		v := &metered{&record.Vehicle{}}
		v.VehicleAdded.Vehicle = coming[folded(row.Vehicle)]
		if v.VehicleAdded.Vehicle == "" {
			v = nil
		}
		meter := row.Meter
		if meter == "" && v != nil {
			meter = v.usual()
		}
		if p := row.check(v, meter, now); p != nil {
			wrong = append(wrong, RowProblem{row.Place, *p})
		}
	}
	report, err := i.r.enterReadings(i.ctx, i.actor, Readings{Rows: known, DryRun: true})
	if err != nil {
		return nil, err
	}
	report.Wrong = append(report.Wrong, wrong...)
	return report, nil
}

func textOf(raw []byte) string {
	var s string
	fill(reflect.ValueOf(&s).Elem(), raw, "", func(_, _, _ string) { s = "" })
	return strings.TrimSpace(s)
}

func typeName(part, name string) string     { return part + " " + folded(name) }
func serialName(part, serial string) string { return part + " " + folded(serial) }

// FleetDelivery turns a fleet, as read from a fleet file or a workbook, into a
// delivery. A vehicle's place is its number in the file's list of its kind.
func FleetDelivery(f *vehicle.Fleet, source string) Delivery {
	d := Delivery{Source: source}
	for i := range f.Tractors {
		d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"tractor", i + 1}, Vehicle: record.Tractor, Fields: fieldsOf(reflect.ValueOf(&f.Tractors[i]).Elem())})
	}
	for i := range f.Trailers {
		d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"semi-trailer", i + 1}, Vehicle: record.SemiTrailer, Fields: fieldsOf(reflect.ValueOf(&f.Trailers[i]).Elem())})
	}
	head := record.Fields{}
	for name, text := range map[string]string{"name": f.Name, "law": f.Law, "note": f.Note} {
		if text != "" {
			head[name] = encoded(text)
		}
	}
	if len(f.Facts) > 0 {
		head["facts"] = encoded(f.Facts)
	}
	if len(head) > 0 {
		d.Settings = head
	}
	if len(f.Loads) > 0 {
		d.Loads = record.Fields{}
		for i := range f.Loads {
			l := f.Loads[i]
			id := l.ID
			l.ID = ""
			d.Loads[id] = encoded(fieldsOf(reflect.ValueOf(&l).Elem()))
		}
	}
	return d
}
