package clearance

import (
	"math"

	"underpin/unit"
)

// A CabLayer is one height at which the back of the cab, or what is built on
// behind it, faces the swinging front of the trailer.
type CabLayer struct {
	CabToCoupling unit.Length // Dc, coupling centre to the rearmost point of the cab at this height
	SwingRadius   unit.Length // Rs, of the trailer's front at this height
	Height        unit.Length // z, above the plate face
	NoseDown      unit.Angle  // β, trailer nose-down relative to the tractor
	TiltAxisDepth unit.Length // p, tilt axis below the plate face
}

// A CabGap is what is left between cab and trailer at one height.
type CabGap struct {
	Reach unit.Length // X, forward reach of the swinging corner
	Gap   unit.Length // Dc − X
	Level unit.Length // the gap without pitch, Dc − Rs
}

// Cab returns the smallest distance of coupling and cab that keeps clearance c
// at this height. As the distance is a fixed point of the cab less the lead,
// this is also what bounds the lead.
func (g CabGap) Cab(c unit.Length) unit.Length { return g.Reach + c }

// GapToCab returns the gap between the back of the cab and the circle of the
// trailer's front corner at one height, with the trailer pitched nose-down:
//
//	X   = Rs·cosβ + (z + p)·sinβ
//	gap = Dc − X
//
//	Rs  swing radius at that height                         m
//	β   pitch of the trailer, nose-down positive            rad
//	z   height above the plate face                         m
//	p   tilt axis below the plate face                      m
//	Dc  coupling centre to the cab's rearmost point there   m
//	X   forward reach                                       m
//
// The front overhang in the place of the swing radius gives the gap straight
// ahead. Nose-down, the reach grows with height: test the roof edge and the
// deflector too. The most forward position of a slider is the worst.
//
// Valid for Dc ≥ 0, Rs > 0, |β| < 90° and known z and p; otherwise the error
// is a *unit.DomainError. A negative gap is a collision, not an error.
//
// Source: SAE J701 has the same reach with β = 6°17′ and p = 3.50 in; derived
// with InTractor in handbook chapter 04, 2.3.
func GapToCab(l CabLayer) (CabGap, error) {
	const formula = "cab gap"
	if err := refuse(formula,
		notNegative("cab to coupling", l.CabToCoupling), positive("swing radius", l.SwingRadius),
		anyLength("height", l.Height), anyLength("tilt axis depth", l.TiltAxisDepth), belowRightAngle("pitch", l.NoseDown),
	); err != nil {
		return CabGap{}, err
	}
	sinβ, cosβ := math.Sincos(float64(l.NoseDown))
	X := unit.Length(float64(l.SwingRadius)*cosβ + float64(l.Height+l.TiltAxisDepth)*sinβ)
	return CabGap{Reach: X, Gap: l.CabToCoupling - X, Level: l.CabToCoupling - l.SwingRadius}, nil
}

// What SAE J701 assumes.
const (
	SAEJ701Pitch         unit.Angle  = (6 + 17./60) * unit.Degree // 6°17′ as printed, for an 11 % grade; SAE J701
	SAEJ701TiltAxisDepth unit.Length = 3.50 * unit.Inch           // FWP; SAE J701
)

// SAEJ701CabDistance returns the distance of fifth wheel and cab that SAE J701
// needs for a trailer front to swing past at a height, before clearance is
// added:
//
//	CFW = (H + FWP)·sin 6°17′ + SR·cos 6°17′
//
//	H    height above the plate face                 in
//	FWP  tilt axis below the plate face, 3.50 in     in
//	SR   swing radius                                in
//	CFW  cab to fifth wheel                          in
//
// Valid for H ≥ 0 and SR > 0; otherwise the error is a *unit.DomainError.
//
// Source: SAE J701 (formulas of the abstracts of the 1984 and the 2017
// edition). The angle is used as it is printed; the 11 % grade itself is
// 6.2773°.
func SAEJ701CabDistance(height, swingRadius unit.Length) (unit.Length, error) {
	const formula = "SAE J701 cab to fifth wheel"
	if err := refuse(formula, notNegative("H", height), positive("SR", swingRadius)); err != nil {
		return 0, err
	}
	H, SR, FWP := height.Inches(), swingRadius.Inches(), SAEJ701TiltAxisDepth.Inches()
	sin, cos := math.Sincos(float64(SAEJ701Pitch))
	CFW := (H+FWP)*sin + SR*cos
	return unit.Length(CFW) * unit.Inch, nil
}
