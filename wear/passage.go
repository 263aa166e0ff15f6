package wear

import (
	"math"

	"underpin/unit"
)

// Passage is a Brownian motion with drift on its way to a barrier; "way" is
// distance or time, all in units that belong together.
type Passage struct {
	Barrier   float64 // D, how far it has to rise
	Drift     float64 // m, mean rise per way
	DriftSD   float64 // s, spread of that mean between parts
	Diffusion float64 // q, variance gathered per way
}

// ReachedBarrier returns the probability that a Brownian path with random drift
// has touched a barrier:
//
//	F(d) = Φ((m·d − D)/√v) + exp(2·m·D/q + 2·s²·D²/q²)·Φ(−(2·s²·D·d + q·(D + m·d))/(q·√v))
//	v = q·d + s²·d²
//
//	D     barrier above the start
//	m, s  mean and spread of the drift    per way
//	q     diffusion                       per way
//	d     way
//
// With s = 0 it is the inverse Gaussian distribution. The second term is what a
// path adds that touched the barrier and fell back; wear does not fall, and for
// planning the first term alone is enough.
//
// Valid for D > 0, m > 0, s ≥ 0, q > 0 and d ≥ 0; otherwise the error is a
// *unit.DomainError.
//
// Source: inverse Gaussian first passage with normal drift, handbook chapter 06,
// B1.3, checked there by numerical integration.
func ReachedBarrier(p Passage, way float64) (float64, error) {
	const name = "first passage"
	switch {
	case !(p.Barrier > 0 && finite(p.Barrier)):
		return 0, &unit.DomainError{Formula: name, Input: "barrier", Value: p.Barrier, Want: "D > 0"}
	case !(p.Drift > 0 && finite(p.Drift)):
		return 0, &unit.DomainError{Formula: name, Input: "drift", Value: p.Drift, Want: "m > 0"}
	case !(p.DriftSD >= 0 && finite(p.DriftSD)):
		return 0, &unit.DomainError{Formula: name, Input: "spread of the drift", Value: p.DriftSD, Want: "s ≥ 0"}
	case !(p.Diffusion > 0 && finite(p.Diffusion)):
		return 0, &unit.DomainError{Formula: name, Input: "diffusion", Value: p.Diffusion, Want: "q > 0"}
	case !(way >= 0 && finite(way)):
		return 0, &unit.DomainError{Formula: name, Input: "way", Value: way, Want: "d ≥ 0"}
	}
	if way == 0 {
		return 0, nil
	}
	D, m, s2, q, d := p.Barrier, p.Drift, p.DriftSD*p.DriftSD, p.Diffusion, way
	root := math.Sqrt(q*d + s2*d*d)
	u, a := (m*d-D)/root, (2*s2*D*d+q*(D+m*d))/(q*root)
	// The exponential is huge where Φ is tiny. Multiplied out, the exponents
	// leave just φ(u)·Φ(−a)/φ(a), of which nothing can overflow.
	return math.Min(1, normal(u)+density(u)*mills(a)), nil
}
