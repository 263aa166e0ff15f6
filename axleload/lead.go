package axleload

import (
	"math"

	"underpin/unit"
)

// BehindLine is the caution that any lead below 0 carries.
const BehindLine = "a fifth wheel behind the rear reaction line takes load off the front axle; common practice, no source, is not to run so"

// A LeadSpan is the range of lead that keeps the limits.
type LeadSpan struct {
	Min, Max     unit.Length // −Inf, +Inf where nothing bounds it; Min > Max: no lead keeps them all
	MinBy, MaxBy Limit       // the limit met at each end, "" where unbounded
	Imposed      unit.Mass   // K, which no lead changes
	Caution      string      // BehindLine if the span or the given lead reaches below 0, else ""
}

// Empty tells that no lead keeps all limits; MinBy and MaxBy then conflict.
func (s LeadSpan) Empty() bool { return !(s.Min <= s.Max) }

// Intersect returns the leads that lie in both spans: of two load cases, or of
// two stages of a round. Imposed is kept from the span with the greater load.
func (s LeadSpan) Intersect(o LeadSpan) LeadSpan {
	if o.Min > s.Min {
		s.Min, s.MinBy = o.Min, o.MinBy
	}
	if o.Max < s.Max {
		s.Max, s.MaxBy = o.Max, o.MaxBy
	}
	s.Imposed = max(s.Imposed, o.Imposed)
	s.caution(0)
	return s
}

func (s *LeadSpan) caution(lead unit.Length) {
	s.Caution = ""
	if s.Min < 0 || s.Max < 0 || lead < 0 {
		s.Caution = BehindLine
	}
}

// LeadRange returns the leads of the fifth wheel for which a load keeps the
// limits of the tractor's axles. Front and rear load are linear in the lead:
//
//	front        e ≤ L_T (F_max − F_e)/K
//	rear         e ≥ L_T [1 − (R_max − R_e)/K]
//	steer share  e ≥ L_T [φ_s (W_T + K) − F_e]/K
//	drive share  e ≤ L_T [1 − (φ_d G − D_e)/(λ_d K)]
//
//	K    load at the kingpin                            kg
//	G    actual mass of the combination                 kg
//	e    result: lead ahead of the rear reaction line   m
//
// For K < 0 the signs turn; for K = 0 the lead is of no effect. An end that
// nothing bounds is ∓Inf; if the limits exclude each other Min > Max. Only
// MaxFront, MaxRear, MinSteerShare and MinDriveShare depend on the lead: W_T + K
// does not, so no lead cures an overloaded tractor. The lead of the Pair is used
// for the caution only, and the span is not clipped to the slider's travel nor
// to the wheelbase.
//
// Valid for the ranges of Loads, a tare that does not change with the slide
// (the head's own mass is left out) and one lift state; outside, the error is a
// *unit.DomainError.
//
// Source: derived from the formulas of Loads; handbook chapter 03, 4.1. That the
// lead is not below 0 in normal service is common practice, no source.
func LeadRange(in Pair, lim Limits) (LeadSpan, error) {
	const name = "lead-range"
	lead := in.Lead
	if err := wantFinite(name, "lead", lead); err != nil {
		return LeadSpan{}, err
	}
	in.Lead = 0
	if err := first(in.check(name, true), lim.check(name)); err != nil {
		return LeadSpan{}, err
	}
	r, err := in.loads() // with e = 0: F = F_e, R = R_e + K
	if err != nil {
		return LeadSpan{}, err
	}
	s := LeadSpan{Min: unit.Length(math.Inf(-1)), Max: unit.Length(math.Inf(1)), Imposed: r.Imposed}
	K, LT := float64(r.Imposed), float64(in.Wheelbase)
	if v := lim.MaxFront; v != nil {
		s.bound(MaxFront, K, float64(*v-r.Front), LT)
	}
	if v := lim.MaxRear; v != nil { // R_e + K − K e/L_T ≤ R_max
		s.bound(MaxRear, -K, float64(*v-r.Rear), LT)
	}
	if v := lim.MinSteerShare; v != nil {
		s.bound(MinSteerShare, -K, float64(r.Front)-*v*float64(r.Tractor), LT)
	}
	if v := lim.MinDriveShare; v != nil {
		_, lambda := in.drive()
		s.bound(MinDriveShare, lambda*K, float64(r.Driven)-*v*float64(r.Gross), LT)
	}
	s.caution(lead)
	return s, nil
}

// bound cuts the span to demand·e/L_T ≤ room.
func (s *LeadSpan) bound(key Limit, demand, room, LT float64) {
	if math.Abs(room) <= roomDust {
		room = 0
	}
	switch {
	case math.Abs(demand) <= roomDust && room >= 0:
	case math.Abs(demand) <= roomDust: // broken, and the lead is of no effect
		s.Min, s.MinBy = unit.Length(math.Inf(1)), key
		s.Max, s.MaxBy = unit.Length(math.Inf(-1)), key
	case demand > 0:
		if e := unit.Length(LT * room / demand); e < s.Max {
			s.Max, s.MaxBy = e, key
		}
	default:
		if e := unit.Length(LT * room / demand); e > s.Min {
			s.Min, s.MinBy = e, key
		}
	}
}

// LeadTransfer returns the load that goes from the tractor's rear line to its
// front axle when the fifth wheel moves forward:
//
//	Δ = K δ / L_T
//
//	K    load at the kingpin                        kg
//	δ    move forward; rearwards negative           m
//	L_T  wheelbase                                  m
//	Δ    result: the front gains it, the rear loses it; the trailer's axles keep theirs   kg
//
// With the pitch of the slider as δ it is the load per step. Figures "per hole"
// that go round differ five to one and should not be used in its place.
//
// Valid for L_T > 0; outside, the error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 4.1.
func LeadTransfer(imposed unit.Mass, wheelbase, forward unit.Length) (unit.Mass, error) {
	const name = "lead transfer"
	if err := first(wantFinite(name, "imposed", imposed), wantPositive(name, "wheelbase", wheelbase), wantFinite(name, "forward", forward)); err != nil {
		return 0, err
	}
	return imposed * unit.Mass(forward/wheelbase), nil
}

// Steps is a move of a slider, in whole steps.
type Steps struct {
	Count int
	Moved unit.Mass // Count times the load per step
}

// StepsNeeded returns the least number of slider steps that move an excess off
// an axle:
//
//	n = ⌈Δ/δ⌉
//
//	Δ  load to be moved         kg
//	δ  load moved by one step   kg
//	n  result                   –
//
// Whether the axle that gains the load can take it is for Loads to say.
//
// Valid for Δ ≥ 0, δ > 0 and fewer than a thousand steps; outside, the error is
// a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 2 (P4, P5, P6).
func StepsNeeded(excess, perStep unit.Mass) (Steps, error) {
	const name = "slider steps"
	if err := first(wantNotNegative(name, "excess", excess), wantPositive(name, "per-step", perStep)); err != nil {
		return Steps{}, err
	}
	n := math.Ceil(float64(excess/perStep) - 1e-9) // 600/300 is 2, whatever the binary says
	if !(n < 1000) {
		return Steps{}, &unit.DomainError{Formula: name, Input: "per-step", Value: float64(perStep), Want: "less than a thousand steps"}
	}
	return Steps{Count: int(max(n, 0)), Moved: unit.Mass(max(n, 0)) * perStep}, nil
}
