package yard

import (
	"slices"
	"strings"

	"underpin/record"
	"underpin/rule"
)

// A Drive is what a check comes to.
type Drive string

const (
	MayDrive     Drive = "may-drive"
	MustNotDrive Drive = "must-not-drive"
	NotYetTold   Drive = "cannot-tell" // never treated as a pass
)

// WordsPerSecond is how fast the steps can be read. An answer that comes sooner
// than its step can be read, or within LeastReading, is too fast and is shown.
//
// Source: common practice, no source: an assumption, near the pace of reading silently.
const WordsPerSecond = 4

// LeastReading is the shortest time, in milliseconds, in which a step can be
// taken in.
//
// Source: common practice, no source: an assumption.
const LeastReading = 1000

// LongestPause is the time between two answers, in milliseconds, after which a
// check counts as interrupted, so that every look of the lock is taken again.
//
// Source: NRSPP trailer coupling guideline, that one begins anew after an
// interruption; the 15 minutes are an assumption, common practice, no source.
const LongestPause = 15 * 60 * 1000

// clockSlack is how far, in milliseconds, the phone's clock may run from the
// steady one before it counts as having been set.
const clockSlack = 60_000

// A Because is one reason of an outcome.
type Because struct {
	Step    string  `json:"step,omitempty"`
	Text    Message `json:"text,omitzero"` // what the step asked
	Message Message `json:"message"`
}

// An Outcome is what a check comes to, and everything about it that somebody
// should see.
type Outcome struct {
	Says Drive `json:"says"`
	// Locked is what the looks say of the lock alone: yes when each was taken
	// and says so, no when one says no, empty when it cannot be told.
	Locked YesNo     `json:"locked,omitempty"`
	Why    []Because `json:"why,omitempty"` // what forbids first, then what is missing

	Skipped    []string `json:"skipped,omitempty"`     // steps without an answer
	Hasty      []string `json:"hasty,omitempty"`       // answered sooner than they can be read
	Past       []string `json:"past,omitempty"`        // answered before a stop had been confirmed
	Paused     []string `json:"paused,omitempty"`      // answered after an interruption
	Failed     int      `json:"failed,omitempty"`      // rounds in which a look of the lock failed
	ClockMoved bool     `json:"clock_moved,omitempty"` // the phone's clock was set meanwhile
}

// Reading is how long, in milliseconds, it takes at least to read a step:
//
//	t = max(words / 4, 1 s)
func (s Step) Reading(l Language) int64 {
	words := int64(len(strings.Fields(s.Text.In(l))))
	return max(1000*words/WordsPerSecond, LeastReading)
}

// Outcome judges a check by the card that its pair gives today. A check made
// with an earlier edition of the cards is judged by this one: what it was not
// asked is missing.
func (c *Check) Outcome() (Outcome, error) {
	card, err := NewCard(c.Flow, c.Pair())
	if err != nil {
		return Outcome{}, err
	}
	j := judge{c: c, card: card, steps: card.Steps(), last: map[string]int{}}
	return j.outcome(), nil
}

type judge struct {
	c     *Check
	card  *Card
	steps []Step
	last  map[string]int // index of the last answer to each step
	from  int            // looks of the lock count from this answer on
	out   Outcome

	forbids, lacks []Because
}

func (j *judge) outcome() Outcome {
	j.walk()
	for _, s := range j.steps {
		j.step(s)
	}
	j.pair()
	if j.c.Signed == nil {
		j.lack("", say("out.not-signed"))
	}
	if len(j.out.Past) > 0 {
		j.forbid(j.out.Past[0], say("out.past"))
	}
	if j.out.Failed > 1 {
		j.forbid("", say("out.failed-twice"))
	}
	j.out.Says = MayDrive
	switch {
	case len(j.forbids) > 0:
		j.out.Says = MustNotDrive
	case len(j.lacks) > 0:
		j.out.Says = NotYetTold
	}
	j.out.Locked = j.locked()
	j.out.Why = append(j.forbids, j.lacks...)
	return j.out
}

func (j *judge) forbid(step string, m Message) { j.forbids = append(j.forbids, j.because(step, m)) }
func (j *judge) lack(step string, m Message)   { j.lacks = append(j.lacks, j.because(step, m)) }

func (j *judge) because(step string, m Message) Because {
	s, _ := j.card.Step(step)
	return Because{step, s.Text, m}
}

// safe tells whether an answer is the one that lets go on.
func (s Step) safe(a Answer) bool {
	return !s.Refused && (s.Ask.Kind != Seen || a.Seen == s.Ask.Safe)
}

// walk goes through the answers as they were given.
func (j *judge) walk() {
	place := map[string]int{}
	for i, s := range j.steps {
		place[s.Key] = i
	}
	safe := make([]bool, len(j.steps)) // stops confirmed so far
	round := map[string]bool{}         // looks taken since the lock was last closed
	failed := false                    // one of them
	for i, a := range j.c.Answers {
		at, there := place[a.Step]
		if !there {
			continue
		}
		s := j.steps[at]
		j.pace(i, s)
		for k := range at {
			if j.steps[k].Stops && !safe[k] && !slices.Contains(j.out.Past, s.Key) {
				j.out.Past = append(j.out.Past, s.Key)
			}
		}
		if s.Stops {
			safe[at] = s.safe(a)
		}
		if s.Lock {
			// A look taken again after a failure belongs to the next closing.
			if failed && round[s.Key] {
				clear(round)
				failed = false
			}
			round[s.Key] = true
			if !s.safe(a) {
				if !failed {
					j.out.Failed++
				}
				failed, j.from = true, i+1
			}
		}
		j.last[s.Key] = i
	}
}

