package turning

import (
	"math"

	"underpin/unit"
)

// LegalInput is a tractor with one semi-trailer that is led round the legal
// circle by its outer front corner.
type LegalInput struct {
	Outer   unit.Length // radius of the circle, 12.50 m in the European rule
	Tractor Tractor
	Trailer Trailer
}

// LegalResult is what one lap takes. Distances are from the centre.
type LegalResult struct {
	In LegalInput

	InnerAxle    unit.Length // least distance of the trailer's inner edge at its axle line
	InnerBody    unit.Length // least distance of the trailer's outline
	InnerTractor unit.Length // least distance of the tractor's outline
	Inner        unit.Length // least of the three

	OuterMax unit.Length // largest radius of any outer corner once wholly on the circle; NaN if it never is
	WholeAt  unit.Angle  // turned when the trailer's rear end has come onto the circle
	Ring     unit.Length // larger of Outer and OuterMax, less Inner

	SwingOut        unit.Length // largest crossing of the entry tangent, of the three below
	SwingOutRear    unit.Length // trailer's outer rear corner
	SwingOutRearAt  unit.Angle  // turned when that is largest
	SwingOutFront   unit.Length // trailer's outer front corner
	SwingOutTractor unit.Length // tractor's outer rear corner

	ArticulationEnd unit.Angle
	ArticulationMax unit.Angle

	HasSteady bool // false: the combination would fold up if the circle went on
	Steady    SteadyResult
}

// LegalCircle returns what a tractor and its semi-trailer take in the legal
// turning manoeuvre: from a straight, both aligned, the outer front corner of
// the tractor is led along the tangent and once round the circle. The motion
// is that of Turn with
//
//	a = front end ahead of the rear axle,  b = −w/2,  R = outer radius
//	ring = max(R, largest outer radius) − least inner distance
//
// The lengths are in m, the angles in rad. A point still on the entry side is
// held against the tangent, not the circle; the outer corners are held against
// the circle from the moment the trailer's rear end comes onto it. By how much
// a trailer is wider than its tractor counts as crossing. A measured lap is
// kinder than the steady circle, which stands beside it. Both directions are
// alike for a symmetrical vehicle. Extremes are refined on the solution and
// exact to 0.01 mm (how far a body covers the centre, to 1 mm). The cab's
// corner is taken as square, which is on the safe side.
//
// Valid for outlines with length and width, a front end ahead of the rear
// axle, pin to bogie > 0 and R > 0; otherwise the error is a
// *unit.DomainError. If the corner cannot be led round, or the trailer goes
// right round, the error is a *unit.NoAnswerError.
//
// Source: Directive 97/27/EC Annex I 7.6.1 (12.50 m and 5.30 m); StVZO § 32d:
// the foremost outer limit led on the circle, ring 7.20 m, crossing of the
// tangent 0.8 m; motion derived (handbook chapter 04, 4.4).
func LegalCircle(in LegalInput) (LegalResult, error) {
	const name = "legal circle"
	if err := in.check(name); err != nil {
		return LegalResult{}, err
	}
	R, a := float64(in.Outer), float64(in.Tractor.Front)
	w1, w2 := float64(in.Tractor.Width), float64(in.Trailer.Width)
	l := float64(in.Trailer.PinToBogie)
	if !(drift(R/a, 0, 2*math.Pi) < math.Pi/2) {
		return LegalResult{}, noAnswer(name, "the front corner cannot be led round: its drift against the tractor reaches 90°")
	}
	long := 0.3 * math.Min(a, l)
	run := walk{
		pair:   pair{a: a, b: -w1 / 2, e: float64(in.Trailer.Lead), l: l},
		stride: long, exact: 1e-10,
		cy:      R,
		tractor: outline{a, float64(in.Tractor.Rear), w1 / 2},
		trailer: outline{float64(in.Trailer.FrontOverhang) + l, float64(in.Trailer.RearEnd) - l, w2 / 2},
	}

	const (
		inner = 1<<innerAxle | 1<<innerTrailer | 1<<innerTractor | 1<<articulation
		swing = 1<<swingTrailer | 1<<swingFront | 1<<swingTractor
		outer = 1<<outerTrailer | 1<<outerFront | 1<<outerTractor
	)
	whole := run.whole(R)
	r := LegalResult{In: in, OuterMax: unit.Length(math.NaN()), WholeAt: unit.Angle(whole)}
	at, ok := run.start(), true
	stops := [3]float64{math.Min(whole, math.Pi), math.Max(math.Min(whole, 2*math.Pi), math.Pi), 2 * math.Pi}
	if math.IsNaN(whole) {
		stops[0], stops[1] = math.Pi, 2*math.Pi
	}
	from := 0.
	for _, to := range stops {
		if !(to > from) {
			continue
		}
		kinds := uint(inner)
		if from < math.Pi {
			kinds |= swing
		}
		if from >= whole {
			kinds |= outer
		}
		// The tail swings out early, while everything changes fast.
		run.stride = long
		if from == 0 {
			run.stride = long / 2
		}
		g := run.arc(R, from, to)
		if at, ok = run.follow(&g, at, kinds); !ok {
			return LegalResult{}, noAnswer(name, "the trailer goes right round: the articulation passes 180° after %.0f° of turn", unit.Angle((g.s0+at.s)/R).Degrees())
		}
		from = to
	}
	best := func(kind int) unit.Length { return unit.Length(run.peaks[kind].best) }
	r.InnerAxle, r.InnerBody, r.InnerTractor = -best(innerAxle), -best(innerTrailer), -best(innerTractor)
	r.Inner = min(r.InnerAxle, r.InnerBody, r.InnerTractor)
	if whole < 2*math.Pi {
		r.OuterMax = max(in.Outer, best(outerTrailer), best(outerFront), best(outerTractor)) // the guided corner runs on Outer
	}
	r.Ring = in.Outer - r.Inner
	if r.OuterMax > in.Outer { // not where it is NaN
		r.Ring = r.OuterMax - r.Inner
	}
	var sweptAt unit.Length
	r.SwingOutRear, sweptAt = run.swing(swingTrailer)
	r.SwingOutRearAt = unit.Angle(sweptAt / in.Outer)
	r.SwingOutFront, _ = run.swing(swingFront)
	r.SwingOutTractor, _ = run.swing(swingTractor)
	r.SwingOut = max(r.SwingOutRear, r.SwingOutFront, r.SwingOutTractor)
	r.ArticulationEnd = unit.Angle(at.γ.angle())
	r.ArticulationMax = run.folded()
	r.Steady, r.HasSteady = steady(SteadyInput{
		GuideRadius: in.Outer, GuideAhead: in.Tractor.Front, GuideLeft: -in.Tractor.Width / 2,
		Lead: in.Trailer.Lead, PinToBogie: in.Trailer.PinToBogie, Width: in.Trailer.Width,
	})
	return r, nil
}

