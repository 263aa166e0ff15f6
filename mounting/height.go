package mounting

import (
	"fmt"
	"math"

	"underpin/clearance"
	"underpin/unit"
	"underpin/vehicle"
)

// A Datum is what positions along a tractor are counted from.
type Datum struct {
	Rear      unit.Length // drive axle, or the middle of the drive axles, behind the front axle
	Rearmost  unit.Length // rearmost axle
	LeadDatum string      // what a lead is counted from
}

// datumOf finds the drive axles of a tractor.
func datumOf(t *vehicle.Tractor) (Datum, bool) {
	var sum unit.Length
	n := 0
	d := Datum{LeadDatum: "drive axle"}
	for i := range t.Axles {
		x, ok := t.AxleAt(i)
		if !ok {
			return d, false
		}
		d.Rearmost = max(d.Rearmost, x)
		if t.Axles[i].Kind == "drive" {
			sum += x
			n++
		}
	}
	if n > 1 {
		d.LeadDatum = "drive bogie centre"
	}
	d.Rear = sum / unit.Length(n)
	return d, n > 0
}

// A ground is how high a chassis' frame stands over the road, and how far it
// sinks, as functions of the position.
//
//	F(x) = f0 + f1·x                          tractor alone
//	ΔH(x) = K·[ c_r·(1 − s)² + c_f·s² ],  s = (x_r − x)/x_r
//
// K is the imposed load, c the sink of an axle per kilogram that comes on it,
// x_r the rear axle behind the front axle. The load divides as on a beam on two
// axles, δ_r = c_r·K·(1 − s), and the coupling sinks by δ_r·(1 − s) + δ_f·s.
type ground struct {
	f0, f1    float64 // m, m/m
	rear      float64 // x_r, m
	cr, cf    float64 // m/kg, springs and tyres
	ct, ctf   float64 // of these, the tyres alone
	tyre      float64 // radius that the stack is counted from; the rest is the suspension
	missing   []string
	noSink    []string
	assumed   []string
	knownSink bool
}

func groundOf(c *Chassis, d Datum) ground {
	g := ground{rear: float64(d.Rear)}
	rear := math.NaN()
	switch {
	case c.FrameRear != nil:
		rear = float64(*c.FrameRear)
		g.tyre = rear
	case c.TyreRadius != nil && c.AxleToFrame != nil:
		rear = float64(*c.TyreRadius + *c.AxleToFrame)
		g.tyre = float64(*c.TyreRadius)
	default:
		g.missing = append(g.missing, c.Called()+": tyre-radius and axle-to-frame, or frame-rear")
	}
	g.f0 = rear
	if c.FrameFront != nil {
		g.f0 = float64(*c.FrameFront)
		g.f1 = (rear - g.f0) / g.rear
	} else {
		g.assumed = append(g.assumed, "the frame is taken as level with the tractor alone: frame-front is not given")
	}
	per := func(s *Sink, field string) (all, tyres float64) {
		if s == nil || s.Under == nil || s.Tyres == nil || s.Suspension == "steel" && s.Springs == nil {
			g.noSink = append(g.noSink, c.Called()+": "+field)
			return math.NaN(), math.NaN()
		}
		springs := unit.Length(0)
		if s.Springs != nil {
			springs = *s.Springs
		}
		return float64(*s.Tyres+springs) / float64(*s.Under), float64(*s.Tyres) / float64(*s.Under)
	}
	g.cr, g.ct = per(c.SinkRear, "sink-rear")
	g.cf, g.ctf = per(c.SinkFront, "sink-front")
	g.knownSink = len(g.noSink) == 0
	return g
}

// frame is F(x).
func (g *ground) frame(x unit.Length) unit.Length { return unit.Length(g.f0 + g.f1*float64(x)) }

