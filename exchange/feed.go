package exchange

import (
	"fmt"
	"math"
	"strings"
	"time"

	"underpin/record"
	"underpin/unit"
)

// A Reading is what a meter of a vehicle showed, as it was delivered. Nothing in
// it was changed: what seems wrong is for others to question.
type Reading struct {
	Vehicle      string      `toml:"vehicle,omitempty" doc:"Id of the vehicle; or vin or registration instead."`
	VIN          string      `toml:"vin,omitempty" doc:"Vehicle identification number."`
	Registration string      `toml:"registration,omitempty" doc:"Registration mark."`
	Meter        string      `toml:"meter,omitempty" doc:"Which meter: odometer, hub (hub meter) or brake (brake controller of a semi-trailer)." oneof:"odometer hub brake" must:"true"`
	At           Instant     `toml:"at,omitempty" doc:"When it was read: day, time and zone, such as 2026-05-31T06:15:00Z."`
	Distance     unit.Length `toml:"distance,omitempty" doc:"What the meter showed." unit:"km" min:"0 km" max:"10000000 km"`
	GivenIn      string      `toml:"given-in,omitempty" doc:"Unit in which it was delivered." oneof:"km mi m"`

	Day   bool   `toml:"-"` // the time of the day was not given
	Sheet string `toml:"-"` // of a workbook
	Row   int    `toml:"-"` // where it stood in the file, from 1
}

// maxShown is the most that a meter can show: what a record can hold.
const maxShown = 10_000_000 * unit.Kilometre

// FeedOptions say what a delivery does not say itself. What is left out is asked
// for: a Problem with Ask.
type FeedOptions struct {
	Unit  string         // of bare distances: km, mi or m
	Zone  *time.Location // of times without a zone
	Meter string         // of distances of which no head says which meter it is
	Now   time.Time      // nothing later is believed; zero: not asked
}

// A Feed is a delivery of readings.
type Feed struct {
	Readings []Reading // those without a problem, in the order of the delivery
	More     bool      // the sender has more (moreDataAvailable)
	Without  int       // statuses that told no distance
	Ignored  []string  // columns that were not used
	Problems Problems
}

// The roles of the columns of a delivery, by the names that people give them.
var feedNames = map[string]feedRole{
	"vehicle": roleVehicle, "vehicle-id": roleVehicle, "id": roleVehicle, "fleet-number": roleVehicle, "number": roleVehicle,
	"vin": roleVIN, "registration": roleRegistration, "plate": roleRegistration, "number-plate": roleRegistration,
	"at": roleAt, "date": roleAt, "time": roleAt, "timestamp": roleAt, "datetime": roleAt, "date-time": roleAt, "createddatetime": roleAt,
	"meter": roleMeter, "unit": roleUnit, "given-in": roleGivenIn,
	"distance": roleDistance, "reading": roleDistance, "mileage": roleDistance,
	"odometer": roleDistance, "hub": roleDistance, "hub-meter": roleDistance, "brake": roleDistance, "hrtotalvehicledistance": roleDistance,
}

type feedRole int

const (
	roleNone feedRole = iota
	roleVehicle
	roleVIN
	roleRegistration
	roleAt
	roleMeter
	roleUnit
	roleGivenIn
	roleDistance
)

// headMeters are the meters that a head names by itself.
var headMeters = map[string]string{
	"odometer": record.Odometer, "hub": record.HubMeter, "hub-meter": record.HubMeter, "brake": record.Brake, "hrtotalvehicledistance": record.Odometer,
}

// feedUnits are the units of distances, by the ways of writing them.
var feedUnits = map[string]unit.Unit{}

func init() {
	miles, _ := unit.Lookup("mi")
	for u, words := range map[unit.Unit]string{unit.KM: "km kilometres kilometers kilometer", miles: "mi mile miles", unit.M: "m metres meters metre meter"} {
		for w := range strings.FieldsSeq(words) {
			feedUnits[w] = u
		}
	}
}

// A feedColumn is a column of a delivery.
type feedColumn struct {
	role  feedRole
	index int
	name  string
	meter string
	unit  string // of the head; empty when it names none
}

