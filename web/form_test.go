package web

import (
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"

	"underpin/examples"
	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// Every field that a vehicle can have stands in its form once.
func TestFormsHoldEveryField(t *testing.T) {
	specs := map[string]spec{
		record.Tractor: vehicleSpec(record.Tractor, nil), record.SemiTrailer: vehicleSpec(record.SemiTrailer, nil), record.Dolly: vehicleSpec(record.Dolly, nil),
		"part": partSpec(nil, nil), "type": typeSpec(), "depot": depotSpec(), "notice": noticeSpec(nil), "account": accountSpec(nil),
	}
	for name, sp := range specs {
		placed := map[string]int{}
		for _, p := range sp.parts {
			for _, key := range p.Keys {
				placed[key]++
				if f, _ := findField(sp.fields, key); f == nil {
					t.Errorf("%s: the form places %s, which is no field", name, key)
				}
			}
		}
		for _, f := range sp.fields {
			if placed[f.Key] != 1 {
				t.Errorf("%s: %s stands %d times in the form", name, f.Key, placed[f.Key])
			}
			if f.Label == "" {
				t.Errorf("%s: %s has no label", name, f.Key)
			}
		}
	}
	for _, kind := range []string{record.Tractor, record.SemiTrailer, record.Dolly} {
		for _, f := range fleet.FieldsOf(kind) {
			if g, _ := findField(vehicleFields(kind), f.Key); g == nil || g.Doc == "" {
				t.Errorf("%s: %s is not asked for, or without help", kind, f.Key)
			}
		}
	}
}

// The members of the records and those of the forms are the same.
func TestFormsHoldEveryMember(t *testing.T) {
	for name, tt := range map[string]struct {
		body   any
		fields []field
	}{
		"part": {record.PartAdded{}, partSpec(nil, nil).fields}, "type": {record.TypeAdded{}, typeSpec().fields},
		"depot": {record.DepotAdded{}, depotSpec().fields}, "notice": {record.NoticeOpened{}, noticeSpec(nil).fields},
		"dimension": {record.Dimension{}, inside(t, typeSpec(), "dimensions")}, "interval": {record.Interval{}, inside(t, typeSpec(), "intervals")},
		"torque": {record.Torque{}, inside(t, typeSpec(), "torques")}, "source": {record.Source{}, inside(t, typeSpec(), "source")},
	} {
		var want, have []string
		for _, f := range reflect.VisibleFields(reflect.TypeOf(tt.body)) {
			key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if key != "" && !f.Anonymous {
				want = append(want, key)
			}
		}
		for _, f := range tt.fields {
			have = append(have, f.Key)
		}
		slices.Sort(want)
		slices.Sort(have)
		if !slices.Equal(want, have) {
			t.Errorf("%s: the record has %v, the form %v", name, want, have)
		}
	}
}

func inside(t *testing.T, sp spec, key string) []field {
	t.Helper()
	f, _ := findField(sp.fields, key)
	if f == nil {
		t.Fatalf("no field %s", key)
	}
	return f.Fields
}

// What a form shows of the demo vehicles, sent back untouched, is what was there.
func TestFormsLoseNothing(t *testing.T) {
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	var file map[string]any
	if err := toml.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, kind := range []string{record.Tractor, record.SemiTrailer} {
		for _, v := range file[kind].([]any) {
			raw, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			var members map[string]json.RawMessage
			if err := json.Unmarshal(raw, &members); err != nil {
				t.Fatal(err)
			}
			fields := vehicleFields(kind)
			shown := typed{}
			showFields(fields, members, "", shown)
			back, wrongs := writeFields(fields, readForm(fields, shown.formOf()), "")
			if len(wrongs) > 0 {
				t.Errorf("%s: %v", members["id"], wrongs)
			}
			if !sameJSON(t, jsonOf(back), raw) {
				t.Errorf("%s:\nwas %s\nis  %s", members["id"], raw, jsonOf(back))
			}
			n++
		}
	}
	if n < 20 {
		t.Errorf("looked at %d vehicles", n)
	}
}

func sameJSON(t *testing.T, a, b json.RawMessage) bool {
	t.Helper()
	var x, y any
	if err := json.Unmarshal(a, &x); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &y); err != nil {
		t.Fatal(err)
	}
	return reflect.DeepEqual(x, y)
}

// Whatever stands in a form, written as JSON and shown again, stands there as it
// did, with gaps in lists closed.
func TestFormsGoRound(t *testing.T) {
	fields := vehicleFields(record.Tractor)
	rapid.Check(t, func(t *rapid.T) {
		sent := url.Values{}
		draw(t, fields, "", sent)
		in := readForm(fields, sent)
		values, wrongs := writeFields(fields, in, "")
		if len(wrongs) > 0 {
			t.Fatalf("%v", wrongs)
		}
		out := typed{}
		showFields(fields, values, "", out)
		if !reflect.DeepEqual(in, out) {
			t.Fatalf("in  %v\nout %v", in, out)
		}
		for path := range in {
			if f, words := findField(fields, path); f == nil || words == "" {
				t.Fatalf("%s leads to no field", path)
			}
		}
	})
}

func draw(t *rapid.T, fields []field, path string, sent url.Values) {
	for i := range fields {
		f := &fields[i]
		if !rapid.Bool().Draw(t, path+f.Key) {
			continue
		}
		switch f.Sort {
		case tableSort:
			draw(t, f.Fields, path+f.Key+".", sent)
		case listSort:
			for k := range rapid.IntRange(0, 4).Draw(t, "rows") {
				draw(t, f.Fields, path+f.Key+"["+itoa(k)+"].", sent)
			}
		case yesNoSort, flagSort:
			sent.Set(path+f.Key, rapid.SampledFrom([]string{"yes", "no", ""}).Draw(t, "yes"))
		case numberSort:
			sent.Set(path+f.Key, rapid.SampledFrom([]string{"0.25", "1", ""}).Draw(t, "number"))
		case choiceSort:
			if len(f.Choices) > 0 {
				sent.Set(path+f.Key, rapid.SampledFrom(f.Choices).Draw(t, "choice").Value)
			}
		default:
			sent.Set(path+f.Key, rapid.SampledFrom([]string{"3700 mm", "12ft 2in", "<b>", "“a & b”", ""}).Draw(t, "text"))
		}
	}
}

