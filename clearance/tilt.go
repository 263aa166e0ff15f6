package clearance

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A CoupledTrailer is a semi-trailer as it stands on a coupling.
type CoupledTrailer struct {
	CouplingHeight unit.Length // Hc, plate face of the tractor
	TrailerHeight  unit.Length // Hk, the trailer's plate when the trailer is level
	PinToBogie     unit.Length // L2
	BodyHeight     unit.Length // ht, roof above the trailer's plate
	Front          unit.Length // xf, front end ahead of the kingpin
	Rear           unit.Length // xr, rear end behind the kingpin
}

// A Tilt is how a coupled trailer lies over the road.
type Tilt struct {
	Mismatch unit.Length // Hc − Hk
	Angle    unit.Angle  // β, + nose-up
	FrontTop unit.Length // above the road
	RearTop  unit.Length
	coupling unit.Length
}

// Top returns the higher of the two ends of the roof.
func (t Tilt) Top() unit.Length { return max(t.FrontTop, t.RearTop) }

// At returns the height above the road of a point of the trailer that lies
// behind the kingpin and above the trailer's plate: a cooling unit, a lamp, the
// dock edge, the under-run guard.
func (t Tilt) At(behind, above unit.Length) unit.Length {
	sin, cos := math.Sincos(float64(t.Angle))
	return t.coupling + unit.Length(float64(above)*cos-float64(behind)*sin)
}

// TrailerTilt returns how a semi-trailer tilts that is coupled at another
// height than its own, and how high its roof then stands in front and at the
// rear:
//
//	tan β   = (Hc − Hk)/L2
//	H_front = Hc + ht·cosβ + xf·sinβ
//	H_rear  = Hc + ht·cosβ − xr·sinβ
//
//	Hc  coupling height of the tractor                       m
//	Hk  height of the trailer's plate when level             m
//	L2  kingpin to bogie, which stays at its ride height     m
//	ht  roof above the trailer's plate                       m
//	xf  front end ahead of the kingpin                       m
//	xr  rear end behind the kingpin                          m
//	β   tilt, nose-up positive                               rad
//
// Nothing that was read sets a tolerance for the mismatch.
//
// Valid for Hc > 0, Hk > 0, L2 > 0, |Hc − Hk| < L2, ht ≥ 0 and known ends;
// otherwise the error is a *unit.DomainError.
//
// Source: plane geometry, derived; handbook chapter 04, 3.4.
func TrailerTilt(t CoupledTrailer) (Tilt, error) {
	const formula = "trailer tilt"
	mismatch := t.CouplingHeight - t.TrailerHeight
	if err := refuse(formula, positive("coupling height", t.CouplingHeight), positive("trailer height", t.TrailerHeight),
		positive("pin to bogie", t.PinToBogie), notNegative("body height", t.BodyHeight),
		anyLength("front", t.Front), anyLength("rear", t.Rear),
		check{math.Abs(float64(mismatch)) < float64(t.PinToBogie), "mismatch", float64(mismatch), "less than the distance of pin and bogie"},
	); err != nil {
		return Tilt{}, err
	}
	r := Tilt{Mismatch: mismatch, Angle: unit.Angle(math.Atan(float64(mismatch / t.PinToBogie))), coupling: t.CouplingHeight}
	r.FrontTop, r.RearTop = r.At(-t.Front, t.BodyHeight), r.At(t.Rear, t.BodyHeight)
	return r, nil
}

// A TrailerBody is what of a trailer's shape bears on the total height.
type TrailerBody struct {
	PinToBogie  unit.Length
	BodyHeight  unit.Length
	Front, Rear unit.Length
	OnTop       []RoofPoint // what stands above the roof
}

// A RoofPoint is a point above the roof line.
type RoofPoint struct {
	Name   string
	Behind unit.Length // of the kingpin; negative ahead of it
	Above  unit.Length // the trailer's plate
}

// A HeightState is one state of load and suspension.
type HeightState struct {
	Name           string // "unladen, driving level"
	CouplingHeight unit.Length
	TrailerHeight  unit.Length
}

// A Total is the greatest height over all states.
type Total struct {
	Height unit.Length
	State  int    // index of the state that governs
	Where  string // "front", "rear" or the name of the point on top
	Tilt   Tilt   // of that state
}

// TotalHeight returns the greatest height of a coupled semi-trailer over all
// the states that it can be in, its highest point and the state in which that
// occurs:
//
//	H = max over the states of max(H_front, H_rear, H of each point on top)
//
// with the heights of TrailerTilt.
//
// Valid for at least one state, and as TrailerTilt; otherwise the error is a
// *unit.DomainError, which names the state.
//
// Source: TrailerTilt, applied to each state; handbook chapter 04, 3.4.
func TotalHeight(b TrailerBody, states []HeightState) (Total, error) {
	const formula = "total height"
	if len(states) == 0 {
		return Total{}, fail(formula, "states", 0, "at least one state of load and suspension")
	}
	for _, p := range b.OnTop {
		if !finite(float64(p.Behind)) || !finite(float64(p.Above)) {
			return Total{}, fail(formula, "place of "+p.Name, math.NaN(), "a known place behind the pin and above the plate")
		}
	}
	r := Total{Height: unit.Length(math.Inf(-1))}
	for i, s := range states {
		t, err := TrailerTilt(CoupledTrailer{s.CouplingHeight, s.TrailerHeight, b.PinToBogie, b.BodyHeight, b.Front, b.Rear})
		if err != nil {
			return Total{}, fmt.Errorf("%s: %w", s.Name, err)
		}
		take := func(h unit.Length, where string) {
			if h > r.Height {
				r = Total{h, i, where, t}
			}
		}
		take(t.FrontTop, "front")
		take(t.RearTop, "rear")
		for _, p := range b.OnTop {
			take(t.At(p.Behind, p.Above), p.Name)
		}
	}
	return r, nil
}
