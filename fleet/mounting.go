package fleet

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"underpin/exchange"
	"underpin/mounting"
	"underpin/record"
	"underpin/rule"
	"underpin/store"
	"underpin/tomlfile"
	"underpin/vehicle"
)

// MaxCatalogue is the most that a parts file may be, in bytes.
const MaxCatalogue = 8 << 20

var catalogueAsset = record.NewAsset(record.LimitsAsset, record.CatalogueSet)

// A Catalogue is the parts file in force: chassis, parts, briefs and chosen
// mountings. It must not be changed.
type Catalogue struct {
	*record.Catalogue
	File *mounting.File
}

// A catalogueView keeps the catalogue that was read last.
type catalogueView struct {
	mu   sync.Mutex
	file *mounting.File
	blob record.Digest
}

// Catalogue answers which parts file is in force, nil where none was brought in.
func (r *Register) Catalogue(ctx context.Context) (*Catalogue, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entity(ctx, catalogueAsset)
	if missing(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	c, err := e.Catalogue(record.Latest)
	if err != nil || c == nil {
		return nil, err
	}
	r.parts.mu.Lock()
	defer r.parts.mu.Unlock()
	if r.parts.file == nil || r.parts.blob != c.Blob {
		data, err := r.blob(ctx, c.Blob)
		if err != nil {
			return nil, err
		}
		f, err := exchange.ParseParts(c.Name, data)
		if err != nil {
			return nil, fmt.Errorf("the parts file %s, as it is kept: %w", c.Name, err)
		}
		r.parts.file, r.parts.blob = f, c.Blob
	}
	return &Catalogue{c, r.parts.file}, nil
}

// Program is the version of the program that keeps the register.
func (r *Register) Program() string { return r.world.Program }

func (r *Register) blob(ctx context.Context, d record.Digest) ([]byte, error) {
	b, err := r.store.Blob(ctx, d)
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return io.ReadAll(b)
}

// parseParts reads a parts file; what is wrong with it comes with its place.
func parseParts(name string, data []byte) (*mounting.File, error) {
	switch {
	case len(data) == 0:
		return nil, invalid("", "file", "nothing", "a parts file: chassis, parts, briefs and chosen mountings as TOML")
	case len(data) > MaxCatalogue:
		return nil, invalid("", "file", fmt.Sprintf("more than %d MB", MaxCatalogue>>20), fmt.Sprintf("at most %d MB", MaxCatalogue>>20))
	}
	f, err := exchange.ParseParts(name, data)
	many, ok := errors.AsType[exchange.Invalid](err)
	if e, one := errors.AsType[*tomlfile.Error](err); one && !ok {
		many = exchange.Invalid{e}
	}
	if len(many) == 0 {
		return f, err
	}
	wrong := &Invalid{}
	for _, e := range many {
		wrong.Problems = append(wrong.Problems, Problem{"file", e.Where() + ": " + e.Found, e.Expected})
	}
	return nil, wrong
}

// Inputs are what a specification is made of, as they are kept beside it.
type Inputs struct {
	Form     string           `json:"form"`
	Fleet    string           `json:"fleet"` // a fleet file with the vehicles of the brief
	Parts    string           `json:"parts"` // a parts file with the brief and the chosen mounting
	Brief    string           `json:"brief"`
	Fitting  string           `json:"fitting"`
	Law      string           `json:"law"`
	Digest   string           `json:"rules"` // of the rulebook
	Day      string           `json:"day"`
	Title    mounting.Title   `json:"title"`
	Release  mounting.Release `json:"release"`
	Proposed int              `json:"others"` // how many other proposals were asked for
}

const inputsForm = "underpin inputs of a mounting specification 1"

// NewInputs writes down what a request asks.
func NewInputs(q *mounting.Request, s *mounting.Specification) (*Inputs, error) {
	f := vehicle.Fleet{Name: q.Fleet.Name, Note: q.Fleet.Note, Law: q.Fleet.Law, Facts: q.Fleet.Facts}
	tractors, trailers := []string{q.Tractor.ID}, []string{}
	for i := range q.Fleet.Trailers {
		if t := &q.Fleet.Trailers[i]; slices.Contains(q.Brief.Trailers, t.ID) || slices.Contains(q.Brief.Wished, t.ID) {
			f.Trailers, trailers = append(f.Trailers, *t), append(trailers, t.ID)
			if t.Weighbridge != nil {
				tractors = append(tractors, t.Weighbridge.Tractor)
			}
		}
	}
	for i := range q.Fleet.Tractors {
		if t := &q.Fleet.Tractors[i]; slices.Contains(tractors, t.ID) {
			f.Tractors = append(f.Tractors, *t)
		}
	}
	for _, l := range q.Fleet.Loads {
		if len(l.For) > 0 {
			if l.For = slices.DeleteFunc(slices.Clone(l.For), func(id string) bool { return !slices.Contains(trailers, id) }); len(l.For) == 0 {
				continue
			}
		}
		f.Loads = append(f.Loads, l)
	}
	fleetFile, err := exchange.WriteFleet(&f)
	if err != nil {
		return nil, err
	}
	g := *q.Fitting
	g.Brief, g.Chassis = q.Brief.ID, q.Chassis.ID
	p := *q.File
	p.Briefs, p.Fittings = []mounting.Brief{*q.Brief}, []mounting.Fitting{g}
	partsFile, err := exchange.WriteParts(&p)
	if err != nil {
		return nil, err
	}
	return &Inputs{inputsForm, string(fleetFile), string(partsFile), q.Brief.ID, g.ID, q.Law.Name, q.Law.Digest, q.Day, s.Title, s.Release, len(s.Others)}, nil
}

// Request asks again what was asked then. Law is the rulebook of today; whoever
// wants the same sheet compares its digest.
func (n *Inputs) Request(law *rule.Book) (*mounting.Request, error) {
	f, err := exchange.ParseFleet("fleet, as kept", []byte(n.Fleet))
	if err != nil {
		return nil, err
	}
	p, err := exchange.ParseParts("parts, as kept", []byte(n.Parts))
	if err != nil {
		return nil, err
	}
	q := &mounting.Request{File: p, Title: n.Title, Task: mounting.Task{Fleet: &f.Fleet, Brief: p.Brief(n.Brief), Parts: p.Parts, Law: law, Day: n.Day}}
	if q.Fitting = p.Fitting(n.Fitting); q.Fitting == nil || q.Brief == nil {
		return nil, fmt.Errorf("the inputs lack the brief %q or the mounting %q", n.Brief, n.Fitting)
	}
	q.Chassis = p.ChassisNamed(q.Fitting.Chassis)
	t, ok := f.Tractor(q.Brief.Tractor)
	if !ok {
		return nil, fmt.Errorf("the inputs lack the tractor %q", q.Brief.Tractor)
	}
	q.Tractor = t
	return q, nil
}

// A SheetPage is all that the page of a kept specification shows.
type SheetPage struct {
	record.Sheet
	Vehicle *record.Vehicle
	Data    *mounting.Specification
	Built   []record.Built // by this specification, oldest first
	Newer   *record.Sheet  // a later revision with the same number
}

// SheetPage answers what is known of a specification that was kept on a tractor.
func (r *Register) SheetPage(ctx context.Context, a record.Asset, id record.ID) (*SheetPage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.VehicleAsset)
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, err
	}
	p := &SheetPage{Vehicle: v}
	sheet := sheetOf(v, id)
	if sheet == nil {
		return nil, &NotFound{What: "mounting specification of " + v.Number(), Name: string(id)}
	}
	p.Sheet = *sheet
	for i := range v.Sheets {
		if s := &v.Sheets[i]; s.Number == sheet.Number && s.At > sheet.At {
			p.Newer = s
		}
	}
	for _, b := range v.Built {
		if b.Specification == id {
			p.Built = append(p.Built, b)
		}
	}
	p.Data, _, err = r.kept(ctx, sheet)
	return p, err
}

