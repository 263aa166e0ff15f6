package fleet

import (
	"maps"
	"slices"

	"underpin/record"
)

func (i *importer) vehicle(o *RowOutcome, x *VehicleRow) error {
	number := textOf(x.Fields["id"])
	if number == "" {
		return invalid("", "id", "nothing", "the fleet number")
	}
	if err := i.once("id", "vehicle "+folded(number)); err != nil {
		return err
	}
	depot, err := i.depotOf(x.Depot)
	if err != nil {
		return err
	}
	a, err := i.key("vehicle:" + folded(number))
	if err != nil {
		return err
	}
	if a == "" {
		d := record.VehicleAdded{Vehicle: x.Vehicle, Registration: x.Registration, VIN: x.VIN, Depot: depot, Fields: x.Fields}
		if err := o.compare(struct{}{}, d); err != nil {
			return err
		}
		return i.do(o, &AddVehicle{Meta: i.meta(), Details: d}, RowAdds)
	}
	e, err := i.entity(a)
	if err != nil {
		return err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return err
	}
	d := v.VehicleAdded
	given := clean(x.Fields)
	if stands, problems := parse(d); len(problems) == 0 { // 18 t and 18000 kg are no change
		for name, raw := range fieldsOf(stands.into()) {
			if same(raw, given[name]) {
				delete(given, name)
			}
		}
	}
	if x.Vehicle != "" {
		d.Vehicle = x.Vehicle
	}
	d.Fields = maps.Clone(d.Fields)
	if d.Fields == nil {
		d.Fields = record.Fields{}
	}
	maps.Copy(d.Fields, given)
	over(&d.Registration, x.Registration)
	over(&d.VIN, x.VIN)
	over(&d.Depot, depot)
	for _, name := range x.Clear {
		switch name {
		case "registration":
			d.Registration = ""
		case "vin":
			d.VIN = ""
		case "depot":
			d.Depot = ""
		default:
			delete(d.Fields, name)
		}
	}
	o.Asset = a
	if err := o.compare(v.VehicleAdded, d); err != nil {
		return err
	}
	return i.do(o, &ChangeVehicle{Meta: i.meta(), Asset: a, Version: versionOf(e), Details: d}, RowChanges)
}

func over[T ~string](old *T, given T) {
	if given != "" {
		*old = given
	}
}

func (i *importer) part(o *RowOutcome, x *PartRow) error {
	depot, err := i.depotOf(x.Depot)
	if err != nil {
		return err
	}
	var typ record.Asset
	if x.Type != "" {
		if typ = i.types[typeName(x.Part, x.Type)]; typ == "" {
			return invalid("", "type", show(encoded(x.Type)), "the name of a type of "+x.Part+" of the register")
		}
	}
	d := record.PartAdded{Part: x.Part, Type: typ, Serial: x.Serial, Marking: x.Marking, Class: x.Class, Ratings: x.Ratings,
		ReadFrom: x.ReadFrom, Made: x.Made, Depot: depot, Note: x.Note}
	a, err := i.partByID(x.ID)
	if err != nil {
		return err
	}
	if a == "" && x.Serial != "" { // without one nothing tells which part it is: it is added
		if err := i.once("serial", "part "+serialName(x.Part, x.Serial)+" "+string(typ)); err != nil {
			return err
		}
		if a, err = i.partOf(d); err != nil {
			return err
		}
	}
	if a == "" {
		if err := o.compare(struct{}{}, d); err != nil {
			return err
		}
		if err := i.trial(o, func() error { return i.do(o, &AddPart{Meta: i.meta(), Details: d}, RowAdds) }, x); err != nil {
			return err
		}
		return nil
	}
	e, err := i.entity(a)
	if err != nil {
		return err
	}
	p, err := e.Part(record.Latest)
	if err != nil {
		return err
	}
	now := p.PartAdded
	over(&now.Type, d.Type)
	over(&now.Serial, d.Serial)
	over(&now.Marking, d.Marking)
	over(&now.Class, d.Class)
	over(&now.ReadFrom, d.ReadFrom)
	over(&now.Made, d.Made)
	over(&now.Depot, d.Depot)
	over(&now.Note, d.Note)
	for _, n := range []struct{ old, given **int64 }{{&now.D, &d.D}, {&now.Imposed, &d.Imposed}, {&now.Pin, &d.Pin}} {
		if *n.given != nil {
			*n.old = *n.given
		}
	}
	o.Asset = a
	if err := o.compare(p.PartAdded, now); err != nil {
		return err
	}
	return i.trial(o, func() error {
		return i.do(o, &ChangePart{Meta: i.meta(), Asset: a, Version: versionOf(e), Details: now}, RowChanges)
	}, x)
}

