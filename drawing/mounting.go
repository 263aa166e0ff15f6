package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"underpin/mounting"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

// standIn sizes, in mm, of what nobody has given of a chassis and its parts.
// They place dashed lines and are never lettered. Common practice, no source.
const (
	standInDepth     = 260.0 // of a side member
	standInFrame     = 850.0 // over both side members
	standInFlange    = 80.0
	standInFrameTop  = 950.0 // above the ground
	standInReach     = 400.0 // of a part, ahead of its middle and behind
	standInPart      = 60.0  // height of a part
	standInTilt      = 90.0  // tilt axis below the top plate
	standInTopBehind = 520.0 // of a fifth wheel
)

// A mount is the drawing of a mounting in the making. Places are in mm: x from
// the front axle rearwards, y up from the ground in the side view and, in plan,
// to the right of the vehicle, as it is seen from above.
type mount struct {
	*scene.Scene
	figures
	o    Options
	id   string
	text lettering
	r    *mounting.Request
	s    *mounting.Specification

	stack    mounting.Stack
	storeys  []storey // from below to the top
	at, ref  size     // coupling and drive axle, behind the front axle
	travel   float64  // of a slider
	frame    [2]size  // height of the frame's top above front axle and drive axle
	base     size     // height of the base's upper face over the frame's top
	depth    size
	wide     size
	flange   size
	wheels   []wheels
	frameEnd size
	from, to float64 // the stretch that is shown
	missing  []string
}

// A storey is one part of the stack where it stands.
type storey struct {
	part          *mounting.Part
	row           *mounting.PartRow
	low, high     size // its faces over the frame's top
	middle        size
	ahead, behind size
	raise         float64 // of a lift in the first wanted height
}

func newMount(r *mounting.Request, s *mounting.Specification, o Options) *mount {
	m := &mount{figures: figures{o.Units}, o: o, text: o.lettering(), r: r, s: s}
	m.stack, _ = r.File.Stack(r.Fitting) // the specification was made of it
	m.axles()
	m.chassis()
	m.place()
	return m
}

func (m *mount) word(s string) string { return m.o.word(s) }

func (m *mount) miss(what string) {
	if !slices.Contains(m.missing, what) {
		m.missing = append(m.missing, what)
	}
}

func (m *mount) take(name string, l *unit.Length, standIn float64) size {
	if l != nil && !math.IsNaN(float64(*l)) && !math.IsInf(float64(*l), 0) {
		return size{l.Millimetres(), true}
	}
	if name != "" {
		m.miss(name)
	}
	return size{standIn, false}
}

// axles finds the wheels and the drive axle.
func (m *mount) axles() {
	t := m.r.Tractor
	last := 0.0
	sum, n, known := 0.0, 0, true
	for i := range t.Axles {
		w := wheels{number: i + 1, kind: t.Axles[i].Kind, twin: t.Axles[i].TwinTyres != nil && *t.Axles[i].TwinTyres}
		if x, ok := t.AxleAt(i); ok {
			w.at = size{x.Millimetres(), true}
		} else {
			w.at = size{last + standInWheelbase, false}
		}
		last = w.at.mm
		w.r = m.take("", t.Axles[i].TyreRadius, standInTyre)
		m.wheels = append(m.wheels, w)
		if w.kind == "drive" {
			sum, n, known = sum+w.at.mm, n+1, known && w.at.known
		}
	}
	m.ref = size{standInWheelbase, false}
	if n > 0 {
		m.ref = size{sum / float64(n), known}
	}
	m.frameEnd = m.take("", t.RearEnd, last+standInFrameTail)
}

