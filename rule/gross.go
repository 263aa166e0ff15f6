package rule

import (
	"math"

	"underpin/unit"
)

// Plates are the permissible masses that the gross of a German articulated
// vehicle is formed from.
type Plates struct {
	TractorGross   unit.Mass // fifth-wheel load included
	TractorImposed unit.Mass // permissible fifth-wheel load
	TrailerGross   unit.Mass // kingpin load included
	TrailerImposed unit.Mass // permissible kingpin load
}

// An Articulated is the permissible gross of an articulated vehicle by its
// plates.
type Articulated struct {
	Imposed unit.Mass // the greater of the two imposed loads, which is taken off
	Gross   unit.Mass
}

// ArticulatedGross returns the permissible mass of an articulated vehicle in
// Germany by the plates of its two parts, before the caps by axle count:
//
//	G = G_T + G_S − max(S_T, S_S)
//
//	G_T  permissible mass of the tractor           kg
//	G_S  permissible mass of the semi-trailer      kg
//	S_T  permissible fifth-wheel load, tractor     kg
//	S_S  permissible kingpin load, semi-trailer    kg
//
// Valid for 0 < S_T < G_T and 0 < S_S < G_S; otherwise the error is a
// *unit.DomainError.
//
// Source: StVZO § 34(7) no. 3, text of March 2022.
func ArticulatedGross(p Plates) (Articulated, error) {
	bad := func(input string, value unit.Mass, want string) (Articulated, error) {
		return Articulated{}, &unit.DomainError{Formula: "articulated-gross", Input: input, Value: float64(value), Want: want}
	}
	switch {
	case !(p.TractorGross > 0) || math.IsInf(float64(p.TractorGross), 1):
		return bad("G_T", p.TractorGross, "0 < G_T, finite")
	case !(p.TrailerGross > 0) || math.IsInf(float64(p.TrailerGross), 1):
		return bad("G_S", p.TrailerGross, "0 < G_S, finite")
	case !(0 < p.TractorImposed && p.TractorImposed < p.TractorGross):
		return bad("S_T", p.TractorImposed, "0 < S_T < G_T")
	case !(0 < p.TrailerImposed && p.TrailerImposed < p.TrailerGross):
		return bad("S_S", p.TrailerImposed, "0 < S_S < G_S")
	}
	S := max(p.TractorImposed, p.TrailerImposed)
	return Articulated{S, p.TractorGross + p.TrailerGross - S}, nil
}

// A Spread is a gross mass that grows with a distance between axles.
type Spread struct {
	Raw   unit.Mass // factor times distance
	Limit unit.Mass // rounded up to the step, and capped
}

// AxleSpread returns the gross mass that a distance between axles allows:
//
//	W = min(f · d rounded up to the next step, most)
//
//	d     distance                        m
//	f     factor                          kg per m
//	step  0 for no rounding               kg
//	most  the cap                         kg
//
// For a British articulated vehicle at authorised weight d runs from the
// kingpin to the centre of the last trailer axle, f is 5 500 kg per m and the
// step 10 kg.
//
// Valid for 0 ≤ d, 0 < f, 0 ≤ step and 0 < most; otherwise the error is a
// *unit.DomainError.
//
// Source: Authorised Weight Regulations 1998 (SI 1998/3111), Schedule 1, the
// rule and its rounding at second hand, the factor from memory.
func AxleSpread(distance unit.Length, perMetre, step, most unit.Mass) (Spread, error) {
	bad := func(input string, value float64, want string) (Spread, error) {
		return Spread{}, &unit.DomainError{Formula: "axle-spread", Input: input, Value: value, Want: want}
	}
	switch {
	case !(distance >= 0) || math.IsInf(float64(distance), 1):
		return bad("d", float64(distance), "0 ≤ d, finite")
	case !(perMetre > 0) || math.IsInf(float64(perMetre), 1):
		return bad("f", float64(perMetre), "0 < f, finite")
	case !(step >= 0) || math.IsInf(float64(step), 1):
		return bad("step", float64(step), "0 ≤ step, finite")
	case !(most > 0) || math.IsInf(float64(most), 1):
		return bad("most", float64(most), "0 < most, finite")
	}
	raw := unit.Mass(float64(perMetre) * float64(distance))
	limit := raw
	if step > 0 {
		// Dust: 8.0 m times 5 500 kg per m is 44 000 kg, not 44 010.
		limit = unit.Mass(math.Ceil(float64(raw/step)*(1-dust))) * step
	}
	return Spread{raw, min(limit, most)}, nil
}
