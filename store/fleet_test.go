package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"underpin/record"
)

var start = record.At(time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC))

const hour = record.Time(3600 * 1e6)

var ids atomic.Int64

// newID makes ids that differ within a run.
func newID() record.ID {
	n := ids.Add(1)
	return record.NewID(start.Time(), [10]byte{2: 0x80, 5: byte(n >> 32), 6: byte(n >> 24), 7: byte(n >> 16), 8: byte(n >> 8), 9: byte(n)})
}

func contains(s, part string) bool { return strings.Contains(s, part) }

// A fleet enters records as the application does: record, state, rows, in one
// batch.
type fleet struct {
	t testing.TB
	s Store
}

func newFleet(t testing.TB, s Store) *fleet { return &fleet{t, s} }

// next makes the record that would follow now.
func (f *fleet) next(a record.Asset, body record.Body, corrects record.ID) *record.Record {
	f.t.Helper()
	head, err := f.s.Head(f.t.Context(), a)
	if err != nil {
		f.t.Fatal(err)
	}
	return follow(f.t, head, a, body, corrects)
}

func follow(t testing.TB, head record.Head, a record.Asset, body record.Body, corrects record.ID) *record.Record {
	t.Helper()
	at := start + record.Time(head.Seq)*hour
	d := record.Draft{ID: newID(), Asset: a, Happened: at, Entered: at, Who: record.Who{Account: "account/ann", Name: "Ann Ost"}, Corrects: corrects, Body: body}
	if corrects != "" {
		d.Reason = "mistyped"
	}
	r, err := head.Next(d)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// batch makes the batch that enters records with the state that follows.
func (f *fleet) batch(records ...*record.Record) (Batch, error) {
	ctx := f.t.Context()
	was := map[record.Asset]int64{}
	state := record.NewState(func(a record.Asset) (*record.Entity, error) {
		row, err := f.s.Row(ctx, a)
		if isNotFound(err) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		was[a] = row.Rev
		return row.Entity()
	})
	b := Batch{Records: records}
	changed := map[record.Asset]bool{}
	for _, r := range records {
		all, err := state.Apply(r)
		if err != nil {
			return b, err
		}
		for _, a := range all {
			changed[a] = true
		}
	}
	for a := range changed {
		e, err := state.Entity(a)
		if err != nil {
			return b, err
		}
		row, err := RowOf(e)
		if err != nil {
			return b, err
		}
		b.Rows = append(b.Rows, Put{Row: row, Was: was[a]})
	}
	return b, nil
}

func (f *fleet) enter(records ...*record.Record) {
	f.t.Helper()
	b, err := f.batch(records...)
	if err != nil {
		f.t.Fatal(err)
	}
	if _, err := f.s.Append(f.t.Context(), b); err != nil {
		f.t.Fatal(err)
	}
}

// add enters a vehicle whose fleet number is its name.
func (f *fleet) add(a record.Asset) *record.Record {
	f.t.Helper()
	r := f.next(a, f.vehicle(a.Name()), "")
	f.enter(r)
	return r
}

func (f *fleet) vehicle(number string) record.VehicleAdded {
	raw, _ := json.Marshal(number)
	return record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": raw}}
}

func change(registration string) record.VehicleChanged {
	raw, _ := json.Marshal(registration)
	return record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"registration": raw}}}
}

// verify proves the whole store and that the cached state is what a rebuild
// gives.
func (f *fleet) verify() *record.Report {
	f.t.Helper()
	ctx := context.Background()
	var report *record.Report
	if err := f.s.Snapshot(ctx, func(a record.Archive) (err error) {
		report, err = record.Verify(ctx, a, nil)
		return err
	}); err != nil {
		f.t.Fatal(err)
	}
	for _, fault := range report.Faults {
		f.t.Error(fault)
	}
	state := record.NewState(nil)
	for r, err := range f.s.All(ctx) {
		if err != nil {
			f.t.Fatal(err)
		}
		if _, err := state.Apply(r); err != nil {
			f.t.Fatal(err)
		}
	}
	for _, e := range state.Entities() {
		want, err := RowOf(e)
		if err != nil {
			f.t.Fatal(err)
		}
		got, err := f.s.Row(ctx, e.Asset)
		if err != nil {
			f.t.Error(err)
		} else if string(got.State) != string(want.State) {
			f.t.Errorf("cached state of %s:\n%s\nrebuilt:\n%s", e.Asset, got.State, want.State)
		}
	}
	return report
}

func number(n int) record.Asset { return record.NewAsset("vehicle", fmt.Sprintf("t-%d", n)) }
