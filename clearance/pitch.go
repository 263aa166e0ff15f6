package clearance

import (
	"math"

	"underpin/unit"
)

// A TiltCase is one named combination of pitch, roll and bump that act at
// once, together with the height of the trailer's underside. A gap is computed
// for a case; gaps of several cases are never added up or taken as a pass for
// their combination.
type TiltCase struct {
	Name          string
	Pitch         unit.Angle  // β, towards the obstacle: nose-up for what lies behind the tilt axis, nose-down for what lies ahead
	Roll          unit.Angle  // α, either side
	Bump          unit.Length // travel of the axle towards the frame; used for tyres and for what is fixed to the axle
	TiltAxisDepth unit.Length // p, tilt axis below the plate face
	Underside     unit.Length // t, underside of the trailer above (+) or below (−) the plate face
}

func (c TiltCase) refuse(formula string) error {
	return refuse(formula,
		check{0 <= c.Pitch && c.Pitch < math.Pi/2, "pitch", float64(c.Pitch), "0 ≤ β < 90°, towards the obstacle"},
		check{0 <= c.Roll && c.Roll < math.Pi/2, "roll", float64(c.Roll), "0 ≤ α < 90°"},
		notNegative("bump", c.Bump), anyLength("tilt axis depth", c.TiltAxisDepth), anyLength("underside", c.Underside))
}

// A TiltGap is what is left under the trailer in one case, with what each
// movement costs in it.
type TiltGap struct {
	Case      string
	Gap       unit.Length
	Level     unit.Length // gap of the level vehicle without bump
	PitchLoss unit.Length // cost of the pitch alone
	RollLoss  unit.Length // further cost of the roll, in the presence of the pitch
	BumpLoss  unit.Length
	// Slope is the gap lost per length that the obstacle lies farther from the
	// tilt axis. As the gap falls in proportion, it bounds the lead.
	Slope float64
}

// Farther returns how much farther from the tilt axis the obstacle may lie so
// that clearance c is kept: the lead may grow by that much (less, when
// negative). Without pitch the distance does not matter and the answer is an
// infinity of the gap's sign.
func (g TiltGap) Farther(c unit.Length) unit.Length {
	room := float64(g.Gap - c)
	if g.Slope == 0 {
		if room < 0 {
			return unit.Length(math.Inf(-1))
		}
		return unit.Length(math.Inf(1))
	}
	return unit.Length(room / g.Slope)
}

// An Obstacle is the top of something on the tractor that the trailer's
// underside comes down on: the end of the frame, a cross-member, a skid lip, a
// bolt of the mounting.
type Obstacle struct {
	Distance unit.Length // d, from the tilt axis: behind it for nose-up, ahead of it for nose-down
	Below    unit.Length // h, top of the obstacle below the plate face
	Offset   unit.Length // y, farthest from the centre line, either side
	OnAxle   bool        // moves with the axle (a mudguard), so that bump counts
}

// GapOverFrame returns the vertical gap between an obstacle on the tractor and
// the underside of a trailer that is pitched and rolled towards it:
//
//	gap = h + [(p + t)/cosα − |y|·tanα]/cosβ − p − d·tanβ
//
//	h  top of the obstacle below the plate face          m
//	d  its distance from the tilt axis                   m
//	y  its distance from the centre line                 m
//	p  tilt axis below the plate face                    m
//	t  underside above (+) or below (−) the plate face   m
//	β  pitch towards the obstacle                        rad
//	α  roll                                              rad
//
// and less the bump where the obstacle moves with the axle. Without roll this
// is h + (p + t)/cosβ − p − d·tanβ. A flat underside stays one plane, so the
// yaw drops out.
//
// Valid for d ≥ 0, 0 ≤ β < 90°, 0 ≤ α < 90° and a bump of 0 or more, all
// known; otherwise the error is a *unit.DomainError. A negative gap is
// interference, not an error.
//
// Source: derived; handbook chapter 04, 2.5, which takes |y|·tanα for the
// roll; the division by cosβ and the term of (p + t)/cosα follow from the
// order of roll and pitch in InTractor.
func GapOverFrame(o Obstacle, c TiltCase) (TiltGap, error) {
	const formula = "pitch gap over the frame"
	if err := c.refuse(formula); err != nil {
		return TiltGap{}, err
	}
	if err := refuse(formula, notNegative("distance", o.Distance), anyLength("obstacle below the plate", o.Below),
		anyLength("offset", o.Offset)); err != nil {
		return TiltGap{}, err
	}
	h, d, y, p, t := float64(o.Below), float64(o.Distance), math.Abs(float64(o.Offset)), float64(c.TiltAxisDepth), float64(c.Underside)
	cosβ, tanβ := math.Cos(float64(c.Pitch)), math.Tan(float64(c.Pitch))
	cosα, tanα := math.Cos(float64(c.Roll)), math.Tan(float64(c.Roll))

	pitched := h + (p+t)/cosβ - p - d*tanβ
	rolled := h + ((p+t)/cosα-y*tanα)/cosβ - p - d*tanβ
	g := TiltGap{Case: c.Name, Level: unit.Length(h + t), Slope: tanβ}
	g.PitchLoss = g.Level - unit.Length(pitched)
	g.RollLoss = unit.Length(pitched - rolled)
	if o.OnAxle {
		g.BumpLoss = c.Bump
	}
	g.Gap = unit.Length(rolled) - g.BumpLoss
	return g, nil
}

