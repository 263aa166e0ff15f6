package fleet

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"underpin/record"
	"underpin/store"
)

// A plan is what one transaction will enter: one command, or the rows of an
// import. It reads the cached state, and what it has changed itself covers what
// it read. Nothing reaches the store before commit.
type plan struct {
	ctx   context.Context
	r     *Register
	actor *Actor
	now   record.Time
	revs  map[record.Asset]int64          // of the rows that were read; 0: there was none
	read  map[record.Asset]*record.Entity // as they stood; nil: there was none
	ahead map[record.Asset]*record.Entity // as they will stand
	heads map[record.Asset]record.Head
	keys  map[string]record.Asset // names that change hands; empty: given up
	batch store.Batch
	// serials are the parts that the plan has changed, by what they are and serial.
	serials map[string][]record.Asset
	undo    []func() // takes the last steps back, in this order reversed; nil: nobody will ask
}

func (r *Register) newPlan(ctx context.Context, actor *Actor) *plan {
	return &plan{
		ctx: ctx, r: r, actor: actor, now: r.now(), revs: map[record.Asset]int64{}, read: map[record.Asset]*record.Entity{},
		ahead: map[record.Asset]*record.Entity{}, heads: map[record.Asset]record.Head{}, keys: map[string]record.Asset{},
		serials: map[string][]record.Asset{},
	}
}

