package record_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/record"
)

// at is a day and an hour after the start.
func at(days, hours int) record.Time { return start + record.Time(days)*day + record.Time(hours)*hour }

func km(n float64) int64 { return int64(n * 1000) }

// TestCourse: sums of the readings of handbook chapter 06, B1.6, its worked
// example: days 0, 35, 70, 98, 133, 175, 210, 252, 287. The fourth lost a digit
// (45350 for 453500) and the sixth is in miles (301210 for 484750.5 km).
func TestCourse(t *testing.T) {
	days := []int{0, 35, 70, 98, 133, 175, 210, 252, 287}
	shown := []float64{412350, 427110, 441890, 45350, 468230, 301210, 500760, 518700, 533300}
	var readings []record.Reading
	for i, d := range days {
		readings = append(readings, record.Reading{At: at(d, 0), Metres: km(shown[i])})
	}
	raw := record.NewCourse(record.Odometer, readings, nil, nil)
	if n := len(raw.Doubts); n != 4 {
		t.Errorf("%d doubts in the raw readings, expected 4: down and up again, twice: %v", n, raw.Doubts)
	}
	if _, _, ok := raw.Between(at(0, 0), at(287, 0)); ok {
		t.Error("a distance is known across the doubts")
	}
	if d, read, ok := raw.Between(at(0, 0), at(70, 0)); !ok || !read || d != 29_540_000 { // 441890 − 412350
		t.Errorf("before the first doubt: %v m, read %v, known %v; expected 29540 km", d, read, ok)
	}
	judged := []record.Judgement{
		{ReadingJudged: record.ReadingJudged{Meter: record.Odometer, At: at(98, 0), Metres: km(45350), Decision: record.ReadAs, ReadAs: whole(km(453500))}},
		{ReadingJudged: record.ReadingJudged{Meter: record.Odometer, At: at(175, 0), Metres: km(301210), Decision: record.LeaveReading}},
		{ReadingJudged: record.ReadingJudged{Meter: record.HubMeter, At: at(35, 0), Metres: km(427110), Decision: record.LeaveReading}}, // of another meter
	}
	c := record.NewCourse(record.Odometer, readings, nil, judged)
	if len(c.Doubts) != 0 {
		t.Errorf("doubts after a person decided: %v", c.Doubts)
	}
	if d, read, ok := c.Between(at(0, 0), at(287, 0)); !ok || !read || d != 120_950_000 { // 533300 − 412350
		t.Errorf("from first to last: %v m, read %v, known %v; expected 120950 km", d, read, ok)
	}
	// Half-way in time between day 0 and day 35: half of 14760 km.
	if d, read, ok := c.Between(at(0, 0), at(17, 12)); !ok || read || d != 7_380_000 {
		t.Errorf("between two readings: %v m, read %v, known %v; expected 7380 km, not read", d, read, ok)
	}
	if _, _, ok := c.Between(at(0, 0), at(288, 0)); ok {
		t.Error("a distance is known past the last reading")
	}
}

func TestMeterReplaced(t *testing.T) {
	readings := []record.Reading{{At: at(0, 0), Metres: km(900000)}, {At: at(20, 0), Metres: km(2000)}}
	change := func(old *int64) []record.MeterChange {
		return []record.MeterChange{{At: at(10, 0), MeterReplaced: record.MeterReplaced{Meter: record.HubMeter, Old: old, New: km(10)}}}
	}
	c := record.NewCourse(record.HubMeter, readings, change(whole(km(904000))), nil)
	if d, _, ok := c.Between(at(0, 0), at(20, 0)); !ok || d != 5_990_000 { // 904000 − 900000 and 2000 − 10
		t.Errorf("across a replaced meter: %v m, known %v; expected 5990 km", d, ok)
	}
	c = record.NewCourse(record.HubMeter, readings, change(nil), nil)
	if _, _, ok := c.Between(at(0, 0), at(20, 0)); ok || len(c.Doubts) != 1 {
		t.Errorf("nobody read the old meter, and a distance is known; doubts %v", c.Doubts)
	}
	if d, _, ok := c.Between(at(10, 0), at(20, 0)); !ok || d != 1_990_000 {
		t.Errorf("since the new meter: %v m, known %v; expected 1990 km", d, ok)
	}
	if c = record.NewCourse(record.HubMeter, readings, nil, nil); len(c.Doubts) != 1 || !strings.Contains(c.Doubts[0].Why, "went back") {
		t.Errorf("an unrecorded replacement is a doubt: %v", c.Doubts)
	}
}

