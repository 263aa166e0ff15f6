package store

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	"underpin/record"
)

// Benchmarks run on a fleet of sizeEnv assets, 100 000 when it is not set, with
// ten records and apieceEnv readings to an asset, 20 when it is not set: state the
// figures only with the size. The store is made once for all of them. Where keepEnv
// names a folder it is kept there, and used again as it is when it is there.
const (
	sizeEnv   = "UNDERPIN_BENCH_ASSETS"
	apieceEnv = "UNDERPIN_BENCH_READINGS"
	keepEnv   = "UNDERPIN_BENCH_STORE"
)

func size() int   { return fromEnv(sizeEnv, 100_000) }
func apiece() int { return fromEnv(apieceEnv, 20) }

func fromEnv(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil && n > 0 {
		return n
	}
	return otherwise
}

var big struct {
	once    sync.Once
	dir     string
	records int64
}

// bigStore makes the store for the benchmarks: half of the assets are vehicles,
// half are parts fitted to them, with coupled periods between.
func bigStore(b *testing.B) *sqlStore {
	b.Helper()
	big.once.Do(func() {
		dir := os.Getenv(keepEnv)
		if dir == "" {
			var err error
			if dir, err = os.MkdirTemp("", "underpin-bench-"); err != nil {
				b.Fatal(err)
			}
			atEnd = append(atEnd, func() { os.RemoveAll(dir) })
		}
		big.dir = dir
		if _, err := os.Stat(filepath.Join(dir, sqliteFile)); err == nil {
			return
		}
		s, err := openSQLite(context.Background(), dir, Options{})
		if err != nil {
			b.Fatal(err)
		}
		defer s.Close()
		fill(b, s, size())
	})
	s, err := openSQLite(b.Context(), big.dir, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	return s
}

func benchID(kind, n int) string {
	return fmt.Sprintf("0199b0b4-%04x-7000-8000-%012d", kind, n)
}

func fill(b *testing.B, s *sqlStore, assets int) {
	b.Helper()
	ctx := context.Background()
	heads := map[record.Asset]record.Head{}
	var batch Batch
	flush := func() {
		if _, err := s.Append(ctx, batch); err != nil {
			b.Fatal(err)
		}
		big.records += int64(len(batch.Records))
		batch = Batch{}
	}
	enter := func(a record.Asset, body record.Body) *record.Record {
		r := follow(b, heads[a], a, body, "")
		heads[a] = r.Head()
		batch.Records = append(batch.Records, r)
		return r
	}
	kilometres := int64(1000)
	for i := range assets / 2 {
		v, p := record.NewAsset("vehicle", benchID(1, i)), record.NewAsset("part", benchID(2, i))
		raw := func(s string) json.RawMessage { b, _ := json.Marshal(s); return b }
		enter(v, record.VehicleAdded{Vehicle: record.SemiTrailer, Registration: fmt.Sprintf("OS-%d", i), VIN: fmt.Sprintf("W0000000%09d", i),
			Depot: record.NewAsset("depot", strconv.Itoa(i%20)), Fields: record.Fields{"id": raw(fmt.Sprintf("t-%d", i)), "kind": raw("curtain-sider"), "gross-plate": raw("39000 kg")}})
		enter(p, record.PartAdded{Part: record.Kingpin, Serial: fmt.Sprintf("K%07d", i)})
		enter(p, record.PartFitted{Vehicle: v, Place: record.AtKingpin})
		for j := range 5 {
			enter(v, change(fmt.Sprintf("OS-%d-%d", i, j)))
		}
		for range 6 {
			reading := record.MeterReading{Meter: record.Odometer, Metres: &kilometres}
			c := enter(v, record.Coupled{By: record.NewAsset("vehicle", benchID(1, (i*7)%(assets/2))), ByReading: reading, Place: "North"})
			enter(v, record.Uncoupled{Period: c.ID, ByReading: reading, Place: "North"})
		}
		if len(batch.Records) > 20_000 {
			flush()
		}
	}
	flush()
	rebuild(b, s)
	var all []Reading
	for i := range assets / 2 {
		a := record.NewAsset("vehicle", benchID(1, i))
		for j := range 2 * apiece() { // the parts have none
			all = append(all, Reading{Meter: Meter{a, record.HubMeter}, Reading: record.Reading{At: start + record.Time(j-2*apiece())*24*hour, Metres: int64(j) * 400_000}, Unit: "km"})
		}
		if len(all) > 500_000 || i == assets/2-1 {
			if _, err := s.AddReadings(ctx, delivery(), all); err != nil {
				b.Fatal(err)
			}
			all = all[:0]
		}
	}
}

func rebuild(b testing.TB, s Store) {
	b.Helper()
	if err := s.Rebuild(context.Background(), func(records iter.Seq2[*record.Record, error], put func(Row) error) error {
		state := record.NewState(nil)
		for r, err := range records {
			if err != nil {
				return err
			}
			if _, err := state.Apply(r); err != nil {
				return err
			}
		}
		for row, err := range RowsOf(state.Entities()) {
			if err != nil {
				return err
			}
			if err := put(row); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		b.Fatal(err)
	}
}

func perSecond(b *testing.B, n int64, what string) {
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), what+"/s")
}

// BenchmarkAppend enters one change with its state, as a person does: one
// transaction, on the disk before it returns.
func BenchmarkAppend(b *testing.B) {
	s := openLite(b)
	f := newFleet(b, s)
	f.add("vehicle/heron")
	for b.Loop() {
		f.enter(f.next("vehicle/heron", record.MeterReplaced{Meter: record.HubMeter}, ""))
		b.StopTimer()
		if h, _ := s.Head(b.Context(), "vehicle/heron"); h.Seq%50 == 0 { // a vehicle has few records
			s = openLite(b)
			f = newFleet(b, s)
			f.add("vehicle/heron")
		}
		b.StartTimer()
	}
}

// BenchmarkAppendMany enters 10 000 vehicles in one batch, as an import does.
func BenchmarkAppendMany(b *testing.B) {
	const n = 10_000
	for b.Loop() {
		b.StopTimer()
		s := openLite(b)
		var batch Batch
		state := record.NewState(nil)
		for i := range n {
			r := follow(b, record.Head{}, number(i), record.VehicleAdded{Vehicle: record.Tractor, Registration: fmt.Sprint("OS ", i)}, "")
			if _, err := state.Apply(r); err != nil {
				b.Fatal(err)
			}
			batch.Records = append(batch.Records, r)
		}
		for _, e := range state.Entities() {
			row, err := RowOf(e)
			if err != nil {
				b.Fatal(err)
			}
			batch.Rows = append(batch.Rows, Put{Row: row})
		}
		b.StartTimer()
		if _, err := s.Append(b.Context(), batch); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, n, "records")
}

// BenchmarkReadings adds one delivery: a new reading of each of the vehicles,
// which is the hard case, and fifty of each of a tenth of them.
func BenchmarkReadings(b *testing.B) {
	for _, test := range []struct {
		name          string
		every, apiece int
	}{{"one of each", 1, 1}, {"fifty of a tenth", 10, 50}} {
		b.Run(test.name, func(b *testing.B) {
			s := bigStore(b)
			n, day := int64(0), 1000
			for b.Loop() {
				b.StopTimer()
				var all []Reading
				for i := 0; i < size()/2; i += test.every {
					for j := range test.apiece {
						all = append(all, Reading{Meter: Meter{record.NewAsset("vehicle", benchID(1, i)), record.HubMeter},
							Reading: record.Reading{At: start + record.Time(day+j)*hour, Metres: int64(day + j)}, Unit: "m"})
					}
				}
				day += test.apiece
				n = int64(len(all))
				b.StartTimer()
				if _, err := s.AddReadings(b.Context(), delivery(), all); err != nil {
					b.Fatal(err)
				}
			}
			perSecond(b, n, "readings")
		})
	}
}

// BenchmarkList fetches one page of fifty with its counts, as a page shows them.
func BenchmarkList(b *testing.B) {
	s := bigStore(b)
	for _, test := range []struct {
		name string
		q    Query
	}{
		{"first", Query{Kind: "vehicle"}},
		{"deep", Query{Kind: "vehicle", After: &Row{Sort: "t-054", Asset: "vehicle/x"}}},
		{"of a depot", Query{Kind: "vehicle", Depots: []record.Asset{"depot/3"}}},
		{"of two depots", Query{Kind: "vehicle", Depots: []record.Asset{"depot/3", "depot/7"}, Status: []string{"active"}}},
		{"none", Query{Kind: "vehicle", Status: []string{"scrapped"}, Depots: []record.Asset{"depot/3"}}},
	} {
		b.Run(test.name, func(b *testing.B) {
			test.q.Limit = 50
			for b.Loop() {
				if _, err := s.List(b.Context(), test.q); err != nil {
					b.Fatal(err)
				}
				if _, err := s.Count(b.Context(), test.q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkFind(b *testing.B) {
	s := bigStore(b)
	for _, text := range []string{"t-4711", "os4711", "12345", "k", "9", "curtain 77", "nothing here"} {
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Find(b.Context(), FindQuery{Text: text, Limit: 50, Kinds: []string{"vehicle", "part", "type", "depot", "notice", "account"}}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkVehicle fetches what a vehicle's page needs.
func BenchmarkVehicle(b *testing.B) {
	s := bigStore(b)
	for i := 0; b.Loop(); i++ {
		a := record.NewAsset("vehicle", benchID(1, i%(size()/2)))
		row, err := s.Row(b.Context(), a)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := row.Entity(); err != nil {
			b.Fatal(err)
		}
		if _, err := s.Beside(b.Context(), BesideQuery{Asset: a, Kind: "part", Limit: 50}); err != nil {
			b.Fatal(err)
		}
		if _, err := s.Beside(b.Context(), BesideQuery{Asset: a, Kind: "period", Limit: 50}); err != nil {
			b.Fatal(err)
		}
		if _, err := s.LatestReadings(b.Context(), []record.Asset{a}); err != nil {
			b.Fatal(err)
		}
		if _, err := s.History(b.Context(), a, 1, 50); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	bigStore(b)
	for b.Loop() {
		s, err := openSQLite(b.Context(), big.dir, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.List(b.Context(), Query{Kind: "vehicle", Limit: 50}); err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

func BenchmarkVerify(b *testing.B) {
	s := bigStore(b)
	for b.Loop() {
		if err := s.Snapshot(b.Context(), func(a record.Archive) error {
			report, err := record.Verify(b.Context(), a, nil)
			if err == nil && !report.Sound() {
				b.Fatal(report.Faults)
			}
			return err
		}); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, records(b, s), "records")
}

// BenchmarkRebuild folds every record and writes the state that follows: into
// empty tables, and over tables that say the same already.
func BenchmarkRebuild(b *testing.B) {
	s := bigStore(b)
	b.Run("from nothing", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			for _, q := range []string{`delete from entity_ref`, `delete from entity_key`, `delete from entity`, `insert into entity_text (entity_text) values ('delete-all')`} {
				if _, err := s.w.Exec(q); err != nil {
					b.Fatal(err)
				}
			}
			b.StartTimer()
			rebuild(b, s)
		}
		perSecond(b, records(b, s), "records")
	})
	b.Run("as it was", func(b *testing.B) {
		for b.Loop() {
			rebuild(b, s)
		}
		perSecond(b, records(b, s), "records")
	})
}

func records(b *testing.B, s *sqlStore) (n int64) {
	if err := s.r.QueryRow(`select count(*) from record`).Scan(&n); err != nil {
		b.Fatal(err)
	}
	return n
}
