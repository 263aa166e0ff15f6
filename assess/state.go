package assess

import (
	"fmt"
	"math"

	"underpin/axleload"
	"underpin/unit"
	"underpin/vehicle"
)

// A Setting is what can be moved in a yard without tools.
type Setting struct {
	Lead          unit.Length // fifth wheel ahead of the drive axle or bogie centre
	At            unit.Length // the same from the front axle
	Level         string      // driving level or height of the coupling; empty where there is one only
	TractorLifted []int       // axles that are up, counted from 1 at the front
	TrailerLifted []int
}

// lifts is a set of lifted axles, bit i for axle i.
type lifts uint32

func (l lifts) has(i int) bool { return l>>i&1 == 1 }

func (l lifts) list() []int {
	out := []int{}
	for i := range 32 {
		if l.has(i) {
			out = append(out, i+1)
		}
	}
	return out
}

// liftStates returns every state of the liftable axles, all down first. At
// least one axle of each group stays down.
func liftStates(axles []vehicle.Axle, group []int) []lifts {
	var can []int
	for _, i := range group {
		if axles[i].Liftable {
			can = append(can, i)
		}
	}
	var out []lifts
	for mask := range 1 << len(can) {
		var l lifts
		for k, i := range can {
			if mask>>k&1 == 1 {
				l |= 1 << i
			}
		}
		n := 0
		for _, i := range group {
			if !l.has(i) {
				n++
			}
		}
		if n > 0 {
			out = append(out, l)
		}
	}
	return out
}

// set returns the lift state as the vehicle is set, and whether it is stated.
func set(axles []vehicle.Axle) (l lifts, stated bool) {
	stated = true
	for i := range axles {
		switch a := &axles[i]; {
		case !a.Liftable:
		case a.Lifted == nil:
			stated = false
		case *a.Lifted:
			l |= 1 << i
		}
	}
	return l, stated
}

// A groupState is a group of axles in one lift state: the line on which it
// carries what is added, and each axle's part of that.
type groupState struct {
	axles []int     // indices of those that are down
	at    []float64 // their positions, m
	share []float64 // their parts of the added load
	tare  []float64 // what each carries with no load added, kg
	line  float64   // reaction line, m
}

// reactionLine scales the shares of the axles that are down, which sum to sum,
// to 1 and returns where the group carries what is added.
func (g *groupState) reactionLine(sum float64) (unit.Length, error) {
	group := make(axleload.Group, len(g.axles))
	for k := range group {
		g.share[k] /= sum
		group[k] = axleload.Axle{At: unit.Length(g.at[k]), Share: g.share[k]}
	}
	return axleload.ReactionLine(group)
}

func (g *groupState) sumTare() (sum float64) {
	for _, t := range g.tare {
		sum += t
	}
	return sum
}

var nan = math.NaN()

// value returns what a pointer holds, NaN for unknown.
func value[Q ~float64](p *Q) float64 {
	if p == nil {
		return nan
	}
	return float64(*p)
}

// groupIn returns the group's axles that are down, their positions and shares
// and the reaction line. What is unknown is noted in miss.
func groupIn(axles []vehicle.Axle, group []int, up lifts, at func(int) (unit.Length, bool), share func(int) float64, who string, miss *missings) groupState {
	var g groupState
	sum := 0.0
	for _, i := range group {
		if up.has(i) {
			continue
		}
		x, ok := at(i)
		if !ok {
			miss.add(fmt.Sprintf("%s: axle %d at or gap", who, i+1))
			x = unit.Length(nan)
		}
		g.axles = append(g.axles, i)
		g.at = append(g.at, float64(x))
		g.share = append(g.share, share(i))
		g.tare = append(g.tare, nan)
		sum += share(i)
	}
	line, err := g.reactionLine(sum)
	g.line = float64(line)
	if err != nil {
		g.line = nan
	}
	return g
}

// A missings collects what is not known, each thing once, in order.
type missings struct{ list []string }

func (m *missings) add(what ...string) {
next:
	for _, w := range what {
		for _, have := range m.list {
			if have == w {
				continue next
			}
		}
		m.list = append(m.list, w)
	}
}

// A tractorState is a tractor in one lift state.
type tractorState struct {
	up          lifts
	front, rear groupState
	mass        float64 // tare of the whole tractor, kg
	missing     []string
}

// tractorIn computes the tractor's tare split in a lift state. With all axles
// down the tares stand as weighed. With one up the split follows from the
// moment of the weighed tares about the front reaction line:
//
//	R_e = W (x_T − p_f) / (p_r − p_f),  F_e = W − R_e
//
// Source: handbook chapter 03, 1.4 and 8 (vehicle B).
func tractorIn(t *vehicle.Tractor, up lifts) *tractorState {
	var miss missings
	front, rear := t.Groups()
	s := &tractorState{up: up}
	s.front = groupIn(t.Axles, front, up, t.AxleAt, func(i int) float64 { return t.Share(front, i) }, t.Called(), &miss)
	s.rear = groupIn(t.Axles, rear, up, t.AxleAt, func(i int) float64 { return t.Share(rear, i) }, t.Called(), &miss)
	var moment float64
	for i := range t.Axles {
		x, _ := t.AxleAt(i)
		tare := value(t.Axles[i].Tare)
		if math.IsNaN(tare) {
			miss.add(fmt.Sprintf("%s: axle %d tare", t.Called(), i+1))
		}
		s.mass += tare
		moment += tare * float64(x)
	}
	s.missing = miss.list
	if up == 0 {
		for _, g := range []*groupState{&s.front, &s.rear} {
			for k, i := range g.axles {
				g.tare[k] = value(t.Axles[i].Tare)
			}
		}
		return s
	}
	rearTare := (moment - s.mass*s.front.line) / (s.rear.line - s.front.line)
	spread(&s.rear, rearTare)
	spread(&s.front, s.mass-rearTare)
	return s
}

