package web

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"underpin/fleet"
	"underpin/record"
)

// mostBody is the largest body of readings that is taken at once: more than a hundred
// thousand of them.
const mostBody = 16 << 20

// whole enters what concerns many assets, or all.
func (a *api) whole() {
	s := a.site
	enter(a, fleet.Report, huma.Operation{OperationID: "readings", Method: http.MethodPost, Path: "/readings", Tags: []string{"In and out"}, Summary: "Readings in bulk", MaxBodyBytes: mostBody,
		Description: "A row that cannot be a reading is an error, and then nothing is entered unless only_good says so. A reading that can be one but seems wrong is entered as it came, and questioned."},
		func(ctx context.Context, in *readingsIn) (*of[readingsOut], error) {
			report, err := s.Register.EnterReadings(ctx, in.readings())
			if err != nil {
				return nil, err
			}
			if len(report.Wrong) > 0 && !in.Body.OnlyGood && !in.Body.DryRun {
				return nil, &apiError{status: http.StatusUnprocessableEntity, Failed: rowFailure(report.Wrong)}
			}
			return &of[readingsOut]{newReadingsOut(report)}, nil
		})
	enter(a, fleet.Operate, huma.Operation{OperationID: "export", Method: http.MethodGet, Path: "/export", Tags: []string{"In and out"}, Summary: "Everything in one file",
		Description: "Every record and seal as it is stored, every reading, every document, and the digest of each; what underpin import reads. Passwords, sessions and tokens are not in it.",
		Responses:   map[string]*huma.Response{"200": {Description: "The export.", Content: map[string]*huma.MediaType{"application/zip": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}}}},
		func(ctx context.Context, _ *struct{}) (*huma.StreamResponse, error) {
			return &huma.StreamResponse{Body: func(hc huma.Context) {
				_, w := humago.Unwrap(hc)
				_ = http.NewResponseController(w).SetWriteDeadline(timeNow().Add(slowest))
				w.Header().Set("Content-Type", "application/zip")
				w.Header().Set("Content-Disposition", `attachment; filename="underpin-`+today()+`.zip"`)
				if err := s.Register.Export(ctx, w); err != nil {
					s.Log.Error("export failed", "error", err)
					panic(http.ErrAbortHandler) // the file is broken off, and the client sees that
				}
			}}, nil
		})
	enter(a, fleet.Prove, huma.Operation{OperationID: "verify", Method: http.MethodPost, Path: "/verify", Tags: []string{"Proof"}, Summary: "Prove every record, document and seal",
		Description: "An altered, removed, reordered or inserted record, a swapped document and a broken seal are found and named. Without the operator's public keys a forger's own key would do, and trusted is false."},
		func(ctx context.Context, in *verifyIn) (*of[verifyOut], error) {
			var keys []ed25519.PublicKey
			for i, text := range in.Body.Keys {
				key, err := fleet.ReadPublicKey([]byte(text))
				if err != nil {
					return nil, &fleet.Invalid{Problems: []fleet.Problem{{Where: fmt.Sprintf("keys[%d]", i), Found: "no public key", Expected: "the text of the public key file that the operator keeps"}}}
				}
				keys = append(keys, key)
			}
			report, err := s.Register.Verify(ctx, keys...)
			if err != nil {
				return nil, err
			}
			return &of[verifyOut]{newVerifyOut(report)}, nil
		})
	a.imports()
}

type readingsIn struct {
	Body struct {
		ID       record.ID   `json:"id,omitempty" doc:"A version 7 UUID that the sender makes: sending twice is then the same as sending once."`
		Source   string      `json:"source,omitempty" maxLength:"200" doc:"File or feed that they are from."`
		OnlyGood bool        `json:"only_good,omitempty" doc:"Enter the rows that are right although others are wrong."`
		DryRun   bool        `json:"dry_run,omitempty" doc:"Enter nothing and tell what would come of it."`
		Rows     []readingIn `json:"readings" nullable:"false"`
	}
}

