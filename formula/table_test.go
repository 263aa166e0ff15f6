package formula_test

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"underpin/formula"
	"underpin/unit"
)

// contract is every calculation that others rely on, with its keys and outputs.
// "v*" stands for one output for each repeated input.
var contract = []struct{ name, keys, outputs string }{
	{"d-value", "tractor-gross trailer-gross imposed", "d"},
	{"d-value-limits", "d tractor-gross trailer-gross imposed", "trailer-max tractor-max imposed-max unlimited"},
	{"dc-value", "tractor trailer-axles", "dc"},
	{"v-value", "acceleration load-length drawbar-length trailer-axles", "v"},
	{"axle-loads", "wheelbase lead tare-front tare-rear pin-to-bogie tare-pin tare-bogie payload payload-at", "imposed front rear bogie gross"},
	{"chain-loads", "unit", "v* b*"},
	{"bogie-line", "at share", "line"},
	{"load-centre", "item", "mass at"},
	{"payload-limit", "wheelbase lead tare-front tare-rear pin-to-bogie tare-pin tare-bogie payload-at max-front max-rear max-tractor max-imposed max-bogie max-gross min-drive-share min-steer-share", "payload governed-by"},
	{"lead-range", "wheelbase lead tare-front tare-rear pin-to-bogie tare-pin tare-bogie payload payload-at max-front max-rear min-drive-share min-steer-share", "min max caution"},
	{"landing-legs", "mass centre pin-to-bogie legs truck truck-at leg-rating", "legs bogie tips leg-use"},
	{"braking-transfer", "wheelbase lead tare-front tare-rear pin-to-bogie tare-pin tare-bogie payload payload-at deceleration case coupling-height trailer-cg-height tractor-cg-height", "imposed thrust front rear bogie"},
	{"bridge-formula", "axles length ties", "limit"},
	{"reference-wheelbase", "width outer inner fitting-radius", "limit"},
	{"axle-group-limit", "law kind axles spacing drive twin-tyres air", "limit"},
	{"turn-steady", "guide-radius guide-ahead guide-left lead pin-to-bogie width", "inner outer ring articulation"},
	{"turn", "guide-radius guide-ahead guide-left lead pin-to-bogie width angle exit front-overhang rear-end", "inner-axle inner-body swing-out articulation-end articulation-max"},
	{"offtracking", "outer-wheel-radius half-track wheelbase lead pin-to-bogie", "offtracking"},
	{"swing-radius", "overhang width corner", "radius"},
	{"cab-gap", "cab-to-coupling swing-radius height pitch tilt-axis-depth", "reach gap"},
	{"trailer-tilt", "coupling-height trailer-height pin-to-bogie body-height front rear", "tilt front-top rear-top"},
	{"roll-threshold", "track centre-height", "g"},
	{"bolt", "size grade friction", "area proof preload torque"},
	{"slip-check", "bolts preload friction surfaces force factor", "resistance use"},
	{"pin-and-lock", "nominal measured play", "pin-wear lock-play"},
	{"wear-line", "reading limit confidence", "rate nominal-distance assured-distance"},
	{"wear-forecast", "reading start start-sd rate rate-sd drift gauge-sd limit", "wear rate q05 q10 q50 q90 q95"},
}

func TestContract(t *testing.T) {
	for _, want := range contract {
		c, err := formula.Find(want.name)
		if err != nil {
			t.Error(err)
			continue
		}
		var keys, outputs []string
		for _, k := range c.Inputs {
			keys = append(keys, k.Name)
		}
		for _, o := range c.Outputs {
			if o.Each {
				o.Name += "*"
			}
			outputs = append(outputs, o.Name)
		}
		if got := sorted(keys); got != sorted(strings.Fields(want.keys)) {
			t.Errorf("%s has the keys %s", want.name, got)
		}
		if got := strings.Join(outputs, " "); got != want.outputs {
			t.Errorf("%s has the outputs %s", want.name, got)
		}
	}
}

func sorted(words []string) string {
	words = slices.Clone(words)
	slices.Sort(words)
	return strings.Join(words, " ")
}

var isName = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

func TestEveryEntryIsComplete(t *testing.T) {
	names := map[string]bool{}
	for _, c := range formula.All() {
		lack := func(what string) { t.Errorf("%s lacks %s", c.Name, what) }
		if !isName.MatchString(c.Name) || names[c.Name] {
			t.Errorf("%q is no name, or stands twice", c.Name)
		}
		names[c.Name] = true
		if c.Title == "" || utf8.RuneCountInString(c.Title) > 53 {
			t.Errorf("%s: the title %q is missing or does not fit into a line of the list", c.Name, c.Title)
		}
		if !slices.Contains(formula.Groups(), c.Group) {
			lack("a group of the list")
		}
		for what, text := range map[string]string{"a formula": c.Formula, "a validity": c.Validity, "a source": c.Source, "an evidence": string(c.Evidence), "its function": c.Func} {
			if strings.TrimSpace(text) == "" {
				lack(what)
			}
		}
		if !strings.HasSuffix(c.Validity, ".") || strings.HasSuffix(c.Source, ".") {
			t.Errorf("%s: validity is a sentence with its full stop, source a phrase without", c.Name)
		}
		if !slices.Contains([]string{"read", "derived", "practice", "memory"}, string(c.Evidence)) {
			t.Errorf("%s has the evidence %q", c.Name, c.Evidence)
		}
		if len(c.Inputs) == 0 || len(c.Outputs) == 0 {
			lack("inputs or outputs")
		}
		keys := map[string]bool{}
		for i := range c.Inputs {
			k := &c.Inputs[i]
			if keys[k.Name] {
				t.Errorf("%s has the key %s twice", c.Name, k.Name)
			}
			keys[k.Name] = true
			complete(t, c.Name, k)
		}
		for _, o := range c.Outputs {
			if !isName.MatchString(o.Name) || o.Doc == "" {
				t.Errorf("%s: the output %q has no name or no doc", c.Name, o.Name)
			}
			if o.Unit != "" && o.Bare != "" {
				t.Errorf("%s: the output %s has a unit and counts something besides", c.Name, o.Name)
			}
			if _, known := unit.Lookup(o.Unit); !known && o.Unit != "" && o.Unit != "km/h" {
				t.Errorf("%s: the output %s is in %q, which is no unit", c.Name, o.Name, o.Unit)
			}
		}
	}
	if len(names) < 60 {
		t.Errorf("found %d calculations", len(names))
	}
}

