package web

import (
	"context"
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"strings"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// vehicleView is what templates/vehicle.html shows.
type vehicleView struct {
	*assetView
	Drawing, Phone template.HTML
	Lacking        []wrongLink
	Left           []string // why the pairing page does not take it
	Fitted         []sittingView
	Gone           []sittingView
	Periods        []periodView
	Ran            runView
	Pace           string
	Doubts         []doubtView
	Notices        []noticeLine
	Pair           string // address of the pairing page
	Tractor        bool
	Mounting       *mountingBlock // of a tractor
}

type sittingView struct {
	Title, Href, Place, From, To string
	Ran                          runView
	Ended                        string
	Remove                       string
}

type periodView struct {
	Other, Href, From, To, Coupled, Dropped string
	Open                                    bool
}

type doubtView struct {
	Meter, At, Reading, Why, Proposed string
	Judge                             string // address of the form, for those who may
}

// wasCalled is the fleet number of a vehicle whose addition was taken back, as the
// records have it.
func (s *site) wasCalled(ctx context.Context, a record.Asset) (string, error) {
	h, err := s.Register.History(ctx, a, 2, 1)
	if err != nil {
		return "", err
	}
	for i := range h.Events {
		if b, is := h.Events[i].Said.(record.VehicleAdded); is {
			if number := textOf(b.Fields, "id"); number != "" {
				return number, nil
			}
		}
	}
	return a.Name(), nil
}

var vehicleWords = map[string]string{record.Tractor: "Tractor", record.SemiTrailer: "Semi-trailer", record.Dolly: "Dolly"}

func (s *site) vehiclePage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.VehicleAsset)
	p, err := s.Register.VehiclePage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Vehicle
	kind := x.VehicleAdded.Vehicle
	ask := []record.Asset{x.Depot}
	for _, q := range p.Periods {
		ask = append(ask, q.Towed, q.By)
	}
	for _, n := range p.Notices {
		ask = append(ask, n.Part)
	}
	names, err := s.titles(ctx, ask...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	sp, t := vehicleSpec(kind, depots), vehicleTyped(x)
	v := &vehicleView{assetView: common, Tractor: kind == record.Tractor, Ran: newRun(&p.Ran, names)}
	v.Kind, v.Title = vehicleWords[kind], vehicleTitle(x)
	v.Problems = s.problems(x.Problems, names)
	v.Sheet = sp.sheet(t.placed(kind), v.system())
	v.Drawing, v.Phone = outlineOf(kind, t, v.Title, v.system())
	v.documents(x.Documents)
	switch {
	case x.Added == 0:
		v.state("○", "unknown", "Not in the register: the record that added it was taken back")
		if v.Title, err = s.wasCalled(ctx, a); err != nil {
			s.fail(w, r, err)
			return
		}
		p.Lacking = nil // there is nothing that could be wrong
	case x.Scrapped != 0:
		v.state("✕", "fails", "Scrapped on "+dayOf(x.Scrapped))
	default:
		v.state("●", "holds", "In use")
	}
	if err := s.upkeepBlock(ctx, v.assetView, x); err != nil {
		s.fail(w, r, err)
		return
	}
	v.Lead = vehicleLead(p, names)
	for _, l := range p.Lacking {
		_, words := findField(sp.fields, l.Where)
		if words == "" {
			words = l.Where
		}
		v.Lacking = append(v.Lacking, wrongLink{Where: words, Text: wrong{l.Where, l.Found, l.Expected}.String()})
	}
	for i := range p.Fitted {
		v.Fitted = append(v.Fitted, newSitting(ctx, &p.Fitted[i], names))
	}
	for i := range p.Gone {
		v.Gone = append(v.Gone, newSitting(ctx, &p.Gone[i], names))
	}
	for _, q := range p.Periods {
		other := q.By
		if other == a {
			other = q.Towed
		}
		v.Periods = append(v.Periods, periodView{nameOf(names, other), hrefOf(other), when(q.From), when(q.To), q.Coupled, q.Dropped, q.To == 0})
	}
	if p.Pace != nil {
		v.Pace = paceWords(p.Pace)
	}
	for _, q := range p.Doubts {
		d := doubtView{Meter: metersNames[q.Meter], At: when(q.At), Reading: metresText(&q.Metres), Why: q.Why}
		if q.Proposed != nil {
			d.Proposed = metresText(q.Proposed)
		}
		if may(ctx, fleet.Fit) {
			q2 := url.Values{"meter": {q.Meter}, "at": {q.At.String()}, "metres": {i64(q.Metres)}}
			if q.Proposed != nil {
				q2.Set("proposed", i64(*q.Proposed))
			}
			d.Judge = hrefOf(a) + "/judge?" + q2.Encode()
		}
		v.Doubts = append(v.Doubts, d)
	}
	for i := range p.Notices {
		v.Notices = append(v.Notices, newNoticeLine(&p.Notices[i], names))
	}
	if kind == record.Tractor {
		v.Mounting = newMountingBlock(ctx, x)
	}
	if x.Added != 0 && x.Scrapped == 0 {
		v.offer(ctx, fleet.Design, "/edit", "Edit")
		if v.Left, err = s.left(ctx, x.Number()); err != nil {
			s.fail(w, r, err)
			return
		}
		switch {
		case len(v.Left) > 0:
		case kind == record.Tractor:
			v.Pair = "/pairing?" + url.Values{"tractor": {x.Number()}}.Encode()
		case kind == record.SemiTrailer:
			v.Pair = "/pairing?" + url.Values{"trailer": {x.Number()}}.Encode()
		}
		v.offer(ctx, fleet.Report, "/reading", "Enter a reading")
		v.offer(ctx, fleet.Fit, "/fit", "Fit a part")
		if kind != record.Tractor {
			if len(p.Periods) > 0 && p.Periods[0].Towed == a && p.Periods[0].To == 0 {
				v.offer(ctx, fleet.Couples, "/uncouple", "Uncouple")
			} else {
				v.offer(ctx, fleet.Couples, "/couple", "Couple")
			}
		}
		v.offer(ctx, fleet.Fit, "/meter", "Meter replaced")
		v.offer(ctx, fleet.Design, "/scrap", "Scrap")
	}
	if may(ctx, fleet.Report) && x.Added != 0 {
		v.Attach = hrefOf(a) + "/attach"
	}
	s.render(w, r, http.StatusOK, "vehicle", v.Title, v)
}

