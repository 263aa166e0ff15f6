package tomlfile

import (
	"encoding"
	"reflect"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// plain takes the pointers off a type. A type that takes anything is nil.
func plain(t reflect.Type) reflect.Type {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nil || t.Kind() == reflect.Interface {
		return nil
	}
	return t
}

// element returns what a list holds.
func element(t reflect.Type) reflect.Type {
	if t != nil && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array) {
		return plain(t.Elem())
	}
	return nil
}

// fieldsOf yields the fields of a table. Those of an embedded struct without a name
// of its own stand beside its others.
func fieldsOf(t reflect.Type, yield func(reflect.StructField)) {
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous && f.Tag.Get("toml") == "" && f.Type.Kind() == reflect.Struct {
			fieldsOf(f.Type, yield)
			continue
		}
		yield(f)
	}
}

// keyOf returns the key of a field, or nothing for one that no file fills.
func keyOf(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
	switch {
	case !f.IsExported() || name == "-":
		return ""
	case name == "":
		return strings.ToLower(f.Name)
	}
	return name
}

// keysOf lists the keys that a table takes.
func keysOf(t reflect.Type) string {
	keys := make([]string, 0, t.NumField())
	fieldsOf(t, func(f reflect.StructField) {
		if name := keyOf(f); name != "" {
			keys = append(keys, name)
		}
	})
	return strings.Join(keys, ", ")
}

var (
	textUnmarshaler = reflect.TypeFor[encoding.TextUnmarshaler]()
	dateType        = reflect.TypeFor[Date]()
)

// isText tells a type that is written as text with a meaning, as quantities are.
func isText(t reflect.Type) bool { return reflect.PointerTo(t).Implements(textUnmarshaler) }

func isTable(t reflect.Type) bool {
	return t == nil || !isText(t) && (t.Kind() == reflect.Struct || t.Kind() == reflect.Map)
}

func isList(t reflect.Type) bool {
	return t == nil || !isText(t) && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array)
}

var kindWords = map[unstable.Kind]string{
	unstable.Array: "a TOML array", unstable.InlineTable: "a TOML table", unstable.String: "a TOML string",
	unstable.Bool: "a TOML boolean", unstable.Float: "a TOML float", unstable.Integer: "a TOML integer",
	unstable.LocalDate: "a TOML date", unstable.LocalTime: "a TOML time",
	unstable.LocalDateTime: "a TOML date-time", unstable.DateTime: "a TOML date-time",
}

// takes tells whether a type can hold a value of a kind.
func takes(t reflect.Type, k unstable.Kind) bool {
	switch {
	case t == nil:
		return true
	case t == dateType:
		return k == unstable.LocalDate || k == unstable.String
	case isText(t):
		return k == unstable.String
	}
	switch t.Kind() {
	case reflect.String:
		return k == unstable.String
	case reflect.Bool:
		return k == unstable.Bool
	case reflect.Float32, reflect.Float64:
		return k == unstable.Float || k == unstable.Integer
	case reflect.Slice, reflect.Array:
		return k == unstable.Array
	case reflect.Struct, reflect.Map:
		return k == unstable.InlineTable
	}
	return k == unstable.Integer
}

// wanted says in words what may stand under a key of a type.
func wanted(key string, t reflect.Type) string {
	switch {
	case t == nil:
		return "any value"
	case t == dateType:
		return "a date such as 2024-05-31"
	case isText(t):
		_, expected, _ := wording(reflect.New(t).Interface().(encoding.TextUnmarshaler).UnmarshalText(nil))
		return inQuotes(expected)
	}
	switch t.Kind() {
	case reflect.String:
		return "text in quotes"
	case reflect.Bool:
		return "true or false"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		of := element(t)
		if of != nil && isTable(of) {
			return "a list of tables, [[" + key + "]]"
		}
		return "a list in square brackets, each entry " + wanted(key, of)
	case reflect.Struct:
		return "a table with the keys " + keysOf(t)
	case reflect.Map:
		return "a table"
	}
	return "a whole number"
}

// wording takes apart an error that is worded "found …; expected …".
func wording(err error) (found, expected string, worded bool) {
	if err == nil {
		return "", "", false
	}
	rest, worded := strings.CutPrefix(err.Error(), "found ")
	found, expected, cut := strings.Cut(rest, "; expected ")
	return found, expected, worded && cut
}

// inQuotes adds to "a length with its unit, such as 3700mm or 3.7m" the quotes
// that it needs in a file.
func inQuotes(expected string) string {
	what, examples, ok := strings.Cut(expected, " with its unit, such as ")
	if !ok {
		return strings.TrimSuffix("text in quotes, "+expected, ", ")
	}
	examples = strings.NewReplacer(", ", `", "`, " or ", `" or "`).Replace(examples)
	return what + ` in quotes with its unit, such as "` + examples + `"`
}

// show prints a value as far as an error has room for it.
func show(v *unstable.Node) string {
	const most = 40
	text := string(v.Data)
	switch v.Kind {
	case unstable.Array:
		return "[…]"
	case unstable.InlineTable:
		return "{…}"
	case unstable.String:
		if r := []rune(text); len(r) > most {
			return strconv.Quote(string(r[:most])) + "…"
		}
		return strconv.Quote(text)
	}
	if len(text) > most {
		return text[:most] + "…"
	}
	return text
}
