package mounting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/assess"
	"underpin/bolting"
	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// A Request is what a specification is made of.
type Request struct {
	Task
	File    *File
	Fitting *Fitting
	Title   Title
}

// Specify makes the sheet for a chosen mounting. It is a draft; Approve makes
// it more. An error is only for a fitting that cannot be read as one: everything
// that does not hold, or is not known, stands on the sheet.
func Specify(r *Request) (*Specification, error) {
	if r.Chassis == nil {
		return nil, &NoPlaceError{"a chassis for " + r.Tractor.Called()}
	}
	d, ok := datumOf(r.Tractor)
	if !ok {
		return nil, &NoPlaceError{r.Tractor.Called() + ": places of its axles and a drive axle, from which positions are counted"}
	}
	stack, err := r.File.Stack(r.Fitting)
	if err != nil {
		return nil, err
	}
	if err := stack.Check(r.Chassis); err != nil {
		return nil, err
	}
	needs, err := r.needs()
	if err != nil {
		return nil, err
	}
	properties, err := r.Choose()
	if err != nil {
		return nil, err
	}
	b := &sheet{Request: r, datum: d, stack: stack, needs: needs, asks: r.asksOf(needs), ground: groundOf(r.Chassis, d)}
	b.spec = &Specification{Form: Form, Title: r.Title, Release: Release{State: Draft, Warnings: []string{}}, Properties: properties,
		Cautions: cautions, Evidence: marks, Signatures: signatures, Others: []OtherRow{}}
	b.spec.Title.Fitting, b.spec.Title.Brief = r.Fitting.ID, r.Brief.ID
	b.heading()
	if err := b.position(); err != nil {
		return nil, err
	}
	b.parts()
	b.heights()
	b.pairs()
	b.mounting()
	b.joints()
	b.again()
	b.close()
	return b.spec, nil
}

// A sheet is a specification in the making.
type sheet struct {
	*Request
	spec    *Specification
	datum   Datum
	stack   Stack
	needs   []Need
	asks    asks
	ground  ground
	places  *Positions
	middles []unit.Length
	at      unit.Length // NaN while not entered
	travel  unit.Length
	pitch   unit.Length
	meets   bool // the holes meet at this position
	open    []string
	imposed unit.Mass
	levels  []vehicle.Level
	found   []rule.Finding
	highest unit.Length // the lift's highest position that is used
}

func (b *sheet) heading() {
	s := b.spec
	s.Law = LawRow{Name: b.Law.Name, Title: b.Law.Title, Text: b.Law.TextDate, Digest: b.Law.Digest, Day: b.Day}
	s.Tractor = VehicleRow{b.Tractor.ID, b.Tractor.Title(), b.Tractor.Note}
	for i := range b.needs {
		t := b.needs[i].Trailer
		s.Trailers = append(s.Trailers, VehicleRow{t.ID, t.Title(), t.Note})
	}
	if s.Trailers == nil {
		s.Trailers = []VehicleRow{}
	}
	s.Chassis = ChassisRow{b.Chassis.ID, b.Chassis.Name, b.Chassis.Guide, b.stack.Base}
}

// position finds where the coupling and each part stand, and where it would be
// lawful.
func (b *sheet) position() error {
	b.at = unit.Length(math.NaN())
	if b.Fitting.At != nil {
		b.at = *b.Fitting.At
	}
	if sl := b.stack.part(Slider); sl != nil {
		_, b.travel, b.pitch = sl.carriage()
	}
	b.middles, b.open, b.meets = b.stack.resolve(b.Chassis, b.at)
	u := b.stack.leastImposed()
	if math.IsInf(float64(u), 1) {
		u = unit.Mass(b.asks.u)
	}
	var err error
	if b.places, err = b.Positions(u); err != nil {
		return err
	}
	b.imposed = b.places.imposed()
	s := b.spec
	s.Position = PositionRow{Datum: b.datum.LeadDatum, Travel: int(math.Round(float64(b.travel) * 1e3)), Pitch: int(math.Round(float64(b.pitch) * 1e3)), Lawful: [][2]int{}, Limits: []string{}}
	s.Position.At, s.Position.Lead = wholeMM(b.at), wholeMM(b.datum.Rear-b.at)
	s.Position.Tolerance = wholeMMOf(b.Fitting.Tolerance)
	for _, p := range b.places.lawful(b.travel, b.pitch) {
		from, to := int(math.Ceil(assess.Whole(float64(p.From)*1e3))), int(math.Floor(assess.Whole(float64(p.To)*1e3)))
		if from <= to {
			s.Position.Lawful = append(s.Position.Lawful, [2]int{from, to})
		}
	}
	return nil
}

