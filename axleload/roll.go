package axleload

import (
	"math"

	"underpin/unit"
)

// RollThreshold returns the lateral acceleration at which a rigid vehicle tips
// over its wheels:
//
//	a/g = t / (2 h)
//
//	t    track                           m
//	h    height of the centre of mass    m
//	a/g  result                          –
//
// It is an upper bound: suspension, tyres and the play of the fifth wheel take
// from it, and a real curve some 25 % more.
//
// Valid for t > 0 and h > 0 on level ground; outside, the error is a
// *unit.DomainError.
//
// Source: derived; handbook chapter 03, 6.5. The loss in real curves: SAE
// 2003-01-3385, abstract.
func RollThreshold(track, centreHeight unit.Length) (float64, error) {
	const name = "roll-threshold"
	if err := first(wantPositive(name, "track", track), wantPositive(name, "centre-height", centreHeight)); err != nil {
		return 0, err
	}
	return float64(track / (2 * centreHeight)), nil
}

// A RollBody is a vehicle that leans as a whole.
type RollBody struct {
	Track        unit.Length
	CentreHeight unit.Length // h
	RollAxis     unit.Length // h_rc, height of the roll axis
	Compliance   unit.Angle  // r, lean per g of lateral acceleration
}

// RollThresholdLeaning returns the lateral acceleration at which a vehicle tips
// that leans on its suspension and tyres:
//
//	a/g = (t/2) / [h + r (h − h_rc)]
//
//	t     track                                   m
//	h     height of the centre of mass            m
//	h_rc  height of the roll axis                 m
//	r     lean per g                              rad
//	a/g   result                                  –
//
// Compliances of 4 to 8 degrees per g are from memory and illustrative only.
//
// Valid for small lean, r ≥ 0 and 0 ≤ h_rc ≤ h; outside, the error is a
// *unit.DomainError.
//
// Source: derived; handbook chapter 03, 6.5.
func RollThresholdLeaning(in RollBody) (float64, error) {
	const name = "roll-threshold"
	if err := first(
		wantPositive(name, "track", in.Track), wantPositive(name, "centre-height", in.CentreHeight),
		wantNotNegative(name, "compliance", in.Compliance),
	); err != nil {
		return 0, err
	}
	if !(0 <= in.RollAxis && in.RollAxis <= in.CentreHeight) {
		return 0, &unit.DomainError{Formula: name, Input: "roll-axis", Value: float64(in.RollAxis), Want: "0 ≤ roll-axis ≤ centre-height"}
	}
	t, h, r, hrc := float64(in.Track), float64(in.CentreHeight), float64(in.Compliance), float64(in.RollAxis)
	return t / 2 / (h + r*(h-hrc)), nil
}

// A RollSupport is an axle, or the kingpin, as a support against roll.
type RollSupport struct {
	Load      unit.Mass   // w
	Track     unit.Length // T; at the kingpin the width on which the plate bears
	Stiffness unit.Torque // C, per radian
}

// A WheelLift is a support coming off on one side.
type WheelLift struct {
	Lean         unit.Angle // φ_j at which the support lifts
	Acceleration float64    // a/g then
}

// A Roll is the progressive roll of a body on its supports.
type Roll struct {
	Threshold float64    // greatest a/g
	Lean      unit.Angle // at the threshold
	Governs   int        // the support whose lifting is the threshold
	Rigid     float64    // a/g if nothing leaned
}

// WheelLifts returns the lateral acceleration at which a vehicle tips whose
// supports lift one after another:
//
//	a(φ)/g = [ Σ min(C_j φ, w_j T_j/2) − W (h − h_rc) φ ] / (W h)
//	φ_j = w_j T_j / (2 C_j) ,   threshold = max over j of a(φ_j)
//
//	w_j, T_j, C_j  load (as a force), track and roll stiffness of each support   N, m, N·m/rad
//	W    Σ w_j                                   N
//	h, h_rc  height of the centre and of the roll axis   m
//	φ    lean                                    rad
//	a/g  result                                  –
//
// The lift of each support goes into out, one for each, in their order. Track
// and Compliance of the body are not used. The formulation is our own, in the
// spirit of the calculation of UN R111 but not that calculation; stiffnesses
// that are not measured are illustrative.
//
// Valid for small lean, linear stiffness, a rigid frame in torsion and
// 0 ≤ h_rc ≤ h; outside, the error is a *unit.DomainError. A body that falls
// over before it is turned has no threshold: *unit.NoAnswerError.
//
// Source: derived; handbook chapter 03, 6.5.
func WheelLifts(body RollBody, supports []RollSupport, out []WheelLift) (Roll, error) {
	const name = "wheel lift"
	h, hrc := float64(body.CentreHeight), float64(body.RollAxis)
	if err := wantPositive(name, "centre-height", h); err != nil {
		return Roll{}, err
	}
	if !(0 <= hrc && hrc <= h) {
		return Roll{}, &unit.DomainError{Formula: name, Input: "roll-axis", Value: hrc, Want: "0 ≤ roll-axis ≤ centre-height"}
	}
	if len(supports) == 0 || len(out) < len(supports) {
		return Roll{}, &unit.DomainError{Formula: name, Input: "supports", Value: float64(len(supports)), Want: "at least one, and a place for each"}
	}
	var W, holding float64
	for _, s := range supports {
		if err := first(wantPositive(name, "load", s.Load), wantPositive(name, "track", s.Track), wantPositive(name, "stiffness", s.Stiffness)); err != nil {
			return Roll{}, err
		}
		W += s.force()
		holding += s.force() * float64(s.Track) / 2
	}
	r := Roll{Governs: -1, Rigid: holding / (W * h)}
	for j, s := range supports {
		phi := s.force() * float64(s.Track) / (2 * float64(s.Stiffness))
		right := 0.0
		for _, k := range supports {
			right += min(float64(k.Stiffness)*phi, k.force()*float64(k.Track)/2)
		}
		a := (right - W*(h-hrc)*phi) / (W * h)
		out[j] = WheelLift{Lean: unit.Angle(phi), Acceleration: a}
		if a > r.Threshold {
			r.Threshold, r.Lean, r.Governs = a, unit.Angle(phi), j
		}
	}
	if r.Governs < 0 {
		return Roll{Governs: -1, Rigid: r.Rigid}, &unit.NoAnswerError{Formula: name, Why: "the supports are too soft to hold the body upright even at rest"}
	}
	return r, nil
}

func (s RollSupport) force() float64 { return float64(s.Load) * float64(unit.Gravity) }

// CurveSpeed returns the speed at which a curve asks for a lateral acceleration:
//
//	v = √(a g R)
//
//	a  lateral acceleration over g   –
//	R  radius of the curve           m
//	v  result                        m/s
//
// Valid for a level curve driven steadily, a ≥ 0, R > 0; outside, the error is a
// *unit.DomainError. With the roll threshold as a it is the speed at which the
// vehicle goes over, not one to drive at.
//
// Source: circular motion; handbook chapter 03, 6.5.
func CurveSpeed(lateral float64, radius unit.Length) (float64, error) {
	const name = "curve speed"
	if err := first(wantNotNegative(name, "lateral", lateral), wantPositive(name, "radius", radius)); err != nil {
		return 0, err
	}
	return math.Sqrt(lateral * float64(unit.Gravity) * float64(radius)), nil
}
