package web

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// when shows an instant by the server's clock.
func when(t record.Time) string {
	if t == 0 {
		return ""
	}
	return t.Time().Local().Format("2 Jan 2006 15:04")
}

func dayOf(t record.Time) string {
	if t == 0 {
		return ""
	}
	return t.Time().Local().Format("2 Jan 2006")
}

// kilometres shows a distance that was read or run.
func kilometres(m unit.Length) string { return unit.Format(float64(m), unit.KM, 0) }

func metresText(m *int64) string {
	if m == nil {
		return "not read"
	}
	return kilometres(unit.Length(*m))
}

// An eventView is one record in a history.
type eventView struct {
	ID       record.ID
	Href     string
	Happened string
	Entered  string // where it is not the time it happened
	Who      string
	Head     string // what happened, in a few words
	About    string // of which asset, in a list of several
	AboutRef string
	Lines    []string
	Reason   string
	Mark     string // corrected, taken back
	MarkRef  string
	Gone     bool // no longer in force
	CanUndo  bool
	CanFix   bool // has a form to correct it
}

// A teller puts records in words.
type teller struct {
	titles map[record.Asset]string
	fields func(kind string) []field // of a vehicle
	actor  *fleet.Actor
}

func (t *teller) title(a record.Asset) string {
	if name, have := t.titles[a]; have {
		return name
	}
	return string(a)
}

// mentioned lists the assets that records speak of, for their titles.
func mentioned(events []fleet.Event) []record.Asset {
	var all []record.Asset
	for _, e := range events {
		all = append(all, e.Asset)
		switch b := e.Said.(type) {
		case record.PartFitted:
			all = append(all, b.Vehicle)
		case record.PartRemoved:
			all = append(all, b.Vehicle, b.Depot)
		case record.Coupled:
			all = append(all, b.By)
		case record.NoticePartClosed:
			all = append(all, b.Part)
		case record.PermissionsChanged:
			all = append(all, b.Depots...)
		case record.AnswerKept:
			all = append(all, b.Vehicles...)
		case record.VehicleAdded:
			all = append(all, b.Depot)
		case record.TaskDone:
			all = append(all, b.Part)
		case record.SheetFilled:
			all = append(all, b.Partner)
		case record.UseBlocked:
			all = append(all, b.Partner)
		case record.PartAdded:
			all = append(all, b.Depot, b.Type)
		case record.NoticeOpened:
			all = append(all, b.Type)
		}
	}
	return all
}

func (t *teller) event(e *fleet.Event) eventView {
	v := eventView{ID: e.ID, Href: "/records/" + string(e.ID), Happened: when(e.Happened), Who: e.Who.Name, Reason: e.Reason}
	if d := e.Entered - e.Happened; d > 90_000_000 || d < -90_000_000 {
		v.Entered = when(e.Entered)
	}
	v.Head, v.Lines = t.say(e.Kind, e.Said)
	if e.Corrects != "" && e.Kind != record.VoidKind {
		v.Head = "Corrected: " + lower(v.Head)
	}
	switch {
	case e.Void:
		v.Mark, v.Gone = "taken back", true
	case e.Later != "":
		v.Mark, v.Gone = "corrected", true
	}
	if e.Later != "" {
		v.MarkRef = "/records/" + string(e.Later)
	}
	v.CanUndo = t.actor != nil && e.Later == "" && e.Said != nil && t.mayAmend(e)
	v.CanFix = v.CanUndo && e.Kind != record.VoidKind && fixable(e.Said)
	return v
}

// mayAmend tells whether it is worth while to show the way to a correction; the
// register decides.
func (t *teller) mayAmend(e *fleet.Event) bool {
	if !t.actor.May(fleet.Report) {
		return false
	}
	return t.actor.May(fleet.Amend) || t.actor.Who.Account != "" && e.Who.Account == t.actor.Who.Account
}

