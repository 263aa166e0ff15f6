package exchange_test

import (
	"os"
	"strings"
	"testing"

	"underpin/exchange"
)

func TestEveryTableStandsInTheDocumentation(t *testing.T) {
	page, err := os.ReadFile("../doc/exchange.md")
	if err != nil {
		t.Fatal(err)
	}
	files, err := exchange.WriteCSV(&exchange.Register{})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 18 {
		t.Errorf("%d tables, there are more", len(files))
	}
	for name := range files {
		if name := strings.TrimSuffix(name, ".csv"); !strings.Contains(string(page), "`"+name+"`") {
			t.Errorf("doc/exchange.md does not name the table %s", name)
		}
	}
}
