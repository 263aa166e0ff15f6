package exchange

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"underpin/unit"
	"underpin/vehicle"
)

// quantityPattern is the form of a quantity in the file: number, unit.
const quantityPattern = `^[-+−]?[0-9][0-9 .,]*(e[-+]?[0-9]+)? ?[^0-9 ].*$`

// FleetSchema returns the JSON Schema (2020-12) of the fleet file, made from
// the same Go types that the reader fills.
func FleetSchema() []byte {
	root := schemaOf(reflect.TypeFor[vehicle.Fleet]())
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "Underpin fleet file"
	b, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		panic(err) // maps of strings cannot fail to encode
	}
	return append(b, '\n')
}

func schemaOf(t reflect.Type) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if dim := quantityOf(t); dim != unit.Number {
		return map[string]any{"type": "string", "pattern": quantityPattern}
	}
	switch t.Kind() {
	case reflect.Struct:
		props := map[string]any{}
		for i := range t.NumField() {
			f := t.Field(i)
			key := vehicle.Key(f)
			s := schemaOf(f.Type)
			s["description"] = fieldText(f)
			if words := f.Tag.Get("oneof"); words != "" {
				s["enum"] = strings.Fields(words)
			}
			props[key] = s
		}
		return map[string]any{"type": "object", "properties": props, "additionalProperties": false}
	case reflect.Slice:
		return map[string]any{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": map[string]any{"type": []string{"string", "number", "boolean"}}}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	}
	return map[string]any{"type": "string"}
}

func quantityOf(t reflect.Type) unit.Dimension {
	switch t {
	case reflect.TypeFor[unit.Length]():
		return unit.LengthDim
	case reflect.TypeFor[unit.Mass]():
		return unit.MassDim
	case reflect.TypeFor[unit.Force]():
		return unit.ForceDim
	case reflect.TypeFor[unit.Angle]():
		return unit.AngleDim
	}
	return unit.Number
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
		"TOML. A quantity is written in quotes with its unit (`\"3700 mm\"`, `\"7.8 t\"`, `\"235 in\"`, `\"11000 lb\"`); metric and US customary units mix freely. " +
		"What is left out is unknown and stays unknown. Made from the program's own types: `underpin check --fields`.\n")
	fieldTable(&b, "", reflect.TypeFor[vehicle.Fleet](), map[reflect.Type]bool{})
	return []byte(b.String())
}

func fieldTable(b *strings.Builder, name string, t reflect.Type, done map[reflect.Type]bool) {
	if done[t] {
		return
	}
	done[t] = true
	title := "The file itself"
	if name != "" {
		title = "`[" + name + "]`"
	}
	fmt.Fprintf(b, "\n## %s\n\n| field | what | how to take it | accepted |\n|---|---|---|---|\n", title)
	type sub struct {
		name string
		t    reflect.Type
	}
	var subs []sub
	for i := range t.NumField() {
		f := t.Field(i)
		key := vehicle.Key(f)
		accepted := strings.ReplaceAll(f.Tag.Get("oneof"), " ", ", ")
		if lo := f.Tag.Get("min"); lo != "" {
			accepted = lo + " to " + f.Tag.Get("max")
		}
		ft := f.Type
		for ft.Kind() == reflect.Pointer || ft.Kind() == reflect.Slice {
			ft = ft.Elem()
		}
		full := strings.TrimPrefix(name+"."+key, ".")
		if ft.Kind() == reflect.Struct && quantityOf(ft) == unit.Number {
			subs = append(subs, sub{full, ft})
			accepted = "see below"
		}
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", key, f.Tag.Get("doc"), f.Tag.Get("tape"), accepted)
	}
	for _, s := range subs {
		fieldTable(b, s.name, s.t, done)
	}
}
