package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/mounting"
	"underpin/scene"
	"underpin/unit"
)

// Layers of the drawings of mountings. Each part of the real thing has its own,
// so that a drawing office can take what it needs.
var (
	memberLayer = scene.Layer{Name: "side-member", Line: scene.RoleInk, Width: scene.W35, Fill: scene.RoleSheet}
	anglesLayer = scene.Layer{Name: "attachment-angles", Line: scene.RoleInk, Width: scene.W35, Fill: scene.RoleShade}
	subLayer    = scene.Layer{Name: "subframe", Line: scene.RoleInk, Width: scene.W35, Fill: scene.RoleSheet}
	nearWheel   = scene.Layer{Name: "wheel", Line: scene.RoleThin, Width: scene.W18, Dash: scene.DashDot}
	boltLayer   = scene.Layer{Name: "bolt", Line: scene.RoleInk, Width: scene.W25, Fill: scene.RoleInk}
	holeLayer   = scene.Layer{Name: "hole", Line: scene.RoleInk, Width: scene.W18, Fill: scene.RoleSheet}
	emptyHole   = scene.Layer{Name: "hole-unused", Line: scene.RoleThin, Width: scene.W13}
	zoneHatch   = scene.Layer{Name: "zone", Line: scene.RoleCaution, Width: scene.W13}
	zoneEdge    = scene.Layer{Name: "zone-edge", Line: scene.RoleCaution, Width: scene.W18, Dash: scene.Dashed}
	slideGhost  = scene.Layer{Name: "rearmost", Line: scene.RoleThin, Width: scene.W18, Dash: scene.DashDot}
)

// partLayer is the layer of a kind of part.
func partLayer(kind string) scene.Layer {
	l := scene.Layer{Name: kind, Line: scene.RoleInk, Width: scene.W50, Fill: scene.RoleSheet}
	if kind == mounting.Plate || kind == mounting.Bracket {
		l.Fill = scene.RoleShade
	}
	return l
}

// MountingSide draws a mounting from its left-hand side, the front of the
// vehicle to the left, to scale: frame, what the stack begins on, and its parts.
// Beside it stand the heights part by part as a chain and the coupling height
// over the ground, above it the ends of all parts counted from the front axle,
// and below it where the fifth wheel stands.
func MountingSide(r *mounting.Request, s *mounting.Specification, o Options) *scene.Scene {
	m := newMount(r, s, o)
	m.stretch(110)
	left, right := 66.0, 9+8.5*float64(len(m.heightRows()))
	if o.Phone {
		left, right = 4, 11
	}
	m.open("mounting-side", m.word("side view"), left, right)
	m.Line(scene.Ground, scene.Pt{X: m.from - m.Mm(8), Y: 0}, scene.Pt{X: m.to + m.Mm(right*0.6), Y: 0})
	m.Group(m.tag("frame", "frame"), func() {
		m.sideWheels()
		m.sideMember()
		m.sideBase()
		m.sideZones()
	})
	m.Group(m.tag("stack", "stack"), m.sideParts)
	m.Group(m.tag("bolts", "bolts"), m.sideBolts)
	m.Group(scene.Tag{Class: "centre-lines"}, func() {
		m.Line(m.at.layer(scene.Centre), m.on(m.at.mm, -m.depth.mm-m.Mm(3)), m.on(m.at.mm, m.height()+m.Mm(3)))
		for _, w := range m.shownWheels() {
			m.CentreMark(scene.Pt{X: w.at.mm, Y: w.r.mm}, m.Mm(2.5))
		}
	})
	m.Group(scene.Tag{Class: "dims"}, func() {
		m.sidePositions(left)
		m.sideHeights()
		if !o.Phone {
			m.ladder()
		}
		m.sideRail()
	})
	if o.Phone && !o.NoBlock {
		m.ladderList()
	}
	m.clearances()
	m.notes()
	m.draft()
	m.block(m.word("side view"))
	m.Desc = m.word("Side view, facing left") + ". " + m.describeStack()
	return m.Scene
}

