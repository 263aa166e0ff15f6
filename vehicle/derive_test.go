package vehicle

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

// The weighings of the rows are those of the two-unit combination: tractor on =
// W_T + K, all on = W_T + W_te + P, front on = F_e + K·e/L_T.
const (
	statics = "handbook chapter 03, section 1.2: K = F + R − W_T, check K + B = W_te + P"
	vehA    = "handbook chapter 03, section 8, vehicle A: F_e 5.5, R_e 2.3, K_e 1.9, B_e 4.4 t"
	ladenA  = "handbook chapter 03, section 1.2, back-calculation: F 7.172, R 10.937, B 21.891 → K 10.309 t"
	vehB    = "handbook chapter 03, section 8, vehicle B: tractor 9.0 t, steer 5.6 t, λ_p = 7.5/19, trailer 2.0 and 4.8 t"
	vehC    = "handbook chapter 03, section 8, vehicle C: tractor 11,000 and 7,500 lb, trailer 5,400 and 9,100 lb"
)

func pounds(n float64) float64 { return n * 0.45359237 } // international pound of 1959

func TestDerive(t *testing.T) {
	type tickets struct{ front, tractor, coupled, all float64 }
	for _, tt := range []struct {
		name   string
		axles  []Axle
		w      tickets
		tares  []float64 // of the tractor's axles, kg
		pin    float64
		bogie  float64
		half   float64 // of the source's last digit, kg
		source string
	}{
		{"two axles", []Axle{{Kind: "steer"}, {Kind: "drive", At: mm(3700)}},
			tickets{5500, 7800, 7800 + 1900, 7800 + 1900 + 4400}, []float64{5500, 2300}, 1900, 4400, 0.5, vehA},
		{"two axles, read laden", []Axle{{Kind: "steer"}, {Kind: "drive", At: mm(3700)}},
			tickets{5500, 7800, 7172 + 10937, 7172 + 10937 + 21891}, []float64{5500, 2300}, 10309, 21891, 0.5, ladenA},
		{"pusher and drive axle by their shares", []Axle{{Kind: "steer"}, {Kind: "idle", At: mm(2750), Share: part(7.5 / 19)}, {Kind: "drive", At: mm(4100), Share: part(11.5 / 19)}},
			tickets{5600, 9000, 9000 + 2000, 9000 + 2000 + 4800},
			[]float64{5600, 1342.105, 2057.895}, 2000, 4800, 0.0005, vehB + "; 3400 · 7.5/19 = 1342.105, 3400 · 11.5/19 = 2057.895"},
		{"equal tandem, in pounds", []Axle{{Kind: "steer"}, {Kind: "drive", At: mm(5300)}, {Kind: "drive", Gap: mm(1320)}},
			tickets{pounds(11000), pounds(18500), pounds(18500 + 5400), pounds(18500 + 14500)},
			[]float64{pounds(11000), pounds(3750), pounds(3750)}, pounds(5400), pounds(9100), 0.05, vehC + "; 7,500/2 = 3,750"},
		{"two steered axles share what the front reads", []Axle{{Kind: "steer"}, {Kind: "steer", At: mm(1800)}, {Kind: "drive", At: mm(4500)}},
			tickets{7000, 10000, 12500, 18000}, []float64{3500, 3500, 3000}, 2500, 5500, 0.5, statics + "; 7000/2 = 3500"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := &Fleet{
				Tractors: []Tractor{{ID: "a", Axles: tt.axles, Weighbridge: &TractorTicket{FrontOn: kilos(tt.w.front), TractorOn: kilos(tt.w.tractor)}}},
				Trailers: []SemiTrailer{{ID: "b", Axles: []Axle{{At: mm(7700)}}, Weighbridge: &TrailerTicket{Tractor: "a", TractorOn: kilos(tt.w.coupled), AllOn: kilos(tt.w.all)}}},
			}
			if errs := f.Validate(); len(errs) != 0 {
				t.Fatal(errs[0])
			}
			out := f.Derive()
			closeTo := func(what string, got *unit.Mass, want float64) {
				if got == nil || !(math.Abs(float64(*got)-want) <= tt.half) {
					t.Errorf("%s: %v kg, want %v (%s)", what, got, want, tt.source)
				}
			}
			for i, want := range tt.tares {
				closeTo(fmt.Sprintf("tare of axle %d", i+1), f.Tractors[0].Axles[i].Tare, want)
			}
			closeTo("tare at the pin", f.Trailers[0].TarePin, tt.pin)
			closeTo("tare on the bogie", f.Trailers[0].TareBogie, tt.bogie)
			if len(out) != len(tt.tares)+2 {
				t.Errorf("%d values derived, want %d", len(out), len(tt.tares)+2)
			}
			for _, d := range out {
				if d.Vehicle == "" || d.Field == "" || d.Value == "" || !strings.Contains(d.Working, "on") || d.Check != "" {
					t.Errorf("%+v", d)
				}
			}
		})
	}
}

