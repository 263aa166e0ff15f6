package wear_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"underpin/unit"
	"underpin/wear"
)

// near fails unless got lies within tol of want; NaN fails.
func near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if got == want {
		return
	}
	if diff := math.Abs(got - want); !(diff <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.2g (%s)", what, got, want, tol, source)
	}
}

// rel is near with a tolerance relative to want.
func rel(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	near(t, what, got, want, tol*math.Abs(want), source)
}

// must fails the test on an error and returns the value.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// sleepstudy reads the data of Belenky et al. 2003, subjects in rising order.
func sleepstudy(t testing.TB) (names []string, units [][]wear.Point) {
	t.Helper()
	file, err := os.Open("testdata/sleepstudy.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		if len(names) == 0 || names[len(names)-1] != row[0] {
			names, units = append(names, row[0]), append(units, nil)
		}
		x, err1 := strconv.ParseFloat(row[1], 64)
		y, err2 := strconv.ParseFloat(row[2], 64)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		i := len(units) - 1
		units[i] = append(units[i], wear.Point{X: x, Y: y})
	}
	if len(units) != 18 || len(rows) != 181 {
		t.Fatalf("sleepstudy holds %d subjects in %d rows, expected 18 in 181", len(units), len(rows))
	}
	return names, units
}

// unbalanced keeps of each subject only its first days: one, two, three … so
// that units with one and two readings take part.
func unbalanced(t testing.TB) ([]string, [][]wear.Point) {
	names, units := sleepstudy(t)
	for i, n := range []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 10, 10, 10, 10, 10, 10, 2, 1} {
		units[i] = units[i][:n]
	}
	return names, units
}

func TestMixedModel(t *testing.T) {
	const (
		own    = "handbook chapter 06, B3.2: sleepstudy, solver with gradient below 1e-10; lme4 1.1-31 agrees to 6 digits"
		lme4   = "R 4.2.2, lme4 1.1-31, sleepstudy, first 1 2 3 4 5 6 7 8 9 10×7 2 1 days of the subjects, BOBYQA with ftol 1e-13"
		slides = "D. Barr, slides on linear mixed models (2023), printed output"
	)
	_, all := sleepstudy(t)
	_, some := unbalanced(t)
	for _, tt := range []struct {
		name                  string
		units                 [][]wear.Point
		o                     wear.MixedOptions
		b0, b1, se0, se1, cov float64
		g11, g12, g22, v      float64
		crit                  float64
		tol                   float64 // relative
		source                string
	}{
		{"REML", all, wear.MixedOptions{}, 251.4051048485, 10.4672859596, 6.824556532, 1.545788896, -1.451095706,
			612.0899387, 9.604333317, 35.07166050, 654.9410270723, 1743.62827196, 2e-10, own},
		{"REML, closed form", all, wear.MixedOptions{}, 251.4051048485, 10.4672859596, 6.824556532, 1.545788896, -1.451095706,
			612.0899386625, 9.6043333167, 35.0716604983, 654.9410270722534, 1743.62827196, 2e-10,
			"handbook chapter 06, B3.2: balanced closed form"},
		{"ML", all, wear.MixedOptions{ML: true}, 251.4051048485, 10.4672859596, 6.632276807, 1.502236782, -1.370479278,
			565.5153668, 11.05542902, 32.68219719, 654.9410270723, 1751.93934446, 3e-10, own},
		{"REML, published", all, wear.MixedOptions{}, 251.405, 10.467, 6.825, 1.546, math.NaN(),
			612.10, math.NaN(), 35.07, 654.94, 1743.6, 4e-4, slides},
		{"uncorrelated", all, wear.MixedOptions{Uncorrelated: true}, 251.4051048485, 10.4672859596, 6.885381295, 1.559565944, math.NaN(),
			627.5690606, 0, 35.85819876, 653.583815241, 1743.66929358, 3e-10, own},
		{"unbalanced REML", some, wear.MixedOptions{}, 251.5009648815, 11.3252520616, 7.36697061725, 2.00098998386, -6.28799559374,
			801.1395702783, -74.4358409491, 44.9195136562, 357.763557323, 1087.39279999, 3e-7, lme4},
		{"unbalanced ML", some, wear.MixedOptions{ML: true}, 251.4528792260, 11.3742866806, 7.14552525891, 1.92037365438, -5.82058870464,
			743.9683493617, -66.7123427373, 40.5935471902, 358.016168902, 1096.17783165, 3e-7, lme4},
		{"unbalanced, nlme", some, wear.MixedOptions{}, 251.5009648586, 11.3252520843, 7.3669706, 2.0009900, -6.28799546549,
			801.1395834223, math.NaN(), 44.9195113236, 357.7635583064, 1087.39279999, 3e-7,
			"R 4.2.2, nlme 3.1-162, same data, tolerance 1e-12"},
		{"unbalanced, uncorrelated", some, wear.MixedOptions{Uncorrelated: true}, 251.4104031035, 11.2543940526, 6.9961083953, 1.8996739341, -2.02837876633,
			703.848818352, 0, 37.914256098, 365.133883632, 1088.65707891, 3e-7, lme4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			m := must(wear.FitMixed(tt.units, tt.o))(t)
			se0, se1 := m.SE()
			for what, pair := range map[string][2]float64{
				"β0": {m.Intercept, tt.b0}, "β1": {m.Slope, tt.b1}, "se β0": {se0, tt.se0}, "se β1": {se1, tt.se1}, "cov β": {m.Cov.IS, tt.cov},
				"G11": {m.G.II, tt.g11}, "G12": {m.G.IS, tt.g12}, "G22": {m.G.SS, tt.g22}, "σ²": {m.Variance, tt.v}, "criterion": {m.Criterion, tt.crit},
			} {
				if !math.IsNaN(pair[1]) {
					rel(t, what, pair[0], pair[1], tt.tol, tt.source)
				}
			}
			if m.Boundary {
				t.Error("at the boundary")
			}
		})
	}
}

