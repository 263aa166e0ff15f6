package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
)

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
