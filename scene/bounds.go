package scene

import (
	"math"

	"underpin/unit"
)

// A Box is an upright rectangle.
type Box struct{ Min, Max Pt }

var nothing = Box{Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}}

// Empty tells whether there is nothing in the box.
func (b Box) Empty() bool { return !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y) }

// W and H are its sides.
func (b Box) W() float64 { return b.Max.X - b.Min.X }

// H is the height.
func (b Box) H() float64 { return b.Max.Y - b.Min.Y }

func (b Box) with(p Pt, margin float64) Box {
	return Box{
		Pt{math.Min(b.Min.X, p.X-margin), math.Min(b.Min.Y, p.Y-margin)},
		Pt{math.Max(b.Max.X, p.X+margin), math.Max(b.Max.Y, p.Y+margin)},
	}
}

// Bounds returns the box in model millimetres around all that is drawn, half
// the line widths and the lettering included. Without content it is empty.
func (s *Scene) Bounds() Box { return s.bounds(s.items) }

func (s *Scene) bounds(items []item) Box {
	b := nothing
	for _, it := range items {
		half := s.Mm(float64(it.layer.Width)) / 2
		switch it.kind {
		case path, hit:
			for _, p := range it.pts {
				b = b.with(p, half)
			}
		case circle:
			b = b.with(it.pts[0], it.r+half)
		case arc:
			for _, a := range arcExtremes(it.from, it.to) {
				b = b.with(it.pts[0].add(polar(a).mul(it.r)), half)
			}
		case text:
			for _, p := range s.textBox(it.text) {
				b = b.with(p, 0)
			}
		}
	}
	return b
}

// arcExtremes are the bearings at which an arc ends or reaches farthest along
// an axis.
func arcExtremes(from, to unit.Angle) []unit.Angle {
	out := []unit.Angle{from, to}
	const quarter = math.Pi / 2
	for k := math.Ceil(float64(from) / quarter); k*quarter < float64(to); k++ {
		out = append(out, unit.Angle(k*quarter))
	}
	return out
}

// baseline returns where the baseline of a text begins, as an offset in paper
// millimetres along the text and across it.
func (t Text) baseline() (along, across float64) {
	switch t.H {
	case Middle:
		along = -t.width() / 2
	case Right:
		along = -t.width()
	}
	return along, t.drop()
}

// drop is how far the baseline stands across from the anchor, upwards.
func (t Text) drop() float64 {
	switch t.V {
	case Centred:
		return -t.Height / 2
	case Top:
		return -t.Height
	}
	return 0
}

// textBox returns the corners of a text in model millimetres.
func (s *Scene) textBox(t Text) [4]Pt {
	along, across := t.baseline()
	u := polar(t.Angle)
	v := u.left()
	w, lo, hi := t.width(), across-t.Height/capHeight*descent, across+t.Height*1.08
	at := func(x, y float64) Pt { return t.At.add(u.mul(s.Mm(x))).add(v.mul(s.Mm(y))) }
	return [4]Pt{at(along, lo), at(along+w, lo), at(along+w, hi), at(along, hi)}
}

// haloBox returns the corners of the area that a text with a halo clears.
func (s *Scene) haloBox(t Text) [4]Pt {
	along, across := t.baseline()
	u := polar(t.Angle)
	v := u.left()
	w, m := t.width(), 0.5
	at := func(x, y float64) Pt { return t.At.add(u.mul(s.Mm(x))).add(v.mul(s.Mm(y))) }
	lo, hi := across-m, across+t.Height+m
	return [4]Pt{at(along-m, lo), at(along+w+m, lo), at(along+w+m, hi), at(along-m, hi)}
}
