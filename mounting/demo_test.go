package mounting_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// stores is the demo: fleet, catalogue, law. Each call reads it anew, so that a
// test may change what it wants.
type stores struct {
	fleet *exchange.FleetFile
	file  *mounting.File
	law   *rule.Book
}

func demo(t testing.TB) *stores {
	t.Helper()
	read := func(name string) []byte {
		data, err := examples.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	fleet, err := exchange.ParseFleet("demo.toml", read("demo.toml"))
	if err != nil {
		t.Fatal(err)
	}
	file, err := exchange.ParseParts("parts.toml", read("parts.toml"))
	if err != nil {
		t.Fatal(err)
	}
	law, err := exchange.OpenLaw(fleet.Law, "")
	if err != nil {
		t.Fatal(err)
	}
	return &stores{fleet, file, law}
}

func (s *stores) task(t testing.TB, brief string) mounting.Task {
	t.Helper()
	b := s.file.Brief(brief)
	if b == nil {
		t.Fatalf("no brief %s", brief)
	}
	tractor, ok := s.fleet.Tractor(b.Tractor)
	if !ok {
		t.Fatalf("no tractor %s", b.Tractor)
	}
	return mounting.Task{Fleet: &s.fleet.Fleet, Tractor: tractor, Chassis: s.file.ChassisOf(b.Tractor), Brief: b, Parts: s.file.Parts, Law: s.law, Day: "2026-11-25"}
}

func (s *stores) request(t testing.TB, fitting string) *mounting.Request {
	t.Helper()
	g := s.file.Fitting(fitting)
	if g == nil {
		t.Fatalf("no fitting %s", fitting)
	}
	return &mounting.Request{Task: s.task(t, g.Brief), File: s.file, Fitting: g, Title: mounting.Title{Number: "7", Revision: "A", Date: "2026-11-25", Subject: "Heron 07"}}
}

func length(mm float64) *unit.Length { return new(unit.Length(mm * 1e-3)) }

// Every position of the answer is held against asking package assess at that
// one place, with the coupling fixed there, at both ends of the height's
// tolerance, each load case by itself.
func TestPositionsAgainstAskingOneByOne(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	// Semi-trailers that fit, that fit in part, that lift an axle, that never fit.
	task.Brief.Trailers = []string{"weir-34", "quay-37", "ford-55", "eddy-58", "reed-49", "tarn-31", "fen-26", "mire-61", "brook-52"}
	task.Brief.Wished = nil
	p, err := task.Positions(20 * unit.Tonne)
	if err != nil {
		t.Fatal(err)
	}
	inside, outside, cut := 0, 0, 0
	for i := range p.Trailers {
		tp := &p.Trailers[i]
		if h := len(tp.Spans); h > 0 && (tp.Spans[0].From > p.Zone.From+1e-6 || tp.Spans[h-1].To < p.Zone.To-1e-6) {
			cut++
		}
		for mm := 2900; mm <= 3400; mm += 20 {
			x := unit.Length(float64(mm) * 1e-3)
			near := slices.ContainsFunc(tp.Spans, func(s mounting.Span) bool {
				return math.Abs(float64(x-s.From)) < 2e-5 || math.Abs(float64(x-s.To)) < 2e-5
			})
			if near && x != p.Zone.From && x != p.Zone.To {
				continue // an end on the exact lap is found by halving
			}
			want := fitsAt(t, &task, tp.Trailer, x)
			if got := tp.Spans.Contains(x); got != want {
				t.Errorf("%s at %d mm: lawful %v, and asked there %v; the answer has %v (%s)", tp.Trailer.ID, mm, got, want, tp.Spans, tp.Why)
			}
			if want {
				inside++
			} else {
				outside++
			}
		}
		if len(tp.Spans) == 0 && tp.Why == "" {
			t.Errorf("%s has no position, and nothing says why", tp.Trailer.ID)
		}
	}
	if inside < 20 || outside < 20 || cut < 2 {
		t.Errorf("%d places inside, %d outside, %d ranges that end within the zone: too few to prove anything", inside, outside, cut)
	}
	if tp := trailer(p, "mire-61"); tp.Answer != rule.CannotTell || len(tp.Missing) == 0 {
		t.Errorf("mire-61, which nobody weighed, is %s, missing %v", tp.Answer, tp.Missing)
	}
	if tp := trailer(p, "fen-26"); tp.Answer != rule.DoesNotFit || !strings.Contains(tp.Why, "height") {
		t.Errorf("fen-26 behind heron-07 is %s: %s; expected its height to be too much (examples/README.md)", tp.Answer, tp.Why)
	}
}

func trailer(p *mounting.Positions, id string) *mounting.TrailerPlaces {
	for i := range p.Trailers {
		if p.Trailers[i].Trailer.ID == id {
			return &p.Trailers[i]
		}
	}
	return nil
}

// fitsAt asks assess about a fixed coupling at one place.
func fitsAt(t *testing.T, task *mounting.Task, s *vehicle.SemiTrailer, x unit.Length) bool {
	t.Helper()
	cases, err := assess.Cases(task.Fleet, s, task.Brief.Loads...)
	if err != nil {
		t.Fatal(err)
	}
	for _, off := range []float64{-12, 12} { // 1150 ± 12 unladen, 1130 ± 12 laden, raised 60 mm above unladen
		for i := range cases {
			tr := *task.Tractor
			w := tr.FifthWheel
			d := 500 * unit.Kilonewton
			tr.FifthWheel = vehicle.FifthWheel{At: &x, D: &d, Imposed: new(20 * unit.Tonne), ReadFrom: "plate", Pin: s.Kingpin.Size, Wedge: new(true), Tilting: "pitch", TiltDepth: w.TiltDepth,
				Mounting: &vehicle.Rated{D: &d, Imposed: new(20 * unit.Tonne), ReadFrom: "plate"},
				Levels:   []vehicle.Level{{Unladen: length(1150 + off), Laden: length(1130 + off), Raised: length(1210 + off)}}}
			r := assess.Compile(assess.Combination{Tractor: &tr, Trailer: s, Cases: cases[i : i+1], Law: task.Law, Day: task.Day}).Assess(assess.AimMargin)
			if r.Answer != rule.Fits && r.Answer != rule.FitsIf {
				return false
			}
		}
	}
	return true
}

// Where a fact is not declared, positions that hold whatever it is are lawful,
// and those that depend on it are not: up to 16.50 m eddy-58 may be long, to
// 16.65 m only in intermodal transport (96/53/EC).
func TestPositionsThatHoldWhateverIsNotDeclared(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	task.Brief.Trailers, task.Brief.Wished = []string{"eddy-58"}, nil
	declared, err := task.Positions(20 * unit.Tonne)
	if err != nil {
		t.Fatal(err)
	}
	delete(s.fleet.Facts, "intermodal")
	open, err := task.Positions(20 * unit.Tonne)
	if err != nil {
		t.Fatal(err)
	}
	// 1375 + x + 12 000 = 16 500 by the vehicles' lengths: x = 3125 mm.
	for _, p := range []*mounting.Positions{declared, open} {
		if len(p.Common) != 1 || math.Abs(float64(p.Common[0].To)-3.125) > 1e-9 || p.Common[0].From != 2.9 {
			t.Errorf("lawful %v, expected 2900 to 3125 mm", p.Common)
		}
	}
}

// The height may be anywhere within its tolerance, so both ends are asked: at
// 1118 mm laden the underside lies on a frame end of 1125 mm, at 1142 it does
// not; at 1162 mm unladen a body of 2841 mm is over 4.00 m, at 1138 it is not.
func TestPositionsHoldOverTheWholeTolerance(t *testing.T) {
	tests := []struct {
		name   string
		change func(*mounting.Task, *vehicle.SemiTrailer)
		none   bool
	}{
		{"as it is", func(*mounting.Task, *vehicle.SemiTrailer) {}, false},
		{"frame end below all", func(k *mounting.Task, _ *vehicle.SemiTrailer) { k.Tractor.Corners[0].Height = length(1117) }, false},
		{"frame end between", func(k *mounting.Task, _ *vehicle.SemiTrailer) { k.Tractor.Corners[0].Height = length(1125) }, true},
		{"roof below all", func(_ *mounting.Task, v *vehicle.SemiTrailer) {
			v.PlateHeight, v.BodyHeight = length(1150), length(2830)
		}, false},
		{"roof between", func(_ *mounting.Task, v *vehicle.SemiTrailer) {
			v.PlateHeight, v.BodyHeight = length(1150), length(2846)
		}, true},
	}
	for _, test := range tests {
		s := demo(t)
		task := s.task(t, "heron-road")
		task.Brief.Trailers, task.Brief.Wished = []string{"weir-34"}, nil
		v, _ := s.fleet.Trailer("weir-34")
		test.change(&task, v)
		p, err := task.Positions(20 * unit.Tonne)
		if err != nil {
			t.Fatal(err)
		}
		if none := len(p.Common) == 0; none != test.none {
			t.Errorf("%s: %v (%s); expected none: %v", test.name, p.Common, p.Trailers[0].Why, test.none)
		}
	}
}

// With two heights a semi-trailer needs one of them only.
func TestPositionsWithTwoHeights(t *testing.T) {
	s := demo(t)
	task := s.task(t, "swan-two-heights")
	p, err := task.Positions(20 * unit.Tonne)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Common) == 0 {
		t.Fatalf("no common position: %+v", p.Conflict)
	}
	task.Brief.Heights = task.Brief.Heights[:1] // the high one alone: fen-26 is too high there (examples/README.md)
	p, err = task.Positions(20 * unit.Tonne)
	if err != nil {
		t.Fatal(err)
	}
	if tp := trailer(p, "fen-26"); len(tp.Spans) != 0 || tp.Answer != rule.DoesNotFit {
		t.Errorf("fen-26 at 1130 mm alone: %v, %s", tp.Spans, tp.Answer)
	}
	if p.Conflict == nil || p.Conflict.First != "fen-26" {
		t.Errorf("conflict %+v; expected fen-26 by itself", p.Conflict)
	}
}

