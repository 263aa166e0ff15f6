package drawing

import (
	"math"

	"underpin/assess"
	"underpin/scene"
	"underpin/unit"
)

// gap clears the sheet behind figures that stand on extension lines.
var gap = scene.Layer{Name: "gap", Fill: scene.RoleSheet}

// A tally is the lettering of one group of axles under the ground.
type tally struct {
	x           float64 // wanted place of the figure's middle, mm
	left, right float64 // how far the lettering reaches from there, on paper
	at          float64 // where it stands, mm
	draw        func(x float64)
}

// loadBase is where the figures of the loads stand, and firstRow where the first
// dimension line does, paper mm below the ground.
func (v *view) loadBase() float64 { return 4.6 + v.text.load }

func (v *view) firstRow() float64 {
	if v.o.Phone {
		return v.loadBase() + 2.2 + v.text.figure + 1
	}
	return v.axleBase() + 1.8 + v.text.figure + 1
}

// axleBase is where the figures of single axles stand.
func (v *view) axleBase() float64 { return v.loadBase() + 1.7 + v.text.label }

// loadRow letters the load of each group of axles under the ground, over the
// extension lines that pass there.
func (v *view) loadRow() {
	if v.loads == nil {
		return
	}
	base := -v.loadBase()
	var row []tally
	for i := range v.loads.Groups {
		if l, ok := v.groupTally(&v.loads.Groups[i], base); ok {
			row = append(row, l)
		}
	}
	v.spread(row)
	v.Group(scene.Tag{Class: "settled loads"}, func() {
		for _, l := range row {
			l.draw(l.at)
		}
		if !v.o.Phone {
			v.axleFigures(-v.axleBase())
		}
		v.pinLoad()
	})
}

// spread moves lettering apart that would touch.
func (v *view) spread(row []tally) {
	for i := range row {
		row[i].at = row[i].x
	}
	const between = 2.5
	for range 60 {
		moved := false
		for i := 0; i+1 < len(row); i++ {
			a, b := &row[i], &row[i+1]
			if lack := v.Mm(a.right+b.left+between) - (b.at - a.at); lack > 1e-6 {
				a.at, b.at, moved = a.at-lack/2, b.at+lack/2, true
			}
		}
		if !moved {
			return
		}
	}
}

// groupAt is the middle of a group's axles that are down.
func (v *view) groupAt(id string) (x float64, ok bool) {
	switch id {
	case "bogie":
		return v.xk.mm + v.pinToBogie.mm, len(v.trailer) > 0
	case "front":
		front, _ := v.p.Tractor.Groups()
		return v.mid(front)
	}
	_, rear := v.p.Tractor.Groups()
	return v.mid(rear)
}

func (v *view) mid(group []int) (x float64, ok bool) {
	n := 0
	for _, i := range group {
		if w := v.tractor[i]; !w.up {
			x, n = x+w.at.mm, n+1
		}
	}
	return x / float64(n), n > 0
}

func (v *view) groupTally(g *assess.Group, base float64) (tally, bool) {
	x, ok := v.groupAt(g.ID)
	if !ok {
		return tally{}, false
	}
	axles := v.axlesOf(g.ID)
	state := v.groupState(g.ID, v.o.Phone || len(axles) < 2)
	figure, role, bold := v.mass(g.KG), scene.RoleInk, true
	switch {
	case math.IsNaN(g.KG):
		figure, role, bold, state = v.word("not known"), scene.RoleUnknown, false, scene.RoleUnknown
	case state == scene.RoleFails || state == scene.RoleCaution:
		role = state
	}
	limit := ""
	if !math.IsNaN(g.Limit) && !math.IsNaN(g.KG) && !v.o.Phone {
		limit = v.word("of") + "\u00a0" + v.massDigits(g.Limit)
	}
	height := v.text.load
	if !bold {
		height = v.text.figure
	}
	mark := 0.0
	if state != scene.RoleHolds && state != scene.NoRole {
		mark = height + 1.2
	}
	wf := scene.TextWidth(figure, height, bold)
	wl := scene.TextWidth(limit, v.text.label, false)
	if limit != "" {
		wl += 1.2
	}
	total := mark + wf + wl
	draw := func(at float64) {
		data := []scene.Attr{{Name: "group", Value: g.ID}, {Name: "kg", Value: plain(g.KG)}, {Name: "limit-kg", Value: plain(g.Limit)}, {Name: "state", Value: string(state)}}
		v.Group(v.tag("load-"+g.ID, "load", data...), func() {
			y := v.Mm(base)
			left := at - v.Mm(mark+wf/2)
			// The ground bears the group up.
			v.Line(scene.Fine.As(roleOr(role)), scene.Pt{X: x, Y: v.Mm(-4.2)}, scene.Pt{X: x, Y: v.Mm(-1)})
			v.Arrow(role, scene.Pt{X: x, Y: 0}, scene.Pt{X: 0, Y: 1})
			v.Rect(gap, scene.Pt{X: left - v.Mm(0.5), Y: y - v.Mm(0.6)}, scene.Pt{X: left + v.Mm(total+0.5), Y: y + v.Mm(height+0.5)})
			if mark > 0 {
				v.Mark(state, scene.Pt{X: left + v.Mm(height/2), Y: y + v.Mm(height/2)}, height*0.95)
			}
			v.Text(scene.Text{At: scene.Pt{X: left + v.Mm(mark), Y: y}, S: figure, Height: height, Bold: bold, Role: role})
			if limit != "" {
				v.Text(scene.Text{At: scene.Pt{X: left + v.Mm(mark+wf+1.2), Y: y}, S: limit, Height: v.text.label, Role: scene.RoleMuted})
			}
		})
	}
	return tally{x: x, left: mark + wf/2, right: wf/2 + wl, draw: draw}, true
}

