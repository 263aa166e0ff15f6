package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"underpin/fleet"
	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
)

// dueRow is one task on a page.
type dueRow struct {
	Shape, State, Word string
	Vehicle, Href      string
	Task               string
	When, Why          string
	Interval, Source   string
	Evidence           string
	Last               string
	Missing            []string
	Enter              string // address of the form that enters it as done, for those who may
}

// dueBlock is what the page of a vehicle says of due work and of its inspections.
type dueBlock struct {
	Rows     []dueRow
	Holds    []holdView
	Outcomes []outcomeLine
	Actions  []linkView
	None     string // why nothing is due
}

type holdView struct{ Shape, State, Text, Href, Do string }

type outcomeLine struct {
	Href, At, Who, Halves string
	Shape, State, Word    string
}

var dueShapes = map[maintenance.DueState][2]string{
	maintenance.Overdue: {"✕", "fails"}, maintenance.PossiblyOverdue: {"▲", "caution"}, maintenance.DueSoon: {"▲", "caution"},
	maintenance.CannotTellDue: {"○", "unknown"}, maintenance.NotDue: {"●", "holds"}, maintenance.DoneOnce: {"●", "holds"},
}

var verdictShapes = map[string][2]string{
	record.VerdictServiceable: {"●", "holds"}, record.VerdictAdvisory: {"●", "holds"}, record.VerdictRepair: {"▲", "caution"},
	record.VerdictCannotTell: {"○", "unknown"}, record.VerdictDoNotUse: {"✕", "fails"},
}

// evidenceWords say what a mark of evidence means.
var evidenceWords = map[string]string{"read": "read in the document", "derived": "derived", "second-hand": "read in a summary", "practice": "common practice, certifies nothing", "memory": "from memory, certifies nothing"}

func newDueRow(ctx context.Context, d *fleet.DueTask) dueRow {
	v := dueRow{Vehicle: vehicleTitle(d.Vehicle), Href: hrefOf(d.Vehicle.Asset), Task: capital(d.Task.Name.English), Word: d.Due.State.String(), Last: dayOf(d.Last),
		Source: d.Interval.Source, Evidence: or(evidenceWords[string(d.Interval.Evidence)], string(d.Interval.Evidence))}
	v.Shape, v.State = dueShapes[d.Due.State][0], dueShapes[d.Due.State][1]
	if d.Due.On != (maintenance.Date{}) {
		v.When = d.Due.On.String()
	}
	v.Why = string(d.Due.Governs)
	var every []string
	i := &d.Interval
	if i.Distance > 0 {
		every = append(every, kilometres(i.Distance))
	}
	if i.Months > 0 {
		every = append(every, counted(i.Months, "month", "months"))
	}
	if i.Days > 0 {
		every = append(every, counted(i.Days, "day", "days"))
	}
	switch {
	case i.Once && len(every) == 0:
		v.Interval = "once, before the first use"
	case i.Once:
		v.Interval = "once, after " + strings.Join(every, " or ")
	case len(every) == 0:
		v.Interval = "not set: enter it from the type’s document"
	case len(every) == 1:
		v.Interval = "every " + every[0]
	default:
		v.Interval = "every " + strings.Join(every, " or ") + ", whichever comes first"
	}
	v.Interval = capital(v.Interval)
	for _, m := range d.Due.Missing {
		v.Missing = append(v.Missing, m.String())
	}
	if may(ctx, fleet.Fit) && d.Due.State != maintenance.DoneOnce {
		v.Enter = hrefOf(d.Vehicle.Asset) + "/done?" + url.Values{"task": {d.Task.Key}}.Encode()
	}
	return v
}

// duePage is what templates/due.html shows.
type duePage struct {
	Tabs               []tabView
	State, Shape, Lead string
	Next               string
	Held               []heldView
	Rows               []dueRow
	More               int
}

type heldView struct{ Href, Title, Shape, State, Word string }

// mostDue is how many tasks the page of due work shows: the most urgent.
const mostDue = 500

