package turning

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// lap leads a pair once round in equal steps.
func lap(p pair, R float64, steps int) state {
	at := state{φ: half{0, 1}, γ: half{0, 1}}
	s := p.step(1/R, 2*math.Pi*R/float64(steps))
	for i := 0; i < steps; i++ {
		at = s.from(at)
	}
	return at
}

// Error of the articulation after one lap of R4, in degrees, by the heading
// step: handbook chapter 04, 4.2, column Magnus-4.
func TestMagnusErrorTable(t *testing.T) {
	const γ = 45.7505169314309 // handbook 04, R4 at 360°
	p := pair{5.075, -1.275, 0.575, 7.70}
	for _, tt := range []struct{ heading, want float64 }{
		{20, 8.4e-6}, {10, 5.3e-7}, {5, 3.3e-8}, {2.5, 2.0e-9}, {1, 5.0e-11},
	} {
		got := lap(p, 12.5, int(math.Round(360/tt.heading))).γ.angle()*180/math.Pi - γ
		if !(math.Abs(got-tt.want) <= 0.05*tt.want+3e-12) {
			t.Errorf("heading step %v°: error %.2g°, want %.2g° (handbook 04, 4.2)", tt.heading, got, tt.want)
		}
	}
}

// The reference values hold whatever the number of steps.
func TestPairAtRandomStepCounts(t *testing.T) {
	for _, tt := range []struct {
		name string
		p    pair
		R, γ float64
	}{
		{"R2 at 360°", pair{3.7, 0, 0, 7.7}, 10, 55.277600262},
		{"R3 at 360°", pair{3.7, 0, 0.575, 7.7}, 12, 39.417670755},
		{"R4 at 360°", pair{5.075, -1.275, 0.575, 7.7}, 12.5, 45.7505169314309},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				n := rapid.IntRange(150, 2000).Draw(t, "steps")
				got := lap(tt.p, tt.R, n).γ.angle() * 180 / math.Pi
				tol := 5e-10 + 1e-5*math.Pow(18/float64(n), 4)*4
				if !(math.Abs(got-tt.γ) <= tol) {
					t.Errorf("γ = %.12f°, want %.12f° ± %g with %d steps", got, tt.γ, tol, n)
				}
			})
		})
	}
}

// R5 with the integrator in random strides: the error control, not the
// stride, keeps it exact.
func TestChainAtRandomStepCounts(t *testing.T) {
	c := newChain(Train{GuideAhead: 3.7, Towed: []Towed{
		{Trailer: Trailer{Lead: 0.4, PinToBogie: 6.5}}, {Trailer: Trailer{Lead: -0.3, PinToBogie: 7.0}},
	}})
	g := leg{κ: 1. / 12, length: 2 * math.Pi * 12}.aimed()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(20, 400).Draw(t, "steps")
		var θ angles
		h := g.length / float64(n)
		for i := 0; i < n; i++ {
			θ = c.move(&g, float64(i)*h, θ, h)
		}
		// Handbook 04, R5 at 360°.
		for i, want := range []float64{32.671646187, 49.431776092} {
			if got := (θ[i] - θ[i+1]) * 180 / math.Pi; !(math.Abs(got-want) <= 5.5e-10) {
				t.Errorf("γ%d = %.12f°, want %.12f° with %d steps", i+1, got, want, n)
			}
		}
	})
}

// Steps backwards undo steps forwards.
func TestPairReversesInTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := pair{
			rapid.Float64Range(2, 8).Draw(t, "a"), rapid.Float64Range(-1.5, 1.5).Draw(t, "b"),
			rapid.Float64Range(-2, 2).Draw(t, "e"), rapid.Float64Range(2, 12).Draw(t, "l"),
		}
		κ := rapid.Float64Range(-0.1, 0.1).Draw(t, "κ")
		from := state{0, halfOf(rapid.Float64Range(-1, 1).Draw(t, "φ")), halfOf(rapid.Float64Range(-2, 2).Draw(t, "γ"))}
		h := rapid.Float64Range(0, 0.5).Draw(t, "h")
		back := p.move(κ, p.move(κ, from, h), -h)
		if !(math.Abs(back.φ.angle()-from.φ.angle()) < 1e-13) || !(math.Abs(back.γ.angle()-from.γ.angle()) < 1e-13) {
			t.Errorf("from %v forth and back to %v", from, back)
		}
	})
}

