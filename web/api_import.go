package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/record"
)

// deliveryForms are the forms in which tables come, with the name of a file of that
// form.
var deliveryForms = map[string]string{"json": "delivery.json", "xlsx": "delivery.xlsx", "toml": "delivery.toml"}

type importIn struct {
	Form    string `query:"form" enum:"json,xlsx,toml" default:"json" doc:"In which form the tables come. The fields are those of the fleet file; doc/exchange.md lists them."`
	How     string `query:"how" enum:"dry-run,all-good,only-good" default:"dry-run" doc:"dry-run enters nothing and tells what would change; all-good enters all or nothing; only-good leaves out what is wrong."`
	Reason  string `query:"reason" maxLength:"4000" doc:"Stands in the records."`
	RawBody []byte `contentType:"application/octet-stream"`
}

// imports enters bringing in whole tables.
func (a *api) imports() {
	enter(a, fleet.Import, huma.Operation{OperationID: "import", Method: http.MethodPost, Path: "/import", Tags: []string{"In and out"}, MaxBodyBytes: exchange.MaxSheet,
		Summary:     "Vehicles, parts, types, depots and readings in tables, with a dry run",
		Description: "With how=all-good and something wrong nothing is entered, the status is 422, and problems lists each place: sheet, row and column, or line and character."},
		func(ctx context.Context, in *importIn) (*of[deliveryOut], error) {
			how := map[string]fleet.How{"all-good": fleet.AllGood, "only-good": fleet.OnlyGood}[in.How]
			d, err := a.site.bringIn(ctx, map[string][]byte{deliveryForms[in.Form]: in.RawBody}, nil, how, in.Reason)
			if err != nil {
				return nil, err
			}
			if wrong := d.wrong(); how == fleet.AllGood && len(wrong) > 0 {
				e := &apiError{status: http.StatusUnprocessableEntity, Failed: failure{Exit: 2, Missing: []string{}}}
				e.Failed.tell(tableProblems(wrong))
				return nil, e
			}
			return &of[deliveryOut]{newDeliveryOut(d)}, nil
		})
}

func tableProblems(wrong exchange.Problems) []fleet.Problem {
	all := []fleet.Problem{}
	for _, p := range wrong {
		all = append(all, fleet.Problem{Where: p.Where(), Found: p.Found, Expected: p.Expected})
	}
	return all
}

type deliveryOut struct {
	Entered  bool            `json:"entered"`
	Counts   map[string]int  `json:"counts" doc:"Rows by what they come to: add, change, same, wrong."`
	Problems []fleet.Problem `json:"problems" nullable:"false" doc:"Everything that is wrong, with its place."`
	Rows     []deliveryRow   `json:"rows" nullable:"false"`
	Readings *readingsOut    `json:"readings,omitempty"`
}

type deliveryRow struct {
	Where    string          `json:"where"`
	Kind     string          `json:"kind"`
	Title    string          `json:"title"`
	What     string          `json:"what" enum:"add,change,same,wrong"`
	Asset    record.Asset    `json:"asset,omitempty"`
	Changes  []differenceOut `json:"changes" nullable:"false" doc:"What is there, as was, and what will be, as yours."`
	Warnings []fleet.Problem `json:"warnings" nullable:"false"`
}

func newDeliveryOut(d *delivered) deliveryOut {
	out := deliveryOut{Entered: d.Report.Entered, Counts: d.Report.Counts, Problems: tableProblems(d.wrong()), Rows: []deliveryRow{}}
	for i := range d.Report.Rows {
		o := &d.Report.Rows[i]
		at := d.at(d.tables.Path(fleet.RowProblem{Place: o.Place}))
		row := deliveryRow{Where: at.Where(), Kind: o.Kind, Title: o.Title, What: o.What, Asset: o.Asset, Changes: []differenceOut{}, Warnings: append([]fleet.Problem{}, o.Warnings...)}
		if at.File == "" {
			row.Where = o.Place.String()
		}
		for _, c := range o.Changes {
			row.Changes = append(row.Changes, differenceOut{Field: c.Field, Was: c.Was, Yours: c.Yours})
		}
		out.Rows = append(out.Rows, row)
	}
	if d.Report.Readings != nil {
		r := newReadingsOut(d.Report.Readings)
		out.Readings = &r
	}
	return out
}