// What cannot be a value is named with its place; nothing is guessed.
func TestFormRefuses(t *testing.T) {
	fields := []field{
		{Key: "d_n", Sort: wholeSort, Dim: unit.ForceDim, Unit: unit.N}, {Key: "months", Sort: countSort}, {Key: "share", Sort: numberSort}, {Key: "lifted", Sort: yesNoSort},
		{Key: "km", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
	}
	for _, tt := range []struct{ key, text, json, says string }{
		{"d_n", "152 kN", "152000", ""}, {"d_n", "34000 lbf", "151240", ""}, // 34 000 · 4.4482216152605 N = 151 239.535 N
		{"d_n", "152", "", "the unit is missing"}, {"d_n", "152 kg", "", "unit of mass"}, {"d_n", "heavy", "", "a force"},
		{"months", "3", "3", ""}, {"months", "three", "", "a whole number"}, {"months", "3.5", "", "a whole number"},
		{"share", "25%", "0.25", ""}, {"share", "0,25", "0.25", ""}, {"share", "a quarter", "", "a number"},
		{"lifted", "maybe", "", "yes or no"}, {"km", "412 300 km", "412300000", ""}, {"km", "256191 mi", "412299449", ""}, // 256 191 · 1609.344 m = 412 299 448.704 m
	} {
		values, wrongs := writeFields(fields, typed{tt.key: tt.text}, "")
		switch {
		case tt.says != "":
			if len(wrongs) != 1 || wrongs[0].Where != tt.key || !strings.Contains(wrongs[0].String(), tt.says) || values[tt.key] != nil {
				t.Errorf("%s = %q: %v, want %q", tt.key, tt.text, wrongs, tt.says)
			}
		case len(wrongs) > 0:
			t.Errorf("%s = %q: %v", tt.key, tt.text, wrongs)
		default:
			if string(values[tt.key]) != tt.json {
				t.Errorf("%s = %q: %s, want %s", tt.key, tt.text, values[tt.key], tt.json)
			}
		}
	}
}

// Anything may be sent; nothing makes the reading fail, and no list grows beyond
// its bound.
func FuzzReadForm(f *testing.F) {
	f.Add("axle[0].tare=7.8+t&axle[1].tare=9+t&.add=axle")
	f.Add("axle[99999999].tare=1&axle[-1].at=2&axle[x].at=3&axle[=1&axle]=2")
	f.Add("fifth-wheel.level[0].laden=1130+mm&fifth-wheel.slider.pitch=50+mm")
	fields := vehicleFields(record.Tractor)
	f.Fuzz(func(t *testing.T, query string) {
		q, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		in := readForm(fields, q)
		if n := in.rows("axle"); n > mostRows {
			t.Fatalf("%d rows", n)
		}
		values, _ := writeFields(fields, in, "")
		if !json.Valid(jsonOf(values)) {
			t.Fatalf("no JSON: %s", jsonOf(values))
		}
		s := &sent{typed: in}
		s.drop(q.Get(dropName))
	})
}

// Items of a list are dropped, and those behind move up.
func TestDropRow(t *testing.T) {
	tt := typed{"axle[0].at": "a", "axle[1].at": "b", "axle[1].gap": "x", "axle[2].at": "c", "axles": "kept", "width": "w"}
	tt.drop("axle", 1)
	want := typed{"axle[0].at": "a", "axle[1].at": "c", "axles": "kept", "width": "w"}
	if !reflect.DeepEqual(tt, want) {
		t.Errorf("%v, want %v", tt, want)
	}
}

// Every kind of record there is has words of its own in a history: the corpus
// holds one of each.
func TestEveryKindIsTold(t *testing.T) {
	files, err := filepath.Glob("../record/testdata/corpus-*[0-9].jsonl")
	if err != nil || len(files) < 2 {
		t.Fatal(files, err)
	}
	var data []byte
	for _, file := range files {
		more, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		data = append(data, more...)
	}
	told := map[string]bool{}
	tell := &teller{fields: vehicleFields}
	for line := range strings.Lines(string(data)) {
		var kept struct {
			Kind string
			Body json.RawMessage
		}
		rec, err := record.Decode([]byte(strings.TrimSpace(line)))
		if err != nil {
			if json.Unmarshal([]byte(line), &kept) != nil {
				t.Fatalf("%v: %s", err, line)
			}
			t.Fatalf("the corpus cannot be read here: %v", err)
		}
		said, err := rec.Open()
		if err != nil {
			t.Fatal(err)
		}
		head, lines := tell.say(rec.Kind, said)
		told[rec.Kind] = true
		if head == "" || strings.Contains(head, "later version") {
			t.Errorf("%s: %q", rec.Kind, head)
		}
		for _, l := range append(lines, head) {
			if strings.Contains(l, "{") || strings.Contains(l, "%!") || strings.TrimSpace(l) == "" {
				t.Errorf("%s is not in words: %q", rec.Kind, l)
			}
		}
	}
	for kind := range record.Kinds() {
		if !told[kind] {
			t.Errorf("no record of kind %s was told", kind)
		}
	}
	if head, _ := tell.say("greased", nil); !strings.Contains(head, "later version") {
		t.Errorf("a kind that is not known: %q", head)
	}
}