func TestPublishedSpreads(t *testing.T) {
	const source = "D. Barr, slides on linear mixed models (2023), sleepstudy: 24.741, 5.922, 0.07, 25.592, −0.138"
	_, units := sleepstudy(t)
	m := must(wear.FitMixed(units, wear.MixedOptions{}))(t)
	near(t, "sd of intercepts", math.Sqrt(m.G.II), 24.741, 0.001, source)
	near(t, "sd of slopes", math.Sqrt(m.G.SS), 5.922, 5e-4, source)
	near(t, "correlation", m.G.IS/math.Sqrt(m.G.II*m.G.SS), 0.07, 0.005, source)
	near(t, "residual sd", math.Sqrt(m.Variance), 25.592, 5e-4, source)
	near(t, "correlation of β̂", m.Cov.IS/math.Sqrt(m.Cov.II*m.Cov.SS), -0.138, 5e-4, source)
	ml := must(wear.FitMixed(units, wear.MixedOptions{ML: true}))(t)
	near(t, "ML sd of intercepts", math.Sqrt(ml.G.II), 23.780567, 5e-7, "handbook chapter 06, B3.2")
	near(t, "ML sd of slopes", math.Sqrt(ml.G.SS), 5.716834543, 5e-9, "handbook chapter 06, B3.2")
	near(t, "ML correlation", ml.G.IS/math.Sqrt(ml.G.II*ml.G.SS), 0.08132007536, 5e-10, "handbook chapter 06, B3.2")
}

