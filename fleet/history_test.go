package fleet

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"underpin/record"
	"underpin/store"
)

// A picture is all cached state, to be held against another.
type picture map[record.Asset]store.Row

func (y *yard) picture() picture {
	y.Helper()
	all := picture{}
	see := func(rows []store.Row) {
		for _, r := range rows {
			whole, err := y.store.Row(y.ctx, r.Asset)
			if err != nil {
				y.Fatal(err)
			}
			whole.Rev = 0
			whole.State = compact(y, whole.State)
			whole.Line = compact(y, whole.Line)
			all[r.Asset] = whole
		}
	}
	for _, kind := range []string{record.VehicleAsset, record.PartAsset, record.TypeAsset, record.DepotAsset, record.NoticeAsset, record.AccountAsset, record.LimitsAsset} {
		rows, err := y.store.List(y.ctx, store.Query{Kind: kind, Limit: 1000})
		if err != nil {
			y.Fatal(err)
		}
		see(rows)
		for _, row := range rows {
			for _, beside := range []string{record.PeriodEntity, record.AnswerEntity, record.PartAsset, record.NoticeAsset} {
				rows, err := y.store.Beside(y.ctx, store.BesideQuery{Asset: row.Asset, Kind: beside, Limit: 1000})
				if err != nil {
					y.Fatal(err)
				}
				see(rows)
			}
		}
	}
	return all
}

func compact(t testing.TB, raw json.RawMessage) json.RawMessage {
	if len(raw) == 0 {
		return nil // sets of values have no line
	}
	var b bytes.Buffer
	if err := json.Compact(&b, raw); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// few lets a property be tried on fewer and longer histories than usual: each needs
// a store of its own. Flags that were given on the command line stand.
func few(t *testing.T, checks, steps int) {
	given := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { given[f.Name] = true })
	for name, n := range map[string]int{"rapid.checks": checks, "rapid.steps": steps} {
		f := flag.Lookup(name)
		if f == nil {
			t.Fatalf("there is no flag %s", name)
		}
		if given[name] {
			continue
		}
		was := f.Value.String()
		if err := f.Value.Set(strconv.Itoa(n)); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = f.Value.Set(was) })
	}
}

// A player does things at random.
type player struct {
	*yard
	t        *rapid.T
	vehicles []record.Asset
	parts    []record.Asset
	notices  []record.Asset
	types    []record.Asset
	records  []record.ID
	who      []Actor
	entered  int
	refused  int
}

func (p *player) play(c Command) {
	who := rapid.SampledFrom(p.who).Draw(p.t, "who")
	done, err := p.Do(p.as(who), c)
	p.clock.pass(time.Duration(rapid.IntRange(0, 3).Draw(p.t, "hours")) * time.Hour)
	if err != nil {
		p.refused++
		_, invalid := errors.AsType[*Invalid](err)
		_, none := errors.AsType[*NotFound](err)
		_, conflict := errors.AsType[*Conflict](err)
		_, notAllowed := errors.AsType[*NotAllowed](err)
		if !invalid && !none && !conflict && !notAllowed {
			p.t.Fatalf("%T %+v: %v", c, c, err)
		}
		return
	}
	if done.Record == "" {
		return
	}
	p.entered++
	p.records = append(p.records, done.Record)
	for kind, list := range map[string]*[]record.Asset{record.VehicleAsset: &p.vehicles, record.PartAsset: &p.parts, record.NoticeAsset: &p.notices, record.TypeAsset: &p.types} {
		if done.Asset.Kind() == kind && !slices.Contains(*list, done.Asset) {
			*list = append(*list, done.Asset)
		}
	}
}

func (p *player) one(list []record.Asset) record.Asset {
	if len(list) == 0 {
		p.t.Skip("nothing there yet")
	}
	return rapid.SampledFrom(list).Draw(p.t, "which")
}

// sometime is an instant of the last days, or now.
func (p *player) sometime() Meta {
	return Meta{Happened: p.at(time.Duration(rapid.IntRange(0, 300).Draw(p.t, "ago")) * time.Hour), Reason: "random"}
}

func (p *player) reading() record.MeterReading {
	if rapid.Bool().Draw(p.t, "unread") {
		return record.MeterReading{}
	}
	return odo(rapid.Int64Range(0, 1_000_000).Draw(p.t, "km"))
}

