package web

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"time"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// recordsView is what templates/records.html shows: what was entered last.
type recordsView struct {
	Tabs   []tabView
	Events []eventView
	Older  string
}

func (s *site) recordsPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	before, _ := strconv.ParseInt(r.FormValue("before"), 10, 64)
	events, last, err := s.Register.Recent(ctx, before, linesShown)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := recordsView{Tabs: tabs("records")}
	if v.Events, err = s.tellAll(ctx, events); err != nil {
		s.fail(w, r, err)
		return
	}
	if last > 0 {
		v.Older = "/records?before=" + i64(last)
	}
	s.render(w, r, http.StatusOK, "records", "Records", v)
}

// recordView is what templates/record.html shows: one record whole, with what
// corrected it.
type recordView struct {
	eventView
	Title, Href         string
	Kind                string
	Seq                 int64
	EnteredAt           string
	Digest, Previous    string
	Body                string
	Versions            []eventView // all records on the same matter, first entered first
	Undo, Correct, Edit string
}

// eventOf finds a record as its asset's history has it. Seq tells where it
// stands.
func (s *site) eventOf(ctx context.Context, id record.ID) (*fleet.Event, error) {
	if !id.Valid() {
		return nil, &fleet.NotFound{What: "record", Name: string(id)}
	}
	rec, err := s.Register.Store().Record(ctx, id)
	if err != nil {
		return nil, &fleet.NotFound{What: "record", Name: string(id)}
	}
	h, err := s.Register.History(ctx, rec.Asset, rec.Seq+1, 1)
	if err != nil {
		return nil, err
	}
	for i := range h.Events {
		if h.Events[i].ID == id {
			return &h.Events[i], nil
		}
	}
	return nil, &fleet.NotFound{What: "record", Name: string(id)}
}

// versionsOf are all records on the matter of one, oldest first.
func (s *site) versionsOf(ctx context.Context, e *fleet.Event) ([]fleet.Event, error) {
	root := e.ID
	if e.Corrects != "" {
		root = e.Corrects
	}
	var all []fleet.Event
	for before := int64(0); ; {
		h, err := s.Register.History(ctx, e.Asset, before, 500)
		if err != nil {
			return nil, err
		}
		for i := range h.Events {
			if x := h.Events[i]; x.ID == root || x.Corrects == root {
				all = append([]fleet.Event{x}, all...)
			}
		}
		if h.Before == 0 || len(all) > 0 && all[0].ID == root {
			return all, nil
		}
		before = h.Before
	}
}

func (s *site) recordPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	e, err := s.eventOf(ctx, record.ID(r.PathValue("id")))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	all, err := s.versionsOf(ctx, e)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	names, err := s.titles(ctx, mentioned(append(all, *e))...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	t := &teller{titles: names, fields: vehicleFields, actor: person(ctx)}
	v := recordView{eventView: t.event(e), Title: nameOf(names, e.Asset), Href: hrefOf(e.Asset), Kind: spaced(e.Kind), Seq: e.Seq,
		EnteredAt: when(e.Record.Entered), Digest: e.Digest.String(), Body: indented(e.Record.Body)}
	if !e.Previous.Zero() {
		v.Previous = e.Previous.String()
	}
	if len(all) > 1 {
		for i := range all {
			v.Versions = append(v.Versions, t.event(&all[i]))
		}
	}
	if v.CanUndo {
		v.Undo = v.eventView.Href + "/undo"
	}
	if v.CanFix {
		v.Correct = v.eventView.Href + "/correct"
	}
	s.render(w, r, http.StatusOK, "record", "Record", v)
}

func indented(raw json.RawMessage) string {
	var b bytes.Buffer
	if json.Indent(&b, raw, "", "  ") != nil {
		return string(raw)
	}
	return b.String()
}

func (s *site) undo(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	e, err := s.eventOf(ctx, record.ID(r.PathValue("id")))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	names, err := s.titles(ctx, mentioned([]fleet.Event{*e})...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	told := (&teller{titles: names, fields: vehicleFields}).event(e)
	what := "It is taken back by a further record. What stood before counts again, and nothing is erased: both stay in the history."
	s.act(w, r, &action{
		head: "Undo: " + lower(told.Head), save: "Undo it", back: hrefOf(e.Asset), reason: "Why", must: true,
		lead: nameOf(names, e.Asset) + ", entered by " + e.Who.Name + " on " + when(e.Record.Entered) + ". " + what,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.Undo{Meta: in.Meta, Record: e.ID})
		},
	})
}

