package yard

import (
	"fmt"

	"underpin/record"
	"underpin/rule"
)

// A Point is one sentence of a briefing. Its reason may have no words of its own
// where the sentence says all.
type Point struct {
	Text   Key
	Reason Reason
}

// A Section is a heading and its points.
type Section struct {
	Title  Key
	Points []Point
}

// A Page is one side of paper.
type Page struct {
	Title    Key
	Sections []Section
}

// because gives points their reasons.
func because(k Key, r Reason) Point { return Point{k, r} }

var (
	srcDGUV     = Reason{Source: "DGUV Information 214-080", Evidence: rule.Read}
	srcDropped  = Reason{Source: "trade press on dropped trailers; the survey was paid for by a supplier", Evidence: rule.Read}
	srcRunaway  = Reason{Source: "HSE workplace transport, coupling; report RR1069", Evidence: rule.Read}
	srcKilled   = Reason{Source: "WorkSafe Queensland, coupling trailers", Evidence: rule.Read}
	srcWear     = Reason{Source: "handbook chapter 05, section 4.2, from press on an accident of 2014", Evidence: rule.Memory}
	srcGuide    = Reason{Source: "NRSPP trailer coupling guideline", Evidence: rule.Read}
	srcPractice = Reason{Source: "common practice, no source", Evidence: rule.Practice}
	srcStuck    = Reason{Source: "BGI 599 (2003), part c", Evidence: rule.Read}
)

// Briefing is what a driver takes along: two pages.
func Briefing() []Page {
	states := make([]Point, 0, len(neverStates))
	for _, s := range neverStates {
		states = append(states, because(s.Key, s.Reason))
	}
	return []Page{
		{"brief.page.1", []Section{
			{"brief.why", []Point{because("brief.why.people", srcDGUV), because("brief.why.metres", srcDropped), because("brief.why.survey", srcDropped), because("brief.why.brake", srcRunaway), because("brief.why.killed", srcKilled)}},
			{"brief.halts", []Point{because("brief.halts.still", whyKeyOut), because("brief.halts.order", srcGuide), because("brief.halts.broken", srcGuide)}},
			{"brief.before", []Point{because("brief.before.brake", never("never.brakes")), because("brief.before.chocks", whyChocks), because("brief.before.height", whyHeight), because("brief.before.straight", whyAngle)}},
			{"brief.reverse", []Point{because("brief.reverse.slow", srcPractice), because("brief.reverse.lift", whyHeight)}},
			{"brief.look", []Point{because("brief.look.gap", never("never.gap")), because("brief.look.jaws", never("never.jaws")), because("brief.look.handle", never("never.handle")),
				because("brief.look.safety", never("never.safety")), because("brief.look.mark", never("never.indicator")), because("brief.look.display", never("never.display")), because("brief.look.tug", whyTug)}},
			{"brief.lines", []Point{because("brief.lines.both", whyBoth), because("brief.lines.order", joinedElse), because("brief.lines.reach", whyReach)}},
		}},
		{"brief.page.2", []Section{
			{"brief.never", states},
			{"brief.part", []Point{because("brief.part.legs", whyDown), because("brief.part.lines", partedAll), because("brief.part.unlock", whyUnlock), because("brief.part.out", whyLower), because("brief.part.after", whyCarry)}},
			{"brief.wrong", []Point{because("brief.wrong.no-couple", srcPractice), because("brief.wrong.no-lock", srcPractice), because("brief.wrong.stuck", srcStuck), because("brief.wrong.handle", srcPractice), because("brief.wrong.display", srcPractice), because("brief.wrong.play", srcPractice)}},
			{"brief.tell", []Point{because("brief.tell.defect", srcPractice), because("brief.tell.tag", srcPractice), because("brief.tell.event", never("never.event")), because("brief.tell.wear", srcWear)}},
		}},
	}
}

// A Question has one right choice.
type Question struct {
	Text    Key
	Choices []Key
	Right   int
	Explain Reason
}

// A Formula stands behind a step, for whoever wants to know.
type Formula struct {
	Step    string // name of the step on a card
	Formula string
	Explain Key
	Reason  Reason
}

// A Talk is a toolbox talk: what the trainer says, the short test, and the
// formulas behind the steps.
type Talk struct {
	Title     Key
	Points    []Point
	Questions []Question
	Formulas  []Formula
}

// question builds a question with the choices key.1, key.2 and so on.
func question(k Key, choices, right int, why Reason) Question {
	q := Question{Text: k, Right: right - 1, Explain: why}
	q.Explain.Why = k + ".why"
	for i := range choices {
		q.Choices = append(q.Choices, Key(fmt.Sprintf("%s.%d", k, i+1)))
	}
	return q
}

