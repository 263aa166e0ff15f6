package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"underpin/examples"
	"underpin/exchange"
	"underpin/fleet"
	"underpin/record"
	"underpin/store"
	"underpin/web"
)

// Whatever is wrong is told in one form, with where, what was found and what was
// expected; the form is held against the document by ask.
func TestAPIErrors(t *testing.T) {
	y := newYard(t)
	y.demo()
	ann := y.person("Ann Ahrens", "ann", record.Manager)
	p := y.program(y.issue(ann, everyScope()...))
	details := func(fields map[string]any) map[string]any {
		return map[string]any{"details": map[string]any{"vehicle": "tractor", "fields": fields}}
	}
	for _, tt := range []struct {
		name, op string
		c        call
		status   int
		where    string // begins so
		found    string // holds that
		exit     string
	}{
		{"no such tractor", "pair", call{Query: "tractor=nobody&trailer=marsh-23"}, 404, "vehicle", "nobody", "2"},
		{"no such law", "pair", call{Query: "tractor=heron-07&trailer=marsh-23&law=atlantis"}, 404, "law", "atlantis", "2"},
		{"no such load", "pair", call{Query: "tractor=heron-07&trailer=marsh-23&load=feathers"}, 404, "load", "feathers", "2"},
		{"a lead that is none", "pair", call{Query: "tractor=heron-07&trailer=marsh-23&lead=600kg"}, 400, "lead", "600kg", "2"},
		{"a question that is not known", "pair", call{Query: "tractor=heron-07&trailer=marsh-23&speed=80"}, 422, "speed", "", "2"},
		{"a question left out", "pair", call{Query: "tractor=heron-07"}, 422, "trailer", "nothing", "2"},
		{"a law for a page's path", "law", call{ID: "../../etc/passwd"}, 404, "law", "", "2"},
		{"no such calculation", "calculate", call{ID: "phlogiston", Body: map[string]any{"inputs": map[string]any{}}}, 404, "name", "phlogiston", "2"},
		{"a mass without unit", "calculate", call{ID: "d-value", Body: map[string]any{"inputs": map[string]any{"tractor-gross": 18, "trailer-gross": "36t", "imposed": "12t"}}}, 422, "d-value, tractor-gross", "unit is missing", "2"},
		{"a key that is missing", "calculate", call{ID: "d-value", Body: map[string]any{"inputs": map[string]any{"tractor-gross": "18t", "trailer-gross": "36t"}}}, 422, "d-value", "no imposed", "2"},
		{"outside validity", "calculate", call{ID: "d-value", Body: map[string]any{"inputs": map[string]any{"tractor-gross": "18t", "trailer-gross": "36t", "imposed": "18t"}}}, 422, "d-value, tractor-gross", "18t", "2"},
		{"no steady state", "calculate", call{ID: "turn-steady", Body: map[string]any{"inputs": map[string]any{"guide-radius": "6m", "guide-ahead": "1.4m", "guide-left": "1.2m", "lead": "0.6m", "pin-to-bogie": "20m", "width": "2.5m"}}}, 422, "", "", "3"},
		{"not JSON", "add-vehicle", call{Body: "{"}, 400, "", "", "2"},
		{"another form", "add-vehicle", call{Body: "a=b", Media: "application/x-www-form-urlencoded"}, 415, "", "", "2"},
		{"a member too many", "add-vehicle", call{Body: map[string]any{"details": map[string]any{"vehicle": "tractor", "colour": "red"}}}, 422, "details.colour", "", "2"},
		{"a field that is not known", "add-vehicle", call{Body: details(map[string]any{"id": "x-1", "colour": "red"})}, 422, "colour", "not known", "2"},
		{"kilograms for metres", "add-vehicle", call{Body: details(map[string]any{"id": "x-1", "width": "2500 kg"})}, 422, "width", "2500 kg", "2"},
		{"no number", "add-vehicle", call{Body: details(map[string]any{"width": "2.5 m"})}, 422, "id", "", "2"},
		{"an id that is none", "vehicle", call{ID: "no-such-vehicle"}, 404, "vehicle", "no-such-vehicle", "2"},
		{"an asset of another kind", "part", call{ID: y.number("heron-07").Name()}, 404, "part", "", "2"},
		{"no such record", "record", call{ID: "nothing"}, 404, "record", "nothing", "2"},
		{"no If-Match", "change-vehicle", call{ID: "heron-07", Body: details(map[string]any{"id": "heron-07"})}, 428, "If-Match", "nothing", "2"},
		{"any version", "change-vehicle", call{ID: "heron-07", IfMatch: "*", Body: details(map[string]any{"id": "heron-07"})}, 428, "If-Match", "", "2"},
		{"a version that never was", "change-vehicle", call{ID: "heron-07", IfMatch: `"0123456789abcdef"`, Body: details(map[string]any{"id": "heron-07"})}, 422, "version", "0123456789abcdef", "2"},
		{"a place that is none", "vehicles", call{Query: "from=nowhere"}, 422, "from", "nowhere", "2"},
		{"a limit too large", "vehicles", call{Query: "limit=100000"}, 422, "limit", "100000", "2"},
		{"a time that is none", "mileage", call{ID: "heron-07", Query: "from=yesterday&to=2026-01-01T00:00:00Z"}, 422, "from", "yesterday", "2"},
		{"a reading of nobody", "readings", call{Body: map[string]any{"readings": []any{map[string]any{"vehicle": "nobody", "at": "2026-01-01T00:00:00Z", "distance_m": 1}}}}, 422, "readings[0].vehicle", "nobody", "2"},
		{"a reading of tomorrow", "readings", call{Body: map[string]any{"readings": []any{map[string]any{"vehicle": "heron-07", "at": time.Now().Add(24 * time.Hour).UTC().Format(time.RFC3339), "distance_m": 1}}}}, 422, "readings[0].at", "still to come", "2"},
		{"a key that is none", "verify", call{Body: map[string]any{"keys": []string{"sesame"}}}, 422, "keys[0]", "", "2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sub := *p
			yard := *p.yard
			yard.TB = t
			sub.yard = &yard
			e := at(sub.ask(tt.op, tt.c, tt.status), "error")
			if !strings.HasPrefix(text(e, "where"), tt.where) || text(e, "where") == "" || !strings.Contains(text(e, "found"), tt.found) || text(e, "exit") != tt.exit || at(e, "missing") == nil {
				t.Errorf("where %q, found %q, expected %q, exit %s, missing %v", text(e, "where"), text(e, "found"), text(e, "expected"), text(e, "exit"), at(e, "missing"))
			}
		})
	}
	// What is missing is named, so that nobody has to read a sentence for it.
	e := p.ask("calculate", call{ID: "d-value", Body: map[string]any{"inputs": map[string]any{"imposed": "1t"}}}, 422)
	if m := at(e, "error", "missing"); text(m, 0) != "tractor-gross" || text(m, 1) != "trailer-gross" {
		t.Errorf("missing: %v", m)
	}
	e = p.ask("add-vehicle", call{Body: details(map[string]any{"id": "x-1", "colour": "red", "width": "2500 kg"})}, 422)
	if n, _ := at(e, "error", "problems").([]any); len(n) != 2 {
		t.Errorf("both problems are told: %v", n)
	}
	a := y.visitor().get("/api/v1/nothing")
	if a.status != http.StatusNotFound || !strings.Contains(a.body, `"error"`) {
		t.Errorf("an address that is not served: %d %s", a.status, a.body)
	}
}

