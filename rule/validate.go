package rule

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"underpin/tomlfile"
	"underpin/unit"
)

// build checks the raw file and makes the book of it and its parent.
func (r *reader) build(raw *file, src []byte, parent func(string) (*Book, error)) *Book {
	r.need("book", "name", raw.Book.Name)
	r.need("book", "title", raw.Book.Title)
	if !isTextDate(raw.Book.TextDate) {
		r.fail("book.text-date", fmt.Sprintf("text-date %q", raw.Book.TextDate), `a year, month or day, such as "2022-03"`)
	}
	r.slug("book.name", raw.Book.Name)
	if r.err != nil {
		return nil
	}
	b := &Book{Name: raw.Book.Name, Title: raw.Book.Title, TextDate: raw.Book.TextDate, Note: raw.Book.Note,
		byQuantity: map[string][]*Rule{}, instruments: map[string]Citation{}}
	r.made = b
	if p := raw.Book.Parent; p != "" {
		up, err := parent(p)
		if err != nil {
			r.fail("book.parent", fmt.Sprintf("parent %q: %v", p, err), "a rulebook that can be read")
			return nil
		}
		if up.Name == b.Name {
			r.fail("book.parent", fmt.Sprintf("the book is its own parent %q", p), "another book, or no parent")
			return nil
		}
		b.Parent = up
		b.Rules, b.Raises, b.Assumed = slices.Clone(up.Rules), slices.Clone(up.Raises), slices.Clone(up.Assumed)
		b.chain = slices.Clone(up.chain)
		for key, c := range up.instruments {
			b.instruments[key] = c
		}
	}
	b.chain = append(b.chain, slices.Clone(src))
	sum := sha256.New()
	for _, bytes := range b.chain {
		sum.Write(bytes)
	}
	b.Digest = hex.EncodeToString(sum.Sum(nil))

	keys := make([]string, 0, len(raw.Instrument))
	for key := range raw.Instrument {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	for _, key := range keys {
		in, path := raw.Instrument[key], tomlfile.Join("instrument", key)
		r.need(path, "title", in.Title)
		r.need(path, "version", in.Version)
		b.instruments[key] = Citation{Instrument: in.Title, Version: in.Version, Address: in.Address}
	}
	for i, a := range raw.Assume {
		r.assume(fmt.Sprintf("assume[%d]", i), a)
	}
	for i, d := range raw.Drop {
		r.drop(fmt.Sprintf("drop[%d]", i), d)
	}
	for i := range raw.Rule {
		r.rule(fmt.Sprintf("rule[%d]", i), &raw.Rule[i])
	}
	for i := range raw.Raise {
		r.raise(fmt.Sprintf("raise[%d]", i), &raw.Raise[i])
	}
	if len(b.Rules) == 0 {
		r.fail("", "no rule", "at least one [[rule]]")
	}
	for i := range raw.Rule {
		r.overrides(fmt.Sprintf("rule[%d].overrides", i), &raw.Rule[i])
	}
	r.circles(raw)
	if r.err != nil {
		return nil
	}
	for _, rule := range b.Rules {
		b.byQuantity[rule.Quantity] = append(b.byQuantity[rule.Quantity], rule)
	}
	return b
}

// isTextDate takes "2022", "2022-03", "2022-03-01" and, where the date is not
// known, nothing.
func isTextDate(text string) bool {
	for _, layout := range []string{"2006", "2006-01", time.DateOnly} {
		if _, err := time.Parse(layout, text); err == nil {
			return true
		}
	}
	return text == ""
}

// slug refuses ids and names that would be hard to quote.
func (r *reader) slug(path, text string) {
	for _, c := range text {
		if !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' || c == '.') {
			r.fail(path, fmt.Sprintf("%q", text), "small letters, digits, hyphens and points")
			return
		}
	}
}

