package rating

import "underpin/unit"

const g = float64(unit.Gravity) // m/s², as the sources of the D-value round it

// A DValue is a required D with what it was computed from.
type DValue struct {
	D        unit.Force
	T, R, U  unit.Mass
	Combined unit.Mass // T + R − U, the mass of the combination; to be compared with the planned one
}

// RequiredD returns the reference force D that a fifth wheel, its mounting plate
// and the kingpin must be rated for behind a tractor with a semi-trailer:
//
//	D = g · 0.6·T·R / (T + R − U)
//
//	T  permissible mass of the tractor, U included          t
//	R  permissible mass of the semi-trailer, U included     t
//	U  mass that the semi-trailer lays on the fifth wheel   t
//	g  9.81 m/s²
//	D  result                                               kN
//
// D rises with each of T, R and U: use the largest permissible masses. The usual
// errors, T without the imposed load or R without it, both come out too small.
// Equality with the rating is allowed. U is checked apart.
//
// Valid for 0 ≤ U, U < T and U < R, one fifth wheel in the train; outside, the
// error is a *unit.DomainError. For more than one trailer see LumpedD.
//
// Source: UN Regulation No. 55, 2.11.1, at second hand, as printed in "D-value
// (transport)", en.wikipedia.org, and in a body-builder guide of 2015, part II
// p. 273.
func RequiredD(tractor, trailer, imposed unit.Mass) (DValue, error) {
	const name = "D-value"
	if err := checkImposed(name, "tractor-gross", tractor, imposed); err != nil {
		return DValue{}, err
	}
	if err := checkImposed(name, "trailer-gross", trailer, imposed); err != nil {
		return DValue{}, err
	}
	// In tonnes and kilonewtons, as the regulation writes it.
	T, R, U := tractor.Tonnes(), trailer.Tonnes(), imposed.Tonnes()
	D := g * 0.6 * T * R / (T + R - U)
	return DValue{
		D: unit.Force(D) * unit.Kilonewton,
		T: tractor, R: trailer, U: imposed, Combined: tractor + trailer - imposed,
	}, nil
}

// checkImposed refuses an imposed load below 0 and a mass that does not exceed it.
func checkImposed(formula, input string, mass, imposed unit.Mass) error {
	if !(0 <= imposed && finite(float64(imposed))) {
		return outside(formula, "imposed", imposed, "0 ≤ U < min(T, R)")
	}
	if !(imposed < mass && finite(float64(mass))) {
		return outside(formula, input, mass, "more than U, finite")
	}
	return nil
}

// A MassLimit is the mass up to which a rating suffices.
type MassLimit struct {
	Mass      unit.Mass // the greatest; 0 where Unlimited
	Unlimited bool      // the rating governs at no value of it; other limits do
	AtLimit   DValue    // the formula at the limit; zero where Unlimited
}

// TrailerMax returns the greatest permissible mass of a semi-trailer for which a
// rating D suffices:
//
//	R_max = D·(T − U) / (0.6·g·T − D)     if 0.6·g·T > D, else D never limits R
//
//	D  rating                                          kN
//	T  permissible mass of the tractor, U included     t
//	U  imposed mass                                    t
//	R_max  result, U included                          t
//
// Valid for D > 0 and 0 ≤ U < T; outside, the error is a *unit.DomainError. If
// the imposed load alone asks for more than D, so that no R > U will do, the
// error is a *unit.NoAnswerError.
//
// Source: derived from the formula of UN Regulation No. 55, 2.11.1, see
// RequiredD; handbook chapter 01, 1.2.
func TrailerMax(d unit.Force, tractor, imposed unit.Mass) (MassLimit, error) {
	const name = "D-value limits"
	if err := wantPositive(name, "d", d); err != nil {
		return MassLimit{}, err
	}
	if err := checkImposed(name, "tractor-gross", tractor, imposed); err != nil {
		return MassLimit{}, err
	}
	r, ok := partner(d.Kilonewtons(), tractor.Tonnes(), imposed.Tonnes())
	if !ok {
		return MassLimit{Unlimited: true}, nil
	}
	trailer := unit.Mass(r) * unit.Tonne
	if !(trailer > imposed) {
		return MassLimit{}, &unit.NoAnswerError{Formula: name, Why: "the imposed load alone asks for more than this D: no trailer will do"}
	}
	at, err := RequiredD(tractor, trailer, imposed)
	return MassLimit{Mass: trailer, AtLimit: at}, err
}

