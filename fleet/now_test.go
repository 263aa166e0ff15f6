package fleet

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/pelletier/go-toml/v2"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/record"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// TestDemoThroughTheRegister: the demo fleet brought into the register comes out
// as the same fleet, derived values and all, and pairs the same.
func TestDemoThroughTheRegister(t *testing.T) {
	y := newYard(t)
	f := demo(t)
	d := FleetDelivery(undemo(t), "demo.toml")
	dry, err := y.Import(y.ctx, d, DryRun)
	if err != nil || len(dry.Wrong()) > 0 || dry.Counts[RowAdds] != len(d.Vehicles)+2 || dry.Entered {
		t.Fatalf("dry run: %v, %+v, %v", err, dry.Counts, dry.Wrong())
	}
	if l, err := y.List(y.ctx, ListQuery{Kind: record.VehicleAsset}); err != nil || len(l.Items) != 0 {
		t.Fatalf("a dry run entered %d vehicles", len(l.Items))
	}
	done, err := y.Import(y.ctx, d, AllGood)
	if err != nil || !done.Entered {
		t.Fatal(err)
	}
	now, err := y.Fleet(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(now.Left)+len(now.Remarks) > 0 {
		t.Errorf("left out: %v; remarks: %v", now.Left, now.Remarks)
	}
	byID(&now.Fleet)
	byID(&f.Fleet)
	// Facts come as whole numbers from TOML and as floats from JSON; the law takes both.
	now.Facts, f.Facts = nil, nil
	for i := range now.Loads {
		now.Loads[i].Facts = nil
	}
	for i := range f.Loads {
		f.Loads[i].Facts = nil
	}
	if diff := cmp.Diff(f.Fleet, now.Fleet); diff != "" {
		t.Errorf("the fleet that went in (-) and came out (+): %s", diff)
	}
	if len(now.Derived) != len(f.Derived) {
		t.Errorf("%d derived values, expected %d", len(now.Derived), len(f.Derived))
	}
	again, err := y.Import(y.ctx, d, DryRun)
	if err != nil || again.Counts[RowSame] != len(d.Vehicles)+2 {
		t.Errorf("the same file again: %v, %+v", err, again.Counts)
	}
}

func TestMarkedValuesAreThoseOfThePart(t *testing.T) {
	y := newYard(t)
	tractor, trailer := y.tractor("heron-07"), y.trailer("teal-23")
	d := func() (string, *Now) {
		now, err := y.Fleet(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		got := now.Tractors[0].FifthWheel.D
		if got == nil {
			return "unknown", now
		}
		return unit.Text(float64(*got), unit.KN), now
	}
	check := func(when, want string) *Now {
		t.Helper()
		got, now := d()
		if got != want {
			t.Errorf("%s: D %s, expected %s", when, got, want)
		}
		return now
	}
	check("nothing was ever fitted: the vehicle's own field", "152 kN")
	bare := y.must(&AddPart{Details: record.PartAdded{Part: record.FifthWheel, Serial: "bare"}}).Asset
	y.must(&FitPart{Part: bare, Vehicle: tractor})
	now := check("a coupling of which nothing is known", "unknown")
	if now.Tractors[0].FifthWheel.Pin != nil || now.Tractors[0].FifthWheel.Imposed != nil || now.Tractors[0].FifthWheel.At == nil {
		t.Errorf("the coupling: %+v; where it stands is the vehicle's, what is marked is the part's", now.Tractors[0].FifthWheel)
	}
	if len(now.Remarks) != 1 || !strings.Contains(now.Remarks[0].Why, "bare") {
		t.Errorf("remarks: %+v", now.Remarks)
	}
	typ := y.must(&AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: "A", Ratings: record.Ratings{D: whole(120_000)}, Source: record.Source{Document: "Instructions", Edition: "1"}}}).Asset
	p := y.partPage(bare)
	details := p.Part.PartAdded
	details.Type = typ
	y.must(&ChangePart{Asset: bare, Version: p.Version, Details: details})
	if now := check("its type's", "120 kN"); now.Tractors[0].FifthWheel.ReadFrom != "document" {
		t.Errorf("read from %q", now.Tractors[0].FifthWheel.ReadFrom)
	}
	y.must(&RemovePart{Part: bare})
	check("nothing sits there any more", "unknown")
	y.must(&FitPart{Part: y.wheel("FW 1"), Vehicle: tractor})
	check("another, marked on its plate", "152 kN")
	// The pin alike.
	y.must(&FitPart{Part: y.pin("KP 1"), Vehicle: trailer})
	if _, now := d(); now.Trailers[0].Kingpin.Size != nil {
		t.Error("the size of a pin of which nothing is known comes from the vehicle's field")
	}
	one, err := y.FleetOf(y.ctx, "heron-07", "teal-23")
	if err != nil {
		t.Fatal(err)
	}
	all, err := y.Fleet(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(all, one, cmpopts.IgnoreUnexported(exchange.FleetFile{})); diff != "" {
		t.Errorf("two vehicles asked for by number: %s", diff)
	}
	if _, err := y.FleetOf(y.ctx, "heron-99"); !missing(err) {
		t.Errorf("a number that nobody has: %v", err)
	}
	// The pairing works on it, and what is missing is missing.
	law, err := rule.Open("eu")
	if err != nil {
		t.Fatal(err)
	}
	cells, err := assess.Matrix(&all.Fleet, law, "2026-11-25")
	if err != nil || len(cells) != 1 {
		t.Fatalf("%d cells, %v", len(cells), err)
	}
}

func TestVehiclesThatCannotBePaired(t *testing.T) {
	y := newYard(t)
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: fields(t, `{"id":"heron-1"}`)}})
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Dolly, Fields: fields(t, `{"id":"dolly-1","axle":[{"at":"4 m"}]}`)}})
	gone := y.tractor("heron-2")
	y.must(&ScrapVehicle{Asset: gone})
	now, err := y.Fleet(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(now.Tractors)+len(now.Trailers) != 0 || len(now.Left) != 2 {
		t.Errorf("%d tractors, left %+v", len(now.Tractors), now.Left)
	}
}

