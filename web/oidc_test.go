package web_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"maps"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"underpin/fleet"
	"underpin/record"
	"underpin/web"
)

// A provider is an identity provider as far as OpenID Connect Core 1.0 (the code flow)
// and RFC 7636 (PKCE) ask one to be, with a person at it who agrees to everything.
type provider struct {
	testing.TB
	*httptest.Server
	key *ecdsa.PrivateKey

	mu     sync.Mutex
	asked  map[string]url.Values // by code
	claims map[string]any        // of the person, laid over the usual ones
	forge  *ecdsa.PrivateKey     // signs instead of the key; nil: nothing does
	down   bool
}

const clientID, clientSecret = "underpin-test", "a secret, with signs & blanks"

func newProvider(t testing.TB) *provider {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	p := &provider{TB: t, key: key, asked: map[string]url.Values{}, claims: map[string]any{}}
	mux := http.NewServeMux()
	say := func(w http.ResponseWriter, v any) {
		w.Header().Set("Content-Type", "application/json")
		json.NewEncoder(w).Encode(v)
	}
	mux.HandleFunc("GET /.well-known/openid-configuration", func(w http.ResponseWriter, _ *http.Request) {
		if p.down {
			http.Error(w, "down", http.StatusServiceUnavailable)
			return
		}
		say(w, map[string]any{"issuer": p.URL, "authorization_endpoint": p.URL + "/authorize", "token_endpoint": p.URL + "/token", "jwks_uri": p.URL + "/keys",
			"response_types_supported": []string{"code"}, "subject_types_supported": []string{"public"}, "id_token_signing_alg_values_supported": []string{"ES256"}})
	})
	mux.HandleFunc("GET /keys", func(w http.ResponseWriter, _ *http.Request) {
		point := func(n *big.Int) string { return base64.RawURLEncoding.EncodeToString(n.FillBytes(make([]byte, 32))) }
		say(w, map[string]any{"keys": []any{map[string]any{"kty": "EC", "crv": "P-256", "kid": "1", "use": "sig", "alg": "ES256", "x": point(p.key.X), "y": point(p.key.Y)}}})
	})
	mux.HandleFunc("GET /authorize", func(w http.ResponseWriter, r *http.Request) {
		q := r.URL.Query()
		for name, want := range map[string]string{"client_id": clientID, "response_type": "code", "code_challenge_method": "S256"} {
			if q.Get(name) != want {
				t.Errorf("%s = %q, want %q", name, q.Get(name), want)
			}
		}
		if !strings.Contains(" "+q.Get("scope")+" ", " openid ") || len(q.Get("state")) < 32 || len(q.Get("nonce")) < 32 || len(q.Get("code_challenge")) != 43 {
			t.Errorf("asked for %v", q)
		}
		code := rand.Text()
		p.mu.Lock()
		p.asked[code] = q
		p.mu.Unlock()
		http.Redirect(w, r, q.Get("redirect_uri")+"?"+url.Values{"code": {code}, "state": {q.Get("state")}}.Encode(), http.StatusFound)
	})
	mux.HandleFunc("POST /token", func(w http.ResponseWriter, r *http.Request) {
		id, secret, basic := r.BasicAuth()
		if !basic {
			id, secret = r.PostFormValue("client_id"), r.PostFormValue("client_secret")
		} else {
			secret, _ = url.QueryUnescape(secret)
		}
		p.mu.Lock()
		asked, known := p.asked[r.PostFormValue("code")]
		delete(p.asked, r.PostFormValue("code"))
		p.mu.Unlock()
		sum := sha256.Sum256([]byte(r.PostFormValue("code_verifier")))
		proved := base64.RawURLEncoding.EncodeToString(sum[:]) == asked.Get("code_challenge")
		if id != clientID || secret != clientSecret || !known || !proved || r.PostFormValue("redirect_uri") != asked.Get("redirect_uri") {
			w.WriteHeader(http.StatusBadRequest)
			say(w, map[string]any{"error": "invalid_grant"})
			return
		}
		c := map[string]any{"iss": p.URL, "aud": clientID, "sub": "248289761001", "nonce": asked.Get("nonce"), "iat": time.Now().Unix(), "exp": time.Now().Add(time.Minute).Unix(),
			"email": "ann@depot.example", "email_verified": true}
		maps.Copy(c, p.claims)
		say(w, map[string]any{"access_token": rand.Text(), "token_type": "Bearer", "expires_in": 60, "id_token": p.sign(c)})
	})
	p.Server = httptest.NewServer(mux)
	t.Cleanup(p.Close)
	return p
}

// sign makes a JSON Web Token, signed with ES256 (RFC 7518, 3.4).
func (p *provider) sign(claims map[string]any) string {
	part := func(v any) string {
		raw, err := json.Marshal(v)
		if err != nil {
			p.Error(err)
		}
		return base64.RawURLEncoding.EncodeToString(raw)
	}
	key := p.key
	if p.forge != nil {
		key = p.forge
	}
	text := part(map[string]any{"alg": "ES256", "kid": "1"}) + "." + part(claims)
	sum := sha256.Sum256([]byte(text))
	r, s, err := ecdsa.Sign(rand.Reader, key, sum[:])
	if err != nil {
		p.Error(err)
	}
	return text + "." + base64.RawURLEncoding.EncodeToString(append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...))
}

