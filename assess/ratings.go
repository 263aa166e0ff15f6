package assess

import (
	"fmt"
	"math"

	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// evidenceOf turns where a marked value was read into evidence. Memory never
// certifies; a value nobody says the origin of is no better.
func evidenceOf(readFrom string) rule.Evidence {
	switch readFrom {
	case "plate", "document":
		return rule.Read
	}
	return rule.Memory
}

// A part of the coupling's chain with its marked values.
type part struct {
	id, title string
	who       interface{ Called() string }
	field     string // prefix of its fields
	d         *unit.Force
	u         *unit.Mass
	hasU      bool
	readFrom  string
}

func (b *builder) parts() []part {
	w, s := &b.p.Tractor.FifthWheel, b.p.Trailer
	mounting := w.Mounting
	if mounting == nil {
		mounting = &vehicle.Rated{}
	}
	return []part{
		{"fifth-wheel", "Fifth wheel", b.p.Tractor, "fifth-wheel ", w.D, w.Imposed, true, w.ReadFrom},
		{"mounting", "Mounting plate", b.p.Tractor, "fifth-wheel mounting ", mounting.D, mounting.Imposed, true, mounting.ReadFrom},
		{"kingpin", "Kingpin", s, "kingpin ", s.Kingpin.D, nil, false, s.Kingpin.ReadFrom},
	}
}

// ratings adds the findings on D, U and sizes, for every part of the chain.
func (b *builder) ratings() {
	b.dValue()
	p := b.p
	for _, part := range b.parts() {
		if !part.hasU {
			continue
		}
		for c := range p.Cases {
			l := &b.st.loads[c]
			miss := b.loadMissing(c)
			if part.u == nil {
				miss = append(miss, missing(part.who, part.field+"imposed"))
			}
			b.mark(&part, part.u != nil, line{sense: +1, a: l.imposed, limit: value(part.u)}, info{
				id: "rating.imposed." + part.id, title: part.title + ": imposed load U", cases: c, unit: inKG, calc: "axle-loads",
				source: "UN Regulation No. 55, Annex 4 (marking); marked on the " + lowerFirst(part.title), missing: miss, working: b.workImposed(c)})
		}
	}
	b.pinSize()
	b.wedge()
	b.classes()
}

// mark adds the finding on a part's marked value. One that was read decides. One
// from memory is shown, and warns; beside it stands a finding that binds and
// cannot be told until the mark is read, so that the answer is neither a pass nor
// silence.
func (b *builder) mark(p *part, known bool, l line, i info) {
	i.evidence, i.binding = rule.Read, true
	if ev := evidenceOf(p.readFrom); known && !ev.Certifies() {
		shown := i
		shown.evidence, shown.binding = ev, false
		b.add(l, shown)
		i.id, i.title = "unverified."+i.id, i.title+" not verified"
		i.evidence, i.advisory, i.working = rule.Derived, true, nil
		i.missing = append(i.missing[:len(i.missing):len(i.missing)], missing(p.who, p.field+"read-from plate or document (a value from memory certifies nothing)"))
		l.limit = nan
		l.a, l.b = nan, 0
	}
	b.add(l, i)
}

// dValue adds the reference force that the combination asks of each part. D
// rises with every mass, so the largest permissible ones are taken, each with
// the imposed load inside.
func (b *builder) dValue() {
	t, s := b.p.Tractor, b.p.Trailer
	base := append(unknown(t, "gross-plate", t.GrossPlate), unknown(s, "gross-plate", s.GrossPlate, "kingpin-plate", s.PinPlate)...)
	want := nan
	var reason []string
	if len(base) == 0 {
		d, err := rating.RequiredD(*t.GrossPlate, *s.GrossPlate, *s.PinPlate)
		if err != nil {
			reason = []string{"plates that go together: " + err.Error()}
		} else {
			want = float64(d.D)
		}
	}
	work := func(float64) string {
		T, R, U := *t.GrossPlate, *s.GrossPlate, *s.PinPlate
		return fmt.Sprintf("D = g·0.6·T·R/(T + R − U) = 9.81·0.6·%.4g·%.4g/(%.4g + %.4g − %.4g) = %s; T tractor, R semi-trailer, both with the imposed load U, in t, from the plates",
			T.Tonnes(), R.Tonnes(), T.Tonnes(), R.Tonnes(), U.Tonnes(), unit.Format(want, unit.KN, 2))
	}
	for _, part := range b.parts() {
		miss := append(base[:len(base):len(base)], reason...)
		if part.d == nil {
			miss = append(miss, missing(part.who, part.field+"d-value"))
		}
		b.mark(&part, part.d != nil, line{sense: +1, a: want, limit: value(part.d)}, info{
			id: "rating.d." + part.id, title: part.title + ": D-value", cases: -1, unit: unit.KN, calc: "d-value",
			source: "UN Regulation No. 55, 2.11.1; marked on the " + lowerFirst(part.title), missing: miss, working: work, advisory: true,
			failed: "The part is not rated for this combination."})
	}
}

// pinSize compares kingpin and jaw, and warns of a 50 mm pin under a heavy
// combination.
func (b *builder) pinSize() {
	t, s := b.p.Tractor, b.p.Trailer
	fit := rating.Fit{Pin: sizeOf(s.Kingpin.Size), Jaw: sizeOf(t.FifthWheel.Pin)}
	var gross unit.Mass
	if t.GrossPlate != nil && s.GrossPlate != nil && s.PinPlate != nil {
		gross = *t.GrossPlate + *s.GrossPlate - *s.PinPlate
		fit.Combination = &gross
	}
	found, err := rating.CheckSizes(fit, nil)
	if err != nil {
		return // validation keeps other sizes out
	}
	size := func(n rating.Size) float64 {
		if n == 0 {
			return nan
		}
		return float64(n) * 1e-3
	}
	for _, f := range found {
		i := info{id: "rating." + f.Rule.ID, title: upperFirst(f.Rule.Says), cases: -1, source: f.Rule.Source, evidence: rule.Evidence(f.Rule.Evidence), binding: f.Binding(), advisory: true}
		switch f.Rule.ID {
		case "pin-jaw-size":
			i.unit, i.scale = inMM, 1
			i.missing = append(unknown(s, "kingpin size", s.Kingpin.Size), unknown(t, "fifth-wheel pin", t.FifthWheel.Pin)...)
			i.failed = "The jaw cannot hold this pin. Never marry them with an adaptor (NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(2))."
			i.working = func(float64) string { return fmt.Sprintf("kingpin %d mm, jaw made for %d mm", fit.Pin, fit.Jaw) }
			b.add(line{sense: 0, a: size(fit.Pin), limit: size(fit.Jaw)}, i)
		case "pin-50-ceiling":
			if fit.Combination == nil {
				continue // the D-value names the plates that are missing
			}
			i.unit = inKG
			i.failed = "Above 80 t the trade uses the 90 mm pin, whatever the D-value allows."
			i.working = func(float64) string { return "T + R − U from the plates = " + fmtKG(float64(gross)) }
			b.add(line{sense: +1, a: float64(gross), limit: float64(rating.FiftyCeiling)}, i)
		}
	}
}

// sizeOf rounds 2 in and 3.5 in to the nominal 50 and 90 that they are called
// by; 0 is unknown.
func sizeOf(l *unit.Length) rating.Size {
	switch v := value(l); {
	case v > 0.049 && v < 0.052:
		return rating.Size50
	case v > 0.088 && v < 0.091:
		return rating.Size90
	}
	return 0
}

func upperFirst(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return string(s[0]-'a'+'A') + s[1:]
	}
	return s
}

