package wear

import (
	"math"

	"underpin/unit"
)

// Costs are what a replacement costs, in any one currency.
type Costs struct {
	Planned float64 // c_p, in the workshop, in time
	Failure float64 // c_f, at the roadside or with a use prohibited, downtime and all
}

func (c Costs) check(name string) error {
	switch {
	case !(c.Planned > 0 && finite(c.Planned)):
		return &unit.DomainError{Formula: name, Input: "planned", Value: c.Planned, Want: "c_p > 0"}
	case !(c.Failure >= c.Planned && finite(c.Failure)):
		return &unit.DomainError{Formula: name, Input: "failure", Value: c.Failure, Want: "not below c_p"}
	}
	return nil
}

// CostRate returns the cost per distance of replacing each part at a distance,
// or earlier when it reaches its limit:
//
//	C(x) = [ c_p·(1 − F(x)) + c_f·F(x) ] / ∫₀ˣ (1 − F)
//
//	c_p, c_f  cost of a planned replacement, of one at the limit
//	F         distribution of the life of a new part
//	x         distance of the planned replacement      m
//	C         result                                   cost per metre
//
// Valid for x > 0 and 0 < c_p ≤ c_f; otherwise the error is a *unit.DomainError.
//
// Source: age replacement, Jardine and Tsang, Maintenance, Replacement and
// Reliability, chapter 2.
func CostRate(life Distribution, c Costs, x unit.Length) (float64, error) {
	const name = "cost rate"
	if err := c.check(name); err != nil {
		return 0, err
	}
	if !(x > 0 && finite(float64(x))) {
		return 0, &unit.DomainError{Formula: name, Input: "distance", Value: float64(x), Want: "x > 0"}
	}
	F := life.Reached(x)
	return (c.Planned*(1-F) + c.Failure*F) / float64(life.MeanWithin(x)), nil
}

// A ReplacementAge is the best distance for planned replacement.
type ReplacementAge struct {
	Distance unit.Length // x*
	CostRate float64     // g*, per metre
	Reached  float64     // F(x*), the share of parts that reach their limit before
}

