package underpin_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
)

const registerFile = "sources/register.toml"

// A source is one entry of the register.
type source struct {
	ID       string
	Title    string
	Cite     []string // any of these words in a Source line names this entry
	Place    string
	Read     string
	Evidence string
	Date     toml.LocalDate
	UsedBy   []string `toml:"used_by"`
	Note     string
}

func register(t *testing.T) []source {
	t.Helper()
	text, err := os.Open(registerFile)
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	var file struct{ Source []source }
	if err := toml.NewDecoder(text).DisallowUnknownFields().Decode(&file); err != nil {
		t.Fatalf("%s: %v", registerFile, err)
	}
	if len(file.Source) == 0 {
		t.Fatalf("%s holds no source", registerFile)
	}
	return file.Source
}

func TestRegisterIsComplete(t *testing.T) {
	ids, cites := map[string]bool{}, map[string]string{}
	for _, s := range register(t) {
		if s.ID == "" || ids[s.ID] {
			t.Errorf("%s: id %q is missing or stands twice", registerFile, s.ID)
		}
		ids[s.ID] = true
		for name, value := range map[string]string{"title": s.Title, "place": s.Place, "read": s.Read} {
			if strings.TrimSpace(value) == "" {
				t.Errorf("%s: %s has no %s", registerFile, s.ID, name)
			}
		}
		if !slices.Contains([]string{"read", "derived", "practice", "memory"}, s.Evidence) {
			t.Errorf("%s: %s has evidence %q; expected read, derived, practice or memory", registerFile, s.ID, s.Evidence)
		}
		if s.Date.Year < 2026 {
			t.Errorf("%s: %s has no date", registerFile, s.ID)
		}
		if len(s.Cite) == 0 || len(s.UsedBy) == 0 {
			t.Errorf("%s: %s lacks cite or used_by", registerFile, s.ID)
		}
		for _, pkg := range s.UsedBy {
			if _, listed := layers[pkg]; !listed {
				t.Errorf("%s: %s is used by %s, which is no package of ours", registerFile, s.ID, pkg)
			}
		}
		for _, cite := range s.Cite {
			if len(cite) < 3 {
				t.Errorf("%s: %s is cited as %q, which would match anything", registerFile, s.ID, cite)
			}
			if other := cites[plainText(cite)]; other != "" {
				t.Errorf("%s: %q names both %s and %s", registerFile, cite, other, s.ID)
			}
			cites[plainText(cite)] = s.ID
		}
	}
}

// document finds the numbered documents that a sentence names, so that a line
// with one known and one unknown source does not pass on the strength of the
// first.
var document = regexp.MustCompile(`(?i)\b(?:` + strings.Join([]string{
	`ISO(?:/TS)? \d+(?:-\d+)?`, `EN \d+(?:-\d+)*`, `SAE J ?\d+`, `DIN \d+`, `VDI \d+`, `AS/NZS \d+`,
	`\d+ CFR \d+`, `\d+ CCR \d+`, `\d+ U\.?S\.?C\.? \d+`, `UN R\d+`, `UN Regulation No\. \d+`,
	`\d+/\d+/E[CU]`, `(?:EU\)|EC\)) (?:No )?\d+/\d+`, `SI \d+/\d+`, `SR \d+/\d+`, `handbook chapter \d+`,
}, "|") + `)`)

// unregistered tells what in a Source line the register does not know, or
// nothing.
func unregistered(line string, sources []source) string {
	text := plainText(line)
	known := false
	for _, s := range sources {
		for _, cite := range s.Cite {
			known = known || strings.Contains(text, plainText(cite))
		}
	}
	if !known {
		return "no source of the register"
	}
	for _, name := range document.FindAllString(text, -1) {
		name = strings.TrimPrefix(strings.TrimPrefix(name, "eu) "), "ec) ")
		name = strings.TrimPrefix(name, "no ")
		if !slices.ContainsFunc(sources, func(s source) bool {
			return slices.ContainsFunc(s.Cite, func(cite string) bool {
				cite = plainText(cite)
				return strings.Contains(cite, name) || strings.Contains(name, cite)
			})
		}) {
			return name
		}
	}
	return ""
}