func TestSearchOfTheDemo(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	all, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	// By hand, 949 + 8 + plate (+ 25) + wheel within 1150 ± 12 and, about 18 mm
	// sunk, 1130 ± 12; on the angles, 50 mm pins, D 90.8 kN:
	// 12 + 185 (bare and soft), 40 + 150, 12 + 25 + 150, 30 + 25 + 150 (1162, at
	// the rear where it sinks enough); 30 + 172 (plate unread); a slider of 60
	// would need a wheel of 121 to 145.
	want := map[string]rule.Answer{
		"angles + plate-12 + wheel-185": rule.Fits, "angles + plate-12 + wheel-185-soft": rule.Fits, "angles + plate-40 + wheel-150": rule.Fits,
		"angles + plate-12 + pedestal-25 + wheel-150": rule.Fits, "angles + plate-30 + pedestal-25 + wheel-150": rule.Fits,
		"angles + plate-30 + wheel-unread": rule.CannotTell, "angles + plate-12 + wheel-unread": rule.CannotTell,
	}
	if all.Count != len(all.Proposals) {
		t.Errorf("counted %d and gave %d", all.Count, len(all.Proposals))
	}
	for i := range all.Proposals {
		p := &all.Proposals[i]
		answer, expected := want[p.Stack.String()]
		if !expected || p.Answer != answer {
			t.Errorf("%s is %s; expected %q", p.Stack, p.Answer, answer)
		}
		delete(want, p.Stack.String())
		if !p.Positions.Contains(p.At) {
			t.Errorf("%s at %v, which is not among %v", p.Stack, p.At, p.Positions)
		}
		if len(p.Limits) == 0 || p.Answer == rule.CannotTell && len(p.Open) == 0 {
			t.Errorf("%s: limits %v, open %v", p.Stack, p.Limits, p.Open)
		}
		if i > 0 && p.Answer == rule.Fits && all.Proposals[i-1].Answer == rule.Fits && p.Margin > all.Proposals[i-1].Margin+1e-9 {
			t.Errorf("%s with margin %g stands behind one with %g", p.Stack, p.Margin, all.Proposals[i-1].Margin)
		}
		if p.Answer == rule.Fits {
			specifyAndHold(t, s, task, p)
		}
	}
	for name := range want {
		t.Errorf("%s was not found", name)
	}
	few, err := task.Search(2)
	if err != nil {
		t.Fatal(err)
	}
	if few.Count != all.Count || len(few.Proposals) != 2 || few.Proposals[0].Stack.String() != all.Proposals[0].Stack.String() || few.Proposals[1].Stack.String() != all.Proposals[1].Stack.String() {
		t.Errorf("asked for two, came out %d of %d", len(few.Proposals), few.Count)
	}
}

