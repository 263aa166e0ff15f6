package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// An Aim is what the coupling's position is chosen by, among the lawful ones.
type Aim string

// The aims. The default is the largest least margin.
const (
	AimMargin   Aim = "margin"        // the largest least margin
	AimSteering Aim = "steering-load" // the largest least share on the front axle
	AimShort    Aim = "shortest"      // the shortest combination
	AimGap      Aim = "smallest-gap"  // the smallest gap behind the cab
)

// Aims lists the aims with what each does.
var Aims = []struct {
	Aim  Aim
	Text string
}{
	{AimMargin, "the largest least margin over all findings"},
	{AimSteering, "the largest share on the front axle in the case where it is least"},
	{AimShort, "the shortest combination"},
	{AimGap, "the smallest gap between cab and semi-trailer"},
}

// A Finding is one quantity held against one limit, for people.
type Finding struct {
	rule.Finding
	Varies   bool   // it changes with the load or with the coupling's position
	Group    string // axle group it is about, or empty
	Axle     int    // axle it is about, counted through the combination, or 0
	CaseName string
}

// Loads are the loads of one case in the reported setting.
type Loads struct {
	Case     string
	CaseName string
	Imposed  float64 // kg; NaN unknown
	Groups   []Group
	Axles    []AxleLoad
	Gross    float64
}

// A Group is the load on a group of axles with the lowest limit on it.
type Group struct {
	ID    string
	KG    float64
	Limit float64 // NaN: none known
}

// An AxleLoad is the load on one axle.
type AxleLoad struct {
	Number int // counted through the combination from 1
	Group  string
	X      unit.Length // behind the front axle
	KG     float64
}

// A Conflict is a pair of findings that leave no position between them.
type Conflict struct {
	AtLeast, AtMost string      // what asks for a lead of at least, at most
	Min, Max        unit.Length // what they ask for
	Apart           unit.Length // how far they are apart
}

// A Result is the answer to one question.
type Result struct {
	Answer  rule.Answer
	Setting Setting
	AsSet   bool             // the reported setting is the one the vehicles have
	Stated  bool             // the vehicles' setting is fully stated
	Range   *[2]unit.Length  // lawful leads, over all cases, in the reported lift state
	Ends    [2]string        // what closes the range behind and ahead
	Ranges  [][2]unit.Length // all of them, where the law leaves gaps
	// Possible are the leads that the known findings leave while others are
	// missing and no lead certainly holds: nothing there is lawful yet.
	Possible  [][2]unit.Length
	Travel    [2]unit.Length
	Pitch     unit.Length
	Fixed     bool
	Findings  []Finding // tightest first
	Loads     []Loads
	Cautions  []string
	Missing   []string
	Assumed   []string
	Conflict  *Conflict
	Best      map[Aim]unit.Length // best lead for each aim, where a lawful one exists
	LeadDatum string
	// LeadOnly is the range that the findings which move with the lead leave
	// by themselves, for advice when something else fails too.
	LeadOnly *[2]unit.Length
}

// Assess answers the whole question: as the vehicles are set, else with the
// setting that would do.
func (p *Pairing) Assess(aim Aim) *Result {
	now := p.now
	if p.stated && p.passes(p.base, now) {
		r := p.report(p.base, now, rule.Fits)
		r.AsSet = true
		p.addRange(r, p.base, now)
		p.addBest(r, p.base)
		return r
	}
	if st, lead, ok := p.fewest(aim); ok {
		r := p.report(st, lead, rule.FitsIf)
		p.addRange(r, st, lead)
		p.addBest(r, st)
		return r
	}
	answer := rule.DoesNotFit
	var possible *state
	for _, st := range p.settings() {
		if p.possible(st) {
			answer, possible = rule.CannotTell, st
			break
		}
	}
	st, lead := p.base, now
	if math.IsNaN(lead) {
		if possible != nil {
			st = possible
		}
		lead = p.nearest(st)
	}
	r := p.report(st, lead, answer)
	r.AsSet = !math.IsNaN(now) && st == p.base
	if answer == rule.CannotTell {
		p.addPossible(r, st)
	} else {
		r.Conflict = p.conflict(st)
	}
	r.LeadOnly = p.leadOnly(st)
	return r
}

