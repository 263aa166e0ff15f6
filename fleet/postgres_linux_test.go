package fleet

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"underpin/need"
	"underpin/record"
	"underpin/store"
)

// postgresAt starts a PostgreSQL of the test's own, its cluster in a temporary
// folder, and returns the address of a database of it.
func postgresAt(t *testing.T) func(database string) string {
	t.Helper()
	bin := need.Postgres(t)
	dir, err := os.MkdirTemp("", "underpin-fleet-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	var who *syscall.Credential
	if os.Getuid() == 0 { // PostgreSQL refuses to run as root
		u, err := user.Lookup("postgres")
		if err != nil {
			t.Fatal(err)
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		who = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(dir, uid, gid); err != nil {
			t.Fatal(err)
		}
	}
	command := func(name string, arg ...string) *exec.Cmd {
		c := exec.Command(filepath.Join(bin, name), arg...)
		c.Dir, c.SysProcAttr = dir, &syscall.SysProcAttr{Credential: who, Pdeathsig: syscall.SIGINT}
		return c
	}
	data := filepath.Join(dir, "data")
	if out, err := command("initdb", "-D", data, "-U", "postgres", "-A", "trust", "-N", "-E", "UTF8", "--locale=C.UTF-8").CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	server := command("postgres", "-D", data, "-p", strconv.Itoa(port), "-c", "listen_addresses=127.0.0.1", "-k", dir, "-c", "fsync=off")
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = server.Process.Signal(syscall.SIGQUIT)
		_ = server.Wait()
	})
	address := func(database string) string {
		return fmt.Sprintf("postgres://postgres@127.0.0.1:%d/%s", port, database)
	}
	for range 600 {
		st, err := store.OpenPostgres(context.Background(), address("postgres"), store.Options{})
		if err == nil {
			st.Close()
			return address
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("PostgreSQL does not answer")
	return nil
}

// TestTwoCopiesOnPostgres: two copies of the program on one database work at the
// same things at the same time, and what they leave is sound; its backup is an
// export, which brings it all back elsewhere.
func TestTwoCopiesOnPostgres(t *testing.T) {
	address := postgresAt(t)
	c := &clock{now: morning}
	open := func(database string) *yard {
		st, err := store.OpenPostgres(t.Context(), address(database), store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { st.Close() })
		r := New(st, World{Now: c.Now})
		r.hash.memory = 8 << 10
		return &yard{t, r, WithActor(t.Context(), Operator("test")), c}
	}
	one, two := open("postgres"), open("postgres")
	ann := one.first()
	if _, err := two.SignedIn(two.ctx, ann.Secret); err != nil {
		t.Errorf("signed in at one copy, not known at the other: %v", err)
	}
	tractor := one.tractor("heron-07")
	const each = 6
	var wg sync.WaitGroup
	var mu sync.Mutex
	added := 0
	for _, y := range []*yard{one, two} {
		for range 2 {
			wg.Go(func() {
				for k := range each {
					if _, err := y.Do(y.ctx, &ReplaceMeter{Vehicle: tractor, Meter: record.Odometer, New: int64(k)}); err != nil {
						t.Errorf("in one chain: %v", err)
					}
					_, err := y.Do(y.ctx, &AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": Text(fmt.Sprintf("teal-%d", k))}}})
					mu.Lock()
					if err == nil {
						added++
					} else if _, refused := err.(*Invalid); !refused {
						t.Errorf("one number for several: %v", err)
					}
					mu.Unlock()
				}
			})
		}
	}
	wg.Wait()
	if added != each {
		t.Errorf("%d vehicles with %d numbers", added, each)
	}
	if got := len(two.vehiclePage(tractor).Vehicle.Meters); got != 4*each {
		t.Errorf("%d changes of the meter, expected %d", got, 4*each)
	}
	one.enter(Readings{Rows: one.daily("heron-07", 5, 1000, 500)})
	round(t, one)
	before := one.picture()
	if err := two.Rebuild(two.ctx); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, one.picture()); diff != "" {
		t.Errorf("a rebuild at the other copy: %s", diff)
	}
	backup := filepath.Join(t.TempDir(), "backup")
	report, err := one.Backup(one.ctx, backup)
	if err != nil || !report.Sound() {
		t.Fatalf("%+v, %v", report, err)
	}
	folder := filepath.Join(t.TempDir(), "restored")
	if report, err := Restore(one.ctx, backup, folder, one.world); err != nil || !report.Sound() {
		t.Fatalf("restored into a folder: %+v, %v", report, err)
	}
	here := &yard{t, New(openStore(t, folder), one.world), one.ctx, one.clock}
	if diff := cmp.Diff(before, here.picture()); diff != "" {
		t.Errorf("restored into a folder: %s", diff)
	}
	file, err := os.Open(backup)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	there := open("template1")
	if report, err := there.ImportAll(there.ctx, file, info.Size()); err != nil || !report.Sound() {
		t.Fatalf("%+v, %v", report, err)
	}
	if diff := cmp.Diff(before, there.picture()); diff != "" {
		t.Errorf("brought in elsewhere: %s", diff)
	}
}
