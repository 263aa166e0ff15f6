package fleet

import (
	"encoding/json"
	"fmt"
	"slices"

	"underpin/record"
)

// newAsset names a new asset by the id of the record that adds it, so that who
// sends the same addition twice adds one.
func (s *step) newAsset(kind string) (record.Asset, error) {
	if s.meta.ID == "" {
		id, err := s.r.newID()
		if err != nil {
			return "", err
		}
		s.meta.ID = id
	}
	return record.NewAsset(kind, string(s.meta.ID)), nil
}

// need returns an asset of a kind that a record adds.
func (s *step) need(where string, a record.Asset, kind string) (*record.Entity, error) {
	if a.Kind() != kind || !a.Valid() {
		if a == "" {
			return nil, invalid("", where, "nothing", "a "+kind)
		}
		return nil, &NotFound{What: kind, Name: string(a)}
	}
	e, err := s.entity(a)
	if err != nil {
		return nil, err
	}
	if e == nil || !slices.ContainsFunc(e.Entries, func(e record.Entry) bool { return e.Seq == 1 && e.Chain == "" && !e.Void }) {
		return nil, &NotFound{What: kind, Name: string(a)}
	}
	return e, nil
}

func (s *step) vehicle(where string, a record.Asset) (*record.Vehicle, error) {
	e, err := s.need(where, a, record.VehicleAsset)
	if err != nil {
		return nil, err
	}
	return e.Vehicle(record.Latest)
}

func (s *step) part(where string, a record.Asset) (*record.Part, error) {
	e, err := s.need(where, a, record.PartAsset)
	if err != nil {
		return nil, err
	}
	return e.Part(record.Latest)
}

// useDepot tells what is wrong with a depot that something belongs to, unless it
// belonged there before.
func (s *step) useDepot(where string, depot, before record.Asset) error {
	if depot == "" || depot == before {
		return nil
	}
	e, err := s.need(where, depot, record.DepotAsset)
	if err != nil {
		if _, missing := err.(*NotFound); missing {
			return invalid("", where, string(depot)+", which is no depot", "a depot of the register")
		}
		return err
	}
	d, err := e.Depot(record.Latest)
	if err != nil {
		return err
	}
	if d.Closed != 0 {
		return invalid("", where, fmt.Sprintf("%s, which was closed on %s", d.Name, day(d.Closed)), "a depot in use")
	}
	return nil
}

// useType tells what is wrong with a type that a part is said to be of.
func (s *step) useType(a record.Asset, part string) error {
	if a == "" {
		return nil
	}
	e, err := s.need("type", a, record.TypeAsset)
	if err != nil {
		if _, missing := err.(*NotFound); missing {
			return invalid("", "type", string(a)+", which is no type", "a type of the register")
		}
		return err
	}
	t, err := e.Type(record.Latest)
	if err != nil {
		return err
	}
	if t.Part != part {
		return invalid("", "type", fmt.Sprintf("%s, a type of %s", t.TypeAdded.Name, t.Part), "a type of "+part)
	}
	return nil
}

// change enters what makes the details that stand those that were typed. Version
// is that which the person looked at.
func (s *step) change(e *record.Entity, version string, typed any, body func(record.Changes) record.Body) error {
	stand, err := detailsOf(e)
	if err != nil {
		return err
	}
	now, err := flatten(stand)
	if err != nil {
		return err
	}
	mine, err := flatten(typed)
	if err != nil {
		return invalid("", "", "what cannot be written", "details")
	}
	s.done.Asset = e.Asset
	c := changesBetween(now, mine)
	switch stands := versionOf(e); {
	case empty(c):
		return nil // nothing to change: also when the same is sent twice
	case version != stands:
		return s.conflict(e, version, stands, now, mine)
	}
	return s.enter(e.Asset, body(c))
}

// conflict finds what the person looked at, by going through the chain once more,
// and puts the three versions side by side.
func (s *step) conflict(e *record.Entity, version, stands string, theirs, yours record.Fields) error {
	if version == "" {
		return invalid("", "version", "nothing", "the version of "+string(e.Asset)+" that was looked at")
	}
	c := &Conflict{Asset: e.Asset, Version: stands, Typed: s.command}
	var was record.Fields
	then := record.NewState(nil)
	for from := int64(1); ; {
		chain, err := s.r.store.History(s.ctx, e.Asset, from, 500)
		if err != nil {
			return err
		}
		for _, r := range chain {
			from = r.Seq + 1
			if r.Home() != e.Asset {
				continue
			}
			if _, err := then.Apply(r); err != nil {
				return err
			}
			if r.Kind == record.VoidKind || isDetail(r.Kind) {
				c.Who, c.At = r.Who, r.Entered
			}
			past, err := then.Entity(e.Asset)
			if err != nil {
				return err
			}
			if was != nil || versionOf(past) != version {
				continue
			}
			details, err := detailsOf(past)
			if err != nil {
				return err
			}
			if was, err = flatten(details); err != nil {
				return err
			}
		}
		if len(chain) < 500 {
			break
		}
	}
	if was == nil {
		return invalid("", "version", show(encoded(version)), "the version of "+string(e.Asset)+" that was looked at")
	}
	c.Fields = differences(was, theirs, yours)
	return c
}

func day(t record.Time) string { return t.Time().Format("2006-01-02") }

// clean returns fields without those that say nothing: a field left empty in a
// form is unknown.
func clean(fields record.Fields) record.Fields {
	kept := record.Fields{}
	for name, raw := range fields {
		switch string(raw) {
		case "", "null", `""`, "[]", "{}":
		default:
			kept[name] = raw
		}
	}
	return kept
}

// A Text makes the JSON of a text, for the fields of a vehicle.
func Text(s string) json.RawMessage { return encoded(s) }