// chassis takes the sizes of the frame and of what the stack begins on.
func (m *mount) chassis() {
	c := m.r.Chassis
	rear := m.take("", c.FrameRear, standInFrameTop)
	if c.FrameRear == nil && c.TyreRadius != nil && c.AxleToFrame != nil {
		rear = size{(*c.TyreRadius + *c.AxleToFrame).Millimetres(), true}
	}
	if !rear.known {
		m.miss(m.word("height of the frame's top above the ground"))
	}
	front := rear // left out: the frame is taken as level
	if c.FrameFront != nil {
		front = m.take("", c.FrameFront, rear.mm)
	}
	m.frame = [2]size{front, rear}
	m.depth = m.take(m.word("depth of the side members"), c.Frame.Depth, standInDepth)
	m.wide = m.take(m.word("width over the side members"), c.Frame.Width, standInFrame)
	m.flange = m.take("", c.Frame.Flange, standInFlange)
	m.base = size{0, true}
	switch m.stack.Base {
	case mounting.OnSubframe:
		m.base = m.take(m.word("height of the subframe"), c.Subframe.Height, standInPart)
	case mounting.OnAngles:
		m.base = m.take(m.word("height of the attachment angles"), c.Angles.Height, 8)
	}
}

// place stacks the parts and finds where each stands.
func (m *mount) place() {
	m.at = m.take("", m.r.Fitting.At, m.ref.mm-standInLead)
	if !m.at.known {
		m.miss(m.word("position of the fifth wheel"))
	}
	m.travel = float64(m.s.Position.Travel)
	h := m.base
	for i, p := range m.stack.Parts {
		st := storey{part: p, row: &m.s.Parts[i], low: h}
		own := m.take(p.Title()+": "+m.word("height"), p.Height, standInPart)
		if p.Kind == mounting.Lift && len(m.s.Heights) > 0 {
			st.raise = float64(m.s.Heights[0].Raise)
		}
		h = size{h.mm + own.mm + st.raise, h.known && own.known}
		st.high = h
		st.middle = size{m.at.mm, false}
		if st.row.Middle != nil {
			st.middle = size{float64(*st.row.Middle), m.at.known}
		}
		behind := standInReach
		if p.Kind == mounting.FifthWheel {
			behind = standInTopBehind
		}
		st.ahead = m.take(p.Title()+": "+m.word("length ahead of its middle"), p.Ahead, standInReach)
		st.behind = m.take(p.Title()+": "+m.word("length behind its middle"), p.Behind, behind)
		m.storeys = append(m.storeys, st)
	}
}

// stretch chooses what is shown of the frame: the parts over a slider's whole
// travel, the wheels beside them, and a little more.
func (m *mount) stretch(margin float64) {
	m.from, m.to = m.at.mm-standInReach, m.at.mm+standInTopBehind+m.travel
	for i := range m.storeys {
		st := &m.storeys[i]
		move := 0.0
		if st.part.Kind == mounting.FifthWheel {
			move = m.travel
		}
		m.from, m.to = math.Min(m.from, st.middle.mm-st.ahead.mm), math.Max(m.to, st.middle.mm+st.behind.mm+move)
	}
	if a := m.r.Chassis.Angles; a != nil && m.stack.Base == mounting.OnAngles {
		m.from, m.to = math.Min(m.from, m.take("", a.From, m.from).mm), math.Max(m.to, m.take("", a.To, m.to).mm)
	}
	m.from -= margin
	m.to += margin
	for _, w := range m.wheels[min(1, len(m.wheels)):] {
		if w.at.mm > m.from+200 && w.at.mm < m.to+300 {
			m.from, m.to = math.Min(m.from, w.at.mm-w.r.mm-40), math.Max(m.to, w.at.mm+w.r.mm+60)
		}
	}
	if m.frameEnd.known && m.frameEnd.mm < m.to+150 {
		m.to = math.Max(m.to, m.frameEnd.mm+60)
	}
}

// open begins the sheet; left and right are the room for dimensions, paper mm.
func (m *mount) open(id, what string, left, right float64) {
	pad := 8.0
	if m.o.Phone {
		pad = 4
	}
	m.start(id, what, mountScale(m.to-m.from, m.o.width()-2*pad-left-right-1))
}

// start begins the sheet at a scale.
func (m *mount) start(id, what string, scale float64) {
	m.Scene = scene.New(m.o.scaled(scale))
	m.Pad, m.Width = 8, m.o.width()
	if m.o.Phone {
		m.Pad = 4
	}
	m.Title = m.word("Mounting") + ", " + what + ": " + m.stackName() + ", " + m.r.Tractor.Title()
	if m.id = id; m.o.ID != "" {
		m.id = m.o.ID
	}
}

