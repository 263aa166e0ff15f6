package rule

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/unit"
)

// Assumptions returns the book's assumptions that stand in for facts which
// were not declared. Whoever shows an answer shows them.
func (b *Book) Assumptions(declared Facts) []Assumption {
	var in []Assumption
	v := view{declared, b.Assumed}
	for i, a := range b.Assumed {
		later := slices.ContainsFunc(b.Assumed[i+1:], func(o Assumption) bool { return o.Fact == a.Fact })
		if _, known, assumed := v.lookup(a.Fact); known && assumed && !later {
			in = append(in, a)
		}
	}
	return in
}

// candidate is a rule with what the facts say of it.
type candidate struct {
	rule    *Rule
	applies truth
	missing []string // for applies
	number
	by     []*candidate // those that override it and at least may apply
	lifted float64      // lax, or laxer still if an overrider turns out to apply; memo of sure
	walked bool
}

// number is what a rule says, should it apply.
type number struct {
	strict, lax float64 // the same where everything is known; lax is infinite where nothing is sure
	eachAxle    float64
	why         []string
	missing     []string
	notCovered  string
	evidence    Evidence
}

// Limits returns the limits on a quantity for the declared facts, in the order
// of the book, parents first. A rule whose conditions are false is left out,
// and so is one that a rule which applies replaces. A rule whose conditions
// depend on undeclared facts is returned with these facts in Missing, beside
// the rule it would replace.
//
// So the caller takes every limit returned: if all checks fit, the quantity
// fits, whatever the undeclared facts turn out to be; if one check does not
// fit, it does not fit, whatever they turn out to be.
//
// A rule that is only practice or memory never replaces one that was read: both
// are returned, and what only the unverified one allows is cannot-tell.
func (b *Book) Limits(quantity string, declared Facts) []Limit {
	v := view{declared, b.Assumed}
	rules := b.byQuantity[quantity]
	found := make([]*candidate, 0, len(rules))
	byID := make(map[string]*candidate, len(rules))
	for _, r := range rules {
		applies, missing := all(r.When, v)
		if applies == no {
			continue
		}
		c := &candidate{rule: r, applies: applies, missing: missing}
		c.number = r.number(v)
		b.raise(c, v)
		if c.notCovered != "" || len(c.why) > 0 || len(r.When) > 0 {
			c.why = append(conditionsMet(r, v), c.why...)
		}
		found, byID[r.ID] = append(found, c), c
	}
	for _, c := range found {
		for _, id := range c.rule.Overrides {
			if o := byID[id]; o != nil {
				o.by = append(o.by, c)
			}
		}
	}
	limits := make([]Limit, 0, len(found))
	for _, c := range found {
		replaced := slices.ContainsFunc(c.by, func(o *candidate) bool {
			return o.applies == yes && (o.evidence.Certifies() || !c.evidence.Certifies())
		})
		if replaced || c.rule.Lifts {
			continue
		}
		limits = append(limits, c.limit())
	}
	return limits
}

// conditionsMet words the known facts that a rule's conditions look at.
func conditionsMet(r *Rule, v view) []string {
	var why []string
	for _, c := range r.When {
		if s := v.say(c.Fact); !slices.Contains(why, s) {
			why = append(why, s)
		}
	}
	return why
}

func (c *candidate) limit() Limit {
	r := c.rule
	l := Limit{Rule: r, Value: c.strict, SI: r.Unit.ToSI(c.strict), Sure: none(r.Sense), EachAxle: c.eachAxle,
		Missing: slices.Clone(c.missing), NotCovered: c.notCovered, Evidence: c.evidence}
	if c.applies == yes {
		l.Sure = c.sure()
	}
	l.Missing = append(l.Missing, c.number.missing...)
	for _, o := range c.by {
		l.Missing = append(l.Missing, o.missing...)
		c.why = append(c.why, fmt.Sprintf("unless %s applies", o.rule.ID))
		if o.applies == yes { // it is in by although it applies, so it is not verified
			l.Doubt = fmt.Sprintf("%s would replace this limit but is not verified (%s): %s", o.rule.ID, o.evidence, o.rule.source)
		}
	}
	slices.Sort(l.Missing)
	l.Missing = slices.Compact(l.Missing)
	l.Why = strings.Join(c.why, "; ")
	return l
}

