package web

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"underpin/assess"
	"underpin/drawing"
	"underpin/fleet"
	"underpin/mounting"
	"underpin/report"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

// specificationView is what templates/specification.html shows.
type specificationView struct {
	Ask                      mountingAsk
	Sheet                    *mounting.Specification
	Stack, At                string
	Draft, MayApprove        bool
	Keep, Open               bool // may be kept as a record; something is open
	Refused                  string
	State, Shape, Word, Lead string
	Reasons                  []string
	Query                    template.URL
	Back                     template.URL
	Hidden                   []option

	Side, SidePhone, Plan, PlanPhone template.HTML
	Faces                            []faceView
	Parts                            []fittedPart
	Position                         []factView
	Heights                          []heightView
	Own                              []findingView
	OwnRest                          []findingView
	Trailers                         []trailerView
	Sources                          []sourceView
	Again                            string
	Drawings                         []string
}

type factView struct{ Label, Value string }

type fittedPart struct{ Name, What, Height, Middle, Mass, D, U, Read string }

type heightView struct{ Name, Wanted, Unladen, WantedLow, Laden, Raised, Working string }

// A faceView is one bolted face.
type faceView struct {
	Title    string
	ID       string
	Drawing  template.HTML
	Facts    []factView
	Torque   string // from the document; empty: not known
	Findings []findingView
	Rest     []findingView
}

// A trailerView is a semi-trailer of the brief under its load cases.
type trailerView struct {
	Name   string
	Wished bool
	Cases  []caseView
	Same   []findingView // hold alike under every load case
}

type caseView struct {
	Name, State, Shape, Word, Told string
	Tight, Rest                    []findingView
	Cautions                       []string
}

type sourceView struct{ Source, Evidence string }

func whole(v *int, u string) string {
	if v == nil {
		return unit.Unknown
	}
	return unit.Digits(float64(*v), 0) + u
}

func decimals(v *float64, places int) string {
	if v == nil {
		return unit.Unknown
	}
	return unit.Digits(*v, places)
}

// sheetFinding shows a finding of the sheet as those of a pairing are shown.
func sheetFinding(f *mounting.Finding) findingView {
	num := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	u, ok := unit.Lookup(f.Unit)
	if f.Unit == "" || !ok {
		u = unit.One
	}
	a := assess.Finding{Finding: rule.Finding{ID: f.ID, Title: f.Title, Value: num(f.Value), Limit: num(f.Limit), Sense: rule.Sense(f.Sense), Unit: u, Margin: num(f.Margin), Answer: rule.Answer(f.Answer),
		Binding: f.Binding, Evidence: rule.Evidence(f.Evidence), Calc: f.Calc, Source: f.Source, Working: f.Working, Note: f.Note, Missing: f.Missing}, CaseName: f.Case}
	v := newFindingView(&a, unit.Metric)
	kind, _, _ := strings.Cut(f.ID, ".")
	switch {
	case kind == "guide" || kind == "direct" || kind == "stops" || kind == "joint":
		word := map[bool]string{true: "yes", false: "no"}
		v.Limit, v.Spare, v.Unit = "yes", "", ""
		if v.Value = unit.Unknown; f.Value != nil {
			v.Value = word[*f.Value >= 1]
		}
	case kind == "bolt" && f.Unit == "":
		v.Value, v.Limit, v.Unit = decimals(f.Value, 2), decimals(f.Limit, 2), ""
		if v.Spare = unit.Unknown; f.Margin != nil {
			v.Spare = unit.Digits(unit.Floor(*f.Margin, 2), 2)
		}
	}
	return v
}

// split shows what does not hold, and folds what does.
func split(fs []mounting.Finding, without string) (open, rest []findingView) {
	for i := range fs {
		v := sheetFinding(&fs[i])
		v.Title = upperFirst(strings.TrimPrefix(v.Title, without))
		if fs[i].Answer == string(rule.Fits) {
			rest = append(rest, v)
		} else {
			open = append(open, v)
		}
	}
	return open, rest
}

