package mounting

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/rating"
	"underpin/unit"
)

// A Miss is what came nearest where nothing answers the brief, with one thing
// let go: the tolerance of the height, the strength, the lawful position.
type Miss struct {
	Kind  string // stack, fifth-wheel, height, strength, position, holes
	Stack Stack  // empty where no stack is meant
	By    float64
	Unit  unit.Unit // of By
	Text  string
}

// nearest looks for what came nearest in each way. Each is the least over every
// stack, by the same tree and the same bounds as the search itself.
func (s *search) nearest() []Miss {
	any := func(i int) bool { return s.verdict[i].kind != "height" }
	standing := s.standing(any)
	if len(standing) == 0 {
		return []Miss{{Kind: "stack", Text: s.noStack()}}
	}
	var out []Miss
	if m, none := s.noWheel(standing); none {
		out = append(out, m)
	}
	if m, ok := s.nearestHeight(s.usable, true); ok {
		out = append(out, m)
	}
	if m, ok := s.nearestStrength(); ok {
		out = append(out, m)
	}
	if m, ok := s.nearestPosition(s.usable, s.tooFar()); ok {
		out = append(out, m)
	}
	if len(out) > 0 && !(len(out) == 1 && out[0].Kind == "fifth-wheel") {
		return out
	}
	// More than one thing is in the way of every stack: each for itself.
	for _, try := range []func() (Miss, bool){
		func() (Miss, bool) { return s.nearestHeight(any, false) },
		func() (Miss, bool) { return s.nearestPosition(any, func(lo, hi unit.Length) bool { return false }) },
	} {
		if m, ok := try(); ok {
			m.Text += " More than one thing is in its way."
			out = append(out, m)
		}
	}
	return out
}

func (s *search) noStack() string {
	var have []string
	for _, b := range bases {
		if s.chassis.has(b) {
			have = append(have, b)
		}
	}
	return fmt.Sprintf("No fifth wheel of the catalogue can be built up from the %s of this chassis: of the parts that may stand there none leads up to one, or holes do not meet.", strings.Join(have, " or "))
}

// standing lists the fifth wheels that can be built up to.
func (s *search) standing(usable func(int) bool) []int {
	may := s.mayStand(usable)
	var out []int
	reached := map[int]bool{}
	enough := func(lo, hi unit.Length) bool { return len(out) == may }
	s.walk(usable, enough, func(b *branch) {
		if w := b.parts[len(b.parts)-1]; !reached[w] {
			reached[w] = true
			out = append(out, w)
		}
	})
	slices.Sort(out)
	return out
}

// mayStand counts the fifth wheels to which a way leads, part by part, without
// asking whether a kind occurs twice on it: no fewer than can be built up to.
func (s *search) mayStand(usable func(int) bool) int {
	wheels := 0
	seen := make([]bool, len(s.parts))
	var queue []int
	push := func(i int) {
		if !seen[i] && usable(i) {
			seen[i] = true
			queue = append(queue, i)
			wheels += btoi(s.parts[i].Kind == FifthWheel)
		}
	}
	for i := range s.starts {
		push(s.starts[i].part)
	}
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		for _, k := range s.above[i] {
			if len(s.join([]unit.Length{0}, i, k)) > 0 {
				push(k)
			}
		}
	}
	return wheels
}

// noWheel tells that no fifth wheel that can be built up to may be used, and
// why each.
func (s *search) noWheel(standing []int) (Miss, bool) {
	var why []string
	for _, i := range standing {
		if s.verdict[i].out == "" {
			return Miss{}, false
		}
		why = append(why, s.parts[i].ID+": "+s.verdict[i].out)
	}
	const shown = 5
	text := strings.Join(why[:min(shown, len(why))], "; ")
	if len(why) > shown {
		text += fmt.Sprintf("; and %d more", len(why)-shown)
	}
	return Miss{Kind: "fifth-wheel", Text: "No fifth wheel that can be built up to on this chassis will do. " + text + "."}, true
}

