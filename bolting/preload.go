package bolting

import (
	"math"

	"underpin/unit"
)

// usualUtilisation is ν: the share of the yield strength that tightening may
// use up. VDI 2230 builds its tables on 0.9.
const usualUtilisation = 0.9

// Friction limits within which VDI 2230 sorts threads and heads into classes
// (A to E; bounds from memory). Outside, a torque says nothing.
const leastFriction, mostFriction = 0.04, 0.40

const frictionWant = "0.04 ≤ μ ≤ 0.40, as a share (0.12, not 12)"

func inFriction(mu float64) bool { return leastFriction <= mu && mu <= mostFriction }

// PreloadInput is what AssemblyPreload needs.
type PreloadInput struct {
	Thread      Thread
	Class       Class
	Friction    float64 // μG, thread
	Utilisation float64 // ν, share of the yield strength; 0.9 is usual
}

// Preload is the preload that tightening to a share of the yield strength gives.
type Preload struct {
	Force        unit.Force    // F_M
	Area         unit.Area     // AS, calculated
	Stress       unit.Pressure // σ_M = F_M/AS
	Allowed      unit.Pressure // ν·Rp0.2
	TorsionShare float64       // τ/σ under full plastic torsion
}

// AssemblyPreload returns the tensile force in a bolt when tension and
// tightening torsion together reach a share of its yield strength:
//
//	F_M = AS·ν·Rp0.2 / √(1 + 3·[ (3/2)·(d2/dS)·( P/(π·d2) + 1.155·μG ) ]²)
//
//	AS    calculated stress area          mm²
//	ν     utilisation                     –
//	Rp0.2 least yield strength            MPa
//	d2    pitch diameter                  mm
//	dS    stress diameter                 mm
//	P     pitch                           mm
//	μG    friction in the thread          –
//	F_M   result                          N
//
// The factor 3/2 is the fully plastic section in torsion.
//
// Valid for full-shank bolts, 0 < ν ≤ 1 and 0.04 ≤ μG ≤ 0.40; otherwise the
// error is a *unit.DomainError. A waisted shank is not covered.
//
// Source: VDI 2230 Part 1, equation for F_Mzul (form from memory; its results
// agree with the printed fine-thread table of VDI 2230:2001 within 0.35 %).
func AssemblyPreload(in PreloadInput) (Preload, error) {
	const name = "assembly preload"
	switch {
	case !in.Thread.valid():
		return Preload{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(in.Class.Yield > 0):
		return Preload{}, &unit.DomainError{Formula: name, Input: "Rp0.2", Value: float64(in.Class.Yield), Want: "Rp0.2 > 0"}
	case !(0 < in.Utilisation && in.Utilisation <= 1):
		return Preload{}, &unit.DomainError{Formula: name, Input: "ν", Value: in.Utilisation, Want: "0 < ν ≤ 1"}
	case !inFriction(in.Friction):
		return Preload{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: frictionWant}
	}
	t := in.Thread
	AS, Rp := t.StressArea().SquareMillimetres(), in.Class.Yield.Megapascals()
	d2, dS, P := t.PitchDiameter().Millimetres(), t.StressDiameter().Millimetres(), t.Pitch.Millimetres()
	ν, μG := in.Utilisation, in.Friction
	k := 1.5 * (d2 / dS) * (P/(math.Pi*d2) + 1.155*μG)
	σ := ν * Rp / math.Sqrt(1+3*k*k)
	return Preload{
		Force: unit.Force(AS * σ), Area: t.StressArea(), Stress: mpa(σ), Allowed: mpa(ν * Rp), TorsionShare: k,
	}, nil
}

// TorqueInput is what AssemblyTorque needs.
type TorqueInput struct {
	Thread         Thread // its Bearing and Hole count
	Preload        unit.Force
	ThreadFriction float64 // μG
	HeadFriction   float64 // μK
}

// Torque is a tightening torque and its two parts.
type Torque struct {
	Torque         unit.Torque // M_A
	InThread       unit.Torque // M_G
	UnderHead      unit.Torque // M_K
	FrictionRadius unit.Length // D_Km/2
}

// AssemblyTorque returns the torque at which a bolt carries a preload:
//
//	M_A = F_M · [ 0.159·P + 0.577·d2·μG + (D_Km/2)·μK ],   D_Km = (dW + dh)/2
//
//	F_M  preload                                N
//	P    pitch                                  mm
//	d2   pitch diameter                         mm
//	dW   outer diameter of the bearing face     mm
//	dh   clearance hole                         mm
//	μG   friction in the thread                 –
//	μK   friction under head or nut             –
//	M_A  result                                 N·mm
//
// Valid for 0 ≤ F_M and 0.04 ≤ μG, μK ≤ 0.40; otherwise the error is a
// *unit.DomainError. It is no fitting torque: that comes from the instructions
// of the coupling.
//
// Source: VDI 2230 Part 1 (form from memory; its results agree with the printed
// fine-thread table of VDI 2230:2001 within 0.62 %).
func AssemblyTorque(in TorqueInput) (Torque, error) {
	const name = "assembly torque"
	switch {
	case !in.Thread.valid():
		return Torque{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(0 <= in.Preload && !math.IsInf(float64(in.Preload), 0)):
		return Torque{}, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "F_M ≥ 0"}
	case !inFriction(in.ThreadFriction):
		return Torque{}, &unit.DomainError{Formula: name, Input: "thread friction", Value: in.ThreadFriction, Want: frictionWant}
	case !inFriction(in.HeadFriction):
		return Torque{}, &unit.DomainError{Formula: name, Input: "head friction", Value: in.HeadFriction, Want: frictionWant}
	}
	thread, head := torqueArms(in.Thread, in.ThreadFriction, in.HeadFriction)
	F_M := in.Preload.Newtons()
	MG, MK := nmm(F_M*thread), nmm(F_M*head)
	return Torque{MG + MK, MG, MK, (in.Thread.Bearing + in.Thread.Hole) / 4}, nil
}

// torqueArms are the two brackets of the torque formula, in mm.
func torqueArms(t Thread, μG, μK float64) (thread, head float64) {
	P, d2 := t.Pitch.Millimetres(), t.PitchDiameter().Millimetres()
	D_Km := (t.Bearing + t.Hole).Millimetres() / 2
	return 0.159*P + 0.577*d2*μG, D_Km / 2 * μK
}

func nmm(v float64) unit.Torque { return unit.Torque(v * 1e-3) }

// Tightening is the theoretical maximum of a bolt: what its size and class
// allow, before any loss, scatter or load.
type Tightening struct {
	Thread   Thread
	Class    Class
	Friction float64
	Area     unit.Area  // AS, calculated
	Proof    unit.Force // AS,nom·Sp
	Preload  Preload    // at ν = 0.9
	Torque   Torque     // that gives this preload
}

// MaximumTightening returns stress area, proof load, the preload at 90 % of
// yield and the torque that gives it, with the same friction in the thread and
// under the head:
//
//	AS = π/4·dS²
//	F_p = AS,nom·Sp
//	F_M = AS·0.9·Rp0.2 / √(1 + 3·[ (3/2)·(d2/dS)·( P/(π·d2) + 1.155·μ ) ]²)
//	M_A = F_M · [ 0.159·P + 0.577·d2·μ + (dW + dh)/4·μ ]
//
//	μ  friction, thread and head alike   –; other symbols as in AssemblyPreload
//	   and AssemblyTorque
//
// Valid for the sizes and classes of the tables (otherwise a *unit.ParseError
// that lists them) and 0.04 ≤ μ ≤ 0.40 (otherwise a *unit.DomainError). Preload
// and torque are the theoretical maximum, not a fitting torque.
//
// Source: VDI 2230 Part 1; EN ISO 898-1 for strength, proof stress and nominal
// area; ISO 724 for the profile.
func MaximumTightening(size, grade string, friction float64) (Tightening, error) {
	loads, err := LoadsOf(size, grade)
	if err != nil {
		return Tightening{}, err
	}
	f, err := AssemblyPreload(PreloadInput{loads.Thread, loads.Class, friction, usualUtilisation})
	if err != nil {
		return Tightening{}, err
	}
	m, err := AssemblyTorque(TorqueInput{loads.Thread, f.Force, friction, friction})
	if err != nil {
		return Tightening{}, err
	}
	return Tightening{loads.Thread, loads.Class, friction, f.Area, loads.Proof, f, m}, nil
}
