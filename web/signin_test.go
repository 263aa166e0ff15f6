package web_test

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"underpin/fleet"
	"underpin/record"
	"underpin/store"
	"underpin/web"
)

// The first account is made with a link that works once, and signs in.
func TestFirstAccount(t *testing.T) {
	y := newYard(t)
	link, err := y.FirstLink(y.ctx)
	if err != nil || link == "" {
		t.Fatal(link, err)
	}
	v := y.visitor()
	if a := v.get("/welcome?" + url.Values{"link": {"guessed"}}.Encode()); a.status != http.StatusNotFound {
		t.Errorf("a guessed link: %d", a.status)
	}
	at := "/welcome?" + url.Values{"link": {link}}.Encode()
	if a := v.get(at); a.status != http.StatusOK || !strings.Contains(a.text(), "You are the first") {
		t.Fatalf("the link: %d %s", a.status, a.text())
	}
	for _, tt := range []struct{ password, again, says string }{
		{"short", "short", "at least 12"},
		{password, password + "x", "the same password twice"},
		{"my name is annahrens", "my name is annahrens", "nobody guesses"},
	} {
		a := v.post("/welcome", url.Values{"link": {link}, "name": {"Ann Ahrens"}, "login": {"annahrens"}, "password": {tt.password}, "again": {tt.again}})
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text(), tt.says) || !strings.Contains(a.body, `value="annahrens"`) {
			t.Errorf("%q: %d; says %q and keeps the name: %t", tt.password, a.status, tt.says, strings.Contains(a.body, `value="annahrens"`))
		}
		if strings.Contains(a.body, tt.password) {
			t.Errorf("the page holds the password %q", tt.password)
		}
	}
	a := v.post("/welcome", url.Values{"link": {link}, "name": {"Ann Ahrens"}, "login": {"annahrens"}, "password": {password}, "again": {password}})
	if a.status != http.StatusSeeOther || a.head.Get("Location") != "/fleet" {
		t.Fatalf("redeem: %d %s", a.status, a.text())
	}
	if a := v.get("/fleet"); a.status != http.StatusOK || !strings.Contains(a.text(), "no vehicle yet") {
		t.Errorf("signed in by the link: %d %s", a.status, a.text())
	}
	if a := y.visitor().get(at); a.status != http.StatusNotFound {
		t.Errorf("the link a second time: %d", a.status)
	}
	if link, err := y.FirstLink(y.ctx); link != "" || err != nil {
		t.Errorf("a second first link: %q %v", link, err)
	}
}

func TestSignIn(t *testing.T) {
	y := newYard(t)
	y.person("Bo Berg", "bo", record.Technician)
	v := y.visitor()
	if a := v.get("/vehicles?as=tractor"); a.status != http.StatusSeeOther || a.head.Get("Location") != "/sign-in?next=%2Fvehicles%3Fas%3Dtractor" {
		t.Errorf("a page without signing in: %d %s", a.status, a.head.Get("Location"))
	}
	a := v.post("/sign-in", url.Values{"login": {"bo"}, "password": {"another password"}, "next": {"/vehicles"}})
	if a.status != http.StatusUnauthorized || !strings.Contains(a.text(), "do not go together") || !strings.Contains(a.body, `value="bo"`) {
		t.Errorf("a wrong password: %d %s", a.status, a.text())
	}
	unknown := v.post("/sign-in", url.Values{"login": {"nobody"}, "password": {"another password"}, "next": {"/vehicles"}})
	if unknown.text() != a.text() {
		t.Errorf("a name that nobody has is told apart:\n%s\n%s", unknown.text(), a.text())
	}
	a = v.post("/sign-in", url.Values{"login": {" BO "}, "password": {password}, "next": {"/vehicles?as=tractor"}})
	if a.status != http.StatusSeeOther || a.head.Get("Location") != "/vehicles?as=tractor" {
		t.Fatalf("sign in: %d %s", a.status, a.head.Get("Location"))
	}
	cookie := a.head.Get("Set-Cookie")
	for _, part := range []string{"underpin=", "HttpOnly", "SameSite=Lax", "Path=/"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("the cookie has no %s: %s", part, cookie)
		}
	}
	if a := v.get("/vehicles"); a.status != http.StatusOK || a.head.Get("Cache-Control") != "no-store" {
		t.Errorf("signed in: %d, %s", a.status, a.head.Get("Cache-Control"))
	}
	if a := v.post("/sign-out", nil); a.status != http.StatusSeeOther {
		t.Errorf("sign out: %d", a.status)
	}
	if a := v.get("/vehicles"); a.status != http.StatusSeeOther {
		t.Errorf("after signing out: %d", a.status)
	}
}