// height is how far the top plate stands over the frame's top.
func (m *mount) height() float64 { return m.storeys[len(m.storeys)-1].high.mm }

func (m *mount) shownWheels() []wheels {
	var out []wheels
	for _, w := range m.wheels {
		if w.at.mm-w.r.mm >= m.from && w.at.mm+w.r.mm <= m.to {
			out = append(out, w)
		}
	}
	return out
}

func (m *mount) sideWheels() {
	for _, w := range m.shownWheels() {
		m.Circle(both(w.at, w.r).layer(nearWheel), scene.Pt{X: w.at.mm, Y: w.r.mm}, w.r.mm)
	}
}

// ends are where the frame is broken off, or ends.
func (m *mount) ends() (from, to float64, broken bool) {
	from, to, broken = m.from-m.Mm(2), m.to, true
	if m.frameEnd.mm <= m.to {
		to, broken = m.frameEnd.mm, false
	}
	return from, to, broken
}

// sideMember draws the side member with its flanges and the holes in its web.
func (m *mount) sideMember() {
	from, to, broken := m.ends()
	l := both(m.ground(), m.depth).layer(memberLayer)
	bottom := -m.depth.mm
	m.Polygon(l.As(l.Line), m.on(from, 0), m.on(to, 0), m.on(to, bottom), m.on(from, bottom))
	t := 9.0
	if f := m.r.Chassis.Frame.Thickness; f != nil {
		t = f.Millimetres()
	}
	m.Line(scene.Detail, m.on(from, -t), m.on(to, -t))
	m.Line(scene.Detail, m.on(from, bottom+t), m.on(to, bottom+t))
	m.breakLine(from, bottom)
	if broken {
		m.breakLine(to, bottom)
	}
	for _, h := range m.r.Chassis.Frame.Holes.Places() {
		if x := h.X.Millimetres(); x > from && x < to {
			m.Circle(emptyHole, m.on(x, h.Y.Millimetres()), h.D.Millimetres()/2)
		}
	}
}

// breakLine shows that the frame goes on: an edge that is no edge.
func (m *mount) breakLine(x, bottom float64) {
	k := m.Mm(1.4)
	h := -bottom
	m.Polyline(scene.Layer{Name: "break", Line: scene.RoleSheet, Width: scene.W70}, m.on(x, 0), m.on(x, bottom))
	m.Polyline(scene.Detail, m.on(x, k*1.6), m.on(x, -h*0.42), m.on(x-k, -h*0.47), m.on(x+k, -h*0.53), m.on(x, -h*0.58), m.on(x, bottom-k*1.6))
}

// sideZones hatches where the chassis maker's guide forbids holes or parts.
func (m *mount) sideZones() {
	for i := range m.r.Chassis.Zones {
		z := &m.r.Chassis.Zones[i]
		a, b, ok := m.zone(z)
		if !ok {
			continue
		}
		low, high := -m.depth.mm, 0.0
		if z.What == "keep-free" {
			low, high = 0, math.Max(m.Mm(8), 90)
		}
		area := []scene.Pt{m.on(a, low), m.on(b, low), m.on(b, high), m.on(a, high)}
		m.Hatch(zoneHatch, 45*unit.Degree, 1.8, area...)
		m.Polygon(zoneEdge, area...)
		if m.o.Phone {
			continue
		}
		what := m.word("no holes")
		if z.What == "keep-free" {
			what = m.word("keep free")
		}
		text := strings.TrimSuffix(what+": "+z.Name, ": ")
		half := m.Mm(scene.TextWidth(text, m.text.label, false)/2 + 1.5)
		x := math.Min(math.Max((a+b)/2, m.from+half), m.to-half)
		m.Text(scene.Text{At: m.on(x, -m.depth.mm-m.Mm(m.text.label+2.4+3.4*float64(i%3))), S: text, Height: m.text.label, H: scene.Middle, Role: scene.RoleCaution, Halo: true})
	}
}

