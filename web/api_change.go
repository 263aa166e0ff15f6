package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"underpin/fleet"
	"underpin/record"
)

// An APIEntry is what every change may carry. It is exported for the library,
// which looks into exported members only.
type APIEntry struct {
	ID       record.ID `json:"id,omitempty" doc:"A version 7 UUID that the sender makes: sending twice is then the same as sending once."`
	Happened time.Time `json:"happened,omitzero" doc:"When it happened; left out: now."`
	Reason   string    `json:"reason,omitempty" maxLength:"4000" doc:"Stands in the records."`
}

func (e *APIEntry) meta() fleet.Meta {
	m := fleet.Meta{ID: e.ID, Reason: e.Reason}
	if !e.Happened.IsZero() {
		m.Happened = record.At(e.Happened)
	}
	return m
}

// doneOut says what came of a change.
type doneOut struct {
	Asset    record.Asset    `json:"asset"`
	ID       string          `json:"id" doc:"The id of the asset alone, for addresses."`
	Record   record.ID       `json:"record,omitempty" doc:"The record that was entered first; left out: nothing had to be changed."`
	Repeated bool            `json:"repeated" doc:"It was entered before, by its id."`
	Warnings []fleet.Problem `json:"warnings" nullable:"false" doc:"What should be looked at; it was entered nevertheless."`
}

func newDoneOut(d *fleet.Done) doneOut {
	return doneOut{d.Asset, d.Asset.Name(), d.Record, d.Repeated, append([]fleet.Problem{}, d.Warnings...)}
}

// A created answer says where the new asset is.
type created struct {
	Location string `header:"Location"`
	Body     doneOut
}

type addIn[D any] struct {
	Body struct {
		APIEntry
		Details D `json:"details" doc:"What is known; all else is unknown."`
	}
}

type changeIn[D any] struct {
	APIOne
	IfMatch string `header:"If-Match" doc:"The ETag of what was looked at."`
	Body    struct {
		APIEntry
		Details D `json:"details" doc:"The details whole; what is left out is unknown from then on."`
	}
}

// version is that which the sender looked at.
func (in *changeIn[D]) version() (string, error) {
	v := strings.Trim(strings.TrimSpace(in.IfMatch), `"`)
	if v == "" || v == "*" {
		return "", &apiError{status: http.StatusPreconditionRequired, Failed: failure{Exit: 2, Where: "If-Match", Found: "nothing",
			Expected: "the ETag of what was looked at, so that nothing is changed that somebody else changed meanwhile", Missing: []string{}}}
	}
	return v, nil
}

type entryIn struct {
	APIOne
	Body struct{ APIEntry }
}

// do carries out a command for a program.
func (a *api) do(ctx context.Context, c fleet.Command) (*of[doneOut], error) {
	done, err := a.site.Register.Do(ctx, c)
	if err != nil {
		return nil, err
	}
	return &of[doneOut]{newDoneOut(done)}, nil
}

// details enters adding and changing one kind of asset.
func details[D any](a *api, kind string, need fleet.Permission, add func(fleet.Meta, D) fleet.Command, change func(fleet.Meta, record.Asset, string, D) fleet.Command) {
	path := "/" + plural[kind]
	enter(a, need, huma.Operation{OperationID: "add-" + kind, Method: http.MethodPost, Path: path, Tags: []string{"Changes"}, Summary: "Add a " + kind, DefaultStatus: http.StatusCreated},
		func(ctx context.Context, in *addIn[D]) (*created, error) {
			done, err := a.site.Register.Do(ctx, add(in.Body.meta(), in.Body.Details))
			if err != nil {
				return nil, err
			}
			return &created{apiRoot + path + "/" + done.Asset.Name(), newDoneOut(done)}, nil
		})
	enter(a, need, huma.Operation{OperationID: "change-" + kind, Method: http.MethodPut, Path: path + "/{id}", Tags: []string{"Changes"}, Summary: "Change the details of a " + kind,
		Description: "Without If-Match the status is 428; when somebody was quicker it is 412, with the three versions side by side."},
		func(ctx context.Context, in *changeIn[D]) (*of[doneOut], error) {
			version, err := in.version()
			if err != nil {
				return nil, err
			}
			asset, err := a.site.assetFor(ctx, kind, in.ID)
			if err != nil {
				return nil, err
			}
			return a.do(ctx, change(in.Body.meta(), asset, version, in.Body.Details))
		})
}

// act enters a command on one asset.
func act[B any](a *api, need fleet.Permission, kind, name, path, summary string, command func(asset record.Asset, in *B) fleet.Command) {
	enter(a, need, huma.Operation{OperationID: name, Method: http.MethodPost, Path: "/" + plural[kind] + "/{id}" + path, Tags: []string{"Changes"}, Summary: summary},
		func(ctx context.Context, in *struct {
			APIOne
			Body B
		}) (*of[doneOut], error) {
			asset, err := a.site.assetFor(ctx, kind, in.ID)
			if err != nil {
				return nil, err
			}
			return a.do(ctx, command(asset, &in.Body))
		})
}

