package store

import (
	"context"
	"os"
	"testing"
)

func openLite(t testing.TB) *sqlStore {
	t.Helper()
	return openLiteAt(t, t.TempDir())
}

func openLiteAt(t testing.TB, dir string) *sqlStore {
	t.Helper()
	s, err := openSQLite(context.Background(), dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func writeFile(t testing.TB, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestSQLite(t *testing.T) {
	conform(t, func(t testing.TB) *sqlStore { return openLite(t) })
}

// TestManyWritersOnOneFolder: two programs on one data folder.
func TestManyWritersOnOneFolder(t *testing.T) {
	dir := t.TempDir()
	manyWriters(t, []Store{openLiteAt(t, dir), openLiteAt(t, dir)})
}
