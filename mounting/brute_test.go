package mounting

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"underpin/rating"
	"underpin/unit"
	"underpin/vehicle"
)

// The search is held against the plainest program that does the same: every
// order of parts, every whole millimetre, each condition as it reads.

type world struct {
	chassis  *Chassis
	parts    []Part
	windows  []Wanted
	zone     Span
	imposed  unit.Mass
	d, u     float64
	trailers []Spans
	rear     unit.Length
}

func mmOf(v int) *unit.Length { return new(unit.Length(float64(v) * 1e-3)) }

// patternGen draws patterns of few holes on whole millimetres, so that some
// meet and some do not.
func patternGen(span int) *rapid.Generator[*Pattern] {
	return rapid.Custom(func(t *rapid.T) *Pattern {
		if rapid.IntRange(0, 2).Draw(t, "unknown") == 0 {
			return nil
		}
		n := rapid.IntRange(1, 5).Draw(t, "holes")
		p := &Pattern{Mirrored: rapid.Bool().Draw(t, "mirrored")}
		pitch := rapid.SampledFrom([]int{30, 40, 60}).Draw(t, "pitch")
		first := rapid.IntRange(-span, span).Draw(t, "first")
		p.Rows = []Row{{First: mmOf(first), Y: mmOf(rapid.SampledFrom([]int{300, 400}).Draw(t, "y")), Pitch: mmOf(pitch), Count: n, D: mmOf(17)}}
		return p
	})
}

