package assess_test

import (
	"math"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

func q[Q ~float64](v float64) *Q { x := Q(v); return &x }

// edited is a pair of an example, changed, under a law.
func edited(t testing.TB, file, law string, change func(*vehicle.Tractor, *vehicle.SemiTrailer), cases ...string) *assess.Pairing {
	t.Helper()
	f := fleetOf(t, file)
	change(&f.Tractors[0], &f.Trailers[0])
	c, err := assess.Cases(f, &f.Trailers[0], cases...)
	if err != nil {
		t.Fatal(err)
	}
	return assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: c, Law: book(t, law), Day: "2026-11-25"})
}

// The positions of the slider, as leads, rearmost first: what the page offers is
// what the engine chooses from. Source: counted by hand; 610 mm in six steps.
func TestPositionsAreLeads(t *testing.T) {
	p := edited(t, "largest-eu.toml", "eu", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) {
		v.FifthWheel.Slider = &vehicle.Slider{Foremost: q[unit.Length](3.048), Rearmost: q[unit.Length](3.658), Pitch: q[unit.Length](0.102)}
		v.FifthWheel.At = q[unit.Length](3.455)
	})
	all := p.Positions()
	drive := float64(*p.Tractor.Axles[1].At)
	if len(all) != 7 || !(math.Abs(float64(all[0])-(drive-3.658)) < 1e-9) || !(math.Abs(float64(all[6])-(drive-3.048)) < 1e-9) {
		t.Fatalf("positions %v", all)
	}
	if now := p.Now().Lead; now != all[2] {
		t.Errorf("stated at 3455 mm, taken as %.6f m, want the position %.6f m", float64(now), float64(all[2]))
	}
	for _, r := range []*assess.Result{p.Assess(assess.AimMargin), p.Assess(assess.AimSteering)} {
		for aim, lead := range r.Best {
			if _, on := p.Nearest(lead); !on {
				t.Errorf("%s: %.6f m is no position of %v", aim, float64(lead), all)
			}
		}
	}
	if stop, on := p.Nearest(all[3] + 0.02); on || stop != all[3] {
		t.Errorf("20 mm ahead of a position: %v, %t", stop, on)
	}
	if stop, on := p.Nearest(9); on || stop != all[6] {
		t.Errorf("beyond the travel: %v, %t", stop, on)
	}
}

// A lead that cannot be set is said to be none, with those that can.
func TestNoPositionIsSaid(t *testing.T) {
	p := edited(t, "reference-a.toml", "eu", func(*vehicle.Tractor, *vehicle.SemiTrailer) {}) // 350 to 750 mm, every 50
	fixed := edited(t, "reference-a.toml", "eu", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.FifthWheel.Slider = nil })
	for _, tt := range []struct {
		p    *assess.Pairing
		lead unit.Length
		says string
	}{
		{p, 0.6, ""}, {p, 0.6009, ""}, {p, 0.35, ""}, {p, 0.75, ""},
		{p, 0.615, "615 mm is no position: it lies between two notches, at 600 mm and 650 mm."},
		{p, 0.64, "640 mm is no position: it lies between two notches, at 600 mm and 650 mm."},
		{p, 2, "2 000 mm is no position: the slider's foremost is 750 mm ahead of the drive axle."},
		{p, -1, "−1 000 mm is no position: the slider's rearmost is 350 mm ahead of the drive axle."},
		{fixed, 0.6, ""}, {fixed, 0.7, "700 mm is no position: the fifth wheel is fixed 600 mm ahead of the drive axle."},
	} {
		got := strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ").Replace(tt.p.NoPosition(tt.lead, unit.Metric))
		if got != tt.says {
			t.Errorf("%v m: %q, want %q", float64(tt.lead), got, tt.says)
		}
	}
}