// zone cuts a zone to what is shown.
func (m *mount) zone(z *mounting.Zone) (from, to float64, ok bool) {
	if z.From == nil || z.To == nil {
		return 0, 0, false
	}
	a, b, _ := m.ends()
	from, to = math.Max(a, z.From.Millimetres()), math.Min(b, z.To.Millimetres())
	return from, to, from < to
}

// sideBase draws attachment angles or subframe.
func (m *mount) sideBase() {
	c := m.r.Chassis
	a, b, _ := m.ends()
	reach := func(from, to *unit.Length) (x0, x1 float64, known bool) {
		x0, x1, known = a, b, true
		if from != nil {
			x0 = math.Max(a, from.Millimetres())
		}
		if to != nil {
			x1 = math.Min(b, to.Millimetres())
		}
		return x0, x1, from != nil && to != nil
	}
	switch m.stack.Base {
	case mounting.OnSubframe:
		x0, x1, known := reach(c.Subframe.From, c.Subframe.To)
		m.Polygon(size{known: known && m.base.known}.layer(subLayer), m.on(x0, 0), m.on(x1, 0), m.on(x1, m.base.mm), m.on(x0, m.base.mm))
		if w := c.Subframe.Wall; w != nil {
			m.Line(scene.Detail, m.on(x0, m.base.mm-w.Millimetres()), m.on(x1, m.base.mm-w.Millimetres()))
		}
	case mounting.OnAngles:
		x0, x1, known := reach(c.Angles.From, c.Angles.To)
		if !known {
			m.miss(m.word("ends of the attachment angles"))
		}
		low := -150.0
		web := c.Angles.Web.Places()
		for _, h := range web {
			low = math.Min(low, h.Y.Millimetres()-40)
		}
		k := size{known: known && m.base.known}
		m.Polygon(k.layer(anglesLayer), outline(m.bent(x0, low, 0), m.bent(x0, m.base.mm, 8), m.bent(x1, m.base.mm, 8), m.bent(x1, low, 0))...)
		if w := c.Angles.Wall; w != nil {
			m.Line(scene.Detail, m.on(x0, m.base.mm-w.Millimetres()), m.on(x1, m.base.mm-w.Millimetres()))
		}
		bolted := m.joint(mounting.OnFrame, mounting.OnAngles) != nil
		for _, h := range web {
			m.webHole(h.X.Millimetres(), h.Y.Millimetres(), h.D.Millimetres(), bolted)
		}
	}
}

// bent is a corner of an outline on the frame.
func (m *mount) bent(x, over, r float64) corner {
	p := m.on(x, over)
	return corner{p.X, p.Y, r}
}

// webHole draws a hole in the web, with its bolt where there is one.
func (m *mount) webHole(x, y, d float64, bolted bool) {
	c := m.on(x, y)
	m.Circle(holeLayer, c, d/2)
	if bolted {
		m.Circle(boltLayer, c, d*0.32)
	}
	k := d/2 + m.Mm(0.9)
	m.Line(scene.Layer{Name: "centre", Line: scene.RoleCentre, Width: scene.W13}, c.Add(-k, 0), c.Add(k, 0))
	m.Line(scene.Layer{Name: "centre", Line: scene.RoleCentre, Width: scene.W13}, c.Add(0, -k), c.Add(0, k))
}

// joint finds the specification's joint of two things, or nil.
func (m *mount) joint(lower, upper string) *mounting.JointRow {
	for i := range m.s.Joints {
		if j := &m.s.Joints[i]; j.Lower == lower && j.Upper == upper {
			return j
		}
	}
	return nil
}