func worldGen(t *rapid.T) *world {
	draw := func(lo, hi int, name string) int { return rapid.IntRange(lo, hi).Draw(t, name) }
	w := &world{rear: 3.7, imposed: unit.Mass(draw(1000, 12000, "imposed"))}
	c := &Chassis{ID: "c", FrameRear: mmOf(draw(900, 960, "frame")), Direct: new(true)}
	if draw(0, 1, "raked") == 1 {
		c.FrameFront = mmOf(rapid.SampledFrom([]int{700, 880, 930, 980, 1200}).Draw(t, "front"))
	}
	if draw(0, 3, "sinks") > 0 {
		c.SinkRear = &Sink{Suspension: "steel", Under: new(unit.Mass(6500)), Tyres: mmOf(draw(5, 25, "tyres")), Springs: mmOf(draw(0, 60, "springs"))}
		c.SinkFront = &Sink{Suspension: "air", Under: new(unit.Mass(900)), Tyres: mmOf(draw(0, 6, "tyres front"))}
	}
	if draw(0, 1, "angles") == 1 {
		c.Angles = &Angles{Height: mmOf(draw(0, 20, "angle height"))}
		if draw(0, 1, "angle holes") == 1 {
			c.Angles.Top = &Pattern{Mirrored: true, Rows: []Row{{First: mmOf(draw(2900, 3100, "angle first")), Y: mmOf(400), Pitch: mmOf(30), Count: draw(2, 20, "angle count"), D: mmOf(17)}}}
		}
		if draw(0, 1, "angle ends") == 1 {
			c.Angles.From, c.Angles.To = mmOf(2600), mmOf(3900)
		}
	}
	if draw(0, 2, "subframe") == 0 {
		c.Subframe = &Subframe{Height: mmOf(draw(60, 120, "sub"))}
	}
	if draw(0, 3, "drill") > 0 {
		c.Frame.Drill = new(draw(0, 1, "may drill") == 1)
	}
	if draw(0, 1, "web") == 1 {
		c.Frame.Holes = &Pattern{Rows: []Row{{First: mmOf(draw(2800, 3000, "web first")), Y: mmOf(400), Pitch: mmOf(60), Count: draw(1, 12, "web count"), D: mmOf(17)}}}
		if draw(0, 1, "apart") == 1 {
			c.Frame.Apart = mmOf(draw(20, 50, "apart"))
		}
	}
	for range draw(0, 2, "zones") {
		from := draw(2700, 3400, "zone from")
		c.Zones = append(c.Zones, Zone{What: rapid.SampledFrom([]string{"no-holes", "keep-free"}).Draw(t, "what"), From: mmOf(from), To: mmOf(from + draw(0, 150, "zone"))})
	}
	w.chassis = c
	words := []string{OnFrame, OnSubframe, OnAngles, Plate, Pedestal, Bracket, Slider, Lift, "p0", "p1", "p2", "p3"}
	n, easy := draw(2, 8, "parts"), draw(0, 3, "easy") > 0
	for i := range n {
		p := Part{ID: "p" + string(rune('0'+i)), Kind: rapid.SampledFrom(kinds[:]).Draw(t, "kind"), Height: mmOf(draw(8, 220, "height")), Mass: new(unit.Mass(draw(10, 200, "mass"))),
			D: new(unit.Force(draw(100, 200, "d")) * unit.Kilonewton), Imposed: new(unit.Mass(draw(10, 25, "u")) * unit.Tonne), ReadFrom: rapid.SampledFrom([]string{"plate", "plate", "memory"}).Draw(t, "read")}
		p.StandsOn = rapid.SliceOfNDistinct(rapid.SampledFrom(words), 1, 6, rapid.ID[string]).Draw(t, "stands")
		if i < 2 && easy { // most catalogues hold at least one way up
			p.Kind = [2]string{Plate, FifthWheel}[i]
			p.StandsOn = append(p.StandsOn, [2][]string{{OnFrame, OnAngles, OnSubframe}, {Plate, Slider, Lift}}[i]...)
		}
		if i == 2 && easy && draw(0, 1, "moves") == 1 {
			p.Kind = rapid.SampledFrom([]string{Slider, Lift}).Draw(t, "moving")
			p.StandsOn = append(p.StandsOn, Plate, OnAngles, OnFrame)
		}
		p.Foot = patternGen(60).Draw(t, "foot")
		switch p.Kind {
		case FifthWheel:
			p.Pin = mmOf(rapid.SampledFrom([]int{50, 50, 50, 90}).Draw(t, "pin"))
		case Slider:
			p.Travel, p.Pitch = mmOf(2*draw(20, 200, "travel")), mmOf(2*draw(5, 20, "slide pitch"))
		case Lift:
			p.Stroke = mmOf(draw(20, 150, "stroke"))
			if draw(0, 1, "stepped") == 1 {
				p.Positions = []unit.Length{0, *p.Stroke / 2, *p.Stroke}
			}
		}
		if p.Kind != FifthWheel {
			p.Top = patternGen(60).Draw(t, "top")
		}
		if draw(0, 1, "extent") == 1 {
			p.Ahead, p.Behind = mmOf(draw(50, 300, "ahead")), mmOf(draw(50, 300, "behind"))
		}
		w.parts = append(w.parts, p)
	}
	from := draw(2700, 3200, "zone from")
	w.zone = Span{*mmOf(from), *mmOf(from + draw(120, 500, "zone"))}
	// Mostly what some stack reaches somewhere in the zone, so that tolerances
	// cut it; sometimes any height.
	var stacks []Stack
	w.every(func(s Stack) { stacks = append(stacks, s) })
	for k := range rapid.SampledFrom([]int{1, 0, 1, 2}).Draw(t, "wanted") {
		v := Wanted{Name: string(rune('a' + k)), Tolerance: mmOf(rapid.SampledFrom([]int{4, 0, 10, 40, 150}).Draw(t, "tolerance"))}
		up, down := rapid.SampledFrom([]int{1000, 1060, 1100, 1150, 1200, 1300}).Draw(t, "wanted height"), draw(0, 40, "sunk")
		if len(stacks) > 0 && draw(0, 3, "aimed") > 0 {
			st := stacks[draw(0, len(stacks)-1, "stack")]
			g := groundOf(c, Datum{Rear: w.rear})
			x := w.zone.From + (w.zone.To-w.zone.From)*unit.Length(rapid.SampledFrom([]float64{0.2, 0, 0.5, 0.8, 1}).Draw(t, "where"))
			h := st.heightAt(c, &g, x, 0, w.imposed)
			up = int(math.Round(h.Unladen.Millimetres()))
			if h.Laden != nil {
				down = up - int(math.Round(h.Laden.Millimetres()))
			}
		}
		switch draw(0, 2, "which") {
		case 0:
			v.Unladen = mmOf(up)
		case 1:
			v.Laden = mmOf(up - down)
		default:
			v.Unladen, v.Laden = mmOf(up), mmOf(up-down)
		}
		w.windows = append(w.windows, v)
	}
	w.d, w.u = float64(draw(60, 150, "need d"))*1e3, float64(draw(6, 15, "need u"))*1e3
	for range draw(0, 3, "trailers") {
		var s Spans
		for range draw(1, 2, "spans") {
			a := draw(2500, 3400, "lawful from")
			s = append(s, Span{*mmOf(a), *mmOf(a + draw(150, 700, "lawful"))})
		}
		w.trailers = append(w.trailers, tidy(s))
	}
	return w
}

