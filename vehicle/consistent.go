package vehicle

import (
	"fmt"

	"underpin/unit"
)

// Two values that cannot both be true are an error where the file is read: the
// finding that would rest on them means nothing, and some would just be absent.

// taped is how far apart two lengths may be that were taped by different people
// at the same thing. Common practice, no source.
const taped = 5*unit.Millimetre + 1e-9

// mostSink is more than any tyres and springs give under a load; what is beyond
// is two heights of different things. Common practice, no source.
const mostSink = 300 * unit.Millimetre

// mostLiftable is how many axles of one vehicle can be liftable. Each doubles the
// states in which a combination is looked at.
const mostLiftable = 4

// mostAxles is the longest vehicle that is understood.
const mostAxles = 20

type reporter func(path, found, expected string)

// under refuses a pair of which the first must stay below the second.
func (bad reporter) under(path, low, high string, a, b *unit.Length, expected string) {
	if a != nil && b != nil && !(*a < *b) {
		bad(path, fmt.Sprintf("%s = %s, not below %s = %s", low, text(*a), high, text(*b)), expected)
	}
}

func (t *Tractor) consistent(path string, bad reporter) {
	if last, ok := lastAxle(t.Axles, true); ok && t.RearEnd != nil && !(*t.RearEnd > last) {
		bad(path+".rear-end", fmt.Sprintf("rear-end = %s, ahead of the last axle at %s", text(*t.RearEnd), text(last)), "a rearmost point behind the last axle, both from the front axle")
	}
	for i := range t.Behind {
		o := &t.Behind[i]
		bad.under(fmt.Sprintf("%s.behind-cab[%d].bottom", path, i), "bottom", "top", o.Bottom, o.Top, "a lowest point below the highest one")
	}
	for i := range t.Corners {
		c, at := &t.Corners[i], fmt.Sprintf("%s.rear-corner[%d]", path, i)
		if c.At != nil && t.RearEnd != nil && *c.At > *t.RearEnd+taped {
			bad(at+".at", fmt.Sprintf("at = %s, behind rear-end = %s", text(*c.At), text(*t.RearEnd)), "a point that is not behind the rearmost one")
		}
		if c.HalfWide != nil && t.Width != nil && *c.HalfWide > *t.Width/2+taped {
			bad(at+".half-width", fmt.Sprintf("half-width = %s beside width = %s", text(*c.HalfWide), text(*t.Width)), "at most half of the width: measured from the centre line")
		}
	}
	if w := &t.FifthWheel; w.At != nil && t.RearEnd != nil && !(*w.At < *t.RearEnd) {
		bad(path+".fifth-wheel.at", fmt.Sprintf("at = %s, behind rear-end = %s", text(*w.At), text(*t.RearEnd)), "a fifth wheel on the frame, both from the front axle")
	}
	for i := range t.FifthWheel.Levels {
		l, at := &t.FifthWheel.Levels[i], fmt.Sprintf("%s.fifth-wheel.level[%d]", path, i)
		switch {
		case l.Unladen == nil || l.Laden == nil:
		case *l.Laden > *l.Unladen+taped:
			bad(at+".laden", fmt.Sprintf("laden = %s above unladen = %s", text(*l.Laden), text(*l.Unladen)), "a laden height that is not above the unladen one")
		case *l.Unladen-*l.Laden > mostSink:
			bad(at+".laden", fmt.Sprintf("laden = %s, %s below unladen = %s", text(*l.Laden), text(*l.Unladen-*l.Laden), text(*l.Unladen)),
				"two heights of the same plate at driving level; no suspension gives more than "+text(mostSink))
		}
		if l.Unladen != nil && l.Raised != nil && *l.Raised < *l.Unladen-taped {
			bad(at+".raised", fmt.Sprintf("raised = %s below unladen = %s", text(*l.Raised), text(*l.Unladen)), "the height with the suspension at its highest, not below the unladen one")
		}
	}
	plates(path, t.GrossPlate, t.TrainPlate, "gross-plate", "train-plate", bad)
}

