package clearance_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

func TestGapOverFrame(t *testing.T) {
	const source = "handbook chapter 04, 2.5: frame end h 0.235, p 0.09, d 1.475"
	for _, tt := range []struct {
		pitch         unit.Angle
		level, sunk20 float64 // underside at the plate, and 20 mm below it; m
		tol, tol20    float64
	}{
		{0, 0.235000, 0.215000, 5e-7, 5e-7},
		{3.5 * deg, 0.144953317, 0.124915943, 5e-10, 5e-10},
		{4.5 * deg, 0.119193280, 0.0991314363, 5e-10, 5e-11},
		{6 * deg, 0.0804669981, 0.0603568326, 5e-11, 5e-11},
		{7 * deg, 0.0545686570, 0.0344184605, 5e-11, 5e-11},
		{12 * deg, -0.0765102749, -0.0969570868, 5e-11, 5e-11},
	} {
		o := clearance.Obstacle{Distance: 1.475, Below: 0.235}
		for _, u := range []struct{ t, want, tol float64 }{{0, tt.level, tt.tol}, {-0.020, tt.sunk20, tt.tol20}} {
			g, err := clearance.GapOverFrame(o, clearance.TiltCase{Pitch: tt.pitch, TiltAxisDepth: 0.09, Underside: unit.Length(u.t)})
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("gap at %.1f°, t = %g", tt.pitch.Degrees(), u.t), float64(g.Gap), u.want, u.tol, source)
		}
	}
}

func TestGapOverTyre(t *testing.T) {
	const source = "handbook chapter 04, 2.5: tyre e 0.575, zw −0.66, Rt 0.51, p 0.09, t 0"
	w := clearance.Tyre{Distance: 0.575, Height: -0.66, Radius: 0.51}
	for _, tt := range []struct {
		pitch     unit.Angle
		want, tol float64
	}{
		{0, 0.150000, 5e-7}, {3.5 * deg, 0.113833925, 5e-10}, {4.5 * deg, 0.103128900, 5e-10},
		{6 * deg, 0.0867736140, 5e-11}, {7 * deg, 0.0756764340, 5e-11},
	} {
		g, err := clearance.GapOverTyre(w, clearance.TiltCase{Pitch: tt.pitch, TiltAxisDepth: 0.09})
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("gap at %.1f°", tt.pitch.Degrees()), float64(g.Gap), tt.want, tt.tol, source)
	}
}

// What a roll costs on the outside, over what it costs on the centre line.
func TestRollCost(t *testing.T) {
	for _, tt := range []struct {
		y, want, tol float64 // m
		source       string
	}{
		{1.2, 62.889e-3, 5e-7, "handbook chapter 04, 2.5: 3° at y 1.2"},
		{0.4, 20.963e-3, 5e-7, "handbook chapter 04, 2.5: 3° at y 0.4"},
	} {
		c := clearance.TiltCase{Roll: 3 * deg, TiltAxisDepth: 0.09}
		at := func(y unit.Length) [2]unit.Length {
			f, err := clearance.GapOverFrame(clearance.Obstacle{Distance: 1, Below: 0.2, Offset: y}, c)
			if err != nil {
				t.Fatal(err)
			}
			w, err := clearance.GapOverTyre(clearance.Tyre{Distance: 0.575, Height: -0.66, Radius: 0.51, Offset: y}, c)
			if err != nil {
				t.Fatal(err)
			}
			return [2]unit.Length{f.Gap, w.Gap}
		}
		middle, outside := at(0), at(unit.Length(-tt.y))
		near(t, "cost over the frame", float64(middle[0]-outside[0]), tt.want, tt.tol, tt.source)
		near(t, "cost over the tyre", float64(middle[1]-outside[1]), tt.want, tt.tol, tt.source)
	}
}

