package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/record"
	"underpin/store"
)

// cookieName is the session's cookie over a connection that others can read; over
// https it is bound to this host by its prefix.
const (
	cookieName   = "underpin"
	secureCookie = "__Host-underpin"
)

// secure tells whether the browser reaches the program over https, itself or
// through a proxy.
func (s *site) secure(r *http.Request) bool {
	return r.TLS != nil || strings.HasPrefix(s.URL, "https://")
}

func (s *site) cookie(r *http.Request) string {
	name := cookieName
	if s.secure(r) {
		name = secureCookie
	}
	if c, err := r.Cookie(name); err == nil {
		return c.Value
	}
	return ""
}

// setCookie begins or, without a ticket, ends the browser's part of a session.
func (s *site) setCookie(w http.ResponseWriter, r *http.Request, t *fleet.Ticket) {
	c := &http.Cookie{Name: cookieName, Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, MaxAge: -1}
	if s.secure(r) {
		c.Name, c.Secure = secureCookie, true
	}
	if t != nil {
		c.Value, c.MaxAge = t.Secret, max(1, int(time.Until(t.Expires.Time()).Seconds()))
	}
	http.SetCookie(w, c)
}

// who is behind a request, or nil for nobody.
func (s *site) who(r *http.Request) (*fleet.Actor, error) {
	var actor *fleet.Actor
	var err error
	if token, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
		actor, err = s.Register.ByToken(r.Context(), token)
	} else if secret := s.cookie(r); secret != "" && !forPrograms(r) {
		actor, err = s.Register.SignedIn(r.Context(), secret)
	} else {
		return s.Guest, nil
	}
	if errors.Is(err, fleet.ErrNotSignedIn) {
		return s.Guest, nil
	}
	return actor, err
}

// allow serves a route to those who may.
func (s *site) allow(rt route) http.Handler {
	if s.Register == nil {
		return rt.serve
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		actor, err := s.who(r)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if actor != nil {
			noteWho(r, actor)
			r = r.WithContext(fleet.WithActor(r.Context(), *actor))
		}
		switch {
		case rt.need == anyone:
		case actor == nil:
			s.askToSignIn(w, r)
			return
		case rt.need == signedIn:
		case !actor.May(rt.need):
			s.refuse(w, r, rt.need, actor)
			return
		}
		rt.serve(w, r)
	})
}

// refuse tells who may do what the person may not.
func (s *site) refuse(w http.ResponseWriter, r *http.Request, need fleet.Permission, actor *fleet.Actor) {
	e := &fleet.NotAllowed{Who: actor.Who.Name, What: "open this page"}
	if forPrograms(r) {
		e.What = "do that"
	}
	for _, role := range fleet.Roles() {
		if !slices.Contains(fleet.Permissions(role), need) {
			continue
		}
		e.Roles = append(e.Roles, role)
		if actor.Scopes != nil && slices.Contains(actor.Roles, role) {
			e.Why = "the token does not reach so far"
		}
	}
	s.fail(w, r, e)
}

// person is who is signed in, or nil.
func person(ctx context.Context) *fleet.Actor {
	a := fleet.ActorFrom(ctx)
	if a.Who.Name == "" && a.Who.Account == "" {
		return nil
	}
	return a
}

func may(ctx context.Context, p fleet.Permission) bool { return fleet.ActorFrom(ctx).May(p) }

