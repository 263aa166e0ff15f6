package maintenance

import (
	"math"

	"underpin/unit"
)

// An Approach says whether a trailer stands at the right height to be coupled.
type Approach string

const (
	ApproachUnknown Approach = "cannot tell"
	ApproachLow     Approach = "too low"  // it would be struck by the plate's nose: raise the trailer or lower the tractor
	ApproachRight   Approach = "right"    // slightly below, so that the plate lifts it
	ApproachHigh    Approach = "too high" // the pin can come to lie on top of the jaws: do not reverse in
)

// JudgeApproach returns whether the trailer's plate stands right for coupling:
//
//	0 ≤ b ≤ 50 mm: right;   b > 50 mm: too low;   b < 0: too high
//
//	b  how far the rubbing plate stands below the top of the fifth wheel   mm
//
// Valid for any height; NaN is cannot tell.
//
// Source: common practice, no source, for the 50 mm; handbook chapter 05, 4.1.
func JudgeApproach(below unit.Length) Approach {
	switch b := float64(below); {
	case math.IsNaN(b):
		return ApproachUnknown
	case b < 0:
		return ApproachHigh
	case b > 50*mm+grain:
		return ApproachLow
	}
	return ApproachRight
}

// A CrackPlace is where a crack was found on the lower half.
type CrackPlace string

const (
	CrackElsewhere CrackPlace = "elsewhere"
	CrackRamp      CrackPlace = "approach-ramp"
	CrackCastRib   CrackPlace = "shrinkage-in-rib-of-cast-plate"
)

// CrackExempt tells whether a law lets a crack of the lower half pass at that
// place, and which one says so. A crack is never overlooked: it stays on the
// sheet and is watched.
//
// Source: Utah Admin. Code R714-162-10.
func CrackExempt(place CrackPlace, country string) (bool, string) {
	if regimeOf(country) != "us" || place != CrackRamp && place != CrackCastRib {
		return false, ""
	}
	if country == "us-ut" || country == "us" {
		return true, "Utah Admin. Code R714-162-10"
	}
	return false, ""
}
