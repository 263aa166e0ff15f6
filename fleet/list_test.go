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
