package maintenance_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/record"
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

const km = unit.Kilometre

// near fails unless got lies within tol of want; NaN fails unless both are.
func near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if got == want || math.IsNaN(got) && math.IsNaN(want) {
		return
	}
	if diff := math.Abs(got - want); !(diff <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.2g (%s)", what, got, want, tol, source)
	}
}

func day(y, m, d int) maintenance.Date { return maintenance.Date{Year: y, Month: m, Day: d} }

func every(d unit.Length, months int) maintenance.Interval {
	return maintenance.Interval{Task: "grease-lock", Distance: d, Months: months}
}

var unknown = unit.Length(math.NaN())

func TestDueStates(t *testing.T) {
	usage := wear.Usage{PerDay: 400 * km, SD: 40 * km}
	today := day(2026, 11, 25)
	for _, tt := range []struct {
		name    string
		ask     maintenance.DueAsk
		state   maintenance.DueState
		governs maintenance.Governs
		on      maintenance.Date
		missing int
		source  string
	}{
		{"5 000 km, run 5 200 km",
			maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 10), Distance: 5200 * km, ReadOn: today}, Usage: usage, Today: today},
			maintenance.Overdue, maintenance.ByDistance, today, 0, "handbook chapter 05, check value 50"},
		{"50 000 km or 6 months, run 40 000 km, 7 months",
			maintenance.DueAsk{Interval: every(50_000*km, 6), Since: maintenance.Since{On: day(2026, 4, 25), Distance: 40_000 * km, ReadOn: today}, Usage: usage, Today: today},
			maintenance.Overdue, maintenance.ByDate, day(2026, 10, 25), 0, "handbook chapter 05, check value 51"},
		{"the last day itself is not overdue",
			maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{On: day(2026, 5, 25), Distance: unknown}, Today: today},
			maintenance.DueSoon, maintenance.ByDate, today, 0, "hand: at the latest after six months; overdue once passed"},
		{"the day after is",
			maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{On: day(2026, 5, 24), Distance: unknown}, Today: today},
			maintenance.Overdue, maintenance.ByDate, day(2026, 11, 24), 0, "hand"},
		{"31 August and six months is the last of February",
			maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{On: day(2026, 8, 31), Distance: unknown}, Today: today},
			maintenance.NotDue, maintenance.ByDate, day(2027, 2, 28), 0, "handbook chapter 06, B5: clamped to the end of the month"},
		{"31 January and a month in a leap year",
			maintenance.DueAsk{Interval: every(0, 1), Since: maintenance.Since{On: day(2028, 1, 31), Distance: unknown}, Today: day(2028, 2, 20)},
			maintenance.DueSoon, maintenance.ByDate, day(2028, 2, 29), 0, "handbook chapter 06, B5"},
		{"distance exactly used up today",
			maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 10), Distance: 5000 * km, ReadOn: today}, Usage: usage, Today: today},
			maintenance.DueSoon, maintenance.ByDistance, today, 0, "hand: at the latest every 5 000 km; reached is not passed"},
		{"half the interval on salt",
			maintenance.DueAsk{Interval: maintenance.Interval{Task: "grease-lock", Distance: 5000 * km, Factor: 0.5}, Since: maintenance.Since{On: day(2026, 11, 20), Distance: 2501 * km, ReadOn: today}, Usage: usage, Today: today},
			maintenance.Overdue, maintenance.ByDistance, today, 0, "handbook chapter 05, section 3: unpaved 5 000 to 2 500 km"},
		{"a reading 12 days old: 4 000 km left, 400 km a day, ten days on average",
			maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 1), Distance: 1000 * km, ReadOn: day(2026, 11, 13)}, Usage: usage, Today: today},
			maintenance.PossiblyOverdue, maintenance.ByDistance, day(2026, 11, 21), 0, "hand: Φ((400 − 4000/12)/40) = Φ(1.667) = 0.952; 4000/(400 + 1.2816·40) = 8.86 days"},
		{"never done", maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{Distance: unknown}, Today: today},
			maintenance.CannotTellDue, maintenance.ByNothing, maintenance.Date{}, 1, "hand: no record of it"},
		{"distance not known, date not passed",
			maintenance.DueAsk{Interval: every(5000*km, 6), Since: maintenance.Since{On: day(2026, 11, 1), Distance: unknown}, Usage: usage, Today: today},
			maintenance.CannotTellDue, maintenance.ByDate, day(2027, 5, 1), 1, "hand: missing data is never a pass"},
		{"distance not known, date passed",
			maintenance.DueAsk{Interval: every(5000*km, 6), Since: maintenance.Since{On: day(2026, 5, 1), Distance: unknown}, Usage: usage, Today: today},
			maintenance.Overdue, maintenance.ByDate, day(2026, 11, 1), 1, "hand: one limit passed is enough"},
		{"at least 5 100 km, the rest not known",
			maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 1), Distance: 5100 * km, AtLeast: true, ReadOn: today}, Usage: usage, Today: today},
			maintenance.Overdue, maintenance.ByDistance, today, 0, "hand: what is known is enough"},
		{"at least 1 000 km, the rest not known",
			maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 1), Distance: 1000 * km, AtLeast: true, ReadOn: today}, Usage: usage, Today: today},
			maintenance.CannotTellDue, maintenance.ByNothing, maintenance.Date{}, 1, "hand"},
		{"no usage", maintenance.DueAsk{Interval: every(5000*km, 0), Since: maintenance.Since{On: day(2026, 11, 1), Distance: 1000 * km, ReadOn: today}, Today: today},
			maintenance.CannotTellDue, maintenance.ByNothing, maintenance.Date{}, 1, "hand"},
		{"unset interval", maintenance.DueAsk{Interval: maintenance.Interval{Task: maintenance.CartridgeSwap, Unset: true}, Since: maintenance.Since{On: day(2020, 1, 1), Distance: unknown}, Today: today},
			maintenance.CannotTellDue, maintenance.ByNothing, maintenance.Date{}, 1, "no figure is shipped for cartridges"},
		{"wear brings it forward",
			maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{On: day(2026, 11, 1), Distance: unknown}, Today: today, Forecast: day(2026, 12, 1)},
			maintenance.DueSoon, maintenance.ByWear, day(2026, 12, 1), 0, "hand: forecasts bring forward"},
		{"wear never stretches",
			maintenance.DueAsk{Interval: every(0, 6), Since: maintenance.Since{On: day(2026, 11, 1), Distance: unknown}, Today: today, Forecast: day(2028, 12, 1)},
			maintenance.NotDue, maintenance.ByDate, day(2027, 5, 1), 0, "handbook chapter 05, section 9: forecasts never stretch an interval"},
		{"once and done", maintenance.DueAsk{Interval: maintenance.Interval{Task: maintenance.FirstRetorque, Distance: 1000 * km, Once: true}, Since: maintenance.Since{Settled: true, Distance: unknown}, Today: today},
			maintenance.DoneOnce, maintenance.ByNothing, maintenance.Date{}, 0, "hand"},
		{"before first use, run already", maintenance.DueAsk{Interval: maintenance.Interval{Task: maintenance.FirstGrease, Once: true}, Since: maintenance.Since{On: today, Distance: 12 * km}, Today: today},
			maintenance.Overdue, maintenance.ByDate, today, 0, "hand: before the first coupling"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d, err := maintenance.DueOn(tt.ask)
			if err != nil {
				t.Fatal(err)
			}
			if d.State != tt.state || d.Governs != tt.governs || d.On != tt.on || len(d.Missing) != tt.missing {
				t.Errorf("%v by %q on %v, missing %v; want %v by %q on %v, %d missing (%s)", d.State, d.Governs, d.On, d.Missing, tt.state, tt.governs, tt.on, tt.missing, tt.source)
			}
		})
	}
}

