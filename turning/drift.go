package turning

import (
	"math"

	"underpin/unit"
)

// DriftInput is one unit whose leading point runs on a circle: the tractor led
// by a point that lies Length ahead of its axle, or a trailer whose hitch runs
// on the circle.
type DriftInput struct {
	Radius unit.Length // R
	Length unit.Length // L: leading point to equivalent axle, along the unit
	Start  unit.Angle  // φ0 at the beginning of the circle; 0 when coming from a straight
	Turned unit.Angle  // ψ: turned so far; negative when backing
}

// DriftResult is where the unit stands after the turn.
type DriftResult struct {
	In         DriftInput
	K          float64     // R/L
	Drift      unit.Angle  // φ: direction of the path against the heading of the unit
	AxleRadius unit.Length // r: middle of the axle to the centre of the circle, for a leading point on the centre line
	Rate       float64     // λ: e-foldings per radian towards the steady state; NaN without one
}

// Drift returns the angle between a unit and the circle on which its leading
// point has run from any start angle, exactly:
//
//	dφ/dψ = 1 − k·sin φ,   k = R/L,   u = tan(φ/2),   u0 = tan(φ0/2)
//	u = (u0·(1 − k·t) + t) / (1 + k·t − u0·t)
//	k > 1:  λ = sqrt(k² − 1),  t = tanh(λψ/2)/λ     φ → asin(1/k)
//	k = 1:  t = ψ/2                                 φ → 90°, never reached
//	k < 1:  μ = sqrt(1 − k²),  t = tan(μψ/2)/μ      φ passes 90°: the unit folds up
//	r² = R² + L² − 2·R·L·sin φ
//
//	R  radius of the circle                     m
//	L  leading point to axle, along the unit    m
//	ψ  angle turned along the circle            rad
//	φ  drift                                    rad
//	r  radius of the middle of the axle         m
//
// From a straight (φ0 = 0) this is φ = 2·atan(T/(k·T + λ)) with T = tanh(λψ/2).
// A unit led by a point beside its centre line drifts alike; only r differs.
//
// Valid for R > 0, L > 0, |φ0| < 180° and any finite ψ; otherwise the error is
// a *unit.DomainError. The drift is continued past 180°, so a unit that went
// right round is seen as such.
//
// Source: derived (handbook chapter 04, 1.4).
func Drift(in DriftInput) (DriftResult, error) {
	c := check{formula: "drift"}
	c.positive("radius", in.Radius)
	c.positive("length", in.Length)
	c.want(math.Abs(float64(in.Start)) < math.Pi, "start", float64(in.Start), "|start| < 180°")
	c.given("turned", float64(in.Turned))
	if c.err != nil {
		return DriftResult{}, c.err
	}
	R, L := float64(in.Radius), float64(in.Length)
	r := DriftResult{In: in, K: R / L, Rate: math.NaN()}
	if r.K > 1 {
		r.Rate = math.Sqrt((r.K - 1) * (r.K + 1))
	}
	φ := drift(r.K, float64(in.Start), float64(in.Turned))
	r.Drift = unit.Angle(φ)
	// (R − L)² + 2RL(1 − sin φ) is the same and keeps its digits near r = 0.
	half := math.Sin((math.Pi/2 - φ) / 2)
	r.AxleRadius = unit.Length(math.Sqrt((R-L)*(R-L) + 4*R*L*half*half))
	return r, nil
}

// drift works on the half angle (n, d) = (sin φ/2, cos φ/2), which the circle
// maps linearly; that stays regular where tan(φ/2) does not.
func drift(k, φ0, ψ float64) float64 {
	n0, d0 := math.Sincos(φ0 / 2)
	var c, t, turns float64
	switch {
	case k > 1:
		λ := math.Sqrt((k - 1) * (k + 1))
		c, t = 1, math.Tanh(λ*ψ/2)/λ
	case k == 1:
		c, t = 1, ψ/2
	default:
		// After 2π/μ the unit has gone right round once.
		μ := math.Sqrt((1 - k) * (1 + k))
		turns = math.Floor(ψ * μ / (2 * math.Pi))
		t, c = math.Sincos((ψ*μ - 2*math.Pi*turns) / 2)
		t /= μ
		ψ = 1 // within the turn that is left the angle grows
	}
	half := math.Atan2(c*n0+t*(d0-k*n0), c*d0+t*(k*d0-n0))
	// A growing half angle grows by less than 180°, of which atan2 may have
	// lost 360°. A shrinking one stops short of −180°, at the angle to which a
	// unit that is backed folds.
	if forward := (1-k*math.Sin(φ0))*ψ > 0; forward && half < φ0/2-1e-9 {
		half += 2 * math.Pi
	}
	return 2 * (half + math.Pi*turns)
}

// Straighten returns the articulation that is left after the hitch of a unit
// has run on a straight line, exactly:
//
//	tan(γ/2) = tan(γ0/2)·exp(−s/L)
//
//	γ0  articulation at the beginning        rad
//	s   distance, negative when backing      m
//	L   hitch to equivalent axle             m
//	γ   articulation                         rad
//
// Backing doubles the angle again every 0.69·L: the unit jackknifes.
//
// Valid for |γ0| < 180°, L > 0 and any finite s; otherwise the error is a
// *unit.DomainError.
//
// Source: derived (handbook chapter 04, 1.4).
func Straighten(start unit.Angle, length, distance unit.Length) (unit.Angle, error) {
	c := check{formula: "straighten"}
	c.want(math.Abs(float64(start)) < math.Pi, "start", float64(start), "|start| < 180°")
	c.positive("length", length)
	c.given("distance", float64(distance))
	if c.err != nil {
		return 0, c.err
	}
	return unit.Angle(2 * math.Atan(math.Tan(float64(start)/2)*math.Exp(-float64(distance/length)))), nil
}
