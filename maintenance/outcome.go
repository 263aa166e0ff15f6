package maintenance

import (
	"cmp"
	"math"
	"slices"

	"underpin/record"
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

// Judge says what an inspection means. The worst reason decides:
//
//	do-not-use   a hard stop, a limit of any layer reached, play above p_max or set too tight, an unchecked event
//	cannot-tell  a sheet, a reading, an answer or a limit is missing
//	repair       play above the adjusting value with travel left, and defects that may run; to a latest date and distance
//	advisory     a pin within 0.5 mm of its limit, play that is the pin's, small defects
//
// Common practice and memory may stop a vehicle and never certify one: a
// reading that must be taken and has no better limit makes the outcome
// cannot-tell, unless it shows no wear at all.
//
// Source: common practice, no source; handbook chapter 05, sections 6 and 9.
func Judge(a JudgeAsk) Outcome {
	j := judge{ask: a}
	j.limits, _ = a.Regime.Limits()
	have := map[Half]bool{}
	for _, s := range a.Sheets {
		for _, h := range s.Sheet.Halves {
			have[h] = true
		}
	}
	for _, h := range a.Of.Needs() {
		if !have[h] {
			j.out.Lacking = append(j.out.Lacking, h)
			j.lack(sayLackingHalf.with(string(h)))
		}
	}
	for _, t := range a.Regime.Types {
		if t.Ratings.Pin != nil && *t.Ratings.Pin != int64(a.Regime.Pin) {
			j.because(DoNotUse, "wrong-size", RemoveFromUse, sayPinSize.with(t.Name, itoa(int(*t.Ratings.Pin)), itoa(a.Regime.Pin)))
		}
	}
	for _, b := range a.Blocks {
		j.because(DoNotUse, "event", b.Task, b.Why)
	}
	if len(a.Regime.Countries) == 0 {
		j.lack(sayNoCountry.with())
	}
	j.gather()
	j.rows()
	j.lookOver()
	j.lock()
	return j.conclude()
}

// judge is the work of Judge.
type judge struct {
	ask    JudgeAsk
	limits []Limit
	rowOf  map[string]Row
	values map[string]float64
	looked map[string]LookAnswer
	looks  []Look
	travel wear.Travel
	error  map[string]float64 // of the gauge that each measure was taken with, m
	out    Outcome
}

func (j *judge) because(v Verdict, what, work string, say Message) {
	j.out.Reasons = append(j.out.Reasons, Reason{v, say, what, work})
}

func (j *judge) lack(m Message) { j.out.Missing = append(j.out.Missing, m) }

// gather brings the sheets together; a later one goes before an earlier.
func (j *judge) gather() {
	j.rowOf, j.values, j.looked, j.error = map[string]Row{}, map[string]float64{}, map[string]LookAnswer{}, map[string]float64{}
	needed := j.ask.Of.Needs()
	for _, s := range j.ask.Sheets {
		if s.Filled.Measured == "" {
			j.lack(sayNoMeasurer.with())
		}
		if s.Filled.Workshop != "" && s.Filled.Accepted == "" {
			j.lack(sayNotAccepted.with(s.Filled.Workshop))
		}
		doubted, all := map[string]bool{}, false
		for _, q := range s.Open {
			j.lack(sayOpenQuestion.with(q.Say.String()))
			doubted[q.Measure] = true
			all = all || q.Measure == ""
		}
		for _, r := range s.Sheet.Rows {
			if !slices.Contains(needed, r.Measure.Half) {
				continue
			}
			v := s.Filled.Value(r.Measure)
			if all || doubted[r.Measure.Key] {
				v = math.NaN()
			}
			j.rowOf[r.Measure.Key], j.values[r.Measure.Key] = r, v
			j.error[r.Measure.Key] = gaugeStep
			if e := s.Filled.Instrument.ErrorUM; e != nil {
				j.error[r.Measure.Key] = float64(*e) * 1e-6
			}
		}
		for _, l := range s.Sheet.Looks {
			if !slices.Contains(needed, l.Half) {
				continue
			}
			if _, twice := j.looked[l.Key]; !twice {
				j.looks = append(j.looks, l)
			}
			j.looked[l.Key] = s.Filled.Looks[l.Key]
		}
		switch s.Filled.Travel {
		case "left":
			j.travel = wear.TravelLeft
		case "none":
			j.travel = wear.TravelNone
		}
	}
}

// rows holds every reading against its limits.
func (j *judge) rows() {
	keys := make([]string, 0, len(j.rowOf))
	for _, m := range measures {
		if _, ok := j.rowOf[m.Key]; ok {
			keys = append(keys, m.Key)
		}
	}
	rest := []string{}
	for k := range j.rowOf {
		if !slices.Contains(keys, k) {
			rest = append(rest, k)
		}
	}
	slices.Sort(rest)
	for _, k := range append(keys, rest...) {
		r := j.rowOf[k]
		h := Hold(k, j.values[k], j.limits)
		if h.Value == 0 && r.Measure.Worst == Largest && h.Holds == HoldsNoLimit {
			h.Holds = HoldsWithin // nothing at all was found: no limit can be tighter
		}
		if f, ok := h.Strictest(); ok && r.Measure.Dim == unit.LengthDim && math.Abs(f.Margin) <= j.error[k]+grain {
			h.Guard = j.error[k]
		}
		j.out.Held = append(j.out.Held, h)
		if math.IsNaN(h.Value) && r.Must && !j.madeUp(k) {
			j.lack(sayNotMeasured.with(r.Measure.Name.English))
		}
		switch h.Holds {
		case HoldsNoLimit:
			if r.Must && k != LockPlay && k != Play { // these are judged together, by lock
				j.lack(sayNoLimit.with(r.Measure.Name.English))
			}
		case HoldsUnproven:
			if r.Must && k != LockPlay && k != Play {
				j.lack(sayPracticeOnly.with(r.Measure.Name.English))
			}
		case HoldsNear:
			f := h.Findings[0]
			j.because(Advisory, k, "", sayNear.with(r.Measure.Name.English, unit.Format(h.Value, unit.MM, 2), f.Limit.Printed))
		case HoldsFailed:
			f := h.Findings[0]
			for _, g := range h.Findings { // the layer that weighs most is told first
				if g.Failed {
					f = g
					break
				}
			}
			j.because(DoNotUse, k, workFor(k, r.Measure), sayReached.with(r.Measure.Name.English, printedValue(h.Value, r.Measure.Dim), f.Limit.Printed, string(f.Limit.Layer), f.Limit.Source))
		}
	}
	if n, ok := j.values[PinNeck]; ok && j.ask.Regime.Pin == 50 && n <= 50.0*mm+grain {
		j.out.PlanPin = true
	}
}

// madeUp tells whether another reading stands for one that was not taken: the
// lock's play follows from that of the pair and the pin.
func (j *judge) madeUp(key string) bool {
	if key != LockPlay {
		return false
	}
	play, ok := j.values[Play]
	neck, gauged := j.values[PinNeck]
	return ok && gauged && !math.IsNaN(play) && !math.IsNaN(neck)
}

func printedValue(v float64, d unit.Dimension) string {
	switch d {
	case unit.LengthDim:
		return unit.Format(v, unit.MM, 2)
	case unit.AngleDim:
		return unit.Format(v, unit.Deg, 2)
	}
	return unit.Format(v, unit.One, 2)
}

// lookOver counts what was seen.
func (j *judge) lookOver() {
	for _, l := range j.looks {
		switch j.looked[l.Key] {
		case Fine:
		case NotFitted:
			if !mayLack[l.Key] {
				j.lack(sayNotLooked.with(l.Name.English))
			}
		case Found:
			weight := l.Weight
			if l.Key == "ramp-crack" && !j.rampPasses() {
				weight = HardStop
			}
			v := [...]Verdict{DoNotUse, DoNotUse, Repair, Advisory}[slices.Index([]Weight{HardStop, Worn, Mend, Note}, weight)]
			j.because(v, l.Key, workForLook(l), sayFound.with(l.Name.English, l.Source))
		default:
			j.lack(sayNotLooked.with(l.Name.English))
		}
	}
}

// mayLack are the things that not every coupling has; nobody can answer of the
// others that they are not fitted.
var mayLack = map[string]bool{
	"catch-off": true, "indicator-out": true, "display-open": true, "slider-pin-out": true, "wedge-unfit": true,
	"liner-worn": true, "lever-stop": true, "pad-torn": true, "paint-line": true,
}

func (j *judge) rampPasses() bool {
	for _, c := range j.ask.Regime.Countries {
		if ok, _ := CrackExempt(CrackRamp, c); !ok {
			return false
		}
	}
	return len(j.ask.Regime.Countries) > 0
}

// conclude draws the reasons together.
func (j *judge) conclude() Outcome {
	o := &j.out
	slices.SortStableFunc(o.Reasons, func(a, b Reason) int { return cmp.Compare(b.Verdict, a.Verdict) })
	for _, r := range o.Reasons {
		o.Verdict = max(o.Verdict, r.Verdict)
		work := r.Work
		if work == AdjustLockWork && (o.Diagnosis.Lock == wear.LockRenew || o.Diagnosis.Lock == wear.LockOver) {
			continue // an adjuster that is used up, or that nobody looked at
		}
		if work != "" && !slices.Contains(o.Work, work) {
			o.Work = append(o.Work, work)
		}
	}
	if len(o.Missing) > 0 {
		o.Verdict = max(o.Verdict, CannotTell)
	}
	if slices.Contains(o.Work, ReplacePinWork) && !slices.Contains(o.Work, AdjustLockWork) && !slices.Contains(o.Work, RenewLockWork) && !slices.Contains(o.Work, BackOffLock) {
		o.Work = append(o.Work, SetLockWork)
	}
	slices.SortStableFunc(o.Work, func(a, b string) int { return cmp.Compare(workOrder(a), workOrder(b)) })
	if len(o.Work) > 0 || o.Diagnosis.Do&wear.LeaveSetting != 0 {
		o.MustNot = mustNot
	}
	for _, r := range o.Reasons {
		if r.Verdict != DoNotUse {
			continue
		}
		switch {
		case partners[r.Measure] == Trailer && !slices.Contains(o.Partners, record.Kingpin):
			o.Partners = append(o.Partners, record.Kingpin)
		case partners[r.Measure] == Tractor && !slices.Contains(o.Partners, record.FifthWheel):
			o.Partners = append(o.Partners, record.FifthWheel)
		}
	}
	if o.Verdict == Repair {
		o.Repair = j.bound()
		if o.Repair == nil {
			o.Verdict = CannotTell
			j.lack(sayNoBound.with())
		}
	}
	return *o
}

// partners are the findings that spread: whoever met such a pin or lock since the
// last good measurement is looked at too.
var partners = map[string]Half{
	PinNeck: Trailer, PinCollar: Trailer, PinTilt: Trailer, PinGouge: Trailer, PinHeight: Trailer, "pin-loose": Trailer, "pin-cracked": Trailer, "pin-welded": Trailer,
	"burr-proud": Trailer, "flats-worn": Trailer, "wrong-size": Trailer,
	LockPlay: Tractor, JawMovement: Tractor, "lock-broken": Tractor, "lock-sticks": Tractor, "lever-stop": Tractor, "wheel-cracked": Tractor,
}

// bound is the latest date and distance of a repair: what was allowed or common
// practice, and never later than a forecast.
func (j *judge) bound() *Bound {
	b := j.ask.Allowed
	if b.On == (Date{}) || !(b.Distance > 0) {
		on, err := wear.AddMonths(j.ask.Today, repairMonths)
		if err != nil {
			return nil
		}
		b = Bound{on, repairDistance, rule.Practice, practice}
	}
	if f := j.ask.Forecast; f.On != (Date{}) && before(f.On, b.On) {
		b.On, b.Source = f.On, f.Source
	}
	if f := j.ask.Forecast; f.Distance > 0 && f.Distance < b.Distance {
		b.Distance, b.Source = f.Distance, f.Source
	}
	return &b
}
