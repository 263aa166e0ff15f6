package axleload

import "underpin/unit"

// A Pair is a tractor with one semi-trailer, by its tare as weighed and its
// payload. The tare lines are weighed loads in the very state (axles lifted or
// down) for which the wheelbase and the lead are given.
type Pair struct {
	Wheelbase  unit.Length // L_T, front axle to the tractor's rear reaction line
	Lead       unit.Length // e, fifth wheel ahead of that line; behind it negative
	TareFront  unit.Mass   // F_e, ready to drive: driver, fuel, kit
	TareRear   unit.Mass   // R_e
	PinToBogie unit.Length // L, kingpin to the trailer's reaction line
	TarePin    unit.Mass   // K_e, empty trailer's load at the kingpin
	TareBogie  unit.Mass   // B_e
	Payload    unit.Mass   // P
	PayloadAt  unit.Length // x, its centre behind the kingpin; ahead of it negative

	// Drive is the driven part of the rear group; nil if all of it is driven.
	Drive *DrivePart
}

// A DrivePart is the driven part of a rear group that also has an undriven
// axle.
type DrivePart struct {
	Tare  unit.Mass // D_e, its weighed part of TareRear
	Share float64   // λ_d, its share of what is added to the rear line
}

// A Result is where the mass of a pair comes down.
type Result struct {
	Imposed unit.Mass // K, at the kingpin
	Front   unit.Mass // F, on the tractor's front axle
	Rear    unit.Mass // R, on the tractor's rear line
	Bogie   unit.Mass // B, on the trailer's axles
	Gross   unit.Mass

	Driven   unit.Mass // the driven part of Rear
	Tractor  unit.Mass // W_T + K, what the tractor's axles carry
	Trailer  unit.Mass // W_te + P, what the trailer weighs with its load
	ToRear   float64   // ρ, share of K that goes to the rear line
	ToPin    float64   // 1 − x/L, share of the payload that goes to the kingpin
	Negative bool      // a support would have to pull down: the pair cannot stand like this
}

// SteerShare is the part of the tractor's laden mass that its front axle carries.
func (r Result) SteerShare() float64 { return float64(r.Front / r.Tractor) }

// DriveShare is the part of the combination's mass on the driven axles.
func (r Result) DriveShare() float64 { return float64(r.Driven / r.Gross) }

// BogieShare is the part of the combination's mass on the trailer's axles.
func (r Result) BogieShare() float64 { return float64(r.Bogie / r.Gross) }

// Loads returns the load at the kingpin and on every axle line of a tractor
// with a semi-trailer, as the chain of two units gives them:
//
//	K = K_e + P (1 − x/L)           B = B_e + P x/L
//	F = F_e + K e/L_T               R = R_e + K (L_T − e)/L_T
//
//	L_T  wheelbase to the rear reaction line        m
//	e    lead of the fifth wheel ahead of that line m
//	L    kingpin to the trailer's reaction line     m
//	P, x payload, and its centre behind the kingpin kg, m
//	F_e, R_e, K_e, B_e  tare as weighed             kg
//	K, F, R, B  result                              kg
//
// Of a rear group with an undriven axle the driven part is D_e + λ_d (R − R_e).
//
// Valid for level ground, rigid frames, a straight line, the trailer level at
// its design height, lead < wheelbase, and tare weighed in the same lift state;
// outside, the error is a *unit.DomainError. A result with a negative support is
// marked.
//
// Source: derived from the balance of forces and moments; handbook chapter 03,
// 1.2. The same levers stand in a body-builder guide of 2015, part II p. 273,
// and in the driving agency's guide "Loading your LGV".
func Loads(in Pair) (Result, error) {
	const name = "axle-loads"
	if err := in.check(name, true); err != nil {
		return Result{}, err
	}
	return in.loads()
}

// loads runs the chain for a pair that has been checked.
func (in *Pair) loads() (Result, error) {
	units := in.units()
	var out [2]Support
	balance, err := Chain(units[:], out[:])
	if err != nil {
		return Result{}, err
	}
	r := Result{
		Imposed: out[1].Front, Front: out[0].Front, Rear: out[0].Rear, Bogie: out[1].Rear,
		Gross:    balance.Gross,
		Tractor:  units[0].Mass + out[1].Front,
		Trailer:  units[1].Mass,
		ToRear:   in.toRear(),
		ToPin:    1 - float64(in.PayloadAt/in.PinToBogie),
		Negative: balance.Negative >= 0,
	}
	tare, share := in.drive()
	r.Driven = tare + unit.Mass(share)*(r.Rear-in.TareRear)
	return r, nil
}

// units are the pair as a chain. The centres are those that give the weighed
// tare on the given lines. For a group that does not share load as its tare
// stands on it that is not quite the true centre, and is not used as one.
func (in *Pair) units() [2]Unit {
	tractor := in.TareFront + in.TareRear
	trailer := in.TarePin + in.TareBogie + in.Payload
	u := [2]Unit{
		{Mass: tractor, Rear: in.Wheelbase, Coupling: in.Wheelbase - in.Lead},
		{Mass: trailer, Rear: in.PinToBogie},
	}
	u[0].Centre = in.Wheelbase * unit.Length(in.TareRear/tractor)
	u[1].Centre = (in.PinToBogie*unit.Length(in.TareBogie) + in.PayloadAt*unit.Length(in.Payload)) / unit.Length(trailer)
	return u
}

func (in *Pair) toRear() float64 { return float64((in.Wheelbase - in.Lead) / in.Wheelbase) }

func (in *Pair) drive() (tare unit.Mass, share float64) {
	if in.Drive == nil {
		return in.TareRear, 1
	}
	return in.Drive.Tare, in.Drive.Share
}

// check names what is wrong by the key of the input. Without withLoad the
// payload is not looked at.
func (in *Pair) check(formula string, withLoad bool) error {
	if err := first(
		wantPositive(formula, "wheelbase", in.Wheelbase),
		wantFinite(formula, "lead", in.Lead),
		wantNotNegative(formula, "tare-front", in.TareFront),
		wantNotNegative(formula, "tare-rear", in.TareRear),
		wantPositive(formula, "pin-to-bogie", in.PinToBogie),
		wantNotNegative(formula, "tare-pin", in.TarePin),
		wantNotNegative(formula, "tare-bogie", in.TareBogie),
		wantFinite(formula, "payload-at", in.PayloadAt),
	); err != nil {
		return err
	}
	if !(in.Lead < in.Wheelbase) {
		return &unit.DomainError{Formula: formula, Input: "lead", Value: float64(in.Lead), Want: "less than the wheelbase"}
	}
	if !(in.TareFront+in.TareRear > 0) {
		return wantPositive(formula, "tare-front + tare-rear", in.TareFront+in.TareRear)
	}
	if !(in.TarePin+in.TareBogie > 0) {
		return wantPositive(formula, "tare-pin + tare-bogie", in.TarePin+in.TareBogie)
	}
	if withLoad {
		if err := wantNotNegative(formula, "payload", in.Payload); err != nil {
			return err
		}
	}
	if d := in.Drive; d != nil {
		if !(0 <= d.Tare && d.Tare <= in.TareRear) {
			return &unit.DomainError{Formula: formula, Input: "drive tare", Value: float64(d.Tare), Want: "0 ≤ drive tare ≤ tare-rear"}
		}
		if !(0 < d.Share && d.Share <= 1) {
			return &unit.DomainError{Formula: formula, Input: "drive share", Value: d.Share, Want: "0 < λ ≤ 1"}
		}
	}
	return nil
}
