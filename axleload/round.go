package axleload

import "underpin/unit"

// Extremes are what any order of unloading can bring about.
type Extremes struct {
	ImposedMost, ImposedLeast unit.Mass
	BogieMost, BogieLeast     unit.Mass
	FrontMost, RearMost       unit.Mass // over all orders
	TractorMost               unit.Mass // W_T + ImposedMost
}

// RoundExtremes returns the greatest and the least load at the kingpin and on
// the axles that a load can bring about in any order of unloading. Each item
// counts by itself: ahead of the bogie line it adds to the kingpin, behind it
// takes off:
//
//	K_most  = K_e + Σ_{x_i < L} m_i (1 − x_i/L)
//	K_least = K_e + Σ_{x_i > L} m_i (1 − x_i/L)
//	B_most  = B_e + Σ_{x_i > 0} m_i x_i/L ,   B_least with x_i < 0
//
//	m_i, x_i  items, behind the kingpin   kg, m
//	K, B      result                      kg
//
// If the limits of front, rear, tractor and bogie hold for these, they hold in
// every order. Shares do not: check every stage (see Round). The payload of the
// Pair is not used.
//
// Valid for the ranges of Loads; outside, the error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 5.1.
func RoundExtremes(in Pair, items []Item) (Extremes, error) {
	const name = "round"
	in.Payload, in.PayloadAt = 0, 0
	if err := in.check(name, false); err != nil {
		return Extremes{}, err
	}
	e := Extremes{ImposedMost: in.TarePin, ImposedLeast: in.TarePin, BogieMost: in.TareBogie, BogieLeast: in.TareBogie}
	for i := range items {
		if err := first(wantNotNegative(name, "m", items[i].Mass), wantFinite(name, "s", items[i].At)); err != nil {
			return Extremes{}, err
		}
		m, b := items[i].Mass, unit.Mass(items[i].At/in.PinToBogie)
		e.ImposedMost += m * max(1-b, 0)
		e.ImposedLeast += m * min(1-b, 0)
		e.BogieMost += m * max(b, 0)
		e.BogieLeast += m * min(b, 0)
	}
	front := e.ImposedMost
	if in.Lead < 0 {
		front = e.ImposedLeast
	}
	e.FrontMost = in.TareFront + front*unit.Mass(in.Lead/in.Wheelbase)
	e.RearMost = in.TareRear + e.ImposedMost*unit.Mass(in.toRear())
	e.TractorMost = in.TareFront + in.TareRear + e.ImposedMost
	return e, nil
}

// A Stage is a pair between two drops of its round.
type Stage struct {
	Load   Item // what is left, and its centre behind the kingpin; the zero Item when empty
	Result Result
}

// Round returns the loads at every stage of a delivery round:
//
//	stage k = Loads with the items k, k+1, … still on board
//
//	items  in the order in which they are taken off, behind the kingpin   kg, m
//	stage  result, from fully laden (0) to empty (the last)
//
// The stages go into out, one more than there are items. An item behind the
// bogie line raises the load at the kingpin when it goes, one ahead of it lowers
// it. Items of one drop are neighbours; the caller knows which stages are
// driven. The payload of the Pair is not used.
//
// Valid for the ranges of Loads; outside, the error is a *unit.DomainError.
//
// Source: derived; handbook chapter 03, 5.
func Round(in Pair, items []Item, out []Stage) error {
	const name = "round"
	in.Payload, in.PayloadAt = 0, 0
	if err := in.check(name, false); err != nil {
		return err
	}
	if len(out) < len(items)+1 {
		return &unit.DomainError{Formula: name, Input: "out", Value: float64(len(out)), Want: "one place more than items"}
	}
	// From the empty end, so that the empty stage is exactly the tare.
	moment := 0.0
	for k := len(items); k >= 0; k-- {
		if k < len(items) {
			if err := first(wantNotNegative(name, "m", items[k].Mass), wantFinite(name, "s", items[k].At)); err != nil {
				return err
			}
			in.Payload += items[k].Mass
			moment += float64(items[k].Mass) * float64(items[k].At)
		}
		in.PayloadAt = 0
		if in.Payload > 0 {
			in.PayloadAt = unit.Length(moment / float64(in.Payload))
		}
		r, err := in.loads()
		if err != nil {
			return err
		}
		out[k] = Stage{Load: Item{in.Payload, in.PayloadAt}, Result: r}
	}
	return nil
}
