package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// steelModulus is E of bolt and plates, VDI 2230 (memory).
const steelModulus = 205e3 // MPa

// JointInput is a through bolt and what it clamps.
type JointInput struct {
	Thread     Thread      // its Bearing and Hole count
	Shank      unit.Length // part of the grip without thread
	Threaded   unit.Length // part of the grip with thread
	PlateWidth unit.Length // D'_A, diameter of the clamped material around the bolt
	Position   float64     // n_L, 0 to 1: where in the grip the load comes in; 0.5 when unknown
}

// Joint is the elastic behaviour of a bolt and its plates. Resiliences are in
// metre per newton.
type Joint struct {
	Grip       unit.Length // l_K
	Bolt       float64     // δ_S
	Plates     float64     // δ_P
	ConeSlope  float64     // tan φ
	ConeWidth  unit.Length // dW + l_K·tan φ
	Stiffness  float64     // Φ_K = δ_P/(δ_S + δ_P)
	LoadFactor float64     // Φ = n_L·Φ_K
}

// ElasticJoint returns how a bolt and the plates in its grip share a load:
//
//	δ_S = ( 0.5·d/A_N + l_shank/A_N + l_thr/A_d3 + 0.5·d/A_d3 + 0.4·d/A_N ) / E
//	δ_P = 2·ln{ (dW+dh)(dW+l_K·tanφ−dh) / [(dW−dh)(dW+l_K·tanφ+dh)] } / (E·π·dh·tanφ)
//	tanφ = 0.362 + 0.032·ln(l_K/(2·dW)) + 0.153·ln(D'_A/dW)
//	Φ = n_L·δ_P/(δ_S + δ_P)
//
//	d           thread diameter                              mm
//	A_N, A_d3   area of the shank, of the thread's root       mm²
//	l_K         grip, l_shank + l_thr                         mm
//	dW, dh      bearing face, hole                            mm
//	D'_A        clamped material around the bolt              mm
//	n_L         load introduction                             –
//	E           205 GPa
//	δ           results                                       mm/N
//
// Valid for a through bolt in steel whose clamped plates are at least as wide
// as the pressure cone, D'_A ≥ dW + l_K·tanφ, and 0 < n_L ≤ 1; otherwise the
// error is a *unit.DomainError. Narrow plates, with their sleeve, are not
// covered.
//
// Source: VDI 2230 Part 1, resilience of bolt and plates (memory; no published
// example at hand).
func ElasticJoint(in JointInput) (Joint, error) {
	const name = "elastic joint"
	grip := in.Shank + in.Threaded
	switch {
	case !in.Thread.valid():
		return Joint{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(in.Shank >= 0):
		return Joint{}, &unit.DomainError{Formula: name, Input: "shank", Value: float64(in.Shank), Want: "l_shank ≥ 0"}
	case !(in.Threaded >= 0 && grip > 0):
		return Joint{}, &unit.DomainError{Formula: name, Input: "grip", Value: float64(grip), Want: "l_K > 0, no part of it below 0"}
	case !(0 < in.Position && in.Position <= 1):
		return Joint{}, &unit.DomainError{Formula: name, Input: "n_L", Value: in.Position, Want: "0 < n_L ≤ 1"}
	case !(in.PlateWidth >= in.Thread.Bearing):
		return Joint{}, &unit.DomainError{Formula: name, Input: "D'_A", Value: float64(in.PlateWidth), Want: "D'_A ≥ dW"}
	}
	d, dW, dh := in.Thread.Diameter.Millimetres(), in.Thread.Bearing.Millimetres(), in.Thread.Hole.Millimetres()
	A_N, A_d3 := in.Thread.ShankArea().SquareMillimetres(), in.Thread.RootArea().SquareMillimetres()
	l_K := grip.Millimetres()
	tanφ := 0.362 + 0.032*math.Log(l_K/(2*dW)) + 0.153*math.Log(in.PlateWidth.Millimetres()/dW)
	cone := dW + l_K*tanφ
	if !(tanφ > 0 && in.PlateWidth.Millimetres() >= cone) {
		return Joint{}, &unit.DomainError{Formula: name, Input: "D'_A", Value: float64(in.PlateWidth), Want: "D'_A ≥ dW + l_K·tanφ, so that the pressure cone fits into the plates"}
	}
	δS := (0.5*d/A_N + in.Shank.Millimetres()/A_N + in.Threaded.Millimetres()/A_d3 + 0.5*d/A_d3 + 0.4*d/A_N) / steelModulus
	δP := 2 * math.Log((dW+dh)*(cone-dh)/((dW-dh)*(cone+dh))) / (steelModulus * math.Pi * dh * tanφ)
	Φ := δP / (δS + δP)
	return Joint{grip, δS * 1e-3, δP * 1e-3, tanφ, mm(cone), Φ, in.Position * Φ}, nil
}

// Embedding of steel faces, VDI 2230 Part 1, table 5, in µm (memory).
var roughnesses = [...]struct {
	name                     string
	thread                   float64
	headTension, headShear   float64
	innerTension, innerShear float64
}{
	{"Rz below 10", 3, 2.5, 3, 1.5, 2},
	{"Rz 10 to 40", 3, 3, 4.5, 2, 2.5},
	{"Rz 40 to 160", 3, 4, 6.5, 3, 3.5},
}

// EmbeddingInput is what EmbeddingLoss needs.
type EmbeddingInput struct {
	Joint      Joint
	Roughness  string // "Rz below 10", "Rz 10 to 40" or "Rz 40 to 160" (µm)
	HeadFaces  int    // faces under head and nut: 2 for a through bolt
	InnerFaces int    // interfaces between the clamped parts
	Shear      bool   // the joint is loaded in shear
	Coated     bool   // paint or zinc between the faces
}

// Embedding is the preload that a joint loses when its faces bed in.
type Embedding struct {
	Depth unit.Length // f_Z
	Loss  unit.Force  // F_Z
}

// EmbeddingLoss returns the preload lost as the rough faces of a joint flatten:
//
//	F_Z = f_Z / (δ_S + δ_P)
//
//	f_Z       thread, plus each face under head and nut, plus each inner
//	          interface, from the table                                  µm
//	δ_S, δ_P  resilience of bolt and plates                              mm/N
//	F_Z       result                                                     N
//
// Valid for bare or primed steel faces. Paint or zinc between the faces has no
// value: a *unit.NoAnswerError; bare the faces, or tighten again and measure.
// An unknown roughness is a *unit.ParseError, a count below 0 a
// *unit.DomainError.
//
// Source: VDI 2230 Part 1, table 5 (memory).
func EmbeddingLoss(in EmbeddingInput) (Embedding, error) {
	const name = "embedding loss"
	switch {
	case in.Coated:
		return Embedding{}, &unit.NoAnswerError{Formula: name, Why: "paint or zinc between the faces creeps, and no value is known for it"}
	case !(in.Joint.Bolt > 0 && in.Joint.Plates > 0):
		return Embedding{}, &unit.DomainError{Formula: name, Input: "resilience", Value: in.Joint.Bolt, Want: "δ_S and δ_P > 0"}
	case !(in.HeadFaces >= 0):
		return Embedding{}, &unit.DomainError{Formula: name, Input: "head faces", Value: float64(in.HeadFaces), Want: "none or more"}
	case !(in.InnerFaces >= 0):
		return Embedding{}, &unit.DomainError{Formula: name, Input: "inner faces", Value: float64(in.InnerFaces), Want: "none or more"}
	}
	for _, r := range roughnesses {
		if r.name != strings.TrimSpace(in.Roughness) {
			continue
		}
		head, inner := r.headTension, r.innerTension
		if in.Shear {
			head, inner = r.headShear, r.innerShear
		}
		µm := r.thread + float64(in.HeadFaces)*head + float64(in.InnerFaces)*inner
		return Embedding{mm(µm * 1e-3), unit.Force(µm * 1e-6 / (in.Joint.Bolt + in.Joint.Plates))}, nil
	}
	return Embedding{}, &unit.ParseError{
		Found: in.Roughness, Why: "which is not a class of roughness in the table",
		Expected: "one of Rz below 10; Rz 10 to 40; Rz 40 to 160",
	}
}

// ClampInput is a preloaded bolt under a load along its axis.
type ClampInput struct {
	Preload    unit.Force // F_V, losses taken off
	LoadFactor float64    // Φ
	Axial      unit.Force // F_A on this bolt, tension positive
}

// Clamp is how the load divides between bolt and joint.
type Clamp struct {
	Bolt  unit.Force // F_S
	Joint unit.Force // F_K, what still presses the faces together
	Opens bool       // F_K has come to nothing
}

// ClampUnderLoad returns the force in a bolt and the clamping left in its joint
// when a load pulls along the bolt:
//
//	F_S = F_V + Φ·F_A        F_K = F_V − (1 − Φ)·F_A
//
//	F_V  preload, losses taken off   N
//	Φ    load factor                 –
//	F_A  axial load on the bolt      N
//
// Valid for F_V ≥ 0 and 0 ≤ Φ ≤ 1; otherwise the error is a *unit.DomainError.
// Once the joint opens the bolt carries the whole load: F_S is then F_A.
//
// Source: VDI 2230 Part 1, working diagram of the bolted joint.
func ClampUnderLoad(in ClampInput) (Clamp, error) {
	const name = "clamp under load"
	switch {
	case !(in.Preload >= 0):
		return Clamp{}, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "F_V ≥ 0"}
	case !(0 <= in.LoadFactor && in.LoadFactor <= 1):
		return Clamp{}, &unit.DomainError{Formula: name, Input: "Φ", Value: in.LoadFactor, Want: "0 ≤ Φ ≤ 1"}
	case !finite(float64(in.Axial)):
		return Clamp{}, &unit.DomainError{Formula: name, Input: "axial", Value: float64(in.Axial), Want: "a finite force"}
	}
	Φ := unit.Force(in.LoadFactor)
	c := Clamp{Bolt: in.Preload + Φ*in.Axial, Joint: in.Preload - (1-Φ)*in.Axial}
	if !(c.Joint > 0) {
		c = Clamp{Bolt: max(in.Axial, 0), Opens: true}
	}
	return c, nil
}

