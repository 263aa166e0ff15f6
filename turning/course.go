package turning

import (
	"math"

	"underpin/unit"
)

// maxUnits is the longest chain: a tractor and seven towed units.
const maxUnits = 8

// Steering turns the wheels of a trailer's axle against the articulation at
// its hitch: δ = −Ratio·γ, held within ±Limit. The zero value does not steer.
type Steering struct {
	Ratio float64
	Limit unit.Angle
}

// Towed is a unit of a chain.
type Towed struct {
	Trailer
	Steer Steering
}

// A Train is a tractor with the units it tows, led by a point of the tractor.
type Train struct {
	GuideAhead unit.Length // a
	GuideLeft  unit.Length // b
	Tractor    Tractor
	Towed      []Towed
}

func (t Train) check(formula string) error {
	c := check{formula: formula}
	c.positive("guide-ahead", t.GuideAhead)
	c.given("guide-left", float64(t.GuideLeft))
	c.outline("tractor", t.Tractor.Front, t.Tractor.Rear, t.Tractor.Width)
	c.want(len(t.Towed) < maxUnits, "towed units", float64(len(t.Towed)), "at most 7")
	for _, u := range t.Towed {
		c.given("lead", float64(u.Lead))
		c.positive("pin-to-bogie", u.PinToBogie)
		c.outline("towed unit", u.FrontOverhang, u.RearEnd, u.Width)
		c.given("steer ratio", u.Steer.Ratio)
		c.want(0 <= u.Steer.Limit && u.Steer.Limit < math.Pi/2, "steer limit", float64(u.Steer.Limit), "0 ≤ limit < 90°")
	}
	return c.err
}

// A Segment of the guided path is a line or an arc.
type Segment struct {
	Length unit.Length
	Radius unit.Length // of an arc, positive to the left, negative to the right; 0 for a line
}

// legs lays the segments end to end from the origin towards +x.
func legs(formula string, course []Segment) ([]leg, error) {
	c := check{formula: formula}
	c.want(len(course) > 0, "course", float64(len(course)), "one segment or more")
	if c.err != nil {
		return nil, c.err
	}
	out := make([]leg, 0, len(course))
	var x, y, ψ, s0 float64
	for _, s := range course {
		length, κ := float64(s.Length), 0.
		c.positive("segment", s.Length)
		c.given("segment radius", float64(s.Radius))
		if s.Radius != 0 {
			κ = 1 / float64(s.Radius)
			c.want(math.Abs(κ)*length <= mostLaps*2*math.Pi, "segment", length, "at most 100 laps")
		}
		if c.err != nil {
			return nil, c.err
		}
		g := leg{x: x, y: y, ψ: ψ, κ: κ, s0: s0, length: length}.aimed()
		out = append(out, g)
		x, y, _, _ = g.point(length)
		ψ, s0 = g.direction(length), s0+length
	}
	return out, nil
}

// A chain is a train as numbers.
type chain struct {
	n     int // units
	a, b  float64
	units [maxUnits]link
}

type link struct {
	e, l float64 // lead on the unit in front, hitch to axle; 0 for the tractor
	outline
	ratio, limit float64 // steering
}

func newChain(t Train) chain {
	c := chain{n: 1 + len(t.Towed), a: float64(t.GuideAhead), b: float64(t.GuideLeft)}
	c.units[0] = link{outline: outline{float64(t.Tractor.Front), float64(t.Tractor.Rear), float64(t.Tractor.Width / 2)}}
	for i, u := range t.Towed {
		l := float64(u.PinToBogie)
		c.units[i+1] = link{
			e: float64(u.Lead), l: l,
			outline: outline{float64(u.FrontOverhang) + l, float64(u.RearEnd) - l, float64(u.Width / 2)},
			ratio:   u.Steer.Ratio, limit: float64(u.Steer.Limit),
		}
	}
	return c
}

type angles [maxUnits]float64

// rates returns dθ/ds for each unit when the path points to ψ. The speed
// (vx, vy) is that of the unit's axle, per unit of the guided point's, in the
// unit's own axes; vy is not 0 only where the axle steers.
func (c *chain) rates(ψ float64, θ *angles) (ω angles) {
	sin, cos := math.Sincos(ψ - θ[0])
	ω[0] = sin / c.a
	vx, vy := cos+c.b*ω[0], 0.
	for i := 1; i < c.n; i++ {
		u := &c.units[i]
		γ := θ[i-1] - θ[i]
		sin, cos := math.Sincos(γ)
		side := vy + u.e*ω[i-1]
		hx, hy := vx*cos-side*sin, vx*sin+side*cos
		tan := 0.
		if u.ratio != 0 {
			tan = math.Tan(math.Max(-u.limit, math.Min(u.limit, -u.ratio*γ)))
		}
		ω[i] = (hy - hx*tan) / u.l
		vx, vy = hx, hx*tan
	}
	return ω
}

// tolerance of one step of the integrator, in radians.
const tolerance = 1e-12

