package exchange

import (
	"math"

	"underpin/assess"
	"underpin/unit"
)

// A PairAnswer is the answer to one pairing as other programs read it. Its
// form is stable.
type PairAnswer struct {
	Answer      string         `json:"answer"`
	Tractor     string         `json:"tractor"`
	Trailer     string         `json:"trailer"`
	Law         string         `json:"law"`
	Setting     PairSetting    `json:"setting"`
	SliderRange *[2]int        `json:"slider_range_mm"`
	SliderEnds  []string       `json:"slider_range_ends"` // what closes the range behind and ahead; empty without a range
	Best        map[string]int `json:"best_lead_mm"`      // by aim, where a lawful position exists
	Cautions    []string       `json:"cautions"`
	Assumed     []string       `json:"assumed"`
	Missing     []string       `json:"missing"`
	Loads       []PairLoads    `json:"loads"`
	Findings    []PairFinding  `json:"findings"`
}

// A PairSetting is the setting that the figures hold for.
type PairSetting struct {
	Lead          *int   `json:"lead_mm"` // ahead of the drive axle or bogie centre
	At            *int   `json:"at_mm"`   // behind the front axle
	Datum         string `json:"lead_datum"`
	Level         string `json:"level"`
	TractorLifted []int  `json:"tractor_lifted"`
	TrailerLifted []int  `json:"trailer_lifted"`
	AsSet         bool   `json:"as_set"`
}

// PairLoads are the loads of one case.
type PairLoads struct {
	Case    string      `json:"case"`
	Imposed *int        `json:"imposed_kg"`
	Groups  []PairGroup `json:"groups"`
	Axles   []PairAxle  `json:"axles"`
	Gross   *int        `json:"gross_kg"`
}

// A PairGroup is the load on a group of axles.
type PairGroup struct {
	ID    string `json:"id"`
	KG    *int   `json:"kg"`
	Limit *int   `json:"limit_kg"`
}

// A PairAxle is the load on one axle, counted through the combination.
type PairAxle struct {
	Number int    `json:"number"`
	Group  string `json:"group"`
	X      *int   `json:"x_mm"`
	KG     *int   `json:"kg"`
}

// A PairFinding is one quantity held against one limit.
type PairFinding struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Case     string   `json:"case"`
	Value    *float64 `json:"value"`
	Limit    *float64 `json:"limit"`
	Sense    string   `json:"sense"`
	Unit     string   `json:"unit"`
	Margin   *float64 `json:"margin"`
	Answer   string   `json:"answer"`
	Binding  bool     `json:"binding"`
	Evidence string   `json:"evidence"`
	Calc     string   `json:"calc"`
	Source   string   `json:"source"`
	Working  string   `json:"working"`
	Missing  []string `json:"missing"`
}

// NewPairAnswer puts a result into the form that other programs read.
func NewPairAnswer(p *assess.Pairing, r *assess.Result) PairAnswer {
	a := PairAnswer{
		Answer: string(r.Answer), Tractor: p.Tractor.ID, Trailer: p.Trailer.ID, Law: p.Law.Name,
		Setting:     newSetting(r),
		SliderRange: SliderRange(r), SliderEnds: []string{}, Best: map[string]int{},
		Cautions: list(r.Cautions), Assumed: list(r.Assumed), Missing: list(r.Missing),
		Loads: []PairLoads{}, Findings: []PairFinding{},
	}
	if r.Range != nil && !r.Fixed {
		a.SliderEnds = []string{r.Ends[0], r.Ends[1]}
	}
	for aim, lead := range r.Best {
		a.Best[string(aim)] = *wholeMM(float64(lead))
	}
	for _, l := range r.Loads {
		pl := PairLoads{Case: l.Case, Imposed: whole(l.Imposed), Gross: whole(l.Gross)}
		for _, g := range l.Groups {
			pl.Groups = append(pl.Groups, PairGroup{g.ID, whole(g.KG), floor(g.Limit)})
		}
		for _, x := range l.Axles {
			pl.Axles = append(pl.Axles, PairAxle{x.Number, x.Group, wholeMM(float64(x.X)), whole(x.KG)})
		}
		a.Loads = append(a.Loads, pl)
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		a.Findings = append(a.Findings, PairFinding{
			ID: f.ID, Title: f.Title, Case: f.Case, Value: number(f.Value), Limit: number(f.Limit), Sense: string(f.Sense), Unit: f.Unit.Symbol,
			Margin: number(f.Margin), Answer: string(f.Answer), Binding: f.Binding, Evidence: string(f.Evidence), Calc: f.Calc,
			Source: f.Source, Working: f.Working, Missing: list(f.Missing),
		})
	}
	return a
}

func newSetting(r *assess.Result) PairSetting {
	return PairSetting{
		Lead: wholeMM(float64(r.Setting.Lead)), At: wholeMM(float64(r.Setting.At)), Datum: r.LeadDatum, Level: r.Setting.Level,
		TractorLifted: r.Setting.TractorLifted, TrailerLifted: r.Setting.TrailerLifted, AsSet: r.AsSet,
	}
}

// SliderRange is the lawful range of leads in whole millimetres, rounded
// inwards; nil when there is none. A fixed coupling that passes has both ends
// alike.
func SliderRange(r *assess.Result) *[2]int {
	if r.Range == nil {
		return nil
	}
	lo, hi := float64(r.Range[0])*1e3, float64(r.Range[1])*1e3
	if r.Fixed {
		n := int(math.Round(lo))
		return &[2]int{n, n}
	}
	a, b := int(math.Ceil(assess.Whole(lo))), int(math.Floor(assess.Whole(hi)))
	if a > b {
		return nil
	}
	return &[2]int{a, b}
}

func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func whole(v float64) *int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	n := int(math.Round(v))
	return &n
}

// floor rounds a limit down: a limit is never shown higher than it is.
func floor(v float64) *int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	n := int(unit.Floor(v, 0))
	return &n
}

func wholeMM(v float64) *int { return whole(v * 1e3) }
