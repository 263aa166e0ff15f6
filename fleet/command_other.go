package fleet

import (
	"fmt"
	"strings"

	"underpin/record"
)

// AddType adds a type record: what a user copies from the maker's document for
// the type that is fitted, with document and edition.
type AddType struct {
	Meta
	Details record.TypeAdded
}

func (*AddType) spec() (Permission, string) { return Design, "type-added" }

func (c *AddType) plan(s *step) error {
	a, err := s.newAsset(record.TypeAsset)
	if err != nil {
		return err
	}
	if err := checkType(c.Details); err != nil {
		return err
	}
	return s.enter(a, c.Details)
}

// checkType asks for the document and its edition behind each value that was
// copied: a number without one is nobody's.
func checkType(t record.TypeAdded) error {
	var problems []Problem
	behind := func(where string, own record.Source) {
		src, at := own, where+".source"
		if own.Document == "" {
			src, at = t.Source, "source"
		}
		if src.Document == "" {
			problems = append(problems, Problem{at + ".document", "nothing", "the document that " + where + " was copied from"})
		} else if src.Edition == "" {
			problems = append(problems, Problem{at + ".edition", "nothing", "the edition of " + src.Document + ", or its date"})
		}
	}
	for i, d := range t.Dimensions {
		behind(fmt.Sprintf("dimensions[%d]", i), d.Source)
	}
	for i, v := range t.Intervals {
		behind(fmt.Sprintf("intervals[%d]", i), v.Source)
	}
	for i, q := range t.Torques {
		behind(fmt.Sprintf("torques[%d]", i), q.Source)
	}
	if t.D != nil || t.Imposed != nil {
		behind("the ratings", record.Source{})
	}
	if n := t.Pin; n != nil && *n != 50 && *n != 90 {
		problems = append(problems, Problem{"pin_mm", fmt.Sprintf("%d mm", *n), "50 mm (2 in) or 90 mm (3.5 in), the two nominal sizes"})
	}
	if len(problems) > 0 {
		return &Invalid{Problems: problems}
	}
	return nil
}

// ChangeType makes the type's details what was typed.
type ChangeType struct {
	Meta
	Asset   record.Asset
	Version string
	Details record.TypeAdded
}

func (*ChangeType) spec() (Permission, string) { return Design, "type-changed" }

func (c *ChangeType) plan(s *step) error {
	e, err := s.need("asset", c.Asset, record.TypeAsset)
	if err != nil {
		return err
	}
	t, err := e.Type(record.Latest)
	if err != nil {
		return err
	}
	if c.Details.Part != t.Part {
		return invalid(t.TypeAdded.Name, "part", show(encoded(c.Details.Part)), t.Part+": what it is a type of never changes")
	}
	if c.Version == versionOf(e) {
		if err := checkType(c.Details); err != nil {
			return err
		}
	}
	return s.change(e, c.Version, c.Details, func(c record.Changes) record.Body { return record.TypeChanged{Changes: c} })
}

// AddDepot adds a depot.
type AddDepot struct {
	Meta
	Details record.DepotAdded
}

func (*AddDepot) spec() (Permission, string) { return Organise, "depot-added" }

func (c *AddDepot) plan(s *step) error {
	a, err := s.newAsset(record.DepotAsset)
	if err != nil {
		return err
	}
	return s.enter(a, c.Details)
}

// ChangeDepot makes the depot's details what was typed.
type ChangeDepot struct {
	Meta
	Asset   record.Asset
	Version string
	Details record.DepotAdded
}

func (*ChangeDepot) spec() (Permission, string) { return Organise, "depot-changed" }

func (c *ChangeDepot) plan(s *step) error {
	e, err := s.need("asset", c.Asset, record.DepotAsset)
	if err != nil {
		return err
	}
	if err := s.actor.at(c.Asset, "this depot"); err != nil {
		return err
	}
	return s.change(e, c.Version, c.Details, func(c record.Changes) record.Body { return record.DepotChanged{Changes: c} })
}

