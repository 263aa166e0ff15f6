package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"underpin/drawing"
	"underpin/fleet"
	"underpin/mounting"
	"underpin/record"
	"underpin/report"
	"underpin/rule"
	"underpin/unit"
)

// What is decided on a sheet that is kept.
const (
	keepDraft = "draft"
	approve   = "approve"
)

// keepSheet keeps a specification as a record: as a draft, or approved for fitting
// by the person who is signed in.
func (s *site) keepSheet(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	parts, err := s.partsFile(ctx)
	if err != nil || parts == nil || len(parts.Briefs) == 0 {
		s.noParts(w, r, err)
		return
	}
	a, req, sp, _, err := s.specified(r, parts, true)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	on, err := s.Register.ByNumber(ctx, req.Tractor.ID)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	decide := []option{{Value: keepDraft, Text: "keep it as a draft"}}
	lead := "The sheet is kept with its data, its paper and all that it was made of. What was kept is never written over: a change is another revision."
	if open := sp.Holds(); open == nil {
		decide = append(decide, option{Value: approve, Text: "approve it for fitting"})
		lead += " Every finding that binds fits, so it may be approved. Whoever approves it is " + person(ctx).Who.Name + ", who is signed in."
		if len(sp.Warnings) > 0 {
			lead += " These do not decide, and stand with the approval: " + strings.Join(sp.Warnings, "; ") + "."
		}
	} else {
		lead += " It cannot be approved: " + strings.TrimPrefix(open.Error(), "not approved: ") + "."
	}
	s.act(w, r, &action{
		head: "Keep the specification for " + req.Tractor.Title(), save: "Keep it", back: "/mounting/specification?" + a.query(), lead: lead,
		spec: one(
			field{Key: "number", Label: "Number", Doc: "Of the sheet; its revisions share it.", Must: true},
			field{Key: "revision", Label: "Revision", Doc: "Such as A, B or 1, 2."},
			field{Key: "author", Label: "Specified by"},
			field{Key: "checked", Label: "Checked by"},
			field{Key: "decision", Label: "What it is", Sort: choiceSort, Choices: decide, Must: true}),
		typed: typed{"number": a.Number, "revision": a.Revision, "author": or(a.Author, person(ctx).Who.Name), "checked": a.Checked, "decision": keepDraft},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			t := &sp.Title
			t.Number, t.Revision, t.Author, t.Checked = textOf(in.values, "number"), textOf(in.values, "revision"), textOf(in.values, "author"), textOf(in.values, "checked")
			t.Program = s.Register.Program()
			req.Title = *t
			if textOf(in.values, "decision") == approve {
				if err := sp.Approve(fleet.ActorFrom(ctx).Who.Name, today()); err != nil {
					return nil, &fleet.Invalid{Problems: []fleet.Problem{{Where: "decision", Found: strings.TrimPrefix(err.Error(), "not approved: "), Expected: "a specification of which every finding that binds fits, or a draft"}}}
				}
			}
			var paper bytes.Buffer
			if err := report.Specification(&paper, req, sp); err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.KeepSpecification{Meta: in.Meta, Vehicle: on, Request: req, Sheet: sp, Paper: paper.Bytes()})
		},
		after: func(d *fleet.Done) string { return sheetHref(on, d.Record) },
	})
}

func sheetHref(vehicle record.Asset, id record.ID) string {
	return hrefOf(vehicle) + "/sheets/" + string(id)
}

// sheetLine is a kept specification in a list.
type sheetLine struct {
	Href, Name, Stack, At, Who, When string
	State, Shape, Word               string
	Built                            string
}

func sheetName(s *record.Sheet) string {
	if s.Revision == "" {
		return s.Number
	}
	return s.Number + ", revision " + s.Revision
}

