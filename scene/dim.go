package scene

import (
	"math"

	"underpin/unit"
)

// How dimensions are drawn, in paper millimetres. The arrowhead is filled and
// closed. Proportions after ISO 129-1 (from memory), sizes our own.
const (
	arrowLength = 2.4
	arrowHalf   = 0.42
	extGap      = 1.0 // between the thing and its extension line
	extOver     = 1.6 // of the extension line past the dimension line
	figureGap   = 1.0 // between dimension line and figure
	FirstRow    = 9.0 // first dimension line from the thing
	NextRow     = 7.0 // next dimension line from the one before
)

// Row returns the distance in model millimetres of the nth dimension line,
// counted from 0, from the edge that the dimensions stand off.
func (s *Scene) Row(n int) float64 { return s.Mm(FirstRow + float64(n)*NextRow) }

// Millimetres writes a length as a drawing does: whole millimetres, a thin
// space at the thousands, no unit. See Text for which space that is.
func Millimetres(mm float64) string { return grouping.Replace(unit.Digits(mm, 0)) }

// A Dim is one dimension.
type Dim struct {
	A, B    Pt
	Text    string // empty: the distance in whole millimetres
	Role    Role   // of figure and arrowheads; empty is ink
	Unknown bool   // the distance is not known: drawn dashed
	BareA   bool   // no extension line at A, because a line of the drawing serves
	BareB   bool
	Before  bool    // a figure that does not fit stands before the start instead of after the end
	Height  float64 // of the figure; 0 is TextFigure
	Tag     Tag
}

func (d Dim) withDefaults(distance float64) Dim {
	if d.Text == "" {
		d.Text = Millimetres(distance)
	}
	d.Text = grouping.Replace(clean(d.Text))
	if d.Unknown && d.Role == NoRole {
		d.Role = RoleUnknown
	}
	if d.Role == NoRole {
		d.Role = RoleInk
	}
	if d.Height == 0 {
		d.Height = TextFigure
	}
	return d
}

func (d Dim) line() Layer {
	l := Dimension
	switch {
	case d.Unknown:
		return l.As(RoleUnknown)
	case d.Role != RoleInk:
		return l.As(d.Role)
	}
	return l
}

// DimHorizontal dimensions the horizontal distance of two points on a line at
// height y.
func (s *Scene) DimHorizontal(y float64, d Dim) {
	if d.B.X < d.A.X {
		d.A, d.B, d.BareA, d.BareB = d.B, d.A, d.BareB, d.BareA
	}
	s.linear(d.withDefaults(d.B.X-d.A.X), Pt{d.A.X, y}, Pt{d.B.X, y}, Pt{1, 0})
}

// DimVertical dimensions the vertical distance of two points on a line at x.
// Its figure reads from the right, as on every drawing.
func (s *Scene) DimVertical(x float64, d Dim) {
	if d.B.Y < d.A.Y {
		d.A, d.B, d.BareA, d.BareB = d.B, d.A, d.BareB, d.BareA
	}
	s.linear(d.withDefaults(d.B.Y-d.A.Y), Pt{x, d.A.Y}, Pt{x, d.B.Y}, Pt{0, 1})
}

// DimAligned dimensions the true distance of two points on a line parallel to
// them, offset paper millimetres to the left as seen from A to B (to the
// right, when negative).
func (s *Scene) DimAligned(offset float64, d Dim) {
	if d.A == d.B {
		return
	}
	u := d.A.towards(d.B)
	n := u.left().mul(s.Mm(offset))
	a, b := d.A.add(n), d.B.add(n)
	if !readable(u) { // run the other way, so that the figure reads from below or the right
		d.A, d.B, d.BareA, d.BareB = d.B, d.A, d.BareB, d.BareA
		a, b, u = b, a, u.mul(-1)
	}
	s.linear(d.withDefaults(d.A.dist(d.B)), a, b, u)
}

// readable tells whether a text along u reads from below or from the right.
func readable(u Pt) bool {
	const flat = 1e-9
	return u.X > flat || (u.X >= -flat && u.Y > 0)
}

// linear draws a dimension between p and q on the dimension line, which runs
// along u; d.A and d.B are the points that are measured.
func (s *Scene) linear(d Dim, p, q, u Pt) {
	s.Group(d.Tag.under("dim"), func() {
		if !d.BareA {
			s.extension(d, d.A, p)
		}
		if !d.BareB {
			s.extension(d, d.B, q)
		}
		s.measure(d, p, q, u)
	})
}

// extension draws the extension line from the measured point to past the
// dimension line.
func (s *Scene) extension(d Dim, from, to Pt) {
	if from.dist(to) <= s.Mm(extGap) {
		return
	}
	v := from.towards(to)
	l := Dimension
	if d.Unknown {
		l = l.As(RoleUnknown)
	}
	s.Line(l, from.add(v.mul(s.Mm(extGap))), to.add(v.mul(s.Mm(extOver))))
}