// RequiredClampInput is what a bolt must clamp against.
type RequiredClampInput struct {
	Shear       unit.Force  // F_Q,max on this bolt
	Interfaces  int         // q_F, slip faces in series that share it
	Friction    float64     // μ_T,min
	Twist       unit.Torque // M_Y,max on this bolt's own axis, 0 for none
	TwistFaces  int         // q_M
	TwistRadius unit.Length // r_a
	Separation  unit.Force  // F_KA, clamp needed so that the joint stays closed
}

// RequiredClamp returns the least clamping that keeps a joint from slipping and
// from opening:
//
//	F_KQ = F_Q,max/(q_F·μ_T,min) + M_Y,max/(q_M·r_a·μ_T,min)
//	F_K,req = max( F_KQ, F_KA )
//
//	F_Q,max  shear on the bolt              N
//	M_Y,max  twist about the bolt           N·m
//	q_F,q_M  faces that share it            –
//	r_a      friction radius of the twist   m
//	μ_T,min  least friction of the faces    –
//	F_KA     clamp against separation       N
//
// Valid for forces ≥ 0, q ≥ 1, 0 < μ_T ≤ 1 and, with twist, r_a > 0; otherwise
// the error is a *unit.DomainError.
//
// Source: VDI 2230 Part 1, required clamp load, as discussed in a published
// commentary on VDI 2230.
func RequiredClamp(in RequiredClampInput) (unit.Force, error) {
	const name = "required clamp"
	switch {
	case !(in.Shear >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "shear", Value: float64(in.Shear), Want: "F_Q ≥ 0"}
	case !(in.Separation >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "separation", Value: float64(in.Separation), Want: "F_KA ≥ 0"}
	case !(in.Interfaces >= 1):
		return 0, &unit.DomainError{Formula: name, Input: "interfaces", Value: float64(in.Interfaces), Want: "q_F ≥ 1"}
	case !(0 < in.Friction && in.Friction <= 1):
		return 0, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: "0 < μ ≤ 1"}
	case !(in.Twist >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "twist", Value: float64(in.Twist), Want: "M_Y ≥ 0"}
	case in.Twist > 0 && !(in.TwistRadius > 0 && in.TwistFaces >= 1):
		return 0, &unit.DomainError{Formula: name, Input: "twist radius", Value: float64(in.TwistRadius), Want: "r_a > 0 and q_M ≥ 1"}
	}
	slip := float64(in.Shear) / (float64(in.Interfaces) * in.Friction)
	if in.Twist > 0 {
		slip += float64(in.Twist) / (float64(in.TwistFaces) * float64(in.TwistRadius) * in.Friction)
	}
	return max(unit.Force(slip), in.Separation), nil
}

