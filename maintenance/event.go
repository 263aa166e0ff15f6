package maintenance

import "underpin/record"

// An Event is what overloads a coupling at once. It blocks both halves until the
// check after an event is signed.
type Event struct {
	Key  string
	Name Text
	Both bool // the partner is blocked as well
}

// Events that call for a check before the next use.
//
// Source: common practice, no source; handbook chapter 05, section 3.
var events = [...]Event{
	{"jack-knife", Text{"event.jack-knife", "jack-knife"}, true},
	{"collision", Text{"event.collision", "collision"}, true},
	{"dropped-trailer", Text{"event.dropped-trailer", "trailer dropped"}, true},
	{"high-coupling", Text{"event.high-coupling", "coupled too high, pin on top of the jaws or plate run over"}, true},
	{"bent-leg", Text{"event.bent-leg", "landing leg bent"}, true},
	{"docking-impact", Text{"event.docking-impact", "impact at the dock"}, true},
	{"rough-recovery", Text{"event.rough-recovery", "recovered from rough ground"}, true},
	{"overload", Text{"event.overload", "overloaded or lifted by the coupling"}, true},
}

// Events lists the events that block.
func Events() []Event { return append([]Event(nil), events[:]...) }

// FindEvent returns an event by its key.
func FindEvent(key string) (Event, bool) {
	for _, e := range events {
		if e.Key == key {
			return e, true
		}
	}
	return Event{}, false
}

// A Block keeps a vehicle or part from service until a task is signed.
type Block struct {
	Asset Asset
	Why   Message
	Task  string // that lifts it
}

// Asset names what is blocked.
type Asset = record.Asset

// BlockAfter returns what an event blocks: every vehicle and part that took
// part. An event that is not known blocks too.
func BlockAfter(event string, took []Asset) []Block {
	name := event
	if e, ok := FindEvent(event); ok {
		name = e.Name.English
	}
	out := make([]Block, 0, len(took))
	for _, a := range took {
		out = append(out, Block{Asset: a, Why: sayEvent.with(name), Task: AfterEvent})
	}
	return out
}
