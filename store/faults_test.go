package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"underpin/record"
)

// unavailable asserts that an error says in plain words that the machine failed.
func unavailable(t *testing.T, when string, err error, word string) {
	t.Helper()
	gone, ok := errors.AsType[*Unavailable](err)
	if !ok || gone.Doing == "" || !strings.Contains(gone.Why, word) {
		t.Errorf("%s: %v, expected an *Unavailable that says %q", when, err, word)
	}
}

// TestDatabaseFull lets SQLite run out of room: the batch leaves nothing, what
// was entered stays, and with room again it goes on.
func TestDatabaseFull(t *testing.T) {
	s := openLite(t)
	f := newFleet(t, s)
	f.add("vehicle/a")
	var pages int
	if err := s.w.QueryRow(`pragma page_count`).Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := s.w.Exec(fmt.Sprintf(`pragma max_page_count = %d`, pages+4)); err != nil {
		t.Fatal(err)
	}
	entered := 1
	var err error
	for n := 0; n < 2000 && err == nil; n++ {
		var b Batch
		if b, err = f.batch(f.next("vehicle/a", record.DocumentAttached{Title: strings.Repeat("x", 150), Sort: "photo", Blob: photo(t, s)}, "")); err != nil {
			t.Fatal(err)
		}
		if _, err = s.Append(t.Context(), b); err == nil {
			entered++
		}
	}
	unavailable(t, "with the database full", err, "disk is full")
	if h, err := s.Head(t.Context(), "vehicle/a"); err != nil || h.Seq != int64(entered) {
		t.Errorf("the chain ends with record %d (%v), and %d were acknowledged", h.Seq, err, entered)
	}
	f.verify()
	if _, err := s.w.Exec(`pragma max_page_count = 1000000`); err != nil {
		t.Fatal(err)
	}
	f.enter(f.next("vehicle/a", change("OS 1"), ""))
	f.verify()
}

func photo(t *testing.T, s Store) record.Digest {
	t.Helper()
	d, _, err := s.PutBlob(t.Context(), strings.NewReader("photo"))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestFoldersThatCannotBeUsed: what is wrong is said in plain words.
func TestFoldersThatCannotBeUsed(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	writeFile(t, file, "x")
	_, err := OpenSQLite(t.Context(), file, Options{})
	unavailable(t, "a file instead of a folder", err, "")
	_, err = OpenSQLite(t.Context(), filepath.Join(file, "below"), Options{})
	unavailable(t, "a folder below a file", err, "")

	bad := filepath.Join(dir, "bad")
	if err := os.Mkdir(bad, 0o700); err != nil {
		t.Fatal(err)
	}
	writeFile(t, filepath.Join(bad, sqliteFile), strings.Repeat("this is no database ", 1000))
	_, err = OpenSQLite(t.Context(), bad, Options{})
	unavailable(t, "a file that is no database", err, "damaged")
}

// TestPhotoFolderGone: photos cannot be put or read, and are not lost in
// silence; the rest goes on, and all is well when the folder is back.
func TestPhotoFolderGone(t *testing.T) {
	dir := t.TempDir()
	s := openLiteAt(t, dir)
	f := newFleet(t, s)
	d := photo(t, s)
	f.add("vehicle/a")
	f.enter(f.next("vehicle/a", record.DocumentAttached{Title: "x", Sort: "photo", Blob: d}, ""))
	away := filepath.Join(dir, "away")
	if err := os.Rename(filepath.Join(dir, blobDir), away); err != nil {
		t.Fatal(err)
	}
	const word = "photos and documents is not there"
	_, _, err := s.PutBlob(t.Context(), strings.NewReader("other"))
	unavailable(t, "put", err, word)
	_, err = s.Blob(t.Context(), d)
	unavailable(t, "read", err, word)
	unavailable(t, "ping", s.Ping(t.Context()), word)
	err = s.Snapshot(t.Context(), func(a record.Archive) error {
		_, err := record.Verify(t.Context(), a, nil)
		return err
	})
	unavailable(t, "verify", err, word)
	if _, err := os.Stat(filepath.Join(dir, blobDir)); err == nil {
		t.Error("a new, empty folder was made")
	}
	f.enter(f.next("vehicle/a", change("OS 1"), "")) // what needs no photo goes on
	s.Close()
	s = openLiteAt(t, dir) // and opening makes no new folder either
	unavailable(t, "ping after opening", s.Ping(t.Context()), word)
	if err := os.Rename(away, filepath.Join(dir, blobDir)); err != nil {
		t.Fatal(err)
	}
	if err := s.Ping(t.Context()); err != nil {
		t.Error(err)
	}
	newFleet(t, s).verify()
}

// TestDamagedPhotoIsReplaced: who puts the same photo again mends it.
func TestDamagedPhotoIsReplaced(t *testing.T) {
	s := openLite(t)
	d := photo(t, s)
	swapBlob(t, s, d)
	if got, there, err := s.blobs.read(t.Context(), d); err != nil || !there || got == d {
		t.Fatalf("the damage is not seen: %s %v %v", got, there, err)
	}
	photo(t, s)
	if got, there, err := s.blobs.read(t.Context(), d); err != nil || !there || got != d {
		t.Errorf("after it was put again: %s %v %v", got, there, err)
	}
}

// TestHalfWrittenPhotosLeaveNothing: neither file nor row.
func TestHalfWrittenPhotosLeaveNothing(t *testing.T) {
	dir := t.TempDir()
	s := openLiteAt(t, dir)
	_, _, err := s.PutBlob(t.Context(), errReader{errors.New("the line broke")})
	if err == nil {
		t.Fatal("nothing went wrong")
	}
	left, err := os.ReadDir(filepath.Join(dir, blobDir))
	if err != nil || len(left) != 0 {
		t.Errorf("left: %v, %v", left, err)
	}
	if n := dump(t, s)["blob"]; n != 0 {
		t.Errorf("%d rows", n)
	}
}

// TestBackup: a backup that was taken while people work is a whole store.
func TestBackup(t *testing.T) {
	s := openLite(t)
	f := newFleet(t, s)
	f.add("vehicle/a")
	f.enter(f.next("vehicle/a", record.DocumentAttached{Title: "x", Sort: "photo", Blob: photo(t, s)}, ""))
	seal(t, s)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := 0; ctx.Err() == nil; i++ {
			d, _, err := s.PutBlob(context.Background(), bytes.NewReader(fmt.Appendf(nil, "photo %d", i)))
			if err != nil {
				t.Error(err)
				return
			}
			f.enter(f.next("vehicle/a", record.DocumentAttached{Title: "x", Sort: "photo", Blob: d}, ""))
		}
	}()
	dir := filepath.Join(t.TempDir(), "copy")
	err := s.Backup(t.Context(), dir)
	stop()
	<-done
	if err != nil {
		t.Fatal(err)
	}
	copied := openLiteAt(t, dir)
	if report := newFleet(t, copied).verify(); report.Records < 2 || report.Seals != 1 {
		t.Errorf("the copy holds %+v", report)
	}
	unavailable(t, "into a folder that is not empty", s.Backup(t.Context(), dir), "not empty")
}

