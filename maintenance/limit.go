package maintenance

import (
	"math"
	"slices"
	"strings"

	"underpin/record"
	"underpin/rule"
	"underpin/unit"
)

// A Layer says who set a limit. They are kept apart: law is mostly wide, the
// maker's much tighter.
type Layer string

const (
	Law      Layer = "law"
	Standard Layer = "standard"
	Maker    Layer = "maker" // the type record; common practice where it is silent
)

// Fails says how a value fails a limit, exactly as printed: "replace when
// reached" fails at the limit itself, "more than" only beyond it.
type Fails string

const (
	AtOrBelow Fails = "at or below" // a size that is worn down to it
	Below     Fails = "below"
	AtOrAbove Fails = "at or above" // wear or play of that much or more
	Above     Fails = "above"       // more than
)

// A Limit bounds one measure.
type Limit struct {
	Key      string
	Measure  string
	Layer    Layer
	Country  string // empty: everywhere; us holds in us-md too
	Regime   string // eu or us: which pattern of pins and gauges; empty: either
	Pin      int    // nominal size of the pin in mm; 0: any
	Fails    Fails
	Value    float64 // SI
	Printed  string  // with its unit, as printed
	OfNew    float64 // not 0: the value is this share of the new size
	NoMaker  bool    // only where no maker's limit is known
	Reached  Text    // what to do
	Evidence rule.Evidence
	Source   string
	Note     Text
}

// grain absorbs the binary rounding of a millimetre or an inch, never a reading.
const grain = 1e-9

// Failed tells whether a value fails, and the margin: how far it is from
// failing, below nothing beyond. NaN fails nothing and has no margin.
func (l Limit) Failed(v float64) (failed bool, margin float64) {
	switch l.Fails {
	case AtOrBelow:
		margin = v - l.Value
		return margin <= grain, margin
	case Below:
		margin = v - l.Value
		return margin < -grain, margin
	case AtOrAbove:
		margin = l.Value - v
		return margin <= grain, margin
	case Above:
		margin = l.Value - v
		return margin < -grain, margin
	}
	return false, math.NaN()
}

// A Finding is one limit with a value held against it.
type Finding struct {
	Limit  Limit
	Margin float64 // SI; NaN when nothing was measured
	Failed bool
}

// Holds says what all limits together say of a measure.
type Holds string

const (
	HoldsUnmeasured Holds = "not measured"
	HoldsNoLimit    Holds = "no limit known"
	HoldsUnproven   Holds = "within, on common practice alone" // nothing that certifies, or law alone where makers set limits
	HoldsWithin     Holds = "within"
	HoldsNear       Holds = "within, near its limit"
	HoldsFailed     Holds = "limit reached"
)

// A Held is a measure with every limit of every layer, strictest first.
type Held struct {
	Measure  string
	Value    float64 // SI, the reading that governs; NaN when not measured
	Findings []Finding
	Holds    Holds
	Guard    float64 // not 0: the gauge's error, m, when the strictest limit lies within it; shown, and moves no verdict
}

// Strictest is the limit that governs, and whether there is one.
func (h Held) Strictest() (Finding, bool) {
	if len(h.Findings) == 0 {
		return Finding{}, false
	}
	return h.Findings[0], true
}

// nearBand is how near its limit a pin is worth a word. Common practice, no
// source.
const nearBand = float64(0.5 * unit.Millimetre)

// Hold holds a value against limits. Every limit is shown; the one with the
// least margin governs, whoever set it.
//
// Common practice and memory may fail a value, and alone they never pass one.
// Nor does law alone where makers set limits too: law is mostly wide. A reading
// of nothing at all, no movement or no bolt missing, passes any limit from above.
func Hold(measure string, value float64, limits []Limit) Held {
	h := Held{Measure: measure, Value: value, Holds: HoldsUnmeasured}
	byLaw, bySet, made, above := false, false, false, true
	for _, l := range limits {
		if l.Measure != measure {
			continue
		}
		f := Finding{Limit: l}
		f.Failed, f.Margin = l.Failed(value)
		h.Findings = append(h.Findings, f)
		made = made || l.Layer == Maker
		above = above && (l.Fails == Above || l.Fails == AtOrAbove)
		if l.Evidence.Certifies() {
			byLaw, bySet = byLaw || l.Layer == Law, bySet || l.Layer != Law
		}
	}
	slices.SortStableFunc(h.Findings, func(a, b Finding) int { return tighter(a, b) })
	switch {
	case len(h.Findings) == 0:
		h.Holds = HoldsNoLimit
	case math.IsNaN(value):
	case slices.ContainsFunc(h.Findings, func(f Finding) bool { return f.Failed }):
		h.Holds = HoldsFailed
	case value == 0 && above:
		h.Holds = HoldsWithin
	case !bySet && (made || !byLaw):
		h.Holds = HoldsUnproven
	case (measure == PinNeck || measure == PinCollar) && h.Findings[0].Margin <= nearBand+grain:
		h.Holds = HoldsNear
	default:
		h.Holds = HoldsWithin
	}
	return h
}