// A Tyre is a wheel of the tractor under the trailer.
type Tyre struct {
	Distance unit.Length // e, wheel centre from the tilt axis: behind it for nose-up, ahead of it for nose-down
	Height   unit.Length // zw, wheel centre relative to the plate face; negative, as it lies below
	Radius   unit.Length // Rt, free radius
	Offset   unit.Length // y, outer face of the tyre from the centre line, either side
}

// GapOverTyre returns the gap between a tyre of the tractor and the underside
// of a trailer that is pitched and rolled towards it, measured in the plane of
// the wheel, square to the underside:
//
//	gap = (p + t)/cosα − |y|·tanα − [e·sinβ + cosβ·(zw + p)] − Rt − bump
//
//	e   wheel centre from the tilt axis                      m
//	zw  wheel centre above the plate face (negative)         m
//	Rt  free radius of the tyre                              m
//	y   outer face of the tyre from the centre line          m
//	p   tilt axis below the plate face                       m
//	t   underside above (+) or below (−) the plate face      m
//	β   pitch towards the wheel                              rad
//	α   roll                                                 rad
//
// The bump is taken in full though the underside is inclined to it, which is
// on the safe side.
//
// Valid for e ≥ 0, Rt > 0, 0 ≤ β < 90°, 0 ≤ α < 90° and a bump of 0 or more,
// all known; otherwise the error is a *unit.DomainError. A negative gap is
// interference, not an error.
//
// Source: derived; handbook chapter 04, 2.5, which has (p + t) for
// (p + t)/cosα.
func GapOverTyre(w Tyre, c TiltCase) (TiltGap, error) {
	const formula = "pitch gap over the tyre"
	if err := c.refuse(formula); err != nil {
		return TiltGap{}, err
	}
	if err := refuse(formula, notNegative("distance", w.Distance), anyLength("wheel centre height", w.Height),
		positive("tyre radius", w.Radius), anyLength("offset", w.Offset)); err != nil {
		return TiltGap{}, err
	}
	e, zw, Rt, y, p, t := float64(w.Distance), float64(w.Height), float64(w.Radius), math.Abs(float64(w.Offset)),
		float64(c.TiltAxisDepth), float64(c.Underside)
	sinβ, cosβ := math.Sincos(float64(c.Pitch))
	cosα, tanα := math.Cos(float64(c.Roll)), math.Tan(float64(c.Roll))

	level := t - zw - Rt
	pitched := (p + t) - (e*sinβ + cosβ*(zw+p)) - Rt
	rolled := (p+t)/cosα - y*tanα - (e*sinβ + cosβ*(zw+p)) - Rt
	return TiltGap{
		Case:      c.Name,
		Gap:       unit.Length(rolled) - c.Bump,
		Level:     unit.Length(level),
		PitchLoss: unit.Length(level - pitched),
		RollLoss:  unit.Length(pitched - rolled),
		BumpLoss:  c.Bump,
		Slope:     sinβ,
	}, nil
}
