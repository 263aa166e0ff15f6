package web

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"slices"

	"underpin/fleet"
)

// signInView is what templates/signin.html shows.
type signInView struct {
	Login, Next string
	Wrong       string
	Open        bool // the connection can be read by others
	// Carried is what was typed into a form whose sender is not signed in any more.
	Carried *carriedView
	Outside string // address of the way to an identity provider; empty: there is none
	Through string // what that is called
}

func (s *site) signInView(r *http.Request, next, wrong string) signInView {
	v := signInView{Next: next, Wrong: wrong, Open: s.open(r)}
	if s.OIDC != nil {
		v.Outside, v.Through = withQuery(outsidePath, "next", next), cmp.Or(s.OIDC.Name, "your organisation")
	}
	return v
}

// carriedView sends a form once more.
type carriedView struct {
	Action string
	Hidden []hiddenView
}

func (s *site) signInPage(w http.ResponseWriter, r *http.Request) {
	next := localPath(r.FormValue("next"))
	if person(r.Context()) != nil && s.Guest == nil {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return
	}
	s.render(w, r, http.StatusOK, "signin", "Sign in", s.signInView(r, next, ""))
}

// open tells whether passwords cross a network that others may read.
func (s *site) open(r *http.Request) bool {
	host := s.address(r)
	return !s.secure(r) && host != "127.0.0.1" && host != "::1"
}

func (s *site) signIn(w http.ResponseWriter, r *http.Request) {
	v := s.signInView(r, localPath(r.PostFormValue("next")), "")
	v.Login = r.PostFormValue("login")
	t, err := s.Register.SignIn(r.Context(), fleet.SignIn{Login: v.Login, Password: r.PostFormValue("password"), Address: s.address(r), Agent: r.UserAgent(), Before: s.cookie(r)})
	status := http.StatusUnauthorized
	tooMany, limited := errors.AsType[*fleet.TooMany](err)
	switch {
	case err == nil:
		s.setCookie(w, r, t)
		http.Redirect(w, r, v.Next, http.StatusSeeOther)
		return
	case errors.Is(err, fleet.ErrSignIn):
		v.Wrong = "Name and password do not go together. Both count: look at capitals and at the keyboard’s language."
	case limited:
		status = http.StatusTooManyRequests
		v.Wrong = tooManyWords(tooMany)
		w.Header().Set("Retry-After", itoa(waitSeconds(tooMany)))
	default:
		s.fail(w, r, err)
		return
	}
	s.render(w, r, status, "signin", "Sign in", v)
}

func tooManyWords(e *fleet.TooMany) string {
	return "That was tried too often. Wait " + itoa(waitSeconds(e)) + " seconds, then try again. Nobody is locked out."
}

func (s *site) signOut(w http.ResponseWriter, r *http.Request) {
	if secret := s.cookie(r); secret != "" {
		if err := s.Register.SignOut(r.Context(), secret); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	s.setCookie(w, r, nil)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}

// askToSignIn answers whoever is not signed in. What they had typed into a form is
// kept on the page, to be sent again from there.
func (s *site) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if wantsJSON(r) {
		s.fail(w, r, fleet.ErrNotSignedIn)
		return
	}
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		next := r.URL.RequestURI()
		to := "/sign-in"
		if next != "/" {
			to += "?" + url.Values{"next": {next}}.Encode()
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	v := signInView{Carried: &carriedView{Action: r.URL.RequestURI()}, Open: s.open(r)}
	if err := s.parse(w, r); err == nil {
		for name, values := range r.PostForm {
			for _, value := range values {
				v.Carried.Hidden = append(v.Carried.Hidden, hiddenView{name, value})
			}
		}
		slices.SortFunc(v.Carried.Hidden, func(a, b hiddenView) int { return compare(a.Name, b.Name) })
	}
	s.render(w, r, http.StatusUnauthorized, "signin", "Sign in again", v)
}

// welcomeView is what templates/welcome.html shows: a one-time link.
type welcomeView struct {
	Link        string
	First       bool
	Name, Login string
	Wrong       map[string]string
	Open        bool
}

// welcome shows what a one-time link is for. The link stands in the query, which
// is not logged.
func (s *site) welcome(w http.ResponseWriter, r *http.Request) {
	link, ok := s.linkOf(w, r)
	if !ok {
		return
	}
	s.render(w, r, http.StatusOK, "welcome", "Welcome", welcomeView{Link: r.FormValue("link"), First: link.First, Name: link.Name, Login: link.Login, Open: s.open(r)})
}

func (s *site) linkOf(w http.ResponseWriter, r *http.Request) (*fleet.Link, bool) {
	link, err := s.Register.LinkFor(r.Context(), r.FormValue("link"))
	switch {
	case errors.Is(err, fleet.ErrNotSignedIn):
		s.errorPage(w, r, http.StatusNotFound, "This link is used up.", "A one-time link works once, and for three days. Ask a manager for a new one; for the first account, start the program again: it prints a new link.")
	case err != nil:
		s.fail(w, r, err)
	default:
		return link, true
	}
	return nil, false
}

func (s *site) redeem(w http.ResponseWriter, r *http.Request) {
	link, ok := s.linkOf(w, r)
	if !ok {
		return
	}
	v := welcomeView{Link: r.PostFormValue("link"), First: link.First, Name: link.Name, Login: link.Login, Wrong: map[string]string{}, Open: s.open(r)}
	if link.First {
		v.Name, v.Login = trimmed(r, "name"), trimmed(r, "login")
	}
	password := r.PostFormValue("password")
	if password != r.PostFormValue("again") {
		v.Wrong["again"] = "found another one; expected the same password twice"
		s.render(w, r, http.StatusUnprocessableEntity, "welcome", "Welcome", v)
		return
	}
	t, err := s.Register.Redeem(r.Context(), v.Link, v.Name, v.Login, password, fleet.SignIn{Address: s.address(r), Agent: r.UserAgent(), Before: s.cookie(r)})
	if e, ok := errors.AsType[*fleet.Invalid](err); ok {
		for _, p := range e.Problems {
			v.Wrong[p.Where] = wrong{p.Where, p.Found, p.Expected}.String()
		}
		s.render(w, r, http.StatusUnprocessableEntity, "welcome", "Welcome", v)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.setCookie(w, r, t)
	http.Redirect(w, r, "/fleet", http.StatusSeeOther)
}
