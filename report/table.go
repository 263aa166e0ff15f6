package report

import (
	"math"

	"underpin/scene"
)

// A column of a table.
type column struct {
	head  string
	wide  float64 // mm; the column with 0 takes what is left
	right bool    // figures stand to the right
}

// A cell of a table.
type cell struct {
	text string
	note string // below it, smaller
	bold bool
	role scene.Role
	mark scene.Role // the shape of a state in place of text
	bar  *bar
	box  bool // an empty box to tick
}

// A row of a table. One that only has a head goes over the whole width and stays
// with the row after it.
type row struct {
	cells []cell
	head  string
	mark  scene.Role // before a head
	note  string     // below the cells, over all columns but a narrow first one
}

const (
	cellPadX = 1.2
	cellPadY = 0.65
)

// table writes rows under heads. Rows are not broken, heads are repeated on each
// page.
func (d *document) table(cols []column, rows []row) {
	cols = d.widths(cols)
	heights := make([]float64, len(rows))
	for i := range rows {
		heights[i] = d.rowHeight(cols, &rows[i])
	}
	head := d.headHeight(cols)
	if len(rows) > 0 {
		first := heights[0]
		if rows[0].head != "" && len(rows) > 1 {
			first += heights[1]
		}
		d.need(head + first)
	}
	d.heads(cols, head)
	for i := range rows {
		h := heights[i]
		together := h
		if rows[i].head != "" && i+1 < len(rows) {
			together += heights[i+1]
		}
		if d.need(together) {
			d.heads(cols, head)
		}
		d.row(cols, &rows[i], h)
		d.y += h
	}
	d.y += 1.5
}

func (d *document) widths(cols []column) []column {
	out := append([]column(nil), cols...)
	free, open := width, 0
	for _, c := range out {
		free -= c.wide
		if c.wide == 0 {
			open++
		}
	}
	for i := range out {
		if out[i].wide == 0 {
			out[i].wide = free / float64(open)
		}
	}
	return out
}

func (d *document) headHeight(cols []column) float64 {
	h := 0.0
	for _, c := range cols {
		h = math.Max(h, d.height(c.wide-2*cellPadX, sizeNote, false, c.head))
	}
	return h + 1.6
}

func (d *document) heads(cols []column, h float64) {
	x := left
	for _, c := range cols {
		w := c.wide - 2*cellPadX
		d.font(sizeNote, false)
		lines := wrap(d.pdf, printable(c.head), w)
		d.colour(scene.RoleMuted)
		lh := lineHeight(sizeNote)
		for i, line := range lines { // on the line below
			at := x + cellPadX
			if c.right {
				at = x + c.wide - cellPadX - d.pdf.GetStringWidth(line)
			}
			d.plain(at, d.y+h-1.3-lh*(float64(len(lines)-1-i)+0.24), line)
		}
		x += c.wide
	}
	d.y += h
	d.rule(d.y, scene.RoleInk, 0.25)
}

func (d *document) rowHeight(cols []column, r *row) float64 {
	if r.head != "" {
		return d.height(width-8, sizeTable, true, r.head) + 2*cellPadY + 1.2
	}
	h := lineHeight(sizeTable)
	for i := range r.cells {
		c := &r.cells[i]
		w := cols[i].wide - 2*cellPadX
		ch := 0.0
		if c.text != "" {
			ch = d.height(w, sizeTable, c.bold, c.text)
		}
		if c.note != "" {
			ch += d.height(w, sizeNote, false, c.note)
		}
		h = math.Max(h, ch)
	}
	if r.note != "" {
		h += d.height(width-noteIndent(cols)-2*cellPadX, sizeNote, false, r.note)
	}
	return h + 2*cellPadY
}

func (d *document) row(cols []column, r *row, h float64) {
	if r.head != "" {
		x := left + cellPadX
		if r.mark != scene.NoRole {
			d.mark(r.mark, x+1, d.y+h-cellPadY-1.6, 2)
			x += 4
		}
		d.textAt(x, d.y+cellPadY+1.2, width-8, sizeTable, true, scene.RoleInk, r.head)
		d.rule(d.y+h, scene.RoleThin, 0.18)
		return
	}
	x := left
	for i := range r.cells {
		c, col := &r.cells[i], &cols[i]
		w := col.wide - 2*cellPadX
		role := c.role
		if role == scene.NoRole {
			role = scene.RoleInk
		}
		y := d.y + cellPadY
		switch {
		case c.mark != scene.NoRole:
			d.mark(c.mark, x+col.wide/2, y+lineHeight(sizeTable)/2, 2.1)
		case c.bar != nil:
			d.bar(c.bar, x+cellPadX, y+lineHeight(sizeTable)/2-1, w)
		case c.box:
			rgb(d.pdf.SetDrawColor, scene.Print.Colour(scene.RoleInk))
			d.pdf.SetLineWidth(0.25)
			d.pdf.Rect(x+cellPadX, y+0.1, 3, 3, "D")
		case col.right:
			d.font(sizeTable, c.bold)
			d.colour(role)
			for k, line := range wrap(d.pdf, printable(c.text), w) {
				d.plain(x+col.wide-cellPadX-d.pdf.GetStringWidth(line), y+lineHeight(sizeTable)*(float64(k)+0.76), line)
			}
		default:
			n := 0.0
			if c.text != "" {
				n = d.textAt(x+cellPadX, y, w, sizeTable, c.bold, role, c.text)
			}
			if c.note != "" {
				d.textAt(x+cellPadX, y+n, w, sizeNote, false, scene.RoleMuted, c.note)
			}
		}
		x += col.wide
	}
	if r.note != "" {
		w := width - noteIndent(cols) - 2*cellPadX
		n := d.height(w, sizeNote, false, r.note)
		d.textAt(left+noteIndent(cols)+cellPadX, d.y+h-cellPadY-n, w, sizeNote, false, scene.RoleMuted, r.note)
	}
	d.rule(d.y+h, scene.RoleRule, 0.18)
}

// noteIndent is where the note of a row begins: after a column of marks or
// numbers, else at the left.
func noteIndent(cols []column) float64 {
	if cols[0].wide < 12 {
		return cols[0].wide
	}
	return 0
}

// A bar shows how much of a limit is used: it ends at the tick, what goes over
// is drawn beyond. NaN is an empty dashed bar.
type bar struct {
	use  float64
	role scene.Role
}

func (d *document) bar(b *bar, x, y, w float64) {
	const high = 1.7
	full := w * 0.8 // the tick
	tick := func() { d.line(x+full, y-0.5, x+full, y+high+0.5, scene.RoleInk, 0.3) }
	if math.IsNaN(b.use) {
		rgb(d.pdf.SetDrawColor, scene.Print.Colour(scene.RoleUnknown))
		d.pdf.SetLineWidth(0.18)
		d.pdf.SetDashPattern([]float64{0.9, 0.6}, 0)
		d.pdf.Rect(x, y, full, high, "D")
		d.pdf.SetDashPattern(nil, 0)
		tick()
		return
	}
	rgb(d.pdf.SetFillColor, scene.Print.Colour(scene.RoleRule))
	d.pdf.Rect(x, y, full, high, "F")
	rgb(d.pdf.SetFillColor, scene.Print.Colour(b.role))
	d.pdf.Rect(x, y, full*math.Max(0, math.Min(1, b.use)), high, "F")
	if b.use > 1 {
		over := math.Min(0.2*w, math.Max(0.6, (b.use-1)*full))
		d.pdf.Rect(x+full, y-0.3, over, high+0.6, "F")
	}
	tick()
}
