package fleet

import (
	"slices"
	"strings"
	"testing"
	"time"

	"underpin/record"
)

const dayLong = 24 * time.Hour

// daily are readings of one a day, so many kilometres apart, the last today.
func (y *yard) daily(number string, days int, from, perDay int64) []ReadingRow {
	var rows []ReadingRow
	for i := range days {
		rows = append(rows, ReadingRow{Place: Place{Row: i + 2}, Vehicle: number, At: y.at(time.Duration(days-1-i) * dayLong), Metres: (from + int64(i)*perDay) * 1000, Unit: "km"})
	}
	return rows
}

func (y *yard) enter(in Readings) *ReadingsReport {
	y.Helper()
	r, err := y.EnterReadings(y.ctx, in)
	if err != nil {
		y.Fatal(err)
	}
	return r
}

func TestReadingsWrongRows(t *testing.T) {
	y := newYard(t)
	y.tractor("heron-07")
	y.trailer("teal-23")
	good := ReadingRow{Place: Place{"km", 2}, Vehicle: "heron-07", At: y.at(time.Hour), Metres: 5000, Unit: "km"}
	tests := []struct {
		row   ReadingRow
		where string
	}{
		{ReadingRow{Vehicle: "heron-99", At: y.at(0), Metres: 1}, "vehicle"},
		{ReadingRow{Vehicle: "heron-07", Metres: 1}, "at"},
		{ReadingRow{Vehicle: "heron-07", At: y.at(-time.Hour), Metres: 1}, "at"},
		{ReadingRow{Vehicle: "heron-07", At: y.at(0), Metres: -1}, "distance"},
		{ReadingRow{Vehicle: "heron-07", At: y.at(0), Metres: 10_000_000_001}, "distance"},
		{ReadingRow{Vehicle: "heron-07", At: y.at(0), Metres: 1, Unit: "miles"}, "unit"},
		{ReadingRow{Vehicle: "heron-07", At: y.at(0), Metres: 1, Meter: "brake"}, "meter"},
		{ReadingRow{Vehicle: "teal-23", At: y.at(0), Metres: 1, Meter: "odometer"}, "meter"},
	}
	for _, test := range tests {
		bad := test.row
		bad.Place = Place{"km", 3}
		r := y.enter(Readings{Rows: []ReadingRow{good, bad}})
		if len(r.Wrong) != 1 || r.Wrong[0].Where != test.where || r.Wrong[0].Place.Row != 3 || r.Entered != 0 {
			t.Errorf("%+v: %+v, expected one wrong row at %s and nothing entered", bad, r, test.where)
		}
	}
	r := y.enter(Readings{Rows: []ReadingRow{good, tests[0].row}, OnlyGood: true, DryRun: true})
	if r.Entered != 0 {
		t.Errorf("a dry run entered %d", r.Entered)
	}
	r = y.enter(Readings{Rows: []ReadingRow{good, tests[0].row}, OnlyGood: true})
	if r.Entered != 1 || len(r.Wrong) != 1 {
		t.Errorf("the good rows: %+v", r)
	}
	if r = y.enter(Readings{Rows: []ReadingRow{good}}); r.Entered != 0 || r.Repeated != 1 {
		t.Errorf("the same reading again: %+v", r)
	}
}

