package formula

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"underpin/unit"
)

// Bounds that no vehicle comes near, and that keep every sum finite.
const (
	mostRepeats = 1000
	mostWord    = 200  // bytes of one value
	mostNumber  = 1e12 // in SI
	mostCount   = 1e6
)

// Parse reads words of the form key=value, in the order in which they were
// given. Values carry their unit; a pure number has none and may be a share,
// 0.25 or 25%; truths are true or false. A repeated key keeps its order, and
// keys that belong together are paired by it.
//
// Everything that is wrong is told at once: the error is Invalid, and each of
// its parts names the key, what was found and what was expected; of an unknown
// key the nearest is proposed, and all missing keys stand together. Whether a
// value lies in the calculation's range is for Run to say.
func (c *Calculation) Parse(words []string) (*Args, error) {
	p := &parser{calc: c, args: &Args{calc: c, in: map[string][]item{}}}
	for _, w := range words {
		p.word(w)
	}
	p.defaults()
	p.missing()
	p.pairs()
	if len(p.wrong) > 0 {
		return nil, p.wrong
	}
	return p.args, nil
}

type parser struct {
	calc  *Calculation
	args  *Args
	wrong Invalid
	bad   map[string]bool // keys that were given and are wrong: they are not missing too
}

func (p *parser) fail(key, found, expected string) {
	p.wrong = append(p.wrong, &InputError{Calc: p.calc.Name, Key: key, Found: found, Expected: expected})
	if p.bad == nil {
		p.bad = map[string]bool{}
	}
	p.bad[key] = true
}

func (p *parser) word(w string) {
	name, value, ok := strings.Cut(w, "=")
	switch {
	case !utf8.ValidString(w) || len(w) > mostWord:
		p.fail("", strconv.Quote(clip(w)), "key=value, in at most "+strconv.Itoa(mostWord)+" letters of UTF-8")
		return
	case !ok:
		p.fail("", strconv.Quote(w), "key=value, such as "+p.calc.Example()[0])
		return
	}
	k, ok := p.calc.Key(name)
	if !ok {
		p.unknown(name)
		return
	}
	given := p.args.in[name]
	switch {
	case !k.Repeat && len(given) > 0:
		p.fail(name, given[0].text+" and again "+strconv.Quote(value), "the key once")
		return
	case len(given) == mostRepeats:
		p.fail(name, fmt.Sprintf("more than %d values", mostRepeats), fmt.Sprintf("at most %d", mostRepeats))
		return
	}
	it, wrong := k.read(value)
	if wrong != nil {
		p.fail(name, wrong.found, wrong.expected)
		return
	}
	p.args.in[name] = append(given, it)
}

func (p *parser) unknown(name string) {
	known := make([]string, len(p.calc.Inputs))
	for i := range p.calc.Inputs {
		known[i] = p.calc.Inputs[i].Name
	}
	expected := "one of " + strings.Join(known, ", ")
	if near := nearest(name, known); near != "" {
		expected = "a key of " + p.calc.Name + ", perhaps " + near
	}
	p.fail("", "the key "+strconv.Quote(name), expected)
}

func (p *parser) defaults() {
	for i := range p.calc.Inputs {
		k := &p.calc.Inputs[i]
		if k.Default == "" || len(p.args.in[k.Name]) > 0 || p.bad[k.Name] {
			continue
		}
		it, wrong := k.read(k.Default)
		if wrong != nil {
			p.fail(k.Name, wrong.found, wrong.expected)
			continue
		}
		it.assumed = true
		p.args.in[k.Name] = []item{it}
	}
}

func (p *parser) missing() {
	var names, expected []string
	for i := range p.calc.Inputs {
		k := &p.calc.Inputs[i]
		if k.Required() && len(p.args.in[k.Name]) == 0 && !p.bad[k.Name] {
			names = append(names, k.Name)
			expected = append(expected, k.String())
		}
	}
	if names == nil {
		return
	}
	p.wrong = append(p.wrong, missing(p.calc, names, strings.Join(expected, "; ")))
}

func missing(c *Calculation, names []string, expected string) *InputError {
	return &InputError{Calc: c.Name, Found: "no " + strings.Join(names, ", no "), Expected: expected, Missing: names}
}