// specifyAndHold asks assess about a proposal through the specification: no
// finding of a pair may fail at the place that the search named.
func specifyAndHold(t *testing.T, s *stores, task mounting.Task, p *mounting.Proposal) {
	t.Helper()
	at := p.At
	g := &mounting.Fitting{ID: "tried", Brief: task.Brief.ID, Base: p.Base, Parts: p.IDs(), At: &at, Tolerance: length(0)}
	sheet, err := mounting.Specify(&mounting.Request{Task: task, File: s.file, Fitting: g})
	if err != nil {
		t.Fatal(err)
	}
	for i := range sheet.Pairs {
		if q := &sheet.Pairs[i]; !q.Wished && q.Answer != string(rule.Fits) && q.Answer != string(rule.FitsIf) {
			t.Errorf("%s at %v: %s %s is %s: %s", p.Stack, at, q.Trailer, q.Case, q.Answer, q.Told)
		}
	}
	for _, id := range []string{"holes", "position", "height.unladen.driving-level", "height.laden.driving-level"} {
		if f := findingOf(sheet, id); f == nil || f.Answer != string(rule.Fits) {
			t.Errorf("%s at %v: %s is %+v", p.Stack, at, id, f)
		}
	}
}

func findingOf(s *mounting.Specification, id string) *mounting.Finding {
	for i := range s.Findings {
		if s.Findings[i].ID == id {
			return &s.Findings[i]
		}
	}
	return nil
}

func TestSearchRanksByTheAim(t *testing.T) {
	s := demo(t)
	for _, aim := range []string{mounting.AimMass, mounting.AimMargin, mounting.AimTrailers, mounting.AimHeadroom} {
		task := s.task(t, "heron-road")
		task.Brief.Aim = aim
		f, err := task.Search(0)
		if err != nil {
			t.Fatal(err)
		}
		rank := func(p *mounting.Proposal) float64 {
			switch aim {
			case mounting.AimMass:
				return -float64(p.Mass)
			case mounting.AimTrailers:
				return float64(len(p.Served))
			case mounting.AimHeadroom:
				return float64(p.Headroom)
			}
			return p.Margin
		}
		for i := 1; i < len(f.Proposals); i++ {
			a, b := &f.Proposals[i-1], &f.Proposals[i]
			if a.Answer != b.Answer || len(a.Against) != len(b.Against) {
				continue
			}
			if rank(b) > rank(a)+1e-9 {
				t.Errorf("%s: %s (%g) stands behind %s (%g)", aim, b.Stack, rank(b), a.Stack, rank(a))
			}
		}
		if aim == mounting.AimTrailers {
			// eddy-58 is lawful up to 3125 mm, tarn-31 up to 3225, brook-52 all
			// the way: three of the four wished fit at one place.
			if got := f.Proposals[0].Served; len(got) != 3 {
				t.Errorf("served %v, expected three", got)
			}
		}
	}
}

// The margin is the least of all: here a plate that is only just strong enough,
// 1 − 90.81/91.0 = 0.21 % of its D.
func TestMarginCountsStrength(t *testing.T) {
	s := demo(t)
	s.file.Part("plate-40").D = new(91 * unit.Kilonewton)
	task := s.task(t, "heron-road")
	f, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.Proposals {
		p := &f.Proposals[i]
		if p.Stack.String() != "angles + plate-40 + wheel-150" {
			continue
		}
		if want := 1 - 90.8126/91.0; math.Abs(p.Margin-want) > 1e-6 || p.Limits[0].What != "D of plate-40" {
			t.Errorf("margin %.6f, expected %.6f; limited by %s", p.Margin, want, p.Limits[0].Text)
		}
		return
	}
	t.Error("the stack was not found")
}

// Height left: the limit less the higher end of the tilted roof, over the
// semi-trailers that must work, unladen (handbook chapter 04, 3.4).
func TestHeadroom(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	f, err := task.Search(1)
	if err != nil {
		t.Fatal(err)
	}
	p := &f.Proposals[0]
	least := math.Inf(1)
	for _, id := range task.Brief.Trailers {
		v, _ := s.fleet.Trailer(id)
		var line, n float64 // equal shares in the demo's bogies
		for i := range v.Axles {
			x, _ := v.AxleAt(i)
			line, n = line+float64(x), n+1
		}
		hc, β := float64(*p.Heights[0].Unladen), math.Atan(float64(*p.Heights[0].Unladen-*v.PlateHeight)/(line/n))
		front := hc + float64(*v.BodyHeight)*math.Cos(β) + float64(*v.FrontOverhang)*math.Sin(β)
		rear := hc + float64(*v.BodyHeight)*math.Cos(β) - float64(*v.RearEnd)*math.Sin(β)
		least = math.Min(least, 4.00-math.Max(front, rear)) // 96/53/EC, Annex I, 1.3
	}
	if got := float64(p.Headroom); math.Abs(got-least) > 1e-9 {
		t.Errorf("%.6f m left, expected %.6f", got, least)
	}
	task.Brief.Bridge = length(3850)
	if f, err = task.Search(1); err != nil {
		t.Fatal(err)
	}
	if got := float64(f.Proposals[0].Headroom); math.Abs(got-(least-0.15)) > 1e-9 {
		t.Errorf("%.6f m left under 3.85 m, expected %.6f", got, least-0.15)
	}
}

