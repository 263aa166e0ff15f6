package maintenance

import (
	"cmp"
	"math"
	"slices"

	"underpin/unit"
	"underpin/wear"
)

// A Job is one piece of work on a vehicle that may be done earlier than due, at a
// price, and never later.
type Job struct {
	Key     string
	Vehicle Asset
	Latest  int     // last day it may be done, counted from today; below 0: overdue
	PerDay  float64 // cost of each day that it is brought forward
	Minutes int     // of a bay
}

// An Appointment is a day on which a vehicle is in the workshop anyway, for its
// legal test or its service: work done then costs no visit of its own.
type Appointment struct {
	Vehicle Asset
	Day     int
}

// An Absence is a span of days, both included, on which a vehicle cannot come.
type Absence struct {
	Vehicle  Asset
	From, To int
}

// A PlanAsk is the work of one workshop.
type PlanAsk struct {
	Today Date
	Jobs  []Job
	Free  []int   // bay minutes free on each day from today; 0: closed
	Visit float64 // cost of bringing a vehicle in: downtime, shunting
	Fixed []Appointment
	Away  []Absence
}

// A PlanVisit is one vehicle in the workshop on one day.
type PlanVisit struct {
	Vehicle Asset
	Day     int
	On      Date
	Jobs    []int // of PlanAsk.Jobs
	Minutes int
	Fixed   bool
	Cost    float64
}

// An Unplaced job found no day; it must be done elsewhere, or another day opened.
type Unplaced struct {
	Job int
	Why Message
}

// A Plan is visits at least cost, as far as could be found, and what no plan can
// go below.
type Plan struct {
	Visits   []PlanVisit // by day, then by vehicle
	Unplaced []Unplaced
	Cost     float64
	Bound    float64 // no plan of all the jobs costs less; equal to Cost: the plan is the best there is
}

// PlanVisits groups jobs into visits. A job is never late, a day never holds more
// than its free bay time, and a vehicle is never called in while it is away.
// What is overdue comes on the first day that has room.
//
//	f(0) = 0,   f(k) = min over i < k, days t ≤ d_{i+1} of  f(i) + S(t) + Σ_{j=i+1..k} v_j·(d_j − t)
//
//	d_j   latest day of job j of a vehicle, in rising order
//	v_j   cost of a day brought forward
//	S(t)  cost of a visit, 0 on a day the vehicle is in anyway
//
// As long as no day is full this is the least cost, each vehicle by itself. Where
// days are full, bay time gets a price for each day that rises with demand
// (Lagrange), and plans made under the prices are mended until no vehicle can do
// better alone. A small workshop is then tried out in full; in a large one such a
// plan is good and not proven best, and Bound, the cost if no day were ever full,
// says how far it may be off at most. Jobs whose latest day lies beyond the days given are
// brought forward into them: leave out what can wait for the next plan.
//
// Valid for costs and minutes of 0 or more and a day today; otherwise the error
// is a *unit.DomainError.
//
// Source: dynamic programming over consecutive groups, handbook chapter 06, B4.3,
// the same family as Wildeman, Dekker and Smit (1997); Lagrange relaxation,
// textbook form.
func PlanVisits(a PlanAsk) (Plan, error) {
	const name = "workshop plan"
	bad := func(input string, v float64, want string) (Plan, error) {
		return Plan{}, &unit.DomainError{Formula: name, Input: input, Value: v, Want: want}
	}
	switch {
	case !valid(a.Today):
		return bad("today", float64(a.Today.Year), "a day of the calendar")
	case !(a.Visit >= 0 && a.Visit < 1e12):
		return bad("cost of a visit", a.Visit, "S ≥ 0")
	}
	for _, j := range a.Jobs {
		switch {
		case !(j.PerDay >= 0 && j.PerDay < 1e12):
			return bad("cost of a day", j.PerDay, "v ≥ 0")
		case j.Minutes < 0:
			return bad("minutes", float64(j.Minutes), "0 or more")
		}
	}
	for _, m := range a.Free {
		if m < 0 {
			return bad("free minutes", float64(m), "0 or more")
		}
	}
	p := newPlanner(a)
	return p.plan(), nil
}

// planner holds one workshop while it is planned.
type planner struct {
	ask      PlanAsk
	vehicles []*planned
	unplaced []Unplaced
	overdue  float64 // cost of the visits for overdue work
	buffer   []dpStep
}

// planned is one vehicle with its jobs in rising order of their latest day.
type planned struct {
	asset Asset
	jobs  []int
	may   []bool // days on which it can come
	fixed []bool // days on which it is in anyway
	soon  []int  // overdue jobs, and the day they come
	soonD int
	own   []int // last day on which each of jobs can be done by itself
	days  []int // day of each of jobs; nil: not placed
}

