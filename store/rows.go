package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"underpin/record"
)

const rowCells = `kind, id, rev, title, sort, depot, status, due, at, line`

// rowCellsOfE are the same where the table is called e.
var rowCellsOfE = "e." + strings.ReplaceAll(rowCells, ", ", ", e.")

func scanRow(rows interface{ Scan(...any) error }, state bool) (Row, error) {
	var r Row
	var kind, id string
	cells := args(&kind, &id, &r.Rev, &r.Title, &r.Sort, (*string)(&r.Depot), &r.Status, (*int64)(&r.Due), (*int64)(&r.At), (*[]byte)(&r.Line))
	if state {
		cells = append(cells, (*[]byte)(&r.State))
	}
	err := rows.Scan(cells...)
	r.Asset = record.NewAsset(kind, id)
	return r, err
}

func scanBrief(rows *sql.Rows) (Row, error) { return scanRow(rows, false) }
func scanWhole(rows *sql.Rows) (Row, error) { return scanRow(rows, true) }

func (s *sqlStore) Row(ctx context.Context, a record.Asset) (Row, error) {
	r, err := scanRow(s.r.QueryRowContext(ctx, `select `+rowCells+`, state from entity where kind = $1 and id = $2`, a.Kind(), a.Name()), true)
	return r, s.fail("state of "+string(a), err)
}