func (b *sheet) parts() {
	s := b.spec
	mass, known := b.stack.Mass()
	if known {
		s.Mass = floorUp(mass)
	}
	for i, p := range b.stack.Parts {
		row := PartRow{ID: p.ID, Name: p.Title(), Note: p.Note, Kind: p.Kind, Height: wholeMMOf(p.Height), ReadFrom: p.ReadFrom, Approval: p.Approval,
			Middle: wholeMM(b.middles[i]), Foot: placeRows(p.Foot.Places())}
		if p.Mass != nil {
			row.Mass = floorUp(*p.Mass)
		}
		if p.D != nil {
			row.D = number(p.D.Kilonewtons())
		}
		if p.Imposed != nil {
			row.U = floorInt(p.Imposed.Kilograms())
		}
		if p.Foot != nil {
			row.FootFrom = p.Foot.From
		}
		s.Parts = append(s.Parts, row)
	}
}

// floorUp is a mass in whole kilograms, rounded to the nearest.
func floorUp(m unit.Mass) *int { return new(int(math.Round(m.Kilograms()))) }

func placeRows(places []Place) []PlaceRow {
	out := []PlaceRow{}
	for _, p := range places {
		out = append(out, PlaceRow{p.Number, clean(p.X.Millimetres()), clean(p.Y.Millimetres()), clean(p.D.Millimetres())})
	}
	return out
}

// clean takes binary dust off a number of millimetres as entered.
func clean(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// heights computes the coupling height at the position, for each wanted one.
func (b *sheet) heights() {
	s := b.spec
	s.Heights = []HeightRow{}
	search := &search{chassis: b.Chassis, ground: b.ground, windows: windowsOf(b.Brief.Heights), imposed: b.imposed}
	o := Proposal{Stack: b.stack, At: b.at, Travel: b.travel}
	add := func(w *Wanted, raise unit.Length) {
		h := b.stack.heightAt(b.Chassis, &b.ground, b.at, raise, b.imposed)
		row := HeightRow{Raise: int(math.Round(float64(raise) * 1e3)), Working: h.Working}
		level := vehicle.Level{Set: len(b.levels) == 0, Unladen: known(h.Unladen), Laden: known(h.Laden), Raised: known(h.Raised)}
		if w != nil {
			row.Name, level.Name = w.Name, w.Name
			row.Wanted, row.WantedLow, row.Tolerance = wholeMMOf(w.Unladen), wholeMMOf(w.Laden), wholeMMOf(w.Tolerance)
		}
		row.Unladen, row.Laden, row.Raised = wholeMMOf(level.Unladen), wholeMMOf(level.Laden), wholeMMOf(level.Raised)
		s.Heights = append(s.Heights, row)
		b.levels = append(b.levels, level)
		b.highest = max(b.highest, raise)
	}
	for i := range b.Brief.Heights {
		w := &b.Brief.Heights[i]
		add(w, search.raiseFor(&o, &search.windows[i]))
		b.heightFindings(w, search, &search.windows[i], &o)
	}
	if len(b.Brief.Heights) == 0 {
		add(nil, 0)
	}
}

func known(l *unit.Length) *unit.Length {
	if l == nil || math.IsNaN(float64(*l)) {
		return nil
	}
	return l
}

func (b *sheet) heightFindings(w *Wanted, s *search, win *window, o *Proposal) {
	name := "Coupling height"
	if w.Name != "" {
		name += ", " + w.Name
	}
	for _, k := range []struct {
		how  string
		want *unit.Length
		miss []string
	}{{"unladen", w.Unladen, b.ground.missing}, {"laden", w.Laden, append(slices.Clone(b.ground.missing), b.ground.noSink...)}} {
		if k.want == nil {
			continue
		}
		one := window{name: win.name, tolerance: win.tolerance}
		if k.how == "unladen" {
			one.unladen = k.want
		} else {
			one.laden = k.want
		}
		off := math.NaN()
		if room := float64(s.heightRoom(o, &one)); !math.IsInf(room, 0) && len(k.miss) == 0 && !math.IsNaN(float64(b.imposed)) {
			off = float64(win.tolerance) - room
		}
		row := &b.spec.Heights[len(b.spec.Heights)-1]
		miss := slices.Clone(k.miss)
		if b.Fitting.At == nil {
			miss = append(miss, "fitting "+b.Fitting.ID+": at")
		}
		if k.how == "laden" && math.IsNaN(float64(b.imposed)) {
			miss = append(miss, "the load on the kingpin, for the laden height")
		}
		b.found = append(b.found, hold(rule.Finding{ID: "height." + k.how + slugged(w.Name), Title: name + ", " + k.how + ": away from what is wanted", Sense: rule.AtMost, Unit: unit.MM,
			Evidence: rule.Derived, Calc: "coupling-height", Source: "plane geometry: sum of the stack, rigid frame on two axles",
			Working: fmt.Sprintf("wanted %s ± %s; %s", showMM(*k.want), mm(win.tolerance), row.Working), Note: "The stack misses the height: take another plate or pedestal."},
			off, float64(win.tolerance), miss...))
	}
}

func slugged(name string) string {
	out := ""
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			out += string(r)
		case !strings.HasSuffix(out, "-"):
			out += "-"
		}
	}
	if out = strings.Trim(out, "-"); out != "" {
		return "." + out
	}
	return ""
}

