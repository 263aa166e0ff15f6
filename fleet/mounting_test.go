package fleet

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/examples"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/record"
	"underpin/unit"
)

// stores is a yard with the demo fleet and its catalogue.
func stores(t testing.TB) *yard {
	t.Helper()
	y := newYard(t)
	if done, err := y.Import(y.ctx, FleetDelivery(undemo(t), "demo.toml"), AllGood); err != nil || !done.Entered {
		t.Fatal(err)
	}
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	y.must(&KeepCatalogue{Name: "parts.toml", Data: data})
	return y
}

// asked is the specification of a chosen mounting of the demo, made from the
// register.
func (y *yard) asked(fitting, number, revision string) (*mounting.Request, *mounting.Specification) {
	y.Helper()
	now, err := y.Fleet(y.ctx)
	if err != nil {
		y.Fatal(err)
	}
	c, err := y.Catalogue(y.ctx)
	if err != nil || c == nil {
		y.Fatal("no catalogue", err)
	}
	g := c.File.Fitting(fitting)
	b := c.File.Brief(g.Brief)
	tractor, ok := now.Tractor(b.Tractor)
	if !ok {
		y.Fatal(b.Tractor)
	}
	law, err := exchange.OpenLaw("eu", "")
	if err != nil {
		y.Fatal(err)
	}
	q := &mounting.Request{File: c.File, Fitting: g, Title: mounting.Title{Number: number, Revision: revision, Date: "2026-11-25", Program: "test"},
		Task: mounting.Task{Fleet: &now.Fleet, Tractor: tractor, Chassis: c.File.ChassisOf(tractor.ID), Brief: b, Parts: c.File.Parts, Law: law, Day: "2026-11-25"}}
	sp, err := mounting.Specify(q)
	if err != nil {
		y.Fatal(err)
	}
	return q, sp
}

var paper = []byte("%PDF-1.4 a sheet")

func length(mm float64) *unit.Length { return new(unit.Length(mm * 1e-3)) }

// measured is a fitting of heron-plate, everything measured.
func measured() mounting.AsBuilt {
	plate := func(part string) mounting.BuiltPlate {
		return mounting.BuiltPlate{Part: part, D: new(152 * unit.Kilonewton), Imposed: new(20 * unit.Tonne)}
	}
	torque := func(upper string) mounting.BuiltTorque {
		return mounting.BuiltTorque{Upper: upper, Torque: new(unit.Torque(260)), Wrench: "W 14"}
	}
	return mounting.AsBuilt{Odometer: new(unit.Length(123_456_000)), At: length(3103), Gap: length(8),
		Levels: []mounting.BuiltLevel{{Name: "driving level", Unladen: length(1158), Laden: length(1139), Raised: length(1216)}},
		Plates: []mounting.BuiltPlate{plate("plate-12"), plate("wheel-185")},
		Torque: []mounting.BuiltTorque{torque("angles"), torque("plate-12"), torque("wheel-185")}}
}

func (y *yard) byNo(number string) record.Asset {
	y.Helper()
	a, err := y.ByNumber(y.ctx, number)
	if err != nil {
		y.Fatal(err)
	}
	return a
}

