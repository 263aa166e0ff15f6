package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"underpin/assess"
	"underpin/scene"
	"underpin/unit"
)

// A view is a drawing in the making.
type view struct {
	*scene.Scene
	*rig
	id string
}

// extent is what the side view and the plan show of the road. The sheet must not
// move while the slide is dragged, so it has room for the whole travel.
func (g *rig) extent() (from, to float64) {
	from, to = -g.overhang.mm, g.xk.mm+g.tail.mm
	if lo, _, ok := g.travel(); ok && g.ref.known {
		to = math.Max(to, g.ref.mm-lo+g.tail.mm)
	}
	return from, math.Max(to, g.frameEnd.mm)
}

// margins are the room on paper left and right of the combination.
func (o Options) margins() (left, right float64) {
	if o.Phone {
		return 3, 9
	}
	return 13, 13
}

// start opens a drawing of what stands between two places.
func start(g *rig, id, title string, from, to float64) *view {
	left, right := g.o.margins()
	pad := 8.0
	if g.o.Phone {
		pad = 4
	}
	w := g.o.width()
	s := scene.New(g.o.scaled(scaleFor(math.Max(to-from, 1000), math.Max(w-2*pad-left-right-1, 30))))
	s.Pad, s.Width, s.Title = pad, w, title
	if g.o.ID != "" {
		id = g.o.ID
	}
	return &view{Scene: s, rig: g, id: id}
}

func (v *view) tag(part, class string, data ...scene.Attr) scene.Tag {
	return scene.Tag{ID: v.id + "-" + part, Class: class, Data: data}
}

// Side draws the combination from its left-hand side, facing left, to scale,
// with the loads of one case, the lawful range of the slide and the dimensions
// that the findings are about.
func Side(p *assess.Pairing, r *assess.Result, o Options) *scene.Scene {
	g := newRig(p, r, o)
	from, to := g.extent()
	v := start(g, "side", g.pairName(), from, to)
	left, right := o.margins()
	v.Line(scene.Ground, scene.Pt{X: from - v.Mm(left), Y: 0}, scene.Pt{X: to + v.Mm(right), Y: 0})

	c := g.cabOf()
	v.Group(v.tag("tractor", "tractor"), func() { v.frame(c) })
	v.Group(v.tag("slide", "moves-with-lead", v.moves(v.Scale())...), func() {
		v.fifthWheel()
		v.semiTrailer()
	})
	v.Group(v.tag("cab", "tractor"), func() {
		v.tractorWheels()
		v.cab(c)
	})
	v.axleLines()
	v.sideDims(from, to)
	v.loadRow()
	v.payload()
	v.slideBar()
	v.notes()
	v.block(true, true)
	v.Desc = v.describe()
	return v.Scene
}

// moves is what a script needs to move a part with the lead.
func (v *view) moves(mmPerUnit float64) []scene.Attr {
	return []scene.Attr{{Name: "lead-mm", Value: plain(v.lead().mm)}, {Name: "mm-per-unit", Value: plain(mmPerUnit)}}
}

// plain is a number for a script.
func plain(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return strconv.FormatFloat(math.Round(x*1000)/1000+0, 'f', -1, 64)
}

func (g *rig) pairName() string {
	return g.p.Tractor.Title() + " " + g.word("with") + " " + g.p.Trailer.Title()
}

// axleLines draws the centre lines of what dimensions start from.
func (v *view) axleLines() {
	up := func(r float64) float64 { return 2*r + v.Mm(1.5) }
	v.Group(scene.Tag{Class: "centre-lines"}, func() {
		if len(v.tractor) > 0 {
			v.Line(scene.Centre, scene.Pt{X: 0, Y: up(v.frontRadius())}, scene.Pt{})
			last := v.tractor[len(v.tractor)-1]
			v.Line(v.ref.layer(scene.Centre), scene.Pt{X: v.ref.mm, Y: up(last.r.mm)}, scene.Pt{X: v.ref.mm})
		}
	})
	v.Group(scene.Tag{Class: "moves-with-lead centre-lines", Data: v.moves(v.Scale())}, func() {
		v.Line(v.xk.layer(scene.Centre), scene.Pt{X: v.xk.mm, Y: v.coupling.mm + v.Mm(2.5)}, scene.Pt{X: v.xk.mm})
		if n := len(v.trailer); n > 0 {
			x := v.xk.mm + v.pinToBogie.mm
			v.Line(v.pinToBogie.layer(scene.Centre), scene.Pt{X: x, Y: up(v.trailer[n-1].r.mm)}, scene.Pt{X: x})
		}
	})
}