// below is what a storey stands on, as joints name it.
func (m *mount) below(i int) string {
	if i == 0 {
		return m.stack.Base
	}
	return m.storeys[i-1].part.ID
}

// sideBolts draws the lines on which the bolts of level faces stand.
func (m *mount) sideBolts() {
	for i := range m.storeys {
		st := &m.storeys[i]
		if i == 0 && m.stack.Base == mounting.OnFrame {
			continue // its holes lie in the web and are seen from the front
		}
		seen := map[float64]bool{}
		bolted := m.bolted(i)
		for _, h := range st.part.Foot.Places() {
			x := st.middle.mm + h.X.Millimetres()
			if seen[x] {
				continue
			}
			seen[x] = true
			up := math.Min(st.high.mm-st.low.mm, m.Mm(4))
			m.Line(scene.Layer{Name: "centre", Line: scene.RoleCentre, Width: scene.W18, Dash: scene.DashDot}, m.on(x, st.low.mm-m.Mm(2.5)), m.on(x, st.low.mm+up))
			if slices.Contains(bolted, h.Number) {
				k := h.D.Millimetres() * 0.75
				m.Rect(boltLayer, m.on(x-k, st.low.mm-m.Mm(0.5)), m.on(x+k, st.low.mm+m.Mm(0.5)))
			}
		}
	}
}

// bolted lists the numbers of a storey's foot holes that take a bolt.
func (m *mount) bolted(i int) []int {
	j := m.joint(m.below(i), m.storeys[i].part.ID)
	if j == nil {
		return nil
	}
	var out []int
	for _, p := range j.Places {
		out = append(out, p.Number)
	}
	return out
}

// sidePositions draws where the fifth wheel stands along the frame: from the
// front axle, which lies outside the drawing, and against the drive axle.
func (m *mount) sidePositions(left float64) {
	const first = 8.0
	y0, y1, y2 := -m.Mm(first), -m.Mm(first+8), -m.Mm(first+16)
	ext := func(x float64, to float64, known bool) {
		m.Line(size{known: known}.layer(scene.Dimension), scene.Pt{X: x, Y: -m.Mm(1)}, scene.Pt{X: x, Y: to - m.Mm(1.6)})
	}
	m.Line(m.at.layer(scene.Centre), m.on(m.at.mm, -m.depth.mm-m.Mm(3)), scene.Pt{X: m.at.mm, Y: 0})
	ext(m.at.mm, y1, m.at.known)
	inView := m.ref.known && m.ref.mm > m.from && m.ref.mm < m.to && math.Abs(m.ref.mm-m.at.mm) > 1
	if inView {
		ext(m.ref.mm, y0, true)
	}
	slides := m.travel > 0 && m.at.known
	if slides {
		ext(m.at.mm+m.travel, y1, true)
	}
	if inView {
		d := scene.Dim{A: scene.Pt{X: m.at.mm}, B: scene.Pt{X: m.ref.mm}, BareA: true, BareB: true, Height: m.text.figure, Text: m.length(math.Abs(m.ref.mm - m.at.mm)), Unknown: !m.at.known}
		if !m.at.known {
			d.Text = "?"
		}
		m.DimHorizontal(y0, d)
		m.caption(scene.Pt{X: math.Max(m.at.mm, m.ref.mm) + m.Mm(2.5), Y: y0 - m.Mm(0.8)}, m.word("lead to the "+m.s.Position.Datum), scene.Left)
	}
	if slides {
		rear := m.at.mm + m.travel
		pitch := m.word("in steps of") + "\u00a0" + m.length(float64(m.s.Position.Pitch))
		m.DimHorizontal(y1, scene.Dim{A: scene.Pt{X: m.at.mm}, B: scene.Pt{X: rear}, BareA: true, BareB: true, Height: m.text.figure, Text: m.length(m.travel)})
		m.caption(scene.Pt{X: rear + m.Mm(2.5), Y: y1 - m.Mm(0.8)}, m.word("slide travel")+", "+pitch, scene.Left)
	}
	m.lawfulBar(y2)
	// From the front axle.
	x0 := m.from - m.Mm(math.Max(left*0.5, 3))
	if m.o.Phone {
		x0 = m.from
	}
	line := m.at.layer(scene.Dimension)
	m.Line(line, scene.Pt{X: x0, Y: y1}, scene.Pt{X: m.at.mm, Y: y1})
	role := scene.RoleInk
	if !m.at.known {
		role = scene.RoleUnknown
	}
	m.Arrow(role, scene.Pt{X: m.at.mm, Y: y1}, scene.Pt{X: 1})
	for _, k := range []float64{5, 6.2} { // broken: it is not drawn to its length
		x := x0 + m.Mm(k)
		m.Line(line, scene.Pt{X: x - m.Mm(0.6), Y: y1 - m.Mm(1.6)}, scene.Pt{X: x + m.Mm(0.6), Y: y1 + m.Mm(1.6)})
	}
	figure := m.word("not known")
	if m.at.known {
		figure = m.length(m.at.mm) + m.tolerance(m.s.Position.Tolerance)
	}
	where := m.word("front axle to fifth wheel")
	if m.travel > 0 {
		where += ", " + m.word("foremost")
	}
	mid := scene.Pt{X: (x0 + m.at.mm) / 2, Y: y1 + m.Mm(1)}
	m.Text(scene.Text{At: mid, S: figure, Height: m.text.load, Bold: true, H: scene.Middle, Role: role, Halo: true})
	m.caption(scene.Pt{X: mid.X, Y: y1 - m.Mm(m.text.label+1.2)}, where, scene.Middle)
}

