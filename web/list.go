package web

import (
	"context"
	"net/http"
	"slices"

	"underpin/fleet"
	"underpin/record"
)

// linesShown is how many lines a page of a list has.
const linesShown = 50

// A listPage is what templates/list.html shows: one page of vehicles, parts, types,
// depots or notices.
type listPage struct {
	Kind    string // plural, in the address
	Head    string
	Empty   string // what to do first, where there is none at all
	Tabs    []tabView
	Asks    []askView
	Columns []string
	Lines   []lineView
	Add     []linkView
	First   string // address of the first page; empty: this is it
	Next    string
	Shown   int
	Some    bool // the list has something, if not with these questions
	Done    string
}

type tabView struct {
	Href, Text string
	Here       bool
}

// An askView is one question of the line above a list.
type askView struct {
	Name, Label string
	Options     []option
}

// A lineView is one line of a list.
type lineView struct {
	Href, Title        string
	Cells              []cellView
	Shape, State, Word string
}

type cellView struct{ Text, Href string }

// tabs leads from list to list.
func tabs(here string) []tabView {
	all := []tabView{{"/fleet", "Overview", false}, {"/due", "Due work", false}, {"/vehicles", "Vehicles", false}, {"/parts", "Parts", false}, {"/types", "Types", false},
		{"/depots", "Depots", false}, {"/notices", "Safety notices", false}, {"/records", "Records", false}}
	for i := range all {
		all[i].Here = all[i].Href == "/"+here
	}
	return all
}

var statusWords = map[string][3]string{
	record.StatusActive: {"●", "holds", "in use"}, record.StatusFitted: {"●", "holds", "fitted"}, record.StatusStored: {"●", "holds", "in store"},
	record.StatusScrapped: {"✕", "unknown", "scrapped"}, record.StatusOpen: {"▲", "caution", "open"}, record.StatusClosed: {"●", "unknown", "closed"},
}

// lists says for each kind what its list asks and shows.
var lists = map[string]struct {
	head, empty string
	columns     []string
	statuses    []string
	usual       []string // statuses shown when nothing is asked
	sort        string   // member of the line that ?as= selects by
	sorts       []option
}{
	record.VehicleAsset: {"Vehicles", "No vehicle is in the register yet. Add the first tractor and the first semi-trailer; the pairing page then answers for them. A whole fleet file or workbook comes in under Bring in a file.",
		[]string{"number", "name", "registration", "what it is", "depot"}, []string{record.StatusActive, record.StatusScrapped}, []string{record.StatusActive}, "vehicle",
		[]option{{Value: record.Tractor, Text: "tractors"}, {Value: record.SemiTrailer, Text: "semi-trailers"}, {Value: record.Dolly, Text: "dollies"}}},
	record.PartAsset: {"Parts", "No part is in the register yet. Couplings and kingpins that are added here keep their history when they are moved from vehicle to vehicle. A type record first makes each part a matter of its serial.",
		[]string{"part", "serial", "marking", "sits on", "depot"}, []string{record.StatusFitted, record.StatusStored, record.StatusScrapped}, []string{record.StatusFitted, record.StatusStored}, "part", partKinds},
	record.TypeAsset: {"Types", "No type is in the register yet. A type record holds what the maker’s instructions say of the type that is fitted: dimensions with limits, intervals, torques, each with document and edition.",
		[]string{"type", "part", "maker", "dimensions", "intervals"}, []string{record.StatusActive}, []string{record.StatusActive}, "part", partKinds},
	record.DepotAsset: {"Depots", "No depot is in the register yet. Depots tell where vehicles belong and parts lie; a person can be limited to some of them.",
		[]string{"name", "address"}, []string{record.StatusActive, record.StatusClosed}, []string{record.StatusActive}, "", nil},
	record.NoticeAsset: {"Safety notices", "No safety notice was opened yet. Open one when a maker or authority recalls parts by type and serial: it finds each part, fitted or in store, and stays open until the last one is seen to.",
		[]string{"notice", "part", "seen to"}, []string{record.StatusOpen, record.StatusClosed}, []string{record.StatusOpen, record.StatusClosed}, "part", partKinds},
}

// list serves the list of one kind.
func (s *site) list(kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v, err := s.listPage(r, kind)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		s.render(w, r, http.StatusOK, "list", v.Head, v)
	}
}