// through goes the whole way: out, to the provider, and back.
func (v *visitor) through(start string) answer {
	v.Helper()
	out := v.get(start)
	if out.status != http.StatusSeeOther {
		return out
	}
	r, err := http.NewRequest(http.MethodGet, out.head.Get("Location"), nil)
	if err != nil {
		v.Fatal(err)
	}
	at := v.do(r)
	to, err := url.Parse(at.head.Get("Location"))
	if err != nil || at.status != http.StatusFound {
		v.Fatalf("the provider answered %d %s", at.status, at.body)
	}
	return v.get(to.RequestURI())
}

func outsideYard(t testing.TB, p *provider) *yard {
	y := newYard(t)
	s := httptest.NewServer(web.Handler(web.Config{Register: y.Register, Path: "register", OIDC: &web.OIDC{Issuer: p.URL, Client: clientID, Secret: clientSecret, Name: "Reedbank"}}))
	t.Cleanup(s.Close)
	y.url = s.URL
	return y
}

// Whom the provider vouches for is signed in when a manager has entered the verified
// address or the subject, and with the roles that the manager gave; nobody else is.
func TestSignInThroughProvider(t *testing.T) {
	p := newProvider(t)
	y := outsideYard(t, p)
	ann := y.must(&fleet.AddAccount{Name: "Ann Ahrens", Login: "ann", Identity: "Ann@Depot.Example", Roles: []string{record.Driver}})
	y.must(&fleet.AddAccount{Name: "Bo Berg", Login: "bo", Identity: "248289761002", Roles: []string{record.Planner}})
	y.must(&fleet.AddAccount{Name: "Cy Clay", Login: "cy@depot.example", Roles: []string{record.Manager}}) // no identity was entered

	page := y.visitor().get("/sign-in?next=/vehicles")
	if !strings.Contains(page.body, `href="/sign-in/outside?next=%2Fvehicles"`) || !strings.Contains(page.text(), "through Reedbank") {
		t.Errorf("the sign-in page does not lead there: %s", page.body)
	}
	for _, tt := range []struct {
		name   string
		claims map[string]any
		who    string // signed in as; empty: nobody
		says   string
	}{
		{"a verified address, whatever its capitals", map[string]any{"email": "ANN@depot.example"}, "Ann Ahrens", ""},
		{"verified as text", map[string]any{"email_verified": "true"}, "Ann Ahrens", ""},
		{"a subject", map[string]any{"sub": "248289761002", "email": "someone@else.example"}, "Bo Berg", ""},
		{"a subject without an address", map[string]any{"sub": "248289761002", "email": nil, "email_verified": nil}, "Bo Berg", ""},
		{"an address that is not verified", map[string]any{"email_verified": false}, "", "is not verified"},
		{"an address of which that is not said", map[string]any{"email_verified": nil}, "", "is not verified"},
		{"an address that nobody entered", map[string]any{"email": "dora@depot.example"}, "", "dora@depot.example"},
		{"an address that is the name of an account, but was not entered", map[string]any{"email": "cy@depot.example"}, "", "No account here"},
		{"a subject that is the name of an account", map[string]any{"sub": "ann", "email": nil}, "", "“ann”"},
		{"a subject that passes for an address", map[string]any{"sub": "ann@depot.example", "email": nil}, "", "No account here"},
		{"roles of the provider's own", map[string]any{"roles": []string{"manager"}, "groups": []string{"manager"}}, "Ann Ahrens", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p.claims = tt.claims
			v := y.visitor()
			v.TB = t
			a := v.through("/sign-in/outside?next=/account")
			if tt.who == "" {
				if a.status != http.StatusUnauthorized || !strings.Contains(a.text(), tt.says) {
					t.Errorf("%d %s", a.status, a.text())
				}
				if b := v.get("/account"); b.status != http.StatusSeeOther {
					t.Errorf("and then: %d %s", b.status, b.text())
				}
				return
			}
			if a.status != http.StatusSeeOther || a.head.Get("Location") != "/account" {
				t.Fatalf("%d %s %s", a.status, a.head.Get("Location"), a.text())
			}
			if b := v.get("/account"); b.status != http.StatusOK || !strings.Contains(b.text(), tt.who) || strings.Contains(b.text(), "You are manager") {
				t.Errorf("%d %s", b.status, b.text())
			}
		})
	}
	p.claims = map[string]any{}
	before, err := y.List(y.ctx, fleet.ListQuery{Kind: record.AccountAsset})
	if err != nil || len(before.Items) != 3 {
		t.Errorf("there are %d accounts, and nobody made one: %v", len(before.Items), err)
	}
	// A closed account lets nobody in, and its address may be another's.
	y.must(&fleet.CloseAccount{Account: ann.Asset})
	if a := y.visitor().through("/sign-in/outside"); a.status != http.StatusUnauthorized {
		t.Errorf("a closed account: %d", a.status)
	}
	y.must(&fleet.AddAccount{Name: "Ann Abel", Login: "abel", Identity: "ann@depot.example", Roles: []string{record.Driver}})
	if a := y.visitor().through("/sign-in/outside"); a.status != http.StatusSeeOther || a.head.Get("Location") != "/" {
		t.Errorf("another with the address: %d %s", a.status, a.text())
	}
	if _, err := y.Do(y.ctx, &fleet.AddAccount{Name: "Ann Acker", Login: "acker", Identity: "ANN@depot.example", Roles: []string{record.Driver}}); err == nil || !strings.Contains(err.Error(), "identity") {
		t.Errorf("two accounts with one address: %v", err)
	}
}

