package axleload

import "underpin/unit"

// A Unit is one vehicle of a chain, its lengths behind its front support: the
// front axle of the first unit, the kingpin or the eye of the rigid drawbar of
// the others.
type Unit struct {
	Mass     unit.Mass   // W, with its load
	Centre   unit.Length // x, centre of mass
	Rear     unit.Length // L, reaction line of its rear axle group
	Coupling unit.Length // c, its rear coupling; of no effect on the last unit
}

// A Support is what carries one unit.
type Support struct {
	Front unit.Mass // V, at the front axle, the kingpin or the eye
	Rear  unit.Mass // B, on the axle group
}

// Negative tells whether a support would have to pull its unit down. A rigid
// drawbar's eye can, wheels on a road cannot: such a unit tips.
func (s Support) Negative() bool { return !(s.Front >= 0 && s.Rear >= 0) }

// A Balance sums up a chain.
type Balance struct {
	Gross    unit.Mass
	Negative int // the first unit with a negative support, -1 if there is none
}

// Chain returns the load on every support of a chain of units at rest: tractor
// and semi-trailer, B-double, rigid-drawbar dolly, road train. It works from
// the last unit forwards, each unit's front support being a load on the rear
// coupling of the unit ahead:
//
//	V_i = [ W_i (L_i − x_i) + V_{i+1} (L_i − c_i) ] / L_i
//	B_i = W_i + V_{i+1} − V_i
//
//	W_i  mass of the unit                                        kg
//	x_i  its centre of mass behind its front support             m
//	L_i  its rear reaction line behind its front support         m
//	c_i  its rear coupling behind its front support              m
//	V_i  result: load on the front support; V_1 is the steer line  kg
//	B_i  result: load on the axle group                          kg
//
// The loads go into out, one for each unit; nothing is allocated. A support
// that comes out negative is named in the Balance.
//
// Valid for level ground, rigid units in a straight line, one statically
// determinate reaction line per axle group, L > 0, W ≥ 0, and couplings that
// pass on vertical load and no moment. A hinged drawbar passes on no vertical
// load and is not a unit of this chain. Otherwise the error is a
// *unit.DomainError.
//
// Source: derived from the balance of forces and moments of each unit;
// handbook chapter 03, 1.5, which checks it by the balance of the whole chain.
func Chain(units []Unit, out []Support) (Balance, error) {
	const name = "chain-loads"
	b := Balance{Negative: -1}
	if len(units) == 0 {
		return b, &unit.DomainError{Formula: name, Input: "unit", Value: 0, Want: "at least one unit"}
	}
	if len(out) < len(units) {
		return b, &unit.DomainError{Formula: name, Input: "out", Value: float64(len(out)), Want: "a place for each unit"}
	}
	behind := link{}
	for i := len(units) - 1; i >= 0; i-- {
		u := &units[i]
		if err := u.check(name); err != nil {
			return Balance{Negative: -1}, err
		}
		bu := BrakedUnit{Unit: *u, Brakes: Unbraked}
		if i == len(units)-1 {
			bu.Coupling = 0
		}
		front, rear, err := bu.carry(behind, atRest, i == 0)
		if err != nil {
			return Balance{Negative: -1}, err
		}
		out[i] = Support{Front: unit.Mass(front.load), Rear: unit.Mass(rear)}
		b.Gross += u.Mass
		if out[i].Negative() {
			b.Negative = i
		}
		behind = front
	}
	return b, nil
}

func (u *Unit) check(formula string) error {
	if !(u.Mass >= 0 && finite(float64(u.Mass))) {
		return wantNotNegative(formula, "w", u.Mass)
	}
	if !(u.Rear > 0 && finite(float64(u.Rear))) {
		return wantPositive(formula, "l", u.Rear)
	}
	if !finite(float64(u.Centre)) {
		return wantFinite(formula, "x", u.Centre)
	}
	if !finite(float64(u.Coupling)) {
		return wantFinite(formula, "c", u.Coupling)
	}
	return nil
}

// A link is what a unit brings to the coupling ahead of it, both as masses.
type link struct{ load, thrust float64 }

// A motion acts on every unit alike: the road's cosine and ζ = z + sin θ, the
// deceleration and the downhill pull in multiples of g.
type motion struct{ cos, zeta float64 }

var atRest = motion{cos: 1}

// carry is the one engine of this package: the balance of one unit, given what
// the unit behind brings. Moments are taken about the ground at the rear
// reaction line:
//
//	V L + X h_f = W cos θ (L − x) + ζ W h + V_next (L − c) + X_next h_c
//	X = ζ W + X_next − T
//
// with the brake force T of the unit's own axles as Brakes says. The first unit
// has an axle in front and no thrust there.
func (u *BrakedUnit) carry(behind link, m motion, leads bool) (front link, rear float64, err error) {
	W, x, L, c := float64(u.Mass), float64(u.Centre), float64(u.Rear), float64(u.Coupling)
	h, hf, hc := float64(u.CentreHeight), float64(u.FrontHeight), float64(u.CouplingHeight)
	moment := W*m.cos*(L-x) + m.zeta*W*h + behind.load*(L-c) + behind.thrust*hc
	switch {
	case leads:
		front.load = moment / L
	case u.Brakes == Balanced: // T = (ζ/cos θ) B, so X − X_next = (ζ/cos θ)(V − V_next)
		z := m.zeta / m.cos
		lever := L + z*hf
		if !(lever > 0) {
			return link{}, 0, &unit.DomainError{Formula: "braking-transfer", Input: "coupling-height", Value: hf, Want: "low enough that L + z·h > 0"}
		}
		front.load = (moment - (behind.thrust-z*behind.load)*hf) / lever
		front.thrust = behind.thrust + z*(front.load-behind.load)
	case u.Brakes == OwnMass: // T = ζ W
		front.thrust = behind.thrust
		front.load = (moment - front.thrust*hf) / L
	default: // Unbraked, T = 0
		front.thrust = m.zeta*W + behind.thrust
		front.load = (moment - front.thrust*hf) / L
	}
	return front, W*m.cos + behind.load - front.load, nil
}
