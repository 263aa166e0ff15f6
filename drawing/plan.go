package drawing

import (
	"fmt"
	"math"
	"strings"

	"underpin/assess"
	"underpin/clearance"
	"underpin/scene"
	"underpin/unit"
	"underpin/vehicle"
)

// Layers of the plan.
var (
	swingLine = scene.Layer{Name: "swing", Line: scene.RoleInk, Width: scene.W25, Dash: scene.DashDot}
	ghostLine = scene.Layer{Name: "ghost", Line: scene.RoleThin, Width: scene.W25}
)

// Plan draws the combination from above, facing left, straight, with what
// swings about the kingpin: the front of the semi-trailer past the cab, and the
// tractor's rear corners past legs and boxes. A ghost shows the front turned.
func Plan(p *assess.Pairing, r *assess.Result, o Options) *scene.Scene {
	g := newRig(p, r, o)
	for _, f := range []struct {
		name string
		l    *unit.Length
	}{{"width of the tractor", p.Tractor.Width}, {"width of the semi-trailer", p.Trailer.Width}} {
		g.take(f.name, f.l, 0)
	}
	from, to := g.extent()
	cut := 0.0
	if o.Phone { // only the part about the coupling, large enough to read
		cut = g.ghostCut() + 1200
		to = g.xk.mm + cut
	}
	v := start(g, "plan", g.pairName()+", "+g.word("plan"), from, to)
	left, right := o.margins()
	v.Line(scene.Centre, scene.Pt{X: from - v.Mm(left*0.5)}, scene.Pt{X: to + v.Mm(right*0.5)})

	c := g.cabOf()
	front := v.front()
	v.Group(v.tag("tractor", "tractor"), func() { v.planTractor(c) })
	v.Group(v.tag("slide", "moves-with-lead", v.moves(v.Scale())...), func() {
		v.planTrailer(scene.Body.Filled(scene.NoRole), 0, cut)
		v.planUnder()
	})
	v.Group(v.tag("ghost", "ghost"), func() { v.ghost(front) })
	v.Group(scene.Tag{Class: "settled swings"}, func() {
		v.frontSwing(front, c)
		v.rearSwing()
		v.widths(from)
	})
	v.notes()
	v.block(true, false)
	v.Desc = v.describePlan(front)
	return v.Scene
}

// A swing is the front of the semi-trailer as it turns about the kingpin.
type swing struct {
	radius  size       // of the farthest point
	bearing unit.Angle // of that point from the semi-trailer's own axis
	what    string
}

// front finds the point of the front that swings farthest.
func (v *view) front() swing {
	s := v.p.Trailer
	out := swing{what: v.word("front corner")}
	corner := unit.Length(0)
	if s.Corner != nil {
		corner = *s.Corner
	}
	if f, err := clearance.SwingRadius(clearance.Nose{Overhang: unit.Length(v.nose.mm / 1e3), Width: unit.Length(v.trailerWide.mm / 1e3), Corner: corner}); err == nil {
		out.radius, out.bearing = size{f.Radius.Millimetres(), v.nose.known && v.trailerWide.known}, f.Bearing
	} else {
		out.radius = size{math.Hypot(v.nose.mm, v.trailerWide.mm/2), false}
		out.bearing = unit.Angle(math.Atan2(v.trailerWide.mm/2, math.Max(v.nose.mm, 1)))
	}
	for i := range s.Nose {
		n := &s.Nose[i]
		if n.Ahead == nil || n.HalfWide == nil {
			out.radius.known = false
			continue
		}
		if r := math.Hypot(n.Ahead.Millimetres(), n.HalfWide.Millimetres()); r > out.radius.mm {
			out.radius.mm, out.bearing = r, unit.Angle(math.Atan2(n.HalfWide.Millimetres(), n.Ahead.Millimetres()))
			if out.what = n.Name; n.Name == "" {
				out.what = v.word("part ahead of the front wall")
			}
		}
	}
	return out
}

