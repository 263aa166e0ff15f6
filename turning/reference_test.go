package turning_test

import (
	"math"
	"testing"

	"underpin/turning"
	"underpin/unit"
)

// Two methods that share nothing with the package.

// A rod is a unit for the reference methods: the lead of its hitch on the unit
// in front, and its length.
type rod struct{ e, l float64 }

// path is the guided path as a function of the distance, joined from lines and
// arcs given as length and curvature.
type path [][2]float64

func (p path) at(s float64) (x, y, ψ float64) {
	for i, g := range p {
		d := math.Min(s, g[0])
		if i == len(p)-1 {
			d = s
		}
		if g[1] == 0 {
			x, y = x+d*math.Cos(ψ), y+d*math.Sin(ψ)
		} else {
			x, y = x+(math.Sin(ψ+d*g[1])-math.Sin(ψ))/g[1], y-(math.Cos(ψ+d*g[1])-math.Cos(ψ))/g[1]
			ψ += d * g[1]
		}
		if s -= d; s <= 0 {
			break
		}
	}
	return x, y, ψ
}

func (p path) length() (s float64) {
	for _, g := range p {
		s += g[0]
	}
	return s
}

// rk4 is the plain Runge-Kutta method of fourth order on headings, with an
// equal number of steps on each piece of the path.
func rk4(a, b float64, units []rod, p path, steps int) []float64 {
	rate := func(ψ float64, θ []float64) []float64 {
		d := make([]float64, len(θ))
		d[0] = math.Sin(ψ-θ[0]) / a
		// Velocity of the hitch in the road's axes, instead of speeds along units.
		vx := math.Cos(ψ) + d[0]*(a*math.Sin(θ[0])+b*math.Cos(θ[0]))
		vy := math.Sin(ψ) - d[0]*(a*math.Cos(θ[0])-b*math.Sin(θ[0]))
		for i, u := range units {
			vx, vy = vx-u.e*d[i]*math.Sin(θ[i]), vy+u.e*d[i]*math.Cos(θ[i])
			// The axle has no speed across its heading.
			d[i+1] = (vy*math.Cos(θ[i+1]) - vx*math.Sin(θ[i+1])) / u.l
			vx, vy = vx+u.l*d[i+1]*math.Sin(θ[i+1]), vy-u.l*d[i+1]*math.Cos(θ[i+1])
		}
		return d
	}
	θ := make([]float64, 1+len(units))
	s0 := 0.
	for _, g := range p {
		h := g[0] / float64(steps)
		_, _, ψ0 := p.at(s0)
		for i := 0; i < steps; i++ {
			ψ := func(x float64) float64 { return ψ0 + g[1]*h*(float64(i)+x) }
			add := func(k []float64, f float64) []float64 {
				y := make([]float64, len(θ))
				for j := range y {
					y[j] = θ[j] + f*h*k[j]
				}
				return y
			}
			k1 := rate(ψ(0), θ)
			k2 := rate(ψ(0.5), add(k1, 0.5))
			k3 := rate(ψ(0.5), add(k2, 0.5))
			k4 := rate(ψ(1), add(k3, 1))
			for j := range θ {
				θ[j] += h / 6 * (k1[j] + 2*k2[j] + 2*k3[j] + k4[j])
			}
		}
		s0 += g[0]
	}
	return θ
}

// chase knows no differential equation: each axle is drawn a short way by its
// hitch and moves along the mean of its old and its new heading. The error is
// even in the step, so two halvings and Richardson's extrapolation leave the
// sixth order.
func chase(a, b float64, units []rod, p path, steps int) []float64 {
	t0, t1, t2 := drag(a, b, units, p, steps), drag(a, b, units, p, 2*steps), drag(a, b, units, p, 4*steps)
	for i := range t0 {
		u0, u1 := t1[i]+(t1[i]-t0[i])/3, t2[i]+(t2[i]-t1[i])/3
		t2[i] = u1 + (u1-u0)/15
	}
	return t2
}

