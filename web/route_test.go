package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"underpin/fleet"
	"underpin/record"
	"underpin/store"
)

// Every role is tried on every route of the router: who may is served, who may not
// is not. What a route needs is read from the table, and what a role may do from
// the register; that the two meet is what is tried.
func TestEveryRoleOnEveryRoute(t *testing.T) {
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	r := fleet.New(st, fleet.World{})
	c := Config{Register: r, Path: "register"}
	h := Handler(c)
	ctx := fleet.WithActor(context.Background(), fleet.Operator("test"))
	ids := madeForRoutes(t, ctx, r)

	const nobody = "nobody"
	cookies, tokens := map[string]string{}, map[string]string{}
	const password = "correct horse battery staple"
	for _, role := range fleet.Roles() {
		done, err := r.Do(ctx, &fleet.AddAccount{Name: "A " + role, Login: role, Roles: []string{role}})
		if err != nil {
			t.Fatal(err)
		}
		ticket, err := r.Redeem(ctx, done.Secret, "", "", password, fleet.SignIn{})
		if err != nil {
			t.Fatal(err)
		}
		cookies[role], tokens[role] = ticket.Secret, tokenFor(t, ctx, r, done.Asset, everyScope()...)
	}
	tried, refused := 0, 0
	for _, role := range append([]string{nobody}, fleet.Roles()...) {
		routes := (&site{Config: c}).routes()
		slices.SortStableFunc(routes, func(a, b route) int { // what ends the session comes last
			return ends(a.pattern) - ends(b.pattern)
		})
		for _, rt := range routes {
			method, path, _ := strings.Cut(rt.pattern, " ")
			path = ids.fill(path)
			req := tryRoute(method, path)
			switch {
			case role == nobody:
			case forPrograms(req):
				req.Header.Set("Authorization", "Bearer "+tokens[role])
			default:
				req.AddCookie(&http.Cookie{Name: cookieName, Value: cookies[role]})
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, req)
			may := rt.need == anyone || role != nobody && (rt.need == signedIn || slices.Contains(fleet.Permissions(role), rt.need))
			toSignIn := w.Code == http.StatusSeeOther && strings.HasPrefix(w.Header().Get("Location"), "/sign-in") && !strings.Contains(rt.pattern, "/sign-out")
			kept := w.Code == http.StatusForbidden || w.Code == http.StatusUnauthorized || toSignIn
			if rt.pattern == "POST /sign-in" {
				kept = w.Code != http.StatusUnauthorized && w.Code != http.StatusTooManyRequests // no name and no password, again and again
			}
			tried++
			if !may {
				refused++
			}
			if kept == may {
				t.Errorf("%s on %s, which needs %s: status %d (%s)", role, rt.pattern, rt.need, w.Code, w.Header().Get("Location"))
			}
			if w.Code >= 500 {
				t.Errorf("%s on %s: status %d: %.2000s", role, rt.pattern, w.Code, w.Body)
			}
			if !may && role == nobody && method == http.MethodPost && w.Code != http.StatusUnauthorized {
				t.Errorf("nobody on %s: status %d", rt.pattern, w.Code)
			}
		}
	}
	if tried < 800 || refused < 250 {
		t.Errorf("tried %d cells, %d of them to be refused; there are more", tried, refused)
	}
}

// A manager's token with one scope is tried on every route for programs: it is served
// where that scope is needed, or none, and nowhere else.
func TestEveryScopeOnEveryRoute(t *testing.T) {
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	r := fleet.New(st, fleet.World{})
	c := Config{Register: r, Path: "register"}
	h := Handler(c)
	ctx := fleet.WithActor(context.Background(), fleet.Operator("test"))
	ids := madeForRoutes(t, ctx, r)
	done, err := r.Do(ctx, &fleet.AddAccount{Name: "Ann", Login: "ann", Roles: []string{record.Manager}})
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, scope := range everyScope() {
		token := tokenFor(t, ctx, r, done.Asset, scope)
		for _, rt := range (&site{Config: c}).routes() {
			method, path, _ := strings.Cut(rt.pattern, " ")
			req := tryRoute(method, ids.fill(path))
			if !forPrograms(req) {
				continue
			}
			req.Header.Set("Authorization", "Bearer "+token)
			w := httptest.NewRecorder()
			h.ServeHTTP(w, req)
			tried++
			may := rt.need == anyone || rt.need == signedIn || rt.need == scope
			if served := w.Code != http.StatusForbidden && w.Code != http.StatusUnauthorized; served != may || w.Code >= 500 {
				t.Errorf("the scope %s on %s, which needs %s: status %d %s", scope, rt.pattern, rt.need, w.Code, w.Body)
			}
		}
	}
	if tried < 400 {
		t.Errorf("tried %d cells; there are more", tried)
	}
}

// everyScope is all that a token may be limited to.
func everyScope() []fleet.Permission {
	return slices.DeleteFunc(fleet.Permissions(record.Manager), func(p fleet.Permission) bool { return p == fleet.Tokens || p == fleet.People })
}

func tokenFor(t *testing.T, ctx context.Context, r *fleet.Register, account record.Asset, scopes ...fleet.Permission) string {
	t.Helper()
	done, err := r.Do(ctx, &fleet.IssueToken{Account: account, Title: "test", Scopes: scopes, Expires: record.At(time.Now().Add(time.Hour))})
	if err != nil {
		t.Fatal(err)
	}
	return done.Secret
}

