package wear_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/wear"
)

const km, mmUnit = unit.Kilometre, unit.Millimetre

// norris is the NIST StRD set of that name: x reference, y instrument.
var norris = [2][]float64{
	{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6,
		120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5},
	{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8,
		119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2},
}

func TestNorris(t *testing.T) {
	const source = "NIST StRD, linear regression, Norris, certified values"
	l := must(wear.FitLine(norris[0], norris[1]))(t)
	rel(t, "B0", l.Intercept, -0.262323073774029, 1e-12, source)
	rel(t, "se B0", l.InterceptSE, 0.232818234301152, 1e-12, source)
	rel(t, "B1", l.Slope, 1.00211681802045, 1e-14, source)
	rel(t, "se B1", l.SlopeSE, 0.429796848199937e-3, 1e-12, source)
	rel(t, "residual sd", l.Residual, 0.884796396144373, 1e-13, source)
	rel(t, "R²", l.RSquared, 0.999993745883712, 1e-15, source)
	rel(t, "RSS", l.RSS, 26.6173985294224, 1e-13, source)
	near(t, "cov(B0,B1)", l.Covariance, -7.74327536e-5, 5e-14, "handbook chapter 06, B3.1")
	for _, tt := range []struct{ x, y, low, high float64 }{
		{0, -0.262323074, -2.121653543, 1.597007396},
		{500, 500.796085936, 498.971794054, 502.620377819},
		{1000, 1001.854494947, 999.962292157, 1003.746697736},
	} {
		low, high := l.Predict(tt.x, 0.95)
		near(t, fmt.Sprintf("ŷ(%g)", tt.x), l.At(tt.x), tt.y, 5.1e-10, "handbook chapter 06, B3.1")
		near(t, fmt.Sprintf("low(%g)", tt.x), low, tt.low, 5.1e-10, "handbook chapter 06, B3.1: 95 % prediction")
		near(t, fmt.Sprintf("high(%g)", tt.x), high, tt.high, 5.1e-10, "handbook chapter 06, B3.1: 95 % prediction")
	}
}

// TestLineFarFromZero moves Norris far away: a sum that was not centred would
// lose its digits.
func TestLineFarFromZero(t *testing.T) {
	x, y := make([]float64, 36), make([]float64, 36)
	for i := range x {
		x[i], y[i] = norris[0][i]+1e7, norris[1][i]-1e7
	}
	l := must(wear.FitLine(x, y))(t)
	rel(t, "B1", l.Slope, 1.00211681802045, 1e-11, "algebra: a slope does not move with its points")
	rel(t, "residual sd", l.Residual, 0.884796396144373, 1e-8, "algebra: nor does the scatter")
}

func TestLineAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(rt, "n")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) + rapid.Float64Range(0, 0.9).Draw(rt, "x")
			y[i] = rapid.Float64Range(-10, 10).Draw(rt, "y")
		}
		l, err := wear.FitLine(x, y)
		if err != nil {
			rt.Fatal(err)
		}
		a, b := stat.LinearRegression(x, y, nil, false) // gonum v0.17.0
		if !(math.Abs(a-l.Intercept) <= 1e-9 && math.Abs(b-l.Slope) <= 1e-9) {
			rt.Errorf("%g + %g·x, gonum %g + %g·x", l.Intercept, l.Slope, a, b)
		}
	})
}

