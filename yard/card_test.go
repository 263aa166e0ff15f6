package yard

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/rule"
	"underpin/unit"
)

const ch5 = "handbook chapter 05, "

var (
	openings  = []Opening{"", ByHand, OneHand, ByAir}
	places    = []Place{"", OnLeft, OnRight, OnEither, OnFrame, InCab}
	securings = []Securing{"", Flap, SnapHook, Padlock, Clip, Inside}
	triStates = []YesNo{"", Yes, No}
	countries = []string{"de", "eu", "fr", "uk", "us", "us-ca", "au", "nz", ""}
)

// facts draws facts that go together.
func facts(t *rapid.T) Facts {
	f := Facts{
		Opening: rapid.SampledFrom(openings).Draw(t, "opening"), From: rapid.SampledFrom(places).Draw(t, "from"),
		Securing: rapid.SampledFrom(securings).Draw(t, "securing"),
		Plate:    rapid.SampledFrom([]Plate{"", Pitching, PitchingRolling}).Draw(t, "plate"),
		Tractor:  rapid.SampledFrom([]Suspension{"", Air, Steel}).Draw(t, "tractor"),
		Trailer:  rapid.SampledFrom([]Suspension{"", Air, Steel}).Draw(t, "trailer"),
		Legs:     rapid.SampledFrom([]LegDrive{"", Crank, Motor}).Draw(t, "legs"),
		LegSides: rapid.SampledFrom([]LegSides{"", OneSide, TwoSides}).Draw(t, "sides"),
		Pin:      rapid.SampledFrom([]int64{0, 50, 90}).Draw(t, "pin"), Lock: rapid.SampledFrom([]int64{0, 50, 90}).Draw(t, "lock"),
	}
	for _, y := range []*YesNo{&f.Mark, &f.Lamp, &f.Display, &f.Slider, &f.Height, &f.Wedge, &f.ForWedge, &f.Reach} {
		*y = rapid.SampledFrom(triStates).Draw(t, "yes or no")
	}
	if f.together() != nil {
		f.From = ""
	}
	return f
}

func pair(t *rapid.T) Pair {
	p := Pair{Facts: facts(t), Country: rapid.SampledFrom(countries).Draw(t, "country")}
	height := func(name string, least, most float64) *unit.Length {
		if !rapid.Bool().Draw(t, name+" known") {
			return nil
		}
		h := unit.Length(rapid.Float64Range(least, most).Draw(t, name))
		return &h
	}
	p.Travelling, p.Coupling, p.Plate = height("travelling", 2, 5), height("coupling", 0.9, 1.4), height("plate", 0.9, 1.4)
	if rapid.Bool().Draw(t, "setting known") {
		p.Setting = &Setting{Least: 300, Aim: 450, Most: 600}
	}
	return p
}

