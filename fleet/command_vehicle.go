package fleet

import (
	"fmt"

	"underpin/record"
)

// AddVehicle adds a tractor, a semi-trailer or a dolly. Fields are those of the
// fleet file; id, the fleet number, must be there, and all else may be unknown.
type AddVehicle struct {
	Meta
	Details record.VehicleAdded
}

func (*AddVehicle) spec() (Permission, string) { return Design, "vehicle-added" }

func (c *AddVehicle) plan(s *step) error {
	a, err := s.newAsset(record.VehicleAsset)
	if err != nil {
		return err
	}
	d := c.Details
	d.Fields = clean(d.Fields)
	if err := s.checkVehicle(d, record.VehicleAdded{}); err != nil {
		return err
	}
	return s.enter(a, d)
}

// checkVehicle holds typed details against what can be, and against the rest of
// the register.
func (s *step) checkVehicle(d, before record.VehicleAdded) error {
	var failed error
	problems := checkVehicle(d, func(number string) bool {
		a, err := s.key("vehicle:" + folded(number))
		if err != nil || a == "" {
			failed = err
			return false
		}
		e, err := s.entity(a)
		if err != nil || e == nil {
			failed = err
			return false
		}
		v, err := e.Vehicle(record.Latest)
		failed = err
		return err == nil && v.VehicleAdded.Vehicle == record.Tractor
	})
	if failed != nil {
		return failed
	}
	if len(problems) > 0 {
		return &Invalid{Problems: problems}
	}
	if err := s.actor.at(d.Depot, "a vehicle of "+string(d.Depot)); err != nil {
		return err
	}
	return s.useDepot("depot", d.Depot, before.Depot)
}

// ChangeVehicle makes the vehicle's details what was typed. Version is that of
// the details that the person looked at; when they changed since, the error is a
// *Conflict.
type ChangeVehicle struct {
	Meta
	Asset   record.Asset
	Version string
	Details record.VehicleAdded
}

func (*ChangeVehicle) spec() (Permission, string) { return Design, "vehicle-changed" }

func (c *ChangeVehicle) plan(s *step) error {
	v, err := s.vehicle("asset", c.Asset)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	d := c.Details
	d.Fields = clean(d.Fields)
	if d.Vehicle != v.VehicleAdded.Vehicle {
		return invalid(v.Number(), "vehicle", show(encoded(d.Vehicle)), v.VehicleAdded.Vehicle+": what a vehicle is never changes; correct the record that added it")
	}
	e, err := s.entity(c.Asset)
	if err != nil {
		return err
	}
	// Who typed on an old version is told so first: what is wrong with it may be
	// settled already.
	if c.Version == versionOf(e) {
		if err := s.checkVehicle(d, v.VehicleAdded); err != nil {
			return err
		}
	}
	return s.change(e, c.Version, d, func(c record.Changes) record.Body { return record.VehicleChanged{Changes: c} })
}

// ScrapVehicle ends a vehicle's use. What still sits on it stays in the books as
// fitted to it.
type ScrapVehicle struct {
	Meta
	Asset   record.Asset
	Reading record.MeterReading
}

func (*ScrapVehicle) spec() (Permission, string) { return Design, "vehicle-scrapped" }

func (c *ScrapVehicle) plan(s *step) error {
	v, err := s.inUse("asset", c.Asset)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	if err := s.checkMeter(v, "reading", c.Reading); err != nil {
		return err
	}
	for _, f := range v.Fitted() {
		s.warn(f.Place, string(f.Part)+", which is still fitted to it", "its removal, or that it is scrapped as well")
	}
	if p, err := s.openPeriod(c.Asset); err != nil {
		return err
	} else if p != nil {
		return invalid(v.Number(), "asset", fmt.Sprintf("a vehicle that is coupled since %s", p.From), "uncoupling first")
	}
	return s.enter(c.Asset, record.VehicleScrapped{Reading: c.Reading})
}

// inUse returns a vehicle that is not scrapped.
func (s *step) inUse(where string, a record.Asset) (*record.Vehicle, error) {
	v, err := s.vehicle(where, a)
	if err != nil {
		return nil, err
	}
	if v.Scrapped != 0 {
		return nil, invalid("", where, fmt.Sprintf("%s, which was scrapped on %s", v.Number(), day(v.Scrapped)), "a vehicle in use")
	}
	return v, nil
}

// checkMeter tells whether a vehicle can have such a meter.
func (s *step) checkMeter(v *record.Vehicle, where string, m record.MeterReading) error {
	if m.Metres == nil && m.Meter == "" {
		return nil
	}
	if m.Metres == nil {
		return nil // it was not read
	}
	return checkMeterName(v.VehicleAdded.Vehicle, v.Number(), where+".meter", m.Meter)
}

func checkMeterName(vehicle, number, where, meter string) error {
	tractor := vehicle == record.Tractor
	switch {
	case meter == record.Odometer && !tractor:
		return invalid(number, where, "the odometer of a "+vehicle, "hub or brake: it has no odometer")
	case meter == record.Brake && tractor:
		return invalid(number, where, "the brake controller of a tractor", "odometer")
	case meter != record.Odometer && meter != record.HubMeter && meter != record.Brake:
		return invalid(number, where, show(encoded(meter)), "odometer, hub or brake")
	}
	return nil
}

// ReplaceMeter says that a vehicle's meter was replaced.
type ReplaceMeter struct {
	Meta
	Vehicle record.Asset
	Meter   string
	Old     *int64 // metres at the end; nil: nobody read it
	New     int64  // metres at the start
}

func (*ReplaceMeter) spec() (Permission, string) { return Fit, "meter-replaced" }

func (c *ReplaceMeter) plan(s *step) error {
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := checkMeterName(v.VehicleAdded.Vehicle, v.Number(), "meter", c.Meter); err != nil {
		return err
	}
	return s.enter(c.Vehicle, record.MeterReplaced{Meter: c.Meter, Old: c.Old, New: c.New})
}

// JudgeReading says what a person decided on a reading that was questioned. The
// reading itself stays as it came.
type JudgeReading struct {
	Meta
	Vehicle  record.Asset
	Meter    string
	At       record.Time
	Metres   int64
	Decision string // record.KeepReading, LeaveReading or ReadAs
	ReadAs   *int64
}

func (*JudgeReading) spec() (Permission, string) { return Fit, "reading-judged" }

func (c *JudgeReading) plan(s *step) error {
	v, err := s.vehicle("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	have, err := s.r.store.ReadingsOf(s.ctx, meterOf(c.Vehicle, c.Meter), c.At, c.At)
	if err != nil {
		return err
	}
	for _, r := range have {
		if r.Metres == c.Metres {
			return s.enter(c.Vehicle, record.ReadingJudged{Meter: c.Meter, At: c.At, Metres: c.Metres, Decision: c.Decision, ReadAs: c.ReadAs})
		}
	}
	return &NotFound{What: "reading of " + v.Number(), Name: fmt.Sprintf("%s %d m on %s", c.Meter, c.Metres, c.At)}
}
