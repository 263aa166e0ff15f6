package wear

import (
	"math"
	"slices"

	"underpin/unit"
)

// FleetOptions say what is taken as known when a fleet's parameters are
// estimated.
type FleetOptions struct {
	KnownGauge bool // σ of the start is known, from repeated measurements of one pin
	KnownDrift bool // q of the start is known
	Restricted bool // restricted maximum likelihood (REML): the spreads allow for the mean rate being estimated too
}

// Fleet is the parameters of a fleet, estimated from its own readings.
type Fleet struct {
	Prior    Prior // RateMeanSD is the standard error of Rate
	Parts    int   // with readings
	Readings int
	Deviance float64 // −2 ln L at the estimate, restricted if that was asked, up to the unit of the readings
	Floored  bool    // the spread of the rate came out as next to nothing and was raised to a tenth of the rate
}

// leastParts is the number of parts below which the spread between them is not
// estimated, and floorShare the least spread of the rate that is believed, as a
// share of the rate. Common practice, no source.
const (
	leastParts = 8
	floorShare = 0.1
)

// largeFleet is the number of parts above which the search runs over a sample
// first and is finished on all of them.
const largeFleet = 3000

// FitFleet returns the wear parameters of a fleet by maximum likelihood:
//
//	minimise over τ², q, σ²:  Σ (ln 2π + ln F + v²/F) − (Σ u·v/F)²/Σ(u²/F)  [+ ln Σ(u²/F) − ln 2π, restricted]
//	β̂ = β0 + Σ(u·v/F)/Σ(u²/F),   var β̂ = 1/Σ(u²/F)
//
//	v, F   innovations and their variances, by the recursion of Learn, at β0
//	u      response to β of what a reading is expected to be, by the same gains
//	τ, q, σ, β   spread of the rate, drift, gauge error, mean rate
//
// What a new part reads and its spread (Start, StartSD) are taken from start, as
// are the values that the options call known; the others of start only begin
// the search. It is finished by Newton's method. Above 3000 parts the search runs
// over every so-manieth of them and Newton's method goes on with all; where a
// spread is next to nothing it stays with a sample of 15 000.
//
// Valid for eight parts or more with readings and, unless gauge and drift are
// both known, eight with three readings or more: with fewer the spreads cannot
// be told apart, a *unit.NoAnswerError, and stated values must be used and
// labelled as assumed. Readings and start as Learn asks; otherwise the error is
// a *unit.DomainError. A spread of the rate below a tenth of the rate is raised
// to it, or intervals would collapse.
//
// Source: Kalman likelihood with the mean rate concentrated out, textbook form;
// handbook chapter 06, B1.5; the bound of eight parts and the floor are common
// practice, no source.
func FitFleet(parts [][]Reading, start Prior, o FleetOptions) (Fleet, error) {
	const name = "fleet parameters"
	if err := start.check(name); err != nil {
		return Fleet{}, err
	}
	var out Fleet
	deep := 0
	for _, p := range parts {
		var at unit.Length
		for _, r := range p {
			if err := r.check(name, at); err != nil {
				return Fleet{}, err
			}
			at = r.Distance
		}
		if at > 0 {
			out.Parts++
			out.Readings += len(p)
		}
		if len(p) >= 3 {
			deep++
		}
	}
	switch {
	case out.Parts < leastParts:
		return Fleet{}, &unit.NoAnswerError{Formula: name, Why: "fewer than eight parts with readings; use stated values and call them assumed"}
	case !(o.KnownGauge && o.KnownDrift) && deep < leastParts:
		return Fleet{}, &unit.NoAnswerError{Formula: name, Why: "fewer than eight parts with three readings; give the gauge error and the drift as known"}
	case !(start.GaugeSD > 0):
		return Fleet{}, &unit.DomainError{Formula: name, Input: "gauge-sd", Value: float64(start.GaugeSD), Want: "σ > 0, to begin with or as known"}
	}

	// The search runs over logarithms, counted from a guess that has the scale of
	// the data: θ = ln(τ²), ln(q), ln(σ²) as far as they are free.
	guess := start
	guess.RateMeanSD = 0
	guess.RateSD = max(start.RateSD, floorShare*start.Rate)
	if guess.Drift == 0 && !o.KnownDrift {
		guess.Drift = Drift(float64(start.GaugeSD) * float64(start.GaugeSD) / meanReach(parts))
	}
	at := func(θ []float64) Prior {
		p := guess
		p.RateSD *= Rate(math.Exp(θ[0] / 2))
		k := 1
		if !o.KnownDrift {
			p.Drift *= Drift(math.Exp(θ[k]))
			k++
		}
		if !o.KnownGauge {
			p.GaugeSD *= unit.Length(math.Exp(θ[k] / 2))
		}
		return p
	}
	free := 3
	if o.KnownDrift {
		free--
	}
	if o.KnownGauge {
		free--
	}
	search := func(parts [][]Reading, θ []float64, step float64) []float64 {
		f := func(θ []float64) float64 {
			for _, v := range θ {
				if !(math.Abs(v) < 60) { // e⁶⁰: a spread that is no longer one
					return math.Inf(1)
				}
			}
			d, _, _ := at(θ).deviance(parts, o.Restricted)
			return d
		}
		for range 3 { // from the best so far, until a fresh simplex finds nothing
			θ = simplex(f, θ, step)
		}
		return θ
	}
	sample := sampleOf(parts, largeFleet)
	θ := search(sample, make([]float64, free), 1.5)
	which := []int{0}
	if !o.KnownDrift {
		which = append(which, 1)
	}
	if !o.KnownGauge {
		which = append(which, 2)
	}
	if all, ok := polish(at, parts, sample, θ, which, o.Restricted); ok {
		θ = all
	} else if len(sample) < len(parts) { // at the edge, where a spread is next to nothing and has no slope
		θ = search(sampleOf(parts, 5*largeFleet), θ, 0.1)
	}
	p := at(θ)
	d, rate, se := p.deviance(parts, o.Restricted)
	out.Deviance = d
	if !(rate > 0) {
		return Fleet{}, &unit.NoAnswerError{Formula: name, Why: "the fleet's readings show no wear"}
	}
	p.Rate, p.RateMeanSD = rate, se
	if !(p.RateSD >= floorShare*p.Rate) {
		p.RateSD, out.Floored = floorShare*p.Rate, true
	}
	out.Prior = p
	return out, nil
}

