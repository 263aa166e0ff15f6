package record_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"underpin/record"
)

func fold(t interface{ Fatal(...any) }, records []*record.Record) *record.State {
	s := record.NewState(nil)
	for _, r := range records {
		if _, err := s.Apply(r); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// TestIncrementalIsRebuild applies each record to state that is read from and
// written to JSON, as a store does, and to the few entities it concerns only.
func TestIncrementalIsRebuild(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		stored := map[record.Asset][]byte{}
		load := func(a record.Asset) (*record.Entity, error) {
			raw, have := stored[a]
			if !have {
				return nil, nil
			}
			e := new(record.Entity)
			return e, json.Unmarshal(raw, e)
		}
		for _, r := range w.records {
			s := record.NewState(load)
			changed, err := s.Apply(r)
			if err != nil {
				rt.Fatal(err)
			}
			for _, a := range changed {
				e, err := s.Entity(a)
				if err != nil {
					rt.Fatal(err)
				}
				stored[a] = e.AppendJSON(nil)
			}
		}
		whole := fold(rt, w.records).Entities()
		if len(whole) != len(stored) {
			rt.Fatalf("rebuild gives %d entities, one by one %d", len(whole), len(stored))
		}
		for _, e := range whole {
			got, err := load(e.Asset)
			if err != nil {
				rt.Fatal(err)
			}
			var plain bytes.Buffer
			enc := json.NewEncoder(&plain)
			enc.SetEscapeHTML(false)
			if err := enc.Encode(e); err != nil {
				rt.Fatal(err)
			}
			want := bytes.TrimSpace(plain.Bytes())
			if diff := cmp.Diff(string(want), string(stored[e.Asset])); diff != "" {
				rt.Fatalf("%s, rebuilt and one by one:\n%s", e.Asset, diff)
			}
			if diff := cmp.Diff(viewsOf(rt, e, record.Latest), viewsOf(rt, got, record.Latest), cmpopts.EquateEmpty()); diff != "" {
				rt.Fatalf("%s, view of rebuilt and of stored:\n%s", e.Asset, diff)
			}
		}
	})
}

// TestMixingChainsDoesNotMatter merges the chains in another order.
func TestMixingChainsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		var names []record.Asset
		chains := map[record.Asset][]*record.Record{}
		for _, r := range w.records {
			if len(chains[r.Asset]) == 0 {
				names = append(names, r.Asset)
			}
			chains[r.Asset] = append(chains[r.Asset], r)
		}
		var mixed []*record.Record
		for len(names) > 0 {
			i := rapid.IntRange(0, len(names)-1).Draw(rt, "chain")
			c := chains[names[i]]
			mixed = append(mixed, c[0])
			if chains[names[i]] = c[1:]; len(c) == 1 {
				names = append(names[:i], names[i+1:]...)
			}
		}
		same(rt, fold(rt, w.records), fold(rt, mixed))
	})
}

func same(rt *rapid.T, a, b *record.State) {
	x, y := a.Entities(), b.Entities()
	if diff := cmp.Diff(x, y, cmpopts.EquateEmpty()); diff != "" {
		rt.Fatal(diff)
	}
}

// TestCorrectionCommutes: views after a correction are those of the history in
// which the record was right from the start, today and on any day before.
func TestCorrectionCommutes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		first := w.first()
		fix := w.enter(first.Asset, w.another(first), first.ID, "mistyped")
		var right []*record.Record
		for _, r := range w.records {
			switch {
			case r.ID == first.ID:
				as := *r
				as.Happened, as.Body, as.Blobs = fix.Happened, fix.Body, fix.Blobs
				right = append(right, &as)
			case r.Corrects != first.ID:
				right = append(right, r)
			}
		}
		sameViews(rt, w, fold(rt, w.records), fold(rt, right))
	})
}

// TestVoidCommutes: views after a void are those of the history without the
// record.
func TestVoidCommutes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		first := w.first()
		w.void(first)
		var without []*record.Record
		for _, r := range w.records {
			if r.ID != first.ID && r.Corrects != first.ID {
				without = append(without, r)
			}
		}
		sameViews(rt, w, fold(rt, w.records), fold(rt, without))
	})
}

