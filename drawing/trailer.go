package drawing

import (
	"math"

	"underpin/scene"
)

// hull is a semi-trailer's outline for its body's drawer, in mm behind the
// kingpin and above the rubbing plate.
type hull struct {
	*view
	front, rear, top, floor float64
	head, back              float64 // load space, from inside the headboard to inside the doors
	line, thin              scene.Layer
	rave                    float64 // lower edge of the body's side
	step                    float64 // behind it the chassis hangs below the plate
	beam                    float64 // lower edge of the chassis there
}

func (h *hull) at(x, z float64) scene.Pt { return h.on(x, z) }

func (h *hull) polygon(l scene.Layer, cs ...corner) {
	pts := outline(cs...)
	for i := range pts {
		pts[i] = h.at(pts[i].X, pts[i].Y)
	}
	h.Polygon(l, pts...)
}

func (h *hull) lines(l scene.Layer, cs ...corner) {
	pts := bend(cs, false)
	for i := range pts {
		pts[i] = h.at(pts[i].X, pts[i].Y)
	}
	h.Polyline(l, pts...)
}

func (h *hull) stroke(l scene.Layer, x1, z1, x2, z2 float64) { h.Line(l, h.at(x1, z1), h.at(x2, z2)) }

func (h *hull) box(l scene.Layer, x1, z1, x2, z2 float64) {
	h.Polygon(l, h.at(x1, z1), h.at(x2, z1), h.at(x2, z2), h.at(x1, z2))
}

// hull reads the outline. Stand-ins keep their order even where data slips.
func (v *view) hull() hull {
	g := v.rig
	s := g.p.Trailer
	h := hull{view: v, front: -g.nose.mm, rear: math.Max(g.tail.mm, 1500), top: math.Max(g.body.mm, 60), floor: g.floor.mm}
	h.head, h.back = h.front+30, h.rear-30
	if s.Headboard != nil {
		h.head = -s.Headboard.Millimetres()
	}
	if s.LoadLength != nil {
		h.back = h.head + s.LoadLength.Millimetres()
	}
	known := both(g.nose, g.tail, g.body, g.coupling)
	h.line, h.thin = known.layer(scene.Body), known.layer(scene.Detail)
	h.rave = math.Min(h.floor-140, -20)
	h.step = g.clear.mm
	h.beam = -330
	if first := v.firstAxle(); h.step > first-600 {
		h.step = math.Max(first-900, 600)
	}
	return h
}

func (v *view) firstAxle() float64 {
	if len(v.trailer) == 0 {
		return standInFirst
	}
	return v.trailer[0].at.mm
}

// semiTrailer draws the semi-trailer as it is coupled. Its wheels stand on the
// ground, whatever the tilt.
func (v *view) semiTrailer() {
	g := v.rig
	h := v.hull()
	s := g.p.Trailer
	v.legs(&h)
	switch s.Kind {
	case "low-loader":
		h.lowLoader()
	case "step-frame":
		h.stepFrame()
	default:
		h.chassis()
	}
	switch s.Kind {
	case "curtain-sider":
		h.curtainSider()
	case "reefer":
		h.boxBody(true)
	case "tank":
		h.tank()
	case "silo":
		h.silo()
	case "tipper":
		h.tipper()
	case "skeletal":
		h.skeletal()
	case "flatbed":
		h.flatbed()
	case "walking-floor":
		h.walkingFloor()
	case "car-transporter":
		h.carTransporter()
	case "low-loader", "step-frame":
	default:
		h.boxBody(false)
	}
	v.noseParts(&h)
	v.bogie()
}

// legs draws the landing legs, wound up. How far they are is not known.
func (v *view) legs(h *hull) {
	l := v.p.Trailer.Legs
	if l == nil || l.Behind == nil {
		return
	}
	x := l.Behind.Millimetres()
	top, foot := -40.0, 380-v.coupling.mm
	low := v.p.Trailer.Kind == "low-loader" || v.p.Trailer.Kind == "step-frame"
	if low { // they hang from the low deck
		top = math.Min(top, h.floor-60)
	}
	if !(foot < top-150) {
		foot = top - 150
	}
	line := scene.Fine.Filled(scene.RoleSheet)
	h.box(line, x-48, foot+60, x+48, top)
	h.box(line, x-75, (foot+top)/2, x+75, top)
	h.polygon(line, corner{x - 170, foot, 10}, corner{x - 130, foot + 60, 10}, corner{x + 130, foot + 60, 10}, corner{x + 170, foot, 10})
	if !low {
		h.stroke(scene.Detail, x+75, (foot+top)*0.62, x+430, top-230)
	}
}

// chassis draws the beam that carries the body.
func (h *hull) chassis() {
	end := h.rear - 140
	h.polygon(h.line, corner{h.front + 60, 0, 0}, corner{h.front + 60, h.rave, 0}, corner{end, h.rave, 0}, corner{end, h.beam * 0.55, 40},
		corner{end - 500, h.beam, 150}, corner{h.step + 420, h.beam, 150}, corner{h.step + 30, -30, 120}, corner{h.step, 0, 0})
	h.stroke(h.thin, h.step+440, h.beam+30, end-480, h.beam+30)
}

// bogie draws the semi-trailer's wheels.
func (v *view) bogie() {
	for _, w := range v.trailer {
		v.wheel("semi-trailer", w, v.xk.mm+w.at.mm)
	}
}

// noseParts draws what stands ahead of the front wall.
func (v *view) noseParts(h *hull) {
	for i := range v.p.Trailer.Nose {
		n := &v.p.Trailer.Nose[i]
		if n.Ahead == nil {
			v.miss(v.word("depth of a part ahead of the front wall"))
			continue
		}
		bottom, top := v.take("", n.Bottom, math.Min(400, h.top*0.3)), v.take("", n.Top, h.top-120)
		known := both(v.nose, v.body, v.coupling, bottom, top)
		x := -n.Ahead.Millimetres()
		h.polygon(known.layer(scene.Body), corner{h.front, bottom.mm, 0}, corner{h.front, top.mm, 0}, corner{x + 30, top.mm, 40}, corner{x, top.mm - 180, 120}, corner{x, bottom.mm + 120, 60}, corner{x + 90, bottom.mm, 60})
		for k := 1; k <= 3; k++ { // louvres
			z := bottom.mm + (top.mm-bottom.mm)*(0.2+0.09*float64(k))
			h.stroke(known.layer(scene.Detail), x+60, z, h.front-60, z)
		}
	}
}