func (r *reader) assume(path string, a rawAssume) {
	info, ok := factIndex[a.Fact]
	if !ok {
		r.fail(tomlfile.Join(path, "fact"), fmt.Sprintf("unknown fact %q", a.Fact), "a fact from the table of facts")
		return
	}
	r.need(path, "why", a.Why)
	val, ok := r.factValue(tomlfile.Join(path, "value"), info, a.Value)
	if !ok {
		return
	}
	var v any = val.number
	switch info.Kind {
	case Word:
		v = val.word
	case Flag:
		v = val.flag
	case Date:
		v = a.Value
		if d, ok := v.(tomlfile.Date); ok {
			v = d.String()
		}
	}
	r.made.Assumed = append(r.made.Assumed, Assumption{a.Fact, v, a.Why})
}

func (r *reader) drop(path string, d rawDrop) {
	r.need(path, "why", d.Why)
	i := slices.IndexFunc(r.made.Rules, func(x *Rule) bool { return x.ID == d.Rule })
	if i < 0 {
		r.fail(tomlfile.Join(path, "rule"), fmt.Sprintf("no rule %q in the parent", d.Rule), "the id of a parent's rule")
		return
	}
	r.made.Rules = slices.Delete(r.made.Rules, i, i+1)
}

func (r *reader) id(path, id string) {
	r.need(path, "id", id)
	r.slug(tomlfile.Join(path, "id"), id)
	taken := slices.ContainsFunc(r.made.Rules, func(x *Rule) bool { return x.ID == id }) ||
		slices.ContainsFunc(r.made.Raises, func(x *Raise) bool { return x.ID == id })
	if taken {
		r.fail(tomlfile.Join(path, "id"), fmt.Sprintf("id %q a second time", id), "an id of its own, in this book and its parents")
	}
}

func (r *reader) rule(path string, raw *rawRule) {
	r.id(path, raw.ID)
	r.need(path, "title", raw.Title)
	out := &Rule{ID: raw.ID, Book: r.made.Name, Title: raw.Title, Quantity: raw.Quantity, Sense: Sense(raw.Sense), Limit: math.NaN(),
		Overrides: raw.Overrides, Failed: raw.Failed, NotCovered: raw.NotCovered, Note: raw.Note, Lifts: raw.Lifts}
	q, ok := quantityNamed(raw.Quantity)
	if !ok {
		names := make([]string, 0, len(quantities))
		for _, q := range quantities {
			names = append(names, q.Name)
		}
		r.fail(tomlfile.Join(path, "quantity"), fmt.Sprintf("unknown quantity %q", raw.Quantity), "one of "+strings.Join(names, ", "))
		return
	}
	if out.Sense != AtMost && out.Sense != AtLeast {
		r.fail(tomlfile.Join(path, "sense"), fmt.Sprintf("sense %q", raw.Sense), `"at most" or "at least"`)
	}
	out.Unit = r.unit(tomlfile.Join(path, "unit"), raw.Unit, q.Dim)
	out.Evidence = r.evidence(path, raw.Evidence)
	out.Citation = r.citation(path, raw.Citation)
	out.source = out.Citation.String()
	out.When = r.conditions(tomlfile.Join(path, "when"), raw.When)
	r.validity(path, raw, out)
	r.outer(path, raw, out)

	ways := 0
	for _, given := range []bool{raw.Limit != nil, len(raw.Bands) > 0 || raw.By != "", raw.Function != nil} {
		if given {
			ways++
		}
	}
	switch {
	case raw.Lifts && (ways > 0 || raw.NotCovered != "" || len(raw.Overrides) == 0):
		r.fail(tomlfile.Join(path, "lifts"), "lifts with a limit, or without overrides", "lifts = true with overrides alone")
	case raw.Lifts:
	case ways > 1:
		r.fail(path, "more than one of limit, bands and function", "exactly one of them")
	case ways == 0 && raw.NotCovered == "":
		r.fail(path, "no limit", "limit, bands (with by) or function; or not-covered, to say that the book has no number")
	case ways == 1 && strings.TrimSpace(raw.Failed) == "":
		r.fail(path, "no failed", "failed, what a failed check means in plain words")
	case raw.Limit != nil:
		out.Limit = *raw.Limit
		r.limit(tomlfile.Join(path, "limit"), out, out.Limit)
	case raw.Function != nil:
		out.Function = r.function(tomlfile.Join(path, "function"), raw.Function, q.Dim)
	case ways == 1:
		out.Table = r.table(path, raw, out)
	}
	if out.Table == nil && (raw.ByUnit != "" || raw.And != "") && r.err == nil {
		r.fail(path, "by-unit or and without bands", "bands")
	}
	r.made.Rules = append(r.made.Rules, out)
}

