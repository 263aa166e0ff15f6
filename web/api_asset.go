package web

import (
	"context"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"underpin/fleet"
	"underpin/record"
)

// assets enters what there is to ask of a register.
func (a *api) assets() {
	s := a.site
	tag := []string{"Register"}
	enter(a, signedIn, huma.Operation{OperationID: "me", Method: http.MethodGet, Path: "/me", Tags: tag, Summary: "For whom the token acts, and what it may do"},
		func(ctx context.Context, _ *struct{}) (*of[meOut], error) { return &of[meOut]{newMe(person(ctx))}, nil })
	enter(a, fleet.Read, huma.Operation{OperationID: "find", Method: http.MethodGet, Path: "/find", Tags: tag,
		Summary: "Find anything by any words of what it is called or marked with"},
		func(ctx context.Context, in *struct {
			Q     string `query:"q" required:"true" minLength:"1" maxLength:"200" example:"marsh-23"`
			Limit int    `query:"limit" minimum:"1" maximum:"500" default:"50"`
		}) (*of[foundOut], error) {
			items, err := s.Register.Find(ctx, in.Q, in.Limit)
			if err != nil {
				return nil, err
			}
			return &of[foundOut]{foundOut{itemsOut(items)}}, nil
		})
	for _, kind := range []string{record.VehicleAsset, record.PartAsset, record.TypeAsset, record.DepotAsset, record.NoticeAsset} {
		many := plural[kind]
		enter(a, fleet.Read, huma.Operation{OperationID: many, Method: http.MethodGet, Path: "/" + many, Tags: tag, Summary: "The list of " + many + ", page by page"},
			func(ctx context.Context, in *listIn) (*of[listOut], error) { return s.listFor(ctx, kind, in) })
		enter(a, fleet.Read, huma.Operation{OperationID: kind + "-records", Method: http.MethodGet, Path: "/" + many + "/{id}/records", Tags: tag,
			Summary: "Every record of one " + kind + ", newest first", Description: "What was corrected or taken back is there too."},
			func(ctx context.Context, in *historyIn) (*of[historyOut], error) {
				asset, err := s.assetFor(ctx, kind, in.ID)
				if err != nil {
					return nil, err
				}
				h, err := s.Register.History(ctx, asset, in.Before, in.Limit)
				if err != nil {
					return nil, err
				}
				out := historyOut{Records: eventsOut(h.Events), Before: h.Before}
				return &of[historyOut]{out}, nil
			})
	}
	single(a, record.VehicleAsset, func(ctx context.Context, asset record.Asset) (*vehicleOut, string, error) {
		p, err := s.Register.VehiclePage(ctx, asset)
		if err != nil {
			return nil, "", err
		}
		return newVehicleOut(p), p.Version, nil
	})
	single(a, record.PartAsset, func(ctx context.Context, asset record.Asset) (*partOut, string, error) {
		p, err := s.Register.PartPage(ctx, asset)
		if err != nil {
			return nil, "", err
		}
		return newPartOut(p), p.Version, nil
	})
	single(a, record.TypeAsset, func(ctx context.Context, asset record.Asset) (*typeOut, string, error) {
		p, err := s.Register.TypePage(ctx, asset)
		if err != nil {
			return nil, "", err
		}
		return &typeOut{Head: headOf(asset, p.Version, p.Type.Added, 0), Details: p.Type.TypeAdded, Parts: itemsOut(p.Parts), Documents: documentsOut(p.Type.Documents)}, p.Version, nil
	})
	single(a, record.DepotAsset, func(ctx context.Context, asset record.Asset) (*depotOut, string, error) {
		p, err := s.Register.DepotPage(ctx, asset)
		if err != nil {
			return nil, "", err
		}
		return &depotOut{Head: headOf(asset, p.Version, p.Depot.Added, p.Depot.Closed), Details: p.Depot.DepotAdded, Counts: p.Counts, Documents: documentsOut(p.Depot.Documents)}, p.Version, nil
	})
	single(a, record.NoticeAsset, func(ctx context.Context, asset record.Asset) (*noticeOut, string, error) {
		p, err := s.Register.NoticePage(ctx, asset)
		if err != nil {
			return nil, "", err
		}
		return newNoticeOut(p), p.Version, nil
	})
	enter(a, fleet.Read, huma.Operation{OperationID: "open-notices", Method: http.MethodGet, Path: "/notices/open", Tags: tag,
		Summary: "Safety notices with parts still to be seen to, each with its parts"},
		func(ctx context.Context, _ *struct{}) (*of[openNoticesOut], error) {
			pages, err := s.Register.OpenNotices(ctx)
			if err != nil {
				return nil, err
			}
			out := openNoticesOut{Notices: []noticeOut{}}
			for i := range pages {
				out.Notices = append(out.Notices, *newNoticeOut(&pages[i]))
			}
			return &of[openNoticesOut]{out}, nil
		})
	enter(a, fleet.Read, huma.Operation{OperationID: "records", Method: http.MethodGet, Path: "/records", Tags: tag, Summary: "What was entered last in the whole register, newest first"},
		func(ctx context.Context, in *struct {
			Before int64 `query:"before" minimum:"0" doc:"Before of the page before."`
			Limit  int   `query:"limit" minimum:"1" maximum:"500" default:"50"`
		}) (*of[historyOut], error) {
			events, before, err := s.Register.Recent(ctx, in.Before, in.Limit)
			if err != nil {
				return nil, err
			}
			return &of[historyOut]{historyOut{Records: eventsOut(events), Before: before}}, nil
		})
	enter(a, fleet.Read, huma.Operation{OperationID: "mileage", Method: http.MethodGet, Path: "/vehicles/{id}/mileage", Tags: tag,
		Summary: "How far a vehicle ran between two instants", Description: "Where there are gaps it ran at least so far."},
		func(ctx context.Context, in *mileageIn) (*of[mileageOut], error) {
			asset, err := s.assetFor(ctx, record.VehicleAsset, in.ID)
			if err != nil {
				return nil, err
			}
			m, err := s.Register.Mileage(ctx, asset, record.At(in.From), record.At(in.To))
			if err != nil {
				return nil, err
			}
			return &of[mileageOut]{newMileageOut(m)}, nil
		})
}