// specificationPage shows one mounting as the sheet that a fitter works from.
func (s *site) specificationPage(w http.ResponseWriter, r *http.Request) {
	parts, err := s.partsFile(r.Context())
	if err != nil || parts == nil || len(parts.Briefs) == 0 {
		s.noParts(w, r, err)
		return
	}
	a, req, sp, refused, err := s.specified(r, parts, true)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := newSpecificationView(a, req, sp, refused)
	v.MayApprove = s.Register == nil
	v.Keep, v.Open = s.Register != nil && may(r.Context(), fleet.Design), sp.Holds() != nil
	s.render(w, r, http.StatusOK, "specification", v.Stack+" for "+req.Tractor.Title(), v)
}

func newSpecificationView(a mountingAsk, r *mounting.Request, sp *mounting.Specification, refused error) *specificationView {
	st, _ := r.File.Stack(r.Fitting)
	v := &specificationView{Ask: a, Sheet: sp, Stack: upperFirst(stackName(st)), Draft: sp.Release.State != mounting.Approved, Query: template.URL(a.query()), Drawings: []string{"side", "plan"}}
	back := a
	back.Fitting, back.Base, back.Parts, back.At, back.Tolerance = "", "", nil, "", ""
	v.Back = template.URL(back.query())
	v.Hidden = a.hidden("number", "revision", "date", "author", "checked", "by", "on", "tolerance")
	v.head(sp, refused)
	opt, phone := drawing.Options{NoBlock: true, Width: 220, ID: "desk"}, drawing.Options{NoBlock: true, Phone: true, ID: "phone"}
	v.Side, v.SidePhone = svg(drawing.MountingSide(r, sp, opt), "side", false), svg(drawing.MountingSide(r, sp, phone), "side-phone", false)
	v.Plan, v.PlanPhone = svg(drawing.MountingPlan(r, sp, opt), "plan", false), svg(drawing.MountingPlan(r, sp, phone), "plan-phone", false)
	for i, f := range drawing.MountingFaces(r, sp) {
		v.Faces = append(v.Faces, newFaceView(r, sp, f, i))
		v.Drawings = append(v.Drawings, "holes-"+f.Upper)
	}
	v.facts(sp)
	v.Own, v.OwnRest = split(sp.Findings, "")
	v.trailers(sp)
	for _, src := range sp.Sources {
		v.Sources = append(v.Sources, sourceView{src.Source, src.Evidence})
	}
	return v
}

// head is the answer as a sentence, and why.
func (v *specificationView) head(sp *mounting.Specification, refused error) {
	at := "its position is not known"
	if sp.Position.At != nil {
		at = whole(sp.Position.At, "")
		if sp.Position.Tolerance != nil {
			at += " ± " + whole(sp.Position.Tolerance, "")
		}
		v.At = at + "\u00a0mm"
		at = v.At + " behind the front axle"
	}
	v.Lead = v.Stack + ", " + at + "."
	switch answer := rule.Answer(sp.Answer); {
	case !v.Draft:
		v.Word, v.State, v.Shape = "Approved for fitting.", "holds", "●"
		v.Reasons = []string{"By " + sp.Release.By + ", " + sp.Release.On + "."}
	case answer == rule.Fits:
		v.Word, v.State, v.Shape = "Draft, nothing stands against its approval.", "caution", "▲"
		v.Reasons = []string{"Nobody has approved it yet; it is not to be worked from before."}
	default:
		v.Word, v.State, v.Shape = map[rule.Answer]string{rule.DoesNotFit: "Draft, it does not fit.", rule.CannotTell: "Draft, it cannot be told."}[answer], stateOf(answer), shapeOf(answer)
		if err := sp.Holds(); err != nil {
			v.Reasons = []string{upperFirst(strings.TrimPrefix(err.Error(), "not approved: ")) + "."}
		}
	}
	if refused != nil {
		v.Refused = upperFirst(refused.Error()) + "."
	}
}

