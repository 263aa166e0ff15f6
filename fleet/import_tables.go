package fleet

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/record"
	"underpin/store"
	"underpin/unit"
)

// TablesDelivery turns the tables of a register, as read from a workbook, CSV, JSON or
// TOML, into a delivery. The place of a row is its number in its table, from 1;
// Column says which column of the table a problem is about.
func (r *Register) TablesDelivery(ctx context.Context, t *exchange.Register, source string) (Delivery, error) {
	if _, err := r.actor(ctx, Import); err != nil {
		return Delivery{}, err
	}
	d := FleetDelivery(&t.Fleet, source)
	rows := map[string]int{}
	for i := range d.Vehicles {
		rows[folded(textOf(d.Vehicles[i].Fields["id"]))] = i
	}
	for i, p := range t.Papers {
		k, have := rows[folded(p.Vehicle)]
		if !have { // a vehicle of which the delivery has the papers alone
			k = len(d.Vehicles)
			d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"papers", i + 1}, Fields: record.Fields{"id": encoded(p.Vehicle)}})
		}
		v := &d.Vehicles[k]
		v.Registration, v.VIN, v.Depot = p.Registration, p.VIN, p.Depot
	}
	for i, x := range t.Depots {
		d.Depots = append(d.Depots, DepotRow{Place{"depot", i + 1}, record.DepotAdded{Name: x.Name, Address: x.Address, TimeZone: x.TimeZone, Note: x.Note}})
	}
	for i := range t.Types {
		d.Types = append(d.Types, TypeRow{Place{"part-type", i + 1}, typeOfTable(&t.Types[i])})
	}
	for i := range t.Parts {
		x := &t.Parts[i]
		row := PartRow{Place: Place{"part", i + 1}, Part: x.Part, Serial: x.Serial, Marking: x.Marking, Class: x.Class, Type: x.Type, Ratings: ratings(x.D, x.Imposed, x.Pin),
			ReadFrom: x.ReadFrom, Made: x.Made, Note: x.Note, Depot: x.Depot, On: x.Vehicle, Where: x.Place}
		if x.Fitted != nil {
			row.Since = record.At(x.Fitted.AsTime(time.Local))
		}
		if x.FittedAt != nil {
			row.Reading = record.MeterReading{Meter: x.Meter, Metres: wholeOf(float64(*x.FittedAt))}
		}
		d.Parts = append(d.Parts, row)
	}
	names := &vehicleNames{r: r, ctx: ctx, known: map[string]string{}}
	for i := range t.Readings {
		x := &t.Readings[i]
		row := ReadingRow{Place: Place{"reading", i + 1}, Vehicle: x.Vehicle, Meter: x.Meter, At: x.At.Time(), Metres: int64(math.Round(float64(x.Distance))), Unit: x.GivenIn}
		if row.Vehicle == "" {
			var err error
			if row.Vehicle, err = names.find(x.VIN, x.Registration); err != nil {
				return Delivery{}, err
			}
		}
		d.Readings = append(d.Readings, row)
	}
	return d, nil
}

// columns are the names of fields in the tables, where they are others.
var columns = map[string]map[string]string{
	"part":      {"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin", "read_from": "read-from", "on": "vehicle", "reading.metres": "fitted-at", "reading.meter": "meter"},
	"part-type": {"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin", "source.document": "document", "source.edition": "edition", "the ratings": "d-value"},
	"depot":     {"time_zone": "time-zone"},
	"reading":   {"unit": "given-in"},
}

// Column is the path of a problem in the tables of a delivery, for
// [exchange.Places]: part[3].serial.
func (p RowProblem) Column() string {
	path := fmt.Sprintf("%s[%d]", p.Place.Sheet, p.Place.Row-1)
	if name, other := columns[p.Place.Sheet][p.Where]; other {
		return path + "." + name
	}
	if p.Where == "" {
		return path
	}
	where := p.Where
	for list, table := range map[string]string{"dimensions[": "dimension[", "intervals[": "interval[", "torques[": "torque["} {
		if rest, is := strings.CutPrefix(where, list); is && p.Place.Sheet == "part-type" {
			where = table + strings.Replace(rest, ".source.", ".", 1)
		}
	}
	return path + "." + where
}

func wholeOf(v float64) *int64 {
	n := int64(math.Round(v))
	return &n
}

func ratings(d *unit.Force, imposed *unit.Mass, pin *unit.Length) record.Ratings {
	var r record.Ratings
	if d != nil {
		r.D = wholeOf(float64(*d))
	}
	if imposed != nil {
		r.Imposed = wholeOf(float64(*imposed))
	}
	if pin != nil {
		r.Pin = wholeOf(float64(*pin) * 1e3)
	}
	return r
}

func typeOfTable(x *exchange.PartType) record.TypeAdded {
	copied := func(c exchange.Copied) record.Source {
		return record.Source{Document: c.Document, Edition: c.Edition, Page: c.Page}
	}
	t := record.TypeAdded{Part: x.Part, Name: x.Name, Maker: x.Maker, Marking: x.Marking, Class: x.Class, Ratings: ratings(x.D, x.Imposed, x.Pin),
		Lubrication: x.Lubrication, Source: copied(x.Copied), Note: x.Note}
	for _, d := range x.Dimensions {
		t.Dimensions = append(t.Dimensions, record.Dimension{Name: d.Name, What: d.What, New: d.New, Limit: d.Limit, Sense: d.Sense, Reached: d.Reached, Source: copied(d.Copied)})
	}
	for _, n := range x.Intervals {
		i := record.Interval{Task: n.Task, Months: n.Months, Days: n.Days, Once: n.Once, Note: n.Note, Source: copied(n.Copied)}
		if n.Distance != nil {
			i.Metres = wholeOf(float64(*n.Distance))
		}
		t.Intervals = append(t.Intervals, i)
	}
	for _, q := range x.Torques {
		t.Torques = append(t.Torques, record.Torque{Where: q.Where, Thread: q.Thread, Grade: q.Grade, Least: q.Least, Most: q.Most, Note: q.Note, Source: copied(q.Copied)})
	}
	return t
}

// vehicleNames finds vehicles by what feeds call them.
type vehicleNames struct {
	r     *Register
	ctx   context.Context
	known map[string]string
}

// find returns the asset of the one vehicle in use with a VIN or registration; else
// the name itself, which the row is then told to be wrong with.
func (n *vehicleNames) find(vin, registration string) (string, error) {
	name, is := vin, func(v *record.Vehicle) bool { return plain(v.VIN) == plain(vin) }
	if vin == "" {
		name, is = registration, func(v *record.Vehicle) bool { return plain(v.Registration) == plain(registration) }
	}
	if found, have := n.known[name]; have {
		return found, nil
	}
	n.known[name] = name
	rows, err := n.r.store.Find(n.ctx, store.FindQuery{Text: name, Kinds: []string{record.VehicleAsset}, Limit: 20})
	if err != nil {
		return "", err
	}
	var found []record.Asset
	for i := range rows {
		e, err := n.r.entity(n.ctx, rows[i].Asset)
		if err != nil {
			return "", err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return "", err
		}
		if v.Added != 0 && v.Scrapped == 0 && is(v) {
			found = append(found, v.Asset)
		}
	}
	if len(found) == 1 {
		n.known[name] = string(found[0])
	}
	return n.known[name], nil
}

// plain is a mark without what people put between its letters.
func plain(mark string) string {
	return strings.Map(func(c rune) rune {
		if c == ' ' || c == '-' {
			return -1
		}
		return c
	}, strings.ToUpper(mark))
}
