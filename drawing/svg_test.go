package drawing_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"underpin/scene"
)

// A shape is one thing drawn, as the SVG has it: paper mm, y down.
type shape struct {
	kind    string // path, circle, rect, text
	class   string // of its layer
	groups  []attrs
	pts     []scene.Pt // corners; of a circle its extremes
	centre  scene.Pt
	r       float64
	text    string
	box     [4]scene.Pt // of a text
	inBlock bool
}

type attrs map[string]string

// A paper is an SVG read back.
type paper struct {
	w, h   float64
	scale  float64
	x, y   float64 // model place of the upper left corner
	shapes []shape
}

// model turns a place on paper into one of the model.
func (p *paper) model(q scene.Pt) scene.Pt {
	return scene.Pt{X: p.x + q.X*p.scale, Y: p.y - q.Y*p.scale}
}

func number(t testing.TB, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// readSVG reads what the tests need of an SVG. It knows only what scene writes.
func readSVG(t testing.TB, data []byte) *paper {
	t.Helper()
	p := &paper{}
	d := xml.NewDecoder(bytes.NewReader(data))
	var stack []attrs
	var last *shape
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return p
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			a := attrs{"": e.Name.Local}
			for _, x := range e.Attr {
				a[x.Name.Local] = x.Value
			}
			switch e.Name.Local {
			case "svg":
				if _, err := fmt.Sscanf(a["viewBox"], "0 0 %g %g", &p.w, &p.h); err != nil {
					t.Fatal(err)
				}
				p.scale, p.x, p.y = number(t, a["data-scale"]), number(t, a["data-x"]), number(t, a["data-y"])
			case "path", "circle", "text":
				p.shapes = append(p.shapes, newShape(t, a, stack))
				last = &p.shapes[len(p.shapes)-1]
			}
			stack = append(stack, a)
		case xml.EndElement:
			stack = stack[:len(stack)-1]
			last = nil
		case xml.CharData:
			if last != nil && last.kind == "text" {
				last.text += string(e)
				last.measure(t)
			}
		}
	}
}

func newShape(t testing.TB, a attrs, stack []attrs) shape {
	s := shape{kind: a[""]}
	for _, g := range stack {
		if g[""] != "g" {
			continue
		}
		s.groups = append(s.groups, g)
		s.inBlock = s.inBlock || g["class"] == "sheet"
		if strings.HasPrefix(g["class"], "l-") {
			s.class, _, _ = strings.Cut(strings.TrimPrefix(g["class"], "l-"), " ")
		}
	}
	switch s.kind {
	case "circle":
		s.centre, s.r = scene.Pt{X: number(t, a["cx"]), Y: number(t, a["cy"])}, number(t, a["r"])
		s.pts = []scene.Pt{s.centre.Add(-s.r, -s.r), s.centre.Add(s.r, s.r)}
	case "path":
		s.pts = readPath(t, a["d"])
	case "text":
		s.groups = append(s.groups, a)
	}
	return s
}

// readPath reads the corners of a path. Of an arc only the ends are read.
func readPath(t testing.TB, d string) []scene.Pt {
	var pts []scene.Pt
	var at scene.Pt
	for d != "" {
		op := d[0]
		d = d[1:]
		end := strings.IndexAny(d, "MHVLAZ")
		if end < 0 {
			end = len(d)
		}
		var v []float64
		for _, f := range strings.Fields(d[:end]) {
			v = append(v, number(t, f))
		}
		d = d[end:]
		switch op {
		case 'M', 'L':
			at = scene.Pt{X: v[0], Y: v[1]}
		case 'H':
			at.X = v[0]
		case 'V':
			at.Y = v[0]
		case 'A':
			at = scene.Pt{X: v[5], Y: v[6]}
		case 'Z':
			continue
		}
		pts = append(pts, at)
	}
	return pts
}

// capHeight is the height of capitals as a share of the type size, from the
// font's own metrics (660 of 1000 units).
const capHeight = 0.660

// measure finds the box of a text, from its baseline to the top of its
// capitals.
func (s *shape) measure(t testing.TB) {
	a := s.groups[len(s.groups)-1]
	x, y, size := number(t, a["x"]), number(t, a["y"]), number(t, a["font-size"])
	h := size * capHeight
	w := scene.TextWidth(s.text, h, a["font-weight"] == "700")
	left := x
	switch a["text-anchor"] {
	case "middle":
		left -= w / 2
	case "end":
		left -= w
	}
	turn := 0.0
	if r := a["transform"]; r != "" {
		if _, err := fmt.Sscanf(r, "rotate(%g", &turn); err != nil {
			t.Fatal(err)
		}
	}
	sin, cos := math.Sincos(turn * math.Pi / 180)
	for i, q := range [4][2]float64{{left, y}, {left + w, y}, {left + w, y - h}, {left, y - h}} {
		dx, dy := q[0]-x, q[1]-y
		s.box[i] = scene.Pt{X: x + dx*cos - dy*sin, Y: y + dx*sin + dy*cos}
	}
	s.pts = s.box[:]
}

// overlap tells by how much two boxes of text run into each other, at least, in
// paper mm (the least depth over their own axes); 0 when they do not.
func overlap(a, b [4]scene.Pt) float64 {
	depth := math.Inf(1)
	for _, box := range [][4]scene.Pt{a, b} {
		for i := range 2 {
			ux, uy := box[i+1].X-box[i].X, box[i+1].Y-box[i].Y
			n := math.Hypot(ux, uy)
			if n == 0 {
				continue
			}
			ux, uy = ux/n, uy/n
			span := func(c [4]scene.Pt) (lo, hi float64) {
				lo, hi = math.Inf(1), math.Inf(-1)
				for _, p := range c {
					v := p.X*ux + p.Y*uy
					lo, hi = math.Min(lo, v), math.Max(hi, v)
				}
				return lo, hi
			}
			alo, ahi := span(a)
			blo, bhi := span(b)
			depth = math.Min(depth, math.Min(ahi, bhi)-math.Max(alo, blo))
		}
	}
	return math.Max(0, depth)
}

// checkSheet holds what every drawing must keep: all inside the sheet, and no
// lettering over other lettering.
func checkSheet(t interface{ Errorf(string, ...any) }, name string, p *paper) {
	const eps = 0.01
	var texts []shape
	for _, s := range p.shapes {
		for _, q := range s.pts {
			if !(-eps <= q.X && q.X <= p.w+eps && -eps <= q.Y && q.Y <= p.h+eps) {
				t.Errorf("%s: %s %s %q at %.2f, %.2f is off the sheet of %.2f × %.2f", name, s.kind, s.class, s.text, q.X, q.Y, p.w, p.h)
				break
			}
		}
		if s.kind == "text" {
			texts = append(texts, s)
		}
	}
	for i, a := range texts {
		for _, b := range texts[i+1:] {
			if d := overlap(a.box, b.box); d > 0.05 {
				t.Errorf("%s: %q and %q run into each other by %.2f mm", name, a.text, b.text, d)
			}
		}
	}
}

// group returns what is drawn inside the part with an id.
func (p *paper) group(id string) (out []shape) {
	for _, s := range p.shapes {
		for _, g := range s.groups {
			if g["id"] == id {
				out = append(out, s)
				break
			}
		}
	}
	return out
}
