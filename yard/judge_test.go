package yard

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"underpin/record"
	"underpin/rule"
)

var began = record.At(time.Date(2026, 11, 25, 5, 0, 0, 0, time.UTC))

const (
	second record.Time = 1_000_000
	minute             = 60 * second
)

func ptr[T any](v T) *T { return &v }

// fresh is a check of a flow on a pair that is allowed, without answers.
func fresh(flow Flow, f Facts, country string) *Check {
	return &Check{ID: itemID(1), Edition: Edition, Flow: flow, Country: country, Language: English,
		Tractor: Vehicle{Asset: "vehicle/heron-07"}, Trailer: Vehicle{Asset: "vehicle/marsh-23"},
		Facts: f, Allowed: Allowed{Says: rule.Fits}, Phone: "p", Clock: Clock{Ahead: ptr(int64(0))}, Began: began,
		Setting: &Setting{Least: 300, Aim: 450, Most: 600}}
}

// good is the answer that lets go on.
func good(s Step, at record.Time) Answer {
	a := Answer{Step: s.Key, At: at, Tick: ptr(int64(at-began) / 1000)}
	switch s.Ask.Kind {
	case Seen:
		a.Seen = s.Ask.Safe
	case Number:
		a.Number = ptr(max(s.Ask.Least, min(s.Ask.Most, 450)))
	case Words:
		a.Words = "row 4"
	case Choice:
		a.Choice = s.Ask.Choices[0]
	case Photo:
		a.Photos = []record.Digest{record.DigestOf([]byte("photo"))}
	}
	return a
}

// answered gives every step its good answer, 20 s apart, and signs.
func answered(t interface{ Fatal(...any) }, c *Check) *Check {
	steps := card(t, c.Flow, c.Pair()).Steps()
	at := c.Began
	for _, s := range steps {
		at += 20 * second
		c.Answers = append(c.Answers, good(s, at))
	}
	c.Signed = &Signature{Name: "A. Driver", At: at + 5*second}
	return c
}

