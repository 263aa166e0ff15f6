package fleet

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"sync"

	"underpin/exchange"
	"underpin/record"
	"underpin/store"
	"underpin/unit"
	"underpin/vehicle"
)

// A Now is the register as a fleet file has it, so that pairing and matrix work on
// it. It must not be changed.
type Now struct {
	exchange.FleetFile
	Assets map[string]record.Asset // vehicles by fleet number
	// Remarks say where a value of the fleet does not come from the vehicle's own
	// fields, and Left which vehicles are not in it, and why.
	Remarks []Remark
	Left    []Remark
	// Held says of vehicles, by number, what keeps them out of use.
	Held map[string][]record.Hold
}

// A Remark is something to know about one vehicle.
type Remark struct {
	Vehicle record.Asset
	Number  string
	Where   string // field; empty: the vehicle as a whole
	Why     string
}

// fleetView keeps what was read of vehicles, parts and types, and reads again only
// what changed.
type fleetView struct {
	mu   sync.Mutex
	rows map[record.Asset]*seen
}

// A seen is one row as it was read at a revision.
type seen struct {
	rev      int64
	vehicle  *record.Vehicle
	parsed   *parsed
	problems []Problem
	part     *record.Part
	typ      *record.Type
}

// Fleet returns the vehicles in use, with what sits on them, as one fleet.
//
// The marked values of a fifth wheel, mounting or kingpin are those of the part
// that sits there, and of its type where the part's own are not known. The
// vehicle's fields count only where no part was ever fitted: what was marked on a
// coupling that was taken off says nothing of the next.
func (r *Register) Fleet(ctx context.Context) (*Now, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	r.view.mu.Lock()
	defer r.view.mu.Unlock()
	var in []*store.Row
	err := r.each(ctx, store.Query{Kind: record.VehicleAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
		in = append(in, row)
		return nil
	})
	if err != nil {
		return nil, err
	}
	// What sits on them is listed too, so that only what changed is read.
	for _, q := range []store.Query{{Kind: record.PartAsset, Status: []string{record.StatusFitted}}, {Kind: record.TypeAsset}} {
		var rows []*store.Row
		err := r.each(ctx, q, func(row *store.Row) error {
			rows = append(rows, row)
			return nil
		})
		if err != nil {
			return nil, err
		}
		if err := r.see(ctx, rows); err != nil {
			return nil, err
		}
	}
	return r.assemble(ctx, in, false)
}

// FleetOf returns some vehicles in use as a fleet, by number. It is Fleet for whoever
// asks about one pair of a large register.
func (r *Register) FleetOf(ctx context.Context, numbers ...string) (*Now, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	r.view.mu.Lock()
	defer r.view.mu.Unlock()
	var in []*store.Row
	for _, number := range numbers {
		a, err := r.byNumber(ctx, number)
		if err != nil {
			return nil, err
		}
		row, err := r.store.Row(ctx, a)
		if err != nil {
			return nil, err
		}
		in = append(in, &row)
	}
	return r.assemble(ctx, in, true)
}

// assemble makes a fleet of rows. Afresh reads again what sits on them.
func (r *Register) assemble(ctx context.Context, in []*store.Row, afresh bool) (*Now, error) {
	if err := r.see(ctx, in); err != nil {
		return nil, err
	}
	var parts []record.Asset
	for _, row := range in {
		for _, f := range r.view.rows[row.Asset].vehicle.Fitted() {
			parts = append(parts, f.Part)
		}
	}
	if err := r.seeNew(ctx, parts, afresh); err != nil {
		return nil, err
	}
	var types []record.Asset
	for _, a := range parts {
		if s := r.view.rows[a]; s != nil && s.part.Type != "" {
			types = append(types, s.part.Type)
		}
	}
	if err := r.seeNew(ctx, types, afresh); err != nil {
		return nil, err
	}
	now := &Now{Assets: map[string]record.Asset{}, Held: map[string][]record.Hold{}}
	if err := r.head(ctx, now); err != nil {
		return nil, err
	}
	for _, row := range in {
		r.put(now, r.view.rows[row.Asset])
	}
	if err := r.derive(ctx, now); err != nil {
		return nil, err
	}
	return now, nil
}

// see reads those rows whose revision is not the one that was read.
func (r *Register) see(ctx context.Context, rows []*store.Row) error {
	if r.view.rows == nil {
		r.view.rows = map[record.Asset]*seen{}
	}
	var stale []record.Asset
	for _, row := range rows {
		if s := r.view.rows[row.Asset]; s == nil || s.rev != row.Rev {
			stale = append(stale, row.Asset)
		}
	}
	for some := range slices.Chunk(stale, batchRows) {
		whole, err := r.store.Rows(ctx, some)
		if err != nil {
			return err
		}
		for i := range whole {
			s, err := look(&whole[i])
			if err != nil {
				return err
			}
			r.view.rows[whole[i].Asset] = s
		}
	}
	return nil
}

