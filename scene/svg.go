package scene

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"

	"underpin/unit"
)

// An SVGOptions says how a drawing is written as SVG.
type SVGOptions struct {
	// ID begins the ids of title and description, so that several drawings can
	// stand on one page; empty is "drawing".
	ID string
	// Standalone writes a file of its own: with size in millimetres and a
	// stylesheet that follows the reader's light or dark setting. Otherwise
	// the text is for a page, which brings Stylesheet and Tokens.
	Standalone bool
	// Interactive gives the drawing the role group instead of img, for pages
	// that put controls into it: what is inside an img is not announced.
	Interactive bool
}

// SVG writes the drawing. Lengths in the file are paper millimetres, y down.
// The root carries data-scale, data-x and data-y: an SVG point (x, y) is the
// model point (data-x + x·data-scale, data-y − y·data-scale) in millimetres.
// The same scene gives the same bytes.
func (s *Scene) SVG(w io.Writer, o SVGOptions) error {
	sh, err := s.layout()
	if err != nil {
		return err
	}
	if o.ID == "" {
		o.ID = "drawing"
	}
	v := &svg{w: bufio.NewWriter(w), sh: sh}
	v.head(s, o)
	for _, it := range sh.items {
		v.item(it)
	}
	v.layer(item{})
	v.put("</svg>\n")
	return v.w.Flush()
}

type svg struct {
	w     *bufio.Writer
	sh    sheet
	group string // the opening tag of the layer group that is open
}

func (v *svg) put(parts ...string) {
	for _, p := range parts {
		v.w.WriteString(p) // an error stays with the buffer until Flush
	}
}

func (v *svg) head(s *Scene, o SVGOptions) {
	W, H := num(v.sh.w), num(v.sh.h)
	role := "img"
	if o.Interactive {
		role = "group"
	}
	id := escape(o.ID)
	if o.Standalone {
		v.put(`<?xml version="1.0" encoding="UTF-8"?>`, "\n")
	}
	v.put(`<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="`, role, `" aria-labelledby="`, id, `-title`)
	if s.Desc != "" {
		v.put(` `, id, `-desc`)
	}
	v.put(`" viewBox="0 0 `, W, ` `, H, `"`)
	if o.Standalone {
		v.put(` width="`, W, `mm" height="`, H, `mm"`)
	}
	v.put(` font-family="`, escape(FontFamily), `" data-scale="`, num(v.sh.scale),
		`" data-x="`, num(v.sh.origin.X), `" data-y="`, num(v.sh.origin.Y+v.sh.h*v.sh.scale), "\">\n")
	v.put(`<title id="`, id, `-title">`, escape(clean(s.Title)), "</title>\n")
	if s.Desc != "" {
		v.put(`<desc id="`, id, `-desc">`, escape(clean(s.Desc)), "</desc>\n")
	}
	if o.Standalone {
		v.put("<style>\n", fileStyle(), "</style>\n",
			`<rect class="fill-sheet" width="`, W, `" height="`, H, "\"/>\n")
	}
}

func (v *svg) item(it item) {
	switch it.kind {
	case open:
		v.layer(item{})
		v.put("<g")
		v.tag(it.tag)
		v.put(">\n")
	case closing:
		v.layer(item{})
		v.put("</g>\n")
	case hit:
		v.layer(item{})
		a, b := v.at(Pt{it.pts[0].X, it.pts[1].Y}), v.at(Pt{it.pts[1].X, it.pts[0].Y})
		v.put(`<rect class="hit" x="`, num(a.X), `" y="`, num(a.Y), `" width="`, num(b.X-a.X), `" height="`, num(b.Y-a.Y), "\" fill=\"none\" pointer-events=\"all\"/>\n")
	case text:
		if it.text.Halo {
			v.layer(item{layer: haloLayer})
			v.path(v.sh.haloPath(it.text), true)
		}
		v.layer(it)
		v.text(it.text)
	default:
		v.layer(it)
		v.shape(it)
	}
}

var haloLayer = Layer{Name: "halo", Fill: RoleSheet}

func (sh sheet) haloPath(t Text) []Pt {
	b := (&Scene{scale: sh.scale}).haloBox(t)
	return b[:]
}

// at returns the place of a model point in the file.
func (v *svg) at(p Pt) Pt {
	q := v.sh.paper(p)
	return Pt{q.X, v.sh.h - q.Y}
}