func (s *site) duePage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	depot := record.Asset(r.FormValue("depot"))
	if depot.Kind() != record.DepotAsset {
		depot = ""
	}
	all, err := s.Register.DueList(ctx, depot)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	held, err := s.Register.NotInUse(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := duePage{Tabs: tabs("due"), State: "holds", Shape: "●"}
	for _, x := range held {
		if depot == "" || x.Depot == depot {
			v.Held = append(v.Held, heldView{hrefOf(x.Asset), vehicleTitle(x), verdictShapes[x.Upkeep.Held()][0], verdictShapes[x.Upkeep.Held()][1], verdictWords[x.Upkeep.Held()]})
		}
	}
	counts := map[maintenance.DueState]int{}
	for i := range all {
		counts[all[i].Due.State]++
		if len(v.Rows) < mostDue {
			v.Rows = append(v.Rows, newDueRow(ctx, &all[i]))
		}
	}
	v.More = len(all) - len(v.Rows)
	switch {
	case counts[maintenance.Overdue] > 0:
		v.State, v.Shape, v.Lead = "fails", "✕", counted(counts[maintenance.Overdue], "task is", "tasks are")+" overdue."
		v.Next = "Begin with " + v.Rows[0].Vehicle + ": " + lower(v.Rows[0].Task) + "."
	case counts[maintenance.PossiblyOverdue]+counts[maintenance.DueSoon] > 0:
		v.State, v.Shape, v.Lead = "caution", "▲", counted(counts[maintenance.PossiblyOverdue]+counts[maintenance.DueSoon], "task is", "tasks are")+" due within two weeks, or may be overdue."
	case counts[maintenance.CannotTellDue] > 0:
		v.State, v.Shape, v.Lead = "unknown", "○", "Nothing is known to be due."
	default:
		v.Lead = "Nothing is due."
	}
	if n := counts[maintenance.CannotTellDue]; n > 0 {
		v.Next += " Of " + counted(n, "task", "tasks") + " it cannot be told: what is missing stands beside each."
	}
	s.render(w, r, http.StatusOK, "due", "Due work", v)
}

// upkeepBlock fills in what the page of a vehicle says of upkeep; what holds it back
// goes before everything else.
func (s *site) upkeepBlock(ctx context.Context, v *assetView, x *record.Vehicle) error {
	v.Due = &dueBlock{}
	if x.Added == 0 {
		return nil
	}
	v.Due.Holds = newHolds(ctx, x)
	if h := x.Upkeep.Held(); h != "" && x.Scrapped == 0 {
		v.state(verdictShapes[h][0], verdictShapes[h][1], capital(verdictWords[h])+": "+v.Due.Holds[0].Text)
	}
	due, err := s.Register.DueOf(ctx, x.Asset)
	if err != nil {
		return err
	}
	for i := range due {
		v.Due.Rows = append(v.Due.Rows, newDueRow(ctx, &due[i]))
	}
	if len(due) == 0 {
		v.Due.None = "Nothing is reckoned: no part that wears is fitted. Fit the fifth wheel or kingpin as a part, with its type record, and its intervals count from then."
	}
	if u := x.Upkeep; u != nil {
		for i := len(u.Outcomes) - 1; i >= 0; i-- {
			o := &u.Outcomes[i]
			l := outcomeLine{Href: outcomeHref(x.Asset, o.ID), At: when(o.At), Who: o.Who.Name, Word: verdictWords[o.Verdict], Shape: verdictShapes[o.Verdict][0], State: verdictShapes[o.Verdict][1]}
			for _, id := range o.Sheets {
				if f := u.Sheet(id); f != nil {
					l.Halves = strings.Trim(l.Halves+"; "+halvesWord(f.Halves), "; ")
				}
			}
			v.Due.Outcomes = append(v.Due.Outcomes, l)
		}
	}
	if x.Scrapped != 0 {
		return nil
	}
	offer := func(p fleet.Permission, path, text string) {
		if may(ctx, p) {
			v.Due.Actions = append(v.Due.Actions, linkView{hrefOf(x.Asset) + path, text})
		}
	}
	if x.VehicleAdded.Vehicle != record.Dolly {
		offer(fleet.Fit, "/gauge", "Fill in a gauge sheet")
	}
	offer(fleet.Fit, "/done", "Enter work as done")
	if slices.ContainsFunc(x.Upkeep.Holds(), func(h record.Hold) bool { return h.Verdict == record.VerdictDoNotUse && h.Outcome != nil }) {
		offer(fleet.Fit, "/return", "Return to service")
	}
	offer(fleet.Report, "/event", "Report a jack-knife, drop or high coupling")
	return nil
}