// fitted is the tractor with this mounting on it, as planned.
func (b *sheet) fitted() *vehicle.Tractor {
	return fittedWith(b.Tractor, b.Chassis, b.stack, b.Fitting, b.levels)
}

// fittedWith puts a stack on a tractor: position, heights, ratings and
// properties of the fifth wheel, and the least ratings of what it stands on.
func fittedWith(t *vehicle.Tractor, c *Chassis, st Stack, g *Fitting, levels []vehicle.Level) *vehicle.Tractor {
	out := *t
	w := st.Wheel()
	f := vehicle.FifthWheel{Levels: levels, D: w.D, Imposed: w.Imposed, ReadFrom: readFrom(w.ReadFrom), Pin: w.Pin,
		Wedge: w.Wedge, Tilting: w.Tilting, RollLocked: w.RollLock, TiltDepth: w.TiltDepth}
	if g.At != nil {
		at := *g.At
		if sl := st.part(Slider); sl != nil { // where it is set is each trip's to say
			_, travel, pitch := sl.carriage()
			rear := at + travel
			f.Slider = &vehicle.Slider{Foremost: &at, Rearmost: &rear, Pitch: &pitch}
		} else {
			f.At = &at
		}
	}
	if levels == nil {
		f.Levels = t.FifthWheel.Levels
	}
	var m *vehicle.Rated
	for _, p := range st.Parts {
		if p.Kind == FifthWheel || !p.rated() {
			continue
		}
		if m == nil {
			m = &vehicle.Rated{D: p.D, Imposed: p.Imposed, ReadFrom: readFrom(p.ReadFrom)}
			continue
		}
		m.D, m.Imposed = lesser(m.D, p.D), lesser(m.Imposed, p.Imposed)
		if !evidenceOf(p.ReadFrom).Certifies() {
			m.ReadFrom = "memory"
		}
	}
	if m == nil && c.Direct != nil && *c.Direct {
		m = &vehicle.Rated{D: w.D, Imposed: w.Imposed, ReadFrom: readFrom(w.ReadFrom)}
	}
	f.Mounting = m
	out.FifthWheel = f
	return &out
}

func readFrom(s string) string {
	if s == "unknown" {
		return ""
	}
	return s
}

// lesser is the smaller of two ratings; unknown while one is.
func lesser[Q ~float64](a, b *Q) *Q {
	if a == nil || b == nil {
		return nil
	}
	if *b < *a {
		return b
	}
	return a
}

// pairs asks for every semi-trailer under every load case.
func (b *sheet) pairs() {
	s := b.spec
	s.Pairs = []PairRow{}
	tractor := b.fitted()
	for i := range b.needs {
		n := &b.needs[i]
		cases, err := assess.Cases(b.Fleet, n.Trailer, b.Brief.Loads...)
		if err != nil {
			continue // Positions has reported it
		}
		for c := range cases {
			p := assess.Compile(assess.Combination{Tractor: tractor, Trailer: n.Trailer, Cases: cases[c : c+1], Law: b.Law, Day: b.Day})
			row := pairRow(p, p.Assess(assess.AimMargin), n)
			s.Pairs = append(s.Pairs, row)
		}
	}
}

