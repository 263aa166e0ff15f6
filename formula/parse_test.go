package formula_test

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/formula"
	"underpin/unit"
)

func words(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(s, " ")
}

const (
	d2    = "tractor-gross=18t trailer-gross=36t "
	unit1 = "unit=w:9t,x:1.6m,l:4.3m,c:3.95m "
)

// What is wrong is told by key, with what was found and what was expected.
func TestParseRefuses(t *testing.T) {
	tests := []struct {
		calc, words          string
		where, found, expect string // parts of what is told
	}{
		{"d-value", d2 + "imposed=12", "d-value, imposed", "the unit is missing", "a mass with its unit, such as 12t"},
		{"d-value", d2 + "imposed=12q", "d-value, imposed", `"q" is not a unit`, "a mass"},
		{"d-value", d2 + "imposed=12m", "d-value, imposed", "m is a unit of length", "a mass"},
		{"d-value", d2 + "imposed=12kN", "d-value, imposed", "kN is a unit of force", "a mass"},
		{"d-value", d2 + "imposed=", "d-value, imposed", "empty", "a mass"},
		{"d-value", d2 + "imposed=NaNt", "d-value, imposed", "does not begin with a number", "a mass"},
		{"d-value", d2 + "imposed=1e13t", "d-value, imposed", "too large", "a mass"},
		{"d-value", d2 + "imposed=12t imposed=13t", "d-value, imposed", `12t and again "13t"`, "once"},
		{"d-value", d2 + "imposd=12t", "d-value", `the key "imposd"`, "perhaps imposed"},
		{"d-value", d2 + "colour=12t", "d-value", `the key "colour"`, "one of tractor-gross, trailer-gross, imposed"},
		{"d-value", d2 + "12t", "d-value", `"12t"`, "key=value"},
		{"d-value", d2 + "=12t", "d-value", `the key ""`, "one of"},
		{"d-value", d2 + "imposed=\xff", "d-value", `imposed=\xff`, "UTF-8"},
		{"d-value", "imposed=12t", "d-value", "no tractor-gross, no trailer-gross", "tractor-gross (a mass with its unit, such as 18t); trailer-gross"},
		{"roll-threshold", "track=2m centre-height=2", "roll-threshold, centre-height", "the unit is missing", "a length"},
		{"braking-transfer", stopA + " deceleration=0.5 case=d", "braking-transfer, case", `"d"`, "one of a, b, c"},
		{"braking-transfer", stopA + " deceleration=0.5g case=a", "braking-transfer, deceleration", "takes no unit", "a pure number"},
		{"turn", turnE + " angle=90deg exit=yes", "turn, exit", `"yes"`, "true or false"},
		{"turn", turnE + " angle=90 exit=true", "turn, angle", "the unit is missing", "an angle"},
		{"bridge-formula", "axles=5.5 length=51ft", "bridge-formula, axles", `"5.5"`, "a whole number"},
		{"bridge-formula", "axles=5 length=51ft ties=dwn", "bridge-formula, ties", `"dwn"`, "perhaps down"},
		{"axle-group-limit", "law=uka kind=trailer axles=1", "axle-group-limit, law", `"uka"`, "perhaps uk"},
		{"axle-group-limit", "law=de kind=trailer axles=3", "axle-group-limit", "no spacing", "spacing (a length"},
		{"bogie-line", "at=1m at=2m share=1", "bogie-line, share", "1 values beside 2 of at", "one for each"},
		{"bogie-line", "at=1m at=2m share=0.5 share=0.4", "bogie-line, share", "share = 0.9", "shares that sum to 1"},
		{"bogie-line", "at=1m at=2m share=0.5 share=50", "bogie-line, share", "share = 50", "a share from 0 to 1"},
		{"chain-loads", "unit=w:9t,x:1,62m,l:4.3m", "chain-loads, unit", "a decimal mark is a point here", "w:MASS,x:LENGTH,l:LENGTH,[c:LENGTH]"},
		{"chain-loads", "unit=w:9t,x:1.6m,l:4.3m,q:1m", "chain-loads, unit", `the part "q"`, "w:MASS"},
		{"chain-loads", "unit=w:9t,x:1.6m,l:4.3m,x:1m", "chain-loads, unit", "the part x twice", "w:MASS"},
		{"chain-loads", "unit=w:9t,x:1.6m", "chain-loads, unit", "no part l", "w:MASS"},
		{"chain-loads", "unit=w:9t,x:1.6m,l:4.3kg", "chain-loads, unit", "the l \"4.3kg\", where kg is a unit of mass", "a length"},
		{"chain-loads", unit1 + "unit=w:9t,x:1.6m,l:0m", "chain-loads, unit", "l = 0", "more than 0"},
		{"chain-loads", "unit=w:9t,x:1.6m,l:4.3m " + strings.TrimSpace(unit1), "chain-loads, unit", "no part c", "of every unit but the last"},
		{"wear-line", "reading=1000km limit=49mm", "wear-line, reading", `"1000km"`, "DISTANCE:DIAMETER, such as 0km:50.80mm"},
		{"wear-line", "reading=1000:50mm limit=49mm", "wear-line, reading", "the distance \"1000\", the unit is missing", "a length"},
		{"bolt", "size=M17 grade=10.9 friction=0.12", "bolt, size", `"M17", which is not in the table`, "M16"},
		{"bolt", "size=M16 grade=5.6 friction=0.12", "bolt, grade", `"5.6", which is not in the table`, "10.9"},
		{"bolt", "size=M16 grade=10.9 friction=12%", "", "", ""},
		{"bolt", "size=M16 grade=10.9 friction=12", "bolt, friction", "12", "0.04 ≤ μ ≤ 0.40"},
		{"tyre-diameter", "size=315", "tyre-diameter, size", "no stroke", "315/70"},
		{"tyre-diameter", "size=", "tyre-diameter, size", "nothing", "a marking"},
		{"d-value-limits", "d=150kN tractor-gross=18t", "d-value-limits", "no trailer-gross, no imposed", "two of"},
		{"d-value-limits", "d=150kN " + d2 + "imposed=12t", "d-value-limits", "all three masses", "two of"},
		{"landing-legs", "mass=13t centre=2.7m pin-to-bogie=7.7m legs=2.4m truck=4t", "landing-legs", "no truck-at", "where the fork-lift truck stands"},
		{"landing-legs", "mass=13t centre=2.7m pin-to-bogie=7.7m legs=2.4m truck-at=1m", "landing-legs", "no truck", "the mass of the fork-lift truck"},
		// Outside the range of a calculation.
		{"d-value", d2 + "imposed=18t", "d-value, tractor-gross", "18t", "0 ≤ U < min(T, R)"},
		{"d-value", d2 + "imposed=-1t", "d-value, imposed", "-1t", "0 ≤ U < min(T, R)"},
		{"v-value", "acceleration=2m/s2 load-length=6m drawbar-length=5m trailer-axles=10t", "v-value, acceleration", "2m/s2", "1.8 m/s²"},
		{"landing-legs", "mass=13t centre=2.7m pin-to-bogie=7.7m legs=8m", "landing-legs, legs", "8m", "0 < legs < pin-to-bogie"},
		{"swing-radius", "overhang=1.6m width=2.55m corner=2m", "swing-radius, corner", "2m", "0 ≤ rc ≤ min(xf, w/2)"},
		{"roll-threshold", "track=2m centre-height=1e-320m", "roll-threshold", "so far apart", "as vehicles have them"},
		{"turn", "guide-radius=1e9m guide-ahead=5m guide-left=0m lead=0.6m pin-to-bogie=7.7m width=2.55m angle=90deg front-overhang=1.6m rear-end=12m", "turn", "a path of", "at most"},
		{"swept-width", strings.Replace(sweptE, "guide-radius=12.5m", "guide-radius=10km", 1), "swept-width", "a path of", "at most"},
		{"lift-state", "front=-1t axle=at:7.7m,w:4.4t line=8.355m", "lift-state, front", "-1t", "0 or more"},
		{"reference-wheelbase", "width=2.55m outer=5m inner=5.3m fitting-radius=2.04m", "reference-wheelbase, outer", "5m", "s + r + W/2 < R"},
	}
	for _, test := range tests {
		c, err := formula.Find(test.calc)
		if err != nil {
			t.Error(err)
			continue
		}
		_, _, err = c.Answer(words(test.words))
		if test.where == "" {
			if err != nil {
				t.Errorf("%s %s: %v", test.calc, test.words, err)
			}
			continue
		}
		var invalid formula.Invalid
		if !errors.As(err, &invalid) {
			t.Errorf("%s %s: %v, expected it to be refused", test.calc, test.words, err)
			continue
		}
		told := false
		for _, e := range invalid {
			told = told || e.Where() == test.where && strings.Contains(e.Found, test.found) && strings.Contains(e.Expected, test.expect)
		}
		if !told {
			t.Errorf("%s %s:\n%v\nexpected of %s: found …%s…; expected …%s…", test.calc, test.words, err, test.where, test.found, test.expect)
		}
	}
}

