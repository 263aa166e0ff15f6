package fleet

import (
	"bytes"
	"cmp"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"underpin/exchange"
	"underpin/record"
)

// stocked is a yard with something for every table.
func stocked(t *testing.T) *yard {
	t.Helper()
	y := newYard(t)
	depot := y.must(&AddDepot{Details: record.DepotAdded{Name: "North", TimeZone: "Europe/Berlin", Address: "Quay 1"}}).Asset
	y.must(&ChangeSettings{Set: SettingsSet, Changes: record.Changes{Set: fields(t, `{"name":"Osiermere yard","law":"eu"}`)}})
	y.must(&ChangeSettings{Set: LoadsSet, Changes: record.Changes{Set: fields(t, `{"coils":{"name":"Coils","item":[{"name":"coil","mass":"20 t","at":"6 m"}]}}`)}})
	typ := y.must(&AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: "T-1", Ratings: record.Ratings{D: whole(152_000), Imposed: whole(20_000), Pin: whole(50)},
		Source:     record.Source{Document: "Instructions", Edition: "2"},
		Dimensions: []record.Dimension{{Name: "lock-play", New: "0.3 mm", Limit: "2 mm", Sense: "max", Source: record.Source{Document: "Instructions", Edition: "2", Page: "7"}}},
		Intervals:  []record.Interval{{Task: "grease", Metres: whole(10_000_000), Months: whole(3)}},
		Torques:    []record.Torque{{Where: "frame", Thread: "M16", Least: "260 N.m"}}}}).Asset
	tractor := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS-HE 7", VIN: "W1234567890123456", Depot: depot, Fields: y.numbered(tractorFields, "heron-07")}}).Asset
	trailer := y.trailer("teal-23")
	bare := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: fields(t, `{"id":"bare-1"}`)}}).Asset
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Dolly, Fields: fields(t, `{"id":"coot-9","gross-plate":"18 t","axle":[{"at":"3 m"}]}`)}})
	wheel := y.must(&AddPart{Details: record.PartAdded{Part: record.FifthWheel, Serial: "FW 1", Type: typ, Ratings: record.Ratings{D: whole(152_000)}, ReadFrom: "plate"}}).Asset
	y.must(&FitPart{Part: wheel, Vehicle: tractor, Reading: odo(1200)})
	y.must(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Depot: depot, Note: "no serial to be read"}})
	y.enter(Readings{Rows: append(y.daily("heron-07", 5, 1000, 500), y.daily("teal-23", 3, 1000, 500)...)})
	_, _ = trailer, bare
	return y
}

func (y *yard) tables() *Tables {
	y.Helper()
	tables, left, err := y.Tables(y.ctx, true)
	if err != nil || len(left) > 0 {
		y.Fatalf("%v, left %+v", err, left)
	}
	slices.SortFunc(tables.Readings, func(a, b exchange.Reading) int { // meters come as they were first read
		return cmp.Or(strings.Compare(a.Vehicle, b.Vehicle), int(a.At-b.At))
	})
	return tables
}

