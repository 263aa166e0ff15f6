package fleet

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"underpin/record"
	"underpin/store"
	"underpin/unit"
	"underpin/wear"
)

// A ReadingRow is one reading of a delivery, as a reader of workbook, CSV or JSON
// found it.
type ReadingRow struct {
	Place   Place
	Vehicle string // fleet number, or the asset itself
	Meter   string // odometer, hub or brake; left out: odometer of a tractor, hub of others
	At      record.Time
	Metres  int64
	Unit    string // in which it was given: m, km or mi
	// VIN and Registration name the vehicle where its number is not given.
	VIN, Registration string
}

// Readings is one delivery of readings.
type Readings struct {
	ID     record.ID // sending twice is the same as sending once; left out: made here
	Source string    // file or feed
	Rows   []ReadingRow
	// OnlyGood enters the rows that are right although others are wrong.
	OnlyGood bool
	// DryRun enters nothing and tells what would come of it.
	DryRun bool
}

// A Question is a reading that seems wrong. It is entered as it came; a person
// decides with JudgeReading.
type Question struct {
	Vehicle  record.Asset
	Number   string
	Meter    string
	At       record.Time
	Metres   int64
	Why      string
	Proposed *int64 // metres that it would be after a simple repair; nil: none explains it
}

// A ReadingsReport says what came of a delivery.
type ReadingsReport struct {
	Entered   int // new readings
	Repeated  int // that were there already
	Wrong     []RowProblem
	Questions []Question
}

// A Place says where in a file a row stands.
type Place struct {
	Sheet string `json:"sheet,omitempty"`
	Row   int    `json:"row"` // as the file counts
}

func (p Place) String() string {
	if p.Sheet == "" {
		return fmt.Sprintf("row %d", p.Row)
	}
	return fmt.Sprintf("%s, row %d", p.Sheet, p.Row)
}

// A RowProblem says what is wrong with one field of one row.
type RowProblem struct {
	Place Place `json:"place"`
	Problem
}

func (p RowProblem) Error() string { return p.Place.String() + ": " + p.Problem.String() }

// mostMetres is the largest reading that is believed to be one: ten million
// kilometres, as in records.
const mostMetres = 10_000_000_000

// EnterReadings enters a delivery of readings. A row that cannot be a reading is
// wrong, and then nothing is entered unless OnlyGood says so. A reading that can
// be one but seems not right is entered as it came, and questioned.
func (r *Register) EnterReadings(ctx context.Context, in Readings) (*ReadingsReport, error) {
	actor, err := r.actor(ctx, Report)
	if err != nil {
		return nil, err
	}
	return r.enterReadings(ctx, actor, in)
}

func (r *Register) enterReadings(ctx context.Context, actor *Actor, in Readings) (*ReadingsReport, error) {
	now := r.now()
	report := &ReadingsReport{}
	var err error
	if in.Rows, report.Wrong, err = r.resolve(ctx, in.Rows, nil); err != nil {
		return nil, err
	}
	vehicles, owners, err := r.meteredRows(ctx, in.Rows)
	if err != nil {
		return nil, err
	}
	all := make([]store.Reading, 0, len(in.Rows))
	delivered := map[store.Meter]*series{}
	for i := range in.Rows {
		row := &in.Rows[i]
		v := vehicles[owners[i]]
		meter := row.Meter
		if meter == "" && v != nil {
			meter = v.usual()
		}
		if p := row.check(v, meter, now); p != nil {
			report.Wrong = append(report.Wrong, RowProblem{row.Place, *p})
			continue
		}
		m := store.Meter{Asset: v.Asset, Name: meter}
		reading := record.Reading{At: row.At, Metres: row.Metres}
		of := delivered[m]
		if of == nil {
			of = &series{meter: m, of: v.Vehicle}
			delivered[m] = of
		}
		of.fresh = append(of.fresh, reading)
		all = append(all, store.Reading{Meter: m, Reading: reading, Unit: cmp.Or(row.Unit, "m")})
	}
	if report.Questions, err = r.questionAll(ctx, delivered); err != nil {
		return nil, err
	}
	if in.DryRun || len(all) == 0 || len(report.Wrong) > 0 && !in.OnlyGood {
		return report, nil
	}
	if in.ID == "" {
		if in.ID, err = r.newID(); err != nil {
			return nil, err
		}
	}
	report.Entered, err = r.store.AddReadings(ctx, store.Import{ID: in.ID, Entered: now, Who: actor.Who, Source: in.Source}, all)
	report.Repeated = len(all) - report.Entered
	if err != nil {
		return nil, fromRecord("", err)
	}
	return report, nil
}

