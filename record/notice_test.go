package record_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// TestNoticeMatch: what is missing never counts as outside. The sense of each row
// stands in its last member.
func TestNoticeMatch(t *testing.T) {
	notice := record.Notice{NoticeOpened: record.NoticeOpened{Part: record.FifthWheel, Type: "type/fw",
		Ranges: []record.SerialRange{{From: "FW-1000", To: "FW-1999"}, {From: "B12/3", To: "B12/30"}}, Serials: []string{"X7"}}}
	tests := []struct {
		part   record.PartAdded
		want   record.Match
		reason string
	}{
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "FW-1000"}, record.Inside, "first of the range"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "FW-1999"}, record.Inside, "last of the range"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "FW-2000"}, record.Outside, "after it"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "FW-999"}, record.Outside, "before it, by number and not by letter"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "fw 01500"}, record.Inside, "written as people write"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "B12/9"}, record.Inside, "second range, by its second number"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "B13/9"}, record.Outside, "second range, by its first number"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "x7"}, record.Inside, "named singly"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "X8"}, record.Outside, "built like the one that is named"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "1500"}, record.CannotTell, "built otherwise"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: "FW-15O0"}, record.CannotTell, "a letter O for a nought"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw"}, record.CannotTell, "no serial"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/fw", Serial: " "}, record.CannotTell, "a blank serial"},
		{record.PartAdded{Part: "fifth-wheel", Serial: "FW-1500"}, record.CannotTell, "in the range, type unknown"},
		{record.PartAdded{Part: "fifth-wheel", Serial: "FW-2500"}, record.Outside, "out of the range whatever its type"},
		{record.PartAdded{Part: "fifth-wheel", Type: "type/other", Serial: "FW-1500"}, record.Outside, "another type"},
		{record.PartAdded{Part: "kingpin", Type: "type/fw", Serial: "FW-1500"}, record.Outside, "another kind of part"},
		{record.PartAdded{}, record.CannotTell, "nothing known"},
	}
	for _, test := range tests {
		got, why := notice.Match(&record.Part{PartAdded: test.part, Added: start})
		if got != test.want || (got == record.CannotTell) != (why != "") {
			t.Errorf("%q (%s): %s %q, expected %s", test.part.Serial, test.reason, got, why, test.want)
		}
	}
	whole := record.Notice{NoticeOpened: record.NoticeOpened{Part: record.FifthWheel}}
	if got, _ := whole.Match(&record.Part{PartAdded: record.PartAdded{Part: "fifth-wheel"}, Added: start}); got != record.Inside {
		t.Errorf("a notice about every serial and type: %s", got)
	}
}

// TestNoticeIsTrackedToTheLastPart: fitted and stored ones are found, one that is
// added later too; what was seen to stays in the list.
func TestNoticeIsTrackedToTheLastPart(t *testing.T) {
	part := func(name, serial string) *record.Part {
		return &record.Part{Asset: record.NewAsset("part", name), PartAdded: record.PartAdded{Part: "kingpin", Serial: serial}, Added: start}
	}
	fitted, stored, outside, unknown, scrapped := part("fitted", "A1"), part("stored", "A2"), part("outside", "A11"), part("unknown", ""), part("scrapped", "A3")
	fitted.Fittings = []record.Fitting{{Part: fitted.Asset, Vehicle: "vehicle/teal", Place: record.AtKingpin, From: start}}
	scrapped.Scrapped = start
	n := record.Notice{NoticeOpened: record.NoticeOpened{Part: "kingpin", Ranges: []record.SerialRange{{From: "A1", To: "A10"}}}, Seen: map[record.Asset]record.NoticeWork{}}
	all := []*record.Part{fitted, stored, outside, unknown, scrapped}
	names := func(found []record.NoticePart) (open, done []string) {
		for _, f := range found {
			if f.Work == nil {
				open = append(open, f.Part.Asset.Name())
			} else {
				done = append(done, f.Part.Asset.Name())
			}
		}
		return open, done
	}
	found := n.Find(slices.Values(all))
	open, _ := names(found)
	if diff := cmp.Diff([]string{"fitted", "stored", "unknown"}, open); diff != "" || record.OpenParts(found) != 3 {
		t.Errorf("open at first:\n%s", diff)
	}
	n.Seen["part/fitted"] = record.NoticeWork{Done: "replaced"}
	n.Seen["part/unknown"] = record.NoticeWork{Done: "serial found under the paint: A77"}
	all = append(all, part("later", "a9"))
	open, done := names(n.Find(slices.Values(all)))
	if diff := cmp.Diff([]string{"stored", "later"}, open) + cmp.Diff([]string{"fitted", "unknown"}, done); diff != "" {
		t.Errorf("open after two were seen to and one was added:\n%s", diff)
	}
}