// 7° of pitch, 3° of roll and 70 mm of bump each leave room; together they
// interfere. Handbook chapter 04, 2.5: 75.7 − 62.9 − 70 < 0, to 0.1 mm; the
// term (p + t)/cosα gives back 0.12 mm.
func TestCombinedCaseInterferes(t *testing.T) {
	w := clearance.Tyre{Distance: 0.575, Height: -0.66, Radius: 0.51, Offset: 1.2}
	one := func(pitch, roll unit.Angle, bump unit.Length) clearance.TiltGap {
		g, err := clearance.GapOverTyre(w, clearance.TiltCase{Pitch: pitch, Roll: roll, Bump: bump, TiltAxisDepth: 0.09})
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	for _, g := range []clearance.TiltGap{one(7*deg, 0, 0), one(0, 3*deg, 0), one(0, 0, 0.07)} {
		if !(g.Gap > 0) {
			t.Errorf("one movement alone leaves %v, want room", g.Gap)
		}
	}
	all := one(7*deg, 3*deg, 0.07)
	near(t, "combined gap", all.Gap.Millimetres(), 75.6764340-62.889-70, 0.13, "handbook chapter 04, 2.5")
	near(t, "parts", float64(all.Level-all.PitchLoss-all.RollLoss-all.BumpLoss), float64(all.Gap), 1e-15, "algebra: the losses of one case add up to its gap")
}

// The underside, moved as a plane by the transformation of points, stands
// above the obstacle by the gap of the formula.
func TestGapOverFrameAgreesWithTransformation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		o := clearance.Obstacle{Distance: unit.Length(f(0, 3, "d")), Below: unit.Length(f(0, 0.4, "h")), Offset: unit.Length(f(0, 1.3, "y"))}
		c := clearance.TiltCase{Pitch: unit.Angle(f(0, 0.3, "β")), Roll: unit.Angle(f(0, 0.2, "α")), TiltAxisDepth: unit.Length(f(0, 0.2, "p")), Underside: unit.Length(f(-0.1, 0.1, "t"))}
		g, err := clearance.GapOverFrame(o, c)
		if err != nil {
			t.Fatal(err)
		}
		// Three points of the underside, nose-up (negative pitch), left side
		// down, so that the plane comes down at y > 0 behind the pin.
		a := clearance.Attitude{NoseDown: -c.Pitch, LeftUp: -c.Roll, TiltAxisDepth: c.TiltAxisDepth}
		var q [3]clearance.Point
		for i, xy := range [3][2]unit.Length{{0, 0}, {-2, 0}, {0, 1}} {
			if q[i], err = clearance.InTractor(clearance.Point{X: xy[0], Y: xy[1], Z: c.Underside}, a); err != nil {
				t.Fatal(err)
			}
		}
		// z of the plane over (−d, y), from the normal of the three points.
		sub := func(a, b clearance.Point) [3]float64 {
			return [3]float64{float64(a.X - b.X), float64(a.Y - b.Y), float64(a.Z - b.Z)}
		}
		u, v := sub(q[1], q[0]), sub(q[2], q[0])
		n := [3]float64{u[1]*v[2] - u[2]*v[1], u[2]*v[0] - u[0]*v[2], u[0]*v[1] - u[1]*v[0]}
		x, y := -float64(o.Distance), float64(o.Offset)
		z := float64(q[0].Z) - (n[0]*(x-float64(q[0].X))+n[1]*(y-float64(q[0].Y)))/n[2]
		near(t, "gap", float64(g.Gap), z+float64(o.Below), 1e-9, "plane through three transformed points")
		if g.Gap > 0 && g.Slope > 0 {
			o.Distance += g.Farther(0.01)
			if o.Distance >= 0 {
				h, _ := clearance.GapOverFrame(o, c)
				near(t, "gap after moving", float64(h.Gap), 0.01, 1e-9, "algebra: inverse in the distance")
			}
		}
	})
}

