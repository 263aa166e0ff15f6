package fleet

import (
	"fmt"
	"slices"
	"strings"

	"underpin/record"
	"underpin/store"
)

// AddPart adds a fifth wheel, a kingpin or another part with a life of its own.
type AddPart struct {
	Meta
	Details record.PartAdded
}

func (*AddPart) spec() (Permission, string) { return Fit, "part-added" }

func (c *AddPart) plan(s *step) error {
	a, err := s.newAsset(record.PartAsset)
	if err != nil {
		return err
	}
	if err := s.checkPart(a, c.Details, record.PartAdded{}); err != nil {
		return err
	}
	return s.enter(a, c.Details)
}

// checkPart holds a part's details against the rest of the register.
func (s *step) checkPart(a record.Asset, d, before record.PartAdded) error {
	var problems []Problem
	if n := d.Pin; n != nil && *n != 50 && *n != 90 {
		problems = append(problems, Problem{"pin_mm", fmt.Sprintf("%d mm", *n), "50 mm (2 in) or 90 mm (3.5 in), the two nominal sizes"})
	}
	marked := d.D != nil || d.Imposed != nil || d.Pin != nil
	if marked && d.ReadFrom == "" {
		problems = append(problems, Problem{"read_from", "nothing", "where the marked values were read: plate, document or memory"})
	}
	if len(problems) > 0 {
		return &Invalid{Problems: problems}
	}
	if err := s.actor.at(d.Depot, "a part of "+string(d.Depot)); err != nil {
		return err
	}
	if err := s.useDepot("depot", d.Depot, before.Depot); err != nil {
		return err
	}
	if err := s.useType(d.Type, d.Part); err != nil {
		return err
	}
	if d.Serial == "" || strings.EqualFold(d.Serial, before.Serial) && d.Type == before.Type {
		return nil
	}
	return s.checkSerial(a, d)
}

// checkSerial looks for a part with the same serial: of one type no two have it,
// and of types that are not known it must be looked at.
func (s *step) checkSerial(a record.Asset, d record.PartAdded) error {
	for _, other := range s.serials[serialName(d.Part, d.Serial)] {
		e, err := s.plan.entity(other)
		if err != nil {
			return err
		}
		if e == nil || other == a {
			continue
		}
		p, err := e.Part(record.Latest)
		if err != nil {
			return err
		}
		if err := s.sameSerial(d, &Part{Part: *p}); err != nil {
			return err
		}
	}
	if name := serialName(d.Part, d.Serial); !slices.Contains(s.serials[name], a) {
		s.serials[name] = append(s.serials[name], a)
	}
	found, err := s.r.store.Find(s.ctx, store.FindQuery{Text: d.Serial, Kinds: []string{record.PartAsset}, Limit: 50})
	if err != nil {
		return err
	}
	for i := range found {
		if found[i].Asset == a || s.ahead[found[i].Asset] != nil {
			continue
		}
		p, err := partOfLine(&found[i])
		if err != nil {
			return err
		}
		if err := s.sameSerial(d, p); err != nil {
			return err
		}
	}
	return nil
}

func (s *step) sameSerial(d record.PartAdded, p *Part) error {
	switch {
	case p.PartAdded.Part != d.Part || !strings.EqualFold(strings.TrimSpace(p.Serial), strings.TrimSpace(d.Serial)) || p.Added == 0:
	case d.Type != "" && p.Type == d.Type:
		return invalid("", "serial", show(encoded(d.Serial))+", which "+string(p.Asset)+" of the same type has already", "the serial of a part that is not yet in the register")
	case d.Type == "" || p.Type == "":
		s.warn("serial", show(encoded(d.Serial))+", which "+string(p.Asset)+" has as well", "another serial, or another type: this may be the same part twice")
	}
	return nil
}

// ChangePart makes the part's details what was typed.
type ChangePart struct {
	Meta
	Asset   record.Asset
	Version string
	Details record.PartAdded
}