// drop is how far the coupling sinks at x under an imposed load, and how the
// frame then lies, from the clearance formulas.
func (g *ground) drop(x unit.Length, imposed unit.Mass) (clearance.Drop, error) {
	s := (g.rear - float64(x)) / g.rear
	sink := func(share, all, tyres float64) (unit.Length, error) {
		added := share * float64(imposed)
		springs := (all - tyres) * added // m
		if springs == 0 {
			return unit.Length(tyres * added), nil
		}
		force := added * float64(unit.Gravity)
		return clearance.AxleDrop(unit.Force(force), force/(2*springs), unit.Length(tyres*added))
	}
	rear, err := sink(1-s, g.cr, g.ct)
	if err != nil {
		return clearance.Drop{}, err
	}
	front, err := sink(s, g.cf, g.ctf)
	if err != nil {
		return clearance.Drop{}, err
	}
	return clearance.CouplingDrop(rear, front, unit.Length(g.rear)-x, unit.Length(g.rear))
}

// free is F(x), the frame of the tractor alone.
func (g *ground) free() parabola { return parabola{0, g.f1, g.f0} }

// under is F(x) − ΔH(x), the frame at the coupling under an imposed load.
func (g *ground) under(imposed unit.Mass) parabola {
	// (1 − s) = x/x_r, s = 1 − x/x_r
	k, r := float64(imposed), g.rear
	return parabola{-k * (g.cr + g.cf) / (r * r), g.f1 + 2*k*g.cf/r, g.f0 - k*g.cf}
}

// sinks tells whether the laden height under a load can be told.
func (g *ground) sinks(imposed unit.Mass) bool { return g.knownSink && !math.IsNaN(float64(imposed)) }

// A Height is the height of the top plate in one position of a stack.
type Height struct {
	Name    string       // of the wanted height
	Raise   unit.Length  // how far a lift stands over its lowest position
	Unladen *unit.Length // nil: not known
	Laden   *unit.Length
	Raised  *unit.Length // unladen, suspension at its highest
	Tilt    *unit.Angle  // of the frame when laden, tail-down positive
	Working string
}

// heightAt computes the heights of a stack at a position, by the clearance
// formulas, with a lift raised.
func (s Stack) heightAt(c *Chassis, g *ground, x unit.Length, raise unit.Length, imposed unit.Mass) Height {
	h := Height{Raise: raise}
	if len(g.missing) > 0 {
		return h
	}
	base, missing := c.baseHeight(s.Base)
	wheel, plate := s.Wheel(), raise
	for _, p := range s.Parts[:len(s.Parts)-1] {
		if p.Height == nil {
			return h
		}
		plate += *p.Height
	}
	if len(missing) > 0 || wheel.Height == nil {
		return h
	}
	frame := g.frame(x)
	stack, err := clearance.CouplingHeight(clearance.HeightStack{
		TyreRadius: unit.Length(g.tyre), Suspension: frame - unit.Length(g.tyre), Subframe: base, MountingPlate: plate, FifthWheel: *wheel.Height,
	})
	if err != nil { // the frame lies below the hub there: the sum stands all the same
		stack.Coupling = frame + base + plate + *wheel.Height
	}
	up := stack.Coupling
	h.Unladen = &up
	h.Working = fmt.Sprintf("Hc = frame top %s + base %s + parts between %s + fifth wheel %s = %s", showMM(frame), showMM(base), showMM(plate), showMM(*wheel.Height), showMM(up))
	if c.Raised != nil {
		raised := up + *c.Raised
		h.Raised = &raised
	}
	if !g.knownSink || math.IsNaN(float64(imposed)) {
		return h
	}
	drop, err := g.drop(x, imposed)
	if err != nil {
		return h
	}
	down := up - drop.Coupling
	h.Laden, h.Tilt = &down, &drop.TailDown
	h.Working += fmt.Sprintf("; under %s ΔHc = δr·(1 − e/L) + δf·e/L = %s, laden %s, frame %s tail-down",
		unit.Format(float64(imposed), unit.KG, 0), showMM1(drop.Coupling), showMM1(down), unit.Format(float64(drop.TailDown), unit.Deg, 2))
	return h
}

func showMM(l unit.Length) string  { return unit.Format(float64(l), unit.MM, 0) }
func showMM1(l unit.Length) string { return unit.Format(float64(l), unit.MM, 1) }

