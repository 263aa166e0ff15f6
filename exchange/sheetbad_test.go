package exchange_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/vehicle"
)

// yard is a small fleet as CSV, in which nothing is wrong.
func yard() map[string]string {
	return map[string]string{
		"tractor.csv":           "id,name,\"gross-plate, kg\",fuel,weighbridge.front-on,weighbridge.tractor-on\nheron-07,Heron,18000,diesel,,\nteal-12,Teal,18 t,gas,5500 kg,7800 kg\n",
		"tractor.axle.csv":      "tractor,kind,\"at, mm\",share\nheron-07,steer,,\nheron-07,drive,3700,\nteal-12,steer,,\nteal-12,drive,3700,\n",
		"semi-trailer.csv":      "id,weighbridge.tractor,weighbridge.tractor-on,weighbridge.all-on\nmarsh-23,,,\nmire-61,teal-12,9800 kg,14 t\n",
		"semi-trailer.axle.csv": "semi-trailer,\"at, mm\"\nmarsh-23,7700\nmire-61,7.7 m\n",
		"load.csv":              "id,for,\"payload, kg\",at\nfull,marsh-23 mire-61,24000,6.8 m\n",
		"load.facts.csv":        "load,name,value\nfull,intermodal,true\n",
	}
}

func parseYard(files map[string]string) (*vehicle.Fleet, exchange.Problems) {
	data := map[string][]byte{}
	for name, text := range files {
		data["yard/"+name] = []byte(text)
	}
	return exchange.ParseCSV[vehicle.Fleet]("yard", data)
}

func TestYardIsSound(t *testing.T) {
	f, problems := parseYard(yard())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if len(f.Tractors) != 2 || len(f.Trailers) != 2 || len(f.Trailers[1].Axles) != 1 || f.Loads[0].Facts["intermodal"] != true {
		t.Errorf("%+v", f)
	}
}

func ids(f *vehicle.Fleet) string {
	var all []string
	for i := range f.Tractors {
		all = append(all, f.Tractors[i].ID)
	}
	for i := range f.Trailers {
		all = append(all, f.Trailers[i].ID)
	}
	for i := range f.Loads {
		all = append(all, f.Loads[i].ID)
	}
	return strings.Join(all, " ")
}

