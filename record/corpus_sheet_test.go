package record_test

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// TestSheetCorpusCanBeWritten enters the corpus of mountings again, as
// TestCorpusCanBeWritten does the first.
func TestSheetCorpusCanBeWritten(t *testing.T) {
	var b bytes.Buffer
	for _, r := range sheetCorpus(t) {
		b.Write(r.Bytes)
		b.WriteByte('\n')
	}
	if *update {
		if _, err := os.Stat(corpus[1].file); os.IsNotExist(err) { // once and never again
			if err := os.WriteFile(corpus[1].file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	then, err := os.ReadFile(corpus[1].file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(then), b.String()); diff != "" {
		t.Error(diff)
	}
}

// sheetCorpus holds every kind about mountings as it was in version 1, every
// member filled.
func sheetCorpus(t *testing.T) []*record.Record {
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
	const heron = "vehicle/heron"
	enter(heron, record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": json.RawMessage(`"heron-07"`)}})
	enter(record.NewAsset(record.LimitsAsset, record.CatalogueSet), record.CatalogueKept{Name: "parts.toml", Bytes: 25_000, Blob: digest(1), Chassis: 2, Parts: 12, Briefs: 3, Fittings: 1})
	kept := sampleSheet()
	enter(heron, kept)
	kept.Revision, kept.State, kept.Answer, kept.Warnings = "B", record.ApprovedSheet, "fits", []string{"shear of the worst bolt against slip"}
	sheet := enter(heron, kept)
	built := enter(heron, sampleBuilt(sheet.ID))
	enter(heron, record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"fields": json.RawMessage(`{"fifth-wheel":{"at":"3103 mm"}}`)}}})
	enter(heron, record.BoltsTightened{Built: built.ID, Torques: []record.JointTight{{Joint: "wheel-185", Torque: "260 N.m", Wrench: "W-4"}}, Reading: metres(record.Odometer, 125_000_000), Note: "two had moved"})
	return all
}

func sampleSheet() record.SpecificationKept {
	return record.SpecificationKept{Number: "M-7", Revision: "A", State: record.DraftSheet, Answer: "cannot-tell", Subject: "Ordinary road work", Brief: "heron-road",
		Stack: "angles + plate-12 + wheel-185", At: whole(3100), Inputs: digest(2), Sheet: digest(3), Paper: digest(4), Rulebook: "eu", Rules: digest(5), Program: "0.3.0"}
}

func sampleBuilt(of record.ID) record.MountingBuilt {
	return record.MountingBuilt{Specification: of, Measured: json.RawMessage(`{"at":"3103 mm"}`), Differences: json.RawMessage(`[{"id":"position","answer":"fits"}]`), Answer: "cannot-tell",
		Reading: metres(record.Odometer, 123_456_000), Changed: []string{"fifth-wheel"},
		Retighten: record.Retighten{At: whole(125_456_000), Day: "2026-12-25", Document: "Invented document 7, issue 3, page 12", Missing: []string{"days, from the document of the part"}}}
}

// TestSheetsAreRefused: what no record may say of a mounting, each with the word
// by which a person finds it.
func TestSheetsAreRefused(t *testing.T) {
	sheet := func(change func(*record.SpecificationKept)) record.Body {
		s := sampleSheet()
		change(&s)
		return s
	}
	built := func(change func(*record.MountingBuilt)) record.Body {
		b := sampleBuilt(id(9))
		change(&b)
		return b
	}
	tight := func(change func(*record.BoltsTightened)) record.Body {
		b := record.BoltsTightened{Built: id(9), Torques: []record.JointTight{{Joint: "wheel", Torque: "260 N.m", Wrench: "W-4"}}}
		change(&b)
		return b
	}
	for _, tt := range []struct {
		says string
		body record.Body
	}{
		{"state", sheet(func(s *record.SpecificationKept) { s.State = record.ApprovedSheet })}, // the sample cannot be told
		{"state", sheet(func(s *record.SpecificationKept) { s.State, s.Answer = record.ApprovedSheet, "does-not-fit" })},
		{"state", sheet(func(s *record.SpecificationKept) { s.State = "released" })},
		{"answer", sheet(func(s *record.SpecificationKept) { s.Answer = "fits-if" })},
		{"number", sheet(func(s *record.SpecificationKept) { s.Number = "" })},
		{"blobs", sheet(func(s *record.SpecificationKept) { s.Sheet = record.Digest{} })},
		{"blobs", sheet(func(s *record.SpecificationKept) { s.Paper = record.Digest{} })},
		{"blobs", sheet(func(s *record.SpecificationKept) { s.Inputs = record.Digest{} })},
		{"specification", built(func(b *record.MountingBuilt) { b.Specification = "" })},
		{"measured", built(func(b *record.MountingBuilt) { b.Measured = json.RawMessage(`[]`) })},
		{"differences", built(func(b *record.MountingBuilt) { b.Differences = nil })},
		{"day", built(func(b *record.MountingBuilt) { b.Retighten.Day = "soon" })},
		{"missing", built(func(b *record.MountingBuilt) { b.Retighten = record.Retighten{} })}, // neither due nor asked for
		{"changed", built(func(b *record.MountingBuilt) { b.Changed = []string{"Fifth Wheel"} })},
		{"torques", tight(func(b *record.BoltsTightened) { b.Torques = nil })},
		{"torque", tight(func(b *record.BoltsTightened) { b.Torques[0].Torque = "260" })},
		{"wrench", tight(func(b *record.BoltsTightened) { b.Torques[0].Wrench = "" })},
		{"blob", record.CatalogueKept{Name: "parts.toml", Bytes: 1}},
	} {
		a := record.Asset("vehicle/heron")
		if tt.body.Kind() == "catalogue-kept" {
			a = record.NewAsset(record.LimitsAsset, record.CatalogueSet)
		}
		head := record.Head{}
		if a == "vehicle/heron" {
			first, err := head.Next(record.Draft{ID: id(1), Asset: a, Happened: start, Entered: start, Who: record.Who{Name: "Ann"}, Body: record.VehicleAdded{Vehicle: record.Tractor}})
			if err != nil {
				t.Fatal(err)
			}
			head = first.Head()
		}
		_, err := head.Next(record.Draft{ID: id(2), Asset: a, Happened: start + hour, Entered: start + hour, Who: record.Who{Name: "Ann"}, Body: tt.body})
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v, expected an error about %s", tt.body.Kind(), err, tt.says)
		}
	}
}

// TestRetightening: the last fitting asks for it until it is done, and a fitting
// takes the place of the one before.
func TestRetightening(t *testing.T) {
	all := sheetCorpus(t)
	due := func(n int) *record.Built {
		v, err := fold(t, all[:n]).Entity("vehicle/heron")
		if err != nil {
			t.Fatal(err)
		}
		view, err := v.Vehicle(record.Latest)
		if err != nil {
			t.Fatal(err)
		}
		return view.Retightening()
	}
	if due(4) != nil {
		t.Error("a retightening is due before anything was fitted")
	}
	if b := due(6); b == nil || *b.Retighten.At != 125_456_000 || b.Retighten.Day != "2026-12-25" {
		t.Errorf("after the fitting: %+v", b)
	}
	if due(7) != nil {
		t.Error("it is still due after it was done")
	}
}
