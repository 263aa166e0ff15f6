package formula

import (
	"fmt"
	"math"

	"underpin/rule"
	"underpin/turning"
	"underpin/unit"
)

const (
	rolling   = "walking pace, rolling without side-slip, axles that do not steer"
	fromTurns = "derived from rolling without side-slip; handbook chapter 04, "
)

// guideKeys say which point of the tractor is led on which circle.
func guideKeys() []Key {
	return []Key{
		length("guide-radius", "12.5m", "R, radius of the circle on which a point of the tractor is led; the turn is to the left"),
		length("guide-ahead", "5.075m", "a, that point ahead of the tractor's equivalent rear axle: the wheelbase for the middle of the front axle, the front overhang more for the front corner"),
		length("guide-left", "-1.275m", "b, that point left of the centre line; on the outer side negative"),
		length("lead", "0.575m", "e, kingpin ahead of the tractor's equivalent rear axle; behind it negative"),
	}
}

func pinToAxle() Key {
	return length("pin-to-bogie", "7.7m", "L2, kingpin to the trailer's equivalent axle")
}

func turnKeys() []Key {
	return keys(guideKeys(), []Key{pinToAxle(), length("width", "2.55m", "w, of tractor and trailer")})
}

func (a *Args) steady() turning.SteadyInput {
	return turning.SteadyInput{GuideRadius: a.length("guide-radius"), GuideAhead: a.length("guide-ahead"), GuideLeft: a.length("guide-left"),
		Lead: a.length("lead"), PinToBogie: a.length("pin-to-bogie"), Width: a.length("width")}
}

// longRun refuses a turn that would take more steps than any vehicle needs, so
// that a slip of the keyboard or a hostile form cannot keep a processor busy.
func (a *Args) longRun(path, step float64, most float64) error {
	if path/step <= most || !(step > 0) { // no step: the calculation refuses it itself
		return nil
	}
	return a.refuse("", fmt.Sprintf("a path of %s m in steps of %s m", num(path), num(step)), fmt.Sprintf("at most %s steps: lengths as vehicles have them", num(most)))
}

