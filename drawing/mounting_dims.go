package drawing

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"underpin/mounting"
	"underpin/scene"
	"underpin/unit"
)

// A railMark is one place that is dimensioned from a common origin.
type railMark struct {
	x     float64  // along the rail, mm
	from  scene.Pt // where its extension line begins
	text  string
	bold  bool
	muted bool
}

// rail draws running dimensions: a line with a tick at each place and its
// distance from the origin, lettered along the extension line. dir is 1 where
// the figures stand above the rail and -1 where they stand below. Figures that
// would touch are moved apart and led to their place.
func (m *mount) rail(marks []railMark, y, dir float64, caption string) {
	if len(marks) == 0 {
		return
	}
	slices.SortStableFunc(marks, func(a, b railMark) int { return cmp.Compare(a.x, b.x) })
	// One place is lettered once.
	kept := marks[:1]
	for _, k := range marks[1:] {
		last := &kept[len(kept)-1]
		if k.x-last.x < 0.05 {
			last.bold = last.bold || k.bold
			if dir*(k.from.Y-last.from.Y) > 0 { // the shorter extension line does
				last.from = k.from
			}
			continue
		}
		kept = append(kept, k)
	}
	marks = kept
	want := make([]float64, len(marks))
	for i := range marks {
		want[i] = marks[i].x / m.Scale()
	}
	at := spread(want, m.text.figure+1.1)
	moved := false
	for i := range at {
		moved = moved || math.Abs(at[i]-want[i]) > 0.05
	}
	up := 1.0
	if moved {
		up = 4
	}
	line := scene.Layer{Name: "running-dimension", Line: scene.RoleThin, Width: scene.W18}
	ends := [2]float64{marks[0].x - m.Mm(9), marks[len(marks)-1].x}
	m.Line(line, scene.Pt{X: ends[0], Y: y}, scene.Pt{X: ends[1], Y: y})
	m.Arrow(scene.RoleInk, scene.Pt{X: ends[0], Y: y}, scene.Pt{X: -1})
	for i, k := range marks {
		x := m.Mm(at[i])
		gap := m.Mm(1)
		if dir < 0 {
			gap = -gap
		}
		m.Polyline(line, k.from.Add(0, gap), scene.Pt{X: k.x, Y: y}, scene.Pt{X: x, Y: y + dir*m.Mm(up)}, scene.Pt{X: x, Y: y + dir*m.Mm(up+0.8)})
		m.Circle(scene.Layer{Name: "tick", Fill: scene.RoleInk}, scene.Pt{X: k.x, Y: y}, m.Mm(0.45))
		t := scene.Text{At: scene.Pt{X: x, Y: y + dir*m.Mm(up+1.5)}, S: k.text, Height: m.text.figure, V: scene.Centred, Angle: 90 * unit.Degree, Bold: k.bold}
		if dir < 0 {
			t.H = scene.Right
		}
		if k.muted {
			t.Role = scene.RoleMuted
		}
		m.Text(t)
	}
	if caption != "" {
		m.Text(scene.Text{At: scene.Pt{X: ends[0] - m.Mm(1.2), Y: y}, S: caption, Height: m.text.label, H: scene.Right, V: scene.Centred, Role: scene.RoleMuted})
	}
}

// A rung is one step of the height chain.
type rung struct {
	name      string
	low, high float64 // mm over the ground at the coupling
	figure    string
	known     bool
}

// rungs are the steps from the ground to the top plate, at the coupling.
func (m *mount) rungs() []rung {
	top := m.top(m.at.mm)
	known := both(m.ground(), m.at)
	out := []rung{{name: m.word("frame over the ground"), high: top, known: known.known}}
	if m.base.mm > 0 || !m.base.known {
		out = append(out, rung{name: m.baseName(), low: top, high: top + m.base.mm, known: m.base.known})
	}
	for i := range m.storeys {
		st := &m.storeys[i]
		name := st.part.Title()
		if st.part.Kind == mounting.Lift {
			how := m.word("lowest")
			if st.raise > 0 {
				how = m.word("raised") + " " + m.length(st.raise)
			}
			name += ", " + how
		}
		out = append(out, rung{name: name, low: top + st.low.mm, high: top + st.high.mm, known: st.part.Height != nil})
	}
	for i := range out {
		out[i].figure = "?"
		switch {
		case out[i].known && i == 0: // found on the slope of the frame
			out[i].figure = m.length(top)
		case out[i].known:
			out[i].figure = m.exact(out[i].high - out[i].low)
		}
	}
	return out
}