// someSheet keeps a specification for a tractor of its own, of which all that
// binds fits, for tests that are about something else.
func someSheet(y *yard, number string, approve bool) *KeepSpecification {
	y.Helper()
	a := y.tractor(number)
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		y.Fatal(err)
	}
	file, err := exchange.ParseParts("parts.toml", data)
	if err != nil {
		y.Fatal(err)
	}
	law, err := exchange.OpenLaw("eu", "")
	if err != nil {
		y.Fatal(err)
	}
	now, err := y.FleetOf(y.ctx, number)
	if err != nil {
		y.Fatal(err)
	}
	b, c := *file.Brief("heron-road"), file.ChassisOf("heron-07")
	b.Tractor, b.Trailers, b.Wished = number, nil, nil
	q := &mounting.Request{File: file, Fitting: file.Fitting("heron-plate"), Title: mounting.Title{Number: "M-" + number, Date: "2026-11-25"},
		Task: mounting.Task{Fleet: &now.Fleet, Tractor: &now.Tractors[0], Chassis: c, Brief: &b, Parts: file.Parts, Law: law, Day: "2026-11-25"}}
	sp, err := mounting.Specify(q)
	if err != nil {
		y.Fatal(err)
	}
	for i := range sp.Findings {
		sp.Findings[i].Answer = "fits"
	}
	sp.Answer = "fits"
	if approve {
		if err := sp.Approve("test", "2026-11-25"); err != nil {
			y.Fatal(err)
		}
	}
	return &KeepSpecification{Vehicle: a, Request: q, Sheet: sp, Paper: paper}
}

// TestCatalogue: a parts file comes in whole or not at all, and what is wrong with
// it is told with its place.
func TestCatalogue(t *testing.T) {
	y := newYard(t)
	if c, err := y.Catalogue(y.ctx); c != nil || err != nil {
		t.Fatalf("before anything came in: %v, %v", c, err)
	}
	for _, tt := range []struct{ data, where, expected string }{
		{"", "nothing", "a parts file"},
		{"[[part]]\nid = \"x\"\nknd = \"slider\"\n", "parts.toml:3:1", "kind"},
		{"[[part]]\nid = \"x\"\nkind = \"pedestal\"\n", "parts.toml:1:", "height"},
		{"[[part]\n", "parts.toml:1:", ""},
	} {
		p := y.wrong(&KeepCatalogue{Name: "parts.toml", Data: []byte(tt.data)})
		if p.Where != "file" || !strings.Contains(p.Found, tt.where) || !strings.Contains(p.Expected, tt.expected) {
			t.Errorf("%q: %+v", tt.data, p)
		}
	}
	if c, err := y.Catalogue(y.ctx); c != nil || err != nil {
		t.Fatalf("after files that were refused: %v, %v", c, err)
	}
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	y.must(&KeepCatalogue{Name: "parts.toml", Data: data})
	c, err := y.Catalogue(y.ctx)
	if err != nil || c.Name != "parts.toml" || int(c.Parts) != len(c.File.Parts) || c.Parts < 10 || c.Who.Name != "test" {
		t.Fatalf("%+v, %v", c, err)
	}
	if again := y.must(&KeepCatalogue{Name: "parts.toml", Data: data}); again.Record != "" {
		t.Error("the same file again was entered again")
	}
	small := []byte("[[part]]\nid = \"plate\"\nkind = \"mounting-plate\"\nheight = \"12 mm\"\nstands-on = [\"angles\"]\nread-from = \"unknown\"\n")
	y.must(&KeepCatalogue{Name: "less.toml", Data: small})
	if c, err = y.Catalogue(y.ctx); err != nil || len(c.File.Parts) != 1 {
		t.Fatalf("the new file is not in force: %v, %v", c, err)
	}
	h, err := y.History(y.ctx, catalogueAsset, 0, 10)
	if err != nil || len(h.Events) != 2 {
		t.Fatalf("the history: %v, %v", h, err)
	}
	y.must(&Undo{Meta: Meta{Reason: "the wrong file"}, Record: h.Events[0].ID})
	if c, err = y.Catalogue(y.ctx); err != nil || len(c.File.Parts) < 10 {
		t.Fatalf("the file before is not in force again: %v, %v", c, err)
	}
}

