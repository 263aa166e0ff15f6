package fleet

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"underpin/record"
)

func (y *yard) count(kind string) int {
	y.Helper()
	l, err := y.List(y.ctx, ListQuery{Kind: kind, Limit: 500})
	if err != nil {
		y.Fatal(err)
	}
	n := 0
	for _, c := range l.Counts {
		n += c
	}
	return n
}

// small is a delivery of everything, each row right.
func (y *yard) small() Delivery {
	return Delivery{
		Source: "yard.xlsx", Reason: "taken over",
		Depots:   []DepotRow{{Place{"Depots", 2}, record.DepotAdded{Name: "North"}}},
		Types:    []TypeRow{{Place{"Types", 2}, record.TypeAdded{Part: record.FifthWheel, Name: "A", Ratings: record.Ratings{D: whole(152_000)}, Source: record.Source{Document: "Instructions", Edition: "1"}}}},
		Vehicles: []VehicleRow{{Place: Place{"Vehicles", 2}, Vehicle: record.Tractor, Registration: "OS 1", Depot: "north", Fields: y.numbered(tractorFields, "heron-1")}},
		Parts: []PartRow{{Place: Place{"Parts", 2}, Part: record.FifthWheel, Serial: "FW 1", Type: "a", On: "heron-1",
			Since: y.at(48 * time.Hour), Reading: odo(100_000)}},
		Readings: []ReadingRow{{Place: Place{"Readings", 2}, Vehicle: "heron-1", At: y.at(24 * time.Hour), Metres: 100_500_000, Unit: "km"}},
	}
}

func TestImport(t *testing.T) {
	y := newYard(t)
	d := y.small()
	r, err := y.Import(y.ctx, d, DryRun)
	if err != nil || len(r.Wrong()) > 0 || r.Entered || r.Counts[RowAdds] != 4 {
		t.Fatalf("dry run: %+v, %v", r, err)
	}
	if y.count(record.VehicleAsset)+y.count(record.DepotAsset) > 0 {
		t.Fatal("a dry run entered something")
	}
	r, err = y.Import(y.ctx, d, AllGood)
	if err != nil || !r.Entered || r.Readings.Entered != 1 {
		t.Fatalf("%+v, %v", r, err)
	}
	now, err := y.Fleet(y.ctx)
	if err != nil || *now.Tractors[0].FifthWheel.D != 152_000 || now.Tractors[0].FifthWheel.ReadFrom != "document" {
		t.Errorf("the coupling is not fitted as the row says: %+v, %v", now.Tractors[0].FifthWheel, err)
	}
	page := y.vehiclePage(now.Assets["heron-1"])
	if page.Vehicle.Depot == "" || page.Fitted[0].FromReading.Metres == nil || page.Fitted[0].Ran.Known != 500_000 {
		t.Errorf("page: %+v", page.Fitted)
	}
	// The same once more changes nothing; a changed row says what it changes.
	d.Vehicles[0].Registration = "OS 2"
	d.Vehicles[0].Fields = record.Fields{"id": Text("heron-1"), "width": Text("2550 mm")}
	d.Vehicles[0].Clear = []string{"gross-plate"}
	r, err = y.Import(y.ctx, d, AllGood)
	if err != nil || r.Counts[RowSame] != 3 || r.Counts[RowChanges] != 1 || r.Readings.Repeated != 1 {
		t.Fatalf("again: %+v, %v", r.Counts, err)
	}
	want := []Difference{
		{Field: "gross-plate", Was: Text("18 t"), Theirs: Text("18 t")},
		{Field: "width", Yours: Text("2550 mm")},
		{Field: "registration", Was: Text("OS 1"), Theirs: Text("OS 1"), Yours: Text("OS 2")},
	}
	if diff := cmp.Diff(want, r.Rows[2].Changes, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("changes: %s", diff)
	}
	if f := y.vehiclePage(now.Assets["heron-1"]).Vehicle.Fields; f["gross-plate"] != nil || f["axle"] == nil {
		t.Errorf("what a row leaves out stays, what it clears goes: %v", f)
	}
}

