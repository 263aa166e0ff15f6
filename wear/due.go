package wear

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A Date is a day of the civil calendar. The zero Date is none.
type Date struct{ Year, Month, Day int }

// String is the day as ISO 8601 writes it; the zero Date is nothing.
func (d Date) String() string {
	if d == (Date{}) {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// MarshalText writes the day as String does.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a day as ISO 8601 writes it; nothing is the zero Date. The
// error is a *unit.ParseError.
func (d *Date) UnmarshalText(b []byte) error {
	s := string(b)
	if s == "" {
		*d = Date{}
		return nil
	}
	var out Date
	ok := len(s) == 10 && s[4] == '-' && s[7] == '-'
	for i, c := range s {
		switch {
		case i == 4 || i == 7:
			continue
		case !('0' <= c && c <= '9'):
			ok = false
		}
		n := [...]*int{&out.Year, &out.Month, &out.Day}[min(max(i-2, 0)/3, 2)]
		*n = 10**n + int(c-'0')
	}
	if _, err := AddMonths(out, 0); !ok || err != nil {
		return &unit.ParseError{Found: s, Expected: "a day, such as 2026-11-25", Why: "it is no day of the calendar"}
	}
	*d = out
	return nil
}

// AddMonths returns the day a number of months later:
//
//	same day of the month, or the last day of the month where day > its length
//
// so that 31 January and one month is 28 or 29 February, never a day in March.
//
// Valid for a day of the Gregorian calendar, years 1 to 9999; otherwise the
// error is a *unit.DomainError.
//
// Source: the month-end rule of civil due dates, handbook chapter 06, B5.
func AddMonths(d Date, months int) (Date, error) {
	const name = "months later"
	switch {
	case !(1 <= d.Year && d.Year <= 9999):
		return Date{}, &unit.DomainError{Formula: name, Input: "year", Value: float64(d.Year), Want: "1 to 9999"}
	case !(1 <= d.Month && d.Month <= 12):
		return Date{}, &unit.DomainError{Formula: name, Input: "month", Value: float64(d.Month), Want: "1 to 12"}
	case !(1 <= d.Day && d.Day <= monthLength(d.Year, d.Month)):
		return Date{}, &unit.DomainError{Formula: name, Input: "day", Value: float64(d.Day), Want: "a day of that month"}
	case !(-120_000 <= months && months <= 120_000):
		return Date{}, &unit.DomainError{Formula: name, Input: "months", Value: float64(months), Want: "a few thousand years at most"}
	}
	m := d.Year*12 + d.Month - 1 + months
	out := Date{m / 12, m%12 + 1, d.Day}
	if !(12 <= m && out.Year <= 9999) {
		return Date{}, &unit.DomainError{Formula: name, Input: "year", Value: float64(out.Year), Want: "1 to 9999"}
	}
	out.Day = min(out.Day, monthLength(out.Year, out.Month))
	return out, nil
}

func monthLength(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// DueInput is a service due by distance or by date, whichever comes first.
type DueInput struct {
	Distance unit.Length // K, left until due
	Days     Days        // t_m, left until due
	Usage    Usage       // PerDay and SD; Walk is not used
	Risk     float64     // p, of passing the distance before the day planned
}

// Due is the day to plan a service for.
type Due struct {
	ByDistance    Days    // K/r̂, as if the distance a day were certain
	Planned       Days    // t_p, the distance is passed before with probability p
	On            Days    // the earlier of Planned and the date
	DistanceFirst bool    // the distance governs
	Probability   float64 // that the distance is passed before the date
	Expected      Days    // E min(t_distance, t_m)
}

// DueBetween returns when a service is due that has a limit of distance and one
// of time:
//
//	F(t) = Φ((r̂ − K/t)/s),   t_p = K/(r̂ + z_{1−p}·s),   due = min(t_m, t_p)
//	P(distance first) = F(t_m),   E min = ∫₀^{t_m} (1 − F)
//
//	K      distance left                  m
//	t_m    days left                      days
//	r̂, s   distance a day, its spread     m
//	p      risk of passing K before t_p   –
//
// Valid for K > 0, t_m > 0, r̂ > 0, 0 ≤ s < r̂ and 0 < p ≤ ½; otherwise the error
// is a *unit.DomainError. What is already passed is overdue, which is not a
// question for this formula.
//
// Source: normal distribution of the usage rate, handbook chapter 06, B5.
func DueBetween(in DueInput) (Due, error) {
	const name = "due by distance or date"
	if err := in.Usage.check(name); err != nil {
		return Due{}, err
	}
	switch {
	case !(in.Distance > 0 && finite(float64(in.Distance))):
		return Due{}, &unit.DomainError{Formula: name, Input: "distance", Value: float64(in.Distance), Want: "K > 0"}
	case !(in.Days > 0 && finite(float64(in.Days))):
		return Due{}, &unit.DomainError{Formula: name, Input: "days", Value: float64(in.Days), Want: "t_m > 0"}
	case !(0 < in.Risk && in.Risk <= 0.5):
		return Due{}, &unit.DomainError{Formula: name, Input: "risk", Value: in.Risk, Want: "0 < p ≤ 1/2"}
	}
	K, tm := float64(in.Distance), float64(in.Days)
	r, s := float64(in.Usage.PerDay), float64(in.Usage.SD)
	passed := func(t float64) float64 { // F
		if s == 0 {
			if r*t >= K {
				return 1
			}
			return 0
		}
		return normal((r - K/t) / s)
	}
	out := Due{ByDistance: Days(K / r), Planned: Days(K / (r + quantile(1-in.Risk)*s)), Probability: passed(tm)}
	out.DistanceFirst = out.Planned < in.Days
	out.On = min(out.Planned, in.Days)
	// Before K/(r + 9s) nothing is passed yet to the last digit.
	from := math.Min(K/(r+9*s), tm)
	to := tm
	if r > 9*s {
		to = math.Min(tm, K/(r-9*s))
	}
	out.Expected = Days(from + integrate(from, to, func(t float64) float64 { return 1 - passed(t) }))
	return out, nil
}
