package mounting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
)

// A search goes through every stack of a catalogue.
//
// It is a tree: a base, a part that stands on it, a part on that, up to a fifth
// wheel. A branch is left only when no way up from it can bring the height into
// what some position of the frame and some position of a lift could use: the
// bounds are the least and the greatest sum of heights over all ways up, taken
// without asking whether a kind has occurred, which can only widen them. So
// nothing that reaches is left out.
type search struct {
	chassis *Chassis
	ground  ground
	windows []window
	imposed unit.Mass // largest on the kingpin, for the laden height; NaN unknown
	zone    Span
	needs   []Need
	asks    asks
	rough   bool
	use     *float64
	wants   []Property
	places  func(unit.Mass) (*Positions, error) // nil: positions are not asked for
	aim     string
	bridge  func(*Positions, Stack, unit.Length) unit.Length // height left; nil: not asked

	parts   []*Part
	verdict []verdict
	above   [][]int // by part: what may stand on it
	starts  []start
	least   [][]unit.Length // by parts still to come, by part: the way up, itself included
	most    [][]unit.Length
	joins   [][]joint                // by lower part, by upper
	legal   map[[2]unit.Length]Spans // lawful positions by travel and pitch
	err     error
}

// mostParts is one part of each kind.
const mostParts = len(kinds)

// A start is a part on a base.
type start struct {
	base   string
	part   int
	height unit.Length // of the base
	set    Spans
	open   []string
}

// A verdict is what is known of a part before any stack.
type verdict struct {
	out  string // why it cannot be used; empty: it can
	kind string // of the reason: strength, size, wedge, height
	over float64
	open []string
}

func newSearch(c *Chassis, parts []Part) *search {
	s := &search{chassis: c, legal: map[[2]unit.Length]Spans{}}
	for i := range parts {
		s.parts = append(s.parts, &parts[i])
	}
	return s
}

// judge holds each part against what is asked, by itself.
func (s *search) judge() {
	s.verdict = make([]verdict, len(s.parts))
	for i, p := range s.parts {
		v := &s.verdict[i]
		if p.Height == nil {
			v.out, v.kind = "its height is not entered", "height"
			continue
		}
		if p.Kind == FifthWheel {
			s.judgeWheel(p, v)
		}
		if p.rated() {
			s.judgeRating(p, v)
		}
		if p.Kind == Slider && (p.Travel == nil || p.Pitch == nil) || p.Kind == Lift && p.Stroke == nil {
			v.out, v.kind = "its travel or stroke is not entered", "height"
		}
	}
}

func (s *search) judgeRating(p *Part, v *verdict) {
	need := rating.Need{D: unit.Force(s.asks.d), U: unit.Mass(s.asks.u), Rough: s.rough, RoughUse: s.use}
	// The part alone, with a kingpin and a plate of no concern, so that the
	// answer is this part's.
	same := rating.Part{Kind: rating.FifthWheel, D: p.D, U: p.Imposed, Evidence: evidenceOf(p.ReadFrom), NoPlate: true}
	d := plenty
	r, err := rating.CheckParts([]rating.Part{same, {Kind: rating.Kingpin, D: &d, Evidence: rating.Read}}, need)
	switch {
	case err != nil:
		v.open = append(v.open, p.Called()+": "+err.Error())
	case r.Answer == rating.DoesNotFit:
		v.kind = "strength"
		if p.D != nil && float64(*p.D) < s.asks.d {
			v.out = fmt.Sprintf("D %s where %s is needed", unit.Format(float64(*p.D), unit.KN, 1), unit.Format(s.asks.d, unit.KN, 1))
			v.over = s.asks.d/float64(*p.D) - 1
		}
		if p.Imposed != nil && float64(*p.Imposed) < s.asks.u {
			if v.out != "" {
				v.out += ", "
			}
			v.out += fmt.Sprintf("U %s where %s is needed", unit.Format(float64(*p.Imposed), unit.KG, 0), unit.Format(s.asks.u, unit.KG, 0))
			v.over = math.Max(v.over, s.asks.u/float64(*p.Imposed)-1)
		}
	case r.Answer != rating.Fits:
		why := r.Open
		if why == "" {
			why = r.Warn
		}
		v.open = append(v.open, p.Called()+": "+strings.Replace(why, "of the fifth wheel ", "", 1))
	}
}

