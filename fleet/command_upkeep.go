package fleet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
)

// DoTask says that recurring work was done.
type DoTask struct {
	Meta
	Vehicle record.Asset
	Task    string
	Reading record.MeterReading
	By      string // who did it, when not who enters it
	Note    string
}

func (*DoTask) spec() (Permission, string) { return Fit, "task-done" }

func (c *DoTask) plan(s *step) error {
	v, err := s.kept(c.Vehicle, c.Reading)
	if err != nil {
		return err
	}
	if s.meta.Happened > s.now {
		return invalid(v.Number(), "when", "a time to come", "when it was done")
	}
	return s.enter(c.Vehicle, record.TaskDone{Task: c.Task, Reading: c.Reading, By: c.By, Note: c.Note})
}

// kept is a vehicle in use that the actor may see to, with a meter that it has.
func (s *step) kept(a record.Asset, m record.MeterReading) (*record.Vehicle, error) {
	v, err := s.inUse("vehicle", a)
	if err != nil {
		return nil, err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return nil, err
	}
	return v, s.checkMeter(v, "reading", m)
}

func (s *step) equipped(v *record.Vehicle) (*equipment, error) {
	law, err := s.r.law(s.ctx)
	if err != nil {
		return nil, err
	}
	return equip(v, law, s.entity)
}

// FillSheet enters a gauge sheet as it was filled in, and what it means with it. A
// half that is still missing makes the outcome cannot-tell. What seems wrong comes
// back as [*Asked], and nothing is entered.
type FillSheet struct {
	Meta
	Vehicle record.Asset
	Partner record.Asset // the other vehicle of a coupled pair
	Reading record.MeterReading
	Filled  maintenance.Filled
}

func (*FillSheet) spec() (Permission, string) { return Fit, "sheet-filled" }

// Asked says what seems wrong with a gauge sheet. What is refused must be put right;
// the rest may be confirmed, each with a reason.
type Asked struct {
	Questions []maintenance.Question
}

func (a *Asked) Error() string {
	var say []string
	for _, q := range a.Questions {
		say = append(say, q.Say.String())
	}
	return strings.Join(say, "; ")
}

func (c *FillSheet) plan(s *step) error {
	v, err := s.kept(c.Vehicle, c.Reading)
	if err != nil {
		return err
	}
	q, err := s.equipped(v)
	if err != nil {
		return err
	}
	f := c.Filled
	if len(f.Halves) == 0 {
		return invalid(v.Number(), "halves", "nothing", "what was gauged")
	}
	for _, h := range f.Halves {
		if !slices.Contains(q.halves(), h) {
			return invalid(v.Number(), "halves", string(h), "what can be gauged of a "+v.VehicleAdded.Vehicle)
		}
	}
	if f.On == "" {
		f.On = s.meta.Happened.Time().Local().Format("2006-01-02")
	}
	if f.Workshop == "" && f.Measured == "" {
		f.Measured = s.actor.Who.Name
	}
	if f.Workshop != "" && f.Accepted == "" {
		f.Accepted = s.actor.Who.Name
	}
	f.Metres = c.Reading.Metres
	ask := maintenance.CheckAsk{Sheet: q.sheet(f.Halves, record.Latest), Filled: f, Today: dateOf(s.now)}
	if u := v.Upkeep; u != nil && len(u.Sheets) > 0 {
		last := u.Sheets[len(u.Sheets)-1]
		ask.LastOn = dateOf(last.At)
		if last.Reading.Meter == c.Reading.Meter {
			ask.Last = last.Reading.Metres
		}
	}
	if open := maintenance.CheckSheet(ask); len(open) > 0 {
		return &Asked{open}
	}
	body := bodyOf(&f)
	body.Partner, body.Parts, body.Reading = c.Partner, q.parts, c.Reading
	if err := s.enter(c.Vehicle, body); err != nil {
		return err
	}
	e, err := s.entity(c.Vehicle)
	if err != nil {
		return err
	}
	if q.vehicle, err = e.Vehicle(record.Latest); err != nil {
		return err
	}
	sheets := q.inspected()
	o := q.judge(sheets, s.meta.Happened)
	given := q.given(&o, sheets, s.r.world.Program)
	if given.Verdict == record.VerdictDoNotUse {
		s.warn("use", "that it may not be used: "+strings.Join(given.Reasons, "; "), "that nobody drives it until it is returned to service")
	}
	return s.enterDraft(record.Draft{Asset: c.Vehicle, Happened: s.meta.Happened, Body: given})
}