func roleOr(r scene.Role) scene.Role {
	if r == scene.RoleUnknown {
		return scene.RoleThin
	}
	return r
}

// axlesOf returns the loads of a group's axles.
func (v *view) axlesOf(id string) []assess.AxleLoad {
	var out []assess.AxleLoad
	for _, a := range v.loads.Axles {
		if a.Group == id {
			out = append(out, a)
		}
	}
	return out
}

// axleFigures letters each axle of a group of several, and which are up.
func (v *view) axleFigures(base float64) {
	y := v.Mm(base)
	for _, id := range []string{"front", "rear", "bogie"} {
		axles := v.axlesOf(id)
		if len(axles) < 2 {
			continue
		}
		for _, a := range axles {
			x := a.X.Millimetres()
			if math.IsNaN(x) || math.IsNaN(a.KG) {
				continue
			}
			state := v.worst(func(f *assess.Finding) bool { return f.Axle == a.Number && f.Unit.Dim == unit.MassDim })
			s, role := v.massDigits(a.KG), scene.RoleMuted
			if state == scene.RoleFails || state == scene.RoleCaution {
				s, role = sign(state)+s, state
			}
			v.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: s, Height: v.text.label, H: scene.Middle, Role: role, Bold: role != scene.RoleMuted, Halo: true})
		}
	}
	up := func(x float64) {
		v.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: v.word("lifted"), Height: v.text.label, H: scene.Middle, Role: scene.RoleMuted, Halo: true})
	}
	for _, w := range v.tractor {
		if w.up {
			up(w.at.mm)
		}
	}
	for _, w := range v.trailer {
		if w.up {
			up(v.xk.mm + w.at.mm)
		}
	}
}

// pinLoad letters what lies on the kingpin, above the coupling.
func (v *view) pinLoad() {
	if v.o.Phone || math.IsNaN(v.loads.Imposed) {
		return
	}
	state := v.worst(func(f *assess.Finding) bool {
		return massFinding(f, "plate.kingpin", "") || has(f.ID, "rating.imposed.")
	})
	role := scene.RoleInk
	figure := v.mass(v.loads.Imposed)
	if state == scene.RoleFails || state == scene.RoleCaution {
		role, figure = state, sign(state)+figure
	}
	caption := v.word("on the kingpin")
	wf, wc := scene.TextWidth(figure, v.text.figure, true), scene.TextWidth(caption, v.text.label, false)
	y := v.coupling.mm + v.Mm(barAbove+5)
	x := v.xk.mm - v.Mm((wf+wc+1.2)/2)
	v.Group(v.tag("load-kingpin", "moves-with-lead load", append(v.moves(v.Scale()), scene.Attr{Name: "group", Value: "kingpin"}, scene.Attr{Name: "kg", Value: plain(v.loads.Imposed)}, scene.Attr{Name: "state", Value: string(state)})...), func() {
		v.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: figure, Height: v.text.figure, Bold: true, Role: role, Halo: true})
		v.Text(scene.Text{At: scene.Pt{X: x + v.Mm(wf+1.2), Y: y}, S: caption, Height: v.text.label, Role: scene.RoleMuted, Halo: true})
	})
}
