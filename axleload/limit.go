package axleload

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A Limit is named by the key of the input that sets it.
type Limit string

// The limits that a load can meet.
const (
	MaxFront      Limit = "max-front"
	MaxRear       Limit = "max-rear"
	MaxTractor    Limit = "max-tractor"
	MaxImposed    Limit = "max-imposed"
	MinImposed    Limit = "min-imposed"
	MaxBogie      Limit = "max-bogie"
	MaxTrailer    Limit = "max-trailer"
	MaxGross      Limit = "max-gross"
	MinDriveShare Limit = "min-drive-share"
	MinSteerShare Limit = "min-steer-share"
	MaxBogieShare Limit = "max-bogie-share"
)

// Limits are the limits of a pair; nil is "not given", and then bounds nothing.
// Of several limits on one quantity (law, plate, coupling, tyre) the caller
// gives the least, or asks once for each.
type Limits struct {
	MaxFront      *unit.Mass
	MaxRear       *unit.Mass // on the rear line; for a limit on one axle of the group see AddableLoad
	MaxTractor    *unit.Mass // W_T + K
	MaxImposed    *unit.Mass // the trailer's plate and the coupling's rating, whichever is less
	MinImposed    *unit.Mass
	MaxBogie      *unit.Mass
	MaxTrailer    *unit.Mass // W_te + P
	MaxGross      *unit.Mass
	MinDriveShare *float64 // driven axles, of the combination's actual mass
	MinSteerShare *float64 // front axle, of W_T + K
	MaxBogieShare *float64 // trailer axles, of the combination's actual mass
}

func (l *Limits) check(formula string) error {
	for _, m := range [...]struct {
		key Limit
		v   *unit.Mass
	}{
		{MaxFront, l.MaxFront}, {MaxRear, l.MaxRear}, {MaxTractor, l.MaxTractor}, {MaxImposed, l.MaxImposed},
		{MinImposed, l.MinImposed}, {MaxBogie, l.MaxBogie}, {MaxTrailer, l.MaxTrailer}, {MaxGross, l.MaxGross},
	} {
		if m.v != nil {
			if err := wantNotNegative(formula, string(m.key), *m.v); err != nil {
				return err
			}
		}
	}
	for _, s := range [...]struct {
		key Limit
		v   *float64
	}{{MinDriveShare, l.MinDriveShare}, {MinSteerShare, l.MinSteerShare}, {MaxBogieShare, l.MaxBogieShare}} {
		if s.v != nil {
			if err := wantShare(formula, string(s.key), *s.v); err != nil {
				return err
			}
		}
	}
	return nil
}

// A bound is one limit as the payload meets it: (flat + slope·x)·P ≤ room.
// Every curve of the load diagram has this form.
type bound struct {
	key               Limit
	room, flat, slope float64
}

func (b bound) demand(x float64) float64 {
	d := b.flat + b.slope*x
	if math.Abs(d) <= demandDust {
		return 0
	}
	return d
}

// Rounding of sums of tonnes leaves some 1e-11 kg; a microgram is no room.
const (
	roomDust   = 1e-9  // kg
	demandDust = 1e-12 // kg of limit per kg of payload
)

type bounds struct {
	list [11]bound
	n    int
}

func (b *bounds) add(key Limit, room, flat, slope float64) {
	if math.Abs(room) <= roomDust {
		room = 0
	}
	b.list[b.n] = bound{key, room, flat, slope}
	b.n++
}

