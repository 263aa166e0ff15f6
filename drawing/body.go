package drawing

import (
	"math"

	"underpin/scene"
)

// uprights draws vertical thin lines evenly between two places.
func (h *hull) uprights(l scene.Layer, from, to, spacing, z1, z2 float64) {
	n := math.Round((to - from) / spacing)
	if !(n >= 1 && n < 200) {
		return
	}
	for k := 1.0; k < n; k++ {
		x := from + (to-from)*k/n
		h.stroke(l, x, z1, x, z2)
	}
}

func (h *hull) curtainSider() {
	low := h.rave
	h.box(h.line, h.front, low, h.rear, h.top)
	h.stroke(h.thin, h.front, h.top-110, h.rear, h.top-110) // roof rail
	h.stroke(h.thin, h.front, h.floor, h.rear, h.floor)
	h.stroke(h.thin, h.front+110, h.floor, h.front+110, h.top-110)
	h.stroke(h.thin, h.rear-120, h.floor, h.rear-120, h.top-110)
	h.uprights(h.thin, h.front+110, h.rear-120, 2600, h.floor+60, h.top-110)
	// Straps of the curtain.
	h.uprights(h.hair(), h.front+110, h.rear-120, 620, low+30, h.floor+170)
}

// hair is the thinnest line.
func (h *hull) hair() scene.Layer {
	if h.thin.Line == scene.RoleUnknown {
		return h.thin
	}
	return scene.Hatching
}

// boxBody is a closed body; an insulated one has thicker walls and a kick plate.
func (h *hull) boxBody(insulated bool) {
	h.polygon(h.line, corner{h.front, h.rave, 0}, corner{h.front, h.top, 40}, corner{h.rear, h.top, 20}, corner{h.rear, h.rave, 0})
	h.stroke(h.thin, h.front, h.rave+150, h.rear, h.rave+150)
	if insulated {
		h.stroke(h.thin, h.front+70, h.rave+150, h.front+70, h.top-60)
		h.stroke(h.thin, h.front+70, h.top-60, h.rear-90, h.top-60)
		h.stroke(h.thin, h.rear-90, h.top-60, h.rear-90, h.rave+150)
		return
	}
	h.stroke(h.thin, h.front, h.top-80, h.rear, h.top-80)
	h.uprights(h.hair(), h.front, h.rear, 1240, h.rave+150, h.top-80)
	// Hinges of the rear doors.
	for _, k := range []float64{0.18, 0.5, 0.82} {
		z := h.rave + 150 + (h.top-h.rave-230)*k
		h.stroke(h.thin, h.rear-150, z, h.rear, z)
	}
}

func (h *hull) tank() {
	low, high := h.rave+30, h.top-170
	if high-low < 400 {
		low, high = h.rave, h.top
	}
	r := (high - low) * 0.34
	// Walkway and manlids stand under the highest point.
	lids := 4.0
	for k := 1.0; k <= lids; k++ {
		x := h.front + (h.rear-h.front)*(k-0.5)/lids
		h.box(h.line, x-260, high-20, x+260, math.Max(h.top-40, high))
		h.box(h.thin, x-200, math.Max(h.top-40, high), x+200, h.top)
	}
	h.polygon(h.line, corner{h.front, low, r}, corner{h.front, high, r}, corner{h.rear, high, r}, corner{h.rear, low, r})
	for k := 1.0; k < lids; k++ { // bulkheads
		x := h.front + (h.rear-h.front)*k/lids
		h.stroke(h.thin, x, low+12, x, high-12)
	}
	h.stroke(h.thin, h.front+r*0.9, high-110, h.rear-r*0.9, high-110)
	h.stroke(h.thin, h.front+r*0.9, low+130, h.rear-r*0.9, low+130)
}

func (h *hull) silo() {
	low, high := h.rave+40, h.top-150
	if high-low < 500 {
		low, high = h.rave, h.top
	}
	mid := low + (high-low)*0.42
	cones := 3.0
	from, to := h.front+(high-low)*0.28, h.rear-(high-low)*0.32
	cs := []corner{{h.front + 60, mid, 350}, {h.front + 120, high, 600}, {h.rear - 160, high, 600}, {h.rear - 60, mid, 350}}
	for k := cones; k >= 1; k-- {
		a, b := from+(to-from)*(k-1)/cones, from+(to-from)*k/cones
		m := (a + b) / 2
		cs = append(cs, corner{b - 20, mid * 0.9, 120}, corner{m + 190, low, 60}, corner{m - 190, low, 60}, corner{a + 20, mid * 0.9, 120})
	}
	h.polygon(h.line, cs...)
	for k := 1.0; k <= cones; k++ {
		m := from + (to-from)*(k-0.5)/cones
		h.box(h.line, m-230, high-15, m+230, h.top)
		h.box(h.line, m-120, low-190, m+120, low)
	}
	h.stroke(h.thin, h.front+150, mid+60, h.rear-150, mid+60)
	// The ends of the barrel rest on struts.
	h.stroke(h.thin, h.front+120, h.rave, h.front+240, mid-80)
	h.stroke(h.thin, h.rear-260, mid-80, h.rear-160, h.rave)
}

