package drawing

import (
	"math"
	"strconv"

	"underpin/scene"
	"underpin/vehicle"
)

// A cab is what is known of the cab's outline, in mm from the front axle and
// above the ground.
type cab struct {
	front, back, roof, foot size // foot: where the cab's back begins above the frame
	top                     size // highest point, deflector included
	deflector               size // rear edge of what stands on the roof; its foot is the roof
	fitted                  bool // a deflector is known of
	parts                   []part
}

// A part stands behind the cab: tank, stack, housing.
type part struct{ from, at, bottom, top size }

// cabOf reads the cab from the points behind it. Which of them is the cab's own
// back and which a part of the roof is told from their names; everything else is
// a part of its own.
func (g *rig) cabOf() cab {
	t := g.p.Tractor
	c := cab{front: size{-g.overhang.mm, g.overhang.known}, top: g.cabTop, roof: g.cabTop, foot: size{g.frameTop.mm + 100, false}}
	found := false
	parts := []*vehicle.Obstacle{}
	for i := range t.Behind {
		o := &t.Behind[i]
		switch {
		case has(o.Name, "roof", "deflector", "fairing", "spoiler", "dach"):
			if o.At != nil {
				c.deflector, c.fitted = size{o.At.Millimetres(), true}, true
			}
			if o.Bottom != nil && !(found && c.roof.known) {
				c.roof = size{o.Bottom.Millimetres(), true}
			}
		case !found && (o.Name == "" || has(o.Name, "cab", "sleeper", "kabine", "fahrerhaus")):
			found = true
			c.back = g.take("", o.At, c.front.mm+standInCab)
			if o.Top != nil {
				c.roof = size{o.Top.Millimetres(), true}
			}
			if o.Bottom != nil {
				c.foot = size{o.Bottom.Millimetres(), true}
			}
		default:
			parts = append(parts, o)
		}
	}
	if !found {
		c.back = size{c.front.mm + standInCab, false}
		switch {
		case c.fitted:
			c.back.mm = c.deflector.mm
		case len(parts) > 0 && parts[0].At != nil:
			c.back.mm = math.Min(c.back.mm, parts[0].At.Millimetres()-250)
		}
		g.miss(g.word("back of the cab"))
	} else if !c.back.known {
		g.miss(g.word("back of the cab"))
	}
	if !(c.back.mm > c.front.mm+600) {
		c.back = size{c.front.mm + standInCab, false}
	}
	// An outline needs heights that stand in order; a slip in the data must not
	// turn it inside out.
	c.top.mm = math.Max(c.top.mm, c.foot.mm+900)
	if c.roof.mm > c.top.mm || c.roof.mm < c.foot.mm+600 {
		c.roof.mm = math.Min(c.top.mm, math.Max(c.roof.mm, c.foot.mm+600))
	}
	if !c.fitted && c.roof.mm < c.top.mm && has(partNames(t), "stack") {
		c.top.mm = c.roof.mm // the stack is what stands so high
	}
	for _, o := range parts {
		p := part{from: size{c.back.mm, false}, at: g.take("", o.At, c.back.mm+300), bottom: g.take("", o.Bottom, g.frameTop.mm+50), top: g.take("", o.Top, c.roof.mm)}
		if p.at.mm-p.from.mm < 60 {
			p.from.mm = p.at.mm - 200
		}
		if has(o.Name, "stack") {
			p.from.mm = math.Max(p.from.mm, p.at.mm-160)
		}
		c.parts = append(c.parts, p)
	}
	return c
}

func partNames(t *vehicle.Tractor) (all string) {
	for i := range t.Behind {
		all += t.Behind[i].Name + " "
	}
	return all
}

