package rule

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/tomlfile"
	"underpin/unit"
)

// conditions reads a `when` table. Its lines are joined by "and".
func (r *reader) conditions(path string, when map[string]any) []Condition {
	names := make([]string, 0, len(when))
	for name := range when {
		names = append(names, name)
	}
	slices.Sort(names)
	var out []Condition
	for _, name := range names {
		at := tomlfile.Join(path, name)
		info, ok := factIndex[name]
		if !ok {
			r.fail(at, fmt.Sprintf("unknown fact %q", name), "a fact from the table of facts")
			return nil
		}
		c := Condition{Fact: name}
		switch v := when[name].(type) {
		case map[string]any:
			c.in = r.interval(at, info, v)
			c.text = rangeText(v)
		case []any:
			if len(v) == 0 {
				r.fail(at, "an empty list", "at least one value")
			}
			words := make([]string, len(v))
			for i, element := range v {
				one, _ := r.factValue(at, info, element)
				c.oneOf = append(c.oneOf, one)
				words[i] = fmt.Sprint(element)
			}
			c.text = strings.Join(words, " or ")
		default:
			one, _ := r.factValue(at, info, v)
			c.oneOf, c.text = []value{one}, fmt.Sprint(v)
		}
		out = append(out, c)
	}
	return out
}

// rangeText words a range: "at least 1.3 m and less than 1.8 m".
func rangeText(ends map[string]any) string {
	var words []string
	for _, key := range []string{"at-least", "more-than", "at-most", "less-than"} {
		if v, ok := ends[key]; ok {
			words = append(words, fmt.Sprintf("%s %v", strings.ReplaceAll(key, "-", " "), v))
		}
	}
	return strings.Join(words, " and ")
}