func TestDueByTwoLimits(t *testing.T) {
	const source = "handbook chapter 06, B5"
	today := day(2026, 1, 1)
	for _, tt := range []struct {
		r, s, t10, t50, lead float64
		governs              maintenance.Governs
	}{
		{380, 40, 347.816358, 394.736842, 0.21947350, maintenance.ByDistance},
		{500, 50, 265.920869, 300.000000, 0.96252923, maintenance.ByDistance},
	} {
		d, err := maintenance.DueOn(maintenance.DueAsk{
			Interval: every(150_000*km, 12), Since: maintenance.Since{On: today, ReadOn: today}, Today: today,
			Usage: wear.Usage{PerDay: unit.Length(tt.r) * km, SD: unit.Length(tt.s) * km},
		})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "P(distance first)", d.DistanceLead, tt.lead, 5e-9, source)
		if want := addDays(today, int(tt.t10)); d.Planned != want || d.Governs != tt.governs || d.On != want {
			t.Errorf("planned %v by %q, want %v (%s: %g days)", d.Planned, d.Governs, want, source, tt.t10)
		}
		if want := addDays(today, int(tt.t50)); d.Expected != want {
			t.Errorf("expected %v, want %v (%s: %g days)", d.Expected, want, source, tt.t50)
		}
		if d.ByDate != day(2027, 1, 1) {
			t.Errorf("by date %v", d.ByDate)
		}
	}
}

