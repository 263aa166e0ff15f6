package fleet

import (
	"context"
	"slices"

	"underpin/record"
)

// An Event is one record of an asset's history, as it was entered.
type Event struct {
	*record.Record
	Said record.Body // what it said; nil for a kind that this program does not know
	// Later is the record that corrected or voided this one last; empty: in force, or
	// itself a correction that is the last word.
	Later record.ID
	Void  bool // it was taken back
}

// A History is one page of an asset's records, newest first.
type History struct {
	Asset  record.Asset
	Events []Event
	Before int64 // for the next page; 0: this is the last
}

// History returns the records of an asset from the one before a number on,
// newest first; 0 begins with the newest. Everything is there, what was corrected
// too.
func (r *Register) History(ctx context.Context, a record.Asset, before int64, most int) (*History, error) {
	need := Read
	if a.Kind() == record.AccountAsset {
		need = ReadPeople
	}
	if need == ReadPeople {
		if err := own(r.world.Identity(ctx), a, need); err != nil {
			return nil, err
		}
	} else if _, err := r.actor(ctx, need); err != nil {
		return nil, err
	}
	head, err := r.store.Head(ctx, a)
	if err != nil {
		return nil, err
	}
	if head.Seq == 0 {
		return nil, &NotFound{What: a.Kind(), Name: a.Name()}
	}
	if before <= 0 || before > head.Seq {
		before = head.Seq + 1
	}
	from := max(1, before-int64(limit(most)))
	chain, err := r.store.History(ctx, a, from, int(before-from))
	if err != nil {
		return nil, err
	}
	h := &History{Asset: a}
	if from > 1 {
		h.Before = from
	}
	states := map[record.Asset]*record.Entity{}
	for _, rec := range slices.Backward(chain) {
		e := Event{Record: rec}
		e.Said, _ = rec.Open() // nil where a later program wrote it
		home := rec.Home()
		if _, have := states[home]; !have {
			state, err := r.entity(ctx, home)
			if err != nil && !missing(err) {
				return nil, err
			}
			states[home] = state
		}
		e.after(states[home])
		h.Events = append(h.Events, e)
	}
	return h, nil
}

// after notes what became of the record since.
func (e *Event) after(state *record.Entity) {
	if state == nil {
		return
	}
	root := e.ID
	if e.Corrects != "" {
		root = e.Corrects
	}
	for i := range state.Entries {
		entry := &state.Entries[i]
		if entry.ID != root {
			continue
		}
		if entry.Last != "" && entry.Last != e.ID {
			e.Later = entry.Last
		}
		e.Void = entry.Void && e.Kind != record.VoidKind
		return
	}
}

// Recent returns the records entered last in the whole register, newest first, but
// those of accounts only to those who may see them. Before is the Number of the
// last one seen; 0 begins.
func (r *Register) Recent(ctx context.Context, before int64, most int) ([]Event, int64, error) {
	actor, err := r.actor(ctx, Read)
	if err != nil {
		return nil, 0, err
	}
	all, err := r.store.Recent(ctx, before, limit(most))
	if err != nil {
		return nil, 0, err
	}
	var events []Event
	var last int64
	for _, n := range all {
		last = n.Number
		if n.Asset.Kind() == record.AccountAsset && !actor.May(ReadPeople) {
			continue
		}
		e := Event{Record: n.Record}
		e.Said, _ = n.Open()
		events = append(events, e)
	}
	if len(all) < limit(most) {
		last = 0
	}
	return events, last, nil
}
