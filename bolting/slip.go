package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// SlipInput is what SlipResistance needs.
type SlipInput struct {
	Bolts    int
	Preload  unit.Force // of each bolt, what can be counted on
	Friction float64    // between the faces
	Surfaces int        // slip planes that each bolt crosses
	Force    unit.Force // that tries to shift the joint
	Factor   float64    // safety factor that divides the resistance; 1 for none
}

// Slip is the resistance of a joint to slipping.
type Slip struct {
	PerBolt    unit.Force
	Resistance unit.Force
	Use        float64 // Force/Resistance
}

// SlipResistance returns the force that a preloaded joint holds by friction,
// and how much of it a force uses:
//
//	resistance = bolts · surfaces · friction · preload / factor
//	use = force / resistance
//
//	preload   that can be counted on in each bolt   N
//	friction  between the faces                     –
//	factor    safety factor on the resistance       –
//
// Valid for at least one bolt and surface, preload > 0, 0 < friction ≤ 1,
// force ≥ 0 and factor ≥ 1; otherwise the error is a *unit.DomainError.
//
// Source: Coulomb friction; EN 1993-1-8, 3.9.1, with k_s = 1 and γ_M3 as the
// factor.
func SlipResistance(in SlipInput) (Slip, error) {
	const name = "slip resistance"
	switch {
	case !(in.Bolts >= 1):
		return Slip{}, &unit.DomainError{Formula: name, Input: "bolts", Value: float64(in.Bolts), Want: "bolts ≥ 1"}
	case !(in.Surfaces >= 1):
		return Slip{}, &unit.DomainError{Formula: name, Input: "surfaces", Value: float64(in.Surfaces), Want: "surfaces ≥ 1"}
	case !(in.Preload > 0):
		return Slip{}, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "preload > 0"}
	case !(0 < in.Friction && in.Friction <= 1):
		return Slip{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: "0 < μ ≤ 1"}
	case !(in.Force >= 0):
		return Slip{}, &unit.DomainError{Formula: name, Input: "force", Value: float64(in.Force), Want: "force ≥ 0"}
	case !(in.Factor >= 1):
		return Slip{}, &unit.DomainError{Formula: name, Input: "factor", Value: in.Factor, Want: "factor ≥ 1"}
	}
	each := unit.Force(float64(in.Surfaces)*in.Friction/in.Factor) * in.Preload
	all := unit.Force(in.Bolts) * each
	return Slip{each, all, float64(in.Force / all)}, nil
}

// SlipSafetyInput is a joint whose faces an outer force presses together, or
// lifts apart, besides the bolts.
type SlipSafetyInput struct {
	Bolts    int
	Preload  unit.Force // F_V of each bolt, losses taken off
	Friction float64    // μ_T
	Down     unit.Force // V, presses the faces together; negative lifts
	Shear    unit.Force // H
}

// SlipSafety is a joint's capacity against slip and its safety.
type SlipSafety struct {
	Capacity unit.Force
	Safety   float64 // Capacity/Shear; infinite when nothing pushes
}

// SlipUnderLoad returns the force at which a joint slips that carries an outer
// force as well, and the safety against it:
//
//	capacity = μ_T · (n·F_V + V)        S = capacity / H
//
//	n    bolts, one slip plane                        –
//	F_V  preload of each, losses taken off            N
//	V    outer force that presses the faces together  N
//	H    shear on the joint                           N
//
// Valid for n ≥ 1, F_V ≥ 0, 0 < μ_T ≤ 1 and H ≥ 0; otherwise the error is a
// *unit.DomainError. A V that lifts all the clamping away leaves a capacity of
// nothing, not a negative one.
//
// Source: VDI 2230 Part 1, required clamp force against slip, one interface.
func SlipUnderLoad(in SlipSafetyInput) (SlipSafety, error) {
	const name = "slip under load"
	switch {
	case !(in.Bolts >= 1):
		return SlipSafety{}, &unit.DomainError{Formula: name, Input: "bolts", Value: float64(in.Bolts), Want: "bolts ≥ 1"}
	case !(in.Preload >= 0):
		return SlipSafety{}, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "F_V ≥ 0"}
	case !(0 < in.Friction && in.Friction <= 1):
		return SlipSafety{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: "0 < μ ≤ 1"}
	case !(in.Shear >= 0):
		return SlipSafety{}, &unit.DomainError{Formula: name, Input: "shear", Value: float64(in.Shear), Want: "H ≥ 0"}
	case !finite(float64(in.Down)):
		return SlipSafety{}, &unit.DomainError{Formula: name, Input: "down", Value: float64(in.Down), Want: "a finite force"}
	}
	clamp := unit.Force(in.Bolts)*in.Preload + in.Down
	c := unit.Force(in.Friction) * max(clamp, 0)
	if in.Shear == 0 {
		return SlipSafety{c, math.Inf(1)}, nil
	}
	return SlipSafety{c, float64(c / in.Shear)}, nil
}

func finite(v float64) bool { return v-v == 0 }

// A Surface is a state of the faces in a joint with the friction to count on.
type Surface struct {
	Name     string
	Friction float64 // μ_T
	Evidence Evidence
}

// Dry bare steel is found between 0.10 and 0.23, oiled between 0.07 and 0.12
// (memory).
var surfaces = [...]Surface{
	{"clean, unpainted", 0.15, Practice},
	{"painted or unknown", 0.10, Practice},
	{"class A", 0.5, Memory}, // EN 1090-2: blasted, bare
	{"class B", 0.4, Memory}, // EN 1090-2: blasted, coated as the standard says
	{"class C", 0.3, Memory}, // EN 1090-2: wire brushed or flame cleaned
	{"class D", 0.2, Memory}, // EN 1090-2: untreated
}

// FindSurface returns the friction to count on between the faces of a joint.
//
//	clean, unpainted μ_T = 0.15    painted or unknown μ_T = 0.10
//	class A μ_T = 0.5, class B 0.4, class C 0.3, class D 0.2
//
// Without a stated class no face counts for more than 0.20.
//
// Valid for the states of the table, by their names; otherwise the error is a
// *unit.ParseError that lists them.
//
// Source: common practice, no source, for the two unclassed states; slip
// classes A to D of EN 1090-2 (memory).
func FindSurface(name string) (Surface, error) {
	var have []string
	for _, s := range surfaces {
		if s.Name == strings.TrimSpace(name) {
			return s, nil
		}
		have = append(have, s.Name)
	}
	return Surface{}, &unit.ParseError{
		Found: name, Why: "which is not a state of faces known here",
		Expected: "one of " + strings.Join(have, "; "),
	}
}
