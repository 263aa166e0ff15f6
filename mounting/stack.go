package mounting

import (
	"fmt"
	"slices"
	"strings"

	"underpin/unit"
)

// A Stack is what stands between the frame and the semi-trailer.
type Stack struct {
	Base  string  // frame, subframe or angles
	Parts []*Part // from below to the top; the last is the fifth wheel
}

// Wheel is the fifth wheel on top.
func (s Stack) Wheel() *Part { return s.Parts[len(s.Parts)-1] }

// part returns the first part of a kind, or nil.
func (s Stack) part(kind string) *Part {
	for _, p := range s.Parts {
		if p.Kind == kind {
			return p
		}
	}
	return nil
}

// IDs are the ids of its parts, from below to the top.
func (s Stack) IDs() []string {
	out := make([]string, len(s.Parts))
	for i, p := range s.Parts {
		out[i] = p.ID
	}
	return out
}

// String writes it from below to the top.
func (s Stack) String() string { return s.Base + " + " + strings.Join(s.IDs(), " + ") }

// Mass is the mass of its parts; ok is false while one is not known.
func (s Stack) Mass() (m unit.Mass, ok bool) {
	ok = true
	for _, p := range s.Parts {
		if p.Mass == nil {
			ok = false
			continue
		}
		m += *p.Mass
	}
	return m, ok
}

// height is the sum of the parts, lifts in their lowest position, with the base
// under them.
func (s Stack) height(c *Chassis) (h unit.Length, missing []string) {
	b, miss := c.baseHeight(s.Base)
	missing = append(missing, miss...)
	h = b
	for _, p := range s.Parts {
		if p.Height == nil {
			missing = append(missing, p.Called()+": height")
			continue
		}
		h += *p.Height
	}
	return h, missing
}

// baseHeight is how far a base's upper face stands over the frame's top.
func (c *Chassis) baseHeight(base string) (unit.Length, []string) {
	switch {
	case base == OnSubframe && c.Subframe != nil && c.Subframe.Height != nil:
		return *c.Subframe.Height, nil
	case base == OnAngles && c.Angles != nil && c.Angles.Height != nil:
		return *c.Angles.Height, nil
	case base == OnFrame:
		return 0, nil
	}
	return 0, []string{c.Called() + ": height of the " + base}
}

// has tells whether a chassis has a base.
func (c *Chassis) has(base string) bool {
	return base == OnFrame || base == OnSubframe && c.Subframe != nil || base == OnAngles && c.Angles != nil
}

// A StackError says which part of a stack does not stand, and what to do.
type StackError struct {
	Index int // in Parts
	Found string
	Do    string
}

func (e *StackError) Error() string { return "found " + e.Found + "; expected " + e.Do }

// stands tells why one part may not stand on another thing, or nothing. below
// has the kind and id of a part, or the name of a base twice.
func (p *Part) stands(kind, id string) bool {
	return slices.Contains(p.StandsOn, kind) || slices.Contains(p.StandsOn, id)
}

// Check tells what keeps the stack from standing: the first part that may not
// stand on what is below it, whose holes do not meet those below, a kind that
// occurs twice, or a top that is no fifth wheel. A chassis of nil asks the parts
// alone.
func (s Stack) Check(c *Chassis) error {
	if len(s.Parts) == 0 {
		return &StackError{0, "a stack without parts", "at least a fifth wheel"}
	}
	if c != nil && !c.has(s.Base) {
		return &StackError{0, fmt.Sprintf("a stack on the %s, which %s does not have", s.Base, c.Called()), "a base that the chassis has"}
	}
	seen := map[string]bool{}
	for i, p := range s.Parts {
		kind, id, name := s.Base, s.Base, "the "+s.Base
		var top []Place
		if i > 0 {
			q := s.Parts[i-1]
			kind, id, name = q.Kind, q.ID, q.ID
			top = q.Top.Places()
			if q.Kind == FifthWheel {
				return &StackError{i, fmt.Sprintf("%s on the fifth wheel %s", p.ID, q.ID), "the fifth wheel on top"}
			}
		}
		if seen[p.Kind] {
			return &StackError{i, fmt.Sprintf("a second %s, %s", p.Kind, p.ID), "each kind of part once: they are not piled on their like"}
		}
		seen[p.Kind] = true
		if !p.stands(kind, id) {
			return &StackError{i, fmt.Sprintf("%s on %s", p.ID, name), fmt.Sprintf("%s on what it may stand on: %s", p.ID, strings.Join(p.StandsOn, ", "))}
		}
		foot := p.Foot.Places()
		if i > 0 && len(foot) > 0 && len(top) > 0 && len(shifts(foot, top)) == 0 {
			return &StackError{i, fmt.Sprintf("%s, whose holes do not meet those of %s", p.ID, id), "a part of the same hole pattern, or one drilled for it by its maker; never holes enlarged or burnt"}
		}
	}
	if w := s.Wheel(); w.Kind != FifthWheel {
		return &StackError{len(s.Parts) - 1, fmt.Sprintf("the %s %s on top", w.Kind, w.ID), "a fifth wheel on top"}
	}
	return nil
}

// Stack returns the stack of a fitting; a part that the file lacks is a
// StackError.
func (f *File) Stack(g *Fitting) (Stack, error) {
	s := Stack{Base: g.Base}
	for i, id := range g.Parts {
		p := f.Part(id)
		if p == nil {
			return s, &StackError{i, fmt.Sprintf("part %q", id), "the id of a part of this file"}
		}
		s.Parts = append(s.Parts, p)
	}
	return s, nil
}

// resolve finds where the middle of each part stands when the coupling (on a
// slider: in its foremost position) stands at a place: from the top down, each
// foot on holes that meet. ok is false where no choice of holes brings the
// lowest part to where it may stand; the places are then those of the first
// choice.
func (s Stack) resolve(c *Chassis, at unit.Length) (middles []unit.Length, open []string, ok bool) {
	n := len(s.Parts)
	middles = make([]unit.Length, n)
	set, open := c.placements(s.Base, s.Parts[0])
	var first []unit.Length
	var down func(i int, middle unit.Length) bool
	down = func(i int, middle unit.Length) bool {
		middles[i] = middle
		if i == 0 {
			if first == nil {
				first = slices.Clone(middles)
			}
			// Within the play that patterns are compared by.
			return len(set.and(Spans{{middle - matching, middle + matching}})) > 0
		}
		below, by := s.Parts[i-1], []unit.Length{0}
		if foot, top := s.Parts[i].Foot.Places(), below.Top.Places(); len(foot) > 0 && len(top) > 0 {
			by = shifts(foot, top)
		}
		carriage, _, _ := below.carriage()
		for _, d := range by {
			if down(i-1, middle-d-carriage) {
				return true
			}
		}
		return false
	}
	if down(n-1, at) {
		return middles, open, true
	}
	return first, open, false
}
