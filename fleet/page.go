package fleet

import (
	"context"

	"underpin/record"
	"underpin/store"
)

// A VehiclePage is all that the page of a vehicle shows.
type VehiclePage struct {
	Vehicle *record.Vehicle
	Version string // for ChangeVehicle
	Fields  []Field
	Lacking []Problem       // of the fields, what is wrong by today's rules
	Fitted  []Sitting       // what sits on it, by place
	Gone    []Sitting       // what sat on it, newest first
	Periods []record.Period // coupled periods, towed or towing, newest first; 50 at most
	Ran     record.Mileage  // since it was added, or its first reading
	Pace    *Pace           // how far it runs a day now; nil: not known
	Doubts  []Question      // readings that a person should look at
	Notices []PartNotice    // that concern what sits on it
}

// A Sitting is a part that sits or sat on a vehicle, and how far it ran there.
type Sitting struct {
	record.Fitting
	Title string // of the part; on a part's page, of the vehicle
	Ran   record.Mileage
}

// A PartNotice is a notice that concerns a part, or may concern it.
type PartNotice struct {
	Notice record.Asset
	Title  string
	Action string
	Part   record.Asset
	Match  record.Match
	Why    string
	Work   *record.NoticeWork
	Closed record.Time
}

// periodsShown is how many coupled periods a page shows.
const periodsShown = 50

// VehiclePage answers what is known of a vehicle.
func (r *Register) VehiclePage(ctx context.Context, a record.Asset) (*VehiclePage, error) {
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
	p := &VehiclePage{Vehicle: v, Version: versionOf(e), Fields: FieldsOf(v.VehicleAdded.Vehicle)}
	_, p.Lacking = parse(v.VehicleAdded)
	d, err := r.travels(ctx, e, v)
	if err != nil {
		return nil, err
	}
	now := r.now()
	if from, ok := d.begin(v); ok {
		if p.Ran, err = d.between(from, now); err != nil {
			return nil, err
		}
	}
	p.Pace, p.Doubts = d.pace(now), d.questions()
	p.Periods = d.all[:min(len(d.all), periodsShown)]
	notices, err := r.notices(ctx)
	if err != nil {
		return nil, err
	}
	for i := len(v.Fittings) - 1; i >= 0; i-- {
		f := v.Fittings[i]
		s := Sitting{Fitting: f, Title: string(f.Part)}
		if s.Ran, err = d.between(f.From, until(f.To, now)); err != nil {
			return nil, err
		}
		part, err := r.entity(ctx, f.Part)
		if err != nil && !missing(err) {
			return nil, err
		}
		if part != nil {
			view, err := part.Part(record.Latest)
			if err != nil {
				return nil, err
			}
			s.Title = (&Part{Part: *view}).title()
			if f.Open() {
				p.Notices = append(p.Notices, concerning(notices, view)...)
			}
		}
		if f.Open() {
			p.Fitted = append(p.Fitted, s)
		} else {
			p.Gone = append(p.Gone, s)
		}
	}
	sortSittings(p.Fitted, p.Gone)
	return p, nil
}

// A PartPage is all that the page of a part shows.
type PartPage struct {
	Part     *record.Part
	Version  string // for ChangePart
	Type     *record.Type
	Sat      []Sitting        // where it sat and sits, newest first
	Ran      record.Mileage   // in all, on whatever vehicle
	Partners []record.Partner // the pins that met this coupling, or the couplings that held this pin
	Titles   map[record.Asset]string
	Notices  []PartNotice
}

// PartPage answers what is known of a part.
func (r *Register) PartPage(ctx context.Context, a record.Asset) (*PartPage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.PartAsset)
	if err != nil {
		return nil, err
	}
	v, err := e.Part(record.Latest)
	if err != nil {
		return nil, err
	}
	p := &PartPage{Part: v, Version: versionOf(e), Titles: map[record.Asset]string{}}
	if v.Type != "" {
		t, err := r.entity(ctx, v.Type)
		if err != nil && !missing(err) {
			return nil, err
		}
		if t != nil {
			if p.Type, err = t.Type(record.Latest); err != nil {
				return nil, err
			}
		}
	}
	now := r.now()
	var periods []record.Period
	seen := map[record.Asset]*travels{}
	for i := len(v.Fittings) - 1; i >= 0; i-- {
		f := v.Fittings[i]
		d := seen[f.Vehicle]
		if d == nil {
			if d, err = r.travelsOf(ctx, f.Vehicle); err != nil {
				return nil, err
			}
			seen[f.Vehicle] = d
			periods = append(periods, d.all...)
		}
		s := Sitting{Fitting: f, Title: d.title}
		if s.Ran, err = d.between(f.From, until(f.To, now)); err != nil {
			return nil, err
		}
		p.Sat = append(p.Sat, s)
		p.Ran.Known += s.Ran.Known
		p.Ran.Spans = append(p.Ran.Spans, s.Ran.Spans...)
		p.Ran.Gaps = append(p.Ran.Gaps, s.Ran.Gaps...)
	}
	if n := len(p.Sat); n > 0 {
		p.Ran.From, p.Ran.To = p.Sat[n-1].From, until(p.Sat[0].To, now)
	}
	if err := r.partners(ctx, p, distinct(periods)); err != nil {
		return nil, err
	}
	notices, err := r.notices(ctx)
	if err != nil {
		return nil, err
	}
	p.Notices = concerning(notices, v)
	return p, nil
}

