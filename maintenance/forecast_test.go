package maintenance_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

// b2 is the model of handbook chapter 06, B2, its readings as sizes of a pin that
// began at 50.8 mm, and the limit of 1.8 mm of wear.
func b2(n int) maintenance.ForecastAsk {
	readings := [][2]float64{{2.0, 0.85}, {3.5, 1.35}, {4.0, 1.42}}[:n]
	var history []maintenance.Moment
	for _, r := range readings {
		history = append(history, maintenance.Moment{At: unit.Length(r[0]) * 100_000 * km, Size: unit.Length((50.8 - r[1]) * mm)})
	}
	return maintenance.ForecastAsk{
		Measure: maintenance.PinNeck, Limit: unit.Length(49.0 * mm), Life: maintenance.LifeOf(unit.Length(50.8*mm), history),
		Fleet: wear.Learnt{Prior: known(0).Prior, Basis: wear.FleetLearnt, Parts: 40},
		Usage: wear.Usage{PerDay: 380 * km, SD: 40 * km, Walk: 150 * km}, ReadOn: day(2026, 1, 1), Today: day(2026, 1, 1),
	}
}

func TestForecastsOfTheHandbook(t *testing.T) {
	const source = "handbook chapter 06, B2"
	for n, want := range []struct {
		q05, q50, q95 float64 // 10⁵ km
		days10        float64 // fast
	}{
		{4.098637, 6.000000, 10.853155, 1138.6713}, {1.894967, 2.693428, 3.948232, 525.5112}, {0.712180, 1.201984, 1.878868, 209.0923}, {0.493770, 0.899790, 1.449871, 148.7405},
	} {
		a := b2(n)
		f, err := maintenance.ForecastWear(a)
		if err != nil {
			t.Fatal(err)
		}
		per := func(b maintenance.Bound) float64 { return float64(b.Distance/km) / 1e5 }
		near(t, "q05", per(f.Careful), want.q05, 5e-7, source)
		near(t, "q50", per(f.Middle), want.q50, 5e-7, source)
		near(t, "q95", per(f.Late), want.q95, 5e-7, source)
		a.Risk = 0.10
		f, err = maintenance.ForecastWear(a)
		if err != nil {
			t.Fatal(err)
		}
		if want := addDays(day(2026, 1, 1), int(want.days10)); f.Careful.On != want {
			t.Errorf("%d readings: %v, want %v (%s)", n, f.Careful.On, want, source)
		}
		label := f.Label.String()
		if !strings.Contains(label, [...]string{"no measurement", "one reading", "2 readings", "3 readings"}[n]) || !strings.Contains(label, "40 parts") || f.Evidence != rule.Derived {
			t.Errorf("%d readings: %q, %s", n, label, f.Evidence)
		}
		if len(f.Band) == 0 || len(f.Doubts) != 0 {
			t.Errorf("band of %d points, doubts %v", len(f.Band), f.Doubts)
		}
		for i := 1; i < len(f.Band); i++ {
			if !(f.Band[i].Mid >= f.Band[i-1].Mid && f.Band[i].Low <= f.Band[i].Mid && f.Band[i].Mid <= f.Band[i].High) {
				t.Errorf("band at %d: %+v after %+v; wear does not fall", i, f.Band[i], f.Band[i-1])
			}
		}
	}
}

func TestForecastAssumptionsAreMarked(t *testing.T) {
	a := b2(1)
	a.Fleet.Basis = wear.Assumed
	f, err := maintenance.ForecastWear(a)
	if err != nil {
		t.Fatal(err)
	}
	if f.Evidence != rule.Practice || !strings.Contains(f.Label.String(), "assumed") {
		t.Errorf("%s: %s (no wear rate is shipped as fact)", f.Evidence, f.Label)
	}
	a.Fleet.Basis = wear.RateLearnt
	if f, _ := maintenance.ForecastWear(a); f.Evidence != rule.Practice || !strings.Contains(f.Label.String(), "spreads assumed") {
		t.Errorf("%s: %s", f.Evidence, f.Label)
	}
}

