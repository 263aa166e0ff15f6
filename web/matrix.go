package web

import (
	"net/http"
	"net/url"
	"strings"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// matrixView is what templates/matrix.html shows.
type matrixView struct {
	Law      *rule.Book
	Laws     []option
	Trailers []string
	Rows     []matrixRow
	Counts   []countView
	CSV      string
}

type matrixRow struct {
	Name  string
	Cells []matrixCell
}

type matrixCell struct {
	Shape, State, Word, Query, Why, Trailer string
}

type countView struct {
	Shape, State, Word string
	N                  int
}

func (s *site) matrix(r *http.Request) (*vehicle.Fleet, *rule.Book, []assess.Cell, error) {
	file, err := s.fleet(r.Context())
	if err != nil {
		return nil, nil, nil, err
	}
	law := r.URL.Query().Get("law")
	if law == "" {
		law = file.Law
	}
	if law == "" {
		law = "eu"
	}
	book, err := s.law(law)
	if err != nil {
		return nil, nil, nil, err
	}
	cells, err := assess.Matrix(&file.Fleet, book, today())
	return &file.Fleet, book, cells, err
}

func (s *site) matrixPage(w http.ResponseWriter, r *http.Request) {
	f, book, cells, err := s.matrix(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := &matrixView{Law: book}
	for _, name := range rule.Names() {
		v.Laws = append(v.Laws, option{name, lawShort(name), name == book.Name})
	}
	for i := range f.Trailers {
		v.Trailers = append(v.Trailers, f.Trailers[i].Title())
	}
	counts := map[rule.Answer]int{}
	for i := range f.Tractors {
		row := matrixRow{Name: f.Tractors[i].Title()}
		for k := range f.Trailers {
			c := &cells[i*len(f.Trailers)+k]
			counts[c.Result.Answer]++
			cell := matrixCell{Shape: shapeOf(c.Result.Answer), State: stateOf(c.Result.Answer), Word: answerWord(c.Result.Answer), Trailer: f.Trailers[k].Title(),
				Query: "/pairing?" + url.Values{"tractor": {c.Tractor.ID}, "trailer": {c.Trailer.ID}, "law": {book.Name}}.Encode()}
			if g := c.Governs; g != nil {
				cell.Why = assess.Deciding(g, unit.Metric)
			}
			if len(c.Changes) > 0 {
				cell.Why = strings.Join(c.Changes, "; ")
			}
			row.Cells = append(row.Cells, cell)
		}
		v.Rows = append(v.Rows, row)
	}
	for _, a := range []rule.Answer{rule.Fits, rule.FitsIf, rule.DoesNotFit, rule.CannotTell} {
		v.Counts = append(v.Counts, countView{shapeOf(a), stateOf(a), answerWord(a), counts[a]})
	}
	s.render(w, r, http.StatusOK, "matrix", "Matrix", v)
}

func answerWord(a rule.Answer) string {
	return map[rule.Answer]string{rule.Fits: "fits", rule.FitsIf: "fits if set so", rule.DoesNotFit: "does not fit", rule.CannotTell: "cannot tell"}[a]
}

func (s *site) matrixJSON(w http.ResponseWriter, r *http.Request) {
	_, book, cells, err := s.matrix(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	writeJSON(w, http.StatusOK, exchange.NewMatrixAnswer(book, cells))
}