func (s *site) listPage(r *http.Request, kind string) (*listPage, error) {
	ctx, q := r.Context(), r.URL.Query()
	set := lists[kind]
	as, depot, status, from := q.Get("as"), record.Asset(q.Get("depot")), q.Get("status"), q.Get("from")
	if !slices.ContainsFunc(set.sorts, func(o option) bool { return o.Value == as }) {
		as = ""
	}
	ask := fleet.ListQuery{Kind: kind, From: from, Status: set.usual}
	if depot.Kind() == record.DepotAsset && depot.Valid() {
		ask.Depots = []record.Asset{depot}
	} else {
		depot = ""
	}
	switch {
	case status == "all":
		ask.Status = nil
	case slices.Contains(set.statuses, status):
		ask.Status = []string{status}
	default:
		status = ""
	}
	items, next, counts, err := s.selected(ctx, ask, set.sort, as)
	if err != nil {
		return nil, err
	}
	v := &listPage{Kind: plural[kind], Head: set.head, Tabs: tabs(plural[kind]), Columns: set.columns, Shown: len(items), Done: doneWords[q.Get("done")]}
	total := 0
	for _, n := range counts {
		total += n
	}
	v.Some = total > 0 || depot != ""
	if !v.Some {
		v.Empty = set.empty
	}
	if len(set.sorts) > 0 {
		v.Asks = append(v.Asks, askView{"as", "Show", chosen(append([]option{{Text: "every kind"}}, set.sorts...), as)})
	}
	states := []option{{Text: usualWords(set.usual, counts)}}
	for _, st := range set.statuses {
		if n := counts[st]; len(set.usual) > 1 || st != set.usual[0] {
			states = append(states, option{Value: st, Text: statusWords[st][2] + " (" + itoa(n) + ")"})
		}
	}
	states = append(states, option{Value: "all", Text: "all (" + itoa(total) + ")"})
	v.Asks = append(v.Asks, askView{"status", "that are", chosen(states, status)})
	if kind == record.VehicleAsset || kind == record.PartAsset {
		depots, err := s.depotOptions(ctx)
		if err != nil {
			return nil, err
		}
		if len(depots) > 0 {
			v.Asks = append(v.Asks, askView{"depot", "at", chosen(append([]option{{Text: "every depot"}}, depots...), string(depot))})
		}
	}
	if v.Lines, err = s.lines(ctx, items); err != nil {
		return nil, err
	}
	asked := func(from string) string {
		return withQuery("/"+v.Kind, "as", as, "status", status, "depot", string(depot), "from", from)
	}
	if from != "" {
		v.First = asked("")
	}
	if next != "" {
		v.Next = asked(next)
	}
	v.Add = addLinks(ctx, kind)
	return v, nil
}

func usualWords(usual []string, counts map[string]int) string {
	text, n := "", 0
	for i, st := range usual {
		if i > 0 {
			text += " or "
		}
		text += statusWords[st][2]
		n += counts[st]
	}
	return text + " (" + itoa(n) + ")"
}

func chosen(all []option, value string) []option {
	for i := range all {
		all[i].Selected = all[i].Value == value
	}
	return all
}

func addLinks(ctx context.Context, kind string) []linkView {
	switch {
	case kind == record.VehicleAsset && may(ctx, fleet.Design):
		return []linkView{{"/vehicles/new?as=tractor", "Add a tractor"}, {"/vehicles/new?as=semi-trailer", "Add a semi-trailer"}, {"/vehicles/new?as=dolly", "Add a dolly"}, {"/import", "Bring in a file"}}
	case kind == record.PartAsset && may(ctx, fleet.Fit):
		return []linkView{{"/parts/new?as=fifth-wheel", "Add a fifth wheel"}, {"/parts/new?as=kingpin", "Add a kingpin"}, {"/parts/new", "Add another part"}}
	case kind == record.TypeAsset && may(ctx, fleet.Design):
		return []linkView{{"/types/new", "Add a type"}}
	case kind == record.DepotAsset && may(ctx, fleet.Organise):
		return []linkView{{"/depots/new", "Add a depot"}}
	case kind == record.NoticeAsset && may(ctx, fleet.Design):
		return []linkView{{"/notices/new", "Open a notice"}}
	}
	return nil
}

// mostLooks is how many stretches of a list are looked through for lines of one
// sort; what lies beyond comes with the next page.
const mostLooks = 20

