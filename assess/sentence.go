package assess

import (
	"fmt"
	"math"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// A Told is an answer in words: the sentence a person wanted to hear, and what
// to do about it.
type Told struct {
	Word   string // "Does not fit."
	Lead   string // the deciding number
	Advice []string
	Loads  []string // what the last of the advice asks of each load
}

// Words of the answers.
var answerWords = map[rule.Answer]string{
	rule.Fits: "Fits.", rule.FitsIf: "Fits if it is set so.", rule.DoesNotFit: "Does not fit.", rule.CannotTell: "Cannot tell.",
}

// Tell puts a result into words, in a system of units.
func (p *Pairing) Tell(r *Result, system unit.System) Told {
	w := words{p, system}
	t := Told{Word: answerWords[r.Answer]}
	switch r.Answer {
	case rule.Fits:
		if f := tightest(r); f != nil {
			t.Lead = fmt.Sprintf("Tightest is %s: %s to spare%s.", lowerFirst(f.Title), Room(f, system), inCase(f))
		}
		t.Advice = append(t.Advice, w.rangeAdvice(r)...)
	case rule.FitsIf:
		t.Lead = w.settingSentence(r)
		if now := w.asSetFailure(); now != "" {
			t.Advice = append(t.Advice, now)
		}
		t.Advice = append(t.Advice, w.rangeAdvice(r)...)
	case rule.DoesNotFit:
		t.Lead, t.Advice, t.Loads = w.whyNot(r)
	default:
		t.Lead, t.Advice = w.whyUnknown(r)
	}
	return t
}

// words words one pairing in a system of units.
type words struct {
	*Pairing
	system unit.System
}

// lead words a lead, rounded by round to whole millimetres or tenths of an inch.
func (w words) lead(l unit.Length, round func(float64) float64) string {
	u := w.system.In(unit.MM)
	places := Places(u)
	p := math.Pow10(places)
	return unit.Digits(round(Whole(u.From(float64(l))*p))/p, places) + "\u00a0" + u.Symbol
}

// tightest returns the binding finding on loads or on something that moves with
// the coupling that has the least room: what can change from trip to trip.
func tightest(r *Result) *Finding {
	var best *Finding
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Binding && !math.IsNaN(f.Margin) && f.Sense != Equal && f.Varies && (best == nil || f.Spare() < best.Spare()) {
			best = f
		}
	}
	return best
}

func inCase(f *Finding) string {
	if f.CaseName == "" {
		return ""
	}
	return " (" + f.CaseName + ")"
}

// Places returns how many decimals a value of this unit is shown with.
func Places(u unit.Unit) int {
	switch u.Symbol {
	case "mm", "kg", "lb", "lbf":
		return 0
	case "in":
		return 1
	case "ft":
		return 2
	case "t", "m":
		return 3
	case "":
		return 3
	}
	return 1
}

// Room words a finding's margin, rounded down, always positive: how much is to
// spare, or how far it is beyond, then rounded up.
func Room(f *Finding, system unit.System) string {
	_, _, spare, symbol := Shown(f, system)
	return strings.TrimPrefix(spare, "−") + "\u00a0" + symbol
}

// Shown returns a finding's value, limit and margin as they are printed in a
// system of units, and the unit: rounded once, the margin down; a share in per
// cent. What is beyond its limit is shown so that the three agree, with one more
// digit if that does it: 18 109 of 18 000 is not 110 over. Where two sizes or a yes and a yes have
// to be alike there is nothing to spare.
func Shown(f *Finding, system unit.System) (value, limit, spare, symbol string) {
	u := system.In(f.Unit)
	places, in := Places(u), func(x float64) float64 { return u.From(f.Unit.ToSI(x)) }
	if u == f.Unit {
		in = func(x float64) float64 { return x } // untouched by conversion
	}
	symbol = u.Symbol
	switch {
	case f.Sense == Equal && symbol == "":
		return yesNo(f.Value), yesNo(f.Limit), unit.Unknown, ""
	case f.Sense == Equal:
		return unit.Digits(in(f.Value), places), unit.Digits(in(f.Limit), places), unit.Unknown, symbol
	case symbol == "":
		symbol, places, in = "%", 1, func(x float64) float64 { return x * 100 }
	}
	if math.IsNaN(f.Margin) {
		return unit.Digits(in(f.Value), places), unit.Digits(in(f.Limit), places), unit.Unknown, symbol
	}
	shown := in(f.Value)
	if f.Answer == rule.DoesNotFit {
		switch {
		case agree(in(f.Value), in(f.Limit), in(f.Margin), f.Sense, places):
		case agree(in(f.Value), in(f.Limit), in(f.Margin), f.Sense, places+1):
			places++
		default: // a hair beyond a rounded figure: rounded away from the limit, as the margin is
			p := math.Pow10(places)
			shown = math.Round(in(f.Limit)*p)/p - unit.Floor(in(f.Margin), places)
			if f.Sense == rule.AtLeast {
				shown = math.Round(in(f.Limit)*p)/p + unit.Floor(in(f.Margin), places)
			}
		}
	}
	return unit.Digits(shown, places), unit.Digits(in(f.Limit), places), unit.Digits(unit.Floor(in(f.Margin), places), places), symbol
}

