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
	sayBadDay
	sayFuture
	sayBeforeLast
	sayOdometerBack
	sayNotUncoupled
	sayNotCleaned
	sayGaugePast
	sayGaugeUnknown
	sayNoRow
	sayUnreadable
	sayNegative
	sayShare
	sayNotWhole
	sayTakesApart
	sayReplaced
	sayGrewBack
	sayUnlikely
	sayWoreFast
	sayInches
	sayMillimetres
	sayDecimal
	sayOtherPin
	sayLarger
	sayTooSmall
	sayLackingHalf
	sayOpenQuestion
	sayNotMeasured
	sayNoLimit
	sayPracticeOnly
	sayNear
	sayReached
	sayFound
	sayNotLooked
	sayCannotDiagnose
	sayNoPlays
	sayOverMost
	sayTight
	sayAdjust
	sayRenew
	sayNoTravel
	sayPinsPlay
	sayLookFurther
	sayNoBound
	sayBadTorque
	sayUnsigned
	sayPrerequisite
	sayNoTorque
	sayNotRemeasured
	sayStillBlocks
	sayRemeasure
	sayForecastNone
	sayForecastOne
	sayForecastMany
	sayDoubtReplaced
	sayDoubtFell
	sayDoubtFar
	sayClosed
	sayAway
	sayTooLong
	sayFull
	sayNoCountry
	sayPinSize
	sayNoMeasurer
	sayNotAccepted
)

