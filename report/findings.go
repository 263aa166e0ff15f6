package report

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"underpin/mounting"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

// findingColumns are those of every table of findings.
var findingColumns = []column{{"", 6, false}, {"finding", 0, false}, {"value", 17, true}, {"limit", 20, true}, {"to spare", 20, true}, {"use of the limit", 21, false}, {"evidence", 16, false}, {"source", 11, true}}

const legend = "A disc holds, a triangle is beyond a limit that only warns, a cross does not hold, a ring cannot be told. Evidence with a star warns only. Margins are rounded down. Numbers of sources stand in the last section."

// ownFindings are those of the mounting and its joints, each with its working.
func (p *paper) ownFindings() error {
	p.section("Findings on the mounting", 40)
	p.paragraph(sizeNote, false, scene.RoleMuted, legend)
	var rows []row
	for i := range p.s.Findings {
		rows = append(rows, p.finding(&p.s.Findings[i], true, false))
	}
	for i := range p.s.Joints {
		j := &p.s.Joints[i]
		if len(j.Findings) > 0 {
			rows = append(rows, row{head: upper(j.Title)})
		}
		for k := range j.Findings {
			f := j.Findings[k]
			f.Title = upper(strings.TrimPrefix(f.Title, j.Title+": "))
			rows = append(rows, p.finding(&f, true, false))
		}
	}
	p.table(findingColumns, rows)
	return nil
}

// pairFindings are those of every semi-trailer under every load case. What is
// the same under all of them stands once.
func (p *paper) pairFindings() error {
	p.section("Findings for every semi-trailer and load case", 40)
	p.summary()
	for i := 0; i < len(p.s.Pairs); {
		n := i + 1
		for n < len(p.s.Pairs) && p.s.Pairs[n].Trailer == p.s.Pairs[i].Trailer {
			n++
		}
		p.trailer(p.s.Pairs[i:n])
		i = n
	}
	return nil
}

// summary is one line for each semi-trailer and load case.
func (p *paper) summary() {
	var rows []row
	for i := range p.s.Pairs {
		q := &p.s.Pairs[i]
		name := p.trailerName(q.Trailer)
		note := ""
		if q.Wished {
			note = "welcome, decides nothing"
		}
		rows = append(rows, row{cells: []cell{{mark: stateOf(q.Answer)}, {text: name, note: note, bold: true}, {text: q.CaseName}, {text: answerWord(q.Answer)}, {text: q.Told}}})
	}
	p.table([]column{{"", 6, false}, {"semi-trailer", 34, false}, {"load case", 20, false}, {"answer", 24, false}, {"in words", 0, false}}, rows)
}

func (p *paper) trailerName(id string) string {
	for i := range p.s.Trailers {
		if p.s.Trailers[i].ID == id {
			return p.s.Trailers[i].Name
		}
	}
	return id
}

func (p *paper) trailer(pairs []mounting.PairRow) {
	name := p.trailerName(pairs[0].Trailer)
	title := name
	if name != pairs[0].Trailer {
		title += " (" + pairs[0].Trailer + ")"
	}
	if pairs[0].Wished {
		title += ", welcome: it decides nothing"
	}
	p.sub(title, 45)
	p.loads(pairs)
	if pairs[0].Wished {
		p.wishedRows(pairs)
	} else {
		p.everyRow(pairs)
	}
	var cautions []item
	for i := range pairs {
		for _, c := range pairs[i].Cautions {
			if !slices.ContainsFunc(cautions, func(it item) bool { return it.text == c }) {
				cautions = append(cautions, item{text: c, state: scene.RoleCaution})
			}
		}
	}
	p.list(cautions)
}

// everyRow lists all findings of a semi-trailer.
func (p *paper) everyRow(pairs []mounting.PairRow) {
	var rows []row
	same := sameInAll(pairs)
	if len(same) > 0 {
		rows = append(rows, row{head: "The same in every load case"})
	}
	for k := range same {
		rows = append(rows, p.finding(&same[k], false, false))
	}
	for i := range pairs {
		var own []row
		for k := range pairs[i].Findings {
			if f := &pairs[i].Findings[k]; !slices.ContainsFunc(same, func(s mounting.Finding) bool { return reflect.DeepEqual(s, *f) }) {
				own = append(own, p.finding(f, false, false))
			}
		}
		if len(own) > 0 {
			rows = append(rows, row{head: upper(pairs[i].CaseName) + ": " + answerWord(pairs[i].Answer), mark: stateOf(pairs[i].Answer)})
			rows = append(rows, own...)
		}
	}
	p.table(findingColumns, rows)
}

