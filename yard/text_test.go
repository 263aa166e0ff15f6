package yard

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"underpin/rule"
	"underpin/unit"
)

// cards calls do with cards that hold every text there is: each value of each
// fact, in the pairs that a text depends on, in every country and flow.
func cards(t *testing.T, do func(*Card)) {
	var all []Facts
	for _, o := range openings {
		for _, from := range places {
			if f := (Facts{Opening: o, From: from}); f.together() == nil {
				all = append(all, f)
			}
		}
	}
	for _, s := range securings {
		all = append(all, Facts{Securing: s})
	}
	for _, y := range triStates {
		all = append(all, Facts{Mark: y, Lamp: y, Display: y, Slider: y, Height: y, Reach: y})
		for _, ok := range triStates {
			all = append(all, Facts{Wedge: y, ForWedge: ok})
		}
	}
	for _, p := range []Plate{"", Pitching, PitchingRolling} {
		all = append(all, Facts{Plate: p})
	}
	for _, a := range []Suspension{"", Air, Steel} {
		for _, b := range []Suspension{"", Air, Steel} {
			all = append(all, Facts{Tractor: a, Trailer: b})
		}
	}
	for _, legs := range []LegDrive{"", Crank, Motor} {
		for _, sides := range []LegSides{"", OneSide, TwoSides} {
			all = append(all, Facts{Legs: legs, LegSides: sides})
		}
	}
	all = append(all, Facts{Pin: 50, Lock: 50}, Facts{Pin: 50, Lock: 90})
	h := func(v float64) *unit.Length { l := unit.Length(v); return &l }
	for _, f := range all {
		for _, country := range countries {
			for _, flow := range Flows() {
				do(card(t, flow, Pair{Facts: f, Country: country}))
			}
		}
	}
	for _, plate := range []float64{1.0, 1.12, 1.2} {
		do(card(t, Couple, Pair{Travelling: h(4), Coupling: h(1.15), Plate: h(plate)}))
	}
	do(card(t, Slide, Pair{Setting: &Setting{300, 600, 450}}))
}

// wanted collects every key that the package shows, each with the number of its
// values.
func wanted(t *testing.T) map[Key]int {
	used := map[Key]int{}
	key := func(k Key) {
		if k != "" {
			used[k] = max(used[k], 0)
		}
	}
	message := func(m Message) {
		if m.none() {
			return
		}
		used[m.Key] = max(used[m.Key], len(m.Args))
		for _, a := range m.Args {
			key(a.Key)
		}
	}
	cards(t, func(c *Card) {
		for _, h := range c.Halts {
			key(h.Title)
			for _, m := range h.Drive {
				message(m)
			}
			for _, s := range h.Steps {
				message(s.Text)
				message(s.Caution)
				key(s.Reason.Why)
				key(s.Never)
				for _, k := range s.Ask.Choices {
					key(k)
				}
			}
		}
		for _, m := range slices.Concat(c.After, c.NotKnown) {
			message(m)
		}
	})
	for _, s := range NeverStates() {
		key(s.Key)
		key(s.Reason.Why)
	}
	points := func(all []Point) {
		for _, p := range all {
			key(p.Text)
			key(p.Reason.Why)
		}
	}
	for _, p := range Briefing() {
		key(p.Title)
		for _, s := range p.Sections {
			key(s.Title)
			points(s.Points)
		}
	}
	talk := ToolboxTalk()
	key(talk.Title)
	points(talk.Points)
	for _, q := range talk.Questions {
		key(q.Text)
		key(q.Explain.Why)
		for _, k := range q.Choices {
			key(k)
		}
	}
	for _, f := range talk.Formulas {
		key(f.Explain)
	}
	for _, s := range []Sensor{LockSensor, DisplaySensor, Cartridge} {
		key(Key("sensor." + s))
	}
	for _, s := range []SensorState{Closed, Open, Fault, Silent, Low, Empty} {
		key(Key("state." + s))
	}
	return used
}

var said = regexp.MustCompile(`"((?:allow|out|sense|say)\.[a-z.-]+)"`)

