package rule_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"underpin/rule"
)

// TestEveryRuleIsFounded looks at each rule of each book in the folder, and
// fails when the folder is empty.
func TestEveryRuleIsFounded(t *testing.T) {
	files, err := filepath.Glob("book/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no rulebook found: %v", err)
	}
	if names := rule.Names(); len(names) != len(files) {
		t.Errorf("%d books embedded, %d in the folder", len(names), len(files))
	}
	quantities := map[string]rule.Quantity{}
	for _, q := range rule.Vocabulary() {
		if quantities[q.Name].Name != "" || q.Datum == "" {
			t.Errorf("quantity %s twice or without datum", q.Name)
		}
		quantities[q.Name] = q
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".toml")
		b := open(t, name)
		if b.Name != name {
			t.Errorf("%s calls itself %q", file, b.Name)
		}
		if len(b.Rules) == 0 {
			t.Errorf("%s has no rule", file)
		}
		for _, r := range b.Rules {
			c := r.Citation
			if c.Instrument == "" || c.Point == "" || c.Version == "" || !strings.Contains(r.Source(), c.Point) {
				t.Errorf("%s %s cites %+v", name, r.ID, c)
			}
			if !slices.Contains([]rule.Evidence{rule.Read, rule.Derived, rule.SecondHand, rule.Practice, rule.Memory}, r.Evidence) {
				t.Errorf("%s %s has evidence %q", name, r.ID, r.Evidence)
			}
			if q, ok := quantities[r.Quantity]; !ok || q.Dim != r.Unit.Dim {
				t.Errorf("%s %s limits %q in %q", name, r.ID, r.Quantity, r.Unit.Symbol)
			}
			if r.Title == "" || r.Book == "" {
				t.Errorf("%s %s has no title or no book", name, r.ID)
			}
			numbers := 0
			for _, given := range []bool{!math.IsNaN(r.Limit), r.Table != nil, r.Function != nil} {
				if given {
					numbers++
				}
			}
			if gap := r.NotCovered != "" || r.Lifts; numbers > 1 || numbers == 0 && !gap || numbers == 1 && r.Failed == "" {
				t.Errorf("%s %s: %d numbers, gap %v, failed %q", name, r.ID, numbers, gap, r.Failed)
			}
			// What was not read in a law must say so where people see it.
			if r.Evidence == rule.Practice && !strings.Contains(r.Source(), "no source") {
				t.Errorf("%s %s is practice and cites %s", name, r.ID, r.Source())
			}
		}
	}
}

func TestFactTable(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range rule.FactTable() {
		if f.Name == "" || f.Meaning == "" || seen[f.Name] {
			t.Errorf("fact %q twice or without meaning", f.Name)
		}
		seen[f.Name] = true
	}
	if len(seen) == 0 {
		t.Error("no fact")
	}
}

func TestOpenUnknown(t *testing.T) {
	_, err := rule.Open("atlantis")
	var missing *rule.NotFoundError
	if !errors.As(err, &missing) || !slices.Contains(missing.Known, "eu") {
		t.Errorf("Open: %v", err)
	}
}

