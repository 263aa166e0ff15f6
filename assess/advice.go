package assess

import (
	"fmt"
	"math"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// An Advice is what the loads would have to be for the pair to fit, the vehicles
// and their lift axles as they are. It was tried: with it everything holds.
type Advice struct {
	Lead  unit.Length // at which it holds
	Moved bool        // that is not where the fifth wheel stands
	Loads []Relief    // one for each load case that does not hold
}

// A Relief is what makes one load case hold: a part of the load comes off where
// the rest stays, or all of it stands elsewhere. At least one of them is there.
type Relief struct {
	Case    int         // index in the pairing's cases
	Off     unit.Mass   // to come off; 0: no load at that place holds
	Payload unit.Mass   // what is left then
	Move    unit.Length // of the load's centre, rearwards; 0: no place holds
	At      unit.Length // the centre behind the kingpin then
}

// Advise says how the loads could change so that everything holds. Each load on
// anything is straight in the payload and straight in the place of its centre, so
// each finding allows a half-line of either, and the end of what all allow is the
// answer, rounded to a whole unit towards what holds. Where a limit of the law
// steps with the mass that is repeated from there. What cannot be cured by the
// loads alone gives nil.
//
// Source: the statics of a chain of two units, linear in each load; handbook
// chapter 03, 1.2 and 4.
func (p *Pairing) Advise(system unit.System) *Advice {
	var best *Advice
	most := 0.0
	for k, lead := range p.adviceLeads() {
		a, kept := p.adviseAt(lead, system)
		if a == nil {
			continue
		}
		if k == 0 && !math.IsNaN(p.now) {
			return a // nothing else has to be moved
		}
		if best == nil || kept > most {
			best, most = a, kept
		}
	}
	return best
}

// adviceLeads are the positions that advice is sought at: where the fifth wheel
// stands, then where the least margin is largest, and the ends of what the
// position alone allows.
func (p *Pairing) adviceLeads() []float64 {
	var out []float64
	add := func(lead float64) {
		if math.IsNaN(lead) || math.IsInf(lead, 0) {
			return
		}
		for _, have := range out {
			if math.Abs(have-lead) < 1e-6 {
				return
			}
		}
		out = append(out, lead)
	}
	add(p.now)
	if p.fixed || math.IsNaN(p.travel.lo) || p.travel.empty() {
		return out
	}
	add(p.nearest(p.base))
	if r := p.leadOnly(p.base); r != nil {
		for _, lead := range p.candidates(p.base, interval{float64(r[0]), float64(r[1])}, AimMargin) {
			add(lead)
		}
	}
	add(p.travel.lo)
	add(p.travel.hi)
	return out
}

// adviseAt seeks advice at one position; kept is the payload that stays, all cases
// together.
func (p *Pairing) adviseAt(lead float64, system unit.System) (a *Advice, kept float64) {
	failing := map[int]bool{}
	for i, r := range p.base.evaluate(lead, true, nil) {
		in := &p.base.infos[i]
		switch {
		case !in.binding || r.Answer == Holds || r.Answer == NotApplied:
		case in.cases < 0 || r.Answer == Unknown:
			return nil, 0 // no load cures that
		default:
			failing[in.cases] = true
		}
	}
	a = &Advice{Lead: unit.Length(lead), Moved: !(math.Abs(lead-p.now) < 1e-6)}
	for c := range p.Cases {
		kept += float64(p.Cases[c].Payload)
		if !failing[c] {
			continue
		}
		s := search{p: p, of: p.Cases[c], lead: lead, system: system}
		relief := Relief{Case: c}
		relief.Payload, relief.Off = s.lighter()
		relief.At, relief.Move = s.elsewhere()
		if relief.Off == 0 && relief.Move == 0 {
			return nil, 0
		}
		kept -= float64(relief.Off)
		a.Loads = append(a.Loads, relief)
	}
	if len(a.Loads) == 0 {
		return nil, 0 // nothing fails here: the position is what has to change
	}
	return a, kept
}

// A search looks for a load of one case that holds at one position.
type search struct {
	p      *Pairing
	of     Case
	lead   float64
	system unit.System
	alone  *Pairing
}

// here is the case by itself as it stands.
func (s *search) here() *Pairing {
	if s.alone == nil {
		s.alone = s.with(float64(s.of.Payload), float64(s.of.At))
	}
	return s.alone
}

// with is the case by itself with another payload at another place. The hindmost
// item goes with the rest.
func (s *search) with(payload, at float64) *Pairing {
	c := s.of
	c.Hindmost += unit.Length(at) - c.At
	c.Payload, c.At = unit.Mass(payload), unit.Length(at)
	comb := s.p.Combination
	comb.Cases = []Case{c}
	return Compile(comb)
}

func (s *search) holds(payload, at float64) bool {
	q := s.with(payload, at)
	return q.passes(q.base, s.lead)
}

// room returns the values of what is varied, as straight lines through two of them
// allow; a and b are the pairings at x and at x + step.
func (s *search) room(a, b *Pairing, x, step float64) interval {
	all := interval{math.Inf(-1), math.Inf(1)}
	second := map[string]int{}
	for i := range b.base.infos {
		second[b.base.infos[i].id] = i
	}
	ra, rb := a.base.evaluate(s.lead, false, nil), b.base.evaluate(s.lead, false, nil)
	for i := range ra {
		in, l := &a.base.infos[i], &a.base.lines[i]
		k, ok := second[in.id]
		if !in.binding || !ok || l.sense == 0 || math.IsNaN(ra[i].Margin) || math.IsNaN(rb[k].Value) {
			continue
		}
		limit := ra[i].Limit
		ma, mb := float64(l.sense)*(limit-ra[i].Value), float64(l.sense)*(limit-rb[k].Value)
		// A share is no straight line; the load that it lacks is one.
		switch la, lb := &a.base.loads[0], &b.base.loads[0]; in.quantity {
		case "share-drive", "share-trailer-axles":
			ma, mb = ma*la.gross, mb*lb.gross
		case "share-steer":
			ma, mb = ma*la.tractor, mb*lb.tractor
		}
		slope := (mb - ma) / step
		if math.Abs(slope*step) < 1e-9*math.Max(1, math.Abs(ma)) { // it does not change
			if ra[i].Answer == Fails {
				return interval{1, 0}
			}
			continue
		}
		own := atLeast(ma-slope*x, slope, 0)
		all.lo, all.hi = math.Max(all.lo, own.lo), math.Min(all.hi, own.hi)
	}
	return all
}

// aside is how far the second point of a straight line is taken, of what is
// varied: near enough for the same step of the law.
const aside = 1.0 / 1024

// lighter returns the largest payload at its place that holds, and what has to come
// off for it, in whole units; 0 when none does.
func (s *search) lighter() (left, off unit.Mass) {
	full, at := float64(s.of.Payload), float64(s.of.At)
	if !(full > 0) || math.IsNaN(at) {
		return 0, 0
	}
	u := s.system.In(unit.KG)
	from := full
	here := s.here()
	for range 6 { // each time the law's limits are those of the payload reached
		room := s.room(here, s.with(from*(1-aside), at), from, -from*aside)
		if hi := math.Min(room.hi, from); room.empty() || !(hi > 0) || hi < room.lo {
			return 0, 0
		} else {
			units := math.Ceil(Whole(u.From(full - hi)))
			if now := u.From(full - from); from < full && units <= Whole(now) {
				units = now + 1
			}
			from = full - u.ToSI(units)
		}
		if !(from > 0) {
			return 0, 0
		}
		if here = s.with(from, at); here.passes(here.base, s.lead) {
			return unit.Mass(from), unit.Mass(full - from)
		}
	}
	return 0, 0
}

// elsewhere returns the nearest place of the whole load's centre that holds, and how
// far that is rearwards of where it stands, in whole millimetres or tenths of an
// inch; 0 when no place does.
func (s *search) elsewhere() (place, move unit.Length) {
	full, at := float64(s.of.Payload), float64(s.of.At)
	if !(full > 0) || math.IsNaN(at) || s.p.Trailer.Headboard == nil {
		return 0, 0
	}
	room := s.room(s.here(), s.with(full, at+aside), at, aside)
	room.lo = math.Max(room.lo, -float64(*s.p.Trailer.Headboard)) // not through the headboard
	u := s.system.In(unit.MM)
	digit := math.Pow10(Places(u))
	whole := func(m float64) float64 { return u.ToSI(math.Ceil(Whole(u.From(m)*digit)) / digit) }
	to := nan
	switch {
	case room.empty():
		return 0, 0
	case at < room.lo:
		to = at + whole(room.lo-at)
	case at > room.hi:
		to = at - whole(at-room.hi)
	}
	if !(room.lo-dust <= to && to <= room.hi+dust) || !s.holds(full, to) {
		return 0, 0
	}
	return unit.Length(to), unit.Length(to - at)
}

// Apply returns the cases with the advice followed: each load lighter, or moved.
// Where only one of the two is possible that is what is done.
func (a *Advice) Apply(cases []Case, move bool) []Case {
	out := append([]Case(nil), cases...)
	for _, r := range a.Loads {
		c := &out[r.Case]
		if r.Off > 0 && (!move || r.Move == 0) {
			c.Payload = r.Payload
			continue
		}
		c.Hindmost += r.At - c.At
		c.At = r.At
	}
	return out
}

// tellAdvice words advice: a sentence, and where several loads change a line for
// each.
func (w words) tellAdvice(a *Advice) (say, loads []string) {
	set := ""
	if a.Moved && !w.fixed {
		set = ", with the fifth wheel " + Ahead(a.Lead, w.LeadDatum(), w.system)
	}
	name := func(r *Relief) string { return upperFirst(w.Cases[r.Case].Name) + ": " + w.relief(r) }
	if len(a.Loads) == 1 {
		r := &a.Loads[0]
		text := upperFirst(w.relief(r))
		if len(w.Cases) > 1 {
			text = name(r)
		}
		return []string{text + ". Then everything holds" + set + "."}, nil
	}
	for i := range a.Loads {
		loads = append(loads, name(&a.Loads[i])+".")
	}
	return []string{fmt.Sprintf("Everything holds%s, when these %d loads change:", set, len(a.Loads))}, loads
}

func (w words) relief(r *Relief) string {
	var parts []string
	if r.Off > 0 {
		parts = append(parts, "take "+w.up(float64(r.Off), unit.KG)+" off where it stands")
	}
	if r.Move != 0 {
		way, by := "back", r.Move
		if by < 0 {
			way, by = "forward", -by
		}
		parts = append(parts, "bring its centre "+w.lead(by, math.Round)+" "+way)
	}
	return strings.Join(parts, ", or ")
}

// loadFails tells whether what fails is about a load, and not about the vehicles
// alone.
func loadFails(r *Result) bool {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Binding && f.Answer == rule.DoesNotFit && f.Case != "" {
			return true
		}
	}
	return false
}
