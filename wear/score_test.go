package wear

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

// TestScoreIsTheSlope holds the derivatives that are carried along against
// differences of the plain likelihood.
func TestScoreIsTheSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, what) }
		p := Prior{Start: unit.Length(draw(-1e-4, 1e-4, "start")), StartSD: unit.Length(draw(0, 1e-4, "start sd")),
			Rate: Rate(draw(0.1, 0.6, "rate")) * MillimetrePer100000km, RateSD: Rate(draw(0.02, 0.2, "rate sd")) * MillimetrePer100000km,
			Drift: Drift(draw(0.0005, 0.01, "drift")) * SquareMillimetrePer100000km, GaugeSD: unit.Length(draw(3e-5, 2e-4, "gauge"))}
		var parts [][]Reading
		for range rapid.IntRange(2, 5).Draw(t, "parts") {
			var r []Reading
			x := 0.0
			for range rapid.IntRange(1, 6).Draw(t, "readings") {
				x += draw(0.1, 1, "dx")
				one := Reading{Distance: unit.Length(x * 1e8), Wear: unit.Length((0.3*x + draw(-0.2, 0.2, "noise")) * 1e-3)}
				if rapid.Bool().Draw(t, "own gauge") {
					one.GaugeSD = 5e-5
				}
				if rapid.Bool().Draw(t, "resolution") {
					one.Resolution = 5e-5
				}
				r = append(r, one)
			}
			parts = append(parts, r)
		}
		restricted := rapid.Bool().Draw(t, "restricted")
		s := p.scoreOf(parts, restricted)
		plain, _, _ := p.deviance(parts, restricted)
		if !(math.Abs(s.d-plain) <= 1e-9*(1+math.Abs(plain))) {
			t.Fatalf("−2lnL %.15g, by the plain filter %.15g", s.d, plain)
		}
		const h = 1e-5
		for k, change := range []func(*Prior, float64){
			func(p *Prior, f float64) { p.RateSD *= Rate(math.Sqrt(f)) }, func(p *Prior, f float64) { p.Drift *= Drift(f) }, func(p *Prior, f float64) { p.GaugeSD *= unit.Length(math.Sqrt(f)) },
		} {
			up, down := p, p
			change(&up, math.Exp(h))
			change(&down, math.Exp(-h))
			a, _, _ := up.deviance(parts, restricted)
			b, _, _ := down.deviance(parts, restricted)
			if diff := (a - b) / (2 * h); !(math.Abs(diff-s.by[k]) <= 2e-5*(1+math.Abs(diff)+math.Abs(plain)*0.01)) {
				t.Fatalf("derivative %d is %.9g, differences give %.9g", k, s.by[k], diff)
			}
		}
	})
}
