package unit_test

import (
	"encoding"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

// The definitions that the rows below name. All are exact; the decimals were
// multiplied out by hand, and the tolerance is that of the last binary digit. The
// numbers of tables of the SI Brochure are from memory.
const (
	yard1959  = "international yard and pound agreement, 1959: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg"
	cgpm1901  = "3rd General Conference on Weights and Measures, 1901: standard gravity 9.80665 m/s²"
	siPrefix  = "SI Brochure, 9th edition, table 7: prefixes"
	siNames   = "SI Brochure, 9th edition, table 4: named units"
	siAlso    = "SI Brochure, 9th edition, table 8: units used with the SI"
	ourNumber = "the format's own definition, package comment of Parse"
)

var all = []unit.Dimension{
	unit.Number, unit.LengthDim, unit.MassDim, unit.ForceDim, unit.TorqueDim, unit.AngleDim, unit.AccelDim, unit.AreaDim, unit.PressureDim,
}

// near allows a few units of the last binary digit, for conversions that are
// exact on paper.
func near(got, want float64) bool { return math.Abs(got-want) <= 4e-16*math.Abs(want) }

func TestParse(t *testing.T) {
	for _, tt := range []struct {
		text   string
		dim    unit.Dimension
		want   float64
		source string
	}{
		{"1 mm", unit.LengthDim, 0.001, siPrefix},
		{"1 cm", unit.LengthDim, 0.01, siPrefix},
		{"1 m", unit.LengthDim, 1, siPrefix},
		{"1 km", unit.LengthDim, 1000, siPrefix},
		{"1 ft", unit.LengthDim, 0.3048, yard1959 + "; 3 ft = 1 yd"},
		{"1'", unit.LengthDim, 0.3048, yard1959},
		{"1 in", unit.LengthDim, 0.0254, yard1959 + "; 36 in = 1 yd"},
		{"1 inch", unit.LengthDim, 0.0254, yard1959},
		{`1"`, unit.LengthDim, 0.0254, yard1959},
		{"1 mi", unit.LengthDim, 1609.344, yard1959 + "; 1760 yd = 1 mi"},
		{"1 kg", unit.MassDim, 1, siNames},
		{"1 t", unit.MassDim, 1000, siAlso},
		{"1 lb", unit.MassDim, 0.45359237, yard1959},
		{"1 lbs", unit.MassDim, 0.45359237, yard1959},
		{"80000 lb", unit.MassDim, 36287.3896, yard1959},
		{"1 N", unit.ForceDim, 1, siNames},
		{"1 kN", unit.ForceDim, 1000, siPrefix},
		{"1 lbf", unit.ForceDim, 4.4482216152605, yard1959 + "; " + cgpm1901},
		{"1 N.m", unit.TorqueDim, 1, siNames},
		{"1 Nm", unit.TorqueDim, 1, siNames},
		{"1 N·m", unit.TorqueDim, 1, siNames},
		{"1 kNm", unit.TorqueDim, 1000, siPrefix},
		{"1 kN.m", unit.TorqueDim, 1000, siPrefix},
		{"1 lbf.ft", unit.TorqueDim, 1.3558179483314004, yard1959 + "; " + cgpm1901},
		{"1 lb.ft", unit.TorqueDim, 1.3558179483314004, yard1959 + "; " + cgpm1901},
		{"180 deg", unit.AngleDim, math.Pi, siAlso + ": 1° = (π/180) rad"},
		{"180°", unit.AngleDim, math.Pi, siAlso},
		{"1 rad", unit.AngleDim, 1, siNames},
		{"1 m/s2", unit.AccelDim, 1, siNames},
		{"1 m/s²", unit.AccelDim, 1, siNames},
		{"1 mm2", unit.AreaDim, 1e-6, siPrefix},
		{"1 mm²", unit.AreaDim, 1e-6, siPrefix},
		{"1 m2", unit.AreaDim, 1, siNames},
		{"1 m²", unit.AreaDim, 1, siNames},
		{"1 in2", unit.AreaDim, 0.00064516, yard1959},
		{"1 Pa", unit.PressureDim, 1, siNames},
		{"1 MPa", unit.PressureDim, 1e6, siPrefix},
		{"1 N/mm2", unit.PressureDim, 1e6, siPrefix},
		{"1 N/mm²", unit.PressureDim, 1e6, siPrefix},
		{"1 psi", unit.PressureDim, 4.4482216152605 / 0.00064516, yard1959 + "; " + cgpm1901 + "; 1 psi = 1 lbf/in²"},

		{"0.25", unit.Number, 0.25, ourNumber},
		{"25%", unit.Number, 0.25, ourNumber},
		{"25 %", unit.Number, 0.25, ourNumber},
		{"-3", unit.Number, -3, ourNumber},

		// One way of writing each.
		{"3700mm", unit.LengthDim, 3.7, ourNumber},
		{"  3700  mm ", unit.LengthDim, 3.7, ourNumber},
		{"3700\u00a0mm", unit.LengthDim, 3.7, ourNumber},
		{"3.7 m", unit.LengthDim, 3.7, ourNumber},
		{"3,7 m", unit.LengthDim, 3.7, ourNumber},
		{"+3.7 m", unit.LengthDim, 3.7, ourNumber},
		{"-3.7 m", unit.LengthDim, -3.7, ourNumber},
		{"−3.7 m", unit.LengthDim, -3.7, ourNumber},
		{".5 m", unit.LengthDim, 0.5, ourNumber},
		{"5. m", unit.LengthDim, 5, ourNumber},
		{"3.7e3 mm", unit.LengthDim, 3.7, ourNumber},
		{"3.7E+3mm", unit.LengthDim, 3.7, ourNumber},
		{"3700e-3 m", unit.LengthDim, 3.7, ourNumber},

		// Digits grouped in threes by a space of any width.
		{"3 700 mm", unit.LengthDim, 3.7, ourNumber},
		{"13 700 kg", unit.MassDim, 13700, ourNumber},
		{"1\u00a0234\u2009567\u202f890 mm", unit.LengthDim, 1234567.89, ourNumber},
		{"3 700.5 mm", unit.LengthDim, 3.7005, ourNumber},

		// A comma that can only be a decimal mark.
		{"0,125 m", unit.LengthDim, 0.125, ourNumber},
		{"-0,125 m", unit.LengthDim, -0.125, ourNumber},
		{"1234,567 m", unit.LengthDim, 1234.567, ourNumber},
		{"1 234,567 m", unit.LengthDim, 1234.567, ourNumber},
		{"3,70 m", unit.LengthDim, 3.7, ourNumber},
		{"3,7000 m", unit.LengthDim, 3.7, ourNumber},

		// Feet and inches: 12 · 0.3048 + 2 · 0.0254.
		{"12ft 2in", unit.LengthDim, 3.7084, yard1959},
		{"12 ft 2 in", unit.LengthDim, 3.7084, yard1959},
		{`12'2"`, unit.LengthDim, 3.7084, yard1959},
		{`12' 2.5"`, unit.LengthDim, 3.7211, yard1959},
		{"-12ft 2in", unit.LengthDim, -3.7084, yard1959},
		{"-0ft 6in", unit.LengthDim, -0.1524, yard1959},
		{"13ft 6in", unit.LengthDim, 4.1148, yard1959},
		{"12ft 0in", unit.LengthDim, 3.6576, yard1959},
	} {
		got, err := unit.Parse(tt.text, tt.dim)
		if err != nil || !near(got, tt.want) {
			t.Errorf("Parse(%q, %s) = %.17g, %v; want %.17g (%s)", tt.text, tt.dim, got, err, tt.want, tt.source)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, tt := range []struct {
		text string
		dim  unit.Dimension
		why  string
	}{
		// The comma before three digits: 3,700 mm is 3.7 mm to one reader and 3.7 m to another.
		{"3,700 mm", unit.LengthDim, "decimal mark or a thousands mark"},
		{"12,500 t", unit.MassDim, "decimal mark or a thousands mark"},
		{"-3,700 mm", unit.LengthDim, "decimal mark or a thousands mark"},
		{"100,000 lb", unit.MassDim, "decimal mark or a thousands mark"},
		{"1,234,567 kg", unit.MassDim, "thousands mark"},
		{"1,234.5 kg", unit.MassDim, "thousands mark"},
		{"1234,5,6 kg", unit.MassDim, "two decimal marks"},
		{"1.234.567 kg", unit.MassDim, "two decimal marks"},
		{"1.2,3 kg", unit.MassDim, "two decimal marks"},

		{"37 00 mm", unit.LengthDim, "not grouped in threes"},
		{"3700 000 mm", unit.LengthDim, "not grouped in threes"},
		{"3 7000 mm", unit.LengthDim, "not grouped in threes"},
		{"3 700 00 mm", unit.LengthDim, "not grouped in threes"},

		{"NaN mm", unit.LengthDim, "does not begin with a number"},
		{"nan", unit.Number, "does not begin with a number"},
		{"Inf kg", unit.MassDim, "does not begin with a number"},
		{"-inf kg", unit.MassDim, "does not begin with a number"},
		{"+Infinity", unit.Number, "does not begin with a number"},
		{"∞ kg", unit.MassDim, "does not begin with a number"},
		{"0x10 mm", unit.LengthDim, `"x10 mm" is not a unit`},
		{"0x1p3", unit.Number, "takes no unit"},
		{"0b1 mm", unit.LengthDim, "is not a unit"},
		{"1_000 mm", unit.LengthDim, "is not a unit"},
		{"１２ mm", unit.LengthDim, "does not begin with a number"},
		{"1e400", unit.Number, "too large"},
		{"1e308 km", unit.LengthDim, "too large"},
		{"-1e308 km", unit.LengthDim, "too large"},
		{"1e308ft 2in", unit.LengthDim, "too large"},
		{"1e mm", unit.LengthDim, `"e mm" is not a unit`},

		{"3700", unit.LengthDim, "the unit is missing"},
		{"3 700", unit.MassDim, "the unit is missing"},
		{"3700 mm mm", unit.LengthDim, "is not a unit"},
		{"3700 MM", unit.LengthDim, "is not a unit"},
		{"3700 furlong", unit.LengthDim, `"furlong" is not a unit`},
		{"mm", unit.LengthDim, "does not begin with a number"},
		{"--3 mm", unit.LengthDim, "does not begin with a number"},
		{"- 3 mm", unit.LengthDim, "does not begin with a number"},
		{". mm", unit.LengthDim, "does not begin with a number"},
		{"", unit.LengthDim, "is empty"},
		{" \t", unit.Number, "is empty"},
		{"3 m\xff", unit.LengthDim, "UTF-8"},
		{"5 kg", unit.Number, "takes no unit"},
		{"5 %", unit.LengthDim, "is not a unit"},

		{"12ft 12in", unit.LengthDim, "not feet and inches"}, // 13 ft was perhaps meant, or 1 in
		{"12.5ft 2in", unit.LengthDim, "not feet and inches"},
		{"12ft 2", unit.LengthDim, "not feet and inches"},
		{"12ft 2mm", unit.LengthDim, "not feet and inches"},
		{"12' 2'", unit.LengthDim, "not feet and inches"},
		{"12ft 1/2in", unit.LengthDim, "not feet and inches"},
		{"12ft -2in", unit.LengthDim, "is not a unit"},
		{"12ft 2in 1mm", unit.LengthDim, "not feet and inches"},
	} {
		got, err := unit.Parse(tt.text, tt.dim)
		var pe *unit.ParseError
		if !errors.As(err, &pe) || !strings.Contains(pe.Why, tt.why) || pe.Found != tt.text || pe.Expected == "" {
			t.Errorf("Parse(%q, %s) = %v, %v; want an error that says %q", tt.text, tt.dim, got, err, tt.why)
		}
	}
}

// Every unit is refused where another quantity belongs, and the error says what
// was given and what was wanted.
func TestUnitOfAnotherQuantity(t *testing.T) {
	tried := 0
	for _, given := range all[1:] {
		for _, symbol := range unit.Symbols(given) {
			for _, want := range all[1:] {
				if want == given {
					continue
				}
				tried++
				_, err := unit.Parse("5 "+symbol, want)
				if err == nil || !strings.Contains(err.Error(), "is a unit of "+given.String()) || !strings.Contains(err.Error(), want.String()+" with its unit") {
					t.Errorf("5 %s where a %s belongs: %v", symbol, want, err)
				}
			}
		}
	}
	if tried < 100 {
		t.Errorf("%d units tried, there are more", tried)
	}
}

func TestSymbolsAreUnambiguous(t *testing.T) {
	seen := map[string]unit.Dimension{}
	for _, d := range all {
		for _, symbol := range unit.Symbols(d) {
			if other, twice := seen[symbol]; twice {
				t.Errorf("%q is a unit of %s and of %s", symbol, other, d)
			}
			seen[symbol] = d
			if u, ok := unit.Lookup(symbol); !ok || u.Symbol != symbol || u.Dim != d || !(u.SI > 0) {
				t.Errorf("Lookup(%q) = %+v, %v", symbol, u, ok)
			}
		}
	}
	if len(seen) < 30 {
		t.Errorf("%d symbols, there are more", len(seen))
	}
}

// grammar is what Parse may accept, written a second time: a sign, digits that
// may be grouped, one mark, an exponent, a unit.
var grammar = regexp.MustCompile(`(?s)^[-+−]?(\d+([ \x{a0}\x{2009}\x{202f}]\d{3})*[.,]?\d*|[.,]\d+)([eE][-+]?\d+)?(\PN.*)?$`)

// FuzzParse: whatever the text, what is accepted is a finite number in the form
// above that is written and read back unchanged, and what is refused says why.
func FuzzParse(f *testing.F) {
	for i, text := range []string{"3 700 mm", "12ft 2in", "3,700 mm", "0,125 m", "25%", "−3.5e-3 kN", `12' 2"`, "1e400 t", "NaN", "0x1p-2 m", "5\u202f000 lb", "1.2.3", "\xff", "90°", "1 N·m"} {
		f.Add(text, i)
	}
	f.Fuzz(func(t *testing.T, text string, n int) {
		d := all[(n%len(all)+len(all))%len(all)]
		v, err := unit.Parse(text, d)
		if err != nil {
			var pe *unit.ParseError
			if !errors.As(err, &pe) || pe.Found != text || pe.Why == "" || pe.Expected == "" {
				t.Fatalf("Parse(%q, %s): %#v", text, d, err)
			}
			return
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("Parse(%q, %s) = %v", text, d, v)
		}
		if !grammar.MatchString(strings.TrimSpace(text)) {
			t.Fatalf("Parse(%q, %s) = %v, which is not of the documented form", text, d, v)
		}
		u := unit.One
		if d != unit.Number {
			u, _ = unit.Lookup(unit.Symbols(d)[0])
		}
		if back, err := unit.Parse(unit.Text(v, u), d); err != nil || back != v {
			t.Fatalf("Parse(%q, %s) = %v, written %q, read back %v, %v", text, d, v, unit.Text(v, u), back, err)
		}
	})
}

// A decimal number reads as strconv reads it, however its digits are grouped and
// whichever mark it has.
func TestParseReadsDecimals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.Uint64Range(0, 1e15).Draw(t, "whole")
		frac := rapid.StringMatching(`[0-9]{0,6}`).Draw(t, "frac")
		digits := strconv.FormatUint(whole, 10)
		want, err := strconv.ParseFloat(digits+"."+frac+"0", 64)
		if err != nil {
			t.Fatal(err)
		}
		grouped := rapid.Bool().Draw(t, "grouped") && len(digits) > 3
		if grouped {
			space := rapid.SampledFrom([]string{" ", "\u00a0", "\u2009", "\u202f"}).Draw(t, "space")
			for i := len(digits) - 3; i > 0; i -= 3 {
				digits = digits[:i] + space + digits[i:]
			}
		}
		mark := rapid.SampledFrom([]string{".", ","}).Draw(t, "mark")
		text := digits
		if frac != "" {
			text += mark + frac
		}
		got, err := unit.Parse(text+" kg", unit.MassDim)
		if mark == "," && len(frac) == 3 && !grouped && len(digits) <= 3 && whole > 0 {
			if err == nil {
				t.Fatalf("%q was read as %v and can be read in two ways", text, got)
			}
			return
		}
		if err != nil || got != want {
			t.Fatalf("%q was read as %v, %v; want %v", text, got, err, want)
		}
	})
}

