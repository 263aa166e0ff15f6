package rating

import (
	"math"

	"underpin/unit"
)

// HingedDrawbarD returns the reference force D of the coupling between a rigid
// vehicle and a full trailer with a hinged drawbar:
//
//	D = g · T·R / (T + R)
//
//	T  permissible mass of the towing vehicle   t
//	R  permissible mass of the full trailer     t
//	g  9.81 m/s²
//	D  result                                   kN
//
// Valid for T > 0, R > 0 and a drawbar that lays no load worth counting on the
// coupling; outside, the error is a *unit.DomainError.
//
// Source: Directive 94/20/EC, at second hand from two formula pages that cite it;
// to be confirmed in UN Regulation No. 55. Handbook chapter 01, 1.2.
func HingedDrawbarD(towing, trailer unit.Mass) (unit.Force, error) {
	const name = "D-value of a full trailer"
	if err := wantPositive(name, "tractor", towing); err != nil {
		return 0, err
	}
	if err := wantPositive(name, "trailer", trailer); err != nil {
		return 0, err
	}
	T, R := towing.Tonnes(), trailer.Tonnes()
	return unit.Force(g*T*R/(T+R)) * unit.Kilonewton, nil
}

// RequiredDc returns the reference force Dc of the coupling between a rigid
// vehicle and a centre-axle trailer:
//
//	Dc = g · T·C / (T + C)
//
//	T  permissible mass of the towing vehicle, the trailer's vertical load included   t
//	C  sum of the trailer's axle loads at its permissible mass, without S             t
//	g  9.81 m/s²
//	Dc result                                                                         kN
//
// Valid for T > 0 and C > 0; outside, the error is a *unit.DomainError.
//
// Source: Directive 94/20/EC, at second hand from two formula pages that cite it;
// to be confirmed in UN Regulation No. 55. Handbook chapter 01, 1.2.
func RequiredDc(towing, trailerAxles unit.Mass) (unit.Force, error) {
	const name = "Dc-value"
	if err := wantPositive(name, "tractor", towing); err != nil {
		return 0, err
	}
	if err := wantPositive(name, "trailer-axles", trailerAxles); err != nil {
		return 0, err
	}
	T, C := towing.Tonnes(), trailerAxles.Tonnes()
	return unit.Force(g*T*C/(T+C)) * unit.Kilonewton, nil
}

// Equivalent vertical acceleration at the coupling point.
//
// Source: Directive 94/20/EC, at second hand; handbook chapter 01, 1.1.
const (
	AirSprung   unit.Accel = 1.8 // m/s², towing vehicle with air suspension or equal at its driven or rear axle
	OtherSprung unit.Accel = 2.4 // m/s²
)

// A CentreAxle is a centre-axle trailer as the V-value sees it.
type CentreAxle struct {
	Acceleration  unit.Accel  // a, AirSprung or OtherSprung
	LoadLength    unit.Length // X, of the loading area
	DrawbarLength unit.Length // L, eye to the centre of the axles
	Axles         unit.Mass   // C, sum of the axle loads
}

// A VValue is a required V with the ratio that it was computed with.
type VValue struct {
	V     unit.Force
	Ratio float64 // X²/L², not below 1
	Short bool    // X²/L² was below 1 and 1 was used
}

// RequiredV returns the reference amplitude V of the vertical force that a
// centre-axle trailer over 3.5 t puts on the coupling:
//
//	V = a · (X²/L²) · C ,   X²/L² = 1 where it is smaller
//
//	a  1.8 m/s² behind air suspension, else 2.4 m/s²
//	X  length of the loading area                    m
//	L  drawbar length, eye to the centre of axles    m
//	C  sum of the trailer's axle loads               t
//	V  result                                        kN
//
// Valid for a centre-axle trailer over 3.5 t whose load on the coupling is at
// most 10 % of its mass and 1000 kg, which the caller has to know; X, L, C above
// 0 and one of the two accelerations. Outside, the error is a *unit.DomainError.
//
// Source: Directive 94/20/EC, at second hand from two formula pages that cite it;
// to be confirmed in UN Regulation No. 55. Handbook chapter 01, 1.2.
func RequiredV(in CentreAxle) (VValue, error) {
	const name = "V-value"
	// The two values may come from text, so to nine digits.
	if a := in.Acceleration; !(math.Abs(float64(a-AirSprung)) <= 1e-9 || math.Abs(float64(a-OtherSprung)) <= 1e-9) {
		return VValue{}, outside(name, "acceleration", a, "1.8 m/s² (air suspension) or 2.4 m/s²")
	}
	if err := wantPositive(name, "load-length", in.LoadLength); err != nil {
		return VValue{}, err
	}
	if err := wantPositive(name, "drawbar-length", in.DrawbarLength); err != nil {
		return VValue{}, err
	}
	if err := wantPositive(name, "trailer-axles", in.Axles); err != nil {
		return VValue{}, err
	}
	a, X, L, C := float64(in.Acceleration), float64(in.LoadLength), float64(in.DrawbarLength), in.Axles.Tonnes()
	v := VValue{Ratio: X * X / (L * L)}
	if v.Ratio < 1 {
		v.Ratio, v.Short = 1, true
	}
	v.V = unit.Force(a*v.Ratio*C) * unit.Kilonewton
	return v, nil
}
