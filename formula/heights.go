package formula

import (
	"underpin/clearance"
	"underpin/rule"
	"underpin/unit"
)

var heightTable = []*Calculation{
	{
		Name: "coupling-height", Title: "Height of the plate face above the ground", Group: Heights, Func: "clearance.CouplingHeight",
		Inputs: []Key{
			inMM("tyre-radius", "494mm", "r_stat, static tyre radius at the axle load"),
			inMM("suspension", "455mm", "h_susp, axle centre to frame top at ride height"),
			inMM("subframe", "0mm", "h_sub, subframe or mounting angles"),
			inMM("mounting-plate", "12mm", "h_plate"),
			inMM("fifth-wheel", "185mm", "h_5w, coupling from bolting face to plate face"),
		},
		Outputs: []Output{
			{Name: "coupling", Unit: "m", Doc: "Hc, plate level, at the kingpin"},
			{Name: "frame", Unit: "m", Doc: "frame top above the ground"},
		},
		Formula:  "Hc = r_stat + h_susp + h_sub + h_plate + h_5w",
		Validity: "r_stat > 0, h_5w > 0 and the others 0 or more. A coupling height is never one number: it is unladen, laden, and lowest and highest in the suspension's travel.",
		Source:   "plane geometry: addition along the chain of parts; definition of the height after SAE J701 Table 1; handbook chapter 04, 3.1 and 3.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			s := clearance.HeightStack{TyreRadius: a.length("tyre-radius"), Suspension: a.length("suspension"), Subframe: a.length("subframe"),
				MountingPlate: a.length("mounting-plate"), FifthWheel: a.length("fifth-wheel")}
			h, err := clearance.CouplingHeight(s)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("coupling", float64(h.Coupling))
			r.set("frame", float64(h.Frame))
			r.work("Hc = %s + %s + %s + %s + %s = %s", mm(s.TyreRadius), mm(s.Suspension), mm(s.Subframe), mm(s.MountingPlate), mm(s.FifthWheel), mm(h.Coupling))
			return r, nil
		},
	},
	{
		Name: "axle-drop", Title: "How far an axle on steel springs lets the frame down", Group: Heights, Func: "clearance.AxleDrop",
		Inputs: []Key{
			force("load", "63.765kN", "ΔF, change of axle load"),
			number("spring-rate", "N per mm of one spring", "700", "k, rate of one of the two springs"),
			inMM("tyre-sink", "22mm", "δ_tyre, sink of the tyres"),
		},
		Outputs:  []Output{{Name: "drop", Unit: "m", Doc: "δ"}},
		Formula:  "δ = ΔF/(2·k) + δ_tyre",
		Validity: "k > 0. A levelled air suspension keeps its height: only the tyres sink. Rates are vehicle data.",
		Source:   "Hooke's law; handbook chapter 04, 3.2",
		Evidence: rule.Derived,
		names:    map[string]string{"change of axle load": "load"},
		run: func(a *Args) (*Result, error) {
			F, k, sink := a.force("load"), a.number("spring-rate"), a.length("tyre-sink")
			d, err := clearance.AxleDrop(F, k/float64(unit.Millimetre), sink)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("drop", float64(d))
			r.work("δ = %s / (2 · %s N/mm) + %s = %s", kN(F), num(k), mm(sink), mm(d))
			return r, nil
		},
	},
	{
		Name: "coupling-drop", Title: "How far the coupling sinks when the axles do", Group: Heights, Func: "clearance.CouplingDrop",
		Inputs: []Key{
			inMM("rear-drop", "67.54642857mm", "δr, of the rear axle, tyres and springs"),
			inMM("front-drop", "22.658mm", "δf, of the front axle"),
			length("lead", "0.575m", "e, coupling ahead of the rear axle"),
			length("wheelbase", "3.7m", "L1"),
		},
		Outputs: []Output{
			{Name: "drop", Unit: "m", Doc: "ΔHc, of the coupling"},
			{Name: "tail-down", Unit: "deg", Doc: "β, pitch of the frame and of the mounting plane"},
		},
		Formula:  "ΔHc = δr·(1 − e/L1) + δf·(e/L1)\nβ   = atan((δr − δf)/L1)",
		Validity: "L1 > 0, a rigid frame on two axles.",
		Source:   "plane geometry, derived; handbook chapter 04, 3.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			dr, df, e, L := a.length("rear-drop"), a.length("front-drop"), a.length("lead"), a.length("wheelbase")
			d, err := clearance.CouplingDrop(dr, df, e, L)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("drop", float64(d.Coupling))
			r.set("tail-down", float64(d.TailDown))
			r.work("ΔHc = %s · (1 − %s/%s) + %s · %s/%s = %s", mm(dr), metres(e), metres(L), mm(df), metres(e), metres(L), mm(d.Coupling))
			r.work("β = atan((%s − %s)/%s) = %s", mm(dr), mm(df), metres(L), degrees(d.TailDown))
			return r, nil
		},
	},
	{
		Name: "trailer-tilt", Title: "Tilt and heights of a trailer coupled off its level", Group: Heights, Func: "clearance.TrailerTilt",
		Inputs: []Key{
			length("coupling-height", "1.15m", "Hc, of the tractor"),
			length("trailer-height", "1.1m", "Hk, of the trailer's plate when the trailer is level"),
			length("pin-to-bogie", "7.7m", "L2, kingpin to bogie, which stays at its ride height"),
			length("body-height", "2.85m", "ht, roof above the trailer's plate"),
			length("front", "1.6m", "xf, front end ahead of the kingpin"),
			length("rear", "12m", "xr, rear end behind the kingpin"),
		},
		Outputs: []Output{
			{Name: "tilt", Unit: "deg", Doc: "β, nose-up positive"},
			{Name: "front-top", Unit: "m", Doc: "H_front, roof above the road in front"},
			{Name: "rear-top", Unit: "m", Doc: "H_rear, roof above the road at the rear"},
		},
		Formula:  "tan β   = (Hc − Hk)/L2\nH_front = Hc + ht·cosβ + xf·sinβ\nH_rear  = Hc + ht·cosβ − xr·sinβ",
		Validity: "Hc > 0, Hk > 0, L2 > 0, |Hc − Hk| < L2, ht ≥ 0. Nothing that was read sets a tolerance for the mismatch.",
		Source:   "plane geometry, derived; handbook chapter 04, 3.4",
		Evidence: rule.Derived,
		names:    map[string]string{"mismatch": "coupling-height"},
		run: func(a *Args) (*Result, error) {
			c := clearance.CoupledTrailer{CouplingHeight: a.length("coupling-height"), TrailerHeight: a.length("trailer-height"), PinToBogie: a.length("pin-to-bogie"),
				BodyHeight: a.length("body-height"), Front: a.length("front"), Rear: a.length("rear")}
			t, err := clearance.TrailerTilt(c)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("tilt", float64(t.Angle))
			r.set("front-top", float64(t.FrontTop))
			r.set("rear-top", float64(t.RearTop))
			r.work("β = atan((%s − %s)/%s) = %s", metres(c.CouplingHeight), metres(c.TrailerHeight), metres(c.PinToBogie), degrees(t.Angle))
			r.work("H_front = %s + %s · cosβ + %s · sinβ = %s", metres(c.CouplingHeight), metres(c.BodyHeight), metres(c.Front), metres(t.FrontTop))
			r.work("H_rear = %s + %s · cosβ − %s · sinβ = %s", metres(c.CouplingHeight), metres(c.BodyHeight), metres(c.Rear), metres(t.RearTop))
			return r, nil
		},
	},
	{
		Name: "tyre-diameter", Title: "Diameter of a tyre from its size marking", Group: Heights, Func: "clearance.TyreDiameter",
		Inputs:   []Key{text("size", "315/70R22.5", "marking on the tyre; a service description after it is passed over")},
		Outputs:  []Output{{Name: "diameter", Unit: "mm", Doc: "D, unloaded; a real tyre differs by a few millimetres, and heights want the loaded radius"}},
		Formula:  "D = 25.4·rim + 2·width·aspect/100",
		Validity: "metric sizes, widths of 100 to 700 mm, aspects of 20 to 100 %, rims of 10 to 30 in.",
		Source:   "meaning of the marking (UN Regulation No. 54, tyre-size designation, from memory) and arithmetic; handbook chapter 04, 3.2",
		Evidence: rule.Memory,
		names:    map[string]string{"width": "size", "aspect": "size", "rim": "size"},
		run: func(a *Args) (*Result, error) {
			s, err := clearance.TyreDiameter(a.word("size"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("diameter", float64(s.Diameter))
			r.work("D = 25.4 mm/in · %s + 2 · %s · %s/100 = %s", in(float64(s.Rim), unit.In), mm(s.Width), num(s.Aspect), mm(s.Diameter))
			return r, nil
		},
	},
	{
		Name: "combination-length", Title: "Length of tractor and semi-trailer in line", Group: Heights, Func: "clearance.CombinationLength",
		Inputs: []Key{
			length("front-overhang", "1.375m", "af, front end of the tractor ahead of the front axle"),
			length("wheelbase", "3.7m", "L1"),
			length("lead", "0.575m", "e, coupling ahead of the axle that ends the wheelbase"),
			length("pin-to-rear", "12m", "xr, kingpin to the rear end of the trailer"),
		},
		Outputs: []Output{
			{Name: "length", Unit: "m", Doc: "of the combination"},
			{Name: "front-to-pin", Unit: "m", Doc: "front end of the tractor to the kingpin"},
		},
		Formula:  "front to pin = af + L1 − e\nlength       = af + L1 − e + xr",
		Validity: "af ≥ 0, L1 > 0, xr > 0. The most rearward position of a slider is the worst.",
		Source:   "plane geometry: addition; handbook chapter 04, 0 and 2.4",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			l := clearance.Layout{FrontOverhang: a.length("front-overhang"), Wheelbase: a.length("wheelbase"), Lead: a.length("lead"), PinToRear: a.length("pin-to-rear")}
			c, err := clearance.CombinationLength(l)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("length", float64(c.Length))
			r.set("front-to-pin", float64(c.FrontToPin))
			r.work("length = %s + %s − %s + %s = %s", metres(l.FrontOverhang), metres(l.Wheelbase), metres(l.Lead), metres(l.PinToRear), metres(c.Length))
			return r, nil
		},
	},
	{
		Name: "shortest-lead", Title: "Least lead with which the combination keeps a length", Group: Heights, Func: "clearance.ShortestLead",
		Inputs: []Key{
			length("limit", "16.5m", "L, longest length allowed"),
			length("front-overhang", "1.375m", "af, front end of the tractor ahead of the front axle"),
			length("wheelbase", "3.7m", "L1"),
			length("pin-to-rear", "12m", "xr, kingpin to the rear end of the trailer"),
		},
		Outputs: []Output{
			{Name: "min", Unit: "m", Doc: "e, least lead ahead of the axle that ends the wheelbase"},
			{Name: "front-to-pin", Unit: "m", Doc: "the most that may lie between tractor front and kingpin"},
		},
		Formula:  "af + L1 − e ≤ L − xr\ne ≥ af + L1 + xr − L",
		Validity: "L > 0, af ≥ 0, L1 > 0 and xr > 0.",
		Source:   "plane geometry: the length solved for the lead; handbook chapter 04, 0",
		Evidence: rule.Derived,
		names:    map[string]string{"length limit": "limit"},
		run: func(a *Args) (*Result, error) {
			L := a.length("limit")
			l := clearance.Layout{FrontOverhang: a.length("front-overhang"), Wheelbase: a.length("wheelbase"), PinToRear: a.length("pin-to-rear")}
			b, err := clearance.ShortestLead(L, l)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("min", float64(b.MinLead))
			r.set("front-to-pin", float64(b.FrontToPin))
			r.work("e ≥ %s + %s + %s − %s = %s", metres(l.FrontOverhang), metres(l.Wheelbase), metres(l.PinToRear), metres(L), metres(b.MinLead))
			return r, nil
		},
	},
}
