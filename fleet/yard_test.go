package fleet

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"testing"
	"time"

	"underpin/record"
	"underpin/store"
)

// A yard is a register on a store of its own, with a clock that goes when it is
// told to.
type yard struct {
	testing.TB
	*Register
	ctx   context.Context // somebody who may do everything
	clock *clock
}

type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

var morning = time.Date(2026, 11, 25, 5, 0, 0, 0, time.UTC)

func openStore(t testing.TB, dir string) store.Store {
	t.Helper()
	st, err := store.OpenSQLite(context.Background(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

func newYard(t testing.TB) *yard {
	t.Helper()
	c := &clock{now: morning}
	r := New(openStore(t, t.TempDir()), World{Now: c.Now, Program: "test"})
	r.hash.memory = 8 << 10 // the cost of a hash is tried in one test only
	return &yard{t, r, WithActor(t.Context(), Operator("test")), c}
}

// with is a register over the same store at which somebody else stands.
func (y *yard) as(a Actor) context.Context { return WithActor(y.Context(), a) }

// must carries out a command that has to go well.
func (y *yard) must(c Command) *Done {
	y.Helper()
	done, err := y.Do(y.ctx, c)
	if err != nil {
		y.Fatalf("%T: %v", c, err)
	}
	y.clock.pass(time.Second)
	return done
}

func (y *yard) at(ago time.Duration) record.Time { return record.At(y.clock.Now().Add(-ago)) }

func fields(t testing.TB, text string) record.Fields {
	t.Helper()
	var f record.Fields
	if err := json.Unmarshal([]byte(text), &f); err != nil {
		t.Fatal(err)
	}
	return f
}

const (
	tractorFields = `{"id":"%s","axle":[{"kind":"steer","tare":"5200 kg"},{"kind":"drive","at":"3700 mm","tare":"2600 kg","plate":"11.5 t"}],
		"gross-plate":"18 t","fifth-wheel":{"at":"3100 mm","d-value":"152 kN","imposed":"20 t","read-from":"plate","pin":"50 mm"}}`
	trailerFields = `{"id":"%s","axle":[{"at":"6300 mm"},{"gap":"1310 mm"},{"gap":"1310 mm"}],"gross-plate":"36 t","kingpin":{"size":"50 mm"}}`
)

func (y *yard) tractor(number string) record.Asset {
	y.Helper()
	return y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: y.numbered(tractorFields, number)}}).Asset
}

func (y *yard) trailer(number string) record.Asset {
	y.Helper()
	return y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: y.numbered(trailerFields, number)}}).Asset
}

func (y *yard) numbered(text, number string) record.Fields {
	f := fields(y, text)
	f["id"] = Text(number)
	return f
}

func whole(n int64) *int64 { return &n }

func (y *yard) wheel(serial string) record.Asset {
	y.Helper()
	return y.must(&AddPart{Details: record.PartAdded{Part: record.FifthWheel, Serial: serial,
		Ratings: record.Ratings{D: whole(152_000), Imposed: whole(20_000), Pin: whole(50)}, ReadFrom: "plate"}}).Asset
}

func (y *yard) pin(serial string) record.Asset {
	y.Helper()
	return y.must(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: serial}}).Asset
}

func odo(km int64) record.MeterReading {
	return record.MeterReading{Meter: record.Odometer, Metres: whole(km * 1000)}
}

func hub(km int64) record.MeterReading {
	return record.MeterReading{Meter: record.HubMeter, Metres: whole(km * 1000)}
}

// wrong returns the first problem of a command that has to be refused as such.
func (y *yard) wrong(c Command) Problem {
	y.Helper()
	_, err := y.Do(y.ctx, c)
	e, ok := errors.AsType[*Invalid](err)
	if !ok {
		y.Fatalf("%T: %v, expected an *Invalid", c, err)
	}
	return e.Problems[0]
}

func (y *yard) vehiclePage(a record.Asset) *VehiclePage {
	y.Helper()
	p, err := y.VehiclePage(y.ctx, a)
	if err != nil {
		y.Fatal(err)
	}
	return p
}

func (y *yard) partPage(a record.Asset) *PartPage {
	y.Helper()
	p, err := y.PartPage(y.ctx, a)
	if err != nil {
		y.Fatal(err)
	}
	return p
}
