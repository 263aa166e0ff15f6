package record

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// An Entity is the state of one asset, or of one thing that stands beside an
// asset: the entries in force. It is what a store caches and what every view is
// computed from.
type Entity struct {
	Asset   Asset   `json:"asset"`
	Entries []Entry `json:"entries"` // in the order in which things happened

	// Fittings of a vehicle are copied from the parts whose history they are, so
	// that a vehicle's page needs no other entity. By part, then by time.
	Fittings []Fitting `json:"fittings,omitempty"`
}

// An Entry is one record as it is now in force: as first entered, or as last
// corrected.
type Entry struct {
	ID       ID              `json:"id"`              // of the record first entered
	Chain    Asset           `json:"chain,omitempty"` // where it stands, when not in the entity's own
	Seq      int64           `json:"seq"`             // its number there
	Kind     string          `json:"kind"`
	Version  int             `json:"version"`
	Happened Time            `json:"happened"`
	Entered  Time            `json:"entered"` // when first entered
	Who      Who             `json:"who"`
	Last     ID              `json:"last,omitempty"` // the correction now in force
	Void     bool            `json:"void,omitempty"`
	Blobs    []Digest        `json:"blobs,omitempty"`
	Body     json.RawMessage `json:"body"`
}

// AppendJSON appends the entity as json.Marshal would write it. State is written
// at every change and by the hundred thousand in a rebuild, and its bodies need no
// second look: they are JSON as it is stored.
func (e *Entity) AppendJSON(b []byte) []byte {
	b = append(b, `{"asset":"`...)
	b = append(b, e.Asset...)
	b = append(b, `","entries":[`...)
	for i := range e.Entries {
		if i > 0 {
			b = append(b, ',')
		}
		b = e.Entries[i].appendJSON(b)
	}
	b = append(b, ']')
	if len(e.Fittings) > 0 {
		text, _ := marshal(e.Fittings) // plain values never fail
		b = append(b, `,"fittings":`...)
		b = append(b, text...)
	}
	return append(b, '}')
}

func (e *Entry) appendJSON(b []byte) []byte {
	b = append(b, `{"id":"`...)
	b = append(b, e.ID...)
	if e.Chain != "" {
		b = append(b, `","chain":"`...)
		b = append(b, e.Chain...)
	}
	b = append(b, `","seq":`...)
	b = strconv.AppendInt(b, e.Seq, 10)
	b = append(b, `,"kind":"`...)
	b = append(b, e.Kind...)
	b = append(b, `","version":`...)
	b = strconv.AppendInt(b, int64(e.Version), 10)
	b = append(b, `,"happened":"`...)
	b = e.Happened.append(b)
	b = append(b, `","entered":"`...)
	b = e.Entered.append(b)
	b = append(b, `","who":{`...)
	if e.Who.Account != "" {
		b = append(b, `"account":"`...)
		b = append(b, e.Who.Account...)
		b = append(b, `",`...)
	}
	b = append(b, `"name":`...)
	b = appendString(b, e.Who.Name)
	b = append(b, '}')
	if e.Last != "" {
		b = append(b, `,"last":"`...)
		b = append(b, e.Last...)
		b = append(b, '"')
	}
	if e.Void {
		b = append(b, `,"void":true`...)
	}
	for i, d := range e.Blobs {
		b = append(b, map[bool]string{true: `,"blobs":["`, false: `","`}[i == 0]...)
		b = hex.AppendEncode(b, d[:])
	}
	if len(e.Blobs) > 0 {
		b = append(b, `"]`...)
	}
	b = append(b, `,"body":`...)
	b = append(b, e.Body...)
	return append(b, '}')
}

// order puts entries in the order in which things happened. What happened at one
// instant stands in the order in which it was first entered.
func (e *Entry) order(f *Entry) int {
	switch {
	case e.Happened != f.Happened:
		return less(e.Happened < f.Happened)
	case e.Entered != f.Entered:
		return less(e.Entered < f.Entered)
	case e.Chain != f.Chain:
		return strings.Compare(string(e.Chain), string(f.Chain))
	case e.Seq != f.Seq:
		return less(e.Seq < f.Seq)
	}
	return 0
}

func less(yes bool) int {
	if yes {
		return -1
	}
	return 1
}

func (e *Entity) find(id ID) int {
	return slices.IndexFunc(e.Entries, func(f Entry) bool { return f.ID == id })
}

func (e *Entity) put(entry Entry) {
	e.remove(entry.ID)
	at := len(e.Entries)
	for at > 0 && e.Entries[at-1].order(&entry) > 0 {
		at--
	}
	e.Entries = slices.Insert(e.Entries, at, entry)
}

func (e *Entity) remove(id ID) {
	if i := e.find(id); i >= 0 {
		e.Entries = slices.Delete(e.Entries, i, i+1)
	}
}

// until yields the entries of some kinds that had happened by an instant, voided
// ones left out.
func (e *Entity) until(at Time, yield func(*Entry) error) error {
	for i := range e.Entries {
		entry := &e.Entries[i]
		if entry.Happened > at {
			break
		}
		if entry.Void {
			continue
		}
		if err := yield(entry); err != nil {
			return fmt.Errorf("record %s of %s: %w", entry.ID, e.Asset, err)
		}
	}
	return nil
}

