package formula_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"underpin/formula"
)

var update = flag.Bool("update", false, "write doc/calculations.md anew")

const referenceFile = "../doc/calculations.md"

// The reference is made from the table; go test ./formula -update writes it.
func TestReferenceIsFresh(t *testing.T) {
	want := reference()
	if *update {
		if err := os.WriteFile(referenceFile, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(referenceFile)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what the table says; run go test ./formula -update", referenceFile)
	}
}

func reference() []byte {
	var b bytes.Buffer
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p("<!-- Made from the table in package formula by: go test ./formula -update -->")
	p("# Calculations\n")
	p("Each stands once in package `formula`. `underpin calc` lists them, `underpin calc NAME` prints a data sheet, `underpin calc NAME key=value ...` runs one; with `--json` for programs.\n")
	p("Values carry their unit: `18t`, `7500kg`, `33500lb`, `2040mm`, `6.7ft`, `12ft2in`, `150kN`, `220N.m`, `12deg`, `1.8m/s2`, `157mm2`. A pure number has none; a share is written `0.25` or `25%%`; a truth is `true` or `false`. A repeated key keeps its order.\n")
	p("In the JSON, `inputs` echoes what was understood, each as `{\"value\",\"unit\"}` in the unit of its key (kg, m, kN, N.m, deg, or the trade's own), a repeated key as a list, a compound by its parts, an assumption with `\"assumed\": true`; `outputs` gives each as `{\"value\",\"unit\"}`, not rounded, in kg, m, kN, N.m, deg or a law's own unit: what the tables below give in mm or km is in m there. It is null where the table says what null stands for. Inputs outside the range: exit 2. No answer exists: exit 3.\n")
	p("Evidence: `read` (the law, standard or published document was read), `derived` (arithmetic or mechanics from what was read), `second-hand` (a published summary was read, not the text), `practice` (common practice, no source), `memory` (not verified). Practice and memory may warn, never certify.\n")
	for _, g := range formula.Groups() {
		p("- [%s](#%s)", g, anchor(string(g)))
	}
	for _, g := range formula.Groups() {
		p("\n## %s", g)
		for _, c := range formula.All() {
			if c.Group == g {
				describe(p, c)
			}
		}
	}
	return b.Bytes()
}

func anchor(title string) string {
	return strings.ReplaceAll(strings.ToLower(strings.ReplaceAll(title, ",", "")), " ", "-")
}

func describe(p func(string, ...any), c *formula.Calculation) {
	p("\n### %s\n\n%s.\n", c.Name, c.Title)
	p("```\n%s\n```\n", c.Formula)
	p("| key | written | what |\n|---|---|---|")
	for i := range c.Inputs {
		k := &c.Inputs[i]
		doc := k.Doc
		if k.Bare != "" {
			doc += " (" + k.Bare + ")"
		}
		switch {
		case k.Default != "":
			doc += "; left out, `" + k.Default + "` is assumed: " + k.Why
		case k.Optional:
			doc += "; may be left out"
		}
		if k.Repeat {
			doc += "; repeated"
		}
		p("| `%s` | %s | %s |", k.Name, cell(k.Expected()), cell(doc))
	}
	p("\n| answer | unit | what |\n|---|---|---|")
	for _, o := range c.Outputs {
		name, of, doc := o.Name, o.Unit, o.Doc
		if o.Each {
			name += "1`, `" + o.Name + "2`, `..."
		}
		if o.Bare != "" {
			of = o.Bare
		}
		if o.Null != "" {
			doc += "; null: " + o.Null
		}
		p("| `%s` | %s | %s |", name, of, cell(doc))
	}
	p("\nValid for %s\n\nSource: %s. Evidence: %s.\n", c.Validity, c.Source, c.Evidence)
	p("```\nunderpin calc %s %s\n```", c.Name, strings.Join(c.Example(), " "))
}

// cell keeps a stroke in a text from ending a cell of the table.
func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }
