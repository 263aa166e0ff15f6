package fleet

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/record"
	"underpin/store"
	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// Tables are what a register holds today, as a workbook, CSV, TOML and JSON have it:
// vehicles in use, parts, types, depots, loads, readings. What happened before, and
// documents, only an export holds.
type Tables struct {
	exchange.Register
	Dollies []Dolly `toml:"dolly,omitempty" doc:"Dollies: a chassis with a drawbar and a fifth wheel."`
}

// Validate returns what is wrong with the tables by themselves. Axles that are not
// known yet are no error in a register, and neither is a ticket that was weighed
// behind a tractor that is not in use any more.
func (t *Tables) Validate() []*vehicle.FieldError {
	errs := slices.DeleteFunc(t.Register.Validate(), func(e *vehicle.FieldError) bool {
		return noAxle(e.Found) || strings.HasSuffix(e.Path, ".weighbridge.tractor")
	})
	for i := range t.Dollies {
		if t.Dollies[i].ID == "" {
			errs = append(errs, &vehicle.FieldError{Path: fmt.Sprintf("dolly[%d]", i), Found: "no id", Expected: "the fleet number"})
		}
	}
	return errs
}

// Tables returns what the register holds today, and what of it no table holds.
// Readings are left out on request: there may be more than a workbook takes.
func (r *Register) Tables(ctx context.Context, readings bool) (*Tables, []Remark, error) {
	if _, err := r.actor(ctx, Operate); err != nil {
		return nil, nil, err
	}
	b := &tabler{r: r, ctx: ctx, names: map[record.Asset]string{}}
	for _, step := range []func() error{b.head, b.depots, b.types, b.vehicles, b.parts} {
		if err := step(); err != nil {
			return nil, nil, err
		}
	}
	if readings {
		for v, err := range r.TableReadings(ctx) {
			if err != nil {
				return nil, nil, err
			}
			b.t.Readings = append(b.t.Readings, v)
		}
	}
	return &b.t, b.left, nil
}

// A tabler writes a register into tables.
type tabler struct {
	r     *Register
	ctx   context.Context
	t     Tables
	left  []Remark
	names map[record.Asset]string // of depots, types and vehicles, as the tables call them
}

func (b *tabler) head() error {
	now := &Now{}
	if err := b.r.head(b.ctx, now); err != nil {
		return err
	}
	b.t.Name, b.t.Law, b.t.Note, b.t.Facts, b.t.Loads = now.Name, now.Law, now.Note, now.Facts, now.Loads
	b.left = append(b.left, now.Left...)
	return nil
}

