package vehicle

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"underpin/unit"
)

func TestSoundFleetIsAccepted(t *testing.T) {
	if errs := sound().Validate(); len(errs) != 0 {
		t.Fatal(errs[0])
	}
	// What is left out is not an error.
	bare := &Fleet{
		Tractors: []Tractor{{ID: "a", Axles: []Axle{{Kind: "steer"}, {Kind: "drive"}}}},
		Trailers: []SemiTrailer{{ID: "b", Axles: []Axle{{}}}},
		Loads:    []Load{{ID: "c"}},
	}
	if errs := bare.Validate(); len(errs) != 0 {
		t.Errorf("missing data is refused: %v", errs[0])
	}
	if errs := new(Fleet).Validate(); len(errs) != 0 {
		t.Errorf("an empty fleet is refused: %v", errs[0])
	}
}

// Each row breaks the sound fleet in one way.
func TestValidate(t *testing.T) {
	ticket := func(tractor string, front, tractorOn, all float64) *TrailerTicket {
		return &TrailerTicket{Tractor: tractor, FrontOn: kilos(front), TractorOn: kilos(tractorOn), AllOn: kilos(all)}
	}
	for _, tt := range []struct {
		name                  string
		spoil                 func(f *Fleet)
		path, found, expected string
	}{
		{"tractor without id", func(f *Fleet) { f.Tractors[0].ID = "" }, "tractor[0]", "no id", "small letters"},
		{"trailer without id", func(f *Fleet) { f.Trailers[0].ID, f.Loads[0].For = "", nil }, "semi-trailer[0]", "no id", "small letters"},
		{"load without id", func(f *Fleet) { f.Loads[1].ID = "" }, "load[1]", "no id", "small letters"},
		{"id with a space", func(f *Fleet) { f.Tractors[0].ID = "A 1" }, "tractor[0].id", `"A 1"`, "such as heron-07"},
		{"id that begins with a hyphen", func(f *Fleet) { f.Loads[1].ID = "-x" }, "load[1].id", `"-x"`, "such as heron-07"},
		{"id too long", func(f *Fleet) { f.Loads[1].ID = strings.Repeat("x", 65) }, "load[1].id", "xxx", "such as heron-07"},
		{"id twice", func(f *Fleet) { f.Tractors = append(f.Tractors, f.Tractors[0]) }, "tractor[1].id", `"a" a second time`, "tractor[0] has it already"},
		{"id of a tractor for a trailer", func(f *Fleet) { f.Trailers[0].ID, f.Loads[0].For = "a", nil }, "semi-trailer[0].id", `"a" a second time`, "tractor[0] has it already"},
		{"id of a load twice", func(f *Fleet) { f.Loads[1].ID = "half" }, "load[1].id", "a second time", "load[0] has it already"},
		{"load named as a case that exists", func(f *Fleet) { f.Loads[1].ID = "laden" }, "load[1].id", `"laden"`, "exists without being named"},
		{"the other case", func(f *Fleet) { f.Loads[1].ID = "empty" }, "load[1].id", `"empty"`, "exists without being named"},

		{"one axle", func(f *Fleet) { f.Tractors[0].Axles = f.Tractors[0].Axles[:1] }, "tractor[0]", "1 axles", "at least two axles"},
		{"no drive axle", func(f *Fleet) { f.Tractors[0].Axles[1].Kind = "steer" }, "tractor[0]", "only steered axles", "at least one drive axle"},
		{"trailer without axle", func(f *Fleet) { f.Trailers[0].Axles = nil }, "semi-trailer[0]", "no axle", "at least one axle"},
		{"at and gap", func(f *Fleet) { f.Trailers[0].Axles[1].At = mm(7700) }, "semi-trailer[0].axle[1].gap", "both at and gap", "one of them"},
		{"front axle away from itself", func(f *Fleet) { f.Tractors[0].Axles[0].At = mm(100) }, "tractor[0].axle[0].at", "at = 100 mm", "the front axle is the datum"},
		{"gap before the first axle", func(f *Fleet) { f.Trailers[0].Axles[0] = Axle{Gap: mm(6390)} }, "semi-trailer[0].axle[0].gap", "a gap for the first axle", "the kingpin to this axle"},
		{"gap of nothing", func(f *Fleet) { f.Trailers[0].Axles[1].Gap = mm(0) }, "semi-trailer[0].axle[1].gap", "gap = 0 mm", "300 mm to 20 m"},
		{"negative gap", func(f *Fleet) { f.Trailers[0].Axles[1].Gap = mm(-1310) }, "semi-trailer[0].axle[1].gap", "gap = -1310 mm", "300 mm to 20 m"},
		{"axles back to front", func(f *Fleet) { f.Trailers[0].Axles[1] = Axle{At: mm(6000)} }, "semi-trailer[0].axle[1]", "axle 2 at 6000 mm, not behind axle 1 at 6390 mm", "front to rear"},
		{"two axles at one place", func(f *Fleet) { f.Trailers[0].Axles[1] = Axle{At: mm(6390)} }, "semi-trailer[0].axle[1]", "not behind axle 1", "front to rear"},
		{"drive axle at the front axle", func(f *Fleet) { f.Tractors[0].Axles[1].At, f.Tractors[0].FifthWheel = mm(0), FifthWheel{} }, "tractor[0].axle[1]", "axle 2 at 0 mm", "above zero"},
		{"lifted and not liftable", func(f *Fleet) { f.Trailers[0].Axles[0].Lifted = yes() }, "semi-trailer[0].axle[0].lifted", "not liftable", "liftable = true"},
		{"front axle that is driven", func(f *Fleet) { f.Tractors[0].Axles[0].Kind = "drive" }, "tractor[0].axle[0]", `"drive" on the front axle`, "steer"},
		{"axle without kind", func(f *Fleet) { f.Tractors[0].Axles[1].Kind = "" }, "tractor[0].axle[1]", "without kind", "steer, drive or idle"},
		{"driven trailer axle", func(f *Fleet) { f.Trailers[0].Axles[0].Kind = "drive" }, "semi-trailer[0].axle[0].kind", `"drive" on a semi-trailer`, "idle or nothing"},
		{"one share of three", func(f *Fleet) { f.Trailers[0].Axles[1].Share = part(1) }, "semi-trailer[0].axle[0].share", "sum to 1 over 1 of 3 axles", "a share for each axle of the group"},
		{"shares that sum to 0.9", func(f *Fleet) {
			for i := range f.Trailers[0].Axles {
				f.Trailers[0].Axles[i].Share = part(0.3)
			}
		}, "semi-trailer[0].axle[0].share", "sum to 0.9 over 3 of 3 axles", "summing to 1"},

		{"fifth wheel for no pin", func(f *Fleet) { f.Tractors[0].FifthWheel.Pin = mm(60) }, "tractor[0].fifth-wheel.pin", "pin = 60 mm", "50 mm (2 in) or 90 mm (3.5 in)"},
		{"no kingpin's size", func(f *Fleet) { f.Trailers[0].Kingpin.Size = mm(52) }, "semi-trailer[0].kingpin.size", "size = 52 mm", "50 mm (2 in) or 90 mm (3.5 in)"},
		{"slider with one end", func(f *Fleet) { f.Tractors[0].FifthWheel.Slider.Rearmost = nil }, "tractor[0].fifth-wheel.slider", "without both ends", "foremost and rearmost"},
		{"slider back to front", func(f *Fleet) { f.Tractors[0].FifthWheel.Slider.Foremost = mm(3400) }, "tractor[0].fifth-wheel.slider.foremost", "foremost = 3400 mm behind rearmost = 3350 mm", "nearer to the front axle"},
		{"coupling off its slider", func(f *Fleet) { f.Tractors[0].FifthWheel.At = mm(3351) }, "tractor[0].fifth-wheel.at", "at = 3351 mm", "2950 mm to 3350 mm"},
		{"two levels set", func(f *Fleet) {
			f.Tractors[0].FifthWheel.Levels[0].Set, f.Tractors[0].FifthWheel.Levels[1].Set = true, true
		}, "tractor[0].fifth-wheel.level[1].set", "more than one level set", "at most one"},

		{"ticket of the tractor back to front", func(f *Fleet) {
			f.Tractors[0].Weighbridge = &TractorTicket{FrontOn: kilos(7800), TractorOn: kilos(7800)}
		}, "tractor[0].weighbridge.front-on", "not less than tractor-on", "front axle on, then the whole tractor on"},
		{"ticket of the trailer back to front", func(f *Fleet) { f.Trailers[0].Weighbridge = ticket("a", 5800, 14100, 9700) }, "semi-trailer[0].weighbridge.tractor-on", "not less than all-on", "tractor on, then all on"},
		{"ticket with a tractor that is not there", func(f *Fleet) { f.Trailers[0].Weighbridge = ticket("z", 5800, 9700, 14100) }, "semi-trailer[0].weighbridge.tractor", `tractor = "z"`, "the id of a tractor of this file"},
		{"ticket lighter than the tractor alone", func(f *Fleet) { f.Trailers[0].Weighbridge = ticket("a", 5800, 7700, 14100) }, "semi-trailer[0].weighbridge.tractor-on", "tractor-on = 7700 kg, less than the tractor a alone, 7800 kg", "what the kingpin lays on it"},
		{"the same, the tractor known by its ticket", func(f *Fleet) {
			f.Tractors[0].Axles[0].Tare, f.Tractors[0].Axles[1].Tare = nil, nil
			f.Tractors[0].Weighbridge = &TractorTicket{FrontOn: kilos(5500), TractorOn: kilos(7900)}
			f.Trailers[0].Weighbridge = ticket("a", 5800, 7800, 14100)
		}, "semi-trailer[0].weighbridge.tractor-on", "less than the tractor a alone, 7900 kg", "what the kingpin lays on it"},
		{"tare at the pin alone", func(f *Fleet) { f.Trailers[0].TareBogie = nil }, "semi-trailer[0].tare-pin", "tare-pin without tare-bogie", "both, or neither"},
		{"tare on the bogie alone", func(f *Fleet) { f.Trailers[0].TarePin = nil }, "semi-trailer[0].tare-bogie", "tare-bogie without tare-pin", "both, or neither"},
		{"payload without its centre", func(f *Fleet) { f.Trailers[0].PayloadAt = nil }, "semi-trailer[0]", "payload and payload-at not given together", "both (the case laden) or neither"},
		{"centre without payload", func(f *Fleet) { f.Trailers[0].Payload = nil }, "semi-trailer[0]", "payload and payload-at not given together", "both (the case laden) or neither"},

		{"items and payload", func(f *Fleet) { f.Loads[1].Payload = kilos(5000) }, "load[1]", "both items and payload", "either items"},
		{"items and centre", func(f *Fleet) { f.Loads[1].At = mm(5000) }, "load[1]", "both items and payload or at", "either items"},
		{"item without mass", func(f *Fleet) { f.Loads[1].Items[0].Mass = nil }, "load[1].item[0]", "without mass or at", "both mass and at"},
		{"item without place", func(f *Fleet) { f.Loads[1].Items[0].At = nil }, "load[1].item[0]", "without mass or at", "both mass and at"},
		{"load for a trailer that is not there", func(f *Fleet) { f.Loads[0].For = []string{"b", "z"} }, "load[0].for[1]", `"z"`, "the id of a semi-trailer"},

		{"kg written as t", func(f *Fleet) { f.Tractors[0].Axles[0].Tare = kilos(5500e3) }, "tractor[0].axle[0].tare", "tare = 5500000 kg", "100 kg to 15 t (kg written as t, perhaps: 5500 kg)"},
		{"t written as kg", func(f *Fleet) { f.Tractors[0].GrossPlate = kilos(18) }, "tractor[0].gross-plate", "gross-plate = 18 kg", "2 t to 60 t (t written as kg, perhaps: 18000 kg)"},
		{"mm written as m", func(f *Fleet) { f.Trailers[0].Width = mm(2550e3) }, "semi-trailer[0].width", "width = 2550000 mm", "1.5 m to 4 m"},
		{"NaN", func(f *Fleet) { f.Trailers[0].Width = mm(math.NaN()) }, "semi-trailer[0].width", "width = NaN", "1.5 m to 4 m"},
		{"infinite", func(f *Fleet) { f.Trailers[0].GrossPlate = kilos(math.Inf(1)) }, "semi-trailer[0].gross-plate", "gross-plate = ", "3 t to 150 t"},
		{"share above 1", func(f *Fleet) { f.Tractors[0].Axles[0].Share = part(1.5) }, "tractor[0].axle[0].share", "share = 1.5", "0 to 1"},
		{"word that is not known", func(f *Fleet) { f.Tractors[0].Fuel = "petrol" }, "tractor[0].fuel", `fuel = "petrol"`, "one of diesel, gas, alternative, battery, hydrogen"},
		{"word deep inside", func(f *Fleet) { f.Trailers[0].Axles[2].Steering = "castor" }, "semi-trailer[0].axle[2].steering", `steering = "castor"`, "one of self, command"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := sound()
			tt.spoil(f)
			errs := f.Validate()
			for _, e := range errs {
				if e.Path == tt.path && strings.Contains(e.Found, tt.found) && strings.Contains(e.Expected, tt.expected) {
					if want := fmt.Sprintf("%s: found %s; expected %s", e.Path, e.Found, e.Expected); e.Error() != want {
						t.Errorf("%q, want %q", e, want)
					}
					return
				}
			}
			t.Errorf("errors %v\nwant %s: found … %s …; expected … %s …", errs, tt.path, tt.found, tt.expected)
		})
	}
}

