package unit_test

import (
	"encoding"
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

// What people read is rounded once and carries no zeros that say nothing.
func TestPlain(t *testing.T) {
	for _, tt := range []struct {
		si   float64
		u    unit.Unit
		want string
	}{
		{9.01 - 7.70, unit.M, "1.31 m"}, {3.2999999999999998 + 4e-16, unit.MM, "3300 mm"}, {34000 * 0.45359237, unit.Lb, "34000 lb"},
		{1.0 / 3, unit.M, "0.333 m"}, {-0.0001, unit.M, "0 m"}, {3, unit.One, "3"}, {math.NaN(), unit.MM, "NaN m"},
	} {
		if got := unit.Plain(tt.si, tt.u); got != tt.want {
			t.Errorf("%v in %s: %q, want %q", tt.si, tt.u.Symbol, got, tt.want)
		}
	}
}

// plain writes the typographic spaces and minus of a printed number the plain
// way, so that rows can be read.
func plain(s string) string { return strings.NewReplacer("\u00a0", " ", "−", "-").Replace(s) }

func TestDigits(t *testing.T) {
	negZero := math.Copysign(0, -1)
	for _, tt := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0, 0, "0"}, {0, 2, "0.00"},
		{negZero, 0, "0"}, {negZero, 2, "0.00"},
		{-0.4, 0, "0"}, {-0.004, 2, "0.00"}, // no minus before nothing
		{-0.5, 0, "-1"}, {0.5, 0, "1"}, {1.5, 0, "2"}, {2.5, 0, "3"}, {-2.5, 0, "-3"}, // half away from zero
		{0.125, 2, "0.13"}, {-0.125, 2, "-0.13"},
		{0.285, 2, "0.28"}, // binary 0.285 lies below a half: 0.284999…97
		{999.5, 0, "1 000"}, {-999.5, 0, "-1 000"}, {999.4, 0, "999"}, {0.999, 2, "1.00"},
		{1234567.891, 1, "1 234 567.9"}, {123456, 0, "123 456"}, {12345, 0, "12 345"}, {1000, 0, "1 000"}, {100, 0, "100"},
		{1e21, 0, "1 000 000 000 000 000 000 000"},
		{math.NaN(), 0, "–"}, {math.Inf(1), 2, "–"}, {math.Inf(-1), 0, "–"},
	} {
		if got := plain(unit.Digits(tt.v, tt.decimals)); got != tt.want {
			t.Errorf("Digits(%v, %d) = %q, want %q", tt.v, tt.decimals, got, tt.want)
		}
	}
	for _, decimals := range []int{0, 3, 17, 400} {
		got := unit.Digits(math.MaxFloat64, decimals)
		if whole, _, _ := strings.Cut(plain(got), "."); len(whole) != 309+102 || !strings.HasPrefix(whole, "179 769 313 486") {
			t.Errorf("the largest number with %d decimals is printed %q", decimals, got)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, tt := range []struct {
		si       float64
		u        unit.Unit
		decimals int
		want     string
	}{
		{3.7, unit.MM, 0, "3 700 mm"},
		{3.7084, unit.Ft, 2, "12.17 ft"}, // 12 ft 2 in = 12.1667 ft
		{36287.3896, unit.Lb, 0, "80 000 lb"},
		{-0.0004, unit.MM, 0, "0 mm"},
		{-0.0006, unit.MM, 0, "-1 mm"},
		{0.25, unit.One, 2, "0.25"},
		{940e6, unit.MPa, 0, "940 MPa"},
		{math.NaN(), unit.MM, 0, "–"}, // unknown has no unit
		{math.Inf(1), unit.KG, 0, "–"},
	} {
		if got := plain(unit.Format(tt.si, tt.u, tt.decimals)); got != tt.want {
			t.Errorf("Format(%v, %s, %d) = %q, want %q", tt.si, tt.u.Symbol, tt.decimals, got, tt.want)
		}
	}
	if got, want := unit.Format(3700, unit.T, 1), "3.7\u00a0t"; got != want {
		t.Errorf("%q, want %q: a number and its unit stay on one line", got, want)
	}
}

// What is printed lies within half of its last digit of the value, by exact
// arithmetic, and is read back as printed.
func TestPrintedNumberIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e9, 1e9).Draw(t, "v")
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		text := unit.Digits(v, decimals)
		printed, ok := new(big.Rat).SetString(strings.ReplaceAll(plain(text), " ", ""))
		if !ok {
			t.Fatalf("%q is no number", text)
		}
		diff := new(big.Rat).Sub(printed, new(big.Rat).SetFloat64(v))
		half := new(big.Rat).SetFrac64(1, 2)
		for range decimals {
			half.Quo(half, new(big.Rat).SetInt64(10))
		}
		// v·10ⁿ is rounded once in binary before it is rounded to whole digits.
		half.Add(half, new(big.Rat).SetFloat64(1e-15*math.Abs(v)))
		if diff.Abs(diff).Cmp(half) > 0 {
			t.Fatalf("%v with %d decimals is printed %s", v, decimals, text)
		}
		want, _ := printed.Float64()
		if got, err := unit.Parse(text, unit.Number); err != nil || got != want {
			t.Fatalf("%s is read back as %v, %v", text, got, err)
		}
	})
}