// frame draws the tractor's frame with the slider's rails and the corners at
// its rear.
func (v *view) frame(c cab) {
	g := v.rig
	top, depth := g.frameTop.mm, 265.0
	from := math.Min(c.front.mm+500, c.back.mm)
	if end := g.frameEnd.mm; end > from {
		v.Polygon(both(g.frameEnd, g.frameTop).layer(scene.Body), outline(
			corner{from, top, 0}, corner{end, top, 15}, corner{end, top - depth*0.55, 15}, corner{end - 220, top - depth, 60}, corner{from, top - depth, 0})...)
		v.Line(both(g.frameEnd, g.frameTop).layer(scene.Detail), scene.Pt{X: from, Y: top - 30}, scene.Pt{X: end, Y: top - 30})
		v.Line(both(g.frameEnd, g.frameTop).layer(scene.Detail), scene.Pt{X: from, Y: top - depth + 30}, scene.Pt{X: end - 180, Y: top - depth + 30})
	}
	if s := g.p.Tractor.FifthWheel.Slider; s != nil && s.Foremost != nil && s.Rearmost != nil {
		a, b := s.Foremost.Millimetres()-420, s.Rearmost.Millimetres()+420
		if end := g.frameEnd.mm; b > end {
			b = end
		}
		if b > a {
			v.Rect(g.frameTop.layer(scene.Body), scene.Pt{X: a, Y: top}, scene.Pt{X: b, Y: top + 45})
		}
	}
	for i := range g.p.Tractor.Corners {
		k := &g.p.Tractor.Corners[i]
		if k.At == nil || k.Height == nil || (k.Height.Millimetres() == top && k.At.Millimetres() == g.frameEnd.mm) {
			continue
		}
		x, y := k.At.Millimetres(), k.Height.Millimetres()
		v.Polyline(scene.Fine, bend([]corner{{x - 300, y + 40, 0}, {x - 60, y, 40}, {x, y, 30}, {x, y - 260, 0}}, false)...)
	}
}

// tractorWheels draws the tractor's wheels, which hide what is behind them.
func (v *view) tractorWheels() {
	for _, w := range v.rig.tractor {
		v.wheel("tractor", w, w.at.mm)
	}
}

// raised is how far a lifted wheel is drawn off the ground, mm: enough to see it.
const raised = 130.0

// wheel draws a wheel at x.
func (v *view) wheel(of string, w wheels, x float64) {
	data := []scene.Attr{{Name: "vehicle", Value: of}, {Name: "axle", Value: strconv.Itoa(w.number)}}
	v.Group(scene.Tag{Class: "wheel", Data: data}, func() {
		r := math.Max(w.r.mm, 50)
		y := r
		if w.up {
			y += raised
		}
		c := scene.Pt{X: x, Y: y}
		known := both(w.at, w.r)
		v.Circle(known.layer(scene.Outline.Filled(scene.RoleSheet)), c, r)
		rim := r * 0.58
		v.Circle(known.layer(scene.Fine), c, rim)
		if !known.known {
			return
		}
		v.Circle(scene.Detail, c, r*0.93)
		hub := r * 0.2
		if w.twin { // the outer wheel of a pair is dished inwards
			v.Circle(scene.Detail, c, rim*0.86)
			hub = r * 0.27
		}
		v.Circle(scene.Detail, c, hub)
		if v.o.Phone {
			return
		}
		for k := range 8 {
			a := (float64(k) + 0.5) * math.Pi / 4
			m := (hub + rim*0.8) / 2
			v.Circle(scene.Detail, c.Add(m*math.Cos(a), m*math.Sin(a)), r*0.028)
		}
	})
}

// cab draws the cab over everything behind it.
func (v *view) cab(c cab) {
	for _, p := range c.parts {
		v.Polygon(both(p.at, p.top, p.bottom).layer(scene.Body), outline(
			corner{p.from.mm, p.bottom.mm, 0}, corner{p.from.mm, p.top.mm, 25}, corner{p.at.mm, p.top.mm, 25}, corner{p.at.mm, p.bottom.mm, 0})...)
	}
	known := both(c.front, c.top)
	thin := known.layer(scene.Detail)
	bonnet := c.back.mm-c.front.mm > 2900
	cs, roof, foot := cabShape(c, v.rig.frontRadius(), bonnet)
	if both(known, c.back).known {
		v.Polygon(scene.Outline.Filled(scene.RoleSheet), outline(cs...)...)
	} else { // only the edges that are not known are dashed
		v.Polygon(gap, outline(cs...)...)
		v.Polyline(known.layer(scene.Outline), bend(cs[:roof+1], false)...)
		v.Polyline(c.back.layer(scene.Outline), bend(cs[roof:foot+1], false)...)
		v.Polyline(known.layer(scene.Outline), bend(append(cs[foot:len(cs):len(cs)], cs[0]), false)...)
	}
	glass := known.layer(scene.Glass)
	if bonnet {
		v.bonnetDetails(c, thin, glass)
		return
	}
	v.cabDetails(c, thin, glass)
}

