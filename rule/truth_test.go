package rule_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/rule"
	"underpin/unit"
)

// drawFact draws a value that a fact can have, edges of the laws' bands among
// them.
func drawFact(t *rapid.T, f rule.FactInfo) any {
	switch f.Kind {
	case rule.Word:
		if len(f.Words) == 0 {
			return rapid.SampledFrom([]string{"CA", "IN"}).Draw(t, f.Name)
		}
		return rapid.SampledFrom(f.Words).Draw(t, f.Name)
	case rule.Flag:
		return rapid.Bool().Draw(t, f.Name)
	case rule.Count:
		if f.Name == "container-ft" {
			return rapid.SampledFrom([]float64{20, 40, 45, 53}).Draw(t, f.Name)
		}
		return float64(rapid.IntRange(1, 6).Draw(t, f.Name))
	case rule.Date:
		return rapid.SampledFrom([]string{"2023-12-31", "2024-01-01", "2026-03-01"}).Draw(t, f.Name)
	}
	if f.Dim == unit.MassDim {
		return rapid.SampledFrom([]float64{0, 500, 907.18474, 8500, 9500, 9501, 11500, 18000, 20000, 26000, 36000, 40000, 44000}).Draw(t, f.Name)
	}
	return rapid.SampledFrom([]float64{0.3, 0.9, 0.99, 1.0, 1.3, 1.31, 1.4, 1.41, 1.79, 1.8, 2.4384, 2.5, 4.2, 6.6, 8, 9.5, 10.9728, 12}).Draw(t, f.Name)
}

// drawFacts declares each fact or leaves it unknown. What a book assumes is
// always declared: replacing an assumption is another question than adding a
// fact. The sum of the axles is left to its two parts.
func drawFacts(t *rapid.T, b *rule.Book, chance float64) rule.Facts {
	assumed := map[string]bool{}
	for _, a := range b.Assumed {
		assumed[a.Fact] = true
	}
	f := rule.Facts{}
	for _, info := range rule.FactTable() {
		if info.Name == "axles-combination" {
			continue
		}
		if assumed[info.Name] || rapid.Float64Range(0, 1).Draw(t, "declare "+info.Name) < chance {
			f[info.Name] = drawFact(t, info)
		}
	}
	return f
}

// drawValue draws a value near the limits, in SI.
func drawValue(t *rapid.T, limits []rule.Limit) float64 {
	near := 10.0
	if len(limits) > 0 {
		l := rapid.SampledFrom(limits).Draw(t, "limit")
		switch {
		case finite(l.Sure) && rapid.Bool().Draw(t, "sure"):
			near = l.Rule.Unit.ToSI(l.Sure)
		case !math.IsNaN(l.SI):
			near = l.SI
		}
	}
	return near * rapid.SampledFrom([]float64{0.5, 0.99, 1, 1.0001, 1.03, 1.06, 1.12, 2}).Draw(t, "value")
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func check(limits []rule.Limit, si float64) rule.Answer {
	var findings []rule.Finding
	for i := range limits {
		findings = append(findings, limits[i].Check("test", si))
	}
	return together(findings)
}

func drawBook(t *rapid.T, books map[string]*rule.Book) *rule.Book {
	return books[rapid.SampledFrom(rule.Names()).Draw(t, "book")]
}

func allBooks(t *testing.T) map[string]*rule.Book {
	books := map[string]*rule.Book{}
	for _, name := range rule.Names() {
		books[name] = open(t, name)
	}
	return books
}

// Declaring another fact may settle an open answer, and never changes a
// settled one: a failure does not become cannot-tell, nor a pass anything else.
func TestDeclaringNeverUnsettles(t *testing.T) {
	books := allBooks(t)
	settled, opened := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		b := drawBook(t, books)
		some := drawFacts(t, b, 0.6)
		more := rule.Facts{}
		for k, v := range some {
			more[k] = v
		}
		for _, info := range rule.FactTable() {
			if _, there := more[info.Name]; !there && info.Name != "axles-combination" && rapid.Bool().Draw(t, "more "+info.Name) {
				more[info.Name] = drawFact(t, info)
			}
		}
		for _, q := range rule.Vocabulary() {
			limits := b.Limits(q.Name, some)
			si := drawValue(t, limits)
			before, after := check(limits, si), check(b.Limits(q.Name, more), si)
			if before != rule.CannotTell && before != after {
				t.Fatalf("%s %s %v: %s with %v, %s with %v", b.Name, q.Name, si, before, some, after, more)
			}
			switch {
			case before != rule.CannotTell:
				settled++
			case after != rule.CannotTell:
				opened++
			}
		}
	})
	if settled == 0 || opened == 0 {
		t.Errorf("%d settled, %d opened: the draw never got there", settled, opened)
	}
}