// SignWork signs one step of the work order of an outcome. A prerequisite may be
// signed as one that does not hold.
type SignWork struct {
	Meta
	Vehicle record.Asset
	Outcome record.ID
	Step    string
	No      bool
}

func (*SignWork) spec() (Permission, string) { return Fit, "work-signed" }

func (c *SignWork) plan(s *step) error {
	v, err := s.kept(c.Vehicle, record.MeterReading{})
	if err != nil {
		return err
	}
	o := v.Upkeep.Outcome(c.Outcome)
	if o == nil {
		return &NotFound{What: "outcome of an inspection of " + v.Number(), Name: string(c.Outcome)}
	}
	q, err := s.equipped(v)
	if err != nil {
		return err
	}
	order, _ := q.order(q.again(o))
	for _, it := range order.Items {
		for _, st := range it.Steps {
			if st.Key != c.Step {
				continue
			}
			if c.No && st.Kind != maintenance.StepPrerequisite {
				return invalid(v.Number(), "step", "a no to work", "a signature when it is done; only what must be true before may be answered with no")
			}
			return s.enter(c.Vehicle, record.WorkSigned{Outcome: c.Outcome, Step: c.Step, Text: st.Text.English, No: c.No})
		}
	}
	return &NotFound{What: "step of the work order", Name: c.Step}
}

// ReturnToService ends what held a vehicle back: every blocking item of every order
// is signed, no event is open, and measuring again after the work does not block.
type ReturnToService struct {
	Meta
	Vehicle record.Asset
	Reading record.MeterReading
}

func (*ReturnToService) spec() (Permission, string) { return Fit, "returned-to-service" }

func (c *ReturnToService) plan(s *step) error {
	v, err := s.kept(c.Vehicle, c.Reading)
	if err != nil {
		return err
	}
	q, err := s.equipped(v)
	if err != nil {
		return err
	}
	var open []*record.Outcome
	wrong := &Invalid{}
	refuse := func(found, expected string) {
		wrong.Problems = append(wrong.Problems, Problem{"return", found, expected})
	}
	for _, h := range v.Upkeep.Holds() {
		switch {
		case h.Event != nil:
			refuse("an event nobody checked: "+h.Event.Event+" on "+day(h.Event.At), "its check, signed")
		case h.Verdict == record.VerdictDoNotUse:
			open = append(open, h.Outcome)
		}
	}
	if len(open) == 0 {
		return invalid(v.Number(), "return", "nothing that holds it back", "a vehicle that an inspection took out of use")
	}
	last := v.Upkeep.Last()
	var after *maintenance.Outcome
	signed := record.Time(0)
	for _, g := range v.Upkeep.Signed {
		signed = max(signed, g.At)
	}
	if last.At > open[len(open)-1].At && last.At >= signed {
		again := q.again(last)
		after = &again
	}
	body := record.ReturnedToService{After: last.ID, Reading: c.Reading}
	var taken []*int64
	var of []record.ID
	for _, o := range open {
		order, _ := q.order(q.again(o))
		ret := order.Return(q.signatures(o.ID), after)
		for _, m := range ret.Open {
			refuse(m.String(), "what closes it")
		}
		body.Outcomes = append(body.Outcomes, o.ID)
		for _, l := range ret.Lives {
			if l.Rule == maintenance.LifeAdjusts {
				taken, of = append(taken, um(l.Taken)), append(of, o.ID)
				continue
			}
			body.Lives = append(body.Lives, record.LifeEnded{Part: l.Part, Work: l.Work, Rule: string(l.Rule), NewUM: um(l.New)})
		}
	}
	if after != nil && slices.Contains(body.Outcomes, last.ID) {
		refuse("no inspection after the work", "a gauge sheet filled in after the work")
	}
	if len(wrong.Problems) > 0 {
		return wrong
	}
	if err := s.enter(c.Vehicle, body); err != nil {
		return err
	}
	for i := range taken {
		p := record.PlayTakenUp{Outcome: of[i], TakenUM: taken[i], Reading: c.Reading}
		for _, f := range v.Fitted() {
			if f.Place == record.AtFifthWheel {
				p.Part = f.Part
			}
		}
		if err := s.enter(c.Vehicle, p); err != nil {
			return err
		}
	}
	return nil
}