// What is forged, stale, repeated or from elsewhere lets nobody in.
func TestForgedSignIn(t *testing.T) {
	p := newProvider(t)
	y := outsideYard(t, p)
	y.must(&fleet.AddAccount{Name: "Ann Ahrens", Login: "ann", Identity: "ann@depot.example", Roles: []string{record.Driver}})
	other, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		claims map[string]any
		forge  *ecdsa.PrivateKey
		status int
	}{
		{"signed with another key", nil, other, http.StatusBadGateway},
		{"for another program", map[string]any{"aud": "another"}, nil, http.StatusBadGateway},
		{"by another issuer", map[string]any{"iss": "https://issuer.example"}, nil, http.StatusBadGateway},
		{"that has ended", map[string]any{"exp": time.Now().Add(-time.Hour).Unix()}, nil, http.StatusBadGateway},
		{"that answers another question", map[string]any{"nonce": "another"}, nil, http.StatusBadGateway},
		{"without a nonce", map[string]any{"nonce": nil}, nil, http.StatusBadGateway},
	} {
		p.claims, p.forge = tt.claims, tt.forge
		v := y.visitor()
		if a := v.through("/sign-in/outside"); a.status != tt.status {
			t.Errorf("a token %s: %d %s", tt.name, a.status, a.text())
		}
		if a := v.get("/account"); a.status != http.StatusSeeOther {
			t.Errorf("a token %s let somebody in", tt.name)
		}
	}
	p.claims, p.forge = nil, nil

	// An answer without a question, of another browser's question, and a second time.
	v, w := y.visitor(), y.visitor()
	if a := v.get("/sign-in/outside/back?code=x&state=y"); a.status != http.StatusBadRequest {
		t.Errorf("an answer without a question: %d", a.status)
	}
	w.get("/sign-in/outside")
	out, err := http.NewRequest(http.MethodGet, v.get("/sign-in/outside").head.Get("Location"), nil)
	if err != nil {
		t.Fatal(err)
	}
	back, err := url.Parse(v.do(out).head.Get("Location"))
	if err != nil {
		t.Fatal(err)
	}
	if a := w.get(back.RequestURI()); a.status != http.StatusBadRequest {
		t.Errorf("the answer in another browser: %d", a.status)
	}
	if a := v.get(back.RequestURI()); a.status != http.StatusSeeOther {
		t.Errorf("the answer where it belongs: %d %s", a.status, a.text())
	}
	if a := v.get(back.RequestURI()); a.status != http.StatusBadRequest {
		t.Errorf("the answer a second time: %d", a.status)
	}
	v = y.visitor()
	state := mustQuery(t, v.get("/sign-in/outside").head.Get("Location")).Get("state")
	if a := v.get("/sign-in/outside/back?" + url.Values{"error": {"access_denied"}, "state": {state}}.Encode()); a.status != http.StatusUnauthorized || !strings.Contains(a.text(), "access_denied") {
		t.Errorf("the provider refuses: %d %s", a.status, a.text())
	}
	if a := y.visitor().through("/sign-in/outside?next=https://elsewhere.example/"); a.status != http.StatusSeeOther || a.head.Get("Location") != "/" {
		t.Errorf("sent on to another site: %d %s", a.status, a.head.Get("Location"))
	}
}

func mustQuery(t *testing.T, address string) url.Values {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	return u.Query()
}

// A provider that is down is told, and found once it is there again.
func TestProviderIsDown(t *testing.T) {
	p := newProvider(t)
	p.down = true
	y := outsideYard(t, p)
	y.must(&fleet.AddAccount{Name: "Ann Ahrens", Login: "ann", Identity: "ann@depot.example", Roles: []string{record.Driver}})
	v := y.visitor()
	if a := v.get("/sign-in/outside"); a.status != http.StatusBadGateway || !strings.Contains(a.text(), "cannot be reached") || !strings.Contains(a.body, `name="password"`) {
		t.Errorf("down: %d %s", a.status, a.text())
	}
	p.down = false
	if a := v.through("/sign-in/outside"); a.status != http.StatusSeeOther {
		t.Errorf("up again: %d %s", a.status, a.text())
	}
	if a := newYard(t).visitor().get("/sign-in/outside"); a.status != http.StatusNotFound {
		t.Errorf("without a provider: %d", a.status)
	}
}