type dpStep struct {
	cost float64
	from int
	day  int
}

func newPlanner(a PlanAsk) *planner {
	p := &planner{ask: a}
	by := map[Asset]*planned{}
	order := make([]int, len(a.Jobs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(a.Jobs[x].Latest, a.Jobs[y].Latest) })
	for _, i := range order {
		j := a.Jobs[i]
		v := by[j.Vehicle]
		if v == nil {
			v = &planned{asset: j.Vehicle, may: make([]bool, len(a.Free)), fixed: make([]bool, len(a.Free)), soonD: -1}
			for d, m := range a.Free {
				v.may[d] = m > 0
			}
			by[j.Vehicle] = v
			p.vehicles = append(p.vehicles, v)
		}
		if j.Latest < 0 {
			v.soon = append(v.soon, i)
		} else {
			v.jobs = append(v.jobs, i)
		}
	}
	for _, f := range a.Fixed {
		if v := by[f.Vehicle]; v != nil && 0 <= f.Day && f.Day < len(a.Free) {
			v.fixed[f.Day] = true
		}
	}
	for _, w := range a.Away {
		if v := by[w.Vehicle]; v != nil {
			for d := max(w.From, 0); d <= w.To && d < len(a.Free); d++ {
				v.may[d] = false
			}
		}
	}
	return p
}

// last is the last day on which a job can be done: its latest, or the end of what
// is planned.
func (p *planner) last(job int) int { return min(p.ask.Jobs[job].Latest, len(p.ask.Free)-1) }

func (p *planner) plan() Plan {
	free := slices.Clone(p.ask.Free)
	p.placeOverdue(free)
	p.dropHopeless()

	// Each vehicle by itself, as if the bays were empty.
	bound := p.overdue
	prices := make([]float64, len(free))
	alone := make([]float64, len(p.vehicles))
	for i, v := range p.vehicles {
		if cost, ok := p.solve(v, prices, nil); ok {
			alone[i] = cost
			bound += cost
		}
	}
	if !p.fits(free) {
		p.squeeze(free, prices)
		if p.exact(free, alone) {
			bound = max(bound, p.total())
		}
	}
	return p.result(bound)
}

// placeOverdue gives overdue work the first day with room; from then on that day
// counts as one on which the vehicle is in anyway.
func (p *planner) placeOverdue(free []int) {
	for _, v := range p.vehicles {
		if len(v.soon) == 0 {
			continue
		}
		minutes := 0
		for _, j := range v.soon {
			minutes += p.ask.Jobs[j].Minutes
		}
		day := -1
		for d := range free {
			if v.may[d] && minutes <= free[d] {
				day = d
				break
			}
		}
		if day < 0 {
			for _, j := range v.soon {
				p.unplaced = append(p.unplaced, Unplaced{j, p.why(v, j)})
			}
			v.soon = nil
			continue
		}
		free[day] -= minutes
		v.soonD = day
		if !v.fixed[day] {
			p.overdue += p.ask.Visit
			v.fixed[day] = true
		}
	}
}

// dropHopeless takes out the jobs that no day can hold, so that the others of the
// vehicle are planned.
func (p *planner) dropHopeless() {
	for _, v := range p.vehicles {
		v.jobs = slices.DeleteFunc(v.jobs, func(j int) bool {
			for d := 0; d <= p.last(j); d++ {
				if v.may[d] && p.ask.Jobs[j].Minutes <= p.ask.Free[d] {
					return false
				}
			}
			p.unplaced = append(p.unplaced, Unplaced{j, p.why(v, j)})
			return true
		})
	}
}

// why tells what keeps a job from being placed.
func (p *planner) why(v *planned, job int) Message {
	j := p.ask.Jobs[job]
	end := p.last(job)
	if j.Latest < 0 {
		end = len(p.ask.Free) - 1
	}
	open, there, large := false, false, false
	for d := 0; d <= end; d++ {
		if p.ask.Free[d] == 0 {
			continue
		}
		open = true
		if !v.may[d] {
			continue
		}
		there = true
		large = large || j.Minutes <= p.ask.Free[d]
	}
	switch {
	case !open:
		return sayClosed.with(j.Key)
	case !there:
		return sayAway.with(j.Key)
	case !large:
		return sayTooLong.with(j.Key, itoa(j.Minutes))
	}
	return sayFull.with(j.Key)
}

// manyJobs is the number of jobs of one vehicle above which groups that cannot pay
// are passed over.
const manyJobs = 12

