package axleload

import (
	"math"

	"underpin/unit"
)

// A Parked is an uncoupled semi-trailer standing on its landing legs.
type Parked struct {
	Mass       unit.Mass   // W, trailer with what is left of its load
	Centre     unit.Length // x_g, its centre behind the kingpin
	PinToBogie unit.Length // L
	Legs       unit.Length // x_ℓ, legs behind the kingpin

	// Truck is a fork-lift truck with its load, and where it stands behind the
	// kingpin; nil if none is stated.
	Truck *Item
	// LegRating is the static rating of the pair of legs; nil if not given.
	LegRating *unit.Mass
}

// A Standing is how a parked trailer stands.
type Standing struct {
	Legs, Bogie unit.Mass
	Moment      unit.Torque // what holds the nose up, about the legs; negative: it goes down
	Tips        bool        // NoseOver or TailOver; the loads are then not an equilibrium
	NoseOver    bool
	TailOver    bool
	LegUse      float64 // Legs over the rating; NaN without a rating

	TruckGiven  bool // false: a truck entering at the front was not looked at
	RatingGiven bool // false: whether the legs bear it cannot be told
}

// LandingLegs returns what an uncoupled semi-trailer puts on its landing legs,
// and whether it tips:
//
//	legs  = [W (L − x_g) + w (L − x_w)] / (L − x_ℓ)
//	bogie = [W (x_g − x_ℓ) + w (x_w − x_ℓ)] / (L − x_ℓ)
//
//	W, x_g  mass of trailer and load, centre behind the kingpin    kg, m
//	w, x_w  fork-lift truck inside, and its place                  kg, m
//	x_ℓ     legs behind the kingpin                                m
//	L       kingpin to the reaction line                           m
//	legs, bogie  result                                            kg
//
// The nose goes over when the bogie is left without load, the tail when the
// legs are. A truck that enters at the front of a trailer of which only the
// front is loaded is the case to ask for; without a truck, or without a rating
// of the legs, the result says that this was not looked at.
//
// Valid for level, firm ground and 0 < x_ℓ < L; outside, the error is a
// *unit.DomainError.
//
// Source: derived, balance of moments; handbook chapter 03, 1.6.
func LandingLegs(in Parked) (Standing, error) {
	const name = "landing-legs"
	if err := first(
		wantPositive(name, "mass", in.Mass), wantFinite(name, "centre", in.Centre),
		wantPositive(name, "pin-to-bogie", in.PinToBogie), wantPositive(name, "legs", in.Legs),
	); err != nil {
		return Standing{}, err
	}
	if !(in.Legs < in.PinToBogie) {
		return Standing{}, &unit.DomainError{Formula: name, Input: "legs", Value: float64(in.Legs), Want: "0 < legs < pin-to-bogie"}
	}
	items := [2]Item{{in.Mass, in.Centre}}
	s := Standing{LegUse: math.NaN()}
	if in.Truck != nil {
		if err := first(wantNotNegative(name, "truck", in.Truck.Mass), wantFinite(name, "truck-at", in.Truck.At)); err != nil {
			return Standing{}, err
		}
		items[1], s.TruckGiven = *in.Truck, true
	}
	all, err := LoadCentre(items[:])
	if err != nil {
		return Standing{}, err
	}
	// Seen from the legs the trailer is a chain of one unit.
	units, out := [1]Unit{{Mass: all.Mass, Centre: all.At - in.Legs, Rear: in.PinToBogie - in.Legs}}, [1]Support{}
	if _, err := Chain(units[:], out[:]); err != nil {
		return Standing{}, err
	}
	s.Legs, s.Bogie = out[0].Front, out[0].Rear
	s.Moment = unit.Torque(float64(all.Mass) * float64(unit.Gravity) * float64(all.At-in.Legs))
	s.NoseOver, s.TailOver = !(s.Bogie > 0), !(s.Legs > 0)
	s.Tips = s.NoseOver || s.TailOver
	if in.LegRating != nil {
		if err := wantPositive(name, "leg-rating", *in.LegRating); err != nil {
			return Standing{}, err
		}
		s.LegUse, s.RatingGiven = float64(s.Legs / *in.LegRating), true
	}
	return s, nil
}
