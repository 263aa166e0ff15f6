package web

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"underpin/assess"
	"underpin/drawing"
	"underpin/exchange"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

// ask is the question as it stands in the address.
type ask struct {
	Tractor, Trailer, Law, Load string // Load empty: every case
	Lead                        string // mm; empty: as set, or the best
	Choice                      int    // index of the lift state and level
	US                          bool   // US customary units
	Note                        string // that the lead asked for is no position, and which is shown
}

// query writes the question back into an address, with one thing changed.
func (a ask) query(change ...string) string {
	v := url.Values{"tractor": {a.Tractor}, "trailer": {a.Trailer}, "law": {a.Law}}
	if a.Load != "" {
		v.Set("load", a.Load)
	}
	if a.Lead != "" {
		v.Set("lead", a.Lead)
	}
	if a.Choice != 0 {
		v.Set("set", strconv.Itoa(a.Choice))
	}
	if a.US {
		v.Set("units", "us")
	}
	for i := 0; i+1 < len(change); i += 2 {
		if change[i+1] == "" {
			v.Del(change[i])
		} else {
			v.Set(change[i], change[i+1])
		}
	}
	return v.Encode()
}

func (s *site) read(r *http.Request, file *exchange.FleetFile) (ask, *assess.Pairing, *assess.Result, error) {
	q := r.URL.Query()
	a := ask{Tractor: q.Get("tractor"), Trailer: q.Get("trailer"), Law: q.Get("law"), Load: q.Get("load"), Lead: strings.TrimSpace(q.Get("lead")), US: q.Get("units") == "us"}
	f := &file.Fleet
	if a.Tractor == "" && len(f.Tractors) > 0 {
		a.Tractor = f.Tractors[0].ID
	}
	if a.Trailer == "" && len(f.Trailers) > 0 {
		a.Trailer = f.Trailers[0].ID
	}
	if a.Law == "" {
		a.Law = f.Law
	}
	if a.Law == "" {
		a.Law = "eu"
	}
	t, ok := f.Tractor(a.Tractor)
	if !ok {
		return a, nil, nil, &assess.UnknownNameError{Kind: "tractor", Name: a.Tractor, Known: tractorIDs(f.Tractors)}
	}
	trailer, ok := f.Trailer(a.Trailer)
	if !ok {
		return a, nil, nil, &assess.UnknownNameError{Kind: "semi-trailer", Name: a.Trailer, Known: trailerIDs(f.Trailers)}
	}
	book, err := s.law(a.Law)
	if err != nil {
		return a, nil, nil, err
	}
	var names []string
	if a.Load != "" {
		names = []string{a.Load}
	}
	cases, err := assess.Cases(f, trailer, names...)
	if err != nil {
		return a, nil, nil, err
	}
	p := assess.Compile(assess.Combination{Tractor: t, Trailer: trailer, Cases: cases, Law: book, Day: today()})
	if c := q.Get("set"); c != "" {
		a.Choice, err = strconv.Atoi(c)
		if err != nil || a.Choice < 0 || a.Choice >= len(p.Choices()) {
			a.Choice = 0 // another pair was chosen; its states are others
		}
	}
	if all := p.Positions(); a.Lead == "" && q.Get("stop") != "" { // without script the slider sends its number
		if k, err := strconv.Atoi(q.Get("stop")); err == nil && 0 <= k && k < len(all) {
			a.Lead = leadText(all[k])
		}
	}
	if a.Lead == "" && a.Choice == 0 {
		return a, p, p.Assess(assess.AimMargin), nil
	}
	setting := p.Choices()[a.Choice].Setting
	if a.Lead != "" {
		lead, err := readLead(a.Lead)
		if err != nil {
			return a, nil, nil, err
		}
		setting.Lead, _ = p.Nearest(lead)
		if why := p.NoPosition(lead, a.system()); why != "" {
			a.Note = why + " Shown for " + length(float64(setting.Lead), a.system()) + "."
			a.Lead = leadText(setting.Lead)
		}
	}
	return a, p, p.At(setting), nil
}

// leadText writes a lead into an address, in tenths of a millimetre.
func leadText(l unit.Length) string {
	return strconv.FormatFloat(math.Round(l.Millimetres()*10)/10, 'f', -1, 64)
}

