package exchange_test

import (
	"strings"
	"testing"

	"underpin/exchange"
	"underpin/vehicle"
)

func FuzzParseJSON(f *testing.F) {
	sound, _ := parseYard(yard())
	data, err := exchange.WriteJSON(sound)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(data))
	f.Add(`{"tractor":[{"id":"a","axle":[{"kind":"steer"},{"at":"3.7 m","kind":"drive"}],"width":null}],"facts":{"a":1.0,"b":"c"}}`)
	f.Fuzz(func(t *testing.T, text string) {
		back, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(text))
		soundOrTold(t, back, problems, func(v *vehicle.Fleet) (*vehicle.Fleet, error) { return jsonTrip(v) })
	})
}

func TestParseJSONProblems(t *testing.T) {
	const good = `{
  "law": "eu",
  "tractor": [
    {"id": "a", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}], "gross-plate": "18 t"},
    {"id": "b", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}]}
  ],
  "facts": {"intermodal": false, "container-ft": 45}
}`
	if f, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(good)); len(problems) > 0 || len(f.Tractors) != 2 || f.Facts["container-ft"] != int64(45) {
		t.Fatal(f, problems)
	}
	for _, tt := range []struct{ name, old, new, where, found, expected, left string }{
		{"a bare number", `"18 t"`, "18000", "f.json:4:97 (tractor[0].gross-plate)", "18000", "a mass with its unit", "b"},
		{"no unit", `"18 t"`, `"18000"`, "f.json:4:97 (tractor[0].gross-plate)", `"18000", the unit is missing`, "a mass", "b"},
		{"out of range", `"18 t"`, `"18 kg"`, "f.json:4:97 (tractor[0].gross-plate)", "18 kg", "2 t to 60 t", "b"},
		{"null is unknown", `"18 t"`, `null`, "", "", "", "a b"},
		{"an unknown field", `gross-plate`, `gross-plait`, "f.json:4:82 (tractor[0])", `"gross-plait"`, "perhaps gross-plate", "b"},
		{"a field twice", `"gross-plate": "18 t"`, `"id": "c"`, "f.json:4:82 (tractor[0].id)", "a second time", "once", "b"},
		{"an unknown field of the file", `"law"`, `"lore"`, "f.json:2:3", `"lore"`, "one of name, law", ""},
		{"a list for a table", `{"id": "b", "axle": [{"kind": "steer"}, {"at": "3700 mm", "kind": "drive"}]}`, `["b"]`, "f.json:5:5 (tractor[1])", `["b"]`, "a table with the fields id", "a"},
		{"a table for a list", `"tractor": [`, `"semi-trailer": {}, "tractor": [`, "f.json:3:19 (semi-trailer)", "{}", "a list", "a b"},
		{"a fact that is a list", "45", "[45]", "f.json:7:50 (facts.container-ft)", "[45]", "a number", "a b"},
		{"an axle that is wrong", `"3700 mm", "kind": "drive"}], "gross`, `"0 m", "kind": "drive"}], "gross`, "f.json:4:45 (tractor[0].axle[1])", "not behind", "front to rear", "b"},
		{"an id twice", `"b"`, `"a"`, "f.json:5:12 (tractor[1].id)", "a second time", "its own", "a"},
		{"half a file", "],\n  \"facts\": {\"intermodal\": false, \"container-ft\": 45}\n}", "", "f.json:6:3", "ends too early", "valid JSON", ""},
		{"something behind", "45}\n}", "45}\n} {}", "f.json:8:3", "behind the end", "the end", ""},
		{"not UTF-8", "eu", "\xff", "f.json:2:11", "0xFF", "UTF-8", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(good, tt.old, tt.new, 1)
			if text == good {
				t.Fatal("nothing was changed")
			}
			f, problems := exchange.ParseJSON[vehicle.Fleet]("f.json", []byte(text))
			if got := ids(f); got != tt.left {
				t.Errorf("left %q, want %q", got, tt.left)
			}
			if tt.where == "" {
				if len(problems) > 0 {
					t.Error(problems)
				}
				return
			}
			if len(problems) != 1 {
				t.Errorf("%d problems, want one:\n%s", len(problems), lines(problems))
			}
			if p := problems[0]; p.Where() != tt.where || !strings.Contains(p.Found, tt.found) || !strings.Contains(p.Expected, tt.expected) {
				t.Errorf("%s\nwant %s: found … %s …; expected … %s …", p, tt.where, tt.found, tt.expected)
			}
		})
	}
}