// caption letters a small remark at a dimension.
func (m *mount) caption(at scene.Pt, s string, h scene.HAnchor) {
	m.Text(scene.Text{At: at, S: s, Height: m.text.label, H: h, Role: scene.RoleMuted, Halo: true})
}

// lawfulBar shows which places of the fifth wheel are lawful for every
// semi-trailer of the brief; on a slider, of its foremost slide position.
func (m *mount) lawfulBar(y float64) {
	var words []string
	right := m.at.mm
	for _, l := range m.s.Position.Lawful {
		a, b := math.Max(m.from, float64(l[0])), math.Min(m.to, float64(l[1]))
		words = append(words, m.length(float64(l[0]))+" "+m.word("to")+" "+m.length(float64(l[1])))
		if a > b {
			continue
		}
		right = math.Max(right, b)
		bar := scene.Layer{Name: "lawful", Line: scene.RoleHolds, Width: scene.W70}
		m.Line(bar, scene.Pt{X: a, Y: y}, scene.Pt{X: math.Max(b, a+m.Mm(0.3)), Y: y})
		for _, x := range []float64{a, b} {
			m.Line(scene.Layer{Name: "lawful-end", Line: scene.RoleHolds, Width: scene.W25}, scene.Pt{X: x, Y: y - m.Mm(1.2)}, scene.Pt{X: x, Y: y + m.Mm(1.2)})
		}
	}
	text, role := m.word("lawful")+" "+strings.Join(words, ", "), scene.RoleHolds
	const most = 3 // more are counted
	if n := len(words); n > most {
		l := m.s.Position.Lawful
		text = fmt.Sprintf("%s: %d %s %s %s %s", m.word("lawful"), n, m.word("places from"), m.length(float64(l[0][0])), m.word("to"), m.length(float64(l[n-1][1])))
	}
	if len(words) == 0 {
		text, role = sign(scene.RoleUnknown)+m.word("no lawful place is known"), scene.RoleUnknown
	}
	at, h := scene.Pt{X: right + m.Mm(2.5), Y: y - m.Mm(0.8)}, scene.Left
	if m.o.Phone { // no room beside
		at = scene.Pt{X: m.from, Y: y - m.Mm(5)}
	}
	m.Text(scene.Text{At: at, S: text, Height: m.text.label, H: h, Role: role, Halo: true})
}