func judged(t interface{ Fatal(...any) }, c *Check) Outcome {
	if err := c.Validate(); err != nil {
		t.Fatal(err)
	}
	o, err := c.Outcome()
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// set changes the answer to a step.
func (c *Check) set(name string, change func(*Answer)) *Check {
	for i := range c.Answers {
		if _, step, _ := strings.Cut(c.Answers[i].Step, "/"); step == name {
			change(&c.Answers[i])
		}
	}
	return c
}

func (c *Check) leaveOut(name string) *Check {
	c.Answers = slices.DeleteFunc(c.Answers, func(a Answer) bool {
		_, step, _ := strings.Cut(a.Step, "/")
		return step == name
	})
	return c
}

func flip(a *Answer) {
	if a.Seen == Yes {
		a.Seen = No
	} else {
		a.Seen = Yes
	}
}

// again answers all looks of the lock once more.
func (c *Check) again(t interface{ Fatal(...any) }, bad string) *Check {
	at := c.Answers[len(c.Answers)-1].At
	for _, s := range card(t, c.Flow, c.Pair()).Steps() {
		if s.Lock {
			at += 20 * second
			a := good(s, at)
			if s.Name == bad {
				flip(&a)
			}
			c.Answers = append(c.Answers, a)
		}
	}
	return c
}

func TestOutcome(t *testing.T) {
	whole := Facts{ByHand, OnLeft, Flap, Yes, Yes, Yes, Pitching, Yes, No, No, "", Yes, Air, Air, Crank, OneSide, 50, 50}
	couple := func() *Check { return answered(t, fresh(Couple, whole, "de")) }
	tests := []struct {
		name   string
		c      *Check
		want   Drive
		locked YesNo
		source string
	}{
		{"all well", couple(), MayDrive, Yes, "every step has its answer"},
		{"light between the plates", couple().set("gap", flip), MustNotDrive, No, ch5 + "4.4 (S18)"},
		{"jaws not closed", couple().set("jaws", flip), MustNotDrive, No, ch5 + "4.4 (S29)"},
		{"handle not home", couple().set("handle", flip), MustNotDrive, No, ch5 + "4.4 (S18)"},
		{"safety not in", couple().set("secured", flip), MustNotDrive, No, ch5 + "4.4 (S27)"},
		{"indicator out", couple().set("mark", flip), MustNotDrive, No, ch5 + "4.4 (S27)"},
		{"display open", couple().set("display", flip), MustNotDrive, No, ch5 + "4.4"},
		{"display dark", couple().set("display", func(a *Answer) { a.Seen = CannotSee }), MustNotDrive, No, ch5 + "4.3: display fault is not locked"},
		{"lamp dark", couple().set("lamp", func(a *Answer) { a.Seen = CannotSee }), MustNotDrive, No, "issue: a silent sensor counts as unlocked"},
		{"tug, lamp and display alone", couple().leaveOut("gap").leaveOut("jaws").leaveOut("handle").leaveOut("secured").leaveOut("mark").leaveOut("again"), NotYetTold, "", "issue: the tug is never enough alone; " + ch5 + "4.3: the display never replaces the look"},
		{"no look at the jaws", couple().leaveOut("jaws"), NotYetTold, "", "daylight check is decisive, " + ch5 + "4.2"},
		{"no tug", couple().leaveOut("tug"), NotYetTold, Yes, ch5 + "4.1, step 6"},
		{"cracked plate", couple().set("crack", flip), MustNotDrive, Yes, ch5 + "4.4 (S18)"},
		{"pin loose", couple().set("pin", flip), MustNotDrive, Yes, ch5 + "4.4"},
		{"lock part missing", couple().set("lock-part", flip), MustNotDrive, Yes, ch5 + "4.4 (S18)"},
		{"frame mount loose", couple().set("mount", flip), MustNotDrive, Yes, ch5 + "4.4 (S18)"},
		{"slider pin out", couple().set("slide-pins", flip), MustNotDrive, Yes, ch5 + "4.4 (S18)"},
		{"dropped and not looked at", couple().set("event", flip), MustNotDrive, Yes, ch5 + "4.4"},
		{"another size", couple().set("size", flip), MustNotDrive, Yes, ch5 + "4.4 (S23)"},
		{"brake not seen on", couple().set("trailer-brake", flip), MustNotDrive, Yes, ch5 + "4.4 (S28)"},
		{"brake could not be seen", couple().set("trailer-brake", func(a *Answer) { a.Seen = CannotSee }), MustNotDrive, Yes, ch5 + "4.4: parking brakes unproven"},
		{"crack could not be seen", couple().set("crack", func(a *Answer) { a.Seen = CannotSee }), NotYetTold, Yes, "missing is not a pass"},
		{"not at driving level", couple().set("level", flip), MustNotDrive, Yes, "issue: back at driving level is asked"},
		{"no photo", couple().leaveOut("photo"), MayDrive, Yes, "a photo may be left out: storage full"},
		{"nothing answered", func() *Check { c := couple(); c.Answers = nil; return c }(), NotYetTold, "", "missing is not a pass"},
		{"not signed", func() *Check { c := couple(); c.Signed = nil; return c }(), NotYetTold, Yes, "issue, item 7"},
		{"does not fit", func() *Check { c := couple(); c.Allowed.Says = rule.DoesNotFit; return c }(), MustNotDrive, Yes, "issue, item 5"},
		{"out of use", func() *Check { c := couple(); c.Allowed.Says = DoNotUse; return c }(), MustNotDrive, Yes, "issue, item 5"},
		{"pair cannot be told", func() *Check { c := couple(); c.Allowed.Says = rule.CannotTell; return c }(), NotYetTold, Yes, "issue, item 4: the full check all the same"},
		{"fits if set", func() *Check { c := couple(); c.Allowed.Says = rule.FitsIf; return c }(), NotYetTold, Yes, "the setting comes first"},
		{"pair was never asked", func() *Check { c := couple(); c.Allowed = Allowed{}; return c }(), NotYetTold, Yes, "missing is not a pass"},
		{"re-coupled once", couple().set("jaws", flip).again(t, ""), MayDrive, Yes, ch5 + "5: re-couple once"},
		{"one look alone after re-coupling", func() *Check {
			c := couple().set("jaws", flip)
			for _, s := range card(t, Couple, c.Pair()).Steps() {
				if s.Name == "jaws" {
					c.Answers = append(c.Answers, good(s, c.Signed.At))
				}
			}
			return c
		}(), NotYetTold, "", "all looks are taken again: the lock is another than before"},
		{"failed twice", couple().set("jaws", flip).again(t, "gap").again(t, ""), MustNotDrive, "", ch5 + "5: then workshop"},
		{"two looks failed in one round", couple().set("gap", flip).set("jaws", flip).again(t, ""), MayDrive, Yes, "one failure of the lock"},
		{"pin and lock differ", answered(t, fresh(Couple, func() Facts { f := whole; f.Lock = 90; return f }(), "de")), MustNotDrive, Yes, ch5 + "4.4 (S23), whatever was tapped"},
		{"wedge on a coupling not approved", answered(t, fresh(Couple, func() Facts { f := whole; f.Wedge, f.ForWedge = Yes, No; return f }(), "de")), MustNotDrive, Yes, ch5 + "4.4 (S27)"},
		{"lines out of reach", answered(t, fresh(Couple, func() Facts { f := whole; f.Reach = No; return f }(), "de")), MustNotDrive, Yes, "restricted access is a flow of its own"},
		{"restricted access", answered(t, fresh(Restricted, whole, "uk")), MayDrive, Yes, "issue, item 2"},
		{"nothing known, all answered", answered(t, fresh(Couple, Facts{}, "")), MayDrive, Yes, "the strictest steps prove it too"},
		{"uncoupled", answered(t, fresh(Uncouple, whole, "de")), MayDrive, "", "no lock to prove"},
		{"uncoupled, brake off", answered(t, fresh(Uncouple, whole, "de")).set("brake-still", flip), MustNotDrive, "", ch5 + "4.4 (S28)"},
		{"uncoupled from a pair that does not fit", func() *Check {
			c := answered(t, fresh(Uncouple, whole, "de"))
			c.Allowed.Says = rule.DoesNotFit
			return c
		}(), MayDrive, "", "whoever does not fit may part"},
		{"dropped", answered(t, fresh(Drop, whole, "de")), MayDrive, "", "issue, item 3"},
		{"slid", answered(t, fresh(Slide, whole, "de")), MayDrive, Yes, "issue, item 3"},
		{"slid too far", answered(t, fresh(Slide, whole, "de")).set("slide-at", func(a *Answer) { a.Number = ptr(int64(601)) }), MustNotDrive, Yes, "outside 300 to 600 mm"},
		{"slid to the end of the range", answered(t, fresh(Slide, whole, "de")).set("slide-at", func(a *Answer) { a.Number = ptr(int64(600)) }), MayDrive, Yes, "both ends belong to it"},
		{"slid, range not known", func() *Check { c := fresh(Slide, whole, "de"); c.Setting = nil; return answered(t, c) }(), NotYetTold, Yes, "missing is not a pass"},
		{"slider pin half in", answered(t, fresh(Slide, whole, "de")).set("slide-home", flip), MustNotDrive, Yes, ch5 + "4.4 (S18)"},
	}
	for _, test := range tests {
		o := judged(t, test.c)
		if test.c.Flow == Uncouple || test.c.Flow == Drop {
			test.locked = o.Locked
		}
		if o.Says != test.want || o.Locked != test.locked {
			t.Errorf("%s: %s, locked %q, why %v; expected %s, %q (%s)", test.name, o.Says, o.Locked, o.Why, test.want, test.locked, test.source)
		}
		if o.Says != MayDrive && len(o.Why) == 0 {
			t.Errorf("%s: %s without a reason", test.name, o.Says)
		}
	}
}

// TestOneWrongAnswerIsEnough turns each answer of each flow around by itself:
// there is no step that could be answered wrongly or left out unseen.
func TestOneWrongAnswerIsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := facts(t)
		flow := rapid.SampledFrom(Flows()).Draw(t, "flow")
		if flow == Slide {
			f.Slider = Yes
		}
		if f.Pin != f.Lock {
			f.Pin = f.Lock
		}
		if f.ForWedge == No {
			f.Wedge = No
		}
		if f.Reach == No {
			f.Reach = Yes
		}
		country := rapid.SampledFrom(countries).Draw(t, "country")
		c := answered(t, fresh(flow, f, country))
		if o := judged(t, c); o.Says != MayDrive || len(o.Hasty)+len(o.Past)+len(o.Paused)+len(o.Skipped) != 0 || o.ClockMoved {
			t.Fatalf("all answered well: %+v", o)
		}
		i := rapid.IntRange(0, len(c.Answers)-1).Draw(t, "answer")
		s, _ := card(t, flow, c.Pair()).Step(c.Answers[i].Step)
		switch {
		case s.Ask.Kind == Seen && rapid.Bool().Draw(t, "turned"):
			flip(&c.Answers[i])
			if o := judged(t, c); o.Says != MustNotDrive || s.Lock && o.Locked != No {
				t.Fatalf("%s answered wrongly: %+v", s.Key, o)
			}
		default:
			c.Answers = slices.Delete(c.Answers, i, i+1)
			o := judged(t, c)
			if !slices.Contains(o.Skipped, s.Key) {
				t.Fatalf("%s left out unseen: %+v", s.Key, o)
			}
			if o.Says == MayDrive && !s.Ask.Optional || s.Lock && o.Locked == Yes {
				t.Fatalf("%s left out: %+v", s.Key, o)
			}
		}
	})
}

