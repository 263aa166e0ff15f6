package web

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"

	"underpin/fleet"
)

// OIDC says which identity provider people may sign in through, by OpenID Connect.
type OIDC struct {
	Issuer string // address of the provider
	Client string // id that the provider gave this program
	Secret string // empty for a public client
	Name   string // what the button calls the provider

	mu       sync.Mutex
	provider *oidc.Provider // found when it is first needed
}

// Addresses of the way out and back. The second is what the provider is told.
const (
	outsidePath = "/sign-in/outside"
	backPath    = "/sign-in/outside/back"
)

// outsideLasts is how long somebody may take at the provider. Common practice, no
// source.
const outsideLasts = 10 * time.Minute

// errProvider tells that the provider cannot be reached or does not answer as it
// should.
var errProvider = errors.New("the identity provider does not answer as it should")

// find asks the provider once where its parts are. A provider that is not there is
// asked again the next time.
func (o *OIDC) find(ctx context.Context) (*oidc.Provider, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.provider != nil {
		return o.provider, nil
	}
	p, err := oidc.NewProvider(o.client(ctx), o.Issuer)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errProvider, err)
	}
	o.provider = p
	return p, nil
}

// client is the one with which the provider is asked: it does not wait for ever.
func (o *OIDC) client(ctx context.Context) context.Context {
	return oidc.ClientContext(ctx, &http.Client{Timeout: 10 * time.Second})
}

// config is what the library needs for one sign-in.
func (s *site) outsideConfig(r *http.Request, p *oidc.Provider) *oauth2.Config {
	return &oauth2.Config{ClientID: s.OIDC.Client, ClientSecret: s.OIDC.Secret, Endpoint: p.Endpoint(),
		RedirectURL: s.origin(r) + backPath, Scopes: []string{oidc.ScopeOpenID, "email"}}
}

// A way is what the browser keeps while somebody is at the provider: what proves
// that the answer belongs to the question.
type way struct {
	State    string `json:"state"`
	Nonce    string `json:"nonce"`
	Verifier string `json:"verifier"` // of PKCE
	Next     string `json:"next"`
}

func (s *site) wayCookie(r *http.Request) *http.Cookie {
	c := &http.Cookie{Name: cookieName + "-outside", Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, MaxAge: -1}
	if s.secure(r) {
		c.Name, c.Secure = secureCookie+"-outside", true
	}
	return c
}

// signInOutside leads to the provider.
func (s *site) signInOutside(w http.ResponseWriter, r *http.Request) {
	if s.OIDC == nil {
		s.notFound(w, r)
		return
	}
	p, err := s.OIDC.find(r.Context())
	if err != nil {
		s.failOutside(w, r, err)
		return
	}
	g := way{State: oauth2.GenerateVerifier(), Nonce: oauth2.GenerateVerifier(), Verifier: oauth2.GenerateVerifier(), Next: localPath(r.FormValue("next"))}
	if len(g.Next) > 1000 { // a cookie has no more room
		g.Next = "/"
	}
	kept, err := json.Marshal(g)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	c := s.wayCookie(r)
	c.Value, c.MaxAge = base64.RawURLEncoding.EncodeToString(kept), int(outsideLasts.Seconds())
	http.SetCookie(w, c)
	w.Header().Set("Cache-Control", "no-store")
	http.Redirect(w, r, s.outsideConfig(r, p).AuthCodeURL(g.State, oidc.Nonce(g.Nonce), oauth2.S256ChallengeOption(g.Verifier)), http.StatusSeeOther)
}

// back takes what the provider says, and begins a session for whom it vouches for.
func (s *site) back(w http.ResponseWriter, r *http.Request) {
	if s.OIDC == nil {
		s.notFound(w, r)
		return
	}
	g, ok := s.wayOf(r)
	http.SetCookie(w, s.wayCookie(r)) // each way is gone once
	if !ok || subtle.ConstantTimeCompare([]byte(g.State), []byte(r.FormValue("state"))) != 1 {
		s.outsidePage(w, r, http.StatusBadRequest, "That answer belongs to no sign-in that was begun in this browser, or it took longer than ten minutes. Begin again here.")
		return
	}
	if why := r.FormValue("error"); why != "" {
		s.outsidePage(w, r, http.StatusUnauthorized, "The identity provider did not sign you in ("+why+").")
		return
	}
	who, err := s.vouched(r, g)
	if err != nil {
		s.failOutside(w, r, err)
		return
	}
	who.Address, who.Agent, who.Before = s.address(r), r.UserAgent(), s.cookie(r)
	t, err := s.Register.SignInFrom(r.Context(), *who)
	tooMany, limited := errors.AsType[*fleet.TooMany](err)
	switch {
	case err == nil:
		s.setCookie(w, r, t)
		http.Redirect(w, r, localPath(g.Next), http.StatusSeeOther)
	case errors.Is(err, fleet.ErrSignIn):
		s.outsidePage(w, r, http.StatusUnauthorized, "No account here is known by "+knownBy(who)+". A manager enters it with your account.")
	case limited:
		w.Header().Set("Retry-After", itoa(waitSeconds(tooMany)))
		s.outsidePage(w, r, http.StatusTooManyRequests, tooManyWords(tooMany))
	default:
		s.fail(w, r, err)
	}
}