// TestScrappedTractorStillTells: what a trailer weighed behind a tractor stays
// known when the tractor goes.
func TestScrappedTractorStillTells(t *testing.T) {
	y := newYard(t)
	tractor := y.tractor("heron-07") // 7 800 kg alone
	f := y.numbered(trailerFields, "teal-23")
	f["weighbridge"] = []byte(`{"tractor":"heron-07","tractor-on":"9700 kg","all-on":"14 t"}`)
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: f}})
	for _, when := range []string{"before", "after"} {
		now, err := y.Fleet(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		// 9 700 − 7 800 = 1 900 kg on the pin, 14 000 − 9 700 = 4 300 kg on the bogie.
		s := now.Trailers[0]
		if s.TarePin == nil || *s.TarePin != 1900 || s.TareBogie == nil || *s.TareBogie != 4300 {
			t.Errorf("%s: tare at the pin %v, on the bogie %v", when, s.TarePin, s.TareBogie)
		}
		if when == "before" {
			y.must(&ScrapVehicle{Asset: tractor})
		} else if len(now.Tractors) != 0 {
			t.Error("a scrapped tractor is in the fleet")
		}
	}
}

// undemo is the demo fleet as it was typed, without what was derived.
func undemo(t testing.TB) *vehicle.Fleet {
	t.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	var f vehicle.Fleet
	if err := toml.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	return &f
}

// byID puts vehicles and loads in the order of their ids.
func byID(f *vehicle.Fleet) {
	slices.SortFunc(f.Tractors, func(a, b vehicle.Tractor) int { return strings.Compare(a.ID, b.ID) })
	slices.SortFunc(f.Trailers, func(a, b vehicle.SemiTrailer) int { return strings.Compare(a.ID, b.ID) })
	slices.SortFunc(f.Loads, func(a, b vehicle.Load) int { return strings.Compare(a.ID, b.ID) })
}

// TestDerivedEachTime: what is derived for one answer does not creep into what is
// kept, or it would pass for measured in the next.
func TestDerivedEachTime(t *testing.T) {
	y := newYard(t)
	f := fields(t, `{"id":"heron-07","axle":[{"kind":"steer"},{"kind":"drive","at":"3700 mm"}],"weighbridge":{"front-on":"5200 kg","tractor-on":"7800 kg"}}`)
	a := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: f}}).Asset
	s := y.numbered(trailerFields, "teal-23")
	s["weighbridge"] = []byte(`{"tractor":"heron-07","tractor-on":"9700 kg","all-on":"14 t"}`)
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: s}})
	for i, want := range []int{4, 4, 2, 2} { // two axles and two of the trailer; then the trailer's alone
		if i == 2 {
			y.must(&ScrapVehicle{Asset: a})
		}
		now, err := y.Fleet(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		if len(now.Derived) != want {
			t.Errorf("derived: %+v, expected %d", now.Derived, want)
		}
		if want == 4 && *now.Tractors[0].Axles[1].Tare != 2600 {
			t.Errorf("rear tare %v, expected 7 800 − 5 200 = 2 600 kg", *now.Tractors[0].Axles[1].Tare)
		}
	}
}
