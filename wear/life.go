package wear

import (
	"math"

	"underpin/unit"
)

// A Distribution is that of a part's remaining life, counted in distance from
// now.
type Distribution interface {
	Reached(d unit.Length) float64        // F, probability that the life has ended within d
	Density(d unit.Length) float64        // f, per metre
	MeanWithin(d unit.Length) unit.Length // E min(T, d) = ∫₀ᵈ (1 − F)
}

// Life is the remaining life of a part whose wear is known as State says.
type Life struct {
	State State
	Limit unit.Length
}

// Reached is F(d), the probability that the limit is reached within d.
func (l Life) Reached(d unit.Length) float64 { return l.State.Within(l.Limit, d) }

// Density is f(d) = F'(d), per metre.
func (l Life) Density(d unit.Length) float64 { return l.State.crossing(l.Limit).density(float64(d)) }

// Hazard is h(d) = f/(1 − F), per metre: the share of the parts still in their
// limit at d that reach it in the next metre.
func (l Life) Hazard(d unit.Length) float64 { return l.Density(d) / (1 - l.Reached(d)) }

// Left is the distance that is undercut with probability p.
func (l Life) Left(p float64) unit.Length { return l.State.Left(l.Limit, p) }

// MeanWithin is E min(T, d) = ∫₀ᵈ (1 − F), how far the part goes on average when
// it is taken off at d at the latest.
func (l Life) MeanWithin(d unit.Length) unit.Length {
	return unit.Length(l.State.crossing(l.Limit).meanWithin(float64(d)))
}

func (c crossing) density(t float64) float64 {
	m, v := c.m0+c.m1*t, c.v0+c.v1*t+c.v2*t*t
	if !(v > 0) {
		return 0
	}
	root := math.Sqrt(v)
	return density(m/root) * (c.m1 - m*(c.v1+2*c.v2*t)/(2*v)) / root
}

// meanWithin integrates 1 − F from 0 to t. Outside nine standard deviations F is
// 0 or 1 to the last digit, so only the rise between is integrated by points.
func (c crossing) meanWithin(t float64) float64 {
	from := math.Min(c.quantile(-9), t)
	to := math.Min(c.quantile(9), t)
	return from + integrate(from, to, func(d float64) float64 { return 1 - c.probability(d) })
}

// integrate is Gauss–Legendre with ten points on each of 48 equal panels.
func integrate(a, b float64, f func(float64) float64) float64 {
	if !(b > a) {
		return 0
	}
	const panels = 48
	h := (b - a) / panels / 2
	var sum float64
	for k := range panels {
		mid := a + h*float64(2*k+1)
		for i, x := range legendreNodes {
			sum += legendreWeights[i] * (f(mid-h*x) + f(mid+h*x))
		}
	}
	return sum * h
}

// Positive nodes and weights of Gauss–Legendre quadrature with ten points:
// Abramowitz and Stegun, table 25.4.
var (
	legendreNodes   = [5]float64{0.148874338981631211, 0.433395394129247191, 0.679409568299024406, 0.865063366688984511, 0.973906528517171720}
	legendreWeights = [5]float64{0.295524224714752870, 0.269266719309996355, 0.219086362515982044, 0.149451349150580593, 0.066671344308688138}
)