// With every fact declared nothing is missing.
func TestNothingMissingWhenAllIsDeclared(t *testing.T) {
	books := allBooks(t)
	rapid.Check(t, func(t *rapid.T) {
		b := drawBook(t, books)
		f := drawFacts(t, b, 2)
		if err := f.Check(); err != nil {
			t.Fatal(err)
		}
		for _, q := range rule.Vocabulary() {
			for _, l := range b.Limits(q.Name, f) {
				if len(l.Missing) > 0 {
					t.Fatalf("%s %s misses %v with all facts declared", b.Name, l.Rule.ID, l.Missing)
				}
				if l.NotCovered == "" && l.Doubt == "" && !(l.Sure == l.Value) {
					t.Fatalf("%s %s: limit %v, sure %v", b.Name, l.Rule.ID, l.Value, l.Sure)
				}
			}
		}
	})
}

// A value that is kinder to a limit never gets a worse answer, and the answer
// without the finding is the finding's.
func TestAnswersAreMonotone(t *testing.T) {
	books := allBooks(t)
	rank := map[rule.Answer]int{rule.DoesNotFit: 0, rule.CannotTell: 1, rule.Fits: 2}
	rapid.Check(t, func(t *rapid.T) {
		b := drawBook(t, books)
		f := drawFacts(t, b, 0.7)
		for _, q := range rule.Vocabulary() {
			for _, l := range b.Limits(q.Name, f) {
				a := rapid.Float64Range(-1, 60000).Draw(t, "a")
				c := rapid.Float64Range(-1, 60000).Draw(t, "c")
				kinder, harsher := math.Min(a, c), math.Max(a, c)
				if l.Rule.Sense == rule.AtLeast {
					kinder, harsher = harsher, kinder
				}
				k, h := l.Check("test", kinder), l.Check("test", harsher)
				if rank[k.Answer] < rank[h.Answer] {
					t.Fatalf("%s: %v is %s, %v is %s", l.Rule.ID, kinder, k.Answer, harsher, h.Answer)
				}
				if margin, answer := l.Decide(kinder); answer != k.Answer || (margin != k.Margin && !(math.IsNaN(margin) && math.IsNaN(k.Margin))) {
					t.Fatalf("%s: Decide %v %s, Check %v %s", l.Rule.ID, margin, answer, k.Margin, k.Answer)
				}
			}
		}
	})
}

// A laxer limit never turns a pass into a failure.
func TestLaxerLimitIsNoWorse(t *testing.T) {
	rank := map[rule.Answer]int{rule.DoesNotFit: 0, rule.CannotTell: 1, rule.Fits: 2}
	rapid.Check(t, func(t *rapid.T) {
		f := rule.Finding{
			Value: rapid.Float64Range(-100, 100).Draw(t, "value"), Limit: rapid.Float64Range(-100, 100).Draw(t, "limit"),
			Sense: rapid.SampledFrom([]rule.Sense{rule.AtMost, rule.AtLeast}).Draw(t, "sense"), Evidence: rule.Read,
		}
		lax := f
		by := rapid.Float64Range(0, 50).Draw(t, "by")
		if lax.Limit += by; f.Sense == rule.AtLeast {
			lax.Limit -= 2 * by
		}
		if rank[lax.Judge().Answer] < rank[f.Judge().Answer] {
			t.Fatalf("%+v is %s, laxer %+v is %s", f, f.Judge().Answer, lax, lax.Judge().Answer)
		}
	})
}