func (s *search) judgeWheel(p *Part, v *verdict) {
	jaw := sizeOf(p.Pin)
	for _, pin := range s.asks.sizes {
		found, err := rating.CheckSizes(rating.Fit{Pin: pin, Jaw: jaw}, nil)
		if err != nil || len(found) == 0 {
			continue
		}
		switch found[0].Answer {
		case rating.DoesNotFit:
			v.out, v.kind = fmt.Sprintf("jaw for %d mm where a kingpin of %d mm is pulled", jaw, pin), "size"
		case rating.CannotTell:
			v.open = append(v.open, p.Called()+": pin")
		}
	}
	if s.asks.wedge {
		found, err := rating.CheckWedge(rating.Steered{Approved: p.Wedge}, nil)
		if err == nil && found[0].Answer == rating.DoesNotFit {
			v.out, v.kind = "not approved for a steering wedge", "wedge"
		} else if p.Wedge == nil {
			v.open = append(v.open, p.Called()+": steering-wedge")
		}
	}
}

// index prepares the tree: what may stand on what, and how far up it can go.
func (s *search) index() {
	n := len(s.parts)
	s.above = make([][]int, n)
	byWord := map[string][]int{}
	for i, p := range s.parts {
		for _, w := range p.StandsOn {
			byWord[w] = append(byWord[w], i)
		}
	}
	for i, p := range s.parts {
		if p.Kind == FifthWheel {
			continue
		}
		up := append(slices.Clone(byWord[p.Kind]), byWord[p.ID]...)
		slices.Sort(up)
		up = slices.Compact(up)
		s.above[i] = slices.DeleteFunc(up, func(k int) bool { return k == i || s.parts[k].Kind == p.Kind })
	}
	s.starts = nil
	for _, base := range bases {
		if !s.chassis.has(base) {
			continue
		}
		h, missing := s.chassis.baseHeight(base)
		if len(missing) > 0 {
			continue
		}
		for _, i := range byWord[base] {
			st := start{base: base, part: i, height: h}
			st.set, st.open = s.chassis.placements(base, s.parts[i])
			if len(st.set) > 0 {
				s.starts = append(s.starts, st)
			}
		}
	}
}

// bounds computes how far up the ways from each part lead, over the parts that
// may be used.
func (s *search) bounds(usable func(int) bool) {
	n := len(s.parts)
	inf := unit.Length(math.Inf(1))
	s.least, s.most = make([][]unit.Length, mostParts+1), make([][]unit.Length, mostParts+1)
	for d := range s.least {
		s.least[d], s.most[d] = make([]unit.Length, n), make([]unit.Length, n)
		for i, p := range s.parts {
			lo, hi := inf, -inf
			switch {
			case d == 0 || !usable(i) || p.Height == nil:
			case p.Kind == FifthWheel:
				lo, hi = *p.Height, *p.Height
			default:
				for _, k := range s.above[i] {
					lo, hi = min(lo, s.least[d-1][k]), max(hi, s.most[d-1][k])
				}
				lo, hi = lo+*p.Height, hi+*p.Height
				if p.Kind == Lift && p.Stroke != nil {
					hi += *p.Stroke
				}
			}
			s.least[d][i], s.most[d][i] = lo, hi
		}
	}
}

// A branch is a stack on the way up.
type branch struct {
	start   *start
	parts   []int
	kinds   [mostParts]bool
	height  unit.Length   // over the frame's top, lifts lowest
	stroke  unit.Length   // of a lift among them
	offsets []unit.Length // of the coupling's middle from the lowest part's
}

func kindIndex(kind string) int { return slices.Index(kinds[:], kind) }

