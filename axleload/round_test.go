package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

// rows are the eleven rows of handbook chapter 03, 5.2, rear row first.
func rows() []axleload.Item {
	var items []axleload.Item
	for i := 10; i >= 0; i-- {
		items = append(items, axleload.Item{Mass: 2.25 * t_, At: unit.Length(0.6+1.2*float64(i)) - 1.6})
	}
	return items
}

func TestRound(t *testing.T) {
	const src = "handbook chapter 03, 5.2"
	var out [12]axleload.Stage
	if err := axleload.Round(vehicleA(), rows(), out[:]); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		left                                    int
		p, s, k, b, f, r, tractor, gross, drive float64
	}{
		{11, 24.75, 6.6, 10.579, 20.471, 7.215, 11.163, 18.379, 38.850, 28.7},
		{10, 22.50, 6.0, 11.543, 17.257, 7.372, 11.971, 19.343, 36.600, 32.7},
		{9, 20.25, 5.4, 12.156, 14.394, 7.471, 12.485, 19.956, 34.350, 36.3},
		{8, 18.00, 4.8, 12.419, 11.881, 7.514, 12.706, 20.219, 32.100, 39.6},
		{7, 15.75, 4.2, 12.332, 9.718, 7.500, 12.632, 20.132, 29.850, 42.3},
		{6, 13.50, 3.6, 11.894, 7.906, 7.429, 12.265, 19.694, 27.600, 44.4},
		{5, 11.25, 3.0, 11.105, 6.445, 7.301, 11.604, 18.905, 25.350, 45.8},
		{4, 9.00, 2.4, 9.965, 5.335, 7.116, 10.649, 17.765, 23.100, 46.1},
		{3, 6.75, 1.8, 8.475, 4.575, 6.874, 9.400, 16.275, 20.850, 45.1},
		{2, 4.50, 1.2, 6.634, 4.166, 6.576, 7.858, 14.434, 18.600, 42.2},
		{1, 2.25, 0.6, 4.442, 4.108, 6.220, 6.022, 12.242, 16.350, 36.8},
		{0, 0, 1.6, 1.900, 4.400, 5.808, 3.892, 9.700, 14.100, 27.6},
	} {
		st := out[11-row.left]
		n := fmt.Sprintf("%d rows ", row.left)
		near(t, n+"P", st.Load.Mass.Tonnes(), row.p, 1e-9, src)
		near(t, n+"s", float64(st.Load.At)+1.6, row.s, 1e-9, src)
		near(t, n+"K", st.Result.Imposed.Tonnes(), row.k, 5e-4, src)
		near(t, n+"B", st.Result.Bogie.Tonnes(), row.b, 5e-4, src)
		near(t, n+"F", st.Result.Front.Tonnes(), row.f, 5e-4, src)
		near(t, n+"R", st.Result.Rear.Tonnes(), row.r, 5e-4, src)
		near(t, n+"tractor", st.Result.Tractor.Tonnes(), row.tractor, 5e-4, src)
		near(t, n+"gross", st.Result.Gross.Tonnes(), row.gross, 5e-4, src)
		near(t, n+"drive %", 100*st.Result.DriveShare(), row.drive, 0.05, src)
	}
	near(t, "7 rows, front", out[4].Result.Front.Tonnes(), 7.499754, 5e-7, src+": passes by 0.25 kg")
	wantDomain(t, "no place", axleload.Round(vehicleA(), rows(), out[:11]))
}

func TestRoundExtremes(t *testing.T) {
	const src = "handbook chapter 03, 5.2: worst 12.419, least 0.059"
	e, err := axleload.RoundExtremes(vehicleA(), rows())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "worst K", e.ImposedMost.Tonnes(), 12.419, 5e-4, src)
	near(t, "least K", e.ImposedLeast.Tonnes(), 0.059, 5e-4, src)
	near(t, "front", e.FrontMost.Tonnes(), 7.514, 5e-4, src+", 8 rows")
	near(t, "rear", e.RearMost.Tonnes(), 12.706, 5e-4, src+", 8 rows")
	near(t, "tractor", e.TractorMost.Tonnes(), 20.219, 5e-4, src+", 8 rows")
}

