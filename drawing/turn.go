package drawing

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"underpin/assess"
	"underpin/scene"
	"underpin/turning"
	"underpin/unit"
)

// Layers of the turn.
var (
	sweptFill  = scene.Layer{Name: "swept", Fill: scene.RoleShade}
	legalLine  = scene.Layer{Name: "legal", Line: scene.RoleInk, Width: scene.W25, Dash: scene.DashDot}
	bodyLine   = scene.Layer{Name: "inner-body", Line: scene.RoleInk, Width: scene.W25}
	poseLine   = scene.Layer{Name: "pose", Line: scene.RoleThin, Width: scene.W18}
	nowLine    = scene.Layer{Name: "pose-now", Line: scene.RoleInk, Width: scene.W50, Fill: scene.RoleSheet}
	tailLine   = scene.Layer{Name: "tail", Line: scene.RoleInk, Width: scene.W35}
	foldedLine = scene.Layer{Name: "pose-folded", Line: scene.RoleFails, Width: scene.W50, Fill: scene.RoleSheet}
)

// A ring is the circle of a turn with what the law asks of it, in SI; NaN where
// it asks nothing.
type ring struct {
	name                                 string
	outer, inner, most, swing            float64
	innerState, ringState, swingOutState scene.Role
}

// ringOf reads the circle and its limits off the result.
func (g *rig) ringOf() (ring, bool) {
	nan := math.NaN()
	r := ring{inner: nan, most: nan, swing: nan}
	for i := range g.r.Findings {
		f := &g.r.Findings[i]
		var limit *float64
		var state *scene.Role
		switch f.Quantity {
		case "ring-inner":
			limit, state = &r.inner, &r.innerState
		case "ring-width":
			limit, state = &r.most, &r.ringState
		case "swing-out":
			limit, state = &r.swing, &r.swingOutState
		default:
			continue
		}
		if !math.IsNaN(*limit) {
			continue // the tightest stands first
		}
		*limit = f.Unit.ToSI(f.Limit)
		*state = g.worst(func(other *assess.Finding) bool { return other.ID == f.ID })
		if g.p.Law == nil || r.outer > 0 {
			continue
		}
		for _, rule := range g.p.Law.Rules {
			if rule.OuterRadius > 0 && strings.HasPrefix(f.ID, rule.ID) {
				r.outer = float64(rule.OuterRadius)
			}
		}
	}
	if c := g.o.Circle; c != nil {
		r = ring{name: c.Name, outer: float64(c.Outer), inner: nan, most: nan, swing: nan}
		if c.Inner > 0 {
			r.inner = float64(c.Inner)
		}
	}
	return r, r.outer > 0 && !math.IsInf(r.outer, 0)
}

// A turn is a drawing of a turn in the making.
type turn struct {
	*view
	ring
	in    turning.LegalInput
	poses []turning.Pose // close together
	lap   turning.LegalResult
	fault error // why there is no lap
}

// Turning draws the combination led once round the legal circle by its outer
// front corner, from a straight: the ring that it sweeps, several poses, how far
// the tail swings out on entering, and what the law asks. A combination that
// cannot go round is drawn as far as it comes.
func Turning(p *assess.Pairing, r *assess.Result, o Options) *scene.Scene {
	g := newRig(p, r, o)
	g.missing = nil // heights and the like play no part here
	c, ok := g.ringOf()
	in, missing := g.p.TurnInput(g.r.Setting, unit.Length(c.outer))
	R := 12500.0
	if ok {
		R = c.outer * 1e3
	}
	long := g.xk.mm + g.tail.mm + math.Max(g.overhang.mm, 0)
	v := startTurn(g, math.Max(long, R)+1000, R)
	t := &turn{view: v, ring: c, in: in}
	g.missing = missing
	switch {
	case !ok:
		v.Text(scene.Text{S: g.word("This rulebook sets no turning circle."), Height: v.text.figure})
		v.Text(scene.Text{At: scene.Pt{Y: -v.Mm(5)}, S: g.word("Choose a circle to see the turn."), Height: v.text.label, Role: scene.RoleMuted})
		g.missing = nil
	case len(missing) > 0:
		t.circles()
	default:
		t.lap, t.fault = turning.LegalCircle(in)
		t.trace()
		t.draw()
	}
	v.notes()
	v.block(false, false)
	t.circleCell(ok)
	v.Desc = t.describe(ok)
	return v.Scene
}

