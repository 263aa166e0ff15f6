package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"html/template"
	"io/fs"
	"log/slog"
	"maps"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"underpin/assess"
	"underpin/exchange"
	"underpin/fleet"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed static
var staticFiles embed.FS

// site is the program as its pages see it.
type site struct {
	Config
	pages map[string]func() (*template.Template, error) // parsed when first asked for: the start waits for none
	hash  func(file string) string                      // of static files, for their addresses
	books sync.Map                                      // rulebooks that the program carries, by name, read once
}

// Handler returns the pages and the JSON interface.
func Handler(c Config) http.Handler {
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	s := &site{Config: c, hash: hashes()}
	s.loadTemplates()
	mux := http.NewServeMux()
	for _, r := range s.routes() {
		mux.Handle(r.pattern, s.allow(r))
	}
	mux.HandleFunc("/", s.notFound)
	same := http.NewCrossOriginProtection()
	same.SetDenyHandler(http.HandlerFunc(s.foreign))
	return s.observe(s.guard(same.Handler(mux)))
}

// foreign answers a change that another site asked a browser for.
func (s *site) foreign(w http.ResponseWriter, r *http.Request) {
	if forPrograms(r) {
		s.failJSON(w, r, &fleet.NotAllowed{Who: "a page of another site", What: "change anything here", Why: "changes are taken from programs with a token, and from the pages here"})
		return
	}
	s.errorPage(w, r, http.StatusForbidden, "That came from another site.", "Nothing was changed. Changes are taken from the pages of this program alone; open the page here and send the form again.")
}

var lawName = regexp.MustCompile(`^[a-z0-9-]{1,64}$`)

// law opens a rulebook. Those that the program carries are read once; a file of
// the user's own is read anew, since it may have changed.
func (s *site) law(name string) (*rule.Book, error) {
	if b, ok := s.books.Load(name); ok {
		return b.(*rule.Book), nil
	}
	if !lawName.MatchString(name) { // never a path: the address is a stranger's
		return nil, &rule.NotFoundError{Name: name, Known: rule.Names()}
	}
	b, err := exchange.OpenLaw(name, s.Path)
	if err == nil && slices.Contains(rule.Names(), name) {
		s.books.Store(name, b)
	}
	return b, err
}

