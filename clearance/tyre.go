package clearance

import (
	"strconv"
	"strings"

	"underpin/unit"
)

// A TyreSize is what the size marking of a tyre says.
type TyreSize struct {
	Width    unit.Length // nominal section width
	Aspect   float64     // section height in per cent of the width
	Rim      unit.Length // nominal rim diameter
	Diameter unit.Length // computed overall diameter, unloaded
}

// TyreDiameter reads a size marking such as "315/70 R 22.5" and returns the
// diameter that it stands for:
//
//	D = 25.4·rim + 2·width·aspect/100
//
//	rim     rim diameter           in
//	width   section width          mm
//	aspect  section height         % of the width
//	D       overall diameter       mm
//
// A real tyre differs by a few millimetres; for heights use the loaded radius
// that its maker gives. A service description after the size ("156/150 L") is
// passed over.
//
// Valid for metric markings with a width of 100 to 700 mm, an aspect of 20 to
// 100 and a rim of 10 to 30 in; otherwise the error is a *unit.DomainError.
// What is no such marking gives a *unit.ParseError.
//
// Source: meaning of the marking (UN Regulation No. 54, tyre-size designation,
// from memory) and arithmetic; handbook chapter 04, 3.2.
func TyreDiameter(marking string) (TyreSize, error) {
	const formula = "tyre diameter"
	width, aspect, rim, why := splitMarking(marking)
	if why != "" {
		return TyreSize{}, &unit.ParseError{Found: marking, Expected: "a metric tyre size, such as 315/70 R 22.5", Why: why}
	}
	if err := refuse(formula,
		check{100 <= width && width <= 700, "width", width * float64(unit.Millimetre), "100 to 700 mm"},
		check{20 <= aspect && aspect <= 100, "aspect", aspect, "20 to 100 per cent"},
		check{10 <= rim && rim <= 30, "rim", rim * float64(unit.Inch), "10 to 30 in"},
	); err != nil {
		return TyreSize{}, err
	}
	W, R := unit.Length(width)*unit.Millimetre, unit.Length(rim)*unit.Inch
	return TyreSize{Width: W, Aspect: aspect, Rim: R, Diameter: R + 2*W*unit.Length(aspect)/100}, nil
}

func splitMarking(s string) (width, aspect, rim float64, why string) {
	s = strings.TrimSpace(s)
	w, rest, ok := strings.Cut(s, "/")
	if !ok {
		return 0, 0, 0, "where no stroke follows the width"
	}
	if width, ok = decimal(w); !ok {
		return 0, 0, 0, "which does not begin with a width"
	}
	n := strings.IndexFunc(rest, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != ',' && r != ' ' })
	if n < 0 {
		return 0, 0, 0, "where the letter of the construction (R, D, B) or a dash is missing"
	}
	if aspect, ok = decimal(rest[:n]); !ok {
		return 0, 0, 0, "where no aspect follows the stroke"
	}
	if !strings.ContainsRune("RrDdBb-", rune(rest[n])) {
		return 0, 0, 0, "where the letter of the construction is not R, D, B or a dash"
	}
	rest = strings.TrimLeft(rest[n+1:], " ")
	r, service, _ := strings.Cut(rest, " ")
	if rim, ok = decimal(r); !ok {
		return 0, 0, 0, "where no rim diameter in inches ends the size"
	}
	if !isService(service) {
		return 0, 0, 0, "where something other than a service description follows the size"
	}
	return width, aspect, rim, ""
}

// isService tells whether s is empty or one or two load indices and a speed
// letter, as "156/150 L" or "160K".
func isService(s string) bool {
	s = strings.ReplaceAll(s, " ", "")
	if s == "" {
		return true
	}
	letters := strings.TrimLeft(s, "0123456789/")
	indices := strings.Split(s[:len(s)-len(letters)], "/")
	for _, x := range indices {
		if len(x) < 2 || len(x) > 3 {
			return false
		}
	}
	return len(indices) <= 2 && len(letters) == 1 && letters[0] >= 'A' && letters[0] <= 'Z'
}

func decimal(s string) (float64, bool) {
	s = strings.ReplaceAll(strings.TrimSpace(s), ",", ".")
	if s == "" || strings.Trim(s, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && finite(v)
}
