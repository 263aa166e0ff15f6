package formula

import (
	"fmt"
	"math"
	"strings"

	"underpin/axleload"
	"underpin/rule"
	"underpin/unit"
)

// limitKeys are the limits of a pair by their names.
func limitKeys(names ...string) []Key {
	all := map[string]Key{
		"max-front":       mass("max-front", "7.5t", "F_max, limit on the front axle"),
		"max-rear":        mass("max-rear", "11.5t", "R_max, limit on the tractor's rear line"),
		"max-tractor":     mass("max-tractor", "18t", "G_T, limit on the tractor's axles together"),
		"max-imposed":     mass("max-imposed", "12t", "K_max, limit at the kingpin: the trailer's plate or the coupling's U, whichever is less"),
		"max-bogie":       mass("max-bogie", "24t", "B_max, limit on the trailer's axles"),
		"max-gross":       mass("max-gross", "40t", "G, limit on the combination"),
		"min-drive-share": share("min-drive-share", "25%", "φ_d, least share of the combination's actual mass on the driven axles"),
		"min-steer-share": share("min-steer-share", "20%", "φ_s, least share of the tractor's actual mass on its front axle"),
	}
	var out []Key
	for _, n := range names {
		out = append(out, all[n].optional())
	}
	return out
}

// limits reads the limits that the calculation has keys for and notes those
// that were not given.
func (a *Args) limits() (lim axleload.Limits, open []string) {
	masses := map[string]**unit.Mass{
		"max-front": &lim.MaxFront, "max-rear": &lim.MaxRear, "max-tractor": &lim.MaxTractor,
		"max-imposed": &lim.MaxImposed, "max-bogie": &lim.MaxBogie, "max-gross": &lim.MaxGross,
	}
	shares := map[string]**float64{"min-drive-share": &lim.MinDriveShare, "min-steer-share": &lim.MinSteerShare}
	for i := range a.calc.Inputs {
		k := a.calc.Inputs[i].Name
		if m, ok := masses[k]; ok {
			*m = a.maybeMass(k)
		} else if s, ok := shares[k]; ok {
			*s = a.maybeNumber(k)
		} else {
			continue
		}
		if !a.has(k) {
			open = append(open, k)
		}
	}
	return lim, open
}

func (r *Result) open(limits []string) {
	if len(limits) > 0 {
		r.note("not looked at, because not given: %s", strings.Join(limits, ", "))
	}
}