// TestSpecificationsAreKept: what is kept is what was made, by whom, and can be
// made again from its inputs; nothing is approved that is open, nor in another's
// name, nor written over.
func TestSpecificationsAreKept(t *testing.T) {
	y := stores(t)
	heron := y.byNo("heron-07")
	q, draft := y.asked("heron-plate", "M-7", "A")
	first := y.must(&KeepSpecification{Vehicle: heron, Request: q, Sheet: draft, Paper: paper})
	if p := y.wrong(&KeepSpecification{Vehicle: heron, Request: q, Sheet: draft, Paper: paper}); p.Where != "revision" {
		t.Errorf("the same revision again: %+v", p)
	}
	q, sheet := y.asked("heron-plate", "M-7", "B")
	if err := sheet.Approve("somebody else", "2026-11-25"); err != nil {
		t.Fatal(err)
	}
	if p := y.wrong(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: paper}); p.Where != "approval" || !strings.Contains(p.Expected, "who is signed in") {
		t.Errorf("in another's name: %+v", p)
	}
	if err := sheet.Approve("test", "2026-11-25"); err != nil {
		t.Fatal(err)
	}
	for _, answer := range []string{"does-not-fit", "cannot-tell"} {
		was := sheet.Findings[0]
		sheet.Findings[0].Answer, sheet.Findings[0].Binding = answer, true
		if p := y.wrong(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: paper}); p.Where != "approval" || !strings.Contains(p.Found, was.Title) {
			t.Errorf("approved with a finding that is %s: %+v", answer, p)
		}
		sheet.Findings[0] = was
	}
	if p := y.wrong(&KeepSpecification{Vehicle: y.byNo("swan-33"), Request: q, Sheet: sheet, Paper: paper}); p.Where != "sheet" {
		t.Errorf("on another tractor: %+v", p)
	}
	if p := y.wrong(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: []byte("hello")}); p.Where != "paper" {
		t.Errorf("with something else for paper: %+v", p)
	}
	second := y.must(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: paper})
	p, err := y.SheetPage(y.ctx, heron, second.Record)
	if err != nil {
		t.Fatal(err)
	}
	if p.State != record.ApprovedSheet || p.Who.Name != "test" || p.Program != "test" || *p.SpecificationKept.At != 3100 || p.Rules.String() != q.Law.Digest {
		t.Errorf("kept: %+v", p.SpecificationKept)
	}
	text := func(s *mounting.Specification) string {
		b, err := s.JSON()
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	if diff := cmp.Diff(text(sheet), text(p.Data)); diff != "" {
		t.Errorf("made and kept: %s", diff)
	}
	if old, err := y.SheetPage(y.ctx, heron, first.Record); err != nil || old.Newer == nil || old.Newer.ID != second.Record || old.State != record.DraftSheet {
		t.Errorf("the draft does not name what came after it: %+v, %v", old, err)
	}
	if b, err := y.blob(y.ctx, p.Paper); err != nil || !bytes.Equal(b, paper) {
		t.Errorf("the paper: %v", err)
	}
	in, err := y.SheetInputs(y.ctx, &p.Sheet)
	if err != nil {
		t.Fatal(err)
	}
	again, err := in.Request(q.Law)
	if err != nil {
		t.Fatal(err)
	}
	same, err := mounting.Specify(again)
	if err != nil {
		t.Fatal(err)
	}
	same.Release = in.Release
	if diff := cmp.Diff(text(sheet), text(same)); diff != "" {
		t.Errorf("made again from its inputs: %s", diff)
	}
	if _, err := y.SheetPage(y.ctx, y.byNo("swan-33"), second.Record); !missing(err) {
		t.Errorf("on another tractor's page: %v", err)
	}
	bad := Correct{Meta: Meta{Reason: "better"}, Record: first.Record, Body: p.SpecificationKept}
	if w := y.wrong(&bad); !strings.Contains(w.Expected, "another revision") {
		t.Errorf("corrected: %+v", w)
	}
}

