package yard

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/record"
	"underpin/rule"
)

func event(n int, at record.Time, s SensorState, mmS int64) SensorEvent {
	return SensorEvent{ID: itemID(n), Device: "d", Asset: "vehicle/heron-07", Sensor: LockSensor, State: s, At: began + at, Speed: &mmS}
}

func TestWatch(t *testing.T) {
	coupled := Watched{Known: true, Coupled: []Stretch{{From: began}}, Locked: []record.Time{began}, Now: began + 5*60*minute}
	with := func(change func(*Watched)) Watched { w := coupled; change(&w); return w }
	display := func(e SensorEvent) SensorEvent { e.Sensor = DisplaySensor; return e }
	tests := []struct {
		name   string
		events []SensorEvent
		w      Watched
		want   []string
		source string
	}{
		{"closed all along", []SensorEvent{event(1, 0, Closed, 0), event(2, minute, Closed, 20_000)}, coupled, nil, ""},
		{"open at the check and after it", []SensorEvent{event(1, -minute, Open, 0)}, coupled, []string{Contradiction}, "issue, item 9"},
		{"open, then closed within a minute", []SensorEvent{event(1, -minute, Open, 0), event(2, 30*second, Closed, 0)}, coupled, nil, "it agreed in time"},
		{"open later", []SensorEvent{event(1, 0, Closed, 0), event(2, 30*minute, Open, 0)}, coupled, []string{Contradiction}, "issue, item 9"},
		{"fault is no lock", []SensorEvent{event(1, 0, Closed, 0), event(2, 30*minute, Fault, 0)}, coupled, []string{Contradiction, FaultySensor}, ch5 + "4.3: display fault is not locked"},
		{"fault once", []SensorEvent{event(1, 2*minute, Fault, 0), event(2, 3*minute, Fault, 0)}, coupled, []string{Contradiction, FaultySensor}, "each thing once"},
		{"moving while open", []SensorEvent{event(1, 0, Closed, 0), event(2, 30*minute, Open, 15_000), event(3, 31*minute, Open, 16_000)}, coupled, []string{Contradiction, MovingUnlocked}, "issue, item 9"},
		{"open, closed and open again", []SensorEvent{event(1, 2*minute, Open, 900), event(2, 3*minute, Closed, 900), event(3, 4*minute, Open, 900)}, coupled, []string{Contradiction, MovingUnlocked, MovingUnlocked}, "each time that it begins"},
		{"moving, speed not known", []SensorEvent{{ID: itemID(1), Sensor: LockSensor, State: Open, At: began + 2*minute}}, coupled, []string{Contradiction}, "no movement that was not reported"},
		{"nothing coupled", []SensorEvent{event(1, 0, Open, 15_000)}, with(func(w *Watched) { w.Coupled, w.Locked = nil, nil }), nil, "a tractor alone may drive with an open lock"},
		{"periods not known", []SensorEvent{event(1, 0, Open, 15_000)}, Watched{Now: began + minute}, []string{MovingUnlocked}, "missing is not a pass"},
		{"while uncoupling", []SensorEvent{event(1, 0, Closed, 0), event(2, 61*minute, Open, 500)}, with(func(w *Watched) { w.Manoeuvres = []Stretch{{began + 60*minute, began + 70*minute}} }), nil, "the flow opens it"},
		{"after the period", []SensorEvent{event(1, 0, Closed, 0), event(2, 61*minute, Open, 500)}, with(func(w *Watched) { w.Coupled = []Stretch{{began, began + 60*minute}} }), nil, "no longer coupled"},
		{"display and lock", []SensorEvent{event(1, 0, Closed, 0), display(event(2, 2*minute, Open, 0))}, coupled, []string{Contradiction}, "each sensor for itself"},
		{"closed without a pin", []SensorEvent{{ID: itemID(1), Sensor: LockSensor, State: Closed, At: began, Pin: No}}, coupled, []string{EmptyLock}, ch5 + "4.3: a sensor can read closed on an empty pin"},
		{"silent", []SensorEvent{event(1, 0, Closed, 0)}, with(func(w *Watched) { w.Silence = 60 * minute }), []string{SilentSensor}, "issue, item 2: a silent sensor counts as unlocked"},
		{"silent, and nothing coupled", []SensorEvent{event(1, 0, Closed, 0)}, with(func(w *Watched) { w.Silence = 60 * minute; w.Coupled = []Stretch{{began, began + minute}} }), nil, ""},
		{"cartridge", []SensorEvent{{ID: itemID(1), Sensor: Cartridge, State: Empty, At: began}}, coupled, []string{Lubrication}, "issue, item 9: its state is kept, and is no lock's"},
		{"cartridge, low and then empty", []SensorEvent{{ID: itemID(1), Sensor: Cartridge, State: Low, At: began}, {ID: itemID(2), Sensor: Cartridge, State: Low, At: began + minute}, {ID: itemID(3), Sensor: Cartridge, State: Empty, At: began + 2*minute}}, coupled, []string{Lubrication, Lubrication}, "each thing once"},
		{"cartridge full", []SensorEvent{{ID: itemID(1), Sensor: Cartridge, State: Full, At: began}}, coupled, nil, ""},
		{"no events", nil, coupled, nil, "no sensor is no contradiction"},
	}
	for _, test := range tests {
		for _, events := range [][]SensorEvent{test.events, reversed(test.events)} {
			var got []string
			for _, warning := range Watch(events, test.w) {
				got = append(got, warning.Kind)
				if warning.Message.In(German) == "" || strings.Contains(warning.Message.String(), "{") {
					t.Errorf("%s: %q", test.name, warning.Message)
				}
			}
			slices.Sort(got)
			want := slices.Sorted(slices.Values(test.want))
			if !slices.Equal(got, want) {
				t.Errorf("%s: %v, expected %v (%s)", test.name, got, want, test.source)
			}
		}
	}
}

