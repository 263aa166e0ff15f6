package exchange

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// MaxFeed is the largest delivery that is read at once, and maxFeedUnpacked how
// large a workbook of one may be inside.
const (
	MaxFeed         = 256 << 20
	maxFeedUnpacked = 1 << 30
)

// ReadFeed reads the delivery of readings at path.
func ReadFeed(path string, o FeedOptions) *Feed {
	data, problem := readFile(path, MaxFeed)
	if problem != nil {
		return &Feed{Problems: Problems{problem}}
	}
	return ParseFeed(path, data, o)
}

// ParseFeed reads a delivery of readings: CSV, a workbook, or JSON, which it tells
// apart by how they begin. One bad row does not lose the others.
func ParseFeed(name string, data []byte, o FeedOptions) *Feed {
	f := &feedReader{options: o, file: name, asked: map[string]bool{}}
	text := bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\ufeff")), " \t\r\n")
	_, known := feedUnits[strings.ToLower(o.Unit)]
	switch {
	case o.Unit != "" && !known:
		f.add(&Problem{File: name, Found: "the unit " + quoted(o.Unit), Expected: "km, mi or m", Ask: "unit"})
	case bytes.HasPrefix(data, []byte("PK")) || bytes.HasPrefix(data, []byte{0xd0, 0xcf, 0x11, 0xe0}):
		f.workbook(data)
	case len(text) > 0 && (text[0] == '{' || text[0] == '['):
		f.json(data)
	default:
		f.csv(data)
	}
	f.Problems = f.problems()
	return &f.Feed
}

func (f *feedReader) csv(data []byte) {
	text, problem := newCSV(f.file, data, MaxFeed, func(head string) bool { return feedHead(head, 0).role != roleNone })
	if problem != nil {
		f.add(problem)
		return
	}
	f.thousand = text.comma == ';'
	first := true
	text.each(func(fields []string, at func(int) (int, int)) bool {
		row, _ := at(0)
		problem := func(i int) *Problem {
			p := &Problem{File: f.file, Row: row}
			if 0 <= i && i < len(fields) {
				p.Row, p.Col = at(i)
			}
			return p
		}
		if first {
			first = false
			return f.head(fields, problem)
		}
		f.row(row, fields, problem)
		return true
	}, func(p *Problem, _ []string) { f.add(p) })
	if first && len(f.list) == 0 {
		f.add(&Problem{File: f.file, Found: "nothing", Expected: "a head with the columns vehicle, at and odometer, and rows"})
	}
}

func (f *feedReader) workbook(data []byte) {
	book, problem := openBook(f.file, data, MaxFeed, maxFeedUnpacked)
	if problem != nil {
		f.add(problem)
		return
	}
	defer book.Close()
	sheets := slices.DeleteFunc(book.GetSheetList(), func(s string) bool { return strings.HasPrefix(s, ownSheet) })
	if i := slices.IndexFunc(sheets, func(s string) bool { s = strings.ToLower(s); return s == "reading" || s == "readings" }); i >= 0 {
		sheets = sheets[i : i+1]
	}
	if len(sheets) != 1 {
		f.add(&Problem{File: f.file, Found: fmt.Sprintf("%d sheets", len(sheets)), Expected: "one sheet, or one that is named readings; a sheet of your own begins with " + ownSheet})
		return
	}
	f.sheet, f.instant = sheets[0], book.instant
	first := true
	var texts []string
	problem = book.rows(f.sheet, false, func(l line) bool {
		texts = texts[:0]
		for _, c := range l.cells {
			texts = append(texts, c.text)
		}
		problem := func(i int) *Problem { return &Problem{File: f.file, Sheet: f.sheet, Row: l.row, Col: i + 1} }
		if first {
			first = false
			return f.head(texts, problem)
		}
		f.row(l.row, texts, problem)
		return true
	})
	switch {
	case problem != nil:
		f.add(problem)
	case first:
		f.add(&Problem{File: f.file, Sheet: f.sheet, Found: "nothing", Expected: "a head with the columns vehicle, at and odometer, and rows"})
	}
}

// json reads our own form, {"reading": [...]} or the list alone, or the form of
// the open standard rFMS: vehicleStatusResponse.vehicleStatuses, each with vin,
// createdDateTime and hrTotalVehicleDistance in metres, and moreDataAvailable.
// Each of these names may begin with a capital.
//
// The names of the standard are those seen in public client code; its document was
// not read (memory).
func (f *feedReader) json(data []byte) {
	t := &jsonText{name: f.file}
	if p := t.open(data, MaxFeed); p != nil {
		f.add(p)
		return
	}
	some := false
	f.exact = true
	if t.peek() == '[' {
		some = true
		f.readings(t)
	} else {
		t.members(func(name string, at int) {
			switch {
			case name == "reading" && t.peek() == '[':
				some = true
				f.readings(t)
			case small(name) == "vehicleStatusResponse" && t.peek() == '{':
				t.members(func(name string, _ int) { some = f.response(t, name) || some })
			default:
				some = f.response(t, name) || some
			}
		})
	}
	switch at := t.next(); {
	case t.broken != nil:
		f.add(t.broken)
	case at < len(t.data):
		f.add(t.problem(at, "", "something behind the end: "+show(t.data[at:]), "the end of the file"))
	case !some:
		f.add(t.problem(0, "", "JSON without readings", `{"reading": [...]}, or vehicleStatusResponse with vehicleStatuses as rFMS has them`))
	}
}

// small is a name with a small letter first.
func small(name string) string {
	if name == "" {
		return name
	}
	return strings.ToLower(name[:1]) + name[1:]
}