// Two programs change the same vehicle: the second is told, gets all three versions,
// and gets its change in with the version that stands.
func TestAPIConflict(t *testing.T) {
	y := newYard(t)
	y.demo()
	p := y.program(y.issue(y.person("Ann Ahrens", "ann", record.Manager), everyScope()...))
	q := y.program(y.issue(y.person("Bo Berg", "bo", record.Engineer), fleet.Read, fleet.Design))
	was := p.ask("vehicle", call{ID: "heron-07"}, 200)
	details := func() map[string]any {
		d := at(p.ask("vehicle", call{ID: "heron-07"}, 200), "details").(map[string]any)
		return d
	}
	mine, theirs := details(), details()
	theirs["registration"] = "OS BB 1"
	p.ask("change-vehicle", call{ID: "heron-07", IfMatch: text(was, "etag"), Body: map[string]any{"details": theirs}}, 200)
	mine["registration"], mine["vin"] = "OS AA 1", "W0000000000000001"
	e := at(q.ask("change-vehicle", call{ID: "heron-07", IfMatch: text(was, "etag"), Body: map[string]any{"details": mine}}, 412), "error")
	if !strings.HasPrefix(text(e, "conflict", "who", "name"), "Ann Ahrens") {
		t.Errorf("who changed it: %v", e)
	}
	clash := map[string]string{}
	for _, f := range at(e, "conflict", "fields").([]any) {
		clash[text(f, "field")] = text(f, "was") + " " + text(f, "theirs") + " " + text(f, "yours") + " " + text(f, "clash")
	}
	if clash["registration"] != "<nil> OS BB 1 OS AA 1 true" || clash["vin"] != "<nil> <nil> W0000000000000001 false" {
		t.Errorf("the versions: %v", clash)
	}
	q.ask("change-vehicle", call{ID: "heron-07", IfMatch: `"` + text(e, "conflict", "version") + `"`, Body: map[string]any{"details": mine}}, 200)
	if is := details(); text(is, "registration") != "OS AA 1" || text(is, "vin") != "W0000000000000001" {
		t.Errorf("in the end: %v", is)
	}
	// The same id twice is one record.
	id := record.NewID(time.Now(), [10]byte{1, 2, 3})
	add := map[string]any{"id": id, "details": map[string]any{"name": "Sedgeholm"}}
	first := p.ask("add-depot", call{Body: add}, 201)
	if again := p.ask("add-depot", call{Body: add}, 201); text(again, "asset") != text(first, "asset") || text(again, "repeated") != "true" {
		t.Errorf("sent twice: %v, %v", first, again)
	}
}

