package rule

import (
	"math"

	"underpin/unit"
)

// truth is three-valued: a condition over undeclared facts is neither.
type truth int8

const (
	no truth = iota
	maybe
	yes
)

// A Condition is one line of a rule's `when` table. It holds when the fact is
// one of the listed values, or lies in the range.
type Condition struct {
	Fact  string
	oneOf []value
	in    *interval
	text  string // what the fact must be, in words
}

// An interval of numbers; an end that is not there is infinite.
type interval struct {
	low, high                 float64
	lowIncluded, highIncluded bool
}

func (in interval) contains(x float64) bool {
	lower, upper := compare(x, in.low), compare(x, in.high)
	return (lower > 0 || lower == 0 && in.lowIncluded) && (upper < 0 || upper == 0 && in.highIncluded)
}

// compare orders two numbers, binary dust aside, so that a spacing that was
// computed as 1.3000000000000003 m is 1.3 m. NaN is below everything; facts
// that are NaN never come here.
func compare(a, b float64) int {
	switch {
	case a == b, math.Abs(a-b) <= dust*math.Min(math.Abs(a), math.Abs(b)):
		return 0
	case a > b:
		return 1
	}
	return -1
}

// holds evaluates the condition.
func (c Condition) holds(v view) truth {
	got, known, _ := v.lookup(c.Fact)
	if !known {
		return maybe
	}
	if c.in != nil {
		if c.in.contains(got.number) {
			return yes
		}
		return no
	}
	for _, want := range c.oneOf {
		if got.word == want.word && got.flag == want.flag && compare(got.number, want.number) == 0 {
			return yes
		}
	}
	return no
}

// all evaluates conditions joined by "and", and names the facts that decide
// it. One that is false decides, whatever is unknown beside it.
func all(conditions []Condition, v view) (truth, []string) {
	result := yes
	var missing []string
	for _, c := range conditions {
		switch c.holds(v) {
		case no:
			return no, nil
		case maybe:
			result = maybe
			missing = append(missing, v.missing(c.Fact)...)
		}
	}
	return result, missing
}

// A Table is a limit in steps of one declared number.
type Table struct {
	By    string    // the fact that steps it
	Unit  unit.Unit // of From and To
	And   string    // a second fact, a count, that picks among the bands; may be empty
	Bands []Band
}

// A Band is one step. An end that the law does not print is infinite.
type Band struct {
	From, To                 float64
	FromIncluded, ToIncluded bool
	And                      float64
	Limit                    float64 // in the rule's unit
}

func (t *Table) interval(b Band) interval {
	return interval{t.Unit.ToSI(b.From), t.Unit.ToSI(b.To), b.FromIncluded, b.ToIncluded}
}

// find returns the limit for a known step fact.
func (t *Table) find(by, and float64) (float64, bool) {
	for _, b := range t.Bands {
		if (t.And == "" || compare(and, b.And) == 0) && t.interval(b).contains(by) {
			return b.Limit, true
		}
	}
	return math.NaN(), false
}

// whole reports whether the bands cover every positive number, so that some
// limit is certain though the step fact is unknown. Bands stand in order.
func (t *Table) whole() bool {
	if t.And != "" || len(t.Bands) == 0 || t.Bands[0].From > 0 || !math.IsInf(t.Bands[len(t.Bands)-1].To, 1) {
		return false
	}
	for i := 1; i < len(t.Bands); i++ {
		a, b := t.Bands[i-1], t.Bands[i]
		if a.To != b.From || a.ToIncluded == b.FromIncluded {
			return false
		}
	}
	return true
}