func outcomeHref(a record.Asset, id record.ID) string { return hrefOf(a) + "/outcomes/" + string(id) }

// newHolds says what keeps a vehicle out of use, and what to do about it.
func newHolds(ctx context.Context, x *record.Vehicle) (all []holdView) {
	for _, h := range x.Upkeep.Holds() {
		v := holdView{Shape: verdictShapes[h.Verdict][0], State: verdictShapes[h.Verdict][1]}
		switch {
		case h.Event != nil:
			v.Text = eventWord(h.Event.Event) + " on " + dayOf(h.Event.At) + ", not checked yet."
			v.Do = "Gauge it, then enter the check."
			if may(ctx, fleet.Fit) {
				v.Href = hrefOf(x.Asset) + "/events/" + string(h.Event.ID) + "/clear"
			}
		case h.Outcome != nil:
			v.Href = outcomeHref(x.Asset, h.Outcome.ID)
			v.Do = "Reasons and work order"
			switch {
			case len(h.Outcome.Reasons) > 0 && h.Verdict == record.VerdictDoNotUse:
				v.Text = h.Outcome.Reasons[0] + "."
			case len(h.Outcome.Missing) > 0:
				v.Text = h.Outcome.Missing[0] + "."
			default:
				v.Text = "inspection of " + dayOf(h.Outcome.At) + "."
			}
		default:
			v.Text = "it is held out of use."
			v.Href = hrefOf(x.Asset)
		}
		all = append(all, v)
	}
	return all
}

