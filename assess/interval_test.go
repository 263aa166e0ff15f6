package assess

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestSummitAgainstSampling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		lines := make([]margin, n)
		for i := range lines {
			lines[i] = margin{rapid.Float64Range(-2, 2).Draw(t, "m"), rapid.Float64Range(-3, 3).Draw(t, "s")}
		}
		lo := rapid.Float64Range(-1, 1).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0.01, 2).Draw(t, "span")
		least := func(x float64) float64 {
			l := lines[lowest(lines, x)]
			return l.m + l.s*x
		}
		got := least(summit(lines, lo, hi))
		for k := range 2001 {
			x := lo + (hi-lo)*float64(k)/2000
			if least(x) > got+1e-9 {
				t.Fatalf("the least margin at %v is %v, above the summit's %v", x, least(x), got)
			}
		}
	})
}

func TestIntervals(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		got  interval
		want interval
	}{
		{"at most, rising", atMost(1, 2, 5), interval{-inf, 2}},
		{"at most, falling", atMost(1, -2, 5), interval{-2, inf}},
		{"at most, level, holds", atMost(5, 0, 5), interval{-inf, inf}},
		{"at least, rising", atLeast(1, 2, 5), interval{2, inf}},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	for _, i := range []interval{atMost(6, 0, 5), atMost(math.NaN(), 0, 5), atMost(1, math.NaN(), 5)} {
		if !i.empty() {
			t.Errorf("%v is not empty", i)
		}
	}
	u := union([]interval{{3, 4}, {0, 1}, {0.5, 2}, {9, 8}})
	if len(u) != 2 || u[0] != (interval{0, 2}) || u[1] != (interval{3, 4}) {
		t.Errorf("union gave %v", u)
	}
	if got := intersect(u, []interval{{1, 3.5}}); len(got) != 2 || got[0] != (interval{1, 2}) || got[1] != (interval{3, 3.5}) {
		t.Errorf("intersect gave %v", got)
	}
}