// card builds a card, and a slide of what does not slide is not asked for.
func card(t interface{ Fatal(...any) }, flow Flow, p Pair) *Card {
	if flow == Slide && p.Facts.Slider == No {
		p.Facts.Slider = Yes
	}
	c, err := NewCard(flow, p)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// find returns the steps of that name.
func find(c *Card, name string) []Step {
	return slices.DeleteFunc(c.Steps(), func(s Step) bool { return s.Name != name })
}

// TestEvidenceOfEachLock goes through every opening, place, securing and
// indication, known and unknown, and holds the card against the table of what
// proves a lock closed.
func TestEvidenceOfEachLock(t *testing.T) {
	type want struct {
		name    string // of the step
		source  string
		applies func(Facts) bool
		text    []string // all of these in the English text or caution
		never   Key
	}
	always := func(Facts) bool { return true }
	opens := func(o ...Opening) func(Facts) bool {
		return func(f Facts) bool { return slices.Contains(o, f.Opening) }
	}
	secured := func(s Securing) func(Facts) bool { return func(f Facts) bool { return f.Securing == s } }
	wants := []want{
		{"gap", ch5 + "4.1, step 7a; 4.4 (R714-162)", always, []string{"light", "gap", "either side"}, "never.gap"},
		{"jaws", ch5 + "4.1, step 7b, torch from behind (CDL 6.4)", always, []string{"torch", "behind the pin"}, "never.jaws"},
		{"handle", ch5 + "4.1, step 7c; 4.3, manual: handle swung back in", opens(ByHand), []string{"handle", "right home"}, "never.handle"},
		{"handle", ch5 + "4.3, one-handed: pin no longer visible or feelable (DGUV)", opens(OneHand), []string{"handle", "right home", "pin neither seen nor felt", "glove off: feel it"}, "never.handle"},
		{"handle", ch5 + "4.3, air: indicator returned, air exhausted; loss of air must not unlock; trap residual air", opens(ByAir), []string{"right back", "air let off", "loss of air must never open"}, "never.handle"},
		{"handle", "not known: all three kinds of evidence at once", opens(""), []string{"handle or rod right home", "no pin standing out", "air let off"}, "never.handle"},
		{"secured", ch5 + "4.3: flap fallen by itself; trap held up by dirt or ice", secured(Flap), []string{"fallen by itself", "dirt or ice"}, "never.safety"},
		{"secured", ch5 + "4.3: carabiner fits its hole; trap left off", secured(SnapHook), []string{"hook through its hole", "not shut"}, "never.safety"},
		{"secured", ch5 + "4.3: padlock fits its hole", secured(Padlock), []string{"padlock through its hole", "not shut"}, "never.safety"},
		{"secured", ch5 + "4.1, step 7e: dog clip", secured(Clip), []string{"clip on the handle"}, "never.safety"},
		{"secured", ch5 + "4.3, air: secondary in", secured(Inside), []string{"second lock in"}, "never.safety"},
		{"secured", ch5 + "4.1, step 7e, all of them", secured(""), []string{"flap", "hook", "clip", "padlock", "dirt or ice"}, "never.safety"},
		{"mark", ch5 + "4.3: feelable in the dark (DGUV)", func(f Facts) bool { return f.Mark == Yes }, []string{"right in", "seen and felt", "glove off"}, "never.indicator"},
		{"mark", ch5 + "4.3, not known", func(f Facts) bool { return f.Mark == "" }, []string{"if there is an indicator", "seen and felt"}, "never.indicator"},
		{"lamp", ch5 + "4.3, display fault is not locked", func(f Facts) bool { return f.Lamp == Yes }, []string{"lamp", "dark, faulty or silent means not locked"}, "never.display"},
		{"lamp", ch5 + "4.3, not known", func(f Facts) bool { return f.Lamp == "" }, []string{"if there is a lamp", "means not locked"}, "never.display"},
		{"display", ch5 + "4.3: the display never replaces the look", func(f Facts) bool { return f.Display == Yes }, []string{"display", "never replaces your look", "faulty or silent means not locked"}, "never.display"},
		{"display", ch5 + "4.3, not known", func(f Facts) bool { return f.Display == "" }, []string{"if there is a display", "never replaces your look"}, "never.display"},
	}
	absent := []struct {
		name    string
		applies func(Facts) bool
	}{
		{"mark", func(f Facts) bool { return f.Mark == No }},
		{"lamp", func(f Facts) bool { return f.Lamp == No }},
		{"display", func(f Facts) bool { return f.Display == No }},
	}
	tried, used := 0, make([]int, len(wants))
	for _, flow := range []Flow{Couple, Restricted} {
		for _, opening := range openings {
			for _, from := range places {
				for _, securing := range securings {
					for n := range 27 {
						f := Facts{Opening: opening, From: from, Securing: securing,
							Mark: triStates[n%3], Lamp: triStates[n/3%3], Display: triStates[n/9]}
						if f.together() != nil {
							continue
						}
						tried++
						c := card(t, flow, Pair{Facts: f, Country: "de"})
						named := map[string][]*Step{}
						for h := range c.Halts {
							for n := range c.Halts[h].Steps {
								s := &c.Halts[h].Steps[n]
								named[s.Name] = append(named[s.Name], s)
							}
						}
						for i, w := range wants {
							if !w.applies(f) {
								continue
							}
							used[i]++
							steps := named[w.name]
							if len(steps) != 1 {
								t.Fatalf("%s, %+v: %d steps %s, expected one (%s)", flow, f, len(steps), w.name, w.source)
							}
							s := steps[0]
							text := strings.ToLower(s.Text.String() + " " + s.Caution.String())
							for _, part := range w.text {
								if !strings.Contains(text, part) {
									t.Errorf("%s, %+v: %s says %q, expected %q in it (%s)", flow, f, w.name, text, part, w.source)
								}
							}
							if !s.Lock || s.Never != w.never || s.Ask.Kind != Seen || s.Ask.Optional || s.Ask.Safe == "" {
								t.Errorf("%s, %+v: %s is %+v; expected a look that proves the lock, for %s", flow, f, w.name, *s, w.never)
							}
						}
						for _, a := range absent {
							if a.applies(f) && len(named[a.name]) != 0 {
								t.Errorf("%+v: asks for a %s that is not there", f, a.name)
							}
						}
						place := "find it first"
						if from != "" {
							place = sayKeys("place."+Key(from), "").String()
						}
						if h := named["handle"][0]; (opening == ByHand || opening == OneHand) && !strings.Contains(h.Text.String(), place) {
							t.Errorf("%+v: %q does not say where: %s", f, h.Text, place)
						}
					}
				}
			}
		}
	}
	if want := 2 * 27 * 6 * (2*6 + 2*4); tried != want {
		t.Errorf("%d combinations tried, expected %d", tried, want)
	}
	for i, n := range used {
		if n == 0 {
			t.Errorf("row %d, %s (%s), was never used", i, wants[i].name, wants[i].source)
		}
	}
}

// TestNeverStatesAreAsked holds each state that must never be driven against
// the steps of a coupling: one row of the list, one direct question.
func TestNeverStatesAreAsked(t *testing.T) {
	rows := []struct {
		state  Key
		step   string // that asks; empty: known from data
		safe   YesNo
		source string
	}{
		{"never.gap", "gap", No, ch5 + "4.4: gap or light between plates (S18)"},
		{"never.jaws", "jaws", Yes, ch5 + "4.4: jaws not closed behind pin (S29)"},
		{"never.handle", "handle", Yes, ch5 + "4.4: handle not home (S18)"},
		{"never.safety", "secured", Yes, ch5 + "4.4: secondary not in (S27)"},
		{"never.indicator", "mark", Yes, ch5 + "4.4: indicator still out (S27)"},
		{"never.display", "display", Yes, ch5 + "4.4: display open, unknown or faulty"},
		{"never.pin", "pin", No, ch5 + "4.4: pin loose by hand, cracked, weld-built, bent"},
		{"never.crack", "crack", No, ch5 + "4.4: any cracked lower plate (S18)"},
		{"never.lock-part", "lock-part", No, ch5 + "4.4: lock part missing or broken (S18)"},
		{"never.size", "size", Yes, ch5 + "4.4: pin and jaw size mismatch or adaptor (S23)"},
		{"never.slider", "slide-pins", Yes, ch5 + "4.4: slider pin out or stop missing (S18)"},
		{"never.mount", "mount", No, ch5 + "4.4: frame-mount movement (S18)"},
		{"never.brakes", "trailer-brake", Yes, ch5 + "4.4: parking brakes unproven (S28)"},
		{"never.wear", "", "", ch5 + "4.4: wear at or over limit"},
		{"never.wedge", "wedge", Yes, ch5 + "4.4: trailer with wedge on non-approved type (S27)"},
		{"never.event", "event", No, ch5 + "4.4: post-event uninspected"},
	}
	if len(rows) != len(NeverStates()) {
		t.Fatalf("%d states, and %d rows", len(NeverStates()), len(rows))
	}
	for i, s := range NeverStates() {
		r := rows[i]
		if s.Key != r.state || s.ByData != (r.step == "") {
			t.Errorf("state %d is %s, expected %s (%s)", i, s.Key, r.state, r.source)
		}
		if r.step == "" {
			continue
		}
		for _, flow := range []Flow{Couple, Restricted} {
			steps := find(card(t, flow, Pair{}), r.step) // nothing known: everything is asked
			if len(steps) != 1 || steps[0].Never != r.state || steps[0].Ask.Kind != Seen || steps[0].Ask.Safe != r.safe || steps[0].Ask.Optional {
				t.Errorf("%s: %+v, expected a question for %s whose safe answer is %s (%s)", flow, steps, r.state, r.safe, r.source)
			}
			if text := steps[0].Text.String(); !strings.HasSuffix(text, "?") {
				t.Errorf("%s: %q is no question", flow, text)
			}
		}
	}
}

// TestProcedures holds the order of steps against the procedure.
func TestProcedures(t *testing.T) {
	air := Facts{Tractor: Air, Trailer: Air, Reach: Yes}
	steel := Facts{Tractor: Steel, Trailer: Steel, Reach: Yes}
	tests := []struct {
		name    string
		flow    Flow
		country string
		facts   Facts
		order   []string // keys that follow each other, not necessarily at once
		source  string
	}{
		{"coupling", Couple, "de", air, []string{"1/key-out", "1/ground", "1/trailer-brake", "1/chocks", "1/height", "2/key-out", "2/tug", "2/gap", "2/jaws", "2/handle", "2/secured",
			"2/both-brakes", "2/join-control", "2/join-supply", "2/join-electric", "3/legs-up", "3/chocks-away", "3/again", "3/level"}, ch5 + "4.1, steps 1 to 9; lines S27b"},
		{"tug behind the looks", Couple, "uk", air, []string{"2/key-out", "2/gap", "2/jaws", "2/handle", "2/secured", "3/key-out", "3/tug", "3/again"}, ch5 + "4.1, step 6, UK HSE (S28)"},
		{"handle first", Couple, "au", air, []string{"2/tug", "2/handle", "2/gap", "2/jaws"}, ch5 + "4.1, step 7, AU guide (S30)"},
		{"lines ahead", Couple, "us", air, []string{"1/trailer-brake", "1/chocks", "1/both-brakes", "1/join-control", "1/join-supply", "1/supply-off", "1/height", "2/tug", "2/gap", "2/both-brakes", "2/join-electric", "3/again"}, "CDL manual 6.4, from memory"},
		{"restricted access", Restricted, "uk", air, []string{"1/trailer-brake", "1/chocks", "1/height", "2/key-out", "2/both-brakes", "2/join-control", "2/join-supply", "2/still", "3/key-out", "3/tug", "3/gap", "3/jaws", "3/secured", "3/legs-up", "3/again"},
			"issue: flows that stop until the trailer's parking brake has been seen applied; " + ch5 + "4.1, step 8"},
		{"lamp and display behind the looks, with the ignition on", Couple, "de", air, []string{"2/gap", "2/jaws", "2/handle", "2/secured", "2/mark", "3/again", "3/lamp", "3/display", "3/release"}, ch5 + "4.3: the display never replaces the look"},
		{"restricted access with spring brakes", Restricted, "us", air, []string{"1/trailer-brake", "2/both-brakes", "2/join-supply", "2/supply-off", "2/still", "3/gap"}, "from memory: air releases spring brakes"},
		{"uncoupling, air", Uncouple, "de", air, []string{"1/key-out", "1/ground-legs", "1/trailer-brake", "1/chocks", "1/legs-down", "1/part-supply", "1/part-control", "1/part-electric", "1/stow-lines", "1/unlock", "2/carry", "2/lower", "3/level"},
			ch5 + "4.1, uncouple (S27c); supply first from memory (b)"},
		{"uncoupling, leaf", Uncouple, "us", steel, []string{"1/trailer-brake", "1/legs-down", "1/unlock", "2/carry", "3/brake-still"}, ch5 + "4.1, uncouple, US variant (S29)"},
		{"dropping", Drop, "de", air, []string{"1/trailer-brake", "3/brake-still", "3/chocks-still", "3/place", "3/stands-on", "3/load-left", "3/pin-lock", "3/odometer"}, "issue, item 3: place, ground, load left, brake, chocks, kingpin lock"},
		{"slide", Slide, "de", air, []string{"1/trailer-brake", "1/chocks", "1/slack", "1/slide-free", "2/slide-home", "2/slide-stops", "2/slide-at", "3/slide-held", "3/gap-cab", "3/lines-free"}, "issue, item 3: brakes, lines, pins fully seated, pull test, gap, recorded position"},
	}
	for _, test := range tests {
		var keys []string
		for _, s := range card(t, test.flow, Pair{Facts: test.facts, Country: test.country}).Steps() {
			keys = append(keys, s.Key)
		}
		from := 0
		for _, want := range test.order {
			at := slices.Index(keys[from:], want)
			if at < 0 {
				t.Errorf("%s: %s is not there or too early in %v (%s)", test.name, want, keys, test.source)
				break
			}
			from += at + 1
		}
	}
	for _, row := range []struct {
		flow   Flow
		f      Facts
		absent string
		source string
	}{
		{Couple, steel, "level", "steel on steel has one level"},
		{Couple, Facts{Plate: Pitching}, "plate-level", "it cannot roll"},
		{Couple, Facts{Slider: No}, "slide-pins", "it does not slide"},
		{Couple, Facts{Wedge: No}, "wedge", "no wedge"},
		{Couple, Facts{Height: No}, "height-set", "not adjustable"},
		{Couple, Facts{Reach: Yes}, "reach", "the lines can be reached"},
		{Uncouple, steel, "lower", ch5 + "4.1: leaf, slow pull"},
	} {
		if n := len(find(card(t, row.flow, Pair{Facts: row.f, Country: "de"}), row.absent)); n != 0 {
			t.Errorf("%s is asked, %s", row.absent, row.source)
		}
	}
}

// TestDriving holds what is done at the wheel against the procedure.
func TestDriving(t *testing.T) {
	tests := []struct {
		flow   Flow
		f      Facts
		halt   int
		want   string
		source string
	}{
		{Couple, Facts{}, 2, "2 to 3 km/h", ch5 + "4.1, step 5"},
		{Couple, Facts{}, 2, "Never at an angle", ch5 + "4.1, step 3 (S29)"},
		{Couple, Facts{}, 2, "take the trailer's weight", ch5 + "4.1, step 4 (S29)"},
		{Couple, Facts{Wedge: Yes}, 2, "well under 10°", ch5 + "4.1, step 2 (S27)"},
		{Couple, Facts{}, 2, "If there is a steering wedge: well under 10°", ch5 + "4.1, step 2, not known"},
		{Couple, Facts{}, 1, "just short", ch5 + "4.1, step 3 (S28, S29)"},
		{Uncouple, Facts{Tractor: Air}, 2, "about 30 cm", ch5 + "4.1, uncouple, air (S27c)"},
		{Uncouple, Facts{Tractor: Steel}, 2, "frame still under", ch5 + "4.1, uncouple, US variant (S29)"},
		{Uncouple, Facts{}, 2, "30 cm", "not known: the more careful one"},
		{Restricted, Facts{}, 2, "well short of the lock", "issue: tractor part-way under"},
		{Slide, Facts{}, 3, "gently forward, then gently back", "issue, item 3: pull test"},
	}
	for _, test := range tests {
		c := card(t, test.flow, Pair{Facts: test.f, Country: "de"})
		var all []string
		for _, m := range c.Halts[test.halt-1].Drive {
			all = append(all, m.String())
		}
		if got := strings.Join(all, " "); !strings.Contains(got, test.want) {
			t.Errorf("%s, standstill %d: %q, expected %q (%s)", test.flow, test.halt, got, test.want, test.source)
		}
	}
}

// TestCards proves what holds on every card whatever is known.
func TestCards(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := pair(t)
		flow := rapid.SampledFrom(Flows()).Draw(t, "flow")
		c := card(t, flow, p)
		if len(c.Halts) != 3 {
			t.Fatalf("%d standstills", len(c.Halts))
		}
		seenKeys := map[string]bool{}
		for i, h := range c.Halts {
			if h.Number != i+1 || len(h.Steps) == 0 {
				t.Fatalf("standstill %d: %+v", i, h)
			}
			// Whoever drove gets out braked: the first question after driving is the key.
			if len(h.Drive) > 0 && (h.Steps[0].Name != "key-out" || !h.Steps[0].Stops) {
				t.Fatalf("%s: standstill %d follows driving and begins with %s", flow, h.Number, h.Steps[0].Key)
			}
			key, brake := false, false
			for _, s := range h.Steps {
				if seenKeys[s.Key] {
					t.Fatalf("%s stands twice", s.Key)
				}
				seenKeys[s.Key] = true
				switch s.Name {
				case "key-out":
					key = true
				case "trailer-brake", "both-brakes":
					brake = s.Stops && s.Ask.Safe == Yes
				}
				if strings.HasPrefix(s.Name, "join-") || strings.HasPrefix(s.Name, "part-") {
					if !key || !brake {
						t.Fatalf("%s, %s: %s before both parking brakes were seen", flow, p.Country, s.Key)
					}
				}
				if s.Reason.Source == "" || s.Reason.Why.In(English) == "" || !slices.Contains([]rule.Evidence{rule.Read, rule.Derived, rule.Practice, rule.Memory}, s.Reason.Evidence) {
					t.Fatalf("%s has no reason: %+v", s.Key, s.Reason)
				}
				if s.Lock && (s.Ask.Kind != Seen || s.Ask.Optional) {
					t.Fatalf("%s proves the lock and can be passed: %+v", s.Key, s.Ask)
				}
				if s.Ask.Kind == Seen && s.Ask.Safe != Yes && s.Ask.Safe != No || s.Ask.Kind == Number && s.Ask.Unit == "" || s.Ask.Kind == Choice && len(s.Ask.Choices) < 2 {
					t.Fatalf("%s asks for %+v", s.Key, s.Ask)
				}
				if s.Never != "" && s.Ask.Kind != Seen {
					t.Fatalf("%s is no direct question", s.Key)
				}
				if s.Name == "tug" && s.Lock {
					t.Fatalf("the tug proves a lock")
				}
			}
		}
		if got, want := len(c.NotKnown) > 0, len(p.Facts.NotKnown()) > 0; want && !got {
			t.Fatal("unknown facts are not named")
		}
	})
}

