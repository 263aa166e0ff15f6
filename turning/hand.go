package turning

import (
	"math"

	"underpin/unit"
)

// OfftrackingInput is what the hand formula asks for.
type OfftrackingInput struct {
	OuterWheelRadius unit.Length // tr: turning radius at the outer front wheel
	HalfTrack        unit.Length // ht: half of the front track
	Wheelbase        unit.Length // wb, of the tractor
	Lead             unit.Length // ko: kingpin offset from the rear axle
	PinToBogie       unit.Length // ka: wheelbase of the semi-trailer
}

// OfftrackingResult is the steady off-tracking with its intermediate radii.
type OfftrackingResult struct {
	In          OfftrackingInput
	RearAxle    unit.Length // middle of the tractor's rear axle
	FrontAxle   unit.Length // middle of the front axle
	TrailerAxle unit.Length // middle of the trailer's axle
	Offtracking unit.Length
}

// Offtracking returns by how much the path of the trailer's axle lies inside
// that of the front axle once the turn is steady:
//
//	ρ1 = sqrt(tr² − wb²) − ht
//	OT = sqrt(wb² + ρ1²) − sqrt(ko² + ρ1² − ka²)
//
//	tr  turning radius at the outer front wheel    m
//	ht  half of the front track                    m
//	wb  wheelbase of the tractor                   m
//	ko  kingpin offset from the rear axle          m
//	ka  kingpin to trailer axle                    m
//	OT  maximum off-tracking                       m
//
// Valid for tr > wb > 0, ht ≥ 0, ka > 0 and ρ1 > 0; otherwise the error is a
// *unit.DomainError. With ko² + ρ1² ≤ ka² no steady state exists and the error
// is a *unit.NoAnswerError.
//
// Source: SAE-type off-tracking chart as printed in a city's public works
// document, page 53; the standard it follows was not read.
func Offtracking(in OfftrackingInput) (OfftrackingResult, error) {
	const name = "offtracking"
	c := check{formula: name}
	c.positive("wheelbase", in.Wheelbase)
	c.want(in.OuterWheelRadius > in.Wheelbase && finite(float64(in.OuterWheelRadius)), "outer-wheel-radius", float64(in.OuterWheelRadius), "outer-wheel-radius > wheelbase")
	c.want(in.HalfTrack >= 0 && finite(float64(in.HalfTrack)), "half-track", float64(in.HalfTrack), "half-track ≥ 0")
	c.given("lead", float64(in.Lead))
	c.positive("pin-to-bogie", in.PinToBogie)
	if c.err != nil {
		return OfftrackingResult{}, c.err
	}
	tr, ht, wb := float64(in.OuterWheelRadius), float64(in.HalfTrack), float64(in.Wheelbase)
	ko, ka := float64(in.Lead), float64(in.PinToBogie)
	ρ1 := math.Sqrt(tr*tr-wb*wb) - ht
	c.want(ρ1 > 0, "half-track", ht, "half-track < sqrt(tr² − wb²)")
	if c.err != nil {
		return OfftrackingResult{}, c.err
	}
	square := ko*ko + ρ1*ρ1 - ka*ka
	if !(square > 0) {
		return OfftrackingResult{}, noAnswer(name, "folds up; transient only: the kingpin's radius %.3f m is not larger than the pin to bogie distance %.3f m", math.Hypot(ko, ρ1), ka)
	}
	front, trailer := math.Hypot(wb, ρ1), math.Sqrt(square)
	return OfftrackingResult{
		In: in, RearAxle: unit.Length(ρ1), FrontAxle: unit.Length(front),
		TrailerAxle: unit.Length(trailer), Offtracking: unit.Length(front - trailer),
	}, nil
}

// SumResult is the off-tracking of a chain by the sum of squares.
type SumResult struct {
	Sum         unit.Area   // ΣL² − Σe²
	LastAxle    unit.Length // radius of the last axle
	Offtracking unit.Length
	Linear      unit.Length // Sum/(2R): the form of old pocket books
}

// SumOfSquares returns the steady off-tracking of a chain of units, led by the
// middle of its front axle:
//
//	OT = R − sqrt(R² − ΣL² + Σe²)
//	linear form: (ΣL² − Σe²) / (2·R)
//
//	R  radius of the middle of the front axle           m
//	L  wheelbase of the tractor and of each towed unit  m
//	e  lead of each hitch, of either sign               m
//
// The linear form falls short, by a fifth on a 12.5 m circle: do not use it
// below R ≈ 3·sqrt(ΣL²).
//
// Valid for R > 0 and lengths L > 0; otherwise the error is a
// *unit.DomainError. Where the chain has no steady state, in whole or up to
// one of its hitches, the error is a *unit.NoAnswerError.
//
// Source: algebra of the steady circle (handbook chapter 04, 1.9); the usual
// name of the form is from memory.
func SumOfSquares(radius unit.Length, lengths, leads []unit.Length) (SumResult, error) {
	const name = "sum of squares"
	c := check{formula: name}
	c.positive("radius", radius)
	c.want(len(lengths) > 0, "lengths", float64(len(lengths)), "one length or more")
	c.want(len(leads) == len(lengths)-1, "leads", float64(len(leads)), "one lead fewer than lengths")
	for _, l := range lengths {
		c.positive("length", l)
	}
	for _, e := range leads {
		c.given("lead", float64(e))
	}
	if c.err != nil {
		return SumResult{}, c.err
	}
	R := float64(radius)
	square := R * R
	for i, l := range lengths {
		if i > 0 {
			square += float64(leads[i-1]) * float64(leads[i-1])
		}
		square -= float64(l) * float64(l)
		if !(square > 0) {
			return SumResult{}, noAnswer(name, "unit %d folds up on a radius of %.3f m; transient only", i+1, R)
		}
	}
	last := math.Sqrt(square)
	sum := (R - last) * (R + last)
	return SumResult{Sum: unit.Area(sum), LastAxle: unit.Length(last), Offtracking: unit.Length(R - last), Linear: unit.Length(sum / (2 * R))}, nil
}

// TurningRadius returns the radius of the outer front wheel from the angle to
// which the inner front wheel turns:
//
//	TR = sqrt((WB/tan TA + track)² + WB²)
//
//	WB     wheelbase                       m
//	track  front track                     m
//	TA     angle of the inner front wheel  rad
//
// Valid for WB > 0, track ≥ 0 and 0 < TA < 90°; otherwise the error is a
// *unit.DomainError.
//
// Source: formula and example as printed in a city's public works document,
// page 39.
func TurningRadius(wheelbase, track unit.Length, inner unit.Angle) (unit.Length, error) {
	c := check{formula: "turning radius"}
	c.positive("wheelbase", wheelbase)
	c.want(track >= 0 && finite(float64(track)), "track", float64(track), "track ≥ 0")
	c.want(0 < inner && inner < math.Pi/2, "inner wheel angle", float64(inner), "0 < angle < 90°")
	if c.err != nil {
		return 0, c.err
	}
	WB := float64(wheelbase)
	return unit.Length(math.Hypot(WB/math.Tan(float64(inner))+float64(track), WB)), nil
}
