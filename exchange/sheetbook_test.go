package exchange_test

import (
	"archive/zip"
	"bytes"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"underpin/exchange"
	"underpin/vehicle"
)

// book makes a workbook of a fleet and changes it.
func book(t testing.TB, change func(f *excelize.File)) []byte {
	t.Helper()
	yard, problems := parseYard(yard())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	data, err := exchange.WriteWorkbook(yard)
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	change(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// cellOf finds the cell of a column in a row of a sheet.
func cellOf(t testing.TB, f *excelize.File, sheet, column string, row int) string {
	t.Helper()
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for i, head := range rows[0] {
		if name, _, _ := strings.Cut(head, ","); name == column {
			cell, err := excelize.CoordinatesToCellName(i+1, row)
			if err != nil {
				t.Fatal(err)
			}
			return cell
		}
	}
	t.Fatalf("no column %s in %v", column, rows[0])
	return ""
}

// Each change is something that spreadsheet programs do to what people type.
func TestWorkbookCells(t *testing.T) {
	must := func(err error) {
		if err != nil {
			t.Helper()
			t.Fatal(err)
		}
	}
	format := func(f *excelize.File, cell string, style *excelize.Style) {
		id, err := f.NewStyle(style)
		must(err)
		must(f.SetCellStyle("tractor", cell, cell, id))
	}
	grouped := "#,##0.0"
	for _, tt := range []struct {
		name   string
		change func(f *excelize.File, cell string) // of the gross mass of the first tractor
		found  string                              // empty: nothing is wrong
	}{
		{"a number", func(f *excelize.File, cell string) { must(f.SetCellValue("tractor", cell, 19000)) }, ""},
		{"digits as text", func(f *excelize.File, cell string) { must(f.SetCellStr("tractor", cell, "19 000")) }, ""},
		{"a unit of its own", func(f *excelize.File, cell string) { must(f.SetCellStr("tractor", cell, "40000 lb")) }, ""},
		{"a number that shows rounded and grouped", func(f *excelize.File, cell string) {
			must(f.SetCellValue("tractor", cell, 18000.04))
			format(f, cell, &excelize.Style{CustomNumFmt: &grouped})
		}, ""},
		{"a number taken for a date", func(f *excelize.File, cell string) { format(f, cell, &excelize.Style{NumFmt: 14}) }, "18000, which the workbook shows as"},
		{"a formula that was reckoned out", func(f *excelize.File, cell string) {
			must(f.SetCellFormula("tractor", cell, "9000*2"))
			must(f.UpdateLinkedValue())
			must(f.SetCellValue("tractor", cell, 18000))
		}, ""},
		{"a formula without its result", func(f *excelize.File, cell string) {
			must(f.SetCellValue("tractor", cell, nil))
			must(f.SetCellFormula("tractor", cell, "9000*2"))
		}, "9000*2"},
		{"an error", func(f *excelize.File, cell string) { must(f.SetCellStr("tractor", cell, "#DIV/0!")) }, "#DIV/0!"},
		{"true", func(f *excelize.File, cell string) { must(f.SetCellBool("tractor", cell, true)) }, "TRUE"},
		{"too heavy", func(f *excelize.File, cell string) { must(f.SetCellValue("tractor", cell, 180000)) }, "gross-plate = 180000 kg"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			place := ""
			data := book(t, func(f *excelize.File) {
				place = cellOf(t, f, "tractor", "gross-plate", 2)
				tt.change(f, place)
			})
			_, problems := exchange.ParseWorkbook[vehicle.Fleet]("f.xlsx", data)
			if tt.found == "" {
				if len(problems) > 0 {
					t.Error(problems)
				}
				return
			}
			letter := strings.TrimRight(place, "0123456789")
			want := "f.xlsx: sheet tractor, row 2, column " + letter
			if len(problems) == 0 || !strings.Contains(problems[0].Found, tt.found) || !strings.HasPrefix(problems[0].Where(), want) {
				t.Errorf("%v\nwant found … %s … at %s", problems, tt.found, want)
			}
		})
	}
}

func TestBooleansOfAWorkbook(t *testing.T) {
	for _, v := range []any{true, "TRUE", "true", "yes", "WAHR", 1} {
		data := book(t, func(f *excelize.File) {
			cell := cellOf(t, f, "semi-trailer", "torsionally-stiff", 2)
			if err := f.SetCellValue("semi-trailer", cell, v); err != nil {
				t.Fatal(err)
			}
		})
		f, problems := exchange.ParseWorkbook[vehicle.Fleet]("f.xlsx", data)
		if len(problems) > 0 || f.Trailers[0].TorsionStiff == nil || !*f.Trailers[0].TorsionStiff {
			t.Errorf("%v: %v, %v", v, f.Trailers[0].TorsionStiff, problems)
		}
	}
}

// bomb is a small workbook that is large when unpacked.
func bomb(t *testing.T) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	zeros := make([]byte, 1<<20)
	for range 130 {
		if _, err := w.Write(zeros); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestFilesThatAreNone(t *testing.T) {
	good := book(t, func(*excelize.File) {})
	for _, tt := range []struct {
		name            string
		data            []byte
		where           string
		found, expected string
	}{
		{"nothing", nil, "f.xlsx", "no workbook", ".xlsx"},
		{"text", []byte("id,name\n"), "f.xlsx", "no workbook", ".xlsx"},
		{"the old form", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), "f.xlsx", ".xls, or one with a password", ".xlsx"},
		{"a broken zip", good[:len(good)/2], "f.xlsx", "broken workbook", ".xlsx"},
		{"a zip of something else", func() []byte {
			var b bytes.Buffer
			z := zip.NewWriter(&b)
			z.Create("hello.txt")
			z.Close()
			return b.Bytes()
		}(), "f.xlsx", "broken workbook", ".xlsx"},
		{"small, and huge when unpacked", bomb(t), "f.xlsx", "more than 128 MB when unpacked", "less"},
		{"huge", append([]byte("PK"), make([]byte, exchange.MaxSheet)...), "f.xlsx", "32.0 MB", "at most 32 MB"},
		{"a wrong sheet", book(t, func(f *excelize.File) { f.SetSheetName("load", "loads") }), "f.xlsx: sheet loads", "a sheet of this name", "perhaps load"},
		{"a sheet without a head", book(t, func(f *excelize.File) { f.NewSheet("load2"); f.DeleteSheet("load"); f.SetSheetName("load2", "load") }), "f.xlsx: sheet load", "nothing", "id, name"},
		{"no sheet of vehicles", book(t, func(f *excelize.File) {
			for _, s := range f.GetSheetList()[1:] {
				f.DeleteSheet(s)
			}
		}), "f.xlsx", "no sheet of vehicles", "tractor"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, problems := exchange.ParseWorkbook[vehicle.Fleet]("f.xlsx", tt.data)
			// The facts of a load that is gone are told too.
			problems = slices.DeleteFunc(problems, func(p *exchange.Problem) bool { return p.Sheet == "load.facts" })
			if len(problems) != 1 || problems[0].Where() != tt.where || !strings.Contains(problems[0].Found, tt.found) || !strings.Contains(problems[0].Expected, tt.expected) {
				t.Errorf("%s\nwant one at %s: found … %s …; expected … %s …", lines(problems), tt.where, tt.found, tt.expected)
			}
		})
	}
}