// A token reaches no further than its scopes, its account and its end; a cookie
// counts for nothing.
func TestAPITokens(t *testing.T) {
	now := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	r := fleet.New(st, fleet.World{Now: func() time.Time { return now }})
	s := httptest.NewServer(web.Handler(web.Config{Register: r, Path: "register"}))
	t.Cleanup(s.Close)
	y := &yard{t, r, s.URL, fleet.WithActor(context.WithoutCancel(t.Context()), fleet.Operator("test"))}
	ann, dan := y.person("Ann Ahrens", "ann", record.Manager), y.person("Dan Dorn", "dan", record.Driver)

	token := func(account record.Asset, scopes ...fleet.Permission) *fleet.Done {
		return y.must(&fleet.IssueToken{Account: account, Title: "test", Scopes: scopes, Expires: record.At(now.Add(time.Hour))})
	}
	depot := map[string]any{"details": map[string]any{"name": "Sedgeholm"}}
	none := y.program("")
	for _, secret := range []string{"", "guessed", "underpin_guessed"} {
		none.token = secret
		e := none.ask("depots", call{}, 401)
		if text(e, "error", "where") != "Authorization" {
			t.Errorf("token %q: %v", secret, e)
		}
	}
	reads := y.program(token(ann, fleet.Read).Secret)
	reads.ask("depots", call{}, 200)
	if e := reads.ask("add-depot", call{Body: depot}, 403); !strings.Contains(text(e, "error", "found"), "the token does not reach so far") {
		t.Errorf("a manager's token that may read: %v", e)
	}
	drives := y.program(token(dan, fleet.Read, fleet.Organise).Secret)
	if e := drives.ask("add-depot", call{Body: depot}, 403); !strings.Contains(text(e, "error", "found"), "engineer") {
		t.Errorf("a driver's token with a scope that the driver has not: %v", e)
	}
	organises := y.program(token(ann, fleet.Organise).Secret)
	organises.ask("add-depot", call{Body: depot}, 201)
	organises.ask("depots", call{}, 403)

	p := y.program(token(ann, fleet.Read).Secret)
	p.ask("me", call{}, 200)
	tokens, err := y.TokensOf(y.ctx, ann)
	if err != nil {
		t.Fatal(err)
	}
	for _, token := range tokens {
		y.must(&fleet.RevokeToken{Account: ann, Token: token.ID})
	}
	p.ask("me", call{}, 401)

	short := y.program(token(ann, fleet.Read).Secret)
	short.ask("me", call{}, 200)
	now = now.Add(time.Hour)
	short.ask("me", call{}, 401)

	v := y.signIn("ann")
	if a := v.get("/depots"); a.status != http.StatusOK {
		t.Fatalf("signed in: %d", a.status)
	}
	if a := v.get("/api/v1/depots"); a.status != http.StatusUnauthorized || a.head.Get("WWW-Authenticate") != "Bearer" {
		t.Errorf("with a cookie: %d %v", a.status, a.head)
	}
	req, err := http.NewRequest(http.MethodPost, y.url+"/api/v1/depots", strings.NewReader("{}"))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	if a := v.do(req); a.status != http.StatusForbidden || !strings.Contains(a.body, `"error"`) {
		t.Errorf("from another site: %d %s", a.status, a.body)
	}
}

// Without a register the interface answers what needs none, to whoever reaches it.
func TestAPIOfAFleetFile(t *testing.T) {
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(web.Handler(web.Config{Fleet: f, Path: "demo.toml", Demo: true}))
	t.Cleanup(s.Close)
	y := &yard{TB: t, url: s.URL}
	p := y.program("")
	p.ask("pair", call{Query: "tractor=heron-07&trailer=marsh-23"}, 200)
	p.ask("matrix", call{}, 200)
	p.ask("law", call{ID: "eu"}, 200)
	for _, op := range p.operations() {
		if at(p.doc, "paths", op.path, strings.ToLower(op.method), "security") != nil {
			t.Errorf("%s asks for a token, and nobody has one", op.id)
		}
		if op.id == "vehicles" {
			t.Error("a fleet file has no register to list")
		}
	}
}
