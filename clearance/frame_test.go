package clearance_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

const (
	deg = unit.Degree
	mm  = unit.Millimetre
	in  = unit.Inch
)

// near fails when got is not within tol of want; NaN fails.
func near(t interface {
	Helper()
	Errorf(string, ...any)
}, what string, got, want, tol float64, source string) {
	t.Helper()
	if diff := math.Abs(got - want); !(diff <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g (%s)", what, got, want, tol, source)
	}
}

func wantDomain(t *testing.T, what string, err error) {
	t.Helper()
	var domain *unit.DomainError
	if !errors.As(err, &domain) {
		t.Errorf("%s gave error %v, want a *unit.DomainError", what, err)
	}
}

func wantNoAnswer(t *testing.T, what string, err error) {
	t.Helper()
	var none *unit.NoAnswerError
	if !errors.As(err, &none) {
		t.Errorf("%s gave error %v, want a *unit.NoAnswerError", what, err)
	}
}

func TestInTractor(t *testing.T) {
	corner := unit.Angle(-math.Atan(1.275 / 1.5925)) // −38.6817396519°
	const source = "handbook chapter 04, table of 2.1: rotations worked out at (1.5925, 1.275, 0.25), p = 0.0889"
	for _, tt := range []struct {
		name             string
		yaw, pitch, roll unit.Angle
		x, y, z          float64
		tx, ty, tz       float64 // half of the last printed digit
		source           string
	}{
		{"corner straight ahead, level", corner, 0, 0, 2.040019914, 0, 0.25, 5e-10, 5e-10, 5e-10, source},
		{"corner straight ahead, 6°", corner, 6 * deg, 0, 2.064269168, 0, 0.03490332368, 5e-10, 5e-10, 5e-12, source},
		{"corner straight ahead, 6° and 3°", corner, 6 * deg, 3 * deg, 2.064220619, -0.01773665557, 0.03444141732, 5e-10, 5e-12, 5e-12, source},
		{"20°, 6°", -20 * deg, 6 * deg, 0, 1.957374242, 0.6534410133, 0.0461384331, 5e-10, 5e-11, 5e-11, source},
		{"20°, 6° and 3°", -20 * deg, 6 * deg, 3 * deg, 1.960900406, 0.6348088395, 0.07968764427, 5e-10, 5e-11, 5e-12, source},
		{"60°, 6°", -60 * deg, 6 * deg, 0, 1.925446319, -0.7416454555, 0.04949419309, 5e-10, 5e-11, 5e-12, source},
		{"90°, 6° and 3°", -90 * deg, 6 * deg, 3 * deg, 1.294679639, -1.60805419, 0.03151933568, 5e-10, 5e-9, 5e-12, source},
		{"nothing moves", 0, 0, 0, 1.5925, 1.275, 0.25, 0, 0, 1e-15, "algebra: no rotation leaves the point"},
		{"quarter turn to the left", 90 * deg, 0, 0, -1.275, 1.5925, 0.25, 1e-15, 1e-15, 1e-15, "algebra: (x, y) becomes (−y, x)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := clearance.InTractor(clearance.Point{X: 1.5925, Y: 1.275, Z: 0.25},
				clearance.Attitude{Yaw: tt.yaw, NoseDown: tt.pitch, LeftUp: tt.roll, TiltAxisDepth: 0.0889})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "X", float64(got.X), tt.x, tt.tx, tt.source)
			near(t, "Y", float64(got.Y), tt.y, tt.ty, tt.source)
			near(t, "Z", float64(got.Z), tt.z, tt.tz, tt.source)
		})
	}
}

// A rigid motion keeps the distance of two points.
func TestInTractorIsRigid(t *testing.T) {
	length := rapid.Float64Range(-15, 15)
	angle := rapid.Float64Range(-1.5, 1.5)
	point := func(t *rapid.T, name string) clearance.Point {
		return clearance.Point{X: unit.Length(length.Draw(t, name+".x")), Y: unit.Length(length.Draw(t, name+".y")), Z: unit.Length(length.Draw(t, name+".z"))}
	}
	dist := func(a, b clearance.Point) float64 {
		return math.Hypot(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)), float64(a.Z-b.Z))
	}
	rapid.Check(t, func(t *rapid.T) {
		a := clearance.Attitude{
			Yaw: unit.Angle(rapid.Float64Range(-7, 7).Draw(t, "yaw")), NoseDown: unit.Angle(angle.Draw(t, "pitch")),
			LeftUp: unit.Angle(angle.Draw(t, "roll")), TiltAxisDepth: unit.Length(rapid.Float64Range(0, 0.2).Draw(t, "p")),
		}
		p, q := point(t, "p"), point(t, "q")
		P, err := clearance.InTractor(p, a)
		if err != nil {
			t.Fatal(err)
		}
		Q, err := clearance.InTractor(q, a)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "distance", dist(P, Q), dist(p, q), 1e-12*(1+dist(p, q)), "algebra: rotations are isometries")
	})
}

func TestInTractorRefuses(t *testing.T) {
	nan := math.NaN()
	for i, in := range []struct {
		q clearance.Point
		a clearance.Attitude
	}{
		{clearance.Point{X: unit.Length(nan)}, clearance.Attitude{}},
		{clearance.Point{Z: unit.Length(math.Inf(1))}, clearance.Attitude{}},
		{clearance.Point{}, clearance.Attitude{Yaw: unit.Angle(nan)}},
		{clearance.Point{}, clearance.Attitude{NoseDown: unit.Angle(nan)}},
		{clearance.Point{}, clearance.Attitude{LeftUp: 90 * deg}},
		{clearance.Point{}, clearance.Attitude{TiltAxisDepth: unit.Length(nan)}},
	} {
		_, err := clearance.InTractor(in.q, in.a)
		wantDomain(t, "case "+string(rune('0'+i)), err)
	}
}
