package exchange_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/vehicle"
)

func TestFleetsOnDisk(t *testing.T) {
	f := given(t, "demo.toml", fleets(t)["demo.toml"])
	for _, name := range []string{"a.toml", "a.xlsx", "a.json", "a/", "b"} {
		path := filepath.Join(t.TempDir(), name)
		if strings.HasSuffix(name, "/") {
			path += "/"
		}
		for range 2 { // the second time over the first
			if err := exchange.SaveFleet(path, f); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		back, err := exchange.OpenFleet(path)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if diff := same(f, back); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		left, err := filepath.Glob(filepath.Join(filepath.Dir(strings.TrimSuffix(path, "/")), "*", ".underpin-*"))
		if err != nil || len(left) > 0 {
			t.Errorf("%s: left behind %v (%v)", name, left, err)
		}
	}
}

func TestOpenFleetRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for path, found := range map[string]string{
		filepath.Join(dir, "none.xlsx"): "no such file",
		filepath.Join(dir, "none.json"): "no such file",
		write("a.ods", ""):              "another kind",
		write("a.xlsx", "id"):           "no workbook",
		write("a.json", "id"):           "not JSON",
		t.TempDir():                     "no CSV file",
	} {
		f, err := exchange.OpenFleet(path)
		var problems exchange.Problems
		if !errors.As(err, &problems) || len(problems) != 1 || !strings.Contains(problems[0].Found, found) || f == nil {
			t.Errorf("%s: %v, want one problem with %q", path, err, found)
		}
	}
	if err := exchange.SaveFleet(filepath.Join(dir, "a.pdf"), &vehicle.Fleet{}); err == nil {
		t.Error("a fleet was saved as .pdf")
	}
}

// When one of several files cannot be written, none is changed.
func TestFilesAreWrittenAllOrNone(t *testing.T) {
	dir := t.TempDir()
	a := filepath.Join(dir, "a")
	if err := os.WriteFile(a, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := exchange.WriteWhole(map[string][]byte{a: []byte("after"), filepath.Join(dir, "none", "b"): nil}); err == nil {
		t.Fatal("a file was written into a folder that is not there")
	}
	entries, err := os.ReadDir(dir)
	if data, _ := os.ReadFile(a); string(data) != "before" || err != nil || len(entries) != 1 {
		t.Errorf("the file holds %q; beside it %v", data, entries)
	}
	if err := exchange.WriteWhole(map[string][]byte{a: []byte("after")}); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(a)
	if data, _ := os.ReadFile(a); string(data) != "after" || err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the file holds %q, mode %v", data, info.Mode())
	}
}

func TestFleetChanges(t *testing.T) {
	was, _ := parseYard(yard())
	files := yard()
	files["tractor.csv"] = strings.NewReplacer("heron-07,Heron,18000", "gull-99,Gull,", "7800 kg", "7900 kg").Replace(files["tractor.csv"])
	files["tractor.axle.csv"] = strings.ReplaceAll(files["tractor.axle.csv"], "heron-07", "gull-99")
	files["semi-trailer.csv"] = strings.Replace(files["semi-trailer.csv"], "marsh-23,,,\n", "", 1) + "marsh-23,,,\n"
	files["fleet.csv"] = "law\neu\n"
	now, problems := parseYard(files)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	var got []string
	for _, c := range exchange.FleetChanges(was, now) {
		line := c.What + " " + c.Kind + " " + c.ID
		if c.What == "changed" {
			for _, f := range c.Fields {
				line += " " + f.Field + ":" + f.Was + ">" + f.Now
			}
		}
		got = append(got, line)
	}
	want := []string{
		"changed fleet  law:>eu",
		"added tractor gull-99",
		"changed tractor teal-12 weighbridge.tractor-on:7800 kg>7900 kg",
		"removed tractor heron-07",
		"moved semi-trailer marsh-23",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("changes\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A fleet differs from itself in nothing, and from another in something.
func TestFleetChangesAreComplete(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := (*vehicle.Fleet)(randomFleet(t)), (*vehicle.Fleet)(randomFleet(t))
		if c := exchange.FleetChanges(a, a); len(c) > 0 {
			t.Fatalf("from itself: %+v", c)
		}
		if c := exchange.FleetChanges(a, b); (len(c) == 0) != (same(a, b) == "") {
			t.Fatalf("changes %+v\ndifference %s", c, same(a, b))
		}
	})
}
