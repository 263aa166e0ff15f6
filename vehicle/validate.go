package vehicle

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strings"

	"underpin/unit"
)

// A FieldError says which field holds what it cannot hold.
type FieldError struct {
	Path     string // "tractor[0].axle[1].tare", as in the fleet file
	Found    string // "tare = 7800 t"
	Expected string // "100 kg to 15 t; 7.8 t was perhaps meant"
}

func (e *FieldError) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.Path, e.Found, e.Expected)
}

var idPattern = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// Validate returns everything that is wrong with the fleet: values outside
// what such a vehicle can have, words that are not known, ids given twice,
// axles out of order, groups whose shares do not sum to 1. Missing data is not
// an error here. Plausible ranges are generous; they are there to catch a slip
// of the unit and are not limits of law.
func (f *Fleet) Validate() []*FieldError {
	var errs []*FieldError
	bad := func(path, found, expected string) {
		errs = append(errs, &FieldError{path, found, expected})
	}
	CheckTags(reflect.ValueOf(f).Elem(), "", bad)

	// What is out of its own bounds is not told a second time for the company it keeps.
	told := map[string]bool{}
	for _, e := range errs {
		told[e.Path] = true
	}
	var pairs reporter = func(path, found, expected string) {
		if !told[path] {
			bad(path, found, expected)
		}
	}

	ids := map[string]string{}
	id := func(path, kind, id string) {
		switch {
		case id == "":
			bad(path, "no id", "an id of small letters, digits and hyphens")
		case !idPattern.MatchString(id):
			bad(path+".id", fmt.Sprintf("id = %q", id), "small letters, digits and hyphens, such as heron-07")
		case ids[kind+id] != "":
			bad(path+".id", fmt.Sprintf("id = %q a second time", id), fmt.Sprintf("an id of its own; %s has it already", ids[kind+id]))
		}
		ids[kind+id] = path
	}
	for i := range f.Tractors {
		t, path := &f.Tractors[i], fmt.Sprintf("tractor[%d]", i)
		id(path, "vehicle ", t.ID)
		if len(t.Axles) < 2 {
			bad(path, fmt.Sprintf("%d axles", len(t.Axles)), "at least two axles, the first the front axle")
		}
		checkAxles(t.Axles, path, true, bad)
		countAxles(t.Axles, path, bad)
		t.consistent(path, pairs)
		t.tickets(path, pairs)
		t.certificate(path, pairs)
		t.FifthWheel.check(path+".fifth-wheel", bad)
		if w := t.Weighbridge; w != nil && w.FrontOn != nil && w.TractorOn != nil && *w.FrontOn >= *w.TractorOn {
			bad(path+".weighbridge.front-on", "front-on not less than tractor-on", "cumulative readings: front axle on, then the whole tractor on")
		}
	}
	for i := range f.Trailers {
		t, path := &f.Trailers[i], fmt.Sprintf("semi-trailer[%d]", i)
		id(path, "vehicle ", t.ID)
		if len(t.Axles) == 0 {
			bad(path, "no axle", "at least one axle")
		}
		checkAxles(t.Axles, path, false, bad)
		countAxles(t.Axles, path, bad)
		t.consistent(path, pairs)
		f.tickets(t, path, pairs)
		certificates(t.certified(), path, pairs)
		checkPinSize(t.Kingpin.Size, path+".kingpin.size", bad)
		if (t.TarePin == nil) != (t.TareBogie == nil) {
			have, lack := "tare-pin", "tare-bogie"
			if t.TarePin == nil {
				have, lack = lack, have
			}
			bad(path+"."+have, have+" without "+lack, "both, or neither and a weighbridge ticket")
		}
		if w := t.Weighbridge; w != nil {
			if w.TractorOn != nil && w.AllOn != nil && *w.TractorOn >= *w.AllOn {
				bad(path+".weighbridge.tractor-on", "tractor-on not less than all-on", "cumulative readings: tractor on, then all on")
			}
			if puller := f.tractor(w.Tractor); puller == nil {
				bad(path+".weighbridge.tractor", fmt.Sprintf("tractor = %q", w.Tractor), "the id of a tractor of this file")
			} else if alone, ok := puller.weighedAlone(); ok && w.TractorOn != nil && *w.TractorOn < alone {
				bad(path+".weighbridge.tractor-on", fmt.Sprintf("tractor-on = %s, less than the tractor %s alone, %s", weight(*w.TractorOn), puller.ID, weight(alone)),
					"a reading that holds the tractor and what the kingpin lays on it")
			}
		}
		if (t.Payload == nil) != (t.PayloadAt == nil) {
			bad(path, "payload and payload-at not given together", "both (the case laden) or neither")
		}
	}
	for i := range f.Loads {
		l, path := &f.Loads[i], fmt.Sprintf("load[%d]", i)
		id(path, "load ", l.ID)
		if l.ID == CaseEmpty || l.ID == CaseLaden {
			bad(path+".id", fmt.Sprintf("id = %q", l.ID), "another id: this case exists without being named")
		}
		if len(l.Items) > 0 && (l.Payload != nil || l.At != nil) {
			bad(path, "both items and payload or at", "either items, or payload with at")
		}
		for k, trailer := range l.For {
			if _, ok := f.Trailer(trailer); !ok {
				bad(fmt.Sprintf("%s.for[%d]", path, k), fmt.Sprintf("for = %q", trailer), "the id of a semi-trailer of this file")
			}
		}
		for k, it := range l.Items {
			if it.Mass == nil || it.At == nil {
				bad(fmt.Sprintf("%s.item[%d]", path, k), "an item without mass or at", "both mass and at")
			}
		}
	}
	return errs
}

