package formula

import (
	"strings"

	"underpin/rule"
	"underpin/unit"
)

var lawTable = []*Calculation{
	{
		Name: "bridge-formula", Title: "US bridge formula: mass on a group of axles", Group: Law, Func: "rule.BridgeFormula",
		Inputs: []Key{
			count("axles", "5", "N, axles in the group"),
			quantity("length", unit.Ft, "51ft", "L, centre of the first to centre of the last axle of the group; taken to the nearest foot, an exact half foot up"),
			word("ties", []string{"down", "up"}, "down", "which way an exact …250 or …750 lb goes").or("down", "the statute leaves it open; down is the safe reading"),
		},
		Outputs:  []Output{{Name: "limit", Unit: "lb", Doc: "W, to the nearest 500 lb: the raw formula, without the caps on single axles, tandems and gross, and without the exception for two tandems"}},
		Formula:  "W = 500 · (L·N / (N − 1) + 12·N + 36)",
		Validity: "2 ≤ N ≤ 100 and 0 < L ≤ 500 ft. Up to 8 ft the law has the tandem limit in its place.",
		Source:   "23 U.S.C. 127(a)(2), release of 29 September 2025; rounding of the length: Wisconsin guide to s. 348.15(5m); ties: RCW 46.44.041 and California Vehicle Code 35551 go down, 67 Pa. Code § 185.3 goes up",
		Evidence: rule.Read,
		names:    map[string]string{"N": "axles", "L": "length"},
		run: func(a *Args) (*Result, error) {
			b, err := rule.BridgeFormula(a.count("axles"), a.length("length"), rule.Ties(a.word("ties")))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.put("limit", float64(b.Pounds), "lb")
			r.work("L = %s, to the nearest foot %d ft", in(float64(a.length("length")), unit.Ft), b.Feet)
			r.work("W = 500 · (%d · %d / %d + 12 · %d + 36) = %s lb, to the nearest 500 lb, ties %s: %s lb",
				b.Feet, b.Axles, b.Axles-1, b.Axles, num(b.Raw), a.word("ties"), num(float64(b.Pounds)))
			r.note("the raw formula: the caps of 20,000 lb on one axle, 34,000 lb on a tandem and 80,000 lb gross are limits of their own")
			return r, nil
		},
	},
	{
		Name: "reference-wheelbase", Title: "Wheelbase deemed to keep the turning circle", Group: Law, Func: "rule.ReferenceWheelbase",
		Inputs: []Key{
			length("width", "2.55m", "W, of the semi-trailer"),
			length("outer", "12.5m", "R, radius of the outer circle"),
			length("inner", "5.3m", "r, radius of the inner circle"),
			length("fitting-radius", "2.04m", "s, kingpin to the front corner"),
		},
		Outputs:  []Output{{Name: "limit", Unit: "m", Doc: "RWB, largest distance from kingpin to the centre of the axles that do not steer"}},
		Formula:  "RWB = √((R − s)² − (r + W/2)²)",
		Validity: "0 ≤ s, 0 < W, 0 < r and R − s > r + W/2, no steered trailer axle. It takes the kingpin on R − s, further out than real tractors carry it: to be deemed is no proof that a given pair turns well enough, and to fail it only loses the shortcut.",
		Source:   "Directive 97/27/EC, Annex I, 7.6.1.2; that the clause exists was read in SI 1998/1188 reg. 9, its formula is from memory and agrees with the 8.13 m of the press note on the French arrêté of 27 December 1999",
		Evidence: rule.Memory,
		names:    map[string]string{"W": "width", "R": "outer", "r": "inner", "s": "fitting-radius"},
		run: func(a *Args) (*Result, error) {
			ring := rule.Ring{Width: a.length("width"), Outer: a.length("outer"), Inner: a.length("inner"), FittingRadius: a.length("fitting-radius")}
			w, err := rule.ReferenceWheelbase(ring)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("limit", float64(w.Limit))
			r.work("RWB = √((%s − %s)² − (%s + %s/2)²) = √((%s)² − (%s)²) = %s", metres(ring.Outer), metres(ring.FittingRadius), metres(ring.Inner), metres(ring.Width),
				metres(w.Guide), metres(w.InnerCentre), metres(w.Limit))
			r.note("no proof that a given tractor and semi-trailer turn well enough: see turn-steady and legal-circle")
			return r, nil
		},
	},
	{
		Name: "longest-body", Title: "Longest square body by both kingpin dimensions", Group: Law, Func: "rule.LongestBody",
		Inputs: []Key{
			length("kingpin-to-rear", "12m", "k, limit from the kingpin axis to the rear"),
			length("front-radius", "2.04m", "s, limit from the kingpin axis to the front corner"),
			length("width", "2.55m", "W"),
		},
		Outputs: []Output{
			{Name: "front-overhang", Unit: "m", Doc: "a, kingpin axis to the front wall"},
			{Name: "length", Unit: "m", Doc: "of the body"},
		},
		Formula:  "a = √(s² − (W/2)²)\nlength = k + a",
		Validity: "0 < k and 0 < W < 2s, a square front.",
		Source:   "derived from Directive 96/53/EC, Annex I, points 1.6 and 4.4; trade press, 25 October 1990, prints 13.61 m for a width of 2.5 m",
		Evidence: rule.Derived,
		names:    map[string]string{"k": "kingpin-to-rear", "W": "width"},
		run: func(a *Args) (*Result, error) {
			k, s, W := a.length("kingpin-to-rear"), a.length("front-radius"), a.length("width")
			b, err := rule.LongestBody(k, s, W)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("front-overhang", float64(b.FrontOverhang))
			r.set("length", float64(b.Length))
			r.work("a = √((%s)² − (%s/2)²) = %s", metres(s), metres(W), metres(b.FrontOverhang))
			r.work("length = %s + %s = %s", metres(k), metres(b.FrontOverhang), metres(b.Length))
			return r, nil
		},
	},
	{
		Name: "axle-group-limit", Title: "What a law allows on an axle or an axle group", Group: Law, Func: "rule.AxleGroupLimit",
		Inputs: []Key{
			word("law", rule.Names(), "de", "rulebook"),
			word("kind", []string{"motor", "trailer"}, "trailer", "of the motor vehicle or of the semi-trailer"),
			count("axles", "3", "in the group; 1 for a single axle"),
			length("spacing", "1.31m", "between neighbouring axles; of no meaning for one axle").optional(),
			flag("drive", "false", "the group contains a driven axle").or("false", "the stricter case"),
			flag("twin-tyres", "false", "twin tyres").or("false", "the stricter case"),
			flag("air", "true", "air suspension, or one recognised as equivalent").or("false", "the stricter case"),
		},
		Outputs:  []Output{{Name: "limit", Unit: "", Doc: "in the law's own unit (t, kg or lb)"}},
		Formula:  "limit = table(law; motor vehicle or trailer, axles, spacing, driven,\ntwin tyres, air suspension)",
		Validity: "1 ≤ axles, and 0 < spacing for more than one. Facts that are not asked for are taken at their stricter value; domestic traffic is assumed. What the table does not cover is never extrapolated and has no answer.",
		Source:   "the law that the rulebook cites: among others Directive 96/53/EC, StVZO § 34, Code de la route R312-6, 23 U.S.C. 127; the answer names the rule that was applied",
		Evidence: rule.Read,
		Sample:   []string{"law=de", "kind=trailer", "axles=3", "spacing=1.31m", "air=true"},
		run:      runGroupLimit,
	},
	{
		Name: "german-gross", Title: "Gross of an articulated vehicle in Germany, by plate", Group: Law, Func: "rule.ArticulatedGross",
		Inputs: []Key{
			mass("tractor-gross", "18t", "G_T, permissible mass of the tractor"),
			mass("trailer-gross", "36t", "G_S, permissible mass of the semi-trailer"),
			mass("tractor-imposed", "10.5t", "S_T, permissible fifth-wheel load of the tractor"),
			mass("trailer-imposed", "12t", "S_S, permissible kingpin load of the semi-trailer"),
		},
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "the greater of the two imposed loads, which is taken off"},
			{Name: "gross", Unit: "kg", Doc: "G, before the caps by the number of axles"},
		},
		Formula:  "G = G_T + G_S − max(S_T, S_S)",
		Validity: "0 < S_T < G_T and 0 < S_S < G_S.",
		Source:   "StVZO § 34(7) no. 3, text of March 2022",
		Evidence: rule.Read,
		names:    map[string]string{"G_T": "tractor-gross", "G_S": "trailer-gross", "S_T": "tractor-imposed", "S_S": "trailer-imposed"},
		run: func(a *Args) (*Result, error) {
			p := rule.Plates{TractorGross: a.mass("tractor-gross"), TrailerGross: a.mass("trailer-gross"), TractorImposed: a.mass("tractor-imposed"), TrailerImposed: a.mass("trailer-imposed")}
			g, err := rule.ArticulatedGross(p)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(g.Imposed))
			r.set("gross", float64(g.Gross))
			r.work("G = %s + %s − max(%s, %s) = %s", tonnes(p.TractorGross), tonnes(p.TrailerGross), tonnes(p.TractorImposed), tonnes(p.TrailerImposed), tonnes(g.Gross))
			r.note("the caps by the number of axles (40 t and others) are limits of their own")
			return r, nil
		},
	},
}

