package clearance_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

func TestSwingRadius(t *testing.T) {
	for _, tt := range []struct {
		name      string
		xf, w, rc unit.Length
		want, tol float64 // m
		source    string
	}{
		{"sharp", 1.60, 2.55, 0, 2.045880, 5e-7, "handbook chapter 04, 2.2"},
		{"rounded 30 mm", 1.60, 2.55, 30 * mm, 2.033728, 5e-7, "handbook chapter 04, 2.2"},
		{"reference vehicle", 1.5925, 2.55, 0, 2.04002, 5e-6, "handbook chapter 04, 0: corner radius of vehicle E"},
		{"3-4-5 triangle", 3, 8, 0, 5, 1e-15, "hand: sqrt(3² + 4²)"},
		{"half round front", 1.275, 2.55, 1.275, 1.275, 1e-15, "algebra: rc = xf = w/2 is a circle about the pin"},
		{"front wall on the pin", 0, 2.5, 0, 1.25, 0, "algebra: xf = 0 leaves w/2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := clearance.SwingRadius(clearance.Nose{Overhang: tt.xf, Width: tt.w, Corner: tt.rc})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "Rs", float64(got.Radius), tt.want, tt.tol, tt.source)
		})
	}
	got, _ := clearance.SwingRadius(clearance.Nose{Overhang: 1.592474, Width: 2.55})
	near(t, "bearing", got.Bearing.Degrees(), 38.682, 5e-4, "handbook chapter 04, 2.2: δc of w 2.55")
}

func TestLongestOverhang(t *testing.T) {
	for _, tt := range []struct {
		w, want, tol float64
		source       string
	}{
		{2.55, 1.592474, 5e-7, "handbook chapter 04, 2.2"},
		{2.60, 1.572132, 5e-7, "handbook chapter 04, 2.2"},
		{4.08, 0, 1e-15, "algebra: w/2 = R leaves nothing"},
	} {
		got, err := clearance.LongestOverhang(2.04, unit.Length(tt.w), 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "xf", float64(got), tt.want, tt.tol, tt.source)
	}
	_, err := clearance.LongestOverhang(1.2, 2.55, 0)
	wantNoAnswer(t, "a body wider than the circle", err)
}

func TestNoseDepth(t *testing.T) {
	const source = "handbook chapter 04, 2.2: Rlim 2.04, xf 1.5925"
	for _, tt := range []struct{ y, want float64 }{{0, 0.4475}, {0.9, 0.2382}, {1.0, 0.1856}} {
		got, err := clearance.NoseDepth(2.04, 1.5925, unit.Length(tt.y))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("d(%g)", tt.y), float64(got), tt.want, 5e-5, source)
	}
	got, err := clearance.NoseDepth(2.04, 1.6, 1.275)
	if err != nil || !(got < 0) {
		t.Errorf("a wall outside the radius gave %v, %v; want a negative depth (algebra: 1.6² + 1.275² > 2.04²)", got, err)
	}
}

// The longest overhang, put back, sweeps the radius that it was made for.
func TestLongestOverhangInvertsSwing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(1, 3).Draw(t, "w")
		R := rapid.Float64Range(w/2, 4).Draw(t, "R")
		rc := rapid.Float64Range(0, 0.2).Draw(t, "rc")
		xf, err := clearance.LongestOverhang(unit.Length(R), unit.Length(w), unit.Length(rc))
		if err != nil {
			t.Fatal(err)
		}
		s, err := clearance.SwingRadius(clearance.Nose{Overhang: xf, Width: unit.Length(w), Corner: unit.Length(rc)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Rs", float64(s.Radius), R, 1e-12, "algebra: inverse")
		if s.Radius > s.Sharp+1e-12 {
			t.Errorf("rounded corner swings %v, more than the sharp %v", s.Radius, s.Sharp)
		}
	})
}

// The corners of a nose unit that is as deep as allowed lie on the circle, and
// swing it whatever the articulation.
func TestNoseUnitStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := unit.Length(rapid.Float64Range(0.1, 1.2).Draw(t, "y"))
		d, err := clearance.NoseDepth(2.04, 1.5, y)
		if err != nil {
			t.Fatal(err)
		}
		u := clearance.NoseUnit{Depth: d, Width: 2 * y, Bottom: 0.8, Top: 2.5}
		near(t, "radius", float64(u.Radius(1.5)), 2.04, 1e-12, "algebra: inverse")
		yaw := unit.Angle(rapid.Float64Range(-2, 2).Draw(t, "yaw"))
		for _, c := range u.Corners(1.5) {
			p, err := clearance.InTractor(c, clearance.Attitude{Yaw: yaw})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "swept", math.Hypot(float64(p.X), float64(p.Y)), 2.04, 1e-12, "algebra: yaw keeps the distance from the pin")
		}
	})
}

func TestSwingRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	for _, n := range []clearance.Nose{
		{nan, 2.55, 0}, {1.6, nan, 0}, {1.6, 2.55, nan}, {-0.1, 2.55, 0}, {1.6, 0, 0}, {1.6, 2.55, -0.01}, {0.02, 2.55, 0.03}, {1.6, 0.05, 0.03},
	} {
		_, err := clearance.SwingRadius(n)
		wantDomain(t, fmt.Sprint(n), err)
	}
	for _, a := range [][3]unit.Length{{nan, 2.55, 0}, {2.04, nan, 0}, {2.04, 2.55, nan}, {0, 2.55, 0}, {2.04, 2.55, 1.3}} {
		_, err := clearance.LongestOverhang(a[0], a[1], a[2])
		wantDomain(t, fmt.Sprint(a), err)
	}
	for _, a := range [][3]unit.Length{{nan, 1.6, 0}, {2.04, nan, 0}, {2.04, 1.6, nan}, {2.04, 1.6, 2.05}, {2.04, 1.6, -2.05}} {
		_, err := clearance.NoseDepth(a[0], a[1], a[2])
		wantDomain(t, fmt.Sprint(a), err)
	}
}

func ExampleSwingRadius() {
	s, err := clearance.SwingRadius(clearance.Nose{Overhang: 1600 * unit.Millimetre, Width: 2550 * unit.Millimetre})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f mm, straight ahead at %.1f°\n", s.Radius.Millimetres(), s.Bearing.Degrees())
	// Output: 2045.9 mm, straight ahead at 38.6°
}
