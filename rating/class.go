package rating

import (
	"strings"

	"underpin/unit"
)

// A Class is the class of an approved part as it is marked: "G50-3", "G50-X",
// "H50-X", "J", "S". An empty one is not known.
type Class string

// is tells whether the class belongs to a family, with or without a number.
func (c Class) is(family string) bool {
	return string(c) == family || strings.HasPrefix(string(c), family+"-")
}

// standard tells whether it is a standard class: not of the X kind.
func (c Class) standard(family string) bool {
	return c.is(family) && c != Class(family+"-X")
}

// What a standard fifth wheel of class G50 is rated for.
//
// Source: common practice, no source; that UN Regulation No. 55, Annex 5, says
// so is from memory. Handbook chapter 01, 2.2.
const (
	StandardG50D = 150 * unit.Kilonewton
	StandardG50U = 20 * unit.Tonne
)

// Connected is a fifth wheel and a kingpin with what is marked on them.
type Connected struct {
	FifthWheel  Class
	Kingpin     Class
	FifthWheelD *unit.Force
	FifthWheelU *unit.Mass
	PlateD      *unit.Force
	PlateU      *unit.Mass

	DirectMount   *bool // bolted to the frame without a plate
	MakerPermits  *bool // the vehicle's maker permits that
	TwoAxis       *bool // the top swings sideways too
	LockableTop   *bool // and can be locked to ±3°
	StableTrailer *bool // the trailer is stiff in torsion, and does not roll the tractor over
}

var (
	classesMeet = Rule{
		ID: "class-pair", Says: "a fifth wheel G50 takes a kingpin H50", Evidence: Memory,
		Source: "UN Regulation No. 55, 2.6, class letters from memory; Directive 94/20/EC, Annex I, 1.3.7 and 1.3.8, list of points",
	}
	standardRating = Rule{
		ID: "g50-standard", Says: "a standard G50 is rated D 150 kN and U 20 t", Evidence: Practice,
		Source: "common practice, no source; UN Regulation No. 55, Annex 5, from memory",
	}
	plateCarries = Rule{
		ID: "plate-rating", Says: "the mounting plate is rated no less than the fifth wheel it carries", Evidence: Practice,
		Source: "common practice, no source",
	}
	directMount = Rule{
		ID: "direct-mount", Says: "a G50 is bolted to the frame without a plate only where the vehicle's maker permits it", Evidence: Memory,
		Source: "UN Regulation No. 55, Annex 7, 1.5, from memory",
	}
	lockableTop = Rule{
		ID: "two-axis-lock", Says: "a top that swings sideways can be locked to ±3°", Evidence: Memory,
		Source: "UN Regulation No. 55, Annex 5, from memory",
	}
	stableRoll = Rule{
		ID: "two-axis-stable", Says: "the coupling does not let the trailer roll so as to make the tractor unstable", Evidence: Read,
		Source: "NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(3)",
	}
)

