package axleload

import "underpin/unit"

// A Spring is an axle that is sprung by itself, without an equaliser.
type Spring struct {
	At        unit.Length // p
	Stiffness float64     // k, N/m for the axle
}

// A Settlement is how a rigid frame sinks onto its springs: δ(p) = α + β p.
type Settlement struct {
	Sink  unit.Length // α, at the origin
	Tilt  float64     // β, rad, small
	Lifts bool        // a spring would have to pull: that axle is off the ground and the loads do not hold
}

// ElasticSupports returns the load on each axle of a rigid frame on springs
// that no equaliser joins, which statics alone cannot tell:
//
//	δ(p) = α + β p ,   load_j = k_j (α + β p_j)
//	α = (W S_2 − W x_g S_1) / (S_0 S_2 − S_1²)
//	β = (W x_g S_0 − W S_1) / (S_0 S_2 − S_1²)
//	S_0 = Σ k ,  S_1 = Σ k p ,  S_2 = Σ k p²
//
//	k_j, p_j  stiffness and place of each axle   N/m, m
//	W, x_g    mass carried and its centre        kg, m
//	load_j    result                             kg
//
// The loads go into out, one for each spring.
//
// Valid for linear springs, level ground, a rigid frame and at least two places;
// outside, the error is a *unit.DomainError. If a load comes out negative that
// axle lifts and the result does not hold: Lifts says so.
//
// Source: derived, balance of forces and moments with Hooke's law; handbook
// chapter 03, 1.3 note 3.
func ElasticSupports(springs []Spring, mass unit.Mass, centre unit.Length, out []unit.Mass) (Settlement, error) {
	const name = "elastic supports"
	if err := first(wantNotNegative(name, "mass", mass), wantFinite(name, "centre", centre)); err != nil {
		return Settlement{}, err
	}
	if len(out) < len(springs) {
		return Settlement{}, &unit.DomainError{Formula: name, Input: "out", Value: float64(len(out)), Want: "a place for each spring"}
	}
	var S0, S1, S2 float64
	for _, s := range springs {
		if err := first(wantPositive(name, "stiffness", s.Stiffness), wantFinite(name, "at", s.At)); err != nil {
			return Settlement{}, err
		}
		k, p := s.Stiffness, float64(s.At)
		S0 += k
		S1 += k * p
		S2 += k * p * p
	}
	det := S0*S2 - S1*S1
	if !(det > 1e-12*S0*S2) { // all springs in one place, to rounding
		return Settlement{}, &unit.DomainError{Formula: name, Input: "at", Value: float64(len(springs)), Want: "springs in at least two places"}
	}
	W, xg := float64(mass)*float64(unit.Gravity), float64(centre)
	alpha := (W*S2 - W*xg*S1) / det
	beta := (W*xg*S0 - W*S1) / det
	st := Settlement{Sink: unit.Length(alpha), Tilt: beta}
	for i, s := range springs {
		out[i] = unit.Mass(s.Stiffness * (alpha + beta*float64(s.At)) / float64(unit.Gravity))
		if !(out[i] >= 0) {
			st.Lifts = true
		}
	}
	return st, nil
}

// A Pitched is a group of axles whose frame is not level.
type Pitched struct {
	Stiffness  float64     // k, N/m for the outer axle
	FromCentre unit.Length // b, outer axle from the centre of its group
	Height     unit.Length // Δh, coupling height off the design height
	PinToBogie unit.Length // L
}

// HeightTransfer returns the load that moves onto an outer axle of a group
// without an equaliser when the coupling is off the trailer's design height:
//
//	Δw = k b θ ,   θ = Δh / L
//
//	k   stiffness of the axle                  N/m
//	b   outer axle from the group's centre     m
//	Δh  coupling height off the design height  m
//	L   kingpin to the reaction line           m
//	Δw  result                                 N
//
// Valid for small angles and linear springs. A levelled air bogie with a common
// pressure has no such transfer. Outside, the error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 1.3 note 4.
func HeightTransfer(in Pitched) (unit.Force, error) {
	const name = "height transfer"
	if err := first(
		wantPositive(name, "stiffness", in.Stiffness), wantFinite(name, "from-centre", in.FromCentre),
		wantFinite(name, "height", in.Height), wantPositive(name, "pin-to-bogie", in.PinToBogie),
	); err != nil {
		return 0, err
	}
	theta := float64(in.Height / in.PinToBogie)
	if !(-0.1 <= theta && theta <= 0.1) {
		return 0, &unit.DomainError{Formula: name, Input: "height", Value: float64(in.Height), Want: "within a tenth of pin-to-bogie (small angles)"}
	}
	return unit.Force(in.Stiffness * float64(in.FromCentre) * theta), nil
}

// SideShare returns the part of an axle's load on the side towards which the
// centre of mass is offset:
//
//	s = ½ + y/t
//
//	y  offset of the centre from the middle, 0 or more   m
//	t  track                                             m
//	s  result; the other side carries 1 − s              –
//
// Valid for 0 ≤ y ≤ t/2 on level ground: beyond, the far wheel lifts and the
// error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 1.3 note 5.
func SideShare(offset, track unit.Length) (float64, error) {
	const name = "side share"
	if err := wantPositive(name, "track", track); err != nil {
		return 0, err
	}
	if !(0 <= offset && offset <= track/2) {
		return 0, &unit.DomainError{Formula: name, Input: "offset", Value: float64(offset), Want: "0 ≤ offset ≤ track/2"}
	}
	return 0.5 + float64(offset/track), nil
}