// structs lists the types of which a fleet consists.
func structs(t reflect.Type, found map[reflect.Type]bool) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || found[t] {
		return
	}
	found[t] = true
	for i := range t.NumField() {
		structs(t.Field(i).Type, found)
	}
}

// Every quantity is held to the bounds that its field names, and every word to
// its list: the ends pass, what lies beyond does not.
func TestEveryFieldIsHeldToItsBounds(t *testing.T) {
	types := map[reflect.Type]bool{}
	structs(reflect.TypeFor[Fleet](), types)
	tried := 0
	for typ := range types {
		for i := range typ.NumField() {
			field := typ.Field(i)
			if field.Tag.Get("doc") == "" || !strings.HasSuffix(field.Tag.Get("toml"), ",omitempty") {
				t.Errorf("%s.%s has no text that says what it is, or no key", typ, field.Name)
			}
			errors := func(set func(reflect.Value)) int {
				n, v := 0, reflect.New(typ)
				set(v.Elem().Field(i))
				CheckTags(v.Elem(), "", func(path, found, expected string) {
					if n++; path != Key(field) || !strings.HasPrefix(found, path+" = ") || expected == "" {
						t.Errorf("%s.%s: %s: found %s; expected %s", typ, field.Name, path, found, expected)
					}
				})
				return n
			}
			if words := field.Tag.Get("oneof"); words != "" {
				tried++
				for word := range strings.FieldsSeq(words) {
					if errors(func(v reflect.Value) { v.SetString(word) }) != 0 {
						t.Errorf("%s.%s refuses %q", typ, field.Name, word)
					}
				}
				if errors(func(v reflect.Value) { v.SetString("Diesel") }) != 1 {
					t.Errorf("%s.%s takes any word", typ, field.Name)
				}
			}
			if field.Type.Kind() != reflect.Pointer || field.Type.Elem().Kind() != reflect.Float64 {
				continue
			}
			tried++
			dim := Quantity(field.Type.Elem())
			lo, errLo := unit.Parse(field.Tag.Get("min"), dim)
			hi, errHi := unit.Parse(field.Tag.Get("max"), dim)
			if errLo != nil || errHi != nil || !(lo < hi) {
				t.Errorf("%s.%s has the bounds %q and %q", typ, field.Name, field.Tag.Get("min"), field.Tag.Get("max"))
				continue
			}
			for _, x := range []struct {
				v    float64
				errs int
			}{
				{lo, 0}, {hi, 0}, {(lo + hi) / 2, 0},
				{math.Nextafter(lo, -1e9), 1}, {math.Nextafter(hi, 1e9), 1}, {math.NaN(), 1}, {math.Inf(1), 1}, {math.Inf(-1), 1},
			} {
				n := errors(func(v reflect.Value) {
					p := reflect.New(field.Type.Elem())
					p.Elem().SetFloat(x.v)
					v.Set(p)
				})
				if n != x.errs {
					t.Errorf("%s.%s = %v: %d errors, want %d", typ, field.Name, x.v, n, x.errs)
				}
			}
		}
	}
	if len(types) < 15 || tried < 70 {
		t.Errorf("looked at %d types and %d fields, there are more", len(types), tried)
	}
}

