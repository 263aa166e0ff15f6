package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"underpin/record"
	"underpin/scene"
	"underpin/unit"
)

// An outline is the side view of one vehicle by itself, facing left, with the
// lengths that are known of it. It decides nothing: what is known is drawn true to
// scale, what is not is drawn dashed at a place that is only plausible, without a
// figure, and named below.
type outline struct {
	*scene.Scene
	t       typed
	sys     unit.System
	phone   bool
	figure  float64 // height of figures, paper mm
	missing []string
	axles   []place
	front   place // foremost and rearmost point
	rear    place
	top     float64 // of what is drawn
}

// A place is a length of a vehicle in millimetres, and whether anybody measured it.
type place struct {
	mm    float64
	known bool
}

func (p place) layer(l scene.Layer) scene.Layer {
	if p.known {
		return l
	}
	return l.As(scene.RoleUnknown)
}

// Lengths at which what is not known is drawn dashed. They have no source and are
// given no figure.
const (
	dashedTyre, dashedFirst, dashedGap = 500.0, 3700.0, 1310.0
	dashedPin, dashedHeight            = 7000.0, 3600.0
	dashedPlate, dashedBody            = 1150.0, 2700.0
	dashedOverhang, dashedTail         = 1400.0, 900.0
)

// outlineOf draws a vehicle, for a desk and for a phone.
func outlineOf(kind string, t typed, title string, sys unit.System) (desk, phone template.HTML) {
	if t.rows("axle") == 0 && t["front-overhang"] == "" && t["rear-end"] == "" {
		return "", "" // there is nothing to draw true
	}
	return svg(drawOutline(kind, t, title, sys, false), "outline", false), svg(drawOutline(kind, t, title, sys, true), "outline-phone", false)
}

func drawOutline(kind string, t typed, title string, sys unit.System, phone bool) *scene.Scene {
	o := &outline{t: t, sys: sys, phone: phone, figure: 2.5}
	width, pad, side := 260.0, 8.0, 15.0
	if phone {
		width, pad, side, o.figure = 100, 4, 9, 2.4
	}
	o.places(kind)
	least := 45.0 // so that a tractor is not drawn as high as a house
	if phone {
		least = 80
	}
	o.Scene = scene.New(math.Max(least, math.Ceil((o.rear.mm-o.front.mm)/(width-2*pad-2*side)/5)*5))
	o.Pad, o.Width, o.Title = pad, width, title
	o.Line(scene.Ground, scene.Pt{X: o.front.mm - o.Mm(side-3)}, scene.Pt{X: o.rear.mm + o.Mm(side-3)})
	switch kind {
	case record.Tractor:
		o.tractor()
	case record.SemiTrailer:
		o.trailer()
	default:
		o.dolly()
	}
	o.wheels(kind)
	o.lengths(kind)
	o.note()
	o.Block = scene.TitleBlock{{Label: lower(vehicleWords[kind]), Value: title, Weight: 3}, {Label: "scale", Value: fmt.Sprintf("1 : %.0f", o.Scale())}, {Label: "lengths", Value: map[bool]string{false: "mm, from the hub centres", true: "in, from the hub centres"}[sys == unit.USCustomary], Weight: 2}}
	o.Desc = "Side view of " + title + " with the lengths that are known of it; the same figures stand in the data below."
	return o.Scene
}

// take is a length by its path, or the one that it is drawn at.
func (o *outline) take(what, path string, dashed float64) place {
	if text, have := o.t[path]; have {
		if si, err := unit.Parse(text, unit.LengthDim); err == nil {
			return place{si * 1e3, true}
		}
	}
	if what != "" {
		o.missing = append(o.missing, what)
	}
	return place{dashed, false}
}

