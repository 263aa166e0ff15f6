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

// A Face is one bolted face of a mounting, with its holes as they were entered.
type Face struct {
	Lower, Upper string             // as the fitting's joints name them
	Title        string             // what is bolted to what
	OnWeb        bool               // the holes lie in the web of a side member: y over the frame's top
	Pattern      *mounting.Pattern  // nil: not entered
	Joint        *mounting.JointRow // nil: the fitting has none
}

// MountingFaces lists the faces of a mounting from below to the top.
func MountingFaces(r *mounting.Request, s *mounting.Specification) []Face {
	stack, err := r.File.Stack(r.Fitting)
	if err != nil {
		return nil
	}
	var out []Face
	add := func(lower, upper, title string, web bool, p *mounting.Pattern) {
		f := Face{Lower: lower, Upper: upper, Title: title, OnWeb: web, Pattern: p}
		for i := range s.Joints {
			if j := &s.Joints[i]; j.Lower == lower && j.Upper == upper {
				f.Joint, f.Title = j, j.Title
			}
		}
		if len(p.Places()) == 0 {
			f.Pattern = nil
		}
		out = append(out, f)
	}
	if stack.Base == mounting.OnAngles {
		add(mounting.OnFrame, mounting.OnAngles, "attachment angles on the frame", true, r.Chassis.Angles.Web)
	}
	below, name := stack.Base, "the "+stack.Base
	if stack.Base == mounting.OnAngles {
		name = "the attachment angles"
	}
	for _, p := range stack.Parts {
		add(below, p.ID, p.Title()+" on "+name, below == mounting.OnFrame, p.Foot)
		below, name = p.ID, p.Title()
	}
	return out
}

// MountingPattern draws the holes of one face as they were entered, each with
// its number and, where it takes a bolt, with its place in the order of
// tightening. Of a pattern that nobody entered only the want is drawn.
func MountingPattern(r *mounting.Request, s *mounting.Specification, f Face, o Options) *scene.Scene {
	m := newMount(r, s, o)
	m.missing = nil // this drawing is of the holes alone
	places := f.Pattern.Places()
	b := scene.Box{Min: scene.Pt{X: math.Inf(1), Y: math.Inf(1)}, Max: scene.Pt{X: math.Inf(-1), Y: math.Inf(-1)}}
	at := func(p mounting.Place) scene.Pt {
		y := -p.Y.Millimetres()
		if f.OnWeb {
			y = p.Y.Millimetres()
		}
		return scene.Pt{X: p.X.Millimetres(), Y: y}
	}
	for _, p := range places {
		q, d := at(p), p.D.Millimetres()/2
		b.Min, b.Max = scene.Pt{X: math.Min(b.Min.X, q.X-d), Y: math.Min(b.Min.Y, q.Y-d)}, scene.Pt{X: math.Max(b.Max.X, q.X+d), Y: math.Max(b.Max.Y, q.Y+d)}
	}
	if len(places) == 0 {
		b = scene.Box{Min: scene.Pt{X: -300, Y: -200}, Max: scene.Pt{X: 300, Y: 200}}
		if f.OnWeb {
			b.Min.Y, b.Max.Y = -250, -50
		}
	}
	m.from, m.to = b.Min.X, b.Max.X
	var holes []scene.Pt
	for _, p := range places {
		holes = append(holes, at(p))
	}
	scale, numbers := m.patternScale(b, holes)
	m.start("mounting-pattern", m.word("hole pattern"), scale)
	m.Title = m.word("Hole pattern") + ": " + f.Title
	origin := m.word("the front axle")
	if p := r.File.Part(f.Upper); p != nil {
		origin = m.word("the part's middle")
	}
	m.patternAxes(b, f)
	if len(places) == 0 {
		m.patternMissing(b, f)
	} else {
		m.Group(m.tag("holes", "holes"), func() { m.patternHoles(places, f, numbers, at) })
		m.Group(scene.Tag{Class: "dims"}, func() { m.patternDims(places, b, f, origin, at) })
		m.list("legend", scene.RoleInk, m.patternWords(places, f, numbers))
	}
	m.draft()
	m.patternBlock(f)
	m.Desc = m.Title + ". " + m.patternWords(places, f, numbers)
	return m.Scene
}

