package fleet

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sync"

	"underpin/record"
	"underpin/store"
)

// How long a session lasts. Common practice, no source.
const (
	minute = 60 * record.Time(1_000_000)
	hour   = 60 * minute

	SessionIdle = 12 * hour       // without being used
	SessionMost = 7 * 24 * hour   // at all
	linkLasts   = 72 * hour       // a one-time link
	tokenMost   = 366 * 24 * hour // a token for programs
	seenEvery   = minute          // how often it is noted that a session or token was used
)

// Kinds of secret in the store.
const (
	passwordSecret = "password"
	linkSecret     = "link"
	endedSecret    = "ended "         // and the session: it was ended
	allEndedSecret = "sessions-ended" // those begun before its time were ended
)

// firstAccount is who the link of a first start is for: nobody yet.
const firstAccount = record.Asset(record.AccountAsset + "/first")

// secret makes a random secret and the digest under which it is kept.
func (r *Register) secret() (string, record.Digest, error) {
	var b [32]byte
	if _, err := io.ReadFull(r.world.Chance, b[:]); err != nil {
		return "", record.Digest{}, fmt.Errorf("no chance to make a secret of: %w", err)
	}
	s := base64.RawURLEncoding.EncodeToString(b[:])
	return s, record.DigestOf([]byte(s)), nil
}

// A SignIn is what a person types, and from where.
type SignIn struct {
	Login, Password string
	Address         string // of the machine it comes from
	Agent           string // what the browser calls itself; for the list of sessions
	Before          string // the session that the browser had, if any; it ends
}

// A Ticket is a session that was begun: the secret for the browser's cookie, told
// once.
type Ticket struct {
	Secret  string
	Actor   *Actor
	Expires record.Time
}

// SignIn begins a session. The error is ErrSignIn when name and password do not go
// together, and a *TooMany when it was tried too often.
func (r *Register) SignIn(ctx context.Context, in SignIn) (*Ticket, error) {
	login := folded(in.Login)
	now := r.world.Now()
	if wait, ok := r.addresses.try(in.Address, now); !ok {
		return nil, &TooMany{Wait: wait}
	}
	if wait, ok := r.accounts.try(login, now); !ok {
		return nil, &TooMany{Wait: wait}
	}
	account, right, err := r.checkLogin(ctx, login, in.Password)
	if err != nil {
		return nil, err
	}
	if !right {
		return nil, ErrSignIn
	}
	r.accounts.forget(login)
	return r.begin(ctx, account, in)
}

// checkLogin tells whether a password is that of an account in use. It takes as
// long for a name that nobody has.
func (r *Register) checkLogin(ctx context.Context, login, password string) (a *record.Account, right bool, err error) {
	if len(password) > mostPassword {
		password = password[:mostPassword+1] // no stored one is that long
	}
	var stored store.Secret
	asset, err := r.store.Key(ctx, "account:"+login)
	if err == nil {
		if a, err = r.account(ctx, asset); err == nil {
			stored, err = r.store.Secret(ctx, asset, passwordSecret)
		}
	}
	switch {
	case errors.Is(err, store.ErrNotFound):
		if stored.Value, err = r.dummy(ctx); err != nil {
			return nil, false, err
		}
		a = nil
	case err != nil:
		return nil, false, err
	}
	right, stale, err := r.hash.check(ctx, stored.Value, password)
	if err != nil {
		return nil, false, err
	}
	right = right && a != nil && a.Added != 0 && a.Closed == 0
	if right && stale {
		if phc, err := r.hash.hash(ctx, password); err == nil {
			stored.Value, stored.Changed = phc, r.now()
			if err := r.store.PutSecret(ctx, stored); err != nil {
				return nil, false, err
			}
		}
	}
	return a, right, nil
}

// dummyHash is the hash of a password that nobody has.
type dummyHash struct {
	once sync.Once
	phc  string
	err  error
}

