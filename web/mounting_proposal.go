package web

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"underpin/drawing"
	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
)

// mountingView is what templates/mounting.html shows.
type mountingView struct {
	Ask      mountingAsk
	Briefs   []option
	Tractors []option
	Aims     []option
	Laws     []option
	Trailers []trailerOption
	Height   string // mm, as a number
	Within   string
	Several  string // wanted heights, where there are several
	Hidden   []option

	State, Shape, Word, Lead string
	Note                     string
	LawTitle, LawDate        string
	Chosen                   []chosenView
	Proposals                []proposalView
	Nearest                  []string
	Missing, Assumed         []string
	Wants                    []mounting.Property
}

type trailerOption struct {
	ID, Name     string
	Must, Wished bool
}

type chosenView struct {
	Name, Stack, At string
	Query           template.URL
}

// A proposalView is one proposal.
type proposalView struct {
	Rank               int
	State, Shape, Word string
	Name, Stack        string
	At, Places         string
	Heights            []string
	Mass, Margin       string
	Served, Headroom   string
	Limits, More       []string
	Against, Open      []string
	Drawing            template.HTML
	Query              template.URL
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func placeText(l *unit.Length) string {
	if l == nil {
		return ""
	}
	return unit.Format(float64(*l), unit.MM, 0)
}

// plainMM is a length as a field of a form shows it.
func plainMM(l *unit.Length) string {
	if l == nil {
		return ""
	}
	return strconv.FormatFloat(float64(int64(l.Millimetres()*10+0.5))/10, 'f', -1, 64)
}

func newMountingView(a mountingAsk, r *mounting.Request) *mountingView {
	v := &mountingView{Ask: a, LawTitle: r.Law.Title, LawDate: r.Law.TextDate, Hidden: a.hidden("own", "trailer", "wished", "height", "within")}
	for i := range r.File.Briefs {
		b := &r.File.Briefs[i]
		v.Briefs = append(v.Briefs, option{b.ID, or(b.Name, b.ID), b.ID == a.Brief})
	}
	f := r.Fleet
	for i := range f.Tractors {
		if t := &f.Tractors[i]; r.File.ChassisOf(t.ID) != nil || t.ID == a.Tractor {
			v.Tractors = append(v.Tractors, option{t.ID, t.Title(), t.ID == a.Tractor})
		}
	}
	for _, aim := range mountingAims {
		v.Aims = append(v.Aims, option{aim, aimWords[aim], aim == a.Aim})
	}
	for _, name := range rule.Names() {
		v.Laws = append(v.Laws, option{name, lawShort(name), name == a.Law})
	}
	if !slices.Contains(rule.Names(), a.Law) {
		v.Laws = append(v.Laws, option{a.Law, r.Law.Title, true})
	}
	for i := range f.Trailers {
		t := &f.Trailers[i]
		v.Trailers = append(v.Trailers, trailerOption{t.ID, t.Title(), slices.Contains(r.Brief.Trailers, t.ID), slices.Contains(r.Brief.Wished, t.ID)})
	}
	switch hs := r.Brief.Heights; {
	case len(hs) == 1:
		v.Height, v.Within = plainMM(hs[0].Unladen), plainMM(hs[0].Tolerance)
	case len(hs) > 1:
		var words []string
		for i := range hs {
			h := hs[i].Unladen
			if h == nil {
				h = hs[i].Laden
			}
			words = append(words, strings.TrimSpace(hs[i].Name+" "+plainMM(h)+"\u00a0mm"))
		}
		v.Several = strings.Join(words, ", ")
	}
	for i := range r.File.Fittings {
		g := &r.File.Fittings[i]
		if g.Brief != a.Brief {
			continue
		}
		st, err := r.File.Stack(g)
		if err != nil {
			continue
		}
		link := a
		link.Fitting = g.ID
		v.Chosen = append(v.Chosen, chosenView{or(g.Name, g.ID), st.String(), placeText(g.At), template.URL(link.query())})
	}
	return v
}

// found fills in what the search found, the answer as a sentence first.
func (v *mountingView) found(a mountingAsk, r *mounting.Request, f *mounting.Found) {
	v.Missing, v.Assumed, v.Wants = f.Missing, f.Assumed, f.Wants
	for i := range f.Proposals {
		v.Proposals = append(v.Proposals, newProposalView(a, r, &f.Proposals[i], i+1))
	}
	for i := range f.Nearest {
		v.Nearest = append(v.Nearest, upperFirst(f.Nearest[i].Text))
	}
	answer := rule.DoesNotFit
	switch {
	case len(f.Proposals) > 0:
		best := &f.Proposals[0]
		answer = best.Answer
		v.Word = "One mounting answers the brief."
		if f.Count > 1 {
			v.Word = fmt.Sprintf("%d mountings answer the brief.", f.Count)
		}
		v.Lead = fmt.Sprintf("By the aim “%s” the best is %s, %s behind the front axle.", aimWords[a.Aim], stackName(best.Stack), unit.Format(float64(best.At), unit.MM, 0))
		if answer == rule.CannotTell {
			v.Word = upperFirst(strings.TrimSuffix(v.Word, ".")) + " as far as is known."
		}
		if len(f.Proposals) < f.Count {
			v.Note = fmt.Sprintf("The best %d are shown.", len(f.Proposals))
		}
	case len(f.Nearest) == 0 && len(f.Missing) > 0:
		answer = rule.CannotTell
		v.Word, v.Lead = "Cannot tell.", "What is missing decides whether a mounting answers the brief."
	default:
		v.Word, v.Lead = "No mounting of the catalogue answers the brief.", "Below stands what came nearest, and by how much."
	}
	v.State, v.Shape = stateOf(answer), shapeOf(answer)
}

// stackName names a stack from the top down, as people say it.
func stackName(s mounting.Stack) string {
	var names []string
	for _, p := range s.Parts {
		names = append(names, p.Title())
	}
	slices.Reverse(names)
	base := s.Base
	if base == mounting.OnAngles {
		base = "attachment angles"
	}
	return strings.Join(append(names, base), " on ")
}

func newProposalView(a mountingAsk, r *mounting.Request, o *mounting.Proposal, rank int) proposalView {
	v := proposalView{Rank: rank, State: stateOf(o.Answer), Shape: shapeOf(o.Answer), Word: "all that is known of it holds", Name: upperFirst(stackName(o.Stack)), Stack: o.Stack.String(),
		At: unit.Format(float64(o.At), unit.MM, 0), Places: o.Positions.String(), Against: o.Against, Open: o.Open, Mass: unit.Unknown, Margin: unit.Unknown, Headroom: unit.Unknown}
	if o.Answer != rule.Fits {
		v.Word = "something is not known"
	}
	if o.Travel > 0 {
		v.At += fmt.Sprintf(" in the foremost slide position, %s of travel", unit.Format(float64(o.Travel), unit.MM, 0))
	}
	for i := range o.Heights {
		h := &o.Heights[i]
		text := unit.Unknown
		if h.Unladen != nil {
			text = unit.Format(float64(*h.Unladen), unit.MM, 0) + " unladen"
		}
		if h.Laden != nil {
			text += ", " + unit.Format(float64(*h.Laden), unit.MM, 0) + " laden"
		}
		if h.Raise > 0 {
			text += ", lift raised " + unit.Format(float64(h.Raise), unit.MM, 0)
		}
		if h.Name != "" {
			text = h.Name + ": " + text
		}
		v.Heights = append(v.Heights, text)
	}
	if o.Weighed {
		v.Mass = unit.Format(float64(o.Mass), unit.KG, 0)
	}
	if finite(o.Margin) {
		v.Margin = unit.Digits(unit.Floor(o.Margin*100, 1), 1) + "\u00a0%"
	}
	if n := len(r.Brief.Wished); n > 0 {
		v.Served = fmt.Sprintf("%d of %d", len(o.Served), n)
	}
	if finite(float64(o.Headroom)) {
		v.Headroom = unit.Digits(unit.Floor(o.Headroom.Millimetres(), 0), 0) + "\u00a0mm"
	}
	const first = 3
	for i, l := range o.Limits {
		if i < first {
			v.Limits = append(v.Limits, l.Text)
		} else {
			v.More = append(v.More, l.Text)
		}
	}
	link := a
	link.Fitting, link.Base, link.Parts, link.At = "", o.Base, o.IDs(), plainMM(&o.At)
	v.Query = template.URL(link.query())
	v.Drawing = drawProposal(r, o, rank)
	return v
}

func finite(v float64) bool { return v-v == 0 }

// drawProposal draws a proposal. What the semi-trailers say of it is not asked
// again for a picture: the heights and places of the search stand on it.
func drawProposal(r *mounting.Request, o *mounting.Proposal, rank int) template.HTML {
	q, b := *r, *r.Brief
	b.Trailers, b.Wished = nil, nil
	at := o.At
	q.Brief, q.Fitting = &b, &mounting.Fitting{ID: "proposal", Brief: b.ID, Base: o.Base, Parts: o.IDs(), At: &at}
	sp, err := mounting.Specify(&q)
	if err != nil {
		return template.HTML("<p>" + template.HTMLEscapeString("This drawing cannot be made: "+err.Error()) + "</p>")
	}
	for i := range min(len(sp.Heights), len(o.Heights)) {
		if l := o.Heights[i].Laden; l != nil {
			sp.Heights[i].Laden = new(int(l.Millimetres() + 0.5))
		}
	}
	sp.Position.Lawful = nil
	for _, p := range o.Positions {
		sp.Position.Lawful = append(sp.Position.Lawful, [2]int{int(p.From.Millimetres() + 0.999), int(p.To.Millimetres() + 1e-6)})
	}
	id := "proposal-" + strconv.Itoa(rank)
	return svg(drawing.MountingSide(&q, sp, drawing.Options{Phone: true, NoBlock: true, Width: 110, ID: id}), id, false)
}
