package mounting

import (
	"fmt"
	"strings"

	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
)

// A Property is one thing that a coupling is asked to have, in plain words, with
// the reason. The questions are independent, and so are the properties: there
// are no kinds of coupling to choose between.
type Property struct {
	ID       string        `json:"id"`
	Name     string        `json:"name"`
	Value    string        `json:"value"`
	Reason   string        `json:"reason"`
	Evidence rule.Evidence `json:"evidence"`
	Source   string        `json:"source"`
	Open     string        `json:"open"` // what would have to be known or set; empty: nothing

	speaks func(*Part) string // what speaks against a fifth wheel; nil: nothing can
}

const (
	noSource  = "common practice, no source"
	fromR55   = "UN Regulation No. 55, 2.11.1"
	fromMemo  = "from memory"
	sizeScope = "ISO 4086, scope: its pin engages fifth wheels of ISO 3842 of size 90; ISO 337, scope: pin of size 50"
)

// Choose turns what is pulled and what the work is like into the properties
// that a coupling needs, each with its reason.
func (t *Task) Choose() ([]Property, error) {
	needs, err := t.needs()
	if err != nil {
		return nil, err
	}
	a := t.asksOf(needs)
	w := &t.Brief.Work
	out := []Property{t.chooseD(needs, a), t.chooseU(needs, a), choosePin(needs), chooseWedge(needs, w)}
	if w.rough() || w.Ground == "" {
		out = append(out, t.chooseRough())
	}
	tilt, stiff := chooseTilt(needs, w)
	out = append(out, tilt)
	if tilt.Value == pitchAndRoll {
		out = append(out, Property{
			ID: "roll-lock", Name: "Roll locked on the road", Value: "lockable, and locked for the road",
			Reason:   "A plate that rolls lets the semi-trailer lean on its own; on the road the roll is locked to ±3°.",
			Evidence: rule.Memory, Source: "UN Regulation No. 55, Annex 5, from memory", Open: stiff,
			speaks: func(p *Part) string { return wants(p.RollLock, true, "its roll cannot be locked", "roll-lockable") },
		})
	}
	out = append(out, chooseCushion(w), chooseForeAft(w), chooseHeight(t.Brief), chooseMove(w))
	return out, nil
}

func (t *Task) chooseD(needs []Need, a asks) Property {
	p := Property{ID: "d", Name: "D-value", Evidence: rule.Derived, Source: fromR55}
	var most *Need
	for i := range needs {
		if n := &needs[i]; !n.Wished && n.D != nil && (most == nil || *n.D > *most.D) {
			most = n
		}
	}
	if most == nil {
		p.Value, p.Reason = "not known", "The plates that D is computed from are not all known."
		p.Open = strings.Join(a.missing, "; ")
		return p
	}
	p.Value = "at least " + atLeast(t.marked(a.d), unit.KN, 1)
	p.Reason = fmt.Sprintf("%s asks most: D = 9.81·0.6·%.4g·%.4g/(%.4g + %.4g − %.4g) kN, T tractor, R semi-trailer, U imposed, in t, from the plates; every part of the chain must be marked with as much%s.",
		most.Trailer.Title(), most.DValue.T.Tonnes(), most.DValue.R.Tonnes(), most.DValue.T.Tonnes(), most.DValue.R.Tonnes(), most.DValue.U.Tonnes(), t.roughWords())
	p.Open = strings.Join(a.missing, "; ")
	return p
}

// atLeast writes what must be reached, rounded up: what is asked for suffices.
func atLeast(si float64, u unit.Unit, decimals int) string {
	return unit.Digits(-unit.Floor(-u.From(si), decimals), decimals) + "\u00a0" + u.Symbol
}

// rough tells whether ratings may not be used in full.
func (w *Work) rough() bool { return w.Ground == "mixed" || w.Ground == "rough" }