const sweptE = guideE + " angle=90deg tractor-front=5.075m tractor-rear=0.9m tractor-width=2.55m pin-to-bogie=7.7m front-overhang=1.5925m rear-end=12m trailer-width=2.55m"

// Where the inputs are sound and yet no answer exists, the error is another one.
func TestNoAnswer(t *testing.T) {
	tests := []struct{ calc, words, why string }{
		{"turn-steady", "guide-radius=5m guide-ahead=5.075m guide-left=0m lead=0.575m pin-to-bogie=7.7m width=2.55m", "no steady state"},
		{"turn-steady", "guide-radius=9m guide-ahead=5.075m guide-left=-1.275m lead=0.575m pin-to-bogie=7.7m width=2.55m", "folds up"},
		{"offtracking", "outer-wheel-radius=25ft half-track=3.21ft wheelbase=105in lead=1ft pin-to-bogie=40ft", "folds up"},
		{"axle-group-limit", "law=de kind=motor axles=2 spacing=1.80m", "not in the table"}, // handbook chapter 02, 6 row 15
		{"axle-group-limit", "law=de kind=trailer axles=3 spacing=1.41m", "not in the table"},
		{"payload-limit", vehicleA + " payload-at=5.2m max-front=5t", "max-front is broken by the empty combination"},
		{"lead-range", "wheelbase=3.7m tare-front=5.5t tare-rear=2.3t pin-to-bogie=7.7m tare-pin=0t tare-bogie=6.3t payload=0t payload-at=0m max-front=5t", "max-front is broken and the lead has no effect on it"},
		{"load-centre", "item=m:0kg,s:1m", "no centre"},
		{"wear-line", "reading=0km:50.8mm reading=1000km:50.7mm limit=49mm", "three readings"},
		{"wear-line", "reading=0km:50.8mm reading=1000km:50.9mm reading=2000km:51mm limit=49mm", "do not grow smaller"},
		{"d-value-limits", "d=10kN tractor-gross=33t imposed=30t", "no trailer will do"},
		{"turn", "guide-radius=2m guide-ahead=5.075m guide-left=0m lead=0.575m pin-to-bogie=7.7m width=2.55m front-overhang=1.6m rear-end=12m angle=360deg", "its drift against the tractor reaches 90°"},
		{"bolt-group", "bolt=x:0mm,y:0mm force-y=10kN at-x=100mm", "a single bolt"},
		{"slip-en1993", "size=M16 grade=12.9 friction=0.2 surfaces=1", "12.9"},
	}
	for _, test := range tests {
		c, err := formula.Find(test.calc)
		if err != nil {
			t.Error(err)
			continue
		}
		_, _, err = c.Answer(words(test.words))
		var none *unit.NoAnswerError
		if !errors.As(err, &none) || !strings.Contains(none.Why, test.why) || none.Formula != test.calc {
			t.Errorf("%s %s: %v, expected that there is no answer: %s", test.calc, test.words, err, test.why)
		}
	}
}

