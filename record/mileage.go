package record

import (
	"cmp"
	"slices"

	"underpin/unit"
)

// How the distance of a span is known.
type How string

const (
	ByBrake    How = "brake"    // from the trailer's brake controller
	ByHub      How = "hub"      // from the hub meter
	ByOdometer How = "odometer" // from the vehicle's own odometer
	ByPeriod   How = "period"   // from the tractor that pulled it
	Standing   How = "standing" // between two coupled periods: it stood where it was left
)

// A Span is a stretch of time with a distance that is known.
type Span struct {
	From, To Time
	Distance unit.Length
	How      How
	By       Asset // the vehicle that towed, for ByPeriod
	// Read tells that both ends were read. Otherwise an end lies on the line between
	// two readings.
	Read bool
}

// A Gap is a stretch of time in which the distance is not known, and why.
type Gap struct {
	From, To Time
	Why      string
}

// A Mileage is how far a vehicle, and so what sits on it, ran between two
// instants. Where there are gaps the distance is only what is known of it; the
// vehicle ran at least that far.
type Mileage struct {
	From, To Time
	Known    unit.Length
	Spans    []Span
	Gaps     []Gap
}

// Whole tells whether the distance is known from end to end.
func (m *Mileage) Whole() bool { return len(m.Gaps) == 0 }

// A Traveller is what is needed to say how far a vehicle ran.
type Traveller struct {
	// Own are the courses of its own meters, by meter.
	Own map[string]*Course
	// Periods are those in which it was towed; none for a tractor.
	Periods []Period
	// Towing returns the course of the odometer of a vehicle that towed it, or nil.
	Towing func(Asset) *Course
	// Towed tells that it is a trailer or dolly, and moves only when towed.
	Towed bool
}

// Between returns how far the vehicle ran. A trailer's own brake controller goes
// before its hub meter, and both before the coupled periods; where one of them is
// silent the next is asked. What none of them tells is a gap, and a gap is never
// filled with a guess.
func (t *Traveller) Between(from, to Time) Mileage {
	m := Mileage{From: from, To: to}
	open := []Gap{{From: from, To: to}}
	if from >= to {
		return m
	}
	for _, own := range []struct {
		meter string
		how   How
	}{{Brake, ByBrake}, {HubMeter, ByHub}, {Odometer, ByOdometer}} {
		if c := t.Own[own.meter]; c != nil {
			open = m.fill(open, c, own.how)
		}
	}
	if t.Towed {
		periods, guessed := CloseGaps(t.Periods)
		var left []Gap
		for _, g := range open {
			left = append(left, t.towed(&m, g, periods, guessed)...)
		}
		open = left
	} else {
		for i := range open {
			open[i].Why = "no reading reaches there"
		}
	}
	slices.SortFunc(m.Spans, func(a, b Span) int { return cmp.Compare(a.From, b.From) })
	slices.SortFunc(open, func(a, b Gap) int { return cmp.Compare(a.From, b.From) })
	m.Gaps = open
	for _, s := range m.Spans {
		m.Known += s.Distance
	}
	return m
}

// fill takes from the gaps what a course of the vehicle's own knows, and returns
// what is left.
func (m *Mileage) fill(gaps []Gap, c *Course, how How) []Gap {
	for _, s := range c.clean() {
		var left []Gap
		for _, g := range gaps {
			a, b := max(g.From, s[0]), min(g.To, s[1])
			if a >= b {
				left = append(left, g)
				continue
			}
			d, read, ok := c.Between(a, b)
			if !ok {
				left = append(left, g)
				continue
			}
			m.Spans = append(m.Spans, Span{From: a, To: b, Distance: d, How: how, Read: read})
			if g.From < a {
				left = append(left, Gap{From: g.From, To: a})
			}
			if b < g.To {
				left = append(left, Gap{From: b, To: g.To})
			}
		}
		gaps = left
	}
	return gaps
}

// towed fills one gap from the coupled periods, and returns what stays open.
func (t *Traveller) towed(m *Mileage, g Gap, periods []Period, guessed map[ID]bool) []Gap {
	var left []Gap
	lose := func(from, to Time, why string) {
		if from < to {
			left = append(left, Gap{from, to, why})
		}
	}
	at := g.From // up to here all is said
	var before *Period
	for i := range periods {
		p := &periods[i]
		end := p.To
		if end == 0 {
			end = Latest
		}
		if end <= g.From {
			before = p
			continue
		}
		if p.From >= g.To {
			break
		}
		a, b := max(p.From, g.From), min(end, g.To)
		if at < a {
			t.stood(m, at, a, before, p, lose)
			at = a
		}
		a = max(a, at)
		if a < b {
			if guessed[p.ID] {
				lose(a, b, "nobody entered when the coupled period with "+string(p.By)+" ended")
			} else {
				left = append(left, t.pulled(m, p, a, b)...)
			}
			at = b
		}
		before = p
	}
	if at < g.To {
		t.stood(m, at, g.To, before, nil, lose)
	}
	return left
}

// stood says what is known of a time between two coupled periods.
func (t *Traveller) stood(m *Mileage, from, to Time, before, after *Period, lose func(Time, Time, string)) {
	switch {
	case before == nil:
		lose(from, to, "no coupled period was entered before then")
	case after != nil && before.Dropped != "" && after.Coupled != "" && before.Dropped != after.Coupled:
		lose(from, to, "it was left at "+before.Dropped+" and next coupled at "+after.Coupled+": somebody moved it, and no record says who")
	default:
		m.Spans = append(m.Spans, Span{From: from, To: to, How: Standing, Read: before.Dropped != "" && (after == nil || after.Coupled != "")})
	}
}

// pulled fills the part of one coupled period that lies between two instants: from
// what was read as it began and ended, else from the odometer of the vehicle that
// towed. It returns what stays open.
func (t *Traveller) pulled(m *Mileage, p *Period, from, to Time) []Gap {
	if from == p.From && to == p.To {
		for _, r := range [][2]MeterReading{{p.FromOwn, p.ToOwn}, {p.FromBy, p.ToBy}} {
			a, b := r[0], r[1]
			if a.Metres == nil || b.Metres == nil || a.Meter != b.Meter {
				continue
			}
			if why := doubt(Reading{from, *a.Metres}, Reading{to, *b.Metres}, false); why != "" {
				return []Gap{{from, to, "in the coupled period with " + string(p.By) + ": " + why}}
			}
			m.Spans = append(m.Spans, Span{From: from, To: to, Distance: unit.Length(*b.Metres - *a.Metres), How: ByPeriod, By: p.By, Read: true})
			return nil
		}
	}
	left := []Gap{{From: from, To: to}}
	if t.Towing != nil {
		if c := t.Towing(p.By); c != nil {
			n := len(m.Spans)
			left = m.fill(left, c, ByPeriod)
			for i := range m.Spans[n:] {
				m.Spans[n+i].By = p.By
			}
		}
	}
	for i := range left {
		left[i].Why = "no reading of " + string(p.By) + " reaches there"
	}
	return left
}
