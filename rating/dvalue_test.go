package rating_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/rating"
	"underpin/unit"
)

func TestRequiredD(t *testing.T) {
	for _, tt := range []struct {
		t, r, u, want, tol float64
		source             string
	}{
		{18, 35, 11, 88.2900, 5e-5, "handbook chapter 01, 6, #10"},
		{18, 36, 12, 90.8126, 5e-5, "handbook chapter 01, 6, #11"},
		{18, 32, 10, 84.7584, 5e-5, "handbook chapter 01, 6, #12"},
		{26, 39, 15, 119.3681, 5e-5, "handbook chapter 01, 6, #14"},
		{26, 66, 20, 140.2830, 5e-5, "handbook chapter 01, 6, #16"},
		{22, 37, 14, 106.47, 5e-3, "handbook chapter 01, 1.2"},
		{18, 32.2, 10.2, 85.288, 5e-4, "handbook chapter 03, 6.3"},
		{18, 39, 12, 91.822, 5e-4, "handbook chapter 03, 6.3"},
		{20, 20, 0, 58.86, 1e-9, "algebra: T = R, U = 0 leaves 0.3·g·T"},
	} {
		d, err := rating.RequiredD(tonnes(tt.t), tonnes(tt.r), tonnes(tt.u))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("D(%v, %v, %v)", tt.t, tt.r, tt.u), d.D.Kilonewtons(), tt.want, tt.tol, tt.source)
		near(t, "combined", d.Combined.Tonnes(), tt.t+tt.r-tt.u, 1e-9, "algebra: T + R − U")
	}
}

// The two usual errors of entry, and a misprint that is in circulation. All come
// out too small.
func TestUsualErrorsComeOutSmall(t *testing.T) {
	const src = "handbook chapter 01, 1.2, reading aid"
	right, err := rating.RequiredD(22*t_, 37*t_, 14*t_)
	if err != nil {
		t.Fatal(err)
	}
	// T without the imposed load is no more than U here, and is refused; the
	// bare formula would give 56.20.
	_, err = rating.RequiredD(8*t_, 37*t_, 14*t_)
	wantDomain(t, "tractor without its imposed load", err)
	// R as the axle loads only.
	wrong, err := rating.RequiredD(22*t_, (37-14)*t_, 14*t_)
	if err != nil {
		t.Fatal(err)
	}
	if !(wrong.D < right.D) {
		t.Errorf("axle loads only: %v, want less than %v (%s)", wrong.D, right.D, src)
	}
	near(t, "misprint with U for R", right.D.Kilonewtons()*14/37, 40.29, 5e-3, src)
}

func TestSlopesOfD(t *testing.T) {
	const src = "handbook chapter 01, 1.2, at T 22, R 37, U 14, kN per t"
	d := func(T, R, U float64) float64 {
		v, err := rating.RequiredD(tonnes(T), tonnes(R), tonnes(U))
		if err != nil {
			t.Fatal(err)
		}
		return v.D.Kilonewtons()
	}
	const h = 1e-4
	near(t, "∂D/∂T", (d(22+h, 37, 14)-d(22-h, 37, 14))/(2*h), 2.4736, 5e-5, src)
	near(t, "∂D/∂R", (d(22, 37+h, 14)-d(22, 37-h, 14))/(2*h), 0.5116, 5e-5, src)
	near(t, "∂D/∂U", (d(22, 37, 14+h)-d(22, 37, 14-h))/(2*h), 2.3660, 5e-5, src)
}

func TestRequiredDRefuses(t *testing.T) {
	nan, inf := unit.Mass(math.NaN()), unit.Mass(math.Inf(1))
	for _, in := range [][3]unit.Mass{
		{18e3, 36e3, -1}, {18e3, 36e3, 18e3}, {18e3, 9e3, 10e3}, {9e3, 36e3, 10e3}, {18e3, 10e3, 10e3}, {0, 36e3, 0},
		{nan, 36e3, 10e3}, {18e3, nan, 10e3}, {18e3, 36e3, nan}, {inf, 36e3, 1e3}, {18e3, inf, 1e3},
	} {
		_, err := rating.RequiredD(in[0], in[1], in[2])
		wantDomain(t, fmt.Sprint(in), err)
	}
}

