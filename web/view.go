package web

import (
	"math"
	"strings"
	"time"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

func tractorIDs(t []vehicle.Tractor) []string {
	var out []string
	for i := range t {
		out = append(out, t[i].ID)
	}
	return out
}

func trailerIDs(t []vehicle.SemiTrailer) []string {
	var out []string
	for i := range t {
		out = append(out, t[i].ID)
	}
	return out
}

// today is the day that decides between rules of different dates.
func today() string { return time.Now().Format(time.DateOnly) }

// Shapes and states: a word and a shape, then a colour.
func shapeOf(a rule.Answer) string {
	return map[rule.Answer]string{rule.Fits: "●", rule.FitsIf: "▲", rule.DoesNotFit: "✕", rule.CannotTell: "○"}[a]
}

func stateOf(a rule.Answer) string {
	return map[rule.Answer]string{rule.Fits: "holds", rule.FitsIf: "caution", rule.DoesNotFit: "fails", rule.CannotTell: "unknown"}[a]
}

var stateWords = map[string]string{"holds": "holds", "caution": "caution", "fails": "fails", "unknown": "cannot tell"}

func lawShort(name string) string {
	short := map[string]string{"eu": "EU, 96/53/EC", "de": "Germany", "fr": "France", "uk": "United Kingdom", "us": "US federal", "us-ca": "California", "au": "Australia", "nz": "New Zealand"}
	if t, ok := short[name]; ok {
		return t
	}
	return name
}

// mass and length print an SI value in the units of the page.
func mass(kg float64, us bool) string {
	if us {
		return unit.Format(kg, unit.Lb, 0)
	}
	return unit.Format(kg, unit.KG, 0)
}

func length(m float64, us bool) string {
	if us {
		return unit.Format(m, unit.In, 1)
	}
	return unit.Format(m, unit.MM, 0)
}

// shownIn returns the unit a finding is shown in: the limit's own, or the other
// system's where the page asks for it.
func shownIn(u unit.Unit, us bool) unit.Unit {
	if us {
		switch u.Symbol {
		case "kg", "t":
			return unit.Lb
		case "mm":
			return unit.In
		case "m":
			return unit.Ft
		case "kN":
			return unit.Lbf
		}
		return u
	}
	return u
}

func placesOf(u unit.Unit) int {
	switch u.Symbol {
	case "in":
		return 1
	case "ft":
		return 2
	}
	return assess.Places(u)
}

// findingView is a finding as a row of the page.
type findingView struct {
	State, Shape, Word  string
	Title, Case         string
	Value, Limit, Spare string
	Unit, Sense         string
	Bar                 barView
	Source, Short       string
	Evidence, Calc      string
	Working, Note       string
	Missing             string
	Warns               bool
}

func newFindingView(f *assess.Finding, us bool) findingView {
	v := findingView{
		State: stateOf(f.Answer), Title: f.Title, Case: f.CaseName, Sense: string(f.Sense),
		Source: f.Source, Evidence: string(f.Evidence), Calc: f.Calc, Working: f.Working, Note: f.Note,
		Missing: strings.Join(f.Missing, "; "), Warns: !f.Binding, Bar: newBar(f),
	}
	v.Shape = shapeOf(f.Answer)
	if f.Answer == rule.DoesNotFit && !f.Binding {
		v.State, v.Shape = "caution", "▲"
	}
	v.Word = stateWords[v.State]
	u := shownIn(f.Unit, us)
	places := placesOf(u)
	in := func(x float64) float64 { return u.From(f.Unit.ToSI(x)) }
	if f.Unit.Symbol == "" && f.Sense != assess.Equal {
		in = func(x float64) float64 { return x * 100 }
		u.Symbol, places = "%", 1
	}
	v.Unit = u.Symbol
	v.Value, v.Limit = unit.Digits(in(f.Value), places), unit.Digits(in(f.Limit), places)
	v.Spare = unit.Unknown
	if !math.IsNaN(f.Margin) {
		v.Spare = unit.Digits(unit.Floor(in(f.Margin), places), places)
	}
	v.Short = shortSource(f.Source)
	return v
}

// shortSource is the part of a source before its first remark.
func shortSource(source string) string {
	for i := 12; i < len(source); i++ {
		if source[i] == ';' || (source[i] == '(' && source[i-1] == ' ' && source[i-2] != ',') {
			return strings.TrimRight(source[:i], " ,")
		}
	}
	return source
}

// A barView draws how much of a limit is used: 100 is the limit. What goes over
// is drawn beyond the tick.
type barView struct {
	Used, Over float64
	Unknown    bool
}

func newBar(f *assess.Finding) barView {
	if math.IsNaN(f.Margin) {
		return barView{Unknown: true}
	}
	use := 1 - f.Spare()
	if f.Sense == assess.Equal {
		use = 1
		if f.Margin < 0 {
			use = 1.2
		}
	}
	b := barView{Used: math.Max(0, math.Min(1, use)) * 100}
	if use > 1 {
		b.Over = math.Min(25, math.Max(2, (use-1)*100))
	}
	if f.Answer == rule.Fits {
		b.Over = 0
	}
	return b
}
