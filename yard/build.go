package yard

import (
	"fmt"
	"math"
	"strconv"
)

// A builder puts the steps of a card together.
type builder struct {
	card  *Card
	f     Facts
	order Order
	p     Pair
}

func newBuilder(flow Flow, p Pair) *builder {
	order, known := FindOrder(p.Country)
	b := &builder{card: &Card{Flow: flow, Country: p.Country, NotKnown: p.Facts.NotKnown(), Setting: p.Setting}, f: p.Facts, order: order, p: p}
	if !known {
		b.card.NotKnown = append(b.card.NotKnown, sayKeys("say.not-known", "fact.country"))
	}
	b.card.Meeting = Meet(p.Coupling, p.Plate)
	if flow == Couple || flow == Restricted {
		if b.card.Meeting.Meets == NotTold {
			b.card.NotKnown = append(b.card.NotKnown, sayKeys("say.not-known", "fact.meeting"))
		}
		if h := p.Travelling; h != nil && 1 <= *h && *h <= 10 {
			up := int64(math.Ceil(math.Round(float64(*h)*1e6) / 1e3))
			b.card.Travelling = &up
		} else {
			b.card.NotKnown = append(b.card.NotKnown, sayKeys("say.not-known", "fact.travelling"))
		}
	}
	if flow == Slide && p.Setting == nil {
		b.card.NotKnown = append(b.card.NotKnown, sayKeys("say.not-known", "fact.setting"))
	}
	return b
}

// halt begins a standstill.
func (b *builder) halt(drive ...Message) {
	n := len(b.card.Halts) + 1
	group := "couple"
	switch b.card.Flow {
	case Restricted:
		group = "restricted"
	case Uncouple, Drop:
		group = "uncouple"
	case Slide:
		group = "slide"
	}
	b.card.Halts = append(b.card.Halts, Halt{Number: n, Title: Key(fmt.Sprintf("halt.%s.%d", group, n)), Drive: drive})
}

// add puts a step at the end of the standstill. Its text goes by its name.
func (b *builder) add(s Step) {
	h := &b.card.Halts[len(b.card.Halts)-1]
	if s.Text.none() {
		s.Text = say(Key("step." + s.Name))
	}
	if s.Never != "" && s.Reason == (Reason{}) {
		s.Reason = never(s.Never)
	}
	if s.Ask.Kind == "" {
		s.Ask.Kind = Done
	}
	s.Key = strconv.Itoa(h.Number) + "/" + s.Name
	h.Steps = append(h.Steps, s)
}

// seen is a question whose safe answer is given.
func seen(safe YesNo) Ask { return Ask{Kind: Seen, Safe: safe} }

// look is a look that proves the lock.
func look(name string, safe YesNo, state Key, text, caution Message) Step {
	return Step{Name: name, Ask: seen(safe), Lock: true, Never: state, Text: text, Caution: caution}
}

// variant is the text under a key for one value of a fact; any for an unknown one.
func variant[S ~string](k Key, of S) Message {
	if of == "" {
		return say(k + ".any")
	}
	return say(k + Key("."+string(of)))
}

// may tells whether something is there or might be.
func may(y YesNo) bool { return y != No }

func (b *builder) keyOut() {
	b.add(Step{Name: "key-out", Ask: seen(Yes), Stops: true, Reason: whyKeyOut})
}

// trailerBrake is the question that nothing goes past.
func (b *builder) trailerBrake() {
	s := Step{Name: "trailer-brake", Ask: seen(Yes), Stops: true, Never: "never.brakes", Caution: say("caution.trailer-brake")}
	if b.order.Springs {
		s.Text, s.Caution, s.Reason = say("step.trailer-brake.springs"), say("caution.trailer-brake.springs"), whySprings
	}
	b.add(s)
}

func (b *builder) chocks() {
	b.add(Step{Name: "chocks", Ask: seen(Yes), Reason: whyChocks, Caution: say("caution.chocks")})
}

// bothBrakes stands before every hand on a line.
func (b *builder) bothBrakes() {
	b.add(Step{Name: "both-brakes", Ask: seen(Yes), Stops: true, Never: "never.brakes", Reason: whyBoth, Caution: say("caution.both-brakes")})
}

// join is the joining of some of the lines.
func (b *builder) join(lines []Line) {
	for _, l := range lines {
		s := Step{Name: "join-" + string(l), Text: b.named("step.join", l), Reason: b.order.Joined}
		if l == Supply {
			s.Caution = say("caution.join-supply")
		}
		b.add(s)
	}
}

// part is the taking off of all lines.
func (b *builder) part() {
	for _, l := range b.order.Uncouple {
		b.add(Step{Name: "part-" + string(l), Text: b.named("step.part", l), Reason: b.order.Parted})
	}
	b.add(Step{Name: "stow-lines", Reason: whyStow})
}

func (b *builder) named(text Key, l Line) Message {
	name := Key("line." + string(l))
	if b.order.Colours != "" && l != Electric {
		name += Key("." + b.order.Colours)
	}
	return sayKeys(text, name)
}

// air tells whether a vehicle stands or may stand on air.
func air(s Suspension) bool { return s != Steel }

func (b *builder) odometer() {
	b.add(Step{Name: "odometer", Ask: Ask{Kind: Number, Unit: "km", Least: 0, Most: 9_999_999}, Reason: whyOdometer})
}

func (b *builder) photo(name string) {
	b.add(Step{Name: name, Ask: Ask{Kind: Photo, Optional: true}, Reason: whyPhoto})
}
