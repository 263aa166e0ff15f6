package store

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"underpin/record"
)

func isNotFound(err error) bool { return errors.Is(err, ErrNotFound) }

// conform holds a store to the promises of the interface. Each part begins with
// an empty store.
func conform(t *testing.T, open func(testing.TB) *sqlStore) {
	for _, part := range []struct {
		name string
		test func(*testing.T, Store)
	}{
		{"append", testAppend}, {"append again", testAgain}, {"conflict", testConflict}, {"corrections", testCorrections},
		{"several chains", testSeveralChains}, {"clock set back", testClock}, {"appending only", testAppendOnly}, {"reading back", testReadBack},
		{"rows", testRows}, {"names", testKeys}, {"lists", testLists}, {"beside", testBeside}, {"find", testFind}, {"rebuild", testRebuild},
		{"seals", testSeals}, {"tampering", testTampering}, {"blobs", testBlobs}, {"readings", testReadings},
		{"secrets", testSecrets}, {"sessions", testSessions}, {"tokens", testTokens}, {"settings", testSettings}, {"jobs", testJobs}, {"many claim", testManyClaim},
		{"many writers", testManyWriters}, {"verify while writing", testVerifyWhileWriting}, {"about", testAbout}, {"nothing half done", testNothingHalfDone},
		{"cancelled", testCancelled},
	} {
		t.Run(part.name, func(t *testing.T) { part.test(t, open(t)) })
	}
}

func testAppend(t *testing.T, s Store) {
	ctx := t.Context()
	h, err := s.Head(ctx, "vehicle/heron")
	if err != nil || h.Seq != 0 || h.Asset != "vehicle/heron" {
		t.Fatalf("head of a chain that has not begun: %+v, %v", h, err)
	}
	f := newFleet(t, s)
	first := f.add("vehicle/heron")
	second := f.next("vehicle/heron", change("OS 2"), "")
	f.enter(second)
	h, err = s.Head(ctx, "vehicle/heron")
	if want := second.Head(); err != nil || h != want {
		t.Errorf("head %+v (%v), expected %+v", h, err, want)
	}
	for _, r := range []*record.Record{first, second} {
		got, err := s.Record(ctx, r.ID)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(r, got); diff != "" {
			t.Error(diff)
		}
	}
	if _, err := s.Record(ctx, newID()); !isNotFound(err) {
		t.Errorf("a record that is not there: %v", err)
	}
	f.verify()
}

// testAgain: sending twice is the same as sending once.
func testAgain(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	r := f.next("vehicle/heron", f.vehicle("heron"), "")
	b, err := f.batch(r)
	if err != nil {
		t.Fatal(err)
	}
	if done, err := s.Append(ctx, b); err != nil || done.Again {
		t.Fatalf("the first time: %+v, %v", done, err)
	}
	for range 2 {
		done, err := s.Append(ctx, b)
		if err != nil || !done.Again || len(done.Records) != 1 || done.Records[0].Digest != r.Digest {
			t.Fatalf("again: %+v, %v", done, err)
		}
	}
	// The sender did not see the answer and enters the same a minute later.
	later, err := record.Head{}.Next(record.Draft{ID: r.ID, Asset: r.Asset, Happened: r.Happened, Entered: r.Entered + 60e6, Who: r.Who, Body: f.vehicle("heron")})
	if err != nil {
		t.Fatal(err)
	}
	if done, err := s.Append(ctx, Batch{Records: []*record.Record{later}}); err != nil || !done.Again || done.Records[0].Entered != r.Entered {
		t.Errorf("the same a minute later: %+v, %v; expected what was stored first", done, err)
	}
	// The same id with something else in it is an error.
	other, err := record.Head{}.Next(record.Draft{ID: r.ID, Asset: r.Asset, Happened: r.Happened, Entered: r.Entered, Who: r.Who, Body: f.vehicle("teal")})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(ctx, Batch{Records: []*record.Record{other}}); !is[*IDTaken](err) {
		t.Errorf("another record with the id: %v, expected *IDTaken", err)
	}
	// A batch of which only a part is there is an error too.
	fresh := f.next("vehicle/teal", f.vehicle("teal"), "")
	if _, err := s.Append(ctx, Batch{Records: []*record.Record{r, fresh}}); !is[*IDTaken](err) {
		t.Errorf("a batch half of which is there: %v, expected *IDTaken", err)
	}
	if h, _ := s.Head(ctx, "vehicle/teal"); h.Seq != 0 {
		t.Error("the other half was entered")
	}
	f.verify()
}

// testConflict: two people change one vehicle; the second is told who was quicker.
func testConflict(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	f.add("vehicle/heron")
	mine, theirs := f.next("vehicle/heron", change("MINE"), ""), f.next("vehicle/heron", change("THEIRS"), "")
	f.enter(theirs)
	_, err := s.Append(ctx, Batch{Records: []*record.Record{mine}})
	conflict, ok := errors.AsType[*Conflict](err)
	if !ok || conflict.Came == nil || conflict.Came.ID != theirs.ID || conflict.Seq != 2 || conflict.Asset != "vehicle/heron" {
		t.Fatalf("%v, expected a *Conflict that holds the record that came first", err)
	}
	if !contains(err.Error(), "Ann Ost") {
		t.Errorf("the error does not say who: %v", err)
	}
	// The chain that somebody began meanwhile.
	a, b := follow(t, record.Head{}, "vehicle/teal", f.vehicle("a"), ""), follow(t, record.Head{}, "vehicle/teal", f.vehicle("b"), "")
	f.enter(a)
	if _, err = s.Append(ctx, Batch{Records: []*record.Record{b}}); !is[*Conflict](err) {
		t.Errorf("a chain begun twice: %v", err)
	}
	// Records of a chain that is not there, or further on than it is.
	lost := follow(t, theirs.Head(), "vehicle/heron", change("X"), "")
	lost2 := follow(t, lost.Head(), "vehicle/heron", change("Y"), "")
	if _, err = s.Append(ctx, Batch{Records: []*record.Record{lost2}}); !is[*Conflict](err) {
		t.Errorf("a record that leaves a gap: %v", err)
	}
	f.enter(lost, lost2) // both in one batch follow each other
	f.verify()
}

func testCorrections(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	first := f.add("vehicle/heron")
	other := f.add("vehicle/teal")
	changed := f.next("vehicle/heron", change("OS 1"), "")
	f.enter(changed)
	fix := f.next("vehicle/heron", change("OS 2"), changed.ID)
	f.enter(fix)
	void, err := record.VoidOf(changed)
	if err != nil {
		t.Fatal(err)
	}
	f.enter(f.next("vehicle/heron", void, changed.ID))
	for _, bad := range []struct {
		name     string
		body     record.Body
		corrects record.ID
	}{
		{"of a record that is not there", change("X"), newID()},
		{"of another chain's record", f.vehicle("x"), other.ID},
		{"of a correction", change("X"), fix.ID},
		{"of a record of another kind", change("X"), first.ID},
	} {
		r := f.next("vehicle/heron", bad.body, bad.corrects)
		if _, err := s.Append(ctx, Batch{Records: []*record.Record{r}}); !is[*record.RuleError](err) {
			t.Errorf("a correction %s: %v, expected a *record.RuleError", bad.name, err)
		}
	}
	f.verify()
}

