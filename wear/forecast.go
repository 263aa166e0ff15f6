package wear

import (
	"math"

	"underpin/unit"
)

// crossing is a normal quantity of mean m0 + m1·t and variance v0 + v1·t + v2·t²
// that starts below a limit; m0 is counted from the limit, so it is negative.
type crossing struct{ m0, m1, v0, v1, v2 float64 }

// probability that the quantity lies at or above the limit at t.
func (c crossing) probability(t float64) float64 {
	m, v := c.m0+c.m1*t, c.v0+c.v1*t+c.v2*t*t
	if !(v > 0) {
		if m >= 0 {
			return 1
		}
		return 0
	}
	return normal(m / math.Sqrt(v))
}

// quantile is the first t at which the probability reaches Φ(z). It is 0 when it
// is reached from the start and +Inf when it never is.
//
// (m0 + m1·t)² = z²·(v0 + v1·t + v2·t²) has one root on each side of t = −m0/m1;
// the lower belongs to z < 0, the upper to z > 0.
func (c crossing) quantile(z float64) float64 {
	if c.m0 >= z*math.Sqrt(c.v0) {
		return 0
	}
	A := c.m1*c.m1 - z*z*c.v2
	B := 2*c.m0*c.m1 - z*z*c.v1
	C := c.m0*c.m0 - z*z*c.v0
	if z == 0 {
		if c.m1 > 0 {
			return -c.m0 / c.m1
		}
		return unbounded
	}
	disc := B*B - 4*A*C
	if !(disc >= 0) {
		if !(c.m1 > 0) {
			return unbounded
		}
		disc = 0 // two roots fallen together, rounding put them apart
	}
	// Both roots without cancellation.
	q := -0.5 * (B + math.Copysign(math.Sqrt(disc), B))
	r1, r2 := q/A, C/q
	best := unbounded
	for _, t := range [...]float64{r1, r2} {
		// A root counts if it lies ahead and on the side of the limit that z asks for.
		if t >= 0 && t < best && (c.m0+c.m1*t)*z >= 0 {
			best = t
		}
	}
	return best
}

func (s State) crossing(limit unit.Length) crossing {
	return crossing{float64(s.Wear - limit), float64(s.Rate), s.VarWear, 2*s.Cov + float64(s.Drift), s.VarRate}
}

// Within is the probability that the limit is reached within a further distance:
// P = Φ((m_w + m_b·d − L)/√(V_ww + 2d·V_wb + d²·V_bb + q·d)).
func (s State) Within(limit, d unit.Length) float64 { return s.crossing(limit).probability(float64(d)) }

// Left is the distance left to the limit that is undercut with probability p:
// p = 0.05 is the careful one. It is 0 when the part may be at its limit with
// that probability already, and +Inf when there is no upper bound.
func (s State) Left(limit unit.Length, p float64) unit.Length {
	return unit.Length(s.crossing(limit).quantile(quantile(p)))
}

// A Forecast is how far a part goes until its limit.
type Forecast struct {
	State                   State
	Limit                   unit.Length
	Q05, Q10, Q50, Q90, Q95 unit.Length // distance left, undercut with this probability; +Inf without upper bound
	AtLimit                 float64     // probability that the limit is reached already
	FallingRate             float64     // probability that the model gives to a rate below nothing
	Doubtful                bool        // FallingRate above 0.2 %: the normal spread of the rate is too wide to trust the upper quantiles
}

// ForecastWear returns wear and rate at the last reading and the distance left
// until the limit, as quantiles:
//
//	P(d) = Φ( (m_w + m_b·d − L)/√(V_ww + 2d·V_wb + d²·V_bb + q·d) )
//	(m_b² − z²·V_bb)·d² + [ 2·(m_w − L)·m_b − z²·(2·V_wb + q) ]·d + (m_w − L)² − z²·V_ww = 0
//
//	m_w, m_b        wear and rate at the last reading, as Learn gives them   m, m/m
//	V               their covariance
//	q               drift                                                   m²/m
//	L               limit of wear                                           m
//	z               Φ⁻¹(p); the smaller root for p < ½, the larger for p > ½
//	d               distance left                                           m
//
// Without readings it is the forecast of a new part from the fleet alone, and
// must be shown as such.
//
// Valid for L above the start, and for prior and readings as Learn asks for them;
// otherwise the error is a *unit.DomainError. When the rate learnt is not above nothing there is no
// forecast: *unit.NoAnswerError. A quantile without upper bound is +Inf. The
// spread of the rate is taken as normal, which is good while P(rate < 0) stays
// below 0.2 %; beyond that Doubtful is set.
//
// Source: handbook chapter 06, B1.3; Kalman filter and Fieller's quadratic,
// textbook forms.
func ForecastWear(p Prior, readings []Reading, limit unit.Length) (Forecast, error) {
	const name = "wear forecast"
	if !(limit > p.Start && finite(float64(limit))) {
		return Forecast{}, &unit.DomainError{Formula: name, Input: "limit", Value: float64(limit), Want: "above the wear at the start"}
	}
	s, err := Learn(p, readings)
	if err != nil {
		return Forecast{}, err
	}
	if !(s.Rate > 0) {
		return Forecast{}, &unit.NoAnswerError{Formula: name, Why: "the readings show no wear: the rate learnt from them is not above nothing"}
	}
	f := Forecast{State: s, Limit: limit}
	c := s.crossing(limit)
	f.Q05, f.Q10 = unit.Length(c.quantile(z05)), unit.Length(c.quantile(z10))
	f.Q50 = unit.Length(c.quantile(0))
	f.Q90, f.Q95 = unit.Length(c.quantile(-z10)), unit.Length(c.quantile(-z05))
	f.AtLimit = c.probability(0)
	if s.VarRate > 0 {
		f.FallingRate = normal(-float64(s.Rate) / math.Sqrt(s.VarRate))
	}
	f.Doubtful = f.FallingRate > 0.002
	return f, nil
}

// Φ⁻¹(0.05) and Φ⁻¹(0.10), Abramowitz and Stegun, table 26.5, to double
// precision.
const (
	z05 = -1.6448536269514722
	z10 = -1.2815515655446004
)