func (s *site) doTask(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	due, err := s.Register.DueOf(r.Context(), x.Asset)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	var tasks []option
	for i := range due {
		tasks = append(tasks, option{Value: due[i].Task.Key, Text: capital(due[i].Task.Name.English)})
	}
	task := r.FormValue("task")
	lead := "What the type’s instructions say goes before these steps."
	if t, known := maintenance.FindTask(task); known {
		for _, list := range [][]maintenance.Text{t.Prepare, t.Steps, t.Cautions} {
			for _, step := range list {
				lead += " " + step.English
			}
		}
	}
	fields := append([]field{{Key: "task", Label: "What was done", Sort: choiceSort, Choices: tasks, Must: true}}, readingFields("", "", metersOf(x.VehicleAdded.Vehicle))...)
	fields = append(fields, field{Key: "by", Label: "Who did it", Doc: "Left out: you."}, field{Key: "note", Label: "Note", Sort: wordsSort})
	s.act(w, r, &action{
		head: "Work done at " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true, lead: lead,
		spec: one(fields...), typed: typed{"task": task, "meter": usualMeter(x.VehicleAdded.Vehicle)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.DoTask{Meta: in.Meta, Vehicle: x.Asset, Task: textOf(in.values, "task"), Reading: readingOf(in.values, ""), By: textOf(in.values, "by"), Note: textOf(in.values, "note")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

func (s *site) blockUse(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	var events []option
	for _, e := range maintenance.Events() {
		events = append(events, option{Value: e.Key, Text: capital(e.Name.English)})
	}
	fields := append([]field{{Key: "event", Label: "What happened", Sort: choiceSort, Choices: events, Must: true},
		{Key: "number", Label: "With which vehicle", Doc: "Fleet number. Left out: the one that it is coupled to by the register."},
		{Key: "text", Label: "In your words", Sort: wordsSort}}, readingFields("", "", metersOf(x.VehicleAdded.Vehicle))...)
	s.act(w, r, &action{
		head: "Do not use " + vehicleTitle(x), save: "Take it out of use", back: hrefOf(x.Asset), when: true,
		lead: "What overloads a coupling at once can crack it where nobody sees it. Both halves stay out of use until each was uncoupled, cleaned, gauged and checked.",
		spec: one(fields...), typed: typed{"meter": usualMeter(x.VehicleAdded.Vehicle)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.BlockUse{Meta: in.Meta, Vehicle: x.Asset, Event: textOf(in.values, "event"), Text: textOf(in.values, "text"), Reading: readingOf(in.values, "")}
			if in.values["number"] != nil {
				other, err := s.numbered(ctx, in, "number")
				if err != nil {
					return nil, err
				}
				c.Partner = other
			}
			return s.Register.Do(ctx, c)
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

func (s *site) clearUse(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	id := record.ID(r.PathValue("event"))
	if !slices.ContainsFunc(x.Upkeep.Holds(), func(h record.Hold) bool { return h.Event != nil && h.Event.ID == id }) {
		s.fail(w, r, &fleet.NotFound{What: "open event", Name: string(id)})
		return
	}
	lead := "A gauge sheet of every half must be filled in after the event, and must let it run."
	if t, known := maintenance.FindTask(maintenance.AfterEvent); known {
		for _, step := range slices.Concat(t.Steps, t.Cautions) {
			lead += " " + step.English
		}
	}
	s.act(w, r, &action{
		head: "Checked after the event: " + vehicleTitle(x), save: "Sign it and return it to use", back: hrefOf(x.Asset), lead: lead,
		spec: one(field{Key: "found", Label: "What was looked at, and how it was", Sort: wordsSort, Must: true}),
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ClearUse{Meta: in.Meta, Vehicle: x.Asset, Block: id, Found: textOf(in.values, "found")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

func (s *site) returnToService(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	s.act(w, r, &action{
		head: "Return " + vehicleTitle(x) + " to service", save: "Return it to service", back: hrefOf(x.Asset),
		lead: "It returns when every step of every blocking item is signed and it was gauged again after the work with nothing that blocks. What is still open is told here.",
		spec: one(readingFields("", "", metersOf(x.VehicleAdded.Vehicle))...), typed: typed{"meter": usualMeter(x.VehicleAdded.Vehicle)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ReturnToService{Meta: in.Meta, Vehicle: x.Asset, Reading: readingOf(in.values, "")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

// limitText is a limit as a page says it.
func limitText(l *record.HeldLimit) string {
	return map[string]string{"at or below": "replace at or below ", "below": "not below ", "at or above": "replace at or above ", "above": "not above "}[l.Fails] + l.Printed
}

func rowLimit(l *maintenance.Limit) string {
	return limitText(&record.HeldLimit{Fails: string(l.Fails), Printed: l.Printed}) + " (" + string(l.Layer) + ": " + l.Source + "; " + or(evidenceWords[string(l.Evidence)], string(l.Evidence)) + ")"
}

func newSize(r *maintenance.Row) string {
	if r.New != r.New || r.Measure.Dim != unit.LengthDim {
		return ""
	}
	return "New: " + unit.Format(r.New, unit.MM, 2) + "."
}

// heldOf says what keeps the vehicles of a pair out of use.
func (s *site) heldOf(ctx context.Context, numbers ...string) (all []holdView, err error) {
	if s.Register == nil {
		return nil, nil
	}
	now, err := s.Register.FleetOf(ctx, numbers...)
	if err != nil {
		return nil, err
	}
	for _, n := range numbers {
		if len(now.Held[n]) == 0 {
			continue
		}
		p, err := s.Register.VehiclePage(ctx, now.Assets[n])
		if err != nil {
			return nil, err
		}
		for _, h := range newHolds(ctx, p.Vehicle) {
			h.Text = vehicleTitle(p.Vehicle) + ", " + map[bool]string{true: "do not use", false: "cannot tell"}[h.State == "fails"] + ": " + h.Text
			all = append(all, h)
		}
	}
	return all, nil
}
