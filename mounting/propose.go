package mounting

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/clearance"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
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
	if s.wantsLaden() && (!s.ground.knownSink || math.IsNaN(float64(s.imposed))) {
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

// heightScale is what a height's room is measured by, as package assess
// measures lengths: 20 mm count as 2 % of a load.
const heightScale = 0.020 / 0.02 // m

// heightRoom is how far the height at the chosen position is from the nearer
// end of a window, lift set best; on a slider over its whole travel.
func (s *search) heightRoom(o *Proposal, w *window) unit.Length {
	h, _ := o.Stack.height(s.chassis)
	at, between := o.Stack.raises()
	least := unit.Length(math.Inf(1))
	places := []unit.Length{o.At, o.At + o.Travel}
	if a, b, _ := s.ground.coefficients(float64(s.imposed)); o.Travel > 0 && a != 0 {
		if top := unit.Length(-b / (2 * a)); o.At < top && top < o.At+o.Travel {
			places = append(places, top)
		}
	}
	for _, x := range places {
		best := unit.Length(math.Inf(-1))
		try := func(r unit.Length) { best = max(best, s.room(w, h+r, x)) }
		for _, r := range at {
			try(r)
		}
		if between {
			lo, hi := w.need(&s.ground, Span{x, x}, s.imposed)
			try(min(max((lo+hi)/2-h, at[0]), at[len(at)-1]))
		}
		least = min(least, best)
	}
	return settled(least)
}

// room is how far a stack's heights at x are inside a window; negative outside.
func (s *search) room(w *window, h, x unit.Length) unit.Length {
	room := unit.Length(math.Inf(1))
	if w.unladen != nil {
		room = min(room, w.tolerance-abs(s.ground.frame(x)+h-*w.unladen))
	}
	if w.laden != nil && s.ground.knownSink && !math.IsNaN(float64(s.imposed)) {
		a, b, c := s.ground.coefficients(float64(s.imposed))
		v := float64(x)
		room = min(room, w.tolerance-abs(unit.Length((a*v+b)*v+c)+h-*w.laden))
	}
	return room
}

// settled takes binary dust off a room.
func settled(l unit.Length) unit.Length {
	if abs(l) < 2*dust {
		return 0
	}
	return l
}

func abs(l unit.Length) unit.Length { return unit.Length(math.Abs(float64(l))) }

// strengthRoom is the least room of D and U over the rated parts, as a share of
// the rating.
func (s *search) strengthRoom(st Stack) float64 {
	room := math.Inf(1)
	for _, p := range st.Parts {
		if p.D != nil && s.asks.d > 0 {
			room = math.Min(room, 1-s.asks.d/float64(*p.D))
		}
		if p.Imposed != nil && s.asks.u > 0 {
			room = math.Min(room, 1-s.asks.u/float64(*p.Imposed))
		}
	}
	return room
}

// place chooses the position: the whole millimetre of the set that serves the
// aim best. A set too narrow to hold one is taken in its middle.
func (s *search) place(o *Proposal, p *Positions) (at unit.Length, margin float64, served []string) {
	if p == nil || len(p.Missing) > 0 {
		return middle(o.Positions), math.Inf(1), nil
	}
	best, count := math.Inf(-1), -1
	try := func(x unit.Length) {
		n := 0
		if s.aim == AimTrailers {
			n = len(p.served(o, x, s))
		}
		m := p.marginOf(o, x)
		if n > count || n == count && m > best+1e-12 {
			at, best, count = x, m, n
		}
	}
	found := false
	for _, span := range o.Positions {
		lo, hi := math.Ceil(float64(span.From)*1e3-1e-6), math.Floor(float64(span.To)*1e3+1e-6)
		for v := lo; v <= hi; v++ {
			found = true
			try(unit.Length(v * 1e-3))
		}
	}
	if !found {
		for _, span := range o.Positions {
			try((span.From + span.To) / 2)
		}
	}
	return at, best, p.served(o, at, s)
}

// middle is the middle of the widest span.
func middle(set Spans) unit.Length {
	best := set[0]
	for _, p := range set[1:] {
		if p.To-p.From > best.To-best.From {
			best = p
		}
	}
	return unit.Length(math.Round(float64(best.From+best.To)/2*1e3) * 1e-3)
}

// marginOf is the least margin of the semi-trailers that must work, each in its
// best slide position.
func (p *Positions) marginOf(o *Proposal, x unit.Length) float64 {
	if o.Travel == 0 {
		return p.marginAt(x)
	}
	least := math.Inf(1)
	for i := range p.Trailers {
		if t := &p.Trailers[i]; !t.Wished {
			best := math.Inf(-1)
			for _, by := range slides(o.Travel, o.Pitch) {
				if t.Spans.Contains(x + by) {
					best = math.Max(best, t.marginWhole(x+by, p.Rear))
				}
			}
			least = math.Min(least, best)
		}
	}
	return least
}

// served lists the wished semi-trailers that work with a stack at a position.
func (p *Positions) served(o *Proposal, x unit.Length, s *search) []string {
	var out []string
	for i := range p.Trailers {
		t := &p.Trailers[i]
		if t.Wished && t.from(o.Travel, o.Pitch).Contains(x) && strong(o.Stack, s.chassis, s.need(t.Trailer.ID)) {
			out = append(out, t.Trailer.ID)
		}
	}
	return out
}

// better orders proposals: what is certain first, then what lacks no wanted
// property, then by the aim; the last resort is the ids.
func (s *search) better(a, b Proposal) int {
	open := func(p *Proposal) int { return btoi(p.Answer != rule.Fits) }
	c := cmp.Or(cmp.Compare(open(&a), open(&b)), cmp.Compare(len(a.Against), len(b.Against)))
	if c != 0 {
		return c
	}
	mass := cmp.Or(cmp.Compare(btoi(!a.Weighed), btoi(!b.Weighed)), cmp.Compare(a.Mass, b.Mass))
	margin := cmp.Compare(rounded(b.Margin), rounded(a.Margin))
	switch s.aim {
	case AimMass:
		c = cmp.Or(mass, margin)
	case AimTrailers:
		c = cmp.Or(cmp.Compare(len(b.Served), len(a.Served)), margin, mass)
	case AimHeadroom:
		c = cmp.Or(cmp.Compare(rounded(float64(b.Headroom)), rounded(float64(a.Headroom))), margin, mass)
	default:
		c = cmp.Or(margin, mass)
	}
	return cmp.Or(c, slices.Compare(a.IDs(), b.IDs()), strings.Compare(a.Base, b.Base))
}

// rounded takes binary dust off a rank, so that equals are equal; NaN is last.
func rounded(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(-1)
	}
	if math.IsInf(v, 0) {
		return v
	}
	return math.Round(v*1e9) / 1e9
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
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

// limits lists what limits a proposal, the tightest first.
func (s *search) limits(o *Proposal, p *Positions) []Limit {
	var out []Limit
	nan := math.NaN()
	for i := range s.windows {
		w := &s.windows[i]
		room := s.heightRoom(o, w)
		if math.IsInf(float64(room), 0) {
			continue
		}
		name := "Coupling height"
		if w.name != "" {
			name += ", " + w.name
		}
		out = append(out, Limit{name, float64(room) / heightScale, fmt.Sprintf("%s: %s of the tolerance of %s left", name, floorMM(room), mm(w.tolerance))})
	}
	for _, q := range o.Stack.Parts {
		if q.D != nil && s.asks.d > 0 {
			spare := float64(*q.D) - s.asks.d
			out = append(out, Limit{"D of " + q.ID, spare / float64(*q.D), fmt.Sprintf("D of %s: %s kN to spare of %s", q.ID, unit.Digits(unit.Floor(spare*1e-3, 1), 1), unit.Format(float64(*q.D), unit.KN, 0))})
		}
		if q.Imposed != nil && s.asks.u > 0 {
			spare := float64(*q.Imposed) - s.asks.u
			out = append(out, Limit{"U of " + q.ID, spare / float64(*q.Imposed), fmt.Sprintf("U of %s: %s kg to spare of %s", q.ID, unit.Digits(unit.Floor(spare, 0), 0), unit.Format(float64(*q.Imposed), unit.KG, 0))})
		}
	}
	if p != nil && len(p.Missing) == 0 {
		if m := p.marginOf(o, o.At); !math.IsInf(m, 0) {
			out = append(out, Limit{"Position", m, fmt.Sprintf("Position: the tightest finding that moves with it has %s %% of its limit to spare", unit.Digits(unit.Floor(m*100, 1), 1))})
		}
	}
	for i, span := range o.Positions {
		if !span.Contains(o.At) {
			continue
		}
		if span.To-span.From > matching {
			out = append(out,
				Limit{"Forwards", nan, fmt.Sprintf("Forwards: %s, then %s", floorMM(o.At-span.From), s.ends(o, p, span.From, false))},
				Limit{"Rearwards", nan, fmt.Sprintf("Rearwards: %s, then %s", floorMM(span.To-o.At), s.ends(o, p, span.To, true))})
			continue
		}
		// A single place, where holes meet: the ones beside it.
		before, after := "none", "none"
		if i > 0 {
			before = Spans{o.Positions[i-1]}.String()
		}
		if i+1 < len(o.Positions) {
			after = Spans{o.Positions[i+1]}.String()
		}
		out = append(out, Limit{"Forwards", nan, "Forwards: next place " + before}, Limit{"Rearwards", nan, "Rearwards: next place " + after})
	}
	slices.SortStableFunc(out, func(a, b Limit) int {
		switch x, y := math.IsNaN(a.Room), math.IsNaN(b.Room); {
		case x || y:
			return btoi(x) - btoi(y)
		}
		return cmp.Compare(a.Room, b.Room)
	})
	return out
}

func floorMM(l unit.Length) string {
	if abs(l) < 2*dust {
		l = 0
	}
	return unit.Digits(unit.Floor(float64(l)*1e3, 1), 1) + "\u00a0mm"
}

// ends words what a span of positions ends at: the law, the height, or the
// holes and zones of the chassis.
func (s *search) ends(o *Proposal, p *Positions, end unit.Length, rearwards bool) string {
	beyond := end - 1e-3
	if rearwards {
		beyond = end + 1e-3
	}
	zone := s.zone
	if beyond < zone.From || beyond+o.Travel > zone.To {
		return "the end of the stretch that was asked about"
	}
	if p != nil && len(p.Missing) == 0 && !p.lawful(o.Travel, o.Pitch).Contains(beyond) {
		for i := range p.Trailers {
			t := &p.Trailers[i]
			if t.Wished || t.from(o.Travel, o.Pitch).Contains(beyond) {
				continue
			}
			for _, by := range slides(o.Travel, o.Pitch) {
				if t.Spans.Contains(end + by) {
					if why := t.limits(end+by, rearwards, p); why != "" {
						return why
					}
				}
			}
			return "what is lawful for " + t.Trailer.ID
		}
	}
	h, _ := o.Stack.height(s.chassis)
	at, between := o.Stack.raises()
	if !whereAll(&s.ground, h, at, between, o.Travel, s.windows, s.imposed).Contains(beyond) {
		return "the tolerance of the coupling height"
	}
	return "the holes and zones of the chassis"
}

// headroom is what is left between the highest point of the semi-trailers that
// must work and the lowest bridge, or the law's height.
func (t *Task) headroom(p *Positions, st Stack, x unit.Length) unit.Length {
	g := groundOf(t.Chassis, p.Datum)
	windows := windowsOf(t.Brief.Heights)
	h, missing := st.height(t.Chassis)
	if len(missing) > 0 || len(g.missing) > 0 {
		return unit.Length(math.NaN())
	}
	least := unit.Length(math.Inf(1))
	for i := range p.Trailers {
		o := &p.Trailers[i]
		if o.Wished {
			continue
		}
		limit := o.heightLimit()
		if t.Brief.Bridge != nil {
			limit = *t.Brief.Bridge
		}
		raises, _ := st.raises()
		r := raises[0]
		if len(windows) > 0 { // the level that this semi-trailer is served at
			s := &search{chassis: t.Chassis, ground: g, windows: windows, imposed: o.Imposed}
			q := Proposal{Stack: st, At: x}
			for k := range o.levels {
				if o.levels[k].spans.Contains(x) && k < len(windows) {
					r = s.raiseFor(&q, &windows[k])
					break
				}
			}
		}
		v := o.Trailer
		line, ok := bogieLine(v)
		if !ok || v.PlateHeight == nil || v.BodyHeight == nil || v.FrontOverhang == nil || v.RearEnd == nil {
			return unit.Length(math.NaN())
		}
		tilt, err := clearance.TrailerTilt(clearance.CoupledTrailer{
			CouplingHeight: g.frame(x) + h + r, TrailerHeight: *v.PlateHeight, PinToBogie: line, BodyHeight: *v.BodyHeight, Front: *v.FrontOverhang, Rear: *v.RearEnd,
		})
		if err != nil {
			return unit.Length(math.NaN())
		}
		least = min(least, limit-tilt.Top())
	}
	if math.IsInf(float64(least), 0) {
		return unit.Length(math.NaN())
	}
	return least
}

// bogieLine is where the semi-trailer's axles carry together.
func bogieLine(s *vehicle.SemiTrailer) (unit.Length, bool) {
	var sum, shares float64
	for i := range s.Axles {
		x, ok := s.AxleAt(i)
		if !ok {
			return 0, false
		}
		sum += float64(x) * s.Share(i)
		shares += s.Share(i)
	}
	return unit.Length(sum / shares), shares > 0
}

// heightLimit is the law's limit on the semi-trailer's height; NaN where there
// is none.
func (o *TrailerPlaces) heightLimit() unit.Length {
	if o.limit == nil {
		o.limit = new(math.NaN())
		cs := &o.levels[0].ends[0][0]
		for _, f := range cs.pairing.At(cs.states[0].setting).Findings {
			if f.Quantity == "height" && f.Binding && !math.IsNaN(f.Limit) {
				if v := f.Unit.ToSI(f.Limit); !(v >= *o.limit) {
					*o.limit = v
				}
			}
		}
	}
	return unit.Length(*o.limit)
}
