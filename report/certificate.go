package report

import (
	"bytes"

	"underpin/scene"
)

// A Certificate is the outcome of an inspection for people who were not there: what
// was measured against which limits, what follows, who answers for it, and the code
// by which the register proves it. All of it is text as it is shown.
type Certificate struct {
	Vehicle, Number, Registration string
	Verdict, On, By               string
	Until, Returned               string // of a repair that may wait; of one that held back
	Reasons, Missing              []string
	Sheets                        []string // when, what, by whom, with which gauge
	Rows                          []CertificateRow
	Laws, Program                 string
	Code, Digest, Chain           string
	Check                         string // address where the code is asked
}

// A CertificateRow is one measure.
type CertificateRow struct {
	Name, Value, Holds string
	Limits             []string // strictest first, with layer, source and evidence
}

// PDF is the certificate on paper.
func (c *Certificate) PDF() ([]byte, error) {
	d := newDocument(meta{title: "Certificate of inspection " + c.Code, subject: c.Vehicle})
	d.state = c.Verdict
	d.draft = false
	d.running = joined(" · ", "Certificate of inspection", c.Number, c.Vehicle, c.Registration)
	d.foot = joined(" · ", c.Code, c.Program)
	d.newPage()
	d.paragraph(18, true, scene.RoleInk, upper(c.Verdict)+": "+c.Vehicle)
	d.space(2)
	facts := []pair{{label: "Fleet number", value: c.Number}}
	for _, p := range []pair{{label: "Registration", value: c.Registration}, {label: "Judged", value: joined(", ", c.On, c.By)}, {label: "Repair", value: c.Until},
		{label: "Returned to service", value: c.Returned}, {label: "Limits of law", value: or(c.Laws, "no country is set in the register")}} {
		if p.value != "" {
			facts = append(facts, p)
		}
	}
	d.pairs(38, facts)
	list := func(head string, all []string, role scene.Role) {
		if len(all) == 0 {
			return
		}
		d.section(head, 12)
		for _, t := range all {
			d.paragraph(sizeTable, false, role, t)
		}
	}
	list("Measured by", c.Sheets, scene.RoleInk)
	list("Reasons", c.Reasons, scene.RoleInk)
	list("Missing", c.Missing, scene.RoleUnknown)
	d.section("Measured, with every limit", 20)
	var rows []row
	for _, r := range c.Rows {
		note := ""
		for _, l := range r.Limits {
			note = joined(". ", note, upper(l))
		}
		if note == "" {
			note = "No limit is known."
		}
		rows = append(rows, row{cells: []cell{{text: r.Name, note: note}, {text: r.Value}, {text: r.Holds}}})
	}
	d.table([]column{{head: "measure"}, {head: "value", wide: 24, right: true}, {head: "is", wide: 44}}, rows)
	d.section("Proof", 24)
	d.pairs(38, []pair{{label: "Code", value: c.Code, bold: true}, {label: "Chain", value: c.Chain}, {label: "Digest of the record", value: c.Digest}, {label: "Check it at", value: c.Check}})
	d.paragraph(sizeNote, false, scene.RoleMuted, "Who types the code there is told whether the register still holds this outcome as it was entered, every record of the chain read again. The makers' instructions and local law have the last word.")
	var b bytes.Buffer
	err := d.write(&b)
	return b.Bytes(), err
}