// entities goes through the entities of a kind in the order of a list.
func (b *tabler) entities(kind string, status []string, fn func(*record.Entity) error) error {
	var all []record.Asset
	if err := b.r.each(b.ctx, store.Query{Kind: kind, Status: status}, func(row *store.Row) error {
		all = append(all, row.Asset)
		return nil
	}); err != nil {
		return err
	}
	for some := range slices.Chunk(all, batchRows) {
		rows, err := b.r.store.Rows(b.ctx, some)
		if err != nil {
			return err
		}
		for i := range rows {
			e, err := rows[i].Entity()
			if err == nil {
				err = fn(e)
			}
			if err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *tabler) depots() error {
	return b.entities(record.DepotAsset, []string{record.StatusActive}, func(e *record.Entity) error {
		d, err := e.Depot(record.Latest)
		if err == nil {
			b.names[e.Asset] = d.Name
			b.t.Depots = append(b.t.Depots, exchange.Depot{Name: d.Name, Address: d.Address, TimeZone: d.TimeZone, Note: d.Note})
		}
		return err
	})
}

func (b *tabler) types() error {
	return b.entities(record.TypeAsset, []string{record.StatusActive}, func(e *record.Entity) error {
		t, err := e.Type(record.Latest)
		if err == nil {
			b.names[e.Asset] = t.TypeAdded.Name
			b.t.Types = append(b.t.Types, typeTable(&t.TypeAdded))
		}
		return err
	})
}

func (b *tabler) vehicles() error {
	return b.entities(record.VehicleAsset, []string{record.StatusActive}, func(e *record.Entity) error {
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return err
		}
		number := v.Number()
		b.names[e.Asset] = number
		p, problems := parse(v.VehicleAdded)
		switch {
		case len(problems) > 0:
			b.left = append(b.left, Remark{e.Asset, number, problems[0].Where, "its fields cannot be read: " + problems[0].String()})
			delete(b.names, e.Asset)
			return nil
		case p.tractor != nil:
			b.t.Tractors = append(b.t.Tractors, *p.tractor)
		case p.trailer != nil:
			b.t.Trailers = append(b.t.Trailers, *p.trailer)
		default:
			b.t.Dollies = append(b.t.Dollies, *p.dolly)
		}
		if v.Registration+v.VIN+b.names[v.Depot] != "" {
			b.t.Papers = append(b.t.Papers, exchange.Papers{Vehicle: number, Registration: v.Registration, VIN: v.VIN, Depot: b.names[v.Depot]})
		}
		return nil
	})
}

func (b *tabler) parts() error {
	return b.entities(record.PartAsset, []string{record.StatusFitted, record.StatusStored}, func(e *record.Entity) error {
		p, err := e.Part(record.Latest)
		if err != nil {
			return err
		}
		x := exchange.Part{ID: string(e.Asset), Part: p.PartAdded.Part, Type: b.names[p.Type], Serial: p.Serial, Marking: p.Marking, Class: p.Class,
			D: force(p.D), Imposed: mass(p.Imposed), Pin: millimetres(p.Pin), ReadFrom: p.ReadFrom, Made: p.Made, Depot: b.names[p.Stored], Note: p.Note}
		if on := p.On(); on != nil {
			number := b.names[on.Vehicle]
			if number == "" {
				b.left = append(b.left, Remark{e.Asset, (&Part{Part: *p}).title(), "vehicle", "it sits on " + string(on.Vehicle) + ", which is not in the tables"})
			} else {
				day := tomlfile.Date{}
				year, month, d := on.From.Time().Date()
				day.Year, day.Month, day.Day = year, int(month), d
				x.Vehicle, x.Place, x.Fitted = number, on.Place, &day
				if on.FromReading.Metres != nil {
					shown := unit.Length(*on.FromReading.Metres)
					x.Meter, x.FittedAt = on.FromReading.Meter, &shown
				}
			}
		}
		b.t.Parts = append(b.t.Parts, x)
		return nil
	})
}

// TableReadings yields every reading of the vehicles in use, with their numbers.
func (r *Register) TableReadings(ctx context.Context) func(yield func(exchange.Reading, error) bool) {
	return func(yield func(exchange.Reading, error) bool) {
		if _, err := r.actor(ctx, Operate); err != nil {
			yield(exchange.Reading{}, err)
			return
		}
		numbers := map[record.Asset]string{}
		err := r.each(ctx, store.Query{Kind: record.VehicleAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
			numbers[row.Asset] = row.Title
			return nil
		})
		if err != nil {
			yield(exchange.Reading{}, err)
			return
		}
		for v, err := range r.store.EachReading(ctx) {
			if err != nil {
				yield(exchange.Reading{}, err)
				return
			}
			if numbers[v.Asset] == "" {
				continue
			}
			if !yield(exchange.Reading{Vehicle: numbers[v.Asset], Meter: v.Name, At: exchange.Instant(v.At), Distance: unit.Length(v.Metres), GivenIn: v.Unit}, nil) {
				return
			}
		}
	}
}

func typeTable(t *record.TypeAdded) exchange.PartType {
	x := exchange.PartType{Name: t.Name, Part: t.Part, Maker: t.Maker, Marking: t.Marking, Class: t.Class, D: force(t.D), Imposed: mass(t.Imposed),
		Pin: millimetres(t.Pin), Lubrication: t.Lubrication, Copied: copied(t.Source), Note: t.Note}
	for _, d := range t.Dimensions {
		x.Dimensions = append(x.Dimensions, exchange.TypeDimension{Name: d.Name, What: d.What, New: d.New, Limit: d.Limit, Sense: d.Sense, Reached: d.Reached, Copied: copied(d.Source)})
	}
	for _, i := range t.Intervals {
		x.Intervals = append(x.Intervals, exchange.TypeInterval{Task: i.Task, Distance: metres(i.Metres), Months: i.Months, Days: i.Days, Once: i.Once, Note: i.Note, Copied: copied(i.Source)})
	}
	for _, q := range t.Torques {
		x.Torques = append(x.Torques, exchange.TypeTorque{Where: q.Where, Thread: q.Thread, Grade: q.Grade, Least: q.Least, Most: q.Most, Note: q.Note, Copied: copied(q.Source)})
	}
	return x
}

func copied(s record.Source) exchange.Copied {
	return exchange.Copied{Document: s.Document, Edition: s.Edition, Page: s.Page}
}

func metres(m *int64) *unit.Length {
	if m == nil {
		return nil
	}
	l := unit.Length(*m)
	return &l
}

// wholeOf rounds a quantity to a whole number of a unit; nil is unknown.
func wholeOf[T ~float64](v *T, each float64) *int64 {
	if v == nil {
		return nil
	}
	n := int64(float64(*v)/each + 0.5)
	return &n
}

// Delivery turns tables into a delivery. A row's place is its table and its number in
// it, from 0; Path turns them into the path of a field.
func (t *Tables) Delivery(source string) Delivery {
	d := FleetDelivery(&t.Fleet, source)
	for i := range t.Dollies {
		d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"dolly", i + 1}, Vehicle: record.Dolly, Fields: fieldsOf(reflect.ValueOf(&t.Dollies[i]).Elem())})
	}
	at := map[string]int{}
	for i := range d.Vehicles {
		d.Vehicles[i].Place.Row--
		at[folded(textOf(d.Vehicles[i].Fields["id"]))] = i
	}
	for i, p := range t.Papers {
		k, there := at[folded(p.Vehicle)]
		if !there { // of a vehicle that the register has
			k = len(d.Vehicles)
			d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"papers", i}, Fields: record.Fields{"id": Text(p.Vehicle)}})
		}
		v := &d.Vehicles[k]
		v.Registration, v.VIN, v.Depot = p.Registration, p.VIN, p.Depot
	}
	for i, x := range t.Depots {
		d.Depots = append(d.Depots, DepotRow{Place{"depot", i}, record.DepotAdded{Name: x.Name, Address: x.Address, TimeZone: x.TimeZone, Note: x.Note}})
	}
	for i := range t.Types {
		d.Types = append(d.Types, TypeRow{Place{"part-type", i}, typeOf(&t.Types[i])})
	}
	for i := range t.Parts {
		x := &t.Parts[i]
		row := PartRow{Place: Place{"part", i}, ID: record.Asset(x.ID), Part: x.Part, Serial: x.Serial, Marking: x.Marking, Class: x.Class, Type: x.Type,
			Ratings:  record.Ratings{D: wholeOf(x.D, 1), Imposed: wholeOf(x.Imposed, 1), Pin: wholeOf(x.Pin, 0.001)},
			ReadFrom: x.ReadFrom, Made: x.Made, Note: x.Note, Depot: x.Depot, On: x.Vehicle, Where: x.Place,
			Reading: record.MeterReading{Meter: x.Meter, Metres: wholeOf(x.FittedAt, 1)}}
		if x.Fitted != nil {
			row.Since = record.At(time.Date(x.Fitted.Year, time.Month(x.Fitted.Month), x.Fitted.Day, 0, 0, 0, 0, time.UTC))
		}
		d.Parts = append(d.Parts, row)
	}
	d.Readings = readingRows(t.Readings)
	return d
}

