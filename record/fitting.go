package record

import (
	"cmp"
	"fmt"
	"slices"
)

// A Fitting is a stretch of time in which a part sat on a vehicle.
type Fitting struct {
	Part        Asset        `json:"part"`
	Vehicle     Asset        `json:"vehicle"`
	Place       string       `json:"place"`
	From        Time         `json:"from"`
	FromReading MeterReading `json:"from_reading,omitzero"`
	To          Time         `json:"to,omitempty"` // 0: still there
	ToReading   MeterReading `json:"to_reading,omitzero"`
	Fitted      ID           `json:"fitted"`            // the record that says so
	Removed     ID           `json:"removed,omitempty"` // the record that ends it
	// Ended says what ended the fitting where nobody entered a removal: the part
	// was fitted again or scrapped at To.
	Ended string `json:"ended,omitempty"`
}

// Open tells whether the part still sat there at the instant of the view.
func (f *Fitting) Open() bool { return f.To == 0 }

// A fitter pairs the fittings of one part with its removals.
type fitter struct {
	fittings []Fitting
	problems []string
}

// fittings are those of a part, oldest first, as of an instant.
func (e *Entity) fittings(at Time) (fitter, error) {
	var f fitter
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "part-fitted":
			var b PartFitted
			if err := entry.read(&b); err != nil {
				return err
			}
			f.end(entry, "fitted again")
			f.fittings = append(f.fittings, Fitting{Part: e.Asset, Vehicle: b.Vehicle, Place: b.Place, From: entry.Happened, FromReading: b.Reading, Fitted: entry.ID})
		case "part-removed":
			var b PartRemoved
			if err := entry.read(&b); err != nil {
				return err
			}
			n := len(f.fittings) - 1
			if n < 0 || !f.fittings[n].Open() || f.fittings[n].Vehicle != b.Vehicle {
				f.problems = append(f.problems, fmt.Sprintf("removed from %s on %s, but no record says that it was fitted there", b.Vehicle, entry.Happened))
				return nil
			}
			was := &f.fittings[n]
			was.To, was.ToReading, was.Removed = entry.Happened, b.Reading, entry.ID
		case "part-scrapped":
			f.end(entry, "scrapped")
		}
		return nil
	})
	return f, err
}

// end closes the open fitting for which no removal was entered.
func (f *fitter) end(e *Entry, why string) {
	n := len(f.fittings) - 1
	if n < 0 || !f.fittings[n].Open() {
		return
	}
	was := &f.fittings[n]
	was.To, was.Removed, was.Ended = e.Happened, e.ID, why
	f.problems = append(f.problems, fmt.Sprintf("%s on %s, but no record says that it was removed from %s", why, e.Happened, was.Vehicle))
}

// fittingsAt are fittings as they stood at an instant.
func fittingsAt(all []Fitting, at Time) []Fitting {
	var then []Fitting
	for _, f := range all {
		if f.From > at {
			continue
		}
		if f.To > at {
			f.To, f.ToReading, f.Removed, f.Ended = 0, MeterReading{}, "", ""
		}
		then = append(then, f)
	}
	return then
}

// fittingProblems says what a vehicle's fittings contradict.
func fittingProblems(all []Fitting) []string {
	var problems []string
	for i := range all {
		b := &all[i]
		if b.Ended != "" {
			problems = append(problems, fmt.Sprintf("%s was %s on %s, but no record says that it was removed", b.Part, b.Ended, b.To))
		}
		for j := range i {
			if a := &all[j]; a.Place == b.Place && a.Part != b.Part && overlap(a.From, a.To, b.From, b.To) {
				problems = append(problems, fmt.Sprintf("%s and %s are both fitted as %s from %s", a.Part, b.Part, b.Place, max(a.From, b.From)))
			}
		}
	}
	return problems
}

// overlap tells whether two stretches of time share more than an instant. An end
// of 0 is open.
func overlap(a0, a1, b0, b1 Time) bool {
	return (a1 == 0 || b0 < a1) && (b1 == 0 || a0 < b1)
}

// Fitted returns what sits on the vehicle, by place.
func (v *Vehicle) Fitted() []Fitting {
	var now []Fitting
	for _, f := range v.Fittings {
		if f.Open() {
			now = append(now, f)
		}
	}
	slices.SortStableFunc(now, func(a, b Fitting) int { return cmp.Compare(a.Place, b.Place) })
	return now
}
