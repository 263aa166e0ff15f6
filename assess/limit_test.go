package assess_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// The gross mass of a German articulated vehicle by its plates: the tractor's
// permissible fifth-wheel load comes from its papers, whatever the coupling is
// marked. Source: StVZO § 34(7) no. 3; 18 + 36 − 12 = 42 t, which § 34(6) no. 5
// caps at 40 t, is handbook chapter 02, section 6, row 22.
func TestGermanGrossByThePapers(t *testing.T) {
	plate := unit.Mass(10500)
	f := fleetOf(t, "demo.toml")
	tr, _ := f.Tractor("heron-07")
	st, _ := f.Trailer("fen-26")
	*st.GrossPlate, *st.PinPlate = 36000, 12000
	*st.BodyHeight -= 0.2 // or its height decides
	tr.FifthWheelPlate = &plate
	r := ask(t, f, "heron-07", "fen-26", book(t, "de"), "laden")
	if x := find(r, "de-artic-gross"); x == nil || x.Limit != 42 || x.Answer != rule.Fits || *tr.FifthWheel.Imposed != 20000 {
		t.Fatalf("by the papers: %+v", x)
	}
	tr.FifthWheelPlate = nil
	r = ask(t, f, "heron-07", "fen-26", book(t, "de"), "laden")
	if x := find(r, "de-artic-gross"); x == nil || x.Answer != rule.CannotTell || r.Answer != rule.CannotTell || !strings.Contains(missingText(r), "fifth-wheel-plate") || !strings.Contains(missingText(r), "tractor heron-07") {
		t.Errorf("without the papers: %+v, missing %q", x, r.Missing)
	}
	wrong := unit.Mass(20000)
	tr.FifthWheelPlate = &wrong
	r = ask(t, f, "heron-07", "fen-26", book(t, "de"), "laden")
	if text := missingText(r); r.Answer != rule.CannotTell || !strings.Contains(text, "do not go together") || !strings.Contains(text, "kg") {
		t.Errorf("a load above the tractor's gross: %s, missing %q", r.Answer, r.Missing)
	}
	// The load on it is held against the papers too.
	low := unit.Mass(8000)
	tr.FifthWheelPlate = &low
	r = ask(t, f, "heron-07", "fen-26", book(t, "eu"), "laden")
	if x := find(r, "plate.fifth-wheel"); x == nil || x.Limit != 8000 || (x.Answer == rule.DoesNotFit) != (x.Value > 8000) || !x.Binding {
		t.Errorf("the load on the fifth wheel: %+v", x)
	}
}

// The steered axles' fifth with the rear axle at its maximum. Source: Regulation
// (EU) No 1230/2012, Annex I Part C, as handbook chapter 02, 1.4 gives it: the
// tractor at M and the rear axle at m leave M − m on the steered axles, at least
// 0.20·M; the values are that arithmetic.
func TestSteeredShareWithTheRearAtItsMaximum(t *testing.T) {
	for _, tt := range []struct {
		tractor, law string
		gross        unit.Mass
		rear         []unit.Mass
		share        float64
		want         rule.Answer
	}{
		{"heron-07", "eu", 18000, []unit.Mass{11500}, 0.361111, rule.Fits},
		{"heron-07", "eu", 18000, []unit.Mass{14400}, 0.20, rule.Fits},
		{"heron-07", "eu", 18000, []unit.Mass{14410}, 0.199444, rule.DoesNotFit},
		{"heron-07", "de", 18000, []unit.Mass{14410}, 0.199444, rule.DoesNotFit},
		{"raven-21", "eu", 29000, []unit.Mass{10500, 10500}, 0.275862, rule.Fits},
		// The group's own figure may be less than the sum of its axles.
		{"raven-21", "eu", 26000, []unit.Mass{10500, 10500}, 0.192308, rule.CannotTell},
	} {
		f := fleetOf(t, "demo.toml")
		tr, _ := f.Tractor(tt.tractor)
		*tr.GrossPlate = tt.gross
		for k := range tt.rear {
			*tr.Axles[k+1].Plate = tt.rear[k]
		}
		r := ask(t, f, tt.tractor, "shoal-40", book(t, tt.law), "empty", "laden")
		x := find(r, "eu-share-steer.rear-at-max")
		if x == nil || !(math.Abs(x.Value-tt.share) <= 5e-7) || x.Limit != 0.20 || x.Answer != tt.want || !x.Binding || x.Case != "" {
			t.Errorf("%s under %s, %v on %v: %+v", tt.tractor, tt.law, tt.gross, tt.rear, x)
		}
		if tt.want == rule.CannotTell && !strings.Contains(missingText(r), "permissible mass of the rear axle group") {
			t.Errorf("missing %q", r.Missing)
		}
	}
}

