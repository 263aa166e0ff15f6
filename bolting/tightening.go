package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// TighteningFactor returns how far apart the largest and the smallest preload
// of a tightening method lie:
//
//	α_A = F_M,max / F_M,min = (1 + s) / (1 − s)
//
//	s    scatter of the preload about its mean, ± share   –
//	α_A  result                                            –
//
// Valid for 0 ≤ s < 1; otherwise the error is a *unit.DomainError.
//
// Source: VDI 2230, definition of the tightening factor.
func TighteningFactor(scatter float64) (float64, error) {
	if !(0 <= scatter && scatter < 1) {
		return 0, &unit.DomainError{Formula: "tightening factor", Input: "scatter", Value: scatter, Want: "0 ≤ s < 1"}
	}
	return (1 + scatter) / (1 - scatter), nil
}

// A Method is a way of tightening and the scatter of preload that goes with it.
type Method struct {
	Name            string
	ScatterLow      float64  // ± share, VDI 2230:1986 as reprinted
	ScatterHigh     float64  //
	ScatterEvidence Evidence //
	FactorLow       float64  // α_A, VDI 2230:2015, table A8
	FactorHigh      float64  //
	FactorEvidence  Evidence
}

var methods = [...]Method{
	{"yield or angle", 0.05, 0.12, Read, 1.2, 1.4, Memory},
	{"hydraulic", 0.09, 0.23, Read, 1.2, 1.6, Memory},
	{"torque wrench, set by test", 0.17, 0.23, Read, 1.4, 1.6, Memory},
	{wrench, 0.23, 0.28, Read, 1.6, 2.5, Memory},
	{"power driver", 0.26, 0.43, Read, 1.7, 2.5, Memory},
	{impact, 0.43, 0.60, Memory, 2.5, 4, Memory},
}

const wrench, impact = "torque wrench", "impact wrench"

// FindMethod returns the scatter of a tightening method and its factor.
//
//	yield or angle             s = 5 to 12 %,  α_A = 1.2 to 1.4
//	hydraulic                  s = 9 to 23 %,  α_A = 1.2 to 1.6
//	torque wrench, set by test s = 17 to 23 %, α_A = 1.4 to 1.6
//	torque wrench              s = 23 to 28 %, α_A = 1.6 to 2.5
//	power driver               s = 26 to 43 %, α_A = 1.7 to 2.5
//	impact wrench              s = 43 to 60 %, α_A = 2.5 to 4
//
// The factors are of the 2015 edition and from memory; those that belong to the
// scatter are what TighteningFactor gives.
//
// Valid for the methods of the table, by their names; otherwise the error is a
// *unit.ParseError that lists them.
//
// Source: VDI 2230:1986, scatter of tightening methods as reprinted by a
// fastener supplier; VDI 2230:2015, table A8 (memory).
func FindMethod(name string) (Method, error) {
	var have []string
	for _, m := range methods {
		if m.Name == strings.TrimSpace(name) {
			return m, nil
		}
		have = append(have, m.Name)
	}
	return Method{}, &unit.ParseError{
		Found: name, Why: "which is not a tightening method known here",
		Expected: "one of " + strings.Join(have, "; "),
	}
}

// DesignFactor is the α_A to design with. With a calibrated click wrench and a
// stated lubrication it is 1.6, with unknown lubrication 2.0 (common practice,
// no source, inside the published 1.6 to 2.0). For other methods it is the
// larger of the two published upper ends. A joint that was only run up with an
// impact wrench is not counted: a *unit.NoAnswerError.
func (m Method) DesignFactor(lubricationStated bool) (float64, Evidence, error) {
	switch m.Name {
	case impact:
		return 0, Practice, &unit.NoAnswerError{Formula: "tightening factor", Why: "a joint tightened with an impact wrench only does not count as preloaded"}
	case wrench:
		if lubricationStated {
			return 1.6, Practice, nil
		}
		return 2.0, Practice, nil
	}
	α, err := TighteningFactor(m.ScatterHigh)
	return math.Max(α, m.FactorHigh), m.FactorEvidence, err
}

