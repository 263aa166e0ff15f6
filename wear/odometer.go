package wear

import (
	"math"
	"slices"

	"underpin/unit"
)

// An Odometer reading is a distance shown on a day. Days count from any one day.
type Odometer struct {
	Day      Days
	Distance unit.Length
}

// RobustLine is the Theil–Sen line of odometer readings.
type RobustLine struct {
	PerDay    unit.Length // median of the slopes of all pairs
	Intercept unit.Length // median of distance − PerDay·day
	MAD       unit.Length // median of the absolute residuals
	Pairs     int
}

// At is the distance of the line on a day.
func (l RobustLine) At(d Days) unit.Length { return l.Intercept + l.PerDay*unit.Length(d) }

// allPairs is the number of readings up to which all pairs are formed.
const allPairs = 500

// FitRobustLine returns the distance a day from odometer readings of which some
// may be wrong:
//
//	r̂ = median over pairs of (D_j − D_i)/(t_j − t_i),   intercept = median(D − r̂·t)
//
//	D  odometer   m
//	t  day        days
//
// Up to a quarter of the readings may be false. Beyond 500 readings each is
// paired only with the one half the number further on.
//
// Valid for finite readings in rising order of days, on two days at least;
// otherwise the error is a *unit.DomainError, or with all on one day a
// *unit.NoAnswerError.
//
// Source: Theil–Sen slope, textbook form; handbook chapter 06, B1.6.
func FitRobustLine(readings []Odometer) (RobustLine, error) {
	const name = "distance a day"
	if err := checkOdometers(name, readings); err != nil {
		return RobustLine{}, err
	}
	n := len(readings)
	var slopes []float64
	pair := func(a, b Odometer) {
		if b.Day > a.Day {
			slopes = append(slopes, float64(b.Distance-a.Distance)/float64(b.Day-a.Day))
		}
	}
	if n <= allPairs {
		slopes = make([]float64, 0, n*(n-1)/2)
		for i := range readings {
			for j := i + 1; j < n; j++ {
				pair(readings[i], readings[j])
			}
		}
	} else {
		for i := 0; i+(n+1)/2 < n; i++ {
			pair(readings[i], readings[i+(n+1)/2])
		}
	}
	if len(slopes) == 0 {
		return RobustLine{}, &unit.NoAnswerError{Formula: name, Why: "all readings are of one day"}
	}
	l := RobustLine{PerDay: unit.Length(median(slopes)), Pairs: len(slopes)}
	rest := make([]float64, n)
	for i, r := range readings {
		rest[i] = float64(r.Distance) - float64(l.PerDay)*float64(r.Day)
	}
	l.Intercept = unit.Length(median(rest))
	for i, r := range readings {
		rest[i] = math.Abs(float64(r.Distance - l.At(r.Day)))
	}
	l.MAD = unit.Length(median(rest))
	return l, nil
}

func checkOdometers(name string, readings []Odometer) error {
	if n := len(readings); n < 2 {
		return &unit.DomainError{Formula: name, Input: "readings", Value: float64(n), Want: "two or more"}
	}
	for i, r := range readings {
		switch {
		case !finite(float64(r.Day)) || i > 0 && r.Day < readings[i-1].Day:
			return &unit.DomainError{Formula: name, Input: "day", Value: float64(r.Day), Want: "a finite number, in rising order"}
		case !finite(float64(r.Distance)):
			return &unit.DomainError{Formula: name, Input: "distance", Value: float64(r.Distance), Want: "a finite length"}
		}
	}
	return nil
}

// median sorts v.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}

// A Repair is a guess at what went wrong with an odometer reading. It is offered
// to a person, never carried out.
type Repair int

const (
	NoRepair   Repair = iota // nothing simple explains it: leave it out
	FromMiles                // miles taken for kilometres: × 1.609344
	LostDigit                // a digit lost: × 10
	ExtraDigit               // a digit too many: ÷ 10
	NewCounter               // the instrument was replaced: an offset from here on
)

func (r Repair) String() string {
	return stateName(int(r), "no simple repair", "miles", "a digit lost", "a digit too many", "instrument replaced")
}

// A Suspect is an odometer reading far from the line.
type Suspect struct {
	Index    int
	Residual unit.Length
	Repair   Repair
	Proposed unit.Length // the distance after the repair; the reading itself without one
}

