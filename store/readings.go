package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"slices"

	"underpin/record"
)

// A numberedReading is a reading by the number of its meter.
type numberedReading struct {
	meter, at, metres, unit int64
}

// units of readings as they were given, by number in the database.
var readingUnits = []string{"m", "km", "mi"}

func (s *sqlStore) AddReadings(ctx context.Context, from Import, all []Reading) (int, error) {
	for i := range all {
		if err := all[i].check(); err != nil {
			return 0, fmt.Errorf("reading %d: %w", i+1, err)
		}
	}
	added := int64(0)
	err := s.write(ctx, "enter readings", func(t *tx) error {
		var delivery int64
		err := t.one(`insert into delivery (id, entered, account, name, source, added) values ($1, $2, $3, $4, $5, 0) on conflict (id) do nothing returning no`,
			args(string(from.ID), int64(from.Entered), string(from.Who.Account), from.Who.Name, from.Source), &delivery)
		if errors.Is(err, sql.ErrNoRows) { // the same delivery again
			return t.one(`select added from delivery where id = $1`, args(string(from.ID)), &added)
		}
		if err != nil {
			return err
		}
		rows, err := t.number(all)
		if err != nil {
			return err
		}
		if added, err = s.addReadings(t, delivery, rows); err != nil {
			return err
		}
		_, err = t.exec(`update delivery set added = $2 where no = $1`, delivery, added)
		return err
	})
	return int(added), err
}

func (r *Reading) check() error {
	switch {
	case !r.Asset.Valid():
		return &record.RuleError{Field: "asset", Found: string(r.Asset), Want: "an asset"}
	case r.Name == "":
		return &record.RuleError{Field: "meter", Found: "nothing", Want: "the name of a meter"}
	case !r.At.Valid():
		return &record.RuleError{Field: "at", Found: "nothing", Want: "an instant"}
	case !slices.Contains(readingUnits, r.Unit):
		return &record.RuleError{Field: "unit", Found: r.Unit, Want: "m, km or mi"}
	}
	return nil
}

// number gives each reading the number of its meter, and sorts the readings as
// they are stored.
func (t *tx) number(all []Reading) ([]numberedReading, error) {
	rows := make([]numberedReading, len(all))
	numbers := map[Meter]int64{}
	for i := range all {
		numbers[all[i].Meter] = 0
	}
	meters := make([]Meter, 0, len(numbers))
	for m := range numbers {
		meters = append(meters, m)
	}
	slices.SortFunc(meters, func(a, b Meter) int {
		return cmp.Or(cmp.Compare(a.Asset, b.Asset), cmp.Compare(a.Name, b.Name))
	})
	scan := func(rows *sql.Rows) error {
		var m Meter
		var no int64
		err := rows.Scan(&no, (*string)(&m.Asset), &m.Name)
		if _, asked := numbers[m]; asked {
			numbers[m] = no
		}
		return err
	}
	for part := range slices.Chunk(meters, 10*some) {
		var c clause
		assets := make([]record.Asset, len(part))
		for i, m := range part {
			assets[i] = m.Asset
		}
		addIn(&c, "asset", slices.Compact(assets))
		if err := t.rows(`select no, asset, name from meter where `+c.String(), c.args, scan); err != nil {
			return nil, err
		}
	}
	var fresh []any
	for _, m := range meters {
		if numbers[m] == 0 {
			fresh = append(fresh, string(m.Asset), m.Name)
		}
	}
	// Where another came first, the update that changes nothing returns its row.
	if err := t.manyBack(`insert into meter (asset, name) values `, ` on conflict (asset, name) do update set name = excluded.name returning no, asset, name`, 2, fresh, scan); err != nil {
		return nil, err
	}
	for i := range all {
		r := &all[i]
		rows[i] = numberedReading{numbers[r.Meter], int64(r.At), r.Metres, int64(slices.Index(readingUnits, r.Unit))}
	}
	slices.SortFunc(rows, func(a, b numberedReading) int {
		return cmp.Or(cmp.Compare(a.meter, b.meter), cmp.Compare(a.at, b.at), cmp.Compare(a.metres, b.metres))
	})
	return rows, nil
}

func (s *sqlStore) ReadingsOf(ctx context.Context, m Meter, from, to record.Time) ([]record.Reading, error) {
	return collect(ctx, s, "readings of "+string(m.Asset), `select r.at, r.metres from meter m join reading r on r.meter = m.no
		where m.asset = $1 and m.name = $2 and r.at >= $3 and r.at <= $4 order by r.at, r.metres`,
		args(string(m.Asset), m.Name, int64(from), int64(to)), func(rows *sql.Rows) (record.Reading, error) {
			var r record.Reading
			err := rows.Scan((*int64)(&r.At), &r.Metres)
			return r, err
		})
}

func (s *sqlStore) LatestReadings(ctx context.Context, of []record.Asset) ([]Reading, error) {
	const most = 500 // parameters of one statement
	var all []Reading
	for part := range slices.Chunk(of, most) {
		var c clause
		addIn(&c, "m.asset", part)
		found, err := collect(ctx, s, "newest readings", `select m.asset, m.name, r.at, r.metres, r.unit from meter m join reading r on r.meter = m.no
			where `+c.String()+` and r.at = (select max(l.at) from reading l where l.meter = m.no)
			and r.metres = (select max(k.metres) from reading k where k.meter = m.no and k.at = r.at) order by m.asset, m.name`, c.args, scanReading)
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	return all, nil
}

func scanReading(rows *sql.Rows) (Reading, error) {
	var r Reading
	var unit int
	err := rows.Scan((*string)(&r.Asset), &r.Name, (*int64)(&r.At), &r.Metres, &unit)
	if err == nil && unit >= 0 && unit < len(readingUnits) {
		r.Unit = readingUnits[unit]
	}
	return r, err
}

func (s *sqlStore) EachReading(ctx context.Context) iter.Seq2[Reading, error] {
	return func(yield func(Reading, error) bool) {
		const doing = "read all readings"
		rows, err := s.r.QueryContext(ctx, `select m.asset, m.name, r.at, r.metres, r.unit from meter m join reading r on r.meter = m.no order by m.no, r.at, r.metres`)
		if err != nil {
			yield(Reading{}, s.fail(doing, err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			r, err := scanReading(rows)
			if !yield(r, s.fail(doing, err)) || err != nil {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(Reading{}, s.fail(doing, err))
		}
	}
}

func (s *sqlStore) Imports(ctx context.Context, limit int) ([]Import, error) {
	return collect(ctx, s, "deliveries of readings", `select id, entered, account, name, source from delivery order by no desc limit $1`, args(limit),
		func(rows *sql.Rows) (Import, error) {
			var i Import
			err := rows.Scan((*string)(&i.ID), (*int64)(&i.Entered), (*string)(&i.Who.Account), &i.Who.Name, &i.Source)
			return i, err
		})
}
