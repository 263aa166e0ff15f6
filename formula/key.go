package formula

import (
	"fmt"
	"strings"

	"underpin/unit"
)

// A Kind says how the value of a key is written.
type Kind string

// The kinds.
const (
	Quantity Kind = "quantity" // a number with its unit
	Number   Kind = "number"   // a pure number; a share may be written 25%
	Count    Kind = "count"    // a whole number
	Flag     Kind = "flag"     // true or false
	Word     Kind = "word"     // one of Choices
	Text     Kind = "text"     // a marking, as it is stamped
	Compound Kind = "compound" // several values in one: "w:9t,x:1.6m" or, by place, "200000km:0.85mm"
)

// A Key is one input of a calculation.
type Key struct {
	Name     string
	Kind     Kind
	Unit     unit.Unit // of a quantity, the unit in which it is echoed; its dimension is what is read
	Bare     string    // what a pure number counts, "multiple of 9.81 m/s²"
	Choices  []string  // of a Word
	Parts    []Key     // of a Compound
	ByPlace  bool      // the parts have no names and stand in order, parted by ":"
	Repeat   bool      // may be given several times; the order counts
	With     string    // a repeated key with which this one is paired by order
	Optional bool      // may be left out
	Default  string    // what is assumed where it is left out, and shown as an assumption
	Why      string    // why that is assumed
	Doc      string    // from where to where, or what it counts
	Examples []string  // values as typed; more than one only where Repeat
}

// Dim is the dimension of a quantity; of everything else it is unit.Number.
func (k *Key) Dim() unit.Dimension { return k.Unit.Dim }

// Required tells whether the calculation cannot run without the key.
func (k *Key) Required() bool { return !k.Optional && k.Default == "" }

// Expected says how a value of the key is written.
func (k *Key) Expected() string {
	example := ""
	if len(k.Examples) > 0 {
		example = ", such as " + k.Examples[0]
	}
	switch k.Kind {
	case Quantity:
		return article(k.Dim().String()) + " with its unit" + example
	case Number:
		return "a pure number" + example
	case Count:
		return "a whole number" + example
	case Flag:
		return "true or false"
	case Word:
		return "one of " + strings.Join(k.Choices, ", ")
	case Compound:
		return k.pattern() + example
	}
	return "a marking" + example
}

// pattern shows how a compound is put together.
func (k *Key) pattern() string {
	var parts []string
	for i := range k.Parts {
		p := &k.Parts[i]
		s := strings.ToUpper(p.Name)
		if !k.ByPlace {
			s = p.Name + ":" + p.short()
		}
		if p.Optional {
			s = "[" + s + "]"
		}
		parts = append(parts, s)
	}
	if k.ByPlace {
		return strings.Join(parts, ":")
	}
	return strings.Join(parts, ",")
}

func (k *Key) short() string {
	if k.Kind == Quantity {
		return strings.ToUpper(k.Dim().String())
	}
	return strings.ToUpper(string(k.Kind))
}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// How the table writes its keys.

func quantity(name string, u unit.Unit, example, doc string) Key {
	return Key{Name: name, Kind: Quantity, Unit: u, Doc: doc, Examples: []string{example}}
}

func length(name, example, doc string) Key { return quantity(name, unit.M, example, doc) }
func inMM(name, example, doc string) Key   { return quantity(name, unit.MM, example, doc) }
func mass(name, example, doc string) Key   { return quantity(name, unit.KG, example, doc) }
func force(name, example, doc string) Key  { return quantity(name, unit.KN, example, doc) }
func angle(name, example, doc string) Key  { return quantity(name, unit.Deg, example, doc) }

func number(name, bare, example, doc string) Key {
	return Key{Name: name, Kind: Number, Bare: bare, Doc: doc, Examples: []string{example}}
}

func share(name, example, doc string) Key { return number(name, "share from 0 to 1", example, doc) }

func count(name, example, doc string) Key {
	return Key{Name: name, Kind: Count, Doc: doc, Examples: []string{example}}
}

func flag(name, example, doc string) Key {
	return Key{Name: name, Kind: Flag, Doc: doc, Examples: []string{example}}
}

func word(name string, choices []string, example, doc string) Key {
	return Key{Name: name, Kind: Word, Choices: choices, Doc: doc, Examples: []string{example}}
}

func text(name, example, doc string) Key {
	return Key{Name: name, Kind: Text, Doc: doc, Examples: []string{example}}
}

// compound is a repeated key of named parts.
func compound(name, doc string, examples []string, parts ...Key) Key {
	return Key{Name: name, Kind: Compound, Repeat: true, Parts: parts, Doc: doc, Examples: examples}
}

// inOrder makes the parts of a compound stand by place.
func (k Key) inOrder() Key { k.ByPlace = true; return k }

func (k Key) optional() Key { k.Optional = true; return k }

func (k Key) or(value, why string) Key { k.Default, k.Why = value, why; return k }

func (k Key) repeated(examples ...string) Key {
	k.Repeat, k.Examples = true, examples
	return k
}

func (k Key) with(other string) Key { k.With = other; return k }

// String is the key with how it is written, for a person.
func (k *Key) String() string { return fmt.Sprintf("%s (%s)", k.Name, k.Expected()) }