// fits-if asks for the fewest changes: where lowering the coupling is enough, the
// fifth wheel stays where it stands, although another position has more to spare.
func TestFewestChangesFirst(t *testing.T) {
	low, high := vehicle.Level{}, vehicle.Level{}
	change := func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) {
		low = v.FifthWheel.Levels[0]
		low.Name, low.Set = "low", false
		high = low
		high.Name, high.Set = "high", true
		high.Unladen, high.Laden, high.Raised = q[unit.Length](1.5), q[unit.Length](1.48), nil
		v.FifthWheel.Levels = []vehicle.Level{low, high}
		at := *v.FifthWheel.At
		v.FifthWheel.Slider = &vehicle.Slider{Foremost: q[unit.Length](float64(at) - 0.05), Rearmost: q[unit.Length](float64(at)), Pitch: q[unit.Length](0.025)}
	}
	p := edited(t, "largest-eu.toml", "eu", change)
	r := p.Assess(assess.AimMargin)
	if r.Answer != rule.FitsIf || r.Setting.Level != "low" {
		t.Fatalf("%s at level %q, %v", r.Answer, r.Setting.Level, r.Missing)
	}
	if now := p.Now().Lead; r.Setting.Lead != now {
		t.Errorf("the fifth wheel is moved from %.3f to %.3f m; only the level has to change", float64(now), float64(r.Setting.Lead))
	}
	if got := p.Changes(r, unit.Metric); len(got) != 1 || got[0] != "set the coupling to level “low”" {
		t.Errorf("changes %q", got)
	}
	// Where the position is not stated it is chosen by the aim.
	free := edited(t, "largest-eu.toml", "eu", func(v *vehicle.Tractor, s *vehicle.SemiTrailer) { change(v, s); v.FifthWheel.At = nil })
	for _, aim := range []assess.Aim{assess.AimMargin, assess.AimShort} {
		r := free.Assess(aim)
		if r.Answer != rule.FitsIf || r.Setting.Lead != r.Best[aim] {
			t.Errorf("%s: %s at %.3f m, best %.3f m", aim, r.Answer, float64(r.Setting.Lead), float64(r.Best[aim]))
		}
		if got := free.Changes(r, unit.Metric); len(got) != 2 || !strings.HasPrefix(got[0], "set the lead to ") {
			t.Errorf("%s: changes %q", aim, got)
		}
	}
}

// A lift axle that has to come down, and one of which nobody said where it is.
func TestChangesNameLiftAxles(t *testing.T) {
	for _, tt := range []struct {
		lifted *bool
		want   string
	}{{new(true), "lower axle 3 of the semi-trailer"}, {nil, "lower axle 3 of the semi-trailer"}, {new(false), ""}} {
		p := edited(t, "largest-eu.toml", "eu", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) {
			s.Axles[2].Liftable, s.Axles[2].Lifted = true, tt.lifted
		})
		r := p.Assess(assess.AimMargin)
		if got := strings.Join(p.Changes(r, unit.Metric), "; "); got != tt.want {
			t.Errorf("lifted %v: %s, changes %q, want %q", tt.lifted, r.Answer, got, tt.want)
		}
	}
}

// While something is missing no lead is lawful yet: there is no range, only leads
// that are possible.
func TestNoRangeWhileUnknown(t *testing.T) {
	for name, take := range map[string]func(*vehicle.Tractor, *vehicle.SemiTrailer){
		"gross plate":     func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.GrossPlate = nil },
		"tare at the pin": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.TarePin, s.TareBogie = nil, nil },
		"rear corners":    func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Corners = nil },
		"fixed, U":        func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.Slider, t.FifthWheel.Imposed = nil, nil },
	} {
		p := edited(t, "largest-eu.toml", "eu", func(v *vehicle.Tractor, s *vehicle.SemiTrailer) {
			at := float64(*v.FifthWheel.At)
			v.FifthWheel.Slider = &vehicle.Slider{Foremost: q[unit.Length](at - 0.1), Rearmost: q[unit.Length](at + 0.1), Pitch: q[unit.Length](0.05)}
			take(v, s)
		})
		for _, r := range []*assess.Result{p.Assess(assess.AimMargin), p.At(p.Now())} {
			if r.Answer != rule.CannotTell || r.Range != nil || len(r.Ranges) != 0 {
				t.Errorf("without %s: %s, range %v, ranges %v; want cannot-tell without a range", name, r.Answer, r.Range, r.Ranges)
			}
			if got := exchange.NewPairAnswer(p, r).SliderRange; got != nil {
				t.Errorf("without %s: slider_range_mm %v, want null", name, got)
			}
			if name != "fixed, U" && len(r.Possible) == 0 {
				t.Errorf("without %s: no lead is told to be possible", name)
			}
		}
	}
}

