package wear_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/wear"
)

func TestDueBetween(t *testing.T) {
	const source = "handbook chapter 06, B5: K 150 000 km, 365 d"
	for _, tt := range []struct {
		r, s            float64 // km a day
		t05, t10, t50   float64
		due             float64
		first, mean     float64
		distanceIsFirst bool
	}{
		{380, 40, 336.478174, 347.816358, 394.736842, 347.8, 0.21947350, 360.906168, true},
		{500, 50, 257.624535, 265.920869, 300.000000, 265.9, 0.96252923, 302.362958, true},
	} {
		in := wear.DueInput{Distance: 150_000 * unit.Kilometre, Days: 365,
			Usage: wear.Usage{PerDay: unit.Length(tt.r) * unit.Kilometre, SD: unit.Length(tt.s) * unit.Kilometre}}
		for p, want := range map[float64]float64{0.05: tt.t05, 0.10: tt.t10, 0.50: tt.t50} {
			in.Risk = p
			near(t, fmt.Sprintf("t %g %%", 100*p), float64(must(wear.DueBetween(in))(t).Planned), want, 5e-7, source)
		}
		in.Risk = 0.10
		d := must(wear.DueBetween(in))(t)
		near(t, "due", float64(d.On), tt.due, 0.05, source)
		near(t, "P(distance first)", d.Probability, tt.first, 5e-9, source)
		near(t, "E min", float64(d.Expected), tt.mean, 5e-7, source)
		near(t, "by distance", float64(d.ByDistance), 150_000/tt.r, 1e-9, "hand: K/r̂")
		if d.DistanceFirst != tt.distanceIsFirst {
			t.Errorf("distance first: %v", d.DistanceFirst)
		}
	}
	late := must(wear.DueBetween(wear.DueInput{Distance: 150_000 * unit.Kilometre, Days: 200, Usage: wear.Usage{PerDay: 380e3, SD: 40e3}, Risk: 0.1}))(t)
	if late.DistanceFirst || late.On != 200 {
		t.Errorf("200 days left: due on %v, distance first %v; want the date", late.On, late.DistanceFirst)
	}
	certain := must(wear.DueBetween(wear.DueInput{Distance: 1000, Days: 20, Usage: wear.Usage{PerDay: 100}, Risk: 0.1}))(t)
	near(t, "certain", float64(certain.Planned), 10, 1e-12, "hand: 1000/100")
	near(t, "certain, mean", float64(certain.Expected), 10, 1e-12, "hand")
	near(t, "certain, P", certain.Probability, 1, 0, "hand")
	var domain *unit.DomainError
	ok := wear.Usage{PerDay: 100, SD: 10}
	for name, in := range map[string]wear.DueInput{
		"overdue": {0, 10, ok, 0.1}, "past": {1, 0, ok, 0.1}, "no risk": {1, 1, ok, 0}, "risk above a half": {1, 1, ok, 0.6},
		"standing still": {1, 1, wear.Usage{}, 0.1}, "NaN": {unit.Length(math.NaN()), 1, ok, 0.1}, "days NaN": {1, wear.Days(math.NaN()), ok, 0.1},
	} {
		if _, err := wear.DueBetween(in); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

func TestAddMonths(t *testing.T) {
	const source = "handbook chapter 06, B5: end of the month is clamped"
	for _, tt := range []struct {
		from   wear.Date
		months int
		want   wear.Date
		source string
	}{
		{wear.Date{2027, 1, 31}, 1, wear.Date{2027, 2, 28}, source},
		{wear.Date{2028, 1, 31}, 1, wear.Date{2028, 2, 29}, source},
		{wear.Date{2000, 1, 31}, 1, wear.Date{2000, 2, 29}, "Gregorian calendar: 2000 is a leap year"},
		{wear.Date{2100, 1, 31}, 1, wear.Date{2100, 2, 28}, "Gregorian calendar: 2100 is not"},
		{wear.Date{2026, 8, 31}, 6, wear.Date{2027, 2, 28}, "calendar"},
		{wear.Date{2026, 11, 30}, 3, wear.Date{2027, 2, 28}, "calendar"},
		{wear.Date{2026, 12, 15}, 1, wear.Date{2027, 1, 15}, "calendar"},
		{wear.Date{2028, 2, 29}, 12, wear.Date{2029, 2, 28}, "calendar"},
		{wear.Date{2026, 3, 31}, -1, wear.Date{2026, 2, 28}, "calendar"},
		{wear.Date{2026, 1, 10}, -13, wear.Date{2024, 12, 10}, "calendar"},
		{wear.Date{2026, 5, 31}, 0, wear.Date{2026, 5, 31}, "calendar"},
	} {
		if got := must(wear.AddMonths(tt.from, tt.months))(t); got != tt.want {
			t.Errorf("%v and %d months: %v, want %v (%s)", tt.from, tt.months, got, tt.want, tt.source)
		}
	}
	var domain *unit.DomainError
	for _, in := range []struct {
		d wear.Date
		n int
	}{{wear.Date{2026, 2, 29}, 1}, {wear.Date{2026, 13, 1}, 1}, {wear.Date{2026, 0, 1}, 1}, {wear.Date{2026, 1, 0}, 1}, {wear.Date{0, 1, 1}, 1}, {wear.Date{9999, 12, 1}, 1}, {wear.Date{1, 1, 1}, -1}} {
		if _, err := wear.AddMonths(in.d, in.n); !errors.As(err, &domain) {
			t.Errorf("%v and %d months: %v; want a DomainError", in.d, in.n, err)
		}
	}
}

// TestAddMonthsAgainstLibrary: where the day exists, the standard library agrees;
// where it does not, the library rolls into the month after and we do not.
func TestAddMonthsAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		day := time.Date(rapid.IntRange(1900, 2200).Draw(rt, "y"), time.Month(rapid.IntRange(1, 12).Draw(rt, "m")), 1, 0, 0, 0, 0, time.UTC).
			AddDate(0, 0, rapid.IntRange(0, 30).Draw(rt, "d"))
		n := rapid.IntRange(-60, 60).Draw(rt, "months")
		got, err := wear.AddMonths(wear.Date{Year: day.Year(), Month: int(day.Month()), Day: day.Day()}, n)
		if err != nil {
			rt.Fatal(err)
		}
		lib := day.AddDate(0, n, 0)
		if lib.Day() == day.Day() {
			if got != (wear.Date{Year: lib.Year(), Month: int(lib.Month()), Day: lib.Day()}) {
				rt.Errorf("%v, library %v", got, lib)
			}
			return
		}
		last := lib.AddDate(0, 0, -lib.Day()) // the last day of the month before
		if got != (wear.Date{Year: last.Year(), Month: int(last.Month()), Day: last.Day()}) {
			rt.Errorf("%v, end of the month %v", got, last)
		}
	})
}