// readLead reads a lead in whole millimetres, or with a unit.
func readLead(text string) (unit.Length, error) {
	if v, err := strconv.ParseFloat(text, 64); err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
		return unit.Length(v * 1e-3), nil
	}
	v, err := unit.Parse(text, unit.LengthDim)
	if err != nil {
		return 0, &badInput{"lead", text, "a length, such as 600 or 600mm"}
	}
	return unit.Length(v), nil
}

// A option is one thing to choose from.
type option struct {
	Value, Text string
	Selected    bool
}

// pairingView is what templates/pairing.html shows.
type pairingView struct {
	Ask      ask
	Tractors []option
	Trailers []option
	Laws     []option
	Loads    []option
	Choices  []option

	Held         []holdView // what keeps one of the two out of use
	Shape, State string
	Told         assess.Told
	Law          *rule.Book
	TractorName  string
	TrailerName  string

	Side, Plan, Turning                template.HTML
	SidePhone, PlanPhone, TurningPhone template.HTML
	Slider                             *sliderView
	Best                               []bestView
	Loads2                             []loadsView
	Tight, Rest                        []findingView
	Missing                            []string
	Cautions                           []string
	Assumed                            []string
	Derived                            []derivedView
	Notes                              []string
	CaseShown                          string
}

// sliderView is the slider of the page: it counts positions, which the list gives.
type sliderView struct {
	Stops       string // leads of the positions in mm, the rearmost first
	Labels      string // the same for people, divided by bars
	Last, Value int    // number of the foremost position, and of the one shown
	Rear, Front string // leads at the ends
	Now         string // the lead shown
	Datum       string
	X, Width    float64 // lawful part, in hundredths of the travel, the foremost position first
	Lawful      bool    // false: the part is lawful as far as the position goes, but something else is not
	Unknown     bool    // something is missing: nothing is lawful yet
	Text        string
}

type bestView struct {
	Text, Lead, Query string
	Here              bool
}

type loadsView struct {
	Case, Imposed, Gross string
	Groups               []groupView
}

type groupView struct {
	Name, KG, Limit string
	State, Shape    string
	Bar             barView
}

type derivedView struct{ What, Value, Working, Check string }

