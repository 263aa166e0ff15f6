package underpin_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

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
	if !slices.ContainsFunc(sources, func(s source) bool {
		return slices.ContainsFunc(s.Cite, func(cite string) bool { return names(text, plainText(cite)) })
	}) {
		return "no source of the register"
	}
	return unknownDocument(line, sources)
}

// unknownDocument returns the first numbered document in a text that the
// register does not know, or nothing.
func unknownDocument(line string, sources []source) string {
	for _, name := range document.FindAllString(plainText(line), -1) {
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

// names tells whether the words stand in the text as words of their own.
func names(text, words string) bool {
	for from := 0; ; {
		i := strings.Index(text[from:], words)
		if i < 0 {
			return false
		}
		start, end := from+i, from+i+len(words)
		before, _ := utf8.DecodeLastRuneInString(text[:start])
		first, size := utf8.DecodeRuneInString(text[start:])
		last, _ := utf8.DecodeLastRuneInString(text[:end])
		after, _ := utf8.DecodeRuneInString(text[end:])
		joined := unicode.IsLetter(before) && unicode.IsLetter(first) || unicode.IsLetter(last) && unicode.IsLetter(after)
		if !joined {
			return true
		}
		from = start + size
	}
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

// A rulebook is as much of one as says where its limits stand.
type rulebook struct {
	Instrument map[string]struct{ Title, Version string }
	Rule       []struct {
		ID       string
		Citation struct{ Instrument, Point, Remark string }
	}
}

// TestRulebookSourcesAreRegistered looks at every rulebook that ships.
func TestRulebookSourcesAreRegistered(t *testing.T) {
	if !exists("rule") {
		return // not built yet
	}
	sources := register(t)
	books, err := filepath.Glob("rule/book/*.toml")
	if err != nil || len(books) == 0 {
		t.Fatalf("package rule holds no rulebook (%v)", err)
	}
	for _, file := range books {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var book rulebook
		if err := toml.Unmarshal(text, &book); err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if len(book.Rule) == 0 {
			t.Errorf("%s holds no rule", file)
		}
		for _, what := range uncited(book, sources) {
			t.Errorf("%s: %s; see %s", file, what, registerFile)
		}
	}
}

// uncited tells which rules of a book cite what the register does not know.
func uncited(book rulebook, sources []source) []string {
	var wrong []string
	for _, r := range book.Rule {
		in, there := book.Instrument[r.Citation.Instrument]
		if !there {
			wrong = append(wrong, fmt.Sprintf("%s cites no instrument of the book", r.ID))
			continue
		}
		line := in.Title + " " + r.Citation.Point
		if what := unregistered(line, sources); what != "" {
			wrong = append(wrong, fmt.Sprintf("%s cites %q: %s", r.ID, line, what))
		}
		if what := unknownDocument(r.Citation.Remark, sources); what != "" {
			wrong = append(wrong, fmt.Sprintf("%s remarks on %s", r.ID, what))
		}
	}
	return wrong
}

func TestRulebookCheckCanFail(t *testing.T) {
	sources := []source{{Cite: []string{"96/53/EC"}}}
	const known, unknown = `instrument.d.title = "Directive 96/53/EC"`, `instrument.d.title = "Directive 97/27/EC"`
	tests := []struct {
		instrument, citation string
		complaints           int
	}{
		{known, `citation = {instrument = "d", point = "1.1"}`, 0},
		{unknown, `citation = {instrument = "d", point = "1.1"}`, 1},
		{known, `citation = {instrument = "e", point = "1.1"}`, 1},
		{known, ``, 1},
		{known, `citation = {instrument = "d", point = "1.1", remark = "as in 49 CFR 393"}`, 1},
	}
	for _, test := range tests {
		text := test.instrument + "\n[[rule]]\nid = \"a\"\n" + test.citation
		var book rulebook
		if err := toml.Unmarshal([]byte(text), &book); err != nil {
			t.Fatal(err)
		}
		if got := uncited(book, sources); len(got) != test.complaints {
			t.Errorf("%s\n%q, expected %d complaints", text, got, test.complaints)
		}
	}
}

func TestRegisterCheckCanFail(t *testing.T) {
	sources := []source{{Cite: []string{"ISO 1726"}}, {Cite: []string{"handbook chapter 04"}}, {Cite: []string{"96/53/EC"}}}
	tests := []struct{ line, want string }{
		{"ISO 1726-2, as reported", ""},
		{"derived;\nhandbook  chapter 04, 2.4.", ""},
		{"Directive 96/53/EC, Annex I, 1.6", ""},
		{"a book", "no source of the register"},
		{"miso 17268", "no source of the register"},
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