// marked is what must be marked on a part so that the share that may be used on
// rough ground is enough.
func (t *Task) marked(need float64) float64 {
	if t.Brief.Work.rough() && t.Brief.RoughUse != nil {
		return need / *t.Brief.RoughUse
	}
	return need
}

func (t *Task) roughWords() string {
	if t.Brief.Work.rough() && t.Brief.RoughUse != nil {
		return fmt.Sprintf(", divided by the %.4g that may be used on rough ground", *t.Brief.RoughUse)
	}
	return ""
}

func (t *Task) chooseU(needs []Need, a asks) Property {
	p := Property{ID: "u", Name: "Imposed load U", Evidence: rule.Derived, Source: "UN Regulation No. 55, Annex 4 (marking); statutory plate of the semi-trailer",
		Value: "not known", Reason: "No plate of a kingpin's load is known.", Open: "kingpin-plate of the semi-trailers"}
	for i := range needs {
		if n := &needs[i]; !n.Wished && n.U != nil && float64(*n.U) == a.u {
			p.Value = "at least " + atLeast(t.marked(a.u), unit.KG, 0)
			p.Reason = fmt.Sprintf("The kingpin plate of %s allows so much, and fifth wheel and mounting plate must bear what may come%s.", n.Trailer.Title(), t.roughWords())
			p.Open = ""
			break
		}
	}
	return p
}

func choosePin(needs []Need) Property {
	p := Property{ID: "pin", Name: "Kingpin size", Evidence: rule.Read, Source: sizeScope}
	by := map[rating.Size][]string{}
	for i := range needs {
		if n := &needs[i]; !n.Wished {
			by[n.Pin] = append(by[n.Pin], n.Trailer.ID)
		}
	}
	if open := by[0]; len(open) > 0 {
		p.Open = "kingpin size of " + strings.Join(open, ", ")
	}
	switch s50, s90 := by[rating.Size50], by[rating.Size90]; {
	case len(s50) > 0 && len(s90) > 0:
		p.Value = "none serves all"
		p.Reason = fmt.Sprintf("50 mm: %s. 90 mm: %s. A jaw takes one size, and no adaptor may marry them.", strings.Join(s50, ", "), strings.Join(s90, ", "))
		p.Source += "; NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(2)"
	case len(s50) > 0:
		p.Value, p.Reason = "50 mm", "Every semi-trailer has a 50 mm (2 in) kingpin."
	case len(s90) > 0:
		p.Value, p.Reason = "90 mm", "Every semi-trailer has a 90 mm (3½ in) kingpin."
	default:
		p.Value, p.Reason = "not known", "No kingpin's size is known."
	}
	return p
}

func chooseWedge(needs []Need, w *Work) Property {
	p := Property{ID: "wedge", Name: "Positive steering", Evidence: rule.Derived,
		Source: "UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2: for positive steering the test is ±0.675·D, else ±0.6·D"}
	var have, open []string
	for i := range needs {
		n := &needs[i]
		switch {
		case n.Wished:
		case n.Trailer.Wedge == nil:
			open = append(open, n.Trailer.ID)
		case *n.Trailer.Wedge:
			have = append(have, n.Trailer.ID)
		}
	}
	switch {
	case len(have) > 0:
		p.Value, p.Reason = "approved for a steering wedge", "Steered through a wedge: "+strings.Join(have, ", ")+". A fifth wheel for that is tested with higher loads and marked."
	case w.Steered != nil && *w.Steered:
		p.Value, p.Reason = "approved for a steering wedge", "Semi-trailers with a wedge are to be pulled later; the approval cannot be added to a fitted coupling."
	case len(open) > 0 && w.Steered == nil:
		p.Value, p.Reason, p.Open = "not known", "Of some semi-trailers it is not said whether they steer through a wedge.", "steering-wedge of "+strings.Join(open, ", ")
	default:
		p.Value, p.Reason = "not needed", "No semi-trailer steers through a wedge."
	}
	return p
}