func TestSearchSaysWhatCameNearest(t *testing.T) {
	tests := []struct {
		name   string
		change func(*stores, *mounting.Task)
		kind   string
		says   string
	}{
		{"height", func(_ *stores, k *mounting.Task) {
			k.Brief.Heights[0].Unladen, k.Brief.Heights[0].Laden = length(1250), nil // 949 + 70 + 60 + 100 + 185 = 1264; 12 mm are allowed, 2 more are needed
		}, "height", "2.0"},
		{"strength", func(s *stores, k *mounting.Task) {
			for i := range s.file.Parts { // the fifth wheels are too weak by a little
				if p := &s.file.Parts[i]; p.Kind == mounting.FifthWheel {
					p.D, p.Imposed, p.ReadFrom = new(85*unit.Kilonewton), new(20*unit.Tonne), "plate"
				}
			}
		}, "strength", "D 85.0"},
		{"size", func(_ *stores, k *mounting.Task) { k.Brief.Trailers = append(k.Brief.Trailers, "sluice-46") }, "fifth-wheel", "90 mm"},
		{"wedge", func(s *stores, k *mounting.Task) {
			k.Brief.Work.Steered = new(true)
			for i := range s.file.Parts {
				if p := &s.file.Parts[i]; p.Kind == mounting.FifthWheel {
					p.Wedge = new(false)
				}
			}
		}, "fifth-wheel", "wedge"},
		{"position", func(_ *stores, k *mounting.Task) {
			k.Brief.Trailers = []string{"weir-34", "reed-49"} // no slide position cures reed-49 (examples/README.md)
		}, "position", "reed-49"},
		{"nothing stands", func(s *stores, k *mounting.Task) { s.file.Parts, k.Parts = nil, nil }, "stack", "built up"},
		{"zone", func(_ *stores, k *mounting.Task) {
			k.Chassis.Zones = append(k.Chassis.Zones, mounting.Zone{Name: "tank", What: "keep-free", From: length(2000), To: length(4500)})
		}, "holes", "beside the stretch"},
	}
	for _, test := range tests {
		s := demo(t)
		task := s.task(t, "heron-road")
		test.change(s, &task)
		f, err := task.Search(3)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		certain := 0
		for i := range f.Proposals {
			certain += btoi(f.Proposals[i].Answer == rule.Fits)
		}
		if certain > 0 {
			t.Errorf("%s: %s was found", test.name, f.Proposals[0].Stack)
			continue
		}
		if len(f.Proposals) > 0 {
			continue
		}
		ok := slices.ContainsFunc(f.Nearest, func(m mounting.Miss) bool { return m.Kind == test.kind && strings.Contains(m.Text, test.says) })
		if !ok {
			t.Errorf("%s: nearest is %+v; expected one of kind %s that says %q", test.name, f.Nearest, test.kind, test.says)
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestSearchRefusesWhatItCannotAsk(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	task.Brief.Trailers = []string{"nobody"}
	var name *assess.UnknownNameError
	if _, err := task.Search(1); !errors.As(err, &name) {
		t.Errorf("a semi-trailer that is not there: %v", err)
	}
	task = demo(t).task(t, "heron-road")
	task.Brief.From, task.Brief.To = length(3500), length(3600)
	var place *mounting.NoPlaceError
	if _, err := task.Search(1); !errors.As(err, &place) {
		t.Errorf("a place that the guide does not allow: %v", err)
	}
	task = demo(t).task(t, "heron-road")
	task.Chassis = nil
	if _, err := task.Search(1); !errors.As(err, &place) {
		t.Errorf("no chassis: %v", err)
	}
	// Unknown frame height: nothing is found, and it is named.
	task = demo(t).task(t, "heron-road")
	task.Chassis.TyreRadius = nil
	f, err := task.Search(1)
	if err != nil || len(f.Proposals) != 0 || !slices.ContainsFunc(f.Missing, func(m string) bool { return strings.Contains(m, "tyre-radius") }) {
		t.Errorf("no height of the frame: %v, %d proposals, missing %v", err, len(f.Proposals), f.Missing)
	}
	// Unknown sinking: stacks reach the unladen height, and stay open.
	task = demo(t).task(t, "heron-road")
	task.Chassis.SinkRear = nil
	f, err = task.Search(0)
	if err != nil || len(f.Proposals) == 0 {
		t.Fatalf("no sinking: %v, %d proposals", err, len(f.Proposals))
	}
	for i := range f.Proposals {
		if f.Proposals[i].Answer != rule.CannotTell {
			t.Errorf("no sinking: %s is %s", f.Proposals[i].Stack, f.Proposals[i].Answer)
		}
	}
	// Unweighed semi-trailer: stacks, and no position is claimed lawful.
	task = demo(t).task(t, "heron-road")
	task.Brief.Trailers = append(task.Brief.Trailers, "mire-61")
	f, err = task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.Proposals {
		if f.Proposals[i].Answer != rule.CannotTell {
			t.Errorf("mire-61 unweighed: %s is %s", f.Proposals[i].Stack, f.Proposals[i].Answer)
		}
	}
}

func TestSpecificationOfTheDemo(t *testing.T) {
	s := demo(t)
	sheet, err := mounting.Specify(s.request(t, "heron-plate"))
	if err != nil {
		t.Fatal(err)
	}
	if sheet.Release.State != mounting.Draft || sheet.Answer != string(rule.Fits) {
		t.Fatalf("%s, %s: %v", sheet.Release.State, sheet.Answer, sheet.Holds())
	}
	// 496 + 453 + 8 + 12 + 185 by hand; at e/L = 600/3700 under 10 047 kg the
	// tyres sink 10047·(0.8378²·20/8000 + 0.1622²·4/1500) mm = 18.3.
	h := &sheet.Heights[0]
	if *h.Unladen != 1154 || *h.Laden != 1136 || *h.Raised != 1214 || *sheet.Position.At != 3100 || *sheet.Position.Lead != 600 || *sheet.Mass != 250 {
		t.Errorf("unladen %d, laden %d, raised %d, at %d, lead %d, mass %d", *h.Unladen, *h.Laden, *h.Raised, *sheet.Position.At, *sheet.Position.Lead, *sheet.Mass)
	}
	if len(sheet.Joints) != 3 || sheet.Joints[0].Bolts != 32 || sheet.Joints[1].Bolts != 14 || sheet.Joints[2].Bolts != 12 {
		t.Errorf("joints %+v", sheet.Joints)
	}
	for i := range sheet.Joints {
		j := &sheet.Joints[i]
		if len(j.Order) != len(j.Places) || j.Torque == nil || *j.Torque != 260 || j.Document == "" || j.Maximum == nil {
			t.Errorf("joint %s: order %v of %d, torque %v from %q, maximum %v", j.Title, j.Order, len(j.Places), j.Torque, j.Document, j.Maximum)
		}
	}
	// Four that must work and four wished, two load cases each.
	if len(sheet.Pairs) != 16 {
		t.Errorf("%d pairs, expected 16", len(sheet.Pairs))
	}
	for i := range sheet.Pairs {
		if p := &sheet.Pairs[i]; len(p.Findings) < 20 || p.Trailer == "" {
			t.Errorf("%s, %s: %d findings", p.Trailer, p.Case, len(p.Findings))
		}
	}
	if !slices.ContainsFunc(sheet.Warnings, func(w string) bool { return strings.Contains(w, "sluice-46") }) {
		t.Errorf("nothing says that the wished sluice-46 is not served: %v", sheet.Warnings)
	}
	first, err := sheet.JSON()
	if err != nil {
		t.Fatal(err)
	}
	for range 3 { // the same bytes from the same inputs
		again, err := mounting.Specify(demo(t).request(t, "heron-plate"))
		if err != nil {
			t.Fatal(err)
		}
		text, err := again.JSON()
		if err != nil || !bytes.Equal(text, first) {
			t.Fatalf("the sheet came out differently (%v)", err)
		}
	}
	var back mounting.Specification
	if err := json.Unmarshal(first, &back); err != nil {
		t.Fatal(err)
	}
	if text, err := back.JSON(); err != nil || !bytes.Equal(text, first) {
		t.Errorf("read back and written again it differs (%v)", err)
	}
	if bytes.Contains(first, []byte(": null,\n    null")) || bytes.Contains(first, []byte("NaN")) {
		t.Error("a list came out as null")
	}
	for _, list := range []string{`"unknown": null`, `"warnings": null`, `"findings": null`, `"pairs": null`, `"joints": null`, `"sources": null`, `"missing": null`, `"order": null`, `"limits": null`, `"assumed": null`} {
		if bytes.Contains(first, []byte(list)) {
			t.Errorf("%s", list)
		}
	}
	var unsigned *mounting.UnsignedError
	if err := sheet.Approve("", "2026-11-25"); !errors.As(err, &unsigned) {
		t.Errorf("approved by nobody: %v", err)
	}
	if err := sheet.Approve("A. Fitter", ""); !errors.As(err, &unsigned) || sheet.Release.State != mounting.Draft {
		t.Errorf("approved on no day: %v, %s", err, sheet.Release.State)
	}
	if err := sheet.Approve("A. Fitter", "2026-11-26"); err != nil || sheet.Release.State != mounting.Approved {
		t.Fatalf("not approved: %v", err)
	}
	if len(sheet.Release.Warnings) != len(sheet.Warnings) || len(sheet.Warnings) == 0 {
		t.Errorf("the release keeps %d of %d warnings", len(sheet.Release.Warnings), len(sheet.Warnings))
	}
	// Approved, and then made worse: it is not written.
	sheet.Findings[0].Answer = string(rule.DoesNotFit)
	if _, err := sheet.JSON(); err == nil {
		t.Error("a sheet that says approved was written with a finding that does not fit")
	}
	var nothing mounting.Specification
	if err := nothing.Approve("A", "B"); err == nil {
		t.Error("an empty sheet was approved")
	}
}

// Whatever is taken away, or made wrong, keeps the sheet a draft, and the error
// names it.
func TestNothingIsApprovedWithAnOpenFinding(t *testing.T) {
	part := func(s *stores, id string) *mounting.Part { return s.file.Part(id) }
	tests := []struct {
		name   string
		change func(*stores, *mounting.Request)
		says   string
		answer rule.Answer
	}{
		{"guide", func(_ *stores, r *mounting.Request) { r.Chassis.Guide = "" }, "guide", rule.CannotTell},
		{"position", func(_ *stores, r *mounting.Request) { r.Fitting.At = nil }, "at", rule.CannotTell},
		{"tolerance", func(_ *stores, r *mounting.Request) { r.Fitting.Tolerance = nil }, "tolerance", rule.CannotTell},
		{"position beside the holes", func(_ *stores, r *mounting.Request) { r.Fitting.At = length(3110) }, "holes meet", rule.DoesNotFit},
		{"position beside the law", func(_ *stores, r *mounting.Request) { r.Fitting.At = length(2938) }, "lawful", rule.DoesNotFit},
		{"tolerance beyond the law", func(_ *stores, r *mounting.Request) {
			r.Fitting.At, r.Fitting.Tolerance = length(2978), length(20) // lawful from 2964
		}, "lawful", rule.DoesNotFit},
		{"height", func(s *stores, _ *mounting.Request) { part(s, "plate-12").Height = length(40) }, "height", rule.DoesNotFit},
		{"height unknown", func(_ *stores, r *mounting.Request) { r.Chassis.AxleToFrame = nil }, "axle-to-frame", rule.CannotTell},
		{"sinking unknown", func(_ *stores, r *mounting.Request) { r.Chassis.SinkRear = nil }, "sink-rear", rule.CannotTell},
		{"a joint", func(_ *stores, r *mounting.Request) { r.Fitting.Joints = r.Fitting.Joints[:2] }, "wheel-185 on plate-12", rule.CannotTell},
		{"torque", func(_ *stores, r *mounting.Request) { r.Fitting.Joints[2].Torque = nil }, "torque", rule.CannotTell},
		{"document", func(_ *stores, r *mounting.Request) { r.Fitting.Joints[2].Document = "" }, "document", rule.CannotTell},
		{"torque too high", func(_ *stores, r *mounting.Request) { r.Fitting.Joints[2].Torque = new(unit.Torque(360)) }, "torque", rule.DoesNotFit},
		{"soft steel", func(_ *stores, r *mounting.Request) {
			r.Fitting.Joints[2].Washer, r.Fitting.Joints[2].Material = nil, "S235"
		}, "pressure", rule.DoesNotFit},
		{"surface", func(_ *stores, r *mounting.Request) { r.Fitting.Joints[1].Surface = "" }, "surface", rule.CannotTell},
		{"rating from memory", func(s *stores, _ *mounting.Request) { part(s, "wheel-185").ReadFrom = "memory" }, "memory", rule.CannotTell},
		{"rating unread", func(s *stores, _ *mounting.Request) {
			p := part(s, "plate-12")
			p.D, p.Imposed, p.ReadFrom = nil, nil, "unknown"
		}, "mounting", rule.CannotTell},
		{"too weak", func(s *stores, _ *mounting.Request) { part(s, "plate-12").D = new(85 * unit.Kilonewton) }, "D-value", rule.DoesNotFit},
		{"weak pedestal", func(s *stores, r *mounting.Request) { // the second of two rated parts is the weaker
			part(s, "pedestal-25").D = new(85 * unit.Kilonewton)
			r.Fitting.Parts, r.Fitting.Joints = []string{"plate-12", "pedestal-25", "wheel-150"}, nil
		}, "rating.d.mounting", rule.DoesNotFit},
		{"holes of the plate", func(s *stores, _ *mounting.Request) { part(s, "plate-12").Foot = nil }, "plate-12: foot holes", rule.CannotTell},
		{"holes of the angles", func(_ *stores, r *mounting.Request) { r.Chassis.Angles.Top = nil }, "attachment angles", rule.CannotTell},
		{"tractor's plate", func(_ *stores, r *mounting.Request) { r.Tractor.GrossPlate = nil }, "gross-plate", rule.CannotTell},
		{"an overloaded trailer", func(_ *stores, r *mounting.Request) { r.Brief.Trailers = append(r.Brief.Trailers, "marsh-23") }, "marsh-23", rule.DoesNotFit},
		{"an unweighed trailer", func(_ *stores, r *mounting.Request) { r.Brief.Trailers = append(r.Brief.Trailers, "mire-61") }, "mire-61", rule.CannotTell},
		{"no height wanted", func(_ *stores, r *mounting.Request) { r.Brief.Heights = nil }, "height (the coupling height that is wanted)", rule.CannotTell},
		{"no trailer that must work", func(_ *stores, r *mounting.Request) { // and no height, whose load would be missing too
			r.Brief.Wished, r.Brief.Trailers, r.Brief.Heights = r.Brief.Trailers, nil, nil
		}, "trailers (the semi-trailers that must work)", rule.CannotTell},
		{"rough ground, margin unset", func(_ *stores, r *mounting.Request) { r.Brief.Work.Ground = "rough" }, "rough-use", rule.CannotTell},
	}
	for _, test := range tests {
		s := demo(t)
		r := s.request(t, "heron-plate")
		test.change(s, r)
		sheet, err := mounting.Specify(r)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		var refused *mounting.NotApprovedError
		err = sheet.Approve("A. Fitter", "2026-11-26")
		if !errors.As(err, &refused) || sheet.Release.State != mounting.Draft {
			t.Errorf("%s: %v, %s; expected a refusal", test.name, err, sheet.Release.State)
			continue
		}
		if sheet.Answer != string(test.answer) {
			t.Errorf("%s: the sheet is %s, expected %s (%v)", test.name, sheet.Answer, test.answer, err)
		}
		if all := everyRefusal(sheet); !strings.Contains(all, test.says) {
			t.Errorf("%s: nothing open says %q:\n%s", test.name, test.says, all)
		}
	}
}

// everyRefusal words all that keeps a sheet a draft.
func everyRefusal(s *mounting.Specification) string {
	var b strings.Builder
	add := func(where string, fs []mounting.Finding) {
		for _, f := range fs {
			if f.Binding && f.Answer != string(rule.Fits) {
				fmt.Fprintln(&b, where, f.ID, f.Title, f.Answer, f.Missing)
			}
		}
	}
	add("", s.Findings)
	for _, j := range s.Joints {
		add(j.Title, j.Findings)
	}
	for _, p := range s.Pairs {
		add(p.Trailer, p.Findings)
	}
	return b.String()
}

// A rough-ground margin that is set is used; whether it is kept is the user's
// own measure and warns.
func TestRoughGround(t *testing.T) {
	for _, test := range []struct {
		use    float64
		answer rule.Answer
	}{{0.8, rule.Fits}, {0.5, rule.DoesNotFit}} { // 90.8 of 152 kN is 60 %, 12 of 20 t too
		s := demo(t)
		r := s.request(t, "heron-plate")
		r.Brief.Work.Ground, r.Brief.RoughUse = "rough", &test.use
		sheet, err := mounting.Specify(r)
		if err != nil {
			t.Fatal(err)
		}
		f := findingOf(sheet, "rough.weir-34")
		if f == nil || f.Answer != string(test.answer) || f.Binding {
			t.Errorf("allowed %g: %+v; expected %s, a warning", test.use, f, test.answer)
		}
		if err := sheet.Approve("A", "B"); err != nil {
			t.Errorf("allowed %g: %v", test.use, err)
		}
	}
}

func TestSpecificationOfASlider(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	wheel := *s.file.Part("wheel-150")
	wheel.ID, wheel.Height = "wheel-130", length(130)
	s.file.Parts = append(s.file.Parts, wheel)
	task.Parts = s.file.Parts
	task.Brief.Work.Moved = new(true)
	f, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(f.Proposals, func(p mounting.Proposal) bool { return p.Stack.String() == "angles + slider-60 + wheel-130" })
	if at < 0 {
		t.Fatalf("no stack with a slider of %d: %+v", f.Count, f.Nearest)
	}
	p := &f.Proposals[at]
	if p.Travel != 0.4 || !p.Positions.Contains(p.At) {
		t.Errorf("travel %v at %v in %v", p.Travel, p.At, p.Positions)
	}
	specifyAndHold(t, s, task, p)
}

func TestAsBuilt(t *testing.T) {
	s := demo(t)
	r := s.request(t, "heron-plate")
	sheet, err := mounting.Specify(r)
	if err != nil {
		t.Fatal(err)
	}
	whole := func() *mounting.AsBuilt {
		return &mounting.AsBuilt{Date: "2027-01-20", By: "A. Fitter", Odometer: new(unit.Length(123456e3)), At: length(3103), Gap: length(8),
			Levels: []mounting.BuiltLevel{{Name: "driving level", Unladen: length(1158), Laden: length(1139), Raised: length(1216)}},
			Plates: []mounting.BuiltPlate{{Part: "plate-12", D: new(152 * unit.Kilonewton), Imposed: new(20 * unit.Tonne)}, {Part: "wheel-185", D: new(152 * unit.Kilonewton), Imposed: new(20 * unit.Tonne)}},
			Torque: []mounting.BuiltTorque{{"angles", new(unit.Torque(260)), "W 14"}, {"plate-12", new(unit.Torque(260)), "W 14"}, {"wheel-185", new(unit.Torque(260)), "W 14"}}}
	}
	built, err := r.Apply(sheet, whole())
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range built.Differences {
		if d.Answer != string(rule.Fits) {
			t.Errorf("%s: %s, missing %v", d.ID, d.Answer, d.Missing)
		}
	}
	w := &built.Tractor.FifthWheel
	if *w.At != 3.103 || *w.Levels[0].Unladen != 1.158 || *w.D != 152e3 || *w.Mounting.Imposed != 20e3 || w.ReadFrom != "plate" {
		t.Errorf("the tractor does not carry what was measured: %+v", w)
	}
	if *r.Tractor.FifthWheel.At != 3.1 || r.Tractor.FifthWheel.Slider == nil {
		t.Error("the fleet's own tractor was changed")
	}
	// 20 January and 30 days; 123 456 km and 2 000.
	if a := built.Again; a.Answer != string(rule.Fits) || a.Date != "2027-02-19" || *a.Odometer != 125456 {
		t.Errorf("due again: %+v", a)
	}
	tests := []struct {
		name   string
		change func(*mounting.AsBuilt)
		id     string
		answer rule.Answer
	}{
		{"too far back", func(a *mounting.AsBuilt) { a.At = length(3106) }, "position", rule.DoesNotFit},
		{"too far forward", func(a *mounting.AsBuilt) { a.At = length(3094) }, "position", rule.DoesNotFit},
		{"not taped", func(a *mounting.AsBuilt) { a.At = nil }, "position", rule.CannotTell},
		{"too high", func(a *mounting.AsBuilt) { a.Levels[0].Unladen = length(1163) }, "height.unladen.driving-level", rule.DoesNotFit},
		{"laden height not taken", func(a *mounting.AsBuilt) { a.Levels[0].Laden = nil }, "height.laden.driving-level", rule.CannotTell},
		{"plate on the flange", func(a *mounting.AsBuilt) { a.Gap = length(4) }, "gap", rule.DoesNotFit},
		{"weaker plate", func(a *mounting.AsBuilt) { a.Plates[0].D = new(130 * unit.Kilonewton) }, "d.plate-12", rule.DoesNotFit},
		{"unread plate", func(a *mounting.AsBuilt) { a.Plates = a.Plates[1:] }, "d.plate-12", rule.CannotTell},
		{"other torque", func(a *mounting.AsBuilt) { a.Torque[2].Torque = new(unit.Torque(240)) }, "torque.wheel-185", rule.DoesNotFit},
		{"no wrench", func(a *mounting.AsBuilt) { a.Torque[2].Wrench = "" }, "torque.wheel-185", rule.CannotTell},
		{"no torque", func(a *mounting.AsBuilt) { a.Torque = nil }, "torque.wheel-185", rule.CannotTell},
	}
	for _, test := range tests {
		a := whole()
		test.change(a)
		built, err := r.Apply(sheet, a)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		i := slices.IndexFunc(built.Differences, func(d mounting.Difference) bool { return d.ID == test.id })
		if i < 0 || built.Differences[i].Answer != string(test.answer) {
			t.Errorf("%s: %+v; expected %s to be %s", test.name, built.Differences, test.id, test.answer)
		}
		if test.answer == rule.CannotTell && len(built.Missing) == 0 {
			t.Errorf("%s: nothing is missing", test.name)
		}
	}
	// What nobody read is unknown to the pairings, not taken from the plan.
	a := whole()
	a.Plates, a.Levels, a.At = nil, nil, nil
	built, err = r.Apply(sheet, a)
	if err != nil {
		t.Fatal(err)
	}
	if w := &built.Tractor.FifthWheel; w.At != nil || w.D != nil || w.Levels[0].Unladen != nil {
		t.Errorf("unmeasured values came from somewhere: %+v", w)
	}
	trailer, _ := r.Fleet.Trailer("weir-34")
	cases, err := assess.Cases(r.Fleet, trailer, "laden")
	if err != nil {
		t.Fatal(err)
	}
	if got := assess.Compile(assess.Combination{Tractor: built.Tractor, Trailer: trailer, Cases: cases, Law: r.Law}).Assess(assess.AimMargin); got.Answer != rule.CannotTell {
		t.Errorf("a pairing with nothing measured is %s", got.Answer)
	}
	for _, wrong := range []func(*mounting.AsBuilt){
		func(a *mounting.AsBuilt) { a.Plates[0].Part = "plate-99" },
		func(a *mounting.AsBuilt) { a.Torque[0].Upper = "plate-99" },
		func(a *mounting.AsBuilt) { a.Levels[0].Name = "high" },
	} {
		a := whole()
		wrong(a)
		if _, err := r.Apply(sheet, a); err == nil {
			t.Error("a name that the fitting does not have was taken")
		}
	}
	// Retightening without a document cannot be told.
	r.Fitting.Again = nil
	if built, err = r.Apply(sheet, whole()); err != nil || built.Again.Answer != string(rule.CannotTell) || len(built.Again.Missing) == 0 {
		t.Errorf("due again without a document: %+v, %v", built.Again, err)
	}
}

func TestRetrofits(t *testing.T) {
	s := demo(t)
	r := s.request(t, "heron-plate")
	advice, err := r.Advise()
	if err != nil {
		t.Fatal(err)
	}
	if len(advice) != 4 {
		t.Fatalf("%d retrofits", len(advice))
	}
	for _, a := range advice {
		if len(a.Needs) < 3 || len(a.Again) < 3 {
			t.Errorf("%s: %d needs, %d things to check again", a.ID, len(a.Needs), len(a.Again))
		}
		for _, m := range slices.Concat(a.Needs, a.Again) {
			if m.Text == "" || m.Source == "" || !slices.Contains([]string{"read", "derived", "practice", "memory"}, m.Evidence) {
				t.Errorf("%s: %+v", a.ID, m)
			}
		}
	}
	// The slider of 60 mm and 190 kg in place of the plate of 12 mm and 92 kg.
	slider := advice[2]
	if len(slider.Options) != 1 || slider.Options[0].Stack != "angles + slider-60 + wheel-185" || *slider.Options[0].Height != 48 || *slider.Options[0].Mass != 98 || slider.Answer != string(rule.Fits) {
		t.Errorf("slider: %+v", slider)
	}
	if lift := advice[3]; lift.Answer != string(rule.DoesNotFit) || len(lift.Options) != 0 {
		t.Errorf("lift: %+v", lift) // it has no place on attachment angles, and its feet do not meet the plate
	}
	s.file.Part("wheel-185").Prepared = nil
	if advice, err = r.Advise(); err != nil || advice[0].Answer != string(rule.CannotTell) || len(advice[0].Missing) == 0 {
		t.Errorf("greasing of a fifth wheel whose document nobody read: %+v, %v", advice[0], err)
	}
	// Too weak a slider is none.
	s.file.Part("slider-60").D = new(85 * unit.Kilonewton)
	if advice, err = r.Advise(); err != nil || len(advice[2].Options) != 0 {
		t.Errorf("a slider of 85 kN where 90.8 are needed: %+v, %v", advice[2].Options, err)
	}
}

func TestOthers(t *testing.T) {
	s := demo(t)
	r := s.request(t, "heron-plate")
	sheet, err := mounting.Specify(r)
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	sheet.AddOthers(f, 3)
	if len(sheet.Others) != 3 {
		t.Fatalf("%d others", len(sheet.Others))
	}
	for _, o := range sheet.Others {
		if o.Stack == "angles + plate-12 + wheel-185" || o.At == nil || o.Limit == "" {
			t.Errorf("%+v", o)
		}
	}
}

func ExampleTask_Search() {
	read := func(name string) []byte { data, _ := examples.Files.ReadFile(name); return data }
	fleet, _ := exchange.ParseFleet("demo.toml", read("demo.toml"))
	file, _ := exchange.ParseParts("parts.toml", read("parts.toml"))
	law, _ := exchange.OpenLaw(fleet.Law, "")
	brief := file.Brief("swan-two-heights")
	tractor, _ := fleet.Tractor(brief.Tractor)
	task := mounting.Task{Fleet: &fleet.Fleet, Tractor: tractor, Chassis: file.ChassisOf(tractor.ID), Brief: brief, Parts: file.Parts, Law: law}
	found, err := task.Search(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	best := found.Proposals[0]
	fmt.Println(found.Count, "stacks; the lightest:", best.Stack)
	for _, h := range best.Heights {
		fmt.Printf("%s: %.0f mm unladen\n", h.Name, h.Unladen.Millimetres())
	}
	// Output:
	// 2 stacks; the lightest: subframe + lift-200 + wheel-150
	// high: 1132 mm unladen
	// low: 932 mm unladen
}