func reversed(all []SensorEvent) []SensorEvent {
	all = slices.Clone(all)
	slices.Reverse(all)
	return all
}

// TestOrderOfArrival proves that it does not matter in which order events come.
func TestOrderOfArrival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var events []SensorEvent
		for n := range rapid.IntRange(0, 12).Draw(t, "events") {
			e := event(n+1, record.Time(rapid.IntRange(-5, 60).Draw(t, "minute"))*minute, rapid.SampledFrom([]SensorState{Closed, Open, Fault, Silent}).Draw(t, "state"), int64(rapid.IntRange(0, 2).Draw(t, "speed")))
			e.Sensor = rapid.SampledFrom([]Sensor{LockSensor, DisplaySensor}).Draw(t, "sensor")
			events = append(events, e)
		}
		w := Watched{Known: rapid.Bool().Draw(t, "known"), Coupled: []Stretch{{began, began + 50*minute}}, Locked: []record.Time{began, began + 20*minute}, Now: began + 55*minute}
		one, _ := json.Marshal(Watch(events, w))
		other, _ := json.Marshal(Watch(rapid.Permutation(events).Draw(t, "arrival"), w))
		if string(one) != string(other) {
			t.Fatalf("%s\n%s", one, other)
		}
	})
}

func TestLatest(t *testing.T) {
	last := Latest([]SensorEvent{event(3, 3*minute, Open, 0), event(1, minute, Closed, 0), {ID: itemID(2), Sensor: Cartridge, State: Low, At: began}})
	if len(last) != 2 || last[LockSensor].State != Open || last[Cartridge].State != Low {
		t.Errorf("%+v", last)
	}
}

func TestOnlyClosedIsLocked(t *testing.T) {
	for _, s := range []SensorState{"", Open, Fault, Silent, Low, Empty, Full, "Closed", "locked"} {
		if s.Locked() {
			t.Errorf("%q counts as locked", s)
		}
	}
	if !SensorState(Closed).Locked() {
		t.Error("closed is not locked")
	}
}

func TestSensorEventThatCannotBe(t *testing.T) {
	tests := []struct {
		field  string
		change func(*SensorEvent)
	}{
		{"", func(*SensorEvent) {}},
		{"id", func(e *SensorEvent) { e.ID = "" }},
		{"device", func(e *SensorEvent) { e.Device = "" }},
		{"asset", func(e *SensorEvent) { e.Asset = "part/x" }},
		{"sensor", func(e *SensorEvent) { e.Sensor = "" }},
		{"sensor", func(e *SensorEvent) { e.Sensor = "nose" }},
		{"state", func(e *SensorEvent) { e.State = "" }},
		{"state", func(e *SensorEvent) { e.State = Empty }},
		{"", func(e *SensorEvent) { e.Sensor, e.State = Cartridge, Empty }},
		{"state", func(e *SensorEvent) { e.Sensor, e.State = Cartridge, Open }},
		{"mm_s", func(e *SensorEvent) { *e.Speed = -1 }},
		{"at", func(e *SensorEvent) { e.At = 0 }},
		{"detail", func(e *SensorEvent) { e.Detail = "\x00" }},
		{"pin", func(e *SensorEvent) { e.Pin = "perhaps" }},
	}
	for _, test := range tests {
		e := event(1, 0, Open, 5)
		test.change(&e)
		fault(t, e.Validate(), test.field)
	}
}