func complete(t *testing.T, calc string, k *formula.Key) {
	t.Helper()
	where := calc + ", " + k.Name
	if !isName.MatchString(k.Name) || k.Doc == "" || len(k.Examples) == 0 {
		t.Errorf("%s: no name, doc or example", where)
	}
	if len(k.Examples) > 1 && !k.Repeat {
		t.Errorf("%s: several examples of a key that is given once", where)
	}
	if (k.Kind == formula.Quantity) != (k.Dim() != unit.Number) {
		t.Errorf("%s: a quantity has a dimension, and nothing else has", where)
	}
	if k.Kind == formula.Number && k.Bare == "" {
		t.Errorf("%s: what a pure number counts is not told", where)
	}
	if (k.Default == "") != (k.Why == "") || k.Default != "" && k.Optional {
		t.Errorf("%s: an assumption has its reason, and a key that may be left out has none", where)
	}
	if (k.Kind == formula.Word) != (len(k.Choices) > 0) || (k.Kind == formula.Compound) != (len(k.Parts) > 0) {
		t.Errorf("%s: choices or parts do not go with its kind", where)
	}
	for i := range k.Parts {
		complete(t, where, &k.Parts[i])
	}
}

// Each example is what a person copies, so each must run, with every output of
// the table in it.
func TestExamplesRun(t *testing.T) {
	for _, c := range formula.All() {
		_, r, err := c.Answer(c.Example())
		if err != nil {
			t.Errorf("%s %s: %v", c.Name, strings.Join(c.Example(), " "), err)
			continue
		}
		if r.Working == "" || r.Source == "" {
			t.Errorf("%s gives no working or no source", c.Name)
		}
		given := map[string]bool{}
		for _, v := range r.Outputs {
			o, ok := c.Output(v.Name)
			if !ok || given[v.Name] {
				t.Errorf("%s gives %s, which is no output or stands twice", c.Name, v.Name)
			}
			given[o.Name], given[v.Name] = true, true
			if v.Unit != o.Unit && c.Name != "axle-group-limit" { // whose unit is the law's
				t.Errorf("%s gives %s in %q, not in %q", c.Name, v.Name, v.Unit, o.Unit)
			}
			if s, isText := v.V.(string); isText && !utf8.ValidString(s) {
				t.Errorf("%s gives %q", c.Name, s)
			}
		}
		for _, o := range c.Outputs {
			if !given[o.Name] && c.Name != "d-value-limits" { // which gives what was left out
				t.Errorf("%s does not give %s", c.Name, o.Name)
			}
		}
	}
}

// Every key alone parses with each of its own examples, the optional ones too.
func TestKeyExamplesAreRead(t *testing.T) {
	for _, c := range formula.All() {
		for _, k := range c.Inputs {
			for _, e := range k.Examples {
				_, err := c.Parse([]string{k.Name + "=" + e})
				var wrong formula.Invalid
				errors.As(err, &wrong)
				for _, w := range wrong {
					if w.Missing == nil {
						t.Errorf("%s %s=%s: %v", c.Name, k.Name, e, w)
					}
				}
			}
		}
	}
}

// The formula in the table is the one in the comment of the function, line by
// line, so that the two cannot drift apart.
func TestFormulaIsTheFunctions(t *testing.T) {
	docs := map[string]string{}
	for _, c := range formula.All() {
		pkg, _, _ := strings.Cut(c.Func, ".")
		if _, read := docs[c.Func]; read {
			continue
		}
		files, err := filepath.Glob("../" + pkg + "/*.go")
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: no package %s (%v)", c.Name, pkg, err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			for _, decl := range parsed.Decls {
				if fn, ok := decl.(*ast.FuncDecl); ok && fn.Recv == nil {
					docs[pkg+"."+fn.Name.Name] = fn.Doc.Text()
				}
			}
		}
	}
	// The entry that asks for whichever mass is missing speaks for three functions.
	docs["rating.TrailerMax"] += docs["rating.TractorMax"] + docs["rating.ImposedMax"]
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, c := range formula.All() {
		doc, there := docs[c.Func]
		if !there {
			t.Errorf("%s is computed by %s, which does not exist", c.Name, c.Func)
			continue
		}
		for line := range strings.SplitSeq(c.Formula, "\n") {
			if !strings.Contains(squeeze(doc), squeeze(line)) {
				t.Errorf("%s: %q does not stand in the comment of %s", c.Name, line, c.Func)
			}
		}
	}
}