// wedge holds a steering wedge against the fifth wheel's approval.
func (b *builder) wedge() {
	t, s := b.p.Tractor, b.p.Trailer
	if s.Wedge != nil && !*s.Wedge {
		return
	}
	found, err := rating.CheckWedge(rating.Steered{Approved: t.FifthWheel.Wedge}, nil)
	if err != nil {
		return
	}
	f := found[0]
	i := info{
		id: "rating." + f.Rule.ID, title: upperFirst(f.Rule.Says), cases: -1, unit: unit.One, evidence: rule.Evidence(f.Rule.Evidence), binding: f.Binding(), scale: 1, advisory: true,
		source: f.Rule.Source, failed: "The semi-trailer steers through a wedge and this fifth wheel is not approved for it.",
		working: func(float64) string { return "the semi-trailer has a steering wedge; 1 means approved" },
	}
	v := nan
	switch {
	case s.Wedge == nil:
		i.missing, i.binding = []string{missing(s, "steering-wedge")}, false // few have one: it warns
	case t.FifthWheel.Wedge == nil:
		i.missing = []string{missing(t, "fifth-wheel steering-wedge")}
	default:
		v = 0
		if *t.FifthWheel.Wedge {
			v = 1
		}
	}
	b.add(line{sense: 0, a: v, limit: 1}, i)
}

// classes adds what the approval classes, and a plate that rolls, say of each
// other. What only warns and is not known stays out.
func (b *builder) classes() {
	t, s := b.p.Tractor, b.p.Trailer
	w := &t.FifthWheel
	in := rating.Connected{FifthWheel: rating.Class(w.Class), Kingpin: rating.Class(s.Kingpin.Class), FifthWheelD: w.D, FifthWheelU: w.Imposed, StableTrailer: s.TorsionStiff, LockableTop: w.RollLocked}
	if w.Mounting != nil {
		in.PlateD, in.PlateU = w.Mounting.D, w.Mounting.Imposed
	}
	if w.Tilting != "" {
		rolls := w.Tilting == "pitch-and-roll"
		in.TwoAxis = &rolls
		if rolls && w.RollLocked != nil && *w.RollLocked && s.TorsionStiff != nil {
			stable := true // locked for the road, it cannot roll the tractor over
			in.StableTrailer = &stable
		}
	}
	found, err := rating.CheckClasses(in, nil)
	if err != nil {
		return // validation keeps such ratings out
	}
	for _, f := range found {
		v := nan
		switch f.Answer {
		case rating.Fits:
			v = 1
		case rating.DoesNotFit:
			v = 0
		}
		if math.IsNaN(v) && !f.Binding() {
			continue
		}
		i := info{
			id: "rating." + f.Rule.ID, title: upperFirst(f.Rule.Says), cases: -1, unit: unit.One, evidence: rule.Evidence(f.Rule.Evidence), binding: f.Binding(), scale: 1, advisory: true,
			source: f.Rule.Source, failed: "Not so: " + f.Rule.Says + ".",
			working: func(float64) string { return "from the marks and the data of both vehicles; 1 means it is so" },
		}
		if f.Rule.ID == "two-axis-stable" {
			i.missing = unknown(s, "torsionally-stiff", s.TorsionStiff)
			i.failed = "A plate that rolls lets this semi-trailer lean until the tractor is unstable; lock the roll for the road."
		}
		b.add(line{sense: 0, a: v, limit: 1}, i)
	}
}
