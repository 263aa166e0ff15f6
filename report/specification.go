package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"underpin/drawing"
	"underpin/mounting"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

// Specification writes the sheet that a fitter works from: first what is fitted,
// where, how high, on what and with which bolts, what is looked at before the
// vehicle is handed over, and who signs; then why, for those who check.
//
// The request is the one that the sheet was made of; its drawings are made from
// both. A sheet that says approved while a finding of it does not hold, or that
// nobody signed, is not written: the error is then that of
// [mounting.Specification.Stands].
func Specification(w io.Writer, r *mounting.Request, s *mounting.Specification) error {
	if err := s.Stands(); err != nil {
		return err
	}
	p := newPaper(r, s)
	steps := []func() error{p.front, p.position, p.drawings, p.cautions, p.bolts, p.handover, p.signatures,
		p.ownFindings, p.pairFindings, p.wanted, p.others, p.open, p.sources}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return p.write(w)
}

// A paper is the specification on its way to paper.
type paper struct {
	*document
	r *mounting.Request
	s *mounting.Specification
}

func newPaper(r *mounting.Request, s *mounting.Specification) *paper {
	t := &s.Title
	name := number(t)
	d := newDocument(meta{title: strings.TrimSpace("Mounting specification " + name), subject: t.Subject, author: t.Author, date: t.Date})
	p := &paper{document: d, r: r, s: s}
	d.draft = s.Release.State != mounting.Approved
	d.state = "DRAFT, not approved for fitting"
	if !d.draft {
		d.state = "Approved for fitting, " + s.Release.By + ", " + s.Release.On
	}
	d.running = joined(" · ", "Mounting specification", name, s.Tractor.Name, p.stack())
	d.foot = joined(" · ", t.Fleet, name, t.Date, t.Program)
	return p
}

func joined(with string, parts ...string) string {
	parts = slices.DeleteFunc(parts, func(s string) bool { return s == "" })
	return strings.Join(parts, with)
}

// number is the sheet's number with its revision.
func number(t *mounting.Title) string {
	n := t.Number
	if t.Revision != "" {
		n = strings.TrimSpace(n + " revision " + t.Revision)
	}
	return n
}

// stack names the parts from the top down.
func (p *paper) stack() string {
	var names []string
	for i := range p.s.Parts {
		names = append(names, p.s.Parts[i].Name)
	}
	slices.Reverse(names)
	return strings.Join(append(names, baseName(p.s.Chassis.Base)), " on ")
}

func baseName(base string) string {
	if base == mounting.OnAngles {
		return "attachment angles"
	}
	return base
}

// front is the first page: the answer as a sentence, what and where, the side
// view, and the title block at its foot.
func (p *paper) front() error {
	p.newPage()
	p.textAt(left, p.y-2, width, sizeNote, false, scene.RoleMuted, "Mounting specification")
	p.y += 3
	word, role := "Draft.", scene.RoleCaution
	if !p.draft {
		word, role = "Approved for fitting.", scene.RoleHolds
	}
	p.y += p.textAt(left, p.y, width, sizeAnswer, true, role, word)
	p.y += p.textAt(left, p.y, width, sizeAnswer, true, scene.RoleInk, p.sentence()) + 1.5
	for _, line := range p.reasons() {
		p.y += p.textAt(left, p.y, width, sizeBody, false, scene.RoleInk, line) + 0.6
	}
	p.y += 2
	half := width / 2
	var names []string
	for i := range p.s.Trailers {
		names = append(names, p.s.Trailers[i].Name)
	}
	guide := pair{label: "chassis maker's guide", value: p.s.Chassis.Guide}
	if guide.value == "" {
		guide.value, guide.role = "not at hand", scene.RoleUnknown
	}
	law := p.s.Law.Title
	if p.s.Law.Text != "" {
		law += ", text of " + p.s.Law.Text
	}
	if p.s.Law.Day != "" {
		law += ", rules of " + p.s.Law.Day
	}
	a := p.pairsAt(left, p.y, half-4, 30, []pair{
		{label: "tractor", value: p.s.Tractor.Name, bold: true}, {label: "chassis", value: or(p.s.Chassis.Name, p.s.Chassis.ID)}, guide,
	})
	b := p.pairsAt(left+half, p.y, half, 30, []pair{
		{label: "semi-trailers", value: strings.Join(names, ", ")}, {label: "law", value: law},
		{label: "brief", value: joined(", ", p.s.Title.Brief, p.briefName())},
	})
	p.y += max(a, b) + 3
	if p.r != nil {
		draw := func(scale float64) *scene.Scene {
			return drawing.MountingSide(p.r, p.s, drawing.Options{Phone: true, Scale: scale, NoBlock: true})
		}
		sc, k, err := fit(draw, width, paperH-bottom-3*blockRow-p.y-8)
		if err != nil {
			return err
		}
		if err := p.figure(sc, k, width, "Side view, facing left"); err != nil {
			return err
		}
	}
	p.titleBlock()
	return nil
}