func TestWearLine(t *testing.T) {
	const source = "handbook chapter 05, section 8, worked example"
	var readings []wear.Gauging
	for i, d := range []float64{50.80, 50.68, 50.50, 50.37, 50.20} {
		readings = append(readings, wear.Gauging{Distance: unit.Length(50_000*i) * km, Diameter: unit.Length(d) * mmUnit})
	}
	f := must(wear.ForecastLine(wear.LineInput{Readings: readings, Limit: 49 * mmUnit, Confidence: 0.95}))(t)
	perThousand := func(r wear.Rate) float64 { return r.Per100000km() / 100 }
	near(t, "a", f.Line.Intercept*1e3, 50.812, 5e-4, source)
	near(t, "b", perThousand(f.Rate), 0.003020, 5e-7, source)
	near(t, "s", f.Line.Residual*1e3, 0.0162, 5e-5, source)
	near(t, "s_b", perThousand(f.RateSE), 0.0001026, 5e-8, source)
	near(t, "t", f.Quantile, 2.353, 5e-4, source)
	near(t, "b_hi", perThousand(f.RateHigh), 0.0032615, 5e-8, source)
	near(t, "d(200)", f.Fitted.Millimetres(), 50.208, 5e-4, source)
	near(t, "nominal", float64(f.Nominal/km), 400_000, 50, source+"; row 53 of section 10")
	near(t, "assured", float64(f.Assured/km), 370_400, 50, source+"; row 53 of section 10")
	if f.Reached {
		t.Error("reached at 50.2 mm with a limit of 49 mm")
	}
	rate, left, err := wear.IndicateDistance(wear.IndicationInput{New: 50.8 * mmUnit, Now: 50.2 * mmUnit, Distance: 180_000 * km, Limit: 49 * mmUnit})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two-point rate", perThousand(rate), 0.00333, 5e-6, source)
	near(t, "two-point distance", float64(left/km), 360_000, 1e-6, source)
}

func TestWearLineAtItsLimit(t *testing.T) {
	line := func(limit unit.Length, d ...float64) wear.LineForecast {
		var r []wear.Gauging
		for i, v := range d {
			r = append(r, wear.Gauging{Distance: unit.Length(i+1) * 1e8, Diameter: unit.Length(v) * mmUnit})
		}
		return must(wear.ForecastLine(wear.LineInput{Readings: r, Limit: limit, Confidence: 0.95}))(t)
	}
	for name, f := range map[string]wear.LineForecast{
		"last reading on the limit":       line(49*mmUnit, 50.4, 49.9, 49.5, 49.0),
		"line below, last reading above":  line(49*mmUnit, 50.5, 49.4, 49.0005, 49.0006),
		"an earlier reading on the limit": line(49*mmUnit, 50.0, 49.0, 49.6),
	} {
		if !f.Reached || f.Nominal != 0 || f.Assured != 0 {
			t.Errorf("%s: %+v; want nothing left", name, f)
		}
	}
	if f := line(49*mmUnit, 50.4, 49.9, 49.5, 49.01); f.Reached || !(f.Assured > 0 && f.Assured < f.Nominal) {
		t.Errorf("just above the limit: %+v", f)
	}
}