// Every head has a note, with the words of the field's own tags.
func TestNotesOfTheHeads(t *testing.T) {
	data, err := exchange.WriteWorkbook(&vehicle.Fleet{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	notes := map[string]string{}
	heads := 0
	for _, sheet := range f.GetSheetList()[1:] {
		comments, err := f.GetComments(sheet)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		byCell := map[string]string{}
		for _, c := range comments {
			byCell[c.Cell] = c.Text
		}
		for i, head := range rows[0] {
			heads++
			cell, _ := excelize.CoordinatesToCellName(i+1, 1)
			name, _, _ := strings.Cut(head, ",")
			if notes[sheet+" "+name] = byCell[cell]; len(byCell[cell]) < 10 {
				t.Errorf("%s %s: note %q", sheet, head, byCell[cell])
			}
		}
	}
	if heads < 120 {
		t.Errorf("%d heads, there are more", heads)
	}
	for column, of := range map[string]reflect.Type{"tractor ": reflect.TypeFor[vehicle.Tractor](), "tractor.axle ": reflect.TypeFor[vehicle.Axle](), "semi-trailer ": reflect.TypeFor[vehicle.SemiTrailer](), "tractor.fifth-wheel.level ": reflect.TypeFor[vehicle.Level]()} {
		asked := 0
		for i := range of.NumField() {
			tag := of.Field(i).Tag
			note, there := notes[column+vehicle.Key(of.Field(i))]
			if !there {
				continue // a table of its own, or columns of its own
			}
			asked++
			for _, name := range []string{"doc", "tape", "min", "max"} {
				if !strings.Contains(note, tag.Get(name)) {
					t.Errorf("%s%s: the note %q lacks %q", column, vehicle.Key(of.Field(i)), note, tag.Get(name))
				}
			}
			for word := range strings.FieldsSeq(tag.Get("oneof")) {
				if !strings.Contains(note, word) {
					t.Errorf("%s%s: the note %q lacks %q", column, vehicle.Key(of.Field(i)), note, word)
				}
			}
		}
		if asked < 4 {
			t.Errorf("%d notes of %s asked for", asked, column)
		}
	}
}

// FuzzParseWorkbook puts any text in the place of one part of a good workbook;
// bytes in the place of the whole seldom get past the zip.
func FuzzParseWorkbook(f *testing.F) {
	whole := book(f, func(*excelize.File) {})
	z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		f.Fatal(err)
	}
	var names []string
	parts := map[string][]byte{}
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			f.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			f.Fatal(err)
		}
		names = append(names, part.Name)
		parts[part.Name] = data
	}
	for i, name := range names {
		if strings.HasSuffix(name, "sheet4.xml") || strings.HasSuffix(name, "styles.xml") || strings.HasSuffix(name, "workbook.xml") {
			f.Add(uint8(i), string(parts[name]))
		}
	}
	f.Add(uint8(200), "PK\x03\x04")
	f.Fuzz(func(t *testing.T, n uint8, text string) {
		data := []byte(text)
		if int(n) < len(names) {
			var b bytes.Buffer
			w := zip.NewWriter(&b)
			for i, name := range names {
				part, err := w.CreateHeader(&zip.FileHeader{Name: name}) // not packed
				if err != nil {
					t.Fatal(err)
				}
				if i == int(n) {
					part.Write([]byte(text))
				} else {
					part.Write(parts[name])
				}
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			data = b.Bytes()
		}
		back, problems := exchange.ParseWorkbook[vehicle.Fleet]("f.xlsx", data)
		soundOrTold(t, back, problems, func(v *vehicle.Fleet) (*vehicle.Fleet, error) { return csvTrip(v) })
	})
}