// TestUnknownIsStricter proves that forgetting a fact takes no step away, save
// the one that the fact itself had refused.
func TestUnknownIsStricter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := pair(t)
		flow := rapid.SampledFrom(Flows()).Draw(t, "flow")
		known := card(t, flow, p)
		less := p
		forget := []func(*Facts){
			func(f *Facts) { f.Opening = "" }, func(f *Facts) { f.From = "" }, func(f *Facts) { f.Securing = "" },
			func(f *Facts) { f.Mark = "" }, func(f *Facts) { f.Lamp = "" }, func(f *Facts) { f.Display = "" },
			func(f *Facts) { f.Plate = "" }, func(f *Facts) { f.Slider = "" }, func(f *Facts) { f.Height = "" },
			func(f *Facts) { f.Wedge = "" }, func(f *Facts) { f.ForWedge = "" }, func(f *Facts) { f.Reach = "" },
			func(f *Facts) { f.Tractor = "" }, func(f *Facts) { f.Trailer = "" }, func(f *Facts) { f.Legs = "" },
			func(f *Facts) { f.LegSides = "" }, func(f *Facts) { f.Pin = 0 }, func(f *Facts) { f.Lock = 0 },
		}
		forget[rapid.IntRange(0, len(forget)-1).Draw(t, "forgotten")](&less.Facts)
		unknown := card(t, flow, less)
		for _, s := range known.Steps() {
			u, there := unknown.Step(s.Key)
			if !there {
				t.Fatalf("%s is gone once a fact is forgotten", s.Key)
			}
			if u.Ask.Optional && !s.Ask.Optional || s.Stops && !u.Stops || s.Lock && !u.Lock {
				t.Fatalf("%s became weaker: %+v, was %+v", s.Key, u, s)
			}
		}
		// Without a wedge it does not matter what the coupling is approved for.
		matters := less.Facts.ForWedge == p.Facts.ForWedge || p.Facts.Wedge != No
		if less.Facts != p.Facts && matters && len(less.Facts.NotKnown()) <= len(p.Facts.NotKnown()) {
			t.Fatalf("a forgotten fact is not named: %v", unknown.NotKnown)
		}
	})
}