// TestAsBuilt: what was measured takes the place of what was planned, in the fleet
// that pairings are reckoned with; what was not is unknown, and the bolts are due
// again until they were tightened.
func TestAsBuilt(t *testing.T) {
	y := stores(t)
	heron := y.byNo("heron-07")
	keep := func(revision string, approve bool) record.ID {
		q, sheet := y.asked("heron-plate", "M-7", revision)
		if approve {
			if err := sheet.Approve("test", "2026-11-25"); err != nil {
				t.Fatal(err)
			}
		}
		return y.must(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: paper}).Record
	}
	draft, sheet := keep("A", false), keep("B", true)
	if p := y.wrong(&EnterBuilt{Vehicle: heron, Specification: draft, Measured: measured()}); p.Where != "specification" || !strings.Contains(p.Found, "draft") {
		t.Errorf("by a draft: %+v", p)
	}
	odd := measured()
	odd.Torque[0].Upper = "plate-99"
	if p := y.wrong(&EnterBuilt{Vehicle: heron, Specification: sheet, Measured: odd}); p.Where != "measured" || !strings.Contains(p.Found, "plate-99") {
		t.Errorf("with a joint that is none: %+v", p)
	}
	done := y.must(&EnterBuilt{Vehicle: heron, Specification: sheet, Measured: measured()})
	if len(done.Warnings) > 0 {
		t.Errorf("everything was measured: %v", done.Warnings)
	}
	now, err := y.Fleet(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	tr, _ := now.Tractor("heron-07")
	w := &tr.FifthWheel
	if w.At == nil || *w.At != 3.103 || w.Slider != nil || *w.Levels[0].Unladen != 1.158 || *w.Levels[0].Laden != 1.139 || *w.D != 152e3 || *w.Mounting.Imposed != 20e3 || w.ReadFrom != "plate" {
		t.Errorf("the fleet does not carry what was measured: %+v", w)
	}
	b := y.vehiclePage(heron).Vehicle.Retightening()
	// The demo's document asks for it after 2 000 km or 30 days; the yard's morning is 25 November.
	if b == nil || b.Answer != "fits" || *b.Retighten.At != 125_456_000 || b.Retighten.Day != "2026-12-25" || *b.Reading.Metres != 123_456_000 || !slices.Equal(b.Changed, []string{"fifth-wheel"}) {
		t.Fatalf("the task: %+v", b)
	}
	var diff []mounting.Difference
	if err := json.Unmarshal(b.Differences, &diff); err != nil || len(diff) < 8 || *diff[0].Off != 3 {
		t.Errorf("the differences: %v, %v", err, diff)
	}
	due := func() int {
		all, err := y.BoltsDue(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range all {
			if d.Vehicle.Asset != heron {
				t.Errorf("due on %s", d.Vehicle.Asset)
			}
		}
		return len(all)
	}
	if n := due(); n != 1 {
		t.Errorf("%d vehicles in the list of bolts that are due", n)
	}
	some := []record.JointTight{{Joint: "angles", Torque: "260 N.m", Wrench: "W 14"}, {Joint: "plate-12", Torque: "260 N.m", Wrench: "W 14"}}
	if p := y.wrong(&TightenBolts{Vehicle: heron, Built: b.ID, Torques: some, Reading: odo(125_000)}); p.Where != "torques" || !strings.Contains(p.Found, "Fifth wheel") {
		t.Errorf("with a joint left out: %+v", p)
	}
	all := append(some, record.JointTight{Joint: "wheel-185", Torque: "240 N.m", Wrench: "W 14"})
	tight := y.must(&TightenBolts{Vehicle: heron, Built: b.ID, Torques: all, Reading: odo(125_000)})
	if len(tight.Warnings) != 1 || !strings.Contains(tight.Warnings[0].Found, "240 N.m") {
		t.Errorf("another torque than the document's: %v", tight.Warnings)
	}
	if y.vehiclePage(heron).Vehicle.Retightening() != nil || due() != 0 {
		t.Error("still due after it was done")
	}
	if p := y.wrong(&TightenBolts{Vehicle: heron, Built: b.ID, Torques: all}); p.Where != "built" {
		t.Errorf("twice: %+v", p)
	}
	y.must(&Undo{Meta: Meta{Reason: "another tractor"}, Record: tight.Record})
	if y.vehiclePage(heron).Vehicle.Retightening() == nil || due() != 1 {
		t.Error("not due again after it was taken back")
	}

	// Where a part of the register sits, its marks go before those that were read now.
	wheel := y.wheel("FW-1")
	y.must(&FitPart{Part: wheel, Vehicle: heron, Place: record.AtFifthWheel})
	done = y.must(&EnterBuilt{Vehicle: heron, Specification: sheet, Measured: measured()})
	if len(done.Warnings) != 1 || !strings.Contains(done.Warnings[0].Found, "FW-1, which is fitted as the fifth wheel") {
		t.Errorf("with a fifth wheel of the register: %v", done.Warnings)
	}
	y.must(&RemovePart{Part: wheel})

	// Nothing measured: everything is unknown from then on, and is asked for.
	done = y.must(&EnterBuilt{Vehicle: heron, Specification: sheet})
	if now, err = y.Fleet(y.ctx); err != nil {
		t.Fatal(err)
	}
	tr, _ = now.Tractor("heron-07")
	if w = &tr.FifthWheel; w.At != nil || w.D != nil || len(w.Levels) > 0 && w.Levels[0].Unladen != nil {
		t.Errorf("what nobody measured is taken from the plan: %+v", w)
	}
	if b = y.vehiclePage(heron).Vehicle.Retightening(); b == nil || b.Answer != "cannot-tell" || !strings.Contains(strings.Join(b.Retighten.Missing, " "), "odometer") || b.Retighten.Day != "2026-12-25" {
		t.Errorf("the task without a reading: %+v", b)
	}
	if len(done.Warnings) < 8 {
		t.Errorf("%d things are asked for: %v", len(done.Warnings), done.Warnings)
	}
}

// TestNoIntervalOfOurs: without a document nobody can tell when the bolts are
// tightened again, and it is asked for.
func TestNoIntervalOfOurs(t *testing.T) {
	y := stores(t)
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	file, err := exchange.ParseParts("parts.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	file.Fitting("heron-plate").Again = nil
	if data, err = exchange.WriteParts(file); err != nil {
		t.Fatal(err)
	}
	y.must(&KeepCatalogue{Name: "parts.toml", Data: data})
	heron := y.byNo("heron-07")
	q, sheet := y.asked("heron-plate", "M-8", "A")
	if err := sheet.Approve("test", "2026-11-25"); err != nil {
		t.Fatal(err)
	}
	id := y.must(&KeepSpecification{Vehicle: heron, Request: q, Sheet: sheet, Paper: paper}).Record
	done := y.must(&EnterBuilt{Vehicle: heron, Specification: id, Measured: measured()})
	b := y.vehiclePage(heron).Vehicle.Retightening()
	if b == nil || b.Retighten.At != nil || b.Retighten.Day != "" || len(b.Retighten.Missing) == 0 {
		t.Fatalf("the task: %+v", b)
	}
	if len(done.Warnings) != 1 || done.Warnings[0].Where != "retighten" {
		t.Errorf("asked for: %v", done.Warnings)
	}
}

// The technician fits and the engineer approves; nobody who is neither does.
func TestWhoMayKeep(t *testing.T) {
	y := stores(t)
	heron := y.byNo("heron-07")
	q, sheet := y.asked("heron-plate", "M-7", "A")
	for role, may := range map[string]bool{record.Driver: false, record.Technician: false, record.Planner: false, record.Auditor: false, record.Engineer: true} {
		s := *sheet
		if err := s.Approve(role, "2026-11-25"); err != nil {
			t.Fatal(err)
		}
		_, err := y.Do(y.as(Actor{Who: record.Who{Name: role}, Roles: []string{role}}), &KeepSpecification{Vehicle: heron, Request: q, Sheet: &s, Paper: paper})
		if _, refused := errors.AsType[*NotAllowed](err); refused == may || may && err != nil {
			t.Errorf("%s: %v", role, err)
		}
	}
}
