package record_test

import (
	"context"
	"fmt"
	"testing"

	"underpin/record"
)

// fleetOf is a fleet of so many vehicles, with a part on each and some records
// of each: about 450 bytes a record.
func fleetOf(b testing.TB, vehicles, changes int) []*record.Record {
	b.Helper()
	var all []*record.Record
	heads := map[record.Asset]record.Head{}
	enter := func(a record.Asset, body record.Body) *record.Record {
		n := len(all) + 1
		r, err := heads[a].Next(record.Draft{ID: record.NewID(start.Time(), [10]byte{6: byte(n >> 24), 7: byte(n >> 16), 8: byte(n >> 8), 9: byte(n)}), Asset: a,
			Happened: start + record.Time(n)*1e6, Entered: start + record.Time(n)*1e6, Who: record.Who{Account: "account/ann", Name: "Ann Ost"}, Body: body})
		if err != nil {
			b.Fatal(err)
		}
		heads[a] = r.Head()
		all = append(all, r)
		return r
	}
	for i := range vehicles {
		v, p := record.NewAsset("vehicle", fmt.Sprintf("0199b0b4-0000-7000-8000-%012d", i)), record.NewAsset("part", fmt.Sprintf("0199b0b4-0000-7000-8001-%012d", i))
		enter(v, record.VehicleAdded{Vehicle: record.SemiTrailer, Registration: fmt.Sprintf("OS %d", i), Fields: record.Fields{"id": fmt.Appendf(nil, `"t-%d"`, i)}})
		enter(p, record.PartAdded{Part: record.Kingpin, Serial: fmt.Sprintf("K%d", i)})
		enter(p, record.PartFitted{Vehicle: v, Place: record.AtKingpin})
		for j := range changes {
			if j%3 == 0 {
				enter(v, record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"registration": fmt.Appendf(nil, `"OS %d"`, j)}}})
				continue
			}
			c := enter(v, record.Coupled{By: "vehicle/0199b0b4-0000-7000-8002-000000000001", ByReading: metres(record.Odometer, int64(j)*1000), Place: "North"})
			enter(v, record.Uncoupled{Period: c.ID, ByReading: metres(record.Odometer, int64(j)*1000+500), Place: "North"})
		}
	}
	return all
}

func BenchmarkVerify(b *testing.B) {
	a := archiveOf(fleetOf(b, 2000, 10))
	a.seal(b, ourKey)
	a.untouched = true
	for b.Loop() {
		report, err := record.Verify(context.Background(), a, ours())
		if err != nil || !report.Sound() {
			b.Fatal(report, err)
		}
	}
	b.ReportMetric(float64(len(a.rows)*b.N)/b.Elapsed().Seconds(), "records/s")
}

// BenchmarkFold is a rebuild: stored bytes to state and to what lists show.
func BenchmarkFold(b *testing.B) {
	all := fleetOf(b, 2000, 10)
	for b.Loop() {
		s := record.NewState(nil)
		for _, r := range all {
			got, err := record.Decode(r.Bytes)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := s.Apply(got); err != nil {
				b.Fatal(err)
			}
		}
		for _, e := range s.Entities() {
			if _, err := e.Brief(); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(len(all)*b.N)/b.Elapsed().Seconds(), "records/s")
}

func BenchmarkNext(b *testing.B) {
	d := draft()
	for b.Loop() {
		if _, err := (record.Head{}).Next(d); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	r, err := record.Head{}.Next(draft())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(r.Bytes)))
	for b.Loop() {
		if _, err := record.Decode(r.Bytes); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSeal seals 100 000 chains.
func BenchmarkSeal(b *testing.B) {
	heads := make([]record.Head, 100_000)
	for i := range heads {
		heads[i] = record.Head{Asset: record.NewAsset("vehicle", fmt.Sprintf("0199b0b4-0000-7000-8000-%012d", i)), Seq: 1, Digest: digest(i)}
	}
	for b.Loop() {
		if _, err := record.NewSeal(nil, heads, start, ourKey); err != nil {
			b.Fatal(err)
		}
	}
}