// pairs holds the keys that are paired by order against each other.
func (p *parser) pairs() {
	for i := range p.calc.Inputs {
		k := &p.calc.Inputs[i]
		if k.With == "" {
			continue
		}
		n, m := len(p.args.in[k.Name]), len(p.args.in[k.With])
		if n != m && n > 0 && m > 0 && !p.bad[k.Name] && !p.bad[k.With] {
			p.fail(k.Name, fmt.Sprintf("%d values beside %d of %s", n, m, k.With), "one for each, in the same order")
		}
	}
}

// An item is one value as it was read.
type item struct {
	text    string
	given   bool
	assumed bool // from the key's default
	si      float64
	truth   bool
	parts   []item
}

type wrongValue struct{ found, expected string }

func (k *Key) read(value string) (item, *wrongValue) {
	it := item{text: value, given: true}
	refuse := func(found string) (item, *wrongValue) { return item{}, &wrongValue{found, k.Expected()} }
	switch k.Kind {
	case Quantity, Number, Count:
		v, err := unit.Parse(value, k.Dim())
		var wrong *unit.ParseError
		if errors.As(err, &wrong) {
			return refuse(fmt.Sprintf("%q, %s", wrong.Found, wrong.Why))
		}
		if !(math.Abs(v) <= mostNumber) {
			return refuse(fmt.Sprintf("%q, which is too large", value))
		}
		if k.Kind == Count && (v != math.Trunc(v) || !(math.Abs(v) <= mostCount)) {
			return refuse(strconv.Quote(value))
		}
		it.si = v
	case Flag:
		if value != "true" && value != "false" {
			return refuse(strconv.Quote(value))
		}
		it.truth = value == "true"
	case Word:
		for _, c := range k.Choices {
			if c == value {
				return it, nil
			}
		}
		it, wrong := refuse(strconv.Quote(value))
		if near := nearest(value, k.Choices); near != "" {
			wrong.expected += "; perhaps " + near
		}
		return it, wrong
	case Text:
		it.text = strings.TrimSpace(value)
		if it.text == "" {
			return refuse("nothing")
		}
	case Compound:
		return k.readParts(value)
	}
	return it, nil
}

// readParts reads "w:9t,x:1.6m", or by place "200000km:0.85mm".
func (k *Key) readParts(value string) (item, *wrongValue) {
	it := item{text: value, given: true, parts: make([]item, len(k.Parts))}
	refuse := func(found string) (item, *wrongValue) { return item{}, &wrongValue{found, k.Expected()} }
	read := func(i int, text string) *wrongValue {
		part, wrong := k.Parts[i].read(text)
		if wrong != nil {
			return &wrongValue{fmt.Sprintf("in %q the %s %s", value, k.Parts[i].Name, wrong.found), wrong.expected}
		}
		it.parts[i] = part
		return nil
	}
	if k.ByPlace {
		pieces := strings.Split(value, ":")
		if len(pieces) != len(k.Parts) {
			return refuse(strconv.Quote(value))
		}
		for i, piece := range pieces {
			if wrong := read(i, piece); wrong != nil {
				return item{}, wrong
			}
		}
		return it, nil
	}
	pieces := strings.Split(value, ",")
	for _, piece := range pieces {
		if !strings.Contains(piece, ":") {
			return refuse(fmt.Sprintf("%q in %q, where a part has a name and a colon (a decimal mark is a point here)", piece, value))
		}
	}
	for _, piece := range pieces {
		name, text, _ := strings.Cut(piece, ":")
		name = strings.TrimSpace(name)
		i := k.part(name)
		switch {
		case i < 0:
			return refuse(fmt.Sprintf("the part %q in %q", name, value))
		case it.parts[i].given:
			return refuse(fmt.Sprintf("the part %s twice in %q", name, value))
		}
		if wrong := read(i, text); wrong != nil {
			return item{}, wrong
		}
	}
	for i := range k.Parts {
		if !it.parts[i].given && !k.Parts[i].Optional {
			return refuse(fmt.Sprintf("no part %s in %q", k.Parts[i].Name, value))
		}
	}
	return it, nil
}

func (k *Key) part(name string) int {
	for i := range k.Parts {
		if k.Parts[i].Name == name {
			return i
		}
	}
	return -1
}

func clip(s string) string {
	if len(s) > 40 {
		return s[:40]
	}
	return s
}
