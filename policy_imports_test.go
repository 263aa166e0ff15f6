package underpin_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "underpin"

// calculations are the packages in which every exported function is a formula.
// They know quantities and nothing else, least of all each other: what one
// needs from another comes as an argument through assess.
var calculations = []string{"axleload", "rating", "clearance", "turning", "bolting", "wear"}

// pureStd is all of the standard library that a calculation may use: no input
// or output, no clock, no chance, no logging.
var pureStd = []string{"cmp", "errors", "fmt", "iter", "maps", "math", "math/bits", "math/cmplx", "slices", "sort", "strconv", "strings"}

// A layer says what a package may import besides the standard library.
type layer struct {
	ours  []string // packages of this module
	other []string // modules of others
	std   []string // when not nil, all it may use of the standard library
}

// layers lists every package of the module. It is policy: change it in a commit
// of its own, with the reason. A package that is not here has no place yet.
var layers = map[string]layer{
	".":        {},
	"unit":     {std: slices.Concat(pureStd, []string{"unicode", "unicode/utf8"})},
	"tomlfile": {other: []string{"github.com/pelletier/go-toml/v2"}},

	"axleload":  {ours: []string{"unit"}, std: pureStd},
	"rating":    {ours: []string{"unit"}, std: pureStd},
	"clearance": {ours: []string{"unit"}, std: pureStd},
	"turning":   {ours: []string{"unit"}, std: pureStd},
	"bolting":   {ours: []string{"unit"}, std: pureStd},
	"wear":      {ours: []string{"unit"}, std: pureStd},

	"vehicle": {ours: []string{"unit"}},
	"scene": {ours: []string{"unit"},
		other: []string{"codeberg.org/go-pdf/fpdf", "git.sr.ht/~sbinet/gg", "golang.org/x/image"}},
	"rule":   {ours: []string{"unit", "tomlfile"}},
	"record": {ours: []string{"unit"}},

	"assess": {ours: slices.Concat([]string{"unit", "vehicle", "rule"}, calculations)},
	// mounting asks assess for positions and turns its answer into a specification.
	"mounting":    {ours: []string{"unit", "vehicle", "rule", "assess", "clearance", "rating", "bolting"}},
	"formula":     {ours: slices.Concat([]string{"unit", "rule"}, calculations)},
	"maintenance": {ours: []string{"unit", "rule", "record", "wear"}},
	// yard takes the answers and marks of rule and the ids, times and digests of record.
	"yard": {ours: []string{"unit", "rule", "record"}},
	"exchange": {ours: []string{"unit", "tomlfile", "vehicle", "rule", "record", "assess", "maintenance", "mounting"},
		other: []string{"github.com/pelletier/go-toml/v2", "github.com/xuri/excelize/v2"}},
	"drawing": {ours: []string{"unit", "vehicle", "scene", "rule", "assess", "turning", "clearance", "mounting"}},
	"report": {ours: []string{"unit", "vehicle", "scene", "rule", "record", "assess", "formula", "maintenance", "yard", "mounting", "drawing"},
		other: []string{"codeberg.org/go-pdf/fpdf", "rsc.io/qr"}},
	"store": {ours: []string{"unit", "record"},
		other: []string{"modernc.org/sqlite", "github.com/jackc/pgx/v5", "github.com/pressly/goose/v3"}},
	// fleet keeps specifications and what was built by them, and holds both against mounting;
	// what is wrong with a TOML file that is brought in it tells by its place.
	"fleet": {ours: []string{"unit", "tomlfile", "vehicle", "rule", "record", "assess", "maintenance", "yard", "mounting", "exchange", "store", "wear"},
		other: []string{"golang.org/x/crypto", "golang.org/x/time"}}, // passwords, and the rate of sign-in
	"web": {ours: shipped,
		other: []string{"github.com/a-h/templ", "github.com/danielgtaylor/huma/v2", "golang.org/x/text",
			"github.com/coreos/go-oidc/v3", "golang.org/x/oauth2", // sign-in through an identity provider
			"github.com/prometheus/client_golang"}}, // histograms, Go's and the process's own figures, in the form that scrapers read
	"cmd/underpin": {ours: slices.Concat(shipped, []string{"web"}),
		other: []string{"github.com/alecthomas/kong", "golang.org/x/term"}},

	"examples":       {}, // files, embedded
	"need":           {},
	"script/testsum": {ours: []string{"need"}}, // for the wording of a skip; part of no built program
}

// shipped is everything of ours that goes into the program below web.
var shipped = slices.Concat(calculations, []string{"unit", "tomlfile", "vehicle", "scene", "rule", "record", "assess",
	"formula", "maintenance", "yard", "mounting", "exchange", "drawing", "report", "store", "fleet", "examples"})

// onlyIn names the packages of the standard library that one layer keeps to
// itself, so that SQL and HTTP cannot leak.
var onlyIn = map[string][]string{
	"database/sql":  {"store"},
	"net/http":      {"web"},
	"html/template": {"web"},
}

// testModules may stand in test files besides what the package itself may use.
var testModules = []string{
	"pgregory.net/rapid", "github.com/google/go-cmp", "github.com/rogpeppe/go-internal",
	"github.com/chromedp/chromedp", "github.com/chromedp/cdproto", "go.uber.org/goleak",
	"gonum.org/v1/gonum", "golang.org/x/net", "github.com/pelletier/go-toml/v2",
	"github.com/santhosh-tekuri/jsonschema/v6",
}

