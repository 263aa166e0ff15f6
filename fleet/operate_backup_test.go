package fleet

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
)

func TestBackupAndRestore(t *testing.T) {
	y := filled(t)
	dir := t.TempDir()
	file := filepath.Join(dir, "monday.backup")
	report, err := y.Backup(y.ctx, file)
	if err != nil || !report.Sound() || report.Blobs != 1 || report.Seals != 2 {
		t.Fatalf("%+v, %v", report, err)
	}
	if _, err := y.Backup(y.ctx, file); !is[*Invalid](err) {
		t.Errorf("a backup was overwritten: %v", err)
	}
	to := filepath.Join(dir, "restored")
	if report, err = Restore(y.ctx, file, to, World{}); err != nil || !report.Sound() || report.Seals != 2 {
		t.Fatalf("%+v, %v", report, err)
	}
	if _, err := Restore(y.ctx, file, to, World{}); !is[*Invalid](err) {
		t.Errorf("a data folder was overwritten: %v", err)
	}
	if _, err := Restore(y.ctx, filepath.Join(dir, "none"), filepath.Join(dir, "x"), World{}); !is[*Invalid](err) {
		t.Errorf("restored from nothing: %v", err)
	}
	empty := filepath.Join(dir, "empty")
	if err := os.Mkdir(empty, 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(y.ctx, file, empty, World{}); err != nil {
		t.Errorf("into an empty folder: %v", err)
	}
	again := &yard{t, New(openStore(t, to), World{Now: y.clock.Now}), y.ctx, y.clock}
	again.hash.memory = y.hash.memory
	if diff := cmp.Diff(y.picture(), again.picture()); diff != "" {
		t.Errorf("restored: %s", diff)
	}
	if _, err := again.SignIn(again.ctx, SignIn{Login: "ann", Password: goodPassword}); err != nil {
		t.Errorf("signing in after a restore: %v", err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 3 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("a backup with passwords that others may read: %v, %v", info.Mode(), err)
	}
}

func is[E error](err error) bool {
	_, yes := errors.AsType[E](err)
	return yes
}

// An empty register is backed up as well, and the folder of its documents is there.
func TestBackupOfNothing(t *testing.T) {
	y := newYard(t)
	file, to := filepath.Join(t.TempDir(), "a"), filepath.Join(t.TempDir(), "b")
	if _, err := y.Backup(y.ctx, file); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(y.ctx, file, to, World{}); err != nil {
		t.Fatal(err)
	}
	r := New(openStore(t, to), World{})
	if _, err := r.Upload(y.ctx, bytes.NewReader(picturePNG(t, 4, 3))); err != nil {
		t.Error(err)
	}
}

// A backup is of the register as it is: what was wrong with it is told when it is
// made and when it is restored, and nothing is thrown away for it.
func TestBackupOfABrokenRegister(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	y := newYard(t)
	y.Register = New(openStore(t, dir), y.world)
	y.tractor("heron-07")
	db, err := sql.Open("sqlite", filepath.Join(dir, "underpin.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`drop trigger record_stays; update record set bytes = cast(replace(cast(bytes as text), 'heron-07', 'heron-08') as blob)`); err != nil {
		t.Fatal(err)
	}
	file, to := filepath.Join(t.TempDir(), "a"), filepath.Join(t.TempDir(), "b")
	if report, err := y.Backup(y.ctx, file); err != nil || report.Sound() {
		t.Errorf("made: %+v, %v", report, err)
	}
	report, err := Restore(y.ctx, file, to, World{})
	if err != nil || report.Sound() || report.Faults[0].What != record.Altered {
		t.Errorf("restored: %+v, %v", report, err)
	}
	if _, err := os.Stat(filepath.Join(to, "underpin.db")); err != nil {
		t.Error(err)
	}
}

// Whatever is changed in a backup, or lost of it, is found before anything stands
// where the data folder is to be.
func TestBackupThatWasAltered(t *testing.T) {
	y := filled(t)
	file := filepath.Join(t.TempDir(), "whole")
	if _, err := y.Backup(y.ctx, file); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	rewrite := func(change func(name string, content []byte) (string, []byte)) []byte {
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			content, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			name, content := change(f.Name, content)
			if name == "" {
				continue
			}
			to, err := w.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := to.Write(content); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	same := func(name string, content []byte) (string, []byte) { return name, content }
	for name, tt := range map[string]struct {
		data  []byte
		wrong string // empty: it is as good as before
	}{
		"as it was": {rewrite(same), ""},
		"cut off":   {data[:len(data)-100], "only a part"},
		"no zip":    {[]byte("hello"), "no backup"},
		"half":      {data[:len(data)/2], "only a part"},
		"flipped":   {flipped(data, len(data)/3), "damaged"},
		"one byte": {rewrite(func(n string, c []byte) (string, []byte) {
			if n == "underpin.db" {
				c = flipped(c, len(c)/2)
			}
			return n, c
		}), "damaged"},
		"one less": {rewrite(func(n string, c []byte) (string, []byte) {
			if strings.Count(n, "/") == 2 {
				n = ""
			}
			return n, c
		}), "listed"},
		"renamed": {rewrite(func(n string, c []byte) (string, []byte) {
			if n == "underpin.db" {
				n = "b.db"
			}
			return n, c
		}), "nothing"},
		"out of it": {rewrite(func(n string, c []byte) (string, []byte) {
			if n == "underpin.db" {
				n = "../evil"
			}
			return n, bytes.ReplaceAll(c, []byte(`"underpin.db"`), []byte(`"../evil"`))
		}), "leads out"},
		"later": {rewrite(func(n string, c []byte) (string, []byte) {
			return n, bytes.Replace(c, []byte(`"backup":1`), []byte(`"backup":2`), 1)
		}), "later program"},
		"not a list": {rewrite(func(n string, c []byte) (string, []byte) {
			if n == backupPart {
				c = c[1:]
			}
			return n, c
		}), backupPart},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			file, to := filepath.Join(dir, "file"), filepath.Join(dir, "to")
			if err := os.WriteFile(file, tt.data, 0o600); err != nil {
				t.Fatal(err)
			}
			_, err := Restore(t.Context(), file, to, World{})
			if tt.wrong == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			if !is[*Invalid](err) || !strings.Contains(err.Error(), tt.wrong) {
				t.Errorf("%v, expected an *Invalid that says %q", err, tt.wrong)
			}
			if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
				t.Errorf("left behind: %v, %v", left, err)
			}
		})
	}
}

func flipped(data []byte, at int) []byte {
	data = bytes.Clone(data)
	data[at] ^= 0x40
	return data
}
