package wear_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/wear"
)

const (
	reach = 100_000 * unit.Kilometre // the 10⁵ km of handbook chapter 06, part B
	b2    = "handbook chapter 06, B2"
)

// prior is that of the worked examples: illustrative parameters, not field data.
var prior = wear.Prior{
	StartSD: 0.05 * unit.Millimetre, Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km,
	Drift: 0.0025 * wear.SquareMillimetrePer100000km, GaugeSD: 0.10 * unit.Millimetre,
}

var (
	worn  = mmOf(1.8) // limit L
	usage = wear.Usage{PerDay: 380 * unit.Kilometre, SD: 40 * unit.Kilometre, Walk: 150 * unit.Kilometre}
)

func read(x, y float64) wear.Reading {
	return wear.Reading{Distance: unit.Length(x) * reach, Wear: mmOf(y)}
}

var three = []wear.Reading{read(2.0, 0.85), read(3.5, 1.35), read(4.0, 1.42)}

func TestWorkedForecasts(t *testing.T) {
	const (
		mw, mb, vww, vwb, vbb = 0, 1, 2, 3, 4
	)
	for n, tt := range []struct {
		state             [5]float64
		mean, sd, next    float64 // at +1.0
		q                 [5]float64
		within            float64
		withinTol         float64
		days              [4]float64 // q05 q10 q50 q90, Gauss–Hermite
		fast              float64    // q10
		year, yearFast    float64    // P within 365 d
		yearTol, yearFTol float64
	}{
		{[5]float64{0, 0.3, 0.0025, 0, 0.0064}, 0.3, 0.10677078, 0.14628739,
			[5]float64{4.098637, 4.412333, 6.000000, 9.226141, 10.853155}, 0, 1e-8,
			[4]float64{1043.2913, 1135.0006, 1593.8295, 2500.1154}, 1138.6713, 0, 0, 1e-8, 1e-8},
		{[5]float64{0.7919953596, 0.3742459397, 0.0076798144, 0.0029698376, 0.0025986079}, 1.16624130, 0.13681410, 0.16946415,
			[5]float64{1.894967, 2.045385, 2.693428, 3.612854, 3.948232}, 0.00000181, 5e-9,
			[4]float64{481.5823, 524.2907, 712.7337, 987.3745}, 525.5112, 0.00223937, 0.00160936, 5e-9, 5e-9},
		{[5]float64{1.3509297107, 0.3736074377, 0.0072365152, 0.0018978921, 0.0012951831}, 1.72453715, 0.12176815, 0.15756739,
			[5]float64{0.712180, 0.808307, 1.201984, 1.708089, 1.878868}, 0.26771920, 5e-9,
			[4]float64{183.1719, 208.8255, 317.3605, 464.4323}, 209.0923, 0.67770104, 0.68101975, 5e-9, 5e-9},
		{[5]float64{1.4768535227, 0.3591354662, 0.0051709958, 0.0012292151, 0.0009822884}, 1.83598899, 0.10541212, 0.14529871,
			[5]float64{0.493770, 0.573904, 0.899790, 1.312410, 1.449871}, 0.63360338, 5e-9,
			[4]float64{127.3899, 148.5818, 237.4719, 356.2743}, 148.7405, 0.91335038, 0.91138843, 5e-9, 5e-9},
	} {
		t.Run(fmt.Sprintf("n=%d", n), func(t *testing.T) {
			f := must(wear.ForecastWear(prior, three[:n], worn))(t)
			s := f.State
			// In mm and 10⁵ km, as the source prints.
			toRate := float64(reach) * 1e3
			near(t, "m_w", s.Wear.Millimetres(), tt.state[mw], 5e-11, b2)
			near(t, "m_b", float64(s.Rate)*toRate, tt.state[mb], 5e-11, b2)
			near(t, "V_ww", s.VarWear*1e6, tt.state[vww], 5.1e-11, b2)
			near(t, "V_wb", s.Cov*1e3*toRate, tt.state[vwb], 5.1e-11, b2)
			near(t, "V_bb", s.VarRate*toRate*toRate, tt.state[vbb], 5.1e-11, b2)
			mean, sd := s.After(reach)
			near(t, "wear at +1.0", mean.Millimetres(), tt.mean, 5e-9, b2)
			near(t, "sd at +1.0", sd.Millimetres(), tt.sd, 5e-9, b2)
			_, next := s.NextReading(reach, prior.GaugeSD)
			near(t, "sd of a reading at +1.0", next.Millimetres(), tt.next, 5e-9, b2)
			for i, q := range []unit.Length{f.Q05, f.Q10, f.Q50, f.Q90, f.Q95} {
				near(t, fmt.Sprintf("quantile %d", i), float64(q/reach), tt.q[i], 5.1e-7, b2)
			}
			near(t, "P within +1.0", s.Within(worn, reach), tt.within, tt.withinTol, b2)
			for i, p := range []float64{0.05, 0.10, 0.50, 0.90} {
				d := must(wear.DaysLeft(s, worn, usage, p))(t)
				near(t, fmt.Sprintf("days q%02.0f", 100*p), float64(d), tt.days[i], 5.1e-5, b2+": Gauss–Hermite 32")
			}
			near(t, "days q10, fast", float64(must(wear.DaysLeftFast(s, worn, usage, 0.10))(t)), tt.fast, 5.1e-5, b2)
			near(t, "P within 365 d", must(wear.ReachedWithin(s, worn, usage, 365))(t), tt.year, tt.yearTol, b2)
			near(t, "P within 365 d, fast", must(wear.ReachedWithinFast(s, worn, usage, 365))(t), tt.yearFast, tt.yearFTol, b2)
			if f.Doubtful {
				t.Errorf("doubtful with P(rate < 0) = %g", f.FallingRate)
			}
			if s.Readings != n {
				t.Errorf("%d readings, want %d", s.Readings, n)
			}
		})
	}
}