func (v *specificationView) facts(sp *mounting.Specification) {
	for i := range sp.Parts {
		q := &sp.Parts[i]
		v.Parts = append(v.Parts, fittedPart{q.Name, strings.Join(nonEmpty(strings.ReplaceAll(q.Kind, "-", " "), q.ID, q.Approval), ", "), whole(q.Height, ""), whole(q.Middle, ""), whole(q.Mass, ""), decimals(q.D, 0), whole(q.U, ""), q.ReadFrom})
	}
	p := &sp.Position
	fact := func(label, value string) { v.Position = append(v.Position, factView{label, value}) }
	if p.Lead != nil {
		fact("lead ahead of the "+p.Datum, whole(p.Lead, "\u00a0mm"))
	}
	if p.Travel > 0 {
		fact("slide travel", fmt.Sprintf("%d mm rearwards in steps of %d mm", p.Travel, p.Pitch))
	}
	var spans []string
	for _, l := range p.Lawful {
		spans = append(spans, whole(&l[0], "")+" to "+whole(&l[1], "\u00a0mm"))
	}
	if len(spans) > 0 {
		fact("lawful for every semi-trailer", strings.Join(spans, ", ")+" behind the front axle")
	}
	for i := range sp.Heights {
		h := &sp.Heights[i]
		wanted := func(v *int) string {
			if v == nil {
				return ""
			}
			if h.Tolerance == nil {
				return whole(v, "")
			}
			return whole(v, "") + " ± " + whole(h.Tolerance, "")
		}
		v.Heights = append(v.Heights, heightView{or(h.Name, "coupling height"), wanted(h.Wanted), whole(h.Unladen, ""), wanted(h.WantedLow), whole(h.Laden, ""), whole(h.Raised, ""), h.Working})
	}
	d := &sp.Again
	switch {
	case d.Answer != string(rule.Fits):
		v.Again = "When the bolts are to be tightened again cannot be told: " + strings.Join(d.Missing, "; ") + "."
	default:
		var when []string
		if d.After != nil {
			when = append(when, whole(d.After, "\u00a0km"))
		}
		if d.Days != nil {
			when = append(when, whole(d.Days, "\u00a0days"))
		}
		v.Again = "Tighten the bolts again after " + strings.Join(when, " or ") + ". By " + d.Source + "."
	}
}