// patternAxes draws the lines that the holes are counted from, and which way is
// forward.
func (m *mount) patternAxes(b scene.Box, f Face) {
	y := math.Max(b.Max.Y, 0) + m.Mm(13)
	if f.OnWeb {
		m.Line(scene.Layer{Name: "side-member", Line: scene.RoleInk, Width: scene.W35}, scene.Pt{X: b.Min.X - m.Mm(6)}, scene.Pt{X: b.Max.X + m.Mm(6)})
		m.caption(scene.Pt{X: b.Max.X + m.Mm(5), Y: m.Mm(1)}, m.word("frame top"), scene.Right)
	} else {
		m.Line(scene.Centre, scene.Pt{X: b.Min.X - m.Mm(6)}, scene.Pt{X: b.Max.X + m.Mm(6)})
	}
	if b.Min.X < 0 && b.Max.X > 0 {
		m.Line(scene.Centre, scene.Pt{Y: math.Min(b.Min.Y, 0) - m.Mm(4)}, scene.Pt{Y: math.Max(b.Max.Y, 0) + m.Mm(8)})
	}
	what := m.word("forward; left-hand side below")
	if f.OnWeb {
		what = m.word("forward; left-hand side, seen from outside")
	}
	m.forward(scene.Pt{X: b.Min.X - m.Mm(4), Y: y}, what)
}

// forward draws an arrow that points to the vehicle's front.
func (m *mount) forward(tip scene.Pt, what string) {
	m.Line(scene.Fine, tip, tip.Add(m.Mm(9), 0))
	m.Arrow(scene.RoleInk, tip, scene.Pt{X: -1})
	m.caption(tip.Add(m.Mm(10.5), -m.Mm(0.9)), what, scene.Left)
}

func (m *mount) patternMissing(b scene.Box, f Face) {
	m.Rect(scene.Missing, b.Min, b.Max)
	m.Text(scene.Text{At: scene.Pt{Y: b.Min.Y*0.6 + b.Max.Y*0.4}, S: m.word("pattern not entered"), Height: 3.5, Bold: true, H: scene.Middle, Role: scene.RoleUnknown, Halo: true})
	m.list("unknown", scene.RoleUnknown, f.Title+": "+m.word("read the holes off the part's drawing, or measure them, and enter them with where they were read. Nothing is drawn from memory."))
}

// Where the numbers of holes stand.
type numbering int

const (
	aboveAndBelow numbering = iota
	beside
	unnumbered
)

// patternScale is the scale at which the pattern fits the sheet and its numbers
// do not touch: above and below the holes, or else beside them. Where neither
// goes the sheet grows; at a scale that was asked for the numbers are left out.
func (m *mount) patternScale(b scene.Box, holes []scene.Pt) (scale float64, numbers numbering) {
	wide, high := m.o.width()-60, 150.0
	if m.o.Phone {
		wide, high = m.o.width()-30, 110
	}
	scale = math.Max(mountScale(b.W(), wide), mountScale(b.H(), high))
	if m.o.Scale > 0 {
		scale = m.o.scaled(scale)
	}
	clear := func(scale, dx, dy float64) bool {
		for i, p := range holes {
			for _, q := range holes[i+1:] {
				if math.Abs(p.X-q.X)/scale < dx && math.Abs(p.Y-q.Y)/scale < dy {
					return false
				}
			}
		}
		return true
	}
	for i := len(mountScales) - 1; i >= 0; i-- {
		s := mountScales[i]
		if s > scale && i > 0 {
			continue
		}
		s = math.Min(s, scale)
		switch {
		case clear(s, 7, m.text.label+m.text.figure+5):
			return s, aboveAndBelow
		case clear(s, 11, m.text.figure+1):
			return s, beside
		case m.o.Scale > 0:
			return s, unnumbered
		}
	}
	return 1, unnumbered
}

// patternHoles draws holes, numbers and the order of tightening.
func (m *mount) patternHoles(places []mounting.Place, f Face, numbers numbering, at func(mounting.Place) scene.Pt) {
	rank := map[int]int{}
	bolted := map[int]bool{}
	if f.Joint != nil {
		for i, n := range f.Joint.Order {
			rank[n] = i + 1
		}
		for _, p := range f.Joint.Places {
			bolted[p.Number] = true
		}
	}
	for _, p := range places {
		c, d := at(p), p.D.Millimetres()
		m.planHole(c, d, bolted[p.Number])
		if numbers == unnumbered {
			continue
		}
		number := scene.Text{At: c.Add(0, d/2+m.Mm(1)), S: fmt.Sprint(p.Number), Height: m.text.label, H: scene.Middle, Role: scene.RoleMuted, Halo: true}
		order := scene.Text{At: c.Add(0, -d/2-m.Mm(1)), S: fmt.Sprint(rank[p.Number]), Height: m.text.figure, Bold: true, H: scene.Middle, V: scene.Top, Halo: true}
		if numbers == beside {
			number.At, number.H, number.V = c.Add(d/2+m.Mm(1), 0), scene.Left, scene.Centred
			order.At, order.H, order.V = number.At.Add(m.Mm(scene.TextWidth(number.S+"\u00a0", m.text.label, false)), 0), scene.Left, scene.Centred
		}
		m.Text(number)
		if rank[p.Number] > 0 {
			m.Text(order)
		}
	}
}