// say puts a body in words: a head, and lines of what belongs to it.
func (t *teller) say(kind string, said record.Body) (head string, lines []string) {
	reading := func(what string, m record.MeterReading) {
		if m.Metres != nil {
			lines = append(lines, what+metersNames[m.Meter]+" "+metresText(m.Metres))
		}
	}
	add := func(label, text string) {
		if text != "" {
			lines = append(lines, label+": "+text)
		}
	}
	switch b := said.(type) {
	case record.VehicleAdded:
		head = "Added as " + article(b.Vehicle)
		lines = t.details(t.fields(b.Vehicle), flat(b))
	case record.VehicleChanged:
		head, lines = "Changed", t.changes(nil, b.Changes)
	case record.VehicleScrapped:
		head = "Scrapped"
		reading("", b.Reading)
	case record.PartAdded:
		head = "Added as " + article(spaced(b.Part))
		lines = t.details(partSpec(nil, nil).fields, flat(b))
	case record.PartChanged:
		head, lines = "Changed", t.changes(partSpec(nil, nil).fields, b.Changes)
	case record.PartFitted:
		head = "Fitted to " + t.title(b.Vehicle) + " as " + spaced(b.Place)
		reading("", b.Reading)
	case record.PartRemoved:
		head = "Removed from " + t.title(b.Vehicle)
		reading("", b.Reading)
		if b.Depot != "" {
			add("Lies at", t.title(b.Depot))
		}
		add("Condition", b.Condition)
	case record.PartScrapped:
		head = "Scrapped"
	case record.TypeAdded:
		head = "Added as a type of " + spaced(b.Part)
		lines = t.details(typeSpec().fields, flat(b))
	case record.TypeChanged:
		head, lines = "Changed", t.changes(typeSpec().fields, b.Changes)
	case record.DepotAdded:
		head = "Added"
		lines = t.details(depotSpec().fields, flat(b))
	case record.DepotChanged:
		head, lines = "Changed", t.changes(depotSpec().fields, b.Changes)
	case record.DepotClosed:
		head = "Closed"
	case record.DocumentAttached:
		head = "Attached " + sortWords[b.Sort] + ": " + b.Title
	case record.MeterReplaced:
		head = "Replaced the " + metersNames[b.Meter]
		lines = append(lines, "Old one at the end: "+metresText(b.Old), "New one at the start: "+metresText(&b.New))
	case record.ReadingJudged:
		head = "Judged the reading of " + when(b.At) + ", " + metersNames[b.Meter] + " " + metresText(&b.Metres) + ": " + map[string]string{record.KeepReading: "it is right", record.LeaveReading: "left out", record.ReadAs: "read as " + metresText(b.ReadAs)}[b.Decision]
	case record.Coupled:
		head = "Coupled to " + t.title(b.By)
		add("Place", b.Place)
		reading("of the towing vehicle, ", b.ByReading)
		reading("own ", b.Reading)
	case record.Uncoupled:
		head = "Uncoupled"
		add("Place", b.Place)
		reading("of the towing vehicle, ", b.ByReading)
		reading("own ", b.Reading)
	case record.NoticeOpened:
		head = "Opened"
		lines = t.details(noticeSpec(nil).fields, flat(b))
	case record.NoticeChanged:
		head, lines = "Changed", t.changes(noticeSpec(nil).fields, b.Changes)
	case record.NoticePartClosed:
		head = "Saw to " + t.title(b.Part)
		lines = append(lines, b.Done)
	case record.NoticeClosed:
		head = "Closed"
	case record.LimitsChanged:
		head, lines = "Changed", t.changes(nil, b.Changes)
	case record.AnswerKept:
		var names []string
		for _, a := range b.Vehicles {
			names = append(names, t.title(a))
		}
		head = "Kept the answer for " + strings.Join(names, " with ")
		add("Rulebook", b.Rulebook)
		add("Program", b.Program)
	case record.CatalogueKept:
		head = "Brought in the catalogue of mounting parts " + b.Name
		lines = append(lines, counted(int(b.Parts), "part", "parts")+", "+counted(int(b.Chassis), "chassis", "chassis")+", "+counted(int(b.Briefs), "brief", "briefs")+", "+counted(int(b.Fittings), "mounting chosen", "mountings chosen"))
	case record.SpecificationKept:
		sheet := record.Sheet{SpecificationKept: b}
		_, _, word := sheetState(&sheet)
		head = "Kept mounting specification " + sheetName(&sheet) + ", " + word
		add("Mounting", b.Stack)
		if b.At != nil {
			add("Behind the front axle", unit.Digits(float64(*b.At), 0)+" mm")
		}
		add("Answer", spaced(b.Answer))
		for _, text := range b.Warnings {
			add("Stood as a warning", text)
		}
		add("Rulebook", b.Rulebook)
		add("Program", b.Program)
	case record.MountingBuilt:
		head = "Entered a mounting as built"
		add("Held against the specification", spaced(b.Answer))
		reading("", b.Reading)
		if b.Retighten.At != nil {
			add("Bolts again at", metresText(b.Retighten.At))
		}
		add("Bolts again on", b.Retighten.Day)
		add("By", b.Retighten.Document)
		for _, text := range b.Retighten.Missing {
			add("Missing", text)
		}
	case record.BoltsTightened:
		head = "Tightened the bolts of the mounting again"
		for _, q := range b.Torques {
			add(q.Joint, q.Torque+", wrench "+q.Wrench)
		}
		reading("", b.Reading)
		add("Note", b.Note)
	case record.AccountAdded:
		head = "Account added: " + b.Name + " (" + b.Login + ")"
	case record.AccountChanged:
		head, lines = "Account changed", t.changes(nil, b.Changes)
	case record.AccountClosed:
		head = "Account closed"
	case record.PermissionsChanged:
		head = "May be from now on: " + orNone(strings.Join(b.Roles, ", "))
		for _, d := range b.Depots {
			add("Only at", t.title(d))
		}
	case record.TokenIssued:
		head = "Token issued: " + b.Title
		lines = append(lines, "May: "+strings.Join(b.Scopes, ", "), "Until "+dayOf(b.Expires))
	case record.TokenRevoked:
		head = "Token taken back"
	case record.Void:
		head = "Took back: " + spaced(b.Of)
	default:
		if head, lines = t.sayUpkeep(said); head != "" {
			return head, lines
		}
		if head, lines = sayYard(said); head != "" {
			return head, lines
		}
		head = capital(spaced(kind)) + " (written by a later version of the program)"
	}
	return head, lines
}

