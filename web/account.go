package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"underpin/fleet"
	"underpin/record"
)

// ownView is what templates/account.html shows: a person's own account.
type ownView struct {
	Name, Login, Roles, Depots string
	Sessions                   []sessionView
	Wrong                      map[string]string
	Done                       string
	Accounts                   bool // may see the accounts of others
	Tokens                     []tokenView
	MayIssue                   bool
}

type sessionView struct {
	ID, From, Agent, Created, Seen, Until string
	Here                                  bool
}

func (s *site) ownPage(w http.ResponseWriter, r *http.Request) {
	s.showOwn(w, r, http.StatusOK, nil)
}

func (s *site) showOwn(w http.ResponseWriter, r *http.Request, status int, wrong map[string]string) {
	ctx := r.Context()
	me := person(ctx)
	if me == nil || me.Who.Account == "" {
		s.errorPage(w, r, http.StatusOK, "Nobody is signed in here.", "The demo has no accounts.")
		return
	}
	v := ownView{Name: me.Who.Name, Roles: strings.Join(me.Roles, ", "), Wrong: wrong, Done: doneWords[r.FormValue("done")], Accounts: me.May(fleet.ReadPeople)}
	p, err := s.Register.AccountPage(ctx, me.Who.Account)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v.Login = p.Account.Login
	if v.Depots, err = s.depotNames(ctx, me.Depots); err != nil {
		s.fail(w, r, err)
		return
	}
	if v.Sessions, err = s.sessions(ctx, me.Who.Account); err != nil {
		s.fail(w, r, err)
		return
	}
	v.MayIssue = me.May(fleet.Tokens)
	if v.Tokens, err = s.tokens(ctx, me.Who.Account); err != nil {
		s.fail(w, r, err)
		return
	}
	s.render(w, r, status, "account", "Your account", v)
}

func (s *site) depotNames(ctx context.Context, depots []record.Asset) (string, error) {
	names, err := s.titles(ctx, depots...)
	if err != nil {
		return "", err
	}
	var all []string
	for _, d := range depots {
		all = append(all, nameOf(names, d))
	}
	return strings.Join(all, ", "), nil
}

func (s *site) sessions(ctx context.Context, a record.Asset) ([]sessionView, error) {
	all, err := s.Register.Sessions(ctx, a)
	if err != nil {
		return nil, err
	}
	var list []sessionView
	for _, x := range all {
		list = append(list, sessionView{x.ID, x.Address, agentWords(x.Agent), when(x.Created), when(x.Seen), when(x.Expires), x.Here})
	}
	return list, nil
}

// agentWords names the browser and its system as far as they say.
func agentWords(agent string) string {
	find := func(all ...string) string {
		for _, name := range all {
			if strings.Contains(agent, name) {
				return name
			}
		}
		return ""
	}
	browser, system := find("Firefox", "Edg", "OPR", "Chrome", "Safari"), find("Android", "iPhone", "iPad", "Windows", "Macintosh", "Linux")
	switch {
	case browser == "" && system == "":
		return "unknown browser"
	case system == "":
		return browser
	}
	return strings.TrimSpace(browser + " on " + system)
}

