package fleet

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"underpin/examples"
	"underpin/exchange"
	"underpin/record"
	"underpin/vehicle"
)

func demo(t testing.TB) *exchange.FleetFile {
	t.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestFieldsAreTheFleetFiles: what a fleet file holds of a vehicle comes back from
// fields as it was, for every vehicle of the demo and for one with every field set.
func TestFieldsAreTheFleetFiles(t *testing.T) {
	f := demo(t)
	var all []any
	for i := range f.Tractors {
		all = append(all, &f.Tractors[i])
	}
	for i := range f.Trailers {
		all = append(all, &f.Trailers[i])
	}
	for _, blank := range []any{new(vehicle.Tractor), new(vehicle.SemiTrailer), new(Dolly), new(vehicle.Load)} {
		fillEvery(reflect.ValueOf(blank).Elem())
		all = append(all, blank)
	}
	for _, v := range all {
		was := reflect.ValueOf(v).Elem()
		again := reflect.New(was.Type())
		fill(again.Elem(), encoded(fieldsOf(was)), "", func(where, found, expected string) {
			t.Errorf("%s: %s; %s", where, found, expected)
		})
		if diff := cmp.Diff(v, again.Interface()); diff != "" {
			t.Error(diff)
		}
	}
}

// fillEvery sets every field of a struct to something.
func fillEvery(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fillEvery(v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			fillEvery(v.Field(i))
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fillEvery(v.Index(0))
		fillEvery(v.Index(1))
	case reflect.String:
		v.SetString("word")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(1.25)
	case reflect.Map:
		v.Set(reflect.ValueOf(map[string]any{"traffic": "national", "container-ft": 45.0}))
	}
}

func TestFieldsThatDoNotFit(t *testing.T) {
	tests := []struct{ vehicle, fields, where, found string }{
		{"tractor", `{"id":"a","width":"2550"}`, "width", `"2550", the unit is missing`},
		{"tractor", `{"id":"a","width":"2550 kg"}`, "width", `"2550 kg"`},
		{"tractor", `{"id":"a","width":2550}`, "width", "2550"},
		{"tractor", `{"id":"a","widht":"2550 mm"}`, "widht", "a field that is not known"},
		{"tractor", `{"id":"a","axle":[{"kind":"steer"},{"kind":"drive","at":"3700 mm","tare":"7.8 kg"}]}`, "axle[1].tare", "tare = 7.8 kg"},
		{"tractor", `{"id":"a","axle":[{"kind":"steer"},{"kind":"drive","at":"3700 mm","share":"1"}]}`, "axle[1].share", `"1"`},
		{"tractor", `{"id":"a","axle":{}}`, "axle", "{}"},
		{"tractor", `{"id":"a","axle":[{"kind":"steer"}]}`, "", "1 axles"},
		{"tractor", `{"id":"a","fifth-wheel":{"at":"3 m","slider":{"foremost":"2 m"}}}`, "fifth-wheel.slider", "a slider without both ends"},
		{"tractor", `{"id":"A B"}`, "id", `id = "A B"`},
		{"tractor", `{}`, "id", "no id"},
		{"semi-trailer", `{"id":"a","tare-pin":"1.9 t"}`, "tare-pin", "tare-pin without tare-bogie"},
		{"semi-trailer", `{"id":"a","weighbridge":{"tractor":"none"}}`, "weighbridge.tractor", `tractor = "none"`},
		{"semi-trailer", `{"id":"a","kingpin":{"size":"52 mm"}}`, "kingpin.size", "size = 52 mm"},
		{"semi-trailer", `{"id":"a","liftable":true}`, "liftable", "a field that is not known"},
		{"dolly", `{"id":"a","axle":[{"at":"4 m"},{"gap":"0 mm"}]}`, "axle[1].gap", "gap = 0 mm"},
		{"dolly", `{"id":"a","fifth-wheel":{"pin":"60 mm"}}`, "fifth-wheel.pin", "pin = 60 mm"},
		{"lorry", `{"id":"a"}`, "vehicle", `"lorry"`},
	}
	for _, test := range tests {
		problems := checkVehicle(record.VehicleAdded{Vehicle: test.vehicle, Fields: fields(t, test.fields)}, func(string) bool { return false })
		if !slices.ContainsFunc(problems, func(p Problem) bool {
			return p.Where == test.where && strings.Contains(p.Found, test.found) && p.Expected != ""
		}) {
			t.Errorf("%s %s: %v, expected %s: found %s", test.vehicle, test.fields, problems, test.where, test.found)
		}
	}
}

// TestUnknownIsNoProblem: a vehicle of which nothing but the number is known may be
// added, and what is left empty in a form stays unknown.
func TestUnknownIsNoProblem(t *testing.T) {
	y := newYard(t)
	for _, kind := range []string{record.Tractor, record.SemiTrailer, record.Dolly} {
		a := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: kind, Fields: fields(t, `{"id":"`+kind+`-1","name":"","axle":[],"width":null}`)}}).Asset
		if got := y.vehiclePage(a).Vehicle.Fields; len(got) != 1 {
			t.Errorf("%s: fields %v, expected the number alone", kind, got)
		}
	}
}

