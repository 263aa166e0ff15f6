package record_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// TestYardCorpusCanBeWritten enters the corpus of the yard again, as
// TestCorpusCanBeWritten does the first.
func TestYardCorpusCanBeWritten(t *testing.T) {
	var b bytes.Buffer
	for _, r := range yardCorpus(t) {
		b.Write(r.Bytes)
		b.WriteByte('\n')
	}
	file := corpus[3].file
	if *update {
		if _, err := os.Stat(file); os.IsNotExist(err) { // once and never again
			if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	then, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(then), b.String()); diff != "" {
		t.Error(diff)
	}
}

// yardCorpus holds every kind about the yard as it was in version 1, every member
// filled.
func yardCorpus(t *testing.T) []*record.Record {
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
	done := enter(marsh, record.CheckDone{Flow: "drop", Tractor: heron, Trailer: marsh, Guest: "X 1", Says: "cannot-tell", Locked: "yes", Why: []string{"No answer was given."},
		Skipped: []string{"1/place"}, Hasty: []string{"1/key-out"}, Signed: "Ann Müller", Phone: "p1", Doubted: true, Check: json.RawMessage(`{"flow":"drop"}`), Photos: []record.Digest{digest(1)}})
	enter(marsh, record.TrailerDropped{Check: done.ID, Place: "Quay, row 4", Ground: "gravel", Load: "part", Brake: "yes", Chocks: "no", Lock: "yes"})
	enter(heron, record.SliderSet{Check: done.ID, LeadMM: 575})
	defect := record.DefectReported{Part: "fifth-wheel", Words: "safety bent", State: "never.gap", Drawing: "coupling", X: whole(100), Y: whole(900), DoNotUse: true,
		Check: id(900), By: "Ida", Phone: "p1", Photos: []record.Digest{digest(2)}}
	stops := enter(heron, defect)
	defect.DoNotUse = false
	enter(heron, defect)
	enter(heron, record.DefectClosed{Defect: stops.ID, Done: "renewed"})
	return all
}

// TestDefectHolds: a defect of do-not-use holds a vehicle back, listed with all that
// may not be used, from its record to the one that closes it; another does not.
func TestDefectHolds(t *testing.T) {
	all := yardCorpus(t)
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
		want := ""
		if i == 5 || i == 6 {
			want = record.VerdictDoNotUse
		}
		if got := v.Held(); got != want {
			t.Errorf("after %s: held %q, want %q", r.Kind, got, want)
		}
		b, err := e.Brief()
		if err != nil {
			t.Fatal(err)
		}
		if listed := len(b.Refs) == 1 && b.Refs[0] == record.NotInUse; listed != (want != "") {
			t.Errorf("after %s it is listed beside %v", r.Kind, b.Refs)
		}
		if i == len(all)-1 && (len(v.Yard.Open()) != 1 || v.Yard.Slider.LeadMM != 575) {
			t.Errorf("open defects %v, slider %v", v.Yard.Open(), v.Yard.Slider)
		}
	}
}
