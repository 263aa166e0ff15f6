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

// tokenPrefix begins a token for programs, so that whoever finds one in a file
// knows what it is.
const tokenPrefix = "underpin_"

// IssueToken makes a token with which a program acts for an account, no further
// than its scopes and the account's roles reach. Done.Secret is the token, told
// once. Account left out is the actor's own.
type IssueToken struct {
	Meta
	Account record.Asset
	Title   string
	Scopes  []Permission
	Expires record.Time
}

func (*IssueToken) spec() (Permission, string) { return Tokens, "token-issued" }

func (c *IssueToken) plan(s *step) error {
	account, err := s.tokenAccount(c.Account)
	if err != nil {
		return err
	}
	_, a, err := s.account(account)
	if err != nil {
		return err
	}
	if a.Closed != 0 {
		return invalid(a.Login, "account", "a closed account", "an open one")
	}
	scopes := make([]string, len(c.Scopes))
	for i, p := range c.Scopes {
		if !slices.Contains(scopeNames(), string(p)) || slices.Contains(c.Scopes[:i], p) {
			return invalid("", "scopes", show(encoded(string(p))), "each once of "+joinedWords(scopeNames()))
		}
		scopes[i] = string(p)
	}
	if !(s.now < c.Expires && c.Expires <= s.now+tokenMost) {
		return invalid("", "expires", c.Expires.String(), fmt.Sprintf("an instant from now to %s", day(s.now+tokenMost)))
	}
	text, _, err := s.r.secret()
	if err != nil {
		return err
	}
	id, err := s.r.newID()
	if err != nil {
		return err
	}
	text = tokenPrefix + text
	s.done.Secret = text
	s.extra.Tokens = append(s.extra.Tokens, store.Token{ID: id, Account: account, Hash: record.DigestOf([]byte(text)), Title: c.Title,
		Scopes: scopes, Created: s.now, Expires: c.Expires})
	return s.enter(account, record.TokenIssued{Token: id, Title: c.Title, Scopes: scopes, Expires: c.Expires})
}

// scopeNames lists what a token may be limited to. None may let people in or make
// further tokens: whoever found one could make it last for ever.
func scopeNames() []string {
	var names []string
	for p := range words {
		if p != Tokens && p != People {
			names = append(names, string(p))
		}
	}
	slices.Sort(names)
	return names
}

func joinedWords(list []string) string { return strings.Join(list, ", ") }

// tokenAccount is the account whose token it is: the actor's own, or with People
// another's.
func (s *step) tokenAccount(a record.Asset) (record.Asset, error) {
	if a == "" {
		a = s.actor.Who.Account
	}
	if a == "" {
		return "", invalid("", "account", "nobody", "the account that the token acts for")
	}
	if a != s.actor.Who.Account {
		return a, s.actor.need(People)
	}
	return a, nil
}

// RevokeToken takes a token back.
type RevokeToken struct {
	Meta
	Account record.Asset // left out: the actor's own
	Token   record.ID
}

func (*RevokeToken) spec() (Permission, string) { return Tokens, "token-revoked" }

func (c *RevokeToken) plan(s *step) error {
	account, err := s.tokenAccount(c.Account)
	if err != nil {
		return err
	}
	all, err := s.r.store.Tokens(s.ctx, account)
	if err != nil {
		return err
	}
	for _, t := range all {
		if t.ID != c.Token {
			continue
		}
		if t.Revoked != 0 {
			return invalid("", "token", "a token that was taken back on "+day(t.Revoked), "one in force")
		}
		t.Revoked = s.now
		s.extra.Tokens = append(s.extra.Tokens, t)
		return s.enter(account, record.TokenRevoked{Token: c.Token})
	}
	return &NotFound{What: "token", Name: string(c.Token)}
}

// TokensOf lists the tokens of an account, newest first: of the actor's own, or
// with ReadPeople of any, or of all for an empty one.
func (r *Register) TokensOf(ctx context.Context, account record.Asset) ([]store.Token, error) {
	if err := own(r.world.Identity(ctx), account, ReadPeople); err != nil {
		return nil, err
	}
	return r.store.Tokens(ctx, account)
}

// ByToken returns whom a program with a token acts for, or ErrNotSignedIn.
func (r *Register) ByToken(ctx context.Context, text string) (*Actor, error) {
	if !strings.HasPrefix(text, tokenPrefix) {
		return nil, ErrNotSignedIn
	}
	t, err := r.store.Token(ctx, record.DigestOf([]byte(text)))
	now := r.now()
	if errors.Is(err, store.ErrNotFound) || err == nil && (t.Revoked != 0 || t.Expires <= now) {
		return nil, ErrNotSignedIn
	}
	if err != nil {
		return nil, err
	}
	a, err := r.openAccount(ctx, t.Account)
	if err != nil {
		return nil, err
	}
	if now-t.Used > seenEvery {
		_ = r.store.TouchToken(ctx, t.ID, now) // for the list; who cannot be noted may read on
	}
	scopes := make([]Permission, 0, len(t.Scopes))
	for _, s := range t.Scopes {
		scopes = append(scopes, Permission(s))
	}
	actor := actorOf(a, scopes, "")
	name := actor.Who.Name + ", by the token " + t.Title
	if len(name) > record.MaxName {
		name = strings.ToValidUTF8(name[:record.MaxName], "")
	}
	actor.Who.Name = name
	return actor, nil
}
