package drawing

import (
	"math"
	"strings"

	"underpin/assess"
	"underpin/scene"
	"underpin/unit"
)

// A measure is one horizontal dimension of a row.
type measure struct {
	row     int
	a, b    size // places
	is      size // what is measured, which may be known where its place is not
	caption string
	of      func(*assess.Finding) bool // the findings on it; may be nil
}

// rowGap is the distance of dimension lines, paper mm.
const rowGap = 6.6

// sideDims draws the dimensions.
func (v *view) sideDims(from, to float64) {
	first := v.firstRow()
	bogie := size{v.xk.mm + v.pinToBogie.mm, v.xk.known && v.pinToBogie.known}
	rear := size{v.on(v.tail.mm, 0).X, v.xk.known && v.tail.known}
	rear.mm = v.xk.mm + v.tail.mm
	front := size{-v.overhang.mm, v.overhang.known}
	axle := size{0, true}
	var ms []measure
	rowOf := func(n int) float64 { return -v.Mm(first + rowGap*float64(n)) }
	last := 0
	length := size{rear.mm - front.mm, front.known && rear.known}
	axleToPin := size{v.xk.mm, v.xk.known}
	if v.o.Phone {
		ms = []measure{{row: 0, a: axle, b: v.xk, is: axleToPin}, {row: 0, a: v.xk, b: bogie, is: v.pinToBogie},
			{row: 1, a: front, b: rear, is: length, caption: "overall", of: on("length-combination")}}
		last = 1
	} else {
		ms = []measure{
			{row: 0, a: front, b: axle, is: v.overhang}, {row: 0, a: axle, b: v.xk, is: axleToPin}, {row: 0, a: v.xk, b: v.ref, is: v.lead()},
			{row: 1, a: v.xk, b: bogie, is: v.pinToBogie, caption: "kingpin to bogie"},
			{row: 2, a: v.xk, b: rear, is: v.tail, caption: "kingpin to rear", of: on("length-kingpin-rear")},
			{row: 3, a: front, b: rear, is: length, caption: "overall length", of: on("length-combination")},
		}
		// The trailer's axles and tail, where their row is free.
		for i, w := range v.trailer {
			end, is := rear, size{v.tail.mm - w.at.mm, v.tail.known && w.at.known}
			if i+1 < len(v.trailer) {
				next := v.trailer[i+1].at
				end, is = size{v.xk.mm + next.mm, v.xk.known && next.known}, size{next.mm - w.at.mm, next.known && w.at.known}
			}
			if is.known && is.mm > 0 {
				ms = append(ms, measure{row: 0, a: size{v.xk.mm + w.at.mm, v.xk.known}, b: end, is: is})
			}
		}
		last = 3
	}
	v.Group(scene.Tag{Class: "settled dims"}, func() {
		v.extensions(ms, rowOf)
		for _, m := range ms {
			v.measure(m, rowOf(m.row))
		}
		v.heights(from, to)
	})
	if v.o.Phone {
		v.slideScale(from, to, rowOf(last)-v.Mm(14))
	} else {
		foremost := math.Min(v.xk.mm, v.ref.mm)
		if _, hi, ok := v.travel(); ok {
			foremost = math.Min(foremost, v.ref.mm-hi)
		}
		v.slideScale(from, foremost-v.Mm(6), (rowOf(1)+rowOf(2))/2-v.Mm(0.4))
	}
}

// extensions draws one line down from each measured place to its lowest row.
func (v *view) extensions(ms []measure, rowOf func(int) float64) {
	type end struct {
		at  size
		row int
	}
	var ends []end
	note := func(s size, row int) {
		for i := range ends {
			if math.Abs(ends[i].at.mm-s.mm) < 1 {
				ends[i].row = max(ends[i].row, row)
				ends[i].at.known = ends[i].at.known && s.known
				return
			}
		}
		ends = append(ends, end{s, row})
	}
	for _, m := range ms {
		note(m.a, m.row)
		note(m.b, m.row)
	}
	for _, e := range ends {
		v.Line(e.at.layer(scene.Dimension), scene.Pt{X: e.at.mm, Y: -v.Mm(1)}, scene.Pt{X: e.at.mm, Y: rowOf(e.row) - v.Mm(1.6)})
	}
}

