package clearance

import (
	"math"

	"underpin/unit"
)

// A Point lies x forward of the kingpin axis, y to the left of the centre
// line and z above the face of the coupling plate.
type Point struct {
	X, Y, Z unit.Length
}

// An Attitude says how the trailer lies relative to the tractor.
type Attitude struct {
	Yaw           unit.Angle  // θ(trailer) − θ(tractor), about the kingpin; the negative of the articulation angle
	NoseDown      unit.Angle  // pitch of the plate and the trailer, + nose-down
	LeftUp        unit.Angle  // roll, + left side up
	TiltAxisDepth unit.Length // p, transverse tilt axis below the plate face
}

// InTractor returns where a point of the trailer lies in the axes of the
// tractor (origin at the kingpin on the plate face of a level plate), when the
// trailer has swung by γ' about the kingpin and the plate has rolled by α and
// pitched by β about the tilt axis:
//
//	x1 = x·cosγ' − y·sinγ'    y1 = x·sinγ' + y·cosγ'    z1 = z + p
//	y2 = y1·cosα − z1·sinα    z2 = y1·sinα + z1·cosα
//	X  = x1·cosβ + z2·sinβ    Y  = y2                   Z  = −x1·sinβ + z2·cosβ − p
//
//	x, y, z  point of the trailer             m
//	γ'       yaw, trailer minus tractor       rad
//	α        roll, left side up positive      rad
//	β        pitch, nose-down positive        rad
//	p        tilt axis below the plate face   m
//
// Valid for any yaw, and roll and pitch between −90° and 90°; otherwise, or
// when an input is unknown, the error is a *unit.DomainError.
//
// Source: derived from the order of the joints (the kingpin turns in the
// plate, the plate rolls on the tractor, then pitches on its tilt axis);
// handbook chapter 04, 2.1.
func InTractor(q Point, a Attitude) (Point, error) {
	const formula = "trailer point in tractor axes"
	if err := refuse(formula,
		anyLength("x", q.X), anyLength("y", q.Y), anyLength("z", q.Z), anyLength("p", a.TiltAxisDepth),
		check{finite(float64(a.Yaw)), "yaw", float64(a.Yaw), "a known angle"},
		belowRightAngle("roll", a.LeftUp), belowRightAngle("pitch", a.NoseDown),
	); err != nil {
		return Point{}, err
	}
	x, y, z, p := float64(q.X), float64(q.Y), float64(q.Z), float64(a.TiltAxisDepth)
	sinγ, cosγ := math.Sincos(float64(a.Yaw))
	sinα, cosα := math.Sincos(float64(a.LeftUp))
	sinβ, cosβ := math.Sincos(float64(a.NoseDown))

	x1, y1, z1 := x*cosγ-y*sinγ, x*sinγ+y*cosγ, z+p
	y2, z2 := y1*cosα-z1*sinα, y1*sinα+z1*cosα
	return Point{
		X: unit.Length(x1*cosβ + z2*sinβ),
		Y: unit.Length(y2),
		Z: unit.Length(-x1*sinβ + z2*cosβ - p),
	}, nil
}
