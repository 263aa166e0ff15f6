package rating

import "underpin/unit"

// A Size is the nominal size of a kingpin and of the jaw that takes it, by the
// neck in millimetres; 0 is not known.
type Size int

// The sizes. A 50 pin has a neck of 50.8 mm (2 in), a 90 pin of 89 mm (3½ in).
//
// Source: SAE J700 for the 50 pin; ISO 4086, nominal size, for the 90 pin; AS/NZS
// 4968.1, contents, for the 75. Handbook chapter 01, 3.1 and 5.2.
const (
	Size50 Size = 50
	Size75 Size = 75
	Size90 Size = 90
)

func (s Size) known() bool { return s == Size50 || s == Size75 || s == Size90 }

// FiftyCeiling is the mass of a combination above which a 90 pin is advised,
// whatever D allows.
//
// Source: common practice, no source; handbook chapter 01, 2.2.
const FiftyCeiling = 80 * unit.Tonne

// Fit is a pin in a jaw.
type Fit struct {
	Pin, Jaw    Size
	Adaptor     bool       // a sleeve or bush is used between them
	Combination *unit.Mass // mass of the combination; nil: not known
}

var (
	sizesMatch = Rule{
		ID: "pin-jaw-size", Says: "size of kingpin and jaw", Evidence: Read,
		Source: "ISO 4086, scope: its pin engages fifth wheels of ISO 3842 of size 90; ISO 337, scope: pin of size 50",
	}
	noAdaptor = Rule{
		ID: "no-adaptor", Says: "no adaptor makes a pin fit a jaw of another size", Evidence: Read,
		Source: "NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(2)",
	}
	fiftyCeiling = Rule{
		ID: "pin-50-ceiling", Says: "a 50 pin is used up to 80 t gross combination mass", Evidence: Practice,
		Source: "common practice, no source",
	}
)

// CheckSizes appends to dst what is found of a kingpin in a jaw, and returns it:
//
//	pin = jaw ,   no adaptor ,   size 50: m ≤ 80 t
//
//	pin, jaw  nominal sizes          mm
//	m  mass of the combination       kg
//
// A size that is not known cannot be told. An adaptor is refused whatever the
// sizes. The 80 t are common practice: that finding warns and does not decide. Pins of SAE J700 and of ISO
// 337 are one size; check the jaw's adjustment when they meet.
//
// Valid for sizes 50, 75 and 90, or 0 for not known; outside, the error is a
// *unit.DomainError.
//
// Source: ISO 337 and ISO 4086, scopes; NSW Road Transport (Vehicle
// Registration) Regulation 2017, clause 145(2). The 80 t: common practice, no
// source. Handbook chapter 01, 3.1 and 7.
func CheckSizes(in Fit, dst Findings) (Findings, error) {
	const name = "pin and jaw"
	for _, s := range [...]struct {
		input string
		size  Size
	}{{"pin", in.Pin}, {"jaw", in.Jaw}} {
		if s.size != 0 && !s.size.known() {
			return dst, outside(name, s.input, float64(s.size), "50, 75 or 90")
		}
	}
	match := CannotTell
	if in.Pin != 0 && in.Jaw != 0 {
		match = yes(new(in.Pin == in.Jaw))
	}
	dst = append(dst, Finding{sizesMatch, match})
	if in.Adaptor {
		dst = append(dst, Finding{noAdaptor, DoesNotFit})
	}
	if in.Pin == Size50 || in.Jaw == Size50 {
		ceiling := CannotTell
		if in.Combination != nil {
			if err := wantPositive(name, "combination", *in.Combination); err != nil {
				return dst, err
			}
			ceiling = yes(new(*in.Combination <= FiftyCeiling))
		}
		dst = append(dst, Finding{fiftyCeiling, ceiling})
	}
	return dst, nil
}