func newSheetLine(v *record.Vehicle, s *record.Sheet) sheetLine {
	l := sheetLine{Href: sheetHref(v.Asset, s.ID), Name: sheetName(s), Stack: s.Stack, At: unit.Unknown, Who: s.Who.Name, When: dayOf(s.At)}
	if at := s.SpecificationKept.At; at != nil {
		l.At = unit.Digits(float64(*at), 0) + "\u00a0mm"
	}
	l.State, l.Shape, l.Word = sheetState(s)
	for i := range v.Built {
		if v.Built[i].Specification == s.ID {
			l.Built = dayOf(v.Built[i].At)
		}
	}
	return l
}

func sheetState(s *record.Sheet) (state, shape, word string) {
	if s.State == record.ApprovedSheet {
		return "holds", "●", "approved for fitting"
	}
	switch s.Answer {
	case string(rule.Fits):
		return "caution", "▲", "draft"
	case string(rule.DoesNotFit):
		return "fails", "✕", "draft, it does not fit"
	}
	return "unknown", "○", "draft, it cannot be told"
}

// mountingBlock is what the page of a tractor shows of its mounting.
type mountingBlock struct {
	Sheets []sheetLine
	Due    *dueLine
}

// dueLine is the retightening that a fitting left.
type dueLine struct {
	State, Shape, Text string
	Missing            string
	Enter              string
}

// overviewBolts is a tractor whose bolts are due, on the first page of the fleet.
type overviewBolts struct {
	Href, Title string
	dueLine
}

func newMountingBlock(ctx context.Context, v *record.Vehicle) *mountingBlock {
	b := &mountingBlock{}
	for i := len(v.Sheets) - 1; i >= 0; i-- {
		b.Sheets = append(b.Sheets, newSheetLine(v, &v.Sheets[i]))
	}
	if due := v.Retightening(); due != nil {
		b.Due = newDueLine(ctx, v.Asset, due)
	}
	return b
}

func newDueLine(ctx context.Context, vehicle record.Asset, b *record.Built) *dueLine {
	t := &b.Retighten
	d := &dueLine{State: "caution", Shape: "▲"}
	var at []string
	if t.At != nil {
		at = append(at, "at "+metresText(t.At)+" on the odometer")
	}
	if t.Day != "" {
		at = append(at, "on "+t.Day)
	}
	switch {
	case len(at) == 0:
		d.State, d.Shape, d.Text = "unknown", "○", "When the bolts are to be tightened again cannot be told."
	case len(at) == 1:
		d.Text = "The bolts are to be tightened again " + at[0] + " at the latest."
	default:
		d.Text = "The bolts are to be tightened again " + strings.Join(at, " or ") + " at the latest, whichever comes first."
	}
	if t.Document != "" {
		d.Text += " By " + t.Document + "."
	}
	if len(t.Missing) > 0 {
		d.Missing = "Missing: " + strings.Join(t.Missing, "; ") + "."
	}
	if may(ctx, fleet.Fit) {
		d.Enter = hrefOf(vehicle) + "/built/" + string(b.ID) + "/tighten"
	}
	return d
}

// keptView is what templates/kept.html shows: a specification as it was kept, what
// was built by it, and what is to be done.
type keptView struct {
	Done                     string
	Name, Vehicle, Href      string
	State, Shape, Word, Lead string
	Notes, Warnings          []string
	Newer, NewerHref         string
	Paper, Data, Inputs      string
	Side, SidePhone          template.HTML
	Sheet                    *mounting.Specification
	Parts                    []fittedPart
	Torques                  []torqueRow
	At, Tolerance            string
	Enter                    string
	Built                    []builtView
	Record                   string
}

type torqueRow struct{ Joint, Bolts, Torque, From, Order string }

type builtView struct {
	When, Who, Reading string
	State, Shape, Word string
	Rows               []differenceRow
	Due                *dueLine
	Tight              string
	Record             string
}

type differenceRow struct {
	Title, Planned, Measured, Off, Allowed string
	State, Shape, Word                     string
}

