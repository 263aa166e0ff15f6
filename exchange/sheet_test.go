package exchange_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// A form is one way of writing a fleet and reading it back.
type form struct {
	name string
	// trip writes and reads back without asking whether such vehicles can be.
	trip func(f *loose) (*loose, error)
	// sound does the same with a fleet that is checked.
	sound func(f *vehicle.Fleet) (*vehicle.Fleet, error)
}

// A loose fleet has the fields of a fleet and nothing to check them.
type loose vehicle.Fleet

var forms = []form{
	{"workbook", func(f *loose) (*loose, error) { return bookTrip(f) }, func(f *vehicle.Fleet) (*vehicle.Fleet, error) { return bookTrip(f) }},
	{"CSV", func(f *loose) (*loose, error) { return csvTrip(f) }, func(f *vehicle.Fleet) (*vehicle.Fleet, error) { return csvTrip(f) }},
	{"JSON", func(f *loose) (*loose, error) { return jsonTrip(f) }, func(f *vehicle.Fleet) (*vehicle.Fleet, error) { return jsonTrip(f) }},
}

func bookTrip[T any](f *T) (*T, error) {
	data, err := exchange.WriteWorkbook(f)
	if err != nil {
		return nil, err
	}
	return result(exchange.ParseWorkbook[T]("fleet.xlsx", data))
}

func csvTrip[T any](f *T) (*T, error) {
	files, err := exchange.WriteCSV(f)
	if err != nil {
		return nil, err
	}
	return result(exchange.ParseCSV[T]("fleet", files))
}

func jsonTrip[T any](f *T) (*T, error) {
	data, err := exchange.WriteJSON(f)
	if err != nil {
		return nil, err
	}
	return result(exchange.ParseJSON[T]("fleet.json", data))
}

func result[T any](v *T, problems exchange.Problems) (*T, error) {
	if len(problems) > 0 {
		return nil, problems
	}
	return v, nil
}

// same tells two fleets apart. Nothing and an empty list are the same: the fleet
// file does not tell them apart either.
func same(a, b any) string { return cmp.Diff(a, b, cmpopts.EquateEmpty(), cmpopts.EquateNaNs()) }

// given reads an example as it was given, with nothing derived.
func given(t testing.TB, name string, data []byte) *vehicle.Fleet {
	t.Helper()
	var f vehicle.Fleet
	if _, err := tomlfile.Decode(name, data, &f); err != nil {
		t.Fatal(err)
	}
	return &f
}

func TestTablesLoseNothingOfTheExamples(t *testing.T) {
	for name, data := range fleets(t) {
		f := given(t, name, data)
		for _, form := range forms {
			back, err := form.sound(f)
			if err != nil {
				t.Errorf("%s as %s: %v", name, form.name, err)
				continue
			}
			if diff := same(f, back); diff != "" {
				t.Errorf("%s as %s changed on the way:\n%s", name, form.name, diff)
			}
		}
	}
}

// randomFleet draws a fleet in which any field may be known or not, as an
// example of which fields were removed and others were added.
func randomFleet(t *rapid.T) *loose {
	var f loose
	draw(t, reflect.ValueOf(&f).Elem(), "", "")
	name((*vehicle.Fleet)(&f))
	return &f
}

// name gives each vehicle and load an id of its own, by which rows find each
// other.
func name(f *vehicle.Fleet) {
	for i := range f.Tractors {
		f.Tractors[i].ID = fmt.Sprintf("t-%d", i)
	}
	for i := range f.Trailers {
		f.Trailers[i].ID = fmt.Sprintf("s-%d", i)
	}
	for i := range f.Loads {
		f.Loads[i].ID = fmt.Sprintf("l-%d", i)
	}
}

// A looseRegister has the fields of a register and nothing to check them.
type looseRegister struct {
	Papers   []exchange.Papers   `toml:"papers"`
	Depots   []exchange.Depot    `toml:"depot"`
	Types    []exchange.PartType `toml:"part-type"`
	Parts    []exchange.Part     `toml:"part"`
	Readings []exchange.Reading  `toml:"reading"`
}

// texts are such as break tables.
var texts = []string{"=1+1", "+49 30", "-40 °C", "@here", "'s", `"`, `"quoted"`, "a\tb", "\r\n", "line\nline", " blank ", "a,b;c", "_x0041_", "\x00\x01\x7f", "TRUE", "1,5", "12", "yes", "#REF!", "ü–ß", "\ufffe", "\ufeffbom", "𝄞", "\\_x0041_", "''", "1e5"}

