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
	Reasons  []matrixReason // what decides each pair; left out where there are too many to read
}

// A matrixReason is what decides one pair, or what has to be set for it.
type matrixReason struct{ Shape, State, Word, Tractor, Trailer, Query, Why string }

// reasonsListed is for how many pairs the page says what decides them.
const reasonsListed = 400

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
			if len(cells) <= reasonsListed {
				v.Reasons = append(v.Reasons, matrixReason{cell.Shape, cell.State, cell.Word, row.Name, cell.Trailer, cell.Query, cell.Why})
			}
		}
		v.Rows = append(v.Rows, row)
	}
	for _, a := range []rule.Answer{rule.Fits, rule.FitsIf, rule.DoesNotFit, rule.CannotTell} {
		v.Counts = append(v.Counts, countView{shapeOf(a), stateOf(a), countWord(a, counts[a]), counts[a]})
	}
	s.render(w, r, http.StatusOK, "matrix", "Matrix", v)
}

// countWord is the answer of n pairs.
func countWord(a rule.Answer, n int) string {
	if n == 1 {
		return answerWord(a)
	}
	return map[rule.Answer]string{rule.Fits: "fit", rule.FitsIf: "fit if set so", rule.DoesNotFit: "do not fit", rule.CannotTell: "cannot tell"}[a]
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
