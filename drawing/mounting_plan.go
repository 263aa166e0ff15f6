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

// MountingPlan draws a mounting from above, the front of the vehicle to the
// left and its left-hand side below: side members, what the stack begins on,
// and the bolts of every level face, their places along the frame counted from
// the front axle.
func MountingPlan(r *mounting.Request, s *mounting.Specification, o Options) *scene.Scene {
	m := newMount(r, s, o)
	m.stretch(110)
	left, right := 40.0, 18.0
	if o.Phone {
		left, right = 4, 11
	}
	m.open("mounting-plan", m.word("plan"), left, right)
	m.Group(m.tag("frame", "frame"), func() {
		m.planMembers()
		m.planBase()
		m.planZones()
	})
	m.Group(m.tag("stack", "stack"), m.planParts)
	m.Group(scene.Tag{Class: "centre-lines"}, func() {
		m.Line(scene.Centre, scene.Pt{X: m.from - m.Mm(4)}, scene.Pt{X: m.to + m.Mm(3)})
		half := m.planHalf()
		m.Line(m.at.layer(scene.Centre), scene.Pt{X: m.at.mm, Y: -half - m.Mm(3)}, scene.Pt{X: m.at.mm, Y: half + m.Mm(3)})
		if m.ref.known && m.ref.mm > m.from && m.ref.mm < m.to {
			m.Line(scene.Centre, scene.Pt{X: m.ref.mm, Y: -half}, scene.Pt{X: m.ref.mm, Y: half})
			m.caption(scene.Pt{X: m.ref.mm + m.Mm(1.2), Y: -m.wide.mm * 0.3}, m.word(m.s.Position.Datum), scene.Left)
		}
	})
	m.Group(m.tag("bolts", "bolts"), m.planBolts)
	m.Group(scene.Tag{Class: "dims"}, func() {
		m.planRails()
		if !o.Phone {
			m.planRows()
		}
		m.planWidths()
		m.forward(scene.Pt{X: m.from, Y: m.Bounds().Max.Y + m.Mm(4)}, m.word("forward; left-hand side below"))
	})
	m.legend()
	m.notes()
	m.draft()
	m.block(m.word("plan"))
	m.Desc = m.word("Plan, facing left") + ". " + m.describeStack()
	return m.Scene
}

// across turns a distance to the left of the centre line into the drawing's y.
func across(l unit.Length) float64 { return -l.Millimetres() }

// halfOf is how far a part's holes reach from the centre line, with room for
// the steel around them; unknown without holes.
func (m *mount) halfOf(p *mounting.Part) size {
	half := 0.0
	for _, pattern := range []*mounting.Pattern{p.Foot, p.Top} {
		if p.Kind == mounting.Bracket && pattern == p.Foot {
			continue // in the web
		}
		for _, h := range pattern.Places() {
			half = math.Max(half, math.Abs(h.Y.Millimetres()))
		}
	}
	if half == 0 {
		return size{m.wide.mm/2 + 40, false}
	}
	return size{half + 40, true}
}

// planHalf is how far the drawing reaches to either side.
func (m *mount) planHalf() float64 {
	half := m.wide.mm/2 + 60
	for i := range m.storeys {
		half = math.Max(half, m.halfOf(m.storeys[i].part).mm)
	}
	return math.Max(half, m.anglesHalf().mm)
}

func (m *mount) anglesHalf() size {
	if m.stack.Base != mounting.OnAngles {
		return size{0, true}
	}
	_, outer := m.anglesLegs()
	return outer
}

// anglesLegs is how far from the centre line the upper legs reach, with room
// for the steel around their holes.
func (m *mount) anglesLegs() (inner, outer size) {
	places := m.r.Chassis.Angles.Top.Places()
	if len(places) == 0 {
		return size{m.wide.mm / 2, false}, size{m.wide.mm/2 + 90, false}
	}
	inner, outer = size{m.wide.mm / 2, true}, size{0, true}
	for _, h := range places {
		y := math.Abs(h.Y.Millimetres())
		inner.mm, outer.mm = math.Min(inner.mm, y-30), math.Max(outer.mm, y+30)
	}
	return inner, outer
}