// feedHead reads one head; its role is none when nothing is known by that name.
func feedHead(text string, index int) feedColumn {
	name, symbol := splitHead(text)
	name = strings.ReplaceAll(name, "_", "-")
	role := feedNames[name]
	if i := strings.LastIndexByte(name, '-'); role == roleNone && symbol == "" && i > 0 {
		if _, is := feedUnits[name[i+1:]]; is { // odometer_km
			role, symbol, name = feedNames[name[:i]], name[i+1:], name[:i]
		}
	}
	if name == "hrtotalvehicledistance" && symbol == "" {
		symbol = "m" // as the standard has it
	}
	return feedColumn{role, index, name, headMeters[name], strings.ToLower(symbol)}
}

// A feedReader turns rows into readings.
type feedReader struct {
	collector
	Feed
	options  FeedOptions
	file     string
	sheet    string
	columns  []feedColumn
	thousand bool // see setting
	exact    bool // a text in quotes is meant with its quotes
	asked    map[string]bool
	instant  func(days float64) (time.Time, error) // of the days of a workbook; nil for a text
}

// head takes the heads of the columns; false when the rows cannot be read by them.
func (f *feedReader) head(texts []string, problem func(i int) *Problem) bool {
	had := map[feedRole]bool{}
	f.columns = f.columns[:0]
	bad := func(i int, found, expected, ask string) {
		p := problem(i)
		p.Found, p.Expected, p.Ask = found, expected, ask
		f.add(p)
	}
	ok := true
	for i, text := range texts {
		c := feedHead(text, i)
		_, known := feedUnits[c.unit]
		switch {
		case strings.Trim(text, blanks) == "":
		case c.role == roleNone:
			f.Ignored = append(f.Ignored, strings.Trim(text, blanks))
		case c.unit != "" && (c.role != roleDistance || !known):
			bad(i, "the unit "+quoted(c.unit), "km, mi or m, on a column of distances", "")
			ok = false
		case had[c.role] && c.role != roleAt && c.role != roleDistance:
			bad(i, "a second column "+quoted(strings.Trim(text, blanks)), "each once", "")
			ok = false
		default:
			had[c.role] = true
			f.columns = append(f.columns, c)
		}
	}
	need := func(there bool, what string) {
		if !there {
			bad(-1, "no column "+what, "columns vehicle (or vin, or registration), at, and odometer, hub, brake or distance", "")
			ok = false
		}
	}
	need(had[roleVehicle] || had[roleVIN] || had[roleRegistration], "that names the vehicle")
	need(had[roleAt], "of the time")
	need(had[roleDistance], "of the distance")
	for _, c := range f.columns {
		if c.role != roleDistance {
			continue
		}
		if c.meter == "" && !had[roleMeter] && f.options.Meter == "" {
			bad(c.index, "distances of which nothing says the meter", "a head odometer, hub or brake, or a column meter", "meter")
			ok = false
		}
	}
	return ok
}

