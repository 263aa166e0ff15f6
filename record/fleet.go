package record

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
)

// A DepotAdded begins the chain of a depot.
type DepotAdded struct {
	Name     string `json:"name"`
	Address  string `json:"address,omitempty"`
	TimeZone string `json:"time_zone,omitempty"`
	Note     string `json:"note,omitempty"`
}

func (DepotAdded) Kind() string { return "depot-added" }
func (d DepotAdded) check() error {
	return first(checkTexts(text{"name", d.Name, true}), d.part())
}

func (d DepotAdded) part() error {
	return first(
		checkTexts(text{"name", d.Name, false}, text{"time_zone", d.TimeZone, false}),
		checkText("address", d.Address, maxText, false), checkText("note", d.Note, maxText, false))
}

// A DepotChanged changes what a DepotAdded said.
type DepotChanged struct{ Changes }

func (DepotChanged) Kind() string   { return "depot-changed" }
func (d DepotChanged) check() error { return checkFor[DepotAdded](d.Changes, nil, []string{"name"}) }

// A DepotClosed ends a depot's use.
type DepotClosed struct{}

func (DepotClosed) Kind() string { return "depot-closed" }
func (DepotClosed) check() error { return nil }

// A NoticeOpened begins the chain of a safety notice: parts of a type within
// ranges of serial numbers must be found and seen to, to the last one.
type NoticeOpened struct {
	Title   string        `json:"title"`
	Text    string        `json:"text,omitempty"`
	Part    string        `json:"part"`              // what kind of part
	Type    Asset         `json:"type,omitempty"`    // left out: every type of that kind
	Ranges  []SerialRange `json:"ranges,omitempty"`  // left out with Serials: every serial
	Serials []string      `json:"serials,omitempty"` // single ones
	Action  string        `json:"action"`            // what is to be done to each
	Source  Source        `json:"source,omitzero"`
}

func (NoticeOpened) Kind() string      { return "notice-opened" }
func (n NoticeOpened) blobs() []Digest { return n.Source.blobs() }

func (n NoticeOpened) check() error {
	if !slug(n.Part) {
		return &RuleError{Field: "part", Found: quote(n.Part), Want: "what kind of part: fifth-wheel, kingpin or another name in small letters"}
	}
	return first(checkTexts(text{"title", n.Title, true}), checkText("action", n.Action, maxText, true), n.part())
}

func (n NoticeOpened) part() error {
	for i, r := range n.Ranges {
		if err := inField(fmt.Sprintf("ranges[%d]", i), r.check()); err != nil {
			return err
		}
	}
	for i, s := range n.Serials {
		if err := checkText(fmt.Sprintf("serials[%d]", i), s, maxWord, true); err != nil {
			return err
		}
	}
	return first(
		checkAsset("type", n.Type, TypeAsset, false), checkTexts(text{"title", n.Title, false}),
		checkText("text", n.Text, maxText, false), checkText("action", n.Action, maxText, false), inField("source", n.Source.check(false)))
}

// A NoticeChanged changes what a NoticeOpened said, such as a range that was
// widened.
type NoticeChanged struct{ Changes }

func (NoticeChanged) Kind() string { return "notice-changed" }
func (n NoticeChanged) check() error {
	return checkFor[NoticeOpened](n.Changes, []string{"part"}, []string{"title", "action"})
}

func (n NoticeChanged) blobs() []Digest {
	var d NoticeOpened
	if whole, err := marshal(n.Set); err != nil || strict(whole, &d) != nil {
		return nil // check says so
	}
	return d.blobs()
}

// A NoticePartClosed says that one part was seen to.
type NoticePartClosed struct {
	Part Asset  `json:"part"`
	Done string `json:"done"` // what was found and done
}

func (NoticePartClosed) Kind() string { return "notice-part-closed" }
func (n NoticePartClosed) check() error {
	return first(checkAsset("part", n.Part, PartAsset, true), checkText("done", n.Done, maxText, true))
}

// A NoticeClosed ends a notice.
type NoticeClosed struct{}

func (NoticeClosed) Kind() string { return "notice-closed" }
func (NoticeClosed) check() error { return nil }

// A LimitsChanged begins or continues the chain of a set of limits that users
// keep themselves, such as limits of wear or factors of use. Values are what the
// set's own reader understands.
type LimitsChanged struct {
	Changes
	Source Source `json:"source,omitzero"`
}

func (LimitsChanged) Kind() string      { return "limits-changed" }
func (l LimitsChanged) blobs() []Digest { return l.Source.blobs() }

func (l LimitsChanged) check() error {
	if len(l.Set)+len(l.Clear) == 0 {
		return &RuleError{Field: "set", Found: "nothing", Want: "what changes"}
	}
	for _, name := range slices.Concat(slices.Sorted(maps.Keys(l.Set)), l.Clear) {
		if !slug(name) || name == fleetFields {
			return &RuleError{Field: "set", Found: quote(name), Want: "a name in small letters, digits and hyphens"}
		}
		if _, both := l.Set[name]; both && slices.Contains(l.Clear, name) {
			return &RuleError{Field: "clear", Found: quote(name), Want: "a name that is not set as well"}
		}
		if v, set := l.Set[name]; set && (len(v) == 0 || string(v) == "null") {
			return &RuleError{Field: "set." + name, Found: "null", Want: "a value, or the name under clear"}
		}
	}
	return inField("source", l.Source.check(false))
}

