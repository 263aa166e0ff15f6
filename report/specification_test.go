package report_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/need"
	"underpin/report"
	"underpin/rule"
)

var update = flag.Bool("update", false, "write the texts that the tests compare with")

// specified makes the sheet of a fitting of a parts file, with the demo fleet.
func specified(t testing.TB, path, id string) (*mounting.Request, *mounting.Specification) {
	t.Helper()
	data, err := fs.ReadFile(examples.Files, "demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	demo, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ReadParts(path)
	if err != nil {
		t.Fatal(err)
	}
	law, err := rule.Open("eu")
	if err != nil {
		t.Fatal(err)
	}
	g := f.Fitting(id)
	b := f.Brief(g.Brief)
	tractor, _ := demo.Tractor(b.Tractor)
	c := f.ChassisNamed(g.Chassis)
	if c == nil {
		c = f.ChassisOf(b.Tractor)
	}
	r := &mounting.Request{
		Task: mounting.Task{Fleet: &demo.Fleet, Tractor: tractor, Chassis: c, Brief: b, Parts: f.Parts, Law: law, Day: "2026-11-25"},
		File: f, Fitting: g,
		Title: mounting.Title{Number: "M-0042", Revision: "B", Date: "2026-11-25", Subject: "Fifth wheel on Heron 07", Fleet: demo.Name, Author: "A. Reed", Checked: "C. Dale", Program: "underpin test"},
	}
	s, err := mounting.Specify(r)
	if err != nil {
		t.Fatal(err)
	}
	found, err := r.Search(6)
	if err != nil {
		t.Fatal(err)
	}
	s.AddOthers(found, 5)
	return r, s
}

const (
	demoParts = "../examples/parts.toml"
	drawParts = "../drawing/testdata/mounting.toml"
)

func pdf(t testing.TB, r *mounting.Request, s *mounting.Specification) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := report.Specification(&b, r, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// pages are the words of each page.
func pages(t testing.TB, data []byte) []string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(need.PDFText(t), "-layout", "-enc", "UTF-8", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	return all
}

func plain(s string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), " ")
}