// over places a point of the semi-trailer in plan, mm behind the kingpin and to
// the left of its axis, turned about the kingpin.
func (v *view) over(behind, left float64, turned unit.Angle) scene.Pt {
	sin, cos := math.Sincos(float64(turned))
	return scene.Pt{X: v.xk.mm + behind*cos + left*sin, Y: behind*sin - left*cos}
}

// tyres draws the tyres of an axle from above. How wide they are is not known:
// thin lines.
func (v *view) tyres(w wheels, x, wide float64) {
	known := both(w.at, w.r)
	l := known.layer(scene.Detail)
	across := 300.0
	v.Line(l, scene.Pt{X: x, Y: -wide / 2}, scene.Pt{X: x, Y: wide / 2})
	for _, side := range []float64{-1, 1} {
		y := wide / 2
		n := 1
		if w.twin {
			n = 2
		}
		for range n {
			v.Rect(l, scene.Pt{X: x - w.r.mm, Y: side * y}, scene.Pt{X: x + w.r.mm, Y: side * (y - across)})
			y -= across + 40
		}
	}
}

func (v *view) planTractor(c cab) {
	wide := v.tractorWide.mm
	half := 400.0
	for i := range v.p.Tractor.Corners { // the frame is the corner nearest to the axis
		if k := &v.p.Tractor.Corners[i]; k.HalfWide != nil {
			half = math.Min(half, math.Max(k.HalfWide.Millimetres(), 100))
		}
	}
	known := both(v.frameEnd)
	for _, side := range []float64{-1, 1} {
		v.Line(known.layer(scene.Fine), scene.Pt{X: c.front.mm + 500, Y: side * half}, scene.Pt{X: v.frameEnd.mm, Y: side * half})
		v.Line(known.layer(scene.Detail), scene.Pt{X: c.front.mm + 500, Y: side * (half - 80)}, scene.Pt{X: v.frameEnd.mm, Y: side * (half - 80)})
	}
	v.Line(known.layer(scene.Fine), scene.Pt{X: v.frameEnd.mm, Y: -half}, scene.Pt{X: v.frameEnd.mm, Y: half})
	for _, w := range v.tractor {
		v.tyres(w, w.at.mm, wide-40)
	}
	// Corners at the rear, on both sides.
	for i := range v.p.Tractor.Corners {
		if k := &v.p.Tractor.Corners[i]; k.At != nil && k.HalfWide != nil {
			for _, side := range []float64{-1, 1} {
				x, y := k.At.Millimetres(), side*k.HalfWide.Millimetres()
				v.Polyline(scene.Fine, scene.Pt{X: x - 260, Y: y}, scene.Pt{X: x, Y: y}, scene.Pt{X: x, Y: y - side*math.Min(260, math.Abs(y))})
			}
		}
	}
	// Cab and what stands behind it.
	for i := range v.p.Tractor.Behind {
		if b := &v.p.Tractor.Behind[i]; b.At != nil {
			x := b.At.Millimetres()
			v.Line(scene.Fine, scene.Pt{X: x, Y: -wide/2 + 120}, scene.Pt{X: x, Y: wide/2 - 120})
		}
	}
	outer := both(c.front, c.back, v.tractorWide).layer(scene.Outline.Filled(scene.RoleSheet))
	h := wide / 2
	v.Polygon(outer, outline(corner{c.front.mm, -h, 330}, corner{c.front.mm, h, 330}, corner{c.back.mm, h, 60}, corner{c.back.mm, -h, 60})...)
	v.Polyline(both(c.front, v.tractorWide).layer(scene.Detail), bend([]corner{{c.front.mm + 480, -h + 60, 0}, {c.front.mm + 210, -h + 330, 200}, {c.front.mm + 210, h - 330, 200}, {c.front.mm + 480, h - 60, 0}}, false)...)
	if c.fitted && c.deflector.mm < c.back.mm {
		v.Line(c.deflector.layer(scene.Detail), scene.Pt{X: c.deflector.mm, Y: -h + 150}, scene.Pt{X: c.deflector.mm, Y: h - 150})
	}
}