// A State is a set of entities to which records are applied. It is not safe for
// use by several goroutines.
type State struct {
	entities map[Asset]*Entity
	load     func(Asset) (*Entity, error)
}

// NewState returns an empty state. Load fetches an entity that is not there yet,
// or returns nil when none is stored; a nil load starts from nothing, as a
// rebuild does.
func NewState(load func(Asset) (*Entity, error)) *State {
	return &State{entities: map[Asset]*Entity{}, load: load}
}

// Entity returns an entity, or nil when no record speaks of it.
func (s *State) Entity(a Asset) (*Entity, error) {
	if e, have := s.entities[a]; have {
		return e, nil
	}
	if s.load == nil {
		return nil, nil
	}
	e, err := s.load(a)
	if err != nil {
		return nil, fmt.Errorf("state of %s: %w", a, err)
	}
	if e != nil {
		s.entities[a] = e
	}
	return e, nil
}

// Entities lists every entity that is in the state now, by name.
func (s *State) Entities() []*Entity {
	all := make([]*Entity, 0, len(s.entities))
	for _, e := range s.entities {
		if e != nil {
			all = append(all, e)
		}
	}
	slices.SortFunc(all, func(a, b *Entity) int { return strings.Compare(string(a.Asset), string(b.Asset)) })
	return all
}

func (s *State) need(a Asset) (*Entity, error) {
	e, err := s.Entity(a)
	if e == nil && err == nil {
		e = &Entity{Asset: a}
		s.entities[a] = e
	}
	return e, err
}

// Apply brings the state up to date with one record and returns the entities
// that it changed. Each chain's records must come in their order; how chains are
// mixed does not matter. Entities must not be changed by anyone else.
//
// After an error the state may be half changed and must be thrown away.
func (s *State) Apply(r *Record) ([]Asset, error) {
	info := kinds[r.Kind]
	if info == nil || r.Version < 1 || r.Version > info.version {
		return nil, &UnknownKindError{ID: r.ID, Kind: r.Kind, Version: r.Version}
	}
	home := r.Home()
	if !home.Valid() {
		return nil, fmt.Errorf("record %s: %w", r.ID, &RuleError{Field: "body", Found: quote(string(home)), Want: "an entity that keeps the record"})
	}
	e, err := s.need(home)
	if err != nil {
		return nil, err
	}
	now, err := e.entryAfter(r)
	if err != nil {
		return nil, err
	}
	changed := append(make([]Asset, 0, 3), home)
	if !info.fits && !kinds[now.Kind].fits {
		e.put(now)
		return changed, nil
	}
	before, err := e.fittings(Latest)
	if err != nil {
		return nil, err
	}
	e.put(now)
	after, err := e.fittings(Latest)
	if err != nil {
		return nil, err
	}
	for _, vehicle := range vehiclesOf(before.fittings, after.fittings) {
		v, err := s.need(vehicle)
		if err != nil {
			return nil, err
		}
		v.refit(e.Asset, after.fittings)
		changed = append(changed, vehicle)
	}
	return changed, nil
}

// refit replaces the vehicle's copies of a part's fittings.
func (e *Entity) refit(part Asset, fittings []Fitting) {
	e.Fittings = slices.DeleteFunc(e.Fittings, func(f Fitting) bool { return f.Part == part })
	at := slices.IndexFunc(e.Fittings, func(f Fitting) bool { return f.Part > part })
	if at < 0 {
		at = len(e.Fittings)
	}
	for _, f := range fittings {
		if f.Vehicle == e.Asset {
			e.Fittings = slices.Insert(e.Fittings, at, f)
			at++
		}
	}
}

func vehiclesOf(before, after []Fitting) []Asset {
	var all []Asset
	for _, f := range slices.Concat(before, after) {
		if !slices.Contains(all, f.Vehicle) {
			all = append(all, f.Vehicle)
		}
	}
	return all
}

// entryAfter returns the entry that a record makes, or as it will be after the
// record's correction.
func (e *Entity) entryAfter(r *Record) (now Entry, err error) {
	i := e.find(r.root())
	if r.Corrects == "" {
		if i >= 0 {
			return now, fmt.Errorf("record %s stands in the state of %s already", r.ID, e.Asset)
		}
		now = Entry{ID: r.ID, Seq: r.Seq, Kind: r.Kind, Version: r.Version, Happened: r.Happened, Entered: r.Entered, Who: r.Who, Blobs: r.Blobs, Body: r.Body}
		if r.Asset != e.Asset {
			now.Chain = r.Asset
		}
		return now, nil
	}
	if i < 0 {
		return now, fmt.Errorf("record %s corrects %s, of which %s knows nothing", r.ID, r.Corrects, e.Asset)
	}
	now = e.Entries[i]
	now.Last = r.ID
	if r.Kind == VoidKind {
		now.Void = true
		return now, nil
	}
	if r.Kind != now.Kind {
		return now, fmt.Errorf("record %s is a %s and corrects %s, which is a %s", r.ID, r.Kind, r.Corrects, now.Kind)
	}
	now.Void = false
	now.Version, now.Happened, now.Blobs, now.Body = r.Version, r.Happened, r.Blobs, r.Body
	return now, nil
}