// A series is what a delivery has of one meter.
type series struct {
	meter store.Meter
	of    *record.Vehicle
	fresh []record.Reading
}

// questionAll questions the readings of each meter, in the order of the meters.
func (r *Register) questionAll(ctx context.Context, delivered map[store.Meter]*series) ([]Question, error) {
	meters := slices.SortedFunc(maps.Keys(delivered), func(a, b store.Meter) int {
		return cmp.Or(cmp.Compare(a.Asset, b.Asset), cmp.Compare(a.Name, b.Name))
	})
	asked := make([][]Question, len(meters))
	err := together(len(meters), func(i int) (err error) {
		asked[i], err = r.question(ctx, delivered[meters[i]])
		return err
	})
	return slices.Concat(asked...), err
}

// together does n pieces of work on all cores, and returns the first error.
func together(n int, work func(i int) error) error {
	var next atomic.Int64
	var group sync.WaitGroup
	failed := make([]error, min(n, runtime.GOMAXPROCS(0)))
	for w := range failed {
		group.Go(func() {
			for failed[w] == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				failed[w] = work(i)
			}
			next.Store(int64(n)) // the others need not go on
		})
	}
	group.Wait()
	return cmp.Or(failed...)
}

// A metered is a vehicle of a delivery.
type metered struct{ *record.Vehicle }

// usual is the meter that is meant where none is named.
func (v *metered) usual() string {
	if v.VehicleAdded.Vehicle == record.Tractor {
		return record.Odometer
	}
	return record.HubMeter
}

// meteredRows finds the vehicles that rows name, and which of them each row means.
func (r *Register) meteredRows(ctx context.Context, rows []ReadingRow) (vehicles []*metered, owners []int, err error) {
	owners = make([]int, len(rows))
	number := map[string]int{}
	var names []string
	for i := range rows {
		name := rows[i].Vehicle
		n, have := number[name]
		if !have {
			n = len(names)
			number[name], names = n, append(names, name)
		}
		owners[i] = n
	}
	vehicles = make([]*metered, len(names))
	err = together(len(names), func(i int) (err error) {
		vehicles[i], err = r.metered(ctx, names[i])
		return err
	})
	return vehicles, owners, err
}