// The load cases that every fleet has.
const (
	CaseEmpty = "empty"
	CaseLaden = "laden"
)

func (w *FifthWheel) check(path string, bad func(path, found, expected string)) {
	checkPinSize(w.Pin, path+".pin", bad)
	if s := w.Slider; s != nil {
		switch {
		case s.Foremost == nil || s.Rearmost == nil:
			bad(path+".slider", "a slider without both ends", "foremost and rearmost, each from the front axle")
		case !(*s.Foremost <= *s.Rearmost):
			bad(path+".slider.foremost", fmt.Sprintf("foremost = %s behind rearmost = %s", text(*s.Foremost), text(*s.Rearmost)), "foremost nearer to the front axle")
		case w.At != nil && !(*s.Foremost-1e-9 <= *w.At && *w.At <= *s.Rearmost+1e-9):
			bad(path+".at", "at = "+text(*w.At), fmt.Sprintf("a position on the slider, %s to %s", text(*s.Foremost), text(*s.Rearmost)))
		default:
			s.check(w.At, path, bad)
		}
	}
	set := 0
	for i := range w.Levels {
		if w.Levels[i].Set {
			set++
		}
	}
	if set > 1 {
		bad(path+".level[1].set", "more than one level set", "at most one level with set = true")
	}
}

func checkPinSize(size *unit.Length, path string, bad func(path, found, expected string)) {
	if size == nil {
		return
	}
	for _, nominal := range []unit.Length{0.050, 2 * unit.Inch, 0.090, 3.5 * unit.Inch} {
		if math.Abs(float64(*size-nominal)) < 1e-6 {
			return
		}
	}
	bad(path, lastPart(path)+" = "+text(*size), "50 mm (2 in) or 90 mm (3.5 in), the two nominal sizes")
}

// leastAt is the lower bound of an axle's place, as in its field's tag.
const leastAt unit.Length = -1

func checkAxles(axles []Axle, path string, tractor bool, bad func(path, found, expected string)) {
	var prev unit.Length
	known := true
	steer := 0
	for i := range axles {
		a, p := &axles[i], fmt.Sprintf("%s.axle[%d]", path, i)
		if a.At != nil && a.Gap != nil {
			bad(p+".gap", "both at and gap", "one of them")
		}
		if tractor && i == 0 && a.At != nil && *a.At != 0 {
			bad(p+".at", "at = "+text(*a.At), "0 mm or nothing: the front axle is the datum")
		}
		if !tractor && i == 0 && a.Gap != nil {
			bad(p+".gap", "a gap for the first axle", "at: the kingpin to this axle")
		}
		at, ok := axleAt(axles, i, tractor)
		if a.Gap != nil && !(*a.Gap > 0) || a.At != nil && !(*a.At >= leastAt) || math.IsNaN(float64(at)) {
			ok = false // out of its bounds, and told as that
		}
		if ok && known && i > 0 && !(at > prev) {
			bad(p, fmt.Sprintf("axle %d at %s, not behind axle %d at %s", i+1, text(at), i, text(prev)), "axles listed front to rear, each spacing above zero")
		}
		prev, known = at, ok
		if a.Lifted != nil && !a.Liftable {
			bad(p+".lifted", "lifted on an axle that is not liftable", "liftable = true, or nothing")
		}
		if tractor && i == 0 && a.Kind != "steer" {
			bad(p, fmt.Sprintf("kind = %q on the front axle", a.Kind), "steer")
		}
		if tractor && a.Kind == "" {
			bad(p, "an axle without kind", "kind = steer, drive or idle")
		}
		if !tractor && a.Kind != "" && a.Kind != "idle" {
			bad(p+".kind", fmt.Sprintf("kind = %q on a semi-trailer", a.Kind), "idle or nothing; a steering axle is told by steering")
		}
		if a.Kind == "steer" {
			steer++
		}
	}
	for _, g := range groupsOf(axles, tractor) {
		given, sum, sound := 0, 0.0, true // a share out of its bounds is told as that
		for _, i := range g {
			if axles[i].Share != nil {
				given++
				sum += *axles[i].Share
				sound = sound && 0 <= *axles[i].Share && *axles[i].Share <= 1
			}
		}
		if sound && given > 0 && (given < len(g) || math.Abs(sum-1) > 1e-6) {
			bad(fmt.Sprintf("%s.axle[%d].share", path, g[0]), fmt.Sprintf("shares that sum to %.4g over %d of %d axles", sum, given, len(g)), "a share for each axle of the group, summing to 1")
		}
	}
	if tractor && len(axles) > 0 && steer == len(axles) {
		bad(path, "only steered axles", "at least one drive axle")
	}
}

func text(l unit.Length) string { return unit.Plain(float64(l), unit.MM) }

func lastPart(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }

func (f *Fleet) tractor(id string) *Tractor {
	for i := range f.Tractors {
		if f.Tractors[i].ID == id {
			return &f.Tractors[i]
		}
	}
	return nil
}

// Tractor returns the tractor with this id.
func (f *Fleet) Tractor(id string) (*Tractor, bool) { t := f.tractor(id); return t, t != nil }

// Trailer returns the semi-trailer with this id.
func (f *Fleet) Trailer(id string) (*SemiTrailer, bool) {
	for i := range f.Trailers {
		if f.Trailers[i].ID == id {
			return &f.Trailers[i], true
		}
	}
	return nil, false
}

// Load returns the named load with this id.
func (f *Fleet) Load(id string) (*Load, bool) {
	for i := range f.Loads {
		if f.Loads[i].ID == id {
			return &f.Loads[i], true
		}
	}
	return nil, false
}
