package wear

import (
	"math"

	"underpin/unit"
)

// A Line is a straight line fitted by least squares, y = Intercept + Slope·x.
type Line struct {
	N           int
	Intercept   float64
	Slope       float64
	InterceptSE float64 // standard error
	SlopeSE     float64
	Covariance  float64 // of intercept and slope
	Residual    float64 // s, standard deviation about the line
	RSS         float64 // sum of squared residuals
	RSquared    float64
	MeanX       float64
	Sxx         float64
}

// FitLine returns the straight line of least squares through points:
//
//	b = Σ(x−x̄)(y−ȳ)/Σ(x−x̄)²,   a = ȳ − b·x̄
//	s² = Σ(y−a−b·x)²/(n−2),   s_b² = s²/Σ(x−x̄)²,   s_a² = s²·(1/n + x̄²/Σ(x−x̄)²)
//
//	x, y  points, in any units
//
// Valid for three finite points or more; otherwise the error is a
// *unit.DomainError. Points that all stand at one x have no line: a
// *unit.NoAnswerError.
//
// Source: linear regression, textbook form; checked against the certified values
// of NIST StRD, set Norris.
func FitLine(x, y []float64) (Line, error) {
	if len(x) != len(y) {
		return Line{}, &unit.DomainError{Formula: "line of least squares", Input: "y", Value: float64(len(y)), Want: "as many as there are x"}
	}
	return fitLine(len(x), func(i int) (float64, float64) { return x[i], y[i] })
}

// fitLine is FitLine over any rows; sums are centred, so that readings far from
// zero lose no digits.
func fitLine(n int, at func(int) (x, y float64)) (Line, error) {
	const name = "line of least squares"
	if !(n >= 3) {
		return Line{}, &unit.DomainError{Formula: name, Input: "points", Value: float64(n), Want: "three or more"}
	}
	x0, y0 := at(0)
	l := Line{N: n}
	var meanY float64
	for i := range n { // means as offsets from the first point
		x, y := at(i)
		if !finite(x) || !finite(y) {
			return Line{}, &unit.DomainError{Formula: name, Input: "point", Value: x + y, Want: "finite numbers"}
		}
		l.MeanX += (x - x0) / float64(n)
		meanY += (y - y0) / float64(n)
	}
	l.MeanX += x0
	meanY += y0
	var sxy, syy float64
	for i := range n {
		x, y := at(i)
		l.Sxx += (x - l.MeanX) * (x - l.MeanX)
		sxy += (x - l.MeanX) * (y - meanY)
		syy += (y - meanY) * (y - meanY)
	}
	if !(l.Sxx > 1e-24*l.MeanX*l.MeanX) {
		return Line{}, &unit.NoAnswerError{Formula: name, Why: "all points stand at the same place, so there is no slope"}
	}
	l.Slope = sxy / l.Sxx
	l.Intercept = meanY - l.Slope*l.MeanX
	for i := range n {
		x, y := at(i)
		r := (y - meanY) - l.Slope*(x-l.MeanX)
		l.RSS += r * r
	}
	s2 := l.RSS / float64(n-2)
	l.Residual = math.Sqrt(s2)
	l.SlopeSE = math.Sqrt(s2 / l.Sxx)
	l.InterceptSE = math.Sqrt(s2 * (1/float64(n) + l.MeanX*l.MeanX/l.Sxx))
	l.Covariance = -l.MeanX * s2 / l.Sxx
	l.RSquared = math.NaN() // a level line through level points explains nothing and everything
	if syy > 0 {
		l.RSquared = 1 - l.RSS/syy
	}
	return l, nil
}

// At is the height of the line at x.
func (l Line) At(x float64) float64 { return l.Intercept + l.Slope*l.MeanX + l.Slope*(x-l.MeanX) }

// Predict is the interval in which the next reading at x falls with the given
// two-sided probability.
func (l Line) Predict(x, confidence float64) (low, high float64) {
	d := x - l.MeanX
	half := student((1+confidence)/2, l.N-2) * l.Residual * math.Sqrt(1+1/float64(l.N)+d*d/l.Sxx)
	return l.At(x) - half, l.At(x) + half
}

// A Gauging is a diameter read at a distance. Repeated readings at the same
// distance are welcome.
type Gauging struct {
	Distance unit.Length
	Diameter unit.Length
}

// LineForecast is how far a pin goes if it goes on wearing along its line.
type LineForecast struct {
	Line     Line        // diameter over distance, both in metre
	Rate     Rate        // b, wear per distance, positive
	RateSE   Rate        // s_b
	Quantile float64     // t for the confidence and n − 2 degrees of freedom
	RateHigh Rate        // b + t·s_b
	At       unit.Length // the largest distance read
	Fitted   unit.Length // diameter of the line there
	Nominal  unit.Length // distance left at the rate of the line
	Assured  unit.Length // distance left at RateHigh
	Reached  bool        // a reading, or the line, is at the limit: nothing is left
}

// LineInput is what ForecastLine needs.
type LineInput struct {
	Readings   []Gauging
	Limit      unit.Length // replace when the diameter reaches it
	Confidence float64     // one-sided, 0.95 is usual
}

