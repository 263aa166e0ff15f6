package mounting

import (
	"math"
	"slices"

	"underpin/unit"
)

// A Span is a closed range of positions along the frame.
type Span struct{ From, To unit.Length }

// Contains tells whether a position lies in the span, binary dust allowed for.
func (s Span) Contains(x unit.Length) bool { return s.From-dust <= x && x <= s.To+dust }

// dust is what binary rounding may eat at the end of a range: positions are
// found by division and checked by multiplication.
const dust unit.Length = 1e-9

// everywhere is the whole line.
var everywhere = Spans{{unit.Length(math.Inf(-1)), unit.Length(math.Inf(1))}}

// Spans is a set of positions: spans in rising order that do not meet.
type Spans []Span

// Contains tells whether a position is in the set.
func (s Spans) Contains(x unit.Length) bool {
	return slices.ContainsFunc(s, func(p Span) bool { return p.Contains(x) })
}

// tidy sorts spans, drops empty ones and joins those that meet.
func tidy(s Spans) Spans {
	s = slices.DeleteFunc(s, func(p Span) bool { return !(p.From <= p.To) })
	slices.SortFunc(s, func(a, b Span) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	var out Spans
	for _, p := range s {
		if n := len(out); n > 0 && p.From <= out[n-1].To+dust {
			out[n-1].To = max(out[n-1].To, p.To)
			continue
		}
		out = append(out, p)
	}
	return out
}

// and keeps what is in both sets. Spans that miss each other by dust meet in a
// point.
func (s Spans) and(t Spans) Spans {
	var out Spans
	for i, k := 0, 0; i < len(s) && k < len(t); {
		a, b := s[i], t[k]
		c := Span{max(a.From, b.From), min(a.To, b.To)}
		if c.From <= c.To+dust {
			c.To = max(c.From, c.To)
			out = append(out, c)
		}
		if a.To < b.To {
			i++
		} else {
			k++
		}
	}
	return out
}

// or joins two sets.
func (s Spans) or(t Spans) Spans { return tidy(append(slices.Clone(s), t...)) }

// without takes open ranges out of a set: their ends stay, and so does the
// point between two ranges that touch, whatever binary dust lies on it.
func (s Spans) without(gaps ...Span) Spans {
	for _, g := range gaps {
		g.From, g.To = g.From+dust, g.To-dust
		if !(g.From < g.To) {
			continue
		}
		var out Spans
		for _, p := range s {
			if g.To <= p.From || g.From >= p.To {
				out = append(out, p)
				continue
			}
			if p.From <= g.From {
				out = append(out, Span{p.From, g.From})
			}
			if g.To <= p.To {
				out = append(out, Span{g.To, p.To})
			}
		}
		s = out
	}
	return s
}

// shift moves a set along the frame.
func (s Spans) shift(by unit.Length) Spans {
	out := make(Spans, len(s))
	for i, p := range s {
		out[i] = Span{p.From + by, p.To + by}
	}
	return out
}

// erode keeps the positions from which a travel stays inside one span.
func (s Spans) erode(travel unit.Length) Spans {
	if travel == 0 {
		return s
	}
	var out Spans
	for _, p := range s {
		if q := (Span{p.From, p.To - travel}); q.From <= q.To+dust {
			q.To = max(q.From, q.To)
			out = append(out, q)
		}
	}
	return out
}

// apart is the least distance between two sets, 0 where they meet.
func (s Spans) apart(t Spans) unit.Length {
	least := unit.Length(math.Inf(1))
	for _, a := range s {
		for _, b := range t {
			least = min(least, max(a.From-b.To, b.From-a.To, 0))
		}
	}
	return least
}

// A parabola is a·x² + b·x + c, a height over the road along the frame.
type parabola struct{ a, b, c float64 }

func (p parabola) at(x unit.Length) float64 { return (p.a*float64(x)+p.b)*float64(x) + p.c }

// raised is the parabola higher by h.
func (p parabola) raised(h unit.Length) parabola { return parabola{p.a, p.b, p.c + float64(h)} }

// less is the difference of two.
func (p parabola) less(q parabola) parabola { return parabola{p.a - q.a, p.b - q.b, p.c - q.c} }

// between returns where lo ≤ p(x) ≤ hi.
func (p parabola) between(lo, hi unit.Length) Spans {
	return p.raised(-lo).positive().and(parabola{-p.a, -p.b, float64(hi) - p.c}.positive())
}

// positive returns where p(x) ≥ 0.
func (p parabola) positive() Spans {
	a, b, c := p.a, p.b, p.c
	// A curvature that does not show within a hundred metres is none.
	if math.Abs(a)*1e4 < 1e-12 {
		switch {
		case math.Abs(b)*1e2 < 1e-12:
			if c >= -float64(dust) {
				return everywhere
			}
			return nil
		case b > 0:
			return Spans{{unit.Length(-c / b), everywhere[0].To}}
		}
		return Spans{{everywhere[0].From, unit.Length(-c / b)}}
	}
	d := b*b - 4*a*c
	if d <= 0 {
		if a > 0 {
			return everywhere
		}
		if d == 0 {
			x := unit.Length(-b / (2 * a))
			return Spans{{x, x}}
		}
		return nil
	}
	// The form that does not subtract near equals.
	q := -0.5 * (b + math.Copysign(math.Sqrt(d), b))
	x1, x2 := q/a, c/q
	r := Span{unit.Length(math.Min(x1, x2)), unit.Length(math.Max(x1, x2))}
	if a < 0 {
		return Spans{r}
	}
	return Spans{{everywhere[0].From, r.From}, {r.To, everywhere[0].To}}
}

// extremes are the least and the greatest value in a span.
func (p parabola) extremes(in Span) (least, most unit.Length) {
	l, r := p.at(in.From), p.at(in.To)
	lo, hi := math.Min(l, r), math.Max(l, r)
	if x, ok := p.vertex(); ok && in.From < x && x < in.To {
		lo, hi = math.Min(lo, p.at(x)), math.Max(hi, p.at(x))
	}
	return unit.Length(lo), unit.Length(hi)
}

// vertex is where the parabola turns.
func (p parabola) vertex() (unit.Length, bool) {
	return unit.Length(-p.b / (2 * p.a)), p.a != 0 && !math.IsNaN(p.a)
}
