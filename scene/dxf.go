package scene

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// DXF writes the drawing for a CAD program: ASCII, release 12, in real
// millimetres 1:1 and in the model's own co-ordinates, so that what is measured
// in the file is the size of the thing. Text and arrowheads are as large as the
// drawing's scale makes them on paper. Release 12 knows no fills but of
// triangles: arrowheads and other convex areas are filled, others are outlines,
// and nothing hides what lies behind it.
func (s *Scene) DXF(w io.Writer) error {
	sh, err := s.layout()
	if err != nil {
		return err
	}
	d := &dxf{w: bufio.NewWriter(w)}
	d.header(sh)
	d.tables(sh)
	d.pair(0, "SECTION")
	d.pair(2, "ENTITIES")
	for _, it := range sh.items {
		d.item(sh, it)
	}
	d.pair(0, "ENDSEC")
	d.pair(0, "EOF")
	return d.w.Flush()
}

type dxf struct{ w *bufio.Writer }

// pair writes a group: its code and its value, each on a line.
func (d *dxf) pair(code int, value string) {
	fmt.Fprintf(d.w, "%3d\r\n%s\r\n", code, value) // an error stays with the buffer until Flush
}

func (d *dxf) real(code int, v float64) {
	d.pair(code, strconv.FormatFloat(round(v), 'f', -1, 64))
}

func (d *dxf) point(code int, p Pt) {
	d.real(code, p.X)
	d.real(code+10, p.Y)
	d.real(code+20, 0)
}

func (d *dxf) header(sh sheet) {
	d.pair(999, "lengths in millimetres, 1:1; lettering sized for 1:"+num(sh.scale))
	d.pair(0, "SECTION")
	d.pair(2, "HEADER")
	d.pair(9, "$ACADVER")
	d.pair(1, "AC1009")
	d.pair(9, "$EXTMIN")
	d.point(10, sh.origin)
	d.pair(9, "$EXTMAX")
	d.point(10, sh.origin.add(Pt{sh.w, sh.h}.mul(sh.scale)))
	d.pair(9, "$LTSCALE")
	d.real(40, 1)
	d.pair(0, "ENDSEC")
}

// lineTypes are the line types with the pattern that is written, in paper mm.
var lineTypes = []struct {
	dash        Dash
	name, about string
	width       Width
}{
	{Continuous, "CONTINUOUS", "Solid line", W25},
	{Dashed, "DASHED", "__ __ __ __", W25},
	{DashDot, "DASHDOT", "____ _ ____ _", W18},
}

func (d *dxf) tables(sh sheet) {
	d.pair(0, "SECTION")
	d.pair(2, "TABLES")
	d.pair(0, "TABLE")
	d.pair(2, "LTYPE")
	d.pair(70, strconv.Itoa(len(lineTypes)))
	for _, t := range lineTypes {
		pattern := t.dash.Pattern(t.width)
		sum := 0.0
		for _, x := range pattern {
			sum += x * sh.scale
		}
		d.pair(0, "LTYPE")
		d.pair(2, t.name)
		d.pair(70, "0")
		d.pair(3, t.about)
		d.pair(72, "65")
		d.pair(73, strconv.Itoa(len(pattern)))
		d.real(40, sum)
		for i, x := range pattern {
			if i%2 == 1 {
				x = -x // a gap
			}
			d.real(49, x*sh.scale)
		}
	}
	d.pair(0, "ENDTAB")
	var layers []Layer
	seen := map[string]bool{}
	for _, it := range sh.items {
		if n := dxfName(it.layer.Name); it.layer.Name != "" && !seen[n] {
			seen[n] = true
			layers = append(layers, it.layer)
		}
	}
	d.pair(0, "TABLE")
	d.pair(2, "LAYER")
	d.pair(70, strconv.Itoa(len(layers)))
	for _, l := range layers {
		d.pair(0, "LAYER")
		d.pair(2, dxfName(l.Name))
		d.pair(70, "0")
		d.pair(62, strconv.Itoa(l.cad()))
		d.pair(6, lineTypes[l.Dash].name)
	}
	d.pair(0, "ENDTAB")
	d.pair(0, "ENDSEC")
}

// dxfName makes a layer name as release 12 takes it: at most 31 capital
// letters, digits, hyphens and underscores.
func dxfName(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z':
			return r - 'a' + 'A'
		case 'A' <= r && r <= 'Z', '0' <= r && r <= '9', r == '-':
			return r
		}
		return '_'
	}, s)
	return s[:min(len(s), 31)]
}

func (d *dxf) entity(kind string, l Layer) {
	d.pair(0, kind)
	d.pair(8, dxfName(l.Name))
}

