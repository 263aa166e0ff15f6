package vehicle

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A ticket says a second time what tares, lead and another ticket say. Where the
// two disagree by more than the scale can, one is wrong, and everything that
// rests on it is too.

// Weighings of one thing are taken to agree within scaleRest, three steps of
// 20 kg of a road scale; beyond wrongShare of the reading they are not of one
// thing. Common practice, no source: which class of scale it was is not on every
// ticket.
const (
	scaleRest  = 60 * unit.Kilogram
	wrongShare = 0.03
)

// A weighing is a mass that a ticket tells and the file tells too.
type weighing struct {
	field   string // of the ticket
	reading unit.Mass
	what    string    // "the front axles' tare"
	told    unit.Mass // as the file tells it
	read    unit.Mass // as the ticket tells it
}

func (w weighing) apart() float64 { return math.Abs(float64(w.read - w.told)) }

// wrong tells that the two are not of one thing.
func (w weighing) wrong() bool {
	return w.apart() > math.Max(float64(scaleRest), wrongShare*float64(w.reading))
}

func (w weighing) doubt() string {
	return fmt.Sprintf("%s is %s by the weighbridge ticket and %s as given: the ticket, what is given or the state of fuel and driver is wrong", w.what, weight(w.read), weight(w.told))
}

// weighings compares the tractor's ticket with its tares.
func (t *Tractor) weighings() (out []weighing) {
	w := t.Weighbridge
	if w == nil {
		return nil
	}
	sum := func(group []int) (m unit.Mass, ok bool) {
		for _, i := range group {
			if t.Axles[i].Tare == nil {
				return 0, false
			}
			m += *t.Axles[i].Tare
		}
		return m, len(group) > 0
	}
	front, _ := t.Groups()
	if m, ok := sum(front); ok && w.FrontOn != nil {
		out = append(out, weighing{"front-on", *w.FrontOn, "the front axles' tare", m, *w.FrontOn})
	}
	if m, ok := t.Tare(); ok && w.TractorOn != nil {
		out = append(out, weighing{"tractor-on", *w.TractorOn, "the tractor's tare, axle by axle,", m, *w.TractorOn})
	}
	return out
}

// weighings compares the semi-trailer's ticket with its tares.
func (f *Fleet) weighings(s *SemiTrailer) (out []weighing) {
	w := s.Weighbridge
	if w == nil || w.TractorOn == nil {
		return nil
	}
	if t := f.tractor(w.Tractor); t != nil && s.TarePin != nil {
		if alone, ok := t.weighedAlone(); ok {
			out = append(out, weighing{"tractor-on", *w.TractorOn, "tare-pin", *s.TarePin, *w.TractorOn - alone})
		}
	}
	if w.AllOn != nil && s.TareBogie != nil {
		out = append(out, weighing{"all-on", *w.AllOn, "tare-bogie", *s.TareBogie, *w.AllOn - *w.TractorOn})
	}
	return out
}

func (t *Tractor) tickets(path string, bad reporter) { refuse(t.weighings(), path, bad) }

func (f *Fleet) tickets(s *SemiTrailer, path string, bad reporter) {
	refuse(f.weighings(s), path, bad)
}

func refuse(all []weighing, path string, bad reporter) {
	for _, w := range all {
		if w.wrong() {
			bad(path+".weighbridge."+w.field, fmt.Sprintf("%s = %s, by which %s is %s beside %s as given", w.field, weight(w.reading), w.what, weight(w.read), weight(w.told)),
				fmt.Sprintf("a ticket that agrees with what is given, within %.0f %% of its reading; leave the wrong one out", wrongShare*100))
		}
	}
}

// Doubts returns in words where the tractor's ticket or its certificate and its tares
// and marks disagree by more than they can, and where nobody has weighed.
func (t *Tractor) Doubts() []string {
	return append(doubts(t.Called(), t.weighings()), t.certifiedDoubts()...)
}

// Doubts returns in words where a semi-trailer's ticket or certificate disagrees with
// its tares and marks, or with the lead of the tractor that pulled it, by more than
// they can, and where nobody has weighed.
func (f *Fleet) Doubts(s *SemiTrailer) []string {
	out := doubts(s.Called(), f.weighings(s))
	if d := f.frontDoubt(s); d != "" {
		out = append(out, s.Called()+": "+d)
	}
	return append(out, s.certifiedDoubts()...)
}

func doubts(called string, all []weighing) (out []string) {
	for _, w := range all {
		if w.apart() > float64(scaleRest) {
			out = append(out, called+": "+w.doubt())
		}
	}
	return out
}

// frontDoubt says where the front axle's reading of a semi-trailer's ticket is not
// the one that the lead of its tractor gives:
//
//	F = F_e + K·e/L_T
//
// Source: statics of the two-unit combination (handbook chapter 03, 1.2).
func (f *Fleet) frontDoubt(s *SemiTrailer) string {
	w := s.Weighbridge
	if w == nil || w.FrontOn == nil || w.TractorOn == nil {
		return ""
	}
	t := f.tractor(w.Tractor)
	if t == nil || t.FifthWheel.At == nil {
		return ""
	}
	alone, known := t.Tare()
	front, rear := t.Groups()
	ahead, ok1 := t.line(front)
	behind, ok2 := t.line(rear)
	if !known || !ok1 || !ok2 || !(behind > ahead) {
		return ""
	}
	var tare unit.Mass
	for _, i := range front {
		tare += *t.Axles[i].Tare
	}
	want := tare + (*w.TractorOn-alone)*unit.Mass((behind-*t.FifthWheel.At)/(behind-ahead))
	if math.Abs(float64(*w.FrontOn-want)) <= float64(scaleRest) {
		return ""
	}
	return fmt.Sprintf("the front axle read %s where this lead gives %s: the lead, the tractor's tare or the ticket is wrong", weight(*w.FrontOn), unit.Format(float64(want), unit.KG, 0))
}

// line is where a group of axles carries what is added to it, all axles down.
func (t *Tractor) line(group []int) (at unit.Length, ok bool) {
	for _, i := range group {
		x, known := t.AxleAt(i)
		if !known {
			return 0, false
		}
		at += x * unit.Length(t.Share(group, i))
	}
	return at, len(group) > 0
}
