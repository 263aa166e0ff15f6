package exchange

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// ParseJSON reads a file's type from JSON. The result holds what has no problem.
func ParseJSON[T any](name string, data []byte) (*T, Problems) {
	v, problems, _ := parseJSON[T](name, data)
	return v, problems
}

func parseJSON[T any](name string, data []byte) (*T, Problems, Places) {
	var v T
	root := reflect.ValueOf(&v).Elem()
	r := jsonReader{jsonText: jsonText{name: name}, places: map[string]int{}}
	r.checker = checker{file: name, root: root, tables: tablesOf(root.Type()), bad: map[string]bool{}, wrong: map[place]bool{}, find: r.find}
	if p := r.open(data, MaxSheet); p != nil {
		r.tellWhole(p)
	} else if r.value(root, ""); r.broken == nil {
		if at := r.next(); at < len(r.data) {
			r.broken = r.jsonText.problem(at, "", "something behind the end: "+show(r.data[at:]), "the end of the file")
		}
	}
	if r.broken != nil {
		r.tellWhole(r.broken)
	}
	r.check()
	return &v, r.problems(), r.checker.places()
}

// A jsonText is JSON that is read token by token, with the place of each.
type jsonText struct {
	name   string
	data   []byte
	dec    *json.Decoder
	broken *Problem // what kept it from being read to the end
	lines  []int    // where they begin; found out when the first problem is told
}

// open begins a text, unless it cannot be JSON.
func (t *jsonText) open(data []byte, most int) *Problem {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(data) > most {
		return &Problem{File: t.name, Found: fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), Expected: fmt.Sprintf("at most %d MB", most>>20)}
	}
	t.data = data
	if at := firstBad(data); at >= 0 {
		return t.problem(at, "", fmt.Sprintf("the byte 0x%02X", data[at]), "JSON in UTF-8")
	}
	t.dec = json.NewDecoder(bytes.NewReader(data))
	t.dec.UseNumber()
	return nil
}

func (t *jsonText) problem(at int, field, found, expected string) *Problem {
	row, col := t.place(at)
	return &Problem{File: t.name, Row: row, Col: col, Column: field, Found: found, Expected: expected}
}

// row is the line of an offset, from 1.
func (t *jsonText) row(at int) int {
	if t.lines == nil {
		t.lines = []int{0}
		for i, c := range t.data {
			if c == '\n' {
				t.lines = append(t.lines, i+1)
			}
		}
	}
	row, exact := slices.BinarySearch(t.lines, at)
	if exact {
		row++
	}
	return row
}

// place is the line and the character of an offset, from 1. In a line that no
// person reads the bytes are counted.
func (t *jsonText) place(at int) (row, col int) {
	at = min(at, len(t.data))
	row = t.row(at)
	before := t.data[t.lines[row-1]:at]
	if len(before) > 1<<16 {
		return row, len(before) + 1
	}
	return row, utf8.RuneCount(before) + 1
}

// next is where the next token begins.
func (t *jsonText) next() int {
	at := int(t.dec.InputOffset())
	for at < len(t.data) && strings.IndexByte(" \t\r\n,:", t.data[at]) >= 0 {
		at++
	}
	return at
}

// token reads one token; nil when the text is broken.
func (t *jsonText) token() json.Token {
	if t.broken != nil {
		return nil
	}
	tok, err := t.dec.Token()
	if err != nil {
		t.breaks(err)
	}
	return tok
}

func (t *jsonText) breaks(err error) {
	at, why := int(t.dec.InputOffset()), err.Error()
	if se, is := errors.AsType[*json.SyntaxError](err); is {
		at = max(int(se.Offset)-1, 0)
	} else if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		at, why = len(t.data), "it ends too early"
	}
	t.broken = t.problem(at, "", "text that is not JSON ("+why+")", "valid JSON")
}

// raw reads one whole value; nil when the text is broken.
func (t *jsonText) raw() json.RawMessage {
	var raw json.RawMessage
	if t.broken == nil {
		if err := t.dec.Decode(&raw); err != nil {
			t.breaks(err)
			return nil
		}
	}
	return raw
}

// peek tells which kind of value comes next by its first byte.
func (t *jsonText) peek() byte {
	if at := t.next(); at < len(t.data) {
		return t.data[at]
	}
	return 0
}

// members reads an object and calls member for each, which reads the value.
func (t *jsonText) members(member func(name string, at int)) {
	t.token()
	for t.broken == nil && t.dec.More() {
		at := t.next()
		if name, ok := t.token().(string); ok {
			member(name, at)
		}
	}
	t.token()
}

// items reads a list and calls item for each, which reads the value.
func (t *jsonText) items(item func(i, at int)) {
	t.token()
	for i := 0; t.broken == nil && t.dec.More(); i++ {
		item(i, t.next())
	}
	t.token()
}

// A jsonReader reads JSON into the struct that a file is.
type jsonReader struct {
	jsonText
	checker
	places map[string]int // where the value of a path stands
}

// wrongAt tells a problem of the field of a path.
func (r *jsonReader) wrongAt(at int, path, found, expected string) {
	r.tell(path, r.jsonText.problem(at, path, found, expected))
}

// refuse reads a value that does not fit and tells it.
func (r *jsonReader) refuse(at int, path, expected string) {
	if raw := r.raw(); raw != nil {
		r.wrongAt(at, path, show(raw), expected)
	}
}