// circleCell says in the title block which circle it is.
func (t *turn) circleCell(known bool) {
	if t.o.NoBlock || !known {
		return
	}
	value := "R\u00a0" + t.radius(t.outer*1e3)
	if r := t.legalInner(); r > 0 {
		value += " " + t.word("and") + " " + t.radius(r*1e3)
	}
	if t.o.Circle != nil && t.ring.name != "" {
		value = t.ring.name + ", " + value
	}
	t.Block = append(t.Block, scene.Cell{Label: t.word("circle"), Value: value, Weight: 2})
}

// startTurn opens a drawing with room for a circle and, to its left, the
// combination as it enters.
func startTurn(g *rig, entry, R float64) *view {
	pad, w := 8.0, g.o.width()
	high := 150.0
	if g.o.Phone {
		pad, high = 4, math.Inf(1)
	}
	beside := 52.0 // of the figures
	if g.o.Phone {
		beside = 0
	}
	scale := math.Max(scaleFor(entry+R+1500, w-2*pad-2-beside), scaleFor(2*R+2500, high))
	s := scene.New(g.o.scaled(scale))
	s.Pad, s.Width = pad, w
	s.Title = g.pairName() + ", " + g.word("turning circle")
	id := "turn"
	if g.o.ID != "" {
		id = g.o.ID
	}
	return &view{Scene: s, rig: g, id: id}
}

func (t *turn) centre() scene.Pt { return scene.Pt{Y: t.outer * 1e3} }

// circles draws the legal circles and the line of entry.
func (t *turn) circles() {
	c := t.centre()
	t.Circle(legalLine, c, t.outer*1e3)
	if t.legalInner() > 0 {
		t.Circle(legalLine, c, t.legalInner()*1e3)
	}
	t.CentreMark(c, t.Mm(2.5))
	t.Line(legalLine, scene.Pt{X: -t.entry() - t.Mm(2)}, scene.Pt{})
}

func (t *turn) entry() float64 {
	return t.xk.mm + t.tail.mm + math.Max(t.overhang.mm, 0)
}

// legalInner is the radius of the circle that must stay free, m; 0 when the law
// sets none.
func (t *turn) legalInner() float64 {
	switch {
	case !math.IsNaN(t.inner):
		return t.inner
	case !math.IsNaN(t.most):
		return math.Max(0, t.outer-t.most)
	}
	return 0
}

// sides returns the outline of one unit in a pose.
func (t *turn) sides(p turning.Pose, i int) []scene.Pt {
	u := p.Units[i]
	front, rear, half := t.in.Tractor.Front, t.in.Tractor.Rear, t.in.Tractor.Width/2
	if i > 0 {
		l := t.in.Trailer.PinToBogie
		front, rear, half = t.in.Trailer.FrontOverhang+l, t.in.Trailer.RearEnd-l, t.in.Trailer.Width/2
	}
	return []scene.Pt{pt(u.Point(front, half)), pt(u.Point(front, -half)), pt(u.Point(-rear, -half)), pt(u.Point(-rear, half))}
}

func (t *turn) draw() {
	if len(t.poses) == 0 {
		t.circles()
		return
	}
	t.Group(t.tag("swept", "swept"), func() {
		for k, p := range t.poses {
			if k%paintEvery == 0 || k == len(t.poses)-1 {
				for i := range p.Units {
					t.Polygon(sweptFill, t.sides(p, i)...)
				}
			}
		}
	})
	t.circles()
	going := t.fault == nil
	t.Group(t.tag("poses", "poses"), func() {
		for _, deg := range []float64{0, 40, 90, 145} {
			if p, ok := t.poseAt(deg); ok && (going || deg < 30) {
				t.pose(poseLine, p)
			}
		}
	})
	if going {
		t.Group(t.tag("inner", "inner-body"), func() { t.envelope() })
	}
	t.swingOut()
	t.Group(t.tag("now", "pose"), func() {
		if !going {
			t.pose(foldedLine, t.poses[len(t.poses)-1])
			return
		}
		if p, ok := t.poseAt(215); ok {
			t.pose(nowLine, p)
			t.fold(p)
		}
	})
	t.Group(scene.Tag{Class: "settled dims"}, func() { t.figuresOfTurn() })
}

// poseAt returns the pose nearest to an angle turned, in degrees.
func (t *turn) poseAt(deg float64) (turning.Pose, bool) {
	along := deg * math.Pi / 180 * t.outer
	best, ok := turning.Pose{}, false
	for _, p := range t.poses {
		if !ok || math.Abs(float64(p.Along)-along) < math.Abs(float64(best.Along)-along) {
			best, ok = p, true
		}
	}
	return best, ok && math.Abs(float64(best.Along)-along) < 2*poseStep
}

