package main

import (
	"bufio"
	"os"
	"os/exec"
	"reflect"
	"strings"
	"syscall"
	"testing"
)

// Every flag of serve that the environment sets stands in the page about running it.
func TestConfigurationIsWrittenDown(t *testing.T) {
	page, err := os.ReadFile("../../doc/operation.md")
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	var walk func(reflect.Type)
	walk = func(of reflect.Type) {
		for i := range of.NumField() {
			f := of.Field(i)
			if f.Anonymous {
				walk(f.Type)
			}
			env := f.Tag.Get("env")
			if env == "" || env == "UNDERPIN_FLEET" || strings.HasPrefix(env, "UNDERPIN_OIDC_") { // told of together
				continue
			}
			asked++
			if !strings.Contains(string(page), "`"+env+"`") {
				t.Errorf("%s is not in doc/operation.md", env)
			}
		}
	}
	walk(reflect.TypeFor[serveCmd]())
	if asked < 8 {
		t.Errorf("%d variables", asked)
	}
}

// BenchmarkStart starts the program on a large register, until it serves. The register
// is one that the benchmarks of the store have kept.
func BenchmarkStart(b *testing.B) {
	dir := os.Getenv("UNDERPIN_BENCH_STORE")
	if dir == "" {
		b.Skip("UNDERPIN_BENCH_STORE names no register")
	}
	program := b.TempDir() + "/underpin"
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	spent := 0.0
	for b.Loop() {
		cmd := exec.Command(program, "serve", "--data", dir, "--addr", "127.0.0.1:0")
		out, err := cmd.StdoutPipe()
		if err != nil {
			b.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			b.Fatal(err)
		}
		line, err := bufio.NewReader(out).ReadString('\n')
		b.StopTimer()
		if err != nil || !strings.Contains(line, "is served at") {
			b.Errorf("%q, %v", line, err)
		}
		if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
			b.Fatal(err)
		}
		if err := cmd.Wait(); err != nil { // it stops by itself, and well
			b.Error(err)
		}
		spent += (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
		b.StartTimer()
	}
	b.ReportMetric(spent*1e3/float64(b.N), "cpu-ms/op")
}
