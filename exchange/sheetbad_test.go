package exchange_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/vehicle"
)

// yard is a small fleet as CSV, in which nothing is wrong.
func yard() map[string]string {
	return map[string]string{
		"tractor.csv":           "id,name,\"gross-plate, kg\",fuel,weighbridge.front-on,weighbridge.tractor-on\nheron-07,Heron,18000,diesel,,\nteal-12,Teal,18 t,gas,5500 kg,7800 kg\n",
		"tractor.axle.csv":      "tractor,kind,\"at, mm\",share\nheron-07,steer,,\nheron-07,drive,3700,\nteal-12,steer,,\nteal-12,drive,3700,\n",
		"semi-trailer.csv":      "id,weighbridge.tractor,weighbridge.tractor-on,weighbridge.all-on\nmarsh-23,,,\nmire-61,teal-12,9800 kg,14 t\n",
		"semi-trailer.axle.csv": "semi-trailer,\"at, mm\"\nmarsh-23,7700\nmire-61,7.7 m\n",
		"load.csv":              "id,for,\"payload, kg\",at\nfull,marsh-23 mire-61,24000,6.8 m\n",
		"load.facts.csv":        "load,name,value\nfull,intermodal,true\n",
	}
}

func parseYard(files map[string]string) (*vehicle.Fleet, exchange.Problems) {
	data := map[string][]byte{}
	for name, text := range files {
		data["yard/"+name] = []byte(text)
	}
	return exchange.ParseCSV[vehicle.Fleet]("yard", data)
}

func TestYardIsSound(t *testing.T) {
	f, problems := parseYard(yard())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if len(f.Tractors) != 2 || len(f.Trailers) != 2 || len(f.Trailers[1].Axles) != 1 || f.Loads[0].Facts["intermodal"] != true {
		t.Errorf("%+v", f)
	}
}

func ids(f *vehicle.Fleet) string {
	var all []string
	for i := range f.Tractors {
		all = append(all, f.Tractors[i].ID)
	}
	for i := range f.Trailers {
		all = append(all, f.Trailers[i].ID)
	}
	for i := range f.Loads {
		all = append(all, f.Loads[i].ID)
	}
	return strings.Join(all, " ")
}