// LeastPreload returns the preload that can be counted on after tightening:
//
//	F_M,min = F_M,max / α_A
//
//	F_M,max  largest preload that the method may give   N
//	α_A      tightening factor                          –
//	F_M,min  result                                     N
//
// Valid for F_M,max ≥ 0 and α_A ≥ 1; otherwise the error is a *unit.DomainError.
//
// Source: VDI 2230, definition of the tightening factor; worked example in
// "Preload and tightening torques, VDI 2230 tables" (2021): M12 8.8, 41.9 kN/1.8.
func LeastPreload(largest unit.Force, factor float64) (unit.Force, error) {
	switch {
	case !(largest >= 0):
		return 0, &unit.DomainError{Formula: "least preload", Input: "F_M,max", Value: float64(largest), Want: "F_M,max ≥ 0"}
	case !(factor >= 1):
		return 0, &unit.DomainError{Formula: "least preload", Input: "α_A", Value: factor, Want: "α_A ≥ 1"}
	}
	return largest / unit.Force(factor), nil
}

// WrenchSetting returns the torque to aim at, and the least that then occurs,
// when a largest torque may not be exceeded:
//
//	M = M_max / 1.23        M_min = 0.77 · M
//
// Valid for M_max ≥ 0; otherwise the error is a *unit.DomainError. A rule for
// torque wrenches with ±23 %, to be read beside α_A, not on top of it.
//
// Source: "Fastener tightening torque information", a published guide, example
// 2 280 → 1 854 → 1 428 N·m.
func WrenchSetting(largest unit.Torque) (mean, least unit.Torque, err error) {
	if !(largest >= 0) {
		return 0, 0, &unit.DomainError{Formula: "wrench setting", Input: "M_max", Value: float64(largest), Want: "M_max ≥ 0"}
	}
	mean = largest / 1.23
	return mean, 0.77 * mean, nil
}

// AtTorqueInput is a bolt tightened to a known torque.
type AtTorqueInput struct {
	Thread   Thread
	Class    Class
	Torque   unit.Torque // M_A
	Friction float64     // μ, thread and head alike
}

// AtTorque is what that torque does to the bolt.
type AtTorque struct {
	Preload     unit.Force    // F
	Tension     unit.Pressure // F/AS
	Torsion     unit.Pressure // τ
	Equivalent  unit.Pressure // σ_v
	Utilisation float64       // σ_v/Rp0.2
}

// PreloadAtTorque returns the preload that a torque gives at a friction, and
// how much of the yield strength it uses while the wrench is still on:
//
//	F   = M_A / [ 0.159·P + 0.577·d2·μ + (D_Km/2)·μ ]
//	τ   = 16·M_G / (π·dS³)
//	σ_v = √( (F/AS)² + 3·τ² )
//
//	M_G  the thread's part of the torque, F·(0.159·P + 0.577·d2·μ)   N·mm
//	τ    elastic torsion in the stress section                      MPa
//	other symbols as in AssemblyTorque
//
// Valid for M_A ≥ 0 and 0.04 ≤ μ ≤ 0.40; otherwise the error is a
// *unit.DomainError. A utilisation above 1 says that the bolt would yield: the
// preload printed with it is then not reached.
//
// Source: VDI 2230 Part 1, torque formula solved for F_M; elastic torsion of a
// round bar, any textbook of machine elements.
func PreloadAtTorque(in AtTorqueInput) (AtTorque, error) {
	const name = "preload at torque"
	switch {
	case !in.Thread.valid():
		return AtTorque{}, &unit.DomainError{Formula: name, Input: "d", Value: float64(in.Thread.Diameter), Want: "a thread from the table"}
	case !(in.Class.Yield > 0):
		return AtTorque{}, &unit.DomainError{Formula: name, Input: "Rp0.2", Value: float64(in.Class.Yield), Want: "Rp0.2 > 0"}
	case !(0 <= in.Torque && !math.IsInf(float64(in.Torque), 0)):
		return AtTorque{}, &unit.DomainError{Formula: name, Input: "torque", Value: float64(in.Torque), Want: "M_A ≥ 0"}
	case !inFriction(in.Friction):
		return AtTorque{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: frictionWant}
	}
	thread, head := torqueArms(in.Thread, in.Friction, in.Friction)
	F := in.Torque.NewtonMetres() * 1e3 / (thread + head)
	dS := in.Thread.StressDiameter().Millimetres()
	σ := F / in.Thread.StressArea().SquareMillimetres()
	τ := 16 * F * thread / (math.Pi * dS * dS * dS)
	σv := math.Sqrt(σ*σ + 3*τ*τ)
	return AtTorque{unit.Force(F), mpa(σ), mpa(τ), mpa(σv), σv / in.Class.Yield.Megapascals()}, nil
}