func (h *hull) tipper() {
	low := h.rave + 40
	head := math.Max(h.head-60, h.front)
	// The ram stands ahead of the body.
	if head-h.front > 20 {
		h.box(h.line, h.front, 40, math.Max(head, h.front+130), h.top*0.78)
	}
	h.polygon(h.line, corner{head, low, 120}, corner{head, h.top, 30}, corner{h.rear - 60, h.top, 30}, corner{h.rear, h.top - 160, 30}, corner{h.rear - 210, low, 60})
	h.stroke(h.thin, head, h.top-120, h.rear-15, h.top-120)
	h.uprights(h.thin, head, h.rear-150, 900, low+40, h.top-120)
	h.stroke(h.thin, h.rear-260, low+20, h.rear-90, h.top-120)
}

// skeletal draws the bolsters, and a container where the case carries one.
func (h *hull) skeletal() {
	laden := h.load == nil || h.load.Payload != 0
	low := h.floor
	for _, x := range []float64{h.head + 150, h.head + (h.back-h.head)*0.5, h.back - 150} {
		h.box(h.line, x-110, h.rave-20, x+110, low)
	}
	line, thin := h.line, h.thin
	if !laden { // the height is that with the box on: show where it would stand
		line, thin = scene.Detail, scene.Hatching
		line.Fill = scene.NoRole
	}
	h.box(line, h.head, low, h.back, h.top)
	h.box(thin, h.head+70, low+90, h.back-70, h.top-70)
	h.uprights(thin, h.head+70, h.back-70, 280, low+90, h.top-70)
}

func (h *hull) flatbed() {
	h.box(h.line, h.front, h.rave, h.rear, h.floor)
	h.stroke(h.thin, h.front, h.floor-50, h.rear, h.floor-50)
	if h.top-h.floor > 150 {
		h.box(h.line, h.front, h.floor, math.Max(h.head, h.front+60), h.top)
	}
	h.uprights(h.thin, h.front, h.rear, 1150, h.rave+20, h.floor-50)
}

func (h *hull) walkingFloor() {
	h.polygon(h.line, corner{h.front, h.rave, 0}, corner{h.front, h.top - 120, 60}, corner{h.front + 160, h.top, 80}, corner{h.rear - 60, h.top, 40}, corner{h.rear, h.top - 80, 20}, corner{h.rear, h.rave, 0})
	h.stroke(h.thin, h.front, h.top-150, h.rear, h.top-150) // edge of the sheet
	h.stroke(h.thin, h.front, h.floor, h.rear, h.floor)
	for k := 1.0; k < 9; k++ { // planks of the side
		z := h.floor + (h.top-150-h.floor)*k/9
		h.stroke(h.hair(), h.front+90, z, h.rear-110, z)
	}
	h.stroke(h.thin, h.front+90, h.floor, h.front+90, h.top-150)
	h.stroke(h.thin, h.rear-110, h.floor, h.rear-110, h.top-150)
	h.uprights(h.hair(), h.front, h.rear, 700, h.top-150, h.top-30)
}

// lowLoader has a neck as high as the body and a low deck behind it.
func (h *hull) lowLoader() {
	neck := math.Max(h.head, 700) // the deck begins behind the neck
	if h.p.Trailer.Headboard == nil || h.head <= 0 {
		neck = math.Max(h.step+300, 700)
	}
	deck := math.Min(h.floor, h.top-120)
	low := deck - 260
	h.polygon(h.line, corner{h.front, 0, 60}, corner{h.front, h.top, 90}, corner{neck - 260, h.top, 60}, corner{neck, deck, 60},
		corner{h.rear - 250, deck, 30}, corner{h.rear, deck - 120, 20}, corner{h.rear, low, 20}, corner{neck + 60, low, 120}, corner{math.Min(neck-420, h.step), 0, 120})
	h.stroke(h.thin, h.front+80, h.top-110, neck-300, h.top-110)
	h.stroke(h.thin, neck+30, deck-70, h.rear-220, deck-70)
	h.uprights(h.hair(), neck+120, h.rear-250, 480, low+30, deck-70)
}

// stepFrame is a platform with a high neck; how high its deck lies may be
// unknown.
func (h *hull) stepFrame() {
	known := both(h.nose, h.tail, h.coupling, h.rig.floor)
	line, thin := known.layer(scene.Body), known.layer(scene.Detail)
	neck := math.Min(h.step+500, h.firstAxle()-900)
	deck := h.floor
	high := math.Max(deck+60, 180)
	if deck > 40 { // not given to be below the plate: a shallow step
		deck = -60
	}
	h.polygon(line, corner{h.front, 0, 20}, corner{h.front, high, 30}, corner{neck, high, 30}, corner{neck + 220, deck, 40},
		corner{h.rear, deck, 20}, corner{h.rear, deck - 220, 40}, corner{neck + 100, deck - 300, 150}, corner{h.step, 0, 100})
	h.stroke(thin, h.front, high-60, neck, high-60)
	h.stroke(thin, neck+220, deck-60, h.rear, deck-60)
	if h.top-high > 200 { // the headboard is as high as the body
		h.box(h.line, h.front, high, h.front+70, h.top)
	}
}

// carTransporter shows its two decks.
func (h *hull) carTransporter() {
	upper := h.floor + (h.top-h.floor)*0.55
	h.lines(h.line, corner{h.front, 0, 0}, corner{h.front, h.top, 60}, corner{h.front + 900, h.top, 60}, corner{h.front + 1500, upper, 80}, corner{h.rear - 300, upper, 40}, corner{h.rear - 300, h.rave, 0})
	h.box(h.line, h.front, h.rave, h.rear, h.floor)
	h.uprights(h.thin, h.front+1500, h.rear-300, 2300, h.floor, upper)
	h.stroke(h.thin, h.front+1500, upper-90, h.rear-300, upper-90)
}