// own is the last day on which a job of a vehicle can be done, by itself.
func (p *planner) own(v *planned, k int) int {
	if v.own == nil {
		v.own = make([]int, len(v.jobs))
		for i, j := range v.jobs {
			d := p.last(j)
			for d > 0 && !v.may[d] {
				d--
			}
			v.own[i] = d
		}
	}
	return v.own[k]
}

// solve plans one vehicle under prices of bay time, at least cost, and sets its
// days. Free is what is left of each day; nil: no matter.
func (p *planner) solve(v *planned, prices []float64, free []int) (float64, bool) {
	n := len(v.jobs)
	if cap(p.buffer) < n+1 {
		p.buffer = make([]dpStep, n+1)
	}
	f := p.buffer[:n+1]
	f[0] = dpStep{day: -1}
	dearest := 0.0
	for _, x := range prices {
		dearest = max(dearest, x)
	}
	for k := 1; k <= n; k++ {
		f[k] = dpStep{cost: math.Inf(1)}
		var rate, late, spread float64
		minutes := 0
		for i := k - 1; i >= 0; i-- {
			j := p.ask.Jobs[v.jobs[i]]
			rate += j.PerDay
			late += j.PerDay * float64(j.Latest)
			minutes += j.Minutes
			before := f[i]
			if i < k-1 {
				spread += (rate - j.PerDay) * float64(p.own(v, i+1)-p.own(v, i))
			}
			// Each job on its own last day would cost less than this group can.
			if n > manyJobs && spread > float64(k-i)*p.ask.Visit+dearest*float64(minutes) {
				continue
			}
			if math.IsInf(before.cost, 1) {
				continue
			}
			// From the last day on which it can be done backwards: each day costs rate,
			// and can gain no more than a visit and the dearest price.
			reach := len(v.may)
			if rate > 0 {
				if back := (p.ask.Visit + dearest*float64(minutes)) / rate; back < float64(reach) {
					reach = int(back) + 1
				}
			}
			stop, found := before.day+1, false
			for d := p.last(v.jobs[i]); d >= max(stop, 0); d-- {
				if !v.may[d] || free != nil && minutes > free[d] {
					continue
				}
				if !found { // counted from the first day that can be had
					stop, found = max(stop, d-reach), true
				}
				c := before.cost + late - rate*float64(d) + prices[d]*float64(minutes)
				if !v.fixed[d] {
					c += p.ask.Visit
				}
				if c < f[k].cost-1e-12*(1+math.Abs(c)) {
					f[k] = dpStep{c, i, d}
				}
			}
		}
	}
	if math.IsInf(f[n].cost, 1) {
		return 0, false
	}
	if len(v.days) != n {
		v.days = make([]int, n)
	}
	for k := n; k > 0; k = f[k].from {
		for j := f[k].from; j < k; j++ {
			v.days[j] = f[k].day
		}
	}
	return f[n].cost, true
}

// cost is what a vehicle's days cost without prices.
func (p *planner) cost(v *planned) (c float64) {
	for k, j := range v.jobs {
		d := v.days[k]
		if d < 0 {
			continue
		}
		c += p.ask.Jobs[j].PerDay * float64(p.ask.Jobs[j].Latest-d)
		if !v.fixed[d] && !slices.Contains(v.days[:k], d) {
			c += p.ask.Visit
		}
	}
	return c
}

// book takes a vehicle's minutes off the free ones, or puts them back.
func (p *planner) book(v *planned, free []int, sign int) {
	for k, j := range v.jobs {
		if k < len(v.days) && v.days[k] >= 0 {
			free[v.days[k]] -= sign * p.ask.Jobs[j].Minutes
		}
	}
}

// fits tells whether every vehicle is placed and no day is over full.
func (p *planner) fits(free []int) bool {
	left := slices.Clone(free)
	for _, v := range p.vehicles {
		if len(v.days) != len(v.jobs) {
			return false
		}
		p.book(v, left, 1)
	}
	return slices.Min(append(left, 0)) >= 0
}

// CostOfDay is what a day brought forward costs for a part that is replaced
// early: what is thrown away of it.
//
//	v = c/L
//
//	c  cost of the replacement
//	L  expected life   days
//
// Valid for c ≥ 0 and L > 0; otherwise the error is a *unit.DomainError.
//
// Source: handbook chapter 06, B4.3.
func CostOfDay(cost float64, life wear.Days) (float64, error) {
	if !(cost >= 0 && cost < 1e12) || !(life > 0 && life < 1e9) {
		return 0, &unit.DomainError{Formula: "cost of a day", Input: "life", Value: float64(life), Want: "c ≥ 0 and L > 0"}
	}
	return cost / float64(life), nil
}
