package formula

import (
	"slices"
	"strings"

	"underpin/rule"
)

// A Group is a subject under which calculations are listed.
type Group string

// The groups, in the order in which they are listed.
const (
	Strength  Group = "Strength of the connection"
	Loads     Group = "Axle loads"
	Limits    Group = "Payload, lead and sliders"
	Motion    Group = "Braking, gradients and roll"
	Law       Group = "Law"
	Turning   Group = "Turning"
	Clearance Group = "Clearances"
	Heights   Group = "Heights and lengths"
	Bolting   Group = "Bolts"
	Wear      Group = "Wear"
)

// Groups lists the groups in their order.
func Groups() []Group {
	return []Group{Strength, Loads, Limits, Motion, Law, Turning, Clearance, Heights, Bolting, Wear}
}

// A Calculation is one entry of the table: its data sheet, and how it is run.
type Calculation struct {
	Name     string // as typed, "d-value"
	Title    string // in plain words
	Group    Group
	Func     string // the function that computes it, "rating.RequiredD"
	Inputs   []Key
	Outputs  []Output
	Formula  string // as the source writes it, one relation a line
	Validity string // the range of the inputs, and what the model leaves out
	Source   string
	Evidence rule.Evidence
	Sample   []string // words that run it; nil for the examples of the required keys

	run func(*Args) (*Result, error)
	// names gives the key for what the calculation calls an input, where the
	// two differ.
	names map[string]string
}

// An Output is one number, word or truth that comes out.
type Output struct {
	Name string
	Unit string // symbol, "" for a pure number, a word or a truth
	Bare string // what a pure number counts, "mm per 100 000 km"
	Doc  string
	Null string // what null stands for, "" if the value is always known and bounded
	Each bool   // one for each repeated input: Name is followed by 1, 2, ...
}

// Example returns words that run the calculation, as they are typed after its
// name.
func (c *Calculation) Example() []string {
	if c.Sample != nil {
		return slices.Clone(c.Sample)
	}
	var words []string
	for i := range c.Inputs {
		k := &c.Inputs[i]
		if k.Optional || k.Default != "" {
			continue
		}
		for _, e := range k.Examples {
			words = append(words, k.Name+"="+e)
		}
	}
	return words
}

// Key returns the input of this name.
func (c *Calculation) Key(name string) (*Key, bool) {
	for i := range c.Inputs {
		if c.Inputs[i].Name == name {
			return &c.Inputs[i], true
		}
	}
	return nil, false
}

// Output returns the output that a value of this name belongs to: "v2" is the
// second of "v".
func (c *Calculation) Output(name string) (Output, bool) {
	if o := c.output(name); o != nil {
		return *o, true
	}
	return Output{}, false
}

func (c *Calculation) output(name string) *Output {
	for i := range c.Outputs {
		o := &c.Outputs[i]
		if o.Name == name && !o.Each {
			return o
		}
		if rest, ok := strings.CutPrefix(name, o.Name); ok && o.Each && rest != "" && strings.Trim(rest, "0123456789") == "" {
			return o
		}
	}
	return nil
}

// table is every calculation, group by group.
var table = slices.Concat(strengthTable, loadTable, limitTable, motionTable, lawTable,
	turningTable, turningHandTable, clearanceTable, heightTable, boltTable, wearTable)

// All returns every calculation, in the order in which they are listed.
func All() []*Calculation { return slices.Clone(table) }

// Find returns the calculation of this name. The error is an *UnknownError.
func Find(name string) (*Calculation, error) {
	for _, c := range table {
		if c.Name == name {
			return c, nil
		}
	}
	known := make([]string, len(table))
	for i, c := range table {
		known[i] = c.Name
	}
	return nil, &UnknownError{Name: name, Nearest: nearest(name, known), Known: known}
}
