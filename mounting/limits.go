package mounting

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"underpin/unit"
)

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
	if r := (&reach{&s.ground, s.windows, s.imposed, h, at, between, o.Travel}); !r.where().Contains(beyond) {
		return "the tolerance of the coupling height"
	}
	return "the holes and zones of the chassis"
}
