package scene

import (
	"math"

	"underpin/unit"
)

// CentreLine draws a centre line through two points and a little past them.
func (s *Scene) CentreLine(a, b Pt) {
	if a == b {
		return
	}
	u := a.towards(b).mul(s.Mm(3))
	s.Line(Centre, a.sub(u), b.add(u))
}

// CentreMark draws the two crossing centre lines of a circle.
func (s *Scene) CentreMark(c Pt, r float64) {
	s.CentreLine(Pt{c.X - r, c.Y}, Pt{c.X + r, c.Y})
	s.CentreLine(Pt{c.X, c.Y - r}, Pt{c.X, c.Y + r})
}

// A Note is words with a line to what they are about.
type Note struct {
	Tip    Pt // on the thing
	Elbow  Pt // where the line turns level under the words
	Lines  []string
	Dot    bool // the line ends in a dot within an area, not in an arrow on an edge
	Role   Role
	Height float64 // 0 is TextNote
	Bold   bool    // of the first line
	Tag    Tag
}

// Leader draws a note.
func (s *Scene) Leader(n Note) {
	if n.Height == 0 {
		n.Height = TextNote
	}
	if n.Role == NoRole {
		n.Role = RoleInk
	}
	line := Dimension
	if n.Role != RoleInk {
		line = line.As(n.Role)
	}
	widest := 0.0
	n.Lines = append([]string(nil), n.Lines...)
	for i, t := range n.Lines {
		t = grouping.Replace(clean(t))
		n.Lines[i] = t
		widest = math.Max(widest, TextWidth(t, n.Height, n.Bold && i == 0))
	}
	sign, h := 1.0, Left
	if n.Elbow.X < n.Tip.X {
		sign, h = -1, Right
	}
	s.Group(n.Tag.under("note"), func() {
		end := Pt{n.Elbow.X + sign*s.Mm(widest+1), n.Elbow.Y}
		s.Polyline(line, n.Tip, n.Elbow, end)
		switch {
		case n.Dot:
			s.Circle(arrowhead.As(n.Role), n.Tip, s.Mm(0.5))
		case n.Tip != n.Elbow:
			s.Arrow(n.Role, n.Tip, n.Tip.sub(n.Elbow))
		}
		for i, t := range n.Lines {
			above := figureGap + float64(len(n.Lines)-1-i)*n.Height*1.65
			s.Text(Text{
				At: Pt{n.Elbow.X + sign*s.Mm(0.5), n.Elbow.Y + s.Mm(above)}, S: t, Height: n.Height, H: h,
				Role: n.Role, Bold: n.Bold && i == 0, Halo: true,
			})
		}
	})
}

// Mark draws the shape that stands for a state, height paper millimetres high
// about a point: a disc for holds, a triangle for caution, a cross for fails,
// a ring for cannot tell. Other roles draw nothing.
func (s *Scene) Mark(r Role, at Pt, height float64) {
	k := s.Mm(height) / 2
	p := func(x, y float64) Pt { return Pt{at.X + x*k, at.Y + y*k} }
	stroke := Layer{Name: "mark", Line: RoleInk, Width: Width(height * 0.22)}.As(r)
	switch r {
	case RoleHolds:
		s.Circle(arrowhead.As(r), at, k*0.85)
	case RoleCaution:
		s.Polygon(arrowhead.As(r), p(0, 1), p(-1.05, -0.85), p(1.05, -0.85))
	case RoleFails:
		s.Line(stroke, p(-0.8, -0.8), p(0.8, 0.8))
		s.Line(stroke, p(-0.8, 0.8), p(0.8, -0.8))
	case RoleUnknown:
		stroke.Dash, stroke.Width = Continuous, Width(height*0.16)
		stroke.Name = "mark-ring"
		s.Circle(stroke, at, k*0.8)
	}
}

// Hatch fills a polygon with parallel lines at an angle, spacing paper
// millimetres apart.
func (s *Scene) Hatch(l Layer, angle unit.Angle, spacing float64, pts ...Pt) {
	step := s.Mm(spacing)
	if !(step > 0) || len(pts) < 3 {
		return
	}
	u := polar(angle)
	v := u.left()
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = math.Min(lo, v.dot(p)), math.Max(hi, v.dot(p))
	}
	if !((hi-lo)/step < 5000) { // not a hatch but a black area
		return
	}
	l.Fill = NoRole
	var cuts []float64
	for k := math.Floor(lo/step) + 1; k*step < hi; k++ {
		// Where the line at this height crosses the edges, by the even-odd rule.
		y := k * step
		cuts = cuts[:0]
		for i, p := range pts {
			q := pts[(i+1)%len(pts)]
			a, b := v.dot(p), v.dot(q)
			if (a <= y) == (b <= y) {
				continue
			}
			t := (y - a) / (b - a)
			cuts = insert(cuts, u.dot(p)+t*(u.dot(q)-u.dot(p)))
		}
		for i := 0; i+1 < len(cuts); i += 2 {
			s.Line(l, u.mul(cuts[i]).add(v.mul(y)), u.mul(cuts[i+1]).add(v.mul(y)))
		}
	}
}

func insert(sorted []float64, x float64) []float64 {
	sorted = append(sorted, x)
	for i := len(sorted) - 1; i > 0 && sorted[i-1] > sorted[i]; i-- {
		sorted[i-1], sorted[i] = sorted[i], sorted[i-1]
	}
	return sorted
}