func runGroupLimit(a *Args) (*Result, error) {
	q := rule.GroupQuery{
		Law: a.word("law"), Trailer: a.word("kind") == "trailer", Axles: a.count("axles"), Spacing: a.length("spacing"),
		Drive: a.truth("drive"), TwinTyres: a.truth("twin-tyres"), Air: a.truth("air"),
	}
	if q.Axles > 1 && !a.has("spacing") {
		return nil, a.lack("spacing (a length with its unit, such as 1.31m), since the group has more than one axle", "spacing")
	}
	l, err := rule.AxleGroupLimit(q)
	if err != nil {
		return nil, err
	}
	r := a.result()
	r.put("limit", l.Value, l.Unit.Symbol)
	r.Source, r.Evidence = l.Rule.Source(), l.Rule.Evidence
	what := "the group"
	if l.EachAxle {
		what = "each axle of the group"
	}
	if q.Axles == 1 {
		what = "the axle"
	}
	why := l.Why
	if why != "" {
		why = " (" + why + ")"
	}
	r.work("%s%s: %s on %s", l.Rule.Title, why, num(l.Value)+"\u00a0"+l.Unit.Symbol, what)
	if l.EachAxle {
		r.note("this law limits each axle of the group, not the group")
	}
	if len(l.Unless) > 0 {
		r.note("a laxer limit can apply, depending on %s", strings.Join(l.Unless, ", "))
	}
	if !l.Rule.Evidence.Certifies() {
		r.note("the rule is not verified (%s): it warns and certifies nothing", l.Rule.Evidence)
	}
	return r, nil
}