func (r *Register) dummy(ctx context.Context) (string, error) {
	r.nobody.once.Do(func() {
		s, _, err := r.secret()
		if err == nil {
			s, err = r.hash.hash(context.WithoutCancel(ctx), s)
		}
		r.nobody.phc, r.nobody.err = s, err
	})
	return r.nobody.phc, r.nobody.err
}

// begin makes a session and ends the one that the browser had before, so that a
// session that somebody planted is worth nothing.
func (r *Register) begin(ctx context.Context, a *record.Account, in SignIn) (*Ticket, error) {
	secret, digest, err := r.secret()
	if err != nil {
		return nil, err
	}
	if in.Before != "" {
		if err := r.SignOut(ctx, in.Before); err != nil {
			return nil, err
		}
	}
	now := r.now()
	s := store.Session{Token: digest, Account: a.Asset, Created: now, Seen: now, Expires: now + SessionMost,
		Data: encoded(sessionData{cut(in.Address), cut(in.Agent)})}
	if err := r.store.PutSession(ctx, s); err != nil {
		return nil, err
	}
	return &Ticket{Secret: secret, Actor: actorOf(a, nil, digest.String()), Expires: s.Expires}, nil
}

type sessionData struct {
	Address string `json:"address,omitempty"`
	Agent   string `json:"agent,omitempty"`
}

func cut(s string) string { return s[:min(len(s), 200)] }

func actorOf(a *record.Account, scopes []Permission, session string) *Actor {
	return &Actor{Who: record.Who{Account: a.Asset, Name: a.AccountAdded.Name}, Roles: a.Roles, Depots: a.Depots, Scopes: scopes, Session: session}
}

// SignedIn returns who has a session's secret, or ErrNotSignedIn.
func (r *Register) SignedIn(ctx context.Context, secret string) (*Actor, error) {
	digest, now := record.DigestOf([]byte(secret)), r.now()
	s, err := r.store.Session(ctx, digest, now)
	if errors.Is(err, store.ErrNotFound) || err == nil && s.Account == "" {
		return nil, ErrNotSignedIn
	}
	if err != nil {
		return nil, err
	}
	if now-s.Seen > SessionIdle {
		if err := r.store.DropSession(ctx, digest); err != nil && !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
		return nil, ErrNotSignedIn
	}
	a, err := r.openAccount(ctx, s.Account)
	if err != nil {
		return nil, err
	}
	if now-s.Seen > seenEvery {
		s.Seen = now
		// Who cannot be noted as seen, for want of room on the disk, may read on; the
		// session only ends sooner.
		_ = r.store.PutSession(ctx, s)
		if ended, err := r.ended(ctx, s); err != nil {
			return nil, err
		} else if ended {
			return nil, ErrNotSignedIn
		}
	}
	return actorOf(a, nil, digest.String()), nil
}

// openAccount returns an account in use, or ErrNotSignedIn.
func (r *Register) openAccount(ctx context.Context, asset record.Asset) (*record.Account, error) {
	a, err := r.account(ctx, asset)
	if _, gone := errors.AsType[*NotFound](err); gone || err == nil && (a.Added == 0 || a.Closed != 0) {
		return nil, ErrNotSignedIn
	}
	return a, err
}

// SignOut ends the session with a secret.
func (r *Register) SignOut(ctx context.Context, secret string) error {
	s, err := r.store.Session(ctx, record.DigestOf([]byte(secret)), r.now())
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	return r.end(ctx, s)
}

// end ends a session. That it ended is noted before it is dropped: a request under
// way, which has read the session and is about to note that it was used, would
// otherwise bring it back.
func (r *Register) end(ctx context.Context, s store.Session) error {
	err := r.store.PutSecret(ctx, store.Secret{Account: s.Account, Kind: endedSecret + s.Token.String(), Value: s.Token.String(), Changed: r.now(), Expires: s.Expires})
	if err != nil {
		return err
	}
	return r.store.DropSession(ctx, s.Token)
}