// unit reads the law's own unit; a share has none and is written "share".
func (r *reader) unit(path, symbol string, dim unit.Dimension) unit.Unit {
	if dim == unit.Number {
		if symbol != "share" {
			r.fail(path, fmt.Sprintf("unit %q", symbol), `"share", 0 to 1`)
		}
		return unit.One
	}
	u, ok := unit.Lookup(symbol)
	if !ok || u.Dim != dim {
		r.fail(path, fmt.Sprintf("unit %q", symbol), fmt.Sprintf("a unit of %s: %s", dim, strings.Join(unit.Symbols(dim), ", ")))
	}
	return u
}

func (r *reader) evidence(path, text string) Evidence {
	e := Evidence(text)
	if !slices.Contains([]Evidence{Read, Derived, SecondHand, Practice, Memory}, e) {
		r.fail(tomlfile.Join(path, "evidence"), fmt.Sprintf("evidence %q", text), "one of read, derived, second-hand, practice, memory")
	}
	return e
}

func (r *reader) citation(path string, raw *rawCitation) Citation {
	if raw == nil {
		r.fail(path, "no citation", `citation = { instrument = "…", point = "…" }`)
		return Citation{}
	}
	path = tomlfile.Join(path, "citation")
	c, ok := r.made.instruments[raw.Instrument]
	if !ok {
		r.fail(tomlfile.Join(path, "instrument"), fmt.Sprintf("unknown instrument %q", raw.Instrument), "the key of an [instrument] table of this book or its parents")
	}
	r.need(path, "point", raw.Point)
	c.Point, c.Remark = raw.Point, raw.Remark
	return c
}

// validity becomes a condition on the fact date.
func (r *reader) validity(path string, raw *rawRule, out *Rule) {
	if raw.ValidFrom == nil && raw.ValidTo == nil {
		return
	}
	in := &interval{math.Inf(-1), math.Inf(1), true, true}
	if raw.ValidFrom != nil {
		out.ValidFrom = raw.ValidFrom.String()
		in.low, _ = day(out.ValidFrom)
	}
	if raw.ValidTo != nil {
		out.ValidTo = raw.ValidTo.String()
		in.high, _ = day(out.ValidTo)
	}
	if in.low > in.high {
		r.fail(tomlfile.Join(path, "valid-to"), "valid-to before valid-from", "a later day")
	}
	var words []string
	if out.ValidFrom != "" {
		words = append(words, "from "+out.ValidFrom)
	}
	if out.ValidTo != "" {
		words = append(words, "until "+out.ValidTo)
	}
	out.When = append(out.When, Condition{Fact: "date", in: in, text: strings.Join(words, " ")})
}

// outer reads the circle that three of the quantities are taken on.
func (r *reader) outer(path string, raw *rawRule, out *Rule) {
	turning := slices.Contains([]string{"ring-inner", "ring-width", "swing-out"}, raw.Quantity)
	hasNumber := raw.Limit != nil || raw.Function != nil || len(raw.Bands) > 0
	switch {
	case turning && raw.OuterRadius == "" && hasNumber:
		r.fail(path, "no outer-radius", "outer-radius, the circle on which the front is led, such as \"12.5 m\"")
	case !turning && raw.OuterRadius != "":
		r.fail(tomlfile.Join(path, "outer-radius"), "outer-radius for "+raw.Quantity, "it only with ring-inner, ring-width and swing-out")
	case raw.OuterRadius != "":
		out.OuterRadius = unit.Length(r.measure(tomlfile.Join(path, "outer-radius"), raw.OuterRadius, unit.LengthDim))
	}
}