// response reads one member of what rFMS answers, and tells whether it was the
// list of statuses.
func (f *feedReader) response(t *jsonText, name string) bool {
	switch small(name) {
	case "vehicleStatuses":
		if t.peek() == '[' {
			f.statuses(t)
			return true
		}
	case "moreDataAvailable":
		at := t.next()
		raw := t.raw()
		if more := string(raw); more == "true" {
			f.More = true
		} else if more != "false" && raw != nil {
			f.add(t.problem(at, name, show(raw), "true or false"))
		}
		return false
	}
	t.raw()
	return false
}

// refuse reads a value that does not fit and tells it.
func (f *feedReader) refuse(t *jsonText, at int, expected string) {
	if raw := t.raw(); raw != nil {
		f.add(t.problem(at, "", show(raw), expected))
	}
}

// statusFields are those of a status that are read, in the order of their columns.
var statusFields = []string{"vin", "createdDateTime", "hrTotalVehicleDistance"}

// statuses reads the list of rFMS. What else a status tells is not ours.
func (f *feedReader) statuses(t *jsonText) {
	f.columns = []feedColumn{{roleVIN, 0, "vin", "", ""}, {roleAt, 1, "createdDateTime", "", ""}, {roleDistance, 2, "hrTotalVehicleDistance", headMeters["odometer"], "m"}}
	texts, ats := make([]string, len(statusFields)), make([]int, len(statusFields))
	t.items(func(i, start int) {
		clear(texts)
		clear(ats)
		if t.peek() != '{' {
			f.refuse(t, start, "a status of a vehicle")
			return
		}
		twice := false
		eachMember(t.raw(), start, func(name string, at int, value []byte, valueAt int) {
			k := slices.Index(statusFields, small(name))
			if k < 0 {
				return
			}
			if ats[k] > 0 {
				twice = true
				f.add(t.problem(at, name, name+" a second time", "each once"))
			}
			ats[k], texts[k] = valueAt, plainJSON(value)
		})
		if t.broken != nil || twice {
			return
		}
		if texts[2] == "" {
			f.Without++
			return
		}
		f.jsonRow(t, start, texts, ats)
	})
}

// ownFields are those of our own form, in the order of their columns.
var ownFields = []string{"vehicle", "vin", "registration", "meter", "at", "given-in", "distance"}

// readings reads a list of our own form.
func (f *feedReader) readings(t *jsonText) {
	f.columns = nil
	for i, name := range ownFields {
		f.columns = append(f.columns, feedColumn{feedNames[name], i, name, "", ""})
	}
	texts, ats := make([]string, len(ownFields)), make([]int, len(ownFields))
	t.items(func(i, start int) {
		clear(texts)
		clear(ats)
		if t.peek() != '{' {
			f.refuse(t, start, "a reading, "+`{"vehicle", "meter", "at", "distance"}`)
			return
		}
		before := len(f.list) + f.more
		eachMember(t.raw(), start, func(name string, at int, value []byte, valueAt int) {
			k := slices.Index(ownFields, name)
			if k < 0 || ats[k] > 0 {
				f.add(t.problem(at, "", "the field "+quoted(name), "each once: "+strings.Join(ownFields, ", ")))
				return
			}
			ats[k], texts[k] = valueAt, plainJSON(value)
		})
		if t.broken == nil && before == len(f.list)+f.more {
			f.jsonRow(t, start, texts, ats)
		}
	})
}

func (f *feedReader) jsonRow(t *jsonText, start int, texts []string, ats []int) {
	place := func(i int) *Problem {
		if i >= 0 && ats[i] > 0 {
			return t.problem(ats[i], "", "", "")
		}
		return t.problem(start, "", "", "")
	}
	f.row(t.row(start), texts, place)
}

// plainJSON is a value of JSON as text.
func plainJSON(raw []byte) string {
	var s string
	switch {
	case len(raw) == 0 || string(raw) == "null":
		return ""
	case raw[0] != '"':
		return string(raw)
	case bytes.IndexByte(raw, '\\') < 0: // nearly always
		return string(raw[1 : len(raw)-1])
	}
	_ = json.Unmarshal(raw, &s) // it was read as JSON before
	return s
}

// eachMember yields the members of an object that was read as JSON before and
// begins at an offset. The library's tokens take six times as long.
func eachMember(object []byte, offset int, member func(name string, at int, value []byte, valueAt int)) {
	i := 1
	skip := func(these string) {
		for i < len(object) && strings.IndexByte(these, object[i]) >= 0 {
			i++
		}
	}
	value := func() []byte {
		from, depth := i, 0
		for i < len(object) {
			switch object[i] {
			case '"':
				for i++; object[i] != '"'; i++ {
					if object[i] == '\\' {
						i++
					}
				}
			case '{', '[':
				depth++
			case '}', ']':
				depth--
				if depth < 0 { // the end of what it stands in
					return object[from:i]
				}
			case ',', ':', ' ', '\t', '\r', '\n':
				if depth == 0 {
					return object[from:i]
				}
			}
			i++
			if depth == 0 && (object[i-1] == '"' || object[i-1] == '}' || object[i-1] == ']') {
				break
			}
		}
		return object[from:i]
	}
	for {
		skip(" \t\r\n,")
		if i >= len(object) || object[i] == '}' {
			return
		}
		at := i
		name := plainJSON(value())
		skip(" \t\r\n:")
		valueAt := i
		member(name, offset+at, value(), offset+valueAt)
	}
}