// agree tells whether value and limit, rounded, are as far apart as the margin,
// rounded down.
func agree(value, limit, margin float64, sense rule.Sense, places int) bool {
	p := math.Pow10(places)
	apart := math.Round(limit*p) - math.Round(value*p)
	if sense == rule.AtLeast {
		apart = -apart
	}
	return apart == math.Round(unit.Floor(margin, places)*p)
}

func yesNo(v float64) string {
	switch v {
	case 0:
		return "no"
	case 1:
		return "yes"
	}
	return unit.Unknown
}

// Unproven tells whether a finding holds against a figure that certifies nothing:
// common practice, or a value from memory. That is no pass.
func (f *Finding) Unproven() bool { return f.Answer == rule.Fits && !f.Evidence.Certifies() }

// sentence splits a text after its first sentence.
func sentence(text string) (first, rest string) {
	first, rest, _ = strings.Cut(text, ". ")
	return strings.TrimSuffix(first, "."), rest
}

// amiss words a finding on two things that have to be alike and are not: what they
// are, and what that means.
func amiss(f *Finding) string {
	means, _ := sentence(f.Note)
	if f.Unit.Dim != unit.LengthDim || f.Working == "" {
		return means
	}
	are, _ := sentence(f.Working)
	return upperFirst(are) + ": " + lowerFirst(means)
}

// Deciding words the finding that decides an answer, in one line: what it is and
// how much is to spare or lacks.
func Deciding(f *Finding, system unit.System) string {
	if f.Sense == Equal && f.Answer == rule.DoesNotFit {
		return amiss(f)
	}
	if _, _, spare, symbol := Shown(f, system); spare != unit.Unknown {
		return f.Title + ", " + spare + "\u00a0" + symbol
	}
	return f.Title
}

// beyond words how a finding fails.
func (w words) beyond(f *Finding) string {
	switch {
	case f.Sense == Equal:
		return amiss(f)
	case f.Sense == rule.AtLeast && f.Limit == 0:
		return fmt.Sprintf("%s: %s are missing", f.Title, Room(f, w.system))
	case f.Sense == rule.AtLeast:
		return fmt.Sprintf("%s is %s short of its limit", f.Title, Room(f, w.system))
	}
	return fmt.Sprintf("%s is %s over its limit", f.Title, Room(f, w.system))
}

func (w words) rangeAdvice(r *Result) []string {
	if w.fixed || r.Range == nil {
		return nil
	}
	if lo, hi := w.Travel(); len(r.Ranges) == 1 && r.Range[0] == lo && r.Range[1] == hi {
		text := fmt.Sprintf("Every slide position is lawful, %s to %s ahead of the %s", w.lead(lo, math.Ceil), w.lead(hi, math.Floor), r.LeadDatum)
		if best, ok := r.Best[AimMargin]; ok {
			text += fmt.Sprintf("; %s leaves most to spare", w.lead(best, math.Round))
		}
		return []string{text + "."}
	}
	text := fmt.Sprintf("Any lead from %s (%s) to %s (%s) ahead of the %s is lawful", w.lead(r.Range[0], math.Ceil), r.Ends[0], w.lead(r.Range[1], math.Floor), r.Ends[1], r.LeadDatum)
	if best, ok := r.Best[AimMargin]; ok {
		text += fmt.Sprintf("; %s leaves most to spare", w.lead(best, math.Round))
	}
	return []string{text + "."}
}

// Whole takes binary dust off a number that is meant to be whole, so that
// rounding up does not add one.
func Whole(v float64) float64 {
	if n := math.Round(v); math.Abs(v-n) < 1e-6 {
		return n
	}
	return v
}

func (w words) settingSentence(r *Result) string {
	var parts []string
	if !w.fixed {
		parts = append(parts, "the fifth wheel stands "+Ahead(r.Setting.Lead, r.LeadDatum, w.system))
	}
	if r.Setting.Level != "" {
		parts = append(parts, "the coupling is at level “"+r.Setting.Level+"”")
	}
	if liftables(w.Pairing) {
		parts = append(parts, lifted(r.Setting))
	}
	if len(parts) == 0 {
		return "The setting has to be stated first."
	}
	return "It fits when " + strings.Join(parts, ", ") + "."
}

func liftables(p *Pairing) bool {
	for i := range p.Tractor.Axles {
		if p.Tractor.Axles[i].Liftable {
			return true
		}
	}
	for i := range p.Trailer.Axles {
		if p.Trailer.Axles[i].Liftable {
			return true
		}
	}
	return false
}

// lifted words which axles are up.
func lifted(s Setting) string {
	var up []string
	for _, n := range s.TractorLifted {
		up = append(up, fmt.Sprintf("axle %d of the tractor", n))
	}
	for _, n := range s.TrailerLifted {
		up = append(up, fmt.Sprintf("axle %d of the semi-trailer", n))
	}
	if len(up) == 0 {
		return "all axles are down"
	}
	return strings.Join(up, " and ") + " up"
}

