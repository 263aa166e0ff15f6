package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"
)

// MaxSheet is the largest workbook, CSV file or JSON file that is read as a
// fleet.
const MaxSheet = 32 << 20

// ParseCSV reads the tables of a file's type from CSV files, by their names:
// tractor.csv, tractor.axle.csv. The result holds what has no problem.
func ParseCSV[T any](folder string, files map[string][]byte) (*T, Problems) {
	v, problems, _ := parseCSV[T](folder, files)
	return v, problems
}

func parseCSV[T any](folder string, files map[string][]byte) (*T, Problems, Places) {
	var v T
	f := newFiller(reflect.ValueOf(&v).Elem())
	f.file = folder
	var grids []*grid
	ours := 0
	for _, name := range slices.Sorted(maps.Keys(files)) {
		base := filepath.Base(name)
		short, isCSV := strings.CutSuffix(strings.ToLower(base), ".csv")
		if !isCSV || strings.HasPrefix(base, ownSheet) || strings.HasPrefix(base, ".") {
			continue
		}
		ours++
		t := f.table(short)
		if t == nil {
			f.tellWhole(&Problem{File: name, Found: "a file named " + quoted(base), Expected: "TABLE.csv, TABLE being " + perhaps(short, f.tableNames()) + "; a file of your own begins with " + ownSheet})
			continue
		}
		if g := readGrid(&f.checker, name, files[name], t); g != nil {
			grids = append(grids, g)
		} else {
			f.unread[t] = true
		}
	}
	if ours == 0 {
		f.tellWhole(&Problem{File: folder, Found: "no CSV file", Expected: "files such as tractor.csv and semi-trailer.csv"})
	}
	f.fill(grids)
	f.check()
	return &v, f.problems(), f.places()
}

// WriteCSV writes a file as CSV, one text for each table, by the names of the
// files. ParseCSV reads them back unchanged.
func WriteCSV(file any) (map[string][]byte, error) {
	sheets, err := sheetsOf(reflect.Indirect(reflect.ValueOf(file)))
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	for _, s := range sheets {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		row := make([]string, len(s.heads))
		for i, h := range s.heads {
			row[i] = h.text
		}
		w.Write(row) // to memory
		for _, values := range s.rows {
			for i, v := range values {
				row[i] = v.String()
			}
			w.Write(row)
		}
		w.Flush()
		if err := w.Error(); err != nil {
			return nil, err
		}
		files[s.table.name+".csv"] = b.Bytes()
	}
	return files, nil
}

// readGrid reads one CSV file; nil when it cannot be read at all.
func readGrid(c *checker, name string, data []byte, t *table) *grid {
	text, problem := newCSV(name, data, MaxSheet, func(head string) bool {
		head, _ = splitHead(head)
		return slices.Contains(t.names(), head)
	})
	if problem != nil {
		c.tellWhole(problem)
		return nil
	}
	g := &grid{file: name, table: t, thousand: text.comma == ';'}
	first := true
	text.each(func(fields []string, at func(int) (int, int)) bool {
		l := line{cells: make([]cell, len(fields)), at: make([]spot, len(fields))}
		wide := 0 // bytes on this line that are no character of their own
		for i, s := range fields {
			l.cells[i].text = s
			row, col := at(i)
			if i > 0 && row != l.at[i-1].row {
				wide = wideIn(fields[i-1])
			}
			l.at[i] = spot{row, col - wide}
			wide += wideIn(s)
		}
		l.row = l.at[0].row
		if first {
			g.head, first = l, false
		} else {
			g.rows = append(g.rows, l)
		}
		return true
	}, func(p *Problem, fields []string) {
		if c.add(p); first || fields == nil {
			c.whole = true
			return
		}
		l := line{row: p.Row, cells: make([]cell, len(fields))}
		for i, s := range fields {
			l.cells[i].text = s
		}
		g.broken = append(g.broken, l)
	})
	if first {
		c.tellWhole(&Problem{File: name, Found: "nothing", Expected: "a head with the columns " + strings.Join(t.names(), ", ")})
		return nil
	}
	return g
}

// wideIn counts the bytes on the last line of a text that are no character of
// their own.
func wideIn(s string) int {
	s = s[strings.LastIndexByte(s, '\n')+1:]
	return len(s) - utf8.RuneCountInString(s)
}

// A csvText is a CSV file whose form is known.
type csvText struct {
	name  string
	data  []byte
	comma rune
	skip  int // lines before data begins
}

