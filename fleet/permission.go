package fleet

import (
	"context"
	"slices"

	"underpin/record"
)

// A Permission is a kind of thing that a person may do. It is also what a token
// for programs may be limited to.
type Permission string

const (
	Read       Permission = "read"        // everything but people
	Report     Permission = "report"      // enter readings, attach photos and papers
	Couples    Permission = "couple"      // say what was coupled to what
	Plan       Permission = "plan"        // keep answers, named loads, the register's settings
	Fit        Permission = "fit"         // add, fit and remove parts; judge readings; close parts of a notice
	Design     Permission = "design"      // vehicles, types, notices, limits; scrap
	Amend      Permission = "amend"       // correct what others entered
	Organise   Permission = "organise"    // depots
	Import     Permission = "import"      // bring in many rows at once
	ReadPeople Permission = "read-people" // accounts, sessions and tokens of others
	People     Permission = "people"      // add, permit and close accounts
	Tokens     Permission = "tokens"      // tokens of one's own for programs
	Prove      Permission = "prove"       // verify the records
	Operate    Permission = "operate"     // seal, back up, export, restore, rebuild
)

// permissions is the one table of who may do what.
var permissions = map[string][]Permission{
	record.Driver:     {Read, Report, Couples, Tokens},
	record.Technician: {Read, Report, Couples, Tokens, Fit},
	record.Planner:    {Read, Report, Couples, Tokens, Plan},
	record.Engineer:   {Read, Report, Couples, Tokens, Plan, Fit, Design, Amend, Organise, Import},
	record.Manager:    {Read, Report, Couples, Tokens, Plan, Fit, Design, Amend, Organise, Import, ReadPeople, People, Prove, Operate},
	record.Auditor:    {Read, ReadPeople, Prove},
}

// words say a permission in a sentence: may not …
var words = map[Permission]string{
	Read: "read the register", Report: "enter readings or attach documents", Couples: "enter coupled periods",
	Plan: "keep answers or change loads and settings", Fit: "change parts, fit them or judge readings",
	Design: "change vehicles, types or notices, or scrap anything", Amend: "correct what others entered",
	Organise: "change depots", Import: "import", ReadPeople: "see the accounts", People: "change accounts",
	Tokens: "make tokens", Prove: "verify the records", Operate: "seal, back up, export, restore or rebuild",
}

// Roles lists the roles, least first.
func Roles() []string {
	return []string{record.Driver, record.Technician, record.Planner, record.Engineer, record.Manager, record.Auditor}
}

// Permissions lists what a role may do.
func Permissions(role string) []Permission { return slices.Clone(permissions[role]) }

// An Actor is who asks or changes something, as the register sees it.
type Actor struct {
	Who    record.Who
	Roles  []string
	Depots []record.Asset // whose vehicles and parts may be changed; none: all
	// Scopes limit what the roles allow, for a token; nil does not limit.
	Scopes []Permission
	// Session is the session that was signed in with, if one was.
	Session string

	operator bool
}

// Operator is whoever has the machine itself in hand, on the command line: may do
// everything, and stands in the records by this name without an account.
func Operator(name string) Actor {
	return Actor{Who: record.Who{Name: name}, operator: true}
}

// May tells whether the actor has a permission.
func (a *Actor) May(p Permission) bool {
	if a.operator {
		return true
	}
	if a.Scopes != nil && !slices.Contains(a.Scopes, p) {
		return false
	}
	return slices.ContainsFunc(a.Roles, func(role string) bool { return slices.Contains(permissions[role], p) })
}

// need returns a NotAllowed unless the actor has the permission.
func (a *Actor) need(p Permission) error {
	if a.May(p) {
		return nil
	}
	e := &NotAllowed{Who: a.Who.Name, What: words[p]}
	if e.Who == "" {
		e.Who = "someone who is not signed in"
	}
	for _, role := range Roles() {
		if slices.Contains(permissions[role], p) {
			e.Roles = append(e.Roles, role)
		}
	}
	if a.Scopes != nil && slices.ContainsFunc(a.Roles, func(role string) bool { return slices.Contains(e.Roles, role) }) {
		e.Why = "the token does not reach so far"
	}
	return e
}

// at returns a NotAllowed when the actor is limited to depots and this is not one
// of them. What has no depot may be changed by all.
func (a *Actor) at(depot record.Asset, what string) error {
	if a.operator || len(a.Depots) == 0 || depot == "" || slices.Contains(a.Depots, depot) {
		return nil
	}
	return &NotAllowed{Who: a.Who.Name, What: "change " + what, Why: "it belongs to a depot that is not theirs"}
}

type actorKey struct{}

// WithActor puts the actor into the context in which the register is asked.
func WithActor(ctx context.Context, a Actor) context.Context {
	return context.WithValue(ctx, actorKey{}, &a)
}

// ActorFrom is the usual way of knowing who acts: what WithActor put there.
// Without, the actor may do nothing.
func ActorFrom(ctx context.Context) *Actor {
	if a, ok := ctx.Value(actorKey{}).(*Actor); ok {
		return a
	}
	return &Actor{}
}
