package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/axleload"
	"underpin/unit"
)

// threeRows is the trailer of vehicle A with three rows of 2.25 t left at its
// front.
func threeRows(t testing.TB) axleload.Parked {
	t.Helper()
	all, err := axleload.LoadCentre([]axleload.Item{
		{6.3 * t_, 7.7 * 4.4 / 6.3}, {2.25 * t_, 0.6 - 1.6}, {2.25 * t_, 1.8 - 1.6}, {2.25 * t_, 3.0 - 1.6},
	})
	if err != nil {
		t.Fatal(err)
	}
	return axleload.Parked{Mass: all.Mass, Centre: all.At, PinToBogie: 7.70, Legs: 2.4}
}

func TestLandingLegs(t *testing.T) {
	const src = "handbook chapter 03, 1.6"
	in := threeRows(t)
	s, err := axleload.LandingLegs(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "legs", s.Legs.Tonnes(), 12.312, 5e-4, src)
	near(t, "bogie", s.Bogie.Tonnes(), 0.738, 5e-4, src)
	near(t, "margin, t·m", float64(s.Moment)/9.81/1e3, 3.91, 5e-3, src)
	if s.Tips || s.TruckGiven || s.RatingGiven || !math.IsNaN(s.LegUse) {
		t.Errorf("%+v; want it to stand, and to say that truck and rating were not given", s)
	}

	in.Truck = &axleload.Item{Mass: 4.5 * t_, At: 0.6 - 1.6}
	in.LegRating = new(24 * t_)
	s, err = axleload.LandingLegs(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "margin with the truck, t·m", float64(s.Moment)/9.81/1e3, -11.39, 5e-3, src)
	if !s.Tips || !s.NoseOver || s.TailOver || !s.TruckGiven || !s.RatingGiven {
		t.Errorf("%+v; want nose over", s)
	}
	near(t, "leg use", s.LegUse, s.Legs.Tonnes()/24, 1e-12, "algebra: load over rating")
	near(t, "sum", (s.Legs + s.Bogie).Tonnes(), 13.05+4.5, 1e-9, "algebra: loads add up")
}

func TestLandingLegsEdges(t *testing.T) {
	in := axleload.Parked{Mass: 20e3, Centre: 8.0, PinToBogie: 7.7, Legs: 2.4}
	s, err := axleload.LandingLegs(in)
	if err != nil || !s.TailOver || !s.Tips || s.NoseOver {
		t.Errorf("load behind the bogie: %+v, %v; want tail over", s, err)
	}
	in.Centre = 2.4
	if s, err = axleload.LandingLegs(in); err != nil || !s.NoseOver {
		t.Errorf("centre on the legs: %+v, %v; want nose over, since nothing holds it", s, err)
	}
	nan := unit.Length(math.NaN())
	for name, p := range map[string]axleload.Parked{
		"legs behind the bogie": {Mass: 1, Centre: 1, PinToBogie: 7, Legs: 7},
		"legs at the kingpin":   {Mass: 1, Centre: 1, PinToBogie: 7, Legs: 0},
		"centre NaN":            {Mass: 1, Centre: nan, PinToBogie: 7, Legs: 2},
		"mass 0":                {Mass: 0, Centre: 1, PinToBogie: 7, Legs: 2},
		"truck NaN":             {Mass: 1, Centre: 1, PinToBogie: 7, Legs: 2, Truck: &axleload.Item{Mass: 1, At: nan}},
		"rating 0":              {Mass: 1, Centre: 3, PinToBogie: 7, Legs: 2, LegRating: new(unit.Mass(0))},
	} {
		_, err := axleload.LandingLegs(p)
		wantDomain(t, name, err)
	}
}

func ExampleLandingLegs() {
	s, err := axleload.LandingLegs(axleload.Parked{
		Mass: 13050, Centre: 2.70, PinToBogie: 7.70, Legs: 2.40,
		Truck: &axleload.Item{Mass: 4500, At: -1.0},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("tips:", s.Tips, "leg rating given:", s.RatingGiven)
	// Output: tips: true leg rating given: false
}
