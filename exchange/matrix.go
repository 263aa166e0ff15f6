package exchange

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
)

// A MatrixAnswer is the matrix of a fleet as other programs read it.
type MatrixAnswer struct {
	Law   string       `json:"law"`
	Pairs []MatrixPair `json:"pairs"`
}

// A MatrixPair is one cell.
type MatrixPair struct {
	Tractor     string      `json:"tractor"`
	Trailer     string      `json:"trailer"`
	Answer      string      `json:"answer"`
	Governs     string      `json:"governs"`
	Title       string      `json:"title"`
	Margin      *float64    `json:"margin"`
	Unit        string      `json:"unit"`
	Setting     PairSetting `json:"setting"`
	SliderRange *[2]int     `json:"slider_range_mm"`
	Changes     []string    `json:"changes"` // in words: what has to be set where it fits if it is set so
}

// NewMatrixAnswer puts a matrix into the form that other programs read.
func NewMatrixAnswer(law *rule.Book, cells []assess.Cell) MatrixAnswer {
	m := MatrixAnswer{Law: law.Name, Pairs: []MatrixPair{}}
	for i := range cells {
		c := &cells[i]
		pair := MatrixPair{
			Tractor: c.Tractor.ID, Trailer: c.Trailer.ID, Answer: string(c.Result.Answer),
			Setting: newSetting(c.Result), SliderRange: SliderRange(c.Result), Changes: list(c.Changes),
		}
		if f := c.Governs; f != nil {
			pair.Governs, pair.Title, pair.Margin, pair.Unit = f.ID, f.Title, number(f.Margin), f.Unit.Symbol
		}
		m.Pairs = append(m.Pairs, pair)
	}
	return m
}

// WriteCSV writes the matrix as CSV, one pair a row.
func (m MatrixAnswer) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"law", "tractor", "trailer", "answer", "governs", "margin", "unit", "lead_mm", "at_mm", "tractor_lifted", "trailer_lifted", "level", "slider_min_mm", "slider_max_mm"}); err != nil {
		return err
	}
	for _, p := range m.Pairs {
		margin, lo, hi := "", "", ""
		if p.Margin != nil {
			margin = unit.Text(*p.Margin, unit.One)
		}
		if p.SliderRange != nil {
			lo, hi = fmt.Sprint(p.SliderRange[0]), fmt.Sprint(p.SliderRange[1])
		}
		row := []string{m.Law, p.Tractor, p.Trailer, p.Answer, p.Governs, margin, p.Unit, wholeText(p.Setting.Lead), wholeText(p.Setting.At),
			axleList(p.Setting.TractorLifted), axleList(p.Setting.TrailerLifted), plainText(p.Setting.Level), lo, hi}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// plainText keeps a spreadsheet from taking a text for a formula.
func plainText(s string) string {
	if s != "" && strings.ContainsAny(s[:1], "=+-@\t\r") {
		return "'" + s
	}
	return s
}

func wholeText(n *int) string {
	if n == nil {
		return ""
	}
	return fmt.Sprint(*n)
}

func axleList(axles []int) string { return strings.Trim(fmt.Sprint(axles), "[]") }
