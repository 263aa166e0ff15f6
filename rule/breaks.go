package rule

import (
	"math"
	"slices"

	"underpin/unit"
)

// Breaks returns, in rising order and in SI, the values of a numeric fact at
// which the limits on a quantity can change: the ends of conditions and of the
// bands of tables, the half feet at which the bridge formula's rounded length
// changes (up to 200 ft), and the 5-cm steps of the French axle limits. Between
// two neighbouring breaks, and with all other facts the same, every limit is one
// number, so a caller in whose combination the fact moves with a setting can
// take the limits step by step. Limits that a function makes of the fact without
// steps (axle-spread, lesser-of, reference-wheelbase, the plates) have none.
func (b *Book) Breaks(quantity, fact string) []float64 {
	var out []float64
	for _, r := range b.byQuantity[quantity] {
		for _, c := range r.When {
			if c.Fact != fact {
				continue
			}
			if c.in != nil {
				out = append(out, c.in.low, c.in.high)
			}
			for _, v := range c.oneOf {
				out = append(out, v.number)
			}
		}
		if t := r.Table; t != nil && t.By == fact {
			for _, band := range t.Bands {
				out = append(out, t.Unit.ToSI(band.From), t.Unit.ToSI(band.To))
			}
		}
		switch f := r.Function; {
		case f == nil:
		case f.Name == "bridge-formula" && fact == "spread":
			for k := range 200 {
				out = append(out, (float64(k)+0.5)*float64(unit.Foot))
			}
		case (f.Name == "fr-group-axle" || f.Name == "fr-drive-tandem") && fact == "spacing":
			for k := 90; k <= 180; k += 5 {
				out = append(out, float64(k)/100)
			}
		}
	}
	out = slices.DeleteFunc(out, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) })
	slices.Sort(out)
	return slices.Compact(out)
}