// TestOneReadingClosedForm holds the recursion against the formulas for a single
// reading.
func TestOneReadingClosedForm(t *testing.T) {
	const source = "handbook chapter 06, B1.2: closed form for one reading"
	x, y := 2.0, 0.85
	α2, τ2, q, σ2 := 0.0025, 0.0064, 0.0025, 0.01
	F := α2 + τ2*x*x + q*x + σ2
	v := y - 0.3*x
	s := must(wear.Learn(prior, three[:1]))(t)
	toRate := float64(reach) * 1e3
	near(t, "ŵ", s.Wear.Millimetres(), 0.3*x+(F-σ2)/F*v, 1e-13, source)
	near(t, "b̂", float64(s.Rate)*toRate, 0.3+τ2*x/F*v, 1e-13, source)
	near(t, "V_ww", s.VarWear*1e6, σ2*(F-σ2)/F, 1e-15, source)
	near(t, "V_wb", s.Cov*1e3*toRate, τ2*x*σ2/F, 1e-15, source)
	near(t, "V_bb", s.VarRate*toRate*toRate, τ2-τ2*τ2*x*x/F, 1e-15, source)
}

// drawPrior and drawReadings draw in mm and 10⁵ km.
func drawPrior(rt *rapid.T) wear.Prior {
	return wear.Prior{
		Start: mmOf(rapid.Float64Range(-0.05, 0.1).Draw(rt, "a0")), StartSD: mmOf(rapid.Float64Range(0, 0.1).Draw(rt, "α")),
		Rate:    wear.Rate(rapid.Float64Range(0.05, 0.6).Draw(rt, "β")) * wear.MillimetrePer100000km,
		RateSD:  wear.Rate(rapid.Float64Range(0.01, 0.15).Draw(rt, "τ")) * wear.MillimetrePer100000km,
		Drift:   wear.Drift(rapid.Float64Range(0, 0.01).Draw(rt, "q")) * wear.SquareMillimetrePer100000km,
		GaugeSD: mmOf(rapid.Float64Range(0.01, 0.2).Draw(rt, "σ")),
	}
}

