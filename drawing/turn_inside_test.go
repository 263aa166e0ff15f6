package drawing

import (
	"io/fs"
	"math"
	"testing"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/rule"
	"underpin/turning"
	"underpin/unit"
)

// The turn is drawn with the same vehicle that was assessed: what the lap or the
// endless circle of the drawing leaves is the value of the finding, for every
// pair of the demo and of the largest lawful vehicle.
func TestTurnIsTheOneAssessed(t *testing.T) {
	book, err := rule.Open("eu")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, file := range []string{"demo.toml", "largest-eu.toml"} {
		data, err := fs.ReadFile(examples.Files, file)
		if err != nil {
			t.Fatal(err)
		}
		f, err := exchange.ParseFleet(file, data)
		if err != nil {
			t.Fatal(err)
		}
		for i := range f.Tractors {
			for k := range f.Trailers {
				cases, err := assess.Cases(&f.Fleet, &f.Trailers[k], "empty")
				if err != nil {
					t.Fatal(err)
				}
				p := assess.Compile(assess.Combination{Tractor: &f.Tractors[i], Trailer: &f.Trailers[k], Cases: cases, Law: book})
				r := p.Assess(assess.AimMargin)
				g := newRig(p, r, Options{})
				c, ok := g.ringOf()
				if !ok || c.outer != 12.5 || c.inner != 5.3 { // Directive 97/27/EC Annex I 7.6.1
					t.Fatalf("circle %v and %v, want 12.5 and 5.3 m", c.outer, c.inner)
				}
				in, missing := g.p.TurnInput(g.r.Setting, unit.Length(c.outer))
				if len(missing) > 0 {
					t.Errorf("%s with %s: missing %v", p.Tractor.ID, p.Trailer.ID, missing)
					continue
				}
				lap, err := turning.LegalCircle(in)
				if err != nil {
					t.Errorf("%s with %s: %v", p.Tractor.ID, p.Trailer.ID, err)
					continue
				}
				for i := range r.Findings {
					f := &r.Findings[i]
					v := f.Unit.ToSI(f.Value)
					switch f.Quantity {
					case "ring-inner":
						n++
						if !(math.Abs(v-float64(lap.Inner)) < 1e-6 || math.Abs(v-float64(lap.Steady.Inner)) < 1e-6) {
							t.Errorf("%s with %s: the finding's inner radius is %.6f m, drawn are %.6f and %.6f", p.Tractor.ID, p.Trailer.ID, v, float64(lap.Inner), float64(lap.Steady.Inner))
						}
					case "swing-out":
						if !(math.Abs(v-float64(lap.SwingOut)) < 1e-6) {
							t.Errorf("%s with %s: the finding's swing-out is %.6f m, drawn is %.6f", p.Tractor.ID, p.Trailer.ID, v, float64(lap.SwingOut))
						}
					}
				}
			}
		}
	}
	if n < 100 {
		t.Errorf("compared %d pairs; there are more", n)
	}
}
