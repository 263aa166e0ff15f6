package mounting

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

func spansGen() *rapid.Generator[Spans] {
	return rapid.Custom(func(t *rapid.T) Spans {
		var s Spans
		for range rapid.IntRange(0, 4).Draw(t, "n") {
			a := rapid.IntRange(0, 40).Draw(t, "from")
			s = append(s, Span{unit.Length(a), unit.Length(a + rapid.IntRange(0, 10).Draw(t, "long"))})
		}
		return tidy(s)
	})
}

// The operations on sets are held against what they mean, point by point, on
// quarters, so that both ends and insides are met.
func TestSetsMeanWhatTheySay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := spansGen().Draw(t, "a"), spansGen().Draw(t, "b")
		gap := Span{unit.Length(rapid.IntRange(0, 40).Draw(t, "gap")), 0}
		gap.To = gap.From + unit.Length(rapid.IntRange(0, 8).Draw(t, "wide"))
		travel := unit.Length(rapid.IntRange(0, 6).Draw(t, "travel"))
		and, or, less, eroded, moved := a.and(b), a.or(b), a.without(gap), a.erode(travel), a.shift(3)
		for _, s := range []Spans{and, or, less, eroded} {
			for i, p := range s {
				if !(p.From <= p.To) || i > 0 && !(s[i-1].To <= p.From) {
					t.Fatalf("%v is not in order", s)
				}
			}
		}
		for q := -8; q <= 60*4; q++ {
			x := unit.Length(q) / 4
			in, also := a.Contains(x), b.Contains(x)
			if and.Contains(x) != (in && also) {
				t.Fatalf("%v and %v at %v", a, b, x)
			}
			if or.Contains(x) != (in || also) {
				t.Fatalf("%v or %v at %v", a, b, x)
			}
			if less.Contains(x) != (in && !(gap.From < x && x < gap.To)) {
				t.Fatalf("%v without %v at %v", a, gap, x)
			}
			if moved.Contains(x+3) != in {
				t.Fatalf("%v moved at %v", a, x)
			}
			whole := false
			for _, p := range a {
				whole = whole || p.From <= x && x+travel <= p.To
			}
			if eroded.Contains(x) != whole {
				t.Fatalf("%v eroded by %v at %v", a, travel, x)
			}
		}
		least := math.Inf(1)
		for q := range 60 * 4 {
			x := unit.Length(q) / 4
			if !a.Contains(x) {
				continue
			}
			for r := range 60 * 4 {
				if y := unit.Length(r) / 4; b.Contains(y) {
					least = math.Min(least, math.Abs(float64(x-y)))
				}
			}
		}
		if got := float64(a.apart(b)); got != least {
			t.Fatalf("%v and %v are %v apart, expected %v", a, b, got, least)
		}
	})
}

// A parabola's set is held against its values.
func TestParabola(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SampledFrom([]float64{0, 0, -0.004, 0.01, 1, -2}).Draw(t, "a")
		b := rapid.Float64Range(-2, 2).Draw(t, "b")
		c := rapid.Float64Range(-3, 3).Draw(t, "c")
		lo := rapid.Float64Range(-3, 3).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, 2).Draw(t, "wide")
		set := parabola{a, b, c}.between(unit.Length(lo), unit.Length(hi))
		for k := -400; k <= 400; k++ {
			x := float64(k) / 40
			v := (a*x+b)*x + c
			near := math.Min(math.Abs(v-lo), math.Abs(v-hi)) < 1e-7
			if in := lo <= v && v <= hi; !near && set.Contains(unit.Length(x)) != in {
				t.Fatalf("%g·x² + %g·x + %g is %g at %g, %g to %g, and the set is %v", a, b, c, v, x, lo, hi, set)
			}
		}
	})
}

// Two ranges that touch at 2.72 m leave that point, on whichever side of it
// binary numbers put their ends.
func TestTouchingGapsLeaveAPoint(t *testing.T) {
	for _, dust := range []unit.Length{0, 4e-16, -4e-16} {
		s := Spans{{2, 3}}.without(Span{2.70, 2.72 + dust}, Span{2.72, 2.74})
		if !s.Contains(2.72) || s.Contains(2.7199) || s.Contains(2.7201) {
			t.Errorf("%v", []Span(s))
		}
	}
}

func TestSetsInWords(t *testing.T) {
	tests := []struct {
		set  Spans
		want string
	}{
		{nil, "no place"},
		{Spans{{2.9641, 3.3868}}, "2\u00a0965 to 3\u00a0386\u00a0mm"}, // rounded inwards
		{Spans{{3, 3}, {3.1, 3.1}}, "3\u00a0000\u00a0mm, 3\u00a0100\u00a0mm"},
		{Spans{{1, 1}, {2, 2}, {3, 3}, {4, 4}, {5, 5}, {6, 6}, {7, 7}}, "7 places from 1\u00a0000\u00a0mm to 7\u00a0000\u00a0mm"},
	}
	for _, test := range tests {
		if got := test.set.String(); got != test.want {
			t.Errorf("%v: %q, expected %q", []Span(test.set), got, test.want)
		}
	}
}