var metersNames = map[string]string{record.Odometer: "odometer", record.HubMeter: "hub meter", record.Brake: "brake controller"}

var sortWords = map[string]string{"photo": "a photo", "certificate": "a certificate", "instructions": "instructions", "plate": "a photo of the plate", "other": "a document"}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune((noun + " ")[0])) {
		return "an " + noun
	}
	return "a " + noun
}

func orNone(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// flat writes details as members by name, those of the fleet file among them.
func flat(details any) map[string]json.RawMessage {
	var members, inner map[string]json.RawMessage
	_ = json.Unmarshal(jsonOf(details), &members) // just written
	if raw, have := members["fields"]; have {
		delete(members, "fields")
		if json.Unmarshal(raw, &inner) == nil {
			maps.Copy(members, inner)
		}
	}
	return members
}

// details says every value in a line of its own.
func (t *teller) details(fields []field, members map[string]json.RawMessage) []string {
	var lines []string
	for i := range fields {
		f := &fields[i]
		if raw, have := members[f.Key]; have && !f.Fixed {
			lines = append(lines, t.value(f, raw)...)
		}
	}
	return lines
}

func (t *teller) value(f *field, raw json.RawMessage) []string {
	said := sayValue(f, raw)
	for i := range said {
		if a := record.Asset(said[i]); a.Valid() {
			said[i] = t.title(a)
		}
	}
	switch {
	case len(said) == 1 && f.Sort != tableSort && f.Sort != listSort:
		return []string{f.Label + ": " + said[0]}
	case f.Sort == tableSort:
		for i := range said {
			said[i] = f.Label + ", " + lower(said[i])
		}
	}
	return said
}

// changes says what was set and what is unknown from then on.
func (t *teller) changes(fields []field, c record.Changes) []string {
	if fields == nil && t.fields != nil {
		for _, kind := range []string{record.Tractor, record.SemiTrailer, record.Dolly} {
			fields = append(fields, t.fields(kind)...)
		}
	}
	set := map[string]json.RawMessage{}
	for name, raw := range c.Set {
		if name != "fields" {
			set[name] = raw
			continue
		}
		var inner map[string]json.RawMessage
		if json.Unmarshal(raw, &inner) == nil {
			maps.Copy(set, inner)
		}
	}
	var lines []string
	for _, name := range slices.Sorted(maps.Keys(set)) {
		f, _ := findField(fields, name)
		if f == nil {
			lines = append(lines, members(capital(spaced(name)), set[name])...)
			continue
		}
		lines = append(lines, t.value(f, set[name])...)
	}
	for _, name := range c.Clear {
		name = strings.TrimPrefix(name, "fields.")
		label := capital(spaced(name))
		if f, _ := findField(fields, name); f != nil {
			label = f.Label
		}
		lines = append(lines, label+": unknown from now on")
	}
	return lines
}

// members says a value that no form knows, a line for each of its members.
func members(label string, raw json.RawMessage) []string {
	var inner map[string]json.RawMessage
	if json.Unmarshal(raw, &inner) == nil && inner != nil {
		var lines []string
		for _, name := range slices.Sorted(maps.Keys(inner)) {
			lines = append(lines, members(label+", "+spaced(name), inner[name])...)
		}
		return lines
	}
	var list []json.RawMessage
	if json.Unmarshal(raw, &list) == nil && len(list) > 0 {
		var lines, plain []string
		for i, item := range list {
			if item[0] == '{' {
				lines = append(lines, members(fmt.Sprintf("%s %d", label, i+1), item)...)
				continue
			}
			plain = append(plain, plainText(item))
		}
		if plain != nil {
			lines = append(lines, label+": "+strings.Join(plain, ", "))
		}
		return lines
	}
	return []string{label + ": " + plainText(raw)}
}

// plainText is a value without the quotes of JSON.
func plainText(raw json.RawMessage) string {
	var text string
	if json.Unmarshal(raw, &text) != nil {
		return string(raw)
	}
	return text
}

// historyView is the history of an asset as its page shows it.
type historyView struct {
	Events []eventView
	Older  string // address of the next page
}

// tell reads one page of a history and puts it in words.
func (s *site) tell(ctx context.Context, h *fleet.History) (*historyView, error) {
	names, err := s.titles(ctx, mentioned(h.Events)...)
	if err != nil {
		return nil, err
	}
	t := &teller{titles: names, fields: vehicleFields, actor: person(ctx)}
	v := &historyView{}
	for i := range h.Events {
		v.Events = append(v.Events, t.event(&h.Events[i]))
	}
	if h.Before > 0 {
		v.Older = fmt.Sprintf("%s?before=%d#history", hrefOf(h.Asset), h.Before)
	}
	return v, nil
}
