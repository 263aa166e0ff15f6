package yard

import (
	"encoding/json"
	"math"

	"underpin/unit"
)

// Deepest is how far the trailer's plate may stand below the top of the fifth
// wheel as the tractor reverses under it.
//
// Source: common practice, no source; handbook chapter 05, section 4.1, step 4.
const Deepest = 50 * unit.Millimetre

// A Meets says how the trailer's plate meets the ramps.
type Meets string

const (
	MeetsWell Meets = "well"
	TooLow    Meets = "too-low"  // the plate strikes the fifth wheel
	TooHigh   Meets = "too-high" // the pin goes above the jaws
	NotTold   Meets = "not-told"
)

// A Meeting is the height before coupling.
type Meeting struct {
	Meets Meets
	// Below is how far the trailer's plate stands under the top of the fifth
	// wheel, negative above it. It is not a number when a height is unknown.
	Below unit.Length
	// Lowest and Highest are where the trailer's plate should stand above the
	// ground: from Lowest to just under Highest. They need the coupling's height
	// alone.
	Lowest, Highest unit.Length
}

// MarshalJSON writes whole millimetres, and leaves out what is unknown.
func (m Meeting) MarshalJSON() ([]byte, error) {
	whole := func(l unit.Length) *int64 {
		if math.IsNaN(float64(l)) {
			return nil
		}
		n := int64(math.Round(l.Millimetres()))
		return &n
	}
	return json.Marshal(struct {
		Meets   Meets  `json:"meets"`
		Below   *int64 `json:"below_mm,omitempty"`
		Lowest  *int64 `json:"lowest_mm,omitempty"`
		Highest *int64 `json:"highest_mm,omitempty"`
	}{m.Meets, whole(m.Below), whole(m.Lowest), whole(m.Highest)})
}

// Meet holds the underside of the trailer's plate against the top of the fifth
// wheel, both above the ground as they stand; nil is unknown:
//
//	0 < h − p ≤ 50 mm
//
//	h  top of the fifth wheel, level, as the tractor reverses   m
//	p  underside of the trailer's plate at its front            m
//
// Valid for heights from 0.5 m to 2 m; any other cannot be told. Level plates
// are too high: the plate must be lifted by the ramps.
//
// Source: common practice, no source; handbook chapter 05, sections 4.1 and 10, row 49.
func Meet(coupling, plate *unit.Length) Meeting {
	m := Meeting{Meets: NotTold, Below: unit.Length(math.NaN()), Lowest: unit.Length(math.NaN()), Highest: unit.Length(math.NaN())}
	if !sound(coupling) {
		return m
	}
	m.Lowest, m.Highest = *coupling-Deepest, *coupling
	if !sound(plate) {
		return m
	}
	m.Below = *coupling - *plate
	// Heights are measured in whole millimetres; what is finer is binary dust.
	switch below := math.Round(float64(m.Below)*1e6) / 1e6; {
	case below <= 0:
		m.Meets = TooHigh
	case below <= float64(Deepest):
		m.Meets = MeetsWell
	default:
		m.Meets = TooLow
	}
	return m
}

// sound tells whether a height can be one.
func sound(h *unit.Length) bool {
	return h != nil && 0.5*unit.Metre <= *h && *h <= 2*unit.Metre
}