func TestUnmarshalTextKeepsTheOldValueOnError(t *testing.T) {
	l := unit.Length(3)
	if err := l.UnmarshalText([]byte("5 kg")); err == nil || l != 3 {
		t.Errorf("length %v, error %v; want 3 and an error", l, err)
	}
}

// Each type reads its own quantity.
func TestUnmarshalText(t *testing.T) {
	var (
		l unit.Length
		m unit.Mass
		f unit.Force
		q unit.Torque
		a unit.Angle
		b unit.Accel
		s unit.Area
		p unit.Pressure
	)
	for _, tt := range []struct {
		dst  encoding.TextUnmarshaler
		text string
		got  func() float64
		want float64
	}{
		{&l, "3700 mm", func() float64 { return float64(l) }, 3.7},
		{&m, "18 t", func() float64 { return float64(m) }, 18000},
		{&f, "150 kN", func() float64 { return float64(f) }, 150000},
		{&q, "220 N.m", func() float64 { return float64(q) }, 220},
		{&a, "90 deg", func() float64 { return float64(a) }, math.Pi / 2},
		{&b, "1.8 m/s2", func() float64 { return float64(b) }, 1.8},
		{&s, "157 mm2", func() float64 { return float64(s) }, 157e-6},
		{&p, "940 MPa", func() float64 { return float64(p) }, 940e6},
	} {
		if err := tt.dst.UnmarshalText([]byte(tt.text)); err != nil || !near(tt.got(), tt.want) {
			t.Errorf("%T read %q as %v, %v; want %v", tt.dst, tt.text, tt.got(), err, tt.want)
		}
	}
}

func ExampleParse() {
	for _, text := range []string{"3 700 mm", "12ft 2in", "3,700 mm"} {
		l, err := unit.Parse(text, unit.LengthDim)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%.4f m\n", l)
	}
	// Output:
	// 3.7000 m
	// 3.7084 m
	// found "3,700 mm", where the comma may be a decimal mark or a thousands mark (write a point, or no mark); expected a length with its unit, such as 3700mm, 3.7m or 12ft 2in
}