// planTrailer draws the semi-trailer's outline turned about the kingpin. A cut
// above 0 breaks it off so far behind the kingpin.
func (v *view) planTrailer(l scene.Layer, turned unit.Angle, cut float64) {
	h := v.trailerWide.mm / 2
	if !both(v.nose, v.trailerWide).known || (cut == 0 && !v.tail.known) {
		l = l.As(scene.RoleUnknown)
	}
	r := 0.0
	if c := v.p.Trailer.Corner; c != nil {
		r = c.Millimetres()
	}
	turn := func(pts []scene.Pt) []scene.Pt {
		for i, p := range pts {
			pts[i] = v.over(p.X, p.Y, turned)
		}
		return pts
	}
	if cut <= 0 {
		v.Polygon(l, turn(outline(corner{-v.nose.mm, -h, r}, corner{-v.nose.mm, h, r}, corner{v.tail.mm, h, 0}, corner{v.tail.mm, -h, 0}))...)
	} else {
		z := v.Mm(2)
		v.Polyline(l, turn(bend([]corner{{cut, -h, 0}, {-v.nose.mm, -h, r}, {-v.nose.mm, h, r}, {cut, h, 0}}, false))...)
		v.Polyline(l, turn([]scene.Pt{{X: cut, Y: -h - z}, {X: cut, Y: -z}, {X: cut - z, Y: -z * 0.4}, {X: cut + z, Y: z * 0.4}, {X: cut, Y: z}, {X: cut, Y: h + z}})...)
	}
	for i := range v.p.Trailer.Nose {
		n := &v.p.Trailer.Nose[i]
		if n.Ahead == nil || n.HalfWide == nil {
			continue
		}
		x, y := -n.Ahead.Millimetres(), n.HalfWide.Millimetres()
		v.Polyline(l, turn([]scene.Pt{{X: -v.nose.mm, Y: -y}, {X: x, Y: -y}, {X: x, Y: y}, {X: -v.nose.mm, Y: y}})...)
	}
}

// planUnder draws what is under the semi-trailer: fifth wheel, kingpin, legs,
// wheels.
func (v *view) planUnder() {
	x := v.xk.mm
	known := both(v.xk)
	v.Polygon(known.layer(scene.Fine), outline(corner{x - 420, -450, 250}, corner{x - 420, 450, 250}, corner{x + 250, 450, 120}, corner{x + 520, 330, 60},
		corner{x + 460, 110, 60}, corner{x + 60, 50, 40}, corner{x + 60, -50, 40}, corner{x + 460, -110, 60}, corner{x + 520, -330, 60}, corner{x + 250, -450, 120})...)
	v.Circle(known.layer(scene.Solid), scene.Pt{X: x}, 45)
	v.Line(known.layer(scene.Centre), scene.Pt{X: x, Y: -v.trailerWide.mm/2 - v.Mm(2)}, scene.Pt{X: x, Y: v.trailerWide.mm/2 + v.Mm(2)})
	for _, w := range v.trailer {
		if !w.up && !v.o.Phone {
			v.tyres(w, x+w.at.mm, v.trailerWide.mm-40)
		}
	}
	if l := v.p.Trailer.Legs; l != nil && l.Behind != nil {
		b := x + l.Behind.Millimetres()
		h := v.trailerWide.mm/2 - 450 // how far apart they stand is not known
		v.Line(scene.Detail, scene.Pt{X: b, Y: -h}, scene.Pt{X: b, Y: h})
		for _, side := range []float64{-1, 1} {
			v.Rect(scene.Detail, scene.Pt{X: b - 60, Y: side*h - 60}, scene.Pt{X: b + 60, Y: side*h + 60})
		}
	}
}

// ghostCut is where the turned front is broken off, behind the kingpin: past
// everything that it swings by.
func (g *rig) ghostCut() float64 {
	cut := math.Max(g.clear.mm, 1500) + 500
	if l := g.p.Trailer.Legs; l != nil && l.Behind != nil {
		cut = math.Max(cut, l.Behind.Millimetres()+400)
	}
	return cut
}