// pose draws tractor and semi-trailer, their axles and the kingpin.
func (t *turn) pose(l scene.Layer, p turning.Pose) {
	for i := range p.Units {
		t.Polygon(l, t.sides(p, i)...)
	}
	thin := l.Filled(scene.NoRole)
	thin.Width = scene.W18
	thin.Name += "-axle"
	axle := func(u turning.UnitPose, ahead, half unit.Length) {
		t.Line(thin, pt(u.Point(ahead, half)), pt(u.Point(ahead, -half)))
	}
	front := t.in.Tractor.Front - unit.Length(t.overhang.mm/1e3) // of the front axle
	for _, w := range t.tractor {
		if !w.up {
			axle(p.Units[0], front-unit.Length(w.at.mm/1e3), t.in.Tractor.Width/2)
		}
	}
	for _, w := range t.trailer {
		if !w.up {
			axle(p.Units[1], t.in.Trailer.PinToBogie-unit.Length(w.at.mm/1e3), t.in.Trailer.Width/2)
		}
	}
	// The cab's back, if it is known.
	if c := t.cabOf(); c.back.known {
		axle(p.Units[0], front-unit.Length(c.back.mm/1e3), t.in.Tractor.Width/2)
	}
	t.Circle(scene.Solid.As(l.Line), pt(p.Units[1].Hitch), t.Mm(0.45))
}

// swingOut draws the path of the outer rear corner while it crosses the line of
// entry.
func (t *turn) swingOut() {
	l := t.in.Trailer.PinToBogie
	rear, half := t.in.Trailer.RearEnd-l, t.in.Trailer.Width/2
	var path []scene.Pt
	lowest := 0
	for i, p := range t.poses {
		if float64(p.Along) > math.Pi*t.outer {
			break
		}
		q := pt(p.Units[1].Point(-rear, -half))
		path = append(path, q)
		if q.Y < path[lowest].Y {
			lowest = i
		}
		if q.Y > 600 && i > 25 {
			break
		}
	}
	if len(path) < 3 {
		return
	}
	t.Polyline(tailLine, path...)
	out := -path[lowest].Y
	if t.fault == nil {
		out = t.lap.SwingOutRear.Millimetres()
	}
	if !(out > 1) {
		return
	}
	text := t.word("swing-out") + "\u00a0" + t.radius(out)
	role := scene.RoleInk
	if !math.IsNaN(t.swing) {
		text += " " + t.word("of") + " " + t.radius(t.swing*1e3)
		if t.swingOutState == scene.RoleFails {
			role, text = scene.RoleFails, sign(scene.RoleFails)+text
		}
	}
	tip := path[lowest]
	w := scene.TextWidth(text, t.text.figure, false)
	elbow := tip.Add(t.Mm(5), -t.Mm(7))
	if t.o.Phone && elbow.X+t.Mm(w) > t.outer*1e3 {
		elbow.X = t.outer*1e3 - t.Mm(w+1)
	}
	t.Leader(scene.Note{Tip: tip, Elbow: elbow, Lines: []string{text}, Height: t.text.figure, Role: role})
}

// fold draws the articulation of a pose.
func (t *turn) fold(p turning.Pose) {
	tractor, trailer := p.Units[0].Heading+math.Pi, p.Units[1].Heading+math.Pi
	if tractor-trailer < 0.01 {
		return
	}
	t.DimAngle(pt(p.Units[1].Hitch), t.Mm(11), trailer, tractor, scene.Dim{Height: t.text.figure, Text: unit.Digits(p.Units[1].Articulation.Degrees(), 1) + "°"})
}

