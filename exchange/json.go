package exchange

import (
	"bytes"
	"encoding"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"

	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// WriteJSON writes a file as JSON: the structure and the names of the fleet file,
// quantities as text with their unit, what is unknown left out. ParseJSON reads it
// back unchanged.
func WriteJSON(file any) ([]byte, error) {
	w := jsonWriter{}
	w.write(reflect.Indirect(reflect.ValueOf(file)), "")
	if w.err != nil {
		return nil, w.err
	}
	var b bytes.Buffer
	if err := json.Indent(&b, w.Bytes(), "", "  "); err != nil {
		return nil, err
	}
	return append(b.Bytes(), '\n'), nil
}

type jsonWriter struct {
	bytes.Buffer
	err error
}

func (w *jsonWriter) encode(v any) {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil && w.err == nil {
		w.err = err
	}
}

func (w *jsonWriter) write(v reflect.Value, path string) {
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if m, ok := v.Interface().(encoding.TextMarshaler); ok {
		text, err := m.MarshalText()
		if err != nil && w.err == nil {
			w.err = fmt.Errorf("%s: %w", path, err)
		}
		w.encode(string(text))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		w.WriteByte('{')
		w.fields(v, path, true)
		w.WriteByte('}')
	case reflect.Slice:
		w.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				w.WriteByte(',')
			}
			w.write(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
		w.WriteByte(']')
	case reflect.Map:
		w.WriteByte('{')
		for i, name := range sortedKeys(v) {
			if i > 0 {
				w.WriteByte(',')
			}
			w.encode(name)
			w.WriteByte(':')
			w.fact(v.MapIndex(reflect.ValueOf(name)).Interface(), tomlfile.Join(path, name))
		}
		w.WriteByte('}')
	default:
		w.encode(v.Interface())
	}
}

// fields writes the fields of a struct that are known, and tells whether there
// were none so far.
func (w *jsonWriter) fields(v reflect.Value, path string, first bool) bool {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		key := vehicle.Key(f)
		if f.Anonymous && key == "" {
			first = w.fields(v.Field(i), path, first)
			continue
		}
		if key == "" || key == "-" || !f.IsExported() || unknown(v.Field(i)) {
			continue
		}
		if !first {
			w.WriteByte(',')
		}
		first = false
		w.encode(key)
		w.WriteByte(':')
		if u, own := unit.Lookup(f.Tag.Get("unit")); own && u.Dim != unit.Number {
			w.encode(unit.Text(reflect.Indirect(v.Field(i)).Float(), u))
			continue
		}
		w.write(v.Field(i), tomlfile.Join(path, key))
	}
	return first
}

// unknown tells what the fleet file leaves out. A quantity that is always known
// may be 0.
func unknown(v reflect.Value) bool {
	if vehicle.Quantity(v.Type()) != unit.Number {
		return false
	}
	if v.Kind() == reflect.Struct && !isText(v.Type()) {
		return empty(v)
	}
	return v.IsZero() || (v.Kind() == reflect.Slice || v.Kind() == reflect.Map) && v.Len() == 0
}

// fact writes the value of a fact. A number that is not whole by kind keeps its
// point, and one that is no number at all is written as the word that it is.
func (w *jsonWriter) fact(v any, path string) {
	switch v := v.(type) {
	case bool, string:
		w.encode(v)
	case int64:
		w.WriteString(strconv.FormatInt(v, 10))
	case int:
		w.WriteString(strconv.Itoa(v))
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			w.err = fmt.Errorf("%s: %v, which JSON cannot hold; expected a number, or the fact left out", path, v)
			return
		}
		w.WriteString(decimal(v))
	default:
		w.err = fmt.Errorf("%s: %v; expected true, false, a number or a word", path, v)
	}
}
