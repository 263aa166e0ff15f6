package maintenance

import "slices"

// exactNodes is how many assignments are tried out at most. It is enough for a
// dozen jobs in full days, in some hundredths of a second.
const exactNodes = 400_000

// exact tries out every assignment of jobs to days that can still be better than
// the plan there is, vehicle by vehicle, until all are tried or the count is
// used up. It tells whether all were, so that what is left is proven the best.
//
// A vehicle never costs less than it does with the days all to itself; that cuts
// off most of them.
func (p *planner) exact(free []int, alone []float64) bool {
	n := len(p.vehicles)
	rest := make([]float64, n+1) // what the vehicles from here on cost at least
	for i := n - 1; i >= 0; i-- {
		rest[i] = rest[i+1] + alone[i]
	}
	s := search{planner: p, left: slices.Clone(free), rest: rest, alone: alone, best: p.total() - p.overdue, nodes: exactNodes}
	for _, v := range p.vehicles {
		s.days = append(s.days, make([]int, len(v.jobs)))
	}
	s.vehicle(0, 0)
	if s.found {
		for i, v := range p.vehicles {
			v.days = s.kept[i]
		}
	}
	return s.nodes > 0
}

// search is the work of exact.
type search struct {
	*planner
	left  []int
	days  [][]int // being tried
	kept  [][]int // the best so far
	rest  []float64
	alone []float64
	best  float64
	nodes int
	found bool
}

// vehicle goes on with vehicle i, the ones before it costing so much.
func (s *search) vehicle(i int, cost float64) {
	if i == len(s.vehicles) {
		if cost < s.best-1e-9*(1+cost) {
			s.best, s.found = cost, true
			s.kept = s.kept[:0]
			for _, d := range s.days {
				s.kept = append(s.kept, slices.Clone(d))
			}
		}
		return
	}
	s.job(i, 0, cost, 0)
}

// job goes on with job k of vehicle i, which has cost own so far.
func (s *search) job(i, k int, before, own float64) {
	v := s.vehicles[i]
	if k == len(v.jobs) {
		s.vehicle(i+1, before+own)
		return
	}
	j := s.ask.Jobs[v.jobs[k]]
	for d := s.last(v.jobs[k]); d >= 0 && s.nodes > 0; d-- {
		if !v.may[d] || j.Minutes > s.left[d] {
			continue
		}
		s.nodes--
		c := own + j.PerDay*float64(j.Latest-d)
		if !v.fixed[d] && !slices.Contains(s.days[i][:k], d) {
			c += s.ask.Visit
		}
		if before+max(c, s.alone[i])+s.rest[i+1] >= s.best-1e-9*(1+s.best) {
			continue
		}
		s.days[i][k] = d
		s.left[d] -= j.Minutes
		s.job(i, k+1, before, c)
		s.left[d] += j.Minutes
	}
}
