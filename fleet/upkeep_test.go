package fleet

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
)

// upkept is a yard in which a trailer's pin has a type with a document.
func upkept(y *yard, number string) (trailer record.Asset) {
	y.Helper()
	if s, err := y.Settings(y.ctx, SettingsSet); err != nil {
		y.Fatal(err)
	} else if s.Values["law"] == nil {
		y.must(&ChangeSettings{Set: SettingsSet, Version: s.Version, Changes: record.Changes{Set: record.Fields{"law": Text("de")}}})
	}
	doc := record.Source{Document: "Invented instructions 7", Edition: "2", Page: "12"}
	typ := y.must(&AddType{Details: record.TypeAdded{Part: record.Kingpin, Name: "KP-A", Ratings: record.Ratings{Pin: whole(50)}, Source: doc,
		Dimensions: []record.Dimension{
			{Name: "pin-neck", New: "50.8 mm", Limit: "49 mm", Sense: "min", Source: doc}, {Name: "pin-collar", New: "73 mm", Limit: "71 mm", Sense: "min", Source: doc},
			{Name: "pin-height", Limit: "82 mm", Sense: "min", Source: doc}, {Name: "plate-unevenness", Limit: "2 mm", Sense: "max", Source: doc},
			{Name: "pin-tilt", Limit: "1 deg", Sense: "max", Source: doc}, {Name: "pin-gouge", Limit: "1 mm", Sense: "max", Source: doc}, {Name: "pin-burr-length", Limit: "30 mm", Sense: "max", Source: doc},
			{Name: "plate-bow-down-254", Limit: "2 mm", Sense: "max", Source: doc}, {Name: "plate-bow-down-483", Limit: "6 mm", Sense: "max", Source: doc}, {Name: "plate-bow-up-483", Limit: "6 mm", Sense: "max", Source: doc},
		},
		Intervals: []record.Interval{{Task: "grease-pin", Metres: whole(10_000_000), Months: whole(2), Source: doc}},
		Torques:   []record.Torque{{Where: "flange", Thread: "M14", Least: "190 N.m", Source: doc}}}}).Asset
	trailer = y.trailer(number)
	pin := y.must(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: "K-" + number, Type: typ}}).Asset
	y.must(&FitPart{Part: pin, Vehicle: trailer, Place: record.AtKingpin})
	return trailer
}

// gauge fills the sheet of a trailer alone: everything fine and new but what is
// given.
func (y *yard) gauge(trailer record.Asset, readings map[string][]string) *FillSheet {
	y.Helper()
	p, err := y.GaugeSheet(y.ctx, trailer)
	if err != nil {
		y.Fatal(err)
	}
	f := maintenance.Filled{Halves: p.Halves, Readings: map[string][]string{}, Looks: map[string]maintenance.LookAnswer{}, Uncoupled: true, Cleaned: true, Measured: "Ida",
		Instrument: maintenance.Instrument{ID: "C-4", Calibrated: "2030-01-31"}}
	for _, r := range p.Sheet.Rows {
		for range r.Measure.Takes {
			text := "0 mm"
			switch {
			case r.New == r.New:
				text = unit.Format(r.New, unit.MM, 2)
			case r.Measure.Dim == unit.AngleDim:
				text = "0 deg"
			case r.Measure.Dim == unit.Number:
				text = "0"
			}
			f.Readings[r.Measure.Key] = append(f.Readings[r.Measure.Key], text)
		}
	}
	f.Readings["pin-height"] = []string{"83 mm"}
	for key, takes := range readings {
		f.Readings[key] = takes
	}
	for _, l := range p.Sheet.Looks {
		f.Looks[l.Key] = maintenance.Fine
	}
	return &FillSheet{Vehicle: trailer, Filled: f}
}

// TestRound goes from a worn pin to the vehicle's return: out of use at once,
// nothing returns it but signed work and measuring again, the certificate's code
// holds, and a rebuild gives the same state.
func TestRound(t *testing.T) { round(t, newYard(t)) }

