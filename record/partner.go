package record

import (
	"cmp"
	"slices"
)

// A Partner is a part that another part met: the coupling that a kingpin was
// locked in, or the kingpin that a coupling held.
type Partner struct {
	Part        Asset
	Since       Time // start of the first meeting
	Last        Time // end of the last; 0: they are together now
	Times       int  // coupled periods in which they met
	Vehicle     Asset
	VehicleFrom Time // start of the last meeting, with Vehicle
}

// Partners returns what a part met, by the fittings of the part, the coupled
// periods of the vehicles it sat on, and what sat on the other vehicle of each
// period. Others returns the fittings of that vehicle. Longest known first.
//
// A period without an entered end counts as lasting until one of its vehicles was
// next coupled, or still.
func Partners(fittings []Fitting, periods []Period, others func(vehicle Asset) []Fitting) []Partner {
	met := map[Asset]*Partner{}
	periods, _ = CloseGaps(periods)
	for _, p := range periods {
		for _, f := range fittings {
			other, place := p.By, AtFifthWheel
			switch {
			case f.Vehicle == p.Towed && f.Place == AtKingpin:
			case f.Vehicle == p.By && f.Place == AtFifthWheel:
				other, place = p.Towed, AtKingpin
			default:
				continue
			}
			if !overlap(f.From, f.To, p.From, p.To) {
				continue
			}
			from, to := max(f.From, p.From), earlier(f.To, p.To)
			for _, o := range others(other) {
				if o.Place == place && overlap(o.From, o.To, from, to) {
					meet(met, o.Part, other, max(from, o.From), earlier(to, o.To))
				}
			}
		}
	}
	all := make([]Partner, 0, len(met))
	for _, p := range met {
		all = append(all, *p)
	}
	slices.SortFunc(all, func(a, b Partner) int {
		return cmp.Or(cmp.Compare(a.Since, b.Since), cmp.Compare(a.Part, b.Part))
	})
	return all
}

// earlier is the earlier of two ends, of which 0 is open.
func earlier(a, b Time) Time {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

func meet(met map[Asset]*Partner, part, vehicle Asset, from, to Time) {
	p := met[part]
	if p == nil {
		met[part] = &Partner{Part: part, Since: from, Last: to, Times: 1, Vehicle: vehicle, VehicleFrom: from}
		return
	}
	p.Times++
	p.Since = min(p.Since, from)
	if from >= p.VehicleFrom {
		p.Vehicle, p.VehicleFrom = vehicle, from
	}
	if p.Last != 0 && (to == 0 || to > p.Last) {
		p.Last = to
	}
}

// CloseGaps gives each period that nobody ended the start of the next period of
// either vehicle as its end. It returns the periods in order, and the ids of
// those that it closed: their end is not known, only that it was not later.
func CloseGaps(periods []Period) (closed []Period, guessed map[ID]bool) {
	closed = slices.DeleteFunc(slices.Clone(periods), func(p Period) bool { return p.From == 0 })
	slices.SortStableFunc(closed, func(a, b Period) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.ID, b.ID))
	})
	guessed = map[ID]bool{}
	type role struct {
		vehicle Asset
		tows    bool
	}
	last := map[role]int{}
	for i, p := range closed {
		for _, r := range []role{{p.Towed, false}, {p.By, true}} {
			if before, had := last[r]; had && closed[before].To == 0 {
				closed[before].To = p.From
				guessed[closed[before].ID] = true
			}
			last[r] = i
		}
	}
	return closed, guessed
}