var turningTable = []*Calculation{
	{
		Name: "turn-steady", Title: "Circle on which tractor and semi-trailer settle", Group: Turning, Func: "turning.Steady",
		Inputs: turnKeys(),
		Outputs: []Output{
			{Name: "inner", Unit: "m", Doc: "radius of the trailer's inner edge; negative: the body covers the centre"},
			{Name: "outer", Unit: "m", Doc: "largest radius: of the guided point, of the tractor's outer side abreast of it, or of the trailer's outer edge at its axle"},
			{Name: "ring", Unit: "m", Doc: "outer less inner"},
			{Name: "articulation", Unit: "deg", Doc: "γ*, between tractor and trailer"},
		},
		Formula:  "sin φ* = a/R\nρ1  = sqrt(R² − a²) + b\nrH² = ρ1² + e²\nρ2² = rH² − L2²\nγ*  = asin(L2/rH) − atan(e/ρ1)\ninner = ρ2 − w/2\nouter = sqrt((ρ1 + w/2)² + a²)",
		Validity: rolling + "; R > 0, a > 0, L2 > 0, w ≥ 0, ρ1 > 0. With R ≤ a or rH ≤ L2 the combination folds up and there is no steady state: see turn and turn-to-articulation.",
		Source:   fromTurns + "1.3; Sayers, \"Exact equations for tractrix curves associated with vehicle offtracking\", Vehicle System Dynamics 20 (1991) 297, abstract only",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			s, err := turning.Steady(a.steady())
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("inner", float64(s.Inner))
			r.set("outer", float64(s.Outer))
			r.set("ring", float64(s.Ring))
			r.set("articulation", float64(s.Articulation))
			in := s.In
			r.work("ρ1 = √((%s)² − (%s)²) + (%s) = %s", metres(in.GuideRadius), metres(in.GuideAhead), metres(in.GuideLeft), metres(s.RearAxle))
			r.work("rH = √((%s)² + (%s)²) = %s", metres(s.RearAxle), metres(in.Lead), metres(s.Kingpin))
			r.work("ρ2 = √((%s)² − (%s)²) = %s", metres(s.Kingpin), metres(in.PinToBogie), metres(s.TrailerAxle))
			r.work("γ* = asin(%s/%s) − atan(%s/%s) = %s", metres(in.PinToBogie), metres(s.Kingpin), metres(in.Lead), metres(s.RearAxle), degrees(s.Articulation))
			r.work("inner = %s − %s/2 = %s ,  outer = %s ,  ring = %s", metres(s.TrailerAxle), metres(in.Width), metres(s.Inner), metres(s.Outer), metres(s.Ring))
			return r, nil
		},
	},
	{
		Name: "turn-steady-train", Title: "Steady circles of a tractor and several towed units", Group: Turning, Func: "turning.SteadyChain",
		Inputs: keys(guideKeys()[:3], []Key{
			length("width", "2.55m", "w, of every unit"),
			length("tractor-front", "5.075m", "tractor's front end ahead of its equivalent rear axle"),
			length("tractor-rear", "0.9m", "its rear end behind that axle"),
			compound("unit", "each towed unit from the front: e its hitch ahead of the equivalent axle of the unit in front (behind it negative), l hitch to its own equivalent axle, f its front end ahead of the hitch, r its rear end behind the hitch",
				[]string{"e:0.4m,l:6.5m,f:1.2m,r:8.4m", "e:-0.3m,l:7m,f:1.6m,r:11m"},
				length("e", "0.4m", "lead of the hitch"), length("l", "6.5m", "hitch to axle"), length("f", "1.2m", "front overhang"), length("r", "8.4m", "rear end")),
		}),
		Outputs: []Output{
			{Name: "inner", Unit: "m", Doc: "least radius of an inner edge"},
			{Name: "outer", Unit: "m", Doc: "largest radius of the guided point and of all corners"},
			{Name: "ring", Unit: "m", Doc: "outer less inner"},
			{Name: "axle", Unit: "m", Each: true, Doc: "radius of the middle of each unit's axle, the tractor's first"},
			{Name: "articulation", Unit: "deg", Each: true, Doc: "of each unit against the one in front; 0 for the tractor"},
		},
		Formula:  "rH_i² = ρ_i² + e_i²\nρ_(i+1)² = rH_i² − L_(i+1)²      so that ρ_n² = ρ1² + Σe² − ΣL²\nγ_i = asin(L_(i+1)/rH_i) − atan(e_i/ρ_i)",
		Validity: rolling + "; the ranges of turn-steady, unit by unit, at most seven towed units. Where a unit folds up there is no answer.",
		Source:   fromTurns + "1.3",
		Evidence: rule.Derived,
		names: map[string]string{"tractor rear end": "tractor-rear", "tractor length": "tractor-rear", "tractor width": "width", "lead": "e", "pin-to-bogie": "l",
			"towed unit front": "f", "towed unit rear end": "r", "towed unit length": "r", "towed unit width": "width", "towed units": "unit"},
		run: runSteadyTrain,
	},
	{
		Name: "turn", Title: "What a turn of any angle takes, from a straight", Group: Turning, Func: "turning.Turn",
		Inputs: keys(turnKeys(), []Key{
			angle("angle", "90deg", "turned by the guided path"),
			flag("exit", "true", "true: straight on after the arc, until the trailer has passed").or("false", "the run ends with the arc"),
			length("front-overhang", "1.5925m", "of the trailer, ahead of the kingpin"),
			length("rear-end", "12m", "of the trailer, behind the kingpin"),
		}),
		Outputs: []Output{
			{Name: "inner-axle", Unit: "m", Doc: "least distance of the trailer's inner edge, at its axle line, from the arc's centre, over the whole run"},
			{Name: "inner-body", Unit: "m", Doc: "least distance of the trailer's whole inner side; negative: the body passes over the centre"},
			{Name: "swing-out", Unit: "m", Doc: "of the trailer's rear end beyond the entry tangent; 0 if none"},
			{Name: "articulation-end", Unit: "deg", Doc: "at the end of the arc, positive when the trailer points to the right of the tractor"},
			{Name: "articulation-max", Unit: "deg", Doc: "largest, to either side, over the whole run"},
		},
		Formula:  "dφ/ds = κ − sin φ/a\ndγ/ds = p − (v·sin γ + e·p·cos γ)/L2\np = sin φ/a,  v = cos φ + (b/a)·sin φ,  κ = 1/R on the arc, 0 on the exit",
		Validity: rolling + "; both units aligned at the start, an angle above 0, a path of at most a million steps. No steady state is needed. If the guided point drifts to 90° or the trailer goes right round there is no answer. Exact to less than 0.1 mm; a real vehicle differs by centimetres.",
		Source:   "derived; handbook chapter 04, 1.2 to 1.5 and 4.3; entry tangent: StVZO § 32d (2)",
		Evidence: rule.Derived,
		Sample: []string{"guide-radius=12.5m", "guide-ahead=5.075m", "guide-left=-1.275m", "lead=0.575m", "pin-to-bogie=7.7m", "width=2.55m",
			"angle=90deg", "exit=true", "front-overhang=1.5925m", "rear-end=12m"},
		names: map[string]string{"trailer front": "front-overhang", "trailer rear end": "rear-end", "trailer length": "rear-end"},
		run: func(a *Args) (*Result, error) {
			in := turning.TurnInput{SteadyInput: a.steady(), Angle: a.angle("angle"), Exit: a.truth("exit"), FrontOverhang: a.length("front-overhang"), RearEnd: a.length("rear-end")}
			path := float64(in.GuideRadius)*float64(in.Angle) + 20*(float64(in.GuideAhead)+math.Abs(float64(in.Lead))+float64(in.PinToBogie)+math.Abs(float64(in.RearEnd)))
			if err := a.longRun(path, 0.02*min(float64(in.GuideAhead), float64(in.PinToBogie)), 1e6); err != nil {
				return nil, err
			}
			t, err := turning.Turn(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("inner-axle", float64(t.InnerAxle))
			r.set("inner-body", float64(t.InnerBody))
			r.set("swing-out", float64(t.SwingOut))
			r.set("articulation-end", float64(t.ArticulationEnd))
			r.set("articulation-max", float64(t.ArticulationMax))
			r.work("followed for %s of turn, %s along the arc, in steps of at most %s: φ = %s and γ = %s at its end", degrees(in.Angle), metres(in.GuideRadius*unit.Length(in.Angle)),
				metres(0.02*min(in.GuideAhead, in.PinToBogie)), degrees(t.DriftEnd), degrees(t.ArticulationEnd))
			if t.SwingOut > 0 {
				r.work("swing-out largest %s along the guided path", metres(t.SwingOutAt))
			}
			r.note("least distance of the tractor's own side from the centre: %s", metres(t.InnerTractor))
			return r, nil
		},
	},
	{
		Name: "legal-circle", Title: "One lap round the legal circle", Group: Turning, Func: "turning.LegalCircle",
		Inputs: []Key{
			length("outer", "12.5m", "R, radius of the circle; 12.50 m in the European rule"),
			length("tractor-front", "5.075m", "a, tractor's front end ahead of its equivalent rear axle"),
			length("tractor-rear", "0.9m", "its rear end behind that axle"),
			length("tractor-width", "2.55m", "w of the tractor"),
			length("lead", "0.575m", "e, kingpin ahead of that axle; behind it negative"),
			pinToAxle(),
			length("front-overhang", "1.5925m", "of the trailer, ahead of the kingpin"),
			length("rear-end", "12m", "of the trailer, behind the kingpin"),
			length("trailer-width", "2.55m", "w of the trailer"),
		},
		Outputs: []Output{
			{Name: "inner", Unit: "m", Doc: "least distance of any side from the centre during the lap"},
			{Name: "outer-max", Unit: "m", Null: "the combination does not come wholly onto the circle within the lap", Doc: "largest radius of any outer corner once the whole combination is on the circle"},
			{Name: "ring", Unit: "m", Doc: "larger of outer and outer-max, less inner"},
			{Name: "swing-out", Unit: "m", Doc: "largest crossing of the entry tangent"},
			{Name: "articulation-end", Unit: "deg", Doc: "after the lap"},
			{Name: "articulation-max", Unit: "deg", Doc: "largest during the lap"},
			{Name: "inner-steady", Unit: "m", Null: "it would fold up: there is no steady state", Doc: "inner radius if the circle went on for ever"},
		},
		Formula:  "a = front end ahead of the rear axle,  b = −w/2,  R = outer radius\nring = max(R, largest outer radius) − least inner distance",
		Validity: rolling + "; entered from a straight, both units aligned, one lap. The cab's corner is taken as square, which is on the safe side. If the corner cannot be led round, or the trailer goes right round, there is no answer.",
		Source:   "Directive 97/27/EC Annex I 7.6.1 (12.50 m and 5.30 m); StVZO § 32d: the foremost outer limit led on the circle, ring 7.20 m, crossing of the tangent 0.8 m; motion derived, handbook chapter 04, 4.4",
		Evidence: rule.Derived,
		names:    map[string]string{"outer radius": "outer", "tractor rear end": "tractor-rear", "tractor length": "tractor-rear", "trailer front": "front-overhang", "trailer rear end": "rear-end", "trailer length": "rear-end"},
		run: func(a *Args) (*Result, error) {
			in := turning.LegalInput{Outer: a.length("outer"),
				Tractor: turning.Tractor{Front: a.length("tractor-front"), Rear: a.length("tractor-rear"), Width: a.length("tractor-width")},
				Trailer: turning.Trailer{Lead: a.length("lead"), PinToBogie: a.length("pin-to-bogie"), FrontOverhang: a.length("front-overhang"), RearEnd: a.length("rear-end"), Width: a.length("trailer-width")}}
			if err := a.longRun(2*math.Pi*float64(in.Outer), 0.15*min(float64(in.Tractor.Front), float64(in.Trailer.PinToBogie)), 1e5); err != nil {
				return nil, err
			}
			l, err := turning.LegalCircle(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("inner", float64(l.Inner))
			r.set("outer-max", float64(l.OuterMax))
			r.set("ring", float64(l.Ring))
			r.set("swing-out", float64(l.SwingOut))
			r.set("articulation-end", float64(l.ArticulationEnd))
			r.set("articulation-max", float64(l.ArticulationMax))
			steady := nan
			if l.HasSteady {
				steady = float64(l.Steady.Inner)
			}
			r.set("inner-steady", steady)
			r.work("trailer's side %s, at its axle line %s, tractor's side %s from the centre: inner %s", metres(l.InnerBody), metres(l.InnerAxle), metres(l.InnerTractor), metres(l.Inner))
			r.work("ring = %s − %s = %s", metres(max(in.Outer, l.Inner+l.Ring)), metres(l.Inner), metres(l.Ring))
			r.work("swing-out: trailer's rear %s after %s of turn, its front %s, tractor's rear %s", metres(l.SwingOutRear), degrees(l.SwingOutRearAt), metres(l.SwingOutFront), metres(l.SwingOutTractor))
			return r, nil
		},
	},
	{
		Name: "turn-to-articulation", Title: "Turn until the articulation reaches a limit", Group: Turning, Func: "turning.TurnToArticulation",
		Inputs: keys(guideKeys(), []Key{pinToAxle(), angle("limit", "30deg", "articulation at which it ends, such as where trailer and cab touch")}),
		Outputs: []Output{
			{Name: "turned", Unit: "deg", Doc: "ψ, angle turned by the guided path, from a straight"},
			{Name: "drift", Unit: "deg", Doc: "φ, of the guided point there"},
		},
		Formula:  "γ(ψ) = limit",
		Validity: rolling + "; 0 < limit < 180°. If the articulation settles below the limit, does not reach it in ten laps, or the guided point can no longer follow, there is no answer.",
		Source:   "derived; handbook chapter 04, 1.5 and section 5, rule 2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := turning.FoldInput{SteadyInput: turning.SteadyInput{GuideRadius: a.length("guide-radius"), GuideAhead: a.length("guide-ahead"),
				GuideLeft: a.length("guide-left"), Lead: a.length("lead"), PinToBogie: a.length("pin-to-bogie")}, Limit: a.angle("limit")}
			if err := a.longRun(20*math.Pi*float64(in.GuideRadius), 0.02*min(float64(in.GuideAhead), float64(in.PinToBogie)), 1e6); err != nil {
				return nil, err
			}
			f, err := turning.TurnToArticulation(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("turned", float64(f.Turned))
			r.set("drift", float64(f.Drift))
			r.work("γ = %s at ψ = %s, φ = %s", degrees(in.Limit), degrees(f.Turned), degrees(f.Drift))
			return r, nil
		},
	},
	{
		Name: "swept-width", Title: "Widest place of the path in a turn", Group: Turning, Func: "turning.SweptWidth",
		Inputs: keys(guideKeys(), []Key{
			angle("angle", "90deg", "of the turn, up to 180°"),
			length("tractor-front", "5.075m", "tractor's front end ahead of its equivalent rear axle"),
			length("tractor-rear", "0.9m", "its rear end behind that axle"),
			length("tractor-width", "2.55m", "width of the tractor"),
			pinToAxle(),
			length("front-overhang", "1.5925m", "of the trailer, ahead of the kingpin"),
			length("rear-end", "12m", "of the trailer, behind the kingpin"),
			length("trailer-width", "2.55m", "width of the trailer"),
		}),
		Outputs: []Output{
			{Name: "width", Unit: "m", Doc: "greatest width, square to the guided path"},
			{Name: "azimuth", Unit: "deg", Doc: "where, from the beginning of the arc"},
			{Name: "outer", Unit: "m", Doc: "distance of the outer edge there from the arc's centre"},
			{Name: "inner", Unit: "m", Doc: "distance of the inner edge there"},
		},
		Formula:  "width = max over time (outer edge) − min over time (inner edge)",
		Validity: rolling + "; both units aligned at the start, 0 < angle ≤ 180°, lengths as vehicles have them. If the guided point cannot follow or the trailer goes right round there is no answer.",
		Source:   "the manoeuvre of 90° on 12.5 m: New Zealand method for estimating a vehicle's low speed turning performance; evaluation derived",
		Evidence: rule.Derived,
		names: map[string]string{"radius": "guide-radius", "towed unit front": "front-overhang", "towed unit rear end": "rear-end", "towed unit length": "rear-end", "towed unit width": "trailer-width",
			"tractor rear end": "tractor-rear", "tractor length": "tractor-rear"},
		run: runSwept,
	},
}

