package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// Positions are the places along the frame at which the semi-trailers of a
// brief are lawful, for one imposed-load rating of the mounting.
//
// They hold for the whole tolerance of the wanted height: package assess is
// asked at its lower and its upper end. Every limit that depends on the height
// is either monotone in it or, as the total height, the larger of a rising and
// a falling line; what holds at both ends therefore holds between them.
type Positions struct {
	Datum
	Zone     Span // that was asked about
	Trailers []TrailerPlaces
	Common   Spans // lawful for every semi-trailer that must work
	Missing  []string
	Conflict *Conflict
	Assumed  []string
}

// TrailerPlaces are the positions of one semi-trailer.
type TrailerPlaces struct {
	Trailer *vehicle.SemiTrailer
	Wished  bool
	Spans   Spans
	Answer  rule.Answer // fits where there are positions
	Why     string      // why there is none
	Missing []string
	Imposed unit.Mass // largest on the kingpin over the load cases; NaN unknown
	levels  []levelSet
	limit   *float64        // the law's height, once asked for
	scores  map[int]float64 // margins by whole millimetre
}

// A Conflict is a pair of semi-trailers without a common position.
type Conflict struct {
	First, Second string
	Apart         unit.Length
	Text          string
}

// A levelSet is what one wanted height allows.
type levelSet struct {
	name  string
	ends  [][]caseSet // by end of the tolerance, by group of load cases
	spans Spans
}

// A caseSet is what one group of load cases allows: the whole group where no
// axle lifts, else one case, which has a lift state of its own.
type caseSet struct {
	pairing *assess.Pairing
	states  []stateSet
	spans   Spans
}

// A stateSet is what one lift state allows.
type stateSet struct {
	setting assess.Setting
	spans   Spans
	scorer  *assess.Pairing // set to this state; made when asked for
}

// plenty is a rating that no combination comes near: D is held against the
// parts of a stack by package rating, so that assess need not be asked again
// for each part.
const plenty = 1e9 * unit.Newton

// zone is the stretch of the frame that is asked about.
func (t *Task) zone(d Datum) (Span, []string) {
	z := Span{d.Rear / 2, d.Rearmost}
	var assumed []string
	if c := t.Chassis; c != nil {
		if c.From != nil {
			z.From = *c.From
		}
		if c.To != nil {
			z.To = *c.To
		}
		if c.From == nil || c.To == nil {
			assumed = append(assumed, fmt.Sprintf("the guide's foremost and rearmost place of the coupling are not given for %s: %s to %s behind the front axle was searched", c.ID, showMM(z.From), showMM(z.To)))
		}
	}
	if b := t.Brief; b.From != nil {
		z.From = max(z.From, *b.From)
	}
	if b := t.Brief; b.To != nil {
		z.To = min(z.To, *b.To)
	}
	return z, assumed
}

// NoPlaceError says that the question leaves no place to ask about.
type NoPlaceError struct{ Why string }

func (e *NoPlaceError) Error() string { return e.Why }

// Positions asks package assess for every position at which each semi-trailer
// of the brief is lawful under all its load cases, with a mounting of this
// imposed-load rating. Each lift state has its own range; a load case is served
// where one of them holds.
func (t *Task) Positions(imposed unit.Mass) (*Positions, error) {
	d, ok := datumOf(t.Tractor)
	if !ok {
		return nil, &NoPlaceError{t.Tractor.Called() + ": places of its axles and a drive axle, from which positions are counted"}
	}
	p := &Positions{Datum: d}
	p.Zone, p.Assumed = t.zone(d)
	if !(p.Zone.From <= p.Zone.To) {
		return nil, &NoPlaceError{fmt.Sprintf("no place between %s and %s: what is wanted and what the guide allows do not meet", showMM(p.Zone.From), showMM(p.Zone.To))}
	}
	needs, err := t.needs()
	if err != nil {
		return nil, err
	}
	p.Common = Spans{p.Zone}
	for i := range needs {
		tp, err := t.places(&needs[i], p, imposed)
		if err != nil {
			return nil, err
		}
		p.Trailers = append(p.Trailers, tp)
		if !tp.Wished {
			p.Common = p.Common.and(tp.Spans)
			p.Missing = append(p.Missing, tp.Missing...)
		}
	}
	if !slices.ContainsFunc(needs, func(n Need) bool { return !n.Wished }) {
		p.Missing = append(p.Missing, "brief "+t.Brief.ID+": trailers (the semi-trailers that must work)")
	}
	slices.Sort(p.Missing)
	p.Missing = slices.Compact(p.Missing)
	if len(p.Common) == 0 {
		p.Conflict = p.conflict()
	}
	return p, nil
}