// endAll ends every session of an account.
func (r *Register) endAll(ctx context.Context, account record.Asset) error {
	now := r.now()
	err := r.store.PutSecret(ctx, store.Secret{Account: account, Kind: allEndedSecret, Value: string(account), Changed: now, Expires: now + SessionMost})
	if err != nil {
		return err
	}
	return r.store.DropSessions(ctx, account)
}

// ended tells whether a session that was just put was ended in the meantime, and
// then drops it once more.
func (r *Register) ended(ctx context.Context, s store.Session) (bool, error) {
	_, err := r.store.Secret(ctx, s.Account, endedSecret+s.Token.String())
	if errors.Is(err, store.ErrNotFound) {
		var all store.Secret
		if all, err = r.store.Secret(ctx, s.Account, allEndedSecret); errors.Is(err, store.ErrNotFound) || err == nil && s.Created >= all.Changed {
			return false, nil
		}
	}
	if err != nil {
		return false, err
	}
	return true, r.store.DropSession(ctx, s.Token)
}

// A Session is one that somebody has, as it is listed.
type Session struct {
	ID                     string
	Account                record.Asset
	Address, Agent         string
	Created, Seen, Expires record.Time
	Here                   bool // the one that asks
}

// Sessions lists the sessions of an account, newest first: of the actor's own, or
// with ReadPeople of any, or of all for an empty one.
func (r *Register) Sessions(ctx context.Context, account record.Asset) ([]Session, error) {
	actor := r.world.Identity(ctx)
	if err := own(actor, account, ReadPeople); err != nil {
		return nil, err
	}
	stored, err := r.store.Sessions(ctx, account)
	if err != nil {
		return nil, err
	}
	now := r.now()
	var all []Session
	for _, s := range stored {
		if s.Account == "" || s.Expires <= now || now-s.Seen > SessionIdle {
			continue
		}
		var d sessionData
		_ = json.Unmarshal(s.Data, &d) // shown, and nothing depends on it
		id := s.Token.String()
		all = append(all, Session{id, s.Account, d.Address, d.Agent, s.Created, s.Seen, s.Expires, id == actor.Session})
	}
	return all, nil
}

// own returns nil for what concerns the actor's own account, and asks for a
// permission otherwise.
func own(actor *Actor, account record.Asset, p Permission) error {
	if actor == nil {
		actor = &Actor{}
	}
	if account != "" && actor.Who.Account == account && actor.Scopes == nil {
		return nil
	}
	return actor.need(p)
}

// EndSession ends a session from the list.
func (r *Register) EndSession(ctx context.Context, account record.Asset, id string) error {
	if err := own(r.world.Identity(ctx), account, People); err != nil {
		return err
	}
	all, err := r.store.Sessions(ctx, account)
	if err != nil {
		return err
	}
	for _, s := range all {
		if s.Token.String() == id {
			return r.end(ctx, s)
		}
	}
	return &NotFound{What: "session", Name: id}
}

// FirstLink returns a one-time link with which the first account is made, or
// nothing when there is an account already. Each call makes the earlier ones void.
func (r *Register) FirstLink(ctx context.Context) (string, error) {
	some, err := r.store.List(ctx, store.Query{Kind: record.AccountAsset, Limit: 1})
	if err != nil || len(some) > 0 {
		return "", err
	}
	secret, hash, err := r.secret()
	if err != nil {
		return "", err
	}
	now := r.now()
	return secret, r.store.PutSecret(ctx, store.Secret{Account: firstAccount, Kind: linkSecret, Value: hash.String(), Changed: now, Expires: now + linkLasts})
}

// A Link is what a one-time link is for.
type Link struct {
	First       bool // it makes the first account
	Account     record.Asset
	Name, Login string
}

// LinkFor tells what a one-time link is for, or ErrNotSignedIn.
func (r *Register) LinkFor(ctx context.Context, link string) (*Link, error) {
	s, err := r.store.SecretByValue(ctx, linkSecret, record.DigestOf([]byte(link)).String())
	if errors.Is(err, store.ErrNotFound) || err == nil && s.Expires <= r.now() {
		return nil, ErrNotSignedIn
	}
	if err != nil {
		return nil, err
	}
	if s.Account == firstAccount {
		return &Link{First: true, Account: s.Account}, nil
	}
	a, err := r.openAccount(ctx, s.Account)
	if err != nil {
		return nil, err
	}
	return &Link{Account: s.Account, Name: a.AccountAdded.Name, Login: a.Login}, nil
}