func runSteadyTrain(a *Args) (*Result, error) {
	train := turning.Train{GuideAhead: a.length("guide-ahead"), GuideLeft: a.length("guide-left"),
		Tractor: turning.Tractor{Front: a.length("tractor-front"), Rear: a.length("tractor-rear"), Width: a.length("width")}}
	all := a.all("unit")
	for i := range all {
		train.Towed = append(train.Towed, turning.Towed{Trailer: turning.Trailer{Lead: all[i].length(0), PinToBogie: all[i].length(1),
			FrontOverhang: all[i].length(2), RearEnd: all[i].length(3), Width: train.Tractor.Width}})
	}
	s, err := turning.SteadyChain(a.length("guide-radius"), train)
	if err != nil {
		return nil, err
	}
	r := a.result()
	r.set("inner", float64(s.Inner))
	r.set("outer", float64(s.Outer))
	r.set("ring", float64(s.Ring))
	r.work("ρ1 = √((%s)² − (%s)²) + (%s) = %s", metres(a.length("guide-radius")), metres(train.GuideAhead), metres(train.GuideLeft), metres(s.Units[0].Axle))
	for i, u := range s.Units {
		r.set(fmt.Sprintf("axle%d", i+1), float64(u.Axle))
		r.set(fmt.Sprintf("articulation%d", i+1), float64(u.Articulation))
		if i > 0 {
			t := train.Towed[i-1]
			r.work("unit %d: rH = √((%s)² + (%s)²) = %s ,  ρ = √((%s)² − (%s)²) = %s ,  γ = %s", i+1, metres(s.Units[i-1].Axle), metres(t.Lead), metres(u.Hitch),
				metres(u.Hitch), metres(t.PinToBogie), metres(u.Axle), degrees(u.Articulation))
		}
	}
	return r, nil
}

