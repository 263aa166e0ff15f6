package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

func bDouble() []axleload.Unit {
	return []axleload.Unit{
		{Mass: 9.0 * t_, Centre: 1.62444, Rear: 4.30, Coupling: 3.95},
		{Mass: 23.5 * t_, Centre: 3.774468, Rear: 7.20, Coupling: 7.00},
		{Mass: 30.5 * t_, Centre: 5.285246, Rear: 8.30},
	}
}

func TestChain(t *testing.T) {
	for _, tt := range []struct {
		name   string
		units  []axleload.Unit
		want   []float64 // V_1, B_1, V_2, B_2 …
		scale  unit.Mass
		tol    float64
		source string
	}{
		{"B-double", bDouble(),
			[]float64{6.53510, 13.95318, 11.48829, 23.09003, 11.07831, 19.42169}, t_, 5e-6,
			"handbook chapter 03, 1.5, test vector"},
		{"trailer on two supports", // 8 m between supports; in newtons with g = 9.8
			[]axleload.Unit{{Mass: 2500, Centre: 5.5, Rear: 8.0}},
			[]float64{7656, 16844}, 1 / 9.8, 0.5,
			"Physics, 7th ed., problem on fig. 9-61: F_B 7,656 N, F_A 16,844 N, g = 9.8"},
		{"truck with its centre 133 in behind the front axle",
			[]axleload.Unit{{Mass: 100 * lb, Centre: 133 * in, Rear: 214 * in}},
			[]float64{37.8505, 62.1495}, lb, 5e-5,
			"recomputed: 100·133/214; the printed 38.86 is a slip, 62.14 + 38.86 = 101 (handbook chapter 03, P7)"},
		{"plates and kingpin load",
			[]axleload.Unit{{Mass: 27690, Centre: 7.0 * 18300 / 27690, Rear: 7.0}},
			[]float64{9390, 18300}, 1, 1e-9,
			"trade weekly, 30 Nov 1995, p. 45 \"Kingpin load\": 27,690 − 2·9,150 = 9,390 is the kingpin load at which full axles make full gross, not the plate"},
		{"centre on the rear line", []axleload.Unit{{Mass: 10, Centre: 5, Rear: 5}},
			[]float64{0, 10}, 1, 0, "algebra: x = L"},
		{"coupling on the rear line", []axleload.Unit{{Mass: 0, Centre: 1, Rear: 4, Coupling: 4}, {Mass: 8, Centre: 0, Rear: 5}},
			[]float64{0, 8, 8, 0}, 1, 1e-12, "algebra: c = L brings nothing to the front support"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			out := make([]axleload.Support, len(tt.units))
			b, err := axleload.Chain(tt.units, out)
			if err != nil {
				t.Fatal(err)
			}
			if b.Negative != -1 {
				t.Errorf("negative support at unit %d", b.Negative)
			}
			for i, s := range out {
				near(t, fmt.Sprintf("V_%d", i+1), float64(s.Front/tt.scale), tt.want[2*i], tt.tol, tt.source)
				near(t, fmt.Sprintf("B_%d", i+1), float64(s.Rear/tt.scale), tt.want[2*i+1], tt.tol, tt.source)
			}
		})
	}
}

func TestChainWhole(t *testing.T) {
	units := bDouble()
	out := make([]axleload.Support, 3)
	b, err := axleload.Chain(units, out)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gross", b.Gross.Tonnes(), 63, 1e-9, "handbook chapter 03, 1.5: sum 63.000")
	loads, masses := wholeMoment(units, out)
	near(t, "moment of the axle loads", loads/1e3, 691.32, 0.005, "handbook chapter 03, 1.5: 691.32 both ways")
	near(t, "moment of the masses", masses/1e3, 691.32, 0.005, "handbook chapter 03, 1.5: 691.32 both ways")
}

// wholeMoment is the balance of the whole chain about the front axle, which
// does not use the recursion.
func wholeMoment(units []axleload.Unit, out []axleload.Support) (loads, masses float64) {
	origin := 0.0
	for i, u := range units {
		loads += float64(out[i].Rear) * (origin + float64(u.Rear))
		masses += float64(u.Mass) * (origin + float64(u.Centre))
		origin += float64(u.Coupling)
	}
	return loads, masses
}

func TestChainFlagsNegativeSupport(t *testing.T) {
	for _, tt := range []struct {
		name  string
		units []axleload.Unit
		want  int
	}{
		{"load behind the bogie", []axleload.Unit{{Mass: 8e3, Centre: 1.5, Rear: 3.7, Coupling: 3.1}, {Mass: 20e3, Centre: 8, Rear: 7.7}}, 1},
		{"coupling far behind the rear axle", []axleload.Unit{{Mass: 5e3, Centre: 1, Rear: 4, Coupling: 8}, {Mass: 20e3, Centre: 1, Rear: 7.7}}, 0},
		{"load ahead of the kingpin", []axleload.Unit{{Mass: 8e3, Centre: 1.5, Rear: 3.7, Coupling: 3.1}, {Mass: 20e3, Centre: -0.1, Rear: 7.7}}, 1},
	} {
		out := make([]axleload.Support, 2)
		b, err := axleload.Chain(tt.units, out)
		if err != nil {
			t.Fatal(err)
		}
		if b.Negative != tt.want || !out[tt.want].Negative() {
			t.Errorf("%s: negative support at %d, want %d (%+v)", tt.name, b.Negative, tt.want, out)
		}
	}
}

