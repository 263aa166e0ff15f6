package formula

import (
	"fmt"

	"underpin/axleload"
	"underpin/rule"
	"underpin/unit"
)

const (
	levelGround = "level ground, rigid frames, a straight line, the trailer level at its design height, lead less than wheelbase, and tare weighed in the lift state for which wheelbase and lead are given"
	fromMoments = "derived from the balance of forces and moments; handbook chapter 03, "
)

// pairKeys are the inputs of a tractor with a semi-trailer, without its load.
func pairKeys(lead Key) []Key {
	return []Key{
		length("wheelbase", "3.7m", "L_T, front axle to the tractor's rear reaction line"),
		lead,
		mass("tare-front", "5.5t", "F_e, tractor alone on its front axle, ready to drive: driver, fuel, kit"),
		mass("tare-rear", "2.3t", "R_e, tractor alone on its rear line"),
		length("pin-to-bogie", "7.7m", "L, kingpin to the trailer's reaction line"),
		mass("tare-pin", "1.9t", "K_e, empty trailer's load at the kingpin"),
		mass("tare-bogie", "4.4t", "B_e, empty trailer's load on its axles"),
	}
}

func leadKey() Key {
	return length("lead", "0.6m", "e, fifth wheel ahead of the tractor's rear reaction line; behind it negative")
}

func payloadKeys() []Key {
	return []Key{
		mass("payload", "25.9t", "P"),
		payloadAt(),
	}
}

func payloadAt() Key {
	return length("payload-at", "5.2m", "x, centre of the payload behind the kingpin; ahead of it negative")
}

func keys(groups ...[]Key) []Key {
	var all []Key
	for _, g := range groups {
		all = append(all, g...)
	}
	return all
}

func (a *Args) pair() axleload.Pair {
	p := axleload.Pair{
		Wheelbase: a.length("wheelbase"), Lead: a.length("lead"), TareFront: a.mass("tare-front"), TareRear: a.mass("tare-rear"),
		PinToBogie: a.length("pin-to-bogie"), TarePin: a.mass("tare-pin"), TareBogie: a.mass("tare-bogie"),
	}
	if _, ok := a.calc.Key("payload"); ok {
		p.Payload = a.mass("payload")
	}
	if _, ok := a.calc.Key("payload-at"); ok {
		p.PayloadAt = a.length("payload-at")
	}
	return p
}

func itemKey(doc string, examples ...string) Key {
	return compound("item", doc, examples, mass("m", "5.8t", "its mass"), length("s", "0.6m", "its place"))
}

func (a *Args) items() []axleload.Item {
	all := a.all("item")
	items := make([]axleload.Item, len(all))
	for i := range all {
		items[i] = axleload.Item{Mass: all[i].mass(0), At: all[i].length(1)}
	}
	return items
}