// An AnswerKept keeps an answer that somebody relied on, with all that is needed
// to explain it years later. It stands in the chain of the towed vehicle.
type AnswerKept struct {
	Question json.RawMessage   `json:"question"` // the inputs, whole
	Answer   json.RawMessage   `json:"answer"`   // what the program said
	Rulebook string            `json:"rulebook"`
	Rules    Digest            `json:"rules"`              // digest of the rulebook's files
	Editions map[string]string `json:"editions,omitempty"` // edition of each calculation
	Program  string            `json:"program"`            // the program's version
	Vehicles []Asset           `json:"vehicles"`
}

func (AnswerKept) Kind() string { return "answer-kept" }
func (a AnswerKept) check() error {
	for name, v := range map[string]json.RawMessage{"question": a.Question, "answer": a.Answer} {
		if len(v) == 0 || v[0] != '{' || !json.Valid(v) {
			return &RuleError{Field: name, Found: quote(string(v)), Want: "a JSON object"}
		}
	}
	if a.Rules.Zero() {
		return &RuleError{Field: "rules", Found: "nothing", Want: "the digest of the rulebook"}
	}
	for i, v := range a.Vehicles {
		if err := checkAsset(fmt.Sprintf("vehicles[%d]", i), v, VehicleAsset, true); err != nil {
			return err
		}
	}
	if len(a.Vehicles) == 0 {
		return &RuleError{Field: "vehicles", Found: "none", Want: "the vehicles that the answer is about"}
	}
	return checkTexts(text{"rulebook", a.Rulebook, true}, text{"program", a.Program, true})
}

// Roles of the people who use the program.
const (
	Driver     = "driver"
	Technician = "technician"
	Planner    = "planner"
	Engineer   = "engineer"
	Manager    = "manager"
	Auditor    = "auditor" // reads everything, changes nothing
)

// An AccountAdded begins the chain of a person's account. Passwords and sessions
// are not records.
type AccountAdded struct {
	Name     string `json:"name"`
	Login    string `json:"login"`
	Language string `json:"language,omitempty"`
	// Identity is by what an identity provider knows the person: an e-mail address
	// that it has verified, or its subject. Left out: nobody signs in from there.
	Identity string `json:"identity,omitempty"`
}

func (AccountAdded) Kind() string { return "account-added" }
func (a AccountAdded) check() error {
	return first(checkTexts(text{"name", a.Name, true}, text{"login", a.Login, true}), a.part())
}

func (a AccountAdded) part() error {
	return checkTexts(text{"name", a.Name, false}, text{"login", a.Login, false}, text{"language", a.Language, false}, text{"identity", a.Identity, false})
}

// An AccountChanged changes what an AccountAdded said.
type AccountChanged struct{ Changes }

func (AccountChanged) Kind() string { return "account-changed" }
func (a AccountChanged) check() error {
	return checkFor[AccountAdded](a.Changes, nil, []string{"name", "login"})
}

// An AccountClosed ends an account.
type AccountClosed struct{}

func (AccountClosed) Kind() string { return "account-closed" }
func (AccountClosed) check() error { return nil }

// A PermissionsChanged says what an account may do from then on, whole.
type PermissionsChanged struct {
	Roles  []string `json:"roles"`
	Depots []Asset  `json:"depots,omitempty"` // left out: every depot
}

func (PermissionsChanged) Kind() string { return "permissions-changed" }
func (p PermissionsChanged) check() error {
	for i, role := range p.Roles {
		if err := checkOneOf(fmt.Sprintf("roles[%d]", i), role, true, Driver, Technician, Planner, Engineer, Manager, Auditor); err != nil {
			return err
		}
		if slices.Contains(p.Roles[:i], role) {
			return &RuleError{Field: "roles", Found: quote(role) + " twice", Want: "each role once"}
		}
	}
	for i, d := range p.Depots {
		if err := checkAsset(fmt.Sprintf("depots[%d]", i), d, DepotAsset, true); err != nil {
			return err
		}
	}
	return nil
}

// A TokenIssued says that an account was given a token for programs. The token
// itself is nowhere kept.
type TokenIssued struct {
	Token   ID       `json:"token"`
	Title   string   `json:"title"`
	Scopes  []string `json:"scopes"`
	Expires Time     `json:"expires"`
}

func (TokenIssued) Kind() string { return "token-issued" }
func (t TokenIssued) check() error {
	switch {
	case !t.Token.Valid():
		return &RuleError{Field: "token", Found: quote(string(t.Token)), Want: "the token's id"}
	case !t.Expires.Valid():
		return &RuleError{Field: "expires", Found: "nothing", Want: "an instant"}
	case len(t.Scopes) == 0:
		return &RuleError{Field: "scopes", Found: "none", Want: "what the token may do"}
	}
	for i, s := range t.Scopes {
		if err := checkText(fmt.Sprintf("scopes[%d]", i), s, maxWord, true); err != nil {
			return err
		}
	}
	return checkTexts(text{"title", t.Title, true})
}

// A TokenRevoked takes a token back.
type TokenRevoked struct {
	Token ID `json:"token"`
}

func (TokenRevoked) Kind() string { return "token-revoked" }
func (t TokenRevoked) check() error {
	if !t.Token.Valid() {
		return &RuleError{Field: "token", Found: quote(string(t.Token)), Want: "the token's id"}
	}
	return nil
}
