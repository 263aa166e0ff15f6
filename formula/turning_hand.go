package formula

import (
	"underpin/rule"
	"underpin/turning"
)

// Formulas by hand, and of one unit or axle at a time.
var turningHandTable = []*Calculation{
	{
		Name: "offtracking", Title: "Off-tracking from the outer front wheel, by hand", Group: Turning, Func: "turning.Offtracking",
		Inputs: []Key{
			length("outer-wheel-radius", "50ft", "tr, turning radius at the outer front wheel"),
			length("half-track", "3.21ft", "ht, half of the front track"),
			length("wheelbase", "105in", "wb, of the tractor"),
			length("lead", "1ft", "ko, kingpin offset from the rear axle"),
			length("pin-to-bogie", "21ft", "ka, kingpin to trailer axle"),
		},
		Outputs:  []Output{{Name: "offtracking", Unit: "m", Doc: "OT, by which the trailer's axle runs inside the front axle once the turn is steady"}},
		Formula:  "ρ1 = sqrt(tr² − wb²) − ht\nOT = sqrt(wb² + ρ1²) − sqrt(ko² + ρ1² − ka²)",
		Validity: rolling + "; tr > wb > 0, ht ≥ 0, ka > 0 and ρ1 > 0. With ko² + ρ1² ≤ ka² there is no steady state.",
		Source:   "SAE-type off-tracking chart as printed in a city's public works document, page 53; the standard it follows was not read",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			in := turning.OfftrackingInput{OuterWheelRadius: a.length("outer-wheel-radius"), HalfTrack: a.length("half-track"), Wheelbase: a.length("wheelbase"),
				Lead: a.length("lead"), PinToBogie: a.length("pin-to-bogie")}
			o, err := turning.Offtracking(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("offtracking", float64(o.Offtracking))
			r.work("ρ1 = √((%s)² − (%s)²) − %s = %s", metres(in.OuterWheelRadius), metres(in.Wheelbase), metres(in.HalfTrack), metres(o.RearAxle))
			r.work("OT = √((%s)² + (%s)²) − √((%s)² + (%s)² − (%s)²) = %s", metres(in.Wheelbase), metres(o.RearAxle), metres(in.Lead), metres(o.RearAxle), metres(in.PinToBogie), metres(o.Offtracking))
			return r, nil
		},
	},
	{
		Name: "sum-of-squares", Title: "Off-tracking of a chain by the sum of squares", Group: Turning, Func: "turning.SumOfSquares",
		Inputs: []Key{
			length("radius", "10.8018653799m", "R, of the middle of the front axle"),
			length("length", "3.7m", "L, wheelbase of the tractor, then of each towed unit; repeated").repeated("3.7m", "7.7m"),
			length("lead", "0.575m", "e, lead of each hitch, of either sign; repeated, one fewer than length").repeated("0.575m").optional(),
		},
		Outputs: []Output{
			{Name: "offtracking", Unit: "m", Doc: "OT, once the turn is steady"},
			{Name: "linear", Unit: "m", Doc: "the linear form of old pocket books, which falls short in tight turns"},
		},
		Formula:  "OT = R − sqrt(R² − ΣL² + Σe²)\nlinear form: (ΣL² − Σe²) / (2·R)",
		Validity: rolling + "; R > 0, L > 0. Where the chain folds up there is no answer. Do not use the linear form below R ≈ 3·sqrt(ΣL²).",
		Source:   "algebra of the steady circle; handbook chapter 04, 1.9; the usual name of the form is from memory",
		Evidence: rule.Derived,
		Sample:   []string{"radius=10.8018653799m", "length=3.7m", "length=7.7m", "lead=0.575m"},
		names:    map[string]string{"lengths": "length", "leads": "lead"},
		run: func(a *Args) (*Result, error) {
			s, err := turning.SumOfSquares(a.length("radius"), a.lengths("length"), a.lengths("lead"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("offtracking", float64(s.Offtracking))
			r.set("linear", float64(s.Linear))
			R := a.length("radius")
			r.work("ΣL² − Σe² = %s m²", num(s.Sum))
			r.work("OT = %s − √((%s)² − %s m²) = %s", metres(R), metres(R), num(s.Sum), metres(s.Offtracking))
			r.work("linear form: %s m² / (2 · %s) = %s", num(s.Sum), metres(R), metres(s.Linear))
			return r, nil
		},
	},
	{
		Name: "turning-radius", Title: "Radius of the outer wheel from the inner one's angle", Group: Turning, Func: "turning.TurningRadius",
		Inputs: []Key{
			length("wheelbase", "198in", "WB"),
			length("track", "77in", "front track"),
			angle("inner-wheel-angle", "30deg", "TA, to which the inner front wheel turns"),
		},
		Outputs:  []Output{{Name: "radius", Unit: "m", Doc: "TR"}},
		Formula:  "TR = sqrt((WB/tan TA + track)² + WB²)",
		Validity: "WB > 0, track ≥ 0 and 0 < TA < 90°.",
		Source:   "formula and example as printed in a city's public works document, page 39",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			WB, track, TA := a.length("wheelbase"), a.length("track"), a.angle("inner-wheel-angle")
			R, err := turning.TurningRadius(WB, track, TA)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("radius", float64(R))
			r.work("TR = √((%s/tan %s + %s)² + (%s)²) = %s", metres(WB), degrees(TA), metres(track), metres(WB), metres(R))
			return r, nil
		},
	},
	{
		Name: "equivalent-axle", Title: "Axle about which a bogie really turns", Group: Turning, Func: "turning.EquivalentAxle",
		Inputs: []Key{
			length("at", "6.39m", "x, each axle behind the hitch; repeated; lifted and freely castoring axles left out").repeated("6.39m", "7.7m", "9.01m"),
		},
		Outputs: []Output{
			{Name: "centre", Unit: "m", Doc: "L, mean of the axles: the geometry that laws measure"},
			{Name: "equivalent", Unit: "m", Doc: "L_eq, with bogie scrub: the real bogie cuts in a little more"},
		},
		Formula:  "L_eq = Σx² / Σx = L + T/L",
		Validity: "axles of equal tyres at small slip, each behind the hitch.",
		Source:   "derived; handbook chapter 04, 1.6; the concept of the equivalent wheelbase: Winkler, Vehicle System Dynamics 29 (1998) 141, abstract only",
		Evidence: rule.Derived,
		names:    map[string]string{"axle behind the hitch": "at", "axles": "at"},
		run: func(a *Args) (*Result, error) {
			e, err := turning.EquivalentAxle(a.lengths("at"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("centre", float64(e.Centre))
			r.set("equivalent", float64(e.Equivalent))
			r.work("L = %s ,  T = %s m² ,  L_eq = %s + %s m²/%s = %s", metres(e.Centre), num(e.Spread), metres(e.Centre), num(e.Spread), metres(e.Centre), metres(e.Equivalent))
			return r, nil
		},
	},
	{
		Name: "longest-pin-to-bogie", Title: "Longest trailer behind a tractor for an inner radius", Group: Turning, Func: "turning.LongestPinToBogie",
		Inputs: keys(guideKeys(), []Key{
			length("width", "2.55m", "w, of the trailer"),
			length("inner", "5.3m", "radius that must stay free"),
		}),
		Outputs:  []Output{{Name: "pin-to-bogie", Unit: "m", Doc: "L2, largest distance from kingpin to equivalent axle with which the steady inner edge keeps the radius"}},
		Formula:  "L2 = sqrt(rH² − (inner + w/2)²)",
		Validity: rolling + "; R > a > 0, ρ1 > 0, w ≥ 0 and inner + w/2 > 0. If the kingpin itself runs inside that radius no trailer fits. With a coupling behind the axle the exit of a turn cuts in further: see turn.",
		Source:   fromTurns + "1.8 R4",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := turning.LongestInput{BoundInput: turning.BoundInput{GuideRadius: a.length("guide-radius"), GuideAhead: a.length("guide-ahead"),
				GuideLeft: a.length("guide-left"), Lead: a.length("lead")}, Width: a.length("width"), Inner: a.length("inner")}
			l, err := turning.LongestPinToBogie(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("pin-to-bogie", float64(l.PinToBogie))
			r.work("L2 = √((%s)² − (%s + %s/2)²) = %s", metres(l.Kingpin), metres(in.Inner), metres(in.Width), metres(l.PinToBogie))
			return r, nil
		},
	},
	{
		Name: "drift", Title: "Angle between a unit and the circle it is drawn on", Group: Turning, Func: "turning.Drift",
		Inputs: []Key{
			length("radius", "10m", "R, of the circle of the leading point"),
			length("length", "7.7m", "L, leading point to the unit's axle"),
			angle("turned", "90deg", "ψ, turned along the circle; negative when backing"),
			angle("start", "0deg", "φ0, at the beginning").or("0deg", "from a straight"),
		},
		Outputs: []Output{
			{Name: "drift", Unit: "deg", Doc: "φ, direction of the path against the unit's heading"},
			{Name: "axle-radius", Unit: "m", Doc: "r, of the middle of the axle about the circle's centre"},
		},
		Formula:  "dφ/dψ = 1 − k·sin φ,   k = R/L,   u = tan(φ/2),   u0 = tan(φ0/2)\nu = (u0·(1 − k·t) + t) / (1 + k·t − u0·t)\nr² = R² + L² − 2·R·L·sin φ",
		Validity: rolling + "; R > 0, L > 0, |φ0| < 180°. With R < L the unit folds up on the circle; the drift is continued past 180°.",
		Source:   "derived; handbook chapter 04, 1.4",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			d, err := turning.Drift(turning.DriftInput{Radius: a.length("radius"), Length: a.length("length"), Start: a.angle("start"), Turned: a.angle("turned")})
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("drift", float64(d.Drift))
			r.set("axle-radius", float64(d.AxleRadius))
			r.work("k = %s/%s = %s ,  φ(%s) = %s", metres(d.In.Radius), metres(d.In.Length), num(d.K), degrees(d.In.Turned), degrees(d.Drift))
			r.work("r = √((%s)² + (%s)² − 2 · %s · %s · sin %s) = %s", metres(d.In.Radius), metres(d.In.Length), metres(d.In.Radius), metres(d.In.Length), degrees(d.Drift), metres(d.AxleRadius))
			return r, nil
		},
	},
	{
		Name: "straighten", Title: "Articulation left after some way straight on", Group: Turning, Func: "turning.Straighten",
		Inputs: []Key{
			angle("start", "40deg", "γ0, articulation at the beginning"),
			length("length", "7.7m", "L, hitch to equivalent axle"),
			length("distance", "5m", "s, run by the hitch on the straight; negative when backing"),
		},
		Outputs:  []Output{{Name: "articulation", Unit: "deg", Doc: "γ"}},
		Formula:  "tan(γ/2) = tan(γ0/2)·exp(−s/L)",
		Validity: rolling + "; |γ0| < 180°, L > 0. Backing doubles the angle again every 0.69·L: the unit jackknifes.",
		Source:   "derived; handbook chapter 04, 1.4",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			g, L, s := a.angle("start"), a.length("length"), a.length("distance")
			γ, err := turning.Straighten(g, L, s)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("articulation", float64(γ))
			r.work("γ = 2 · atan(tan(%s/2) · exp(−%s/%s)) = %s", degrees(g), metres(s), metres(L), degrees(γ))
			return r, nil
		},
	},
}
