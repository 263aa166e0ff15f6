package assess

import (
	"fmt"
	"math"
	"slices"

	"underpin/rule"
	"underpin/turning"
	"underpin/unit"
)

// A turnState is what a state needs to know of turning: the outlines and the
// axles that do not steer, in metres.
type turnState struct {
	rearLine float64 // middle of the tractor's rear axles that do not steer, behind the front axle
	ref      float64 // datum of the lead
	front    float64 // foremost point ahead of that line
	rear     float64 // rearmost point behind it
	width    float64
	l2       float64 // kingpin to the middle of the axles that do not steer
	l2Scrub  float64 // kingpin to the axle about which the bogie really turns
	xf, xr   float64
	trailerW float64
	missing  []string

	// The last lap run, so that its several findings share it.
	lastLead, lastOuter float64
	last                turning.LegalResult
	lastErr             error
}

// What a circle finding reads off the lap.
const (
	ringInner = iota
	ringWidth
	swingOut
	scrubbed // inner radius about the equivalent axles, "with bogie scrub"
)

func (s *turnState) input(lead, outer float64, l2 float64) turning.LegalInput {
	return turning.LegalInput{
		Outer:   unit.Length(outer),
		Tractor: turning.Tractor{Front: unit.Length(s.front), Rear: unit.Length(s.rear), Width: unit.Length(s.width)},
		Trailer: turning.Trailer{Lead: unit.Length(s.lead(lead)), PinToBogie: unit.Length(l2), FrontOverhang: unit.Length(s.xf), RearEnd: unit.Length(s.xr), Width: unit.Length(s.trailerW)},
	}
}

// TurnInput returns what the legal circle of a setting is run with on an outer
// circle, and what is missing for it.
func (p *Pairing) TurnInput(s Setting, outer unit.Length) (turning.LegalInput, []string) {
	t := &p.stateOf(s).turn
	miss := append(t.missing[:len(t.missing):len(t.missing)], (&builder{p: p}).positionMissing()...)
	return t.input(float64(s.Lead), float64(outer), t.l2), miss
}

// lead turns a lead from the drive axle into turning's, from the middle of the
// axles that do not steer.
func (s *turnState) lead(lead float64) float64 { return s.rearLine - s.ref + lead }

func (s *turnState) lap(lead, outer float64) (turning.LegalResult, error) {
	if lead != s.lastLead || outer != s.lastOuter {
		s.lastLead, s.lastOuter = lead, outer
		s.last, s.lastErr = turning.LegalCircle(s.input(lead, outer, s.l2))
	}
	return s.last, s.lastErr
}

// steady is the closed form: the least inner radius that an endless turn comes
// to, which one lap never goes below for a coupling ahead of the axle
// (handbook chapter 04, 4.1).
func (s *turnState) steady(lead, outer float64) float64 { return s.steadyAt(lead, outer, s.l2) }

func (s *turnState) steadyAt(lead, outer, l2 float64) float64 {
	e := s.lead(lead)
	rho1 := math.Sqrt(outer*outer-s.front*s.front) - s.width/2
	rho2 := math.Sqrt(rho1*rho1 + e*e - l2*l2) // NaN: no steady state
	if e < 0 {
		return nan // tested only ahead of the axle; the lap decides
	}
	return rho2 - s.trailerW/2
}

// value returns a circle finding's value: the steady circle where that holds
// already, else the lap. line.a is the outer radius, line.y which value.
func (s *turnState) value(l *line, lead, limit float64, exact bool) float64 {
	switch int(l.y) {
	case ringInner:
		if v := s.steady(lead, l.a); v >= limit {
			return v
		}
	case ringWidth:
		if v := l.a - s.steady(lead, l.a); v <= limit && s.insideOuter(lead, l.a) {
			return v
		}
	case scrubbed:
		return s.steadyAt(lead, l.a, s.l2Scrub)
	}
	if !exact {
		return nan
	}
	return s.exact(l, lead)
}

// insideOuter tells whether the semi-trailer's front corner stays inside the
// outer circle in the steady turn, so that the ring's width is outer − inner.
func (s *turnState) insideOuter(lead, outer float64) bool {
	rho2 := s.steady(lead, outer) + s.trailerW/2
	return math.Hypot(rho2+s.trailerW/2, s.l2+s.xf) <= outer && math.Hypot(rho2+s.trailerW/2, s.xr-s.l2) <= outer
}

func (s *turnState) exact(l *line, lead float64) float64 {
	r, err := s.lap(lead, l.a)
	if err != nil {
		return nan
	}
	switch int(l.y) {
	case ringInner:
		return float64(r.Inner)
	case ringWidth:
		return float64(r.Ring)
	}
	return float64(r.SwingOut)
}

// allowed returns the leads at which a circle finding holds. The inner radius
// and the ring grow better with the distance of the coupling from the axle;
// where the steady circle does not decide, the end of the range is found by
// halving on the exact lap.
func (s *turnState) allowed(l *line, travel interval, limit float64) (set []interval, known bool) {
	if len(s.missing) > 0 || math.IsInf(travel.lo, 0) || math.IsInf(travel.hi, 0) || math.IsNaN(travel.lo) {
		return nil, false
	}
	ok := func(lead float64) bool {
		return judge(s.value(l, lead, limit, true), limit, limit, l.sense).Answer == Holds
	}
	return monotone(travel, ok), true
}