func drag(a, b float64, units []rod, p path, steps int) []float64 {
	n := 1 + len(units)
	θ, ax, ay := make([]float64, n), make([]float64, n), make([]float64, n)
	// The leading point of unit i lies (l, m) from its axle.
	l, m := []float64{a}, []float64{b}
	ax[0], ay[0] = -a, -b
	for i, u := range units {
		l, m = append(l, u.l), append(m, 0)
		ax[i+1], ay[i+1] = ax[i]+u.e-u.l, ay[i]
	}
	s0 := 0.
	for _, g := range p {
		h := g[0] / float64(steps)
		for k := 1; k <= steps; k++ {
			hx, hy, _ := p.at(s0 + h*float64(k))
			for i := 0; i < n; i++ {
				if i > 0 {
					e := units[i-1].e
					hx, hy = ax[i-1]+e*math.Cos(θ[i-1]), ay[i-1]+e*math.Sin(θ[i-1])
				}
				axle := func(t float64) (x, y float64) {
					return hx - l[i]*math.Cos(t) + m[i]*math.Sin(t), hy - l[i]*math.Sin(t) - m[i]*math.Cos(t)
				}
				across := func(t float64) float64 {
					x, y := axle(t)
					mid := (t + θ[i]) / 2
					return (y-ay[i])*math.Cos(mid) - (x-ax[i])*math.Sin(mid)
				}
				// Secant.
				t0, t1 := θ[i], θ[i]+1e-4
				f0, f1 := across(t0), across(t1)
				for j := 0; j < 20 && f1 != f0 && math.Abs(t1-t0) > 1e-15; j++ {
					t0, t1, f0 = t1, t1-f1*(t1-t0)/(f1-f0), f1
					f1 = across(t1)
				}
				θ[i] = t1
				ax[i], ay[i] = axle(t1)
			}
		}
		s0 += g[0]
	}
	return θ
}

// near reports a value outside its tolerance; NaN is outside.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if diff := math.Abs(got - want); !(diff <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

const deg = math.Pi / 180

// vehicleE is the reference set of the handbook, chapter 04, section 0; an
// invented but ordinary articulated vehicle of 16.50 m.
var (
	tractorE = turning.Tractor{Front: 5.075, Rear: 0.90, Width: 2.55}
	trailerE = turning.Trailer{Lead: 0.575, PinToBogie: 7.70, FrontOverhang: 1.5925, RearEnd: 12, Width: 2.55}
	circleE  = turning.SteadyInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575, PinToBogie: 7.70, Width: 2.55}
	legalE   = turning.LegalInput{Outer: 12.5, Tractor: tractorE, Trailer: trailerE}
)

func trainE() turning.Train {
	return turning.Train{GuideAhead: 5.075, GuideLeft: -1.275, Tractor: tractorE, Towed: []turning.Towed{{Trailer: trailerE}}}
}

// plainTrain is a chain without bodies worth mentioning.
func plainTrain(a, b float64, units ...rod) turning.Train {
	t := turning.Train{GuideAhead: unit.Length(a), GuideLeft: unit.Length(b), Tractor: turning.Tractor{Front: unit.Length(a), Width: 2.5}}
	for _, u := range units {
		t.Towed = append(t.Towed, turning.Towed{Trailer: turning.Trailer{Lead: unit.Length(u.e), PinToBogie: unit.Length(u.l), RearEnd: unit.Length(u.l), Width: 2.5}})
	}
	return t
}

func arcOf(radius, degrees float64) turning.Segment {
	return turning.Segment{Length: unit.Length(math.Abs(radius) * degrees * deg), Radius: unit.Length(radius)}
}

// endOf leads a train along a course and returns its last pose.
func endOf(t testing.TB, train turning.Train, course ...turning.Segment) turning.Pose {
	t.Helper()
	r, err := turning.Follow(turning.FollowInput{Train: train, Course: course})
	if err != nil {
		t.Fatal(err)
	}
	return r.End
}

func distance(a, b turning.Point) float64 {
	return math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y))
}
