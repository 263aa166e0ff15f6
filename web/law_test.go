package web_test

import (
	"html"
	"net/http"
	"strings"
	"testing"

	"underpin/rule"
)

// Each rulebook's page shows each of its rules with its limit or why there is none,
// the conditions under which it holds and the steps of its table, and no number that
// is none.
func TestLawPagesShowConditionsAndSteps(t *testing.T) {
	address := server(t)
	conditions, steps, lifts := 0, 0, 0
	for _, name := range rule.Names() {
		book, err := rule.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		status, text := body(t, address+"/law/"+name)
		if status != http.StatusOK || strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Errorf("%s: %d, shows NaN: %t", name, status, strings.Contains(text, "NaN"))
		}
		plain := strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ").Replace
		for _, r := range book.Rules {
			_, row, found := strings.Cut(text, "<small>"+r.ID+"</small>")
			row, _, _ = strings.Cut(row, "</tr>")
			row = html.UnescapeString(row)
			if !found {
				t.Errorf("%s: no row for %s", name, r.ID)
				continue
			}
			want := append([]string{r.LimitText()}, r.WhenText()...)
			conditions, steps = conditions+len(r.WhenText()), steps+len(r.StepsText())
			if r.Lifts {
				lifts++
			}
			for _, w := range append(want, r.StepsText()...) {
				if !strings.Contains(row, plain(w)) {
					t.Errorf("%s, %s: no %q in %s", name, r.ID, plain(w), row)
				}
			}
		}
	}
	if conditions < 100 || steps < 10 || lifts == 0 {
		t.Errorf("%d conditions, %d steps, %d rules that lift", conditions, steps, lifts)
	}
}
