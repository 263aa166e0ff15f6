package vehicle

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A Derivation shows how a value that nobody typed was found from what was.
type Derivation struct {
	Vehicle string // id
	Field   string // "tare-pin"
	Value   string // "1900 kg"
	Working string // "tractor on 9 700 kg − tractor alone 7 800 kg"
	Check   string // what to look at again, when two ways disagree; else empty
}

// Derive fills in what follows from the tape, the weighbridge tickets and the
// certificates of conformity and returns how each value was found. It changes nothing that was given.
//
//	front tare = front on
//	rear tare  = tractor on − front on, shared in the group as its added load
//	tare at the kingpin = tractor on (coupled) − tractor alone
//	tare on the bogie   = all on − tractor on (coupled)
//
// Valid for weighings on level ground, the tractor in the same state of fuel
// and driver on both visits. Source: statics of the two-unit combination
// (handbook chapter 03, 1.2).
func (f *Fleet) Derive() []Derivation {
	var out []Derivation
	for i := range f.Tractors {
		out = append(out, f.Tractors[i].derive()...)
	}
	for i := range f.Tractors {
		out = append(out, f.Tractors[i].deriveCertified()...)
	}
	for i := range f.Trailers {
		out = append(out, f.Trailers[i].derive(f)...)
		out = append(out, f.Trailers[i].deriveCertified()...)
	}
	return out
}

// weight writes a mass in the unit in which it is a whole number, kilograms
// before pounds, so that what was read in pounds is told in pounds; else in
// kilograms to the gram.
func weight(m unit.Mass) string {
	for _, u := range []unit.Unit{unit.KG, unit.Lb} {
		v := u.From(float64(m))
		if n := math.Round(v); math.Abs(v-n) < 1e-6 {
			return unit.Text(u.ToSI(n), u)
		}
	}
	return unit.Text(math.Round(float64(m)*1e3)/1e3, unit.KG)
}

// weighs tells whether the axle tares are to be derived from the ticket.
func (t *Tractor) weighs() bool {
	for i := range t.Axles {
		if t.Axles[i].Tare != nil {
			return false
		}
	}
	w := t.Weighbridge
	return w != nil && w.FrontOn != nil && w.TractorOn != nil
}

// weighedAlone returns the tractor's mass ready to drive, whether its axle tares
// are derived yet or not.
func (t *Tractor) weighedAlone() (unit.Mass, bool) {
	if t.weighs() {
		return *t.Weighbridge.TractorOn, true
	}
	return t.Tare()
}

func (t *Tractor) derive() (out []Derivation) {
	if !t.weighs() {
		return nil
	}
	w := t.Weighbridge
	front, rear := t.Groups()
	spread := func(group []int, total unit.Mass, working string) {
		for _, i := range group {
			tare := total * unit.Mass(t.Share(group, i))
			t.Axles[i].Tare = &tare
			how := working
			if len(group) > 1 {
				how += fmt.Sprintf(", times this axle's share %.4g (assumed: the tare is shared as the added load; weigh axle by axle to know)", t.Share(group, i))
			}
			out = append(out, Derivation{Vehicle: t.ID, Field: fmt.Sprintf("axle %d tare", i+1), Value: weight(tare), Working: how})
		}
	}
	spread(front, *w.FrontOn, "front on "+weight(*w.FrontOn))
	spread(rear, *w.TractorOn-*w.FrontOn, "tractor on "+weight(*w.TractorOn)+" − front on "+weight(*w.FrontOn))
	return out
}

// share returns the part of a load added to the group that one of its axles
// takes; equal parts where none is given.
func share(axles []Axle, group []int, axle int) float64 {
	if s := axles[axle].Share; s != nil {
		return *s
	}
	return 1 / float64(len(group))
}

// Tare returns the tractor's mass ready to drive, and false while the tare of
// an axle is unknown.
func (t *Tractor) Tare() (unit.Mass, bool) {
	var sum unit.Mass
	for i := range t.Axles {
		if t.Axles[i].Tare == nil {
			return 0, false
		}
		sum += *t.Axles[i].Tare
	}
	return sum, len(t.Axles) > 0
}

func (s *SemiTrailer) derive(f *Fleet) (out []Derivation) {
	w := s.Weighbridge
	if w == nil || w.TractorOn == nil || w.AllOn == nil || s.TarePin != nil || s.TareBogie != nil {
		return nil
	}
	t, ok := f.Tractor(w.Tractor)
	if !ok {
		return nil
	}
	alone, ok := t.Tare()
	if !ok {
		return nil
	}
	pin, bogie := *w.TractorOn-alone, *w.AllOn-*w.TractorOn
	s.TarePin, s.TareBogie = &pin, &bogie
	d := Derivation{Vehicle: s.ID, Field: "tare-pin", Value: weight(pin),
		Working: fmt.Sprintf("tractor on, coupled, %s − tractor %s alone %s", weight(*w.TractorOn), t.ID, weight(alone))}
	d.Check = f.frontDoubt(s)
	return append(out, d, Derivation{Vehicle: s.ID, Field: "tare-bogie", Value: weight(bogie),
		Working: fmt.Sprintf("all on %s − tractor on %s", weight(*w.AllOn), weight(*w.TractorOn))})
}
