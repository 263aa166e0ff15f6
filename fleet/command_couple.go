package fleet

import (
	"fmt"
	"slices"

	"underpin/record"
	"underpin/store"
)

// Couple says that a vehicle was coupled to the one that tows it.
type Couple struct {
	Meta
	Towed, By          record.Asset
	ByReading, Reading record.MeterReading
	Place              string
}

func (*Couple) spec() (Permission, string) { return Couples, "coupled" }

func (c *Couple) plan(s *step) error {
	towed, err := s.inUse("towed", c.Towed)
	if err != nil {
		return err
	}
	by, err := s.inUse("by", c.By)
	if err != nil {
		return err
	}
	switch {
	case c.Towed == c.By:
		return invalid("", "by", "the vehicle itself", "another vehicle, which tows it")
	case towed.VehicleAdded.Vehicle == record.Tractor:
		return invalid("", "towed", "a tractor", "a semi-trailer or a dolly")
	case by.VehicleAdded.Vehicle == record.SemiTrailer && towed.VehicleAdded.Vehicle == record.SemiTrailer:
		return invalid("", "by", "a semi-trailer", "a tractor or a dolly; a dolly may be towed by a semi-trailer")
	}
	if err := s.checkMeter(towed, "reading", c.Reading); err != nil {
		return err
	}
	if err := s.checkMeter(by, "by_reading", c.ByReading); err != nil {
		return err
	}
	for _, a := range []struct {
		where string
		asset record.Asset
		tows  bool
	}{{"towed", c.Towed, false}, {"by", c.By, true}} {
		p, err := s.lastPeriod(a.asset, func(p *record.Period) bool { return (p.By == a.asset) == a.tows })
		if err != nil {
			return err
		}
		if p != nil && p.To == 0 {
			s.warn(a.where, fmt.Sprintf("a period of %s with %s that began %s and that nobody ended", p.Towed, p.By, p.From), "its end: the distance in it is not known")
		}
	}
	if err := s.compareReading(c.By, c.ByReading); err != nil {
		return err
	}
	if err := s.compareReading(c.Towed, c.Reading); err != nil {
		return err
	}
	return s.enter(c.Towed, record.Coupled{By: c.By, ByReading: c.ByReading, Reading: c.Reading, Place: c.Place})
}

// Uncouple ends the last coupled period of a towed vehicle, or the one that is
// named.
type Uncouple struct {
	Meta
	Towed              record.Asset
	Period             record.ID
	ByReading, Reading record.MeterReading
	Place              string
}

func (*Uncouple) spec() (Permission, string) { return Couples, "uncoupled" }

func (c *Uncouple) plan(s *step) error {
	towed, err := s.vehicle("towed", c.Towed)
	if err != nil {
		return err
	}
	var p *record.Period
	if c.Period == "" {
		p, err = s.lastPeriod(c.Towed, func(p *record.Period) bool { return p.Towed == c.Towed })
	} else {
		var e *record.Entity
		if e, err = s.entity(record.NewAsset(record.PeriodEntity, string(c.Period))); err == nil && e != nil {
			p, err = e.Period(record.Latest)
		}
	}
	switch {
	case err != nil:
		return err
	case p == nil || p.From == 0 || p.Towed != c.Towed:
		return invalid(towed.Number(), "towed", "a vehicle without a coupled period", "one that is coupled")
	case p.To != 0:
		return invalid(towed.Number(), "period", "a period that ended "+p.To.String(), "one that is open; to change the end, correct it")
	case s.meta.Happened < p.From:
		return invalid(towed.Number(), "happened", s.meta.Happened.String(), "not before it was coupled, "+p.From.String())
	}
	if err := s.checkMeter(towed, "reading", c.Reading); err != nil {
		return err
	}
	if by, err := s.vehicle("by", p.By); err == nil {
		if err := s.checkMeter(by, "by_reading", c.ByReading); err != nil {
			return err
		}
	}
	if err := s.compareReading(p.By, c.ByReading); err != nil {
		return err
	}
	if err := s.compareReading(c.Towed, c.Reading); err != nil {
		return err
	}
	return s.enter(c.Towed, record.Uncoupled{Period: p.ID, ByReading: c.ByReading, Reading: c.Reading, Place: c.Place})
}

// lastPeriod returns the newest coupled period of a vehicle of which that is
// true, or nil.
func (s *step) lastPeriod(a record.Asset, is func(*record.Period) bool) (*record.Period, error) {
	rows, err := s.r.store.Beside(s.ctx, store.BesideQuery{Asset: a, Kind: record.PeriodEntity, Limit: 50})
	if err != nil {
		return nil, err
	}
	for i := range rows {
		e, err := rows[i].Entity()
		if err != nil {
			return nil, err
		}
		p, err := e.Period(record.Latest)
		if err != nil {
			return nil, err
		}
		if p.From != 0 && is(p) {
			return p, nil
		}
	}
	return nil, nil
}

// openPeriod returns the coupled period in which a vehicle is now, or nil.
func (s *step) openPeriod(a record.Asset) (*record.Period, error) {
	p, err := s.lastPeriod(a, func(*record.Period) bool { return true })
	if err != nil || p == nil || p.To != 0 {
		return nil, err
	}
	return p, nil
}

func meterOf(a record.Asset, meter string) store.Meter { return store.Meter{Asset: a, Name: meter} }

// near is how far to either side of a reading the readings around it are looked
// for.
const near = 400 * 24 * 3600 * record.Time(1_000_000)

// compareReading warns when a reading that was taken along does not lie between
// those before and after it. It is entered as it is.
func (s *step) compareReading(a record.Asset, m record.MeterReading) error {
	if m.Metres == nil {
		return nil
	}
	at := s.meta.Happened
	around, err := s.r.store.ReadingsOf(s.ctx, meterOf(a, m.Meter), at-near, at+near)
	if err != nil {
		return err
	}
	i, _ := slices.BinarySearchFunc(around, at, func(r record.Reading, t record.Time) int {
		if r.At < t {
			return -1
		}
		return 1
	})
	if i > 0 && around[i-1].Metres > *m.Metres {
		s.warn("reading", km(*m.Metres), "at least "+km(around[i-1].Metres)+", read on "+day(around[i-1].At))
	}
	if i < len(around) && around[i].Metres < *m.Metres {
		s.warn("reading", km(*m.Metres), "at most "+km(around[i].Metres)+", read on "+day(around[i].At))
	}
	return nil
}

func km(metres int64) string { return fmt.Sprintf("%.0f km", float64(metres)/1000) }