// addDays counts days one by one, to be independent of the code under test.
func addDays(d maintenance.Date, n int) maintenance.Date {
	for ; n > 0; n-- {
		next := d
		next.Day++
		if _, err := wear.AddMonths(next, 0); err != nil {
			next = day(d.Year, d.Month+1, 1)
			if next.Month > 12 {
				next = day(d.Year+1, 1, 1)
			}
		}
		d = next
	}
	return d
}

func TestDueWidensOldReadings(t *testing.T) {
	ask := maintenance.DueAsk{Interval: every(100_000*km, 0), Since: maintenance.Since{On: day(2026, 1, 1), ReadOn: day(2026, 1, 1)},
		Usage: wear.Usage{PerDay: 400 * km, SD: 40 * km}, Today: day(2026, 5, 1)}
	d, err := maintenance.DueOn(ask)
	if err != nil {
		t.Fatal(err)
	}
	// 120 days old: s doubles to 80; 100 000/(400 + 1.28155·80) = 198.996 days, 198 whole ones.
	if want := addDays(day(2026, 1, 1), 198); !d.Widened || d.Planned != want {
		t.Errorf("planned %v, widened %v; want %v (hand: 100000/(400 + 1.28155·40·120/60) = 198.996)", d.Planned, d.Widened, want)
	}
}

