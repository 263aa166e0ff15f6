// Package clearance computes where a tractor and a semi-trailer come near each
// other and how high and long they stand together: the coupling height and
// what load and springs do to it, the tilt of a trailer that is coupled at
// another height than its own, its total height, the gap to the cab, the swing
// of the trailer's nose and of the tractor's rear, the gap over the frame end
// and over the tyres when the two pitch and roll against each other, and the
// length of the whole.
//
// Axes. Points are given x forward of the kingpin, y to the left, z up from
// the face of the coupling plate, as in the derivation that everything here
// follows. Plain distances ("behind the rear axle", "pin to bogie") are
// positive as their names say, and the lead of the coupling is positive ahead
// of the tractor's rear axle.
//
// Signs. The articulation of the trailer is θ(tractor) − θ(trailer); the yaw
// used with points is its negative. Pitch in the gaps between tractor and
// trailer is positive nose-down, roll positive with the left side up. The
// tilt of a trailer over the road, which is another thing, is positive
// nose-up, because a coupling that is too high is the usual fault.
//
// Every gap is computed for one named case of pitch, roll and bump acting at
// once. Three gaps that are each wide enough for one movement do not make a
// combination that is wide enough for all three.
package clearance

import (
	"math"

	"underpin/unit"
)

// fail is the refusal of one input.
func fail(formula, input string, value float64, want string) error {
	return &unit.DomainError{Formula: formula, Input: input, Value: value, Want: want}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// A check is one input with what it must satisfy. The first that does not
// hold becomes the error.
type check struct {
	ok    bool
	input string
	value float64
	want  string
}

func refuse(formula string, checks ...check) error {
	for _, c := range checks {
		if !c.ok {
			return fail(formula, c.input, c.value, c.want)
		}
	}
	return nil
}

func anyLength(name string, v unit.Length) check {
	return check{finite(float64(v)), name, float64(v), "a known length"}
}

func notNegative(name string, v unit.Length) check {
	return check{0 <= v && !math.IsInf(float64(v), 0), name, float64(v), "a known length, 0 or more"}
}

func positive(name string, v unit.Length) check {
	return check{v > 0 && !math.IsInf(float64(v), 0), name, float64(v), "a known length above 0"}
}

func belowRightAngle(name string, a unit.Angle) check {
	return check{-math.Pi/2 < a && a < math.Pi/2, name, float64(a), "an angle between −90° and 90°"}
}