// The three values, case by case.
func TestOpenAnswers(t *testing.T) {
	eu, uk, au := open(t, "eu"), open(t, "uk"), open(t, "au")
	artic := facts{"axles-tractor": 2, "axles-trailer": 3, "fuel": "diesel"}
	drive := with(motor2, facts{"spacing": 1.31})
	delete(drive, "twin-tyres")
	delete(drive, "suspension")
	delete(drive, "max-axle-plate")
	for _, tt := range []struct {
		name     string
		book     *rule.Book
		quantity string
		facts    facts
		value    float64
		want     rule.Answer
		missing  string // one of the facts that are named
	}{
		{"within the stricter", eu, "mass-gross-combination", artic, 40000, rule.Fits, ""},
		{"intermodal papers would decide", eu, "mass-gross-combination", artic, 41000, rule.CannotTell, "intermodal"},
		{"beyond what papers allow", eu, "mass-gross-combination", artic, 42001, rule.DoesNotFit, ""},
		{"no papers", eu, "mass-gross-combination", with(artic, facts{"intermodal": false}), 41000, rule.DoesNotFit, ""},
		{"papers, container unknown", eu, "mass-gross-combination", with(artic, facts{"intermodal": true}), 41000, rule.CannotTell, "container-ft"},
		{"papers and container", eu, "mass-gross-combination", with(artic, facts{"intermodal": true, "container-ft": 40}), 41000, rule.Fits, ""},
		{"tyres and suspension would decide", eu, "mass-group", drive, 18500, rule.CannotTell, "suspension"},
		{"beyond tyres and suspension", eu, "mass-group", drive, 19001, rule.DoesNotFit, ""},
		{"single tyres", eu, "mass-group", with(drive, facts{"twin-tyres": false}), 18500, rule.DoesNotFit, ""},
		{"spacing unknown, least band", eu, "mass-group", trailer2, 11000, rule.Fits, ""},
		{"spacing unknown, some band", eu, "mass-group", trailer2, 15000, rule.CannotTell, "spacing"},
		{"spacing unknown, no band", eu, "mass-group", trailer2, 20001, rule.DoesNotFit, ""},
		{"spacing unknown, table with an end", eu, "mass-group", trailer3, 1000, rule.CannotTell, "spacing"},
		{"axles unknown", eu, "mass-gross-combination", facts{"axles-tractor": 2}, 50000, rule.CannotTell, "axles-trailer"},
		{"battery, its mass unknown", eu, "mass-gross-combination", with(artic, facts{"intermodal": false, "fuel": "battery"}), 41000, rule.CannotTell, "extra-technology-mass"},
		{"battery, beyond the bound", eu, "mass-gross-combination", with(artic, facts{"intermodal": false, "fuel": "battery"}), 42001, rule.DoesNotFit, ""},
		{"battery of 0.8 t", eu, "mass-gross-combination", with(artic, facts{"intermodal": false, "fuel": "battery", "extra-technology-mass": 800.0}), 40800, rule.Fits, ""},
		{"battery of 0.8 t, more", eu, "mass-gross-combination", with(artic, facts{"intermodal": false, "fuel": "battery", "extra-technology-mass": 800.0}), 40801, rule.DoesNotFit, ""},
		{"drive unknown", eu, "mass-axle", nil, 10000, rule.Fits, ""},
		{"drive unknown, more", eu, "mass-axle", nil, 11000, rule.CannotTell, "drive"},
		{"unverified rule alone allows it", au, "length-kingpin-rear", facts{"trailer-body": "refrigerated", "s-dimension": 9.4}, 12.4, rule.CannotTell, ""},
		{"beyond the unverified rule too", au, "length-kingpin-rear", facts{"trailer-body": "refrigerated", "s-dimension": 9.4}, 13.3, rule.DoesNotFit, ""},
		{"a rule read in a summary allows it", uk, "length-kingpin-rear", facts{"trailer-body": "car-transporter"}, 12.4, rule.Fits, ""},
		{"beyond the rule read in a summary", uk, "length-kingpin-rear", facts{"trailer-body": "car-transporter"}, 12.6, rule.DoesNotFit, ""},
		{"the law lifts the limit", uk, "radius-kingpin-front", facts{"trailer-meets-kingpin-dimensions": false, "trailer-body": "low-loader"}, 3.0, rule.Fits, ""},
		{"it may lift the limit", uk, "radius-kingpin-front", facts{"trailer-body": "low-loader"}, 3.0, rule.CannotTell, "trailer-meets-kingpin-dimensions"},
		{"value unknown", eu, "height", nil, math.NaN(), rule.CannotTell, ""},
		{"value infinite", eu, "height", nil, math.Inf(-1), rule.CannotTell, ""},
	} {
		found := hold(t, tt.book, tt.quantity, tt.facts, tt.value)
		got := together(found)
		named := tt.missing == ""
		for _, f := range found {
			for _, fact := range f.Missing {
				named = named || f.Answer == rule.CannotTell && fact == tt.missing
			}
			if f.Answer == rule.CannotTell && finite(tt.value) && len(f.Missing) == 0 && f.Note == "" {
				t.Errorf("%s: %s cannot tell and does not say why", tt.name, f.ID)
			}
		}
		if got != tt.want && !(len(found) == 0 && tt.want == rule.Fits) || !named {
			t.Errorf("%s: %s, want %s naming %q\n%+v", tt.name, got, tt.want, tt.missing, found)
		}
	}
}