func TestForecastCountsTheWaySince(t *testing.T) {
	a, b := b2(2), b2(2)
	b.Today, b.Since = day(2026, 3, 2), 20_000*km // 60 days on
	f, err1 := maintenance.ForecastWear(a)
	g, err2 := maintenance.ForecastWear(b)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	near(t, "distance left", float64(f.Careful.Distance-g.Careful.Distance), float64(20_000*km), 1, "hand: what ran since is gone")
	if f.Careful.On != g.Careful.On {
		t.Errorf("the day moved from %v to %v without a reading", f.Careful.On, g.Careful.On)
	}
	b.Since = unit.Length(math.NaN())
	g, err := maintenance.ForecastWear(b)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "distance left, way not read", float64(f.Careful.Distance-g.Careful.Distance), float64(60*380*km), 1, "hand: 60 days at 380 km")
	b.Today = day(2030, 1, 1)
	g, err = maintenance.ForecastWear(b)
	if err != nil || g.Careful.Distance != 0 || g.Careful.On != b.Today {
		t.Errorf("long past: %+v, %v; want nothing left, today", g.Careful, err)
	}
}

func TestForecastDoubts(t *testing.T) {
	a := b2(3)
	a.Life.Readings = append(a.Life.Readings, wear.Reading{Distance: 450_000 * km, Wear: unit.Length(0.02 * mm)})
	f, err := maintenance.ForecastWear(a)
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Doubts) != 1 || !strings.Contains(f.Doubts[0].String(), "new part") {
		t.Errorf("%v; a reading like a new part's asks whether it was replaced (handbook chapter 06, B1.6)", f.Doubts)
	}
}

func TestForecastHasNoAnswer(t *testing.T) {
	var none *unit.NoAnswerError
	a := b2(1)
	a.Life.New = unit.Length(math.NaN())
	if _, err := maintenance.ForecastWear(a); !errors.As(err, &none) {
		t.Errorf("no new size: %v", err)
	}
	a = b2(1)
	a.Limit = unit.Length(math.NaN())
	if _, err := maintenance.ForecastWear(a); !errors.As(err, &none) {
		t.Errorf("no limit: %v", err)
	}
	a = b2(2)
	a.Usage = wear.Usage{}
	f, err := maintenance.ForecastWear(a)
	if err != nil || f.Careful.On != (maintenance.Date{}) || !(f.Careful.Distance > 0) {
		t.Errorf("no usage: %+v, %v; want a distance and no day", f.Careful, err)
	}
	var domain *unit.DomainError
	a.Risk = 0.7
	if _, err := maintenance.ForecastWear(a); !errors.As(err, &domain) {
		t.Errorf("risk 0.7: %v", err)
	}
}

func TestWideningShortens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := b2(rapid.IntRange(0, 3).Draw(t, "readings"))
		plain, err := maintenance.ForecastWear(a)
		if err != nil {
			t.Fatal(err)
		}
		a.Widen = rapid.Float64Range(1, 2).Draw(t, "widen")
		wide, err := maintenance.ForecastWear(a)
		if err != nil {
			t.Fatal(err)
		}
		if wide.Careful.Distance > plain.Careful.Distance+1 {
			t.Fatalf("wider, and the careful distance grew from %v to %v", plain.Careful.Distance, wide.Careful.Distance)
		}
		if math.Abs(float64(wide.Middle.Distance-plain.Middle.Distance)) > 1 {
			t.Fatalf("widening moved the middle")
		}
	})
}

func TestChooseReplacement(t *testing.T) {
	const source = "handbook chapter 06, B4.2"
	f, err := maintenance.ForecastWear(b2(2))
	if err != nil {
		t.Fatal(err)
	}
	visits := []unit.Length{0, 20_000 * km, 40_000 * km, 60_000 * km, 80_000 * km, 100_000 * km}
	g := 263.110606 / float64(100_000*km)
	r, err := maintenance.ChooseReplacement(f, wear.Costs{Planned: 900, Failure: 6000}, g, visits, 0.05)
	if err != nil || r.Best != 2 {
		t.Fatalf("visit %d, %v; want the one at 0.4 (%s)", r.Best, err, source)
	}
	for i, want := range []float64{900.00, 847.51, 801.62, 833.84, 1175.70, 2014.36} {
		near(t, "J", r.Visits[i].Cost, want, 5e-3, source)
	}
	if r.Visits[3].Refused || !r.Visits[4].Refused {
		t.Errorf("F(0.6) = 1.8 %% is within 5 %%, F(0.8) = 9.5 %% is not (%s)", source)
	}
	r, err = maintenance.ChooseReplacement(f, wear.Costs{Planned: 900, Failure: 6000}, g, visits[4:], 0.05)
	if err != nil || r.Best != -1 {
		t.Errorf("only late visits: %d, %v; want none", r.Best, err)
	}
}
