package wear

import (
	"math"

	"underpin/unit"
)

// Usage is how far a vehicle runs.
type Usage struct {
	PerDay unit.Length // r̂, mean distance a day
	SD     unit.Length // s_r, spread of that mean
	Walk   unit.Length // √Q, day-to-day spread of the distance, gathered per square root of a day
}

func (u Usage) check(name string) error {
	switch {
	case !(u.PerDay > 0 && finite(float64(u.PerDay))):
		return &unit.DomainError{Formula: name, Input: "distance a day", Value: float64(u.PerDay), Want: "above nothing"}
	case !(u.SD >= 0 && u.SD < u.PerDay):
		return &unit.DomainError{Formula: name, Input: "spread of the distance a day", Value: float64(u.SD), Want: "0 or more, below the mean"}
	case !(u.Walk >= 0 && finite(float64(u.Walk))):
		return &unit.DomainError{Formula: name, Input: "day-to-day spread", Value: float64(u.Walk), Want: "0 or more"}
	}
	return nil
}

// The positive nodes and the weights of Gauss–Hermite quadrature with 32 points,
// for ∫ e^(−x²) f(x) dx: roots of H32, in double precision; a test works them
// out again.
var hermiteNodes = [16]float64{
	0.19484074156939932, 0.5849787654359324, 0.9765004635896828, 1.3703764109528718,
	1.7676541094632017, 2.169499183606112, 2.5772495377323175, 2.992490825002374,
	3.417167492818571, 3.853755485471445, 4.305547953351199, 4.777164503502596,
	5.2755509865158805, 5.812225949515914, 6.409498149269661, 7.125813909830727,
}

var hermiteWeights = [16]float64{
	0.3752383525928024, 0.2774581423025299, 0.1512697340766425, 0.06045813095591261,
	0.01755342883157343, 0.003654890326654428, 0.000536268365527972, 5.4165840618199826e-05,
	3.650585129562376e-06, 1.574167792545594e-07, 4.098832164770897e-09, 5.933291463396639e-11,
	4.2150102113264474e-13, 1.1973440170928487e-15, 9.231736536518292e-19, 7.310676427384163e-23,
}

// reachedBy is the probability that the limit is reached within t days.
func (s State) reachedBy(c crossing, u Usage, t float64) float64 {
	extra := float64(s.Rate) * float64(s.Rate) * float64(u.Walk) * float64(u.Walk) * t
	if u.SD == 0 {
		return c.widened(extra).probability(float64(u.PerDay) * t)
	}
	var sum float64
	for i, x := range hermiteNodes {
		for _, x := range [...]float64{x, -x} {
			r := float64(u.PerDay) + math.Sqrt2*float64(u.SD)*x
			if r < 0 {
				r = 0
			}
			sum += hermiteWeights[i] * c.widened(extra).probability(r*t)
		}
	}
	return sum / math.Sqrt(math.Pi)
}

func (c crossing) widened(v float64) crossing {
	c.v0 += v
	return c
}

// ReachedWithin returns the probability that a part reaches its limit within a
// number of days:
//
//	P(t) = ∫ Φ( (m_w + m_b·r·t − L)/√(V(r·t) + m_b²·Q·t) ) · N(r; r̂, s_r²) dr
//
//	r̂, s_r  distance a day, its spread               m
//	Q       day-to-day variance of the distance      m²
//	V(d)    variance of the wear d further on        m²
//	others  as in ForecastWear
//
// Valid for t ≥ 0, r̂ > 0, 0 ≤ s_r < r̂, √Q ≥ 0 and a wear rate above nothing;
// otherwise the error is a *unit.DomainError. The integral is Gauss–Hermite with
// 32 points.
//
// Source: handbook chapter 06, B1.4.
func ReachedWithin(s State, limit unit.Length, u Usage, t Days) (float64, error) {
	const name = "limit reached within days"
	if err := s.checkDates(name, limit, u); err != nil {
		return 0, err
	}
	if !(t >= 0 && finite(float64(t))) {
		return 0, &unit.DomainError{Formula: name, Input: "days", Value: float64(t), Want: "0 or more"}
	}
	return s.reachedBy(s.crossing(limit), u, float64(t)), nil
}

func (s State) checkDates(name string, limit unit.Length, u Usage) error {
	if err := u.check(name); err != nil {
		return err
	}
	switch {
	case !finite(float64(limit)):
		return &unit.DomainError{Formula: name, Input: "limit", Value: float64(limit), Want: "a finite length"}
	case !(s.Rate > 0):
		return &unit.DomainError{Formula: name, Input: "rate", Value: float64(s.Rate), Want: "a wear rate above nothing"}
	}
	return nil
}

