package fleet

import (
	"cmp"
	"context"
	"encoding/json"
	"math"
	"slices"
	"time"

	"underpin/maintenance"
	"underpin/record"
	"underpin/store"
	"underpin/unit"
	"underpin/vehicle"
)

// An equipment is what a vehicle carries that wears, and by what it is held.
type equipment struct {
	vehicle *record.Vehicle
	parts   []record.Asset // what sits on it now and wears
	since   record.Time    // when the first of them was fitted; 0: none is
	regime  maintenance.Regime
	setup   maintenance.Setup
}

// wears are the places whose parts are gauged.
var wears = []string{record.AtFifthWheel, record.AtKingpin, record.RubbingPlate, record.Mounting}

// equip gathers the equipment of a vehicle. Entity returns what is known of a part or
// type, nil when nothing is.
func equip(v *record.Vehicle, law string, entity func(record.Asset) (*record.Entity, error)) (*equipment, error) {
	q := &equipment{vehicle: v}
	if law != "" {
		q.regime.Countries = []string{law}
	}
	pin := func(mm *int64) {
		if mm != nil && q.regime.Pin == 0 {
			q.regime.Pin = int(*mm)
		}
	}
	for _, f := range v.Fitted() {
		if !slices.Contains(wears, f.Place) {
			continue
		}
		q.parts = append(q.parts, f.Part)
		if q.since == 0 || f.From < q.since {
			q.since = f.From
		}
		e, err := entity(f.Part)
		if err != nil {
			return nil, err
		}
		if e == nil {
			continue
		}
		p, err := e.Part(record.Latest)
		if err != nil {
			return nil, err
		}
		pin(p.Pin)
		if p.Type == "" {
			continue
		}
		if e, err = entity(p.Type); err != nil {
			return nil, err
		}
		if e == nil {
			continue
		}
		t, err := e.Type(record.Latest)
		if err != nil {
			return nil, err
		}
		pin(t.Pin)
		q.regime.Types = append(q.regime.Types, t.TypeAdded)
		if f.Place == record.AtFifthWheel {
			q.setup.Lubrication, _ = maintenance.LubricationOf(t.Lubrication)
		}
	}
	p, _ := parse(v.VehicleAdded)
	size := func(l *unit.Length) {
		if l != nil && q.regime.Pin == 0 {
			q.regime.Pin = int(math.Round(float64(*l) * 1000))
		}
	}
	switch {
	case p == nil:
	case p.tractor != nil:
		size(p.tractor.FifthWheel.Pin)
		q.setup.Slider = slides(&p.tractor.FifthWheel)
	case p.trailer != nil:
		size(p.trailer.Kingpin.Size)
	}
	return q, nil
}

func slides(w *vehicle.FifthWheel) bool { return w.Slider != nil }

// halves are what can be gauged of a vehicle.
func (q *equipment) halves() []maintenance.Half {
	switch q.vehicle.VehicleAdded.Vehicle {
	case record.Tractor:
		return []maintenance.Half{maintenance.Tractor, maintenance.Pair}
	case record.SemiTrailer:
		return []maintenance.Half{maintenance.Trailer}
	}
	return nil
}

func (q *equipment) subject() maintenance.Subject {
	if q.vehicle.VehicleAdded.Vehicle == record.Tractor {
		return maintenance.OfTractor
	}
	return maintenance.OfTrailer
}

// sheet is the empty gauge sheet for some halves, with what was read last before a
// time.
func (q *equipment) sheet(halves []maintenance.Half, before record.Time) maintenance.Sheet {
	ask := maintenance.SheetAsk{Halves: halves, Regime: q.regime, Slider: q.setup.Slider}
	empty := maintenance.NewSheet(ask)
	ask.Last = map[string]float64{}
	if u := q.vehicle.Upkeep; u != nil {
		for i := range u.Sheets {
			if u.Sheets[i].At >= before {
				break
			}
			for key, v := range filledOf(&u.Sheets[i].SheetFilled).Values(empty) {
				ask.Last[key] = v
			}
			ask.LastOn = dateOf(u.Sheets[i].At)
		}
	}
	return maintenance.NewSheet(ask)
}

func dateOf(t record.Time) maintenance.Date {
	y, m, d := t.Time().Local().Date()
	return maintenance.Date{Year: y, Month: int(m), Day: d}
}