// Between two neighbouring breaks every limit is one number.
func TestBreaks(t *testing.T) {
	books := allBooks(t)
	steps := []struct{ law, quantity, fact string }{
		{"us", "mass-axle-range", "spread"}, {"us-ca", "mass-axle-range", "spread"}, {"eu", "mass-group", "spacing"}, {"fr", "mass-group", "spacing"},
		{"fr", "mass-axle", "spacing"}, {"uk", "mass-gross-combination", "relevant-axle-spacing"}, {"uk", "mass-group", "spacing"}, {"au", "mass-group", "spread"},
	}
	for _, s := range steps {
		if len(books[s.law].Breaks(s.quantity, s.fact)) == 0 {
			t.Errorf("%+v has no break", s)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(steps).Draw(t, "steps")
		b := books[s.law]
		f := drawFacts(t, b, 2)
		breaks := b.Breaks(s.quantity, s.fact)
		i := rapid.IntRange(0, len(breaks)-1).Draw(t, "interval")
		low, high := breaks[i], breaks[i]+0.1 // the bridge formula's steps are listed up to 200 ft
		if i+1 < len(breaks) {
			high = breaks[i+1]
		}
		at := func(label string) []rule.Limit {
			f[s.fact] = low + (high-low)*rapid.Float64Range(0.001, 0.999).Draw(t, label)
			return b.Limits(s.quantity, f)
		}
		one, other := at("one"), at("other")
		if len(one) != len(other) {
			t.Fatalf("%+v between %v and %v: %d and %d limits", s, low, high, len(one), len(other))
		}
		for k := range one {
			if one[k].Rule != other[k].Rule || one[k].Value != other[k].Value && !(math.IsNaN(one[k].Value) && math.IsNaN(other[k].Value)) {
				t.Fatalf("%+v between %v and %v: %s %v and %s %v", s, low, high, one[k].Rule.ID, one[k].Value, other[k].Rule.ID, other[k].Value)
			}
		}
	})
}
