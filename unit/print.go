package unit

import (
	"math"
	"strconv"
	"strings"
)

// groupSpace groups digits in threes. A thin space would be the printer's choice,
// but Source Sans 3 draws it a tenth of an em wide, and 16 460 then reads as one
// word; the no-break space is a fifth of an em wide there.
const groupSpace = "\u00a0"

// Format prints an SI value in unit u with the given decimals, digits grouped
// in threes, and the unit after a no-break space. NaN, which
// stands for unknown, prints as a dash.
func Format(si float64, u Unit, decimals int) string {
	s := Digits(u.From(si), decimals)
	if u.Symbol == "" || s == Unknown {
		return s
	}
	return s + "\u00a0" + u.Symbol
}

// Unknown is printed where a number is not known.
const Unknown = "–"

// Digits prints a number with the given decimals, rounded half away from zero,
// grouped in threes, with the typographic minus.
func Digits(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Unknown
	}
	s := strconv.FormatFloat(math.Abs(roundTo(v, decimals)), 'f', decimals, 64)
	whole, frac, _ := strings.Cut(s, ".")
	var b strings.Builder
	if v < 0 && strings.Trim(s, "0.") != "" {
		b.WriteString("−")
	}
	for i, c := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 && len(whole) > 3 {
			b.WriteString(groupSpace)
		}
		b.WriteRune(c)
	}
	if frac != "" {
		b.WriteByte('.')
		b.WriteString(frac)
	}
	return b.String()
}

func roundTo(v float64, decimals int) float64 {
	p := math.Pow10(decimals)
	if r := math.Round(v*p) / p; !math.IsInf(r, 0) && !math.IsNaN(r) {
		return r
	}
	return v
}

// Floor rounds a margin down to the given decimals, so that room is never
// shown that is not there: 0.4 mm becomes 0 and −0.4 mm becomes −1. Binary
// dust of one part in 10¹² is not taken for a missing unit.
func Floor(v float64, decimals int) float64 {
	p := math.Pow10(decimals)
	x := v * p
	if math.IsInf(x, 0) {
		return v // too large to have decimals at all
	}
	if near := math.Round(x); math.Abs(x-near) <= 1e-12*math.Max(1, math.Abs(x)) {
		return near / p
	}
	return math.Floor(x) / p
}

// Text prints an SI value in u with as many digits as it needs to be read back
// unchanged, "3700 mm". Where no number of u reads back so, it takes the SI unit.
// It is what files are written with. NaN and infinities give a text that Parse
// refuses.
func Text(si float64, u Unit) string {
	v := si / u.SI
	// The shortest decimal that reads back to the same SI value.
	for digits := 1; digits <= 17; digits++ {
		s := strconv.FormatFloat(v, 'g', digits, 64)
		if back, err := strconv.ParseFloat(s, 64); err == nil && u.ToSI(back) == si {
			f, _ := strconv.ParseFloat(s, 64)
			s = strconv.FormatFloat(f, 'f', -1, 64)
			if u.Symbol == "" {
				return s
			}
			return s + " " + u.Symbol
		}
	}
	return strings.TrimSpace(strconv.FormatFloat(si, 'f', -1, 64) + " " + base[u.Dim].Symbol)
}

// Plain prints an SI value in u for people: rounded to the thousandth of the unit,
// without the zeros that say nothing, "1.31 m". It does not read back to the last
// bit; Text does.
func Plain(si float64, u Unit) string {
	v := u.From(si)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Text(si, u)
	}
	s := strconv.FormatFloat(roundTo(v, 3), 'f', -1, 64)
	if s == "-0" {
		s = "0"
	}
	return strings.TrimSpace(s + " " + u.Symbol)
}

// base is the SI unit in which any value can be written exactly.
var base = map[Dimension]Unit{
	LengthDim: M, MassDim: KG, ForceDim: N, TorqueDim: NM, AngleDim: {"rad", AngleDim, 1},
	AccelDim: MS2, AreaDim: {"m2", AreaDim, 1}, PressureDim: {"Pa", PressureDim, 1}, Number: One,
}

// shortest writes a value in that of the units in which it takes the fewest
// characters, so that what was given in feet is not written as 914.4000000000001
// mm. Of equals the first is taken.
func shortest(si float64, units ...Unit) string {
	best := Text(si, units[0])
	for _, u := range units[1:] {
		if s := Text(si, u); len(s) < len(best)-2 {
			best = s
		}
	}
	return best
}

// MarshalText writes the quantity so that UnmarshalText reads the same value.
func (l Length) MarshalText() ([]byte, error)   { return []byte(shortest(float64(l), MM, In, Ft)), nil }
func (m Mass) MarshalText() ([]byte, error)     { return []byte(shortest(float64(m), KG, Lb)), nil }
func (f Force) MarshalText() ([]byte, error)    { return []byte(Text(float64(f), KN)), nil }
func (t Torque) MarshalText() ([]byte, error)   { return []byte(Text(float64(t), NM)), nil }
func (a Angle) MarshalText() ([]byte, error)    { return []byte(Text(float64(a), Deg)), nil }
func (a Accel) MarshalText() ([]byte, error)    { return []byte(Text(float64(a), MS2)), nil }
func (a Area) MarshalText() ([]byte, error)     { return []byte(Text(float64(a), MM2)), nil }
func (p Pressure) MarshalText() ([]byte, error) { return []byte(Text(float64(p), MPa)), nil }
