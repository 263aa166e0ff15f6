package web

import (
	"context"
	"net/http"

	"underpin/fleet"
	"underpin/record"
)

// typePageView is what templates/type.html shows.
type typePageView struct {
	*assetView
	Parts []lineView
}

func (s *site) typePage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.TypeAsset)
	p, err := s.Register.TypePage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Type
	v := &typePageView{assetView: common}
	v.Kind, v.Title = "Type of "+partWord(x.Part), x.TypeAdded.Name
	v.Sheet = typeSpec().sheet(typeTyped(x), v.system())
	v.documents(x.Documents)
	if x.Added == 0 {
		v.state("○", "unknown", "Not in the register: the record that added it was taken back")
	} else {
		v.state("●", "holds", counted(len(p.Parts), "part of this type", "parts of this type"))
	}
	v.Lead = "It holds " + counted(len(x.Dimensions), "dimension", "dimensions") + ", " + counted(len(x.Intervals), "interval", "intervals") + " and " + counted(len(x.Torques), "torque", "torques") + "."
	if x.Source.Document != "" {
		v.Lead += " Copied from " + x.Source.Document + ", edition " + orNone(x.Source.Edition) + "."
	}
	if v.Parts, err = s.lines(ctx, p.Parts); err != nil {
		s.fail(w, r, err)
		return
	}
	if x.Added != 0 {
		v.offer(ctx, fleet.Design, "/edit", "Edit")
		if may(ctx, fleet.Fit) {
			v.Actions = append(v.Actions, linkView{withQuery("/parts/new", "as", x.Part, "type", string(a)), "Add a part of this type"})
		}
		if may(ctx, fleet.Design) {
			v.Attach = hrefOf(a) + "/attach"
		}
	}
	s.render(w, r, http.StatusOK, "type", v.Title, v)
}

func typeTyped(x *record.Type) typed {
	t := typed{}
	showFields(typeSpec().fields, flat(x.TypeAdded), "", t)
	return t
}

func (s *site) addType(w http.ResponseWriter, r *http.Request) {
	s.act(w, r, &action{
		head: "Add a type", save: "Add it", back: "/types", spec: typeSpec(), typed: typed{"part": r.FormValue("as")},
		lead: "What you copy here from the maker’s instructions counts for every part of the type.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.TypeAdded](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.AddType{Meta: in.Meta, Details: d})
		},
	})
}

func (s *site) editType(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.TypePage(r.Context(), assetIn(r, record.TypeAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Edit the type " + p.Type.TypeAdded.Name, save: "Save", back: hrefOf(p.Type.Asset), reason: "Why",
		spec: typeSpec(), typed: typeTyped(p.Type), version: p.Version,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.TypeAdded](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.ChangeType{Meta: in.Meta, Asset: p.Type.Asset, Version: in.version, Details: d})
		},
	})
}

// depotPageView is what templates/depot.html shows.
type depotPageView struct {
	*assetView
	Counts []linkView
}

func (s *site) depotPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.DepotAsset)
	p, err := s.Register.DepotPage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Depot
	v := &depotPageView{assetView: common}
	v.Kind, v.Title = "Depot", x.DepotAdded.Name
	v.Sheet = depotSpec().sheet(depotTyped(x), v.system())
	v.documents(x.Documents)
	switch {
	case x.Added == 0:
		v.state("○", "unknown", "Not in the register: the record that added it was taken back")
	case x.Closed != 0:
		v.state("✕", "fails", "Closed on "+dayOf(x.Closed))
	default:
		v.state("●", "holds", "In use")
	}
	active, stored := p.Counts[record.VehicleAsset][record.StatusActive], p.Counts[record.PartAsset][record.StatusStored]
	v.Lead = counted(active, "vehicle belongs here", "vehicles belong here") + "; " + counted(stored, "part lies in store", "parts lie in store") + "."
	v.Counts = []linkView{
		{withQuery("/vehicles", "depot", string(a)), counted(active, "vehicle", "vehicles")},
		{withQuery("/parts", "depot", string(a), "status", record.StatusStored), counted(stored, "part in store", "parts in store")},
	}
	if x.Added != 0 && x.Closed == 0 {
		v.offer(ctx, fleet.Organise, "/edit", "Edit")
		v.offer(ctx, fleet.Organise, "/close", "Close it")
		if may(ctx, fleet.Design) {
			v.Attach = hrefOf(a) + "/attach"
		}
	}
	s.render(w, r, http.StatusOK, "depot", v.Title, v)
}

func depotTyped(x *record.Depot) typed {
	t := typed{}
	showFields(depotSpec().fields, flat(x.DepotAdded), "", t)
	return t
}

func (s *site) addDepot(w http.ResponseWriter, r *http.Request) {
	s.act(w, r, &action{
		head: "Add a depot", save: "Add it", back: "/depots", spec: depotSpec(), typed: typed{},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.DepotAdded](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.AddDepot{Meta: in.Meta, Details: d})
		},
	})
}

func (s *site) editDepot(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.DepotPage(r.Context(), assetIn(r, record.DepotAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Edit the depot " + p.Depot.DepotAdded.Name, save: "Save", back: hrefOf(p.Depot.Asset), reason: "Why",
		spec: depotSpec(), typed: depotTyped(p.Depot), version: p.Version,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.DepotAdded](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.ChangeDepot{Meta: in.Meta, Asset: p.Depot.Asset, Version: in.version, Details: d})
		},
	})
}

func (s *site) closeDepot(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.DepotPage(r.Context(), assetIn(r, record.DepotAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Close the depot " + p.Depot.DepotAdded.Name, save: "Close it", back: hrefOf(p.Depot.Asset), when: true, reason: "Why", must: true,
		lead: "Nothing may belong to it any more. Its history stays.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.CloseDepot{Meta: in.Meta, Asset: p.Depot.Asset})
		},
	})
}