func (s *site) wayOf(r *http.Request) (*way, bool) {
	c, err := r.Cookie(s.wayCookie(r).Name)
	if err != nil {
		return nil, false
	}
	raw, err := base64.RawURLEncoding.DecodeString(c.Value)
	var g way
	if err != nil || json.Unmarshal(raw, &g) != nil || g.State == "" || g.Nonce == "" || g.Verifier == "" {
		return nil, false
	}
	return &g, true
}

// claims are what the provider says of a person.
type claims struct {
	Email    string `json:"email"`
	Verified truth  `json:"email_verified"`
}

// A truth is true only where it is said so: some providers write it as text.
type truth bool

func (t *truth) UnmarshalJSON(b []byte) error {
	text := strings.Trim(string(b), `"`)
	*t = text == "true"
	return nil
}

// knownBy says by what somebody is known, for whoever has to enter it.
func knownBy(v *fleet.Outside) string {
	text := "the subject “" + v.Subject + "”"
	switch {
	case v.Email != "" && v.Verified:
		text = "the address " + v.Email + " or " + text
	case v.Email != "":
		text += "; the address " + v.Email + " is not verified by the provider and does not count"
	}
	return text
}

// vouched exchanges the code for what the provider says, and proves it: signature,
// issuer, audience, end, and that it answers this very question.
func (s *site) vouched(r *http.Request, g *way) (*fleet.Outside, error) {
	ctx := s.OIDC.client(r.Context())
	p, err := s.OIDC.find(ctx)
	if err != nil {
		return nil, err
	}
	c := s.outsideConfig(r, p)
	token, err := c.Exchange(ctx, r.FormValue("code"), oauth2.VerifierOption(g.Verifier))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errProvider, err)
	}
	raw, ok := token.Extra("id_token").(string)
	if !ok {
		return nil, fmt.Errorf("%w: it gave no ID token", errProvider)
	}
	id, err := p.Verifier(&oidc.Config{ClientID: s.OIDC.Client}).Verify(ctx, raw)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errProvider, err)
	}
	if subtle.ConstantTimeCompare([]byte(id.Nonce), []byte(g.Nonce)) != 1 {
		return nil, fmt.Errorf("%w: its ID token answers another question", errProvider)
	}
	var said claims
	if err := id.Claims(&said); err != nil {
		return nil, fmt.Errorf("%w: %w", errProvider, err)
	}
	if said.Email == "" && p.UserInfoEndpoint() != "" {
		info, err := p.UserInfo(ctx, oauth2.StaticTokenSource(token))
		if err == nil && info.Subject == id.Subject {
			said = claims{info.Email, truth(info.EmailVerified)}
		}
	}
	return &fleet.Outside{Subject: id.Subject, Email: said.Email, Verified: bool(said.Verified)}, nil
}

// outsidePage shows the sign-in page with what went wrong on the way.
func (s *site) outsidePage(w http.ResponseWriter, r *http.Request, status int, wrong string) {
	s.render(w, r, status, "signin", "Sign in", s.signInView(r, "/", wrong))
}

// failOutside tells that the provider is to blame; why stands in the log.
func (s *site) failOutside(w http.ResponseWriter, r *http.Request, err error) {
	if !errors.Is(err, errProvider) {
		s.fail(w, r, err)
		return
	}
	s.Log.Error("identity provider", "issuer", s.OIDC.Issuer, "error", err)
	s.outsidePage(w, r, http.StatusBadGateway, "The identity provider cannot be reached, or does not answer as it should; the log says why. Who has a password can sign in with it.")
}
