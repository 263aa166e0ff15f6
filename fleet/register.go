package fleet

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"time"

	"underpin/record"
	"underpin/store"
)

// A World is what a register needs to know of the world around it. The zero World
// is the real one.
type World struct {
	Now      func() time.Time                 // the clock; left out: the machine's
	Chance   io.Reader                        // for ids, tokens and salts; left out: the machine's
	Identity func(ctx context.Context) *Actor // who acts; left out: ActorFrom
	Program  string                           // the program's version, as it stands in exports
}

// A Register is the fleet's memory as people use it.
type Register struct {
	world     World
	store     store.Store
	hash      *hasher
	accounts  *limiter
	addresses *limiter
	nobody    dummyHash
	view      fleetView
	parts     catalogueView
}

// New makes a register over a store. The caller opens and closes the store.
func New(st store.Store, w World) *Register {
	if w.Now == nil {
		w.Now = time.Now
	}
	if w.Chance == nil {
		w.Chance = rand.Reader
	}
	if w.Identity == nil {
		w.Identity = ActorFrom
	}
	return &Register{
		world: w, store: st, hash: newHasher(w.Chance),
		accounts:  newLimiter(accountEvery, accountBurst, mostLimiters),
		addresses: newLimiter(addressEvery, addressBurst, mostLimiters),
	}
}

// Store is the store beneath, for health checks.
func (r *Register) Store() store.Store { return r.store }

func (r *Register) now() record.Time { return record.At(r.world.Now()) }

// newID makes the id of a record.
func (r *Register) newID() (record.ID, error) {
	var chance [10]byte
	if _, err := io.ReadFull(r.world.Chance, chance[:]); err != nil {
		return "", fmt.Errorf("no chance to make an id of: %w", err)
	}
	return record.NewID(r.world.Now(), chance), nil
}

// actor returns who acts, if they have the permission.
func (r *Register) actor(ctx context.Context, p Permission) (*Actor, error) {
	a := r.world.Identity(ctx)
	if a == nil {
		a = &Actor{}
	}
	return a, a.need(p)
}

// A Command is one change that somebody wants. The types in this package are all
// there are.
type Command interface {
	// spec tells what the command needs and the kind of record that it enters first;
	// no kind where that depends.
	spec() (Permission, string)
	meta() *Meta
	// plan holds the command against what is known and enters its records.
	plan(s *step) error
}

// Meta is what every command may carry.
type Meta struct {
	// ID is the id of the record that the command enters first. Whoever makes it can
	// send the same command twice without harm. Left out: made here.
	ID record.ID
	// Happened is when it happened; left out: now.
	Happened record.Time
	Reason   string
}

func (m *Meta) meta() *Meta { return m }

// Done says what came of a command.
type Done struct {
	Asset  record.Asset // what it was about; the new one, when it added something
	Record record.ID    // the first record; empty when nothing had to be changed
	// Repeated tells that this command was entered before, by its ID.
	Repeated bool
	// Warnings are what should be looked at. The command was entered nevertheless.
	Warnings []Problem
	// Secret is the one-time link or the token that the command made. It is told
	// once and kept nowhere.
	Secret string
}

// mostTries is how often a command is planned anew because somebody was quicker
// at something that it looked at.
const mostTries = 30

// Do carries out a command, whole or not at all. The errors are listed in the
// package's comment.
func (r *Register) Do(ctx context.Context, c Command) (*Done, error) {
	need, _ := c.spec()
	actor, err := r.actor(ctx, need)
	if err != nil {
		return nil, err
	}
	if done, err := r.repeated(ctx, actor, c); done != nil || err != nil {
		return done, err
	}
	for try := 1; ; try++ {
		p := r.newPlan(ctx, actor)
		done, err := p.run(c)
		if err == nil && done.Record != "" {
			var again bool
			if again, err = p.commit(); again { // the same command came twice at once
				done.Repeated, done.Secret = true, ""
			}
		}
		if _, taken := errors.AsType[*store.IDTaken](err); taken {
			if done, err := r.repeated(ctx, actor, c); done != nil || err != nil {
				return done, err
			}
		}
		switch {
		case err == nil:
			return done, nil
		case !outrun(err) || try == mostTries || ctx.Err() != nil:
			return nil, p.explain(err)
		}
	}
}

// outrun tells whether an error means that somebody was quicker, so that planning
// anew can help.
func outrun(err error) bool {
	if _, yes := errors.AsType[*store.Conflict](err); yes {
		return true
	}
	_, yes := errors.AsType[*store.Stale](err)
	return yes
}

// repeated tells whether a command was entered before.
func (r *Register) repeated(ctx context.Context, actor *Actor, c Command) (*Done, error) {
	id := c.meta().ID
	if id == "" {
		return nil, nil
	}
	if !id.Valid() {
		return nil, invalid("", "id", show(encoded(id)), "a version 7 UUID in small letters, or nothing")
	}
	was, err := r.store.Record(ctx, id)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return nil, nil
	case err != nil:
		return nil, err
	}
	_, kind := c.spec()
	happened := c.meta().Happened
	if kind != "" && kind != was.Kind || was.Who.Account != actor.Who.Account || happened != 0 && happened != was.Happened {
		return nil, invalid("", "id", string(id)+", which is another record's", "an id of its own")
	}
	return &Done{Asset: was.Asset, Record: id, Repeated: true}, nil
}
