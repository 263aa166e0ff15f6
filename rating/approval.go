package rating

import "underpin/unit"

// An Approval is a fifth wheel on the test bench.
type Approval struct {
	D       unit.Force
	U       unit.Mass
	Size    Size
	Steered bool        // approved for positive steering
	Lever   unit.Length // of the side force on the pin guides, 0.5 ± 0.1 m; used if Steered
}

// Forces are those of the approval tests.
type Forces struct {
	Horizontal     unit.Force // ± alternating, F_hw
	VerticalUpper  unit.Force // F_sO
	VerticalLower  unit.Force // F_sU
	LiftNoSet      unit.Force // no lasting bend of the plate; from memory
	LiftHold       unit.Force // the pin does not come out; 2.5·g·U confirmed by a published 490 kN for 20 t, the rest from memory
	SteeringMoment unit.Torque
	SteeringForce  unit.Force // SteeringMoment over Lever; both from memory, 0 unless Steered
}

// ApprovalForces returns the forces with which a fifth wheel of given ratings is
// tested for its approval:
//
//	F_hw = ±0.6·D, for positive steering ±0.675·D
//	F_sO = g·1.2·U ,  F_sU = g·0.4·U
//	lift without lasting bend  = g·U
//	lift without separation    = g·2.5·U for size 50, the greater of g·1.6·U and 500 kN above
//	steering moment            = 0.75 m · D on a lever of 0.5 ± 0.1 m
//
//	D, U  ratings                kN, t
//	g     9.81 m/s²
//
// It is for explaining what a rating means and for judging a test report, not
// for sizing.
//
// Valid for D > 0, U > 0, sizes 50 and 90, levers from 0.4 to 0.6 m; outside, the
// error is a *unit.DomainError.
//
// Source: UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2, for the dynamic
// test; lifting and steering, 3.7.2, are from memory. Handbook chapter 01, 4.1.
func ApprovalForces(in Approval) (Forces, error) {
	const name = "approval forces"
	if err := wantPositive(name, "d", in.D); err != nil {
		return Forces{}, err
	}
	if err := wantPositive(name, "u", in.U); err != nil {
		return Forces{}, err
	}
	if in.Size != Size50 && in.Size != Size90 {
		return Forces{}, outside(name, "size", float64(in.Size), "50 or 90")
	}
	weight := unit.Force(g * float64(in.U))
	f := Forces{
		Horizontal: 0.6 * in.D, VerticalUpper: 1.2 * weight, VerticalLower: 0.4 * weight,
		LiftNoSet: weight, LiftHold: 2.5 * weight,
	}
	if in.Size == Size90 {
		f.LiftHold = max(1.6*weight, 500*unit.Kilonewton)
	}
	if in.Steered {
		if !(0.4 <= in.Lever && in.Lever <= 0.6) {
			return Forces{}, outside(name, "lever", in.Lever, "0.4 m to 0.6 m")
		}
		f.Horizontal = 0.675 * in.D
		f.SteeringMoment = unit.Torque(0.75 * float64(in.D))
		f.SteeringForce = unit.Force(float64(f.SteeringMoment) / float64(in.Lever))
	}
	return f, nil
}
