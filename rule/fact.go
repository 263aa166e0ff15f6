package rule

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"underpin/unit"
)

// A Kind is what sort of value a fact has.
type Kind int

const (
	Word    Kind = iota // one of a closed list of words
	Flag                // true or false
	Count               // a plain number
	Measure             // a length or a mass, SI inside
	Date                // a day, "2024-05-31"
)

// A FactInfo documents one fact that the conditions of rules can ask for.
type FactInfo struct {
	Name    string
	Kind    Kind
	Dim     unit.Dimension // of a Measure
	Words   []string       // of a Word; empty means any word
	Meaning string
}

// FactTable lists every fact a rule can ask for. Those marked per group, per
// axle or per range belong to the group, axle or run of axles whose limit is
// asked for; the others to the whole combination.
//
// Valid for every rulebook; a rule that asks for another fact is refused.
//
// Source: the conditions of the laws in the embedded rulebooks.
func FactTable() []FactInfo { return append([]FactInfo(nil), facts...) }

var facts = []FactInfo{
	// The journey.
	{"traffic", Word, 0, []string{"national", "international"}, "whether the journey crosses a border"},
	{"network", Word, 0, []string{"interstate", "national-network", "state"}, "the roads used in the United States"},
	{"state", Word, 0, nil, "the state or province, as its two letters"},
	{"date", Date, 0, nil, "the day of the journey; decides between rules that are valid from or until a date"},
	{"intermodal", Flag, 0, nil, "the journey is part of an intermodal transport operation, with the papers that show it"},
	{"container-ft", Count, 0, nil, "total nominal length of the containers or swap bodies carried, in feet"},
	{"combination-mass", Measure, unit.MassDim, nil, "mass at which the combination runs in this load case"},
	{"weight-code", Word, 0, []string{"authorised-weight", "construction-and-use"}, "which of the two parallel British weight codes is followed; one or the other, not mixed"},
	{"load-case", Word, 0, []string{"as-loaded", "rear-axle-at-max"}, "rear-axle-at-max: the tractor at its permissible mass with the rear axle or group at its maximum"},

	// The combination.
	{"axles-tractor", Count, 0, nil, "axles of the tractor on the ground"},
	{"axles-trailer", Count, 0, nil, "axles of the semi-trailer on the ground"},
	{"axles-combination", Count, 0, nil, "axles on the ground; the sum of the two, where both are declared"},
	{"axles-rear", Count, 0, nil, "axles in the tractor's rear group"},
	{"tractor-axle-spread", Measure, unit.LengthDim, nil, "first to last axle of the tractor"},
	{"kingpin-to-last-axle", Measure, unit.LengthDim, nil, "kingpin axis to the centre of the semi-trailer's last axle"},
	{"relevant-axle-spacing", Measure, unit.LengthDim, nil, "rearmost axle of the tractor to rearmost axle of the semi-trailer"},
	{"s-dimension", Measure, unit.LengthDim, nil, "front articulation point to the rear overhang line"},
	{"forward-distance", Measure, unit.LengthDim, nil, "kingpin axis to the rear axis of the semi-trailer"},

	// The tractor.
	{"fuel", Word, 0, []string{"diesel", "gas", "alternative", "battery", "zero-emission"}, "gas: natural gas; alternative: another alternative fuel; zero-emission: without exhaust other than by battery, such as hydrogen in a fuel cell"},
	{"extra-technology-mass", Measure, unit.MassDim, nil, "mass that the alternative-fuel or zero-emission technology adds, as the vehicle's papers state it (US: excess of the power unit)"},
	{"euro-class", Count, 0, nil, "exhaust class of the engine, 1 to 7"},
	{"drive-twin-tyres", Flag, 0, nil, "every driving axle has twin tyres"},
	{"drive-suspension", Word, 0, suspensions, "suspension of the driving axles"},
	{"max-drive-axle-plate", Measure, unit.MassDim, nil, "largest plated mass of any driving axle"},
	{"tractor-gross-plate", Measure, unit.MassDim, nil, "permissible mass of the tractor, the load on the fifth wheel included"},
	{"tractor-imposed-plate", Measure, unit.MassDim, nil, "permissible fifth-wheel load of the tractor"},

	// The semi-trailer.
	{"trailer-kind", Word, 0, []string{"semi-trailer", "drawbar"}, "how the trailer is coupled"},
	{"trailer-body", Word, 0, []string{"standard", "refrigerated", "low-loader", "car-transporter", "livestock"}, "what the semi-trailer is built for, where the law treats it apart"},
	{"longer-semi-trailer", Flag, 0, nil, "a semi-trailer of the approved longer type (British longer semi-trailer, German long articulated vehicle), with its papers"},
	{"trailer-meets-kingpin-dimensions", Flag, 0, nil, "the semi-trailer keeps both the kingpin-to-rear and the kingpin-to-front limits"},
	{"steerable-trailer-axle", Flag, 0, nil, "the semi-trailer has a steered or self-steering axle"},
	{"conditioned-body", Flag, 0, nil, "conditioned superstructure with side walls of at least 45 mm"},
	{"adr-tank", Flag, 0, nil, "a tank vehicle for dangerous goods"},
	{"trailer-width", Measure, unit.LengthDim, nil, "width of the semi-trailer"},
	{"trailer-suspension", Word, 0, suspensions, "suspension of the semi-trailer's axles"},
	{"trailer-spacing", Measure, unit.LengthDim, nil, "least distance between neighbouring axles of the semi-trailer"},
	{"trailer-group-plate", Measure, unit.MassDim, nil, "plated mass of the semi-trailer's axle group"},
	{"trailer-gross-plate", Measure, unit.MassDim, nil, "permissible mass of the semi-trailer, the load on the kingpin included"},
	{"trailer-imposed-plate", Measure, unit.MassDim, nil, "permissible load on the semi-trailer's kingpin"},

	// The axle, the group or the range whose limit is asked for.
	{"group", Word, 0, []string{"steer", "drive", "trailer"}, "per axle or group: where it stands; steer and drive are the motor vehicle's"},
	{"drive", Flag, 0, nil, "per axle: it is driven; per group: it contains a driven axle"},
	{"axles", Count, 0, nil, "per group or range: axles in it; per axle: axles in its group"},
	{"spacing", Measure, unit.LengthDim, nil, "per group: distance between neighbouring axles; where they differ the limit is taken for each of them, and all of these hold; per axle: distance to its nearer neighbour in the group"},
	{"spread", Measure, unit.LengthDim, nil, "per group or range: distance between the extreme axles"},
	{"twin-tyres", Flag, 0, nil, "per axle or group: twin tyres (on the driven axles, where there are any)"},
	{"tyre-width", Measure, unit.LengthDim, nil, "per axle or group: section width of single tyres"},
	{"suspension", Word, 0, suspensions, "per axle or group: air, recognised as equivalent to air (road-friendly), or other"},
	{"load-sharing", Flag, 0, nil, "per group: load-sharing suspension"},
	{"max-axle-plate", Measure, unit.MassDim, nil, "per group: largest plated axle mass in it"},
	{"two-tandems", Flag, 0, nil, "per range: it is two consecutive tandems; spread is then their outer distance"},
}