// chooseRough is the part of the ratings that may be used off the road: the
// user's setting, without default.
func (t *Task) chooseRough() Property {
	p := Property{ID: "rough-use", Name: "Part of D and U used on rough ground", Evidence: rule.Practice,
		Source: noSource + ": that ratings assume paved roads is said in the trade; nothing that was read gives a figure",
		Reason: "Full ratings are not to be used on building sites and uneven roads."}
	switch use := t.Brief.RoughUse; {
	case use != nil:
		p.Value = unit.Digits(*use*100, 0) + " % (your setting)"
	case t.Brief.Work.Ground == "":
		p.Value, p.Open = "not set", "work.ground: how rough the ground is"
	default:
		p.Value, p.Open = "not set", "rough-use: the part of D and U that you allow on rough ground"
	}
	return p
}

const pitchAndRoll = "pitching and rolling"

// wants words what speaks against a fifth wheel by one of its properties.
func wants(have *bool, want bool, against, field string) string {
	switch {
	case have == nil:
		return field + " is not entered"
	case *have != want:
		return against
	}
	return ""
}

func chooseTilt(needs []Need, w *Work) (p Property, open string) {
	p = Property{ID: "tilting", Name: "How the plate tilts", Evidence: rule.Memory,
		Source: "from memory: a plate that rolls only under semi-trailers that are stiff in torsion and stable; NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(3), for the danger",
		speaks: func(q *Part) string {
			switch q.Tilting {
			case "":
				return "tilting is not entered"
			case "pitch":
				return ""
			}
			return "its plate rolls"
		}}
	p.Value = "pitching only"
	if w.Twist == "" {
		p.Open = "work.twist: how much the frame is twisted"
	}
	if w.Twist != "much" {
		p.Reason = "Little twist reaches the coupling, and a plate that does not roll steadies the semi-trailer by the tractor's frame."
		return p, ""
	}
	var soft, unknown []string
	for i := range needs {
		switch s := needs[i].Trailer; {
		case s.TorsionStiff == nil:
			unknown = append(unknown, s.ID)
		case !*s.TorsionStiff:
			soft = append(soft, s.ID)
		}
	}
	switch {
	case len(soft) > 0:
		p.Reason = "Not stiff in torsion: " + strings.Join(soft, ", ") + ". Such a semi-trailer needs the tractor's frame against leaning; the twist has to be taken by the two frames."
		return p, ""
	case len(unknown) > 0:
		p.Reason = "Whether the semi-trailers are stiff in torsion is not known, and only then may the plate roll."
		p.Open = "torsionally-stiff of " + strings.Join(unknown, ", ")
		return p, ""
	}
	p.Value = pitchAndRoll
	p.Reason = "Much twist under semi-trailers that are stiff in torsion would rack frame and coupling; a rolling plate lets them lie differently."
	p.speaks = func(q *Part) string {
		switch q.Tilting {
		case "":
			return "tilting is not entered"
		case "pitch-and-roll":
			return ""
		}
		return "its plate does not roll"
	}
	return p, open
}

func chooseCushion(w *Work) Property {
	p := Property{ID: "cushioned", Name: "Cushioned bearings", Evidence: rule.Practice, Source: noSource}
	low := w.Low != nil && *w.Low
	switch {
	case w.Ground == "":
		p.Value, p.Reason, p.Open = "not known", "How rough the ground is decides, and is not said.", "work.ground: how rough the ground is"
		return p
	case w.Ground == "paved":
		p.Value, p.Reason = "not needed", "On paved roads bare bearings do, and they have less to wear."
		return p
	case low:
		p.Value, p.Reason = "cushioned, if the height allows", "Rough ground knocks through bare bearings; cushions stand in the way of a very low coupling, so weigh one against the other."
	default:
		p.Value, p.Reason = "cushioned", "Rough ground knocks through bare bearings into frame and semi-trailer."
	}
	p.speaks = func(q *Part) string {
		return wants(q.Cushioned, true, "its bearings are not cushioned", "cushioned")
	}
	return p
}