// Each row changes one thing in the yard. What is left is what has no problem,
// and does not refer to what has.
func TestOneBadCellIsNamedAndLosesOnlyItsVehicle(t *testing.T) {
	for _, tt := range []struct {
		name, file, old, new   string
		where, found, expected string
		left                   string
	}{
		{"no unit anywhere", "tractor.csv", "\"gross-plate, kg\"", "gross-plate", "yard/tractor.csv:1:9 (gross-plate)", `numbers without a unit, the first "18000" in row 2`, `"gross-plate, kg"`, "teal-12 marsh-23 mire-61 full"},
		{"a unit of something else in the head", "tractor.csv", "plate, kg", "plate, mm", "yard/tractor.csv:1:9 (gross-plate)", `"mm"`, "a unit of mass: kg, t, lb", ""},
		{"a unit on what has none", "tractor.csv", "fuel", "\"fuel, kg\"", "yard/tractor.csv:1:27 (fuel)", `"kg"`, "no unit", ""},
		{"a unit of something else in a cell", "tractor.csv", "18000", "18000 mm", "yard/tractor.csv:2:16 (gross-plate)", "mm is a unit of length", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"two units", "tractor.csv", "18000", "18 t kg", "yard/tractor.csv:2:16 (gross-plate)", "not a unit", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"t for kg", "tractor.csv", "18 t,", "18000 t,", "yard/tractor.csv:3:14 (gross-plate)", "gross-plate = 18000000 kg", "perhaps: 18000 kg", "heron-07 marsh-23"},
		{"a comma that may be two things", "tractor.csv", "18000", `"18,000"`, "yard/tractor.csv:2:16 (gross-plate)", "decimal mark or a thousands mark", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"a word not known", "tractor.csv", "diesel", "coal", "yard/tractor.csv:2:22 (fuel)", `"coal"`, "diesel, gas, battery, hydrogen", "teal-12 marsh-23 mire-61 full"},
		{"letters of two bytes before it", "tractor.csv", "Heron,18000,diesel", "Häron,18000,coal", "yard/tractor.csv:2:22 (fuel)", `"coal"`, "diesel", "teal-12 marsh-23 mire-61 full"},
		{"an id with capitals", "tractor.csv", "\nheron-07", "\nHeron 07", "yard/tractor.csv:2:1 (id)", "", "", "teal-12 marsh-23 mire-61 full"},
		{"no id", "tractor.csv", "\nheron-07,", "\n,", "yard/tractor.csv:2:1", "no id", "hyphens", "teal-12 marsh-23 mire-61 full"},
		{"an id twice", "tractor.csv", "\nteal-12", "\nheron-07", "yard/tractor.csv:3:1 (id)", "a second time", "once", "marsh-23"},
		{"a misspelt column", "tractor.csv", "fuel", "fule", "yard/tractor.csv:1:27", `"fule"`, "perhaps fuel", ""},
		{"a column twice", "tractor.csv", "name,", "id,", "yard/tractor.csv:1:4 (id)", "a second time", "each column once", ""},
		{"a value without a head", "tractor.csv", "diesel,,", "diesel,,,stray", "yard/tractor.csv:2:31", `"stray"`, "no head", ""},
		{"a quote in the middle", "tractor.csv", "Heron", `He"ron`, "yard/tractor.csv:2:1", "not CSV", "doubled", "teal-12 marsh-23 mire-61 full"},
		{"a quote never closed", "tractor.csv", "Heron", `"Heron`, "yard/tractor.csv:2:1", "not CSV", "doubled", "teal-12 marsh-23 mire-61 full"},
		{"an axle of nobody", "tractor.axle.csv", "heron-07,drive", "heron-7,drive", "yard/tractor.axle.csv:3:1 (tractor)", `"heron-7"`, "perhaps heron-07", "teal-12 marsh-23 mire-61 full"},
		{"an axle without a name", "tractor.axle.csv", "heron-07,drive", ",drive", "yard/tractor.axle.csv:3:1 (tractor)", "no tractor", "the table tractor", "teal-12 marsh-23 mire-61 full"},
		{"axles without the column of their owner", "tractor.axle.csv", "tractor,", "truck,", "yard/tractor.axle.csv:1:1", "no column tractor", "whose row", ""},
		{"an axle in the wrong place", "tractor.axle.csv", "heron-07,drive,3700", "heron-07,drive,-3", "yard/tractor.axle.csv:3:1", "not behind", "front to rear", "teal-12 marsh-23 mire-61 full"},
		{"an axle that is a word", "tractor.axle.csv", "teal-12,drive,3700", "teal-12,drive,far", "yard/tractor.axle.csv:5:15 (at)", `"far"`, "a length", "heron-07 marsh-23"},
		{"shares that do not sum to 1", "tractor.axle.csv", "heron-07,drive,3700,", "heron-07,drive,3700,50%", "yard/tractor.axle.csv:3:21 (share)", "0.5", "summing to 1", "teal-12 marsh-23 mire-61 full"},
		{"a ticket of a tractor that is not there", "semi-trailer.csv", "teal-12", "gull-99", "yard/semi-trailer.csv:3:9 (weighbridge.tractor)", "gull-99", "a tractor of this file", "heron-07 teal-12 marsh-23"},
		{"a load without a centre", "load.csv", ",6.8 m", ",6.8 furlongs", "yard/load.csv:2:29 (at)", "furlongs", "a length", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact twice", "load.facts.csv", "true\n", "true\nfull,intermodal,false\n", "yard/load.facts.csv:3:6 (name)", "a second time", "once", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact without a value", "load.facts.csv", "true", "", "yard/load.facts.csv:2:17 (value)", "no value", "a number", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact without a name", "load.facts.csv", "intermodal", "", "yard/load.facts.csv:2:6 (name)", "without a name", "name of a fact", "heron-07 teal-12 marsh-23 mire-61"},
		{"not UTF-8", "load.csv", "full", "f\xfcll", "yard/load.csv:2:2", "0xFC", "UTF-8", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			files := yard()
			changed := strings.Replace(files[tt.file], tt.old, tt.new, 1)
			if changed == files[tt.file] {
				t.Fatal("nothing was changed")
			}
			files[tt.file] = changed
			f, problems := parseYard(files)
			if len(problems) == 0 {
				t.Fatal("no problem")
			}
			i := slices.IndexFunc(problems, func(p *exchange.Problem) bool {
				return p.Where() == tt.where && strings.Contains(p.Found, tt.found) && strings.Contains(p.Expected, tt.expected)
			})
			if i < 0 {
				t.Errorf("problems\n%s\nwant one at %s: found … %s …; expected … %s …", lines(problems), tt.where, tt.found, tt.expected)
			}
			if got := ids(f); got != tt.left {
				t.Errorf("left %q, want %q\n%s", got, tt.left, lines(problems))
			}
			if len(problems) > 5 {
				t.Errorf("%d problems of one cause:\n%s", len(problems), lines(problems))
			}
		})
	}
}

