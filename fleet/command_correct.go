package fleet

import (
	"fmt"

	"underpin/record"
)

// Correct says what a record should have been, by a further one. Record is the
// one first entered; Body is whole, of the same kind. Happened left out stays as
// it was.
type Correct struct {
	Meta
	Record record.ID
	Body   record.Body
}

func (*Correct) spec() (Permission, string) { return Report, "" }

// Void takes back a record that should not have been entered, by a further one.
type Void struct {
	Meta
	Record record.ID
}

func (*Void) spec() (Permission, string) { return Report, record.VoidKind }

// Undo takes back what a record did: one that was first entered is voided, a
// correction or a void is corrected to what stood before it. It must be the last
// word on the matter.
type Undo struct {
	Meta
	Record record.ID
}

func (*Undo) spec() (Permission, string) { return Report, "" }

// enteredWith says which permission enters records of a kind.
var enteredWith = map[string]Permission{
	"vehicle-added": Design, "vehicle-changed": Design, "vehicle-scrapped": Design,
	"part-added": Fit, "part-changed": Fit, "part-fitted": Fit, "part-removed": Fit, "part-scrapped": Fit,
	"type-added": Design, "type-changed": Design,
	"depot-added": Organise, "depot-changed": Organise, "depot-closed": Organise,
	"document-attached": Report, "meter-replaced": Fit, "reading-judged": Fit,
	"coupled": Couples, "uncoupled": Couples,
	"notice-opened": Design, "notice-changed": Design, "notice-part-closed": Fit, "notice-closed": Design,
	"limits-changed": Plan, "answer-kept": Plan,
	"task-done": Fit, "sheet-filled": Fit, "work-signed": Fit, "play-taken-up": Fit, "use-blocked": Report,
	// Taking a defect back lets a vehicle run again, as closing it does.
	"check-done": Amend, "trailer-dropped": Couples, "slider-set": Couples, "defect-reported": Fit, "defect-closed": Fit,
	// What lets a vehicle run again is not taken back by whoever it holds up.
	"outcome-given": Amend, "returned-to-service": Amend, "use-cleared": Amend,
	"catalogue-kept": Design, "specification-kept": Design, "mounting-built": Fit, "bolts-tightened": Fit,
	"account-added": People, "account-changed": People, "account-closed": People, "permissions-changed": People,
	"token-issued": People, "token-revoked": People,
}

// first returns a record that was first entered, as it stands in its chain, and
// all records about it in their order.
func (s *step) first(id record.ID) (root *record.Record, all []*record.Record, err error) {
	if !id.Valid() {
		return nil, nil, &NotFound{What: "record", Name: string(id)}
	}
	root, err = s.r.record(s.ctx, id)
	if err != nil {
		return nil, nil, err
	}
	if root.Corrects != "" {
		if root, err = s.r.record(s.ctx, root.Corrects); err != nil {
			return nil, nil, err
		}
	}
	all = []*record.Record{root}
	for from := root.Seq + 1; ; {
		chain, err := s.r.store.History(s.ctx, root.Asset, from, 500)
		if err != nil {
			return nil, nil, err
		}
		for _, r := range chain {
			from = r.Seq + 1
			if r.Corrects == root.ID {
				all = append(all, r)
			}
		}
		if len(chain) < 500 {
			return root, all, nil
		}
	}
}

// mayAmend tells whether the actor may correct a record: who may enter its kind
// may correct their own, and those with Amend that of others.
func (s *step) mayAmend(root *record.Record) error {
	need, known := enteredWith[root.Kind]
	if !known {
		return &record.UnknownKindError{ID: root.ID, Kind: root.Kind, Version: root.Version}
	}
	if err := s.actor.need(need); err != nil {
		return err
	}
	if root.Kind == "limits-changed" && root.Asset.Name() != SettingsSet && root.Asset.Name() != LoadsSet {
		if err := s.actor.need(Design); err != nil {
			return err
		}
	}
	if root.Who.Account != s.actor.Who.Account || root.Who.Account == "" {
		if err := s.actor.need(Amend); err != nil {
			return err
		}
	}
	e, err := s.entity(root.Asset)
	if err != nil || e == nil {
		return err
	}
	b, err := e.Brief()
	if err != nil {
		return err
	}
	return s.actor.at(b.Depot, b.Title)
}

