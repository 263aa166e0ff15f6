package scene

import (
	"fmt"
	"math"

	"underpin/unit"
)

// A Pt is a point in model co-ordinates: real millimetres, x right, y up.
type Pt struct{ X, Y float64 }

// At returns the point that lies x to the right and y up.
func At(x, y unit.Length) Pt { return Pt{x.Millimetres(), y.Millimetres()} }

func (p Pt) add(q Pt) Pt { return Pt{p.X + q.X, p.Y + q.Y} }

// Add returns the point moved by x and y.
func (p Pt) Add(x, y float64) Pt { return Pt{p.X + x, p.Y + y} }

func (p Pt) sub(q Pt) Pt         { return Pt{p.X - q.X, p.Y - q.Y} }
func (p Pt) mul(k float64) Pt    { return Pt{p.X * k, p.Y * k} }
func (p Pt) left() Pt            { return Pt{-p.Y, p.X} }
func (p Pt) dot(q Pt) float64    { return p.X*q.X + p.Y*q.Y }
func (p Pt) dist(q Pt) float64   { return math.Hypot(p.X-q.X, p.Y-q.Y) }
func polar(a unit.Angle) Pt      { s, c := math.Sincos(float64(a)); return Pt{c, s} }
func (p Pt) towards(q Pt) Pt     { d := p.dist(q); return q.sub(p).mul(1 / d) }
func (p Pt) bearing() unit.Angle { return unit.Angle(math.Atan2(p.Y, p.X)) }

// A Scene is a drawing. New makes one; its methods draw into it; SVG, PDF, PNG
// and DXF write it. A co-ordinate that is not a number is not drawn but kept
// as an error, which the writers return.
type Scene struct {
	Title string  // what the drawing shows, in a few words: the accessible name
	Desc  string  // what it says, in a sentence or two, for those who cannot see it
	Pad   float64 // paper mm between the drawing and the edge of the sheet
	Width float64 // least width of the sheet in paper mm
	Block TitleBlock
	Frame bool // draw the edge of the sheet; a title block draws it anyway

	scale float64
	items []item
	err   error
}

// New returns an empty drawing at the scale 1:scale, with the padding and
// frame of a sheet.
func New(scale float64) *Scene {
	s := &Scene{Pad: 8, Frame: true, scale: scale}
	if !(scale > 0) || math.IsInf(scale, 0) {
		s.scale = 1
		s.err = fmt.Errorf("scene: found the scale %v; expected a number above 0", scale)
	}
	return s
}

// Scale returns the drawing scale: real millimetres in one on paper.
func (s *Scene) Scale() float64 { return s.scale }

// StandardScale returns the scale in which a length in real millimetres fits a
// length on paper: the largest drawing of the series 1:1, 1:2, 1:5, 1:10 and so
// on. It is 1 when the thing fits in full size.
//
// Source: ISO 5455, reduction scales (from memory).
func StandardScale(real, paper float64) float64 {
	for decade := 1.0; decade < 1e9; decade *= 10 {
		for _, step := range []float64{1, 2, 5} {
			if s := step * decade; !(real/s > paper*(1+1e-9)) {
				return s
			}
		}
	}
	return 1e9
}

// Err returns the first fault of what was drawn.
func (s *Scene) Err() error { return s.err }

// Mm returns the model length of a length on paper.
func (s *Scene) Mm(paper float64) float64 { return paper * s.scale }

type kind int

const (
	path kind = iota // open or closed
	circle
	arc
	text
	hit
	open // of a group
	closing
)

type item struct {
	kind     kind
	layer    Layer
	pts      []Pt
	closed   bool
	r        float64
	from, to unit.Angle
	text     Text
	tag      Tag
}

