package scene

import (
	"fmt"
	"image/color"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// A Paper is a page size in millimetres, as it is turned.
type Paper struct{ W, H float64 }

// The usual papers. Source: ISO 216 and ANSI/ASME Y14.1 (letter), from memory.
var (
	A4Landscape     = Paper{297, 210}
	A4Portrait      = Paper{210, 297}
	A3Landscape     = Paper{420, 297}
	LetterLandscape = Paper{279.4, 215.9}
)

// A PDFOptions says how a drawing is written as PDF.
type PDFOptions struct {
	Date  time.Time // of the document; from the record that is printed, so that the same record gives the same bytes
	Paper Paper     // zero is a page as large as the sheet
	// Fit makes a sheet smaller that does not fit the paper. Without it such a
	// sheet is refused, because a drawing must keep the scale that it names.
	Fit bool
}

// TooLargeError says that a sheet at its scale does not fit the paper.
type TooLargeError struct {
	Sheet, Paper Paper
}

func (e *TooLargeError) Error() string {
	return fmt.Sprintf("the sheet measures %.0f × %.0f mm and does not fit the paper of %.0f × %.0f mm at its scale; take a larger paper, a smaller scale, or let it be fitted",
		e.Sheet.W, e.Sheet.H, e.Paper.W, e.Paper.H)
}

// PDF writes the drawing as one page, true to scale: a millimetre of the sheet
// is a millimetre of the page, unless Fit had to make it smaller. Text stays
// text, set in the embedded font, of which only the letters used are kept. The
// same scene and date give the same bytes.
func (s *Scene) PDF(w io.Writer, o PDFOptions) error {
	sh, err := s.layout()
	if err != nil {
		return err
	}
	k := 1.0
	if o.Paper == (Paper{}) {
		o.Paper = Paper{sh.w, sh.h}
	} else if sh.w > o.Paper.W || sh.h > o.Paper.H {
		if !o.Fit {
			return &TooLargeError{Paper{sh.w, sh.h}, o.Paper}
		}
		const margin = 5
		k = min((o.Paper.W-2*margin)/sh.w, (o.Paper.H-2*margin)/sh.h)
		if !(k > 0) {
			return &TooLargeError{Paper{sh.w, sh.h}, o.Paper}
		}
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: o.Paper.W, Ht: o.Paper.H}})
	if o.Date.IsZero() {
		o.Date = time.Unix(0, 0).UTC()
	}
	pdf.SetCreationDate(o.Date)
	pdf.SetModificationDate(o.Date)
	pdf.SetCatalogSort(true)
	pdf.SetTitle(clean(s.Title), true)
	pdf.SetSubject(clean(s.Desc), true)
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	sh.place(pdf, (o.Paper.W-k*sh.w)/2, (o.Paper.H-k*sh.h)/2, k)
	if err := pdf.Error(); err != nil {
		return fmt.Errorf("scene: writing PDF: %w", err)
	}
	return pdf.Output(w)
}

// PDFFont is the family under which AddFonts makes the typeface known.
const PDFFont = "SourceSans3"

// AddFonts makes the typeface known to a document, regular and bold.
func AddFonts(pdf *fpdf.Fpdf) {
	pdf.AddUTF8FontFromBytes(PDFFont, "", regular().ttf)
	pdf.AddUTF8FontFromBytes(PDFFont, "B", bold().ttf)
}

// SheetSize returns the size of the laid-out sheet in paper millimetres.
func (s *Scene) SheetSize() (Paper, error) {
	sh, err := s.layout()
	return Paper{sh.w, sh.h}, err
}

// Place draws the sheet into a document in millimetres, its upper left corner
// at (x, y), and returns the height that it takes. A width of 0 keeps the
// scale; another width fits the sheet to it. Font, colours, line width and dash
// pattern of the document are changed.
func (s *Scene) Place(pdf *fpdf.Fpdf, x, y, width float64) (height float64, err error) {
	sh, err := s.layout()
	if err != nil {
		return 0, err
	}
	k := 1.0
	if width > 0 {
		k = width / sh.w
	}
	sh.place(pdf, x, y, k)
	return sh.h * k, pdf.Error()
}

func (sh sheet) place(pdf *fpdf.Fpdf, x0, y0, k float64) {
	AddFonts(pdf)
	pdf.SetLineJoinStyle("round")
	pdf.SetLineCapStyle("butt")
	at := func(p Pt) fpdf.PointType {
		q := sh.paper(p)
		return fpdf.PointType{X: x0 + k*q.X, Y: y0 + k*(sh.h-q.Y)}
	}
	rgb := func(set func(r, g, b int), c color.RGBA) { set(int(c.R), int(c.G), int(c.B)) }
	for _, it := range sh.items {
		l := it.layer
		style := ""
		if l.Fill != NoRole {
			style = "F"
			rgb(pdf.SetFillColor, Print.Colour(l.Fill))
		}
		if l.Line != NoRole && it.kind != text {
			style += "D"
			rgb(pdf.SetDrawColor, Print.Colour(l.Line))
			pdf.SetLineWidth(k * float64(l.Width))
			dash := l.Dash.Pattern(l.Width)
			for i := range dash {
				dash[i] *= k
			}
			pdf.SetDashPattern(dash, 0)
		}
		switch it.kind {
		case path:
			pts := make([]fpdf.PointType, len(it.pts))
			for i, p := range it.pts {
				pts[i] = at(p)
			}
			if it.closed {
				pdf.Polygon(pts, style)
				break
			}
			pdf.MoveTo(pts[0].X, pts[0].Y)
			for _, p := range pts[1:] {
				pdf.LineTo(p.X, p.Y)
			}
			pdf.DrawPath("D")
		case circle:
			c, r := at(it.pts[0]), k*it.r/sh.scale
			pdf.Circle(c.X, c.Y, r, style)
		case arc:
			c, r := at(it.pts[0]), k*it.r/sh.scale
			pdf.Arc(c.X, c.Y, r, r, 0, it.from.Degrees(), it.to.Degrees(), "D")
		case text:
			t := it.text
			t.S = drawable(t.S)
			if t.Halo {
				rgb(pdf.SetFillColor, Print.Colour(RoleSheet))
				var box []fpdf.PointType
				for _, p := range sh.haloPath(t) {
					box = append(box, at(p))
				}
				pdf.Polygon(box, "F")
			}
			weight := ""
			if t.Bold {
				weight = "B"
			}
			pdf.SetFont(PDFFont, weight, 12)
			pdf.SetFontUnitSize(k * t.Height / capHeight)
			rgb(pdf.SetTextColor, Print.Colour(t.Role))
			along, across := t.baseline()
			p := at(t.At)
			pdf.TransformBegin()
			pdf.TransformRotate(t.Angle.Degrees(), p.X, p.Y)
			pdf.Text(p.X+k*along, p.Y-k*across, t.S)
			pdf.TransformEnd()
		}
	}
	pdf.SetDashPattern(nil, 0)
}
