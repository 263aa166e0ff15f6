package assess_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// printed reads back a number as it is shown, as a whole number of its last digit.
func printed(t interface{ Fatal(...any) }, s string) (n, places int) {
	plain := strings.NewReplacer("−", "-", "\u2009", "", "\u202f", "", "\u00a0", "", " ", "").Replace(s)
	if _, frac, ok := strings.Cut(plain, "."); ok {
		places = len(frac)
	}
	n, err := strconv.Atoi(strings.Replace(plain, ".", "", 1))
	if err != nil {
		t.Fatal(err)
	}
	return n, places
}

// What is beyond its limit is shown with digits that agree: limit less value is the
// margin, as printed. And a margin never looks better than it is.
func TestExcessAgreesWithWhatIsShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := assess.Finding{}
		f.Unit = rapid.SampledFrom([]unit.Unit{unit.KG, unit.MM, unit.M, unit.T, unit.KN, unit.One, unit.Lb}).Draw(t, "unit")
		f.Sense = rapid.SampledFrom([]rule.Sense{rule.AtMost, rule.AtLeast}).Draw(t, "sense")
		f.Limit = float64(rapid.IntRange(-20, 40000).Draw(t, "limit")) / 8
		over := rapid.Float64Range(1e-3, 3000).Draw(t, "over")
		f.Value, f.Margin, f.Answer, f.Binding = f.Limit+over, -over, rule.DoesNotFit, true
		if f.Sense == rule.AtLeast {
			f.Value = f.Limit - over
		}
		system := rapid.SampledFrom([]unit.System{unit.Metric, unit.USCustomary}).Draw(t, "system")
		value, limit, spare, _ := assess.Shown(&f, system)
		v, pv := printed(t, value)
		l, pl := printed(t, limit)
		m, pm := printed(t, spare)
		if pv != pl || pv != pm {
			t.Fatalf("%s, %s, %s: digits differ", value, limit, spare)
		}
		want := l - v
		if f.Sense == rule.AtLeast {
			want = v - l
		}
		if m != want {
			t.Fatalf("value %s, limit %s, to spare %s", value, limit, spare)
		}
		in := func(x float64) float64 { return system.In(f.Unit).From(f.Unit.ToSI(x)) }
		if f.Unit == unit.One {
			in = func(x float64) float64 { return x * 100 }
		}
		if got := float64(m) / math.Pow10(pm); got > in(f.Margin)+1e-9*math.Abs(in(f.Margin)) {
			t.Fatalf("%v is shown as %s: better than it is", in(f.Margin), spare)
		}
	})
}

// The worked case: 18 109.0909 kg on a plate of 18 000 kg (handbook chapter 03,
// section 8 A) is 109.1 over, and not 110.
func TestExcessOfVehicleA(t *testing.T) {
	r := pairing(t, "reference-a.toml", "tractor-a", "trailer-a", "eu", "laden").Assess(assess.AimMargin)
	value, limit, spare, symbol := assess.Shown(&r.Findings[0], unit.Metric)
	thin := func(s string) string {
		return strings.NewReplacer("\u2009", " ", "\u202f", " ", "\u00a0", " ").Replace(s)
	}
	if got := thin(value + " of " + limit + ", " + spare + " " + symbol); got != "18 109.1 of 18 000.0, −109.1 kg" {
		t.Errorf("shown %q", got)
	}
}

// Two things that have to be alike have nothing to spare; what they are is said.
func TestSizesThatDiffer(t *testing.T) {
	p := edited(t, "largest-eu.toml", "eu", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.FifthWheel.Pin = q[unit.Length](0.09) })
	r := p.Assess(assess.AimMargin)
	told := p.Tell(r, unit.Metric)
	if want := "Kingpin 50 mm, jaw made for 90 mm: the jaw cannot hold this pin."; told.Lead != want {
		t.Errorf("told %q, want %q", told.Lead, want)
	}
	f := &r.Findings[0]
	if _, _, spare, _ := assess.Shown(f, unit.Metric); spare != unit.Unknown {
		t.Errorf("%s has %s to spare", f.Title, spare)
	}
	if want := "Size of kingpin and jaw"; f.Title != want {
		t.Errorf("titled %q, want %q, which is true of a failure too", f.Title, want)
	}
	if got, want := assess.Deciding(f, unit.Metric), "Kingpin 50 mm, jaw made for 90 mm: the jaw cannot hold this pin"; got != want {
		t.Errorf("the matrix says %q, want %q", got, want)
	}
}

// A pass against a figure from memory or practice is no pass, and is marked.
func TestPassesThatCertifyNothing(t *testing.T) {
	n := map[bool]int{}
	for _, law := range rule.Names() {
		for _, f := range edited(t, "largest-eu.toml", law, func(*vehicle.Tractor, *vehicle.SemiTrailer) {}).Assess(assess.AimMargin).Findings {
			if f.Answer != rule.Fits {
				continue
			}
			want := f.Evidence == rule.Memory || f.Evidence == rule.Practice
			n[want]++
			if f.Unproven() != want {
				t.Errorf("%s, %s: evidence %s, unproven %t", law, f.ID, f.Evidence, f.Unproven())
			}
		}
	}
	if n[true] < 5 || n[false] < 20 {
		t.Errorf("%d passes that certify nothing and %d others", n[true], n[false])
	}
}