// guard sets what every answer carries, and turns a panic into an error page.
func (s *site) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin") // none would take the origin off our own forms
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if s.secure(r) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		defer func() {
			e := recover()
			if e == http.ErrAbortHandler {
				panic(e) // the answer is broken off, and whoever reads it must see that
			}
			if e != nil {
				s.Log.Error("page failed", "path", r.URL.Path, "error", e)
				if wantsJSON(r) {
					s.failJSON(w, r, errors.New("fault"))
					return
				}
				s.errorPage(w, r, http.StatusInternalServerError, "Something failed here.", "The program met a fault of its own. What you typed is still in the address; the fault is in the log.")
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// hashes returns what tells the digest of a static file. They are taken when the
// first page is made.
func hashes() func(file string) string {
	all := sync.OnceValue(func() map[string]string {
		all := map[string]string{}
		for _, dir := range []fs.FS{staticFiles, scene.Fonts} {
			_ = fs.WalkDir(dir, ".", func(p string, d fs.DirEntry, err error) error {
				if err == nil && !d.IsDir() {
					data, _ := fs.ReadFile(dir, p)
					sum := sha256.Sum256(data)
					all[path.Base(p)] = hex.EncodeToString(sum[:6])
				}
				return nil
			})
		}
		return all
	})
	return func(file string) string { return all()[file] }
}

// static serves the stylesheet, the script and the fonts; their addresses carry
// their digest, so they are kept for good.
func (s *site) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	data, err := staticFiles.ReadFile("static/" + name)
	if err != nil {
		data, err = scene.Fonts.ReadFile("font/" + name)
	}
	if name == "drawing.css" {
		// In a layer of its own, which the page's layers come after.
		data, err = []byte("@layer drawing {\n"+scene.Tokens()+scene.Stylesheet()+"}\n"), nil
	}
	if err != nil {
		s.notFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(data))
}

var titles = map[string]string{"pairing": "Pairing", "matrix": "Matrix", "mounting": "Mounting", "specification": "Mounting", "formulas": "Formulas", "formula": "Formula", "laws": "Law", "law": "Law", "error": "Error"}

func (s *site) loadTemplates() {
	s.pages = map[string]func() (*template.Template, error){}
	funcs := template.FuncMap{
		"asset":      func(name string) string { return "/static/" + name + "?" + s.hash(name) },
		"mm":         func(l unit.Length) string { return unit.Format(float64(l), unit.MM, 0) },
		"digits":     func(v float64, places int) string { return unit.Digits(v, places) },
		"join":       strings.Join,
		"sub":        func(a, b float64) float64 { return a - b },
		"hasFormula": hasFormula,
		"add":        func(a, b int) int { return a + b },
	}
	maps.Copy(titles, registerTitles)
	// What all pages share is parsed once, and each page when it is first shown. A test
	// parses them all.
	shared := sync.OnceValues(func() (*template.Template, error) {
		return template.New("layout.html").Funcs(funcs).ParseFS(templateFiles, "templates/layout.html", "templates/parts.html", "templates/asset_parts.html")
	})
	for name := range titles {
		s.pages[name] = sync.OnceValues(func() (*template.Template, error) {
			t, err := shared()
			if err == nil {
				t, err = t.Clone()
			}
			if err != nil {
				return nil, err
			}
			return t.ParseFS(templateFiles, "templates/"+name+".html")
		})
	}
}

// A layout is what every page is given.
type layout struct {
	Title string
	Here  string // the part of the program, for the navigation
	Demo  bool
	Fleet string
	Day   string
	Page  any

	Register bool         // the fleet is in a register
	Nav      bool         // whoever looks may go elsewhere
	Who      *fleet.Actor // who is signed in; nil: nobody
	Asked    string       // what was typed into the one field
}

// render renders to memory first, so that a fault leaves no half page.
func (s *site) render(w http.ResponseWriter, r *http.Request, status int, name, title string, page any) {
	s.renderPart(w, r, status, name, "layout.html", title, page)
}

func (s *site) renderPart(w http.ResponseWriter, r *http.Request, status int, name, part, title string, page any) {
	var b bytes.Buffer
	data := layout{Title: title, Here: titles[name], Demo: s.Demo, Day: today(), Page: page, Register: s.Register != nil, Nav: true}
	if s.Fleet != nil {
		data.Fleet = s.Fleet.Name
	}
	if s.Register != nil {
		data.Who, data.Asked = person(r.Context()), r.URL.Query().Get("q")
		data.Nav = data.Who != nil
	}
	t, err := s.pages[name]()
	if err == nil {
		err = t.ExecuteTemplate(&b, part, data)
	}
	if err != nil {
		s.Log.Error("template failed", "page", name, "error", err)
		http.Error(w, "The page could not be made; the fault is in the log.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		w.Write(b.Bytes())
	}
}

type errorView struct{ Head, Text string }

func (s *site) errorPage(w http.ResponseWriter, r *http.Request, status int, head, text string) {
	s.render(w, r, status, "error", head, errorView{head, text})
}

func (s *site) notFound(w http.ResponseWriter, r *http.Request) {
	if forPrograms(r) {
		s.failJSON(w, r, &fleet.NotFound{What: "operation", Name: r.Method + " " + r.URL.Path})
		return
	}
	s.errorPage(w, r, http.StatusNotFound, "There is no such page.", "Nothing is served at "+r.URL.Path+". The pages are listed above.")
}

// fail turns an error into a page or JSON; the one place that chooses a status.
func (s *site) fail(w http.ResponseWriter, r *http.Request, err error) {
	if wantsJSON(r) {
		s.failJSON(w, r, err)
		return
	}
	if s.failRegister(w, r, err) {
		return
	}
	status, found, expected := http.StatusInternalServerError, err.Error(), ""
	var name *assess.UnknownNameError
	var book *rule.NotFoundError
	var bad *badInput
	switch {
	case errors.As(err, &name):
		status, found, expected = http.StatusNotFound, name.Kind+" “"+name.Name+"”", "one of "+strings.Join(name.Known, ", ")
	case errors.As(err, &book):
		status, found, expected = http.StatusNotFound, "rulebook “"+book.Name+"”", "one of "+strings.Join(book.Known, ", ")
	case errors.As(err, &bad):
		status, found, expected = http.StatusBadRequest, bad.Where+" = “"+bad.Found+"”", bad.Expected
	}
	text := "Found " + found + "."
	if expected != "" {
		text += " Expected " + expected + "."
	}
	s.errorPage(w, r, status, "That cannot be shown.", text)
}

// badInput is a value in the address that cannot be read.
type badInput struct{ Where, Found, Expected string }

func (e *badInput) Error() string {
	return e.Where + ": found " + e.Found + "; expected " + e.Expected
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	_ = enc.Encode(v)
}
