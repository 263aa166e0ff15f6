package turning

import (
	"math"

	"underpin/unit"
)

// TurnInput is a left-hand turn of a tractor with one semi-trailer, entered
// from a straight with both units aligned.
type TurnInput struct {
	SteadyInput
	Angle         unit.Angle  // turned by the guided path
	Exit          bool        // straight on after the arc, until the trailer has passed
	FrontOverhang unit.Length // of the trailer, ahead of the kingpin
	RearEnd       unit.Length // of the trailer, behind the kingpin
}

// TurnResult is what the turn takes. Distances are from the centre of the arc.
type TurnResult struct {
	In              TurnInput
	InnerAxle       unit.Length // least distance of the trailer's inner edge at its axle line
	InnerBody       unit.Length // least distance of the trailer's whole side; negative: the body passes over the centre
	InnerTractor    unit.Length // least distance of the tractor's side, from its rear axle to the guided point
	SwingOut        unit.Length // of the trailer's rear end beyond the entry tangent; 0 if none
	SwingOutAt      unit.Length // path covered by the guided point when it is largest
	ArticulationEnd unit.Angle  // at the end of the arc
	ArticulationMax unit.Angle  // largest, to either side, over the whole run
	DriftEnd        unit.Angle  // φ at the end of the arc
}

// mostLaps keeps a slip of the keyboard from running for ever.
const mostLaps = 100

// Turn returns what a turn of any angle takes, exactly: the tractor's drift in
// closed form and the articulation by a fourth-order Magnus step,
//
//	dφ/ds = κ − sin φ/a
//	dγ/ds = p − (v·sin γ + e·p·cos γ)/L2
//	p = sin φ/a,  v = cos φ + (b/a)·sin φ,  κ = 1/R on the arc, 0 on the exit
//
//	R, a, b, e, L2, w as in Steady           m
//	s  distance along the guided path        m
//	φ, γ  drift and articulation             rad
//
// The extremes are those over the whole run, exit included; each is refined on
// the solution itself, so they are exact to 0.001 mm (a real vehicle
// differs by centimetres: bogie scrub, play, driver). The entry tangent is the
// line along which the outer side of the tractor ran before the turn; crossing
// it counts during the first half turn. Articulation is positive when the
// trailer points to the right of the tractor.
//
// Valid for the inputs of Steady, an angle above 0 and up to 100 laps, and a
// trailer whose rear end lies behind its front. Otherwise the error is a
// *unit.DomainError. No steady state is needed. The error is a
// *unit.NoAnswerError if the guided point drifts to 90°, so that no front
// wheel can follow, or if the trailer goes right round to 180°.
//
// Source: derived (handbook chapter 04, 1.2 to 1.5 and 4.3); entry tangent:
// StVZO § 32d (2).
func Turn(in TurnInput) (TurnResult, error) {
	const name = "turn"
	if err := in.check(name); err != nil {
		return TurnResult{}, err
	}
	c := check{formula: name}
	c.want(0 < in.Angle && in.Angle <= mostLaps*2*math.Pi, "angle", float64(in.Angle), "0 < angle ≤ 36000°")
	c.outline("trailer", in.FrontOverhang, in.RearEnd, max(in.Width, math.SmallestNonzeroFloat64))
	if c.err != nil {
		return TurnResult{}, c.err
	}
	R, ψ := float64(in.GuideRadius), float64(in.Angle)
	a, b, w := float64(in.GuideAhead), float64(in.GuideLeft), float64(in.Width)
	e, l, xr := float64(in.Lead), float64(in.PinToBogie), float64(in.RearEnd)
	φ := drift(R/a, 0, ψ)
	if !(φ < math.Pi/2) {
		return TurnResult{}, noAnswer(name, "the guided point cannot follow the circle so far: its drift against the tractor reaches 90°")
	}
	run := walk{
		pair: pair{a: a, b: b, e: e, l: l},
		// Ten times finer than the legal circle needs; exact to 1e-9 m.
		stride: 0.02 * math.Min(a, l), exact: 1e-12,
		cy: R, tangent: -b - w/2,
		tractor: outline{front: a, half: w / 2},
		trailer: outline{float64(in.FrontOverhang) + l, xr - l, w / 2},
	}
	const inner = 1<<innerAxle | 1<<innerTrailer | 1<<innerTractor | 1<<articulation
	at := run.start()
	var arc leg
	ok := true
	for from := 0.; from < ψ && ok; {
		// The first half turn is a leg of its own: there the swing-out counts.
		to, kinds := ψ, uint(inner)
		if from == 0 {
			to, kinds = math.Min(ψ, math.Pi), inner|1<<swingTrailer
		}
		arc = run.arc(R, from, to)
		at, ok = run.follow(&arc, at, kinds)
		from = to
	}
	r := TurnResult{In: in, ArticulationEnd: unit.Angle(at.γ.angle()), DriftEnd: unit.Angle(φ)}
	if ok && in.Exit {
		x, y, _, _ := arc.point(arc.length)
		exit := leg{x: x, y: y, ψ: ψ, s0: R * ψ, length: 2 * (a + math.Abs(e) + math.Max(xr, l))}.aimed()
		kinds := uint(inner)
		if ψ < math.Pi {
			kinds |= 1 << swingTrailer
		}
		at, ok = run.follow(&exit, at, kinds)
	}
	if !ok {
		return TurnResult{}, noAnswer(name, "the trailer goes right round: the articulation passes 180° within %.2f m of path", arc.s0+at.s)
	}
	r.InnerAxle = -unit.Length(run.peaks[innerAxle].best)
	r.InnerBody = -unit.Length(run.peaks[innerTrailer].best)
	r.InnerTractor = -unit.Length(run.peaks[innerTractor].best)
	r.ArticulationMax = run.folded()
	r.SwingOut, r.SwingOutAt = run.swing(swingTrailer)
	return r, nil
}