func nonEmpty(s ...string) []string {
	var out []string
	for _, t := range s {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

func newFaceView(r *mounting.Request, sp *mounting.Specification, f drawing.Face, i int) faceView {
	id := "holes-" + strconv.Itoa(i)
	v := faceView{Title: upperFirst(f.Title), ID: id, Drawing: svg(drawing.MountingPattern(r, sp, f, drawing.Options{Phone: true, NoBlock: true, Width: 120, ID: id}), id, false)}
	j := f.Joint
	if j == nil {
		v.Facts = []factView{{"bolts", "not entered: what is not bolted is not held"}}
		return v
	}
	fact := func(label, value string) {
		if value != "" {
			v.Facts = append(v.Facts, factView{label, value})
		}
	}
	if j.Thread != "" && j.Bolts > 0 {
		fact("bolts", fmt.Sprintf("%d × %s, %s", j.Bolts, j.Thread, j.Grade))
	} else {
		fact("bolts", "thread, grade or holes not entered")
	}
	if j.Torque != nil && j.Document != "" {
		v.Torque = unit.Digits(*j.Torque, 0) + "\u00a0N·m"
		fact("torque stands in", j.Document)
	}
	fact("torque outside the band", j.OutOf)
	if j.Maximum != nil {
		fact("theoretical maximum, not a fitting torque", unit.Digits(unit.Floor(*j.Maximum, 0), 0)+"\u00a0N·m")
	}
	fact("tightened with", strings.Join(nonEmpty(j.Method, j.Lubricant), ", "))
	if j.Preload[0] != nil && j.Preload[1] != nil {
		fact("preload of a bolt", decimals(j.Preload[0], 1)+" to "+decimals(j.Preload[1], 1)+"\u00a0kN")
	}
	if j.Stops != nil && !f.OnWeb {
		fact("positive stops", map[bool]string{true: "to be fitted, fore and aft", false: "none"}[*j.Stops])
	}
	var order []string
	for _, n := range j.Order {
		order = append(order, strconv.Itoa(n))
	}
	fact("order of tightening, by hole", strings.Join(order, ", "))
	v.Findings, v.Rest = split(j.Findings, j.Title+": ")
	return v
}

func (v *specificationView) trailers(sp *mounting.Specification) {
	names := map[string]string{}
	for _, t := range sp.Trailers {
		names[t.ID] = t.Name
	}
	for i := 0; i < len(sp.Pairs); {
		n := i + 1
		for n < len(sp.Pairs) && sp.Pairs[n].Trailer == sp.Pairs[i].Trailer {
			n++
		}
		pairs := sp.Pairs[i:n]
		t := trailerView{Name: or(names[pairs[0].Trailer], pairs[0].Trailer), Wished: pairs[0].Wished}
		same := sameInAll(pairs)
		if !t.Wished {
			_, t.Same = split(same, "")
		}
		for k := range pairs {
			t.Cases = append(t.Cases, newCaseView(&pairs[k], same))
		}
		v.Trailers = append(v.Trailers, t)
		i = n
	}
}

// sameInAll returns the findings that hold alike under every load case.
func sameInAll(pairs []mounting.PairRow) []mounting.Finding {
	if len(pairs) < 2 {
		return nil
	}
	var out []mounting.Finding
	for _, f := range pairs[0].Findings {
		all := f.Case == "" && f.Answer == string(rule.Fits)
		for i := 1; i < len(pairs) && all; i++ {
			all = slices.ContainsFunc(pairs[i].Findings, func(g mounting.Finding) bool { return reflect.DeepEqual(f, g) })
		}
		if all {
			out = append(out, f)
		}
	}
	return out
}

// newCaseView shows one load case: of a semi-trailer that must work everything
// that is not the same in all, of one that would be welcome what does not hold.
func newCaseView(p *mounting.PairRow, same []mounting.Finding) caseView {
	answer := rule.Answer(p.Answer)
	c := caseView{Name: p.CaseName, State: stateOf(answer), Shape: shapeOf(answer), Word: answerWord(answer), Told: p.Told, Cautions: p.Cautions}
	own := slices.DeleteFunc(slices.Clone(p.Findings), func(f mounting.Finding) bool {
		return slices.ContainsFunc(same, func(s mounting.Finding) bool { return s.ID == f.ID && s.Case == f.Case })
	})
	c.Tight, c.Rest = split(own, "")
	if p.Wished {
		c.Rest = nil
	}
	return c
}

// mountingFile serves the sheet and its drawings as files.
func (s *site) mountingFile(w http.ResponseWriter, r *http.Request) {
	name, kind, _ := strings.Cut(r.PathValue("file"), ".")
	parts, err := s.partsFile(r.Context())
	if err != nil || parts == nil || len(parts.Briefs) == 0 {
		s.noParts(w, r, err)
		return
	}
	a, req, sp, _, err := s.specified(r, parts, name == "specification")
	if err != nil {
		s.fail(w, r, err)
		return
	}
	file := fileName(req.Tractor.ID, or(a.Number, a.Brief), name) + "." + kind
	var b bytes.Buffer
	switch {
	case name == "specification" && kind == "pdf":
		if err := report.Specification(&b, req, sp); err != nil {
			s.errorPage(w, r, http.StatusUnprocessableEntity, "This sheet cannot be made.", err.Error())
			return
		}
		sendFile(w, "application/pdf", file, b.Bytes())
		return
	case name == "specification" && kind == "json":
		data, err := sp.JSON()
		if err != nil {
			s.fail(w, r, err)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "no-store")
		w.Write(data)
		return
	}
	scale := 0.0
	if text := r.URL.Query().Get("scale"); text != "" {
		if scale, err = strconv.ParseFloat(text, 64); err != nil || !(1 <= scale && scale <= 200) {
			s.fail(w, r, &badInput{"scale", text, "the second number of a scale, 1 to 200, such as 10 for 1:10"})
			return
		}
	}
	var sc *scene.Scene
	opt := drawing.Options{Scale: scale}
	switch {
	case name == "side":
		sc = drawing.MountingSide(req, sp, opt)
	case name == "plan":
		sc = drawing.MountingPlan(req, sp, opt)
	default:
		for _, f := range drawing.MountingFaces(req, sp) {
			if name == "holes-"+f.Upper {
				sc = drawing.MountingPattern(req, sp, f, opt)
			}
		}
	}
	if sc == nil {
		s.notFound(w, r)
		return
	}
	mime := ""
	switch kind {
	case "svg":
		mime, err = "image/svg+xml", sc.SVG(&b, scene.SVGOptions{Standalone: true})
	case "pdf":
		mime, err = "application/pdf", sc.PDF(&b, scene.PDFOptions{})
	case "png":
		mime, err = "image/png", sc.PNG(&b, scene.PNGOptions{})
	case "dxf":
		mime, err = "image/vnd.dxf", sc.DXF(&b)
	default:
		s.notFound(w, r)
		return
	}
	if err != nil {
		s.errorPage(w, r, http.StatusUnprocessableEntity, "This drawing cannot be made.", err.Error())
		return
	}
	sendFile(w, mime, file, b.Bytes())
}
