package need

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// A spy stands in for a test, to see how it would have ended.
type spy struct {
	testing.TB
	failed, skipped string
}

func (s *spy) Helper()           {}
func (s *spy) Fatal(args ...any) { s.failed = args[0].(string); runtime.Goexit() }
func (s *spy) Skip(args ...any)  { s.skipped = args[0].(string); runtime.Goexit() }

func ending(ask func(testing.TB) string) (path string, s *spy) {
	s = &spy{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		path = ask(s)
	}()
	<-done
	return path, s
}

func TestAbsentToolSkipsAndInCIFails(t *testing.T) {
	t.Setenv("PATH", t.TempDir())

	t.Setenv("CI", "")
	if _, s := ending(Chromium); s.skipped != "skipped for lack of chromium (apt-get install chromium)" || s.failed != "" {
		t.Errorf("on a desk: skipped %q, failed %q; expected a skip that names what to install", s.skipped, s.failed)
	}
	t.Setenv("CI", "true")
	if _, s := ending(Chromium); s.failed == "" || s.skipped != "" {
		t.Errorf("in CI: skipped %q, failed %q; expected a failure", s.skipped, s.failed)
	}
}

func TestPresentToolIsFound(t *testing.T) {
	dir := t.TempDir()
	want := program(t, dir, "chromium")
	t.Setenv("PATH", dir)
	if got, s := ending(Chromium); got != want || s.skipped+s.failed != "" {
		t.Errorf("found %q (skipped %q, failed %q), expected %q", got, s.skipped, s.failed, want)
	}
}

func TestNewestServerIsTakenAndAClientAloneIsNot(t *testing.T) {
	root := t.TempDir()
	var dirs []string
	for _, v := range []string{"9", "15", "17"} {
		dir := filepath.Join(root, v, "bin")
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		dirs = append(dirs, dir)
	}
	program(t, dirs[0], "initdb")
	program(t, dirs[0], "postgres")
	program(t, dirs[1], "initdb")
	program(t, dirs[1], "postgres")
	program(t, dirs[2], "psql")
	want := dirs[1]
	if got := newestServer(dirs); got != want {
		t.Errorf("took %q, expected %q", got, want)
	}
	if got := newestServer(nil); got != "" {
		t.Errorf("took %q out of nothing", got)
	}
}

func program(t *testing.T, dir, name string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte("#!/bin/sh\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	return path
}