// noticePageView is what templates/notice.html shows.
type noticePageView struct {
	*assetView
	Action string
	Open   int
	Parts  []noticePartView
}

type noticePartView struct {
	Title, Href, Where, WhereHref string
	Shape, State, Word            string
	Close                         string
}

func (s *site) noticePage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.NoticeAsset)
	p, err := s.Register.NoticePage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	types, err := s.typeOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Notice
	var ask []record.Asset
	for _, f := range p.Parts {
		ask = append(ask, f.Part.Vehicle, f.Part.Stored)
	}
	names, err := s.titles(ctx, ask...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := &noticePageView{assetView: common, Action: x.Action, Open: p.Open}
	v.Kind, v.Title = "Safety notice", x.Title
	v.Sheet = noticeSpec(types).sheet(noticeTyped(x), v.system())
	v.documents(x.Documents)
	switch {
	case x.Opened == 0:
		v.state("○", "unknown", "Not in the register: the record that opened it was taken back")
	case x.Closed != 0 && p.Open == 0:
		v.state("●", "holds", "Closed on "+dayOf(x.Closed)+", every part seen to")
	case p.Open > 0:
		v.state("✕", "fails", counted(p.Open, "part is still open", "parts are still open"))
	case len(p.Parts) == 0:
		v.state("●", "holds", "No part of the register is concerned")
	default:
		v.state("●", "holds", "Every part found is seen to")
	}
	v.Lead = counted(len(p.Parts), "part of the register is or may be concerned", "parts of the register are or may be concerned") + "; " + itoa(len(p.Parts)-p.Open) + " seen to."
	if x.Closed != 0 && p.Open > 0 {
		v.Lead += " It was closed on " + dayOf(x.Closed) + "; the parts below came to the register since."
	}
	for _, f := range p.Parts {
		l := noticePartView{Title: capital(partTitle(&f.Part.Part)), Href: hrefOf(f.Part.Asset)}
		switch {
		case f.Part.Vehicle != "":
			l.Where, l.WhereHref = nameOf(names, f.Part.Vehicle), hrefOf(f.Part.Vehicle)
		case f.Part.Stored != "":
			l.Where, l.WhereHref = "in store at "+nameOf(names, f.Part.Stored), hrefOf(f.Part.Stored)
		default:
			l.Where = "in store, nobody entered where"
		}
		line := newNoticeLine(&fleet.PartNotice{Match: f.Match, Why: f.Why, Work: f.Work, Action: x.Action}, nil)
		l.Shape, l.State, l.Word = line.Shape, line.State, line.Word
		if f.Work == nil && may(ctx, fleet.Fit) {
			l.Close = hrefOf(a) + "/parts/" + f.Part.Asset.Name()
		}
		v.Parts = append(v.Parts, l)
	}
	if x.Opened != 0 && x.Closed == 0 {
		v.offer(ctx, fleet.Design, "/edit", "Edit")
		v.offer(ctx, fleet.Design, "/close", "Close it")
	}
	if may(ctx, fleet.Design) && x.Opened != 0 {
		v.Attach = hrefOf(a) + "/attach"
	}
	s.render(w, r, http.StatusOK, "notice", v.Title, v)
}

func noticeTyped(x *record.Notice) typed {
	t := typed{}
	showFields(noticeSpec(nil).fields, flat(x.NoticeOpened), "", t)
	return t
}

func (s *site) openNotice(w http.ResponseWriter, r *http.Request) {
	types, err := s.typeOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Open a safety notice", save: "Open it", back: "/notices", spec: noticeSpec(types), typed: typed{}, when: true,
		lead: "It finds every part, fitted or in store, and stays open until the last one is seen to.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.NoticeOpened](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.OpenNotice{Meta: in.Meta, Details: d})
		},
	})
}

func (s *site) editNotice(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.NoticePage(r.Context(), assetIn(r, record.NoticeAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	types, err := s.typeOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Edit the notice " + p.Notice.Title, save: "Save", back: hrefOf(p.Notice.Asset), reason: "Why",
		spec: noticeSpec(types), typed: noticeTyped(p.Notice), version: p.Version,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			d, err := detailsOf[record.NoticeOpened](in.values)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.ChangeNotice{Meta: in.Meta, Asset: p.Notice.Asset, Version: in.version, Details: d})
		},
	})
}

func (s *site) closeNotice(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.NoticePage(r.Context(), assetIn(r, record.NoticeAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Close the notice " + p.Notice.Title, save: "Close it", back: hrefOf(p.Notice.Asset), when: true, reason: "Note",
		lead: "It can be closed when every part is seen to. A part that comes to the register later opens it again.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.CloseNotice{Meta: in.Meta, Notice: p.Notice.Asset})
		},
	})
}

func (s *site) closeNoticePart(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.NoticePage(r.Context(), assetIn(r, record.NoticeAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	part := record.NewAsset(record.PartAsset, r.PathValue("part"))
	names, err := s.titles(r.Context(), part)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: capital(nameOf(names, part)) + ": seen to", save: "Enter it", back: hrefOf(p.Notice.Asset), when: true,
		lead: p.Notice.Title + ". To be done: " + p.Notice.Action,
		spec: one(field{Key: "done", Label: "Found and done", Doc: "What was found on this part, and what was done.", Sort: wordsSort, Must: true}), typed: typed{},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ClosePart{Meta: in.Meta, Notice: p.Notice.Asset, Part: part, Done: textOf(in.values, "done")})
		},
		after: func(*fleet.Done) string { return hrefOf(p.Notice.Asset) },
	})
}