// filledOf reads a sheet as it stands in the records.
func filledOf(s *record.SheetFilled) maintenance.Filled {
	f := maintenance.Filled{On: s.Day, Metres: s.Reading.Metres, Readings: s.Readings, Looks: map[string]maintenance.LookAnswer{},
		Instrument: maintenance.Instrument{ID: s.Instrument.ID, Calibrated: s.Instrument.Calibrated, ErrorUM: s.Instrument.ErrorUM},
		Uncoupled:  s.Uncoupled, Cleaned: s.Cleaned, Travel: s.Travel, Measured: s.Measured, Workshop: s.Workshop, Accepted: s.Accepted, Photos: s.Photos, Confirmed: s.Confirmed}
	for _, h := range s.Halves {
		f.Halves = append(f.Halves, maintenance.Half(h))
	}
	for key, a := range s.Looks {
		f.Looks[key] = maintenance.LookAnswer(a)
	}
	return f
}

// bodyOf writes a filled sheet as a record.
func bodyOf(f *maintenance.Filled) record.SheetFilled {
	s := record.SheetFilled{Day: f.On, Readings: map[string][]string{}, Looks: map[string]string{},
		Instrument: record.GaugeUsed{ID: f.Instrument.ID, Calibrated: f.Instrument.Calibrated, ErrorUM: f.Instrument.ErrorUM},
		Uncoupled:  f.Uncoupled, Cleaned: f.Cleaned, Travel: f.Travel, Measured: f.Measured, Workshop: f.Workshop, Accepted: f.Accepted, Photos: f.Photos, Confirmed: f.Confirmed}
	for _, h := range f.Halves {
		s.Halves = append(s.Halves, string(h))
	}
	for key, takes := range f.Readings {
		if slices.ContainsFunc(takes, func(t string) bool { return t != "" }) {
			s.Readings[key] = takes
		}
	}
	for key, a := range f.Looks {
		if a != maintenance.NotLooked {
			s.Looks[key] = string(a)
		}
	}
	return s
}

// oneInspection is how far apart the sheets of the halves of one inspection may have been
// filled in. Common practice, no source: the greasing interval.
const oneInspection = record.Time(31 * 24 * 3600 * 1e6)

// inspected are the sheets that an outcome of now rests on: of each half that the
// subject needs the last one, unless it is too old or older than work that was
// signed since.
func (q *equipment) inspected() (sheets []*record.Filled) {
	u := q.vehicle.Upkeep
	if u == nil || len(u.Sheets) == 0 {
		return nil
	}
	from := u.Sheets[len(u.Sheets)-1].At - oneInspection
	for _, s := range u.Signed {
		from = max(from, s.At)
	}
	for _, half := range q.subject().Needs() {
		for i := len(u.Sheets) - 1; i >= 0; i-- {
			s := &u.Sheets[i]
			if s.At < from {
				break
			}
			if slices.Contains(s.Halves, string(half)) {
				if !slices.Contains(sheets, s) {
					sheets = append(sheets, s)
				}
				break
			}
		}
	}
	slices.SortStableFunc(sheets, func(a, b *record.Filled) int { return cmp.Compare(a.At, b.At) })
	return sheets
}

// judge says what sheets mean, as of a day.
func (q *equipment) judge(sheets []*record.Filled, on record.Time) maintenance.Outcome {
	ask := maintenance.JudgeAsk{Of: q.subject(), Regime: q.regime, Today: dateOf(on)}
	for _, s := range sheets {
		f := filledOf(&s.SheetFilled)
		ask.Sheets = append(ask.Sheets, maintenance.Inspection{Sheet: q.sheet(f.Halves, s.At), Filled: f})
	}
	return maintenance.Judge(ask)
}

// again judges an outcome that stands in the records once more, for its order.
func (q *equipment) again(o *record.Outcome) maintenance.Outcome {
	var sheets []*record.Filled
	for _, id := range o.Sheets {
		if s := q.vehicle.Upkeep.Sheet(id); s != nil {
			sheets = append(sheets, s)
		}
	}
	return q.judge(sheets, o.At)
}

var verdictNames = map[maintenance.Verdict]string{maintenance.Serviceable: record.VerdictServiceable, maintenance.Advisory: record.VerdictAdvisory,
	maintenance.Repair: record.VerdictRepair, maintenance.CannotTell: record.VerdictCannotTell, maintenance.DoNotUse: record.VerdictDoNotUse}

