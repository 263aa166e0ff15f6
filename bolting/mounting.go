package bolting

import (
	"math"

	"underpin/unit"
)

// A LoadCase is a pair of forces that the mounting of a fifth wheel must hold.
type LoadCase struct {
	Name         string
	Longitudinal unit.Force // H, along the vehicle, either way
	Down         unit.Force // V, negative lifts
	Swings       bool       // belongs to the swinging load of the dynamic test
	Evidence     Evidence
	Source       string
}

// LoadInput is the rating of a coupling.
type LoadInput struct {
	D       unit.Force
	U       unit.Mass
	Steered bool // approved for positive steering of the trailer
}

// The order of the load cases.
const (
	LeastImposed = iota // dynamic test, 0.4·U
	MostImposed         // dynamic test, 1.2·U
	FullLoaded          // full D with U
	FullUnloaded        // full D, nothing on the plate
	Lifting             // U pulls upwards
	loadCases
)

// LoadCases returns the loads for which the mounting of a fifth wheel is checked:
//
//	dynamic test:  H = ±0.6·D (0.675·D with positive steering), V = 0.4·U·g and 1.2·U·g
//	once only:     H = D with V = U·g, H = D with V = 0
//	lifting:       V = −U·g
//
//	D  rating of the coupling   N
//	U  imposed load rating      kg
//	g  9.81 m/s²
//
// Valid for D > 0 and U ≥ 0; otherwise the error is a *unit.DomainError. The
// once-only cases are our own choice and the lifting case is unverified: they
// may warn, never certify. No source is known for a lateral force.
//
// Source: UN Regulation No. 55.01, Annex 6, 3.7.3.1 and 3.7.3.2, for the dynamic
// test; Annex 6, 3.7.2.2, for lifting (memory).
func LoadCases(in LoadInput) ([5]LoadCase, error) {
	switch {
	case !(in.D > 0 && finite(float64(in.D))):
		return [5]LoadCase{}, &unit.DomainError{Formula: "load cases", Input: "D", Value: float64(in.D), Want: "D > 0"}
	case !(in.U >= 0 && finite(float64(in.U))):
		return [5]LoadCase{}, &unit.DomainError{Formula: "load cases", Input: "U", Value: float64(in.U), Want: "U ≥ 0"}
	}
	share, clause := unit.Force(0.6), "UN R55.01, Annex 6, 3.7.3.1"
	if in.Steered {
		share, clause = 0.675, "UN R55.01, Annex 6, 3.7.3.2"
	}
	const own = "own choice: D once, without the dynamic factor; no source"
	U := unit.Force(float64(in.U) * float64(unit.Gravity))
	return [5]LoadCase{
		{"dynamic, least imposed load", share * in.D, 0.4 * U, true, Read, clause},
		{"dynamic, most imposed load", share * in.D, 1.2 * U, true, Read, clause},
		{"full D, imposed load U", in.D, U, false, Practice, own},
		{"full D, no imposed load", in.D, 0, false, Practice, own},
		{"lifting", 0, -U, false, Memory, "UN R55, Annex 6, 3.7.2.2, not read"},
	}, nil
}

// MountingInput is a fifth wheel bolted through its feet to a plate.
type MountingInput struct {
	Pattern    []Point     // the bolts, equal, x rearwards
	Joint      unit.Length // x of the coupling joint in the same datum
	Height     unit.Length // h, of the coupling joint above the bolts' plane
	Rating     LoadInput
	Thread     Thread
	Preload    unit.Force // F_V of each bolt that can be counted on: least, losses taken off
	LoadFactor float64    // Φ
	Friction   float64    // μ_T between feet and plate
}

// CaseResult is one load case on the mounting.
type CaseResult struct {
	Case     LoadCase
	Capacity unit.Force // against slip, together with V
	Safety   float64    // against slip; infinite where nothing pushes
	Axial    unit.Force // F_A on the worst bolt, either direction of H
	Clamp    unit.Force // F_K left under that bolt
	Opens    bool
	Swing    Fatigue // of the worst bolt when H swings both ways and V stands
}

// Mounting is a fifth wheel's bolted joint under all its load cases.
type Mounting struct {
	Group       Group
	Cases       [5]CaseResult
	Fatigue     Fatigue // of the worst bolt, H and V of the dynamic test both swinging, out of step
	DynamicSlip float64 // least safety of the swinging cases
	FullSlip    float64 // least safety of the full-D cases
	StopsNeeded bool    // friction alone is not enough
	StopForce   unit.Force
	AllClosed   bool // no bolt opens in any case
}

