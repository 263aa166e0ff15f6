package report

import (
	"fmt"
	"image/color"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"underpin/scene"
)

// The page in millimetres: A4 with margins that a binder and a printer leave.
const (
	paperW, paperH = 210.0, 297.0
	left, right    = 17.0, 13.0
	top, bottom    = 25.0, 19.0
	width          = paperW - left - right // of an upright page
)

// Sizes of type in points.
const (
	sizeAnswer = 19.0
	sizeHead   = 12.5
	sizeSub    = 9.8
	sizeBody   = 9.2
	sizeTable  = 8.2
	sizeNote   = 7.4
	sizeLabel  = 6.8
)

const point = 25.4 / 72

// lineHeight is the distance of lines of a size of type, in mm.
func lineHeight(size float64) float64 { return size * point * 1.3 }

// A document is a PDF in the making, with the place on the page that is next.
type document struct {
	pdf  *fpdf.Fpdf
	y    float64
	w, h float64 // of the page as it is turned

	running  string // what the document is, at the head of each page
	state    string // approved or draft, in words
	draft    bool
	foot     string
	sections int
}

// A meta is what a PDF says about itself.
type meta struct {
	title, subject, author string
	date                   string // of the data, "2026-11-25"; anything else is no date
}

func newDocument(m meta) *document {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: paperW, Ht: paperH}})
	date, err := time.Parse(time.DateOnly, m.date)
	if err != nil {
		date = time.Unix(0, 0).UTC()
	}
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetCatalogSort(true)
	pdf.SetLang("en")
	pdf.SetTitle(printable(m.title), true)
	pdf.SetSubject(printable(m.subject), true)
	pdf.SetAuthor(printable(m.author), true)
	pdf.SetCreator("Underpin", true)
	pdf.SetMargins(left, top, right)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AliasNbPages("{pages}")
	scene.AddFonts(pdf)
	d := &document{pdf: pdf}
	pdf.SetHeaderFunc(d.header)
	pdf.SetFooterFunc(d.footer)
	return d
}

// write ends the document.
func (d *document) write(w io.Writer) error {
	if err := d.pdf.Error(); err != nil {
		return fmt.Errorf("report: writing PDF: %w", err)
	}
	return d.pdf.Output(w)
}

// newPage begins a page.
func (d *document) newPage() { d.turned("P") }

// turned begins a page upright (P) or on its side (L).
func (d *document) turned(way string) {
	d.pdf.AddPageFormat(way, fpdf.SizeType{Wd: paperW, Ht: paperH}) // the foot of the page before is written first
	d.y = top
}

// room is what is left of the page.
func (d *document) room() float64 { return d.h - bottom - d.y }

// need begins a new page where less than so much is left.
func (d *document) need(height float64) bool {
	if d.y > top && height > d.room() {
		d.newPage()
		return true
	}
	return false
}

// space leaves a gap, unless the page begins.
func (d *document) space(mm float64) {
	if d.y > top {
		d.y += mm
	}
}

// header stands at the head of each page: what this is and whether it may be
// worked from.
func (d *document) header() {
	d.w, d.h = d.pdf.GetPageSize()
	if d.draft {
		d.tint()
	}
	d.y = 15
	state := d.state
	d.font(sizeNote, true)
	wide := d.pdf.GetStringWidth(printable(state))
	d.font(sizeNote, false)
	d.colour(scene.RoleMuted)
	d.plain(left, d.y, clip(d.pdf, printable(d.running), d.w-left-right-wide-12))
	role := scene.RoleHolds
	if d.draft {
		role = scene.RoleCaution
	}
	d.font(sizeNote, true)
	d.colour(role)
	d.plain(d.w-right-wide, d.y, printable(state))
	d.mark(role, d.w-right-wide-2.4, d.y-1, 2)
	d.rule(d.y+2.2, scene.RoleInk, 0.25)
	d.y = top
}

// tint writes DRAFT across the page, behind everything, so light that it is
// read through and cannot be cut off.
func (d *document) tint() {
	d.font(150, true)
	d.pdf.SetTextColor(246, 240, 225)
	text := "DRAFT"
	wide := d.pdf.GetStringWidth(text)
	d.pdf.TransformBegin()
	d.pdf.TransformRotate(54, d.w/2, d.h/2)
	d.plain((d.w-wide)/2, d.h/2+17, text)
	d.pdf.TransformEnd()
}

func (d *document) footer() {
	y := d.h - 11
	d.rule(y-4, scene.RoleRule, 0.2)
	d.font(sizeNote, false)
	d.colour(scene.RoleMuted)
	page := fmt.Sprintf("page %d of {pages}", d.pdf.PageNo())
	d.plain(left, y, clip(d.pdf, printable(d.foot), d.w-left-right-30))
	// The number of pages is not known yet; room for three digits is left.
	wide := d.pdf.GetStringWidth(fmt.Sprintf("page %d of 00", d.pdf.PageNo()))
	d.plain(d.w-right-wide, y, page)
}

// font sets the size of type in points.
func (d *document) font(size float64, bold bool) {
	weight := ""
	if bold {
		weight = "B"
	}
	d.pdf.SetFont(scene.PDFFont, weight, size)
}