// round is tried on both stores.
func round(t *testing.T, y *yard) {
	trailer := upkept(y, "marsh-23")
	y.clock.pass(time.Hour)
	y.must(y.gauge(trailer, nil))
	v := y.vehiclePage(trailer).Vehicle
	if o := v.Upkeep.Last(); o == nil || o.Verdict != record.VerdictServiceable {
		t.Fatalf("a new pin, all of it gauged: %+v", o)
	}
	y.clock.pass(24 * time.Hour)
	worn := map[string][]string{"pin-neck": {"48.9 mm", "49 mm"}}
	_, err := y.Do(y.ctx, y.gauge(trailer, worn))
	asked, is := errors.AsType[*Asked](err)
	if !is || len(asked.Questions) == 0 {
		t.Fatalf("1.9 mm of wear in a day is not asked: %v", err)
	}
	fill := y.gauge(trailer, worn)
	fill.Filled.Confirmed = map[string]string{}
	for _, q := range asked.Questions {
		if q.Refused {
			t.Fatalf("refused: %s", q.Say)
		}
		fill.Filled.Confirmed[q.Key] = "measured again, it is so"
	}
	done := y.must(fill)
	if len(done.Warnings) == 0 {
		t.Error("nobody is told that it may not be used")
	}
	v = y.vehiclePage(trailer).Vehicle
	if v.Upkeep.Held() != record.VerdictDoNotUse {
		t.Fatalf("a pin at its limit: %+v", v.Upkeep.Last())
	}
	now, err := y.FleetOf(y.ctx, "marsh-23")
	if err != nil || len(now.Held["marsh-23"]) != 1 {
		t.Errorf("pairing is not told: %v, %v", now.Held, err)
	}
	if list, err := y.NotInUse(y.ctx); err != nil || len(list) != 1 || list[0].Asset != trailer {
		t.Errorf("not in use: %v, %v", list, err)
	}
	held := v.Upkeep.Last().ID
	if p := y.wrong(&ReturnToService{Vehicle: trailer}); p.Where != "return" {
		t.Errorf("returned with nothing done: %+v", p)
	}
	page, err := y.Outcome(y.ctx, trailer, held)
	if err != nil || len(page.Order.Items) == 0 || len(page.Now.MustNot) == 0 {
		t.Fatalf("%+v, %v", page, err)
	}
	y.clock.pass(time.Hour)
	for _, it := range page.Order.Items {
		for _, st := range it.Steps {
			y.must(&SignWork{Vehicle: trailer, Outcome: held, Step: st.Key})
		}
	}
	if p := y.wrong(&ReturnToService{Vehicle: trailer}); !strings.Contains(p.Found, "measur") {
		t.Errorf("returned without measuring again: %+v", p)
	}
	y.clock.pass(time.Hour)
	fill = y.gauge(trailer, nil)
	_, err = y.Do(y.ctx, fill)
	if asked, is = errors.AsType[*Asked](err); !is {
		t.Fatalf("a pin that grew is not asked: %v", err)
	}
	fill = y.gauge(trailer, nil)
	fill.Filled.Confirmed = map[string]string{}
	for _, q := range asked.Questions {
		fill.Filled.Confirmed[q.Key] = "new pin"
	}
	y.must(fill)
	v = y.vehiclePage(trailer).Vehicle
	if v.Upkeep.Held() != record.VerdictDoNotUse || v.Upkeep.Last().Verdict != record.VerdictServiceable {
		t.Fatalf("before the return: held %q, last %+v", v.Upkeep.Held(), v.Upkeep.Last())
	}
	y.must(&ReturnToService{Vehicle: trailer})
	v = y.vehiclePage(trailer).Vehicle
	if v.Upkeep.Held() != "" || len(v.Upkeep.Returns) != 1 || len(v.Upkeep.Returns[0].Lives) == 0 || v.Upkeep.Returns[0].Lives[0].Rule != string(maintenance.LifeStarts) {
		t.Fatalf("after the return: %+v", v.Upkeep)
	}
	c, err := y.CertificateOf(y.ctx, trailer, v.Upkeep.Last().ID)
	if err != nil || c.Broken != "" || c.Returned == nil || len(c.Sheets) != 1 {
		t.Fatalf("%+v, %v", c, err)
	}
	if again, err := y.CheckCertificate(y.ctx, c.Code); err != nil || again.Broken != "" || again.Outcome.ID != c.Outcome.ID {
		t.Errorf("its code: %+v, %v", again, err)
	}
	last := "0"
	if strings.HasSuffix(c.Code, "0") {
		last = "1"
	}
	if forged, err := y.CheckCertificate(y.ctx, c.Code[:len(c.Code)-1]+last); err != nil || forged.Broken == "" {
		t.Errorf("a code with another digest holds: %+v, %v", forged, err)
	}
	before := y.picture()
	if err := y.Rebuild(y.ctx); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, y.picture()); diff != "" {
		t.Errorf("a rebuild: %s", diff)
	}
}