func lines(p exchange.Problems) string {
	var b strings.Builder
	for _, one := range p {
		b.WriteString(one.Error() + "\n")
	}
	return b.String()
}

func TestSemicolonsWithDecimalCommas(t *testing.T) {
	files := yard()
	files["tractor.axle.csv"] = "\ufefftractor;kind;at (m);share\nheron-07;steer;;\nheron-07;drive;3,7;\nteal-12;steer;;\nteal-12;drive;3,65;1,0\n"
	f, problems := parseYard(files)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if at := *f.Tractors[1].Axles[1].At; at != 3.65 {
		t.Errorf("at %v, want 3.65 m", at)
	}
	files["tractor.axle.csv"] = strings.Replace(files["tractor.axle.csv"], "3,7", "3.700", 1)
	if _, problems = parseYard(files); len(problems) != 1 || !strings.Contains(problems[0].Found, "thousands") {
		t.Errorf("3.700 among decimal commas: %v, want it questioned", problems)
	}
}

func TestFolderOfOtherFiles(t *testing.T) {
	for name, found := range map[string]string{"tractors.csv": `"tractors.csv"`, "axles.csv": `"axles.csv"`} {
		files := yard()
		files[name] = "id\n"
		if _, problems := parseYard(files); len(problems) != 1 || !strings.Contains(problems[0].Found, found) || !strings.Contains(problems[0].Expected, "tractor") {
			t.Errorf("%s: %v", name, problems)
		}
	}
	files := yard()
	files["#notes.csv"], files["readme.txt"] = "whatever", "whatever"
	if _, problems := parseYard(files); len(problems) > 0 {
		t.Errorf("files of one's own: %v", problems)
	}
	if _, problems := parseYard(map[string]string{"readme.txt": ""}); len(problems) != 1 {
		t.Errorf("no CSV: %v", problems)
	}
}

// Ten thousand axles of five thousand tractors, one of them bad.
func TestOneBadRowOfTenThousandAxles(t *testing.T) {
	var tractors, axles strings.Builder
	tractors.WriteString("id\n")
	axles.WriteString("tractor,kind,at\n")
	for i := range 5000 {
		fmt.Fprintf(&tractors, "t-%d\n", i)
		at := "3.7 m"
		if i == 3333 {
			at = "3.7 miles of road"
		}
		fmt.Fprintf(&axles, "t-%d,steer,\nt-%d,drive,%s\n", i, i, at)
	}
	f, problems := parseYard(map[string]string{"tractor.csv": tractors.String(), "tractor.axle.csv": axles.String()})
	if len(problems) != 1 || problems[0].Row != 2*3333+3 || problems[0].Column != "at" {
		t.Errorf("problems %v, want one in row %d", problems, 2*3333+3)
	}
	if len(f.Tractors) != 4999 {
		t.Errorf("%d tractors, want the other 4999", len(f.Tractors))
	}
}

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

// A negative number with a unit reckons nothing out.
var negative = regexp.MustCompile(`^-[0-9.]+ [a-zA-Z]+$`)

// No text that is written begins as a formula does.
func TestNothingIsWrittenAsAFormula(t *testing.T) {
	texts := 0
	rapid.Check(t, func(t *rapid.T) {
		files, err := exchange.WriteCSV(randomFleet(t))
		if err != nil {
			t.Fatal(err)
		}
		for name, data := range files {
			for _, row := range csvRows(t, data) {
				for _, s := range row {
					if s == "" || strings.Trim(s, "-0123456789.") == "" {
						continue
					}
					texts++
					if strings.ContainsAny(s[:1], "=+@\t\r") || s[0] == '-' && !negative.MatchString(s) {
						t.Fatalf("%s: %q", name, s)
					}
				}
			}
		}
	})
	if texts == 0 {
		t.Error("no text was looked at")
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

func FuzzParseCSV(f *testing.F) {
	for name, text := range yard() {
		f.Add(name, text)
	}
	f.Add("tractor.csv", "id;name\n\"a;b\n")
	f.Fuzz(func(t *testing.T, name, text string) {
		files := yard()
		files[name] = text
		back, problems := parseYard(files)
		soundOrTold(t, back, problems, func(v *vehicle.Fleet) (*vehicle.Fleet, error) { return csvTrip(v) })
	})
}

func FuzzParseJSON(f *testing.F) {
	sound, _ := parseYard(yard())
	data, err := exchange.WriteJSON(sound)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(data))
	f.Add(`{"tractor":[{"id":"a","axle":[{"kind":"steer"},{"at":"3.7 m","kind":"drive"}],"width":null}],"facts":{"a":1.0,"b":"c"}}`)
	f.Fuzz(func(t *testing.T, text string) {
		back, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(text))
		soundOrTold(t, back, problems, func(v *vehicle.Fleet) (*vehicle.Fleet, error) { return jsonTrip(v) })
	})
}

