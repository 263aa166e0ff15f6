package maintenance

import (
	"cmp"
	"math"
	"slices"
)

// How long a full workshop is planned. Under these the plans of the tests come
// out within a few per cent of the best there is.
const (
	priceRounds = 40
	mendRounds  = 6
	fewVehicles = 40 // up to here, and
	fewJobs     = 60 // up to here, every pair is tried, and every round of prices is made into a plan
)

// squeeze plans a workshop in which days are full, and leaves the best plan found
// in the vehicles' days. Under prices a vehicle's jobs need not stand in the order
// of their latest days, so what they cost then is a guide and no bound.
func (p *planner) squeeze(free []int, prices []float64) {
	best := math.Inf(1)
	var days [][]int
	keep := func() {
		if c := p.total(); c < best {
			best = c
			days = days[:0]
			for _, v := range p.vehicles {
				days = append(days, slices.Clone(v.days))
			}
		}
	}
	orders := [...]func(a, b *planned) int{
		func(a, b *planned) int { return cmp.Compare(p.tightness(a), p.tightness(b)) },
		func(a, b *planned) int { return cmp.Compare(p.need(b), p.need(a)) },
	}
	used := make([]int, len(free))
	step := 0.0
	for round := range priceRounds {
		lower := p.overdue
		for i := range used {
			used[i] = 0
		}
		for _, v := range p.vehicles {
			c, ok := p.solve(v, prices, nil)
			if !ok {
				continue
			}
			lower += c
			for k, j := range v.jobs {
				used[v.days[k]] += p.ask.Jobs[j].Minutes
			}
		}
		norm := 0.0
		for d := range free {
			lower -= prices[d] * float64(free[d])
			if over := float64(used[d] - free[d]); over > 0 || prices[d] > 0 {
				norm += over * over
			}
		}
		if few := p.few(); few || round%4 == 0 || round == priceRounds-1 {
			turn := round
			if !few {
				turn = round / 4
			}
			p.fill(free, prices, orders[turn%len(orders)])
			p.mend(free)
			keep()
		}
		if norm == 0 {
			break
		}
		// Polyak's step towards the best plan known, shorter as it goes on.
		target := best
		if math.IsInf(target, 1) || target >= unplacedCost {
			target = lower + p.ask.Visit*float64(1+len(p.vehicles))/4
		}
		step = max(target-lower, 1e-9*(1+math.Abs(lower))) / norm
		step *= 1.5 / (1 + float64(round)/10)
		for d := range prices {
			prices[d] = max(0, prices[d]+step*float64(used[d]-free[d]))
		}
	}
	for i, v := range p.vehicles {
		v.days = days[i]
	}
}

func (p *planner) few() bool {
	return len(p.vehicles) <= fewVehicles && len(p.ask.Jobs) <= fewJobs
}

// tightness is a vehicle's first last day: who must come first is placed first.
func (p *planner) tightness(v *planned) int {
	if len(v.jobs) == 0 {
		return math.MaxInt
	}
	return p.last(v.jobs[0])
}

func (p *planner) need(v *planned) (minutes int) {
	for _, j := range v.jobs {
		minutes = max(minutes, p.ask.Jobs[j].Minutes)
	}
	return minutes
}

// fill places the vehicles one after the other into what is left of the days.
func (p *planner) fill(free []int, prices []float64, order func(a, b *planned) int) {
	turn := slices.Clone(p.vehicles)
	slices.SortStableFunc(turn, order)
	left := slices.Clone(free)
	for _, v := range turn {
		if _, ok := p.solve(v, prices, left); !ok {
			p.oneByOne(v, left)
		}
		p.book(v, left, 1)
	}
}

// oneByOne places what can be placed of a vehicle, each job on the last day with
// room.
func (p *planner) oneByOne(v *planned, free []int) {
	v.days = make([]int, len(v.jobs))
	mine := map[int]int{}
	for k, j := range v.jobs {
		v.days[k] = -1
		for d := p.last(j); d >= 0; d-- {
			if v.may[d] && mine[d]+p.ask.Jobs[j].Minutes <= free[d] {
				v.days[k] = d
				mine[d] += p.ask.Jobs[j].Minutes
				break
			}
		}
	}
}

// mend takes vehicles out one at a time and places each anew at least cost, until
// nothing gets better; then it lets one move out of the way of another.
func (p *planner) mend(free []int) {
	left := slices.Clone(free)
	for _, v := range p.vehicles {
		p.book(v, left, 1)
	}
	none := make([]float64, len(free))
	again := func(v *planned) bool {
		old, was := slices.Clone(v.days), p.worth(v)
		p.book(v, left, -1)
		_, ok := p.solve(v, none, left)
		if !ok {
			p.oneByOne(v, left)
		}
		if p.worth(v) >= was-1e-9*(1+was) {
			v.days = old
			p.book(v, left, 1)
			return false
		}
		p.book(v, left, 1)
		return true
	}
	for range mendRounds {
		better := false
		for _, v := range p.vehicles {
			better = again(v) || better
			better = p.mendJobs(v, left) || better
		}
		if !better {
			break
		}
	}
	if !p.few() {
		return
	}
	for better, round := true, 0; better && round < mendRounds; round++ {
		better = p.mendPairs(left, none)
	}
}

