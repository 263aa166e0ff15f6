package web

import (
	"encoding/json"
	"math"
	"time"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// What is known of assets, as programs read it.

type meOut struct {
	Name   string             `json:"name" doc:"As it stands in the records."`
	Roles  []string           `json:"roles"`
	Depots []record.Asset     `json:"depots" doc:"Whose vehicles and parts may be changed; none: all."`
	May    []fleet.Permission `json:"may"`
}

func newMe(a *fleet.Actor) meOut {
	out := meOut{Roles: []string{}, Depots: []record.Asset{}, May: []fleet.Permission{}}
	if a == nil {
		return out
	}
	out.Name = a.Who.Name
	out.Roles, out.Depots = append(out.Roles, a.Roles...), append(out.Depots, a.Depots...)
	for _, p := range fleet.Permissions(record.Manager) { // who may everything
		if a.May(p) {
			out.May = append(out.May, p)
		}
	}
	return out
}

type itemOut struct {
	Asset  record.Asset   `json:"asset" doc:"Kind and id; how records and requests name it."`
	ID     string         `json:"id" doc:"The id alone, for addresses."`
	Kind   string         `json:"kind"`
	Title  string         `json:"title"`
	Depot  record.Asset   `json:"depot,omitempty"`
	Status string         `json:"status"`
	Due    record.Time    `json:"due,omitempty" format:"date-time"`
	At     record.Time    `json:"at,omitempty" format:"date-time"`
	Line   map[string]any `json:"line" doc:"The few values that a list shows."`
}

func itemsOut(items []fleet.Item) []itemOut {
	all := []itemOut{}
	for _, i := range items {
		line := i.Line
		if line == nil {
			line = map[string]any{}
		}
		all = append(all, itemOut{i.Asset, i.Asset.Name(), i.Asset.Kind(), i.Title, i.Depot, i.Status, i.Due, i.At, line})
	}
	return all
}

type foundOut struct {
	Items []itemOut `json:"items" nullable:"false"`
}

type listOut struct {
	Items  []itemOut      `json:"items" nullable:"false"`
	Next   string         `json:"next" doc:"Where the next page begins; empty: this is the last."`
	Counts map[string]int `json:"counts" doc:"By status, of the whole list whatever status was asked for."`
}

type eventOut struct {
	ID       record.ID       `json:"id"`
	Asset    record.Asset    `json:"asset"`
	Seq      int64           `json:"seq" doc:"Its number in the asset's chain, from 1."`
	Kind     string          `json:"kind"`
	Version  int             `json:"version"`
	Happened record.Time     `json:"happened" format:"date-time"`
	Entered  record.Time     `json:"entered" format:"date-time"`
	Who      record.Who      `json:"who"`
	Reason   string          `json:"reason,omitempty"`
	Corrects record.ID       `json:"corrects,omitempty"`
	Later    record.ID       `json:"later,omitempty" doc:"The record that corrected or voided this one last."`
	Void     bool            `json:"void"`
	Digest   record.Digest   `json:"digest" doc:"SHA-256 over the bytes as they are stored."`
	Previous record.Digest   `json:"previous" doc:"Digest of the record before in the chain."`
	Body     json.RawMessage `json:"body" doc:"What it says, by its kind."`
}

func newEventOut(e *fleet.Event) eventOut {
	return eventOut{e.ID, e.Asset, e.Seq, e.Kind, e.Version, e.Happened, e.Entered, e.Who, e.Reason, e.Corrects, e.Later, e.Void, e.Digest, e.Previous, e.Body}
}

func eventsOut(events []fleet.Event) []eventOut {
	all := []eventOut{}
	for i := range events {
		all = append(all, newEventOut(&events[i]))
	}
	return all
}

type historyOut struct {
	Records []eventOut `json:"records" nullable:"false"`
	Before  int64      `json:"before" doc:"For the next page; 0: this is the last."`
}

type mileageIn struct {
	APIOne
	From time.Time `query:"from" required:"true" example:"2026-01-01T00:00:00Z"`
	To   time.Time `query:"to" required:"true" example:"2026-02-01T00:00:00Z"`
}

type mileageOut struct {
	From  record.Time `json:"from,omitempty" format:"date-time"`
	To    record.Time `json:"to,omitempty" format:"date-time"`
	Known int64       `json:"known_m" doc:"Metres that are known; with gaps it ran at least so far."`
	Spans []spanOut   `json:"spans" nullable:"false"`
	Gaps  []gapOut    `json:"gaps" nullable:"false"`
}

type spanOut struct {
	From     record.Time  `json:"from" format:"date-time"`
	To       record.Time  `json:"to" format:"date-time"`
	Distance int64        `json:"distance_m"`
	How      string       `json:"how" doc:"By which meter it is known, or by coupled periods."`
	By       record.Asset `json:"by,omitempty" doc:"The vehicle that towed."`
	Read     bool         `json:"read" doc:"Both ends were read; else an end lies on the line between two readings."`
}

type gapOut struct {
	From record.Time `json:"from,omitempty" format:"date-time"`
	To   record.Time `json:"to,omitempty" format:"date-time"`
	Why  string      `json:"why"`
}

func wholeMetres(l unit.Length) int64 { return int64(math.Round(float64(l))) }

func newMileageOut(m *record.Mileage) mileageOut {
	out := mileageOut{From: m.From, To: m.To, Known: wholeMetres(m.Known), Spans: []spanOut{}, Gaps: []gapOut{}}
	for _, s := range m.Spans {
		out.Spans = append(out.Spans, spanOut{s.From, s.To, wholeMetres(s.Distance), string(s.How), s.By, s.Read})
	}
	for _, g := range m.Gaps {
		out.Gaps = append(out.Gaps, gapOut(g))
	}
	return out
}

// headOut begins every asset.
type headOut struct {
	Asset   record.Asset `json:"asset"`
	ID      string       `json:"id"`
	Version string       `json:"version" doc:"Of the details; the same as the ETag."`
	Added   record.Time  `json:"added,omitempty" format:"date-time" doc:"Left out: no record in force adds it."`
	Ended   record.Time  `json:"ended,omitempty" format:"date-time" doc:"When it was scrapped or closed; left out: in use."`
}

func headOf(a record.Asset, version string, added, ended record.Time) headOut {
	return headOut{a, a.Name(), version, added, ended}
}

type documentOut struct {
	Record record.ID     `json:"record"`
	Href   string        `json:"href" doc:"Where the file itself is."`
	Title  string        `json:"title"`
	Sort   string        `json:"sort"`
	Name   string        `json:"name,omitempty"`
	Media  string        `json:"media"`
	Bytes  int64         `json:"bytes"`
	Digest record.Digest `json:"sha256"`
	At     record.Time   `json:"at" format:"date-time"`
	Who    record.Who    `json:"who"`
}

func documentsOut(all []record.Document) []documentOut {
	out := []documentOut{}
	for _, d := range all {
		out = append(out, documentOut{d.ID, "/documents/" + string(d.ID), d.Title, d.Sort, d.Name, d.Media, d.Bytes, d.Blob, d.At, d.Who})
	}
	return out
}

type sittingOut struct {
	Part        record.Asset        `json:"part"`
	Vehicle     record.Asset        `json:"vehicle"`
	Title       string              `json:"title" doc:"Of the part; on a part's page, of the vehicle."`
	Place       string              `json:"place"`
	From        record.Time         `json:"from" format:"date-time"`
	FromReading record.MeterReading `json:"from_reading,omitzero"`
	To          record.Time         `json:"to,omitempty" format:"date-time" doc:"Left out: it is still there."`
	ToReading   record.MeterReading `json:"to_reading,omitzero"`
	Ended       string              `json:"ended,omitempty" doc:"What ended it where nobody entered a removal."`
	Fitted      record.ID           `json:"fitted" doc:"The record that says so."`
	Removed     record.ID           `json:"removed,omitempty"`
	Ran         mileageOut          `json:"ran"`
}

func sittingsOut(all []fleet.Sitting) []sittingOut {
	out := []sittingOut{}
	for i := range all {
		s := &all[i]
		out = append(out, sittingOut{s.Part, s.Vehicle, s.Title, s.Place, s.From, s.FromReading, s.To, s.ToReading, s.Ended, s.Fitted, s.Removed, newMileageOut(&s.Ran)})
	}
	return out
}

type periodOut struct {
	Record  record.ID           `json:"record"`
	Towed   record.Asset        `json:"towed"`
	By      record.Asset        `json:"by"`
	From    record.Time         `json:"from,omitempty" format:"date-time"`
	To      record.Time         `json:"to,omitempty" format:"date-time" doc:"Left out: still coupled, or nobody entered the end."`
	FromBy  record.MeterReading `json:"from_by,omitzero"`
	ToBy    record.MeterReading `json:"to_by,omitzero"`
	FromOwn record.MeterReading `json:"from_own,omitzero"`
	ToOwn   record.MeterReading `json:"to_own,omitzero"`
	Coupled string              `json:"coupled_at,omitempty"`
	Dropped string              `json:"dropped_at,omitempty"`
}

type partNoticeOut struct {
	Notice record.Asset `json:"notice"`
	Title  string       `json:"title"`
	Action string       `json:"action"`
	Part   record.Asset `json:"part"`
	Match  string       `json:"match" doc:"Whether the notice concerns the part, or may."`
	Why    string       `json:"why,omitempty" doc:"Where it cannot be told."`
	Done   *workOut     `json:"done,omitempty" doc:"Left out: still open."`
	Closed record.Time  `json:"closed,omitempty" format:"date-time"`
}

type workOut struct {
	Record record.ID   `json:"record"`
	Done   string      `json:"done"`
	At     record.Time `json:"at" format:"date-time"`
	Who    record.Who  `json:"who"`
}

func newWorkOut(w *record.NoticeWork) *workOut {
	if w == nil {
		return nil
	}
	return &workOut{w.ID, w.Done, w.At, w.Who}
}

func partNoticesOut(all []fleet.PartNotice) []partNoticeOut {
	out := []partNoticeOut{}
	for _, n := range all {
		out = append(out, partNoticeOut{n.Notice, n.Title, n.Action, n.Part, n.Match.String(), n.Why, newWorkOut(n.Work), n.Closed})
	}
	return out
}

type paceOut struct {
	PerDay float64 `json:"per_day_m"`
	Spread float64 `json:"spread_m" doc:"Standard deviation of the daily rate."`
	Meter  string  `json:"meter"`
	Rates  int     `json:"rates" doc:"Intervals behind it."`
}

type questionOut struct {
	Vehicle  record.Asset `json:"vehicle"`
	Number   string       `json:"number"`
	Meter    string       `json:"meter"`
	At       record.Time  `json:"at" format:"date-time"`
	Metres   int64        `json:"distance_m"`
	Why      string       `json:"why"`
	Proposed *int64       `json:"proposed_m" doc:"What it would be after a simple repair; null: none explains it. Nothing is changed by itself."`
}

func questionsOut(all []fleet.Question) []questionOut {
	out := []questionOut{}
	for _, q := range all {
		out = append(out, questionOut(q))
	}
	return out
}

type vehicleOut struct {
	Head      headOut             `json:"head"`
	Number    string              `json:"number" doc:"The fleet number."`
	Details   record.VehicleAdded `json:"details" doc:"What a change sends whole."`
	Lacking   []fleet.Problem     `json:"lacking" nullable:"false" doc:"What is wrong with the fields by today's rules."`
	Fitted    []sittingOut        `json:"fitted" nullable:"false"`
	Gone      []sittingOut        `json:"gone" nullable:"false"`
	Periods   []periodOut         `json:"periods" nullable:"false" doc:"Coupled periods, newest first; 50 at most."`
	Ran       mileageOut          `json:"ran"`
	Pace      *paceOut            `json:"pace,omitempty" doc:"How far it runs a day now; left out: not known."`
	Doubts    []questionOut       `json:"doubts" nullable:"false"`
	Notices   []partNoticeOut     `json:"notices" nullable:"false"`
	Documents []documentOut       `json:"documents" nullable:"false"`
	Problems  []string            `json:"problems" nullable:"false" doc:"What in the records contradicts itself."`
}

func newVehicleOut(p *fleet.VehiclePage) *vehicleOut {
	v := p.Vehicle
	out := &vehicleOut{Head: headOf(v.Asset, p.Version, v.Added, v.Scrapped), Number: v.Number(), Details: v.VehicleAdded, Lacking: append([]fleet.Problem{}, p.Lacking...),
		Fitted: sittingsOut(p.Fitted), Gone: sittingsOut(p.Gone), Periods: []periodOut{}, Ran: newMileageOut(&p.Ran), Doubts: questionsOut(p.Doubts),
		Notices: partNoticesOut(p.Notices), Documents: documentsOut(v.Documents), Problems: append([]string{}, v.Problems...)}
	for _, q := range p.Periods {
		out.Periods = append(out.Periods, periodOut{q.ID, q.Towed, q.By, q.From, q.To, q.FromBy, q.ToBy, q.FromOwn, q.ToOwn, q.Coupled, q.Dropped})
	}
	if p.Pace != nil {
		out.Pace = &paceOut{float64(p.Pace.PerDay), float64(p.Pace.SD), p.Pace.Meter, p.Pace.Rates}
	}
	return out
}

type partOut struct {
	Head      headOut          `json:"head"`
	Details   record.PartAdded `json:"details" doc:"What a change sends whole."`
	Stored    record.Asset     `json:"stored,omitempty" doc:"The depot where it lies."`
	Sat       []sittingOut     `json:"sat" nullable:"false" doc:"Where it sat and sits, newest first."`
	Ran       mileageOut       `json:"ran" doc:"In all, on whatever vehicle."`
	Partners  []partnerOut     `json:"partners" nullable:"false" doc:"The pins that met this coupling, or the couplings that held this pin."`
	Notices   []partNoticeOut  `json:"notices" nullable:"false"`
	Documents []documentOut    `json:"documents" nullable:"false"`
	Problems  []string         `json:"problems" nullable:"false"`
}

type partnerOut struct {
	Part        record.Asset `json:"part"`
	Title       string       `json:"title"`
	Since       record.Time  `json:"since,omitempty" format:"date-time"`
	Last        record.Time  `json:"last,omitempty" format:"date-time" doc:"Left out: they are together now."`
	Times       int          `json:"times"`
	Vehicle     record.Asset `json:"vehicle"`
	VehicleFrom record.Time  `json:"vehicle_from,omitempty" format:"date-time"`
}

func newPartOut(p *fleet.PartPage) *partOut {
	v := p.Part
	out := &partOut{Head: headOf(v.Asset, p.Version, v.Added, v.Scrapped), Details: v.PartAdded, Stored: v.Stored, Sat: sittingsOut(p.Sat), Ran: newMileageOut(&p.Ran),
		Partners: []partnerOut{}, Notices: partNoticesOut(p.Notices), Documents: documentsOut(v.Documents), Problems: append([]string{}, v.Problems...)}
	for _, m := range p.Partners {
		out.Partners = append(out.Partners, partnerOut{m.Part, p.Titles[m.Part], m.Since, m.Last, m.Times, m.Vehicle, m.VehicleFrom})
	}
	return out
}

type typeOut struct {
	Head      headOut          `json:"head"`
	Details   record.TypeAdded `json:"details" doc:"What a change sends whole."`
	Parts     []itemOut        `json:"parts" nullable:"false" doc:"Of this type, newest first; 500 at most."`
	Documents []documentOut    `json:"documents" nullable:"false"`
}

type depotOut struct {
	Head      headOut                   `json:"head"`
	Details   record.DepotAdded         `json:"details" doc:"What a change sends whole."`
	Counts    map[string]map[string]int `json:"counts" doc:"Of what belongs to it, by kind and status."`
	Documents []documentOut             `json:"documents" nullable:"false"`
}

type noticeOut struct {
	Head      headOut             `json:"head"`
	Details   record.NoticeOpened `json:"details" doc:"What a change sends whole."`
	Open      int                 `json:"open" doc:"Parts still to be seen to."`
	Parts     []noticePartOut     `json:"parts" nullable:"false"`
	Documents []documentOut       `json:"documents" nullable:"false"`
}

type noticePartOut struct {
	Part    record.Asset `json:"part"`
	Serial  string       `json:"serial,omitempty"`
	Vehicle record.Asset `json:"vehicle,omitempty" doc:"Where it sits; left out: nowhere."`
	Place   string       `json:"place,omitempty"`
	Match   string       `json:"match"`
	Why     string       `json:"why,omitempty"`
	Done    *workOut     `json:"done,omitempty"`
}

func newNoticeOut(p *fleet.NoticePage) *noticeOut {
	n := p.Notice
	out := &noticeOut{Head: headOf(n.Asset, p.Version, n.Opened, n.Closed), Details: n.NoticeOpened, Open: p.Open, Parts: []noticePartOut{}, Documents: documentsOut(n.Documents)}
	for _, x := range p.Parts {
		out.Parts = append(out.Parts, noticePartOut{x.Part.Asset, x.Part.Serial, x.Part.Vehicle, x.Part.Place, x.Match.String(), x.Why, newWorkOut(x.Work)})
	}
	return out
}

type openNoticesOut struct {
	Notices []noticeOut `json:"notices" nullable:"false"`
}
