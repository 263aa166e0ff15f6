package mounting

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

func TestTighteningOrder(t *testing.T) {
	p := func(n int, x, y int) Place { return Place{Number: n, X: *mmOf(x), Y: *mmOf(y), D: 0.017} }
	tests := []struct {
		name   string
		places []Place
		want   []int
	}{
		{"nothing", nil, nil},
		{"one", []Place{p(1, 0, 0)}, []int{1}},
		// Worked out by hand: front left, across to rear right, then the other pair.
		{"square", []Place{p(1, -100, 100), p(2, -100, -100), p(3, 100, 100), p(4, 100, -100)}, []int{1, 4, 2, 3}},
		// The middle pair first, then the corners.
		{"six", []Place{p(1, -120, 400), p(2, 0, 400), p(3, 120, 400), p(4, -120, -400), p(5, 0, -400), p(6, 120, -400)}, []int{2, 5, 1, 6, 3, 4}},
		// A single row of five: middle, then left and right of it in turn.
		{"row", []Place{p(1, -80, 0), p(2, -40, 0), p(3, 0, 0), p(4, 40, 0), p(5, 80, 0)}, []int{3, 2, 4, 1, 5}},
	}
	for _, test := range tests {
		if got := Tightening(test.places); !slices.Equal(got, test.want) {
			t.Errorf("%s: %v, expected %v", test.name, got, test.want)
		}
	}
}

// Every bolt once, never farther from the middle than a later ring, and on a
// pattern that is its own image every second bolt lies across from the first.
func TestTighteningOrderOfAnyPattern(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var half []Place
		for range rapid.IntRange(1, 6).Draw(t, "bolts") {
			q := Place{X: *mmOf(rapid.IntRange(-300, 300).Draw(t, "x")), Y: *mmOf(rapid.IntRange(1, 500).Draw(t, "y"))}
			if !slices.ContainsFunc(half, func(o Place) bool { return o.X == q.X && o.Y == q.Y }) {
				half = append(half, q)
			}
		}
		places := slices.Clone(half)
		for _, q := range half { // the pattern turned half round
			places = append(places, Place{X: -q.X, Y: -q.Y})
		}
		for i := range places {
			places[i].Number = i + 1
		}
		order := Tightening(places)
		seen := slices.Clone(order)
		slices.Sort(seen)
		for i, n := range seen {
			if n != i+1 || len(seen) != len(places) {
				t.Fatalf("%v does not hold every bolt once", order)
			}
		}
		far := func(n int) float64 { return math.Hypot(float64(places[n-1].X), float64(places[n-1].Y)) }
		for i := 1; i < len(order); i++ {
			if far(order[i]) < far(order[i-1])-1e-3 {
				t.Fatalf("%v goes inwards at %d", order, i)
			}
		}
		for i := 0; i+1 < len(order); i += 2 {
			a, b := places[order[i]-1], places[order[i+1]-1]
			if math.Hypot(float64(a.X+b.X), float64(a.Y+b.Y)) > 2e-3*math.Sqrt2 { // rings are a millimetre wide
				t.Fatalf("%v: %d is not across from %d", order, order[i+1], order[i])
			}
		}
	})
}

func TestPatterns(t *testing.T) {
	p := &Pattern{Holes: []Hole{{mmOf(10), mmOf(0), mmOf(17)}}, Rows: []Row{{First: mmOf(-60), Y: mmOf(300), Pitch: mmOf(60), Count: 3, D: mmOf(17)}}, Mirrored: true}
	places := p.Places()
	if len(places) != 7 || places[6].Number != 7 || places[6].Y != -0.3 || places[1].X != -0.06 {
		t.Errorf("%v: expected the hole on the centre line once and the row of three on both sides", places)
	}
	if p := (&Pattern{Rows: []Row{{First: mmOf(0), Y: mmOf(0), Count: 2, D: mmOf(17)}}}).Places(); p != nil {
		t.Errorf("a row without pitch came out as %v", p)
	}
	if a, b, found := overlap([]Place{{1, 0, 0, 0.017}, {2, 0.05, 0, 0.017}, {3, 0.060, 0.012, 0.017}}); !found || a.Number != 2 || b.Number != 3 {
		t.Errorf("holes 2 and 3 run into each other: found %v %v %v", a, b, found)
	}
	if _, _, found := overlap([]Place{{1, 0, 0, 0.017}, {2, 0.017, 0, 0.017}}); found {
		t.Error("holes that touch are taken to run into each other")
	}
	foot := []Place{{X: -0.06}, {X: 0.06}}
	top := []Place{{X: 0.40}, {X: 0.46}, {X: 0.52}, {X: 0.58}, {X: 0.70}}
	want := []unit.Length{0.46, 0.52, 0.64}
	if got := shifts(foot, top); len(got) != 3 || !near(got[0], want[0]) || !near(got[1], want[1]) || !near(got[2], want[2]) {
		t.Errorf("holes 120 mm apart meet at %v, expected %v", got, want)
	}
}