// mendJobs moves single jobs of a vehicle to the day that costs least: where days
// are full, a later job may well come before an earlier one.
func (p *planner) mendJobs(v *planned, left []int) (better bool) {
	if len(v.jobs) < 2 {
		return false
	}
	at := make([]int, len(left))
	for _, d := range v.days {
		if d >= 0 {
			at[d]++
		}
	}
	for k, j := range v.jobs {
		from := v.days[k]
		job := p.ask.Jobs[j]
		// What the job costs on a day, without the visits of the others.
		on := func(d int) float64 {
			c := job.PerDay * float64(job.Latest-d)
			others := at[d]
			if d == from {
				others--
			}
			if others == 0 && !v.fixed[d] {
				c += p.ask.Visit
			}
			return c
		}
		best, cost := -1, unplacedCost
		if from >= 0 {
			best, cost = from, on(from)
		}
		for d := p.last(j); d >= 0; d-- {
			if d != from && v.may[d] && job.Minutes <= left[d] {
				if c := on(d); c < cost-1e-9*(1+cost) {
					best, cost = d, c
				}
			}
		}
		if best == from {
			continue
		}
		if from >= 0 {
			left[from] += job.Minutes
			at[from]--
		}
		left[best] -= job.Minutes
		at[best]++
		v.days[k] = best
		better = true
	}
	return better
}

// mendPairs takes two vehicles out and places both anew, the one first that pays
// for it.
func (p *planner) mendPairs(left []int, none []float64) (better bool) {
	for _, v := range p.vehicles {
		for _, w := range p.vehicles {
			if v == w || len(v.jobs) == 0 || len(w.jobs) == 0 {
				continue
			}
			oldV, oldW, was := slices.Clone(v.days), slices.Clone(w.days), p.worth(v)+p.worth(w)
			p.book(v, left, -1)
			p.book(w, left, -1)
			for _, x := range [...]*planned{v, w} { // v first, into what both leave
				if _, ok := p.solve(x, none, left); !ok {
					p.oneByOne(x, left)
				}
				p.book(x, left, 1)
			}
			if p.worth(v)+p.worth(w) >= was-1e-9*(1+was) {
				p.book(v, left, -1)
				p.book(w, left, -1)
				v.days, w.days = oldV, oldW
				p.book(v, left, 1)
				p.book(w, left, 1)
			} else {
				better = true
			}
		}
	}
	return better
}

// unplacedCost weighs a job without a day: more than anything that can be paid.
const unplacedCost = 1e15

// worth is what a vehicle costs, jobs without a day counted dearly.
func (p *planner) worth(v *planned) float64 {
	c := p.cost(v)
	for _, d := range v.days {
		if d < 0 {
			c += unplacedCost
		}
	}
	return c
}

func (p *planner) total() (c float64) {
	for _, v := range p.vehicles {
		c += p.worth(v)
	}
	return c + p.overdue
}

// result writes the plan down.
func (p *planner) result(bound float64) Plan {
	out := Plan{Unplaced: p.unplaced, Bound: bound}
	for _, v := range p.vehicles {
		visits := map[int]*PlanVisit{}
		put := func(j, d int) *PlanVisit {
			w := visits[d]
			if w == nil {
				w = &PlanVisit{Vehicle: v.asset, Day: d, On: later(p.ask.Today, d), Fixed: v.fixed[d]}
				if !w.Fixed || d == v.soonD && !p.appointed(v.asset, d) {
					w.Cost, w.Fixed = p.ask.Visit, false
				}
				visits[d] = w
			}
			w.Jobs = append(w.Jobs, j)
			w.Minutes += p.ask.Jobs[j].Minutes
			return w
		}
		for _, j := range v.soon {
			put(j, v.soonD)
		}
		for k, j := range v.jobs {
			if k >= len(v.days) || v.days[k] < 0 {
				out.Unplaced = append(out.Unplaced, Unplaced{j, p.why(v, j)})
				continue
			}
			put(j, v.days[k]).Cost += p.ask.Jobs[j].PerDay * float64(p.ask.Jobs[j].Latest-v.days[k])
		}
		for _, w := range visits {
			out.Visits = append(out.Visits, *w)
			out.Cost += w.Cost
		}
	}
	slices.SortFunc(out.Visits, func(a, b PlanVisit) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Vehicle, b.Vehicle))
	})
	// In the order of the visits, so that the sum is the same every time.
	out.Cost = 0
	for _, w := range out.Visits {
		out.Cost += w.Cost
	}
	slices.SortFunc(out.Unplaced, func(a, b Unplaced) int { return cmp.Compare(a.Job, b.Job) })
	if len(out.Unplaced) > 0 {
		out.Bound = 0 // of a plan of all the jobs, which there is not
	}
	return out
}

func (p *planner) appointed(v Asset, d int) bool {
	return slices.Contains(p.ask.Fixed, Appointment{v, d})
}

// A PlanChange is what differs between two plans of one vehicle's job.
type PlanChange struct {
	Job      int
	Vehicle  Asset
	From, To int // days; −1: no day
}

// Changes lists the jobs whose day differs between this plan and another of the
// same jobs, such as one with a vehicle away, and what the other costs more.
func (p Plan) Changes(other Plan) (changes []PlanChange, more float64) {
	type place struct {
		vehicle Asset
		day     int
	}
	days := func(p Plan) map[int]place {
		out := map[int]place{}
		for _, v := range p.Visits {
			for _, j := range v.Jobs {
				out[j] = place{v.Vehicle, v.Day}
			}
		}
		return out
	}
	a, b := days(p), days(other)
	for j, x := range a {
		if y, ok := b[j]; !ok {
			changes = append(changes, PlanChange{j, x.vehicle, x.day, -1})
		} else if y.day != x.day {
			changes = append(changes, PlanChange{j, x.vehicle, x.day, y.day})
		}
	}
	for j, y := range b {
		if _, ok := a[j]; !ok {
			changes = append(changes, PlanChange{j, y.vehicle, -1, y.day})
		}
	}
	slices.SortFunc(changes, func(a, b PlanChange) int { return cmp.Compare(a.Job, b.Job) })
	return changes, other.Cost - p.Cost
}
