package formula

import (
	"fmt"

	"underpin/axleload"
	"underpin/rule"
	"underpin/unit"
)

func heightKeys() []Key {
	return []Key{
		length("coupling-height", "1.15m", "h_k, of the coupling above the ground"),
		length("trailer-cg-height", "1.923913m", "h_s, centre of mass of the trailer with its load"),
		length("tractor-cg-height", "1m", "h_T, centre of mass of the tractor alone"),
	}
}

var motionTable = []*Calculation{
	{
		Name: "braking-transfer", Title: "Loads and thrust at the kingpin in braking", Group: Motion, Func: "axleload.BrakingTransfer",
		Inputs: keys(pairKeys(leadKey()), payloadKeys(), []Key{
			number("deceleration", "multiple of 9.81 m/s²", "0.5", "z"),
			word("case", []string{"a", "b", "c"}, "a", "a: each axle brakes the load that stands on it; b: the trailer brakes all of its own mass; c: the trailer does not brake"),
		}, heightKeys()),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "K, at the kingpin"},
			{Name: "thrust", Unit: "kN", Doc: "X, with which the trailer pushes the tractor; negative: it is pulled"},
			{Name: "front", Unit: "kg", Doc: "F, on the tractor's front axle"},
			{Name: "rear", Unit: "kg", Doc: "R, on the tractor's rear line"},
			{Name: "bogie", Unit: "kg", Doc: "B, on the trailer's axles"},
		},
		Formula: "(a) balanced        K = W_s [(L − x_s) + z h_s] / (L + z h_k) ,  X = z K\n" +
			"(b) own mass        K = W_s (1 − x_s/L) + z W_s h_s/L ,          X = 0\n" +
			"(c) unbraked        K = W_s (1 − x_s/L) + (z W_s h_s − X h_k)/L , X = z W_s\n" +
			"F = F_e + [K e + z W_T h_T + X h_k]/L_T ,  R = W_T + K − F ,  B = W_s − K",
		Validity: "the ranges of axle-loads, a level road, even deceleration, 0 ≤ z ≤ 1. Pitching, suspension geometry and lags of the brakes are left out. The thrust is a force of one moment; D is a rating for the approval test and no bound of it.",
		Source:   "derived; handbook chapter 03, 6.1",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := axleload.Stop{Pair: a.pair(), Road: axleload.Road{Deceleration: a.number("deceleration")}, Brakes: axleload.Brakes(a.word("case")[0]),
				CouplingHeight: a.length("coupling-height"), TrailerHeight: a.length("trailer-cg-height"), TractorHeight: a.length("tractor-cg-height")}
			t, err := axleload.BrakingTransfer(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(t.Imposed))
			r.set("thrust", float64(t.Thrust))
			r.set("front", float64(t.Front))
			r.set("rear", float64(t.Rear))
			r.set("bogie", float64(t.Bogie))
			z, Ws := in.Deceleration, in.TarePin+in.TareBogie+in.Payload
			L, xs := in.PinToBogie, in.PinToBogie*unit.Length(in.TareBogie/Ws)+in.PayloadAt*unit.Length(in.Payload/Ws)
			r.work("W_s = %s ,  x_s = %s", kg(Ws), metres(xs))
			switch in.Brakes {
			case axleload.Balanced:
				r.work("K = %s · [(%s − %s) + %s · %s] / (%s + %s · %s) = %s", kg(Ws), metres(L), metres(xs), num(z), metres(in.TrailerHeight), metres(L), num(z), metres(in.CouplingHeight), kg(t.Imposed))
				r.work("X = %s · 9.81 m/s² · %s = %s", num(z), kg(t.Imposed), kN(t.Thrust))
			case axleload.OwnMass:
				r.work("K = %s · (1 − %s/%s) + %s · %s · %s/%s = %s ,  X = 0", kg(Ws), metres(xs), metres(L), num(z), kg(Ws), metres(in.TrailerHeight), metres(L), kg(t.Imposed))
			default:
				r.work("X = %s · 9.81 m/s² · %s = %s", num(z), kg(Ws), kN(t.Thrust))
				r.work("K = %s · (1 − %s/%s) + %s · %s · (%s − %s)/%s = %s", kg(Ws), metres(xs), metres(L), num(z), kg(Ws), metres(in.TrailerHeight), metres(in.CouplingHeight), metres(L), kg(t.Imposed))
			}
			r.work("F = %s + [%s · %s + %s · %s · %s + %s/9.81 m/s² · %s] / %s = %s", kg(in.TareFront), kg(t.Imposed), metres(in.Lead), num(z), kg(in.TareFront+in.TareRear),
				metres(in.TractorHeight), kN(t.Thrust), metres(in.CouplingHeight), metres(in.Wheelbase), kg(t.Front))
			r.work("R = %s + %s − %s = %s", kg(in.TareFront+in.TareRear), kg(t.Imposed), kg(t.Front), kg(t.Rear))
			r.work("B = %s − %s = %s", kg(Ws), kg(t.Imposed), kg(t.Bogie))
			if t.Negative {
				r.note("an axle or the kingpin lifts: the loads do not hold")
			}
			return r, nil
		},
	},
	{
		Name: "uphill-pull", Title: "Loads, pull and friction needed on a gradient", Group: Motion, Func: "axleload.UphillPull",
		Inputs: keys(pairKeys(leadKey()), payloadKeys(), []Key{share("grade", "10%", "tan θ, uphill")}, heightKeys()),
		Outputs: []Output{
			{Name: "imposed", Unit: "kg", Doc: "K, at the kingpin, square to the road"},
			{Name: "pull", Unit: "kN", Doc: "X, at the kingpin"},
			{Name: "front", Unit: "kg", Doc: "F, on the tractor's front axle, square to the road"},
			{Name: "rear", Unit: "kg", Doc: "R, on the tractor's rear line, square to the road"},
			{Name: "bogie", Unit: "kg", Doc: "B, on the trailer's axles, square to the road"},
			{Name: "friction", Bare: "force over load", Doc: "μ that the driven axles need"},
		},
		Formula: "X = W_s sin θ\nK = [W_s cos θ (L − x_s) − W_s sin θ h_s + X h_k] / L\n" +
			"F = [W_T cos θ (L_T − x_T) − W_T sin θ h_T + K e − X h_k] / L_T\nR = W_T cos θ + K − F ,   μ = (W_T + W_s) sin θ / R_drive",
		Validity: "gradients from 0 to 0.5, steady speed, rolling and air resistance left out, the whole rear group driven, and the ranges of axle-loads. If the driven axles carry nothing there is no answer.",
		Source:   "derived; handbook chapter 03, 6.2",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := axleload.Climb{Pair: a.pair(), Grade: a.number("grade"), CouplingHeight: a.length("coupling-height"),
				TrailerHeight: a.length("trailer-cg-height"), TractorHeight: a.length("tractor-cg-height")}
			p, err := axleload.UphillPull(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("imposed", float64(p.Imposed))
			r.set("pull", float64(p.Pull))
			r.set("front", float64(p.Front))
			r.set("rear", float64(p.Rear))
			r.set("bogie", float64(p.Bogie))
			r.set("friction", p.Friction)
			Ws := in.TarePin + in.TareBogie + in.Payload
			r.work("X = 9.81 m/s² · %s · sin(atan %s) = %s", kg(Ws), num(in.Grade), kN(p.Pull))
			r.work("K = %s ,  F = %s ,  R = %s", kg(p.Imposed), kg(p.Front), kg(p.Rear))
			r.work("μ = (%s + %s) · sin(atan %s) / %s = %s", kg(in.TareFront+in.TareRear), kg(Ws), num(in.Grade), kg(p.Driven), num(p.Friction))
			if p.Negative {
				r.note("an axle or the kingpin lifts: the loads do not hold")
			}
			return r, nil
		},
	},
	{
		Name: "height-transfer", Title: "Load moved in a bogie by a wrong coupling height", Group: Motion, Func: "axleload.HeightTransfer",
		Inputs: []Key{
			number("stiffness", "kN per mm of the axle", "2", "k, of the outer axle"),
			length("from-centre", "1.31m", "b, outer axle from the centre of its group"),
			inMM("height", "50mm", "Δh, coupling height off the trailer's design height"),
			length("pin-to-bogie", "7.7m", "L, kingpin to the reaction line"),
		},
		Outputs:  []Output{{Name: "transfer", Unit: "kN", Doc: "Δw, that the outer axle gains or loses"}},
		Formula:  "Δw = k b θ ,   θ = Δh / L",
		Validity: "small angles (Δh within a tenth of L), linear springs and no equaliser; a levelled air bogie with a common pressure has no such transfer.",
		Source:   "derived; handbook chapter 03, 1.3 note 4",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			const perMM = float64(unit.Kilonewton) / float64(unit.Millimetre)
			in := axleload.Pitched{Stiffness: a.number("stiffness") * perMM, FromCentre: a.length("from-centre"), Height: a.length("height"), PinToBogie: a.length("pin-to-bogie")}
			f, err := axleload.HeightTransfer(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("transfer", float64(f))
			r.work("Δw = %s kN/mm · %s · %s / %s = %s", num(a.number("stiffness")), metres(in.FromCentre), mm(in.Height), metres(in.PinToBogie), kN(f))
			return r, nil
		},
	},
	{
		Name: "roll-threshold", Title: "Lateral acceleration at which a rigid vehicle tips", Group: Motion, Func: "axleload.RollThreshold",
		Inputs: []Key{
			length("track", "2.04m", "t, between the wheels of the two sides"),
			length("centre-height", "2m", "h, centre of mass above the ground"),
		},
		Outputs:  []Output{{Name: "g", Bare: "multiple of 9.81 m/s²", Doc: "a/g; an upper bound, from which suspension, tyres and the play of the fifth wheel take"}},
		Formula:  "a/g = t / (2 h)",
		Validity: "t > 0 and h > 0 on level ground, a rigid vehicle. A real curve takes some 25 % from it.",
		Source:   "derived; handbook chapter 03, 6.5. The loss in real curves: SAE 2003-01-3385, abstract",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			t, h := a.length("track"), a.length("centre-height")
			g, err := axleload.RollThreshold(t, h)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("g", g)
			r.work("a/g = %s / (2 · %s) = %s", metres(t), metres(h), num(g))
			return r, nil
		},
	},
	{
		Name: "roll-threshold-leaning", Title: "The roll threshold of a vehicle that leans", Group: Motion, Func: "axleload.RollThresholdLeaning",
		Inputs: []Key{
			length("track", "2.04m", "t, between the wheels of the two sides"),
			length("centre-height", "2m", "h, centre of mass above the ground"),
			length("roll-axis", "0.7m", "h_rc, roll axis above the ground"),
			angle("compliance", "6deg", "r, lean for each g of lateral acceleration"),
		},
		Outputs:  []Output{{Name: "g", Bare: "multiple of 9.81 m/s²", Doc: "a/g"}},
		Formula:  "a/g = (t/2) / [h + r (h − h_rc)]",
		Validity: "small lean, r ≥ 0 and 0 ≤ h_rc ≤ h. Compliances of 4 to 8 degrees per g are from memory and illustrative only.",
		Source:   "derived; handbook chapter 03, 6.5",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := axleload.RollBody{Track: a.length("track"), CentreHeight: a.length("centre-height"), RollAxis: a.length("roll-axis"), Compliance: a.angle("compliance")}
			g, err := axleload.RollThresholdLeaning(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("g", g)
			r.work("a/g = (%s/2) / [%s + %s · (%s − %s)] = %s", metres(in.Track), metres(in.CentreHeight), num(in.Compliance), metres(in.CentreHeight), metres(in.RollAxis), num(g))
			return r, nil
		},
	},
	{
		Name: "wheel-lift", Title: "Lateral acceleration at which axle after axle lifts", Group: Motion, Func: "axleload.WheelLifts",
		Inputs: []Key{
			length("centre-height", "1.92m", "h, centre of mass above the ground"),
			length("roll-axis", "0.7m", "h_rc, roll axis above the ground"),
			compound("support", "each axle, and the kingpin: w load on it, t track (at the kingpin the width on which the plate bears), c roll stiffness per radian",
				[]string{"w:7.297t,t:2.04m,c:900kN.m", "w:7.297t,t:2.04m,c:900kN.m", "w:7.297t,t:2.04m,c:900kN.m", "w:10.309t,t:1.90m,c:404.525kN.m"},
				mass("w", "7.3t", "load"), length("t", "2.04m", "track"), quantity("c", unit.NM, "900kN.m", "roll stiffness per radian")),
		},
		Outputs: []Output{
			{Name: "g", Bare: "multiple of 9.81 m/s²", Doc: "a/g, the threshold: the greatest of the lifts"},
			{Name: "lean", Unit: "deg", Doc: "lean at the threshold"},
			{Name: "g-lift", Each: true, Bare: "multiple of 9.81 m/s²", Doc: "a/g at which each support lifts, in their order"},
			{Name: "lean-lift", Each: true, Unit: "deg", Doc: "lean at which each support lifts"},
			{Name: "g-rigid", Bare: "multiple of 9.81 m/s²", Doc: "a/g if nothing leaned"},
		},
		Formula:  "a(φ)/g = [ Σ min(C_j φ, w_j T_j/2) − W (h − h_rc) φ ] / (W h)\nφ_j = w_j T_j / (2 C_j) ,   threshold = max over j of a(φ_j)",
		Validity: "small lean, linear stiffness, a rigid frame in torsion and 0 ≤ h_rc ≤ h. In the spirit of UN R111 and not its calculation; stiffnesses that are not measured are illustrative. A body that falls over before it is turned has no answer.",
		Source:   "derived; handbook chapter 03, 6.5",
		Evidence: rule.Derived,
		names:    map[string]string{"load": "w", "track": "t", "stiffness": "c"},
		run: func(a *Args) (*Result, error) {
			all := a.all("support")
			s, out := make([]axleload.RollSupport, len(all)), make([]axleload.WheelLift, len(all))
			for i := range all {
				s[i] = axleload.RollSupport{Load: all[i].mass(0), Track: all[i].length(1), Stiffness: unit.Torque(all[i].at(2))}
			}
			roll, err := axleload.WheelLifts(axleload.RollBody{CentreHeight: a.length("centre-height"), RollAxis: a.length("roll-axis")}, s, out)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("g", roll.Threshold)
			r.set("lean", float64(roll.Lean))
			for i, l := range out {
				r.set(fmt.Sprintf("g-lift%d", i+1), l.Acceleration)
				r.set(fmt.Sprintf("lean-lift%d", i+1), float64(l.Lean))
				r.work("support %d lifts at φ = %s · 9.81 m/s² · %s / (2 · %s N·m) = %s, a/g = %s", i+1, kg(s[i].Load), metres(s[i].Track), num(s[i].Stiffness), degrees(l.Lean), num(l.Acceleration))
			}
			r.set("g-rigid", roll.Rigid)
			r.work("greatest: support %d, a/g = %s", roll.Governs+1, num(roll.Threshold))
			return r, nil
		},
	},
	{
		Name: "curve-speed", Title: "Speed at which a curve asks for an acceleration", Group: Motion, Func: "axleload.CurveSpeed",
		Inputs: []Key{
			number("lateral", "multiple of 9.81 m/s²", "0.35", "a, lateral acceleration over g"),
			length("radius", "50m", "R, of the curve"),
		},
		Outputs:  []Output{{Name: "speed", Unit: "km/h", Doc: "v; with a roll threshold as the acceleration it is the speed at which the vehicle goes over, not one to drive at"}},
		Formula:  "v = √(a g R)",
		Validity: "a level curve driven steadily, a ≥ 0, R > 0.",
		Source:   "circular motion: mechanics of rigid bodies; handbook chapter 03, 6.5",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			v, err := axleload.CurveSpeed(a.number("lateral"), a.length("radius"))
			if err != nil {
				return nil, err
			}
			const kmh = 3600 / float64(unit.Kilometre) // an hour has 3600 s
			r := a.result()
			r.set("speed", v*kmh)
			r.work("v = √(%s · 9.81 m/s² · %s) = %s m/s = %s km/h", num(a.number("lateral")), metres(a.length("radius")), num(v), num(v*kmh))
			return r, nil
		},
	},
}