func (s *site) changePassword(w http.ResponseWriter, r *http.Request) {
	password := r.PostFormValue("password")
	if password != r.PostFormValue("again") {
		s.showOwn(w, r, http.StatusUnprocessableEntity, map[string]string{"again": "found another one; expected the same password twice"})
		return
	}
	t, err := s.Register.ChangePassword(r.Context(), r.PostFormValue("old"), password, fleet.SignIn{Address: s.address(r), Agent: r.UserAgent()})
	if e, ok := errors.AsType[*fleet.Invalid](err); ok {
		all := map[string]string{}
		for _, p := range e.Problems {
			all[p.Where] = wrong{p.Where, p.Found, p.Expected}.String()
		}
		s.showOwn(w, r, http.StatusUnprocessableEntity, all)
		return
	}
	if e, ok := errors.AsType[*fleet.TooMany](err); ok {
		w.Header().Set("Retry-After", itoa(waitSeconds(e)))
		s.showOwn(w, r, http.StatusTooManyRequests, map[string]string{"old": tooManyWords(e)})
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.setCookie(w, r, t)
	http.Redirect(w, r, "/account?done=password", http.StatusSeeOther)
}

func (s *site) endOwnSession(w http.ResponseWriter, r *http.Request) {
	s.endSession(w, r, person(r.Context()).Who.Account, "/account?done=ended")
}

func (s *site) endSessionOf(w http.ResponseWriter, r *http.Request) {
	a := assetIn(r, record.AccountAsset)
	s.endSession(w, r, a, hrefOf(a)+"?done=ended")
}

func (s *site) endSession(w http.ResponseWriter, r *http.Request, a record.Asset, to string) {
	if err := s.Register.EndSession(r.Context(), a, r.PostFormValue("session")); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// accountsView is what templates/accounts.html shows.
type accountsView struct {
	Lines []accountLine
	Next  string
	Add   bool
	Roles []roleView
	Done  string
}

type accountLine struct {
	lineView
	Login, Roles string
}

type roleView struct{ Name, May string }

func (s *site) accountsPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	l, err := s.Register.List(ctx, fleet.ListQuery{Kind: record.AccountAsset, From: r.FormValue("from"), Limit: linesShown})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := accountsView{Add: may(ctx, fleet.People), Done: doneWords[r.FormValue("done")], Roles: roleViews()}
	for i := range l.Items {
		it := &l.Items[i]
		line := accountLine{lineView: newLine(it, nil)}
		line.Login, _ = it.Line["login"].(string)
		if roles, ok := it.Line["roles"].([]any); ok {
			var names []string
			for _, x := range roles {
				name, _ := x.(string)
				names = append(names, name)
			}
			line.Roles = strings.Join(names, ", ")
		}
		v.Lines = append(v.Lines, line)
	}
	if l.Next != "" {
		v.Next = withQuery("/accounts", "from", l.Next)
	}
	s.render(w, r, http.StatusOK, "accounts", "Accounts", v)
}

// permissionWords say shortly what a permission lets a person do.
var permissionWords = map[fleet.Permission]string{
	fleet.Read: "read", fleet.Report: "enter readings and attach photos", fleet.Couples: "couple and uncouple", fleet.Plan: "keep answers and change loads",
	fleet.Fit: "add, fit and remove parts", fleet.Design: "change vehicles, types and notices", fleet.Amend: "correct what others entered",
	fleet.Organise: "change depots", fleet.Import: "import", fleet.ReadPeople: "see accounts", fleet.People: "change accounts",
	fleet.Prove: "verify the records", fleet.Operate: "seal, back up and restore", fleet.Tokens: "have tokens for programs",
}

func roleViews() []roleView {
	var all []roleView
	for _, role := range fleet.Roles() {
		var words []string
		for _, p := range fleet.Permissions(role) {
			words = append(words, permissionWords[p])
		}
		all = append(all, roleView{role, strings.Join(words, "; ")})
	}
	return all
}

// accountSpec is the form of an account: roles and depots are each asked by yes or
// no.
func accountSpec(depots []option) spec {
	fields := []field{
		{Key: "name", Label: "Name", Doc: "As it will stand in the records.", Must: true},
		{Key: "login", Label: "Signs in as", Doc: "2 to 100 signs without blanks, such as ann or ann@depot.example.", Must: true},
		{Key: "identity", Label: "At the identity provider", Doc: "Where the program is set up for one: the e-mail address that it has verified, or the subject by which it knows the person. Left out: nobody signs in to this account from there."},
		{Key: "language", Label: "Language", Sort: choiceSort, Choices: []option{{Value: "en", Text: "English"}, {Value: "de", Text: "Deutsch"}}},
	}
	roles := formPart{Head: "May be", Doc: "Each role adds to what the person may do."}
	for _, role := range roleViews() {
		fields = append(fields, field{Key: "role-" + role.Name, Label: capital(role.Name), Doc: "May " + role.May + ".", Sort: flagSort})
		roles.Keys = append(roles.Keys, "role-"+role.Name)
	}
	parts := []formPart{{"Who it is", "", []string{"name", "login", "identity", "language"}}, roles}
	if len(depots) > 0 {
		limits := formPart{Head: "Only at", Doc: "Where none is chosen the person may change what belongs to any depot. Everybody reads everything."}
		for _, d := range depots {
			key := "at-" + record.Asset(d.Value).Name()
			fields = append(fields, field{Key: key, Label: d.Text, Sort: flagSort})
			limits.Keys = append(limits.Keys, key)
		}
		parts = append(parts, limits)
	}
	return spec{fields, parts}
}

func accountTyped(a *record.Account) typed {
	t := typed{"name": a.AccountAdded.Name, "login": a.Login, "identity": a.Identity, "language": a.Language}
	for _, role := range a.Roles {
		t["role-"+role] = "yes"
	}
	for _, d := range a.Depots {
		t["at-"+d.Name()] = "yes"
	}
	return t
}

func permitted(t typed) (roles []string, depots []record.Asset) {
	for _, role := range fleet.Roles() {
		if t["role-"+role] == "yes" {
			roles = append(roles, role)
		}
	}
	for path, yes := range t {
		if name, ok := strings.CutPrefix(path, "at-"); ok && yes == "yes" {
			depots = append(depots, record.NewAsset(record.DepotAsset, name))
		}
	}
	slices.Sort(depots)
	return roles, depots
}

func (s *site) addAccount(w http.ResponseWriter, r *http.Request) {
	depots, err := s.depotOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.act(w, r, &action{
		head: "Add an account", save: "Add it", link: true, back: "/accounts", spec: accountSpec(depots), typed: typed{},
		lead: "The person gets a one-time link and sets a password with it. Nobody else knows it.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			roles, at := permitted(in.typed)
			return s.Register.Do(ctx, &fleet.AddAccount{Meta: in.Meta, Name: in.typed["name"], Login: in.typed["login"], Identity: in.typed["identity"], Language: in.typed["language"], Roles: roles, Depots: at})
		},
	})
}

