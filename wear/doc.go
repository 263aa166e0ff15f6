// Package wear says whether play comes from the pin or from the lock, how fast
// a part wears, how far and how long it will go until it reaches its limit, and
// when to replace it.
//
// Wear is counted from the new part and grows: cumulated wear = new size − size
// now. A replaced part starts a new life at distance nothing; an adjustment of
// the lock is no new life, so what was adjusted away is added to the play read
// afterwards. Readings are never smoothed or forced to grow before they are
// used: one that falls back says something about the gauge or the record.
//
// The forecast rests on one model,
//
//	w(x) = a + b·x + √q·B(x),   reading = w + e
//
// in which a new part starts at a, wears at its own steady rate b, drifts about
// it as the use of the vehicle changes (B is Brownian motion), and is read with
// a gauge of error e. Without the drift term a forecast is badly over-confident.
//
// There are no default wear rates here: no public field data for kingpins and
// jaws was found. A prior that nobody measured is an assumption and must be
// shown as one.
package wear

import (
	"math"

	"underpin/unit"
)

// A Rate is wear per distance, metre per metre.
type Rate float64

// A Drift is the variance that wear gathers per distance beside its steady
// rate, square metre per metre.
type Drift float64

// What rates and drifts are written in.
const (
	MillimetrePer100000km       Rate  = Rate(unit.Millimetre) / Rate(100_000*unit.Kilometre)
	SquareMillimetrePer100000km Drift = Drift(unit.Millimetre) * Drift(unit.Millimetre) / Drift(100_000*unit.Kilometre)
)

// Per100000km is the rate in millimetres per 100 000 km.
func (r Rate) Per100000km() float64 { return float64(r / MillimetrePer100000km) }

// Per100000km is the drift in square millimetres per 100 000 km.
func (d Drift) Per100000km() float64 { return float64(d / SquareMillimetrePer100000km) }

// Days is a span of time in days.
type Days float64

func finite(v float64) bool { return v-v == 0 }

// unbounded is the distance or time of a quantile that has no upper bound.
var unbounded = math.Inf(1)