// Less than a fifth on the steered or on the driving axles as loaded is a caution
// and decides nothing. Source: handbook chapter 03, 9.5, common practice; vehicle B
// has 20.057 % on its drive axle (section 8), so 20.1 % of 44 t are none.
func TestShareCautions(t *testing.T) {
	r := ask(t, fleetOf(t, "reference-b.toml"), "tractor-b", "trailer-b", book(t, "uk"), "laden")
	x := find(r, "caution.share-drive")
	if x == nil || !(math.Abs(x.Value-0.20057) <= 5e-6) || x.Answer != rule.Fits || x.Binding {
		t.Errorf("vehicle B: %+v", x)
	}
	f := fleetOf(t, "reference-b.toml")
	*f.Trailers[0].PayloadAt += 0.3 // less on the kingpin
	r = ask(t, f, "tractor-b", "trailer-b", book(t, "uk"), "laden")
	if x := find(r, "caution.share-drive"); x == nil || x.Answer != rule.DoesNotFit || x.Binding || !strings.Contains(strings.Join(r.Cautions, "\n"), "driving axles") {
		t.Errorf("vehicle B, loaded 0.3 m farther back: %+v, cautions %q", x, r.Cautions)
	}
	// Where the law asks for a quarter there is no second finding beside it.
	if x := find(ask(t, fleetOf(t, "demo.toml"), "heron-07", "reed-49", book(t, "eu"), "laden"), "caution.share-drive"); x != nil {
		t.Errorf("beside the law's quarter: %+v", x)
	}
	// The fifth wheel 1.9 m behind the drive axle lifts the steered axle.
	f = fleetOf(t, "demo.toml")
	tr, _ := f.Tractor("dipper-24")
	at := *tr.FifthWheel.At + 2.4
	tr.FifthWheel.At = &at
	r = ask(t, f, "dipper-24", "shoal-40", book(t, "eu"), "laden")
	if x := find(r, "caution.share-steer"); x == nil || x.Answer != rule.DoesNotFit || x.Binding {
		t.Errorf("a coupling far behind the axle: %+v", x)
	}
}

// A plate's mass of the whole group is asked for beside the plates of its axles,
// and both are held. Source: the statutory plate states both.
func TestGroupPlate(t *testing.T) {
	f := fleetOf(t, "largest-eu.toml")
	s := &f.Trailers[0]
	low := unit.Mass(15000)
	s.BogiePlate = &low
	r := ask(t, f, "tractor-e", "trailer-e", book(t, "eu"), "laden")
	if x := find(r, "plate.bogie"); x == nil || x.Answer != rule.DoesNotFit || r.Answer != rule.DoesNotFit {
		t.Errorf("beyond the group's plate: %s, %+v", r.Answer, x)
	}
	for k := range s.Axles {
		if find(r, fmt.Sprintf("plate.bogie-axle-%d", k+1)) == nil {
			t.Errorf("axle %d is not held against its plate", k+1)
		}
	}
	s.BogiePlate = nil
	if r := ask(t, f, "tractor-e", "trailer-e", book(t, "eu"), "laden"); r.Answer != rule.CannotTell || !strings.Contains(missingText(r), "bogie-plate") {
		t.Errorf("without the group's plate: %s, missing %q", r.Answer, r.Missing)
	}
	// A single axle is its own group: either plate tells.
	s.Axles = s.Axles[1:2]
	if r := ask(t, f, "tractor-e", "trailer-e", book(t, "eu"), "empty"); strings.Contains(missingText(r), "bogie-plate") {
		t.Errorf("one axle: missing %q", r.Missing)
	}
	s.BogiePlate, s.Axles[0].Plate = &low, nil
	if r := ask(t, f, "tractor-e", "trailer-e", book(t, "eu"), "empty"); strings.Contains(missingText(r), "plate") {
		t.Errorf("one axle with the group's plate: missing %q", r.Missing)
	}
}

