package wear_test

import (
	"errors"
	"math"
	"testing"

	"underpin/unit"
	"underpin/wear"
)

// stated is an assumption with its own uncertainty: the parameters of handbook
// chapter 06, B2, and a mean rate known to a third.
func stated() wear.Prior {
	return wear.Prior{StartSD: mmOf(0.05), Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km,
		Drift: 0.0025 * wear.SquareMillimetrePer100000km, GaugeSD: mmOf(0.10), RateMeanSD: 0.10 * wear.MillimetrePer100000km}
}

func TestFewPartsLearnLittle(t *testing.T) {
	for _, tt := range []struct {
		name  string
		parts [][]wear.Reading
		basis wear.Basis
	}{
		{"none", nil, wear.Assumed},
		{"new parts only", [][]wear.Reading{{read(0, 0.01)}, {}}, wear.Assumed},
		{"one part", [][]wear.Reading{{read(2, 0.85)}}, wear.RateLearnt},
		{"seven parts", simulated(3, 7, 5), wear.RateLearnt},
		{"sixty parts", simulated(3, 60, 5), wear.FleetLearnt},
	} {
		l := must(wear.LearnFleet(tt.parts, stated(), wear.FleetOptions{}))(t)
		if l.Basis != tt.basis || (l.Why == "") != (tt.basis == wear.FleetLearnt) {
			t.Errorf("%s: %v, %q; want %v", tt.name, l.Basis, l.Why, tt.basis)
		}
		s := stated()
		switch tt.basis {
		case wear.Assumed:
			if l.Prior != s {
				t.Errorf("%s moved the stated values: %+v", tt.name, l.Prior)
			}
		case wear.RateLearnt:
			if l.Prior.RateSD != s.RateSD || l.Prior.Drift != s.Drift || l.Prior.GaugeSD != s.GaugeSD || !(l.Prior.RateMeanSD < s.RateMeanSD) {
				t.Errorf("%s: %+v", tt.name, l.Prior)
			}
		}
	}
	// One part, by hand in mm and 10⁵ km: var of the reading without its rate's
	// share is F = 0.0025 + 0.0064·4 + 0.0025·2 + 0.01 = 0.0431; β̂ = 0.85/2 = 0.425,
	// var β̂ = 0.0431/4 = 0.010775; with 0.30 ± 0.10:
	// β = (0.30/0.01 + 0.425/0.010775)/(1/0.01 + 1/0.010775) = 0.360168.
	l := must(wear.LearnFleet([][]wear.Reading{{read(2, 0.85)}}, stated(), wear.FleetOptions{}))(t)
	near(t, "β of one part", l.Prior.Rate.Per100000km(), (30+0.425/0.010775)/(100+1/0.010775), 1e-12, "hand: two normals weighed by their variances")
	near(t, "its standard error", l.Prior.RateMeanSD.Per100000km(), 1/math.Sqrt(100+1/0.010775), 1e-12, "hand")
	fixed := stated()
	fixed.RateMeanSD = 0
	if l := must(wear.LearnFleet([][]wear.Reading{{read(2, 0.85)}}, fixed, wear.FleetOptions{}))(t); l.Basis != wear.Assumed || l.Prior != fixed {
		t.Errorf("a rate that is known was moved: %+v", l)
	}
	var domain *unit.DomainError
	if _, err := wear.LearnFleet([][]wear.Reading{{read(2, math.NaN())}}, stated(), wear.FleetOptions{}); !errors.As(err, &domain) {
		t.Errorf("NaN: %v; want a DomainError", err)
	}
}

// TestCoverageOfIntervals draws fleets from the model itself: the intervals must
// hold what they promise, within the error of so many draws.
func TestCoverageOfIntervals(t *testing.T) {
	var n, in50, in90, zz float64
	for seed := uint64(1); seed <= 12; seed++ {
		b := must(wear.BackTestFleet(simulated(300+seed, 160, 8), stated(), wear.FleetOptions{}))(t)
		if b.Learnt.Basis != wear.FleetLearnt {
			t.Fatalf("basis %v", b.Learnt.Basis)
		}
		k := float64(len(b.Cases))
		n, in50, in90, zz = n+k, in50+k*b.Within50, in90+k*b.Within90, zz+k*b.RMS*b.RMS
		near(t, "widening", b.Widen, math.Max(1, b.RMS), 1e-12, "hand")
	}
	const source = "simulation from the model itself, four standard errors of a share"
	near(t, "50 % interval", in50/n, 0.50, 4*math.Sqrt(0.25/n), source)
	near(t, "90 % interval", in90/n, 0.90, 4*math.Sqrt(0.09/n), source)
	near(t, "mean square of z", zz/n, 1, 4*math.Sqrt(2/n), source)
}

// TestBackTestSeesOverconfidence gives readings twice as scattered as the stated
// gauge says, all spreads taken as known.
func TestBackTestSeesOverconfidence(t *testing.T) {
	tight := stated()
	tight.GaugeSD, tight.Drift = mmOf(0.03), 0
	b := must(wear.BackTestFleet(simulated(5, 200, 6), tight, wear.FleetOptions{KnownGauge: true, KnownDrift: true}))(t)
	if !(b.RMS > 1.2) || b.Widen != b.RMS || !(b.Within90 < 0.87) {
		t.Errorf("RMS %g, widen %g, %g within the 90 %% interval; a model without drift and with too good a gauge is over-confident (handbook chapter 06, B1.1)", b.RMS, b.Widen, b.Within90)
	}
	few := must(wear.BackTestFleet(simulated(5, 12, 6), tight, wear.FleetOptions{KnownGauge: true, KnownDrift: true}))(t)
	if few.Widen != 1 {
		t.Errorf("%d cases widen by %g; twenty are needed", len(few.Cases), few.Widen)
	}
	var deep [][]wear.Reading
	for _, r := range simulated(5, 60, 6) {
		if len(r) > 1 {
			deep = append(deep, r)
		}
	}
	for n, widened := range map[int]bool{19: false, 20: true} {
		b := must(wear.BackTestFleet(deep[:n], tight, wear.FleetOptions{KnownGauge: true, KnownDrift: true}))(t)
		if len(b.Cases) != n || (b.Widen > 1) != widened {
			t.Errorf("%d cases of %d parts, RMS %g, widen %g; twenty are enough (handbook chapter 06, B1.1)", len(b.Cases), n, b.RMS, b.Widen)
		}
	}
	var none *unit.NoAnswerError
	if _, err := wear.BackTestFleet([][]wear.Reading{{read(1, 0.3)}}, stated(), wear.FleetOptions{}); !errors.As(err, &none) {
		t.Errorf("%v; want a NoAnswerError", err)
	}
}

func TestWidened(t *testing.T) {
	s := must(wear.Learn(stated(), []wear.Reading{read(2, 0.85), read(3.5, 1.35)}))(t)
	w := s.Widened(1.5)
	for _, d := range []float64{0, 0.5, 3} {
		m1, sd1 := s.After(unit.Length(d * 1e8))
		m2, sd2 := w.After(unit.Length(d * 1e8))
		near(t, "mean", float64(m2), float64(m1), 1e-15, "algebra: only spreads are widened")
		rel(t, "spread", float64(sd2), 1.5*float64(sd1), 1e-12, "algebra")
	}
	if s.Widened(0.5) != s || s.Widened(math.NaN()) != s {
		t.Error("a factor below 1 narrowed a forecast")
	}
	if !(w.Left(mmOf(1.8), 0.05) < s.Left(mmOf(1.8), 0.05)) {
		t.Error("wider, and the careful distance is not shorter")
	}
}
