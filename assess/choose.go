package assess

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"underpin/unit"
)

// Positions lists the leads at which the coupling can be locked, the rearmost
// first. Where any place of the travel can be set they are the ends and whole
// divisions between them of about a millimetre; nil while an end is not known, and
// for a coupling that is fixed.
func (p *Pairing) Positions() []unit.Length {
	lo, hi := p.travel.lo, p.travel.hi
	if p.fixed || !(lo <= hi) || math.IsInf(lo, 0) || math.IsInf(hi, 0) {
		return nil
	}
	var out []unit.Length
	if p.stops != nil {
		for _, lead := range p.stops {
			out = append(out, unit.Length(lead))
		}
		return out
	}
	n := math.Ceil((hi-lo)*1e3 - 1e-6)
	for k := 0.0; k < n; k++ {
		out = append(out, unit.Length(lo+(hi-lo)*k/n))
	}
	return append(out, unit.Length(hi))
}

// Nearest returns the position that comes nearest to a lead; on is whether the
// lead is that position, to the millimetre of a tape. Where any place can be set,
// each lead of the travel is one.
func (p *Pairing) Nearest(lead unit.Length) (stop unit.Length, on bool) {
	if !(p.travel.lo <= p.travel.hi) {
		return lead, true
	}
	x := float64(lead)
	if p.stops == nil {
		x = math.Max(p.travel.lo, math.Min(p.travel.hi, x))
	} else {
		x = slices.MinFunc(p.stops, func(a, b float64) int { return cmp.Compare(math.Abs(a-x), math.Abs(b-x)) })
	}
	return unit.Length(x), math.Abs(x-float64(lead)) <= 1e-3+1e-9
}

// NoPosition says why a lead cannot be set, and which can; empty where it can.
func (p *Pairing) NoPosition(lead unit.Length, system unit.System) string {
	stop, on := p.Nearest(lead)
	if on {
		return ""
	}
	w, asked := words{p, system}, float64(lead)
	whole := func(v float64) string { return w.lead(unit.Length(v), math.Round) }
	switch {
	case p.fixed:
		return fmt.Sprintf("%s is no position: the fifth wheel is fixed %s ahead of the %s.", whole(asked), whole(p.travel.lo), p.LeadDatum())
	case asked > p.travel.hi:
		return fmt.Sprintf("%s is no position: the slider's foremost is %s ahead of the %s.", whole(asked), whole(p.travel.hi), p.LeadDatum())
	case asked < p.travel.lo:
		return fmt.Sprintf("%s is no position: the slider's rearmost is %s ahead of the %s.", whole(asked), whole(p.travel.lo), p.LeadDatum())
	}
	k, _ := slices.BinarySearch(p.stops, float64(stop))
	if p.stops[k] > asked {
		k--
	}
	return fmt.Sprintf("%s is no position: it lies between two notches, at %s and %s.", whole(asked), whole(p.stops[k]), whole(p.stops[k+1]))
}

// changes counts what has to be moved for a state, the coupling's position apart.
func (p *Pairing) changes(st *state) int {
	n := bits.OnesCount32(uint32(st.tractor.up^p.upT)) + bits.OnesCount32(uint32(st.trailer.up^p.upS))
	if st.level != p.level {
		n++
	}
	return n
}

// fewest returns a setting at which everything certainly holds: of those with the
// fewest changes the one that serves the aim best. The present position is kept
// where it holds, for moving the fifth wheel is a change too.
func (p *Pairing) fewest(aim Aim) (*state, float64, bool) {
	states := p.settings()
	slices.SortStableFunc(states, func(a, b *state) int { return p.changes(a) - p.changes(b) })
	most := p.changes(states[len(states)-1]) + 1
	known := !math.IsNaN(p.now)
	for n := 0; n <= most; n++ {
		var best *state
		var at, score float64
		try := func(st *state, lead float64) {
			if s := p.score(st, lead, aim); best == nil || s > score+1e-12 {
				best, at, score = st, lead, s
			}
		}
		for _, st := range states {
			moved := p.changes(st)
			if known {
				if moved == n && p.passes(st, p.now) {
					try(st, p.now)
				}
				moved++ // and the fifth wheel
			}
			if moved == n && !p.fixed || moved == n && !known {
				if lead, ok := p.choose(st, aim); ok {
					try(st, lead)
				}
			}
		}
		if best != nil {
			return best, at, true
		}
	}
	return nil, 0, false
}

// Changes words what has to be set for a result that fits if it is set so: each
// part of the setting that is not as it is now, or of which nobody knows how it is.
func (p *Pairing) Changes(r *Result, system unit.System) []string {
	var out []string
	w := words{p, system}
	if !p.fixed && !(math.Abs(float64(r.Setting.Lead)-p.now) < 1e-6) {
		text := "set the lead to " + w.lead(r.Setting.Lead, math.Round)
		if r.Range != nil {
			text += fmt.Sprintf(" (%s to %s hold)", w.lead(r.Range[0], math.Ceil), w.lead(r.Range[1], math.Floor))
		}
		out = append(out, text)
	}
	if now := p.settingOf(p.base, p.now); r.Setting.Level != now.Level {
		out = append(out, "set the coupling to level “"+r.Setting.Level+"”")
	}
	var lift, lower []string
	for _, v := range []struct {
		name   string
		n      int
		asked  []int
		stated func(i int) (up, known bool)
	}{
		{"tractor", len(p.Tractor.Axles), r.Setting.TractorLifted, func(i int) (bool, bool) {
			a := &p.Tractor.Axles[i]
			return a.Lifted != nil && *a.Lifted, !a.Liftable || a.Lifted != nil
		}},
		{"semi-trailer", len(p.Trailer.Axles), r.Setting.TrailerLifted, func(i int) (bool, bool) {
			a := &p.Trailer.Axles[i]
			return a.Lifted != nil && *a.Lifted, !a.Liftable || a.Lifted != nil
		}},
	} {
		for i := range v.n {
			up, known := v.stated(i)
			name := fmt.Sprintf("axle %d of the %s", i+1, v.name)
			switch want := slices.Contains(v.asked, i+1); {
			case known && up == want:
			case want:
				lift = append(lift, name)
			default:
				lower = append(lower, name)
			}
		}
	}
	if len(lift) > 0 {
		out = append(out, "lift "+strings.Join(lift, " and "))
	}
	if len(lower) > 0 {
		out = append(out, "lower "+strings.Join(lower, " and "))
	}
	return out
}