func fault(t *testing.T, err error, field string) {
	t.Helper()
	got := ""
	if err != nil {
		got = err.(*record.RuleError).Field
	}
	if got != field {
		t.Errorf("%v; expected a fault of %q", err, field)
	}
}

func TestDefect(t *testing.T) {
	whole := func() Defect {
		return Defect{ID: itemID(1), Asset: "vehicle/marsh-23", Words: "leg bent", Name: "A. Driver", Phone: "p", At: began}
	}
	tests := []struct {
		field  string
		stops  bool
		change func(*Defect)
	}{
		{"", false, func(*Defect) {}},
		{"", true, func(d *Defect) { d.DoNotUse = true }},
		{"", true, func(d *Defect) { d.State = "never.crack" }},
		{"", true, func(d *Defect) { d.State, d.Words = "never.crack", "" }},
		{"state", true, func(d *Defect) { d.State = "never.mind" }},
		{"words", false, func(d *Defect) { d.Words = " " }},
		{"words", false, func(d *Defect) { d.Words = strings.Repeat("x", MaxWords+1) }},
		{"", false, func(d *Defect) { d.Words, d.Spot = "", &Spot{"coupling", 0, 1000} }},
		{"spot.x", false, func(d *Defect) { d.Spot = &Spot{"coupling", 1001, 0} }},
		{"spot.drawing", false, func(d *Defect) { d.Spot = &Spot{} }},
		{"", false, func(d *Defect) { d.Words, d.Photos = "", make([]record.Digest, 1) }},
		{"photos", false, func(d *Defect) { d.Photos = make([]record.Digest, MaxPhotos+1) }},
		{"asset", false, func(d *Defect) { d.Asset = "depot/x" }},
		{"check", false, func(d *Defect) { d.Check = "x" }},
		{"by", false, func(d *Defect) { d.By = "vehicle/x" }},
		{"name", false, func(d *Defect) { d.Name = "" }},
		{"at", false, func(d *Defect) { d.At = 0 }},
	}
	for _, test := range tests {
		d := whole()
		test.change(&d)
		fault(t, d.Validate(), test.field)
		if d.Stops() != test.stops {
			t.Errorf("%+v: out of use %v, expected %v", d, d.Stops(), test.stops)
		}
	}
}