// newBounds sets the limits against the empty pair, which the chain gives.
func newBounds(in *Pair, lim *Limits) (bounds, error) {
	empty := *in
	empty.Payload, empty.PayloadAt = 0, 0
	e, err := empty.loads()
	if err != nil {
		return bounds{}, err
	}
	var b bounds
	L := float64(in.PinToBogie)
	toFront, rho := float64(in.Lead/in.Wheelbase), in.toRear()
	_, lambda := in.drive()
	pin := func(key Limit, room, part float64) { b.add(key, room, part, -part/L) } // part of P (1 − x/L)
	if v := lim.MaxGross; v != nil {
		b.add(MaxGross, float64(*v-e.Gross), 1, 0)
	}
	if v := lim.MaxTrailer; v != nil {
		b.add(MaxTrailer, float64(*v-e.Trailer), 1, 0)
	}
	if v := lim.MaxImposed; v != nil {
		pin(MaxImposed, float64(*v-e.Imposed), 1)
	}
	if v := lim.MaxTractor; v != nil {
		pin(MaxTractor, float64(*v-e.Tractor), 1)
	}
	if v := lim.MaxFront; v != nil {
		pin(MaxFront, float64(*v-e.Front), toFront)
	}
	if v := lim.MaxRear; v != nil {
		pin(MaxRear, float64(*v-e.Rear), rho)
	}
	if v := lim.MaxBogie; v != nil {
		b.add(MaxBogie, float64(*v-e.Bogie), 0, 1/L)
	}
	if v := lim.MinImposed; v != nil {
		pin(MinImposed, float64(e.Imposed-*v), -1)
	}
	if v := lim.MinSteerShare; v != nil {
		pin(MinSteerShare, float64(e.Front)-*v*float64(e.Tractor), *v-toFront)
	}
	if v := lim.MinDriveShare; v != nil {
		kappa := lambda * rho
		b.add(MinDriveShare, float64(e.Driven)-*v*float64(e.Gross), *v-kappa, kappa/L)
	}
	if v := lim.MaxBogieShare; v != nil {
		b.add(MaxBogieShare, *v*float64(e.Gross)-float64(e.Bogie), -*v, 1/L)
	}
	return b, nil
}

// at returns the range of payload that keeps every bound at x.
func (b *bounds) at(x float64) Permitted {
	p := Permitted{Payload: unit.Mass(math.Inf(1))}
	for _, c := range b.list[:b.n] {
		d := c.demand(x)
		switch {
		case c.room < 0 && d >= 0:
			if p.BlockedBy == "" {
				p.BlockedBy = c.key
			}
		case c.room < 0: // d < 0: load relieves it
			if least := unit.Mass(c.room / d); least > p.AtLeast {
				p.AtLeast, p.AtLeastBy = least, c.key
			}
		case d > 0:
			if most := unit.Mass(c.room / d); most < p.Payload {
				p.Payload, p.GovernedBy = most, c.key
				p.Room, p.Demand = unit.Mass(c.room), d
			}
		}
	}
	if p.BlockedBy == "" && p.AtLeast > p.Payload {
		p.BlockedBy = p.AtLeastBy
	}
	return p
}

// A Permitted is the payload that may stand at one place.
type Permitted struct {
	Payload    unit.Mass // the most; +Inf if no limit bounds it there
	GovernedBy Limit     // the limit that is reached at Payload; "" if none
	Room       unit.Mass // what the governing limit leaves to the empty pair
	Demand     float64   // what each kg of payload takes of Room; Payload = Room/Demand

	AtLeast   unit.Mass // the least payload, 0 unless a limit is broken empty and met laden
	AtLeastBy Limit
	BlockedBy Limit // a limit that no payload at this place keeps; "" if there is some
}

