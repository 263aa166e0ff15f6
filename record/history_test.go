package record_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underpin/record"
)

// A world draws random histories: vehicles, parts, types and depots that are
// added, changed, fitted, coupled, corrected and voided, in and out of order.
type world struct {
	rt      *rapid.T
	heads   map[record.Asset]record.Head
	records []*record.Record
	byKind  map[string][]record.Asset
	clock   record.Time
	n       int
}

var start = record.At(time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC))

const (
	hour = record.Time(3600 * 1e6)
	day  = 24 * hour
)

func newWorld(rt *rapid.T) *world {
	return &world{rt: rt, heads: map[record.Asset]record.Head{}, byKind: map[string][]record.Asset{}, clock: start}
}

// id makes record ids that need no chance.
func id(n int) record.ID {
	return record.NewID(start.Time().Add(time.Duration(n)*time.Second), [10]byte{8: byte(n >> 8), 9: byte(n)})
}

func digest(n int) record.Digest { return record.DigestOf(fmt.Appendf(nil, "blob %d", n)) }

func (w *world) pick(kind string) record.Asset {
	all := w.byKind[kind]
	if len(all) == 0 {
		return w.addAsset(kind)
	}
	return rapid.SampledFrom(all).Draw(w.rt, kind)
}

func (w *world) maybe(kind string) record.Asset {
	if rapid.Bool().Draw(w.rt, "with "+kind) {
		return w.pick(kind)
	}
	return ""
}

func (w *world) addAsset(kind string) record.Asset {
	a := record.NewAsset(kind, fmt.Sprintf("%s-%d", kind, len(w.byKind[kind])+1))
	w.enter(a, w.body(kind+"-added", a), "", "")
	w.byKind[kind] = append(w.byKind[kind], a)
	return a
}

// enter appends one record, which happened at about the time it is entered, now
// and then days before.
func (w *world) enter(a record.Asset, body record.Body, corrects record.ID, reason string) *record.Record {
	w.n++
	w.clock += record.Time(rapid.Int64Range(0, int64(4*hour)).Draw(w.rt, "wait"))
	happened := w.clock
	if rapid.IntRange(0, 3).Draw(w.rt, "late") == 0 {
		happened -= record.Time(rapid.Int64Range(0, 5).Draw(w.rt, "days")) * day
	}
	r, err := w.heads[a].Next(record.Draft{
		ID: id(w.n), Asset: a, Happened: happened, Entered: w.clock,
		Who: record.Who{Account: "account/ann", Name: "Ann Ü"}, Reason: reason, Corrects: corrects, Body: body,
	})
	if err != nil {
		w.rt.Fatalf("%s on %s: %v", body.Kind(), a, err)
	}
	w.heads[a] = r.Head()
	w.records = append(w.records, r)
	return r
}

func text(rt *rapid.T, name string) string {
	return rapid.SampledFrom([]string{"", "a", "Nord \"1\"", "zweite Größe", "x<y & z"}).Draw(rt, name)
}

func some(rt *rapid.T, name string) string {
	return rapid.SampledFrom([]string{"one", "two", "3 \\ drei", "vier\n4"}).Draw(rt, name)
}

func reading(rt *rapid.T) record.MeterReading {
	if rapid.Bool().Draw(rt, "read") {
		m := rapid.Int64Range(0, 1e9).Draw(rt, "metres")
		return record.MeterReading{Meter: record.Odometer, Metres: &m}
	}
	return record.MeterReading{}
}

// body draws a body of a kind for an asset.
func (w *world) body(kind string, a record.Asset) record.Body {
	rt := w.rt
	raw := func(s string) json.RawMessage { b, _ := json.Marshal(s); return b }
	switch kind {
	case "vehicle-added":
		return record.VehicleAdded{Vehicle: rapid.SampledFrom([]string{record.Tractor, record.SemiTrailer, record.Dolly}).Draw(rt, "vehicle"),
			Registration: text(rt, "registration"), Depot: w.maybe("depot"),
			Fields: record.Fields{"id": raw(a.Name()), "width": raw("2550 mm"), "note": raw(text(rt, "note"))}}
	case "vehicle-changed":
		c := record.Changes{Set: record.Fields{"registration": raw(some(rt, "registration"))}}
		switch rapid.IntRange(0, 3).Draw(rt, "change") {
		case 0:
			c.Set["fields"] = json.RawMessage(`{"width": "2600 mm", "height":"3.9 m"}`)
		case 1:
			c.Clear = []string{"fields.height", "fields.note"}
		case 2:
			c.Clear = []string{"depot"}
		}
		return record.VehicleChanged{Changes: c}
	case "vehicle-scrapped":
		return record.VehicleScrapped{Reading: reading(rt)}
	case "meter-replaced":
		return record.MeterReplaced{Meter: record.HubMeter, New: rapid.Int64Range(0, 100).Draw(rt, "new")}
	case "reading-judged":
		return record.ReadingJudged{Meter: record.Odometer, At: w.clock, Metres: 7, Decision: record.KeepReading}
	case "coupled":
		return record.Coupled{By: w.pick("vehicle"), ByReading: reading(rt), Place: text(rt, "place")}
	case "part-added":
		return record.PartAdded{Part: rapid.SampledFrom([]string{record.FifthWheel, record.Kingpin}).Draw(rt, "part"), Type: w.maybe("type"),
			Serial: rapid.SampledFrom([]string{"", "A100", "A150", "B7"}).Draw(rt, "serial"), Depot: w.maybe("depot")}
	case "part-changed":
		if rapid.Bool().Draw(rt, "clear") {
			return record.PartChanged{Changes: record.Changes{Clear: []string{"serial"}}}
		}
		return record.PartChanged{Changes: record.Changes{Set: record.Fields{"serial": raw(some(rt, "serial"))}}}
	case "part-fitted":
		return record.PartFitted{Vehicle: w.pick("vehicle"), Reading: reading(rt),
			Place: rapid.SampledFrom([]string{record.AtFifthWheel, record.AtKingpin}).Draw(rt, "place")}
	case "part-removed":
		return record.PartRemoved{Vehicle: w.pick("vehicle"), Depot: w.maybe("depot"), Condition: text(rt, "condition")}
	case "part-scrapped":
		return record.PartScrapped{}
	case "type-added":
		return record.TypeAdded{Part: record.FifthWheel, Name: some(rt, "name"),
			Dimensions: []record.Dimension{{Name: "lock-wear", New: "45 mm", Limit: "42.5 mm", Sense: "min"}}}
	case "type-changed":
		return record.TypeChanged{Changes: record.Changes{Set: record.Fields{"name": raw(some(rt, "name"))}}}
	case "depot-added":
		return record.DepotAdded{Name: some(rt, "name")}
	case "depot-changed":
		return record.DepotChanged{Changes: record.Changes{Set: record.Fields{"address": raw(some(rt, "address"))}}}
	case "depot-closed":
		return record.DepotClosed{}
	case "document-attached":
		return record.DocumentAttached{Title: some(rt, "title"), Sort: "photo", Bytes: 3, Blob: digest(rapid.IntRange(1, 5).Draw(rt, "blob"))}
	}
	rt.Fatalf("no body of kind %s is drawn", kind)
	return nil
}

