package record_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// The frozen corpus: one line for each record, as it was stored, at least one of
// every kind in every version that was ever written. It is added to and never
// changed, so a new version of a kind gets a file of its own.
var corpus = []struct {
	file, views string
	digest      string // of the file; whoever changes it has broken old records
}{
	{"testdata/corpus-1.jsonl", "testdata/corpus-1.views.jsonl", "ce37b03708be78d96e350a75f6695bfe9cf276cafb05196143a2e8e1293e696f"},
	{"testdata/corpus-mounting-1.jsonl", "testdata/corpus-mounting-1.views.jsonl", "d9787f698f551d6bdff949030f4b9a753098a4b763a679c9b17c808e7500f3f7"},
	{"testdata/corpus-upkeep-1.jsonl", "testdata/corpus-upkeep-1.views.jsonl", "d7e4855bad3d73301bc70828d8e8440ad2eaafbac5ebe5621ef14dbb94522bf3"},
	{"testdata/corpus-yard-1.jsonl", "testdata/corpus-yard-1.views.jsonl", "14050458f37d28fd1844a3f7d2e291cbe86c05c44571e1e8b0e20bf4bbad66ca"},
}

func readCorpus(t testing.TB, file string) []*record.Record {
	t.Helper()
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var all []*record.Record
	for line := range bytes.Lines(whole) {
		r, err := record.Decode(bytes.TrimSuffix(line, []byte("\n")))
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		all = append(all, r)
	}
	if len(all) == 0 {
		t.Fatalf("%s is empty", file)
	}
	return all
}