func TestMassLimits(t *testing.T) {
	for _, tt := range []struct {
		name      string
		limit     func() (rating.MassLimit, error)
		want, tol float64
		unlimited bool
		source    string
	}{
		{"R_max, D 150, T 33, U 20", func() (rating.MassLimit, error) { return rating.TrailerMax(150*kN, 33*t_, 20*t_) }, 44.0798, 5e-5, false, "handbook chapter 01, 6, #24"},
		{"R_max, D 150, T 18", func() (rating.MassLimit, error) { return rating.TrailerMax(150*kN, 18*t_, 10*t_) }, 0, 0, true, "handbook chapter 01, 6, #26: 0.6·g·T = 105.948"},
		{"R_max, D 108, T 22, U 14", func() (rating.MassLimit, error) { return rating.TrailerMax(108*kN, 22*t_, 14*t_) }, 40.2010, 5e-5, false, "handbook chapter 01, 6, #27"},
		{"U_max, D 108, T 22, R 37", func() (rating.MassLimit, error) { return rating.ImposedMax(108*kN, 22*t_, 37*t_) }, 14.6370, 5e-5, false, "handbook chapter 01, 6, #29"},
		{"T_max, D 108, R 40.2010, U 14", func() (rating.MassLimit, error) { return rating.TractorMax(108*kN, tonnes(40.2010), 14*t_) }, 22, 5e-4, false, "handbook chapter 01, 6, #27 turned round"},
		{"T_max, small trailer", func() (rating.MassLimit, error) { return rating.TractorMax(150*kN, 18*t_, 10*t_) }, 0, 0, true, "as #26: T and R change places in the formula"},
		{"U_max, D 150, T 18, R 36", func() (rating.MassLimit, error) { return rating.ImposedMax(150*kN, 18*t_, 36*t_) }, 0, 0, true, "algebra: D ≥ 0.6·g·min(T, R)"},
		{"R_max on the border", func() (rating.MassLimit, error) { return rating.TrailerMax(unit.Force(0.6*9.81*18)*kN, 18*t_, 10*t_) }, 0, 0, true, "handbook chapter 01, 1.2: only if 0.6·g·T > D"},
	} {
		got, err := tt.limit()
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got.Unlimited != tt.unlimited {
			t.Errorf("%s: unlimited %v, want %v (%s)", tt.name, got.Unlimited, tt.unlimited, tt.source)
		}
		near(t, tt.name, got.Mass.Tonnes(), tt.want, tt.tol, tt.source)
	}

	_, err := rating.TrailerMax(50*kN, 22*t_, 14*t_)
	wantNoAnswer(t, "D 50 for U 14: 0.6·g·U = 82.4", err)
	_, err = rating.TractorMax(50*kN, 37*t_, 14*t_)
	wantNoAnswer(t, "D 50 for U 14", err)
	_, err = rating.ImposedMax(50*kN, 22*t_, 37*t_)
	wantNoAnswer(t, "D 50 for T 22, R 37", err)
	nan := unit.Force(math.NaN())
	_, err = rating.TrailerMax(nan, 22*t_, 14*t_)
	wantDomain(t, "NaN", err)
	_, err = rating.TractorMax(100*kN, 10*t_, 14*t_)
	wantDomain(t, "U > R", err)
	_, err = rating.ImposedMax(100*kN, unit.Mass(math.NaN()), 14*t_)
	wantDomain(t, "NaN mass", err)
	_, err = rating.ImposedMax(0, 10*t_, 14*t_)
	wantDomain(t, "no D", err)
}

func TestUngovernedTractor(t *testing.T) {
	for _, row := range [][2]float64{{85, 14.441}, {108, 18.349}, {130, 22.086}, {150, 25.484}, {152, 25.824}, {165, 28.033}, {180, 30.581}, {260, 44.173}, {105.948, 18.000}} {
		got, err := rating.UngovernedTractor(kilon(row[0]))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("D ", row[0]), got.Tonnes(), row[1], 5e-4, "handbook chapter 01, 1.2, table; 105.948 in 6, #26")
	}
	d, err := rating.UngovernedTractor(105.95 * kN)
	if err != nil || !(d >= 18*t_) {
		t.Errorf("D 105.95: %v, %v; want at least 18 t (handbook chapter 01, 1.2)", d, err)
	}
	_, err = rating.UngovernedTractor(-1)
	wantDomain(t, "negative", err)
}