func drawReadings(rt *rapid.T, p wear.Prior, most int) []wear.Reading {
	n := rapid.IntRange(0, most).Draw(rt, "n")
	var r []wear.Reading
	x := 0.0
	for range n {
		x += rapid.Float64Range(0, 1.5).Draw(rt, "dx") // two readings at one place are allowed
		r = append(r, read(x, 0.3*x+rapid.Float64Range(-0.2, 0.2).Draw(rt, "dy")))
	}
	return r
}

// dense is the same answer from the joint normal distribution of wear, rate and
// readings, without any recursion: mm and 10⁵ km.
func dense(p wear.Prior, readings []wear.Reading) (mean [2]float64, cov [3]float64, deviance float64, err error) {
	n := len(readings)
	α2, τ2 := math.Pow(p.StartSD.Millimetres(), 2), math.Pow(p.RateSD.Per100000km(), 2)
	q, σ2 := p.Drift.Per100000km(), math.Pow(p.GaugeSD.Millimetres(), 2)
	a0, β := p.Start.Millimetres(), p.Rate.Per100000km()
	x := func(i int) float64 { return float64(readings[i].Distance / reach) }
	last := x(n - 1)
	wearCov := func(s, t float64) float64 { return α2 + τ2*s*t + q*math.Min(s, t) }
	V := mat.NewSymDense(n, nil)
	cw, cb, r := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := wearCov(x(i), x(j))
			if i == j {
				v += σ2
			}
			V.SetSym(i, j, v)
		}
		cw.SetVec(i, wearCov(x(i), last))
		cb.SetVec(i, τ2*x(i))
		r.SetVec(i, readings[i].Wear.Millimetres()-a0-β*x(i))
	}
	var chol mat.Cholesky
	if !chol.Factorize(V) {
		return mean, cov, 0, errors.New("not positive definite")
	}
	var kr, kw, kb mat.VecDense
	for _, s := range []struct{ dst, b *mat.VecDense }{{&kr, r}, {&kw, cw}, {&kb, cb}} {
		if err := chol.SolveVecTo(s.dst, s.b); err != nil {
			return mean, cov, 0, err
		}
	}
	mean = [2]float64{a0 + β*last + mat.Dot(cw, &kr), β + mat.Dot(cb, &kr)}
	cov = [3]float64{wearCov(last, last) - mat.Dot(cw, &kw), τ2*last - mat.Dot(cw, &kb), τ2 - mat.Dot(cb, &kb)}
	deviance = float64(n)*math.Log(2*math.Pi) + chol.LogDet() + mat.Dot(r, &kr)
	return mean, cov, deviance, nil
}

func TestRecursionAgainstDenseMatrices(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPrior(rt)
		readings := drawReadings(rt, p, 8)
		if len(readings) == 0 {
			rt.Skip("nothing read")
		}
		s, err := wear.Learn(p, readings)
		if err != nil {
			rt.Fatal(err)
		}
		mean, cov, deviance, err := dense(p, readings)
		if err != nil {
			rt.Skip(err.Error())
		}
		toRate := float64(reach) * 1e3
		deviance -= float64(len(readings)) * 2 * math.Log(1e3) // the density is per metre, not per mm
		for what, pair := range map[string][2]float64{
			"m_w": {s.Wear.Millimetres(), mean[0]}, "m_b": {float64(s.Rate) * toRate, mean[1]}, "V_ww": {s.VarWear * 1e6, cov[0]},
			"V_wb": {s.Cov * 1e3 * toRate, cov[1]}, "V_bb": {s.VarRate * toRate * toRate, cov[2]}, "−2lnL": {s.LogLik, deviance},
		} {
			if !(math.Abs(pair[0]-pair[1]) <= 1e-9*math.Max(1, math.Abs(pair[1]))) {
				rt.Errorf("%s = %.15g, dense %.15g", what, pair[0], pair[1])
			}
		}
	})
}

