package fleet

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"underpin/record"
	"underpin/store"
)

const goodPassword = "four grey herons wading"

// first makes the first account by the link of a first start.
func (y *yard) first() *Ticket {
	y.Helper()
	link, err := y.FirstLink(y.ctx)
	if err != nil || link == "" {
		y.Fatalf("first link %q, %v", link, err)
	}
	t, err := y.Redeem(y.ctx, link, "Ann Weir", "ann", goodPassword, SignIn{Address: "10.0.0.1"})
	if err != nil {
		y.Fatal(err)
	}
	return t
}

func TestFirstStart(t *testing.T) {
	y := newYard(t)
	old, err := y.FirstLink(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	link, err := y.FirstLink(y.ctx) // a second start
	if err != nil {
		t.Fatal(err)
	}
	if _, err := y.LinkFor(y.ctx, old); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the link of the start before: %v", err)
	}
	if l, err := y.LinkFor(y.ctx, link); err != nil || !l.First {
		t.Fatalf("link: %+v, %v", l, err)
	}
	for _, test := range []struct{ name, login, password, where string }{
		{"Ann", "ann", "short", "password"}, {"Ann", "ann", "aaaaaaaaaaaaa", "password"}, {"Ann", "annabel", "annabel annabel", "password"},
		{"Ann", "a b", goodPassword, "login"}, {"", "ann", goodPassword, "name"}, {"Ann", "ann", strings.Repeat("ab", 150), "password"},
	} {
		_, err := y.Redeem(y.ctx, link, test.name, test.login, test.password, SignIn{})
		if e, ok := errors.AsType[*Invalid](err); !ok || e.Problems[0].Where != test.where {
			t.Errorf("%+v: %v, expected a problem at %s", test, err, test.where)
		}
	}
	ticket, err := y.Redeem(y.ctx, link, "Ann", "ann", goodPassword, SignIn{})
	if err != nil {
		t.Fatal(err)
	}
	if !ticket.Actor.May(People) {
		t.Error("the first account may not let people in")
	}
	if _, err := y.Redeem(y.ctx, link, "Eve", "eve", goodPassword, SignIn{}); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the link a second time: %v", err)
	}
	if link, err := y.FirstLink(y.ctx); link != "" || err != nil {
		t.Errorf("a link although there is an account: %q, %v", link, err)
	}
	// What the account does stands in the records under its name.
	done, err := y.Do(y.as(*ticket.Actor), &AddDepot{Details: record.DepotAdded{Name: "Yard"}})
	if err != nil {
		t.Fatal(err)
	}
	if rec, err := y.Store().Record(y.ctx, done.Record); err != nil || rec.Who != (record.Who{Account: ticket.Actor.Who.Account, Name: "Ann"}) {
		t.Errorf("who: %+v, %v", rec.Who, err)
	}
}