// Each row changes one thing in the yard. What is left is what has no problem,
// and does not refer to what has.
func TestOneBadCellIsNamedAndLosesOnlyItsVehicle(t *testing.T) {
	for _, tt := range []struct {
		name, file, old, new   string
		where, found, expected string
		left                   string
	}{
		{"no unit anywhere", "tractor.csv", "\"gross-plate, kg\"", "gross-plate", "yard/tractor.csv:1:9 (gross-plate)", `numbers without a unit, the first "18000" in row 2`, `"gross-plate, kg"`, "teal-12 marsh-23 mire-61 full"},
		{"a unit of something else in the head", "tractor.csv", "plate, kg", "plate, mm", "yard/tractor.csv:1:9 (gross-plate)", `"mm"`, "a unit of mass: kg, t, lb", ""},
		{"a unit on what has none", "tractor.csv", "fuel", "\"fuel, kg\"", "yard/tractor.csv:1:27 (fuel)", `"kg"`, "no unit", ""},
		{"a unit of something else in a cell", "tractor.csv", "18000", "18000 mm", "yard/tractor.csv:2:16 (gross-plate)", "mm is a unit of length", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"two units", "tractor.csv", "18000", "18 t kg", "yard/tractor.csv:2:16 (gross-plate)", "not a unit", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"t for kg", "tractor.csv", "18 t,", "18000 t,", "yard/tractor.csv:3:14 (gross-plate)", "gross-plate = 18000000 kg", "perhaps: 18000 kg", "heron-07 marsh-23"},
		{"a comma that may be two things", "tractor.csv", "18000", `"18,000"`, "yard/tractor.csv:2:16 (gross-plate)", "decimal mark or a thousands mark", "a mass", "teal-12 marsh-23 mire-61 full"},
		{"a word not known", "tractor.csv", "diesel", "coal", "yard/tractor.csv:2:22 (fuel)", `"coal"`, "diesel, gas, alternative, battery, hydrogen", "teal-12 marsh-23 mire-61 full"},
		{"letters of two bytes before it", "tractor.csv", "Heron,18000,diesel", "Häron,18000,coal", "yard/tractor.csv:2:22 (fuel)", `"coal"`, "diesel", "teal-12 marsh-23 mire-61 full"},
		{"an id with capitals", "tractor.csv", "\nheron-07", "\nHeron 07", "yard/tractor.csv:2:1 (id)", "", "", "teal-12 marsh-23 mire-61 full"},
		{"no id", "tractor.csv", "\nheron-07,", "\n,", "yard/tractor.csv:2:1", "no id", "hyphens", "teal-12 marsh-23 mire-61 full"},
		{"an id twice", "tractor.csv", "\nteal-12", "\nheron-07", "yard/tractor.csv:3:1 (id)", "a second time", "once", "marsh-23"},
		{"a misspelt column", "tractor.csv", "fuel", "fule", "yard/tractor.csv:1:27", `"fule"`, "perhaps fuel", ""},
		{"a column twice", "tractor.csv", "name,", "id,", "yard/tractor.csv:1:4 (id)", "a second time", "each column once", ""},
		{"a value without a head", "tractor.csv", "diesel,,", "diesel,,,stray", "yard/tractor.csv:2:31", `"stray"`, "no head", ""},
		{"a quote in the middle", "tractor.csv", "Heron", `He"ron`, "yard/tractor.csv:2:1", "not CSV", "doubled", "teal-12 marsh-23 mire-61 full"},
		{"a quote never closed", "tractor.csv", "Heron", `"Heron`, "yard/tractor.csv:2:1", "not CSV", "doubled", "teal-12 marsh-23 mire-61 full"},
		{"an axle of nobody", "tractor.axle.csv", "heron-07,drive", "heron-7,drive", "yard/tractor.axle.csv:3:1 (tractor)", `"heron-7"`, "perhaps heron-07", "teal-12 marsh-23 mire-61 full"},
		{"an axle without a name", "tractor.axle.csv", "heron-07,drive", ",drive", "yard/tractor.axle.csv:3:1 (tractor)", "no tractor", "the table tractor", "teal-12 marsh-23 mire-61 full"},
		{"axles without the column of their owner", "tractor.axle.csv", "tractor,", "truck,", "yard/tractor.axle.csv:1:1", "no column tractor", "whose row", ""},
		{"an axle in the wrong place", "tractor.axle.csv", "heron-07,drive,3700", "heron-07,drive,-3", "yard/tractor.axle.csv:3:1", "not behind", "front to rear", "teal-12 marsh-23 mire-61 full"},
		{"an axle that is a word", "tractor.axle.csv", "teal-12,drive,3700", "teal-12,drive,far", "yard/tractor.axle.csv:5:15 (at)", `"far"`, "a length", "heron-07 marsh-23"},
		{"shares that do not sum to 1", "tractor.axle.csv", "heron-07,drive,3700,", "heron-07,drive,3700,50%", "yard/tractor.axle.csv:3:21 (share)", "0.5", "summing to 1", "teal-12 marsh-23 mire-61 full"},
		{"a ticket of a tractor that is not there", "semi-trailer.csv", "teal-12", "gull-99", "yard/semi-trailer.csv:3:9 (weighbridge.tractor)", "gull-99", "a tractor of this file", "heron-07 teal-12 marsh-23"},
		{"a load without a centre", "load.csv", ",6.8 m", ",6.8 furlongs", "yard/load.csv:2:29 (at)", "furlongs", "a length", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact twice", "load.facts.csv", "true\n", "true\nfull,intermodal,false\n", "yard/load.facts.csv:3:6 (name)", "a second time", "once", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact without a value", "load.facts.csv", "true", "", "yard/load.facts.csv:2:17 (value)", "no value", "a number", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact that is none", "load.facts.csv", "intermodal", "intermodel", "yard/load.facts.csv:2:17 (value)", "unknown fact", "one of traffic", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact that the vehicles tell", "load.facts.csv", "intermodal,true", "axles-trailer,5", "yard/load.facts.csv:2:20 (value)", "axles-trailer = 5", "the semi-trailer's axle", "heron-07 teal-12 marsh-23 mire-61"},
		{"a fact without a name", "load.facts.csv", "intermodal", "", "yard/load.facts.csv:2:6 (name)", "without a name", "name of a fact", "heron-07 teal-12 marsh-23 mire-61"},
		{"not UTF-8", "load.csv", "full", "f\xfcll", "yard/load.csv:2:2", "0xFC", "UTF-8", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			files := yard()
			changed := strings.Replace(files[tt.file], tt.old, tt.new, 1)
			if changed == files[tt.file] {
				t.Fatal("nothing was changed")
			}
			files[tt.file] = changed
			f, problems := parseYard(files)
			if len(problems) == 0 {
				t.Fatal("no problem")
			}
			i := slices.IndexFunc(problems, func(p *exchange.Problem) bool {
				return p.Where() == tt.where && strings.Contains(p.Found, tt.found) && strings.Contains(p.Expected, tt.expected)
			})
			if i < 0 {
				t.Errorf("problems\n%s\nwant one at %s: found … %s …; expected … %s …", lines(problems), tt.where, tt.found, tt.expected)
			}
			if got := ids(f); got != tt.left {
				t.Errorf("left %q, want %q\n%s", got, tt.left, lines(problems))
			}
			if len(problems) > 5 {
				t.Errorf("%d problems of one cause:\n%s", len(problems), lines(problems))
			}
		})
	}
}

