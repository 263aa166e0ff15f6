package maintenance

import (
	"slices"
	"strings"

	"underpin/record"
	"underpin/rule"
	"underpin/unit"
)

// An Interval is how often a task is done: by distance, by time, or by
// whichever comes first.
type Interval struct {
	Task         string
	Distance     unit.Length // 0: distance does not count
	Months, Days int         // both 0: time does not count
	Once         bool        // once after fitting, and not again
	Unset        bool        // no figure is known: it must be entered from a document
	Factor       float64     // of use, on distance and time; 1 unless the user says otherwise
	Evidence     rule.Evidence
	Source       string
	Note         Text
	Instead      *Interval // the starting value that an entered one replaced
	Refused      []Message // entered values that were not taken, and why
}

// Known tells whether the interval says anything.
func (i Interval) Known() bool { return !i.Unset && (i.Distance > 0 || i.Months > 0 || i.Days > 0) }

// A Setup is what decides which tasks a coupling and its partner have.
type Setup struct {
	Lubrication Lubrication // empty: not known, taken as by hand
	Slider      bool        // the fifth wheel slides
	Permanent   bool        // the pair is hardly ever uncoupled
}

// A Severity is a factor of use that the user set, such as 0.5 for unpaved
// roads. It shortens and never stretches.
type Severity struct {
	Name   string
	Factor float64 // above 0, at most 1
}

// Uses are the kinds of use that are commonly said to wear couplings faster,
// for the user to put a factor on. No figures are published but these: unpaved
// roads halve or quarter greasing intervals. Common practice, no source.
var uses = [...]Text{
	{"use.salt", "salt, ice and wet"}, {"use.unpaved", "dust and unpaved roads"}, {"use.many-couplings", "many couplings a day"},
	{"use.liquid", "tippers and liquid loads"}, {"use.steep", "steep ground and docking"}, {"use.steered", "trailers with forced steering"},
	{"use.old-partners", "worn partners"},
}

// Uses lists the kinds of use that a severity may be set for.
func Uses() []Text { return slices.Clone(uses[:]) }

const practice = "common practice, no source"

func custom(task string, d unit.Length, months int, note string) Interval {
	return Interval{Task: task, Distance: d, Months: months, Factor: 1, Evidence: rule.Practice, Source: practice, Note: Text{"interval." + task, note}}
}

func unset(task, note string) Interval {
	return Interval{Task: task, Unset: true, Factor: 1, Evidence: rule.Practice, Source: practice, Note: Text{"interval." + task, note}}
}

// StartingIntervals are the intervals that common practice begins with, for the
// user to replace by those of the documents. Each greasing point has its own:
// a liner or a central system that serves the plate changes nothing for lock and
// pin, which keep theirs until the type's document says otherwise. All are
// practice and none is a figure of the type that is fitted.
//
// Source: common practice, no source; collected in handbook chapter 05,
// section 3.
func StartingIntervals(s Setup) []Interval {
	const grease = 5000 * unit.Kilometre
	const check = 50_000 * unit.Kilometre
	hand := func(task string) Interval {
		return custom(task, grease, 1, "By hand at the latest every 5 000 km or month; published ones run from 5 000 km to 10 000 km or a month.")
	}
	first := custom(FirstGrease, 0, 0, "Before the first use.")
	first.Once = true
	out := []Interval{first}
	switch s.Lubrication {
	case Liner:
		out = append(out, custom(FilmPlate, check, 6, "The liner needs no grease; the trailer's plate gets a thin film when it is cleaned."))
	case Central:
		out = append(out, unset(CentralLevel, "Enter it from the document of the lubrication system."))
	case Cartridge:
		out = append(out, hand(GreasePlate),
			unset(CartridgeSwap, "Counts from the day the cartridge was started. Commonly up to 3 years, but enter it from the type's document; which points the cartridge serves stands there too."))
	default:
		out = append(out, hand(GreasePlate))
	}
	out = append(out, hand(GreaseLock), hand(GreasePin), hand(GreaseBearing))
	if s.Slider {
		slider := custom(FirstSlider, 0, 1, "Set at fitting, after one month, then at each full check.")
		slider.Once = true
		out = append(out, hand(GreaseSlider), slider)
	}
	retorque := custom(FirstRetorque, 1000*unit.Kilometre, 1, "Published and customary figures run from 1 000 km to 5 000 km or the first month; this is the careful end.")
	retorque.Once = true
	out = append(out, retorque,
		custom(VisualCheck, 25_000*unit.Kilometre, 0, "Looked at coupled; never counts as a wear inspection."),
		custom(FullCheck, check, 6, "Cleaning and the full check, gauging and torque included, whatever lubricates the plate."),
		custom(YearlyCheck, 0, 12, "By a qualified person at least yearly. The legal periodic test is another matter."),
		custom(SpringClean, 0, 12, "After snow, ice and salt, each spring."))
	if s.Permanent {
		out = append(out, custom(UncouplePair, 0, 1, "Uncouple monthly, clean, look and grease."))
	}
	return out
}

