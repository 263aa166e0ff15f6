package bolting_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"underpin/bolting"
	"underpin/unit"
)

func points(mm ...float64) []bolting.Point {
	var p []bolting.Point
	for i := 0; i < len(mm); i += 2 {
		p = append(p, bolting.Point{X: unit.Length(mm[i]) * unit.Millimetre, Y: unit.Length(mm[i+1]) * unit.Millimetre})
	}
	return p
}

// feet is the pattern of handbook chapter 06, A5-5: twelve bolts, four at each
// of three x; y is our own, it does not enter.
func feet() []bolting.Point {
	var p []bolting.Point
	for _, x := range []float64{-120, 0, 120} {
		for _, y := range []float64{-480, -400, 400, 480} {
			p = append(p, bolting.Point{X: unit.Length(x) * unit.Millimetre, Y: unit.Length(y) * unit.Millimetre})
		}
	}
	return p
}

func TestEccentricGroup(t *testing.T) {
	const source = "Shigley, Mechanical Engineering Design, ch. 8, four bolts, 16 kN at 425 mm, as remembered; arithmetic handbook chapter 06, A5-4"
	bolts := points(-75, -60, 75, -60, -75, 60, 75, 60)
	g, err := bolting.GroupOf(bolts)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Σr²", float64(g.Polar())*1e6, 4*(75*75+60*60), 1e-6, "hand: 36 900 mm²")
	load := g.LoadFrom(bolting.Applied{At: bolting.Point{X: 0.425}, Y: 16 * unit.Kilonewton})
	near(t, "M", float64(load.Twist), 6800, 1e-9, source)
	got, err := bolting.ForcesOnBolts(nil, bolts, load)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{14.79, 20.97, 14.79, 20.97} {
		near(t, fmt.Sprintf("bolt %d", i), got.Bolts[i].Shear.Kilonewtons(), want, 0.005, source)
	}
	pure, err := bolting.ForcesOnBolts(nil, bolts, bolting.GroupLoad{Twist: load.Twist})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "secondary shear", pure.Bolts[0].Shear.Kilonewtons(), 17.70, 0.005, source)
	if got.MostShear != 1 && got.MostShear != 3 {
		t.Errorf("worst bolt %d, want one on the side of the load", got.MostShear)
	}
}

func TestWebRow(t *testing.T) {
	const source = "handbook chapter 06, A5-6: 8 bolts in a row on the frame web, one side"
	row := points(-350, 0, -250, 0, -150, 0, -50, 0, 50, 0, 150, 0, 250, 0, 350, 0)
	g, err := bolting.GroupOf(row)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Σx²", float64(g.XX)*1e6, 420000, 1e-6, source)
	// The row lies in the web: y is down the web, H acts 260 mm above it.
	load := g.LoadFrom(bolting.Applied{At: bolting.Point{Y: -0.260}, X: 45 * unit.Kilonewton, Y: 117.72 * unit.Kilonewton})
	near(t, "M_z", math.Abs(float64(load.Twist)), 11700, 1e-9, source)
	got, err := bolting.ForcesOnBolts(nil, row, load)
	if err != nil {
		t.Fatal(err)
	}
	worst := got.Bolts[got.MostShear]
	near(t, "H share", worst.X.Kilonewtons(), 5.625, 5e-4, source)
	near(t, "V share", worst.Y.Kilonewtons(), 14.715+9.750, 5e-4, source)
	near(t, "F_Q", worst.Shear.Kilonewtons(), 25.103, 5e-4, source)
}

func TestFeetAxial(t *testing.T) {
	const source = "handbook chapter 06, A5-5: F_A = M·120/115 200 − V/12"
	g, err := bolting.GroupOf(feet())
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ h, v, want float64 }{
		{90, 78.48, 12.210}, {90, 235.44, -0.870}, {150, 196.20, 14.900}, {150, 0, 31.250},
	} {
		got, err := bolting.ForcesOnBolts(nil, feet(), g.LoadFrom(bolting.Applied{
			Height: 0.2, X: unit.Force(tt.h) * unit.Kilonewton, Down: unit.Force(tt.v) * unit.Kilonewton,
		}))
		if err != nil {
			t.Fatal(err)
		}
		worst := got.Bolts[got.MostAxial]
		near(t, fmt.Sprintf("H %g V %g", tt.h, tt.v), worst.Axial.Kilonewtons(), tt.want, 5e-4, source)
		if x := feet()[got.MostAxial].X; !(x < 0) {
			t.Errorf("H rearwards above the bolts pulls at x = %v, want ahead", x)
		}
	}
}

