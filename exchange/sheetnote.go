package exchange

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"underpin/tomlfile"
	"underpin/unit"
)

// readMe is the first sheet of a workbook.
const readMe = ownSheet + "read-me"

var readMeText = []string{
	"One sheet for each kind of row. The head of a column has a note that says what is meant and how to take it with a tape.",
	"Quantities: a plain number in the unit that the head names (gross-plate, kg). Change the unit in the head, and all numbers below are in the new one.",
	"A cell may also hold a number with a unit of its own (12ft 2in, 18 t); then the head's unit does not count.",
	"Leave empty what is not known. It stays unknown, and answers say that they lack it; nothing is assumed.",
	"Rows of axles, levels and the like name the vehicle that they belong to in their first column, and stand front to rear.",
	"Text that begins with = + - or @ stands in straight quotes, so that no program reckons it out.",
	"Sheets and columns whose name begins with # are yours; they are not read.",
}

// A bookWriter makes a workbook.
type bookWriter struct {
	*excelize.File
	bold, text int // styles
}

func newBookWriter() (*bookWriter, error) {
	f := excelize.NewFile()
	w := &bookWriter{File: f}
	if err := f.SetSheetName("Sheet1", readMe); err != nil {
		return nil, err
	}
	if err := f.SetColWidth(readMe, "A", "A", 120); err != nil {
		return nil, err
	}
	for i, s := range readMeText {
		if err := f.SetCellStr(readMe, "A"+strconv.Itoa(i+1), s); err != nil {
			return nil, err
		}
	}
	var err error
	if w.bold, err = f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, NumFmt: textFormat}); err != nil {
		return nil, err
	}
	w.text, err = f.NewStyle(&excelize.Style{NumFmt: textFormat})
	return w, err
}

// textFormat is the number format under which what is typed stays as it was typed.
const textFormat = 49

// add adds a sheet.
func (w *bookWriter) add(s *sheet) error {
	name := s.table.name
	if _, err := w.NewSheet(name); err != nil {
		return err
	}
	for i, h := range s.heads {
		if err := w.column(name, i+1, s.table, h); err != nil {
			return err
		}
	}
	for k, row := range s.rows {
		for i, v := range row {
			cell, err := excelize.CoordinatesToCellName(i+1, k+2)
			if err != nil {
				return err
			}
			if err := w.set(name, cell, v); err != nil {
				return fmt.Errorf("%s: %w", cell, err)
			}
		}
	}
	return w.SetPanes(name, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"})
}

func (w *bookWriter) set(sheet, cell string, v value) error {
	switch {
	case v.number != "":
		x, err := strconv.ParseFloat(v.number, 64)
		if err != nil {
			return err
		}
		return w.SetCellFloat(sheet, cell, x, -1, 64)
	case tooLong(v.text):
		return fmt.Errorf("the text %s is longer than the %d characters that a cell holds", quoted(v.text), cellLimit)
	case v.text != "":
		return w.SetCellStr(sheet, cell, v.text)
	}
	return nil
}

// column writes a head with its note, and what may be picked below it.
func (w *bookWriter) column(sheet string, n int, t *table, h head) error {
	letter, err := excelize.ColumnNumberToName(n)
	if err != nil {
		return err
	}
	if h.col == nil || h.col.dim == unit.Number && h.col.kind() == reflect.String {
		if err := w.SetColStyle(sheet, letter, w.text); err != nil {
			return err
		}
	}
	if err := w.SetCellStr(sheet, letter+"1", h.text); err != nil {
		return err
	}
	if err := w.SetCellStyle(sheet, letter+"1", letter+"1", w.bold); err != nil {
		return err
	}
	if err := w.SetColWidth(sheet, letter, letter, float64(min(max(len(h.text)+3, 10), 40))); err != nil {
		return err
	}
	note := noteOf(t, h)
	if err := w.AddComment(sheet, excelize.Comment{Cell: letter + "1", Author: "Underpin", Text: note, Width: 320, Height: uint(40 + 20*(len(note)/45))}); err != nil {
		return err
	}
	words := h.words()
	if len(words) == 0 {
		return nil
	}
	pick := excelize.NewDataValidation(true)
	pick.Sqref = letter + "2:" + letter + "5000"
	if err := pick.SetDropList(words); err != nil {
		return err
	}
	return w.AddDataValidation(sheet, pick)
}

func (c *column) kind() reflect.Kind { return fieldType(c.field).Kind() }

// words are what may stand in the column, where that can be listed.
func (h head) words() []string {
	switch {
	case h.col == nil || h.col.present:
		return nil
	case h.col.kind() == reflect.Bool:
		return []string{"true", "false"}
	}
	return strings.Fields(h.col.field.Tag.Get("oneof"))
}

// noteOf is what a head's note says.
func noteOf(t *table, h head) string {
	c := h.col
	switch {
	case c == nil && t.above != nil && h.text == t.owner:
		return "Which row of the sheet " + t.above.name + " this belongs to: what stands there in the column " + t.above.cols[0].name + "."
	case c == nil && h.text == factName:
		return "Name of the fact. " + t.doc
	case c == nil:
		return "true, false, a number or a word."
	case c.present:
		return "yes: there is one, and nothing more is known of it. " + c.field.Tag.Get("doc")
	}
	note := c.field.Tag.Get("doc")
	if tape := c.field.Tag.Get("tape"); tape != "" {
		note += "\nHow to take it: " + tape
	}
	lo, hi := c.field.Tag.Get("min"), c.field.Tag.Get("max")
	switch {
	case lo != "":
		note += "\nAccepted: " + lo + " to " + hi + "."
	case len(h.words()) > 0:
		note += "\nOne of: " + strings.Join(h.words(), ", ") + "."
	case fieldType(c.field) == reflect.TypeFor[tomlfile.Date]():
		note += "\nA date, as 2026-05-31."
	case c.kind() == reflect.Slice:
		note += "\nSeveral with commas between them."
	}
	if c.dim != unit.Number {
		note += "\nUnits: " + strings.Join(unit.Symbols(c.dim), ", ") + "."
	}
	return note
}