type readingIn struct {
	Vehicle  string    `json:"vehicle" doc:"Fleet number, or the asset."`
	Meter    string    `json:"meter,omitempty" doc:"odometer, hub or brake; left out: odometer of a tractor, hub of others."`
	At       time.Time `json:"at" doc:"When it was read."`
	Distance int64     `json:"distance_m" doc:"What the meter showed, in metres."`
	Unit     string    `json:"unit,omitempty" doc:"In which it was read: m, km or mi."`
}

func (in *readingsIn) readings() fleet.Readings {
	r := fleet.Readings{ID: in.Body.ID, Source: in.Body.Source, OnlyGood: in.Body.OnlyGood, DryRun: in.Body.DryRun, Rows: make([]fleet.ReadingRow, len(in.Body.Rows))}
	for i, x := range in.Body.Rows {
		r.Rows[i] = fleet.ReadingRow{Place: fleet.Place{Sheet: "readings", Row: i}, Vehicle: x.Vehicle, Meter: x.Meter, At: record.At(x.At), Metres: x.Distance, Unit: x.Unit}
	}
	return r
}

// rowFailure tells everything that is wrong with the rows of a delivery.
func rowFailure(wrong []fleet.RowProblem) failure {
	f := failure{Exit: 2, Missing: []string{}}
	var all []fleet.Problem
	for _, p := range wrong {
		all = append(all, fleet.Problem{Where: rowName(p), Found: p.Found, Expected: p.Expected})
	}
	f.tell(all)
	return f
}

func rowName(p fleet.RowProblem) string {
	where := fmt.Sprintf("%s[%d]", p.Place.Sheet, p.Place.Row)
	if p.Where != "" {
		where += "." + p.Where
	}
	return where
}

type readingsOut struct {
	Entered   int             `json:"entered" doc:"New readings."`
	Repeated  int             `json:"repeated" doc:"That were there already."`
	Wrong     []fleet.Problem `json:"wrong" nullable:"false" doc:"Rows that cannot be readings."`
	Questions []questionOut   `json:"questions" nullable:"false" doc:"Readings that seem wrong; they are entered as they came, and a person decides."`
}

func newReadingsOut(r *fleet.ReadingsReport) readingsOut {
	out := readingsOut{Entered: r.Entered, Repeated: r.Repeated, Wrong: []fleet.Problem{}, Questions: questionsOut(r.Questions)}
	for _, p := range r.Wrong {
		out.Wrong = append(out.Wrong, fleet.Problem{Where: rowName(p), Found: p.Found, Expected: p.Expected})
	}
	return out
}

type verifyIn struct {
	Body struct {
		Keys []string `json:"keys,omitempty" maxItems:"100" doc:"The operator's public keys, as text."`
	}
}

type verifyOut struct {
	Good       bool           `json:"good" doc:"No fault was found."`
	Records    int64          `json:"records"`
	Chains     int64          `json:"chains"`
	Documents  int64          `json:"documents"`
	Seals      int64          `json:"seals"`
	Trusted    bool           `json:"trusted" doc:"The signatures were held against keys that were given."`
	Unsealed   int64          `json:"unsealed" doc:"Records that no seal covers yet."`
	LastSeal   int64          `json:"last_seal" doc:"Number of the newest seal; 0: there is none."`
	LastDigest record.Digest  `json:"last_digest,omitzero" doc:"Its digest, for holding against a copy kept elsewhere."`
	Faults     []record.Fault `json:"faults" nullable:"false"`
}

func newVerifyOut(r *record.Report) verifyOut {
	return verifyOut{Good: len(r.Faults) == 0, Records: r.Records, Chains: r.Chains, Documents: r.Blobs, Seals: r.Seals, Trusted: r.Trusted, Unsealed: r.Unsealed,
		LastSeal: r.LastSeal, LastDigest: r.LastDigest, Faults: append([]record.Fault{}, r.Faults...)}
}