// measure reads a positive length or mass with its unit.
func (r *reader) measure(path, text string, dim unit.Dimension) float64 {
	v, err := unit.Parse(text, dim)
	if err != nil {
		r.failMeasure(path, text, dim)
		return math.NaN()
	}
	if !(v > 0) {
		r.fail(path, fmt.Sprintf("%q", text), "more than zero")
	}
	return v
}

func (r *reader) failMeasure(path, text string, dim unit.Dimension) {
	r.fail(path, fmt.Sprintf("%q", text), FactInfo{Kind: Measure, Dim: dim}.expects())
}

// limit refuses numbers that no such quantity can be held against.
func (r *reader) limit(path string, rule *Rule, v float64) {
	switch {
	case !finite(v):
		r.fail(path, fmt.Sprintf("limit %v", v), "a finite number")
	case v < 0 && !signed(rule.Quantity):
		r.fail(path, fmt.Sprintf("limit %v", v), "a number that is not negative: "+rule.Quantity+" has no negative values")
	case v > 1 && rule.Unit.Dim == unit.Number:
		r.fail(path, fmt.Sprintf("limit %v", v), "a share, 0 to 1")
	}
}

func (r *reader) table(path string, raw *rawRule, rule *Rule) *Table {
	info, ok := factIndex[raw.By]
	if !ok || info.Kind != Count && info.Kind != Measure {
		r.fail(tomlfile.Join(path, "by"), fmt.Sprintf("by %q", raw.By), "a fact that is a number, a length or a mass")
		return nil
	}
	t := &Table{By: raw.By, Unit: unit.One, And: raw.And}
	if info.Kind == Measure {
		t.Unit = r.unit(tomlfile.Join(path, "by-unit"), raw.ByUnit, info.Dim)
	} else if raw.ByUnit != "" {
		r.fail(tomlfile.Join(path, "by-unit"), "by-unit for a plain number", "none")
	}
	if and, ok := factIndex[raw.And]; raw.And != "" && (!ok || and.Kind != Count) {
		r.fail(tomlfile.Join(path, "and"), fmt.Sprintf("and %q", raw.And), "a fact that is a plain number")
	}
	last := map[float64]Band{}
	for i, b := range raw.Bands {
		at := fmt.Sprintf("%s.bands[%d]", path, i)
		band := Band{From: 0, To: math.Inf(1), FromIncluded: b.FromIncluded == nil || *b.FromIncluded, ToIncluded: b.ToIncluded}
		for _, n := range []struct {
			key  string
			from *float64
			to   *float64
		}{{"from", b.From, &band.From}, {"to", b.To, &band.To}, {"limit", b.Limit, &band.Limit}, {"and", b.And, &band.And}} {
			switch {
			case n.from == nil && n.key == "limit":
				r.fail(at, "no limit", "limit, in the rule's unit")
			case n.from == nil:
			case n.key == "limit":
				r.limit(tomlfile.Join(at, n.key), rule, *n.from)
				*n.to = *n.from
			case !finite(*n.from) || *n.from < 0:
				r.fail(tomlfile.Join(at, n.key), fmt.Sprintf("%s %v", n.key, *n.from), "a finite number, not negative")
			default:
				*n.to = *n.from
			}
		}
		if (b.And != nil) != (raw.And != "") {
			r.fail(at, "and in the rule or in the band alone", "and = FACT in the rule and and = NUMBER in each band, or neither")
		}
		if !(band.From < band.To) && !(band.From == band.To && band.FromIncluded && band.ToIncluded) {
			r.fail(at, fmt.Sprintf("an empty band from %v to %v", band.From, band.To), "from below to")
		}
		if before, ok := last[band.And]; ok && (band.From < before.To || band.From == before.To && band.FromIncluded && before.ToIncluded) {
			r.fail(at, fmt.Sprintf("a band from %v that overlaps the one to %v before it", band.From, before.To), "bands in rising order that do not overlap")
		}
		last[band.And] = band
		t.Bands = append(t.Bands, band)
	}
	if len(t.Bands) == 0 {
		r.fail(tomlfile.Join(path, "by"), "by without bands", "bands")
	}
	return t
}
