package examples_test

import (
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/tomlfile"
	"underpin/unit"
)

// A pair is one row of expected.toml.
type pair struct {
	File    string   `toml:"file"`
	Law     string   `toml:"law"`
	Tractor string   `toml:"tractor"`
	Trailer string   `toml:"trailer"`
	Load    string   `toml:"load"`
	Answer  string   `toml:"answer"`
	Finding string   `toml:"finding"`
	Value   string   `toml:"value"`
	Limit   string   `toml:"limit"`
	Also    []string `toml:"also"`
	Setting string   `toml:"setting"`
	Missing []string `toml:"missing"`
	Because string   `toml:"because"`
}

func (p pair) String() string { return p.Tractor + " with " + p.Trailer + ", " + p.Load }

func expected(t *testing.T) []pair {
	t.Helper()
	data, err := fs.ReadFile(examples.Files, expectedFile)
	if err != nil {
		t.Fatal(err)
	}
	var rows struct {
		Pairs []pair `toml:"pair"`
	}
	if _, err := tomlfile.Decode(expectedFile, data, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows.Pairs) == 0 {
		t.Fatal("no pair in " + expectedFile)
	}
	return rows.Pairs
}

// quantity reads a number with its unit and returns it in SI with half of its
// last printed digit.
func quantity(t *testing.T, text string) (value, half float64) {
	t.Helper()
	digits := 0
	if _, frac, ok := strings.Cut(strings.TrimRight(text, " kgmNt%"), "."); ok {
		digits = len(frac)
	}
	for _, d := range []unit.Dimension{unit.MassDim, unit.LengthDim, unit.ForceDim, unit.Number} {
		v, err := unit.Parse(text, d)
		if err != nil {
			continue
		}
		scale := 1.0
		switch {
		case d == unit.Number:
			scale = 0.01 // shares are written in per cent
		default:
			u, _ := unit.Lookup(text[strings.LastIndexByte(text, ' ')+1:])
			scale = u.SI
		}
		return v, 0.5 * math.Pow10(-digits) * scale
	}
	t.Fatalf("%q is no quantity", text)
	return 0, 0
}

// TestExpectedByHand works every row of expected.toml out again: the answer,
// the value that decides, and that nothing else fails than the row says.
func TestExpectedByHand(t *testing.T) {
	all := fleets(t)
	seen := map[string]bool{}
	for _, p := range expected(t) {
		t.Run(p.String(), func(t *testing.T) {
			f := all[p.File]
			if f == nil {
				t.Fatalf("no file %s", p.File)
			}
			if seen[p.File+p.String()] {
				t.Fatal("a row twice")
			}
			seen[p.File+p.String()] = true
			if p.Because == "" {
				t.Error("a row without a reason")
			}
			h, err := newHand(f, p.Law, p.Tractor, p.Trailer, p.Load)
			if err != nil {
				t.Fatal(err)
			}
			r := h.all()
			if r.answer != p.Answer {
				t.Errorf("%s by hand (as set: %v); %s expected", r.answer, r.set, p.Answer)
			}
			var failing []string
			for _, c := range r.now {
				if !c.holds() && !c.warns {
					failing = append(failing, c.finding)
				}
				if !c.holds() && c.warns && p.Answer == "fits" {
					t.Errorf("%s warns: %.4f against %.4f; an example that fits should be free of that", c.finding, c.value, c.limit)
				}
				if c.finding == p.Finding {
					value, half := quantity(t, p.Value)
					limit, _ := quantity(t, p.Limit)
					if !(math.Abs(c.value-value) <= half*1.000001) || !(math.Abs(c.limit-limit) <= 1e-9*math.Max(1, limit)) {
						t.Errorf("%s: %.6f against %.6f by hand; %s against %s expected", c.finding, c.value, c.limit, p.Value, p.Limit)
					}
				}
			}
			var want []string
			if p.Finding != "" {
				want = append(slices.Clone(p.Also), p.Finding)
			}
			slices.Sort(want)
			slices.Sort(failing)
			if !slices.Equal(failing, want) {
				t.Errorf("fails as set:\n\t%s\nexpected:\n\t%s", strings.Join(failing, "\n\t"), strings.Join(want, "\n\t"))
			}
			for _, m := range p.Missing {
				if !slices.ContainsFunc(r.missing, func(s string) bool { return strings.Contains(s, m) }) {
					t.Errorf("%q is not among what is missing: %v", m, r.missing)
				}
			}
			if (p.Answer == "cannot-tell") != (len(p.Missing) > 0) || (p.Answer == "fits-if") != (p.Setting != "") {
				t.Error("missing belongs to cannot-tell, setting to fits-if")
			}
		})
	}
}

