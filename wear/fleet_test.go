package wear_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"underpin/unit"
	"underpin/wear"
)

// simulated is a fleet of parts by the model, with unequal numbers of readings.
func simulated(seed uint64, parts, most int) [][]wear.Reading {
	rng := rand.New(rand.NewPCG(seed, 1))
	var fleet [][]wear.Reading
	for i := range parts {
		a, b := rng.NormFloat64()*0.05, 0.30+rng.NormFloat64()*0.08
		w, x := a, 0.0
		var r []wear.Reading
		for range 1 + i%most {
			dx := 0.3 + rng.Float64()
			w += b*dx + math.Sqrt(0.0025*dx)*rng.NormFloat64()
			x += dx
			r = append(r, read(x, w+rng.NormFloat64()*0.10))
		}
		fleet = append(fleet, r)
	}
	return fleet
}

// start knows what a new part reads and guesses the rest, badly.
var guess = wear.Prior{StartSD: mmOf(0.05), Rate: 0.5 * wear.MillimetrePer100000km, RateSD: 0.2 * wear.MillimetrePer100000km, GaugeSD: mmOf(0.3)}

func TestFleetFindsItsParameters(t *testing.T) {
	f := must(wear.FitFleet(simulated(7, 400, 8), guess, wear.FleetOptions{}))(t)
	const source = "simulation with β 0.30, τ 0.08, q 0.0025, σ 0.10; 400 parts, four standard errors"
	near(t, "β", f.Prior.Rate.Per100000km(), 0.30, 4*f.Prior.RateMeanSD.Per100000km(), source)
	near(t, "τ", f.Prior.RateSD.Per100000km(), 0.08, 4*0.08/math.Sqrt(2*400)*1.5, source)
	near(t, "q", f.Prior.Drift.Per100000km(), 0.0025, 0.0025, source)
	near(t, "σ", f.Prior.GaugeSD.Millimetres(), 0.10, 4*0.10/math.Sqrt(2*1800)*1.5, source)
	if f.Floored || f.Parts != 400 || f.Readings != 1800 {
		t.Errorf("%+v", f)
	}
	if !(f.Prior.RateMeanSD > 0 && f.Prior.RateMeanSD < 0.1*f.Prior.Rate) {
		t.Errorf("standard error of β %v", f.Prior.RateMeanSD)
	}
}

// TestFleetAgainstDenseLikelihood writes the likelihood with full covariance
// matrices and asks for its value, and for no better one anywhere near.
func TestFleetAgainstDenseLikelihood(t *testing.T) {
	fleet := simulated(11, 60, 5)
	readings := 0
	for _, r := range fleet {
		readings += len(r)
	}
	f := must(wear.FitFleet(fleet, guess, wear.FleetOptions{}))(t)
	if f.Floored {
		t.Fatal("the spread was raised; choose another seed")
	}
	deviance := func(p wear.Prior) (sum float64) {
		for _, r := range fleet {
			_, _, d, err := dense(p, r)
			if err != nil {
				t.Fatal(err)
			}
			sum += d
		}
		return sum
	}
	const source = "dense likelihood, mm and 10⁵ km"
	best := deviance(f.Prior)
	near(t, "−2lnL", f.Deviance+float64(readings)*2*math.Log(1e3), best, 1e-8, source)
	for name, change := range map[string]func(*wear.Prior, float64){
		"β": func(p *wear.Prior, k float64) { p.Rate *= wear.Rate(k) }, "τ": func(p *wear.Prior, k float64) { p.RateSD *= wear.Rate(k) },
		"q": func(p *wear.Prior, k float64) { p.Drift *= wear.Drift(k) }, "σ": func(p *wear.Prior, k float64) { p.GaugeSD *= unit.Length(k) },
	} {
		at := func(k float64) float64 {
			p := f.Prior
			change(&p, k)
			return deviance(p) - best
		}
		up, down := at(math.Exp(0.01)), at(math.Exp(-0.01))
		curvature := (up + down) / (0.01 * 0.01)
		if !(curvature > 0) {
			t.Errorf("%s: the deviance does not rise to both sides: %g, %g", name, down, up)
		}
		// Where the parabola through three points has its lowest point.
		if off := -(up - down) / (2 * 0.01) / curvature; !(math.Abs(off) <= 2e-4) {
			t.Errorf("%s: the best value lies %.2g away, as a share (%s)", name, off, source)
		}
		for _, k := range []float64{0.5, 0.8, 1.25, 2} {
			if d := at(k); !(d > 0) {
				t.Errorf("%s × %g is better by %g", name, k, -d)
			}
		}
	}
	// The standard error of β by generalised least squares: u = x, V by the model.
	var info float64
	for _, r := range fleet {
		n := len(r)
		V, x := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		for i := range n {
			xi := float64(r[i].Distance / reach)
			x.SetVec(i, xi)
			for j := i; j < n; j++ {
				xj := float64(r[j].Distance / reach)
				v := 0.0025 + math.Pow(f.Prior.RateSD.Per100000km(), 2)*xi*xj + f.Prior.Drift.Per100000km()*math.Min(xi, xj)
				if i == j {
					v += math.Pow(f.Prior.GaugeSD.Millimetres(), 2)
				}
				V.SetSym(i, j, v)
			}
		}
		var c mat.Cholesky
		var k mat.VecDense
		if !c.Factorize(V) || c.SolveVecTo(&k, x) != nil {
			t.Fatal("not positive definite")
		}
		info += mat.Dot(x, &k)
	}
	rel(t, "se β", f.Prior.RateMeanSD.Per100000km(), 1/math.Sqrt(info), 1e-9, "algebra: generalised least squares")
}

