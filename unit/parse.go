package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A ParseError says what was found where a quantity was expected.
type ParseError struct {
	Found    string // the text as given
	Expected string // "a length with its unit, such as 3700 mm"
	Why      string // "the unit is missing"
}

func (e *ParseError) Error() string {
	return fmt.Sprintf("found %q, %s; expected %s", e.Found, e.Why, e.Expected)
}

var examples = map[Dimension]string{
	Number: "a plain number, such as 0.25 or 25%", LengthDim: "a length with its unit, such as 3700mm, 3.7m or 12ft 2in",
	MassDim: "a mass with its unit, such as 7500kg, 18t or 33500lb", ForceDim: "a force with its unit, such as 150kN",
	TorqueDim: "a torque with its unit, such as 220N.m", AngleDim: "an angle with its unit, such as 12deg",
	AccelDim: "an acceleration with its unit, such as 1.8m/s2", AreaDim: "an area with its unit, such as 157mm2",
	PressureDim: "a pressure with its unit, such as 940MPa",
}

// Parse reads one quantity of the wanted dimension and returns it in SI.
//
// It reads a decimal number with point or comma, digits grouped by spaces in
// threes ("3 700 mm"), feet with inches ("12ft 2in"), and for pure numbers a
// per cent sign ("25%" is 0.25). A comma before exactly three digits is
// refused where it may be a decimal mark or a thousands mark ("3,700 mm"); after
// a lone zero, more than three digits or grouped ones it is a decimal mark. NaN and
// infinities are refused. A missing unit, an unknown unit and a unit of another
// quantity are each a *ParseError.
func Parse(text string, want Dimension) (float64, error) {
	fail := func(why string) (float64, error) {
		return 0, &ParseError{Found: text, Expected: examples[want], Why: why}
	}
	finite := func(si float64) (float64, error) {
		if math.IsInf(si, 0) {
			return fail("which is too large")
		}
		return si, nil
	}
	if !utf8.ValidString(text) {
		return fail("which is not valid UTF-8")
	}
	s := strings.TrimSpace(text)
	if s == "" {
		return fail("which is empty")
	}
	value, rest, why := number(s)
	if why != "" {
		return fail(why)
	}
	rest = strings.TrimSpace(rest)
	if want == Number {
		switch rest {
		case "":
			return value, nil
		case "%":
			return value / 100, nil
		}
		return fail("where a plain number takes no unit")
	}
	if rest == "" {
		return fail("the unit is missing")
	}
	// Feet and inches: "12ft 2in", "12' 2\"".
	for _, foot := range []string{"ft", "'"} {
		after, ok := strings.CutPrefix(rest, foot)
		if after = strings.TrimSpace(after); !ok || after == "" || want != LengthDim {
			continue
		}
		if after[0] < '0' || after[0] > '9' {
			break
		}
		inches, tail, why := number(after)
		tail = strings.TrimSpace(tail)
		if why != "" || (tail != "in" && tail != `"`) || inches >= 12 || value != math.Trunc(value) {
			return fail("which is not feet and inches")
		}
		if math.Signbit(value) {
			inches = -inches
		}
		return finite((value*12 + inches) * float64(Inch)) // the same as in inches alone
	}
	u, ok := Lookup(rest)
	if !ok {
		return fail(fmt.Sprintf("where %q is not a unit known here", rest))
	}
	if u.Dim != want {
		return fail(fmt.Sprintf("where %s is a unit of %s", u.Symbol, u.Dim))
	}
	return finite(u.ToSI(value))
}

// number reads the leading decimal number of s and returns what follows.
func number(s string) (value float64, rest, why string) {
	var b strings.Builder
	i, digits := 0, 0
	switch {
	case strings.HasPrefix(s, "−"): // the typographic minus
		b.WriteByte('-')
		i = len("−")
	case s[0] == '-' || s[0] == '+':
		b.WriteByte(s[0])
		i = 1
	}
	run := func() int { // copies digits, spaces between groups of three left out
		n := 0
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			b.WriteByte(s[i])
			i++
			n++
		}
		return n
	}
	isDigit := func(k int) bool { return k < len(s) && s[k] >= '0' && s[k] <= '9' }
	digits = run()
	lead, grouped := digits, false
	for digits > 0 {
		sep := 0
		for _, space := range []string{" ", "\u00a0", "\u2009", "\u202f"} {
			if strings.HasPrefix(s[i:], space) {
				sep = len(space)
			}
		}
		if sep == 0 || !isDigit(i+sep) {
			break
		}
		i += sep
		if n := run(); n != 3 || (!grouped && lead > 3) {
			return 0, "", "whose digits are not grouped in threes"
		}
		grouped = true
		digits += 3
	}
	if i < len(s) && (s[i] == '.' || s[i] == ',') && (digits > 0 || isDigit(i+1)) {
		mark := s[i]
		i++
		b.WriteByte('.')
		n := run()
		if mark == ',' && n == 3 && lead <= 3 && !grouped && !(lead == 1 && strings.TrimLeft(b.String(), "+-")[0] == '0') {
			return 0, "", "where the comma may be a decimal mark or a thousands mark (write a point, or no mark)"
		}
		if i < len(s) && (s[i] == '.' || s[i] == ',') {
			return 0, "", "which has two decimal marks"
		}
		digits += n
	}
	if digits == 0 {
		return 0, "", "which does not begin with a number"
	}
	if i+1 < len(s) && (s[i] == 'e' || s[i] == 'E') {
		k := i + 1
		if s[k] == '+' || s[k] == '-' {
			k++
		}
		if isDigit(k) {
			b.WriteString(s[i:k])
			i = k
			run()
		}
	}
	v, err := strconv.ParseFloat(b.String(), 64)
	if err != nil {
		return 0, "", "which is too large"
	}
	return v, s[i:], ""
}

func parseInto[Q ~float64](dst *Q, text []byte, d Dimension) error {
	v, err := Parse(string(text), d)
	if err != nil {
		return err
	}
	*dst = Q(v)
	return nil
}

// UnmarshalText reads the quantity with its unit, as Parse does.
func (l *Length) UnmarshalText(b []byte) error   { return parseInto(l, b, LengthDim) }
func (m *Mass) UnmarshalText(b []byte) error     { return parseInto(m, b, MassDim) }
func (f *Force) UnmarshalText(b []byte) error    { return parseInto(f, b, ForceDim) }
func (t *Torque) UnmarshalText(b []byte) error   { return parseInto(t, b, TorqueDim) }
func (a *Angle) UnmarshalText(b []byte) error    { return parseInto(a, b, AngleDim) }
func (a *Accel) UnmarshalText(b []byte) error    { return parseInto(a, b, AccelDim) }
func (a *Area) UnmarshalText(b []byte) error     { return parseInto(a, b, AreaDim) }
func (p *Pressure) UnmarshalText(b []byte) error { return parseInto(p, b, PressureDim) }
