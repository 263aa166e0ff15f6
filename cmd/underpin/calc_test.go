package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"underpin/formula"
)

// Every data sheet and every answer fits into a terminal, and every example runs
// as it is printed.
func TestCalcFitsTheTerminal(t *testing.T) {
	for _, c := range formula.All() {
		var sheet bytes.Buffer
		printSheet(&sheet, c)
		fits(t, c.Name+"'s sheet", sheet.String())
		_, command, _ := strings.Cut(sheet.String(), "\nExample\n")
		words := strings.Fields(strings.ReplaceAll(command, "\\\n", " "))

		var stdout, stderr bytes.Buffer
		if code := run(words[1:], &stdout, &stderr); code != exitFits || stderr.Len() > 0 {
			t.Errorf("%v: exit code %d, %s", words, code, stderr.String())
		}
		fits(t, c.Name, stdout.String())

		stdout.Reset()
		if code := run(append(words[1:], "--json"), &stdout, &stderr); code != exitFits {
			t.Errorf("%v --json: exit code %d", words, code)
		}
		if !strings.HasPrefix(stdout.String(), "{\n  \"name\": \""+c.Name+"\",\n  \"inputs\": {") {
			t.Errorf("%v --json begins with %.80s", words, stdout.String())
		}
	}
}

func fits(t *testing.T, what, text string) {
	t.Helper()
	if text == "" {
		t.Errorf("%s is empty", what)
	}
	for line := range strings.Lines(text) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
			t.Errorf("%s has a line of %d letters: %s", what, n, line)
		}
	}
}
