package web

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"underpin/assess"
	"underpin/exchange"
	"underpin/fleet"
	"underpin/formula"
	"underpin/rule"
)

// answers enters what computes: pairing, matrix, calculations and laws.
func (a *api) answers() {
	s := a.site
	enter(a, fleet.Read, huma.Operation{OperationID: "pair", Method: http.MethodGet, Path: "/pair", Tags: []string{"Answers"},
		Summary: "Can this tractor pull this semi-trailer?", Description: "The answer is that of underpin pair --json."},
		func(ctx context.Context, in *pairIn) (*pairOut, error) { return s.pairFor(ctx, in) })
	enter(a, fleet.Read, huma.Operation{OperationID: "matrix", Method: http.MethodGet, Path: "/matrix", Tags: []string{"Answers"},
		Summary: "Every tractor with every semi-trailer", Description: "The answer is that of underpin matrix --json."},
		func(ctx context.Context, in *struct {
			Law string `query:"law" doc:"Rulebook; left out: the fleet's own."`
		}) (*of[exchange.MatrixAnswer], error) {
			file, err := s.fleet(ctx)
			if err != nil {
				return nil, err
			}
			book, err := s.law(lawOf(in.Law, file))
			if err != nil {
				return nil, err
			}
			cells, err := assess.Matrix(&file.Fleet, book, today())
			if err != nil {
				return nil, err
			}
			return &of[exchange.MatrixAnswer]{exchange.NewMatrixAnswer(book, cells)}, nil
		})
	enter(a, signedIn, huma.Operation{OperationID: "calculations", Method: http.MethodGet, Path: "/calculations", Tags: []string{"Calculations"},
		Summary: "Every calculation with its inputs, outputs, formula, validity and source"},
		func(context.Context, *struct{}) (*of[calcList], error) {
			all, err := calculations()
			return &of[calcList]{all}, err
		})
	enter(a, signedIn, huma.Operation{OperationID: "calculation", Method: http.MethodGet, Path: "/calculations/{name}", Tags: []string{"Calculations"},
		Summary: "The data sheet of one calculation"},
		func(_ context.Context, in *struct {
			Name string `path:"name" example:"d-value"`
		}) (*of[calcSheet], error) {
			if _, err := formula.Find(in.Name); err != nil {
				return nil, err
			}
			all, err := calculations()
			if err != nil {
				return nil, err
			}
			for _, c := range all.Calculations {
				if c.Name == in.Name {
					return &of[calcSheet]{c}, nil
				}
			}
			return nil, &fleet.NotFound{What: "calculation", Name: in.Name}
		})
	enter(a, signedIn, huma.Operation{OperationID: "calculate", Method: http.MethodPost, Path: "/calculations/{name}", Tags: []string{"Calculations"},
		Summary: "Run one calculation", Description: "The answer is that of underpin calc --json. Where there is none (no steady state, not covered by the law) the status is 422 and exit is 3."},
		func(_ context.Context, in *calcIn) (*of[calcAnswer], error) { return in.run() })
	enter(a, signedIn, huma.Operation{OperationID: "laws", Method: http.MethodGet, Path: "/laws", Tags: []string{"Law"}, Summary: "The rulebooks"},
		func(context.Context, *struct{}) (*of[lawsOut], error) {
			var out lawsOut
			for _, name := range rule.Names() {
				b, err := s.law(name)
				if err != nil {
					return nil, err
				}
				out.Laws = append(out.Laws, newLawHead(b))
			}
			return &of[lawsOut]{out}, nil
		})
	enter(a, signedIn, huma.Operation{OperationID: "law", Method: http.MethodGet, Path: "/laws/{name}", Tags: []string{"Law"},
		Summary: "One rulebook: each limit with its source and evidence"},
		func(_ context.Context, in *struct {
			Name string `path:"name" example:"eu"`
		}) (*of[lawOut], error) {
			b, err := s.law(in.Name)
			if err != nil {
				return nil, err
			}
			return &of[lawOut]{newLawOut(b)}, nil
		})
}

// of is an answer that is its body and nothing else.
type of[T any] struct{ Body T }

func lawOf(asked string, f *exchange.FleetFile) string {
	if asked == "" {
		asked = f.Law
	}
	if asked == "" {
		asked = "eu"
	}
	return asked
}

type pairIn struct {
	Tractor string `query:"tractor" required:"true" doc:"Fleet number of the tractor." example:"heron-07"`
	Trailer string `query:"trailer" required:"true" doc:"Fleet number of the semi-trailer." example:"marsh-23"`
	Law     string `query:"law" doc:"Rulebook; left out: the fleet's own."`
	Load    string `query:"load" doc:"Load case; left out: every one."`
	Lead    string `query:"lead" doc:"How far the coupling stands ahead of the drive axle or bogie centre, in millimetres or with its unit; left out: as set, or else the best."`
	Set     int    `query:"set" minimum:"0" doc:"Lift state and level, as the pairing page numbers them; left out: the first."`
}

