package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// How much a workbook may hold: unpacked, of which so much is kept in memory;
// columns of a sheet.
const (
	maxUnpacked = 128 << 20
	maxInMemory = 32 << 20
	maxColumns  = 500
)

// ParseWorkbook reads the tables of a file's type from the sheets of a workbook.
// The result holds what has no problem.
func ParseWorkbook[T any](name string, data []byte) (*T, Problems) {
	v, problems, _ := parseWorkbook[T](name, data)
	return v, problems
}

func parseWorkbook[T any](name string, data []byte) (*T, Problems, Places) {
	var v T
	f := newFiller(reflect.ValueOf(&v).Elem())
	f.file = name
	book, problem := openBook(name, data, MaxSheet, maxUnpacked)
	if problem != nil {
		f.tellWhole(problem)
		return &v, f.problems(), f.places()
	}
	defer book.Close()
	var grids []*grid
	ours := 0
	for _, sheet := range book.GetSheetList() {
		if strings.HasPrefix(sheet, ownSheet) {
			continue
		}
		ours++
		t := f.table(strings.ToLower(strings.TrimSpace(sheet)))
		if t == nil {
			f.tellWhole(&Problem{File: name, Sheet: sheet, Found: "a sheet of this name", Expected: perhaps(sheet, f.tableNames()) + "; a sheet of your own begins with " + ownSheet})
			continue
		}
		g := &grid{file: name, sheet: sheet, table: t}
		if p := book.read(g); p != nil {
			f.tellWhole(p)
			f.unread[t] = true
			continue
		}
		grids = append(grids, g)
	}
	if ours == 0 {
		f.tellWhole(&Problem{File: name, Found: "no sheet of vehicles", Expected: "sheets named " + strings.Join(f.tableNames(), ", ")})
	}
	f.fill(grids)
	f.check()
	return &v, f.problems(), f.places()
}

// A book is an open workbook.
type book struct {
	*excelize.File
	name     string
	formulas bool // some sheet has formulas
	from1904 bool // days are counted from 1904
}

// openBook opens a workbook of at most so many bytes, packed and unpacked.
func openBook(name string, data []byte, most, unpacked int64) (b *book, problem *Problem) {
	const expected = "a workbook in the form .xlsx"
	fail := func(found, expected string) (*book, *Problem) {
		return nil, &Problem{File: name, Found: found, Expected: expected}
	}
	switch {
	case int64(len(data)) > most:
		return fail(fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), fmt.Sprintf("at most %d MB", most>>20))
	case bytes.HasPrefix(data, []byte{0xd0, 0xcf, 0x11, 0xe0}):
		return fail("a workbook in the old form .xls, or one with a password", expected+" without a password")
	case !bytes.HasPrefix(data, []byte("PK")):
		return fail("a file that is no workbook", expected)
	}
	defer recovered(func(why any) { b, problem = fail(fmt.Sprintf("a broken workbook (%v)", why), expected) })
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		UnzipSizeLimit: unpacked, UnzipXMLSizeLimit: min(maxInMemory, unpacked), RawCellValue: true,
	})
	switch {
	case err != nil && strings.Contains(err.Error(), "unzip size exceeds"):
		return fail("a workbook of more than "+strconv.FormatInt(unpacked>>20, 10)+" MB when unpacked", "less")
	case err != nil:
		return fail("a broken workbook ("+err.Error()+")", expected)
	case len(f.GetSheetList()) == 0:
		f.Close()
		return fail("a workbook without sheets", expected)
	}
	b = &book{File: f, name: name}
	f.Pkg.Range(func(path, part any) bool {
		xml, _ := part.([]byte)
		if strings.HasPrefix(strings.ToLower(path.(string)), "xl/worksheets/") && (bytes.Contains(xml, []byte("<f>")) || bytes.Contains(xml, []byte("<f "))) {
			b.formulas = true
		}
		return !b.formulas
	})
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		b.from1904 = *props.Date1904
	}
	return b, nil
}

// recovered turns a panic into a call. A workbook comes from anywhere, and the
// library that reads it has not been written for every broken one.
func recovered(call func(why any)) {
	if why := recover(); why != nil {
		call(why)
	}
}

// read reads a sheet into a grid.
func (b *book) read(g *grid) (problem *Problem) {
	problem = b.rows(g.sheet, true, func(l line) bool {
		if g.head.row == 0 {
			g.head = l
		} else {
			g.rows = append(g.rows, l)
		}
		return true
	})
	if problem == nil && g.head.row == 0 {
		return &Problem{File: b.name, Sheet: g.sheet, Found: "nothing", Expected: "a head with the columns " + strings.Join(g.table.names(), ", ")}
	}
	return problem
}

