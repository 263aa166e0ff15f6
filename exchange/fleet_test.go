package exchange_test

import (
	"bytes"
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/exchange"
	"underpin/tomlfile"
)

func fleets(t testing.TB) map[string][]byte {
	t.Helper()
	entries, err := examples.Files.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, e := range entries {
		if e.Name() == "expected.toml" || e.Name() == "parts.toml" { // no fleet files
			continue
		}
		data, err := examples.Files.ReadFile(e.Name())
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = data
	}
	if len(out) < 5 {
		t.Fatalf("found %d example files, there are more", len(out))
	}
	return out
}

func TestRoundTripLosesNothing(t *testing.T) {
	for name, data := range fleets(t) {
		first, err := exchange.ParseFleet(name, data)
		if err != nil {
			t.Fatal(err)
		}
		text, err := exchange.WriteFleet(&first.Fleet)
		if err != nil {
			t.Fatal(err)
		}
		second, err := exchange.ParseFleet("written "+name, text)
		if err != nil {
			t.Fatalf("%s as written cannot be read: %v\n%s", name, err, text)
		}
		if !reflect.DeepEqual(first.Fleet, second.Fleet) {
			t.Errorf("%s changed on the way:\n%s", name, text)
		}
	}
}

const tractor = `
[[tractor]]
id = "a"
axle = [{ kind = "steer" }, { at = "3700 mm", kind = "drive" }]
`

const trailer = `
[[semi-trailer]]
id = "b"
axle = [{ at = "7.7 m" }]
`

// Bad input gets one clear error that says where, what was found and what was
// expected. The texts are those the issue asks for.
func TestBadFilesAreRefused(t *testing.T) {
	for _, tt := range []struct {
		name, text, where, found, expected string
	}{
		{"kg where t were meant", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", tare = "5500 t"`, 1), "f.toml:4:34", "5500000 kg", "perhaps: 5500 kg"},
		{"t where kg were meant", strings.Replace(tractor, `kind = "steer"`, `kind = "steer", tare = "5.5 kg"`, 1), "f.toml:4:34", "5.5 kg", "perhaps: 5500 kg"},
		{"negative spacing", strings.Replace(tractor, `at = "3700 mm"`, `gap = "-1.3 m"`, 1), "f.toml:4:37", "-1300 mm", "300 mm to 20 m"},
		{"unknown field", tractor + "wheelbse = \"3700 mm\"\n", "f.toml:5:1", `unknown key "wheelbse"`, "one of id, name, note, axle, weighbridge, certificate, gross-plate"},
		{"duplicate id", tractor + tractor, "f.toml:7:6", `"a" a second time`, "an id of its own"},
		{"NaN", strings.Replace(tractor, `at = "3700 mm"`, `at = "3700 mm", share = nan`, 1), "f.toml:4:55", "NaN", "0 to 1"},
		{"NaN as a quantity", strings.Replace(tractor, "3700 mm", "NaN mm", 1), "f.toml:4:36", "NaN", "a length with its unit"},
		{"a bare number", strings.Replace(tractor, `"3700 mm"`, `3700`, 1), "f.toml:4:36", "3700", "in quotes with its unit"},
		{"a mass for a length", strings.Replace(tractor, "3700 mm", "3700 kg", 1), "f.toml:4:36", "kg is a unit of mass", "a length"},
		{"no axle", "[[semi-trailer]]\nid = \"b\"\n", "f.toml:1:3", "no axle", "at least one axle"},
		{"broken UTF-8", "name = \"\xff\"\n", "f.toml:1:9", "0xFF", "UTF-8"},
		{"not TOML", "[[tractor]\n", "f.toml:1:10", "not TOML", "valid TOML"},
		{"axles out of order", strings.Replace(tractor, `{ kind = "steer" }`, `{ kind = "steer" }, { at = "4 m", kind = "idle" }`, 1), "f.toml:4:60", "not behind", "front to rear"},
		{"two words for one", strings.Replace(trailer, `at = "7.7 m"`, `at = "7.7 m", steering = "castor"`, 1), "f.toml:4:36", "castor", "self, command"},
		{"shares that do not add up", strings.Replace(trailer, `{ at = "7.7 m" }`, `{ at = "7.7 m", share = 0.5 }, { gap = "1.3 m", share = 0.4 }`, 1), "f.toml:4:33", "0.9", "summing to 1"},
		{"tare half given", trailer + "tare-pin = \"1900 kg\"\n", "f.toml:5:12", "tare-pin without tare-bogie", "both"},
		{"slider back to front", tractor + "fifth-wheel.slider = { foremost = \"3.3 m\", rearmost = \"3 m\" }\n", "f.toml:5:35", "behind rearmost", "nearer to the front axle"},
		{"a fact that is none", "[facts]\ntrafic = \"national\"\n", "f.toml:2:10", `unknown fact "trafic"`, "one of traffic, network"},
		{"a word that the fact has not", "[facts]\ntraffic = \"domestic\"\n", "f.toml:2:11", `traffic = "domestic"`, "national, international"},
		{"a fact that is no number", "[[load]]\nid = \"x\"\nfacts = { container-ft = nan }\n", "f.toml:3:26", "container-ft = NaN", "a number from 0 up"},
		{"a fact below zero", "[[load]]\nid = \"x\"\n[load.facts]\ncontainer-ft = -45\n", "f.toml:4:16", "container-ft = -45", "a number from 0 up"},
		{"a switch in quotes", "[facts]\nintermodal = \"true\"\n", "f.toml:2:14", `intermodal = "true"`, "true or false"},
		{"a length without its unit", "[facts]\ntyre-width = 385\n", "f.toml:2:14", "tyre-width = 385", "in quotes with its unit"},
		{"a date that is none", "[facts]\ndate = \"tomorrow\"\n", "f.toml:2:8", "tomorrow", "a date such as"},
		{"what the axles tell", "[facts]\naxles-trailer = 5\n", "f.toml:2:17", "axles-trailer", "the semi-trailer's axles"},
		{"what the body tells", "[facts]\nconditioned-body = true\n", "f.toml:2:20", "conditioned-body", "the semi-trailer's conditioned-body"},
		{"a fact with a table in it", "[facts.traffic]\nkind = \"national\"\n", "f.toml:1:8", "traffic = map", "one of national, international"},
		{"a pin that is none", trailer + "kingpin.size = \"60 mm\"\n", "f.toml:5:16", "60 mm", "50 mm (2 in) or 90 mm"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := exchange.ParseFleet("f.toml", []byte(tt.text))
			var e *tomlfile.Error
			var many exchange.Invalid
			if errors.As(err, &many) {
				e = many[0]
			} else if !errors.As(err, &e) {
				t.Fatalf("error %v, want a *tomlfile.Error", err)
			}
			if e.Where() != tt.where || !strings.Contains(e.Found, tt.found) || !strings.Contains(e.Expected, tt.expected) {
				t.Errorf("%s\nwant %s: found … %s …; expected … %s …", e, tt.where, tt.found, tt.expected)
			}
		})
	}
}