// places finds where the axles and the ends are.
func (o *outline) places(kind string) {
	n := o.t.rows("axle")
	for i := range n {
		at := fmt.Sprintf("axle[%d].", i)
		switch {
		case kind == record.Tractor && i == 0:
			o.axles = append(o.axles, place{0, true})
			continue
		case o.t[at+"at"] != "":
			o.axles = append(o.axles, o.take("", at+"at", 0))
			continue
		}
		before := place{0, kind != record.Tractor}
		gap := dashedPin
		if i > 0 {
			before, gap = o.axles[i-1], dashedGap
			if kind == record.Tractor && i == 1 {
				gap = dashedFirst
			}
		}
		p := o.take(fmt.Sprintf("place of axle %d", i+1), at+"gap", gap)
		o.axles = append(o.axles, place{before.mm + p.mm, before.known && p.known})
	}
	last := place{dashedPin, false}
	if n > 0 {
		last = o.axles[n-1]
	}
	if kind == record.Dolly {
		o.front, o.rear = place{0, true}, place{last.mm + dashedTail, false}
		return
	}
	front := o.take("front overhang", "front-overhang", dashedOverhang)
	o.front = place{-front.mm, front.known}
	o.rear = o.take("rear end", "rear-end", last.mm+dashedTail)
}

func (o *outline) wheels(kind string) {
	for i, a := range o.axles {
		r := o.take("", fmt.Sprintf("axle[%d].tyre-radius", i), dashedTyre)
		l := place{0, a.known && r.known}.layer(scene.Body)
		lift := 0.0
		if o.t[fmt.Sprintf("axle[%d].lifted", i)] == "yes" {
			lift = 120
		}
		c := scene.Pt{X: a.mm, Y: r.mm + lift}
		o.Circle(l, c, r.mm)
		o.Circle(scene.Detail, c, r.mm*0.55)
		o.Line(a.layer(scene.Centre), scene.Pt{X: a.mm, Y: 2*r.mm + lift + o.Mm(2)}, scene.Pt{X: a.mm, Y: -o.Mm(2)})
	}
}