func (s *site) pairingPage(w http.ResponseWriter, r *http.Request) {
	file, err := s.fleet(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if len(file.Tractors) == 0 || len(file.Trailers) == 0 {
		s.errorPage(w, r, http.StatusOK, "There is nothing to pair yet.", "It takes at least one tractor and one semi-trailer whose axles are known.")
		return
	}
	a, p, result, err := s.read(r, file)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	view := s.pairingView(file, a, p, result)
	if view.Held, err = s.heldOf(r.Context(), a.Tractor, a.Trailer); err != nil {
		s.fail(w, r, err)
		return
	}
	if q := r.URL.Query(); q.Get("part") == "answer" {
		// The drawings that are folded away are made when they are opened.
		view.drawings(a, p, result, strings.Split(q.Get("open"), ","))
		s.renderPart(w, r, http.StatusOK, "pairing", "answer", "", view)
		return
	}
	view.drawings(a, p, result, []string{"plan", "turning"})
	s.render(w, r, http.StatusOK, "pairing", view.TractorName+" with "+view.TrailerName, view)
}

func (s *site) pairingJSON(w http.ResponseWriter, r *http.Request) {
	file, err := s.fleet(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a, p, result, err := s.read(r, file)
	if err == nil && a.Note != "" { // a program gets an error; a person is shown the nearest
		asked, why, _ := strings.Cut(a.Note, " is no position: ")
		why, _, _ = strings.Cut(why, ".")
		err = &badInput{"lead", asked, "a position of the slider: " + why}
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	writeJSON(w, http.StatusOK, exchange.NewPairAnswer(p, result))
}

func (s *site) pairingView(file *exchange.FleetFile, a ask, p *assess.Pairing, r *assess.Result) *pairingView {
	v := &pairingView{Ask: a, Law: p.Law, Told: p.Tell(r, a.system()), TractorName: p.Tractor.Title(), TrailerName: p.Trailer.Title(),
		Missing: r.Missing, Cautions: r.Cautions, Assumed: r.Assumed}
	v.Shape, v.State = shapeOf(r.Answer), stateOf(r.Answer)
	f := &file.Fleet
	for i := range f.Tractors {
		v.Tractors = append(v.Tractors, option{f.Tractors[i].ID, f.Tractors[i].Title(), f.Tractors[i].ID == a.Tractor})
	}
	for i := range f.Trailers {
		t := &f.Trailers[i]
		v.Trailers = append(v.Trailers, option{t.ID, t.Title(), t.ID == a.Trailer})
	}
	for _, name := range rule.Names() {
		v.Laws = append(v.Laws, option{name, lawShort(name), name == a.Law})
	}
	if !slices.Contains(rule.Names(), a.Law) {
		v.Laws = append(v.Laws, option{a.Law, p.Law.Title, true})
	}
	v.Loads = append(v.Loads, option{"", "every load case", a.Load == ""})
	if every, err := assess.Cases(f, p.Trailer); err == nil {
		for _, c := range every {
			v.Loads = append(v.Loads, option{c.ID, c.Name, c.ID == a.Load})
		}
	}
	if choices := p.Choices(); len(choices) > 1 {
		for i, c := range choices {
			v.Choices = append(v.Choices, option{strconv.Itoa(i), c.Text, i == a.Choice})
		}
	}
	v.slider(a, p, r)
	v.loads(a, r)
	for i := range r.Findings {
		fv := newFindingView(&r.Findings[i], a.system())
		if r.Findings[i].Answer != rule.Fits || (r.Findings[i].Varies && len(v.Tight) < 12) {
			v.Tight = append(v.Tight, fv)
		} else {
			v.Rest = append(v.Rest, fv)
		}
	}
	for _, d := range file.Derived {
		if d.Vehicle == a.Tractor || d.Vehicle == a.Trailer {
			v.Derived = append(v.Derived, derivedView{d.Vehicle + ", " + d.Field, d.Value, d.Working, d.Check})
		}
	}
	for _, n := range []string{p.Tractor.Note, p.Trailer.Note} {
		if n != "" {
			v.Notes = append(v.Notes, n)
		}
	}
	return v
}

// drawings makes the side view, and of the others those that are open.
func (v *pairingView) drawings(a ask, p *assess.Pairing, r *assess.Result, open []string) {
	opt := drawingOptions(a)
	phone := opt
	phone.Phone = true
	opt.ID, phone.ID = "desk", "phone"
	v.Side, v.SidePhone = svg(drawing.Side(p, r, opt), "side", true), svg(drawing.Side(p, r, phone), "side-phone", true)
	if slices.Contains(open, "plan") {
		v.Plan, v.PlanPhone = svg(drawing.Plan(p, r, opt), "plan", false), svg(drawing.Plan(p, r, phone), "plan-phone", false)
	}
	if slices.Contains(open, "turning") {
		v.Turning, v.TurningPhone = svg(drawing.Turning(p, r, opt), "turning", false), svg(drawing.Turning(p, r, phone), "turning-phone", false)
	}
}

func drawingOptions(a ask) drawing.Options {
	return drawing.Options{Case: a.Load, Units: a.system()}
}

func (a ask) system() unit.System {
	if a.US {
		return unit.USCustomary
	}
	return unit.Metric
}

// QueryText is the question as part of an address.
func (a ask) QueryText() template.URL { return template.URL(a.query()) }

// DrawingNames lists the drawings that can be fetched as files.
func (v *pairingView) DrawingNames() []string { return []string{"side", "plan", "turning"} }

// svg writes a drawing into the page. Scene escapes every text that comes from
// data, and the markup is all its own.
func svg(sc *scene.Scene, id string, interactive bool) template.HTML {
	var b bytes.Buffer
	if err := sc.SVG(&b, scene.SVGOptions{ID: id, Interactive: interactive}); err != nil {
		return template.HTML("<p>" + template.HTMLEscapeString("This drawing cannot be made: "+err.Error()) + "</p>")
	}
	return template.HTML(b.String())
}

func (v *pairingView) slider(a ask, p *assess.Pairing, r *assess.Result) {
	if r.Fixed || math.IsNaN(float64(r.Travel[0])) || math.IsNaN(float64(r.Setting.Lead)) {
		return
	}
	lo, hi := float64(r.Travel[0])*1e3, float64(r.Travel[1])*1e3
	say := func(l unit.Length) string { return length(float64(l), a.system()) }
	all := p.Positions()
	if len(all) == 0 {
		return
	}
	sv := &sliderView{Last: len(all) - 1, Rear: say(all[0]), Front: say(all[len(all)-1]), Now: say(r.Setting.Lead), Datum: r.LeadDatum}
	var stops, labels []string
	for k, lead := range all {
		stops, labels = append(stops, leadText(lead)), append(labels, say(lead))
		if math.Abs(float64(lead-r.Setting.Lead)) < math.Abs(float64(all[sv.Value]-r.Setting.Lead)) {
			sv.Value = k
		}
	}
	sv.Stops, sv.Labels = strings.Join(stops, " "), strings.Join(labels, "|")
	part := exchange.SliderRange(r)
	sv.Lawful = part != nil
	switch {
	case sv.Lawful:
		sv.Text = fmt.Sprintf("Lawful: %s to %s.", length(float64(part[0])/1e3, a.system()), length(float64(part[1])/1e3, a.system()))
	case r.Answer == rule.CannotTell:
		sv.Unknown, sv.Text = true, "Lawful range: not known while something is missing."
		if n := len(r.Possible); n > 0 {
			part = &[2]int{int(math.Ceil(assess.Whole(float64(r.Possible[0][0]) * 1e3))), int(math.Floor(assess.Whole(float64(r.Possible[n-1][1]) * 1e3)))}
		}
	case r.LeadOnly != nil:
		part = &[2]int{int(math.Ceil(assess.Whole(float64(r.LeadOnly[0]) * 1e3))), int(math.Floor(assess.Whole(float64(r.LeadOnly[1]) * 1e3)))}
		sv.Text = fmt.Sprintf("No position is lawful; as far as the position goes, %s to %s.", length(float64(part[0])/1e3, a.system()), length(float64(part[1])/1e3, a.system()))
	default:
		sv.Text = "No position is lawful."
	}
	if part != nil && hi > lo {
		sv.X, sv.Width = (hi-float64(part[1]))/(hi-lo)*100, math.Max(0.5, float64(part[1]-part[0])/(hi-lo)*100)
	}
	v.Slider = sv
	for _, aim := range assess.Aims {
		lead, ok := r.Best[aim.Aim]
		if !ok {
			continue
		}
		mm := leadText(lead)
		v.Best = append(v.Best, bestView{aim.Text, length(float64(lead), a.system()), "/pairing?" + a.query("lead", mm), math.Abs(float64(lead-r.Setting.Lead)) < 0.5e-3})
	}
}

var groupNames = map[string]string{"front": "front axle", "rear": "tractor rear", "bogie": "semi-trailer"}

func (v *pairingView) loads(a ask, r *assess.Result) {
	for _, l := range r.Loads {
		lv := loadsView{Case: l.CaseName, Imposed: mass(l.Imposed, a.system()), Gross: mass(l.Gross, a.system())}
		for _, g := range l.Groups {
			gv := groupView{Name: groupNames[g.ID], KG: mass(g.KG, a.system()), Limit: mass(math.Floor(g.Limit+1e-6), a.system())}
			f := assess.Finding{}
			f.Value, f.Limit, f.Margin, f.Sense, f.Binding = g.KG, g.Limit, g.Limit-g.KG, rule.AtMost, true
			f.Answer = rule.CannotTell
			switch {
			case f.Margin >= -1e-6:
				f.Answer = rule.Fits
			case f.Margin < 0:
				f.Answer = rule.DoesNotFit
			}
			gv.Bar, gv.State, gv.Shape = newBar(&f), stateOf(f.Answer), shapeOf(f.Answer)
			lv.Groups = append(lv.Groups, gv)
		}
		v.Loads2 = append(v.Loads2, lv)
	}
}

// drawingFile serves a drawing by itself: side.svg, plan.pdf, turning.dxf.
func (s *site) drawingFile(w http.ResponseWriter, r *http.Request) {
	name, kind, _ := strings.Cut(r.PathValue("file"), ".")
	file, err := s.fleet(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a, p, result, err := s.read(r, file)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	opt := drawingOptions(a)
	var sc *scene.Scene
	switch name {
	case "side":
		sc = drawing.Side(p, result, opt)
	case "plan":
		sc = drawing.Plan(p, result, opt)
	case "turning":
		sc = drawing.Turning(p, result, opt)
	default:
		s.notFound(w, r)
		return
	}
	var b bytes.Buffer
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
	w.Header().Set("Content-Type", mime)
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", a.Tractor+"-"+a.Trailer+"-"+name+"."+kind))
	w.Write(b.Bytes())
}