var loadTable = []*Calculation{
	{
		Name: "axle-loads", Title: "Load at the kingpin and on every axle line", Group: Loads, Func: "axleload.Loads",
		Inputs: keys(pairKeys(leadKey()), payloadKeys()),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "K, at the kingpin"},
			{Name: "front", Unit: "kg", Doc: "F, on the tractor's front axle"},
			{Name: "rear", Unit: "kg", Doc: "R, on the tractor's rear line"},
			{Name: "bogie", Unit: "kg", Doc: "B, on the trailer's axles"},
			{Name: "gross", Unit: "kg", Doc: "mass of the combination"},
		},
		Formula:  "K = K_e + P (1 − x/L)           B = B_e + P x/L\nF = F_e + K e/L_T               R = R_e + K (L_T − e)/L_T",
		Validity: levelGround + ".",
		Source:   "derived from the balance of forces and moments; handbook chapter 03, 1.2. The same levers stand in a body-builder guide of 2015, part II p. 273",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			p := a.pair()
			res, err := axleload.Loads(p)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(res.Imposed))
			r.set("front", float64(res.Front))
			r.set("rear", float64(res.Rear))
			r.set("bogie", float64(res.Bogie))
			r.set("gross", float64(res.Gross))
			workPair(r, p, res)
			r.note("the tractor's axles carry %s together; its front axle %s of that, its rear line %s of the combination",
				kg(res.Tractor), percent(res.SteerShare()), percent(res.DriveShare()))
			if res.Negative {
				r.note("a support would have to pull down: the combination tips and cannot stand like this")
			}
			return r, nil
		},
	},
	{
		Name: "chain-loads", Title: "Loads of a B-double, dolly or road train", Group: Loads, Func: "axleload.Chain",
		Inputs: []Key{
			compound("unit", "each unit from the front: w its mass with load, x its centre of mass, l its rear reaction line, c its rear coupling (of no effect on the last), all behind its front support: the front axle of the first unit, the kingpin or the rigid drawbar's eye of the others",
				[]string{"w:9t,x:1.62444m,l:4.3m,c:3.95m", "w:23.5t,x:3.774468m,l:7.2m,c:7m", "w:30.5t,x:5.285246m,l:8.3m"},
				mass("w", "9t", "mass with its load"), length("x", "1.6m", "centre of mass"), length("l", "4.3m", "rear reaction line"), length("c", "3.95m", "rear coupling").optional()),
		},
		Outputs: []Output{
			{Name: "v", Unit: "kg", Each: true, Doc: "load on the front support of each unit; v1 is the steer line"},
			{Name: "b", Unit: "kg", Each: true, Doc: "load on the axle group of each unit"},
		},
		Formula:  "V_i = [ W_i (L_i − x_i) + V_{i+1} (L_i − c_i) ] / L_i\nB_i = W_i + V_{i+1} − V_i",
		Validity: "level ground, rigid units in a straight line, one reaction line for each axle group, L > 0, W ≥ 0, couplings that pass on vertical load and no moment. A hinged drawbar passes on no vertical load and is not a unit of this chain.",
		Source:   "derived from the balance of forces and moments of each unit; handbook chapter 03, 1.5",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			all := a.all("unit")
			units, out := make([]axleload.Unit, len(all)), make([]axleload.Support, len(all))
			for i := range all {
				units[i] = axleload.Unit{Mass: all[i].mass(0), Centre: all[i].length(1), Rear: all[i].length(2), Coupling: all[i].length(3)}
				if i < len(all)-1 && !all[i].parts[3].given {
					return nil, a.refuse("unit", fmt.Sprintf("no part c in %q", all[i].text), "the rear coupling c of every unit but the last")
				}
			}
			balance, err := axleload.Chain(units, out)
			if err != nil {
				return nil, err
			}
			r := a.result()
			for i, s := range out {
				r.set(fmt.Sprintf("v%d", i+1), float64(s.Front))
				r.set(fmt.Sprintf("b%d", i+1), float64(s.Rear))
			}
			for i := len(units) - 1; i >= 0; i-- {
				u, behind := units[i], unit.Mass(0)
				if i < len(units)-1 {
					behind = out[i+1].Front
					r.work("V_%d = [%s · (%s − %s) + %s · (%s − %s)] / %s = %s", i+1, kg(u.Mass), metres(u.Rear), metres(u.Centre), kg(behind), metres(u.Rear), metres(u.Coupling), metres(u.Rear), kg(out[i].Front))
				} else {
					r.work("V_%d = %s · (%s − %s) / %s = %s", i+1, kg(u.Mass), metres(u.Rear), metres(u.Centre), metres(u.Rear), kg(out[i].Front))
				}
				r.work("B_%d = %s + %s − %s = %s", i+1, kg(u.Mass), kg(behind), kg(out[i].Front), kg(out[i].Rear))
			}
			if n := balance.Negative; n >= 0 {
				r.note("unit %d has a support that would have to pull down: it tips, unless it is the eye of a rigid drawbar", n+1)
			}
			return r, nil
		},
	},
	{
		Name: "bogie-line", Title: "Reaction line of an axle group", Group: Loads, Func: "axleload.ReactionLine",
		Inputs: []Key{
			length("at", "6.39m", "p, place of each axle, from any one origin; repeated").repeated("6.39m", "7.7m", "9.01m"),
			share("share", "0.25", "λ, share of added load of each axle, in the order of at; repeated, together 1").repeated("0.25", "0.5", "0.25").with("at"),
		},
		Outputs:  []Output{{Name: "line", Unit: "m", Doc: "p*, from the same origin: where wheelbase or kingpin distance end"}},
		Formula:  "p* = Σ λ_j p_j",
		Validity: "shares that do not change with the load (an equaliser, a walking beam, common air bags, one state of a ratio control), none below 0, together 1.",
		Source:   "derived, balance of moments; handbook chapter 03, 1.3. For vehicles of many axles the German load-securing handbook, 6.2.5, calls the distance the technical wheelbase",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			at, shares := a.all("at"), a.all("share")
			g := make(axleload.Group, len(at))
			sum := ""
			for i := range at {
				g[i] = axleload.Axle{At: unit.Length(at[i].si), Share: shares[i].si}
				if i > 0 {
					sum += " + "
				}
				sum += num(shares[i].si) + " · " + metres(g[i].At)
			}
			line, err := axleload.ReactionLine(g)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("line", float64(line))
			r.work("p* = %s = %s", sum, metres(line))
			return r, nil
		},
	},
	{
		Name: "load-centre", Title: "Mass of a load and where its centre lies", Group: Loads, Func: "axleload.LoadCentre",
		Inputs: []Key{
			itemKey("each part of the load: m its mass, s its centre behind the headboard", "m:4.80t,s:1.20m", "m:5.40t,s:3.60m", "m:7.99t,s:6.55m", "m:3.00t,s:8.95m"),
		},
		Outputs: []Output{
			{Name: "mass", Unit: "kg", Doc: "m, of the whole load"},
			{Name: "at", Unit: "m", Doc: "s, its centre behind the headboard"},
		},
		Formula:  "m = Σ m_i ,   s = Σ m_i s_i / m",
		Validity: "masses of 0 or more at known places. A load that weighs nothing has no centre.",
		Source:   "definition of the centre of mass: mechanics of rigid bodies; handbook chapter 03, 1.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			items := a.items()
			c, err := axleload.LoadCentre(items)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("mass", float64(c.Mass))
			r.set("at", float64(c.At))
			moments := ""
			for i, it := range items {
				if i > 0 {
					moments += " + "
				}
				moments += kg(it.Mass) + " · " + metres(it.At)
			}
			r.work("m = %s", kg(c.Mass))
			r.work("s = (%s) / %s = %s", moments, kg(c.Mass), metres(c.At))
			r.note("a centre estimated 0.1 m wrong moves about 1 %% of the load between kingpin and axles")
			return r, nil
		},
	},
	{
		Name: "weighbridge", Title: "Payload and kingpin load from a weighbridge ticket", Group: Loads, Func: "axleload.FromTicket",
		Inputs: keys(pairKeys(leadKey()), []Key{
			mass("front", "7172kg", "F, weighed on the front axle"),
			mass("rear", "10937kg", "R, weighed on the tractor's rear line"),
			mass("bogie", "21891kg", "B, weighed on the trailer's axles"),
		}),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "K, from the tractor's two lines: the better way"},
			{Name: "imposed-from-rear", Unit: "kg", Doc: "K, from the rear line alone"},
			{Name: "difference", Unit: "kg", Doc: "the second less the first; far from 0 the lead or a tare is wrong"},
			{Name: "payload", Unit: "kg", Doc: "P"},
			{Name: "payload-at", Unit: "m", Doc: "x, its centre behind the kingpin"},
		},
		Formula:  "K = F + R − W_T          K = (R − R_e)/ρ\nP = K + B − W_te         x = (B − B_e) L / P",
		Validity: levelGround + ". Without payload there is no centre.",
		Source:   fromMoments + "1.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			t := axleload.Ticket{Pair: a.pair(), Front: a.mass("front"), Rear: a.mass("rear"), Bogie: a.mass("bogie")}
			w, err := axleload.FromTicket(t)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(w.Imposed))
			r.set("imposed-from-rear", float64(w.ImposedFromRear))
			r.set("difference", float64(w.Difference))
			r.set("payload", float64(w.Payload))
			r.set("payload-at", float64(w.PayloadAt))
			r.work("K = %s + %s − %s = %s", kg(t.Front), kg(t.Rear), kg(t.TareFront+t.TareRear), kg(w.Imposed))
			r.work("K = (%s − %s) / (1 − %s/%s) = %s", kg(t.Rear), kg(t.TareRear), metres(t.Lead), metres(t.Wheelbase), kg(w.ImposedFromRear))
			r.work("P = %s + %s − %s = %s", kg(w.Imposed), kg(t.Bogie), kg(t.TarePin+t.TareBogie), kg(w.Payload))
			r.work("x = (%s − %s) · %s / %s = %s", kg(t.Bogie), kg(t.TareBogie), metres(t.PinToBogie), kg(w.Payload), metres(w.PayloadAt))
			return r, nil
		},
	},
	{
		Name: "lift-state", Title: "How an empty unit stands in another lift state", Group: Loads, Func: "axleload.LiftState",
		Inputs: []Key{
			mass("front", "5.6t", "weighed on the front axle, or at the kingpin"),
			compound("axle", "each axle as weighed: at behind the front support, w the mass on it", []string{"at:2.75m,w:1.2t", "at:4.10m,w:2.2t"},
				length("at", "4.1m", "place behind the front support"), mass("w", "2.2t", "weighed on it")),
			length("line", "4.1m", "L′, reaction line of the other state behind the front support"),
		},
		Outputs: []Output{
			{Name: "centre", Unit: "m", Doc: "x_e, centre of mass behind the front support"},
			{Name: "tare-front", Unit: "kg", Doc: "V′, on the front axle or at the kingpin in the other state"},
			{Name: "tare-rear", Unit: "kg", Doc: "B′, on the reaction line of the other state"},
		},
		Formula:  "x_e = Σ w_ej p_j / W_e ,   W_e = w_front + Σ w_ej\nB′ = W_e x_e / L′ ,        V′ = W_e − B′",
		Validity: "level ground and a rigid unit whose parts do not shift, L′ > 0.",
		Source:   "derived, balance of moments; handbook chapter 03, 1.4",
		Evidence: rule.Derived,
		names:    map[string]string{"tare-front": "front", "tare": "w"},
		run: func(a *Args) (*Result, error) {
			all := a.all("axle")
			g := make(axleload.Group, len(all))
			for i := range all {
				g[i] = axleload.Axle{At: all[i].length(0), Tare: all[i].mass(1)}
			}
			line := a.length("line")
			t, err := axleload.LiftState(a.mass("front"), g, line)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("centre", float64(t.Centre))
			r.set("tare-front", float64(t.Front))
			r.set("tare-rear", float64(t.Rear))
			r.work("W_e = %s ,   x_e = %s", kg(t.Mass), metres(t.Centre))
			r.work("B′ = %s · %s / %s = %s", kg(t.Mass), metres(t.Centre), metres(line), kg(t.Rear))
			r.work("V′ = %s − %s = %s", kg(t.Mass), kg(t.Rear), kg(t.Front))
			if t.Negative {
				r.note("the empty unit would tip in this state")
			}
			return r, nil
		},
	},
	{
		Name: "elastic-supports", Title: "Axle loads of a frame on springs without an equaliser", Group: Loads, Func: "axleload.ElasticSupports",
		Inputs: []Key{
			compound("axle", "each sprung axle: at its place from any one origin, k its stiffness as a bare number, all in one unit", []string{"at:0m,k:400", "at:3.6m,k:1000", "at:4.95m,k:1000"},
				length("at", "3.6m", "place"), number("k", "any one unit of force per length", "1000", "stiffness of the axle")),
			mass("mass", "10t", "W, mass carried"),
			length("centre", "3m", "x_g, its centre from the same origin"),
		},
		Outputs: []Output{
			{Name: "load", Unit: "kg", Each: true, Doc: "load on each axle, in their order"},
			{Name: "lifts", Doc: "true where an axle would have to pull: it is off the ground and the loads do not hold"},
		},
		Formula:  "δ(p) = α + β p ,   load_j = k_j (α + β p_j)\nα = (W S_2 − W x_g S_1) / (S_0 S_2 − S_1²)\nβ = (W x_g S_0 − W S_1) / (S_0 S_2 − S_1²)\nS_0 = Σ k ,  S_1 = Σ k p ,  S_2 = Σ k p²",
		Validity: "linear springs, level ground, a rigid frame and axles in at least two places.",
		Source:   "derived, balance of forces and moments with Hooke's law; handbook chapter 03, 1.3 note 3",
		Evidence: rule.Derived,
		names:    map[string]string{"stiffness": "k"},
		run: func(a *Args) (*Result, error) {
			all := a.all("axle")
			springs, out := make([]axleload.Spring, len(all)), make([]unit.Mass, len(all))
			for i := range all {
				springs[i] = axleload.Spring{At: all[i].length(0), Stiffness: all[i].at(1)}
			}
			st, err := axleload.ElasticSupports(springs, a.mass("mass"), a.length("centre"), out)
			if err != nil {
				return nil, err
			}
			r := a.result()
			sum := ""
			for i, w := range out {
				r.set(fmt.Sprintf("load%d", i+1), float64(w))
				if i > 0 {
					sum += " + "
				}
				sum += kg(w)
			}
			r.truth("lifts", st.Lifts)
			r.work("W = %s at %s = %s", kg(a.mass("mass")), metres(a.length("centre")), sum)
			return r, nil
		},
	},
	{
		Name: "side-share", Title: "Share of an axle's load on the heavier side", Group: Loads, Func: "axleload.SideShare",
		Inputs: []Key{
			length("offset", "0.1m", "y, centre of mass off the middle"),
			length("track", "2.5m", "t, between the wheels of the two sides"),
		},
		Outputs:  []Output{{Name: "share", Bare: "share of the axle's load", Doc: "s, on the side towards which the centre lies; the other side carries the rest"}},
		Formula:  "s = ½ + y/t",
		Validity: "0 ≤ y ≤ t/2 on level ground; beyond, the far wheel lifts.",
		Source:   "derived; handbook chapter 03, 1.3 note 5",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			y, t := a.length("offset"), a.length("track")
			s, err := axleload.SideShare(y, t)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("share", s)
			r.work("s = 0.5 + %s / %s = %s", metres(y), metres(t), num(s))
			return r, nil
		},
	},
	{
		Name: "landing-legs", Title: "Load on the legs of a parked trailer; does it tip", Group: Loads, Func: "axleload.LandingLegs",
		Inputs: []Key{
			mass("mass", "13050kg", "W, trailer with what is left of its load"),
			length("centre", "2.69962m", "x_g, its centre behind the kingpin"),
			length("pin-to-bogie", "7.7m", "L, kingpin to the reaction line"),
			length("legs", "2.4m", "x_ℓ, legs behind the kingpin"),
			mass("truck", "4.5t", "w, fork-lift truck with its load, inside").optional(),
			length("truck-at", "-1m", "x_w, where it stands behind the kingpin; ahead of it negative").optional(),
			mass("leg-rating", "24t", "static rating of the pair of legs").optional(),
		},
		Outputs: []Output{
			{Name: "legs", Unit: "kg", Doc: "load on the pair of legs"},
			{Name: "bogie", Unit: "kg", Doc: "load on the axles"},
			{Name: "tips", Doc: "true where the nose or the tail goes over; the loads are then not an equilibrium"},
			{Name: "leg-use", Bare: "share of the rating", Null: "not known: no leg-rating was given", Doc: "load on the legs over their rating"},
		},
		Formula:  "legs  = [W (L − x_g) + w (L − x_w)] / (L − x_ℓ)\nbogie = [W (x_g − x_ℓ) + w (x_w − x_ℓ)] / (L − x_ℓ)",
		Validity: "level, firm ground and 0 < x_ℓ < L. Ask for the fork-lift truck that enters at the front while only the front is loaded.",
		Source:   "derived, balance of moments; handbook chapter 03, 1.6",
		Evidence: rule.Derived,
		run:      runLegs,
	},
}

