package turning

import "math"

// A pair is a tractor with one semi-trailer whose axles do not steer. Its
// transient on a line or an arc needs no general integrator: the drift φ of
// the guided point has a closed form, and u = tan(γ/2) obeys a Riccati
// equation, per metre of the guided path
//
//	du/ds = ½·[(p − r) − 2q·u + (p + r)·u²]
//	p = sin φ/a,  q = (cos φ + (b/a)·sin φ)/L2,  r = e·p/L2
//
// which is the linear map M = ½·[[−q, p − r], [−(p + r), q]] acting on
// (sin γ/2, cos γ/2). A Magnus step of fourth order (two Gauss points and the
// commutator) integrates it and stays regular past γ = 90°. Derived; handbook
// chapter 04, 1.5.
type pair struct {
	a, b, e, l float64 // guided point, lead, pin to bogie
}

// A half holds an angle as the sine and cosine of its half, so that a linear
// map turns it and it is continued past 180°.
type half struct{ n, d float64 }

func halfOf(angle float64) half {
	n, d := math.Sincos(angle / 2)
	return half{n, d}
}

func (h half) angle() float64 { return 2 * math.Atan2(h.n, h.d) }

// sincos returns the sine and cosine of the whole angle.
func (h half) sincos() (sin, cos float64) { return 2 * h.n * h.d, h.d*h.d - h.n*h.n }

// traceless is the matrix [[x, y], [z, −x]].
type traceless struct{ x, y, z float64 }

// A linear map [[a, b], [c, d]] of a half angle; its size does not matter.
type linear struct{ a, b, c, d float64 }

// exp is the exponential of the matrix, up to a positive factor.
func (m traceless) exp() linear {
	Δ := m.x*m.x + m.y*m.z
	var c, s float64
	switch { // cosh √Δ and sinh √Δ/√Δ
	case math.Abs(Δ) < 0.1: // remainder below 1e-14
		c = 1 + Δ*(1./2+Δ*(1./24+Δ*(1./720+Δ*(1./40320+Δ*(1./3628800)))))
		s = 1 + Δ*(1./6+Δ*(1./120+Δ*(1./5040+Δ*(1./362880+Δ*(1./39916800)))))
	case Δ > 0: // divided by cosh, which may overflow
		w := math.Sqrt(Δ)
		c, s = 1, math.Tanh(w)/w
	default:
		w := math.Sqrt(-Δ)
		s, c = math.Sincos(w)
		s /= w
	}
	return linear{c + m.x*s, m.y * s, m.z * s, c - m.x*s}
}

// turn maps a half angle. The result is not of unit length.
func (l *linear) turn(h half) half {
	return half{l.a*h.n + l.b*h.d, l.c*h.n + l.d*h.d}
}

func (h half) unit() half {
	k := 1 / math.Sqrt(h.n*h.n+h.d*h.d)
	return half{h.n * k, h.d * k}
}

// A leg is one line or arc of the guided path.
type leg struct {
	x, y, ψ float64 // where it begins, and its direction there
	κ       float64 // curvature, left positive
	s0      float64 // distance along the course to its beginning
	length  float64

	cos, sin float64 // of ψ
}

// aimed fills in the cosine and sine.
func (g leg) aimed() leg {
	g.sin, g.cos = math.Sincos(g.ψ)
	return g
}

// point returns a point of the leg and the path's direction there.
func (g *leg) point(s float64) (x, y, cos, sin float64) {
	if math.Abs(g.κ*s) < 1e-3 { // an arc so flat that the difference below loses digits
		bend := g.κ * s / 2
		sin, cos := math.Sincos(g.ψ + bend)
		chord := s * (1 - bend*bend/6)
		x, y = g.x+chord*cos, g.y+chord*sin
		sin, cos = math.Sincos(g.ψ + g.κ*s)
		return x, y, cos, sin
	}
	sin, cos = math.Sincos(g.ψ + g.κ*s)
	return g.x + (sin-g.sin)/g.κ, g.y - (cos-g.cos)/g.κ, cos, sin
}

func (g *leg) direction(s float64) float64 { return g.ψ + g.κ*s }

// centre of an arc.
func (g *leg) centre() (x, y float64) { return g.x - g.sin/g.κ, g.y + g.cos/g.κ }