// PayloadLimit returns the most payload that may stand with its centre at one
// place, and the limit that governs it: one point of the load distribution
// diagram. With K = K_e + P (1 − x/L) and B = B_e + P x/L every limit reads
// d·P ≤ n, and the answer is the least n/d:
//
//	gross         d = 1                      n = G − W_T − W_te
//	trailer       d = 1                      n = G_S − W_te
//	imposed       d = 1 − x/L                n = K_max − K_e
//	tractor       d = 1 − x/L                n = G_T − W_T − K_e
//	front         d = (e/L_T)(1 − x/L)       n = F_max − F_e − K_e e/L_T
//	rear          d = ρ (1 − x/L)            n = R_max − R_e − K_e ρ
//	bogie         d = x/L                    n = B_max − B_e
//	least imposed d = −(1 − x/L)             n = K_e − K_min
//	steer share   d = (φ_s − e/L_T)(1 − x/L) n = F_e + K_e e/L_T − φ_s (W_T + K_e)
//	drive share   d = φ_d − κ (1 − x/L)      n = D_e + κ K_e − φ_d (W_T + W_te)
//	bogie share   d = x/L − φ_b              n = φ_b (W_T + W_te) − B_e
//
//	x    payload centre behind the kingpin           m
//	ρ    (L_T − e)/L_T                               –
//	κ    λ_d ρ, share of K that goes to driven axles –
//	φ    least or greatest share of the actual mass  –
//	P    result                                      kg
//
// Where n < 0 the empty pair breaks the limit: if d < 0 the payload must be at
// least n/d (AtLeast), else nothing helps. The payload of the Pair is not used.
// With no limit in the way the payload is +Inf and GovernedBy is empty.
//
// Valid for the ranges of Loads and one lift state; outside, the error is a
// *unit.DomainError. If no payload, not even none, keeps the limits, the error
// is a *unit.NoAnswerError and BlockedBy names the limit.
//
// Source: derived from the formulas of Loads; handbook chapter 03, 3.2. Shares:
// steered axle 20 %, guidance to DGUV 70 § 37; driven axles 25 % of the actual
// mass in cross-border traffic, StVZO § 34(8) after Directive 96/53/EC; trailer
// axles of tank vehicles 60 %, ADR 9.7.5.1 (which says nominal total mass).
func PayloadLimit(in Pair, lim Limits) (Permitted, error) {
	const name = "payload-limit"
	if err := first(in.check(name, false), lim.check(name)); err != nil {
		return Permitted{}, err
	}
	b, err := newBounds(&in, &lim)
	if err != nil {
		return Permitted{}, err
	}
	p := b.at(float64(in.PayloadAt))
	if p.BlockedBy != "" {
		return p, &unit.NoAnswerError{Formula: name, Why: p.why()}
	}
	return p, nil
}

func (p Permitted) why() string {
	if p.AtLeastBy != p.BlockedBy {
		return fmt.Sprintf("%s is broken by the empty combination, and payload at this place does not relieve it", p.BlockedBy)
	}
	return fmt.Sprintf("%s asks for at least %.0f kg at this place and %s allows at most %.0f kg",
		p.AtLeastBy, float64(p.AtLeast), p.GovernedBy, float64(p.Payload))
}

// An ImposedRange is what the tractor's side allows at the kingpin.
type ImposedRange struct {
	Imposed    unit.Mass // K_max; +Inf if no limit bounds it
	GovernedBy Limit
}

// ImposedLimit returns the greatest load at the kingpin that the limits of the
// tractor and of the coupling allow, whatever trailer brings it:
//
//	front        K ≤ (F_max − F_e) L_T/e                     for e > 0
//	rear         K ≤ (R_max − R_e)/ρ
//	tractor      K ≤ G_T − W_T
//	imposed      K ≤ K_plate
//	steer share  K ≤ (F_e − φ_s W_T)/(φ_s − e/L_T)           for e/L_T < φ_s
//
//	K    result   kg
//
// Limits of the trailer, of the gross and the drive share are not looked at,
// nor are the trailer's tare and the payload.
//
// Valid for the ranges of Loads; outside, the error is a *unit.DomainError. If
// the tractor alone breaks a limit the error is a *unit.NoAnswerError and
// GovernedBy names it. With e ≤ 0 no load at the kingpin reaches the front limit.
//
// Source: derived from the formulas of Loads; handbook chapter 03, 3.2 curves 2
// and 5.
func ImposedLimit(in Pair, lim Limits) (ImposedRange, error) {
	const name = "imposed limit"
	// A trailer without tare: the load at the kingpin is then the payload there.
	in.TarePin, in.TareBogie, in.PinToBogie = 0, 1, 1
	in.Payload, in.PayloadAt = 0, 0
	if err := first(in.check(name, false), lim.check(name)); err != nil {
		return ImposedRange{}, err
	}
	b, err := newBounds(&in, &Limits{
		MaxFront: lim.MaxFront, MaxRear: lim.MaxRear, MaxTractor: lim.MaxTractor,
		MaxImposed: lim.MaxImposed, MinSteerShare: lim.MinSteerShare,
	})
	if err != nil {
		return ImposedRange{}, err
	}
	p := b.at(0)
	if p.BlockedBy != "" {
		return ImposedRange{0, p.BlockedBy}, &unit.NoAnswerError{Formula: name, Why: string(p.BlockedBy) + " is broken by the tractor alone"}
	}
	return ImposedRange{p.Payload, p.GovernedBy}, nil
}