// TestCorpus reads records as they were written once, proves their chains, and
// folds them into the state that they gave then.
func TestCorpus(t *testing.T) {
	written := map[string]int{}
	for _, c := range corpus {
		whole, err := os.ReadFile(c.file)
		if err != nil {
			t.Fatal(err)
		}
		if got := record.DigestOf(whole).String(); got != c.digest {
			t.Errorf("%s has the digest %s: old records are never changed", c.file, got)
		}
		all := readCorpus(t, c.file)
		for _, r := range all {
			if err := r.Check(); err != nil {
				t.Errorf("%s: record %s: %v", c.file, r.ID, err)
			}
			written[fmt.Sprintf("%s/%d", r.Kind, r.Version)]++
		}
		a := archiveOf(all)
		for _, r := range all {
			for _, d := range r.Blobs {
				a.blobs[d] = nil // only the names are kept here
			}
		}
		for _, f := range verify(t, a).Faults {
			if f.What != record.BadBlob {
				t.Errorf("%s: %s", c.file, f)
			}
		}
		views := viewLines(t, all)
		if *update {
			if err := os.WriteFile(c.views, views, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		then, err := os.ReadFile(c.views)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(then), string(views)); diff != "" {
			t.Errorf("%s, what it meant and what it means:\n%s", c.file, diff)
		}
	}
	for kind, newest := range record.Kinds() {
		for v := 1; v <= newest; v++ {
			if written[fmt.Sprintf("%s/%d", kind, v)] == 0 {
				t.Errorf("no record of kind %s in version %d stands in the corpus", kind, v)
			}
		}
	}
}

// viewLines writes what is true after a fold, one entity a line.
func viewLines(t testing.TB, all []*record.Record) []byte {
	t.Helper()
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	for _, e := range fold(t, all).Entities() {
		if err := enc.Encode(map[string]any{"entity": e.Asset, "view": viewsOf(t, e, record.Latest)}); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// update writes the views anew. Read the difference before it is committed: an
// old record must not come to mean something else.
var update = flag.Bool("update", false, "write what the corpus means anew")

// TestCorpusCanBeWritten enters the first corpus again. A later version of a kind
// writes other bytes, and then this test goes; the corpus stays.
func TestCorpusCanBeWritten(t *testing.T) {
	var b bytes.Buffer
	for _, r := range firstCorpus(t) {
		b.Write(r.Bytes)
		b.WriteByte('\n')
	}
	then, err := os.ReadFile(corpus[0].file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(then), b.String()); diff != "" {
		t.Error(diff)
	}
}

func whole(n int64) *int64 { return &n }

func metres(meter string, m int64) record.MeterReading {
	return record.MeterReading{Meter: meter, Metres: &m}
}

// firstCorpus holds every kind as it was in version 1, every member filled.
func firstCorpus(t *testing.T) []*record.Record {
	t.Helper()
	var all []*record.Record
	heads := map[record.Asset]record.Head{}
	ann := record.Who{Account: "account/ann", Name: "Ann Müller"}
	enter := func(a record.Asset, corrects record.ID, body record.Body) *record.Record {
		n := len(all) + 1
		d := record.Draft{ID: id(n), Asset: a, Happened: start + record.Time(n)*hour, Entered: start + record.Time(n)*hour + 60*1e6, Who: ann, Corrects: corrects, Body: body}
		if n == 1 {
			d.Who = record.Who{Name: "first start"}
		}
		if corrects != "" {
			d.Happened = start + 2*hour
			d.Reason = "misread \"the plate\"\nand more"
		}
		r, err := heads[a].Next(d)
		if err != nil {
			t.Fatalf("%s: %v", body.Kind(), err)
		}
		heads[a] = r.Head()
		all = append(all, r)
		return r
	}
	blob := digest(1)
	source := record.Source{Document: "instructions of the type", Edition: "3", Page: "12", Blob: &blob}
	ratings := record.Ratings{D: whole(152_000), Imposed: whole(20_000), Pin: whole(50)}
	raw := func(s string) json.RawMessage { return json.RawMessage(s) }

	enter("account/ann", "", record.AccountAdded{Name: "Ann Müller", Login: "ann", Language: "de"})
	enter("account/ann", "", record.PermissionsChanged{Roles: []string{record.Engineer, record.Manager}, Depots: []record.Asset{"depot/north"}})
	enter("account/ann", "", record.AccountChanged{Changes: record.Changes{Set: record.Fields{"name": raw(`"Ann Müller-Ost"`)}, Clear: []string{"language"}}})
	enter("account/ann", "", record.TokenIssued{Token: id(500), Title: "yard gate", Scopes: []string{"readings:write"}, Expires: start + 365*day})
	enter("account/ann", "", record.TokenRevoked{Token: id(500)})
	enter("depot/north", "", record.DepotAdded{Name: "North yard", Address: "1 Quay Road\nOsiermere", TimeZone: "Europe/Berlin", Note: "gate closes at 22:00"})
	enter("depot/north", "", record.DepotChanged{Changes: record.Changes{Set: record.Fields{"name": raw(`"North"`)}, Clear: []string{"note"}}})
	enter("depot/old", "", record.DepotAdded{Name: "Old yard"})
	enter("depot/old", "", record.DepotClosed{})
	enter("type/fw", "", record.TypeAdded{Part: record.FifthWheel, Name: "sample type", Maker: "sample maker", Marking: "E1 55R-00 0000", Class: "G50-X", Ratings: ratings, Lubrication: "manual",
		Dimensions: []record.Dimension{{Name: "lock-wear", What: "thickness of the ring", New: "22 mm", Limit: "17.5 mm", Sense: "min", Reached: "replace ring and jaw", Source: source}},
		Intervals:  []record.Interval{{Task: "grease", Metres: whole(5_000_000), Months: whole(1), Days: whole(30), Once: true, Note: "sooner on dirt", Source: source}},
		Torques:    []record.Torque{{Where: "bearing screws", Thread: "M16x1.5", Grade: "10.9", Least: "270 N.m", Most: "300 N.m", Note: "dry", Source: source}},
		Source:     source, Note: "copied by hand"})
	enter("type/fw", "", record.TypeChanged{Changes: record.Changes{Set: record.Fields{"dimensions": raw(`[{"name":"lock-wear","limit":"18 mm","sense":"min"}]`)}, Clear: []string{"note"}}})
	heron := enter("vehicle/heron", "", record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS-HE 7", VIN: "W0000000000000007", Depot: "depot/north",
		Fields: record.Fields{"id": raw(`"heron-07"`), "name": raw(`"Heron 07"`), "width": raw(`"2550 mm"`), "axle": raw(`[{"kind":"steer","tare":"5500 kg"},{"at":"3700 mm","kind":"drive"}]`)}})
	enter("vehicle/heron", "", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"registration": raw(`"OS-HE 8"`), "fields": raw(`{"width":"2500 mm","height":"3.9 m"}`)}, Clear: []string{"vin", "fields.name"}}})
	enter("vehicle/heron", heron.ID, record.VehicleAdded{Vehicle: record.Tractor, Depot: "depot/north", Fields: record.Fields{"id": raw(`"heron-07"`), "width": raw(`"2540 mm"`)}})
	enter("vehicle/teal", "", record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: record.Fields{"id": raw(`"teal-23"`), "kind": raw(`"curtain-sider"`)}})
	enter("vehicle/teal", "", record.MeterReplaced{Meter: record.HubMeter, Old: whole(412_350_000), New: 1_000})
	enter("vehicle/teal", "", record.ReadingJudged{Meter: record.HubMeter, At: start, Metres: 45_350_000, Decision: record.ReadAs, ReadAs: whole(453_500_000)})
	enter("part/fw", "", record.PartAdded{Part: record.FifthWheel, Type: "type/fw", Serial: "FW-1042", Marking: "E1 55R-00 0000", Class: "G50-X", Ratings: ratings, ReadFrom: "plate", Made: "2024-11", Depot: "depot/north", Note: "from the scrapped tractor"})
	enter("part/fw", "", record.PartChanged{Changes: record.Changes{Set: record.Fields{"serial": raw(`"FW-1043"`), "d_n": raw(`150000`)}, Clear: []string{"note"}}})
	enter("part/fw", "", record.PartFitted{Vehicle: "vehicle/heron", Place: record.AtFifthWheel, Reading: metres(record.Odometer, 412_350_000)})
	enter("part/pin", "", record.PartAdded{Part: record.Kingpin, Serial: "K-9"})
	enter("part/pin", "", record.PartFitted{Vehicle: "vehicle/teal", Place: record.AtKingpin, Reading: metres(record.HubMeter, 5_000)})
	on := enter("vehicle/teal", "", record.Coupled{By: "vehicle/heron", ByReading: metres(record.Odometer, 413_000_000), Reading: metres(record.Brake, 7_000), Place: "North"})
	enter("vehicle/teal", "", record.Uncoupled{Period: on.ID, ByReading: metres(record.Odometer, 413_400_000), Reading: metres(record.Brake, 407_000), Place: "Quay"})
	again := enter("vehicle/teal", "", record.Coupled{By: "vehicle/heron", Place: "Quay"})
	v, err := record.VoidOf(again)
	if err != nil {
		t.Fatal(err)
	}
	enter("vehicle/teal", again.ID, v)
	enter("part/fw", "", record.PartRemoved{Vehicle: "vehicle/heron", Reading: metres(record.Odometer, 413_500_000), Depot: "depot/north", Condition: "ring at its limit"})
	enter("part/fw", "", record.PartScrapped{})
	enter("vehicle/heron", "", record.DocumentAttached{Title: "plate of the tractor", Sort: "plate", Name: "plate.jpg", Media: "image/jpeg", Bytes: 182_344, Blob: digest(2)})
	enter("notice/one", "", record.NoticeOpened{Title: "Rings of winter 2024", Text: "may crack", Part: record.FifthWheel, Type: "type/fw",
		Ranges: []record.SerialRange{{From: "FW-1000", To: "FW-1999"}}, Serials: []string{"FW-7"}, Action: "replace the ring", Source: source})
	enter("notice/one", "", record.NoticeChanged{Changes: record.Changes{Set: record.Fields{"ranges": raw(`[{"from":"FW-1000","to":"FW-2999"}]`)}}})
	enter("notice/one", "", record.NoticePartClosed{Part: "part/fw", Done: "scrapped"})
	enter("notice/one", "", record.NoticeClosed{})
	enter("limits/wear", "", record.LimitsChanged{Changes: record.Changes{Set: record.Fields{"pin-50": raw(`{"limit":"49 mm"}`)}, Clear: []string{"pin-90"}}, Source: source})
	enter("vehicle/teal", "", record.AnswerKept{Question: raw(`{"tractor":"heron-07"}`), Answer: raw(`{"answer":"fits"}`), Rulebook: "eu", Rules: digest(3),
		Editions: map[string]string{"d-value": "1"}, Program: "0.3.0", Vehicles: []record.Asset{"vehicle/heron", "vehicle/teal"}})
	enter("vehicle/heron", "", record.VehicleScrapped{Reading: metres(record.Odometer, 413_600_000)})
	enter("account/ann", "", record.AccountClosed{})
	return all
}

// TestDocumentIsTrue holds the page about records against the code: each kind is
// listed, and what it shows as records are records.
func TestDocumentIsTrue(t *testing.T) {
	page, err := os.ReadFile("../doc/records.md")
	if err != nil {
		t.Fatal(err)
	}
	for kind := range record.Kinds() {
		if !bytes.Contains(page, []byte("`"+kind+"`")) {
			t.Errorf("doc/records.md does not list the kind %s", kind)
		}
	}
	shown := 0
	var before record.Digest
	for line := range bytes.Lines(page) {
		if !bytes.HasPrefix(line, []byte(`{"record":`)) {
			continue
		}
		r, err := record.Decode(bytes.TrimSpace(line))
		if err != nil {
			t.Fatal(err)
		}
		if r.Previous != before {
			t.Errorf("record %s does not follow the one shown before it", r.ID)
		}
		before = r.Digest
		shown++
	}
	if shown != 2 {
		t.Errorf("%d records are shown, expected 2", shown)
	}
}