func (m *mount) planMembers() {
	from, to, broken := m.ends()
	outer, inner := m.wide.mm/2, m.wide.mm/2-m.flange.mm
	l := both(m.wide, m.flange).layer(memberLayer)
	web := 8.0
	if w := m.r.Chassis.Frame.Web; w != nil {
		web = w.Millimetres()
	}
	for _, side := range []float64{-1, 1} {
		m.Rect(l, scene.Pt{X: from, Y: side * inner}, scene.Pt{X: to, Y: side * outer})
		m.Line(scene.Layer{Name: "web", Line: scene.RoleThin, Width: scene.W18, Dash: scene.Dashed}, scene.Pt{X: from, Y: side * (outer - web)}, scene.Pt{X: to, Y: side * (outer - web)})
		m.planBreak(from, side*inner, side*outer)
		if broken {
			m.planBreak(to, side*inner, side*outer)
		}
	}
}

// planZones hatches where the guide forbids holes or parts.
func (m *mount) planZones() {
	outer, inner := m.wide.mm/2, m.wide.mm/2-m.flange.mm
	for _, side := range []float64{-1, 1} {
		for i := range m.r.Chassis.Zones {
			if a, b, ok := m.zone(&m.r.Chassis.Zones[i]); ok {
				area := []scene.Pt{{X: a, Y: side * inner}, {X: b, Y: side * inner}, {X: b, Y: side * outer}, {X: a, Y: side * outer}}
				m.Hatch(zoneHatch, 45*unit.Degree, 1.8, area...)
				m.Polygon(zoneEdge, area...)
			}
		}
	}
}

func (m *mount) planBreak(x, a, b float64) {
	k := m.Mm(1.2)
	m.Line(scene.Layer{Name: "break", Line: scene.RoleSheet, Width: scene.W70}, scene.Pt{X: x, Y: a}, scene.Pt{X: x, Y: b})
	mid, h := (a+b)/2, (b-a)/2
	m.Polyline(scene.Detail, scene.Pt{X: x, Y: a - math.Copysign(k, b-a)}, scene.Pt{X: x, Y: mid - h*0.2}, scene.Pt{X: x - k, Y: mid - h*0.08}, scene.Pt{X: x + k, Y: mid + h*0.08}, scene.Pt{X: x, Y: mid + h*0.2}, scene.Pt{X: x, Y: b + math.Copysign(k, b-a)})
}

// planBase draws the upper legs of the attachment angles, or the subframe.
func (m *mount) planBase() {
	c := m.r.Chassis
	a, b, _ := m.ends()
	clip := func(from, to *unit.Length) (float64, float64, bool) {
		x0, x1 := a, b
		if from != nil {
			x0 = math.Max(a, from.Millimetres())
		}
		if to != nil {
			x1 = math.Min(b, to.Millimetres())
		}
		return x0, x1, from != nil && to != nil
	}
	var holes []mounting.Place
	switch m.stack.Base {
	case mounting.OnAngles:
		x0, x1, known := clip(c.Angles.From, c.Angles.To)
		inner, outer := m.anglesLegs()
		if !outer.known {
			m.miss(m.word("holes of the attachment angles"))
		}
		l := size{known: known && outer.known}.layer(anglesLayer)
		for _, side := range []float64{-1, 1} {
			m.Rect(l, scene.Pt{X: x0, Y: side * inner.mm}, scene.Pt{X: x1, Y: side * outer.mm})
		}
		holes = c.Angles.Top.Places()
	case mounting.OnSubframe:
		x0, x1, known := clip(c.Subframe.From, c.Subframe.To)
		flange := m.take(m.word("flange of the subframe"), c.Subframe.Flange, m.flange.mm)
		l := both(size{known: known}, flange, m.wide).layer(subLayer)
		for _, side := range []float64{-1, 1} {
			m.Rect(l, scene.Pt{X: x0, Y: side * (m.wide.mm/2 - flange.mm)}, scene.Pt{X: x1, Y: side * m.wide.mm / 2})
		}
		if holes = c.Subframe.Holes.Places(); len(holes) == 0 {
			m.miss(m.word("holes of the subframe"))
		}
	}
	for _, h := range holes {
		if x := h.X.Millimetres(); x > a && x < b {
			m.Circle(emptyHole, scene.Pt{X: x, Y: across(h.Y)}, h.D.Millimetres()/2)
		}
	}
}

