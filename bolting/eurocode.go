package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// Partial factors of EN 1993-1-8 (recommended values, memory).
const (
	gammaM2    = 1.25 // bolts, and plates in bearing
	gammaM3    = 1.25 // slip at the ultimate limit state
	gammaM3Ser = 1.10 // slip in service
)

// A HoleKind is a kind of hole and its k_s, EN 1993-1-8, table 3.6 as quoted in
// a textbook on steel bridges (read).
type HoleKind struct {
	Name  string
	Share float64 // k_s
}

var holes = [...]HoleKind{
	{"normal", 1.0},
	{"oversize", 0.85},
	{"short slot across", 0.85},
	{"long slot across", 0.7},
	{"short slot along", 0.76},
	{"long slot along", 0.63},
}

// FindHole returns k_s for a kind of hole; across and along say how the load
// lies to the slot.
//
//	normal k_s = 1.0, oversize 0.85, short slot across 0.85, long slot across 0.7,
//	short slot along 0.76, long slot along 0.63
//
// Valid for the kinds of the table, by their names; otherwise the error is a
// *unit.ParseError that lists them.
//
// Source: EN 1993-1-8, table 3.6, as quoted in a textbook on steel and composite
// bridges, table 3.24 there.
func FindHole(kind string) (HoleKind, error) {
	var have []string
	for _, h := range holes {
		if h.Name == strings.TrimSpace(kind) {
			return h, nil
		}
		have = append(have, h.Name)
	}
	return HoleKind{}, &unit.ParseError{
		Found: kind, Why: "which is not a kind of hole known here",
		Expected: "one of " + strings.Join(have, "; "),
	}
}

// CodePreload returns the preload that EN 1993-1-8 counts on in a controlled
// assembly:
//
//	F_p,C = 0.7 · f_ub · AS
//
//	f_ub   nominal tensile strength   MPa
//	AS     nominal stress area        mm²
//	F_p,C  result                     N
//
// Valid for classes 8.8 and 10.9; the code does not know 12.9: a
// *unit.NoAnswerError. It assumes assemblies after EN 14399, tightened and
// checked as EN 1090-2 asks; a workshop joint is not that.
//
// Source: EN 1993-1-8, 3.6.1, as quoted in a textbook on steel and composite
// bridges, equations 3.110 to 3.113; published preloads for EN 14399.
func CodePreload(t Thread, c Class) (unit.Force, error) {
	if err := inCode("preload after EN 1993-1-8", t, c); err != nil {
		return 0, err
	}
	return 0.7 * load(t.NominalArea, c.NominalTensile), nil
}

func inCode(name string, t Thread, c Class) error {
	switch {
	case !t.valid() || !(t.NominalArea > 0):
		return &unit.DomainError{Formula: name, Input: "d", Value: float64(t.Diameter), Want: "a thread from the table"}
	case !(c.Tensile > 0):
		return &unit.DomainError{Formula: name, Input: "Rm", Value: float64(c.Tensile), Want: "a class from the table"}
	case !(c.NominalTensile > 0):
		return &unit.NoAnswerError{Formula: name, Why: "EN 1993-1-8 does not cover property class " + c.Name}
	}
	return nil
}

// CodeSlipInput is one bolt of a slip-resistant connection.
type CodeSlipInput struct {
	Preload  unit.Force // F_p,C
	Tension  unit.Force // F_t,Ed on the same bolt, 0 for none
	Hole     HoleKind
	Surfaces int // n
	Friction float64
	Service  bool // in service instead of at the ultimate limit state
}

