package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"strings"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
)

// catalogueView is what templates/catalogue.html shows: what there is to mount,
// where from, and what was asked for.
type catalogueView struct {
	Done                     string
	State, Shape, Word, Lead string
	Bring                    string // address of the form that brings a file in, for those who may
	History                  template.HTML
	Kept                     string // who brought it in, and when
	File                     *mounting.File
	Chassis                  []chassisView
	Parts                    []catalogueRow
	Briefs                   []briefRow
	Fittings                 []fittingRow
}

type chassisView struct{ Name, Note, For, Bases, Guide, Places string }

type catalogueRow struct{ Name, What, Height, Mass, D, U, Read, Stands, Foot, Top, Note string }

type briefRow struct {
	Name, Tractor, Trailers, Heights, Note string
	Query                                  template.URL
}

type fittingRow struct {
	Name, Brief, Stack, At, Bolts string
	Query                         template.URL
}

// cataloguePage lists the parts file in force.
func (s *site) cataloguePage(w http.ResponseWriter, r *http.Request) {
	parts, err := s.partsFile(r.Context())
	if err != nil {
		s.noParts(w, r, err)
		return
	}
	s.showCatalogue(w, r, parts)
}

func (s *site) showCatalogue(w http.ResponseWriter, r *http.Request, parts *mounting.File) {
	v := &catalogueView{File: parts, Done: doneWords[r.FormValue("done")], State: "unknown", Shape: "○"}
	if s.Register != nil && may(r.Context(), fleet.Design) {
		v.Bring = "/mounting/catalogue/new"
	}
	switch {
	case parts == nil && s.Register != nil:
		v.Word, v.Lead = "There is no catalogue of parts yet.", "Mountings are searched among chassis, parts and briefs of a parts file. Write one by the example, with what plates, drawings and documents say, and bring it in."
	case parts == nil:
		v.Word, v.Lead = "There is no catalogue of parts yet.", "Put a file "+partsName+" with chassis, parts and briefs beside the fleet file "+s.Path+"."
	default:
		v.State, v.Shape = "holds", "●"
		v.Word = or(parts.Name, "The catalogue") + "."
		v.Lead = fmt.Sprintf("%s for %s; %s, %s.", counted(len(parts.Parts), "part", "parts"), counted(len(parts.Chassis), "chassis", "chassis"), counted(len(parts.Briefs), "brief", "briefs"), counted(len(parts.Fittings), "mounting chosen", "mountings chosen"))
		v.fill(parts)
	}
	if s.Register != nil && parts != nil {
		c, err := s.Register.Catalogue(r.Context())
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if c != nil {
			v.Kept = "The file " + c.Name + ", brought in by " + c.Who.Name + " on " + when(c.At) + "."
		}
	}
	s.render(w, r, http.StatusOK, "catalogue", "Catalogue of mounting parts", v)
}