// arc is the part of the circle between two angles turned.
func (w *walk) arc(R, from, to float64) leg {
	sin, cos := math.Sincos(from)
	return leg{x: R * sin, y: R - R*cos, ψ: from, κ: 1 / R, s0: R * from, length: R * (to - from), cos: cos, sin: sin}
}

// folded is the largest articulation to either side.
func (w *walk) folded() unit.Angle {
	return unit.Angle(2 * math.Asin(math.Min(1, w.peaks[articulation].best)))
}

// dust is the crossing that counts as none: the aligned vehicle's own side,
// as far as rounding knows it.
const dust = 1e-9

func (w *walk) swing(kind int) (out, at unit.Length) {
	if p := w.peaks[kind]; p.best > dust {
		return unit.Length(p.best), unit.Length(p.at)
	}
	return 0, 0
}

// FoldInput asks when a combination folds to a limit.
type FoldInput struct {
	SteadyInput
	Limit unit.Angle // of the articulation, to the left
}

// FoldResult is how far it turns until then.
type FoldResult struct {
	In     FoldInput
	Turned unit.Angle // of the guided path
	Drift  unit.Angle // φ of the guided point there
}

// TurnToArticulation returns the angle of turn, from a straight, at which the
// articulation first reaches a limit such as the angle at which trailer and
// cab touch. It is the answer for combinations that fold up on the circle and
// have no steady state. The articulation is that of Turn:
//
//	γ(ψ) = limit
//
//	ψ  angle turned by the guided path    rad
//
// Valid for the inputs of Steady and 0 < limit < 180°; otherwise the error is
// a *unit.DomainError. If the articulation settles below the limit, does not
// reach it in ten laps, or the guided point can no longer follow, the error is
// a *unit.NoAnswerError.
//
// Source: derived (handbook chapter 04, 1.5 and section 5, rule 2).
func TurnToArticulation(in FoldInput) (FoldResult, error) {
	const name = "turn to articulation"
	if err := in.check(name); err != nil {
		return FoldResult{}, err
	}
	c := check{formula: name}
	c.want(0 < in.Limit && in.Limit < math.Pi, "limit", float64(in.Limit), "0 < limit < 180°")
	if c.err != nil {
		return FoldResult{}, c.err
	}
	R := float64(in.GuideRadius)
	p := pair{a: float64(in.GuideAhead), b: float64(in.GuideLeft), e: float64(in.Lead), l: float64(in.PinToBogie)}
	h, end := 0.02*math.Min(p.a, p.l), 10*2*math.Pi*R
	stride := p.step(1/R, h)
	at := state{φ: half{0, 1}, γ: half{0, 1}}
	over := func(s state) float64 { return s.γ.angle() - float64(in.Limit) }
	for at.s < end {
		next := stride.from(at)
		if !(next.φ.angle() < math.Pi/2) {
			return FoldResult{}, noAnswer(name, "the guided point cannot follow the circle so far: its drift against the tractor reaches 90° after %.1f° of turn", unit.Angle(next.s/R).Degrees())
		}
		if over(next) >= 0 {
			lo, hi := 0., h
			for hi-lo > 1e-12*h {
				mid := (lo + hi) / 2
				if over(p.move(1/R, at, mid)) >= 0 {
					hi = mid
				} else {
					lo = mid
				}
			}
			next = p.move(1/R, at, hi)
			return FoldResult{In: in, Turned: unit.Angle(next.s / R), Drift: unit.Angle(next.φ.angle())}, nil
		}
		at = next
	}
	return FoldResult{}, noAnswer(name, "the articulation stands at %.2f° after ten laps, below the limit", unit.Angle(at.γ.angle()).Degrees())
}