// Redeem uses a one-time link: it sets the password, makes the first account
// where the link is for that, and signs in. Name and login count for the first
// account only, which may do everything. The link works once.
func (r *Register) Redeem(ctx context.Context, link, name, login, password string, from SignIn) (*Ticket, error) {
	l, err := r.LinkFor(ctx, link)
	if err != nil {
		return nil, err
	}
	if !l.First {
		name, login = l.Name, l.Login
	} else if err := checkLogin(login); err != nil {
		return nil, err
	}
	if problems := checkPassword(password, login, name); len(problems) > 0 {
		return nil, &Invalid{Problems: problems}
	}
	phc, err := r.hash.hash(ctx, password)
	if err != nil {
		return nil, err
	}
	account := l.Account
	if l.First {
		if name == "" {
			return nil, invalid("", "name", "nothing", "your name, as it will stand in the records")
		}
	}
	if once, err := r.store.DropSecret(ctx, l.Account, linkSecret); err != nil {
		return nil, err
	} else if !once {
		return nil, ErrNotSignedIn
	}
	secret := store.Secret{Account: account, Kind: passwordSecret, Value: phc, Changed: r.now()}
	if l.First {
		if account, err = r.addFirst(ctx, name, login, secret); err != nil {
			return nil, err
		}
	} else {
		if err := r.store.PutSecret(ctx, secret); err != nil {
			return nil, err
		}
		if err := r.endAll(ctx, account); err != nil {
			return nil, err
		}
	}
	a, err := r.openAccount(ctx, account)
	if err != nil {
		return nil, err
	}
	return r.begin(ctx, a, from)
}

// addFirst makes the first account, with its password, in one transaction.
func (r *Register) addFirst(ctx context.Context, name, login string, password store.Secret) (record.Asset, error) {
	c := &AddAccount{Name: name, Login: login, Roles: []string{record.Manager}}
	p := r.newPlan(ctx, &Actor{Who: record.Who{Name: name}, operator: true})
	done, err := p.run(c)
	if err != nil {
		return "", err
	}
	password.Account = done.Asset
	p.batch.Secrets = []store.Secret{password} // and no link
	_, err = p.commit()
	return done.Asset, err
}

// ChangePassword changes the password of whoever is signed in. Their other
// sessions end, and this one is renewed.
func (r *Register) ChangePassword(ctx context.Context, old, password string, from SignIn) (*Ticket, error) {
	actor := r.world.Identity(ctx)
	if actor == nil || actor.Session == "" || actor.Who.Account == "" {
		return nil, ErrNotSignedIn
	}
	a, err := r.openAccount(ctx, actor.Who.Account)
	if err != nil {
		return nil, err
	}
	if wait, ok := r.accounts.try(a.Login, r.world.Now()); !ok {
		return nil, &TooMany{Wait: wait}
	}
	if _, right, err := r.checkLogin(ctx, a.Login, old); err != nil {
		return nil, err
	} else if !right {
		return nil, invalid("", "old", "another password", "the one that you sign in with now")
	}
	if problems := checkPassword(password, a.Login, a.AccountAdded.Name); len(problems) > 0 {
		return nil, &Invalid{Problems: problems}
	}
	phc, err := r.hash.hash(ctx, password)
	if err != nil {
		return nil, err
	}
	if err := r.store.PutSecret(ctx, store.Secret{Account: a.Asset, Kind: passwordSecret, Value: phc, Changed: r.now()}); err != nil {
		return nil, err
	}
	r.accounts.forget(a.Login)
	if err := r.endAll(ctx, a.Asset); err != nil {
		return nil, err
	}
	return r.begin(ctx, a, from)
}
