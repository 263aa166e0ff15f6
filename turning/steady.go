package turning

import (
	"math"

	"underpin/unit"
)

// SteadyInput is a tractor with one semi-trailer on a left-hand circle. Any
// point of the tractor may be the one that is led on the circle: the middle of
// the front axle (Ahead = wheelbase, Left = 0), or the outer front corner
// (Ahead = wheelbase + front overhang, Left = −width/2).
type SteadyInput struct {
	GuideRadius unit.Length // R
	GuideAhead  unit.Length // a: guided point ahead of the tractor's equivalent rear axle
	GuideLeft   unit.Length // b: guided point left of the centre line; negative on the outer side
	Lead        unit.Length // e
	PinToBogie  unit.Length // L2
	Width       unit.Length // w
}

// SteadyResult is the steady circle with the values that lead to it.
type SteadyResult struct {
	In           SteadyInput
	Drift        unit.Angle  // φ*: direction of the guided path against the tractor's heading
	RearAxle     unit.Length // ρ1: middle of the tractor's equivalent rear axle
	Kingpin      unit.Length // rH
	TrailerAxle  unit.Length // ρ2: middle of the trailer's equivalent axle
	Articulation unit.Angle  // γ*
	Inner        unit.Length // inner edge of the trailer; negative: the body covers the centre
	Outer        unit.Length // see Steady
	Ring         unit.Length // Outer − Inner
}

// Steady returns the circle on which a tractor and its semi-trailer settle
// when a point of the tractor is led on a circle for long enough:
//
//	sin φ* = a/R
//	ρ1  = sqrt(R² − a²) + b
//	rH² = ρ1² + e²
//	ρ2² = rH² − L2²
//	γ*  = asin(L2/rH) − atan(e/ρ1)
//	inner = ρ2 − w/2
//	outer = sqrt((ρ1 + w/2)² + a²)
//
//	R   radius of the guided point's circle                     m
//	a,b guided point ahead of the rear axle, left of the centre m
//	e   kingpin lead, negative behind the axle                  m
//	L2  kingpin to equivalent trailer axle                      m
//	w   width of tractor and trailer                            m
//	φ*, γ*  drift of the guided point, articulation             rad
//
// The outer radius is that of the tractor's outer side abreast of the guided
// point, or that of the guided point itself or of the trailer's outer edge at
// its axle where that is larger. Led by its outer front corner, outer is R.
// The steady inner edge is nearest to the centre exactly at the axle line.
//
// Valid for R > 0, a > 0, L2 > 0, w ≥ 0 and a centre that lies to the left of
// the rear axle (ρ1 > 0); otherwise the error is a *unit.DomainError. With
// R ≤ a or rH ≤ L2 no steady state exists and the error is a
// *unit.NoAnswerError: the combination folds up and only the transient tells
// how far.
//
// Source: derived from rolling without side-slip (handbook chapter 04, 1.3).
// The exact equations are treated in M. W. Sayers, Transportation Research
// Record 1052 (1986), and in "Exact equations for tractrix curves", Vehicle
// System Dynamics 20 (1991) 297; of both only the abstract was read.
func Steady(in SteadyInput) (SteadyResult, error) {
	if err := in.check("turn-steady"); err != nil {
		return SteadyResult{}, err
	}
	r, ok := steady(in)
	switch {
	case ok:
		return r, nil
	case !(in.GuideRadius > in.GuideAhead):
		return SteadyResult{}, noAnswer("turn-steady", "no steady state: the guided point lies %.3f m ahead of the rear axle, not less than the radius %.3f m; transient only", in.GuideAhead, in.GuideRadius)
	case !(r.RearAxle > 0):
		return SteadyResult{}, &unit.DomainError{Formula: "turn-steady", Input: "guide-left", Value: float64(in.GuideLeft), Want: "guide-left > −sqrt(R² − a²)"}
	}
	return SteadyResult{}, noAnswer("turn-steady", "folds up; transient only: the kingpin's radius %.3f m is not larger than the pin to bogie distance %.3f m", r.Kingpin, in.PinToBogie)
}

func (in SteadyInput) check(formula string) error {
	c := check{formula: formula}
	c.positive("guide-radius", in.GuideRadius)
	c.positive("guide-ahead", in.GuideAhead)
	c.given("guide-left", float64(in.GuideLeft))
	c.given("lead", float64(in.Lead))
	c.positive("pin-to-bogie", in.PinToBogie)
	c.want(in.Width >= 0 && finite(float64(in.Width)), "width", float64(in.Width), "width ≥ 0")
	return c.err
}

// steady computes without checks and without allocation. It reports false
// where there is no steady state; the fields reached until then are set.
func steady(in SteadyInput) (r SteadyResult, ok bool) {
	R, a, b := float64(in.GuideRadius), float64(in.GuideAhead), float64(in.GuideLeft)
	e, L2, w := float64(in.Lead), float64(in.PinToBogie), float64(in.Width)
	r.In = in
	if !(R > a) {
		return r, false
	}
	ρ1 := math.Sqrt(R*R-a*a) + b
	r.RearAxle = unit.Length(ρ1)
	if !(ρ1 > 0) {
		return r, false
	}
	rH := math.Sqrt(ρ1*ρ1 + e*e)
	r.Drift, r.Kingpin = unit.Angle(math.Asin(a/R)), unit.Length(rH)
	if !(rH > L2) {
		return r, false
	}
	ρ2 := math.Sqrt(rH*rH - L2*L2)
	outer := math.Max(math.Max(math.Sqrt((ρ1+w/2)*(ρ1+w/2)+a*a), R), ρ2+w/2)
	r.TrailerAxle = unit.Length(ρ2)
	r.Articulation = unit.Angle(math.Asin(L2/rH) - math.Atan(e/ρ1))
	r.Inner, r.Outer = unit.Length(ρ2-w/2), unit.Length(outer)
	r.Ring = r.Outer - r.Inner
	return r, true
}

