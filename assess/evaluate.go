package assess

import "math"

// tolerance is the binary rounding that is absorbed when a value is held
// against a limit; it is no tolerance for measuring. It is the same as
// package rule's.
const tolerance = 1e-9

// Evaluate reads every finding of the combination, as its lift axles and level
// are set, with the coupling at this lead in metres. It appends to out, in the
// order of the findings, and returns it; with room in out nothing is allocated.
// Findings that need the transient of a turn are left Unknown where the steady
// circle does not decide them: Assess looks at those.
//
// A Pairing is not safe for use by several goroutines at once.
func (p *Pairing) Evaluate(lead float64, out []Reading) []Reading {
	return p.base.evaluate(lead, false, out)
}

func (st *state) evaluate(lead float64, exact bool, out []Reading) []Reading {
	for i := range st.lines {
		l := &st.lines[i]
		limit, sure := l.limit, l.sure
		if l.steps != nil {
			limit, sure = l.stepAt(lead)
			if math.IsInf(limit, 0) {
				out = append(out, Reading{nan, nan, nan, NotApplied})
				continue
			}
		}
		v := st.value(l, lead, limit, exact)
		out = append(out, judge(v, limit, sure, l.sense))
	}
	return out
}

// value returns a finding's value at a lead.
func (st *state) value(l *line, lead, limit float64, exact bool) float64 {
	switch l.form {
	case corner:
		return l.a - math.Hypot(l.b+lead, l.y)
	case circle:
		return st.turn.value(l, lead, limit, exact)
	}
	if l.b == 0 {
		return l.a // whatever the lead is, known or not
	}
	return l.a + l.b*lead
}

func (l *line) stepAt(lead float64) (limit, sure float64) {
	for _, s := range l.steps {
		if lead <= s.upTo+dust {
			return s.limit, s.sure
		}
	}
	last := l.steps[len(l.steps)-1]
	return last.limit, last.sure
}

// judge holds a value against a limit, unrounded. Exactly on the limit holds.
// beyond sure the finding fails whatever is not declared; between the two it
// is unknown.
func judge(v, limit, sure float64, sense int8) Reading {
	r := Reading{Value: v, Limit: limit, Margin: nan}
	var beyond float64
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return r
	case sense > 0:
		r.Margin, beyond = limit-v, v-sure
	case sense < 0:
		r.Margin, beyond = v-limit, sure-v
	default:
		r.Margin = -math.Abs(v - limit)
		beyond = -r.Margin
	}
	switch {
	case r.Margin >= -tolerance*math.Max(math.Abs(limit), 1e-3):
		r.Answer = Holds
	case beyond > tolerance*math.Max(math.Abs(sure), 1e-3):
		r.Answer = Fails
	}
	return r
}

// allowed returns the leads within travel at which a line holds. sure asks for
// those at which it does not certainly fail: what is unknown then allows all.
func (st *state) allowed(l *line, travel interval, sure bool) []interval {
	all := []interval{travel}
	if sure && (math.IsNaN(l.a) || math.IsNaN(l.b)) {
		return all // not certain to fail while the value is unknown
	}
	if l.steps != nil {
		var out []interval
		lo := travel.lo
		for _, s := range l.steps {
			piece := interval{lo, math.Min(s.upTo, travel.hi)}
			lo = s.upTo
			limit := s.limit
			if sure {
				limit = s.sure
			}
			if piece.empty() {
				continue
			}
			if math.IsInf(limit, 0) {
				out = append(out, piece)
				continue
			}
			out = append(out, intersect([]interval{piece}, half(l, limit))...)
		}
		return union(out)
	}
	limit := l.limit
	if sure {
		limit = l.sure
		// Not certain to fail while the value, or every limit, is unknown.
		if math.IsInf(limit, 0) || math.IsNaN(limit) {
			return all
		}
	}
	if math.IsNaN(limit) {
		return nil
	}
	switch l.form {
	case corner:
		if math.IsNaN(l.a) || math.IsNaN(l.y) || math.IsNaN(l.b) {
			break
		}
		r := l.a - limit // the farthest the corner may reach
		if r < math.Abs(l.y) {
			return nil
		}
		reach := math.Sqrt(r*r - l.y*l.y)
		return intersect(all, []interval{{-reach - l.b, reach - l.b}})
	case circle:
		if set, known := st.turn.allowed(l, travel, limit); known {
			return set
		}
	default:
		if !math.IsNaN(l.a) && !math.IsNaN(l.b) {
			return intersect(all, half(l, limit))
		}
	}
	if sure {
		return all
	}
	return nil
}

// half returns the half-line on which a straight finding holds.
func half(l *line, limit float64) []interval {
	var i interval
	switch {
	case l.sense > 0:
		i = atMost(l.a, l.b, limit)
	case l.sense < 0:
		i = atLeast(l.a, l.b, limit)
	case math.Abs(l.a-limit) <= tolerance*math.Max(math.Abs(limit), 1e-3):
		i = interval{math.Inf(-1), math.Inf(1)}
	default:
		return nil
	}
	if i.empty() {
		return nil
	}
	return []interval{i}
}

// lawful returns the leads within travel that every binding finding allows.
func (st *state) lawful(travel interval, sure bool) []interval {
	set := []interval{travel}
	for i := range st.lines {
		if st.infos[i].binding {
			if set = intersect(set, st.allowed(&st.lines[i], travel, sure)); len(set) == 0 {
				return nil
			}
		}
	}
	return set
}
