package examples_test

import (
	"fmt"
	"math"

	"underpin/exchange"
	"underpin/unit"
	"underpin/vehicle"
)

// The calculation by hand that expected.toml was drawn up with. It shares
// nothing with the program's own calculations but the vehicle data, so that
// each can be held against the other. Formulas: handbook chapters 01 (1.2), 03
// (1.2 to 1.4) and 04 (1.2, 2.2 to 2.4, 3.4); limits: Directive 96/53/EC Annex I,
// for the United Kingdom the Authorised Weight Regulations 1998, for the United
// States 23 USC 127, each only as far as the example files need.

// A check is one value held against one limit, both in SI.
type check struct {
	finding      string
	value, limit float64
	atLeast      bool
	equal        bool
	warns        bool // common practice: it warns and decides nothing
}

func (c check) holds() bool {
	slack := 1e-9 * math.Max(1, math.Abs(c.limit))
	if c.equal { // nominal sizes: 50 mm and 2 in are one
		return math.Abs(c.value-c.limit) <= 0.001
	}
	if c.atLeast {
		return c.value >= c.limit-slack
	}
	return c.value <= c.limit+slack
}

// A setting is what can be moved in a yard.
type setting struct {
	at               float64
	level            int
	tractor, trailer uint // lifted axles, bit by bit
}

// A hand is one combination under one load.
type hand struct {
	f       *exchange.FleetFile
	t       *vehicle.Tractor
	s       *vehicle.SemiTrailer
	law     string
	payload float64
	at      float64 // centre of the load behind the kingpin
	facts   map[string]any

	checks  []check
	missing map[string]bool
}

func (h *hand) num(p any, name string) float64 {
	switch v := p.(type) {
	case *unit.Length:
		if v != nil {
			return float64(*v)
		}
	case *unit.Mass:
		if v != nil {
			return float64(*v)
		}
	case *unit.Force:
		if v != nil {
			return float64(*v)
		}
	}
	h.missing[name] = true
	return math.NaN()
}

func (h *hand) most(finding string, value, limit float64) {
	if !math.IsNaN(value) && !math.IsNaN(limit) {
		h.checks = append(h.checks, check{finding: finding, value: value, limit: limit})
	}
}

func (h *hand) least(finding string, value, limit float64) {
	if !math.IsNaN(value) && !math.IsNaN(limit) {
		h.checks = append(h.checks, check{finding: finding, value: value, limit: limit, atLeast: true})
	}
}

func (h *hand) warn(finding string, value, limit float64) {
	if !math.IsNaN(value) {
		h.checks = append(h.checks, check{finding: finding, value: value, limit: limit, atLeast: true, warns: true})
	}
}

func (h *hand) fact(name string) any {
	if v, ok := h.facts[name]; ok {
		return v
	}
	return h.f.Facts[name]
}

// newHand sets the load case up.
func newHand(f *exchange.FleetFile, law, tractor, trailer, load string) (*hand, error) {
	t, okT := f.Tractor(tractor)
	s, okS := f.Trailer(trailer)
	if !okT || !okS {
		return nil, fmt.Errorf("no pair %s, %s in the file", tractor, trailer)
	}
	h := &hand{f: f, t: t, s: s, law: law, missing: map[string]bool{}}
	switch load {
	case vehicle.CaseEmpty:
	case vehicle.CaseLaden:
		h.payload = h.num(s.Payload, "payload")
		h.at = h.num(s.PayloadAt, "payload-at") - h.num(s.Headboard, "headboard")
	default:
		l, ok := f.Load(load)
		if !ok {
			return nil, fmt.Errorf("no load %s in the file", load)
		}
		h.facts = l.Facts
		moment := 0.0
		if len(l.Items) == 0 {
			h.payload, moment = float64(*l.Payload), float64(*l.Payload)*float64(*l.At)
		}
		for _, it := range l.Items {
			h.payload += float64(*it.Mass)
			moment += float64(*it.Mass) * float64(*it.At)
		}
		h.at = moment/h.payload - h.num(s.Headboard, "headboard")
	}
	return h, nil
}

// A group is the axles of a group that are down.
type group struct {
	at, tare, share, plate []float64
	name, kind             []string
	twinAir                bool // the drive axles have twin tyres and air
	line                   float64
}