// BestAge returns the distance at which planned replacement costs least:
//
//	h(x*)·(c_f − c_p) = C(x*) = g*,   h = F′/(1 − F)
//
//	symbols as in CostRate
//
// Valid for a hazard h that rises up to the distance searched, upTo > 0 and
// 0 < c_p ≤ c_f; otherwise the error is a *unit.DomainError. Where planned
// replacement does not pay up to there, because a failure costs hardly more or
// the parts do not age, there is no best age: *unit.NoAnswerError.
//
// Source: age replacement, Jardine and Tsang, Maintenance, Replacement and
// Reliability, chapter 2; the first-order condition by differentiation.
func BestAge(life Distribution, c Costs, upTo unit.Length) (ReplacementAge, error) {
	const name = "best age"
	if err := c.check(name); err != nil {
		return ReplacementAge{}, err
	}
	if !(upTo > 0 && finite(float64(upTo))) {
		return ReplacementAge{}, &unit.DomainError{Formula: name, Input: "upTo", Value: float64(upTo), Want: "a distance above nothing"}
	}
	// Positive once waiting costs more than it saves; multiplied by 1 − F and by
	// the mean, so that nothing is divided by nothing.
	gain := func(x float64) float64 {
		d := unit.Length(x)
		F := life.Reached(d)
		return life.Density(d)*(c.Failure-c.Planned)*float64(life.MeanWithin(d)) - (1-F)*(c.Planned*(1-F)+c.Failure*F)
	}
	const steps = 256
	lo, hi := 0.0, 0.0
	for i := 1; i <= steps; i++ {
		x := float64(upTo) * float64(i) / steps
		if gain(x) > 0 {
			hi = x
			break
		}
		lo = x
	}
	if hi == 0 {
		return ReplacementAge{}, &unit.NoAnswerError{Formula: name, Why: "planned replacement does not pay anywhere in the distance searched"}
	}
	for range 100 {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if gain(mid) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	x := unit.Length(hi)
	g, err := CostRate(life, c, x)
	if err != nil {
		return ReplacementAge{}, err
	}
	return ReplacementAge{x, g, life.Reached(x)}, nil
}

// A Visit is a workshop visit at which a part could be replaced.
type Visit struct {
	Distance unit.Length // further distance until then
	Cost     float64     // J
	Reached  float64     // F
	Refused  bool        // too likely to be at its limit by then
}

// ChooseVisit returns which of several visits is the one to replace a part at,
// and appends what each costs to dst[:0]:
//
//	J(d) = c_p·(1 − F(d)) + c_f·F(d) − g*·E min(T, d)
//	refused when F(d) > p_max
//
//	d    further distance until the visit            m
//	F    distribution of the remaining life T
//	g*   cost rate of the fleet, as BestAge gives it for a new part   per metre
//	p_max  largest probability to be at the limit by then
//
// Safety goes before cost: a refused visit is never chosen. The visit now is
// one of the candidates, with d = 0.
//
// Valid for d ≥ 0, g* ≥ 0, 0 < c_p ≤ c_f and 0 < p_max < 1; otherwise the error
// is a *unit.DomainError. With every visit refused, or none given, there is no
// choice: *unit.NoAnswerError, and the part is to be replaced before them all.
//
// Source: one-step form of age replacement, handbook chapter 06, B4.2; p_max is
// the caller's, common practice is 5 % for a wear limit and 1 % without an
// inspection before.
func ChooseVisit(dst []Visit, life Distribution, in VisitInput) (visits []Visit, best int, err error) {
	const name = "choice of a visit"
	if err := in.Costs.check(name); err != nil {
		return nil, 0, err
	}
	switch {
	case !(in.FleetRate >= 0 && finite(in.FleetRate)):
		return nil, 0, &unit.DomainError{Formula: name, Input: "g*", Value: in.FleetRate, Want: "g* ≥ 0"}
	case !(0 < in.Most && in.Most < 1):
		return nil, 0, &unit.DomainError{Formula: name, Input: "p_max", Value: in.Most, Want: "0 < p_max < 1"}
	}
	visits, best = dst[:0], -1
	for _, d := range in.Distances {
		if !(d >= 0 && finite(float64(d))) {
			return nil, 0, &unit.DomainError{Formula: name, Input: "distance", Value: float64(d), Want: "d ≥ 0"}
		}
		F := life.Reached(d)
		v := Visit{Distance: d, Reached: F, Refused: !(F <= in.Most)}
		v.Cost = in.Costs.Planned*(1-F) + in.Costs.Failure*F - in.FleetRate*float64(life.MeanWithin(d))
		visits = append(visits, v)
		if !v.Refused && (best < 0 || v.Cost < visits[best].Cost) {
			best = len(visits) - 1
		}
	}
	if best < 0 {
		return visits, 0, &unit.NoAnswerError{Formula: name, Why: "at every visit given the part is too likely to be at its limit; it must be replaced before"}
	}
	return visits, best, nil
}

// VisitInput is what ChooseVisit needs.
type VisitInput struct {
	Costs     Costs
	FleetRate float64       // g*, per metre
	Distances []unit.Length // of the visits, from now
	Most      float64       // p_max
}

// A Job is work that may be done earlier than due, at a price, and never later.
type Job struct {
	Latest Days    // from now
	PerDay float64 // v, cost of each day it is brought forward
}

// A Group is a workshop visit and the jobs done at it.
type Group struct {
	First, Last int // jobs, counted from 0, both included
	On          Days
	Cost        float64
}

// GroupJobs returns how to gather jobs into workshop visits at the least cost:
//
//	f(0) = 0,   f(k) = min over i < k of  f(i) + S + Σ_{j=i+1..k} v_j·(d_j − d_{i+1})
//
//	d_j  latest day of job j, in rising order        days
//	v_j  cost of bringing it forward                 per day
//	S    cost of a visit
//
// No job may be late, so a visit is best held on the first latest day of its
// group, and each group is a run of jobs in that order. A fixed visit (annual
// test, service) costs no S: a group may be held on the last fixed day that is
// not after its first job.
//
// Valid for jobs in rising order of d ≥ 0, v ≥ 0, S ≥ 0 and fixed days ≥ 0 in
// rising order; otherwise the error is a *unit.DomainError.
//
// Source: dynamic programming over consecutive groups, handbook chapter 06,
// B4.3; the same family as Wildeman, Dekker and Smit (1997).
func GroupJobs(jobs []Job, visit float64, fixed []Days) (groups []Group, cost float64, err error) {
	const name = "grouping of jobs"
	if !(visit >= 0 && finite(visit)) {
		return nil, 0, &unit.DomainError{Formula: name, Input: "cost of a visit", Value: visit, Want: "S ≥ 0"}
	}
	for i, j := range jobs {
		switch {
		case !(j.Latest >= 0 && finite(float64(j.Latest))) || i > 0 && j.Latest < jobs[i-1].Latest:
			return nil, 0, &unit.DomainError{Formula: name, Input: "latest day", Value: float64(j.Latest), Want: "0 or more, in rising order"}
		case !(j.PerDay >= 0 && finite(j.PerDay)):
			return nil, 0, &unit.DomainError{Formula: name, Input: "cost of a day", Value: j.PerDay, Want: "v ≥ 0"}
		}
	}
	for i, d := range fixed {
		if !(d >= 0 && finite(float64(d))) || i > 0 && d < fixed[i-1] {
			return nil, 0, &unit.DomainError{Formula: name, Input: "fixed day", Value: float64(d), Want: "0 or more, in rising order"}
		}
	}
	n := len(jobs)
	type step struct {
		cost float64
		from int
		on   Days
	}
	f := make([]step, n+1)
	for k := 1; k <= n; k++ {
		f[k].cost = math.Inf(1)
		// Walking i down from k − 1, the group i … k−1 grows at its front.
		var v, vd float64
		for i := k - 1; i >= 0; i-- {
			v += jobs[i].PerDay
			vd += jobs[i].PerDay * float64(jobs[i].Latest)
			first := jobs[i].Latest
			if c := f[i].cost + visit + vd - v*float64(first); c < f[k].cost {
				f[k] = step{c, i, first}
			}
			if e, ok := lastNotAfter(fixed, first); ok {
				if c := f[i].cost + vd - v*float64(e); c < f[k].cost {
					f[k] = step{c, i, e}
				}
			}
		}
	}
	for k := n; k > 0; k = f[k].from {
		groups = append(groups, Group{f[k].from, k - 1, f[k].on, f[k].cost - f[f[k].from].cost})
	}
	for i, j := 0, len(groups)-1; i < j; i, j = i+1, j-1 {
		groups[i], groups[j] = groups[j], groups[i]
	}
	return groups, f[n].cost, nil
}

func lastNotAfter(fixed []Days, d Days) (Days, bool) {
	for i := len(fixed) - 1; i >= 0; i-- {
		if fixed[i] <= d {
			return fixed[i], true
		}
	}
	return 0, false
}
