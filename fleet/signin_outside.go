package fleet

import (
	"context"
	"errors"
	"strings"

	"underpin/store"
)

// identityKey begins the names under which accounts are found by identity.
const identityKey = "identity:"

// identity is an identity as it is kept. What has an @ is an e-mail address, in which
// capitals do not count; anything else is a subject, in which they do.
func identity(text string) string {
	text = strings.TrimSpace(text)
	if strings.Contains(text, "@") {
		return strings.ToLower(text)
	}
	return text
}

func checkIdentity(text string) error {
	text = identity(text)
	ok := len(text) <= 255
	for _, c := range text {
		ok = ok && c > ' ' && c != 0x7f
	}
	if !ok {
		return invalid("", "identity", show(encoded(text)), "a verified e-mail address or a subject of the identity provider, at most 255 signs without blanks")
	}
	return nil
}

// An Outside is a person whom an identity provider has vouched for.
type Outside struct {
	Subject  string
	Email    string
	Verified bool // the provider has verified that the address is the person's

	Address string // of the machine it comes from
	Agent   string // what the browser calls itself
	Before  string // the session that the browser had, if any; it ends
}

// SignInFrom begins a session for somebody whom an identity provider vouches for, if a
// manager has entered the subject or the verified address with an account. It makes
// no account and gives no role. The error is ErrSignIn when nobody is known so.
func (r *Register) SignInFrom(ctx context.Context, in Outside) (*Ticket, error) {
	now := r.world.Now()
	if wait, ok := r.addresses.try(in.Address, now); !ok {
		return nil, &TooMany{Wait: wait}
	}
	var names []string
	if in.Subject != "" && !strings.Contains(in.Subject, "@") { // or a subject could pass for an address
		names = append(names, in.Subject)
	}
	if in.Verified && strings.Contains(in.Email, "@") {
		names = append(names, identity(in.Email))
	}
	for _, name := range names {
		asset, err := r.store.Key(ctx, identityKey+name)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		a, err := r.openAccount(ctx, asset)
		if errors.Is(err, ErrNotSignedIn) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return r.begin(ctx, a, SignIn{Address: in.Address, Agent: in.Agent, Before: in.Before})
	}
	return nil, ErrSignIn
}