func (s *site) sheetOf(w http.ResponseWriter, r *http.Request) (*fleet.SheetPage, bool) {
	p, err := s.Register.SheetPage(r.Context(), assetIn(r, record.VehicleAsset), record.ID(r.PathValue("sheet")))
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	return p, true
}

func (s *site) keptPage(w http.ResponseWriter, r *http.Request) {
	p, ok := s.sheetOf(w, r)
	if !ok {
		return
	}
	ctx := r.Context()
	x, sp := p.Vehicle, p.Data
	href := sheetHref(x.Asset, p.ID)
	v := &keptView{Done: doneWords[r.FormValue("done")], Name: sheetName(&p.Sheet), Vehicle: vehicleTitle(x), Href: hrefOf(x.Asset), Sheet: sp,
		Paper: href + "/specification.pdf", Data: href + "/specification.json", Inputs: href + "/inputs.json", Record: "/records/" + string(p.ID), At: whole(sp.Position.At, "\u00a0mm")}
	v.State, v.Shape, v.Word = sheetState(&p.Sheet)
	v.Word = upperFirst(v.Word) + "."
	var names []string
	for i := range sp.Parts {
		names = append([]string{sp.Parts[i].Name}, names...)
	}
	v.Lead = "Sheet " + v.Name + " for " + v.Vehicle + ": " + strings.Join(names, " on ") + ", " + v.At + " behind the front axle."
	if p.State == record.ApprovedSheet {
		v.Notes = append(v.Notes, "Approved by "+p.Who.Name+" on "+dayOf(p.At)+".")
	} else {
		v.Notes = append(v.Notes, "Kept by "+p.Who.Name+" on "+dayOf(p.At)+". Nobody has approved it; it is not to be worked from.")
		if err := sp.Holds(); err != nil {
			v.Notes = append(v.Notes, upperFirst(strings.TrimPrefix(err.Error(), "not approved: "))+".")
		}
	}
	v.Warnings = p.Warnings
	if p.Newer != nil {
		_, _, word := sheetState(p.Newer)
		v.Newer, v.NewerHref = sheetName(p.Newer)+" ("+word+")", sheetHref(x.Asset, p.Newer.ID)
	}
	facts := &specificationView{}
	facts.facts(sp)
	v.Parts = facts.Parts
	if t := sp.Position.Tolerance; t != nil {
		v.At = whole(sp.Position.At, "") + " ± " + whole(t, "\u00a0mm")
	}
	for i := range sp.Joints {
		v.Torques = append(v.Torques, newTorqueRow(&sp.Joints[i]))
	}
	if err := s.drawKept(ctx, p, v); err != nil {
		s.fail(w, r, err)
		return
	}
	for i := len(p.Built) - 1; i >= 0; i-- {
		b, err := newBuiltView(ctx, x, &p.Built[i])
		if err != nil {
			s.fail(w, r, err)
			return
		}
		v.Built = append(v.Built, b)
	}
	if p.State == record.ApprovedSheet && x.Scrapped == 0 && may(ctx, fleet.Fit) {
		v.Enter = href + "/built"
	}
	s.render(w, r, http.StatusOK, "kept", v.Name+" for "+v.Vehicle, v)
}

func newTorqueRow(j *mounting.JointRow) torqueRow {
	t := torqueRow{Joint: j.Title, Torque: unit.Unknown, From: j.Document}
	if j.Thread != "" && j.Bolts > 0 {
		t.Bolts = fmt.Sprintf("%d × %s, %s", j.Bolts, j.Thread, j.Grade)
	}
	if j.Torque != nil {
		t.Torque = unit.Digits(*j.Torque, 0) + "\u00a0N·m"
	}
	var order []string
	for _, n := range j.Order {
		order = append(order, itoa(n))
	}
	t.Order = strings.Join(order, ", ")
	return t
}