// mountScales are the scales of detail drawings: those that a scale ruler has
// first, then the ones between.
var mountScales = [...]float64{1, 2, 2.5, 5, 7.5, 10, 12.5, 15, 20, 25, 30, 40, 50, 75, 100}

func mountScale(mm, paper float64) float64 {
	for _, s := range mountScales {
		if mm <= paper*s {
			return s
		}
	}
	return math.Ceil(mm / math.Max(paper, 1))
}

func (m *mount) stackName() string {
	var names []string
	for _, p := range m.stack.Parts {
		names = append(names, p.Title())
	}
	slices.Reverse(names)
	return strings.Join(names, " "+m.word("on")+" ") + " " + m.word("on") + " " + m.baseName()
}

func (m *mount) baseName() string {
	switch m.stack.Base {
	case mounting.OnSubframe:
		return m.word("subframe")
	case mounting.OnAngles:
		return m.word("attachment angles")
	}
	return m.word("frame")
}

// top is the height of the frame's top above the ground at x.
func (m *mount) top(x float64) float64 {
	return m.frame[0].mm + (m.frame[1].mm-m.frame[0].mm)*x/m.ref.mm
}

// on is a point over the frame's top.
func (m *mount) on(x, over float64) scene.Pt { return scene.Pt{X: x, Y: m.top(x) + over} }

func (m *mount) ground() size {
	return both(m.frame[0], m.frame[1])
}

func (m *mount) tag(part, class string) scene.Tag {
	return scene.Tag{ID: m.id + "-" + part, Class: class}
}

// exact letters millimetres as a drawing of holes does: with a decimal where
// there is one.
func (m *mount) exact(mm float64) string {
	if m.sys == unit.USCustomary {
		return unit.Digits(unit.In.From(mm/1e3), 3) + "″"
	}
	if r := math.Round(mm*10) / 10; r != math.Round(mm) {
		return unit.Digits(r, 1)
	}
	return scene.Millimetres(mm)
}

// signed is exact with the sign of what lies behind or to the left.
func (m *mount) signed(mm float64) string {
	if mm > 0 {
		return "+" + m.exact(mm)
	}
	return m.exact(mm)
}

// roleOf is the state of one finding.
func roleOf(f *mounting.Finding) scene.Role {
	switch {
	case f == nil:
		return scene.NoRole
	case f.Answer == string(rule.DoesNotFit) && f.Binding:
		return scene.RoleFails
	case f.Answer == string(rule.DoesNotFit):
		return scene.RoleCaution
	case f.Answer == string(rule.CannotTell):
		return scene.RoleUnknown
	}
	return scene.RoleHolds
}

// alarm is the state where it is to be seen on the drawing: what holds is ink.
func alarm(f *mounting.Finding) scene.Role {
	if r := roleOf(f); r == scene.RoleFails || r == scene.RoleCaution {
		return r
	}
	return scene.RoleInk
}

// notes lists below everything what is dashed.
func (m *mount) notes() {
	if len(m.missing) == 0 {
		return
	}
	m.list("unknown", scene.RoleUnknown, m.word("Not known, drawn dashed or left out")+": "+strings.Join(m.missing, "; ")+".")
}

// list letters a remark below everything, with the mark of its state.
func (m *mount) list(part string, role scene.Role, text string) {
	b := m.Bounds()
	room := math.Max(b.W()/m.Scale(), math.Min(120, m.Width-2*m.Pad)) - 5
	m.Group(m.tag(part, part), func() {
		y := b.Min.Y - m.Mm(5.5)
		if role != scene.RoleInk {
			m.Mark(role, scene.Pt{X: b.Min.X + m.Mm(1.5), Y: y + m.Mm(m.text.label/2)}, 2.4)
		}
		for _, line := range wrap(text, m.text.label, room) {
			m.Text(scene.Text{At: scene.Pt{X: b.Min.X + m.Mm(4.5), Y: y}, S: line, Height: m.text.label, Role: role})
			y -= m.Mm(m.text.label * 1.75)
		}
	})
}