// TestEvent: a jack-knife blocks both halves, and each is released by its own check
// after a gauge sheet.
func TestEvent(t *testing.T) {
	y := newYard(t)
	trailer := upkept(y, "marsh-23")
	tractor := y.tractor("heron-07")
	y.must(&Couple{Towed: trailer, By: tractor})
	ctx := y.as(Actor{Who: record.Who{Name: "Ida"}, Roles: []string{record.Driver}})
	if _, err := y.Do(ctx, &BlockUse{Vehicle: tractor, Event: "jack-knife", Text: "in the yard"}); err != nil {
		t.Fatal(err)
	}
	y.clock.pass(time.Minute)
	for _, a := range []record.Asset{tractor, trailer} {
		if h := y.vehiclePage(a).Vehicle.Upkeep.Holds(); len(h) != 1 || h[0].Event == nil {
			t.Fatalf("%s: %+v", a, h)
		}
	}
	block := y.vehiclePage(trailer).Vehicle.Upkeep.Holds()[0].Event.ID
	if _, err := y.Do(ctx, &ClearUse{Vehicle: trailer, Block: block, Found: "fine"}); err == nil {
		t.Error("a driver released it")
	}
	if p := y.wrong(&ClearUse{Vehicle: trailer, Block: block, Found: "fine"}); !strings.Contains(p.Found, "no gauge sheet") {
		t.Errorf("%+v", p)
	}
	y.must(y.gauge(trailer, nil))
	if o := y.vehiclePage(trailer).Vehicle.Upkeep.Last(); o.Blocks() {
		t.Fatalf("%+v", o)
	}
	y.must(&ClearUse{Vehicle: trailer, Block: block, Found: "nothing bent"})
	if h := y.vehiclePage(trailer).Vehicle.Upkeep.Held(); h != "" {
		t.Errorf("held: %s", h)
	}
	if h := y.vehiclePage(tractor).Vehicle.Upkeep.Held(); h != record.VerdictDoNotUse {
		t.Errorf("the other half runs: %q", h)
	}
}

// TestDueList: what nobody did is cannot-tell and not a pass; what was done counts
// from then by the document's interval, and comes due by time.
func TestDueList(t *testing.T) {
	y := newYard(t)
	trailer := upkept(y, "marsh-23")
	state := func(task string) maintenance.Due {
		all, err := y.DueOf(y.ctx, trailer)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range all {
			if d.Task.Key == task {
				return d.Due
			}
		}
		t.Fatalf("no %s among %d", task, len(all))
		return maintenance.Due{}
	}
	if d := state("grease-pin"); d.State != maintenance.CannotTellDue || len(d.Missing) == 0 {
		t.Errorf("never greased: %+v", d)
	}
	y.must(&DoTask{Vehicle: trailer, Task: "grease-pin", Reading: hub(1000)})
	if d := state("grease-pin"); d.ByDate == (maintenance.Date{}) || d.State == maintenance.Overdue {
		t.Errorf("greased now: %+v", d)
	}
	y.clock.pass(63 * 24 * time.Hour) // two months are 61 or 62 days at most
	if d := state("grease-pin"); d.State != maintenance.Overdue {
		t.Errorf("after nine weeks: %+v", d)
	}
	list, err := y.DueList(y.ctx, "")
	if err != nil || len(list) == 0 || list[0].Due.State != maintenance.Overdue || list[0].Task.Key != "grease-pin" {
		t.Errorf("%+v, %v", list, err)
	}
}

// confirmed enters a gauge sheet of which every question is answered.
func (y *yard) confirmed(c *FillSheet) *Done {
	y.Helper()
	_, err := y.Do(y.ctx, c)
	if asked, is := errors.AsType[*Asked](err); is {
		c.Filled.Confirmed = map[string]string{}
		for _, q := range asked.Questions {
			c.Filled.Confirmed[q.Key] = "measured again"
		}
		return y.must(c)
	}
	if err != nil {
		y.Fatal(err)
	}
	y.clock.pass(time.Second)
	return nil
}

// worn is a trailer whose pin was found at its limit, with the outcome and the
// steps of its order.
func worn(y *yard, number string) (trailer record.Asset, held record.ID, steps []string) {
	y.Helper()
	trailer = upkept(y, number)
	y.confirmed(y.gauge(trailer, map[string][]string{"pin-neck": {"49 mm", "49 mm"}}))
	held = y.vehiclePage(trailer).Vehicle.Upkeep.Last().ID
	p, err := y.Outcome(y.ctx, trailer, held)
	if err != nil {
		y.Fatal(err)
	}
	for _, it := range p.Order.Items {
		for _, st := range it.Steps {
			steps = append(steps, st.Key)
		}
	}
	return trailer, held, steps
}
