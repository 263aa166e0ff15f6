package web

import (
	"maps"
	"slices"
	"strings"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
)

// Words of the kinds of record about upkeep.

var halfWords = map[string]string{"tractor": "tractor alone", "trailer": "trailer alone", "pair": "coupled pair"}

var verdictWords = map[string]string{
	record.VerdictServiceable: "serviceable", record.VerdictAdvisory: "serviceable, with a word of advice", record.VerdictRepair: "repair",
	record.VerdictCannotTell: "cannot tell", record.VerdictDoNotUse: "do not use",
}

func taskWord(key string) string {
	if t, ok := maintenance.FindTask(key); ok {
		return t.Name.English
	}
	return spaced(key)
}

func measureWord(key string) string {
	if m, ok := maintenance.FindMeasure(key); ok {
		return m.Name.English
	}
	return spaced(key)
}

func workWord(key string) string {
	if w, ok := maintenance.FindWork(key); ok {
		return w.Name.English
	}
	return spaced(key)
}

func eventWord(key string) string {
	if e, ok := maintenance.FindEvent(key); ok {
		return e.Name.English
	}
	return spaced(key)
}

func halvesWord(halves []string) string {
	var words []string
	for _, h := range halves {
		words = append(words, or(halfWords[h], h))
	}
	return strings.Join(words, ", ")
}

// sayUpkeep puts a body about upkeep in words; an empty head: it is about something
// else.
func (t *teller) sayUpkeep(said record.Body) (head string, lines []string) {
	add := func(label, text string) {
		if text != "" {
			lines = append(lines, label+": "+text)
		}
	}
	reading := func(m record.MeterReading) {
		if m.Metres != nil {
			lines = append(lines, metersNames[m.Meter]+" "+metresText(m.Metres))
		}
	}
	switch b := said.(type) {
	case record.TaskDone:
		head = "Done: " + taskWord(b.Task)
		if b.Part != "" {
			add("At", t.title(b.Part))
		}
		add("By", b.By)
		reading(b.Reading)
		add("Note", b.Note)
	case record.SheetFilled:
		head = "Gauge sheet filled in: " + halvesWord(b.Halves)
		if b.Partner != "" {
			add("Coupled with", t.title(b.Partner))
		}
		add("Measured by", strings.Trim(b.Measured+", "+b.Workshop, ", "))
		add("Accepted by", b.Accepted)
		gauge := b.Instrument.ID
		if b.Instrument.Calibrated != "" {
			gauge += ", calibrated until " + b.Instrument.Calibrated
		}
		add("Gauge", gauge)
		for _, key := range slices.Sorted(maps.Keys(b.Readings)) {
			add(capital(measureWord(key)), strings.Join(b.Readings[key], ", "))
		}
		for _, key := range slices.Sorted(maps.Keys(b.Looks)) {
			if b.Looks[key] == string(maintenance.Found) {
				add("Found", lookWord(key))
			}
		}
		for _, key := range slices.Sorted(maps.Keys(b.Confirmed)) {
			add("Confirmed", b.Confirmed[key])
		}
		reading(b.Reading)
	case record.OutcomeGiven:
		head = "Outcome: " + or(verdictWords[b.Verdict], b.Verdict)
		lines = append(lines, b.Reasons...)
		for _, m := range b.Missing {
			add("Missing", m)
		}
		for _, w := range b.Work {
			add("Work", workWord(w))
		}
		add("At the latest on", b.Until)
		if b.Within != nil {
			add("At the latest after", metresText(b.Within))
		}
	case record.WorkSigned:
		head = "Signed: " + workWord(strings.Split(b.Step, "/")[0])
		lines = append(lines, b.Text)
		if b.No {
			lines = append(lines, "It does not hold.")
		}
	case record.PlayTakenUp:
		head = "Lock adjusted"
		if b.TakenUM != nil {
			add("Play taken up", unit.Format(float64(*b.TakenUM)*1e-6, unit.MM, 2))
		}
		reading(b.Reading)
	case record.ReturnedToService:
		head = "Returned to service"
		for _, l := range b.Lives {
			add(capital(workWord(l.Work)), map[string]string{string(maintenance.LifeStarts): "a new life of the " + partWord(l.Part) + " begins", string(maintenance.LifeAdjusts): "the life of the " + partWord(l.Part) + " goes on"}[l.Rule])
		}
		reading(b.Reading)
	case record.UseBlocked:
		head = "Do not use: " + eventWord(b.Event)
		if b.Partner != "" {
			add("With", t.title(b.Partner))
		}
		add("What happened", b.Text)
		reading(b.Reading)
	case record.UseCleared:
		head = "Checked after the event, may be used"
		add("Found", b.Found)
	}
	return head, lines
}

func lookWord(key string) string {
	for _, t := range maintenance.Texts() {
		if t.Key == "look."+key {
			return t.English
		}
	}
	return spaced(key)
}
