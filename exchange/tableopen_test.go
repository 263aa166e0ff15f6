package exchange_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"underpin/exchange"
	"underpin/tomlfile"
	"underpin/unit"
	"underpin/vehicle"
)

// aRegister is a register with something in every table.
func aRegister(t *testing.T) *exchange.Register {
	t.Helper()
	demo := given(t, "demo.toml", fleets(t)["demo.toml"])
	km, months, kn, mm := 12_000*unit.Kilometre, int64(6), unit.Force(152_000), 50*unit.Millimetre
	r := &exchange.Register{
		Fleet:  vehicle.Fleet{Name: demo.Name, Law: demo.Law, Tractors: demo.Tractors[:1], Trailers: demo.Trailers[:1]},
		Papers: []exchange.Papers{{Vehicle: "heron-07", Registration: "OS-HE 7", Depot: "North"}},
		Depots: []exchange.Depot{{Name: "North", TimeZone: "Europe/Berlin"}},
		Types: []exchange.PartType{{Name: "T-1", Part: "kingpin", D: &kn, Copied: exchange.Copied{Document: "Instructions", Edition: "2"},
			Dimensions: []exchange.TypeDimension{{Name: "pin-wear", New: "50.8 mm", Limit: "49 mm", Sense: "min", Copied: exchange.Copied{Page: "7"}}},
			Intervals:  []exchange.TypeInterval{{Task: "grease", Months: &months}},
			Torques:    []exchange.TypeTorque{{Where: "flange", Least: "190 N.m"}}}},
		Parts: []exchange.Part{{Part: "kingpin", Serial: "K-1", Type: "T-1", Pin: &mm, Vehicle: "marsh-23", Place: "kingpin",
			Fitted: &tomlfile.Date{Year: 2025, Month: 3, Day: 1}, Meter: "hub", FittedAt: &km}},
		Readings: []exchange.Reading{{Vehicle: "marsh-23", Meter: "hub", At: 1_770_000_000_000_000, Distance: km, GivenIn: "km"}},
	}
	return r
}

func TestTablesOnDisk(t *testing.T) {
	r := aRegister(t)
	for _, name := range []string{"a.toml", "a.xlsx", "a.json", "a/", "b"} {
		path := filepath.Join(t.TempDir(), name)
		if strings.HasSuffix(name, "/") {
			path += "/"
		}
		if err := exchange.SaveTables(path, r); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		back, _, problems := exchange.OpenTables[exchange.Register](path)
		if len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
		} else if diff := same(r, back); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// Whoever finds that a field names what is not there can say where it stands,
// though rows before it had problems and were taken out.
func TestPlacesOfFields(t *testing.T) {
	r := aRegister(t)
	for i := range 4 {
		r.Parts = append(r.Parts, exchange.Part{Part: "kingpin", Serial: fmt.Sprint("K-1", i), Depot: "North"})
	}
	for name, where := range map[string]string{"a.xlsx": "a.xlsx: sheet part, row 5, column ", "a.json": "a.json:", "a.toml": "a.toml:", "a": "part.csv:5:"} {
		dir := t.TempDir()
		path := filepath.Join(dir, name)
		bad := *r
		if name != "a.toml" { // there all of the file is read or nothing
			bad.Parts = append(bad.Parts[:0:0], r.Parts...)
			bad.Parts[1].Part = ""
		}
		if err := exchange.SaveTables(path, &bad); err != nil {
			t.Fatal(err)
		}
		back, places, problems := exchange.OpenTables[exchange.Register](path)
		kept := 4
		if name == "a.toml" {
			kept = 5
		}
		if len(problems) != 5-kept || len(back.Parts) != kept {
			t.Fatalf("%s: %d parts and %v", name, len(back.Parts), problems)
		}
		p := places(fmt.Sprintf("part[%d].depot", kept-2)) // the fourth of five
		if got := strings.TrimPrefix(p.Where(), dir+string(filepath.Separator)); !strings.Contains(got, where) || !strings.HasSuffix(p.Where(), "depot)") || p.Row == 0 || p.Col == 0 {
			t.Errorf("%s: %s", name, p.Where())
		}
	}
}
