package underpin_test

import (
	"bytes"
	"go/format"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	mdLink    = regexp.MustCompile(`\]\(([^)\s]+)(?:\s+"[^"]*")?\)`)
	htmlLink  = regexp.MustCompile(`(?:src|href)="([^"]+)"`)
	mdComment = regexp.MustCompile(`(?s)<!--.*?-->`)
	mdFence   = regexp.MustCompile("(?sm)^```.*?^```")
	hasScheme = regexp.MustCompile(`^[a-z][a-z0-9+.-]*:`)
)

// localLinks lists the targets in a page of ours that name a file.
func localLinks(text string) []string {
	text = mdComment.ReplaceAllString(text, "")
	text = mdFence.ReplaceAllString(text, "")
	var targets []string
	for _, pattern := range []*regexp.Regexp{mdLink, htmlLink} {
		for _, match := range pattern.FindAllStringSubmatch(text, -1) {
			target := match[1]
			if hasScheme.MatchString(target) || strings.HasPrefix(target, "#") {
				continue
			}
			target, _, _ = strings.Cut(target, "#")
			targets = append(targets, target)
		}
	}
	return targets
}

func TestLinksLeadSomewhere(t *testing.T) {
	found := 0
	for _, file := range walk(t, ".md") {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, target := range localLinks(string(text)) {
			found++
			name, err := url.PathUnescape(target)
			if err != nil || !exists(filepath.Join(filepath.Dir(file), filepath.FromSlash(name))) {
				t.Errorf("%s links to %s, which is not there", file, target)
			}
		}
	}
	if found == 0 {
		t.Error("no link to a file of ours found")
	}
}

func TestLocalLinks(t *testing.T) {
	text := "[a](doc/a.md) [b](https://x.org/b) ![c](c.png \"see c\") [d](#here) [e](e.md#there)\n" +
		"<!-- [f](f.md) -->\n<img src=\"g.png\">\n```\n[h](h.md)\n```\n"
	if got := strings.Join(localLinks(text), " "); got != "doc/a.md c.png e.md g.png" {
		t.Errorf("found %q", got)
	}
}

func TestGofmt(t *testing.T) {
	for _, file := range sourceFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		formatted, err := format.Source(text)
		if err != nil {
			t.Errorf("%s: %v", file, err)
		} else if !bytes.Equal(text, formatted) {
			t.Errorf("%s is not as gofmt writes it", file)
		}
	}
}