// pairRow puts an answer of package assess on the sheet. A wished semi-trailer
// decides nothing.
func pairRow(p *assess.Pairing, r *assess.Result, n *Need) PairRow {
	told := p.Tell(r, unit.Metric)
	row := PairRow{Trailer: n.Trailer.ID, Wished: n.Wished, Case: p.Cases[0].ID, CaseName: p.Cases[0].Name, Answer: string(r.Answer), Told: strings.TrimSpace(told.Word + " " + told.Lead),
		Setting: SettingRow{wholeMM(r.Setting.Lead), wholeMM(r.Setting.At), r.Setting.Level, ints(r.Setting.TractorLifted), ints(r.Setting.TrailerLifted)},
		Loads:   []GroupRow{}, Findings: pairRows(r.Findings), Cautions: list(r.Cautions)}
	for _, l := range r.Loads {
		row.Imposed, row.Gross = nearestKG(l.Imposed), nearestKG(l.Gross)
		for _, g := range l.Groups {
			row.Loads = append(row.Loads, GroupRow{g.ID, nearestKG(g.KG), floorInt(g.Limit)})
		}
	}
	if n.Wished {
		for i := range row.Findings {
			row.Findings[i].Binding = false
		}
	}
	return row
}

func ints(v []int) []int {
	if v == nil {
		return []int{}
	}
	return v
}

func nearestKG(v float64) *int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return new(int(math.Round(v)))
}

// mounting adds the findings on the stack itself.
func (b *sheet) mounting() {
	b.guide()
	b.holes()
	b.lawfulPlace()
	b.strength()
	m := b.mounted()
	if f, ok := m.gap(); ok {
		b.found = append(b.found, f)
	}
}

// guide: without the chassis maker's guide nothing is approved.
func (b *sheet) guide() {
	f := rule.Finding{ID: "guide", Title: "Chassis maker's guide at hand", Sense: rule.AtLeast, Unit: unit.One, Evidence: rule.Read, Source: guides, Working: "1 means consulted: " + b.Chassis.Guide}
	v := 1.0
	if b.Chassis.Guide == "" {
		v, f.Working = math.NaN(), ""
	}
	b.found = append(b.found, hold(f, v, 1, b.Chassis.Called()+": guide (title, number and date of the body-builder guide)"))
	if b.stack.direct() {
		f := rule.Finding{ID: "direct", Title: "Fifth wheel without a mounting plate permitted", Sense: rule.AtLeast, Unit: unit.One, Evidence: rule.Read, Source: guides, Working: "1 means that the guide permits it",
			Note: "The guide does not permit it: put a mounting plate between."}
		v := math.NaN()
		if d := b.Chassis.Direct; d != nil {
			v = float64(btoi(*d))
		}
		b.found = append(b.found, hold(f, v, 1, b.Chassis.Called()+": without-plate (whether the guide permits it)"))
	}
}

// holes: the position is one at which the holes meet and no zone forbids.
func (b *sheet) holes() {
	f := rule.Finding{ID: "holes", Title: "Distance from a place where the holes meet and no zone forbids", Sense: rule.AtMost, Unit: unit.MM, Evidence: rule.Derived, Calc: "geometry", Source: "plane geometry: hole patterns and zones as entered",
		Note: "At this position the holes do not meet, or a zone of the chassis forbids it: move it, never enlarge holes."}
	off, missing := math.NaN(), slices.Clone(b.open)
	for i := 1; i < len(b.stack.Parts); i++ {
		p, q := b.stack.Parts[i], b.stack.Parts[i-1]
		if len(p.Foot.Places()) == 0 {
			missing = append(missing, p.Called()+": foot holes")
		}
		if len(q.Top.Places()) == 0 {
			missing = append(missing, q.Called()+": top holes")
		}
	}
	if b.Fitting.At == nil {
		missing = append(missing, "fitting "+b.Fitting.ID+": at")
	} else {
		s := newSearch(b.Chassis, nil)
		set := s.stackSet(b.stack)
		f.Working = "places: " + nearTo(set, b.at)
		off = float64(set.apart(Spans{{b.at, b.at}}))
		if b.meets {
			off = 0
		}
		if math.IsInf(off, 1) {
			off = 10 // nowhere at all
		}
		if off == 0 && len(missing) > 0 {
			off = math.NaN() // nothing speaks against it, and not all is known
		}
	}
	b.found = append(b.found, hold(f, off, float64(matching), missing...))
}