// DimensionInput is what RequiredPreload needs.
type DimensionInput struct {
	Factor     float64    // α_A
	Clamp      unit.Force // F_K,req
	LoadFactor float64    // Φ
	Axial      unit.Force // F_A,max
	Embedding  unit.Force // F_Z
	Thermal    unit.Force // ΔF_th, loss by heat; 0 for none
}

// RequiredPreload returns the largest preload for which a bolt must be sized,
// so that after scatter and losses the joint still clamps enough:
//
//	F_M,max = α_A · [ F_K,req + (1 − Φ)·F_A,max + F_Z + ΔF_th ]  ≤  F_M,allowed
//
//	α_A      tightening factor                N/N
//	F_K,req  required clamping                N
//	Φ        load factor                      –
//	F_A,max  axial load on the bolt           N
//	F_Z      embedding loss                   N
//	ΔF_th    loss by heat                     N
//
// Valid for α_A ≥ 1, 0 ≤ Φ ≤ 1 and forces ≥ 0; otherwise the error is a
// *unit.DomainError. The caller compares it with AssemblyPreload.
//
// Source: VDI 2230 Part 1, dimensioning of the bolt (memory).
func RequiredPreload(in DimensionInput) (unit.Force, error) {
	const name = "required preload"
	switch {
	case !(in.Factor >= 1):
		return 0, &unit.DomainError{Formula: name, Input: "α_A", Value: in.Factor, Want: "α_A ≥ 1"}
	case !(0 <= in.LoadFactor && in.LoadFactor <= 1):
		return 0, &unit.DomainError{Formula: name, Input: "Φ", Value: in.LoadFactor, Want: "0 ≤ Φ ≤ 1"}
	case !(in.Clamp >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "clamp", Value: float64(in.Clamp), Want: "F_K ≥ 0"}
	case !(in.Axial >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "axial", Value: float64(in.Axial), Want: "F_A ≥ 0"}
	case !(in.Embedding >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "embedding", Value: float64(in.Embedding), Want: "F_Z ≥ 0"}
	case !(in.Thermal >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "thermal", Value: float64(in.Thermal), Want: "ΔF_th ≥ 0"}
	}
	return unit.Force(in.Factor) * (in.Clamp + unit.Force(1-in.LoadFactor)*in.Axial + in.Embedding + in.Thermal), nil
}
