package wear

import "math"

// normal is Φ, the standard normal distribution function.
func normal(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// density is φ, the standard normal density.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// quantile is Φ⁻¹. The library's inverse loses digits in the far tails; one step
// of Newton brings them back.
func quantile(p float64) float64 {
	if p > 0.5 {
		return -quantile(1 - p)
	}
	z := -math.Sqrt2 * math.Erfcinv(2*p)
	if d := density(z); d > 0 {
		z -= (normal(z) - p) / d
	}
	return z
}

// mills is Φ(−x)/φ(x) for x ≥ 0, also where both are too small for a float:
// beyond 5 by its continued fraction, Abramowitz and Stegun, 26.2.14.
func mills(x float64) float64 {
	if x < 5 {
		return normal(-x) / density(x)
	}
	f := x
	for k := 60.0; k >= 1; k-- {
		f = x + k/f
	}
	return 1 / f
}

// student is the quantile of Student's t for n degrees of freedom.
//
// For whole n the distribution function is a finite sum in θ = atan(t/√n) and
// grows with θ, so the root is bracketed from the start and Newton cannot run
// away. Beyond a thousand degrees the expansion about the normal quantile is
// exact to the twelfth digit (Abramowitz and Stegun, 26.7.5).
func student(p float64, n int) float64 {
	if p == 0.5 {
		return 0
	}
	if n > 1000 {
		z, v := quantile(p), float64(n)
		z2 := z * z
		return z + z*(z2+1)/(4*v) + z*(5*z2*z2+16*z2+3)/(96*v*v) + z*(3*z2*z2*z2+19*z2*z2+17*z2-15)/(384*v*v*v)
	}
	target := math.Abs(2*p - 1) // P(|T| ≤ t)
	lo, hi := 0.0, math.Pi/2
	θ := math.Pi / 4
	for range 100 {
		got, slope := studentBetween(θ, n)
		if got < target {
			lo = θ
		} else {
			hi = θ
		}
		next := θ - (got-target)/slope
		if !(lo < next && next < hi) {
			next = (lo + hi) / 2
		}
		if next == θ || hi-lo <= 1e-16 {
			break
		}
		θ = next
	}
	return math.Copysign(math.Sqrt(float64(n))*math.Tan(θ), p-0.5)
}

// studentBetween is P(|T| ≤ √n·tan θ) and its derivative by θ. Abramowitz and
// Stegun, 26.7.3 for odd and 26.7.4 for even n: terms in cos⁰ or cos¹ up to
// cos^(n−2), each the last times cos²·(k+1)/(k+2).
func studentBetween(θ float64, n int) (p, slope float64) {
	sin, cos := math.Sincos(θ)
	k, term, sum := 0, 1.0, 0.0
	if n%2 == 1 {
		k, term = 1, cos
	}
	for ; k <= n-2; k += 2 {
		sum += term
		term *= cos * cos * float64(k+1) / float64(k+2)
	}
	slope = float64(n) * term / cos
	if n%2 == 1 {
		return 2 / math.Pi * (θ + sin*sum), 2 / math.Pi * slope
	}
	return sin * sum, slope
}
