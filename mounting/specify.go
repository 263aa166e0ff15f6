package mounting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/assess"
	"underpin/bolting"
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
		Cautions: slices.Clone(cautions), Evidence: slices.Clone(marks), Signatures: slices.Clone(signatures), Others: []OtherRow{}}
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
		s.Mass = nearestKG(mass.Kilograms())
	}
	for i, p := range b.stack.Parts {
		row := PartRow{ID: p.ID, Name: p.Title(), Note: p.Note, Kind: p.Kind, Height: wholeMMOf(p.Height), ReadFrom: p.ReadFrom, Approval: p.Approval,
			Middle: wholeMM(b.middles[i]), Foot: placeRows(p.Foot.Places())}
		if p.Mass != nil {
			row.Mass = nearestKG(p.Mass.Kilograms())
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
		b.found = append(b.found, hold(rule.Finding{ID: "height", Title: "Coupling height: away from what is wanted", Sense: rule.AtMost, Unit: unit.MM,
			Evidence: rule.Derived, Calc: "coupling-height", Source: "plane geometry: sum of the stack, rigid frame on two axles"},
			math.NaN(), math.NaN(), "brief "+b.Brief.ID+": height (the coupling height that is wanted)"))
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
		if math.IsNaN(float64(b.imposed)) {
			miss = append(miss, "the load on the kingpin, for the "+k.how+" height")
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

// nearestKG is a mass in whole kilograms, rounded to the nearest; nil unknown.
func nearestKG(v float64) *int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return new(int(math.Round(v)))
}

func (b *sheet) mounted() *mounted {
	w := b.stack.Wheel()
	m := &mounted{file: b.File, chassis: b.Chassis, fitting: b.Fitting, stack: b.stack, middles: b.middles, raise: b.highest, laws: lawsOf(b.Law), travel: b.travel}
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
