package axleload

import (
	"math"

	"underpin/unit"
)

// Brakes says how much of its own braking a trailer does.
type Brakes byte

// The three cases.
const (
	Balanced Brakes = 'a' // each axle brakes the load that stands on it
	OwnMass  Brakes = 'b' // the trailer brakes all of its own mass
	Unbraked Brakes = 'c' // the trailer does not brake
)

// A BrakedUnit is a unit of a chain with its heights above the ground.
type BrakedUnit struct {
	Unit
	CentreHeight   unit.Length // h, of its centre of mass
	FrontHeight    unit.Length // h_f, of its front coupling; not used of the first unit
	CouplingHeight unit.Length // h_c, of its rear coupling; not used of the last unit
	Brakes         Brakes      // not used of the first unit
}

// A BrakedSupport is what carries a unit that brakes.
type BrakedSupport struct {
	Support
	Thrust unit.Force // X, with which the unit pushes the one ahead; negative: it is pulled
}

// A Road is what a chain does on it.
type Road struct {
	Deceleration float64 // z, in multiples of 9.81 m/s²
	Slope        float64 // tan θ, downhill positive
}

func (r Road) motion(formula string) (motion, error) {
	if !(0 <= r.Deceleration && r.Deceleration <= 1) {
		return motion{}, &unit.DomainError{Formula: formula, Input: "deceleration", Value: r.Deceleration, Want: "0 to 1, in multiples of 9.81 m/s²"}
	}
	if !(-0.5 <= r.Slope && r.Slope <= 0.5) {
		return motion{}, &unit.DomainError{Formula: formula, Input: "slope", Value: r.Slope, Want: "−0.5 to 0.5, downhill positive"}
	}
	cos := 1 / math.Sqrt(1+r.Slope*r.Slope)
	return motion{cos: cos, zeta: r.Deceleration + r.Slope*cos}, nil
}

// BrakingChain returns the load on every support of a chain of units, and the
// thrust at every coupling, in braking and on a gradient. It is the recursion of
// Chain carrying thrust forwards as well:
//
//	V L + X h_f = W cos θ (L − x) + ζ W h + V_next (L − c) + X_next h_c
//	X = ζ W + X_next − T ,   B = W cos θ + V_next − V ,   ζ = z + sin θ
//
//	z    deceleration over g            –
//	θ    slope, downhill positive       –
//	T    brake force of the unit's own axles: (ζ/cos θ) B, ζ W or 0 in the cases a, b, c
//	h, h_f, h_c  height of the centre of mass, of the front and of the rear coupling   m
//	V, B, X      result: load on the front support and the axle group, thrust ahead    kg, kg, N
//
// The loads go into out, one for each unit. A negative support is named in the
// Balance.
//
// Valid for rigid units in a straight line, even deceleration, 0 ≤ z ≤ 1 and
// slopes to 0.5, and the ranges of Chain; outside, the error is a
// *unit.DomainError. Pitching, suspension geometry and lags of the brakes are
// left out.
//
// Source: derived, balance of forces and moments; handbook chapter 03, 6.1,
// which checks two units by the balance of the whole.
func BrakingChain(units []BrakedUnit, road Road, out []BrakedSupport) (Balance, error) {
	const name = "braking-transfer"
	b := Balance{Negative: -1}
	m, err := road.motion(name)
	if err != nil {
		return b, err
	}
	if len(units) == 0 || len(out) < len(units) {
		return b, &unit.DomainError{Formula: name, Input: "units", Value: float64(len(units)), Want: "at least one unit, and a place for each"}
	}
	behind := link{}
	for i := len(units) - 1; i >= 0; i-- {
		u := units[i]
		if i == len(units)-1 {
			u.Coupling, u.CouplingHeight = 0, 0
		}
		if i == 0 {
			u.FrontHeight = 0
		}
		if err := first(u.check(name), wantNotNegative(name, "centre height", u.CentreHeight),
			wantNotNegative(name, "coupling-height", u.FrontHeight), wantNotNegative(name, "coupling-height", u.CouplingHeight)); err != nil {
			return Balance{Negative: -1}, err
		}
		if i > 0 && u.Brakes != Balanced && u.Brakes != OwnMass && u.Brakes != Unbraked {
			return Balance{Negative: -1}, &unit.DomainError{Formula: name, Input: "case", Value: float64(u.Brakes), Want: "a, b or c"}
		}
		front, rear, err := u.carry(behind, m, i == 0)
		if err != nil {
			return Balance{Negative: -1}, err
		}
		out[i] = BrakedSupport{
			Support: Support{Front: unit.Mass(front.load), Rear: unit.Mass(rear)},
			Thrust:  unit.Force(front.thrust * float64(unit.Gravity)),
		}
		b.Gross += u.Mass
		if out[i].Negative() {
			b.Negative = i
		}
		behind = front
	}
	return b, nil
}

// A Stop is a pair that brakes.
type Stop struct {
	Pair
	Road
	Brakes         Brakes
	CouplingHeight unit.Length // h_k
	TrailerHeight  unit.Length // h_s, centre of mass of the trailer with its load
	TractorHeight  unit.Length // h_T, centre of mass of the tractor alone
}

// A Transferred is where the mass of a braking pair comes down. On a slope the
// loads are those square to the road.
type Transferred struct {
	Imposed            unit.Mass  // K
	Thrust             unit.Force // X, trailer on tractor; negative: the trailer is pulled
	Front, Rear, Bogie unit.Mass  // F, R, B
	Driven             unit.Mass  // the driven part of Rear
	Negative           bool       // an axle or the kingpin lifts: the result does not hold
}