// Now returns the setting that the vehicles have. Its lead is NaN while the
// position is not stated.
func (p *Pairing) Now() Setting { return p.settingOf(p.base, p.now) }

// Travel returns the leads between which the coupling can be set; both alike
// where it is fixed, NaN where it is not known.
func (p *Pairing) Travel() (rearmost, foremost unit.Length) {
	return unit.Length(p.travel.lo), unit.Length(p.travel.hi)
}

// At reports one setting without looking for another. Its answer is that of
// this setting. A level or lift state that the vehicles do not have is taken as
// the present one.
func (p *Pairing) At(s Setting) *Result {
	st := p.stateOf(s)
	lead := float64(s.Lead)
	answer := rule.CannotTell
	readings := st.evaluate(lead, true, nil)
	all := true
	for i, r := range readings {
		if !st.infos[i].binding || r.Answer == NotApplied {
			continue
		}
		if r.Answer == Fails {
			answer = rule.DoesNotFit
		}
		all = all && r.Answer == Holds
	}
	if all {
		answer = rule.Fits
	}
	r := p.report(st, lead, answer)
	r.AsSet = st == p.base && math.Abs(lead-p.now) < 1e-6
	if p.addRange(r, st, lead); r.Range == nil && answer == rule.CannotTell {
		p.addPossible(r, st)
	}
	p.addBest(r, st)
	r.LeadOnly = p.leadOnly(st)
	if r.Range == nil {
		r.Conflict = p.conflict(st)
	}
	return r
}

// stateOf returns the state with a setting's lift axles and level.
func (p *Pairing) stateOf(s Setting) *state {
	for _, st := range p.settings() {
		level := ""
		if len(p.Tractor.FifthWheel.Levels) > 1 {
			level = p.Tractor.FifthWheel.Levels[st.level].Name
		}
		if level == s.Level && slices.Equal(st.tractor.up.list(), s.TractorLifted) && slices.Equal(st.trailer.up.list(), s.TrailerLifted) {
			return st
		}
	}
	return p.base
}

// A Choice is a lift state and level that the vehicles can be set to.
type Choice struct {
	Setting
	Text string // "all axles are down"
}

// Choices lists the lift states and levels there are, the present one first;
// one entry where nothing can be chosen.
func (p *Pairing) Choices() []Choice {
	var out []Choice
	for _, st := range p.settings() {
		s := p.settingOf(st, p.now)
		c := Choice{s, lifted(s)}
		if s.Level != "" {
			c.Text = s.Level + ", " + c.Text
		}
		out = append(out, c)
	}
	return out
}

func (p *Pairing) settingOf(st *state, lead float64) Setting {
	s := Setting{
		Lead: unit.Length(lead), At: unit.Length(p.ref - lead),
		TractorLifted: st.tractor.up.list(), TrailerLifted: st.trailer.up.list(),
	}
	if st.level >= 0 && len(p.Tractor.FifthWheel.Levels) > 1 {
		s.Level = p.Tractor.FifthWheel.Levels[st.level].Name
	}
	return s
}

// passes tells whether every binding finding holds at a lead.
func (p *Pairing) passes(st *state, lead float64) bool {
	for i, r := range st.evaluate(lead, true, nil) {
		if st.infos[i].binding && r.Answer != Holds && r.Answer != NotApplied {
			return false
		}
	}
	return true
}

