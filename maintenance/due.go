package maintenance

import (
	"cmp"
	"math"
	"slices"

	"underpin/unit"
	"underpin/wear"
)

// Since says when a task was last done and how far the part ran since. A task
// that is done once after fitting counts from the fitting, a cartridge from the
// noted day of its start.
type Since struct {
	On       Date        // the day; the zero Date: no record says
	Settled  bool        // a task that is done once has been done
	Distance unit.Length // run since, at the last reading; NaN: not known
	AtLeast  bool        // some of the way is not known: it ran at least that far
	ReadOn   Date        // day of the last reading
}

// A DueAsk is one task of one part, on one day.
type DueAsk struct {
	Interval Interval
	Since    Since
	Usage    wear.Usage // PerDay 0: not known
	Today    Date
	Risk     float64 // of passing the distance before the day planned; 0: 10 %
	Soon     int     // days ahead that count as soon; 0: 14
	Forecast Date    // careful day on which wear needs the work; the zero Date: none
}

// A DueState says how a task stands.
type DueState int

const (
	CannotTellDue   DueState = iota // something is missing, and what is known is not overdue
	Overdue                         // a limit is passed with certainty
	PossiblyOverdue                 // the distance may have been passed: more likely than one in ten
	DueSoon
	NotDue
	DoneOnce // a task that is done once, and was
)

var dueStates = [...]Text{
	{"due.cannot-tell", "cannot tell"}, {"due.overdue", "overdue"}, {"due.possibly-overdue", "possibly overdue"},
	{"due.soon", "due soon"}, {"due.not-due", "not due"}, {"due.done", "done"},
}

// Text is the state in words.
func (s DueState) Text() Text { return dueStates[s] }

func (s DueState) String() string { return dueStates[s].English }

// Governs says what sets the day.
type Governs string

const (
	ByNothing  Governs = ""
	ByDistance Governs = "distance"
	ByDate     Governs = "date"
	ByWear     Governs = "wear" // a forecast brought the work forward
)

// A Due is when a task is to be done.
type Due struct {
	State        DueState
	On           Date // to plan for; the zero Date: not known
	Governs      Governs
	ByDate       Date        // last day by time
	Planned      Date        // last day by distance, passed before with the risk
	Expected     Date        // day by distance at the mean usage
	Left         unit.Length // of the distance, at the last reading; NaN: not known
	PassedNow    float64     // probability that the distance is passed today; NaN: not known
	DistanceLead float64     // probability that the distance is passed before the date; NaN: one of them is missing
	Widened      bool        // the last reading is older than 60 days: the spread of usage was widened
	Missing      []Message
}

// Common practice, no source: the risk that a plan takes of passing a distance,
// and how old a reading may be before the usage is less certain.
const (
	usualRisk = 0.10
	usualSoon = 14
	freshDays = 60
)

// DueOn returns when a task is due by the limits of its interval, and which of
// them governs:
//
//	t_m = last day + months, clamped to the end of the month
//	K = distance·f − run since,   F(t) = Φ((r̂ − K/t)/s),   t_p = K/(r̂ + z_{1−p}·s)
//	due = min(t_m, t_p);   overdue: t_m passed or K < 0;   possibly overdue: F(now) > 10 %
//
//	f      factor of use, on distance and on the days of t_m
//	r̂, s   distance a day and its spread; s is widened by age/60 days when the last reading is older
//	t      days since the last reading
//	p      risk, 10 % unless it is given
//
// A forecast of wear brings the day forward and never puts it off. With one
// limit missing the other still tells what is overdue; what it does not tell is
// cannot-tell, and what is missing is named.
//
// Valid for a day of the Gregorian calendar, 0 < f ≤ 1, 0 < p ≤ ½ and a task not
// done after today; otherwise the error is a *unit.DomainError.
//
// Source: normal distribution of the usage rate, handbook chapter 06, B5; the
// bounds of 10 % and 60 days are common practice, no source.
func DueOn(a DueAsk) (Due, error) {
	const name = "due day"
	i := a.Interval
	risk, soon := cmp.Or(a.Risk, usualRisk), cmp.Or(a.Soon, usualSoon)
	factor := cmp.Or(i.Factor, 1)
	switch {
	case !valid(a.Today):
		return Due{}, &unit.DomainError{Formula: name, Input: "today", Value: float64(a.Today.Year), Want: "a day of the calendar"}
	case !(0 < factor && factor <= 1):
		return Due{}, &unit.DomainError{Formula: name, Input: "factor of use", Value: factor, Want: "above 0, at most 1"}
	case !(0 < risk && risk <= 0.5):
		return Due{}, &unit.DomainError{Formula: name, Input: "risk", Value: risk, Want: "0 < p ≤ 1/2"}
	case a.Since.On != Date{} && (!valid(a.Since.On) || before(a.Today, a.Since.On)):
		return Due{}, &unit.DomainError{Formula: name, Input: "last done", Value: float64(a.Since.On.Year), Want: "a day of the calendar, not after today"}
	case a.Since.Distance < 0:
		return Due{}, &unit.DomainError{Formula: name, Input: "run since", Value: float64(a.Since.Distance), Want: "0 or more, NaN when not known"}
	}
	d := Due{Left: unit.Length(math.NaN()), PassedNow: math.NaN(), DistanceLead: math.NaN()}
	if i.Once && a.Since.Settled {
		d.State = DoneOnce
		return d, nil
	}
	if i.Task == FirstGrease && i.Once {
		// Before the first use: due at once, and whatever ran before is too much.
		d.On, d.ByDate, d.Governs, d.State = a.Today, a.Today, ByDate, DueSoon
		if a.Since.Distance > 0 {
			d.State = Overdue
		}
		return d, nil
	}
	if !i.Known() {
		d.Missing = append(d.Missing, sayNoInterval.with(i.Task))
		bring(&d, a, soon)
		return d, nil
	}
	today := number(a.Today)

	// By time.
	byDate, byTime := 0, i.Months > 0 || i.Days > 0
	switch {
	case !byTime:
	case a.Since.On == Date{}:
		d.Missing = append(d.Missing, sayNeverDone.with(i.Task))
		byTime = false
	default:
		full, err := wear.AddMonths(a.Since.On, i.Months)
		if err != nil {
			return Due{}, err
		}
		from := number(a.Since.On)
		byDate = from + int(math.Floor(factor*float64(number(full)+i.Days-from)+1e-9))
		d.ByDate = fromNumber(byDate)
		d.On, d.Governs = d.ByDate, ByDate
	}

	// By distance.
	over := byTime && today > byDate
	if i.Distance > 0 {
		K := float64(i.Distance)*factor - float64(a.Since.Distance)
		switch {
		case math.IsNaN(K):
			d.Missing = append(d.Missing, sayNoDistance.with(i.Task))
		case K < 0: // at least that far is far enough
			over = true
			d.Left, d.PassedNow = unit.Length(K), 1
			if !byTime || today < byDate {
				d.Governs, d.On = ByDistance, a.Today
			}
		case a.Since.AtLeast:
			d.Missing = append(d.Missing, sayPartDistance.with(i.Task))
		default:
			d.Left = unit.Length(K)
			if a.Usage.PerDay == 0 {
				d.Missing = append(d.Missing, sayNoUsage.with())
				break
			}
			if err := d.byDistance(a, K, risk, today, byDate, byTime); err != nil {
				return Due{}, err
			}
		}
	}
	switch {
	case over:
		d.State = Overdue
	case d.PassedNow > usualRisk:
		d.State = PossiblyOverdue
	case len(d.Missing) > 0:
		d.State = CannotTellDue
	case d.On != Date{} && number(d.On) <= today+soon:
		d.State = DueSoon
	default:
		d.State = NotDue
	}
	bring(&d, a, soon)
	return d, nil
}