func (v *view) measure(m measure, y float64) {
	known := m.is.known
	if math.Abs(m.a.mm-m.b.mm) < 1 {
		return
	}
	d := scene.Dim{A: scene.Pt{X: m.a.mm}, B: scene.Pt{X: m.b.mm}, BareA: true, BareB: true, Height: v.text.figure, Unknown: !known}
	d.Text = v.length(math.Abs(m.is.mm))
	caption := v.word(m.caption)
	if !known {
		d.Text = "?"
		if m.caption != "" {
			d.Text = v.word("not known")
		}
	} else if m.of != nil {
		v.judge(&d, m.of)
	}
	v.DimHorizontal(y, d)
	if m.caption == "" {
		return
	}
	wf := scene.TextWidth(d.Text, v.text.figure, false)
	wc := scene.TextWidth(caption, v.text.label, false)
	if room := math.Abs(m.b.mm-m.a.mm) / v.Scale(); wf/2+wc+4 > room/2 {
		return
	}
	v.Text(scene.Text{At: scene.Pt{X: (m.a.mm+m.b.mm)/2 + v.Mm(wf/2+1.6), Y: y + v.Mm(1)}, S: caption, Height: v.text.label, Role: scene.RoleMuted, Halo: true})
}

// on selects the findings on a quantity.
func on(quantity string) func(*assess.Finding) bool {
	return func(f *assess.Finding) bool { return f.Quantity == quantity }
}

// judge marks a dimension that fails with sign and colour.
func (v *view) judge(d *scene.Dim, of func(*assess.Finding) bool) {
	if state := v.worst(of); state == scene.RoleFails {
		d.Text, d.Role = sign(state)+d.Text, state
	}
}

// heights draws the vertical dimensions.
func (v *view) heights(from, to float64) {
	rear := v.xk.mm + v.tail.mm
	top := v.on(v.tail.mm, v.body.mm)
	if f := v.on(-v.nose.mm, v.body.mm); f.Y > top.Y {
		top = f
	}
	known := both(v.coupling, v.body).known && (v.tilted || !v.plate.known)
	off := 9.0
	if v.o.Phone {
		off = 5
	}
	d := scene.Dim{A: scene.Pt{X: rear}, B: top, BareA: true, Height: v.text.figure, Text: v.length(top.Y), Unknown: !known}
	if !known {
		d.Text = v.word("not known")
	} else {
		suffix := ".laden"
		if v.load != nil && v.load.Payload == 0 {
			suffix = ".unladen"
		}
		v.judge(&d, func(f *assess.Finding) bool { return f.Quantity == "height" && strings.HasSuffix(f.ID, suffix) })
	}
	v.DimVertical(rear+v.Mm(off), d)
	if v.o.Phone {
		return
	}
	if deg := v.tilt.Degrees(); v.tilted && math.Abs(deg) >= 0.1 {
		way := "nose up"
		if deg < 0 {
			way = "nose down"
		}
		at := scene.Pt{X: rear - v.Mm(2), Y: math.Max(v.on(v.tail.mm, v.body.mm).Y, top.Y) + v.Mm(1.6)}
		v.Text(scene.Text{At: at, H: scene.Right, S: v.word(way) + "\u00a0" + unit.Digits(math.Abs(deg), 1) + "°", Height: v.text.label, Role: scene.RoleMuted, Halo: true})
	}
	d = scene.Dim{A: scene.Pt{X: from}, B: scene.Pt{X: from + 900, Y: v.cabTop.mm}, BareA: true, Height: v.text.figure, Text: v.length(v.cabTop.mm), Unknown: !v.cabTop.known}
	if !v.cabTop.known {
		d.Text = v.word("not known")
	}
	v.DimVertical(from-v.Mm(off), d)

	// The coupling's height stands behind the tractor, where the underside is
	// free.
	x := v.frameEnd.mm
	for _, w := range v.tractor {
		x = math.Max(x, w.at.mm+w.r.mm)
	}
	x += v.Mm(5)
	if l := v.p.Trailer.Legs; l != nil && l.Behind != nil {
		if leg := v.xk.mm + l.Behind.Millimetres(); x > leg-v.Mm(4) {
			x = math.Max(x, leg+v.Mm(9))
		}
	}
	d = scene.Dim{A: scene.Pt{X: x}, B: scene.Pt{X: v.xk.mm + 520, Y: v.coupling.mm}, BareA: true, Height: v.text.figure, Text: v.length(v.coupling.mm), Unknown: !v.coupling.known}
	if !v.coupling.known {
		d.Text = "?"
	}
	v.DimVertical(x, d)
}
