package fleet

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"underpin/record"
	"underpin/unit"
	"underpin/vehicle"
)

// A Dolly has the fields of a dolly: a chassis with a drawbar and a fifth wheel
// that turns a semi-trailer into a full trailer. Its x runs from the drawbar eye
// rearwards, axles and fifth wheel alike.
type Dolly struct {
	ID         string             `toml:"id,omitempty" doc:"Short name used on the command line; small letters, digits and hyphens."`
	Name       string             `toml:"name,omitempty" doc:"Name shown to people."`
	Note       string             `toml:"note,omitempty" doc:"Anything a reader should know."`
	Axles      []vehicle.Axle     `toml:"axle,omitempty" doc:"The axles, front to rear; at is measured from the drawbar eye."`
	GrossPlate *unit.Mass         `toml:"gross-plate,omitempty" doc:"Permissible gross mass of the dolly, the load on its fifth wheel included." tape:"Statutory plate." min:"3 t" max:"150 t"`
	Width      *unit.Length       `toml:"width,omitempty" doc:"Overall width." tape:"Across the widest point." min:"1.5 m" max:"4 m"`
	FifthWheel vehicle.FifthWheel `toml:"fifth-wheel,omitempty" doc:"The fifth wheel on this dolly; at is measured from the drawbar eye."`
}

// fill reads JSON into a struct of the fleet file, by the names that the file
// uses, and reports everything that does not fit.
func fill(v reflect.Value, raw json.RawMessage, path string, bad func(where, found, expected string)) {
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), raw, path, bad)
		return
	}
	if text, ok := v.Addr().Interface().(encoding.TextUnmarshaler); ok {
		fillText(text, raw, path, bad)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		fillStruct(v, raw, path, bad)
	case reflect.Slice:
		var items []json.RawMessage
		if json.Unmarshal(raw, &items) != nil {
			bad(path, show(raw), "a list")
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
		for i, item := range items {
			fill(v.Index(i), item, fmt.Sprintf("%s[%d]", path, i), bad)
		}
	default:
		want := map[reflect.Kind]string{reflect.String: "text", reflect.Bool: "true or false", reflect.Float64: "a number", reflect.Map: "a table"}[v.Kind()]
		if string(raw) == "null" || json.Unmarshal(raw, v.Addr().Interface()) != nil {
			bad(path, show(raw), want)
		}
	}
}

func fillText(into encoding.TextUnmarshaler, raw json.RawMessage, path string, bad func(where, found, expected string)) {
	var s string
	text := json.Unmarshal(raw, &s) == nil && string(raw) != "null"
	err := into.UnmarshalText([]byte(s))
	if text && err == nil {
		return
	}
	found, expected := show(raw), "text"
	if parse, ok := errors.AsType[*unit.ParseError](err); ok {
		expected = parse.Expected
		if text {
			found = strconv.Quote(parse.Found) + ", " + parse.Why
		}
	}
	bad(path, found, expected)
}

func fillStruct(v reflect.Value, raw json.RawMessage, path string, bad func(where, found, expected string)) {
	var members map[string]json.RawMessage
	if json.Unmarshal(raw, &members) != nil || members == nil {
		bad(path, show(raw), "a table with the fields "+strings.Join(keysOf(v.Type()), ", "))
		return
	}
	for _, name := range slices.Sorted(maps.Keys(members)) {
		where := joined(path, name)
		i := slices.Index(keysOf(v.Type()), name)
		if i < 0 {
			bad(where, "a field that is not known", "one of "+strings.Join(keysOf(v.Type()), ", "))
			continue
		}
		fill(v.Field(i), members[name], where, bad)
	}
}

func joined(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// keysOf lists the fleet file's names of a struct's fields, in their order.
func keysOf(t reflect.Type) []string {
	keys := make([]string, t.NumField())
	for i := range keys {
		keys[i] = vehicle.Key(t.Field(i))
	}
	return keys
}

// show prints JSON as far as an error has room for it.
func show(raw json.RawMessage) string {
	const most = 60
	var s string
	if json.Unmarshal(raw, &s) == nil && string(raw) != "null" {
		raw = json.RawMessage(strconv.Quote(s))
	}
	if r := []rune(string(raw)); len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(raw)
}

// fieldsOf writes a struct of the fleet file as fields of a record. What is
// unknown is left out.
func fieldsOf(v reflect.Value) record.Fields {
	fields := record.Fields{}
	for i, key := range keysOf(v.Type()) {
		if raw, have := written(v.Field(i)); have {
			fields[key] = raw
		}
	}
	return fields
}

func written(v reflect.Value) (raw json.RawMessage, have bool) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil, false
		}
		if v.Elem().Kind() == reflect.Struct {
			return table(v.Elem()), true
		}
		return encoded(v.Interface()), true
	case reflect.Struct:
		t := table(v)
		return t, string(t) != "{}"
	case reflect.Slice:
		if v.Len() == 0 {
			return nil, false
		}
		if v.Type().Elem().Kind() != reflect.Struct {
			return encoded(v.Interface()), true
		}
		items := make([]json.RawMessage, v.Len())
		for i := range items {
			items[i] = table(v.Index(i))
		}
		return encoded(items), true
	}
	if v.IsZero() {
		return nil, false
	}
	return encoded(v.Interface()), true
}

func table(v reflect.Value) json.RawMessage { return encoded(fieldsOf(v)) }

// encoded is JSON without the escapes that only HTML needs.
func encoded(v any) json.RawMessage {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic("fleet: a value of the fleet file cannot be written: " + err.Error())
	}
	return bytes.TrimSpace(b.Bytes())
}

// same tells whether two values in JSON say the same.
func same(a, b json.RawMessage) bool {
	if bytes.Equal(a, b) {
		return true
	}
	if len(a) == 0 || len(b) == 0 {
		return false
	}
	var x, y any
	return json.Unmarshal(a, &x) == nil && json.Unmarshal(b, &y) == nil && reflect.DeepEqual(x, y)
}
