package fleet

import (
	"cmp"
	"context"
	"strings"

	"underpin/record"
	"underpin/store"
)

// resolve gives the rows that name a vehicle by VIN or registration the asset that
// has it, and tells what is wrong with the others.
func (r *Register) resolve(ctx context.Context, rows []ReadingRow, coming []VehicleRow) ([]ReadingRow, []RowProblem, error) {
	type mark struct{ where, text string }
	known := map[mark]string{}
	for i := range coming {
		number := textOf(coming[i].Fields["id"])
		for _, m := range []mark{{"vin", coming[i].VIN}, {"registration", coming[i].Registration}} {
			if m.text != "" {
				known[mark{m.where, plain(m.text)}] = number
			}
		}
	}
	var wrong []RowProblem
	good := rows[:0:0]
	for i := range rows {
		row := rows[i]
		if row.Vehicle != "" || row.VIN+row.Registration == "" {
			good = append(good, row)
			continue
		}
		m := mark{"vin", plain(row.VIN)}
		if row.VIN == "" {
			m = mark{"registration", plain(row.Registration)}
		}
		name, asked := known[m]
		if !asked {
			a, err := r.byMark(ctx, m.where, m.text)
			if err != nil {
				return nil, nil, err
			}
			name = a
			known[m] = name
		}
		if name == "" {
			wrong = append(wrong, RowProblem{row.Place, Problem{m.where, show(encoded(cmp.Or(row.VIN, row.Registration))), "that of one vehicle in use"}})
			continue
		}
		row.Vehicle = name
		good = append(good, row)
	}
	return good, wrong, nil
}

// plain is a mark without what people write differently.
func plain(mark string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(mark, func(c rune) bool { return c == ' ' || c == '-' || c == '.' }), ""))
}

// byMark finds the one vehicle in use with a VIN or a registration; nothing for none
// and for several.
func (r *Register) byMark(ctx context.Context, where, text string) (string, error) {
	found, err := r.store.Find(ctx, store.FindQuery{Text: text, Kinds: []string{record.VehicleAsset}, Limit: 50})
	if err != nil {
		return "", err
	}
	one := ""
	for i := range found {
		if found[i].Status != record.StatusActive {
			continue
		}
		e, err := r.entity(ctx, found[i].Asset)
		if err != nil {
			return "", err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return "", err
		}
		has := v.VIN
		if where == "registration" {
			has = v.Registration
		}
		switch {
		case plain(has) != text:
		case one != "":
			return "", nil
		default:
			one = string(found[i].Asset)
		}
	}
	return one, nil
}