// The exponential against its series summed term by term, on all branches.
func TestExponential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := traceless{
			rapid.Float64Range(-1.2, 1.2).Draw(t, "x"), rapid.Float64Range(-1.2, 1.2).Draw(t, "y"), rapid.Float64Range(-1.2, 1.2).Draw(t, "z"),
		}
		want, term := linear{1, 0, 0, 1}, linear{1, 0, 0, 1}
		for k := 1.; k < 40; k++ {
			term = linear{(term.a*m.x + term.b*m.z) / k, (term.a*m.y - term.b*m.x) / k, (term.c*m.x + term.d*m.z) / k, (term.c*m.y - term.d*m.x) / k}
			want = linear{want.a + term.a, want.b + term.b, want.c + term.c, want.d + term.d}
		}
		got := m.exp()
		// Equal up to a positive factor; compare what it does to two angles.
		for _, h := range []half{{0, 1}, halfOf(1)} {
			a, b := got.turn(h).unit(), want.turn(h).unit()
			if !(math.Hypot(a.n-b.n, a.d-b.d) < 1e-13) {
				t.Errorf("exp(%v) turns %v to %v, want %v", m, h, a, b)
			}
		}
	})
}

// Points of a leg do not jump where its two formulas meet.
func TestLegPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		κ := rapid.Float64Range(-0.2, 0.2).Draw(t, "κ")
		g := leg{x: 3, y: -2, ψ: rapid.Float64Range(-3, 3).Draw(t, "ψ"), κ: κ, length: 50}.aimed()
		s := rapid.Float64Range(0, 50).Draw(t, "s")
		x, y, cos, sin := g.point(s)
		chord, bend := s, κ*s/2
		if bend != 0 {
			chord *= math.Sin(bend) / bend
		}
		if d := math.Hypot(x-3-chord*math.Cos(g.ψ+bend), y+2-chord*math.Sin(g.ψ+bend)); !(d < 1e-10) {
			t.Errorf("off the chord by %g m", d)
		}
		if d := math.Hypot(cos-math.Cos(g.ψ+κ*s), sin-math.Sin(g.ψ+κ*s)); !(d < 1e-12) {
			t.Errorf("direction off by %g", d)
		}
	})
}

func TestApart(t *testing.T) {
	// A rectangle from 2 behind to 3 ahead, 1 to either side; distances by hand.
	for _, tt := range []struct{ ahead, left, want float64 }{
		{0, 4, 3}, {0, -4, 3}, {3, 1, 0}, {6, 5, 5}, {-5, 5, 5}, {5, 0.5, 2}, {-4, 0, 2}, {0, 0.25, -0.75}, {2.75, 0, -0.25},
	} {
		if got := (&outline{3, 2, 1}).apart(tt.ahead, tt.left); !(math.Abs(got-tt.want) < 1e-15) {
			t.Errorf("(%v, %v) is %v away, want %v", tt.ahead, tt.left, got, tt.want)
		}
	}
}

// Peaks of known functions, among them one with a kink.
func TestRefine(t *testing.T) {
	for _, tt := range []struct {
		name     string
		f        func(float64) float64
		x, v     float64
		tolX     float64
		x0, x2   float64
		samples  int
		accuracy float64
	}{
		{"sine", math.Sin, math.Pi / 2, 1, 1e-5, 0, 4, 7, 1e-12},
		{"skew", func(x float64) float64 { return x * math.Exp(-x) }, 1, math.Exp(-1), 1e-5, 0, 4, 9, 1e-12},
		{"flat top", func(x float64) float64 { return -math.Pow(x-0.3, 4) }, 0.3, 0, 1e-2, -1, 1, 5, 1e-9},
		{"kink", func(x float64) float64 { return -math.Abs(x - 0.77) }, 0.77, 0, 1e-6, 0, 2, 5, 1e-6},
		{"edge", func(x float64) float64 { return -(x - 0.001) * (x - 0.001) }, 0.001, 0, 1e-5, 0, 2, 5, 1e-12},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := (tt.x2 - tt.x0) / float64(tt.samples-1)
			p := newPeak()
			xs := []float64{tt.x0, tt.x0 + 1e-3*h}
			for i := 1; i < tt.samples; i++ {
				xs = append(xs, tt.x0+h*float64(i))
			}
			found := false
			for i, x := range xs {
				f0, f1 := p.f[0], p.f[1]
				if !p.add(x, tt.f(x)) {
					continue
				}
				found = true
				x, v := refine(tt.f, bracket{xs[i-2], xs[i-1], xs[i], f0, f1, tt.f(xs[i])}, 1e-13)
				if !(math.Abs(x-tt.x) <= tt.tolX) || !(math.Abs(v-tt.v) <= tt.accuracy) {
					t.Errorf("peak %v at %v, want %v at %v", v, x, tt.v, tt.x)
				}
			}
			if !found {
				t.Error("no peak bracketed")
			}
		})
	}
}