// given writes an outcome as a record.
func (q *equipment) given(o *maintenance.Outcome, sheets []*record.Filled, program string) record.OutcomeGiven {
	g := record.OutcomeGiven{Of: string(q.subject()), Verdict: verdictNames[o.Verdict], Work: o.Work, Laws: q.regime.Countries, Program: program}
	for _, s := range sheets {
		g.Sheets = append(g.Sheets, s.ID)
	}
	for _, r := range o.Reasons {
		g.Reasons = append(g.Reasons, r.Say.String())
	}
	for _, m := range o.Missing {
		g.Missing = append(g.Missing, m.String())
	}
	if o.Repair != nil {
		g.Until, g.Within = o.Repair.On.String(), new(int64(o.Repair.Distance))
	}
	for _, h := range o.Held {
		v := record.HeldValue{Measure: h.Measure, Name: h.Measure, Holds: string(h.Holds)}
		dim := unit.LengthDim
		if m, ok := maintenance.FindMeasure(h.Measure); ok {
			v.Name, dim = m.Name.English, m.Dim
		}
		if !math.IsNaN(h.Value) {
			v.Value = printed(h.Value, dim)
		}
		for _, f := range h.Findings {
			v.Limits = append(v.Limits, record.HeldLimit{Layer: string(f.Limit.Layer), Fails: string(f.Limit.Fails), Printed: f.Limit.Printed, Failed: f.Failed, Evidence: string(f.Limit.Evidence), Source: f.Limit.Source})
		}
		g.Held = append(g.Held, v)
	}
	return g
}

func printed(v float64, d unit.Dimension) string {
	switch d {
	case unit.LengthDim:
		return unit.Format(v, unit.MM, 2)
	case unit.AngleDim:
		return unit.Format(v, unit.Deg, 2)
	}
	return unit.Format(v, unit.One, 2)
}

// equipped is the equipment of a vehicle for a question.
func (r *Register) equipped(ctx context.Context, a record.Asset) (*equipment, *record.Entity, error) {
	e, err := r.entityOf(ctx, a, record.VehicleAsset)
	if err != nil {
		return nil, nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, nil, err
	}
	law, err := r.law(ctx)
	if err != nil {
		return nil, nil, err
	}
	q, err := equip(v, law, r.known(ctx))
	return q, e, err
}

// known reads parts and types, each once.
func (r *Register) known(ctx context.Context) func(record.Asset) (*record.Entity, error) {
	seen := map[record.Asset]*record.Entity{}
	return func(a record.Asset) (*record.Entity, error) {
		if e, have := seen[a]; have {
			return e, nil
		}
		e, err := r.entity(ctx, a)
		if missing(err) {
			e, err = nil, nil
		}
		seen[a] = e
		return e, err
	}
}

// law is the country or block whose limits hold in this register; empty: nobody
// said.
func (r *Register) law(ctx context.Context) (string, error) {
	own, err := r.settings(ctx, SettingsSet)
	if err != nil {
		return "", err
	}
	var law string
	_ = json.Unmarshal(own.Values["law"], &law) // checked when it was entered
	return law, nil
}

// A GaugePage is what is asked when a gauge sheet is filled in.
type GaugePage struct {
	Vehicle *record.Vehicle
	May     []maintenance.Half // what can be gauged of this vehicle
	Halves  []maintenance.Half
	Sheet   maintenance.Sheet
	Coupled *record.Period // with which it is coupled now; nil: with none
	Laws    []string
	Types   []record.TypeAdded
	Pin     int
}

// GaugeSheet answers what to gauge of a vehicle. Without halves it is all that can
// be gauged of it.
func (r *Register) GaugeSheet(ctx context.Context, a record.Asset, halves ...maintenance.Half) (*GaugePage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	q, _, err := r.equipped(ctx, a)
	if err != nil {
		return nil, err
	}
	p := &GaugePage{Vehicle: q.vehicle, May: q.halves(), Laws: q.regime.Countries, Types: q.regime.Types, Pin: q.regime.Pin}
	for _, h := range p.May {
		if len(halves) == 0 || slices.Contains(halves, h) {
			p.Halves = append(p.Halves, h)
		}
	}
	if len(p.Halves) == 0 {
		return nil, &NotFound{What: "gauge sheet of such a vehicle", Name: string(a)}
	}
	p.Sheet = q.sheet(p.Halves, record.Latest)
	periods, err := r.periods(ctx, a)
	if err != nil {
		return nil, err
	}
	if len(periods) > 0 && periods[0].To == 0 {
		p.Coupled = &periods[0]
	}
	return p, nil
}

