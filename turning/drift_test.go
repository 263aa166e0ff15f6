package turning_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
	"underpin/turning"
	"underpin/unit"
)

func TestDriftR1(t *testing.T) {
	const none = -1
	// φ in degrees and r in metres for L = 4, 7.7, 10, 12 on R = 10.
	lengths := []unit.Length{4, 7.7, 10, 12}
	for _, tt := range []struct {
		turned float64 // degrees
		φ, r   [4]float64
		tol    [4]float64 // half of the last printed digit of φ
	}{
		{30, [4]float64{16.8116138598, 21.8607034232, 23.4429536107, 24.3940307500}, [4]float64{9.63648965233, 10.0969250047, 10.9741896919, 12.0365156111}, [4]float64{5e-11, 5e-11, 5e-11, 5e-11}},
		{60, [4]float64{21.5735235974, 33.4592591798, 37.9315126428, 40.7910359939}, [4]float64{9.30507447231, 8.62456022809, 8.77816492305, 9.33849457192}, [4]float64{5e-11, 5e-11, 5e-11, 5e-11}},
		{90, [4]float64{22.9773656385, 40.0088199193, 47.4894694057, 52.5503545936}, [4]float64{9.20709527280, 7.76418374634, 7.25047370535, 7.31210427848}, [4]float64{5e-11, 5e-11, 5e-11, 5e-11}},
		{180, [4]float64{23.5617843562, 47.7397491165, 62.8511512989, 75.0818927748}, [4]float64{9.16629591552, 6.73163691152, 4.69416452856, 3.47696065408}, [4]float64{5e-11, 5e-11, 5e-11, 5e-11}},
		{360, [4]float64{23.5781662184, 50.1651295320, 74.3640525217, 106.934672539}, [4]float64{9.16515224580, 6.40580624231, 2.72052728535, 3.79565571306}, [4]float64{5e-11, 5e-11, 5e-11, 5e-10}},
		// Steady; for L = 10 the way there never ends, so no row.
		{100 * 360, [4]float64{23.5781784782, 50.3538888530, none, none}, [4]float64{9.16515138991, 6.38043885638, none, none}, [4]float64{5e-11, 5e-11, 0, 0}},
	} {
		for i, l := range lengths {
			if tt.φ[i] == none {
				continue
			}
			r, err := turning.Drift(turning.DriftInput{Radius: 10, Length: l, Turned: unit.Angle(tt.turned * deg)})
			if err != nil {
				t.Fatal(err)
			}
			name := fmt.Sprintf("handbook 04, R1, L = %v after %v°: ", float64(l), tt.turned)
			near(t, name+"φ", r.Drift.Degrees(), tt.φ[i], tt.tol[i])
			near(t, name+"r", float64(r.AxleRadius), tt.r[i], 5.1e-11) // printed to 1e-11 below 10 m, 1e-10 above
		}
	}
}

// The closed form as the handbook prints it, from a straight.
func TestDriftClosedForm(t *testing.T) {
	for _, k := range []float64{0.2, 0.9, 1, 1.1, 3, 20} {
		for ψ := 0.1; ψ < 3; ψ += 0.37 {
			var want float64
			switch {
			case k > 1:
				λ := math.Sqrt(k*k - 1)
				T := math.Tanh(λ * ψ / 2)
				want = 2 * math.Atan(T/(k*T+λ))
			case k == 1:
				want = 2 * math.Atan(ψ/(ψ+2))
			default:
				μ := math.Sqrt(1 - k*k)
				T := math.Tan(μ * ψ / 2)
				want = 2 * math.Atan(T/(k*T+μ))
			}
			r, err := turning.Drift(turning.DriftInput{Radius: unit.Length(k), Length: 1, Turned: unit.Angle(ψ)})
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("handbook 04, 1.4, k = %v, ψ = %v", k, ψ), float64(r.Drift), want, 1e-14)
		}
	}
}

