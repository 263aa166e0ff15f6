package maintenance

import (
	"math"
	"strings"

	"underpin/unit"
	"underpin/wear"
)

// A Question is what seems wrong with a sheet. One that is refused must be put
// right; one that is asked may be confirmed with a reason. Nothing typed is lost
// by either.
type Question struct {
	Key      string // stable, such as pin-neck.larger-than-new: a confirmation names it
	Measure  string
	Take     int // which reading, from 0; -1: the sheet or the measure as a whole
	Refused  bool
	Say      Message
	Proposed string // what it may have been meant to be, as text with unit
}

// A CheckAsk is a filled sheet with what is known beside it.
type CheckAsk struct {
	Sheet  Sheet
	Filled Filled
	Today  Date
	LastOn Date
	Last   *int64 // odometer of the last sheet
	Wear   map[string]WearKnown
	Typing bool // the sheet is still being typed: what is missing is not asked
}

// WearKnown is what the forecast knows of a measure: with it the check of a
// reading against the last ones is one of probabilities.
type WearKnown struct {
	Prior    wear.Prior
	Earlier  []wear.Reading
	Distance unit.Length // in this life, now
	New      unit.Length
}

// Bounds of plausibility. Common practice, no source.
const (
	twoTakes  = 0.1 * mm // two readings of one measure further apart are taken again
	gaugeStep = 0.05 * mm
	fastWear  = 1.0 * mm // more wear than this since the last sheet is asked
)

// CheckSheet returns what seems wrong with a filled sheet. It changes nothing and
// forgets nothing.
func CheckSheet(a CheckAsk) []Question {
	var out []Question
	ask := func(q Question) {
		if _, done := a.Filled.Confirmed[q.Key]; !done || q.Refused {
			out = append(out, q)
		}
	}
	whole := func(key string, refused bool, m Message) { ask(Question{Key: key, Take: -1, Refused: refused, Say: m}) }
	on, err := readDate(a.Filled.On)
	switch {
	case err != nil:
		whole("day.unreadable", true, sayBadDay.with(a.Filled.On))
	case before(a.Today, on):
		whole("day.future", true, sayFuture.with(a.Filled.On))
	case a.LastOn != (Date{}) && before(on, a.LastOn):
		whole("day.before-last", false, sayBeforeLast.with(a.Filled.On, a.LastOn.String()))
	}
	if a.Filled.Metres != nil && a.Last != nil && *a.Filled.Metres < *a.Last {
		whole("odometer.back", false, sayOdometerBack.with(itoa(int(*a.Filled.Metres/1000)), itoa(int(*a.Last/1000))))
	}
	apart := false
	for _, r := range a.Sheet.Rows {
		apart = apart || r.Measure.Apart && len(a.Filled.Readings[r.Measure.Key]) > 0
	}
	if apart && !a.Filled.Uncoupled {
		whole("sheet.coupled", true, sayNotUncoupled.with())
	}
	if apart && !a.Filled.Cleaned {
		whole("sheet.greasy", true, sayNotCleaned.with())
	}
	if until, err := readDate(a.Filled.Instrument.Calibrated); a.Filled.Instrument.ID != "" && err == nil {
		if on != (Date{}) && before(until, on) {
			whole("instrument.past", false, sayGaugePast.with(a.Filled.Instrument.ID, a.Filled.Instrument.Calibrated))
		}
	} else if len(a.Filled.Readings) > 0 && !a.Typing {
		whole("instrument.unknown", false, sayGaugeUnknown.with())
	}
	known := map[string]bool{}
	for _, r := range a.Sheet.Rows {
		known[r.Measure.Key] = true
		for _, q := range checkRow(r, a) {
			ask(q)
		}
	}
	for key := range a.Filled.Readings {
		if !known[key] {
			ask(Question{Key: key + ".no-row", Measure: key, Take: -1, Say: sayNoRow.with(key)})
		}
	}
	return out
}

