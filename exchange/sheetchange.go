package exchange

import (
	"encoding"
	"fmt"
	"reflect"
	"strconv"

	"underpin/tomlfile"
	"underpin/vehicle"
)

// A Change is what differs in one vehicle or load of two fleets.
type Change struct {
	Kind   string        `json:"kind"` // tractor, semi-trailer, load; fleet for the file itself
	ID     string        `json:"id"`
	What   string        `json:"what"` // added, removed, changed; moved: only its place in the list
	Fields []FieldChange `json:"fields"`
}

// A FieldChange is one field that differs, by its path in the vehicle or load.
// What is unknown is empty.
type FieldChange struct {
	Field string `json:"field"`
	Was   string `json:"was"`
	Now   string `json:"now"`
}

// FleetChanges returns what one fleet has otherwise than another: in the order in
// which they stand now, and those that are gone last.
func FleetChanges(was, now *vehicle.Fleet) []Change {
	changes := []Change{}
	a, b := reflect.ValueOf(was).Elem(), reflect.ValueOf(now).Elem()
	file := Change{Kind: fileTable, What: "changed"}
	for i := range a.NumField() {
		key := vehicle.Key(a.Type().Field(i))
		if a.Field(i).Kind() != reflect.Slice {
			file.Fields = append(file.Fields, differ(flat(a.Field(i), key), flat(b.Field(i), key))...)
			continue
		}
		changes = append(changes, listChanges(key, a.Field(i), b.Field(i))...)
	}
	if len(file.Fields) > 0 {
		changes = append([]Change{file}, changes...)
	}
	return changes
}

func listChanges(kind string, was, now reflect.Value) []Change {
	var changes []Change
	id := func(v reflect.Value) string { return v.Field(0).String() }
	old, order := map[string]reflect.Value{}, map[string]int{}
	for i := range was.Len() {
		old[id(was.Index(i))], order[id(was.Index(i))] = was.Index(i), i
	}
	stay := 0 // how far the ones met so far reached in the old order
	kept := map[string]bool{}
	for i := range now.Len() {
		v := now.Index(i)
		kept[id(v)] = true
		before, had := old[id(v)]
		if !had {
			changes = append(changes, Change{kind, id(v), "added", differ(nil, flat(v, ""))})
			continue
		}
		fields := differ(flat(before, ""), flat(v, ""))
		switch {
		case len(fields) > 0:
			changes = append(changes, Change{kind, id(v), "changed", fields})
		case order[id(v)] < stay:
			changes = append(changes, Change{kind, id(v), "moved", []FieldChange{}})
		}
		stay = max(stay, order[id(v)])
	}
	for i := range was.Len() {
		if v := was.Index(i); !kept[id(v)] {
			changes = append(changes, Change{kind, id(v), "removed", differ(flat(v, ""), nil)})
		}
	}
	return changes
}

// A leaf is one value with its path.
type leaf struct{ path, text string }

// flat lists what is known in a value, each by its path.
func flat(v reflect.Value, path string) []leaf {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return nil
		}
		v = v.Elem()
		if v.Kind() == reflect.Struct && empty(v) {
			return []leaf{{path, "yes"}}
		}
		if v.Kind() == reflect.Bool {
			return []leaf{{path, strconv.FormatBool(v.Bool())}}
		}
	} else if unknown(v) {
		return nil
	}
	if m, ok := v.Interface().(encoding.TextMarshaler); ok {
		text, _ := m.MarshalText()
		return []leaf{{path, string(text)}}
	}
	var all []leaf
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			key := vehicle.Key(v.Type().Field(i))
			if path != "" {
				key = tomlfile.Join(path, key)
			}
			all = append(all, flat(v.Field(i), key)...)
		}
	case reflect.Slice:
		for i := range v.Len() {
			where := fmt.Sprintf("%s[%d]", path, i)
			if in := flat(v.Index(i), where); len(in) > 0 {
				all = append(all, in...)
			} else {
				all = append(all, leaf{where, "yes"})
			}
		}
	case reflect.Map:
		for _, name := range sortedKeys(v) {
			text, _ := writtenFact(v.MapIndex(reflect.ValueOf(name)).Interface())
			all = append(all, leaf{tomlfile.Join(path, name), text})
		}
	default:
		text := fmt.Sprint(v.Interface())
		all = append(all, leaf{path, text})
	}
	return all
}

// differ lists the values in which two lists differ.
func differ(was, now []leaf) []FieldChange {
	changes := []FieldChange{}
	old := map[string]string{}
	for _, l := range was {
		old[l.path] = l.text
	}
	had := map[string]bool{}
	for _, l := range now {
		had[l.path] = true
		if text, known := old[l.path]; !known || text != l.text {
			changes = append(changes, FieldChange{l.path, text, l.text})
		}
	}
	for _, l := range was {
		if !had[l.path] {
			changes = append(changes, FieldChange{l.path, l.text, ""})
		}
	}
	return changes
}