// left tells why a vehicle cannot be paired as it stands, if it cannot.
func (s *site) left(ctx context.Context, number string) ([]string, error) {
	now, err := s.Register.FleetOf(ctx, number)
	if err != nil {
		return nil, err
	}
	var why []string
	for _, l := range now.Left {
		if l.Number == number {
			why = append(why, capital(l.Why)+".")
		}
	}
	return why, nil
}

func vehicleTitle(x *record.Vehicle) string {
	if name := x.Name(); name != "" {
		return name
	}
	if number := x.Number(); number != "" {
		return number
	}
	return x.Asset.Name()
}

// vehicleLead says in a sentence what a person wants to know of the vehicle first.
func vehicleLead(p *fleet.VehiclePage, names map[record.Asset]string) string {
	x := p.Vehicle
	var said []string
	if x.Depot != "" {
		said = append(said, "belongs to "+nameOf(names, x.Depot))
	}
	if len(p.Periods) > 0 && p.Periods[0].To == 0 {
		q := p.Periods[0]
		if q.Towed == x.Asset {
			said = append(said, "is coupled to "+nameOf(names, q.By)+" since "+when(q.From))
		} else {
			said = append(said, "pulls "+nameOf(names, q.Towed)+" since "+when(q.From))
		}
	}
	switch len(p.Fitted) {
	case 0:
		said = append(said, "has no part of the register fitted")
	default:
		var parts []string
		for _, f := range p.Fitted {
			parts = append(parts, f.Title)
		}
		said = append(said, "carries "+strings.Join(parts, ", "))
	}
	lead := "It " + strings.Join(said, "; it ") + "."
	open := 0
	for _, n := range p.Notices {
		if n.Work == nil {
			open++
		}
	}
	if open > 0 {
		lead += " " + counted(open, "safety notice concerns", "safety notices concern") + " it: see below."
	}
	return lead
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}

func paceWords(p *fleet.Pace) string {
	perDay := float64(p.PerDay) / 1000
	text := unit.Digits(perDay, 0) + " km a day"
	if sd := float64(p.SD) / 1000; sd > 0 {
		text += ", give or take " + unit.Digits(sd, 0) + " km (one standard deviation)"
	}
	return text + ", by its " + metersNames[p.Meter]
}

func (s *site) problems(all []string, names map[record.Asset]string) []string {
	var said []string
	for _, p := range all {
		said = append(said, capital(withTitles(p, names))+".")
	}
	return said
}