func TestMomentsAreREMLWhenBalanced(t *testing.T) {
	_, units := sleepstudy(t)
	a := must(wear.MomentsOf(units))(t)
	b := must(wear.FitMixed(units, wear.MixedOptions{}))(t)
	for what, pair := range map[string][2]float64{
		"β0": {a.Intercept, b.Intercept}, "β1": {a.Slope, b.Slope}, "σ²": {a.Variance, b.Variance}, "G11": {a.G.II, b.G.II},
		"G12": {a.G.IS, b.G.IS}, "G22": {a.G.SS, b.G.SS}, "cov 11": {a.Cov.II, b.Cov.II}, "cov 12": {a.Cov.IS, b.Cov.IS}, "cov 22": {a.Cov.SS, b.Cov.SS},
	} {
		rel(t, what, pair[1], pair[0], 1e-9, "algebra: for balanced data the moments are REML")
	}
	near(t, "σ²", a.Variance, 654.9410270722534, 1e-9, "handbook chapter 06, B3.2, closed form")
	near(t, "G11", a.G.II, 612.0899386625, 1e-9, "handbook chapter 06, B3.2, closed form")
	near(t, "G12", a.G.IS, 9.6043333167, 1e-9, "handbook chapter 06, B3.2, closed form")
	near(t, "G22", a.G.SS, 35.0716604983, 1e-9, "handbook chapter 06, B3.2, closed form")
}

func TestUnitLines(t *testing.T) {
	const source = "handbook chapter 06, B3.2: sleepstudy, least squares and REML prediction of each subject"
	names, units := sleepstudy(t)
	m := must(wear.FitMixed(units, wear.MixedOptions{}))(t)
	want := map[string][4]float64{
		"308": {244.192669, 21.764702, 253.663670, 19.666258}, "309": {205.054945, 2.261785, 211.006525, 1.847583},
		"310": {203.484225, 6.114899, 212.444856, 5.018407}, "330": {289.685093, 3.008073, 275.095605, 5.652954},
		"331": {285.738965, 5.266019, 273.665309, 7.397391}, "332": {264.251615, 9.566768, 260.444632, 10.195115},
		"333": {275.019105, 9.142045, 268.245537, 10.243661}, "334": {240.162915, 12.253141, 244.172525, 11.541862},
		"335": {263.034693, -2.881034, 251.071409, -0.284873}, "337": {290.104127, 19.025974, 286.295459, 19.095569},
		"349": {215.111773, 13.493933, 226.194992, 11.640701}, "350": {225.834604, 19.504017, 238.335147, 17.081491},
		"351": {261.147011, 6.433498, 255.982940, 7.452029}, "352": {276.372069, 13.566549, 272.268699, 14.003299},
		"369": {254.968149, 11.348109, 254.680558, 11.339503}, "370": {210.449091, 18.056151, 225.792233, 15.289751},
		"371": {253.636038, 9.188445, 252.212145, 9.479131}, "372": {267.044800, 11.298073, 263.719645, 11.751316},
	}
	if len(want) != len(units) {
		t.Fatalf("%d rows for %d subjects", len(want), len(units))
	}
	for i, u := range units {
		w := want[names[i]]
		var x, y []float64
		for _, p := range u {
			x, y = append(x, p.X), append(y, p.Y)
		}
		l := must(wear.FitLine(x, y))(t)
		b := m.Unit(u)
		near(t, names[i]+" own intercept", l.Intercept, w[0], 5e-7, source)
		near(t, names[i]+" own slope", l.Slope, w[1], 5e-7, source)
		near(t, names[i]+" intercept", b.Intercept, w[2], 5e-7, source)
		near(t, names[i]+" slope", b.Slope, w[3], 5e-7, source)
		rel(t, names[i]+" cov 11", b.Cov.II, 145.7051037, 1e-9, source)
		rel(t, names[i]+" cov 12", b.Cov.IS, -21.44442659, 1e-9, source)
		rel(t, names[i]+" cov 22", b.Cov.SS, 5.312273667, 1e-9, source)
		rel(t, names[i]+" cov 11 with β̂", b.CovAll.II, 150.1799510, 1e-9, source)
		rel(t, names[i]+" cov 12 with β̂", b.CovAll.IS, -22.23773934, 1e-9, source)
		rel(t, names[i]+" cov 22 with β̂", b.CovAll.SS, 5.458185081, 1e-9, source)
	}
	y, line, obs := m.Unit(units[0]).Predict(12)
	near(t, "308, day 12", y, 489.658764, 5e-7, source)
	near(t, "variance of the line", line, 402.452858, 5e-7, source)
	near(t, "variance of an observation", obs, 1057.393886, 5e-7, source)
	fleet := m.Unit(nil)
	near(t, "no points: intercept", fleet.Intercept, m.Intercept, 0, "algebra: the fleet's line")
	rel(t, "no points: cov 22", fleet.CovAll.SS, m.G.SS+m.Cov.SS, 1e-12, "algebra: G + cov β̂")
}