// drawPattern draws bolts that are not all in one line.
func drawPattern(rt *rapid.T) []bolting.Point {
	n := rapid.IntRange(3, 14).Draw(rt, "n")
	p := make([]bolting.Point, n)
	for i := range p {
		p[i].X = unit.Length(rapid.IntRange(-600, 600).Draw(rt, "x")) * unit.Millimetre
		p[i].Y = unit.Length(rapid.IntRange(-600, 600).Draw(rt, "y")) * unit.Millimetre
	}
	g, err := bolting.GroupOf(p)
	if err != nil {
		rt.Fatal(err)
	}
	if det := float64(g.XX*g.YY - g.XY*g.XY); !(det > 1e-4*float64(g.Polar()*g.Polar())) {
		rt.Skip("nearly one row")
	}
	return p
}

func drawLoad(rt *rapid.T) bolting.GroupLoad {
	f := func(name string) float64 { return float64(rapid.IntRange(-300_000, 300_000).Draw(rt, name)) }
	return bolting.GroupLoad{
		ShearX: unit.Force(f("qx")), ShearY: unit.Force(f("qy")), Twist: unit.Torque(f("mz")),
		Axial: unit.Force(f("n")), TiltX: unit.Torque(f("my")), TiltY: unit.Torque(f("mx")),
	}
}

// TestGroupAgainstLeastSquares solves the same pattern by another road: among
// all sets of bolt forces in equilibrium with the load, equal springs under a
// rigid fitting take the one of least squares.
func TestGroupAgainstLeastSquares(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p, load := drawPattern(rt), drawLoad(rt)
		got, err := bolting.ForcesOnBolts(nil, p, load)
		if err != nil {
			rt.Fatal(err)
		}
		n, c := len(p), got.Group.Centroid
		shear, axial := mat.NewDense(3, 2*n, nil), mat.NewDense(3, n, nil)
		for i, b := range p {
			x, y := float64(b.X-c.X), float64(b.Y-c.Y)
			shear.Set(0, 2*i, 1)
			shear.Set(1, 2*i+1, 1)
			shear.Set(2, 2*i, -y)
			shear.Set(2, 2*i+1, x)
			axial.Set(0, i, 1)
			axial.Set(1, i, x)
			axial.Set(2, i, y)
		}
		least := func(a *mat.Dense, b ...float64) *mat.VecDense {
			var x mat.VecDense
			if err := x.SolveVec(a, mat.NewVecDense(3, b)); err != nil { // minimum norm: fewer rows than columns
				rt.Fatal(err)
			}
			return &x
		}
		s := least(shear, float64(load.ShearX), float64(load.ShearY), float64(load.Twist))
		a := least(axial, float64(load.Axial), float64(load.TiltX), float64(load.TiltY))
		for i, f := range got.Bolts {
			for what, pair := range map[string][2]float64{
				"F_x": {float64(f.X), s.AtVec(2 * i)}, "F_y": {float64(f.Y), s.AtVec(2*i + 1)}, "F_A": {float64(f.Axial), a.AtVec(i)},
			} {
				if diff := math.Abs(pair[0] - pair[1]); !(diff <= 1e-9*1e6) {
					rt.Errorf("bolt %d: %s = %g, least squares %g", i, what, pair[0], pair[1])
				}
			}
		}
	})
}

func TestGroupEquilibrium(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPattern(rt)
		g, err := bolting.GroupOf(p)
		if err != nil {
			rt.Fatal(err)
		}
		force := func(name string) unit.Force { return unit.Force(rapid.IntRange(-200_000, 200_000).Draw(rt, name)) }
		place := func(name string) unit.Length {
			return unit.Length(rapid.IntRange(-900, 900).Draw(rt, name)) * unit.Millimetre
		}
		a := bolting.Applied{
			At: bolting.Point{X: place("ex"), Y: place("ey")}, Height: place("h"),
			X: force("fx"), Y: force("fy"), Down: force("fz"),
		}
		got, err := bolting.ForcesOnBolts(nil, p, g.LoadFrom(a))
		if err != nil {
			rt.Fatal(err)
		}
		// Sums over the bolts about the datum, against the force about the datum.
		var fx, fy, pull, twist, tiltX, tiltY float64
		for i, b := range got.Bolts {
			x, y := float64(p[i].X), float64(p[i].Y)
			fx += float64(b.X)
			fy += float64(b.Y)
			pull += float64(b.Axial)
			twist += x*float64(b.Y) - y*float64(b.X)
			tiltX += x * float64(b.Axial)
			tiltY += y * float64(b.Axial)
		}
		ex, ey, h := float64(a.At.X), float64(a.At.Y), float64(a.Height)
		for what, pair := range map[string][2]float64{
			"ΣF_x": {fx, float64(a.X)}, "ΣF_y": {fy, float64(a.Y)}, "ΣF_A": {pull, -float64(a.Down)},
			"ΣM_z": {twist, ex*float64(a.Y) - ey*float64(a.X)},
			// The bolts pull the fitting down at x, the force presses it down at ex
			// and, h above, turns it rearwards: the three balance.
			"ΣM_y": {tiltX, -ex*float64(a.Down) - h*float64(a.X)},
			"ΣM_x": {tiltY, -ey*float64(a.Down) - h*float64(a.Y)},
		} {
			if diff := math.Abs(pair[0] - pair[1]); !(diff <= 1e-3) {
				rt.Errorf("%s: bolts %g, load %g", what, pair[0], pair[1])
			}
		}
	})
}