// A heightRow is one coupling height that is dimensioned.
type heightRow struct {
	over *int // nil: not known
	what string
	role scene.Role
}

func (m *mount) heightRows() []heightRow {
	var out []heightRow
	told := map[string]int{}
	for i := range m.s.Heights {
		h := &m.s.Heights[i]
		name := ""
		if h.Name != "" && len(m.s.Heights) > 1 {
			name = h.Name + ", "
		}
		add := func(over, wanted *int, how string) {
			row := heightRow{over: over, what: name + m.word(how) + m.wanted(wanted, h.Tolerance), role: scene.RoleInk}
			if wanted != nil { // its findings stand in the order of the heights
				row.role = alarm(m.nth("height."+how, told[how]))
				told[how]++
			}
			out = append(out, row)
		}
		add(h.Unladen, h.Wanted, "unladen")
		if h.Laden != nil || h.WantedLow != nil {
			add(h.Laden, h.WantedLow, "laden")
		}
	}
	return out
}

// nth returns the nth of the mounting's findings whose ids begin so, or nil.
func (m *mount) nth(prefix string, n int) *mounting.Finding {
	for i := range m.s.Findings {
		if strings.HasPrefix(m.s.Findings[i].ID, prefix) {
			if n--; n < 0 {
				return &m.s.Findings[i]
			}
		}
	}
	return nil
}

// sideHeights draws the coupling heights over the ground: unladen and laden, of
// each wanted height.
func (m *mount) sideHeights() {
	st := &m.storeys[len(m.storeys)-1]
	from := scene.Pt{X: st.middle.mm + st.behind.mm, Y: m.top(m.at.mm) + m.height()}
	x := m.to + m.Mm(8)
	if m.o.Phone {
		x = m.to + m.Mm(5)
	}
	for _, r := range m.heightRows() {
		d := scene.Dim{A: scene.Pt{X: from.X}, B: from, BareA: true, Height: m.text.figure}
		if r.over == nil {
			d.Text, d.Unknown = m.word("not known"), true
		} else {
			d.B.Y = float64(*r.over)
			d.Text = m.length(d.B.Y)
			if r.role != scene.RoleInk {
				d.Text, d.Role = sign(r.role)+d.Text, r.role
			}
		}
		m.DimVertical(x, d)
		if m.o.Phone {
			return
		}
		m.Text(scene.Text{At: scene.Pt{X: x + m.Mm(1), Y: d.B.Y / 2}, S: r.what, Height: m.text.label, H: scene.Middle, V: scene.Top, Angle: 90 * unit.Degree, Role: scene.RoleMuted, Halo: true})
		x += m.Mm(8.5)
	}
}

func (m *mount) wanted(mm, tolerance *int) string {
	if mm == nil {
		return ""
	}
	return ", " + m.word("wanted") + " " + m.length(float64(*mm)) + m.tolerance(tolerance)
}

// sideRail letters above the drawing where each part begins and ends, counted
// from the front axle.
func (m *mount) sideRail() {
	var marks []railMark
	add := func(x, over float64, known bool) {
		if known && m.at.known && !m.o.Phone {
			marks = append(marks, railMark{x: x, from: m.on(x, over), text: m.exact(x)})
		}
	}
	if a := m.r.Chassis.Angles; a != nil && m.stack.Base == mounting.OnAngles {
		for _, x := range []*unit.Length{a.From, a.To} {
			if x != nil {
				add(x.Millimetres(), m.base.mm, true)
			}
		}
	}
	for i := range m.storeys {
		st := &m.storeys[i]
		add(st.middle.mm-st.ahead.mm, st.high.mm, st.middle.known && st.ahead.known)
		add(st.middle.mm+st.behind.mm, st.high.mm, st.middle.known && st.behind.known)
	}
	if m.at.known {
		marks = append(marks, railMark{x: m.at.mm, from: m.on(m.at.mm, m.height()+m.Mm(3)), text: m.exact(m.at.mm), bold: true})
	}
	y := m.top(m.at.mm) + m.height()
	for _, r := range m.heightRows() {
		if r.over != nil {
			y = math.Max(y, float64(*r.over))
		}
	}
	y += m.Mm(9)
	m.rail(marks, y, 1, m.word("from the front axle"))
}