// payload draws the load as an arrow on the floor, at its centre.
func (v *view) payload() {
	l := v.load
	if l == nil || l.Payload == 0 {
		return
	}
	if math.IsNaN(float64(l.Payload)) || math.IsNaN(float64(l.At)) {
		v.miss(v.word("payload or its place"))
		return
	}
	at := l.At.Millimetres()
	floor := v.floor.mm
	tip := v.on(at, floor)
	size := 2.4
	share := 0.42 // of the body's height, so that the words stand in its middle
	if v.p.Trailer.Kind == "silo" {
		share = 0.56 // above the cones
	}
	reach := math.Max(9, share*(v.body.mm-floor)/v.Scale())
	switch near := math.Abs(at) / v.Scale(); {
	case v.o.Phone:
		reach = 5
	case near < 40: // clear of the load on the kingpin
		reach = math.Max(reach, 17)
	}
	v.Group(v.tag("payload", "moves-with-lead payload", v.moves(v.Scale())...), func() {
		top := tip.Add(0, v.Mm(reach))
		v.Line(scene.Fine, top, tip)
		v.Arrow(scene.RoleInk, tip, scene.Pt{X: 0, Y: -1})
		words := v.word("payload") + "\u00a0" + v.mass(float64(l.Payload))
		line := top.Add(0, v.Mm(1))
		if s := v.p.Trailer; s.Headboard != nil && !v.o.Phone {
			v.Text(scene.Text{At: line, S: v.length(at+s.Headboard.Millimetres()) + " " + v.word("behind the headboard"), Height: v.text.label, H: scene.Middle, Role: scene.RoleMuted, Halo: true})
			line = line.Add(0, v.Mm(v.text.label+1.6))
		}
		v.Text(scene.Text{At: line, S: words, Height: size, Bold: true, H: scene.Middle, Halo: true})
	})
}

// notes lists what is drawn dashed, below everything.
func (v *view) notes() {
	if len(v.missing) == 0 {
		return
	}
	b := v.Bounds()
	room := b.W()/v.Scale() - 5
	v.Group(v.tag("unknown", "unknown"), func() {
		y := b.Min.Y - v.Mm(5.5)
		v.Mark(scene.RoleUnknown, scene.Pt{X: b.Min.X + v.Mm(1.5), Y: y + v.Mm(v.text.label/2)}, 2.4)
		for _, line := range wrap(v.word("Not known, drawn dashed or left out")+": "+strings.Join(v.missing, "; ")+".", v.text.label, room) {
			v.Text(scene.Text{At: scene.Pt{X: b.Min.X + v.Mm(4.5), Y: y}, S: line, Height: v.text.label, Role: scene.RoleUnknown})
			y -= v.Mm(v.text.label * 1.75)
		}
	})
}

// wrap breaks a text into lines that are no wider than width.
func wrap(s string, height, width float64) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(s) {
		next := strings.TrimPrefix(line+" "+w, " ")
		if line != "" && scene.TextWidth(next, height, false) > width {
			lines = append(lines, line)
			next = w
		}
		line = next
	}
	return append(lines, line)
}

// block fills the title block, with the lawful range and the masses where the
// drawing is about them.
func (v *view) block(lawful, masses bool) {
	if v.o.NoBlock {
		return
	}
	v.Block = scene.TitleBlock{{Label: v.word("pairing"), Value: v.pairName(), Weight: 3}}
	if b := v.p.Law; b != nil {
		label := v.word("rulebook")
		if b.TextDate != "" {
			label += ", " + v.word("text of") + " " + b.TextDate
		}
		v.Block = append(v.Block, scene.Cell{Label: label, Value: b.Title, Weight: 3})
	}
	if v.load != nil && masses {
		value := v.load.Name
		if v.load.Payload > 0 {
			value += ", " + v.mass(float64(v.load.Payload))
		}
		v.Block = append(v.Block, scene.Cell{Label: v.word("load case"), Value: value, Weight: 2})
	}
	if lawful && v.sys != unit.USCustomary { // the others carry their unit at each figure
		v.Block = append(v.Block, scene.Cell{Label: v.word("dimensions in"), Value: "mm"})
	}
	lead := v.leadCell()
	lead.Break = masses && !v.o.Phone
	v.Block = append(v.Block, lead)
	if lawful {
		v.Block = append(v.Block, v.rangeCell())
	}
	if v.loads != nil && masses {
		for _, m := range wholeMasses {
			v.Block = append(v.Block, v.massCell(m))
		}
	}
}

// wholeMasses are the masses of tractor and combination, with the findings on
// them: by the id of the plate's and the quantity of the law's.
var wholeMasses = [...]wholeMass{
	{"tractor gross", "plate.tractor-gross", "mass-gross-tractor", []string{"front", "rear"}},
	{"combination gross", "plate.train", "mass-gross-combination", []string{"front", "rear", "bogie"}},
}

type wholeMass struct {
	name, plate, quantity string
	groups                []string
}

func (m wholeMass) of() func(*assess.Finding) bool {
	return func(f *assess.Finding) bool { return massFinding(f, m.plate, m.quantity) }
}

