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
}

// Words of the answers.
var answerWords = map[rule.Answer]string{
	rule.Fits: "Fits.", rule.FitsIf: "Fits if it is set so.", rule.DoesNotFit: "Does not fit.", rule.CannotTell: "Cannot tell.",
}

// Tell puts a result into words.
func (p *Pairing) Tell(r *Result) Told {
	t := Told{Word: answerWords[r.Answer]}
	switch r.Answer {
	case rule.Fits:
		if f := tightest(r); f != nil {
			t.Lead = fmt.Sprintf("Tightest is %s: %s to spare%s.", lowerFirst(f.Title), Room(f), inCase(f))
		}
		t.Advice = append(t.Advice, p.rangeAdvice(r)...)
	case rule.FitsIf:
		t.Lead = p.settingSentence(r)
		if now := p.asSetFailure(); now != "" {
			t.Advice = append(t.Advice, now)
		}
		t.Advice = append(t.Advice, p.rangeAdvice(r)...)
	case rule.DoesNotFit:
		t.Lead, t.Advice = p.whyNot(r)
	default:
		t.Lead, t.Advice = whyUnknown(r)
	}
	return t
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
	case "mm", "kg", "lb", "in":
		return 0
	case "t", "m":
		return 3
	case "":
		return 3
	}
	return 1
}

// Room words a finding's margin, rounded down, always positive: how much is to
// spare, or how far it is beyond.
func Room(f *Finding) string {
	m := unit.Floor(f.Margin, Places(f.Unit))
	text := unit.Digits(math.Abs(m), Places(f.Unit))
	if f.Unit.Symbol == "" { // a share
		text = unit.Digits(math.Abs(unit.Floor(f.Margin*100, 1)), 1) + " %"
		return text
	}
	return text + "\u00a0" + f.Unit.Symbol
}

// beyond words how a finding fails.
func beyond(f *Finding) string {
	switch {
	case f.Sense == Equal:
		return fmt.Sprintf("%s: %s", f.Title, strings.TrimSuffix(f.Note, "."))
	case f.Sense == rule.AtLeast && f.Limit == 0:
		return fmt.Sprintf("%s: %s are missing", f.Title, Room(f))
	case f.Sense == rule.AtLeast:
		return fmt.Sprintf("%s is %s short of its limit", f.Title, Room(f))
	}
	return fmt.Sprintf("%s is %s over its limit", f.Title, Room(f))
}

func (p *Pairing) rangeAdvice(r *Result) []string {
	if p.fixed || r.Range == nil {
		return nil
	}
	if lo, hi := p.Travel(); len(r.Ranges) == 1 && r.Range[0] == lo && r.Range[1] == hi {
		text := fmt.Sprintf("Every slide position is lawful, %s to %s ahead of the %s", mm(lo, math.Ceil), mm(hi, math.Floor), r.LeadDatum)
		if best, ok := r.Best[AimMargin]; ok {
			text += fmt.Sprintf("; %s leaves most to spare", fmtMM(float64(best)))
		}
		return []string{text + "."}
	}
	text := fmt.Sprintf("Any lead from %s (%s) to %s (%s) ahead of the %s is lawful", mm(r.Range[0], math.Ceil), r.Ends[0], mm(r.Range[1], math.Floor), r.Ends[1], r.LeadDatum)
	if best, ok := r.Best[AimMargin]; ok {
		text += fmt.Sprintf("; %s leaves most to spare", fmtMM(float64(best)))
	}
	return []string{text + "."}
}

func mm(l unit.Length, round func(float64) float64) string {
	return unit.Digits(round(Whole(float64(l)*1e3)), 0) + "\u00a0mm"
}

// Whole takes binary dust off a number that is meant to be whole, so that
// rounding up does not add one.
func Whole(v float64) float64 {
	if n := math.Round(v); math.Abs(v-n) < 1e-6 {
		return n
	}
	return v
}

