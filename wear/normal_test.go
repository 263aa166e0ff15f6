package wear

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

func TestStudentQuantile(t *testing.T) {
	const source = "R 4.2.2, qt(), 15 digits"
	dof := []int{1, 2, 3, 5, 10, 34, 100}
	for p, row := range map[float64][]float64{
		0.95:  {6.31375151467504, 2.91998558035372, 2.35336343480182, 2.01504837333302, 1.81246112281168, 1.69092425518685, 1.66023432608534},
		0.9:   {3.07768353717525, 1.88561808316413, 1.63774435369621, 1.47588404882448, 1.37218364111034, 1.30695158712643, 1.29007476134651},
		0.99:  {31.82051595377393, 6.96455673428327, 4.54070285856813, 3.36492999890722, 2.76376945811270, 2.44114962790648, 2.36421736623848},
		0.975: {12.70620473617469, 4.30265272974946, 3.18244630528371, 2.57058183563631, 2.22813885198627, 2.03224450931772, 1.98397151852355},
		0.999: {318.30883898555015, 22.32712477011987, 10.21453185240738, 5.89342953135601, 4.14370049404659, 3.34793431333353, 3.17373949373878},
		0.5:   {0, 0, 0, 0, 0, 0, 0},
	} {
		for i, want := range row {
			got := student(p, dof[i])
			if diff := math.Abs(got - want); !(diff <= 1e-12*math.Max(1, want)) {
				t.Errorf("t(%g, %d) = %.15g, want %.15g (%s)", p, dof[i], got, want, source)
			}
			if back := student(1-p, dof[i]); !(math.Abs(back+got) <= 1e-10*math.Max(1, got)) {
				t.Errorf("t(%g, %d) = %g is not the mirror of %g", 1-p, dof[i], back, got)
			}
		}
	}
	// Against a library, over the seam between sum and expansion.
	for _, n := range []int{4, 7, 60, 999, 1000, 1001, 5000} {
		for _, p := range []float64{0.55, 0.9, 0.95, 0.999} {
			want := distuv.StudentsT{Sigma: 1, Nu: float64(n)}.Quantile(p)
			if got := student(p, n); !(math.Abs(got-want) <= 1e-9*want) {
				t.Errorf("t(%g, %d) = %.12g, gonum v0.17.0 %.12g", p, n, got, want)
			}
		}
	}
}

func TestNormalQuantile(t *testing.T) {
	for _, tt := range []struct {
		p, want float64
		source  string
	}{
		{0.05, z05, "constant of ForecastWear"}, {0.10, z10, "constant of ForecastWear"},
		{0.975, 1.959963984540054, "Abramowitz and Stegun, table 26.5, and every table since"},
		{0.5, 0, "symmetry"}, {0.001, -3.090232306167813, "R 4.2.2, qnorm()"}, {1e-10, -6.361340902404056, "R 4.2.2, qnorm()"},
	} {
		if got := quantile(tt.p); !(math.Abs(got-tt.want) <= 1e-13*math.Max(1, math.Abs(tt.want))) {
			t.Errorf("Φ⁻¹(%g) = %.16g, want %.16g (%s)", tt.p, got, tt.want, tt.source)
		}
		if back := normal(tt.want); !(math.Abs(back-tt.p) <= 1e-13*tt.p) {
			t.Errorf("Φ(%g) = %g, want %g (%s)", tt.want, back, tt.p, tt.source)
		}
	}
}

func TestMills(t *testing.T) {
	for _, tt := range []struct {
		x, want float64
		source  string
	}{
		{0, 1.2533141373155003, "√(π/2)"},
		{1, 0.6556795424187985, "R 4.2.2, pnorm(-1)/dnorm(1)"},
		{4.999999, 0.19280814, "seam"}, {5.000001, 0.19280807, "seam"},
		{10, 0.09902859647173193, "R 4.2.2, pnorm(-10)/dnorm(10)"},
		{100, 0.009999000299850105, "1/x − 1/x³ + 3/x⁵ − 15/x⁷"},
	} {
		tol := 1e-13
		if tt.source == "seam" {
			tol = 3e-7
		}
		if got := mills(tt.x); !(math.Abs(got/tt.want-1) <= tol) {
			t.Errorf("mills(%g) = %.16g, want %.16g (%s)", tt.x, got, tt.want, tt.source)
		}
	}
}