// walk visits every stack that stands, of usable parts, whose height can come
// within reach: tooFar tells of a range of heights over the frame's top whether
// none of them is of use.
func (s *search) walk(usable func(int) bool, tooFar func(lo, hi unit.Length) bool, visit func(*branch)) {
	s.bounds(usable)
	var up func(b *branch, i int)
	up = func(b *branch, i int) {
		p := s.parts[i]
		left := mostParts - len(b.parts)
		if left < 1 || !usable(i) || !(s.least[left][i] <= s.most[left][i]) {
			return
		}
		if tooFar(b.height+s.least[left][i], b.height+b.stroke+s.most[left][i]) {
			return
		}
		k := kindIndex(p.Kind)
		if b.kinds[k] {
			return
		}
		next := branch{start: b.start, parts: append(b.parts, i), kinds: b.kinds, height: b.height + *p.Height, stroke: b.stroke, offsets: b.offsets}
		next.kinds[k] = true
		if len(b.parts) > 0 {
			if next.offsets = s.join(b.offsets, b.parts[len(b.parts)-1], i); len(next.offsets) == 0 {
				return
			}
		}
		switch p.Kind {
		case FifthWheel:
			visit(&next)
			return
		case Lift:
			next.stroke += *p.Stroke
		case Slider:
			fore, _, _ := p.carriage()
			next.offsets = moved(next.offsets, fore)
		}
		for _, k := range s.above[i] {
			up(&next, k)
		}
	}
	for i := range s.starts {
		st := &s.starts[i]
		b := branch{start: st, parts: make([]int, 0, mostParts), height: st.height, offsets: []unit.Length{0}}
		up(&b, st.part)
	}
}

func moved(offsets []unit.Length, by unit.Length) []unit.Length {
	out := make([]unit.Length, len(offsets))
	for i := range offsets {
		out[i] = offsets[i] + by
	}
	return out
}

// A joint is how far an upper part may be moved so that its holes meet those of
// a lower one.
type joint struct {
	by    []unit.Length
	known bool
}

// join adds the places in which one part's holes meet those of the part below.
func (s *search) join(offsets []unit.Length, below, i int) []unit.Length {
	if s.joins == nil {
		s.joins = make([][]joint, len(s.parts))
	}
	if s.joins[below] == nil {
		s.joins[below] = make([]joint, len(s.parts))
	}
	j := &s.joins[below][i]
	if !j.known {
		j.known = true
		foot, top := s.parts[i].Foot.Places(), s.parts[below].Top.Places()
		j.by = []unit.Length{0} // one of them is not known: see opens
		if len(foot) > 0 && len(top) > 0 {
			j.by = shifts(foot, top)
		}
	}
	if len(j.by) == 1 && j.by[0] == 0 {
		return offsets
	}
	if len(offsets) == 1 && offsets[0] == 0 {
		return j.by
	}
	out := make([]unit.Length, 0, len(offsets)*len(j.by))
	for _, o := range offsets {
		for _, d := range j.by {
			out = append(out, o+d)
		}
	}
	slices.Sort(out)
	return slices.CompactFunc(out, near)
}

// stack turns a branch into a stack.
func (s *search) stack(b *branch) Stack {
	st := Stack{Base: b.start.base}
	for _, i := range b.parts {
		st.Parts = append(st.Parts, s.parts[i])
	}
	return st
}

// opens lists what is not known of a stack that stands.
func (s *search) opens(b *branch) []string {
	open := slices.Clone(b.start.open)
	for k, i := range b.parts {
		open = append(open, s.verdict[i].open...)
		if k == 0 {
			continue
		}
		if q := s.parts[b.parts[k-1]]; len(q.Top.Places()) == 0 {
			open = append(open, q.Called()+": top holes")
		}
		if len(s.parts[i].Foot.Places()) == 0 {
			open = append(open, s.parts[i].Called()+": foot holes")
		}
	}
	if st := s.stack(b); st.direct() && (s.chassis.Direct == nil || !*s.chassis.Direct) {
		open = append(open, s.chassis.Called()+": whether the guide permits a fifth wheel without a mounting plate (without-plate)")
	}
	slices.Sort(open)
	return slices.Compact(open)
}

// direct tells whether the fifth wheel stands on the chassis without a rated
// part between.
func (s Stack) direct() bool {
	for _, p := range s.Parts {
		if p.Kind != FifthWheel && p.rated() {
			return false
		}
	}
	return true
}