// TestErrorOfTheFleetRate: with drift 0 and the fleet's C, the state is that of
// the batch form with (I − KA)·C·(I − KA)ᵀ added.
func TestErrorOfTheFleetRate(t *testing.T) {
	p := prior
	p.Drift = 0
	p.RateMeanSD = 0.03 * wear.MillimetrePer100000km
	s := must(wear.Learn(p, three))(t)
	// Batch: z = (1, x), G = diag(α², τ²), K = (σ²G⁻¹ + A)⁻¹.
	A := mat.NewDense(2, 2, nil)
	for _, r := range three {
		x := float64(r.Distance / reach)
		A.Add(A, mat.NewDense(2, 2, []float64{1, x, x, x * x}))
	}
	var B, K mat.Dense
	B.Add(mat.NewDense(2, 2, []float64{0.01 / 0.0025, 0, 0, 0.01 / 0.0064}), A)
	if err := K.Inverse(&B); err != nil {
		t.Fatal(err)
	}
	var KA, rest, C mat.Dense
	KA.Mul(&K, A)
	rest.Sub(mat.NewDense(2, 2, []float64{1, 0, 0, 1}), &KA)
	C.Product(&rest, mat.NewDense(2, 2, []float64{0, 0, 0, 0.0009}), rest.T())
	C.Add(&C, scaled(0.01, &K))
	x := 4.0 // intercept and slope at 0, carried to the last reading
	toRate := float64(reach) * 1e3
	const source = "handbook chapter 06, B1.2, batch form"
	near(t, "V_ww", s.VarWear*1e6, C.At(0, 0)+2*x*C.At(0, 1)+x*x*C.At(1, 1), 1e-14, source)
	near(t, "V_wb", s.Cov*1e3*toRate, C.At(0, 1)+x*C.At(1, 1), 1e-14, source)
	near(t, "V_bb", s.VarRate*toRate*toRate, C.At(1, 1), 1e-14, source)
}

func scaled(k float64, m *mat.Dense) *mat.Dense {
	var out mat.Dense
	out.Scale(k, m)
	return &out
}

func TestQuantilesRise(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPrior(rt)
		readings := drawReadings(rt, p, 5)
		limit := mmOf(rapid.Float64Range(0.3, 3).Draw(rt, "L"))
		f, err := wear.ForecastWear(p, readings, limit)
		var none *unit.NoAnswerError
		if errors.As(err, &none) {
			return
		} else if err != nil {
			rt.Fatal(err)
		}
		q := []unit.Length{f.Q05, f.Q10, f.Q50, f.Q90, f.Q95}
		for i := range q {
			if !(q[i] >= 0) || i > 0 && !(q[i] >= q[i-1]) {
				rt.Fatalf("quantiles %v", q)
			}
		}
		for i, p := range []float64{0.05, 0.10, 0.50, 0.90, 0.95} {
			if q[i] > 0 && !math.IsInf(float64(q[i]), 1) {
				if got := f.State.Within(limit, q[i]); !(math.Abs(got-p) <= 1e-8) {
					rt.Errorf("P within q%02.0f is %g", 100*p, got)
				}
			}
		}
		if math.IsInf(float64(f.Q50), 1) {
			rt.Error("the median is unbounded at a rate above nothing")
		}
	})
}

