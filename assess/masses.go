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
	b.steerAtMax()
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
		law := func(quantity, subject, id string, v loadLine, more rule.Facts, i info) int {
			i.title, i.id, i.cases, i.calc, i.missing = subject, id, c, "axle-loads", miss
			limits := p.Law.Limits(quantity, b.facts(c, more))
			b.limits(limits, line{a: v.a, b: v.b}, i)
			return len(limits)
		}
		level := func(x float64) loadLine { return loadLine{x, 0} }

		plate("kingpin", "Load on the kingpin", level(l.imposed), s.PinPlate, s, "kingpin-plate", info{working: b.workImposed(c)})
		if t.FifthWheelPlate != nil { // asked for where a law needs it
			plate("fifth-wheel", "Load on the fifth wheel", level(l.imposed), t.FifthWheelPlate, t, "fifth-wheel-plate",
				info{working: b.workImposed(c), source: "the tractor's papers: permissible load on the fifth wheel"})
		}
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
			total, bare := loadLine{}, []string{}
			// A group of one is its axle: either plate tells its limit.
			alone := g.name == "bogie" && len(g.axles) == 1 && s.BogiePlate != nil
			for k, i := range g.state.axles {
				v := l.axle[n]
				title := axleTitle(g.name, g.axles, g.state, k)
				work := b.workAxle(c, n)
				if g.axles[i].Plate != nil || !alone {
					plate(fmt.Sprintf("%s-axle-%d", g.name, i+1), title, v, g.axles[i].Plate, g.who, fmt.Sprintf("axle %d plate", i+1),
						info{working: work, axle: n + 1, group: g.name})
				}
				if law("mass-axle", title, fmt.Sprintf(".axle-%d", n+1), v, axleFacts(g.axles, g.state, k, g.law), info{working: work, axle: n + 1, group: g.name}) == 0 {
					bare = append(bare, title)
				}
				total = total.plus(v)
				n++
			}
			work := b.workGroup(c, g.name)
			if g.name == "bogie" && (s.BogiePlate != nil || len(g.axles) > 1) {
				plate("bogie", "Semi-trailer axle group", total, s.BogiePlate, s, "bogie-plate", info{working: work, group: "bogie"})
			}
			if len(g.state.axles) > 1 {
				i := info{title: groupTitle(g.name), id: "." + g.name, cases: c, calc: "axle-loads", missing: miss, working: work, group: g.name}
				limits := b.groupLimits(g.axles, g.state, g.law, c)
				b.limits(limits, line{a: total.a, b: total.b}, i)
				b.pairs(g.axles, g.state, g.law, l.axle[n-len(g.state.axles):n], limits, i)
				if len(limits) > 0 {
					bare = nil // the group's limit holds for its axles
				}
			}
			if len(bare) > 0 && !p.Law.Has("mass-axle-range") {
				for _, title := range bare {
					b.silent(title, fmt.Sprintf("mass-axle.%s", Slug(title)), c, "mass-axle", "mass-group")
				}
			}
		}

		b.shares(c, miss)
		b.cautionShares(c, miss)
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
	if w := &b.p.Tractor.FifthWheel; w.At == nil && !slides(w) {
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
	if b.stepped("mass-gross-combination", loadLine{l.gross, 0}, c, nil, "relevant-axle-spacing", last+b.p.ref-rearmost, i) == 0 {
		b.silent("Combination", "mass-gross-combination", c, "mass-gross-combination")
	}
}

