package fleet

import (
	"cmp"
	"context"
	"slices"

	"underpin/record"
	"underpin/store"
	"underpin/wear"
)

// A Pace is how far a vehicle runs a day now.
type Pace struct {
	wear.Pace
	Meter string // by which it is known
}

// travels is what is known of where a vehicle went and how far.
type travels struct {
	title     string
	vehicle   *record.Vehicle
	traveller record.Traveller
	all       []record.Period // towed and towing, newest first
	readings  map[string][]record.Reading
	asked     map[string][]Question // what seems wrong of them, by meter
	failed    error                 // of the store, while the travels of another vehicle were asked for
}

// between is how far the vehicle ran.
func (t *travels) between(from, to record.Time) (record.Mileage, error) {
	m := t.traveller.Between(from, to)
	return m, t.failed
}

var meters = []string{record.Odometer, record.HubMeter, record.Brake}

// travelsOf gathers the travels of a vehicle by name; one of which no record
// speaks has none.
func (r *Register) travelsOf(ctx context.Context, a record.Asset) (*travels, error) {
	e, err := r.entity(ctx, a)
	if missing(err) {
		return &travels{title: string(a), vehicle: &record.Vehicle{Asset: a}}, nil
	}
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, err
	}
	return r.travels(ctx, e, v)
}

// travels gathers all readings of a vehicle, those of the bulk table and those
// that stand in records, and its coupled periods.
func (r *Register) travels(ctx context.Context, e *record.Entity, v *record.Vehicle) (*travels, error) {
	b, err := e.Brief()
	if err != nil {
		return nil, err
	}
	t := &travels{title: b.Title, vehicle: v, readings: map[string][]record.Reading{}}
	if t.all, err = r.periods(ctx, v.Asset); err != nil {
		return nil, err
	}
	own, err := r.courses(ctx, v, t.all, t.readings)
	if err != nil {
		return nil, err
	}
	var towed []record.Period
	for _, p := range t.all {
		if p.Towed == v.Asset {
			towed = append(towed, p)
		}
	}
	towing := map[record.Asset]*record.Course{}
	t.traveller = record.Traveller{Own: own, Periods: towed, Towed: v.VehicleAdded.Vehicle != record.Tractor, Towing: func(by record.Asset) *record.Course {
		c, have := towing[by]
		if !have {
			var err error
			if c, err = r.towing(ctx, by); err != nil {
				t.failed = err
			}
			towing[by] = c
		}
		return c
	}}
	t.asked = map[string][]Question{}
	for _, meter := range meters {
		t.asked[meter] = questions(v, meter, t.readings[meter])
	}
	return t, nil
}

// periods are all coupled periods of a vehicle, towed or towing, newest first.
func (r *Register) periods(ctx context.Context, a record.Asset) ([]record.Period, error) {
	var all []record.Period
	seen := map[record.ID]bool{}
	q := store.BesideQuery{Asset: a, Kind: record.PeriodEntity, Limit: batchRows}
	for {
		rows, err := r.store.Beside(ctx, q)
		if err != nil {
			return nil, err
		}
		for i := range rows {
			e, err := rows[i].Entity()
			if err != nil {
				return nil, err
			}
			p, err := e.Period(record.Latest)
			if err != nil {
				return nil, err
			}
			if p.From != 0 && !seen[p.ID] {
				seen[p.ID] = true
				all = append(all, *p)
			}
		}
		if len(rows) < q.Limit {
			return all, nil
		}
		next := rows[len(rows)-1].At + 1 // those of the same instant once more, and not lost
		if next == q.Until {
			q.Limit *= 2
		}
		q.Until = next
	}
}