// TestFirstLinkOnce: of several who use it at once one makes an account.
func TestFirstLinkOnce(t *testing.T) {
	y := newYard(t)
	link, err := y.FirstLink(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	made := make([]error, 4)
	for i := range made {
		wg.Go(func() {
			_, made[i] = y.Redeem(y.ctx, link, fmt.Sprintf("No %d", i), fmt.Sprintf("no%d", i), goodPassword, SignIn{})
		})
	}
	wg.Wait()
	good := 0
	for _, err := range made {
		if err == nil {
			good++
		} else if !errors.Is(err, ErrNotSignedIn) {
			t.Error(err)
		}
	}
	if good != 1 {
		t.Errorf("%d accounts were made, expected one", good)
	}
}

func TestSessions(t *testing.T) {
	y := newYard(t)
	first := y.first()
	in := SignIn{Login: " ANN ", Password: goodPassword, Address: "10.0.0.2", Agent: "a browser", Before: first.Secret}
	ticket, err := y.SignIn(y.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	if ticket.Secret == first.Secret || ticket.Expires != record.At(morning)+SessionMost {
		t.Errorf("the session was not renewed: %+v", ticket)
	}
	if _, err := y.SignedIn(y.ctx, first.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the session before: %v", err)
	}
	if sessions, err := y.Store().Sessions(y.ctx, ""); err != nil || len(sessions) != 1 || strings.Contains(fmt.Sprint(sessions[0]), ticket.Secret) {
		t.Errorf("the store keeps %v (%v): the secret must not be there", sessions, err)
	}
	// Used now and then it lives, until its time is over.
	for range 13 {
		y.clock.pass(11 * time.Hour)
		if _, err := y.SignedIn(y.ctx, ticket.Secret); err != nil {
			t.Fatalf("after %s: %v", y.clock.Now().Sub(morning), err)
		}
	}
	y.clock.pass(26 * time.Hour)
	if _, err := y.SignedIn(y.ctx, ticket.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("after a week: %v", err)
	}
	// Left alone it ends sooner.
	a, err := y.SignIn(y.ctx, SignIn{Login: "ann", Password: goodPassword, Address: "10.0.0.2"})
	if err != nil {
		t.Fatal(err)
	}
	y.clock.pass(12*time.Hour + time.Minute)
	if _, err := y.SignedIn(y.ctx, a.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("left alone for more than twelve hours: %v", err)
	}
	// Listed and revoked.
	one, err := y.SignIn(y.ctx, SignIn{Login: "ann", Password: goodPassword, Address: "10.0.0.3", Agent: "a phone"})
	if err != nil {
		t.Fatal(err)
	}
	two, err := y.SignIn(y.ctx, SignIn{Login: "ann", Password: goodPassword, Address: "10.0.0.4"})
	if err != nil {
		t.Fatal(err)
	}
	me := y.as(*two.Actor)
	list, err := y.Sessions(me, two.Actor.Who.Account)
	if err != nil || len(list) != 2 {
		t.Fatalf("sessions %+v, %v", list, err)
	}
	for _, s := range list {
		if s.Here != (s.Address == "10.0.0.4") {
			t.Errorf("session %+v", s)
		}
		if !s.Here {
			if err := y.EndSession(me, s.Account, s.ID); err != nil {
				t.Error(err)
			}
		}
	}
	if _, err := y.SignedIn(y.ctx, one.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the session that was ended: %v", err)
	}
	if err := y.SignOut(y.ctx, two.Secret); err != nil {
		t.Error(err)
	}
	if _, err := y.SignedIn(y.ctx, two.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("after signing out: %v", err)
	}
	if _, err := y.SignedIn(y.ctx, ""); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("without a secret: %v", err)
	}
}

// slowStore lets something happen between the reading of a session and the noting
// that it was used.
type slowStore struct {
	store.Store
	before func()
}

func (s *slowStore) PutSession(ctx context.Context, v store.Session) error {
	if s.before != nil {
		s.before()
	}
	return s.Store.PutSession(ctx, v)
}

// TestEndedSessionStaysEnded: a request that is under way while its session is
// ended does not bring it back.
func TestEndedSessionStaysEnded(t *testing.T) {
	y := newYard(t)
	y.first()
	slow := &slowStore{Store: y.store}
	at := New(slow, y.world)
	at.hash.memory = y.hash.memory
	ends := map[string]func(*Ticket) error{
		"signed out": func(s *Ticket) error { return y.SignOut(y.ctx, s.Secret) },
		"ended from the list": func(s *Ticket) error {
			return y.EndSession(y.as(*s.Actor), s.Actor.Who.Account, s.Actor.Session)
		},
		"password changed": func(s *Ticket) error {
			_, err := y.ChangePassword(y.as(*s.Actor), goodPassword, goodPassword, SignIn{})
			return err
		},
	}
	for name, end := range ends {
		s, err := y.SignIn(y.ctx, SignIn{Login: "ann", Password: goodPassword})
		if err != nil {
			t.Fatal(err)
		}
		y.clock.pass(2 * time.Minute) // so that its use is noted
		slow.before = func() {
			if err := end(s); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if _, err := at.SignedIn(y.ctx, s.Secret); !errors.Is(err, ErrNotSignedIn) {
			t.Errorf("%s while a request was under way: %v", name, err)
		}
		slow.before = nil
		if _, err := at.SignedIn(y.ctx, s.Secret); !errors.Is(err, ErrNotSignedIn) {
			t.Errorf("%s, and came back: %v", name, err)
		}
	}
}

func TestPasswordsAndLinks(t *testing.T) {
	y := newYard(t)
	boss := y.first()
	added, err := y.Do(y.as(*boss.Actor), &AddAccount{Name: "Ben Reed", Login: "Ben", Roles: []string{record.Technician}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := y.SignIn(y.ctx, SignIn{Login: "ben", Password: ""}); !errors.Is(err, ErrSignIn) {
		t.Errorf("without any password: %v", err)
	}
	l, err := y.LinkFor(y.ctx, added.Secret)
	if err != nil || l.First || l.Login != "ben" {
		t.Fatalf("link %+v, %v", l, err)
	}
	ben, err := y.Redeem(y.ctx, added.Secret, "", "", goodPassword, SignIn{})
	if err != nil || ben.Actor.Who.Name != "Ben Reed" {
		t.Fatalf("%+v, %v", ben, err)
	}
	me := y.as(*ben.Actor)
	if _, err := y.ChangePassword(me, "wrong", "another good one", SignIn{}); err == nil {
		t.Error("changed with a wrong password")
	}
	now, err := y.ChangePassword(me, goodPassword, "another good one", SignIn{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := y.SignedIn(y.ctx, ben.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the session of the password before: %v", err)
	}
	if _, err := y.SignedIn(y.ctx, now.Secret); err != nil {
		t.Error(err)
	}
	// Who forgot the password gets a new link; an old link is void, and a late one.
	one, err := y.NewLink(y.as(*boss.Actor), added.Asset)
	if err != nil {
		t.Fatal(err)
	}
	two, err := y.NewLink(y.as(*boss.Actor), added.Asset)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := y.LinkFor(y.ctx, one); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the link before: %v", err)
	}
	y.clock.pass(73 * time.Hour)
	if _, err := y.Redeem(y.ctx, two, "", "", goodPassword, SignIn{}); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("a link of three days ago: %v", err)
	}
	if _, err := y.NewLink(me, added.Asset); err == nil {
		t.Error("a technician made a link")
	}
	// A closed account signs in no more, and its sessions are over.
	s, err := y.SignIn(y.ctx, SignIn{Login: "ben", Password: "another good one"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := y.Do(y.as(*boss.Actor), &CloseAccount{Account: added.Asset}); err != nil {
		t.Fatal(err)
	}
	if _, err := y.SignedIn(y.ctx, s.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("the session of a closed account: %v", err)
	}
	if _, err := y.SignIn(y.ctx, SignIn{Login: "ben", Password: "another good one"}); !errors.Is(err, ErrSignIn) {
		t.Errorf("a closed account: %v", err)
	}
}

// TestHashIsMadeAnew: a password whose hash has another cost than today's gets a
// new one when its owner signs in.
func TestHashIsMadeAnew(t *testing.T) {
	y := newYard(t)
	ann := y.first().Actor.Who.Account
	was, err := y.store.Secret(y.ctx, ann, passwordSecret)
	if err != nil {
		t.Fatal(err)
	}
	y.hash.memory *= 2
	for range 2 {
		if _, err := y.SignIn(y.ctx, SignIn{Login: "ann", Password: goodPassword}); err != nil {
			t.Fatal(err)
		}
	}
	now, err := y.store.Secret(y.ctx, ann, passwordSecret)
	if err != nil || now.Value == was.Value || !strings.Contains(now.Value, "m=16384,") {
		t.Errorf("hash %s, %v", now.Value, err)
	}
}

func TestSomeManagerStays(t *testing.T) {
	y := newYard(t)
	ann := y.first().Actor.Who.Account
	version := func(a record.Asset) string {
		p, err := y.AccountPage(y.ctx, a)
		if err != nil {
			t.Fatal(err)
		}
		return p.Version
	}
	if p := y.wrong(&CloseAccount{Account: ann}); !strings.Contains(p.Found, "no manager") {
		t.Errorf("closing the last manager: %v", p)
	}
	if p := y.wrong(&Permit{Account: ann, Version: version(ann), Roles: []string{record.Engineer}}); !strings.Contains(p.Found, "no manager") {
		t.Errorf("the last manager becomes an engineer: %v", p)
	}
	ben := y.must(&AddAccount{Name: "Ben", Login: "ben", Roles: []string{record.Manager}}).Asset
	if p := y.wrong(&AddAccount{Name: "Ben", Login: "BEN", Roles: []string{record.Driver}}); p.Where != "login" {
		t.Errorf("the login twice: %v", p)
	}
	// Two managers close each other at once: one of them stays.
	var wg sync.WaitGroup
	errs := make([]error, 2)
	for i, a := range []record.Asset{ann, ben} {
		wg.Go(func() { _, errs[i] = y.Do(y.ctx, &CloseAccount{Account: a}) })
	}
	wg.Wait()
	if (errs[0] == nil) == (errs[1] == nil) {
		t.Errorf("closing both at once: %v, %v; expected that one is refused", errs[0], errs[1])
	}
}

func TestTokens(t *testing.T) {
	y := newYard(t)
	boss := *y.first().Actor
	issue := &IssueToken{Title: "yard gate", Scopes: []Permission{Read, Report}, Expires: record.At(morning) + 48*hour}
	done, err := y.Do(y.as(boss), issue)
	if err != nil {
		t.Fatal(err)
	}
	actor, err := y.ByToken(y.ctx, done.Secret)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range slices.Collect(maps.Keys(words)) {
		if got, want := actor.May(p), p == Read || p == Report; got != want {
			t.Errorf("the token may %s: %v, expected %v", p, got, want)
		}
	}
	if _, err := y.Do(y.as(*actor), &AddDepot{Details: record.DepotAdded{Name: "Yard"}}); err == nil || !strings.Contains(err.Error(), "token") {
		t.Errorf("beyond its scope: %v", err)
	}
	seen, err := y.Upload(y.as(*actor), strings.NewReader("%PDF-1.7"))
	if err != nil {
		t.Fatal(err)
	}
	tractor := y.tractor("heron-07")
	by, err := y.Do(y.as(*actor), &Attach{Asset: tractor, Title: "T", Sort: "other", File: *seen})
	if err != nil {
		t.Fatal(err)
	}
	if rec, err := y.Store().Record(y.ctx, by.Record); err != nil || rec.Who.Name != "Ann Weir, by the token yard gate" || rec.Who.Account != boss.Who.Account {
		t.Errorf("who: %+v, %v", rec.Who, err)
	}
	list, err := y.TokensOf(y.as(boss), boss.Who.Account)
	if err != nil || len(list) != 1 || list[0].Used == 0 || strings.Contains(fmt.Sprint(list), done.Secret) {
		t.Errorf("tokens %+v, %v", list, err)
	}
	for _, text := range []string{"", "underpin_", done.Secret + "x", strings.TrimPrefix(done.Secret, "underpin_")} {
		if _, err := y.ByToken(y.ctx, text); !errors.Is(err, ErrNotSignedIn) {
			t.Errorf("token %q: %v", text, err)
		}
	}
	for _, c := range []*IssueToken{
		{Title: "x", Scopes: []Permission{People}, Expires: record.At(morning) + hour}, {Title: "x", Scopes: []Permission{Tokens}, Expires: record.At(morning) + hour},
		{Title: "x", Scopes: []Permission{"all"}, Expires: record.At(morning) + hour}, {Title: "x", Expires: record.At(morning) + hour},
		{Title: "x", Scopes: []Permission{Read}}, {Title: "x", Scopes: []Permission{Read}, Expires: record.At(morning) + 400*24*hour},
		{Scopes: []Permission{Read}, Expires: record.At(morning) + hour},
	} {
		if _, err := y.Do(y.as(boss), c); err == nil {
			t.Errorf("%+v passed", c)
		}
	}
	if _, err := y.Do(y.as(boss), &RevokeToken{Token: list[0].ID}); err != nil {
		t.Fatal(err)
	}
	if _, err := y.ByToken(y.ctx, done.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("revoked: %v", err)
	}
	late, err := y.Do(y.as(boss), issue)
	if err != nil {
		t.Fatal(err)
	}
	y.clock.pass(49 * time.Hour)
	if _, err := y.ByToken(y.ctx, late.Secret); !errors.Is(err, ErrNotSignedIn) {
		t.Errorf("expired: %v", err)
	}
}

func TestRateOfSignIn(t *testing.T) {
	y := newYard(t)
	y.first()
	try := func(login, address, password string) error {
		_, err := y.SignIn(y.ctx, SignIn{Login: login, Password: password, Address: address})
		return err
	}
	for i := range accountBurst {
		if err := try("ann", fmt.Sprintf("10.0.1.%d", i), "wrong"); !errors.Is(err, ErrSignIn) {
			t.Fatalf("try %d: %v", i+1, err)
		}
	}
	err := try("Ann", "10.0.2.1", goodPassword) // another spelling, another address, the right password
	if e, ok := errors.AsType[*TooMany](err); !ok || e.Wait <= 0 || e.Wait > accountEvery {
		t.Fatalf("the sixth try: %v", err)
	}
	// Trying on does not make the wait longer, and a clock set back does not end it.
	for range 10 {
		_ = try("ann", "10.0.2.2", "wrong")
	}
	y.clock.pass(-time.Minute)
	if _, ok := errors.AsType[*TooMany](try("ann", "10.0.2.3", goodPassword)); !ok {
		t.Error("a clock set back gave a new try")
	}
	y.clock.pass(time.Minute + accountEvery)
	if err := try("ann", "10.0.2.4", goodPassword); err != nil {
		t.Errorf("after waiting: %v", err)
	}
	// Signing in gives the account its tries back.
	for i := range accountBurst {
		if err := try("ann", "10.0.2.5", "wrong"); !errors.Is(err, ErrSignIn) {
			t.Fatalf("try %d after signing in: %v", i+1, err)
		}
	}
	// One address that tries many names is stopped as well.
	stopped := false
	for i := range addressBurst + 1 {
		_, is := errors.AsType[*TooMany](try(fmt.Sprintf("nobody%d", i), "10.0.3.1", "wrong"))
		stopped = stopped || is
	}
	if !stopped {
		t.Errorf("%d tries from one address passed", addressBurst+1)
	}
}

func TestLimiterIsBounded(t *testing.T) {
	l := newLimiter(time.Second, 2, 100)
	at := morning
	for i := range 2 {
		if _, ok := l.try("victim", at); !ok {
			t.Fatalf("try %d", i+1)
		}
	}
	for i := range 10_000 {
		l.try(fmt.Sprint(i), at)
		if len(l.names) > 100 {
			t.Fatalf("%d names are kept, at most 100", len(l.names))
		}
	}
	if _, ok := l.try("victim", at); ok {
		t.Error("a flood of invented names gave a new try")
	}
}

func TestPasswordHash(t *testing.T) {
	y := newYard(t)
	h := newHasher(y.world.Chance)
	ctx := context.Background()
	phc, err := h.hash(ctx, goodPassword)
	if err != nil {
		t.Fatal(err)
	}
	// The costs that were decided on: 46 MiB, two passes, one lane, in a PHC string.
	if !strings.HasPrefix(phc, "$argon2id$v=19$m=47104,t=2,p=1$") {
		t.Errorf("hash %s", phc)
	}
	if right, stale, err := h.check(ctx, phc, goodPassword); !right || stale || err != nil {
		t.Errorf("the right password: %v, %v, %v", right, stale, err)
	}
	if right, _, err := h.check(ctx, phc, goodPassword+" "); right || err != nil {
		t.Errorf("another password: %v, %v", right, err)
	}
	h.memory = 8 << 10
	cheap, err := h.hash(ctx, goodPassword)
	if err != nil || cheap == phc {
		t.Fatal(err)
	}
	h.memory = hashMemory
	if right, stale, err := h.check(ctx, cheap, goodPassword); !right || !stale || err != nil {
		t.Errorf("a hash of another cost: %v, %v, %v; expected right and to be made anew", right, stale, err)
	}
	for _, bad := range []string{"", "$argon2id$v=19$m=47104,t=2,p=1$AAAA$AAAA", strings.Replace(phc, "m=47104", "m=99999999", 1), strings.Replace(phc, "argon2id", "argon2i", 1), phc + "$"} {
		if _, _, err := h.check(ctx, bad, "x"); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
	// A third at once waits for its turn, and gives up with its request.
	h.turn <- struct{}{}
	h.turn <- struct{}{}
	gone, cancel := context.WithTimeout(ctx, time.Millisecond)
	defer cancel()
	if _, _, err := h.check(gone, phc, goodPassword); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a third at once: %v", err)
	}
}

func TestNoChance(t *testing.T) {
	y := newYard(t)
	y.world.Chance = io.LimitReader(y.world.Chance, 0)
	if _, err := y.Do(y.ctx, &AddDepot{Details: record.DepotAdded{Name: "Yard"}}); err == nil {
		t.Error("an id without chance")
	}
	if _, err := y.FirstLink(y.ctx); err == nil {
		t.Error("a link without chance")
	}
}