// lawfulFor is where a stack with these slides is lawful, with a rating that is
// enough; everywhere where that is not asked or not known.
func (s *search) lawfulFor(travel, pitch unit.Length) Spans {
	if s.places == nil {
		return everywhere
	}
	if set, known := s.legal[[2]unit.Length{travel, pitch}]; known {
		return set
	}
	set := everywhere
	if p, err := s.places(unit.Mass(s.asks.u)); err == nil && p != nil && len(p.Missing) == 0 {
		set = p.lawful(travel, pitch)
	}
	s.legal[[2]unit.Length{travel, pitch}] = set
	return set
}

// placeable tells whether some stack could have a lawful position: a fixed
// coupling, or one on some slider of the catalogue.
func (s *search) placeable() bool {
	if len(s.lawfulFor(0, 0)) > 0 {
		return true
	}
	return slices.ContainsFunc(s.parts, func(p *Part) bool {
		_, travel, pitch := p.carriage()
		return travel > 0 && len(s.lawfulFor(travel, pitch)) > 0
	})
}

// towards sorts the ways up so that those come first that lead to a height
// which all of them miss: a near miss found early cuts off the others. What is
// found does not depend on it.
func (s *search) towards(want unit.Length, usable func(int) bool) {
	s.bounds(usable)
	lo, hi := unit.Length(math.Inf(1)), unit.Length(math.Inf(-1))
	for i := range s.starts {
		st := &s.starts[i]
		lo, hi = min(lo, st.height+s.least[mostParts][st.part]), max(hi, st.height+s.most[mostParts][st.part])
	}
	tallFirst := want > (lo+hi)/2
	order := func(a, b int) int {
		if tallFirst {
			return cmp.Compare(s.most[mostParts][b], s.most[mostParts][a])
		}
		return cmp.Compare(s.least[mostParts][a], s.least[mostParts][b])
	}
	for i := range s.above {
		slices.SortStableFunc(s.above[i], order)
	}
	slices.SortStableFunc(s.starts, func(a, b start) int { return order(a.part, b.part) })
}

// nearestHeight is the stack of usable parts for which the tolerance of the
// wanted heights would have to be widened least; placed asks that it also finds
// a lawful position.
func (s *search) nearestHeight(usable func(int) bool, placed bool) (Miss, bool) {
	if len(s.windows) == 0 {
		return Miss{}, false
	}
	if placed && !s.placeable() {
		return Miss{}, false
	}
	type need struct{ lo, hi unit.Length }
	var needs []need
	for i := range s.windows {
		lo, hi := s.windows[i].need(&s.ground, s.zone, s.imposed)
		needs = append(needs, need{lo, hi})
	}
	best, stack := unit.Length(math.Inf(1)), Stack{}
	bound := func(lo, hi unit.Length) bool {
		off := unit.Length(0)
		for _, n := range needs {
			// Both ends move out by as much as the tolerance widens.
			off = max(off, n.lo-hi, lo-n.hi, (n.lo-n.hi)/2)
		}
		return off >= best
	}
	s.towards((needs[0].lo+needs[0].hi)/2, usable)
	s.walk(usable, bound, func(b *branch) {
		set, travel, pitch := s.reach(b)
		if !placed {
			set, travel = Spans{s.zone}, 0
		} else if set = set.and(s.lawfulFor(travel, pitch)); len(set) == 0 {
			return
		}
		r := s.reachOf(b, travel)
		reaches := func(by unit.Length) bool {
			r.windows = make([]window, len(s.windows))
			for i, w := range s.windows {
				w.tolerance += by
				r.windows[i] = w
			}
			return len(set.and(r.where())) > 0
		}
		lo, hi := unit.Length(0), min(best, 5)
		if !reaches(hi) {
			return
		}
		for hi-lo > 1e-7 {
			if mid := (lo + hi) / 2; reaches(mid) {
				hi = mid
			} else {
				lo = mid
			}
		}
		if hi < best {
			best, stack = hi, s.stack(b)
		}
	})
	if len(stack.Parts) == 0 {
		return Miss{}, false
	}
	return Miss{"height", stack, float64(best) * 1e3, unit.MM, fmt.Sprintf("%s: the tolerance of the height would have to be %s wider.", stack, ceilMM(best))}, true
}

func ceilMM(l unit.Length) string {
	return unit.Digits(math.Ceil(float64(l)*1e4-1e-3)/10, 1) + "\u00a0mm"
}

