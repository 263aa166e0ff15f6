package fleet

import (
	"underpin/record"
	"underpin/store"
)

// names reads what the rows of a delivery may name: depots and types by name,
// parts by serial.
func (i *importer) names() error {
	i.depots, i.types, i.parts = map[string]record.Asset{}, map[string]record.Asset{}, map[string][]record.Asset{}
	r := i.r
	err := r.each(i.ctx, store.Query{Kind: record.DepotAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
		i.depots[folded(row.Title)] = row.Asset
		return nil
	})
	if err != nil {
		return err
	}
	if len(i.delivery.Types)+len(i.delivery.Parts) == 0 {
		return nil
	}
	err = r.each(i.ctx, store.Query{Kind: record.TypeAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
		p, err := partOfLine(row) // a type's line names its part as a part's does
		if err == nil {
			i.types[typeName(p.PartAdded.Part, row.Title)] = row.Asset
		}
		return err
	})
	if err != nil || len(i.delivery.Parts) == 0 {
		return err
	}
	return r.eachPart(i.ctx, func(p *Part) {
		if p.Serial != "" {
			name := serialName(p.PartAdded.Part, p.Serial)
			i.parts[name] = append(i.parts[name], p.Asset)
		}
	})
}

// partByID finds the part that a row names by the register's own name, or nothing.
func (i *importer) partByID(id record.Asset) (record.Asset, error) {
	if id.Kind() != record.PartAsset || !id.Valid() {
		return "", nil
	}
	e, err := i.entity(id)
	if err != nil || e == nil {
		return "", err
	}
	p, err := e.Part(record.Latest)
	if err != nil || p.Added == 0 {
		return "", err
	}
	return id, nil
}

// partOf finds the part that a row is about, or nothing.
func (i *importer) partOf(d record.PartAdded) (record.Asset, error) {
	var alike []record.Asset
	for _, a := range i.parts[serialName(d.Part, d.Serial)] {
		e, err := i.entity(a)
		if err != nil {
			return "", err
		}
		if e == nil {
			continue
		}
		p, err := e.Part(record.Latest)
		if err != nil {
			return "", err
		}
		if d.Type == "" || p.Type == "" || p.Type == d.Type {
			alike = append(alike, a)
		}
	}
	switch len(alike) {
	case 0:
		return "", nil
	case 1:
		return alike[0], nil
	}
	return "", invalid("", "serial", show(encoded(d.Serial))+", which several parts have", "its type as well, so that it is known which is meant")
}
