package fleet

import (
	"context"
	"fmt"
	"slices"
	"strings"

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