// CloseDepot ends a depot's use. Nothing may belong to it any more.
type CloseDepot struct {
	Meta
	Asset record.Asset
}

func (*CloseDepot) spec() (Permission, string) { return Organise, "depot-closed" }

func (c *CloseDepot) plan(s *step) error {
	e, err := s.need("asset", c.Asset, record.DepotAsset)
	if err != nil {
		return err
	}
	d, err := e.Depot(record.Latest)
	if err != nil {
		return err
	}
	if d.Closed != 0 {
		return invalid(d.Name, "asset", "a depot that was closed on "+day(d.Closed), "a depot in use")
	}
	if err := s.actor.at(c.Asset, "this depot"); err != nil {
		return err
	}
	left, err := s.r.countAt(s.ctx, c.Asset)
	if err != nil {
		return err
	}
	if len(left) > 0 {
		return invalid(d.Name, "asset", "a depot with "+strings.Join(left, " and "), "an empty one: move them first")
	}
	return s.enter(c.Asset, record.DepotClosed{})
}

// ChangeSettings changes values of a set that users keep: the register's own
// (SettingsSet), the named loads (LoadsSet), or limits of another name.
type ChangeSettings struct {
	Meta
	Set     string
	Version string // of the set as it was looked at; empty for one that is new
	Changes record.Changes
	Source  record.Source
}

// Sets that the register itself reads.
const (
	SettingsSet = "register" // name, law, note, facts: as at the head of a fleet file
	LoadsSet    = "loads"    // named loads by their id, with the fields of a fleet file's load
)

func (*ChangeSettings) spec() (Permission, string) { return Plan, "limits-changed" }

func (c *ChangeSettings) plan(s *step) error {
	a := record.NewAsset(record.LimitsAsset, c.Set)
	if !a.Valid() {
		return invalid("", "set", show(encoded(c.Set)), "a name in small letters, digits and hyphens")
	}
	if c.Set != SettingsSet && c.Set != LoadsSet {
		// Limits that others rely on are the engineer's.
		if err := s.actor.need(Design); err != nil {
			return err
		}
	}
	e, err := s.entity(a)
	if err != nil {
		return err
	}
	s.done.Asset = a
	now := record.Fields{}
	if e != nil {
		l, err := e.Limits(record.Latest)
		if err != nil {
			return err
		}
		now = l.Values
		if stands := versionOf(e); c.Version != stands {
			mine := record.Fields{}
			for name, v := range now {
				mine[name] = v
			}
			apply(c.Changes, mine)
			return s.conflict(e, c.Version, stands, now, mine)
		}
	}
	after := record.Fields{}
	for name, v := range now {
		after[name] = v
	}
	apply(c.Changes, after)
	if problems := checkSet(c.Set, after); len(problems) > 0 {
		return &Invalid{Problems: problems}
	}
	if empty(changesBetween(now, after)) {
		return nil
	}
	return s.enter(a, record.LimitsChanged{Changes: c.Changes, Source: c.Source})
}

func apply(c record.Changes, on record.Fields) {
	for name, v := range c.Set {
		on[name] = v
	}
	for _, name := range c.Clear {
		delete(on, name)
	}
}

// KeepAnswer keeps an answer that somebody relied on, with all that explains it.
type KeepAnswer struct {
	Meta
	Towed  record.Asset // in whose chain it stands
	Answer record.AnswerKept
}

func (*KeepAnswer) spec() (Permission, string) { return Plan, "answer-kept" }

func (c *KeepAnswer) plan(s *step) error {
	if _, err := s.vehicle("towed", c.Towed); err != nil {
		return err
	}
	for i, a := range c.Answer.Vehicles {
		if _, err := s.vehicle(fmt.Sprintf("vehicles[%d]", i), a); err != nil {
			return err
		}
	}
	return s.enter(c.Towed, c.Answer)
}
