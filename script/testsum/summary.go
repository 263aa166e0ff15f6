package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"strings"
	"time"

	"underpin/need"
)

// An event is one line of go test -json, as go doc test2json describes it.
type event struct {
	Action     string
	Package    string
	ImportPath string // of build events, in place of Package
	Test       string
	Output     string
	Elapsed    float64
}

// A place is one test of one package, or with an empty test the package.
type place struct{ pkg, test string }

// A summary reads events, prints what a reader needs as it comes, and keeps
// count for the end.
type summary struct {
	out    io.Writer
	module string
	ci     bool
	start  time.Time

	output  map[place]*strings.Builder // of what has not ended yet
	guilty  map[string]bool            // packages in which a test failed
	passed  int
	failed  []string
	missing map[string][]string // what lacked → tests that were skipped for it
	skipped []string            // skipped for any other reason, with the reason
	broken  bool                // go test itself ended badly
}

func newSummary(out io.Writer, module string, ci bool) *summary {
	return &summary{out: out, module: module, ci: ci, start: time.Now(),
		output: map[place]*strings.Builder{}, guilty: map[string]bool{}, missing: map[string][]string{}}
}

// lacks notes a tool that the run itself had to do without.
func (s *summary) lacks(what string) { s.missing[what] = nil }

// test runs go test over the packages.
func (s *summary) test(flags, packages []string) {
	if len(packages) == 0 {
		return
	}
	args := append([]string{"test", "-json"}, flags...)
	cmd := exec.Command("go", append(args, packages...)...)
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		fmt.Fprintln(s.out, "go test did not start:", err)
		s.broken = true
		return
	}
	s.read(pipe)
	if cmd.Wait() != nil {
		s.broken = true
	}
}

// read takes in a stream of events; a line that is none goes straight through.
func (s *summary) read(r io.Reader) {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadString('\n')
		if line != "" {
			var e event
			if json.Unmarshal([]byte(line), &e) == nil && e.Action != "" {
				s.take(e)
			} else {
				fmt.Fprint(s.out, line)
			}
		}
		if err != nil {
			return
		}
	}
}

func (s *summary) take(e event) {
	at := place{e.Package, e.Test}
	switch e.Action {
	case "build-output":
		fmt.Fprint(s.out, e.Output)
	case "output":
		if s.output[at] == nil {
			s.output[at] = &strings.Builder{}
		}
		s.output[at].WriteString(e.Output)
	case "pass", "fail", "skip":
		said := ""
		if b := s.output[at]; b != nil {
			said = b.String()
			delete(s.output, at)
		}
		if e.Test == "" {
			s.endPackage(e, said)
		} else {
			s.endTest(e, said)
		}
	}
}

func (s *summary) endTest(e event, said string) {
	name := s.short(e.Package) + " " + e.Test
	switch e.Action {
	case "pass":
		s.passed++
	case "fail":
		s.failed = append(s.failed, name)
		s.guilty[e.Package] = true
		fmt.Fprint(s.out, said)
	case "skip":
		if tool := lacking(said); tool != "" {
			s.missing[tool] = append(s.missing[tool], name)
		} else {
			s.skipped = append(s.skipped, name+": "+reason(said))
		}
	}
}

func (s *summary) endPackage(e event, said string) {
	switch e.Action {
	case "skip":
		return // no test files
	case "pass":
		fmt.Fprintf(s.out, "ok    %-24s %6.1f s\n", s.short(e.Package), e.Elapsed)
	case "fail":
		// What never ended was cut off by a panic, an exit or the time limit.
		for at, b := range s.output {
			if at.pkg == e.Package {
				fmt.Fprint(s.out, b.String())
				delete(s.output, at)
			}
		}
		fmt.Fprint(s.out, said)
		fmt.Fprintf(s.out, "FAIL  %-24s %6.1f s\n", s.short(e.Package), e.Elapsed)
		if !s.guilty[e.Package] {
			s.failed = append(s.failed, s.short(e.Package)+" (did not build, or ended before its tests did)")
		}
	}
}

func (s *summary) short(pkg string) string {
	if pkg == s.module {
		return "."
	}
	return strings.TrimPrefix(pkg, s.module+"/")
}

// lacking reads the tool and how to install it from what a skipped test said.
func lacking(said string) string {
	_, after, found := strings.Cut(said, need.Prefix)
	if !found {
		return ""
	}
	tool, _, _ := strings.Cut(after, "\n")
	return tool
}

// reason is what a skipped test said for itself, without go test's own lines.
func reason(said string) string {
	for line := range strings.Lines(said) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "===") && !strings.HasPrefix(line, "---") {
			return line
		}
	}
	return "no reason given"
}

// close prints the end of the run and tells whether all is well.
func (s *summary) close() bool {
	lacked := 0
	if len(s.missing)+len(s.skipped) > 0 {
		fmt.Fprintln(s.out, "\nSkipped, so not proved on this machine:")
	}
	for _, tool := range sorted(s.missing) {
		tests := s.missing[tool]
		lacked += len(tests)
		fmt.Fprintf(s.out, "  for lack of %s\n", tool)
		for _, name := range tests {
			fmt.Fprintf(s.out, "    %s\n", name)
		}
	}
	for _, line := range s.skipped {
		fmt.Fprintf(s.out, "  %s\n", line)
	}
	if len(s.failed) > 0 {
		fmt.Fprintln(s.out, "\nFailed:")
		for _, name := range s.failed {
			fmt.Fprintf(s.out, "  %s\n", name)
		}
	}
	all := s.passed + len(s.failed) + lacked + len(s.skipped)
	well := len(s.failed) == 0 && !s.broken && s.passed > 0
	switch {
	case all == 0:
		fmt.Fprintln(s.out, "\nNo test ran.")
	case s.broken && len(s.failed) == 0:
		fmt.Fprintln(s.out, "\ngo test ended with an error of its own; see above.")
	}
	if s.ci && len(s.missing)+len(s.skipped) > 0 {
		fmt.Fprintln(s.out, "\nCI=true: nothing may be skipped, so this run has failed.")
		well = false
	}
	fmt.Fprintf(s.out, "\nin %.0f s\n%d passed, %d failed, %d skipped\n",
		time.Since(s.start).Seconds(), s.passed, len(s.failed), lacked+len(s.skipped))
	return well
}

func sorted(m map[string][]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
