package underpin_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// A formula is an exported function of a calculation package.
type formula struct{ file, name, doc string }

// formulasOf lists the formulas of a package, methods excepted, or nothing
// where the package does not exist.
func formulasOf(t *testing.T, pkg string) []formula {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(pkg, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var formulas []formula
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range parsed.Decls {
			if fn, ok := decl.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Name.IsExported() {
				formulas = append(formulas, formula{filepath.ToSlash(file), fn.Name.Name, fn.Doc.Text()})
			}
		}
	}
	return formulas
}

// lacksOf names the parts of its data sheet that a formula's comment lacks.
func lacksOf(f formula) []string {
	var lacks []string
	if !strings.HasPrefix(f.doc, f.name+" ") {
		lacks = append(lacks, "a first sentence that begins with its name")
	}
	lookUp := strings.HasPrefix(f.name, "Find") // a row of a table has no formula
	if !lookUp && formulaLine(f.doc) == "" {
		lacks = append(lacks, "the formula itself on an indented line")
	}
	for _, part := range []string{"\nValid for", "\nSource: "} {
		if !strings.Contains(f.doc, part) {
			lacks = append(lacks, "a line that begins with "+strings.TrimSpace(part))
		}
	}
	return lacks
}

// formulaLine returns the first indented line of a comment that relates two
// things.
func formulaLine(doc string) string {
	for line := range strings.Lines(doc) {
		if strings.HasPrefix(line, "\t") && strings.ContainsAny(line, "=<>≤≥≈") {
			return strings.TrimSpace(line)
		}
	}
	return ""
}

// It proves that the words are there, not that they are true: a person checks
// each source once and says in the register what was read.
func TestFormulasHaveTheirDataSheet(t *testing.T) {
	packages := 0
	for _, pkg := range calculations {
		if !exists(pkg) {
			continue // not built yet; layers already knows its place
		}
		packages++
		formulas := formulasOf(t, pkg)
		if len(formulas) == 0 {
			t.Errorf("no formula found in %s", pkg)
		}
		for _, f := range formulas {
			for _, lack := range lacksOf(f) {
				t.Errorf("%s: the comment of %s lacks %s", f.file, f.name, lack)
			}
		}
	}
	if packages == 0 {
		t.Error("no calculation package found")
	}
}

func TestDataSheetPolicyCanFail(t *testing.T) {
	whole := "Radius returns r.\n\n\tr = √(a² + b²)\n\nValid for a ≥ 0.\n\nSource: plane geometry.\n"
	if lacks := lacksOf(formula{"x.go", "Radius", whole}); len(lacks) != 0 {
		t.Errorf("a whole data sheet lacks %v", lacks)
	}
	for _, cut := range []string{"Radius returns r", "\tr = √(a² + b²)\n", "Valid for a ≥ 0.", "Source: "} {
		if lacks := lacksOf(formula{"x.go", "Radius", strings.Replace(whole, cut, "", 1)}); len(lacks) != 1 {
			t.Errorf("without %q it lacks %v, expected one thing", cut, lacks)
		}
	}
}