// TestEveryConnectionHasItsSettings: they stand in the address, so that no
// connection of a pool is without them.
func TestEveryConnectionHasItsSettings(t *testing.T) {
	s := openLite(t)
	want := map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "10000", "query_only": "1"}
	var conns []*sql.Conn
	for range readers {
		c, err := s.r.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		conns = append(conns, c)
	}
	w, err := s.w.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	for i, c := range append(conns, w) {
		if c == w {
			want["query_only"] = "0"
		}
		for name, value := range want {
			var got string
			if err := c.QueryRowContext(t.Context(), `pragma `+name).Scan(&got); err != nil || got != value {
				t.Errorf("connection %d: %s is %s (%v), expected %s", i, name, got, err, value)
			}
		}
	}
	if _, err := conns[0].ExecContext(t.Context(), `delete from setting`); err == nil {
		t.Error("a reading connection writes")
	}
}

// TestStrangePaths: folders are named as people name them.
func TestStrangePaths(t *testing.T) {
	for _, name := range []string{"with space", "per%20cent", "frage?x=1", "raute#1", "Größe", "a&b;c"} {
		dir := filepath.Join(t.TempDir(), name)
		s := openLiteAt(t, dir)
		newFleet(t, s).add("vehicle/a")
		s.Close()
		if _, err := os.Stat(filepath.Join(dir, sqliteFile)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestClosedStore says so.
func TestClosedStore(t *testing.T) {
	s := openLite(t)
	s.Close()
	if _, err := s.Head(t.Context(), "vehicle/a"); err == nil || !is[*Unavailable](err) {
		t.Errorf("%v", err)
	}
}

// TestReadWhileWriting: a
// reader is not held up by a writer.
func TestReadWhileWriting(t *testing.T) {
	s := openLite(t)
	f := newFleet(t, s)
	f.add("vehicle/a")
	tx, err := s.w.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if _, err := tx.Exec(`update setting set value = 'x'`); err != nil {
		t.Fatal(err)
	}
	if h, err := s.Head(t.Context(), "vehicle/a"); err != nil || h.Seq != 1 {
		t.Errorf("%+v, %v", h, err)
	}
}