// partners finds what a part met, with the names of the parts and vehicles.
func (r *Register) partners(ctx context.Context, p *PartPage, periods []record.Period) error {
	var failed error
	fittings := map[record.Asset][]record.Fitting{}
	p.Partners = record.Partners(p.Part.Fittings, periods, func(vehicle record.Asset) []record.Fitting {
		if _, have := fittings[vehicle]; !have {
			e, err := r.entity(ctx, vehicle)
			if err != nil && !missing(err) {
				failed = err
			}
			fittings[vehicle] = nil
			if e != nil {
				fittings[vehicle] = e.Fittings
			}
		}
		return fittings[vehicle]
	})
	if failed != nil {
		return failed
	}
	var name []record.Asset
	for _, m := range p.Partners {
		name = append(name, m.Part, m.Vehicle)
	}
	rows, err := r.store.Rows(ctx, name)
	for i := range rows {
		p.Titles[rows[i].Asset] = rows[i].Title
	}
	return err
}

// A TypePage is all that the page of a type shows.
type TypePage struct {
	Type    *record.Type
	Version string // for ChangeType
	Parts   []Item // of this type, newest first; 500 at most
}

// TypePage answers what is known of a type.
func (r *Register) TypePage(ctx context.Context, a record.Asset) (*TypePage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.TypeAsset)
	if err != nil {
		return nil, err
	}
	p := &TypePage{Version: versionOf(e)}
	if p.Type, err = e.Type(record.Latest); err != nil {
		return nil, err
	}
	rows, err := r.store.Beside(ctx, store.BesideQuery{Asset: a, Kind: record.PartAsset, Limit: 500})
	if err != nil {
		return nil, err
	}
	p.Parts, err = items(rows)
	return p, err
}

// A DepotPage is all that the page of a depot shows.
type DepotPage struct {
	Depot   *record.Depot
	Version string // for ChangeDepot
	// Counts are by kind and status; the lists themselves come from List.
	Counts map[string]map[string]int
}

// DepotPage answers what is known of a depot.
func (r *Register) DepotPage(ctx context.Context, a record.Asset) (*DepotPage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.DepotAsset)
	if err != nil {
		return nil, err
	}
	p := &DepotPage{Version: versionOf(e), Counts: map[string]map[string]int{}}
	if p.Depot, err = e.Depot(record.Latest); err != nil {
		return nil, err
	}
	for _, kind := range []string{record.VehicleAsset, record.PartAsset} {
		if p.Counts[kind], err = r.store.Count(ctx, store.Query{Kind: kind, Depots: []record.Asset{a}}); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// An AccountPage is all that the page of an account shows.
type AccountPage struct {
	Account *record.Account
	Version string // for ChangeAccount and Permit
}

// AccountPage answers what is known of an account: of the actor's own, or with
// ReadPeople of any.
func (r *Register) AccountPage(ctx context.Context, a record.Asset) (*AccountPage, error) {
	if err := own(r.world.Identity(ctx), a, ReadPeople); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.AccountAsset)
	if err != nil {
		return nil, err
	}
	p := &AccountPage{Version: versionOf(e)}
	p.Account, err = e.Account(record.Latest)
	return p, err
}

// A SettingsPage is a set of values that users keep.
type SettingsPage struct {
	Set     string
	Version string // for ChangeSettings; empty while nothing is set
	Values  record.Fields
	From    map[string]record.ID // which record set each
}

// Settings answers what is set in a set, nothing being no error.
func (r *Register) Settings(ctx context.Context, set string) (*SettingsPage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	return r.settings(ctx, set)
}

func (r *Register) settings(ctx context.Context, set string) (*SettingsPage, error) {
	p := &SettingsPage{Set: set, Values: record.Fields{}, From: map[string]record.ID{}}
	e, err := r.entity(ctx, record.NewAsset(record.LimitsAsset, set))
	if missing(err) {
		return p, nil
	}
	if err != nil {
		return nil, err
	}
	l, err := e.Limits(record.Latest)
	if err != nil {
		return nil, err
	}
	p.Version, p.Values, p.From = versionOf(e), l.Values, l.From
	return p, nil
}

// entityOf returns the state of an asset of a kind, or a NotFound.
func (r *Register) entityOf(ctx context.Context, a record.Asset, kind string) (*record.Entity, error) {
	if a.Kind() != kind || !a.Valid() {
		return nil, &NotFound{What: kind, Name: string(a)}
	}
	return r.entity(ctx, a)
}

func missing(err error) bool {
	_, yes := err.(*NotFound)
	return yes
}

func until(t, now record.Time) record.Time {
	if t == 0 {
		return now
	}
	return t
}