func (g *rig) frontRadius() float64 {
	if len(g.tractor) == 0 {
		return standInTyre
	}
	return math.Max(g.tractor[0].r.mm, 50)
}

// cabShape is the outline of a plain cab between its known points: front, roof,
// highest point, back and foot; the arch follows the front wheel. The back runs
// from corner roofEnd to corner footEnd.
func cabShape(c cab, r float64, bonnet bool) (cs []corner, roofEnd, footEnd int) {
	x0, xb, hr, top, foot := c.front.mm, c.back.mm, c.roof.mm, c.top.mm, c.foot.mm
	ra := r + 85
	// The skirt ahead of the wheel, if the overhang leaves room for one.
	skirt := 310.0
	if x0 < -ra-120 && skirt < r {
		drop := (skirt - r) / ra
		cs = append(cs, corner{-ra * math.Sqrt(1-drop*drop), skirt, 0}, corner{x0 + 60, skirt, 70}, corner{x0, skirt + 150, 90})
	} else {
		cs = append(cs, corner{x0, r + ra*0.4, 40})
	}
	screen := (hr - foot) * 0.28 // the windscreen begins so far above the foot
	if bonnet {
		xs := x0 + (xb-x0)*0.32 // foot of the windscreen
		cs = append(cs, corner{x0, foot + 60, 150}, corner{x0 + 160, foot + screen*1.15, 230}, corner{xs, foot + screen*1.7, 120},
			corner{xs + 330, hr - 120, 160})
	} else {
		cs = append(cs, corner{x0, foot + screen, 200}, corner{x0 + 190, hr - 90, 170})
	}
	if c.fitted && top > hr+50 {
		lip := cs[len(cs)-1].x + 130
		xd := math.Max(c.deflector.mm, lip+400)
		long, high := xd-lip, top-hr
		cs = append(cs, corner{lip, hr - 10, 60}, corner{lip + 0.15*long, hr + 0.5*high, 500}, corner{lip + 0.52*long, top - 30, 500},
			corner{xd, top, 60}, corner{xd, hr, 0})
		roofEnd = len(cs) - 1
		if xb > xd {
			cs = append(cs, corner{xb, hr, 60})
		}
	} else {
		cs = append(cs, corner{cs[len(cs)-1].x + 160, top, 200}, corner{xb, top, 90})
		roofEnd = len(cs) - 1
	}
	cs = append(cs, corner{xb, foot, 30})
	footEnd = len(cs) - 1
	// Along the foot to the wheel arch and round it.
	if rise := (foot - r) / ra; rise < 1 && rise > -0.9 {
		a := math.Asin(rise)
		end := math.Pi + 0.35
		if x0 < -ra-120 && skirt < r {
			end = math.Pi - math.Asin((skirt-r)/ra)
		}
		if reach := ra * math.Cos(a); reach < xb {
			cs = append(cs, arch(0, r, ra, a, end)[:14]...)
		}
	} else if x0 < -ra-120 {
		cs = append(cs, corner{-ra, foot, 60})
	}
	return cs, roofEnd, footEnd
}