// odometer is the worked example of handbook chapter 06, B1.6: a lost digit and
// a reading in miles among nine.
var odometer = func() []wear.Odometer {
	var r []wear.Odometer
	for i, d := range []float64{412350, 427110, 441890, 45350, 468230, 301210, 500760, 518700, 533300} {
		r = append(r, wear.Odometer{Day: wear.Days([]float64{0, 35, 70, 98, 133, 175, 210, 252, 287}[i]), Distance: unit.Length(d) * unit.Kilometre})
	}
	return r
}()

func TestOdometer(t *testing.T) {
	const source = "handbook chapter 06, B1.6, worked example"
	l, suspects, err := wear.CheckOdometer(odometer)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope, all nine", float64(l.PerDay/unit.Kilometre), 421.857143, 5e-7, source)
	near(t, "intercept", float64(l.Intercept/unit.Kilometre), 412_227, 0.5, source)
	if l.Pairs != 36 || len(suspects) != 2 {
		t.Fatalf("%d pairs, %d suspects; want 36 and 2 (%s)", l.Pairs, len(suspects), source)
	}
	for i, want := range []struct {
		index              int
		residual, proposed float64
		repair             wear.Repair
	}{{3, -408_219, 453_500, wear.LostDigit}, {5, -184_842, 484_750.5, wear.FromMiles}} {
		s := suspects[i]
		if s.Index != want.index || s.Repair != want.repair {
			t.Errorf("suspect %d: reading %d, %s; want %d, %s (%s)", i, s.Index, s.Repair, want.index, want.repair, source)
		}
		near(t, "residual", float64(s.Residual/unit.Kilometre), want.residual, 0.5, source)
		near(t, "proposed", float64(s.Proposed/unit.Kilometre), want.proposed, 0.05, source)
	}
	var good, repaired []wear.Odometer
	for i, r := range odometer {
		if i != 3 && i != 5 {
			good = append(good, r)
			if rest := math.Abs(float64((r.Distance - l.At(r.Day)) / unit.Kilometre)); !(rest <= 165) {
				t.Errorf("reading %d: residual %g km, want at most 165 (%s)", i, rest, source)
			}
		}
		for _, s := range suspects {
			if s.Index == i {
				r.Distance = s.Proposed
			}
		}
		repaired = append(repaired, r)
	}
	near(t, "slope, seven good", float64(must(wear.FitRobustLine(good))(t).PerDay/unit.Kilometre), 421.714286, 5e-7, source)
	near(t, "slope, two repaired", float64(must(wear.FitRobustLine(repaired))(t).PerDay/unit.Kilometre), 421.408730, 5e-7, source)
	for n, want := range map[int]float64{2: 421.714286, 3: 421.898395, 4: 419.983830, 5: 421.411842, 6: 423.549000, 7: 421.485002} {
		p := must(wear.CurrentPace(good[:n]))(t)
		near(t, fmt.Sprintf("weighted mean of %d", n), float64(p.Smooth/unit.Kilometre), want, 5e-7, source)
		if p.Robust != (n >= 4) {
			t.Errorf("%d readings: robust %v", n, p.Robust)
		}
	}
	p := must(wear.CurrentPace(good))(t)
	near(t, "pace", float64(p.PerDay/unit.Kilometre), 421.714286, 5e-7, source)
	near(t, "spread", float64(p.SD/unit.Kilometre), 0.05*421.714286, 5e-6, "handbook chapter 06, B1.6: at least 5 % of the rate")
	if u := p.Usage(); u.PerDay != p.PerDay || u.SD != p.SD {
		t.Errorf("usage %+v of pace %+v", u, p)
	}
}

