package store

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"underpin/record"
)

// The test program starts itself again as a child that enters records without
// end, tells of each that was acknowledged, and is killed at a random moment.
const childEnv = "UNDERPIN_STORE_CHILD"

// longEnv asks for the long run.
const longEnv = "UNDERPIN_LONG"

// A childTB stands in for a test in the child.
type childTB struct{ testing.TB }

func (childTB) Helper()                  {}
func (childTB) Context() context.Context { return context.Background() }
func (childTB) Fatal(args ...any)        { fmt.Fprintln(os.Stderr, args...); os.Exit(3) }
func (childTB) Error(args ...any)        { fmt.Fprintln(os.Stderr, args...); os.Exit(3) }

// child enters records into the store that the environment names, until it is
// killed.
func child() {
	ctx := context.Background()
	var t childTB
	s, err := Open(ctx, os.Getenv(childEnv), Options{})
	if err != nil {
		t.Fatal(err)
	}
	ids.Store(time.Now().UnixNano() & 0xffffffffff) // other ids than the child before
	f := newFleet(t, s)
	for i := 0; ; i++ {
		a := number(i % 5)
		var records []*record.Record
		head, err := s.Head(ctx, a)
		if err != nil {
			t.Fatal(err)
		}
		if head.Seq == 0 {
			records = append(records, f.next(a, f.vehicle(a.Name()), ""))
		} else {
			photo, n, err := s.PutBlob(ctx, strings.NewReader(fmt.Sprint("photo ", newID())))
			if err != nil {
				t.Fatal(err)
			}
			r := follow(t, head, a, record.DocumentAttached{Title: "x", Sort: "photo", Bytes: n, Blob: photo}, "")
			part := record.NewAsset("part", string(newID()))
			p := follow(t, record.Head{}, part, record.PartAdded{Part: record.Kingpin}, "")
			records = append(records, r, follow(t, r.Head(), a, change(fmt.Sprint(i)), ""), p, follow(t, p.Head(), part, record.PartFitted{Vehicle: a, Place: record.AtKingpin}, ""))
		}
		f.enter(records...)
		for _, r := range records {
			fmt.Println("record", r.ID)
		}
		from := delivery()
		if _, err := s.AddReadings(ctx, from, []Reading{reading(a, i, int64(i)), reading(a, i+1, int64(i)*10)}); err != nil {
			t.Fatal(err)
		}
		fmt.Println("delivery", from.ID)
		if i%7 == 0 {
			fmt.Println("seal", seal(t, s).Digest)
		}
	}
}

// killOften kills a writing child again and again, and holds after each kill that
// what was acknowledged is there, that the archive verifies, and that the cached
// state is what the records say.
func killOften(t *testing.T, where func() (address string, open func() *sqlStore), kills int) {
	chance := rand.New(rand.NewPCG(1, uint64(time.Now().UnixNano())))
	var address string
	var open func() *sqlStore
	acknowledged, total := map[string]string{}, 0
	for n := range kills {
		if n%10 == 0 {
			address, open = where()
			acknowledged = map[string]string{}
		}
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+address)
		var stderr strings.Builder
		cmd.Stderr = &stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Every other kill may come while the store is being opened and made; the
		// others count from the first record, however slow the machine.
		wait := time.Duration(chance.IntN(300)) * time.Millisecond
		kill := func() { cmd.Process.Kill() }
		timer := time.AfterFunc(time.Minute, kill)
		if n%2 == 0 {
			timer.Reset(wait)
		}
		lines := bufio.NewScanner(out)
		for first := n%2 == 1; lines.Scan(); first = false {
			if first {
				timer.Reset(wait)
			}
			if what, id, whole := strings.Cut(lines.Text(), " "); whole {
				acknowledged[id] = what
				total++
			}
		}
		timer.Stop()
		if err := cmd.Wait(); err == nil || stderr.Len() > 0 {
			t.Fatalf("the child ended by itself: %v\n%s", err, &stderr)
		}
		s := open()
		held(t, s, acknowledged)
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		if t.Failed() {
			t.Fatalf("after kill %d, %s after the child was started", n+1, wait)
		}
	}
	if total == 0 {
		t.Error("no child came so far as to acknowledge anything")
	}
	t.Logf("%d kills, %d things acknowledged and all there", kills, total)
}

func held(t *testing.T, s *sqlStore, acknowledged map[string]string) {
	t.Helper()
	ctx := t.Context()
	deliveries, seals := map[string]bool{}, map[string]bool{}
	imports, err := s.Imports(ctx, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range imports {
		deliveries[string(i.ID)] = true
	}
	if err := s.Snapshot(ctx, func(a record.Archive) error {
		for seal, err := range a.Seals(ctx) {
			if err != nil {
				return err
			}
			seals[seal.Digest.String()] = true
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	for id, what := range acknowledged {
		there := true
		switch what {
		case "record":
			if _, err := s.Record(ctx, record.ID(id)); err != nil {
				t.Errorf("record %s was acknowledged: %v", id, err)
			}
		case "delivery":
			there = deliveries[id]
		case "seal":
			there = seals[id]
		}
		if !there {
			t.Errorf("%s %s was acknowledged and is not there", what, id)
		}
	}
	newFleet(t, s).verify()
}

func kills(short, long int) int {
	if os.Getenv(longEnv) != "" {
		return long
	}
	return short
}

func TestKilledAtAnyMoment(t *testing.T) {
	killOften(t, func() (string, func() *sqlStore) {
		dir := t.TempDir()
		return dir, func() *sqlStore { return openLiteAt(t, dir) }
	}, kills(20, 200))
}