// The digest covers the stored bytes of the whole chain, parents first, so
// that `cat us.toml us-ca.toml | sha256sum` gives it again.
func TestDigest(t *testing.T) {
	sum := sha256.New()
	for _, name := range []string{"us", "us-ca"} {
		src, err := os.ReadFile("book/" + name + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		sum.Write(src)
	}
	if got, want := open(t, "us-ca").Digest, hex.EncodeToString(sum.Sum(nil)); got != want {
		t.Errorf("digest %s, want %s", got, want)
	}
	if open(t, "us").Digest == open(t, "us-ca").Digest {
		t.Error("parent and child share a digest")
	}
}

func TestOwnBook(t *testing.T) {
	b := own(t, "our-fleet.toml")
	if b.Parent == nil || b.Parent.Name != "de" || b.Parent.Parent.Name != "eu" || b.TextDate != "2026-03" {
		t.Fatalf("chain of %s: %+v", b.Name, b.Parent)
	}
	winter := facts{"date": "2026-03-01", "trailer-body": "standard"}
	for _, tt := range []struct {
		quantity string
		facts    facts
		value    float64
		want     rule.Answer
		why      string
	}{
		{"height", winter, 3.95, rule.DoesNotFit, "the fleet's own rule replaces the Union's"},
		{"height", with(winter, facts{"date": "2026-02-28"}), 3.95, rule.Fits, "not yet valid"},
		{"height", with(winter, facts{"trailer-body": "low-loader"}), 3.95, rule.Fits, "made for other bodies"},
		{"height", facts{"trailer-body": "standard"}, 3.95, rule.CannotTell, "the date decides"},
		{"height", facts{"trailer-body": "standard"}, 4.05, rule.DoesNotFit, "beyond both"},
		{"height", facts{}, 3.85, rule.Fits, "within both"},
		{"share-steer", nil, 0.24, rule.DoesNotFit, "the dropped rule is gone, the own one holds"},
		{"share-steer", nil, 0.26, rule.Fits, "the own one holds"},
		{"mass-group", with(trailer3, facts{"spacing": 1.31}), 23000, rule.DoesNotFit, "own table in mm and kg over the Union's in m and t"},
		{"mass-group", with(trailer3, facts{"spacing": 1.31}), 22500, rule.Fits, "own table"},
		{"mass-group", with(trailer3, facts{"spacing": 1.30}), 20000, rule.Fits, "own table, upper end included"},
		{"mass-group", with(trailer3, facts{"spacing": 1.30}), 20001, rule.DoesNotFit, "own table, upper end included"},
		{"mass-group", with(trailer3, facts{"spacing": 1.41}), 1000, rule.CannotTell, "outside the own table"},
		{"length-combination", facts{"trailer-meets-kingpin-dimensions": true}, 16.6, rule.DoesNotFit, "the assumption intermodal = false"},
		{"length-combination", facts{"trailer-meets-kingpin-dimensions": true, "intermodal": true, "container-ft": 45}, 16.6, rule.Fits, "a declared fact beats the assumption"},
	} {
		if got := together(hold(t, b, tt.quantity, tt.facts, tt.value)); got != tt.want {
			t.Errorf("%s %v with %v: %s, want %s: %s", tt.quantity, tt.value, tt.facts, got, tt.want, tt.why)
		}
	}
	two := func(distance float64, axles int) float64 {
		for _, l := range b.Limits("mass-gross-combination", facts{"kingpin-to-last-axle": distance, "axles-tractor": axles - 3, "axles-trailer": 3}) {
			if l.Rule.ID == "our-gross-two-keys" {
				return l.Value
			}
		}
		return math.NaN()
	}
	for _, tt := range []struct {
		distance float64
		axles    int
		want     float64
	}{{7, 5, 38}, {8, 5, 39.5}, {7, 6, 40}, {9, 6, 40}} {
		if got := two(tt.distance, tt.axles); got != tt.want {
			t.Errorf("two keys, %v m and %d axles: %v, want %v", tt.distance, tt.axles, got, tt.want)
		}
	}
	if got := two(6.9, 5); !math.IsNaN(got) {
		t.Errorf("two keys below the table: %v", got)
	}
	in := b.Assumptions(facts{"adr-tank": true})
	named := map[string]any{}
	for _, a := range in {
		named[a.Fact] = a.Value
	}
	if _, there := named["adr-tank"]; there || named["intermodal"] != false || named["trailer-kind"] != "semi-trailer" {
		t.Errorf("assumptions in force: %v", in)
	}
}

func TestFactsCheck(t *testing.T) {
	good := facts{"traffic": "national", "axles": 3, "spacing": 1.31, "intermodal": true, "date": "2026-01-31", "state": "CA", "max-axle-plate": math.NaN(), "container-ft": 45.0}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for _, bad := range []facts{
		{"traffc": "national"}, {"traffic": "global"}, {"traffic": true}, {"axles": "three"}, {"intermodal": "yes"},
		{"date": "31.1.2026"}, {"spacing": math.Inf(1)}, {"spacing": 1}, {"state": ""}, {"intermodal": math.NaN()}, {"axles": nil},
	} {
		var fact *rule.FactError
		if err := bad.Check(); !errors.As(err, &fact) || fact.Expected == "" {
			t.Errorf("%v: %v", bad, err)
		}
	}
}