// meanReach is the mean distance of the last readings.
func meanReach(parts [][]Reading) float64 {
	var sum, n float64
	for _, p := range parts {
		if len(p) > 0 {
			sum += float64(p[len(p)-1].Distance)
			n++
		}
	}
	return sum / n
}

// deviance is −2 ln L with the mean rate at its best, and that rate with its
// standard error.
func (p Prior) deviance(parts [][]Reading, restricted bool) (d float64, rate, se Rate) {
	var uv, uu float64
	for _, readings := range parts {
		f := p.filter()
		for _, r := range readings {
			f.predict(float64(r.Distance))
			f.update(float64(r.Wear), r.variance(p))
			uv += f.response * f.innovation / f.F
			uu += f.response * f.response / f.F
		}
		d += f.loglik
	}
	if restricted {
		d += restriction(uu)
	}
	return d - uv*uv/uu, p.Rate + Rate(uv/uu), Rate(1 / math.Sqrt(uu))
}

// simplex is the minimiser of Nelder and Mead, from x with a first edge of size
// step.
func simplex(f func([]float64) float64, x []float64, step float64) []float64 {
	n := len(x)
	type corner struct {
		x []float64
		f float64
	}
	s := make([]corner, n+1)
	for i := range s {
		p := slices.Clone(x)
		if i > 0 {
			p[i-1] += step
		}
		s[i] = corner{p, f(p)}
	}
	centre := make([]float64, n)
	try := func(k float64) corner { // k away from the worst corner through the others' centre
		p := make([]float64, n)
		for j := range p {
			p[j] = centre[j] + k*(centre[j]-s[n].x[j])
		}
		return corner{p, f(p)}
	}
	for range 400 * n {
		slices.SortFunc(s, func(a, b corner) int {
			switch {
			case a.f < b.f:
				return -1
			case a.f > b.f:
				return 1
			}
			return 0
		})
		if s[n].f-s[0].f <= 1e-11*(1+math.Abs(s[0].f)) {
			break
		}
		for j := range centre {
			centre[j] = 0
			for i := range n {
				centre[j] += s[i].x[j] / float64(n)
			}
		}
		r := try(1)
		switch {
		case r.f < s[0].f:
			if e := try(2); e.f < r.f {
				r = e
			}
			s[n] = r
		case r.f < s[n-1].f:
			s[n] = r
		default:
			c := try(-0.5)
			if r.f < s[n].f {
				c = try(0.5)
			}
			if c.f < math.Min(r.f, s[n].f) {
				s[n] = c
				continue
			}
			for i := 1; i <= n; i++ {
				for j := range centre {
					s[i].x[j] = (s[i].x[j] + s[0].x[j]) / 2
				}
				s[i].f = f(s[i].x)
			}
		}
	}
	best := s[0]
	for _, c := range s {
		if c.f < best.f {
			best = c
		}
	}
	return best.x
}