// TestHandReproducesTheHandbook holds the calculation by hand itself against
// what was computed elsewhere.
func TestHandReproducesTheHandbook(t *testing.T) {
	all := fleets(t)
	tests := []struct {
		file, law, tractor, trailer, finding string
		want, half                           float64
		source                               string
	}{
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "tractor axle 1 against its plate", 7171.744, 0.0005, "handbook 03, 8, A: F 7.171744 t"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "tractor axle 2 against its plate", 10937.346, 0.0005, "handbook 03, 8, A: R 10.937346 t"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "bogie against its plate", 21890.909, 0.0005, "handbook 03, 8, A: B 21.890909 t"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "load on the kingpin against the semi-trailer's plate", 10309.091, 0.0005, "handbook 03, 8, A: K 10.309091 t"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "share of the drive axles in the gross mass", 0.27343, 5e-6, "handbook 03, 8, A: 27.343 %"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "share of the steered axle in the tractor's mass", 0.39603, 5e-6, "handbook 03, 8, A: 39.603 %"},
		{"reference-a.toml", "eu", "tractor-a", "trailer-a", "D-value of the kingpin", 91822, 0.5, "handbook 03, 6.3: T 18, R 39, U 12: 91.822 kN"},
		{"reference-b.toml", "uk", "tractor-b", "trailer-b", "tractor axle 1 against its plate", 5809.866, 0.0005, "handbook 03, 8, B: steer 5.809866 t"},
		{"reference-b.toml", "uk", "tractor-b", "trailer-b", "tractor axle 2 against its plate", 5520.781, 0.0005, "handbook 03, 8, B: pusher 5.520781 t"},
		{"reference-b.toml", "uk", "tractor-b", "trailer-b", "tractor axle 3 against its plate", 8825.197, 0.0005, "handbook 03, 8, B: drive 8.825197 t"},
		{"reference-c.toml", "us", "tractor-c", "trailer-c", "tractor axle 1 against its plate", 11883.6 * float64(unit.Pound), 0.05 * float64(unit.Pound), "handbook 03, 8, C: e = 8 in, 11,883.6 lb"},
		{"reference-c.toml", "us", "tractor-c", "trailer-c", "tractor rear axles together in law", 32572.0 * float64(unit.Pound), 0.05 * float64(unit.Pound), "handbook 03, 8, C: e = 8 in, 32,572.0 lb"},
		{"reference-c.toml", "us", "tractor-c", "trailer-c", "bogie against its plate", 33544.44 * float64(unit.Pound), 0.005 * float64(unit.Pound), "handbook 03, 8, C: 33,544.44 lb"},
		{"largest-eu.toml", "eu", "tractor-e", "trailer-e", "inner radius in the 12.50 m circle", 5.394526546, 1e-6, "handbook 04, R4 at 360°, body side line"},
		{"largest-eu.toml", "eu", "tractor-e", "trailer-e", "overall length", 16.5, 1e-12, "handbook 04, 0, vehicle E: 16.500 m"},
	}
	for _, test := range tests {
		h, err := newHand(all[test.file], test.law, test.tractor, test.trailer, "laden")
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, c := range h.all().now {
			if c.finding != test.finding {
				continue
			}
			found = true
			if !(math.Abs(c.value-test.want) <= test.half*1.001) {
				t.Errorf("%s, %s: %.9g; %.9g expected (%s)", test.file, test.finding, c.value, test.want, test.source)
			}
		}
		if !found {
			t.Errorf("%s: no check named %q", test.file, test.finding)
		}
	}
}
