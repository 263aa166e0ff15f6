package record

import (
	"fmt"
	"slices"
)

// A Type is the view of a type record.
type Type struct {
	TypeAdded
	Asset     Asset
	Added     Time
	Documents []Document
}

// Type is the view of a type record at an instant.
func (e *Entity) Type(at Time) (*Type, error) {
	t := &Type{Asset: e.Asset}
	var d details[TypeAdded]
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "type-added":
			t.Added, d.added = entry.Happened, entry
		case "type-changed":
			return d.change(entry)
		case "document-attached":
			return entry.document(&t.Documents)
		}
		return nil
	})
	if err == nil {
		t.TypeAdded, err = d.whole()
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	return t, nil
}

// A Depot is the view of a depot.
type Depot struct {
	DepotAdded
	Asset         Asset
	Added, Closed Time
	Documents     []Document
}

// Depot is the view of a depot at an instant.
func (e *Entity) Depot(at Time) (*Depot, error) {
	v := &Depot{Asset: e.Asset}
	var d details[DepotAdded]
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "depot-added":
			v.Added, d.added = entry.Happened, entry
		case "depot-changed":
			return d.change(entry)
		case "depot-closed":
			v.Closed = entry.Happened
		case "document-attached":
			return entry.document(&v.Documents)
		}
		return nil
	})
	if err == nil {
		v.DepotAdded, err = d.whole()
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	return v, nil
}

// An Account is the view of a person's account.
type Account struct {
	AccountAdded
	Asset         Asset
	Added, Closed Time
	Roles         []string
	Depots        []Asset // empty: every depot
	Tokens        []Token // in force and revoked, oldest first
}

// A Token is what the records say of a token for programs.
type Token struct {
	TokenIssued
	Issued, Revoked Time
}

// May tells whether the account has a role and is open.
func (a *Account) May(role string) bool {
	return a.Added != 0 && a.Closed == 0 && slices.Contains(a.Roles, role)
}

// Account is the view of an account at an instant.
func (e *Entity) Account(at Time) (*Account, error) {
	a := &Account{Asset: e.Asset}
	var d details[AccountAdded]
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "account-added":
			a.Added, d.added = entry.Happened, entry
		case "account-changed":
			return d.change(entry)
		case "account-closed":
			a.Closed = entry.Happened
		case "permissions-changed":
			var p PermissionsChanged
			if err := entry.read(&p); err != nil {
				return err
			}
			a.Roles, a.Depots = p.Roles, p.Depots
		case "token-issued":
			t := Token{Issued: entry.Happened}
			if err := entry.read(&t.TokenIssued); err != nil {
				return err
			}
			a.Tokens = append(a.Tokens, t)
		case "token-revoked":
			var t TokenRevoked
			if err := entry.read(&t); err != nil {
				return err
			}
			for i := range a.Tokens {
				if a.Tokens[i].Token == t.Token {
					a.Tokens[i].Revoked = entry.Happened
				}
			}
		}
		return nil
	})
	if err == nil {
		a.AccountAdded, err = d.whole()
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	return a, nil
}

// Limits is the view of a set of limits that users keep.
type Limits struct {
	Asset  Asset
	Values Fields
	From   map[string]ID // which record set each value
}

// Limits is the view of a set of limits at an instant.
func (e *Entity) Limits(at Time) (*Limits, error) {
	l := &Limits{Asset: e.Asset, Values: Fields{}, From: map[string]ID{}}
	err := e.until(at, func(entry *Entry) error {
		if entry.Kind != "limits-changed" {
			return nil
		}
		var c LimitsChanged
		if err := entry.read(&c); err != nil {
			return err
		}
		for name := range c.Set {
			l.From[name] = entry.ID
		}
		for _, name := range c.Clear {
			delete(l.From, name)
		}
		return c.overlay(l.Values)
	})
	if err != nil {
		return nil, err
	}
	return l, nil
}

// Answer is the view of an answer that was kept, or nil when it was voided.
func (e *Entity) Answer(at Time) (*AnswerKept, error) {
	var a *AnswerKept
	err := e.until(at, func(entry *Entry) error {
		a = new(AnswerKept)
		return entry.read(a)
	})
	return a, err
}