// assetFor finds the asset that an address names: a vehicle by its fleet number
// too.
func (s *site) assetFor(ctx context.Context, kind, id string) (record.Asset, error) {
	asset := record.NewAsset(kind, id)
	if kind == record.VehicleAsset && !record.ID(id).Valid() {
		return s.Register.ByNumber(ctx, strings.TrimSpace(id))
	}
	if !asset.Valid() {
		return "", &fleet.NotFound{What: kind, Name: id}
	}
	return asset, nil
}

// An APIOne names one asset. It is exported for the library.
type APIOne struct {
	ID string `path:"id" doc:"The id of the asset; of a vehicle its fleet number as well."`
}

// A tagged answer says which version it is.
type tagged[T any] struct {
	ETag string `header:"ETag" doc:"The version of the details; who changes them sends it as If-Match."`
	Body T
}

// single enters the question for one asset of a kind.
func single[T any](a *api, kind string, page func(ctx context.Context, asset record.Asset) (*T, string, error)) {
	enter(a, fleet.Read, huma.Operation{OperationID: kind, Method: http.MethodGet, Path: "/" + plural[kind] + "/{id}", Tags: []string{"Register"}, Summary: "All that is known of one " + kind},
		func(ctx context.Context, in *APIOne) (*tagged[T], error) {
			asset, err := a.site.assetFor(ctx, kind, in.ID)
			if err != nil {
				return nil, err
			}
			out, version, err := page(ctx, asset)
			if err != nil {
				return nil, err
			}
			return &tagged[T]{`"` + version + `"`, *out}, nil
		})
}

type listIn struct {
	Status []string `query:"status" doc:"Any of these: active, fitted, stored, scrapped, open, closed. Left out: any."`
	Depot  []string `query:"depot" doc:"Ids of depots. Left out: any."`
	From   string   `query:"from" maxLength:"2000" doc:"Next of the page before."`
	Limit  int      `query:"limit" minimum:"1" maximum:"500" default:"50"`
}

func (s *site) listFor(ctx context.Context, kind string, in *listIn) (*of[listOut], error) {
	q := fleet.ListQuery{Kind: kind, Status: in.Status, From: in.From, Limit: in.Limit}
	for _, d := range in.Depot {
		q.Depots = append(q.Depots, record.NewAsset(record.DepotAsset, strings.TrimPrefix(d, record.DepotAsset+"/")))
	}
	l, err := s.Register.List(ctx, q)
	if err != nil {
		return nil, err
	}
	return &of[listOut]{listOut{itemsOut(l.Items), l.Next, l.Counts}}, nil
}

type historyIn struct {
	APIOne
	Before int64 `query:"before" minimum:"0" doc:"Before of the page before."`
	Limit  int   `query:"limit" minimum:"1" maximum:"500" default:"50"`
}