var suspensions = []string{"air", "equivalent", "other"}

var factIndex = func() map[string]FactInfo {
	m := make(map[string]FactInfo, len(facts))
	for _, f := range facts {
		m[f.Name] = f
	}
	return m
}()

// Facts are what is declared about a journey and its vehicles: for a Word a
// string, for a Flag a bool, for a Count a float64 or an int, for a Measure a
// float64 in SI, a unit.Length or a unit.Mass, for a Date a string such as
// "2024-05-31". A fact that is absent, or NaN, is unknown.
type Facts map[string]any

// A FactError says that a declared fact is none, or has a value it cannot have.
type FactError struct{ Fact, Found, Expected string }

func (e *FactError) Error() string {
	return fmt.Sprintf("fact %s: %s; expected %s", e.Fact, e.Found, e.Expected)
}

// Check refuses facts that no rule knows and values they cannot have; Limits
// takes both for unknown.
func (f Facts) Check() error {
	names := make([]string, 0, len(f))
	for name := range f {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		info, ok := factIndex[name]
		if !ok {
			return &FactError{name, "no such fact", "a name from the table of facts"}
		}
		if _, ok := info.value(f[name]); !ok {
			if v, isFloat := f[name].(float64); isFloat && math.IsNaN(v) && info.Kind != Word && info.Kind != Flag && info.Kind != Date {
				continue // unknown
			}
			return &FactError{name, fmt.Sprintf("%v", f[name]), info.expects()}
		}
	}
	return nil
}