func TestPace(t *testing.T) {
	whole := Facts{ByHand, OnLeft, Flap, No, No, No, Pitching, No, No, No, "", Yes, Air, Air, Crank, OneSide, 50, 50}
	shift := func(c *Check, from int, by record.Time, ticks bool) *Check {
		for i := range c.Answers[from:] {
			a := &c.Answers[from+i]
			a.At += by
			if ticks {
				*a.Tick += int64(by) / 1000
			}
		}
		return c
	}
	couple := func() *Check { return answered(t, fresh(Couple, whole, "de")) }
	last := len(couple().Answers)
	tests := []struct {
		name   string
		c      *Check
		hasty  int
		paused int
		moved  bool
		want   Drive
		source string
	}{
		{"20 s each", couple(), 0, 0, false, MayDrive, "enough to read 80 words"},
		{"one at once", shift(couple(), 5, -20*second, true), 1, 0, false, MayDrive, "shown, not forbidden"},
		{"gone for 16 minutes before the last step", shift(couple(), last-1, 16*minute, true), 0, 1, false, NotYetTold, "NRSPP: begin anew after an interruption"},
		{"gone for 14 minutes", shift(couple(), last-1, 14*minute, true), 0, 0, false, MayDrive, "15 min is the limit"},
		{"gone before the first look", shift(couple(), 3, 16*minute, true), 0, 1, false, MayDrive, "all looks come after it"},
		{"clock set forward an hour", shift(couple(), 5, 60*minute, false), 0, 0, true, MayDrive, "the steady clock tells"},
		{"clock set back an hour", shift(couple(), 5, -60*minute, false), 0, 0, true, MayDrive, "the steady clock tells"},
		{"clock set back without a steady one", func() *Check {
			c := shift(couple(), 5, -60*minute, false)
			for i := range c.Answers {
				c.Answers[i].Tick = nil
			}
			return c
		}(), 0, 0, true, MayDrive, "how long one step took cannot be told, and that is shown"},
		{"gone again after looking again", shift(couple(), last-1, 16*minute, true).again(t, ""), 0, 1, false, MayDrive, "all looks taken after it"},
	}
	for _, test := range tests {
		o := judged(t, test.c)
		if len(o.Hasty) != test.hasty || len(o.Paused) != test.paused || o.ClockMoved != test.moved || o.Says != test.want {
			t.Errorf("%s: hasty %v, paused %v, clock %v, %s; expected %+v", test.name, o.Hasty, o.Paused, o.ClockMoved, o.Says, test)
		}
	}
	for _, row := range []struct {
		text string
		want int64
	}{{"step.gap", 2500}, {"step.lights", 1250}, {"step.chocks-away", 1000}} {
		s := Step{Text: say(Key(row.text))}
		if got := s.Reading(English); got != row.want {
			t.Errorf("%s, %q: %d ms, expected %d (words / 4, at least 1 s)", row.text, s.Text, got, row.want)
		}
	}
}