// nearTo words the spans of a set nearest to a place.
func nearTo(set Spans, at unit.Length) string {
	if len(set) == 0 {
		return "none"
	}
	if math.IsInf(float64(set[0].From), 0) && math.IsInf(float64(set[0].To), 0) {
		return "anywhere, for what is known"
	}
	near := slices.Clone(set)
	slices.SortStableFunc(near, func(a, b Span) int {
		return sign(float64(Spans{a}.apart(Spans{{at, at}}) - Spans{b}.apart(Spans{{at, at}})))
	})
	near = near[:min(3, len(near))]
	return tidy(near).String()
}

// stackSet is where a stack's coupling may stand for its holes and zones.
func (s *search) stackSet(st Stack) Spans {
	set, _ := s.chassis.placements(st.Base, st.Parts[0])
	offsets := []unit.Length{0}
	for i, p := range st.Parts {
		if i > 0 {
			var next []unit.Length
			by := []unit.Length{0}
			if foot, top := p.Foot.Places(), st.Parts[i-1].Top.Places(); len(foot) > 0 && len(top) > 0 {
				by = shifts(foot, top)
			}
			for _, o := range offsets {
				for _, d := range by {
					next = append(next, o+d)
				}
			}
			offsets = next
		}
		fore, _, _ := p.carriage()
		offsets = moved(offsets, fore)
	}
	var out Spans
	for _, o := range offsets {
		out = append(out, set.shift(o)...)
	}
	return tidy(out)
}

// lawfulPlace: the position, with its tolerance, is one that holds for every
// semi-trailer that must work.
func (b *sheet) lawfulPlace() {
	tolerance := unit.Length(0)
	if b.Fitting.Tolerance != nil {
		tolerance = *b.Fitting.Tolerance
	}
	f := rule.Finding{ID: "position", Title: "Room of the position to the nearer end of what is lawful", Sense: rule.AtLeast, Unit: unit.MM, Evidence: rule.Derived, Calc: "lead-range",
		Source: "plane geometry and statics: intersection of the lawful ranges of every semi-trailer and load case", Note: "Some semi-trailer is not lawful over the whole tolerance of this position."}
	missing := slices.Clone(b.places.Missing)
	if b.Fitting.At == nil {
		missing = append(missing, "fitting "+b.Fitting.ID+": at")
	}
	if b.Fitting.Tolerance == nil {
		missing = append(missing, "fitting "+b.Fitting.ID+": tolerance")
	}
	lawful := b.places.lawful(b.travel, b.pitch)
	room := math.NaN()
	if len(missing) == 0 {
		room = -float64(lawful.apart(Spans{{b.at, b.at}}))
		if math.IsInf(room, -1) {
			room = -10 // nowhere at all
		}
		for _, p := range lawful {
			if p.Contains(b.at) {
				room = math.Max(room, float64(min(b.at-p.From, p.To-b.at)))
			}
		}
	}
	f.Working = "lawful: " + lawful.String() + " behind the front axle"
	if len(lawful) == 0 && b.places.Conflict != nil {
		f.Working += ". " + b.places.Conflict.Text
	}
	b.found = append(b.found, hold(f, room, float64(tolerance), missing...))
	s := &search{chassis: b.Chassis, ground: b.ground, windows: windowsOf(b.Brief.Heights), imposed: b.imposed, zone: b.places.Zone, asks: b.asks}
	o := Proposal{Stack: b.stack, At: b.at, Travel: b.travel, Pitch: b.pitch, Positions: lawful}
	if b.Fitting.At != nil {
		for _, l := range s.limits(&o, b.places) {
			b.spec.Position.Limits = append(b.spec.Position.Limits, l.Text)
		}
	}
}