// plainText brings two ways of writing the same words together.
func plainText(s string) string {
	s = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "§ ", "§", "’", "'").Replace(s)
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// TestSourcesAreRegistered looks at each Source paragraph of a comment and each
// Source field with its text in place, in all code that is not a test. It proves
// that a source can be looked up, not that it says what we say.
func TestSourcesAreRegistered(t *testing.T) {
	sources := register(t)
	found := 0
	for _, file := range sourceFiles(t) {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		files := token.NewFileSet()
		parsed, err := parser.ParseFile(files, file, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		check := func(at token.Pos, line string) {
			found++
			if what := unregistered(line, sources); what != "" {
				t.Errorf("%s: %q names %s; enter it in %s", files.Position(at), line, what, registerFile)
			}
		}
		for _, group := range parsed.Comments {
			if strings.HasPrefix(file, "rule/") {
				break // its sources stand in the rulebooks
			}
			for paragraph := range strings.SplitSeq(group.Text(), "\n\n") {
				if strings.HasPrefix(paragraph, "Source: ") {
					check(group.Pos(), paragraph)
				} else if _, after, cut := strings.Cut(paragraph, "\nSource: "); cut {
					check(group.Pos(), "Source: "+after)
				}
			}
		}
		ast.Inspect(parsed, func(node ast.Node) bool {
			if pair, ok := node.(*ast.KeyValueExpr); ok {
				if key, ok := pair.Key.(*ast.Ident); ok && key.Name == "Source" {
					if text, ok := literal(pair.Value); ok {
						check(pair.Pos(), text)
					}
				}
			}
			return true
		})
	}
	if found == 0 {
		t.Error("no Source line found in any package")
	}
}

// literal returns the text of a string that is written out, in one piece or in
// several.
func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			text, err := strconv.Unquote(e.Value)
			return text, err == nil
		}
	case *ast.BinaryExpr:
		left, l := literal(e.X)
		right, r := literal(e.Y)
		return left + right, l && r && e.Op == token.ADD
	}
	return "", false
}

// rulebookKeys are the fields of a rulebook that say where a limit stands.
var rulebookKeys = []string{"source", "citation"}

// TestRulebookSourcesAreRegistered looks at every rulebook that ships.
func TestRulebookSourcesAreRegistered(t *testing.T) {
	if !exists("rule") {
		return // not built yet
	}
	sources := register(t)
	books := 0
	err := filepath.WalkDir("rule", func(file string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() && entry.Name() == "testdata" {
			return errOrSkip(err)
		}
		if filepath.Ext(file) != ".toml" {
			return nil
		}
		books++
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		var book map[string]any
		if err := toml.Unmarshal(text, &book); err != nil {
			t.Errorf("%s: %v", file, err)
			return nil
		}
		citations := citationsIn(book)
		if len(citations) == 0 {
			t.Errorf("%s cites nothing", file)
		}
		for _, line := range citations {
			if what := unregistered(line, sources); what != "" {
				t.Errorf("%s: %q names %s; enter it in %s", file, line, what, registerFile)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if books == 0 {
		t.Error("package rule holds no rulebook")
	}
}

func errOrSkip(err error) error {
	if err != nil {
		return err
	}
	return filepath.SkipDir
}

func citationsIn(value any) []string {
	var lines []string
	switch value := value.(type) {
	case map[string]any:
		for key, inner := range value {
			if text, ok := inner.(string); ok && slices.Contains(rulebookKeys, key) {
				lines = append(lines, text)
				continue
			}
			lines = append(lines, citationsIn(inner)...)
		}
	case []any:
		for _, inner := range value {
			lines = append(lines, citationsIn(inner)...)
		}
	}
	return lines
}

func TestRegisterCheckCanFail(t *testing.T) {
	sources := []source{{Cite: []string{"ISO 1726"}}, {Cite: []string{"handbook chapter 04"}}, {Cite: []string{"96/53/EC"}}}
	tests := []struct{ line, want string }{
		{"ISO 1726-2, as reported", ""},
		{"derived;\nhandbook  chapter 04, 2.4.", ""},
		{"Directive 96/53/EC, Annex I, 1.6", ""},
		{"a book", "no source of the register"},
		{"", "no source of the register"},
		{"ISO 1726-1 and ISO 337", "iso 337"},
		{"96/53/EC; 97/27/EC", "97/27/ec"},
		{"ISO 1726; 49 CFR 393.70", "49 cfr 393"},
		{"ISO 1726 and Regulation (EU) No 1230/2012", "1230/2012"},
	}
	for _, test := range tests {
		if got := unregistered(test.line, sources); got != test.want {
			t.Errorf("%q: %q, expected %q", test.line, got, test.want)
		}
	}
}