// TestOpenStepsAreNotPast proves that whoever answers only what is open never
// goes past a stop, and that nothing behind an unconfirmed stop is open.
func TestOpenStepsAreNotPast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := facts(t)
		flow := rapid.SampledFrom(Flows()).Draw(t, "flow")
		if flow == Slide {
			f.Slider = Yes
		}
		c := fresh(flow, f, rapid.SampledFrom(countries).Draw(t, "country"))
		card := card(t, flow, c.Pair())
		steps := card.Steps()
		at := began
		for range rapid.IntRange(1, 60).Draw(t, "answers") {
			open := card.Open(c.Answers)
			for _, s := range steps[:open-1] {
				if i := slices.IndexFunc(c.Answers, func(a Answer) bool { return a.Step == s.Key }); s.Stops && i < 0 {
					t.Fatalf("%d steps are open behind %s", open, s.Key)
				}
			}
			at += 20 * second
			a := good(steps[rapid.IntRange(0, open-1).Draw(t, "step")], at)
			if a.Seen != "" && rapid.IntRange(0, 9).Draw(t, "wrong") == 0 {
				flip(&a)
			}
			c.Answers = append(c.Answers, a)
		}
		if o := judged(t, c); len(o.Past) != 0 {
			t.Fatalf("past a stop: %v", o.Past)
		}
	})
}

