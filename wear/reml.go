package wear

import (
	"math"

	"underpin/unit"
)

// FitMixed returns the mixed model with random intercept and slope, by
// restricted (REML) or plain (ML) maximum likelihood:
//
//	minimise over θ = L, G = σ²·LLᵀ:
//	Σ ln|I + LᵀA_iL| + ln|ΣW_i| (REML only) + ν·(1 + ln(2π·r²/ν))
//	W_i = A_i − A_iK_iA_i,   K_i = L(I + LᵀA_iL)⁻¹Lᵀ,   β̂ = (ΣW_i)⁻¹·Σ(c_i − A_iK_ic_i)
//	r² = Σ(y² − cᵀKc) − β̂ᵀΣ(c − AKc),   σ² = r²/ν,   ν = N − 2 (REML) or N (ML)
//
//	A_i, c_i  sums ΣZᵀZ and ΣZᵀy of unit i, Z = (1, x)
//	N         observations
//
// Units with one observation, or none at some x, count with what they have.
//
// Valid for finite points on three units or more with two points or more, one
// of them with three (otherwise a *unit.NoAnswerError): fewer cannot tell the
// spread between units from the error of a reading. Below eight units the spread
// is hardly known: use stated values instead. Not finite: *unit.DomainError.
//
// Source: Pinheiro and Bates, Mixed-Effects Models, 2000, profiled likelihood;
// checked with sleepstudy and against lme4 and nlme on unbalanced data.
func FitMixed(units [][]Point, o MixedOptions) (Mixed, error) {
	const name = "mixed model"
	for _, u := range units {
		for _, p := range u {
			if !finite(p.X) || !finite(p.Y) {
				return Mixed{}, &unit.DomainError{Formula: name, Input: "point", Value: p.X + p.Y, Want: "finite numbers"}
			}
		}
	}
	start, err := MomentsOf(units)
	if err != nil {
		return Mixed{}, err
	}
	f, err := newProfile(units, start, o)
	if err != nil {
		return Mixed{}, err
	}
	θ := f.start(start)
	θ = f.minimise(θ)
	return f.model(θ), nil
}

// profile is the criterion as a function of θ, in scaled units: y is counted
// from a common line and divided by sy, x divided by sx, so that θ is of order
// one and sums lose no digits.
type profile struct {
	units   []unitSums
	b0, b1  float64 // the common line taken off
	sx, sy  float64
	n       int
	o       MixedOptions
	free    int       // parameters: 3, or 2 when uncorrelated
	scratch []unitFit // of the last evaluation
}

type unitFit struct {
	k Sym  // K
	t full // M·Lᵀ
}

func newProfile(points [][]Point, start Mixed, o MixedOptions) (*profile, error) {
	f := &profile{b0: start.Intercept, b1: start.Slope, o: o, free: 3}
	if o.Uncorrelated {
		f.free = 2
	}
	var xx, yy float64
	for _, u := range points {
		for _, p := range u {
			r := p.Y - f.b0 - f.b1*p.X
			xx += p.X * p.X
			yy += r * r
			f.n++
		}
	}
	f.sx, f.sy = math.Sqrt(xx/float64(f.n)), math.Sqrt(yy/float64(f.n))
	if !(f.sx > 0 && f.sy > 0) {
		return nil, &unit.NoAnswerError{Formula: "mixed model", Why: "the readings lie on one line exactly"}
	}
	for _, u := range points {
		if len(u) == 0 {
			continue
		}
		s := unitSums{n: len(u)}
		for _, p := range u {
			x, y := p.X/f.sx, (p.Y-f.b0-f.b1*p.X)/f.sy
			s.a.II++
			s.a.IS += x
			s.a.SS += x * x
			s.c0 += y
			s.c1 += x * y
			s.yy += y * y
		}
		f.units = append(f.units, s)
	}
	f.scratch = make([]unitFit, len(f.units))
	return f, nil
}

// start takes θ from the moments where these give a spread, and a modest one
// where they do not.
func (f *profile) start(m Mixed) [3]float64 {
	v := m.Variance
	if !(v > 0) {
		v = 1e-6 * f.sy * f.sy
	}
	g := Sym{m.G.II / v, m.G.IS * f.sx / v, m.G.SS * f.sx * f.sx / v}
	if !(g.II > 0.01) {
		g.II, g.IS = 0.01, 0
	}
	if !(g.SS > 0.01) {
		g.SS, g.IS = 0.01, 0
	}
	if f.o.Uncorrelated || !(g.II*g.SS > 1.01*g.IS*g.IS) {
		g.IS = 0
	}
	l := lowerOf(g)
	return [3]float64{l.a, l.b, l.c}
}

type evaluation struct {
	value    float64
	w        Sym // ΣW
	b0, b1   float64
	r2, ν    float64
	gradient [3]float64
}

