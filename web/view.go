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

var stateWords = map[string]string{"holds": "holds", "caution": "caution", "fails": "fails", "unknown": "cannot tell", "unproven": "holds, but against a figure that certifies nothing"}

func lawShort(name string) string {
	short := map[string]string{"eu": "EU, 96/53/EC", "de": "Germany", "fr": "France", "uk": "United Kingdom", "us": "US federal", "us-ca": "California", "au": "Australia", "nz": "New Zealand"}
	if t, ok := short[name]; ok {
		return t
	}
	return name
}

// mass and length print an SI value in the units of the page.
func mass(kg float64, system unit.System) string { return in(kg, system.In(unit.KG)) }

func length(m float64, system unit.System) string { return in(m, system.In(unit.MM)) }

func in(si float64, u unit.Unit) string { return unit.Format(si, u, assess.Places(u)) }

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

func newFindingView(f *assess.Finding, system unit.System) findingView {
	v := findingView{
		State: stateOf(f.Answer), Title: f.Title, Case: f.CaseName, Sense: string(f.Sense),
		Source: f.Source, Evidence: string(f.Evidence), Calc: f.Calc, Working: f.Working, Note: f.Note,
		Missing: strings.Join(f.Missing, "; "), Warns: !f.Binding, Bar: newBar(f),
	}
	v.Shape = shapeOf(f.Answer)
	if f.Answer == rule.DoesNotFit && !f.Binding {
		v.State, v.Shape = "caution", "▲"
	}
	if f.Unproven() {
		v.State, v.Shape = "unproven", "◇"
	}
	v.Word = stateWords[v.State]
	v.Value, v.Limit, v.Spare, v.Unit = assess.Shown(f, system)
	v.Short = shortSource(f.Source)
	return v
}

// shortSource is the part of a source before its first remark. Brackets that a
// capital follows are in the middle of a title: Road Vehicles (Authorised Weight)
// Regulations.
func shortSource(source string) string {
	for i := 12; i < len(source); i++ {
		if source[i] == ';' || (source[i] == '(' && source[i-1] == ' ' && source[i-2] != ',' && !inTitle(source[i:])) {
			return strings.TrimRight(source[:i], " ,")
		}
	}
	return source
}

func inTitle(brackets string) bool {
	_, after, _ := strings.Cut(brackets, ")")
	return len(after) > 1 && after[0] == ' ' && 'A' <= after[1] && after[1] <= 'Z'
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
