package formula

import (
	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
)

// The formulas of D, Dc and V were read where published pages print them, not in
// the regulation; each source says so.
var strengthTable = []*Calculation{
	{
		Name: "d-value", Title: "D-value that fifth wheel, plate and kingpin need", Group: Strength, Func: "rating.RequiredD",
		Inputs: []Key{
			mass("tractor-gross", "18t", "T, permissible mass of the tractor, the load on the fifth wheel included"),
			mass("trailer-gross", "36t", "R, permissible mass of the semi-trailer, the load on the kingpin included"),
			mass("imposed", "12t", "U, mass that the semi-trailer lays on the fifth wheel"),
		},
		Outputs:  []Output{{Name: "d", Unit: "kN", Doc: "D, which every part of the connection must be rated for; equal is enough"}},
		Formula:  "D = g · 0.6·T·R / (T + R − U)",
		Validity: "0 ≤ U < min(T, R), one fifth wheel in the train, g = 9.81 m/s². D is a rating for the approval test, no upper bound of the force on a road; U is checked apart.",
		Source:   "as printed in \"D-value (transport)\", en.wikipedia.org, and in a body-builder guide of 2015, part II p. 273; UN Regulation No. 55, 2.11.1, itself at second hand",
		Evidence: rule.Read,
		names:    map[string]string{"U": "imposed"},
		run: func(a *Args) (*Result, error) {
			d, err := rating.RequiredD(a.mass("tractor-gross"), a.mass("trailer-gross"), a.mass("imposed"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("d", float64(d.D))
			r.work("D = 9.81 m/s² · 0.6 · %s · %s / (%s + %s − %s) = %s", tonnes(d.T), tonnes(d.R), tonnes(d.T), tonnes(d.R), tonnes(d.U), kN(d.D))
			r.note("T + R − U = %s ought to be the planned mass of the combination; T or R entered without the imposed load gives a D that is too small", tonnes(d.Combined))
			return r, nil
		},
	},
	{
		Name: "d-value-limits", Title: "Greatest mass for which a given D-value suffices", Group: Strength, Func: "rating.TrailerMax",
		Inputs: []Key{
			force("d", "150kN", "D, the least rating of all parts of the connection"),
			mass("tractor-gross", "33t", "T, permissible mass of the tractor, the load on the fifth wheel included; left out when it is asked for").optional(),
			mass("trailer-gross", "36t", "R, permissible mass of the semi-trailer, the load on the kingpin included; left out when it is asked for").optional(),
			mass("imposed", "20t", "U, mass on the fifth wheel; left out when it is asked for").optional(),
		},
		Outputs: []Output{
			{Name: "trailer-max", Unit: "kg", Null: "D never governs it", Doc: "greatest R, where the trailer's mass was left out"},
			{Name: "tractor-max", Unit: "kg", Null: "D never governs it", Doc: "greatest T, where the tractor's mass was left out"},
			{Name: "imposed-max", Unit: "kg", Null: "D never governs it", Doc: "greatest U, where the imposed load was left out"},
			{Name: "unlimited", Doc: "true where D never governs the mass left out: other limits do"},
		},
		Formula: "R_max = D·(T − U) / (0.6·g·T − D)     if 0.6·g·T > D, else D never limits R\n" +
			"T_max = D·(R − U) / (0.6·g·R − D)     if 0.6·g·R > D, else D never limits T\n" +
			"U_max = T + R − 0.6·g·T·R / D",
		Validity: "D > 0, any two of the three masses, and 0 ≤ U below both T and R. If the imposed load alone asks for more than D there is no answer.",
		Source:   "derived from the formula of UN Regulation No. 55, 2.11.1; handbook chapter 01, 1.2",
		Evidence: rule.Derived,
		Sample:   []string{"d=150kN", "tractor-gross=33t", "imposed=20t"},
		run:      runDLimits,
	},
	{
		Name: "train-d", Title: "D-values of a B-double, a conservative estimate", Group: Strength, Func: "rating.LumpedD",
		Inputs: []Key{
			mass("tractor", "22.5t", "T, permissible mass of the tractor, the load on its fifth wheel included"),
			compound("trailer", "each semi-trailer from the front, coupled by a fifth wheel: u imposed load at its kingpin, a sum of its own axle loads", []string{"u:14t,a:20t", "u:13t,a:20t"},
				mass("u", "14t", "imposed load at its kingpin"), mass("a", "20t", "its own axle loads")),
		},
		Outputs:  []Output{{Name: "d", Unit: "kN", Each: true, Doc: "D of each coupling from the front"}},
		Formula:  "D_k = g · 0.6·T_k·R_k / (T_k + R_k − U_k)\nT_k = T + Σ_{i<k} A_i ,   R_k = U_k + Σ_{i≥k} A_i",
		Validity: "two semi-trailers or more, all joined by fifth wheels, none by a drawbar or dolly. All ahead of a coupling counts as tractor and all behind as trailer: an upper bound if UN R55, Annex 8, keeps the factor 0.6; it is not the value of Annex 8.",
		Source:   "derived from the formula of UN Regulation No. 55, 2.11.1; that Annex 8 keeps its factor is from memory. Handbook chapter 01, 1.3",
		Evidence: rule.Memory,
		names:    map[string]string{"tractor-gross": "tractor", "trailer-gross": "trailer", "trailers": "trailer", "imposed": "u", "trailer-axles": "a"},
		run: func(a *Args) (*Result, error) {
			all := a.all("trailer")
			trailers, out := make([]rating.Trailing, len(all)), make([]rating.DValue, len(all))
			for i := range all {
				trailers[i] = rating.Trailing{Imposed: all[i].mass(0), Axles: all[i].mass(1), FifthWheel: true}
			}
			if err := rating.LumpedD(a.mass("tractor"), trailers, out); err != nil {
				return nil, err
			}
			r := a.result()
			for i, d := range out {
				r.set("d"+num(float64(i+1)), float64(d.D))
				r.work("D_%d = 9.81 m/s² · 0.6 · %s · %s / (%s + %s − %s) = %s", i+1, tonnes(d.T), tonnes(d.R), tonnes(d.T), tonnes(d.R), tonnes(d.U), kN(d.D))
			}
			r.note(rating.Estimate)
			return r, nil
		},
	},
	{
		Name: "hinged-drawbar-d", Title: "D-value between a rigid vehicle and a full trailer", Group: Strength, Func: "rating.HingedDrawbarD",
		Inputs: []Key{
			mass("tractor", "26t", "T, permissible mass of the towing vehicle"),
			mass("trailer", "18t", "R, permissible mass of the full trailer"),
		},
		Outputs:  []Output{{Name: "d", Unit: "kN", Doc: "D that the coupling must be rated for"}},
		Formula:  "D = g · T·R / (T + R)",
		Validity: "T > 0, R > 0 and a hinged drawbar, which lays no load worth counting on the coupling.",
		Source:   "as printed in \"D-value (transport)\", en.wikipedia.org, which cites Directive 94/20/EC; the directive's formula itself at second hand. Handbook chapter 01, 1.2",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			T, R := a.mass("tractor"), a.mass("trailer")
			d, err := rating.HingedDrawbarD(T, R)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("d", float64(d))
			r.work("D = 9.81 m/s² · %s · %s / (%s + %s) = %s", tonnes(T), tonnes(R), tonnes(T), tonnes(R), kN(d))
			return r, nil
		},
	},
	{
		Name: "dc-value", Title: "Dc-value of a rigid vehicle with centre-axle trailer", Group: Strength, Func: "rating.RequiredDc",
		Inputs: []Key{
			mass("tractor", "26t", "T, permissible mass of the towing vehicle, the trailer's load on the coupling included"),
			mass("trailer-axles", "17t", "C, sum of the trailer's axle loads at its permissible mass, without the load on the coupling"),
		},
		Outputs:  []Output{{Name: "dc", Unit: "kN", Doc: "Dc that the coupling must be rated for"}},
		Formula:  "Dc = g · T·C / (T + C)",
		Validity: "T > 0, C > 0 and a rigid drawbar.",
		Source:   "as printed in \"D-value (transport)\", en.wikipedia.org, which cites Directive 94/20/EC; the directive's formula itself at second hand. Handbook chapter 01, 1.2",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			T, C := a.mass("tractor"), a.mass("trailer-axles")
			d, err := rating.RequiredDc(T, C)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("dc", float64(d))
			r.work("Dc = 9.81 m/s² · %s · %s / (%s + %s) = %s", tonnes(T), tonnes(C), tonnes(T), tonnes(C), kN(d))
			return r, nil
		},
	},
	{
		Name: "v-value", Title: "V-value of a centre-axle trailer", Group: Strength, Func: "rating.RequiredV",
		Inputs: []Key{
			quantity("acceleration", unit.MS2, "1.8m/s2", "a: 1.8 m/s² behind a driven or rear axle with air suspension or an equal one, else 2.4 m/s²"),
			length("load-length", "7.7m", "X, length of the loading area"),
			length("drawbar-length", "7.3m", "L, from the eye to the centre of the axles"),
			mass("trailer-axles", "17t", "C, sum of the trailer's axle loads"),
		},
		Outputs:  []Output{{Name: "v", Unit: "kN", Doc: "V, amplitude of the vertical force that the coupling must be rated for"}},
		Formula:  "V = a · (X²/L²) · C ,   X²/L² = 1 where it is smaller",
		Validity: "a centre-axle trailer over 3.5 t whose load on the coupling is at most 10 % of its mass and 1000 kg; an acceleration of 1.8 or 2.4 m/s²; X, L and C above 0.",
		Source:   "as printed in \"D-value (transport)\", en.wikipedia.org, which cites Directive 94/20/EC; the directive's formula itself at second hand. Handbook chapter 01, 1.2",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			in := rating.CentreAxle{Acceleration: unit.Accel(a.number("acceleration")), LoadLength: a.length("load-length"),
				DrawbarLength: a.length("drawbar-length"), Axles: a.mass("trailer-axles")}
			v, err := rating.RequiredV(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("v", float64(v.V))
			r.work("X²/L² = (%s)² / (%s)² = %s", metres(in.LoadLength), metres(in.DrawbarLength), num(float64(in.LoadLength*in.LoadLength/(in.DrawbarLength*in.DrawbarLength))))
			r.work("V = %s m/s² · %s · %s = %s", num(in.Acceleration), num(v.Ratio), tonnes(in.Axles), kN(v.V))
			if v.Short {
				r.note("X²/L² is below 1; 1 was used, as the formula asks")
			}
			return r, nil
		},
	},
	{
		Name: "approval-forces", Title: "Test forces that stand behind a marked D and U", Group: Strength, Func: "rating.ApprovalForces",
		Inputs: []Key{
			force("d", "150kN", "D marked on the fifth wheel"),
			mass("u", "20t", "U marked on the fifth wheel"),
			word("size", []string{"50", "90"}, "50", "nominal size of the kingpin that it takes").or("50", "the usual size"),
			flag("steered", "false", "approved for positive steering of the semi-trailer").or("false", "the usual fifth wheel"),
			length("lever", "0.5m", "lever of the side force on the pin guides, 0.4 to 0.6 m; of effect only if steered").or("0.5m", "middle of the range of the test"),
		},
		Outputs: []Output{
			{Name: "horizontal", Unit: "kN", Doc: "amplitude of the alternating horizontal force of the dynamic test"},
			{Name: "vertical-upper", Unit: "kN", Doc: "upper vertical force of the dynamic test"},
			{Name: "vertical-lower", Unit: "kN", Doc: "lower vertical force of the dynamic test"},
			{Name: "lift-no-set", Unit: "kN", Doc: "lifting force without lasting bend; from memory"},
			{Name: "lift-hold", Unit: "kN", Doc: "lifting force at which the pin does not come out; for size 50 confirmed by a published value, for 90 from memory"},
			{Name: "steering-moment", Unit: "N.m", Doc: "moment about the pin, if steered; from memory"},
			{Name: "steering-force", Unit: "kN", Doc: "the moment over the lever, if steered; from memory"},
		},
		Formula: "F_hw = ±0.6·D, for positive steering ±0.675·D\nF_sO = g·1.2·U ,  F_sU = g·0.4·U\nlift without lasting bend  = g·U\n" +
			"lift without separation    = g·2.5·U for size 50, the greater of g·1.6·U and 500 kN above\nsteering moment            = 0.75 m · D on a lever of 0.5 ± 0.1 m",
		Validity: "D > 0, U > 0, sizes 50 and 90, levers from 0.4 to 0.6 m. It explains what a rating means; it is not for sizing.",
		Source:   "UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2, for the dynamic test; lifting and steering, 3.7.2, are from memory. Handbook chapter 01, 4.1",
		Evidence: rule.Memory,
		run: func(a *Args) (*Result, error) {
			in := rating.Approval{D: a.force("d"), U: a.mass("u"), Size: rating.Size50, Steered: a.truth("steered"), Lever: a.length("lever")}
			if a.word("size") == "90" {
				in.Size = rating.Size90
			}
			f, err := rating.ApprovalForces(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("horizontal", float64(f.Horizontal))
			r.set("vertical-upper", float64(f.VerticalUpper))
			r.set("vertical-lower", float64(f.VerticalLower))
			r.set("lift-no-set", float64(f.LiftNoSet))
			r.set("lift-hold", float64(f.LiftHold))
			r.set("steering-moment", float64(f.SteeringMoment))
			r.set("steering-force", float64(f.SteeringForce))
			part := "0.6"
			if in.Steered {
				part = "0.675"
			}
			r.work("F_hw = %s · %s = %s", part, kN(in.D), kN(f.Horizontal))
			r.work("F_sO = 9.81 m/s² · 1.2 · %s = %s ,  F_sU = 9.81 m/s² · 0.4 · %s = %s", tonnes(in.U), kN(f.VerticalUpper), tonnes(in.U), kN(f.VerticalLower))
			r.work("lift without lasting bend %s, without separation %s", kN(f.LiftNoSet), kN(f.LiftHold))
			if in.Steered {
				r.work("steering moment = 0.75 m · %s = %s on a lever of %s: %s", kN(in.D), num(f.SteeringMoment/1e3)+" kN·m", metres(in.Lever), kN(f.SteeringForce))
			}
			r.note("the forces of the dynamic test were read; lifting and steering are from memory")
			return r, nil
		},
	},
}

func runDLimits(a *Args) (*Result, error) {
	D, T, R, U := a.force("d"), a.mass("tractor-gross"), a.mass("trailer-gross"), a.mass("imposed")
	keys := []string{"tractor-gross", "trailer-gross", "imposed"}
	var open []string
	for _, k := range keys {
		if !a.has(k) {
			open = append(open, k)
		}
	}
	switch len(open) {
	case 0:
		return nil, a.refuse("", "all three masses", "two of tractor-gross, trailer-gross and imposed; the third is the answer")
	case 2, 3:
		return nil, a.lack("two of tractor-gross, trailer-gross and imposed, each a mass with its unit; the third is the answer", open...)
	}
	r := a.result()
	var (
		limit rating.MassLimit
		err   error
		out   string
	)
	switch open[0] {
	case "trailer-gross":
		out = "trailer-max"
		if limit, err = rating.TrailerMax(D, T, U); err == nil {
			workDLimit(r, limit, "R", "T", D, T, U)
		}
	case "tractor-gross":
		out = "tractor-max"
		if limit, err = rating.TractorMax(D, R, U); err == nil {
			workDLimit(r, limit, "T", "R", D, R, U)
		}
	default:
		out = "imposed-max"
		if limit, err = rating.ImposedMax(D, T, R); err == nil {
			r.work("U_max = %s + %s − 0.6 · 9.81 m/s² · %s · %s / %s", tonnes(T), tonnes(R), tonnes(T), tonnes(R), kN(D))
			if limit.Unlimited {
				r.work("which is not below both T and R: D never governs U")
			} else {
				r.work("      = %s", tonnes(limit.Mass))
			}
		}
	}
	if err != nil {
		return nil, err
	}
	if limit.Unlimited {
		r.put(out, nan, "kg")
	} else {
		r.set(out, float64(limit.Mass))
	}
	r.truth("unlimited", limit.Unlimited)
	r.note("the rating for U, the axle loads and the sizes are limits of their own")
	return r, nil
}

func workDLimit(r *Result, limit rating.MassLimit, sought, known string, D unit.Force, mass, U unit.Mass) {
	if limit.Unlimited {
		r.work("0.6·g·%s = 0.6 · 9.81 m/s² · %s is not more than %s: D never limits %s", known, tonnes(mass), kN(D), sought)
		return
	}
	r.work("%s_max = %s · (%s − %s) / (0.6 · 9.81 m/s² · %s − %s) = %s", sought, kN(D), tonnes(mass), tonnes(U), tonnes(mass), kN(D), tonnes(limit.Mass))
}