func (*ChangePart) spec() (Permission, string) { return Fit, "part-changed" }

func (c *ChangePart) plan(s *step) error {
	p, err := s.part("asset", c.Asset)
	if err != nil {
		return err
	}
	if err := s.atPart(p); err != nil {
		return err
	}
	if c.Details.Part != p.PartAdded.Part {
		return invalid("", "part", show(encoded(c.Details.Part)), p.PartAdded.Part+": what a part is never changes; correct the record that added it")
	}
	e, err := s.entity(c.Asset)
	if err != nil {
		return err
	}
	if c.Version == versionOf(e) {
		if err := s.checkPart(c.Asset, c.Details, p.PartAdded); err != nil {
			return err
		}
	}
	return s.change(e, c.Version, c.Details, func(c record.Changes) record.Body { return record.PartChanged{Changes: c} })
}

// atPart tells whether the actor may change what lies or sits where the part does.
func (s *step) atPart(p *record.Part) error {
	depot := p.Stored
	if on := p.On(); on != nil {
		v, err := s.vehicle("vehicle", on.Vehicle)
		if _, unknown := err.(*NotFound); unknown {
			return nil
		}
		if err != nil {
			return err
		}
		depot = v.Depot
	}
	return s.actor.at(depot, "a part of "+string(depot))
}

// whole returns a part that is not scrapped.
func (s *step) whole(where string, a record.Asset) (*record.Part, error) {
	p, err := s.part(where, a)
	if err != nil {
		return nil, err
	}
	if p.Scrapped != 0 {
		return nil, invalid("", where, fmt.Sprintf("a part that was scrapped on %s", day(p.Scrapped)), "a part in use")
	}
	return p, s.atPart(p)
}

// ScrapPart ends the life of a part that is not fitted.
type ScrapPart struct {
	Meta
	Asset record.Asset
}

func (*ScrapPart) spec() (Permission, string) { return Fit, "part-scrapped" }

func (c *ScrapPart) plan(s *step) error {
	p, err := s.whole("asset", c.Asset)
	if err != nil {
		return err
	}
	if on := p.On(); on != nil {
		return invalid("", "asset", fmt.Sprintf("a part that is fitted to %s", on.Vehicle), "its removal first, with odometer and date")
	}
	return s.contradicting([]record.Asset{c.Asset}, func() error { return s.enter(c.Asset, record.PartScrapped{}) })
}

// FitPart says that a part was fitted to a vehicle. Place left out is the one
// where such a part belongs.
type FitPart struct {
	Meta
	Part, Vehicle record.Asset
	Place         string
	Reading       record.MeterReading
}

func (*FitPart) spec() (Permission, string) { return Fit, "part-fitted" }

func (c *FitPart) plan(s *step) error {
	p, err := s.whole("part", c.Part)
	if err != nil {
		return err
	}
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	if err := s.checkMeter(v, "reading", c.Reading); err != nil {
		return err
	}
	place := c.Place
	if place == "" {
		place = p.PartAdded.Part
	}
	if err := checkPlace(place, p.PartAdded.Part, v.VehicleAdded.Vehicle); err != nil {
		return err
	}
	if c.Reading.Metres == nil && v.VehicleAdded.Vehicle == record.Tractor {
		s.warn("reading", "no reading", "the odometer as the part was fitted: without it the part's distance is only as good as the readings around that day")
	}
	if err := s.compareReading(c.Vehicle, c.Reading); err != nil {
		return err
	}
	return s.contradicting([]record.Asset{c.Part, c.Vehicle}, func() error {
		return s.enter(c.Part, record.PartFitted{Vehicle: c.Vehicle, Place: place, Reading: c.Reading})
	})
}