func drawMasses(t *rapid.T) (T, R, U unit.Mass) {
	T = unit.Mass(rapid.Float64Range(5e3, 60e3).Draw(t, "T"))
	R = unit.Mass(rapid.Float64Range(5e3, 120e3).Draw(t, "R"))
	U = min(T, R) * unit.Mass(rapid.Float64Range(0, 0.95).Draw(t, "U"))
	return T, R, U
}

// Each inverse gives back the mass that D was computed from, and the formula at
// the limit is exactly D.
func TestLimitsUndoD(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		T, R, U := drawMasses(t)
		d, err := rating.RequiredD(T, R, U)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			what  string
			want  unit.Mass
			limit func() (rating.MassLimit, error)
		}{
			{"R", R, func() (rating.MassLimit, error) { return rating.TrailerMax(d.D, T, U) }},
			{"T", T, func() (rating.MassLimit, error) { return rating.TractorMax(d.D, R, U) }},
			{"U", U, func() (rating.MassLimit, error) { return rating.ImposedMax(d.D, T, R) }},
		} {
			got, err := c.limit()
			if err != nil {
				t.Fatal(err)
			}
			if !(math.Abs(float64(got.Mass-c.want)) <= 1e-6*float64(T+R)) {
				t.Errorf("%s comes back as %v, want %v", c.what, got.Mass, c.want)
			}
			if !(math.Abs(float64(got.AtLimit.D-d.D)) <= 1e-9*float64(d.D)) {
				t.Errorf("at the limit of %s, D = %v, want %v", c.what, got.AtLimit.D, d.D)
			}
		}
	})
}

func TestDRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		T, R, U := drawMasses(t)
		base, err := rating.RequiredD(T, R, U)
		if err != nil {
			t.Fatal(err)
		}
		swapped, err := rating.RequiredD(R, T, U)
		if err != nil || !(math.Abs(float64(base.D-swapped.D)) <= 1e-9*float64(base.D)) {
			t.Errorf("T and R exchanged: %v against %v, %v", swapped.D, base.D, err)
		}
		more := unit.Mass(rapid.Float64Range(1, 1e3).Draw(t, "more"))
		for what, in := range map[string][3]unit.Mass{"T": {T + more, R, U}, "R": {T, R + more, U}, "U": {T, R, min(U+more, 0.99*min(T, R))}} {
			d, err := rating.RequiredD(in[0], in[1], in[2])
			if err != nil {
				t.Fatal(err)
			}
			// Without imposed load, D does not depend on the order; with it, it rises.
			if !(d.D >= base.D) {
				t.Errorf("with more %s D falls from %v to %v", what, base.D, d.D)
			}
		}
		far, err := rating.RequiredD(T, 1e12, U)
		if err != nil {
			t.Fatal(err)
		}
		free, err := rating.UngovernedTractor(far.D)
		if err != nil || !(math.Abs(float64(free-T)) <= 1e-6*float64(T)) {
			t.Errorf("behind an endless trailer D governs from %v, want %v", free, T)
		}
	})
}

func ExampleRequiredD() {
	d, err := rating.RequiredD(18*unit.Tonne, 36*unit.Tonne, 12*unit.Tonne)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("D = %.1f kN for a combination of %.0f t\n", d.D.Kilonewtons(), d.Combined.Tonnes())
	// Output: D = 90.8 kN for a combination of 42 t
}

func ExampleTrailerMax() {
	for _, tractor := range []unit.Mass{22 * unit.Tonne, 18 * unit.Tonne} {
		r, err := rating.TrailerMax(108*unit.Kilonewton, tractor, 12*unit.Tonne)
		if err != nil {
			fmt.Println(err)
			return
		}
		if r.Unlimited {
			fmt.Println("D never governs")
			continue
		}
		fmt.Printf("%.1f t\n", r.Mass.Tonnes())
	}
	// Output:
	// 50.3 t
	// D never governs
}