// A BoltsDue is a vehicle whose mounting's bolts are to be tightened again.
type BoltsDue struct {
	Vehicle *record.Vehicle
	Built   *record.Built // the fitting, with when it is due or what is missing to tell
}

// mostBoltsDue is how many a list tells.
const mostBoltsDue = 500

// BoltsDue lists the vehicles in use whose bolts are to be tightened again: those
// of which it cannot be told when come first, then by day.
func (r *Register) BoltsDue(ctx context.Context) ([]BoltsDue, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	rows, err := r.store.Beside(ctx, store.BesideQuery{Asset: record.BoltsDue, Kind: record.VehicleAsset, Limit: mostBoltsDue})
	if err != nil {
		return nil, err
	}
	names := make([]record.Asset, len(rows))
	for i := range rows {
		names[i] = rows[i].Asset
	}
	if rows, err = r.store.Rows(ctx, names); err != nil {
		return nil, err
	}
	var all []BoltsDue
	for i := range rows {
		e, err := rows[i].Entity()
		if err != nil {
			return nil, err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return nil, err
		}
		if b := v.Retightening(); b != nil {
			all = append(all, BoltsDue{v, b})
		}
	}
	slices.SortStableFunc(all, func(a, b BoltsDue) int { return strings.Compare(a.Built.Retighten.Day, b.Built.Retighten.Day) })
	return all, nil
}

func sheetOf(v *record.Vehicle, id record.ID) *record.Sheet {
	for i := range v.Sheets {
		if v.Sheets[i].ID == id {
			return &v.Sheets[i]
		}
	}
	return nil
}

// kept reads a specification and its inputs as they were kept.
func (r *Register) kept(ctx context.Context, s *record.Sheet) (*mounting.Specification, *Inputs, error) {
	data, err := r.blob(ctx, s.SpecificationKept.Sheet)
	if err != nil {
		return nil, nil, err
	}
	sp := new(mounting.Specification)
	if err := json.Unmarshal(data, sp); err != nil {
		return nil, nil, err
	}
	if data, err = r.blob(ctx, s.Inputs); err != nil {
		return nil, nil, err
	}
	in := new(Inputs)
	return sp, in, json.Unmarshal(data, in)
}

// SheetInputs answers what a kept specification was made of.
func (r *Register) SheetInputs(ctx context.Context, s *record.Sheet) (*Inputs, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	_, in, err := r.kept(ctx, s)
	return in, err
}

func (s *step) putBlob(data []byte) (record.Digest, error) {
	d, _, err := s.r.store.PutBlob(s.ctx, bytes.NewReader(data))
	return d, err
}