func (h *hand) group(axles []vehicle.Axle, at func(int) (unit.Length, bool), indices []int, up uint, who string) group {
	g := group{twinAir: true}
	sum := 0.0
	for _, i := range indices {
		if up>>i&1 == 1 {
			continue
		}
		a := &axles[i]
		x, _ := at(i)
		share := 1.0
		if a.Share != nil {
			share = *a.Share
		}
		sum += share
		tare := math.NaN()
		if who == "tractor" {
			tare = h.num(a.Tare, "axle tare")
		}
		g.at, g.tare, g.share = append(g.at, float64(x)), append(g.tare, tare), append(g.share, share)
		g.name = append(g.name, fmt.Sprintf("%s axle %d", who, i+1))
		g.plate, g.kind = append(g.plate, h.num(a.Plate, who+" axle plate")), append(g.kind, a.Kind)
		if a.Kind == "drive" {
			g.twinAir = g.twinAir && a.TwinTyres != nil && *a.TwinTyres && a.Suspension == "air"
		}
	}
	for i := range g.share {
		g.share[i] /= sum
		g.line += g.share[i] * g.at[i]
	}
	return g
}

// loads spreads a group's load over its axles: tare as weighed, what is added
// by share.
func (g group) loads(total float64) []float64 {
	tare := 0.0
	for _, t := range g.tare {
		tare += t
	}
	out := make([]float64, len(g.at))
	for i := range out {
		out[i] = g.tare[i] + g.share[i]*(total-tare)
	}
	return out
}

// resplit gives each axle its share of a tare that was not weighed in this
// state.
func (g group) resplit(tare float64) {
	for i := range g.tare {
		g.tare[i] = tare * g.share[i]
	}
}

// run makes every check in one setting.
func (h *hand) run(set setting) []check {
	h.checks = nil
	t, s := h.t, h.s
	fronts, rears := t.Groups()
	bogies := make([]int, len(s.Axles))
	for i := range bogies {
		bogies[i] = i
	}
	front := h.group(t.Axles, t.AxleAt, fronts, 0, "tractor")
	rear := h.group(t.Axles, t.AxleAt, rears, set.tractor, "tractor")
	bogie := h.group(s.Axles, s.AxleAt, bogies, set.trailer, "trailer")
	down := h.group(s.Axles, s.AxleAt, bogies, 0, "trailer")

	// Tares. A lifted axle changes the split: moments about the front axle and
	// about the kingpin.
	W, moment := 0.0, 0.0
	for i := range t.Axles {
		x, _ := t.AxleAt(i)
		tare := h.num(t.Axles[i].Tare, "axle tare")
		W, moment = W+tare, moment+tare*float64(x)
	}
	if set.tractor != 0 {
		rear.resplit(moment / rear.line)
		front.resplit(W - moment/rear.line)
	}
	Ke, Be := h.num(s.TarePin, "tare-pin"), h.num(s.TareBogie, "tare-bogie")
	Wte := Ke + Be
	B := (Be*down.line + h.payload*h.at) / bogie.line
	K := Wte + h.payload - B
	bogie.resplit((Be * down.line) / bogie.line)
	tareOf := func(g group) (sum float64) {
		for _, v := range g.tare {
			sum += v
		}
		return sum
	}
	lead := rear.line - set.at
	L := rear.line - front.line
	F := tareOf(front) + K*lead/L
	R := W + K - F
	gross := W + Wte + h.payload
	steer, driven := F, 0.0

	h.axles("steered axles", front, front.loads(F), false)
	rearLoads := rear.loads(R)
	h.axles("tractor rear axles", rear, rearLoads, false)
	h.axles("bogie", bogie, bogie.loads(B), true)
	for i, kind := range rear.kind {
		if kind == "drive" {
			driven += rearLoads[i]
		}
	}
	h.most("tractor gross mass against its plate", W+K, h.num(t.GrossPlate, "tractor gross-plate"))
	h.most("combination gross mass against the train plate", gross, h.num(t.TrainPlate, "train-plate"))
	h.most("load on the kingpin against the semi-trailer's plate", K, h.num(s.PinPlate, "kingpin-plate"))
	h.most("bogie against its plate", B, h.num(s.BogiePlate, "bogie-plate"))
	h.most("semi-trailer gross mass against its plate", Wte+h.payload, h.num(s.GrossPlate, "trailer gross-plate"))
	h.most("imposed load against the fifth wheel", K, h.num(t.FifthWheel.Imposed, "fifth wheel imposed"))
	h.lawGross(len(front.at)+len(rear.at), len(bogie.at), bogie, rear, W+K, gross, rearLoads)
	if h.law == "eu" && h.fact("traffic") == "international" {
		h.least("share of the drive axles in the gross mass", driven/gross, 0.25)
	}
	h.least("share of the steered axle in the tractor's mass", steer/(W+K), 0.20)
	if h.law == "us" {
		h.bridge(front, rear, bogie, set.at, append(append(front.loads(F), rearLoads...), bogie.loads(B)...))
	}
	h.rating()
	h.lengths(set)
	h.heights(set, bogie.line)
	h.gaps(set)
	h.circle(set)
	return h.checks
}