// raw is the text in the order in which it was written, so that the lines of a
// cell follow each other.
func raw(t testing.TB, data []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(need.PDFText(t), "-raw", "-enc", "UTF-8", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// words is text for comparing: a line's end may stand anywhere.
func words(s string) string { return strings.ReplaceAll(plain(s), " ", "") }

// written is what package report makes of a text before it prints it.
func written(s string) string {
	return words(strings.NewReplacer("✕", "×", "N.m", "N·m").Replace(s))
}

func approved(t testing.TB) (*mounting.Request, *mounting.Specification) {
	t.Helper()
	r, s := specified(t, demoParts, "heron-plate")
	if err := s.Approve("B. Carr", "2026-11-26"); err != nil {
		t.Fatal(err)
	}
	return r, s
}

// Every page says what it is, whether it may be worked from, and how many there
// are.
func TestEveryPageSaysWhatItIs(t *testing.T) {
	for _, tt := range []struct {
		path, id string
		approve  bool
	}{{demoParts, "heron-plate", true}, {demoParts, "heron-plate", false}, {drawParts, "on-pedestal", false}, {drawParts, "nowhere", false}} {
		r, s := specified(t, tt.path, tt.id)
		if tt.approve {
			if err := s.Approve("B. Carr", "2026-11-26"); err != nil {
				t.Fatal(err)
			}
		}
		all := pages(t, pdf(t, r, s))
		if len(all) < 8 {
			t.Fatalf("%s has %d pages", tt.id, len(all))
		}
		for i, page := range all {
			text := plain(page)
			if want := fmt.Sprintf("page %d of %d", i+1, len(all)); !strings.Contains(text, want) {
				t.Errorf("%s: page %d lacks %q", tt.id, i+1, want)
			}
			if !strings.Contains(text, "Mounting specification · M-0042 revision B · Heron 07") {
				t.Errorf("%s: page %d does not say what it is", tt.id, i+1)
			}
			draft, may := strings.Contains(text, "DRAFT, not approved for fitting"), strings.Contains(text, "Approved for fitting, B. Carr, 2026-11-26")
			if draft == tt.approve || may != tt.approve {
				t.Errorf("%s: page %d is marked as a draft %t, as approved %t", tt.id, i+1, draft, may)
			}
		}
	}
}

// The same data gives the same bytes; the dates are those of the data.
func TestSameDataSameBytes(t *testing.T) {
	r, s := approved(t)
	first := pdf(t, r, s)
	again, same := approved(t)
	if !bytes.Equal(first, pdf(t, again, same)) {
		t.Error("two runs differ")
	}
	for _, field := range []string{"/CreationDate (D:20261125000000", "/ModDate (D:20261125000000"} {
		if !bytes.Contains(first, []byte(field)) {
			t.Errorf("the document lacks %s", field)
		}
	}
	same.Title.Date = "2026-12-01"
	if bytes.Equal(first, pdf(t, again, same)) {
		t.Error("another date gives the same bytes: the check proves nothing")
	}
	a, err := s.JSON()
	if err != nil {
		t.Fatal(err)
	}
	_, other := approved(t)
	b, err := other.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a, b) {
		t.Error("the data of two runs differ")
	}
}

// Everything that the data holds stands on the paper.
func TestNothingOfTheDataIsLost(t *testing.T) {
	for _, id := range []string{"approved", "on-plate", "on-pedestal"} {
		var r *mounting.Request
		var s *mounting.Specification
		if id == "approved" {
			r, s = approved(t)
		} else {
			r, s = specified(t, drawParts, id)
		}
		text := words(raw(t, pdf(t, r, s)))
		has := func(what, s string) {
			if s != "" && !strings.Contains(text, written(s)) && !strings.Contains(text, upperFirst(written(s))) {
				t.Errorf("%s: %s is lost: %q", id, what, s)
			}
		}
		title := &s.Title
		for _, f := range []string{title.Number, title.Revision, title.Date, title.Subject, title.Fleet, title.Author, title.Checked, title.Fitting, title.Brief, title.Program} {
			has("title", f)
		}
		has("law", s.Law.Title)
		has("digest", s.Law.Digest)
		has("guide", s.Chassis.Guide)
		has("tractor", s.Tractor.Name)
		for _, v := range s.Trailers {
			has("semi-trailer", v.Name)
		}
		for _, q := range s.Parts {
			for _, f := range []string{q.Name, q.ID, q.ReadFrom, q.Approval, q.FootFrom} {
				has("part", f)
			}
		}
		for _, l := range s.Position.Limits {
			has("limit of the position", l)
		}
		for _, h := range s.Heights {
			has("height", h.Name)
			has("height", h.Working)
		}
		for _, q := range s.Properties {
			for _, f := range []string{q.Name, q.Value, q.Reason, q.Source, q.Open} {
				has("property", f)
			}
		}
		findings := func(where string, fs []mounting.Finding, all bool, prefix string) {
			for _, f := range fs {
				has(where, strings.TrimPrefix(f.Title, prefix))
				has(where, f.Note)
				if all {
					has(where, f.Working)
				}
				for _, m := range f.Missing {
					has(where+", missing", m)
				}
			}
		}
		findings("finding", s.Findings, true, "")
		for _, j := range s.Joints {
			for _, f := range []string{j.Title, j.Thread, j.Grade, j.Document, j.OutOf, j.Method, j.Lubricant, j.OrderWhy} {
				has("joint", f)
			}
			if len(j.Order) > 0 {
				has("order", strings.Trim(strings.ReplaceAll(fmt.Sprint(j.Order), " ", ", "), "[]"))
			}
			findings("finding of "+j.Title, j.Findings, true, j.Title+": ")
		}
		for _, q := range s.Pairs {
			has("pair", q.Told)
			if !q.Wished {
				findings("finding of "+q.Trailer, q.Findings, false, "")
			}
			for _, c := range q.Cautions {
				has("caution of a pair", c)
			}
		}
		for _, c := range s.Checks {
			has("check", c.Text)
			has("check", c.Wanted)
			has("check", c.Source)
		}
		for _, c := range s.Cautions {
			has("caution", c.Text)
			has("caution", c.Source)
		}
		for _, o := range s.Others {
			has("other", o.Stack)
			has("other", o.Limit)
		}
		for what, list := range map[string][]string{"unknown": s.Unknown, "assumed": s.Assumed, "warning": s.Warnings, "signature": s.Signatures} {
			for _, f := range list {
				has(what, f)
			}
		}
		for _, q := range s.Sources {
			has("source", q.Source)
		}
		for _, e := range s.Evidence {
			has("evidence", e.Text)
		}
		if strings.ContainsRune(text, '\ufffd') {
			t.Errorf("%s: a letter could not be written", id)
		}
		if strings.Contains(text, written("this stands nowhere")) {
			t.Error("the check proves nothing")
		}
	}
}

func upperFirst(s string) string {
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// The torque to fit with is that of the document, with where it stands; the
// computed one stands under its label and nowhere else.
func TestTorques(t *testing.T) {
	r, s := approved(t)
	text := plain(raw(t, pdf(t, r, s)))
	for _, want := range []string{
		"torque 260 N·m stands in Invented document 31, issue 2, page 4",
		"theoretical maximum, not a fitting torque 348 N·m at friction 0.12",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	for i := range s.Joints {
		s.Joints[i].Torque, s.Joints[i].Document = nil, ""
	}
	s.Release.State = mounting.Draft
	text = plain(raw(t, pdf(t, r, s)))
	if !strings.Contains(text, "torque not known: enter it from the part's document. There is no default.") {
		t.Error("a joint without torque does not ask for one")
	}
	before := strings.Split(text, "348 N·m at friction")
	if len(before) != 4 { // three joints
		t.Errorf("the computed torque stands %d times, want 3", len(before)-1)
	}
	for _, s := range before[:len(before)-1] {
		if !strings.HasSuffix(strings.TrimSpace(s), "theoretical maximum, not a fitting torque") {
			t.Errorf("a computed torque without its label, after %q", s[max(0, len(s)-80):])
		}
	}
}

// A sheet that says approved while something does not hold is not written.
func TestApprovedWithoutHoldingIsRefused(t *testing.T) {
	r, s := specified(t, drawParts, "on-slider")
	s.Release = mounting.Release{State: mounting.Approved, By: "B. Carr", On: "2026-11-26"}
	var b bytes.Buffer
	err := report.Specification(&b, r, s)
	var not *mounting.NotApprovedError
	if !errors.As(err, &not) || b.Len() > 0 {
		t.Errorf("error %v, %d bytes written; want a *NotApprovedError and none", err, b.Len())
	}
	r, s = approved(t)
	for what, change := range map[string]func(*mounting.Release){"name": func(r *mounting.Release) { r.By = "" }, "day": func(r *mounting.Release) { r.On = "" }} {
		was := s.Release
		change(&s.Release)
		err := report.Specification(&b, r, s)
		var unsigned *mounting.UnsignedError
		if !errors.As(err, &unsigned) || b.Len() > 0 {
			t.Errorf("without a %s: error %v, %d bytes written; want an *UnsignedError and none", what, err, b.Len())
		}
		s.Release = was
	}
}

// Without the request there are no drawings, and all the rest.
func TestWithoutDrawings(t *testing.T) {
	r, s := approved(t)
	with, without := len(pages(t, pdf(t, r, s))), len(pages(t, pdf(t, nil, s)))
	if without >= with || without < 8 {
		t.Errorf("%d pages with drawings, %d without", with, without)
	}
}

// A table that goes on has its heads on the next page too.
func TestHeadsAreRepeated(t *testing.T) {
	r, s := approved(t)
	head := regexp.MustCompile(`finding\s+value\s+limit\s+to spare\s+use of the limit\s+evidence\s+source`)
	section := regexp.MustCompile(`(?m)^\s*\d+\s\s?Findings for every`)
	in, seen := false, 0
	for i, page := range pages(t, pdf(t, r, s)) {
		if section.MatchString(page) {
			in = true
			continue
		}
		if in && strings.Contains(page, "What the coupling has to be") {
			break
		}
		if in && strings.Contains(page, "≤") {
			seen++
			if !head.MatchString(page) {
				t.Errorf("page %d goes on with findings and has no heads", i+1)
			}
		}
	}
	if seen < 5 {
		t.Errorf("looked at %d pages", seen)
	}
}

// The text of the demo's sheet is as on file, where it was read.
func TestTextIsAsOnFile(t *testing.T) {
	r, s := approved(t)
	got := raw(t, pdf(t, r, s))
	file := "testdata/specification.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if words(got) == words(string(want)) {
		return
	}
	a, b := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range min(len(a), len(b)) {
		if words(a[i]) != words(b[i]) {
			t.Fatalf("line %d is %q, on file %q; read it, then run with -update", i+1, a[i], b[i])
		}
	}
	t.Fatalf("%d lines, on file %d; read it, then run with -update", len(a), len(b))
}

// The page has the size of A4 and keeps the drawings' scale: side view and plan
// stand on their sides.
func TestPaper(t *testing.T) {
	r, s := approved(t)
	data := pdf(t, r, s)
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(need.PDFText(t), "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	upright, turned := 0, 0
	for _, b := range regexp.MustCompile(`<page width="([0-9]+)[0-9.]*" height="([0-9]+)`).FindAllSubmatch(out, -1) {
		switch string(b[1]) + " " + string(b[2]) {
		case "595 841": // ISO 216: 210 × 297 mm in points
			upright++
		case "841 595":
			turned++
		default:
			t.Errorf("a page of %s × %s points", b[1], b[2])
		}
	}
	if turned != 2 || upright < 8 {
		t.Errorf("%d pages upright, %d on their side; want two on their side", upright, turned)
	}
	text := pages(t, data)
	n := slices.IndexFunc(text, func(p string) bool { return strings.Contains(p, "50 mm on paper") })
	if n < 0 || !strings.Contains(plain(text[n]), "scale 1:12.5 when printed in full size") {
		t.Error("the side view does not name its scale")
	}
}

// A load case whose axle loads are not known keeps its line in the table of loads.
func TestUnknownLoadsKeepTheirLine(t *testing.T) {
	r, s := approved(t)
	lines := func() int {
		n := 0
		for _, page := range pages(t, pdf(t, r, s)) {
			for _, line := range strings.Split(page, "\n") {
				if regexp.MustCompile(`^\s*` + regexp.QuoteMeta(s.Pairs[1].CaseName) + `\s+3.100\s`).MatchString(line) {
					n++
				}
			}
		}
		return n
	}
	known := lines()
	s.Pairs[1].Loads = nil
	if unknown := lines(); known == 0 || unknown != known {
		t.Errorf("%d lines with loads, %d when one of them is not known", known, unknown)
	}
}