// move integrates the headings along a leg from s to s + h with the embedded
// pair of orders 5 and 4 by Dormand and Prince, halving the step until the
// two agree. It never leaves the leg, so the curvature never jumps inside a
// step. Coefficients: J. R. Dormand, P. J. Prince, "A family of embedded
// Runge-Kutta formulae", J. Comp. Appl. Math. 6 (1980) 19.
func (c *chain) move(g *leg, s float64, θ angles, h float64) angles {
	for done := 0.; ; {
		step := h - done
		for tries := 0; ; tries++ {
			next, err := c.try(g, s+done, &θ, step)
			// A kink of the steering limit lowers the order; below 1/4096 of
			// the stride the error no longer matters.
			if err <= tolerance || tries == 12 {
				θ = next
				break
			}
			step /= 2
		}
		done += step
		if math.Abs(h-done) <= 1e-14*math.Abs(h) {
			return θ
		}
	}
}

func (c *chain) try(g *leg, s float64, θ *angles, h float64) (next angles, err float64) {
	at := func(x float64) float64 { return g.ψ + g.κ*(s+x*h) }
	var k [7]angles
	mix := func(w ...float64) (y angles) {
		for i := 0; i < c.n; i++ {
			sum := 0.
			for j, wj := range w {
				sum += wj * k[j][i]
			}
			y[i] = θ[i] + h*sum
		}
		return y
	}
	stage := func(j int, x float64, y angles) { k[j] = c.rates(at(x), &y) }
	stage(0, 0, *θ)
	stage(1, 1./5, mix(1./5))
	stage(2, 3./10, mix(3./40, 9./40))
	stage(3, 4./5, mix(44./45, -56./15, 32./9))
	stage(4, 8./9, mix(19372./6561, -25360./2187, 64448./6561, -212./729))
	stage(5, 1, mix(9017./3168, -355./33, 46732./5247, 49./176, -5103./18656))
	next = mix(35./384, 0, 500./1113, 125./192, -2187./6784, 11./84)
	stage(6, 1, next)
	for i := 0; i < c.n; i++ {
		e := h * (71./57600*k[0][i] - 71./16695*k[2][i] + 71./1920*k[3][i] - 17253./339200*k[4][i] + 22./525*k[5][i] - 1./40*k[6][i])
		err = math.Max(err, math.Abs(e))
	}
	return next, err
}

// frames places every unit on the road.
func (c *chain) frames(g *leg, s float64, θ *angles) (f [maxUnits]frame) {
	x, y, _, _ := g.point(s)
	for i := 0; i < c.n; i++ {
		f[i].sin, f[i].cos = math.Sincos(θ[i])
		if i == 0 {
			f[0].x, f[0].y = x-c.a*f[0].cos+c.b*f[0].sin, y-c.a*f[0].sin-c.b*f[0].cos
			continue
		}
		hx, hy := f[i-1].at(c.units[i].e, 0)
		f[i].x, f[i].y = hx-c.units[i].l*f[i].cos, hy-c.units[i].l*f[i].sin
	}
	return f
}

// stride is the distance at which tracked points are sampled: a quarter of a
// metre, less for short units.
func (c *chain) stride() float64 {
	h := math.Min(0.25, 0.15*c.a)
	for i := 1; i < c.n; i++ {
		h = math.Min(h, 0.15*c.units[i].l)
	}
	return h
}

// A sampled run: where every unit stands at one place of the path.
type sample struct {
	leg int
	s   float64 // on the leg
	θ   angles
}

// mostSamples bounds the memory of one run; a lap takes some 400.
const mostSamples = 2_000_000

// run leads the chain along the course, aligned at its beginning, and samples
// it at least every stride; both ends of each leg are samples, and one lies a
// little inside each end (see walk.follow).
func (c *chain) run(formula string, course []leg, stride float64) ([]sample, error) {
	total := 0.
	for _, g := range course {
		total += g.length/stride + 4
	}
	if !(total <= mostSamples) {
		return nil, &unit.DomainError{Formula: formula, Input: "course", Value: total, Want: "a course of at most 2 000 000 steps"}
	}
	out := make([]sample, 0, int(total)+1)
	var θ angles
	for i := range course {
		g := &course[i]
		n := math.Ceil(g.length / stride)
		h := g.length / n
		edge := 1e-3 * h
		out = append(out, sample{i, 0, θ}, sample{i, edge, c.move(g, 0, θ, edge)})
		for j := 1.; j <= n; j++ {
			s := (j - 1) * h
			if j == n {
				out = append(out, sample{i, g.length - edge, c.move(g, s, θ, h-edge)})
			}
			θ = c.move(g, s, θ, h)
			at := sample{i, j * h, θ}
			if j == n {
				at.s = g.length
			}
			if err := c.sound(formula, g, at); err != nil {
				return nil, err
			}
			out = append(out, at)
		}
	}
	return out, nil
}

// sound refuses positions that no train can stand in.
func (c *chain) sound(formula string, g *leg, at sample) error {
	if φ := g.ψ + g.κ*at.s - at.θ[0]; !(math.Abs(φ) < math.Pi/2) {
		return noAnswer(formula, "the guided point cannot follow: its drift against the tractor reaches 90° after %.2f m of path", g.s0+at.s)
	}
	for i := 1; i < c.n; i++ {
		if γ := at.θ[i-1] - at.θ[i]; !(math.Abs(γ) < math.Pi) {
			return noAnswer(formula, "towed unit %d goes right round: its articulation passes 180° after %.2f m of path", i, g.s0+at.s)
		}
	}
	return nil
}
