package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/bolting"
	"underpin/rule"
	"underpin/unit"
)

// web checks a joint on the frame's webs: brackets or attachment angles. Each
// side takes half of the load, and the bolts take it in their own plane.
//
//	Q_x = ±H/2,  Q_y = −V/2,  M_z = −(±H/2)·h − (V/2)·e
//
//	h  line of pull above the middle of the bolts      m
//	e  coupling behind the middle of the bolts         m
//
// What tilts the angle outwards is not computed: the flange and the other side
// hold it.
func (m *mounted) web(r *JointResult, upper *Part) {
	μ, ok := r.friction()
	if len(r.Places) == 0 || !m.rated {
		m.untold(r)
		return
	}
	cases, err := bolting.LoadCases(m.rating)
	if err != nil {
		r.lack(false, err.Error())
		m.untold(r)
		return
	}
	places := r.Places
	if upper != nil { // its holes are counted from its own middle
		places = slices.Clone(places)
		for i := range places {
			places[i].X += m.middles[0]
		}
	}
	at := points(places)
	g, err := bolting.GroupOf(at)
	if err != nil {
		m.untold(r)
		return
	}
	h := float64(m.pullOverFrame() - g.Centroid.Y)
	for i := range cases {
		c := &cases[i]
		w := WebForce{Case: *c}
		for _, way := range []float64{1, -1} {
			for _, by := range []unit.Length{0, m.travel} {
				e := float64(m.middles[len(m.middles)-1] + by - g.Centroid.X)
				H, V := way*float64(c.Longitudinal)/2, float64(c.Down)/2
				f, err := bolting.ForcesOnBolts(nil, at, bolting.GroupLoad{
					ShearX: unit.Force(H), ShearY: unit.Force(-V), Twist: unit.Torque(-H*h - V*e),
				})
				if err != nil {
					r.lack(false, err.Error())
					m.untold(r)
					return
				}
				if s := f.Bolts[f.MostShear].Shear; s > w.Shear {
					w.Shear, w.Bolt = s, places[f.MostShear].Number
				}
			}
		}
		r.Web = append(r.Web, w)
	}
	if ok && !math.IsNaN(float64(r.Counted)) {
		m.webSlip(r, μ, len(at), h)
	} else {
		m.untold(r)
	}
	m.webBearing(r, h)
}

// pullOverFrame is the line of pull above the frame's top.
func (m *mounted) pullOverFrame() unit.Length {
	base, _ := m.chassis.baseHeight(m.stack.Base)
	return base + m.lever(m.stack.Parts[0])
}

// webSlip holds the worst bolt against what its preload holds by friction.
func (m *mounted) webSlip(r *JointResult, μ float64, n int, h float64) {
	for i := range r.Web {
		w := &r.Web[i]
		if !w.Case.Swings {
			continue
		}
		s, err := bolting.SlipResistance(bolting.SlipInput{Bolts: 1, Preload: r.Counted, Friction: μ, Surfaces: 1, Force: w.Shear, Factor: 1})
		if err != nil {
			continue
		}
		r.add(hold(rule.Finding{ID: r.id(fmt.Sprintf("web-slip-%d", i+1)), Case: w.Case.Name, Title: r.Title + ": shear of the worst bolt against slip", Sense: rule.AtMost, Unit: unit.KN,
			Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + "; loads " + w.Case.Source + "; friction of the faces common practice, no source",
			Working: fmt.Sprintf("half of H and V on %d bolts, pull %s above their middle: worst bolt %d with %s; one bolt holds μ·F_V = %.3g·%s = %s", n, showMM(unit.Length(h)), w.Bolt, kn(w.Shear), μ, kn(r.Counted), kn(s.PerBolt)),
			Note:    "It slips into bearing under this load: tight holes, hardened washers, many bolts and regular checking matter more than the torque."},
			float64(w.Shear), float64(s.PerBolt)))
	}
}

// webBearing holds the worst bolt against shear and bearing, for when the joint
// has slipped.
func (m *mounted) webBearing(r *JointResult, h float64) {
	j := r.Joint
	fields := []struct {
		known bool
		name  string
	}{
		{r.Thread.Diameter > 0, "thread and grade"},
		{j.Thickness != nil, "thickness of the thinner steel"},
		{j.Tensile != nil, "tensile strength of that steel"},
		{j.End != nil && j.Edge != nil, "end-distance and edge-distance"},
	}
	var missing []string
	for _, f := range fields {
		if !f.known {
			missing = append(missing, r.Title+": "+f.name)
		}
	}
	shear := rule.Finding{ID: r.id("web-shear"), Title: r.Title + ": shear of the worst bolt", Sense: rule.AtMost, Unit: unit.KN,
		Evidence: rule.Memory, Calc: "bolt", Source: "EN 1993-1-8, table 3.4 (memory)", Note: "The bolts shear off under the load: more bolts, larger ones, or the holes nearer to the line of pull."}
	bearing := shear
	bearing.ID, bearing.Title, bearing.Note = r.id("web-bearing"), r.Title+": worst bolt bearing on the hole", "The steel gives way beside the holes: more bolts or thicker steel; follow the guide before the web is touched."
	refuse := func(missing []string) {
		f := hold(shear, math.NaN(), math.NaN(), missing...)
		f.Binding = true
		r.add(f)
		r.Missing = append(r.Missing, missing...)
	}
	if len(missing) > 0 {
		refuse(missing)
		return
	}
	b, err := bolting.CodeBearing(bolting.PlateInput{Thread: r.Thread, Class: r.Class, Hole: r.Places[0].D, EndAlong: *j.End, EdgeAside: *j.Edge,
		Pitch: leastPitch(r.Places), Thickness: *j.Thickness, Tensile: unit.Pressure(*j.Tensile), Planes: 1, Shank: j.Plain != nil && *j.Plain})
	if err != nil {
		refuse([]string{r.Title + ": " + err.Error()})
		return
	}
	worst := WebForce{}
	for _, w := range r.Web {
		if w.Shear > worst.Shear {
			worst = w
		}
	}
	shear.Case, bearing.Case = worst.Case.Name, worst.Case.Name
	work := fmt.Sprintf("worst bolt %d of one side with %s, pull %s above the middle of the bolts", worst.Bolt, kn(worst.Shear), showMM(unit.Length(h)))
	shear.Working = work + fmt.Sprintf("; F_v,Rd = %s", kn(b.Shear))
	bearing.Working = work + fmt.Sprintf("; F_b,Rd = k1·α_b·f_u·d·t/γ_M2 = %.3g·%.3g·%s·%s·%s/1.25 = %s", b.K1, b.AlphaB, unit.Format(float64(*j.Tensile), unit.MPa, 0), mm(r.Thread.Diameter), mm(*j.Thickness), kn(b.Bearing))
	r.add(hold(shear, float64(worst.Shear), float64(b.Shear)))
	r.add(hold(bearing, float64(worst.Shear), float64(b.Bearing)))
}

// leastPitch is the least distance between two holes.
func leastPitch(places []Place) unit.Length {
	least := math.Inf(1)
	for i := range places {
		for k := range i {
			least = math.Min(least, math.Hypot(float64(places[i].X-places[k].X), float64(places[i].Y-places[k].Y)))
		}
	}
	return unit.Length(least)
}