func (t *Task) places(n *Need, p *Positions, imposed unit.Mass) (TrailerPlaces, error) {
	s := n.Trailer
	out := TrailerPlaces{Trailer: s, Wished: n.Wished, Imposed: unit.Mass(math.NaN())}
	cases, err := assess.Cases(t.Fleet, s, t.Brief.Loads...)
	if err != nil {
		return out, err
	}
	groups := [][]assess.Case{cases}
	if liftable(t.Tractor.Axles) || liftable(s.Axles) {
		groups = nil
		for i := range cases {
			groups = append(groups, cases[i:i+1])
		}
	}
	// The load on the kingpin does not depend on the position.
	out.Imposed = t.imposed(s, p, groups, imposed)
	for _, band := range t.bands(p, out.Imposed) {
		ls := levelSet{name: band.name, spans: Spans{p.Zone}}
		for _, level := range band.levels {
			tractor := t.trial(s, p.Zone, imposed, level)
			var end []caseSet
			for _, group := range groups {
				cs := caseSet{pairing: assess.Compile(assess.Combination{Tractor: tractor, Trailer: s, Cases: group, Law: t.Law, Day: t.Day})}
				out.Missing = append(out.Missing, cs.ask(p.Zone, p.Rear)...)
				ls.spans = ls.spans.and(cs.spans)
				end = append(end, cs)
			}
			ls.ends = append(ls.ends, end)
		}
		out.levels = append(out.levels, ls)
		out.Spans = out.Spans.or(ls.spans)
	}
	if len(out.Spans) > 0 {
		out.Answer, out.Missing = rule.Fits, nil
		return out, nil
	}
	slices.Sort(out.Missing)
	out.Missing = slices.Compact(out.Missing)
	out.Answer, out.Why = out.whyNone(p)
	if out.Answer == rule.DoesNotFit {
		out.Missing = nil
	}
	return out, nil
}

// whyNone words why a semi-trailer has no position: the first load case that
// has none, else two whose ranges do not meet.
func (o *TrailerPlaces) whyNone(p *Positions) (rule.Answer, string) {
	answer, why := rule.DoesNotFit, ""
	for l := range o.levels {
		for _, end := range o.levels[l].ends {
			for i := range end {
				if len(end[i].spans) > 0 {
					continue
				}
				pr := end[i].pairing
				r := pr.Assess(assess.AimMargin)
				told := pr.Tell(r, unit.Metric)
				if why == "" {
					why = told.Word + " " + told.Lead
				}
				if r.Answer == rule.CannotTell {
					answer = rule.CannotTell
				}
			}
			for i := range end {
				for k := range i {
					if why == "" && len(end[i].spans.and(end[k].spans)) == 0 {
						why = fmt.Sprintf("The load cases %s and %s have no position in common: %s apart.", caseNames(end[k].pairing.Cases), caseNames(end[i].pairing.Cases), showMM(end[i].spans.apart(end[k].spans)))
					}
				}
			}
		}
		if why == "" && len(o.levels[l].ends) > 1 {
			why = "No position holds over the whole tolerance of the wanted height."
		}
	}
	return answer, why
}

