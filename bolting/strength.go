package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// WorkingInput is a tightened bolt in service.
type WorkingInput struct {
	Thread     Thread
	Class      Class
	Preload    unit.Force // F_M, the largest that tightening gives
	Friction   float64    // μG that belongs to it
	LoadFactor float64    // Φ
	Axial      unit.Force // F_A,max, tension positive
}

// Working is the largest force and stress of a bolt in service.
type Working struct {
	Bolt       unit.Force    // F_S,max
	Tension    unit.Pressure // σ
	Torsion    unit.Pressure // τ left from tightening, half of it
	Equivalent unit.Pressure // σ_red
	Use        float64       // σ_red/Rp0.2
}

// WorkingStress returns the largest stress of a bolt in service, in which half
// of the tightening torsion is still alive:
//
//	F_S,max = F_M + Φ·F_A,max
//	σ_red = √( (F_S,max/AS)² + 3·(0.5·τ)² )  ≤  Rp0.2,   τ = 16·M_G/(π·dS³)
//
//	F_M   largest preload                                N
//	Φ     load factor                                    –
//	F_A   axial load on the bolt                         N
//	M_G   the thread's part of the torque at F_M         N·mm
//	AS    stress area                                    mm²
//
// Valid for F_M ≥ 0, 0 ≤ Φ ≤ 1, 0.04 ≤ μG ≤ 0.40; otherwise the error is a
// *unit.DomainError. A compressive load is counted as none.
//
// Source: VDI 2230 Part 1, working stress with k_τ = 0.5; F_S,max as discussed
// in a published commentary on VDI 2230.
func WorkingStress(in WorkingInput) (Working, error) {
	const name = "working stress"
	switch {
	case !in.Thread.valid():
		return Working{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(in.Class.Yield > 0):
		return Working{}, &unit.DomainError{Formula: name, Input: "Rp0.2", Value: float64(in.Class.Yield), Want: "Rp0.2 > 0"}
	case !(in.Preload >= 0):
		return Working{}, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "F_M ≥ 0"}
	case !(0 <= in.LoadFactor && in.LoadFactor <= 1):
		return Working{}, &unit.DomainError{Formula: name, Input: "Φ", Value: in.LoadFactor, Want: "0 ≤ Φ ≤ 1"}
	case !inFriction(in.Friction):
		return Working{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: frictionWant}
	case !finite(float64(in.Axial)):
		return Working{}, &unit.DomainError{Formula: name, Input: "axial", Value: float64(in.Axial), Want: "a finite force"}
	}
	F_S := in.Preload + unit.Force(in.LoadFactor)*max(in.Axial, 0)
	thread, _ := torqueArms(in.Thread, in.Friction, in.Friction)
	dS := in.Thread.StressDiameter().Millimetres()
	σ := F_S.Newtons() / in.Thread.StressArea().SquareMillimetres()
	τ := 0.5 * 16 * in.Preload.Newtons() * thread / (math.Pi * dS * dS * dS)
	σred := math.Sqrt(σ*σ + 3*τ*τ)
	return Working{F_S, mpa(σ), mpa(τ), mpa(σred), σred / in.Class.Yield.Megapascals()}, nil
}

// FatigueInput is a bolt whose load along its axis swings.
type FatigueInput struct {
	Thread     Thread
	LoadFactor float64    // Φ
	Upper      unit.Force // F_Ao
	Lower      unit.Force // F_Au
}

// Fatigue is the stress swing of a bolt and what it endures.
type Fatigue struct {
	Amplitude unit.Pressure // σ_a
	Endurance unit.Pressure // σ_ASV
	Use       float64
}

