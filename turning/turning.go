// Package turning computes where a combination runs at walking pace: the
// steady circle, the exact way into and out of it, the swept path and the
// swing-out.
//
// The model is plane rolling without side-slip. Each unit has one equivalent
// axle that does not steer; the two wheels of an axle are merged in its middle
// and width is added afterwards. Speed does not appear, only the path does.
// Tyre scrub, banking and the outward drift at speed lie outside it; it holds
// below some 5 to 10 km/h.
//
// Axes: x forward, y to the left, angles to the left positive. The worked
// turns are left turns, so the inner side has positive y; a right turn is the
// mirror image. The lead is the distance of a hitch ahead of the equivalent
// axle of the unit that carries it, negative behind it. That axle is the
// equivalent axle of the bogie, not a single drive axle.
package turning

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A Point lies in the plane of the road.
type Point struct{ X, Y unit.Length }

// A Tractor is the outline of the leading unit, a rectangle, measured from its
// equivalent rear axle.
type Tractor struct {
	Front unit.Length // front end ahead of the equivalent rear axle
	Rear  unit.Length // rear end behind it
	Width unit.Length
}

// A Trailer is a towed unit and its outline, measured from its hitch, which is
// the kingpin of a semi-trailer.
type Trailer struct {
	Lead          unit.Length // e: hitch ahead of the equivalent axle of the unit in front; negative behind it
	PinToBogie    unit.Length // L2: hitch to the equivalent axle
	FrontOverhang unit.Length // front end ahead of the hitch
	RearEnd       unit.Length // rear end behind the hitch
	Width         unit.Length
}

// finite tells that a number is neither NaN nor infinite.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// A check collects the first fault of the inputs of one formula.
type check struct {
	formula string
	err     error
}

func (c *check) want(ok bool, input string, value float64, want string) {
	if !ok && c.err == nil {
		c.err = &unit.DomainError{Formula: c.formula, Input: input, Value: value, Want: want}
	}
}

// The texts of the messages are put together only when needed: the checks run
// on the hot path too.

func (c *check) positive(input string, l unit.Length) {
	if !(l > 0 && finite(float64(l))) {
		c.want(false, input, float64(l), input+" > 0")
	}
}

func (c *check) given(input string, v float64) {
	if !finite(v) {
		c.want(false, input, v, "a finite number")
	}
}

// outline refuses a rectangle without length or width.
func (c *check) outline(unitName string, front, rear, width unit.Length) {
	if finite(float64(front)) && finite(float64(rear)) && front+rear > 0 && width > 0 && finite(float64(width)) {
		return
	}
	c.given(unitName+" front", float64(front))
	c.given(unitName+" rear end", float64(rear))
	c.want(front+rear > 0, unitName+" length", float64(front+rear), "front end ahead of the rear end")
	c.positive(unitName+" width", width)
}

func noAnswer(formula, format string, args ...any) error {
	return &unit.NoAnswerError{Formula: formula, Why: fmt.Sprintf(format, args...)}
}