// testSeveralChains: a batch over several chains is entered whole or not at all.
func testSeveralChains(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	f.add("vehicle/heron")
	part := f.next("part/one", record.PartAdded{Part: record.FifthWheel, Serial: "FW-1"}, "")
	fit := follow(t, part.Head(), "part/one", record.PartFitted{Vehicle: "vehicle/heron", Place: record.AtFifthWheel}, "")
	stale := follow(t, record.Head{}, "vehicle/heron", f.vehicle("again"), "")
	if _, err := s.Append(ctx, Batch{Records: []*record.Record{part, fit, stale}}); !is[*Conflict](err) {
		t.Fatalf("%v, expected a *Conflict", err)
	}
	if h, _ := s.Head(ctx, "part/one"); h.Seq != 0 {
		t.Errorf("after a batch that was refused the other chain has %d records", h.Seq)
	}
	f.enter(part, fit, f.next("vehicle/heron", change("OS 3"), ""))
	row, err := s.Row(ctx, "vehicle/heron")
	if err != nil {
		t.Fatal(err)
	}
	e, err := row.Entity()
	if err != nil {
		t.Fatal(err)
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil || len(v.Fitted()) != 1 || v.Fitted()[0].Part != "part/one" || v.Registration != "OS 3" {
		t.Errorf("vehicle %+v (%v)", v, err)
	}
	f.verify()
}

func testClock(t *testing.T, s Store) {
	f := newFleet(t, s)
	first := f.add("vehicle/heron")
	head := first.Head()
	head.Entered = 0 // a writer whose clock is behind, and who does not look
	r, err := head.Next(record.Draft{ID: newID(), Asset: "vehicle/heron", Happened: start - 9*hour, Entered: start - 8*hour, Who: first.Who, Body: change("X")})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), Batch{Records: []*record.Record{r}}); !errors.Is(err, record.ErrClock) {
		t.Errorf("a record entered before the one before it: %v, expected ErrClock", err)
	}
	f.verify()
}

// testAppendOnly: the database itself refuses to change what was entered.
func testAppendOnly(t *testing.T, st Store) {
	f := newFleet(t, st)
	f.add("vehicle/heron")
	if _, err := st.AddReadings(t.Context(), delivery(), []Reading{reading("vehicle/heron", 1, 1000)}); err != nil {
		t.Fatal(err)
	}
	seal(t, st)
	for _, q := range []string{`update record set kind = 'x'`, `delete from record`, `update seal set number = 7`, `delete from seal`, `update reading set metres = 7`, `delete from reading`} {
		if _, err := st.(*sqlStore).w.Exec(q); err == nil {
			t.Errorf("%s was done", q)
		}
	}
	f.verify()
}

func testReadBack(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	var all []*record.Record
	for i := range 3 {
		all = append(all, f.add(number(i)))
	}
	for i := range 4 {
		r := f.next(number(1), change(fmt.Sprint("OS ", i)), "")
		f.enter(r)
		all = append(all, r)
	}
	ids := func(records []*record.Record) (names []record.ID) {
		for _, r := range records {
			names = append(names, r.ID)
		}
		return names
	}
	history, err := s.History(ctx, number(1), 3, 2)
	if diff := cmp.Diff(ids(all[4:6]), ids(history)); err != nil || diff != "" {
		t.Errorf("records 3 and 4 of the chain (%v):\n%s", err, diff)
	}
	var recent []*record.Record
	for before := int64(0); ; {
		page, err := s.Recent(ctx, before, 3)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			break
		}
		for _, r := range page {
			recent = append(recent, r.Record)
			before = r.Number
		}
	}
	slices.Reverse(recent)
	if diff := cmp.Diff(ids(all), ids(recent)); diff != "" {
		t.Errorf("newest first, by pages of three:\n%s", diff)
	}
	var every []*record.Record
	for r, err := range s.All(ctx) {
		if err != nil {
			t.Fatal(err)
		}
		every = append(every, r)
	}
	if diff := cmp.Diff(ids(all), ids(every)); diff != "" {
		t.Errorf("all:\n%s", diff)
	}
	heads, err := s.Heads(ctx)
	if err != nil || len(heads) != 3 || !slices.IsSortedFunc(heads, func(a, b record.Head) int { return strings.Compare(string(a.Asset), string(b.Asset)) }) {
		t.Errorf("heads %v, %v", heads, err)
	}
	for r := range s.All(ctx) { // leaving early gives the connection back
		_ = r
		break
	}
}

func row(a record.Asset, title string) Row {
	return Row{Asset: a, Title: title, Sort: title, Text: title, Status: "active", Line: json.RawMessage(`{"a":1}`), State: json.RawMessage(`{"asset":"` + string(a) + `"}`)}
}

func put(t *testing.T, s Store, rows ...Put) {
	t.Helper()
	if _, err := s.Append(t.Context(), Batch{Rows: rows}); err != nil {
		t.Fatal(err)
	}
}

func testRows(t *testing.T, s Store) {
	ctx := t.Context()
	want := row("vehicle/heron", "Heron 7")
	want.Depot, want.Due, want.At = "depot/north", start, start+hour
	put(t, s, Put{Row: want})
	got, err := s.Row(ctx, "vehicle/heron")
	want.Rev = 1
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(Row{}, "Text")); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
	next := row("vehicle/heron", "Heron 8")
	put(t, s, Put{Row: next, Was: 1})
	if got, err = s.Row(ctx, "vehicle/heron"); err != nil || got.Rev != 2 || got.Title != "Heron 8" {
		t.Errorf("%+v %v", got, err)
	}
	for _, was := range []int64{0, 1, 3} {
		if _, err := s.Append(ctx, Batch{Rows: []Put{{Row: next, Was: was}}}); !is[*Stale](err) {
			t.Errorf("a change computed from revision %d: %v, expected *Stale", was, err)
		}
	}
	if _, err := s.Append(ctx, Batch{Rows: []Put{{Row: row("vehicle/nobody", "x"), Was: 1}}}); !is[*Stale](err) {
		t.Errorf("a change of a row that is not there: %v, expected *Stale", err)
	}
	if _, err := s.Row(ctx, "vehicle/nobody"); !isNotFound(err) {
		t.Errorf("a row that is not there: %v", err)
	}
	put(t, s, Put{Row: row("vehicle/teal", "Teal")})
	several, err := s.Rows(ctx, []record.Asset{"vehicle/teal", "vehicle/nobody", "vehicle/heron"})
	if err != nil || len(several) != 2 || several[0].Asset != "vehicle/teal" || several[1].Asset != "vehicle/heron" || several[1].State == nil {
		t.Errorf("several: %v, %v", several, err)
	}
}

func testKeys(t *testing.T, s Store) {
	ctx := t.Context()
	a, b := row("vehicle/a", "a"), row("vehicle/b", "b")
	a.Keys, b.Keys = []string{"vehicle:1"}, []string{"vehicle:2"}
	put(t, s, Put{Row: a}, Put{Row: b})
	if got, err := s.Key(ctx, "vehicle:2"); err != nil || got != "vehicle/b" {
		t.Errorf("key: %s, %v", got, err)
	}
	if _, err := s.Key(ctx, "vehicle:3"); !isNotFound(err) {
		t.Errorf("a key nobody has: %v", err)
	}
	c := row("vehicle/c", "c")
	c.Keys = []string{"vehicle:1"}
	_, err := s.Append(ctx, Batch{Rows: []Put{{Row: c}}})
	taken, ok := errors.AsType[*Taken](err)
	if !ok || taken.By != "vehicle/a" || taken.Key != "vehicle:1" {
		t.Errorf("%v, expected *Taken by vehicle/a", err)
	}
	if _, err := s.Row(ctx, "vehicle/c"); !isNotFound(err) {
		t.Error("the row was written though its name was taken")
	}
	// Two may exchange their names in one batch, and a name that is given up is free.
	a.Keys, b.Keys = b.Keys, a.Keys
	put(t, s, Put{Row: a, Was: 1}, Put{Row: b, Was: 1})
	if got, err := s.Key(ctx, "vehicle:2"); err != nil || got != "vehicle/a" {
		t.Errorf("after exchanging: %s, %v", got, err)
	}
	a.Keys = nil
	put(t, s, Put{Row: a, Was: 2})
	c.Keys = []string{"vehicle:2"}
	put(t, s, Put{Row: c})
}