func (d *document) colour(r scene.Role) {
	c := scene.Print.Colour(r)
	d.pdf.SetTextColor(int(c.R), int(c.G), int(c.B))
}

func rgb(set func(r, g, b int), c color.RGBA) { set(int(c.R), int(c.G), int(c.B)) }

// plain writes a line of text as the font is set, its baseline at y.
func (d *document) plain(x, y float64, s string) { d.pdf.Text(x, y, s) }

// rule draws a line across the page.
func (d *document) rule(y float64, r scene.Role, w float64) { d.line(left, y, d.w-right, y, r, w) }

func (d *document) line(x1, y1, x2, y2 float64, r scene.Role, w float64) {
	rgb(d.pdf.SetDrawColor, scene.Print.Colour(r))
	d.pdf.SetLineWidth(w)
	d.pdf.SetDashPattern(nil, 0)
	d.pdf.Line(x1, y1, x2, y2)
}

// mark draws the shape of a state, size mm high about a point: a disc for holds,
// a triangle for caution, a cross for fails, a ring for cannot tell.
func (d *document) mark(r scene.Role, x, y, size float64) {
	c := scene.Print.Colour(r)
	rgb(d.pdf.SetFillColor, c)
	rgb(d.pdf.SetDrawColor, c)
	d.pdf.SetDashPattern(nil, 0)
	k := size / 2
	switch r {
	case scene.RoleHolds:
		d.pdf.Circle(x, y, k*0.85, "F")
	case scene.RoleCaution:
		d.pdf.Polygon([]fpdf.PointType{{X: x, Y: y - k}, {X: x - 1.05*k, Y: y + 0.85*k}, {X: x + 1.05*k, Y: y + 0.85*k}}, "F")
	case scene.RoleFails:
		d.pdf.SetLineWidth(size * 0.2)
		d.pdf.Line(x-0.8*k, y-0.8*k, x+0.8*k, y+0.8*k)
		d.pdf.Line(x-0.8*k, y+0.8*k, x+0.8*k, y-0.8*k)
	case scene.RoleUnknown:
		d.pdf.SetLineWidth(size * 0.16)
		d.pdf.Circle(x, y, k*0.8, "D")
	}
}

// section begins a numbered part of the document. Less than least mm of room
// begins a page.
func (d *document) section(title string, least float64) {
	d.sections++
	d.space(6)
	d.need(least + 10)
	d.font(sizeHead, true)
	d.colour(scene.RoleInk)
	text := fmt.Sprintf("%d  %s", d.sections, title)
	d.pdf.Bookmark(printable(text), 0, d.y)
	d.plain(left, d.y+4.4, printable(text))
	d.y += 8
}

// sub begins a part of a section.
func (d *document) sub(title string, least float64) {
	d.space(3)
	d.need(least + 6)
	d.font(sizeSub, true)
	d.colour(scene.RoleInk)
	d.plain(left, d.y+3.4, printable(title))
	d.y += 5.6
}

// text writes a paragraph in a column and returns its height.
func (d *document) textAt(x, y, w, size float64, bold bool, r scene.Role, s string) float64 {
	d.font(size, bold)
	lines := wrap(d.pdf, printable(s), w)
	d.colour(r)
	h := lineHeight(size)
	for i, line := range lines {
		d.plain(x, y+h*(float64(i)+0.76), line)
	}
	return h * float64(len(lines))
}

// height is what textAt would take.
func (d *document) height(w, size float64, bold bool, s string) float64 {
	d.font(size, bold)
	return lineHeight(size) * float64(len(wrap(d.pdf, printable(s), w)))
}

// paragraph writes text over the whole width, kept together.
func (d *document) paragraph(size float64, bold bool, r scene.Role, s string) {
	if s == "" {
		return
	}
	d.need(d.height(width, size, bold, s))
	d.y += d.textAt(left, d.y, width, size, bold, r, s) + 1
}

// An item is one entry of a list.
type item struct {
	text, note string
	state      scene.Role // its mark; NoRole: a dash
}

// list writes entries, each kept together.
func (d *document) list(items []item) {
	const indent = 4.6
	for _, it := range items {
		h := d.height(width-indent, sizeTable, false, it.text)
		n := 0.0
		if it.note != "" {
			n = d.height(width-indent, sizeNote, false, it.note)
		}
		d.need(h + n)
		if it.state != scene.NoRole {
			d.mark(it.state, left+1.4, d.y+h/float64(max(1, int(h/lineHeight(sizeTable)+0.5)))*0.5, 2)
		} else {
			d.line(left+0.6, d.y+1.75, left+2.4, d.y+1.75, scene.RoleThin, 0.25)
		}
		d.textAt(left+indent, d.y, width-indent, sizeTable, false, scene.RoleInk, it.text)
		if n > 0 {
			d.textAt(left+indent, d.y+h, width-indent, sizeNote, false, scene.RoleMuted, it.note)
		}
		d.y += h + n + 0.9
	}
}