// settings lists every lift state and level, the present one first.
func (p *Pairing) settings() []*state {
	levels := []int{p.level}
	for i := range p.Tractor.FifthWheel.Levels {
		if i != p.level {
			levels = append(levels, i)
		}
	}
	all := make([]int, len(p.Trailer.Axles))
	for i := range all {
		all[i] = i
	}
	out := []*state{p.base}
	for _, level := range levels {
		for _, t := range liftStates(p.Tractor.Axles, append(slices.Clone(p.front), p.rear...)) {
			for _, s := range liftStates(p.Trailer.Axles, all) {
				if !p.groupsStand(t) {
					continue
				}
				if st := p.state(t, s, level); st != p.base {
					out = append(out, st)
				}
			}
		}
	}
	return out
}

// groupsStand tells whether each group of the tractor keeps an axle down.
func (p *Pairing) groupsStand(up lifts) bool {
	for _, g := range [][]int{p.front, p.rear} {
		n := 0
		for _, i := range g {
			if !up.has(i) {
				n++
			}
		}
		if n == 0 {
			return false
		}
	}
	return true
}

// choose returns the best lead of a state at which everything certainly holds.
func (p *Pairing) choose(st *state, aim Aim) (float64, bool) {
	if math.IsNaN(p.travel.lo) || math.IsNaN(p.travel.hi) {
		return 0, false
	}
	best, found := nan, false
	var bestScore float64
	lawful := st.lawful(p.travel, false)
	// Behind the reaction line of the rear axles is lawful and cautioned
	// against: only where nothing else is left.
	if ahead := intersect(lawful, []interval{{p.ref - st.tractor.rear.line, math.Inf(1)}}); p.slides(ahead) {
		lawful = ahead
	}
	for _, set := range lawful {
		for _, lead := range p.candidates(st, set, aim) {
			if !p.passes(st, lead) {
				continue
			}
			if score := p.score(st, lead, aim); !found || score > bestScore+1e-12 {
				best, bestScore, found = lead, score, true
			}
		}
	}
	return best, found
}

// candidates returns the slide positions in a range between which the best for
// an aim is found: the ends, and beside the summit of the margins.
func (p *Pairing) candidates(st *state, set interval, aim Aim) []float64 {
	if p.fixed || set.lo == set.hi && p.stops == nil {
		return []float64{set.lo}
	}
	at := set.hi // every other aim is served best by the most forward position
	if aim == AimMargin || aim == AimSteering {
		at = summit(st.margins(aim, p.travel), set.lo, set.hi)
	}
	if p.stops == nil {
		return []float64{at, (set.lo + set.hi) / 2, set.lo, set.hi}
	}
	k, _ := slices.BinarySearch(p.stops, at)
	var out []float64
	for _, lead := range p.stops[max(0, k-2):min(len(p.stops), k+2)] {
		if lead >= set.lo-dust && lead <= set.hi+dust {
			out = append(out, lead)
		}
	}
	return out
}

// margins returns the binding findings that move with the lead as lines in it:
// room as a share of the finding's scale. Those that stay are left out: no position
// betters them.
func (st *state) margins(aim Aim, travel interval) []margin {
	var out []margin
	if aim == AimSteering {
		for c := range st.loads {
			if l := &st.loads[c]; !math.IsNaN(l.front.a) {
				out = append(out, margin{l.front.a / l.tractor, l.front.b / l.tractor})
			}
		}
		return out
	}
	for i := range st.lines {
		l, in := &st.lines[i], &st.infos[i]
		if !in.binding || in.advisory || l.form == circle || !l.moves() {
			continue
		}
		limit := l.limit
		if l.steps != nil {
			limit, _ = l.stepAt(0)
		}
		if math.IsNaN(limit) || math.IsInf(limit, 0) || math.IsNaN(l.a) {
			continue
		}
		s := float64(l.sense) / in.scale
		if l.form == corner { // the chord over the travel, which lies below the curve
			at := func(lead float64) float64 { return (l.a - math.Hypot(l.b+lead, l.y) - limit) / in.scale }
			lo, hi := at(travel.lo), at(travel.hi)
			slope := 0.0
			if travel.hi > travel.lo {
				slope = (hi - lo) / (travel.hi - travel.lo)
			}
			out = append(out, margin{lo - slope*travel.lo, slope})
			continue
		}
		out = append(out, margin{s * (limit - l.a), -s * l.b})
	}
	return out
}