// newCSV finds out how a CSV file is written: it takes off the mark of the byte
// order, tells other encodings than UTF-8, and picks the separator under which
// most heads are known.
func newCSV(name string, data []byte, limit int, known func(head string) bool) (*csvText, *Problem) {
	fail := func(found, expected string) (*csvText, *Problem) {
		return nil, &Problem{File: name, Found: found, Expected: expected}
	}
	utf16 := bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff})
	switch {
	case len(data) > limit:
		return fail(fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), fmt.Sprintf("at most %d MB", limit>>20))
	case utf16 || bytes.IndexByte(data[:min(len(data), 4096)], 0) >= 0:
		return fail("text in UTF-16 or no text at all", "CSV in UTF-8 (in a spreadsheet program: save as CSV UTF-8)")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := firstBad(data); at >= 0 {
		row, col := lineColumn(data, at)
		return nil, &Problem{File: name, Row: row, Col: col, Found: fmt.Sprintf("the byte 0x%02X", data[at]), Expected: "CSV in UTF-8 (in a spreadsheet program: save as CSV UTF-8)"}
	}
	if bytes.IndexByte(data, '\n') < 0 { // lines as they were ended long ago
		data = bytes.ReplaceAll(data, []byte{'\r'}, []byte{'\n'})
	}
	t := &csvText{name: name, data: data}
	if first, rest, ok := bytes.Cut(data, []byte{'\n'}); ok { // a hint that spreadsheets write and read
		if sep, is := strings.CutPrefix(strings.TrimSpace(string(first)), "sep="); is && len(sep) == 1 && strings.Contains(",;\t|", sep) {
			t.comma, t.data, t.skip = rune(sep[0]), rest, 1
			return t, nil
		}
	}
	most, wide := -1, -1
	for _, comma := range ",;\t|" {
		r := csv.NewReader(bytes.NewReader(t.data))
		r.Comma, r.LazyQuotes = comma, true
		heads, err := r.Read()
		if err != nil {
			continue
		}
		n := 0
		for _, h := range heads {
			if known(h) {
				n++
			}
		}
		if n > most || n == most && len(heads) > wide {
			t.comma, most, wide = comma, n, len(heads)
		}
	}
	if t.comma == 0 {
		t.comma = ','
	}
	return t, nil
}

// mostRestarts is how often a quote that is not closed is got over. No line is
// read more than three times for it: one with an odd number of quotes opens a
// field, and the next such line ends it or is an error.
const mostRestarts = 1000

// each yields the records, the first of them the head, with the place of each
// field, until row returns false. A record that is not CSV is a problem of its
// own, with its fields as well as they can be told: when a quote is not closed,
// reading goes on with the next line.
func (t *csvText) each(row func(fields []string, at func(int) (row, col int)) bool, bad func(p *Problem, fields []string)) {
	rest, before := t.data, t.skip
	for range mostRestarts {
		r := csv.NewReader(bytes.NewReader(rest))
		r.Comma, r.FieldsPerRecord, r.ReuseRecord = t.comma, -1, true
		at := func(i int) (int, int) {
			row, col := r.FieldPos(i)
			return row + before, col
		}
		again := false
		for from := int64(0); !again; from = r.InputOffset() {
			fields, err := r.Read()
			if err == io.EOF {
				return
			}
			pe, is := errors.AsType[*csv.ParseError](err)
			if !is {
				if !row(fields, at) {
					return
				}
				continue
			}
			record := bytes.TrimLeft(rest[from:], "\r\n")
			first, after, _ := bytes.Cut(record, []byte{'\n'})
			bad(&Problem{File: t.name, Row: pe.StartLine + before, Col: 1, Found: "a row that is not CSV: " + quoteTrouble(pe.Err), Expected: `a quote within a field doubled, and the field in quotes ("12' 2""")`},
				strings.Split(strings.ReplaceAll(string(first[:min(len(first), 10_000)]), `"`, ""), string(t.comma)))
			if again = pe.Line > pe.StartLine; again {
				rest, before = after, before+pe.StartLine
			}
		}
	}
	bad(&Problem{File: t.name, Row: before + 1, Col: 1, Found: "too many quotes that are not closed; what follows was not read", Expected: "CSV"}, nil)
}

func quoteTrouble(err error) string {
	if errors.Is(err, csv.ErrBareQuote) {
		return "a quote within a field that is not in quotes"
	}
	return "a quote that is not closed, or text behind one that is"
}

// firstBad is where text stops being UTF-8, or -1.
func firstBad(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	at := 0
	for {
		r, n := utf8.DecodeRune(data[at:])
		if r == utf8.RuneError && n <= 1 {
			return at
		}
		at += n
	}
}

// lineColumn turns an offset into a line and a column of characters, from 1.
func lineColumn(data []byte, at int) (row, col int) {
	before := data[:min(at, len(data))]
	start := bytes.LastIndexByte(before, '\n') + 1
	return bytes.Count(before, []byte{'\n'}) + 1, utf8.RuneCount(before[start:]) + 1
}
