package vehicle

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func kinds(words ...string) (axles []Axle) {
	for _, w := range words {
		axles = append(axles, Axle{Kind: w})
	}
	return axles
}

// The leading steered axles are the front group; a steered tag axle behind a
// drive axle belongs to the rear one.
func TestGroups(t *testing.T) {
	for _, tt := range []struct {
		axles       []Axle
		front, rear string
	}{
		{kinds("steer", "drive"), "[0]", "[1]"},
		{kinds("steer", "idle", "drive"), "[0]", "[1 2]"},
		{kinds("steer", "drive", "steer"), "[0]", "[1 2]"},
		{kinds("steer", "steer", "drive", "drive"), "[0 1]", "[2 3]"},
		{kinds("steer"), "[0]", "[]"},
		{nil, "[]", "[]"},
	} {
		tractor := Tractor{Axles: tt.axles}
		front, rear := tractor.Groups()
		if fmt.Sprint(front) != tt.front || fmt.Sprint(rear) != tt.rear {
			t.Errorf("%v: groups %v and %v, want %s and %s", tt.axles, front, rear, tt.front, tt.rear)
		}
	}
}

// Positions by hand: the tri-axle of vehicle A has its middle axle at 7.70 m and
// spacings of 1.31 m (handbook chapter 03, sections 1.4 and 8), so the others
// stand at 6.39 m and 9.01 m; the pusher of vehicle B stands 1.35 m ahead of the
// drive axle at 4.10 m.
func TestAxleAt(t *testing.T) {
	const unknown = math.MaxFloat64
	for _, tt := range []struct {
		name    string
		tractor bool
		axles   []Axle
		want    []float64
	}{
		{"tri-axle, one place and two gaps", false, []Axle{{At: mm(6390)}, {Gap: mm(1310)}, {Gap: mm(1310)}}, []float64{6.39, 7.70, 9.01}},
		{"tri-axle, all places", false, []Axle{{At: mm(6390)}, {At: mm(7700)}, {At: mm(9010)}}, []float64{6.39, 7.70, 9.01}},
		{"pusher, gaps from the front axle", true, []Axle{{}, {Gap: mm(2750)}, {Gap: mm(1350)}}, []float64{0, 2.75, 4.10}},
		{"a gap after a place", true, []Axle{{}, {At: mm(2750)}, {Gap: mm(1350)}}, []float64{0, 2.75, 4.10}},
		{"a place after a gap that is missing", true, []Axle{{}, {}, {At: mm(4100)}}, []float64{0, unknown, unknown}},
		{"trailer without its first place", false, []Axle{{}, {Gap: mm(1310)}}, []float64{unknown, unknown}},
		{"trailer that begins with a gap", false, []Axle{{Gap: mm(1310)}}, []float64{unknown}},
		{"tractor with its front axle stated", true, []Axle{{At: mm(0)}, {Gap: mm(3700)}}, []float64{0, 3.7}},
	} {
		for i, want := range tt.want {
			at, ok := (&SemiTrailer{Axles: tt.axles}).AxleAt(i)
			if tt.tractor {
				at, ok = (&Tractor{Axles: tt.axles}).AxleAt(i)
			}
			if ok != (want != unknown) || ok && !(math.Abs(float64(at)-want) <= 1e-12) {
				t.Errorf("%s: axle %d at %v, %v; want %v", tt.name, i+1, at, ok, want)
			}
		}
	}
}

func TestShare(t *testing.T) {
	b := Tractor{Axles: []Axle{{Kind: "steer"}, {Kind: "idle", Share: part(7.5 / 19)}, {Kind: "drive", Share: part(11.5 / 19)}}}
	front, rear := b.Groups()
	for _, tt := range []struct {
		what      string
		got, want float64
		source    string
	}{
		{"pusher", b.Share(rear, 1), 0.3947, "handbook chapter 03, section 1.3: λ = 7.5/19 = 0.3947"},
		{"drive axle beside a pusher", b.Share(rear, 2), 0.6053, "11.5/19"},
		{"single steered axle", b.Share(front, 0), 1, "handbook chapter 03, section 1.3: single axle"},
		{"axle of a tri-axle", (&SemiTrailer{Axles: make([]Axle, 3)}).Share(1), 0.3333, "handbook chapter 03, section 1.3: tri-axle, ⅓ each"},
		{"axle of a tandem", (&SemiTrailer{Axles: make([]Axle, 2)}).Share(0), 0.5, "handbook chapter 03, section 1.3: tandem, ½ each"},
	} {
		if !(math.Abs(tt.got-tt.want) <= 0.00005) {
			t.Errorf("%s: %v, want %v (%s)", tt.what, tt.got, tt.want, tt.source)
		}
	}
}

// The shares of a group sum to 1 in every fleet that Validate lets pass.
func TestSharesSumToOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := sound()
		f.Trailers[0].Axles = []Axle{{At: mm(6000)}}
		for range rapid.IntRange(0, 5).Draw(t, "more axles") {
			f.Trailers[0].Axles = append(f.Trailers[0].Axles, Axle{Gap: mm(1310)})
		}
		axles := f.Trailers[0].Axles
		if rapid.Bool().Draw(t, "given") {
			rest := 1.0
			for i := range axles {
				s := rest
				if i < len(axles)-1 {
					s = rapid.Float64Range(0, rest).Draw(t, "share")
				}
				axles[i].Share = &s
				rest -= s
			}
		}
		if errs := f.Validate(); len(errs) != 0 {
			t.Fatal(errs[0])
		}
		sum := 0.0
		for i := range axles {
			sum += f.Trailers[0].Share(i)
		}
		if !(math.Abs(sum-1) <= 1e-9) {
			t.Fatalf("shares sum to %v", sum)
		}
	})
}

func TestLookUp(t *testing.T) {
	f := sound()
	f.Tractors[0].Name = "Heron 07"
	if v, ok := f.Tractor("a"); !ok || v != &f.Tractors[0] || v.Title() != "Heron 07" || v.Called() != "tractor a" {
		t.Errorf("tractor %v, %v", v, ok)
	}
	if v, ok := f.Trailer("b"); !ok || v != &f.Trailers[0] || v.Title() != "b" || v.Called() != "semi-trailer b" {
		t.Errorf("semi-trailer %v, %v", v, ok)
	}
	if v, ok := f.Load("rows"); !ok || v != &f.Loads[1] {
		t.Errorf("load %v, %v", v, ok)
	}
	_, tractor := f.Tractor("b")
	_, trailer := f.Trailer("a")
	_, load := f.Load("empty")
	if tractor || trailer || load {
		t.Error("found what is not there")
	}
}

func TestTare(t *testing.T) {
	f := sound()
	if m, ok := f.Tractors[0].Tare(); !ok || m != 7800 {
		t.Errorf("tare %v, %v; want 5500 + 2300 = 7800", m, ok)
	}
	f.Tractors[0].Axles[0].Tare = nil
	if m, ok := f.Tractors[0].Tare(); ok {
		t.Errorf("tare %v although one axle's is unknown", m)
	}
	if _, ok := new(Tractor).Tare(); ok {
		t.Error("a tractor without axles has a tare")
	}
}