// at evaluates the criterion and, with grad, its gradient.
func (f *profile) at(θ [3]float64, grad bool) evaluation {
	l := lower{θ[0], θ[1], θ[2]}
	var e evaluation
	var v0, v1, yy, logdet float64
	for i, u := range f.units {
		k, t, det := l.k(u.a)
		f.scratch[i] = unitFit{k, t}
		logdet += math.Log(det)
		ak := k.times(u.a).transposed() // A·K
		e.w = e.w.plus(u.a.minus(ak.timesSym(u.a).sym()))
		v0 += u.c0 - ak[0]*u.c0 - ak[1]*u.c1
		v1 += u.c1 - ak[2]*u.c0 - ak[3]*u.c1
		yy += u.yy - (k.II*u.c0*u.c0 + 2*k.IS*u.c0*u.c1 + k.SS*u.c1*u.c1)
	}
	det := e.w.II*e.w.SS - e.w.IS*e.w.IS
	e.b0 = (e.w.SS*v0 - e.w.IS*v1) / det
	e.b1 = (e.w.II*v1 - e.w.IS*v0) / det
	e.r2 = yy - e.b0*v0 - e.b1*v1
	e.ν = float64(f.n)
	e.value = logdet
	if !f.o.ML {
		e.ν -= 2
		e.value += math.Log(det)
	}
	e.value += e.ν * (1 + math.Log(2*math.Pi*e.r2/e.ν))
	if !grad {
		return e
	}
	inv := Sym{e.w.SS / det, -e.w.IS / det, e.w.II / det}
	var d full // gradient by the elements of L, [row·2 + column]
	for i, u := range f.units {
		s := f.scratch[i]
		// Σ ln|I + LᵀAL| gives 2·(M·Lᵀ·A) at [column, row].
		ta := s.t.timesSym(u.a)
		d[0] += 2 * ta[0]
		d[2] += 2 * ta[1]
		d[1] += 2 * ta[2]
		d[3] += 2 * ta[3]
		ka := s.k.times(u.a)
		rest := full{1 - ka[0], -ka[1], -ka[2], 1 - ka[3]} // I − KA
		if !f.o.ML {
			// ln|ΣW| gives −2·(M·Lᵀ·A·W⁻¹·A·(I − KA)) at [column, row].
			g := ta.times(inv.times(u.a)).times(rest)
			d[0] -= 2 * g[0]
			d[2] -= 2 * g[1]
			d[1] -= 2 * g[2]
			d[3] -= 2 * g[3]
		}
		// ν·ln r² gives −2ν/r²·p·qᵀ, p = (I − AK)·e, q = M·Lᵀ·e; β̂ is stationary.
		r0, r1 := u.residual(e.b0, e.b1)
		p0, p1 := rest[0]*r0+rest[2]*r1, rest[1]*r0+rest[3]*r1
		q0, q1 := s.t[0]*r0+s.t[1]*r1, s.t[2]*r0+s.t[3]*r1
		c := 2 * e.ν / e.r2
		d[0] -= c * p0 * q0
		d[1] -= c * p0 * q1
		d[2] -= c * p1 * q0
		d[3] -= c * p1 * q1
	}
	e.gradient = [3]float64{d[0], d[2], d[3]}
	if f.o.Uncorrelated {
		e.gradient[1] = 0
	}
	return e
}

// minimise is Newton's method with the Hessian from differences of the gradient
// and damping (Levenberg) where it is not positive.
func (f *profile) minimise(θ [3]float64) [3]float64 {
	here := f.at(θ, true)
	damping := 1e-3
	for range 200 {
		var h [3][3]float64
		for j := range 3 {
			step := 1e-5 * math.Max(1, math.Abs(θ[j]))
			up, down := θ, θ
			up[j] += step
			down[j] -= step
			gu, gd := f.at(up, true).gradient, f.at(down, true).gradient
			for i := range 3 {
				h[i][j] = (gu[i] - gd[i]) / (2 * step)
			}
		}
		for i := range 3 {
			for j := range i {
				m := (h[i][j] + h[j][i]) / 2
				h[i][j], h[j][i] = m, m
			}
		}
		if f.o.Uncorrelated {
			h[0][1], h[1][0], h[1][2], h[2][1], h[1][1] = 0, 0, 0, 0, 1
		}
		moved := false
		for range 40 {
			d := h
			for i := range 3 {
				d[i][i] += damping * math.Max(1, math.Abs(h[i][i]))
			}
			s, ok := solve3(d, here.gradient)
			if ok {
				next := [3]float64{θ[0] - s[0], θ[1] - s[1], θ[2] - s[2]}
				there := f.at(next, true)
				// At the end the value no longer tells, the gradient does.
				better := there.value < here.value ||
					there.value <= here.value+1e-12*math.Abs(here.value) && norm3(there.gradient) < norm3(here.gradient)
				if better {
					θ, here, moved = next, there, true
					damping = math.Max(damping/10, 1e-14)
					break
				}
			}
			damping = math.Max(damping*10, 1e-12)
			if damping > 1e12 {
				break
			}
		}
		if !moved || norm3(here.gradient) < 1e-12 {
			break
		}
	}
	return θ
}

