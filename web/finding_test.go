package web_test

import (
	"testing"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/formula"
	"underpin/rule"
)

// Every finding names the calculation that made it, by a name that has a page,
// or none where the value is only measured or compared.
func TestFindingsNameTheirCalculation(t *testing.T) {
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	named, seen := map[string]bool{}, 0
	for _, law := range rule.Names() {
		book, err := rule.Open(law)
		if err != nil {
			t.Fatal(err)
		}
		cells, err := assess.Matrix(&f.Fleet, book, "2026-11-25")
		if err != nil {
			t.Fatal(err)
		}
		for i := range cells {
			ids := map[string]bool{}
			for _, finding := range cells[i].Result.Findings {
				seen++
				if key := finding.ID + " in " + finding.Case; ids[key] {
					t.Errorf("%s, %s with %s: %s stands twice", law, cells[i].Tractor.ID, cells[i].Trailer.ID, key)
				} else {
					ids[key] = true
				}
				if finding.Title == "" || finding.Source == "" || finding.Evidence == "" {
					t.Errorf("%s: finding %q lacks a title, source or evidence", law, finding.ID)
				}
				if finding.Calc == "" || named[finding.Calc] {
					continue
				}
				named[finding.Calc] = true
				if _, err := formula.Find(finding.Calc); err != nil {
					t.Errorf("%s: finding %s is made by %q, which is no calculation", law, finding.ID, finding.Calc)
				}
			}
		}
	}
	if seen == 0 || len(named) < 8 {
		t.Errorf("saw %d findings of %d calculations", seen, len(named))
	}
}