// testLists holds List and Count against a plain filter over the same rows.
func testLists(t *testing.T, s Store) {
	ctx := t.Context()
	var all []Row
	var puts []Put
	for i := range 60 {
		r := row(record.NewAsset([]string{"vehicle", "part"}[i%2], fmt.Sprintf("r-%02d", i)), fmt.Sprintf("%02d", (i*37)%60))
		r.Depot = record.NewAsset("depot", []string{"north", "south", "west"}[i%3])
		r.Status = []string{"active", "fitted", "scrapped"}[i%5%3]
		if i%4 == 0 {
			r.Due = start + record.Time((i*29)%60)*hour
		}
		if i == 7 {
			r.Sort = "" // not in lists
		}
		r.Rev = 1
		all, puts = append(all, r), append(puts, Put{Row: r})
	}
	put(t, s, puts...)
	for _, q := range []Query{
		{Kind: "vehicle"}, {Kind: "part"}, {Kind: "type"},
		{Kind: "vehicle", Depots: []record.Asset{"depot/north"}},
		{Kind: "part", Depots: []record.Asset{"depot/north", "depot/west"}, Status: []string{"active"}},
		{Kind: "part", Status: []string{"fitted", "scrapped"}},
		{Kind: "vehicle", ByDue: true}, {Kind: "vehicle", ByDue: true, Depots: []record.Asset{"depot/south"}, Status: []string{"active", "fitted"}},
	} {
		var want []record.Asset
		counts := map[string]int{}
		sorted := slices.Clone(all)
		slices.SortFunc(sorted, func(a, b Row) int {
			if q.ByDue {
				return int(a.Due - b.Due)
			}
			return strings.Compare(a.Sort, b.Sort)
		})
		for _, r := range sorted {
			listed := r.Asset.Kind() == q.Kind && (len(q.Depots) == 0 || slices.Contains(q.Depots, r.Depot)) && (r.Sort != "" && !q.ByDue || q.ByDue && r.Due != 0)
			if listed {
				counts[r.Status]++
			}
			if listed && (len(q.Status) == 0 || slices.Contains(q.Status, r.Status)) {
				want = append(want, r.Asset)
			}
		}
		var got []record.Asset
		for q.Limit, q.After = 4, nil; ; { // by pages of four
			page, err := s.List(ctx, q)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				break
			}
			for _, r := range page {
				got = append(got, r.Asset)
				if r.State != nil {
					t.Errorf("a list brings the state of %s", r.Asset)
				}
			}
			q.After = &page[len(page)-1]
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%+v:\n%s", q, diff)
		}
		n, err := s.Count(ctx, q)
		if diff := cmp.Diff(counts, n); err != nil || diff != "" {
			t.Errorf("count of %+v (%v):\n%s", q, err, diff)
		}
	}
}

