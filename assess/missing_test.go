package assess_test

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/rule"
	"underpin/vehicle"
)

// A field of a vehicle or load that can be unknown.
type field struct {
	path  string
	blank func()
}

// fieldsOf walks over what can be left out: pointers, words and lists.
func fieldsOf(v reflect.Value, path string) (out []field) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("toml"), ",")
			out = append(out, fieldsOf(v.Field(i), path+"."+name)...)
		}
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		out = append(out, field{path, func() { v.SetZero() }})
		if v.Elem().Kind() == reflect.Struct {
			out = append(out, fieldsOf(v.Elem(), path)...)
		}
	case reflect.Slice:
		if v.Len() == 0 {
			return nil
		}
		out = append(out, field{path, func() { v.SetZero() }})
		for i := range v.Len() {
			if v.Index(i).Kind() == reflect.Struct {
				out = append(out, fieldsOf(v.Index(i), fmt.Sprintf("%s[%d]", path, i))...)
			}
		}
	case reflect.String:
		if v.Len() > 0 {
			out = append(out, field{path, func() { v.SetString("") }})
		}
	}
	return out
}

// copyOf is the part of a fleet that a question is about, sharing nothing.
func copyOf(f *vehicle.Fleet, tractor, trailer, load string) *vehicle.Fleet {
	tr, _ := f.Tractor(tractor)
	st, _ := f.Trailer(trailer)
	part := vehicle.Fleet{Law: f.Law, Facts: f.Facts, Tractors: []vehicle.Tractor{*tr}, Trailers: []vehicle.SemiTrailer{*st}}
	if l, ok := f.Load(load); ok {
		part.Loads = []vehicle.Load{*l}
	}
	unshare(reflect.ValueOf(&part).Elem())
	return &part
}

func unshare(v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			unshare(v.Field(i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			own := reflect.New(v.Type().Elem())
			own.Elem().Set(v.Elem())
			unshare(own.Elem())
			v.Set(own)
		}
	case reflect.Slice:
		if !v.IsNil() {
			own := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
			reflect.Copy(own, v)
			for i := range own.Len() {
				unshare(own.Index(i))
			}
			v.Set(own)
		}
	}
}

// decidesNothing are the fields without which an answer may stay fits, each with
// the reason. Any other field that is taken away must make the answer cannot-tell,
// or leave a setting to be stated.
var decidesNothing = map[string]string{
	"name": "a name", "note": "a note", "class": "what only warns and is not known stays out", "tilting": "the same",
	"tyre-radius": "for drawings and heights as mounted", "floor-height": "for drawings", "legs": "for drawings and standing", "behind": "for drawings and standing", "rating": "for standing",
	"raised": "for coupling and manoeuvring; it warns", "tilt-axis-depth": "an assumption stands for it; it warns",
	"corner-radius": "taken as sharp, which is the larger radius", "bottom": "taken as reaching down to the plate, which is stricter",
	"for":               "whom a load is meant for",
	"fifth-wheel-plate": "asked for where the law forms its gross mass with it",
	"steering-wedge":    "few have one: unknown on the semi-trailer warns, and on a fifth wheel nobody asks it of",
	"pitch":             "any position of the slide can be stated", "slider": "fixed where it stands",
	"foremost": "the place where it stands is known", "rearmost": "the same", "kind": "of the body: no law here asks for it",
	"conditioned-body": "the stricter width holds", "torsionally-stiff": "it only warns", "top": "taken as reaching up to the roof, which is stricter",
	"share": "with the other shares it makes 1",
	"fuel":  "the stricter gross holds", "suspension": "the stricter limit holds", "twin-tyres": "the stricter limit holds", "height": "this law has none",
}

var index = regexp.MustCompile(`\[\d+\]`)