func TestTooFastIsDoubted(t *testing.T) {
	fast := []record.Reading{{At: at(0, 0), Metres: 0}, {At: at(2, 0), Metres: km(3001)}}
	if c := record.NewCourse(record.Odometer, fast, nil, nil); len(c.Doubts) != 1 {
		t.Error("3001 km in two days are not doubted, above 1500 km a day")
	}
	fast[1].Metres = km(3000)
	if c := record.NewCourse(record.Odometer, fast, nil, nil); len(c.Doubts) != 0 {
		t.Error("3000 km in two days are doubted, at 1500 km a day")
	}
}

// TestMileage takes a trailer through ten days by every way of knowing. Each row
// says what is there; the sums stand beside the wants.
func TestMileage(t *testing.T) {
	course := func(meter string, pairs ...int) *record.Course {
		var r []record.Reading
		for i := 0; i < len(pairs); i += 2 {
			r = append(r, record.Reading{At: at(pairs[i], 0), Metres: km(float64(pairs[i+1]))})
		}
		return record.NewCourse(meter, r, nil, nil)
	}
	odo := func(n int64) record.MeterReading { return metres(record.Odometer, n*1000) }
	tractor := map[record.Asset]*record.Course{"vehicle/a": course(record.Odometer, 0, 1000, 10, 2000)} // 100 km a day
	period := func(n, from, to int, a, b record.MeterReading, coupled, dropped string) record.Period {
		p := record.Period{ID: id(n), Towed: "vehicle/t", By: "vehicle/a", From: at(from, 0), FromBy: a, ToBy: b, Coupled: coupled, Dropped: dropped}
		if to > 0 {
			p.To = at(to, 0)
		}
		return p
	}
	none := record.MeterReading{}
	tests := []struct {
		name  string
		t     record.Traveller
		known float64 // km
		spans string
		gaps  string
	}{
		{"its own brake controller", record.Traveller{Towed: true, Own: map[string]*record.Course{record.Brake: course(record.Brake, 0, 50, 10, 850)}},
			800, "0-10 brake read", ""},
		{"the brake controller before the hub meter, the hub meter where it is silent",
			record.Traveller{Towed: true, Own: map[string]*record.Course{record.Brake: course(record.Brake, 4, 50, 10, 650), record.HubMeter: course(record.HubMeter, 0, 10, 10, 1010)}},
			1000, "0-4 hub|4-10 brake read", ""}, // 400 by hub (100 a day), 600 by brake
		{"periods with what was read", record.Traveller{Towed: true, Periods: []record.Period{
			period(1, 0, 3, odo(1000), odo(1310), "N", "Q"), period(2, 5, 10, odo(1500), odo(1980), "Q", "N")}},
			790, "0-3 period read|3-5 standing read|5-10 period read", ""}, // 310 + 480
		{"periods by the tractor's readings", record.Traveller{Towed: true, Towing: func(a record.Asset) *record.Course { return tractor[a] },
			Periods: []record.Period{period(1, 0, 3, none, none, "", ""), period(2, 5, 0, none, none, "", "")}},
			800, "0-3 period|3-5 standing|5-10 period", ""}, // 300 + 500
		{"nothing at all", record.Traveller{Towed: true}, 0, "", "0-10 no coupled period was entered before then"},
		{"a tractor without readings", record.Traveller{}, 0, "", "0-10 no reading reaches there"},
		{"a period without any reading", record.Traveller{Towed: true, Periods: []record.Period{period(1, 0, 4, none, none, "", ""), period(2, 4, 10, odo(0), odo(600), "", "")}},
			600, "4-10 period read", "0-4 no reading of vehicle/a reaches there"},
		{"moved by nobody knows whom", record.Traveller{Towed: true, Periods: []record.Period{
			period(1, 0, 3, odo(1000), odo(1300), "N", "Q"), period(2, 5, 10, odo(1500), odo(2000), "N", "N")}},
			800, "0-3 period read|5-10 period read", "3-5 it was left at Q"},
		{"the end of a period was not entered", record.Traveller{Towed: true, Periods: []record.Period{
			period(1, 0, 0, odo(1000), none, "N", ""), period(2, 5, 10, odo(1500), odo(2000), "N", "N")}},
			500, "5-10 period read", "0-5 nobody entered when the coupled period"},
		{"a period before which nothing is known", record.Traveller{Towed: true, Periods: []record.Period{period(1, 6, 10, odo(0), odo(100), "", "")}},
			100, "6-10 period read", "0-6 no coupled period"},
		{"an odometer that ran backwards within a period", record.Traveller{Towed: true, Periods: []record.Period{period(1, 0, 10, odo(500), odo(100), "", "")}},
			0, "", "0-10 in the coupled period with vehicle/a: the meter went back"},
		{"a brake controller that went back: the periods are asked", record.Traveller{Towed: true,
			Own:     map[string]*record.Course{record.Brake: course(record.Brake, 0, 500, 4, 700, 6, 10, 10, 410)},
			Periods: []record.Period{period(1, 0, 10, none, none, "", "")}, Towing: func(a record.Asset) *record.Course { return tractor[a] }},
			800, "0-4 brake read|4-6 period|6-10 brake read", ""}, // 200, then 200 by the tractor, then 400
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			m := test.t.Between(at(0, 0), at(10, 0))
			if got := m.Known.Metres() / 1000; !(got-test.known < 1e-6 && test.known-got < 1e-6) {
				t.Errorf("%.3f km known, expected %g", got, test.known)
			}
			var spans []string
			for _, s := range m.Spans {
				text := days(s.From, s.To) + " " + string(s.How)
				if s.Read {
					text += " read"
				}
				spans = append(spans, text)
			}
			if got := strings.Join(spans, "|"); got != test.spans {
				t.Errorf("spans %q, expected %q", got, test.spans)
			}
			var gaps []string
			for _, g := range m.Gaps {
				gaps = append(gaps, days(g.From, g.To)+" "+g.Why)
			}
			if got := strings.Join(gaps, "|"); !strings.HasPrefix(got, test.gaps) || (got == "") != (test.gaps == "") || m.Whole() != (test.gaps == "") {
				t.Errorf("gaps %q, expected %q", got, test.gaps)
			}
		})
	}
}

