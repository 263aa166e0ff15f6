package assess_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// Vehicle A is 109.0909 kg over its tractor's plate with 25.9 t centred x = 5.2 m
// behind the kingpin, L = 7.7 m. Off at its place: δ/(1 − x/L) = 336.0 kg; the
// centre back: δ·L/P = 32.43 mm. Source: the sensitivities of handbook chapter 03,
// 1.2; rounded up to the unit.
func TestAdviceOfVehicleA(t *testing.T) {
	p := pairing(t, "reference-a.toml", "tractor-a", "trailer-a", "eu", "laden")
	for _, tt := range []struct {
		system    unit.System
		off, move float64
		says      string
	}{
		{unit.Metric, 336, 0.033, "Take 336\u00a0kg off where it stands, or bring its centre 33\u00a0mm back. Then everything holds."},
		{unit.USCustomary, 741 * float64(unit.Pound), 1.3 * float64(unit.Inch), "Take 741\u00a0lb off where it stands, or bring its centre 1.3\u00a0in back. Then everything holds."},
	} {
		a := p.Advise(tt.system)
		if a == nil || len(a.Loads) != 1 || a.Moved {
			t.Fatalf("advice %+v", a)
		}
		r := a.Loads[0]
		if !(math.Abs(float64(r.Off)-tt.off) < 1e-6) || !(math.Abs(float64(r.Move)-tt.move) < 1e-9) {
			t.Errorf("take %.4f kg off or move it %.5f m; want %.4f and %.5f", float64(r.Off), float64(r.Move), tt.off, tt.move)
		}
		told := p.Tell(p.Assess(assess.AimMargin), tt.system)
		if got := strings.Join(told.Advice, "|"); !strings.Contains(got, tt.says) {
			t.Errorf("told %q, want %q", got, tt.says)
		}
	}
}

// Followed to the letter, advice makes the pair fit; and it asks for no more than it
// takes: two units less do not do.
func TestAdviceIsEnoughAndNotMore(t *testing.T) {
	var pairs []*assess.Pairing // those that some load can be carried with
	for _, p := range every(t) {
		c := p.Combination
		c.Cases = append([]assess.Case(nil), c.Cases...)
		for i := range c.Cases {
			if c.Cases[i].Payload > 0 {
				c.Cases[i].Payload = 5000
			}
		}
		if a := assess.Compile(c).Assess(assess.AimMargin).Answer; p.Trailer.Headboard != nil && (a == rule.Fits || a == rule.FitsIf) {
			pairs = append(pairs, p)
		}
	}
	advised, lighter, moved, slid := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c := pairs[rapid.IntRange(0, len(pairs)-1).Draw(t, "pair")].Combination
		tractor, trailer := *c.Tractor, *c.Trailer
		c.Tractor, c.Trailer = &tractor, &trailer
		c.Cases = append([]assess.Case(nil), c.Cases...)
		for i := range c.Cases {
			if c.Cases[i].Payload > 0 {
				c.Cases[i].Payload = unit.Mass(rapid.Float64Range(5e3, 34e3).Draw(t, "payload"))
				c.Cases[i].At = unit.Length(rapid.Float64Range(0.5, 10).Draw(t, "at")) - *trailer.Headboard
				c.Cases[i].Hindmost = c.Cases[i].At + 1
			}
		}
		if rapid.Bool().Draw(t, "slide") && tractor.FifthWheel.Slider != nil {
			at := rapid.SampledFrom(tractor.FifthWheel.Slider.Positions()).Draw(t, "stands")
			tractor.FifthWheel.At = &at
		}
		p := assess.Compile(c)
		r := p.Assess(assess.AimMargin)
		system := rapid.SampledFrom([]unit.System{unit.Metric, unit.USCustomary}).Draw(t, "system")
		if r.Answer != rule.DoesNotFit {
			return
		}
		a := p.Advise(system)
		if a == nil {
			return
		}
		advised++
		ask := func(cases []assess.Case) *assess.Pairing {
			next := c
			next.Cases = cases
			return assess.Compile(next)
		}
		for _, move := range []bool{false, true} {
			after := ask(a.Apply(c.Cases, move))
			if got := after.Assess(assess.AimMargin).Answer; got != rule.Fits && got != rule.FitsIf {
				t.Fatalf("%s with %s, advice %+v followed (moved: %t): %s", tractor.ID, trailer.ID, a, move, got)
			}
			s := after.Now()
			s.Lead = a.Lead
			if got := after.At(s).Answer; got != rule.Fits {
				t.Fatalf("%s with %s, advice %+v followed (moved: %t), at its lead: %s", tractor.ID, trailer.ID, a, move, got)
			}
		}
		if a.Moved {
			slid++
		}
		for _, relief := range a.Loads {
			less := func(change func(*assess.Case)) rule.Answer {
				cases := append([]assess.Case(nil), c.Cases[relief.Case])
				change(&cases[0])
				q := ask(cases)
				s := q.Now()
				s.Lead = a.Lead
				return q.At(s).Answer
			}
			kg, mm := unit.Mass(system.In(unit.KG).ToSI(1)), unit.Length(system.In(unit.MM).ToSI(math.Pow10(-assess.Places(system.In(unit.MM)))))
			if relief.Off > 2*kg {
				lighter++
				if got := less(func(c *assess.Case) { c.Payload = relief.Payload + 2*kg }); got != rule.DoesNotFit {
					t.Fatalf("%s with %s: two units less than %+v, and it is %s", tractor.ID, trailer.ID, relief, got)
				}
			}
			if back := unit.Length(math.Copysign(float64(2*mm), float64(relief.Move))); math.Abs(float64(relief.Move)) > 2*float64(mm) && relief.At > 2*mm-*trailer.Headboard {
				moved++
				if got := less(func(c *assess.Case) { c.Hindmost += relief.At - back - c.At; c.At = relief.At - back }); got != rule.DoesNotFit {
					t.Fatalf("%s with %s: two units less far than %+v, and it is %s", tractor.ID, trailer.ID, relief, got)
				}
			}
		}
	})
	t.Logf("advice in %d draws of %d pairs, lighter in %d, moved in %d, slid in %d", advised, len(pairs), lighter, moved, slid)
	if advised < 20 || lighter < 20 || moved < 5 {
		t.Errorf("advice in %d draws, lighter in %d, moved in %d, slid in %d: too few to prove anything", advised, lighter, moved, slid)
	}
}