func TestDueRefuses(t *testing.T) {
	good := maintenance.DueAsk{Interval: every(5000*km, 1), Since: maintenance.Since{On: day(2026, 1, 1)}, Usage: wear.Usage{PerDay: 400 * km}, Today: day(2026, 2, 1)}
	if _, err := maintenance.DueOn(good); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*maintenance.DueAsk){
		"no today":            func(a *maintenance.DueAsk) { a.Today = maintenance.Date{} },
		"30 February":         func(a *maintenance.DueAsk) { a.Since.On = day(2026, 2, 30) },
		"done tomorrow":       func(a *maintenance.DueAsk) { a.Since.On = day(2026, 2, 2) },
		"factor that stretch": func(a *maintenance.DueAsk) { a.Interval.Factor = 1.5 },
		"NaN factor":          func(a *maintenance.DueAsk) { a.Interval.Factor = math.NaN() },
		"negative distance":   func(a *maintenance.DueAsk) { a.Since.Distance = -1 },
		"risk above a half":   func(a *maintenance.DueAsk) { a.Risk = 0.6 },
		"spread above mean":   func(a *maintenance.DueAsk) { a.Usage.SD = 500 * km },
	} {
		a := good
		change(&a)
		var domain *unit.DomainError
		if _, err := maintenance.DueOn(a); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

func drawAsk(t *rapid.T) maintenance.DueAsk {
	today := day(2026, 11, 25)
	a := maintenance.DueAsk{
		Interval: every(unit.Length(rapid.IntRange(1000, 100_000).Draw(t, "distance"))*km, rapid.IntRange(0, 24).Draw(t, "months")),
		Since:    maintenance.Since{On: day(rapid.IntRange(2024, 2025).Draw(t, "year"), rapid.IntRange(1, 12).Draw(t, "month"), rapid.IntRange(1, 28).Draw(t, "day")), ReadOn: today},
		Today:    today,
	}
	a.Interval.Factor = rapid.Float64Range(0.1, 1).Draw(t, "factor")
	a.Since.Distance = unit.Length(rapid.IntRange(0, 120_000).Draw(t, "since")) * km
	a.Since.ReadOn = day(2026, 11, rapid.IntRange(1, 25).Draw(t, "read on"))
	a.Usage.PerDay = unit.Length(rapid.IntRange(1, 900).Draw(t, "per day")) * km
	a.Usage.SD = a.Usage.PerDay * unit.Length(rapid.Float64Range(0, 0.5).Draw(t, "spread"))
	return a
}

func TestDueProperties(t *testing.T) {
	later := func(a, b maintenance.Date) bool {
		if a.Year != b.Year {
			return a.Year > b.Year
		}
		if a.Month != b.Month {
			return a.Month > b.Month
		}
		return a.Day > b.Day
	}
	rapid.Check(t, func(t *rapid.T) {
		a := drawAsk(t)
		d, err := maintenance.DueOn(a)
		if err != nil {
			t.Fatal(err)
		}
		if d.ByDate != (maintenance.Date{}) && later(d.On, d.ByDate) && d.State != maintenance.Overdue {
			t.Fatalf("planned for %v, after the date limit %v", d.On, d.ByDate)
		}
		with := a
		with.Forecast = day(2026, rapid.IntRange(1, 12).Draw(t, "forecast month"), 15)
		f, err := maintenance.DueOn(with)
		if err != nil {
			t.Fatal(err)
		}
		if later(f.On, d.On) {
			t.Fatalf("a forecast put the day off from %v to %v", d.On, f.On)
		}
		harder := a
		harder.Interval.Factor *= 0.5
		h, err := maintenance.DueOn(harder)
		if err != nil {
			t.Fatal(err)
		}
		if d.State == maintenance.Overdue && h.State != maintenance.Overdue {
			t.Fatalf("overdue, and with half the interval %v", h.State)
		}
		if h.State != maintenance.Overdue && later(h.On, d.On) {
			t.Fatalf("harder use put the day off from %v to %v", d.On, h.On)
		}
	})
}

// TestDueAgreesWithWear holds the closed forms here against those of wear.
func TestDueAgreesWithWear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawAsk(t)
		a.Interval.Factor, a.Interval.Months, a.Since.ReadOn = 1, 3+a.Interval.Months, a.Today
		a.Since.On = a.Today
		if a.Since.Distance >= a.Interval.Distance {
			return
		}
		d, err := maintenance.DueOn(a)
		if err != nil {
			t.Fatal(err)
		}
		left, n := a.Interval.Distance-a.Since.Distance, 0
		for x := a.Today; x != d.ByDate; x = addDays(x, 1) {
			n++
		}
		w, err := wear.DueBetween(wear.DueInput{Distance: left, Days: wear.Days(n), Usage: a.Usage, Risk: 0.10})
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(w.Probability-d.DistanceLead) <= 1e-12) {
			t.Fatalf("P(distance first) %g, wear says %g", d.DistanceLead, w.Probability)
		}
		if whole := int(math.Floor(float64(w.Planned) + 1e-9)); whole < 4000 && addDays(a.Today, whole) != d.Planned {
			t.Fatalf("planned %v, wear says %v days", d.Planned, w.Planned)
		}
	})
}

