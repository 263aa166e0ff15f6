package web

import (
	"errors"
	"math"
	"net/http"
	"slices"
	"strings"

	"underpin/formula"
	"underpin/unit"
)

// formulasView is what templates/formulas.html shows.
type formulasView struct{ Groups []formulaGroup }

type formulaGroup struct {
	Name  string
	Calcs []*formula.Calculation
}

func (s *site) formulasPage(w http.ResponseWriter, r *http.Request) {
	v := formulasView{}
	for _, g := range formula.Groups() {
		group := formulaGroup{Name: string(g)}
		for _, c := range formula.All() {
			if c.Group == g {
				group.Calcs = append(group.Calcs, c)
			}
		}
		if len(group.Calcs) > 0 {
			v.Groups = append(v.Groups, group)
		}
	}
	s.render(w, r, http.StatusOK, "formulas", "Formulas", v)
}

// formulaView is what templates/formula.html shows.
type formulaView struct {
	Calc   *formula.Calculation
	Fields []fieldView
	Result *resultView
	None   string // why there is no answer
	Wrong  []wrongView
	Line   string // the same on the command line
}

type fieldView struct {
	Key     *formula.Key
	ID      string
	Text    string // as typed; repeated values one a line
	Options []option
	Wrong   string
	Hint    string
	Lines   int
}

type wrongView struct{ Where, Found, Expected string }

type resultView struct {
	Out     []outView
	Working string
	Notes   []string
	Source  string
	Mark    string
}

type outView struct{ Name, Value, Unit, Doc string }

// formulaPage shows a calculation and runs it. Without inputs it runs its
// example.
func (s *site) formulaPage(w http.ResponseWriter, r *http.Request) {
	c, err := formula.Find(r.PathValue("name"))
	if err != nil {
		s.notFound(w, r)
		return
	}
	q := r.URL.Query()
	q.Del("part")
	var words []string
	for i := range c.Inputs { // in the order of the table, so that repeated keys pair
		key := c.Inputs[i].Name
		for _, text := range q[key] {
			for line := range strings.Lines(text) {
				if line = strings.TrimSpace(line); line != "" {
					words = append(words, key+"="+line)
				}
			}
		}
	}
	if len(q) == 0 {
		words = c.Example()
	}
	v := formulaView{Calc: c, Line: "underpin calc " + c.Name + " " + strings.Join(words, " ")}
	_, result, err := c.Answer(words)
	var invalid formula.Invalid
	var none *unit.NoAnswerError
	wrong := map[string]string{}
	switch {
	case errors.As(err, &invalid):
		for _, e := range invalid {
			v.Wrong = append(v.Wrong, wrongView{e.Where(), e.Found, e.Expected})
			wrong[e.Key] = "found " + e.Found + "; expected " + e.Expected
		}
	case errors.As(err, &none):
		v.None = none.Why
	case err != nil:
		s.fail(w, r, err)
		return
	default:
		v.Result = newResultView(c, result)
	}
	for i := range c.Inputs {
		k := &c.Inputs[i]
		f := fieldView{Key: k, ID: "in-" + k.Name, Wrong: wrong[k.Name], Hint: k.Expected(), Lines: 1}
		var given []string
		for _, word := range words {
			if value, ok := strings.CutPrefix(word, k.Name+"="); ok {
				given = append(given, value)
			}
		}
		f.Text = strings.Join(given, "\n")
		if k.Repeat {
			f.Lines = max(3, len(given)+1)
		}
		choices := k.Choices
		if k.Kind == formula.Flag {
			choices = []string{"true", "false"}
		}
		if len(choices) > 0 && !k.Repeat {
			if !k.Required() {
				f.Options = append(f.Options, option{"", "not given", f.Text == ""})
			}
			for _, choice := range choices {
				f.Options = append(f.Options, option{choice, choice, choice == f.Text})
			}
		}
		v.Fields = append(v.Fields, f)
	}
	if r.URL.Query().Get("part") == "result" {
		s.renderPart(w, r, http.StatusOK, "formula", "result", "", v)
		return
	}
	s.render(w, r, http.StatusOK, "formula", c.Title, v)
}

func newResultView(c *formula.Calculation, r *formula.Result) *resultView {
	v := &resultView{Working: r.Working, Notes: r.Notes, Source: r.Source, Mark: string(r.Evidence)}
	for _, o := range r.Outputs {
		out := outView{Name: o.Name, Unit: o.Unit}
		switch x := o.V.(type) {
		case nil:
			out.Value, out.Unit = "unbounded", ""
		case bool:
			out.Value = "no"
			if x {
				out.Value = "yes"
			}
		case float64:
			out.Value = significant(x)
		default:
			out.Value, _ = o.V.(string)
		}
		if k := slices.IndexFunc(c.Outputs, func(d formula.Output) bool {
			return d.Name == o.Name || d.Each && strings.HasPrefix(o.Name, d.Name)
		}); k >= 0 {
			out.Doc = c.Outputs[k].Doc
			if o.V == nil {
				out.Value = c.Outputs[k].Null
			}
			if out.Unit == "" {
				out.Unit = c.Outputs[k].Bare
			}
		}
		v.Out = append(v.Out, out)
	}
	return v
}

// significant prints a number to six digits, as the working does.
func significant(x float64) string {
	if x == 0 {
		return "0"
	}
	places := max(0, min(6, 5-int(math.Floor(math.Log10(math.Abs(x))))))
	s := unit.Digits(x, places)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// hasFormula tells whether a calculation that a finding names has a page.
func hasFormula(name string) bool {
	_, err := formula.Find(name)
	return err == nil
}