func spread(g *groupState, tare float64) {
	for k := range g.tare {
		g.tare[k] = tare * g.share[k]
	}
}

// A trailerState is a semi-trailer in one lift state.
type trailerState struct {
	up      lifts
	bogie   groupState
	mass    float64 // tare, kg
	cg      float64 // its centre behind the kingpin, m
	missing []string
}

// trailerIn computes the semi-trailer's tare split in a lift state, from its
// centre of mass as weighed with all axles down: x = L·B_e/W, B′ = W·x/L′.
//
// Source: handbook chapter 03, 1.4.
func trailerIn(t *vehicle.SemiTrailer, up lifts) *trailerState {
	var miss missings
	all := make([]int, len(t.Axles))
	for i := range all {
		all[i] = i
	}
	down := groupIn(t.Axles, all, 0, t.AxleAt, t.Share, t.Called(), &miss)
	s := &trailerState{up: up, bogie: groupIn(t.Axles, all, up, t.AxleAt, t.Share, t.Called(), &miss)}
	pin, bogie := value(t.TarePin), value(t.TareBogie)
	if math.IsNaN(pin) || math.IsNaN(bogie) {
		miss.add(missing(t, "tare-pin and tare-bogie, or a weighbridge ticket"))
	}
	s.mass = pin + bogie
	s.cg = down.line * bogie / s.mass
	spread(&s.bogie, s.mass*s.cg/s.bogie.line)
	s.missing = miss.list
	return s
}

// A loadLine is the load on something as a straight line in the lead, in kg:
// a + b·lead.
type loadLine struct{ a, b float64 }

func (l loadLine) at(lead float64) float64 { return l.a + l.b*lead }

func (l loadLine) plus(m loadLine) loadLine { return loadLine{l.a + m.a, l.b + m.b} }

// loads are all masses of a combination under one load case, in one lift state.
type loads struct {
	imposed float64 // on the kingpin; does not depend on the lead
	bogie   float64
	front   loadLine
	rear    loadLine
	tractor float64 // gross
	trailer float64 // gross
	gross   float64
	axle    []loadLine // by axle of the tractor, then of the semi-trailer; NaN where lifted
	at      []axleSpot // where each stands
}

type axleSpot struct {
	group   string // front, rear or bogie
	index   int    // in its vehicle, from 0
	trailer bool
	x       float64 // behind the front axle, tractor; behind the kingpin, semi-trailer
	down    bool
}

// loadsOf runs the chain of two units at two leads; every load is straight in
// the lead, so two points give the line.
func loadsOf(t *tractorState, s *trailerState, ref float64, c *Case) loads {
	base := t.rear.line - t.front.line
	run := func(lead float64) axleload.Result {
		r, err := axleload.Loads(axleload.Pair{
			Wheelbase: unit.Length(base), Lead: unit.Length(t.rear.line - (ref - lead)),
			TareFront: unit.Mass(t.front.sumTare()), TareRear: unit.Mass(t.rear.sumTare()),
			PinToBogie: unit.Length(s.bogie.line),
			TarePin:    unit.Mass(s.mass - s.bogie.sumTare()), TareBogie: unit.Mass(s.bogie.sumTare()),
			Payload: c.Payload, PayloadAt: c.At,
		})
		if err != nil {
			n := unit.Mass(nan)
			return axleload.Result{Imposed: n, Front: n, Rear: n, Bogie: n, Gross: n}
		}
		return r
	}
	zero, one := run(0), run(1)
	l := loads{
		imposed: float64(zero.Imposed), bogie: float64(zero.Bogie), gross: float64(zero.Gross),
		front: loadLine{float64(zero.Front), float64(one.Front - zero.Front)},
		rear:  loadLine{float64(zero.Rear), float64(one.Rear - zero.Rear)},
	}
	l.tractor = t.mass + l.imposed
	l.trailer = s.mass + float64(c.Payload)
	add := func(g *groupState, name string, total loadLine, trailer bool) {
		added := loadLine{total.a - g.sumTare(), total.b}
		for k, i := range g.axles {
			l.axle = append(l.axle, loadLine{g.tare[k] + g.share[k]*added.a, g.share[k] * added.b})
			l.at = append(l.at, axleSpot{group: name, index: i, trailer: trailer, x: g.at[k], down: true})
		}
	}
	add(&t.front, "front", l.front, false)
	add(&t.rear, "rear", l.rear, false)
	add(&s.bogie, "bogie", loadLine{l.bogie, 0}, true)
	return l
}