// cabDetails draws window, door and steps in thin lines.
func (v *view) cabDetails(c cab, thin, glass scene.Layer) {
	x0, hr, foot := c.front.mm, c.roof.mm, c.foot.mm
	sill := foot + (hr-foot)*0.36
	head := hr - (hr-foot)*0.2
	lean := 190 / math.Max(hr-90-foot-(hr-foot)*0.28, 1) // of the windscreen
	front := func(y float64) float64 { return x0 + 115 + math.Max(0, (y-foot-(hr-foot)*0.28)*lean) }
	door := math.Min(x0+1290, c.back.mm-160)
	if door-front(head) < 250 {
		return
	}
	v.Polygon(glass, outline(corner{front(sill), sill, 50}, corner{front(head), head, 60}, corner{door - 70, head, 70}, corner{door - 70, sill - 60, 60}, corner{front(sill) + 330, sill - 60, 60})...)
	v.Polyline(thin, bend([]corner{{front(sill - 330), sill - 330, 0}, {front(sill), sill + 40, 30}, {front(head) - 45, head + 70, 70}, {door, head + 70, 90}, {door, foot + 40, 0}}, false)...)
	v.Line(thin, scene.Pt{X: door - 210, Y: sill - 190}, scene.Pt{X: door - 80, Y: sill - 190})
	v.Line(thin, scene.Pt{X: x0 + 20, Y: foot + 40}, scene.Pt{X: c.back.mm, Y: foot + 40})
	// Lamp and step.
	if x0 < -v.frontRadius()-320 {
		v.Polygon(thin, outline(corner{x0 + 35, 560, 30}, corner{x0 + 35, 700, 30}, corner{x0 + 250, 700, 50}, corner{x0 + 200, 560, 40})...)
		v.Line(thin, scene.Pt{X: x0 + 290, Y: 520}, scene.Pt{X: x0 + 520, Y: 520})
	}
}

func (v *view) bonnetDetails(c cab, thin, glass scene.Layer) {
	x0, xb, hr, foot := c.front.mm, c.back.mm, c.roof.mm, c.foot.mm
	xs := x0 + (xb-x0)*0.32
	screen := (hr - foot) * 0.28
	sill := foot + screen*1.55
	head := hr - (hr-foot)*0.18
	door := xs + 1180
	v.Polygon(glass, outline(corner{xs + 130, sill, 40}, corner{xs + 330, head, 60}, corner{door - 90, head, 70}, corner{door - 90, sill, 60})...)
	v.Polyline(thin, bend([]corner{{xs + 40, foot, 0}, {xs + 40, sill - 60, 40}, {xs + 280, head + 80, 80}, {door, head + 80, 80}, {door, foot, 0}}, false)...)
	v.Line(thin, scene.Pt{X: door - 230, Y: sill - 190}, scene.Pt{X: door - 100, Y: sill - 190})
	v.Line(thin, scene.Pt{X: x0 + 40, Y: foot + 30}, scene.Pt{X: xs + 40, Y: foot + 30})
	if xb-door > 700 {
		v.Polygon(thin, outline(corner{door + 280, head - 120, 40}, corner{door + 280, head, 40}, corner{math.Min(door+760, xb-150), head, 40}, corner{math.Min(door+760, xb-150), head - 120, 40})...)
	}
}

// fifthWheel draws plate and pedestal; the plate tilts with the semi-trailer.
func (v *view) fifthWheel() {
	g := v.rig
	layer := scene.Solid
	known := both(g.xk, g.coupling)
	if !known.known {
		layer = known.layer(scene.Fine)
	}
	x, top := g.xk.mm, g.frameTop.mm
	pivot := g.coupling.mm - 90
	if pivot-40 > top {
		v.Polygon(layer, scene.Pt{X: x - 210, Y: top}, scene.Pt{X: x - 70, Y: pivot}, scene.Pt{X: x + 70, Y: pivot}, scene.Pt{X: x + 210, Y: top})
	}
	plate := [][2]float64{{-400, 0}, {300, 0}, {500, -95}, {470, -118}, {240, -70}, {110, -105}, {-110, -105}, {-330, -60}, {-400, -25}}
	pts := make([]scene.Pt, len(plate))
	for i, p := range plate {
		pts[i] = g.on(p[0], p[1])
	}
	v.Polygon(layer, pts...)
}