var steps = map[string][]string{
	"vehicle": {"vehicle-changed", "vehicle-changed", "coupled", "coupled", "document-attached", "meter-replaced", "reading-judged", "vehicle-scrapped"},
	"part":    {"part-fitted", "part-fitted", "part-fitted", "part-removed", "part-removed", "part-changed", "part-scrapped", "document-attached"},
	"type":    {"type-changed"},
	"depot":   {"depot-changed", "depot-closed"},
}

// step enters one more record: something new, something that happens to an
// asset, a correction or a void.
func (w *world) step() {
	kinds := []string{"vehicle", "part", "part", "type", "depot"}
	switch rapid.IntRange(0, 9).Draw(w.rt, "step") {
	case 0, 1:
		w.addAsset(rapid.SampledFrom(kinds).Draw(w.rt, "new"))
	case 2:
		if first := w.first(); first != nil {
			w.enter(first.Asset, w.another(first), first.ID, "mistyped")
		}
	case 3:
		if first := w.first(); first != nil {
			w.void(first)
		}
	case 4:
		if open := w.ofKind("coupled"); open != nil {
			w.enter(open.Asset, record.Uncoupled{Period: open.ID, ByReading: reading(w.rt)}, "", "")
		}
	default:
		kind := rapid.SampledFrom(kinds).Draw(w.rt, "kind")
		a := w.pick(kind)
		w.enter(a, w.body(rapid.SampledFrom(steps[kind]).Draw(w.rt, "what"), a), "", "")
	}
}

func (w *world) void(first *record.Record) *record.Record {
	v, err := record.VoidOf(first)
	if err != nil {
		w.rt.Fatal(err)
	}
	return w.enter(first.Asset, v, first.ID, "entered twice")
}

// another body for a record, as a correction would bring.
func (w *world) another(r *record.Record) record.Body {
	if r.Kind == "uncoupled" {
		was, err := r.Open()
		if err != nil {
			w.rt.Fatal(err)
		}
		return record.Uncoupled{Period: was.(record.Uncoupled).Period, Place: some(w.rt, "place")}
	}
	return w.body(r.Kind, r.Asset)
}

// first picks a record that is no correction.
func (w *world) first() *record.Record { return w.ofKind("") }

func (w *world) ofKind(kind string) *record.Record {
	var all []*record.Record
	for _, r := range w.records {
		if r.Corrects == "" && (kind == "" || r.Kind == kind) {
			all = append(all, r)
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all[rapid.IntRange(0, len(all)-1).Draw(w.rt, "which")]
}

func (w *world) run() {
	w.addAsset("vehicle")
	for range rapid.IntRange(3, 40).Draw(w.rt, "steps") {
		w.step()
	}
}

// history is a fixed history of a few chains, for tests that need no chance.
func history(t testing.TB) []*record.Record {
	t.Helper()
	var all []*record.Record
	heads := map[record.Asset]record.Head{}
	enter := func(a record.Asset, body record.Body) *record.Record {
		n := len(all) + 1
		r, err := heads[a].Next(record.Draft{ID: id(n), Asset: a, Happened: start + record.Time(n)*hour, Entered: start + record.Time(n)*hour,
			Who: record.Who{Name: "Ann"}, Body: body})
		if err != nil {
			t.Fatal(err)
		}
		heads[a] = r.Head()
		all = append(all, r)
		return r
	}
	enter("vehicle/heron", record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS 1"})
	enter("part/one", record.PartAdded{Part: record.FifthWheel, Serial: "A1"})
	for i := range 8 {
		enter("vehicle/heron", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"registration": fmt.Appendf(nil, `"OS %d"`, i+2)}}})
		enter("part/one", record.PartChanged{Changes: record.Changes{Set: record.Fields{"serial": fmt.Appendf(nil, `"A%d"`, i+2)}}})
	}
	enter("vehicle/heron", record.DocumentAttached{Title: "plate", Sort: "plate", Bytes: 6, Blob: digest(1)})
	enter("part/one", record.PartFitted{Vehicle: "vehicle/heron", Place: record.AtFifthWheel})
	return all
}