// sentences finds the keys of the sentences with values in the code itself.
func sentences(t *testing.T) []Key {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var all []Key
	for _, file := range files {
		if strings.HasPrefix(file, "words_") || strings.HasSuffix(file, "_test.go") {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range said.FindAllStringSubmatch(string(text), -1) {
			all = append(all, Key(m[1]))
		}
	}
	if len(all) < 20 {
		t.Fatalf("found %d sentences", len(all))
	}
	return all
}

// TestTexts proves that every text that can be shown stands in each language,
// that none stands there unused, and that values go to the same places.
func TestTexts(t *testing.T) {
	used := wanted(t)
	for _, k := range sentences(t) {
		if _, ok := used[k]; !ok {
			used[k] = -1 // its values are counted in the text
		}
	}
	for k, values := range used {
		row, ok := texts[k]
		if !ok {
			t.Errorf("%s has no text", k)
			continue
		}
		for _, l := range Languages() {
			if strings.TrimSpace(row[columns[l]]) == "" {
				t.Errorf("%s has no text in %s", k, l)
			}
		}
		if values > 0 && !strings.Contains(row[0], "{") {
			t.Errorf("%s is given %d values and shows none", k, values)
		}
	}
	for k := range texts {
		if _, ok := used[k]; !ok {
			t.Errorf("%s is never shown", k)
		}
	}
	if len(columns) != len(Languages()) {
		t.Errorf("%d languages and %d columns", len(Languages()), len(columns))
	}
}

var place = regexp.MustCompile(`\{\d\}`)

func TestRows(t *testing.T) {
	seen := map[Key]bool{}
	for _, rows := range [][]row{stepWords, whyWords, sayWords, judgeWords, senseWords, briefWords, talkWords} {
		for _, r := range rows {
			if seen[r.key] {
				t.Errorf("%s stands twice", r.key)
			}
			seen[r.key] = true
			en, de := r.text[0], r.text[1]
			a, b := place.FindAllString(en, -1), place.FindAllString(de, -1)
			slices.Sort(a)
			slices.Sort(b)
			if !slices.Equal(a, b) {
				t.Errorf("%s: %v in English, %v in German", r.key, a, b)
			}
			if en == de && en != "" {
				t.Errorf("%s: %q in both languages", r.key, en)
			}
			for _, text := range r.text {
				if text != strings.TrimSpace(text) || strings.Contains(text, "  ") || !utf8.ValidString(text) {
					t.Errorf("%s: %q", r.key, text)
				}
			}
			if strings.HasSuffix(en, "?") != strings.HasSuffix(de, "?") || strings.HasSuffix(en, ".") != strings.HasSuffix(de, ".") {
				t.Errorf("%s: %q is closed otherwise than %q", r.key, en, de)
			}
			// Short enough for gloves and rain: a step is read in five seconds.
			if strings.HasPrefix(string(r.key), "step.") {
				for _, text := range r.text {
					if n := len(strings.Fields(text)); n > 20 {
						t.Errorf("%s: %d words: %q", r.key, n, text)
					}
				}
			}
		}
	}
	if len(seen) != len(texts) {
		t.Errorf("%d rows, %d texts", len(seen), len(texts))
	}
}

func TestMessages(t *testing.T) {
	m := sayKeys("step.join", "line.supply.eu")
	if got := m.In(English); got != "Connect the supply line (red)." {
		t.Error(got)
	}
	if got := m.In(German); got != "Anschließen: Vorratsleitung (rot)." {
		t.Error(got)
	}
	if got := m.In("xx"); got != m.In(English) {
		t.Error("a language that is not spoken does not get English")
	}
	if got := Key("nothing").In(English); got != "" {
		t.Error(got)
	}
	// What is put in is not looked through for places of its own.
	if got := say("allow.do-not-use", "{2}", "x").String(); got != "Do not use {2}: x." {
		t.Error(got)
	}
}

func TestCatalogue(t *testing.T) {
	for _, l := range Languages() {
		all := Catalogue(l)
		if len(all) != len(texts) || all["step.gap"] != Key("step.gap").In(l) {
			t.Errorf("%s: %d texts of %d", l, len(all), len(texts))
		}
	}
}

func TestBriefing(t *testing.T) {
	pages := Briefing()
	if len(pages) != 2 {
		t.Fatalf("%d pages, expected two (issue, item 10)", len(pages))
	}
	seen := map[Key]bool{}
	check := func(r Reason, k Key) {
		if r.Source == "" || !slices.Contains([]rule.Evidence{rule.Read, rule.Derived, rule.Practice, rule.Memory}, r.Evidence) {
			t.Errorf("%s has no source or mark: %+v", k, r)
		}
		if strings.Contains(r.Source, "no source") && r.Evidence.Certifies() || strings.Contains(r.Source, "memory") && r.Evidence != rule.Memory {
			t.Errorf("%s: %s is marked %s", k, r.Source, r.Evidence)
		}
	}
	for _, p := range pages {
		words := 0
		for _, s := range p.Sections {
			for _, point := range s.Points {
				check(point.Reason, point.Text)
				seen[point.Text] = true
				words += len(strings.Fields(point.Text.In(German)))
			}
		}
		if words > 420 { // a side of A4 in 11 point with headings holds about 450
			t.Errorf("%s: %d words do not go on one side", p.Title, words)
		}
	}
	for _, s := range NeverStates() {
		check(s.Reason, s.Key)
		if !seen[s.Key] {
			t.Errorf("the briefing does not say %s", s.Key)
		}
	}
	for _, o := range Orders() {
		check(o.Joined, "line.control")
		check(o.Parted, "line.supply")
	}
	talk := ToolboxTalk()
	for _, q := range talk.Questions {
		check(q.Explain, q.Text)
		if q.Right < 0 || q.Right >= len(q.Choices) {
			t.Errorf("%s: choice %d of %d is right", q.Text, q.Right, len(q.Choices))
		}
	}
	names := map[string]bool{}
	cards(t, func(c *Card) {
		for _, s := range c.Steps() {
			names[s.Name] = true
			check(s.Reason, Key(s.Key))
		}
	})
	for _, f := range talk.Formulas {
		check(f.Reason, f.Explain)
		if !names[f.Step] {
			t.Errorf("formula %s stands behind no step", f.Formula)
		}
	}
}

// TestTalkAnswers holds the right choices against the sentences that they must
// contain.
func TestTalkAnswers(t *testing.T) {
	rows := []struct {
		question Key
		right    string
		source   string
	}{
		{"talk.q.tug", "looked between the plates and behind the pin", ch5 + "4.2: handle, clip and tug are not sufficient"},
		{"talk.q.red", "Only the parking brake", ch5 + "4.1, step 1 (S27)"},
		{"talk.q.high", "Do not reverse. Lower", ch5 + "10, row 49"},
		{"talk.q.green", "Not locked", ch5 + "4.3: the display never replaces the look"},
		{"talk.q.dark", "Counts as unlocked", ch5 + "4.3: display fault"},
		{"talk.q.lines", "both parking brakes", ch5 + "4.1, step 8"},
		{"talk.q.called", "again", ch5 + "4.1, step 7 (S30)"},
		{"talk.q.flap", "fall by itself", ch5 + "4.3"},
		{"talk.q.stuck", "ease the tractor", ch5 + "4.1, uncouple (S27c)"},
		{"talk.q.chocks", "fixed axle", ch5 + "4.1, step 1 (S27)"},
		{"talk.q.twice", "workshop", ch5 + "5, couples, not locking"},
	}
	talk := ToolboxTalk()
	if len(rows) != len(talk.Questions) {
		t.Fatalf("%d questions, %d rows", len(talk.Questions), len(rows))
	}
	var right []int
	for i, q := range talk.Questions {
		if got := q.Choices[q.Right].In(English); q.Text != rows[i].question || !strings.Contains(got, rows[i].right) {
			t.Errorf("%s: %q, expected %q (%s)", q.Text, got, rows[i].right, rows[i].source)
		}
		right = append(right, q.Right)
	}
	if m := talk.Mark(right); !m.Passed || m.Right != len(rows) {
		t.Errorf("all right: %+v", m)
	}
	for i := range right {
		wrong := slices.Clone(right)
		wrong[i] = (wrong[i] + 1) % len(talk.Questions[i].Choices)
		if m := talk.Mark(wrong); m.Passed || !slices.Equal(m.Wrong, []int{i}) {
			t.Errorf("question %d wrong: %+v", i, m)
		}
	}
	for _, short := range [][]int{nil, right[:3], append(slices.Clone(right), 0)} {
		if talk.Mark(short).Passed {
			t.Errorf("passed with %d answers", len(short))
		}
	}
	b := Briefed{ID: itemID(1), Edition: Edition, Language: German, Choices: [][]int{make([]int, len(right)), right}, Signed: Signature{Name: "A. Driver", At: began}}
	if err := b.Validate(); err != nil || !b.Passed() {
		t.Errorf("%v, passed %v", err, b.Passed())
	}
	b.Choices = b.Choices[:1]
	if b.Passed() {
		t.Error("passed on wrong answers")
	}
	b.Choices = [][]int{{1}}
	fault(t, b.Validate(), "choices")
}

func TestTalkFormulas(t *testing.T) {
	const l = 84.0 // mm, handbook chapter 05, 1.2: 1.47 mm at 84 mm
	if got := l * 0.017455064928; !(got > 1.465 && got < 1.475) {
		t.Errorf("%v mm, expected 1.47", got)
	}
	for _, f := range ToolboxTalk().Formulas {
		if f.Step == "pin" && !strings.Contains(f.Formula, "= 1.47 mm") {
			t.Errorf("%s does not say 1.47 mm", f.Formula)
		}
	}
}