// drawKept draws the side of the mounting from what the sheet was made of.
func (s *site) drawKept(ctx context.Context, p *fleet.SheetPage, v *keptView) error {
	in, err := s.Register.SheetInputs(ctx, &p.Sheet)
	if err != nil {
		return err
	}
	book, err := s.law(in.Law)
	if err != nil {
		return err
	}
	req, err := in.Request(book)
	if err != nil {
		return err
	}
	v.Side = svg(drawing.MountingSide(req, p.Data, drawing.Options{NoBlock: true, Width: 220, ID: "desk"}), "side", false)
	v.SidePhone = svg(drawing.MountingSide(req, p.Data, drawing.Options{NoBlock: true, Phone: true, ID: "phone"}), "side-phone", false)
	return nil
}

func newBuiltView(ctx context.Context, x *record.Vehicle, b *record.Built) (builtView, error) {
	v := builtView{When: dayOf(b.At), Who: b.Who.Name, Record: "/records/" + string(b.ID)}
	answer := rule.Answer(b.Answer)
	v.State, v.Shape = stateOf(answer), shapeOf(answer)
	v.Word = map[rule.Answer]string{rule.Fits: "As specified.", rule.DoesNotFit: "Not as specified.", rule.CannotTell: "Not everything was measured."}[answer]
	if b.Reading.Metres != nil {
		v.Reading = metersNames[b.Reading.Meter] + " " + metresText(b.Reading.Metres)
	}
	var all []mounting.Difference
	if err := json.Unmarshal(b.Differences, &all); err != nil {
		return v, err
	}
	for i := range all {
		v.Rows = append(v.Rows, newDifferenceRow(&all[i]))
	}
	switch last := x.Retightening(); {
	case b.Tight != nil:
		v.Tight = "The bolts were tightened again by " + b.Tight.Who.Name + " on " + dayOf(b.Tight.At) + "."
	case last != nil && last.ID == b.ID:
		v.Due = newDueLine(ctx, x.Asset, b)
	}
	return v, nil
}

func newDifferenceRow(d *mounting.Difference) differenceRow {
	figure := func(v *float64, sign bool) string {
		if v == nil {
			return unit.Unknown
		}
		text := strings.TrimSuffix(unit.Digits(*v, 1), ".0")
		if sign && *v > 0 {
			text = "+" + text
		}
		return text + "\u00a0" + strings.ReplaceAll(d.Unit, ".", "·")
	}
	answer := rule.Answer(d.Answer)
	row := differenceRow{Title: d.Title, Planned: figure(d.Planned, false), Measured: figure(d.Measured, false), Off: figure(d.Off, true), State: stateOf(answer), Shape: shapeOf(answer)}
	if d.Allowed != nil {
		row.Allowed = "± " + figure(d.Allowed, false)
	}
	row.Word = map[rule.Answer]string{rule.Fits: "holds", rule.DoesNotFit: "off", rule.CannotTell: "cannot be told"}[answer]
	if len(d.Missing) > 0 {
		row.Word += ": missing " + strings.Join(d.Missing, "; ")
	}
	return row
}

// keptFile serves the paper, the data and the inputs of a sheet as they were kept.
func (s *site) keptFile(w http.ResponseWriter, r *http.Request) {
	file := r.PathValue("file")
	p, ok := s.sheetOf(w, r)
	if !ok {
		return
	}
	var blob record.Digest
	mime := "application/json"
	switch file {
	case "specification.pdf":
		blob, mime = p.Paper, "application/pdf"
	case "specification.json":
		blob = p.SpecificationKept.Sheet
	case "inputs.json":
		blob = p.Inputs
	default:
		s.notFound(w, r)
		return
	}
	f, err := s.Register.Document(r.Context(), blob)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer f.Close()
	var b bytes.Buffer
	if _, err := b.ReadFrom(f); err != nil {
		s.fail(w, r, err)
		return
	}
	sendFile(w, mime, fileName(p.Vehicle.Number(), p.Number, p.Revision, file), b.Bytes())
}
