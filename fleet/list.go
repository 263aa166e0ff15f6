package fleet

import (
	"context"
	"encoding/base64"
	"encoding/json"

	"underpin/record"
	"underpin/store"
)

// An Item is one line of a list.
type Item struct {
	Asset  record.Asset
	Title  string
	Depot  record.Asset
	Status string
	Due    record.Time
	At     record.Time
	Line   map[string]any // the few values that a list shows
}

// A List is one page of a list.
type List struct {
	Items  []Item
	Next   string         // where the next page begins; empty: this is the last
	Counts map[string]int // by status, of the whole list whatever Status was asked for
}

// A ListQuery says what a list shows.
type ListQuery struct {
	Kind   string         // record.VehicleAsset, PartAsset, TypeAsset, DepotAsset, NoticeAsset or AccountAsset
	Depots []record.Asset // of any of these; none: of any
	Status []string       // any of these; none: any
	ByDue  bool           // only what is due, soonest first; else by title, as people count
	From   string         // Next of the page before
	Limit  int            // left out: 50; at most 500
}

// List returns one page of a list.
func (r *Register) List(ctx context.Context, q ListQuery) (*List, error) {
	need := Read
	if q.Kind == record.AccountAsset {
		need = ReadPeople
	}
	if _, err := r.actor(ctx, need); err != nil {
		return nil, err
	}
	sq := store.Query{Kind: q.Kind, Depots: q.Depots, Status: q.Status, ByDue: q.ByDue, Limit: limit(q.Limit) + 1}
	if q.From != "" {
		after, err := place(q.From)
		if err != nil {
			return nil, err
		}
		sq.After = after
	}
	rows, err := r.store.List(ctx, sq)
	if err != nil {
		return nil, err
	}
	l := &List{}
	if len(rows) == sq.Limit {
		rows = rows[:sq.Limit-1]
		l.Next = placed(&rows[len(rows)-1])
	}
	if l.Items, err = items(rows); err != nil {
		return nil, err
	}
	l.Counts, err = r.store.Count(ctx, sq)
	return l, err
}

func limit(n int) int {
	if n <= 0 {
		return 50
	}
	return min(n, 500)
}

// placed writes where a page ended, and place reads it: by what the list is
// sorted by, so that nothing is left out or told twice when rows come and go.
func placed(row *store.Row) string {
	return base64.RawURLEncoding.EncodeToString(encoded([]any{row.Sort, row.Due, row.Asset}))
}

func place(s string) (*store.Row, error) {
	b, err := base64.RawURLEncoding.DecodeString(s)
	var row store.Row
	if err == nil {
		err = json.Unmarshal(b, &[]any{&row.Sort, &row.Due, &row.Asset})
	}
	if err != nil || !row.Asset.Valid() {
		return nil, invalid("", "from", show(encoded(s)), "the place that the page before named")
	}
	return &row, nil
}

func items(rows []store.Row) ([]Item, error) {
	list := make([]Item, len(rows))
	for i := range rows {
		r := &rows[i]
		list[i] = Item{Asset: r.Asset, Title: r.Title, Depot: r.Depot, Status: r.Status, Due: r.Due, At: r.At}
		if len(r.Line) > 0 && string(r.Line) != "null" {
			if err := json.Unmarshal(r.Line, &list[i].Line); err != nil {
				return nil, err
			}
		}
	}
	return list, nil
}

// findable are the kinds that the one field finds.
var findable = []string{record.VehicleAsset, record.PartAsset, record.TypeAsset, record.DepotAsset, record.NoticeAsset}

// Find finds vehicles, parts, types, depots and notices, and for those who may see
// them accounts, by any words of what they are called or marked with.
func (r *Register) Find(ctx context.Context, text string, most int) ([]Item, error) {
	actor, err := r.actor(ctx, Read)
	if err != nil {
		return nil, err
	}
	kinds := findable
	if actor.May(ReadPeople) {
		kinds = append(kinds[:len(kinds):len(kinds)], record.AccountAsset)
	}
	rows, err := r.store.Find(ctx, store.FindQuery{Text: text, Kinds: kinds, Limit: limit(most)})
	if err != nil {
		return nil, err
	}
	return items(rows)
}

// DepotOf finds a depot in use by its name.
func (r *Register) DepotOf(ctx context.Context, name string) (found record.Asset, err error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return "", err
	}
	err = r.each(ctx, store.Query{Kind: record.DepotAsset, Status: []string{record.StatusActive}}, func(row *store.Row) error {
		if folded(row.Title) == folded(name) {
			found = row.Asset
		}
		return nil
	})
	if err == nil && found == "" {
		err = &NotFound{What: "depot", Name: name}
	}
	return found, err
}

// ByNumber finds a vehicle in use by its fleet number.
func (r *Register) ByNumber(ctx context.Context, number string) (record.Asset, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return "", err
	}
	return r.byNumber(ctx, number)
}

func (r *Register) byNumber(ctx context.Context, number string) (record.Asset, error) {
	a, err := r.store.Key(ctx, "vehicle:"+folded(number))
	if isNotFound(err) {
		return "", &NotFound{What: "vehicle", Name: number}
	}
	return a, err
}
