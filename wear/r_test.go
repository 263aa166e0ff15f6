package wear_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"underpin/unit"
	"underpin/wear"
)

// invented reads the data that testdata/unbalanced.R simulated: 24 parts with 1
// to 8 readings each, at distances of their own.
func invented(t testing.TB) (units [][]wear.Point, parts [][]wear.Reading) {
	t.Helper()
	file, err := os.Open("testdata/unbalanced.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	last := ""
	for _, row := range rows[1:] {
		if row[0] != last {
			last, units, parts = row[0], append(units, nil), append(parts, nil)
		}
		x, err1 := strconv.ParseFloat(row[1], 64)
		y, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(row)
		}
		i := len(units) - 1
		units[i], parts[i] = append(units[i], wear.Point{X: x, Y: y}), append(parts[i], read(x, y))
	}
	if len(units) != 24 || len(rows) != 97 {
		t.Fatalf("%d parts in %d rows, expected 24 in 97", len(units), len(rows))
	}
	return units, parts
}

func TestMixedAgainstR(t *testing.T) {
	const (
		lme4 = "R 4.2.2, lme4 1.1-31, testdata/unbalanced.txt"
		nlme = "R 4.2.2, nlme 3.1-162, testdata/unbalanced.txt"
	)
	nan := math.NaN()
	units, _ := invented(t)
	for _, tt := range []struct {
		name                  string
		o                     wear.MixedOptions
		b0, b1, v00, v01, v11 float64
		g11, g12, g22, s2     float64
		criterion             float64
		tol                   float64 // relative
		source                string
	}{
		{"REML", wear.MixedOptions{}, 0.0132234485192, 0.2883378459971, 0.000272396648583, -0.000123847537752, 0.000516999467419,
			2.01353503256e-03, -2.76092554663e-05, 9.32486327938e-03, 3.23057687553e-03, -179.775019699, 2e-6, lme4},
		{"ML", wear.MixedOptions{ML: true}, 0.0132561402622, 0.2882386949760, 0.000260760360880, -0.000117234722427, 0.000492878356587,
			1.81161095464e-03, 5.81557597129e-05, 8.83963101898e-03, 3.21675818446e-03, -192.035239045, 2e-6, lme4},
		{"REML, uncorrelated", wear.MixedOptions{Uncorrelated: true}, 0.0132370066892, 0.2883217638308, 0.000271856570373, -0.000122498473513, 0.000516005461337,
			0.00200443628656, 0, 0.00930723697560, 0.00323153510558, -179.77475197, 2e-6, lme4},
		{"REML by nlme", wear.MixedOptions{}, 0.013223448840, 0.288337845314, nan, nan, nan,
			2.01353295415e-03, nan, 9.32486399775e-03, 0.00323057705708, -179.775019699, 5e-6, nlme},
	} {
		m := must(wear.FitMixed(units, tt.o))(t)
		for what, pair := range map[string][2]float64{
			"β0": {m.Intercept, tt.b0}, "β1": {m.Slope, tt.b1}, "var β0": {m.Cov.II, tt.v00}, "cov β": {m.Cov.IS, tt.v01}, "var β1": {m.Cov.SS, tt.v11},
			"G11": {m.G.II, tt.g11}, "G22": {m.G.SS, tt.g22}, "σ²": {m.Variance, tt.s2}, "criterion": {m.Criterion, tt.criterion},
		} {
			if !math.IsNaN(pair[1]) {
				rel(t, tt.name+", "+what, pair[0], pair[1], tt.tol, tt.source)
			}
		}
		if !math.IsNaN(tt.g12) {
			near(t, tt.name+", G12", m.G.IS, tt.g12, 1e-8, tt.source)
		}
	}
}

func TestFleetAgainstR(t *testing.T) {
	const (
		lme4  = "R 4.2.2, lme4 1.1-31, slope alone through the origin, testdata/unbalanced.txt"
		dense = "R 4.2.2, optim over the likelihood with whole covariance matrices, testdata/unbalanced.txt"
	)
	_, parts := invented(t)
	slope := wear.Prior{Rate: 0.2 * wear.MillimetrePer100000km, RateSD: 0.2 * wear.MillimetrePer100000km, GaugeSD: mmOf(0.2)}
	drift := slope
	drift.Start, drift.StartSD = mmOf(0.02), mmOf(0.06)
	known := wear.FleetOptions{KnownDrift: true}
	reml := func(o wear.FleetOptions) wear.FleetOptions { o.Restricted = true; return o }
	for _, tt := range []struct {
		name           string
		start          wear.Prior
		o              wear.FleetOptions
		rate, se       float64
		tau2, q, sigma float64 // τ², q, σ²
		deviance       float64
		tol            float64 // relative, of the spreads
		source         string
	}{
		{"no drift, ML", slope, known, 0.29577098793, math.Sqrt(0.000465004221775), 0.00991774186193, 0, 0.00374071047717, -188.254931745, 2e-5, lme4},
		{"no drift, REML", slope, reml(known), 0.295836276603, math.Sqrt(0.000487221379249), 0.01043046950409, 0, 0.00373802499449, -182.442520929, 2e-5, lme4},
		{"drift, ML", drift, wear.FleetOptions{}, 0.28638382622, 0.02091066957, 0.007722047024, 0.002222539952, 0.002336243528, -192.788111755, 2e-4, dense},
		{"drift, REML", drift, reml(wear.FleetOptions{}), 0.28639281721, 0.02138797479, 0.008171287214, 0.002225273495, 0.002335925880, -186.913402278, 2e-4, dense},
	} {
		f := must(wear.FitFleet(parts, tt.start, tt.o))(t)
		rel(t, tt.name+", β", f.Prior.Rate.Per100000km(), tt.rate, 1e-5, tt.source)
		rel(t, tt.name+", se β", f.Prior.RateMeanSD.Per100000km(), tt.se, tt.tol, tt.source)
		rel(t, tt.name+", τ²", math.Pow(f.Prior.RateSD.Per100000km(), 2), tt.tau2, tt.tol, tt.source)
		rel(t, tt.name+", q", f.Prior.Drift.Per100000km(), tt.q, tt.tol, tt.source)
		rel(t, tt.name+", σ²", math.Pow(f.Prior.GaugeSD.Millimetres(), 2), tt.sigma, tt.tol, tt.source)
		// From metres to millimetres, and for REML from m, m to mm, 10⁵ km.
		d := f.Deviance + float64(f.Readings)*2*math.Log(1e3)
		if tt.o.Restricted {
			d -= math.Log(1e22)
		}
		near(t, tt.name+", −2lnL", d, tt.deviance, 1e-6, tt.source)
		if f.Floored {
			t.Errorf("%s: the spread was raised", tt.name)
		}
	}
}