// measure draws dimension line, arrowheads and figure between p and q.
func (s *Scene) measure(d Dim, p, q, u Pt) {
	space := p.dist(q) / s.scale // paper mm
	figure := TextWidth(d.Text, d.Height, false)
	inside := space >= 2*arrowLength+1
	fits := figure+1 <= space
	line := d.line()
	along := func(from Pt, paper float64) Pt { return from.add(u.mul(s.Mm(paper))) }

	// Tails beyond the arrows that stand outside, and under a figure there.
	before, after := 0.0, 0.0
	start := 1.0 // of an outside figure, from its end of the line
	if !inside {
		before, after = arrowLength+2, arrowLength+2
		start = arrowLength + 1
	}
	if !fits {
		if d.Before {
			before = start + figure + 0.5
		} else {
			after = start + figure + 0.5
		}
	}
	s.Line(line, along(p, -before), along(q, after))
	back := u.mul(-1)
	if inside {
		s.Arrow(d.Role, p, back)
		s.Arrow(d.Role, q, u)
	} else {
		s.Arrow(d.Role, p, u)
		s.Arrow(d.Role, q, back)
	}
	at, h := p.add(q).mul(0.5), Middle
	switch {
	case !fits && d.Before:
		at, h = along(p, -start), Right
	case !fits:
		at, h = along(q, start), Left
	}
	s.Text(Text{
		At: at.add(u.left().mul(s.Mm(figureGap))), S: d.Text, Height: d.Height,
		H: h, Angle: u.bearing(), Role: d.Role, Halo: true,
	})
}

// Arrow draws a filled arrowhead with its tip at a point, pointing along a
// direction.
func (s *Scene) Arrow(r Role, tip, direction Pt) {
	n := math.Hypot(direction.X, direction.Y)
	u := direction.mul(1 / n)
	base := tip.sub(u.mul(s.Mm(arrowLength)))
	side := u.left().mul(s.Mm(arrowHalf))
	s.Polygon(arrowhead.As(r), tip, base.add(side), base.sub(side))
}

var arrowhead = Layer{Name: "arrow", Fill: RoleInk}

// DimRadius dimensions the radius of an arc about a centre with a line at a
// bearing. The arrowhead touches the arc from inside, or from outside when
// there is no room.
func (s *Scene) DimRadius(centre Pt, r float64, bearing unit.Angle, d Dim) {
	if d.Text == "" {
		d.Text = "R\u00a0" + Millimetres(r)
	}
	d = d.withDefaults(r)
	u := polar(bearing)
	tip := centre.add(u.mul(r))
	figure := TextWidth(d.Text, d.Height, false)
	fits := r/s.scale >= figure+arrowLength+2
	s.Group(d.Tag.under("dim"), func() {
		along, end := u, tip
		from := centre
		h, at := Middle, centre.add(tip).mul(0.5)
		if !fits {
			from, end = tip, tip.add(u.mul(s.Mm(arrowLength+2+figure)))
			at = tip.add(u.mul(s.Mm(arrowLength + 1.5)))
			h = Left
		}
		s.Line(d.line(), from, end)
		if fits {
			s.Arrow(d.Role, tip, u)
		} else {
			s.Arrow(d.Role, tip, u.mul(-1))
		}
		if !readable(along) {
			along = along.mul(-1)
			if h == Left {
				h = Right
			}
		}
		s.Text(Text{At: at.add(along.left().mul(s.Mm(figureGap))), S: d.Text, Height: d.Height, H: h, Angle: along.bearing(), Role: d.Role, Halo: true})
	})
}

// DimAngle dimensions the angle between two bearings, anticlockwise, with an
// arc of radius r about a centre. The text is empty for whole tenths of a
// degree.
func (s *Scene) DimAngle(centre Pt, r float64, from, to unit.Angle, d Dim) {
	for range 2 { // to within one turn after from
		if to < from {
			to += 2 * math.Pi
		}
	}
	if d.Text == "" {
		d.Text = unit.Digits((to-from).Degrees(), 1) + "°"
	}
	d = d.withDefaults(0)
	s.Group(d.Tag.under("dim"), func() {
		l := d.line()
		for i, b := range []unit.Angle{from, to} {
			if (i == 0 && d.BareA) || (i == 1 && d.BareB) {
				continue
			}
			u := polar(b)
			s.Line(l, centre.add(u.mul(s.Mm(extGap))), centre.add(u.mul(r+s.Mm(extOver))))
		}
		length := r / s.scale * float64(to-from) // paper mm along the arc
		inside := length >= 2*arrowLength+1
		// An arrowhead is straight: its base lies on the arc, half its bend ahead.
		bend := unit.Angle(arrowLength / (r / s.scale) / 2)
		tail := unit.Angle(0)
		if !inside {
			tail = unit.Angle((arrowLength + 2) / (r / s.scale))
		}
		s.Arc(l, centre, r, from-tail, to+tail)
		sign := 1.0
		if !inside {
			sign, bend = -1, -bend
		}
		s.Arrow(d.Role, centre.add(polar(from).mul(r)), polar(from+bend).left().mul(-sign))
		s.Arrow(d.Role, centre.add(polar(to).mul(r)), polar(to-bend).left().mul(sign))
		mid := polar((from + to) / 2)
		if !inside || length < TextWidth(d.Text, d.Height, false)+1 {
			mid = polar(to + tail + unit.Angle(1.5/(r/s.scale)))
		}
		at := centre.add(mid.mul(r + s.Mm(figureGap+d.Height/2)))
		h := Middle
		if mid.X > 0.5 {
			h = Left
		} else if mid.X < -0.5 {
			h = Right
		}
		s.Text(Text{At: at, S: d.Text, Height: d.Height, H: h, V: Centred, Role: d.Role, Halo: true})
	})
}