// A name keeps its line: 80 characters, however many bytes, and nothing that
// moves the cursor. A note may have lines of its own.
func TestNamesKeepTheirLine(t *testing.T) {
	for _, tt := range []struct {
		name, note, path, found string
	}{
		{strings.Repeat("ä", 80), "two\nlines\tand a tab", "", ""},
		{strings.Repeat("ä", 81), "", "tractor[0].behind-cab[0].name", "81 characters"},
		{"cab\nback", "", "tractor[0].behind-cab[0].name", "U+000A"},
		{"\x1b[2J", "", "tractor[0].behind-cab[0].name", "U+001B"},
		{"cab", "\x1b[2J", "tractor[0].note", "U+001B"},
	} {
		f := sound()
		f.Tractors[0].Note = tt.note
		f.Tractors[0].Behind = []Obstacle{{Name: tt.name}}
		errs := f.Validate()
		switch {
		case tt.path == "" && len(errs) > 0:
			t.Errorf("%q, %q: %v", tt.name, tt.note, errs[0])
		case tt.path != "" && (len(errs) != 1 || errs[0].Path != tt.path || !strings.Contains(errs[0].Found, tt.found)):
			t.Errorf("%q, %q: %v, want one error at %s that names %s", tt.name, tt.note, errs, tt.path, tt.found)
		}
	}
}