// Where the vehicles alone fail, no advice about the load is given: it would not
// make the pair fit.
func TestNoAdviceThatDoesNotCure(t *testing.T) {
	for name, change := range map[string]func(*vehicle.Tractor, *vehicle.SemiTrailer){
		"too long":          func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.RearEnd = q[unit.Length](13) },
		"jaw of 90":         func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.FifthWheel.Pin = q[unit.Length](0.09) },
		"something lacks":   func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.TrainPlate = nil },
		"empty is too much": func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.GrossPlate = q[unit.Mass](9000) },
	} {
		p := edited(t, "reference-a.toml", "eu", change)
		if a := p.Advise(unit.Metric); a != nil {
			t.Errorf("%s: %+v", name, a)
		}
		told := p.Tell(p.Assess(assess.AimMargin), unit.Metric)
		for _, line := range append(told.Advice, told.Loads...) {
			if strings.Contains(line, "off where it stands") {
				t.Errorf("%s: told %q", name, line)
			}
		}
	}
}

// A load that fills the body cannot be brought back: its hindmost item goes with it,
// and 33 mm (vehicle A) are more than the 10 mm that are left behind it.
func TestAdviceKeepsTheLoadInside(t *testing.T) {
	for _, tt := range []struct {
		left unit.Length
		move bool
	}{{0.010, false}, {0.040, true}} {
		c := pairing(t, "reference-a.toml", "tractor-a", "trailer-a", "eu", "laden").Combination
		c.Cases[0].Hindmost = *c.Trailer.LoadLength - tt.left
		a := assess.Compile(c).Advise(unit.Metric)
		if a == nil || len(a.Loads) != 1 || a.Loads[0].Off == 0 || (a.Loads[0].Move != 0) != tt.move {
			t.Errorf("%v m behind the load: advice %+v, want a move: %t", float64(tt.left), a, tt.move)
		}
	}
}
