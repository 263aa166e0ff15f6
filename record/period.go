package record

// A Period is a stretch of time in which a vehicle was coupled to the one that
// towed it.
type Period struct {
	ID        ID // of the record that began it
	Towed, By Asset
	From      Time // 0: the record that began it was voided
	To        Time // 0: still coupled, or nobody entered the end

	FromBy, ToBy     MeterReading // of the vehicle that towed
	FromOwn, ToOwn   MeterReading // of the towed vehicle's own meter
	Coupled, Dropped string       // places
}

// Period is the view of a coupled period at an instant.
func (e *Entity) Period(at Time) (*Period, error) {
	p := &Period{ID: ID(e.Asset.Name())}
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "coupled":
			var c Coupled
			if err := entry.read(&c); err != nil {
				return err
			}
			p.Towed, p.By, p.From = entry.Chain, c.By, entry.Happened
			p.FromBy, p.FromOwn, p.Coupled = c.ByReading, c.Reading, c.Place
		case "uncoupled":
			var u Uncoupled
			if err := entry.read(&u); err != nil {
				return err
			}
			p.To, p.ToBy, p.ToOwn, p.Dropped = entry.Happened, u.ByReading, u.Reading, u.Place
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}
