package record

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"
)

// Fields are the members of a JSON object, values as they were written.
type Fields map[string]json.RawMessage

// Changes is the body of every kind that changes what was said when its asset
// was added. It holds only what changes, so that a correction of the first
// record shows through where nothing was said since.
type Changes struct {
	// Set holds new values by the member names of the body that added the asset.
	// Within the member fields, which holds the fleet file's fields, they are set
	// one by one; every other member is replaced whole.
	Set Fields `json:"set,omitempty"`
	// Clear names members that are unknown from now on; fields.width is one of
	// the fleet file's fields.
	Clear []string `json:"clear,omitempty"`
}

// overlay carries the changes out on the members of an asset.
func (c Changes) overlay(on Fields) error {
	for name, value := range c.Set {
		if name != fleetFields {
			on[name] = value
			continue
		}
		var was, now Fields
		if err := json.Unmarshal(value, &now); err != nil {
			return err
		}
		if had := on[name]; had != nil {
			if err := json.Unmarshal(had, &was); err != nil {
				return err
			}
		}
		if was == nil {
			was = Fields{}
		}
		maps.Copy(was, now)
		whole, err := marshal(was)
		if err != nil {
			return err
		}
		on[name] = whole
	}
	for _, name := range c.Clear {
		inner, nested := strings.CutPrefix(name, fleetFields+".")
		if !nested {
			delete(on, name)
			continue
		}
		var was Fields
		if had := on[fleetFields]; had != nil {
			if err := json.Unmarshal(had, &was); err != nil {
				return err
			}
			delete(was, inner)
			whole, err := marshal(was)
			if err != nil {
				return err
			}
			on[fleetFields] = whole
		}
	}
	return nil
}

// fleetFields is the member whose own members change one by one.
const fleetFields = "fields"

// A detail is a body that adds an asset and whose members may change later.
type detail interface {
	Body
	// part checks the members that are there.
	part() error
}

// checkFor tells whether the changes make sense for members of T, of which some
// can never change and some can never be cleared.
func checkFor[T detail](c Changes, fixed, needed []string) error {
	if len(c.Set)+len(c.Clear) == 0 {
		return &RuleError{Field: "set", Found: "nothing", Want: "what changes"}
	}
	for _, name := range slices.Sorted(maps.Keys(c.Set)) {
		if slices.Contains(fixed, name) {
			return &RuleError{Field: "set." + name, Found: "a change", Want: "a correction of the record that added it: this never changes"}
		}
		if v := string(c.Set[name]); v == "null" || v == "" {
			return &RuleError{Field: "set." + name, Found: "null", Want: "a value, or the name under clear"}
		}
	}
	known := members(reflect.TypeFor[T]())
	for i, name := range c.Clear {
		inner, nested := strings.CutPrefix(name, fleetFields+".")
		switch {
		case slices.Contains(c.Clear[:i], name):
			return &RuleError{Field: "clear", Found: quote(name) + " twice", Want: "each name once"}
		case nested && known[fleetFields] && slug(inner):
		case !known[name] || nested:
			return &RuleError{Field: "clear", Found: quote(name), Want: "one of " + strings.Join(slices.Sorted(maps.Keys(known)), " ")}
		case slices.Contains(fixed, name) || slices.Contains(needed, name):
			return &RuleError{Field: "clear", Found: quote(name), Want: "a name that may be unknown"}
		}
		if _, both := c.Set[name]; both {
			return &RuleError{Field: "clear", Found: quote(name), Want: "a name that is not set as well"}
		}
	}
	whole, err := marshal(c.Set)
	if err != nil {
		return &RuleError{Field: "set", Found: err.Error(), Want: "JSON"}
	}
	var details T
	if err := strict(whole, &details); err != nil {
		return inField("set", err)
	}
	return inField("set", details.part())
}

// members lists the JSON names of a struct.
func members(t reflect.Type) map[string]bool {
	names := map[string]bool{}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name != "" {
			names[name] = true
		}
	}
	return names
}