func (p *paper) briefName() string {
	if p.r != nil && p.r.Brief != nil {
		return p.r.Brief.Name
	}
	return ""
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// sentence says where and how high.
func (p *paper) sentence() string {
	at := "the position is not known"
	if p.s.Position.At != nil {
		at = mm(p.s.Position.At) + tolerance(p.s.Position.Tolerance) + "\u00a0mm behind the front axle"
	}
	high := "of unknown height"
	if h := p.s.Heights; len(h) > 0 && h[0].Unladen != nil {
		high = mm(h[0].Unladen) + "\u00a0mm high unladen"
		if h[0].Wanted != nil && h[0].Tolerance != nil {
			lo, hi := *h[0].Wanted-*h[0].Tolerance, *h[0].Wanted+*h[0].Tolerance
			high += " (" + mm(&lo) + " to " + mm(&hi) + " allowed)"
		}
	}
	return upper(p.stack()) + ": " + at + ", " + high + "."
}

func upper(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// reasons says what keeps a draft a draft, or what stood at the approval.
func (p *paper) reasons() []string {
	if !p.draft {
		if n := len(p.s.Release.Warnings); n > 0 {
			return []string{fmt.Sprintf("It was approved with %s that do not decide; they stand under “What is open”.", counted(n, "warning", "warnings"))}
		}
		return nil
	}
	fails, open := p.tally()
	if fails+open == 0 {
		return []string{"Nothing stands against its approval; nobody has approved it yet. Not to be worked from before that."}
	}
	var words []string
	if fails > 0 {
		words = append(words, counted(fails, "finding does not hold", "findings do not hold"))
	}
	if open > 0 {
		words = append(words, counted(open, "finding cannot be told", "findings cannot be told"))
	}
	text := "Not to be worked from: " + strings.Join(words, ", ") + "."
	if err := p.s.Holds(); err != nil {
		text += " First: " + strings.TrimPrefix(err.Error(), "not approved: ") + "."
	}
	return []string{text}
}

func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// tally counts the binding findings that do not fit and those that cannot be
// told.
func (p *paper) tally() (fails, open int) {
	p.each(func(f *mounting.Finding) {
		switch {
		case !f.Binding:
		case f.Answer == string(rule.DoesNotFit):
			fails++
		case f.Answer == string(rule.CannotTell):
			open++
		}
	})
	return fails, open
}

func (p *paper) each(visit func(*mounting.Finding)) {
	for i := range p.s.Findings {
		visit(&p.s.Findings[i])
	}
	for i := range p.s.Joints {
		for k := range p.s.Joints[i].Findings {
			visit(&p.s.Joints[i].Findings[k])
		}
	}
	for i := range p.s.Pairs {
		for k := range p.s.Pairs[i].Findings {
			visit(&p.s.Pairs[i].Findings[k])
		}
	}
}

// blockRow is the height of a row of the title block.
const blockRow = 9.6

// titleBlock draws the title block at the foot of the first page.
func (p *paper) titleBlock() {
	t := &p.s.Title
	type field struct {
		label, value string
		wide         float64
		role         scene.Role
	}
	by, role := "nobody yet", scene.RoleCaution
	if !p.draft {
		by, role = p.s.Release.By+", "+p.s.Release.On, scene.RoleInk
	}
	rows := [][]field{
		{{"subject", or(t.Subject, p.stack()), 118, ""}, {"number", or(t.Number, unit.Unknown), 40, ""}, {"revision", or(t.Revision, unit.Unknown), 0, ""}},
		{{"fleet", or(t.Fleet, unit.Unknown), 59, ""}, {"specified by", or(t.Author, unit.Unknown), 59, ""}, {"checked by", or(t.Checked, unit.Unknown), 0, ""}},
		{{"fitting", or(t.Fitting, unit.Unknown), 59, ""}, {"approved for fitting by", by, 59, role}, {"date", or(t.Date, unit.Unknown), 0, ""}},
	}
	const high = blockRow
	y := p.h - bottom - float64(len(rows))*high
	y0 := y
	for _, r := range rows {
		x := left
		for k, f := range r {
			w := f.wide
			if w == 0 {
				w = left + width - x
			}
			if k > 0 {
				p.line(x, y, x, y+high, scene.RoleInk, 0.25)
			}
			p.font(sizeLabel, false)
			p.colour(scene.RoleMuted)
			p.plain(x+1.8, y+3.1, printable(f.label))
			p.font(sizeBody, false)
			role := f.role
			if role == "" {
				role = scene.RoleInk
			}
			p.colour(role)
			p.plain(x+1.8, y+7.5, clip(p.pdf, printable(f.value), w-3.6))
			x += w
		}
		p.rule(y, scene.RoleInk, 0.25)
		y += high
	}
	rgb(p.pdf.SetDrawColor, scene.Print.Colour(scene.RoleInk))
	p.pdf.SetLineWidth(0.35)
	p.pdf.Rect(left, y0, width, y-y0, "D")
	p.y = y
}

// position is the section on parts, place and height.
func (p *paper) position() error {
	p.newPage()
	p.section("What is fitted", 40)
	rows := []row{{cells: []cell{{text: "base"}, {text: upper(baseName(p.s.Chassis.Base)), note: joined("; ", p.s.Chassis.Name, p.s.Chassis.Guide)}, {}, {}, {}, {}, {}, {}}}}
	for i := range p.s.Parts {
		q := &p.s.Parts[i]
		read := cell{text: q.ReadFrom}
		switch q.ReadFrom {
		case "memory", "unknown", "":
			if q.D != nil || q.ReadFrom != "" {
				read.role = scene.RoleUnknown
			}
		}
		rows = append(rows, row{cells: []cell{{text: fmt.Sprint(i + 1)}, {text: q.Name, bold: true},
			{text: mm(q.Height)}, {text: mm(q.Middle)}, {text: mm(q.Mass)}, {text: decimal(q.D, 0)}, {text: mm(q.U)}, read}, note: joined("; ", strings.ReplaceAll(q.Kind, "-", " "), q.ID, q.Approval, holesFrom(q), strings.TrimSuffix(q.Note, "."))})
	}
	p.table([]column{{"", 9, false}, {"part, from below to the top", 0, false}, {"height, mm", 15, true}, {"middle behind front axle, mm", 24, true}, {"mass, kg", 14, true}, {"D, kN", 13, true}, {"U, kg", 16, true}, {"read from", 19, false}}, rows)
	if p.s.Mass != nil {
		p.paragraph(sizeTable, false, scene.RoleInk, "All parts together: "+mm(p.s.Mass)+"\u00a0kg.")
	}
	p.section("Position and height", 40)
	pos := &p.s.Position
	where := "Front axle to the middle of the jaw"
	if pos.Travel > 0 {
		where += ", foremost slide position"
	}
	at := pair{label: where, value: "not known", role: scene.RoleUnknown}
	if pos.At != nil {
		at = pair{label: where, value: mm(pos.At) + tolerance(pos.Tolerance) + "\u00a0mm", bold: true}
		if pos.Tolerance == nil {
			at.value += ", tolerance not stated"
		}
	}
	ps := []pair{at}
	if pos.Lead != nil {
		ps = append(ps, pair{label: "Lead ahead of the " + pos.Datum, value: mm(pos.Lead) + "\u00a0mm"})
	}
	if pos.Travel > 0 {
		ps = append(ps, pair{label: "Slide travel", value: fmt.Sprintf("%d\u00a0mm rearwards in steps of %d\u00a0mm", pos.Travel, pos.Pitch)})
	}
	lawful := pair{label: "Lawful for every semi-trailer", value: "none that is known", role: scene.RoleUnknown}
	if len(pos.Lawful) > 0 {
		var words []string
		for _, l := range pos.Lawful {
			words = append(words, mm(&l[0])+" to "+mm(&l[1])+"\u00a0mm")
		}
		lawful = pair{label: lawful.label, value: strings.Join(words, ", ") + " behind the front axle"}
	}
	ps = append(ps, lawful)
	for i, l := range pos.Limits {
		label := ""
		if i == 0 {
			label = "What limits it, the tightest first"
		}
		ps = append(ps, pair{label: label, value: l})
	}
	p.pairs(52, ps)
	p.space(2)
	rows = nil
	for i := range p.s.Heights {
		h := &p.s.Heights[i]
		name := or(h.Name, "coupling height")
		raise := ""
		if h.Raise > 0 {
			raise = mm(&h.Raise)
		}
		rows = append(rows, row{note: h.Working, cells: []cell{{text: name}, {text: wantedOf(h.Wanted, h.Tolerance)}, {text: mm(h.Unladen), bold: true}, {text: wantedOf(h.WantedLow, h.Tolerance)}, {text: mm(h.Laden), bold: true}, {text: mm(h.Raised)}, {text: raise}}})
	}
	p.table([]column{{"ground to top plate, mm", 0, false}, {"wanted unladen", 22, true}, {"unladen", 17, true}, {"wanted laden", 22, true}, {"laden", 15, true}, {"suspension raised", 18, true}, {"lift raised", 13, true}}, rows)
	p.space(3)
	p.clearances()
	return nil
}

// clearances lists what is left between parts.
func (p *paper) clearances() {
	var rows []row
	for _, c := range drawing.Clearances(p.s) {
		of := "the mounting itself"
		if c.Trailer != "" {
			of = p.trailerName(c.Trailer)
		}
		r := p.finding(c.Finding, false, false)
		r.cells = []cell{r.cells[0], r.cells[1], r.cells[2], r.cells[3], r.cells[4], r.cells[5], {text: of}}
		rows = append(rows, r)
	}
	if len(rows) > 0 {
		p.table([]column{{"", 6, false}, {"clearance, the tightest of each kind", 0, false}, {"value", 15, true}, {"limit", 17, true}, {"to spare", 18, true}, {"use of the limit", 21, false}, {"of", 36, false}}, rows)
	}
}

// drawings are side view and plan on pages of their own, true to scale.
func (p *paper) drawings() error {
	if p.r == nil {
		return nil
	}
	err := p.drawingPage("Side view, facing left", func(scale float64) *scene.Scene {
		return drawing.MountingSide(p.r, p.s, drawing.Options{Width: 200, Scale: scale, NoBlock: true})
	})
	if err != nil {
		return err
	}
	err = p.drawingPage("Plan, facing left", func(scale float64) *scene.Scene {
		return drawing.MountingPlan(p.r, p.s, drawing.Options{Width: 200, Scale: scale, NoBlock: true})
	})
	p.newPage()
	return err
}

func wantedOf(v, tol *int) string {
	if v == nil {
		return ""
	}
	return mm(v) + tolerance(tol)
}

// holesFrom says where a part's holes were read.
func holesFrom(q *mounting.PartRow) string {
	switch {
	case len(q.Foot) == 0:
		return "hole pattern not entered"
	case q.FootFrom == "":
		return "nobody said where its holes were read"
	}
	return "holes read from " + q.FootFrom
}

// cautions come before the work.
func (p *paper) cautions() error {
	p.section("Cautions", 40)
	var rows []row
	for i := range p.s.Cautions {
		c := &p.s.Cautions[i]
		rows = append(rows, row{cells: []cell{{mark: scene.RoleCaution}, {text: c.Text}, {text: c.Source}, {text: c.Evidence}}})
	}
	p.table([]column{{"", 6, false}, {"caution", 0, false}, {"source", 44, false}, {"evidence", 16, false}}, rows)
	return nil
}

// handover lists what is looked at before the vehicle is handed over, with room
// to write down what was found.
func (p *paper) handover() error {
	p.section("Checks before handing over", 40)
	var rows []row
	for i := range p.s.Checks {
		c := &p.s.Checks[i]
		rows = append(rows, row{cells: []cell{{box: true}, {text: upper(c.Text), note: joined(": ", c.Evidence, c.Source)}, {text: c.Wanted, bold: true}, {}}})
	}
	p.table([]column{{"", 7, false}, {"check", 0, false}, {"must come out", 34, false}, {"found, remark", 42, false}}, rows)
	d := &p.s.Again
	text, role := "", scene.RoleInk
	switch {
	case d.Answer == string(rule.Fits):
		var when []string
		if d.After != nil {
			when = append(when, unit.Digits(float64(*d.After), 0)+"\u00a0km")
		}
		if d.Days != nil {
			when = append(when, counted(*d.Days, "day", "days"))
		}
		text = "Tighten the bolts again after " + strings.Join(when, " or ") + ", whichever comes first. By " + d.Source + "."
		if len(when) == 1 {
			text = "Tighten the bolts again after " + when[0] + ". By " + d.Source + "."
		}
	default:
		text, role = "When the bolts are to be tightened again cannot be told: "+strings.Join(d.Missing, "; ")+".", scene.RoleUnknown
	}
	p.paragraph(sizeTable, true, role, text)
	return nil
}

// signatures are lines to sign on, kept together.
func (p *paper) signatures() error {
	const high = 13.0
	p.section("Signatures", high*float64(len(p.s.Signatures)))
	if p.draft {
		p.paragraph(sizeTable, true, scene.RoleCaution, "This is a draft: it is not signed as approved, and nobody works from it.")
	}
	for _, s := range p.s.Signatures {
		p.need(high)
		y := p.y + high - 3
		p.textAt(left, y-4.2, 52, sizeTable, false, scene.RoleInk, s)
		x := left + 52
		for k, c := range []struct {
			label string
			wide  float64
		}{{"name", 44}, {"day", 26}, {"signature", width - 52 - 44 - 26 - 8}} {
			if k > 0 {
				x += 4
			}
			p.line(x, y, x+c.wide, y, scene.RoleInk, 0.25)
			if !p.draft && strings.HasPrefix(s, "Approved") {
				p.textAt(x, y-4.2, c.wide, sizeTable, true, scene.RoleInk, [...]string{p.s.Release.By, p.s.Release.On, ""}[k])
			}
			p.textAt(x, y+0.2, c.wide, sizeLabel, false, scene.RoleMuted, c.label)
			x += c.wide
		}
		p.y += high
	}
	return nil
}

// mm letters whole millimetres or kilograms.
func mm(v *int) string {
	if v == nil {
		return unit.Unknown
	}
	return unit.Digits(float64(*v), 0)
}

func tolerance(v *int) string {
	if v == nil {
		return ""
	}
	return "\u00a0±\u00a0" + unit.Digits(float64(*v), 0)
}

func decimal(v *float64, places int) string {
	if v == nil || math.IsNaN(*v) {
		return unit.Unknown
	}
	return unit.Digits(*v, places)
}