// model turns the scaled optimum back into the units of the data.
func (f *profile) model(θ [3]float64) Mixed {
	e := f.at(θ, false)
	l := lower{θ[0], θ[1], θ[2]}
	g := l.square()
	det := e.w.II*e.w.SS - e.w.IS*e.w.IS
	v := e.r2 / e.ν // scaled σ²
	y2 := f.sy * f.sy
	m := Mixed{
		Units: len(f.units), N: f.n, Variance: v * y2,
		Intercept: f.b0 + e.b0*f.sy, Slope: f.b1 + e.b1*f.sy/f.sx,
		G:   Sym{g.II * v * y2, g.IS * v * y2 / f.sx, g.SS * v * y2 / (f.sx * f.sx)},
		Cov: Sym{e.w.SS / det * v * y2, -e.w.IS / det * v * y2 / f.sx, e.w.II / det * v * y2 / (f.sx * f.sx)},
	}
	m.Criterion = e.value + 2*e.ν*math.Log(f.sy)
	if !f.o.ML {
		m.Criterion += 2 * math.Log(f.sx)
	}
	m.Boundary = !(math.Abs(θ[0]) > 1e-5 && math.Abs(θ[2]) > 1e-5)
	return m
}

// full is a 2×2 matrix by rows, lower a lower triangular one.
type (
	full  [4]float64
	lower struct{ a, b, c float64 }
)

// lowerOf is the Cholesky factor; a direction without spread gives a zero.
func lowerOf(g Sym) lower {
	var l lower
	l.a = math.Sqrt(math.Max(g.II, 0))
	if l.a > 0 {
		l.b = g.IS / l.a
	}
	l.c = math.Sqrt(math.Max(g.SS-l.b*l.b, 0))
	return l
}

func (l lower) square() Sym { return Sym{l.a * l.a, l.a * l.b, l.b*l.b + l.c*l.c} }

// k is K = L·M·Lᵀ with M = (I + LᵀAL)⁻¹, M·Lᵀ and |I + LᵀAL|.
func (l lower) k(a Sym) (k Sym, t full, det float64) {
	// LᵀAL
	p, q := a.II*l.a+a.IS*l.b, a.IS*l.a+a.SS*l.b // A·(first column of L)
	x := Sym{1 + l.a*p + l.b*q, l.c * q, 1 + l.c*l.c*a.SS}
	det = x.II*x.SS - x.IS*x.IS
	m := Sym{x.SS / det, -x.IS / det, x.II / det}
	// M·Lᵀ, Lᵀ = [a b; 0 c]
	t = full{m.II * l.a, m.II*l.b + m.IS*l.c, m.IS * l.a, m.IS*l.b + m.SS*l.c}
	k = Sym{l.a * t[0], l.a * t[1], l.b*t[1] + l.c*t[3]}
	return k, t, det
}

func (s Sym) times(t Sym) full {
	return full{s.II*t.II + s.IS*t.IS, s.II*t.IS + s.IS*t.SS, s.IS*t.II + s.SS*t.IS, s.IS*t.IS + s.SS*t.SS}
}

func (s Sym) plus(t Sym) Sym  { return Sym{s.II + t.II, s.IS + t.IS, s.SS + t.SS} }
func (s Sym) minus(t Sym) Sym { return Sym{s.II - t.II, s.IS - t.IS, s.SS - t.SS} }

func (f full) transposed() full { return full{f[0], f[2], f[1], f[3]} }

func (f full) times(g full) full {
	return full{f[0]*g[0] + f[1]*g[2], f[0]*g[1] + f[1]*g[3], f[2]*g[0] + f[3]*g[2], f[2]*g[1] + f[3]*g[3]}
}

func (f full) timesSym(s Sym) full {
	return f.times(full{s.II, s.IS, s.IS, s.SS})
}

func (f full) sym() Sym { return Sym{f[0], (f[1] + f[2]) / 2, f[3]} }

// congruent is f·s·fᵀ.
func (f full) congruent(s Sym) Sym { return f.timesSym(s).times(f.transposed()).sym() }

func norm3(v [3]float64) float64 {
	return math.Max(math.Abs(v[0]), math.Max(math.Abs(v[1]), math.Abs(v[2])))
}

// solve3 solves h·x = g by elimination; not ok when h is not positive definite.
func solve3(h [3][3]float64, g [3]float64) (x [3]float64, ok bool) {
	for i := range 3 {
		if !(h[i][i] > 0) {
			return x, false
		}
		for r := i + 1; r < 3; r++ {
			m := h[r][i] / h[i][i]
			for c := i; c < 3; c++ {
				h[r][c] -= m * h[i][c]
			}
			g[r] -= m * g[i]
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = g[i]
		for c := i + 1; c < 3; c++ {
			x[i] -= h[i][c] * x[c]
		}
		x[i] /= h[i][i]
	}
	return x, true
}
