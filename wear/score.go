package wear

import (
	"math"
)

// A score is −2 ln L of many parts with the mean rate at its best, and its
// derivatives with respect to ln τ², ln q and ln σ².
type score struct {
	d        float64
	by       [3]float64
	uv, uu   float64
	duv, duu [3]float64
}

// derived is the filter with its derivatives carried along: the same recursion
// as in filter, each line followed by its derivative.
type derived struct {
	w, b, ww, wb, bb, gw, gb       float64
	dw, db, dww, dwb, dbb, dg, dgb [3]float64
}

// add takes in one part.
func (s *score) add(p Prior, readings []Reading) {
	f := derived{w: float64(p.Start), b: float64(p.Rate), gb: 1, ww: float64(p.StartSD) * float64(p.StartSD), bb: float64(p.RateSD) * float64(p.RateSD)}
	f.dbb[0] = f.bb
	q, own := float64(p.Drift), float64(p.GaugeSD)*float64(p.GaugeSD)
	x, product := 0.0, 1.0
	for i := range readings {
		r := &readings[i]
		d := float64(r.Distance) - x
		x = float64(r.Distance)
		v, dv := own, own
		if r.GaugeSD != 0 {
			v, dv = float64(r.GaugeSD)*float64(r.GaugeSD), 0
		}
		v += float64(r.Resolution) * float64(r.Resolution) / 12

		f.w += d * f.b
		f.gw += d * f.gb
		f.ww += 2*d*f.wb + d*d*f.bb + q*d
		f.wb += d * f.bb
		for k := range 3 {
			f.dw[k] += d * f.db[k]
			f.dg[k] += d * f.dgb[k]
			f.dww[k] += 2*d*f.dwb[k] + d*d*f.dbb[k]
			f.dwb[k] += d * f.dbb[k]
		}
		f.dww[1] += q * d

		F := f.ww + v
		inv := 1 / F
		e, u := float64(r.Wear)-f.w, f.gw
		Kw, Kb, rest := f.ww*inv, f.wb*inv, v*inv
		s.d += e * e * inv
		s.uv += u * e * inv
		s.uu += u * u * inv
		product *= F * 1e9 // square metres of wear are small: keep the product near 1
		if product < 1e-200 || product > 1e200 {
			s.d += math.Log(product)
			product = 1
		}
		for k := range 3 {
			dF := f.dww[k]
			if k == 2 {
				dF += dv
			}
			de, du, g := -f.dw[k], f.dg[k], dF*inv
			s.by[k] += g + (2*de-e*g)*e*inv
			s.duv[k] += (du*e + u*de - u*e*g) * inv
			s.duu[k] += (2*du - u*g) * u * inv
			dKw, dKb := f.dww[k]*inv-Kw*g, f.dwb[k]*inv-Kb*g
			f.dw[k] += dKw*e + Kw*de
			f.db[k] += dKb*e + Kb*de
			f.dg[k] -= dKw*u + Kw*du
			f.dgb[k] -= dKb*u + Kb*du
			f.dbb[k] -= dKb*f.wb + Kb*f.dwb[k]
			f.dwb[k] = f.dwb[k]*rest - f.wb*dKw
			f.dww[k] = f.dww[k]*rest - f.ww*dKw
		}
		f.w += Kw * e
		f.b += Kb * e
		f.gw -= Kw * u
		f.gb -= Kb * u
		f.bb -= Kb * f.wb
		f.wb *= rest
		f.ww *= rest
	}
	n := float64(len(readings))
	s.d += math.Log(product) + n*(ln2π-math.Log(1e9))
}

// scoreOf is the score of many parts.
func (p Prior) scoreOf(parts [][]Reading, restricted bool) score {
	var s score
	for _, readings := range parts {
		s.add(p, readings)
	}
	s.d -= s.uv * s.uv / s.uu
	for k := range 3 {
		s.by[k] -= s.uv * (2*s.duv[k] - s.uv*s.duu[k]/s.uu) / s.uu
		if restricted {
			s.by[k] += s.duu[k] / s.uu
		}
	}
	if restricted {
		s.d += restriction(s.uu)
	}
	return s
}

// restriction is what the restricted likelihood adds for the one mean that was
// estimated.
func restriction(uu float64) float64 { return math.Log(uu) - ln2π }

// polish goes on from a fit to a sample by Newton's steps on all parts: the slope
// is that of all of them, the curvature that of the sample. It returns the
// logarithms of the factors on τ², q and σ², and whether the steps came to rest.
func polish(at func(θ []float64) Prior, parts, sample [][]Reading, θ []float64, free []int, restricted bool) ([]float64, bool) {
	slope := func(of [][]Reading, θ []float64) []float64 {
		s := at(θ).scoreOf(of, restricted)
		out := make([]float64, len(free))
		for i, k := range free {
			out[i] = s.by[k]
		}
		return out
	}
	n := len(θ)
	const h = 1e-4
	scale := float64(len(parts)) / float64(len(sample))
	H := make([][]float64, n)
	for i := range H {
		up, down := append([]float64(nil), θ...), append([]float64(nil), θ...)
		up[i] += h
		down[i] -= h
		a, b := slope(sample, up), slope(sample, down)
		H[i] = make([]float64, n)
		for j := range n {
			H[i][j] = (a[j] - b[j]) / (2 * h) * scale
		}
	}
	for i := range n {
		for j := range i {
			H[i][j] = (H[i][j] + H[j][i]) / 2
			H[j][i] = H[i][j]
		}
	}
	θ = append([]float64(nil), θ...)
	for range 12 {
		step, ok := solve(H, slope(parts, θ))
		if !ok {
			return θ, false
		}
		size := 0.0
		for i := range θ {
			size = math.Max(size, math.Abs(step[i]))
		}
		if !(size < 2) {
			return θ, false
		}
		for i := range θ {
			θ[i] -= step[i]
		}
		if size < 1e-6 { // the curvature is a few per cent off: what is left is below 1e-7
			return θ, true
		}
	}
	return θ, false
}

// solve is Gauss's elimination for the few unknowns there are; it refuses what is
// not positive definite.
func solve(H [][]float64, g []float64) ([]float64, bool) {
	n := len(g)
	a := make([][]float64, n)
	for i := range a {
		a[i] = append(append([]float64(nil), H[i]...), g[i])
	}
	for i := range n {
		if !(a[i][i] > 0) {
			return nil, false
		}
		for j := i + 1; j < n; j++ {
			k := a[j][i] / a[i][i]
			for c := i; c <= n; c++ {
				a[j][c] -= k * a[i][c]
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		x[i] = a[i][n]
		for j := i + 1; j < n; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
	return x, true
}

// sampleOf is every so-manieth part, so that about most remain.
func sampleOf(parts [][]Reading, most int) [][]Reading {
	if len(parts) <= most {
		return parts
	}
	out := make([][]Reading, 0, most)
	for i := range most {
		out = append(out, parts[i*len(parts)/most])
	}
	return out
}
