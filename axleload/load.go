package axleload

import "underpin/unit"

// An Item is a part of a load. At counts from whatever datum the caller uses
// for all items: behind the headboard, or behind the kingpin.
type Item struct {
	Mass unit.Mass
	At   unit.Length
}

// LoadCentre returns the mass of a load and where its centre lies:
//
//	m = Σ m_i ,   s = Σ m_i s_i / m
//
//	m_i, s_i  mass and place of each item   kg, m
//	m, s      result                        kg, m
//
// Valid for masses of 0 or more, at finite places, else the error is a
// *unit.DomainError. A load that weighs nothing has no centre:
// *unit.NoAnswerError.
//
// Source: definition of the centre of mass; handbook chapter 03, 1.2.
func LoadCentre(items []Item) (Item, error) {
	const name = "load-centre"
	var sum Item
	moment := 0.0
	for i := range items {
		if err := first(wantNotNegative(name, "m", items[i].Mass), wantFinite(name, "s", items[i].At)); err != nil {
			return Item{}, err
		}
		sum.Mass += items[i].Mass
		moment += float64(items[i].Mass) * float64(items[i].At)
	}
	if !(sum.Mass > 0) {
		return Item{}, &unit.NoAnswerError{Formula: name, Why: "the items weigh nothing, so they have no centre"}
	}
	sum.At = unit.Length(moment / float64(sum.Mass))
	return sum, nil
}

// A Ticket is a weighing of a laden pair. Of the pair only geometry and tare
// are used.
type Ticket struct {
	Pair
	Front, Rear, Bogie unit.Mass // F, R, B as weighed
}

// A Weighed is what a ticket says about the load.
type Weighed struct {
	Imposed         unit.Mass   // K = F + R − W_T
	ImposedFromRear unit.Mass   // K = (R − R_e)/ρ
	Difference      unit.Mass   // ImposedFromRear − Imposed; far from 0 the lead or a tare is wrong
	Payload         unit.Mass   // P
	PayloadAt       unit.Length // x behind the kingpin
}

// FromTicket returns the load at the kingpin, the payload and its centre from a
// weighbridge ticket, the load at the kingpin in two ways:
//
//	K = F + R − W_T          K = (R − R_e)/ρ
//	P = K + B − W_te         x = (B − B_e) L / P
//
//	F, R, B   weighed: front axle, rear line, trailer axles   kg
//	W_T, W_te tare of tractor and trailer                     kg
//	R_e, B_e  tare on the rear line and on the trailer axles  kg
//	ρ         (L_T − e)/L_T                                   –
//	K, P, x   result                                          kg, kg, m
//
// The first way is the better one. If the two disagree by more than the scale's
// error, the lead or a tare is wrong.
//
// Valid for the ranges of Loads; outside, the error is a *unit.DomainError. A
// ticket without payload has no load centre: the error is a
// *unit.NoAnswerError, and the loads at the kingpin still stand in the result.
//
// Source: derived from the formulas of Loads; handbook chapter 03, 1.2.
func FromTicket(in Ticket) (Weighed, error) {
	const name = "weighbridge ticket"
	in.Payload, in.PayloadAt = 0, 0
	if err := first(
		in.check(name, false),
		wantNotNegative(name, "front", in.Front),
		wantNotNegative(name, "rear", in.Rear),
		wantNotNegative(name, "bogie", in.Bogie),
	); err != nil {
		return Weighed{}, err
	}
	var w Weighed
	w.Imposed = in.Front + in.Rear - (in.TareFront + in.TareRear)
	w.ImposedFromRear = (in.Rear - in.TareRear) / unit.Mass(in.toRear())
	w.Difference = w.ImposedFromRear - w.Imposed
	w.Payload = w.Imposed + in.Bogie - (in.TarePin + in.TareBogie)
	if !(w.Payload > 0) {
		return w, &unit.NoAnswerError{Formula: name, Why: "the ticket shows no payload, so it has no centre"}
	}
	w.PayloadAt = unit.Length((in.Bogie-in.TareBogie)/w.Payload) * in.PinToBogie
	return w, nil
}