type pairOut struct{ Body exchange.PairAnswer }

func (s *site) pairFor(ctx context.Context, in *pairIn) (*pairOut, error) {
	file := s.Fleet
	if s.Register != nil {
		now, err := s.Register.FleetOf(ctx, in.Tractor, in.Trailer)
		if err != nil {
			return nil, err
		}
		file = &now.FleetFile
	}
	q := url.Values{"tractor": {in.Tractor}, "trailer": {in.Trailer}, "law": {in.Law}, "load": {in.Load}, "lead": {in.Lead}, "set": {strconv.Itoa(in.Set)}}
	_, p, result, err := s.read(&http.Request{URL: &url.URL{RawQuery: q.Encode()}}, file)
	if err != nil {
		return nil, err
	}
	return &pairOut{exchange.NewPairAnswer(p, result)}, nil
}

// A calcList is the table of calculations, as underpin calc --json prints it.
type calcList struct {
	Calculations []calcSheet `json:"calculations"`
}

type calcSheet struct {
	Name     string       `json:"name"`
	Title    string       `json:"title"`
	Group    string       `json:"group"`
	Inputs   []calcKey    `json:"inputs"`
	Outputs  []calcOutput `json:"outputs"`
	Formula  string       `json:"formula"`
	Validity string       `json:"validity"`
	Source   string       `json:"source"`
	Evidence string       `json:"evidence"`
	Example  []string     `json:"example"`
}

type calcKey struct {
	Name      string    `json:"name"`
	Kind      string    `json:"kind"`
	Dimension string    `json:"dimension"`
	Unit      string    `json:"unit" doc:"In which it is echoed."`
	Counts    string    `json:"counts" doc:"What a pure number counts."`
	Required  bool      `json:"required"`
	Repeat    bool      `json:"repeat" doc:"May be given several times; the order counts."`
	Default   string    `json:"default"`
	Doc       string    `json:"doc"`
	Examples  []string  `json:"examples"`
	Choices   []string  `json:"choices,omitempty"`
	With      string    `json:"with,omitempty" doc:"The repeated key with which it is paired by order."`
	Parts     []calcKey `json:"parts,omitempty"`
	ByPlace   bool      `json:"by_place,omitempty"`
}

type calcOutput struct {
	Name   string `json:"name"`
	Unit   string `json:"unit"`
	Counts string `json:"counts"`
	Doc    string `json:"doc"`
	Null   string `json:"null" doc:"What null stands for."`
	Each   bool   `json:"each" doc:"One for each repeated input: the name is followed by 1, 2, ..."`
}

// calculations is the table as it is printed, so that the two cannot differ.
var calculations = sync.OnceValues(func() (calcList, error) {
	var all calcList
	raw, err := json.Marshal(formula.List())
	if err == nil {
		err = json.Unmarshal(raw, &all)
	}
	return all, err
})

type calcIn struct {
	Name string `path:"name" example:"d-value"`
	Body struct {
		Inputs map[string]words `json:"inputs" doc:"By key: a value as typed on the command line, with its unit; a list where a key may be repeated." example:"{\"tractor-gross\":\"18t\",\"trailer-gross\":\"36t\",\"imposed\":\"12t\"}"`
	}
}

// words are the values of one key: a text, a number, a truth, or a list of them.
type words []string

func (w *words) UnmarshalJSON(b []byte) error {
	var list []json.RawMessage
	if json.Unmarshal(b, &list) != nil {
		list = []json.RawMessage{b}
	}
	*w = nil
	for _, raw := range list {
		var s string
		if json.Unmarshal(raw, &s) != nil {
			s = string(raw) // a number or a truth as it is written
		}
		*w = append(*w, s)
	}
	return nil
}

// Schema describes what UnmarshalJSON takes.
func (words) Schema(huma.Registry) *huma.Schema {
	one := func() *huma.Schema {
		return &huma.Schema{OneOf: []*huma.Schema{{Type: huma.TypeString}, {Type: huma.TypeNumber}, {Type: huma.TypeBoolean}}}
	}
	return &huma.Schema{OneOf: append(one().OneOf, &huma.Schema{Type: huma.TypeArray, Items: one()})}
}

// A calcAnswer is what a calculation comes to, with its inputs as understood.
type calcAnswer struct{ formula.Answer }