func chooseForeAft(w *Work) Property {
	p := Property{ID: "fore-and-aft", Name: "Yielding along the frame", Evidence: rule.Practice, Source: noSource}
	switch {
	case w.Jerks == nil:
		p.Value, p.Reason, p.Open = "not known", "Whether the pull comes in jerks decides, and is not said.", "work.jerks: whether the pull comes in jerks"
	case *w.Jerks:
		p.Value, p.Reason = "yielding", "Jerks pass from the semi-trailer into bolts and frame; a coupling that yields a little along the frame takes their peaks."
		p.speaks = func(q *Part) string {
			return wants(q.ForeAft, true, "it does not yield along the frame", "fore-and-aft")
		}
	default:
		p.Value, p.Reason = "not needed", "A steady pull needs no give, and what does not give does not wear."
	}
	return p
}

func chooseHeight(b *Brief) Property {
	p := Property{ID: "height", Name: "Height", Evidence: rule.Derived, Source: "plane geometry: the coupling height is the sum of the stack"}
	var words []string
	for i := range b.Heights {
		w := &b.Heights[i]
		h, how := w.Unladen, "unladen"
		if h == nil {
			h, how = w.Laden, "laden"
		}
		words = append(words, strings.TrimSpace(w.Name+" "+showMM(*h)+" "+how))
	}
	low := b.Work.Low != nil && *b.Work.Low
	adjusted := b.Work.Adjusted != nil && *b.Work.Adjusted
	switch {
	case len(b.Heights) > 1 || adjusted:
		p.Value = "height-adjustable mounting: " + strings.Join(words, ", ")
		p.Reason = "Semi-trailers of different plate heights are pulled in turn, and one fixed height tilts one of them."
	case len(b.Heights) == 1:
		p.Value, p.Reason = words[0], "The semi-trailers lie level at this height."
	case low:
		p.Value, p.Reason, p.Open = "as low as the stack can be", "The coupling has to be low.", "height: the coupling height that is wanted"
	default:
		p.Value, p.Reason, p.Open = "not known", "No coupling height is asked for.", "height: the coupling height that is wanted"
	}
	if low && len(b.Heights) > 0 {
		p.Reason += " It has to be low: of stacks that reach it take the one with the flattest parts."
	}
	return p
}

func chooseMove(w *Work) Property {
	p := Property{ID: "moved", Name: "Moved along the frame", Evidence: rule.Practice, Source: noSource}
	switch {
	case w.Moved == nil:
		p.Value, p.Reason, p.Open = "not known", "Whether the coupling is moved from trip to trip is not said.", "work.moved: whether the coupling is moved along the frame"
	case *w.Moved:
		p.Value, p.Reason = "on a slider", "Loads and semi-trailers change, and a slider sets the lead for each; it costs height and mass."
	default:
		p.Value, p.Reason = "fixed", "Nothing asks for another lead from trip to trip, and what cannot move cannot come loose."
	}
	return p
}

// against lists what speaks against a stack by properties that are wanted and
// do not exclude.
func against(wants []Property, s Stack) []string {
	var out []string
	w := s.Wheel()
	for i := range wants {
		p := &wants[i]
		if p.speaks != nil {
			if why := p.speaks(w); why != "" {
				out = append(out, fmt.Sprintf("%s: %s wanted; %s", p.Name, p.Value, why))
			}
		}
		if p.ID == "moved" && p.Value == "on a slider" && s.part(Slider) == nil {
			out = append(out, p.Name+": on a slider wanted; the stack has none")
		}
		if p.ID == "moved" && p.Value == "fixed" && s.part(Slider) != nil {
			out = append(out, p.Name+": fixed wanted; the stack has a slider")
		}
	}
	return out
}