// nearestStrength is the stack that reaches and is lawful, and whose weakest
// part falls short by the least share.
func (s *search) nearestStrength() (Miss, bool) {
	best, stack, why := math.Inf(1), Stack{}, ""
	usable := func(i int) bool {
		v := &s.verdict[i]
		return v.out == "" || v.kind == "strength" && v.over < best
	}
	s.walk(usable, s.tooFar(), func(b *branch) {
		over, text := 0.0, ""
		for _, i := range b.parts {
			if v := &s.verdict[i]; v.over > over {
				over, text = v.over, s.parts[i].ID+": "+v.out
			}
		}
		if !(over > 0 && over < best) {
			return
		}
		set, travel, pitch := s.reach(b)
		if set = set.and(s.heights(b, travel)).and(s.lawfulFor(travel, pitch)); len(set) == 0 {
			return
		}
		best, stack, why = over, s.stack(b), text
	})
	if len(stack.Parts) == 0 {
		return Miss{}, false
	}
	return Miss{"strength", stack, best, unit.One, fmt.Sprintf("%s: %s.", stack, why)}, true
}

// nearestPosition is the stack of usable parts that reaches the heights and
// whose positions come nearest to the lawful ones.
func (s *search) nearestPosition(usable func(int) bool, tooFar func(lo, hi unit.Length) bool) (Miss, bool) {
	best, m := unit.Length(math.Inf(1)), Miss{}
	s.walk(usable, tooFar, func(b *branch) {
		_, travel, pitch := s.reach(b)
		zone := Spans{s.zone}.erode(travel)
		set := zone
		kind, gap, text := "", unit.Length(math.Inf(1)), ""
		for _, next := range []struct {
			set        Spans
			kind, text string
		}{
			{s.onHoles(b), "holes", "the holes and zones of the chassis put it %s beside the stretch that was asked about"},
			{s.heights(b, travel), "holes", "where its holes meet and where it reaches the height lie %s apart"},
			{s.lawfulFor(travel, pitch), "position", "it reaches, and stands %s from the nearest lawful position"},
		} {
			both := set.and(next.set)
			if len(both) == 0 {
				kind, gap, text = next.kind, set.apart(next.set), next.text
				break
			}
			set = both
		}
		if kind == "" || kind == "position" && math.IsInf(float64(gap), 1) {
			return
		}
		if len(zone) == 0 && math.IsInf(float64(best), 1) && m.Text == "" {
			m = Miss{Kind: "position", Stack: s.stack(b), Text: fmt.Sprintf("%s: the travel of %s does not fit into the stretch that was asked about.", s.stack(b), showMM(travel))}
			return
		}
		if gap < best {
			best = gap
			m = Miss{kind, s.stack(b), float64(gap) * 1e3, unit.MM, fmt.Sprintf("%s: %s.", s.stack(b), fmt.Sprintf(text, ceilMM(gap)))}
		}
	})
	if m.Text != "" || s.places == nil {
		return m, m.Text != ""
	}
	// Not one of them has a lawful position at all.
	if p, err := s.places(unit.Mass(s.asks.u)); err == nil && p != nil && p.Conflict != nil && len(p.Missing) == 0 {
		return Miss{Kind: "position", By: float64(p.Conflict.Apart) * 1e3, Unit: unit.MM, Text: "No position is lawful for all semi-trailers. " + p.Conflict.Text}, true
	}
	return m, false
}

// strong tells whether a stack may pull a semi-trailer: ratings, pin, wedge.
func strong(st Stack, c *Chassis, n *Need) bool {
	if n == nil || n.D == nil || n.U == nil {
		return false
	}
	r, err := rating.CheckParts(st.chain(c, &n.Trailer.Kingpin), rating.Need{D: *n.D, U: *n.U})
	if err != nil || r.Answer != rating.Fits {
		return false
	}
	w := st.Wheel()
	if n.Pin == 0 || sizeOf(w.Pin) != n.Pin {
		return false
	}
	if n.Trailer.Wedge != nil && *n.Trailer.Wedge {
		return w.Wedge != nil && *w.Wedge
	}
	return true
}

// need returns what a semi-trailer asks.
func (s *search) need(trailer string) *Need {
	for i := range s.needs {
		if s.needs[i].Trailer.ID == trailer {
			return &s.needs[i]
		}
	}
	return nil
}