// The tyre's gap is the distance of its circle from the underside line in the
// plane of the wheel, by sampling the circle.
func TestGapOverTyreAgreesWithCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		w := clearance.Tyre{Distance: unit.Length(f(0, 2, "e")), Height: unit.Length(f(-0.9, -0.5, "zw")), Radius: 0.5}
		c := clearance.TiltCase{Pitch: unit.Angle(f(0, 0.3, "β")), TiltAxisDepth: unit.Length(f(0, 0.2, "p")), Underside: unit.Length(f(-0.1, 0.1, "t"))}
		g, err := clearance.GapOverTyre(w, c)
		if err != nil {
			t.Fatal(err)
		}
		// The highest vertical gap's point is not the nearest; measure square to the line.
		β, p := float64(c.Pitch), float64(c.TiltAxisDepth)
		least := math.Inf(1)
		for i := range 3600 {
			s, k := math.Sincos(2 * math.Pi * float64(i) / 3600)
			x, z := -float64(w.Distance)+0.5*k, float64(w.Height)+0.5*s
			// Into trailer axes: turn back by the nose-up pitch about the tilt axis.
			zt := -x*math.Sin(β) + (z+p)*math.Cos(β)
			least = math.Min(least, p+float64(c.Underside)-zt)
		}
		near(t, "gap", float64(g.Gap), least, 1e-6, "3600 points of the circle")
		if g.Slope > 0.01 {
			w.Distance += g.Farther(0.02)
			if w.Distance >= 0 {
				h, _ := clearance.GapOverTyre(w, c)
				near(t, "gap after moving", float64(h.Gap), 0.02, 1e-9, "algebra: inverse in the distance")
			}
		}
	})
}

func TestFartherWithoutPitch(t *testing.T) {
	o := clearance.Obstacle{Distance: 1, Below: 0.1}
	g, _ := clearance.GapOverFrame(o, clearance.TiltCase{})
	if d := g.Farther(0.05); !math.IsInf(float64(d), 1) {
		t.Errorf("room without pitch: %v, want +Inf", d)
	}
	if d := g.Farther(0.2); !math.IsInf(float64(d), -1) {
		t.Errorf("no room without pitch: %v, want −Inf", d)
	}
}

func TestObstacleOnAxleTakesTheBump(t *testing.T) {
	c := clearance.TiltCase{Bump: 0.07, TiltAxisDepth: 0.09}
	for _, tt := range []struct {
		onAxle bool
		want   float64
	}{{false, 0.2}, {true, 0.13}} {
		g, err := clearance.GapOverFrame(clearance.Obstacle{Distance: 1, Below: 0.2, OnAxle: tt.onAxle}, c)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "gap", float64(g.Gap), tt.want, 1e-12, "hand: h less the bump of what moves with the axle")
	}
}

func TestAngleSets(t *testing.T) {
	want := map[string]struct {
		down, up, roll, yaw float64 // degrees, NaN where the source gives none
		evidence            string
		source              string
	}{
		"interchange":         {6, 7, 3, math.NaN(), clearance.Memory, "handbook chapter 04, table of 2.5, ISO 1726-1 (b)"},
		"low-coupling":        {3.5, 4.5, math.NaN(), math.NaN(), clearance.Read, "same table, ISO 1726-2 (a)"},
		"sae-grade":           {6 + 17./60, math.NaN(), math.NaN(), math.NaN(), clearance.Read, "same table, SAE J701 (a)"},
		"trade-press-1990":    {6, math.NaN(), math.NaN(), math.NaN(), clearance.Practice, "2.3: trade press of 25 Oct 1990"},
		"r55-draft-installed": {7, 7, 3, 90, clearance.Practice, "same table, R55-07-10, not adopted"},
		"r55-component":       {12, 12, 3, 90, clearance.Memory, "same table, UN R55 (b)"},
	}
	same := func(a unit.Angle, b float64) bool {
		return math.Abs(a.Degrees()-b) <= 1e-12 || (math.IsNaN(float64(a)) && math.IsNaN(b))
	}
	if len(want) != len(clearance.AngleSets) {
		t.Errorf("%d sets, want %d", len(clearance.AngleSets), len(want))
	}
	for _, s := range clearance.AngleSets {
		w, ok := want[s.ID]
		if !ok {
			t.Errorf("set %q is not in the table", s.ID)
			continue
		}
		if !same(s.NoseDown, w.down) || !same(s.NoseUp, w.up) || !same(s.Roll, w.roll) || !same(s.Yaw, w.yaw) || s.Evidence != w.evidence {
			t.Errorf("%s: %+v, want %+v (%s)", s.ID, s, w, w.source)
		}
		if s.Name == "" || s.Source == "" {
			t.Errorf("%s has no name or no source", s.ID)
		}
	}
}