// ForecastLine returns the wear rate of a pin from its diameters, and the
// distance left to the limit, nominal and with one-sided confidence:
//
//	d(x) = a − b·x by least squares,   b_hi = b + t(n−2)·s_b
//	nominal = (d(x_now) − limit)/b,   assured = (d(x_now) − limit)/b_hi
//
//	x      distance run                             m
//	d      diameter                                 m
//	b      wear rate, s_b its standard error        m/m
//	t      one-sided quantile of Student's t        –
//	x_now  the largest distance read                m
//
// It takes the line for the truth and knows of no drift: ForecastWear is the
// more careful of the two. Never carry it across a new pin or another gauge.
//
// Valid for distances ≥ 0, diameters and limit > 0 and 0.5 ≤ confidence < 1;
// otherwise the error is a *unit.DomainError. Fewer than three readings, all at
// one distance, or a pin that does not grow thinner: *unit.NoAnswerError.
//
// Source: linear regression, textbook form; the rule of three readings and the
// worked example from handbook chapter 05, section 8.
func ForecastLine(in LineInput) (LineForecast, error) {
	const name = "wear line"
	switch {
	case !(in.Limit > 0 && finite(float64(in.Limit))):
		return LineForecast{}, &unit.DomainError{Formula: name, Input: "limit", Value: float64(in.Limit), Want: "limit > 0"}
	case !(0.5 <= in.Confidence && in.Confidence < 1):
		return LineForecast{}, &unit.DomainError{Formula: name, Input: "confidence", Value: in.Confidence, Want: "0.5 ≤ confidence < 1"}
	}
	out := LineForecast{}
	for i, r := range in.Readings {
		switch {
		case !(r.Distance >= 0 && finite(float64(r.Distance))):
			return LineForecast{}, &unit.DomainError{Formula: name, Input: "distance", Value: float64(r.Distance), Want: "distance ≥ 0"}
		case !(r.Diameter > 0 && finite(float64(r.Diameter))):
			return LineForecast{}, &unit.DomainError{Formula: name, Input: "diameter", Value: float64(r.Diameter), Want: "diameter > 0"}
		}
		if i == 0 || r.Distance > out.At {
			out.At = r.Distance
		}
		out.Reached = out.Reached || r.Diameter <= in.Limit
	}
	if len(in.Readings) < 3 {
		return LineForecast{}, &unit.NoAnswerError{Formula: name, Why: "a line needs three readings or more; with fewer only an indication from two sizes can be given"}
	}
	l, err := fitLine(len(in.Readings), func(i int) (float64, float64) {
		return float64(in.Readings[i].Distance), float64(in.Readings[i].Diameter)
	})
	if err != nil {
		return LineForecast{}, err
	}
	out.Line = l
	out.Rate, out.RateSE = Rate(-l.Slope), Rate(l.SlopeSE)
	if !(out.Rate > 0) {
		return LineForecast{}, &unit.NoAnswerError{Formula: name, Why: "the readings do not grow smaller with distance"}
	}
	out.Quantile = student(in.Confidence, l.N-2)
	out.RateHigh = out.Rate + Rate(out.Quantile)*out.RateSE
	out.Fitted = unit.Length(l.At(float64(out.At)))
	left := out.Fitted - in.Limit
	out.Reached = out.Reached || !(left > 0)
	if !out.Reached {
		out.Nominal = left / unit.Length(out.Rate)
		out.Assured = left / unit.Length(out.RateHigh)
	}
	return out, nil
}

// IndicationInput is a part seen twice.
type IndicationInput struct {
	New, Now unit.Length // size when new, size now
	Distance unit.Length // run between the two
	Limit    unit.Length
}

// IndicateDistance returns the distance left from only two sizes:
//
//	left = (now − limit) · distance/(new − now)
//
//	new, now  size when new and now   m
//	distance  run between them        m
//
// It is an indication and must be labelled one: it has no interval.
//
// Valid for distance > 0, new > now and limit > 0; otherwise the error is a
// *unit.DomainError. At or below the limit nothing is left.
//
// Source: total wear over total distance, handbook chapter 05, section 8.
func IndicateDistance(in IndicationInput) (rate Rate, left unit.Length, err error) {
	const name = "indicated distance"
	switch {
	case !(in.Distance > 0 && finite(float64(in.Distance))):
		return 0, 0, &unit.DomainError{Formula: name, Input: "distance", Value: float64(in.Distance), Want: "distance > 0"}
	case !(in.New > in.Now && finite(float64(in.New)) && finite(float64(in.Now))):
		return 0, 0, &unit.DomainError{Formula: name, Input: "new", Value: float64(in.New), Want: "larger than the size now"}
	case !(in.Limit > 0):
		return 0, 0, &unit.DomainError{Formula: name, Input: "limit", Value: float64(in.Limit), Want: "limit > 0"}
	}
	rate = Rate((in.New - in.Now) / in.Distance)
	return rate, max(in.Now-in.Limit, 0) / unit.Length(rate), nil
}