// A mass is told in the unit it was read in.
func TestWeightIsToldAsItWasRead(t *testing.T) {
	for _, tt := range []struct {
		kg   float64
		want string
	}{
		{1900, "1900 kg"}, {9700 - 7800, "1900 kg"}, {0, "0 kg"},
		{pounds(23900) - pounds(18500), "5400 lb"}, {pounds(33000) - pounds(23900), "9100 lb"}, {pounds(7500) / 2, "3750 lb"},
		{3400 * 7.5 / 19, "1342.105 kg"},
	} {
		if got := weight(unit.Mass(tt.kg)); got != tt.want {
			t.Errorf("%v kg is told as %q, want %q", tt.kg, got, tt.want)
		}
	}
}

// The front axle tells the load at the kingpin a second time: F = F_e + K·e/L_T
// = 5500 + 1900 · 0.6/3.7 = 5808 kg (statics, vehicle A).
func TestDeriveChecksTheFrontReading(t *testing.T) {
	for _, tt := range []struct {
		front float64
		doubt bool
	}{
		{5808, false}, {5860, false}, {5760, false}, // a step or two of the scale, 20 kg each
		{5880, true}, {5740, true}, {5500, true},
	} {
		f := sound()
		f.Trailers[0].TarePin, f.Trailers[0].TareBogie = nil, nil
		f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a", FrontOn: kilos(tt.front), TractorOn: kilos(9700), AllOn: kilos(14100)}
		out := f.Derive()
		if len(out) != 2 || (out[0].Check != "") != tt.doubt {
			t.Fatalf("front on %v kg: %+v", tt.front, out)
		}
		if tt.doubt && !strings.Contains(out[0].Check, "5\u00a0808 kg") && !strings.Contains(out[0].Check, "5\u00a0808\u00a0kg") {
			t.Errorf("front on %v kg: %q does not name the 5808 kg of this lead", tt.front, out[0].Check)
		}
	}
}

// Nothing is derived from half of what it takes.
func TestDeriveLeavesUnknownWhatIsUnknown(t *testing.T) {
	for name, spoil := range map[string]func(f *Fleet){
		"no ticket of the tractor, a tare missing": func(f *Fleet) { f.Tractors[0].Axles[1].Tare = nil },
		"half a ticket of the tractor": func(f *Fleet) {
			f.Tractors[0].Axles[0].Tare, f.Tractors[0].Axles[1].Tare = nil, nil
			f.Tractors[0].Weighbridge = &TractorTicket{TractorOn: kilos(7800)}
		},
		"no reading with all on":     func(f *Fleet) { f.Trailers[0].Weighbridge.AllOn = nil },
		"no reading of the tractor":  func(f *Fleet) { f.Trailers[0].Weighbridge.TractorOn = nil },
		"a tractor that is unknown":  func(f *Fleet) { f.Trailers[0].Weighbridge.Tractor = "z" },
		"a bogie tare that is given": func(f *Fleet) { f.Trailers[0].TareBogie = kilos(4400) },
		"a pin tare that is given":   func(f *Fleet) { f.Trailers[0].TarePin = kilos(1900) },
	} {
		f := sound()
		f.Trailers[0].TarePin, f.Trailers[0].TareBogie = nil, nil
		f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a", TractorOn: kilos(9700), AllOn: kilos(14100)}
		spoil(f)
		before := given(f)
		if out := f.Derive(); len(out) != 0 || len(given(f)) != len(before) {
			t.Errorf("%s: derived %+v", name, out)
		}
	}
}

var derivable = regexp.MustCompile(`^\.tractor\[\d+\]\.axle\[\d+\]\.tare$|^\.semi-trailer\[\d+\]\.tare-(pin|bogie)$`)

// maybe draws a value or nothing.
func maybe[T any](t *rapid.T, name string, draw func() T) *T {
	if !rapid.Bool().Draw(t, name+" given") {
		return nil
	}
	v := draw()
	return &v
}

