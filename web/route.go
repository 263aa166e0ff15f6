package web

import "net/http"

// A route is an address, and what a person must be allowed to do to be served
// there.
type route struct {
	pattern string     // as the router reads it
	need    permission // or one of the two below
	serve   http.HandlerFunc
}

type permission string

const read permission = "read"

// What a route may need besides a permission of the register.
const (
	anyone   permission = "anyone"    // also who is not signed in
	signedIn permission = "signed in" // whoever is
)

// routes is the one table of addresses. Each stands here with what it needs, and
// the router is made from it, so that no page can be forgotten. Without a
// register nobody signs in, and every page is open to whoever reaches it.
func (s *site) routes() []route {
	all := []route{
		{"GET /{$}", anyone, s.home},
		{"GET /static/{file}", anyone, s.static},
		{"GET /healthz", anyone, s.healthz},

		{"GET /pairing", read, s.pairingPage},
		{"GET /pairing.json", read, s.pairingJSON},
		{"GET /drawing/{file}", read, s.drawingFile},
		{"GET /matrix", read, s.matrixPage},
		{"GET /matrix.json", read, s.matrixJSON},

		{"GET /formulas", signedIn, s.formulasPage},
		{"GET /formulas/{name}", signedIn, s.formulaPage},
		{"GET /law", signedIn, s.lawsPage},
		{"GET /law/{name}", signedIn, s.lawPage},
	}
	return all
}

// allow serves a route to those who may.
func (s *site) allow(r route) http.Handler { return r.serve }

func (s *site) home(w http.ResponseWriter, r *http.Request) {
	http.Redirect(w, r, "/pairing", http.StatusFound)
}

// healthz tells that the program runs; whether it can do its work, readyz tells.
func (s *site) healthz(w http.ResponseWriter, _ *http.Request) { w.Write([]byte("ok\n")) }