func (d *dxf) item(sh sheet, it item) {
	l := it.layer
	filled := l.Fill != NoRole && l.Fill != RoleSheet && l.Fill != RoleShade
	switch it.kind {
	case path:
		solid := filled && it.closed && convex(it.pts)
		if solid {
			d.solids(l, it.pts)
		}
		switch {
		case solid && l.Line == NoRole:
		case len(it.pts) == 2:
			d.entity("LINE", l)
			d.point(10, it.pts[0])
			d.point(11, it.pts[1])
		default:
			d.polyline(l, it.pts, it.closed)
		}
	case circle:
		if filled {
			var ring []Pt
			for i := range 24 {
				ring = append(ring, it.pts[0].add(Pt{math.Cos(float64(i) * math.Pi / 12), math.Sin(float64(i) * math.Pi / 12)}.mul(it.r)))
			}
			d.solids(l, ring)
		}
		d.entity("CIRCLE", l)
		d.point(10, it.pts[0])
		d.real(40, it.r)
	case arc:
		d.entity("ARC", l)
		d.point(10, it.pts[0])
		d.real(40, it.r)
		d.real(50, it.from.Degrees())
		d.real(51, math.Mod(it.to.Degrees(), 360))
	case text:
		d.text(sh, l, it.text)
	}
}

func (d *dxf) polyline(l Layer, pts []Pt, closed bool) {
	d.entity("POLYLINE", l)
	d.pair(66, "1")
	d.point(10, Pt{})
	if closed {
		d.pair(70, "1")
	} else {
		d.pair(70, "0")
	}
	for _, p := range pts {
		d.entity("VERTEX", l)
		d.point(10, p)
	}
	d.entity("SEQEND", l)
}

// solids fills a convex polygon with triangles.
func (d *dxf) solids(l Layer, pts []Pt) {
	for i := 1; i+1 < len(pts); i++ {
		d.entity("SOLID", l)
		d.point(10, pts[0])
		d.point(11, pts[i])
		d.point(12, pts[i+1])
		d.point(13, pts[i+1])
	}
}

func convex(pts []Pt) bool {
	left, right := false, false
	for i, p := range pts {
		q, r := pts[(i+1)%len(pts)], pts[(i+2)%len(pts)]
		turn := q.sub(p).left().dot(r.sub(q))
		left, right = left || turn > 0, right || turn < 0
	}
	return !(left && right)
}

// textWidthFactor narrows the stroke letters of CAD programs, which are wider
// than those of the drawing, so that figures keep to their place.
const textWidthFactor = 0.8

func (d *dxf) text(sh sheet, l Layer, t Text) {
	d.entity("TEXT", l)
	d.point(10, t.At)
	d.real(40, t.Height*sh.scale)
	d.pair(1, dxfText(t.S))
	d.real(50, t.Angle.Degrees())
	d.real(41, textWidthFactor)
	vertical := map[VAnchor]string{Baseline: "0", Centred: "2", Top: "3"}[t.V]
	if t.H == Left && t.V == Baseline {
		return
	}
	d.pair(72, strconv.Itoa(int(t.H)))
	d.pair(73, vertical)
	d.point(11, t.At)
}

// dxfText writes a text in the ASCII of release 12: %%c, %%d and %%p for Ø, °
// and ±, \U+ and four hexadecimal digits for other letters, plain signs for
// those that stroke fonts lack.
func dxfText(s string) string {
	const maxLength = 250 // of a text value in release 12: 255
	var b strings.Builder
	literalPercents := strings.Contains(s, "%%")
	for _, r := range s {
		var t string
		switch {
		case r == 'Ø' || r == '⌀':
			t = "%%c"
		case r == '°':
			t = "%%d"
		case r == '±':
			t = "%%p"
		case r == '%' && literalPercents:
			t = "%%%"
		case r == '^':
			t = "^ " // a caret alone begins a control sign
		case r == '\\':
			t = `\U+005C`
		case ' ' <= r && r < 0x7f:
			t = string(r)
		case plain[r] != "":
			t = plain[r]
		case r > 0xffff:
			t = "?"
		default:
			t = fmt.Sprintf(`\U+%04X`, r)
		}
		if b.Len()+len(t) > maxLength {
			break
		}
		b.WriteString(t)
	}
	return b.String()
}

var plain = map[rune]string{
	'\u00a0': " ", '\u2009': " ", '\u202f': " ", '−': "-", '–': "-", '—': "-", '‑': "-", '″': `"`, '′': "'", '’': "'", '‘': "'",
	'“': `"`, '”': `"`, '…': "...", '×': "x", '·': ".", '→': "->", '←': "<-", '₀': "0", '₁': "1", '₂': "2", '₃': "3", '№': "No.", 'Δ': "d",
}
