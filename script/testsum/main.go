// Command testsum runs the tests of the module and says at the end what
// failed, what was skipped and how to install what was missing.
//
//	testsum [-race PKG,PKG...] [flags of go test]
//
// Packages named by -race, and those below them, run with the race detector;
// all others run without it, because numeric property tests gain nothing from
// it and take many times as long. Exit status: 0 all passed, 1 otherwise. With
// CI=true a skipped test is a failure, and so is a run without any test.
package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
)

func main() {
	race, flags := arguments(os.Args[1:])
	module, packages, err := listPackages()
	if err != nil {
		fmt.Fprintln(os.Stderr, "testsum:", err)
		os.Exit(1)
	}
	s := newSummary(os.Stdout, module, os.Getenv("CI") == "true")
	plain, raced := split(packages, module, race)
	if why := raceLacks(); why != "" && len(raced) > 0 {
		s.lacks(why)
		plain, raced = append(plain, raced...), nil
	}
	s.test(append([]string{"-vet=all"}, flags...), plain)
	s.test(append([]string{"-vet=all", "-race"}, flags...), raced)
	if !s.close() {
		os.Exit(1)
	}
}

// arguments separates our own flag from those of go test.
func arguments(args []string) (race, flags []string) {
	for i := 0; i < len(args); i++ {
		if args[i] == "-race" && i+1 < len(args) {
			i++
			race = strings.FieldsFunc(args[i], func(r rune) bool { return r == ',' || r == ' ' })
			continue
		}
		flags = append(flags, args[i])
	}
	return race, flags
}

func listPackages() (module string, packages []string, err error) {
	out, err := command("go", "list", "-m")
	if err != nil {
		return "", nil, err
	}
	module = strings.TrimSpace(out)
	out, err = command("go", "list", "-e", "./...")
	if err != nil {
		return "", nil, err
	}
	return module, strings.Fields(out), nil
}

// split parts the packages into those tested without and with the race
// detector.
func split(packages []string, module string, race []string) (plain, raced []string) {
	for _, pkg := range packages {
		name := strings.TrimPrefix(pkg, module+"/")
		hit := false
		for _, r := range race {
			hit = hit || name == r || strings.HasPrefix(name, r+"/")
		}
		if hit {
			raced = append(raced, pkg)
		} else {
			plain = append(plain, pkg)
		}
	}
	return plain, raced
}

// raceLacks tells why the race detector cannot run here, or nothing.
func raceLacks() string {
	const compiler = "a C compiler for the race detector (apt-get install gcc libc6-dev)"
	out, err := command("go", "env", "CGO_ENABLED", "CC")
	if err != nil {
		return compiler
	}
	fields := strings.Fields(out)
	if len(fields) < 2 || fields[0] != "1" {
		return compiler
	}
	if _, err := exec.LookPath(fields[1]); err != nil {
		return compiler
	}
	return ""
}

func command(name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w", name, strings.Join(args, " "), err)
	}
	return string(out), nil
}
