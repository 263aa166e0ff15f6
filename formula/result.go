package formula

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// A Value is one output. V is a float64 in Unit, a bool, a string, or nil; what
// nil stands for the Output says.
type Value struct {
	Name string
	V    any
	Unit string
}

// A Result is what a calculation comes to.
type Result struct {
	Outputs []Value
	Working string   // the formula with the numbers in it
	Notes   []string // what was assumed, what was not looked at, what to beware of
	Source  string   // the calculation's, or that of the rule that was applied
	// Evidence is the calculation's, or that of the rule that was applied.
	Evidence rule.Evidence

	calc *Calculation
}

// Run computes. Inputs outside the calculation's range are Invalid; where no
// answer exists the error is a *unit.NoAnswerError.
func (c *Calculation) Run(a *Args) (*Result, error) {
	r, err := c.run(a)
	if err != nil {
		return nil, c.explain(a, err)
	}
	for i := range c.Inputs {
		k := &c.Inputs[i]
		if a.one(k.Name).assumed {
			r.Notes = append(r.Notes, fmt.Sprintf("assumed: %s = %s (%s)", k.Name, k.Default, k.Why))
		}
	}
	for _, v := range r.Outputs {
		if v.V == nil && c.output(v.Name).Null == "" {
			return nil, Invalid{{Calc: c.Name, Found: "numbers so far apart that " + v.Name + " cannot be computed", Expected: "inputs as vehicles have them"}}
		}
	}
	return r, nil
}

// Answer parses words and runs the calculation.
func (c *Calculation) Answer(words []string) (*Args, *Result, error) {
	a, err := c.Parse(words)
	if err != nil {
		return nil, nil, err
	}
	r, err := c.Run(a)
	return a, r, err
}

// result begins the result of a run.
func (a *Args) result() *Result {
	return &Result{calc: a.calc, Source: a.calc.Source, Evidence: a.calc.Evidence}
}

// set writes an output, given in SI. Not known and unbounded are nil.
func (r *Result) set(name string, si float64) {
	o := r.out(name)
	u, _ := unit.Lookup(o.Unit)
	if u.SI == 0 {
		u = unit.One // a unit that is only written, such as km/h: the value comes in it
	}
	r.put(name, u.From(si), o.Unit)
}

// put writes a number as it is.
func (r *Result) put(name string, v float64, symbol string) {
	val := Value{Name: name, V: v, Unit: symbol}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		val.V = nil
	}
	r.Outputs = append(r.Outputs, val)
}

func (r *Result) truth(name string, v bool) {
	r.out(name)
	r.Outputs = append(r.Outputs, Value{Name: name, V: v})
}

func (r *Result) word(name, v string) {
	r.out(name)
	r.Outputs = append(r.Outputs, Value{Name: name, V: v})
}

func (r *Result) out(name string) *Output {
	o := r.calc.output(name)
	if o == nil {
		panic(fmt.Sprintf("formula: %s has no output %s", r.calc.Name, name))
	}
	return o
}

// work writes the working, one line for each relation.
func (r *Result) work(format string, args ...any) {
	if r.Working != "" {
		r.Working += "\n"
	}
	// A negative number after a sign takes the sign's place.
	r.Working += strings.NewReplacer("− −", "+ ", "+ −", "− ").Replace(fmt.Sprintf(format, args...))
}

func (r *Result) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}

// explain turns the error of a calculation into one that names the key as it
// was typed.
func (c *Calculation) explain(a *Args, err error) error {
	var (
		domain *unit.DomainError
		none   *unit.NoAnswerError
		parse  *unit.ParseError
		book   *rule.NotFoundError
	)
	switch {
	case errors.As(err, &domain):
		return Invalid{c.outside(a, domain)}
	case errors.As(err, &none):
		return &unit.NoAnswerError{Formula: c.Name, Why: none.Why}
	case errors.As(err, &parse):
		e := &InputError{Calc: c.Name, Found: fmt.Sprintf("%q, %s", parse.Found, parse.Why), Expected: parse.Expected}
		for i := range c.Inputs {
			if k := &c.Inputs[i]; k.Kind == Text && (e.Key == "" || a.one(k.Name).text == parse.Found) {
				e.Key = k.Name
			}
		}
		return Invalid{e}
	case errors.As(err, &book):
		return Invalid{{Calc: c.Name, Key: "law", Found: fmt.Sprintf("%q", book.Name), Expected: "one of " + strings.Join(book.Known, ", ")}}
	}
	return err
}

// outside words a value outside the range by the key as it was typed. Some
// values are formed from several inputs; then the key is the nearest to blame,
// and the value is the one that was formed.
func (c *Calculation) outside(a *Args, e *unit.DomainError) *InputError {
	out := &InputError{
		Calc: c.Name, Found: fmt.Sprintf("%s = %.6g", e.Input, e.Value),
		Expected: e.Want + ". Valid for " + c.Validity,
	}
	name := e.Input
	if k, ok := c.names[name]; ok {
		name = k
	}
	name = strings.ReplaceAll(strings.ToLower(name), " ", "-")
	typed := func(k *Key) bool {
		all := a.all(k.Name)
		return k.Kind != Compound && len(all) == 1 && !(math.Abs(all[0].si-e.Value) > 1e-9*math.Abs(e.Value))
	}
	for i := range c.Inputs {
		k := &c.Inputs[i]
		if k.Name != name && k.part(name) < 0 {
			continue
		}
		if out.Key = k.Name; typed(k) {
			out.Found = a.one(k.Name).text
		}
		return out
	}
	// "friction" is the least-friction or the most-friction, whichever has the value.
	for i := range c.Inputs {
		if k := &c.Inputs[i]; strings.Contains(k.Name, name) && typed(k) {
			out.Key, out.Found = k.Name, a.one(k.Name).text
			return out
		}
	}
	return out
}
