package assess

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// A decider is the vehicle's field that tells a fact, so that nobody declares
// one that the tape has told already.
type decider struct {
	who   whose
	field string
}

type whose uint8

const (
	ofBoth whose = iota // or of neither: it is computed
	ofTractor
	ofTrailer
	ofGroup // of the vehicle that the group of axles belongs to
)

// deciders names, for every fact that follows from the vehicles' data, the field
// that tells it. What is not here is declared with a file or a load.
var deciders = map[string]decider{
	"axles-tractor": {ofTractor, "axles and which of them are lifted"}, "axles-rear": {ofTractor, "axles and which of them are lifted"},
	"tractor-axle-spread": {ofTractor, "axle at or gap"}, "fuel": {ofTractor, "fuel"}, "extra-technology-mass": {ofTractor, "technology-mass"},
	"drive-twin-tyres": {ofTractor, "twin-tyres of the drive axles"}, "drive-suspension": {ofTractor, "suspension of the drive axles"},
	"max-drive-axle-plate": {ofTractor, "plate of the drive axles"}, "tractor-gross-plate": {ofTractor, "gross-plate"},
	"tractor-imposed-plate": {ofTractor, "fifth-wheel-plate (the permissible load on the fifth wheel, from its papers)"},

	"axles-trailer": {ofTrailer, "axles and which of them are lifted"}, "trailer-kind": {ofTrailer, "axles, and is the same for each"},
	"trailer-body": {ofTrailer, "kind"}, "conditioned-body": {ofTrailer, "conditioned-body"},
	"trailer-meets-kingpin-dimensions": {ofTrailer, "front-overhang, width and rear-end"},
	"steerable-trailer-axle":           {ofTrailer, "axle steering"}, "trailer-width": {ofTrailer, "width"},
	"trailer-suspension": {ofTrailer, "suspension of the axles"}, "trailer-spacing": {ofTrailer, "axle at or gap"},
	"trailer-group-plate": {ofTrailer, "bogie-plate"}, "trailer-gross-plate": {ofTrailer, "gross-plate"},
	"trailer-imposed-plate": {ofTrailer, "kingpin-plate"}, "kingpin-to-last-axle": {ofTrailer, "axle at or gap"},
	"s-dimension": {ofTrailer, "axle at or gap"}, "forward-distance": {ofTrailer, "axle at or gap"},

	"combination-mass": {ofBoth, "tares and the load's payload or items"}, "axles-combination": {ofBoth, "axles and which of them are lifted"},
	"relevant-axle-spacing": {ofBoth, "axle at or gap, and fifth-wheel at"}, "load-case": {ofBoth, "load cases"},

	"group": {ofGroup, "axle kind"}, "drive": {ofGroup, "axle kind"}, "axles": {ofGroup, "axles and which of them are lifted"},
	"spacing": {ofGroup, "axle at or gap"}, "spread": {ofGroup, "axle at or gap"}, "two-tandems": {ofGroup, "axle at or gap"},
	"twin-tyres": {ofGroup, "axle twin-tyres"}, "suspension": {ofGroup, "axle suspension"}, "max-axle-plate": {ofGroup, "axle plate"},
}

// DeclarableFacts lists the facts that a fleet file or one of its loads may
// declare: those of the table that the vehicles' own data do not tell.
func DeclarableFacts() []rule.FactInfo {
	return slices.DeleteFunc(rule.FactTable(), func(i rule.FactInfo) bool {
		_, decided := deciders[i.Name]
		return decided
	})
}

// DeclaredFacts reads facts as a file gives them, quantities as text with their
// unit, and tells what is wrong with each by itself: a name that is none, a fact
// that the vehicles' own data tell, and a value that the fact cannot have.
func DeclaredFacts(raw map[string]any) (rule.Facts, []*rule.FactError) {
	facts, table := rule.Facts{}, map[string]rule.FactInfo{}
	for _, i := range rule.FactTable() {
		table[i.Name] = i
	}
	var bad []*rule.FactError
	for _, name := range slices.Sorted(maps.Keys(raw)) {
		info, known := table[name]
		if !known {
			var names []string
			for _, i := range DeclarableFacts() {
				names = append(names, i.Name)
			}
			bad = append(bad, &rule.FactError{Fact: name, Found: fmt.Sprintf("unknown fact %q", name), Expected: "one of " + strings.Join(names, ", ")})
			continue
		}
		if d, decided := deciders[name]; decided {
			bad = append(bad, &rule.FactError{Fact: name, Found: fmt.Sprintf("%s = %v", name, raw[name]), Expected: d.instead()})
			continue
		}
		v, err := declared(info, raw[name])
		if err != nil {
			bad = append(bad, err)
			continue
		}
		facts[name] = v
	}
	return facts, bad
}

// instead says where a fact is told from.
func (d decider) instead() string {
	const nothing = "nothing: it follows from "
	switch d.who {
	case ofTractor:
		return nothing + "the tractor's " + d.field
	case ofTrailer:
		return nothing + "the semi-trailer's " + d.field
	case ofGroup:
		return nothing + "the vehicle's " + d.field
	}
	return nothing + "the " + d.field
}

// declared reads one value.
func declared(info rule.FactInfo, raw any) (any, *rule.FactError) {
	fail := func(expected string) (any, *rule.FactError) {
		shown := fmt.Sprint(raw)
		if s, isText := raw.(string); isText {
			shown = fmt.Sprintf("%q", s)
		}
		return nil, &rule.FactError{Fact: info.Name, Found: info.Name + " = " + shown, Expected: expected}
	}
	v := raw
	switch n := raw.(type) {
	case int64: // TOML whole numbers
		v = float64(n)
	case int:
		v = float64(n)
	}
	if info.Kind == rule.Measure {
		text, isText := v.(string)
		if !isText {
			return fail("in quotes with its unit, such as \"385 mm\"")
		}
		si, err := unit.Parse(text, info.Dim)
		var pe *unit.ParseError
		switch {
		case errors.As(err, &pe):
			return fail(pe.Expected)
		case !(si >= 0):
			return fail("0 or more")
		}
		return si, nil
	}
	if x, isNumber := v.(float64); isNumber && info.Kind == rule.Count && !(x >= 0 && x <= math.MaxInt32) {
		return fail("a number from 0 up")
	}
	var fe *rule.FactError
	if err := (rule.Facts{info.Name: v}).Check(); errors.As(err, &fe) {
		return fail(fe.Expected)
	}
	return v, nil
}

// lacking names what would tell a fact: the field of a vehicle, or the fact
// itself where it is declared. Group is the group of axles that is asked about.
func (b *builder) lacking(fact, group string) string {
	d := deciders[fact]
	switch {
	case d.who == ofTractor, d.who == ofGroup && (group == "front" || group == "rear"):
		return missing(b.p.Tractor, d.field)
	case d.who == ofTrailer, d.who == ofGroup && group == "bogie":
		return missing(b.p.Trailer, d.field)
	}
	return "fact " + fact
}