func (v *catalogueView) fill(f *mounting.File) {
	for i := range f.Chassis {
		c := &f.Chassis[i]
		var bases []string
		if a := c.Angles; a != nil {
			bases = append(bases, "attachment angles "+orUnknown(a.Height, "", " over the frame"))
		}
		if sf := c.Subframe; sf != nil {
			bases = append(bases, "subframe "+orUnknown(sf.Height, "", " over the frame"))
		}
		bases = append(bases, "frame "+orUnknown(c.Frame.Width, "", " wide"))
		v.Chassis = append(v.Chassis, chassisView{or(c.Name, c.ID), c.Note, strings.Join(c.For, ", "), strings.Join(bases, "; "), or(c.Guide, "not at hand: nothing on it is approved"),
			orUnknown(c.From, "", "") + " to " + orUnknown(c.To, "", "")})
	}
	for i := range f.Parts {
		p := &f.Parts[i]
		row := catalogueRow{Name: p.Title(), What: strings.Join(nonEmpty(strings.ReplaceAll(p.Kind, "-", " "), p.Form, p.ID, p.Approval), ", "), Note: p.Note,
			Height: orUnknown(p.Height, "", ""), Mass: unit.Unknown, D: unit.Unknown, U: unit.Unknown, Read: p.ReadFrom, Stands: strings.ReplaceAll(strings.Join(p.StandsOn, ", "), "-", " "), Foot: pattern(p.Foot), Top: pattern(p.Top)}
		if p.Mass != nil {
			row.Mass = unit.Format(float64(*p.Mass), unit.KG, 0)
		}
		if p.D != nil {
			row.D = unit.Format(float64(*p.D), unit.KN, 0)
		}
		if p.Imposed != nil {
			row.U = unit.Format(float64(*p.Imposed), unit.KG, 0)
		}
		if p.Kind == mounting.Bracket && p.D == nil {
			row.D, row.U = "", "" // it is judged by its bolts
		}
		if p.Kind == mounting.FifthWheel {
			row.Top = "jaw " + orUnknown(p.Pin, "for ", "")
		}
		v.Parts = append(v.Parts, row)
	}
	for i := range f.Briefs {
		b := &f.Briefs[i]
		var heights []string
		for k := range b.Heights {
			h := &b.Heights[k]
			wanted := h.Unladen
			if wanted == nil {
				wanted = h.Laden
			}
			heights = append(heights, strings.TrimSpace(h.Name+" "+orUnknown(wanted, "", "")))
		}
		v.Briefs = append(v.Briefs, briefRow{or(b.Name, b.ID), b.Tractor, strings.Join(b.Trailers, ", "), strings.Join(heights, "; "), b.Note, template.URL(url.Values{"brief": {b.ID}}.Encode())})
	}
	for i := range f.Fittings {
		g := &f.Fittings[i]
		row := fittingRow{Name: or(g.Name, g.ID), Brief: g.Brief, At: orUnknown(g.At, "", ""), Query: template.URL(url.Values{"brief": {g.Brief}, "fitting": {g.ID}}.Encode())}
		if st, err := f.Stack(g); err == nil {
			row.Stack = st.String()
		}
		var bolts []string
		for k := range g.Joints {
			j := &g.Joints[k]
			text := strings.TrimSpace(j.Upper + ": " + j.Thread + " " + j.Grade)
			if j.Torque != nil && j.Document != "" {
				text += ", " + unit.Format(float64(*j.Torque), unit.NM, 0)
			} else {
				text += ", torque not known"
			}
			bolts = append(bolts, text)
		}
		row.Bolts = strings.Join(bolts, "; ")
		v.Fittings = append(v.Fittings, row)
	}
}

func orUnknown(l *unit.Length, before, after string) string {
	if l == nil {
		return unit.Unknown
	}
	return before + unit.Format(float64(*l), unit.MM, 0) + after
}

func pattern(p *mounting.Pattern) string {
	n := len(p.Places())
	if n == 0 {
		return ""
	}
	text := counted(n, "hole", "holes")
	if p.From == "" {
		return text + ", from where is not entered"
	}
	return text + ", " + p.From
}

// bringCatalogue takes a parts file into the register.
func (s *site) bringCatalogue(w http.ResponseWriter, r *http.Request) {
	s.act(w, r, &action{
		head: "Bring in a parts file", save: "Bring it in", back: "/mounting/catalogue", file: true, accept: ".toml,text/plain,application/toml", fileDoc: fmt.Sprintf("A parts file (TOML) with chassis, parts, briefs and chosen mountings, at most %d MB.", fleet.MaxCatalogue>>20),
		lead: "It takes the place of the catalogue that is in force. That one stays in the history, and specifications that were kept hold what they were made of. What is wrong with the file is told with line and column, and then nothing changes.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			data, err := io.ReadAll(io.LimitReader(in.file, fleet.MaxCatalogue+1))
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.KeepCatalogue{Meta: in.Meta, Name: cutText(in.name, 200), Data: data})
		},
		after: func(*fleet.Done) string { return "/mounting/catalogue" },
	})
}

// retrofitView is what templates/retrofit.html shows.
type retrofitView struct {
	Query  template.URL
	Stack  string
	Lead   string
	Advice []adviceView
}