// trial plans a part's row whole: when it cannot be fitted as the row says, what
// was planned of it before is taken back.
func (i *importer) trial(o *RowOutcome, first func() error, x *PartRow) error {
	i.undo = []func(){}
	err := first()
	if err == nil && x.On != "" {
		err = i.fit(o, x)
	}
	if err != nil {
		for _, back := range slices.Backward(i.undo) {
			back()
		}
	}
	i.undo = nil
	return err
}

// fit fits a part as its row says, unless it sits there already.
func (i *importer) fit(o *RowOutcome, x *PartRow) error {
	vehicle, err := i.key("vehicle:" + folded(x.On))
	if err != nil {
		return err
	}
	if vehicle == "" {
		return invalid("", "on", show(encoded(x.On)), "the fleet number of a vehicle in the register")
	}
	e, err := i.entity(o.Asset)
	if err != nil {
		return err
	}
	p, err := e.Part(record.Latest)
	if err != nil {
		return err
	}
	where := x.Where
	if where == "" {
		where = x.Part
	}
	if on := p.On(); on != nil {
		if on.Vehicle == vehicle && on.Place == where {
			return nil
		}
		return invalid("", "on", show(encoded(x.On)), "the vehicle that it sits on, "+string(on.Vehicle)+"; enter its removal first")
	}
	m := i.meta()
	m.Happened = x.Since
	was := o.What
	o.What = RowSame
	if err := i.do(o, &FitPart{Meta: m, Part: o.Asset, Vehicle: vehicle, Place: where, Reading: x.Reading}, RowChanges); err != nil {
		return err
	}
	if was != RowSame {
		o.What = was
	}
	o.Changes = append(o.Changes, Difference{Field: "on", Yours: encoded(x.On + ", " + where)})
	return nil
}

func (i *importer) depot(o *RowOutcome, x *DepotRow) error {
	if err := i.once("name", "depot "+folded(x.Name)); err != nil {
		return err
	}
	a := i.depots[folded(x.Name)]
	if a == "" {
		if err := o.compare(struct{}{}, x.DepotAdded); err != nil {
			return err
		}
		if err := i.do(o, &AddDepot{Meta: i.meta(), Details: x.DepotAdded}, RowAdds); err != nil {
			return err
		}
		i.depots[folded(x.Name)] = o.Asset
		return nil
	}
	e, err := i.entity(a)
	if err != nil {
		return err
	}
	was, err := e.Depot(record.Latest)
	if err != nil {
		return err
	}
	d := was.DepotAdded
	over(&d.Address, x.Address)
	over(&d.TimeZone, x.TimeZone)
	over(&d.Note, x.Note)
	o.Asset = a
	if err := o.compare(was.DepotAdded, d); err != nil {
		return err
	}
	return i.do(o, &ChangeDepot{Meta: i.meta(), Asset: a, Version: versionOf(e), Details: d}, RowChanges)
}

func (i *importer) typ(o *RowOutcome, x *TypeRow) error {
	name := typeName(x.Part, x.TypeAdded.Name)
	if err := i.once("name", "type "+name); err != nil {
		return err
	}
	a := i.types[name]
	if a == "" {
		if err := o.compare(struct{}{}, x.TypeAdded); err != nil {
			return err
		}
		if err := i.do(o, &AddType{Meta: i.meta(), Details: x.TypeAdded}, RowAdds); err != nil {
			return err
		}
		i.types[name] = o.Asset
		return nil
	}
	e, err := i.entity(a)
	if err != nil {
		return err
	}
	was, err := e.Type(record.Latest)
	if err != nil {
		return err
	}
	d := x.TypeAdded // a type is copied whole from one document
	keepDocuments(&d, &was.TypeAdded)
	o.Asset = a
	if err := o.compare(was.TypeAdded, d); err != nil {
		return err
	}
	return i.do(o, &ChangeType{Meta: i.meta(), Asset: a, Version: versionOf(e), Details: d}, RowChanges)
}

func (i *importer) settings(o *RowOutcome, set string, values record.Fields) error {
	e, err := i.entity(record.NewAsset(record.LimitsAsset, set))
	if err != nil {
		return err
	}
	was, version := record.Fields{}, ""
	if e != nil {
		l, err := e.Limits(record.Latest)
		if err != nil {
			return err
		}
		was, version = l.Values, versionOf(e)
	}
	values = clean(values)
	if set == LoadsSet {
		f, _ := headOf(nil, was)
		for id, raw := range FleetDelivery(f, "").Loads {
			if same(raw, values[id]) {
				delete(values, id)
			}
		}
	}
	now := maps.Clone(was)
	maps.Copy(now, values)
	o.Changes = differences(was, was, now)
	c := changesBetween(was, now)
	if empty(c) {
		return nil
	}
	what := RowChanges
	if version == "" {
		what = RowAdds
	}
	return i.do(o, &ChangeSettings{Meta: i.meta(), Set: set, Version: version, Changes: c}, what)
}
