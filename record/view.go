package record

import (
	"encoding/json"
	"fmt"
)

// A view says what is true of an asset at an instant, as far as is known today.
// Everything that had happened by then counts, whenever it was entered. What the
// records contradict is listed as problems and not smoothed over.

// A Vehicle is the view of a tractor, semi-trailer or dolly.
type Vehicle struct {
	VehicleAdded
	Asset     Asset
	Added     Time // 0: no record adds it, though others speak of it
	Scrapped  Time // 0: in use
	Fittings  []Fitting
	Meters    []MeterChange
	Judged    []Judgement
	Documents []Document
	Sheets    []Sheet `json:",omitempty"` // mounting specifications that were kept, oldest first
	Built     []Built `json:",omitempty"` // mountings that were fitted, oldest first
	Upkeep    *Upkeep `json:",omitempty"` // greasing, gauge sheets, outcomes, work; nil: nothing was entered
	Yard      *Yard   `json:",omitempty"` // checks, defects, where it was left; nil: nothing was entered
	Problems  []string
}

// Number is the fleet number, as the fleet file has it.
func (v *Vehicle) Number() string { return fieldText(v.Fields, "id") }

// Name is the name shown to people.
func (v *Vehicle) Name() string { return fieldText(v.Fields, "name") }

func fieldText(f Fields, name string) string {
	var s string
	if json.Unmarshal(f[name], &s) != nil {
		return ""
	}
	return s
}

// A MeterChange is a replaced meter, with when it happened.
type MeterChange struct {
	MeterReplaced
	At Time
}

// A Judgement is what a person decided on a reading.
type Judgement struct {
	ReadingJudged
	Decided Time
	Who     Who
}

// A Document is a photo or paper attached to an asset.
type Document struct {
	DocumentAttached
	ID  ID
	At  Time
	Who Who
}

// Vehicle is the view of a vehicle at an instant.
func (e *Entity) Vehicle(at Time) (*Vehicle, error) {
	v := &Vehicle{Asset: e.Asset}
	var d details[VehicleAdded]
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "vehicle-added":
			v.Added, d.added = entry.Happened, entry
		case "vehicle-changed":
			return d.change(entry)
		case "vehicle-scrapped":
			v.Scrapped = entry.Happened
		case "meter-replaced":
			m := MeterChange{At: entry.Happened}
			if err := entry.read(&m.MeterReplaced); err != nil {
				return err
			}
			v.Meters = append(v.Meters, m)
		case "reading-judged":
			j := Judgement{Decided: entry.Happened, Who: entry.Who}
			if err := entry.read(&j.ReadingJudged); err != nil {
				return err
			}
			v.Judged = append(v.Judged, j)
		case "document-attached":
			return entry.document(&v.Documents)
		case "specification-kept", "mounting-built", "bolts-tightened":
			return v.sheet(entry)
		case "task-done", "sheet-filled", "outcome-given", "work-signed", "play-taken-up", "returned-to-service", "use-blocked", "use-cleared":
			return v.upkeep(entry)
		case "check-done", "trailer-dropped", "slider-set", "defect-reported", "defect-closed":
			return v.yard(entry)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if v.VehicleAdded, err = d.whole(); err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	v.Fittings = fittingsAt(e.Fittings, at)
	v.Problems = fittingProblems(v.Fittings)
	return v, nil
}

// A Part is the view of a coupling, kingpin or other part.
type Part struct {
	PartAdded
	Asset     Asset
	Added     Time
	Scrapped  Time
	Fittings  []Fitting // its history, oldest first
	Stored    Asset     // the depot where it lies; empty while fitted, scrapped or unknown
	Documents []Document
	Problems  []string
}

// On returns where the part sits, or nil.
func (p *Part) On() *Fitting {
	if n := len(p.Fittings); n > 0 && p.Fittings[n-1].Open() {
		return &p.Fittings[n-1]
	}
	return nil
}

// Part is the view of a part at an instant.
func (e *Entity) Part(at Time) (*Part, error) {
	p := &Part{Asset: e.Asset}
	var d details[PartAdded]
	err := e.until(at, func(entry *Entry) error {
		var body struct {
			Depot Asset
			Set   struct{ Depot Asset }
		}
		switch entry.Kind {
		case "part-added":
			p.Added, d.added = entry.Happened, entry
		case "part-changed":
			if err := d.change(entry); err != nil {
				return err
			}
		case "part-fitted":
			p.Stored = ""
			return nil
		case "part-removed":
			p.Stored = ""
		case "part-scrapped":
			p.Scrapped = entry.Happened
			return nil
		case "document-attached":
			return entry.document(&p.Documents)
		default:
			return nil
		}
		if err := entry.read(&body); err != nil {
			return err
		}
		if depot := body.Depot + body.Set.Depot; depot != "" { // a body has one or the other
			p.Stored = depot
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if p.PartAdded, err = d.whole(); err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	fits, err := e.fittings(at)
	if err != nil {
		return nil, err
	}
	p.Fittings, p.Problems = fits.fittings, fits.problems
	if p.On() != nil || p.Scrapped != 0 {
		p.Stored = ""
	}
	return p, nil
}

// details gathers what was said of an asset when it was added, and what changed
// since.
type details[T any] struct {
	added   *Entry
	changes []Changes
}

func (d *details[T]) change(e *Entry) error {
	var c Changes
	if err := e.read(&c); err != nil {
		return err
	}
	d.changes = append(d.changes, c)
	return nil
}

func (d *details[T]) whole() (T, error) {
	var t T
	if d.added != nil && len(d.changes) == 0 {
		return t, d.added.read(&t)
	}
	all := Fields{}
	if d.added != nil {
		if err := d.added.read(&all); err != nil {
			return t, err
		}
	}
	for _, c := range d.changes {
		if err := c.overlay(all); err != nil {
			return t, err
		}
	}
	raw, err := marshal(all)
	if err != nil {
		return t, err
	}
	return t, json.Unmarshal(raw, &t)
}

func (e *Entry) read(into any) error { return json.Unmarshal(e.Body, into) }

func (e *Entry) document(list *[]Document) error {
	d := Document{ID: e.ID, At: e.Happened, Who: e.Who}
	if err := e.read(&d.DocumentAttached); err != nil {
		return err
	}
	*list = append(*list, d)
	return nil
}