// Take any one thing away that can be unknown: an answer of fits never comes of
// it, one that was there stays only for the fields that decide nothing, and no
// finding that binds passes with a value or a limit kinder than when all was
// known. Source of the promise: README, "How far to trust it".
func TestAnythingMissingIsNeverAPass(t *testing.T) {
	good := map[rule.Answer]bool{rule.Fits: true, rule.FitsIf: true}
	for _, tt := range []struct {
		file, tractor, trailer, law, load string
		want                              rule.Answer
		also                              string // fields that this law or load does not ask for
	}{
		{"largest-eu.toml", "tractor-e", "trailer-e", "eu", "laden", rule.Fits, ""},
		{"demo.toml", "heron-07", "shoal-40", "de", "laden", rule.Fits, ""},
		{"demo.toml", "heron-07", "quay-37", "eu", "box-20-middle", rule.Fits, "payload payload-at"},
		{"reference-c.toml", "tractor-c", "trailer-c", "us", "laden", rule.Fits, "front-overhang rear-end unladen plate-height body-height"},
		{"demo.toml", "heron-07", "marsh-23", "eu", "round-drop-1", rule.DoesNotFit, ""},
		{"demo.toml", "dipper-24", "marsh-23", "eu", "laden", rule.DoesNotFit, ""},
		{"demo.toml", "raven-21", "sluice-46", "eu", "machine", rule.DoesNotFit, ""},
	} {
		law := book(t, tt.law)
		fields := func(f *vehicle.Fleet) []field {
			tr, _ := f.Tractor(tt.tractor)
			st, _ := f.Trailer(tt.trailer)
			out := append(fieldsOf(reflect.ValueOf(tr).Elem(), "tractor"), fieldsOf(reflect.ValueOf(st).Elem(), "semi-trailer")...)
			if l, ok := f.Load(tt.load); ok {
				out = append(out, fieldsOf(reflect.ValueOf(l).Elem(), "load")...)
			}
			return out
		}
		whole := ask(t, fleetOf(t, tt.file), tt.tractor, tt.trailer, law, tt.load)
		if whole.Answer != tt.want {
			t.Fatalf("%s with %s, %s: %s, missing %q", tt.tractor, tt.trailer, tt.load, whole.Answer, whole.Missing)
		}
		before := map[string]*assess.Finding{}
		for i := range whole.Findings {
			x := &whole.Findings[i]
			before[x.ID+" "+x.Case] = x
		}
		asked := 0
		all := fleetOf(t, tt.file)
		for n := range fields(all) {
			f := copyOf(all, tt.tractor, tt.trailer, tt.load)
			taken := fields(f)[n]
			key := index.ReplaceAllString(taken.path[strings.LastIndexByte(taken.path, '.')+1:], "")
			if key == "id" {
				continue
			}
			if key == "kind" && strings.Contains(taken.path, "axle[") {
				key = "axle kind"
			}
			taken.blank()
			// As the vehicles are set: another setting has other values.
			tr, _ := f.Tractor(tt.tractor)
			st, _ := f.Trailer(tt.trailer)
			cases, err := assess.Cases(f, st, tt.load)
			if err != nil {
				t.Fatal(err)
			}
			p := assess.Compile(assess.Combination{Tractor: tr, Trailer: st, Cases: cases, Law: law})
			r := p.Assess(assess.AimMargin)
			asked++
			switch {
			case good[r.Answer] && !good[tt.want]:
				// A whole list taken away says that there is none; nothing else may cure.
				if key != "nose" && key != "slider" {
					t.Errorf("%s with %s: %s without %s", tt.tractor, tt.trailer, r.Answer, taken.path)
				}
			case good[r.Answer] && decidesNothing[key] == "" && !slices.Contains(strings.Fields(tt.also), key):
				if r.Answer == rule.FitsIf && (key == "at" || key == "lifted") {
					break // the setting has to be stated
				}
				t.Errorf("%s with %s: still %s without %s", tt.tractor, tt.trailer, r.Answer, taken.path)
			case r.Answer == rule.CannotTell && len(r.Missing) == 0:
				t.Errorf("%s with %s: cannot tell and nothing is missing without %s", tt.tractor, tt.trailer, taken.path)
			}
			at := p.At(assess.Setting{Lead: whole.Setting.Lead, At: whole.Setting.At, Level: whole.Setting.Level, TractorLifted: whole.Setting.TractorLifted, TrailerLifted: whole.Setting.TrailerLifted})
			for i := range at.Findings {
				x := &at.Findings[i]
				was := before[x.ID+" "+x.Case]
				if was == nil || !x.Binding || x.Answer != rule.Fits {
					continue
				}
				if kinder := x.Margin - was.Margin; kinder > 1e-6*math.Max(1, math.Abs(was.Margin)) && key != "nose" {
					t.Errorf("%s with %s without %s: %s passes with %v of %v to spare, %v of %v with all known", tt.tractor, tt.trailer, taken.path, x.ID, x.Margin, x.Limit, was.Margin, was.Limit)
				}
			}
		}
		if asked < 80 {
			t.Errorf("%s with %s: only %d fields", tt.tractor, tt.trailer, asked)
		}
	}
}

// Without a load no mass is held against anything, and that is no pass. The pair
// fits empty and laden (examples/expected.toml).
func TestNoLoadCaseIsNoPass(t *testing.T) {
	f := fleetOf(t, "demo.toml")
	tr, _ := f.Tractor("heron-07")
	st, _ := f.Trailer("shoal-40")
	r := assess.Compile(assess.Combination{Tractor: tr, Trailer: st, Law: book(t, "eu")}).Assess(assess.AimMargin)
	if r.Answer != rule.CannotTell || !slices.Contains(r.Missing, "a load case") {
		t.Errorf("%s, missing %q", r.Answer, r.Missing)
	}
}
