package web

import (
	"net/http"
	"strings"

	"underpin/fleet"
	"underpin/maintenance"
	"underpin/record"
	"underpin/report"
)

// outcomePage is what templates/outcome.html shows.
type outcomePage struct {
	Done, Vehicle, Href, Kind string
	Shape, State, Word, Lead  string
	At, Who                   string
	Reasons, Missing, MustNot []string
	Next                      string
	Held                      []record.HeldValue
	Marks                     map[string]string
	Partners                  []linkView
	Items                     []orderItem
	Others                    []string
	Torques                   []maintenance.TorqueRow
	Open                      []string
	Return, Sign, Certificate string
	Again                     string // address of the gauge sheet
	Newer                     string
	Returned                  string
}

type orderItem struct {
	Name              string
	Blocking          bool
	Because, Cautions []string
	Parts, Remeasure  []string
	Latest            string
	Steps             []orderStep
}

type orderStep struct {
	Key, Text, Signed string
	No, Asks          bool // signed as not so; may be answered with no
}

func texts(all []maintenance.Text) (out []string) {
	for _, t := range all {
		out = append(out, t.English)
	}
	return out
}

func messages(all []maintenance.Message) (out []string) {
	for _, m := range all {
		out = append(out, m.String())
	}
	return out
}

func (s *site) outcomePage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.VehicleAsset)
	p, err := s.Register.Outcome(ctx, a, record.ID(r.PathValue("outcome")))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	here := outcomeHref(a, p.ID)
	v := &outcomePage{Done: doneWords[r.FormValue("done")], Vehicle: vehicleTitle(p.Vehicle), Href: hrefOf(a), Kind: "Inspection of " + dayOf(p.At), At: when(p.At), Who: p.Who.Name,
		Shape: verdictShapes[p.Verdict][0], State: verdictShapes[p.Verdict][1], Word: verdictWords[p.Verdict],
		Reasons: p.Reasons, Missing: p.Missing, MustNot: texts(p.Now.MustNot), Held: p.Held, Marks: evidenceWords, Certificate: here + "/certificate", Torques: p.Order.Torques}
	switch p.Verdict {
	case record.VerdictDoNotUse:
		v.Lead = "Nobody drives it until the work below is signed, it was gauged again and it is returned to service."
	case record.VerdictCannotTell:
		v.Lead = "Something is missing, and what is missing is never a pass. Until it is there it counts as not in use."
	case record.VerdictRepair:
		v.Lead = "It may run until the repair"
		if p.Until != "" {
			v.Lead += ", until " + p.Until
		}
		if p.Within != nil {
			v.Lead += " or for " + metresText(p.Within) + ", whichever comes first"
		}
		v.Lead += "."
	default:
		v.Lead = "All of it was looked at and measured, and is within limits that certify."
	}
	for _, m := range p.Met {
		v.Partners = append(v.Partners, linkView{hrefOf(m.Part), nameOf(p.Titles, m.Part)})
	}
	if may(ctx, fleet.Fit) {
		v.Sign = here + "/sign"
		v.Again = hrefOf(a) + "/gauge"
		if p.Returned == "" && p.Verdict == record.VerdictDoNotUse {
			v.Return = hrefOf(a) + "/return"
		}
	}
	for _, it := range p.Order.Items {
		o := orderItem{Name: capital(it.Work.Name.English), Blocking: it.Blocking, Because: messages(it.Because), Cautions: texts(it.Work.Cautions), Parts: texts(it.Work.Parts)}
		for _, key := range it.Remeasure {
			o.Remeasure = append(o.Remeasure, measureWord(key))
		}
		if it.Latest != nil {
			o.Latest = it.Latest.On.String() + " or " + kilometres(it.Latest.Distance) + " (" + it.Latest.Source + ")"
		}
		for _, st := range it.Steps {
			step := orderStep{Key: st.Key, Text: st.Text.English, Asks: st.Kind == maintenance.StepPrerequisite}
			if g, signed := p.Signed[st.Key]; signed {
				step.Signed, step.No = g.Who.Name+", "+when(g.At), g.No
			}
			o.Steps = append(o.Steps, step)
		}
		v.Items = append(v.Items, o)
	}
	for _, o := range p.Others {
		v.Others = append(v.Others, capital(o.Name.English))
	}
	if p.Returned == "" && (len(p.Order.Items) > 0 || p.Blocks()) {
		v.Open = messages(p.Return.Open)
	}
	if p.Returned != "" {
		v.Returned = "/records/" + string(p.Returned)
	}
	if last := p.Vehicle.Upkeep.Last(); last.ID != p.ID {
		v.Newer = outcomeHref(a, last.ID)
	}
	s.render(w, r, http.StatusOK, "outcome", v.Vehicle+": "+v.Word, v)
}