// address is the machine that a request comes from.
func (s *site) address(r *http.Request) string {
	if s.TrustProxy {
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if last := strings.TrimSpace(all[len(all)-1]); last != "" {
			return last
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// failRegister turns an error of the register into a page, if it is one.
func (s *site) failRegister(w http.ResponseWriter, r *http.Request, err error) bool {
	status, head, text := 0, "", ""
	if e, ok := errors.AsType[*fleet.NotAllowed](err); ok {
		status, head = http.StatusForbidden, "You may not do that."
		text = capital(e.Who) + " may not " + e.What + ". "
		if e.Why != "" {
			text += "The reason: " + e.Why + "."
		} else {
			text += "These may: " + strings.Join(e.Roles, ", ") + ". A manager gives roles."
		}
	} else if e, ok := errors.AsType[*fleet.NotFound](err); ok {
		status, head, text = http.StatusNotFound, "There is no such "+e.What+".", "Nothing here is called "+e.Name+". It may have been taken back; its records stay, and the one field above finds what there is."
	} else if e, ok := errors.AsType[*fleet.TooMany](err); ok {
		status, head, text = http.StatusTooManyRequests, "Too many tries.", fmt.Sprintf("Wait %d seconds and try again. Nobody is locked out.", waitSeconds(e))
		w.Header().Set("Retry-After", fmt.Sprint(waitSeconds(e)))
	} else if e, ok := errors.AsType[*fleet.Invalid](err); ok {
		status, head, text = http.StatusUnprocessableEntity, "That cannot be.", capital(e.Error())+"."
	} else if e, ok := errors.AsType[*fleet.Conflict](err); ok {
		status, head, text = http.StatusConflict, "Somebody else changed it meanwhile.", capital(e.Error())+"."
	} else if e, ok := errors.AsType[*store.Unavailable](err); ok {
		status, head = http.StatusServiceUnavailable, "The register cannot be reached."
		text = "Nothing was entered. " + capital(e.Doing) + ": " + e.Why + ". Try again; if it stays so, tell whoever looks after the server."
		s.Log.Error("store failed", "path", r.URL.Path, "error", err)
	} else if errors.Is(err, fleet.ErrNotSignedIn) {
		status, head, text = http.StatusUnauthorized, "You are not signed in.", "Sign in to go on."
	} else if errors.Is(err, record.ErrClock) {
		status, head = http.StatusServiceUnavailable, "The server’s clock is wrong."
		text = "Nothing was entered: " + err.Error() + ". Tell whoever looks after the server."
		s.Log.Error("clock", "error", err)
	}
	if status == 0 {
		return false
	}
	s.errorPage(w, r, status, head, text)
	return true
}

func waitSeconds(e *fleet.TooMany) int { return int(e.Wait.Seconds()) + 1 }

func wantsJSON(r *http.Request) bool {
	return strings.HasSuffix(r.URL.Path, ".json") || forPrograms(r)
}

// forPrograms tells whether the interface for programs is asked, which knows tokens
// and no cookies.
func forPrograms(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/") }

// localPath returns where to go on, if it is a page of ours.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\n\r\t") {
		return "/"
	}
	return to
}

// plural is the part of an address that stands for a kind of asset.
var plural = map[string]string{
	record.VehicleAsset: "vehicles", record.PartAsset: "parts", record.TypeAsset: "types",
	record.DepotAsset: "depots", record.NoticeAsset: "notices", record.AccountAsset: "accounts",
}

// hrefOf is the page of an asset, or nothing.
func hrefOf(a record.Asset) string {
	if a == record.NewAsset(record.LimitsAsset, record.CatalogueSet) {
		return "/mounting/catalogue"
	}
	if p := plural[a.Kind()]; p != "" {
		return "/" + p + "/" + a.Name()
	}
	return ""
}

// assetIn is the asset that an address names.
func assetIn(r *http.Request, kind string) record.Asset {
	return record.NewAsset(kind, r.PathValue("id"))
}

// titles are what people call some assets. One that is not known is called by its
// name in the records.
func (s *site) titles(ctx context.Context, all ...record.Asset) (map[record.Asset]string, error) {
	names := map[record.Asset]string{}
	var ask []record.Asset
	for _, a := range all {
		if _, have := names[a]; !have && a.Valid() {
			names[a] = string(a)
			ask = append(ask, a)
		}
	}
	rows, err := s.Register.Store().Rows(ctx, ask)
	if err != nil {
		return nil, err
	}
	for i := range rows {
		if rows[i].Title != "" {
			names[rows[i].Asset] = rows[i].Title
		}
	}
	return names, nil
}

// fleet is what pairing and matrix work on: the register as it stands, or the
// fleet file.
func (s *site) fleet(ctx context.Context) (*exchange.FleetFile, error) {
	if s.Register == nil {
		return s.Fleet, nil
	}
	now, err := s.Register.Fleet(ctx)
	if err != nil {
		return nil, err
	}
	return &now.FleetFile, nil
}
