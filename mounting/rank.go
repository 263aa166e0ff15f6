package mounting

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

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
	if top, ok := s.ground.under(s.imposed).vertex(); ok && o.At < top && top < o.At+o.Travel {
		places = append(places, top)
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
	for _, side := range w.sides(&s.ground, s.imposed) {
		room = min(room, w.tolerance-abs(unit.Length(side.frame.at(x))+h-side.want))
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
	welcome := p.welcome(o, s)
	try := func(x unit.Length) {
		n := 0
		if s.aim == AimTrailers {
			n = len(servedAt(welcome, x))
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
	return at, best, servedAt(welcome, at)
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

// A welcomed is a wished semi-trailer that a stack is strong enough for, with the
// positions in which it works.
type welcomed struct {
	id string
	at Spans
}

func (p *Positions) welcome(o *Proposal, s *search) []welcomed {
	var out []welcomed
	for i := range p.Trailers {
		if t := &p.Trailers[i]; t.Wished && strong(o.Stack, s.chassis, s.need(t.Trailer.ID)) {
			out = append(out, welcomed{t.Trailer.ID, t.from(o.Travel, o.Pitch)})
		}
	}
	return out
}

// servedAt lists those that work at a position.
func servedAt(all []welcomed, x unit.Length) []string {
	var out []string
	for _, w := range all {
		if w.at.Contains(x) {
			out = append(out, w.id)
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