// signWork signs one step from the page of an outcome.
func (s *site) signWork(w http.ResponseWriter, r *http.Request) {
	if err := s.parse(w, r); err != nil {
		s.fail(w, r, err)
		return
	}
	a, id := assetIn(r, record.VehicleAsset), record.ID(r.PathValue("outcome"))
	step := r.PostFormValue("step")
	if _, err := s.Register.Do(r.Context(), &fleet.SignWork{Vehicle: a, Outcome: id, Step: step, No: r.PostFormValue("no") != ""}); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, outcomeHref(a, id)+"?done=entered#"+slugOf(step), http.StatusSeeOther)
}

// certificatePage is what templates/certificate.html shows: a certificate, or the
// question for its code.
type certificatePage struct {
	Asked              string
	Wrong              string
	Sheet              *report.Certificate
	Shape, State, Word string
	Proof              string
	Href, PDF          string
	Check              bool // it was asked by its code
}

// sheetOf makes a certificate of what the register holds.
func (s *site) certificateOf(c *fleet.Certificate, origin string) *report.Certificate {
	o := c.Outcome
	x := &report.Certificate{Vehicle: vehicleTitle(c.Vehicle), Number: c.Vehicle.Number(), Registration: c.Vehicle.Registration, Verdict: verdictWords[o.Verdict], On: when(o.At), By: o.Who.Name,
		Reasons: o.Reasons, Missing: o.Missing, Code: c.Code, Digest: c.Digest.String(), Chain: string(c.Record.Asset) + ", record " + i64(c.Record.Seq) + " of " + i64(c.Chain), Laws: strings.Join(o.Laws, ", "), Program: o.Program,
		Check: origin + "/certificate"}
	if o.Until != "" {
		x.Until = "at the latest on " + o.Until + " or after " + metresText(o.Within)
	}
	for _, f := range c.Sheets {
		line := when(f.At) + ": " + halvesWord(f.Halves) + ", measured by " + f.Measured
		if f.Workshop != "" {
			line += " of " + f.Workshop + ", accepted by " + f.Accepted
		}
		gauge := "gauge not named"
		if f.Instrument.ID != "" {
			gauge = "gauge " + f.Instrument.ID
		}
		if f.Instrument.Calibrated != "" {
			gauge += ", calibrated until " + f.Instrument.Calibrated
		}
		x.Sheets = append(x.Sheets, line+"; "+gauge)
	}
	for _, h := range o.Held {
		row := report.CertificateRow{Name: capital(h.Name), Value: or(h.Value, "not measured"), Holds: h.Holds}
		for i := range h.Limits {
			l := &h.Limits[i]
			row.Limits = append(row.Limits, l.Layer+": "+limitText(l)+". "+l.Source+"; "+or(evidenceWords[l.Evidence], l.Evidence))
		}
		x.Rows = append(x.Rows, row)
	}
	if c.Returned != nil {
		x.Returned = when(c.Returned.At) + ", " + c.Returned.Who.Name
	}
	return x
}