func TestImportWrongRows(t *testing.T) {
	y := newYard(t)
	other := y.tractor("heron-9")
	y.must(&FitPart{Part: y.wheel("FW 9"), Vehicle: other, Reading: odo(1)})
	y.wheel("twin")
	y.wheel("twin2")
	tests := []struct {
		name  string
		spoil func(*Delivery)
		sheet string
		where string
	}{
		{"no number", func(d *Delivery) { d.Vehicles[0].Fields = record.Fields{} }, "Vehicles", "id"},
		{"a mass for a length", func(d *Delivery) { d.Vehicles[0].Fields["width"] = Text("2550 kg") }, "Vehicles", "width"},
		{"a depot that nobody knows", func(d *Delivery) { d.Vehicles[0].Depot = "West" }, "Vehicles", "depot"},
		{"a vehicle twice", func(d *Delivery) { d.Vehicles = append(d.Vehicles, d.Vehicles[0]) }, "Vehicles", "id"},
		{"another kind of vehicle", func(d *Delivery) {
			d.Vehicles[0] = VehicleRow{Place: Place{"Vehicles", 2}, Vehicle: record.SemiTrailer, Fields: record.Fields{"id": Text("heron-9")}}
		}, "Vehicles", "vehicle"},
		{"a type that nobody knows", func(d *Delivery) { d.Parts[0].Type = "Z" }, "Parts", "type"},
		{"on a vehicle that nobody knows", func(d *Delivery) { d.Parts[0].On = "heron-7" }, "Parts", "on"},
		{"on another vehicle than it sits on", func(d *Delivery) { d.Parts[0].Serial, d.Parts[0].Type = "FW 9", "" }, "Parts", "on"},
		{"where another sits", func(d *Delivery) { d.Parts[0].On = "heron-9" }, "Parts", "happened"},
		{"a part twice", func(d *Delivery) { d.Parts = append(d.Parts, d.Parts[0]) }, "Parts", "serial"},
		{"a part of no kind", func(d *Delivery) { d.Parts[0].Part, d.Parts[0].Type = "Fifth Wheel", "" }, "Parts", "part"},
		{"a type without document", func(d *Delivery) { d.Types[0].Source.Edition = "" }, "Types", "source.edition"},
		{"a depot without a name", func(d *Delivery) { d.Depots[0].Name = "" }, "Depots", "name"},
		{"a reading to come", func(d *Delivery) { d.Readings[0].At = y.at(-time.Hour) }, "Readings", "at"},
		{"a reading of an unknown vehicle", func(d *Delivery) { d.Readings[0].Vehicle = "heron-7" }, "Readings", "vehicle"},
	}
	before := y.picture()
	for _, test := range tests {
		d := y.small()
		test.spoil(&d)
		r, err := y.Import(y.ctx, d, AllGood)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		found := false
		for _, w := range r.Wrong() {
			found = found || w.Where == test.where && w.Place.Sheet == test.sheet && w.Place.Row == 2 && w.Expected != ""
		}
		if !found || r.Entered {
			t.Errorf("%s: %v, entered %v; expected %s, row 2, %s, and nothing entered", test.name, r.Wrong(), r.Entered, test.sheet, test.where)
		}
		if diff := cmp.Diff(before, y.picture()); diff != "" {
			t.Fatalf("%s: something was entered: %s", test.name, diff)
		}
	}
}

