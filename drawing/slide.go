package drawing

import (
	"math"

	"underpin/scene"
)

// How the slide is drawn, in paper mm.
const (
	barAbove = 3.4 // bar above the rubbing plate
	barHalf  = 0.6 // half its thickness
)

var (
	travelLine = scene.Layer{Name: "travel", Line: scene.RoleInk, Width: scene.W18}
	lawfulBar  = scene.Layer{Name: "lawful", Fill: scene.RoleHolds}
	lawfulRim  = scene.Layer{Name: "lawful-alone", Line: scene.RoleHolds, Width: scene.W25, Fill: scene.RoleSheet}
	possible   = scene.Layer{Name: "lawful-unknown", Line: scene.RoleUnknown, Width: scene.W25, Dash: scene.Dashed, Fill: scene.RoleSheet}
	nowMark    = scene.Layer{Name: "stands", Line: scene.RoleInk, Width: scene.W18, Fill: scene.RoleSheet}
)

// handle is what a script needs to let a mark be dragged.
func (v *view) handle(mmPerUnit float64) []scene.Attr {
	out := v.moves(mmPerUnit)
	lo, hi, ok := v.travel()
	if !ok {
		return out
	}
	spans := ""
	if l := v.lawfulLeads(); !l.unknown {
		for _, s := range l.spans {
			if spans != "" {
				spans += " "
			}
			spans += plain(s[0]) + " " + plain(s[1])
		}
	}
	return append(out, scene.Attr{Name: "travel-mm", Value: plain(lo) + " " + plain(hi)}, scene.Attr{Name: "lawful-mm", Value: spans},
		scene.Attr{Name: "pitch-mm", Value: plain(v.r.Pitch.Millimetres())}, scene.Attr{Name: "rearmost-mm", Value: plain(lo)})
}

// bar draws travel and lawful range on a line at height y; at gives the place of
// a lead.
func (v *view) bar(y, half float64, at func(lead float64) float64) {
	lo, hi, _ := v.travel()
	tick := v.Mm(half + 0.5)
	v.Line(travelLine, scene.Pt{X: at(hi), Y: y}, scene.Pt{X: at(lo), Y: y})
	for _, l := range []float64{lo, hi} {
		v.Line(travelLine, scene.Pt{X: at(l), Y: y - tick}, scene.Pt{X: at(l), Y: y + tick})
	}
	l := v.lawfulLeads()
	for _, s := range l.spans {
		a, b := math.Max(s[0], lo), math.Min(s[1], hi)
		if b < a {
			continue
		}
		layer := lawfulRim
		switch {
		case l.certain:
			layer = lawfulBar
		case l.unknown:
			layer = possible
		}
		x1, x2 := at(b), at(a)
		if x2-x1 < v.Mm(0.5) { // one position only
			m := (x1 + x2) / 2
			x1, x2 = m-v.Mm(0.25), m+v.Mm(0.25)
		}
		v.Rect(layer, scene.Pt{X: x1, Y: y - v.Mm(half)}, scene.Pt{X: x2, Y: y + v.Mm(half)})
	}
}

// pointer draws the triangle of the drawn position, its tip at a point.
func (v *view) pointer(l scene.Layer, tip scene.Pt, height float64) {
	k := v.Mm(height)
	v.Polygon(l, tip, tip.Add(-0.58*k, k), tip.Add(0.58*k, k))
}

// slideBar draws the bar to scale above the coupling, and the triangle of the
// position.
func (v *view) slideBar() {
	_, _, ok := v.travel()
	if !ok || !v.ref.known {
		return
	}
	y := v.coupling.mm + v.Mm(barAbove)
	at := func(lead float64) float64 { return v.ref.mm - lead }
	v.Group(v.tag("slide-bar", "slide-bar"), func() { v.bar(y, barHalf, at) })
	v.Group(v.tag("slide-handle", "moves-with-lead lead-handle", v.handle(v.Scale())...), func() {
		tip := scene.Pt{X: v.xk.mm, Y: y + v.Mm(barHalf+0.25)}
		v.pointer(scene.Solid, tip, 2)
		v.Hit(tip.Add(-v.Mm(7), -v.Mm(5)), tip.Add(v.Mm(7), v.Mm(7)))
	})
}

