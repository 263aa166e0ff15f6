package formula_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"underpin/formula"
)

// The JSON is a contract: its members, their order, and what null means.
func TestAnswerJSON(t *testing.T) {
	tests := []struct{ calc, words, want string }{
		{"roll-threshold", "track=2.04m centre-height=2m",
			`{"name":"roll-threshold","inputs":{"track":{"value":2.04,"unit":"m"},"centre-height":{"value":2,"unit":"m"}},"outputs":{"g":{"value":0.51,"unit":""}},` +
				`"formula":"a/g = t / (2 h)","source":"derived; handbook chapter 03, 6.5. The loss in real curves: SAE 2003-01-3385, abstract",` +
				`"working":"a/g = 2.04` + "\u00a0" + `m / (2 · 2` + "\u00a0" + `m) = 0.51","evidence":"derived","notes":[]}`},
	}
	for _, test := range tests {
		c, err := formula.Find(test.calc)
		if err != nil {
			t.Fatal(err)
		}
		args, result, err := c.Answer(words(test.words))
		if err != nil {
			t.Fatal(err)
		}
		got, err := json.Marshal(formula.Answer{Args: args, Result: result})
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != test.want {
			t.Errorf("%s\nexpected %s", got, test.want)
		}
	}
}

// Inputs are echoed as they were understood: a repeated key as a list in its
// order, a compound by its parts, an assumption as one.
func TestEcho(t *testing.T) {
	tests := []struct{ calc, words, key, want string }{
		{"d-value", "tractor-gross=39682.5lb trailer-gross=36t imposed=12 000kg", "trailer-gross", `{"value":36000,"unit":"kg"}`},
		{"bogie-line", "at=2m share=25% at=1m share=0.75", "at", `[{"value":2,"unit":"m"},{"value":1,"unit":"m"}]`},
		{"bogie-line", "at=2m share=25% at=1m share=0.75", "share", `[{"value":0.25,"unit":""},{"value":0.75,"unit":""}]`},
		{"chain-loads", "unit=l:4m,w:9t,x:1500mm", "unit", `[{"w":{"value":9000,"unit":"kg"},"x":{"value":1.5,"unit":"m"},"l":{"value":4,"unit":"m"}}]`},
		{"wear-line", "reading=0km:51mm reading=64km:50mm reading=128km:49mm limit=48mm", "reading",
			`[{"distance":{"value":0,"unit":"km"},"diameter":{"value":51,"unit":"mm"}},{"distance":{"value":64,"unit":"km"},"diameter":{"value":50,"unit":"mm"}},{"distance":{"value":128,"unit":"km"},"diameter":{"value":49,"unit":"mm"}}]`},
		{"wear-line", "reading=0km:51mm reading=64km:50mm reading=128km:49mm limit=48mm", "confidence", `{"value":0.95,"unit":"","assumed":true}`},
		{"bridge-formula", "axles=5 length=51ft ties=up", "ties", `{"value":"up","unit":""}`},
		{"bridge-formula", "axles=5 length=51ft ties=up", "axles", `{"value":5,"unit":""}`},
		{"turn", turnE + " angle=90deg exit=true", "exit", `{"value":true,"unit":""}`},
	}
	for _, test := range tests {
		// A group of digits is parted by a blank, which the words here are too.
		a := ask(t, test.calc, strings.ReplaceAll(test.words, "12 000kg", "12\u00a0000kg"))
		if got := string(a.Inputs[test.key]); got != test.want {
			t.Errorf("%s %s: %s is echoed as %s, expected %s", test.calc, test.words, test.key, got, test.want)
		}
	}
}