// partner is the mass of the other vehicle at which D is just enough; not ok if
// it is enough for every one.
func partner(D, known, U float64) (float64, bool) {
	over := 0.6*g*known - D
	if !(over > 1e-12*D) { // on the border too, which binary may miss by a digit
		return 0, false
	}
	return D * (known - U) / over, true
}

// TractorMax returns the greatest permissible mass of a tractor for which a
// rating D suffices:
//
//	T_max = D·(R − U) / (0.6·g·R − D)     if 0.6·g·R > D, else D never limits T
//
//	D  rating                                              kN
//	R  permissible mass of the semi-trailer, U included    t
//	U  imposed mass                                        t
//	T_max  result, U included                              t
//
// Valid for D > 0 and 0 ≤ U < R; outside, the error is a *unit.DomainError. If
// the imposed load alone asks for more than D, so that no T > U will do, the
// error is a *unit.NoAnswerError.
//
// Source: derived from the formula of UN Regulation No. 55, 2.11.1, see
// RequiredD; handbook chapter 01, 1.2.
func TractorMax(d unit.Force, trailer, imposed unit.Mass) (MassLimit, error) {
	const name = "D-value limits"
	if err := wantPositive(name, "d", d); err != nil {
		return MassLimit{}, err
	}
	if err := checkImposed(name, "trailer-gross", trailer, imposed); err != nil {
		return MassLimit{}, err
	}
	t, ok := partner(d.Kilonewtons(), trailer.Tonnes(), imposed.Tonnes())
	if !ok {
		return MassLimit{Unlimited: true}, nil
	}
	tractor := unit.Mass(t) * unit.Tonne
	if !(tractor > imposed) {
		return MassLimit{}, &unit.NoAnswerError{Formula: name, Why: "the imposed load alone asks for more than this D: no tractor will do"}
	}
	at, err := RequiredD(tractor, trailer, imposed)
	return MassLimit{Mass: tractor, AtLimit: at}, err
}

// ImposedMax returns the greatest imposed load for which a rating D suffices:
//
//	U_max = T + R − 0.6·g·T·R / D
//
//	D  rating                                              kN
//	T  permissible mass of the tractor, U included         t
//	R  permissible mass of the semi-trailer, U included    t
//	U_max  result                                          t
//
// U is then also limited by its own rating, by axle loads, and by T and R: where
// U_max is not below both, D never governs it.
//
// Valid for D, T and R above 0; outside, the error is a *unit.DomainError. If D
// is not enough even without imposed load the error is a *unit.NoAnswerError.
//
// Source: derived from the formula of UN Regulation No. 55, 2.11.1, see
// RequiredD; handbook chapter 01, 1.2.
func ImposedMax(d unit.Force, tractor, trailer unit.Mass) (MassLimit, error) {
	const name = "D-value limits"
	if err := wantPositive(name, "d", d); err != nil {
		return MassLimit{}, err
	}
	if err := wantPositive(name, "tractor-gross", tractor); err != nil {
		return MassLimit{}, err
	}
	if err := wantPositive(name, "trailer-gross", trailer); err != nil {
		return MassLimit{}, err
	}
	D, T, R := d.Kilonewtons(), tractor.Tonnes(), trailer.Tonnes()
	imposed := unit.Mass(T+R-0.6*g*T*R/D) * unit.Tonne
	if -1e-6 < imposed && imposed < 0 { // a milligram is what rounding leaves of 0
		imposed = 0
	}
	if !(imposed < tractor && imposed < trailer) {
		return MassLimit{Unlimited: true}, nil
	}
	if !(imposed >= 0) {
		return MassLimit{}, &unit.NoAnswerError{Formula: name, Why: "this D is not enough even without imposed load"}
	}
	at, err := RequiredD(tractor, trailer, imposed)
	return MassLimit{Mass: imposed, AtLimit: at}, err
}

// UngovernedTractor returns the permissible mass of a tractor up to which a
// rating D suffices for every semi-trailer, however heavy:
//
//	T = D / (0.6·g)
//
//	D  rating                      kN
//	T  result, U included          t
//
// What then governs is U, the sizes, the wedge, the duty and the axle loads.
//
// Valid for D > 0; outside, the error is a *unit.DomainError.
//
// Source: derived from the formula of UN Regulation No. 55, 2.11.1, as R grows
// without end; handbook chapter 01, 1.2.
func UngovernedTractor(d unit.Force) (unit.Mass, error) {
	if err := wantPositive("D-value limits", "d", d); err != nil {
		return 0, err
	}
	return unit.Mass(d.Kilonewtons()/(0.6*g)) * unit.Tonne, nil
}
