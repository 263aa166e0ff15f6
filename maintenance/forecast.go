package maintenance

import (
	"math"

	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

// A ForecastAsk is one wearing dimension of one part.
type ForecastAsk struct {
	Measure string
	Grows   bool        // a play; else a size that wears down
	Limit   unit.Length // of the size or play: the strictest layer
	Life    Life
	Fleet   wear.Learnt // parameters and what they rest on
	Widen   float64     // from the back-test; 0: 1
	Usage   wear.Usage  // PerDay 0: not known, and no dates
	ReadOn  Date        // day of the last reading, from which days count
	Since   unit.Length // run since the last reading, up to Today; NaN: worked out from the usage
	Today   Date
	Risk    float64 // of being late; 0: 5 %
}

// A WearForecast is how far and how long a dimension lasts.
type WearForecast struct {
	Measure  string
	Forecast wear.Forecast
	Careful  Bound          // distance and day that are undercut with the risk, from today
	Middle   Bound          // at even odds
	Late     Bound          // undercut with all but the risk; no date and +Inf without an upper bound
	Evidence rule.Evidence  // practice while anything of the fleet's parameters is assumed
	Label    Message        // how many readings stand behind it, and on what the rest
	Doubts   []Message      // readings that the model does not believe; they are in the forecast until a person decides
	Band     []BandPoint    // for the chart
	Readings []wear.Reading // of this life
}

// A BandPoint is wear at a distance in the life of the part: middle and the bounds
// between which nine in ten lie.
type BandPoint struct {
	Distance       unit.Length
	Low, Mid, High unit.Length
}

// usualWearRisk is the risk of being late that a plan takes for wear. Common
// practice, no source.
const usualWearRisk = 0.05

// ForecastWear says how far and how long one dimension lasts, from its own
// readings and the fleet's parameters. Wear of the forecast never falls below
// what it is now. Dates need a usage; without one there are distances alone.
//
// The error is a *unit.NoAnswerError when nothing can be forecast: no new size, no
// limit, or a part that shows no wear; a *unit.DomainError where package wear
// says so.
func ForecastWear(a ForecastAsk) (WearForecast, error) {
	const name = "forecast of wear"
	limit := a.Life.Limit(a.Limit, a.Grows)
	if !a.Life.Known() || limit != limit {
		return WearForecast{}, &unit.NoAnswerError{Formula: name, Why: "the size of the new part, its limit, or the distance at which it was fitted is missing"}
	}
	f, err := wear.ForecastWear(a.Fleet.Prior, a.Life.Readings, limit)
	if err != nil {
		return WearForecast{}, err
	}
	risk := a.Risk
	if risk == 0 {
		risk = usualWearRisk
	}
	if !(0 < risk && risk < 0.5) {
		return WearForecast{}, &unit.DomainError{Formula: name, Input: "risk", Value: risk, Want: "0 < p < 1/2"}
	}
	s := f.State.Widened(a.Widen)
	if a.Widen > 1 {
		f.State = s
		f.Q05, f.Q10, f.Q50, f.Q90, f.Q95 = s.Left(limit, 0.05), s.Left(limit, 0.10), s.Left(limit, 0.5), s.Left(limit, 0.90), s.Left(limit, 0.95)
		f.AtLimit = s.Within(limit, 0)
	}
	out := WearForecast{Measure: a.Measure, Forecast: f, Evidence: rule.Derived, Readings: a.Life.Readings}
	if a.Fleet.Basis != wear.FleetLearnt {
		out.Evidence = rule.Practice
	}
	out.Label = label(len(a.Life.Readings), a.Fleet)
	for _, p := range []struct {
		into *Bound
		p    float64
	}{{&out.Careful, risk}, {&out.Middle, 0.5}, {&out.Late, 1 - risk}} {
		b, err := a.bound(s, limit, p.p)
		if err != nil {
			return WearForecast{}, err
		}
		b.Evidence, b.Source = out.Evidence, out.Label.String()
		*p.into = b
	}
	out.Doubts = a.doubts()
	out.Band = band(s, limit)
	return out, nil
}

// bound is the distance from today, and the day, that are undercut with
// probability p.
func (a ForecastAsk) bound(s wear.State, limit unit.Length, p float64) (Bound, error) {
	var b Bound
	since := a.Since
	gone := 0
	if valid(a.ReadOn) && valid(a.Today) {
		gone = max(number(a.Today)-number(a.ReadOn), 0)
	}
	if since != since {
		since = a.Usage.PerDay * unit.Length(gone)
	}
	b.Distance = max(s.Left(limit, p)-since, 0)
	if a.Usage.PerDay == 0 || !valid(a.Today) {
		return b, nil
	}
	// Days count from the last reading, so that what is not known of the way since
	// counts too.
	d, err := wear.DaysLeftFast(s, limit, a.Usage, p)
	if err != nil {
		return Bound{}, err
	}
	if !math.IsInf(float64(d), 1) && d < 400*365 {
		b.On = later(a.Today, max(whole(float64(d))-gone, 0))
	}
	return b, nil
}

// label says what stands behind a forecast.
func label(n int, f wear.Learnt) Message {
	basis := f.Basis.String()
	if f.Basis != wear.Assumed {
		basis += " (" + itoa(f.Parts) + " parts)"
	}
	switch n {
	case 0:
		return sayForecastNone.with(basis)
	case 1:
		return sayForecastOne.with(basis)
	}
	return sayForecastMany.with(itoa(n), basis)
}

// doubts goes through the readings one after the other and asks about those that
// the model does not believe after those before them.
func (a ForecastAsk) doubts() (out []Message) {
	r := a.Life.Readings
	for i := range r {
		c, err := wear.CheckReading(a.Fleet.Prior, r[:i], r[i])
		if err != nil {
			continue
		}
		at := unit.Format(float64(r[i].Distance), unit.KM, 0)
		switch {
		case c.Replaced:
			out = append(out, sayDoubtReplaced.with(at))
		case c.FellBack:
			out = append(out, sayDoubtFell.with(at))
		case c.HoldOut || c.Remeasure:
			out = append(out, sayDoubtFar.with(at, unit.Digits(math.Abs(c.Innovation), 1)))
		}
	}
	return out
}

// band is the forecast as a chart shows it, from the last reading to a little
// past the careful end.
func band(s wear.State, limit unit.Length) []BandPoint {
	const points = 24
	end := s.Left(limit, 0.5) * 1.2
	if !(end > 0 && end < 1e12) {
		end = 100_000 * unit.Kilometre
	}
	out := make([]BandPoint, 0, points+1)
	const z = 1.6448536269514722 // Φ⁻¹(0.95), Abramowitz and Stegun, table 26.5
	floor := s.Wear
	for i := range points + 1 {
		d := end * unit.Length(i) / points
		mid, sd := s.After(d)
		out = append(out, BandPoint{s.At + d, max(mid-z*sd, floor-z*s.WearSD()), max(mid, floor), max(mid, floor) + z*sd})
	}
	return out
}

// ReplaceAt says at which of several visits a part is replaced: the one that costs
// least of those that the safety bound allows.
type ReplaceAt struct {
	Visits []wear.Visit
	Best   int // of Visits; -1: every one is too late, and the part must be replaced before
}

// ChooseReplacement weighs the visits that there are by the cost of replacing at
// each, refusing every one by which the part reaches its limit with more than the
// probability most.
func ChooseReplacement(f WearForecast, c wear.Costs, fleetRate float64, visits []unit.Length, most float64) (ReplaceAt, error) {
	life := wear.Life{State: f.Forecast.State, Limit: f.Forecast.Limit}
	v, best, err := wear.ChooseVisit(nil, life, wear.VisitInput{Costs: c, FleetRate: fleetRate, Distances: visits, Most: most})
	if _, none := err.(*unit.NoAnswerError); none {
		return ReplaceAt{v, -1}, nil
	}
	if err != nil {
		return ReplaceAt{}, err
	}
	return ReplaceAt{v, best}, nil
}