func (w *world) search() *search {
	s := newSearch(w.chassis, w.parts)
	s.ground = groundOf(w.chassis, Datum{Rear: w.rear})
	s.windows, s.zone, s.imposed = windowsOf(w.windows), w.zone, w.imposed
	s.asks = asks{d: w.d, u: w.u, sizes: []rating.Size{50}}
	p := &Positions{Datum: Datum{Rear: w.rear}, Zone: w.zone, Common: Spans{w.zone}}
	for i, set := range w.trailers {
		p.Trailers = append(p.Trailers, TrailerPlaces{Trailer: &vehicle.SemiTrailer{ID: string(rune('k' + i))}, Spans: set.and(Spans{w.zone})})
		p.Common = p.Common.and(p.Trailers[i].Spans)
	}
	if len(p.Common) == 0 {
		p.Conflict = p.conflict()
	}
	s.places = func(unit.Mass) (*Positions, error) { return p, nil }
	return s
}

// every builds all orders of parts, each kind once, a fifth wheel on top.
func (w *world) every(visit func(Stack)) {
	var grow func(s Stack)
	grow = func(s Stack) {
		for i := range w.parts {
			p := &w.parts[i]
			if slices.ContainsFunc(s.Parts, func(q *Part) bool { return q.Kind == p.Kind }) {
				continue
			}
			below := s.Base
			if n := len(s.Parts); n > 0 {
				below = s.Parts[n-1].Kind
				if !slices.Contains(p.StandsOn, below) && !slices.Contains(p.StandsOn, s.Parts[n-1].ID) {
					continue
				}
			} else if !slices.Contains(p.StandsOn, below) {
				continue
			}
			next := Stack{s.Base, append(slices.Clone(s.Parts), p)}
			if p.Kind == FifthWheel {
				visit(next)
				continue
			}
			grow(next)
		}
	}
	for _, base := range bases {
		if w.chassis.has(base) {
			grow(Stack{Base: base})
		}
	}
}

// good tells whether the parts of a stack may be used at all.
func (w *world) good(s Stack) bool {
	for _, p := range s.Parts {
		if p.rated() && p.ReadFrom == "plate" && (float64(*p.D) < w.d || float64(*p.Imposed) < w.u) {
			return false
		}
	}
	return sizeOf(s.Wheel().Pin) == 50
}

// at tells whether a stack's coupling may stand at x as far as holes and zones
// go: it looks for the place of each part from the top down. eps loosens every
// comparison.
func (w *world) at(s Stack, x float64, eps float64) bool {
	var down func(i int, middle float64) bool
	down = func(i int, middle float64) bool {
		p := s.Parts[i]
		foot := p.Foot.Places()
		if i == 0 {
			return w.onBase(s.Base, p, foot, middle, eps)
		}
		q := s.Parts[i-1]
		top := q.Top.Places()
		// The middle of what stands on a slider is its carriage, foremost.
		below := func(carriage float64) float64 {
			if q.Kind == Slider {
				return carriage + float64(*q.Travel)/2 - leftOver(q)/2
			}
			return carriage
		}
		if len(foot) == 0 || len(top) == 0 {
			return down(i-1, below(middle))
		}
		for _, t := range top {
			m := middle + float64(foot[0].X) - float64(t.X)
			if meets(foot, top, middle-m, eps) && down(i-1, below(m)) {
				return true
			}
		}
		return false
	}
	return down(len(s.Parts)-1, x)
}

// leftOver is the part of a slider's travel that no pitch reaches.
func leftOver(p *Part) float64 {
	return math.Mod(float64(*p.Travel)+1e-9, float64(*p.Pitch))
}

func meets(foot, top []Place, by, eps float64) bool {
	for _, f := range foot {
		hit := false
		for _, t := range top {
			hit = hit || math.Abs(float64(f.X)+by-float64(t.X)) <= 0.25e-3+eps && math.Abs(float64(f.Y-t.Y)) <= 0.25e-3+eps
		}
		if !hit {
			return false
		}
	}
	return true
}