// sure is the laxest bound that this rule and those which may replace it can
// turn out to set. Overrides form no circle; the book was checked for it.
func (c *candidate) sure() float64 {
	if !c.walked {
		c.walked, c.lifted = true, c.lax
		for _, o := range c.by {
			// Rules that replace each other share quantity and sense, and
			// may differ in unit.
			c.lifted = laxer(c.rule.Sense, c.lifted, c.rule.Unit.From(o.rule.Unit.ToSI(o.sure())))
		}
	}
	return c.lifted
}

// number works out what the rule says of the facts, should it apply.
func (r *Rule) number(v view) number {
	n := number{strict: math.NaN(), lax: none(r.Sense), eachAxle: math.NaN(), evidence: r.Evidence}
	switch {
	case r.Table != nil:
		return r.tableNumber(n, v)
	case r.Function != nil:
		return r.functionNumber(n, v)
	case r.Lifts:
		n.strict = none(r.Sense)
		return n
	case math.IsNaN(r.Limit):
		n.notCovered = r.NotCovered
		return n
	}
	n.strict, n.lax = r.Limit, r.Limit
	return n
}

func (r *Rule) tableNumber(n number, v view) number {
	t := r.Table
	by, known, _ := v.lookup(t.By)
	n.why = append(n.why, v.say(t.By))
	var and value
	if t.And != "" {
		var ok bool
		if and, ok, _ = v.lookup(t.And); !ok {
			n.missing = v.missing(t.And)
		}
		n.why = append(n.why, v.say(t.And))
	}
	if !known {
		n.missing = append(n.missing, v.missing(t.By)...)
		if t.whole() {
			n.strict, n.lax = t.Bands[0].Limit, t.Bands[0].Limit
			for _, b := range t.Bands {
				n.strict, n.lax = stricter(r.Sense, n.strict, b.Limit), laxer(r.Sense, n.lax, b.Limit)
			}
		}
	}
	if len(n.missing) > 0 {
		return n
	}
	limit, ok := t.find(by.number, and.number)
	if !ok {
		if n.notCovered = r.NotCovered; n.notCovered == "" {
			n.notCovered = fmt.Sprintf("%s is not in the table of %s, and is not extrapolated; expert check", v.say(t.By), r.Citation.Point)
		}
		return n
	}
	n.strict, n.lax = limit, limit
	return n
}

func (r *Rule) functionNumber(n number, v view) number {
	args := arguments{view: v}
	out := r.Function.evaluate(&args)
	n.why, n.missing = args.why, args.missing
	switch {
	case len(n.missing) > 0:
		return n
	case out.notCovered != "":
		n.notCovered = out.notCovered
		return n
	}
	n.strict = convert(out.value, out.unit, r.Unit)
	n.lax = n.strict
	if out.eachAxle != 0 {
		n.eachAxle = convert(out.eachAxle, out.unit, r.Unit)
	}
	if out.working != "" {
		n.why = append(n.why, out.working)
	}
	return n
}

// convert leaves a number alone that is already in the wanted unit: limits in
// whole pounds stay whole.
func convert(x float64, from, to unit.Unit) float64 {
	if from == to {
		return x
	}
	return to.From(from.ToSI(x))
}

// raise adds what the book allows above the limit. What is not certain raises
// only the bound beyond which nothing is lawful.
func (b *Book) raise(c *candidate, v view) {
	for _, r := range b.Raises {
		if !slices.Contains(r.Rules, c.rule.ID) {
			continue
		}
		applies, missing := all(r.When, v)
		if applies == no {
			continue
		}
		most := convert(r.Most, r.Unit, c.rule.Unit)
		by, known, _ := v.lookup(r.By)
		add := most
		if known {
			add = math.Min(math.Max(c.rule.Unit.From(by.number), 0), most)
		}
		c.lax += add
		if !known {
			missing = append(missing, v.missing(r.By)...)
		}
		if len(missing) > 0 {
			c.number.missing = append(c.number.missing, missing...)
			continue
		}
		c.strict += add
		c.why = append(c.why, fmt.Sprintf("raised by %s: %s, at most %s counts (%s)", unit.Text(c.rule.Unit.ToSI(add), c.rule.Unit),
			v.say(r.By), unit.Text(r.Unit.ToSI(r.Most), r.Unit), r.Citation))
		if !r.Evidence.Certifies() {
			c.evidence = r.Evidence
		}
	}
}