// planParts draws the outlines of the parts: front and rear end as entered, the
// sides at their outermost holes, thin, because no width was entered.
func (m *mount) planParts() {
	for i := range m.storeys {
		st := &m.storeys[i]
		x0, x1 := st.ends()
		known := both(m.at, st.ahead, st.behind)
		if st.part.Kind == mounting.FifthWheel {
			l := scene.Layer{Name: st.part.Kind, Line: scene.RoleThin, Width: scene.W25}
			m.wheelPlan(known.layer(l), st.middle.mm, st.ahead.mm, st.behind.mm)
			if m.travel > 0 {
				m.wheelPlan(slideGhost, st.middle.mm+m.travel, st.ahead.mm, st.behind.mm)
			}
			continue
		}
		half := m.halfOf(st.part)
		ends := known.layer(scene.Layer{Name: st.part.Kind, Line: scene.RoleInk, Width: scene.W35})
		sides := scene.Layer{Name: st.part.Kind + "-side", Line: scene.RoleThin, Width: scene.W18, Dash: scene.Dashed}
		for _, x := range []float64{x0, x1} {
			m.Line(ends, scene.Pt{X: x, Y: -half.mm}, scene.Pt{X: x, Y: half.mm})
		}
		for _, side := range []float64{-1, 1} {
			m.Line(sides, scene.Pt{X: x0, Y: side * half.mm}, scene.Pt{X: x1, Y: side * half.mm})
		}
	}
}

// planBolts draws the holes of every level face, and the bolts in them.
func (m *mount) planBolts() {
	noted := 0
	for i := range m.storeys {
		st := &m.storeys[i]
		if i == 0 && m.stack.Base == mounting.OnFrame {
			continue
		}
		places := st.part.Foot.Places()
		if len(places) == 0 {
			m.miss(st.part.Title() + ": " + m.word("hole pattern"))
			at := scene.Pt{X: st.middle.mm - m.Mm(2), Y: m.wide.mm*0.22 - m.Mm(9*float64(noted))}
			noted++
			name := clip(st.part.Title(), m.text.label, 50)
			wide := m.Mm(math.Max(scene.TextWidth(name, m.text.label, false), scene.TextWidth(m.word("pattern not entered"), m.text.label, false))/2 + 1.5)
			m.Rect(scene.Missing.Filled(scene.RoleSheet), at.Add(-wide, -m.Mm(3.9)), at.Add(wide, m.Mm(3.9)))
			m.Text(scene.Text{At: at.Add(0, m.Mm(0.7)), S: name, Height: m.text.label, H: scene.Middle, Role: scene.RoleUnknown})
			m.Text(scene.Text{At: at.Add(0, -m.Mm(2.7)), S: m.word("pattern not entered"), Height: m.text.label, H: scene.Middle, Role: scene.RoleUnknown})
			continue
		}
		bolted := m.bolted(i)
		for _, h := range places {
			m.planHole(scene.Pt{X: st.middle.mm + h.X.Millimetres(), Y: across(h.Y)}, h.D.Millimetres(), slices.Contains(bolted, h.Number))
		}
	}
}

func (m *mount) planHole(c scene.Pt, d float64, bolted bool) {
	m.Circle(holeLayer, c, d/2)
	if bolted {
		m.Circle(boltLayer, c, d*0.34)
	}
	l := scene.Layer{Name: "centre", Line: scene.RoleCentre, Width: scene.W13}
	k := d/2 + m.Mm(0.8)
	m.Line(l, c.Add(-k, 0), c.Add(k, 0))
	m.Line(l, c.Add(0, -k), c.Add(0, k))
}