// um is a length in whole micrometres, nil when it is not known.
func um(l unit.Length) *int64 {
	if math.IsNaN(float64(l)) {
		return nil
	}
	return new(int64(math.Round(float64(l) * 1e6)))
}

// BlockUse reports an event that overloads a coupling at once. It blocks the vehicle
// and the one that it was coupled to until each was checked.
type BlockUse struct {
	Meta
	Vehicle record.Asset
	Event   string
	Partner record.Asset // left out: the one that it is coupled to now
	Text    string
	Reading record.MeterReading
}

func (*BlockUse) spec() (Permission, string) { return Report, "use-blocked" }

func (c *BlockUse) plan(s *step) error {
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := s.checkMeter(v, "reading", c.Reading); err != nil {
		return err
	}
	ev, known := maintenance.FindEvent(c.Event)
	if !known {
		return invalid(v.Number(), "event", show(encoded(c.Event)), "an event that overloads a coupling")
	}
	partner := c.Partner
	if partner == "" {
		p, err := s.lastPeriod(c.Vehicle, func(p *record.Period) bool { return p.To == 0 })
		if err != nil {
			return err
		}
		if p != nil && p.To == 0 {
			if partner = p.By; partner == c.Vehicle {
				partner = p.Towed
			}
		}
	}
	if partner == c.Vehicle {
		return invalid(v.Number(), "partner", "the vehicle itself", "the one that it was coupled to")
	}
	if partner != "" {
		if _, err := s.vehicle("partner", partner); err != nil {
			return err
		}
	}
	if err := s.enter(c.Vehicle, record.UseBlocked{Event: c.Event, Partner: partner, Text: c.Text, Reading: c.Reading}); err != nil {
		return err
	}
	switch {
	case !ev.Both:
		return nil
	case partner == "":
		s.warn("partner", "no vehicle that it was coupled to", "the other half, which is to be checked as well")
		return nil
	}
	return s.enter(partner, record.UseBlocked{Event: c.Event, Partner: c.Vehicle, Text: c.Text})
}

// ClearUse says that the check after an event was made. The vehicle was gauged
// after the event, and that inspection does not hold it back.
type ClearUse struct {
	Meta
	Vehicle record.Asset
	Block   record.ID
	Found   string // what was looked at and how it was
}

func (*ClearUse) spec() (Permission, string) { return Fit, "use-cleared" }

func (c *ClearUse) plan(s *step) error {
	v, err := s.kept(c.Vehicle, record.MeterReading{})
	if err != nil {
		return err
	}
	var block *record.Blocked
	for _, h := range v.Upkeep.Holds() {
		switch {
		case h.Event != nil && h.Event.ID == c.Block:
			block = h.Event
		case h.Outcome != nil:
			return invalid(v.Number(), "block", fmt.Sprintf("an inspection of %s that says %s", day(h.Outcome.At), strings.ReplaceAll(h.Verdict, "-", " ")), "one that lets it run, before the event is closed")
		}
	}
	if block == nil {
		return &NotFound{What: "open event of " + v.Number(), Name: string(c.Block)}
	}
	last := v.Upkeep.Last()
	if last == nil || last.At <= block.At {
		return invalid(v.Number(), "block", "no gauge sheet since the event", "a gauge sheet of every half, filled in after it")
	}
	return s.enter(c.Vehicle, record.UseCleared{Block: c.Block, Outcome: last.ID, Found: c.Found})
}