// interval reads { at-least = …, less-than = … }.
func (r *reader) interval(path string, info FactInfo, ends map[string]any) *interval {
	in := &interval{math.Inf(-1), math.Inf(1), true, true}
	if info.Kind == Word || info.Kind == Flag {
		r.fail(path, "a range of "+info.Name, info.expects()+", or a list of these")
		return in
	}
	keys := make([]string, 0, len(ends))
	for key := range ends {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	lows, highs := 0, 0
	for _, key := range keys {
		at := tomlfile.Join(path, key)
		if !slices.Contains([]string{"at-least", "more-than", "at-most", "less-than"}, key) {
			r.fail(at, fmt.Sprintf("unknown key %q", key), "at-least, more-than, at-most or less-than")
			return in
		}
		end, _ := r.factValue(at, info, ends[key])
		if key == "at-least" || key == "more-than" {
			in.low, in.lowIncluded = end.number, key == "at-least"
			lows++
		} else {
			in.high, in.highIncluded = end.number, key == "at-most"
			highs++
		}
	}
	if lows > 1 || highs > 1 || lows+highs == 0 || !(in.low < in.high || in.low == in.high && in.lowIncluded && in.highIncluded) {
		r.fail(path, "a range that holds nothing, or with two ends on one side", "at most one lower and one higher end")
	}
	return in
}

// factValue reads one value of a fact as the file writes it: lengths and
// masses as text with their unit.
func (r *reader) factValue(path string, info FactInfo, raw any) (value, bool) {
	switch v := raw.(type) {
	case string:
		if info.Kind == Measure {
			n, err := unit.Parse(v, info.Dim)
			if err != nil {
				r.failMeasure(path, v, info.Dim)
				return value{}, false
			}
			return value{number: n}, true
		}
	case int64:
		if info.Kind == Count {
			return value{number: float64(v)}, true
		}
	case float64:
		if info.Kind == Count && finite(v) {
			return value{number: v}, true
		}
		raw = fmt.Sprint(v)
	case tomlfile.Date:
		if info.Kind == Date {
			days, ok := day(v.String())
			return value{number: days}, ok
		}
	case nil:
		r.fail(path, "no value", info.expects())
		return value{}, false
	}
	if info.Kind != Measure && info.Kind != Count {
		if val, ok := info.value(raw); ok {
			return val, true
		}
	}
	r.fail(path, fmt.Sprintf("%v for the fact %s", raw, info.Name), info.expects())
	return value{}, false
}

// function reads the parameters that the named function takes, and no others.
func (r *reader) function(path string, raw *rawFunction, dim unit.Dimension) *Function {
	known, ok := functions[raw.Name]
	if !ok {
		r.fail(tomlfile.Join(path, "name"), fmt.Sprintf("unknown function %q", raw.Name), "one of "+strings.Join(functionNames(), ", "))
		return nil
	}
	if known.dim != dim {
		r.fail(tomlfile.Join(path, "name"), fmt.Sprintf("the function %s, which gives a %s", raw.Name, known.dim), "a function that gives a "+dim.String())
		return nil
	}
	given := map[string]bool{
		"ties": raw.Ties != "", "outer": raw.Outer != "", "inner": raw.Inner != "", "fitting-radius": raw.FittingRadius != "",
		"whole-group": raw.WholeGroup != nil, "of": raw.Of != "", "share": raw.Share != nil, "most": raw.Most != "",
		"per-metre": raw.PerMetre != "", "step": raw.Step != "",
	}
	names := make([]string, 0, len(given))
	for key := range given {
		names = append(names, key)
	}
	slices.Sort(names)
	for _, key := range names {
		switch takes := slices.Contains(known.params, key); {
		case takes && !given[key]:
			r.fail(path, fmt.Sprintf("function %s without %s", raw.Name, key), key)
		case !takes && given[key]:
			r.fail(tomlfile.Join(path, key), fmt.Sprintf("%s, which the function %s does not take", key, raw.Name), "one of name "+strings.Join(known.params, " "))
		}
	}
	if r.err != nil {
		return nil
	}
	f := &Function{Name: raw.Name, Ties: Ties(raw.Ties), Of: raw.Of}
	length := func(key, text string) unit.Length {
		if text == "" {
			return 0
		}
		return unit.Length(r.measure(tomlfile.Join(path, key), text, unit.LengthDim))
	}
	mass := func(key, text string) unit.Mass {
		if text == "" {
			return 0
		}
		return unit.Mass(r.measure(tomlfile.Join(path, key), text, unit.MassDim))
	}
	f.Outer, f.Inner, f.FittingRadius = length("outer", raw.Outer), length("inner", raw.Inner), length("fitting-radius", raw.FittingRadius)
	f.PerMetre, f.Step = mass("per-metre", raw.PerMetre), mass("step", raw.Step)
	if dim == unit.LengthDim {
		f.MostLength = length("most", raw.Most)
	} else {
		f.MostMass = mass("most", raw.Most)
	}
	if raw.WholeGroup != nil {
		f.WholeGroup = *raw.WholeGroup
	}
	if raw.Share != nil {
		if f.Share = *raw.Share; !(f.Share > 0 && finite(f.Share)) {
			r.fail(tomlfile.Join(path, "share"), fmt.Sprintf("share %v", f.Share), "a number above 0")
		}
	}
	if given["ties"] && f.Ties != TiesDown && f.Ties != TiesUp {
		r.fail(tomlfile.Join(path, "ties"), fmt.Sprintf("ties %q", raw.Ties), `"down" or "up"`)
	}
	if info := factIndex[raw.Of]; given["of"] && (info.Kind != Measure || info.Dim != unit.LengthDim) {
		r.fail(tomlfile.Join(path, "of"), fmt.Sprintf("of %q", raw.Of), "a fact that is a length")
	}
	return f
}

func (r *reader) raise(path string, raw *rawRaise) {
	r.id(path, raw.ID)
	r.need(path, "title", raw.Title)
	info := factIndex[raw.By]
	if info.Kind != Measure {
		r.fail(tomlfile.Join(path, "by"), fmt.Sprintf("by %q", raw.By), "a fact that is a mass or a length")
		return
	}
	out := &Raise{ID: raw.ID, Title: raw.Title, Rules: raw.Rules, By: raw.By,
		Unit: r.unit(tomlfile.Join(path, "unit"), raw.Unit, info.Dim), Evidence: r.evidence(path, raw.Evidence),
		Citation: r.citation(path, raw.Citation), When: r.conditions(tomlfile.Join(path, "when"), raw.When)}
	if raw.Most == nil || !(*raw.Most > 0 && finite(*raw.Most)) {
		r.fail(path, "no most above zero", "most, the bound of the raise")
	} else {
		out.Most = *raw.Most
	}
	if len(raw.Rules) == 0 {
		r.fail(path, "no rules", "rules, the ids of the rules that are raised")
	}
	for i, id := range raw.Rules {
		at := slices.IndexFunc(r.made.Rules, func(x *Rule) bool { return x.ID == id })
		if at < 0 || r.made.Rules[at].Sense != AtMost || r.made.Rules[at].Unit.Dim != info.Dim {
			r.fail(fmt.Sprintf("%s.rules[%d]", path, i), fmt.Sprintf("rule %q", id), `the id of an "at most" rule in the same kind of unit`)
		}
	}
	r.made.Raises = append(r.made.Raises, out)
}

// overrides refuses ids that name no rule, or a rule of another quantity.
func (r *reader) overrides(path string, raw *rawRule) {
	for i, id := range raw.Overrides {
		at := slices.IndexFunc(r.made.Rules, func(x *Rule) bool { return x.ID == id })
		element := fmt.Sprintf("%s[%d]", path, i)
		switch {
		case at < 0:
			r.fail(element, fmt.Sprintf("no rule %q", id), "the id of a rule of this book or its parents")
		case r.made.Rules[at].Quantity != raw.Quantity || r.made.Rules[at].Sense != Sense(raw.Sense):
			r.fail(element, fmt.Sprintf("rule %q of another quantity or sense", id), "a rule on "+raw.Quantity+", "+raw.Sense)
		}
	}
}

// circles refuses rules that replace each other in a circle, which would leave
// no limit at all.
func (r *reader) circles(raw *file) {
	if r.err != nil {
		return
	}
	by := map[string]*Rule{}
	for _, x := range r.made.Rules {
		by[x.ID] = x
	}
	const open, done = 1, 2
	state := map[string]int{}
	var visit func(id string) bool
	visit = func(id string) bool {
		x := by[id]
		if x == nil || state[id] == done {
			return true
		}
		if state[id] == open {
			return false
		}
		state[id] = open
		for _, o := range x.Overrides {
			if !visit(o) {
				return false
			}
		}
		state[id] = done
		return true
	}
	for i := range raw.Rule {
		if !visit(raw.Rule[i].ID) {
			r.fail(fmt.Sprintf("rule[%d].overrides", i), "rules that override each other in a circle", "overrides that end")
			return
		}
	}
}