func workPair(r *Result, p axleload.Pair, res axleload.Result) {
	r.work("K = %s + %s · (1 − %s/%s) = %s", kg(p.TarePin), kg(p.Payload), metres(p.PayloadAt), metres(p.PinToBogie), kg(res.Imposed))
	r.work("B = %s + %s · %s/%s = %s", kg(p.TareBogie), kg(p.Payload), metres(p.PayloadAt), metres(p.PinToBogie), kg(res.Bogie))
	r.work("F = %s + %s · %s/%s = %s", kg(p.TareFront), kg(res.Imposed), metres(p.Lead), metres(p.Wheelbase), kg(res.Front))
	r.work("R = %s + %s · (%s − %s)/%s = %s", kg(p.TareRear), kg(res.Imposed), metres(p.Wheelbase), metres(p.Lead), metres(p.Wheelbase), kg(res.Rear))
}

func runLegs(a *Args) (*Result, error) {
	in := axleload.Parked{Mass: a.mass("mass"), Centre: a.length("centre"), PinToBogie: a.length("pin-to-bogie"),
		Legs: a.length("legs"), LegRating: a.maybeMass("leg-rating")}
	switch {
	case a.has("truck") && !a.has("truck-at"):
		return nil, a.lack("where the fork-lift truck stands, such as -1m", "truck-at")
	case a.has("truck-at") && !a.has("truck"):
		return nil, a.lack("the mass of the fork-lift truck with its load, such as 4.5t", "truck")
	case a.has("truck"):
		in.Truck = &axleload.Item{Mass: a.mass("truck"), At: a.length("truck-at")}
	}
	s, err := axleload.LandingLegs(in)
	if err != nil {
		return nil, err
	}
	r := a.result()
	r.set("legs", float64(s.Legs))
	r.set("bogie", float64(s.Bogie))
	r.truth("tips", s.Tips)
	r.set("leg-use", s.LegUse)
	truck, tail := "", ""
	if in.Truck != nil {
		truck = fmt.Sprintf(" + %s · (%s − %s)", kg(in.Truck.Mass), metres(in.PinToBogie), metres(in.Truck.At))
		tail = fmt.Sprintf(" + %s · (%s − %s)", kg(in.Truck.Mass), metres(in.Truck.At), metres(in.Legs))
	}
	under := fmt.Sprintf("(%s − %s)", metres(in.PinToBogie), metres(in.Legs))
	r.work("legs  = [%s · (%s − %s)%s] / %s = %s", kg(in.Mass), metres(in.PinToBogie), metres(in.Centre), truck, under, kg(s.Legs))
	r.work("bogie = [%s · (%s − %s)%s] / %s = %s", kg(in.Mass), metres(in.Centre), metres(in.Legs), tail, under, kg(s.Bogie))
	switch {
	case s.NoseOver:
		r.note("the nose goes over: nothing is left on the axles, and the loads above are no equilibrium")
	case s.TailOver:
		r.note("the tail goes over: nothing is left on the legs, and the loads above are no equilibrium")
	default:
		r.note("what holds the nose up, about the legs, is %s N·m", num(s.Moment))
	}
	if !s.TruckGiven {
		r.note("no fork-lift truck was given: whether one that enters tips the trailer was not looked at")
	}
	if !s.RatingGiven {
		r.note("no leg-rating was given: whether the legs bear the load cannot be told")
	}
	return r, nil
}