// PlanIntervals puts what was entered in the place of starting values, and the
// factors of use on all. Typed are the intervals of the type record, own those
// that the fleet set for itself.
//
// An interval of the type with a document goes before common practice, be it
// longer or shorter. One without a document, and every one of the fleet's own,
// may only shorten; where it would stretch, what it would have replaced stays
// and the refusal is noted. Each limit of an interval counts by itself: an own
// interval in months shortens the months and leaves the distance.
//
// A factor must lie above 0 and not above 1; otherwise the error is a
// *unit.DomainError.
func PlanIntervals(s Setup, typed, own []record.Interval, use []Severity) ([]Interval, error) {
	factor := 1.0
	for _, u := range use {
		if !(0 < u.Factor && u.Factor <= 1) {
			return nil, &unit.DomainError{Formula: "factor of use", Input: u.Name, Value: u.Factor, Want: "above 0 and at most 1: use shortens an interval and never stretches it"}
		}
		factor *= u.Factor
	}
	plan := StartingIntervals(s)
	for _, e := range typed {
		plan = enter(plan, e, e.Source.Document != "")
	}
	for _, e := range own {
		plan = enter(plan, e, false)
	}
	for i := range plan {
		plan[i].Factor = factor
	}
	return plan, nil
}

// enter puts one entered interval into a plan.
func enter(plan []Interval, e record.Interval, free bool) []Interval {
	n := Interval{Task: e.Task, Once: e.Once, Factor: 1, Evidence: rule.Practice, Source: practice, Note: Text{English: e.Note}}
	if e.Source.Document != "" {
		n.Evidence, n.Source = rule.Read, sourceOf(e.Source)
	}
	if e.Metres != nil {
		n.Distance = unit.Length(*e.Metres)
	}
	if e.Months != nil {
		n.Months = int(*e.Months)
	}
	if e.Days != nil {
		n.Days = int(*e.Days)
	}
	at := slices.IndexFunc(plan, func(i Interval) bool { return i.Task == e.Task })
	if at < 0 {
		return append(plan, n)
	}
	old := plan[at]
	if free || old.Unset {
		if old.Task == CartridgeSwap && !free {
			old.Refused = append(old.Refused, sayNoDocument.with(e.Task))
			plan[at] = old
			return plan
		}
		n.Instead, n.Refused = &old, old.Refused
		if n.Note.English == "" {
			n.Note = old.Note
		}
		plan[at] = n
		return plan
	}
	// Only shorten, each limit by itself.
	m := old
	taken := false
	if n.Distance > 0 {
		if old.Distance == 0 || n.Distance <= old.Distance {
			m.Distance, taken = n.Distance, true
		} else {
			m.Refused = append(m.Refused, sayWouldStretch.with(e.Task, unit.Format(float64(n.Distance), unit.KM, 0), unit.Format(float64(old.Distance), unit.KM, 0)))
		}
	}
	if n.Months > 0 || n.Days > 0 {
		if old.Months == 0 && old.Days == 0 || !stretches(n, old) {
			m.Months, m.Days, taken = n.Months, n.Days, true
		} else {
			m.Refused = append(m.Refused, sayWouldStretch.with(e.Task, span(n), span(old)))
		}
	}
	if taken {
		m.Instead, m.Evidence, m.Source = &old, n.Evidence, n.Source
		if old.Evidence == rule.Read && n.Evidence != rule.Read {
			m.Source = old.Source + "; shortened by the fleet"
			m.Evidence = old.Evidence
		}
	}
	plan[at] = m
	return plan
}

// stretches tells whether n can come out later than old. Months have 28 to 31
// days, so where months are held against days the outermost count.
func stretches(n, old Interval) bool {
	if n.Months <= old.Months && n.Days <= old.Days {
		return false
	}
	longest := n.Months*31 + n.Days
	shortest := old.Months*30 - 2*min(old.Months, 1) + old.Days
	return longest > shortest
}

func span(i Interval) string {
	var parts []string
	if i.Months > 0 {
		parts = append(parts, itoa(i.Months)+" months")
	}
	if i.Days > 0 {
		parts = append(parts, itoa(i.Days)+" days")
	}
	return strings.Join(parts, " and ")
}

// sourceOf writes a source as people cite it.
func sourceOf(s record.Source) string {
	parts := []string{s.Document}
	if s.Edition != "" {
		parts = append(parts, s.Edition)
	}
	if s.Page != "" {
		parts = append(parts, "p. "+s.Page)
	}
	return strings.Join(parts, ", ")
}
