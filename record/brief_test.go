package record

import (
	"cmp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestNaturalOrder: lists sort as people count.
func TestNaturalOrder(t *testing.T) {
	inOrder := []string{"", "heron-07", "heron-7a", "heron-8", "heron-10", "Heron-100", "heron-1000000000000", "teal-1-2", "teal-1-10", "teal-2"}
	for i, s := range inOrder[1:] {
		if before := inOrder[i]; cmp.Compare(natural(before), natural(s)) >= 0 {
			t.Errorf("%q does not stand before %q: %q, %q", before, s, natural(before), natural(s))
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.Uint32().Draw(rt, "a"), rapid.Uint32().Draw(rt, "b")
		if got := cmp.Compare(natural("t "+text10(a)), natural("t "+text10(b))); got != cmp.Compare(a, b) {
			rt.Fatalf("%d and %d compare as %d", a, b, got)
		}
	})
}

func text10(n uint32) string {
	digits := ""
	for ; n > 0 || digits == ""; n /= 10 {
		digits = string(rune('0'+n%10)) + digits
	}
	return digits
}

// TestBriefs holds what lists show of the corpus.
func TestBriefs(t *testing.T) {
	vehicle := Entity{Asset: "vehicle/heron", Entries: []Entry{{ID: "1", Kind: "vehicle-added", Version: 1, Happened: 1,
		Body: []byte(`{"vehicle":"tractor","registration":"OS-HE 7","vin":"W7","depot":"depot/north","fields":{"id":"Heron-07","name":"Heron"}}`)}}}
	b, err := vehicle.Brief()
	if err != nil {
		t.Fatal(err)
	}
	if b.Title != "Heron-07" || b.Depot != "depot/north" || b.Status != StatusActive || len(b.Keys) != 1 || b.Keys[0] != "vehicle:heron-07" || !strings.Contains(b.Text, "W7") {
		t.Errorf("brief %+v", b)
	}
	vehicle.Entries[0].Void = true
	if b, _ = vehicle.Brief(); b.Status != StatusUnknown || len(b.Keys) != 0 || b.Title != "heron" || b.Sort != "" {
		t.Errorf("brief of a voided vehicle %+v", b)
	}
	part := Entity{Asset: "part/x", Entries: []Entry{
		{ID: "1", Kind: "part-added", Version: 1, Happened: 1, Body: []byte(`{"part":"kingpin","serial":"K 9","type":"type/k","depot":"depot/north"}`)},
		{ID: "2", Kind: "part-fitted", Version: 1, Happened: 2, Body: []byte(`{"vehicle":"vehicle/heron","place":"kingpin"}`)}}}
	if b, _ = part.Brief(); b.Status != StatusFitted || b.Depot != "" || len(b.Refs) != 2 || b.Title != "kingpin K 9" {
		t.Errorf("brief of a fitted part %+v", b)
	}
	part.Entries = part.Entries[:1]
	if b, _ = part.Brief(); b.Status != StatusStored || b.Depot != "depot/north" || len(b.Refs) != 1 {
		t.Errorf("brief of a stored part %+v", b)
	}
}