// A pair is one label and what is known under it.
type pair struct {
	label, value string
	role         scene.Role
	bold         bool
}

// pairs writes labels and values below each other, in a column.
func (d *document) pairsAt(x, y, w, labelWide float64, ps []pair) (height float64) {
	for _, p := range ps {
		if p.role == scene.NoRole {
			p.role = scene.RoleInk
		}
		a := d.textAt(x, y+height+0.25, labelWide-2, sizeNote, false, scene.RoleMuted, p.label)
		b := d.textAt(x+labelWide, y+height, w-labelWide, sizeTable, p.bold, p.role, p.value)
		height += max(a+0.25, b) + 0.7
	}
	return height
}

func (d *document) pairsHeight(w, labelWide float64, ps []pair) (height float64) {
	for _, p := range ps {
		height += max(d.height(labelWide-2, sizeNote, false, p.label)+0.25, d.height(w-labelWide, sizeTable, p.bold, p.value)) + 0.7
	}
	return height
}

// pairs writes labels and values over the whole width, kept together.
func (d *document) pairs(labelWide float64, ps []pair) {
	d.need(d.pairsHeight(width, labelWide, ps))
	d.y += d.pairsAt(left, d.y, width, labelWide, ps)
}

// figureScales are the scales that a drawing is tried at, the largest first.
var figureScales = [...]float64{1, 2, 2.5, 5, 7.5, 10, 12.5, 15, 20, 25, 30, 40, 50}

// fit makes a drawing at the largest scale at which it is no larger than the
// room for it, or smaller than its scale where none is.
func fit(draw func(scale float64) *scene.Scene, wide, high float64) (s *scene.Scene, k float64, err error) {
	for _, scale := range figureScales {
		s = draw(scale)
		size, err := s.SheetSize()
		if err != nil {
			return nil, 0, err
		}
		if k = min(1, wide/size.W, high/size.H); k == 1 {
			break
		}
	}
	return s, k, nil
}

// figure places a drawing in the middle of a width, with a line under it that
// says what it is and at which scale.
func (d *document) figure(s *scene.Scene, k, wide float64, caption string) error {
	size, err := s.SheetSize()
	if err != nil {
		return err
	}
	h, err := s.Place(d.pdf, left+(wide-size.W*k)/2, d.y, size.W*k)
	if err != nil {
		return err
	}
	d.y += h + 0.6
	how := "not to scale"
	if k == 1 {
		how = fmt.Sprintf("scale 1:%g when printed in full size", s.Scale())
	}
	d.y += d.textAt(left, d.y, wide, sizeNote, false, scene.RoleMuted, caption+", "+how) + 1
	return nil
}

// drawingPage is a page on its side with one drawing, and a line to check the
// printer by.
func (d *document) drawingPage(caption string, draw func(scale float64) *scene.Scene) error {
	d.turned("L")
	wide := d.w - left - right
	s, k, err := fit(draw, wide, d.h-top-bottom-6)
	if err != nil {
		return err
	}
	if err := d.figure(s, k, wide, caption); err != nil {
		return err
	}
	const check = 50.0
	y, x := d.h-bottom-1.2, d.w-right-check
	d.line(x, y, x+check, y, scene.RoleInk, 0.25)
	for _, end := range []float64{x, x + check} {
		d.line(end, y-1, end, y+1, scene.RoleInk, 0.25)
	}
	text := "50 mm on paper, to check the printer"
	d.font(sizeNote, false)
	d.colour(scene.RoleMuted)
	d.plain(x-2-d.pdf.GetStringWidth(text), y+0.9, text)
	return nil
}

// printable makes a text fit for the typeface.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '✕':
			return '×'
		case r == '⌀':
			return 'Ø'
		case r == '\u2009' || r == '\u202f':
			return '\u00a0'
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r < 0x20 || 0x7f <= r && r < 0xa0 || r == '\ufffd':
			return -1
		case r > 0xffff:
			return '?'
		}
		return r
	}, strings.ReplaceAll(s, "N.m", "N·m"))
}

// wrap breaks text into lines that are no wider than w in the font that is set.
// A word that is wider by itself is broken.
func wrap(pdf *fpdf.Fpdf, s string, w float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' }) {
		next := word
		if line != "" {
			next = line + " " + word
		}
		if pdf.GetStringWidth(next) <= w {
			line = next
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for pdf.GetStringWidth(word) > w {
			r := []rune(word)
			n := len(r) - 1
			for n > 1 && pdf.GetStringWidth(string(r[:n])) > w {
				n--
			}
			if n < 1 {
				break
			}
			lines = append(lines, string(r[:n]))
			word = string(r[n:])
		}
		line = word
	}
	return append(lines, line)
}

// clip cuts a text that is wider than w in the font that is set.
func clip(pdf *fpdf.Fpdf, s string, w float64) string {
	if pdf.GetStringWidth(s) <= w {
		return s
	}
	r := []rune(s)
	for n := len(r) - 1; n > 0; n-- {
		if t := strings.TrimRight(string(r[:n]), " ") + "…"; pdf.GetStringWidth(t) <= w {
			return t
		}
	}
	return "…"
}
