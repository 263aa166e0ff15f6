package rule

import (
	"math"

	"underpin/unit"
)

// A Ring is what the deemed-to-comply rule for semi-trailers is formed from.
type Ring struct {
	Width         unit.Length // of the semi-trailer
	Outer         unit.Length // radius of the outer circle
	Inner         unit.Length // radius of the inner circle
	FittingRadius unit.Length // kingpin to the front corner
}

// A Wheelbase is the largest reference wheelbase and what it follows from.
type Wheelbase struct {
	Guide       unit.Length // radius on which the kingpin runs
	InnerCentre unit.Length // radius of the axle's centre when the inner side is on the inner circle
	Limit       unit.Length
}

// ReferenceWheelbase returns the largest distance from kingpin to the centre
// of the non-steered axle or axle group for which a semi-trailer is deemed to
// pass the turning circle:
//
//	RWB = √((R − s)² − (r + W/2)²)
//
//	R  outer radius                       m
//	r  inner radius                       m
//	s  kingpin to the front corner        m
//	W  width of the semi-trailer          m
//
// It is the steady state of a trailer whose kingpin is led on R − s. A trailer
// that fails it has only lost the shortcut: a turning calculation with the
// real tractor decides. Nor does it promise that the real combination passes.
//
// Valid for 0 ≤ s, 0 < W, 0 < r and R − s > r + W/2, no steered trailer axle;
// otherwise the error is a *unit.DomainError.
//
// Source: Directive 97/27/EC, Annex I, 7.6.1.2; that the clause exists was
// read in SI 1998/1188 reg. 9, its formula is from memory and agrees with the
// 8.13 m of the press note on the French order of 27 December 1999.
func ReferenceWheelbase(ring Ring) (Wheelbase, error) {
	R, r, s, W := float64(ring.Outer), float64(ring.Inner), float64(ring.FittingRadius), float64(ring.Width)
	bad := func(input string, value float64, want string) (Wheelbase, error) {
		return Wheelbase{}, &unit.DomainError{Formula: "reference-wheelbase", Input: input, Value: value, Want: want}
	}
	switch {
	case !(s >= 0):
		return bad("s", s, "0 ≤ s")
	case !(W > 0):
		return bad("W", W, "0 < W")
	case !(r > 0):
		return bad("r", r, "0 < r")
	case !(R-s > r+W/2) || math.IsInf(R, 1):
		return bad("R", R, "s + r + W/2 < R, finite")
	}
	guide, centre := R-s, r+W/2
	return Wheelbase{unit.Length(guide), unit.Length(centre), unit.Length(math.Sqrt(guide*guide - centre*centre))}, nil
}

// A Body is the longest square body that keeps both kingpin dimensions.
type Body struct {
	FrontOverhang unit.Length // kingpin axis to the front wall
	Length        unit.Length
}

// LongestBody returns the length of the longest body with a square front that
// keeps the kingpin-to-rear distance and the front radius:
//
//	a = √(s² − (W/2)²)
//	length = k + a
//
//	k  kingpin axis to rear, limit        m
//	s  kingpin axis to front corner, limit m
//	W  width                              m
//	a  front overhang                     m
//
// Valid for 0 < k and 0 < W < 2s; otherwise the error is a *unit.DomainError.
//
// Source: derived from Directive 96/53/EC, Annex I, points 1.6 and 4.4; a trade
// journal of 25 October 1990 prints 13.61 m for a width of 2.5 m.
func LongestBody(kingpinToRear, frontRadius, width unit.Length) (Body, error) {
	k, s, W := float64(kingpinToRear), float64(frontRadius), float64(width)
	switch {
	case !(k > 0) || math.IsInf(k, 1):
		return Body{}, &unit.DomainError{Formula: "longest-body", Input: "k", Value: k, Want: "0 < k, finite"}
	case !(0 < W && W < 2*s) || math.IsInf(s, 1):
		return Body{}, &unit.DomainError{Formula: "longest-body", Input: "W", Value: W, Want: "0 < W < 2s, finite"}
	}
	a := math.Sqrt(s*s - W*W/4)
	return Body{unit.Length(a), unit.Length(k + a)}, nil
}