// CheckMounting returns what the load cases do to the bolts between a fifth
// wheel's feet and its plate, and whether the joint needs positive stops:
//
//	capacity = μ_T·(n·F_V + V),   S = capacity/H
//	F_A = −V/n + H·h·x/Σx² on the worst bolt,   F_K = F_V − (1 − Φ)·F_A
//	stops needed when S < 1.2 at the dynamic load or S < 1.0 at full D
//
// As full D is asked without imposed load too, it is that case which governs.
//
//	n    bolts                                       –
//	F_V  preload to be counted on                    N
//	μ_T  friction between feet and plate             –
//	h    coupling joint above the bolts' plane       m
//	H, V longitudinal force, imposed load            N
//
// With stops, fore and aft of each foot and welded to the mounting plate, never
// to the frame's flanges, each side is sized for StopForce = D and the bolts for
// tension. Some laws ask for a positive device whatever friction holds.
//
// Valid for a rigid fitting on equal bolts, h ≥ 0, F_V ≥ 0, 0 ≤ Φ ≤ 1 and
// 0 < μ_T ≤ 0.5; otherwise the error is a *unit.DomainError. A single row
// across the vehicle cannot resist tilting: *unit.NoAnswerError.
//
// Source: VDI 2230 Part 1 for slip and clamping; elastic bolt group; the rule
// for stops is common practice, no source.
func CheckMounting(in MountingInput) (Mounting, error) {
	const name = "mounting"
	switch {
	case !(in.Height >= 0 && finite(float64(in.Height))):
		return Mounting{}, &unit.DomainError{Formula: name, Input: "height", Value: float64(in.Height), Want: "h ≥ 0"}
	case !(0 < in.Friction && in.Friction <= 0.5):
		return Mounting{}, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: "0 < μ ≤ 0.5"}
	case !finite(float64(in.Joint)):
		return Mounting{}, &unit.DomainError{Formula: name, Input: "coupling joint", Value: float64(in.Joint), Want: "a finite place"}
	}
	g, err := GroupOf(in.Pattern)
	if err != nil {
		return Mounting{}, err
	}
	cases, err := LoadCases(in.Rating)
	if err != nil {
		return Mounting{}, err
	}
	out := Mounting{Group: g, DynamicSlip: math.Inf(1), FullSlip: math.Inf(1), AllClosed: true, StopForce: in.Rating.D}
	var fields [loadCases][2]share // H rearwards, H forwards
	for i, c := range cases {
		for k, way := range [...]unit.Force{1, -1} {
			load := g.LoadFrom(Applied{At: Point{in.Joint, g.Centroid.Y}, Height: in.Height, X: way * c.Longitudinal, Down: c.Down})
			if fields[i][k], err = g.share(load); err != nil {
				return Mounting{}, err
			}
		}
	}
	var swing [2]float64 // widest swing of one bolt's load, for each dynamic case
	var wide float64     // the same over both
	worst := [loadCases]unit.Force{}
	for n, b := range in.Pattern {
		x, y := b.X-g.Centroid.X, b.Y-g.Centroid.Y
		low, high := math.Inf(1), math.Inf(-1)
		for i := range cases {
			p, q := fields[i][0].on(x, y).Axial, fields[i][1].on(x, y).Axial
			if most := max(p, q); n == 0 || most > worst[i] {
				worst[i] = most
			}
			if cases[i].Swings {
				swing[i] = max(swing[i], math.Abs(float64(p-q)))
				low, high = min(low, float64(p), float64(q)), max(high, float64(p), float64(q))
			}
		}
		wide = max(wide, high-low)
	}
	for i, c := range cases {
		r := CaseResult{Case: c, Axial: worst[i]}
		s, err := SlipUnderLoad(SlipSafetyInput{g.Count, in.Preload, in.Friction, c.Down, c.Longitudinal})
		if err != nil {
			return Mounting{}, err
		}
		clamp, err := ClampUnderLoad(ClampInput{in.Preload, in.LoadFactor, r.Axial})
		if err != nil {
			return Mounting{}, err
		}
		r.Capacity, r.Safety, r.Clamp, r.Opens = s.Capacity, s.Safety, clamp.Joint, clamp.Opens
		out.AllClosed = out.AllClosed && !clamp.Opens
		switch {
		case c.Swings:
			out.DynamicSlip = min(out.DynamicSlip, s.Safety)
			if r.Swing, err = BoltFatigue(FatigueInput{in.Thread, in.LoadFactor, unit.Force(swing[i]), 0}); err != nil {
				return Mounting{}, err
			}
		case i == FullLoaded || i == FullUnloaded:
			out.FullSlip = min(out.FullSlip, s.Safety)
		}
		out.Cases[i] = r
	}
	if out.Fatigue, err = BoltFatigue(FatigueInput{in.Thread, in.LoadFactor, unit.Force(wide), 0}); err != nil {
		return Mounting{}, err
	}
	out.StopsNeeded = !(out.DynamicSlip >= 1.2 && out.FullSlip >= 1.0)
	return out, nil
}
