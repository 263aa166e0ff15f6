package assess

import (
	"maps"
	"math"

	"underpin/rule"
	"underpin/vehicle"
)

// facts returns what is declared about one load case: what the file says of
// the journey, and what the vehicles' data say. What is not known stays out, and
// the rulebook then names it.
// The map is shared: whoever changes it passes more, which makes a copy.
func (b *builder) facts(c int, more rule.Facts) rule.Facts {
	for len(b.of) < len(b.p.Cases) {
		b.of = append(b.of, b.caseFacts(len(b.of)))
	}
	if more == nil {
		return b.of[c]
	}
	f := maps.Clone(b.of[c])
	maps.Copy(f, known(more))
	return f
}

func (b *builder) caseFacts(c int) rule.Facts {
	f := rule.Facts{}
	maps.Copy(f, b.p.Cases[c].Facts)
	maps.Copy(f, known(b.vehicleFacts())) // what the tape told stands
	if _, told := f["date"]; !told && b.p.Day != "" {
		f["date"] = b.p.Day
	}
	if g := b.st.loads[c].gross; !math.IsNaN(g) {
		f["combination-mass"] = g
	}
	return f
}

// known takes the facts out that are NaN: what is not known is not declared.
func known(f rule.Facts) rule.Facts {
	for k, v := range f {
		if x, ok := v.(float64); ok && math.IsNaN(x) {
			delete(f, k)
		}
	}
	return f
}

func (b *builder) vehicleFacts() rule.Facts {
	t, s := b.p.Tractor, b.p.Trailer
	ts, ss := b.st.tractor, b.st.trailer
	f := rule.Facts{
		"axles-tractor":         float64(len(ts.front.axles) + len(ts.rear.axles)),
		"axles-trailer":         float64(len(ss.bogie.axles)),
		"axles-rear":            float64(len(ts.rear.axles)),
		"trailer-kind":          "semi-trailer",
		"tractor-gross-plate":   value(t.GrossPlate),
		"tractor-imposed-plate": value(t.FifthWheelPlate),
		"trailer-gross-plate":   value(s.GrossPlate),
		"trailer-imposed-plate": value(s.PinPlate),
		"trailer-group-plate":   value(s.BogiePlate),
		"trailer-width":         value(s.Width),
		"extra-technology-mass": value(t.TechnologyMass),
	}
	switch t.Fuel {
	case "":
	case "hydrogen":
		f["fuel"] = "zero-emission"
	default:
		f["fuel"] = t.Fuel
	}
	if t.Fuel == "diesel" || t.Fuel == "gas" { // they add no such mass unless the papers say so
		if t.TechnologyMass == nil {
			f["extra-technology-mass"] = 0.0
		}
	}
	if s.ConditionedBody != nil {
		f["conditioned-body"] = *s.ConditionedBody
	}
	switch s.Kind {
	case "":
	case "reefer":
		f["trailer-body"] = "refrigerated"
	case "low-loader", "car-transporter", "livestock":
		f["trailer-body"] = s.Kind
	default:
		f["trailer-body"] = "standard"
	}
	if s.Kind != "" && s.Kind != "tank" {
		f["adr-tank"] = false
	}
	steered := false
	for i := range s.Axles {
		steered = steered || s.Axles[i].Steering != ""
	}
	f["steerable-trailer-axle"] = steered
	if n := len(ss.bogie.at); n > 0 {
		f["kingpin-to-last-axle"] = ss.bogie.at[n-1]
		if n > 1 {
			f["trailer-spacing"] = leastGap(ss.bogie.at)
		}
	}
	if n := len(ts.rear.at); n > 0 && len(ts.front.at) > 0 {
		f["tractor-axle-spread"] = ts.rear.at[n-1] - ts.front.at[0]
	}
	twin, air, plate := driveFacts(t, ts)
	setTruth(f, "drive-twin-tyres", twin)
	setWord(f, "drive-suspension", air)
	f["max-drive-axle-plate"] = plate
	all := make([]int, 0, len(ss.bogie.axles))
	all = append(all, ss.bogie.axles...)
	setWord(f, "trailer-suspension", weakestSuspension(s.Axles, all))
	if r, ok := b.frontRadius(); ok && s.RearEnd != nil {
		// 96/53/EC Annex I 1.6 and 4.4, as point 1.1 of national laws refers to both.
		f["trailer-meets-kingpin-dimensions"] = r <= 2.04+dust && float64(*s.RearEnd) <= 12.00+dust
	}
	return f
}