// ReadingDelivery turns readings, as a reader of deliveries found them, into a
// delivery.
func ReadingDelivery(all []exchange.Reading, source string) Delivery {
	return Delivery{Source: source, Readings: readingRows(all)}
}

func readingRows(all []exchange.Reading) []ReadingRow {
	rows := make([]ReadingRow, len(all))
	for i := range all {
		x := &all[i]
		rows[i] = ReadingRow{Place: Place{"reading", i}, Vehicle: x.Vehicle, VIN: x.VIN, Registration: x.Registration, Meter: x.Meter,
			At: x.At.Time(), Metres: int64(float64(x.Distance) + 0.5), Unit: x.GivenIn}
	}
	return rows
}

func typeOf(x *exchange.PartType) record.TypeAdded {
	t := record.TypeAdded{Name: x.Name, Part: x.Part, Maker: x.Maker, Marking: x.Marking, Class: x.Class,
		Ratings:     record.Ratings{D: wholeOf(x.D, 1), Imposed: wholeOf(x.Imposed, 1), Pin: wholeOf(x.Pin, 0.001)},
		Lubrication: x.Lubrication, Source: source(x.Copied), Note: x.Note}
	for _, d := range x.Dimensions {
		t.Dimensions = append(t.Dimensions, record.Dimension{Name: d.Name, What: d.What, New: d.New, Limit: d.Limit, Sense: d.Sense, Reached: d.Reached, Source: source(d.Copied)})
	}
	for _, i := range x.Intervals {
		t.Intervals = append(t.Intervals, record.Interval{Task: i.Task, Metres: wholeOf(i.Distance, 1), Months: i.Months, Days: i.Days, Once: i.Once, Note: i.Note, Source: source(i.Copied)})
	}
	for _, q := range x.Torques {
		t.Torques = append(t.Torques, record.Torque{Where: q.Where, Thread: q.Thread, Grade: q.Grade, Least: q.Least, Most: q.Most, Note: q.Note, Source: source(q.Copied)})
	}
	return t
}

func source(c exchange.Copied) record.Source {
	return record.Source{Document: c.Document, Edition: c.Edition, Page: c.Page}
}

