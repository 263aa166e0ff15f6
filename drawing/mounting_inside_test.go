package drawing

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Labels are moved apart, and no farther than they must.
func TestSpread(t *testing.T) {
	for _, tt := range []struct {
		want []float64
		room float64
		out  []float64 // by hand: labels that would touch lie about their common middle
	}{
		{nil, 4, nil},
		{[]float64{3}, 4, []float64{3}},
		{[]float64{0, 10, 20}, 4, []float64{0, 10, 20}},
		{[]float64{10, 10}, 4, []float64{8, 12}},
		{[]float64{10, 11, 12}, 4, []float64{7, 11, 15}},
		{[]float64{0, 10, 11, 30}, 4, []float64{0, 8.5, 12.5, 30}},
		{[]float64{0, 3, 20}, 4, []float64{-0.5, 3.5, 20}},
	} {
		got := spread(tt.want, tt.room)
		if !slices.EqualFunc(got, tt.out, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("spread(%v, %v) = %v, want %v", tt.want, tt.room, got, tt.out)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(rapid.Float64Range(-100, 100), 0, 20).Draw(t, "want")
		slices.Sort(want)
		room := rapid.Float64Range(0.1, 20).Draw(t, "room")
		got := spread(want, room)
		sum := 0.0
		for i := range got {
			sum += got[i] - want[i]
			if i > 0 && !(got[i]-got[i-1] >= room-1e-9) {
				t.Fatalf("labels %d and %d of %v have no room", i-1, i, got)
			}
		}
		if !(math.Abs(sum) < 1e-6) {
			t.Fatalf("the labels moved by %g in all", sum)
		}
	})
}
