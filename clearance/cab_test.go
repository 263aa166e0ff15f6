package clearance_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

func TestGapToCab(t *testing.T) {
	const reach = "handbook chapter 04, 2.3: reach for Rs 2.04, 6°, p 0.0889"
	for _, tt := range []struct {
		name      string
		layer     clearance.CabLayer
		what      string
		want, tol float64 // m
		source    string
	}{
		{"plate", clearance.CabLayer{3, 2.04, 0, 6 * deg, 0.0889}, "reach", 2.038117, 5e-7, reach},
		{"250 mm", clearance.CabLayer{3, 2.04, 0.25, 6 * deg, 0.0889}, "reach", 2.064249, 5e-7, reach},
		{"1 m", clearance.CabLayer{3, 2.04, 1, 6 * deg, 0.0889}, "reach", 2.142646, 5e-7, reach},
		{"2 m", clearance.CabLayer{3, 2.04, 2, 6 * deg, 0.0889}, "reach", 2.247174, 5e-7, reach},
		{"roof edge", clearance.CabLayer{3, 2.04, 2.8, 6 * deg, 0.0889}, "reach", 2.330797, 5e-7, reach},
		{"worked example, less 80 mm", clearance.CabLayer{2.8 - 0.575, 2.04, 0.25, 6 * deg, 0.0889}, "gap", 0.080 + 0.08075, 5e-6, "handbook chapter 04, 2.3: margin 80.75 mm over 80 mm"},
		{"slider 100 mm forward", clearance.CabLayer{2.8 - 0.675, 2.04, 0.25, 6 * deg, 0.0889}, "gap", 0.080 - 0.01925, 5e-6, "handbook chapter 04, 2.3: margin −19.25 mm"},
		{"straight ahead", clearance.CabLayer{2.225, 1.5925, 0.25, 0, 0.0889}, "gap", 0.6325, 1e-12, "handbook chapter 04, 2.3: Dc − xf"},
		{"SAE angle", clearance.CabLayer{100 * in, 60 * in, 40 * in, clearance.SAEJ701Pitch, 3.5 * in}, "reach", 64.40043514 * float64(in), 5e-9 * float64(in), "handbook chapter 04, 2.3: H 40, SR 60 in"},
		{"11 % grade itself", clearance.CabLayer{100 * in, 60 * in, 40 * in, unit.Angle(math.Atan(0.11)), 3.5 * in}, "reach", 64.39657220 * float64(in), 5e-9 * float64(in), "handbook chapter 04, 2.3: with atan 0.11"},
		{"level", clearance.CabLayer{2.225, 2.04, 1, 0, 0.0889}, "level", 0.185, 1e-12, "algebra: Dc − Rs"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			g, err := clearance.GapToCab(tt.layer)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]unit.Length{"reach": g.Reach, "gap": g.Gap, "level": g.Level}[tt.what]
			near(t, tt.what, float64(got), tt.want, tt.tol, tt.source)
		})
	}
}

func TestSAEJ701CabDistance(t *testing.T) {
	got, err := clearance.SAEJ701CabDistance(40*in, 60*in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "CFW in", got.Inches(), 64.40043514, 5e-9, "handbook chapter 04, 2.3: H 40, SR 60 in")
	for _, a := range [][2]unit.Length{{-1, 1.5}, {1, 0}, {unit.Length(math.NaN()), 1}, {1, unit.Length(math.NaN())}} {
		_, err := clearance.SAEJ701CabDistance(a[0], a[1])
		wantDomain(t, fmt.Sprint(a), err)
	}
}

