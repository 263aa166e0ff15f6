package exchange_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"underpin/exchange"
	"underpin/record"
	"underpin/unit"
	"underpin/vehicle"
)

// What a record of a part, a type or a depot holds has a column here, by the name
// of its member in the record; what has none says why.
func TestTablesHoldWhatTheRecordsHold(t *testing.T) {
	for _, tt := range []struct {
		record, row reflect.Type
		otherwise   map[string]string // member: column, or a reason in brackets
	}{
		{reflect.TypeFor[record.PartAdded](), reflect.TypeFor[exchange.Part](), map[string]string{"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin"}},
		{reflect.TypeFor[record.PartFitted](), reflect.TypeFor[exchange.Part](), map[string]string{"reading": "fitted-at"}},
		{reflect.TypeFor[record.TypeAdded](), reflect.TypeFor[exchange.PartType](), map[string]string{"d_n": "d-value", "imposed_kg": "imposed", "pin_mm": "pin", "dimensions": "dimension", "intervals": "interval", "torques": "torque", "source": "document"}},
		{reflect.TypeFor[record.Dimension](), reflect.TypeFor[exchange.TypeDimension](), map[string]string{"source": "document"}},
		{reflect.TypeFor[record.Interval](), reflect.TypeFor[exchange.TypeInterval](), map[string]string{"distance_m": "distance", "source": "document"}},
		{reflect.TypeFor[record.Torque](), reflect.TypeFor[exchange.TypeTorque](), map[string]string{"source": "document"}},
		{reflect.TypeFor[record.Source](), reflect.TypeFor[exchange.Copied](), map[string]string{"blob": "[documents travel with a backup, not in a table]"}},
		{reflect.TypeFor[record.DepotAdded](), reflect.TypeFor[exchange.Depot](), nil},
		{reflect.TypeFor[record.VehicleAdded](), reflect.TypeFor[exchange.Papers](), map[string]string{"fields": "[the tables of the fleet file]"}},
	} {
		columns := namesOf(tt.row, "toml")
		members := namesOf(tt.record, "json")
		if len(members) == 0 || len(columns) == 0 {
			t.Fatalf("%v has %d members, %v %d columns", tt.record, len(members), tt.row, len(columns))
		}
		for _, m := range members {
			want := strings.ReplaceAll(m, "_", "-")
			if name, other := tt.otherwise[m]; other {
				want = name
			}
			if !strings.HasPrefix(want, "[") && !slices.Contains(columns, want) {
				t.Errorf("%v holds %s, for which %v has no column", tt.record, m, tt.row)
			}
		}
	}
}

func namesOf(t reflect.Type, tag string) []string {
	var names []string
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get(tag), ",")
		if f.Anonymous && name == "" {
			names = append(names, namesOf(f.Type, tag)...)
		} else if name != "" {
			names = append(names, name)
		}
	}
	return names
}

func TestEveryFieldOfATableIsExplained(t *testing.T) {
	var walk func(of reflect.Type)
	asked := 0
	walk = func(of reflect.Type) {
		for of.Kind() == reflect.Slice || of.Kind() == reflect.Pointer {
			of = of.Elem()
		}
		if of.Kind() != reflect.Struct || of.PkgPath() != "underpin/exchange" {
			return
		}
		for i := range of.NumField() {
			f := of.Field(i)
			walk(f.Type)
			if f.Anonymous || f.Tag.Get("toml") == "-" {
				continue
			}
			asked++
			if doc := f.Tag.Get("doc"); len(doc) < 8 || !strings.HasSuffix(doc, ".") {
				t.Errorf("%v.%s: doc %q", of, f.Name, doc)
			}
			if u := f.Tag.Get("unit"); u != "" {
				if _, known := unit.Lookup(u); !known {
					t.Errorf("%v.%s: unit %q", of, f.Name, u)
				}
			}
		}
	}
	walk(reflect.TypeFor[exchange.Register]())
	if asked < 60 {
		t.Errorf("%d fields asked, there are more", asked)
	}
}

