package record

import "time"

// A Time is an instant in whole microseconds since 1970 in UTC, the finest that
// both databases keep. The zero Time means that there is none.
type Time int64

// Latest is later than anything that happened: asked at Latest, a view tells
// what is known today.
const Latest Time = 1<<63 - 1

const (
	microsecond Time = 1
	second           = 1_000_000 * microsecond
	minute           = 60 * second
	day              = 24 * 60 * minute

	oldest = -62135596800 * second                     // start of the year 1
	newest = 253402300799*second + 999_999*microsecond // end of the year 9999
)

// At turns a time of the standard library into a Time.
func At(t time.Time) Time { return Time(t.UnixMicro()) }

// Time is t for the standard library, in UTC.
func (t Time) Time() time.Time { return time.UnixMicro(int64(t)).UTC() }

// Valid tells whether t is an instant that can be written: set, and within the
// years 1 to 9999.
func (t Time) Valid() bool { return t != 0 && oldest <= t && t <= newest }

// Layout is how a Time is written: always UTC, always six decimals, so that
// text sorts as time does.
const Layout = "2006-01-02T15:04:05.000000Z"

func (t Time) String() string {
	if t == 0 {
		return ""
	}
	return string(t.append(nil))
}

// append writes t by the calendar of the standard library, and the digits by hand.
func (t Time) append(b []byte) []byte {
	at := t.Time()
	y, mo, d := at.Date()
	h, mi, s := at.Clock()
	us := at.Nanosecond() / 1000
	two := func(n int) (byte, byte) { return '0' + byte(n/10), '0' + byte(n%10) }
	var text [len(Layout)]byte
	copy(text[:], Layout)
	text[0], text[1] = two(y / 100)
	text[2], text[3] = two(y % 100)
	text[5], text[6] = two(int(mo))
	text[8], text[9] = two(d)
	text[11], text[12] = two(h)
	text[14], text[15] = two(mi)
	text[17], text[18] = two(s)
	text[20], text[21] = two(us / 10_000)
	text[22], text[23] = two(us / 100 % 100)
	text[24], text[25] = two(us % 100)
	return append(b, text[:]...)
}

func (t Time) MarshalText() ([]byte, error) {
	if t == 0 {
		return []byte{}, nil
	}
	return t.append(nil), nil
}

func (t *Time) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*t = 0
		return nil
	}
	got, ok := parseTime(b)
	if !ok {
		return &RuleError{Field: "time", Found: quote(string(b)), Want: "UTC as " + Layout}
	}
	*t = got
	return nil
}

// ParseTime reads an instant as it is written in records.
func ParseTime(s string) (Time, error) {
	var t Time
	return t, t.UnmarshalText([]byte(s))
}

func parseTime(b []byte) (Time, bool) {
	if len(b) != len(Layout) {
		return 0, false
	}
	for i := range len(Layout) {
		switch c := Layout[i]; c {
		case '-', ':', '.', 'T', 'Z':
			if b[i] != c {
				return 0, false
			}
		default:
			if b[i] < '0' || '9' < b[i] {
				return 0, false
			}
		}
	}
	num := func(from, to int) (n int) {
		for _, c := range b[from:to] {
			n = 10*n + int(c-'0')
		}
		return n
	}
	y, mo, d := num(0, 4), num(5, 7), num(8, 10)
	h, mi, s := num(11, 13), num(14, 16), num(17, 19)
	if y < 1 || mo < 1 || mo > 12 || d < 1 || d > daysIn(y, mo) || h > 23 || mi > 59 || s > 59 {
		return 0, false
	}
	t := Time(civil(y, mo, d))*day + Time(h*3600+mi*60+s)*second + Time(num(20, 26))
	return t, t != 0
}

func daysIn(y, m int) int {
	switch m {
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// civil counts the days from 1970-01-01 in the Gregorian calendar, reckoning
// years from March so that the leap day comes last.
func civil(y, m, d int) int {
	if m <= 2 {
		y--
		m += 12
	}
	return 365*y + y/4 - y/100 + y/400 + (153*(m-3)+2)/5 + d - 1 - 719468
}