// value reads one value into v. What does not fit is told and left unknown.
func (r *jsonReader) value(v reflect.Value, path string) {
	at := r.next()
	r.places[path] = at
	kind := r.peek()
	switch {
	case kind == 'n':
		r.raw() // null is unknown
		return
	case v.Kind() == reflect.Pointer:
		elem := reflect.New(v.Type().Elem())
		if r.leafOrStruct(elem.Elem(), path, kind, at) {
			v.Set(elem)
		}
		return
	}
	r.leafOrStruct(v, path, kind, at)
}

// leafOrStruct reads a value that is not null, and tells whether it fits.
func (r *jsonReader) leafOrStruct(v reflect.Value, path string, kind byte, at int) bool {
	if isText(v.Type()) {
		return r.text(v, path, at)
	}
	switch v.Kind() {
	case reflect.Struct:
		if kind != '{' {
			r.refuse(at, path, "a table with the fields "+strings.Join(fieldsOf(v.Type()), ", "))
			return false
		}
		r.table(v, path)
	case reflect.Map:
		if kind != '{' {
			r.refuse(at, path, "a table of facts")
			return false
		}
		r.facts(v, path)
	case reflect.Slice:
		if kind != '[' {
			r.refuse(at, path, "a list in square brackets")
			return false
		}
		r.items(func(i, _ int) {
			v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
			r.value(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		})
	default:
		raw := r.raw()
		if raw == nil || json.Unmarshal(raw, v.Addr().Interface()) == nil {
			return raw != nil
		}
		want := map[reflect.Kind]string{reflect.String: "text in quotes", reflect.Bool: "true or false", reflect.Float64: "a number", reflect.Int64: "a whole number"}
		r.wrongAt(at, path, show(raw), want[v.Kind()])
		return false
	}
	return true
}

// text reads a quantity or a date.
func (r *jsonReader) text(v reflect.Value, path string, at int) bool {
	raw := r.raw()
	if raw == nil {
		return false
	}
	var s string
	inQuotes := json.Unmarshal(raw, &s) == nil
	err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s))
	if inQuotes && err == nil {
		return true
	}
	found, expected := show(raw), "text in quotes"
	if pe, is := errors.AsType[*unit.ParseError](err); is {
		expected = pe.Expected + ", in quotes"
		if inQuotes {
			found += ", " + pe.Why
		}
	} else if inQuotes {
		found, expected = textError(s, err)
	}
	r.wrongAt(at, path, found, expected)
	return false
}

// table reads the fields of a struct.
func (r *jsonReader) table(v reflect.Value, path string) {
	had := map[string]bool{}
	r.members(func(name string, at int) {
		where := tomlfile.Join(path, name)
		field, known := fieldOf(v, name)
		switch {
		case had[name]:
			r.wrongAt(at, where, strconv.Quote(name)+" a second time", "each field once")
			r.raw()
		case !known:
			r.wrongAt(at, path, "the field "+quoted(name), perhaps(name, fieldsOf(v.Type())))
			r.whole = r.whole || path == "" // whatever was meant, the file goes without it
			r.raw()
		default:
			r.value(field, where)
		}
		had[name] = true
	})
}

// facts reads a map.
func (r *jsonReader) facts(v reflect.Value, path string) {
	v.Set(reflect.MakeMap(v.Type()))
	r.members(func(name string, _ int) {
		where, at := tomlfile.Join(path, name), r.next()
		raw := r.raw()
		if raw == nil || string(raw) == "null" {
			return
		}
		var value any
		var n json.Number
		switch {
		case v.MapIndex(reflect.ValueOf(name)).IsValid():
			r.wrongAt(at, where, "the fact "+quoted(name)+" a second time", "each fact once")
			return
		case raw[0] != '"' && json.Unmarshal(raw, &n) == nil:
			if whole, err := strconv.ParseInt(n.String(), 10, 64); err == nil {
				value = whole
			} else if x, err := n.Float64(); err == nil {
				value = x
			}
		case raw[0] != '{' && raw[0] != '[':
			_ = json.Unmarshal(raw, &value) // text, true or false, since it was read as JSON
		}
		if value == nil {
			r.wrongAt(at, where, show(raw), "true, false, a number or text in quotes")
			return
		}
		v.SetMapIndex(reflect.ValueOf(name), reflect.ValueOf(value))
	})
}

// find says where the field of a path stands: itself, or what it is missing in.
func (r *jsonReader) find(path string) (Problem, bool) {
	for at := path; ; at = at[:max(strings.LastIndexAny(at, ".["), 0)] {
		if offset, ok := r.places[at]; ok {
			return *r.jsonText.problem(offset, path, "", ""), at == path && r.data[offset] != '{' && r.data[offset] != '['
		}
		if at == "" {
			return *r.jsonText.problem(0, path, "", ""), false
		}
	}
}

// fieldsOf lists the names of a struct's fields.
func fieldsOf(t reflect.Type) []string {
	var names []string
	for i := range t.NumField() {
		f := t.Field(i)
		switch key := vehicle.Key(f); {
		case f.Anonymous && key == "":
			names = append(names, fieldsOf(f.Type)...)
		case key != "" && key != "-" && f.IsExported():
			names = append(names, key)
		}
	}
	return names
}

// fieldOf finds a field by its name.
func fieldOf(v reflect.Value, name string) (reflect.Value, bool) {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		key := vehicle.Key(f)
		if f.Anonymous && key == "" {
			if in, known := fieldOf(v.Field(i), name); known {
				return in, true
			}
		} else if key == name && key != "" && key != "-" && f.IsExported() {
			return v.Field(i), true
		}
	}
	return reflect.Value{}, false
}

// show prints JSON as far as an error has room for it.
func show(raw []byte) string {
	const most = 60
	if r := []rune(string(raw[:min(len(raw), 4*most)])); len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(raw)
}