// One coupling behind the axle, one caution about it, under every law.
func TestOneCautionForANegativeLead(t *testing.T) {
	seen := 0
	for _, law := range rule.Names() {
		p := edited(t, "largest-eu.toml", law, func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) {
			v.FifthWheel.Slider, v.FifthWheel.At = nil, q[unit.Length](float64(*v.Axles[1].At)+0.4)
		})
		var about []string
		for _, c := range p.At(p.Now()).Cautions {
			if strings.Contains(c, "behind") || strings.Contains(c, "reaction line") {
				about = append(about, c)
			}
		}
		seen += len(about)
		if len(about) > 1 {
			t.Errorf("%s: %q", law, about)
		}
	}
	if seen == 0 {
		t.Error("no caution under any law")
	}
}

// The inner radius is said to be that of the steady circle or of the exact lap, by
// which of the two gave it.
func TestInnerRadiusSaysWhich(t *testing.T) {
	steady, lap := 0, 0
	for _, p := range every(t) {
		s := p.Now()
		for _, lead := range append([]unit.Length{s.Lead}, p.Positions()...) {
			s.Lead = lead
			if math.IsNaN(float64(lead)) {
				continue
			}
			for _, f := range p.At(s).Findings {
				if f.Quantity != "ring-inner" || math.IsNaN(f.Value) {
					continue
				}
				switch {
				case strings.HasSuffix(f.Title, ", steady circle"):
					steady++
					if !(f.Margin >= 0) { // below the limit the lap decides
						t.Errorf("%s with %s: steady, and %.3f short", p.Tractor.ID, p.Trailer.ID, f.Margin)
					}
				case strings.HasSuffix(f.Title, ", exact lap"):
					lap++
				default:
					t.Errorf("%s with %s: %q", p.Tractor.ID, p.Trailer.ID, f.Title)
				}
			}
		}
	}
	if steady == 0 || lap == 0 {
		t.Errorf("%d steady, %d laps", steady, lap)
	}
}

// The limit of a group is the lowest there is: of plates and law, of the group's own
// and of what its weakest axle lets through. Source of the numbers: 96/53/EC Annex I
// 3.3.2 and 3.4.1 (tri-axle 24 t, driving axle 11.5 t), and by hand: a tri-axle with
// equal shares is at its limit with three times its weakest plate.
func TestGroupLimitIsTheLowest(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*vehicle.Tractor, *vehicle.SemiTrailer)
		group  string
		want   float64
	}{
		{"law below plates", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.BogiePlate = nil; plates(s, 9000, 9000, 9000) }, "bogie", 24000},
		{"plate of the group below the law", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) {
			s.BogiePlate = q[unit.Mass](22000)
			plates(s, 9000, 9000, 9000)
		}, "bogie", 22000},
		{"weakest axle below the group", func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) {
			s.BogiePlate = q[unit.Mass](23000)
			plates(s, 9000, 7000, 9000)
		}, "bogie", 21000},
		{"drive axle, plate below the law", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.Axles[1].Plate = q[unit.Mass](11000) }, "rear", 11000},
		{"drive axle, law below the plate", func(v *vehicle.Tractor, _ *vehicle.SemiTrailer) { v.Axles[1].Plate = q[unit.Mass](13000) }, "rear", 11500},
	} {
		p := edited(t, "reference-a.toml", "eu", tt.change, "laden")
		r := p.Assess(assess.AimMargin)
		for _, g := range caseLoads(t, r, "laden").Groups {
			if g.ID == tt.group && !(math.Abs(g.Limit-tt.want) < 0.5) {
				t.Errorf("%s: %.1f kg, want %.0f", tt.name, g.Limit, tt.want)
			}
		}
		for _, g := range exchange.NewPairAnswer(p, r).Loads[0].Groups {
			if g.ID == tt.group && (g.Limit == nil || *g.Limit != int(tt.want)) {
				t.Errorf("%s: limit_kg %v, want %.0f", tt.name, g.Limit, tt.want)
			}
		}
	}
}

func plates(s *vehicle.SemiTrailer, kg ...unit.Mass) {
	for i := range s.Axles {
		s.Axles[i].Plate = &kg[i]
	}
}

// The range for other programs is rounded inwards: a whole millimetre that it names
// lies in it. Source: by hand; rounding dust of binary numbers is taken off first.
func TestSliderRangeIsRoundedInwards(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		fixed  bool
		want   *[2]int
	}{
		{0.5742, 0.7178, false, &[2]int{575, 717}},
		{0.5748, 0.7172, false, &[2]int{575, 717}},
		{-0.0304, 0.0306, false, &[2]int{-30, 30}},
		{0.5750000000001, 0.6999999999999, false, &[2]int{575, 700}},
		{0.5752, 0.5758, false, nil},
		{0.6004, 0.6004, true, &[2]int{600, 600}},
	} {
		r := &assess.Result{Range: &[2]unit.Length{unit.Length(tt.lo), unit.Length(tt.hi)}, Fixed: tt.fixed}
		got := exchange.SliderRange(r)
		if (got == nil) != (tt.want == nil) || got != nil && *got != *tt.want {
			t.Errorf("%v to %v: %v, want %v", tt.lo, tt.hi, got, tt.want)
		}
	}
	// And as it comes out of a pairing.
	n := 0
	for _, p := range every(t) {
		r := p.At(p.Now())
		if out := exchange.SliderRange(r); out != nil && !r.Fixed {
			n++
			for k, mm := range out {
				if d := (float64(r.Range[k])*1e3 - float64(mm)) * float64(1-2*k); !(d <= 1e-6 && d > -1) {
					t.Errorf("%s with %s: end %d at %.4f mm is told as %d", p.Tractor.ID, p.Trailer.ID, k, float64(r.Range[k])*1e3, mm)
				}
			}
		}
	}
	if n < 10 {
		t.Errorf("only %d ranges", n)
	}
}