// wishedRows lists, of a semi-trailer that decides nothing, what does not hold.
func (p *paper) wishedRows(pairs []mounting.PairRow) {
	var rows []row
	for i := range pairs {
		var own []row
		for k := range pairs[i].Findings {
			if f := &pairs[i].Findings[k]; f.Answer != string(rule.Fits) {
				own = append(own, p.finding(f, false, true))
			}
		}
		if len(own) > 0 {
			rows = append(rows, row{head: upper(pairs[i].CaseName) + ": " + answerWord(pairs[i].Answer), mark: stateOf(pairs[i].Answer)})
			rows = append(rows, own...)
		}
	}
	if len(rows) == 0 {
		p.paragraph(sizeTable, false, scene.RoleInk, "Every finding holds in every load case.")
		return
	}
	p.table(findingColumns, rows)
	p.paragraph(sizeNote, false, scene.RoleMuted, "What is not listed holds.")
}

// sameInAll returns the findings that do not depend on the load case and are
// alike in all of them. With one load case that is none: they stand under it.
func sameInAll(pairs []mounting.PairRow) []mounting.Finding {
	if len(pairs) < 2 {
		return nil
	}
	var out []mounting.Finding
	for _, f := range pairs[0].Findings {
		all := f.Case == ""
		for i := 1; i < len(pairs) && all; i++ {
			all = slices.ContainsFunc(pairs[i].Findings, func(g mounting.Finding) bool { return reflect.DeepEqual(f, g) })
		}
		if all {
			out = append(out, f)
		}
	}
	return out
}

// loads is what stands on each group of axles, with the limit on it.
func (p *paper) loads(pairs []mounting.PairRow) {
	names := map[string]string{"front": "front axle", "rear": "tractor rear", "bogie": "semi-trailer"}
	cols := []column{{"load case", 0, false}, {"fifth wheel at, mm", 26, true}, {"kingpin, kg", 19, true}}
	var groups []mounting.GroupRow // of the first load case in which they are known
	for i := range pairs {
		if groups = pairs[i].Loads; len(groups) > 0 {
			break
		}
	}
	for _, g := range groups {
		cols = append(cols, column{or(names[g.ID], g.ID) + ", kg", 29, true})
	}
	cols = append(cols, column{"gross, kg", 18, true})
	var rows []row
	for i := range pairs {
		q := &pairs[i]
		set := ""
		if len(q.Setting.TractorLifted) > 0 {
			set = fmt.Sprintf("tractor axles %v lifted", q.Setting.TractorLifted)
		}
		if len(q.Setting.TrailerLifted) > 0 {
			set = joined("; ", set, fmt.Sprintf("semi-trailer axles %v lifted", q.Setting.TrailerLifted))
		}
		cells := []cell{{text: q.CaseName, note: joined("; ", q.Setting.Level, set)}, {text: mm(q.Setting.At)}, {text: mm(q.Imposed)}}
		for k := range groups {
			var g mounting.GroupRow // unknown
			if len(q.Loads) == len(groups) {
				g = q.Loads[k]
			}
			c := cell{text: mm(g.KG)}
			if g.Limit != nil {
				c.text += " of " + mm(g.Limit)
				if g.KG != nil && *g.KG > *g.Limit {
					c.role, c.bold = scene.RoleFails, true
				}
			}
			cells = append(cells, c)
		}
		rows = append(rows, row{cells: append(cells, cell{text: mm(q.Gross)})})
	}
	if len(rows) > 0 {
		p.table(cols, rows)
	}
}

func stateOf(answer string) scene.Role {
	switch rule.Answer(answer) {
	case rule.Fits:
		return scene.RoleHolds
	case rule.FitsIf:
		return scene.RoleCaution
	case rule.DoesNotFit:
		return scene.RoleFails
	}
	return scene.RoleUnknown
}

func answerWord(answer string) string {
	switch rule.Answer(answer) {
	case rule.Fits:
		return "fits"
	case rule.FitsIf:
		return "fits if set so"
	case rule.DoesNotFit:
		return "does not fit"
	}
	return "cannot tell"
}

