package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/rule"
	"underpin/unit"
)

// A Proposal is one stack that reaches the wanted heights, with every position
// at which it does and the semi-trailers are lawful.
type Proposal struct {
	Stack
	Answer    rule.Answer // fits, or cannot-tell while something is open
	Positions Spans       // of the coupling; on a slider: of its foremost slide position
	At        unit.Length // the one that serves the aim best
	Travel    unit.Length
	Pitch     unit.Length
	Heights   []Height // at At, one for each wanted height
	Mass      unit.Mass
	Weighed   bool        // the mass of every part is known
	Margin    float64     // least room, as a share of what it is measured by
	Served    []string    // wished semi-trailers that work there
	Headroom  unit.Length // left under the lowest bridge; NaN unknown
	Limits    []Limit     // what limits it, the tightest first
	Against   []string    // properties that were wanted and that it lacks
	Open      []string    // what is not known of it
}

// A Limit is one thing that limits a proposal.
type Limit struct {
	What string
	Room float64 // share of what it is measured by; NaN where none is told
	Text string
}

// Found is the answer to a search.
type Found struct {
	Aim       string
	Proposals []Proposal // best first
	Count     int        // of all there are; Proposals may hold fewer
	Nearest   []Miss     // where there is none: what came nearest, and by how much
	Wants     []Property
	Missing   []string
	Assumed   []string
	Positions *Positions // for the best proposal's rating, else for what is needed
}

// Search returns every stack of the catalogue that stands on the chassis,
// reaches every wanted height within its tolerance, is strong enough and leaves
// a position that is lawful for all semi-trailers that must work. The best for
// the brief's aim come first, at most so many of them (0: all).
//
// Where there is none it says what came nearest.
func (t *Task) Search(most int) (*Found, error) {
	if t.Chassis == nil {
		return nil, &NoPlaceError{"a chassis for " + t.Tractor.Called()}
	}
	d, ok := datumOf(t.Tractor)
	if !ok {
		return nil, &NoPlaceError{t.Tractor.Called() + ": places of its axles and a drive axle, from which positions are counted"}
	}
	needs, err := t.needs()
	if err != nil {
		return nil, err
	}
	wants, err := t.Choose()
	if err != nil {
		return nil, err
	}
	s := newSearch(t.Chassis, t.Parts)
	s.ground, s.windows = groundOf(t.Chassis, d), windowsOf(t.Brief.Heights)
	s.needs, s.asks, s.wants, s.aim = needs, t.asksOf(needs), wants, t.Brief.Aim
	s.rough, s.use = t.Brief.Work.rough(), t.Brief.RoughUse
	zone, assumed := t.zone(d)
	if !(zone.From <= zone.To) {
		return nil, &NoPlaceError{fmt.Sprintf("no place between %s and %s: what is wanted and what the guide allows do not meet", showMM(zone.From), showMM(zone.To))}
	}
	s.zone = zone
	byRating := map[unit.Mass]*Positions{}
	s.places = func(u unit.Mass) (*Positions, error) {
		if p, known := byRating[u]; known {
			return p, nil
		}
		p, err := t.Positions(u)
		byRating[u] = p
		return p, err
	}
	first, err := s.places(unit.Mass(s.asks.u))
	if err != nil {
		return nil, err
	}
	s.imposed = first.imposed()
	s.bridge = t.headroom
	f := s.run(most)
	if s.err != nil {
		return nil, s.err
	}
	f.Wants = wants
	if f.Positions == nil {
		f.Positions = first
	}
	f.Missing = append(f.Missing, s.asks.missing...)
	f.Missing = append(f.Missing, s.ground.missing...)
	if s.wantsLaden() {
		f.Missing = append(f.Missing, s.ground.noSink...)
	}
	f.Missing = append(f.Missing, f.Positions.Missing...)
	slices.Sort(f.Missing)
	f.Missing = slices.Compact(f.Missing)
	f.Assumed = append(assumed, s.ground.assumed...)
	f.Assumed = append(f.Assumed, "axle tares are taken as they stand in the fleet file, whatever mounting was weighed with them; weigh again after fitting")
	return f, nil
}