// TorqueBandInput is a torque from the instructions of a coupling and the
// range in which friction may lie.
type TorqueBandInput struct {
	Thread        Thread
	Class         Class
	Torque        unit.Torque
	LeastFriction float64
	MostFriction  float64
}

// TorqueBand is that torque held against what the bolt can take.
type TorqueBand struct {
	Tightest AtTorque    // at the least friction: the over-stress check
	Loosest  AtTorque    // at the most friction: the clamp-force check
	Highest  unit.Torque // ν = 0.9 at the least friction
	Lowest   unit.Torque // 60 % of the ν = 0.9 torque at the most friction
	TooHigh  bool        // above Highest
	TooLow   bool        // below Lowest
}

// CheckTorque returns the preloads between which a torque leaves the bolt, and
// whether the torque is plausible for it:
//
//	too high:  M > M_A(ν = 0.9, μ_min)
//	too low:   M < 0.6 · M_A(ν = 0.9, μ_max)
//
//	M            torque in the instructions of the coupling   N·m
//	μ_min, μ_max least and most friction to be expected       –
//
// Over-stress is judged at the least friction, clamping at the most.
//
// Valid for M > 0 and 0.04 ≤ μ_min ≤ μ_max ≤ 0.40; otherwise the error is a
// *unit.DomainError. A plausible torque is not thereby an approved one.
//
// Source: VDI 2230 Part 1 for M_A; choice of friction as in "Preload and
// tightening torques, VDI 2230 tables" (2021); the 60 % is common practice, no
// source.
func CheckTorque(in TorqueBandInput) (TorqueBand, error) {
	const name = "torque check"
	switch {
	case !(in.Torque > 0):
		return TorqueBand{}, &unit.DomainError{Formula: name, Input: "torque", Value: float64(in.Torque), Want: "M > 0"}
	case !(in.LeastFriction <= in.MostFriction):
		return TorqueBand{}, &unit.DomainError{Formula: name, Input: "least friction", Value: in.LeastFriction, Want: "not above the most friction"}
	}
	var b TorqueBand
	for i, μ := range [...]float64{in.LeastFriction, in.MostFriction} {
		at, err := PreloadAtTorque(AtTorqueInput{in.Thread, in.Class, in.Torque, μ})
		if err != nil {
			return TorqueBand{}, err
		}
		f, err := AssemblyPreload(PreloadInput{in.Thread, in.Class, μ, usualUtilisation})
		if err != nil {
			return TorqueBand{}, err
		}
		m, err := AssemblyTorque(TorqueInput{in.Thread, f.Force, μ, μ})
		if err != nil {
			return TorqueBand{}, err
		}
		if i == 0 {
			b.Tightest, b.Highest = at, m.Torque
		} else {
			b.Loosest, b.Lowest = at, 0.6*m.Torque
		}
	}
	b.TooHigh, b.TooLow = in.Torque > b.Highest, in.Torque < b.Lowest
	return b, nil
}