func TestOdometerRepairs(t *testing.T) {
	line := func(change func(i int, d float64) float64) []wear.Odometer {
		var r []wear.Odometer
		for i := range 12 {
			day := 30 * float64(i)
			r = append(r, wear.Odometer{Day: wear.Days(day), Distance: unit.Length(change(i, 300_000+400*day)) * unit.Kilometre})
		}
		return r
	}
	for _, tt := range []struct {
		name   string
		r      []wear.Odometer
		index  int
		repair wear.Repair
		count  int
	}{
		{"extra digit", line(func(i int, d float64) float64 {
			if i == 4 {
				return d*10 + 7
			}
			return d
		}), 4, wear.ExtraDigit, 1},
		{"new instrument", line(func(i int, d float64) float64 {
			if i >= 10 {
				return d - 415_000
			}
			return d
		}), 10, wear.NewCounter, 2},
		{"nonsense", line(func(i int, d float64) float64 {
			if i == 6 {
				return 7777
			}
			return d
		}), 6, wear.NoRepair, 1},
		{"nonsense at the end is not an instrument", line(func(i int, d float64) float64 {
			if i == 11 {
				return 7777
			}
			return d
		}), 11, wear.NoRepair, 1},
		{"nothing", line(func(_ int, d float64) float64 { return d }), -1, wear.NoRepair, 0},
	} {
		l, s, err := wear.CheckOdometer(tt.r)
		if err != nil {
			t.Fatal(err)
		}
		if len(s) != tt.count {
			t.Errorf("%s: %d suspects, want %d (hand)", tt.name, len(s), tt.count)
			continue
		}
		if tt.count > 0 && (s[0].Index != tt.index || s[0].Repair != tt.repair) {
			t.Errorf("%s: reading %d, %s; want %d, %s (hand)", tt.name, s[0].Index, s[0].Repair, tt.index, tt.repair)
		}
		for _, x := range s {
			if x.Repair != wear.NoRepair && !(math.Abs(float64(x.Proposed-l.At(tt.r[x.Index].Day))) <= float64(2000*unit.Kilometre)) {
				t.Errorf("%s: proposes %v", tt.name, x.Proposed)
			}
		}
	}
}

// TestPaceByHand: seven even intervals of a month, rates in km a day.
func TestPaceByHand(t *testing.T) {
	var r []wear.Odometer
	total := 0.0
	for i, rate := range []float64{0, 500, 380, 420, 300, 440, 360, 400} {
		total += rate * 30
		r = append(r, wear.Odometer{Day: wear.Days(30 * i), Distance: unit.Length(total) * unit.Kilometre})
	}
	p := must(wear.CurrentPace(r))(t)
	// Median 400; distances from it 100 20 20 100 40 40 0, of which the median is 40.
	near(t, "spread", float64(p.SD/unit.Kilometre), 1.4826*40, 1e-9, "hand")
	// Two years ago the vehicle stood; the last twelve months count.
	old := []wear.Odometer{{-700, 0}, {-600, 0}, {-500, 0}, {-400, 0}, {-380, 0}}
	q := must(wear.CurrentPace(append(old, r...)))(t)
	near(t, "pace", float64(q.PerDay), float64(p.PerDay), 1e-6, "hand: readings older than a year do not count")
	if !q.Robust {
		t.Error("not robust with eight readings in a year")
	}
}

