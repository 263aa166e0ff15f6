package formula

import (
	"fmt"

	"underpin/unit"
)

// Args are the inputs of one calculation, read and complete.
type Args struct {
	calc *Calculation
	in   map[string][]item
}

// The readers of the table. Asking for a key that the calculation does not have
// is a slip in the table, and its tests find it.

func (a *Args) one(key string) *item {
	if _, ok := a.calc.Key(key); !ok {
		panic(fmt.Sprintf("formula: %s has no key %s", a.calc.Name, key))
	}
	if got := a.in[key]; len(got) > 0 {
		return &got[0]
	}
	return &item{}
}

func (a *Args) has(key string) bool { return a.one(key).given }

func (a *Args) length(key string) unit.Length { return unit.Length(a.one(key).si) }
func (a *Args) mass(key string) unit.Mass     { return unit.Mass(a.one(key).si) }
func (a *Args) force(key string) unit.Force   { return unit.Force(a.one(key).si) }
func (a *Args) torque(key string) unit.Torque { return unit.Torque(a.one(key).si) }
func (a *Args) angle(key string) unit.Angle   { return unit.Angle(a.one(key).si) }
func (a *Args) number(key string) float64     { return a.one(key).si }
func (a *Args) count(key string) int          { return int(a.one(key).si) }
func (a *Args) truth(key string) bool         { return a.one(key).truth }
func (a *Args) word(key string) string        { return a.one(key).text }

// maybeMass is nil for a key that was not given.
func (a *Args) maybeMass(key string) *unit.Mass {
	if !a.has(key) {
		return nil
	}
	return new(a.mass(key))
}

func (a *Args) maybeNumber(key string) *float64 {
	if !a.has(key) {
		return nil
	}
	return new(a.number(key))
}

// all returns the values of a repeated key, in their order.
func (a *Args) all(key string) []item {
	a.one(key)
	return a.in[key]
}

// lengths are the values of a repeated length.
func (a *Args) lengths(key string) []unit.Length {
	out := make([]unit.Length, len(a.all(key)))
	for i, it := range a.all(key) {
		out[i] = unit.Length(it.si)
	}
	return out
}

// si is a part of a compound, by its place among the key's parts.
func (it *item) at(part int) float64 { return it.parts[part].si }

func (it *item) length(part int) unit.Length { return unit.Length(it.at(part)) }
func (it *item) mass(part int) unit.Mass     { return unit.Mass(it.at(part)) }

// lack is the error for keys without which the others make no question.
func (a *Args) lack(expected string, keys ...string) error {
	return Invalid{missing(a.calc, keys, expected)}
}

// refuse is the error for a key that does not go with the others.
func (a *Args) refuse(key, found, expected string) error {
	return Invalid{{Calc: a.calc.Name, Key: key, Found: found, Expected: expected}}
}