// finding is one row of a table of findings.
func (p *paper) finding(f *mounting.Finding, working, wished bool) row {
	state := stateOf(f.Answer)
	if state == scene.RoleFails && !f.Binding {
		state = scene.RoleCaution
	}
	value, limit, spare := shown(f)
	var notes []string
	if f.Note != "" {
		notes = append(notes, f.Note)
	}
	if len(f.Missing) > 0 {
		notes = append(notes, "Missing: "+strings.Join(f.Missing, "; ")+".")
	}
	if working && f.Working != "" {
		notes = append(notes, f.Working)
	}
	title := f.Title
	if working && f.Case != "" {
		title += ", " + f.Case
	}
	evidence := f.Evidence
	if !f.Binding && !wished {
		evidence += "*"
	}
	source := ""
	if n := p.source(f.Source, f.Evidence); n > 0 {
		source = fmt.Sprint(n)
	}
	role := scene.RoleInk
	if state == scene.RoleFails {
		role = state
	}
	use := &bar{use: useOf(f), role: state}
	return row{cells: []cell{{mark: state}, {text: title, bold: state == scene.RoleFails || state == scene.RoleUnknown && f.Binding},
		{text: value}, {text: limit}, {text: spare, bold: true, role: role}, {bar: use}, {text: evidence}, {text: source}}, note: strings.Join(notes, " ")}
}

// source is the number of a source, from 1; 0 where it is not listed.
func (p *paper) source(text, evidence string) int {
	for i, s := range p.s.Sources {
		if s.Source == text && s.Evidence == evidence {
			return i + 1
		}
	}
	return 0
}

// shown returns value, limit and margin as they are printed: rounded once, the
// margin down, each with its unit once.
func shown(f *mounting.Finding) (value, limit, spare string) {
	if yesOrNo(f) {
		word := func(v *float64) string {
			switch {
			case v == nil:
				return unit.Unknown
			case *v >= 1:
				return "yes"
			}
			return "no"
		}
		return word(f.Value), "yes", ""
	}
	scale, sign, places := 1.0, f.Unit, 1
	switch f.Unit {
	case "mm", "kg", "lb", "lbf":
		places = 0
	case "t", "m":
		places = 3
	case "ft":
		places = 2
	case "N.m":
		sign, places = "N·m", 0
	case "":
		places = 2
		if share(f) {
			scale, sign, places = 100, "%", 1
		}
		if whole(f.Value) && whole(f.Limit) && scale == 1 {
			places = 0
		}
	}
	digits := func(v *float64) string {
		if v == nil {
			return unit.Unknown
		}
		return unit.Digits(*v*scale, places)
	}
	sense := map[string]string{string(rule.AtMost): "≤\u00a0", string(rule.AtLeast): "≥\u00a0", "equal": "=\u00a0"}[f.Sense]
	value, limit = digits(f.Value), unit.Unknown
	if f.Limit != nil {
		limit = sense + digits(f.Limit)
	}
	spare = unit.Unknown
	if f.Margin != nil {
		spare = unit.Digits(unit.Floor(*f.Margin*scale, places), places)
		if sign != "" {
			spare += "\u00a0" + sign
		}
	}
	return value, limit, spare
}

// yesOrNo tells a finding whose value is 1 for yes.
func yesOrNo(f *mounting.Finding) bool {
	kind, _, _ := strings.Cut(f.ID, ".")
	switch kind {
	case "guide", "direct", "stops", "joint":
		return true
	}
	return false
}

// share tells a finding on a part of a whole, which is printed in per cent: the
// pairs have them, and the margin for rough ground.
func share(f *mounting.Finding) bool {
	return !strings.HasPrefix(f.ID, "bolt.") && f.Sense != "equal"
}

func whole(v *float64) bool { return v == nil || *v == math.Trunc(*v) }

// useOf is how much of its limit a finding uses, for its bar; NaN where that
// cannot be told. A limit of nothing is measured by half a metre or ten tonnes.
func useOf(f *mounting.Finding) float64 {
	if f.Margin == nil || f.Limit == nil {
		return math.NaN()
	}
	scale := math.Abs(*f.Limit)
	if scale == 0 {
		scale = map[string]float64{"mm": 500, "m": 0.5, "in": 20, "ft": 1.6, "kg": 10e3, "t": 10, "lb": 22e3}[f.Unit]
	}
	if f.Sense == "equal" {
		if *f.Margin < 0 {
			return 1.2
		}
		return 1
	}
	if scale == 0 {
		scale = math.Max(1, math.Abs(*f.Margin))
	}
	return math.Max(0, 1-*f.Margin/scale)
}