// wholeMass sums groups of axles, in kg.
func (v *view) wholeMass(groups ...string) (sum float64) {
	for _, g := range v.loads.Groups {
		if slices.Contains(groups, g.ID) {
			sum += g.KG
		}
	}
	return sum
}

// massCell gives a whole mass with its lowest limit and, when it is over, the
// sign.
func (v *view) massCell(m wholeMass) scene.Cell {
	c := scene.Cell{Label: v.word(m.name), Value: v.word("not known"), Role: scene.RoleUnknown}
	kg := v.wholeMass(m.groups...)
	if math.IsNaN(kg) {
		return c
	}
	c.Value, c.Role = v.mass(kg), scene.RoleInk
	if limit := v.lowestLimit(m.of()); !math.IsNaN(limit) {
		c.Value += " " + v.word("of") + " " + v.massDigits(limit)
	}
	if state := v.worst(m.of()); state == scene.RoleFails || state == scene.RoleCaution || state == scene.RoleUnknown {
		c.Value, c.Role = sign(state)+c.Value, state
	}
	return c
}

// lowestLimit is the lowest known limit, in kg, of the findings that of selects.
func (g *rig) lowestLimit(of func(*assess.Finding) bool) float64 {
	low := math.NaN()
	for i := range g.r.Findings {
		f := &g.r.Findings[i]
		if (f.Case != "" && (g.load == nil || f.Case != g.load.ID)) || !of(f) || math.IsNaN(f.Limit) || math.IsInf(f.Limit, 0) {
			continue
		}
		if kg := f.Unit.ToSI(f.Limit); !(kg >= low) {
			low = kg
		}
	}
	return low
}

func (v *view) leadCell() scene.Cell {
	datum := v.r.LeadDatum
	if datum == "" {
		datum = "drive axle"
	}
	c := scene.Cell{Label: v.word("lead ahead of the " + datum), Value: v.word("not known"), Role: scene.RoleUnknown}
	if v.lead().known {
		c.Value, c.Role = v.leadText(v.lead().mm), scene.RoleInk
		if now, other := v.stands(); other {
			c.Value += ", " + v.word("stands at") + " " + v.leadText(now)
		}
	}
	return c
}

func (v *view) rangeCell() scene.Cell {
	c := scene.Cell{Label: v.word("lawful range")}
	if v.r.Fixed {
		c.Value = v.word("fixed coupling")
		return c
	}
	l := v.lawfulLeads()
	var parts []string
	for _, s := range l.spans {
		parts = append(parts, v.leadDigits(s[0], math.Ceil)+" "+v.word("to")+" "+v.leadDigits(s[1], math.Floor)+"\u00a0"+v.leadUnit())
	}
	c.Value = strings.Join(parts, ", ")
	_, _, travel := v.travel()
	switch {
	case !travel:
		c.Value, c.Role = v.word("not known"), scene.RoleUnknown
	case l.unknown:
		c.Value, c.Role = v.word("not known"), scene.RoleUnknown
	case len(l.spans) == 0:
		c.Value = v.word("none")
	case l.certain:
	default:
		c.Value = v.word("none; by the position alone") + " " + c.Value
	}
	return c
}

// describe says in words what the drawing shows.
func (v *view) describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", v.word("Side view, facing left"), v.pairName())
	if v.load != nil {
		fmt.Fprintf(&b, ", %s %s", v.word("load case"), v.load.Name)
	}
	b.WriteString(". ")
	if v.lead().known {
		fmt.Fprintf(&b, "%s %s. ", v.word("Lead"), v.leadText(v.lead().mm))
	}
	if v.loads != nil {
		tell := func(name string, kg, limit float64, state scene.Role) {
			if math.IsNaN(kg) {
				return
			}
			fmt.Fprintf(&b, "%s %s", upperFirst(v.word(name)), v.mass(kg))
			if !math.IsNaN(limit) {
				fmt.Fprintf(&b, " %s %s", v.word("of"), v.mass(limit))
			}
			switch state {
			case scene.RoleFails:
				b.WriteString(", " + v.word("fails"))
			case scene.RoleUnknown:
				b.WriteString(", " + v.word("cannot tell"))
			}
			b.WriteString(". ")
		}
		for _, g := range v.loads.Groups {
			tell(groupName(g.ID), g.KG, g.Limit, v.groupState(g.ID, true))
		}
		for _, m := range wholeMasses {
			if of := m.of(); v.worst(of) == scene.RoleFails {
				tell(m.name, v.wholeMass(m.groups...), v.lowestLimit(of), scene.RoleFails)
			}
		}
	}
	if len(v.missing) > 0 {
		b.WriteString(v.word("Not known") + ": " + strings.Join(v.missing, "; ") + ".")
	}
	return strings.TrimSpace(b.String())
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

func groupName(id string) string {
	switch id {
	case "front":
		return "Front axle"
	case "rear":
		return "Rear axles of the tractor"
	}
	return "Axles of the semi-trailer"
}
