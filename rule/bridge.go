package rule

import (
	"math"

	"underpin/unit"
)

// Ties tells which way the bridge formula goes from the exact middle between
// two steps of 500 lb. The statute only says "to the nearest".
type Ties string

const (
	TiesDown Ties = "down"
	TiesUp   Ties = "up"
)

// A Bridge is the bridge formula's answer and how it came about.
type Bridge struct {
	Axles  int
	Feet   int     // L, to the nearest foot
	Raw    float64 // lb, before rounding
	Pounds int     // lb, to the nearest 500
	Limit  unit.Mass
}

// BridgeFormula returns the greatest mass on a group of consecutive axles by
// the United States' bridge formula, raw: no single-axle, tandem or gross cap,
// no exception for two tandems.
//
//	W = 500 · (L·N / (N − 1) + 12·N + 36)
//
//	L  centre of the first to centre of the last axle,
//	   to the nearest foot, an exact half foot up        ft
//	N  axles in the group
//	W  result, to the nearest 500 lb                     lb
//
// Whether an exact …250 or …750 goes down or up is left open by the statute:
// the tables printed by California and Washington go down, Pennsylvania's goes
// up. Down is the safe reading.
//
// Valid for 2 ≤ N and 0 < L ≤ 500 ft (a length no vehicle has); otherwise the
// error is a *unit.DomainError. Up to 8 ft the law has the tandem limit in its
// place, see the rulebook "us".
//
// Source: 23 U.S.C. 127(a)(2), release of 29 September 2025; rounding of the
// length: Wisconsin's guide to s. 348.15(5m); ties: RCW 46.44.041, California
// Vehicle Code 35551 and 67 Pa. Code § 185.3, recomputed cell by cell.
func BridgeFormula(axles int, length unit.Length, ties Ties) (Bridge, error) {
	const name = "bridge-formula"
	// 53 axles at 500 ft is far beyond any vehicle and keeps the whole numbers small.
	if !(2 <= axles && axles <= 100) {
		return Bridge{}, &unit.DomainError{Formula: name, Input: "N", Value: float64(axles), Want: "2 ≤ N ≤ 100"}
	}
	if !(0 < length && length <= 500*unit.Foot) {
		return Bridge{}, &unit.DomainError{Formula: name, Input: "L", Value: float64(length), Want: "0 < L ≤ 152.4 m (500 ft)"}
	}
	if ties != TiesDown && ties != TiesUp {
		return Bridge{}, &unit.DomainError{Formula: name, Input: "ties", Value: math.NaN(), Want: "ties down or up"}
	}
	N := axles
	L := int(math.Floor(length.Feet() + 0.5 + dust)) // dust: 50 ft 6 in comes as 50.4999999 ft
	// In whole numbers, so that a tie is exactly one:
	// W/500 = (L·N + (12·N + 36)·(N − 1)) / (N − 1).
	above, below := L*N+(12*N+36)*(N-1), N-1
	steps, rest := above/below, above%below
	if 2*rest > below || 2*rest == below && ties == TiesUp {
		steps++
	}
	return Bridge{
		Axles: N, Feet: L, Raw: 500 * float64(above) / float64(below),
		Pounds: 500 * steps, Limit: unit.Mass(500*steps) * unit.Pound,
	}, nil
}
