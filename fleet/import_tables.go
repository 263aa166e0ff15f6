package fleet

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/record"
)

// wholeOf rounds a quantity to a whole number of a unit; nil is unknown.
func wholeOf[T ~float64](v *T, each float64) *int64 {
	if v == nil {
		return nil
	}
	n := int64(math.Round(float64(*v) / each))
	return &n
}

// Delivery turns tables into a delivery. The place of a row is its number in its
// table, from 1; Path says which field a problem is about.
func (t *Tables) Delivery(source string) Delivery {
	d := FleetDelivery(&t.Fleet, source)
	for i := range t.Dollies {
		d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"dolly", i + 1}, Vehicle: record.Dolly, Fields: fieldsOf(reflect.ValueOf(&t.Dollies[i]).Elem())})
	}
	at := map[string]int{}
	for i := range d.Vehicles {
		at[folded(textOf(d.Vehicles[i].Fields["id"]))] = i
	}
	for i, p := range t.Papers {
		k, there := at[folded(p.Vehicle)]
		if !there { // of a vehicle that the register has
			k = len(d.Vehicles)
			d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"papers", i + 1}, Fields: record.Fields{"id": Text(p.Vehicle)}})
		}
		v := &d.Vehicles[k]
		v.Registration, v.VIN, v.Depot, v.Papers = p.Registration, p.VIN, p.Depot, i+1
	}
	for i, x := range t.Depots {
		d.Depots = append(d.Depots, DepotRow{Place{"depot", i + 1}, record.DepotAdded{Name: x.Name, Address: x.Address, TimeZone: x.TimeZone, Note: x.Note}})
	}
	for i := range t.Types {
		d.Types = append(d.Types, TypeRow{Place{"part-type", i + 1}, typeOf(&t.Types[i])})
	}
	for i := range t.Parts {
		x := &t.Parts[i]
		row := PartRow{Place: Place{"part", i + 1}, ID: record.Asset(x.ID), Part: x.Part, Serial: x.Serial, Marking: x.Marking, Class: x.Class, Type: x.Type,
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
		rows[i] = ReadingRow{Place: Place{"reading", i + 1}, Vehicle: x.Vehicle, VIN: x.VIN, Registration: x.Registration, Meter: x.Meter,
			At: x.At.Time(), Metres: int64(math.Round(float64(x.Distance))), Unit: x.GivenIn}
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

// columns are the names of fields in the tables, where they are others.
var columns = map[string]map[string]string{
	"part":      {"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin", "read_from": "read-from", "on": "vehicle", "reading.metres": "fitted-at", "reading.meter": "meter", "reading": "fitted-at", "happened": "fitted"},
	"part-type": {"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin", "source.document": "document", "source.edition": "edition", "the ratings": "d-value"},
	"depot":     {"time_zone": "time-zone"},
	"reading":   {"unit": "given-in"},
	"papers":    {"id": "vehicle"},
}

// Path is the path in the tables of the field that a problem of their delivery is
// about, for [exchange.Places]: part[3].serial.
func (t *Tables) Path(p RowProblem) string {
	switch p.Place.Sheet {
	case LoadsSet:
		return "load"
	case SettingsSet: // the head of the file
		return p.Where
	}
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
			where = table + strings.NewReplacer(".source.", ".", "distance_m", "distance").Replace(rest)
		}
	}
	return path + "." + where
}
