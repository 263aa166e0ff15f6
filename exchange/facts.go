package exchange

import (
	"fmt"
	"strings"

	"underpin/assess"
	"underpin/rule"
	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// wrongs lists everything that is wrong with what a file holds: what its type
// finds in itself, and the facts that it declares, of which only the rulebooks
// know.
func wrongs(file sound) []*vehicle.FieldError {
	errs := file.Validate()
	f := fleetIn(file)
	if f == nil {
		return errs
	}
	check := func(path string, facts map[string]any) {
		for name, v := range facts {
			if day, isDate := v.(tomlfile.Date); isDate { // every other form writes it as text
				facts[name] = day.String()
			}
		}
		_, bad := assess.DeclaredFacts(facts)
		for _, e := range bad {
			errs = append(errs, &vehicle.FieldError{Path: tomlfile.Join(path, e.Fact), Found: e.Found, Expected: e.Expected})
		}
	}
	check("facts", f.Facts)
	for i := range f.Loads {
		check(fmt.Sprintf("load[%d].facts", i), f.Loads[i].Facts)
	}
	return errs
}

// fleetIn is the fleet that a file holds, or nil.
func fleetIn(file sound) *vehicle.Fleet {
	switch f := file.(type) {
	case *vehicle.Fleet:
		return f
	case *Register:
		return &f.Fleet
	}
	return nil
}

// dropFacts takes the facts of the whole file out that nobody can declare.
func dropFacts(file sound) {
	if f := fleetIn(file); f != nil {
		_, bad := assess.DeclaredFacts(f.Facts)
		for _, e := range bad {
			delete(f.Facts, e.Fact)
		}
	}
}

// factsSchema is the JSON Schema of a table of facts: what a file may declare, and
// nothing else.
func factsSchema(used map[unit.Dimension]bool) map[string]any {
	props := map[string]any{}
	for _, i := range assess.DeclarableFacts() {
		p := map[string]any{"description": i.Meaning, "type": "string"}
		switch i.Kind {
		case rule.Flag:
			p["type"] = "boolean"
		case rule.Count:
			p["type"], p["minimum"] = "number", 0
		case rule.Date:
			p["pattern"] = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
		case rule.Measure:
			used[i.Dim] = true
			p = map[string]any{"description": i.Meaning, "$ref": "#/$defs/" + i.Dim.String()}
		case rule.Word:
			if len(i.Words) > 0 {
				p["enum"] = i.Words
			}
		}
		props[i.Name] = p
	}
	return map[string]any{"type": "object", "properties": props, "additionalProperties": false}
}

// factList writes the facts that a file may declare, each with its meaning.
func factList(b *strings.Builder) {
	b.WriteString("\n## Facts\n\nWhat `[facts]` holds for the whole file, and `[load.facts]` for one load. " +
		"Everything else that a law asks for follows from the vehicles' own data, and declaring it is an error that names the field. " +
		"A fact that is not declared is unknown: where a limit hangs on it, the answer says so.\n\n" +
		"| fact | what | how to take it | accepted |\n|---|---|---|---|\n")
	for _, i := range assess.DeclarableFacts() {
		var accepted string
		switch i.Kind {
		case rule.Flag:
			accepted = "true or false"
		case rule.Count:
			accepted = "a number from 0 up"
		case rule.Date:
			accepted = "a date such as `\"2026-05-31\"`"
		case rule.Measure:
			accepted = "a " + i.Dim.String()
		case rule.Word:
			accepted = "one of " + strings.Join(i.Words, ", ")
			if len(i.Words) == 0 {
				accepted = "a word"
			}
		}
		fmt.Fprintf(b, "| `%s` | %s |  | %s |\n", i.Name, i.Meaning, accepted)
	}
}