func (s *SemiTrailer) consistent(path string, bad reporter) {
	first, ok := unit.Length(0), false
	if len(s.Axles) > 0 {
		first, ok = s.AxleAt(0)
	}
	if ok && !(first > 0) {
		bad(path+".axle[0].at", fmt.Sprintf("at = %s", text(first)), "an axle behind the kingpin")
	} else if ok && s.Legs != nil && s.Legs.Behind != nil && !(*s.Legs.Behind < first) {
		bad(path+".legs.behind", fmt.Sprintf("behind = %s, at or behind the first axle at %s", text(*s.Legs.Behind), text(first)), "legs between kingpin and first axle")
	}
	if last, ok := lastAxle(s.Axles, false); ok && s.RearEnd != nil && !(*s.RearEnd > last) {
		bad(path+".rear-end", fmt.Sprintf("rear-end = %s, ahead of the last axle at %s", text(*s.RearEnd), text(last)), "a rearmost point behind the last axle, both from the kingpin")
	}
	if s.Clear != nil && s.Legs != nil && s.Legs.Behind != nil && *s.Clear > *s.Legs.Behind+taped {
		bad(path+".clear-radius", fmt.Sprintf("clear-radius = %s beside legs at %s", text(*s.Clear), text(*s.Legs.Behind)), "the least distance to anything that hangs below the plate, the legs among it")
	}
	if h := s.Headboard; h != nil {
		switch {
		case s.FrontOverhang != nil && *h > *s.FrontOverhang+taped:
			bad(path+".headboard", fmt.Sprintf("headboard = %s ahead of front-overhang = %s", text(*h), text(*s.FrontOverhang)), "an inside of the headboard that is behind the outside of the front wall")
		case *h < 0 && s.Kind != "" && s.Kind != "low-loader" && s.Kind != "step-frame":
			bad(path+".headboard", fmt.Sprintf("headboard = %s on a %s", text(*h), s.Kind), "0 mm or more: only a low-loader's or step-frame's load space begins behind the kingpin")
		}
	}
	front, from := s.Headboard, "headboard"
	if front == nil {
		front, from = s.FrontOverhang, "front-overhang"
	}
	if front != nil && s.LoadLength != nil && s.RearEnd != nil && *s.LoadLength > *front+*s.RearEnd+taped {
		bad(path+".load-length", fmt.Sprintf("load-length = %s, longer than %s = %s and rear-end = %s together", text(*s.LoadLength), from, text(*front), text(*s.RearEnd)), "a load space that ends inside the body")
	}
	if s.Corner != nil && s.Width != nil && *s.Corner > *s.Width/2 {
		bad(path+".corner-radius", fmt.Sprintf("corner-radius = %s beside width = %s", text(*s.Corner), text(*s.Width)), "at most half of the width")
	}
	for i := range s.Nose {
		n, at := &s.Nose[i], fmt.Sprintf("%s.nose[%d]", path, i)
		bad.under(at+".bottom", "bottom", "top", n.Bottom, n.Top, "a lowest point below the highest one")
		if n.HalfWide != nil && s.Width != nil && *n.HalfWide > *s.Width/2+taped {
			bad(at+".half-width", fmt.Sprintf("half-width = %s beside width = %s", text(*n.HalfWide), text(*s.Width)), "at most half of the width: measured from the centre line")
		}
	}
	plates(path, s.PinPlate, s.GrossPlate, "kingpin-plate", "gross-plate", bad)
	plates(path, s.BogiePlate, s.GrossPlate, "bogie-plate", "gross-plate", bad)
}

// lastAxle is where the hindmost axle stands, when that is known.
func lastAxle(axles []Axle, tractor bool) (unit.Length, bool) {
	if len(axles) == 0 {
		return 0, false
	}
	return axleAt(axles, len(axles)-1, tractor)
}

// plates refuses a part of a permissible mass that is more than the whole.
func plates(path string, part, whole *unit.Mass, partName, wholeName string, bad reporter) {
	if part != nil && whole != nil && *part > *whole {
		bad(path+"."+partName, fmt.Sprintf("%s = %s above %s = %s", partName, weight(*part), wholeName, weight(*whole)), "at most the "+wholeName)
	}
}

// countAxles refuses more axles than are understood, and more that lift than can
// be looked at in every state.
func countAxles(axles []Axle, path string, bad reporter) {
	if len(axles) > mostAxles {
		bad(path, fmt.Sprintf("%d axles", len(axles)), fmt.Sprintf("at most %d", mostAxles))
	}
	lift := 0
	for i := range axles {
		if axles[i].Liftable {
			if lift++; lift == mostLiftable+1 {
				bad(fmt.Sprintf("%s.axle[%d].liftable", path, i), "more than 4 liftable axles", "at most 4 on one vehicle: a pair is looked at in every state of them")
			}
		}
	}
}