// strength: the weakest part of the chain under the rough-ground margin that
// the user set. The ratings themselves stand among the findings of the pairs.
func (b *sheet) strength() {
	for i := range b.needs {
		n := &b.needs[i]
		if n.Wished {
			continue
		}
		rough := b.Brief.Work.rough()
		if !rough {
			continue // the pairs say it all
		}
		f := rule.Finding{ID: "rough." + n.Trailer.ID, Title: "D and U on rough ground, " + n.Trailer.Title(), Sense: rule.AtMost, Unit: unit.One, Evidence: rule.Practice, Calc: "d-value",
			Source: noSource + ": full ratings are not to be used on rough ground", Note: "More than the part of the ratings that you allow on rough ground."}
		use := math.NaN()
		missing := slices.Clone(n.Missing)
		if n.D != nil && n.U != nil {
			w, err := rating.WeakestPart(b.stack.chain(b.Chassis, &n.Trailer.Kingpin))
			if err == nil {
				use = math.Max(float64(*n.D/w.D), float64(*n.U/w.U))
				if w.Open != "" {
					missing = append(missing, w.Open)
				}
				f.Working = fmt.Sprintf("D %s of %s, U %s of %s", kn(*n.D), kn(w.D), unit.Format(float64(*n.U), unit.KG, 0), unit.Format(float64(w.U), unit.KG, 0))
			}
		}
		limit := math.NaN()
		if b.Brief.RoughUse != nil {
			limit = *b.Brief.RoughUse
		} else {
			missing = append(missing, "brief "+b.Brief.ID+": rough-use (the part of D and U that you allow on rough ground)")
		}
		h := hold(f, use, limit, missing...)
		if b.Brief.RoughUse == nil {
			h.Binding = true // unset, and therefore open
		}
		b.found = append(b.found, h)
	}
}

func (b *sheet) mounted() *mounted {
	w := b.stack.Wheel()
	m := &mounted{file: b.File, chassis: b.Chassis, fitting: b.Fitting, stack: b.stack, middles: b.middles, raise: b.highest, law: b.Law.Name, travel: b.travel}
	if w.D != nil && w.Imposed != nil {
		m.rating, m.rated = bolting.LoadInput{D: *w.D, U: *w.Imposed, Steered: w.Wedge != nil && *w.Wedge}, true
	}
	return m
}

// joints checks every bolted joint; a face of the stack without one is named.
func (b *sheet) joints() {
	m := b.mounted()
	var results []JointResult
	for i := range b.Fitting.Joints {
		results = append(results, m.joint(&b.Fitting.Joints[i]))
	}
	for i, p := range b.stack.Parts {
		below := b.stack.Base
		if i > 0 {
			below = b.stack.Parts[i-1].ID
		}
		if !slices.ContainsFunc(b.Fitting.Joints, func(j Joint) bool { return j.Lower == below && j.Upper == p.ID }) {
			f := hold(rule.Finding{ID: "joint." + p.ID, Title: "Bolts of " + m.titled(p.ID) + " on " + m.titled(below), Sense: rule.AtLeast, Unit: unit.One, Evidence: rule.Derived, Source: "mechanics of rigid bodies: what is not bolted is not held"},
				math.NaN(), 1, "fitting "+b.Fitting.ID+": the joint of "+p.ID+" on "+below)
			b.found = append(b.found, f)
		}
	}
	b.spec.Joints = []JointRow{}
	for i := range results {
		b.spec.Joints = append(b.spec.Joints, jointRow(&results[i]))
		b.spec.Unknown = append(b.spec.Unknown, results[i].Missing...)
	}
}

func jointRow(r *JointResult) JointRow {
	j := r.Joint
	row := JointRow{Title: r.Title, Lower: j.Lower, Upper: j.Upper, Thread: r.Thread.Name, Grade: r.Class.Name, Bolts: len(r.Places), Places: placeRows(r.Places), OneSide: r.OnWeb,
		Document: j.Document, Method: j.Method, Lubricant: j.Lubricant, Order: ints(r.Order), Factor: number(r.Factor),
		OrderWhy: "from the middle outwards and crosswise, in steps, as far as the part's document says nothing else (common practice, no source)",
		Maximum:  number(float64(r.Maximum)), Preload: [2]*float64{number(float64(r.Least) / 1e3), number(float64(r.Most) / 1e3)}, Loss: number(float64(r.Loss) / 1e3),
		Friction: [2]*float64{j.LeastFriction, j.MostFriction}, Stops: j.Stops, StopsNeeded: r.NeedsStop, Findings: rowsOf(r.Findings)}
	if r.OnWeb {
		row.Bolts *= 2
	}
	if j.Washer != nil {
		row.Washer = number(clean(j.Washer.Millimetres()))
	}
	if j.Torque != nil {
		row.Torque = number(j.Torque.NewtonMetres())
	}
	if c := r.Mounting; c != nil {
		row.Slip = [2]*float64{number(c.DynamicSlip), number(c.FullSlip)}
	}
	if r.Band != nil {
		row.Lowest = number(r.Band.Lowest.NewtonMetres())
		switch {
		case r.Band.TooHigh:
			row.OutOf = fmt.Sprintf("%s is above the theoretical maximum of %s", nm(*j.Torque), nm(r.Band.Highest))
		case r.Band.TooLow:
			row.OutOf = fmt.Sprintf("%s is below 60 %% of the theoretical maximum, %s", nm(*j.Torque), nm(r.Band.Lowest))
		}
	}
	return row
}