// metered finds a vehicle by number or asset; nil for none.
func (r *Register) metered(ctx context.Context, name string) (*metered, error) {
	a := record.Asset(name)
	if a.Kind() != record.VehicleAsset || !a.Valid() {
		var err error
		if a, err = r.byNumber(ctx, name); err != nil {
			if missing(err) {
				return nil, nil
			}
			return nil, err
		}
	}
	e, err := r.entity(ctx, a)
	if missing(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil || v.Added == 0 {
		return nil, err
	}
	return &metered{v}, nil
}

// check tells what in a row cannot be a reading, or nil.
func (row *ReadingRow) check(v *metered, meter string, now record.Time) *Problem {
	switch {
	case v == nil:
		return &Problem{"vehicle", show(encoded(row.Vehicle)), "the fleet number of a vehicle in the register"}
	case !row.At.Valid():
		return &Problem{"at", "no instant", "when it was read"}
	case row.At > now+record.Ahead:
		return &Problem{"at", row.At.String() + ", which is still to come", "an instant that has been"}
	case row.Metres < 0 || row.Metres > mostMetres:
		return &Problem{"distance", km(row.Metres), "0 km to " + km(mostMetres)}
	case row.Unit != "" && row.Unit != "m" && row.Unit != "km" && row.Unit != "mi":
		return &Problem{"unit", show(encoded(row.Unit)), "m, km or mi"}
	}
	if err := checkMeterName(v.VehicleAdded.Vehicle, v.Number(), "meter", meter); err != nil {
		return &err.(*Invalid).Problems[0]
	}
	return nil
}

// window is how many earlier readings of a meter a delivery is held against.
const window = 60

// question finds which readings of a delivery seem wrong beside those before.
func (r *Register) question(ctx context.Context, s *series) ([]Question, error) {
	m, fresh := s.meter, s.fresh
	oldest := fresh[0].At
	for _, f := range fresh {
		oldest = min(oldest, f.At)
	}
	var before []record.Reading
	for _, back := range []record.Time{near / 4, near} { // most vehicles are read often enough that the shorter will do
		var err error
		if before, err = r.store.ReadingsOf(ctx, m, oldest-back, r.now()+record.Ahead); err != nil {
			return nil, err
		}
		if len(before) >= window/4 {
			break
		}
	}
	if n := len(before); n > window {
		before = before[n-window:]
	}
	all := slices.Concat(before, fresh)
	var list []Question
	for _, q := range questions(s.of, m.Name, all) {
		if slices.Contains(fresh, record.Reading{At: q.At, Metres: q.Metres}) {
			list = append(list, q)
		}
	}
	return list, nil
}

// lineOf puts the readings of one meter in order, as far as they are one line:
// from the last time it was replaced on, each reading once, as people judged it.
// Kept tells which of them somebody said are right.
func lineOf(v *record.Vehicle, meter string, all []record.Reading) (line, asCame []record.Reading, kept []bool) {
	decided := map[record.Reading]*record.Judgement{}
	for i := range v.Judged {
		if j := &v.Judged[i]; j.Meter == meter {
			decided[record.Reading{At: j.At, Metres: j.ReadingJudged.Metres}] = j
		}
	}
	from := record.Time(math.MinInt64)
	for _, c := range v.Meters {
		if c.Meter == meter {
			from = max(from, c.At)
		}
	}
	sorted := slices.Clone(all)
	slices.SortFunc(sorted, func(a, b record.Reading) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Metres, b.Metres)) })
	for _, r := range slices.Compact(sorted) {
		if r.At < from {
			continue
		}
		j := decided[r]
		if j != nil && j.Decision == record.LeaveReading {
			continue
		}
		asCame = append(asCame, r)
		if j != nil && j.Decision == record.ReadAs {
			r.Metres = *j.ReadAs
		}
		line = append(line, r)
		kept = append(kept, j != nil)
	}
	return line, asCame, kept
}

// odometer writes readings as wear takes them.
func odometer(line []record.Reading) []wear.Odometer {
	all := make([]wear.Odometer, len(line))
	for i, r := range line {
		all[i] = wear.Odometer{Day: wear.Days(float64(r.At-line[0].At) / float64(24*hour)), Distance: unit.Length(r.Metres)}
	}
	return all
}

// questions finds the readings of one meter that seem wrong and that nobody has
// judged: too far from the line through all of them, or a step that no vehicle
// makes.
func questions(v *record.Vehicle, meter string, all []record.Reading) []Question {
	line, asCame, kept := lineOf(v, meter, all)
	var list []Question
	asked := map[int]bool{}
	ask := func(i int, why string, proposed *int64) {
		if asked[i] || kept[i] {
			return
		}
		asked[i] = true
		list = append(list, Question{v.Asset, v.Number(), meter, asCame[i].At, asCame[i].Metres, why, proposed})
	}
	if len(line) >= 2 {
		if _, suspects, err := wear.CheckOdometer(odometer(line)); err == nil { // no line without two days
			for _, s := range suspects {
				var proposed *int64
				why := fmt.Sprintf("%.0f km off the line through the readings", float64(s.Residual)/1000)
				if s.Repair != wear.NoRepair {
					m := int64(math.Round(float64(s.Proposed)))
					proposed = &m
					why += ": " + s.Repair.String() + ", perhaps"
				}
				ask(s.Index, why, proposed)
			}
		}
	}
	for _, d := range record.NewCourse(meter, all, v.Meters, v.Judged).Doubts {
		from, to := slices.Index(line, d.From), slices.Index(line, d.To)
		if to >= 0 && !asked[from] { // the way back from a reading that is asked about is no second question
			ask(to, d.Why, nil)
		}
	}
	slices.SortStableFunc(list, func(a, b Question) int { return cmp.Compare(a.At, b.At) })
	return list
}