func TestChainRefuses(t *testing.T) {
	nan := math.NaN()
	good := axleload.Unit{Mass: 1, Centre: 1, Rear: 2, Coupling: 1}
	for _, u := range []axleload.Unit{
		{Mass: -1, Centre: 1, Rear: 2}, {Mass: 1, Centre: 1, Rear: 0}, {Mass: 1, Centre: 1, Rear: -3},
		{Mass: unit.Mass(nan), Centre: 1, Rear: 2}, {Mass: 1, Centre: unit.Length(nan), Rear: 2},
		{Mass: 1, Centre: 1, Rear: unit.Length(nan)}, {Mass: 1, Centre: 1, Rear: 2, Coupling: unit.Length(nan)},
		{Mass: 1, Centre: 1, Rear: unit.Length(math.Inf(1))},
	} {
		_, err := axleload.Chain([]axleload.Unit{u, good}, make([]axleload.Support, 2))
		wantDomain(t, fmt.Sprintf("%+v", u), err)
	}
	_, err := axleload.Chain(nil, nil)
	wantDomain(t, "no unit", err)
	_, err = axleload.Chain([]axleload.Unit{good}, nil)
	wantDomain(t, "no place for the result", err)
}

func drawUnits(t *rapid.T) []axleload.Unit {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) axleload.Unit {
		return axleload.Unit{
			Mass:     unit.Mass(rapid.Float64Range(0, 50e3).Draw(t, "W")),
			Centre:   unit.Length(rapid.Float64Range(-2, 12).Draw(t, "x")),
			Rear:     unit.Length(rapid.Float64Range(1, 12).Draw(t, "L")),
			Coupling: unit.Length(rapid.Float64Range(-1, 14).Draw(t, "c")),
		}
	}), 1, 6).Draw(t, "units")
}

func TestChainBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := drawUnits(t)
		out := make([]axleload.Support, len(units))
		b, err := axleload.Chain(units, out)
		if err != nil {
			t.Fatal(err)
		}
		sum, gross, size := float64(out[0].Front), 0.0, 1.0
		for i := range out {
			sum += float64(out[i].Rear)
			gross += float64(units[i].Mass)
			size += math.Abs(float64(out[i].Rear)) + math.Abs(float64(out[i].Front))
		}
		if !(math.Abs(sum-gross) <= 1e-9*size) || !(math.Abs(float64(b.Gross)-gross) <= 1e-9*size) {
			t.Errorf("axle loads sum to %v, masses to %v", sum, gross)
		}
		loads, masses := wholeMoment(units, out)
		if !(math.Abs(loads-masses) <= 1e-9*size*100) {
			t.Errorf("moment about the front axle: loads %v, masses %v", loads, masses)
		}
	})
}

func ExampleChain() {
	// A B-double: tractor, link trailer, rear trailer.
	units := []axleload.Unit{
		{Mass: 9.0 * unit.Tonne, Centre: 1.62444, Rear: 4.30, Coupling: 3.95},
		{Mass: 23.5 * unit.Tonne, Centre: 3.774468, Rear: 7.20, Coupling: 7.00},
		{Mass: 30.5 * unit.Tonne, Centre: 5.285246, Rear: 8.30},
	}
	out := make([]axleload.Support, len(units))
	if _, err := axleload.Chain(units, out); err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range out {
		fmt.Printf("front %.3f t, axles %.3f t\n", s.Front.Tonnes(), s.Rear.Tonnes())
	}
	// Output:
	// front 6.535 t, axles 13.953 t
	// front 11.488 t, axles 23.090 t
	// front 11.078 t, axles 19.422 t
}

func BenchmarkChain(b *testing.B) {
	units := bDouble()
	out := make([]axleload.Support, len(units))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := axleload.Chain(units, out); err != nil {
			b.Fatal(err)
		}
	}
}

func TestHotPathDoesNotAllocate(t *testing.T) {
	units, out := bDouble(), make([]axleload.Support, 3)
	pair := vehicleA()
	lim := limitsA()
	for name, f := range map[string]func(){
		"Chain":        func() { _, _ = axleload.Chain(units, out) },
		"Loads":        func() { _, _ = axleload.Loads(pair) },
		"PayloadLimit": func() { _, _ = axleload.PayloadLimit(pair, lim) },
		"LeadRange":    func() { _, _ = axleload.LeadRange(pair, lim) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s allocates %v times", name, n)
		}
	}
}
