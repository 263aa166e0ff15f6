package store

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

// released holds the digest of each migration. A migration that was released is
// never edited: databases that have run it would never see the edit. Add the next
// number instead, and its digest here.
var released = map[string]string{
	"migrations/postgres/0001_first.sql": "2ecf7bb39e85f75602cfaf58183c6842ba7d5f325d831f57a7966121e4d7db58",
	"migrations/sqlite/0001_first.sql":   "ee1ecb4fcc2e874fc797c93778305daea1a92f252a0cff31ffeb51de58f6b3fd",
}

func TestMigrationsAreNeverEdited(t *testing.T) {
	found := map[string]string{}
	if err := fs.WalkDir(migrations, "migrations", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		b, err := fs.ReadFile(migrations, path)
		found[path] = record.DigestOf(b).String()
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if len(found) == 0 {
		t.Fatal("no migration is embedded")
	}
	if diff := cmp.Diff(released, found); diff != "" {
		t.Error(diff)
	}
	numbers := func(engine string) (names []string) {
		for _, path := range slices.Sorted(maps.Keys(found)) {
			if strings.HasPrefix(path, "migrations/"+engine+"/") {
				names = append(names, filepath.Base(path))
			}
		}
		return names
	}
	if diff := cmp.Diff(numbers("sqlite"), numbers("postgres")); diff != "" {
		t.Errorf("the engines have different migrations:\n%s", diff)
	}
}

// later is the set of migrations of a later version of the program.
func later(t *testing.T, engine, statement string) fs.FS {
	t.Helper()
	all := fstest.MapFS{"0002_later.sql": {Data: []byte("-- +goose Up\n" + statement + "\n")}}
	entries, err := fs.ReadDir(migrationsOf(engine), ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		b, err := fs.ReadFile(migrationsOf(engine), e.Name())
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = &fstest.MapFile{Data: b}
	}
	return all
}

// upgrade takes a store through the life of a migration. Open opens it with the
// migrations given, nil for those of this program.
func upgrade(t *testing.T, engine string, open func(fs.FS) (*sqlStore, error)) {
	s, err := open(nil)
	if err != nil {
		t.Fatal(err)
	}
	f := newFleet(t, s)
	f.add("vehicle/a")
	s.Close()

	// One that fails leaves everything as it was, and this program goes on.
	if _, err := open(later(t, engine, "create table extra (a text); insert into nowhere values (1);")); !is[*Unavailable](err) {
		t.Errorf("a migration that fails: %v", err)
	}
	if s, err = open(nil); err != nil {
		t.Fatalf("after a migration that failed: %v", err)
	}
	if _, err := s.r.Exec(`select a from extra`); err == nil {
		t.Error("half of a migration that failed remains")
	}
	newFleet(t, s).verify()
	s.Close()

	// One that works is run once.
	for range 2 {
		if s, err = open(later(t, engine, "create table extra (a text);")); err != nil {
			t.Fatal(err)
		}
		if a, err := s.About(t.Context()); err != nil || a.Schema != 2 {
			t.Errorf("schema %d (%v), expected 2", a.Schema, err)
		}
		newFleet(t, s).verify()
		s.Close()
	}

	// And now this program is the older one.
	_, err = open(nil)
	newer, ok := errors.AsType[*NewerSchema](err)
	if !ok || newer.Has != 2 || newer.Known != 1 || !strings.Contains(err.Error(), "later version") {
		t.Errorf("a newer schema: %v, expected *NewerSchema", err)
	}
	if s, err = open(later(t, engine, "create table extra (a text);")); err != nil {
		t.Fatalf("the later program, after the older one was refused: %v", err)
	}
	newFleet(t, s).verify()
	s.Close()
}

func TestUpgradeSQLite(t *testing.T) {
	dir := t.TempDir()
	upgrade(t, "sqlite", func(m fs.FS) (*sqlStore, error) {
		return openSQLite(context.Background(), dir, Options{migrations: m})
	})
	// Before each attempt a backup was written, and each is a whole store of the
	// schema before.
	backups, err := filepath.Glob(filepath.Join(dir, backupDir, "*.db"))
	if err != nil || len(backups) != 2 {
		t.Fatalf("backups %v (%v), expected two", backups, err)
	}
	for _, file := range backups {
		copied := t.TempDir()
		if err := copyFile(file, filepath.Join(copied, sqliteFile)); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir(filepath.Join(copied, blobDir), 0o700); err != nil {
			t.Fatal(err)
		}
		s := openLiteAt(t, copied)
		if report := newFleet(t, s).verify(); report.Records != 1 {
			t.Errorf("%s holds %d records, expected 1", file, report.Records)
		}
	}
}

// TestVersionOfLibc: SQLite is translated against one version of its C library,
// and no other may be built in.
//
// Source: README of modernc.org/sqlite, "Fragile modernc.org/libc dependency".
func TestVersionOfLibc(t *testing.T) {
	var modules []struct{ Path, Version, GoMod string }
	out, err := exec.Command("go", "list", "-m", "-json", "modernc.org/sqlite", "modernc.org/libc").Output()
	if err != nil {
		t.Fatal(err)
	}
	for dec := json.NewDecoder(strings.NewReader(string(out))); dec.More(); {
		var m struct{ Path, Version, GoMod string }
		if err := dec.Decode(&m); err != nil {
			t.Fatal(err)
		}
		modules = append(modules, m)
	}
	if len(modules) != 2 {
		t.Fatalf("modules %v", modules)
	}
	wants, err := os.ReadFile(modules[0].GoMod)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(wants), "modernc.org/libc "+modules[1].Version+"\n") {
		t.Errorf("modernc.org/libc is at %s, which is not what modernc.org/sqlite %s asks for", modules[1].Version, modules[0].Version)
	}
}