// draft marks a drawing that is not to be worked from.
func (m *mount) draft() {
	if m.s.Release.State == mounting.Approved {
		return
	}
	b := m.Bounds()
	m.Group(m.tag("draft", "draft"), func() {
		at := scene.Pt{X: b.Min.X + m.Mm(1.6), Y: b.Max.Y + m.Mm(6.5)}
		m.Mark(scene.RoleCaution, at.Add(0, m.Mm(1.4)), 3)
		m.Text(scene.Text{At: at.Add(m.Mm(3.4), 0), S: m.word("DRAFT, not approved for fitting"), Height: 2.9, Bold: true, Role: scene.RoleCaution})
	})
}

// block fills the title block.
func (m *mount) block(what string) {
	if m.o.NoBlock {
		return
	}
	t := &m.s.Title
	state, role := m.s.Release.State, scene.RoleInk
	if state != mounting.Approved {
		state, role = "DRAFT", scene.RoleCaution
	}
	number := t.Number
	if t.Revision != "" {
		number = strings.TrimSpace(number + " " + m.word("rev.") + "\u00a0" + t.Revision)
	}
	if number == "" {
		number = unit.Unknown
	}
	date := t.Date
	if date == "" {
		date = unit.Unknown
	}
	at := scene.Cell{Label: m.word("front axle to fifth wheel"), Value: m.word("not known"), Role: scene.RoleUnknown}
	if m.at.known {
		at.Value, at.Role = m.length(m.at.mm)+m.tolerance(m.s.Position.Tolerance)+m.unit(), scene.RoleInk
	}
	m.Block = scene.TitleBlock{
		{Label: m.word("mounting") + ", " + what, Value: m.stackName(), Weight: 4},
		{Label: m.word("tractor"), Value: m.r.Tractor.Title(), Weight: 2},
		{Label: m.word("specification"), Value: number, Break: !m.o.Phone},
		{Label: m.word("date"), Value: date},
		at,
		{Label: m.word("scale"), Value: scaleName(m.Scale())},
		{Label: m.word("state"), Value: m.word(state), Role: role},
	}
}

func scaleName(s float64) string {
	return "1\u200a:\u200a" + strconv.FormatFloat(s, 'f', -1, 64)
}

// unit is what follows a length that stands by itself.
func (m *mount) unit() string {
	if m.sys == unit.USCustomary {
		return ""
	}
	return "\u00a0mm"
}

func (m *mount) tolerance(mm *int) string {
	if mm == nil {
		return ""
	}
	return " ±\u00a0" + m.length(float64(*mm))
}

// spread moves labels that stand along a line so that each has its room, as
// little as can be: those that would touch are laid about their common middle.
// The wanted places rise; so do the results.
func spread(want []float64, room float64) []float64 {
	type block struct {
		sum   float64 // of the places that its first label wants
		n     int
		first int
	}
	var blocks []block
	for i, w := range want {
		blocks = append(blocks, block{w, 1, i})
		for k := len(blocks) - 1; k > 0; k-- {
			a, b := &blocks[k-1], blocks[k]
			if a.sum/float64(a.n)+float64(a.n)*room <= b.sum/float64(b.n) {
				break
			}
			a.sum += b.sum - float64(b.n)*float64(a.n)*room
			a.n += b.n
			blocks = blocks[:k]
		}
	}
	out := make([]float64, len(want))
	for _, b := range blocks {
		for k := range b.n {
			out[b.first+k] = b.sum/float64(b.n) + float64(k)*room
		}
	}
	return out
}

// describeStack says in words what stands on what.
func (m *mount) describeStack() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s. ", m.stackName())
	if m.at.known {
		fmt.Fprintf(&b, "%s %s%s%s. ", upperFirst(m.word("front axle to fifth wheel")), m.length(m.at.mm), m.tolerance(m.s.Position.Tolerance), m.unit())
	}
	for i := range m.s.Heights {
		h := &m.s.Heights[i]
		if h.Unladen != nil {
			fmt.Fprintf(&b, "%s %s%s. ", strings.TrimSpace(m.word("Top plate above the ground, unladen")+" "+h.Name), m.length(float64(*h.Unladen)), m.unit())
		}
	}
	if m.s.Release.State != mounting.Approved {
		b.WriteString(m.word("DRAFT, not approved for fitting") + ". ")
	}
	return b.String()
}
