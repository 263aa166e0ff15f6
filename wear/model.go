package wear

import (
	"math"

	"underpin/unit"
)

// A Prior is what is known of a kind of part before this one is gauged: the
// fleet's own parameters, or an assumption.
type Prior struct {
	Start      unit.Length // a0, wear a new part reads
	StartSD    unit.Length // α, spread of it
	Rate       Rate        // β, mean wear rate
	RateSD     Rate        // τ, spread of the rate between parts
	Drift      Drift       // q
	GaugeSD    unit.Length // σ, error of one reading
	RateMeanSD Rate        // standard error of β itself; 0 when β is taken as known
}

// A Reading is cumulated wear read at a distance in the life of the part.
type Reading struct {
	Distance   unit.Length
	Wear       unit.Length
	GaugeSD    unit.Length // of this gauge; 0 for the prior's
	Resolution unit.Length // smallest step the gauge shows; 0 when it is in GaugeSD
}

// A State is what is known of one part at a distance in its life: wear and rate
// with their variances.
type State struct {
	Readings int
	At       unit.Length
	Wear     unit.Length // m_w
	Rate     Rate        // m_b
	VarWear  float64     // V_ww, m²
	Cov      float64     // V_wb, m²/m
	VarRate  float64     // V_bb, (m/m)²
	Drift    Drift       // q, of the model that goes on from here
	LogLik   float64     // −2 ln L of the readings, up to the unit they are in

	last  unit.Length // last raw reading
	gauge float64     // its σ²
}

// WearSD is the spread of the wear as known now.
func (s State) WearSD() unit.Length { return unit.Length(math.Sqrt(s.VarWear)) }

// RateSD is the spread of the rate.
func (s State) RateSD() Rate { return Rate(math.Sqrt(s.VarRate)) }

func (p Prior) check(name string) error {
	switch {
	case !finite(float64(p.Start)):
		return &unit.DomainError{Formula: name, Input: "start", Value: float64(p.Start), Want: "a finite length"}
	case !(p.StartSD >= 0 && finite(float64(p.StartSD))):
		return &unit.DomainError{Formula: name, Input: "start-sd", Value: float64(p.StartSD), Want: "α ≥ 0"}
	case !(p.Rate > 0 && finite(float64(p.Rate))):
		return &unit.DomainError{Formula: name, Input: "rate", Value: float64(p.Rate), Want: "β > 0"}
	case !(p.RateSD >= 0 && finite(float64(p.RateSD))):
		return &unit.DomainError{Formula: name, Input: "rate-sd", Value: float64(p.RateSD), Want: "τ ≥ 0"}
	case !(p.Drift >= 0 && finite(float64(p.Drift))):
		return &unit.DomainError{Formula: name, Input: "drift", Value: float64(p.Drift), Want: "q ≥ 0"}
	case !(p.GaugeSD >= 0 && finite(float64(p.GaugeSD))):
		return &unit.DomainError{Formula: name, Input: "gauge-sd", Value: float64(p.GaugeSD), Want: "σ ≥ 0"}
	case !(p.RateMeanSD >= 0 && finite(float64(p.RateMeanSD))):
		return &unit.DomainError{Formula: name, Input: "rate-mean-sd", Value: float64(p.RateMeanSD), Want: "0 or more"}
	}
	return nil
}

// filter is the recursion: state and covariance of (w, b), and the response
// (gw, gb) of the state to the fleet's mean rate.
type filter struct {
	x             float64
	w, b          float64
	ww, wb, bb    float64
	gw, gb        float64
	q             float64
	loglik        float64
	innovation, F float64
	response      float64 // of what the last reading was expected to be, to β
}

func (p Prior) filter() filter {
	return filter{
		w: float64(p.Start), b: float64(p.Rate), q: float64(p.Drift), gb: 1,
		ww: float64(p.StartSD) * float64(p.StartSD), bb: float64(p.RateSD) * float64(p.RateSD),
	}
}

// predict carries the state on to distance x.
func (f *filter) predict(x float64) {
	d := x - f.x
	f.x = x
	f.w += d * f.b
	f.gw += d * f.gb
	f.ww += 2*d*f.wb + d*d*f.bb + f.q*d
	f.wb += d * f.bb
}