// keepDocuments keeps the documents that a type's sources name, where a table that
// cannot hold them says otherwise the same.
func keepDocuments(d, was *record.TypeAdded) {
	keep := func(s *record.Source, before record.Source) {
		if before.Blob != nil && s.Document == before.Document && s.Edition == before.Edition {
			s.Blob = cmp.Or(s.Blob, before.Blob)
		}
	}
	keep(&d.Source, was.Source)
	for i := range d.Dimensions {
		for _, b := range was.Dimensions {
			if b.Name == d.Dimensions[i].Name {
				keep(&d.Dimensions[i].Source, b.Source)
			}
		}
	}
	for i := range d.Intervals {
		for _, b := range was.Intervals {
			if b.Task == d.Intervals[i].Task {
				keep(&d.Intervals[i].Source, b.Source)
			}
		}
	}
	for i := range d.Torques {
		for _, b := range was.Torques {
			if b.Where == d.Torques[i].Where {
				keep(&d.Torques[i].Source, b.Source)
			}
		}
	}
}

// columns are the names that the tables have for what the records call otherwise.
var columns = strings.NewReplacer("d_n", "d-value", "imposed_kg", "imposed", "pin_mm", "pin", "distance_m", "distance", "dimensions[", "dimension[",
	"intervals[", "interval[", "torques[", "torque[", "source.", "", "_", "-")

// Path is the path of the field in the tables that a problem of a row is about:
// part[3].serial.
func (t *Tables) Path(p RowProblem) string {
	sheet, row, where := p.Place.Sheet, p.Place.Row, p.Where
	switch sheet {
	case "tractor", "semi-trailer", "dolly":
		if where == "registration" || where == "vin" || where == "depot" {
			var id string
			switch sheet {
			case "tractor":
				id = t.Tractors[row].ID
			case "semi-trailer":
				id = t.Trailers[row].ID
			default:
				id = t.Dollies[row].ID
			}
			if i := slices.IndexFunc(t.Papers, func(x exchange.Papers) bool { return folded(x.Vehicle) == folded(id) }); i >= 0 {
				sheet, row = "papers", i
			}
		}
	case "papers":
		if where == "id" {
			where = "vehicle"
		}
	case "part":
		switch first, _, _ := strings.Cut(where, "."); first {
		case "on":
			where = "vehicle"
		case "happened":
			where = "fitted"
		case "reading":
			where = "fitted-at"
		}
		where = columns.Replace(where)
	case "part-type", "depot":
		where = columns.Replace(where)
	case "reading":
	case LoadsSet:
		return "load"
	default: // the head of the file
		return where
	}
	path := fmt.Sprintf("%s[%d]", sheet, row)
	if where != "" {
		path += "." + where
	}
	return path
}

// resolve gives the rows that name a vehicle by VIN or registration the asset that
// has it, and tells what is wrong with the others.
func (r *Register) resolve(ctx context.Context, rows []ReadingRow, coming []VehicleRow) ([]ReadingRow, []RowProblem, error) {
	type mark struct{ where, text string }
	known := map[mark]string{}
	for i := range coming {
		number := textOf(coming[i].Fields["id"])
		for _, m := range []mark{{"vin", coming[i].VIN}, {"registration", coming[i].Registration}} {
			if m.text != "" {
				known[mark{m.where, plain(m.text)}] = number
			}
		}
	}
	var wrong []RowProblem
	good := rows[:0:0]
	for i := range rows {
		row := rows[i]
		if row.Vehicle != "" || row.VIN+row.Registration == "" {
			good = append(good, row)
			continue
		}
		m := mark{"vin", plain(row.VIN)}
		if row.VIN == "" {
			m = mark{"registration", plain(row.Registration)}
		}
		name, asked := known[m]
		if !asked {
			a, err := r.byMark(ctx, m.where, m.text)
			if err != nil {
				return nil, nil, err
			}
			name = a
			known[m] = name
		}
		if name == "" {
			wrong = append(wrong, RowProblem{row.Place, Problem{m.where, show(encoded(cmp.Or(row.VIN, row.Registration))), "that of one vehicle in use"}})
			continue
		}
		row.Vehicle = name
		good = append(good, row)
	}
	return good, wrong, nil
}

// plain is a mark without what people write differently.
func plain(mark string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(mark, func(c rune) bool { return c == ' ' || c == '-' || c == '.' }), ""))
}

// byMark finds the one vehicle in use with a VIN or a registration; nothing for none
// and for several.
func (r *Register) byMark(ctx context.Context, where, text string) (string, error) {
	found, err := r.store.Find(ctx, store.FindQuery{Text: text, Kinds: []string{record.VehicleAsset}, Limit: 50})
	if err != nil {
		return "", err
	}
	one := ""
	for i := range found {
		if found[i].Status != record.StatusActive {
			continue
		}
		e, err := r.entity(ctx, found[i].Asset)
		if err != nil {
			return "", err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return "", err
		}
		has := v.VIN
		if where == "registration" {
			has = v.Registration
		}
		switch {
		case plain(has) != text:
		case one != "":
			return "", nil
		default:
			one = string(found[i].Asset)
		}
	}
	return one, nil
}