// TestTwoMinutes proves that a card of a pair of which all is known can be read
// within the two minutes that a driver has.
func TestTwoMinutes(t *testing.T) {
	f := Facts{ByHand, OnLeft, Flap, Yes, No, Yes, Pitching, Yes, No, No, "", Yes, Air, Air, Crank, OneSide, 50, 50}
	for _, o := range Orders() {
		for _, flow := range Flows() {
			for _, l := range Languages() {
				took := int64(0)
				for _, s := range card(t, flow, Pair{Facts: f, Country: o.Country, Setting: &Setting{300, 600, 450}}).Steps() {
					took += s.Reading(l)
				}
				if took > 120_000 {
					t.Errorf("%s, %s, %s: %d s to read", o.Country, flow, l, took/1000)
				}
			}
		}
	}
}

func TestPastAStop(t *testing.T) {
	c := answered(t, fresh(Couple, Facts{Reach: Yes}, "de"))
	// The brake is answered at the very end.
	at := slices.IndexFunc(c.Answers, func(a Answer) bool { return a.Step == "1/trailer-brake" })
	a := c.Answers[at]
	c.Answers = append(slices.Delete(c.Answers, at, at+1), a)
	o := judged(t, c)
	if o.Says != MustNotDrive || !slices.Contains(o.Past, "2/join-supply") || slices.Contains(o.Past, "1/ground") {
		t.Errorf("lines joined before the brake was seen: %+v", o)
	}
}

func TestPeriods(t *testing.T) {
	couple := func() *Check { return answered(t, fresh(Couple, Facts{Reach: Yes}, "de")) }
	tests := []struct {
		name   string
		c      *Check
		starts bool
		ends   bool
	}{
		{"coupled", couple(), true, false},
		{"restricted", answered(t, fresh(Restricted, Facts{}, "uk")), true, false},
		{"lock open", couple().set("jaws", flip), false, false},
		{"a look left out", couple().leaveOut("jaws"), true, false},
		{"not signed", func() *Check { c := couple(); c.Signed = nil; return c }(), false, false},
		{"a guest", func() *Check {
			c := couple()
			c.Trailer = Vehicle{Guest: &Guest{Registration: "AB 123"}}
			return c
		}(), false, false},
		{"uncoupled", answered(t, fresh(Uncouple, Facts{}, "de")), false, true},
		{"dropped", answered(t, fresh(Drop, Facts{}, "de")), false, true},
		{"slid", answered(t, fresh(Slide, Facts{}, "de")), false, false},
	}
	for _, test := range tests {
		o := judged(t, test.c)
		begin, starts := test.c.Starts(o)
		end, ends := test.c.Ends(itemID(9))
		if starts != test.starts || ends != test.ends {
			t.Errorf("%s: starts %v, ends %v; expected %v, %v", test.name, starts, ends, test.starts, test.ends)
		}
		if starts && (begin.By != "vehicle/heron-07" || begin.ByReading.Metres == nil || *begin.ByReading.Metres != 450_000) {
			t.Errorf("%s: begins %+v", test.name, begin)
		}
		if ends && (end.Period != itemID(9) || *end.ByReading.Metres != 450_000 || test.c.Flow == Drop && end.Place != "row 4") {
			t.Errorf("%s: ends %+v", test.name, end)
		}
	}
}

