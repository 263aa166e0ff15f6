package formula

import (
	"math"
	"strconv"
	"strings"

	"underpin/unit"
)

// Numbers in a working are shown to six digits, which is more than anyone can
// weigh or measure; the outputs themselves are not rounded.

func num[Q ~float64](v Q) string {
	x := float64(v)
	if math.IsInf(x, 0) {
		return "unbounded"
	}
	size := math.Abs(x)
	switch {
	case math.IsNaN(x):
		return unit.Unknown
	case size == 0:
		return "0"
	case size < 1e-4 || size >= 1e9:
		return strings.Replace(strconv.FormatFloat(x, 'e', 5, 64), "-", "−", 1)
	}
	s := unit.Digits(x, max(0, 5-int(math.Floor(math.Log10(size)))))
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func in(si float64, u unit.Unit) string { return num(u.From(si)) + "\u00a0" + u.Symbol }

func kg(m unit.Mass) string       { return in(float64(m), unit.KG) }
func tonnes(m unit.Mass) string   { return in(float64(m), unit.T) }
func metres(l unit.Length) string { return in(float64(l), unit.M) }
func mm(l unit.Length) string     { return in(float64(l), unit.MM) }
func km(l unit.Length) string     { return in(float64(l), unit.KM) }
func kN(f unit.Force) string      { return in(float64(f), unit.KN) }
func degrees(a unit.Angle) string { return num(a.Degrees()) + "°" }

func percent(share float64) string {
	if 0 < share && share < 1e-6 {
		return "less than 0.0001\u00a0%"
	}
	return num(100*share) + "\u00a0%"
}

// nan stands for unknown and unbounded among the outputs.
var nan = math.NaN()