// TestLargeFleetsAreFinishedOnAllParts holds the fit that runs over a sample
// first against the likelihood of all parts: no step to either side is better.
func TestLargeFleetsAreFinishedOnAllParts(t *testing.T) {
	parts := simulated(21, 9000, 6)
	f := must(wear.FitFleet(parts, guess, wear.FleetOptions{}))(t)
	at := func(p wear.Prior) float64 {
		// With everything known but the mean rate nothing is searched for.
		all := 0.0
		for _, r := range parts {
			all += must(wear.Learn(p, r))(t).LogLik
		}
		return all
	}
	best := f.Prior
	best.RateMeanSD = 0
	d := at(best)
	for name, change := range map[string]func(*wear.Prior, float64){
		"β": func(p *wear.Prior, k float64) { p.Rate *= wear.Rate(k) }, "τ": func(p *wear.Prior, k float64) { p.RateSD *= wear.Rate(k) },
		"q": func(p *wear.Prior, k float64) { p.Drift *= wear.Drift(k) }, "σ": func(p *wear.Prior, k float64) { p.GaugeSD *= unit.Length(k) },
	} {
		side := func(k float64) float64 {
			p := best
			change(&p, k)
			return at(p) - d
		}
		up, down := side(math.Exp(0.003)), side(math.Exp(-0.003))
		if off := -(up - down) / (2 * 0.003) / ((up + down) / (0.003 * 0.003)); !(up+down > 0 && math.Abs(off) <= 2e-4) {
			t.Errorf("%s: the best value lies %.2g away, as a share (parabola through the likelihood of all parts)", name, off)
		}
	}
	near(t, "−2lnL", f.Deviance, d, 1e-6*math.Abs(d), "the same likelihood by Learn")
	near(t, "τ", f.Prior.RateSD.Per100000km(), 0.08, 4*0.08/math.Sqrt(2*9000)*1.5, "simulation")
}

// million is a fleet of parts with eight readings each, in one block of memory.
func million(n int) [][]wear.Reading {
	fleet := make([][]wear.Reading, n)
	all := make([]wear.Reading, 8*n)
	state := uint64(1)
	normal := func() float64 { // sum of twelve uniforms: fast, and good enough to time
		s := -6.0
		for range 12 {
			state = state*6364136223846793005 + 1442695040888963407
			s += float64(state>>11) / (1 << 53)
		}
		return s
	}
	for i := range fleet {
		b, w, x := 0.30+0.08*normal(), 0.05*normal(), 0.0
		r := all[8*i : 8*i+8 : 8*i+8]
		for k := range r {
			dx := 0.5 + 0.05*float64((i+k)%7)
			w += b*dx + math.Sqrt(0.0025*dx)*normal()
			x += dx
			r[k] = read(x, w+0.10*normal())
		}
		fleet[i] = r
	}
	return fleet
}

// BenchmarkMillion fits a fleet of a million parts with eight readings each, and
// forecasts distance and days for every one.
func BenchmarkMillion(b *testing.B) {
	fleet := million(1_000_000)
	usage := wear.Usage{PerDay: 380 * unit.Kilometre, SD: 40 * unit.Kilometre}
	b.ResetTimer()
	for b.Loop() {
		f, err := wear.FitFleet(fleet, guess, wear.FleetOptions{})
		if err != nil {
			b.Fatal(err)
		}
		for _, r := range fleet {
			s, err := wear.Learn(f.Prior, r)
			if err != nil {
				b.Fatal(err)
			}
			if s.Rate <= 0 {
				continue
			}
			_ = s.Left(mmOf(8), 0.05)
			if _, err := wear.DaysLeftFast(s, mmOf(8), usage, 0.05); err != nil {
				b.Fatal(err)
			}
		}
	}
}