// TestUselessGaugeTeachesNothing: with a gauge of enormous error n readings say
// what none say, moved on to the last of them.
func TestUselessGaugeTeachesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPrior(rt)
		readings := drawReadings(rt, p, 4)
		for i := range readings {
			readings[i].GaugeSD = 1e6 // metre
		}
		s, err := wear.Learn(p, readings)
		if err != nil {
			rt.Fatal(err)
		}
		new, err := wear.Learn(p, nil)
		if err != nil {
			rt.Fatal(err)
		}
		d := s.At
		wearThen, sdThen := new.After(d)
		wearNow, sdNow := s.After(0)
		if !(math.Abs(float64(wearNow-wearThen)) <= 1e-12) || !(math.Abs(float64(sdNow-sdThen)) <= 1e-9*float64(sdThen)+1e-15) {
			rt.Errorf("wear %v ± %v, without readings %v ± %v", wearNow, sdNow, wearThen, sdThen)
		}
		if !(math.Abs(float64(s.Rate/new.Rate)-1) <= 1e-9 && math.Abs(s.VarRate/new.VarRate-1) <= 1e-9) {
			rt.Errorf("rate %v, without readings %v", s.Rate, new.Rate)
		}
	})
}

// TestManyReadingsAreOLS: a fleet that says nothing and no drift leave the line
// of least squares.
func TestManyReadingsAreOLS(t *testing.T) {
	p := wear.Prior{StartSD: 1e3, Rate: 0.3 * wear.MillimetrePer100000km, RateSD: 1e3 * wear.MillimetrePer100000km, GaugeSD: mmOf(0.05)}
	var r []wear.Reading
	var x, y []float64
	for i := range 8 {
		xi, yi := 0.5*float64(i), 0.04+0.31*0.5*float64(i)+0.03*math.Sin(3*float64(i))
		r = append(r, read(xi, yi))
		x, y = append(x, xi), append(y, yi)
	}
	s := must(wear.Learn(p, r))(t)
	l := must(wear.FitLine(x, y))(t)
	near(t, "rate", s.Rate.Per100000km(), l.Slope, 1e-7, "algebra: flat prior")
	near(t, "wear at the last reading", s.Wear.Millimetres(), l.At(3.5), 1e-7, "algebra: flat prior")
	near(t, "sd of the rate", s.RateSD().Per100000km(), 0.05/math.Sqrt(l.Sxx), 1e-7, "algebra: σ/√Sxx")
}

// TestCoverage simulates parts by the model and counts how often the true wear
// falls into the interval, with the drift term and without it.
func TestCoverage(t *testing.T) {
	const parts = 4000
	rng := rand.New(rand.NewPCG(20261125, 6))
	wearIn, driftless := 0, 0
	q0 := prior
	q0.Drift = 0
	for range parts {
		a, b := rng.NormFloat64()*0.05, 0.30+rng.NormFloat64()*0.08
		w, x := a, 0.0
		var r []wear.Reading
		step := func(dx float64) {
			w += b*dx + math.Sqrt(0.0025*dx)*rng.NormFloat64()
			x += dx
		}
		for _, dx := range []float64{1.0, 0.7, 0.6, 0.9} {
			step(dx)
			r = append(r, read(x, w+rng.NormFloat64()*0.10))
		}
		mean, sd := must(wear.Learn(prior, r))(t).After(reach)
		overconfident := must(wear.Learn(q0, r))(t)
		mean0, sd0 := overconfident.After(reach)
		step(1)
		if math.Abs(w-mean.Millimetres()) <= 1.6448536*sd.Millimetres() {
			wearIn++
		}
		if math.Abs(w-mean0.Millimetres()) <= 1.6448536*sd0.Millimetres() {
			driftless++
		}
	}
	// Four standard errors of a share; the seed is fixed.
	tol := func(p float64) float64 { return 4 * math.Sqrt(p*(1-p)/parts) }
	near(t, "90 % interval of the wear at +1.0", float64(wearIn)/parts, 0.90, tol(0.90), "simulation of the model itself")
	if got := float64(driftless) / parts; !(got < 0.88) {
		t.Errorf("without the drift term the 90 %% interval covers %.3f: it should be over-confident", got)
	}
}