func caseNames(cases []assess.Case) string {
	text := ""
	for i := range cases {
		if i > 0 {
			text += ", "
		}
		text += cases[i].Name
	}
	return text
}

func liftable(axles []vehicle.Axle) bool {
	return slices.ContainsFunc(axles, func(a vehicle.Axle) bool { return a.Liftable })
}

// ask fills in the positions of every lift state.
func (c *caseSet) ask(zone Span, rear unit.Length) (missing []string) {
	middle := rear - (zone.From+zone.To)/2
	for _, choice := range c.pairing.Choices() {
		set := stateSet{setting: choice.Setting}
		set.setting.Lead = middle
		r := c.pairing.At(set.setting)
		if r.Answer == rule.CannotTell {
			// Ranges are then those that are not known to fail. Where some
			// position certainly holds, the answer there has those that do.
			lead, certain := r.Best[assess.AimMargin]
			if !certain {
				missing = append(missing, r.Missing...)
				c.states = append(c.states, set)
				continue
			}
			set.setting.Lead = lead
			r = c.pairing.At(set.setting)
		}
		if r.Answer != rule.CannotTell {
			for _, leads := range r.Ranges {
				set.spans = append(set.spans, Span{rear - leads[1], rear - leads[0]})
			}
			set.spans = tidy(set.spans)
		}
		if len(set.spans) == 0 {
			missing = append(missing, r.Missing...)
		}
		c.states = append(c.states, set)
		c.spans = c.spans.or(set.spans)
	}
	return missing
}

// trial is the tractor with a coupling that may stand anywhere in a zone, rated
// for everything but the imposed load, at one level.
func (t *Task) trial(s *vehicle.SemiTrailer, zone Span, imposed unit.Mass, level *vehicle.Level) *vehicle.Tractor {
	d, yes := plenty, true
	out := *t.Tractor
	old := t.Tractor.FifthWheel
	out.FifthWheel = vehicle.FifthWheel{
		Slider: &vehicle.Slider{Foremost: &zone.From, Rearmost: &zone.To},
		Levels: old.Levels, TiltDepth: old.TiltDepth,
		D: &d, Imposed: &imposed, ReadFrom: "document", Pin: s.Kingpin.Size, Wedge: &yes, Tilting: "pitch",
		Mounting: &vehicle.Rated{D: &d, Imposed: &imposed, ReadFrom: "document"},
	}
	if level != nil {
		out.FifthWheel.Levels = []vehicle.Level{*level}
	}
	return &out
}

// imposed asks for the load on the kingpin, the largest over load cases and
// lift states.
func (t *Task) imposed(s *vehicle.SemiTrailer, p *Positions, groups [][]assess.Case, rated unit.Mass) unit.Mass {
	most := math.Inf(-1)
	for _, group := range groups {
		pr := assess.Compile(assess.Combination{Tractor: t.trial(s, p.Zone, rated, nil), Trailer: s, Cases: group, Law: t.Law, Day: t.Day})
		for _, choice := range pr.Choices() {
			set := choice.Setting
			set.Lead = p.Rear - (p.Zone.From+p.Zone.To)/2
			for _, l := range pr.At(set).Loads {
				most = math.Max(most, l.Imposed) // NaN stays
			}
		}
	}
	if math.IsInf(most, 0) {
		most = math.NaN()
	}
	return unit.Mass(most)
}

// A band is one wanted height at the two ends of its tolerance; a nil level
// leaves the tractor's own.
type band struct {
	name   string
	levels []*vehicle.Level
}

