package rating_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/rating"
	"underpin/unit"
)

func TestRequiredDc(t *testing.T) {
	for _, tt := range []struct {
		t, c, want float64
		source     string
	}{
		{26, 17, 100.8377, "handbook chapter 01, 6, #18"},
		{18, 10, 63.0643, "handbook chapter 01, 6, #19"},
	} {
		got, err := rating.RequiredDc(tonnes(tt.t), tonnes(tt.c))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("Dc(%v, %v)", tt.t, tt.c), got.Kilonewtons(), tt.want, 5e-5, tt.source)
		// The full trailer's formula has the same form.
		got, err = rating.HingedDrawbarD(tonnes(tt.t), tonnes(tt.c))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "D of a full trailer", got.Kilonewtons(), tt.want, 5e-5, "handbook chapter 01, 1.2: g·T·R/(T + R), as "+tt.source)
	}
	nan := unit.Mass(math.NaN())
	for _, bad := range [][2]unit.Mass{{0, 1}, {1, 0}, {nan, 1}, {1, nan}, {-1, 1}} {
		_, err := rating.RequiredDc(bad[0], bad[1])
		wantDomain(t, fmt.Sprint(bad), err)
		_, err = rating.HingedDrawbarD(bad[0], bad[1])
		wantDomain(t, fmt.Sprint(bad), err)
	}
}

func TestRequiredV(t *testing.T) {
	for _, tt := range []struct {
		a, x, l, c, want, ratio, tolRatio float64
		short                             bool
		source                            string
	}{
		{1.8, 7.7, 7.3, 17, 34.0453, 1.11259, 5e-6, false, "handbook chapter 01, 6, #20"},
		{1.8, 6.0, 6.5, 10, 18.0000, 1, 0, true, "handbook chapter 01, 6, #22: ratio 0.852 becomes 1.0"},
		{2.4, 6.0, 5.0, 10, 34.5600, 1.44, 1e-12, false, "handbook chapter 01, 6, #23"},
	} {
		got, err := rating.RequiredV(rating.CentreAxle{
			Acceleration: unit.Accel(tt.a), LoadLength: unit.Length(tt.x), DrawbarLength: unit.Length(tt.l), Axles: tonnes(tt.c),
		})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "V", got.V.Kilonewtons(), tt.want, 5e-5, tt.source)
		near(t, "ratio", got.Ratio, tt.ratio, tt.tolRatio, tt.source)
		if got.Short != tt.short {
			t.Errorf("short %v, want %v (%s)", got.Short, tt.short, tt.source)
		}
	}
	nan := math.NaN()
	good := rating.CentreAxle{Acceleration: rating.AirSprung, LoadLength: 7, DrawbarLength: 7, Axles: 10e3}
	for name, spoil := range map[string]func(*rating.CentreAxle){
		"acceleration 2.0":   func(c *rating.CentreAxle) { c.Acceleration = 2.0 },
		"acceleration NaN":   func(c *rating.CentreAxle) { c.Acceleration = unit.Accel(nan) },
		"no load length":     func(c *rating.CentreAxle) { c.LoadLength = 0 },
		"drawbar length NaN": func(c *rating.CentreAxle) { c.DrawbarLength = unit.Length(nan) },
		"no axles":           func(c *rating.CentreAxle) { c.Axles = 0 },
	} {
		c := good
		spoil(&c)
		_, err := rating.RequiredV(c)
		wantDomain(t, name, err)
	}
}

func ExampleRequiredV() {
	v, err := rating.RequiredV(rating.CentreAxle{
		Acceleration: rating.AirSprung, LoadLength: 7.7, DrawbarLength: 7.3, Axles: 17 * unit.Tonne,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("V = %.2f kN\n", v.V.Kilonewtons())
	// Output: V = 34.05 kN
}