// courses draws the course of each meter of a vehicle, and notes the readings.
func (r *Register) courses(ctx context.Context, v *record.Vehicle, periods []record.Period, into map[string][]record.Reading) (map[string]*record.Course, error) {
	courses := map[string]*record.Course{}
	add := func(at record.Time, m record.MeterReading) {
		if m.Metres != nil && at != 0 {
			into[m.Meter] = append(into[m.Meter], record.Reading{At: at, Metres: *m.Metres})
		}
	}
	for _, f := range v.Fittings {
		add(f.From, f.FromReading)
		add(f.To, f.ToReading)
	}
	for _, p := range periods {
		if p.Towed == v.Asset {
			add(p.From, p.FromOwn)
			add(p.To, p.ToOwn)
		}
		if p.By == v.Asset {
			add(p.From, p.FromBy)
			add(p.To, p.ToBy)
		}
	}
	for _, meter := range meters {
		bulk, err := r.store.ReadingsOf(ctx, meterOf(v.Asset, meter), 1-record.Latest, record.Latest)
		if err != nil {
			return nil, err
		}
		into[meter] = append(into[meter], bulk...)
		if len(into[meter]) > 0 {
			courses[meter] = record.NewCourse(meter, into[meter], v.Meters, v.Judged)
		}
	}
	return courses, nil
}

// towing is the course of the odometer of a vehicle that tows, or nil where it is
// not known. A dolly tows as well, and has none of its own.
func (r *Register) towing(ctx context.Context, a record.Asset) (*record.Course, error) {
	e, err := r.entity(ctx, a)
	if missing(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, err
	}
	periods, err := r.periods(ctx, a)
	if err != nil {
		return nil, err
	}
	courses, err := r.courses(ctx, v, periods, map[string][]record.Reading{})
	if c := courses[record.Odometer]; c != nil || err != nil {
		return c, err
	}
	return courses[record.HubMeter], nil
}

// begin is the first instant of which anything is known.
func (t *travels) begin(v *record.Vehicle) (record.Time, bool) {
	first := v.Added
	earlier := func(at record.Time) {
		if at != 0 && (first == 0 || at < first) {
			first = at
		}
	}
	for _, c := range t.traveller.Own {
		if from, _, ok := c.Span(); ok {
			earlier(from)
		}
	}
	for _, p := range t.traveller.Periods {
		earlier(p.From)
	}
	return first, first != 0
}

// pace is how far the vehicle runs a day now, by its own meter, or nil.
func (t *travels) pace(now record.Time) *Pace {
	for _, meter := range meters {
		line, asCame, _ := lineOf(t.vehicle, meter, t.readings[meter])
		doubtful := map[record.Reading]bool{}
		for _, q := range t.asked[meter] {
			doubtful[record.Reading{At: q.At, Metres: q.Metres}] = true
		}
		var good []record.Reading
		for i, r := range line {
			if !doubtful[asCame[i]] {
				good = append(good, r)
			}
		}
		if len(good) < 2 {
			continue
		}
		if p, err := wear.CurrentPace(odometer(good)); err == nil {
			return &Pace{p, meter}
		}
	}
	return nil
}

func (t *travels) questions() []Question {
	var list []Question
	for _, meter := range meters {
		list = append(list, t.asked[meter]...)
	}
	return list
}

// Mileage is how far a vehicle ran between two instants; gaps are told as gaps.
func (r *Register) Mileage(ctx context.Context, vehicle record.Asset, from, to record.Time) (*record.Mileage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, vehicle, record.VehicleAsset)
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, err
	}
	t, err := r.travels(ctx, e, v)
	if err != nil {
		return nil, err
	}
	m, err := t.between(from, to)
	return &m, err
}

// distinct leaves each period once.
func distinct(periods []record.Period) []record.Period {
	seen := map[record.ID]bool{}
	return slices.DeleteFunc(slices.Clone(periods), func(p record.Period) bool {
		again := seen[p.ID]
		seen[p.ID] = true
		return again
	})
}

func sortSittings(fitted, gone []Sitting) {
	slices.SortStableFunc(fitted, func(a, b Sitting) int { return cmp.Compare(a.Place, b.Place) })
	slices.SortStableFunc(gone, func(a, b Sitting) int { return cmp.Compare(b.From, a.From) })
}