type readIn struct {
	APIEntry
	Reading record.MeterReading `json:"reading,omitzero" doc:"Of the vehicle; left out: not read."`
}

type fitIn struct {
	APIEntry
	Vehicle record.Asset        `json:"vehicle"`
	Place   string              `json:"place,omitempty" doc:"Left out: where such a part belongs."`
	Reading record.MeterReading `json:"reading,omitzero" doc:"Of the vehicle; left out: not read."`
}

type removeIn struct {
	APIEntry
	Reading   record.MeterReading `json:"reading,omitzero" doc:"Of the vehicle; left out: not read."`
	Depot     record.Asset        `json:"depot,omitempty" doc:"Where it lies now."`
	Condition string              `json:"condition,omitempty"`
}

type coupleIn struct {
	APIEntry
	By        record.Asset        `json:"by" doc:"The vehicle that tows."`
	ByReading record.MeterReading `json:"by_reading,omitzero"`
	Reading   record.MeterReading `json:"reading,omitzero" doc:"Of its own meter."`
	Place     string              `json:"place,omitempty"`
}

type uncoupleIn struct {
	APIEntry
	Period    record.ID           `json:"period,omitempty" doc:"The record that began the period; left out: the last one."`
	ByReading record.MeterReading `json:"by_reading,omitzero"`
	Reading   record.MeterReading `json:"reading,omitzero" doc:"Of its own meter."`
	Place     string              `json:"place,omitempty"`
}

type meterIn struct {
	APIEntry
	Meter string `json:"meter" enum:"odometer,hub,brake"`
	Old   *int64 `json:"old_m" required:"false" doc:"Metres at the end; null: nobody read it."`
	New   int64  `json:"new_m" doc:"Metres at the start."`
}

type judgeIn struct {
	APIEntry
	Meter    string    `json:"meter" enum:"odometer,hub,brake"`
	At       time.Time `json:"at"`
	Metres   int64     `json:"distance_m" doc:"As it was read."`
	Decision string    `json:"decision" enum:"keep,leave-out,read-as"`
	ReadAs   *int64    `json:"read_as_m" required:"false"`
}

type saidIn struct{ APIEntry }

type seenIn struct {
	APIEntry
	Part record.Asset `json:"part"`
	Done string       `json:"done" doc:"What was found and done."`
}

// changes enters everything that changes single assets.
func (a *api) changes() {
	details(a, record.VehicleAsset, fleet.Design,
		func(m fleet.Meta, d record.VehicleAdded) fleet.Command { return &fleet.AddVehicle{Meta: m, Details: d} },
		func(m fleet.Meta, asset record.Asset, version string, d record.VehicleAdded) fleet.Command {
			return &fleet.ChangeVehicle{Meta: m, Asset: asset, Version: version, Details: d}
		})
	details(a, record.PartAsset, fleet.Fit,
		func(m fleet.Meta, d record.PartAdded) fleet.Command { return &fleet.AddPart{Meta: m, Details: d} },
		func(m fleet.Meta, asset record.Asset, version string, d record.PartAdded) fleet.Command {
			return &fleet.ChangePart{Meta: m, Asset: asset, Version: version, Details: d}
		})
	details(a, record.TypeAsset, fleet.Design,
		func(m fleet.Meta, d record.TypeAdded) fleet.Command { return &fleet.AddType{Meta: m, Details: d} },
		func(m fleet.Meta, asset record.Asset, version string, d record.TypeAdded) fleet.Command {
			return &fleet.ChangeType{Meta: m, Asset: asset, Version: version, Details: d}
		})
	details(a, record.DepotAsset, fleet.Organise,
		func(m fleet.Meta, d record.DepotAdded) fleet.Command { return &fleet.AddDepot{Meta: m, Details: d} },
		func(m fleet.Meta, asset record.Asset, version string, d record.DepotAdded) fleet.Command {
			return &fleet.ChangeDepot{Meta: m, Asset: asset, Version: version, Details: d}
		})
	details(a, record.NoticeAsset, fleet.Design,
		func(m fleet.Meta, d record.NoticeOpened) fleet.Command { return &fleet.OpenNotice{Meta: m, Details: d} },
		func(m fleet.Meta, asset record.Asset, version string, d record.NoticeOpened) fleet.Command {
			return &fleet.ChangeNotice{Meta: m, Asset: asset, Version: version, Details: d}
		})
	act(a, fleet.Design, record.VehicleAsset, "scrap-vehicle", "/scrap", "End a vehicle's use", func(x record.Asset, in *readIn) fleet.Command {
		return &fleet.ScrapVehicle{Meta: in.meta(), Asset: x, Reading: in.Reading}
	})
	act(a, fleet.Couples, record.VehicleAsset, "couple", "/couple", "Say what was coupled to what: the vehicle is the one that is towed", func(x record.Asset, in *coupleIn) fleet.Command {
		return &fleet.Couple{Meta: in.meta(), Towed: x, By: in.By, ByReading: in.ByReading, Reading: in.Reading, Place: in.Place}
	})
	act(a, fleet.Couples, record.VehicleAsset, "uncouple", "/uncouple", "End a coupled period of a towed vehicle", func(x record.Asset, in *uncoupleIn) fleet.Command {
		return &fleet.Uncouple{Meta: in.meta(), Towed: x, Period: in.Period, ByReading: in.ByReading, Reading: in.Reading, Place: in.Place}
	})
	act(a, fleet.Fit, record.VehicleAsset, "replace-meter", "/meter", "Say that a meter was replaced", func(x record.Asset, in *meterIn) fleet.Command {
		return &fleet.ReplaceMeter{Meta: in.meta(), Vehicle: x, Meter: in.Meter, Old: in.Old, New: in.New}
	})
	act(a, fleet.Fit, record.VehicleAsset, "judge-reading", "/judge", "Decide on a reading that was questioned", func(x record.Asset, in *judgeIn) fleet.Command {
		return &fleet.JudgeReading{Meta: in.meta(), Vehicle: x, Meter: in.Meter, At: record.At(in.At), Metres: in.Metres, Decision: in.Decision, ReadAs: in.ReadAs}
	})
	act(a, fleet.Fit, record.PartAsset, "fit-part", "/fit", "Fit a part to a vehicle", func(x record.Asset, in *fitIn) fleet.Command {
		return &fleet.FitPart{Meta: in.meta(), Part: x, Vehicle: in.Vehicle, Place: in.Place, Reading: in.Reading}
	})
	act(a, fleet.Fit, record.PartAsset, "remove-part", "/remove", "Take a part off the vehicle that it sits on", func(x record.Asset, in *removeIn) fleet.Command {
		return &fleet.RemovePart{Meta: in.meta(), Part: x, Reading: in.Reading, Depot: in.Depot, Condition: in.Condition}
	})
	act(a, fleet.Fit, record.PartAsset, "scrap-part", "/scrap", "End the life of a part that is not fitted", func(x record.Asset, in *saidIn) fleet.Command {
		return &fleet.ScrapPart{Meta: in.meta(), Asset: x}
	})
	act(a, fleet.Organise, record.DepotAsset, "close-depot", "/close", "End the use of an empty depot", func(x record.Asset, in *saidIn) fleet.Command {
		return &fleet.CloseDepot{Meta: in.meta(), Asset: x}
	})
	act(a, fleet.Fit, record.NoticeAsset, "close-notice-part", "/parts", "Say that one part was seen to under a safety notice", func(x record.Asset, in *seenIn) fleet.Command {
		return &fleet.ClosePart{Meta: in.meta(), Notice: x, Part: in.Part, Done: in.Done}
	})
	act(a, fleet.Design, record.NoticeAsset, "close-notice", "/close", "Close a safety notice", func(x record.Asset, in *saidIn) fleet.Command {
		return &fleet.CloseNotice{Meta: in.meta(), Notice: x}
	})
	a.corrections()
}