// checkRow looks at the readings of one measure.
func checkRow(r Row, a CheckAsk) (out []Question) {
	m := r.Measure
	ask := func(take int, key string, refused bool, proposed string, say Message) {
		k := m.Key + "." + key
		if take > 0 {
			k += "." + itoa(take+1)
		}
		out = append(out, Question{Key: k, Measure: m.Key, Take: take, Refused: refused, Say: say, Proposed: proposed})
	}
	least, most, n := math.Inf(1), math.Inf(-1), 0
	odd := false
	for i, typed := range a.Filled.Readings[m.Key] {
		typed = strings.TrimSpace(typed)
		if typed == "" {
			continue
		}
		v, err := parseTyped(typed, m.Dim)
		switch {
		case err != nil:
			ask(i, "unreadable", true, "", sayUnreadable.with(typed, err.Error()))
			odd = true
			continue
		case v < 0:
			ask(i, "negative", true, "", sayNegative.with(typed))
			odd = true
			continue
		}
		n++
		least, most = min(least, v), max(most, v)
		if m.Dim == unit.LengthDim && !math.IsNaN(r.New) {
			if guess := meant(v, r.New); guess != nil {
				ask(i, guess.key, guess.refused, guess.proposed, guess.say(typed))
				odd = true
			}
		}
		if m.Key == SliderPinsOut && v > 1 {
			ask(i, "above-all", true, "", sayShare.with(typed))
			odd = true
		}
		if m.Key == FastenersGone && v != math.Trunc(v) {
			ask(i, "not-whole", true, "", sayNotWhole.with(typed))
			odd = true
		}
	}
	if odd || n == 0 {
		return out
	}
	if m.Dim == unit.LengthDim && n > 1 && m.Takes[0].Key == twice[0].Key && most-least > twoTakes+grain {
		ask(-1, "takes-apart", false, "", sayTakesApart.with(unit.Format(least, unit.MM, 2), unit.Format(most, unit.MM, 2)))
	}
	value := a.Filled.Value(m)
	if math.IsNaN(value) {
		return out
	}
	if w, ok := a.Wear[m.Key]; ok {
		c, err := wear.CheckReading(w.Prior, w.Earlier, wear.Reading{Distance: w.Distance, Wear: w.New - unit.Length(value)})
		switch {
		case err != nil:
		case c.Replaced:
			ask(-1, "replaced", false, "", sayReplaced.with(unit.Format(value, unit.MM, 2)))
			return out
		case c.FellBack:
			ask(-1, "grew-back", false, "", sayGrewBack.with(unit.Format(value, unit.MM, 2), unit.Format(r.Last, unit.MM, 2)))
			return out
		case c.HoldOut || c.Remeasure:
			ask(-1, "unlikely", false, "", sayUnlikely.with(unit.Format(value, unit.MM, 2), unit.Format(float64(w.New-c.Expected), unit.MM, 2), unit.Digits(math.Abs(c.Innovation), 1)))
			return out
		}
	}
	if math.IsNaN(r.Last) || m.Dim != unit.LengthDim || m.Worst != Smallest {
		return out
	}
	switch wore := r.Last - value; {
	case wore < -3*math.Sqrt2*gaugeStep:
		ask(-1, "grew-back", false, "", sayGrewBack.with(unit.Format(value, unit.MM, 2), unit.Format(r.Last, unit.MM, 2)))
	case wore > fastWear:
		ask(-1, "wore-fast", false, "", sayWoreFast.with(unit.Format(wore, unit.MM, 2)))
	}
	return out
}

// guess is what a length may have been meant to be.
type guess struct {
	key      string
	refused  bool
	proposed string
	say      func(typed string) Message
}

// meant holds a length against the size of a new part. A part in use lies between
// four fifths of its new size and its tolerance above it; what lies elsewhere is
// another unit, another decimal or another pin.
func meant(v, new float64) *guess {
	fits := func(v float64) bool { return 0.8*new <= v && v <= new+newTolerance+grain }
	if fits(v) {
		return nil
	}
	inches := unit.Text(v*25.4, unit.MM)
	switch {
	case fits(v * 25.4): // typed 1.98 with mm, read in inches
		return &guess{"inches-as-mm", true, inches, func(t string) Message { return sayInches.with(t, inches) }}
	case fits(v / 25.4):
		p := unit.Text(v/25.4, unit.MM)
		return &guess{"mm-as-inches", true, p, func(t string) Message { return sayMillimetres.with(t, p) }}
	case fits(v / 10):
		p := unit.Text(v/10, unit.MM)
		return &guess{"decimal", true, p, func(t string) Message { return sayDecimal.with(t, p) }}
	case fits(v * 10):
		p := unit.Text(v*10, unit.MM)
		return &guess{"decimal", true, p, func(t string) Message { return sayDecimal.with(t, p) }}
	case otherPin(v, new):
		return &guess{"other-pin", false, "", func(t string) Message { return sayOtherPin.with(t, unit.Text(new, unit.MM)) }}
	case v > new:
		return &guess{"larger-than-new", false, "", func(t string) Message { return sayLarger.with(t, unit.Text(new, unit.MM)) }}
	}
	return &guess{"far-too-small", false, "", func(t string) Message { return sayTooSmall.with(t, unit.Text(new, unit.MM)) }}
}

// otherPin tells whether a size fits a pin of the other nominal size.
func otherPin(v, new float64) bool {
	for _, n := range nominal {
		if math.Abs(n-new) > 5*mm && 0.92*n <= v && v <= n+newTolerance {
			return true
		}
	}
	return false
}