// soundOrTold holds what a reader returned against its promises: what it returns
// is sound, each problem says where and what, and what is sound survives being
// written.
func soundOrTold(t *testing.T, f *vehicle.Fleet, problems exchange.Problems, trip func(*vehicle.Fleet) (*vehicle.Fleet, error)) {
	for _, p := range problems {
		if p.File == "" || p.Found == "" || p.Expected == "" {
			t.Fatalf("a problem that does not say what is wrong: %+v", p)
		}
	}
	if errs := f.Validate(); len(errs) > 0 {
		t.Fatalf("what was read is not sound: %v; problems %v", errs[0], problems)
	}
	if back, err := trip(f); err != nil {
		t.Fatalf("what was read cannot be written and read: %v", err)
	} else if diff := same(f, back); diff != "" {
		t.Fatalf("what was read does not survive:\n%s", diff)
	}
}

func TestParseJSONProblems(t *testing.T) {
	const good = `{
  "law": "eu",
  "tractor": [
    {"id": "a", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}], "gross-plate": "18 t"},
    {"id": "b", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}]}
  ],
  "facts": {"intermodal": false, "container-ft": 45}
}`
	if f, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(good)); len(problems) > 0 || len(f.Tractors) != 2 || f.Facts["container-ft"] != int64(45) {
		t.Fatal(f, problems)
	}
	for _, tt := range []struct{ name, old, new, where, found, expected, left string }{
		{"a bare number", `"18 t"`, "18000", "f.json:4:97 (tractor[0].gross-plate)", "18000", "a mass with its unit", "b"},
		{"no unit", `"18 t"`, `"18000"`, "f.json:4:97 (tractor[0].gross-plate)", `"18000", the unit is missing`, "a mass", "b"},
		{"out of range", `"18 t"`, `"18 kg"`, "f.json:4:97 (tractor[0].gross-plate)", "18 kg", "2 t to 60 t", "b"},
		{"null is unknown", `"18 t"`, `null`, "", "", "", "a b"},
		{"an unknown field", `gross-plate`, `gross-plait`, "f.json:4:82 (tractor[0])", `"gross-plait"`, "perhaps gross-plate", "b"},
		{"a field twice", `"gross-plate": "18 t"`, `"id": "c"`, "f.json:4:82 (tractor[0].id)", "a second time", "once", "b"},
		{"an unknown field of the file", `"law"`, `"lore"`, "f.json:2:3", `"lore"`, "one of name, law", ""},
		{"a list for a table", `{"id": "b", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}]}`, `["b"]`, "f.json:5:5 (tractor[1])", `["b"]`, "a table with the fields id", "a"},
		{"a table for a list", `"tractor": [`, `"semi-trailer": {}, "tractor": [`, "f.json:3:19 (semi-trailer)", "{}", "a list", "a b"},
		{"a fact that is a list", "45", "[45]", "f.json:7:50 (facts.container-ft)", "[45]", "a number", "a b"},
		{"an axle that is wrong", `"3700 mm", "kind": "drive"}], "gross`, `"0 m", "kind": "drive"}], "gross`, "f.json:4:45 (tractor[0].axle[1])", "not behind", "front to rear", "b"},
		{"an id twice", `"b"`, `"a"`, "f.json:5:12 (tractor[1].id)", "a second time", "its own", "a"},
		{"half a file", "],\n  \"facts\": {\"intermodal\": false, \"container-ft\": 45}\n}", "", "f.json:6:3", "ends too early", "valid JSON", ""},
		{"something behind", "45}\n}", "45}\n} {}", "f.json:8:3", "behind the end", "the end", ""},
		{"not UTF-8", "eu", "\xff", "f.json:2:11", "0xFF", "UTF-8", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(good, tt.old, tt.new, 1)
			if text == good {
				t.Fatal("nothing was changed")
			}
			f, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(text))
			if got := ids(f); got != tt.left {
				t.Errorf("left %q, want %q", got, tt.left)
			}
			if tt.where == "" {
				if len(problems) > 0 {
					t.Error(problems)
				}
				return
			}
			if len(problems) != 1 {
				t.Errorf("%d problems, want one:\n%s", len(problems), lines(problems))
			}
			if p := problems[0]; p.Where() != tt.where || !strings.Contains(p.Found, tt.found) || !strings.Contains(p.Expected, tt.expected) {
				t.Errorf("%s\nwant %s: found … %s …; expected … %s …", p, tt.where, tt.found, tt.expected)
			}
		})
	}
}
