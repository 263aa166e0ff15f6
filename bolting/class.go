package bolting

import (
	"strings"

	"underpin/unit"
)

// A Class is a property class of bolts with its least strengths.
type Class struct {
	Name     string        // "10.9"
	Tensile  unit.Pressure // Rm, least
	Yield    unit.Pressure // Rp0.2 or ReL, least
	Proof    unit.Pressure // Sp, proof stress
	Evidence Evidence
	Source   string

	// Nominal values of EN 1993-1-8, for the resistances of that code only;
	// zero where the code does not know the class.
	NominalTensile unit.Pressure // f_ub
	NominalYield   unit.Pressure // f_yb
	threadShear    float64       // α_v with the thread in the shear plane
}

const (
	thin  = "EN ISO 898-1, class 8.8 up to 16 mm, values unverified, back-checked by the standard's table of loads"
	thick = "EN ISO 898-1:1999 and later, as reprinted in two tables of mechanical properties"
)

var classes = [...]struct {
	name             string
	upTo             float64 // mm, largest d; 0 none
	rm, rp, sp       float64 // MPa
	by               Evidence
	source           string
	fub, fyb, alphaV float64
}{
	// The 8.8 row for d ≤ 16: its proof and tensile loads were read, its
	// stresses follow from them.
	{"8.8", 16, 800, 640, 580, Derived, thin, 800, 640, 0.6},
	{"8.8", 0, 830, 660, 600, Read, thick, 800, 640, 0.6},
	{"10.9", 0, 1040, 940, 830, Read, thick, 1000, 900, 0.5},
	{"12.9", 0, 1220, 1100, 970, Read, thick, 0, 0, 0},
}

// FindClass returns the property class stamped on a head, for a bolt of
// diameter d: class 8.8 has two rows, up to 16 mm and above.
//
//	8.8, d ≤ 16 mm   Rm = 800, Rp0.2 = 640, Sp = 580    MPa
//	8.8, d > 16 mm   Rm = 830, Rp0.2 = 660, Sp = 600    MPa
//	10.9             Rm = 1040, Rp0.2 = 940, Sp = 830   MPa
//	12.9             Rm = 1220, Rp0.2 = 1100, Sp = 970  MPa
//
// Valid for the classes 8.8, 10.9 and 12.9; the error for any other is a
// *unit.ParseError that lists them.
//
// Source: EN ISO 898-1, mechanical properties; EN 1993-1-8, table 3.1, for the
// nominal values (memory).
func FindClass(grade string, d unit.Length) (Class, error) {
	name := strings.ReplaceAll(strings.TrimSpace(grade), ",", ".")
	for _, c := range classes {
		if c.name != name || c.upTo > 0 && !(d.Millimetres() <= c.upTo+1e-9) {
			continue
		}
		return Class{
			Name: c.name, Tensile: mpa(c.rm), Yield: mpa(c.rp), Proof: mpa(c.sp),
			Evidence: c.by, Source: c.source,
			NominalTensile: mpa(c.fub), NominalYield: mpa(c.fyb), threadShear: c.alphaV,
		}, nil
	}
	return Class{}, &unit.ParseError{
		Found: grade, Why: "which is not in the table of property classes",
		Expected: "one of 8.8, 10.9, 12.9",
	}
}

func mpa(v float64) unit.Pressure { return unit.Pressure(v) * unit.Megapascal }

// Loads are the standard's test loads of one bolt.
type Loads struct {
	Thread  Thread
	Class   Class
	Proof   unit.Force // AS,nom·Sp
	Tensile unit.Force // AS,nom·Rm
}

// LoadsOf returns the proof load and the least tensile load of a bolt:
//
//	F_p = AS,nom · Sp        F_m = AS,nom · Rm
//
//	AS,nom  nominal stress area   mm²
//	Sp, Rm  proof stress and least tensile strength of the class   MPa
//
// Valid for the sizes and classes of the tables, otherwise a *unit.ParseError.
// The standard prints the loads rounded to three figures; here they are not
// rounded. Fine threads: the standard's table was not read, same rule.
//
// Source: EN ISO 898-1, tables of minimum ultimate tensile loads and proof
// loads, whose cells the rule gives within half a per cent.
func LoadsOf(size, grade string) (Loads, error) {
	t, err := FindThread(size)
	if err != nil {
		return Loads{}, err
	}
	c, err := FindClass(grade, t.Diameter)
	if err != nil {
		return Loads{}, err
	}
	return Loads{t, c, load(t.NominalArea, c.Proof), load(t.NominalArea, c.Tensile)}, nil
}

func load(a unit.Area, p unit.Pressure) unit.Force { return unit.Force(float64(a) * float64(p)) }