// TestCarefulDistanceCoverage counts how many parts have passed their limit at
// the distance that the forecast gave for each risk.
func TestCarefulDistanceCoverage(t *testing.T) {
	const parts = 4000
	rng := rand.New(rand.NewPCG(3, 14))
	early := map[float64]int{}
	for range parts {
		a, b := rng.NormFloat64()*0.05, 0.30+rng.NormFloat64()*0.08
		w1 := a + b*2 + math.Sqrt(0.0025*2)*rng.NormFloat64()
		s := must(wear.Learn(prior, []wear.Reading{read(2, w1+rng.NormFloat64()*0.10)}))(t)
		// One increment serves all: the path of a part is one.
		noise := rng.NormFloat64()
		for _, p := range []float64{0.05, 0.10, 0.50, 0.90} {
			d := float64(s.Left(mmOf(3), p) / reach)
			if w1+b*d+math.Sqrt(0.0025*d)*noise >= 3 {
				early[p]++
			}
		}
	}
	for _, p := range []float64{0.05, 0.10, 0.50, 0.90} {
		near(t, fmt.Sprintf("at the limit by q%02.0f", 100*p), float64(early[p])/parts, p, 4*math.Sqrt(p*(1-p)/parts), "simulation of the model itself, limit far away")
	}
}

func TestCheckReading(t *testing.T) {
	const source = "handbook chapter 06, B1.6"
	_, sd := must(wear.Learn(prior, three[:2]))(t).NextReading(0.5*reach, prior.GaugeSD)
	mean, _ := must(wear.Learn(prior, three[:2]))(t).After(0.5 * reach)
	for _, tt := range []struct {
		name                                   string
		y                                      float64 // mm
		remeasure, holdOut, replaced, fellBack bool
	}{
		{"as read", 1.42, false, false, false, false},
		{"2.9 sd high", mean.Millimetres() + 2.9*sd.Millimetres(), false, false, false, false},
		{"3.1 sd high", mean.Millimetres() + 3.1*sd.Millimetres(), true, false, false, false},
		{"5.1 sd high", mean.Millimetres() + 5.1*sd.Millimetres(), true, true, false, false},
		{"a new part", 0.05, true, true, true, true},
		{"fell back by 0.43 mm, more than 3·√2·0.1", 1.35 - 0.43, true, false, false, true},
		{"fell back by 0.42 mm", 1.35 - 0.42, true, false, false, false},
	} {
		c := must(wear.CheckReading(prior, three[:2], read(4, tt.y)))(t)
		if c.Remeasure != tt.remeasure || c.HoldOut != tt.holdOut || c.Replaced != tt.replaced || c.FellBack != tt.fellBack {
			t.Errorf("%s: %+v; want %v %v %v %v (%s)", tt.name, c, tt.remeasure, tt.holdOut, tt.replaced, tt.fellBack, source)
		}
	}
	if c := must(wear.CheckReading(prior, nil, read(4, 0.02)))(t); c.Replaced || c.FellBack {
		t.Errorf("a first reading cannot have been replaced: %+v", c)
	}
}

// TestCheckReadingByHand: a part never read, and a coarse gauge.
func TestCheckReadingByHand(t *testing.T) {
	const source = "hand: normal densities in mm, x = 2, y = 0.9"
	r := read(2, 0.9)
	r.Resolution = mmOf(0.12)
	σ2 := 0.01 + 0.12*0.12/12
	F, v := 0.0025+0.0064*4+0.0025*2+σ2, 0.9-0.6
	c := must(wear.CheckReading(prior, nil, r))(t)
	near(t, "expected", c.Expected.Millimetres(), 0.6, 1e-12, source)
	near(t, "sd", c.SD.Millimetres(), math.Sqrt(F), 1e-12, source)
	near(t, "innovation", c.Innovation, v/math.Sqrt(F), 1e-12, source)
	newF := 0.0025 + σ2
	want := math.Log(math.Exp(-v*v/(2*F))/math.Sqrt(F)) - math.Log(math.Exp(-0.81/(2*newF))/math.Sqrt(newF))
	near(t, "likelihood against a new part", c.AgainstNew, want, 1e-9, source)
	own := read(2, 0.9)
	own.GaugeSD = mmOf(0.02)
	fine := must(wear.CheckReading(prior, nil, own))(t)
	near(t, "sd with a gauge of its own", fine.SD.Millimetres(), math.Sqrt(0.0025+0.0064*4+0.0025*2+0.0004), 1e-12, source)
}

