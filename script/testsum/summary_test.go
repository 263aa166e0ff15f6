package main

import (
	"slices"
	"strings"
	"testing"
)

// One stream of events for each way in which a test or a package can end, as
// go test -json of Go 1.26 writes them.
const (
	passes = `{"Action":"run","Package":"m/a","Test":"TestOne"}
{"Action":"output","Package":"m/a","Test":"TestOne","Output":"=== RUN   TestOne\n"}
{"Action":"output","Package":"m/a","Test":"TestOne","Output":"noise\n"}
{"Action":"pass","Package":"m/a","Test":"TestOne","Elapsed":0}
{"Action":"output","Package":"m/a","Output":"PASS\n"}
{"Action":"pass","Package":"m/a","Elapsed":0.1}
`
	noTests = `{"Action":"output","Package":"m/b","Output":"?   \tm/b\t[no test files]\n"}
{"Action":"skip","Package":"m/b","Elapsed":0}
`
	lacks = `{"Action":"run","Package":"m/web","Test":"TestPage"}
{"Action":"output","Package":"m/web","Test":"TestPage","Output":"=== RUN   TestPage\n"}
{"Action":"output","Package":"m/web","Test":"TestPage","Output":"    page_test.go:9: skipped for lack of chromium (apt-get install chromium)\n"}
{"Action":"output","Package":"m/web","Test":"TestPage","Output":"--- SKIP: TestPage (0.00s)\n"}
{"Action":"skip","Package":"m/web","Test":"TestPage","Elapsed":0}
{"Action":"pass","Package":"m/web","Elapsed":0.1}
`
	skips = `{"Action":"output","Package":"m/a","Test":"TestLong","Output":"=== RUN   TestLong\n"}
{"Action":"output","Package":"m/a","Test":"TestLong","Output":"    a_test.go:7: too long for now\n"}
{"Action":"skip","Package":"m/a","Test":"TestLong","Elapsed":0}
`
	fails = `{"Action":"output","Package":"m/a","Test":"TestTwo","Output":"    a_test.go:12: got 1, expected 2\n"}
{"Action":"fail","Package":"m/a","Test":"TestTwo","Elapsed":0}
{"Action":"fail","Package":"m/a","Elapsed":0.1}
`
	noBuild = `{"ImportPath":"m/c [m/c.test]","Action":"build-output","Output":"c/c.go:3:1: syntax error\n"}
{"ImportPath":"m/c [m/c.test]","Action":"build-fail"}
{"Action":"start","Package":"m/c"}
{"Action":"output","Package":"m/c","Output":"FAIL\tm/c [build failed]\n"}
{"Action":"fail","Package":"m/c","Elapsed":0,"FailedBuild":"m/c [m/c.test]"}
`
	dies = `{"Action":"run","Package":"m/d","Test":"TestThree"}
{"Action":"output","Package":"m/d","Test":"TestThree","Output":"panic: slice bounds\n"}
{"Action":"output","Package":"m/d","Output":"exit status 2\n"}
{"Action":"fail","Package":"m/d","Elapsed":0.1}
`
)

func TestSummary(t *testing.T) {
	tests := []struct {
		name   string
		stream string
		ci     bool
		well   bool
		says   []string
		never  []string
	}{
		{"all pass", passes + noTests, true, true, []string{"ok    a ", "\n1 passed, 0 failed, 0 skipped\n"}, []string{"noise", "Skipped"}},
		{"a tool is missing on a desk", passes + lacks, false, true,
			[]string{"Skipped, so not proved on this machine:\n  for lack of chromium (apt-get install chromium)\n    web TestPage\n", "\n1 passed, 0 failed, 1 skipped\n"}, nil},
		{"a tool is missing in CI", passes + lacks, true, false, []string{"nothing may be skipped"}, nil},
		{"another skip on a desk", passes + skips, false, true, []string{"  a TestLong: a_test.go:7: too long for now\n"}, nil},
		{"another skip in CI", passes + skips, true, false, []string{"nothing may be skipped"}, nil},
		{"a test fails", passes + fails, false, false, []string{"got 1, expected 2", "Failed:\n  a TestTwo\n", "\n1 passed, 1 failed, 0 skipped\n"}, nil},
		{"a package does not build", passes + noBuild, false, false, []string{"syntax error", "  c (did not build", "\n1 passed, 1 failed, 0 skipped\n"}, nil},
		{"a test binary dies", passes + dies, false, false, []string{"panic: slice bounds", "  d (did not build, or ended"}, nil},
		{"no test at all", noTests, false, false, []string{"No test ran.", "\n0 passed, 0 failed, 0 skipped\n"}, nil},
		{"a line that is no event", passes + "go: warning\n", false, true, []string{"go: warning\n"}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var out strings.Builder
			s := newSummary(&out, "m", test.ci)
			s.read(strings.NewReader(test.stream))
			if well := s.close(); well != test.well {
				t.Errorf("all is well: %v, expected %v", well, test.well)
			}
			for _, want := range test.says {
				if !strings.Contains(out.String(), want) {
					t.Errorf("the summary does not say %q:\n%s", want, out.String())
				}
			}
			for _, no := range test.never {
				if strings.Contains(out.String(), no) {
					t.Errorf("the summary says %q:\n%s", no, out.String())
				}
			}
		})
	}
}

func TestWhatTheRunLacksIsASkip(t *testing.T) {
	for _, ci := range []bool{false, true} {
		var out strings.Builder
		s := newSummary(&out, "m", ci)
		s.lacks("a C compiler (apt-get install gcc)")
		s.read(strings.NewReader(passes))
		if well := s.close(); well == ci {
			t.Errorf("CI %v: all is well: %v", ci, well)
		}
		if !strings.Contains(out.String(), "for lack of a C compiler (apt-get install gcc)") {
			t.Errorf("the summary does not name the compiler:\n%s", out.String())
		}
	}
}

func TestSplit(t *testing.T) {
	plain, raced := split([]string{"m", "m/web", "m/web/page", "m/webbing", "m/unit"}, "m", []string{"web", "store"})
	if !slices.Equal(plain, []string{"m", "m/webbing", "m/unit"}) || !slices.Equal(raced, []string{"m/web", "m/web/page"}) {
		t.Errorf("plain %v, raced %v", plain, raced)
	}
}

func TestArguments(t *testing.T) {
	race, flags := arguments([]string{"-race", "web,store", "-run", "TestX"})
	if !slices.Equal(race, []string{"web", "store"}) || !slices.Equal(flags, []string{"-run", "TestX"}) {
		t.Errorf("race %v, flags %v", race, flags)
	}
}