// Where to go on after signing in is a page of ours and nothing else.
func TestSignInLeadsNowhereElse(t *testing.T) {
	y := newYard(t)
	y.person("Bo Berg", "bo", record.Technician)
	for _, next := range []string{"https://elsewhere.example/", "//elsewhere.example", `/\elsewhere.example`, "javascript:alert(1)", "elsewhere", "/\n/elsewhere.example", ""} {
		a := y.visitor().post("/sign-in", url.Values{"login": {"bo"}, "password": {password}, "next": {next}})
		if to := a.head.Get("Location"); to != "/" {
			t.Errorf("next %q leads to %q", next, to)
		}
	}
}

// Over https the cookie is bound to the host and never sent in the clear.
func TestSecureCookie(t *testing.T) {
	y := newYard(t)
	y.person("Bo Berg", "bo", record.Technician)
	h := web.Handler(web.Config{Register: y.Register, URL: "https://underpin.example"})
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(url.Values{"login": {"bo"}, "password": {password}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	h.ServeHTTP(w, r)
	cookie := w.Header().Get("Set-Cookie")
	if w.Code != http.StatusSeeOther || !strings.HasPrefix(cookie, "__Host-underpin=") || !strings.Contains(cookie, "Secure") || strings.Contains(cookie, "Domain") {
		t.Errorf("%d %s", w.Code, cookie)
	}
	if w.Header().Get("Strict-Transport-Security") == "" {
		t.Error("the browser is not told to stay with https")
	}
}

// Who tries too often is told how long to wait, in words and in the header.
func TestSignInTooOften(t *testing.T) {
	y := newYard(t)
	y.person("Bo Berg", "bo", record.Technician)
	v := y.visitor()
	var a answer
	for range 8 {
		if a = v.post("/sign-in", url.Values{"login": {"bo"}, "password": {"guess after guess"}}); a.status == http.StatusTooManyRequests {
			break
		}
	}
	if a.status != http.StatusTooManyRequests || !strings.Contains(a.text(), "Wait ") || !strings.Contains(a.text(), "Nobody is locked out") || a.head.Get("Retry-After") == "" {
		t.Errorf("%d, Retry-After %q: %s", a.status, a.head.Get("Retry-After"), a.text())
	}
}

// A change that another site asks the browser for is refused, and changes nothing.
func TestForeignSitesChangeNothing(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Manager)
	ann := y.signIn("ann")
	for _, head := range []map[string]string{
		{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"},
	} {
		r, err := http.NewRequest(http.MethodPost, y.url+"/depots/new", strings.NewReader("name=Planted"))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for k, v := range head {
			r.Header.Set(k, v)
		}
		if a := ann.do(r); a.status != http.StatusForbidden || !strings.Contains(a.text(), "another site") {
			t.Errorf("%v: %d %s", head, a.status, a.text())
		}
	}
	if found, err := y.Find(y.ctx, "Planted", 10); err != nil || len(found) > 0 {
		t.Errorf("it was entered: %v %v", found, err)
	}
	// The same from our own page is taken, so that the test could fail.
	if a := ann.post("/depots/new", url.Values{"name": {"Planted"}}); a.status != http.StatusSeeOther {
		t.Errorf("from our own page: %d %s", a.status, a.text())
	}
}

// Whoever is signed out while typing finds everything on the page that says so.
func TestTypedFormSurvivesSigningOut(t *testing.T) {
	y := newYard(t)
	a := y.visitor().post("/depots/new", url.Values{"name": {"Osiermere <yard>"}, "note": {"two gates\nand a pit"}})
	if a.status != http.StatusUnauthorized || !strings.Contains(a.body, `action="/depots/new"`) {
		t.Fatalf("%d %s", a.status, a.text())
	}
	form := a.form()
	if form.Get("name") != "Osiermere <yard>" || form.Get("note") != "two gates\nand a pit" {
		t.Errorf("kept: %v", form)
	}
}

// A person sees their sessions, ends one, and changes the password, which ends the
// others.
func TestOwnAccount(t *testing.T) {
	y := newYard(t)
	y.person("Bo Berg", "bo", record.Technician)
	here, there := y.signIn("bo"), y.signIn("bo")
	page := here.get("/account")
	if n := strings.Count(page.body, `name="session"`); n < 2 {
		t.Fatalf("%d sessions are listed", n)
	}
	a := here.post("/account/password", url.Values{"old": {"not it at all"}, "password": {"a new and longer one"}, "again": {"a new and longer one"}})
	if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "the one that you sign in with now") {
		t.Errorf("a wrong old password: %d %s", a.status, a.text())
	}
	a = here.post("/account/password", url.Values{"old": {password}, "password": {"a new and longer one"}, "again": {"a new and longer one"}})
	if a.status != http.StatusSeeOther {
		t.Fatalf("change: %d %s", a.status, a.text())
	}
	if a := here.get("/account"); a.status != http.StatusOK {
		t.Errorf("the session that changed it: %d", a.status)
	}
	if a := there.get("/account"); a.status != http.StatusSeeOther {
		t.Errorf("the other session: %d", a.status)
	}
	third := y.visitor()
	if a := third.post("/sign-in", url.Values{"login": {"bo"}, "password": {"a new and longer one"}}); a.status != http.StatusSeeOther {
		t.Fatal(a.status)
	}
	for _, id := range sessionIDs(here.get("/account")) {
		if a := here.post("/account/sessions", url.Values{"session": {id}}); a.status != http.StatusSeeOther {
			t.Errorf("end a session: %d %s", a.status, a.text())
		}
		if a := third.get("/account"); a.status == http.StatusSeeOther {
			return // it was that of the third
		}
	}
	t.Error("the third session is still open")
}

func sessionIDs(a answer) []string { return a.form()["session"] }

// A manager lets people in by a link, and keeps the last manager.
func TestAccounts(t *testing.T) {
	y := newYard(t)
	me := y.person("Ann Ahrens", "ann", record.Manager)
	ann := y.signIn("ann")
	form := ann.get("/accounts/new").form()
	form.Set("name", "Bo Berg")
	form.Set("login", "bo")
	a := ann.post("/accounts/new", form)
	if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "what the person may do") {
		t.Errorf("without a role: %d %s", a.status, a.text())
	}
	form.Set("role-technician", "yes")
	a = ann.post("/accounts/new", form)
	_, link, ok := strings.Cut(a.body, "/welcome?link=")
	link, _, _ = strings.Cut(link, "<")
	if a.status != http.StatusOK || !ok {
		t.Fatalf("add: %d %s", a.status, a.text())
	}
	bo := y.visitor()
	if a := bo.get("/welcome?link=" + link); a.status != http.StatusOK || !strings.Contains(a.text(), "Welcome, Bo Berg") {
		t.Errorf("the link: %d %s", a.status, a.text())
	}
	form = ann.get("/accounts/" + me.Name() + "/edit").form()
	form.Del("role-manager")
	form.Set("role-driver", "yes")
	if a := ann.post("/accounts/"+me.Name()+"/edit", form); a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "no manager left") {
		t.Errorf("the last manager: %d %s", a.status, a.text())
	}
}