// A window is what one wanted height allows, in metres; unknown sides are open.
type window struct {
	name           string
	unladen, laden *unit.Length
	tolerance      unit.Length
}

func windowsOf(heights []Wanted) []window {
	var out []window
	for i := range heights {
		w := &heights[i]
		o := window{name: w.Name, unladen: w.Unladen, laden: w.Laden}
		if w.Tolerance != nil {
			o.tolerance = *w.Tolerance
		}
		out = append(out, o)
	}
	return out
}

// sides are the heights of the frame that the window speaks of, each with the
// height that is wanted over it.
func (w *window) sides(g *ground, imposed unit.Mass) []side {
	var out []side
	if w.unladen != nil {
		out = append(out, side{g.free(), *w.unladen})
	}
	if w.laden != nil && g.sinks(imposed) {
		out = append(out, side{g.under(imposed), *w.laden})
	}
	return out
}

type side struct {
	frame parabola
	want  unit.Length
}

// where returns the positions at which a stack of height h over the frame's
// top reaches the window.
func (w *window) where(g *ground, h unit.Length, imposed unit.Mass) Spans {
	set := everywhere
	for _, s := range w.sides(g, imposed) {
		set = set.and(s.frame.raised(h).between(s.want-w.tolerance-dust, s.want+w.tolerance+dust))
	}
	return set
}

// need is the range of stack heights that can reach the window somewhere in a
// span of positions. Nothing outside it can.
func (w *window) need(g *ground, in Span, imposed unit.Mass) (lo, hi unit.Length) {
	lo, hi = unit.Length(math.Inf(-1)), unit.Length(math.Inf(1))
	for _, s := range w.sides(g, imposed) {
		least, most := s.frame.extremes(in)
		lo = max(lo, s.want-w.tolerance-most)
		hi = min(hi, s.want+w.tolerance-least)
	}
	return lo - 2*dust, hi + 2*dust
}

// raises are the positions of a lift, and whether it takes any height between
// the first and the last.
func (s Stack) raises() (at []unit.Length, between bool) {
	l := s.part(Lift)
	switch {
	case l == nil || l.Stroke == nil:
		return []unit.Length{0}, false
	case len(l.Positions) > 0:
		return l.Positions, false
	}
	return []unit.Length{0, *l.Stroke}, true
}

// A reach asks where a stack reaches the wanted heights.
type reach struct {
	ground  *ground
	windows []window
	imposed unit.Mass
	height  unit.Length   // over the frame's top, a lift lowest
	raises  []unit.Length // positions of a lift
	between bool          // it takes any height between the first and the last
	travel  unit.Length   // of a slider
}

// where returns the positions at which a stack reaches every window: at each
// place of a slider's travel, the lift in some position.
func (r *reach) where() Spans {
	set := everywhere
	for i := range r.windows {
		w := &r.windows[i]
		var one Spans
		if r.between {
			one = r.whereBetween(w)
		} else {
			for _, q := range r.raises {
				one = one.or(w.where(r.ground, r.height+q, r.imposed))
			}
		}
		if set = set.and(one); len(set) == 0 {
			return nil
		}
	}
	return set.erode(r.travel)
}

// whereBetween is where for a lift that takes any height of its stroke: there
// is one that reaches both sides of the window.
//
// With the lift raised by q the unladen height is F + h + q and the laden one
// that less ΔH. Both windows and the stroke together ask max(lo) ≤ q ≤ min(hi),
// where each end is a parabola in x; so each pair of a lower and an upper end
// gives a set.
func (r *reach) whereBetween(w *window) Spans {
	lower := []parabola{{c: float64(r.raises[0])}}
	upper := []parabola{{c: float64(r.raises[len(r.raises)-1])}}
	for _, s := range w.sides(r.ground, r.imposed) {
		up := parabola{}.less(s.frame.raised(r.height))
		lower = append(lower, up.raised(s.want-w.tolerance-dust))
		upper = append(upper, up.raised(s.want+w.tolerance+dust))
	}
	set := everywhere
	for _, l := range lower {
		for _, u := range upper {
			set = set.and(u.less(l).positive())
		}
	}
	return set
}