// withTitles puts what people call things in the place of their names in records.
func withTitles(text string, titles map[record.Asset]string) string {
	for a, title := range titles {
		text = strings.ReplaceAll(text, string(a), title)
	}
	return text
}

func newSitting(ctx context.Context, f *fleet.Sitting, names map[record.Asset]string) sittingView {
	v := sittingView{Title: f.Title, Href: hrefOf(f.Part), Place: spaced(f.Place), From: dayOf(f.From), To: dayOf(f.To), Ran: newRun(&f.Ran, names), Ended: f.Ended}
	if f.Open() && may(ctx, fleet.Fit) {
		v.Remove = hrefOf(f.Part) + "/remove"
	}
	return v
}

// vehicleTyped is what stands in the form of a vehicle.
func vehicleTyped(x *record.Vehicle) typed {
	t := typed{}
	showFields(vehicleFields(x.VehicleAdded.Vehicle), flat(x.VehicleAdded), "", t)
	return t
}

// placed gives each axle its place and its spacing, of which one is typed and the
// other follows.
func (t typed) placed(kind string) typed {
	all := maps.Clone(t)
	known, at := kind == record.Tractor, 0.0
	for i := range t.rows("axle") {
		path := fmt.Sprintf("axle[%d].", i)
		here, errAt := unit.Parse(t[path+"at"], unit.LengthDim)
		gap, errGap := unit.Parse(t[path+"gap"], unit.LengthDim)
		switch {
		case i == 0 && kind == record.Tractor:
			here, errAt = 0, nil
		case errAt != nil && errGap == nil && known && i > 0:
			here, errAt = at+gap, nil
		}
		if errAt == nil {
			all[path+"at"] = unit.Plain(here, unit.MM)
			if errGap != nil && known && i > 0 {
				all[path+"gap"] = unit.Plain(here-at, unit.MM)
			}
		}
		known, at = errAt == nil, here
	}
	if _, typed := all["axle[0].gap"]; !typed && t.rows("axle") > 0 {
		all["axle[0].gap"] = unit.Unknown // there is none before it
	}
	return all
}

// vehicleDetails makes the details that were typed.
func vehicleDetails(kind string, values map[string]json.RawMessage) record.VehicleAdded {
	d := record.VehicleAdded{Vehicle: kind, Fields: record.Fields{}}
	maps.Copy(d.Fields, values)
	for key, to := range map[string]*string{"registration": &d.Registration, "vin": &d.VIN, "depot": (*string)(&d.Depot)} {
		_ = json.Unmarshal(values[key], to) // a text that writeFields wrote, or nothing
		delete(d.Fields, key)
	}
	return d
}

func (s *site) addVehicle(w http.ResponseWriter, r *http.Request) {
	kind := r.FormValue("as")
	if vehicleWords[kind] == "" {
		s.errorPage(w, r, http.StatusBadRequest, "What is to be added?", "Expected a tractor, a semi-trailer or a dolly.")
		return
	}
	depots, err := s.depotOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	start := typed{}
	if kind == record.Tractor { // a front axle it has
		start["axle[0].kind"], start["axle[1].kind"] = "steer", "drive"
	}
	s.act(w, r, &action{
		head: "Add a " + lower(vehicleWords[kind]), save: "Add it", back: "/vehicles?as=" + kind,
		lead: "Only the fleet number must be known. What is unknown is left empty: it stays unknown, and no answer is built on a guess. Metric and US units may be mixed; each figure carries its unit.",
		spec: vehicleSpec(kind, depots), typed: start,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.AddVehicle{Meta: in.Meta, Details: vehicleDetails(kind, in.values)})
		},
	})
}

func (s *site) editVehicle(w http.ResponseWriter, r *http.Request) {
	a := assetIn(r, record.VehicleAsset)
	p, err := s.Register.VehiclePage(r.Context(), a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	kind := p.Vehicle.VehicleAdded.Vehicle
	s.act(w, r, &action{
		head: "Edit " + vehicleTitle(p.Vehicle), save: "Save", back: hrefOf(a), reason: "Why",
		lead: "What is left empty is unknown from then on. What was there before stays in the history.",
		spec: vehicleSpec(kind, depots), typed: vehicleTyped(p.Vehicle), version: p.Version,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ChangeVehicle{Meta: in.Meta, Asset: a, Version: in.version, Details: vehicleDetails(kind, in.values)})
		},
	})
}