// ToolboxTalk is the talk with its test.
func ToolboxTalk() Talk {
	return Talk{
		Title: "talk.title",
		Points: []Point{
			because("talk.bring", srcPractice), because("talk.story", srcPractice), because("talk.show-gap", never("never.gap")),
			because("talk.show-pin", never("never.jaws")), because("talk.show-brake", never("never.brakes")), because("talk.show-lines", whyBoth),
			because("talk.ask", srcGuide), because("talk.yearly", Reason{Source: "trade press on coupling by BG Verkehr (2021): drivers are instructed every year, on paper", Evidence: rule.Read}),
		},
		Questions: []Question{
			question("talk.q.tug", 3, 2, whyTug),
			question("talk.q.red", 2, 2, whyChocks),
			question("talk.q.high", 3, 3, whyHeight),
			question("talk.q.green", 2, 1, Reason{Source: "common practice, no source; UN R55, Annex 5, from memory", Evidence: rule.Memory}),
			question("talk.q.dark", 3, 1, srcPractice),
			question("talk.q.lines", 3, 3, joinedDE),
			question("talk.q.called", 2, 2, srcGuide),
			question("talk.q.flap", 2, 1, srcPractice),
			question("talk.q.stuck", 3, 2, srcStuck),
			question("talk.q.chocks", 3, 1, whyChocks),
			question("talk.q.twice", 2, 2, srcPractice),
		},
		Formulas: []Formula{
			{"height", "0 < h − p ≤ 50 mm", "formula.height", Reason{Source: "common practice, no source; handbook chapter 05, sections 4.1 and 10, row 49", Evidence: rule.Practice}},
			{"pin", "e = L · tan 1° = 84 mm · 0.01746 = 1.47 mm", "formula.pin", Reason{Source: "derived from TM 9-2330-335 by plane geometry", Evidence: rule.Derived}},
			{"tug", "E = ½ · m · v²; (6 / 3)² = 4", "formula.speed", Reason{Source: "mechanics of rigid bodies", Evidence: rule.Derived}},
			{"today", "H = coupling height + height of the body above the trailer's plate", "formula.today", Reason{Source: "plane geometry, for a level trailer", Evidence: rule.Derived}},
		},
	}
}

// A Mark is what a test came to.
type Mark struct {
	Right  int
	Wrong  []int // indices of the questions to explain
	Passed bool
}

// Mark holds choices against the questions; -1 is none. All have to be right:
// explain what was not and ask again.
func (t Talk) Mark(choices []int) Mark {
	m := Mark{}
	for i, q := range t.Questions {
		if i < len(choices) && choices[i] == q.Right {
			m.Right++
		} else {
			m.Wrong = append(m.Wrong, i)
		}
	}
	m.Passed = len(m.Wrong) == 0 && len(choices) == len(t.Questions)
	return m
}

// Briefed is the record that somebody was briefed and took the test.
type Briefed struct {
	ID       record.ID    `json:"id"`
	Edition  int          `json:"edition"`
	Language Language     `json:"language"`
	Trainer  string       `json:"trainer,omitempty"`
	Choices  [][]int      `json:"choices"` // each try
	Account  record.Asset `json:"account,omitempty"`
	Signed   Signature    `json:"signed"`
}

// Validate refuses a record that no talk can have led to.
func (b *Briefed) Validate() error {
	if err := first(
		must("id", string(b.ID), b.ID.Valid(), "a version 7 UUID"),
		must("edition", fmt.Sprint(b.Edition), 1 <= b.Edition && b.Edition <= Edition, "an edition that this program knows"),
		must("language", string(b.Language), b.Language != "", "a language"), oneOf("language", b.Language, Languages()...),
		plain("trainer", b.Trainer, maxName, false), plain("signed.name", b.Signed.Name, maxName, true),
		must("signed.at", b.Signed.At.String(), b.Signed.At.Valid(), "an instant"),
		must("choices", fmt.Sprint(len(b.Choices)), 1 <= len(b.Choices) && len(b.Choices) <= 50, "from 1 to 50 tries")); err != nil {
		return err
	}
	for _, try := range b.Choices {
		if len(try) != len(ToolboxTalk().Questions) {
			return &record.RuleError{Field: "choices", Found: fmt.Sprint(len(try)), Want: "one for each question"}
		}
	}
	return nil
}

// Passed tells whether the last try was all right.
func (b *Briefed) Passed() bool {
	return len(b.Choices) > 0 && ToolboxTalk().Mark(b.Choices[len(b.Choices)-1]).Passed
}
