package drawing

import (
	"math"

	"underpin/mounting"
	"underpin/scene"
)

// sideParts draws the parts of the stack from below to the top.
func (m *mount) sideParts() {
	for i := range m.storeys {
		st := &m.storeys[i]
		m.Group(scene.Tag{Class: "part", Data: []scene.Attr{{Name: "part", Value: st.part.ID}, {Name: "kind", Value: st.part.Kind}}}, func() {
			l := both(m.at, m.ground(), st.low, st.high, st.ahead, st.behind).layer(partLayer(st.part.Kind))
			switch st.part.Kind {
			case mounting.FifthWheel:
				if m.travel > 0 {
					m.sideWheel(st, m.travel, slideGhost)
				}
				m.sideWheel(st, 0, l)
			case mounting.Plate:
				m.sidePlate(st, l)
			case mounting.Pedestal:
				m.sidePedestal(st, l)
			case mounting.Bracket:
				m.sideBracket(st, l)
			case mounting.Slider:
				m.sideSlider(st, l)
			default:
				m.sideLift(st, l)
			}
		})
	}
}

// box draws an upright block of a storey between two heights over the frame.
func (m *mount) box(l scene.Layer, x0, x1, low, high float64) {
	m.Polygon(l, m.on(x0, low), m.on(x1, low), m.on(x1, high), m.on(x0, high))
}

func (st *storey) ends() (x0, x1 float64) {
	return st.middle.mm - st.ahead.mm, st.middle.mm + st.behind.mm
}

// span is how far a pattern reaches along the frame from a part's middle, with
// room for the steel around the holes.
func span(p *mounting.Pattern, around float64) (from, to float64, ok bool) {
	places := p.Places()
	from, to = math.Inf(1), math.Inf(-1)
	for _, h := range places {
		from, to = math.Min(from, h.X.Millimetres()-around), math.Max(to, h.X.Millimetres()+around)
	}
	return from, to, len(places) > 0
}

// steel is a part's thickness where it is bolted down, or a thin stand-in that
// is drawn in thin lines only.
func (st *storey) steel() float64 {
	if st.part.Thickness != nil {
		return math.Min(st.part.Thickness.Millimetres(), st.high.mm-st.low.mm)
	}
	return math.Min(10, (st.high.mm-st.low.mm)/3)
}

func (m *mount) sidePlate(st *storey, l scene.Layer) {
	x0, x1 := st.ends()
	m.box(l, x0, x1, st.low.mm, st.high.mm)
	if st.part.Form != "ribbed" {
		return
	}
	t := st.steel()
	if t*2 < st.high.mm-st.low.mm { // the ribs stand between two skins
		m.Line(scene.Detail, m.on(x0, st.low.mm+t), m.on(x1, st.low.mm+t))
		m.Line(scene.Detail, m.on(x0, st.high.mm-t), m.on(x1, st.high.mm-t))
	}
}

func (m *mount) sidePedestal(st *storey, l scene.Layer) {
	x0, x1 := st.ends()
	t := st.steel()
	top0, top1, ok := span(st.part.Top, 30)
	if !ok {
		top0, top1 = -st.ahead.mm*0.7, st.behind.mm*0.7
	}
	top0, top1 = math.Max(st.middle.mm+top0, x0), math.Min(st.middle.mm+top1, x1)
	m.Polygon(l, m.on(x0, st.low.mm), m.on(x0, st.low.mm+t), m.on(top0, st.high.mm-t), m.on(top0, st.high.mm), m.on(top1, st.high.mm),
		m.on(top1, st.high.mm-t), m.on(x1, st.low.mm+t), m.on(x1, st.low.mm))
	m.Line(scene.Detail, m.on(x0, st.low.mm+t), m.on(x1, st.low.mm+t))
	m.Line(scene.Detail, m.on(top0, st.high.mm-t), m.on(top1, st.high.mm-t))
}

// sideBracket draws an angle bracket: its leg lies on the web.
func (m *mount) sideBracket(st *storey, l scene.Layer) {
	x0, x1 := st.ends()
	low := -120.0
	for _, h := range st.part.Foot.Places() {
		low = math.Min(low, h.Y.Millimetres()-40)
	}
	m.Polygon(l, outline(m.bent(x0, low, 60), m.bent(x0, st.high.mm, 0), m.bent(x1, st.high.mm, 0), m.bent(x1, low, 60))...)
	m.Line(scene.Detail, m.on(x0, st.high.mm-st.steel()), m.on(x1, st.high.mm-st.steel()))
	bolted := m.bolted(0)
	for _, h := range st.part.Foot.Places() {
		m.webHole(st.middle.mm+h.X.Millimetres(), h.Y.Millimetres(), h.D.Millimetres(), len(bolted) > 0)
	}
}