// Whatever lies outside a range is told by the key that was typed, for each key
// of each calculation, set to values that no vehicle has.
func TestRefusalsNameTheKey(t *testing.T) {
	refused := 0
	for _, c := range formula.All() {
		example := c.Example()
		for i, w := range example {
			name, value, _ := strings.Cut(w, "=")
			k, _ := c.Key(name)
			for _, absurd := range []string{"-1", "0", "1000", "-1000", "0.001"} {
				for _, v := range set(k, value, absurd) {
					in := slices.Clone(example)
					in[i] = name + "=" + v
					_, _, err := c.Answer(in)
					var invalid formula.Invalid
					if !errors.As(err, &invalid) {
						continue
					}
					refused++
					for _, e := range invalid {
						if _, known := c.Key(e.Key); !known && !strings.HasPrefix(e.Found, "a path of") {
							t.Errorf("%s %v: %v", c.Name, in[i], e)
						}
					}
				}
			}
		}
	}
	if refused < 300 {
		t.Errorf("only %d absurd values were refused", refused)
	}
}

// set puts a number in the place of a value, or of each part of one.
func set(k *formula.Key, value, number string) []string {
	switch k.Kind {
	case formula.Quantity, formula.Number, formula.Count:
		return []string{number + k.Unit.Symbol}
	case formula.Compound:
		mark := ","
		if k.ByPlace {
			mark = ":"
		}
		var out []string
		for i := range strings.Split(value, mark) {
			parts := strings.Split(value, mark)
			name, _, named := strings.Cut(parts[i], ":")
			p := k.Parts[i]
			parts[i] = number + p.Unit.Symbol
			if named {
				parts[i] = name + ":" + parts[i]
			}
			out = append(out, strings.Join(parts, mark))
		}
		return out
	}
	return nil
}

