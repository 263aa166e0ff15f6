package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"time"

	"underpin/assess"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/report"
	"underpin/rule"
	"underpin/unit"
)

type specCmd struct {
	File  string `arg:"" help:"Fleet file (TOML)."`
	Parts string `arg:"" help:"Parts file (TOML): chassis, catalogue, briefs, chosen mountings."`
	Brief string `arg:"" help:"Id of the brief in the parts file."`

	Fitting string `help:"Id of a chosen mounting of the parts file. Default: the first that answers the brief; without one, the best proposal." placeholder:"NAME" xor:"chosen"`
	Best    bool   `help:"Take the best proposal, whatever was chosen." xor:"chosen"`
	Law     string `help:"Rulebook. Default: the brief's, then the fleet file's." placeholder:"NAME"`

	Built string `help:"File (TOML) of what was measured and done when it was fitted: print what differs from the sheet, when the bolts are tightened again, and the fifth wheel as measured for the fleet file." placeholder:"FILE"`

	PDF   string `name:"pdf" help:"Write the sheet as PDF." placeholder:"OUT"`
	JSON  bool   `name:"json" help:"Print the sheet as JSON."`
	Draft bool   `help:"Write the sheet as a draft, marked on every page, even where findings are open."`
	All   bool   `help:"Print every finding with its working and source."`

	Number   string `help:"Number of the sheet." placeholder:"NO"`
	Revision string `help:"Revision of the sheet." placeholder:"REV"`
	Date     string `help:"Day of the sheet, and of the rules in force: 2026-11-25. Default: today." placeholder:"DAY"`
	Author   string `help:"Who specifies." placeholder:"NAME"`
	Checked  string `help:"Who has checked." placeholder:"NAME"`
	By       string `name:"approved-by" help:"Who approves it for fitting; refused while a binding finding does not hold." placeholder:"NAME"`
	On       string `name:"approved-on" help:"Day of the approval. Default: the day of the sheet." placeholder:"DAY"`
}

// none is the answer where no stack of the catalogue answers a brief.
type none struct {
	Answer  string              `json:"answer"`
	Brief   string              `json:"brief"`
	Nearest []noneMiss          `json:"nearest"` // what came nearest, and by how much
	Missing []string            `json:"missing"`
	Wants   []mounting.Property `json:"properties"`
}

type noneMiss struct {
	Kind  string   `json:"kind"`
	Stack []string `json:"stack"`
	By    *float64 `json:"by"`
	Unit  string   `json:"unit"`
	Text  string   `json:"text"`
}

// Run searches, chooses and specifies. Exit code: 0 where the sheet is approved
// or may be, 1 where a finding does not hold or no stack answers the brief, 3
// where something is missing.
func (c *specCmd) Run(p *program) error {
	f, err := exchange.ReadFleet(c.File)
	if err != nil {
		return err
	}
	parts, err := exchange.ReadParts(c.Parts)
	if err != nil {
		return err
	}
	if c.Draft && c.By != "" {
		return &usageError{"a draft is not approved: --draft and --approved-by do not go together"}
	}
	r, err := c.request(f, parts)
	if err != nil {
		return err
	}
	found, err := r.Search(6)
	if err != nil {
		return notAsked(err)
	}
	if r.Fitting == nil {
		if len(found.Proposals) == 0 {
			return c.none(p, r, found)
		}
		r.Fitting = proposed(r, &found.Proposals[0])
	}
	s, err := mounting.Specify(r)
	if err != nil {
		return notAsked(err)
	}
	if c.Built != "" {
		return c.built(p, r, s)
	}
	s.AddOthers(found, 5)
	p.code = exitOf(rule.Answer(s.Answer))
	var refused error
	if c.By != "" {
		refused = s.Approve(c.By, cmp.Or(c.On, r.Title.Date))
	}
	wrote, err := c.write(r, s, refused)
	if err != nil {
		return err
	}
	if c.JSON {
		data, err := s.JSON()
		if err != nil {
			return err
		}
		_, err = p.out.Write(data)
		return err
	}
	printSpecification(p.out, r, s, found, c.All)
	printRelease(p.out, s, refused, c.PDF, wrote)
	return nil
}