func (s *Scene) add(it item) {
	known := !math.IsNaN(it.r) && !math.IsInf(it.r, 0)
	for _, p := range it.pts {
		known = known && !math.IsNaN(p.X+p.Y) && !math.IsInf(p.X+p.Y, 0)
	}
	for _, v := range []float64{float64(it.from), float64(it.to), float64(it.text.Angle), it.text.Height} {
		known = known && !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	if !known {
		if s.err == nil {
			s.err = fmt.Errorf("scene: a co-ordinate of the layer %q is not a number; what is unknown must be drawn as unknown", it.layer.Name)
		}
		return
	}
	s.items = append(s.items, it)
}

// Line draws a line.
func (s *Scene) Line(l Layer, a, b Pt) { s.add(item{kind: path, layer: l, pts: []Pt{a, b}}) }

// Polyline draws an open line through points.
func (s *Scene) Polyline(l Layer, pts ...Pt) {
	if len(pts) > 1 {
		s.add(item{kind: path, layer: l, pts: append([]Pt(nil), pts...)})
	}
}

// Polygon draws a closed line through points, filled as the layer says.
func (s *Scene) Polygon(l Layer, pts ...Pt) {
	if len(pts) > 2 {
		s.add(item{kind: path, layer: l, pts: append([]Pt(nil), pts...), closed: true})
	}
}

// Rect draws an upright rectangle over two opposite corners.
func (s *Scene) Rect(l Layer, a, b Pt) {
	s.Polygon(l, Pt{a.X, a.Y}, Pt{b.X, a.Y}, Pt{b.X, b.Y}, Pt{a.X, b.Y})
}

// Circle draws a circle.
func (s *Scene) Circle(l Layer, centre Pt, r float64) {
	s.add(item{kind: circle, layer: l, pts: []Pt{centre}, r: math.Abs(r)})
}

// Arc draws an arc from one bearing anticlockwise to another; it is never more
// than a full turn and is not filled.
func (s *Scene) Arc(l Layer, centre Pt, r float64, from, to unit.Angle) {
	const turn = 2 * math.Pi
	l.Fill = NoRole
	sweep := float64(to - from)
	if sweep >= turn {
		s.Circle(l, centre, r)
		return
	}
	if sweep = math.Mod(sweep, turn); sweep < 0 {
		sweep += turn
	}
	start := math.Mod(float64(from), turn)
	if start < 0 {
		start += turn
	}
	s.add(item{kind: arc, layer: l, pts: []Pt{centre}, r: math.Abs(r), from: unit.Angle(start), to: unit.Angle(start + sweep)})
}

// Anchors of a text.
type (
	HAnchor int
	VAnchor int
)

// Which part of the text stands at its point. Middle and Top go by the height
// of capitals.
const (
	Left HAnchor = iota
	Middle
	Right
)

const (
	Baseline VAnchor = iota
	Centred
	Top
)

// A Text is one line of lettering.
type Text struct {
	At     Pt
	S      string
	Height float64 // of capitals, paper mm; 0 is TextNote
	H      HAnchor
	V      VAnchor
	Angle  unit.Angle // of the baseline
	Bold   bool
	Role   Role // 0 is ink
	Halo   bool // breaks the lines behind it, as a draughtsman does at a figure
}

func (t Text) width() float64 { return TextWidth(t.S, t.Height, t.Bold) }

func (t Text) layer() Layer {
	n := "text"
	if t.Role != RoleInk {
		n += "-" + string(t.Role)
	}
	return Layer{Name: n, Line: t.Role}
}

// Text draws a line of lettering. An empty text draws nothing. Thin spaces are
// written as no-break spaces, which in this typeface have the width that a thin space should have.
func (s *Scene) Text(t Text) {
	if t.S = grouping.Replace(clean(t.S)); t.S == "" {
		return
	}
	if t.Height == 0 {
		t.Height = TextNote
	}
	if t.Role == NoRole {
		t.Role = RoleInk
	}
	s.add(item{kind: text, layer: t.layer(), pts: []Pt{t.At}, text: t})
}

// Texts returns all lettering of the drawing in the order it was drawn, for
// search and for tests.
func (s *Scene) Texts() []string {
	var out []string
	for _, it := range s.items {
		if it.kind == text {
			out = append(out, it.text.S)
		}
	}
	return out
}

// A Tag marks a part of the drawing for the page's script and stylesheet. It
// shows in the SVG only.
type Tag struct {
	ID    string
	Class string
	Data  []Attr // becomes data-name="value"
	Attrs []Attr // role, tabindex and aria-… as they are, for a part that is a control; others are left out
}

// under puts a class before those of the tag.
func (t Tag) under(class string) Tag {
	if t.Class != "" {
		class += " " + t.Class
	}
	t.Class = class
	return t
}

// An Attr is one attribute. The name is of lower-case letters, digits and
// hyphens; any other is left out.
type Attr struct{ Name, Value string }

// Group puts what draw draws into one tagged part.
func (s *Scene) Group(t Tag, draw func()) {
	s.items = append(s.items, item{kind: open, tag: t})
	draw()
	s.items = append(s.items, item{kind: closing})
}

// Hit lays an invisible area that takes the pointer, over two opposite
// corners: what is dragged or tapped is larger than what is drawn.
func (s *Scene) Hit(a, b Pt) {
	s.add(item{kind: hit, pts: []Pt{{math.Min(a.X, b.X), math.Min(a.Y, b.Y)}, {math.Max(a.X, b.X), math.Max(a.Y, b.Y)}}})
}
