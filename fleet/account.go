package fleet

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"underpin/record"
	"underpin/store"
)

// AddAccount adds a person. Done.Secret is a one-time link with which they set
// their password.
type AddAccount struct {
	Meta
	Name, Login, Language string
	Identity              string // by what an identity provider knows the person; left out: it does not
	Roles                 []string
	Depots                []record.Asset // left out: all
}

func (*AddAccount) spec() (Permission, string) { return People, "account-added" }

func (c *AddAccount) plan(s *step) error {
	a, err := s.newAsset(record.AccountAsset)
	if err != nil {
		return err
	}
	if len(c.Roles) == 0 {
		return invalid("", "roles", "none", "what the person may do: "+joinedWords(Roles()))
	}
	if err := checkLogin(c.Login); err != nil {
		return err
	}
	if err := checkIdentity(c.Identity); err != nil {
		return err
	}
	for i, d := range c.Depots {
		if err := s.useDepot(fmt.Sprintf("depots[%d]", i), d, ""); err != nil {
			return err
		}
	}
	if err := s.enter(a, record.AccountAdded{Name: c.Name, Login: folded(c.Login), Language: c.Language, Identity: identity(c.Identity)}); err != nil {
		return err
	}
	if err := s.enter(a, record.PermissionsChanged{Roles: c.Roles, Depots: c.Depots}); err != nil {
		return err
	}
	return s.link(a)
}

func checkLogin(login string) error {
	ok := len(login) >= 2 && len(login) <= 100
	for _, c := range login {
		ok = ok && c > ' ' && c != 0x7f && c != ':' && c != '/'
	}
	if !ok {
		return invalid("", "login", show(encoded(login)), "2 to 100 signs without blanks, such as ann or ann@depot.example")
	}
	return nil
}

// link makes a one-time link with which an account sets its password. An earlier
// one no longer works.
func (s *step) link(a record.Asset) error {
	secret, hash, err := s.r.secret()
	if err != nil {
		return err
	}
	s.extra.Secrets = append(s.extra.Secrets, store.Secret{Account: a, Kind: linkSecret, Value: hash.String(), Changed: s.now, Expires: s.now + linkLasts})
	s.done.Secret = secret
	return nil
}

func (s *step) account(a record.Asset) (*record.Entity, *record.Account, error) {
	e, err := s.need("account", a, record.AccountAsset)
	if err != nil {
		return nil, nil, err
	}
	v, err := e.Account(record.Latest)
	return e, v, err
}

// ChangeAccount changes a person's name, login, language or identity.
type ChangeAccount struct {
	Meta
	Account               record.Asset
	Version               string
	Name, Login, Language string
	Identity              string // by what an identity provider knows the person
}

func (*ChangeAccount) spec() (Permission, string) { return People, "account-changed" }

func (c *ChangeAccount) plan(s *step) error {
	e, was, err := s.account(c.Account)
	if err != nil {
		return err
	}
	if err := checkLogin(c.Login); err != nil {
		return err
	}
	if err := checkIdentity(c.Identity); err != nil {
		return err
	}
	typed := AccountDetails{AccountAdded: record.AccountAdded{Name: c.Name, Login: folded(c.Login), Language: c.Language, Identity: identity(c.Identity)},
		PermissionsChanged: record.PermissionsChanged{Roles: was.Roles, Depots: was.Depots}}
	return s.change(e, c.Version, typed, func(c record.Changes) record.Body { return record.AccountChanged{Changes: c} })
}

// Permit says what a person may do from now on, whole.
type Permit struct {
	Meta
	Account record.Asset
	Version string
	Roles   []string
	Depots  []record.Asset
}

func (*Permit) spec() (Permission, string) { return People, "permissions-changed" }

