package mounting

import (
	"math"

	"underpin/clearance"
	"underpin/unit"
	"underpin/vehicle"
)

// headroom is what is left between the highest point of the semi-trailers that
// must work and the lowest bridge, or the law's height.
func (t *Task) headroom(p *Positions, st Stack, x unit.Length) unit.Length {
	g := groundOf(t.Chassis, p.Datum)
	windows := windowsOf(t.Brief.Heights)
	h, missing := st.height(t.Chassis)
	if len(missing) > 0 || len(g.missing) > 0 {
		return unit.Length(math.NaN())
	}
	least := unit.Length(math.Inf(1))
	for i := range p.Trailers {
		o := &p.Trailers[i]
		if o.Wished {
			continue
		}
		limit := o.heightLimit()
		if t.Brief.Bridge != nil {
			limit = *t.Brief.Bridge
		}
		raises, _ := st.raises()
		r := raises[0]
		if len(windows) > 0 { // the level that this semi-trailer is served at
			s := &search{chassis: t.Chassis, ground: g, windows: windows, imposed: o.Imposed}
			q := Proposal{Stack: st, At: x}
			for k := range o.levels {
				if o.levels[k].spans.Contains(x) && k < len(windows) {
					r = s.raiseFor(&q, &windows[k])
					break
				}
			}
		}
		v := o.Trailer
		line, ok := bogieLine(v)
		if !ok || v.PlateHeight == nil || v.BodyHeight == nil || v.FrontOverhang == nil || v.RearEnd == nil {
			return unit.Length(math.NaN())
		}
		tilt, err := clearance.TrailerTilt(clearance.CoupledTrailer{
			CouplingHeight: g.frame(x) + h + r, TrailerHeight: *v.PlateHeight, PinToBogie: line, BodyHeight: *v.BodyHeight, Front: *v.FrontOverhang, Rear: *v.RearEnd,
		})
		if err != nil {
			return unit.Length(math.NaN())
		}
		least = min(least, limit-tilt.Top())
	}
	if math.IsInf(float64(least), 0) {
		return unit.Length(math.NaN())
	}
	return least
}

// bogieLine is where the semi-trailer's axles carry together.
func bogieLine(s *vehicle.SemiTrailer) (unit.Length, bool) {
	var sum, shares float64
	for i := range s.Axles {
		x, ok := s.AxleAt(i)
		if !ok {
			return 0, false
		}
		sum += float64(x) * s.Share(i)
		shares += s.Share(i)
	}
	return unit.Length(sum / shares), shares > 0
}

// heightLimit is the law's limit on the semi-trailer's height; NaN where there
// is none.
func (o *TrailerPlaces) heightLimit() unit.Length {
	if o.limit == nil {
		o.limit = new(math.NaN())
		cs := &o.levels[0].ends[0][0]
		for _, f := range cs.pairing.At(cs.states[0].setting).Findings {
			if f.Quantity == "height" && f.Binding && !math.IsNaN(f.Limit) {
				if v := f.Unit.ToSI(f.Limit); !(v >= *o.limit) {
					*o.limit = v
				}
			}
		}
	}
	return unit.Length(*o.limit)
}