// What a result must not keep silent about.
func TestNotes(t *testing.T) {
	tests := []struct{ calc, words, note string }{
		{"landing-legs", "mass=13t centre=2.7m pin-to-bogie=7.7m legs=2.4m", "no fork-lift truck was given"},
		{"landing-legs", "mass=13t centre=2.7m pin-to-bogie=7.7m legs=2.4m", "no leg-rating was given"},
		{"landing-legs", "mass=13t centre=2m pin-to-bogie=7.7m legs=2.4m", "the nose goes over"},
		{"payload-limit", vehicleA + " payload-at=5.2m max-front=7.5t", "not looked at, because not given: max-rear"},
		{"lead-range", loadA + " max-front=6t max-rear=9t", "no lead keeps all limits: max-rear and max-front conflict"},
		{"axle-loads", vehicleA + " payload=20t payload-at=12m", "cannot stand like this"},
		{"bridge-formula", "axles=3 length=9ft", "assumed: ties = down"},
		{"axle-group-limit", "law=fr kind=trailer axles=2 spacing=1.3m", "each axle of the group"},
		{"axle-group-limit", "law=fr kind=trailer axles=3 spacing=1.3m", "a laxer limit can apply, depending on combination-mass"},
		{"train-d", "tractor=22.5t trailer=u:14t,a:20t trailer=u:13t,a:20t", "not the R55 Annex 8 value"},
		{"bolt", "size=M16 grade=10.9 friction=0.12", "no fitting torque"},
		{"bolt", "size=M22 grade=10.9 friction=0.12", "from memory"},
		{"v-value", "acceleration=1.8m/s2 load-length=6m drawbar-length=6.5m trailer-axles=10t", "1 was used"},
		{"wear-forecast", strings.TrimSpace(prior), "no reading of this part"},
		{"wear-line", "reading=0km:51mm reading=64km:50mm reading=128km:49mm limit=50mm", "nothing is left"},
	}
	for _, test := range tests {
		a := ask(t, test.calc, test.words)
		if !strings.Contains(strings.Join(a.Notes, "\n"), test.note) {
			t.Errorf("%s %s: the notes %q say nothing of %q", test.calc, test.words, a.Notes, test.note)
		}
	}
	if a := ask(t, "lead-range", loadA+" max-front=6t max-rear=9t"); !(a.Outputs["min"].Value.(float64) > a.Outputs["max"].Value.(float64)) {
		t.Errorf("an empty range has min %v and max %v, expected min > max", a.Outputs["min"].Value, a.Outputs["max"].Value)
	}
	behind := "wheelbase=3.7m lead=-0.1m tare-front=5.5t tare-rear=2.3t pin-to-bogie=7.7m tare-pin=1.9t tare-bogie=4.4t payload=25.9t payload-at=5.2m"
	for name, words := range map[string]string{"the given lead": behind + " max-front=7.5t max-rear=11.5t", "the range": loadA + " max-front=5t"} {
		if a := ask(t, "lead-range", words); a.Outputs["caution"].Value == "" {
			t.Errorf("%s reaches below 0 and there is no caution", name)
		}
	}
}

func TestListIsJSON(t *testing.T) {
	text, err := json.Marshal(formula.List())
	if err != nil {
		t.Fatal(err)
	}
	var list struct {
		Calculations []struct {
			Name    string
			Inputs  []struct{ Name, Kind, Dimension, Unit string }
			Outputs []struct{ Name string }
			Example []string
		}
	}
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	if len(list.Calculations) != len(formula.All()) {
		t.Errorf("%d calculations in the list", len(list.Calculations))
	}
	for i, c := range formula.All() {
		got := list.Calculations[i]
		if got.Name != c.Name || len(got.Inputs) != len(c.Inputs) || len(got.Outputs) != len(c.Outputs) || len(got.Example) == 0 {
			t.Errorf("%s is listed as %+v", c.Name, got)
		}
	}
}

func ExampleCalculation_Answer() {
	c, err := formula.Find("d-value")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, result, err := c.Answer([]string{"tractor-gross=18t", "trailer-gross=36t", "imposed=12t"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range result.Outputs {
		fmt.Printf("%s = %.2f %s\n", v.Name, v.V, v.Unit)
	}
	fmt.Println(result.Source)
	// Output:
	// d = 90.81 kN
	// as printed in "D-value (transport)", en.wikipedia.org, and in a body-builder guide of 2015, part II p. 273; UN Regulation No. 55, 2.11.1, itself at second hand
}

func ExampleCalculation_Parse() {
	c, err := formula.Find("d-value")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = c.Parse([]string{"tractor-gross=18", "trailer-gros=36t"})
	var wrong formula.Invalid
	if errors.As(err, &wrong) {
		for _, e := range wrong {
			fmt.Fprintln(os.Stdout, e)
		}
	}
	// Output:
	// d-value, tractor-gross: found "18", the unit is missing; expected a mass with its unit, such as 18t
	// d-value: found the key "trailer-gros"; expected a key of d-value, perhaps trailer-gross
	// d-value: found no trailer-gross, no imposed; expected trailer-gross (a mass with its unit, such as 36t); imposed (a mass with its unit, such as 12t)
}

func BenchmarkAnswer(b *testing.B) {
	c, err := formula.Find("axle-loads")
	if err != nil {
		b.Fatal(err)
	}
	in := words(loadA)
	for b.Loop() {
		if _, _, err := c.Answer(in); err != nil {
			b.Fatal(err)
		}
	}
}