// CodeSlip returns the slip resistance of one bolt after EN 1993-1-8:
//
//	F_s,Rd = k_s·n·μ/γ_M3 · (F_p,C − 0.8·F_t,Ed)
//
//	k_s     kind of hole                               –
//	n       friction faces                             –
//	μ       slip factor of the faces                   –
//	γ_M3    1.25 at the ultimate state, 1.10 in service   –
//	F_p,C   preload                                    N
//	F_t,Ed  tension on the bolt                        N
//
// Valid for F_p,C > 0, 0 ≤ F_t,Ed, 0.8·F_t,Ed ≤ F_p,C, n ≥ 1 and 0 < μ ≤ 0.5
// (the slip factor of the best class); otherwise the error is a
// *unit.DomainError.
// It assumes controlled assemblies and treated faces: a workshop joint with
// painted plates is not that.
//
// Source: EN 1993-1-8, 3.9.1 and 3.9.2, as quoted in a textbook on steel and
// composite bridges; γ_M3 and the tension term from memory.
func CodeSlip(in CodeSlipInput) (unit.Force, error) {
	const name = "slip after EN 1993-1-8"
	switch {
	case !(in.Preload > 0):
		return 0, &unit.DomainError{Formula: name, Input: "preload", Value: float64(in.Preload), Want: "F_p,C > 0"}
	case !(0 <= in.Tension && 0.8*in.Tension <= in.Preload):
		return 0, &unit.DomainError{Formula: name, Input: "tension", Value: float64(in.Tension), Want: "0 ≤ F_t,Ed and 0.8·F_t,Ed ≤ F_p,C"}
	case !(in.Surfaces >= 1):
		return 0, &unit.DomainError{Formula: name, Input: "surfaces", Value: float64(in.Surfaces), Want: "n ≥ 1"}
	case !(0 < in.Friction && in.Friction <= 0.5):
		return 0, &unit.DomainError{Formula: name, Input: "friction", Value: in.Friction, Want: "0 < μ ≤ 0.5"}
	case !(0 < in.Hole.Share && in.Hole.Share <= 1):
		return 0, &unit.DomainError{Formula: name, Input: "k_s", Value: in.Hole.Share, Want: "a kind of hole from the table"}
	}
	γ := gammaM3
	if in.Service {
		γ = gammaM3Ser
	}
	return unit.Force(in.Hole.Share*float64(in.Surfaces)*in.Friction/γ) * (in.Preload - 0.8*in.Tension), nil
}

// PlateInput is a bolt in a plate, in bearing.
type PlateInput struct {
	Thread    Thread
	Class     Class
	Hole      unit.Length   // d0
	EndAlong  unit.Length   // e1, hole centre to the plate's end, along the force
	EdgeAside unit.Length   // e2, hole centre to the edge across the force
	Pitch     unit.Length   // p1, along the force; +Inf when the bolt has no neighbour there
	Thickness unit.Length   // t
	Tensile   unit.Pressure // f_u of the plate
	Planes    int           // shear planes
	Shank     bool          // no thread in the shear plane
}

// Bearing is what one bolt of a bearing-type connection resists.
type Bearing struct {
	Shear    unit.Force // F_v,Rd
	Bearing  unit.Force // F_b,Rd
	Tension  unit.Force // F_t,Rd
	AlphaB   float64
	K1       float64
	Governed string // "shear" or "bearing"
}

