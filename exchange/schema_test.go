package exchange_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/tomlfile"
	"underpin/unit"
)

var update = flag.Bool("update", false, "write doc/fleet-file.md and doc/fleet.schema.json anew")

// The two papers about the fleet file are what the types say today.
func TestDocumentsAreFresh(t *testing.T) {
	for file, text := range map[string][]byte{
		"../doc/fleet-file.md":     exchange.FleetFields(),
		"../doc/fleet.schema.json": exchange.FleetSchema(),
	} {
		if *update {
			if err := os.WriteFile(file, text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		have, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(have, text) {
			t.Errorf("%s is not what the types say; write it anew with: go test ./exchange -update", file)
		}
	}
}

func schema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(exchange.FleetSchema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("fleet.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("fleet.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON is what an editor hands to the schema.
func asJSON(t testing.TB, text []byte) any {
	t.Helper()
	var v map[string]any
	if err := toml.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestSchemaAcceptsTheExamples(t *testing.T) {
	s := schema(t)
	for name, data := range fleets(t) {
		if err := s.Validate(asJSON(t, data)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		// And what the program itself writes.
		fleet, err := exchange.ParseFleet(name, data)
		if err != nil {
			t.Fatal(err)
		}
		text, err := exchange.WriteFleet(&fleet.Fleet)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(asJSON(t, text)); err != nil {
			t.Errorf("%s as written: %v", name, err)
		}
	}
}

// What the schema refuses the reader refuses too, with the words beside it.
func TestSchemaRefuses(t *testing.T) {
	s := schema(t)
	if err := s.Validate(asJSON(t, []byte(tractor+trailer))); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, text, reader string }{
		{"unknown key", tractor + "wheelbse = \"3700 mm\"\n", "unknown key"},
		{"unknown key of the file", "trailer = []\n" + tractor, "unknown key"},
		{"unknown key of an axle", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", tire = "x"`, 1), "unknown key"},
		{"bare number", strings.Replace(tractor, `"3700 mm"`, `3700`, 1), "in quotes with its unit"},
		{"number without unit", strings.Replace(tractor, `"3700 mm"`, `"3700"`, 1), "the unit is missing"},
		{"decimal number without unit", strings.Replace(tractor, `"3700 mm"`, `"3.7"`, 1), "the unit is missing"},
		{"a mass for a length", strings.Replace(tractor, "3700 mm", "3700 kg", 1), "kg is a unit of mass"},
		{"a length for a mass", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", tare = "5500 mm"`, 1), "mm is a unit of length"},
		{"unknown unit", strings.Replace(tractor, "3700 mm", "3700 furlongs", 1), "is not a unit"},
		{"NaN", strings.Replace(tractor, "3700 mm", "NaN mm", 1), "does not begin with a number"},
		{"text for a switch", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", liftable = "yes"`, 1), "true or false"},
		{"text for a number", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", share = "1"`, 1), "a number"},
		{"share above 1", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", share = 1.5`, 1), "0 to 1"},
		{"number for a text", strings.Replace(tractor, `id = "a"`, `id = 7`, 1), "text in quotes"},
		{"one for a list", "[tractor]\nid = \"a\"\n", "[[tractor]]"},
		{"list for one", tractor + "[[tractor.fifth-wheel]]\nat = \"3 m\"\n", "a table"},
		{"unknown fact", "[facts]\ntrafic = \"national\"\n", "unknown fact"},
		{"fact with a word that it has not", "[facts]\ntraffic = \"domestic\"\n", "national, international"},
		{"fact that the vehicles tell", "[[load]]\nid = \"x\"\nfacts = { suspension = \"air\" }\n", "the vehicle's axle suspension"},
		{"fact below zero", "[facts]\ncontainer-ft = -45\n", "from 0 up"},
		{"fact without its unit", "[facts]\ntyre-width = 385\n", "with its unit"},
		{"word that is not known", strings.Replace(trailer, `at = "7.7 m"`, `at = "7.7 m", steering = "castor"`, 1), "self, command"},
	} {
		if err := s.Validate(asJSON(t, []byte(tt.text))); err == nil {
			t.Errorf("%s: the schema lets it pass", tt.name)
		}
		if _, err := exchange.ParseFleet("f.toml", []byte(tt.text)); err == nil || !strings.Contains(err.Error(), tt.reader) {
			t.Errorf("%s: the reader says %v, want %q", tt.name, err, tt.reader)
		}
	}
}

// Whatever form of a length the reader takes, the schema takes it too.
func TestSchemaTakesEveryFormOfAQuantity(t *testing.T) {
	s := schema(t)
	number := `([0-9]{1,4}|[0-9]{1,3}( [0-9]{3}){1,2})`
	form := rapid.StringMatching(`[-+−]?` + number + `([.,][0-9]{0,4})?(e[-+]?[0-9])? ?(mm|m|cm|km|in|inch|"|ft|'|mi|kg)|[-−]?[0-9]{1,2} ?(ft|') ?[0-9]{1,2}(\.[0-9])? ?(in|"|mm)?|[.,][0-9]{1,3}m`)
	taken := 0
	rapid.Check(t, func(t *rapid.T) {
		text := form.Draw(t, "text")
		if rapid.Bool().Draw(t, "no-break spaces") {
			text = strings.ReplaceAll(text, " ", "\u00a0")
		}
		_, err := unit.Parse(text, unit.LengthDim)
		if err != nil {
			return
		}
		taken++
		doc := map[string]any{"tractor": []any{map[string]any{"width": text}}}
		if err := s.Validate(doc); err != nil {
			t.Fatalf("the reader takes %q, the schema does not: %v", text, err)
		}
	})
	if taken < 20 {
		t.Errorf("the reader took %d of the texts drawn", taken)
	}
}

// Every field stands in the list with its text and its kind, once.
func TestFieldListIsComplete(t *testing.T) {
	text := string(exchange.FleetFields())
	var doc struct {
		Properties map[string]any `json:"properties"`
	}
	if err := json.Unmarshal(exchange.FleetSchema(), &doc); err != nil {
		t.Fatal(err)
	}
	keys := 0
	var walk func(props map[string]any)
	walk = func(props map[string]any) {
		for key, p := range props {
			keys++
			row := regexp.MustCompile("(?m)^\\| `" + regexp.QuoteMeta(key) + "` \\| [^|]{5,} \\| [^|]* \\| [^|]{4,} \\|$")
			if !row.MatchString(text) {
				t.Errorf("%s has no row, or one without its text", key)
			}
			field := p.(map[string]any)
			if field["description"] == "" {
				t.Errorf("%s has no description in the schema", key)
			}
			if items, ok := field["items"].(map[string]any); ok {
				field = items
			}
			if sub, ok := field["properties"].(map[string]any); ok {
				walk(sub)
			}
		}
	}
	walk(doc.Properties)
	if keys < 100 {
		t.Errorf("%d fields, there are more", keys)
	}
	for _, heading := range []string{"## `[[tractor]]`", "## `[[semi-trailer]]`", "## `[[load.item]]`", "## `[tractor.fifth-wheel]`"} {
		if strings.Count(text, heading+"\n") != 1 {
			t.Errorf("%s does not stand once", heading)
		}
	}
}

func ExampleParseFleet() {
	_, err := exchange.ParseFleet("yard.toml", []byte(`[[tractor]]
id = "heron-07"
axle = [{ kind = "steer" }, { kind = "drive", at = 3700 }]
`))
	fmt.Println(err)
	fleet, err := exchange.ParseFleet("yard.toml", []byte(`[[tractor]]
id = "heron-07"
axle = [{ kind = "steer" }, { kind = "drive", at = "3700 mm" }]
weighbridge = { front-on = "5500 kg", tractor-on = "7800 kg" }
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range fleet.Derived {
		fmt.Println(d.Vehicle, d.Field, d.Value)
	}
	// Output:
	// yard.toml:3:52: found at = 3700, a TOML integer; expected a length in quotes with its unit, such as "3700mm", "3.7m" or "12ft 2in"
	// heron-07 axle 1 tare 5500 kg
	// heron-07 axle 2 tare 2300 kg
}

func TestReadLaw(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := dir + "/" + name
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	book := func(name, parent string) string {
		return "[book]\nname = \"" + name + "\"\ntitle = \"X\"\nparent = \"" + parent + "\"\n"
	}
	fleet := write("fleet.toml", tractor+trailer)
	write("gate.toml", book("gate", "eu"))
	write("depot.toml", book("depot", "gate"))
	for _, name := range []string{"eu", "gate", "depot", dir + "/gate.toml"} {
		b, err := exchange.OpenLaw(name, fleet)
		if err != nil || len(b.Rules) == 0 {
			t.Errorf("law %s: %v", name, err)
		}
	}
	for _, tt := range []struct{ name, path, where, found, expected string }{
		{"absent", dir + "/absent.toml", dir + "/absent.toml", "no file that can be opened", "a rulebook"},
		{"too large", write("large.toml", strings.Repeat("# filler\n", 10<<20/9)), dir + "/large.toml", "a file of 10.0 MB", "a rulebook of at most 8 MB"},
		{"not UTF-8", write("latin.toml", "[book]\nname = \"\xe4\"\n"), dir + "/latin.toml:2:9", "the byte 0xE4", "UTF-8"},
		{"unknown key", write("key.toml", book("key", "eu")+"dat = 1\n"), dir + "/key.toml:5:1", `unknown key "dat"`, "one of name, title, parent, text-date, note"},
		{"key twice", write("twice.toml", book("twice", "eu")+"title = 'Y'\n"), dir + "/twice.toml:5:1", `"title" a second time`, "line 3"},
		{"its own parent", write("self.toml", book("self", "self")), dir + "/self.toml:4:1", `no rulebook "self"`, "a rulebook that can be read"},
	} {
		_, err := exchange.ReadLaw(tt.path)
		e, ok := err.(*tomlfile.Error)
		if !ok || e.Where() != tt.where || !strings.Contains(e.Found, tt.found) || !strings.Contains(e.Expected, tt.expected) {
			t.Errorf("%s: error %v\nwant %s: found … %s …; expected … %s …", tt.name, err, tt.where, tt.found, tt.expected)
		}
	}
	if _, err := exchange.OpenLaw("nowhere", fleet); err == nil || !strings.Contains(err.Error(), `no rulebook "nowhere"; expected one of au, de, eu`) {
		t.Errorf("error %v", err)
	}
}