func (h *hand) axles(name string, g group, loads []float64, trailer bool) {
	sum, drive := 0.0, false
	for i, v := range loads {
		sum += v
		drive = drive || g.kind[i] == "drive"
		h.most(g.name[i]+" against its plate", v, g.plate[i])
		limit := 10e3
		switch {
		case h.law == "us":
			limit = 20000 * float64(unit.Pound)
		case g.kind[i] == "drive":
			limit = 11.5e3
		}
		h.most(g.name[i]+" in law", v, limit)
	}
	if len(g.at) < 2 {
		return
	}
	d := math.Inf(1)
	for i := 1; i < len(g.at); i++ {
		d = math.Min(d, math.Round((g.at[i]-g.at[i-1])*1e6)/1e6)
	}
	limit := math.NaN()
	switch n := len(g.at); {
	case h.law == "us":
		limit = 34000 * float64(unit.Pound)
	case !trailer && 1.3 <= d && d < 1.8 && drive && g.twinAir:
		limit = 19e3
	case !trailer && 1.3 <= d && d < 1.8:
		limit = 18e3
	case n == 2 && 1.3 <= d && d < 1.8:
		limit = 18e3
	case n == 2 && d >= 1.8:
		limit = 20e3
	case n == 3 && 1.3 < d && d <= 1.4:
		limit = 24e3
	}
	if math.IsNaN(limit) {
		h.missing["a limit for a group at "+fmt.Sprint(d)] = true
	}
	h.most(name+" together in law", sum, limit)
}

func (h *hand) lawGross(tractorAxles, trailerAxles int, bogie, rear group, tractor, gross float64, rearLoads []float64) {
	extra := 0.0
	if h.t.TechnologyMass != nil && h.t.Fuel == "battery" {
		extra = math.Min(2e3, float64(*h.t.TechnologyMass))
	}
	limit, single := 40e3, 18e3
	if tractorAxles == 3 {
		single = 25e3
		if rear.twinAir {
			single = 26e3
		}
	}
	switch {
	case h.law == "us":
		h.most("combination gross mass in law", gross, 80000*float64(unit.Pound))
		return
	case h.law == "uk" && tractorAxles == 3 && trailerAxles == 3:
		limit = 44e3
		for i, kind := range rear.kind {
			if kind == "drive" {
				h.most("drive axle at more than 40 t in law", rearLoads[i], 10.5e3)
			}
		}
	case h.fact("intermodal") == true && tractorAxles == 2 && trailerAxles == 3:
		limit = 42e3
	case h.fact("intermodal") == true && tractorAxles == 3:
		limit = 44e3
	case tractorAxles == 2 && trailerAxles == 2:
		limit = 36e3
	case tractorAxles+trailerAxles < 5:
		limit = 35e3
	}
	h.most("tractor gross mass in law", tractor, single+extra)
	h.most("combination gross mass in law", gross, limit+extra)
}

// bridge holds every run of consecutive axles against the US bridge formula.
func (h *hand) bridge(front, rear, bogie group, pin float64, loads []float64) {
	var at []float64
	at = append(append(at, front.at...), rear.at...)
	for _, x := range bogie.at {
		at = append(at, pin+x)
	}
	for i := range at {
		for j := i + 1; j < len(at); j++ {
			feet, n := math.Floor((at[j]-at[i])/float64(unit.Foot)+0.5), float64(j-i+1)
			if (at[j]-at[i])/float64(unit.Inch) <= 96 {
				continue // a tandem, checked as such
			}
			limit := math.Min(80000, 500*math.Round(feet*n/(n-1)+12*n+36))
			sum := 0.0
			for _, v := range loads[i : j+1] {
				sum += v
			}
			h.most(fmt.Sprintf("axles %d to %d by the bridge formula", i+1, j+1), sum, limit*float64(unit.Pound))
		}
	}
}
