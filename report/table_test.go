package report

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/need"
)

// words reads every word of a PDF with its place, page by page, in points.
func wordsOf(t testing.TB, data []byte) [][]word {
	t.Helper()
	file := filepath.Join(t.TempDir(), "table.pdf")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(need.PDFText(t), "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var all [][]word
	for _, page := range strings.Split(string(out), "<page ")[1:] {
		var ws []word
		for _, m := range boxed.FindAllStringSubmatch(page, -1) {
			num := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }
			ws = append(ws, word{num(m[1]), num(m[2]), num(m[3]), num(m[4]), m[5]})
		}
		all = append(all, ws)
	}
	return all
}

type word struct {
	x0, y0, x1, y1 float64
	text           string
}

var boxed = regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*?)</word>`)

// No row is broken between pages, none reaches into the margins, and each page
// that a table goes on to has its heads. Rows of any height come in any order.
func TestRowsAreNotBroken(t *testing.T) {
	need.PDFText(t)
	runs := 0
	rapid.Check(t, func(rt *rapid.T) {
		if runs++; runs > 6 { // each asks another program
			return
		}
		d := newDocument(meta{title: "table", date: "2026-11-25"})
		d.state, d.running, d.foot, d.draft = "DRAFT", "table", "foot", true
		d.newPage()
		d.y += rapid.Float64Range(0, 150).Draw(rt, "from")
		n := rapid.IntRange(1, 60).Draw(rt, "rows")
		var rows []row
		for i := range n {
			long := rapid.IntRange(0, 60).Draw(rt, "words")
			rows = append(rows, row{cells: []cell{{text: fmt.Sprintf("begin%d", i)}, {text: strings.Repeat("steel ", long) + fmt.Sprintf("end%d", i)}}, note: fmt.Sprintf("note%d", i)})
			if rapid.IntRange(0, 5).Draw(rt, "headed") == 0 {
				rows = append(rows, row{head: fmt.Sprintf("head%d", i)})
			}
		}
		rows = append(rows, row{cells: []cell{{text: "last"}, {}}})
		d.table([]column{{"left-head", 30, false}, {"right-head", 0, false}}, rows)
		var b bytes.Buffer
		if err := d.write(&b); err != nil {
			rt.Fatal(err)
		}
		on := map[string]int{}
		pages := wordsOf(t, b.Bytes())
		for p, ws := range pages {
			heads := false
			for _, w := range ws {
				on[w.text] = p
				heads = heads || w.text == "left-head"
				body := strings.HasPrefix(w.text, "steel") || strings.HasPrefix(w.text, "end") || strings.HasPrefix(w.text, "note")
				if low := (paperH - bottom) / point; body && w.y1 > low+2 {
					rt.Fatalf("%s reaches to %.0f, below %.0f", w.text, w.y1, low)
				}
				if w.text != "DRAFT" && w.x1 > (paperW-right)/point+0.5 {
					rt.Fatalf("%s reaches to %.0f, beyond the margin", w.text, w.x1)
				}
			}
			if !heads {
				rt.Fatalf("page %d has no heads", p+1)
			}
		}
		for i := range n {
			a, ok := on[fmt.Sprintf("begin%d", i)]
			if b := on[fmt.Sprintf("end%d", i)]; !ok || a != b {
				rt.Fatalf("row %d begins on page %d and ends on page %d", i, a+1, b+1)
			}
			if b := on[fmt.Sprintf("note%d", i)]; a != b {
				rt.Fatalf("row %d stands on page %d and its note on page %d", i, a+1, b+1)
			}
			if h, ok := on[fmt.Sprintf("head%d", i)]; ok { // stays with the row after it
				next, ok := on[fmt.Sprintf("begin%d", i+1)]
				if !ok {
					next = on["last"]
				}
				if h != next {
					rt.Fatalf("head %d stands on page %d, the row after it on page %d", i, h+1, next+1)
				}
			}
		}
	})
}

// A word that is wider than its cell is broken, and nothing is lost.
func TestWrapLosesNothing(t *testing.T) {
	d := newDocument(meta{})
	d.newPage()
	d.font(sizeTable, false)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[a-zé]{1,40}( [a-zé]{1,40}){0,8}`).Draw(t, "text")
		w := rapid.Float64Range(3, 60).Draw(t, "width")
		lines := wrap(d.pdf, s, w)
		if got, want := strings.ReplaceAll(strings.Join(lines, ""), " ", ""), strings.ReplaceAll(s, " ", ""); got != want {
			t.Fatalf("%q became %q", s, lines)
		}
		for _, line := range lines {
			if d.pdf.GetStringWidth(line) > w+1e-6 {
				t.Fatalf("%q is wider than %g mm", line, w)
			}
		}
	})
}

func TestPrintable(t *testing.T) {
	for _, tt := range []struct{ in, out string }{
		{"3\u2009100\u202fmm", "3\u00a0100\u00a0mm"},
		{"✕ ⌀ 17", "× Ø 17"},
		{"260 N.m", "260 N·m"},
		{"a\x00b\tc\nd", "ab c d"},
		{"𝛼", "?"},
		{"μ = 0.12, ΔHc ≤ 3°", "μ = 0.12, ΔHc ≤ 3°"},
	} {
		if got := printable(tt.in); got != tt.out {
			t.Errorf("printable(%q) = %q, want %q", tt.in, got, tt.out)
		}
	}
}