// The reach is the greatest X that the corner point takes over all yaws, by
// the transformation of points.
func TestGapToCabIsTheWorstYaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xf := rapid.Float64Range(0.5, 2).Draw(t, "xf")
		w := rapid.Float64Range(1, 2.6).Draw(t, "w")
		l := clearance.CabLayer{
			CabToCoupling: 3, SwingRadius: unit.Length(math.Hypot(xf, w/2)), Height: unit.Length(rapid.Float64Range(0, 3).Draw(t, "z")),
			NoseDown: unit.Angle(rapid.Float64Range(-0.2, 0.2).Draw(t, "β")), TiltAxisDepth: unit.Length(rapid.Float64Range(0, 0.2).Draw(t, "p")),
		}
		g, err := clearance.GapToCab(l)
		if err != nil {
			t.Fatal(err)
		}
		corner := clearance.Point{X: unit.Length(xf), Y: unit.Length(w / 2), Z: l.Height}
		at := func(yaw float64) unit.Length {
			p, err := clearance.InTractor(corner, clearance.Attitude{Yaw: unit.Angle(yaw), NoseDown: l.NoseDown, TiltAxisDepth: l.TiltAxisDepth})
			if err != nil {
				t.Fatal(err)
			}
			return p.X
		}
		ahead := -math.Atan2(w/2, xf)
		near(t, "reach", float64(g.Reach), float64(at(ahead)), 1e-12, "InTractor with the corner straight ahead")
		yaw := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "yaw")
		if x := at(yaw); x > g.Reach+1e-12 {
			t.Errorf("at yaw %g the corner reaches %v, beyond %v", yaw, x, g.Reach)
		}
	})
}

// A slider moved forward by Δ costs Δ, and the cab distance asked for leaves
// exactly the clearance asked for.
func TestGapToCabSlider(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := clearance.CabLayer{2.4, 2.04, unit.Length(rapid.Float64Range(0, 3).Draw(t, "z")), unit.Angle(rapid.Float64Range(0, 0.15).Draw(t, "β")), 0.0889}
		d := unit.Length(rapid.Float64Range(0, 1).Draw(t, "Δ"))
		a, _ := clearance.GapToCab(l)
		l.CabToCoupling -= d
		b, err := clearance.GapToCab(l)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cost", float64(a.Gap-b.Gap), float64(d), 1e-12, "algebra: gap is Dc − X")
		l.CabToCoupling = a.Cab(0.08)
		c, _ := clearance.GapToCab(l)
		near(t, "gap", float64(c.Gap), 0.08, 1e-12, "algebra: inverse")
	})
}

func TestGapToCabRefuses(t *testing.T) {
	nan := math.NaN()
	good := clearance.CabLayer{2.2, 2.04, 0.25, 6 * deg, 0.0889}
	for name, spoil := range map[string]func(*clearance.CabLayer){
		"cab unknown":     func(l *clearance.CabLayer) { l.CabToCoupling = unit.Length(nan) },
		"cab negative":    func(l *clearance.CabLayer) { l.CabToCoupling = -0.1 },
		"radius unknown":  func(l *clearance.CabLayer) { l.SwingRadius = unit.Length(nan) },
		"radius zero":     func(l *clearance.CabLayer) { l.SwingRadius = 0 },
		"height unknown":  func(l *clearance.CabLayer) { l.Height = unit.Length(nan) },
		"pitch unknown":   func(l *clearance.CabLayer) { l.NoseDown = unit.Angle(nan) },
		"pitch upright":   func(l *clearance.CabLayer) { l.NoseDown = 90 * deg },
		"axis unknown":    func(l *clearance.CabLayer) { l.TiltAxisDepth = unit.Length(nan) },
		"height infinite": func(l *clearance.CabLayer) { l.Height = unit.Length(math.Inf(1)) },
	} {
		l := good
		spoil(&l)
		_, err := clearance.GapToCab(l)
		wantDomain(t, name, err)
	}
}

func ExampleGapToCab() {
	g, err := clearance.GapToCab(clearance.CabLayer{
		CabToCoupling: 2225 * unit.Millimetre,
		SwingRadius:   2040 * unit.Millimetre,
		Height:        250 * unit.Millimetre,
		NoseDown:      6 * unit.Degree,
		TiltAxisDepth: clearance.SAEJ701TiltAxisDepth,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("reach %.1f mm, gap %.1f mm\n", g.Reach.Millimetres(), g.Gap.Millimetres())
	// Output: reach 2064.2 mm, gap 160.8 mm
}

func BenchmarkGapToCab(b *testing.B) {
	l := clearance.CabLayer{2.225, 2.04, 0.25, 6 * deg, 0.0889}
	b.ReportAllocs()
	for b.Loop() {
		l.CabToCoupling += 1e-9
		if _, err := clearance.GapToCab(l); err != nil {
			b.Fatal(err)
		}
	}
}
