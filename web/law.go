package web

import (
	"net/http"

	"underpin/rule"
	"underpin/unit"
)

type lawsView struct{ Books []bookView }

type bookView struct {
	Name, Title, TextDate, Note string
	Rules                       int
	Parent                      string
}

// lawView is what templates/law.html shows.
type lawView struct {
	Book     *rule.Book
	Rules    []ruleView
	Assumed  []rule.Assumption
	Parent   string
	Evidence map[string]string
}

type ruleView struct {
	ID, Title, Sense, Limit string
	Source, Evidence, Book  string
	Warns                   bool
}

func (s *site) lawsPage(w http.ResponseWriter, r *http.Request) {
	v := lawsView{}
	for _, name := range rule.Names() {
		b, err := s.law(name)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		v.Books = append(v.Books, newBookView(b))
	}
	s.render(w, r, http.StatusOK, "laws", "Rulebooks", v)
}

func newBookView(b *rule.Book) bookView {
	v := bookView{Name: b.Name, Title: b.Title, TextDate: b.TextDate, Note: b.Note, Rules: len(b.Rules)}
	if b.Parent != nil {
		v.Parent = b.Parent.Name
	}
	return v
}

func (s *site) lawPage(w http.ResponseWriter, r *http.Request) {
	b, err := s.law(r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := lawView{Book: b, Assumed: b.Assumed}
	if b.Parent != nil {
		v.Parent = b.Parent.Name
	}
	for _, x := range b.Rules {
		rv := ruleView{ID: x.ID, Title: x.Title, Sense: string(x.Sense), Source: x.Source(), Evidence: string(x.Evidence), Book: x.Book, Warns: !x.Evidence.Certifies()}
		switch {
		case x.Table != nil:
			rv.Limit = "in steps"
		case x.Function != nil:
			rv.Limit = "by formula"
		default:
			rv.Limit = unit.Text(x.Unit.ToSI(x.Limit), x.Unit)
		}
		v.Rules = append(v.Rules, rv)
	}
	s.render(w, r, http.StatusOK, "law", b.Title, v)
}
