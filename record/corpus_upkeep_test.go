package record_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// TestUpkeepCorpusCanBeWritten enters the corpus of upkeep again, as
// TestCorpusCanBeWritten does the first.
func TestUpkeepCorpusCanBeWritten(t *testing.T) {
	var b bytes.Buffer
	for _, r := range upkeepCorpus(t) {
		b.Write(r.Bytes)
		b.WriteByte('\n')
	}
	if *update {
		if _, err := os.Stat(corpus[2].file); os.IsNotExist(err) { // once and never again
			if err := os.WriteFile(corpus[2].file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	then, err := os.ReadFile(corpus[2].file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(then), b.String()); diff != "" {
		t.Error(diff)
	}
}

// upkeepCorpus holds every kind about upkeep as it was in version 1, every member
// filled.
func upkeepCorpus(t *testing.T) []*record.Record {
	t.Helper()
	var all []*record.Record
	heads := map[record.Asset]record.Head{}
	enter := func(a record.Asset, body record.Body) *record.Record {
		n := len(all) + 1
		r, err := heads[a].Next(record.Draft{ID: id(n), Asset: a, Happened: start + record.Time(n)*hour, Entered: start + record.Time(n)*hour + 60*1e6,
			Who: record.Who{Account: "account/ann", Name: "Ann Müller"}, Body: body})
		if err != nil {
			t.Fatalf("%s: %v", body.Kind(), err)
		}
		heads[a] = r.Head()
		all = append(all, r)
		return r
	}
	const heron, marsh = "vehicle/heron", "vehicle/marsh"
	enter(heron, record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": json.RawMessage(`"heron-07"`)}})
	enter(marsh, record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: record.Fields{"id": json.RawMessage(`"marsh-23"`)}})
	read := metres(record.Odometer, 123_456_000)
	enter(heron, record.TaskDone{Task: "grease-lock", Part: "part/wheel", Reading: read, By: "Ida", Note: "old grease off first"})
	block := enter(heron, record.UseBlocked{Event: "jack-knife", Partner: marsh, Text: "in the yard", Reading: read})
	enter(marsh, record.UseBlocked{Event: "jack-knife", Partner: heron, Text: "in the yard"})
	sheet := record.SheetFilled{Halves: []string{"pair", "tractor"}, Partner: marsh, Parts: []record.Asset{"part/wheel"}, Day: "2026-03-02", Reading: read,
		Readings: map[string][]string{"play": {"0.4 mm", "0.016 in"}, "lock-play": {"2.1 mm", "2.1 mm"}}, Looks: map[string]string{"gap": "fine", "catch-off": "not-fitted", "lock-broken": "found"},
		Instrument: record.GaugeUsed{ID: "D-3", Calibrated: "2027-01-31", ErrorUM: whole(20)}, Uncoupled: true, Cleaned: true, Travel: "left",
		Measured: "Ida", Workshop: "Quay workshop", Accepted: "Ann Müller", Photos: []record.Digest{digest(1)}, Confirmed: map[string]string{"play.wore-fast": "measured again"}}
	first := enter(heron, sheet)
	outcome := record.OutcomeGiven{Of: "tractor", Sheets: []record.ID{first.ID}, Verdict: record.VerdictDoNotUse, Reasons: []string{"part of the lock missing"}, Missing: []string{"no limit is known"},
		Work: []string{"renew-lock"}, Until: "2026-04-02", Within: whole(5_000_000), Laws: []string{"eu"}, Program: "0.4.0",
		Held: []record.HeldValue{{Measure: "lock-play", Name: "play of the lock", Value: "2.1 mm", Holds: "limit reached",
			Limits: []record.HeldLimit{{Layer: "maker", Fails: "above", Printed: "2 mm", Failed: true, Evidence: "read", Source: "Invented document 7, p. 12"}}}}}
	held := enter(heron, outcome)
	enter(heron, record.WorkSigned{Outcome: held.ID, Step: "renew-lock/1", Text: "Take the ring out.", No: true})
	enter(heron, record.PlayTakenUp{Part: "part/wheel", Outcome: held.ID, TakenUM: whole(1800), Reading: read})
	outcome.Verdict, outcome.Reasons, outcome.Missing, outcome.Work = record.VerdictServiceable, nil, nil, nil
	after := enter(heron, outcome)
	enter(heron, record.ReturnedToService{Outcomes: []record.ID{held.ID}, After: after.ID, Lives: []record.LifeEnded{{Part: "fifth-wheel", Work: "renew-lock", Rule: "starts", NewUM: whole(300)}}, Reading: read})
	enter(heron, record.UseCleared{Block: block.ID, Outcome: after.ID, Found: "nothing is bent"})
	return all
}

// TestHeld: an event and a verdict of do-not-use hold a vehicle back until each is
// ended by its own record, and a correction counts as if it had been so at once.
func TestHeld(t *testing.T) {
	all := upkeepCorpus(t)
	want := []string{"", "", "", "do-not-use", "do-not-use", "do-not-use", "do-not-use", "do-not-use", "do-not-use", "do-not-use", "do-not-use", ""}
	if len(want) != len(all) {
		t.Fatalf("%d records", len(all))
	}
	s := record.NewState(nil)
	for i, r := range all {
		if _, err := s.Apply(r); err != nil {
			t.Fatal(err)
		}
		e, err := s.Entity("vehicle/heron")
		if err != nil {
			t.Fatal(err)
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			t.Fatal(err)
		}
		if got := v.Upkeep.Held(); got != want[i] {
			t.Errorf("after %s: held %q, want %q", r.Kind, got, want[i])
		}
		b, err := e.Brief()
		if err != nil {
			t.Fatal(err)
		}
		if listed := len(b.Refs) == 1 && b.Refs[0] == record.NotInUse; listed != (want[i] != "") {
			t.Errorf("after %s it is listed beside %v", r.Kind, b.Refs)
		}
	}
	e, err := s.Entity("vehicle/marsh")
	if err != nil {
		t.Fatal(err)
	}
	if v, err := e.Vehicle(record.Latest); err != nil || v.Upkeep.Held() != record.VerdictDoNotUse {
		t.Errorf("the partner of an event is not held back: %v", err)
	}
}