func lines(p exchange.Problems) string {
	var b strings.Builder
	for _, one := range p {
		b.WriteString(one.Error() + "\n")
	}
	return b.String()
}

// Ten thousand axles of ten thousand tractors that all go by other names are told
// in time, and nothing is left that may lack an axle.
func TestAxlesOfNobody(t *testing.T) {
	files := yard()
	for i := range 10_000 {
		files["tractor.csv"] += fmt.Sprintf("t-%d,,,,,\n", i)
		files["tractor.axle.csv"] += fmt.Sprintf("x-%d,drive,3 m,\n", i)
	}
	f, problems := parseYard(files)
	if len(problems) != 1001 || problems[0].Row != 6 || ids(f) != "" {
		t.Errorf("%d problems, the first %v; left %.200q", len(problems), problems[0], ids(f))
	}
}

// A file of nothing but quotes that are not closed is given up in time, and a few
// of them lose only their own rows.
func TestQuotesThatAreNotClosed(t *testing.T) {
	many := yard()
	many["load.csv"] = "id\n" + strings.Repeat("\"a\n", 100_001)
	delete(many, "load.facts.csv")
	f, problems := parseYard(many)
	if last := problems[len(problems)-1]; len(problems) != 1001 || !strings.Contains(last.Found, "1 more") || ids(f) != "" {
		t.Errorf("%d problems, the last %v; left %q", len(problems), last, ids(f))
	}
	few := yard()
	few["tractor.csv"] += "\"gull-99,Gull\nstork-98,Stork\n"
	few["tractor.axle.csv"] += "stork-98,steer\nstork-98,drive,3 m\ngull-99,steer\n"
	if f, problems := parseYard(few); len(problems) != 1 || problems[0].Row != 4 || ids(f) != "heron-07 teal-12 stork-98 marsh-23 mire-61 full" {
		t.Errorf("%s left %q", lines(problems), ids(f))
	}
}

func TestSemicolonsWithDecimalCommas(t *testing.T) {
	files := yard()
	files["tractor.axle.csv"] = "\ufefftractor;kind;at (m);share\nheron-07;steer;;\nheron-07;drive;3,7;\nteal-12;steer;;\nteal-12;drive;3,65;1,0\n"
	f, problems := parseYard(files)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if at := *f.Tractors[1].Axles[1].At; at != 3.65 {
		t.Errorf("at %v, want 3.65 m", at)
	}
	files["tractor.axle.csv"] = strings.Replace(files["tractor.axle.csv"], "3,7", "3.700", 1)
	if _, problems = parseYard(files); len(problems) != 1 || !strings.Contains(problems[0].Found, "thousands") {
		t.Errorf("3.700 among decimal commas: %v, want it questioned", problems)
	}
}