func TestLineRefuses(t *testing.T) {
	g := func(x ...float64) []wear.Gauging {
		var r []wear.Gauging
		for i := 0; i < len(x); i += 2 {
			r = append(r, wear.Gauging{Distance: unit.Length(x[i]) * km, Diameter: unit.Length(x[i+1]) * mmUnit})
		}
		return r
	}
	ok := g(0, 50.8, 1e5, 50.5, 2e5, 50.1)
	nan := unit.Length(math.NaN())
	for name, in := range map[string]wear.LineInput{
		"limit NaN":       {Readings: ok, Limit: nan, Confidence: 0.95},
		"limit 0":         {Readings: ok, Confidence: 0.95},
		"confidence 1":    {Readings: ok, Limit: 0.049, Confidence: 1},
		"confidence 0.4":  {Readings: ok, Limit: 0.049, Confidence: 0.4},
		"confidence 95":   {Readings: ok, Limit: 0.049, Confidence: 95},
		"confidence NaN":  {Readings: ok, Limit: 0.049, Confidence: math.NaN()},
		"diameter NaN":    {Readings: append(g(0, 50.8, 1, 50.7), wear.Gauging{Diameter: nan}), Limit: 0.049, Confidence: 0.9},
		"distance < 0":    {Readings: g(-1, 50.8, 1, 50.7, 2, 50.6), Limit: 0.049, Confidence: 0.9},
		"distance is NaN": {Readings: append(g(0, 50.8, 1, 50.7), wear.Gauging{Distance: nan, Diameter: 0.05}), Limit: 0.049, Confidence: 0.9},
	} {
		var domain *unit.DomainError
		if _, err := wear.ForecastLine(in); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
	for name, r := range map[string][]wear.Gauging{
		"no reading": nil, "two readings": ok[:2], "all at one distance": g(1e5, 50.8, 1e5, 50.7, 1e5, 50.6),
		"level": g(0, 50.5, 1e5, 50.5, 2e5, 50.5), "growing": g(0, 50.1, 1e5, 50.2, 2e5, 50.4),
	} {
		var none *unit.NoAnswerError
		if _, err := wear.ForecastLine(wear.LineInput{Readings: r, Limit: 0.049, Confidence: 0.95}); !errors.As(err, &none) {
			t.Errorf("%s: %v; want a NoAnswerError", name, err)
		}
	}
	var domain *unit.DomainError
	if _, err := wear.FitLine([]float64{1, 2, 3}, []float64{1, 2}); !errors.As(err, &domain) {
		t.Errorf("uneven slices: %v; want a DomainError", err)
	}
	if _, _, err := wear.IndicateDistance(wear.IndicationInput{New: 0.0508, Now: 0.0508, Distance: 1, Limit: 0.049}); !errors.As(err, &domain) {
		t.Errorf("no wear: %v; want a DomainError", err)
	}
}

// TestAssuredGoesDownWithConfidence also holds the rate against repeated
// readings: doubling every reading leaves the line and narrows its error.
func TestAssuredGoesDownWithConfidence(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(3, 8).Draw(rt, "n")
		var r []wear.Gauging
		for i := range n {
			r = append(r, wear.Gauging{
				Distance: unit.Length(i) * 5e7,
				Diameter: unit.Length(50.8-0.15*float64(i)+rapid.Float64Range(-0.05, 0.05).Draw(rt, "noise")) * mmUnit,
			})
		}
		low, err := wear.ForecastLine(wear.LineInput{Readings: r, Limit: 45 * mmUnit, Confidence: 0.6})
		if err != nil {
			rt.Fatal(err)
		}
		high, err := wear.ForecastLine(wear.LineInput{Readings: r, Limit: 45 * mmUnit, Confidence: 0.95})
		if err != nil {
			rt.Fatal(err)
		}
		if !(high.Assured <= low.Assured && low.Assured <= low.Nominal && low.Nominal == high.Nominal) {
			rt.Errorf("assured %v at 0.95, %v at 0.6, nominal %v", high.Assured, low.Assured, low.Nominal)
		}
		twice, err := wear.ForecastLine(wear.LineInput{Readings: append(append([]wear.Gauging{}, r...), r...), Limit: 45 * mmUnit, Confidence: 0.95})
		if err != nil {
			rt.Fatal(err)
		}
		if !(math.Abs(float64(twice.Rate/high.Rate)-1) <= 1e-9) || twice.RateHigh > high.RateHigh {
			rt.Errorf("read twice: rate %v (once %v), high %v (once %v)", twice.Rate, high.Rate, twice.RateHigh, high.RateHigh)
		}
	})
}

func ExampleForecastLine() {
	var readings []wear.Gauging
	for i, d := range []unit.Length{50.80, 50.68, 50.50, 50.37, 50.20} {
		readings = append(readings, wear.Gauging{Distance: unit.Length(i) * 50_000 * unit.Kilometre, Diameter: d * unit.Millimetre})
	}
	f, err := wear.ForecastLine(wear.LineInput{Readings: readings, Limit: 49 * unit.Millimetre, Confidence: 0.95})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm per 100 000 km, %.0f km nominal, %.0f km assured\n",
		f.Rate.Per100000km(), float64(f.Nominal/unit.Kilometre), float64(f.Assured/unit.Kilometre))
	// Output: 0.302 mm per 100 000 km, 400000 km nominal, 370378 km assured
}

func BenchmarkForecastLine(b *testing.B) {
	var r []wear.Gauging
	for i := range 12 {
		r = append(r, wear.Gauging{Distance: unit.Length(i) * 5e7, Diameter: unit.Length(50.8-0.14*float64(i)+0.01*float64(i%3)) * mmUnit})
	}
	in := wear.LineInput{Readings: r, Limit: 49 * mmUnit, Confidence: 0.95}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.ForecastLine(in); err != nil {
			b.Fatal(err)
		}
	}
}