// layer opens the group of the item's layer, unless it is the one that is open;
// an item without a layer closes it.
func (v *svg) layer(it item) {
	tag := ""
	if l := it.layer; l.Name != "" {
		class := "l-" + l.Name
		if it.kind == text {
			class += " text fill-" + string(l.Line)
			tag = `<g class="` + class + `">`
		} else {
			if l.Line != NoRole {
				class += " line-" + string(l.Line)
			}
			if l.Fill != NoRole {
				class += " fill-" + string(l.Fill)
			}
			tag = `<g class="` + class + `"`
			if l.Line != NoRole {
				tag += ` stroke-width="` + num(float64(l.Width)) + `"`
				if p := l.Dash.Pattern(l.Width); p != nil {
					s := make([]string, len(p))
					for i, x := range p {
						s[i] = num(x)
					}
					tag += ` stroke-dasharray="` + strings.Join(s, " ") + `"`
				}
			}
			tag += ">"
		}
	}
	if tag == v.group {
		return
	}
	if v.group != "" {
		v.put("</g>\n")
	}
	if v.group = tag; tag != "" {
		v.put(tag, "\n")
	}
}

func (v *svg) shape(it item) {
	switch it.kind {
	case path:
		v.path(it.pts, it.closed)
	case circle:
		c := v.at(it.pts[0])
		v.put(`<circle cx="`, num(c.X), `" cy="`, num(c.Y), `" r="`, num(it.r/v.sh.scale), "\"/>\n")
	case arc:
		end := func(a unit.Angle) string {
			p := v.at(it.pts[0].add(polar(a).mul(it.r)))
			return num(p.X) + " " + num(p.Y)
		}
		large := "0"
		if it.to-it.from > math.Pi {
			large = "1"
		}
		r := num(it.r / v.sh.scale)
		// Anticlockwise with y up is sweep 0 with y down.
		v.put(`<path d="M`, end(it.from), `A`, r, ` `, r, ` 0 `, large, ` 0 `, end(it.to), "\"/>\n")
	}
}

func (v *svg) path(pts []Pt, closed bool) {
	v.put(`<path d="`)
	var last Pt
	for i, p := range pts {
		q := v.at(p)
		q = Pt{round(q.X), round(q.Y)}
		switch {
		case i == 0:
			v.put("M", num(q.X), " ", num(q.Y))
		case q.Y == last.Y:
			v.put("H", num(q.X))
		case q.X == last.X:
			v.put("V", num(q.Y))
		default:
			v.put("L", num(q.X), " ", num(q.Y))
		}
		last = q
	}
	if closed {
		v.put("Z")
	}
	v.put("\"/>\n")
}

func (v *svg) text(t Text) {
	p := v.at(t.At.add(polar(t.Angle).left().mul(t.drop() * v.sh.scale)))
	v.put(`<text x="`, num(p.X), `" y="`, num(p.Y), `" font-size="`, num(t.Height/capHeight), `"`)
	switch t.H {
	case Middle:
		v.put(` text-anchor="middle"`)
	case Right:
		v.put(` text-anchor="end"`)
	}
	if t.Bold {
		v.put(` font-weight="700"`)
	}
	if a := round(-t.Angle.Degrees()); a != 0 {
		v.put(` transform="rotate(`, num(a), ` `, num(p.X), ` `, num(p.Y), `)"`)
	}
	v.put(`>`, escape(t.S), "</text>\n")
}

func (v *svg) tag(t Tag) {
	if t.ID != "" {
		v.put(` id="`, escape(clean(t.ID)), `"`)
	}
	if t.Class != "" {
		v.put(` class="`, escape(clean(t.Class)), `"`)
	}
	for _, d := range t.Attrs {
		if d.Name == "role" || d.Name == "tabindex" || (strings.HasPrefix(d.Name, "aria-") && isName(d.Name)) {
			v.put(` `, d.Name, `="`, escape(clean(d.Value)), `"`)
		}
	}
	for _, d := range t.Data {
		if isName(d.Name) {
			v.put(` data-`, d.Name, `="`, escape(clean(d.Value)), `"`)
		}
	}
}

func isName(s string) bool {
	return s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

func round(x float64) float64 {
	r := math.Round(x*1000) / 1000
	return r + 0 // no minus zero
}

// num writes a number with at most three decimals and no more than it needs.
func num(x float64) string {
	return strconv.FormatFloat(round(x), 'f', -1, 64)
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

func escape(s string) string { return escaper.Replace(s) }
