package formula

import (
	"bytes"
	"encoding/json"

	"underpin/unit"
)

// The JSON of an answer keeps the order of the table, which Go's maps do not.

// An object is a JSON object whose members keep their order.
type object []member

type member struct {
	name  string
	value any
}

func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := enc.Encode(m.name); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := enc.Encode(m.value); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func (r *Result) marshal(a *Args) object {
	outputs := object{}
	for _, v := range r.Outputs {
		value, symbol := forPrograms(v)
		outputs = append(outputs, member{v.Name, object{{"value", value}, {"unit", symbol}}})
	}
	notes := r.Notes
	if notes == nil {
		notes = []string{}
	}
	return object{
		{"name", r.calc.Name}, {"inputs", a.echo()}, {"outputs", outputs}, {"formula", r.calc.Formula},
		{"source", r.Source}, {"working", r.Working}, {"evidence", r.Evidence}, {"notes", notes},
	}
}

// programUnit is the unit in which other programs read an output: a length in
// metres, whether people are told it in millimetres or kilometres. A law's own
// units stay.
func programUnit(symbol string) string {
	if symbol == "mm" || symbol == "km" {
		return "m"
	}
	return symbol
}

// forPrograms is an output in that unit.
func forPrograms(v Value) (value any, symbol string) {
	symbol = programUnit(v.Unit)
	if x, ok := v.V.(float64); ok && symbol != v.Unit {
		u, _ := unit.Lookup(v.Unit)
		return u.ToSI(x), symbol
	}
	return v.V, symbol
}

// An Answer is a result with the inputs that led to it; it is written as JSON.
type Answer struct {
	Args   *Args
	Result *Result
}

// MarshalJSON writes the answer as other programs read it:
//
//	{"name", "inputs": {key: {"value","unit"}}, "outputs": {name: {"value","unit"}},
//	 "formula", "source", "working", "evidence", "notes": []}
//
// Numbers are not rounded, and outputs are in kg, m, kN, N.m, deg or a law's own
// unit. An input is echoed as it was understood, in the unit
// of its key; one that was not given but assumed says so with "assumed": true;
// of a repeated key it is a list, of a compound an object of its parts. An output
// that is unbounded or not known is null.
func (a Answer) MarshalJSON() ([]byte, error) { return a.Result.marshal(a.Args).MarshalJSON() }

// echo is the inputs as they were understood, in the order of the table.
func (a *Args) echo() object {
	inputs := object{}
	for i := range a.calc.Inputs {
		k := &a.calc.Inputs[i]
		given := a.in[k.Name]
		switch {
		case len(given) == 0:
		case k.Repeat:
			list := make([]object, len(given))
			for j := range given {
				list[j] = k.echo(&given[j])
			}
			inputs = append(inputs, member{k.Name, list})
		default:
			inputs = append(inputs, member{k.Name, k.echo(&given[0])})
		}
	}
	return inputs
}

func (k *Key) echo(it *item) object {
	var o object
	switch k.Kind {
	case Compound:
		for i := range k.Parts {
			if it.parts[i].given {
				o = append(o, member{k.Parts[i].Name, k.Parts[i].echo(&it.parts[i])})
			}
		}
		return o
	case Flag:
		o = object{{"value", it.truth}, {"unit", ""}}
	case Word, Text:
		o = object{{"value", it.text}, {"unit", ""}}
	case Quantity:
		o = object{{"value", k.Unit.From(it.si)}, {"unit", k.Unit.Symbol}}
	default:
		o = object{{"value", it.si}, {"unit", unit.One.Symbol}}
	}
	if it.assumed {
		o = append(o, member{"assumed", true})
	}
	return o
}

// List is the table as JSON: what a program needs to build a form.
func List() any {
	calcs := []object{}
	for _, c := range All() {
		inputs, outputs := []object{}, []object{}
		for i := range c.Inputs {
			inputs = append(inputs, c.Inputs[i].describe())
		}
		for _, o := range c.Outputs {
			out := object{{"name", o.Name}, {"unit", programUnit(o.Unit)}, {"counts", o.Bare}, {"doc", o.Doc}, {"null", o.Null}, {"each", o.Each}}
			outputs = append(outputs, out)
		}
		calcs = append(calcs, object{
			{"name", c.Name}, {"title", c.Title}, {"group", c.Group}, {"inputs", inputs}, {"outputs", outputs}, {"formula", c.Formula},
			{"validity", c.Validity}, {"source", c.Source}, {"evidence", c.Evidence}, {"example", c.Example()},
		})
	}
	return object{{"calculations", calcs}}
}

func (k *Key) describe() object {
	o := object{
		{"name", k.Name}, {"kind", k.Kind}, {"dimension", k.Dim().String()}, {"unit", k.Unit.Symbol}, {"counts", k.Bare},
		{"required", k.Required()}, {"repeat", k.Repeat}, {"default", k.Default}, {"doc", k.Doc}, {"examples", k.Examples},
	}
	if k.Kind == Word {
		o = append(o, member{"choices", k.Choices})
	}
	if k.With != "" {
		o = append(o, member{"with", k.With})
	}
	if k.Kind == Compound {
		parts := []object{}
		for i := range k.Parts {
			parts = append(parts, k.Parts[i].describe())
		}
		o = append(o, member{"parts", parts}, member{"by_place", k.ByPlace})
	}
	return o
}