func sameViews(rt *rapid.T, w *world, a, b *record.State) {
	names := map[record.Asset]bool{}
	for _, e := range append(a.Entities(), b.Entities()...) {
		names[e.Asset] = true
	}
	for _, at := range []record.Time{record.Latest, start + record.Time(rapid.Int64Range(0, int64(w.clock-start)).Draw(rt, "at"))} {
		for name := range names {
			x, y := entity(rt, a, name), entity(rt, b, name)
			if diff := cmp.Diff(viewsOf(rt, y, at), viewsOf(rt, x, at), cmpopts.EquateEmpty()); diff != "" {
				rt.Fatalf("%s at %s:\n%s", name, at, diff)
			}
		}
	}
}

func entity(rt *rapid.T, s *record.State, name record.Asset) *record.Entity {
	e, err := s.Entity(name)
	if err != nil {
		rt.Fatal(err)
	}
	if e == nil {
		e = &record.Entity{Asset: name}
	}
	return e
}

// viewsOf asks an entity everything.
func viewsOf(t interface{ Fatal(...any) }, e *record.Entity, at record.Time) any {
	var v any
	var err error
	switch e.Asset.Kind() {
	case record.VehicleAsset:
		v, err = e.Vehicle(at)
	case record.PartAsset:
		v, err = e.Part(at)
	case record.TypeAsset:
		v, err = e.Type(at)
	case record.DepotAsset:
		v, err = e.Depot(at)
	case record.PeriodEntity:
		v, err = e.Period(at)
	case record.NoticeAsset:
		v, err = e.Notice(at)
	case record.AccountAsset:
		v, err = e.Account(at)
	case record.LimitsAsset:
		if v, err = e.Limits(at); e.Asset.Name() == record.CatalogueSet {
			v, err = e.Catalogue(at)
		}
	case record.AnswerEntity:
		v, err = e.Answer(at)
	default:
		t.Fatal("no view of " + e.Asset)
	}
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestPeriodBrief: the short way to a period's brief says what its view says.
func TestPeriodBrief(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		for _, e := range fold(rt, w.records).Entities() {
			b, err := e.Brief()
			if err != nil {
				rt.Fatal(err)
			}
			if !json.Valid(b.Line) {
				rt.Fatalf("%s: line %s", e.Asset, b.Line)
			}
			if e.Asset.Kind() != record.PeriodEntity {
				continue
			}
			p, err := e.Period(record.Latest)
			if err != nil {
				rt.Fatal(err)
			}
			var line struct {
				Towed, By record.Asset
				From, To  record.Time
			}
			if err := json.Unmarshal(b.Line, &line); err != nil {
				rt.Fatal(err)
			}
			if line.Towed != p.Towed || line.By != p.By || line.From != p.From || line.To != p.To || b.At != p.From {
				rt.Fatalf("%s: brief %s, view %+v", e.Asset, b.Line, p)
			}
		}
	})
}

// TestPartsAndVehiclesAgree: what sits on a vehicle is told by the vehicle as by
// its parts, at any instant.
func TestPartsAndVehiclesAgree(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		s := fold(rt, w.records)
		at := start + record.Time(rapid.Int64Range(0, int64(w.clock-start)+1).Draw(rt, "at"))
		byVehicle, byPart := map[string]record.Fitting{}, map[string]record.Fitting{}
		for _, e := range s.Entities() {
			switch e.Asset.Kind() {
			case record.VehicleAsset:
				v, err := e.Vehicle(at)
				if err != nil {
					rt.Fatal(err)
				}
				for _, f := range v.Fittings {
					byVehicle[string(f.Fitted)] = f
				}
			case record.PartAsset:
				p, err := e.Part(at)
				if err != nil {
					rt.Fatal(err)
				}
				open := 0
				for _, f := range p.Fittings {
					byPart[string(f.Fitted)] = f
					if f.Open() {
						open++
					}
				}
				if open > 1 {
					rt.Fatalf("%s sits in %d places at once", e.Asset, open)
				}
			}
		}
		if diff := cmp.Diff(byPart, byVehicle); diff != "" {
			rt.Fatalf("by the parts and by the vehicles at %s:\n%s", at, diff)
		}
	})
}
