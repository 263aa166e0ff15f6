package examples_test

import (
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/exchange"
)

// Files of the folder that are no fleet files.
const (
	expectedFile = "expected.toml"
	partsFile    = "parts.toml"
)

// fleets reads every fleet file of the folder.
func fleets(t *testing.T) map[string]*exchange.FleetFile {
	t.Helper()
	names, err := fs.Glob(examples.Files, "*.toml")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*exchange.FleetFile{}
	for _, name := range names {
		if name == expectedFile || name == partsFile {
			continue
		}
		data, err := fs.ReadFile(examples.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := exchange.ParseFleet(name, data)
		if err != nil {
			if bad, ok := err.(exchange.Invalid); ok {
				for _, e := range bad {
					t.Error(e)
				}
			}
			t.Fatal(err)
		}
		out[name] = f
	}
	if len(out) == 0 {
		t.Fatal("no fleet file in the folder")
	}
	return out
}

func TestFilesAreFleetFiles(t *testing.T) {
	all := fleets(t)
	onDisk, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range onDisk {
		if name := e.Name(); strings.HasSuffix(name, ".toml") && name != expectedFile && name != partsFile && all[name] == nil {
			t.Errorf("%s is in the folder and not in Files", name)
		}
	}
	for name, f := range all {
		if f.Name == "" || f.Law == "" || f.Note == "" {
			t.Errorf("%s: a name, a law and a note of where the figures come from belong to an example", name)
		}
		for i := range f.Tractors {
			if f.Tractors[i].Name == "" || f.Tractors[i].Note == "" {
				t.Errorf("%s: tractor %s without name or note", name, f.Tractors[i].ID)
			}
		}
		for i := range f.Trailers {
			if f.Trailers[i].Name == "" || f.Trailers[i].Note == "" {
				t.Errorf("%s: semi-trailer %s without name or note", name, f.Trailers[i].ID)
			}
		}
	}
}

// TestDemoIsVaried holds the demo fleet to what it was asked to be.
func TestDemoIsVaried(t *testing.T) {
	f := fleets(t)["demo.toml"]
	if f == nil {
		t.Fatal("no demo.toml")
	}
	if len(f.Tractors) < 6 {
		t.Errorf("%d tractors; at least 6 wanted", len(f.Tractors))
	}
	kinds := map[string]bool{}
	for i := range f.Trailers {
		kinds[f.Trailers[i].Kind] = true
	}
	delete(kinds, "")
	if len(f.Trailers) < 10 || len(kinds) < 10 {
		t.Errorf("%d semi-trailers of %d kinds; at least 10 of 10 wanted", len(f.Trailers), len(kinds))
	}
	has := map[string]bool{}
	for i := range f.Tractors {
		w := &f.Tractors[i].FifthWheel
		has["a fixed fifth wheel"] = has["a fixed fifth wheel"] || w.Slider == nil && w.At != nil
		has["a setting not stated"] = has["a setting not stated"] || w.Slider != nil && w.At == nil
		has["several coupling levels"] = has["several coupling levels"] || len(w.Levels) > 1
		has["a zero-emission drive with its mass"] = has["a zero-emission drive with its mass"] || f.Tractors[i].Fuel == "battery" && f.Tractors[i].TechnologyMass != nil
		has["a 90 mm jaw"] = has["a 90 mm jaw"] || w.Pin != nil && *w.Pin > 0.08
	}
	for i := range f.Trailers {
		s := &f.Trailers[i]
		has["a nose unit"] = has["a nose unit"] || len(s.Nose) > 0
		has["tare from a ticket"] = has["tare from a ticket"] || s.Weighbridge != nil && s.TarePin != nil
		has["missing data"] = has["missing data"] || s.TarePin == nil
		for k := range s.Axles {
			has["a lifting trailer axle"] = has["a lifting trailer axle"] || s.Axles[k].Liftable
			has["a steering trailer axle"] = has["a steering trailer axle"] || s.Axles[k].Steering != ""
		}
		if !strings.Contains(s.Note, "nvented") {
			t.Errorf("%s does not say that it is invented", s.ID)
		}
	}
	for i := range f.Tractors {
		if !strings.Contains(f.Tractors[i].Note, "nvented") {
			t.Errorf("%s does not say that it is invented", f.Tractors[i].ID)
		}
	}
	for what, yes := range has {
		if !yes {
			t.Errorf("the demo lacks %s", what)
		}
	}
	for _, d := range f.Derived {
		if d.Check != "" {
			t.Errorf("%s, %s: %s", d.Vehicle, d.Field, d.Check)
		}
	}
}

var (
	inBackticks = regexp.MustCompile("`([a-z0-9][a-z0-9-]*)`")
	pairCommand = regexp.MustCompile(`pair examples/([a-z0-9.-]+) ([a-z0-9-]+) ([a-z0-9-]+)(?: .*--load ([a-z0-9-]+))?`)
)

// TestReadmeNamesWhatThereIs holds every id and every command of README.md
// against the files, and every pair of expected.toml against README.md.
func TestReadmeNamesWhatThereIs(t *testing.T) {
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	all := fleets(t)
	known := map[string]bool{"empty": true, "laden": true, "fits": true, "fits-if": true, "does-not-fit": true, "cannot-tell": true}
	for name, f := range all {
		known[name] = true
		if !strings.Contains(string(text), "("+name+")") {
			t.Errorf("README.md does not link to %s", name)
		}
		for i := range f.Tractors {
			known[f.Tractors[i].ID] = true
		}
		for i := range f.Trailers {
			known[f.Trailers[i].ID] = true
		}
		for i := range f.Loads {
			known[f.Loads[i].ID] = true
		}
	}
	ids := inBackticks.FindAllSubmatch(text, -1)
	if len(ids) == 0 {
		t.Error("README.md names no vehicle")
	}
	for _, m := range ids {
		if !known[string(m[1])] {
			t.Errorf("README.md names %s, which no example has", m[1])
		}
	}
	commands := pairCommand.FindAllSubmatch(text, -1)
	if len(commands) == 0 {
		t.Error("README.md shows no command")
	}
	for _, m := range commands {
		f := all[string(m[1])]
		if f == nil {
			t.Errorf("a command of README.md names %s, which is not there", m[1])
			continue
		}
		_, okT := f.Tractor(string(m[2]))
		_, okS := f.Trailer(string(m[3]))
		_, okL := f.Load(string(m[4]))
		okL = okL || len(m[4]) == 0 || string(m[4]) == "empty" || string(m[4]) == "laden"
		if !okT || !okS || !okL {
			t.Errorf("a command of README.md names what %s does not have: %s", m[1], m[0])
		}
	}
	lines := strings.Split(string(text), "\n")
	for _, p := range expected(t) {
		row := "| `" + p.Tractor + "` | `" + p.Trailer + "` | `" + p.Load + "` | `" + p.Answer + "` |"
		if !slices.ContainsFunc(lines, func(l string) bool { return strings.HasPrefix(l, row) }) {
			t.Errorf("README.md has no row %s", row)
		}
	}
}