func TestUnbalancedUnitLines(t *testing.T) {
	const source = "R 4.2.2, lme4 1.1-31, coef() of the unbalanced fit"
	names, units := unbalanced(t)
	m := must(wear.FitMixed(units, wear.MixedOptions{}))(t)
	want := map[string][2]float64{
		"308": {250.159192878, 11.4499193869}, "309": {216.819220462, 12.0412679770}, "310": {202.855444574, 14.1231361585},
		"337": {286.981222259, 19.1516566028}, "371": {263.492058345, 10.0901014802}, "372": {263.882499019, 10.1748533796},
	}
	seen := 0
	for i, u := range units {
		w, ok := want[names[i]]
		if !ok {
			continue
		}
		seen++
		b := m.Unit(u)
		rel(t, fmt.Sprintf("%s, %d points, intercept", names[i], len(u)), b.Intercept, w[0], 1e-7, source)
		rel(t, fmt.Sprintf("%s, %d points, slope", names[i], len(u)), b.Slope, w[1], 3e-7, source)
	}
	if seen != len(want) {
		t.Errorf("compared %d subjects, expected %d", seen, len(want))
	}
}

func TestMixedHasNoAnswer(t *testing.T) {
	_, units := sleepstudy(t)
	one := make([][]wear.Point, len(units))
	two := make([][]wear.Point, len(units))
	for i, u := range units {
		one[i], two[i] = u[:1], u[:2]
	}
	for name, u := range map[string][][]wear.Point{"nothing": nil, "one unit": units[:1], "one reading each": one, "two readings each": two} {
		var none *unit.NoAnswerError
		if _, err := wear.FitMixed(u, wear.MixedOptions{}); !errors.As(err, &none) {
			t.Errorf("%s: %v; want a NoAnswerError", name, err)
		}
	}
	bad := [][]wear.Point{{{X: 0, Y: math.NaN()}}}
	var domain *unit.DomainError
	if _, err := wear.FitMixed(append(bad, units...), wear.MixedOptions{}); !errors.As(err, &domain) {
		t.Errorf("NaN: %v; want a DomainError", err)
	}
}

// TestNoSpreadBetweenUnits fits units that differ by nothing but noise of which
// the unit means are too even: the best G is at the boundary.
func TestNoSpreadBetweenUnits(t *testing.T) {
	var units [][]wear.Point
	for i := range 10 {
		var u []wear.Point
		for x := range 6 {
			noise := 0.3
			if (i+x)%2 == 0 {
				noise = -0.3
			}
			u = append(u, wear.Point{X: float64(x), Y: 2 + 0.5*float64(x) + noise})
		}
		units = append(units, u)
	}
	m := must(wear.FitMixed(units, wear.MixedOptions{}))(t)
	if !m.Boundary {
		t.Errorf("G = %+v with σ² %g is not reported as the boundary", m.G, m.Variance)
	}
	near(t, "slope", m.Slope, 0.5, 1e-9, "hand: the noise of two neighbours cancels")
	if l := m.Unit(units[0]); !(math.Abs(l.Slope-0.5) < 0.02) {
		t.Errorf("a unit's slope %g strays from the fleet's without spread", l.Slope)
	}
}

func BenchmarkFitMixed(b *testing.B) {
	_, units := sleepstudy(b)
	var fleet [][]wear.Point
	for range 100 { // 1 800 units
		fleet = append(fleet, units...)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.FitMixed(fleet, wear.MixedOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