// shares adds the law's shares on driving and steered axles. With the total not
// depending on the lead, they are straight lines too.
func (b *builder) shares(c int, miss []string) {
	l := &b.st.loads[c]
	share := func(quantity, title string, part loadLine, whole float64, more rule.Facts, work func(float64) string) {
		b.law(quantity, line{a: part.a / whole, b: part.b / whole}, b.facts(c, more),
			info{title: title, cases: c, calc: "axle-loads", missing: miss, working: work})
	}
	driven := b.driven(l)
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

// driven is the load on the driving axles.
func (b *builder) driven(l *loads) (sum loadLine) {
	for n := range l.at {
		if !l.at[n].trailer && b.p.Tractor.Axles[l.at[n].index].Kind == "drive" {
			sum = sum.plus(l.axle[n])
		}
	}
	return sum
}

// cautionShares warns of a tractor that steers or pulls badly as it is loaded,
// where the law does not ask for as much already.
func (b *builder) cautionShares(c int, miss []string) {
	l := &b.st.loads[c]
	const fifth = 0.20
	for _, share := range []struct {
		quantity, title, failed string
		part                    loadLine
		whole                   float64
		more                    rule.Facts
		work                    string
	}{
		{"share-steer", "Share of the tractor's mass on its steered axles", "With less than a fifth on the steered axles the tractor may not answer the wheel. Move the fifth wheel or the load forward.",
			l.front, l.tractor, rule.Facts{"load-case": "as-loaded"}, "front %s / tractor %s = %.4f"},
		{"share-drive", "Share of the combination's mass on the driving axles", "With less than a fifth on the driving axles the tractor may not pull away on a wet road or a slope.",
			b.driven(l), l.gross, nil, "driving axles %s / combination %s = %.4f"},
	} {
		asked := slices.ContainsFunc(b.p.Law.Limits(share.quantity, b.facts(c, share.more)), func(lim rule.Limit) bool {
			return lim.Rule.Sense == rule.AtLeast && lim.SI >= fifth && len(lim.Missing) == 0
		})
		if asked {
			continue
		}
		b.add(line{sense: -1, a: share.part.a / share.whole, b: share.part.b / share.whole, limit: fifth}, info{
			id: "caution." + share.quantity, title: share.title, cases: c, unit: unit.One, evidence: rule.Practice, calc: "axle-loads", quantity: share.quantity,
			source: "common practice, no source: at least a fifth", missing: miss, advisory: true, failed: share.failed,
			working: func(lead float64) string {
				return fmt.Sprintf(share.work, fmtKG(share.part.at(lead)), fmtKG(share.whole), share.part.at(lead)/share.whole)
			}})
	}
}

// steerAtMax adds the law's limit on the share of the steered axles in the load
// case of type approval: the tractor at its permissible mass M with the rear axle
// at its own, m, or the rear group at its μ. Then M − m stands in front, and
//
//	share = (M − m)/M
//
// whatever the load of the day and wherever the coupling stands. A group is
// permitted at most the sum of its axles, so their sum gives the least share there
// can be; where that is too little the group's own figure decides, and is not
// among the data.
//
// Source: Regulation (EU) No 1230/2012, Annex I Part C, the load case of a tractor
// for semi-trailers.
func (b *builder) steerAtMax() {
	t := b.p.Tractor
	miss := unknown(t, "gross-plate", t.GrossPlate)
	rear := 0.0
	for _, i := range b.p.rear {
		rear += value(t.Axles[i].Plate)
		miss = append(miss, unknown(t, fmt.Sprintf("axle %d plate", i+1), t.Axles[i].Plate)...)
	}
	whole := value(t.GrossPlate)
	in := info{id: ".rear-at-max", missing: miss, calc: "axle-loads", advisory: true, working: func(float64) string {
		return fmt.Sprintf("the tractor at its %s with the rear axles at their %s leaves %s on the steered axles: %.4f of all", fmtKG(whole), fmtKG(rear), fmtKG(whole-rear), (whole-rear)/whole)
	}}
	b.byCase("share-steer", rule.Facts{"load-case": "rear-axle-at-max"}, func(c int, limits []rule.Limit) {
		in.cases = c
		for k := range limits {
			if !limits[k].Rule.Asks("load-case") {
				continue // it is held against the load as it stands
			}
			b.lawful(&limits[k], line{a: (whole - rear) / whole}, in)
			if len(b.p.rear) > 1 {
				last := len(b.st.lines) - 1
				b.st.lines[last].sure = math.Inf(-1)
				b.st.infos[last].missing = append(slices.Clone(b.st.infos[last].missing), missing(t, "permissible mass of the rear axle group (the sum of its axles' plates leaves too little on the steered axles)"))
			}
		}
	})
}

// groupLimits looks a group's limits up for every distance between neighbouring
// axles: the tables speak of one distance, so each of them has to lie in a band
// and every band's limit holds.
//
// Source: Directive 96/53/EC, Annex I, 3.2 to 3.5, as in StVZO § 34(4).
func (b *builder) groupLimits(axles []vehicle.Axle, g *groupState, group string, c int) []rule.Limit {
	facts := groupFacts(axles, g, group)
	least := facts["spacing"].(float64)
	limits := b.p.Law.Limits("mass-group", b.facts(c, facts))
	for k := 1; k < len(g.at); k++ {
		gap := g.at[k] - g.at[k-1]
		if !(math.Abs(gap-least) > dust) {
			continue
		}
		facts["spacing"] = gap
		for _, lim := range b.p.Law.Limits("mass-group", b.facts(c, facts)) {
			if !slices.ContainsFunc(limits, func(have rule.Limit) bool { return sameLimit(have, lim) }) {
				limits = append(limits, lim)
			}
		}
	}
	return limits
}

// pairs adds the limits of tandems to the neighbours within a larger group: the
// limit of the larger group is subject to them. Where the group's own limit is
// reached first they say nothing new and are left out.
//
// Source: Directive 96/53/EC, Annex I, 3.3, as in StVZO § 34(4): a tandem's limit
// holds within a tri-axle.
func (b *builder) pairs(axles []vehicle.Axle, g *groupState, group string, loads []loadLine, whole []rule.Limit, i info) {
	if len(g.axles) < 3 {
		return
	}
	least := math.Inf(1) // of the group's own limits that certify
	for k := range whole {
		if lim := &whole[k]; lim.Rule.Sense == rule.AtMost && lim.Evidence.Certifies() && lim.SI < least {
			least = lim.SI
		}
	}
	for k := 1; k < len(g.axles); k++ {
		two := &groupState{axles: g.axles[k-1 : k+1], at: g.at[k-1 : k+1]}
		sum := loads[k-1].plus(loads[k])
		// What the two carry when the group reaches its limit.
		share, tare := g.share[k-1]+g.share[k], g.tare[k-1]+g.tare[k]
		reached := tare + share*(least-g.sumTare())
		for _, lim := range b.p.Law.Limits("mass-group", b.facts(i.cases, groupFacts(axles, two, group))) {
			if lim.NotCovered != "" || lim.SI >= reached*(1-dust) || !lim.Evidence.Certifies() {
				continue
			}
			n := i
			n.title = fmt.Sprintf("%s %d and %d", i.title, g.axles[k-1]+1, g.axles[k]+1)
			n.id = fmt.Sprintf("%s-%d-%d", i.id, g.axles[k-1]+1, g.axles[k]+1)
			n.group = "" // a part of it
			b.lawful(&lim, line{a: sum.a, b: sum.b}, n)
		}
	}
}

// runs adds the findings on every run of two or more consecutive axles.
func (b *builder) runs(c int, miss []string) {
	l := &b.st.loads[c]
	if !b.p.Law.Has("mass-axle-range") {
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
			more := rule.Facts{"axles": float64(j - i + 1), "two-tandems": b.twoTandems(l, i, j), "drive": b.drives(l, i, j)}
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

// drives tells whether one of axles i to j is driven.
func (b *builder) drives(l *loads, i, j int) bool {
	return slices.ContainsFunc(l.at[i:j+1], func(s axleSpot) bool { return !s.trailer && b.p.Tractor.Axles[s.index].Kind == "drive" })
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
// Between two breaks of the law the limit is one number. It returns how many
// limits there are.
func (b *builder) stepped(quantity string, v loadLine, c int, more rule.Facts, fact string, s0 float64, i info) int {
	if more == nil {
		more = rule.Facts{}
	}
	at := func(lead float64) []rule.Limit {
		if s := s0 - lead; !math.IsNaN(s) {
			more[fact] = s
		}
		return b.p.Law.Limits(quantity, b.facts(c, more))
	}
	if math.IsNaN(s0) || b.p.travel.empty() || b.p.fixed || b.p.travel.lo == b.p.travel.hi {
		limits := at(b.p.travel.lo)
		b.limits(limits, line{a: v.a, b: v.b}, i)
		return len(limits)
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
	var rules, weak runOfSteps
	lo := b.p.travel.lo
	for k, hi := range cuts {
		limits := at((lo + hi) / 2)
		for n := range limits {
			lim := &limits[n]
			sure := lim.Rule.Unit.ToSI(lim.Sure)
			if lim.NotCovered != "" {
				sure = math.Inf(1)
				if lim.Rule.Sense == rule.AtLeast {
					sure = math.Inf(-1)
				}
			}
			rules.put(lim, cuts[:k], step{hi, lim.SI, sure})
		}
		for _, lim := range unverified(limits) {
			weak.put(lim, cuts[:k], step{hi, nan, math.Inf(1)})
		}
		rules.fill(k, hi)
		weak.fill(k, hi)
		lo = hi
	}
	for _, e := range rules.order {
		n, l := i, line{a: v.a, b: v.b}
		if !flat(e.steps) {
			l.steps = e.steps
			n.scale = math.Abs(e.limit.SI)
		}
		b.lawful(&e.limit, l, n)
	}
	for _, e := range weak.order {
		if flat(e.steps) {
			b.unprovenRule(&e.limit, i)
			continue
		}
		b.unprovenLine(&e.limit, line{a: nan, limit: nan, steps: e.steps}, i)
	}
	return len(rules.order)
}

// A runOfSteps gathers what each rule says from step to step; where it says
// nothing, no limit holds.
type runOfSteps struct{ order []*ruleSteps }

type ruleSteps struct {
	limit rule.Limit // the first, with what any step lacks
	steps []step
}

func (r *runOfSteps) put(lim *rule.Limit, before []float64, s step) {
	k := slices.IndexFunc(r.order, func(e *ruleSteps) bool { return e.limit.Rule == lim.Rule })
	if k < 0 {
		e := &ruleSteps{limit: *lim}
		for _, upTo := range before {
			e.steps = append(e.steps, step{upTo, math.Inf(1), math.Inf(1)})
		}
		r.order, k = append(r.order, e), len(r.order)
	}
	e := r.order[k]
	e.steps = append(e.steps, s)
	for _, fact := range lim.Missing {
		if !slices.Contains(e.limit.Missing, fact) {
			e.limit.Missing = append(e.limit.Missing[:len(e.limit.Missing):len(e.limit.Missing)], fact)
		}
	}
	if e.limit.NotCovered == "" {
		e.limit.NotCovered = lim.NotCovered
	}
}

// fill notes that the rules which said nothing on step k set no limit there.
func (r *runOfSteps) fill(k int, hi float64) {
	for _, e := range r.order {
		if len(e.steps) == k {
			e.steps = append(e.steps, step{hi, math.Inf(1), math.Inf(1)})
		}
	}
}

func flat(steps []step) bool {
	for _, s := range steps[1:] {
		if !same(s.limit, steps[0].limit) || !same(s.sure, steps[0].sure) {
			return false
		}
	}
	return true
}