// Schema describes what the formula table prints.
func (calcAnswer) Schema(r huma.Registry) *huma.Schema {
	value := func() *huma.Schema {
		return &huma.Schema{Type: huma.TypeObject, Required: []string{"value", "unit"}, Properties: map[string]*huma.Schema{
			"value": {Description: "A number, a truth, a text, or null: unbounded or not known."},
			"unit":  {Type: huma.TypeString},
		}}
	}
	text := func() *huma.Schema { return &huma.Schema{Type: huma.TypeString} }
	return &huma.Schema{Type: huma.TypeObject, Required: []string{"name", "inputs", "outputs", "formula", "source", "working"}, Properties: map[string]*huma.Schema{
		"name":    text(),
		"inputs":  {Type: huma.TypeObject, AdditionalProperties: true, Description: "As understood: value and unit, a list for a repeated key, an object for a compound one."},
		"outputs": {Type: huma.TypeObject, AdditionalProperties: value()},
		"formula": text(), "source": text(), "working": text(),
	}}
}

func (in *calcIn) run() (*of[calcAnswer], error) {
	c, err := formula.Find(in.Name)
	if err != nil {
		return nil, err
	}
	var given []string
	for i := range c.Inputs { // in the order of the table, so that repeated keys pair
		key := c.Inputs[i].Name
		for _, value := range in.Body.Inputs[key] {
			given = append(given, key+"="+value)
		}
		delete(in.Body.Inputs, key)
	}
	for key, values := range in.Body.Inputs { // not known; the table says so
		for _, value := range values {
			given = append(given, key+"="+value)
		}
	}
	args, result, err := c.Answer(given)
	if err != nil {
		return nil, err
	}
	return &of[calcAnswer]{calcAnswer{formula.Answer{Args: args, Result: result}}}, nil
}

type lawsOut struct {
	Laws []lawHead `json:"laws"`
}

type lawHead struct {
	Name     string `json:"name"`
	Title    string `json:"title"`
	Parent   string `json:"parent" doc:"The rulebook that it builds on; empty: none."`
	TextDate string `json:"text_date" doc:"Date of the newest text that it was read from."`
	Note     string `json:"note"`
	Rules    int    `json:"rules" doc:"How many there are."`
	Digest   string `json:"digest" doc:"SHA-256 of its files, the parent's included."`
}

func newLawHead(b *rule.Book) lawHead {
	v := newBookView(b)
	return lawHead{Name: v.Name, Title: v.Title, Parent: v.Parent, TextDate: v.TextDate, Note: v.Note, Rules: v.Rules, Digest: b.Digest}
}

type lawOut struct {
	Law     lawHead      `json:"law"`
	Limits  []lawLimit   `json:"limits"`
	Assumed []lawAssumed `json:"assumed" doc:"Facts that it takes for granted until they are declared."`
}

type lawLimit struct {
	ID       string   `json:"id"`
	Book     string   `json:"book" doc:"The rulebook that holds it, which may be the parent."`
	Title    string   `json:"title"`
	Quantity string   `json:"quantity"`
	Sense    string   `json:"sense"`
	Limit    *float64 `json:"limit" doc:"In the law's own unit; null where it comes in steps or by a formula, or is lifted."`
	Unit     string   `json:"unit"`
	From     string   `json:"valid_from,omitempty"`
	To       string   `json:"valid_to,omitempty"`
	Source   string   `json:"source"`
	Evidence string   `json:"evidence" enum:"read,derived,second-hand,practice,memory"`
	Binding  bool     `json:"binding" doc:"A limit that is practice or memory only warns."`
}

type lawAssumed struct {
	Fact  string `json:"fact"`
	Value any    `json:"value"`
	Why   string `json:"why"`
}

func newLawOut(b *rule.Book) lawOut {
	out := lawOut{Law: newLawHead(b), Limits: []lawLimit{}, Assumed: []lawAssumed{}}
	for _, x := range b.Rules {
		l := lawLimit{ID: x.ID, Book: x.Book, Title: x.Title, Quantity: x.Quantity, Sense: string(x.Sense), Unit: x.Unit.Symbol, From: x.ValidFrom, To: x.ValidTo,
			Source: x.Source(), Evidence: string(x.Evidence), Binding: x.Evidence.Certifies()}
		if x.Table == nil && x.Function == nil && !x.Lifts && !math.IsNaN(x.Limit) && !math.IsInf(x.Limit, 0) {
			l.Limit = &x.Limit
		}
		out.Limits = append(out.Limits, l)
	}
	for _, f := range b.Assumed {
		out.Assumed = append(out.Assumed, lawAssumed{f.Fact, f.Value, f.Why})
	}
	return out
}