// fixSpec is the form with which a record of some kinds is corrected as a whole.
// Details of an asset are corrected by editing it, or by undoing the edit.
func fixSpec(said record.Body, depots []option) (spec, bool) {
	meters := []option{{Value: record.Odometer, Text: "odometer"}, {Value: record.HubMeter, Text: "hub meter"}, {Value: record.Brake, Text: "brake controller"}}
	reading := func(key, label string) field {
		return field{Key: key, Label: label, Sort: tableSort, Fields: []field{
			{Key: "metres", Label: "Reading", Doc: "With its unit; left empty: not read.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
			{Key: "meter", Label: "Meter", Sort: choiceSort, Choices: meters},
		}}
	}
	carried := func(key string) field { return field{Key: key, Sort: hiddenSort} }
	place := field{Key: "place", Label: "Place"}
	switch said.(type) {
	case record.PartFitted:
		return one(carried("vehicle"), field{Key: "place", Label: "Place", Must: true}, reading("reading", "Meter of the vehicle")), true
	case record.PartRemoved:
		return one(carried("vehicle"), reading("reading", "Meter of the vehicle"), field{Key: "depot", Label: "Lies at", Sort: choiceSort, Choices: depots}, field{Key: "condition", Label: "Condition", Sort: wordsSort}), true
	case record.Coupled:
		return one(carried("by"), reading("by_reading", "Meter of the towing vehicle"), reading("reading", "Its own meter"), place), true
	case record.Uncoupled:
		return one(carried("period"), reading("by_reading", "Meter of the towing vehicle"), reading("reading", "Its own meter"), place), true
	case record.MeterReplaced:
		return one(field{Key: "meter", Label: "Meter", Sort: choiceSort, Choices: meters, Must: true},
			field{Key: "old_m", Label: "Old one at the end", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
			field{Key: "new_m", Label: "New one at the start", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M, Must: true}), true
	case record.NoticePartClosed:
		return one(carried("part"), field{Key: "done", Label: "Found and done", Sort: wordsSort, Must: true}), true
	}
	return spec{}, false
}

func fixable(said record.Body) bool {
	_, ok := fixSpec(said, nil)
	return ok
}

func (s *site) correct(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	e, err := s.eventOf(ctx, record.ID(r.PathValue("id")))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	sp, ok := fixSpec(e.Said, depots)
	if !ok {
		s.errorPage(w, r, http.StatusNotFound, "This record has no form of its own.", "What an asset is, is corrected by editing the asset; any record can be undone from its page.")
		return
	}
	names, err := s.titles(ctx, mentioned([]fleet.Event{*e})...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	root := e.ID
	if e.Corrects != "" {
		root = e.Corrects
	}
	start := typed{}
	showFields(sp.fields, flat(e.Said), "", start)
	told := (&teller{titles: names, fields: vehicleFields}).event(e)
	s.act(w, r, &action{
		head: "Correct: " + lower(told.Head), save: "Correct it", back: hrefOf(e.Asset), when: true, reason: "Why", must: true,
		lead: nameOf(names, e.Asset) + ", " + told.Happened + ". Give the record whole, as it should have been; the first one stays in the history. The time left out stays as it is.",
		spec: sp, typed: start,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			body, err := rebuilt(e.Said, jsonOf(in.values))
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.Correct{Meta: in.Meta, Record: root, Body: body})
		},
	})
}

// rebuilt reads a body of the same kind.
func rebuilt(like record.Body, raw json.RawMessage) (record.Body, error) {
	switch like.(type) {
	case record.PartFitted:
		return bodyOf[record.PartFitted](raw)
	case record.PartRemoved:
		return bodyOf[record.PartRemoved](raw)
	case record.Coupled:
		return bodyOf[record.Coupled](raw)
	case record.Uncoupled:
		return bodyOf[record.Uncoupled](raw)
	case record.MeterReplaced:
		return bodyOf[record.MeterReplaced](raw)
	}
	return bodyOf[record.NoticePartClosed](raw)
}

func bodyOf[T record.Body](raw json.RawMessage) (record.Body, error) {
	var b T
	err := json.Unmarshal(raw, &b)
	return b, err
}

// document serves a photo or paper by the record that attached it, so that only
// what an asset has can be read. Photos show in the page; anything else is saved.
func (s *site) document(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	e, err := s.eventOf(ctx, record.ID(r.PathValue("id")))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	d, is := e.Said.(record.DocumentAttached)
	if !is {
		s.fail(w, r, &fleet.NotFound{What: "document", Name: string(e.ID)})
		return
	}
	file, err := s.Register.Document(ctx, d.Blob)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer file.Close()
	h := w.Header()
	h.Set("Content-Type", d.Media)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Cache-Control", "private, max-age=3600")
	disposition := "attachment"
	if d.Media == "image/jpeg" || d.Media == "image/png" || d.Media == "image/webp" {
		disposition = "inline"
	}
	h.Set("Content-Disposition", disposition+"; filename="+strconv.Quote(safeName(d.Name)))
	_ = http.NewResponseController(w).SetWriteDeadline(timeNow().Add(slowest))
	http.ServeContent(w, r, "", time.Time{}, readSeeker{file})
}

// readSeeker hides that a file can be closed.
type readSeeker struct{ io.ReadSeeker }

// safeName is the name of a file with nothing in it that a header or a shell might
// misread.
func safeName(name string) string {
	safe := []rune{}
	for _, c := range name {
		if c < ' ' || c == 0x7f || c == '"' || c == '\\' || c == '/' || c > 0x7e {
			c = '_'
		}
		safe = append(safe, c)
	}
	if len(safe) == 0 {
		return "document"
	}
	return string(safe)
}
