package formula_test

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"underpin/formula"
	"underpin/unit"
)

// outputUnits is what other programs read of each calculation that they rely on:
// every output with its unit, as the stable contract has it: kg, m, kN, N.m, deg or
// the law's own; "-" is a pure number, a truth or a word. Rates of wear are bare, in mm
// per 100 000 km; a stress area has no unit in the contract's list and is mm2.
var outputUnits = map[string]string{
	"d-value":             "d:kN",
	"d-value-limits":      "trailer-max:kg unlimited:-",
	"dc-value":            "dc:kN",
	"v-value":             "v:kN",
	"axle-loads":          "imposed:kg front:kg rear:kg bogie:kg gross:kg",
	"chain-loads":         "v1:kg v2:kg v3:kg b1:kg b2:kg b3:kg",
	"bogie-line":          "line:m",
	"load-centre":         "mass:kg at:m",
	"payload-limit":       "payload:kg governed-by:-",
	"lead-range":          "min:m max:m caution:-",
	"landing-legs":        "legs:kg bogie:kg tips:- leg-use:-",
	"braking-transfer":    "imposed:kg thrust:kN front:kg rear:kg bogie:kg",
	"bridge-formula":      "limit:lb",
	"reference-wheelbase": "limit:m",
	"axle-group-limit":    "limit:kg",
	"turn-steady":         "inner:m outer:m ring:m articulation:deg",
	"turn":                "inner-axle:m inner-body:m swing-out:m articulation-end:deg articulation-max:deg",
	"offtracking":         "offtracking:m",
	"swing-radius":        "radius:m",
	"cab-gap":             "reach:m gap:m",
	"trailer-tilt":        "tilt:deg front-top:m rear-top:m",
	"roll-threshold":      "g:-",
	"bolt":                "area:mm2 proof:kN preload:kN torque:N.m",
	"slip-check":          "resistance:kN use:-",
	"pin-and-lock":        "pin-wear:m lock-play:m",
	"wear-line":           "rate:- nominal-distance:m assured-distance:m",
	"wear-forecast":       "wear:m rate:- q05:m q10:m q50:m q90:m q95:m",
}

// The JSON of every calculation in the contract has the fields, outputs and units that
// other programs rely on.
func TestContractOfTheJSON(t *testing.T) {
	for _, row := range contract {
		want := map[string]string{}
		for pair := range strings.FieldsSeq(outputUnits[row.name]) {
			name, symbol, _ := strings.Cut(pair, ":")
			want[name] = strings.TrimPrefix(symbol, "-")
		}
		c, err := formula.Find(row.name)
		if err != nil || len(want) == 0 {
			t.Errorf("%s: %v, %d outputs expected", row.name, err, len(want))
			continue
		}
		args, result, err := c.Answer(c.Example())
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		text, err := json.Marshal(formula.Answer{Args: args, Result: result})
		if err != nil {
			t.Fatal(err)
		}
		var fields map[string]json.RawMessage
		var a answer
		if err := json.Unmarshal(text, &fields); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &a); err != nil {
			t.Fatal(err)
		}
		for _, f := range []string{"name", "inputs", "outputs", "formula", "source", "working"} {
			if _, there := fields[f]; !there {
				t.Errorf("%s: no %q", row.name, f)
			}
		}
		got := map[string]string{}
		for name, o := range a.Outputs {
			got[name] = o.Unit
		}
		if row.name == "axle-group-limit" { // in the unit of whichever law is asked
			if u, known := unit.Lookup(got["limit"]); !known || u.Dim != unit.MassDim {
				t.Errorf("axle-group-limit is in %q", got["limit"])
			}
			continue
		}
		if !maps.Equal(got, want) {
			t.Errorf("%s gives %v, the contract says %v", row.name, got, want)
		}
	}
}

// No output of any calculation leaves these units in JSON, neither in an answer nor in
// the list from which a program builds a form.
func TestUnitsForPrograms(t *testing.T) {
	allowed := []string{"", "kg", "m", "kN", "N.m", "deg", "lb", "ft", "in", "mm2", "MPa", "km/h"}
	text, err := json.Marshal(formula.List())
	if err != nil {
		t.Fatal(err)
	}
	var list struct {
		Calculations []struct {
			Name    string
			Outputs []struct{ Name, Unit string }
		}
	}
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	for i, c := range list.Calculations {
		for _, o := range c.Outputs {
			if !slices.Contains(allowed, o.Unit) {
				t.Errorf("%s is listed to give %s in %q", c.Name, o.Name, o.Unit)
			}
		}
		a := ask(t, c.Name, strings.Join(formula.All()[i].Example(), " "))
		for name, o := range a.Outputs {
			if !slices.Contains(append(allowed, "t"), o.Unit) {
				t.Errorf("%s gives %s in %q", c.Name, name, o.Unit)
			}
		}
	}
}

// A length that people read in millimetres or kilometres is the same in metres.
// Source: handbook chapter 05, section 8: 49.4 mm of 50.8 mm is 1.4 mm of wear.
func TestLengthsForProgramsAreMetres(t *testing.T) {
	a := ask(t, "pin-and-lock", "nominal=50.8mm measured=49.4mm play=2.6mm")
	if o := a.Outputs["pin-wear"]; o.Unit != "m" {
		t.Errorf("pin-wear in %q", o.Unit)
	} else if why := differs(o.Value, o.Unit, "1.4mm"); why != "" {
		t.Error(why)
	}
}
