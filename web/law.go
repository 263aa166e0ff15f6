package web

import (
	"net/http"

	"underpin/rule"
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
	Text     string // its date, as the first words of a sentence
	Rules    []ruleView
	Assumed  []rule.Assumption
	Parent   string
	Evidence map[string]string
}

type ruleView struct {
	ID, Title, Limit       string
	When, Steps            []string // conditions, all of which must hold; bands of a limit in steps
	Lifts                  bool     // it takes another rule's limit away
	Source, Evidence, Book string
	Warns                  bool
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
	v := lawView{Book: b, Assumed: b.Assumed, Text: upperFirst(b.TextDateText())}
	if b.Parent != nil {
		v.Parent = b.Parent.Name
	}
	for _, x := range b.Rules {
		rv := ruleView{ID: x.ID, Title: x.Title, Limit: x.LimitText(), When: x.WhenText(), Steps: x.StepsText(), Lifts: x.Lifts,
			Source: x.Source(), Evidence: string(x.Evidence), Book: x.Book, Warns: !x.Evidence.Certifies()}
		v.Rules = append(v.Rules, rv)
	}
	s.render(w, r, http.StatusOK, "law", b.Title, v)
}