func TestFieldsHelp(t *testing.T) {
	for _, kind := range []string{record.Tractor, record.SemiTrailer, record.Dolly} {
		seen := 0
		var look func(prefix string, all []Field)
		look = func(prefix string, all []Field) {
			for _, f := range all {
				seen++
				if f.Key == "" || f.Doc == "" || f.Sort == "" || f.Sort == "quantity" && f.Quantity == "" || f.Sort == "choice" && len(f.OneOf) == 0 {
					t.Errorf("%s %s%s: %+v lacks something", kind, prefix, f.Key, f)
				}
				look(prefix+f.Key+".", f.Fields)
			}
		}
		look("", FieldsOf(kind))
		if seen < 20 {
			t.Errorf("%s: %d fields, expected more", kind, seen)
		}
	}
	i := slices.IndexFunc(FieldsOf(record.Tractor), func(f Field) bool { return f.Key == "front-overhang" })
	if f := FieldsOf(record.Tractor)[i]; f.Tape == "" || f.Min != "200 mm" || f.Quantity != "length" {
		t.Errorf("front overhang: %+v", f)
	}
	if FieldsOf("lorry") != nil {
		t.Error("fields of a lorry")
	}
}

func TestVehicleLife(t *testing.T) {
	y := newYard(t)
	depot := y.must(&AddDepot{Details: record.DepotAdded{Name: "North yard"}}).Asset
	a := y.tractor("heron-07")
	page := y.vehiclePage(a)
	if page.Vehicle.Number() != "heron-07" || page.Version == "" || len(page.Fields) == 0 {
		t.Fatalf("page: %+v", page)
	}
	d := page.Vehicle.VehicleAdded
	d.Depot, d.Registration = depot, "OS HE 7"
	d.Fields["width"] = Text("2.55 m")
	delete(d.Fields, "gross-plate")
	done := y.must(&ChangeVehicle{Asset: a, Version: page.Version, Details: d})
	if done.Record == "" {
		t.Fatal("nothing was entered")
	}
	rec, err := y.Store().Record(y.ctx, done.Record)
	if err != nil {
		t.Fatal(err)
	}
	body, err := rec.Open()
	if err != nil {
		t.Fatal(err)
	}
	want := record.VehicleChanged{Changes: record.Changes{
		Set:   record.Fields{"depot": encoded(depot), "registration": Text("OS HE 7"), "fields": json.RawMessage(`{"width":"2.55 m"}`)},
		Clear: []string{"fields.gross-plate"},
	}}
	if diff := cmp.Diff(want, body); diff != "" {
		t.Errorf("only what changed is entered: %s", diff)
	}
	// Sent again from the same form nothing more is entered.
	if again := y.must(&ChangeVehicle{Asset: a, Version: page.Version, Details: d}); again.Record != "" {
		t.Errorf("the same once more: %+v, expected no record", again)
	}
	if p := y.wrong(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: fields(t, `{"id":"Heron-07"}`)}}); p.Where != "id" {
		t.Errorf("capital letters: %v", p)
	}
	if p := y.wrong(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: fields(t, `{"id":"heron-07"}`)}}); p.Where != "id" || !strings.Contains(p.Found, "has already") {
		t.Errorf("the number a second time: %v", p)
	}
	if p := y.wrong(&CloseDepot{Asset: depot}); !strings.Contains(p.Found, "1 vehicles") {
		t.Errorf("closing a depot in use: %v", p)
	}
	y.must(&ScrapVehicle{Asset: a, Reading: odo(900_000)})
	if p := y.wrong(&ScrapVehicle{Asset: a}); !strings.Contains(p.Found, "was scrapped") {
		t.Errorf("scrapped twice: %v", p)
	}
	y.must(&CloseDepot{Asset: depot})
	y.tractor("heron-07") // the number is free again
	if p := y.wrong(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Depot: depot, Fields: fields(t, `{"id":"teal-1"}`)}}); p.Where != "depot" {
		t.Errorf("a closed depot: %v", p)
	}
	if p := y.wrong(&ScrapVehicle{Asset: y.trailer("teal-2"), Reading: odo(1)}); p.Where != "reading.meter" {
		t.Errorf("the odometer of a trailer: %v", p)
	}
}

// TestHistoryTellsEverything: what was corrected stays in the history, marked so.
func TestHistoryTellsEverything(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	page := y.vehiclePage(a)
	d := page.Vehicle.VehicleAdded
	d.Registration = "OS HE 7"
	change := y.must(&ChangeVehicle{Asset: a, Version: page.Version, Details: d, Meta: Meta{Reason: "new plates"}})
	y.must(&Correct{Record: change.Record, Body: record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"registration": Text("OS HE 8")}}}, Meta: Meta{Reason: "misread"}})
	h, err := y.History(y.ctx, a, 0, 2)
	if err != nil {
		t.Fatal(err)
	}
	if len(h.Events) != 2 || h.Before != 2 {
		t.Fatalf("the newest two: %d events, before %d", len(h.Events), h.Before)
	}
	if e := h.Events[0]; e.Corrects != change.Record || e.Later != "" || e.Reason != "misread" {
		t.Errorf("the correction: %+v", e)
	}
	if e := h.Events[1]; e.ID != change.Record || e.Later != h.Events[0].ID || e.Void {
		t.Errorf("what was corrected: later %q", e.Later)
	}
	rest, err := y.History(y.ctx, a, h.Before, 10)
	if err != nil || len(rest.Events) != 1 || rest.Before != 0 || rest.Events[0].Kind != "vehicle-added" {
		t.Errorf("the rest: %+v, %v", rest, err)
	}
	if got := y.vehiclePage(a).Vehicle.Registration; got != "OS HE 8" {
		t.Errorf("registration %q", got)
	}
	y.clock.pass(time.Hour)
	events, _, err := y.Recent(y.ctx, 0, 10)
	if err != nil || len(events) != 3 {
		t.Errorf("recent: %d, %v", len(events), err)
	}
}