func ExampleDueOn() {
	d, err := maintenance.DueOn(maintenance.DueAsk{
		Interval: maintenance.Interval{Task: maintenance.FullCheck, Distance: 50_000 * unit.Kilometre, Months: 6},
		Since:    maintenance.Since{On: maintenance.Date{Year: 2026, Month: 8, Day: 31}, Distance: 30_000 * unit.Kilometre, ReadOn: maintenance.Date{Year: 2026, Month: 11, Day: 24}},
		Usage:    wear.Usage{PerDay: 380 * unit.Kilometre, SD: 40 * unit.Kilometre},
		Today:    maintenance.Date{Year: 2026, Month: 11, Day: 25},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, %d-%02d-%02d by %s; by date at the latest %d-%02d-%02d\n", d.State, d.On.Year, d.On.Month, d.On.Day, d.Governs, d.ByDate.Year, d.ByDate.Month, d.ByDate.Day)
	// Output: not due, 2027-01-09 by distance; by date at the latest 2027-02-28
}

func TestStartingIntervals(t *testing.T) {
	find := func(s maintenance.Setup, task string) (maintenance.Interval, bool) {
		for _, i := range maintenance.StartingIntervals(s) {
			if i.Task == task {
				return i, true
			}
		}
		return maintenance.Interval{}, false
	}
	hand, liner := maintenance.Setup{Lubrication: maintenance.ByHand}, maintenance.Setup{Lubrication: maintenance.Liner}
	central, cartridge := maintenance.Setup{Lubrication: maintenance.Central}, maintenance.Setup{Lubrication: maintenance.Cartridge}
	const ch5 = "handbook chapter 05, section 3"
	for _, tt := range []struct {
		name, task string
		setup      maintenance.Setup
		there      bool
		distance   unit.Length
		months     int
		unset      bool
		source     string
	}{
		{"by hand: plate", maintenance.GreasePlate, hand, true, 5000 * km, 1, false, ch5 + ", types A and B"},
		{"by hand: lock", maintenance.GreaseLock, hand, true, 5000 * km, 1, false, ch5},
		{"not known: as by hand", maintenance.GreasePlate, maintenance.Setup{}, true, 5000 * km, 1, false, "hand: the careful one"},
		{"liner: no grease on the plate", maintenance.GreasePlate, liner, false, 0, 0, false, ch5 + ", low-maintenance liner"},
		{"liner: film", maintenance.FilmPlate, liner, true, 50_000 * km, 6, false, ch5},
		{"liner: lock keeps its own", maintenance.GreaseLock, liner, true, 5000 * km, 1, false, ch5 + ": lock and pin still need grease"},
		{"liner: pin keeps its own", maintenance.GreasePin, liner, true, 5000 * km, 1, false, ch5},
		{"liner: full check", maintenance.FullCheck, liner, true, 50_000 * km, 6, false, ch5 + ", type C"},
		{"central: pin keeps its own", maintenance.GreasePin, central, true, 5000 * km, 1, false, ch5},
		{"central: no hand greasing of the plate", maintenance.GreasePlate, central, false, 0, 0, false, ch5},
		{"central: level unset", maintenance.CentralLevel, central, true, 0, 0, true, ch5 + ": system's setting"},
		{"cartridge: unset", maintenance.CartridgeSwap, cartridge, true, 0, 0, true, ch5 + ": no figure found"},
		{"cartridge: plate by hand until the document says what it serves", maintenance.GreasePlate, cartridge, true, 5000 * km, 1, false, "hand: the careful one"},
		{"permanent pair", maintenance.UncouplePair, maintenance.Setup{Permanent: true}, true, 0, 1, false, ch5},
		{"slider: first month", maintenance.FirstSlider, maintenance.Setup{Slider: true}, true, 0, 1, false, "handbook chapter 05, 2.6"},
		{"no slider", maintenance.GreaseSlider, hand, false, 0, 0, false, "hand"},
		{"yearly", maintenance.YearlyCheck, hand, true, 0, 12, false, ch5},
		{"visual", maintenance.VisualCheck, hand, true, 25_000 * km, 0, false, ch5 + ", type B"},
		{"first torque", maintenance.FirstRetorque, hand, true, 1000 * km, 1, false, ch5 + ": 1 000 to 5 000 km or the first month"},
	} {
		i, there := find(tt.setup, tt.task)
		if there != tt.there || i.Distance != tt.distance || i.Months != tt.months || i.Unset != tt.unset {
			t.Errorf("%s: %+v, there %v (%s)", tt.name, i, there, tt.source)
		}
		if there && (i.Evidence != rule.Practice || i.Source == "" || i.Note.English == "") {
			t.Errorf("%s: evidence %q, source %q, note %q; a starting value is practice and says so", tt.name, i.Evidence, i.Source, i.Note.English)
		}
	}
	for _, i := range maintenance.StartingIntervals(maintenance.Setup{Lubrication: maintenance.Liner, Slider: true, Permanent: true}) {
		if _, ok := maintenance.FindTask(i.Task); !ok {
			t.Errorf("interval of %s has no task", i.Task)
		}
	}
}

func metres(n int64) *int64 { return &n }

func TestPlanIntervals(t *testing.T) {
	doc := record.Source{Document: "Instructions of the type", Edition: "2025", Page: "14"}
	hand := maintenance.Setup{Lubrication: maintenance.ByHand}
	for _, tt := range []struct {
		name       string
		setup      maintenance.Setup
		typed, own []record.Interval
		use        []maintenance.Severity
		task       string
		distance   unit.Length
		months     int
		factor     float64
		evidence   rule.Evidence
		refused    int
	}{
		{"nothing entered", hand, nil, nil, nil, maintenance.GreaseLock, 5000 * km, 1, 1, rule.Practice, 0},
		{"a document lengthens", hand, []record.Interval{{Task: "grease-lock", Metres: metres(10_000_000), Months: metres(2), Source: doc}}, nil, nil, maintenance.GreaseLock, 10_000 * km, 2, 1, rule.Read, 0},
		{"and touches no other point", hand, []record.Interval{{Task: "grease-lock", Metres: metres(10_000_000), Source: doc}}, nil, nil, maintenance.GreasePin, 5000 * km, 1, 1, rule.Practice, 0},
		{"no document, longer", hand, []record.Interval{{Task: "grease-lock", Metres: metres(10_000_000)}}, nil, nil, maintenance.GreaseLock, 5000 * km, 1, 1, rule.Practice, 1},
		{"no document, shorter", hand, []record.Interval{{Task: "grease-lock", Metres: metres(2_500_000)}}, nil, nil, maintenance.GreaseLock, 2500 * km, 1, 1, rule.Practice, 0},
		{"own may not stretch the document's", hand, []record.Interval{{Task: "full-check", Metres: metres(40_000_000), Months: metres(5), Source: doc}}, []record.Interval{{Task: "full-check", Metres: metres(50_000_000), Months: metres(6)}}, nil, maintenance.FullCheck, 40_000 * km, 5, 1, rule.Read, 2},
		{"own shortens the months alone", hand, []record.Interval{{Task: "full-check", Metres: metres(40_000_000), Months: metres(6), Source: doc}}, []record.Interval{{Task: "full-check", Months: metres(3)}}, nil, maintenance.FullCheck, 40_000 * km, 3, 1, rule.Read, 0},
		{"own days shorten months", hand, nil, []record.Interval{{Task: "full-check", Days: metres(150)}}, nil, maintenance.FullCheck, 50_000 * km, 0, 1, rule.Practice, 0},
		{"days that may be longer than the months", hand, nil, []record.Interval{{Task: "full-check", Days: metres(182)}}, nil, maintenance.FullCheck, 50_000 * km, 6, 1, rule.Practice, 1},
		{"cartridge from a document", maintenance.Setup{Lubrication: maintenance.Cartridge}, []record.Interval{{Task: "cartridge-change", Months: metres(36), Source: doc}}, nil, nil, maintenance.CartridgeSwap, 0, 36, 1, rule.Read, 0},
		{"cartridge without one", maintenance.Setup{Lubrication: maintenance.Cartridge}, []record.Interval{{Task: "cartridge-change", Months: metres(36)}}, nil, nil, maintenance.CartridgeSwap, 0, 0, 1, rule.Practice, 1},
		{"two factors of use", hand, nil, nil, []maintenance.Severity{{Name: "salt", Factor: 0.8}, {Name: "unpaved", Factor: 0.5}}, maintenance.GreaseLock, 5000 * km, 1, 0.4, rule.Practice, 0},
		{"a task of the type's own", hand, []record.Interval{{Task: "replace-pads", Months: metres(48), Source: doc}}, nil, nil, "replace-pads", 0, 48, 1, rule.Read, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			plan, err := maintenance.PlanIntervals(tt.setup, tt.typed, tt.own, tt.use)
			if err != nil {
				t.Fatal(err)
			}
			for _, i := range plan {
				if i.Task != tt.task {
					continue
				}
				if i.Distance != tt.distance || i.Months != tt.months || i.Evidence != tt.evidence || len(i.Refused) != tt.refused {
					t.Errorf("%+v", i)
				}
				near(t, "factor", i.Factor, tt.factor, 1e-12, "hand: factors multiply")
				return
			}
			t.Errorf("no interval of %s", tt.task)
		})
	}
	for _, f := range []float64{0, -1, 1.1, math.NaN()} {
		var domain *unit.DomainError
		if _, err := maintenance.PlanIntervals(hand, nil, nil, []maintenance.Severity{{Name: "x", Factor: f}}); !errors.As(err, &domain) {
			t.Errorf("factor %v: %v; want a DomainError", f, err)
		}
	}
}

func TestOwnIntervalsNeverStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		own := record.Interval{Task: maintenance.FullCheck}
		if rapid.Bool().Draw(t, "distance") {
			own.Metres = metres(int64(rapid.IntRange(1, 200).Draw(t, "km")) * 1_000_000)
		}
		if rapid.Bool().Draw(t, "months") {
			own.Months = metres(int64(rapid.IntRange(1, 24).Draw(t, "m")))
		}
		if rapid.Bool().Draw(t, "days") {
			own.Days = metres(int64(rapid.IntRange(1, 400).Draw(t, "d")))
		}
		var typed []record.Interval
		if rapid.Bool().Draw(t, "typed") {
			typed = []record.Interval{{Task: maintenance.FullCheck, Source: doc, Months: metres(int64(rapid.IntRange(1, 24).Draw(t, "typed months"))), Days: metres(int64(rapid.IntRange(1, 60).Draw(t, "typed days")))}}
		}
		plan, err := maintenance.PlanIntervals(maintenance.Setup{}, typed, []record.Interval{own}, nil)
		if err != nil {
			t.Fatal(err)
		}
		start := day(2026, rapid.IntRange(1, 12).Draw(t, "month"), rapid.IntRange(1, 28).Draw(t, "day"))
		due := func(i maintenance.Interval) maintenance.Date {
			d, err := maintenance.DueOn(maintenance.DueAsk{Interval: i, Since: maintenance.Since{On: start, ReadOn: start}, Today: start, Usage: wear.Usage{PerDay: 100 * km}})
			if err != nil {
				t.Fatal(err)
			}
			return d.On
		}
		without, err := maintenance.PlanIntervals(maintenance.Setup{}, typed, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		for k, i := range plan {
			if i.Task != without[k].Task {
				t.Fatalf("the order of tasks changed")
			}
			if i.Task != maintenance.FullCheck {
				continue
			}
			a, b := due(i), due(without[k])
			if a.Year*10000+a.Month*100+a.Day > b.Year*10000+b.Month*100+b.Day {
				t.Fatalf("%+v is due %v, later than %v without the fleet's own", i, a, b)
			}
		}
	})
}