func TestNoFactIsUnnamed(t *testing.T) {
	if got := len(Facts{}.NotKnown()); got != 18 {
		t.Errorf("%d unknown facts of 18 are named", got)
	}
	whole := Facts{ByHand, OnLeft, Flap, No, No, No, Pitching, No, No, No, "", Yes, Air, Air, Crank, OneSide, 50, 50}
	if got := whole.NotKnown(); len(got) != 0 {
		t.Errorf("all is known that matters, and %v is named", got)
	}
	whole.Wedge = Yes
	if got := whole.NotKnown(); len(got) != 1 {
		t.Errorf("a wedge makes the approval matter: %v", got)
	}
}

func TestFactsThatCannotBe(t *testing.T) {
	tests := []struct {
		f  Facts
		ok bool
	}{
		{Facts{}, true},
		{Facts{Opening: ByHand, From: OnLeft}, true},
		{Facts{Opening: ByAir, From: InCab}, true},
		{Facts{Opening: ByAir, From: OnLeft}, true},
		{Facts{From: InCab}, true},
		{Facts{Opening: ByHand, From: InCab}, false},
		{Facts{Opening: OneHand, From: OnFrame}, false},
		{Facts{Opening: "magic"}, false},
		{Facts{Mark: "perhaps"}, false},
		{Facts{Pin: 5}, false},
		{Facts{Pin: -50}, false},
		{Facts{Lock: 50}, true},
	}
	for _, test := range tests {
		if err := test.f.Check(); (err == nil) != test.ok {
			t.Errorf("%+v: %v", test.f, err)
		}
		if _, err := NewCard(Couple, Pair{Facts: test.f}); (err == nil) != test.ok {
			t.Errorf("card of %+v: %v", test.f, err)
		}
	}
	if _, err := NewCard("fly", Pair{}); err == nil {
		t.Error("a card for a flow that does not exist")
	}
	if _, err := NewCard(Slide, Pair{Facts: Facts{Slider: No}}); err == nil {
		t.Error("a card to slide what does not slide")
	}
	if _, err := NewCard(Slide, Pair{Setting: &Setting{Least: 5, Aim: 4, Most: 6}}); err == nil {
		t.Error("an aim outside its range")
	}
}

