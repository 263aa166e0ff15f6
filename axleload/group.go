package axleload

import (
	"math"

	"underpin/unit"
)

// An Axle is one axle of a group.
type Axle struct {
	At    unit.Length // p, behind the unit's front support
	Share float64     // λ, share of the load added to the group in this suspension state
	Tare  unit.Mass   // as weighed in this state; not λ of the group's tare
	Max   *unit.Mass  // the axle's limit; nil if none is given
}

// A Group is the axles that share one reaction line, without the lifted ones.
type Group []Axle

// shareSum is how far the shares of a group may miss 1: six printed decimals.
const shareSum = 1e-6

// ReactionLine returns where the load of an axle group acts, which is where the
// wheelbase of a tractor and the kingpin distance of a trailer end:
//
//	p* = Σ λ_j p_j
//
//	p_j  position of each axle, any one origin   m
//	λ_j  its share of the load, Σ λ_j = 1        –
//	p*   result                                  m
//
// Equal shares put it midway; a drive axle with a plated tag or pusher axle
// shares as the plates do. With two axles it is the theoretical wheelbase of
// body-builder guides.
//
// Valid for shares that do not change with the load: an equaliser, a walking
// beam, common air bags, or one state of a ratio control. A control that
// saturates, or sprung axles without an equaliser, have no fixed line (see
// ElasticSupports). Shares below 0 or not summing to 1 are refused with a
// *unit.DomainError.
//
// Source: derived, balance of moments; handbook chapter 03, 1.3. For vehicles
// of many axles the German load-securing handbook, 6.2.5, calls the distance
// the technical wheelbase.
func ReactionLine(g Group) (unit.Length, error) {
	if err := g.check("bogie-line"); err != nil {
		return 0, err
	}
	var line unit.Length
	for i := range g {
		line += unit.Length(g[i].Share) * g[i].At
	}
	return line, nil
}

func (g Group) check(formula string) error {
	if len(g) == 0 {
		return &unit.DomainError{Formula: formula, Input: "at", Value: 0, Want: "at least one axle"}
	}
	sum := 0.0
	for i := range g {
		if err := first(
			wantFinite(formula, "at", g[i].At),
			wantShare(formula, "share", g[i].Share),
			wantNotNegative(formula, "tare", g[i].Tare),
		); err != nil {
			return err
		}
		sum += g[i].Share
	}
	if !(math.Abs(sum-1) <= shareSum) {
		return &unit.DomainError{Formula: formula, Input: "share", Value: sum, Want: "shares that sum to 1"}
	}
	return nil
}

// GroupLoads returns the load on each axle of a group when a load is added to
// its reaction line:
//
//	w_j = w_ej + λ_j Δ
//
//	w_ej  tare of the axle as weighed in this state   kg
//	λ_j   its share of added load                     –
//	Δ     load added to the line                      kg
//	w_j   result                                      kg
//
// The shares hold for the added load only: a fixed-ratio air suspension fixes
// the loads on its springs, and the unsprung mass of each axle comes on top.
// The loads go into out, one for each axle.
//
// Valid for shares that do not change with the load, weighed tare in the same
// state; outside, the error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 1.3, notes 1 and 2.
func GroupLoads(g Group, added unit.Mass, out []unit.Mass) error {
	const name = "group loads"
	if err := first(g.check(name), wantFinite(name, "added", added)); err != nil {
		return err
	}
	if len(out) < len(g) {
		return &unit.DomainError{Formula: name, Input: "out", Value: float64(len(out)), Want: "a place for each axle"}
	}
	for i := range g {
		out[i] = g[i].Tare + unit.Mass(g[i].Share)*added
	}
	return nil
}

// Addable is the load that a group's line can still take.
type Addable struct {
	Added unit.Mass // Δ, on top of the tare; +Inf if no axle of the group has a limit that the load reaches
	Axle  int       // the axle that reaches its limit first, -1 if none
}

// AddableLoad returns the load that can be added to the reaction line of an
// axle group until the first of its axles reaches its limit:
//
//	Δ = min over j of (w_max,j − w_ej) / λ_j
//
//	w_max,j  limit of the axle    kg
//	w_ej     its weighed tare     kg
//	λ_j      its share            –
//	Δ        result               kg
//
// The line's own limit is then the group's tare plus Δ.
//
// Valid for shares that do not change with the load; outside, the error is a
// *unit.DomainError. If an axle is over its limit at tare there is no such load
// and the error is a *unit.NoAnswerError.
//
// Source: derived; handbook chapter 03, 3.2 curve 3 and 8 B.
func AddableLoad(g Group) (Addable, error) {
	const name = "addable load"
	if err := g.check(name); err != nil {
		return Addable{}, err
	}
	a := Addable{Added: unit.Mass(math.Inf(1)), Axle: -1}
	for i := range g {
		if g[i].Max == nil {
			continue
		}
		if err := wantNotNegative(name, "max", *g[i].Max); err != nil {
			return Addable{}, err
		}
		room := *g[i].Max - g[i].Tare
		if !(room >= 0) {
			return Addable{}, &unit.NoAnswerError{Formula: name, Why: "an axle is over its limit before anything is added"}
		}
		if s := unit.Mass(g[i].Share); s > 0 && room/s < a.Added {
			a = Addable{Added: room / s, Axle: i}
		}
	}
	return a, nil
}

// A Tare is an empty unit in one lift state.
type Tare struct {
	Mass     unit.Mass
	Centre   unit.Length // x_e, behind the front support
	Front    unit.Mass
	Rear     unit.Mass // on the reaction line of this state
	Negative bool      // the empty unit would tip in this state
}

// LiftState returns how the tare of a unit stands on its supports in another
// lift state than the one in which it was weighed. The centre of mass does not
// move, the reaction line does:
//
//	x_e = Σ w_ej p_j / W_e ,   W_e = w_front + Σ w_ej
//	B′ = W_e x_e / L′ ,        V′ = W_e − B′
//
//	w_front    weighed on the front axle or at the kingpin               kg
//	w_ej, p_j  weighed on each axle, and the axle behind the front support kg, m
//	L′         reaction line of the other state                          m
//	V′, B′     result: tare at the front and on the line                 kg
//
// A semi-trailer weighed at its bogie may be given as one axle on the line of
// that state. Shares and limits of the axles are not used.
//
// Valid for level ground and a rigid unit whose parts do not shift, L′ > 0;
// outside, the error is a *unit.DomainError.
//
// Source: derived, balance of moments; handbook chapter 03, 1.4.
func LiftState(front unit.Mass, weighed Group, line unit.Length) (Tare, error) {
	const name = "lift state"
	if err := first(wantNotNegative(name, "tare-front", front), wantPositive(name, "line", line)); err != nil {
		return Tare{}, err
	}
	t := Tare{Mass: front}
	moment := 0.0
	for i := range weighed {
		if err := first(wantNotNegative(name, "tare", weighed[i].Tare), wantFinite(name, "at", weighed[i].At)); err != nil {
			return Tare{}, err
		}
		t.Mass += weighed[i].Tare
		moment += float64(weighed[i].Tare) * float64(weighed[i].At)
	}
	if err := wantPositive(name, "tare", t.Mass); err != nil {
		return Tare{}, err
	}
	t.Centre = unit.Length(moment / float64(t.Mass))
	units, out := [1]Unit{{Mass: t.Mass, Centre: t.Centre, Rear: line}}, [1]Support{}
	balance, err := Chain(units[:], out[:])
	if err != nil {
		return Tare{}, err
	}
	t.Front, t.Rear, t.Negative = out[0].Front, out[0].Rear, balance.Negative >= 0
	return t, nil
}