// DaysLeft returns the days left until the limit that are undercut with
// probability p:
//
//	P(t) = p, with P as in ReachedWithin
//
// It is 0 when that probability is reached already, and +Inf when there is no
// upper bound.
//
// Valid for 0 < p < 1, r̂ > 0, 0 ≤ s_r < r̂, √Q ≥ 0 and a wear rate above nothing;
// otherwise the error is a *unit.DomainError.
//
// Source: handbook chapter 06, B1.4; the root is found by bisection.
func DaysLeft(s State, limit unit.Length, u Usage, p float64) (Days, error) {
	const name = "days left"
	if err := s.checkDates(name, limit, u); err != nil {
		return 0, err
	}
	if !(0 < p && p < 1) {
		return 0, &unit.DomainError{Formula: name, Input: "probability", Value: p, Want: "0 < p < 1"}
	}
	c := s.crossing(limit)
	if s.reachedBy(c, u, 0) >= p {
		return 0, nil
	}
	// Start from the fast answer and widen until the root lies between.
	hi := s.fastDays(limit, u, p)
	if !(hi > 0) || math.IsInf(hi, 1) {
		hi = -c.m0 / (c.m1 * float64(u.PerDay))
	}
	lo := 0.0
	for range 64 {
		if s.reachedBy(c, u, hi) >= p {
			break
		}
		lo, hi = hi, hi*1.5
	}
	if !(s.reachedBy(c, u, hi) >= p) {
		return Days(unbounded), nil
	}
	for hi-lo > 1e-12*hi {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if s.reachedBy(c, u, mid) >= p {
			hi = mid
		} else {
			lo = mid
		}
	}
	return Days((lo + hi) / 2), nil
}

// fast is the same question with the spread of the distance folded into the
// variance of the wear.
func (s State) fast(limit unit.Length, u Usage) crossing {
	r, sr, Q := float64(u.PerDay), float64(u.SD), float64(u.Walk)*float64(u.Walk)
	b2 := float64(s.Rate)*float64(s.Rate) + s.VarRate
	return crossing{
		m0: float64(s.Wear - limit), m1: float64(s.Rate) * r, v0: s.VarWear,
		v1: r*(2*s.Cov+float64(s.Drift)) + b2*Q, v2: r*r*s.VarRate + b2*sr*sr,
	}
}

func (s State) fastDays(limit unit.Length, u Usage, p float64) float64 {
	return s.fast(limit, u).quantile(quantile(p))
}

// DaysLeftFast returns the days left in closed form, for lists of many parts:
//
//	P(t) ≈ Φ( (m_w + m_b·r̂·t − L)/√(V(r̂·t) + (m_b² + V_bb)·(s_r²·t² + Q·t)) ) = p
//
//	symbols as in ReachedWithin
//
// The careful quantiles differ from DaysLeft by less than half a per cent where
// s_r is about a tenth of r̂.
//
// Valid for 0 < p < 1, r̂ > 0, 0 ≤ s_r < r̂, √Q ≥ 0 and a wear rate above nothing;
// otherwise the error is a *unit.DomainError.
//
// Source: handbook chapter 06, B1.4, fast approximation.
func DaysLeftFast(s State, limit unit.Length, u Usage, p float64) (Days, error) {
	const name = "days left, fast"
	if err := s.checkDates(name, limit, u); err != nil {
		return 0, err
	}
	if !(0 < p && p < 1) {
		return 0, &unit.DomainError{Formula: name, Input: "probability", Value: p, Want: "0 < p < 1"}
	}
	return Days(s.fastDays(limit, u, p)), nil
}

// ReachedWithinFast returns the probability of ReachedWithin by the closed form
// of DaysLeftFast:
//
//	P(t) ≈ Φ( (m_w + m_b·r̂·t − L)/√(V(r̂·t) + (m_b² + V_bb)·(s_r²·t² + Q·t)) )
//
// Valid for t ≥ 0, r̂ > 0, 0 ≤ s_r < r̂, √Q ≥ 0 and a wear rate above nothing;
// otherwise the error is a *unit.DomainError.
//
// Source: handbook chapter 06, B1.4, fast approximation.
func ReachedWithinFast(s State, limit unit.Length, u Usage, t Days) (float64, error) {
	const name = "limit reached within days, fast"
	if err := s.checkDates(name, limit, u); err != nil {
		return 0, err
	}
	if !(t >= 0 && finite(float64(t))) {
		return 0, &unit.DomainError{Formula: name, Input: "days", Value: float64(t), Want: "0 or more"}
	}
	return s.fast(limit, u).probability(float64(t)), nil
}