func TestClock(t *testing.T) {
	if at, known := (Clock{Ahead: ptr(int64(-1500))}).True(began); !known || at != began-1500*1000 {
		t.Errorf("%v, %v", at, known)
	}
	if at, known := (Clock{}).True(began); known || at != began {
		t.Errorf("%v, %v", at, known)
	}
	c := answered(t, fresh(Couple, Facts{}, "de"))
	c.Clock.Ahead = ptr(int64(60_000))
	if at, known := c.Happened(); !known || at != c.Signed.At+minute {
		t.Errorf("%v, %v", at, known)
	}
}

func TestValidate(t *testing.T) {
	tests := []struct {
		field  string
		change func(*Check)
	}{
		{"", func(*Check) {}},
		{"id", func(c *Check) { c.ID = "1" }},
		{"edition", func(c *Check) { c.Edition = Edition + 1 }},
		{"edition", func(c *Check) { c.Edition = 0 }},
		{"flow", func(c *Check) { c.Flow = "fly" }},
		{"language", func(c *Check) { c.Language = "xx" }},
		{"tractor.asset", func(c *Check) { c.Tractor.Asset = "" }},
		{"tractor.asset", func(c *Check) { c.Tractor.Asset = "part/x" }},
		{"trailer", func(c *Check) { c.Trailer.Guest = &Guest{Registration: "x"} }},
		{"trailer.registration", func(c *Check) { c.Trailer = Vehicle{Guest: &Guest{}} }},
		{"", func(c *Check) {
			c.Trailer = Vehicle{Guest: &Guest{Registration: "x", Pin: ptr(int64(50)), Plate: ptr(int64(1150))}}
		}},
		{"trailer.pin_mm", func(c *Check) { c.Trailer = Vehicle{Guest: &Guest{Registration: "x", Pin: ptr(int64(5))}} }},
		{"phone", func(c *Check) { c.Phone = "" }},
		{"phone", func(c *Check) { c.Phone = "a\x00b" }},
		{"place", func(c *Check) { c.Place = strings.Repeat("ä", MaxWords+1) }},
		{"", func(c *Check) { c.Place = strings.Repeat("ä", MaxWords) }},
		{"", func(c *Check) { c.Place = "<script>alert(1)</script>" }}, // text is text; pages escape it
		{"place", func(c *Check) { c.Place = "\xff" }},
		{"began", func(c *Check) { c.Began = 0 }},
		{"allowed.says", func(c *Check) { c.Allowed.Says = "maybe" }},
		{"allowed.reason", func(c *Check) { c.Allowed.Reason = Message{Key: "nothing"} }},
		{"allowed.reason", func(c *Check) { c.Allowed.Reason = say("allow.missing", strings.Repeat("x", MaxWords+1)) }},
		{"", func(c *Check) { c.Allowed = Allow(Asked{}) }},
		{"mark", func(c *Check) { c.Facts.Mark = "maybe" }},
		{"answers", func(c *Check) { c.Answers = make([]Answer, MaxAnswers+1) }},
		{"answers[0].step", func(c *Check) { c.Answers[0].Step = "1/nothing" }},
		{"answers[0].at", func(c *Check) { c.Answers[0].At = 0 }},
		{"answers[0].tick_ms", func(c *Check) { c.Answers[0].Tick = ptr(int64(-1)) }},
		{"answers[0]", func(c *Check) { c.Answers[0].Seen = "maybe" }},
		{"answers[0]", func(c *Check) { c.Answers[0].Seen = "" }},
		{"answers[0]", func(c *Check) { c.Answers[0].Number = ptr(int64(1)) }},
		{"answers[0]", func(c *Check) { c.Answers[0].Choice = "x" }},
		{"photos", func(c *Check) {
			c.set("photo", func(a *Answer) { a.Photos = make([]record.Digest, MaxPhotos+1) })
		}},
		{"signed.name", func(c *Check) { c.Signed.Name = " " }},
		{"signed.at", func(c *Check) { c.Signed.At = 0 }},
		{"signed.account", func(c *Check) { c.Signed.Account = "vehicle/x" }},
	}
	for i, test := range tests {
		c := answered(t, fresh(Couple, Facts{}, "de"))
		test.change(c)
		err := c.Validate()
		got := ""
		if err != nil {
			got = err.(*record.RuleError).Field
		}
		if got != test.field {
			t.Errorf("row %d: %v; expected a fault of %q", i, err, test.field)
		}
	}
	c := answered(t, fresh(Drop, Facts{}, "de"))
	if err := c.set("odometer", func(a *Answer) { a.Number = ptr(int64(-1)) }).Validate(); err == nil {
		t.Error("an odometer below nothing")
	}
	c = answered(t, fresh(Drop, Facts{}, "de"))
	if err := c.set("stands-on", func(a *Answer) { a.Choice = "load.full" }).Validate(); err == nil {
		t.Error("a choice of another question")
	}
	c = answered(t, fresh(Drop, Facts{}, "de"))
	if err := c.set("place", func(a *Answer) { a.Words = " " }).Validate(); err == nil {
		t.Error("no place")
	}
}