func days(from, to record.Time) string {
	n := func(t record.Time) string { return string(rune('0'+(t-start)/day%10)) + "" }
	a, b := n(from), n(to)
	if to == at(10, 0) {
		b = "10"
	}
	return a + "-" + b
}

// TestMileageCoversEveryInstant: spans and gaps together cover the whole time
// once, and what is known never shrinks when a period is added.
func TestMileageCoversEveryInstant(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var periods []record.Period
		for i := range rapid.IntRange(0, 6).Draw(rt, "periods") {
			p := record.Period{ID: id(i + 1), Towed: "vehicle/t", By: "vehicle/a", From: at(0, rapid.IntRange(0, 200).Draw(rt, "from"))}
			if rapid.Bool().Draw(rt, "ended") {
				p.To = p.From + record.Time(rapid.IntRange(0, 50).Draw(rt, "hours"))*hour
			}
			if rapid.Bool().Draw(rt, "read") {
				p.FromBy, p.ToBy = metres(record.Odometer, 0), metres(record.Odometer, rapid.Int64Range(0, 90_000).Draw(rt, "m"))
			}
			periods = append(periods, p)
		}
		var own []record.Reading
		total := int64(0)
		for range rapid.IntRange(0, 4).Draw(rt, "readings") {
			total += rapid.Int64Range(-10, 50_000).Draw(rt, "ran")
			own = append(own, record.Reading{At: at(0, rapid.IntRange(0, 240).Draw(rt, "at")), Metres: max(0, total)})
		}
		tr := record.Traveller{Towed: true, Periods: periods, Own: map[string]*record.Course{record.HubMeter: record.NewCourse(record.HubMeter, own, nil, nil)}}
		from, to := at(0, rapid.IntRange(0, 100).Draw(rt, "start")), at(0, rapid.IntRange(101, 300).Draw(rt, "end"))
		m := tr.Between(from, to)
		type stretch struct{ from, to record.Time }
		var all []stretch
		for _, s := range m.Spans {
			all = append(all, stretch{s.From, s.To})
			if s.Distance < 0 {
				rt.Fatalf("a span of %v m", s.Distance)
			}
		}
		for _, g := range m.Gaps {
			all = append(all, stretch{g.From, g.To})
			if g.Why == "" {
				rt.Fatal("a gap without a reason")
			}
		}
		covered := record.Time(0)
		for i, a := range all {
			if a.from >= a.to || a.from < from || a.to > to {
				rt.Fatalf("a stretch from %s to %s", a.from, a.to)
			}
			covered += a.to - a.from
			for _, b := range all[:i] {
				if a.from < b.to && b.from < a.to {
					rt.Fatalf("%+v\n%+v overlap", m.Spans, m.Gaps)
				}
			}
		}
		if covered != to-from {
			rt.Fatalf("covers %d hours of %d", covered/hour, (to-from)/hour)
		}
	})
}
