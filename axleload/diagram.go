package axleload

import (
	"slices"

	"underpin/unit"
)

// A Corner is a point of the load diagram where one limit takes over from
// another, or where a least payload meets a greatest.
type Corner struct {
	At      unit.Length // behind the kingpin
	Payload unit.Mass
	Ahead   Limit // governs nearer the headboard
	Behind  Limit // governs nearer the rear
	Least   bool  // one of the two is a least payload: the permitted field ends here
}

// DiagramCorners appends to dst the corners of the load distribution diagram
// between two places of the load centre, in order from the front, and returns
// it. Each curve of PayloadLimit is P = n/(d_0 + d_1 x), so 1/P is a straight
// line in x, and two of them cross at
//
//	x = (n_j d_0i − n_i d_0j) / (n_i d_1j − n_j d_1i)
//
//	n, d_0, d_1  room, and demand per payload as a line in x   kg, –, 1/m
//	x            result, behind the kingpin                    m
//
// A crossing is a corner if it keeps every other limit. For kingpin and gross
// it is x = L [1 − (K_max − K_e)/P_max], for gross and bogie
// x = (B_max − B_e) L/P_max.
//
// Valid for the ranges of PayloadLimit and from ≤ to; outside, the error is a
// *unit.DomainError. Limits that change with the suspension state need one
// diagram for each state.
//
// Source: derived; handbook chapter 03, 3.2.
func DiagramCorners(in Pair, lim Limits, from, to unit.Length, dst []Corner) ([]Corner, error) {
	const name = "load diagram"
	if err := first(in.check(name, false), lim.check(name), wantFinite(name, "from", from), wantFinite(name, "to", to)); err != nil {
		return dst, err
	}
	if !(from <= to) {
		return dst, &unit.DomainError{Formula: name, Input: "from", Value: float64(from), Want: "from ≤ to"}
	}
	b, err := newBounds(&in, &lim)
	if err != nil {
		return dst, err
	}
	start := len(dst)
	for i := range b.n {
		for j := range i {
			if c, ok := b.cross(b.list[j], b.list[i]); ok && from <= c.At && c.At <= to {
				dst = append(dst, c)
			}
		}
	}
	found := dst[start:]
	slices.SortFunc(found, func(a, b Corner) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	return dst, nil
}

// cross returns where two curves meet, if that point keeps all bounds.
func (b *bounds) cross(i, j bound) (Corner, bool) {
	if i.room == 0 || j.room == 0 {
		return Corner{}, false // such a curve is the axis P = 0
	}
	det := i.room*j.slope - j.room*i.slope
	if det == 0 {
		return Corner{}, false // the curves never meet, or are one
	}
	x := (j.room*i.flat - i.room*j.flat) / det
	di, dj := i.demand(x), j.demand(x)
	if di == 0 || dj == 0 || !finite(x) {
		return Corner{}, false
	}
	p := i.room / di
	if !(p > 0) {
		return Corner{}, false
	}
	for _, c := range b.list[:b.n] {
		if c.key == i.key || c.key == j.key {
			continue
		}
		if !(c.demand(x)*p <= c.room+1e-9*p) {
			return Corner{}, false
		}
	}
	// 1/P is the greater demand/room; its steeper line governs behind.
	if i.slope/i.room > j.slope/j.room {
		i, j = j, i
	}
	return Corner{unit.Length(x), unit.Mass(p), i.key, j.key, i.room < 0 || j.room < 0}, true
}

// DriveShareLine returns the place of the load centre behind which the least
// drive share bounds the payload; further ahead, payload raises the share:
//
//	x = L (1 − φ_d/κ) ,   κ = λ_d (L_T − e)/L_T
//
//	φ_d  least share of the combination's mass on driven axles   –
//	κ    share of the load at the kingpin that they receive      –
//	L    kingpin to the trailer's reaction line                  m
//	x    result, behind the kingpin                              m
//
// Valid for the ranges of Loads, 0 ≤ φ_d ≤ 1; outside, the error is a
// *unit.DomainError.
//
// Source: derived; handbook chapter 03, 3.2 curve 6.
func DriveShareLine(in Pair, least float64) (unit.Length, error) {
	const name = "load diagram"
	in.Payload, in.PayloadAt = 0, 0
	if err := first(in.check(name, false), wantShare(name, "min-drive-share", least)); err != nil {
		return 0, err
	}
	_, lambda := in.drive()
	return in.PinToBogie * unit.Length(1-least/(lambda*in.toRear())), nil
}
