package report

import (
	"fmt"
	"slices"
	"strings"

	"underpin/mounting"
	"underpin/scene"
	"underpin/unit"
)

// wanted says which properties a coupling needs, and why.
func (p *paper) wanted() error {
	if len(p.s.Properties) == 0 {
		return nil
	}
	p.section("What the coupling has to be, and why", 40)
	var rows []row
	for i := range p.s.Properties {
		q := &p.s.Properties[i]
		value := cell{text: q.Value, bold: true}
		note := q.Source
		if q.Open != "" {
			note = "Not known or not set: " + q.Open + ". " + note
			value.role = scene.RoleUnknown
		}
		rows = append(rows, row{cells: []cell{{text: q.Name}, value, {text: q.Reason, note: note}, {text: string(q.Evidence)}}})
	}
	p.table([]column{{"property", 32, false}, {"asked for", 36, false}, {"reason", 0, false}, {"evidence", 17, false}}, rows)
	return nil
}

// others lists what else would have answered the brief.
func (p *paper) others() error {
	p.section("What else was possible", 25)
	if len(p.s.Others) == 0 {
		p.paragraph(sizeTable, false, scene.RoleInk, "Nothing else of the catalogue answers the brief, or no search was made.")
		return nil
	}
	var rows []row
	for i := range p.s.Others {
		o := &p.s.Others[i]
		margin := unit.Unknown
		if o.Margin != nil {
			margin = unit.Digits(unit.Floor(*o.Margin*100, 1), 1) + "\u00a0%"
		}
		rows = append(rows, row{cells: []cell{{mark: stateOf(o.Answer)}, {text: o.Stack, note: strings.Join(o.Why, "; ")}, {text: mm(o.At)}, {text: mm(o.Mass)}, {text: margin}, {text: o.Limit}}})
	}
	p.table([]column{{"", 6, false}, {"stack, from below to the top", 0, false}, {"at, mm", 14, true}, {"mass, kg", 14, true}, {"least margin", 16, true}, {"tightest limit", 62, false}}, rows)
	return nil
}

// open is what is unknown, taken for granted or warned of.
func (p *paper) open() error {
	p.section("What is open", 25)
	part := func(title, none string, texts []string, state scene.Role) {
		p.sub(title, 12)
		if len(texts) == 0 {
			p.paragraph(sizeTable, false, scene.RoleInk, none)
			return
		}
		var items []item
		for _, t := range texts {
			items = append(items, item{text: upper(t), state: state})
		}
		p.list(items)
	}
	part("Not known", "Nothing that was asked for is unknown.", p.s.Unknown, scene.RoleUnknown)
	part("Taken for granted", "Nothing.", p.s.Assumed, scene.NoRole)
	switch stood := p.s.Release.Warnings; {
	case p.draft:
		part("Warnings that do not decide", "None.", p.s.Warnings, scene.RoleCaution)
	case slices.Equal(stood, p.s.Warnings):
		part("Warnings that do not decide, and stood when it was approved", "None.", stood, scene.RoleCaution)
	default:
		part("Warnings that do not decide", "None.", p.s.Warnings, scene.RoleCaution)
		part("Warnings that stood when it was approved", "None.", stood, scene.RoleCaution)
	}
	return nil
}

// sources lists what the findings rest on, and what the marks of evidence mean.
func (p *paper) sources() error {
	p.section("Sources and evidence", 40)
	var words []string
	for _, e := range p.s.Evidence {
		words = append(words, e.Mark+": "+e.Text)
	}
	p.paragraph(sizeNote, false, scene.RoleMuted, upper(strings.Join(words, ". "))+".")
	var rows []row
	for i, s := range p.s.Sources {
		rows = append(rows, row{cells: []cell{{text: fmt.Sprint(i + 1)}, {text: s.Source}, {text: s.Evidence}}})
	}
	p.table([]column{{"no.", 10, true}, {"source", 0, false}, {"evidence", 20, false}}, rows)
	p.paragraph(sizeNote, false, scene.RoleMuted, joined(" ", "Rulebook "+p.s.Law.Name+", digest "+or(p.s.Law.Digest, unit.Unknown)+".", "Form of the data: "+mounting.Form+"."))
	p.paragraph(sizeNote, false, scene.RoleMuted, "Calculation is no proof of legality: verify on an axle weighbridge. The makers' instructions, local law and licensed practice have the last word.")
	return nil
}