// TestCheckAsJSON proves that what a phone sends comes back as it was.
func TestCheckAsJSON(t *testing.T) {
	c := answered(t, fresh(Drop, Facts{Opening: ByHand}, "de"))
	c.Travelling = ptr(int64(4000))
	c.Signed.Image = ptr(record.DigestOf([]byte("signature")))
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	var back Check
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(c, &back); diff != "" {
		t.Error(diff)
	}
	if strings.Contains(string(text), "null") {
		t.Errorf("null in %s", text)
	}
}

// TestGuest proves that a hired trailer gets the full check, and that what was
// not entered of it is missing.
func TestGuest(t *testing.T) {
	p := (&Guest{Registration: "AB 123", Pin: ptr(int64(50)), Wedge: No, Plate: ptr(int64(1120))}).Fill(Pair{Facts: Facts{Lock: 50}})
	c := card(t, Couple, p)
	if len(find(c, "wedge")) != 0 || find(c, "size")[0].Text.Key != "step.size.known" || c.Meeting.Meets != NotTold {
		t.Errorf("%+v", p)
	}
	check := fresh(Couple, Facts{}, "de")
	check.Trailer = Vehicle{Guest: &Guest{Registration: "AB 123"}}
	check.Allowed = Allow(Asked{Answer: rule.CannotTell, Missing: []string{"plate height"}, Known: began, Now: began, Oldest: hour})
	o := judged(t, answered(t, check))
	if o.Says != NotYetTold || o.Locked != Yes || !strings.Contains(o.Why[0].Message.String(), "plate height") {
		t.Errorf("%+v", o)
	}
}

func FuzzCheck(f *testing.F) {
	c := answered(f, fresh(Couple, Facts{}, "de"))
	text, _ := json.Marshal(c)
	f.Add(text)
	f.Add([]byte(`{"flow":"slide","edition":1,"answers":[{"step":"2/slide-at"}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var c Check
		if json.Unmarshal(text, &c) != nil || c.Validate() != nil {
			return
		}
		o, err := c.Outcome()
		if err != nil {
			t.Fatal("valid, and no outcome:", err)
		}
		if o.Says == MayDrive && (c.Signed == nil || c.Flow == Couple && o.Locked != Yes) {
			t.Errorf("may drive: %+v", o)
		}
	})
}