func (p *Pairing) score(st *state, lead float64, aim Aim) float64 {
	switch aim {
	case AimShort, AimGap:
		return lead
	}
	lines := st.margins(aim, p.travel)
	if len(lines) == 0 {
		return 0
	}
	l := lines[lowest(lines, lead)]
	return l.m + l.s*lead
}

// slides tells whether a slide position lies in one of the ranges.
func (p *Pairing) slides(ranges []interval) bool {
	if p.stops == nil || p.fixed {
		return len(ranges) > 0
	}
	for _, set := range ranges {
		if k, _ := slices.BinarySearch(p.stops, set.lo-dust); k < len(p.stops) && p.stops[k] <= set.hi+dust {
			return true
		}
	}
	return false
}

// possible tells whether, for all that is known, some position of a state could
// hold.
func (p *Pairing) possible(st *state) bool {
	travel := p.travel
	if math.IsNaN(travel.lo) || math.IsNaN(travel.hi) {
		travel = interval{math.Inf(-1), math.Inf(1)}
	}
	return p.slides(st.lawful(travel, true))
}

// nearest returns the position of a state that comes nearest to holding: where
// the least margin is largest.
func (p *Pairing) nearest(st *state) float64 {
	if p.travel.empty() || math.IsNaN(p.travel.lo) {
		return nan
	}
	best, score := p.travel.lo, math.Inf(-1)
	for _, lead := range p.candidates(st, p.travel, AimMargin) {
		if s := p.score(st, lead, AimMargin); s > score {
			best, score = lead, s
		}
	}
	return best
}

// addRange gives the ranges in which everything certainly holds and the slider has
// a position; among them the one that the lead is in, else the first.
func (p *Pairing) addRange(r *Result, st *state, lead float64) {
	for _, set := range st.lawful(p.travel, false) {
		if !p.slides([]interval{set}) {
			continue
		}
		pair := [2]unit.Length{unit.Length(set.lo), unit.Length(set.hi)}
		r.Ranges = append(r.Ranges, pair)
		if lead >= set.lo-dust && lead <= set.hi+dust || r.Range == nil {
			r.Range = &pair
			r.Ends = p.ends(st, set)
		}
	}
}

// ends names what closes a range at either end: a finding, or the slider.
func (p *Pairing) ends(st *state, set interval) (names [2]string) {
	if p.fixed {
		return names
	}
	names = [2]string{"the slider's rearmost position", "the slider's foremost position"}
	const near = 2e-5 // m; an end on the exact lap is found by halving
	for i := range st.lines {
		l, in := &st.lines[i], &st.infos[i]
		if !in.binding || !l.moves() {
			continue
		}
		for _, own := range st.allowed(l, p.travel, false) {
			if math.Abs(own.lo-set.lo) < near && own.lo > p.travel.lo+near {
				names[0] = lowerFirst(p.nameOf(in))
			}
			if math.Abs(own.hi-set.hi) < near && own.hi < p.travel.hi-near {
				names[1] = lowerFirst(p.nameOf(in))
			}
		}
	}
	return names
}

// addPossible gives the leads that the known findings leave while others are
// missing.
func (p *Pairing) addPossible(r *Result, st *state) {
	if math.IsNaN(p.travel.lo) || math.IsInf(p.travel.lo, 0) {
		return
	}
	for _, set := range st.lawful(p.travel, true) {
		r.Possible = append(r.Possible, [2]unit.Length{unit.Length(set.lo), unit.Length(set.hi)})
	}
}