// The log tells who asked for what with which answer, and never a one-time link.
func TestLog(t *testing.T) {
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	var out bytes.Buffer
	h := web.Handler(web.Config{Register: fleet.New(st, fleet.World{}), Log: slog.New(slog.NewJSONHandler(&out, nil))})
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/welcome?link=secret-of-the-link", nil))
	line := out.String()
	for _, part := range []string{`"msg":"request"`, `"route":"GET /welcome"`, `"status":404`, `"method":"GET"`, `"ms":`, `"bytes":`} {
		if !strings.Contains(line, part) {
			t.Errorf("the log has no %s: %s", part, line)
		}
	}
	if strings.Contains(line, "secret-of-the-link") {
		t.Errorf("the log holds the link: %s", line)
	}
}

// Ready means that the store can be written.
func TestReady(t *testing.T) {
	dir := t.TempDir()
	st, err := store.OpenSQLite(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	h := web.Handler(web.Config{Register: fleet.New(st, fleet.World{})})
	for _, tt := range []struct {
		path   string
		before func()
		status int
	}{
		{"/healthz", func() {}, 200}, {"/readyz", func() {}, 200},
		{"/readyz", func() { st.Close() }, 503}, {"/healthz", func() {}, 200}, {"/sign-in", func() {}, 200},
	} {
		tt.before()
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, tt.path, nil))
		if w.Code != tt.status {
			t.Errorf("%s: %d, want %d", tt.path, w.Code, tt.status)
		}
	}
}

// Metrics count by pattern.
func TestMetrics(t *testing.T) {
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	m := web.NewMetrics()
	h := web.Handler(web.Config{Register: fleet.New(st, fleet.World{}), Metrics: m})
	for _, path := range []string{"/vehicles/1", "/vehicles/2", "/healthz"} {
		h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, path, nil))
	}
	w := httptest.NewRecorder()
	m.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	for _, line := range []string{
		`underpin_requests_total{code="303",route="GET /vehicles/{id}"} 2`,
		`underpin_requests_total{code="200",route="GET /healthz"} 1`,
		`underpin_request_seconds_count{route="GET /vehicles/{id}"} 2`, "go_goroutines", "process_open_fds",
	} {
		if !strings.Contains(w.Body.String(), line) {
			t.Errorf("metrics lack %s", line)
		}
	}
	if strings.Contains(w.Body.String(), "/vehicles/1") {
		t.Error("an address became a label")
	}
}