func (p *Pairing) settingSentence(r *Result) string {
	var parts []string
	if !p.fixed {
		parts = append(parts, "the fifth wheel stands "+Ahead(r.Setting.Lead, r.LeadDatum))
	}
	if r.Setting.Level != "" {
		parts = append(parts, "the coupling is at level “"+r.Setting.Level+"”")
	}
	if liftables(p) {
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
func Ahead(lead unit.Length, datum string) string {
	switch mm := math.Round(float64(lead) * 1e3); {
	case mm == 0:
		return "right over the " + datum
	case mm < 0:
		return fmtMM(-float64(lead)) + " behind the " + datum
	}
	return fmtMM(float64(lead)) + " ahead of the " + datum
}

// asSetFailure says what is wrong with the present setting.
func (p *Pairing) asSetFailure() string {
	if math.IsNaN(p.now) {
		return "The present setting is not stated."
	}
	r := p.report(p.base, p.now, rule.CannotTell)
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Binding && f.Answer == rule.DoesNotFit {
			return fmt.Sprintf("As set now, %s, %s%s.", Ahead(unit.Length(p.now), p.LeadDatum()), lowerFirst(beyond(f)), inCase(f))
		}
	}
	if !p.stated {
		return "Whether the lift axles are up is not stated."
	}
	return ""
}

func (p *Pairing) whyNot(r *Result) (lead string, advice []string) {
	var still, moving []*Finding // failures that no position cures, and others
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.Binding || f.Answer != rule.DoesNotFit {
			continue
		}
		if p.moves(f) {
			moving = append(moving, f)
		} else {
			still = append(still, f)
		}
	}
	switch {
	case len(still) > 0:
		f := still[0]
		lead = beyond(f) + inCase(f)
		if p.fixed {
			lead += "."
		} else {
			lead += ", and no slide position can cure that."
		}
		advice = append(advice, p.cure(f)...)
		if n := len(still) - 1; n > 0 {
			advice = append(advice, fmt.Sprintf("%d more %s whatever the position.", n, plural(n, "finding fails", "findings fail")))
		}
		if r.LeadOnly != nil && len(advice) > 0 {
			advice = append(advice, fmt.Sprintf("That apart, any lead from %s to %s is lawful.", mm(r.LeadOnly[0], math.Ceil), mm(r.LeadOnly[1], math.Floor)))
		}
	case r.Conflict != nil:
		c := r.Conflict
		lead = fmt.Sprintf("%s asks for a lead of at least %s, %s for at most %s: they are %s apart.",
			c.AtLeast, mm(c.Min, math.Ceil), lowerFirst(c.AtMost), mm(c.Max, math.Floor), mm(c.Apart, math.Ceil))
		advice = append(advice, "No slide position lies between them: change the load, or take another pair.")
	case len(moving) > 0:
		f := moving[0]
		lead = beyond(f) + inCase(f) + "."
		switch {
		case p.fixed:
		case len(moving) == 1:
			advice = append(advice, "No slide position cures it.")
		default:
			advice = append(advice, "No slide position satisfies every finding at once.")
		}
		advice = append(advice, p.cure(f)...)
	default:
		lead = "No setting satisfies every finding."
	}
	if len(advice) == 0 && len(still) > 0 && still[0].Note != "" {
		advice = append(advice, still[0].Note)
	}
	return lead, advice
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

// cure says how much load to take off, or how far to move it, for a failure of
// mass that no position cures:
//
//	at the kingpin  ΔP = δ/(1 − x/L), or back by Δx = δ·L/P
//	on the bogie    ΔP = δ·L/x,       or forward by Δx = δ·L/P
//	in all          ΔP = δ
//
// Source: the sensitivities of handbook chapter 03, 1.2.
func (p *Pairing) cure(f *Finding) []string {
	if f.Unit.Dim != unit.MassDim || f.Case == "" || f.Sense != rule.AtMost {
		return nil
	}
	c := -1
	for i := range p.Cases {
		if p.Cases[i].ID == f.Case {
			c = i
		}
	}
	if c < 0 || !(p.Cases[c].Payload > 0) {
		return nil
	}
	over := -f.Unit.ToSI(f.Margin)
	x, l, P := float64(p.Cases[c].At), p.base.trailer.bogie.line, float64(p.Cases[c].Payload)
	shift := over * l / P
	switch {
	case f.Group == "" && (strings.Contains(f.ID, "tractor-gross") || f.Quantity == "mass-gross-tractor" || strings.HasPrefix(f.ID, "plate.kingpin") || strings.HasPrefix(f.ID, "rating.imposed")):
		if x >= l {
			return nil
		}
		return []string{fmt.Sprintf("Take %s off, or move the load %s back.", up(over/(1-x/l), unit.KG), up(shift, unit.MM))}
	case f.Group == "bogie":
		if f.Axle != 0 {
			return nil // an axle's share is not the group's
		}
		return []string{fmt.Sprintf("Take %s off, or move the load %s forward.", up(over*l/x, unit.KG), up(shift, unit.MM))}
	case f.Group == "" && f.Quantity != "mass-axle-range":
		return []string{fmt.Sprintf("Take %s off.", up(over, unit.KG))}
	}
	return nil
}

// up words a quantity rounded up: what has to be done must suffice.
func up(si float64, u unit.Unit) string {
	return unit.Digits(math.Ceil(Whole(u.From(si))), 0) + "\u00a0" + u.Symbol
}

func whyUnknown(r *Result) (lead string, advice []string) {
	n := len(r.Missing)
	if n == 0 {
		return "Something is missing.", nil
	}
	lead = fmt.Sprintf("%d %s missing: %s", n, plural(n, "thing is", "things are"), r.Missing[0])
	for _, m := range r.Missing[1:min(n, 3)] {
		lead += "; " + m
	}
	if n > 3 {
		lead += fmt.Sprintf("; and %d more", n-3)
	}
	lead += "."
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Binding && f.Answer == rule.DoesNotFit {
			advice = append(advice, "What is known already: "+lowerFirst(beyond(f))+inCase(f)+" in the present setting.")
			break
		}
	}
	return lead, append(advice, "What is not known is never taken as a pass. Measure it, or read it off the plate.")
}