// A floor loaded evenly, emptied behind the bogie line.
func TestRoundContinuous(t *testing.T) {
	const src = "handbook chapter 03, 5.2, continuous check"
	left := 25.9 - 8.18897
	p := vehicleA()
	p.Payload, p.PayloadAt = unit.Mass(left)*t_, 9.3/2-1.6
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "K", r.Imposed.Tonnes(), 12.59562, 5e-6, src)
	near(t, "F", r.Front.Tonnes(), 7.54253, 5e-6, src)
	near(t, "R", r.Rear.Tonnes(), 12.85309, 5e-6, src)
	near(t, "B", r.Bogie.Tonnes(), 11.41541, 5e-6, src)
}

// No order of unloading gets past the extremes, and some order reaches each.
func TestRoundExtremesBoundEveryOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPair(t)
		items := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) axleload.Item {
			return axleload.Item{
				Mass: unit.Mass(rapid.Float64Range(0, 5e3).Draw(t, "m")),
				At:   unit.Length(rapid.Float64Range(-1.5, 13).Draw(t, "x")),
			}
		}), 0, 8).Draw(t, "items")
		e, err := axleload.RoundExtremes(p, items)
		if err != nil {
			t.Fatal(err)
		}
		most, least := math.Inf(-1), math.Inf(1)
		stages := make([]axleload.Stage, len(items)+1)
		look := func(order []axleload.Item) {
			if err := axleload.Round(p, order, stages); err != nil {
				t.Fatal(err)
			}
			for _, st := range stages {
				const tol = 1e-6
				r := st.Result
				if r.Imposed > e.ImposedMost+tol || r.Imposed < e.ImposedLeast-tol || r.Bogie > e.BogieMost+tol || r.Bogie < e.BogieLeast-tol ||
					r.Front > e.FrontMost+tol || r.Rear > e.RearMost+tol || r.Tractor > e.TractorMost+tol {
					t.Errorf("stage %+v is outside %+v", r, e)
				}
				most, least = max(most, float64(r.Imposed)), min(least, float64(r.Imposed))
			}
		}
		look(rapid.Permutation(items).Draw(t, "order"))
		var ahead, behind []axleload.Item
		for _, it := range items {
			if it.At < p.PinToBogie {
				ahead = append(ahead, it)
			} else {
				behind = append(behind, it)
			}
		}
		look(append(append([]axleload.Item(nil), behind...), ahead...))
		look(append(append([]axleload.Item(nil), ahead...), behind...))
		if !(math.Abs(most-float64(e.ImposedMost)) <= 1e-6) || !(math.Abs(least-float64(e.ImposedLeast)) <= 1e-6) {
			t.Errorf("orders reach %v to %v, extremes say %v to %v", least, most, e.ImposedLeast, e.ImposedMost)
		}
	})
}

func ExampleRound() {
	p := axleload.Pair{
		Wheelbase: 3.70, Lead: 0.60, TareFront: 5500, TareRear: 2300,
		PinToBogie: 7.70, TarePin: 1900, TareBogie: 4400,
	}
	drops := []axleload.Item{{8000, 10.0}, {8000, 6.0}, {8000, 2.0}} // rear first
	stages := make([]axleload.Stage, len(drops)+1)
	if err := axleload.Round(p, drops, stages); err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range stages {
		fmt.Printf("%5.0f kg left: kingpin %5.0f kg\n", s.Load.Mass, s.Result.Imposed)
	}
	// Output:
	// 24000 kg left: kingpin  7199 kg
	// 16000 kg left: kingpin  9588 kg
	//  8000 kg left: kingpin  7822 kg
	//     0 kg left: kingpin  1900 kg
}