func TestFolderOfOtherFiles(t *testing.T) {
	for name, found := range map[string]string{"tractors.csv": `"tractors.csv"`, "axles.csv": `"axles.csv"`} {
		files := yard()
		files[name] = "id\n"
		if _, problems := parseYard(files); len(problems) != 1 || !strings.Contains(problems[0].Found, found) || !strings.Contains(problems[0].Expected, "tractor") {
			t.Errorf("%s: %v", name, problems)
		}
	}
	files := yard()
	files["#notes.csv"], files["readme.txt"] = "whatever", "whatever"
	if _, problems := parseYard(files); len(problems) > 0 {
		t.Errorf("files of one's own: %v", problems)
	}
	if _, problems := parseYard(map[string]string{"readme.txt": ""}); len(problems) != 1 {
		t.Errorf("no CSV: %v", problems)
	}
}

// Ten thousand axles of five thousand tractors, one of them bad.
func TestOneBadRowOfTenThousandAxles(t *testing.T) {
	var tractors, axles strings.Builder
	tractors.WriteString("id\n")
	axles.WriteString("tractor,kind,at\n")
	for i := range 5000 {
		fmt.Fprintf(&tractors, "t-%d\n", i)
		at := "3.7 m"
		if i == 3333 {
			at = "3.7 miles of road"
		}
		fmt.Fprintf(&axles, "t-%d,steer,\nt-%d,drive,%s\n", i, i, at)
	}
	f, problems := parseYard(map[string]string{"tractor.csv": tractors.String(), "tractor.axle.csv": axles.String()})
	if len(problems) != 1 || problems[0].Row != 2*3333+3 || problems[0].Column != "at" {
		t.Errorf("problems %v, want one in row %d", problems, 2*3333+3)
	}
	if len(f.Tractors) != 4999 {
		t.Errorf("%d tractors, want the other 4999", len(f.Tractors))
	}
}

// A negative number with a unit reckons nothing out.
var negative = regexp.MustCompile(`^-[0-9.]+ [a-zA-Z]+$`)

// No text that is written begins as a formula does.
func TestNothingIsWrittenAsAFormula(t *testing.T) {
	texts := 0
	rapid.Check(t, func(t *rapid.T) {
		files, err := exchange.WriteCSV(randomFleet(t))
		if err != nil {
			t.Fatal(err)
		}
		for name, data := range files {
			for _, row := range csvRows(t, data) {
				for _, s := range row {
					if s == "" || strings.Trim(s, "-0123456789.") == "" {
						continue
					}
					texts++
					if strings.ContainsAny(s[:1], "=+@\t\r") || s[0] == '-' && !negative.MatchString(s) {
						t.Fatalf("%s: %q", name, s)
					}
				}
			}
		}
	})
	if texts == 0 {
		t.Error("no text was looked at")
	}
}

func FuzzParseCSV(f *testing.F) {
	for name, text := range yard() {
		f.Add(name, text)
	}
	f.Add("tractor.csv", "id;name\n\"a;b\n")
	f.Fuzz(func(t *testing.T, name, text string) {
		files := yard()
		files[name] = text
		back, problems := parseYard(files)
		soundOrTold(t, back, problems, func(v *vehicle.Fleet) (*vehicle.Fleet, error) { return csvTrip(v) })
	})
}

// soundOrTold holds what a reader returned against its promises: what it returns
// is sound, each problem says where and what, and what is sound survives being
// written.
func soundOrTold(t *testing.T, f *vehicle.Fleet, problems exchange.Problems, trip func(*vehicle.Fleet) (*vehicle.Fleet, error)) {
	for _, p := range problems {
		if p.File == "" || p.Found == "" || p.Expected == "" {
			t.Fatalf("a problem that does not say what is wrong: %+v", p)
		}
	}
	if errs := f.Validate(); len(errs) > 0 {
		t.Fatalf("what was read is not sound: %v; problems %v", errs[0], problems)
	}
	if back, err := trip(f); err != nil {
		t.Fatalf("what was read cannot be written and read: %v", err)
	} else if diff := same(f, back); diff != "" {
		t.Fatalf("what was read does not survive:\n%s", diff)
	}
}
