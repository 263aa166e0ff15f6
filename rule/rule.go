package rule

import (
	"math"
	"strings"

	"underpin/unit"
)

// A Citation tells where a limit was read.
type Citation struct {
	Instrument string // "Directive 96/53/EC"
	Point      string // "Annex I, point 1.6"
	Version    string // the text or its date
	Address    string // where that text is kept; may be empty
	Remark     string // how it was read, where that matters
}

// String is the source as it stands beside a finding.
func (c Citation) String() string {
	var b strings.Builder
	b.WriteString(c.Instrument + ", " + c.Point + " (" + c.Version + ")")
	if c.Remark != "" {
		b.WriteString("; " + c.Remark)
	}
	return b.String()
}

// A Rule is one limit of a rulebook. Exactly one of Limit, Table and Function
// gives the number; a rule with none of them either lifts others or says, in
// NotCovered, that the book has no number for the case.
type Rule struct {
	ID       string
	Book     string // the book that holds it, which may be a parent
	Title    string
	Quantity string
	Sense    Sense
	Unit     unit.Unit // the law's own
	Limit    float64   // in Unit; NaN when Table or Function gives it
	Table    *Table
	Function *Function

	// OuterRadius is the circle on which the foremost outer point is led
	// while ring-inner, ring-width or swing-out is taken; 0 for others.
	OuterRadius unit.Length

	// Lifts marks a rule without a number that only replaces others: where it
	// applies, the law sets no limit.
	Lifts bool

	When       []Condition // all must hold; validity in time is among them
	ValidFrom  string      // a date, or empty
	ValidTo    string
	Overrides  []string // ids of the rules that this one replaces where it applies
	Evidence   Evidence
	Citation   Citation
	Failed     string // what a failed check means, in plain words
	NotCovered string // what to do where the table has no value
	Note       string

	source string // the citation as text, made once
}

// Source is the rule's citation as text.
func (r *Rule) Source() string { return r.source }

// A Raise lets other limits be exceeded by a declared mass, up to a bound.
type Raise struct {
	ID, Title string
	Rules     []string // ids of the rules whose limit it raises
	By        string   // the fact that tells by how much
	Most      float64  // in Unit
	Unit      unit.Unit
	When      []Condition
	Evidence  Evidence
	Citation  Citation
}

// An Assumption is a fact that a book takes for granted until it is declared.
// Whoever shows an answer shows the assumptions that were in force.
type Assumption struct {
	Fact  string
	Value any // string, bool or float64 (SI)
	Why   string
}

// A Book is the limits of one jurisdiction, the parents' included.
type Book struct {
	Name     string
	Title    string
	TextDate string // the date of the newest text it was read from, "2022-03"; may be empty
	Note     string
	Parent   *Book
	Digest   string // SHA-256, in hexadecimal, of the files' stored bytes, the first parent's first
	Rules    []*Rule
	Raises   []*Raise
	Assumed  []Assumption

	byQuantity  map[string][]*Rule
	instruments map[string]Citation
	chain       [][]byte
}

// A Limit is a rule as it stands for one set of facts.
type Limit struct {
	Rule  *Rule
	Value float64 // in Rule.Unit; NaN where there is no number
	SI    float64
	// Sure bounds, in Rule.Unit, what can turn out lawful once the missing
	// facts are declared: a value beyond Value but within Sure is cannot-tell,
	// one beyond Sure does not fit. Without missing facts it equals Value; it
	// is infinite where nothing is sure.
	Sure       float64
	EachAxle   float64  // where the law limits each axle of the group: that limit, else NaN
	Why        string   // the facts used and how the number was formed
	Missing    []string // undeclared facts on which the limit depends
	NotCovered string   // why the book gives no number for these facts
	Doubt      string   // an unverified rule that would replace this one
	Evidence   Evidence // the rule's, or that of a raise in force where it is weaker
}

// Check holds a value in SI, made by the named calculation, against the limit.
// Exactly on the limit fits; only binary dust is absorbed. A value that is not
// finite is cannot-tell, and so is every value where there is no number.
func (l *Limit) Check(calc string, si float64) Finding {
	f := Finding{
		ID: l.Rule.ID, Quantity: l.Rule.Quantity, Title: l.Rule.Title,
		Value: l.Rule.Unit.From(si), Limit: l.Value, Sense: l.Rule.Sense, Unit: l.Rule.Unit,
		Evidence: l.Evidence, Calc: calc, Source: l.Rule.source, Working: l.Why,
	}.judge(l.Sure)
	switch f.Answer {
	case CannotTell:
		if f.Missing, f.Note = l.Missing, l.NotCovered; f.Note == "" {
			f.Note = l.Doubt
		}
	case DoesNotFit:
		f.Note = l.Rule.Failed
	}
	return f
}

// Decide is Check without the finding, for inner loops: the room left, in the
// rule's unit, and the answer.
func (l *Limit) Decide(si float64) (margin float64, answer Answer) {
	return decide(l.Rule.Sense, l.Rule.Unit.From(si), l.Value, l.Sure)
}

// none is the bound that is never exceeded, for a sense.
func none(s Sense) float64 {
	if s == AtLeast {
		return math.Inf(-1)
	}
	return math.Inf(1)
}

// laxer returns the bound that allows more.
func laxer(s Sense, a, b float64) float64 {
	if s == AtLeast {
		return math.Min(a, b)
	}
	return math.Max(a, b)
}

// stricter returns the bound that allows less.
func stricter(s Sense, a, b float64) float64 {
	if s == AtLeast {
		return math.Max(a, b)
	}
	return math.Min(a, b)
}
