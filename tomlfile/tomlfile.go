// Package tomlfile reads TOML files that people write by hand: fleet files and
// rulebooks. It refuses what it does not know, and every error says where, what
// was found and what was expected.
package tomlfile

import (
	"bytes"
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// MaxSize is the largest file that is read. A fleet of some thousand vehicles
// stays well below it; what is larger is not a file of this kind.
const MaxSize = 8 << 20

// An Error is one thing wrong in a file.
type Error struct {
	File      string
	Line, Col int // from 1; 0 when the place is the whole file
	Found     string
	Expected  string
}

func (e *Error) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.Where(), e.Found, e.Expected)
}

// Where returns file:line:column.
func (e *Error) Where() string {
	if e.Line == 0 {
		return e.File
	}
	return fmt.Sprintf("%s:%d:%d", e.File, e.Line, e.Col)
}

// Places tells where in the file each value stands, by its path:
// "tractor[0].axle[1].tare".
type Places struct {
	file   string
	data   []byte
	offset map[string]int
}

// Error makes an error at the place of a path, or of the nearest table around
// it when the value itself is not in the file.
func (p *Places) Error(path, found, expected string) *Error {
	e := &Error{File: p.file, Found: found, Expected: expected}
	for path != "" {
		if at, ok := p.offset[path]; ok {
			e.Line, e.Col = lineCol(p.data, at)
			return e
		}
		cut := strings.LastIndexAny(path, ".[")
		if cut < 0 {
			break
		}
		path = path[:cut]
	}
	return e
}

// Has reports whether the file gives a value at this path.
func (p *Places) Has(path string) bool { _, ok := p.offset[path]; return ok }

func lineCol(data []byte, at int) (line, col int) {
	before := data[:min(at, len(data))]
	line = bytes.Count(before, []byte("\n")) + 1
	start := bytes.LastIndexByte(before, '\n') + 1
	return line, utf8.RuneCount(before[start:]) + 1
}

// Decode reads data into dst, a pointer to a struct with toml tags. Keys that
// dst does not have are refused, and so is a bare number where dst holds a
// quantity that is written with its unit. The error, if any, is an *Error.
func Decode(file string, data []byte, dst any) (*Places, error) {
	p := &Places{file: file, data: data, offset: map[string]int{}}
	if len(data) > MaxSize {
		return nil, &Error{File: file, Found: fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), Expected: fmt.Sprintf("a file of at most %d MB", MaxSize>>20)}
	}
	if !utf8.Valid(data) {
		at := 0
		for at < len(data) {
			r, n := utf8.DecodeRune(data[at:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		line, col := lineCol(data, at)
		return nil, &Error{file, line, col, fmt.Sprintf("the byte 0x%02X", data[at]), "text in UTF-8"}
	}
	if err := p.index(reflect.TypeOf(dst).Elem()); err != nil {
		return nil, err
	}
	dec := toml.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(dst); err != nil {
		return nil, p.decodeError(err)
	}
	return p, nil
}

func (p *Places) decodeError(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := strict.Errors[0]
		line, col := first.Position()
		return &Error{p.file, line, col, fmt.Sprintf("the key %q", strings.Join(first.Key(), ".")), "a key of this file (see the field list)"}
	}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		line, col := de.Position()
		return &Error{p.file, line, col, strings.TrimPrefix(de.Error(), "toml: "), "valid TOML of this file's fields"}
	}
	return &Error{File: p.file, Found: err.Error(), Expected: "valid TOML"}
}