// selected reads one page of a list, of one sort where that is asked.
func (s *site) selected(ctx context.Context, ask fleet.ListQuery, member, as string) (items []fleet.Item, next string, counts map[string]int, err error) {
	if as == "" {
		ask.Limit = linesShown
		l, err := s.Register.List(ctx, ask)
		if err != nil {
			return nil, "", nil, err
		}
		return l.Items, l.Next, l.Counts, nil
	}
	ask.Limit = linesShown
	for range mostLooks {
		l, err := s.Register.List(ctx, ask)
		if err != nil {
			return nil, "", nil, err
		}
		if counts == nil {
			counts = l.Counts
		}
		for _, it := range l.Items {
			if it.Line[member] == as {
				items = append(items, it)
			}
		}
		next = l.Next
		if next == "" || len(items) >= linesShown/2 {
			break
		}
		ask.From, ask.Limit = next, 500
	}
	return items, next, counts, nil
}

// lines puts items of a list in words.
func (s *site) lines(ctx context.Context, items []fleet.Item) ([]lineView, error) {
	var ask []record.Asset
	for i := range items {
		ask = append(ask, items[i].Depot)
		if v, ok := items[i].Line["vehicle"].(string); ok {
			ask = append(ask, record.Asset(v))
		}
	}
	names, err := s.titles(ctx, ask...)
	if err != nil {
		return nil, err
	}
	lines := make([]lineView, 0, len(items))
	for i := range items {
		lines = append(lines, newLine(&items[i], names))
	}
	return lines, nil
}

func newLine(it *fleet.Item, names map[record.Asset]string) lineView {
	l := lineView{Href: hrefOf(it.Asset), Title: it.Title}
	if w, ok := statusWords[it.Status]; ok {
		l.Shape, l.State, l.Word = w[0], w[1], w[2]
	}
	text := func(member string) string {
		v, _ := it.Line[member].(string)
		return v
	}
	count := func(member string) string {
		n, _ := it.Line[member].(float64)
		return itoa(int(n))
	}
	at := func(a record.Asset) cellView {
		if a == "" {
			return cellView{}
		}
		return cellView{nameOf(names, a), hrefOf(a)}
	}
	switch it.Asset.Kind() {
	case record.VehicleAsset:
		what := lower(vehicleWords[text("vehicle")])
		if b := text("body"); b != "" {
			what += ", " + spaced(b)
		}
		if h := text("held"); h != "" && it.Status == record.StatusActive {
			l.Shape, l.State, l.Word = verdictShapes[h][0], verdictShapes[h][1], verdictWords[h]
		}
		l.Cells = []cellView{{text("name"), ""}, {text("registration"), ""}, {what, ""}, at(it.Depot)}
	case record.PartAsset:
		l.Title = capital(partWord(text("part")))
		serial := text("serial")
		if serial == "" {
			serial = "unknown"
		}
		on := at(record.Asset(text("vehicle")))
		l.Cells = []cellView{{serial, ""}, {text("marking"), ""}, on, at(it.Depot)}
	case record.TypeAsset:
		l.Cells = []cellView{{partWord(text("part")), ""}, {text("maker"), ""}, {count("dimensions"), ""}, {count("intervals"), ""}}
	case record.DepotAsset:
		l.Cells = []cellView{{text("address"), ""}}
	case record.NoticeAsset:
		l.Cells = []cellView{{partWord(text("part")), ""}, {count("seen"), ""}}
	}
	return l
}

// findView is what templates/find.html shows.
type findView struct {
	Text  string
	Lines []foundView
	Many  bool
}

type foundView struct {
	lineView
	Kind   string
	Detail string
}

// mostFound is how many things the one field finds at once.
const mostFound = 50

func (s *site) findPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	v := findView{Text: cutText(r.FormValue("q"), 200)}
	if v.Text != "" {
		if id := record.ID(v.Text); id.Valid() {
			http.Redirect(w, r, "/records/"+string(id), http.StatusSeeOther)
			return
		}
		items, err := s.Register.Find(ctx, v.Text, mostFound)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if len(items) == 1 && r.FormValue("part") == "" && hrefOf(items[0].Asset) != "" {
			http.Redirect(w, r, hrefOf(items[0].Asset), http.StatusSeeOther)
			return
		}
		names, err := s.titles(ctx, depotsOf(items)...)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		v.Many = len(items) == mostFound
		for i := range items {
			v.Lines = append(v.Lines, newFound(&items[i], names))
		}
	}
	if r.FormValue("part") == "found" {
		s.renderPart(w, r, http.StatusOK, "find", "found", "", v)
		return
	}
	s.render(w, r, http.StatusOK, "find", "Find", v)
}