func (c *Permit) plan(s *step) error {
	e, was, err := s.account(c.Account)
	if err != nil {
		return err
	}
	for i, d := range c.Depots {
		if slices.Contains(was.Depots, d) {
			continue
		}
		if err := s.useDepot(fmt.Sprintf("depots[%d]", i), d, ""); err != nil {
			return err
		}
	}
	typed := AccountDetails{AccountAdded: was.AccountAdded, PermissionsChanged: record.PermissionsChanged{Roles: c.Roles, Depots: c.Depots}}
	err = s.change(e, c.Version, typed, func(record.Changes) record.Body {
		return record.PermissionsChanged{Roles: c.Roles, Depots: c.Depots}
	})
	if err != nil {
		return err
	}
	return s.someManager()
}

// CloseAccount ends an account; its sessions end with it, and its tokens.
type CloseAccount struct {
	Meta
	Account record.Asset
}

func (*CloseAccount) spec() (Permission, string) { return People, "account-closed" }

func (c *CloseAccount) plan(s *step) error {
	_, was, err := s.account(c.Account)
	if err != nil {
		return err
	}
	if was.Closed != 0 {
		return invalid(was.Login, "account", "an account that was closed on "+day(was.Closed), "an open one")
	}
	if err := s.enter(c.Account, record.AccountClosed{}); err != nil {
		return err
	}
	s.extra.EndSessions = append(s.extra.EndSessions, c.Account)
	return s.someManager()
}

// someManager tells whether somebody is left who may let people in. The account
// that proves it is held as it stands until the change is entered, so that two
// managers cannot close each other at once.
func (s *step) someManager() error {
	open := func(a record.Asset) (bool, error) {
		e, err := s.entity(a)
		if err != nil || e == nil {
			return false, err
		}
		v, err := e.Account(record.Latest)
		return err == nil && v.May(record.Manager), err
	}
	for a := range s.changed {
		if is, err := open(a); is || err != nil {
			return err
		}
	}
	var proof record.Asset
	err := s.r.each(s.ctx, store.Query{Kind: record.AccountAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
		if proof != "" || s.changed[row.Asset] {
			return nil
		}
		is, err := open(row.Asset)
		if is {
			proof = row.Asset
		}
		return err
	})
	if err != nil {
		return err
	}
	if proof == "" {
		return invalid("", "roles", "no manager left", "one open account at least with the role manager, or nobody could let people in")
	}
	s.changed[proof] = true
	return nil
}

// NewLink makes a new one-time link with which an account sets its password: for
// whoever forgot theirs. Earlier links no longer work; sessions go on until the
// new password is set.
func (r *Register) NewLink(ctx context.Context, account record.Asset) (link string, err error) {
	if _, err := r.actor(ctx, People); err != nil {
		return "", err
	}
	a, err := r.account(ctx, account)
	if err != nil {
		return "", err
	}
	if a.Added == 0 || a.Closed != 0 {
		return "", invalid(a.Login, "account", "a closed account", "an open one")
	}
	secret, hash, err := r.secret()
	if err != nil {
		return "", err
	}
	now := r.now()
	return secret, r.store.PutSecret(ctx, store.Secret{Account: account, Kind: linkSecret, Value: hash.String(), Changed: now, Expires: now + linkLasts})
}

// account returns an account as it is today.
func (r *Register) account(ctx context.Context, a record.Asset) (*record.Account, error) {
	row, err := r.store.Row(ctx, a)
	if errors.Is(err, store.ErrNotFound) || a.Kind() != record.AccountAsset {
		return nil, &NotFound{What: "account", Name: string(a)}
	}
	if err != nil {
		return nil, err
	}
	e, err := row.Entity()
	if err != nil {
		return nil, err
	}
	return e.Account(record.Latest)
}

// AccountOf finds an account by what it signs in with.
func (r *Register) AccountOf(ctx context.Context, login string) (record.Asset, error) {
	if _, err := r.actor(ctx, ReadPeople); err != nil {
		return "", err
	}
	a, err := r.store.Key(ctx, "account:"+folded(login))
	if errors.Is(err, store.ErrNotFound) {
		return "", &NotFound{What: "account", Name: login}
	}
	return a, err
}
