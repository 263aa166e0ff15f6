package fleet

import (
	"fmt"
	"slices"
	"testing"

	"underpin/record"
)

func TestListsGoPageByPage(t *testing.T) {
	y := newYard(t)
	for i := range 25 {
		y.tractor(fmt.Sprintf("heron-%d", i+1))
	}
	scrapped := y.tractor("heron-99")
	y.must(&ScrapVehicle{Asset: scrapped})
	var got []string
	q := ListQuery{Kind: record.VehicleAsset, Status: []string{record.StatusActive}, Limit: 10}
	pages := 0
	for {
		l, err := y.List(y.ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		pages++
		for _, i := range l.Items {
			got = append(got, i.Title)
		}
		if l.Counts[record.StatusActive] != 25 || l.Counts[record.StatusScrapped] != 1 {
			t.Errorf("counts %v", l.Counts)
		}
		if l.Next == "" {
			break
		}
		q.From = l.Next
	}
	var want []string
	for i := range 25 {
		want = append(want, fmt.Sprintf("heron-%d", i+1)) // as people count: 2 before 10
	}
	if pages != 3 || !slices.Equal(got, want) {
		t.Errorf("%d pages: %v", pages, got)
	}
	if _, err := y.List(y.ctx, ListQuery{Kind: record.VehicleAsset, From: "nowhere"}); err == nil {
		t.Error("a place that is none passed")
	}
	found, err := y.Find(y.ctx, "HERON 17", 5)
	if err != nil || len(found) != 1 || found[0].Title != "heron-17" {
		t.Errorf("found %+v, %v", found, err)
	}
	if _, err := y.ByNumber(y.ctx, "heron-100"); !missing(err) {
		t.Errorf("%v", err)
	}
}

// What was taken back stands in no list, is not counted and not found, until a
// correction puts it in force again.
func TestWhatWasTakenBackIsInNoList(t *testing.T) {
	y := newYard(t)
	kept := y.tractor("heron-1")
	d := record.VehicleAdded{Vehicle: record.Tractor, Fields: y.numbered(tractorFields, "heron-2")}
	gone := y.must(&AddVehicle{Details: d})
	depot := y.must(&AddDepot{Details: record.DepotAdded{Name: "Heronry"}})
	pin := y.must(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: "heron"}})
	lists := func(when string, want ...record.Asset) {
		t.Helper()
		var got []record.Asset
		total := 0
		for _, kind := range []string{record.VehicleAsset, record.DepotAsset, record.PartAsset} {
			l, err := y.List(y.ctx, ListQuery{Kind: kind})
			if err != nil {
				t.Fatal(err)
			}
			for _, i := range l.Items {
				got = append(got, i.Asset)
			}
			for _, n := range l.Counts {
				total += n
			}
		}
		if !slices.Equal(got, want) || total != len(want) {
			t.Errorf("%s: %d counted, listed %v, expected %v", when, total, got, want)
		}
		found, err := y.Find(y.ctx, "heron", 50)
		if err != nil || len(found) != len(want) {
			t.Errorf("%s: found %+v (%v), expected %v", when, found, err, want)
		}
	}
	lists("before", kept, gone.Asset, depot.Asset, pin.Asset)
	because := Meta{Reason: "entered twice"}
	for _, done := range []*Done{gone, depot, pin} {
		y.must(&Void{Meta: because, Record: done.Record})
	}
	lists("taken back", kept)
	if p, err := y.VehiclePage(y.ctx, gone.Asset); err != nil || p.Vehicle.Added != 0 { // its history can still be read
		t.Errorf("the page of what was taken back: %+v, %v", p, err)
	}
	y.must(&Correct{Meta: because, Record: gone.Record, Body: d})
	lists("in force again", kept, gone.Asset)
	if err := y.Rebuild(y.ctx); err != nil {
		t.Fatal(err)
	}
	lists("rebuilt", kept, gone.Asset)
}