// ghost draws the front of the semi-trailer turned.
func (v *view) ghost(f swing) {
	turned := v.o.Angle
	if turned == 0 {
		turned = f.bearing
	}
	cut := v.ghostCut()
	v.planTrailer(ghostLine, turned, cut)
	a, b := v.over(-v.nose.mm-v.Mm(3), 0, turned), v.over(cut+v.Mm(5), 0, turned)
	v.Line(scene.Centre, a, b)
	v.DimAngle(scene.Pt{X: v.xk.mm}, cut+v.Mm(2.5), 0, turned, scene.Dim{BareA: true, BareB: true, Height: v.text.figure})
}

// byID returns a finding; nil when there is none.
func (g *rig) byID(id string) *assess.Finding {
	for i := range g.r.Findings {
		if g.r.Findings[i].ID == id {
			return &g.r.Findings[i]
		}
	}
	return nil
}

// nearest returns what behind the cab comes nearest to the swinging front, as
// the findings have it; nil when nothing is known to.
func (v *view) nearest() (*vehicle.Obstacle, *assess.Finding) {
	var best *vehicle.Obstacle
	var finding *assess.Finding
	for i := range v.p.Tractor.Behind {
		o := &v.p.Tractor.Behind[i]
		name := o.Name
		if name == "" {
			name = fmt.Sprintf("point %d behind the cab", i+1)
		}
		f := v.byID("clear.cab." + assess.Slug(name))
		if f == nil || o.At == nil || math.IsNaN(f.Value) {
			continue
		}
		if finding == nil || f.Value < finding.Value {
			best, finding = o, f
		}
	}
	return best, finding
}

// frontSwing draws the circle of the front, and the gap behind the cab straight
// and swung.
func (v *view) frontSwing(f swing, c cab) {
	pin := scene.Pt{X: v.xk.mm}
	r := f.radius
	known := both(r, v.xk)
	v.Arc(known.layer(swingLine), pin, r.mm, 100*unit.Degree, 260*unit.Degree)
	radius := scene.Dim{Text: "R\u00a0" + v.length(r.mm), Height: v.text.figure, Unknown: !known.known}
	if !known.known {
		radius.Text = "R\u00a0?"
	}
	v.DimRadius(pin, r.mm, 152*unit.Degree, radius)

	o, finding := v.nearest()
	if o == nil {
		return
	}
	y := -math.Max(v.tractorWide.mm, v.trailerWide.mm) / 2
	reach := -f.radius.mm * math.Sin(math.Min(math.Pi/2, 2*float64(f.bearing)))
	y = math.Min(y, reach)
	x := o.At.Millimetres()
	name := o.Name
	if name == "" {
		name = v.word("cab")
	}
	// Straight: to the foremost of front wall and parts on it.
	wall := v.nose.mm
	for i := range v.p.Trailer.Nose {
		if a := v.p.Trailer.Nose[i].Ahead; a != nil {
			wall = math.Max(wall, a.Millimetres())
		}
	}
	straight := scene.Dim{A: scene.Pt{X: x, Y: -v.tractorWide.mm/2 + 120}, B: scene.Pt{X: v.xk.mm - wall, Y: -v.trailerWide.mm / 2}, Height: v.text.figure, Before: true, Unknown: !both(v.xk, v.nose).known}
	straight.Text = v.word("straight") + "\u00a0" + v.length(straight.B.X-x)
	swung := scene.Dim{A: straight.A, B: scene.Pt{X: v.xk.mm - r.mm, Y: 0}, BareA: true, Height: v.text.figure, Before: true, Unknown: straight.Unknown}
	swung.Text = v.word("swung") + "\u00a0" + v.length(finding.Unit.ToSI(finding.Value)*1e3)
	if state := v.worst(func(g *assess.Finding) bool { return g.ID == finding.ID }); state == scene.RoleFails {
		swung.Text, swung.Role = sign(state)+swung.Text, state
	}
	v.DimHorizontal(y-v.Mm(9), straight)
	v.DimHorizontal(y-v.Mm(9+rowGap), swung)
	if v.o.Phone {
		return
	}
	v.Text(scene.Text{At: scene.Pt{X: x - v.Mm(1.5), Y: y - v.Mm(3)}, S: v.word("gap to the") + " " + name, Height: v.text.label, H: scene.Right, Role: scene.RoleMuted, Halo: true})
}

