package store

import (
	"maps"
	"testing"

	"underpin/record"
)

// What was counted is kept while nothing is written, and counted anew after a write of
// this program or of another one.
func TestCountsAreKeptWhileNothingIsWritten(t *testing.T) {
	dir := t.TempDir()
	open := func() *sqlStore {
		s, err := openSQLite(t.Context(), dir, Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Close() })
		return s
	}
	here, there := open(), open()
	q := Query{Kind: "vehicle"}
	want := func(hits, n int) {
		t.Helper()
		got, err := here.Count(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		total := 0
		for v := range maps.Values(got) {
			total += v
		}
		if total != n || here.tally.hits != hits {
			t.Errorf("%v with %d answers kept; want %d with %d", got, here.tally.hits, n, hits)
		}
		got["active"] = 99 // a caller's own
	}
	want(0, 0)
	want(1, 0)
	newFleet(t, here).add("vehicle/heron")
	want(1, 1)
	want(2, 1)
	newFleet(t, there).add("vehicle/egret")
	want(2, 2)
	want(3, 2)
	if err := here.tally.conn.Close(); err != nil { // lost, and made anew
		t.Fatal(err)
	}
	want(3, 2)
	want(3, 2)
	want(4, 2)
	of, err := here.Count(t.Context(), Query{Kind: "vehicle", Depots: []record.Asset{"depot/none"}})
	if err != nil || len(of) != 0 {
		t.Errorf("%v, %v for another question", of, err)
	}
}