func (c *Correct) plan(s *step) error {
	root, _, err := s.first(c.Record)
	if err != nil {
		return err
	}
	if err := s.mayAmend(root); err != nil {
		return err
	}
	if c.Body == nil {
		return invalid("", "body", "nothing", "the whole record as it should have been")
	}
	if c.Body.Kind() != root.Kind {
		return invalid("", "body", "a "+c.Body.Kind(), "a "+root.Kind)
	}
	switch c.Body.(type) {
	case record.SpecificationKept, record.MountingBuilt, record.CatalogueKept, record.OutcomeGiven, record.ReturnedToService, record.UseCleared:
		// They follow from what they were made of, and are not typed.
		return invalid("", "record", "a record of the kind "+root.Kind, "another revision, fitting, file or inspection, entered anew; this one can be taken back")
	}
	if was, is := c.Body.(record.Uncoupled); is {
		if body, err := root.Open(); err != nil {
			return err
		} else if before := body.(record.Uncoupled); before.Period != was.Period {
			return invalid("", "period", "another period", "the same: void this record and enter the end of the other")
		}
	}
	happened := c.Happened
	if happened == 0 {
		happened = s.happenedNow(root)
	}
	return s.amend(root, happened, c.Body)
}

// happenedNow is when a record happened, as far as is known today.
func (s *step) happenedNow(root *record.Record) record.Time {
	if e, err := s.entity(root.Home()); err == nil && e != nil {
		for i := range e.Entries {
			if e.Entries[i].ID == root.ID {
				return e.Entries[i].Happened
			}
		}
	}
	return root.Happened
}

func (c *Void) plan(s *step) error {
	root, all, err := s.first(c.Record)
	if err != nil {
		return err
	}
	if err := s.mayAmend(root); err != nil {
		return err
	}
	if last := all[len(all)-1]; last.Kind == record.VoidKind {
		return invalid("", "record", "a record that "+last.Who.Name+" took back on "+day(last.Entered), "one that is in force")
	}
	return s.void(root)
}

func (s *step) void(root *record.Record) error {
	if root.Seq == 1 {
		if err := s.alone(root); err != nil {
			return err
		}
	}
	body, err := record.VoidOf(root)
	if err != nil {
		return fromRecord("", err)
	}
	return s.amend(root, root.Happened, body)
}

// alone tells whether nothing else is said of the asset that a record adds: only
// then can the addition be taken back.
func (s *step) alone(root *record.Record) error {
	e, err := s.entity(root.Asset)
	if err != nil || e == nil {
		return err
	}
	n := 0
	for i := range e.Entries {
		if entry := &e.Entries[i]; !entry.Void && entry.ID != root.ID && !isDetail(entry.Kind) {
			n++
		}
	}
	if n += len(e.Fittings); n > 0 {
		return invalid("", "record", fmt.Sprintf("an addition with %d entries that rest on it", n), "one that nothing rests on: take those back first, or scrap it")
	}
	if p, err := s.openPeriod(root.Asset); err != nil {
		return err
	} else if p != nil {
		return invalid("", "record", "an addition that a coupled period rests on", "one that nothing rests on")
	}
	return nil
}

func (c *Undo) plan(s *step) error {
	root, all, err := s.first(c.Record)
	if err != nil {
		return err
	}
	if err := s.mayAmend(root); err != nil {
		return err
	}
	last := all[len(all)-1]
	if last.ID != c.Record {
		return invalid("", "record", "a record that "+last.Who.Name+" corrected on "+day(last.Entered), "the last word on the matter, "+string(last.ID))
	}
	if len(all) == 1 {
		return s.void(root)
	}
	before := all[len(all)-2]
	if before.Kind == record.VoidKind {
		return s.void(root)
	}
	body, err := before.Open()
	if err != nil {
		return err
	}
	return s.amend(root, before.Happened, body)
}