// A caller of the library may hand in vehicles without axles; a fleet file may
// not. The answer names them.
func TestWithoutAxles(t *testing.T) {
	for name, take := range map[string]func(*vehicle.Tractor, *vehicle.SemiTrailer){
		"no axles at all":           func(tr *vehicle.Tractor, s *vehicle.SemiTrailer) { tr.Axles, s.Axles = nil, nil },
		"a tractor without":         func(tr *vehicle.Tractor, _ *vehicle.SemiTrailer) { tr.Axles = nil },
		"a semi-trailer without":    func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Axles = nil },
		"a tractor with one":        func(tr *vehicle.Tractor, _ *vehicle.SemiTrailer) { tr.Axles = tr.Axles[:1] },
		"a tractor without a front": func(tr *vehicle.Tractor, _ *vehicle.SemiTrailer) { tr.Axles = tr.Axles[1:] },
		"all axles of the bogie up": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) {
			up := true
			for i := range s.Axles {
				s.Axles[i].Liftable, s.Axles[i].Lifted = true, &up
			}
		},
	} {
		for _, law := range rule.Names() {
			f := fleetOf(t, "largest-eu.toml")
			take(&f.Tractors[0], &f.Trailers[0])
			r := ask(t, f, "tractor-e", "trailer-e", book(t, law))
			if name == "all axles of the bogie up" { // another setting has them down
				if r.Answer == rule.Fits {
					t.Errorf("%s under %s: %s", name, law, r.Answer)
				}
				continue
			}
			if r.Answer != rule.CannotTell || !strings.Contains(missingText(r), "axle") {
				t.Errorf("%s under %s: %s, missing %q", name, law, r.Answer, r.Missing)
			}
		}
	}
	var empty vehicle.Fleet
	empty.Tractors, empty.Trailers = []vehicle.Tractor{{ID: "t"}}, []vehicle.SemiTrailer{{ID: "s"}}
	r := ask(t, &empty, "t", "s", book(t, "eu"))
	if r.Answer != rule.CannotTell {
		t.Errorf("two vehicles of nothing: %s", r.Answer)
	}
	p := assess.Compile(assess.Combination{Tractor: &empty.Tractors[0], Trailer: &empty.Trailers[0], Law: book(t, "us")})
	p.Evaluate(0.5, nil)
	p.At(p.Now())
	p.TurnInput(p.Now(), 12.5)
	p.Tell(p.Assess(assess.AimMargin), unit.Metric)
}

// Less than 500 kg, or less than 5 % of the semi-trailer, on the kingpin is a
// caution and no refusal. Source: handbook chapter 03, 9.5: common practice, no
// source. K from the reference: 1.9 t of 6.3 t empty.
func TestLightKingpin(t *testing.T) {
	for _, tt := range []struct {
		pin, bogie unit.Mass
		limit      float64
		want       rule.Answer
	}{
		{1900, 4400, 500, rule.Fits},
		{500, 5800, 500, rule.Fits},
		{499, 5801, 500, rule.DoesNotFit},
		{600, 13400, 700, rule.DoesNotFit}, // 5 % of 14 t
		{700, 13300, 700, rule.Fits},
	} {
		f := fleetOf(t, "reference-a.toml")
		*f.Trailers[0].TarePin, *f.Trailers[0].TareBogie = tt.pin, tt.bogie
		r := ask(t, f, "tractor-a", "trailer-a", book(t, "eu"), "empty")
		x := find(r, "caution.light-kingpin")
		if x == nil || x.Binding || x.Answer != tt.want || !(math.Abs(x.Limit-tt.limit) < 1e-9) || !(math.Abs(x.Value-float64(tt.pin)) < 1e-9) {
			t.Errorf("%v on the kingpin: %+v", tt.pin, x)
		}
		if warned := strings.Contains(strings.Join(r.Cautions, "\n"), "Treat it as a stop"); warned != (tt.want == rule.DoesNotFit) {
			t.Errorf("%v on the kingpin: cautions %q", tt.pin, r.Cautions)
		}
	}
}

