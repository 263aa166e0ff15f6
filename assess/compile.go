package assess

import (
	"fmt"
	"math"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// A Combination is what the question is about.
type Combination struct {
	Tractor *vehicle.Tractor
	Trailer *vehicle.SemiTrailer
	Cases   []Case
	Law     *rule.Book
	Day     string // of the journey, "2026-11-25"; decides between rules of different dates; empty is unknown
}

// A form tells how a finding's value follows from the lead.
type form uint8

const (
	straight form = iota // a + b·lead
	corner               // a − √((b + lead)² + y²): distance left by a corner that swings
	circle               // inner radius of the swept ring
)

// A line is a finding as the hot path sees it: how its value follows from the
// lead, and its limit. All in SI.
type line struct {
	form  form
	sense int8 // +1 at most, −1 at least, 0 equal
	a, b  float64
	y     float64
	limit float64 // NaN while unknown
	sure  float64 // beyond this it fails whatever the undeclared facts are
	steps []step  // where the limit steps with the lead; else nil
}

// A step is the limit for leads up to upTo.
type step struct{ upTo, limit, sure float64 }

// A Reading is a finding's value at one lead, in SI.
type Reading struct {
	Value, Limit, Margin float64
	Answer               Verdict
}

// A Verdict on one finding.
type Verdict uint8

// The zero Verdict is Unknown: what nobody measured has not passed.
const (
	Unknown Verdict = iota
	Holds
	Fails
	NotApplied // no limit applies at this lead
)

// An info is what people are told of a finding.
type info struct {
	id, title, note string
	quantity        string
	calc, source    string
	cases           int // index of the load case, −1 for all
	unit            unit.Unit
	evidence        rule.Evidence
	binding         bool
	scale           float64 // what the margin is measured by when margins are compared, SI
	missing         []string
	advisory        bool // the margin plays no part in choosing a position
	working         func(lead float64) string
	failed          string // what a failure means
	axle            int    // axle of the combination counted from 1 where the finding is about one; else 0
	group           string // front, rear or bogie where the finding is about one
}

// A state is the combination in one lift state and at one level.
type state struct {
	tractor *tractorState
	trailer *trailerState
	level   int // index in the tractor's levels, −1 when there are none
	lines   []line
	infos   []info
	loads   []loads // by case
	turn    turnState
}

// A Pairing is a combination made ready for questions.
type Pairing struct {
	Combination
	ref    float64 // drive axle or bogie centre behind the front axle, m
	refOK  bool
	travel interval  // of the lead, m; lo == hi for a fixed coupling
	pitch  float64   // of the slide positions, m; 0 when unknown or fixed
	stops  []float64 // leads at which the slider locks, rising; nil where any place of the travel can be set
	fixed  bool
	now    float64 // lead as set, NaN when not stated
	stated bool    // everything that can be set is stated
	upT    lifts
	upS    lifts
	level  int
	front  []int
	rear   []int
	states map[stateKey]*state
	base   *state // as the vehicles are set
}

type stateKey struct {
	t, s  lifts
	level int
}

// Compile makes a combination ready: it splits the tare, resolves the law for
// the facts of every load case and turns every finding into a line. After it,
// Evaluate allocates nothing.
func Compile(c Combination) *Pairing {
	p := &Pairing{Combination: c, now: nan, level: -1, states: map[stateKey]*state{}}
	t := c.Tractor
	p.front, p.rear = t.Groups()
	p.ref, p.refOK = p.reference()
	w := &t.FifthWheel
	switch {
	case slides(w):
		p.travel = interval{p.ref - float64(*w.Slider.Rearmost), p.ref - float64(*w.Slider.Foremost)}
		p.pitch = value(w.Slider.Pitch)
		if math.IsNaN(p.pitch) {
			p.pitch = 0
		}
		at := w.At
		if at != nil { // a tape's millimetre beside a position is that position
			if stop, _, on := w.Slider.Near(*at); on {
				at = &stop
			}
		}
		p.now = p.ref - value(at)
		all := w.Slider.Positions()
		for k := len(all) - 1; k >= 0 && !math.IsNaN(p.ref); k-- {
			p.stops = append(p.stops, p.ref-float64(all[k]))
		}
	default:
		p.fixed = true
		p.now = p.ref - value(w.At)
		p.travel = interval{p.now, p.now}
	}
	var liftT, liftS bool
	p.upT, liftT = set(t.Axles)
	p.upS, liftS = set(c.Trailer.Axles)
	p.stated = !math.IsNaN(p.now) && liftT && liftS
	for i := range w.Levels {
		if p.level < 0 || w.Levels[i].Set {
			p.level = i
		}
	}
	p.base = p.state(p.upT, p.upS, p.level)
	return p
}

// slides tells whether a fifth wheel can be moved along a travel of which both
// ends are known. A fleet file has both; a caller of the library may leave one
// out, and then it is known only where it stands.
func slides(w *vehicle.FifthWheel) bool {
	return w.Slider != nil && w.Slider.Foremost != nil && w.Slider.Rearmost != nil
}

// reference returns where leads are counted from: the drive axle, or the middle
// of the drive axles.
func (p *Pairing) reference() (float64, bool) {
	sum, n := 0.0, 0
	for i := range p.Tractor.Axles {
		if p.Tractor.Axles[i].Kind == "drive" {
			x, ok := p.Tractor.AxleAt(i)
			if !ok {
				return nan, false
			}
			sum += float64(x)
			n++
		}
	}
	return sum / float64(n), n > 0
}

// LeadDatum names what the lead is counted from.
func (p *Pairing) LeadDatum() string {
	n := 0
	for i := range p.Tractor.Axles {
		if p.Tractor.Axles[i].Kind == "drive" {
			n++
		}
	}
	if n > 1 {
		return "drive bogie centre"
	}
	return "drive axle"
}

// state builds, once, the findings of a lift state and level.
func (p *Pairing) state(t, s lifts, level int) *state {
	key := stateKey{t, s, level}
	if st, ok := p.states[key]; ok {
		return st
	}
	st := &state{tractor: tractorIn(p.Tractor, t), trailer: trailerIn(p.Trailer, s), level: level}
	b := &builder{p: p, st: st}
	for i := range p.Cases {
		st.loads = append(st.loads, loadsOf(st.tractor, st.trailer, p.ref, &p.Cases[i]))
	}
	if len(p.Cases) == 0 { // no mass is looked at and no law asked: nothing passes
		b.add(line{sense: +1, a: nan, limit: nan}, info{id: "load-case", title: "A load to answer for", cases: -1, unit: unit.One, scale: 1, evidence: rule.Derived,
			binding: true, advisory: true, source: "every mass and every limit of law is that of a load case", missing: []string{"a load case"}})
	}
	if b.nothingStands() {
		p.states[key] = st
		return st
	}
	b.masses()
	b.ratings()
	b.lengths()
	b.heights()
	b.clearances()
	b.turning()
	p.states[key] = st
	return st
}

// A builder adds findings to a state.
type builder struct {
	p  *Pairing
	st *state
	of []rule.Facts // what is declared about each load case, made once

	unproven map[*rule.Rule]bool // rules of which it is said already that their limit is not verified
}

// add appends a finding. Values in SI.
func (b *builder) add(l line, i info) {
	if i.scale == 0 {
		i.scale = math.Abs(l.limit)
	}
	if !(i.scale > 0) {
		i.scale = 1
	}
	l.sure = l.limit
	b.st.lines = append(b.st.lines, l)
	b.st.infos = append(b.st.infos, i)
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && (s[1] < 'A' || s[1] > 'Z') && s[1] != '-' {
		return string(s[0]+'a'-'A') + s[1:]
	}
	return s
}

// Units in which findings of plates and mechanics are told.
var (
	inKG = unit.KG
	inMM = unit.MM
)

func fmtKG(v float64) string  { return unit.Format(v, unit.KG, 0) }
func fmtMM(v float64) string  { return unit.Format(v, unit.MM, 0) }
func fmtM(v float64) string   { return unit.Format(v, unit.M, 3) }
func fmtDeg(v float64) string { return unit.Format(v, unit.Deg, 2) }

// unknown returns the names of those values that are not known.
func unknown(who interface{ Called() string }, fields ...any) []string {
	var out []string
	for i := 0; i+1 < len(fields); i += 2 {
		known := true
		switch v := fields[i+1].(type) {
		case *unit.Length:
			known = v != nil
		case *unit.Mass:
			known = v != nil
		case *unit.Force:
			known = v != nil
		case *bool:
			known = v != nil
		case bool:
			known = v
		default:
			panic(fmt.Sprintf("assess: unknown asked about a %T", v))
		}
		if !known {
			out = append(out, missing(who, fields[i].(string)))
		}
	}
	return out
}