func (o *outline) tractor() {
	height := o.take("height", "height", dashedHeight)
	back := place{900, false}
	for i := range o.t.rows("behind-cab") {
		if p := o.take("", fmt.Sprintf("behind-cab[%d].at", i), 0); p.known {
			back = place{math.Max(p.mm, back.mm*b2f(back.known)), true}
		}
	}
	o.Rect(o.rear.layer(scene.Body), scene.Pt{X: o.front.mm + 500, Y: 760}, scene.Pt{X: o.rear.mm, Y: 960})
	top := height.mm
	known := place{0, o.front.known && height.known && back.known}
	o.Polygon(known.layer(scene.Body), scene.Pt{X: o.front.mm, Y: 350}, scene.Pt{X: o.front.mm, Y: top * 0.48}, scene.Pt{X: o.front.mm + 170, Y: top * 0.94}, scene.Pt{X: o.front.mm + 420, Y: top},
		scene.Pt{X: back.mm - 60, Y: top}, scene.Pt{X: back.mm, Y: top * 0.97}, scene.Pt{X: back.mm, Y: 760}, scene.Pt{X: o.front.mm + 900, Y: 760}, scene.Pt{X: o.front.mm + 860, Y: 350})
	o.Polygon(scene.Glass, scene.Pt{X: o.front.mm + 330, Y: top * 0.52}, scene.Pt{X: o.front.mm + 330, Y: top * 0.74}, scene.Pt{X: o.front.mm + 900, Y: top * 0.74}, scene.Pt{X: o.front.mm + 900, Y: top * 0.52})
	o.top = top
	o.coupling("fifth-wheel.", "")
	o.upright(o.front.mm, height)
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// coupling draws the fifth wheel with its travel and its height.
func (o *outline) coupling(path, of string) {
	at := o.take("position of the fifth wheel"+of, path+"at", 0)
	first, last := o.take("", path+"slider.foremost", 0), o.take("", path+"slider.rearmost", 0)
	height := o.take("height of the fifth wheel"+of, path+"level[0].laden", dashedPlate)
	if !at.known {
		at.mm = o.rear.mm - 1500
		if first.known && last.known {
			at.mm = (first.mm + last.mm) / 2
		}
	}
	where := place{0, at.known && height.known}
	if first.known && last.known {
		o.Line(scene.Fine, scene.Pt{X: first.mm, Y: height.mm - 190}, scene.Pt{X: last.mm, Y: height.mm - 190})
		for _, x := range []float64{first.mm, last.mm} {
			o.Line(scene.Fine, scene.Pt{X: x, Y: height.mm - 150}, scene.Pt{X: x, Y: height.mm - 230})
		}
	}
	plate := []scene.Pt{{X: at.mm - 420, Y: height.mm}, {X: at.mm + 330, Y: height.mm}, {X: at.mm + 480, Y: height.mm - 90}, {X: at.mm + 120, Y: height.mm - 130}, {X: at.mm - 120, Y: height.mm - 130}, {X: at.mm - 420, Y: height.mm - 70}}
	if where.known {
		o.Polygon(scene.Solid, plate...)
	} else {
		o.Polygon(scene.Missing, plate...)
	}
	o.Line(at.layer(scene.Centre), scene.Pt{X: at.mm, Y: height.mm + o.Mm(4)}, scene.Pt{X: at.mm, Y: -o.Mm(2)})
	if height.known {
		o.DimVertical(o.rear.mm+o.Mm(6), scene.Dim{A: scene.Pt{X: at.mm + 330}, B: scene.Pt{X: at.mm + 330, Y: height.mm}, Text: o.length(height.mm), Height: o.figure, BareA: true})
	}
}

func (o *outline) trailer() {
	plate := o.take("plate height", "plate-height", dashedPlate)
	body := o.take("body height", "body-height", dashedBody)
	known := place{0, o.front.known && o.rear.known && plate.known && body.known}
	o.top = plate.mm + body.mm
	floor := plate.mm + 130
	switch o.t["kind"] {
	case "flatbed", "skeletal", "low-loader", "step-frame", "car-transporter":
		o.Rect(known.layer(scene.Body), scene.Pt{X: o.front.mm, Y: plate.mm}, scene.Pt{X: o.rear.mm, Y: plate.mm + math.Min(body.mm, 300)})
		o.top = plate.mm + math.Min(body.mm, 300)
		if body.known {
			o.top = plate.mm + body.mm
		}
	case "tank", "silo":
		o.Polygon(known.layer(scene.Body), scene.Pt{X: o.front.mm, Y: floor + 300}, scene.Pt{X: o.front.mm + 150, Y: o.top - 200}, scene.Pt{X: o.front.mm + 400, Y: o.top}, scene.Pt{X: o.rear.mm - 400, Y: o.top},
			scene.Pt{X: o.rear.mm - 150, Y: o.top - 200}, scene.Pt{X: o.rear.mm, Y: floor + 300}, scene.Pt{X: o.rear.mm - 150, Y: floor}, scene.Pt{X: o.front.mm + 150, Y: floor})
		o.Rect(known.layer(scene.Body), scene.Pt{X: o.front.mm, Y: plate.mm}, scene.Pt{X: o.rear.mm, Y: floor})
	default:
		o.Rect(known.layer(scene.Body), scene.Pt{X: o.front.mm, Y: plate.mm}, scene.Pt{X: o.rear.mm, Y: o.top})
		o.Line(scene.Detail, scene.Pt{X: o.front.mm, Y: floor}, scene.Pt{X: o.rear.mm, Y: floor})
	}
	o.Rect(plate.layer(scene.Body), scene.Pt{X: 900, Y: plate.mm - 200}, scene.Pt{X: o.rear.mm - 300, Y: plate.mm})
	if plate.known {
		o.Polygon(scene.Solid, scene.Pt{X: -45, Y: plate.mm}, scene.Pt{X: 45, Y: plate.mm}, scene.Pt{X: 35, Y: plate.mm - 90}, scene.Pt{X: -35, Y: plate.mm - 90})
		o.upright(o.front.mm, plate)
	}
	o.Line(scene.Centre, scene.Pt{Y: plate.mm + o.Mm(4)}, scene.Pt{Y: -o.Mm(2)})
	if legs := o.take("", "legs.behind", 0); legs.known {
		o.Line(scene.Outline, scene.Pt{X: legs.mm, Y: plate.mm - 200}, scene.Pt{X: legs.mm, Y: 320})
		o.Line(scene.Outline, scene.Pt{X: legs.mm - 120, Y: 320}, scene.Pt{X: legs.mm + 120, Y: 320})
	}
	if total := (place{plate.mm + body.mm, plate.known && body.known}); total.known {
		o.DimVertical(o.rear.mm+o.Mm(6), scene.Dim{A: scene.Pt{X: o.rear.mm}, B: scene.Pt{X: o.rear.mm, Y: total.mm}, Text: o.length(total.mm), Height: o.figure, BareA: true})
	}
}

func (o *outline) dolly() {
	height := o.take("", "fifth-wheel.level[0].laden", dashedPlate)
	o.Line(scene.Outline, scene.Pt{X: 0, Y: height.mm - 350}, scene.Pt{X: o.rear.mm - 700, Y: height.mm - 350})
	o.Rect(o.rear.layer(scene.Body), scene.Pt{X: math.Max(900, o.rear.mm-2600), Y: height.mm - 420}, scene.Pt{X: o.rear.mm, Y: height.mm - 240})
	o.Circle(scene.Body, scene.Pt{X: 0, Y: height.mm - 350}, 60)
	o.top = height.mm
	o.coupling("fifth-wheel.", "")
}

// upright dimensions a height at the front.
func (o *outline) upright(x float64, h place) {
	if h.known {
		o.DimVertical(x-o.Mm(6), scene.Dim{A: scene.Pt{X: x}, B: scene.Pt{X: x, Y: h.mm}, Text: o.length(h.mm), Height: o.figure, BareA: true})
	}
}

// lengths draws the horizontal dimensions: from point to point, then from the datum
// to the coupling, then over all. What was not measured has no figure.
func (o *outline) lengths(kind string) {
	row := func(n int, a, b place) {
		if !a.known || !b.known || math.Abs(a.mm-b.mm) < 1 {
			return
		}
		y := -o.Row(n)
		for _, p := range []place{a, b} {
			o.Line(scene.Dimension, scene.Pt{X: p.mm, Y: -o.Mm(1)}, scene.Pt{X: p.mm, Y: y - o.Mm(1.6)})
		}
		o.DimHorizontal(y, scene.Dim{A: scene.Pt{X: a.mm, Y: y}, B: scene.Pt{X: b.mm, Y: y}, Text: o.length(math.Abs(b.mm - a.mm)), Height: o.figure, BareA: true, BareB: true})
	}
	chain := []place{}
	if kind != record.Dolly && !o.phone {
		chain = append(chain, o.front)
	}
	if kind != record.Tractor {
		chain = append(chain, place{0, true})
	}
	chain = append(chain, o.axles...)
	if kind != record.Dolly && !o.phone {
		chain = append(chain, o.rear)
	}
	for i := 1; i < len(chain); i++ {
		row(0, chain[i-1], chain[i])
	}
	n := 1
	if kind != record.SemiTrailer {
		if at := o.take("", "fifth-wheel.at", 0); at.known {
			row(n, place{0, true}, at)
			n++
		}
	}
	if kind != record.Dolly {
		row(n, o.front, o.rear)
	}
}

func (o *outline) length(mm float64) string {
	if o.sys == unit.USCustomary {
		return unit.Digits(unit.In.From(mm/1e3), 1)
	}
	return scene.Millimetres(mm)
}

// note names what is not known, below everything.
func (o *outline) note() {
	if len(o.missing) == 0 {
		return
	}
	b := o.Bounds()
	y := b.Min.Y - o.Mm(6)
	line := "Not known, drawn dashed or left out:"
	words := strings.Fields(strings.Join(o.missing, ", ") + ".")
	for _, w := range words {
		if next := line + " " + w; scene.TextWidth(next, 2.1, false) <= b.W()/o.Scale()-4 {
			line = next
			continue
		}
		o.Text(scene.Text{At: scene.Pt{X: b.Min.X, Y: y}, S: line, Height: 2.1, Role: scene.RoleUnknown})
		line, y = w, y-o.Mm(3.7)
	}
	o.Text(scene.Text{At: scene.Pt{X: b.Min.X, Y: y}, S: line, Height: 2.1, Role: scene.RoleUnknown})
}
