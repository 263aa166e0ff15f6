package mounting

import (
	"math"

	"underpin/assess"
	"underpin/bolting"
	"underpin/rule"
	"underpin/unit"
)

// weakest is the evidence of a value that rests on several.
func weakest(all ...rule.Evidence) rule.Evidence {
	order := []rule.Evidence{rule.Read, rule.Derived, rule.SecondHand, rule.Practice, rule.Memory}
	worst := 0
	for _, e := range all {
		at := len(order) - 1 // what has no mark is no better than memory
		for i := range order {
			if order[i] == e {
				at = i
			}
		}
		worst = max(worst, at)
	}
	return order[worst]
}

func ruled(e bolting.Evidence) rule.Evidence { return rule.Evidence(e) }

// hold judges a finding whose value and limit are in SI and fills in what is
// missing where nothing can be told.
func hold(f rule.Finding, si, limit float64, missing ...string) rule.Finding {
	f.Value, f.Limit = f.Unit.From(si), f.Unit.From(limit)
	note := f.Note // what a failure means
	f.Note = ""
	f = f.Judge()
	if math.IsNaN(limit) { // no limit, no pass
		f.Answer = rule.CannotTell
	}
	switch f.Answer {
	case rule.DoesNotFit:
		f.Note = note
	case rule.CannotTell:
		f.Missing = missing
	}
	return f
}

// A Finding is a finding as it stands on a sheet: one quantity held against one
// limit, in the form that other programs read.
type Finding struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Case     string   `json:"case"`
	Value    *float64 `json:"value"`
	Limit    *float64 `json:"limit"`
	Sense    string   `json:"sense"`
	Unit     string   `json:"unit"`
	Margin   *float64 `json:"margin"`
	Answer   string   `json:"answer"`
	Binding  bool     `json:"binding"`
	Evidence string   `json:"evidence"`
	Calc     string   `json:"calc"`
	Source   string   `json:"source"`
	Working  string   `json:"working"`
	Note     string   `json:"note"`
	Missing  []string `json:"missing"`
}

func rowOf(f *rule.Finding) Finding {
	return Finding{
		ID: f.ID, Title: f.Title, Case: f.Case, Value: number(f.Value), Limit: number(f.Limit), Sense: string(f.Sense), Unit: f.Unit.Symbol,
		Margin: number(f.Margin), Answer: string(f.Answer), Binding: f.Binding, Evidence: string(f.Evidence), Calc: f.Calc,
		Source: f.Source, Working: f.Working, Note: f.Note, Missing: list(f.Missing),
	}
}

func rowsOf(fs []rule.Finding) []Finding {
	out := make([]Finding, len(fs))
	for i := range fs {
		out[i] = rowOf(&fs[i])
	}
	return out
}

func pairRows(fs []assess.Finding) []Finding {
	out := make([]Finding, len(fs))
	for i := range fs {
		out[i] = rowOf(&fs[i].Finding)
	}
	return out
}

// open tells whether a finding keeps a sheet from being approved.
func (f *Finding) open() bool {
	return f.Binding && (f.Answer == string(rule.DoesNotFit) || f.Answer == string(rule.CannotTell))
}

func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	if v == 0 {
		v = 0 // no minus before nothing
	}
	return &v
}

func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func wholeMM[L ~float64](l L) *int {
	if v := float64(l); !math.IsNaN(v) && !math.IsInf(v, 0) {
		return new(int(math.Round(v * 1e3)))
	}
	return nil
}

func wholeMMOf(l *unit.Length) *int {
	if l == nil {
		return nil
	}
	return wholeMM(*l)
}