// TractorPoint returns the radius on which a point of the tractor runs, given
// ahead of its equivalent rear axle and to the outside of its centre line:
// sqrt((ρ1 + outside)² + ahead²).
func (r SteadyResult) TractorPoint(ahead, outside unit.Length) unit.Length {
	return unit.Length(math.Hypot(float64(r.RearAxle+outside), float64(ahead)))
}

// TrailerPoint returns the radius on which a point of the trailer runs, given
// behind the kingpin (negative ahead of it) and to the outside of its centre
// line: sqrt((ρ2 + outside)² + (behind − L2)²).
func (r SteadyResult) TrailerPoint(behind, outside unit.Length) unit.Length {
	return unit.Length(math.Hypot(float64(r.TrailerAxle+outside), float64(behind-r.In.PinToBogie)))
}

// EquivalentSteer returns the angle at which a single front wheel a wheelbase
// ahead of the rear axle would stand in the steady circle: atan(L1/ρ1).
func (r SteadyResult) EquivalentSteer(wheelbase unit.Length) unit.Angle {
	return unit.Angle(math.Atan(float64(wheelbase / r.RearAxle)))
}

// SteadyUnit is one unit of a chain on its steady circle.
type SteadyUnit struct {
	Axle         unit.Length // ρ: middle of the equivalent axle
	Hitch        unit.Length // radius of the hitch by which it is drawn; 0 for the tractor
	Articulation unit.Angle  // against the unit in front; 0 for the tractor
	Inner        unit.Length // inner edge at the axle line
	FrontCorner  unit.Length // outer front corner
	RearCorner   unit.Length // outer rear corner
}

// SteadyTrain is a chain of units on its steady circles, the tractor first.
type SteadyTrain struct {
	Drift unit.Angle
	Units []SteadyUnit
	Inner unit.Length // least of the units
	Outer unit.Length // largest of the guided point and all corners
	Ring  unit.Length
}

// SteadyChain returns the steady circles of a tractor and any number of towed
// units. From unit to unit, with the letters of Steady:
//
//	rH_i² = ρ_i² + e_i²
//	ρ_(i+1)² = rH_i² − L_(i+1)²      so that ρ_n² = ρ1² + Σe² − ΣL²
//	γ_i = asin(L_(i+1)/rH_i) − atan(e_i/ρ_i)
//
// The inner and outer radii are those of the given outlines.
//
// Valid for the inputs of Steady, unit by unit, and for axles that do not
// steer; otherwise the error is a *unit.DomainError. Where a unit folds up the
// error is a *unit.NoAnswerError.
//
// Source: derived from rolling without side-slip (handbook chapter 04, 1.3).
func SteadyChain(radius unit.Length, train Train) (SteadyTrain, error) {
	const name = "turn-steady of a chain"
	c := check{formula: name}
	c.positive("guide-radius", radius)
	if c.err == nil {
		c.err = train.check(name)
	}
	for _, u := range train.Towed {
		c.want(u.Steer == Steering{}, "steer ratio", u.Steer.Ratio, "no steered axle (follow the course instead)")
	}
	if c.err != nil {
		return SteadyTrain{}, c.err
	}
	R, a, b := float64(radius), float64(train.GuideAhead), float64(train.GuideLeft)
	if !(R > a) {
		return SteadyTrain{}, noAnswer(name, "no steady state: the guided point lies %.3f m ahead of the rear axle, not less than the radius %.3f m; transient only", a, R)
	}
	ρ := math.Sqrt(R*R-a*a) + b
	if !(ρ > 0) {
		return SteadyTrain{}, &unit.DomainError{Formula: name, Input: "guide-left", Value: b, Want: "guide-left > −sqrt(R² − a²)"}
	}
	body := train.Tractor
	out := SteadyTrain{Drift: unit.Angle(math.Asin(a / R)), Outer: radius, Inner: unit.Length(math.Inf(1))}
	add := func(u SteadyUnit, front, rear, width unit.Length) {
		w := float64(width) / 2
		u.Axle, u.Inner = unit.Length(ρ), unit.Length(ρ-w)
		u.FrontCorner = unit.Length(math.Hypot(ρ+w, float64(front)))
		u.RearCorner = unit.Length(math.Hypot(ρ+w, float64(rear)))
		out.Inner = min(out.Inner, u.Inner)
		out.Outer = max(out.Outer, u.FrontCorner, u.RearCorner)
		out.Units = append(out.Units, u)
	}
	add(SteadyUnit{}, body.Front, body.Rear, body.Width)
	for i, u := range train.Towed {
		e, L := float64(u.Lead), float64(u.PinToBogie)
		rH := math.Hypot(ρ, e)
		if !(rH > L) {
			return SteadyTrain{}, noAnswer(name, "folds up; transient only: the radius %.3f m of the hitch of towed unit %d is not larger than its length %.3f m", rH, i+1, L)
		}
		γ := math.Asin(L/rH) - math.Atan(e/ρ)
		ρ = math.Sqrt(rH*rH - L*L)
		add(SteadyUnit{Hitch: unit.Length(rH), Articulation: unit.Angle(γ)}, u.FrontOverhang+u.PinToBogie, u.RearEnd-u.PinToBogie, u.Width)
	}
	out.Ring = out.Outer - out.Inner
	return out, nil
}