// checkPlace tells whether a part belongs in a place of such a vehicle. Places
// that are not known by name are free.
func checkPlace(place, part, vehicle string) error {
	if known := map[string]string{record.AtFifthWheel: record.FifthWheel, record.AtKingpin: record.Kingpin}[place]; known != "" && part != known {
		return invalid("", "place", place+" for a "+part, "a "+known+" there, or another place")
	}
	var on []string
	switch part {
	case record.FifthWheel, record.Mounting:
		on = []string{record.Tractor, record.Dolly}
	case record.Kingpin, record.RubbingPlate:
		on = []string{record.SemiTrailer}
	default:
		return nil
	}
	if !slices.Contains(on, vehicle) {
		return invalid("", "vehicle", "a "+vehicle+" for a "+part, "a "+strings.Join(on, " or "))
	}
	return nil
}

// RemovePart says that a part was taken off the vehicle it sits on.
type RemovePart struct {
	Meta
	Part      record.Asset
	Reading   record.MeterReading
	Depot     record.Asset // where it lies now
	Condition string
}

func (*RemovePart) spec() (Permission, string) { return Fit, "part-removed" }

func (c *RemovePart) plan(s *step) error {
	p, err := s.whole("part", c.Part)
	if err != nil {
		return err
	}
	on := p.On()
	if on == nil {
		return invalid("", "part", "a part that is not fitted", "one that is")
	}
	if s.meta.Happened < on.From {
		return invalid("", "happened", s.meta.Happened.String(), "not before it was fitted, "+on.From.String())
	}
	v, err := s.vehicle("vehicle", on.Vehicle)
	if err != nil {
		return err
	}
	if err := s.checkMeter(v, "reading", c.Reading); err != nil {
		return err
	}
	if err := s.useDepot("depot", c.Depot, ""); err != nil {
		return err
	}
	if m := on.FromReading; m.Metres != nil && c.Reading.Metres != nil && m.Meter == c.Reading.Meter && *c.Reading.Metres < *m.Metres {
		s.warn("reading", fmt.Sprintf("%d km", *c.Reading.Metres/1000), fmt.Sprintf("at least %d km, which the meter showed as the part was fitted; or a record that the meter was replaced", *m.Metres/1000))
	}
	if c.Reading.Metres == nil && v.VehicleAdded.Vehicle == record.Tractor {
		s.warn("reading", "no reading", "the odometer as the part was removed: without it the part's distance is only as good as the readings around that day")
	}
	if err := s.compareReading(on.Vehicle, c.Reading); err != nil {
		return err
	}
	return s.contradicting([]record.Asset{c.Part, on.Vehicle}, func() error {
		return s.enter(c.Part, record.PartRemoved{Vehicle: on.Vehicle, Reading: c.Reading, Depot: c.Depot, Condition: c.Condition})
	})
}

// contradicting enters what fn enters unless that makes the records contradict
// each other where they did not before.
func (s *step) contradicting(about []record.Asset, fn func() error) error {
	before, err := s.problemsOf(about)
	if err != nil {
		return err
	}
	if err := fn(); err != nil {
		return err
	}
	after, err := s.problemsOf(about)
	if err != nil {
		return err
	}
	var list []Problem
	for _, why := range after {
		if !slices.Contains(before, why) {
			list = append(list, Problem{"happened", why, "records that do not contradict each other"})
		}
	}
	if len(list) > 0 {
		return &Invalid{Problems: list}
	}
	return nil
}

// problemsOf lists what the records of vehicles and parts contradict now.
func (s *step) problemsOf(about []record.Asset) ([]string, error) {
	var list []string
	for _, a := range about {
		e, err := s.entity(a)
		if err != nil {
			return nil, err
		}
		if e == nil {
			continue
		}
		switch a.Kind() {
		case record.VehicleAsset:
			v, err := e.Vehicle(record.Latest)
			if err != nil {
				return nil, err
			}
			list = append(list, v.Problems...)
		case record.PartAsset:
			p, err := e.Part(record.Latest)
			if err != nil {
				return nil, err
			}
			list = append(list, p.Problems...)
		}
	}
	return list, nil
}