// imposed is the largest load on the kingpin of the semi-trailers that must
// work; NaN while one is not known.
func (p *Positions) imposed() unit.Mass {
	most := unit.Mass(math.Inf(-1))
	for i := range p.Trailers {
		if o := &p.Trailers[i]; !o.Wished {
			most = max(most, o.Imposed)
		}
	}
	if math.IsInf(float64(most), 0) {
		return unit.Mass(math.NaN())
	}
	return most
}

func (s *search) wantsLaden() bool {
	return slices.ContainsFunc(s.windows, func(w window) bool { return w.laden != nil })
}

// run goes through the catalogue and ranks what it finds.
func (s *search) run(most int) *Found {
	if s.aim == "" {
		s.aim = AimMargin
	}
	f := &Found{Aim: s.aim}
	if len(s.ground.missing) > 0 && len(s.windows) > 0 {
		return f // no height can be told
	}
	s.judge()
	s.index()
	var found []Proposal
	s.all(func(b *branch, set Spans, travel, pitch unit.Length, p *Positions) {
		f.Count++
		found = append(found, s.propose(b, set, travel, pitch, p))
		if most > 0 && len(found) >= 4*most+256 {
			slices.SortFunc(found, s.better)
			found = found[:most]
		}
	})
	slices.SortFunc(found, s.better)
	if most > 0 && len(found) > most {
		found = found[:most]
	}
	for i := range found {
		s.finish(&found[i])
	}
	f.Proposals = found
	if len(found) > 0 && s.places != nil {
		f.Positions = s.positionsFor(found[0].Stack)
	}
	if f.Count == 0 {
		f.Nearest = s.nearest()
	}
	return f
}

// propose makes a proposal of a branch, with what ranking needs.
func (s *search) propose(b *branch, set Spans, travel, pitch unit.Length, p *Positions) Proposal {
	o := Proposal{Stack: s.stack(b), Positions: set, Travel: travel, Pitch: pitch, Headroom: unit.Length(math.NaN()), Margin: math.Inf(1)}
	o.Mass, o.Weighed = o.Stack.Mass()
	o.Open = s.opens(b)
	if p != nil {
		o.Open = append(o.Open, p.Missing...)
	}
	if s.wantsLaden() && !s.ground.sinks(s.imposed) {
		o.Open = append(o.Open, s.ground.noSink...)
		if s.ground.knownSink {
			o.Open = append(o.Open, "the load on the kingpin, for the laden height")
		}
	}
	o.Against = against(s.wants, o.Stack)
	o.Answer = answerOf(o.Open)
	o.At, o.Margin, o.Served = s.place(&o, p)
	for i := range s.windows {
		o.Margin = math.Min(o.Margin, float64(s.heightRoom(&o, &s.windows[i]))/heightScale)
	}
	o.Margin = math.Min(o.Margin, s.strengthRoom(o.Stack))
	if s.aim == AimHeadroom && s.bridge != nil && p != nil {
		o.Headroom = s.bridge(p, o.Stack, o.At)
	}
	return o
}

// finish fills in what only a chosen proposal needs.
func (s *search) finish(o *Proposal) {
	var p *Positions
	if s.places != nil {
		p = s.positionsFor(o.Stack)
	}
	for i := range s.windows {
		w := &s.windows[i]
		h := o.Stack.heightAt(s.chassis, &s.ground, o.At, s.raiseFor(o, w), s.imposed)
		h.Name = w.name
		o.Heights = append(o.Heights, h)
	}
	if len(s.windows) == 0 {
		o.Heights = append(o.Heights, o.Stack.heightAt(s.chassis, &s.ground, o.At, 0, s.imposed))
	}
	if p != nil && s.bridge != nil {
		o.Headroom = s.bridge(p, o.Stack, o.At)
	}
	o.Limits = s.limits(o, p)
}

// raiseFor is the position of the lift that comes nearest to the middle of a
// window.
func (s *search) raiseFor(o *Proposal, w *window) unit.Length {
	h, _ := o.Stack.height(s.chassis)
	at, between := o.Stack.raises()
	best, room := at[0], unit.Length(math.Inf(-1))
	try := func(r unit.Length) {
		if q := s.room(w, h+r, o.At); q > room {
			best, room = r, q
		}
	}
	for _, r := range at {
		try(r)
	}
	if between {
		lo, hi := w.need(&s.ground, Span{o.At, o.At}, s.imposed)
		try(min(max((lo+hi)/2-h, at[0]), at[len(at)-1]))
	}
	return best
}
