package maintenance

// A said is one of the sentences with values that the package says.
type said int

// with puts values in.
func (s said) with(args ...string) Message { return Message{sayings[s], args} }

const (
	sayNoDocument said = iota
	sayWouldStretch
	sayNoInterval
	sayNeverDone
	sayNoDistance
	sayPartDistance
	sayNoUsage
	sayEvent
	sayBadDimension
)

var sayings = [...]Text{
	sayNoDocument:   {"say.no-document", "{1}: a figure without a document was not taken; it stays unset until the type's document is entered"},
	sayWouldStretch: {"say.would-stretch", "{1}: {2} would stretch {3}; only a document of the type may"},
	sayNoInterval:   {"say.no-interval", "the interval of {1}: enter it from the document of the type that is fitted"},
	sayNeverDone:    {"say.never-done", "the day on which {1} was last done"},
	sayNoDistance:   {"say.no-distance", "the distance run since {1} was last done"},
	sayPartDistance: {"say.part-distance", "part of the distance run since {1} was last done"},
	sayNoUsage:      {"say.no-usage", "the distance a day: two readings on two days at least"},
	sayEvent:        {"say.event", "{1}: both halves wait for the check after an event"},
	sayBadDimension: {"say.bad-dimension", "type {1}: the limit of {2}, {3}, is no size with a unit"},
}