func (p *Pairing) addBest(r *Result, st *state) {
	if p.fixed {
		return
	}
	r.Best = map[Aim]unit.Length{}
	for _, a := range Aims {
		if lead, ok := p.choose(st, a.Aim); ok {
			r.Best[a.Aim] = unit.Length(lead)
		}
	}
}

// moves tells whether a finding depends on the lead.
func (l *line) moves() bool { return l.form != straight || l.b != 0 || l.steps != nil }

// leadOnly is the range in which every finding that moves with the lead certainly
// holds.
func (p *Pairing) leadOnly(st *state) *[2]unit.Length {
	if p.fixed || math.IsNaN(p.travel.lo) {
		return nil
	}
	set := []interval{p.travel}
	for i := range st.lines {
		if st.infos[i].binding && st.lines[i].moves() {
			set = intersect(set, st.allowed(&st.lines[i], p.travel, false))
		}
	}
	if len(set) == 0 {
		return nil
	}
	return &[2]unit.Length{unit.Length(set[0].lo), unit.Length(set[0].hi)}
}

// conflict names the two findings whose ranges are farthest apart.
func (p *Pairing) conflict(st *state) *Conflict {
	if math.IsNaN(p.travel.lo) || p.fixed {
		return nil
	}
	c := &Conflict{Min: unit.Length(p.travel.lo), Max: unit.Length(p.travel.hi), AtLeast: "the slider's rearmost position", AtMost: "the slider's foremost position"}
	wide := interval{p.travel.lo - 5, p.travel.hi + 5}
	for i := range st.lines {
		l, in := &st.lines[i], &st.infos[i]
		if !in.binding || !l.moves() || l.form == circle {
			continue
		}
		travel := wide
		if l.steps != nil {
			travel = p.travel
		}
		set := st.allowed(l, travel, true)
		if len(set) == 0 {
			continue
		}
		if lo := unit.Length(set[0].lo); lo > c.Min {
			c.Min, c.AtLeast = lo, p.nameOf(in)
		}
		if hi := unit.Length(set[len(set)-1].hi); hi < c.Max {
			c.Max, c.AtMost = hi, p.nameOf(in)
		}
	}
	if c.Apart = c.Min - c.Max; c.Apart <= 0 {
		return nil
	}
	return c
}

func (p *Pairing) nameOf(in *info) string {
	if in.cases >= 0 && len(p.Cases) > 1 {
		return in.title + " (" + p.Cases[in.cases].Name + ")"
	}
	return in.title
}

// report tells everything about one state at one lead.
func (p *Pairing) report(st *state, lead float64, answer rule.Answer) *Result {
	r := &Result{
		Answer: answer, Stated: p.stated, Fixed: p.fixed, Pitch: unit.Length(p.pitch),
		Travel:    [2]unit.Length{unit.Length(p.travel.lo), unit.Length(p.travel.hi)},
		LeadDatum: p.LeadDatum(),
		Setting:   p.settingOf(st, lead),
	}
	var miss, summaries missings
	behind := false
	limits := map[[2]string]float64{} // lowest limit on a group, by case and group
	for i, reading := range st.evaluate(lead, true, nil) {
		in := &st.infos[i]
		if reading.Answer == NotApplied {
			continue
		}
		f := p.finding(st, i, reading, lead)
		r.Findings = append(r.Findings, f)
		if f.Answer == rule.CannotTell && f.Binding {
			miss.add(f.Missing...)
		}
		if f.Evidence == rule.SecondHand && !math.IsNaN(f.Limit) {
			summaries.add(f.Source)
		}
		if f.Quantity == "lead-behind-axle" && f.Answer == rule.DoesNotFit {
			behind = true
		}
		// The law's own word on a coupling behind the axle is enough.
		if !f.Binding && f.Answer == rule.DoesNotFit && !(behind && f.ID == "caution.lead-behind") {
			text := f.Note
			if text == "" {
				text = "Beyond what is usual."
			}
			r.Cautions = append(r.Cautions, caution(&f)+": "+text)
		}
		if in.binding && in.group != "" && in.axle == 0 && in.cases >= 0 && in.unit.Dim == unit.MassDim && !math.IsNaN(reading.Limit) {
			key := [2]string{p.Cases[in.cases].ID, in.group}
			if have, ok := limits[key]; !ok || reading.Limit < have {
				limits[key] = reading.Limit
			}
		}
	}
	if len(summaries.list) > 0 {
		r.Cautions = append(r.Cautions, "Limits read in a summary and not in the law itself; look into its text before you rely on them: "+strings.Join(summaries.list, "; "))
	}
	p.groupLimitsFromAxles(st, limits)
	r.Missing = miss.list
	slices.SortStableFunc(r.Findings, tighter)
	for c := range p.Cases {
		r.Loads = append(r.Loads, p.loadsReport(st, c, lead, limits))
	}
	facts := rule.Facts{}
	if len(p.Cases) > 0 {
		b := builder{p: p, st: st}
		facts = b.facts(0, nil)
	}
	for _, a := range p.Law.Assumptions(facts) {
		r.Assumed = append(r.Assumed, fmt.Sprintf("%s: %s is taken as %v (%s)", p.Law.Title, a.Fact, a.Value, a.Why))
	}
	if p.Trailer.Corner == nil {
		r.Assumed = append(r.Assumed, "front corners of the semi-trailer are taken as sharp: corner-radius is not given")
	}
	r.Cautions = dedupe(append(p.doubts(), r.Cautions...))
	return r
}

