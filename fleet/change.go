package fleet

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"underpin/record"
)

// inner is the member of a vehicle's details whose own members change one by one.
const inner = "fields."

// flatten writes details as members by name, those of the fleet file's fields as
// fields.width and the like. What is unknown is not there.
func flatten(details any) (record.Fields, error) {
	flat := record.Fields{}
	if err := json.Unmarshal(encoded(details), &flat); err != nil {
		return nil, err
	}
	raw, have := flat["fields"]
	if !have {
		return flat, nil
	}
	delete(flat, "fields")
	var fields record.Fields
	if err := json.Unmarshal(raw, &fields); err != nil {
		return nil, err
	}
	for name, value := range fields {
		flat[inner+name] = value
	}
	return flat, nil
}

// changesBetween says what makes the one details of the other.
func changesBetween(was, now record.Fields) record.Changes {
	c := record.Changes{}
	fields := record.Fields{}
	for name, value := range now {
		if same(was[name], value) {
			continue
		}
		if name, nested := strings.CutPrefix(name, inner); nested {
			fields[name] = value
			continue
		}
		if c.Set == nil {
			c.Set = record.Fields{}
		}
		c.Set[name] = value
	}
	if len(fields) > 0 {
		if c.Set == nil {
			c.Set = record.Fields{}
		}
		c.Set["fields"] = encoded(fields)
	}
	for _, name := range slices.Sorted(maps.Keys(was)) {
		if _, still := now[name]; !still {
			c.Clear = append(c.Clear, name)
		}
	}
	return c
}

func empty(c record.Changes) bool { return len(c.Set)+len(c.Clear) == 0 }

// differences lists the fields of which two people's versions differ from what
// both began with, or from each other.
func differences(was, theirs, yours record.Fields) []Difference {
	names := map[string]bool{}
	for _, all := range []record.Fields{was, theirs, yours} {
		for name := range all {
			names[name] = true
		}
	}
	var list []Difference
	for _, name := range slices.Sorted(maps.Keys(names)) {
		w, t, y := was[name], theirs[name], yours[name]
		if same(w, t) && same(w, y) {
			continue
		}
		list = append(list, Difference{Field: strings.TrimPrefix(name, inner), Was: w, Theirs: t, Yours: y,
			Clash: !same(w, t) && !same(w, y) && !same(t, y)})
	}
	return list
}

// isDetail tells the kinds of record that say what an asset is, as against what
// happened to it.
func isDetail(kind string) bool {
	return strings.HasSuffix(kind, "-added") || kind == "notice-opened" || kind == "permissions-changed" ||
		kind == "limits-changed" || strings.HasSuffix(kind, "-changed")
}

// versionOf names the version of an asset's details: it differs as soon as one of
// the records that make them is entered, corrected or voided, and stays the same
// whatever else happens to the asset.
func versionOf(e *record.Entity) string {
	sum := sha256.New()
	for i := range e.Entries {
		entry := &e.Entries[i]
		if isDetail(entry.Kind) {
			sum.Write([]byte(entry.ID + " " + entry.Last + "\n"))
		}
	}
	return hex.EncodeToString(sum.Sum(nil)[:8])
}

// detailsOf are the details of an asset as its form shows them, or nil for an
// entity that has no form.
func detailsOf(e *record.Entity) (any, error) {
	switch e.Asset.Kind() {
	case record.VehicleAsset:
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.VehicleAdded, nil
	case record.PartAsset:
		v, err := e.Part(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.PartAdded, nil
	case record.TypeAsset:
		v, err := e.Type(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.TypeAdded, nil
	case record.DepotAsset:
		v, err := e.Depot(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.DepotAdded, nil
	case record.NoticeAsset:
		v, err := e.Notice(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.NoticeOpened, nil
	case record.LimitsAsset:
		v, err := e.Limits(record.Latest)
		if err != nil {
			return nil, err
		}
		return v.Values, nil
	case record.AccountAsset:
		v, err := e.Account(record.Latest)
		if err != nil {
			return nil, err
		}
		return AccountDetails{AccountAdded: v.AccountAdded, PermissionsChanged: record.PermissionsChanged{Roles: v.Roles, Depots: v.Depots}}, nil
	}
	return nil, nil
}

// AccountDetails are what the form of an account holds.
type AccountDetails struct {
	record.AccountAdded
	record.PermissionsChanged
}