// ln2π is ln 2π.
const ln2π = 1.8378770664093454836

// update takes in a reading y of variance v.
func (f *filter) update(y, v float64) {
	f.F = f.ww + v
	f.innovation, f.response = y-f.w, f.gw
	Kw, Kb := f.ww/f.F, f.wb/f.F
	f.w += Kw * f.innovation
	f.b += Kb * f.innovation
	f.gw, f.gb = f.gw-Kw*f.gw, f.gb-Kb*f.gw
	f.bb -= Kb * f.wb
	// (1 − Kw) = v/F keeps the small variances of a good gauge exact.
	f.wb *= v / f.F
	f.ww *= v / f.F
	f.loglik += ln2π + math.Log(f.F) + f.innovation*f.innovation/f.F
}

func (r Reading) variance(p Prior) float64 {
	sd, step := float64(r.GaugeSD), float64(r.Resolution)
	if sd == 0 {
		sd = float64(p.GaugeSD)
	}
	return sd*sd + step*step/12
}

func (r Reading) check(name string, after unit.Length) error {
	switch {
	case !(r.Distance >= 0 && finite(float64(r.Distance))):
		return &unit.DomainError{Formula: name, Input: "distance", Value: float64(r.Distance), Want: "distance ≥ 0"}
	case !(r.Distance >= after):
		return &unit.DomainError{Formula: name, Input: "distance", Value: float64(r.Distance), Want: "readings in the order of distance"}
	case !finite(float64(r.Wear)):
		return &unit.DomainError{Formula: name, Input: "wear", Value: float64(r.Wear), Want: "a finite length"}
	case !(r.GaugeSD >= 0 && finite(float64(r.GaugeSD))):
		return &unit.DomainError{Formula: name, Input: "gauge-sd", Value: float64(r.GaugeSD), Want: "σ ≥ 0"}
	case !(r.Resolution >= 0 && finite(float64(r.Resolution))):
		return &unit.DomainError{Formula: name, Input: "resolution", Value: float64(r.Resolution), Want: "0 or more"}
	}
	return nil
}

// Learn returns what a part's readings, together with the fleet's parameters,
// say of its wear and its wear rate at the last reading:
//
//	between:   w ← w + d·b,  P_ww ← P_ww + 2d·P_wb + d²·P_bb + q·d,  P_wb ← P_wb + d·P_bb
//	reading y: F = P_ww + σ²,  v = y − w,  K_w = P_ww/F,  K_b = P_wb/F
//	           w ← w + K_w·v,  b ← b + K_b·v
//	           P_bb ← P_bb − K_b·P_wb,  P_wb ← P_wb − K_w·P_wb,  P_ww ← P_ww − K_w·P_ww
//
//	w, b   wear and wear rate of this part; start a0 and β       m, m/m
//	P      their covariance; start α², 0, τ²
//	d      distance since the reading before                      m
//	q      drift                                                  m²/m
//	σ      error of the gauge, resolution²/12 added to its square  m
//
// Without readings it is the prior itself, at distance 0. With a standard error
// of β (RateMeanSD) the response of w and b to β is carried along, and its
// square times the error's square is added to P at the end.
//
// Valid for readings in the order of distance, β > 0, spreads, drift and gauge
// error ≥ 0 and some variance in each reading (F > 0); otherwise the error is a
// *unit.DomainError. Increments are taken as normal, so wear that falls is
// possible in the model.
//
// Source: Kalman filter of a random walk with random drift, textbook form;
// handbook chapter 06, B1.2, checked against dense matrices.
func Learn(p Prior, readings []Reading) (State, error) {
	const name = "wear of a part"
	if err := p.check(name); err != nil {
		return State{}, err
	}
	f := p.filter()
	var s State
	for _, r := range readings {
		if err := r.check(name, s.At); err != nil {
			return State{}, err
		}
		v := r.variance(p)
		f.predict(float64(r.Distance))
		if !(f.ww+v > 0) {
			return State{}, &unit.DomainError{Formula: name, Input: "gauge-sd", Value: float64(p.GaugeSD), Want: "σ > 0, or some spread of the wear"}
		}
		f.update(float64(r.Wear), v)
		s.At, s.last, s.gauge = r.Distance, r.Wear, v
	}
	s.Readings = len(readings)
	s.Wear, s.Rate, s.Drift, s.LogLik = unit.Length(f.w), Rate(f.b), p.Drift, f.loglik
	c := float64(p.RateMeanSD) * float64(p.RateMeanSD)
	s.VarWear, s.Cov, s.VarRate = f.ww+c*f.gw*f.gw, f.wb+c*f.gw*f.gb, f.bb+c*f.gb*f.gb
	return s, nil
}