func (w *world) onBase(base string, p *Part, foot []Place, a, eps float64) bool {
	c := w.chassis
	for i := range c.Zones {
		if z := &c.Zones[i]; z.What == "keep-free" && p.Ahead != nil && p.Behind != nil {
			if a+float64(*p.Behind) > float64(*z.From)+eps && a-float64(*p.Ahead) < float64(*z.To)-eps && *z.From+*p.Ahead+*p.Behind > 0 {
				return false
			}
		}
	}
	switch base {
	case OnAngles:
		if c.Angles.From != nil && p.Ahead != nil && a-float64(*p.Ahead) < float64(*c.Angles.From)-eps {
			return false
		}
		if c.Angles.To != nil && p.Behind != nil && a+float64(*p.Behind) > float64(*c.Angles.To)+eps {
			return false
		}
		top := c.Angles.Top.Places()
		return len(foot) == 0 || len(top) == 0 || meets(foot, top, a, eps)
	case OnSubframe:
		return true // no holes are drawn for it
	}
	have := c.Frame.Holes.Places()
	there := len(foot) > 0 && len(have) > 0 && meets(foot, have, a, eps)
	if there {
		return true
	}
	drill := c.Frame.Drill
	if drill != nil && !*drill {
		return len(foot) == 0 || len(have) == 0
	}
	if drill == nil && len(foot) > 0 && len(have) > 0 && len(shifts(foot, have)) > 0 {
		return false // holes that are there serve, so no new ones are proposed
	}
	for _, f := range foot {
		x := a + float64(f.X)
		for i := range c.Zones {
			if z := &c.Zones[i]; z.What == "no-holes" && x+float64(f.D)/2 > float64(*z.From)+eps && x-float64(f.D)/2 < float64(*z.To)-eps {
				return false
			}
		}
		for _, h := range have {
			if c.Frame.Apart == nil {
				continue
			}
			dx, dy := math.Abs(x-float64(h.X)), math.Abs(float64(f.Y-h.Y))
			if dx <= 0.25e-3+eps && dy <= 0.25e-3 {
				continue
			}
			if math.Hypot(dx, dy) < float64(*c.Frame.Apart)-eps {
				return false
			}
		}
	}
	return true
}

// short is how much the tolerance would have to be wider at x, a slider's
// travel included; the clearance formulas compute the heights.
func (w *world) short(s Stack, x float64) float64 {
	g := groundOf(w.chassis, Datum{Rear: w.rear})
	at, between := s.raises()
	travel := 0.0
	if sl := s.part(Slider); sl != nil {
		travel = float64(*sl.Travel) - leftOver(sl)
	}
	worst := math.Inf(-1)
	for i := range w.windows {
		v := &w.windows[i]
		for k := range 41 {
			if travel == 0 && k > 0 {
				break
			}
			place := unit.Length(x + travel*float64(k)/40)
			best := math.Inf(1)
			off := func(raise unit.Length) (up, down float64) { // height too high, too low
				h := s.heightAt(w.chassis, &g, place, raise, w.imposed)
				up, down = math.Inf(-1), math.Inf(-1)
				if v.Unladen != nil {
					up, down = math.Max(up, float64(*h.Unladen-*v.Unladen)), math.Max(down, float64(*v.Unladen-*h.Unladen))
				}
				if v.Laden != nil && h.Laden != nil {
					up, down = math.Max(up, float64(*h.Laden-*v.Laden)), math.Max(down, float64(*v.Laden-*h.Laden))
				}
				return up, down
			}
			try := func(raise unit.Length) {
				up, down := off(raise)
				best = math.Min(best, math.Max(up, down)-float64(*v.Tolerance))
			}
			for _, r := range at {
				try(r)
			}
			if between { // raised by q, up grows by q and down falls by q
				up, down := off(0)
				if !math.IsInf(up, 0) {
					try(min(max(unit.Length(down-up)/2, 0), at[1]))
				}
			}
			worst = math.Max(worst, best)
		}
	}
	return worst
}