// A state is where the pair stands on a leg: the drift of the guided point and
// the articulation at s metres from the beginning of the leg.
type state struct {
	s    float64
	φ, γ half
}

// gauss places the two points of the step at which M is taken.
const gauss = 0.28867513459481288225 // √3/6

// A step moves the pair a fixed distance along a curvature.
type step struct {
	*pair
	h               float64
	first, sec, all linear // drift over the two Gauss points and the whole step
}

func (p *pair) step(κ, h float64) step {
	// φ moves exactly: the same linear form with M = ½·[[−1/a, κ], [−κ, 1/a]].
	drift := func(h float64) linear { return traceless{-h / (2 * p.a), κ * h / 2, -κ * h / 2}.exp() }
	return step{p, h, drift((0.5 - gauss) * h), drift((0.5 + gauss) * h), drift(h)}
}

func (p *step) from(at state) state {
	h := p.h
	m1, m2 := p.matrix(p.first.turn(at.φ)), p.matrix(p.sec.turn(at.φ))
	k := gauss / 2 * h * h // √3/12·h²
	ω := traceless{
		h / 2 * (m1.x + m2.x), // y and z stay in proportion, so the commutator adds nothing
		h/2*(m1.y+m2.y) + 2*k*(m2.x*m1.y-m2.y*m1.x),
		h/2*(m1.z+m2.z) + 2*k*(m2.z*m1.x-m1.z*m2.x),
	}.exp()
	return state{at.s + h, p.all.turn(at.φ).unit(), ω.turn(at.γ).unit()}
}

// move is one step of any length.
func (p *pair) move(κ float64, at state, h float64) state {
	s := p.step(κ, h)
	return s.from(at)
}

func (p *pair) matrix(φ half) traceless {
	k := 1 / (φ.n*φ.n + φ.d*φ.d)
	P := 2 * φ.n * φ.d * k / p.a // sin φ/a
	q := ((φ.d*φ.d-φ.n*φ.n)*k + p.b*P) / p.l
	r := p.e * P / p.l
	return traceless{-q / 2, (P - r) / 2, -(P + r) / 2}
}

// A frame is the position of one unit: its axle and its heading.
type frame struct{ x, y, cos, sin float64 }

// at returns a point of the unit in the road's axes.
func (f *frame) at(ahead, left float64) (x, y float64) {
	return f.x + ahead*f.cos - left*f.sin, f.y + ahead*f.sin + left*f.cos
}

// local returns a point of the road in the unit's axes.
func (f *frame) local(x, y float64) (ahead, left float64) {
	dx, dy := x-f.x, y-f.y
	return dx*f.cos + dy*f.sin, dy*f.cos - dx*f.sin
}

// frames returns where tractor and trailer stand.
func (p *pair) frames(g *leg, at *state) (tractor, trailer frame) {
	x, y, cos, sin := g.point(at.s)
	sφ, cφ := at.φ.sincos()
	tractor.cos, tractor.sin = cos*cφ+sin*sφ, sin*cφ-cos*sφ // θ1 = ψ − φ
	tractor.x, tractor.y = x-p.a*tractor.cos+p.b*tractor.sin, y-p.a*tractor.sin-p.b*tractor.cos
	sγ, cγ := at.γ.sincos()
	trailer.cos, trailer.sin = tractor.cos*cγ+tractor.sin*sγ, tractor.sin*cγ-tractor.cos*sγ // θ2 = θ1 − γ
	trailer.x = tractor.x + p.e*tractor.cos - p.l*trailer.cos
	trailer.y = tractor.y + p.e*tractor.sin - p.l*trailer.sin
	return tractor, trailer
}

// An outline is a rectangle about the axle of a unit.
type outline struct {
	front, rear float64 // ahead of the axle and behind it
	half        float64 // of the width
}

// apart is the distance of a point in the unit's axes from the outline;
// negative by the depth when the point lies inside.
func (o *outline) apart(ahead, left float64) float64 {
	dx := math.Max(ahead-o.front, -o.rear-ahead)
	dy := math.Abs(left) - o.half
	switch {
	case dx <= 0:
		return math.Max(dx, dy)
	case dy <= 0:
		return dx
	}
	return math.Sqrt(dx*dx + dy*dy)
}