// An angle that a set does not give is refused, never taken as zero.
func TestMissingAngleIsRefused(t *testing.T) {
	for _, s := range clearance.AngleSets {
		c := s.Rearward(clearance.Clearances{TiltAxisDepth: 0.09, Bump: 0.07})
		_, err := clearance.GapOverTyre(clearance.Tyre{Distance: 0.575, Height: -0.66, Radius: 0.51, Offset: 1.2}, c)
		if missing := math.IsNaN(float64(s.NoseUp)) || math.IsNaN(float64(s.Roll)); missing {
			wantDomain(t, s.ID, err)
		} else if err != nil {
			t.Errorf("%s: %v", s.ID, err)
		}
	}
	c := clearance.AngleSets[0].Forward(clearance.Clearances{Bump: 0.05})
	if want := "standard interchange, nose-down and roll and bump"; c.Name != want || c.Pitch != 6*deg {
		t.Errorf("case %q pitches %v°, want %q at 6°", c.Name, c.Pitch.Degrees(), want)
	}
}

func TestPitchRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	nanA := unit.Angle(math.NaN())
	o, w := clearance.Obstacle{Distance: 1, Below: 0.2}, clearance.Tyre{Distance: 1, Height: -0.6, Radius: 0.5}
	for name, c := range map[string]clearance.TiltCase{
		"pitch unknown": {Pitch: nanA}, "pitch away": {Pitch: -1 * deg}, "pitch upright": {Pitch: 90 * deg}, "roll unknown": {Roll: nanA},
		"roll negative": {Roll: -1 * deg}, "bump unknown": {Bump: nan}, "bump negative": {Bump: -0.01},
		"axis unknown": {TiltAxisDepth: nan}, "underside unknown": {Underside: nan},
	} {
		_, err := clearance.GapOverFrame(o, c)
		wantDomain(t, name, err)
		_, err = clearance.GapOverTyre(w, c)
		wantDomain(t, name, err)
	}
	for _, o := range []clearance.Obstacle{{Distance: nan}, {Distance: -1}, {Below: nan}, {Offset: nan}} {
		_, err := clearance.GapOverFrame(o, clearance.TiltCase{})
		wantDomain(t, fmt.Sprint(o), err)
	}
	for _, w := range []clearance.Tyre{{nan, -0.6, 0.5, 0}, {-1, -0.6, 0.5, 0}, {1, nan, 0.5, 0}, {1, -0.6, nan, 0}, {1, -0.6, 0, 0}, {1, -0.6, 0.5, nan}} {
		_, err := clearance.GapOverTyre(w, clearance.TiltCase{})
		wantDomain(t, fmt.Sprint(w), err)
	}
}

func ExampleGapOverTyre() {
	tyre := clearance.Tyre{Distance: 575 * unit.Millimetre, Height: -660 * unit.Millimetre, Radius: 510 * unit.Millimetre, Offset: 1200 * unit.Millimetre}
	g, err := clearance.GapOverTyre(tyre, clearance.AngleSets[0].Rearward(clearance.Clearances{
		TiltAxisDepth: 90 * unit.Millimetre, Bump: 70 * unit.Millimetre,
	}))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.1f mm\n", g.Case, g.Gap.Millimetres())
	// Output: standard interchange, nose-up and roll and bump: -57.1 mm
}
