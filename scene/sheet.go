package scene

import "math"

// A TitleBlock is the strip of cells at the foot of a sheet that says what the
// sheet is: which vehicles, which setting, which rulebook, of what day.
type TitleBlock []Cell

// A Cell is one labelled value.
type Cell struct {
	Label, Value string
	Weight       float64 // share of the width that is left over, up to 1000; 0 is 1
	Role         Role    // of the value; empty is ink
	Break        bool    // begins a new row, so that what belongs together stands together
}

// Sizes of the title block in paper millimetres.
const (
	cellPad    = 2.4
	cellHeight = 11.0
	labelDrop  = 3.9 // baseline of the label below the top of the cell
	valueDrop  = 8.6
	edge       = 0.25 // around the frame, so that its line is not cut
)

var (
	frameLayer = Layer{"frame", RoleInk, W35, Continuous, NoRole}
	cellLayer  = Layer{"cell", RoleInk, W25, Continuous, NoRole}
)

// A sheet is a scene laid out: everything to be drawn, and the rectangle on
// which it stands.
type sheet struct {
	scale  float64
	origin Pt      // model point of the lower left corner
	w, h   float64 // paper mm
	items  []item
}

// paper returns the place of a model point in paper millimetres from the lower
// left corner of the sheet.
func (sh sheet) paper(p Pt) Pt { return p.sub(sh.origin).mul(1 / sh.scale) }

// layout places the drawing, its frame and its title block on a sheet.
func (s *Scene) layout() (sheet, error) {
	if s.err != nil {
		return sheet{}, s.err
	}
	b := s.Bounds()
	if b.Empty() {
		b = Box{}
	}
	rim := 0.0
	if s.Frame || len(s.Block) > 0 {
		rim = edge
	}
	inner := math.Max(b.W()/s.scale+2*s.Pad, s.Width-2*rim)
	rows := s.Block.rows(inner)
	foot := float64(len(rows)) * cellHeight
	w, h := inner+2*rim, b.H()/s.scale+2*s.Pad+foot+2*rim
	sh := sheet{
		scale: s.scale, w: w, h: h,
		origin: Pt{(b.Min.X+b.Max.X)/2 - s.Mm(w/2), b.Min.Y - s.Mm(s.Pad+foot+rim)},
	}
	sh.items = append([]item(nil), s.items...)
	if rim == 0 {
		return sh, nil
	}

	// The furniture is drawn as everything else, in model co-ordinates.
	f := &Scene{scale: s.scale}
	at := func(x, y float64) Pt { return sh.origin.add(Pt{x, y}.mul(s.scale)) }
	f.Group(Tag{Class: "sheet"}, func() {
		for i, row := range rows {
			top := rim + foot - float64(i)*cellHeight
			f.Line(cellLayer, at(rim, top), at(w-rim, top))
			x := rim
			for k, c := range row {
				if k > 0 {
					f.Line(cellLayer, at(x, top-cellHeight), at(x, top))
				}
				room := c.width - 2*cellPad
				f.Text(Text{At: at(x+cellPad, top-labelDrop), S: shorten(c.Label, TextLabel, false, room), Height: TextLabel, Role: RoleMuted})
				f.Text(Text{At: at(x+cellPad, top-valueDrop), S: shorten(c.Value, TextFigure, false, room), Height: TextFigure, Role: c.Role})
				x += c.width
			}
		}
		f.Rect(frameLayer, at(rim, rim), at(w-rim, h-rim))
	})
	sh.items = append(sh.items, f.items...)
	return sh, f.err
}

type placed struct {
	Cell
	width float64
}

// rows breaks the cells into rows that are no wider than the sheet and gives
// what is left over to the cells by their weight.
func (b TitleBlock) rows(width float64) [][]placed {
	var rows [][]placed
	var row []placed
	used := 0.0
	end := func() {
		if len(row) == 0 {
			return
		}
		sum := 0.0
		for _, c := range row {
			sum += c.Weight
		}
		for i := range row {
			row[i].width += (width - used) * row[i].Weight / sum
		}
		rows = append(rows, row)
		row, used = nil, 0
	}
	for _, c := range b {
		c.Label, c.Value = grouping.Replace(clean(c.Label)), grouping.Replace(clean(c.Value))
		if !(0 < c.Weight && c.Weight <= 1000) {
			c.Weight = 1
		}
		need := math.Max(TextWidth(c.Label, TextLabel, false), TextWidth(c.Value, TextFigure, false)) + 2*cellPad + 0.1
		need = math.Min(need, width)
		if c.Break || used+need > width {
			end()
		}
		row = append(row, placed{c, need})
		used += need
	}
	end()
	return rows
}