// TestCertainUsage: without spread of the usage days are distance over pace.
func TestCertainUsage(t *testing.T) {
	s := must(wear.Learn(prior, three))(t)
	steady := wear.Usage{PerDay: 400 * unit.Kilometre}
	for _, p := range []float64{0.05, 0.5, 0.9} {
		want := float64(s.Left(worn, p) / steady.PerDay)
		near(t, "days", float64(must(wear.DaysLeft(s, worn, steady, p))(t)), want, 1e-8*want, "algebra")
		near(t, "days, fast", float64(must(wear.DaysLeftFast(s, worn, steady, p))(t)), want, 1e-8*want, "algebra")
	}
	walk := steady
	walk.Walk = 2000 * unit.Kilometre
	a := must(wear.ReachedWithin(s, worn, walk, 150))(t)
	v := s.VarWear + 2*6e7*s.Cov + 6e7*6e7*s.VarRate + float64(s.Drift)*6e7 + float64(s.Rate*s.Rate)*4e12*150
	m := float64(s.Wear) + float64(s.Rate)*6e7 - float64(worn)
	near(t, "P with day-to-day spread", a, 0.5*math.Erfc(-m/math.Sqrt(2*v)), 1e-12, "hand: 400 km · 150 d, variance m_b²·Q·t added")
}

