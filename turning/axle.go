package turning

import (
	"math"

	"underpin/unit"
)

// AxleResult is the line of a bogie about which a unit really turns.
type AxleResult struct {
	Centre     unit.Length // L: mean of the axles, the geometry that laws measure
	Spread     unit.Area   // T: mean square distance of the axles from it
	Equivalent unit.Length // L_eq, "with bogie scrub"
}

// EquivalentAxle returns the distance from the hitch of a trailer (or from the
// guided front point of a tractor) to the axle that turns like its bogie:
//
//	L_eq = Σx² / Σx = L + T/L
//
//	x     axle behind the hitch               m
//	L     mean of x                           m
//	T     mean of (x − L)²                    m²
//	L_eq  hitch to equivalent axle            m
//
// It balances the side forces of equal tyres at small slip about the hitch.
// Laws and road-design tables use L; the real bogie cuts in a little more.
// Axles that are lifted or that castor freely carry no side force: leave them
// out, and put self-steering axles back when they are locked for backing.
//
// Valid for one axle or more, each behind the hitch (x > 0); otherwise the
// error is a *unit.DomainError.
//
// Source: derived (handbook chapter 04, 1.6); the concept of the equivalent
// wheelbase: C. B. Winkler, Vehicle System Dynamics 29 (1998) 141, abstract only.
func EquivalentAxle(behind []unit.Length) (AxleResult, error) {
	c := check{formula: "equivalent axle"}
	c.want(len(behind) > 0, "axles", float64(len(behind)), "one axle or more")
	var sum, squares float64
	for _, x := range behind {
		c.positive("axle behind the hitch", x)
		sum += float64(x)
	}
	if c.err != nil {
		return AxleResult{}, c.err
	}
	n := float64(len(behind))
	L := sum / n
	for _, x := range behind {
		squares += (float64(x) - L) * (float64(x) - L)
	}
	T := squares / n
	return AxleResult{Centre: unit.Length(L), Spread: unit.Area(T), Equivalent: unit.Length(L + T/L)}, nil
}

// SteeredInput is a trailer whose axle is turned.
type SteeredInput struct {
	Course     unit.Angle  // θH: direction in which the kingpin moves
	Heading    unit.Angle  // θ2: heading of the trailer
	Steer      unit.Angle  // δ: wheels against the trailer, left positive
	PinToBogie unit.Length // L2
}

// SteeredAxleYaw returns how fast a trailer with a steered axle turns, in
// radians for each metre that its kingpin moves:
//
//	ω2/vH = sin(θH − θ2 − δ) / (L2·cos δ)
//
//	θH  direction of the kingpin's path       rad
//	θ2  heading of the trailer                rad
//	δ   angle of the wheels, left positive    rad
//	L2  kingpin to axle                       m
//
// Command steering turns the wheels against the articulation, δ = −f(γ).
//
// Valid for L2 > 0 and |δ| < 90°; otherwise the error is a *unit.DomainError.
//
// Source: derived (handbook chapter 04, 1.7).
func SteeredAxleYaw(in SteeredInput) (float64, error) {
	c := check{formula: "steered axle"}
	c.given("course", float64(in.Course))
	c.given("heading", float64(in.Heading))
	c.want(math.Abs(float64(in.Steer)) < math.Pi/2, "steer", float64(in.Steer), "|steer| < 90°")
	c.positive("pin-to-bogie", in.PinToBogie)
	if c.err != nil {
		return 0, c.err
	}
	δ := float64(in.Steer)
	return math.Sin(float64(in.Course-in.Heading)-δ) / (float64(in.PinToBogie) * math.Cos(δ)), nil
}