func (in *LegalInput) check(formula string) error {
	c := check{formula: formula}
	c.positive("outer radius", in.Outer)
	c.positive("tractor front", in.Tractor.Front)
	c.outline("tractor", in.Tractor.Front, in.Tractor.Rear, in.Tractor.Width)
	c.given("lead", float64(in.Trailer.Lead))
	c.positive("pin-to-bogie", in.Trailer.PinToBogie)
	c.outline("trailer", in.Trailer.FrontOverhang, in.Trailer.RearEnd, in.Trailer.Width)
	return c.err
}

// whole returns the angle turned when the trailer's outer rear corner crosses
// the radius at which the circle begins, or NaN if it does not within a lap.
func (w *walk) whole(R float64) float64 {
	g := w.arc(R, 0, 2*math.Pi)
	behind := func(at state) float64 {
		_, trailer := w.frames(&g, &at)
		x, _ := trailer.at(-w.trailer.rear, -w.trailer.half)
		return x
	}
	at, stride := state{φ: half{0, 1}, γ: half{0, 1}}, w.step(g.κ, w.stride)
	x := behind(at)
	if x >= 0 {
		return 0
	}
	for at.s < g.length {
		next := stride.from(at)
		xn := behind(next)
		if xn < 0 {
			at, x = next, xn
			continue
		}
		lo, hi := 0., w.stride
		for i := 0; i < 8 && hi-lo > 1e-6*w.stride; i++ { // false position; the curve is almost straight
			mid := lo + (hi-lo)*x/(x-xn)
			if xm := behind(w.move(g.κ, at, mid)); xm < 0 {
				lo, x = mid, xm
			} else {
				hi, xn = mid, xm
			}
		}
		return (at.s + hi) / R
	}
	return math.NaN()
}