// reach is where a branch's coupling may stand for its holes and zones, over a
// slider's travel inside the zone asked for.
func (s *search) reach(b *branch) (set Spans, travel, pitch unit.Length) {
	for _, i := range b.parts {
		if s.parts[i].Kind == Slider {
			_, travel, pitch = s.parts[i].carriage()
		}
	}
	return s.onHoles(b).and(Spans{s.zone}.erode(travel)), travel, pitch
}

// onHoles is where a branch's coupling may stand for its holes and zones alone.
func (s *search) onHoles(b *branch) (set Spans) {
	for _, o := range b.offsets {
		set = append(set, b.start.set.shift(o)...)
	}
	return tidy(set)
}

// reachOf asks where a branch reaches the wanted heights.
func (s *search) reachOf(b *branch, travel unit.Length) *reach {
	at, between := s.stack(b).raises()
	return &reach{&s.ground, s.windows, s.imposed, b.height, at, between, travel}
}

// heights is where a branch reaches every wanted height.
func (s *search) heights(b *branch, travel unit.Length) Spans {
	return s.reachOf(b, travel).where()
}

// lawful is where every semi-trailer that must work is lawful: with a slider,
// from where each finds a slide position.
func (p *Positions) lawful(travel, pitch unit.Length) Spans {
	if travel == 0 {
		return p.Common
	}
	set := Spans{p.Zone}
	for i := range p.Trailers {
		if o := &p.Trailers[i]; !o.Wished {
			set = set.and(o.from(travel, pitch))
		}
	}
	return set
}

// from is where the foremost slide position may stand so that one of the slide
// positions is lawful for this semi-trailer.
func (o *TrailerPlaces) from(travel, pitch unit.Length) Spans {
	var set Spans
	for _, by := range slides(travel, pitch) {
		set = append(set, o.Spans.shift(-by)...)
	}
	return tidy(set)
}

// slides are the slide positions behind the foremost.
func slides(travel, pitch unit.Length) []unit.Length {
	out := []unit.Length{0}
	if travel == 0 || !(pitch > 0) {
		return out
	}
	for k := 1; unit.Length(k)*pitch <= travel+dust; k++ {
		out = append(out, unit.Length(k)*pitch)
	}
	return out
}

// usable are the parts that nothing speaks against.
func (s *search) usable(i int) bool { return s.verdict[i].out == "" }

// tooFar tells whether no height of a range can reach some window.
func (s *search) tooFar() func(lo, hi unit.Length) bool {
	type need struct{ lo, hi unit.Length }
	var needs []need
	for i := range s.windows {
		lo, hi := s.windows[i].need(&s.ground, s.zone, s.imposed)
		needs = append(needs, need{lo, hi})
	}
	return func(lo, hi unit.Length) bool {
		for _, n := range needs {
			if hi < n.lo || lo > n.hi {
				return true
			}
		}
		return false
	}
}

// positionsFor are the positions for a stack's imposed-load rating.
func (s *search) positionsFor(st Stack) *Positions {
	u := st.leastImposed()
	if math.IsInf(float64(u), 1) {
		u = unit.Mass(s.asks.u)
	}
	p, err := s.places(u)
	if err != nil && s.err == nil {
		s.err = err
	}
	return p
}

// all visits every stack of usable parts that reaches the wanted heights
// somewhere lawful.
func (s *search) all(visit func(b *branch, set Spans, travel, pitch unit.Length, p *Positions)) {
	s.walk(s.usable, s.tooFar(), func(b *branch) {
		set, travel, pitch := s.reach(b)
		if len(set) == 0 {
			return
		}
		if set = set.and(s.heights(b, travel)); len(set) == 0 {
			return
		}
		var p *Positions
		if s.places != nil {
			if p = s.positionsFor(s.stack(b)); p == nil {
				return
			}
			if len(p.Missing) == 0 {
				if set = set.and(p.lawful(travel, pitch)); len(set) == 0 {
					return
				}
			}
		}
		visit(b, set, travel, pitch, p)
	})
}

// answerOf is fits for a stack of which everything is known.
func answerOf(open []string) rule.Answer {
	if len(open) > 0 {
		return rule.CannotTell
	}
	return rule.Fits
}