// TestReadingsAreQuestioned: what seems wrong is entered as it came, questioned
// with what may have happened, and settled by a person.
func TestReadingsAreQuestioned(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	rows := y.daily("heron-07", 40, 400_000, 500)
	if r := y.enter(Readings{Rows: rows[:35]}); len(r.Questions) != 0 || r.Entered != 35 {
		t.Fatalf("right readings: %+v", r)
	}
	const miles = 418_500 * 1000 * 1000 / 1609 // 418 500 km read as miles and written down as kilometres
	bad := slices.Clone(rows[35:])
	bad[2].Metres = miles
	r := y.enter(Readings{Rows: bad})
	if r.Entered != 5 || len(r.Questions) != 1 {
		t.Fatalf("%+v, expected all entered and one questioned", r)
	}
	q := r.Questions[0]
	if q.Metres != miles || q.Number != "heron-07" || !strings.Contains(q.Why, "miles") || q.Proposed == nil || *q.Proposed/1_000_000 != 418 {
		t.Errorf("question %+v, expected miles, perhaps, and about 418 500 km", q)
	}
	page := y.vehiclePage(a)
	if len(page.Doubts) != 1 || page.Doubts[0].Metres != miles {
		t.Errorf("the page's questions: %+v", page.Doubts)
	}
	if len(page.Ran.Gaps) == 0 {
		t.Error("distance across a reading that went back is not shown as a gap")
	}
	if page.Pace == nil || page.Pace.PerDay.Metres() < 499_000 || page.Pace.PerDay.Metres() > 501_000 {
		t.Errorf("pace %+v, expected 500 km a day without the doubtful reading", page.Pace)
	}
	y.must(&JudgeReading{Vehicle: a, Meter: record.Odometer, At: bad[2].At, Metres: miles, Decision: record.ReadAs, ReadAs: whole(418_500_000)})
	page = y.vehiclePage(a)
	if len(page.Doubts) != 0 || page.Ran.Known != 39*500_000 {
		t.Errorf("after it was judged: %+v, %+v; expected 19 500 km", page.Doubts, page.Ran)
	}
	// The only gap left is the second since the last reading.
	if g := page.Ran.Gaps; len(g) != 1 || g[0].To-g[0].From != 1_000_000 {
		t.Errorf("gaps after it was judged: %v", g)
	}
	if _, err := y.Do(y.ctx, &JudgeReading{Vehicle: a, Meter: record.Odometer, At: bad[2].At, Metres: 7, Decision: record.LeaveReading}); err == nil {
		t.Error("a reading that never came was judged")
	}
	stored, err := y.Store().ReadingsOf(y.ctx, meterOf(a, record.Odometer), bad[2].At, bad[2].At)
	if err != nil || len(stored) != 1 || stored[0].Metres != miles {
		t.Errorf("stored: %v, %v; the reading must stay as it came", stored, err)
	}
}

// TestTrailerByTractor: a pin's distance comes from the odometer of the tractor
// that pulled it, for the time it was coupled.
func TestTrailerByTractor(t *testing.T) {
	y := newYard(t)
	tractor, trailer := y.tractor("heron-07"), y.trailer("teal-23")
	y.enter(Readings{Rows: y.daily("heron-07", 41, 400_000, 500)})
	begun := y.must(&Couple{Meta: Meta{Happened: y.at(30 * dayLong)}, Towed: trailer, By: tractor, Place: "yard"})
	y.must(&Uncouple{Meta: Meta{Happened: y.at(10 * dayLong)}, Towed: trailer, Period: begun.Record, Place: "yard"})
	m, err := y.Mileage(y.ctx, trailer, y.at(30*dayLong), y.at(5*dayLong))
	if err != nil {
		t.Fatal(err)
	}
	// Twenty days of 500 km, a few seconds more or less, then it stood.
	if km := m.Known.Metres() / 1000; !(9_999 < km && km < 10_001) || !m.Whole() {
		t.Errorf("%.1f km, gaps %v; expected 10 000 km and none", km, m.Gaps)
	}
	for _, s := range m.Spans {
		if s.How == record.ByPeriod && s.By != tractor {
			t.Errorf("span %+v", s)
		}
	}
}

func TestReplacedMeter(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	y.enter(Readings{Rows: y.daily("heron-07", 20, 400_000, 500)})
	y.clock.pass(10 * dayLong)
	y.must(&ReplaceMeter{Vehicle: a, Meter: record.Odometer, Old: whole(414_500_000), New: 0})
	y.clock.pass(20 * dayLong)
	r := y.enter(Readings{Rows: y.daily("heron-07", 15, 3_000, 500)})
	if len(r.Questions) != 0 {
		t.Errorf("readings of the new meter: %+v", r.Questions)
	}
	page := y.vehiclePage(a)
	if !page.Ran.Whole() || page.Ran.Known != 24_500_000 {
		t.Errorf("%+v, expected 14 500 km of the old meter and 10 000 km of the new", page.Ran)
	}
}

// TestReadingsOnTheWay: an odometer that is entered with a fitting is compared
// with those around it and entered as it is.
func TestReadingOnTheWay(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	y.enter(Readings{Rows: y.daily("heron-07", 20, 400_000, 500)})
	done := y.must(&FitPart{Meta: Meta{Happened: y.at(5*dayLong + time.Hour)}, Part: y.wheel("FW 1"), Vehicle: a, Reading: odo(390_000)})
	if len(done.Warnings) != 1 || !strings.Contains(done.Warnings[0].Expected, "at least 406500 km") {
		t.Errorf("warnings %v", done.Warnings)
	}
	done = y.must(&FitPart{Part: y.must(&AddPart{Details: record.PartAdded{Part: "light"}}).Asset, Vehicle: a, Meta: Meta{Happened: y.at(5 * dayLong)}, Reading: odo(420_000)})
	if len(done.Warnings) != 1 || !strings.Contains(done.Warnings[0].Expected, "at most") {
		t.Errorf("warnings %v", done.Warnings)
	}
}