func draw(t *rapid.T, v reflect.Value, tag reflect.StructTag, key string) {
	switch {
	case v.Type() == reflect.TypeFor[unit.Length]() || v.Type() == reflect.TypeFor[unit.Mass]() || v.Type() == reflect.TypeFor[unit.Force]():
		drawQuantity(t, v)
		return
	case v.Type() == reflect.TypeFor[tomlfile.Date]():
		v.Set(reflect.ValueOf(tomlfile.Date{Year: rapid.IntRange(1, 9999).Draw(t, "year"), Month: rapid.IntRange(1, 12).Draw(t, "month"), Day: rapid.IntRange(1, 28).Draw(t, "day")}))
		return
	case v.Type() == reflect.TypeFor[exchange.Instant]():
		v.SetInt(rapid.Int64Range(-62e15, 250e15).Draw(t, "instant")) // the years 5 to 9892
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if rapid.Bool().Draw(t, "known") {
			v.Set(reflect.New(v.Type().Elem()))
			draw(t, v.Elem(), tag, key)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); vehicle.Key(f) != "-" {
				draw(t, v.Field(i), f.Tag, vehicle.Key(f))
			}
		}
	case reflect.Slice:
		n := rapid.IntRange(0, 3).Draw(t, "length")
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			if v.Index(i).Kind() == reflect.String {
				v.Index(i).SetString(rapid.StringMatching(`[a-z0-9][a-z0-9-]{0,9}`).Draw(t, "id"))
				continue
			}
			draw(t, v.Index(i), "", "")
		}
	case reflect.Map:
		m := map[string]any{}
		for range rapid.IntRange(0, 3).Draw(t, "facts") {
			m[drawText(t)+"x"] = rapid.OneOf(
				rapid.Map(rapid.Bool(), func(b bool) any { return b }),
				rapid.Map(rapid.Int64(), func(n int64) any { return n }),
				rapid.Map(rapid.Float64(), func(x float64) any { return x }),
				rapid.Custom(func(t *rapid.T) any { return drawText(t) + "x" }),
				rapid.Map(rapid.SampledFrom([]string{"40", "4.5", "true", "nan", `"`}), func(s string) any { return s }),
			).Draw(t, "fact")
		}
		v.Set(reflect.ValueOf(m))
	case reflect.String:
		if words := strings.Fields(tag.Get("oneof")); len(words) > 0 && rapid.Bool().Draw(t, "word") {
			v.SetString(rapid.SampledFrom(words).Draw(t, key))
			return
		}
		v.SetString(drawText(t))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, key))
	case reflect.Int64:
		v.SetInt(rapid.Int64().Draw(t, key))
	case reflect.Float64:
		v.SetFloat(rapid.Float64Range(-1e6, 1e6).Draw(t, key))
	default:
		t.Fatalf("no way to draw a %s", v.Type())
	}
}

func drawText(t *rapid.T) string {
	return rapid.OneOf(rapid.Just(""), rapid.SampledFrom(texts), rapid.String()).Draw(t, "text")
}

// drawQuantity draws what people write, and any other value too.
func drawQuantity(t *rapid.T, v reflect.Value) {
	n := float64(rapid.IntRange(-3000, 40000).Draw(t, "whole"))
	v.SetFloat(rapid.SampledFrom([]float64{n, n / 1000, n * 0.0254, n * 0.3048, n * 0.45359237, rapid.Float64Range(-1e9, 1e9).Draw(t, "any"), 0}).Draw(t, "quantity"))
}

func TestTablesLoseNothing(t *testing.T) {
	for _, form := range forms {
		t.Run(form.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				if form.name == "workbook" && rapid.IntRange(0, 3).Draw(t, "one of four, for they take long") > 0 {
					return
				}
				f := randomFleet(t)
				back, err := form.trip(f)
				if err != nil {
					t.Fatal(err)
				}
				if diff := same(f, back); diff != "" {
					t.Fatalf("changed on the way:\n%s", diff)
				}
			})
		})
	}
}

func BenchmarkWorkbookOfTheDemoFleet(b *testing.B) {
	f := given(b, "demo.toml", fleets(b)["demo.toml"])
	for b.Loop() {
		if _, err := bookTrip(f); err != nil {
			b.Fatal(err)
		}
	}
}

func TestTablesOfARegisterLoseNothing(t *testing.T) {
	for name, trip := range map[string]func(*looseRegister) (*looseRegister, error){"workbook": bookTrip[looseRegister], "CSV": csvTrip[looseRegister], "JSON": jsonTrip[looseRegister]} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				if name == "workbook" && rapid.IntRange(0, 3).Draw(t, "one of four, for they take long") > 0 {
					return
				}
				var r looseRegister
				draw(t, reflect.ValueOf(&r).Elem(), "", "")
				for i := range r.Types {
					r.Types[i].Name = fmt.Sprintf("type %d", i)
				}
				for i := range r.Readings {
					r.Readings[i].Meter = "hub" // so that no row is blank
				}
				for i := range r.Parts {
					r.Parts[i].Part = "kingpin"
				}
				for i := range r.Papers {
					r.Papers[i].Vehicle = "v"
				}
				for i := range r.Depots {
					r.Depots[i].Name = "d"
				}
				back, err := trip(&r)
				if err != nil {
					t.Fatal(err)
				}
				if diff := same(&r, back); diff != "" {
					t.Fatalf("changed on the way:\n%s", diff)
				}
			})
		})
	}
}

func TestTOMLLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := randomFleet(t)
		data, err := exchange.WriteFleet((*vehicle.Fleet)(f))
		if err != nil {
			t.Fatal(err)
		}
		var back loose
		if _, err := tomlfile.Decode("x", data, &back); err != nil {
			t.Fatal(err)
		}
		if diff := same(f, &back); diff != "" {
			t.Fatalf("changed on the way:\n%s", diff)
		}
	})
}

func csvRows(t *rapid.T, data []byte) [][]string {
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}