// sideSlider draws the rails and the carriage in its foremost slide position;
// the rearmost is thin.
func (m *mount) sideSlider(st *storey, l scene.Layer) {
	x0, x1 := st.ends()
	mid := st.low.mm + (st.high.mm-st.low.mm)*0.62
	m.box(l, x0, x1, st.low.mm, mid)
	m.Line(scene.Detail, m.on(x0, st.low.mm+st.steel()), m.on(x1, st.low.mm+st.steel()))
	top0, top1, ok := span(st.part.Top, 60)
	if !ok {
		top0, top1 = -260, 260
	}
	for _, move := range []float64{m.travel, 0} {
		c := l
		if move > 0 {
			c = slideGhost
		}
		m.box(c, m.at.mm+move+top0, m.at.mm+move+top1, mid, st.high.mm)
		if m.travel == 0 {
			break
		}
	}
	if st.part.Pitch == nil {
		return
	}
	pitch := st.part.Pitch.Millimetres()
	for x := m.at.mm; pitch > m.Mm(0.8) && x <= m.at.mm+m.travel+0.5; x += pitch { // slide positions
		m.Line(scene.Fine, m.on(x, mid-(mid-st.low.mm)*0.5), m.on(x, mid))
	}
}

func (m *mount) sideLift(st *storey, l scene.Layer) {
	x0, x1 := st.ends()
	t := math.Min(math.Max(st.steel(), 8), (st.high.mm-st.low.mm)/3)
	m.box(l, x0, x1, st.low.mm, st.low.mm+t)
	a, b := x0+40, x1-40
	m.Line(scene.Fine, m.on(a, st.low.mm+t), m.on(b, st.high.mm-t))
	m.Line(scene.Fine, m.on(b, st.low.mm+t), m.on(a, st.high.mm-t))
	m.box(l, x0, x1, st.high.mm-t, st.high.mm)
}

// sideWheel draws a fifth wheel: feet, bearing and top plate. It is the shape
// that the side view of a combination has, with the sizes of the part.
func (m *mount) sideWheel(st *storey, move float64, l scene.Layer) {
	x := st.middle.mm + move
	high := st.high.mm - st.low.mm
	tilt := standInTilt
	if st.part.TiltDepth != nil {
		tilt = st.part.TiltDepth.Millimetres()
	}
	pivot := st.high.mm - math.Min(tilt, high*0.7)
	f0, f1, ok := span(st.part.Foot, 40)
	if !ok {
		f0, f1 = -200, 200
	}
	t := math.Min(math.Max(st.steel(), 8), high/5)
	m.Polygon(l, m.on(x+f0, st.low.mm), m.on(x+f0, st.low.mm+t), m.on(x-75, pivot+25), m.on(x+75, pivot+25), m.on(x+f1, st.low.mm+t), m.on(x+f1, st.low.mm))
	kx0, kx1, ky := st.ahead.mm/400, st.behind.mm/500, math.Min(1, (high-10)/118)
	plate := [][2]float64{{-400, 0}, {300, 0}, {500, -95}, {470, -118}, {240, -70}, {110, -105}, {-110, -105}, {-330, -60}, {-400, -25}}
	pts := make([]scene.Pt, len(plate))
	for i, p := range plate {
		k := kx1
		if p[0] < 0 {
			k = kx0
		}
		pts[i] = m.on(x+p[0]*k, st.high.mm+p[1]*ky)
	}
	m.Polygon(l, pts...)
	if move != 0 {
		return
	}
	c := m.on(x, pivot)
	m.Circle(size{known: st.part.TiltDepth != nil}.layer(scene.Fine), c, 18)
	m.CentreMark(c, 18)
}

// wheelPlan is a fifth wheel's top plate from above, mm behind the coupling and
// across; it is the shape of the plan of a combination. Its width was not entered:
// it is thin.
func (m *mount) wheelPlan(l scene.Layer, x, ahead, behind float64) {
	jaw := 25.0
	if p := m.stack.Wheel().Pin; p != nil {
		jaw = p.Millimetres() / 2
	}
	a, b := ahead/420, behind/520
	m.Polygon(l, outline(corner{x - 420*a, -450, 250}, corner{x - 420*a, 450, 250}, corner{x + 250*b, 450, 120}, corner{x + 520*b, 330, 60},
		corner{x + 460*b, 110, 60}, corner{x + 60, 50, 40}, corner{x + 60, -50, 40}, corner{x + 460*b, -110, 60}, corner{x + 520*b, -330, 60}, corner{x + 250*b, -450, 120})...)
	m.Circle(scene.Layer{Name: "jaw", Line: scene.RoleThin, Width: scene.W25}, scene.Pt{X: x}, jaw)
}