// slideScale draws the slide enlarged, between two places, about a height: the
// positions that can be set, the lawful ones, the one drawn, and where the fifth
// wheel stands now.
func (v *view) slideScale(from, to, y float64) {
	lo, hi, ok := v.travel()
	if !ok || !v.ref.known || hi-lo < 1 {
		return
	}
	length := math.Min((to-from)/v.Scale(), 86) // paper mm
	if length < 25 {
		return
	}
	t := v.text
	// Room for the figures at the ends.
	inset := 4.0
	perMM := (length - 2*inset) / (hi - lo) // paper mm
	if most := 1.0 / 5; perMM > most {      // no larger than 1:5
		perMM = most
	}
	x0 := from + v.Mm(inset)
	if v.o.Phone {
		x0 = (from+to)/2 - v.Mm((hi-lo)*perMM/2)
	}
	at := func(lead float64) float64 { return x0 + v.Mm((hi-lead)*perMM) }
	half := 0.8
	big := 2.4
	if v.o.Phone {
		half, big = 1.1, 3.2
	}
	v.Group(v.tag("slide-scale", "slide-scale"), func() {
		if pitch := v.r.Pitch.Millimetres(); pitch > 0 && pitch*perMM > 0.8 {
			for _, stop := range v.p.Positions() {
				l := stop.Millimetres()
				v.Line(travelLine, scene.Pt{X: at(l), Y: y - v.Mm(half+1.4)}, scene.Pt{X: at(l), Y: y})
			}
		}
		v.bar(y, half, at)
		v.scaleFigures(lo, hi, y-v.Mm(half+1.4+1.1+t.label), at)
	})
	lead := v.lead()
	label := v.word("lead") + "\u00a0" + v.leadText(lead.mm)
	wide := scene.TextWidth(label, t.figure, true)
	// The label keeps within the scale.
	mid := math.Max(x0-v.Mm(inset-wide/2), math.Min(at(lead.mm), x0+v.Mm((hi-lo)*perMM+inset-wide/2)))
	if now, other := v.stands(); other && now >= lo-0.5 && now <= hi+0.5 {
		v.Group(v.tag("slide-stands", "slide-scale"), func() {
			v.pointer(nowMark, scene.Pt{X: at(now), Y: y + v.Mm(half+0.3)}, big*0.8)
			s := v.word("stands")
			if room := (wide+scene.TextWidth(s, t.label, false))/2 + 1.5; !lead.known || math.Abs(at(now)-mid) > v.Mm(room) {
				v.Text(scene.Text{At: scene.Pt{X: at(now), Y: y + v.Mm(half+0.3+big+0.6)}, S: s, Height: t.label, H: scene.Middle, Role: scene.RoleMuted, Halo: true})
			}
		})
	}
	if !lead.known {
		return
	}
	v.Group(v.tag("slide-knob", "moves-with-lead lead-handle", v.handle(1/perMM)...), func() {
		tip := scene.Pt{X: at(lead.mm), Y: y + v.Mm(half+0.3)}
		v.pointer(scene.Solid, tip, big)
		v.Text(scene.Text{At: scene.Pt{X: mid, Y: tip.Y + v.Mm(big+0.8)}, S: label, Height: t.figure, Bold: true, H: scene.Middle, Halo: true})
		v.Hit(tip.Add(-v.Mm(7), -v.Mm(6)), tip.Add(v.Mm(7), v.Mm(big+4.5)))
	})
}

// scaleFigures letters the ends of the lawful range, and those of the travel
// where there is room beside them.
func (v *view) scaleFigures(lo, hi, y float64, at func(float64) float64) {
	type mark struct {
		lead float64
		s    string
		role scene.Role
		bold bool
	}
	var marks []mark
	known := v.lawfulLeads()
	certain := known.certain
	if known.unknown {
		known.spans = nil // ends of what may be lawful are no figures to set by
	}
	for _, s := range known.spans {
		a, b := math.Max(s[0], lo), math.Min(s[1], hi)
		if a > b {
			continue
		}
		marks = append(marks, mark{b, v.leadDigits(b, math.Floor), scene.RoleHolds, certain})
		if v.leadDigits(a, math.Ceil) != v.leadDigits(b, math.Floor) {
			marks = append(marks, mark{a, v.leadDigits(a, math.Ceil), scene.RoleHolds, certain})
		}
	}
	marks = append(marks, mark{hi, v.leadDigits(hi, math.Round), scene.RoleMuted, false}, mark{lo, v.leadDigits(lo, math.Round), scene.RoleMuted, false})
	var taken [][2]float64
	for _, m := range marks {
		w := v.Mm(scene.TextWidth(m.s, v.text.label, m.bold)/2 + 0.8)
		x := at(m.lead)
		free := true
		for _, t := range taken {
			free = free && (x+w <= t[0] || x-w >= t[1])
		}
		if !free {
			continue
		}
		taken = append(taken, [2]float64{x - w, x + w})
		v.Text(scene.Text{At: scene.Pt{X: x, Y: y}, S: m.s, Height: v.text.label, Bold: m.bold, H: scene.Middle, Role: m.role, Halo: true})
	}
}