var sayings = [...]Text{
	sayNoDocument:     {"say.no-document", "{1}: a figure without a document was not taken; it stays unset until the type's document is entered"},
	sayWouldStretch:   {"say.would-stretch", "{1}: {2} would stretch {3}; only a document of the type may"},
	sayNoInterval:     {"say.no-interval", "the interval of {1}: enter it from the document of the type that is fitted"},
	sayNeverDone:      {"say.never-done", "the day on which {1} was last done"},
	sayNoDistance:     {"say.no-distance", "the distance run since {1} was last done"},
	sayPartDistance:   {"say.part-distance", "part of the distance run since {1} was last done"},
	sayNoUsage:        {"say.no-usage", "the distance a day: two readings on two days at least"},
	sayEvent:          {"say.event", "{1}: both halves wait for the check after an event"},
	sayBadDimension:   {"say.bad-dimension", "type {1}: the limit of {2}, {3}, is no size with a unit"},
	sayBadDay:         {"say.bad-day", "the day \"{1}\" is not one; expected year-month-day, such as 2026-11-25"},
	sayFuture:         {"say.future", "the day {1} lies in the future"},
	sayBeforeLast:     {"say.before-last", "the day {1} lies before the last sheet, of {2}"},
	sayOdometerBack:   {"say.odometer-back", "the odometer went back, to {1} km from {2} km: was the instrument replaced, or is it a slip?"},
	sayNotUncoupled:   {"say.not-uncoupled", "pin, lock and plate are gauged uncoupled; a coupled look is no wear inspection"},
	sayNotCleaned:     {"say.not-cleaned", "pin, lock and plate are gauged bare; grease hides wear"},
	sayGaugePast:      {"say.gauge-past", "gauge {1} was calibrated until {2} only; readings with it do not count unless somebody says why they may"},
	sayGaugeUnknown:   {"say.gauge-unknown", "the gauge and the day its calibration ends"},
	sayNoRow:          {"say.no-row", "{1} is not on this sheet; it is kept, and does not count"},
	sayUnreadable:     {"say.unreadable", "\"{1}\": {2}"},
	sayNegative:       {"say.negative", "{1} lies below nothing"},
	sayShare:          {"say.share", "{1}: more than all of them; write it as it was counted, such as 3 of 12"},
	sayNotWhole:       {"say.not-whole", "{1}: fasteners are counted whole"},
	sayTakesApart:     {"say.takes-apart", "two readings of one thing lie apart, {1} and {2}: measure a third time"},
	sayReplaced:       {"say.replaced", "{1} looks like a new part: was it replaced without a record?"},
	sayGrewBack:       {"say.grew-back", "{1} is more than the {2} of the last sheet; parts do not grow: other gauge, other place, or replaced?"},
	sayUnlikely:       {"say.unlikely", "{1} where about {2} was expected, {3} spreads away: measure again"},
	sayWoreFast:       {"say.wore-fast", "{1} worn since the last sheet: measure again, and look why"},
	sayInches:         {"say.inches", "{1} was typed; inches taken for millimetres would be {2}"},
	sayMillimetres:    {"say.millimetres", "{1} was typed; millimetres taken for inches would be {2}"},
	sayDecimal:        {"say.decimal", "{1} was typed; with the decimal mark moved it would be {2}"},
	sayOtherPin:       {"say.other-pin", "{1} fits another size of pin than the {2} that stands in the record"},
	sayLarger:         {"say.larger", "{1} is larger than the new part, {2}"},
	sayTooSmall:       {"say.too-small", "{1} is far below the new part, {2}: measure again"},
	sayLackingHalf:    {"say.lacking-half", "the sheet of the {1}"},
	sayOpenQuestion:   {"say.open-question", "an answer: {1}"},
	sayNotMeasured:    {"say.not-measured", "{1}: not measured"},
	sayNoLimit:        {"say.no-limit", "{1}: its limit, from the type's document"},
	sayPracticeOnly:   {"say.practice-only", "{1}: its limit from the type's document; common practice alone does not certify"},
	sayNear:           {"say.near", "{1} {2} is near its limit {3}"},
	sayReached:        {"say.reached", "{1} {2}: limit {3} reached ({4}: {5})"},
	sayFound:          {"say.found", "{1} ({2})"},
	sayNotLooked:      {"say.not-looked", "looked at: {1}?"},
	sayCannotDiagnose: {"say.cannot-diagnose", "play of pin and lock: {1}"},
	sayNoPlays:        {"say.no-plays", "the plays of the coupling's type record: base or least, adjust, most"},
	sayOverMost:       {"say.over-most", "play of the lock {1}, above {2}"},
	sayTight:          {"say.tight", "play of the lock {1}: set too tight, on a worn pin most likely; with a good pin it may not close. Back it off"},
	sayAdjust:         {"say.adjust", "play of the lock {1}, above {2}, and the adjuster has travel: adjust"},
	sayRenew:          {"say.renew", "play of the lock {1} and the adjuster is used up: new wear ring and jaw, together"},
	sayNoTravel:       {"say.no-travel", "play of the lock {1}: whether the adjuster has travel left"},
	sayPinsPlay:       {"say.pins-play", "play {1}, of which {2} is the pin's wear: the lock is right, do not adjust it out"},
	sayLookFurther:    {"say.look-further", "play {1} is more than pin and lock may have together, {2}: find the joint that moves"},
	sayNoBound:        {"say.no-bound", "a latest date and distance for the repair"},
	sayBadTorque:      {"say.bad-torque", "type {1}: the torque of {2}, {3}, is none"},
	sayUnsigned:       {"say.unsigned", "{1}: not signed: {2}"},
	sayPrerequisite:   {"say.prerequisite", "{1}: does not hold: {2}"},
	sayNoTorque:       {"say.no-torque", "{1}: no torque with a document was entered for the type"},
	sayNotRemeasured:  {"say.not-remeasured", "nobody has measured again"},
	sayStillBlocks:    {"say.still-blocks", "measured again: {1}"},
	sayRemeasure:      {"say.remeasure", "{1}: {2} was not measured again"},
	sayForecastNone:   {"say.forecast-none", "no measurement of this part: the fleet's forecast, {1}"},
	sayForecastOne:    {"say.forecast-one", "one reading, drawn towards the fleet, {1}"},
	sayForecastMany:   {"say.forecast-many", "{1} readings of this part; fleet {2}"},
	sayDoubtReplaced:  {"say.doubt-replaced", "the reading at {1} looks like a new part: was it replaced without a record?"},
	sayDoubtFell:      {"say.doubt-fell", "the reading at {1} falls back by more than the gauge explains"},
	sayDoubtFar:       {"say.doubt-far", "the reading at {1} lies {2} spreads from what was expected"},
	sayClosed:         {"say.closed", "{1}: the workshop is closed on every day until the latest"},
	sayAway:           {"say.away", "{1}: the vehicle is away on every open day until the latest"},
	sayTooLong:        {"say.too-long", "{1}: {2} minutes are more than any day has"},
	sayFull:           {"say.full", "{1}: every day until the latest is full"},
	sayNoCountry:      {"say.no-country", "the countries in which it runs, for their law"},
	sayPinSize:        {"say.pin-size", "{1} is for a pin of {2} mm and the pin is one of {3} mm: no adaptor, not in use together"},
	sayNoMeasurer:     {"say.no-measurer", "who measured"},
	sayNotAccepted:    {"say.not-accepted", "who of the fleet accepted the sheet of {1}"},
}
