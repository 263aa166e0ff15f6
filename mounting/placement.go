package mounting

import (
	"math"

	"underpin/unit"
)

// placements returns where the middle of a stack's lowest part may stand on a
// base: where its holes meet those that are there, or may be drilled; clear of
// what the guide forbids. open says what was not known and counts as if it
// allowed.
func (c *Chassis) placements(base string, p *Part) (set Spans, open []string) {
	foot := p.Foot.Places()
	switch base {
	case OnAngles:
		set, open = onHoles(c.Angles.Top, foot, c.Called()+": holes of the attachment angles", p)
		set = set.and(within(c.Angles.From, c.Angles.To, p))
	case OnSubframe:
		set, open = onHoles(c.Subframe.Holes, foot, c.Called()+": holes of the subframe", p)
		set = set.and(within(c.Subframe.From, c.Subframe.To, p))
	default:
		set, open = c.onWeb(foot, p)
	}
	for i := range c.Zones {
		z := &c.Zones[i]
		if z.What != "keep-free" || z.From == nil || z.To == nil {
			continue
		}
		if p.Ahead == nil || p.Behind == nil {
			open = append(open, p.Called()+": ahead and behind, for the zone "+z.Name)
			continue
		}
		set = set.without(Span{*z.From - *p.Behind, *z.To + *p.Ahead})
	}
	return set, open
}

// onHoles is where a foot meets the holes of a base.
func onHoles(have *Pattern, foot []Place, called string, p *Part) (Spans, []string) {
	top := have.Places()
	var open []string
	if len(top) == 0 {
		open = append(open, called)
	}
	if len(foot) == 0 {
		open = append(open, p.Called()+": foot holes")
	}
	if len(open) > 0 {
		return everywhere, open
	}
	return pointsOf(shifts(foot, top)), nil
}

func pointsOf(at []unit.Length) Spans {
	var out Spans
	for _, x := range at {
		out = append(out, Span{x, x})
	}
	return out
}

// within keeps a part on the length of what carries it, where both are known.
func within(from, to *unit.Length, p *Part) Spans {
	s := everywhere[0]
	if from != nil && p.Ahead != nil {
		s.From = *from + *p.Ahead
	}
	if to != nil && p.Behind != nil {
		s.To = *to - *p.Behind
	}
	return tidy(Spans{s})
}

// onWeb is where a bracket may be bolted to the side members' webs: through
// holes that are there, and through new ones where the guide permits them.
func (c *Chassis) onWeb(foot []Place, p *Part) (Spans, []string) {
	f := &c.Frame
	have := f.Holes.Places()
	there := pointsOf(shifts(foot, have))
	if f.Drill != nil && !*f.Drill {
		if len(foot) == 0 || len(have) == 0 {
			return onHoles(f.Holes, foot, c.Called()+": holes of the frame's web", p)
		}
		return there, nil
	}
	if f.Drill == nil && len(there) > 0 {
		return there, nil
	}
	var open []string
	if f.Drill == nil {
		open = append(open, c.Called()+": whether the guide permits new holes in the web (drill)")
	}
	fresh := everywhere
	if len(foot) == 0 {
		return fresh, append(open, p.Called()+": foot holes")
	}
	for i := range c.Zones {
		z := &c.Zones[i]
		if z.What != "no-holes" || z.From == nil || z.To == nil {
			continue
		}
		for _, h := range foot {
			fresh = fresh.without(Span{*z.From - h.X - h.D/2, *z.To - h.X + h.D/2})
		}
	}
	if f.Apart == nil && len(have) > 0 {
		open = append(open, c.Called()+": hole-spacing that the guide asks for")
	}
	if f.Apart != nil {
		for _, h := range foot {
			for _, o := range have {
				dy := float64(h.Y - o.Y)
				reach := float64(*f.Apart) * float64(*f.Apart)
				if reach -= dy * dy; reach <= 0 {
					continue
				}
				r, at := unit.Length(math.Sqrt(reach)), o.X-h.X
				if near(h.Y, o.Y) { // a hole that is there may be used
					fresh = fresh.without(Span{at - r, at - matching}, Span{at + matching, at + r})
					continue
				}
				fresh = fresh.without(Span{at - r, at + r})
			}
		}
	}
	return fresh.or(there), open
}