// What is not known of a tractor with a slider is never a no, under any law, and
// the list names what is missing itself.
func TestUnknownTractorIsNotANo(t *testing.T) {
	for _, law := range rule.Names() {
		for _, tt := range []struct {
			name, names string
			take        func(*vehicle.Tractor, *vehicle.SemiTrailer)
		}{
			{"where the drive axle stands", "axle 2 at or gap", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.Axles[1].At, v.Axles[1].Gap = nil, nil }},
			{"a tare of the tractor", "axle 1 tare", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.Axles[0].Tare = nil }},
			{"the semi-trailer's tares", "tare-pin and tare-bogie", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.TarePin, s.TareBogie = nil, nil }},
			{"the payload", "payload and payload-at", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Payload, s.PayloadAt = nil, nil }},
			{"every mass", "axle 2 tare", func(v *vehicle.Tractor, s *vehicle.SemiTrailer) {
				for i := range v.Axles {
					v.Axles[i].Tare = nil
				}
				s.TarePin, s.TareBogie = nil, nil
			}},
			{"where a semi-trailer's axle stands", "axle 2 at or gap", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Axles[1].At, s.Axles[1].Gap = nil, nil }},
		} {
			for _, slides := range []bool{true, false} {
				file := map[string]string{"us": "reference-c.toml", "us-ca": "reference-c.toml", "uk": "reference-b.toml"}[law]
				if file == "" {
					file = "largest-eu.toml"
				}
				change := func(take func(*vehicle.Tractor, *vehicle.SemiTrailer)) func(*vehicle.Tractor, *vehicle.SemiTrailer) {
					return func(v *vehicle.Tractor, s *vehicle.SemiTrailer) {
						v.FifthWheel.Slider = nil
						if slides {
							at := float64(*v.FifthWheel.At)
							v.FifthWheel.Slider = &vehicle.Slider{Foremost: q[unit.Length](at - 0.1), Rearmost: q[unit.Length](at + 0.1), Pitch: q[unit.Length](0.05)}
						}
						take(v, s)
					}
				}
				whole := edited(t, file, law, change(func(*vehicle.Tractor, *vehicle.SemiTrailer) {}), "laden").Assess(assess.AimMargin)
				r := edited(t, file, law, change(tt.take), "laden").Assess(assess.AimMargin)
				// What is no without the load too may stay a no: a length, say.
				no := whole.Answer == rule.DoesNotFit
				if r.Answer == rule.DoesNotFit && !no {
					t.Errorf("%s, slider %t, without %s: %s; with everything known %s", law, slides, tt.name, r.Answer, whole.Answer)
				}
				if r.Answer != rule.CannotTell {
					continue
				}
				if !strings.Contains(strings.Join(r.Missing, "; "), tt.names) {
					t.Errorf("%s, slider %t, without %s: missing %q", law, slides, tt.name, r.Missing)
				}
				for _, m := range r.Missing {
					if strings.Contains(m, "a drive axle") {
						t.Errorf("%s, slider %t, without %s: %q is named missing; it is there", law, slides, tt.name, m)
					}
				}
			}
		}
	}
}