func TestFloor(t *testing.T) {
	for _, tt := range []struct {
		v        float64
		decimals int
		want     float64
	}{
		{0.4, 0, 0}, {0.999, 0, 0}, {1, 0, 1}, {-0.4, 0, -1}, {-1, 0, -1}, {-1.0001, 0, -2}, {0, 0, 0},
		{12.349, 1, 12.3}, {-12.349, 1, -12.4}, {0.29, 2, 0.29}, // 0.29 · 100 is 28.999999999999996 in binary
		{1 - 1e-14, 0, 1}, {1 - 1e-9, 0, 0}, // dust, and a real shortfall
		{-1e-14, 0, 0},
		{1e300, 0, 1e300}, {math.MaxFloat64, 3, math.MaxFloat64}, {-math.MaxFloat64, 3, -math.MaxFloat64},
		{math.Inf(1), 0, math.Inf(1)}, {math.Inf(-1), 2, math.Inf(-1)},
	} {
		if got := unit.Floor(tt.v, tt.decimals); got != tt.want {
			t.Errorf("Floor(%v, %d) = %v, want %v", tt.v, tt.decimals, got, tt.want)
		}
	}
	if got := unit.Floor(math.NaN(), 1); !math.IsNaN(got) {
		t.Errorf("Floor(NaN) = %v", got)
	}
	if got := unit.Digits(unit.Floor(math.Copysign(0, -1), 0), 0); got != "0" {
		t.Errorf("a margin of −0 is printed %q", got)
	}
}

// A margin rounded down never shows room that is not there, and takes away less
// than one of its last digit.
func TestFloorNeverShowsMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		decimals := rapid.IntRange(0, 3).Draw(t, "decimals")
		step := math.Pow10(-decimals)
		dust := 2e-12 * math.Max(step, math.Abs(v))
		got := unit.Floor(v, decimals)
		if !(got <= v+dust && got > v-step-dust) {
			t.Fatalf("Floor(%v, %d) = %v", v, decimals, got)
		}
	})
}

