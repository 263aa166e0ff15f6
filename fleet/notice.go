package fleet

import (
	"cmp"
	"context"
	"slices"

	"underpin/record"
	"underpin/store"
)

// A NoticePage is a safety notice with every part that it concerns, or may
// concern.
type NoticePage struct {
	Notice  *record.Notice
	Version string // for ChangeNotice
	Parts   []NoticePart
	Open    int // parts still to be seen to
}

// NoticePage answers how far a safety notice is.
func (r *Register) NoticePage(ctx context.Context, a record.Asset) (*NoticePage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	e, err := r.entityOf(ctx, a, record.NoticeAsset)
	if err != nil {
		return nil, err
	}
	p := &NoticePage{Version: versionOf(e)}
	if p.Notice, err = e.Notice(record.Latest); err != nil {
		return nil, err
	}
	if p.Parts, err = r.partsOf(ctx, p.Notice); err != nil {
		return nil, err
	}
	for i := range p.Parts {
		if p.Parts[i].Work == nil {
			p.Open++
		}
	}
	slices.SortStableFunc(p.Parts, func(a, b NoticePart) int { // what is still open first
		return cmp.Compare(done(a), done(b))
	})
	return p, nil
}

func done(p NoticePart) int {
	if p.Work == nil {
		return 0
	}
	return 1
}

// OpenNotices lists the notices with parts still to be seen to: the open ones,
// and closed ones that concern a part which came to the register since.
func (r *Register) OpenNotices(ctx context.Context) ([]NoticePage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	all, err := r.notices(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	pages := make([]NoticePage, len(all))
	for i, n := range all {
		pages[i] = NoticePage{Notice: n}
	}
	err = r.eachPart(ctx, func(p *Part) {
		for i := range pages {
			for _, f := range pages[i].Notice.Find(slices.Values([]*record.Part{&p.Part})) {
				pages[i].Parts = append(pages[i].Parts, NoticePart{Part: p, Match: f.Match, Why: f.Why, Work: f.Work})
				if f.Work == nil {
					pages[i].Open++
				}
			}
		}
	})
	return slices.DeleteFunc(pages, func(p NoticePage) bool { return p.Notice.Closed != 0 && p.Open == 0 }), err
}

// notices are all notices in force, open or closed.
func (r *Register) notices(ctx context.Context) ([]*record.Notice, error) {
	var names []record.Asset
	err := r.each(ctx, store.Query{Kind: record.NoticeAsset, Status: []string{record.StatusOpen, record.StatusClosed}}, func(row *store.Row) error {
		names = append(names, row.Asset)
		return nil
	})
	if err != nil {
		return nil, err
	}
	rows, err := r.store.Rows(ctx, names)
	if err != nil {
		return nil, err
	}
	var all []*record.Notice
	for i := range rows {
		e, err := rows[i].Entity()
		if err != nil {
			return nil, err
		}
		n, err := e.Notice(record.Latest)
		if err != nil {
			return nil, err
		}
		all = append(all, n)
	}
	return all, nil
}

// concerning lists the notices that concern a part, or may concern it.
func concerning(notices []*record.Notice, p *record.Part) []PartNotice {
	var list []PartNotice
	for _, n := range notices {
		for _, f := range n.Find(slices.Values([]*record.Part{p})) {
			list = append(list, PartNotice{Notice: n.Asset, Title: n.Title, Action: n.Action, Part: p.Asset,
				Match: f.Match, Why: f.Why, Work: f.Work, Closed: n.Closed})
		}
	}
	return list
}
