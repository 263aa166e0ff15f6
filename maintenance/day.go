package maintenance

import (
	"strconv"

	"underpin/unit"
	"underpin/wear"
)

// A Date is a day of the civil calendar. The zero Date is none.
type Date = wear.Date

func itoa(n int) string { return strconv.Itoa(n) }

// number counts days from the first of March of the year 0, so that two dates
// can be taken from each other. Years begin in March here: the leap day is then
// the last of a year, and the months before it have a rhythm of 153 days in
// five.
func number(d Date) int {
	y, m := d.Year, d.Month-3
	if m < 0 {
		y, m = y-1, m+12
	}
	return 365*y + y/4 - y/100 + y/400 + (153*m+2)/5 + d.Day - 1
}

func fromNumber(n int) Date {
	const era = 146_097 // days of 400 years
	e, n := n/era, n%era
	y := (n - n/1460 + n/36_524 - n/146_096) / 365
	n -= 365*y + y/4 - y/100
	m := (5*n + 2) / 153
	d := Date{Year: e*400 + y, Month: m + 3, Day: n - (153*m+2)/5 + 1}
	if d.Month > 12 {
		d.Year, d.Month = d.Year+1, d.Month-12
	}
	return d
}

// later is a date some days on.
func later(d Date, days int) Date { return fromNumber(number(d) + days) }

func valid(d Date) bool {
	_, err := wear.AddMonths(d, 0)
	return err == nil
}

func before(a, b Date) bool {
	if a.Year != b.Year {
		return a.Year < b.Year
	}
	if a.Month != b.Month {
		return a.Month < b.Month
	}
	return a.Day < b.Day
}

// readDate reads a day as ISO 8601 writes it; nothing is no day.
func readDate(s string) (Date, error) {
	if s == "" {
		return Date{}, &unit.ParseError{Found: s, Expected: "a day, such as 2026-11-25", Why: "it is missing"}
	}
	var d Date
	err := d.UnmarshalText([]byte(s))
	return d, err
}