// Ahead words a lead: "600 mm ahead of the drive axle", "50 mm behind it".
func Ahead(lead unit.Length, datum string, system unit.System) string {
	w := words{system: system}
	switch mm := math.Round(float64(lead) * 1e3); {
	case mm == 0:
		return "right over the " + datum
	case mm < 0:
		return w.lead(-lead, math.Round) + " behind the " + datum
	}
	return w.lead(lead, math.Round) + " ahead of the " + datum
}

// asSetFailure says what is wrong with the present setting.
func (w words) asSetFailure() string {
	if math.IsNaN(w.now) {
		return "The present setting is not stated."
	}
	r := w.report(w.base, w.now, rule.CannotTell)
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Binding && f.Answer == rule.DoesNotFit {
			return fmt.Sprintf("As set now, %s, %s%s.", Ahead(unit.Length(w.now), w.LeadDatum(), w.system), lowerFirst(w.beyond(f)), inCase(f))
		}
	}
	if !w.stated {
		return "Whether the lift axles are up is not stated."
	}
	return ""
}

func (w words) whyNot(r *Result) (lead string, advice, loads []string) {
	var still, moving []*Finding // failures that no position cures, and others
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.Binding || f.Answer != rule.DoesNotFit {
			continue
		}
		if w.moves(f) {
			moving = append(moving, f)
		} else {
			still = append(still, f)
		}
	}
	var relief []string
	if loadFails(r) {
		if a := w.Advise(w.system); a != nil {
			relief, loads = w.tellAdvice(a)
		}
	}
	switch {
	case len(still) > 0:
		f := still[0]
		lead = w.beyond(f) + inCase(f)
		if w.fixed || f.Sense == Equal {
			lead += "."
		} else {
			lead += ", and no slide position can cure that."
		}
		if _, rest := sentence(f.Note); f.Sense == Equal && rest != "" {
			advice = append(advice, rest)
		}
		if n := len(still) - 1; n > 0 {
			advice = append(advice, fmt.Sprintf("%d more %s whatever the position.", n, plural(n, "finding fails", "findings fail")))
		}
		if r.LeadOnly != nil && len(relief) == 0 {
			advice = append(advice, fmt.Sprintf("As far as the position goes, any lead from %s to %s holds.", w.lead(r.LeadOnly[0], math.Ceil), w.lead(r.LeadOnly[1], math.Floor)))
		}
	case r.Conflict != nil:
		c := r.Conflict
		lead = fmt.Sprintf("%s asks for a lead of at least %s, %s for at most %s: they are %s apart.",
			c.AtLeast, w.lead(c.Min, math.Ceil), lowerFirst(c.AtMost), w.lead(c.Max, math.Floor), w.lead(c.Apart, math.Ceil))
		advice = append(advice, "No slide position lies between them.")
		if advice = append(advice, relief...); len(relief) == 0 {
			advice = append(advice, "Take another pair.")
		}
	case len(moving) > 0:
		f := moving[0]
		lead = w.beyond(f) + inCase(f) + "."
		switch {
		case w.fixed:
		case len(moving) == 1:
			advice = append(advice, "No slide position cures it.")
		default:
			advice = append(advice, "No slide position satisfies every finding at once.")
		}
		advice = append(advice, relief...)
	default:
		lead = "No setting satisfies every finding."
	}
	if len(still) > 0 {
		advice = append(advice, relief...)
	}
	if len(advice) == 0 && len(still) > 0 && still[0].Note != "" {
		advice = append(advice, still[0].Note)
	}
	return lead, advice, loads
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// moves tells whether a reported finding depends on the lead.
func (p *Pairing) moves(f *Finding) bool {
	for i := range p.base.infos {
		in := &p.base.infos[i]
		if in.id == f.ID && (in.cases < 0 && f.Case == "" || in.cases >= 0 && p.Cases[in.cases].ID == f.Case) {
			return p.base.lines[i].moves()
		}
	}
	return false
}

// up words a quantity rounded up: what has to be done must suffice.
func (w words) up(si float64, u unit.Unit) string {
	u = w.system.In(u)
	return unit.Digits(math.Ceil(Whole(u.From(si))), 0) + "\u00a0" + u.Symbol
}

func (w words) whyUnknown(r *Result) (lead string, advice []string) {
	n := len(r.Missing)
	if n == 0 {
		return "Something is missing.", nil
	}
	lead = "Missing is " + r.Missing[0]
	if n > 1 {
		lead += fmt.Sprintf(", and %d more %s", n-1, plural(n-1, "thing", "things"))
	}
	lead += "."
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Binding && f.Answer == rule.DoesNotFit {
			advice = append(advice, "What is known already: "+lowerFirst(w.beyond(f))+inCase(f)+" in the present setting.")
			break
		}
	}
	return lead, append(advice, "What is not known is never taken as a pass. Measure it, or read it off the plate.")
}