// TestHermiteRule holds the table against a library's and against moments of the
// normal distribution, which 32 points integrate exactly up to x⁶³.
func TestHermiteRule(t *testing.T) {
	var x, w [32]float64
	quad.Hermite{}.FixedLocations(x[:], w[:], math.Inf(-1), math.Inf(1))
	for i := range 16 {
		if gx, gw := x[16+i], w[16+i]; !(math.Abs(hermiteNodes[i]/gx-1) <= 1e-13 && math.Abs(hermiteWeights[i]/gw-1) <= 1e-10) {
			t.Errorf("node %d: %.17g %.17g, gonum v0.17.0 %.17g %.17g", i, hermiteNodes[i], hermiteWeights[i], gx, gw)
		}
	}
	want := math.Sqrt(math.Pi) // ∫ x^(2k) e^(−x²) = √π·(2k−1)!!/2^k
	for k := range 31 {
		var got float64
		for i, x := range hermiteNodes {
			got += 2 * hermiteWeights[i] * math.Pow(x, float64(2*k))
		}
		if !(math.Abs(got/want-1) <= 1e-12) {
			t.Errorf("moment %d: %g, want %g (algebra)", 2*k, got, want)
		}
		want *= float64(2*k+1) / 2
	}
}

func TestLegendreRule(t *testing.T) {
	for k := range 20 { // ten points are exact up to x¹⁹
		got := integrate(0, 2, func(x float64) float64 { return math.Pow(x, float64(k)) })
		if want := math.Pow(2, float64(k+1)) / float64(k+1); !(math.Abs(got/want-1) <= 1e-13) {
			t.Errorf("∫x^%d = %g, want %g (algebra)", k, got, want)
		}
	}
	if got := integrate(1, 1, math.Exp); got != 0 {
		t.Errorf("over nothing: %g", got)
	}
}

// TestCrossingQuantile puts each root back into the probability.
func TestCrossingQuantile(t *testing.T) {
	for _, c := range []crossing{
		{-1.8, 0.3, 0.0025, 0.0025, 0.0064}, {-0.5, 0.37, 0.007, 0.006, 0.0013}, {-0.5, 0.1, 0, 0, 0.04}, {-0.5, 0.1, 0.01, -0.01, 0.01},
		{-0.1, 0.3, 0.1, 0, 0.001}, {-1, 1, 0, 0.5, 0}, {-1, 1, 0.04, 0, 0}, {-1, 0.2, 0.3, 0.001, 0.0243},
	} {
		last := 0.0
		for _, p := range []float64{0.001, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.999} {
			q := c.quantile(quantile(p))
			switch {
			case q == 0:
				if !(c.probability(0) >= p) {
					t.Errorf("%+v: p %g is 0, but P(0) = %g", c, p, c.probability(0))
				}
			case math.IsInf(q, 1):
				if best := normal(c.m1 / math.Sqrt(c.v2)); !(best <= p) {
					t.Errorf("%+v: p %g unbounded, but P(∞) = %g", c, p, best)
				}
			default:
				if got := c.probability(q); !(math.Abs(got-p) <= 1e-9) {
					t.Errorf("%+v: P(%g) = %g, want %g", c, q, got, p)
				}
			}
			if !(q >= last) {
				t.Errorf("%+v: quantile %g at p %g is below the one before, %g", c, q, p, last)
			}
			last = q
		}
	}
	certain := crossing{m0: -3, m1: 1.5}
	for _, p := range []float64{0.05, 0.5, 0.95} {
		if got := certain.quantile(quantile(p)); got != 2 {
			t.Errorf("without any spread: %g, want 2 (hand: 3/1.5)", got)
		}
	}
}

func ExampleRate_Per100000km() {
	fmt.Println(0.3*MillimetrePer100000km, (0.3 * MillimetrePer100000km).Per100000km())
	// Output: 3e-12 0.3
}