// figuresOfTurn letters radii and widths against what the law asks.
func (t *turn) figuresOfTurn() {
	c := t.centre()
	h := t.text.figure
	t.DimRadius(c, t.outer*1e3, -38*unit.Degree, scene.Dim{Text: "R\u00a0" + t.radius(t.outer*1e3), Height: h})
	if r := t.legalInner(); r > 0 {
		t.DimRadius(c, r*1e3, 240*unit.Degree, scene.Dim{Text: "R\u00a0" + t.radius(r*1e3), Height: h})
	}
	if t.fault != nil {
		why := t.fault.Error()
		var none *unit.NoAnswerError
		if errors.As(t.fault, &none) {
			why = none.Why
		}
		lines := []line{{t.word("Does not go round"), scene.RoleFails, true}}
		for _, s := range wrap(why, h, t.room()) {
			lines = append(lines, line{s, scene.RoleFails, false})
		}
		t.beside(lines)
		return
	}
	limit := func(word string, v float64) string {
		if math.IsNaN(v) {
			return ""
		}
		return t.word(word) + " " + t.radius(v*1e3)
	}
	var lines []line
	add := func(name, value, limit string, state scene.Role) {
		l := line{name + " " + value, scene.RoleInk, true}
		if state == scene.RoleFails || state == scene.RoleCaution || state == scene.RoleUnknown {
			l.s, l.role = sign(state)+l.s, state
		}
		if t.o.Phone && limit != "" {
			l.s, limit = l.s+", "+limit, ""
		}
		lines = append(lines, l)
		if limit != "" {
			lines = append(lines, line{limit, scene.RoleMuted, false})
		}
	}
	add(t.word("inner radius"), t.radius(t.lap.Inner.Millimetres()), limit("at least", t.inner), t.innerState)
	if t.lap.HasSteady {
		lines = append(lines, line{t.word("in an endless circle") + " " + t.radius(t.lap.Steady.Inner.Millimetres()), scene.RoleMuted, false})
	}
	add(t.word("ring"), t.radius(t.lap.Ring.Millimetres()), limit("at most", t.most), t.ringState)
	add(t.word("articulation up to"), unit.Digits(t.lap.ArticulationMax.Degrees(), 1)+"°", "", scene.NoRole)
	if !t.lap.HasSteady {
		for _, s := range wrap(t.word("no steady circle: it would fold up if the turn went on"), t.text.label, t.room()) {
			lines = append(lines, line{s, scene.RoleCaution, false})
		}
	}
	t.beside(lines)
	// The ring, measured where nothing stands in the way.
	in, out := t.lap.Inner.Millimetres(), t.outer*1e3
	if t.lap.OuterMax > t.in.Outer {
		out = t.lap.OuterMax.Millimetres()
	}
	bearing := 192 * unit.Degree
	at := func(r float64) scene.Pt {
		return c.Add(r*math.Cos(float64(bearing)), r*math.Sin(float64(bearing)))
	}
	t.DimAligned(0, scene.Dim{A: at(in), B: at(out), BareA: true, BareB: true, Text: t.word("ring") + " " + t.radius(out-in), Height: h})
}

// A line of the figures beside the circle.
type line struct {
	s    string
	role scene.Role
	bold bool
}

// room is how wide the figures beside the circle may be, on paper.
func (t *turn) room() float64 {
	if t.o.Phone {
		return t.o.width() - 12
	}
	return 44
}

// beside letters figures to the right of the circle; on a phone below it.
func (t *turn) beside(lines []line) {
	x, y := t.outer*1e3+t.Mm(7), t.outer*2e3-t.Mm(4)
	if t.o.Phone {
		b := t.Bounds()
		x, y = b.Min.X, b.Min.Y-t.Mm(6)
	}
	for i, l := range lines {
		h := t.text.figure
		if l.bold && i > 0 && !t.o.Phone {
			y -= t.Mm(1.6)
		}
		if l.role == scene.RoleMuted {
			h = t.text.label
		}
		t.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: l.s, Height: h, Role: l.role, Bold: l.bold})
		y -= t.Mm(t.text.figure * 1.75)
	}
}

func (t *turn) describe(known bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s. ", t.word("Turn, seen from above"), t.pairName())
	switch {
	case !known:
		b.WriteString(t.word("This rulebook sets no turning circle."))
	case len(t.missing) > 0:
		b.WriteString(t.word("Not known") + ": " + strings.Join(t.missing, "; ") + ".")
	case t.fault != nil:
		b.WriteString(t.word("Does not go round") + ".")
	default:
		fmt.Fprintf(&b, "%s R %s: %s %s, %s %s, %s %s, %s %s°.", t.word("led on"), t.radius(t.outer*1e3), t.word("inner radius"), t.radius(t.lap.Inner.Millimetres()),
			t.word("ring"), t.radius(t.lap.Ring.Millimetres()), t.word("swing-out"), t.radius(t.lap.SwingOut.Millimetres()),
			t.word("articulation up to"), unit.Digits(t.lap.ArticulationMax.Degrees(), 1))
	}
	return strings.TrimSpace(b.String())
}
