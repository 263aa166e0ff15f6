package turning

import (
	"math"

	"underpin/unit"
)

// A Bound answers for one tractor and lead, in one subtraction for each
// trailer, whether the steady circle leaves the inner circle free.
type Bound struct {
	In       BoundInput
	RearAxle unit.Length // ρ1
	Kingpin  unit.Length // rH
	square   float64     // rH²
}

// BoundInput is a tractor led on a circle, without a trailer.
type BoundInput struct {
	GuideRadius unit.Length // R
	GuideAhead  unit.Length // a
	GuideLeft   unit.Length // b
	Lead        unit.Length // e
}

// KingpinBound returns the radius of the steady circle of the kingpin of a
// tractor, from which every trailer is judged at once:
//
//	rH² = (sqrt(R² − a²) + b)² + e²
//	a trailer fits when  L2² + (inner + w/2)² ≤ rH²
//
//	R, a, b, e, L2, w as in Steady          m
//	inner  radius that must stay free        m
//
// With a lead ≥ 0 and a circle that is entered from a straight, neither the
// articulation nor the cut-in passes its steady value (proven for e = 0, found
// so in random trials for e up to 0.35·a), so what fits here fits in the lap
// too, and in the exit. With a coupling behind the axle the exit from the turn
// cuts in further: on the 12.5 m circle up to 0.5 mm at e = −0.5 m, 5 mm at
// −1 m and 99 mm at −2.5 m, more on tighter circles: simulate those.
//
// Valid for R > a > 0 and ρ1 > 0; otherwise the error is a *unit.DomainError,
// or for R ≤ a a *unit.NoAnswerError.
//
// Source: derived (handbook chapter 04, 4.1 and 4.5).
func KingpinBound(in BoundInput) (Bound, error) {
	r, err := kingpin("kingpin bound", in)
	if err != nil {
		return Bound{}, err
	}
	rH := float64(r.Kingpin)
	return Bound{In: in, RearAxle: r.RearAxle, Kingpin: r.Kingpin, square: rH * rH}, nil
}

// kingpin is the steady circle with a trailer so short that it never folds.
func kingpin(formula string, in BoundInput) (SteadyResult, error) {
	s := SteadyInput{GuideRadius: in.GuideRadius, GuideAhead: in.GuideAhead, GuideLeft: in.GuideLeft, Lead: in.Lead, PinToBogie: math.SmallestNonzeroFloat64}
	if err := s.check(formula); err != nil {
		return SteadyResult{}, err
	}
	r, ok := steady(s)
	switch {
	case ok:
		return r, nil
	case !(in.GuideRadius > in.GuideAhead):
		return SteadyResult{}, noAnswer(formula, "no steady state: the guided point lies %.3f m ahead of the rear axle, not less than the radius %.3f m", in.GuideAhead, in.GuideRadius)
	}
	return SteadyResult{}, &unit.DomainError{Formula: formula, Input: "guide-left", Value: float64(in.GuideLeft), Want: "guide-left > −sqrt(R² − a²)"}
}

// Fits tells whether a trailer's steady inner edge stays outside the inner
// circle. NaN never fits.
func (b Bound) Fits(pinToBogie, width, inner unit.Length) bool {
	l, r := float64(pinToBogie), float64(inner+width/2)
	return r > 0 && l*l+r*r <= b.square
}

// Inner returns the steady inner radius with this trailer, or NaN when the
// trailer folds up.
func (b Bound) Inner(pinToBogie, width unit.Length) unit.Length {
	l := float64(pinToBogie)
	if !(l*l < b.square) {
		return unit.Length(math.NaN())
	}
	return unit.Length(math.Sqrt(b.square-l*l)) - width/2
}

// LongestInput asks for the longest trailer behind a tractor.
type LongestInput struct {
	BoundInput
	Width unit.Length // w, of the trailer
	Inner unit.Length // radius that must stay free
}

// LongestResult is the longest distance from kingpin to equivalent axle.
type LongestResult struct {
	In         LongestInput
	Kingpin    unit.Length // rH
	InnerAxle  unit.Length // inner + w/2: least radius of the trailer's axle
	PinToBogie unit.Length // L2
}

