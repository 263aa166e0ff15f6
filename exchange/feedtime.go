package exchange

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"underpin/record"
)

// An Instant is when a meter was read. As text it has a zone, or it is refused.
type Instant record.Time

// Time is the instant as records have it.
func (i Instant) Time() record.Time { return record.Time(i) }

// MarshalText writes the instant in UTC.
func (i Instant) MarshalText() ([]byte, error) {
	if i == 0 {
		return nil, nil
	}
	return record.Time(i).Time().AppendFormat(nil, time.RFC3339Nano), nil
}

// UnmarshalText reads an instant that has a zone.
func (i *Instant) UnmarshalText(b []byte) error {
	t, _, err := parseInstant(string(b), nil)
	if err == nil {
		*i = Instant(record.At(t))
	}
	return err
}

var errZone = &question{"a time without a zone", "a time with its zone, such as 2026-05-31T06:15:00Z or +02:00; or the zone said for all"}

const wantInstant = "a day and a time such as 2026-05-31T06:15:00Z, 2026-05-31 06:15 or 31.05.2026 06:15"

// parseInstant reads when something was. A time without a zone is in the zone
// given; nil asks for it. Day tells that only the day was written, of which the
// beginning is then meant. A day with strokes is refused, because 3/4 is in March
// here and in April there.
func parseInstant(text string, zone *time.Location) (t time.Time, day bool, err error) {
	bad := func() (time.Time, bool, error) {
		return time.Time{}, false, &cellError{quoted(text), wantInstant}
	}
	s := text
	switch {
	case len(s) < 10:
		return bad()
	case s[4] == '-' && s[7] == '-':
	case s[2] == '.' && s[5] == '.':
		s = s[6:10] + "-" + s[3:5] + "-" + s[:2] + s[10:]
	case strings.Contains(s, "/"):
		return time.Time{}, false, &cellError{quoted(text) + ", which may be read two ways", wantInstant}
	default:
		return bad()
	}
	date, clock := s[:10], strings.TrimLeft(s[10:], " Tt")
	if clock == s[10:] && clock != "" {
		return bad()
	}
	if clock == "" {
		clock, day = "00:00:00", true
	}
	clock = strings.TrimSpace(clock)
	offset := ""
	if i := strings.LastIndexAny(clock, "Zz+-−"); i > 0 {
		clock, offset = strings.TrimSpace(clock[:i]), strings.ReplaceAll(strings.ToUpper(clock[i:]), "−", "-")
		if len(offset) == 5 { // +0200
			offset = offset[:3] + ":" + offset[3:]
		}
	}
	if len(clock) == 5 {
		clock += ":00"
	}
	stamp := date + "T" + strings.Replace(clock, ",", ".", 1)
	if offset != "" {
		if t, err = time.Parse(time.RFC3339, stamp+offset); err != nil {
			return bad()
		}
		return t, false, nil
	}
	t, err = time.Parse("2006-01-02T15:04:05", stamp)
	switch {
	case err != nil:
		return bad()
	case zone == nil:
		return time.Time{}, false, errZone
	}
	t, err = inZone(t, zone)
	return t, day, err
}

// inZone takes a clock's time for one of a zone. Of the two that a clock shows
// twice when it is put back the earlier is taken; one that it skips is refused.
func inZone(clock time.Time, zone *time.Location) (time.Time, error) {
	y, mo, d := clock.Date()
	t := time.Date(y, mo, d, clock.Hour(), clock.Minute(), clock.Second(), clock.Nanosecond(), zone)
	if t.Hour() != clock.Hour() || t.Minute() != clock.Minute() {
		return time.Time{}, &cellError{clock.Format("2006-01-02 15:04") + " in " + zone.String(), "a time that the clocks there did not skip"}
	}
	if before := t.Add(-time.Hour); before.Hour() == t.Hour() && before.Minute() == t.Minute() {
		t = before
	}
	return t, nil
}

// oldestReading is the earliest that is believed; what is older is a slip.
// Common practice, no source.
var oldestReading = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)

// when reads the time of a row, which may stand in two columns, day and time.
func (f *feedReader) when(at [2]string) (Instant, bool, error) {
	text := strings.TrimSpace(at[0] + " " + at[1])
	t, day, err := f.serial(at)
	if errors.Is(err, errNoSerial) {
		t, day, err = parseInstant(text, f.options.Zone)
	}
	switch {
	case err != nil:
		return 0, false, err
	case t.Before(oldestReading):
		return 0, false, &cellError{quoted(text), "a time after " + oldestReading.Format("2006")}
	case !f.options.Now.IsZero() && t.After(f.options.Now):
		return 0, false, &cellError{quoted(text) + ", which is yet to come", fmt.Sprintf("a time before %s", f.options.Now.UTC().Format("2006-01-02 15:04 UTC"))}
	}
	return Instant(record.At(t)), day, nil
}

var errNoSerial = errors.New("no number of days")

// serial reads a time as workbooks hold it: a number of days, which has no zone.
func (f *feedReader) serial(at [2]string) (time.Time, bool, error) {
	if f.instant == nil {
		return time.Time{}, false, errNoSerial
	}
	days := 0.0
	for _, s := range at {
		if s == "" {
			continue
		}
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return time.Time{}, false, errNoSerial
		}
		days += x
	}
	t, err := f.instant(days)
	switch {
	case err != nil:
		return time.Time{}, false, &cellError{quoted(strings.TrimSpace(at[0] + " " + at[1])), wantInstant + ", or a date of the workbook"}
	case f.options.Zone == nil:
		return time.Time{}, false, errZone
	}
	t, err = inZone(t.Round(time.Millisecond), f.options.Zone) // a number of days cannot hold more
	return t, days == float64(int64(days)), err
}