// CheckOdometer returns the readings that lie too far from the robust line, and
// what may have gone wrong with each:
//
//	suspect when |D − line| > max(3·1.4826·MAD, 1 000 km)
//	repairs tried in this order: × 1.609344, × 10, ÷ 10, a new instrument
//
//	D    odometer, line by FitRobustLine                            m
//	MAD  median absolute residual; 1.4826·MAD is a standard deviation   m
//
// A repair is proposed when it brings the reading within twice that bound, for
// the usage wanders too. A new instrument is proposed when all readings from there on, two at least, are off
// by the same offset.
//
// Valid for readings as FitRobustLine asks for them, with its errors.
//
// Source: Theil–Sen line with a bound on residuals, handbook chapter 06, B1.6;
// 1 000 km, the order of repairs and the twofold bound are common practice, no
// source.
func CheckOdometer(readings []Odometer) (RobustLine, []Suspect, error) {
	l, err := FitRobustLine(readings)
	if err != nil {
		return RobustLine{}, nil, err
	}
	bound := max(3*1.4826*l.MAD, 1000*unit.Kilometre)
	off := func(i int, d unit.Length) unit.Length { return d - l.At(readings[i].Day) }
	far := func(r unit.Length) bool { return !(r <= bound && r >= -bound) }
	var found []Suspect
	for i, r := range readings {
		res := off(i, r.Distance)
		if !far(res) {
			continue
		}
		s := Suspect{Index: i, Residual: res, Proposed: r.Distance}
		for _, try := range [...]struct {
			repair Repair
			factor float64
		}{{FromMiles, 1.609344}, {LostDigit, 10}, {ExtraDigit, 0.1}} {
			if d := r.Distance * unit.Length(try.factor); !far(off(i, d) / 2) {
				s.Repair, s.Proposed = try.repair, d
				break
			}
		}
		if s.Repair == NoRepair && i+1 < len(readings) {
			same := true
			for j := i; j < len(readings); j++ {
				same = same && !far(off(j, readings[j].Distance)-res)
			}
			if same {
				s.Repair, s.Proposed = NewCounter, r.Distance-res
			}
		}
		found = append(found, s)
	}
	return l, found, nil
}

// A Pace is how far a vehicle runs a day now.
type Pace struct {
	PerDay unit.Length // r̂
	SD     unit.Length // s_r
	Robust bool        // PerDay is the Theil–Sen slope; else the weighted mean
	Smooth unit.Length // the weighted mean of the intervals
	Rates  int         // intervals behind it
}

// CurrentPace returns the distance a day as it is now, with its spread:
//
//	r ← r + (1 − e^(−Δt/T))·(r_k − r),   T = 90 days, over the intervals r_k
//	r̂ = Theil–Sen slope of the last 12 months with four readings or more there, else r
//	s_r = 1.4826 · median|r_k − median r_k|, at least 5 % of r̂
//
//	r_k  distance a day between two readings   m
//	Δt   days between them
//
// Give it readings that were checked: it believes them all.
//
// Valid for two readings or more in rising order of days, odometer never falling
// and r̂ > 0; otherwise the error is a *unit.DomainError or, without any
// movement or with all on one day, a *unit.NoAnswerError.
//
// Source: Theil–Sen slope and exponential smoothing, textbook forms; handbook
// chapter 06, B1.6; T and the 5 % are common practice, no source.
func CurrentPace(readings []Odometer) (Pace, error) {
	const name = "pace"
	const memory, year, least = 90, 365, 0.05
	if err := checkOdometers(name, readings); err != nil {
		return Pace{}, err
	}
	var p Pace
	rates := make([]float64, 0, len(readings)-1)
	from := 0 // first reading of the last twelve months
	last := readings[len(readings)-1].Day
	for i, b := range readings {
		if last-b.Day > year {
			from = i + 1
		}
		if i == 0 {
			continue
		}
		a := readings[i-1]
		if !(b.Distance >= a.Distance) {
			return Pace{}, &unit.DomainError{Formula: name, Input: "distance", Value: float64(b.Distance), Want: "an odometer that does not fall"}
		}
		dt := float64(b.Day - a.Day)
		if !(dt > 0) {
			continue
		}
		r := float64(b.Distance-a.Distance) / dt
		if len(rates) == 0 {
			p.Smooth = unit.Length(r)
		} else {
			p.Smooth += unit.Length(-math.Expm1(-dt/memory)) * (unit.Length(r) - p.Smooth)
		}
		rates = append(rates, r)
	}
	p.Rates = len(rates)
	p.PerDay = p.Smooth
	if len(readings)-from >= 4 {
		l, err := FitRobustLine(readings[from:])
		if err != nil {
			return Pace{}, err
		}
		p.PerDay, p.Robust = l.PerDay, true
	}
	if p.Rates == 0 {
		return Pace{}, &unit.NoAnswerError{Formula: name, Why: "all readings are of one day"}
	}
	if !(p.PerDay > 0) {
		return Pace{}, &unit.NoAnswerError{Formula: name, Why: "the vehicle has not moved between the readings"}
	}
	mid := median(rates)
	for i, r := range rates {
		rates[i] = math.Abs(r - mid)
	}
	p.SD = max(unit.Length(1.4826*median(rates)), least*p.PerDay)
	return p, nil
}

// Usage is the pace as a forecast takes it.
func (p Pace) Usage() Usage { return Usage{PerDay: p.PerDay, SD: p.SD} }