// row reads one row.
func (f *feedReader) row(row int, texts []string, problem func(i int) *Problem) {
	r := Reading{Sheet: f.sheet, Row: row}
	text := func(i int) string {
		if i < len(texts) {
			return strings.Trim(texts[i], blanks)
		}
		return ""
	}
	ok, blank := true, true
	bad := func(i int, name string, err error) {
		p := problem(i)
		p.Column = name
		if ce, is := err.(*cellError); is {
			p.Found, p.Expected = ce.found, ce.expected
		}
		f.add(p)
		ok = false
	}
	var at [2]string
	var atAt, distances, unitOfRow = -1, 0, ""
	for _, c := range f.columns {
		s := text(c.index)
		if s == "" && !(f.exact && c.index < len(texts) && texts[c.index] != "") {
			continue
		}
		blank = false
		switch c.role {
		case roleVehicle, roleVIN, roleRegistration:
			plain, err := texts[c.index], error(nil)
			if !f.exact {
				plain, err = unquoted(s)
			}
			if err != nil {
				bad(c.index, c.name, err)
			}
			switch c.role {
			case roleVehicle:
				r.Vehicle = plain
			case roleVIN:
				r.VIN = plain
			default:
				r.Registration = plain
			}
		case roleAt:
			if atAt < 0 {
				at[0], atAt = s, c.index
			} else {
				at[1] = s
			}
		case roleMeter:
			r.Meter = strings.ToLower(s)
			if r.Meter != record.Odometer && r.Meter != record.HubMeter && r.Meter != record.Brake {
				bad(c.index, c.name, &cellError{quoted(s), "odometer, hub or brake"})
			}
		case roleUnit, roleGivenIn:
			u, known := feedUnits[strings.ToLower(s)]
			if !known {
				bad(c.index, c.name, &cellError{quoted(s), "km, mi or m"})
			} else if c.role == roleUnit {
				unitOfRow = u.Symbol
			} else {
				r.GivenIn = u.Symbol
			}
		case roleDistance:
			distances++
		}
	}
	switch {
	case blank:
		return
	case r.Vehicle == "" && r.VIN == "" && r.Registration == "":
		bad(-1, "", &cellError{"a row without a vehicle", "its id, vin or registration"})
	case distances == 0:
		bad(-1, "", &cellError{"a row without a distance", "what the meter showed"})
	case atAt < 0:
		bad(-1, "", &cellError{"a row without a time", "when the meter was read"})
	default:
		var err error
		if r.At, r.Day, err = f.when(at); err != nil {
			if r.At = 0; !f.ask(problem(atAt), "zone", err) {
				bad(atAt, "at", err)
			}
		}
	}
	if !ok {
		return
	}
	for _, c := range f.columns {
		if c.role != roleDistance || text(c.index) == "" {
			continue
		}
		one := r
		if c.meter != "" {
			one.Meter = c.meter
		} else if one.Meter == "" {
			one.Meter = f.options.Meter
		}
		if one.Meter == "" {
			bad(c.index, c.name, &cellError{"a distance of which nothing says the meter", "odometer, hub or brake in the column meter"})
			continue
		}
		symbol := unitOfRow
		for _, s := range []string{c.unit, f.options.Unit} {
			if symbol == "" {
				symbol = s
			}
		}
		d, in, err := f.distance(text(c.index), symbol)
		switch {
		case err == nil:
			one.Distance = d
			if one.GivenIn == "" {
				one.GivenIn = in
			}
			if one.At != 0 { // else the zone was asked for
				f.Readings = append(f.Readings, one)
			}
		case !f.ask(problem(c.index), "unit", err):
			bad(c.index, c.name, err)
		}
	}
}

// ask tells once, for the whole delivery, what has to be said; false when err is
// of another kind.
func (f *feedReader) ask(p *Problem, what string, err error) bool {
	q, is := err.(*question)
	if !is {
		return false
	}
	if !f.asked[what] {
		f.asked[what] = true
		p.Found, p.Expected, p.Ask = q.found, q.expected, what
		f.add(p)
	}
	return true
}

// A question is what has to be said before something can be read.
type question struct{ found, expected string }

func (q *question) Error() string { return "found " + q.found + "; expected " + q.expected }

// distance reads what a meter showed, with the unit of its own, of its row, of its
// head or of the whole delivery.
func (f *feedReader) distance(text, symbol string) (unit.Length, string, error) {
	if own := strings.TrimLeft(text, "0123456789.,+-−eE \u00a0\u2009\u202f"); own != "" {
		text, symbol = strings.Trim(text[:len(text)-len(own)], blanks), own
		if _, known := feedUnits[strings.ToLower(own)]; !known {
			return 0, "", &cellError{quoted(text + " " + own), "a distance in km, mi or m"}
		}
	}
	if f.thousand && pointThousands.MatchString(text) {
		return 0, "", &cellError{quoted(text) + ", where the point may be a thousands mark", "a decimal comma as elsewhere in this file, and no mark between thousands"}
	}
	if symbol == "" {
		return 0, "", &question{"a distance without a unit, " + quoted(text), "km, mi or m: in the head (odometer, km), in a column unit or with each number"}
	}
	u := feedUnits[strings.ToLower(symbol)]
	x, err := unit.Parse(text, unit.Number)
	if err != nil {
		return 0, "", parseError(err)
	}
	d := unit.Length(u.ToSI(x))
	if u == unit.KM && x < 1e9 {
		if m := math.Round(x * 1000); m/1000 == x { // whole metres, without what the multiplication adds
			d = unit.Length(m)
		}
	}
	if !(0 <= d && d <= maxShown) || strings.HasSuffix(text, "%") {
		return 0, "", &cellError{fmt.Sprintf("%s %s", quoted(text), u.Symbol), "from 0 to 10 000 000 km"}
	}
	return d, u.Symbol, nil
}
