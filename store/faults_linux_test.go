package store

import (
	"bytes"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"underpin/record"
)

// TestRealDiskFull runs on a small disk of its own, where the tests may make one
// (as root): photos and records until it is full. Elsewhere TestDatabaseFull is
// the proof.
func TestRealDiskFull(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=3M"); err != nil {
		t.Logf("no small disk can be made here (%v); TestDatabaseFull stands alone", err)
		return
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	s := openLiteAt(t, dir)
	f := newFleet(t, s)
	f.add("vehicle/a")
	var err error
	for i := 0; i < 100 && err == nil; i++ { // photos until they fill the disk
		_, _, err = s.PutBlob(t.Context(), bytes.NewReader(bytes.Repeat([]byte{byte(i)}, 100_000)))
	}
	unavailable(t, "photos on a full disk", err, "disk is full")
	entered := int64(1)
	err = nil
	for i := 0; i < 5000 && err == nil; i++ { // and records until nothing goes any more
		var b Batch
		if b, err = f.batch(f.next("vehicle/a", record.MeterReplaced{Meter: record.HubMeter}, "")); err != nil {
			t.Fatal(err)
		}
		if _, err = s.Append(t.Context(), b); err == nil {
			entered++
		}
	}
	unavailable(t, "records on a full disk", err, "full")
	if h, err := s.Head(t.Context(), "vehicle/a"); err != nil || h.Seq != entered {
		t.Errorf("the chain ends with record %d (%v), and %d were acknowledged", h.Seq, err, entered)
	}
	f.verify()
	if err := syscall.Mount("none", dir, "tmpfs", syscall.MS_REMOUNT, "size=30M"); err != nil {
		t.Fatal(err)
	}
	f.enter(f.next("vehicle/a", change("OS 1"), "")) // with room again it goes on
	f.verify()
	s.Close()

	if err := syscall.Mount("none", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	_, err = OpenSQLite(t.Context(), dir, Options{})
	unavailable(t, "a disk that cannot be written", err, "")
	if entries, err := os.ReadDir(dir); err != nil || len(entries) == 0 {
		t.Errorf("%v %v", entries, err)
	}
}

// TestDatabaseGone: where the folder was taken away, or another put in its place, while
// the program runs, nothing is acknowledged that nobody would find again.
func TestDatabaseGone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	s := openLiteAt(t, dir)
	f := newFleet(t, s)
	f.add("vehicle/a")
	enter := func() error {
		b, err := f.batch(f.next("vehicle/a", change("OS 1"), ""))
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.Append(t.Context(), b)
		return err
	}
	if err := os.Rename(dir, dir+"-away"); err != nil {
		t.Fatal(err)
	}
	unavailable(t, "taken away", enter(), "not there any more")
	unavailable(t, "ping", s.Ping(t.Context()), "not there")
	other := openLiteAt(t, dir)
	unavailable(t, "replaced", enter(), "replaced by another")
	other.Close()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(dir+"-away", dir); err != nil {
		t.Fatal(err)
	}
	if err := enter(); err != nil {
		t.Errorf("put back: %v", err)
	}
	s.Close()
	newFleet(t, openLiteAt(t, dir)).verify()
}