// rows yields the rows of a sheet that are not blank, the head first, until row
// returns false. Careful reading also holds what each cell shows against what is
// in it, and asks for formulas that were never reckoned out.
func (b *book) rows(sheet string, careful bool, row func(line) bool) (problem *Problem) {
	broken := func(why any) *Problem {
		return &Problem{File: b.name, Sheet: sheet, Found: fmt.Sprintf("a broken sheet (%v)", why), Expected: "a sheet that can be read"}
	}
	defer recovered(func(why any) { problem = broken(why) })
	raw, err := b.Rows(sheet)
	if err != nil {
		return broken(err)
	}
	defer raw.Close()
	var shown *excelize.Rows
	if careful {
		if shown, err = b.Rows(sheet); err != nil {
			return broken(err)
		}
		defer shown.Close()
	}
	for n := 1; raw.Next(); n++ {
		texts, err := raw.Columns()
		if err != nil {
			return broken(err)
		}
		var shows []string
		if careful {
			shown.Next()
			if shows, err = shown.Columns(excelize.Options{RawCellValue: false}); err != nil {
				return broken(err)
			}
		}
		if len(texts) > maxColumns {
			return &Problem{File: b.name, Sheet: sheet, Row: n, Found: fmt.Sprintf("%d columns", len(texts)), Expected: fmt.Sprintf("at most %d", maxColumns)}
		}
		l := line{row: n, cells: make([]cell, len(texts))}
		blank := true
		for i, text := range texts {
			l.cells[i] = cell{text: text}
			if i < len(shows) && shows[i] != text {
				l.cells[i] = b.seen(text, shows[i])
			}
			if careful && b.formulas && text == "" {
				l.cells[i].formula = b.unreckoned(sheet, n, i+1)
			}
			blank = blank && l.cells[i].blank()
		}
		if !blank && !row(l) {
			return nil
		}
	}
	if err := raw.Error(); err != nil {
		return broken(err)
	}
	return nil
}

// unreckoned returns the formula of a cell that holds nothing.
func (b *book) unreckoned(sheet string, row, col int) string {
	name, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		return ""
	}
	formula, err := b.GetCellFormula(sheet, name)
	if err != nil {
		return ""
	}
	return formula
}

// seen is a cell that shows something else than it holds. A number that shows
// fewer of its own digits is itself; true and false show as words.
func (b *book) seen(holds, shows string) cell {
	if shows == "TRUE" || shows == "FALSE" {
		return cell{text: shows}
	}
	x, err := strconv.ParseFloat(holds, 64)
	if err != nil || sameNumber(x, shows) {
		return cell{text: holds}
	}
	c := cell{text: holds, shown: shows}
	if t, err := b.instant(x); err == nil {
		c.day = t.Format(time.DateOnly)
	}
	return c
}

var shownNumber = regexp.MustCompile(`^[^0-9.+-]*([-+]?[0-9][0-9, \x{a0}]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?([^0-9]*)$`)

// sameNumber tells whether a number shows as itself, rounded or grouped or as per
// cent: not as a date, nor in thousands.
func sameNumber(x float64, shows string) bool {
	m := shownNumber.FindStringSubmatch(shows)
	if m == nil {
		return false
	}
	digits := strings.NewReplacer(",", "", " ", "", "\u00a0", "").Replace(m[1])
	y, err := strconv.ParseFloat(digits+m[2]+m[3], 64)
	if err != nil {
		return false
	}
	scale := math.Pow(10, -float64(max(len(m[2])-1, 0))) / 2
	if e, err := strconv.Atoi(strings.TrimLeft(m[3], "eE+")); err == nil {
		scale *= math.Pow(10, float64(e))
	}
	if strings.HasPrefix(strings.TrimSpace(m[4]), "%") {
		y, scale = y/100, scale/100
	}
	return math.Abs(math.Abs(x)-math.Abs(y)) <= scale*(1+1e-9)
}

// instant is the time that a number of days stands for.
func (b *book) instant(days float64) (time.Time, error) {
	if !(0 < days && days < 2_958_466) { // the year 10000
		return time.Time{}, errors.New("no date")
	}
	return excelize.ExcelDateToTime(days, b.from1904)
}

// WriteWorkbook writes a file as a workbook: a sheet for each table, with a note
// on each head. ParseWorkbook reads it back unchanged.
func WriteWorkbook(file any) ([]byte, error) {
	sheets, err := sheetsOf(reflect.Indirect(reflect.ValueOf(file)))
	if err != nil {
		return nil, err
	}
	w, err := newBookWriter()
	if err != nil {
		return nil, err
	}
	defer w.Close()
	for _, s := range sheets {
		if err := w.add(s); err != nil {
			return nil, fmt.Errorf("sheet %s: %w", s.table.name, err)
		}
	}
	var b bytes.Buffer
	if err := w.Write(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