// TestDeriveChangesNothingGiven draws fleets with anything left out, sound or
// not: what stood there stands there still, only tares are added, and they sum
// to what was read.
func TestDeriveChangesNothingGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mass := func(name string) func() unit.Mass {
			return func() unit.Mass { return unit.Mass(rapid.IntRange(0, 60000).Draw(t, name)) }
		}
		length := func(name string) func() unit.Length {
			return func() unit.Length { return unit.Length(rapid.Float64Range(-1, 15).Draw(t, name)) }
		}
		ids := rapid.SampledFrom([]string{"a", "b", "c", ""})
		f := &Fleet{}
		for range rapid.IntRange(0, 3).Draw(t, "tractors") {
			v := Tractor{ID: ids.Draw(t, "id")}
			for range rapid.IntRange(0, 4).Draw(t, "axles") {
				v.Axles = append(v.Axles, Axle{
					Kind: rapid.SampledFrom([]string{"steer", "drive", "idle"}).Draw(t, "kind"),
					At:   maybe(t, "at", length("at")), Gap: maybe(t, "gap", length("gap")),
					Share: maybe(t, "share", func() float64 { return rapid.Float64Range(0, 1).Draw(t, "share") }),
				})
				if rapid.IntRange(0, 3).Draw(t, "tare given") == 0 {
					v.Axles[len(v.Axles)-1].Tare = kilos(float64(mass("tare")()))
				}
			}
			v.FifthWheel.At = maybe(t, "coupling", length("coupling"))
			v.Weighbridge = maybe(t, "ticket", func() TractorTicket {
				return TractorTicket{FrontOn: maybe(t, "front", mass("front")), TractorOn: maybe(t, "tractor", mass("tractor"))}
			})
			f.Tractors = append(f.Tractors, v)
		}
		for range rapid.IntRange(0, 3).Draw(t, "trailers") {
			f.Trailers = append(f.Trailers, SemiTrailer{
				ID: ids.Draw(t, "id"), TarePin: maybe(t, "pin", mass("pin")), TareBogie: maybe(t, "bogie", mass("bogie")),
				Weighbridge: maybe(t, "ticket", func() TrailerTicket {
					return TrailerTicket{Tractor: ids.Draw(t, "puller"), FrontOn: maybe(t, "front", mass("front")),
						TractorOn: maybe(t, "coupled", mass("coupled")), AllOn: maybe(t, "all", mass("all"))}
				}),
			})
		}

		before := given(f)
		out := f.Derive()
		after := given(f)
		added := 0
		for path, v := range after {
			switch was, there := before[path]; {
			case there && was != v:
				t.Fatalf("%s was %s and is %s", path, was, v)
			case !there:
				added++
				if !derivable.MatchString(path) {
					t.Fatalf("%s = %s came out of nowhere", path, v)
				}
			}
		}
		for path := range before {
			if _, there := after[path]; !there {
				t.Fatalf("%s is gone", path)
			}
		}
		if added != len(out) {
			t.Fatalf("%d values came, %d were explained", added, len(out))
		}
		if again := f.Derive(); len(again) != 0 {
			t.Fatalf("derived a second time: %+v", again)
		}
		// What was derived sums to what was read.
		for i := range f.Trailers {
			s := &f.Trailers[i]
			if _, had := before[fmt.Sprintf(".semi-trailer[%d].tare-pin", i)]; had || s.TarePin == nil {
				continue
			}
			puller, _ := f.Tractor(s.Weighbridge.Tractor)
			alone, _ := puller.Tare()
			if sum := alone + *s.TarePin + *s.TareBogie; math.Abs(float64(sum-*s.Weighbridge.AllOn)) > 1e-6 {
				t.Fatalf("tractor %v + pin %v + bogie %v = %v, all on %v", alone, *s.TarePin, *s.TareBogie, sum, *s.Weighbridge.AllOn)
			}
		}
	})
}

func ExampleFleet_Derive() {
	front, tractor := unit.Mass(5500), unit.Mass(7800)
	coupled, all := unit.Mass(9700), unit.Mass(14100)
	wheelbase := unit.Length(3.7)
	fleet := Fleet{
		Tractors: []Tractor{{
			ID: "heron", Axles: []Axle{{Kind: "steer"}, {Kind: "drive", At: &wheelbase}},
			Weighbridge: &TractorTicket{FrontOn: &front, TractorOn: &tractor},
		}},
		Trailers: []SemiTrailer{{
			ID: "curtain", Weighbridge: &TrailerTicket{Tractor: "heron", TractorOn: &coupled, AllOn: &all},
		}},
	}
	for _, d := range fleet.Derive() {
		fmt.Printf("%s: %s %s (%s)\n", d.Vehicle, d.Field, d.Value, d.Working)
	}
	// Output:
	// heron: axle 1 tare 5500 kg (front on 5500 kg)
	// heron: axle 2 tare 2300 kg (tractor on 7800 kg − front on 5500 kg)
	// curtain: tare-pin 1900 kg (tractor on, coupled, 9700 kg − tractor heron alone 7800 kg)
	// curtain: tare-bogie 4400 kg (all on 14100 kg − tractor on 9700 kg)
}