func TestFleetOptions(t *testing.T) {
	fleet := simulated(5, 60, 6)
	known := guess
	known.GaugeSD, known.Drift = mmOf(0.10), 0.0025*wear.SquareMillimetrePer100000km
	f := must(wear.FitFleet(fleet, known, wear.FleetOptions{KnownGauge: true, KnownDrift: true}))(t)
	if f.Prior.GaugeSD != known.GaugeSD || f.Prior.Drift != known.Drift {
		t.Errorf("known values moved: %+v", f.Prior)
	}
	free := must(wear.FitFleet(fleet, known, wear.FleetOptions{}))(t)
	half := must(wear.FitFleet(fleet, known, wear.FleetOptions{KnownGauge: true}))(t)
	if !(free.Deviance <= half.Deviance+1e-6 && half.Deviance <= f.Deviance+1e-6) {
		t.Errorf("deviance %g free, %g with the gauge known, %g with both: a freer model must not fit worse", free.Deviance, half.Deviance, f.Deviance)
	}
	// Parts that all wear alike: the spread comes out as nothing and is raised.
	var alike [][]wear.Reading
	for i := range 12 {
		var r []wear.Reading
		for k := range 5 {
			noise := 0.02
			if (i+k)%2 == 0 {
				noise = -0.02
			}
			r = append(r, read(float64(k+1), 0.3*float64(k+1)+noise))
		}
		alike = append(alike, r)
	}
	a := must(wear.FitFleet(alike, guess, wear.FleetOptions{}))(t)
	if !a.Floored || !(math.Abs(float64(a.Prior.RateSD/a.Prior.Rate)-0.1) <= 1e-12) {
		t.Errorf("parts that wear alike: τ/β %v, floored %v; want a tenth (handbook chapter 06, B1.5)", a.Prior.RateSD/a.Prior.Rate, a.Floored)
	}
}

func TestFleetHasNoAnswer(t *testing.T) {
	var none *unit.NoAnswerError
	for name, f := range map[string]func() error{
		"no parts":    func() error { _, err := wear.FitFleet(nil, guess, wear.FleetOptions{}); return err },
		"seven parts": func() error { _, err := wear.FitFleet(simulated(1, 7, 5), guess, wear.FleetOptions{}); return err },
		"two readings each": func() error {
			_, err := wear.FitFleet(simulated(1, 30, 2), guess, wear.FleetOptions{})
			return err
		},
	} {
		if err := f(); !errors.As(err, &none) {
			t.Errorf("%s: %v; want a NoAnswerError", name, err)
		}
	}
	known := wear.FleetOptions{KnownGauge: true, KnownDrift: true}
	if _, err := wear.FitFleet(simulated(1, 30, 2), guess, known); err != nil {
		t.Errorf("two readings each with gauge and drift known: %v", err)
	}
	var domain *unit.DomainError
	bad := simulated(1, 10, 5)
	bad[3][0].Wear = unit.Length(math.NaN())
	if _, err := wear.FitFleet(bad, guess, wear.FleetOptions{}); !errors.As(err, &domain) {
		t.Errorf("NaN: %v; want a DomainError", err)
	}
}

// TestBacktest is the finding that made the drift term part of the model, on
// simulated wear: learn the fleet from the first half, predict the second.
func TestBacktest(t *testing.T) {
	covered := map[bool]int{}
	parts := 0
	for seed := uint64(1); seed <= 12; seed++ {
		fleet := simulated(100+seed, 40, 8)
		var early [][]wear.Reading
		for _, r := range fleet {
			early = append(early, r[:(len(r)+1)/2])
		}
		for _, drift := range []bool{true, false} {
			known := guess
			known.GaugeSD = mmOf(0.10)
			known.Drift = 0
			if drift {
				known.Drift = 0.0025 * wear.SquareMillimetrePer100000km
			}
			f := must(wear.FitFleet(early, known, wear.FleetOptions{KnownGauge: true, KnownDrift: true}))(t)
			for i, r := range fleet {
				if len(r) < 4 {
					continue
				}
				if drift {
					parts++
				}
				s := must(wear.Learn(f.Prior, early[i]))(t)
				last := r[len(r)-1]
				mean, sd := s.NextReading(last.Distance-s.At, f.Prior.GaugeSD)
				if math.Abs(float64(last.Wear-mean)) <= 1.6448536*float64(sd) {
					covered[drift]++
				}
			}
		}
	}
	with, without := float64(covered[true])/float64(parts), float64(covered[false])/float64(parts)
	near(t, "90 % interval with drift", with, 0.90, 4*math.Sqrt(0.09/float64(parts)), fmt.Sprintf("simulation, %d parts", parts))
	if !(without < with) {
		t.Errorf("without drift %.3f covered, with it %.3f", without, with)
	}
}

func BenchmarkFitFleet(b *testing.B) {
	fleet := simulated(3, 500, 6)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.FitFleet(fleet, guess, wear.FleetOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
