package rating

import "underpin/unit"

// Estimate is what every result of LumpedD is to be called, and why it cannot
// certify.
const (
	Estimate         = "conservative estimate, not the R55 Annex 8 value"
	EstimateEvidence = Memory // the argument is derived, but that Annex 8 keeps the factor 0.6 is from memory
)

// A Trailing is a semi-trailer of a train.
type Trailing struct {
	Imposed unit.Mass // U at its kingpin
	Axles   unit.Mass // its own axle loads
	// FifthWheel tells that it is coupled by a fifth wheel on the tractor or on
	// the semi-trailer ahead; a fifth wheel on a dolly does not count.
	FifthWheel bool
}

// LumpedD returns, for each coupling of a train joined by fifth wheels only (a
// B-double), a conservative estimate of the D it needs, not the value of UN
// Regulation No. 55, Annex 8, whose formulas could not be read. All that is
// ahead of the coupling is taken as the tractor, all behind as the trailer:
//
//	D_k = g · 0.6·T_k·R_k / (T_k + R_k − U_k)
//	T_k = T + Σ_{i<k} A_i ,   R_k = U_k + Σ_{i≥k} A_i
//
//	T    permissible mass of the tractor, U_1 included   t
//	A_i  axle loads of each trailer                      t
//	U_k  imposed mass at each coupling                   t
//	D_k  result                                          kN
//
// D grows with T and R, so this is an upper bound of every formula that
// discounts distant units, if that formula keeps the factor 0.6. Show it with
// Estimate beside it. The results go into out, one for each trailer.
//
// Valid for two trailers or more and the ranges of RequiredD at each coupling;
// outside, the error is a *unit.DomainError. With a drawbar or a dolly in the
// train the factor is unverified and the error is a *unit.NoAnswerError.
//
// Source: derived from the formula of UN Regulation No. 55, 2.11.1; that Annex 8
// keeps its factor is from memory. Handbook chapter 01, 1.3.
func LumpedD(tractor unit.Mass, trailers []Trailing, out []DValue) error {
	const name = "D-value of a train"
	if len(trailers) < 2 {
		return outside(name, "trailers", float64(len(trailers)), "two or more; with one the formula of two vehicles holds")
	}
	if len(out) < len(trailers) {
		return outside(name, "out", float64(len(out)), "a place for each trailer")
	}
	axles := unit.Mass(0)
	for _, t := range trailers {
		if !t.FifthWheel {
			return &unit.NoAnswerError{Formula: name, Why: "the train has a drawbar or a dolly; the formulas of UN Regulation No. 55, Annex 8, were not read, and the estimate holds for fifth wheels only"}
		}
		if err := wantPositive(name, "trailer-axles", t.Axles); err != nil {
			return err
		}
		axles += t.Axles
	}
	ahead := tractor
	for k, t := range trailers {
		d, err := RequiredD(ahead, t.Imposed+axles, t.Imposed)
		if err != nil {
			return err
		}
		out[k] = d
		ahead += t.Axles
		axles -= t.Axles
	}
	return nil
}