func depotsOf(items []fleet.Item) []record.Asset {
	var all []record.Asset
	for i := range items {
		all = append(all, items[i].Depot)
		if v, ok := items[i].Line["vehicle"].(string); ok {
			all = append(all, record.Asset(v))
		}
	}
	return all
}

var kindWords = map[string]string{
	record.PartAsset: "part", record.TypeAsset: "type", record.DepotAsset: "depot", record.NoticeAsset: "safety notice", record.AccountAsset: "account",
}

func newFound(it *fleet.Item, names map[record.Asset]string) foundView {
	f := foundView{lineView: newLine(it, names), Kind: kindWords[it.Asset.Kind()]}
	for i, c := range f.Cells {
		if c.Text == "" || it.Asset.Kind() == record.VehicleAsset && i == 2 {
			continue
		}
		if f.Detail != "" {
			f.Detail += " · "
		}
		f.Detail += c.Text
	}
	switch it.Asset.Kind() {
	case record.VehicleAsset:
		if v, ok := it.Line["vehicle"].(string); ok {
			f.Kind = lower(vehicleWords[v])
		}
	case record.PartAsset:
		f.Kind, f.Title = lower(f.Title), f.Cells[0].Text
	}
	return f
}

// overviewView is what templates/overview.html shows.
type overviewView struct {
	Due      *dueBlock // nil: where it is told
	Name     string
	Tabs     []tabView
	Counts   []linkView
	Notices  []overviewNotice
	Bolts    []overviewBolts // bolts of mountings that are to be tightened again
	Events   []eventView
	Empty    bool
	First    []linkView // what to do first
	Unpaired []string   // vehicles that the pairing page cannot take, and why
	Done     string
}

type overviewNotice struct {
	Href, Title string
	Open        int
}

func (s *site) overview(w http.ResponseWriter, r *http.Request) {
	v, err := s.overviewView(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.render(w, r, http.StatusOK, "overview", "Fleet", v)
}

func (s *site) overviewView(r *http.Request) (*overviewView, error) {
	ctx := r.Context()
	set, err := s.Register.Settings(ctx, fleet.SettingsSet)
	if err != nil {
		return nil, err
	}
	v := &overviewView{Tabs: tabs("fleet"), Name: textOf(set.Values, "name"), Done: doneWords[r.FormValue("done")]}
	for _, kind := range []struct{ kind, one, many string }{
		{record.VehicleAsset, "vehicle in use", "vehicles in use"}, {record.PartAsset, "part", "parts"}, {record.TypeAsset, "type", "types"}, {record.DepotAsset, "depot", "depots"},
	} {
		l, err := s.Register.List(ctx, fleet.ListQuery{Kind: kind.kind, Limit: 1})
		if err != nil {
			return nil, err
		}
		n := 0
		for _, st := range lists[kind.kind].usual {
			n += l.Counts[st]
		}
		v.Counts = append(v.Counts, linkView{"/" + plural[kind.kind], counted(n, kind.one, kind.many)})
		if kind.kind == record.VehicleAsset {
			v.Empty = n == 0
		}
	}
	if v.Empty {
		v.First = addLinks(ctx, record.VehicleAsset)
	}
	open, err := s.Register.OpenNotices(ctx)
	if err != nil {
		return nil, err
	}
	for _, n := range open {
		v.Notices = append(v.Notices, overviewNotice{hrefOf(n.Notice.Asset), n.Notice.Title, n.Open})
	}
	due, err := s.Register.BoltsDue(ctx)
	if err != nil {
		return nil, err
	}
	for i := range due {
		d := &due[i]
		v.Bolts = append(v.Bolts, overviewBolts{hrefOf(d.Vehicle.Asset) + "#mounting", vehicleTitle(d.Vehicle), *newDueLine(ctx, d.Vehicle.Asset, d.Built)})
	}
	events, _, err := s.Register.Recent(ctx, 0, 12)
	if err != nil {
		return nil, err
	}
	v.Events, err = s.tellAll(ctx, events)
	return v, err
}

// tellAll puts records of several assets in words.
func (s *site) tellAll(ctx context.Context, events []fleet.Event) ([]eventView, error) {
	names, err := s.titles(ctx, mentioned(events)...)
	if err != nil {
		return nil, err
	}
	t := &teller{titles: names, fields: vehicleFields}
	var all []eventView
	for i := range events {
		e := t.event(&events[i])
		e.About, e.AboutRef = nameOf(names, events[i].Asset), hrefOf(events[i].Asset)
		all = append(all, e)
	}
	return all, nil
}