func TestImports(t *testing.T) {
	found := 0
	for _, file := range sourceFiles(t) {
		found++
		pkg := path.Dir(file)
		may, listed := layers[pkg]
		if !listed {
			t.Errorf("%s: package %s has no place in layers", file, pkg)
			continue
		}
		for _, name := range importsOf(t, file) {
			if why := may.forbids(pkg, name, strings.HasSuffix(file, "_test.go")); why != "" {
				t.Errorf("%s imports %s: %s", file, name, why)
			}
		}
	}
	if found < 10 {
		t.Errorf("looked at %d Go files; the module has more", found)
	}
}

// forbids tells why a file of package pkg may not import name, or nothing.
func (l layer) forbids(pkg, name string, test bool) string {
	if ours, yes := strings.CutPrefix(name, module+"/"); yes || name == module {
		switch {
		case test: // an outside test may use whatever helps to prove the package
			return ""
		case !slices.Contains(l.ours, ours):
			return "layers does not allow it"
		}
		return ""
	}
	if first, _, _ := strings.Cut(name, "/"); strings.Contains(first, ".") {
		allowed := l.other
		if test {
			allowed = slices.Concat(l.other, testModules)
		}
		for _, mod := range allowed {
			if name == mod || strings.HasPrefix(name, mod+"/") {
				return ""
			}
		}
		return "layers does not allow this module"
	}
	if test {
		return ""
	}
	if l.std != nil && !slices.Contains(l.std, name) {
		return "a calculation is a plain function over values, and layers does not allow this"
	}
	if owners, kept := onlyIn[name]; kept && !slices.Contains(owners, pkg) {
		return "only " + strings.Join(owners, " and ") + " may"
	}
	return ""
}

// TestImportPolicyCanFail asks for some imports that must be refused and some
// that must not, so that the policy is known to bite.
func TestImportPolicyCanFail(t *testing.T) {
	tests := []struct {
		pkg, name string
		test      bool
		refused   bool
	}{
		{"rating", "underpin/unit", false, false},
		{"rating", "underpin/axleload", false, true},
		{"rating", "underpin/vehicle", false, true},
		{"rating", "time", false, true},
		{"rating", "os", false, true},
		{"rating", "gonum.org/v1/gonum/mat", false, true},
		{"turning", "gonum.org/v1/gonum/mat", true, false},
		{"rule", "underpin/vehicle", false, true},
		{"rule", "github.com/pelletier/go-toml/v2", false, true},
		{"tomlfile", "github.com/pelletier/go-toml/v2/unstable", false, false},
		{"exchange", "github.com/santhosh-tekuri/jsonschema/v6", true, false},
		{"exchange", "github.com/santhosh-tekuri/jsonschema/v6", false, true},
		{"web", "underpin/need", false, true},
		{"web", "underpin/need", true, false},
		{"fleet", "database/sql", false, true},
		{"store", "database/sql", false, false},
		{"assess", "net/http", false, true},
		{"drawing", "underpin/axleload", false, true},
		{"cmd/underpin", "underpin/web", false, false},
		{"cmd/underpin", "example.org/unknown", false, true},
	}
	for _, test := range tests {
		why := layers[test.pkg].forbids(test.pkg, test.name, test.test)
		if refused := why != ""; refused != test.refused {
			t.Errorf("%s importing %s (test file: %v): refused is %v, expected %v", test.pkg, test.name, test.test, refused, test.refused)
		}
	}
}

// TestLayersAreInOrder proves that the allowed imports hold no circle.
func TestLayersAreInOrder(t *testing.T) {
	const (
		open = 1
		done = 2
	)
	state := map[string]int{}
	var visit func(name string, path []string)
	visit = func(name string, path []string) {
		path = append(path, name)
		switch state[name] {
		case open:
			t.Fatalf("layers go round in a circle: %s", strings.Join(path, " → "))
		case done:
			return
		}
		state[name] = open
		for _, dep := range layers[name].ours {
			if _, listed := layers[dep]; !listed {
				t.Errorf("%s may import %s, which has no place in layers", name, dep)
			}
			visit(dep, path)
		}
		state[name] = done
	}
	for name := range layers {
		visit(name, nil)
	}
}

// sourceFiles lists every Go file of the module, tests and all platforms
// included, by its path from the root. It leaves out modules of their own, such
// as tools, and what Go itself leaves out.
func sourceFiles(t *testing.T) []string {
	t.Helper()
	return walk(t, ".go")
}

func walk(t *testing.T, suffix string) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(".", func(file string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := entry.Name()
		if entry.IsDir() {
			own := file != "." && exists(filepath.Join(file, "go.mod"))
			if own || file != "." && strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules" {
				return filepath.SkipDir
			}
			return nil
		}
		if strings.HasSuffix(name, suffix) && !strings.HasPrefix(name, ".") {
			files = append(files, filepath.ToSlash(file))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatalf("found no %s file", suffix)
	}
	return files
}

func exists(file string) bool {
	_, err := os.Stat(file)
	return err == nil
}

func importsOf(t *testing.T, file string) []string {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, spec := range parsed.Imports {
		name, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	return names
}
