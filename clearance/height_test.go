package clearance_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

const worked = "handbook chapter 04, 3.2, worked example (inputs invented)"

func TestCouplingHeight(t *testing.T) {
	h, err := clearance.CouplingHeight(clearance.HeightStack{TyreRadius: 494 * mm, Suspension: 455 * mm, MountingPlate: 12 * mm, FifthWheel: 185 * mm})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Hc mm", h.Coupling.Millimetres(), 1146, 1e-9, worked)
	near(t, "frame mm", h.Frame.Millimetres(), 949, 1e-9, "hand: 494 + 455")
}

func TestCouplingDrop(t *testing.T) {
	steel := func(f unit.Force, k float64, tyre unit.Length) unit.Length {
		d, err := clearance.AxleDrop(f, k, tyre)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	near(t, "rear spring mm", steel(63765, 700e3, 0).Millimetres(), 45.54642857, 5e-9, worked)
	near(t, "front spring mm", steel(8829, 250e3, 0).Millimetres(), 17.658, 5e-4, worked)
	for _, tt := range []struct {
		name        string
		rear, front unit.Length
		drop, tol   float64 // mm
		height      float64
		tolHeight   float64
		pitch       float64 // degrees, NaN where none is printed
	}{
		{"air", 22 * mm, 0, 18.58, 5e-3, 1127.4, 5e-2, math.NaN()},
		{"steel", steel(63765, 700e3, 22*mm), steel(8829, 250e3, 5*mm), 60.57052413, 5e-9, 1085.429476, 5e-7, 0.695078739},
	} {
		d, err := clearance.CouplingDrop(tt.rear, tt.front, 575*mm, 3700*mm)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name+" ΔHc mm", d.Coupling.Millimetres(), tt.drop, tt.tol, worked)
		near(t, tt.name+" Hc mm", 1146-d.Coupling.Millimetres(), tt.height, tt.tolHeight, worked)
		if !math.IsNaN(tt.pitch) {
			near(t, tt.name+" tail-down", d.TailDown.Degrees(), tt.pitch, 5e-10, worked)
		}
	}
}

// Equal drops let the coupling down by as much, without pitch; over the rear
// axle only its own drop counts.
func TestCouplingDropLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := unit.Length(rapid.Float64Range(-0.1, 0.1).Draw(t, "d"))
		f := unit.Length(rapid.Float64Range(-0.1, 0.1).Draw(t, "f"))
		e := unit.Length(rapid.Float64Range(-0.5, 1.5).Draw(t, "e"))
		a, _ := clearance.CouplingDrop(d, d, e, 3.7)
		near(t, "equal drops", float64(a.Coupling), float64(d), 1e-15, "algebra")
		near(t, "pitch", float64(a.TailDown), 0, 0, "algebra")
		b, _ := clearance.CouplingDrop(d, f, 0, 3.7)
		near(t, "over the rear axle", float64(b.Coupling), float64(d), 1e-15, "algebra: e = 0")
		c, _ := clearance.CouplingDrop(d, f, 3.7, 3.7)
		near(t, "over the front axle", float64(c.Coupling), float64(f), 1e-15, "algebra: e = L1")
	})
}

func TestHeightRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	for _, s := range []clearance.HeightStack{
		{nan, 0.4, 0, 0.01, 0.18}, {0.5, nan, 0, 0.01, 0.18}, {0.5, 0.4, nan, 0.01, 0.18}, {0.5, 0.4, 0, nan, 0.18}, {0.5, 0.4, 0, 0.01, nan},
		{0, 0.4, 0, 0.01, 0.18}, {0.5, -0.1, 0, 0.01, 0.18}, {0.5, 0.4, 0, 0.01, 0},
	} {
		_, err := clearance.CouplingHeight(s)
		wantDomain(t, fmt.Sprint(s), err)
	}
	for _, a := range [][4]unit.Length{{nan, 0, 0, 3.7}, {0, nan, 0, 3.7}, {0, 0, nan, 3.7}, {0, 0, 0, nan}, {0, 0, 0, 0}} {
		_, err := clearance.CouplingDrop(a[0], a[1], a[2], a[3])
		wantDomain(t, fmt.Sprint(a), err)
	}
	for _, a := range [][3]float64{{math.NaN(), 1, 0}, {1, math.NaN(), 0}, {1, 0, 0}, {1, -5, 0}, {1, 1, math.NaN()}} {
		_, err := clearance.AxleDrop(unit.Force(a[0]), a[1], unit.Length(a[2]))
		wantDomain(t, fmt.Sprint(a), err)
	}
}

func TestTyreDiameter(t *testing.T) {
	const source = "handbook chapter 04, 3.2"
	for _, tt := range []struct {
		marking string
		mm      float64
		tol     float64
		source  string
	}{
		{"315/70 R 22.5", 1012.5, 0.05, source}, {"315/80 R 22.5", 1075.5, 0.05, source}, {"315/60 R 22.5", 949.5, 0.05, source},
		{"295/60 R 22.5", 925.5, 0.05, source}, {"385/65 R 22.5", 1072.0, 0.05, source}, {"385/55 R 22.5", 995.0, 0.05, source},
		{"445/45 R 19.5", 895.8, 0.05, source},
		{"315/70R22,5", 1012.5, 1e-9, "hand: 571.5 + 441; written without spaces, with a comma"},
		{" 315/70 R 22.5 156/150 L", 1012.5, 1e-9, "hand: with its service description"},
		{"435/50-19.5 160J", 930.3, 1e-9, "hand: 495.3 + 435; cross-ply mark"},
	} {
		s, err := clearance.TyreDiameter(tt.marking)
		if err != nil {
			t.Errorf("%q: %v", tt.marking, err)
			continue
		}
		near(t, tt.marking, s.Diameter.Millimetres(), tt.mm, tt.tol, tt.source)
	}
	for _, bad := range []string{"", "315", "315/70", "315/70 22.5", "315/70 X 22.5", "315/70 R", "R/70 R 22.5", "315/ R 22.5", "12.00 R 20", "315/70 R 22.5 new", "315/70 R 22.5 156/150/140 L", "315/70 R 22.5 L", "3.1.5/70 R 22.5", "315/70 – 22.5"} {
		_, err := clearance.TyreDiameter(bad)
		var parse *unit.ParseError
		if !errors.As(err, &parse) {
			t.Errorf("%q gave %v, want a *unit.ParseError", bad, err)
		}
	}
	for _, bad := range []string{"31/70 R 22.5", "315/170 R 22.5", "315/70 R 57", "7000/70 R 22.5"} {
		_, err := clearance.TyreDiameter(bad)
		wantDomain(t, bad, err)
	}
}

// Whatever is typed is refused or gives a diameter between rim and 2 m.
func FuzzTyreDiameter(f *testing.F) {
	for _, s := range []string{"315/70 R 22.5", "385/65R22,5 160K", "445/45 R 19.5 156/150 L", "/", "1/2-3", "315/70 Ø 22.5", "9e9/70 R 22.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		size, err := clearance.TyreDiameter(s)
		if err != nil {
			return
		}
		if !(size.Diameter > size.Rim && size.Diameter < 2.2) {
			t.Errorf("%q gave %+v", s, size)
		}
	})
}

func ExampleCouplingHeight() {
	h, err := clearance.CouplingHeight(clearance.HeightStack{
		TyreRadius: 494 * unit.Millimetre, Suspension: 455 * unit.Millimetre,
		MountingPlate: 12 * unit.Millimetre, FifthWheel: 185 * unit.Millimetre,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm\n", h.Coupling.Millimetres())
	// Output: 1146 mm
}