// details are those of a vehicle that stand, or a NotFound.
func (p *player) changeVehicle() {
	a := p.one(p.vehicles)
	page, err := p.VehiclePage(p.ctx, a)
	if err != nil {
		p.t.Fatal(err)
	}
	d := page.Vehicle.VehicleAdded
	d.Registration = rapid.SampledFrom([]string{"", "OS 1", "OS 2"}).Draw(p.t, "registration")
	if d.Fields != nil {
		d.Fields["width"] = Text(rapid.SampledFrom([]string{"", "2550 mm", "2.6 m", "26 m"}).Draw(p.t, "width"))
	}
	version := page.Version
	if rapid.IntRange(0, 9).Draw(p.t, "stale") == 0 {
		version = "0000"
	}
	p.play(&ChangeVehicle{Meta: p.sometime(), Asset: a, Version: version, Details: d})
}

func (p *player) amend() {
	if len(p.records) == 0 {
		p.t.Skip("nothing there yet")
	}
	id := rapid.SampledFrom(p.records).Draw(p.t, "record")
	switch rapid.IntRange(0, 2).Draw(p.t, "how") {
	case 0:
		p.play(&Void{Meta: Meta{Reason: "random"}, Record: id})
	case 1:
		p.play(&Undo{Meta: Meta{Reason: "random"}, Record: id})
	default:
		rec, err := p.store.Record(p.ctx, id)
		if err != nil {
			p.t.Fatal(err)
		}
		body, err := rec.Open()
		if err != nil {
			p.t.Fatal(err)
		}
		switch b := body.(type) {
		case record.PartFitted:
			b.Reading = p.reading()
			body = b
		case record.PartRemoved:
			b.Condition = "as new"
			body = b
		case record.VehicleAdded:
			b.VIN = "X"
			body = b
		}
		p.play(&Correct{Meta: p.sometime(), Record: id, Body: body})
	}
}

func (p *player) actions() map[string]func(*rapid.T) {
	n := 0
	act := func(fn func()) func(*rapid.T) {
		return func(t *rapid.T) {
			p.t = t
			n++
			fn()
		}
	}
	return map[string]func(*rapid.T){
		"tractor": act(func() {
			p.play(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: p.numbered(tractorFields, fmt.Sprintf("t-%d", n%6))}})
		}),
		"trailer": act(func() {
			p.play(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: p.numbered(trailerFields, fmt.Sprintf("s-%d", n%6))}})
		}),
		"wheel": act(func() {
			d := record.PartAdded{Part: record.FifthWheel, Serial: fmt.Sprintf("FW %d", n)}
			if len(p.types) > 0 {
				d.Type = p.one(p.types)
			}
			p.play(&AddPart{Details: d})
		}),
		"pin": act(func() {
			p.play(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: fmt.Sprintf("KP %d", n)}})
		}),
		"type": act(func() {
			p.play(&AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: fmt.Sprintf("Type %d", n)}})
		}),
		"fit": act(func() {
			p.play(&FitPart{Meta: p.sometime(), Part: p.one(p.parts), Vehicle: p.one(p.vehicles), Reading: p.reading()})
		}),
		"fit again": act(func() {
			p.play(&FitPart{Part: p.one(p.parts), Vehicle: p.one(p.vehicles)})
		}),
		"remove":     act(func() { p.play(&RemovePart{Meta: p.sometime(), Part: p.one(p.parts), Reading: p.reading()}) }),
		"remove now": act(func() { p.play(&RemovePart{Part: p.one(p.parts)}) }),
		"scrap part": act(func() { p.play(&ScrapPart{Asset: p.one(p.parts)}) }),
		"scrap":      act(func() { p.play(&ScrapVehicle{Asset: p.one(p.vehicles)}) }),
		"change":     act(p.changeVehicle),
		"couple": act(func() {
			p.play(&Couple{Meta: p.sometime(), Towed: p.one(p.vehicles), By: p.one(p.vehicles), ByReading: p.reading()})
		}),
		"couple now": act(func() { p.play(&Couple{Towed: p.one(p.vehicles), By: p.one(p.vehicles)}) }),
		"uncouple":   act(func() { p.play(&Uncouple{Meta: p.sometime(), Towed: p.one(p.vehicles), ByReading: p.reading()}) }),
		"amend":      act(p.amend),
		"amend more": act(p.amend),
		"notice": act(func() {
			p.play(&OpenNotice{Details: record.NoticeOpened{Title: "N", Part: record.FifthWheel, Action: "look", Ranges: []record.SerialRange{{From: "FW 1", To: "FW 99"}}}})
		}),
		"close part":   act(func() { p.play(&ClosePart{Notice: p.one(p.notices), Part: p.one(p.parts), Done: "seen"}) }),
		"close notice": act(func() { p.play(&CloseNotice{Notice: p.one(p.notices)}) }),
		"readings": act(func() {
			row := ReadingRow{Vehicle: string(p.one(p.vehicles)), At: p.sometime().Happened, Metres: rapid.Int64Range(0, 1_000_000_000).Draw(p.t, "metres")}
			if _, err := p.EnterReadings(p.ctx, Readings{Rows: []ReadingRow{row}}); err != nil {
				p.t.Fatal(err)
			}
		}),
	}
}

