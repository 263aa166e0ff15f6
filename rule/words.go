package rule

import (
	"fmt"
	"math"
	"strings"

	"underpin/unit"
)

// String words the condition: "axles-trailer is at least 2", with quantities in
// the unit the law writes them in.
func (c Condition) String() string { return c.Fact + " is " + c.text }

// Asks reports whether the rule's conditions look at a fact.
func (r *Rule) Asks(fact string) bool {
	for _, c := range r.When {
		if c.Fact == fact {
			return true
		}
	}
	return false
}

// WhenText words the conditions of the rule, one each; all must hold. None
// means that it holds always.
func (r *Rule) WhenText() []string {
	var out []string
	for _, c := range r.When {
		out = append(out, c.String())
	}
	return out
}

// LimitText words what the rule sets, whichever way the number is given: "at
// most 16.5 m", "at most, by spacing", "no limit". It never shows the absence
// of a number as one.
func (r *Rule) LimitText() string {
	switch {
	case r.Lifts:
		return "no limit; in place of " + strings.Join(r.Overrides, ", ")
	case r.Table != nil:
		by := r.Table.By
		if r.Table.And != "" {
			by += " and " + r.Table.And
		}
		return fmt.Sprintf("%s, in steps by %s", r.Sense, by)
	case r.Function != nil:
		return fmt.Sprintf("%s, %s", r.Sense, r.Function.text())
	case math.IsNaN(r.Limit):
		return "not in this book: " + r.NotCovered
	}
	text := fmt.Sprintf("%s %s", r.Sense, r.amount(r.Limit))
	if r.OuterRadius > 0 {
		text += " on a circle of " + unit.Text(float64(r.OuterRadius), unit.M)
	}
	return text
}

// StepsText words the bands of a rule's table, one each, and last what holds
// outside them; nil without a table.
func (r *Rule) StepsText() []string {
	t := r.Table
	if t == nil {
		return nil
	}
	var out []string
	for _, b := range t.Bands {
		text := t.By + " " + t.span(b)
		if t.And != "" {
			text += fmt.Sprintf(", %s %s", t.And, unit.Text(b.And, unit.One))
		}
		out = append(out, text+": "+r.amount(b.Limit))
	}
	if !t.whole() {
		outside := r.NotCovered
		if outside == "" {
			outside = "not in the table, and not extrapolated; expert check"
		}
		out = append(out, "else: "+outside)
	}
	return out
}

// span words a band: "below 1 m", "1 m to below 1.3 m", "more than 1.3 m, up to
// 1.4 m".
func (t *Table) span(b Band) string {
	in := func(v float64) string { return unit.Text(t.Unit.ToSI(v), t.Unit) }
	from, to := "", ""
	switch {
	case b.From == b.To:
		return in(b.From)
	case b.From > 0 && b.FromIncluded:
		from = "from " + in(b.From)
	case b.From > 0:
		from = "more than " + in(b.From)
	}
	switch {
	case math.IsInf(b.To, 1):
	case b.ToIncluded:
		to = "up to " + in(b.To)
	default:
		to = "below " + in(b.To)
	}
	switch {
	case from == "" && to == "":
		return "any"
	case from == "" || to == "":
		return from + to
	}
	return from + " and " + to
}

// amount writes a limit in the rule's unit; shares in per cent.
func (r *Rule) amount(v float64) string {
	if r.Unit.Dim == unit.Number {
		return unit.Text(v*100, unit.One) + " %"
	}
	return unit.Text(r.Unit.ToSI(v), r.Unit)
}

// text words a function with its parameters.
func (f *Function) text() string {
	m := func(l unit.Length) string { return unit.Text(float64(l), unit.M) }
	kg := func(v unit.Mass) string { return unit.Text(float64(v), unit.KG) }
	switch f.Name {
	case "bridge-formula":
		return fmt.Sprintf("the bridge formula W = 500·(L·N/(N − 1) + 12·N + 36) lb, ties %s", f.Ties)
	case "reference-wheelbase":
		return fmt.Sprintf("√((R − r_f)² − (r_i + w/2)²) with R %s, r_f %s, r_i %s, w the trailer-width", m(f.Outer), m(f.FittingRadius), m(f.Inner))
	case "fr-group-axle":
		if f.WholeGroup {
			return "the axle's mass by spacing (7.35 t below 0.90 m, 0.35 t more for each 5 cm, 10.5 t from 1.35 m to below 1.80 m) times the axles"
		}
		return "by spacing: 7.35 t below 0.90 m, 0.35 t more for each 5 cm, 10.5 t from 1.35 m to below 1.80 m"
	case "fr-drive-tandem":
		return "by spacing: 13.15 t below 0.90 m, 0.65 t more for each 5 cm, at least 16 t from 1.00 m, 19 t from 1.35 m to below 1.80 m"
	case "de-artic-gross":
		return "tractor-gross-plate + trailer-gross-plate − the greater of tractor-imposed-plate and trailer-imposed-plate"
	case "axle-spread":
		text := fmt.Sprintf("%s per metre of %s", kg(f.PerMetre), f.Of)
		if f.Step > 0 {
			text += ", up to the next " + kg(f.Step)
		}
		return text + ", no more than " + kg(f.MostMass)
	case "lesser-of":
		return fmt.Sprintf("the lesser of %s and %s %% of %s", m(f.MostLength), unit.Text(f.Share*100, unit.One), f.Of)
	}
	return f.Name
}

// TextDateText words the date of the newest text that the book was read from.
func (b *Book) TextDateText() string {
	if b.TextDate == "" {
		return "the date of the text read was not noted"
	}
	return "text of " + b.TextDate
}

// Has reports whether the book, its parents included, has any rule on a
// quantity, whatever its conditions are.
func (b *Book) Has(quantity string) bool { return len(b.byQuantity[quantity]) > 0 }