// BrakingTransfer returns the loads of a tractor with a semi-trailer in braking,
// and the thrust of the trailer on the fifth wheel:
//
//	(a) balanced        K = W_s [(L − x_s) + z h_s] / (L + z h_k) ,  X = z K
//	(b) own mass        K = W_s (1 − x_s/L) + z W_s h_s/L ,          X = 0
//	(c) unbraked        K = W_s (1 − x_s/L) + (z W_s h_s − X h_k)/L , X = z W_s
//	F = F_e + [K e + z W_T h_T + X h_k]/L_T ,  R = W_T + K − F ,  B = W_s − K
//
//	z         deceleration over g                                  –
//	W_s, x_s, h_s  trailer with load: mass, centre behind the kingpin, height   kg, m, m
//	h_k, h_T  height of the coupling, of the tractor's centre      m
//	K, F, R, B  result                                             kg
//	X         result                                               N
//
// On a slope, see BrakingChain, of which this is the case of two units. The
// thrust is a real force of one moment; D is a rating for the approval test and
// no upper bound of it, so the two are not to be compared as a pass.
//
// Valid for the ranges of Loads and of BrakingChain; outside, the error is a
// *unit.DomainError.
//
// Source: derived; handbook chapter 03, 6.1.
func BrakingTransfer(in Stop) (Transferred, error) {
	const name = "braking-transfer"
	if err := in.check(name, true); err != nil {
		return Transferred{}, err
	}
	if err := first(
		wantNotNegative(name, "coupling-height", in.CouplingHeight),
		wantNotNegative(name, "trailer-cg-height", in.TrailerHeight),
		wantNotNegative(name, "tractor-cg-height", in.TractorHeight),
	); err != nil {
		return Transferred{}, err
	}
	pair := in.units()
	units := [2]BrakedUnit{
		{Unit: pair[0], CentreHeight: in.TractorHeight, CouplingHeight: in.CouplingHeight},
		{Unit: pair[1], CentreHeight: in.TrailerHeight, FrontHeight: in.CouplingHeight, Brakes: in.Brakes},
	}
	var out [2]BrakedSupport
	b, err := BrakingChain(units[:], in.Road, out[:])
	if err != nil {
		return Transferred{}, err
	}
	t := Transferred{
		Imposed: out[1].Front, Thrust: out[1].Thrust,
		Front: out[0].Front, Rear: out[0].Rear, Bogie: out[1].Rear,
		Negative: b.Negative >= 0,
	}
	cos := 1 / math.Sqrt(1+in.Slope*in.Slope)
	tare, share := in.drive()
	t.Driven = unit.Mass(cos)*tare + unit.Mass(share)*(t.Rear-unit.Mass(cos)*in.TareRear)
	return t, nil
}

// A Climb is a pair pulled up a gradient.
type Climb struct {
	Pair
	Grade          float64 // tan θ, uphill positive: 0.10 for 10 %
	CouplingHeight unit.Length
	TrailerHeight  unit.Length
	TractorHeight  unit.Length
}

// A Pull is a pair pulled up a gradient.
type Pull struct {
	Transferred
	Pull     unit.Force // X, at the kingpin
	Friction float64    // μ that the driven axles need
}

// UphillPull returns the loads of a tractor that pulls a semi-trailer up a
// gradient at steady speed, the pull at the kingpin, and the friction that the
// driven axles need:
//
//	X = W_s sin θ
//	K = [W_s cos θ (L − x_s) − W_s sin θ h_s + X h_k] / L
//	F = [W_T cos θ (L_T − x_T) − W_T sin θ h_T + K e − X h_k] / L_T
//	R = W_T cos θ + K − F ,   μ = (W_T + W_s) sin θ / R_drive
//
//	tan θ  gradient, 0.10 for 10 %                        –
//	h_s, h_T, h_k  height of the trailer's and the tractor's centre, of the coupling   m
//	K, F, R  result, square to the road                   kg
//	X      result                                         N
//	μ      result                                         –
//
// R_drive is the driven axles' part of R only.
//
// Valid for gradients from 0 to 0.5, steady speed, rolling and air resistance
// left out, and the ranges of Loads; outside, the error is a *unit.DomainError.
// If the driven axles carry nothing the error is a *unit.NoAnswerError.
//
// Source: derived; handbook chapter 03, 6.2.
func UphillPull(in Climb) (Pull, error) {
	const name = "uphill pull"
	if !(0 <= in.Grade && in.Grade <= 0.5) {
		return Pull{}, &unit.DomainError{Formula: name, Input: "grade", Value: in.Grade, Want: "0 to 0.5"}
	}
	t, err := BrakingTransfer(Stop{
		Pair: in.Pair, Road: Road{Slope: -in.Grade}, Brakes: Unbraked,
		CouplingHeight: in.CouplingHeight, TrailerHeight: in.TrailerHeight, TractorHeight: in.TractorHeight,
	})
	if err != nil {
		return Pull{}, err
	}
	p := Pull{Transferred: t, Pull: -t.Thrust}
	if !(t.Driven > 0) {
		return p, &unit.NoAnswerError{Formula: name, Why: "the driven axles carry nothing"}
	}
	gross := in.TareFront + in.TareRear + in.TarePin + in.TareBogie + in.Payload
	sin := in.Grade / math.Sqrt(1+in.Grade*in.Grade)
	p.Friction = float64(gross) * sin / float64(t.Driven)
	return p, nil
}