func testBeside(t *testing.T, s Store) {
	ctx := t.Context()
	var puts []Put
	for i := range 6 {
		r := row(record.NewAsset("period", fmt.Sprintf("p-%d", i)), "")
		r.At, r.Sort = start+record.Time(i)*hour, ""
		r.Refs = []record.Asset{"vehicle/t", "vehicle/t", record.NewAsset("vehicle", []string{"a", "b"}[i%2])}
		r.Status = map[bool]string{true: "open", false: "closed"}[i == 5]
		puts = append(puts, Put{Row: r})
	}
	put(t, s, puts...)
	names := func(q BesideQuery) string {
		rows, err := s.Beside(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, r := range rows {
			all = append(all, strings.TrimPrefix(r.Asset.Name(), "p-"))
			if r.State == nil {
				t.Errorf("no state of %s", r.Asset)
			}
		}
		return strings.Join(all, "")
	}
	for _, test := range []struct {
		q    BesideQuery
		want string
	}{
		{BesideQuery{Asset: "vehicle/t", Kind: "period", Limit: 9}, "543210"},
		{BesideQuery{Asset: "vehicle/t", Kind: "period", Limit: 2}, "54"},
		{BesideQuery{Asset: "vehicle/t", Kind: "period", Until: start + 4*hour, Limit: 2}, "32"},
		{BesideQuery{Asset: "vehicle/b", Kind: "period", Limit: 9}, "531"},
		{BesideQuery{Asset: "vehicle/t", Kind: "period", Status: "open", Limit: 9}, "5"},
		{BesideQuery{Asset: "vehicle/t", Kind: "part", Limit: 9}, ""},
	} {
		if got := names(test.q); got != test.want {
			t.Errorf("%+v: %q, expected %q", test.q, got, test.want)
		}
	}
	r := puts[5].Row // ends, and moves to another vehicle
	r.Status, r.Refs = "closed", []record.Asset{"vehicle/a"}
	put(t, s, Put{Row: r, Was: 1})
	if got := names(BesideQuery{Asset: "vehicle/t", Kind: "period", Limit: 9}) + "|" + names(BesideQuery{Asset: "vehicle/a", Kind: "period", Status: "closed", Limit: 9}); got != "43210|5420" {
		t.Errorf("after it moved: %q", got)
	}
}

func testFind(t *testing.T, s Store) {
	ctx := t.Context()
	texts := []struct{ kind, title, text, depot string }{
		{"vehicle", "heron-07", "heron-07\nHeron 07\nOS-HE 7\ntractor", "north"},
		{"vehicle", "heron-12", "heron-12\nOS-HE 12\nW0L000051T2123456", "south"},
		{"vehicle", "teal-3", "teal-3\nOS-TE 3\nsemi-trailer\ncurtain-sider", "north"},
		{"part", "fifth-wheel FW-1042", "fifth-wheel\nFW-1042\nE1 55R-01 0007", ""},
		{"part", "kingpin K07", "kingpin\nK07", "north"},
		{"depot", "Größe Straße", "Größe Straße\n12 Quay-Road 4% _x", ""},
		{"account", "Ann Müller", "Ann Müller\nann", ""},
		{"period", "", "heron", ""},
	}
	var puts []Put
	for i, x := range texts {
		r := row(record.NewAsset(x.kind, fmt.Sprint("r", i)), x.title)
		r.Text = x.text
		if x.depot != "" {
			r.Depot = record.NewAsset("depot", x.depot)
		}
		puts = append(puts, Put{Row: r})
	}
	put(t, s, puts...)
	for _, test := range []struct {
		q    FindQuery
		want string // titles, in order
	}{
		{FindQuery{Text: "heron"}, "heron-07|heron-12"},
		{FindQuery{Text: "HERON-12"}, "heron-12"},
		{FindQuery{Text: "heron 12"}, "heron-12"},
		{FindQuery{Text: "oshe7"}, "heron-07"},
		{FindQuery{Text: "os-he 7"}, "heron-07"},
		{FindQuery{Text: "OS HE 7"}, "heron-07"}, // parted as on the plate
		{FindQuery{Text: "he ron 0"}, "heron-07"},
		{FindQuery{Text: "fw 10 42"}, "fifth-wheel FW-1042"},
		{FindQuery{Text: "e1 55 r 01"}, "fifth-wheel FW-1042"},
		{FindQuery{Text: "123456"}, "heron-12"}, // the end of a chassis number
		{FindQuery{Text: "2123"}, "heron-12"},   // its middle
		{FindQuery{Text: "07"}, "heron-07"},     // two characters begin a word
		{FindQuery{Text: "k0"}, "kingpin K07"},
		{FindQuery{Text: "trailer"}, "teal-3"},
		{FindQuery{Text: "sider os"}, "teal-3"},
		{FindQuery{Text: "sider xx"}, ""},
		{FindQuery{Text: "groesse"}, ""},
		{FindQuery{Text: "grosse strasse"}, "Größe Straße"},
		{FindQuery{Text: "größe"}, "Größe Straße"},
		{FindQuery{Text: "muller"}, "Ann Müller"},
		{FindQuery{Text: "MÜLLER ann"}, "Ann Müller"},
		{FindQuery{Text: "4%"}, "Größe Straße"},
		{FindQuery{Text: "% _ \" '"}, ""},
		{FindQuery{Text: "  "}, ""},
		{FindQuery{Text: "road\" OR words:heron"}, ""},
		{FindQuery{Text: "fw 1042"}, "fifth-wheel FW-1042"},
		{FindQuery{Text: "kingpin"}, "kingpin K07"},
		{FindQuery{Text: "he"}, "heron-07|heron-12"},
		{FindQuery{Text: "heron", Limit: 1}, "heron-07"},
		{FindQuery{Text: "0007", Kinds: []string{"part"}}, "fifth-wheel FW-1042"},
		{FindQuery{Text: "0007", Kinds: []string{"vehicle"}}, ""},
		{FindQuery{Text: "os", Depots: []record.Asset{"depot/north"}}, "heron-07|teal-3"},
		{FindQuery{Text: "42", Depots: []record.Asset{"depot/south"}}, ""},
		{FindQuery{Text: "042", Depots: []record.Asset{"depot/south"}}, "fifth-wheel FW-1042"}, // of no depot
	} {
		if test.q.Limit == 0 {
			test.q.Limit = 10
		}
		rows, err := s.Find(ctx, test.q)
		if err != nil {
			t.Errorf("%+v: %v", test.q, err)
			continue
		}
		var titles []string
		for _, r := range rows {
			titles = append(titles, r.Title)
		}
		if got := strings.Join(titles, "|"); got != test.want {
			t.Errorf("%+v finds %q, expected %q", test.q, got, test.want)
		}
	}
	r := puts[0].Row
	r.Title, r.Sort, r.Text = "stork-1", "stork-1", "stork-1"
	put(t, s, Put{Row: r, Was: 1})
	if rows, err := s.Find(ctx, FindQuery{Text: "heron", Limit: 9}); err != nil || len(rows) != 1 {
		t.Errorf("after it was renamed %d are found (%v), expected 1", len(rows), err)
	}
	if rows, err := s.Find(ctx, FindQuery{Text: "stork", Limit: 9}); err != nil || len(rows) != 1 || rows[0].Asset != "vehicle/r0" {
		t.Errorf("by its new name: %v (%v)", rows, err)
	}
	r.Sort = "" // it goes out of the lists, and comes back saying the same
	put(t, s, Put{Row: r, Was: 2})
	if rows, err := s.Find(ctx, FindQuery{Text: "stork", Limit: 9}); err != nil || len(rows) != 0 {
		t.Errorf("out of the lists: %v (%v)", rows, err)
	}
	r.Sort = "stork-1"
	put(t, s, Put{Row: r, Was: 3}, Put{Row: Row{Asset: "vehicle/late", Text: "late", Line: r.Line, State: r.State}})
	put(t, s, Put{Row: row("vehicle/late", "late"), Was: 1})
	for _, text := range []string{"stork", "tork", "late", "ate"} {
		if rows, err := s.Find(ctx, FindQuery{Text: text, Limit: 9}); err != nil || len(rows) != 1 {
			t.Errorf("in the lists again, %q finds %v (%v)", text, rows, err)
		}
	}
}

// testRebuild: what a rebuild from the records puts is what was cached, and a
// rebuild that fails leaves what was there.
func testRebuild(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	for i := range 5 {
		f.add(number(i))
	}
	f.enter(f.next("part/one", record.PartAdded{Part: record.Kingpin, Serial: "K1"}, ""))
	f.enter(f.next("part/one", record.PartFitted{Vehicle: number(1), Place: record.AtKingpin}, ""))
	all := []record.Asset{number(0), number(1), number(2), number(3), number(4), "part/one"}
	before, err := s.Rows(ctx, all)
	if err != nil {
		t.Fatal(err)
	}
	boom := errors.New("boom")
	rebuild := func(fail bool) error {
		return s.Rebuild(ctx, func(records iter.Seq2[*record.Record, error], put func(Row) error) error {
			state := record.NewState(nil)
			for r, err := range records {
				if err != nil {
					return err
				}
				if _, err := state.Apply(r); err != nil {
					return err
				}
			}
			for i, e := range state.Entities() {
				if fail && i == 3 {
					return boom
				}
				row, err := RowOf(e)
				if err != nil {
					return err
				}
				if err := put(row); err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := rebuild(true); !errors.Is(err, boom) {
		t.Errorf("a rebuild that fails: %v", err)
	}
	same := cmpopts.IgnoreFields(Row{}, "Rev")
	if after, err := s.Rows(ctx, all); err != nil || cmp.Diff(before, after) != "" {
		t.Errorf("after a rebuild that failed (%v):\n%s", err, cmp.Diff(before, after))
	}
	put(t, s, Put{Row: row("vehicle/ghost", "ghost")}) // cached, though no record speaks of it
	for _, q := range []string{                        // and what is cached of two vehicles is wrong
		`update entity set state = line, title = 'wrong', found = 'wrong' where id = 't-3'`, `delete from entity_key`, `delete from entity_ref`,
	} {
		if _, err := s.(*sqlStore).w.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	if err := rebuild(false); err != nil {
		t.Fatal(err)
	}
	after, err := s.Rows(ctx, all)
	if diff := cmp.Diff(before, after, same); err != nil || diff != "" {
		t.Errorf("after a rebuild (%v):\n%s", err, diff)
	}
	if after[3].Rev <= before[3].Rev {
		t.Errorf("revision %d after %d: a change computed from what was wrong would pass", after[3].Rev, before[3].Rev)
	}
	if _, err := s.(*sqlStore).w.Exec(`update entity set status = 'wrong' where id = 't-4'`); err != nil {
		t.Fatal(err)
	}
	if err := rebuild(false); err != nil {
		t.Fatal(err)
	}
	again, err := s.Rows(ctx, all)
	if diff := cmp.Diff(before, again, same); err != nil || diff != "" {
		t.Errorf("after another rebuild (%v):\n%s", err, diff)
	}
	if again[4].Rev <= after[4].Rev || again[0].Rev != after[0].Rev {
		t.Errorf("revisions %d after %d of the row that was wrong, %d after %d of one that was right", again[4].Rev, after[4].Rev, again[0].Rev, after[0].Rev)
	}
	if _, err := s.Row(ctx, "vehicle/ghost"); !isNotFound(err) {
		t.Error("a rebuild keeps what no record speaks of")
	}
	for text, want := range map[string]int{"ghost": 0, "t-3": 1, "kingpin": 1} {
		if found, err := s.Find(ctx, FindQuery{Text: text, Limit: 9}); err != nil || len(found) != want {
			t.Errorf("after a rebuild %q finds %d (%v), expected %d", text, len(found), err, want)
		}
	}
	if a, err := s.Key(ctx, "vehicle:t-2"); err != nil || a != number(2) {
		t.Errorf("after a rebuild the number t-2 belongs to %q (%v)", a, err)
	}
	if beside, err := s.Beside(ctx, BesideQuery{Asset: number(1), Kind: "part", Limit: 9}); err != nil || len(beside) != 1 {
		t.Errorf("after a rebuild %d parts stand beside the vehicle (%v)", len(beside), err)
	}
	f.enter(f.next(number(1), change("OS 9"), "")) // and it goes on
	f.verify()
}

var sealKey = ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, ed25519.SeedSize))

func seal(t testing.TB, s Store) *record.Seal {
	t.Helper()
	ctx := context.Background()
	last, err := s.LastSeal(ctx)
	if err != nil {
		t.Fatal(err)
	}
	heads, err := s.Heads(ctx)
	if err != nil {
		t.Fatal(err)
	}
	made := start
	if last != nil {
		made = last.Made + hour
	}
	seal, err := record.NewSeal(last, heads, made, sealKey)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.AddSeal(ctx, seal); err != nil {
		t.Fatal(err)
	}
	return seal
}

func testSeals(t *testing.T, s Store) {
	ctx := t.Context()
	if last, err := s.LastSeal(ctx); last != nil || err != nil {
		t.Errorf("before the first seal: %v, %v", last, err)
	}
	f := newFleet(t, s)
	f.add("vehicle/a")
	f.add("vehicle/b")
	first := seal(t, s)
	f.enter(f.next("vehicle/a", change("OS 1"), ""))
	second := seal(t, s)
	if len(first.Heads) != 2 || len(second.Heads) != 1 || second.Previous != first.Digest {
		t.Errorf("the seals list %v and %v", first.Heads, second.Heads)
	}
	if err := s.AddSeal(ctx, second); !is[*Conflict](err) {
		t.Errorf("the same seal again: %v, expected *Conflict", err)
	}
	last, err := s.LastSeal(ctx)
	if err != nil || last.Digest != second.Digest || !last.Signed() {
		t.Errorf("newest seal %v, %v", last, err)
	}
	f.add("vehicle/c")
	if report := f.verify(); report.Seals != 2 || report.Unsealed != 1 || report.Records != 4 || report.Chains != 3 {
		t.Errorf("report %+v", report)
	}
}

// testTampering changes the tables as somebody with the database open could, and
// expects verification to say which record and where.
func testTampering(t *testing.T, st Store) {
	s := st.(*sqlStore)
	ctx := t.Context()
	f := newFleet(t, s)
	photo, _, err := s.PutBlob(ctx, strings.NewReader("photo"))
	if err != nil {
		t.Fatal(err)
	}
	f.add("vehicle/a")
	for i := range 5 {
		f.enter(f.next("vehicle/a", change(fmt.Sprint("OS ", i)), ""))
	}
	f.enter(f.next("vehicle/a", record.DocumentAttached{Title: "plate", Sort: "plate", Bytes: 5, Blob: photo}, ""))
	seal(t, s)
	f.verify()
	disable := map[string]string{"sqlite": `drop trigger record_stays; drop trigger record_remains`, "postgres": `alter table record disable trigger all`}[s.engine()]
	if _, err := s.w.Exec(disable); err != nil {
		t.Fatal(err)
	}
	faults := func() []string {
		var report *record.Report
		if err := s.Snapshot(ctx, func(a record.Archive) (err error) {
			report, err = record.Verify(ctx, a, []ed25519.PublicKey{sealKey.Public().(ed25519.PublicKey)})
			return err
		}); err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, f := range report.Faults {
			all = append(all, fmt.Sprintf("%s %s %d", f.What, f.Asset, f.Seq))
		}
		return all
	}
	for _, tamper := range []struct{ do, undo, want string }{
		{`update record set bytes = (select bytes from record where seq = 2) where seq = 3`, "", "altered vehicle/a 3"},
		{`update record set seq = 100 where seq = 2`, `update record set seq = 2 where seq = 100`, "reordered vehicle/a 100"},
		{`update record set kind = 'x' where seq = 2`, `update record set kind = 'vehicle-changed' where seq = 2`, "altered vehicle/a 2"},
		{`update chain set seq = 9`, `update chain set seq = 7`, "removed vehicle/a 8"},
	} {
		var kept []byte
		if err := s.w.QueryRow(`select bytes from record where seq = 3`).Scan(&kept); err != nil {
			t.Fatal(err)
		}
		if _, err := s.w.Exec(tamper.do); err != nil {
			t.Fatal(err)
		}
		if got := faults(); len(got) != 1 || got[0] != tamper.want {
			t.Errorf("%s: found %q, expected %q", tamper.do, got, tamper.want)
		}
		if tamper.undo != "" {
			if _, err := s.w.Exec(tamper.undo); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := s.w.Exec(`update record set bytes = $1 where seq = 3`, kept); err != nil {
			t.Fatal(err)
		}
	}
	f.verify() // all undone
	swapBlob(t, s, photo)
	if got := faults(); len(got) != 1 || got[0] != "blob vehicle/a 7" {
		t.Errorf("a swapped photo: found %q", got)
	}
}

func testBlobs(t *testing.T, s Store) {
	ctx := t.Context()
	content := bytes.Repeat([]byte("photo\x00"), 50_000)
	d, n, err := s.PutBlob(ctx, bytes.NewReader(content))
	if err != nil || n != int64(len(content)) || d != record.DigestOf(content) {
		t.Fatalf("put: %s, %d, %v", d, n, err)
	}
	if again, _, err := s.PutBlob(ctx, bytes.NewReader(content)); err != nil || again != d {
		t.Errorf("put again: %s, %v", again, err)
	}
	r, err := s.Blob(ctx, d)
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(r)
	if err != nil || !bytes.Equal(got, content) {
		t.Errorf("read back %d bytes, %v", len(got), err)
	}
	if at, err := r.Seek(6, io.SeekStart); err != nil || at != 6 { // a browser asks for a part
		t.Errorf("seek: %d, %v", at, err)
	}
	r.Close()
	if _, err := s.Blob(ctx, record.DigestOf(nil)); !isNotFound(err) {
		t.Errorf("a blob that was never put: %v", err)
	}
	empty, n, err := s.PutBlob(ctx, strings.NewReader(""))
	if err != nil || n != 0 || empty != record.DigestOf(nil) {
		t.Errorf("an empty blob: %s, %d, %v", empty, n, err)
	}
	broken := errors.New("the line broke")
	if _, _, err := s.PutBlob(ctx, io.MultiReader(strings.NewReader("half"), errReader{broken})); !errors.Is(err, broken) {
		t.Errorf("a blob whose sender broke off: %v", err)
	}
	s.(*sqlStore).most = 1 << 20
	if _, _, err := s.PutBlob(ctx, io.LimitReader(zeros{}, 1<<20+1)); !is[*TooLarge](err) {
		t.Errorf("a blob that is too large: %v", err)
	}
	sizes := map[record.Digest]int64{}
	for b, err := range s.BlobSizes(ctx) {
		if err != nil {
			t.Fatal(err)
		}
		sizes[b.Digest] = b.Bytes
	}
	if diff := cmp.Diff(map[record.Digest]int64{d: int64(len(content)), empty: 0}, sizes); diff != "" {
		t.Error(diff)
	}
	f := newFleet(t, s)
	f.add("vehicle/heron")
	missing := f.next("vehicle/heron", record.DocumentAttached{Title: "x", Sort: "photo", Blob: record.DigestOf([]byte("never put"))}, "")
	_, err = s.Append(ctx, Batch{Records: []*record.Record{missing}})
	if lost, ok := errors.AsType[*MissingBlob](err); !ok || lost.ID != missing.ID {
		t.Errorf("a record whose photo was not put: %v", err)
	}
	f.enter(f.next("vehicle/heron", record.DocumentAttached{Title: "x", Sort: "photo", Bytes: n, Blob: d}, ""))
	if report := f.verify(); report.Blobs != 1 {
		t.Errorf("%d blobs verified", report.Blobs)
	}
}

type errReader struct{ err error }

func (r errReader) Read([]byte) (int, error) { return 0, r.err }

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

func delivery() Import {
	return Import{ID: newID(), Entered: start, Who: record.Who{Name: "feed"}, Source: "feed"}
}

func reading(a record.Asset, hours int, metres int64) Reading {
	return Reading{Meter: Meter{a, record.Odometer}, Reading: record.Reading{At: start + record.Time(hours)*hour, Metres: metres}, Unit: "km"}
}

func testReadings(t *testing.T, s Store) {
	ctx := t.Context()
	hub := reading("vehicle/b", 2, 77)
	hub.Name, hub.Unit = record.HubMeter, "mi"
	first := delivery()
	given := []Reading{reading("vehicle/a", 3, 3000), reading("vehicle/a", 1, 1000), reading("vehicle/b", 1, 500), hub, reading("vehicle/a", 1, 1000)}
	if n, err := s.AddReadings(ctx, first, given); err != nil || n != 4 {
		t.Errorf("added %d, %v; expected 4, one of five being there twice", n, err)
	}
	if n, err := s.AddReadings(ctx, first, given); err != nil || n != 4 {
		t.Errorf("the same delivery again added %d, %v; expected to be told 4 as before", n, err)
	}
	if n, err := s.AddReadings(ctx, delivery(), append(given, reading("vehicle/a", 3, 2999), reading("vehicle/a", 2, 2000))); err != nil || n != 2 {
		t.Errorf("another delivery added %d, %v; expected 2", n, err)
	}
	got, err := s.ReadingsOf(ctx, Meter{"vehicle/a", record.Odometer}, start, start+3*hour)
	want := []record.Reading{{At: start + hour, Metres: 1000}, {At: start + 2*hour, Metres: 2000}, {At: start + 3*hour, Metres: 2999}, {At: start + 3*hour, Metres: 3000}}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("in order of time (%v):\n%s", err, diff)
	}
	if got, err = s.ReadingsOf(ctx, Meter{"vehicle/a", record.Odometer}, start+2*hour, start+2*hour); err != nil || len(got) != 1 {
		t.Errorf("of one instant: %v, %v", got, err)
	}
	if got, err = s.ReadingsOf(ctx, Meter{"vehicle/a", record.Brake}, start, record.Latest); err != nil || len(got) != 0 {
		t.Errorf("of a meter that is not there: %v, %v", got, err)
	}
	latest, err := s.LatestReadings(ctx, []record.Asset{"vehicle/b", "vehicle/nobody", "vehicle/a"})
	if diff := cmp.Diff([]Reading{reading("vehicle/a", 3, 3000), hub, reading("vehicle/b", 1, 500)}, latest); err != nil || diff != "" {
		t.Errorf("newest of each meter (%v):\n%s", err, diff)
	}
	n := 0
	for r, err := range s.EachReading(ctx) {
		if err != nil || r.Unit == "" {
			t.Fatal(r, err)
		}
		n++
	}
	if n != 6 {
		t.Errorf("%d readings in all, expected 6", n)
	}
	imports, err := s.Imports(ctx, 10)
	if err != nil || len(imports) != 2 || imports[1] != first {
		t.Errorf("deliveries %+v, %v", imports, err)
	}
	bad := reading("vehicle/a", 9, 1)
	bad.Unit = "furlong"
	if _, err := s.AddReadings(ctx, delivery(), []Reading{reading("vehicle/a", 8, 1), bad}); !is[*record.RuleError](err) {
		t.Errorf("a unit that is none: %v", err)
	}
	if got, _ = s.ReadingsOf(ctx, Meter{"vehicle/a", record.Odometer}, start+8*hour, record.Latest); len(got) != 0 {
		t.Error("the good half of a bad delivery was kept")
	}
	var many []Reading
	for i := range 25_000 {
		many = append(many, reading(number(i%100), i, int64(i)))
	}
	if n, err := s.AddReadings(ctx, delivery(), many); err != nil || n != len(many) {
		t.Errorf("many: %d, %v", n, err)
	}
}

func testSecrets(t *testing.T, s Store) {
	ctx := t.Context()
	if _, err := s.Secret(ctx, "account/ann", "password"); !isNotFound(err) {
		t.Errorf("no secret: %v", err)
	}
	want := Secret{Account: "account/ann", Kind: "password", Value: "$argon2id$x", Changed: start}
	invite := Secret{Account: "account/ann", Kind: "invite", Value: "digest", Changed: start, Expires: start + hour}
	r := newFleet(t, s).next("account/ann", record.AccountAdded{Name: "Ann", Login: "ann"}, "")
	if _, err := s.Append(ctx, Batch{Records: []*record.Record{r}, Secrets: []Secret{want, invite}}); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Secret(ctx, "account/ann", "password"); err != nil || got != want {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.SecretByValue(ctx, "invite", "digest"); err != nil || got != invite {
		t.Errorf("%+v, %v", got, err)
	}
	want.Value = "$argon2id$y"
	if err := s.PutSecret(ctx, want); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Secret(ctx, "account/ann", "password"); err != nil || got != want {
		t.Errorf("after a change %+v, %v", got, err)
	}
	var won sync.Map
	var wait sync.WaitGroup
	for i := range 8 { // a one-time link is used once
		wait.Go(func() {
			if ok, err := s.DropSecret(ctx, "account/ann", "invite"); err != nil {
				t.Error(err)
			} else if ok {
				won.Store(i, true)
			}
		})
	}
	wait.Wait()
	n := 0
	won.Range(func(any, any) bool { n++; return true })
	if n != 1 {
		t.Errorf("%d used the one-time link", n)
	}
	if err := s.PutSecret(ctx, invite); err != nil {
		t.Fatal(err)
	}
	if err := s.Purge(ctx, start+hour, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Secret(ctx, "account/ann", "invite"); !isNotFound(err) {
		t.Errorf("a secret that expired: %v", err)
	}
	if _, err := s.Secret(ctx, "account/ann", "password"); err != nil {
		t.Errorf("one that never does: %v", err)
	}
}

func testSessions(t *testing.T, s Store) {
	ctx := t.Context()
	token := func(n byte) record.Digest { return record.DigestOf([]byte{n}) }
	one := Session{Token: token(1), Account: "account/ann", Data: []byte("x"), Created: start, Seen: start, Expires: start + 2*hour}
	two := Session{Token: token(2), Account: "account/ann", Data: []byte{}, Created: start + hour, Seen: start + hour, Expires: start + 9*hour}
	other := Session{Token: token(3), Account: "account/bob", Data: []byte{}, Created: start, Seen: start, Expires: start + 9*hour}
	for _, v := range []Session{one, two, other} {
		if err := s.PutSession(ctx, v); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Session(ctx, one.Token, start+hour); err != nil || cmp.Diff(one, got) != "" {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := s.Session(ctx, one.Token, start+2*hour); !isNotFound(err) {
		t.Errorf("one that expired: %v", err)
	}
	one.Seen, one.Data = start+hour, []byte("y")
	if err := s.PutSession(ctx, one); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Sessions(ctx, "account/ann"); err != nil || cmp.Diff([]Session{two, one}, got) != "" {
		t.Errorf("of an account: %v\n%s", err, cmp.Diff([]Session{two, one}, got))
	}
	if got, err := s.Sessions(ctx, ""); err != nil || len(got) != 3 {
		t.Errorf("of all: %v, %v", got, err)
	}
	if err := s.Purge(ctx, start+3*hour, 0); err != nil {
		t.Fatal(err)
	}
	if got, _ := s.Sessions(ctx, "account/ann"); len(got) != 1 {
		t.Errorf("%d after those that expired were forgotten", len(got))
	}
	if err := s.DropSession(ctx, other.Token); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(ctx, other.Token, start); !isNotFound(err) {
		t.Errorf("a session that was ended: %v", err)
	}
	if _, err := s.Append(ctx, Batch{EndSessions: []record.Asset{"account/ann"}}); err != nil {
		t.Fatal(err)
	}
	if got, _ := s.Sessions(ctx, ""); len(got) != 0 {
		t.Errorf("%d after all of an account were ended", len(got))
	}
	if err := s.DropSessions(ctx, "account/nobody"); err != nil {
		t.Error(err)
	}
}

func testTokens(t *testing.T, s Store) {
	ctx := t.Context()
	want := Token{ID: newID(), Account: "account/ann", Hash: record.DigestOf([]byte("token")), Title: "gate", Scopes: []string{"readings:write", "register:read"}, Created: start, Expires: start + 9*hour}
	if _, err := s.Append(ctx, Batch{Tokens: []Token{want}}); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Token(ctx, want.Hash); err != nil || cmp.Diff(want, got) != "" {
		t.Errorf("%v\n%s", err, cmp.Diff(want, got))
	}
	for _, at := range []record.Time{start + 2*hour, start + hour} { // the later one stays
		if err := s.TouchToken(ctx, want.ID, at); err != nil {
			t.Fatal(err)
		}
	}
	revoked := want
	revoked.Revoked = start + 3*hour
	if _, err := s.Append(ctx, Batch{Tokens: []Token{revoked}}); err != nil {
		t.Fatal(err)
	}
	revoked.Used = start + 2*hour
	if got, err := s.Tokens(ctx, "account/ann"); err != nil || cmp.Diff([]Token{revoked}, got) != "" {
		t.Errorf("%v\n%s", err, cmp.Diff([]Token{revoked}, got))
	}
	if _, err := s.Token(ctx, record.DigestOf([]byte("other"))); !isNotFound(err) {
		t.Errorf("a token nobody has: %v", err)
	}
}

func testSettings(t *testing.T, s Store) {
	ctx := t.Context()
	if v, err := s.Setting(ctx, "x"); v != "" || err != nil {
		t.Errorf("%q, %v", v, err)
	}
	got := map[string]int{}
	var mu sync.Mutex
	var wait sync.WaitGroup
	for i := range 6 {
		wait.Go(func() {
			v, err := s.ClaimSetting(ctx, "x", fmt.Sprint(i))
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			got[v]++
			mu.Unlock()
		})
	}
	wait.Wait()
	if len(got) != 1 {
		t.Errorf("several programs claimed different values: %v", got)
	}
	if err := s.PutSetting(ctx, "x", "later"); err != nil {
		t.Fatal(err)
	}
	if v, err := s.Setting(ctx, "x"); v != "later" || err != nil {
		t.Errorf("%q, %v", v, err)
	}
	if err := s.Ping(ctx); err != nil {
		t.Error(err)
	}
}

func testJobs(t *testing.T, s Store) {
	ctx := t.Context()
	queue := func(kind, key string, at record.Time) bool {
		fresh, err := s.Enqueue(ctx, Job{Kind: kind, Key: key, RunAt: at, Args: json.RawMessage(`{"n":1}`)})
		if err != nil {
			t.Fatal(err)
		}
		return fresh
	}
	if !queue("seal", "day-1", start+2*hour) || queue("seal", "day-1", start) || !queue("seal", "day-2", start+hour) || !queue("mail", "", start) || !queue("mail", "", start) {
		t.Error("a job with the same kind and key is queued once, without a key each time")
	}
	if j, err := s.Claim(ctx, []string{"seal"}, start, start+hour); j != nil || err != nil {
		t.Errorf("before it is due: %v, %v", j, err)
	}
	now := start + 3*hour
	j, err := s.Claim(ctx, []string{"seal", "other"}, now, now+hour)
	if err != nil || j == nil || j.Key != "day-2" || j.Attempts != 1 || string(j.Args) != `{"n":1}` {
		t.Fatalf("the one that is due longest: %+v, %v", j, err)
	}
	second, err := s.Claim(ctx, []string{"seal"}, now, now+hour)
	if err != nil || second == nil || second.Key != "day-1" {
		t.Fatalf("the next: %+v, %v", second, err)
	}
	if third, err := s.Claim(ctx, []string{"seal"}, now, now+hour); third != nil || err != nil {
		t.Errorf("nothing is left: %+v, %v", third, err)
	}
	if err := s.Finish(ctx, second, now); err != nil {
		t.Error(err)
	}
	if err := s.Extend(ctx, j, now+5*hour); err != nil {
		t.Error(err)
	}
	if again, _ := s.Claim(ctx, []string{"seal"}, now+2*hour, now+3*hour); again != nil {
		t.Errorf("a job whose claim was extended was taken: %+v", again)
	}
	again, err := s.Claim(ctx, []string{"seal"}, now+6*hour, now+7*hour) // its lease ran out
	if err != nil || again == nil || again.ID != j.ID || again.Attempts != 2 {
		t.Fatalf("after the lease: %+v, %v", again, err)
	}
	for _, err := range []error{s.Finish(ctx, j, now), s.Extend(ctx, j, now), s.Retry(ctx, j, now, now, "x")} {
		if !errors.Is(err, ErrLostClaim) {
			t.Errorf("who lost the claim: %v, expected ErrLostClaim", err)
		}
	}
	if err := s.Retry(ctx, again, now+8*hour, now, "no line"); err != nil {
		t.Error(err)
	}
	if j, _ = s.Claim(ctx, []string{"seal"}, now+7*hour, now+9*hour); j != nil {
		t.Error("a job that is to be tried later was taken early")
	}
	if j, err = s.Claim(ctx, []string{"seal"}, now+8*hour, now+9*hour); err != nil || j == nil || j.Note != "no line" || j.Attempts != 3 {
		t.Fatalf("tried again: %+v, %v", j, err)
	}
	if err := s.Retry(ctx, j, 0, now, "gave up"); err != nil {
		t.Error(err)
	}
	failed, err := s.Jobs(ctx, JobFailed, 9)
	if err != nil || len(failed) != 1 || failed[0].Note != "gave up" {
		t.Errorf("given up: %+v, %v", failed, err)
	}
	if err := s.Purge(ctx, now, now+hour); err != nil {
		t.Fatal(err)
	}
	left, err := s.Jobs(ctx, "", 9)
	if err != nil || len(left) != 2 || left[0].Kind != "mail" {
		t.Errorf("left after those that ended were forgotten: %+v, %v", left, err)
	}
}

func testManyClaim(t *testing.T, s Store) {
	ctx := t.Context()
	const n = 60
	jobs := make([]Job, n)
	for i := range jobs {
		jobs[i] = Job{Kind: "work", Key: fmt.Sprint(i), RunAt: start}
	}
	if _, err := s.Append(ctx, Batch{Jobs: jobs}); err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	taken := map[string]int{}
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for {
				j, err := s.Claim(ctx, []string{"work"}, start, start+hour)
				if err != nil {
					t.Error(err)
					return
				}
				if j == nil {
					return
				}
				mu.Lock()
				taken[j.Key]++
				mu.Unlock()
				if err := s.Finish(ctx, j, start); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	if len(taken) != n {
		t.Errorf("%d jobs were taken, expected %d", len(taken), n)
	}
	for key, times := range taken {
		if times != 1 {
			t.Errorf("job %s was taken %d times", key, times)
		}
	}
}

// testManyWriters: goroutines change the same few vehicles and couple parts to
// them; each takes what it is told and tries again. Nothing is lost, and the
// state is what a rebuild gives.
func testManyWriters(t *testing.T, s Store) {
	manyWriters(t, []Store{s})
}

func manyWriters(t *testing.T, stores []Store) {
	f := newFleet(t, stores[0])
	for i := range 3 {
		f.add(number(i))
	}
	const writers, each = 6, 15
	var wait sync.WaitGroup
	var mu sync.Mutex
	entered := map[record.Asset]int{}
	for w := range writers {
		f := newFleet(t, stores[w%len(stores)])
		wait.Go(func() {
			for i := range each {
				a := number((w + i) % 3)
				body := record.Body(change(fmt.Sprintf("OS %d-%d", w, i)))
				part := record.NewAsset("part", fmt.Sprintf("p-%d-%d", w, i))
				for {
					var records []*record.Record
					head, err := f.s.Head(t.Context(), a)
					if err != nil {
						t.Error(err)
						return
					}
					records = append(records, follow(t, head, a, body, ""))
					if i%3 == 0 { // a part with its own chain changes the vehicle's state too
						p := follow(t, record.Head{}, part, record.PartAdded{Part: record.Kingpin}, "")
						records = append(records, p, follow(t, p.Head(), part, record.PartFitted{Vehicle: a, Place: record.AtKingpin}, ""))
					}
					b, err := f.batch(records...)
					if err == nil {
						_, err = f.s.Append(t.Context(), b)
					}
					if is[*Conflict](err) || is[*Stale](err) || err != nil && contains(err.Error(), "stands in the state") {
						continue // somebody was quicker
					}
					if err != nil {
						t.Error(err)
						return
					}
					break
				}
				mu.Lock()
				entered[a]++
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	total := 0
	for a, n := range entered {
		if h, err := stores[0].Head(t.Context(), a); err != nil || h.Seq != int64(1+n) {
			t.Errorf("%s has %d records (%v), expected %d", a, h.Seq, err, 1+n)
		}
		total += n
	}
	if total != writers*each {
		t.Errorf("%d changes were acknowledged, expected %d", total, writers*each)
	}
	f.verify()
}

// testVerifyWhileWriting: verification sees one instant, whatever is entered
// meanwhile.
func testVerifyWhileWriting(t *testing.T, s Store) {
	f := newFleet(t, s)
	f.add("vehicle/a")
	ctx, stop := context.WithCancel(t.Context())
	var wait sync.WaitGroup
	wait.Go(func() {
		for i := 0; ctx.Err() == nil; i++ {
			f.add(record.NewAsset("vehicle", fmt.Sprintf("w-%d", i)))
			f.enter(f.next("vehicle/a", change(fmt.Sprint(i)), ""))
			if i%5 == 0 {
				seal(t, s)
			}
		}
	})
	for range 10 {
		var report *record.Report
		if err := s.Snapshot(t.Context(), func(a record.Archive) (err error) {
			report, err = record.Verify(t.Context(), a, nil)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		if !report.Sound() {
			t.Errorf("while records are entered: %v", report.Faults)
		}
	}
	stop()
	wait.Wait()
}

func testAbout(t *testing.T, s Store) {
	a, err := s.About(t.Context())
	if err != nil || a.Schema < 1 || a.Version == "" || a.Place == "" || a.Bytes == 0 || a.Engine != s.(*sqlStore).engine() {
		t.Errorf("%+v, %v", a, err)
	}
}

// testNothingHalfDone: an error in the last part of a batch undoes the first.
func testNothingHalfDone(t *testing.T, s Store) {
	ctx := t.Context()
	f := newFleet(t, s)
	f.add("vehicle/a")
	before := dump(t, s)
	r := f.next("vehicle/b", f.vehicle("a"), "") // the number is taken
	b, err := f.batch(r)
	if err != nil {
		t.Fatal(err)
	}
	b.Secrets = []Secret{{Account: "account/x", Kind: "password"}}
	b.Jobs = []Job{{Kind: "x"}}
	if _, err := s.Append(ctx, b); !is[*Taken](err) {
		t.Errorf("%v, expected *Taken", err)
	}
	if diff := cmp.Diff(before, dump(t, s)); diff != "" {
		t.Errorf("something remained:\n%s", diff)
	}
}

// dump counts what every table holds.
func dump(t testing.TB, st Store) map[string]int {
	t.Helper()
	s := st.(*sqlStore)
	counts := map[string]int{}
	for _, table := range []string{"chain", "record", "seal", "entity", "entity_ref", "entity_key", "meter", "delivery", "reading", "blob", "secret", "session", "token", "setting", "job"} {
		var n int
		if err := s.r.QueryRow(`select count(*) from ` + table).Scan(&n); err != nil {
			t.Fatal(err)
		}
		counts[table] = n
	}
	return maps.Clone(counts)
}

func testCancelled(t *testing.T, s Store) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	f := newFleet(t, s)
	b, err := f.batch(f.next("vehicle/a", f.vehicle("a"), ""))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(ctx, b); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, expected context.Canceled", err)
	}
	if h, _ := s.Head(t.Context(), "vehicle/a"); h.Seq != 0 {
		t.Error("a cancelled call took effect")
	}
}

// swapBlob puts other content under a digest.
func swapBlob(t *testing.T, s *sqlStore, d record.Digest) {
	t.Helper()
	if f, ok := s.blobs.(*folder); ok {
		writeFile(t, f.path(d), "another photo")
		return
	}
	if _, err := s.w.Exec(`update blob set content = 'another photo'`); err != nil {
		t.Fatal(err)
	}
}