// amend enters a correction or a void, and holds what follows from it against
// what can be. Contradictions are told and not refused: setting two records right
// may lead through one.
func (s *step) amend(root *record.Record, happened record.Time, body record.Body) error {
	if s.meta.Reason == "" {
		return invalid("", "reason", "nothing", "why the record is corrected")
	}
	about := []record.Asset{root.Asset}
	if e, err := s.entity(root.Asset); err != nil {
		return err
	} else if e != nil && root.Asset.Kind() == record.PartAsset {
		p, err := e.Part(record.Latest)
		if err != nil {
			return err
		}
		for _, f := range p.Fittings {
			about = append(about, f.Vehicle)
		}
	}
	before, err := s.problemsOf(about)
	if err != nil {
		return err
	}
	named, err := s.named(root.Asset, body)
	if err != nil {
		return err
	}
	about = append(about, named...)
	var stood any
	if e, err := s.entity(root.Asset); err != nil {
		return err
	} else if e != nil {
		if stood, err = detailsOf(e); err != nil {
			return err
		}
	}
	s.done.Asset = root.Asset
	if err := s.enterDraft(record.Draft{Asset: root.Asset, Happened: happened, Corrects: root.ID, Body: body}); err != nil {
		return err
	}
	if err := s.recheck(root.Asset, stood); err != nil {
		return err
	}
	after, err := s.problemsOf(about)
	if err != nil {
		return err
	}
	had := map[string]bool{}
	for _, why := range before {
		had[why] = true
	}
	for _, why := range after {
		if !had[why] {
			had[why] = true
			s.warn("", why, "records that do not contradict each other")
		}
	}
	return nil
}

// named holds the vehicles and parts that a corrected body names against the
// register, and returns the vehicles.
func (s *step) named(home record.Asset, body record.Body) ([]record.Asset, error) {
	switch b := body.(type) {
	case record.PartFitted:
		v, err := s.vehicle("vehicle", b.Vehicle)
		if err != nil {
			return nil, err
		}
		if p, err := s.part("part", home); err == nil {
			if err := checkPlace(b.Place, p.PartAdded.Part, v.VehicleAdded.Vehicle); err != nil {
				return nil, err
			}
		}
		return []record.Asset{b.Vehicle}, s.checkMeter(v, "reading", b.Reading)
	case record.PartRemoved:
		v, err := s.vehicle("vehicle", b.Vehicle)
		if err != nil {
			return nil, err
		}
		if err := s.checkMeter(v, "reading", b.Reading); err != nil {
			return nil, err
		}
		return []record.Asset{b.Vehicle}, s.useDepot("depot", b.Depot, "")
	case record.Coupled:
		v, err := s.vehicle("by", b.By)
		if err == nil && b.By == home {
			err = invalid("", "by", "the vehicle itself", "another vehicle, which tows it")
		}
		if err != nil {
			return nil, err
		}
		return nil, s.checkMeter(v, "by_reading", b.ByReading)
	case record.NoticePartClosed:
		_, err := s.part("part", b.Part)
		return nil, err
	case record.AccountAdded:
		return nil, checkLogin(b.Login)
	}
	return nil, nil
}

// recheck holds an asset's details against what can be after a correction. Stood
// are those before it.
func (s *step) recheck(a record.Asset, stood any) error {
	e, err := s.entity(a)
	if err != nil || e == nil {
		return err
	}
	switch a.Kind() {
	case record.VehicleAsset:
		v, err := e.Vehicle(record.Latest)
		if err != nil || v.Added == 0 {
			return err
		}
		return s.checkVehicle(v.VehicleAdded, stood.(record.VehicleAdded))
	case record.PartAsset:
		p, err := e.Part(record.Latest)
		if err != nil || p.Added == 0 {
			return err
		}
		return s.checkPart(a, p.PartAdded, stood.(record.PartAdded))
	case record.TypeAsset:
		t, err := e.Type(record.Latest)
		if err != nil || t.Added == 0 {
			return err
		}
		return checkType(t.TypeAdded)
	case record.AccountAsset:
		return s.someManager()
	case record.LimitsAsset:
		l, err := e.Limits(record.Latest)
		if err != nil {
			return err
		}
		if problems := checkSet(a.Name(), l.Values); len(problems) > 0 {
			return &Invalid{Problems: problems}
		}
	}
	return nil
}