// BoltFatigue returns the stress amplitude of a bolt under a swinging load, and
// the amplitude it endures for ever:
//
//	σ_a = Φ·(F_Ao − F_Au)/(2·AS)  ≤  σ_ASV = 0.85·(150/d + 45)
//
//	Φ     load factor                      –
//	F_A   upper and lower load on the bolt N
//	AS    stress area                      mm²
//	d     thread diameter                  mm
//	σ     amplitudes                       MPa
//
// Valid for threads rolled before heat treatment, 2·10⁶ swings and more, a
// joint that does not open, 0 ≤ Φ ≤ 1 and F_Ao ≥ F_Au; otherwise the error is a
// *unit.DomainError.
//
// Source: VDI 2230 Part 1, endurance limit of rolled threads (memory).
func BoltFatigue(in FatigueInput) (Fatigue, error) {
	const name = "bolt fatigue"
	switch {
	case !in.Thread.valid():
		return Fatigue{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(0 <= in.LoadFactor && in.LoadFactor <= 1):
		return Fatigue{}, &unit.DomainError{Formula: name, Input: "Φ", Value: in.LoadFactor, Want: "0 ≤ Φ ≤ 1"}
	case !(in.Upper >= in.Lower && finite(float64(in.Upper)) && finite(float64(in.Lower))):
		return Fatigue{}, &unit.DomainError{Formula: name, Input: "upper load", Value: float64(in.Upper), Want: "not below the lower load"}
	}
	σa := in.LoadFactor * (in.Upper - in.Lower).Newtons() / (2 * in.Thread.StressArea().SquareMillimetres())
	σASV := 0.85 * (150/in.Thread.Diameter.Millimetres() + 45)
	return Fatigue{mpa(σa), mpa(σASV), σa / σASV}, nil
}

// A Material is what lies under a bolt head, with the pressure it bears.
type Material struct {
	Name     string
	Limit    unit.Pressure // p_G
	Older    unit.Pressure // the older, more careful value; 0 for none
	Evidence Evidence      // of Limit
}

// Limiting surface pressures. Limit: VDI 2230:2003 as reprinted in the technical
// part of a fastener catalogue; its starred values, not yet confirmed there, are
// Memory here. Older: as reprinted by the same and in "Bolts, technical basics";
// to be used with p = (F_M/0.9)/A_p.
var materials = [...]struct {
	name         string
	limit, older float64 // MPa
	by           Evidence
}{
	{"S235", 490, 260, Read},
	{"E295", 710, 420, Read},
	{"S355", 760, 0, Read},
	{"C45V", 0, 700, Read},
	{"GJL-250", 900, 800, Read},
	{"Cq45", 630, 0, Memory},
	{"34CrMo4", 870, 0, Memory},
	{"GJS-400", 700, 0, Memory},
}

// FindMaterial returns the limiting surface pressure of a plate.
//
//	S235 p_G = 490, E295 710, S355 760, GJL-250 900        MPa
//	not confirmed there: Cq45 630, 34CrMo4 870, GJS-400 700
//	older: S235 260, E295 420, C45V 700, GJL-250 800
//
// Valid for the materials of the table; otherwise the error is a
// *unit.ParseError that lists them. C45V has an older value only.
//
// Source: VDI 2230:2003, limiting surface pressures, as reprinted in the
// technical part of a fastener catalogue; older values as reprinted there.
func FindMaterial(name string) (Material, error) {
	var have []string
	for _, m := range materials {
		if strings.EqualFold(m.name, strings.TrimSpace(name)) {
			return Material{m.name, mpa(m.limit), mpa(m.older), m.by}, nil
		}
		have = append(have, m.name)
	}
	return Material{}, &unit.ParseError{
		Found: name, Why: "which is not a plate material known here",
		Expected: "one of " + strings.Join(have, ", "),
	}
}

// HeadPressure returns the pressure under a bolt head or washer:
//
//	p = F / A_p,   A_p = π/4·(dW² − dh²)   ≤  p_G
//
//	F   largest force in the bolt   N
//	dW  bearing face                mm
//	dh  hole                        mm
//	p   result                      MPa
//
// Valid for F ≥ 0 and 0 < dh < dW; otherwise the error is a *unit.DomainError.
//
// Source: VDI 2230 Part 1, surface pressure under head and nut.
func HeadPressure(force unit.Force, bearing, hole unit.Length) (unit.Pressure, error) {
	const name = "pressure under the head"
	switch {
	case !(force >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "force", Value: float64(force), Want: "F ≥ 0"}
	case !(0 < hole && hole < bearing):
		return 0, &unit.DomainError{Formula: name, Input: "bearing face", Value: float64(bearing), Want: "0 < dh < dW"}
	}
	return unit.Pressure(float64(force) / float64(circle(bearing)-circle(hole))), nil
}