// rearSwing draws the circle that the tractor's rear keeps inside of, and the one
// that is free of legs and boxes.
func (v *view) rearSwing() {
	pin := scene.Pt{X: v.xk.mm}
	var far *vehicle.Corner
	most := 0.0
	for i := range v.p.Tractor.Corners {
		k := &v.p.Tractor.Corners[i]
		if k.At == nil || k.HalfWide == nil {
			continue
		}
		if r := math.Hypot(k.At.Millimetres()-v.xk.mm, k.HalfWide.Millimetres()); r > most {
			most, far = r, k
		}
	}
	clear := v.p.Trailer.Clear != nil
	if clear {
		v.Arc(v.xk.layer(swingLine), pin, v.clear.mm, -62*unit.Degree, 62*unit.Degree)
	}
	if far == nil && !clear {
		return
	}
	low := -math.Max(v.tractorWide.mm, v.trailerWide.mm) / 2
	note := func(r float64, bearing unit.Angle, n int, text string, role scene.Role) {
		if v.o.Phone { // no room beside: a list below
			b := v.Bounds()
			v.Text(scene.Text{At: scene.Pt{X: b.Min.X, Y: b.Min.Y - v.Mm(4.5)}, S: text, Height: v.text.figure, Role: role})
			return
		}
		tip := pin.Add(r*math.Cos(float64(bearing)), r*math.Sin(float64(bearing)))
		v.Leader(scene.Note{Tip: tip, Elbow: scene.Pt{X: v.xk.mm + v.Mm(34), Y: low - v.Mm(8+float64(n)*7)}, Lines: []string{text}, Height: v.text.figure, Role: role})
	}
	if clear {
		note(v.clear.mm, -48*unit.Degree, 0, v.word("clear about the pin")+" R\u00a0"+v.length(v.clear.mm), scene.RoleInk)
	}
	if far == nil {
		return
	}
	v.Arc(v.xk.layer(swingLine), pin, most, -62*unit.Degree, 62*unit.Degree)
	name := far.Name
	if name == "" {
		name = v.word("rear corner")
	}
	text := fmt.Sprintf("%s %s R\u00a0%s", name, v.word("swings"), v.length(most))
	role := scene.RoleInk
	if f := v.byID("clear.legs." + assess.Slug(name)); f != nil && !math.IsNaN(f.Value) {
		text += ", " + v.length(f.Unit.ToSI(f.Value)*1e3) + " " + v.word("left")
		if state := v.worst(func(g *assess.Finding) bool { return g.ID == f.ID }); state == scene.RoleFails {
			role, text = state, sign(state)+text
		}
	}
	note(most, -61*unit.Degree, 1, text, role)
}

// widths draws the overall widths.
func (v *view) widths(from float64) {
	if v.o.Phone {
		return
	}
	dim := func(x, at float64, wide size) {
		d := scene.Dim{A: scene.Pt{X: at, Y: -wide.mm / 2}, B: scene.Pt{X: at, Y: wide.mm / 2}, Height: v.text.figure, Text: v.length(wide.mm), Unknown: !wide.known}
		if !wide.known {
			d.Text = v.word("not known")
		}
		v.DimVertical(x, d)
	}
	dim(from-v.Mm(9), from+330, v.tractorWide)
	rear := v.xk.mm + v.tail.mm
	dim(rear+v.Mm(9), rear, v.trailerWide)
}

func (v *view) describePlan(f swing) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s. ", v.word("Plan, facing left"), v.pairName())
	if f.radius.known {
		fmt.Fprintf(&b, "%s: %s R %s. ", v.word("front swings about the kingpin"), f.what, v.length(f.radius.mm))
	}
	if o, finding := v.nearest(); o != nil {
		fmt.Fprintf(&b, "%s %s: %s. ", v.word("left behind the"), o.Name, v.length(finding.Unit.ToSI(finding.Value)*1e3))
	}
	if len(v.missing) > 0 {
		b.WriteString(v.word("Not known") + ": " + strings.Join(v.missing, "; ") + ".")
	}
	return strings.TrimSpace(b.String())
}