func TestEventsBlockBothHalves(t *testing.T) {
	took := []maintenance.Asset{"vehicle/tractor-1", "vehicle/trailer-1", "part/pin-1", "part/wheel-1"}
	for _, e := range append(maintenance.Events(), maintenance.Event{Key: "something-else"}) {
		blocks := maintenance.BlockAfter(e.Key, took)
		if len(blocks) != len(took) {
			t.Fatalf("%s blocks %d of %d", e.Key, len(blocks), len(took))
		}
		for i, b := range blocks {
			if b.Asset != took[i] || b.Task != maintenance.AfterEvent || b.Why.String() == "" {
				t.Errorf("%s: %+v", e.Key, b)
			}
		}
	}
	for _, key := range []string{"jack-knife", "dropped-trailer", "high-coupling"} {
		if e, ok := maintenance.FindEvent(key); !ok || !e.Both {
			t.Errorf("%s does not block both halves (handbook chapter 05, section 3)", key)
		}
	}
}

func BenchmarkDueOn(b *testing.B) {
	asks := make([]maintenance.DueAsk, 1000)
	today := day(2026, 11, 25)
	for i := range asks {
		asks[i] = maintenance.DueAsk{Interval: every(50_000*km, 6), Since: maintenance.Since{On: day(2026, 1+i%10, 1+i%28), Distance: unit.Length(i*40) * km, ReadOn: day(2026, 11, 1+i%25)},
			Usage: wear.Usage{PerDay: 400 * km, SD: 40 * km}, Today: today}
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range asks {
			if _, err := maintenance.DueOn(a); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/task")
}

func TestLubricationOf(t *testing.T) {
	for text, want := range map[string]maintenance.Lubrication{" Liner ": maintenance.Liner, "central": maintenance.Central, "CARTRIDGE": maintenance.Cartridge, "manual": maintenance.ByHand} {
		if got, known := maintenance.LubricationOf(text); got != want || !known {
			t.Errorf("%q: %s, %v", text, got, known)
		}
	}
	if got, known := maintenance.LubricationOf("by magic"); got != maintenance.ByHand || known {
		t.Errorf("what nobody knows is %s, %v; want by hand, the careful one", got, known)
	}
}

func TestLatestDay(t *testing.T) {
	today := day(2026, 11, 25)
	for _, tt := range []struct {
		due   maintenance.Due
		want  int
		known bool
	}{
		{maintenance.Due{State: maintenance.Overdue, On: day(2026, 10, 1)}, -1, true},
		{maintenance.Due{State: maintenance.PossiblyOverdue, On: day(2026, 11, 20)}, 0, true},
		{maintenance.Due{State: maintenance.DueSoon, On: day(2026, 12, 1)}, 6, true},
		{maintenance.Due{State: maintenance.NotDue, On: day(2027, 11, 25)}, 365, true},
		{maintenance.Due{State: maintenance.CannotTellDue}, 0, false},
		{maintenance.Due{State: maintenance.DoneOnce, On: day(2026, 12, 1)}, 0, false},
	} {
		if got, known := tt.due.LatestDay(today); got != tt.want || known != tt.known {
			t.Errorf("%v on %v: %d, %v; want %d, %v", tt.due.State, tt.due.On, got, known, tt.want, tt.known)
		}
	}
	list := []maintenance.Due{{State: maintenance.NotDue}, {State: maintenance.DueSoon, On: day(2026, 12, 2)}, {State: maintenance.CannotTellDue}, {State: maintenance.DueSoon, On: day(2026, 12, 1)}, {State: maintenance.Overdue}, {State: maintenance.PossiblyOverdue}}
	slices.SortFunc(list, maintenance.Due.Compare)
	var got []string
	for _, d := range list {
		got = append(got, d.State.String()+d.On.String())
	}
	if want := "[overdue possibly overdue cannot tell due soon2026-12-01 due soon2026-12-02 not due]"; fmt.Sprint(got) != want {
		t.Errorf("%v, want %s", got, want)
	}
}