// patternDims letters the columns along the frame and the rows across it.
func (m *mount) patternDims(places []mounting.Place, b scene.Box, f Face, origin string, at func(mounting.Place) scene.Pt) {
	var marks []railMark
	for _, p := range places {
		q := at(p)
		marks = append(marks, railMark{x: q.X, from: q.Add(0, -p.D.Millimetres()/2-m.Mm(m.text.figure+1)), text: m.signed(p.X.Millimetres())})
		if m.r.File.Part(f.Upper) == nil {
			marks[len(marks)-1].text = m.exact(p.X.Millimetres())
		}
	}
	low := math.Min(b.Min.Y, 0)
	m.rail(marks, low-m.Mm(10), -1, m.word("from")+" "+origin)
	var rows []float64
	for _, p := range places {
		y := math.Abs(p.Y.Millimetres())
		if !slices.ContainsFunc(rows, func(r float64) bool { return math.Abs(r-y) < 0.05 }) && y > 0.05 {
			rows = append(rows, y)
		}
	}
	slices.Sort(rows)
	for i, y := range rows[:min(len(rows), 3)] {
		x := m.from - m.Mm(9+7*float64(i))
		d := scene.Dim{A: scene.Pt{X: m.from, Y: -y}, B: scene.Pt{X: m.from, Y: y}, Height: m.text.figure, Text: m.exact(2 * y)}
		switch one := slices.ContainsFunc(places, func(p mounting.Place) bool { return math.Abs(p.Y.Millimetres()-y) < 0.05 }); {
		case f.OnWeb:
			d.B.Y, d.Text = 0, m.exact(y)
		case !one || !slices.ContainsFunc(places, func(p mounting.Place) bool { return math.Abs(p.Y.Millimetres()+y) < 0.05 }):
			// on one side only: from the centre line
			d.A.Y, d.Text = 0, m.exact(y)
			if one {
				d.A.Y, d.B.Y = -y, 0
			}
		}
		m.DimVertical(x, d)
	}
}

// patternWords says how many holes of which size there are, where they were
// read and in which order their bolts are tightened.
func (m *mount) patternWords(places []mounting.Place, f Face, numbers numbering) string {
	if len(places) == 0 {
		return m.word("The hole pattern was not entered.")
	}
	var words []string
	counted := map[string]bool{}
	for _, p := range places {
		d := m.exact(p.D.Millimetres())
		if counted[d] {
			continue
		}
		counted[d] = true
		n := 0
		for _, q := range places {
			if m.exact(q.D.Millimetres()) == d {
				n++
			}
		}
		words = append(words, fmt.Sprintf("%d\u00a0×\u00a0Ø\u00a0%s", n, d))
	}
	text := strings.Join(words, ", ") + ", " + m.word("as entered")
	if f.OnWeb {
		text += ", " + m.word("one side, the other the same")
	}
	if f.Pattern.From != "" {
		text += ". " + m.word("Read from") + ": " + f.Pattern.From
	}
	if numbers == unnumbered {
		return text + ". " + m.word("At this scale there is no room for their numbers.")
	}
	text += ". " + m.word("At each hole its number")
	if f.Joint != nil && len(f.Joint.Order) > 0 {
		text += ", " + m.word("and in bold its place in the order of tightening")
	}
	return text + "."
}

func (m *mount) patternBlock(f Face) {
	m.block(m.word("hole pattern"))
	if len(m.Block) == 0 {
		return
	}
	m.Block[0].Value = f.Title
	bolts := scene.Cell{Label: m.word("bolts"), Value: m.word("not entered"), Role: scene.RoleUnknown}
	torque := scene.Cell{Label: m.word("torque by the part's document"), Value: m.word("not known"), Role: scene.RoleUnknown}
	if j := f.Joint; j != nil {
		if j.Thread != "" && j.Bolts > 0 {
			bolts.Value, bolts.Role = fmt.Sprintf("%d × %s %s", j.Bolts, j.Thread, j.Grade), scene.RoleInk
		}
		if j.Torque != nil {
			torque.Value, torque.Role = unit.Digits(*j.Torque, 0)+"\u00a0N·m", scene.RoleInk
		}
	}
	for i := range m.Block {
		if m.Block[i].Label == m.word("front axle to fifth wheel") {
			m.Block[i] = bolts
		}
	}
	m.Block = slices.Insert(m.Block, len(m.Block)-2, torque)
}
