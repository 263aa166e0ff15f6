package wear

import (
	"math"

	"underpin/unit"
)

// A Point is one observation, in any units that belong together.
type Point struct{ X, Y float64 }

// MixedOptions choose the model and the criterion.
type MixedOptions struct {
	ML           bool // maximum likelihood; else restricted maximum likelihood (REML)
	Uncorrelated bool // intercepts and slopes vary independently
}

// Sym is a symmetric 2×2 matrix of intercept and slope.
type Sym struct{ II, IS, SS float64 }

// Mixed is a fitted model y = (β0 + u0) + (β1 + u1)·x + e with u ~ N(0, G) for
// each unit and e ~ N(0, σ²).
type Mixed struct {
	Units, N  int
	Intercept float64 // β̂0
	Slope     float64 // β̂1
	Cov       Sym     // of β̂
	G         Sym
	Variance  float64 // σ²
	Criterion float64 // −2 ln L, restricted unless ML
	Boundary  bool    // some spread between units was estimated as nothing
}

// SE are the standard errors of intercept and slope.
func (m Mixed) SE() (intercept, slope float64) { return math.Sqrt(m.Cov.II), math.Sqrt(m.Cov.SS) }

// UnitLine is the line of one unit, drawn towards the fleet's.
type UnitLine struct {
	Intercept, Slope float64
	Cov              Sym     // with β taken as known
	CovAll           Sym     // with the error of β̂
	Variance         float64 // σ²
}

// Predict is the height of the unit's line at x, the variance of that, and the
// variance of a new observation there.
func (l UnitLine) Predict(x float64) (y, line, observation float64) {
	v := l.CovAll.II + 2*x*l.CovAll.IS + x*x*l.CovAll.SS
	return l.Intercept + l.Slope*x, v, v + l.Variance
}

// Unit draws the line of one unit from its points: the best linear unbiased
// prediction. Without points it is the line of the fleet.
func (m Mixed) Unit(points []Point) UnitLine {
	u := sums(points, 0, 0)
	k := blup(m.G, m.Variance, u.a)
	r0, r1 := u.residual(m.Intercept, m.Slope)
	out := UnitLine{Variance: m.Variance}
	out.Intercept = m.Intercept + k.II*r0 + k.IS*r1
	out.Slope = m.Slope + k.IS*r0 + k.SS*r1
	out.Cov = Sym{m.Variance * k.II, m.Variance * k.IS, m.Variance * k.SS}
	// (I − KA) C (I − KA)ᵀ
	t := k.times(u.a)
	t = full{1 - t[0], -t[1], -t[2], 1 - t[3]}
	c := t.congruent(m.Cov)
	out.CovAll = Sym{out.Cov.II + c.II, out.Cov.IS + c.IS, out.Cov.SS + c.SS}
	return out
}

// blup is K = (σ²·G⁻¹ + A)⁻¹ = L(I + LᵀAL)⁻¹Lᵀ with G = σ²·LLᵀ, which stands a
// singular G.
func blup(g Sym, variance float64, a Sym) Sym {
	k, _, _ := lowerOf(Sym{g.II / variance, g.IS / variance, g.SS / variance}).k(a)
	return k
}

// unitSums are the sums of one unit: A = ΣZᵀZ, c = ΣZᵀy, Σy², with y counted
// from a common line.
type unitSums struct {
	n      int
	a      Sym
	c0, c1 float64
	yy     float64
}

func sums(points []Point, b0, b1 float64) unitSums {
	u := unitSums{n: len(points)}
	for _, p := range points {
		y := p.Y - b0 - b1*p.X
		u.a.II++
		u.a.IS += p.X
		u.a.SS += p.X * p.X
		u.c0 += y
		u.c1 += p.X * y
		u.yy += y * y
	}
	return u
}

func (u unitSums) residual(b0, b1 float64) (r0, r1 float64) {
	return u.c0 - u.a.II*b0 - u.a.IS*b1, u.c1 - u.a.IS*b0 - u.a.SS*b1
}

// MomentsOf returns the mixed model by moments: from the least-squares line of
// each unit by itself:
//
//	σ² = ΣRSS_i/Σ(n_i − 2),   G = cov(lines) − σ²·mean(A_i⁻¹),   β̂ = mean of the lines
//
//	n_i, RSS_i  points of unit i, squares about its own line
//	A_i         its sums ΣZᵀZ, Z = (1, x)
//
// For balanced data (all units read at the same x) it equals REML, when the G it
// gives is positive definite.
//
// Valid for three units or more with two points or more at different x, and one
// unit at least with three; otherwise the error is a *unit.NoAnswerError. Units
// with fewer points do not count.
//
// Source: method of moments for random coefficients (Swamy), textbook form;
// handbook chapter 06, B1.5, checked with sleepstudy.
func MomentsOf(units [][]Point) (Mixed, error) {
	const name = "mixed model by moments"
	var m Mixed
	var rss float64
	var dof, k int
	var s, mean Sym
	for _, p := range units { // first the mean line, then the spread about it
		l, ok := ownLine(p)
		if !ok {
			continue
		}
		k++
		m.N += len(p)
		m.Intercept += l.Intercept
		m.Slope += l.Slope
		rss += l.RSS
		dof += l.N - 2
	}
	if k < 3 || dof < 1 {
		return Mixed{}, &unit.NoAnswerError{Formula: name, Why: "too few units with two readings or more to tell the spread between units from the error of a reading"}
	}
	m.Units = k
	m.Intercept /= float64(k)
	m.Slope /= float64(k)
	m.Variance = rss / float64(dof)
	for _, p := range units {
		l, ok := ownLine(p)
		if !ok {
			continue
		}
		di, ds := l.Intercept-m.Intercept, l.Slope-m.Slope
		s.II += di * di / float64(k-1)
		s.IS += di * ds / float64(k-1)
		s.SS += ds * ds / float64(k-1)
		mean.II += (1/float64(l.N) + l.MeanX*l.MeanX/l.Sxx) / float64(k)
		mean.IS += -l.MeanX / l.Sxx / float64(k)
		mean.SS += 1 / l.Sxx / float64(k)
	}
	m.G = Sym{s.II - m.Variance*mean.II, s.IS - m.Variance*mean.IS, s.SS - m.Variance*mean.SS}
	m.Cov = Sym{s.II / float64(k), s.IS / float64(k), s.SS / float64(k)}
	m.Criterion = math.NaN()
	m.Boundary = !(m.G.II > 0 && m.G.II*m.G.SS > m.G.IS*m.G.IS)
	return m, nil
}

// ownLine is a unit's own line of least squares; with two points it goes through
// both.
func ownLine(p []Point) (Line, bool) {
	if len(p) < 2 {
		return Line{}, false
	}
	l := Line{N: len(p)}
	var my float64
	for _, q := range p {
		l.MeanX += q.X / float64(l.N)
		my += q.Y / float64(l.N)
	}
	var sxy float64
	for _, q := range p {
		l.Sxx += (q.X - l.MeanX) * (q.X - l.MeanX)
		sxy += (q.X - l.MeanX) * (q.Y - my)
	}
	if !(l.Sxx > 0) {
		return Line{}, false
	}
	l.Slope = sxy / l.Sxx
	l.Intercept = my - l.Slope*l.MeanX
	if l.N == 2 {
		return l, true // through both: what rounding leaves is no error
	}
	for _, q := range p {
		r := q.Y - my - l.Slope*(q.X-l.MeanX)
		l.RSS += r * r
	}
	return l, true
}
