package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"underpin": main})
}

// TestScripts runs the program as it is typed. Each file of testdata is one
// script with its files. $EXAMPLES is the folder of the examples. Besides the usual commands it may use:
//
//	exits CODE underpin ARGUMENT...     run, and the exit code is this one
//	json PATH VALUE [TOLERANCE]         stdout is JSON with this value at
//	                                    outputs.d.value; a number may differ by
//	                                    the tolerance, anything else is JSON;
//	                                    ! json PATH: nothing is there
//	fits WIDTH stdout|stderr            no line is longer
func TestScripts(t *testing.T) {
	scripts, err := filepath.Glob("testdata/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no script in testdata (%v)", err)
	}
	testscript.Run(t, testscript.Params{
		Files:               scripts,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			examples, err := filepath.Abs("../../examples")
			env.Setenv("EXAMPLES", examples)
			return err
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": scriptExits, "json": scriptJSON, "fits": scriptFits,
		},
	})
}

func scriptExits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND ARGUMENT...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, expected %d", got, want)
	}
}

func scriptJSON(ts *testscript.TestScript, neg bool, args []string) {
	if neg && len(args) != 1 || !neg && len(args) != 2 && len(args) != 3 {
		ts.Fatalf("usage: json PATH VALUE [TOLERANCE], or ! json PATH")
	}
	var value any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &value); err != nil {
		ts.Fatalf("stdout is no JSON: %v", err)
	}
	there := true
	for name := range strings.SplitSeq(args[0], ".") {
		switch at := value.(type) {
		case map[string]any:
			value, there = at[name]
		case []any:
			i, err := strconv.Atoi(name)
			if there = err == nil && 0 <= i && i < len(at); there {
				value = at[i]
			}
		default:
			there = false
		}
		if !there {
			break
		}
	}
	if there == neg {
		ts.Fatalf("%s is there: %t", args[0], there)
	}
	if neg {
		return
	}
	if x, isNumber := value.(float64); isNumber {
		want, err := strconv.ParseFloat(args[1], 64)
		ts.Check(err)
		within := 0.0
		if len(args) == 3 {
			within, err = strconv.ParseFloat(args[2], 64)
			ts.Check(err)
		}
		if !(math.Abs(x-want) <= within) {
			ts.Fatalf("%s is %v, expected %v within %v", args[0], x, want, within)
		}
		return
	}
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	ts.Check(enc.Encode(value))
	if got := strings.TrimSpace(text.String()); got != args[1] {
		ts.Fatalf("%s is %s, expected %s", args[0], got, args[1])
	}
}

func scriptFits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: fits WIDTH stdout|stderr")
	}
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	text := ts.ReadFile(args[1])
	if text == "" {
		ts.Fatalf("%s is empty", args[1])
	}
	for line := range strings.Lines(text) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > most {
			ts.Fatalf("%d letters, expected at most %d: %s", n, most, line)
		}
	}
}