// TestRandomHistories: whatever people do, a rebuild from the records gives the
// state that was kept up step by step, an export brought in elsewhere gives it
// too, every page can be asked for, and verification finds nothing.
func TestRandomHistories(t *testing.T) {
	entered, refused := 0, 0
	checks := 30
	if racing {
		checks = 4
	}
	few(t, checks, 60)
	rapid.Check(t, func(rt *rapid.T) {
		y := newYard(t)
		y.clock.pass(400 * time.Hour)
		p := &player{yard: y, t: rt, who: []Actor{
			Operator("test"), {Who: record.Who{Name: "Bea", Account: "account/bea"}, Roles: []string{record.Engineer}},
			{Who: record.Who{Name: "Cal", Account: "account/cal"}, Roles: []string{record.Technician}},
		}}
		rt.Repeat(p.actions())
		entered, refused = entered+p.entered, refused+p.refused
		before := y.picture()
		pages := p.pages()
		if err := y.Rebuild(y.ctx); err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(before, y.picture()); diff != "" {
			rt.Fatalf("a rebuild gives another state: %s", diff)
		}
		if diff := cmp.Diff(pages, p.pages()); diff != "" {
			rt.Fatalf("pages after a rebuild: %s", diff)
		}
		report, err := y.Verify(y.ctx)
		if err != nil || !report.Sound() {
			rt.Fatalf("verification: %+v, %v", report, err)
		}
		var file bytes.Buffer
		if err := y.Export(y.ctx, &file); err != nil {
			rt.Fatal(err)
		}
		if len(before) == 0 {
			return
		}
		there := newYard(t)
		there.clock = y.clock
		there.world.Now = y.clock.Now
		if _, err := there.ImportAll(there.ctx, bytes.NewReader(file.Bytes()), int64(file.Len())); err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(before, there.picture()); diff != "" {
			rt.Fatalf("brought in elsewhere: %s", diff)
		}
	})
	if !racing && (entered < 100 || refused < 100) {
		t.Errorf("%d commands were entered and %d refused: the test shows little", entered, refused)
	}
	t.Logf("%d commands entered, %d refused", entered, refused)
}

// pages asks for every page, as JSON to be held against another time.
func (p *player) pages() map[string]string {
	all := map[string]string{}
	put := func(name string, page any, err error) {
		if err != nil {
			p.t.Fatalf("%s: %v", name, err)
		}
		all[name] = string(encoded(page))
	}
	for _, a := range p.vehicles {
		page, err := p.VehiclePage(p.ctx, a)
		put(string(a), page, err)
	}
	for _, a := range p.parts {
		page, err := p.PartPage(p.ctx, a)
		put(string(a), page, err)
	}
	notices, err := p.OpenNotices(p.ctx)
	put("notices", notices, err)
	// A register of its own, so that nothing it has read before plays a part.
	now, err := New(p.store, p.world).Fleet(p.ctx)
	put("fleet", now, err)
	again, err := p.Fleet(p.ctx)
	if err != nil {
		p.t.Fatal(err)
	}
	if diff := cmp.Diff(all["fleet"], string(encoded(again))); diff != "" {
		p.t.Fatalf("the fleet from what was read before differs: %s", diff)
	}
	return all
}

// TestManyAtOnce: people who work at the same things at the same time lose
// nothing, and the records stay sound.
func TestManyAtOnce(t *testing.T) {
	y := newYard(t)
	tractor := y.tractor("heron-07")
	const people, each = 4, 8
	errs := make(chan error, people*each)
	for i := range people {
		go func() {
			for k := range each {
				c := Command(&AddPart{Details: record.PartAdded{Part: "light", Serial: fmt.Sprintf("%d-%d", i, k)}})
				if k%2 == 1 { // all in one chain
					c = &ReplaceMeter{Vehicle: tractor, Meter: record.Odometer, New: int64(i*each + k)}
				}
				_, err := y.Do(context.WithoutCancel(y.ctx), c)
				errs <- err
			}
		}()
	}
	for range people * each {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
	if got := len(y.vehiclePage(tractor).Vehicle.Meters); got != people*each/2 {
		t.Errorf("%d changes of the meter, expected %d", got, people*each/2)
	}
	if report, err := y.Verify(y.ctx); err != nil || !report.Sound() {
		t.Errorf("%+v, %v", report, err)
	}
	before := y.picture()
	if err := y.Rebuild(y.ctx); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, y.picture()); diff != "" {
		t.Error(diff)
	}
}