// CheckClasses appends to dst what the classes of fifth wheel and kingpin, and
// how the fifth wheel is mounted, say of each other, and returns it:
//
//	G50 ↔ H50 ;  G50 standard: D = 150 kN, U = 20 t ;  plate ≥ fifth wheel
//
//	D, U  ratings   kN, t
//
// Most of these rules are practice or from memory: they warn, and no pass rests
// on them. The rating marked on the part governs, not the class's. A fifth wheel
// or pin of size 90 stands in class S, of which the rules say nothing.
//
// Valid for every class text; a rating that is not above 0 is refused with a
// *unit.DomainError. What is not known cannot be told.
//
// Source: UN Regulation No. 55, 2.6, Annexes 5 and 7, from memory; Directive
// 94/20/EC, Annex I, list of points; NSW Road Transport (Vehicle Registration)
// Regulation 2017, clause 145. Handbook chapter 01, 2, 4.2, 4.3 and 7.
func CheckClasses(in Connected, dst Findings) (Findings, error) {
	const name = "classes"
	for _, d := range [...]*unit.Force{in.FifthWheelD, in.PlateD} {
		if d != nil {
			if err := wantPositive(name, "d", *d); err != nil {
				return dst, err
			}
		}
	}
	for _, u := range [...]*unit.Mass{in.FifthWheelU, in.PlateU} {
		if u != nil {
			if err := wantPositive(name, "u", *u); err != nil {
				return dst, err
			}
		}
	}
	meet := CannotTell
	if in.FifthWheel != "" && in.Kingpin != "" && !in.FifthWheel.is("S") && !in.Kingpin.is("S") {
		meet = yes(new(in.FifthWheel.is("G50") && in.Kingpin.is("H50")))
	}
	dst = append(dst, Finding{classesMeet, meet})
	if in.FifthWheel.standard("G50") {
		a := CannotTell
		if in.FifthWheelD != nil && in.FifthWheelU != nil {
			a = yes(new(*in.FifthWheelD >= StandardG50D && *in.FifthWheelU >= StandardG50U))
		}
		dst = append(dst, Finding{standardRating, a})
	}
	if in.DirectMount == nil || !*in.DirectMount {
		a := CannotTell
		if in.FifthWheelD != nil && in.PlateD != nil && in.FifthWheelU != nil && in.PlateU != nil {
			a = yes(new(*in.PlateD >= *in.FifthWheelD && *in.PlateU >= *in.FifthWheelU))
		}
		dst = append(dst, Finding{plateCarries, a})
	}
	if in.DirectMount == nil {
		dst = append(dst, Finding{directMount, CannotTell})
	} else if *in.DirectMount {
		dst = append(dst, Finding{directMount, yes(in.MakerPermits)})
	}
	if in.TwoAxis == nil {
		dst = append(dst, Finding{lockableTop, CannotTell})
	} else if *in.TwoAxis {
		dst = append(dst, Finding{lockableTop, yes(in.LockableTop)}, Finding{stableRoll, yes(in.StableTrailer)})
	}
	return dst, nil
}

// WedgeAngle is the angle of a steering wedge.
//
// Source: common practice, no source; DIN 74085 is named for it and was not
// read, and that the angle is the included one is from memory. Handbook chapter
// 01, 3.4.
const WedgeAngle = 40 * unit.Degree

// wedgeTolerance is ours: an angle is entered in whole or half degrees.
const wedgeTolerance = 0.5 * unit.Degree

// Steered is a semi-trailer that steers its axles through the fifth wheel.
type Steered struct {
	Approved *bool       // the fifth wheel is approved and marked for positive steering
	Angle    *unit.Angle // of the wedge
	Down     *bool       // the wedge is down, and the rubbing plate lies on the fifth wheel without a gap
}

var (
	wedgeApproved = Rule{
		ID: "wedge-approved", Says: "a steering wedge runs only in a fifth wheel approved for positive steering", Evidence: Derived,
		Source: "UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2: for positive steering the test is ±0.675·D, else ±0.6·D",
	}
	wedgeAngle = Rule{
		ID: "wedge-angle", Says: "the wedge has 40°; another angle can crack the plate", Evidence: Practice,
		Source: "common practice, no source; DIN 74085, not read",
	}
	wedgeDown = Rule{
		ID: "wedge-down", Says: "the wedge is down and the rubbing plate lies on the fifth wheel without a gap", Evidence: Practice,
		Source: "common practice, no source",
	}
)

// CheckWedge appends to dst what is found of a steering wedge in a fifth wheel,
// and returns it:
//
//	approved for positive steering ;  angle = 40° ;  no gap
//
// The approval decides, for the test loads of such a fifth wheel are higher (see
// ApprovalForces). Angle and gap are common practice: they warn.
//
// Valid for a semi-trailer with a steering wedge; an angle that is not a number
// above 0 and below 180° is refused with a *unit.DomainError. What is not known
// cannot be told.
//
// Source: UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2; angle and gap
// common practice, no source. Handbook chapter 01, 3.4 and 7.
func CheckWedge(in Steered, dst Findings) (Findings, error) {
	angle := CannotTell
	if in.Angle != nil {
		a := *in.Angle
		if !(0 < a && a < 180*unit.Degree) {
			return dst, outside("steering wedge", "angle", a, "more than 0, less than 180°")
		}
		angle = yes(new(WedgeAngle-wedgeTolerance <= a && a <= WedgeAngle+wedgeTolerance))
	}
	return append(dst, Finding{wedgeApproved, yes(in.Approved)}, Finding{wedgeAngle, angle}, Finding{wedgeDown, yes(in.Down)}), nil
}