// planRails letters the bolts of the lowest level face below the plan, those of
// the faces above it over the plan, each counted from the front axle.
func (m *mount) planRails() {
	if !m.at.known {
		return
	}
	half := m.planHalf()
	var low, high []railMark
	first := true
	for i := range m.storeys {
		st := &m.storeys[i]
		if i == 0 && m.stack.Base == mounting.OnFrame {
			continue
		}
		for _, h := range st.part.Foot.Places() {
			k := railMark{x: st.middle.mm + h.X.Millimetres(), text: m.exact(st.middle.mm + h.X.Millimetres())}
			k.from = scene.Pt{X: k.x, Y: across(h.Y)}
			switch {
			case first && h.Y >= 0:
				k.from.Y -= h.D.Millimetres() / 2
				low = append(low, k)
			case !first && h.Y <= 0:
				k.from.Y += h.D.Millimetres() / 2
				high = append(high, k)
			}
		}
		first = false
	}
	centre := railMark{x: m.at.mm, from: scene.Pt{X: m.at.mm, Y: half + m.Mm(3)}, text: m.exact(m.at.mm), bold: true}
	if m.o.Phone { // the figures of every bolt stand on the pattern
		low, high = nil, nil
	}
	m.rail(low, -half-m.Mm(6), -1, m.word("from the front axle"))
	m.rail(append(high, centre), half+m.Mm(7), 1, m.word("from the front axle"))
}

// planRows dimensions across the frame how far the rows of bolts stand apart.
func (m *mount) planRows() {
	type row struct {
		y, x float64
	}
	var rows []row
	for i := range m.storeys {
		st := &m.storeys[i]
		if i == 0 && m.stack.Base == mounting.OnFrame {
			continue
		}
		places := st.part.Foot.Places()
		for _, h := range places {
			y := h.Y.Millimetres()
			other := slices.ContainsFunc(places, func(o mounting.Place) bool {
				return math.Abs(o.Y.Millimetres()+y) < 0.05 && math.Abs((o.X-h.X).Millimetres()) < 0.05
			})
			if y <= 0 || !other {
				continue
			}
			x := st.middle.mm + h.X.Millimetres()
			k := slices.IndexFunc(rows, func(r row) bool { return math.Abs(r.y-y) < 0.05 })
			switch {
			case k < 0:
				rows = append(rows, row{y, x})
			case x < rows[k].x:
				rows[k].x = x
			}
		}
	}
	slices.SortFunc(rows, func(a, b row) int { return int(math.Copysign(1, a.y-b.y)) })
	const most = 4
	for i, r := range rows[:min(len(rows), most)] {
		m.DimVertical(m.from-m.Mm(10+8*float64(i)), scene.Dim{A: scene.Pt{X: r.x, Y: -r.y}, B: scene.Pt{X: r.x, Y: r.y}, Height: m.text.figure, Text: m.exact(2 * r.y)})
	}
}

// planWidths dimensions the frame over its outer faces.
func (m *mount) planWidths() {
	_, to, _ := m.ends()
	d := scene.Dim{A: scene.Pt{X: to, Y: -m.wide.mm / 2}, B: scene.Pt{X: to, Y: m.wide.mm / 2}, Height: m.text.figure, Text: m.length(m.wide.mm), Unknown: !m.wide.known}
	if !m.wide.known {
		d.Text = m.word("not known")
	}
	x := math.Max(m.to, to) + m.Mm(9)
	if m.o.Phone {
		x = math.Max(m.to, to) + m.Mm(5)
	}
	m.DimVertical(x, d)
	if !m.o.Phone {
		m.Text(scene.Text{At: scene.Pt{X: x + m.Mm(1)}, S: m.word("over the side members"), Height: m.text.label, H: scene.Middle, V: scene.Top, Angle: 90 * unit.Degree, Role: scene.RoleMuted, Halo: true})
	}
}

// legend says which bolts stand in which holes.
func (m *mount) legend() {
	var words []string
	for i := range m.s.Joints {
		j := &m.s.Joints[i]
		words = append(words, m.jointWords(j))
	}
	if len(words) == 0 {
		words = append(words, m.word("no bolts entered"))
	}
	m.list("legend", scene.RoleInk, m.word("Bolts")+": "+strings.Join(words, "; ")+". "+m.word("Small thin circles are holes that are there and stay empty."))
}

func (m *mount) jointWords(j *mounting.JointRow) string {
	size := strings.TrimSpace(j.Thread + " " + j.Grade)
	if size == "" {
		size = m.word("bolts not entered")
	}
	count := unit.Unknown
	if j.Bolts > 0 {
		count = fmt.Sprint(j.Bolts)
	}
	text := fmt.Sprintf("%s\u00a0×\u00a0%s, %s", count, size, j.Title)
	if j.Stops != nil && *j.Stops {
		text += ", " + m.word("with positive stops")
	}
	return text
}