// A lifted axle is no axle of the law's tables: with one of three up the
// semi-trailer has two, 2.6 m or 1.3 m apart. Source: StVZO § 34(4) no. 3 and 4; the
// facts speak of axles on the ground.
func TestLiftedAxlesAreNotCounted(t *testing.T) {
	for _, tt := range []struct {
		up     int // axle counted from 1; 0 for none
		rule   string
		limit  float64
		facts  string // of axles-trailer
		tandem bool
	}{
		{0, "eu-tri-axle-trailer.bogie", 24, "axles-trailer is 3", false},
		{1, "eu-tandem-trailer.bogie", 18, "axles-trailer is 2", true},
		{2, "eu-tandem-trailer.bogie", 20, "axles-trailer is 2", true},
	} {
		f := fleetOf(t, "largest-eu.toml")
		s := &f.Trailers[0]
		for i := range s.Axles {
			up := i+1 == tt.up
			s.Axles[i].Liftable, s.Axles[i].Lifted = up, &up
		}
		tr, _ := f.Tractor("tractor-e")
		cases, err := assess.Cases(f, s, "empty")
		if err != nil {
			t.Fatal(err)
		}
		p := assess.Compile(assess.Combination{Tractor: tr, Trailer: s, Cases: cases, Law: book(t, "eu")})
		r := p.At(p.Now())
		if x := find(r, tt.rule); x == nil || x.Limit != tt.limit {
			t.Errorf("axle %d up: %+v", tt.up, x)
		}
		if (find(r, "eu-tri-axle-trailer.bogie") == nil) != tt.tandem {
			t.Errorf("axle %d up: the other table too", tt.up)
		}
		found := false
		for i := range r.Findings {
			found = found || r.Findings[i].Quantity == "mass-gross-combination" && strings.Contains(r.Findings[i].Working, tt.facts)
		}
		if !found {
			t.Errorf("axle %d up: the gross mass was not looked up with %q", tt.up, tt.facts)
		}
	}
}

// Two consecutive tandems may carry 34 000 lb each where their extremes are 36 ft
// or more apart, as measured; without the exception the formula gives 66 000 lb at
// 36 ft. Source: 23 U.S.C. 127(a)(2), exception; definition of a tandem: more than 40
// and up to 96 in (23 CFR 658.17); the formula's cells: RCW 46.44.041 and 67 Pa. Code
// § 185.3 (handbook chapter 02, 3.4).
func TestTwoTandems(t *testing.T) {
	ft, in := float64(unit.Foot), float64(unit.Inch)
	for _, tt := range []struct {
		name            string
		between         float64 // first axle of the first to the last of the second tandem, m
		drive, trailer  float64 // spacing within each, m
		tandems, bridge bool    // which rule gives the limit
		limit           float64 // lb
	}{
		{"36 ft", 36 * ft, 52 * in, 49 * in, true, false, 68000},
		{"36 ft less half an inch", 36*ft - 0.5*in, 52 * in, 49 * in, false, true, 66000},
		{"40 ft", 40 * ft, 52 * in, 49 * in, true, false, 68000},
		{"36 ft, the rear pair 97 in", 36 * ft, 52 * in, 97 * in, false, true, 66000},
		{"36 ft, the rear pair 96 in", 36 * ft, 52 * in, 96 * in, true, false, 68000},
		{"36 ft, the front pair 40 in", 36 * ft, 40 * in, 49 * in, false, true, 66000},
	} {
		f := fleetOf(t, "reference-c.toml")
		tr, s := &f.Tractors[0], &f.Trailers[0]
		first, _ := tr.AxleAt(1)
		second := first + unit.Length(tt.drive)
		tr.Axles[2].At, tr.Axles[2].Gap = &second, nil
		// x of the last axle from the kingpin: so far from the first drive axle.
		last := first + unit.Length(tt.between) - *tr.FifthWheel.At
		before := last - unit.Length(tt.trailer)
		s.Axles[0].At, s.Axles[1].At, s.Axles[0].Gap, s.Axles[1].Gap = &before, &last, nil, nil
		cases, err := assess.Cases(f, s, "laden")
		if err != nil {
			t.Fatal(err)
		}
		tr.FifthWheel.Slider = nil
		p := assess.Compile(assess.Combination{Tractor: tr, Trailer: s, Cases: cases, Law: book(t, "us")})
		r := p.At(p.Now())
		two, bridge := find(r, "us-two-tandems.axles-2-5"), find(r, "us-bridge.axles-2-5")
		if (two != nil) != tt.tandems || (bridge != nil) != tt.bridge {
			t.Errorf("%s: exception %v, formula %v", tt.name, two != nil, bridge != nil)
			continue
		}
		x := two
		if x == nil {
			x = bridge
		}
		if x.Limit != tt.limit || x.Unit.Symbol != "lb" {
			t.Errorf("%s: %v %s, want %v lb", tt.name, x.Limit, x.Unit.Symbol, tt.limit)
		}
	}
}