// LongestPinToBogie returns the largest distance from kingpin to equivalent
// trailer axle with which the steady inner edge keeps a given inner radius:
//
//	L2 = sqrt(rH² − (inner + w/2)²)
//
//	rH as in KingpinBound                    m
//	w  width of the trailer                  m
//
// Valid for the inputs of KingpinBound, w ≥ 0 and inner + w/2 > 0; otherwise
// the error is a *unit.DomainError. If the kingpin itself runs inside that
// radius no trailer fits and the error is a *unit.NoAnswerError.
//
// Source: derived (handbook chapter 04, 1.8 R4).
func LongestPinToBogie(in LongestInput) (LongestResult, error) {
	const name = "longest pin to bogie"
	c := check{formula: name}
	c.want(in.Width >= 0 && finite(float64(in.Width)), "width", float64(in.Width), "width ≥ 0")
	c.want(in.Inner+in.Width/2 > 0 && finite(float64(in.Inner)), "inner", float64(in.Inner), "inner + width/2 > 0")
	if c.err != nil {
		return LongestResult{}, c.err
	}
	k, err := kingpin(name, in.BoundInput)
	if err != nil {
		return LongestResult{}, err
	}
	r := LongestResult{In: in, Kingpin: k.Kingpin, InnerAxle: in.Inner + in.Width/2}
	if !(r.Kingpin > r.InnerAxle) {
		return LongestResult{}, noAnswer(name, "no trailer fits: the kingpin's radius %.3f m is not larger than %.3f m", r.Kingpin, r.InnerAxle)
	}
	rH, ρ2 := float64(r.Kingpin), float64(r.InnerAxle)
	r.PinToBogie = unit.Length(math.Sqrt(rH*rH - ρ2*ρ2))
	return r, nil
}

// DeemedInput is the circle of the deeming rule.
type DeemedInput struct {
	Width         unit.Length // W, of the trailer
	Outer         unit.Length // 12.50 m
	Inner         unit.Length // 5.30 m
	FittingRadius unit.Length // 2.04 m: kingpin to the front corner
}

// DeemedResult is the reference wheelbase up to which a semi-trailer is deemed
// to turn well enough.
type DeemedResult struct {
	In                 DeemedInput
	Kingpin            unit.Length // radius on which the rule lets the kingpin run
	TrailerAxle        unit.Length
	ReferenceWheelbase unit.Length
}

// DeemedWheelbase returns the reference wheelbase up to which a semi-trailer
// is deemed to keep the turning circle, whatever its tractor:
//
//	RWB = sqrt((outer − fitting)² − (inner + W/2)²)
//
//	outer, inner  radii of the two circles                       m
//	fitting       kingpin to the trailer's front corner          m
//	W             width of the trailer                           m
//	RWB           kingpin to the centre of the axles that do not steer  m
//
// The rule assumes that the kingpin runs on outer − fitting, further out than
// real tractors carry it. To be deemed is therefore no proof that a given pair
// turns well enough: compute the pair as well. Failing the rule is not failing
// the law. With lift axles the longest wheelbase counts (from memory).
//
// Valid for 0 ≤ fitting < outer and inner + W/2 > 0; otherwise the error is a
// *unit.DomainError. If the circles leave no room the error is a
// *unit.NoAnswerError.
//
// Source: that the rule exists, UK SI 1998/1188 reg. 9, which imports Directive
// 97/27/EC Annex I 7.6.1.2; its wording is from memory, confirmed by one
// printed value, 8.13 m (press note on the French arrêté of 27 December 1999).
func DeemedWheelbase(in DeemedInput) (DeemedResult, error) {
	const name = "reference-wheelbase"
	c := check{formula: name}
	c.positive("outer", in.Outer)
	c.want(0 <= in.FittingRadius && in.FittingRadius < in.Outer, "fitting-radius", float64(in.FittingRadius), "0 ≤ fitting-radius < outer")
	c.want(in.Width >= 0 && finite(float64(in.Width)), "width", float64(in.Width), "width ≥ 0")
	c.want(in.Inner+in.Width/2 > 0 && finite(float64(in.Inner)), "inner", float64(in.Inner), "inner + width/2 > 0")
	if c.err != nil {
		return DeemedResult{}, c.err
	}
	r := DeemedResult{In: in, Kingpin: in.Outer - in.FittingRadius, TrailerAxle: in.Inner + in.Width/2}
	if !(r.Kingpin > r.TrailerAxle) {
		return DeemedResult{}, noAnswer(name, "no wheelbase fits: the kingpin's radius %.3f m is not larger than %.3f m", r.Kingpin, r.TrailerAxle)
	}
	rH, ρ2 := float64(r.Kingpin), float64(r.TrailerAxle)
	r.ReferenceWheelbase = unit.Length(math.Sqrt(rH*rH - ρ2*ρ2))
	return r, nil
}