// TestScatterWidensTheBound: where all readings scatter by thousands of
// kilometres, one that is off by as much is no suspect.
func TestScatterWidensTheBound(t *testing.T) {
	var r []wear.Odometer
	for i := range 20 {
		off := 1500.0
		if i%2 == 0 {
			off = -1500
		}
		r = append(r, wear.Odometer{Day: wear.Days(30 * i), Distance: unit.Length(100_000+400*30*float64(i)+off) * unit.Kilometre})
	}
	_, s, err := wear.CheckOdometer(r)
	if err != nil {
		t.Fatal(err)
	}
	if len(s) != 0 {
		t.Errorf("%d suspects among readings that scatter by ±1500 km; 3·1.4826·MAD is 6 700 km", len(s))
	}
}

func TestOdometerRefuses(t *testing.T) {
	r := func(v ...float64) []wear.Odometer {
		var o []wear.Odometer
		for i := 0; i < len(v); i += 2 {
			o = append(o, wear.Odometer{Day: wear.Days(v[i]), Distance: unit.Length(v[i+1])})
		}
		return o
	}
	var domain *unit.DomainError
	for name, in := range map[string][]wear.Odometer{
		"none": nil, "one": r(0, 1), "backwards in time": r(5, 1, 4, 2), "NaN day": r(0, 1, math.NaN(), 2), "NaN distance": r(0, 1, 1, math.NaN()),
	} {
		if _, err := wear.FitRobustLine(in); !errors.As(err, &domain) {
			t.Errorf("line, %s: %v; want a DomainError", name, err)
		}
		if _, err := wear.CurrentPace(in); !errors.As(err, &domain) {
			t.Errorf("pace, %s: %v; want a DomainError", name, err)
		}
	}
	if _, err := wear.CurrentPace(r(0, 5, 1, 4)); !errors.As(err, &domain) {
		t.Errorf("an odometer that falls: %v; want a DomainError", err)
	}
	var none *unit.NoAnswerError
	if _, err := wear.FitRobustLine(r(3, 1, 3, 2)); !errors.As(err, &none) {
		t.Errorf("one day: %v; want a NoAnswerError", err)
	}
	for name, in := range map[string][]wear.Odometer{"one day": r(3, 1, 3, 2), "standing": r(0, 5, 10, 5)} {
		if _, err := wear.CurrentPace(in); !errors.As(err, &none) {
			t.Errorf("pace, %s: %v; want a NoAnswerError", name, err)
		}
	}
}

// TestRobustLineStandsAQuarterOfLies draws a line, spoils less than a quarter of
// its readings and asks for the line back; also beyond the number of readings
// up to which all pairs are formed.
func TestRobustLineStandsLies(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.SampledFrom([]int{9, 20, 501, 700}).Draw(rt, "n")
		share := 5
		if n > 500 {
			share = 10 // each lie spoils one pair of two readings only
		}
		var r []wear.Odometer
		for i := range n {
			r = append(r, wear.Odometer{Day: wear.Days(i), Distance: unit.Length(1e8 + 4e5*float64(i))})
		}
		for range n / share {
			r[rapid.IntRange(0, n-1).Draw(rt, "i")].Distance = unit.Length(rapid.Float64Range(0, 1e9).Draw(rt, "lie"))
		}
		l, err := wear.FitRobustLine(r)
		if err != nil {
			rt.Fatal(err)
		}
		if !(math.Abs(float64(l.PerDay)-4e5) <= 1e-3*4e5) {
			rt.Errorf("%v a day of 400 km, %d pairs", l.PerDay, l.Pairs)
		}
	})
}

func BenchmarkFitRobustLine(b *testing.B) {
	var r []wear.Odometer
	for i := range 365 {
		r = append(r, wear.Odometer{Day: wear.Days(i), Distance: unit.Length(4e5*float64(i) + 1e4*math.Sin(float64(i)))})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.FitRobustLine(r); err != nil {
			b.Fatal(err)
		}
	}
}