func caution(f *Finding) string {
	if f.CaseName != "" {
		return f.Title + " (" + f.CaseName + ")"
	}
	return f.Title
}

func dedupe(in []string) []string {
	var m missings
	m.add(in...)
	return m.list
}

// groupLimitsFromAxles sets a group's limit from its axles where no limit on
// the group itself is known: the load at which the first axle reaches its own.
func (p *Pairing) groupLimitsFromAxles(st *state, limits map[[2]string]float64) {
	for i := range st.infos {
		in := &st.infos[i]
		l := &st.lines[i]
		if !in.binding || in.axle == 0 || in.cases < 0 || in.unit.Dim != unit.MassDim || math.IsNaN(l.limit) {
			continue
		}
		ld := &st.loads[in.cases]
		g := map[string]*groupState{"front": &st.tractor.front, "rear": &st.tractor.rear, "bogie": &st.trailer.bogie}[in.group]
		spot := ld.at[in.axle-1]
		for k, axle := range g.axles {
			if axle != spot.index || g.share[k] <= 0 {
				continue
			}
			limit := g.sumTare() + (l.limit-g.tare[k])/g.share[k]
			key := [2]string{p.Cases[in.cases].ID, in.group}
			if have, ok := limits[key]; !math.IsNaN(limit) && (!ok || limit < have) {
				limits[key] = limit
			}
		}
	}
}

func (p *Pairing) loadsReport(st *state, c int, lead float64, limits map[[2]string]float64) Loads {
	l := &st.loads[c]
	out := Loads{Case: p.Cases[c].ID, CaseName: p.Cases[c].Name, Imposed: l.imposed, Gross: l.gross}
	at := func(v loadLine) float64 {
		if v.b == 0 {
			return v.a
		}
		return v.at(lead)
	}
	for _, g := range []struct {
		id string
		v  float64
	}{{"front", at(l.front)}, {"rear", at(l.rear)}, {"bogie", l.bogie}} {
		limit, ok := limits[[2]string{p.Cases[c].ID, g.id}]
		if !ok {
			limit = nan
		}
		out.Groups = append(out.Groups, Group{g.id, g.v, limit})
	}
	for n := range l.at {
		x := l.at[n].x
		if l.at[n].trailer {
			x += p.ref - lead
		}
		out.Axles = append(out.Axles, AxleLoad{n + 1, l.at[n].group, unit.Length(x), at(l.axle[n])})
	}
	return out
}