// tighter orders findings by what fails first.
func tighter(a, b Finding) int {
	if a.Failed != b.Failed {
		if a.Failed {
			return -1
		}
		return 1
	}
	x, y := a.Margin, b.Margin
	if math.IsNaN(x) { // nothing measured: a higher least size, a lower largest one
		x, y = -a.Limit.Value, -b.Limit.Value
		if a.Limit.Fails == Above || a.Limit.Fails == AtOrAbove {
			x, y = -x, -y
		}
	}
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

// A Regime is the limits that apply to one inspection.
type Regime struct {
	Countries []string // where the vehicle runs, such as de, us-md, ca-qc
	Pin       int      // nominal size of the pin in mm: 50 or 90
	New       map[string]float64
	Types     []record.TypeAdded // of coupling, pin and plate, as far as they are known
}

// regimeOf is which pattern of pins and gauges a country follows.
func regimeOf(country string) string {
	head, _, _ := strings.Cut(country, "-")
	if head == "us" || head == "ca" {
		return "us"
	}
	return "eu"
}

func (r Regime) holds(l Limit) bool {
	if l.Pin != 0 && l.Pin != r.Pin {
		return false
	}
	if l.Country == "" && l.Regime == "" {
		return true
	}
	return slices.ContainsFunc(r.Countries, func(c string) bool {
		return (l.Country == "" || c == l.Country || strings.HasPrefix(c, l.Country+"-")) && (l.Regime == "" || l.Regime == regimeOf(c))
	})
}

// Limits are all that apply: law of each country, standards, and the maker's
// from the type records. Where a type record gives a measure no limit, common
// practice stands in its place.
func (r Regime) Limits() ([]Limit, []Message) {
	made, problems := r.made()
	var out []Limit
	has := map[string]bool{}
	for _, l := range made {
		has[l.Measure] = true
	}
	for _, l := range limits {
		if !r.holds(l) || l.Layer == Maker && has[l.Measure] || l.NoMaker && has[l.Measure] {
			continue
		}
		if l.OfNew != 0 {
			n, known := r.newSize(l.Measure)
			if !known {
				continue
			}
			l.Value = l.OfNew * n
			l.Printed = unit.Format(l.Value, unit.MM, 2)
		}
		out = append(out, l)
	}
	return append(out, made...), problems
}

// newSize is the size of a new part: the type record's, or the pin's nominal
// one.
func (r Regime) newSize(measure string) (float64, bool) {
	for _, t := range r.Types {
		for _, d := range t.Dimensions {
			if d.Name == measure && d.New != "" {
				if v, _, err := parseAny(d.New); err == nil {
					return v, true
				}
			}
		}
	}
	n, ok := nominal[nominalKey{r.Pin, measure}]
	return n, ok
}

// made are the maker's limits as the type records hold them.
func (r Regime) made() (out []Limit, problems []Message) {
	for _, t := range r.Types {
		for _, d := range t.Dimensions {
			if d.Limit == "" || playNames[d.Name] {
				continue
			}
			v, _, err := parseAny(d.Limit)
			if err != nil {
				problems = append(problems, sayBadDimension.with(t.Name, d.Name, d.Limit))
				continue
			}
			l := Limit{Key: "type:" + t.Name + ":" + d.Name, Measure: d.Name, Layer: Maker, Value: v, Printed: d.Limit,
				Reached: Text{English: d.Reached}, Evidence: rule.Practice, Source: practice}
			l.Fails = boundary(d.Name, d.Sense == "max")
			if s := firstSource(d.Source, t.Source); s.Document != "" {
				l.Evidence, l.Source = rule.Read, sourceOf(s)
			}
			out = append(out, l)
		}
	}
	return out, problems
}

// boundary is how a maker's limit fails. A size that wears down to its limit has
// reached it; a window or a play that the table of limits knows as one to be
// exceeded is exceeded.
func boundary(measure string, above bool) Fails {
	for _, l := range limits {
		if l.Measure == measure && (l.Fails == Above || l.Fails == AtOrAbove) == above {
			return l.Fails
		}
	}
	if above {
		return AtOrAbove
	}
	return AtOrBelow
}

func firstSource(of ...record.Source) record.Source {
	for _, s := range of {
		if s.Document != "" {
			return s
		}
	}
	return record.Source{}
}

// parseAny reads a length, an angle or a pure number.
func parseAny(text string) (float64, unit.Dimension, error) {
	var first error
	for _, d := range [...]unit.Dimension{unit.LengthDim, unit.AngleDim, unit.Number} {
		v, err := unit.Parse(text, d)
		if err == nil {
			return v, d, nil
		}
		if first == nil {
			first = err
		}
	}
	return 0, 0, first
}