func (s *sqlStore) Rows(ctx context.Context, all []record.Asset) ([]Row, error) {
	rows := make([]Row, 0, len(all))
	for _, a := range all {
		r, err := s.Row(ctx, a)
		if errors.Is(err, ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
	return rows, nil
}

// A clause gathers conditions and their arguments.
type clause struct {
	where []string
	args  []any
}

func (c *clause) add(condition string, args ...any) {
	for i := range args {
		condition = strings.Replace(condition, "?", fmt.Sprintf("$%d", len(c.args)+1+i), 1)
	}
	c.where = append(c.where, condition)
	c.args = append(c.args, args...)
}

func addIn[T ~string](c *clause, column string, of []T) {
	if len(of) == 0 {
		return
	}
	c.where = append(c.where, column+" in ("+in(len(c.args)+1, len(of))+")")
	for _, v := range of {
		c.args = append(c.args, string(v))
	}
}

func (c *clause) String() string { return strings.Join(c.where, " and ") }

func (s *sqlStore) List(ctx context.Context, q Query) ([]Row, error) {
	var c clause
	c.add("kind = ?", q.Kind)
	addIn(&c, "depot", q.Depots)
	addIn(&c, "status", q.Status)
	order := "sort, id"
	switch {
	case q.ByDue:
		order = "due, id"
		c.add("due <> 0")
		if q.After != nil {
			c.add("(due, id) > (?, ?)", int64(q.After.Due), q.After.Asset.Name())
		}
	default:
		c.add("sort <> ''")
		if q.After != nil {
			c.add("(sort, id) > (?, ?)", q.After.Sort, q.After.Asset.Name())
		}
	}
	c.args = append(c.args, q.Limit)
	return collect(ctx, s, "list of "+q.Kind,
		fmt.Sprintf(`select %s from entity where %s order by %s limit $%d`, rowCells, c.String(), order, len(c.args)), c.args, scanBrief)
}

func (s *sqlStore) Count(ctx context.Context, q Query) (map[string]int, error) {
	var c clause
	c.add("kind = ?", q.Kind)
	addIn(&c, "depot", q.Depots)
	if q.ByDue {
		c.add("due <> 0")
	} else {
		c.add("sort <> ''")
	}
	count := func() (map[string]int, error) {
		counts := map[string]int{}
		_, err := collect(ctx, s, "count of "+q.Kind, `select status, count(*) from entity where `+c.String()+` group by status`, c.args,
			func(rows *sql.Rows) (struct{}, error) {
				var status string
				var n int
				err := rows.Scan(&status, &n)
				counts[status] = n
				return struct{}{}, err
			})
		return counts, err
	}
	if s.tally == nil {
		return count()
	}
	return s.tally.of(ctx, fmt.Sprintf("%s %q", c.String(), c.args), count)
}

func (s *sqlStore) Beside(ctx context.Context, q BesideQuery) ([]Row, error) {
	var c clause
	c.add("f.ref = ?", string(q.Asset))
	c.add("f.kind = ?", q.Kind)
	if q.Status != "" {
		c.add("f.status = ?", q.Status)
	}
	if q.Until != 0 {
		c.add("f.at < ?", int64(q.Until))
	}
	c.args = append(c.args, q.Limit)
	return collect(ctx, s, "what stands beside "+string(q.Asset), fmt.Sprintf(`select %s, e.state from entity_ref f join entity e on e.n = f.n
		where %s order by f.at desc, f.n desc limit $%d`, rowCellsOfE, c.String(), len(c.args)), c.args, scanWhole)
}

func (s *sqlStore) Key(ctx context.Context, key string) (record.Asset, error) {
	var kind, id string
	err := s.get(ctx, "name "+key, `select e.kind, e.id from entity_key k join entity e on e.n = k.n where k.key = $1`, args(key), &kind, &id)
	if err != nil {
		return "", err
	}
	return record.NewAsset(kind, id), nil
}

// Find goes in two steps, so that what is meant comes first and neither step has
// to sort all it finds: titles that begin with what was typed, by an index; then
// rows that hold the words, as many as are worth sorting.
func (s *sqlStore) Find(ctx context.Context, q FindQuery) ([]Row, error) {
	words := typed(q.Text)
	if len(words) == 0 || q.Limit <= 0 {
		return nil, nil
	}
	const doing = "find"
	whole := strings.Join(words, "")
	after := whole + "\U0010ffff" // after every text that begins with it
	var c clause
	c.add("e.sort <> ''")
	c.add("e.found >= ? and e.found < ?", whole, after)
	q.narrow(&c)
	c.args = append(c.args, q.Limit)
	rows, err := collect(ctx, s, doing, fmt.Sprintf(`select %s from entity e where %s order by e.found, e.sort, e.kind, e.id limit $%d`,
		rowCellsOfE, c.String(), len(c.args)), c.args, scanBrief)
	if err != nil || len(rows) == q.Limit {
		return rows, err
	}
	texts := make([]string, len(words))
	for i, w := range words {
		texts[i] = sought(w)
	}
	more, err := s.findHolding(ctx, q, texts, whole)
	if err == nil && len(rows)+len(more) == 0 && len(words) > 1 {
		// Parted otherwise than it is written: OS HE 7 for OS-HE 7.
		more, err = s.findHolding(ctx, q, []string{sought(whole)}, whole)
	}
	return append(rows, more[:min(len(more), q.Limit-len(rows))]...), err
}

// findHolding finds rows that hold all of some texts, but not those whose title
// begins with what was typed.
func (s *sqlStore) findHolding(ctx context.Context, q FindQuery, texts []string, whole string) ([]Row, error) {
	from, holds, values := s.holding(texts, 1)
	c := clause{where: []string{holds, "e.sort <> ''"}, args: values}
	c.add("not (e.found >= ? and e.found < ?)", whole, whole+"\U0010ffff")
	q.narrow(&c)
	c.args = append(c.args, 100+5*q.Limit)
	more, err := collect(ctx, s, "find", fmt.Sprintf(`select %s from %s where %s order by e.n limit $%d`,
		rowCellsOfE, from, c.String(), len(c.args)), c.args, scanBrief)
	slices.SortFunc(more, func(a, b Row) int {
		return cmp.Or(cmp.Compare(a.Sort, b.Sort), cmp.Compare(a.Asset, b.Asset))
	})
	return more, err
}

// narrow adds what else is asked. As an expression a column is in no index, so that the
// few rows that hold the text are looked through, and never all of a kind for the text.
func (q *FindQuery) narrow(c *clause) {
	addIn(c, "e.kind || ''", q.Kinds)
	if len(q.Depots) > 0 {
		addIn(c, "e.depot || ''", append([]record.Asset{""}, q.Depots...))
	}
}