func (b *sheet) again() { b.spec.Again = b.Fitting.due("", nil) }

// close gathers what is unknown, assumed, warned of and cited.
func (b *sheet) close() {
	s := b.spec
	s.Findings = rowsOf(b.found)
	s.Answer = string(s.answer())
	s.Assumed = append(slices.Clone(b.places.Assumed), b.ground.assumed...)
	s.Assumed = append(s.Assumed, "axle tares are taken as they stand in the fleet file, whatever mounting was weighed with them")
	if b.stack.Wheel().JointDepth == nil {
		s.Assumed = append(s.Assumed, "the pull is taken to act at the top plate's surface: joint-depth of the fifth wheel is not given")
	}
	s.Assumed = append(s.Assumed, "the bolts are checked for the ratings of the fifth wheel, in the load cases of its approval; no lateral force is known from a source")
	s.Unknown = append(s.Unknown, b.open...)
	seen := map[SourceRow]bool{}
	s.Sources, s.Warnings = []SourceRow{}, []string{}
	for i := range s.Pairs {
		if p := &s.Pairs[i]; p.Wished && p.Answer != string(rule.Fits) && p.Answer != string(rule.FitsIf) {
			s.Warnings = append(s.Warnings, fmt.Sprintf("wished and not served: %s, %s. %s", p.Trailer, p.CaseName, p.Told))
		}
	}
	s.each(func(where string, wished bool, f *Finding) {
		if k := (SourceRow{f.Source, f.Evidence}); f.Source != "" && !seen[k] {
			seen[k] = true
			s.Sources = append(s.Sources, k)
		}
		if wished {
			return
		}
		if f.Answer == string(rule.CannotTell) {
			s.Unknown = append(s.Unknown, f.Missing...)
		}
		if !f.Binding && f.Answer == string(rule.DoesNotFit) {
			text := f.Title
			if where != "" && !strings.Contains(f.Title, where) {
				text += " (" + where + ")"
			}
			if f.Case != "" && !strings.Contains(where, f.Case) {
				text += ", " + f.Case
			}
			if f.Note != "" {
				text += ": " + f.Note
			}
			s.Warnings = append(s.Warnings, text)
		}
	})
	for _, p := range s.Properties {
		if p.Open != "" {
			s.Unknown = append(s.Unknown, p.Open)
		}
	}
	s.Warnings = append(s.Warnings, against(s.Properties, b.stack)...)
	s.Unknown, s.Warnings, s.Assumed = once(s.Unknown), once(s.Warnings), once(s.Assumed)
	s.Checks = checks(s)
}

// once drops what stands a second time and keeps the order.
func once(in []string) []string {
	out := []string{}
	for _, v := range in {
		if !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// AddOthers puts what else was found on the sheet: the proposals that are not the
// fitting's own stack, at most so many.
func (s *Specification) AddOthers(f *Found, most int) {
	s.Others = []OtherRow{}
	for i := range f.Proposals {
		p := &f.Proposals[i]
		own := len(s.Parts) == len(p.Parts) && s.Chassis.Base == p.Base
		for k := range p.Parts {
			own = own && s.Parts[k].ID == p.Parts[k].ID
		}
		if own || len(s.Others) >= most {
			continue
		}
		row := OtherRow{Stack: p.Stack.String(), At: wholeMM(p.At), Margin: number(p.Margin), Answer: string(p.Answer), Why: list(p.Against)}
		if p.Weighed {
			row.Mass = floorUp(p.Mass)
		}
		if len(p.Limits) > 0 {
			row.Limit = p.Limits[0].Text
		}
		s.Others = append(s.Others, row)
	}
}