// seeNew reads parts or types that were not read yet, or all of them afresh.
func (r *Register) seeNew(ctx context.Context, names []record.Asset, afresh bool) error {
	names = slices.DeleteFunc(names, func(a record.Asset) bool { return !afresh && r.view.rows[a] != nil })
	slices.Sort(names)
	for some := range slices.Chunk(slices.Compact(names), batchRows) {
		whole, err := r.store.Rows(ctx, some)
		if err != nil {
			return err
		}
		for i := range whole {
			s, err := look(&whole[i])
			if err != nil {
				return err
			}
			r.view.rows[whole[i].Asset] = s
		}
	}
	return nil
}

func look(row *store.Row) (*seen, error) {
	e, err := row.Entity()
	if err != nil {
		return nil, err
	}
	s := &seen{rev: row.Rev}
	switch row.Asset.Kind() {
	case record.VehicleAsset:
		if s.vehicle, err = e.Vehicle(record.Latest); err == nil {
			s.parsed, s.problems = parse(s.vehicle.VehicleAdded)
		}
	case record.PartAsset:
		s.part, err = e.Part(record.Latest)
	case record.TypeAsset:
		s.typ, err = e.Type(record.Latest)
	}
	return s, err
}

// put adds a vehicle to the fleet, or says why it is not in it.
func (r *Register) put(now *Now, s *seen) {
	v := s.vehicle
	number := v.Number()
	if h := v.Holds(); len(h) > 0 {
		now.Held[number] = h
	}
	left := func(why string) { now.Left = append(now.Left, Remark{v.Asset, number, "", why}) }
	switch {
	case len(s.problems) > 0:
		left("its fields cannot be read: " + s.problems[0].String())
		return
	case s.parsed.dolly != nil:
		left("it is a dolly: combinations of three units are not reckoned yet")
		return
	}
	if t := s.parsed.tractor; t != nil {
		if len(t.Axles) < 2 {
			left("its axles are not known")
			return
		}
		own := *t
		own.Axles = slices.Clone(t.Axles)
		r.coupling(now, v, &own.FifthWheel)
		now.Tractors = append(now.Tractors, own)
	}
	if t := s.parsed.trailer; t != nil {
		if len(t.Axles) == 0 {
			left("its axles are not known")
			return
		}
		own := *t
		own.Axles = slices.Clone(t.Axles)
		r.pin(now, v, &own.Kingpin)
		now.Trailers = append(now.Trailers, own)
	}
	now.Assets[number] = v.Asset
}

// marks are the marked values of what sits in a place.
type marks struct {
	record.Ratings
	class, readFrom string
	title           string
}

// marked returns what is marked on the part in a place; known is false where no
// part was ever fitted there, and the fields of the vehicle count.
func (r *Register) marked(now *Now, v *record.Vehicle, place string) (m marks, known bool) {
	var sits *record.Fitting
	for i := range v.Fittings {
		if v.Fittings[i].Place != place {
			continue
		}
		known = true
		if v.Fittings[i].Open() {
			sits = &v.Fittings[i]
		}
	}
	if sits == nil {
		return m, known
	}
	s := r.view.rows[sits.Part]
	if s == nil || s.part == nil {
		return m, known
	}
	p := s.part
	m = marks{Ratings: p.Ratings, class: p.Class, readFrom: p.ReadFrom, title: (&Part{Part: *p}).title()}
	t := r.view.rows[p.Type]
	if t == nil || t.typ == nil {
		return m, known
	}
	copied := m.D == nil && m.Imposed == nil && m.Pin == nil
	for _, of := range []struct{ own, typ **int64 }{{&m.D, &t.typ.D}, {&m.Imposed, &t.typ.Imposed}, {&m.Pin, &t.typ.Pin}} {
		if *of.own == nil {
			*of.own = *of.typ
		}
	}
	if m.class == "" {
		m.class = t.typ.Class
	}
	if copied {
		m.readFrom = "document"
	}
	return m, known
}

func (r *Register) coupling(now *Now, v *record.Vehicle, w *vehicle.FifthWheel) {
	if m, known := r.marked(now, v, record.AtFifthWheel); known {
		now.told(v, "fifth-wheel", m)
		w.D, w.Imposed, w.Pin, w.Class, w.ReadFrom = force(m.D), mass(m.Imposed), millimetres(m.Pin), m.class, m.readFrom
	}
	if m, known := r.marked(now, v, record.Mounting); known {
		now.told(v, "fifth-wheel.mounting", m)
		w.Mounting = &vehicle.Rated{D: force(m.D), Imposed: mass(m.Imposed), ReadFrom: m.readFrom}
	}
}