func leastGap(at []float64) float64 {
	least := math.Inf(1)
	for k := 1; k < len(at); k++ {
		least = math.Min(least, at[k]-at[k-1])
	}
	return least
}

// driveFacts looks at the driven axles: twin tyres on all, the least of their
// suspensions, the largest plate.
func driveFacts(t *vehicle.Tractor, ts *tractorState) (twin *bool, suspension string, plate float64) {
	var driven []int
	for _, i := range ts.rear.axles {
		if t.Axles[i].Kind == "drive" {
			driven = append(driven, i)
		}
	}
	return allTwin(t.Axles, driven), weakestSuspension(t.Axles, driven), largestPlate(t.Axles, driven)
}

func allTwin(axles []vehicle.Axle, of []int) *bool {
	all := true
	for _, i := range of {
		if axles[i].TwinTyres == nil {
			return nil
		}
		all = all && *axles[i].TwinTyres
	}
	return &all
}

// weakestSuspension returns the kind that all of the axles have or better;
// empty while one is unknown.
func weakestSuspension(axles []vehicle.Axle, of []int) string {
	best := "air"
	for _, i := range of {
		switch axles[i].Suspension {
		case "":
			return ""
		case "other":
			best = "other"
		case "equivalent":
			if best == "air" {
				best = "equivalent"
			}
		}
	}
	return best
}

func largestPlate(axles []vehicle.Axle, of []int) float64 {
	most := math.Inf(-1)
	for _, i := range of {
		p := value(axles[i].Plate)
		if math.IsNaN(p) {
			return nan
		}
		most = math.Max(most, p)
	}
	return most
}

func setTruth(f rule.Facts, name string, v *bool) {
	if v != nil {
		f[name] = *v
	}
}

func setWord(f rule.Facts, name, v string) {
	if v != "" {
		f[name] = v
	}
}

// groupFacts are what the law asks of one group of axles on the ground.
func groupFacts(axles []vehicle.Axle, g *groupState, group string) rule.Facts {
	f := rule.Facts{"group": group, "axles": float64(len(g.axles)), "drive": false}
	var driven []int
	for _, i := range g.axles {
		if axles[i].Kind == "drive" {
			driven = append(driven, i)
		}
	}
	tyres := g.axles
	if len(driven) > 0 {
		f["drive"] = true
		tyres = driven
	}
	setTruth(f, "twin-tyres", allTwin(axles, tyres))
	setWord(f, "suspension", weakestSuspension(axles, tyres))
	f["max-axle-plate"] = largestPlate(axles, g.axles)
	if n := len(g.at); n > 1 {
		f["spacing"], f["spread"] = leastGap(g.at), g.at[n-1]-g.at[0]
	} else {
		f["spread"] = 0.0
	}
	return f
}

// axleFacts are what the law asks of one axle of a group.
func axleFacts(axles []vehicle.Axle, g *groupState, k int, group string) rule.Facts {
	a := &axles[g.axles[k]]
	f := rule.Facts{"group": group, "axles": float64(len(g.axles)), "drive": a.Kind == "drive"}
	setTruth(f, "twin-tyres", a.TwinTyres)
	setWord(f, "suspension", a.Suspension)
	f["max-axle-plate"] = value(a.Plate)
	near := math.Inf(1)
	if k > 0 {
		near = math.Min(near, g.at[k]-g.at[k-1])
	}
	if k+1 < len(g.at) {
		near = math.Min(near, g.at[k+1]-g.at[k])
	}
	if !math.IsInf(near, 1) {
		f["spacing"] = near
	}
	return f
}
