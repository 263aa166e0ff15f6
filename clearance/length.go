package clearance

import "underpin/unit"

// A Layout is what of a tractor and a semi-trailer bears on their length.
type Layout struct {
	FrontOverhang unit.Length // af, front end of the tractor ahead of the front axle
	Wheelbase     unit.Length // L1
	Lead          unit.Length // e, coupling ahead of the axle that ends the wheelbase
	PinToRear     unit.Length // xr, kingpin to the rear end of the trailer
}

// A Combined is the length of tractor and semi-trailer in line.
type Combined struct {
	FrontToPin unit.Length // front end of the tractor to the kingpin
	Length     unit.Length
}

// CombinationLength returns the length of a tractor and semi-trailer in line:
//
//	front to pin = af + L1 − e
//	length       = af + L1 − e + xr
//
//	af  front overhang of the tractor                       m
//	L1  wheelbase                                           m
//	e   lead of the coupling ahead of the axle that ends L1 m
//	xr  kingpin to the rear end of the trailer              m
//
// The most rearward position of a slider is the worst.
//
// Valid for af ≥ 0, L1 > 0, xr > 0 and a known lead; otherwise the error is a
// *unit.DomainError.
//
// Source: addition; handbook chapter 04, 0 and 2.4.
func CombinationLength(l Layout) (Combined, error) {
	if err := refuse("combination length", notNegative("front overhang", l.FrontOverhang), positive("wheelbase", l.Wheelbase),
		anyLength("lead", l.Lead), positive("pin to rear", l.PinToRear)); err != nil {
		return Combined{}, err
	}
	pin := l.FrontOverhang + l.Wheelbase - l.Lead
	return Combined{FrontToPin: pin, Length: pin + l.PinToRear}, nil
}

// A LengthBound is what a limit on the length leaves to the tractor.
type LengthBound struct {
	FrontToPin unit.Length // the most that may lie between tractor front and kingpin
	MinLead    unit.Length // the least lead that keeps it
}

// ShortestLead returns the least lead with which a tractor and semi-trailer
// keep within a length, and the bound on the distance of tractor front and
// kingpin that it stands for:
//
//	af + L1 − e ≤ L − xr
//	e ≥ af + L1 + xr − L
//
//	L  longest length allowed   m
//
// with the other symbols of CombinationLength; the lead in the layout is not
// used.
//
// Valid for L > 0, af ≥ 0, L1 > 0 and xr > 0; otherwise the error is a
// *unit.DomainError.
//
// Source: CombinationLength solved for the lead; handbook chapter 04, 0.
func ShortestLead(limit unit.Length, l Layout) (LengthBound, error) {
	if err := refuse("shortest lead", positive("length limit", limit), notNegative("front overhang", l.FrontOverhang),
		positive("wheelbase", l.Wheelbase), positive("pin to rear", l.PinToRear)); err != nil {
		return LengthBound{}, err
	}
	bound := limit - l.PinToRear
	return LengthBound{FrontToPin: bound, MinLead: l.FrontOverhang + l.Wheelbase - bound}, nil
}