var limitTable = []*Calculation{
	{
		Name: "payload-limit", Title: "Most payload with its centre at one place", Group: Limits, Func: "axleload.PayloadLimit",
		Inputs: keys(pairKeys(leadKey()), []Key{payloadAt()},
			limitKeys("max-front", "max-rear", "max-tractor", "max-imposed", "max-bogie", "max-gross", "min-drive-share", "min-steer-share")),
		Outputs: []Output{
			{Name: "payload", Unit: "kg", Null: "none of the limits given bounds it there", Doc: "P, the most that keeps every limit given"},
			{Name: "governed-by", Doc: "the limit that is reached, by its key; empty where none bounds it"},
		},
		Formula: "gross         d = 1                      n = G − W_T − W_te\n" +
			"imposed       d = 1 − x/L                n = K_max − K_e\n" +
			"tractor       d = 1 − x/L                n = G_T − W_T − K_e\n" +
			"front         d = (e/L_T)(1 − x/L)       n = F_max − F_e − K_e e/L_T\n" +
			"rear          d = ρ (1 − x/L)            n = R_max − R_e − K_e ρ\n" +
			"bogie         d = x/L                    n = B_max − B_e\n" +
			"steer share   d = (φ_s − e/L_T)(1 − x/L) n = F_e + K_e e/L_T − φ_s (W_T + K_e)\n" +
			"drive share   d = φ_d − κ (1 − x/L)      n = D_e + κ K_e − φ_d (W_T + W_te)",
		Validity: levelGround + "; the whole rear group is driven. Every limit reads d·P ≤ n, and P is the least n/d. Where no payload, not even none, keeps a limit there is no answer.",
		Source:   "derived from the balance of forces and moments; handbook chapter 03, 3.2. Shares: guidance to DGUV 70 § 37 for the steered axle, StVZO § 34(8) after Directive 96/53/EC for the driven",
		Evidence: rule.Derived,
		Sample: []string{"wheelbase=3.7m", "lead=0.6m", "tare-front=5.5t", "tare-rear=2.3t", "pin-to-bogie=7.7m", "tare-pin=1.9t", "tare-bogie=4.4t",
			"payload-at=5.2m", "max-front=7.5t", "max-rear=11.5t", "max-tractor=18t", "max-imposed=12t", "max-bogie=24t", "max-gross=40t", "min-drive-share=25%"},
		run: func(a *Args) (*Result, error) {
			lim, open := a.limits()
			p, err := axleload.PayloadLimit(a.pair(), lim)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("payload", float64(p.Payload))
			r.word("governed-by", string(p.GovernedBy))
			if p.GovernedBy == "" {
				r.work("none of the limits given bounds the payload at this place")
			} else {
				r.work("%s: n = %s, d = %s, P = n/d = %s", p.GovernedBy, kg(p.Room), num(p.Demand), kg(p.Payload))
			}
			if p.AtLeastBy != "" {
				r.note("%s is kept only with at least %s at this place", p.AtLeastBy, kg(p.AtLeast))
			}
			r.open(open)
			return r, nil
		},
	},
	{
		Name: "imposed-limit", Title: "Most load at the kingpin, from the tractor's limits", Group: Limits, Func: "axleload.ImposedLimit",
		Inputs: keys(pairKeys(leadKey())[:4], limitKeys("max-front", "max-rear", "max-tractor", "max-imposed", "min-steer-share")),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Null: "none of the limits given bounds it", Doc: "K, the most that keeps every limit given, whatever trailer brings it"},
			{Name: "governed-by", Doc: "the limit that is reached, by its key; empty where none bounds it"},
		},
		Formula: "front        K ≤ (F_max − F_e) L_T/e                     for e > 0\n" +
			"rear         K ≤ (R_max − R_e)/ρ\ntractor      K ≤ G_T − W_T\nimposed      K ≤ K_plate\n" +
			"steer share  K ≤ (F_e − φ_s W_T)/(φ_s − e/L_T)           for e/L_T < φ_s",
		Validity: levelGround + ". Where the tractor alone breaks a limit there is no answer.",
		Source:   fromMoments + "3.2 curves 2 and 5",
		Evidence: rule.Derived,
		Sample:   []string{"wheelbase=3.7m", "lead=0.6m", "tare-front=5.5t", "tare-rear=2.3t", "max-front=7.5t", "max-rear=11.5t", "max-tractor=18t"},
		run: func(a *Args) (*Result, error) {
			lim, open := a.limits()
			in := axleload.Pair{Wheelbase: a.length("wheelbase"), Lead: a.length("lead"), TareFront: a.mass("tare-front"), TareRear: a.mass("tare-rear")}
			p, err := axleload.ImposedLimit(in, lim)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(p.Imposed))
			r.word("governed-by", string(p.GovernedBy))
			switch p.GovernedBy {
			case axleload.MaxFront:
				r.work("K ≤ (%s − %s) · %s / %s = %s", kg(*lim.MaxFront), kg(in.TareFront), metres(in.Wheelbase), metres(in.Lead), kg(p.Imposed))
			case axleload.MaxRear:
				r.work("K ≤ (%s − %s) / (1 − %s/%s) = %s", kg(*lim.MaxRear), kg(in.TareRear), metres(in.Lead), metres(in.Wheelbase), kg(p.Imposed))
			case axleload.MaxTractor:
				r.work("K ≤ %s − %s = %s", kg(*lim.MaxTractor), kg(in.TareFront+in.TareRear), kg(p.Imposed))
			case "":
				r.work("none of the limits given bounds K")
			default:
				r.work("%s: K ≤ %s", p.GovernedBy, kg(p.Imposed))
			}
			r.open(open)
			return r, nil
		},
	},
	{
		Name: "lead-range", Title: "Leads that keep the tractor's axle limits", Group: Limits, Func: "axleload.LeadRange",
		Inputs: keys(pairKeys(length("lead", "0.6m", "e, the lead as it is; only for the caution").optional()), payloadKeys(),
			limitKeys("max-front", "max-rear", "min-drive-share", "min-steer-share")),
		Outputs: []Output{
			{Name: "min", Unit: "m", Null: "no limit given bounds it", Doc: "least lead ahead of the rear reaction line; where min > max no lead keeps the limits"},
			{Name: "max", Unit: "m", Null: "no limit given bounds it", Doc: "greatest lead; not clipped to the slider's travel nor to the wheelbase"},
			{Name: "caution", Doc: "what speaks against a lead below 0, where the range or the given lead reaches there; else empty"},
		},
		Formula: "front        e ≤ L_T (F_max − F_e)/K\nrear         e ≥ L_T [1 − (R_max − R_e)/K]\n" +
			"steer share  e ≥ L_T [φ_s (W_T + K) − F_e]/K\ndrive share  e ≤ L_T [1 − (φ_d G − D_e)/(λ_d K)]",
		Validity: "the ranges of axle-loads, a tare that does not change with the slide, one lift state, the whole rear group driven. The tractor's gross does not depend on the lead: no lead cures it. A limit that is broken and on which the lead has no effect (no load at the kingpin) has no answer.",
		Source:   fromMoments + "4.1. That the lead is not below 0 in normal service is common practice, no source",
		Evidence: rule.Derived,
		Sample: []string{"wheelbase=3.7m", "tare-front=5.5t", "tare-rear=2.3t", "pin-to-bogie=7.7m", "tare-pin=1.9t", "tare-bogie=4.4t",
			"payload=25.9t", "payload-at=5.2m", "max-front=7.5t", "max-rear=11.5t"},
		run: runLeadRange,
	},
	{
		Name: "lead-transfer", Title: "Load moved when the fifth wheel moves forward", Group: Limits, Func: "axleload.LeadTransfer",
		Inputs: []Key{
			mass("imposed", "10309kg", "K, load at the kingpin"),
			length("wheelbase", "3.7m", "L_T"),
			length("forward", "50mm", "δ, move forward, or the pitch of the slider; rearwards negative"),
		},
		Outputs:  []Output{{Name: "moved", Unit: "kg", Doc: "Δ: the front gains it, the rear line loses it, the trailer's axles keep theirs"}},
		Formula:  "Δ = K δ / L_T",
		Validity: "L_T > 0.",
		Source:   "derived; handbook chapter 03, 4.1",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			K, L, d := a.mass("imposed"), a.length("wheelbase"), a.length("forward")
			m, err := axleload.LeadTransfer(K, L, d)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("moved", float64(m))
			r.work("Δ = %s · %s / %s = %s", kg(K), mm(d), metres(L), kg(m))
			return r, nil
		},
	},
	{
		Name: "slider-steps", Title: "Steps of a slider that move an excess off an axle", Group: Limits, Func: "axleload.StepsNeeded",
		Inputs: []Key{
			mass("excess", "2200lb", "Δ, load to be moved off the axle"),
			mass("per-step", "300lb", "δ, load that one step moves; see lead-transfer and tandem-slider"),
		},
		Outputs: []Output{
			{Name: "steps", Bare: "whole steps", Doc: "n, the least that move the excess"},
			{Name: "moved", Unit: "kg", Doc: "load that they move"},
		},
		Formula:  "n = ⌈Δ/δ⌉",
		Validity: "Δ ≥ 0, δ > 0 and fewer than a thousand steps. Whether the axle that gains the load can take it is another question.",
		Source:   "derived; handbook chapter 03, 2 (P4, P5, P6)",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			s, err := axleload.StepsNeeded(a.mass("excess"), a.mass("per-step"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("steps", float64(s.Count))
			r.set("moved", float64(s.Moved))
			r.work("n = ⌈%s / %s⌉ = %d", kg(a.mass("excess")), kg(a.mass("per-step")), s.Count)
			return r, nil
		},
	},
	{
		Name: "tandem-slider", Title: "Loads after the trailer's running gear was slid", Group: Limits, Func: "axleload.TandemSlider",
		Inputs: keys(pairKeys(leadKey()), payloadKeys(), []Key{
			mass("running-gear", "2.4t", "S, mass of the running gear that slides; part of tare-bogie"),
			length("new-pin-to-bogie", "7.4m", "L, kingpin to the reaction line after the move"),
		}),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "K, at the kingpin"},
			{Name: "bogie", Unit: "kg", Doc: "B, on the trailer's axles"},
			{Name: "per-forward", Bare: "kg for each metre", Doc: "load that comes onto the trailer's axles for each metre of further move forward"},
		},
		Formula:  "K(L) = W_s − M_s/L ,   B(L) = S + M_s/L ,   dB/dL = −M_s/L²",
		Validity: "the ranges of axle-loads, 0 ≤ S ≤ tare-bogie and L > 0. Forwards puts more on the trailer's axles and less on the tractor.",
		Source:   "derived; handbook chapter 03, 4.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			p, S, L := a.pair(), a.mass("running-gear"), a.length("new-pin-to-bogie")
			if !(L > 0) { // the calculation gives both distances one name
				return nil, a.refuse("new-pin-to-bogie", a.word("new-pin-to-bogie"), "more than 0")
			}
			s, err := axleload.TandemSlider(p, S, L)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(s.Imposed))
			r.set("bogie", float64(s.Bogie))
			r.set("per-forward", s.PerForward)
			moment := s.PerForward * float64(L) * float64(L)
			r.work("M_s = %s · (%s − %s) + %s · %s = %s kg·m", metres(p.PinToBogie), kg(p.TareBogie), kg(S), kg(p.Payload), metres(p.PayloadAt), num(moment))
			r.work("B = %s + %s kg·m / %s = %s", kg(S), num(moment), metres(L), kg(s.Bogie))
			r.work("K = %s − %s = %s", kg(p.TarePin+p.TareBogie+p.Payload), kg(s.Bogie), kg(s.Imposed))
			return r, nil
		},
	},
	{
		Name: "round-extremes", Title: "Greatest and least loads in any order of unloading", Group: Limits, Func: "axleload.RoundExtremes",
		Inputs: keys(pairKeys(leadKey()), []Key{
			itemKey("each part of the load: m its mass, s its centre behind the kingpin (ahead of it negative)", "m:6.75t,s:0.2m", "m:6.75t,s:3.8m", "m:6.75t,s:7.4m", "m:4.5t,s:10.4m"),
		}),
		Outputs: []Output{
			{Name: "imposed-most", Unit: "kg", Doc: "greatest K"},
			{Name: "imposed-least", Unit: "kg", Doc: "least K"},
			{Name: "bogie-most", Unit: "kg", Doc: "greatest B"},
			{Name: "bogie-least", Unit: "kg", Doc: "least B"},
			{Name: "front-most", Unit: "kg", Doc: "greatest load on the front axle"},
			{Name: "rear-most", Unit: "kg", Doc: "greatest load on the tractor's rear line"},
			{Name: "tractor-most", Unit: "kg", Doc: "greatest load on the tractor's axles together"},
		},
		Formula:  "K_most  = K_e + Σ_{x_i < L} m_i (1 − x_i/L)\nK_least = K_e + Σ_{x_i > L} m_i (1 − x_i/L)\nB_most  = B_e + Σ_{x_i > 0} m_i x_i/L ,   B_least with x_i < 0",
		Validity: "the ranges of axle-loads. If front, rear, tractor and bogie keep their limits with these loads they keep them in every order; shares do not, and want a look at every stage.",
		Source:   "derived; handbook chapter 03, 5.1",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			p := a.pair()
			e, err := axleload.RoundExtremes(p, a.items())
			if err != nil {
				return nil, err
			}
			r := a.result()
			for _, o := range []struct {
				name string
				m    unit.Mass
			}{
				{"imposed-most", e.ImposedMost}, {"imposed-least", e.ImposedLeast}, {"bogie-most", e.BogieMost}, {"bogie-least", e.BogieLeast},
				{"front-most", e.FrontMost}, {"rear-most", e.RearMost}, {"tractor-most", e.TractorMost},
			} {
				r.set(o.name, float64(o.m))
			}
			for i, it := range a.items() {
				r.work("item %d: %s · (1 − %s/%s) = %s on the kingpin", i+1, kg(it.Mass), metres(it.At), metres(p.PinToBogie), kg(it.Mass*unit.Mass(1-it.At/p.PinToBogie)))
			}
			r.work("K_most = %s and the positive ones = %s; K_least = %s and the negative ones = %s", kg(p.TarePin), kg(e.ImposedMost), kg(p.TarePin), kg(e.ImposedLeast))
			return r, nil
		},
	},
	{
		Name: "round", Title: "Loads at every stage of a delivery round", Group: Limits, Func: "axleload.Round",
		Inputs: keys(pairKeys(leadKey()), []Key{
			itemKey("each part of the load in the order in which it is taken off: m its mass, s its centre behind the kingpin (ahead of it negative)", "m:4.5t,s:10.4m", "m:6.75t,s:7.4m", "m:6.75t,s:3.8m", "m:6.75t,s:0.2m"),
		}),
		Outputs: []Output{
			{Name: "payload", Unit: "kg", Each: true, Doc: "left on board at each stage, from fully laden (1) to empty (the last)"},
			{Name: "imposed", Unit: "kg", Each: true, Doc: "K at each stage"},
			{Name: "front", Unit: "kg", Each: true, Doc: "load on the front axle at each stage"},
			{Name: "rear", Unit: "kg", Each: true, Doc: "load on the tractor's rear line at each stage"},
			{Name: "bogie", Unit: "kg", Each: true, Doc: "load on the trailer's axles at each stage"},
		},
		Formula:  "stage k = Loads with the items k, k+1, … still on board",
		Validity: "the ranges of axle-loads. An item behind the bogie line raises the load at the kingpin when it goes, one ahead of it lowers it.",
		Source:   "derived; handbook chapter 03, 5",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			items := a.items()
			out := make([]axleload.Stage, len(items)+1)
			if err := axleload.Round(a.pair(), items, out); err != nil {
				return nil, err
			}
			r := a.result()
			most := 0
			for i, s := range out {
				n := fmt.Sprint(i + 1)
				r.set("payload"+n, float64(s.Load.Mass))
				r.set("imposed"+n, float64(s.Result.Imposed))
				r.set("front"+n, float64(s.Result.Front))
				r.set("rear"+n, float64(s.Result.Rear))
				r.set("bogie"+n, float64(s.Result.Bogie))
				r.work("stage %d: %s at %s, K = %s, F = %s, R = %s, B = %s", i+1, kg(s.Load.Mass), metres(s.Load.At), kg(s.Result.Imposed), kg(s.Result.Front), kg(s.Result.Rear), kg(s.Result.Bogie))
				if s.Result.Imposed > out[most].Result.Imposed {
					most = i
				}
				if s.Result.Negative {
					r.note("at stage %d a support would have to pull down: the combination tips", i+1)
				}
			}
			r.note("the load at the kingpin is greatest at stage %d", most+1)
			return r, nil
		},
	},
}