// After is the wear a further distance on: mean and spread of the true wear.
func (s State) After(d unit.Length) (wear, sd unit.Length) {
	x := float64(d)
	return s.Wear + unit.Length(s.Rate)*d, unit.Length(math.Sqrt(s.variance(x)))
}

// NextReading is what a gauge of error sd will show a further distance on.
func (s State) NextReading(d, gaugeSD unit.Length) (wear, sd unit.Length) {
	wear, sd = s.After(d)
	return wear, unit.Length(math.Hypot(float64(sd), float64(gaugeSD)))
}

func (s State) variance(d float64) float64 {
	return s.VarWear + 2*d*s.Cov + d*d*s.VarRate + float64(s.Drift)*d
}

// A ReadingCheck says whether a reading can be believed.
type ReadingCheck struct {
	Expected   unit.Length // mean of what the gauge should have shown
	SD         unit.Length // spread of that
	Innovation float64     // (reading − expected)/SD
	Remeasure  bool        // |innovation| above 3: measure again
	HoldOut    bool        // |innovation| above 5: keep it out of the forecast until explained
	FellBack   bool        // below the reading before by more than two gauges explain
	Replaced   bool        // a new part would explain it a hundred times better
	AgainstNew float64     // ln of the likelihood ratio, this part against a new one
}

// CheckReading returns how a new reading fits the part as known so far:
//
//	z = (y − E y)/√(V + σ²);   |z| > 3 measure again,   |z| > 5 hold out
//	replaced when N(y; E y, V + σ²)/N(y; a0, α² + σ²) < 1/100
//	fell back when y < y_before − 3·√2·σ
//
//	y    the reading                            m
//	E y  its expectation, V the variance of the wear expected   m, m²
//	σ    error of the gauge                     m
//
// Valid for a reading not before the last, and for prior and readings as Learn
// asks for them; otherwise the error is a *unit.DomainError. It never changes a reading: a person decides.
//
// Source: innovations of the Kalman filter, textbook form; the bounds 3, 5 and
// 1/100 are common practice, no source.
func CheckReading(p Prior, earlier []Reading, r Reading) (ReadingCheck, error) {
	const name = "check of a reading"
	s, err := Learn(p, earlier)
	if err != nil {
		return ReadingCheck{}, err
	}
	if err := r.check(name, s.At); err != nil {
		return ReadingCheck{}, err
	}
	σ2 := r.variance(p)
	mean, _ := s.After(r.Distance - s.At)
	F := s.variance(float64(r.Distance-s.At)) + σ2
	newF := float64(p.StartSD)*float64(p.StartSD) + σ2
	if !(F > 0 && newF > 0) {
		return ReadingCheck{}, &unit.DomainError{Formula: name, Input: "gauge-sd", Value: float64(p.GaugeSD), Want: "σ > 0, or some spread of the wear"}
	}
	v, n := float64(r.Wear-mean), float64(r.Wear-p.Start)
	c := ReadingCheck{Expected: mean, SD: unit.Length(math.Sqrt(F)), Innovation: v / math.Sqrt(F)}
	c.Remeasure, c.HoldOut = math.Abs(c.Innovation) > 3, math.Abs(c.Innovation) > 5
	c.AgainstNew = 0.5 * (n*n/newF - v*v/F + math.Log(newF/F))
	c.Replaced = s.Readings > 0 && c.AgainstNew < -math.Log(100)
	c.FellBack = s.Readings > 0 && float64(r.Wear-s.last) < -3*math.Sqrt(σ2+s.gauge)
	return c, nil
}
