// Package need lets a test say which tool of the machine it cannot do without.
// It is imported by tests alone.
//
// Where the tool is absent the test is skipped with one fixed form of words, so
// that the end of a test run can list what was left out and how to install it.
// Where the environment says CI=true it fails instead: there a test that did
// not run has proved nothing.
package need

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
)

// Prefix begins the message of every skip that this package makes. The test
// summary looks for it.
const Prefix = "skipped for lack of "

// How the missing tools are installed on Debian; elsewhere the name tells.
const (
	installChromium = "apt-get install chromium"
	installPostgres = "apt-get install postgresql-15"
	installPoppler  = "apt-get install poppler-utils"
)

// Chromium returns the path of a Chromium that a test can drive without a
// window, or skips the test.
func Chromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	lack(t, "chromium", installChromium)
	return ""
}

// PDFText returns the path of pdftotext, which reads the words of a PDF, or
// skips the test.
func PDFText(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("pdftotext")
	if err != nil {
		lack(t, "pdftotext", installPoppler)
	}
	return path
}

// Postgres returns the folder that holds initdb and postgres, the newest
// version first, or skips the test. The caller starts a server of its own; the
// machine's own server, if it runs one, is left alone.
func Postgres(t testing.TB) string {
	t.Helper()
	dirs, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if dir := newestServer(dirs); dir != "" {
		return dir
	}
	if path, err := exec.LookPath("initdb"); err == nil {
		if real, err := filepath.EvalSymlinks(path); err == nil {
			if dir := newestServer([]string{filepath.Dir(real)}); dir != "" {
				return dir
			}
		}
	}
	lack(t, "postgresql", installPostgres)
	return ""
}

// newestServer returns the folder of the highest version that holds a whole
// server. A client alone does not do.
func newestServer(dirs []string) string {
	slices.SortFunc(dirs, func(a, b string) int { return version(b) - version(a) })
	for _, dir := range dirs {
		if executable(filepath.Join(dir, "initdb")) && executable(filepath.Join(dir, "postgres")) {
			return dir
		}
	}
	return ""
}

// version reads 15 out of /usr/lib/postgresql/15/bin, and 0 where none stands.
func version(dir string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(dir)))
	return n
}

func executable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}

// lack skips the test, or fails it where the run must be complete.
func lack(t testing.TB, tool, install string) {
	t.Helper()
	message := Prefix + tool + " (" + install + ")"
	if os.Getenv("CI") == "true" {
		t.Fatal(message + "; in CI nothing may be skipped")
	}
	t.Skip(message)
}