// TestImportOneBadRow: one bad row in many is named, nothing is entered unless
// asked, and then all but that row.
func TestImportOneBadRow(t *testing.T) {
	y := newYard(t)
	n, bad := 300, 217
	if racing {
		n, bad = 40, 27
	}
	var d Delivery
	for i := range n {
		d.Vehicles = append(d.Vehicles, VehicleRow{Place: Place{"Vehicles", i + 2}, Vehicle: record.Tractor, Fields: y.numbered(tractorFields, fmt.Sprintf("heron-%d", i))})
		d.Parts = append(d.Parts, PartRow{Place: Place{"Parts", i + 2}, Part: record.FifthWheel, Serial: fmt.Sprintf("FW %d", i), On: fmt.Sprintf("heron-%d", i)})
	}
	d.Parts[bad].Reading = record.MeterReading{Meter: record.Brake, Metres: whole(5)} // found out only when it is fitted
	r, err := y.Import(y.ctx, d, AllGood)
	if err != nil {
		t.Fatal(err)
	}
	if w := r.Wrong(); len(w) != 1 || w[0].Place != (Place{"Parts", bad + 2}) || w[0].Where != "reading.meter" || r.Entered {
		t.Fatalf("wrong: %v, entered %v", w, r.Entered)
	}
	if y.count(record.VehicleAsset)+y.count(record.PartAsset) > 0 {
		t.Fatal("something was entered")
	}
	r, err = y.Import(y.ctx, d, OnlyGood)
	if err != nil || !r.Entered || r.Counts[RowAdds] != 2*n-1 || r.Counts[RowWrong] != 1 {
		t.Fatalf("%+v, %v", r.Counts, err)
	}
	if v, p := y.count(record.VehicleAsset), y.count(record.PartAsset); v != n || p != n-1 {
		t.Errorf("%d vehicles and %d parts, expected %d and %d: a row is entered whole or not", v, p, n, n-1)
	}
	before := y.picture()
	if err := y.Rebuild(y.ctx); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, y.picture()); diff != "" {
		t.Error(diff)
	}
	if report, err := y.Verify(y.ctx); err != nil || !report.Sound() || report.Records != int64(3*n-2) {
		t.Errorf("%+v, %v", report, err)
	}
}

func TestSettings(t *testing.T) {
	y := newYard(t)
	set := func(name, version, field string, value []byte) error {
		_, err := y.Do(y.ctx, &ChangeSettings{Set: name, Version: version, Changes: record.Changes{Set: record.Fields{field: value}}})
		return err
	}
	for _, test := range []struct{ set, field, value, want string }{
		{SettingsSet, "law", `5`, "law: found 5; expected text"},
		{SettingsSet, "colour", `"red"`, "not known"},
		{SettingsSet, "facts", `{"weather":"wet"}`, "facts.weather"},
		{LoadsSet, "steel", `{"payload":"20"}`, "steel.payload"},
		{LoadsSet, "steel", `{"payload":"2000 t"}`, "steel.payload"},
		{LoadsSet, "laden", `{"payload":"20 t","at":"6 m"}`, "laden.id"},
		{LoadsSet, "steel", `{"id":"coal","payload":"20 t"}`, "steel.id"},
		{LoadsSet, "Steel", `{"payload":"20 t"}`, "Steel"},
	} {
		if err := set(test.set, "", test.field, []byte(test.value)); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s = %s: %v, expected %s", test.field, test.value, err, test.want)
		}
	}
	if err := set(SettingsSet, "", "law", []byte(`"de"`)); err != nil {
		t.Fatal(err)
	}
	if err := set(LoadsSet, "", "steel", []byte(`{"payload":"20 t","at":"6 m","facts":{"traffic":"national"}}`)); err != nil {
		t.Fatal(err)
	}
	now, err := y.Fleet(y.ctx)
	if err != nil || now.Law != "de" || len(now.Loads) != 1 || *now.Loads[0].Payload != 20_000 {
		t.Errorf("%+v, %v", now.Fleet, err)
	}
	if err := set(SettingsSet, "", "law", []byte(`"fr"`)); err == nil {
		t.Error("changed without the version that stands")
	}
	p, err := y.Settings(y.ctx, SettingsSet)
	if err != nil {
		t.Fatal(err)
	}
	if err := set(SettingsSet, p.Version, "law", []byte(`"fr"`)); err != nil {
		t.Fatal(err)
	}
	err = set(SettingsSet, p.Version, "name", []byte(`"Other"`))
	c, ok := err.(*Conflict)
	if !ok || len(c.Fields) != 2 {
		t.Errorf("%v, expected a *Conflict over law and name", err)
	}
}