// clearances lists what is left between parts, where the page does not say it
// beside the drawing.
func (m *mount) clearances() {
	if m.o.Phone || m.o.NoBlock {
		return
	}
	rows := Clearances(m.s)
	if len(rows) == 0 {
		return
	}
	b := m.Bounds()
	m.Group(m.tag("clearances", "clearances"), func() {
		h := m.text.label
		line := func(y float64, cells [4]string, role scene.Role) {
			at := [4]float64{4.5, 110, 124, 130}
			for i, c := range cells {
				t := scene.Text{At: scene.Pt{X: b.Min.X + m.Mm(at[i]), Y: y}, S: c, Height: h, Role: role}
				if i == 1 || i == 2 {
					t.H = scene.Right
				}
				if i == 0 {
					t.S = clip(c, h, 94)
				}
				m.Text(t)
			}
		}
		y := b.Min.Y - m.Mm(6)
		line(y, [4]string{m.word("Clearances, the tightest of each kind over all pairs"), m.word("mm"), m.word("least"), m.word("semi-trailer")}, scene.RoleMuted)
		for _, r := range rows {
			y -= m.Mm(h * 1.85)
			value, limit := "?", ""
			if r.Value != nil {
				value = m.length(*r.Value)
			}
			if r.Limit != nil {
				limit = m.length(*r.Limit)
			}
			state := roleOf(r.Finding)
			if state != scene.RoleHolds {
				m.Mark(state, scene.Pt{X: b.Min.X + m.Mm(1.8), Y: y + m.Mm(h/2)}, h)
			}
			role := scene.RoleInk
			if state == scene.RoleFails || state == scene.RoleUnknown {
				role = state
			}
			line(y, [4]string{r.Title, value, limit, r.Trailer}, role)
		}
	})
}

// A Clearance is a finding on what is left between two things.
type Clearance struct {
	*mounting.Finding
	Trailer string // of which pair; empty: of the mounting itself
}

// Clearances returns the gap over the flange and, over the pairs that must work,
// of each kind of clearance the finding with the least margin, the tightest
// first, at most five of them.
func Clearances(s *mounting.Specification) []Clearance {
	var out []Clearance
	for i := range s.Pairs {
		p := &s.Pairs[i]
		if p.Wished {
			continue
		}
		for k := range p.Findings {
			f := &p.Findings[k]
			if !strings.HasPrefix(f.ID, "clear.") || f.Unit != "mm" {
				continue
			}
			at := slices.IndexFunc(out, func(c Clearance) bool { return c.ID == f.ID })
			switch {
			case at < 0:
				out = append(out, Clearance{f, p.Trailer})
			case roomOf(f) < roomOf(out[at].Finding):
				out[at] = Clearance{f, p.Trailer}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Clearance) int {
		switch x, y := roomOf(a.Finding), roomOf(b.Finding); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return strings.Compare(a.ID, b.ID)
	})
	const most = 5
	out = out[:min(len(out), most)]
	for i := range s.Findings {
		if f := &s.Findings[i]; f.ID == "flange-gap" {
			out = slices.Insert(out, 0, Clearance{f, ""})
		}
	}
	return out
}

// roomOf is a margin by which findings are ordered; what cannot be told comes
// first.
func roomOf(f *mounting.Finding) float64 {
	if f.Margin == nil {
		return math.Inf(-1)
	}
	return *f.Margin
}
