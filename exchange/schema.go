package exchange

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"strings"

	"underpin/unit"
	"underpin/vehicle"
)

// The forms of a number as unit.Parse reads it. The spaces are the plain, the
// no-break, the thin and the narrow no-break one.
const (
	spaces   = " \u00a0\u2009\u202f"
	gap      = `[\s` + spaces + `]*`
	sign     = `[-+−]?`
	digits   = `[0-9]+([` + spaces + `][0-9]{3})*`
	unsigned = `(` + digits + `[.,]?[0-9]*|[.,][0-9]+)([eE][-+]?[0-9]+)?`
)

// quantityPattern is the form of a quantity in the file: a number and a unit of
// its kind, or feet with inches. It takes whatever the reader takes, and a little
// more (3,700 mm).
func quantityPattern(d unit.Dimension) string {
	symbols := unit.Symbols(d)
	for i, s := range symbols {
		symbols[i] = regexp.QuoteMeta(s)
	}
	form := unsigned + gap + `(` + strings.Join(symbols, "|") + `)`
	if d == unit.LengthDim {
		form += `|` + digits + gap + `(ft|')` + gap + unsigned + gap + `(in|")`
	}
	return `^` + gap + sign + `(` + form + `)` + gap + `$`
}

// FleetSchema returns the JSON Schema (2020-12) of the fleet file, made from
// the same Go types that the reader fills.
func FleetSchema() []byte {
	used := map[unit.Dimension]bool{}
	root := schemaOf(reflect.TypeFor[vehicle.Fleet](), used)
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "Underpin fleet file"
	defs := map[string]any{}
	for d := range used {
		defs[d.String()] = map[string]any{"type": "string", "pattern": quantityPattern(d)}
	}
	root["$defs"] = defs
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(root); err != nil {
		panic(err) // maps of strings cannot fail to encode
	}
	// Spaces that cannot be told from others are written so that they can.
	return []byte(strings.NewReplacer("\u00a0", `\u00a0`, "\u2009", `\u2009`, "\u202f", `\u202f`).Replace(b.String()))
}

// schemaOf returns the schema of a type and notes the quantities in it.
func schemaOf(t reflect.Type, used map[unit.Dimension]bool) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if dim := vehicle.Quantity(t); dim != unit.Number {
		used[dim] = true
		return map[string]any{"$ref": "#/$defs/" + dim.String()}
	}
	switch t.Kind() {
	case reflect.Struct:
		props := map[string]any{}
		for i := range t.NumField() {
			f := t.Field(i)
			s := schemaOf(f.Type, used)
			s["description"] = fieldText(f)
			if words := f.Tag.Get("oneof"); words != "" {
				s["enum"] = strings.Fields(words)
			}
			if s["type"] == "number" {
				for key, tag := range map[string]string{"minimum": "min", "maximum": "max"} {
					if bound, err := unit.Parse(f.Tag.Get(tag), unit.Number); err == nil {
						s[key] = bound
					}
				}
			}
			props[vehicle.Key(f)] = s
		}
		return map[string]any{"type": "object", "properties": props, "additionalProperties": false}
	case reflect.Slice:
		return map[string]any{"type": "array", "items": schemaOf(t.Elem(), used)}
	case reflect.Map:
		return factsSchema(used)
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	}
	return map[string]any{"type": "string"}
}

func fieldText(f reflect.StructField) string {
	s := f.Tag.Get("doc")
	if tape := f.Tag.Get("tape"); tape != "" {
		s += " How to take it: " + tape
	}
	if lo, hi := f.Tag.Get("min"), f.Tag.Get("max"); lo != "" || hi != "" {
		s += fmt.Sprintf(" Accepted: %s to %s.", lo, hi)
	}
	return s
}

// FleetFields returns the field list of the fleet file as Markdown, made from
// the same Go types that the reader fills.
func FleetFields() []byte {
	var b strings.Builder
	b.WriteString("# The fleet file, field by field\n\n" +
		"TOML. A quantity is written in quotes with its unit (`\"3700 mm\"`, `\"7.8 t\"`, `\"235 in\"`, `\"12ft 2in\"`, `\"11000 lb\"`); metric and US customary units mix freely. " +
		"What is left out is unknown and stays unknown. The bounds are there to catch a slip of the unit and are no limits of law.\n\n" +
		"An editor that knows JSON Schema can check the file while you type: [fleet.schema.json](fleet.schema.json). `underpin check FILE` checks more.\n\n" +
		"This page is made from the program's own types; do not edit it.\n")
	fieldList(&b, reflect.TypeFor[vehicle.Fleet]())
	factList(&b)
	return []byte(b.String())
}

// fieldList writes the fields of a file's type, table by table. A type that
// stands in several places is written once.
func fieldList(b *strings.Builder, t reflect.Type) {
	fieldTable(b, "", false, t, map[reflect.Type]string{})
}

// fieldTable writes the fields of one table and then the tables inside it.
func fieldTable(b *strings.Builder, name string, isList bool, t reflect.Type, done map[reflect.Type]string) {
	fmt.Fprintf(b, "\n## %s\n\n| field | what | how to take it | accepted |\n|---|---|---|---|\n", heading(name, isList))
	type sub struct {
		name   string
		isList bool
		t      reflect.Type
	}
	var subs []sub
	for i := range t.NumField() {
		f := t.Field(i)
		key := vehicle.Key(f)
		accepted, ft, list := accepts(f)
		if ft.Kind() == reflect.Struct {
			full := strings.TrimPrefix(name+"."+key, ".")
			accepted = "a table, see below"
			if list {
				accepted = "tables, see below"
			}
			if where, known := done[ft]; known {
				accepted = strings.Replace(accepted, "see below", "as "+where, 1)
			} else {
				done[ft] = heading(full, list)
				subs = append(subs, sub{full, list, ft})
			}
		}
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", key, f.Tag.Get("doc"), f.Tag.Get("tape"), accepted)
	}
	for _, s := range subs {
		fieldTable(b, s.name, s.isList, s.t, done)
	}
}

// heading writes a table's name as the file does.
func heading(name string, isList bool) string {
	switch {
	case isList:
		return "`[[" + name + "]]`"
	case name != "":
		return "`[" + name + "]`"
	}
	return "The file itself"
}

// accepts says in words what a field takes, and returns its type without
// pointers and lists.
func accepts(f reflect.StructField) (words string, t reflect.Type, isList bool) {
	t = f.Type
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		isList = isList || t.Kind() == reflect.Slice
		t = t.Elem()
	}
	bounds := ""
	if lo := f.Tag.Get("min"); lo != "" {
		bounds = ", " + lo + " to " + f.Tag.Get("max")
	}
	dim := vehicle.Quantity(t)
	switch oneof := f.Tag.Get("oneof"); {
	case oneof != "":
		words = "one of " + strings.ReplaceAll(oneof, " ", ", ")
	case dim == unit.AngleDim || dim == unit.AccelDim || dim == unit.AreaDim:
		words = "an " + dim.String() + bounds
	case dim != unit.Number:
		words = "a " + dim.String() + bounds
	case t.Kind() == reflect.Bool:
		words = "true or false"
	case t.Kind() == reflect.Float64:
		words = "a number" + bounds
	case t.Kind() == reflect.Map:
		words = "a table, see Facts below"
	case isList:
		words = "a list of texts"
	default:
		words = "text"
	}
	return words, t, isList
}
