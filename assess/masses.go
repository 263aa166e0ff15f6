package assess

import (
	"fmt"
	"math"
	"slices"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

const (
	statutory = "statutory plate of the vehicle"
	mechanics = "mechanics: two bodies cannot be in one place"
)

// masses adds the findings on loads: plates, law, shares, runs of axles.
func (b *builder) masses() {
	p, st := b.p, b.st
	t, s := p.Tractor, p.Trailer
	for c := range p.Cases {
		l := &st.loads[c]
		miss := b.loadMissing(c)
		plate := func(id, title string, v loadLine, limit *unit.Mass, who interface{ Called() string }, field string, i info) {
			i.id, i.title, i.cases, i.unit = "plate."+id, title, c, inKG
			if i.source == "" {
				i.source = statutory
			}
			i.evidence, i.binding, i.calc = rule.Read, true, "axle-loads"
			i.missing = append(i.missing, miss...)
			if limit == nil {
				i.missing = append(i.missing, missing(who, field))
			}
			b.add(line{sense: +1, a: v.a, b: v.b, limit: value(limit)}, i)
		}
		law := func(quantity, subject, id string, v loadLine, more rule.Facts, i info) {
			i.title, i.id, i.cases, i.calc, i.missing = subject, id, c, "axle-loads", miss
			b.law(quantity, line{a: v.a, b: v.b}, b.facts(c, more), i)
		}
		level := func(x float64) loadLine { return loadLine{x, 0} }

		plate("kingpin", "Load on the kingpin", level(l.imposed), s.PinPlate, s, "kingpin-plate", info{working: b.workImposed(c)})
		plate("tractor-gross", "Tractor gross", level(l.tractor), t.GrossPlate, t, "gross-plate", info{working: b.workTractor(c)})
		law("mass-gross-tractor", "Tractor", "", level(l.tractor), nil, info{working: b.workTractor(c)})
		plate("trailer-gross", "Semi-trailer gross", level(l.trailer), s.GrossPlate, s, "gross-plate", info{working: b.workTrailer(c)})
		law("mass-gross-trailer", "Semi-trailer", "", level(l.trailer), nil, info{working: b.workTrailer(c)})
		plate("train", "Combination gross", level(l.gross), t.TrainPlate, t, "train-plate", info{working: b.workGross(c)})
		b.grossLaw(c, miss)

		n := 0
		for _, g := range []struct {
			name, law string
			state     *groupState
			axles     []vehicle.Axle
			who       interface{ Called() string }
		}{
			{"front", "steer", &st.tractor.front, t.Axles, t},
			{"rear", "drive", &st.tractor.rear, t.Axles, t},
			{"bogie", "trailer", &st.trailer.bogie, s.Axles, s},
		} {
			total := loadLine{}
			for k, i := range g.state.axles {
				v := l.axle[n]
				title := axleTitle(g.name, g.axles, g.state, k)
				work := b.workAxle(c, n)
				if g.axles[i].Plate != nil || g.name != "bogie" || s.BogiePlate == nil {
					plate(fmt.Sprintf("%s-axle-%d", g.name, i+1), title, v, g.axles[i].Plate, g.who, fmt.Sprintf("axle %d plate", i+1),
						info{working: work, axle: n + 1, group: g.name})
				}
				law("mass-axle", title, fmt.Sprintf(".axle-%d", n+1), v, axleFacts(g.axles, g.state, k, g.law), info{working: work, axle: n + 1, group: g.name})
				total = total.plus(v)
				n++
			}
			work := b.workGroup(c, g.name)
			if g.name == "bogie" && s.BogiePlate != nil {
				plate("bogie", "Semi-trailer axle group", total, s.BogiePlate, s, "bogie-plate", info{working: work, group: "bogie"})
			}
			if len(g.state.axles) > 1 {
				law("mass-group", groupTitle(g.name), "."+g.name, total, groupFacts(g.axles, g.state, g.law), info{working: work, group: g.name})
			}
		}

		b.shares(c, miss)
		b.runs(c, miss)
		b.standing(c, miss)

		// The body must hold the load, or its centre means nothing.
		if cc := &p.Cases[c]; cc.Payload > 0 && !math.IsNaN(float64(cc.Hindmost)) {
			b.add(line{sense: +1, a: float64(cc.Hindmost), limit: value(s.LoadLength)}, info{
				id: "load.inside", title: "Load inside the body", cases: c, unit: inMM, evidence: rule.Derived, binding: true, calc: "load-centre",
				source: "the load floor ends there", missing: unknown(s, "load-length", s.LoadLength), advisory: true,
				working: func(float64) string {
					return fmt.Sprintf("the rearmost item's centre stands %s behind the headboard, the load space is %s long", fmtMM(float64(cc.Hindmost)), fmtMM(value(s.LoadLength)))
				}})
		}
		b.lightPin(c, miss)
	}
}

// standing adds that every support carries: one that would have to pull down
// means a combination that tips.
func (b *builder) standing(c int, miss []string) {
	l := &b.st.loads[c]
	for _, support := range []struct {
		id, title, failed string
		v                 loadLine
		work              func(float64) string
		miss              []string
	}{
		{"kingpin", "Kingpin bears down on the fifth wheel", "The semi-trailer would tip backwards and lift the tractor's rear.", loadLine{l.imposed, 0}, b.workImposed(c), miss},
		{"front", "Front axle bears on the road", "The tractor would lift its front axle: it could not be steered.", l.front, b.workGroup(c, "front"), miss},
		{"rear", "Rear axles bear on the road", "The tractor would lift its rear axles.", l.rear, b.workGroup(c, "rear"), miss},
	} {
		b.add(line{sense: -1, a: support.v.a, b: support.v.b, limit: 0}, info{
			id: "stand." + support.id, title: support.title, cases: c, unit: inKG, evidence: rule.Derived, binding: true, calc: "axle-loads",
			source: "statics: a support cannot pull", missing: support.miss, scale: 1e4, advisory: true, failed: support.failed, working: support.work})
	}
}

// lightPin warns of a kingpin load near zero.
func (b *builder) lightPin(c int, miss []string) {
	l := &b.st.loads[c]
	limit := math.Max(500, 0.05*l.trailer)
	b.add(line{sense: -1, a: l.imposed, limit: limit}, info{
		id: "caution.light-kingpin", title: "Least load on the kingpin", cases: c, unit: inKG, evidence: rule.Practice, calc: "axle-loads",
		source: "common practice, no source: at least 500 kg and 5 % of the semi-trailer's mass", missing: miss, advisory: true,
		failed:  "With so little on the kingpin the tractor loses traction, braking and steering. Treat it as a stop: move the load forward.",
		working: b.workImposed(c)})
}

// loadMissing lists what the loads of a case want.
func (b *builder) loadMissing(c int) []string {
	var m missings
	m.add(b.st.tractor.missing...)
	m.add(b.st.trailer.missing...)
	m.add(b.p.Cases[c].Missing...)
	if !b.p.refOK && !slices.ContainsFunc(b.p.Tractor.Axles, func(a vehicle.Axle) bool { return a.Kind == "drive" }) {
		m.add(missing(b.p.Tractor, "a drive axle"))
	}
	if math.IsNaN(b.st.loads[c].imposed) && len(m.list) == 0 {
		m.add("a load that can stand: a support would have to pull down")
	}
	return m.list
}

// positionMissing names the coupling's position where a finding moves with it.
func (b *builder) positionMissing() []string {
	if w := &b.p.Tractor.FifthWheel; w.At == nil && w.Slider == nil {
		return []string{missing(b.p.Tractor, "fifth-wheel at")}
	}
	return nil
}

func axleTitle(group string, axles []vehicle.Axle, g *groupState, k int) string {
	a := &axles[g.axles[k]]
	switch {
	case group == "front" && len(g.axles) == 1:
		return "Front axle"
	case group == "front":
		return fmt.Sprintf("Front axle %d", k+1)
	case group == "bogie":
		if len(axles) == 1 {
			return "Semi-trailer axle"
		}
		return fmt.Sprintf("Semi-trailer axle %d", g.axles[k]+1)
	case a.Kind == "drive":
		n, which := 0, 0
		for j, i := range g.axles {
			if axles[i].Kind == "drive" {
				n++
				if j <= k {
					which++
				}
			}
		}
		if n > 1 {
			return fmt.Sprintf("Drive axle %d", which)
		}
		return "Drive axle"
	case a.Kind == "steer":
		return "Rear steered axle"
	}
	for _, i := range g.axles[:k] {
		if axles[i].Kind == "drive" {
			return "Tag axle"
		}
	}
	for i := range axles[:g.axles[k]] {
		if axles[i].Kind == "drive" {
			return "Tag axle"
		}
	}
	return "Pusher axle"
}

func groupTitle(group string) string {
	switch group {
	case "front":
		return "Front axles"
	case "rear":
		return "Tractor rear axles"
	}
	return "Semi-trailer axles"
}

// grossLaw adds the law's limits on the combination's mass. In some laws they
// step with the spacing of axles, which moves with the coupling.
func (b *builder) grossLaw(c int, miss []string) {
	l := &b.st.loads[c]
	i := info{title: "Combination", cases: c, calc: "axle-loads", missing: miss, working: b.workGross(c)}
	rearmost := b.st.tractor.rear.at[len(b.st.tractor.rear.at)-1]
	last := b.st.trailer.bogie.at[len(b.st.trailer.bogie.at)-1]
	// Spacing of the two rearmost axles: last + (ref − lead) − rearmost.
	b.stepped("mass-gross-combination", loadLine{l.gross, 0}, c, nil, "relevant-axle-spacing", last+b.p.ref-rearmost, i)
}

// shares adds the law's shares on driving and steered axles. With the total not
// depending on the lead, they are straight lines too.
func (b *builder) shares(c int, miss []string) {
	l := &b.st.loads[c]
	share := func(quantity, title string, part loadLine, whole float64, more rule.Facts, work func(float64) string) {
		b.law(quantity, line{a: part.a / whole, b: part.b / whole}, b.facts(c, more),
			info{title: title, cases: c, calc: "axle-loads", missing: miss, working: work})
	}
	driven := loadLine{}
	for n := range l.at {
		if !l.at[n].trailer && b.p.Tractor.Axles[l.at[n].index].Kind == "drive" {
			driven = driven.plus(l.axle[n])
		}
	}
	share("share-drive", "", driven, l.gross, nil, func(lead float64) string {
		return fmt.Sprintf("driving axles %s / combination %s = %.4f", fmtKG(driven.at(lead)), fmtKG(l.gross), driven.at(lead)/l.gross)
	})
	share("share-steer", "", l.front, l.tractor, rule.Facts{"load-case": "as-loaded"}, func(lead float64) string {
		return fmt.Sprintf("front %s / tractor %s = %.4f", fmtKG(l.front.at(lead)), fmtKG(l.tractor), l.front.at(lead)/l.tractor)
	})
	bogie := loadLine{l.bogie, 0}
	share("share-trailer-axles", "", bogie, l.gross, nil, func(float64) string {
		return fmt.Sprintf("semi-trailer axles %s / combination %s = %.4f", fmtKG(l.bogie), fmtKG(l.gross), l.bogie/l.gross)
	})
}

// runs adds the findings on every run of two or more consecutive axles.
func (b *builder) runs(c int, miss []string) {
	l := &b.st.loads[c]
	if len(b.p.Law.Limits("mass-axle-range", rule.Facts{"axles": 5.0, "spread": 10.0})) == 0 {
		return // this law knows no such limit
	}
	for i := range l.at {
		sum := l.axle[i]
		for j := i + 1; j < len(l.at); j++ {
			sum = sum.plus(l.axle[j])
			total, first, last := sum, i, j
			// Distance of the extremes: fixed within one vehicle, else
			// x_j + (ref − lead) − x_i.
			s0, moves := l.at[j].x-l.at[i].x, l.at[j].trailer && !l.at[i].trailer
			if moves {
				s0 += b.p.ref
			}
			more := rule.Facts{"axles": float64(j - i + 1), "two-tandems": b.twoTandems(l, i, j), "drive": false}
			in := info{title: fmt.Sprintf("Axles %d to %d", i+1, j+1), id: fmt.Sprintf(".axles-%d-%d", i+1, j+1), cases: c, calc: "bridge-formula", missing: miss,
				working: func(lead float64) string {
					spread := s0
					if moves {
						spread -= lead
					}
					return fmt.Sprintf("axles %d to %d carry %s over %s", first+1, last+1, unit.Format(total.at(lead), unit.Lb, 0), unit.Format(spread, unit.Ft, 2))
				}}
			if b.wholeGroup(l, i, j) {
				in.group = l.at[i].group
			}
			if moves {
				b.stepped("mass-axle-range", total, c, more, "spread", s0, in)
			} else {
				more["spread"] = s0
				b.law("mass-axle-range", line{a: total.a, b: total.b}, b.facts(c, more), in)
			}
		}
	}
}

// wholeGroup tells whether axles i to j are one suspension group, all of it.
func (b *builder) wholeGroup(l *loads, i, j int) bool {
	g := l.at[i].group
	return l.at[j].group == g && (i == 0 || l.at[i-1].group != g) && (j+1 == len(l.at) || l.at[j+1].group != g)
}

// twoTandems tells whether axles i to j are two consecutive tandems: two pairs,
// each spaced more than 40 in and at most 96 in (23 CFR 658.17).
func (b *builder) twoTandems(l *loads, i, j int) bool {
	if j-i != 3 || l.at[i].group == "front" || l.at[i+1].trailer != l.at[i].trailer || l.at[i+3].trailer != l.at[i+2].trailer || l.at[i+2].group == l.at[i+1].group {
		return false
	}
	tandem := func(d float64) bool { return d > float64(40*unit.Inch) && d <= float64(96*unit.Inch)+dust }
	return tandem(l.at[i+1].x-l.at[i].x) && tandem(l.at[i+3].x-l.at[i+2].x)
}

// stepped adds a finding whose limit steps with a distance s = s0 − lead.
// Between two breaks of the law the limit is one number.
func (b *builder) stepped(quantity string, v loadLine, c int, more rule.Facts, fact string, s0 float64, i info) {
	if more == nil {
		more = rule.Facts{}
	}
	facts := b.facts(c, more)
	if math.IsNaN(s0) {
		b.law(quantity, line{a: v.a, b: v.b}, facts, i)
		return
	}
	if b.p.travel.empty() || b.p.fixed || b.p.travel.lo == b.p.travel.hi {
		lead := b.p.travel.lo
		if !math.IsNaN(lead) {
			facts[fact] = s0 - lead
		}
		b.law(quantity, line{a: v.a, b: v.b}, facts, i)
		return
	}
	// Leads at which the distance crosses a break, in rising order.
	var cuts []float64
	breaks := b.p.Law.Breaks(quantity, fact)
	for k := len(breaks) - 1; k >= 0; k-- {
		if lead := s0 - breaks[k]; lead > b.p.travel.lo+dust && lead < b.p.travel.hi-dust {
			cuts = append(cuts, lead)
		}
	}
	cuts = append(cuts, b.p.travel.hi)
	type built struct {
		first *rule.Limit
		steps []step
	}
	var order []*rule.Rule
	byRule := map[*rule.Rule]*built{}
	lo := b.p.travel.lo
	for k, hi := range cuts {
		facts[fact] = s0 - (lo+hi)/2
		for _, lim := range b.p.Law.Limits(quantity, facts) {
			e := byRule[lim.Rule]
			if e == nil {
				e = &built{first: &lim}
				// No limit of this rule in the steps before.
				for _, before := range cuts[:k] {
					e.steps = append(e.steps, step{before, math.Inf(1), math.Inf(1)})
				}
				byRule[lim.Rule] = e
				order = append(order, lim.Rule)
			}
			e.steps = append(e.steps, step{hi, lim.SI, lim.Rule.Unit.ToSI(lim.Sure)})
		}
		for _, e := range byRule {
			if len(e.steps) == k {
				e.steps = append(e.steps, step{hi, math.Inf(1), math.Inf(1)})
			}
		}
		lo = hi
	}
	for _, r := range order {
		e := byRule[r]
		n := i
		l := line{a: v.a, b: v.b}
		if flat(e.steps) {
			b.lawful(e.first, l, n)
			continue
		}
		l.steps = e.steps
		n.scale = math.Abs(e.first.SI)
		b.lawful(e.first, l, n)
	}
}

func flat(steps []step) bool {
	for _, s := range steps[1:] {
		if s.limit != steps[0].limit || s.sure != steps[0].sure {
			return false
		}
	}
	return true
}