// A second way: the turn that a drift takes, by quadrature of
// ψ(φ) = ∫ dφ/(1 − k·sin φ) with Simpson's rule, from any start.
func TestDriftByQuadrature(t *testing.T) {
	turn := func(k, from, to float64) float64 {
		const n = 100_000
		h := (to - from) / n
		sum := 0.
		for i := 0; i <= n; i++ {
			w := 2.
			switch {
			case i == 0 || i == n:
				w = 1
			case i%2 == 1:
				w = 4
			}
			sum += w / (1 - k*math.Sin(from+h*float64(i)))
		}
		return sum * h / 3
	}
	for _, tt := range []struct{ k, from, to float64 }{
		{2.5, 0, 20}, {1.298, 0, 40}, {1, 0, 50}, {0.8333, 0, 60}, {0.8333, 0, 170}, {0.5, -90, 300}, {0.2, 100, 450},
		{2.5, -60, 20}, {2.5, 60, 30}, {1.298, 100, 60}, {2.5, 170, 200}, {1, 100, 300}, {3, -150, 0}, {2.5, -100, -190}, {2.5, -170, -185},
	} {
		ψ := turn(tt.k, tt.from*deg, tt.to*deg)
		r, err := turning.Drift(turning.DriftInput{Radius: unit.Length(tt.k), Length: 1, Start: unit.Angle(tt.from * deg), Turned: unit.Angle(ψ)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("quadrature, k = %v, φ0 = %v°", tt.k, tt.from), r.Drift.Degrees(), tt.to, 2e-8)
	}
}

func TestDriftRate(t *testing.T) {
	r, err := turning.Drift(turning.DriftInput{Radius: 12.5, Length: 5.075, Turned: 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "handbook 04, 1.4: λ = sqrt((R/L)² − 1)", r.Rate, math.Sqrt(12.5*12.5/5.075/5.075-1), 1e-14)
	// Per radian of turn the rest to the steady angle shrinks by exp(−λ).
	rest := func(ψ float64) float64 {
		r, err := turning.Drift(turning.DriftInput{Radius: 12.5, Length: 5.075, Turned: unit.Angle(ψ)})
		if err != nil {
			t.Fatal(err)
		}
		return math.Asin(5.075/12.5) - float64(r.Drift)
	}
	near(t, "decay from 4 to 5 rad", rest(5)/rest(4), math.Exp(-r.Rate), 1e-4)
	for _, bad := range []turning.DriftInput{
		{0, 1, 0, 1}, {1, 0, 0, 1}, {1, 1, math.Pi, 1}, {1, 1, unit.Angle(math.NaN()), 1}, {1, 1, 0, unit.Angle(math.Inf(1))}, {unit.Length(math.NaN()), 1, 0, 1},
	} {
		_, err := turning.Drift(bad)
		checkError(t, err, true)
	}
}

// Two turns one after the other are one turn; and turning back leads back.
func TestDriftComposes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		R := unit.Length(rapid.Float64Range(1, 40).Draw(t, "R"))
		L := unit.Length(rapid.Float64Range(1, 40).Draw(t, "L"))
		φ0 := unit.Angle(rapid.Float64Range(-1.5, 1.5).Draw(t, "φ0"))
		one := unit.Angle(rapid.Float64Range(0, 1).Draw(t, "ψ1"))
		two := unit.Angle(rapid.Float64Range(0, 1).Draw(t, "ψ2"))
		step := func(from, ψ unit.Angle) unit.Angle {
			r, err := turning.Drift(turning.DriftInput{Radius: R, Length: L, Start: from, Turned: ψ})
			if err != nil {
				t.Fatal(err)
			}
			return r.Drift
		}
		mid := step(φ0, one)
		if math.Abs(float64(mid)) > 3 {
			return
		}
		if d := math.Abs(float64(step(φ0, one+two) - step(mid, two))); !(d < 1e-9) {
			t.Errorf("two parts differ from the whole by %g", d)
		}
		// Backing amplifies by exp(λψ).
		k := float64(R / L)
		gain := math.Exp(math.Sqrt(math.Max(0, k*k-1)) * float64(one))
		if d := math.Abs(float64(step(mid, -one) - φ0)); !(d < 1e-14*gain*100+1e-12) {
			t.Errorf("back again: off by %g (gain %g)", d, gain)
		}
	})
}

func TestStraightenR6(t *testing.T) {
	for _, tt := range []struct{ s, want, tol float64 }{
		{2, 31.36021401, 5e-9}, {5, 21.53059330, 5e-9}, {10, 11.34429892, 5e-9}, {20, 3.105092693, 5e-10},
	} {
		γ, err := turning.Straighten(40*unit.Degree, 7.7, unit.Length(tt.s))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "handbook 04, R6", γ.Degrees(), tt.want, tt.tol)
	}
	for _, bad := range [][3]float64{{math.Pi, 7, 1}, {0.5, 0, 1}, {0.5, 7, math.NaN()}, {math.NaN(), 7, 1}} {
		_, err := turning.Straighten(unit.Angle(bad[0]), unit.Length(bad[1]), unit.Length(bad[2]))
		checkError(t, err, true)
	}
}

func TestStraightenBacks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		γ0 := unit.Angle(rapid.Float64Range(-3, 3).Draw(t, "γ0"))
		l := unit.Length(rapid.Float64Range(1, 12).Draw(t, "L"))
		s := unit.Length(rapid.Float64Range(0, 20).Draw(t, "s"))
		γ, err := turning.Straighten(γ0, l, s)
		if err != nil {
			t.Fatal(err)
		}
		back, err := turning.Straighten(γ, l, -s)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs(float64(back - γ0)); !(d < 1e-12) {
			t.Errorf("back again: off by %g", d)
		}
	})
}