// Each wrong fact is told by itself, and those of the sound ones that are dates or
// lengths are kept as they were written.
func TestFactsAreRead(t *testing.T) {
	_, err := exchange.ParseFleet("f.toml", []byte("[facts]\ntrafic = \"national\"\nintermodal = 1\nsuspension = \"air\"\n"))
	var many exchange.Invalid
	if !errors.As(err, &many) || len(many) != 3 {
		t.Errorf("three wrong facts: %v", err)
	}
	f, err := exchange.ParseFleet("f.toml", []byte("[facts]\ndate = 2026-11-25\ntyre-width = \"385 mm\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	if f.Facts["date"] != "2026-11-25" || f.Facts["tyre-width"] != "385 mm" {
		t.Errorf("facts %v", f.Facts)
	}
	if _, err := exchange.WriteJSON(&f.Fleet); err != nil {
		t.Error(err)
	}
}

func TestFileTooLarge(t *testing.T) {
	path := t.TempDir() + "/big.toml"
	if err := os.WriteFile(path, bytes.Repeat([]byte("# filler\n"), 10<<20/9), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := exchange.ReadFleet(path)
	var e *tomlfile.Error
	if !errors.As(err, &e) || !strings.Contains(e.Found, "10.0 MB") || !strings.Contains(e.Expected, "at most 8 MB") {
		t.Errorf("error %v, want one that names 10.0 MB and the 8 MB accepted", err)
	}
}

func FuzzParseFleet(f *testing.F) {
	for _, data := range fleets(f) {
		f.Add(data)
	}
	f.Add([]byte(tractor + trailer))
	f.Fuzz(func(t *testing.T, data []byte) {
		fleet, err := exchange.ParseFleet("f.toml", data)
		if err != nil {
			var e *tomlfile.Error
			var many exchange.Invalid
			if !errors.As(err, &e) && !errors.As(err, &many) {
				t.Fatalf("an error without a place: %v", err)
			}
			return
		}
		text, err := exchange.WriteFleet(&fleet.Fleet)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := exchange.ParseFleet("written", text); err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
	})
}