// finding words one reading.
func (p *Pairing) finding(st *state, i int, reading Reading, lead float64) Finding {
	in, l := &st.infos[i], &st.lines[i]
	f := Finding{Group: in.group, Axle: in.axle, Varies: in.cases >= 0 || l.moves()}
	f.ID, f.Title, f.Quantity, f.Calc, f.Source = in.id, in.title, in.quantity, in.calc, in.source
	f.Unit, f.Evidence, f.Binding = in.unit, in.evidence, in.binding
	f.Value, f.Limit, f.Margin = in.unit.From(reading.Value), in.unit.From(reading.Limit), in.unit.From(reading.Margin)
	f.Sense = rule.AtMost
	switch {
	case l.sense < 0:
		f.Sense = rule.AtLeast
	case l.sense == 0:
		f.Sense = Equal
	}
	switch reading.Answer {
	case Holds:
		f.Answer = rule.Fits
	case Fails:
		f.Answer = rule.DoesNotFit
		f.Note = in.failed
	default:
		f.Answer = rule.CannotTell
		f.Missing = in.missing
		if f.Missing == nil {
			f.Missing = []string{"a value: the turn has no answer for these vehicles"}
		}
	}
	if in.cases >= 0 {
		f.Case, f.CaseName = p.Cases[in.cases].ID, p.Cases[in.cases].Name
	}
	if how := st.turn.how(l, lead, reading.Value); how != "" {
		f.Title += ", " + how
	}
	var work []string
	if in.working != nil && !math.IsNaN(reading.Value) {
		work = append(work, in.working(lead))
	}
	if in.note != "" {
		work = append(work, "limit: "+in.note)
	}
	f.Working = strings.Join(work, ". ")
	return f
}

// how names the way in which a value of the turn was found: the steady circle,
// which one lap never goes below, or the lap itself.
func (s *turnState) how(l *line, lead, v float64) string {
	steady := false
	switch {
	case l.form != circle || math.IsNaN(v):
		return ""
	case l.y == ringInner:
		steady = v == s.steady(lead, l.a)
	case l.y == ringWidth:
		steady = v == l.a-s.steady(lead, l.a)
	case l.y == scrubbed:
		steady = true
	}
	if steady {
		return "steady circle"
	}
	return "exact lap"
}

// Equal is the sense of a finding that compares sizes.
const Equal rule.Sense = "equal"

// tighter orders findings: those that fail, then what cannot be told, then by
// how much of the limit is left; binding before what only warns.
func tighter(a, b Finding) int {
	if ra, rb := rank(&a), rank(&b); ra != rb {
		return ra - rb
	}
	sa, sb := a.Spare(), b.Spare()
	switch {
	case sa < sb:
		return -1
	case sa > sb:
		return 1
	}
	return 0
}

func rank(f *Finding) int {
	switch {
	case f.Answer == rule.DoesNotFit && f.Binding:
		return 0
	case f.Answer == rule.CannotTell && f.Binding:
		return 1
	case f.Answer == rule.DoesNotFit:
		return 2
	}
	return 3
}

// Spare is the room left as a share of the limit; a length against nothing is
// measured by half a metre, a mass by ten tonnes. It orders findings of different kinds.
func (f *Finding) Spare() float64 {
	if math.IsNaN(f.Margin) {
		return math.Inf(1)
	}
	scale := math.Abs(f.Limit)
	if scale == 0 {
		scale = f.Unit.From(0.5) // a length
		if f.Unit.Dim == unit.MassDim {
			scale = f.Unit.From(10e3)
		}
	}
	return f.Margin / scale
}

// LeastMargin returns the smallest room, as a share of each finding's scale, of
// the binding findings that move with the lead: what the aim "margin" makes as
// large as it can.
func (p *Pairing) LeastMargin(lead unit.Length) float64 {
	return p.score(p.base, float64(lead), AimMargin)
}
