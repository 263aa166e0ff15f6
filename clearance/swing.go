package clearance

import (
	"math"

	"underpin/unit"
)

// A Nose is the front of a semi-trailer in plan.
type Nose struct {
	Overhang unit.Length // xf, front wall ahead of the kingpin
	Width    unit.Length // w
	Corner   unit.Length // rc, radius of the vertical corner; 0 for a sharp one
}

// A NoseSwing is the circle that the front of a trailer sweeps about the
// kingpin.
type NoseSwing struct {
	Radius  unit.Length // Rs
	Sharp   unit.Length // what it would be with a sharp corner
	Bearing unit.Angle  // of the farthest point from the trailer's own centre line
}

// SwingRadius returns the radius that the front corner of a semi-trailer
// sweeps about the kingpin:
//
//	Rs = sqrt((xf − rc)² + (w/2 − rc)²) + rc
//
//	xf  front wall ahead of the kingpin   m
//	w   width at the front wall           m
//	rc  corner radius, 0 for sharp        m
//	Rs  swing radius                      m
//
// The farthest point lies at the bearing atan((w/2 − rc)/(xf − rc)); an
// articulation of that much points it straight ahead. Ordinary turning
// reaches it, so no smaller articulation may be credited.
//
// Valid for w > 0, xf ≥ 0 and 0 ≤ rc ≤ min(xf, w/2); otherwise the error is a
// *unit.DomainError.
//
// Source: plane geometry, derived; handbook chapter 04, 2.2.
func SwingRadius(n Nose) (NoseSwing, error) {
	const formula = "front swing radius"
	xf, w, rc := float64(n.Overhang), float64(n.Width), float64(n.Corner)
	if err := refuse(formula,
		notNegative("front overhang", n.Overhang), positive("width", n.Width),
		check{0 <= rc && rc <= math.Min(xf, w/2), "corner radius", rc, "0 ≤ rc ≤ min(xf, w/2)"},
	); err != nil {
		return NoseSwing{}, err
	}
	return NoseSwing{
		Radius:  unit.Length(math.Hypot(xf-rc, w/2-rc) + rc),
		Sharp:   unit.Length(math.Hypot(xf, w/2)),
		Bearing: unit.Angle(math.Atan2(w/2-rc, xf-rc)),
	}, nil
}

// LongestOverhang returns how far a flat front wall may stand ahead of the
// kingpin so that its corners stay inside a radius:
//
//	xf = sqrt((R − rc)² − (w/2 − rc)²) + rc
//
//	R   radius that the corners may not leave   m
//	w   width                                   m
//	rc  corner radius                           m
//	xf  longest overhang                        m
//
// Valid for w > 0, R > 0 and 0 ≤ rc ≤ w/2; otherwise the error is a
// *unit.DomainError. A body that is wider than the circle at the kingpin has
// no such overhang: the error is a *unit.NoAnswerError.
//
// Source: SwingRadius solved for the overhang; handbook chapter 04, 2.2.
func LongestOverhang(radius, width, corner unit.Length) (unit.Length, error) {
	const formula = "longest front overhang"
	R, w, rc := float64(radius), float64(width), float64(corner)
	if err := refuse(formula,
		positive("radius", radius), positive("width", width),
		check{0 <= rc && rc <= w/2, "corner radius", rc, "0 ≤ rc ≤ w/2"},
	); err != nil {
		return 0, err
	}
	if w/2 > R {
		return 0, &unit.NoAnswerError{Formula: formula, Why: "the body is wider than the circle"}
	}
	// With rc ≤ w/2 ≤ R both brackets are real and the first is not smaller.
	return unit.Length(math.Sqrt((R-rc)*(R-rc)-(w/2-rc)*(w/2-rc)) + rc), nil
}

// NoseDepth returns how deep a unit on the front wall may be at a distance y
// from the centre line, so that it stays inside a radius about the kingpin:
//
//	d(y) = sqrt(R² − y²) − xf
//
//	R   radius that the unit may not leave      m
//	xf  front wall ahead of the kingpin         m
//	y   distance from the centre line           m
//	d   depth ahead of the wall                 m
//
// A negative depth says that the wall itself stands outside the radius there.
//
// Valid for R > 0, xf ≥ 0 and |y| ≤ R; otherwise the error is a
// *unit.DomainError.
//
// Source: plane geometry, derived; handbook chapter 04, 2.2.
func NoseDepth(radius, overhang, y unit.Length) (unit.Length, error) {
	const formula = "depth of a nose unit"
	if err := refuse(formula,
		positive("radius", radius), notNegative("front overhang", overhang),
		check{-radius <= y && y <= radius, "y", float64(y), "|y| ≤ R"},
	); err != nil {
		return 0, err
	}
	R, Y := float64(radius), float64(y)
	return unit.Length(math.Sqrt(R*R-Y*Y)) - overhang, nil
}

// A NoseUnit is a box on the front wall: a cooling unit, a generator, a coil
// of hoses, a spare wheel.
type NoseUnit struct {
	Depth       unit.Length // ahead of the wall
	Width       unit.Length // across, on the centre line
	Bottom, Top unit.Length // above the plate face
}

// Corners returns the four front corners of the unit on a wall that stands
// overhang ahead of the kingpin, for use with InTractor.
func (u NoseUnit) Corners(overhang unit.Length) [4]Point {
	x, y := overhang+u.Depth, u.Width/2
	return [4]Point{{x, y, u.Bottom}, {x, -y, u.Bottom}, {x, y, u.Top}, {x, -y, u.Top}}
}

// Radius returns the circle that the unit sweeps about the kingpin.
func (u NoseUnit) Radius(overhang unit.Length) unit.Length {
	return unit.Length(math.Hypot(float64(overhang+u.Depth), float64(u.Width/2)))
}