func (w *world) lawful(s Stack, x, eps float64) bool {
	travel, pitch := 0.0, 1.0
	if sl := s.part(Slider); sl != nil {
		travel, pitch = float64(*sl.Travel)-leftOver(sl), float64(*sl.Pitch)
	}
	if x < float64(w.zone.From)-eps || x+travel > float64(w.zone.To)+eps {
		return false
	}
	for _, set := range w.trailers {
		ok := false
		for k := 0; float64(k)*pitch <= travel+1e-9; k++ {
			for _, p := range set.and(Spans{w.zone}) {
				v := x + float64(k)*pitch
				ok = ok || float64(p.From)-eps <= v && v <= float64(p.To)+eps
			}
		}
		if !ok {
			return false
		}
	}
	return true
}

func TestSearchAgainstEveryOrderAndMillimetre(t *testing.T) {
	seen := map[string]int{}
	for range 4 { // a catalogue takes less than a millisecond
		rapid.Check(t, func(t *rapid.T) { againstEvery(t, seen) })
	}
	if seen["found"] < 10 || seen["none"] < 10 || seen["height"] < 5 || seen["position"] < 5 || seen["strength"] < 1 {
		t.Errorf("the random catalogues came out as %v: too few of one kind to prove anything", seen)
	}
}

func againstEvery(t *rapid.T, seen map[string]int) {
	w := worldGen(t)
	s := w.search()
	s.judge()
	s.index()
	found := map[string]Spans{}
	s.all(func(b *branch, set Spans, travel, pitch unit.Length, p *Positions) {
		found[s.stack(b).String()] = set
	})
	const eps = 1e-6
	accepts := func(st Stack, x, eps float64) bool {
		return w.at(st, x, eps) && w.lawful(st, x, eps) && w.short(st, x) <= eps
	}
	any := false
	w.every(func(st Stack) {
		if !w.good(st) {
			if found[st.String()] != nil {
				t.Fatalf("%s was found and is too weak or of the wrong size", st)
			}
			return
		}
		set := found[st.String()]
		delete(found, st.String())
		for x := w.zone.From; x <= w.zone.To+1e-9; x += 1e-3 {
			v := math.Round(float64(x)*1e3) * 1e-3
			has := set.Contains(unit.Length(v))
			if accepts(st, v, -eps) && !has {
				t.Fatalf("%s may stand at %.4f m and the search has only %v", st, v, set)
			}
			if has && !accepts(st, v, eps) {
				t.Fatalf("%s may not stand at %.4f m (at %v, lawful %v, short %g) and the search has %v", st, v, w.at(st, v, eps), w.lawful(st, v, eps), w.short(st, v), set)
			}
		}
		for _, p := range set {
			any = true
			if v := float64(p.From+p.To) / 2; !accepts(st, v, eps) {
				t.Fatalf("%s may not stand at %.6f m, the middle of %v", st, v, set)
			}
		}
	})
	for name := range found {
		t.Fatalf("%s was found and is no order of parts that stands", name)
	}
	if any {
		seen["found"]++
		return
	}
	seen["none"]++
	w.checkNearest(t, s, seen)
}

// checkNearest holds the nearest miss of the height against trying every stack
// and millimetre.
func (w *world) checkNearest(t *rapid.T, s *search, seen map[string]int) {
	least, which := math.Inf(1), ""
	w.every(func(st Stack) {
		if !w.good(st) || len(w.windows) == 0 {
			return
		}
		for x := w.zone.From; x <= w.zone.To+1e-9; x += 1e-3 {
			v := math.Round(float64(x)*1e3) * 1e-3
			if w.at(st, v, 1e-9) && w.lawful(st, v, 1e-9) {
				if d := w.short(st, v); d < least {
					least, which = d, st.String()
				}
			}
		}
	})
	var miss *Miss
	all := s.nearest()
	for i := range all {
		seen[all[i].Kind]++
		if all[i].Kind == "height" {
			miss = &all[i]
		}
	}
	switch {
	case math.IsInf(least, 1):
	case miss == nil:
		t.Fatalf("no nearest height, and %s is %.6f m off", which, least)
	default:
		if by := miss.By * 1e-3; !(by <= least+1e-5 && by >= least-2e-4) {
			t.Fatalf("nearest height %.6f m (%s), and trying gives %.6f m (%s)", by, miss.Stack, least, which)
		}
	}
	if len(all) == 0 {
		t.Fatalf("nothing was found and nothing came near")
	}
}
