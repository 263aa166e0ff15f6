package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"

	"underpin/fleet"
	"underpin/record"
)

// partPageView is what templates/part.html shows.
type partPageView struct {
	*assetView
	Type, TypeHref string
	Sat            []satView
	Ran            runView
	Partners       []partnerView
	PartnerWord    string
	Notices        []noticeLine
}

type satView struct {
	Title, Href, Place, From, To, Ended string
	Open                                bool
	Ran                                 runView
}

type partnerView struct {
	Title, Href, Since, Last, Vehicle, VehicleHref string
	Times                                          int
	Now                                            bool
}

// partWord is a kind of part in words.
func partWord(part string) string {
	for _, o := range partKinds {
		if o.Value == part {
			return o.Text
		}
	}
	return spaced(part)
}

func partTitle(p *record.Part) string {
	if p.Serial == "" {
		return partWord(p.PartAdded.Part) + " without serial"
	}
	return partWord(p.PartAdded.Part) + " " + p.Serial
}

func (s *site) partPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.PartAsset)
	p, err := s.Register.PartPage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Part
	ask := []record.Asset{x.Stored, x.Depot, a}
	for _, f := range p.Sat {
		ask = append(ask, f.Vehicle)
		for _, span := range f.Ran.Spans {
			ask = append(ask, span.By)
		}
	}
	names, err := s.titles(ctx, ask...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	types, err := s.typeOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := &partPageView{assetView: common, Ran: newRun(&p.Ran, names), PartnerWord: "Kingpins that it held"}
	v.Kind, v.Title = capital(partWord(x.PartAdded.Part)), capital(partTitle(x))
	v.Problems = s.problems(x.Problems, names)
	v.Sheet = partSpec(types, depots).sheet(partTyped(x), v.system())
	v.documents(x.Documents)
	if x.PartAdded.Part == record.Kingpin {
		v.PartnerWord = "Couplings that held it"
	}
	if p.Type != nil {
		v.Type, v.TypeHref = p.Type.TypeAdded.Name, hrefOf(p.Type.Asset)
	}
	on := x.On()
	switch {
	case x.Added == 0:
		v.state("○", "unknown", "Not in the register: the record that added it was taken back")
	case x.Scrapped != 0:
		v.state("✕", "fails", "Scrapped on "+dayOf(x.Scrapped))
	case on != nil:
		v.state("●", "holds", "Fitted to "+nameOf(names, on.Vehicle)+" since "+dayOf(on.From))
	case x.Stored != "":
		v.state("●", "holds", "In store at "+nameOf(names, x.Stored))
	default:
		v.state("○", "unknown", "In store, nobody entered where")
	}
	v.Lead = partLead(p)
	for _, f := range p.Sat {
		v.Sat = append(v.Sat, satView{f.Title, hrefOf(f.Vehicle), spaced(f.Place), dayOf(f.From), dayOf(f.To), f.Ended, f.Open(), newRun(&f.Ran, names)})
	}
	for _, m := range p.Partners {
		v.Partners = append(v.Partners, partnerView{nameOf(p.Titles, m.Part), hrefOf(m.Part), dayOf(m.Since), dayOf(m.Last), nameOf(p.Titles, m.Vehicle), hrefOf(m.Vehicle), m.Times, m.Last == 0})
	}
	for i := range p.Notices {
		v.Notices = append(v.Notices, newNoticeLine(&p.Notices[i], names))
	}
	if x.Added != 0 && x.Scrapped == 0 {
		v.offer(ctx, fleet.Fit, "/edit", "Edit")
		if on == nil {
			v.offer(ctx, fleet.Fit, "/fit", "Fit it")
			v.offer(ctx, fleet.Fit, "/scrap", "Scrap")
		} else {
			v.offer(ctx, fleet.Fit, "/remove", "Remove it")
		}
	}
	if may(ctx, fleet.Report) && x.Added != 0 {
		v.Attach = hrefOf(a) + "/attach"
	}
	s.render(w, r, http.StatusOK, "part", v.Title, v)
}

func partLead(p *fleet.PartPage) string {
	x := p.Part
	var said []string
	if p.Type == nil {
		said = append(said, "Its type is not known: intervals, limits and torques are missing until a type record is chosen")
	} else {
		said = append(said, "It is of the type "+p.Type.TypeAdded.Name)
	}
	if len(p.Sat) > 0 {
		least := ""
		if !p.Ran.Whole() {
			least = "at least "
		}
		said = append(said, "it ran "+least+kilometres(p.Ran.Known)+" since it was first fitted")
	}
	if x.Serial == "" {
		said = append(said, "its serial is not known, so every notice on such parts finds it")
	}
	return strings.Join(said, "; ") + "."
}

// partTyped is what stands in the form of a part.
func partTyped(x *record.Part) typed {
	t := typed{}
	showFields(partSpec(nil, nil).fields, flat(x.PartAdded), "", t)
	return t
}

// detailsOf reads what was typed as the details of an asset.
func detailsOf[T any](values map[string]json.RawMessage) (T, error) {
	var d T
	err := json.Unmarshal(jsonOf(values), &d)
	return d, err
}

func (s *site) partForm(w http.ResponseWriter, r *http.Request, fill func(sp spec) *action) {
	types, err := s.typeOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, fill(partSpec(types, depots)))
}

func (s *site) addPart(w http.ResponseWriter, r *http.Request) {
	s.partForm(w, r, func(sp spec) *action {
		return &action{
			head: "Add a part", save: "Add it", back: "/parts",
			lead: "A coupling or kingpin has a life of its own: it is fitted, removed and fitted elsewhere, and its history goes with it. What is unknown is left empty.",
			spec: sp, typed: typed{"part": r.FormValue("as"), "type": r.FormValue("type")},
			do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
				d, err := detailsOf[record.PartAdded](in.values)
				if err != nil {
					return nil, err
				}
				return s.Register.Do(ctx, &fleet.AddPart{Meta: in.Meta, Details: d})
			},
		}
	})
}

func (s *site) editPart(w http.ResponseWriter, r *http.Request) {
	p, ok := s.partFor(w, r)
	if !ok {
		return
	}
	s.partForm(w, r, func(sp spec) *action {
		return &action{
			head: "Edit " + partTitle(p.Part), save: "Save", back: hrefOf(p.Part.Asset), reason: "Why",
			lead: "What is left empty is unknown from then on. What was there before stays in the history.",
			spec: sp, typed: partTyped(p.Part), version: p.Version,
			do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
				d, err := detailsOf[record.PartAdded](in.values)
				if err != nil {
					return nil, err
				}
				return s.Register.Do(ctx, &fleet.ChangePart{Meta: in.Meta, Asset: p.Part.Asset, Version: in.version, Details: d})
			},
		}
	})
}