func TestForecastRefuses(t *testing.T) {
	change := func(f func(*wear.Prior)) wear.Prior {
		p := prior
		f(&p)
		return p
	}
	bad := unit.Length(math.NaN())
	for name, in := range map[string]struct {
		p     wear.Prior
		r     []wear.Reading
		limit unit.Length
	}{
		"limit at the start":  {prior, nil, 0},
		"limit NaN":           {prior, nil, bad},
		"limit infinite":      {prior, nil, unit.Length(math.Inf(1))},
		"rate 0":              {change(func(p *wear.Prior) { p.Rate = 0 }), nil, worn},
		"rate NaN":            {change(func(p *wear.Prior) { p.Rate = wear.Rate(math.NaN()) }), nil, worn},
		"rate-sd negative":    {change(func(p *wear.Prior) { p.RateSD = -1e-12 }), nil, worn},
		"start-sd NaN":        {change(func(p *wear.Prior) { p.StartSD = bad }), nil, worn},
		"start NaN":           {change(func(p *wear.Prior) { p.Start = bad }), nil, worn},
		"drift negative":      {change(func(p *wear.Prior) { p.Drift = -1 }), nil, worn},
		"gauge NaN":           {change(func(p *wear.Prior) { p.GaugeSD = bad }), nil, worn},
		"rate-mean-sd NaN":    {change(func(p *wear.Prior) { p.RateMeanSD = wear.Rate(math.NaN()) }), nil, worn},
		"wear NaN":            {prior, []wear.Reading{{Distance: 1, Wear: bad}}, worn},
		"distance negative":   {prior, []wear.Reading{{Distance: -1}}, worn},
		"out of order":        {prior, []wear.Reading{read(2, 0.5), read(1, 0.3)}, worn},
		"no error, no spread": {wear.Prior{Rate: prior.Rate}, []wear.Reading{read(0, 0)}, worn},
	} {
		var domain *unit.DomainError
		if _, err := wear.ForecastWear(in.p, in.r, in.limit); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
	var none *unit.NoAnswerError
	falling := change(func(p *wear.Prior) { p.RateSD, p.Drift = 0.5*wear.MillimetrePer100000km, 0 })
	if _, err := wear.ForecastWear(falling, []wear.Reading{read(1, 0.3), read(2, 0.1), read(3, -0.3)}, worn); !errors.As(err, &none) {
		t.Errorf("wear that falls: %v; want a NoAnswerError", err)
	}
	s := must(wear.Learn(prior, three))(t)
	for name, f := range map[string]func() error{
		"usage 0":      func() error { _, err := wear.DaysLeft(s, worn, wear.Usage{}, 0.1); return err },
		"usage spread": func() error { _, err := wear.DaysLeft(s, worn, wear.Usage{PerDay: 1, SD: 1}, 0.1); return err },
		"p 0":          func() error { _, err := wear.DaysLeft(s, worn, usage, 0); return err },
		"p 1":          func() error { _, err := wear.DaysLeftFast(s, worn, usage, 1); return err },
		"t negative":   func() error { _, err := wear.ReachedWithin(s, worn, usage, -1); return err },
		"t NaN":        func() error { _, err := wear.ReachedWithinFast(s, worn, usage, wear.Days(math.NaN())); return err },
		"limit NaN":    func() error { _, err := wear.ReachedWithin(s, bad, usage, 1); return err },
	} {
		var domain *unit.DomainError
		if err := f(); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

func TestForecastAtTheLimit(t *testing.T) {
	f := must(wear.ForecastWear(prior, append(append([]wear.Reading{}, three...), read(5, 1.9)), worn))(t)
	if f.Q05 != 0 || f.Q10 != 0 || !(f.AtLimit > 0.10) {
		t.Errorf("read above the limit: q05 %v, q10 %v, P at limit %g", f.Q05, f.Q10, f.AtLimit)
	}
	wide := prior
	wide.RateSD = 0.2 * wear.MillimetrePer100000km
	g := must(wear.ForecastWear(wide, nil, worn))(t)
	if !g.Doubtful || !math.IsInf(float64(g.Q95), 1) {
		t.Errorf("spread of two thirds of the rate: doubtful %v, q95 %v; want no upper bound", g.Doubtful, g.Q95)
	}
	if d := must(wear.DaysLeft(g.State, worn, usage, 0.95))(t); !math.IsInf(float64(d), 1) {
		t.Errorf("days q95 %v; want no upper bound", d)
	}
	if d := must(wear.DaysLeft(f.State, worn, usage, 0.05))(t); d != 0 {
		t.Errorf("days q05 at the limit: %v", d)
	}
}

func TestForecastDoesNotAllocate(t *testing.T) {
	readings := three
	if n := testing.AllocsPerRun(100, func() {
		f, err := wear.ForecastWear(prior, readings, worn)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := wear.DaysLeft(f.State, worn, usage, 0.1); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func ExampleForecastWear() {
	// Invented parameters: a fleet must estimate or state its own.
	p := wear.Prior{
		StartSD: 0.05 * unit.Millimetre, GaugeSD: 0.10 * unit.Millimetre,
		Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km, Drift: 0.0025 * wear.SquareMillimetrePer100000km,
	}
	f, err := wear.ForecastWear(p, []wear.Reading{
		{Distance: 200_000 * unit.Kilometre, Wear: 0.85 * unit.Millimetre},
		{Distance: 350_000 * unit.Kilometre, Wear: 1.35 * unit.Millimetre},
	}, 1.8*unit.Millimetre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("wear %.2f mm, rate %.3f mm per 100 000 km\n", f.State.Wear.Millimetres(), f.State.Rate.Per100000km())
	fmt.Printf("distance left: %.0f km at 10 %% risk, %.0f km in the middle\n", float64(f.Q10/unit.Kilometre), float64(f.Q50/unit.Kilometre))
	// Output:
	// wear 1.35 mm, rate 0.374 mm per 100 000 km
	// distance left: 80831 km at 10 % risk, 120198 km in the middle
}

func BenchmarkForecastWear(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.ForecastWear(prior, three, worn); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDaysLeft(b *testing.B) {
	s := must(wear.Learn(prior, three))(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.DaysLeft(s, worn, usage, 0.1); err != nil {
			b.Fatal(err)
		}
	}
}
