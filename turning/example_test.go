package turning_test

import (
	"fmt"
	"math"

	"underpin/turning"
	"underpin/unit"
)

// A tractor of 3.70 m wheelbase with 1.375 m front overhang, 2.55 m wide, led
// by its outer front corner on 12.5 m.
func ExampleSteady() {
	r, err := turning.Steady(turning.SteadyInput{
		GuideRadius: 12.5, GuideAhead: 3.70 + 1.375, GuideLeft: -2.55 / 2,
		Lead: 0.575, PinToBogie: 7.70, Width: 2.55,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("inner %.3f m, ring %.3f m, articulation %.1f°\n", r.Inner, r.Ring, r.Articulation.Degrees())
	// Output: inner 5.361 m, ring 7.139 m, articulation 46.0°
}

func ExampleSteady_foldsUp() {
	_, err := turning.Steady(turning.SteadyInput{
		GuideRadius: 41 * unit.Foot, GuideAhead: 19.5 * unit.Foot,
		PinToBogie: 45.5 * unit.Foot, Width: 8.5 * unit.Foot,
	})
	fmt.Println(err)
	// Output: turn-steady: folds up; transient only: the kingpin's radius 10.993 m is not larger than the pin to bogie distance 13.868 m
}

func ExampleLongestPinToBogie() {
	r, err := turning.LongestPinToBogie(turning.LongestInput{
		BoundInput: turning.BoundInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575},
		Width:      2.55, Inner: 5.30,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f m\n", r.PinToBogie)
	// Output: 7.752 m
}

func ExampleLegalCircle() {
	r, err := turning.LegalCircle(turning.LegalInput{
		Outer:   12.5,
		Tractor: turning.Tractor{Front: 5.075, Rear: 0.90, Width: 2.55},
		Trailer: turning.Trailer{Lead: 0.575, PinToBogie: 7.70, FrontOverhang: 1.5925, RearEnd: 12, Width: 2.55},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("inner %.3f m (steady %.3f m), ring %.3f m, swing-out %.3f m\n", r.Inner, r.Steady.Inner, r.Ring, r.SwingOut)
	// Output: inner 5.395 m (steady 5.361 m), ring 7.105 m, swing-out 0.259 m
}

func ExampleTurn() {
	r, err := turning.Turn(turning.TurnInput{
		SteadyInput: turning.SteadyInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575, PinToBogie: 7.70, Width: 2.55},
		Angle:       90 * unit.Degree, Exit: true, FrontOverhang: 1.5925, RearEnd: 12,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("inner %.3f m, articulation at most %.1f°\n", r.InnerBody, r.ArticulationMax.Degrees())
	// Output: inner 6.758 m, articulation at most 31.0°
}

func ExampleDrift() {
	r, err := turning.Drift(turning.DriftInput{Radius: 10, Length: 7.7, Turned: 90 * unit.Degree})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f°, axle on %.3f m\n", r.Drift.Degrees(), r.AxleRadius)
	// Output: 40.01°, axle on 7.764 m
}

func ExampleEquivalentAxle() {
	r, err := turning.EquivalentAxle([]unit.Length{6.39, 7.70, 9.01})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("measured %.3f m, with bogie scrub %.3f m\n", r.Centre, r.Equivalent)
	// Output: measured 7.700 m, with bogie scrub 7.849 m
}

func ExampleOfftracking() {
	r, err := turning.Offtracking(turning.OfftrackingInput{
		OuterWheelRadius: 50 * unit.Foot, HalfTrack: 3.21 * unit.Foot,
		Wheelbase: 8.75 * unit.Foot, Lead: 1 * unit.Foot, PinToBogie: 21 * unit.Foot,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f ft\n", r.Offtracking.Feet())
	// Output: 5.88 ft
}

func ExampleTurnToArticulation() {
	r, err := turning.TurnToArticulation(turning.FoldInput{
		SteadyInput: turning.SteadyInput{GuideRadius: 41 * unit.Foot, GuideAhead: 19.5 * unit.Foot, PinToBogie: 45.5 * unit.Foot, Width: 8.5 * unit.Foot},
		Limit:       60 * unit.Degree,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("after %.0f° of turn\n", r.Turned.Degrees())
	// Output: after 144° of turn
}

func ExampleSweptWidth() {
	r, err := turning.SweptWidth(turning.SweptInput{
		Train: turning.Train{
			GuideAhead: 3.70, GuideLeft: -1.275, // outer face of the outer front tyre
			Tractor: turning.Tractor{Front: 5.075, Rear: 0.90, Width: 2.55},
			Towed:   []turning.Towed{{Trailer: turning.Trailer{Lead: 0.575, PinToBogie: 7.70, FrontOverhang: 1.5925, RearEnd: 12, Width: 2.55}}},
		},
		Radius: 12.5, Angle: math.Pi / 2,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f m, after %.0f° of the turn\n", r.Width, r.Azimuth.Degrees())
	// Output: 5.813 m, after 63° of the turn
}

func ExampleTrace() {
	poses, err := turning.Trace(turning.TraceInput{
		FollowInput: turning.FollowInput{
			Train: turning.Train{
				GuideAhead: 5.075, GuideLeft: -1.275,
				Tractor: turning.Tractor{Front: 5.075, Rear: 0.90, Width: 2.55},
				Towed:   []turning.Towed{{Trailer: turning.Trailer{Lead: 0.575, PinToBogie: 7.70, FrontOverhang: 1.5925, RearEnd: 12, Width: 2.55}}},
			},
			Course: []turning.Segment{{Length: 19.635, Radius: 12.5}, {Length: 10}},
		},
		Spacing: 10,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range poses {
		fmt.Printf("%.2f m: tractor %.1f°, trailer %.1f°, its axle at %.2f, %.2f m\n",
			p.Along, p.Units[0].Heading.Degrees(), p.Units[1].Heading.Degrees(), p.Units[1].Axle.X, p.Units[1].Axle.Y)
	}
	// Output:
	// 0.00 m: tractor 0.0°, trailer 0.0°, its axle at -12.20, 1.27 m
	// 9.82 m: tractor 24.9°, trailer 9.2°, its axle at -3.38, 1.69 m
	// 19.64 m: tractor 66.7°, trailer 36.3°, its axle at 3.35, 4.31 m
	// 29.64 m: tractor 86.7°, trailer 68.3°, its axle at 8.12, 10.93 m
}

func ExampleDeemedWheelbase() {
	r, err := turning.DeemedWheelbase(turning.DeemedInput{Width: 2.55, Outer: 12.50, Inner: 5.30, FittingRadius: 2.04})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f m\n", r.ReferenceWheelbase)
	// Output: 8.135 m
}