// TestPartners draws a pin that met two couplings, one of them twice. Hours from
// the start:
//
//	pin on trailer T     0 ................................ (still)
//	T behind tractor A     10-20        40-50
//	T behind tractor B            30-35          60- (still)
//	coupling x on A      0 ......... 45
//	coupling y on B      0 ...............................
//	coupling x on B                                  (never)
//	coupling z on A                     45 ...
func TestPartners(t *testing.T) {
	at := func(h int) record.Time {
		if h == 0 {
			return start
		}
		return start + record.Time(h)*hour
	}
	open := record.Time(0)
	fit := func(part, vehicle record.Asset, place string, from, to record.Time) record.Fitting {
		return record.Fitting{Part: part, Vehicle: vehicle, Place: place, From: from, To: to}
	}
	on := map[record.Asset][]record.Fitting{
		"vehicle/t": {fit("part/pin", "vehicle/t", record.AtKingpin, at(0), open)},
		"vehicle/a": {fit("part/x", "vehicle/a", record.AtFifthWheel, at(0), at(45)), fit("part/z", "vehicle/a", record.AtFifthWheel, at(45), open)},
		"vehicle/b": {fit("part/y", "vehicle/b", record.AtFifthWheel, at(0), open)},
	}
	periods := []record.Period{
		{ID: id(1), Towed: "vehicle/t", By: "vehicle/a", From: at(10), To: at(20)},
		{ID: id(2), Towed: "vehicle/t", By: "vehicle/b", From: at(30), To: at(35)},
		{ID: id(3), Towed: "vehicle/t", By: "vehicle/a", From: at(40), To: at(50)},
		{ID: id(4), Towed: "vehicle/t", By: "vehicle/b", From: at(60)},
		{ID: id(5), Towed: "vehicle/other", By: "vehicle/b", From: at(1), To: at(2)},
		{ID: id(6)}, // voided
	}
	others := func(v record.Asset) []record.Fitting { return on[v] }
	want := []record.Partner{
		{Part: "part/x", Since: at(10), Last: at(45), Times: 2, Vehicle: "vehicle/a", VehicleFrom: at(40)},
		{Part: "part/y", Since: at(30), Last: 0, Times: 2, Vehicle: "vehicle/b", VehicleFrom: at(60)},
		{Part: "part/z", Since: at(45), Last: at(50), Times: 1, Vehicle: "vehicle/a", VehicleFrom: at(45)},
	}
	if diff := cmp.Diff(want, record.Partners(on["vehicle/t"], periods, others)); diff != "" {
		t.Errorf("partners of the pin:\n%s", diff)
	}
	// The other way round, coupling x met the pin, and nothing else.
	back := []record.Partner{{Part: "part/pin", Since: at(10), Last: at(45), Times: 2, Vehicle: "vehicle/t", VehicleFrom: at(40)}}
	if diff := cmp.Diff(back, record.Partners(on["vehicle/a"][:1], periods, others)); diff != "" {
		t.Errorf("partners of coupling x:\n%s", diff)
	}
	// Nobody entered the end of the first period: it lasted until the trailer was
	// next coupled at the latest.
	periods[0].To = 0
	closed, guessed := record.CloseGaps(periods)
	if i := slices.IndexFunc(closed, func(p record.Period) bool { return p.ID == id(1) }); closed[i].To != at(30) || !guessed[id(1)] || len(guessed) != 1 {
		t.Errorf("the first period ends %s, guessed %v", closed[i].To, guessed)
	}
}