func (r *Register) pin(now *Now, v *record.Vehicle, k *vehicle.Kingpin) {
	if m, known := r.marked(now, v, record.AtKingpin); known {
		now.told(v, "kingpin", m)
		k.D, k.Size, k.ReadFrom = force(m.D), millimetres(m.Pin), m.readFrom
	}
}

// told notes where the marked values come from.
func (n *Now) told(v *record.Vehicle, where string, m marks) {
	why := "nothing sits there now: what was marked on the part before counts no more"
	if m.title != "" {
		why = "marked values are those of " + m.title
	}
	n.Remarks = append(n.Remarks, Remark{v.Asset, v.Number(), where, why})
}

func force(newtons *int64) *unit.Force {
	if newtons == nil {
		return nil
	}
	f := unit.Force(*newtons)
	return &f
}

func mass(kg *int64) *unit.Mass {
	if kg == nil {
		return nil
	}
	m := unit.Mass(*kg)
	return &m
}

func millimetres(mm *int64) *unit.Length {
	if mm == nil {
		return nil
	}
	l := unit.Length(*mm) / 1000
	return &l
}

// derive finds what follows from tape and tickets. A tractor that has been
// scrapped still tells what the trailer weighed behind it.
func (r *Register) derive(ctx context.Context, now *Now) error {
	wanted := map[string]bool{}
	for i := range now.Trailers {
		if w := now.Trailers[i].Weighbridge; w != nil && now.Trailers[i].TarePin == nil {
			if _, have := now.Tractor(w.Tractor); !have {
				wanted[w.Tractor] = true
			}
		}
	}
	kept := len(now.Tractors)
	for number := range wanted {
		a, err := r.byNumber(ctx, number)
		if missing(err) {
			a, err = r.scrapped(ctx, number)
		}
		if err != nil {
			return err
		}
		if a == "" {
			continue
		}
		row, err := r.store.Row(ctx, a)
		if err != nil {
			return err
		}
		if err := r.see(ctx, []*store.Row{&row}); err != nil {
			return err
		}
		if s := r.view.rows[a]; len(s.problems) == 0 && s.parsed.tractor != nil {
			t := *s.parsed.tractor
			t.Axles = slices.Clone(t.Axles)
			now.Tractors = append(now.Tractors, t)
		}
	}
	for _, d := range now.Derive() {
		if _, inUse := now.Assets[d.Vehicle]; inUse {
			now.Derived = append(now.Derived, d)
		}
	}
	now.Tractors = now.Tractors[:kept:kept]
	return nil
}

// scrapped finds a vehicle that was scrapped by the number it had, or nothing.
func (r *Register) scrapped(ctx context.Context, number string) (record.Asset, error) {
	found, err := r.store.Find(ctx, store.FindQuery{Text: number, Kinds: []string{record.VehicleAsset}, Limit: 50})
	if err != nil {
		return "", err
	}
	for i := range found {
		if found[i].Status == record.StatusScrapped && folded(found[i].Title) == folded(number) {
			return found[i].Asset, nil
		}
	}
	return "", nil
}

// head fills in what stands at the head of a fleet file, and the named loads.
func (r *Register) head(ctx context.Context, now *Now) error {
	own, err := r.settings(ctx, SettingsSet)
	if err != nil {
		return err
	}
	loads, err := r.settings(ctx, LoadsSet)
	if err != nil {
		return err
	}
	f, problems := headOf(own.Values, loads.Values)
	for _, p := range problems {
		now.Left = append(now.Left, Remark{Where: p.Where, Why: p.String()})
	}
	now.Name, now.Law, now.Note, now.Facts, now.Loads = f.Name, f.Law, f.Note, f.Facts, f.Loads
	return nil
}

// headOf reads the two sets.
func headOf(own, loads record.Fields) (*vehicle.Fleet, []Problem) {
	var problems []Problem
	bad := func(where, found, expected string) { problems = append(problems, Problem{where, found, expected}) }
	var h struct {
		Name  string         `toml:"name"`
		Law   string         `toml:"law"`
		Note  string         `toml:"note"`
		Facts map[string]any `toml:"facts"`
	}
	if len(own) > 0 {
		fill(reflect.ValueOf(&h).Elem(), encoded(own), "", bad)
	}
	f := &vehicle.Fleet{Name: h.Name, Law: h.Law, Note: h.Note, Facts: h.Facts}
	for _, id := range sortedNames(loads) {
		l := vehicle.Load{}
		fill(reflect.ValueOf(&l).Elem(), loads[id], id, bad)
		if l.ID != "" && l.ID != id {
			bad(id+".id", fmt.Sprintf("id = %q", l.ID), "the name under which it stands, or nothing")
		}
		l.ID = id
		f.Loads = append(f.Loads, l)
	}
	return f, problems
}
