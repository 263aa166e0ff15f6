package drawing_test

import (
	"bytes"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"underpin/assess"
	"underpin/drawing"
	"underpin/examples"
	"underpin/exchange"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
	"underpin/vehicle"
)

var update = flag.Bool("update", false, "write the drawings that the tests compare with")

// fleet reads an example file.
func fleet(t testing.TB, name string) *vehicle.Fleet {
	t.Helper()
	data, err := fs.ReadFile(examples.Files, name+".toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return &f.Fleet
}

// books are the rulebooks, each read once.
var (
	booksMu sync.Mutex
	books   = map[string]*rule.Book{}
)

func book(t testing.TB, name string) *rule.Book {
	t.Helper()
	booksMu.Lock()
	defer booksMu.Unlock()
	if books[name] == nil {
		b, err := rule.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		books[name] = b
	}
	return books[name]
}

// pair compiles a tractor and a semi-trailer of a fleet; empty ids are the first.
func pair(t testing.TB, f *vehicle.Fleet, tractor, trailer string, cases ...string) *assess.Pairing {
	t.Helper()
	tr, st := &f.Tractors[0], &f.Trailers[0]
	for i := range f.Tractors {
		if f.Tractors[i].ID == tractor {
			tr = &f.Tractors[i]
		}
	}
	for i := range f.Trailers {
		if f.Trailers[i].ID == trailer {
			st = &f.Trailers[i]
		}
	}
	cs, err := assess.Cases(f, st, cases...)
	if err != nil {
		t.Fatal(err)
	}
	return assess.Compile(assess.Combination{Tractor: tr, Trailer: st, Cases: cs, Law: book(t, f.Law)})
}

// A sample is one drawing of the examples.
type sample struct {
	name, file       string
	tractor, trailer string
	cases            []string
	o                drawing.Options
	lift             map[int]bool // axles of the tractor that are set lifted
}

var samples = []sample{
	{name: "reference-a", file: "reference-a", cases: []string{"laden"}},
	{name: "reference-a-empty", file: "reference-a", cases: []string{"empty"}, o: drawing.Options{Case: "empty"}},
	{name: "reference-a-phone", file: "reference-a", cases: []string{"laden"}, o: drawing.Options{Phone: true}},
	{name: "reference-b-lifted", file: "reference-b", cases: []string{"laden"}, lift: map[int]bool{1: true}},
	{name: "reference-c", file: "reference-c", cases: []string{"laden"}, o: drawing.Options{Units: unit.USCustomary}},
	{name: "reference-c-phone", file: "reference-c", cases: []string{"laden"}, o: drawing.Options{Units: unit.USCustomary, Phone: true}},
	{name: "wb-40", file: "wb-40", cases: []string{"empty"}},
	{name: "mega-high", file: "demo", tractor: "heron-07", trailer: "fen-26", cases: []string{"laden"}},
	{name: "tank", file: "demo", tractor: "heron-07", trailer: "weir-34", cases: []string{"laden"}},
	{name: "low-loader", file: "demo", tractor: "bittern-30", trailer: "sluice-46", cases: []string{"machine"}, o: drawing.Options{Case: "machine"}},
}

func (s sample) compile(t testing.TB) (*assess.Pairing, *assess.Result) {
	f := fleet(t, s.file)
	for i := range s.lift {
		for k := range f.Tractors {
			up := true
			f.Tractors[k].Axles[i].Lifted = &up
		}
	}
	p := pair(t, f, s.tractor, s.trailer, s.cases...)
	if len(s.lift) > 0 { // as it is set, not as it would be better
		return p, p.At(p.Now())
	}
	return p, p.Assess(assess.AimMargin)
}

func svg(t testing.TB, s *scene.Scene) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.SVG(&b, scene.SVGOptions{Standalone: true}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// compare holds a drawing against the one on file, which was looked at.
func compare(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name+".svg")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not as on file; look at it, then run with -update", file)
	}
}

func TestPlanAndTurnAreAsOnFile(t *testing.T) {
	for _, s := range samples {
		switch s.name {
		case "reference-a", "reference-a-phone", "reference-c", "wb-40", "tank":
			t.Run(s.name, func(t *testing.T) {
				p, r := s.compile(t)
				compare(t, "plan-"+s.name, svg(t, drawing.Plan(p, r, s.o)))
				if s.name == "reference-c" { // its law sets no circle
					s.o.Circle = &drawing.Circle{Name: "yard", Outer: 45 * unit.Foot, Inner: 20 * unit.Foot}
				}
				compare(t, "turn-"+s.name, svg(t, drawing.Turning(p, r, s.o)))
			})
		}
	}
}

func TestSideIsAsOnFile(t *testing.T) {
	for _, s := range samples {
		t.Run(s.name, func(t *testing.T) {
			p, r := s.compile(t)
			compare(t, "side-"+s.name, svg(t, drawing.Side(p, r, s.o)))
		})
	}
}