// byDistance works out the days that a distance K, left at the last reading,
// lasts.
func (d *Due) byDistance(a DueAsk, K, risk float64, today, byDate int, byTime bool) error {
	r, s := float64(a.Usage.PerDay), float64(a.Usage.SD)
	if !(r > 0 && s >= 0 && s < r) {
		return &unit.DomainError{Formula: "due day", Input: "distance a day", Value: r, Want: "above nothing, its spread 0 or more and below it"}
	}
	readOn := today
	if a.Since.ReadOn != (Date{}) {
		readOn = number(a.Since.ReadOn)
	}
	age := max(today-readOn, 0)
	if age > freshDays {
		s, d.Widened = s*float64(age)/freshDays, true
	}
	passed := func(t float64) float64 {
		switch {
		case t <= 0:
			return 0
		case s == 0:
			if r*t > K {
				return 1
			}
			return 0
		}
		return 0.5 * math.Erfc(-(r-K/t)/s/math.Sqrt2)
	}
	z := 1.2815515655446004 // Φ⁻¹(0.90), Abramowitz and Stegun, table 26.5
	if risk != usualRisk {
		z = math.Sqrt2 * math.Erfinv(1-2*risk)
	}
	planned := readOn + whole(K/(r+z*s))
	d.Planned, d.Expected = fromNumber(planned), fromNumber(readOn+whole(K/r))
	d.PassedNow = passed(float64(age))
	if byTime {
		d.DistanceLead = passed(float64(byDate - readOn))
	}
	if !byTime || planned < byDate {
		d.On, d.Governs = d.Planned, ByDistance
	}
	return nil
}

// whole is full days, and never further than the calendar goes.
func whole(days float64) int { return int(math.Floor(min(days, 1e6) + 1e-9)) }

// bring takes the day of a forecast where it is earlier.
func bring(d *Due, a DueAsk, soon int) {
	if a.Forecast == (Date{}) || !valid(a.Forecast) || d.On != (Date{}) && !before(a.Forecast, d.On) {
		return
	}
	d.On, d.Governs = a.Forecast, ByWear
	if d.State == NotDue && number(a.Forecast) <= number(a.Today)+soon {
		d.State = DueSoon
	}
}

// LatestDay is the last day of a due task for the workshop plan, counted from
// today; below 0 when it is overdue, and false when no day is known or nothing is
// to be done.
func (d Due) LatestDay(today Date) (int, bool) {
	switch {
	case d.State == Overdue:
		return -1, true
	case d.State == PossiblyOverdue:
		return 0, true // at once, and no day is known to be passed
	case d.State == DoneOnce || d.On == (Date{}):
		return 0, false
	}
	return max(number(d.On)-number(today), 0), true
}

// urgency orders states for a list: what must be seen to first.
var urgency = [...]int{Overdue: 0, PossiblyOverdue: 1, CannotTellDue: 2, DueSoon: 3, NotDue: 4, DoneOnce: 5}

// Compare orders a list of due tasks by urgency, then by day; a day that is not
// known goes first.
func (d Due) Compare(e Due) int {
	if c := cmp.Compare(urgency[d.State], urgency[e.State]); c != 0 {
		return c
	}
	return slices.Compare([]int{d.On.Year, d.On.Month, d.On.Day}, []int{e.On.Year, e.On.Month, e.On.Day})
}