func (t *Task) bands(p *Positions, imposed unit.Mass) []band {
	if len(t.Brief.Heights) == 0 || t.Chassis == nil {
		return []band{{levels: []*vehicle.Level{nil}}}
	}
	g := groundOf(t.Chassis, p.Datum)
	var out []band
	for _, w := range windowsOf(t.Brief.Heights) {
		b := band{name: w.name}
		for _, way := range []unit.Length{-1, 1} {
			level := vehicle.Level{Name: w.name, Set: true}
			least, most := unit.Length(math.NaN()), unit.Length(math.NaN()) // of the sinking
			if g.sinks(imposed) {
				least, most = g.free().less(g.under(imposed)).extremes(p.Zone)
			}
			off := way * w.tolerance
			far := least // gives the highest laden height
			if way < 0 {
				far = most
			}
			switch {
			case w.unladen != nil:
				level.Unladen = new(*w.unladen + off)
			case !math.IsNaN(float64(far)): // laden given: the opposite end of the sinking
				level.Unladen = new(*w.laden + off + least + most - far)
			}
			switch {
			case w.laden != nil:
				level.Laden = new(*w.laden + off)
			case !math.IsNaN(float64(far)):
				level.Laden = new(*w.unladen + off - far)
			}
			if t.Chassis.Raised != nil && level.Unladen != nil {
				level.Raised = new(*level.Unladen + *t.Chassis.Raised)
			}
			b.levels = append(b.levels, &level)
			if w.tolerance == 0 && w.unladen != nil && w.laden != nil {
				break
			}
		}
		out = append(out, b)
	}
	return out
}

// conflict names the two semi-trailers that must work whose positions are
// farthest apart.
func (p *Positions) conflict() *Conflict {
	var c *Conflict
	for i := range p.Trailers {
		a := &p.Trailers[i]
		if a.Wished {
			continue
		}
		if len(a.Spans) == 0 {
			return &Conflict{First: a.Trailer.ID, Apart: unit.Length(math.Inf(1)), Text: fmt.Sprintf("%s has no position by itself. %s", a.Trailer.ID, a.Why)}
		}
		for k := range i {
			b := &p.Trailers[k]
			if b.Wished {
				continue
			}
			if d := a.Spans.apart(b.Spans); d > 0 && (c == nil || d > c.Apart) {
				c = &Conflict{First: b.Trailer.ID, Second: a.Trailer.ID, Apart: d}
			}
		}
	}
	if c == nil { // pairs meet, all together do not
		return &Conflict{Text: "Any two of the semi-trailers have a position in common, all together have none."}
	}
	first, second := p.trailer(c.First), p.trailer(c.Second)
	c.Text = fmt.Sprintf("%s asks for %s behind the front axle, %s for %s: %s apart.", c.First, first.Spans, c.Second, second.Spans, showMM1(c.Apart))
	return c
}

func (p *Positions) trailer(id string) *TrailerPlaces {
	for i := range p.Trailers {
		if p.Trailers[i].Trailer.ID == id {
			return &p.Trailers[i]
		}
	}
	return nil
}

// String words a set in whole millimetres, rounded inwards.
func (s Spans) String() string {
	if len(s) == 0 {
		return "no place"
	}
	const shown = 6
	if len(s) > shown {
		return fmt.Sprintf("%d places from %s to %s", len(s), tenths(s[0].From), tenths(s[len(s)-1].To))
	}
	text := ""
	for i, p := range s {
		if i > 0 {
			text += ", "
		}
		from, to := math.Ceil(assess.Whole(float64(p.From)*1e3)), math.Floor(assess.Whole(float64(p.To)*1e3))
		if from >= to {
			text += tenths(p.From)
			continue
		}
		text += unit.Digits(from, 0) + " to " + unit.Digits(to, 0) + "\u00a0mm"
	}
	return text
}

// tenths writes a place in millimetres, with a tenth where it has one.
func tenths(l unit.Length) string {
	v := assess.Whole(float64(l) * 1e3)
	if v == math.Round(v) {
		return unit.Format(v*1e-3, unit.MM, 0)
	}
	return unit.Format(v*1e-3, unit.MM, 1)
}

