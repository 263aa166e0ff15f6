package web

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"underpin/fleet"
)

// apiRoot is where the interface for programs begins. What is served under it
// does not change its meaning; what would, begins under another.
const apiRoot = "/api/v1"

// apiDocument is the fixed address of the document that describes the interface.
const apiDocument = "/api/openapi.json"

// api is the interface for programs: its operations stand in one table, from
// which the document, the routes and what each needs are made. The routes are there
// from the start; the schemas and the rest, which take as long as the whole start,
// are made when a program first asks for something.
type api struct {
	site   *site
	routes []route

	made    func() // makes what follows, once
	huma    huma.API
	entries []func() // enter the operations with the library
	serve   map[string]http.HandlerFunc
}

// HandleFunc takes what the library would enter into a router. The one table of
// routes leads there.
func (a *api) HandleFunc(pattern string, serve func(http.ResponseWriter, *http.Request)) {
	a.serve[pattern] = serve
}

func (a *api) ServeHTTP(http.ResponseWriter, *http.Request) {} // the site's router serves

// bearer is the name of the only way to be known here: a token. A cookie counts
// for nothing, so that no other site can make a browser act.
const bearer = "token"

// newAPI makes the interface. Without a register it answers what needs none.
func newAPI(s *site) *api {
	a := &api{site: s, serve: map[string]http.HandlerFunc{}}
	a.made = sync.OnceFunc(a.make)
	a.answers()
	if s.Register != nil {
		a.assets()
		a.changes()
		a.whole()
	}
	a.routes = append(a.routes, route{"GET " + apiDocument, anyone, a.document})
	return a
}

// make enters the operations with the library.
func (a *api) make() {
	doc := &huma.OpenAPI{
		OpenAPI: "3.1.0",
		Info: &huma.Info{Title: "Underpin", Version: "1", License: &huma.License{Name: "Apache-2.0", Identifier: "Apache-2.0"},
			Description: "Which tractor can pull which semi-trailer, and why; and the register of a fleet. " +
				"A program signs in with a token that somebody made for it, with scopes and an end; it may do no more than that person. " +
				"Lengths, masses and distances are whole numbers with the unit in the name, or text with a unit where the fleet file has them so. " +
				"Instants are in UTC. An error is always {\"error\":{\"exit\",\"where\",\"found\",\"expected\",\"missing\"}}; exit is the exit code of the same failure on the command line. " +
				"Who changes an asset sends the ETag of what was looked at as If-Match, and is told when somebody was quicker."},
		Servers: []*huma.Server{{URL: "/"}},
		Components: &huma.Components{
			Schemas:         huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer),
			SecuritySchemes: map[string]*huma.SecurityScheme{bearer: {Type: "http", Scheme: "bearer", Description: "A token, made on the page of one's account."}},
		},
	}
	format := huma.Format{Marshal: encode, Unmarshal: json.Unmarshal}
	a.huma = humago.New(a, huma.Config{OpenAPI: doc, Formats: map[string]huma.Format{"application/json": format, "json": format}, DefaultFormat: "application/json", RejectUnknownQueryParameters: true})
	for _, enter := range a.entries {
		enter()
	}
}

func encode(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// document serves the description of the interface.
func (a *api) document(w http.ResponseWriter, _ *http.Request) {
	a.made()
	doc, err := json.Marshal(a.huma.OpenAPI())
	if err != nil {
		panic(err) // a fault of the program, which the guard tells
	}
	w.Header().Set("Content-Type", "application/vnd.oai.openapi+json;version=3.1")
	w.Header().Set("Cache-Control", "no-cache")
	w.Write(doc)
}

// errorsOf are the statuses that an operation may fail with.
var errorsOf = []int{http.StatusBadRequest, http.StatusUnauthorized, http.StatusForbidden, http.StatusNotFound, http.StatusConflict,
	http.StatusPreconditionFailed, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType, http.StatusUnprocessableEntity, http.StatusPreconditionRequired,
	http.StatusTooManyRequests, http.StatusInternalServerError, http.StatusServiceUnavailable}

// enter puts an operation into the table.
func enter[I, O any](a *api, need fleet.Permission, op huma.Operation, serve func(context.Context, *I) (*O, error)) {
	op.Path = apiRoot + op.Path
	op.Errors = errorsOf
	op.MaxBodyBytes = max(op.MaxBodyBytes, 1<<20)
	op.BodyReadTimeout = slowest
	if a.site.Register != nil && need != anyone {
		op.Security = []map[string][]string{{bearer: {}}}
		op.Description = strings.TrimSpace(op.Description + " " + whoMay(need))
	}
	pattern := op.Method + " " + op.Path
	a.routes = append(a.routes, route{pattern, need, func(w http.ResponseWriter, r *http.Request) {
		a.made()
		a.serve[pattern](w, r)
	}})
	a.entries = append(a.entries, func() {
		huma.Register(a.huma, op, func(ctx context.Context, in *I) (*O, error) {
			out, err := serve(ctx, in)
			if err != nil {
				return nil, a.site.failed(ctx, err)
			}
			return out, nil
		})
	})
}

// whoMay says in the document what an operation needs.
func whoMay(need fleet.Permission) string {
	if need == signedIn {
		return "Any token will do."
	}
	var roles []string
	for _, role := range fleet.Roles() {
		if slices.Contains(fleet.Permissions(role), need) {
			roles = append(roles, role)
		}
	}
	return "Needs the scope " + string(need) + ", which these roles have: " + strings.Join(roles, ", ") + "."
}
