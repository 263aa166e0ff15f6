package record_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"underpin/record"
)

func draft() record.Draft {
	return record.Draft{ID: id(1), Asset: "vehicle/heron", Happened: start, Entered: start + hour,
		Who: record.Who{Account: "account/ann", Name: "Ann"}, Body: record.VehicleAdded{Vehicle: record.Tractor}}
}

// TestStoredBytes fixes the format: one line of JSON that any reader of JSON
// understands, members in this order.
func TestStoredBytes(t *testing.T) {
	d := draft()
	d.Who.Name = "Ann \"A\" Ünal"
	first, err := record.Head{}.Next(d)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"record":1,"id":"019cad21-d2e8-7000-8000-000000000001","asset":"vehicle/heron","sequence":1,` +
		`"previous":"` + strings.Repeat("0", 64) + `","kind":"vehicle-added","version":1,` +
		`"happened":"2026-03-02T06:00:00.000000Z","entered":"2026-03-02T07:00:00.000000Z",` +
		`"who":{"account":"account/ann","name":"Ann \"A\" Ünal"},"body":{"vehicle":"tractor"}}`
	if diff := cmp.Diff(want, string(first.Bytes)); diff != "" {
		t.Fatal(diff)
	}
	sum := sha256.Sum256([]byte(want))
	if first.Digest.String() != hex.EncodeToString(sum[:]) {
		t.Errorf("digest %s is not the SHA-256 of the bytes", first.Digest)
	}
	d = draft()
	d.ID, d.Reason, d.Corrects, d.Blobs = id(2), "typed <wrong>", id(1), []record.Digest{digest(1), digest(2)}
	second, err := first.Head().Next(d)
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{
		`"sequence":2,"previous":"` + first.Digest.String() + `"`,
		`"reason":"typed <wrong>","corrects":"` + string(id(1)) + `","blobs":["` + digest(1).String() + `","` + digest(2).String() + `"],"body":{`,
	} {
		if !strings.Contains(string(second.Bytes), part) {
			t.Errorf("no %s in %s", part, second.Bytes)
		}
	}
	if !json.Valid(second.Bytes) {
		t.Error("not JSON")
	}
}

// TestDecodeReadsWhatNextWrote on random histories, and says the same.
func TestDecodeReadsWhatNextWrote(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		for _, r := range w.records {
			got, err := record.Decode(r.Bytes)
			if err != nil {
				rt.Fatal(err)
			}
			if diff := cmp.Diff(r, got); diff != "" {
				rt.Fatal(diff)
			}
			if err := got.Check(); err != nil {
				rt.Fatal(err)
			}
		}
	})
}

func TestDraftsAreRefused(t *testing.T) {
	metres := int64(-1)
	tests := []struct {
		name  string
		spoil func(*record.Draft)
		field string
	}{
		{"no id", func(d *record.Draft) { d.ID = "" }, "id"},
		{"an id that is no UUID of version 7", func(d *record.Draft) { d.ID = "0199b0b4-0000-4000-8000-000000000001" }, "id"},
		{"an id in capitals", func(d *record.Draft) { d.ID = record.ID(strings.ToUpper(string(d.ID))) }, "id"},
		{"no asset", func(d *record.Draft) { d.Asset = "" }, "asset"},
		{"an asset with a space", func(d *record.Draft) { d.Asset = "vehicle/a b" }, "asset"},
		{"no time", func(d *record.Draft) { d.Happened = 0 }, "happened"},
		{"the future", func(d *record.Draft) { d.Happened = d.Entered + hour }, "happened"},
		{"not entered", func(d *record.Draft) { d.Entered = 0 }, "entered"},
		{"nobody", func(d *record.Draft) { d.Who.Name = "" }, "who.name"},
		{"an account that is none", func(d *record.Draft) { d.Who.Account = "vehicle/heron" }, "who.account"},
		{"broken UTF-8", func(d *record.Draft) { d.Who.Name = "A\xffnn" }, "who.name"},
		{"a control character", func(d *record.Draft) { d.Reason = "a\x00b" }, "reason"},
		{"a long reason", func(d *record.Draft) { d.Reason = strings.Repeat("x", 5000) }, "reason"},
		{"a correction of nothing", func(d *record.Draft) { d.Corrects, d.Reason = id(7), "why" }, "corrects"},
		{"an empty digest", func(d *record.Draft) { d.Blobs = make([]record.Digest, 1) }, "blobs[0]"},
		{"no body", func(d *record.Draft) { d.Body = nil }, "body"},
		{"a vehicle that is none", func(d *record.Draft) { d.Body = record.VehicleAdded{Vehicle: "bicycle"} }, "body.vehicle"},
		{"a part in a vehicle's chain", func(d *record.Draft) { d.Body = record.PartAdded{Part: record.Kingpin} }, "kind"},
		{"a change before it was added", func(d *record.Draft) { d.Body = record.VehicleScrapped{} }, "kind"},
		{"a field with null", func(d *record.Draft) {
			d.Body = record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"width": []byte("null")}}
		}, "body.fields.width"},
		{"a field with capitals", func(d *record.Draft) {
			d.Body = record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"Width": []byte(`"1 m"`)}}
		}, "body.fields"},
		{"a depot that is none", func(d *record.Draft) { d.Body = record.VehicleAdded{Vehicle: record.Tractor, Depot: "part/x"} }, "body.depot"},
		{"a fitting without a place", func(d *record.Draft) {
			d.Asset, d.Body = "part/one", record.PartFitted{Vehicle: "vehicle/heron"}
		}, "kind"},
		{"a dimension in nothing", func(d *record.Draft) {
			d.Asset, d.Body = "type/x", record.TypeAdded{Part: record.FifthWheel, Name: "x", Dimensions: []record.Dimension{{Name: "wear", Limit: "17.5", Sense: "min"}}}
		}, "body.dimensions[0].limit"},
		{"a limit without a sense", func(d *record.Draft) {
			d.Asset, d.Body = "type/x", record.TypeAdded{Part: record.FifthWheel, Name: "x", Dimensions: []record.Dimension{{Name: "wear", Limit: "17.5 mm"}}}
		}, "body.dimensions[0].sense"},
		{"an interval of nothing", func(d *record.Draft) {
			d.Asset, d.Body = "type/x", record.TypeAdded{Part: record.FifthWheel, Name: "x", Intervals: []record.Interval{{Task: "grease"}}}
		}, "body.intervals[0].distance_m"},
		{"a range back to front", func(d *record.Draft) {
			d.Asset, d.Body = "notice/x", record.NoticeOpened{Title: "x", Part: record.Kingpin, Action: "look", Ranges: []record.SerialRange{{From: "A9", To: "A10"}, {From: "A10", To: "A9"}}}
		}, "body.ranges[1].to"},
		{"a range of two builds", func(d *record.Draft) {
			d.Asset, d.Body = "notice/x", record.NoticeOpened{Title: "x", Part: record.Kingpin, Action: "look", Ranges: []record.SerialRange{{From: "A9", To: "B10"}}}
		}, "body.ranges[0].to"},
		{"a meter that ran backwards from nothing", func(d *record.Draft) {
			d.Body = record.VehicleScrapped{Reading: record.MeterReading{Meter: record.Odometer, Metres: &metres}}
		}, "kind"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			d := draft()
			test.spoil(&d)
			_, err := record.Head{}.Next(d)
			rule, ok := errors.AsType[*record.RuleError](err)
			if !ok {
				t.Fatalf("error %v, expected one about %s", err, test.field)
			}
			if rule.Field != test.field || rule.Found == "" || rule.Want == "" {
				t.Errorf("error is about %s: %v; expected %s", rule.Field, err, test.field)
			}
		})
	}
}

func TestChangesAreRefused(t *testing.T) {
	raw := func(s string) json.RawMessage { return json.RawMessage(s) }
	tests := []struct {
		name  string
		body  record.Body
		field string
	}{
		{"nothing changes", record.VehicleChanged{}, "body.set"},
		{"what it is", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"vehicle": raw(`"dolly"`)}}}, "body.set.vehicle"},
		{"an unknown member", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"colour": raw(`"red"`)}}}, "body.set"},
		{"a member of another type", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"vin": raw(`7`)}}}, "body.set"},
		{"null", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"vin": raw(`null`)}}}, "body.set.vin"},
		{"cleared and set", record.VehicleChanged{Changes: record.Changes{Set: record.Fields{"vin": raw(`"1"`)}, Clear: []string{"vin"}}}, "body.clear"},
		{"cleared twice", record.VehicleChanged{Changes: record.Changes{Clear: []string{"vin", "vin"}}}, "body.clear"},
		{"cleared what it is", record.VehicleChanged{Changes: record.Changes{Clear: []string{"vehicle"}}}, "body.clear"},
		{"cleared nothing known", record.VehicleChanged{Changes: record.Changes{Clear: []string{"colour"}}}, "body.clear"},
		{"a void without its record", record.Void{Of: "vehicle-added"}, "corrects"},
		{"added again", record.VehicleAdded{Vehicle: record.Tractor}, "kind"},
	}
	first, err := record.Head{}.Next(draft())
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			d := draft()
			d.ID, d.Body = id(2), test.body
			_, err := first.Head().Next(d)
			rule, ok := errors.AsType[*record.RuleError](err)
			if !ok || rule.Field != test.field {
				t.Errorf("error %v, expected one about %s", err, test.field)
			}
		})
	}
}

func TestLaterVersionIsRefused(t *testing.T) {
	r := record.Record{ID: id(1), Kind: "vehicle-added", Version: 2, Body: []byte(`{}`)}
	_, err := r.Open()
	if _, ok := errors.AsType[*record.UnknownKindError](err); !ok {
		t.Errorf("a later version of a kind: %v, expected an UnknownKindError", err)
	}
}

// TestClockSetBack: a little is borne, much is refused.
func TestClockSetBack(t *testing.T) {
	first, err := record.Head{}.Next(draft())
	if err != nil {
		t.Fatal(err)
	}
	d := draft()
	d.ID, d.Body = id(2), record.VehicleScrapped{}
	d.Entered = first.Entered - 30*1e6
	second, err := first.Head().Next(d)
	if err != nil || second.Entered != first.Entered {
		t.Errorf("half a minute behind: entered %s, error %v; expected the time of the record before, %s", second.Entered, err, first.Entered)
	}
	d.Happened, d.Entered = start-2*hour, first.Entered-hour
	if _, err = first.Head().Next(d); !errors.Is(err, record.ErrClock) || !strings.Contains(err.Error(), "3600 s") {
		t.Errorf("an hour behind: %v, expected ErrClock that says by how much", err)
	}
}

// TestTime holds our reading of instants against the standard library's.
func TestTime(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		at := time.Date(rapid.IntRange(1, 9999).Draw(rt, "y"), time.Month(rapid.IntRange(1, 12).Draw(rt, "m")), rapid.IntRange(1, 31).Draw(rt, "d"),
			rapid.IntRange(0, 23).Draw(rt, "h"), rapid.IntRange(0, 59).Draw(rt, "min"), rapid.IntRange(0, 59).Draw(rt, "s"), rapid.IntRange(0, 999_999).Draw(rt, "us")*1000, time.UTC)
		if at.Year() > 9999 {
			rt.Skip()
		}
		want := record.At(at)
		got, err := record.ParseTime(want.String())
		if err != nil || got != want || !got.Time().Equal(at) {
			rt.Fatalf("%s is read as %s (%v)", at, got, err)
		}
	})
	for _, bad := range []string{"2026-02-29T00:00:00.000000Z", "2026-13-01T00:00:00.000000Z", "2026-01-01T24:00:00.000000Z", "2026-01-01 00:00:00.000000Z",
		"2026-01-01T00:00:00.000000", "2026-01-01T00:00:00Z", "0000-01-01T00:00:00.000000Z", "2026-04-31T00:00:00.000000Z", "2026-01-01T00:60:00.000000Z", "-026-01-01T00:00:00.000000Z"} {
		if got, err := record.ParseTime(bad); err == nil {
			t.Errorf("%q is read as %s", bad, got)
		}
	}
}

// TestNewID holds the layout against RFC 9562, appendix A.6, its example of a
// version 7 UUID: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F for 2022-02-22 14:22:22
// at UTC-5.
func TestNewID(t *testing.T) {
	at := time.Date(2022, 2, 22, 14, 22, 22, 0, time.FixedZone("", -5*3600))
	chance := [10]byte{0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F}
	if got := record.NewID(at, chance); got != "017f22e2-79b0-7cc3-98c4-dc0c0c07398f" || !got.Valid() {
		t.Errorf("made %s", got)
	}
}

func FuzzDecode(f *testing.F) {
	for _, r := range history(f) {
		f.Add(r.Bytes)
	}
	f.Add([]byte(`{"record":1,"id":"`))
	f.Fuzz(func(t *testing.T, b []byte) {
		kept := bytes.Clone(b)
		r, err := record.Decode(b)
		if err != nil {
			return
		}
		if !bytes.Equal(kept, r.Bytes) || r.Digest != record.DigestOf(kept) {
			t.Fatal("the bytes were changed")
		}
		if !json.Valid(b) {
			t.Fatal("what was read is no JSON")
		}
		var loose struct {
			ID     record.ID
			Asset  record.Asset
			Reason string
		}
		if err := json.Unmarshal(b, &loose); err != nil || loose.ID != r.ID || loose.Asset != r.Asset {
			t.Fatalf("JSON reads %v (%v), we read %s of %s", loose, err, r.ID, r.Asset)
		}
		_ = r.Check() // must not panic
		if s := record.NewState(nil); r.Check() == nil {
			if changed, err := s.Apply(r); err == nil && len(changed) > 0 {
				e, _ := s.Entity(changed[0])
				_, _ = e.Brief()
			}
		}
	})
}