// index walks the file once, notes where each value stands, and checks each
// against the type that waits for it.
func (p *Places) index(root reflect.Type) error {
	var parser unstable.Parser
	parser.Reset(p.data)
	counts := map[string]int{} // entries seen of each array of tables
	table := ""
	for parser.NextExpression() {
		e := parser.Expression()
		if e.Kind == unstable.Comment {
			continue
		}
		path, at := "", -1
		if e.Kind == unstable.KeyValue {
			path = table
		}
		var keys []string
		for it := e.Key(); it.Next(); {
			k := it.Node()
			if at < 0 {
				at = int(k.Raw.Offset)
			}
			keys = append(keys, string(k.Data))
		}
		for i, key := range keys {
			path = join(path, key)
			last := i == len(keys)-1
			switch {
			case e.Kind == unstable.ArrayTable && last:
				n := counts[path]
				counts[path] = n + 1
				path = fmt.Sprintf("%s[%d]", path, n)
			case e.Kind != unstable.KeyValue && counts[path] > 0:
				path = fmt.Sprintf("%s[%d]", path, counts[path]-1)
			}
		}
		if _, seen := p.offset[path]; !seen {
			p.offset[path] = at
		}
		if e.Kind != unstable.KeyValue {
			table = path
			continue
		}
		if err := p.value(&parser, root, path, at, e.Value()); err != nil {
			return err
		}
	}
	if err := parser.Error(); err != nil {
		var pe *unstable.ParserError
		line, col, what := 0, 0, err.Error()
		if errors.As(err, &pe) {
			what = pe.Message
			if len(pe.Highlight) > 0 {
				line, col = lineCol(p.data, int(parser.Range(pe.Highlight).Offset))
			}
		}
		if line == 0 {
			line, col = lineCol(p.data, len(p.data))
		}
		return &Error{p.file, line, col, "text that is not TOML (" + what + ")", "valid TOML"}
	}
	return nil
}

var textUnmarshaler = reflect.TypeFor[encoding.TextUnmarshaler]()

// value notes the places inside one value and refuses a bare number for a
// quantity.
func (p *Places) value(parser *unstable.Parser, root reflect.Type, path string, at int, v *unstable.Node) error {
	if off := int(v.Raw.Offset); v.Raw.Length > 0 {
		at = off
	}
	p.offset[path] = at
	switch v.Kind {
	case unstable.Array:
		n := 0
		for it := v.Children(); it.Next(); {
			child := it.Node()
			if child.Kind == unstable.Comment {
				continue
			}
			if err := p.value(parser, root, fmt.Sprintf("%s[%d]", path, n), at, child); err != nil {
				return err
			}
			n++
		}
		return nil
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			kv := it.Node()
			sub, subAt := path, at
			for keys := kv.Key(); keys.Next(); {
				k := keys.Node()
				if off := int(k.Raw.Offset); k.Raw.Length > 0 {
					subAt = off
				}
				sub = join(sub, string(k.Data))
			}
			if err := p.value(parser, root, sub, subAt, kv.Value()); err != nil {
				return err
			}
		}
		return nil
	}
	want := typeAt(root, path)
	if want == nil || !reflect.PointerTo(want).Implements(textUnmarshaler) {
		return nil
	}
	text := string(v.Data)
	if v.Kind != unstable.String {
		return p.Error(path, fmt.Sprintf("%s = %s", lastKey(path), text), "a quantity in quotes with its unit, such as \"3700 mm\" or \"7500 kg\"")
	}
	if err := reflect.New(want).Interface().(encoding.TextUnmarshaler).UnmarshalText(v.Data); err != nil {
		found, expected := err.Error(), "a value this field can hold"
		if f, x, ok := strings.Cut(strings.TrimPrefix(found, "found "), "; expected "); ok {
			found, expected = f, x
		}
		return p.Error(path, lastKey(path)+" = "+found, expected)
	}
	return nil
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func lastKey(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }

// typeAt returns the Go type that holds the value at path, pointers taken off,
// or nil when the structs do not have it.
func typeAt(t reflect.Type, path string) reflect.Type {
	for _, part := range strings.Split(path, ".") {
		key, index, _ := strings.Cut(part, "[")
		for t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
		field, ok := fieldByKey(t, key)
		if !ok {
			return nil
		}
		t = field
		for t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if index != "" {
			if t.Kind() != reflect.Slice {
				return nil
			}
			t = t.Elem()
		}
	}
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t
}

func fieldByKey(t reflect.Type, key string) (reflect.Type, bool) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
		if name == key || (name == "" && strings.EqualFold(f.Name, key)) {
			return f.Type, true
		}
	}
	return nil, false
}

// Quote writes s as a TOML string.
func Quote(s string) string { return strconv.Quote(s) }