func TestSingleRowTilts(t *testing.T) {
	// A slanted row: tilting along it is shared as M·s/Σs², across it refused.
	row := points(-300, -400, 0, 0, 300, 400)
	got, err := bolting.ForcesOnBolts(nil, row, bolting.GroupLoad{TiltX: 600, TiltY: 800})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "outer bolt", got.Bolts[2].Axial.Newtons(), 1000*0.5/0.5, 1e-9, "hand: M 1000 N·m, s ±0.5 m, Σs² 0.5 m²")
	near(t, "middle bolt", got.Bolts[1].Axial.Newtons(), 0, 1e-9, "hand")
	down := points(-300, 400, 0, 0, 300, -400)
	got, err = bolting.ForcesOnBolts(nil, down, bolting.GroupLoad{TiltX: 600, TiltY: -800})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "outer bolt, other slant", got.Bolts[2].Axial.Newtons(), 1000, 1e-9, "hand")
}

func TestGroupHasNoAnswer(t *testing.T) {
	row, one := points(-300, 0, 0, 0, 300, 0), points(50, 50)
	for name, in := range map[string]struct {
		bolts []bolting.Point
		load  bolting.GroupLoad
	}{
		"tilt across a row":    {row, bolting.GroupLoad{TiltY: 1}},
		"tilt aslant of a row": {row, bolting.GroupLoad{TiltX: 1, TiltY: 1}},
		"twist on one bolt":    {one, bolting.GroupLoad{Twist: 1}},
		"tilt on one bolt":     {one, bolting.GroupLoad{TiltX: 1}},
	} {
		var none *unit.NoAnswerError
		if _, err := bolting.ForcesOnBolts(nil, in.bolts, in.load); !errors.As(err, &none) {
			t.Errorf("%s: %v; want a NoAnswerError", name, err)
		}
	}
	nan := math.NaN()
	for name, in := range map[string]struct {
		bolts []bolting.Point
		load  bolting.GroupLoad
	}{
		"no bolts":  {nil, bolting.GroupLoad{}},
		"NaN place": {[]bolting.Point{{X: unit.Length(nan)}}, bolting.GroupLoad{}},
		"NaN load":  {row, bolting.GroupLoad{Axial: unit.Force(nan)}},
		"inf load":  {row, bolting.GroupLoad{ShearX: unit.Force(math.Inf(1))}},
	} {
		var domain *unit.DomainError
		if _, err := bolting.ForcesOnBolts(nil, in.bolts, in.load); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

func TestOpenJoint(t *testing.T) {
	// Two bolts 100 mm and two 300 mm from the compressed edge.
	got, err := bolting.OpenJoint([]unit.Length{0.1, 0.1, 0.3, 0.3}, 20000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "F_A,max", got.Kilonewtons(), 20*0.3/0.2, 1e-9, "hand: M·z_max/Σz² = 20 kN·m · 0.3 m / 0.2 m²")
	for name, z := range map[string][]unit.Length{"none": nil, "on the edge": {0, 0}, "behind it": {-0.1, 0.2}, "NaN": {unit.Length(math.NaN())}} {
		var domain *unit.DomainError
		if _, err := bolting.OpenJoint(z, 1); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

func TestGroupDoesNotAllocate(t *testing.T) {
	bolts, dst := feet(), make([]bolting.BoltForce, 0, 12)
	if n := testing.AllocsPerRun(100, func() {
		out, err := bolting.ForcesOnBolts(dst, bolts, bolting.GroupLoad{ShearX: 9e4, TiltX: 18e3, Twist: 1e3, Axial: -7e4})
		if err != nil || len(out.Bolts) != 12 {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations with room in dst", n)
	}
}

func ExampleForcesOnBolts() {
	bolts := []bolting.Point{{X: -0.075, Y: -0.06}, {X: 0.075, Y: -0.06}, {X: -0.075, Y: 0.06}, {X: 0.075, Y: 0.06}}
	f, err := bolting.ForcesOnBolts(nil, bolts, bolting.GroupLoad{ShearY: 16 * unit.Kilonewton, Twist: 6800})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("worst bolt: number %d, %.2f kN\n", f.MostShear+1, f.Bolts[f.MostShear].Shear.Kilonewtons())
	// Output: worst bolt: number 2, 20.97 kN
}

func BenchmarkForcesOnBolts(b *testing.B) {
	bolts, dst := feet(), make([]bolting.BoltForce, 0, 12)
	load := bolting.GroupLoad{ShearX: 9e4, TiltX: 18e3, Axial: -7e4}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := bolting.ForcesOnBolts(dst, bolts, load); err != nil {
			b.Fatal(err)
		}
	}
}
