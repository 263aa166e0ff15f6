package clearance

import (
	"math"

	"underpin/unit"
)

// A HeightStack is what stands between the ground and the plate face of an
// uncoupled or coupled tractor in one state of load and suspension.
type HeightStack struct {
	TyreRadius    unit.Length // r_stat, static radius at that axle load
	Suspension    unit.Length // h_susp, axle centre to frame top at that ride height
	Subframe      unit.Length // h_sub, subframe or mounting angles
	MountingPlate unit.Length // h_plate
	FifthWheel    unit.Length // h_5w, bolting face to plate face
}

// A StackHeight is where the frame and the plate face stand above the ground.
type StackHeight struct {
	Frame    unit.Length
	Coupling unit.Length
}

// CouplingHeight returns the height of the plate face above the ground, plate
// level, at the kingpin:
//
//	Hc = r_stat + h_susp + h_sub + h_plate + h_5w
//
//	r_stat   static tyre radius at the axle load             m
//	h_susp   axle centre to frame top at ride height         m
//	h_sub    subframe or mounting angles                     m
//	h_plate  mounting plate                                  m
//	h_5w     coupling, bolting face to plate face            m
//
// A coupling height is never one number: it is unladen, laden, and lowest and
// highest in the suspension's travel.
//
// Valid for r_stat > 0, h_5w > 0 and the others 0 or more, all known;
// otherwise the error is a *unit.DomainError.
//
// Source: addition along the chain of parts; definition of the height after
// SAE J701 Table 1 (uncoupled); handbook chapter 04, 3.1 and 3.2.
func CouplingHeight(s HeightStack) (StackHeight, error) {
	if err := refuse("coupling height", positive("tyre radius", s.TyreRadius), notNegative("suspension", s.Suspension),
		notNegative("subframe", s.Subframe), notNegative("mounting plate", s.MountingPlate),
		positive("fifth wheel", s.FifthWheel)); err != nil {
		return StackHeight{}, err
	}
	frame := s.TyreRadius + s.Suspension
	return StackHeight{Frame: frame, Coupling: frame + s.Subframe + s.MountingPlate + s.FifthWheel}, nil
}

// AxleDrop returns how far an axle on steel springs lets the frame down when
// load comes on:
//
//	δ = ΔF/(2·k) + δ_tyre
//
//	ΔF      change of axle load             N
//	k       rate of one of the two springs  N/m
//	δ_tyre  sink of the tyres               m
//
// A levelled air suspension keeps its height: only the tyres sink, and this
// formula is not needed.
//
// Valid for k > 0 and known ΔF and δ_tyre; otherwise the error is a
// *unit.DomainError. Spring and tyre rates are vehicle data.
//
// Source: Hooke's law; handbook chapter 04, 3.2.
func AxleDrop(load unit.Force, springRate float64, tyreSink unit.Length) (unit.Length, error) {
	if err := refuse("axle drop", check{finite(float64(load)), "change of axle load", float64(load), "a known force"},
		check{springRate > 0 && finite(springRate), "spring rate", springRate, "a known rate above 0"},
		anyLength("tyre sink", tyreSink)); err != nil {
		return 0, err
	}
	return unit.Length(float64(load)/(2*springRate)) + tyreSink, nil
}

// A Drop is how far a coupling sinks and how the frame, and with it the
// mounting plane, then lies.
type Drop struct {
	Coupling unit.Length // ΔHc, + down
	TailDown unit.Angle  // pitch of the frame, + tail-down
}

// CouplingDrop returns how far the coupling sinks when the axles of the tractor
// do:
//
//	ΔHc = δr·(1 − e/L1) + δf·(e/L1)
//	β   = atan((δr − δf)/L1)
//
//	δr  drop of the rear axle, tyres and springs    m
//	δf  drop of the front axle                      m
//	e   lead of the coupling ahead of the rear axle m
//	L1  wheelbase                                   m
//	β   pitch of the frame, tail-down positive      rad
//
// Valid for L1 > 0 and known drops and lead; otherwise the error is a
// *unit.DomainError.
//
// Source: rigid frame on two axles, derived; handbook chapter 04, 3.2.
func CouplingDrop(rear, front, lead, wheelbase unit.Length) (Drop, error) {
	if err := refuse("coupling drop", anyLength("rear drop", rear), anyLength("front drop", front),
		anyLength("lead", lead), positive("wheelbase", wheelbase)); err != nil {
		return Drop{}, err
	}
	s := lead / wheelbase
	return Drop{
		Coupling: rear*(1-s) + front*s,
		TailDown: unit.Angle(math.Atan(float64((rear - front) / wheelbase))),
	}, nil
}