func TestRegisterIsChecked(t *testing.T) {
	const head = "id,part,serial,\"pin, mm\",read-from,vehicle,place,meter,\"fitted-at, km\",fitted\n"
	for _, tt := range []struct{ name, file, text, where, found, expected string }{
		{"sound", "part.csv", head + ",kingpin,K-1,50,plate,marsh-23,kingpin,hub,12000,2025-03-01\n", "", "", ""},
		{"no kind", "part.csv", head + ",,K-1,,,,,,,\n", "part.csv:2:2 (part)", "no part", "what it is: fifth-wheel"},
		{"out of range", "part.csv", head + ",kingpin,K-1,500,,,,,,\n", "part.csv:2:14 (pin)", "pin = 500 mm", "50 mm to 90 mm"},
		{"a word not known", "part.csv", head + ",kingpin,K-1,,hearsay,,,,,\n", "part.csv:2:15 (read-from)", `"hearsay"`, "plate, document, memory"},
		{"fitted nowhere", "part.csv", head + ",kingpin,K-1,,,marsh-23,,,,\n", "part.csv:2:1", "vehicle and place", "both"},
		{"read off nothing", "part.csv", head + ",kingpin,K-1,,,,,hub,,\n", "part.csv:2:1", "meter and fitted-at", "both"},
		{"no date", "part.csv", head + ",kingpin,K-1,,,marsh-23,kingpin,,,last May\n", "part.csv:2:35 (fitted)", "last May", "a date such as"},
		{"an id twice", "part.csv", head + "part/1,kingpin,K-1,,,,,,,\npart/1,kingpin,K-2,,,,,,,\n", "part.csv:3:1 (id)", "a second time", "once"},
		{"papers twice", "papers.csv", "vehicle,vin\nheron-07,A\nheron-07,B\n", "papers.csv:3:1 (vehicle)", "a second time", "once"},
		{"a reading of nothing", "reading.csv", "meter,at,\"distance, km\"\nhub,2026-02-01T06:00:00Z,5\n", "reading.csv:2:1", "no vehicle", "vin"},
		{"a reading without zone", "reading.csv", "vehicle,meter,at,\"distance, km\"\na,hub,2026-02-01 06:00,5\n", "reading.csv:2:7 (at)", "without a zone", "+02:00"},
		{"a torque of nothing", "part-type.torque.csv", "part-type,where,least\nT-1,,\n", "part-type.torque.csv:2:1 (part-type)", "T-1", "part-type"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, problems := exchange.ParseCSV[exchange.Register]("", map[string][]byte{tt.file: []byte(tt.text)})
			if tt.where == "" {
				if len(problems) > 0 || len(r.Parts) != 1 || *r.Parts[0].FittedAt != 12000e3 || r.Parts[0].Fitted.String() != "2025-03-01" {
					t.Error(problems, r.Parts)
				}
				return
			}
			if len(problems) != 1 || problems[0].Where() != tt.where || !strings.Contains(problems[0].Found, tt.found) || !strings.Contains(problems[0].Expected, tt.expected) {
				t.Errorf("%s\nwant %s: found … %s …; expected … %s …", lines(problems), tt.where, tt.found, tt.expected)
			}
		})
	}
}

// A register that holds more than ours still has the same tables.
func TestRegisterWithMoreTables(t *testing.T) {
	type dolly struct {
		ID    string         `toml:"id" doc:"Id."`
		Axles []vehicle.Axle `toml:"axle" doc:"Axles."`
	}
	type more struct {
		exchange.Register
		Dollies []dolly `toml:"dolly" doc:"Dollies."`
	}
	m := more{Dollies: []dolly{{ID: "coot-91", Axles: []vehicle.Axle{{Kind: "idle"}}}}}
	m.Name, m.Depots = "Osiermere yard", []exchange.Depot{{Name: "North"}}
	for name, trip := range map[string]func(*more) (*more, error){"workbook": bookTrip[more], "CSV": csvTrip[more], "JSON": jsonTrip[more]} {
		back, err := trip(&m)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if diff := same(&m, back); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}