// A register goes out in every form, and comes back as it was: into an empty one all
// of it, into itself nothing.
func TestTablesThereAndBack(t *testing.T) {
	y := stocked(t)
	was := y.tables()
	if len(was.Tractors)+len(was.Trailers)+len(was.Dollies) != 4 || len(was.Papers) != 1 || len(was.Depots) != 1 || len(was.Types) != 1 || len(was.Parts) != 2 ||
		len(was.Readings) != 8 || len(was.Loads) != 1 || was.Law != "eu" {
		t.Fatalf("%+v", was)
	}
	for _, name := range []string{"a.xlsx", "a.json", "a.toml", "a/"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name)
			if strings.HasSuffix(name, "/") {
				path += "/"
			}
			if err := exchange.SaveTables(path, was); err != nil {
				t.Fatal(err)
			}
			read, _, problems := exchange.OpenTables[Tables](path)
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			report, err := y.Import(y.ctx, read.Delivery("a"), DryRun)
			if err != nil || len(report.Wrong()) > 0 || report.Counts[RowSame] != len(report.Rows) {
				for _, row := range report.Rows {
					if row.What != RowSame {
						t.Errorf("%s %s: %s %v %s", row.Kind, row.Title, row.What, row.Problems, encoded(row.Changes))
					}
				}
				t.Errorf("into itself: %v, %v", report.Counts, err)
			}
			there := newYard(t)
			there.clock.pass(time.Hour)
			report, err = there.Import(there.ctx, read.Delivery("a"), AllGood)
			if err != nil || !report.Entered {
				t.Fatalf("%v: %v", err, report.Wrong())
			}
			back := there.tables()
			for i := range back.Parts { // each register has names of its own
				back.Parts[i].ID = was.Parts[i].ID
			}
			if diff := gocmp.Diff(string(encoded(was)), string(encoded(back))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Whoever finds something wrong with a row can say which cell it is.
func TestProblemsOfTablesHavePlaces(t *testing.T) {
	y := stocked(t)
	for name, tt := range map[string]struct {
		wrong func(*Tables)
		path  string
	}{
		"depot of a vehicle": {func(t *Tables) { t.Papers[0].Depot = "South" }, "papers[0].depot"},
		"depot of a part":    {func(t *Tables) { t.Parts[1].Depot = "South" }, "part[1].depot"},
		"type of a part":     {func(t *Tables) { t.Parts[0].Type = "T-2" }, "part[0].type"},
		"vehicle of a part":  {func(t *Tables) { t.Parts[1].Vehicle, t.Parts[1].Place = "teal-24", "kingpin" }, "part[1].vehicle"},
		"vehicle of papers":  {func(t *Tables) { t.Papers = append(t.Papers, exchange.Papers{Vehicle: "nobody", VIN: "X"}) }, "papers[1].vehicle"},
		"vin of a reading":   {func(t *Tables) { t.Readings[1].Vehicle, t.Readings[1].VIN = "", "X" }, "reading[1].vin"},
		"meter of a reading": {func(t *Tables) { t.Readings[7].Meter = "odometer" }, "reading[7].meter"},
		"rating of a type":   {func(t *Tables) { *t.Types[0].D = 1 }, "part-type[0].d-value"},
		"limit of a type":    {func(t *Tables) { t.Types[0].Dimensions[0].Limit = "two" }, "part-type[0].dimension[0].limit"},
		"address of a depot": {func(t *Tables) { t.Depots[0].Address = strings.Repeat("long ", 5000) }, "depot[0].address"},
	} {
		t.Run(name, func(t *testing.T) {
			tables := y.tables()
			tt.wrong(tables)
			report, err := y.Import(y.ctx, tables.Delivery("a"), AllGood)
			if err != nil || report.Entered {
				t.Fatalf("%v, %+v", err, report)
			}
			wrong := report.Wrong()
			if len(wrong) != 1 || tables.Path(wrong[0]) != tt.path {
				for _, w := range wrong {
					t.Errorf("%s: %v", tables.Path(w), w)
				}
				t.Errorf("expected one at %s", tt.path)
			}
		})
	}
}

// Feeds name vehicles by what is stamped into them.
func TestReadingsByMark(t *testing.T) {
	y := stocked(t)
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS-XX 1", Fields: fields(t, `{"id":"heron-31"}`)}})
	y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS-XX 1", Fields: fields(t, `{"id":"heron-32"}`)}})
	feed := exchange.ParseFeed("feed.csv", bytes.NewBufferString("vin,registration,at,\"odometer, km\"\n"+
		"w1234567890123456,,2026-11-25T04:00:00Z,4000\n,os-he-7,2026-11-25T04:10:00Z,4001\nW9,,2026-11-25T04:00:00Z,1\n,OS-XX 1,2026-11-25T04:00:00Z,1\n").Bytes(), exchange.FeedOptions{})
	if len(feed.Problems) > 0 {
		t.Fatal(feed.Problems)
	}
	report, err := y.Import(y.ctx, ReadingDelivery(feed.Readings, "feed.csv"), OnlyGood)
	if err != nil || report.Readings.Entered != 2 || len(report.Wrong()) != 2 || report.Wrong()[0].Place.Row != 3 || report.Wrong()[1].Where != "registration" {
		t.Errorf("%+v, %v", report.Readings, err)
	}
}