// margin is the least margin of one semi-trailer at a position, in shares of
// each limit's scale, with the lift state that serves best; −Inf where it is
// not lawful.
func (o *TrailerPlaces) margin(x unit.Length, rear unit.Length) float64 {
	best := math.Inf(-1)
	for l := range o.levels {
		ls := &o.levels[l]
		if !ls.spans.Contains(x) || len(ls.ends) == 0 {
			continue
		}
		least := math.Inf(1)
		for i := range ls.ends[0] {
			cs := &ls.ends[0][i]
			most := math.Inf(-1)
			for k := range cs.states {
				if st := &cs.states[k]; st.spans.Contains(x) {
					most = math.Max(most, st.score(cs.pairing, rear-x))
				}
			}
			least = math.Min(least, most)
		}
		best = math.Max(best, least)
	}
	return best
}

func (s *stateSet) score(p *assess.Pairing, lead unit.Length) float64 {
	if s.scorer == nil {
		s.scorer = p
		if !sameLifts(p.Now(), s.setting) {
			c := p.Combination
			t, v := *c.Tractor, *c.Trailer
			t.Axles, v.Axles = lifted(t.Axles, s.setting.TractorLifted), lifted(v.Axles, s.setting.TrailerLifted)
			c.Tractor, c.Trailer = &t, &v
			s.scorer = assess.Compile(c)
		}
	}
	return s.scorer.LeastMargin(lead)
}

func sameLifts(a, b assess.Setting) bool {
	return slices.Equal(a.TractorLifted, b.TractorLifted) && slices.Equal(a.TrailerLifted, b.TrailerLifted)
}

// lifted returns axles with the given ones up, counted from 1.
func lifted(axles []vehicle.Axle, up []int) []vehicle.Axle {
	out := slices.Clone(axles)
	for i := range out {
		if out[i].Liftable {
			out[i].Lifted = new(slices.Contains(up, i+1))
		}
	}
	return out
}

// marginWhole is margin, kept for whole millimetres.
func (o *TrailerPlaces) marginWhole(x, rear unit.Length) float64 {
	whole := math.Round(float64(x) * 1e3)
	if math.Abs(float64(x)*1e3-whole) > 1e-6 {
		return o.margin(x, rear)
	}
	if v, ok := o.scores[int(whole)]; ok {
		return v
	}
	v := o.margin(x, rear)
	if o.scores == nil {
		o.scores = map[int]float64{}
	}
	o.scores[int(whole)] = v
	return v
}

// marginAt is the least margin over the semi-trailers that must work, with a
// coupling fixed at x.
func (p *Positions) marginAt(x unit.Length) float64 {
	v := math.Inf(1)
	for i := range p.Trailers {
		if o := &p.Trailers[i]; !o.Wished {
			v = math.Min(v, o.marginWhole(x, p.Rear))
		}
	}
	return v
}

// limits words what stands in the way beyond one end of a semi-trailer's
// positions.
func (o *TrailerPlaces) limits(end unit.Length, rearwards bool, p *Positions) string {
	beyond := end - 1e-3
	if rearwards {
		beyond = end + 1e-3
	}
	if !(p.Zone.From <= beyond && beyond <= p.Zone.To) {
		return ""
	}
	for l := range o.levels {
		for _, cases := range o.levels[l].ends {
			for i := range cases {
				cs := &cases[i]
				if cs.spans.Contains(beyond) {
					continue
				}
				for k := range cs.states {
					if !cs.states[k].spans.Contains(end) {
						continue
					}
					set := cs.states[k].setting
					set.Lead = p.Rear - beyond
					for _, f := range cs.pairing.At(set).Findings {
						if f.Binding && (f.Answer == rule.DoesNotFit || f.Answer == rule.CannotTell) {
							text := f.Title
							if f.CaseName != "" {
								text += " (" + o.Trailer.ID + ", " + f.CaseName + ")"
							} else {
								text += " (" + o.Trailer.ID + ")"
							}
							return text
						}
					}
				}
			}
		}
	}
	return ""
}