// monotone returns where ok holds on a range on which it changes at most once,
// to within a hundredth of a millimetre.
func monotone(travel interval, ok func(float64) bool) []interval {
	lo, hi := ok(travel.lo), ok(travel.hi)
	switch {
	case lo && hi:
		return []interval{travel}
	case !lo && !hi:
		return nil
	}
	good, bad := travel.lo, travel.hi
	if hi {
		good, bad = bad, good
	}
	for math.Abs(good-bad) > 1e-5 {
		if mid := (good + bad) / 2; ok(mid) {
			good = mid
		} else {
			bad = mid
		}
	}
	if lo {
		return []interval{{travel.lo, good}}
	}
	return []interval{{good, travel.hi}}
}

// turning adds the findings on the swept circle.
func (b *builder) turning() {
	p, st := b.p, b.st
	t, s := p.Tractor, p.Trailer
	ts := &st.turn
	var at []float64
	for k, i := range st.tractor.rear.axles {
		if t.Axles[i].Kind != "steer" {
			at = append(at, st.tractor.rear.at[k])
		}
	}
	*ts = turnState{
		rearLine: mean(at), ref: p.ref, width: value(t.Width), l2: unsteered(s, st.trailer.up),
		xf: value(s.FrontOverhang), xr: value(s.RearEnd), trailerW: value(s.Width), lastLead: nan,
	}
	ts.front = ts.rearLine + value(t.FrontOverhang)
	ts.rear = value(t.RearEnd) - ts.rearLine
	miss := append(unknown(t, "front-overhang", t.FrontOverhang, "rear-end", t.RearEnd, "width", t.Width),
		unknown(s, "front-overhang", s.FrontOverhang, "rear-end", s.RearEnd, "width", s.Width)...)
	miss = append(miss, axlesMissing(s)...)
	if math.IsNaN(ts.l2) && len(axlesMissing(s)) == 0 {
		miss = append(miss, missing(s, "an axle that does not steer: all steer, and their turning is not computed"))
	}
	ts.missing = miss
	miss = append(miss[:len(miss):len(miss)], b.positionMissing()...)

	for kind, quantity := range []string{"ring-inner", "ring-width", "swing-out"} {
		b.lawCircle(quantity, kind, miss)
	}
}

func (b *builder) lawCircle(quantity string, kind int, miss []string) {
	b.byCase(quantity, nil, func(c int, limits []rule.Limit) {
		for k := range limits {
			b.circle(&limits[k], c, kind, miss)
		}
		for _, lim := range unverified(limits) {
			b.unprovenRule(lim, info{calc: "legal-circle"})
		}
	})
}

// circle adds the finding of one limit on the swept circle, for one load case or
// for all, −1.
func (b *builder) circle(lim *rule.Limit, c, kind int, miss []string) {
	ts := &b.st.turn
	outer := float64(lim.Rule.OuterRadius)
	i := info{cases: c, missing: miss, calc: "legal-circle", advisory: kind == swingOut}
	i.working = func(lead float64) string {
		how := "one lap, the front outer corner led on " + fmtM(outer)
		if kind != swingOut {
			if v := ts.steady(lead, outer); !math.IsNaN(v) {
				how += fmt.Sprintf("; steady circle: ρ_1 = √(R² − a²) − w/2, inner = √(ρ_1² + e² − L²) − w/2 with a %s, e %s, L %s = %s",
					fmtM(ts.front), fmtM(ts.lead(lead)), fmtM(ts.l2), fmtM(v))
			} else {
				how += "; no steady circle decides: the trailer would fold up or the coupling stands behind the axle"
			}
		}
		if r, err := ts.lap(lead, outer); err == nil {
			how += fmt.Sprintf("; exact lap: inner %s, ring %s, swing-out %s, articulation up to %s", fmtM(float64(r.Inner)), fmtM(float64(r.Ring)), fmtM(float64(r.SwingOut)), fmtDeg(float64(r.ArticulationMax)))
		}
		return how + " (regulatory geometry: middle of the axles)"
	}
	// The value is NaN until everything is known.
	l := line{form: circle, a: outer, y: float64(kind), b: 1}
	if len(miss) > 0 {
		l = line{a: nan}
	}
	b.lawful(lim, l, i)
	if kind == ringInner && len(ts.missing) == 0 && !slices.ContainsFunc(b.st.infos, func(i info) bool { return i.id == bogieScrub }) {
		b.scrub(lim, miss)
	}
}

const bogieScrub = "caution.bogie-scrub"

// scrub adds the inner radius about the axles that the bogies really turn
// about, beside the regulatory value; it warns and decides nothing.
func (b *builder) scrub(lim *rule.Limit, miss []string) {
	ts := &b.st.turn
	var behind []unit.Length
	for k, i := range b.st.trailer.bogie.axles {
		if b.p.Trailer.Axles[i].Steering == "" {
			behind = append(behind, unit.Length(b.st.trailer.bogie.at[k]))
		}
	}
	eq, err := turning.EquivalentAxle(behind)
	if err != nil || len(behind) < 2 {
		return
	}
	outer := float64(lim.Rule.OuterRadius)
	ts.l2Scrub = float64(eq.Equivalent)
	b.add(line{form: circle, sense: -1, a: outer, y: scrubbed, b: 1, limit: lim.SI}, info{
		id: bogieScrub, title: "Inner circle with bogie scrub", cases: -1, unit: lim.Rule.Unit, evidence: rule.Derived, advisory: true,
		calc: "turn-steady", source: "derived: side forces of equal tyres balance about L + T/L; not part of the legal test", missing: miss,
		failed: "The law measures to the middle of the axles; the real bogie cuts in further. Allow for it in tight yards.",
		working: func(lead float64) string {
			return fmt.Sprintf("equivalent axle %s behind the kingpin instead of %s; steady inner radius %s", fmtM(ts.l2Scrub), fmtM(ts.l2), fmtM(ts.steadyAt(lead, outer, ts.l2Scrub)))
		}})
}
