package clearance

import (
	"math"

	"underpin/unit"
)

// A RearPoint is a point of the tractor that swings under the trailer: the end
// of the frame, a mudguard corner, a tyre. For a tandem measured from its
// centre, half the axle spacing is added to the distance behind the axle
// (common practice, no source).
type RearPoint struct {
	BehindAxle unit.Length // xp, behind the rear axle (+) from which the lead is taken
	Offset     unit.Length // yp, from the centre line, either side
}

// A RearSwing is what is left between the tractor's rear and the trailer's
// legs, or whatever hangs below the plate level nearest to the kingpin.
type RearSwing struct {
	Radius  unit.Length // Rt, of the farthest rear point about the kingpin
	Gap     unit.Length // Rleg − Rt
	Governs int         // index of that point
}

// GapToLegs returns the gap between the swinging rear of a tractor and the
// landing legs:
//
//	Rt  = max over the points of sqrt((e + xp)² + yp²)
//	gap = Rleg − Rt
//
//	e       lead of the coupling ahead of the rear axle             m
//	xp, yp  point behind the rear axle and off the centre line      m
//	Rleg    least horizontal distance from the kingpin axis to
//	        anything on the trailer below the plate level           m
//
// The articulation is taken as unlimited; the most forward position of a
// slider is the worst.
//
// Valid for Rleg > 0, a known lead, and at least one point, all known;
// otherwise the error is a *unit.DomainError.
//
// Source: plane geometry, derived; SAE J701 has the same triangle. Handbook
// chapter 04, 2.4.
func GapToLegs(lead, legRadius unit.Length, points []RearPoint) (RearSwing, error) {
	const formula = "rear swing to the legs"
	if err := legInputs(formula, legRadius, points); err != nil {
		return RearSwing{}, err
	}
	if !finite(float64(lead)) {
		return RearSwing{}, fail(formula, "lead", float64(lead), "a known length")
	}
	s := RearSwing{Radius: -1}
	for i, q := range points {
		if R := unit.Length(math.Hypot(float64(lead+q.BehindAxle), float64(q.Offset))); R > s.Radius {
			s.Radius, s.Governs = R, i
		}
	}
	s.Gap = legRadius - s.Radius
	return s, nil
}

// A LegLead is the range of leads that keeps the tractor's rear clear of the
// legs.
type LegLead struct {
	Min, Max unit.Length
	Governs  int // index of the point that sets Max
}

// LegLeads returns the leads with which every rear point of the tractor keeps
// clearance c from the landing legs:
//
//	e ≤ sqrt((Rleg − c)² − yp²) − xp
//	e ≥ −sqrt((Rleg − c)² − yp²) − xp
//
//	e       lead of the coupling ahead of the rear axle             m
//	xp, yp  point behind the rear axle and off the centre line      m
//	Rleg    kingpin axis to the legs                                m
//	c       clearance to be kept                                    m
//
// Valid for Rleg > 0, c ≥ 0, and at least one point, all known; otherwise the
// error is a *unit.DomainError. When no lead keeps the clearance the error is
// a *unit.NoAnswerError.
//
// Source: GapToLegs solved for the lead; handbook chapter 04, 2.4.
func LegLeads(legRadius, clearance unit.Length, points []RearPoint) (LegLead, error) {
	const formula = "leads that clear the legs"
	if err := legInputs(formula, legRadius, points); err != nil {
		return LegLead{}, err
	}
	c := float64(clearance)
	if !(0 <= c && finite(c)) {
		return LegLead{}, fail(formula, "clearance", c, "a known length, 0 or more")
	}
	r := LegLead{Min: unit.Length(math.Inf(-1)), Max: unit.Length(math.Inf(1))}
	for i, q := range points {
		R, yp := float64(legRadius)-c, float64(q.Offset)
		if R < math.Abs(yp) {
			return LegLead{}, &unit.NoAnswerError{Formula: formula, Why: "the tractor is wider there than the legs allow at any lead"}
		}
		reach := unit.Length(math.Sqrt(R*R - yp*yp))
		r.Min = max(r.Min, -reach-q.BehindAxle)
		if e := reach - q.BehindAxle; e < r.Max {
			r.Max, r.Governs = e, i
		}
	}
	if r.Min > r.Max {
		return LegLead{}, &unit.NoAnswerError{Formula: formula, Why: "the rear of the tractor is longer than the legs allow at any lead"}
	}
	return r, nil
}

func legInputs(formula string, legRadius unit.Length, points []RearPoint) error {
	if !(legRadius > 0 && finite(float64(legRadius))) {
		return fail(formula, "leg radius", float64(legRadius), "a known length above 0")
	}
	if len(points) == 0 {
		return fail(formula, "rear points", 0, "at least one point of the tractor's rear")
	}
	for _, q := range points {
		if !finite(float64(q.BehindAxle)) {
			return fail(formula, "point behind the axle", float64(q.BehindAxle), "a known length")
		}
		if !finite(float64(q.Offset)) {
			return fail(formula, "point off the centre line", float64(q.Offset), "a known length")
		}
	}
	return nil
}

// SAEJ701LegDistance returns the distance of kingpin and landing gear that
// SAE J701 needs for the rear tyres of a tractor:
//
//	LWC² = (W/2)² + (FW + R + C)²
//
//	W    width over the tyres                            in
//	FW   fifth wheel ahead of the rear axle              in
//	R    radius of the tyre                              in
//	C    clearance, 4 in in the standard                 in
//	LWC  kingpin to landing gear                         in
//
// Valid for W > 0, R ≥ 0, C ≥ 0 and FW + R + C ≥ 0; otherwise the error is a
// *unit.DomainError.
//
// Source: SAE J701 (formulas of the abstracts).
func SAEJ701LegDistance(width, lead, tyreRadius, clearance unit.Length) (unit.Length, error) {
	const formula = "SAE J701 kingpin to landing gear"
	sum := lead + tyreRadius + clearance
	if err := refuse(formula, positive("W", width), notNegative("R", tyreRadius), notNegative("C", clearance),
		notNegative("FW + R + C", sum)); err != nil {
		return 0, err
	}
	return unit.Length(math.Hypot(width.Inches()/2, sum.Inches())) * unit.Inch, nil
}

// SAEJ701LargestLead returns the largest lead of a fifth wheel that SAE J701
// lets stand before given landing gear:
//
//	FW = sqrt(LWC² − (W/2)²) − R − C
//
// with the symbols of SAEJ701LegDistance. A negative lead says that the fifth
// wheel would have to stand behind the axle.
//
// Valid for LWC > 0, W > 0, R ≥ 0 and C ≥ 0; otherwise the error is a
// *unit.DomainError. A tractor wider than twice LWC has no such lead: the
// error is a *unit.NoAnswerError.
//
// Source: SAE J701 (formulas of the abstracts), solved for FW.
func SAEJ701LargestLead(legDistance, width, tyreRadius, clearance unit.Length) (unit.Length, error) {
	const formula = "SAE J701 largest lead"
	if err := refuse(formula, positive("LWC", legDistance), positive("W", width), notNegative("R", tyreRadius),
		notNegative("C", clearance)); err != nil {
		return 0, err
	}
	LWC, W := legDistance.Inches(), width.Inches()
	if W/2 > LWC {
		return 0, &unit.NoAnswerError{Formula: formula, Why: "the tractor is wider than the landing gear allows at any lead"}
	}
	return unit.Length(math.Sqrt(LWC*LWC-W*W/4))*unit.Inch - tyreRadius - clearance, nil
}
