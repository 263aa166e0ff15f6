package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"underpin/fleet"
	"underpin/record"
)

// tokenView is one token for programs in the list of a person's own.
type tokenView struct {
	ID, Title, May, Created, Used, Ends string
	Open                                bool // in force
}

func (s *site) tokens(ctx context.Context, account record.Asset) ([]tokenView, error) {
	all, err := s.Register.TokensOf(ctx, account)
	if err != nil {
		return nil, err
	}
	now := record.At(time.Now())
	var list []tokenView
	for _, t := range all {
		v := tokenView{ID: string(t.ID), Title: t.Title, May: strings.Join(t.Scopes, ", "), Created: dayOf(t.Created), Used: when(t.Used), Ends: dayOf(t.Expires), Open: t.Revoked == 0 && t.Expires > now}
		switch {
		case t.Revoked != 0:
			v.Ends = "taken back " + dayOf(t.Revoked)
		case t.Expires <= now:
			v.Ends = "ended " + dayOf(t.Expires)
		}
		list = append(list, v)
	}
	return list, nil
}

// tokenSpec asks what a token may do: of what the person may, each by yes or no.
func tokenSpec(actor *fleet.Actor) spec {
	fields := []field{
		{Key: "title", Label: "Name", Doc: "What it is for: telematics, the planning program.", Must: true},
		{Key: "days", Label: "Ends after", Doc: "The shorter, the less it is worth to whoever finds it.", Sort: choiceSort, Must: true,
			Choices: []option{{Value: "7", Text: "a week"}, {Value: "30", Text: "30 days"}, {Value: "90", Text: "90 days"}, {Value: "365", Text: "a year"}}},
	}
	scopes := formPart{Head: "May", Doc: "No more than it needs. A token can neither make tokens nor change accounts."}
	for _, p := range fleet.Permissions(record.Manager) { // who may everything
		if p == fleet.Tokens || p == fleet.People || !actor.May(p) {
			continue
		}
		key := "scope-" + string(p)
		fields = append(fields, field{Key: key, Label: capital(string(p)), Doc: capital(permissionWords[p]) + ".", Sort: flagSort})
		scopes.Keys = append(scopes.Keys, key)
	}
	return spec{fields, []formPart{{"", "", []string{"title", "days"}}, scopes}}
}

func (s *site) issueToken(w http.ResponseWriter, r *http.Request) {
	me := person(r.Context())
	s.act(w, r, &action{
		head: "Make a token for a program", save: "Make it", back: "/account", spec: tokenSpec(me), typed: typed{"days": "90", "scope-read": "yes"},
		lead: "A program sends it with each request, and acts in your name as far as the scopes reach, and no further than your roles. It is shown once.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.IssueToken{Meta: in.Meta, Title: in.typed["title"]}
			for _, p := range fleet.Permissions(record.Manager) {
				if in.typed["scope-"+string(p)] == "yes" {
					c.Scopes = append(c.Scopes, p)
				}
			}
			slices.Sort(c.Scopes)
			if len(c.Scopes) == 0 {
				return nil, &fleet.Invalid{Problems: []fleet.Problem{{Where: "scope-read", Found: "no scope", Expected: "at least one thing that it may do"}}}
			}
			days, err := atoi(in.typed["days"])
			if err != nil {
				return nil, &fleet.Invalid{Problems: []fleet.Problem{{Where: "days", Found: in.typed["days"], Expected: "one of the choices"}}}
			}
			c.Expires = record.At(time.Now().AddDate(0, 0, days))
			return s.Register.Do(ctx, c)
		},
		after: func(*fleet.Done) string { return "/account" },
	})
}

// revokeToken takes a token back, at once.
func (s *site) revokeToken(w http.ResponseWriter, r *http.Request) {
	if _, err := s.Register.Do(r.Context(), &fleet.RevokeToken{Token: record.ID(r.PostFormValue("token"))}); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/account?done=revoked", http.StatusSeeOther)
}