// order is the work order of an outcome. Work at the other half, such as setting the
// lock after a new pin, is told beside it: nobody can sign it on a trailer that
// stands alone.
func (q *equipment) order(o maintenance.Outcome) (ord maintenance.Order, elsewhere []maintenance.Work) {
	ord = maintenance.NewOrder(o, q.regime.Types)
	ord.Items = slices.DeleteFunc(ord.Items, func(i maintenance.Item) bool {
		other := q.subject() == maintenance.OfTrailer && i.Work.Half != maintenance.Trailer || q.subject() == maintenance.OfTractor && i.Work.Half == maintenance.Trailer
		if other {
			elsewhere = append(elsewhere, i.Work)
		}
		return other
	})
	return ord, elsewhere
}

// An OutcomePage is what an inspection said, with the order that follows from it.
type OutcomePage struct {
	record.Outcome
	Vehicle *record.Vehicle
	Now     maintenance.Outcome // judged again, for diagnosis and what must not be done
	Order   maintenance.Order
	Others  []maintenance.Work          // at the other half, before the pair goes
	Signed  map[string]record.SignedOff // by step, the last word
	Return  maintenance.Return
	Newest  bool             // no outcome was given since
	Code    string           // of its certificate
	Met     []record.Partner // partners of a worn or damaged part, to be looked at too
	Titles  map[record.Asset]string
}

// Outcome answers what an inspection said.
func (r *Register) Outcome(ctx context.Context, a record.Asset, id record.ID) (*OutcomePage, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	q, _, err := r.equipped(ctx, a)
	if err != nil {
		return nil, err
	}
	o := q.vehicle.Upkeep.Outcome(id)
	if o == nil {
		return nil, &NotFound{What: "outcome of an inspection of " + q.vehicle.Number(), Name: string(id)}
	}
	p := &OutcomePage{Outcome: *o, Vehicle: q.vehicle, Now: q.again(o), Signed: map[string]record.SignedOff{}, Newest: q.vehicle.Upkeep.Last().ID == id, Titles: map[record.Asset]string{}}
	p.Order, p.Others = q.order(p.Now)
	signed := q.signatures(id)
	for _, s := range q.vehicle.Upkeep.Signed {
		if s.Outcome == id {
			p.Signed[s.Step] = s
		}
	}
	var after *maintenance.Outcome
	if last := q.vehicle.Upkeep.Last(); last.ID != id {
		again := q.again(last)
		after = &again
	}
	p.Return = p.Order.Return(signed, after)
	rec, err := r.record(ctx, id)
	if err != nil {
		return nil, err
	}
	p.Code = certificateCode(rec)
	for _, part := range p.Now.Partners {
		for _, f := range q.vehicle.Fitted() {
			if f.Place != map[string]string{record.Kingpin: record.AtKingpin, record.FifthWheel: record.AtFifthWheel}[part] {
				continue
			}
			page, err := r.PartPage(ctx, f.Part)
			if err != nil {
				return nil, err
			}
			p.Met = append(p.Met, maintenance.PartnersToCheck(page.Partners, q.lastGood(o))...)
			for a, t := range page.Titles {
				p.Titles[a] = t
			}
		}
	}
	return p, nil
}

// lastGood is when the vehicle was last found serviceable before an outcome.
func (q *equipment) lastGood(o *record.Outcome) (at record.Time) {
	for i := range q.vehicle.Upkeep.Outcomes {
		if b := &q.vehicle.Upkeep.Outcomes[i]; b.At < o.At && !b.Blocks() {
			at = b.At
		}
	}
	return at
}

func (q *equipment) signatures(of record.ID) (all []maintenance.Signature) {
	for _, s := range q.vehicle.Upkeep.Signed {
		if s.Outcome == of {
			all = append(all, maintenance.Signature{Step: s.Step, Who: s.Who, At: s.At, No: s.No})
		}
	}
	return all
}

// NotInUse lists the vehicles that may not be used, or of which an inspection could
// not tell: those that may not be used first.
func (r *Register) NotInUse(ctx context.Context) ([]*record.Vehicle, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	rows, err := r.store.Beside(ctx, store.BesideQuery{Asset: record.NotInUse, Kind: record.VehicleAsset, Limit: mostBoltsDue})
	if err != nil {
		return nil, err
	}
	names := make([]record.Asset, len(rows))
	for i := range rows {
		names[i] = rows[i].Asset
	}
	if rows, err = r.store.Rows(ctx, names); err != nil {
		return nil, err
	}
	var all []*record.Vehicle
	for i := range rows {
		e, err := rows[i].Entity()
		if err != nil {
			return nil, err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	slices.SortStableFunc(all, func(a, b *record.Vehicle) int { return cmp.Compare(b.Held(), a.Held()) }) // do-not-use before cannot-tell
	return all, nil
}

// today is the day by the machine's clock.
func (r *Register) today() string { return r.now().Time().Local().Format(time.DateOnly) }
