package rule_test

import (
	"slices"
	"strings"
	"testing"

	"underpin/rule"
)

func ruleOf(t *testing.T, book, id string) *rule.Rule {
	t.Helper()
	for _, r := range open(t, book).Rules {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("no rule %s in %s", id, book)
	return nil
}

// What a law page shows of a rule. The source of each row is the rule's own
// text in the book, which is quoted from the law beside it.
func TestRulesInWords(t *testing.T) {
	for _, tt := range []struct {
		book, id, limit string
		when, steps     []string
	}{
		{"eu", "eu-length", "at most 16.5 m", nil, nil},                                      // 96/53/EC Annex I 1.1
		{"eu", "eu-ring-inner", "at least 5.3 m on a circle of 12.5 m", nil, nil},            // 96/53/EC Annex I 1.5
		{"eu", "eu-share-drive", "at least 25 %", []string{"traffic is international"}, nil}, // StVZO § 34(8)
		{"eu", "eu-tri-axle-trailer", "at most, in steps by spacing", []string{"axles is 3", "group is trailer"}, // StVZO § 34(4) no. 4
			[]string{"spacing up to 1.3 m: 21 t", "spacing more than 1.3 m and up to 1.4 m: 24 t",
				"else: A tri-axle whose axles are more than 1.40 m apart is not in the table; treat as separate axles, expert check."}},
		{"eu", "eu-tandem-trailer", "at most, in steps by spacing", []string{"axles is 2", "group is trailer"}, // StVZO § 34(4) no. 3
			[]string{"spacing below 1 m: 11 t", "spacing from 1 m and below 1.3 m: 16 t", "spacing from 1.3 m and below 1.8 m: 18 t", "spacing from 1.8 m: 20 t"}},
		{"eu", "eu-gross-2-2-38", "at most 38 t", []string{"axles-tractor is 2", "axles-trailer is 2", "drive-suspension is air or equivalent",
			"drive-twin-tyres is true", "tractor-gross-plate is at most 18 t", "trailer-group-plate is at most 20 t", "trailer-spacing is more than 1.8 m"}, nil},
		{"eu", "eu-gross-one-trailer-axle", "not in this book: The Directive has no gross mass for a combination with a one-axle semi-trailer; the state's own law decides.",
			[]string{"axles-trailer is 1"}, nil},
		{"de", "de-kingpin-rear-short", "no limit; in place of eu-kingpin-rear, eu-kingpin-rear-45ft",
			[]string{"longer-semi-trailer is false", "trailer-meets-kingpin-dimensions is false"}, nil},
		{"de", "de-length-long", "at most 17.88 m", []string{"longer-semi-trailer is true", "date is until 2023-12-31"}, nil},
		{"us", "us-range-tandem", "at most 34000 lb", []string{"network is interstate", "spread is more than 40 in and at most 96 in"}, nil},
		{"us", "us-bridge", "at most, the bridge formula W = 500·(L·N/(N − 1) + 12·N + 36) lb, ties down", []string{"network is interstate", "spread is more than 96 in"}, nil},
	} {
		r := ruleOf(t, tt.book, tt.id)
		if got := r.LimitText(); got != tt.limit {
			t.Errorf("%s: limit %q, want %q", tt.id, got, tt.limit)
		}
		if got := r.WhenText(); !slices.Equal(got, tt.when) {
			t.Errorf("%s: when %q, want %q", tt.id, got, tt.when)
		}
		if got := r.StepsText(); !slices.Equal(got, tt.steps) {
			t.Errorf("%s: steps %q, want %q", tt.id, got, tt.steps)
		}
	}
}

// No rule of any book shows the absence of a number as one, and each book says
// of when its text is, or that nobody noted it.
func TestWordsOfEveryRule(t *testing.T) {
	for _, name := range rule.Names() {
		b := open(t, name)
		if b.TextDateText() == "" || strings.HasSuffix(b.TextDateText(), " ") {
			t.Errorf("%s: text of %q", name, b.TextDateText())
		}
		for _, r := range b.Rules {
			all := append(append(r.WhenText(), r.StepsText()...), r.LimitText())
			for _, text := range all {
				if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "map[") || strings.HasSuffix(text, " is ") || strings.HasSuffix(text, ": ") {
					t.Errorf("%s %s: %q", name, r.ID, text)
				}
			}
			for _, c := range r.When {
				if !r.Asks(c.Fact) {
					t.Errorf("%s does not ask for %s", r.ID, c.Fact)
				}
			}
			if r.Asks("no-such-fact") || !b.Has(r.Quantity) || b.Has("no-such-quantity") {
				t.Errorf("%s: Asks or Has", r.ID)
			}
		}
	}
}

// A coupling may be asked to stand ahead of the axle: the one quantity that has
// negative values.
func TestNegativeLimit(t *testing.T) {
	const book = `
[book]
name = "x"
title = "X"
text-date = "2026"
[instrument.law]
title = "Law"
version = "1"
[[rule]]
id = "a"
title = "A"
quantity = "QUANTITY"
sense = "at most"
unit = "UNIT"
limit = LIMIT
evidence = "read"
citation = { instrument = "law", point = "1" }
failed = "-"
`
	for _, tt := range []struct {
		quantity, unit, limit string
		sound                 bool
	}{
		{"lead-behind-axle", "mm", "-300", true}, {"lead-behind-axle", "mm", "0", true}, {"height", "m", "-4", false}, {"mass-axle", "t", "-10", false},
		{"length-combination", "m", "-16.5", false}, {"share-drive", "share", "-0.25", false}, {"share-drive", "share", "25", false}, {"share-drive", "share", "0.25", true},
	} {
		src := strings.NewReplacer("QUANTITY", tt.quantity, "UNIT", tt.unit, "LIMIT", tt.limit).Replace(book)
		if _, err := rule.Parse("x.toml", []byte(src), nil); (err == nil) != tt.sound {
			t.Errorf("%s at most %s %s: %v", tt.quantity, tt.limit, tt.unit, err)
		}
	}
}

// What the plates of a German articulated vehicle lack is told in units.
func TestPlatesThatDoNotGoTogether(t *testing.T) {
	f := with(plates, facts{"tractor-imposed-plate": 20000.0})
	for _, l := range open(t, "de").Limits("mass-gross-combination", with(artic23, f)) {
		if l.Rule.ID == "de-artic-gross" {
			for _, want := range []string{"18000 kg", "20000 kg", "36000 kg", "12000 kg"} {
				if !strings.Contains(l.NotCovered, want) {
					t.Errorf("%q without %s", l.NotCovered, want)
				}
			}
			return
		}
	}
	t.Error("no limit of § 34(7) no. 3")
}