// entity returns the entity as the plan will leave it, or nil when no record
// speaks of it. It must not be changed.
func (p *plan) entity(a record.Asset) (*record.Entity, error) {
	if e := p.ahead[a]; e != nil {
		return e, nil
	}
	if e, have := p.read[a]; have {
		return e, nil
	}
	row, err := p.r.store.Row(p.ctx, a)
	if errors.Is(err, store.ErrNotFound) {
		p.read[a], p.revs[a] = nil, 0
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	e, err := row.Entity()
	if err != nil {
		return nil, err
	}
	p.read[a], p.revs[a] = e, row.Rev
	return e, nil
}

func (p *plan) head(a record.Asset) (record.Head, error) {
	if h, have := p.heads[a]; have {
		return h, nil
	}
	h, err := p.r.store.Head(p.ctx, a)
	if err != nil {
		return h, err
	}
	h.Asset = a
	p.heads[a] = h
	return h, nil
}

// key returns the asset that will have a name.
func (p *plan) key(name string) (record.Asset, error) {
	if a, changed := p.keys[name]; changed {
		return a, nil
	}
	a, err := p.r.store.Key(p.ctx, name)
	if errors.Is(err, store.ErrNotFound) {
		return "", nil
	}
	return a, err
}

// run plans one command. After an error the plan is as it was before.
func (p *plan) run(c Command) (*Done, error) {
	m := *c.meta()
	if m.Happened == 0 {
		m.Happened = p.now
	}
	s := &step{plan: p, meta: m, heads: map[record.Asset]record.Head{}, changed: map[record.Asset]bool{}, command: c}
	s.state = record.NewState(func(a record.Asset) (*record.Entity, error) {
		e, err := p.entity(a)
		if e == nil || err != nil {
			return nil, err
		}
		own := *e
		own.Entries, own.Fittings = slices.Clone(e.Entries), slices.Clone(e.Fittings)
		return &own, nil
	})
	if err := c.plan(s); err != nil {
		return nil, err
	}
	if err := s.keep(); err != nil {
		return nil, err
	}
	return &s.done, nil
}

// A step is one command within a plan.
type step struct {
	*plan
	command Command
	meta    Meta
	state   *record.State
	heads   map[record.Asset]record.Head
	records []*record.Record
	changed map[record.Asset]bool
	extra   store.Batch // secrets, tokens and sessions that change with the records
	done    Done
}

// entity returns the entity as the step has left it so far.
func (s *step) entity(a record.Asset) (*record.Entity, error) { return s.state.Entity(a) }

// enter adds a record to the chain of an asset.
func (s *step) enter(a record.Asset, body record.Body) error {
	return s.enterDraft(record.Draft{Asset: a, Happened: s.meta.Happened, Body: body})
}

func (s *step) enterDraft(d record.Draft) error {
	head, own := s.heads[d.Asset]
	if !own {
		var err error
		if head, err = s.plan.head(d.Asset); err != nil {
			return err
		}
	}
	d.ID = s.meta.ID
	if len(s.records) > 0 || d.ID == "" {
		id, err := s.r.newID()
		if err != nil {
			return err
		}
		d.ID = id
	}
	d.Entered, d.Who, d.Reason = s.now, s.actor.Who, s.meta.Reason
	if d.Who.Name == "" {
		d.Who.Name = "unknown"
	}
	rec, err := head.Next(d)
	if err != nil {
		return fromRecord(string(d.Asset), err)
	}
	changed, err := s.state.Apply(rec)
	if err != nil {
		return fmt.Errorf("record %s does not fit into the state of %s: %w", rec.Kind, rec.Asset, err)
	}
	if len(s.records) == 0 {
		s.done.Record = rec.ID
	}
	if s.done.Asset == "" {
		s.done.Asset = d.Asset
	}
	s.heads[d.Asset] = rec.Head()
	s.records = append(s.records, rec)
	for _, a := range changed {
		s.changed[a] = true
	}
	return nil
}

func (s *step) warn(where, found, expected string) {
	s.done.Warnings = append(s.done.Warnings, Problem{where, found, expected})
}

// keep makes the step part of its plan. A name that another asset has is refused
// here, before anything is kept.
func (s *step) keep() error {
	taken := map[string]record.Asset{}
	for a := range s.changed {
		now, err := s.state.Entity(a)
		if err != nil {
			return err
		}
		if err := s.claim(a, now, taken); err != nil {
			return err
		}
	}
	for name, a := range taken {
		replace(s.plan, s.plan.keys, name, a)
	}
	for a := range s.changed {
		e, err := s.state.Entity(a)
		if err != nil {
			return err
		}
		replace(s.plan, s.plan.ahead, a, e)
	}
	for a, h := range s.heads {
		replace(s.plan, s.plan.heads, a, h)
	}
	b := &s.plan.batch
	if s.undo != nil {
		was := *b
		s.plan.undo = append(s.plan.undo, func() { *b = was })
	}
	b.Records = append(b.Records, s.records...)
	b.Secrets = append(b.Secrets, s.extra.Secrets...)
	b.Tokens = append(b.Tokens, s.extra.Tokens...)
	b.EndSessions = append(b.EndSessions, s.extra.EndSessions...)
	b.Jobs = append(b.Jobs, s.extra.Jobs...)
	return nil
}

// replace sets one entry of a plan, and notes how to take that back.
func replace[K comparable, V any](p *plan, in map[K]V, key K, value V) {
	if p.undo != nil {
		was, had := in[key]
		p.undo = append(p.undo, func() {
			if had {
				in[key] = was
			} else {
				delete(in, key)
			}
		})
	}
	in[key] = value
}

// claim notes the names that an entity takes and those that it gives up.
func (s *step) claim(a record.Asset, now *record.Entity, taken map[string]record.Asset) error {
	b, err := now.Brief()
	if err != nil {
		return err
	}
	if was, err := s.plan.entity(a); err != nil {
		return err
	} else if was != nil {
		before, err := was.Brief()
		if err != nil {
			return err
		}
		for _, name := range before.Keys {
			if _, again := taken[name]; !again {
				taken[name] = ""
			}
		}
	}
	for _, name := range b.Keys {
		by, err := s.plan.key(name)
		if err != nil {
			return err
		}
		if by != "" && by != a {
			return takenBy(name, by)
		}
		taken[name] = a
	}
	return nil
}

func takenBy(key string, by record.Asset) error {
	where := "id"
	if by.Kind() == record.AccountAsset {
		where = "login"
	}
	_, name, _ := strings.Cut(key, ":")
	if strings.HasPrefix(key, identityKey) {
		where = "identity"
	}
	return invalid("", where, show(encoded(name))+", which "+string(by)+" has already", "a name that no other "+by.Kind()+" has")
}

// commit enters all that was planned. Again tells that it was entered before.
func (p *plan) commit() (again bool, err error) {
	for a, e := range p.ahead {
		row, err := store.RowOf(e)
		if err != nil {
			return false, err
		}
		p.batch.Rows = append(p.batch.Rows, store.Put{Row: row, Was: p.revs[a]})
	}
	slices.SortFunc(p.batch.Rows, func(a, b store.Put) int { // always in one order, so that two never wait for each other
		if a.Asset < b.Asset {
			return -1
		}
		return 1
	})
	done, err := p.r.store.Append(p.ctx, p.batch)
	return done.Again, err
}

// explain puts what the store says into the words of this package.
func (p *plan) explain(err error) error {
	if t, ok := errors.AsType[*store.Taken](err); ok {
		return takenBy(t.Key, t.By)
	}
	if m, ok := errors.AsType[*store.MissingBlob](err); ok {
		return invalid("", "blob", m.Blob.String()+", which is not kept here", "a document that was attached or put before")
	}
	if i, ok := errors.AsType[*store.IDTaken](err); ok {
		return invalid("", "id", string(i.ID)+", which is another record's", "an id of its own")
	}
	return fromRecord("", err)
}