func runSwept(a *Args) (*Result, error) {
	in := turning.SweptInput{Radius: a.length("guide-radius"), Angle: a.angle("angle"), Train: turning.Train{
		GuideAhead: a.length("guide-ahead"), GuideLeft: a.length("guide-left"),
		Tractor: turning.Tractor{Front: a.length("tractor-front"), Rear: a.length("tractor-rear"), Width: a.length("tractor-width")},
		Towed: []turning.Towed{{Trailer: turning.Trailer{Lead: a.length("lead"), PinToBogie: a.length("pin-to-bogie"),
			FrontOverhang: a.length("front-overhang"), RearEnd: a.length("rear-end"), Width: a.length("trailer-width")}}},
	}}
	t, s := in.Train.Tractor, in.Train.Towed[0]
	reach := math.Abs(float64(in.Train.GuideAhead)) + math.Abs(float64(t.Front)) + math.Abs(float64(t.Rear)) + math.Abs(float64(s.Lead)) + math.Abs(float64(s.PinToBogie)) +
		math.Abs(float64(s.FrontOverhang)) + math.Abs(float64(s.RearEnd)) + math.Abs(float64(t.Width)) + math.Abs(float64(s.Width)) + math.Abs(float64(in.Train.GuideLeft))
	// Every place is looked at in every position, so the work grows with the
	// square of the steps.
	step := min(0.25, 0.15*min(float64(in.Train.GuideAhead), float64(s.PinToBogie)))
	if err := a.longRun(float64(in.Radius)*math.Abs(float64(in.Angle))+6*reach, step, 3000); err != nil {
		return nil, err
	}
	w, err := turning.SweptWidth(in)
	if err != nil {
		return nil, err
	}
	r := a.result()
	r.set("width", float64(w.Width))
	r.set("azimuth", float64(w.Azimuth))
	r.set("outer", float64(w.Outer))
	r.set("inner", float64(w.Inner))
	r.work("width = %s − %s = %s, %s along the guided path from the beginning of the arc", metres(w.Outer), metres(w.Inner), metres(w.Width), metres(w.Along))
	return r, nil
}