// tryRoute is a request that changes nothing where it is let through: what it sends
// is no form and no object that anything takes.
func tryRoute(method, path string) *http.Request {
	body, media := "", ""
	switch {
	case strings.HasPrefix(path, "/api/") && method != http.MethodGet:
		body, media = "[]", "application/json"
	case method == http.MethodPost:
		body, media = url.Values{"session": {"none"}}.Encode(), "application/x-www-form-urlencoded"
	}
	req := httptest.NewRequest(method, path, strings.NewReader(body))
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	if media != "" {
		req.Header.Set("Content-Type", media)
	}
	return req
}

func ends(pattern string) int {
	if strings.HasSuffix(pattern, "/sign-out") {
		return 1
	}
	return 0
}

// routeIDs are what stands for {id} in an address, by what comes before it.
type routeIDs map[string]string

func (ids routeIDs) fill(path string) string {
	path = strings.ReplaceAll(path, "{part}", ids["/parts/"])
	path = strings.ReplaceAll(path, "{file}", "app.css")
	path = strings.ReplaceAll(path, "{$}", "")
	path = strings.NewReplacer("{sheet}", "none", "{built}", "none", "{outcome}", "none", "{event}", "none").Replace(path)
	path = strings.ReplaceAll(path, "{name}", "eu")
	before, after, _ := strings.Cut(path, "{id}")
	if after == "" && before == path {
		return path
	}
	return before + ids[strings.TrimPrefix(before, apiRoot)] + after
}

func madeForRoutes(t *testing.T, ctx context.Context, r *fleet.Register) routeIDs {
	t.Helper()
	must := func(c fleet.Command) *fleet.Done {
		done, err := r.Do(ctx, c)
		if err != nil {
			t.Fatalf("%T: %v", c, err)
		}
		return done
	}
	vehicle := must(&fleet.AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: record.Fields{"id": fleet.Text("marsh-23")}}})
	part := must(&fleet.AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: "K-1"}})
	must(&fleet.FitPart{Part: part.Asset, Vehicle: vehicle.Asset})
	up, err := r.Upload(ctx, strings.NewReader("%PDF-1.4 a paper"))
	if err != nil {
		t.Fatal(err)
	}
	paper := must(&fleet.Attach{Asset: vehicle.Asset, Title: "paper", Sort: "other", File: *up})
	account := must(&fleet.AddAccount{Name: "Ida", Login: "ida", Roles: []string{record.Driver}})
	return routeIDs{
		"/vehicles/": vehicle.Asset.Name(), "/parts/": part.Asset.Name(),
		"/types/":     must(&fleet.AddType{Details: record.TypeAdded{Part: record.Kingpin, Name: "KP"}}).Asset.Name(),
		"/depots/":    must(&fleet.AddDepot{Details: record.DepotAdded{Name: "Osiermere"}}).Asset.Name(),
		"/notices/":   must(&fleet.OpenNotice{Details: record.NoticeOpened{Title: "N", Part: record.Kingpin, Action: "look"}}).Asset.Name(),
		"/accounts/":  account.Asset.Name(),
		"/records/":   string(must(&fleet.Attach{Asset: vehicle.Asset, Title: "paper 2", Sort: "other", File: *up}).Record),
		"/documents/": string(paper.Record),
	}
}

// The router serves what is in the table and nothing else.
func TestRouterIsTheTable(t *testing.T) {
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	c := Config{Register: fleet.New(st, fleet.World{})}
	seen := map[string]bool{}
	for _, rt := range (&site{Config: c}).routes() {
		if seen[rt.pattern] {
			t.Errorf("%s stands twice", rt.pattern)
		}
		seen[rt.pattern] = true
		if rt.need == "" || rt.serve == nil {
			t.Errorf("%s says not what it needs, or does nothing", rt.pattern)
		}
		switch rt.need {
		case anyone, signedIn:
		default:
			if !slices.ContainsFunc(fleet.Roles(), func(role string) bool { return slices.Contains(fleet.Permissions(role), rt.need) }) {
				t.Errorf("%s needs %s, which nobody has", rt.pattern, rt.need)
			}
		}
	}
	for _, pattern := range []string{"POST /sign-in", "GET /vehicles/{id}", "POST /vehicles/{id}/edit", "POST /records/{id}/undo"} {
		if !seen[pattern] {
			t.Errorf("%s is not in the table", pattern)
		}
	}
}

// What may be reached without signing in is a short list, and each entry is meant.
func TestOpenRoutes(t *testing.T) {
	c := Config{Register: &fleet.Register{}}
	var open []string
	for _, rt := range (&site{Config: c}).routes() {
		if rt.need == anyone {
			open = append(open, rt.pattern)
		}
	}
	slices.Sort(open)
	want := []string{"GET " + apiDocument, "GET /healthz", "GET /readyz", "GET /sign-in", "GET " + outsidePath, "GET " + backPath, "GET /static/{file}", "GET /vehicles/{id}/card", "GET /welcome", "GET /{$}", "POST /sign-in", "POST /sign-out", "POST /welcome"}
	if !slices.Equal(open, want) {
		t.Errorf("open to anyone: %v\nmeant: %v", open, want)
	}
}