func runLeadRange(a *Args) (*Result, error) {
	p := a.pair()
	lim, open := a.limits()
	s, err := axleload.LeadRange(p, lim)
	if err != nil {
		return nil, err
	}
	if math.IsInf(float64(s.Min), 1) || math.IsInf(float64(s.Max), -1) {
		return nil, &unit.NoAnswerError{Formula: a.calc.Name, Why: fmt.Sprintf("%s is broken and the lead has no effect on it", s.MinBy)}
	}
	r := a.result()
	r.set("min", float64(s.Min))
	r.set("max", float64(s.Max))
	r.word("caution", s.Caution)
	r.work("K = %s + %s · (1 − %s/%s) = %s", kg(p.TarePin), kg(p.Payload), metres(p.PayloadAt), metres(p.PinToBogie), kg(s.Imposed))
	if lim.MaxFront != nil {
		r.work("front: e ≤ %s · (%s − %s) / %s", metres(p.Wheelbase), kg(*lim.MaxFront), kg(p.TareFront), kg(s.Imposed))
	}
	if lim.MaxRear != nil {
		r.work("rear: e ≥ %s · [1 − (%s − %s) / %s]", metres(p.Wheelbase), kg(*lim.MaxRear), kg(p.TareRear), kg(s.Imposed))
	}
	if lim.MinSteerShare != nil {
		r.work("steer share: e ≥ %s · [%s · (%s + %s) − %s] / %s", metres(p.Wheelbase), num(*lim.MinSteerShare), kg(p.TareFront+p.TareRear), kg(s.Imposed), kg(p.TareFront), kg(s.Imposed))
	}
	if lim.MinDriveShare != nil {
		gross := p.TareFront + p.TareRear + p.TarePin + p.TareBogie + p.Payload
		r.work("drive share: e ≤ %s · [1 − (%s · %s − %s) / %s]", metres(p.Wheelbase), num(*lim.MinDriveShare), kg(gross), kg(p.TareRear), kg(s.Imposed))
	}
	if s.Imposed < 0 {
		r.note("the load at the kingpin is negative: the signs of the relations above turn")
	}
	ends := func(end unit.Length, by axleload.Limit) string {
		if by == "" {
			return "unbounded"
		}
		return metres(end) + " by " + string(by)
	}
	r.work("min %s, max %s", ends(s.Min, s.MinBy), ends(s.Max, s.MaxBy))
	if s.Empty() {
		r.note("no lead keeps all limits: %s and %s conflict by %s", s.MinBy, s.MaxBy, metres(s.Min-s.Max))
	}
	r.open(open)
	return r, nil
}