// CodeBearing returns the shear, bearing and tension resistance of one bolt
// after EN 1993-1-8:
//
//	F_v,Rd = α_v·f_ub·A/γ_M2 for each plane,   F_t,Rd = 0.9·f_ub·AS/γ_M2
//	F_b,Rd = k1·α_b·f_u·d·t/γ_M2
//	α_b = min( e1/(3·d0), p1/(3·d0) − 1/4, f_ub/f_u, 1 )
//	k1  = min( 2.8·e2/d0 − 1.7, 2.5 )
//
//	α_v   0.6; with the thread in the plane 0.6 for 8.8, 0.5 for 10.9   –
//	A     AS with the thread in the plane, else π/4·d²                  mm²
//	e1    hole centre to the end, along the force                       mm
//	e2    hole centre to the edge, across it                            mm
//	p1    pitch along the force                                         mm
//	d0    hole                                                          mm
//	t     thickness of the plate                                        mm
//	f_u   tensile strength of the plate                                 MPa
//	γ_M2  1.25                                                          –
//
// Valid for classes 8.8 and 10.9 (12.9: *unit.NoAnswerError), normal holes,
// d ≤ d0, e1 and e2 ≥ 1.2·d0, p1 ≥ 2.2·d0; otherwise the error is a
// *unit.DomainError. Rows across the force nearer than 3·d0 are not covered.
//
// Source: EN 1993-1-8, tables 3.3 and 3.4 (memory; 8.8 and 10.9 M16 checked by
// hand).
func CodeBearing(in PlateInput) (Bearing, error) {
	const name = "bolt in bearing after EN 1993-1-8"
	if err := inCode(name, in.Thread, in.Class); err != nil {
		return Bearing{}, err
	}
	d0 := in.Hole
	switch {
	case !(d0 >= in.Thread.Diameter):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "hole", Value: float64(d0), Want: "d0 ≥ d"}
	case !(in.EndAlong >= 1.2*d0):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "e1", Value: float64(in.EndAlong), Want: "e1 ≥ 1.2·d0"}
	case !(in.EdgeAside >= 1.2*d0):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "e2", Value: float64(in.EdgeAside), Want: "e2 ≥ 1.2·d0"}
	case !(in.Pitch >= 2.2*d0):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "p1", Value: float64(in.Pitch), Want: "p1 ≥ 2.2·d0"}
	case !(in.Thickness > 0 && in.Tensile > 0):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "plate", Value: float64(in.Thickness), Want: "t > 0 and f_u > 0"}
	case !(in.Planes >= 1):
		return Bearing{}, &unit.DomainError{Formula: name, Input: "planes", Value: float64(in.Planes), Want: "planes ≥ 1"}
	}
	fub, fu := in.Class.NominalTensile.Megapascals(), in.Tensile.Megapascals()
	area, αv := in.Thread.NominalArea.SquareMillimetres(), in.Class.threadShear
	if in.Shank {
		area, αv = in.Thread.ShankArea().SquareMillimetres(), 0.6
	}
	var b Bearing
	b.AlphaB = math.Min(math.Min(float64(in.EndAlong/(3*d0)), float64(in.Pitch/(3*d0))-0.25), math.Min(fub/fu, 1))
	b.K1 = math.Min(2.8*float64(in.EdgeAside/d0)-1.7, 2.5)
	b.Shear = unit.Force(float64(in.Planes) * αv * fub * area / gammaM2)
	b.Bearing = unit.Force(b.K1 * b.AlphaB * fu * in.Thread.Diameter.Millimetres() * in.Thickness.Millimetres() / gammaM2)
	b.Tension = unit.Force(0.9 * fub * in.Thread.NominalArea.SquareMillimetres() / gammaM2)
	b.Governed = "shear"
	if b.Bearing < b.Shear {
		b.Governed = "bearing"
	}
	return b, nil
}

// CombinedUseInput is a bolt under shear and tension at once.
type CombinedUseInput struct {
	Shear, Tension                     unit.Force // F_v,Ed, F_t,Ed
	ShearResistance, TensionResistance unit.Force // F_v,Rd, F_t,Rd
}

// CombinedUse returns how much of a bolt's resistance shear and tension use
// together; up to 1 it holds:
//
//	use = max( F_v,Ed/F_v,Rd + F_t,Ed/(1.4·F_t,Rd), F_t,Ed/F_t,Rd )
//
//	F_Ed  forces on the bolt   N
//	F_Rd  its resistances      N
//
// Valid for forces ≥ 0 and resistances > 0; otherwise the error is a
// *unit.DomainError.
//
// Source: EN 1993-1-8, table 3.4, combined shear and tension (memory).
func CombinedUse(in CombinedUseInput) (float64, error) {
	const name = "combined shear and tension"
	switch {
	case !(in.Shear >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "shear", Value: float64(in.Shear), Want: "F_v,Ed ≥ 0"}
	case !(in.Tension >= 0):
		return 0, &unit.DomainError{Formula: name, Input: "tension", Value: float64(in.Tension), Want: "F_t,Ed ≥ 0"}
	case !(in.ShearResistance > 0):
		return 0, &unit.DomainError{Formula: name, Input: "shear resistance", Value: float64(in.ShearResistance), Want: "F_v,Rd > 0"}
	case !(in.TensionResistance > 0):
		return 0, &unit.DomainError{Formula: name, Input: "tension resistance", Value: float64(in.TensionResistance), Want: "F_t,Rd > 0"}
	}
	t := float64(in.Tension / in.TensionResistance)
	return math.Max(float64(in.Shear/in.ShearResistance)+t/1.4, t), nil
}