// request finds what the names of the command name.
func (c *specCmd) request(f *exchange.FleetFile, parts *mounting.File) (*mounting.Request, error) {
	b := parts.Brief(c.Brief)
	if b == nil {
		var known []string
		for i := range parts.Briefs {
			known = append(known, parts.Briefs[i].ID)
		}
		return nil, &assess.UnknownNameError{Kind: "brief", Name: c.Brief, Known: known}
	}
	t, ok := f.Tractor(b.Tractor)
	if !ok {
		return nil, &assess.UnknownNameError{Kind: "tractor", Name: b.Tractor, Known: ids(f, true)}
	}
	day := cmp.Or(c.Date, today())
	for _, d := range [][2]string{{"--date", day}, {"--approved-on", cmp.Or(c.On, day)}} {
		if _, err := time.Parse(time.DateOnly, d[1]); err != nil {
			return nil, &argError{d[0], fmt.Sprintf("%q", d[1]), "a day such as 2026-11-25"}
		}
	}
	law, err := openLaw(f, c.File, cmp.Or(c.Law, b.Law))
	if err != nil {
		return nil, err
	}
	r := &mounting.Request{File: parts, Task: mounting.Task{Fleet: &f.Fleet, Tractor: t, Brief: b, Parts: parts.Parts, Law: law, Day: day},
		Title: mounting.Title{Number: c.Number, Revision: c.Revision, Date: day, Subject: cmp.Or(b.Name, b.ID), Fleet: f.Name, Author: c.Author, Checked: c.Checked}}
	if r.Fitting, err = c.fitting(parts, b); err != nil {
		return nil, err
	}
	if g := r.Fitting; g != nil && g.Chassis != "" {
		r.Chassis = parts.ChassisNamed(g.Chassis)
	} else {
		r.Chassis = parts.ChassisOf(t.ID)
	}
	if r.Chassis == nil {
		return nil, &unit.NoAnswerError{Formula: "specify", Why: "no chassis of " + c.Parts + " is for " + t.Called() + " (chassis: for)"}
	}
	return r, nil
}

// fitting is the mounting that was chosen for the brief, or nil.
func (c *specCmd) fitting(parts *mounting.File, b *mounting.Brief) (*mounting.Fitting, error) {
	if c.Fitting == "" {
		for i := range parts.Fittings {
			if g := &parts.Fittings[i]; g.Brief == b.ID && !c.Best {
				return g, nil
			}
		}
		return nil, nil
	}
	g := parts.Fitting(c.Fitting)
	if g == nil {
		var known []string
		for i := range parts.Fittings {
			known = append(known, parts.Fittings[i].ID)
		}
		return nil, &assess.UnknownNameError{Kind: "fitting", Name: c.Fitting, Known: known}
	}
	if g.Brief != "" && g.Brief != b.ID {
		return nil, &argError{"--fitting", "a fitting that answers the brief " + g.Brief, "one that answers " + b.ID}
	}
	return g, nil
}

// proposed is a proposal as a fitting: its bolts are still to be entered.
func proposed(r *mounting.Request, o *mounting.Proposal) *mounting.Fitting {
	at := o.At
	return &mounting.Fitting{ID: "proposal", Brief: r.Brief.ID, Chassis: r.Chassis.ID, Base: o.Base, Parts: o.IDs(), At: &at}
}

// notAsked turns a question that leaves nothing to ask about into an error with
// an exit code.
func notAsked(err error) error {
	var place *mounting.NoPlaceError
	var stack *mounting.StackError
	switch {
	case errors.As(err, &place):
		return &unit.NoAnswerError{Formula: "specify", Why: place.Why}
	case errors.As(err, &stack):
		return &argError{"fitting", stack.Found, stack.Do}
	}
	return err
}

// write writes the PDF, unless it would be a sheet with open findings that was
// not asked for as a draft.
func (c *specCmd) write(r *mounting.Request, s *mounting.Specification, refused error) (bool, error) {
	if c.PDF == "" || !c.Draft && (refused != nil || s.Holds() != nil) {
		return false, nil
	}
	var b strings.Builder
	if err := report.Specification(&b, r, s); err != nil {
		return false, err
	}
	return true, os.WriteFile(c.PDF, []byte(b.String()), 0o644)
}

// none answers where no stack does: with what came nearest, or with what is
// missing to tell.
func (c *specCmd) none(p *program, r *mounting.Request, f *mounting.Found) error {
	a := none{Answer: string(rule.DoesNotFit), Brief: r.Brief.ID, Nearest: []noneMiss{}, Missing: append([]string{}, f.Missing...), Wants: f.Wants}
	if len(f.Nearest) == 0 && len(f.Missing) > 0 {
		a.Answer = string(rule.CannotTell)
	}
	for i := range f.Nearest {
		m := &f.Nearest[i]
		miss := noneMiss{Kind: m.Kind, Stack: []string{}, Unit: m.Unit.Symbol, Text: m.Text}
		if !math.IsInf(m.By, 0) && !math.IsNaN(m.By) {
			miss.By = &m.By
		}
		if len(m.Stack.Parts) > 0 {
			miss.Stack = append([]string{m.Stack.Base}, m.Stack.IDs()...)
		}
		a.Nearest = append(a.Nearest, miss)
	}
	p.code = exitOf(rule.Answer(a.Answer))
	if c.JSON {
		return p.printJSON(a)
	}
	printNone(p.out, r, &a)
	return nil
}