type adviceView struct {
	mounting.Advice
	State, Shape, Word string
	Rows               []adviceRow
}

type adviceRow struct{ Part, Stack, Height, Mass, Open string }

// signed is a change, with its sign.
func signed(v *int, u string) string {
	if v == nil {
		return unit.Unknown
	}
	sign := ""
	if *v > 0 {
		sign = "+"
	}
	return sign + unit.Digits(float64(*v), 0) + "\u00a0" + u
}

// retrofitPage says what can be added to a mounting, what it needs and what is
// looked at again.
func (s *site) retrofitPage(w http.ResponseWriter, r *http.Request) {
	parts, err := s.partsFile(r.Context())
	if err != nil || parts == nil || len(parts.Briefs) == 0 {
		s.noParts(w, r, err)
		return
	}
	a, req, err := s.mountingRequest(r, parts)
	if err == nil {
		err = a.fit(req)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v, err := newRetrofitView(a, req)
	if err != nil {
		s.fail(w, r, a.refused(err))
		return
	}
	s.render(w, r, http.StatusOK, "retrofit", "What can be added to "+v.Stack, v)
}

func newRetrofitView(a mountingAsk, req *mounting.Request) (*retrofitView, error) {
	advice, err := req.Advise()
	if err != nil {
		return nil, err
	}
	st, err := req.File.Stack(req.Fitting)
	if err != nil {
		return nil, err
	}
	v := &retrofitView{Query: template.URL(a.query()), Stack: stackName(st)}
	var can, open []string
	for i := range advice {
		d := adviceView{Advice: advice[i]}
		answer := rule.Answer(d.Answer)
		d.State, d.Shape = stateOf(answer), shapeOf(answer)
		switch answer {
		case rule.Fits:
			d.Word = "can be added"
			can = append(can, lower(d.Title))
			if d.Why == "It is fitted." {
				d.Word = "is fitted"
				can = can[:len(can)-1]
			}
		case rule.DoesNotFit:
			d.Word = "cannot be added"
		default:
			d.Word = "cannot be told"
			open = append(open, lower(d.Title))
		}
		for _, o := range d.Options {
			d.Rows = append(d.Rows, adviceRow{o.Part, o.Stack, signed(o.Height, "mm"), signed(o.Mass, "kg"), strings.Join(o.Open, "; ")})
		}
		d.Word = upperFirst(d.Word)
		v.Advice = append(v.Advice, d)
	}
	v.Lead = "Nothing that this program knows can be added to it."
	if len(can) > 0 {
		v.Lead = "Its documents or the catalogue allow: " + strings.Join(can, ", ") + "."
	}
	if len(open) > 0 {
		v.Lead += " What is missing decides on: " + strings.Join(open, ", ") + "."
	}
	return v, nil
}

// refused turns a question that cannot be asked into one that says what was wrong
// with it.
func (a *mountingAsk) refused(err error) error {
	var stack *mounting.StackError
	var place *mounting.NoPlaceError
	switch {
	case errors.As(err, &stack):
		return &badInput{"part", stack.Found, stack.Do}
	case errors.As(err, &place):
		return &badInput{"brief", a.Brief, "a question that leaves a place: " + place.Why}
	}
	return err
}

// noParts is the page where there is no catalogue, or one that cannot be used.
func (s *site) noParts(w http.ResponseWriter, r *http.Request, err error) {
	var bad exchange.Invalid
	switch {
	case errors.As(err, &bad):
		text := ""
		for _, e := range bad {
			text += e.Error() + ". "
		}
		s.errorPage(w, r, http.StatusUnprocessableEntity, "The parts file cannot be used.", text)
	case err != nil && s.Register != nil:
		s.fail(w, r, err)
	case err != nil:
		s.errorPage(w, r, http.StatusUnprocessableEntity, "The parts file cannot be read.", err.Error())
	default:
		parts, _ := s.partsFile(r.Context())
		s.showCatalogue(w, r, parts)
	}
}
