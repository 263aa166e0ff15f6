package wear

import (
	"math"

	"underpin/unit"
)

// A Basis says what a forecast's fleet parameters rest on.
type Basis int

const (
	Assumed     Basis = iota // stated values alone; nobody measured them
	RateLearnt               // the mean rate from the fleet's readings and the stated one, the spreads stated
	FleetLearnt              // all from the fleet's own readings
)

func (b Basis) String() string {
	return stateName(int(b), "assumed", "mean rate learnt, spreads assumed", "learnt from the fleet")
}

// A Learnt is the fleet parameters that are to be used, and what they rest on.
type Learnt struct {
	Prior    Prior
	Basis    Basis
	Parts    int // with readings
	Readings int
	Why      string // why no more could be learnt; empty for FleetLearnt
	Fleet    Fleet  // of FleetLearnt
}

// LearnFleet returns the fleet parameters that its readings allow, few or many:
//
//	eight parts and more, deep enough: FitFleet, restricted
//	fewer: β = (β_s/s² + β̂/σ̂²)/(1/s² + 1/σ̂²),  var β = 1/(1/s² + 1/σ̂²),  spreads as stated
//	none, or s = 0: as stated
//
//	β_s, s  stated mean rate and its own standard error   m/m
//	β̂, σ̂    mean rate of the parts' readings at the stated spreads, by generalised least squares, and its standard error
//
// A stated rate without a standard error is taken as known and is not moved by a
// few parts. What no reading has touched is an assumption and must be labelled
// one.
//
// Valid for readings and stated values as FitFleet asks for them; otherwise the
// error is a *unit.DomainError.
//
// Source: normal prior and normal likelihood, textbook form; handbook chapter
// 06, B1.5, for the bound of eight parts, which is common practice, no source.
func LearnFleet(parts [][]Reading, stated Prior, o FleetOptions) (Learnt, error) {
	o.Restricted = true
	f, err := FitFleet(parts, stated, o)
	if err == nil {
		return Learnt{Prior: f.Prior, Basis: FleetLearnt, Parts: f.Parts, Readings: f.Readings, Fleet: f}, nil
	}
	none, ok := err.(*unit.NoAnswerError)
	if !ok {
		return Learnt{}, err
	}
	out := Learnt{Prior: stated, Why: none.Why}
	var with [][]Reading
	for _, p := range parts {
		if n := len(p); n > 0 && p[n-1].Distance > 0 {
			with = append(with, p)
			out.Readings += n
		}
	}
	out.Parts = len(with)
	if out.Parts == 0 || stated.RateMeanSD == 0 {
		return out, nil
	}
	plain := stated
	plain.RateMeanSD = 0
	_, rate, se := plain.deviance(with, false)
	a, b := 1/(float64(stated.RateMeanSD)*float64(stated.RateMeanSD)), 1/(float64(se)*float64(se))
	if mean := Rate((a*float64(stated.Rate) + b*float64(rate)) / (a + b)); mean > 0 && finite(float64(mean)) {
		out.Prior.Rate, out.Prior.RateMeanSD, out.Basis = mean, Rate(1/math.Sqrt(a+b)), RateLearnt
	}
	return out, nil
}

// A BackTest says how past forecasts of a fleet came out.
type BackTest struct {
	Cases    []BackCase
	RMS      float64 // root of the mean square of z; 1 when the intervals are right
	Bias     float64 // mean of z; above 0: parts wore faster than was forecast
	Within50 float64 // share of readings within the interval of 50 %
	Within90 float64 // share within that of 90 %
	Widen    float64 // factor on the spreads of forecasts; 1 with fewer than twenty cases
	Learnt   Learnt  // what the early readings gave
}

// A BackCase is one reading, held against its forecast from the earlier half.
type BackCase struct {
	Part     int
	Known    int         // readings that the forecast had
	Ahead    unit.Length // how far it looked
	Forecast unit.Length
	SD       unit.Length // of what the gauge would show
	Reading  unit.Length
	Z        float64
}

// leastCases is how many back-tests are needed before spreads are widened by
// them. Common practice, no source.
const leastCases = 20

// BackTestFleet returns how the model would have forecast the last reading of
// each part from the earlier half of its readings, the fleet learnt from those
// halves alone:
//
//	z = (y − E y)/√(V + σ²),   RMS = √(Σz²/n),   widen = max(1, RMS) with twenty cases or more
//
//	y    the last reading; E y, V  its forecast and the variance of the wear   m, m²
//	σ    error of the gauge                                                   m
//
// Valid for readings and stated values as LearnFleet asks for them; otherwise
// the error is a *unit.DomainError. Parts with one reading are no case. Without
// any case there is nothing to tell: *unit.NoAnswerError.
//
// Source: split-sample validation, textbook form; handbook chapter 06, B1.1, for
// widening, which is common practice, no source.
func BackTestFleet(parts [][]Reading, stated Prior, o FleetOptions) (BackTest, error) {
	early := make([][]Reading, len(parts))
	for i, p := range parts {
		early[i] = p[:len(p)/2]
		if len(p) == 1 {
			early[i] = p
		}
	}
	l, err := LearnFleet(early, stated, o)
	if err != nil {
		return BackTest{}, err
	}
	out := BackTest{Learnt: l, Widen: 1}
	var zz, z, in50, in90 float64
	for i, p := range parts {
		if len(p) < 2 {
			continue
		}
		s, err := Learn(l.Prior, early[i])
		if err != nil {
			return BackTest{}, err
		}
		last := p[len(p)-1]
		mean, sd := s.NextReading(last.Distance-s.At, unit.Length(math.Sqrt(last.variance(l.Prior))))
		if !(sd > 0) {
			continue
		}
		c := BackCase{Part: i, Known: len(early[i]), Ahead: last.Distance - s.At, Forecast: mean, SD: sd, Reading: last.Wear, Z: float64(last.Wear-mean) / float64(sd)}
		out.Cases = append(out.Cases, c)
		z += c.Z
		zz += c.Z * c.Z
		if math.Abs(c.Z) <= 0.67448975019608171 { // Φ⁻¹(0.75)
			in50++
		}
		if math.Abs(c.Z) <= -z05 {
			in90++
		}
	}
	n := float64(len(out.Cases))
	if n == 0 {
		return BackTest{}, &unit.NoAnswerError{Formula: "back-test", Why: "no part has two readings"}
	}
	out.RMS, out.Bias, out.Within50, out.Within90 = math.Sqrt(zz/n), z/n, in50/n, in90/n
	if len(out.Cases) >= leastCases {
		out.Widen = math.Max(1, out.RMS)
	}
	return out, nil
}

// Widened is the state with every spread multiplied by a factor, as a back-test
// asks for it.
func (s State) Widened(k float64) State {
	if !(k > 1) {
		return s
	}
	s.VarWear, s.Cov, s.VarRate, s.Drift = s.VarWear*k*k, s.Cov*k*k, s.VarRate*k*k, s.Drift*Drift(k*k)
	return s
}