type APIRecord struct {
	ID string `path:"id" doc:"The id of the record."`
}

// corrections enters what corrects records, by further ones.
func (a *api) corrections() {
	s := a.site
	enter(a, fleet.Read, huma.Operation{OperationID: "record", Method: http.MethodGet, Path: "/records/{id}", Tags: []string{"Register"}, Summary: "One record"},
		func(ctx context.Context, in *APIRecord) (*of[eventOut], error) {
			e, err := s.eventOf(ctx, record.ID(in.ID))
			if err != nil {
				return nil, err
			}
			return &of[eventOut]{newEventOut(e)}, nil
		})
	enter(a, fleet.Report, huma.Operation{OperationID: "undo", Method: http.MethodPost, Path: "/records/{id}/undo", Tags: []string{"Changes"},
		Summary: "Take back what a record did, by a further one", Description: "Of what others entered it takes the scope amend. What stood before counts again; both stay in the history."},
		func(ctx context.Context, in *struct {
			APIRecord
			Body saidIn
		}) (*of[doneOut], error) {
			return a.do(ctx, &fleet.Undo{Meta: in.Body.meta(), Record: record.ID(in.ID)})
		})
	enter(a, fleet.Report, huma.Operation{OperationID: "correct", Method: http.MethodPost, Path: "/records/{id}/correct", Tags: []string{"Changes"},
		Summary: "Correct a record, by a further one that says all of it as it should have been", Description: "Of what others entered it takes the scope amend."},
		func(ctx context.Context, in *struct {
			APIRecord
			Body struct {
				APIEntry
				Said json.RawMessage `json:"body" doc:"The body whole, of the same kind and version as the record's."`
			}
		}) (*of[doneOut], error) {
			e, err := s.eventOf(ctx, record.ID(in.ID))
			if err != nil {
				return nil, err
			}
			root := e.ID
			if e.Corrects != "" {
				root = e.Corrects
			}
			said, err := (&record.Record{Kind: e.Kind, Version: e.Version, Body: in.Body.Said}).Open()
			if err != nil {
				return nil, &fleet.Invalid{Problems: []fleet.Problem{{Where: "body", Found: shown(in.Body.Said), Expected: "a body of " + e.Kind + ": " + err.Error()}}}
			}
			return a.do(ctx, &fleet.Correct{Meta: in.Body.meta(), Record: root, Body: said})
		})
}