func TestRefusedByFacts(t *testing.T) {
	tests := []struct {
		f      Facts
		step   string
		want   bool
		source string
	}{
		{Facts{Pin: 50, Lock: 90}, "size", true, ch5 + "1.2: pin only with a lock of its size, no adaptor (NSW 145)"},
		{Facts{Pin: 50, Lock: 50}, "size", false, ch5 + "1.2"},
		{Facts{Pin: 50}, "size", false, "not known: asked"},
		{Facts{Wedge: Yes, ForWedge: No}, "wedge", true, ch5 + "4.4 (DGUV)"},
		{Facts{Wedge: Yes, ForWedge: Yes}, "wedge", false, ch5 + "4.1, before"},
		{Facts{Wedge: Yes}, "wedge", false, "not known: asked"},
		{Facts{Reach: No}, "reach", true, "issue: restricted access is a flow of its own"},
	}
	for _, test := range tests {
		steps := find(card(t, Couple, Pair{Facts: test.f, Country: "de"}), test.step)
		if len(steps) != 1 || steps[0].Refused != test.want {
			t.Errorf("%+v: %+v, refused expected %v (%s)", test.f, steps, test.want, test.source)
		}
	}
}

func TestOffered(t *testing.T) {
	tests := []struct {
		f    Facts
		want []Flow
	}{
		{Facts{}, []Flow{Couple, Restricted, Uncouple, Drop, Slide}},
		{Facts{Reach: Yes, Slider: No}, []Flow{Couple, Uncouple, Drop}},
		{Facts{Reach: No, Slider: Yes}, []Flow{Restricted, Uncouple, Drop, Slide}},
	}
	for _, test := range tests {
		got := test.f.Offered()
		if !slices.Equal(got, test.want) {
			t.Errorf("%+v: %v, expected %v", test.f, got, test.want)
		}
		for _, flow := range got {
			if _, err := NewCard(flow, Pair{Facts: test.f}); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestOrders(t *testing.T) {
	tests := []struct {
		country  string
		couple   string
		evidence rule.Evidence
		uncouple string
		later    bool
		source   string
	}{
		{"de", "control supply electric", rule.Read, "supply control electric", false, ch5 + "4.1, step 8 (S27b); supply first (b)"},
		{"eu", "control supply electric", rule.Practice, "supply control electric", false, "nothing read for it"},
		{"fr", "control supply electric", rule.Practice, "supply control electric", false, "nothing read for it"},
		{"uk", "control supply electric", rule.Memory, "supply control electric", true, ch5 + "4.1, step 6 for the tug (S28)"},
		{"us", "control supply electric", rule.Memory, "supply control electric", false, "from memory"},
		{"au", "control supply electric", rule.Practice, "supply control electric", false, "nothing read for it"},
		{"nowhere", "control supply electric", rule.Practice, "supply control electric", false, "the common order"},
	}
	join := func(lines []Line) string {
		var s []string
		for _, l := range lines {
			s = append(s, string(l))
		}
		return strings.Join(s, " ")
	}
	for _, test := range tests {
		o, known := FindOrder(test.country)
		if known != (test.country != "nowhere") || join(o.Couple) != test.couple || o.Joined.Evidence != test.evidence || join(o.Uncouple) != test.uncouple || o.TugLater != test.later {
			t.Errorf("%s: %+v; expected as in %+v", test.country, o, test)
		}
		if o.Parted.Evidence.Certifies() {
			t.Errorf("%s: that supply comes off first was read nowhere", test.country)
		}
	}
	if n := len(card(t, Couple, Pair{Country: "nowhere"}).NotKnown) - len(card(t, Couple, Pair{Country: "de"}).NotKnown); n != 1 {
		t.Error("an unknown country is not named")
	}
}

func TestMeet(t *testing.T) {
	mm := func(v float64) *unit.Length { l := unit.Length(v) * unit.Millimetre; return &l }
	tests := []struct {
		coupling, plate *unit.Length
		want            Meets
		source          string
	}{
		{mm(1150), mm(1090), TooLow, ch5 + "10, row 49: 60 mm below"},
		{mm(1150), mm(1120), MeetsWell, ch5 + "10, row 49: 30 mm below"},
		{mm(1150), mm(1155), TooHigh, ch5 + "10, row 49: 5 mm above"},
		{mm(1150), mm(1100), MeetsWell, ch5 + "4.1, step 4: at most 50 mm"},
		{mm(1150), mm(1099), TooLow, "one beyond"},
		{mm(1150), mm(1149), MeetsWell, "slightly lower"},
		{mm(1150), mm(1150), TooHigh, "level is not lower"},
		{nil, mm(1150), NotTold, "missing is not a pass"},
		{mm(1150), nil, NotTold, "missing is not a pass"},
		{mm(-1), mm(1150), NotTold, "no height"},
		{mm(1150), mm(11500), NotTold, "no height"},
	}
	for _, test := range tests {
		m := Meet(test.coupling, test.plate)
		if m.Meets != test.want {
			t.Errorf("%v, %v: %+v, expected %s (%s)", test.coupling, test.plate, m, test.want, test.source)
		}
		if test.coupling != nil && *test.coupling > 0 && !(m.Highest-m.Lowest-Deepest < 1e-9 && m.Highest == *test.coupling) {
			t.Errorf("where the plate should stand: %v to %v", m.Lowest, m.Highest)
		}
	}
	c := card(t, Couple, Pair{Coupling: mm(1150), Plate: mm(1155)})
	if s := find(c, "height")[0]; !strings.Contains(s.Text.String(), "TOO HIGH") || !strings.Contains(s.Caution.String(), "Do not reverse") {
		t.Errorf("5 mm too high: %q, %q", s.Text, s.Caution)
	}
}

func TestMeetingAsJSON(t *testing.T) {
	mm := func(v float64) *unit.Length { l := unit.Length(v) * unit.Millimetre; return &l }
	for _, test := range []struct {
		m    Meeting
		want string
	}{
		{Meet(mm(1150), mm(1120)), `{"meets":"well","below_mm":30,"lowest_mm":1100,"highest_mm":1150}`},
		{Meet(mm(1150), mm(1155)), `{"meets":"too-high","below_mm":-5,"lowest_mm":1100,"highest_mm":1150}`},
		{Meet(mm(1150), nil), `{"meets":"not-told","lowest_mm":1100,"highest_mm":1150}`},
		{Meet(nil, nil), `{"meets":"not-told"}`},
	} {
		if got, err := json.Marshal(test.m); err != nil || string(got) != test.want {
			t.Errorf("%s (%v), expected %s", got, err, test.want)
		}
	}
}

func TestTravellingHeightRoundsUp(t *testing.T) {
	for _, test := range []struct {
		h    float64
		want int64
	}{{3.9991, 4000}, {4, 4000}, {3.999, 3999}, {3.9990001, 3999}, {3.9995, 4000}} {
		h := unit.Length(test.h)
		if c := card(t, Couple, Pair{Travelling: &h}); c.Travelling == nil || *c.Travelling != test.want {
			t.Errorf("%v m: %v, expected %d", test.h, c.Travelling, test.want)
		}
	}
	if c := card(t, Couple, Pair{}); c.Travelling != nil {
		t.Error("a height from nowhere")
	}
}

func BenchmarkNewCard(b *testing.B) {
	for b.Loop() {
		if _, err := NewCard(Couple, Pair{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOutcome(b *testing.B) {
	c := answered(b, fresh(Couple, Facts{}, "de"))
	for b.Loop() {
		if _, err := c.Outcome(); err != nil {
			b.Fatal(err)
		}
	}
}
