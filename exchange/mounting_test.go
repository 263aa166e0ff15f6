package exchange_test

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/tomlfile"
)

func partsFile(t testing.TB) []byte {
	t.Helper()
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestPartsRoundTripLosesNothing(t *testing.T) {
	first, err := exchange.ParseParts("parts.toml", partsFile(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(first.Chassis) < 2 || len(first.Parts) < 12 || len(first.Briefs) < 3 || len(first.Fittings) < 1 {
		t.Fatalf("the example holds %d chassis, %d parts, %d briefs, %d fittings", len(first.Chassis), len(first.Parts), len(first.Briefs), len(first.Fittings))
	}
	text, err := exchange.WriteParts(first)
	if err != nil {
		t.Fatal(err)
	}
	second, err := exchange.ParseParts("written", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if !reflect.DeepEqual(first, second) {
		t.Errorf("it changed on the way:\n%s", text)
	}
}

// Everything in the example says that it is invented.
func TestPartsOfTheExampleAreInvented(t *testing.T) {
	f, err := exchange.ParseParts("parts.toml", partsFile(t))
	if err != nil {
		t.Fatal(err)
	}
	marked := func(what, note string) {
		if !strings.HasPrefix(note, "Invented") && !strings.HasPrefix(note, "invented") {
			t.Errorf("%s: %q does not say that it is invented", what, note)
		}
	}
	marked("the file", f.Note)
	for _, c := range f.Chassis {
		marked("chassis "+c.ID, c.Note)
		marked("guide of "+c.ID, c.Guide)
	}
	for _, p := range f.Parts {
		marked("part "+p.ID, p.Note)
		for _, q := range []*mounting.Pattern{p.Foot, p.Top} {
			if q != nil {
				marked("holes of "+p.ID, q.From)
			}
		}
		if p.Approval != "" {
			marked("approval of "+p.ID, p.Approval)
		}
	}
	for _, b := range f.Briefs {
		marked("brief "+b.ID, b.Note)
	}
	for _, g := range f.Fittings {
		marked("fitting "+g.ID, g.Note)
		for _, j := range g.Joints {
			marked("torque of "+j.Upper, j.Document)
		}
	}
}

const (
	angled = `
[[chassis]]
id = "c"
for = ["t"]
[chassis.angles]
height = "8 mm"
`
	plated = `
[[part]]
id = "plate"
kind = "mounting-plate"
height = "12 mm"
stands-on = ["angles"]
d-value = "152 kN"
imposed = "20 t"
read-from = "plate"
`
	wheeled = `
[[part]]
id = "wheel"
kind = "fifth-wheel"
height = "185 mm"
stands-on = ["mounting-plate"]
d-value = "152 kN"
imposed = "20 t"
read-from = "plate"
foot = { hole = [{ x = "0 mm", y = "300 mm", d = "17 mm" }, { x = "60 mm", y = "300 mm", d = "17 mm" }] }
`
	fitted = `
[[brief]]
id = "b"
tractor = "t"
[[fitting]]
id = "g"
brief = "b"
base = "angles"
parts = ["plate", "wheel"]
`
	jointed = `
[[fitting.joint]]
lower = "plate"
upper = "wheel"
`
)

// Each error says where, what was found and what to do.
func TestPartsErrors(t *testing.T) {
	whole := angled + plated + wheeled + fitted + jointed
	tests := []struct {
		name string
		text string
		want string // of the first error
	}{
		{"nothing wrong", whole, ""},
		{"bare number", strings.Replace(whole, `"185 mm"`, `185`, 1), `height = 185, a TOML integer; expected a length in quotes with its unit`},
		{"mass for a length", strings.Replace(whole, `"185 mm"`, `"185 kg"`, 1), `unit of mass; expected`},
		{"unknown key", strings.Replace(whole, `height = "185 mm"`, `hight = "185 mm"`, 1), `hight`},
		{"height out of range", strings.Replace(whole, `"185 mm"`, `"1850 mm"`, 1), `x.toml:20:10: found height = 1850 mm; expected 0 mm to 600 mm`},
		{"kilograms for tonnes", strings.Replace(whole, `imposed = "20 t"`, `imposed = "20 kg"`, 1), `t written as kg, perhaps: 20000 kg`},
		{"kind", strings.Replace(whole, `kind = "mounting-plate"`, `kind = "slab"`, 1), `kind = "slab"; expected one of fifth-wheel`},
		{"no kind", strings.Replace(whole, `kind = "mounting-plate"`, ``, 1), `a part without kind; expected kind = one of`},
		{"no height", strings.Replace(whole, `height = "12 mm"`, ``, 1), `a part without height`},
		{"no rating", strings.Replace(whole, "d-value = \"152 kN\"\n", "", 1), `found a part without rating; expected d-value and imposed from its plate, with read-from; or read-from = "unknown", and every stack with it stays open`},
		{"rating from nowhere", strings.Replace(whole, "read-from = \"plate\"\n", "", 1), `a rating that does not say where it was read; expected read-from = plate, document or memory`},
		{"unknown beside a rating", strings.Replace(whole, `read-from = "plate"`, `read-from = "unknown"`, 1), `read-from = "unknown" beside a rating`},
		{"stands on nothing", strings.Replace(whole, `stands-on = ["angles"]`, ``, 1), `a part that stands on nothing`},
		{"stands on a stranger", strings.Replace(whole, `stands-on = ["angles"]`, `stands-on = ["floor"]`, 1), `stands-on "floor"; expected frame, subframe, angles, a kind of part`},
		{"stands on a fifth wheel", strings.Replace(whole, `stands-on = ["angles"]`, `stands-on = ["angles", "wheel"]`, 1), `stands-on "wheel"`},
		{"id twice", whole + plated, `id = "plate" a second time; expected an id of its own; part[0] has it already`},
		{"id is a word", strings.Replace(whole, `id = "plate"`, `id = "slider"`, 1), `another id: this word names a kind of part or a base`},
		{"overlapping holes", strings.Replace(whole, `x = "60 mm"`, `x = "12 mm"`, 1), `hole 1 (x 0 mm, y 300 mm) and hole 2 (x 12 mm, y 300 mm), which run into each other with diameters of 17 mm and 17 mm; expected holes with steel between them: look at the drawing again, or leave one out`},
		{"image overlaps", strings.Replace(whole, `foot = {`, `foot = { mirrored = true, row = [{ first = "200 mm", y = "4 mm", count = 1, d = "17 mm" }],`, 1), `hole 3 (x 200 mm, y 4 mm) and hole 6 (x 200 mm, y -4 mm), which run into each other`},
		{"row without pitch", strings.Replace(whole, `foot = {`, `foot = { row = [{ first = "200 mm", y = "0 mm", count = 2, d = "17 mm" }],`, 1), `a row of holes without pitch`},
		{"endless row", strings.Replace(whole, `foot = {`, `foot = { row = [{ first = "0 mm", y = "0 mm", pitch = "50 mm", count = 2000000000, d = "17 mm" }],`, 1), `count = 2000000000; expected a number of holes from 1 to 200`},
		{"travel on a plate", strings.Replace(whole, `height = "12 mm"`, "height = \"12 mm\"\ntravel = \"400 mm\"", 1), `travel on a mounting-plate; expected nothing: only a slider has one`},
		{"pin between sizes", strings.Replace(whole, `height = "185 mm"`, "height = \"185 mm\"\npin = \"60 mm\"", 1), `pin = 60 mm; expected 50 mm (2 in) or 90 mm (3.5 in)`},
		{"material", strings.Replace(whole, `height = "12 mm"`, "height = \"12 mm\"\nmaterial = \"S999\"", 1), `material = "S999", which is not a plate material known here; expected one of S235`},
		{"parts in the wrong order", strings.Replace(whole, `["plate", "wheel"]`, `["wheel", "plate"]`, 1), `x.toml:34:10: found wheel on the angles; expected wheel on what it may stand on: mounting-plate`},
		{"no fifth wheel", strings.Replace(whole, `["plate", "wheel"]`, `["plate"]`, 1), `the mounting-plate plate on top; expected a fifth wheel on top`},
		{"unknown part", strings.Replace(whole, `["plate", "wheel"]`, `["plate", "wheal"]`, 1), `part "wheal"; expected the id of a part of this file`},
		{"base that is not there", strings.Replace(strings.Replace(whole, `base = "angles"`, `base = "subframe"`, 1), `stands-on = ["angles"]`, `stands-on = ["subframe"]`, 1), `a stack on the subframe, which chassis c does not have`},
		{"holes that do not meet", strings.Replace(whole, `height = "12 mm"`, "height = \"12 mm\"\ntop = { hole = [{ x = \"0 mm\", y = \"300 mm\", d = \"17 mm\" }, { x = \"61 mm\", y = \"300 mm\", d = \"17 mm\" }] }", 1), `wheel, whose holes do not meet those of plate; expected a part of the same hole pattern`},
		{"thread", whole + "thread = \"M15\"\n", `thread = "M15", which is not in the table of threads; expected one of M12, M14`},
		{"grade", whole + "thread = \"M16\"\ngrade = \"9.8\"\n", `grade = "9.8", which is not in the table of property classes; expected one of 8.8, 10.9, 12.9; another grade has no strength here, so take a bolt of one of these`},
		{"torque from nowhere", whole + "torque = \"280 N.m\"\n", `a torque that does not say where it stands; expected torque-from: title, number, issue and page of the part's document`},
		{"torque in kilonewtons", whole + "torque = \"280 kN\"\n", `unit of force; expected`},
		{"method", whole + "method = \"by feel\"\n", `method = "by feel"; expected one of yield or angle`},
		{"surface", whole + "surface = \"shiny\"\n", `surface = "shiny"; expected one of clean, unpainted`},
		{"roughness", whole + "roughness = \"rough\"\n", `roughness = "rough"; expected one of Rz below 10`},
		{"friction the wrong way round", whole + "friction-least = 0.2\nfriction-most = 0.1\n", `friction-least = 0.2 above friction-most = 0.1`},
		{"friction in per cent", whole + "friction-least = 12.0\n", `friction-least = 12; expected 0.04 to 0.4`},
		{"a joint of strangers", strings.Replace(whole, `lower = "plate"`, `lower = "frame"`, 1), `a joint of "wheel" on "frame"; expected lower and upper that lie on each other in this stack: angles + plate + wheel`},
		{"a joint twice", whole + jointed, `a second joint of "wheel" on "plate"`},
		{"a hole that is not there", whole + "holes = [1, 3]\n", `hole 3; expected numbers of the 2 foot holes of wheel, each once`},
		{"a washer that falls through", whole + "thread = \"M16\"\nwasher = \"17 mm\"\n", `washer = 17 mm; expected an outer diameter above the hole of 17.5 mm`},
		{"two ways to the frame", strings.Replace(whole, `for = ["t"]`, "for = [\"t\"]\nframe-rear = \"900 mm\"\ntyre-radius = \"500 mm\"", 1), `frame-rear beside tyre-radius or axle-to-frame`},
		{"one tractor twice", whole + "[[chassis]]\nid = \"d\"\nfor = [\"t\"]\n", `tractor "t" a second time; expected one chassis for a tractor; chassis[0] has it already`},
		{"half a sink", strings.Replace(whole, `for = ["t"]`, "for = [\"t\"]\nsink-rear = { suspension = \"steel\", under = \"6 t\", tyres = \"20 mm\" }", 1), `a sink that lacks`},
		{"zone without an end", whole + "[[chassis]]\nid = \"d\"\n[[chassis.zone]]\nwhat = \"keep-free\"\nfrom = \"3 m\"\n", `a zone without two ends in order`},
		{"height without tolerance", whole + "[[brief]]\nid = \"b2\"\nheight = [{ unladen = \"1150 mm\" }]\n", `a wanted height without tolerance; expected tolerance: how far it may be off, either way`},
		{"laden above unladen", whole + "[[brief]]\nid = \"b2\"\nheight = [{ unladen = \"1150 mm\", laden = \"1160 mm\", tolerance = \"10 mm\" }]\n", `laden = 1160 mm above unladen = 1150 mm`},
		{"must and wish", whole + "[[brief]]\nid = \"b2\"\ntrailers = [\"s\"]\nwished = [\"s\"]\n", `"s" among trailers and wished`},
		{"retightening without document", strings.Replace(whole, `base = "angles"`, "base = \"angles\"\nretighten = { days = 30 }", 1), `a retightening that does not say where it stands`},
		{"slider with one notch", strings.Replace(whole, `kind = "mounting-plate"`, "kind = \"slider\"\ntravel = \"40 mm\"\npitch = \"50 mm\"", 1), `a pitch longer than its travel`},
		{"lift out of its stroke", strings.Replace(whole, `kind = "mounting-plate"`, "kind = \"lift\"\nstroke = \"100 mm\"\npositions = [\"0 mm\", \"120 mm\"]", 1), `position 120 mm; expected rising heights from 0 mm to the stroke of 100 mm`},
		{"no TOML", "part = [", `x.toml:1:`},
	}
	placed := regexp.MustCompile(`^x\.toml:\d+:\d+: found .+; expected .+`)
	for _, test := range tests {
		_, err := exchange.ParseParts("x.toml", []byte(test.text))
		if test.want == "" {
			if err != nil {
				t.Errorf("%s: %v", test.name, err)
			}
			continue
		}
		if err == nil {
			t.Errorf("%s: no error; expected one that says %q", test.name, test.want)
			continue
		}
		all := err.Error()
		var bad exchange.Invalid
		if errors.As(err, &bad) {
			all = ""
			for _, e := range bad {
				all += e.Error() + "\n"
				if !placed.MatchString(e.Error()) {
					t.Errorf("%s: %q has no place, or does not say what was found and expected", test.name, e.Error())
				}
			}
		}
		if !strings.Contains(all, test.want) {
			t.Errorf("%s: %s; expected %q", test.name, all, test.want)
		}
	}
}

func TestReadParts(t *testing.T) {
	var e *tomlfile.Error
	if _, err := exchange.ReadParts(filepath.Join(t.TempDir(), "none.toml")); !errors.As(err, &e) {
		t.Errorf("a file that is not there: %v", err)
	}
	path := filepath.Join(t.TempDir(), "parts.toml")
	if err := os.WriteFile(path, partsFile(t), 0o600); err != nil {
		t.Fatal(err)
	}
	if f, err := exchange.ReadParts(path); err != nil || f.Part("plate-12") == nil || f.Brief("heron-road") == nil || f.ChassisNamed("heron-frame") == nil {
		t.Errorf("the example, from disk: %v", err)
	}
}

// Whatever text comes, the answer is a file or an error with a place, and a
// file that was read can be written and read again.
func FuzzParseParts(f *testing.F) {
	f.Add([]byte(angled + plated + wheeled + fitted + jointed))
	f.Add(partsFile(f))
	f.Add([]byte("[[part]]\nid = \"a\"\nkind = \"lift\"\nstroke = \"1 mm\"\npositions = [\"0 mm\"]\n"))
	f.Add([]byte("[[fitting]]\nid=\"g\"\nbase=\"frame\"\nparts=[\"a\",\"a\"]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := exchange.ParseParts("x.toml", data)
		if err != nil {
			var one *tomlfile.Error
			var many exchange.Invalid
			if !errors.As(err, &one) && !errors.As(err, &many) {
				t.Fatalf("an error of another kind: %v", err)
			}
			return
		}
		text, err := exchange.WriteParts(file)
		if err != nil {
			t.Fatal(err)
		}
		again, err := exchange.ParseParts("written", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		// Empty lists and tables may come back as none.
		if !reflect.DeepEqual(file.Parts, again.Parts) {
			first, _ := exchange.WriteParts(again)
			if string(first) != string(text) {
				t.Fatalf("it changed on the way:\n%s\n%s", text, first)
			}
		}
	})
}