func (s *site) certificate(w http.ResponseWriter, r *http.Request) {
	a, id := assetIn(r, record.VehicleAsset), record.ID(r.PathValue("outcome"))
	c, err := s.Register.CertificateOf(r.Context(), a, id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.showCertificate(w, r, c, false)
}

func (s *site) certificatePDF(w http.ResponseWriter, r *http.Request) {
	a, id := assetIn(r, record.VehicleAsset), record.ID(r.PathValue("outcome"))
	c, err := s.Register.CertificateOf(r.Context(), a, id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if c.Broken != "" || c.Voided {
		s.errorPage(w, r, http.StatusConflict, "There is no certificate to print.", or(capital(c.Broken)+".", "The outcome was taken back."))
		return
	}
	data, err := s.certificateOf(c, s.origin(r)).PDF()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="certificate-`+slugOf(c.Vehicle.Number())+`.pdf"`)
	_, _ = w.Write(data)
}

func (s *site) showCertificate(w http.ResponseWriter, r *http.Request, c *fleet.Certificate, asked bool) {
	v := certificatePage{Asked: c.Code, Check: asked, Sheet: s.certificateOf(c, s.origin(r)), Href: outcomeHref(c.Record.Asset, c.Record.ID), Shape: "●", State: "holds", Word: "The register holds it."}
	v.Proof = "All " + i64(c.Chain) + " records of its chain were read and reckoned again: each follows the one before, and this one is among them as it was entered."
	switch {
	case c.Broken != "":
		v.Shape, v.State, v.Word, v.Proof = "✕", "fails", "The register does not hold it.", capital(c.Broken)+"."
	case c.Voided:
		v.Shape, v.State, v.Word = "✕", "fails", "It was taken back."
		v.Proof = "The record stands in the chain as it was entered, and a later one voids it: it certifies nothing."
	default:
		v.PDF = v.Href + "/certificate.pdf"
	}
	s.render(w, r, http.StatusOK, "certificate", "Certificate", v)
}

// checkCertificate takes a code and says whether the register's chain holds it.
func (s *site) checkCertificate(w http.ResponseWriter, r *http.Request) {
	code := strings.TrimSpace(r.FormValue("code"))
	if code == "" {
		s.render(w, r, http.StatusOK, "certificate", "Check a certificate", certificatePage{Check: true})
		return
	}
	c, err := s.Register.CheckCertificate(r.Context(), code)
	switch err.(type) {
	case nil:
		s.showCertificate(w, r, c, true)
	case *fleet.Invalid, *fleet.NotFound:
		s.render(w, r, http.StatusNotFound, "certificate", "Check a certificate", certificatePage{Check: true, Asked: code, Wrong: capital(err.Error()) + ". Compare it letter by letter with the paper; if it is right, this register never gave that certificate."})
	default:
		s.fail(w, r, err)
	}
}

// upkeepRoutes are the addresses about upkeep.
func (s *site) upkeepRoutes() (pages, forms []route) {
	pages = []route{
		{"GET /due", fleet.Read, s.duePage},
		{"GET /certificate", fleet.Read, s.checkCertificate},
		{"GET /vehicles/{id}/outcomes/{outcome}", fleet.Read, s.outcomePage},
		{"GET /vehicles/{id}/outcomes/{outcome}/certificate", fleet.Read, s.certificate},
		{"GET /vehicles/{id}/outcomes/{outcome}/certificate.pdf", fleet.Read, s.certificatePDF},
		{"POST /vehicles/{id}/outcomes/{outcome}/sign", fleet.Fit, s.signWork},
	}
	forms = []route{
		{"/vehicles/{id}/gauge", fleet.Fit, s.gauge},
		{"/vehicles/{id}/done", fleet.Fit, s.doTask},
		{"/vehicles/{id}/return", fleet.Fit, s.returnToService},
		{"/vehicles/{id}/event", fleet.Report, s.blockUse},
		{"/vehicles/{id}/events/{event}/clear", fleet.Fit, s.clearUse},
	}
	return pages, forms
}