// pace holds the time since the answer before against what reading takes.
func (j *judge) pace(i int, s Step) {
	a := j.c.Answers[i]
	before := Answer{At: j.c.Began, Tick: new(int64)}
	if i > 0 {
		before = j.c.Answers[i-1]
	}
	clock := int64(a.At-before.At) / 1000
	took := clock
	if a.Tick != nil && before.Tick != nil {
		took = *a.Tick - *before.Tick
		if d := took - clock; d > clockSlack || -d > clockSlack {
			j.out.ClockMoved = true
		}
	}
	if took < 0 {
		j.out.ClockMoved = true
		return // nobody can tell how long it took
	}
	if took < s.Reading(j.c.Language) && !slices.Contains(j.out.Hasty, s.Key) {
		j.out.Hasty = append(j.out.Hasty, s.Key)
	}
	if i > 0 && took > LongestPause {
		j.out.Paused = append(j.out.Paused, s.Key)
		j.from = max(j.from, i)
	}
}

// step judges one step by its last answer.
func (j *judge) step(s Step) {
	i, answered := j.last[s.Key]
	switch {
	case s.Refused:
		j.forbid(s.Key, j.state(s))
	case !answered:
		j.out.Skipped = append(j.out.Skipped, s.Key)
		if !s.Ask.Optional {
			j.lack(s.Key, say("out.skipped"))
		}
	case s.Ask.Kind == Seen && j.c.Answers[i].Seen == CannotSee && !s.Stops && !s.Lock:
		j.lack(s.Key, say("out.not-seen"))
	case !s.safe(j.c.Answers[i]):
		j.forbid(s.Key, j.state(s))
	case s.Lock && i < j.from:
		j.lack(s.Key, say("out.look-again"))
	case s.Name == "slide-at":
		j.position(s, *j.c.Answers[i].Number)
	}
}

// state is the sentence for a wrong answer.
func (j *judge) state(s Step) Message {
	if s.Never != "" {
		return sayKeys("out.never", s.Never)
	}
	return say("out.wrong")
}

// position holds where the slider stands against where it may.
func (j *judge) position(s Step, at int64) {
	switch set := j.card.Setting; {
	case set == nil:
		j.lack(s.Key, say("out.no-setting"))
	case at < set.Least || at > set.Most:
		j.forbid(s.Key, say("out.position", whole(at)+" mm", whole(set.Least)+" mm", whole(set.Most)+" mm"))
	}
}

// pair adds what the card said of the pair, where it is about to be driven.
func (j *judge) pair() {
	if j.c.Flow != Couple && j.c.Flow != Restricted {
		return
	}
	switch a := j.c.Allowed; a.Says {
	case rule.Fits:
	case DoNotUse, rule.DoesNotFit:
		j.forbid("", a.Reason)
	case rule.FitsIf, rule.CannotTell:
		j.lack("", a.Reason)
	default:
		j.lack("", say("allow.not-worked-out"))
	}
}

// locked is what the looks say alone.
func (j *judge) locked() YesNo {
	looks, proven := 0, 0
	for _, s := range j.steps {
		if !s.Lock {
			continue
		}
		looks++
		i, answered := j.last[s.Key]
		switch {
		case answered && !s.safe(j.c.Answers[i]):
			return No
		case answered && i >= j.from:
			proven++
		}
	}
	if looks == 0 || proven < looks || j.out.Failed > 1 {
		return ""
	}
	return Yes
}

// Number is the last number that was given to the step of that name.
func (c *Check) Number(name string) *int64 {
	for i := len(c.Answers) - 1; i >= 0; i-- {
		if _, step, _ := strings.Cut(c.Answers[i].Step, "/"); step == name {
			return c.Answers[i].Number
		}
	}
	return nil
}

// reading is the odometer as the driver read it.
func (c *Check) reading() record.MeterReading {
	km := c.Number("odometer")
	if km == nil {
		return record.MeterReading{}
	}
	metres := *km * 1000
	return record.MeterReading{Meter: record.Odometer, Metres: &metres}
}

// Starts is the body that begins the coupled period: a signed coupling in which
// no look says that the lock is open. It begins although something else is
// missing, for the trailer may be driven all the same and its distance counts.
// A guest has no chain, so no period.
func (c *Check) Starts(o Outcome) (record.Coupled, bool) {
	if c.Flow != Couple && c.Flow != Restricted || c.Signed == nil || o.Locked == No || c.Tractor.Asset == "" || c.Trailer.Asset == "" {
		return record.Coupled{}, false
	}
	return record.Coupled{By: c.Tractor.Asset, ByReading: c.reading(), Place: c.Place}, true
}

// Ends is the body that ends a coupled period: a signed uncoupling or drop.
func (c *Check) Ends(period record.ID) (record.Uncoupled, bool) {
	if c.Flow != Uncouple && c.Flow != Drop || c.Signed == nil || c.Trailer.Asset == "" {
		return record.Uncoupled{}, false
	}
	place := c.Place
	for _, a := range c.Answers {
		if _, step, _ := strings.Cut(a.Step, "/"); step == "place" {
			place = a.Words
		}
	}
	return record.Uncoupled{Period: period, ByReading: c.reading(), Place: place}, true
}

// Happened is when the check was signed, in truth where the phone's clock is
// known, and whether it is.
func (c *Check) Happened() (record.Time, bool) {
	if c.Signed == nil {
		return c.Clock.True(c.Began)
	}
	return c.Clock.True(c.Signed.At)
}