func TestAllow(t *testing.T) {
	day := 24 * hour
	ask := Asked{Answer: rule.Fits, Known: began - hour, Now: began, Oldest: day}
	with := func(change func(*Asked)) Asked { a := ask; change(&a); return a }
	tests := []struct {
		name  string
		a     Asked
		want  rule.Answer
		text  string
		since record.Time
		tag   bool
	}{
		{"fits", ask, rule.Fits, "fits as it stands", began - hour, false},
		{"fits if", with(func(a *Asked) { a.Answer, a.Setting = rule.FitsIf, "slide at 450 mm" }), rule.FitsIf, "Fits only if set: slide at 450 mm.", began - hour, false},
		{"fits if of nothing", with(func(a *Asked) { a.Answer = rule.FitsIf }), rule.CannotTell, "not worked out", began - hour, false},
		{"does not fit", with(func(a *Asked) { a.Answer, a.Reason = rule.DoesNotFit, "109 kg over the tractor's gross plate" }), rule.DoesNotFit, "Does not fit: 109 kg over the tractor's gross plate.", began - hour, false},
		{"does not fit, no reason given", with(func(a *Asked) { a.Answer = rule.DoesNotFit }), rule.DoesNotFit, "Ask the office", began - hour, false},
		{"cannot tell", with(func(a *Asked) { a.Answer, a.Missing = rule.CannotTell, []string{"plate height"} }), rule.CannotTell, "missing: plate height.", began - hour, false},
		{"many missing", with(func(a *Asked) { a.Answer, a.Missing = rule.CannotTell, []string{"a", "b", "c", "d", "e"} }), rule.CannotTell, "missing: a, b, c + 2.", began - hour, false},
		{"fits with something missing", with(func(a *Asked) { a.Missing = []string{"plate height"} }), rule.CannotTell, "plate height", began - hour, false},
		{"never asked", with(func(a *Asked) { a.Answer = "" }), rule.CannotTell, "not worked out", began - hour, false},
		{"an answer of nobody", with(func(a *Asked) { a.Answer = "yes" }), rule.CannotTell, "not worked out", began - hour, false},
		{"exactly as old as allowed", with(func(a *Asked) { a.Known = began - day }), rule.Fits, "fits", began - day, false},
		{"older", with(func(a *Asked) { a.Known = began - day - 1 }), rule.CannotTell, "last known 25 h ago, older than the 24 h", began - day - 1, false},
		{"does not fit, and old", with(func(a *Asked) { a.Answer, a.Known = rule.DoesNotFit, began-2*day }), rule.CannotTell, "last known 48 h", began - 2*day, false},
		{"no limit set", with(func(a *Asked) { a.Oldest = 0 }), rule.CannotTell, "nobody has set", began - hour, false},
		{"clock before the data", with(func(a *Asked) { a.Now = began - day }), rule.CannotTell, "clock", began - hour, false},
		{"no data", with(func(a *Asked) { a.Known = 0 }), rule.CannotTell, "nothing about this pair", 0, false},
		{"out of use", with(func(a *Asked) { a.Blocks = []Block{{"Marsh 23", "cracked plate", began - 3*day, false}} }), DoNotUse, "Do not use Marsh 23: cracked plate. Hang a tag", began - 3*day, true},
		{"out of use and tagged", with(func(a *Asked) { a.Blocks = []Block{{"Marsh 23", "cracked plate", began - 3*day, true}} }), DoNotUse, "cracked plate.", began - 3*day, false},
		{"out of use, and old", with(func(a *Asked) {
			a.Known, a.Blocks = began-9*day, []Block{{"Marsh 23", "cracked plate", began - 10*day, false}}
		}), DoNotUse, "cracked plate", began - 10*day, true},
		{"out of use, and never worked out", Asked{Blocks: []Block{{"Marsh 23", "x", began, false}}}, DoNotUse, "Marsh 23", began, true},
	}
	for _, test := range tests {
		got := Allow(test.a)
		if got.Says != test.want || !strings.Contains(got.Reason.String(), test.text) || got.Since != test.since || got.Tag != test.tag {
			t.Errorf("%s: %+v, %q; expected %+v", test.name, got, got.Reason, test)
		}
		if got.Reason.In(German) == "" || got.Reason.In(German) == got.Reason.String() {
			t.Errorf("%s: German is %q", test.name, got.Reason.In(German))
		}
	}
}

// TestAgeNeverMakesAPass proves that time takes passes away and gives none.
func TestAgeNeverMakesAPass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Asked{
			Answer:  rapid.SampledFrom([]rule.Answer{"", rule.Fits, rule.FitsIf, rule.DoesNotFit, rule.CannotTell}).Draw(t, "answer"),
			Setting: rapid.SampledFrom([]string{"", "450 mm"}).Draw(t, "setting"), Known: began,
			Now: began + record.Time(rapid.IntRange(-2, 60).Draw(t, "age"))*hour, Oldest: record.Time(rapid.IntRange(0, 48).Draw(t, "oldest")) * hour,
		}
		if rapid.Bool().Draw(t, "blocked") {
			a.Blocks = []Block{{Unit: "x", Why: "y", Since: began}}
		}
		got := Allow(a)
		older := a
		older.Now += record.Time(rapid.IntRange(1, 99).Draw(t, "later")) * hour
		if later := Allow(older); a.Now >= a.Known && later.Says != got.Says && later.Says != rule.CannotTell {
			t.Fatalf("%s became %s with age", got.Says, later.Says)
		}
		if len(a.Blocks) > 0 && got.Says != DoNotUse {
			t.Fatal("a block was forgotten")
		}
		if got.Says == rule.Fits && (a.Answer != rule.Fits || a.Now-a.Known > a.Oldest) {
			t.Fatal("a pass out of nothing")
		}
	})
}