// ladder draws the heights part by part as a chain of dimensions, from the
// ground to the top plate, each with the part's name.
func (m *mount) ladder() {
	x := m.from - m.Mm(10)
	rungs := m.rungs()
	want := make([]float64, len(rungs))
	for i, r := range rungs {
		want[i] = (r.low + r.high) / 2 / m.Scale()
	}
	names := make([][]string, len(rungs))
	room, figure := m.text.figure+2.2, 0.0
	for i, r := range rungs {
		figure = math.Max(figure, scene.TextWidth(r.figure, m.text.figure, true))
		if names[i] = wrap(r.name, m.text.label, 38); len(names[i]) > 1 {
			names[i] = []string{names[i][0], clip(strings.Join(names[i][1:], " "), m.text.label, 38)}
			room = 2*m.text.label*1.3 + 1.2
		}
	}
	at := spread(want, room)
	ext := scene.Layer{Name: "dimension", Line: scene.RoleThin, Width: scene.W18}
	for i, r := range rungs {
		if i > 0 { // from the part's own front end
			from := m.from + m.Mm(2)
			if k := len(rungs) - len(m.storeys); i >= k {
				st := &m.storeys[i-k]
				from = st.middle.mm - st.ahead.mm
			}
			m.Line(ext, scene.Pt{X: math.Min(from, m.from+m.Mm(200)) - m.Mm(1), Y: r.low}, scene.Pt{X: x - m.Mm(1.6), Y: r.low})
		}
		role, line := scene.RoleInk, ext
		if !r.known {
			role, line = scene.RoleUnknown, ext.As(scene.RoleUnknown)
		}
		a, b := scene.Pt{X: x, Y: r.low}, scene.Pt{X: x, Y: r.high}
		m.Line(line, a, b)
		if (r.high-r.low)/m.Scale() >= 6 {
			m.Arrow(role, a, scene.Pt{Y: -1})
			m.Arrow(role, b, scene.Pt{Y: 1})
		} else { // no room for arrowheads in a chain: oblique strokes
			for _, p := range []scene.Pt{a, b} {
				m.Line(scene.Layer{Name: "stroke", Line: role, Width: scene.W25}, p.Add(-m.Mm(0.8), -m.Mm(0.8)), p.Add(m.Mm(0.8), m.Mm(0.8)))
			}
		}
		y := m.Mm(at[i])
		m.Polyline(line, scene.Pt{X: x, Y: (r.low + r.high) / 2}, scene.Pt{X: x - m.Mm(4), Y: y}, scene.Pt{X: x - m.Mm(5.5), Y: y})
		m.Text(scene.Text{At: scene.Pt{X: x - m.Mm(6), Y: y}, S: r.figure, Height: m.text.figure, H: scene.Right, V: scene.Centred, Role: role, Bold: i == len(rungs)-1})
		y += m.Mm(m.text.label * 0.65 * float64(len(names[i])-1))
		for _, line := range names[i] {
			m.Text(scene.Text{At: scene.Pt{X: x - m.Mm(8+figure), Y: y}, S: line, Height: m.text.label, H: scene.Right, V: scene.Centred, Role: scene.RoleMuted})
			y -= m.Mm(m.text.label * 1.3)
		}
	}
	last := rungs[len(rungs)-1]
	st := &m.storeys[len(m.storeys)-1]
	m.Line(ext, scene.Pt{X: st.middle.mm - st.ahead.mm - m.Mm(1), Y: last.high}, scene.Pt{X: x - m.Mm(1.6), Y: last.high})
}

// ladderList gives the chain as a list, where there is no room beside.
func (m *mount) ladderList() {
	rungs := m.rungs()
	b := m.Bounds()
	room := m.Width - 2*m.Pad - 3
	y := b.Min.Y - m.Mm(7)
	x := b.Min.X + m.Mm(1)
	for i := len(rungs) - 1; i >= 0; i-- {
		r := rungs[i]
		role := scene.RoleInk
		if !r.known {
			role = scene.RoleUnknown
		}
		m.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: clip(r.name, m.text.label, room-16), Height: m.text.label, Role: scene.RoleMuted})
		m.Text(scene.Text{At: scene.Pt{X: x + m.Mm(room), Y: y}, S: r.figure, Height: m.text.figure, H: scene.Right, Role: role})
		y -= m.Mm(4.6)
	}
}

// clip cuts a text that is wider than width paper mm.
func clip(s string, height, width float64) string {
	if scene.TextWidth(s, height, false) <= width {
		return s
	}
	r := []rune(s)
	for n := len(r) - 1; n > 0; n-- {
		if t := string(r[:n]) + "…"; scene.TextWidth(t, height, false) <= width {
			return t
		}
	}
	return "…"
}