// Every value in every unit is written so that it is read back bit by bit.
func TestTextIsReadBackUnchanged(t *testing.T) {
	for _, d := range all {
		units := []unit.Unit{unit.One}
		if d != unit.Number {
			units = nil
			for _, symbol := range unit.Symbols(d) {
				u, _ := unit.Lookup(symbol)
				units = append(units, u)
			}
		}
		for _, u := range units {
			t.Run(d.String()+" "+u.Symbol, func(t *testing.T) {
				check := func(t interface{ Fatalf(string, ...any) }, v float64) {
					text := unit.Text(v, u)
					got, err := unit.Parse(text, d)
					if err != nil || got != v || math.Signbit(got) != math.Signbit(v) {
						t.Fatalf("%v is written %q and read back as %v, %v", v, text, got, err)
					}
				}
				for _, v := range []float64{0, math.Copysign(0, -1), 1, -1, 0.1, math.Pi, 914.4, math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64} {
					check(t, v)
				}
				rapid.Check(t, func(t *rapid.T) { check(t, rapid.Float64().Draw(t, "si")) })
				rapid.Check(t, func(t *rapid.T) { check(t, rapid.Float64Range(-1e6, 1e6).Draw(t, "si")) })
			})
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got, err := unit.Parse(unit.Text(v, unit.MM), unit.LengthDim); err == nil {
			t.Errorf("%v is written %q and read back as %v", v, unit.Text(v, unit.MM), got)
		}
	}
}

func TestText(t *testing.T) {
	for _, tt := range []struct {
		si   float64
		u    unit.Unit
		want string
	}{
		{3.7, unit.MM, "3700 mm"},
		{math.Nextafter(0.3, 1), unit.M, "0.30000000000000004 m"}, // as it is, not as it looks
		{1e9, unit.MM, "1000000000000 mm"},                        // no exponent
		{1e-9, unit.M, "0.000000001 m"},
		{-5.5, unit.T, "-0.0055 t"},
		{0.25, unit.One, "0.25"},
		{2 * 0.0254, unit.In, "2 in"},
	} {
		if got := unit.Text(tt.si, tt.u); got != tt.want {
			t.Errorf("Text(%v, %s) = %q, want %q", tt.si, tt.u.Symbol, got, tt.want)
		}
	}
}

// A quantity that goes into a file comes out the same, in the unit that suits it.
func TestMarshalText(t *testing.T) {
	for _, tt := range []struct {
		v    encoding.TextMarshaler
		want string
	}{
		{unit.Length(3.7), "3700 mm"},
		{3 * unit.Foot, "3 ft"}, // not 914.4000000000001 mm
		{unit.Mass(7500), "7500 kg"},
		{80000 * unit.Pound, "80000 lb"},
		{unit.Force(152e3), "152 kN"},
		{unit.Torque(270), "270 N.m"},
		{90 * unit.Degree, "90 deg"},
		{unit.Accel(1.8), "1.8 m/s2"},
		{157 * unit.SquareMillimetre, "157 mm2"},
		{940 * unit.Megapascal, "940 MPa"},
	} {
		if got, err := tt.v.MarshalText(); err != nil || string(got) != tt.want {
			t.Errorf("%T %v is written %q, %v; want %q", tt.v, tt.v, got, err, tt.want)
		}
	}
}

func roundTrip[Q ~float64, P interface {
	*Q
	encoding.TextUnmarshaler
}](t *testing.T, marshal func(Q) ([]byte, error)) {
	rapid.Check(t, func(t *rapid.T) {
		v := Q(rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1e5, 1e5)).Draw(t, "si"))
		text, err := marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var back Q
		if err := P(&back).UnmarshalText(text); err != nil || back != v {
			t.Fatalf("%v is written %q and read back as %v, %v", v, text, back, err)
		}
	})
}

func TestMarshalTextIsReadBackUnchanged(t *testing.T) {
	t.Run("length", func(t *testing.T) { roundTrip(t, unit.Length.MarshalText) })
	t.Run("mass", func(t *testing.T) { roundTrip(t, unit.Mass.MarshalText) })
	t.Run("force", func(t *testing.T) { roundTrip(t, unit.Force.MarshalText) })
	t.Run("torque", func(t *testing.T) { roundTrip(t, unit.Torque.MarshalText) })
	t.Run("angle", func(t *testing.T) { roundTrip(t, unit.Angle.MarshalText) })
	t.Run("acceleration", func(t *testing.T) { roundTrip(t, unit.Accel.MarshalText) })
	t.Run("area", func(t *testing.T) { roundTrip(t, unit.Area.MarshalText) })
	t.Run("pressure", func(t *testing.T) { roundTrip(t, unit.Pressure.MarshalText) })
}