// accountPageView is what templates/person.html shows: an account of the list.
type accountPageView struct {
	*assetView
	Login, Roles, Depots string
	Sessions             []sessionView
	MayChange            bool
}

func (s *site) accountPage(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	a := assetIn(r, record.AccountAsset)
	p, err := s.Register.AccountPage(ctx, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	common, err := s.assetView(r, a)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Account
	v := &accountPageView{assetView: common, Login: x.Login, Roles: orNone(strings.Join(x.Roles, ", ")), MayChange: may(ctx, fleet.People) && x.Closed == 0}
	v.Kind, v.Title = "Account", x.AccountAdded.Name
	v.state("●", "holds", "In use")
	if x.Closed != 0 {
		v.state("✕", "unknown", "Closed on "+dayOf(x.Closed))
	}
	if v.Depots, err = s.depotNames(ctx, x.Depots); err != nil {
		s.fail(w, r, err)
		return
	}
	if v.Sessions, err = s.sessions(ctx, a); err != nil {
		s.fail(w, r, err)
		return
	}
	if x.Closed == 0 {
		v.offer(ctx, fleet.People, "/edit", "Edit")
		v.offer(ctx, fleet.People, "/link", "New one-time link")
		v.offer(ctx, fleet.People, "/close", "Close it")
	}
	s.render(w, r, http.StatusOK, "person", v.Title, v)
}

func (s *site) editAccount(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	p, err := s.Register.AccountPage(ctx, assetIn(r, record.AccountAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	depots, err := s.depotOptions(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a := p.Account
	s.act(w, r, &action{
		head: "Edit the account of " + a.AccountAdded.Name, save: "Save", back: hrefOf(a.Asset), reason: "Why",
		spec: accountSpec(depots), typed: accountTyped(a), version: p.Version,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			roles, at := permitted(in.typed)
			done, err := s.Register.Do(ctx, &fleet.Permit{Meta: in.Meta, Account: a.Asset, Version: in.version, Roles: roles, Depots: at})
			if err != nil {
				return nil, err
			}
			version := in.version
			if done.Record != "" { // the first of the two made a new version
				now, err := s.Register.AccountPage(ctx, a.Asset)
				if err != nil {
					return nil, err
				}
				version = now.Version
			}
			second := in.Meta
			second.ID = ""
			return s.Register.Do(ctx, &fleet.ChangeAccount{Meta: second, Account: a.Asset, Version: version, Name: in.typed["name"], Login: in.typed["login"], Identity: in.typed["identity"], Language: in.typed["language"]})
		},
	})
}

func (s *site) linkAccount(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.AccountPage(r.Context(), assetIn(r, record.AccountAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a := p.Account
	s.act(w, r, &action{
		head: "New one-time link for " + a.AccountAdded.Name, save: "Make it", back: hrefOf(a.Asset), link: true,
		lead: "For whoever forgot the password. The link works once, for three days; an earlier one no longer works. Sessions end when the new password is set.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			link, err := s.Register.NewLink(ctx, a.Asset)
			return &fleet.Done{Asset: a.Asset, Secret: link}, err
		},
	})
}

func (s *site) closeAccount(w http.ResponseWriter, r *http.Request) {
	p, err := s.Register.AccountPage(r.Context(), assetIn(r, record.AccountAsset))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a := p.Account
	s.act(w, r, &action{
		head: "Close the account of " + a.AccountAdded.Name, save: "Close it", back: hrefOf(a.Asset), reason: "Why", must: true,
		lead: "Its sessions and tokens end at once. What the person entered stays, with the name.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.CloseAccount{Meta: in.Meta, Account: a.Asset})
		},
	})
}