// Several slips are told at once, and a key that is wrong is not missing too.
func TestParseTellsEverything(t *testing.T) {
	c, err := formula.Find("d-value")
	if err != nil {
		t.Fatal(err)
	}
	_, err = c.Parse(words("tractor-gros=18t trailer-gross=36 imposed=12m"))
	var invalid formula.Invalid
	if !errors.As(err, &invalid) || len(invalid) != 4 {
		t.Fatalf("told %v", err)
	}
	if got := strings.Join(invalid.Missing(), " "); got != "tractor-gross" {
		t.Errorf("missing %q", got)
	}
}

func TestFindProposesTheNearest(t *testing.T) {
	for typed, want := range map[string]string{"d-valu": "d-value", "axleloads": "axle-loads", "bridge": "", "xyzzy": "", "turnsteady": "turn-steady", "": ""} {
		_, err := formula.Find(typed)
		var unknown *formula.UnknownError
		if !errors.As(err, &unknown) || unknown.Nearest != want || len(unknown.Known) != len(formula.All()) {
			t.Errorf("%q: %v, expected %q to be proposed", typed, err, want)
		}
	}
}

// A value in another unit is the same value: no calculation may depend on the
// unit in which its inputs are typed.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(formula.All()).Draw(t, "calculation")
		example := c.Example()
		_, want, err := c.Answer(example)
		if err != nil {
			t.Fatal(err)
		}
		var other []string
		for _, w := range example {
			name, value, _ := strings.Cut(w, "=")
			k, _ := c.Key(name)
			if k.Kind != formula.Quantity {
				other = append(other, w)
				continue
			}
			si, err := unit.Parse(value, k.Dim())
			if err != nil {
				t.Fatal(err)
			}
			u, _ := unit.Lookup(rapid.SampledFrom(unit.Symbols(k.Dim())).Draw(t, name))
			other = append(other, name+"="+strconv.FormatFloat(u.From(si), 'g', 17, 64)+u.Symbol)
		}
		_, got, err := c.Answer(other)
		if err != nil {
			t.Fatalf("%v: %v", other, err)
		}
		for i, v := range want.Outputs {
			w := got.Outputs[i]
			a, isNumber := v.V.(float64)
			b, _ := w.V.(float64)
			// A kilogram of binary dust in a hundred million tonnes; swept and
			// followed paths are exact to a tenth of a millimetre only.
			if isNumber && !(math.Abs(a-b) <= 1e-7*math.Max(1, math.Abs(a))) || !isNumber && v.V != w.V {
				t.Errorf("%s is %v %s with %v and %v with %v", v.Name, v.V, v.Unit, example, w.V, other)
			}
		}
	})
}

// Nothing that can be typed may panic, and an answer holds nothing but finite
// numbers, words, truths, and null where the table says so.
func FuzzParse(f *testing.F) {
	for i, c := range formula.All() {
		f.Add(uint8(i), strings.Join(c.Example(), " "))
	}
	f.Add(uint8(0), "tractor-gross=18t trailer-gross=36t imposed=-0t =\xff imposed imposed==")
	f.Add(uint8(8), "unit=w:9t,,x:,l::,c:1,5m unit=w unit=")
	f.Fuzz(func(t *testing.T, which uint8, line string) {
		all := formula.All()
		c := all[int(which)%len(all)]
		args, result, err := c.Answer(words(line))
		var invalid formula.Invalid
		var none *unit.NoAnswerError
		switch {
		case errors.As(err, &invalid):
			if len(invalid) == 0 || invalid[0].Found == "" || invalid[0].Expected == "" {
				t.Errorf("%s %q: refused without a reason: %#v", c.Name, line, invalid)
			}
			return
		case errors.As(err, &none):
			if none.Why == "" {
				t.Errorf("%s %q: no answer, and no reason", c.Name, line)
			}
			return
		case err != nil:
			t.Fatalf("%s %q: %v is neither a refusal nor a reason", c.Name, line, err)
		}
		for _, v := range result.Outputs {
			if x, isNumber := v.V.(float64); isNumber && (math.IsNaN(x) || math.IsInf(x, 0)) {
				t.Errorf("%s %q: %s = %v", c.Name, line, v.Name, x)
			}
		}
		if _, err := (formula.Answer{Args: args, Result: result}).MarshalJSON(); err != nil {
			t.Errorf("%s %q: %v", c.Name, line, err)
		}
	})
}