// expects says in words which values the fact can have.
func (i FactInfo) expects() string {
	switch i.Kind {
	case Word:
		if len(i.Words) == 0 {
			return "a word"
		}
		return "one of " + strings.Join(i.Words, ", ")
	case Flag:
		return "true or false"
	case Count:
		return "a number"
	case Date:
		return "a date such as 2024-05-31"
	}
	if i.Dim == unit.MassDim {
		return "a mass with its unit, such as 9500 kg"
	}
	return "a length with its unit, such as 1.3 m or 40 in"
}

// A value is a fact's value in one of three forms: dates are days since 1970.
type value struct {
	word   string
	flag   bool
	number float64
}

// value takes what was declared apart; it is not ok for a value of another
// kind, a word not in the list, and numbers that are not finite.
func (i FactInfo) value(declared any) (value, bool) {
	switch v := declared.(type) {
	case string:
		if i.Kind == Date {
			days, ok := day(v)
			return value{number: days}, ok
		}
		return value{word: v}, i.Kind == Word && v != "" && (len(i.Words) == 0 || slices.Contains(i.Words, v))
	case bool:
		return value{flag: v}, i.Kind == Flag
	case float64:
		return value{number: v}, (i.Kind == Count || i.Kind == Measure) && finite(v)
	case int:
		return value{number: float64(v)}, i.Kind == Count
	case unit.Length:
		return value{number: float64(v)}, i.Kind == Measure && i.Dim == unit.LengthDim && finite(float64(v))
	case unit.Mass:
		return value{number: float64(v)}, i.Kind == Measure && i.Dim == unit.MassDim && finite(float64(v))
	}
	return value{}, false
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func day(text string) (float64, bool) {
	t, err := time.Parse(time.DateOnly, text)
	return float64(t.Unix() / 86400), err == nil
}

// A view is what is known when limits are looked up: the declared facts, and
// the book's assumptions where nothing was declared.
type view struct {
	declared Facts
	assumed  []Assumption
}

// lookup returns the value of a fact, whether it is known, and whether it is
// only assumed.
func (v view) lookup(name string) (val value, known, assumed bool) {
	info := factIndex[name]
	if val, known = info.value(v.declared[name]); known {
		return val, true, false
	}
	if name == "axles-combination" {
		tractor, ok1, a1 := v.lookup("axles-tractor")
		trailer, ok2, a2 := v.lookup("axles-trailer")
		return value{number: tractor.number + trailer.number}, ok1 && ok2, a1 || a2
	}
	for i := len(v.assumed) - 1; i >= 0; i-- { // the child's comes after the parent's
		if v.assumed[i].Fact == name {
			val, known = info.value(v.assumed[i].Value)
			return val, known, known
		}
	}
	return value{}, false, false
}

// missing names what is to be declared for a fact that is not known.
func (v view) missing(name string) []string {
	if name != "axles-combination" {
		return []string{name}
	}
	var m []string
	for _, part := range []string{"axles-tractor", "axles-trailer"} {
		if _, ok, _ := v.lookup(part); !ok {
			m = append(m, part)
		}
	}
	return m
}

// say words a known fact: "axles is 3", "spacing is 1.31 m".
func (v view) say(name string) string {
	val, known, assumed := v.lookup(name)
	if !known {
		return name + " is not declared"
	}
	info := factIndex[name]
	text := val.word
	switch info.Kind {
	case Flag:
		text = fmt.Sprint(val.flag)
	case Count:
		text = unit.Text(val.number, unit.One)
	case Measure:
		text = unit.Plain(val.number, unit.M)
		if info.Dim == unit.MassDim {
			text = unit.Plain(val.number, unit.KG)
		}
	case Date:
		text = time.Unix(int64(val.number)*86400, 0).UTC().Format(time.DateOnly)
	}
	if assumed {
		text += " (assumed)"
	}
	return name + " is " + text
}
