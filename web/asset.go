package web

import (
	"context"
	"net/http"
	"strconv"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// eventsShown is how many records a page of a history shows.
const eventsShown = 25

// An assetView is what the pages of all kinds of asset have in common.
type assetView struct {
	Asset     record.Asset
	Kind      string // in words
	Title     string
	Shape     string // of the state, with the word
	State     string
	Word      string
	Lead      string
	Done      string // what came of the form that led here
	Actions   []linkView
	Problems  []string
	Documents []documentView
	Attach    string // where a document is attached, for those who may
	Sheet     *sheetView
	History   *historyView
	Due       *dueBlock // of a vehicle; nil: where it is told
	US        bool
	Units     string // address of the page in the other units; empty: it shows no quantities
	Pairs     bool   // answers are built on its fields
}

type linkView struct{ Href, Text string }

type documentView struct {
	Title, Sort, Who, At, Href, Size string
	Image                            bool
}

// assetView begins the page of an asset.
func (s *site) assetView(r *http.Request, a record.Asset) (*assetView, error) {
	v := &assetView{Asset: a, US: r.FormValue("units") == "us", Done: doneWords[r.FormValue("done")]}
	switch {
	case a.Kind() == record.DepotAsset || a.Kind() == record.NoticeAsset:
	case v.US:
		v.Units = "?"
	default:
		v.Units = "?units=us"
	}
	v.Pairs = a.Kind() == record.VehicleAsset
	before, _ := strconv.ParseInt(r.FormValue("before"), 10, 64)
	h, err := s.Register.History(r.Context(), a, before, eventsShown)
	if err != nil {
		return nil, err
	}
	v.History, err = s.tell(r.Context(), h)
	return v, err
}

func (v *assetView) system() unit.System {
	if v.US {
		return unit.USCustomary
	}
	return unit.Metric
}

// offer adds a link to what the person may do.
func (v *assetView) offer(ctx context.Context, p fleet.Permission, path, text string) {
	if may(ctx, p) {
		v.Actions = append(v.Actions, linkView{hrefOf(v.Asset) + path, text})
	}
}

func (v *assetView) state(shape, state, word string) { v.Shape, v.State, v.Word = shape, state, word }

func (v *assetView) documents(all []record.Document) {
	for i := len(all) - 1; i >= 0; i-- {
		d := &all[i]
		v.Documents = append(v.Documents, documentView{
			Title: d.Title, Sort: spaced(d.Sort), Who: d.Who.Name, At: dayOf(d.At), Size: bytesText(d.Bytes),
			Href:  "/documents/" + string(d.ID),
			Image: d.Media == "image/jpeg" || d.Media == "image/png" || d.Media == "image/webp",
		})
	}
}

func bytesText(n int64) string {
	switch {
	case n >= 1<<20:
		return strconv.FormatFloat(float64(n)/(1<<20), 'f', 1, 64) + " MB"
	case n >= 1<<10:
		return strconv.FormatInt(n>>10, 10) + " kB"
	}
	return strconv.FormatInt(n, 10) + " B"
}

// depotOptions are the depots in use, as a choice.
func (s *site) depotOptions(ctx context.Context) ([]option, error) {
	return s.options(ctx, fleet.ListQuery{Kind: record.DepotAsset, Status: []string{record.StatusActive}}, nil)
}

// typeOptions are the types, of one kind of part or of all.
func (s *site) typeOptions(ctx context.Context) ([]option, error) {
	return s.options(ctx, fleet.ListQuery{Kind: record.TypeAsset}, func(i *fleet.Item) string {
		part, _ := i.Line["part"].(string)
		return i.Title + " (" + spaced(part) + ")"
	})
}

// mostOptions is how many things a choice may offer.
const mostOptions = 2000

func (s *site) options(ctx context.Context, q fleet.ListQuery, text func(*fleet.Item) string) ([]option, error) {
	q.Limit = 500
	var all []option
	for len(all) < mostOptions {
		l, err := s.Register.List(ctx, q)
		if err != nil {
			return nil, err
		}
		for i := range l.Items {
			o := option{Value: string(l.Items[i].Asset), Text: l.Items[i].Title}
			if text != nil {
				o.Text = text(&l.Items[i])
			}
			all = append(all, o)
		}
		if l.Next == "" {
			break
		}
		q.From = l.Next
	}
	return all, nil
}

// A runView is how far something ran, with what is not known of it.
type runView struct {
	Known string // a distance, at least that where there are gaps
	Whole bool
	Since string
	Gaps  []gapView
	Spans []spanView
}

type gapView struct{ From, To, Why string }

type spanView struct{ From, To, Distance, How string }

var howWords = map[record.How]string{
	record.ByBrake: "its brake controller", record.ByHub: "its hub meter", record.ByOdometer: "its odometer",
	record.ByPeriod: "the vehicle that towed it", record.Standing: "it stood",
}

func newRun(m *record.Mileage, titles map[record.Asset]string) runView {
	v := runView{Known: kilometres(m.Known), Whole: m.Whole() && len(m.Spans) > 0, Since: dayOf(m.From)}
	if len(m.Spans) == 0 {
		v.Known, v.Whole, v.Since = "not known", true, ""
	}
	for _, g := range m.Gaps {
		v.Gaps = append(v.Gaps, gapView{when(g.From), when(g.To), withTitles(g.Why, titles)})
	}
	for _, x := range m.Spans {
		how := howWords[x.How]
		if x.By != "" {
			how += ", " + nameOf(titles, x.By)
		}
		if !x.Read {
			how += "; an end lies between two readings"
		}
		v.Spans = append(v.Spans, spanView{when(x.From), when(x.To), kilometres(x.Distance), how})
	}
	return v
}

func nameOf(titles map[record.Asset]string, a record.Asset) string {
	if t := titles[a]; t != "" {
		return t
	}
	return string(a)
}

// noticeLine is a safety notice on the page of what it concerns.
type noticeLine struct {
	Href, Title, Action, Part, PartHref string
	Shape, State, Word                  string
}

func newNoticeLine(n *fleet.PartNotice, titles map[record.Asset]string) noticeLine {
	v := noticeLine{Href: hrefOf(n.Notice), Title: n.Title, Action: n.Action, Part: nameOf(titles, n.Part), PartHref: hrefOf(n.Part)}
	switch {
	case n.Work != nil:
		v.Shape, v.State, v.Word = "●", "holds", "seen to by "+n.Work.Who.Name+" on "+dayOf(n.Work.At)+": "+n.Work.Done
	case n.Match == record.CannotTell:
		v.Shape, v.State, v.Word = "○", "unknown", "must be looked at: "+n.Why
	default:
		v.Shape, v.State, v.Word = "✕", "fails", "open: "+n.Action
	}
	return v
}
