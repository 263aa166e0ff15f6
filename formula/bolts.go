package formula

import (
	"fmt"

	"underpin/bolting"
	"underpin/rule"
	"underpin/unit"
)

func boltKeys() []Key {
	return []Key{
		text("size", "M16", "thread, as stamped: M12 to M24, a fine one as M16x1.5"),
		text("grade", "10.9", "property class on the head: 8.8, 10.9 or 12.9"),
	}
}

func frictionKey() Key {
	return number("friction", "coefficient", "0.12", "μ, in the thread and under the head alike; for over-stress the least to be expected, for clamping the most")
}

func boltPlaces() Key {
	return compound("bolt", "place of each bolt: x rearwards, y to the left, from any datum", []string{"x:75mm,y:60mm", "x:75mm,y:-60mm", "x:-75mm,y:60mm", "x:-75mm,y:-60mm"},
		inMM("x", "75mm", "rearwards"), inMM("y", "60mm", "to the left"))
}

func (a *Args) pattern() []bolting.Point {
	all := a.all("bolt")
	points := make([]bolting.Point, len(all))
	for i := range all {
		points[i] = bolting.Point{X: all[i].length(0), Y: all[i].length(1)}
	}
	return points
}

func (a *Args) bolt() (bolting.Thread, bolting.Class, error) {
	l, err := bolting.LoadsOf(a.word("size"), a.word("grade"))
	return l.Thread, l.Class, err
}

const noFitting = "no fitting torque: that comes from the instructions of the coupling"

var boltTable = []*Calculation{
	{
		Name: "bolt", Title: "Stress area, proof load, greatest preload, its torque", Group: Bolting, Func: "bolting.MaximumTightening",
		Inputs: keys(boltKeys(), []Key{frictionKey()}),
		Outputs: []Output{
			{Name: "area", Unit: "mm2", Doc: "AS, stress area, calculated"},
			{Name: "proof", Unit: "kN", Doc: "F_p, proof load, from the standard's nominal area"},
			{Name: "preload", Unit: "kN", Doc: "F_M, at 90 % of the yield strength: the theoretical maximum"},
			{Name: "torque", Unit: "N.m", Doc: "M_A that gives this preload: the theoretical maximum, " + noFitting},
		},
		Formula: "AS = π/4·dS²\nF_p = AS,nom·Sp\nF_M = AS·0.9·Rp0.2 / √(1 + 3·[ (3/2)·(d2/dS)·( P/(π·d2) + 1.155·μ ) ]²)\n" +
			"M_A = F_M · [ 0.159·P + 0.577·d2·μ + (dW + dh)/4·μ ]",
		Validity: "metric threads M12 to M24 of classes 8.8, 10.9 and 12.9, full-shank bolts, 0.04 ≤ μ ≤ 0.40. Preload and torque are the theoretical maximum, before any loss, scatter or load.",
		Source:   "VDI 2230 Part 1 (form from memory; its results agree with the printed fine-thread table of VDI 2230:2001 within 0.7 %); EN ISO 898-1 for strength, proof stress and nominal area; ISO 724 for the profile",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			t, err := bolting.MaximumTightening(a.word("size"), a.word("grade"), a.number("friction"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("area", float64(t.Area))
			r.set("proof", float64(t.Proof))
			r.set("preload", float64(t.Preload.Force))
			r.set("torque", float64(t.Torque.Torque))
			th := t.Thread
			r.work("dS = %s ,  AS = π/4 · dS² = %s mm²", mm(th.StressDiameter()), num(t.Area.SquareMillimetres()))
			r.work("F_p = %s mm² · %s MPa = %s", num(th.NominalArea.SquareMillimetres()), num(t.Class.Proof.Megapascals()), kN(t.Proof))
			r.work("F_M = %s mm² · 0.9 · %s MPa / √(1 + 3 · (%s)²) = %s", num(t.Area.SquareMillimetres()), num(t.Class.Yield.Megapascals()), num(t.Preload.TorsionShare), kN(t.Preload.Force))
			r.work("M_A = %s · [0.159 · %s + 0.577 · %s · %s + (%s + %s)/4 · %s] = %s N·m", kN(t.Preload.Force), mm(th.Pitch), mm(th.PitchDiameter()), num(t.Friction),
				mm(th.Bearing), mm(th.Hole), num(t.Friction), num(t.Torque.Torque))
			r.note("the torque is the theoretical maximum, " + noFitting)
			if !th.AreaEvidence.Certifies() {
				r.note("the nominal area of this thread is from memory")
			}
			if !th.BearingEvidence.Certifies() {
				r.note("bearing face and hole of this size are from memory; the torque depends on them")
			}
			return r, nil
		},
	},
	{
		Name: "torque-preload", Title: "Preload that a torque gives, and the yield it uses", Group: Bolting, Func: "bolting.PreloadAtTorque",
		Inputs: keys(boltKeys(), []Key{quantity("torque", unit.NM, "280N.m", "M_A, on the wrench"), frictionKey()}),
		Outputs: []Output{
			{Name: "preload", Unit: "kN", Doc: "F"},
			{Name: "use", Bare: "share of the yield strength", Doc: "σ_v over Rp0.2 while the wrench is still on; above 1 the bolt would yield and the preload is not reached"},
		},
		Formula:  "F   = M_A / [ 0.159·P + 0.577·d2·μ + (D_Km/2)·μ ]\nτ   = 16·M_G / (π·dS³)\nσ_v = √( (F/AS)² + 3·τ² )",
		Validity: "metric threads M12 to M24 of classes 8.8, 10.9 and 12.9, M_A ≥ 0, 0.04 ≤ μ ≤ 0.40.",
		Source:   "VDI 2230 Part 1, torque formula solved for the preload; elastic torsion of a round bar, Shigley or any textbook of machine elements",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			t, c, err := a.bolt()
			if err != nil {
				return nil, err
			}
			p, err := bolting.PreloadAtTorque(bolting.AtTorqueInput{Thread: t, Class: c, Torque: a.torque("torque"), Friction: a.number("friction")})
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("preload", float64(p.Preload))
			r.set("use", p.Utilisation)
			μ := num(a.number("friction"))
			r.work("F = %s N·m / [0.159 · %s + 0.577 · %s · %s + %s/2 · %s] = %s", num(a.torque("torque")), mm(t.Pitch), mm(t.PitchDiameter()), μ, mm((t.Bearing+t.Hole)/2), μ, kN(p.Preload))
			r.work("σ_v = √((%s)² + 3 · (%s)²) MPa = %s MPa, of %s MPa", num(p.Tension.Megapascals()), num(p.Torsion.Megapascals()), num(p.Equivalent.Megapascals()), num(c.Yield.Megapascals()))
			return r, nil
		},
	},
	{
		Name: "torque-check", Title: "Whether a torque from instructions is plausible", Group: Bolting, Func: "bolting.CheckTorque",
		Inputs: keys(boltKeys(), []Key{
			quantity("torque", unit.NM, "280N.m", "M, in the instructions of the coupling"),
			number("least-friction", "coefficient", "0.10", "μ_min, the least to be expected"),
			number("most-friction", "coefficient", "0.16", "μ_max, the most to be expected"),
		}),
		Outputs: []Output{
			{Name: "preload-most", Unit: "kN", Doc: "at the least friction"},
			{Name: "preload-least", Unit: "kN", Doc: "at the most friction"},
			{Name: "use-most", Bare: "share of the yield strength", Doc: "at the least friction, while the wrench is on"},
			{Name: "highest", Unit: "N.m", Doc: "torque above which it is too high: 90 % of yield at the least friction"},
			{Name: "lowest", Unit: "N.m", Doc: "torque below which it is too low: 60 % of that at the most friction"},
			{Name: "plausible", Doc: "true between the two; a plausible torque is not thereby an approved one"},
		},
		Formula:  "too high:  M > M_A(ν = 0.9, μ_min)\ntoo low:   M < 0.6 · M_A(ν = 0.9, μ_max)",
		Validity: "metric threads M12 to M24 of classes 8.8, 10.9 and 12.9, M > 0, 0.04 ≤ μ_min ≤ μ_max ≤ 0.40.",
		Source:   "VDI 2230 Part 1 for M_A; choice of friction as in \"Preload and tightening torques, VDI 2230 tables\" (2021); the 60 % is common practice, no source",
		Evidence: rule.Practice,
		run: func(a *Args) (*Result, error) {
			t, c, err := a.bolt()
			if err != nil {
				return nil, err
			}
			b, err := bolting.CheckTorque(bolting.TorqueBandInput{Thread: t, Class: c, Torque: a.torque("torque"), LeastFriction: a.number("least-friction"), MostFriction: a.number("most-friction")})
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("preload-most", float64(b.Tightest.Preload))
			r.set("preload-least", float64(b.Loosest.Preload))
			r.set("use-most", b.Tightest.Utilisation)
			r.set("highest", float64(b.Highest))
			r.set("lowest", float64(b.Lowest))
			r.truth("plausible", !b.TooHigh && !b.TooLow)
			r.work("at μ = %s: %s, %s of yield; at μ = %s: %s, %s of yield", num(a.number("least-friction")), kN(b.Tightest.Preload), percent(b.Tightest.Utilisation),
				num(a.number("most-friction")), kN(b.Loosest.Preload), percent(b.Loosest.Utilisation))
			r.work("plausible from %s to %s N·m", num(b.Lowest), num(b.Highest))
			return r, nil
		},
	},
	{
		Name: "tightening-factor", Title: "How far apart the preloads of a tightening method lie", Group: Bolting, Func: "bolting.TighteningFactor",
		Inputs:   []Key{share("scatter", "23%", "s, scatter of the preload about its mean, ±")},
		Outputs:  []Output{{Name: "factor", Bare: "largest over smallest", Doc: "α_A"}},
		Formula:  "α_A = F_M,max / F_M,min = (1 + s) / (1 − s)",
		Validity: "0 ≤ s < 1.",
		Source:   "VDI 2230, definition of the tightening factor",
		Evidence: rule.Read,
		run: func(a *Args) (*Result, error) {
			f, err := bolting.TighteningFactor(a.number("scatter"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("factor", f)
			r.work("α_A = (1 + %s) / (1 − %s) = %s", num(a.number("scatter")), num(a.number("scatter")), num(f))
			return r, nil
		},
	},
	{
		Name: "least-preload", Title: "Preload that can be counted on after tightening", Group: Bolting, Func: "bolting.LeastPreload",
		Inputs: []Key{
			force("largest", "41.9kN", "F_M,max, largest preload that the method may give"),
			number("factor", "largest over smallest", "1.8", "α_A, see tightening-factor"),
		},
		Outputs:  []Output{{Name: "preload", Unit: "kN", Doc: "F_M,min"}},
		Formula:  "F_M,min = F_M,max / α_A",
		Validity: "F_M,max ≥ 0 and α_A ≥ 1. A joint that was only run up with an impact wrench is not counted as preloaded.",
		Source:   "VDI 2230, definition of the tightening factor; worked example in \"Preload and tightening torques, VDI 2230 tables\" (2021)",
		Evidence: rule.Read,
		names:    map[string]string{"F_M,max": "largest", "α_A": "factor"},
		run: func(a *Args) (*Result, error) {
			f, err := bolting.LeastPreload(a.force("largest"), a.number("factor"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("preload", float64(f))
			r.work("F_M,min = %s / %s = %s", kN(a.force("largest")), num(a.number("factor")), kN(f))
			return r, nil
		},
	},
	{
		Name: "slip-check", Title: "Whether a bolted joint holds a force by friction", Group: Bolting, Func: "bolting.SlipResistance",
		Inputs: []Key{
			count("bolts", "12", "in the joint"),
			force("preload", "62.44kN", "that can be counted on in each bolt"),
			number("friction", "coefficient", "0.15", "between the faces"),
			count("surfaces", "1", "slip planes that each bolt crosses"),
			force("force", "90kN", "that tries to shift the joint"),
			number("factor", "divides the resistance", "1.25", "safety factor; 1 for none"),
		},
		Outputs: []Output{
			{Name: "resistance", Unit: "kN", Doc: "that the joint holds"},
			{Name: "use", Bare: "force over resistance", Doc: "above 1 it slips"},
		},
		Formula:  "resistance = bolts · surfaces · friction · preload / factor\nuse = force / resistance",
		Validity: "at least one bolt and surface, preload > 0, 0 < friction ≤ 1, force ≥ 0 and factor ≥ 1.",
		Source:   "Coulomb friction; EN 1993-1-8, 3.9.1, with k_s = 1 and γ_M3 as the factor",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := bolting.SlipInput{Bolts: a.count("bolts"), Preload: a.force("preload"), Friction: a.number("friction"), Surfaces: a.count("surfaces"), Force: a.force("force"), Factor: a.number("factor")}
			s, err := bolting.SlipResistance(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("resistance", float64(s.Resistance))
			r.set("use", s.Use)
			r.work("resistance = %d · %d · %s · %s / %s = %s", in.Bolts, in.Surfaces, num(in.Friction), kN(in.Preload), num(in.Factor), kN(s.Resistance))
			r.work("use = %s / %s = %s", kN(in.Force), kN(s.Resistance), num(s.Use))
			return r, nil
		},
	},
	{
		Name: "slip-en1993", Title: "Slip resistance of one bolt after EN 1993-1-8", Group: Bolting, Func: "bolting.CodeSlip",
		Inputs: keys(boltKeys(), []Key{
			number("friction", "slip factor", "0.5", "μ, of the faces"),
			count("surfaces", "1", "n, friction faces"),
			force("tension", "0kN", "F_t,Ed, tension on the same bolt").or("0kN", "none"),
			text("hole", "normal", "kind of hole: normal, oversize, short slot across, long slot across, short slot along, long slot along").or("normal", "a normal hole"),
			flag("service", "false", "in service instead of at the ultimate limit state").or("false", "the stricter case"),
		}),
		Outputs: []Output{
			{Name: "preload", Unit: "kN", Doc: "F_p,C, that the code counts on"},
			{Name: "resistance", Unit: "kN", Doc: "F_s,Rd"},
		},
		Formula:  "F_s,Rd = k_s·n·μ/γ_M3 · (F_p,C − 0.8·F_t,Ed)",
		Validity: "classes 8.8 and 10.9, controlled assemblies after EN 14399 and treated faces: a workshop joint with painted plates is not that. 0 ≤ F_t,Ed, 0.8·F_t,Ed ≤ F_p,C, n ≥ 1, 0 < μ ≤ 0.5.",
		Source:   "EN 1993-1-8, 3.6.1 and 3.9, as quoted in a textbook on steel and composite bridges; γ_M3 and the tension term from memory",
		Evidence: rule.Memory,
		run: func(a *Args) (*Result, error) {
			t, c, err := a.bolt()
			if err != nil {
				return nil, err
			}
			hole, err := bolting.FindHole(a.word("hole"))
			if err != nil {
				return nil, err
			}
			preload, err := bolting.CodePreload(t, c)
			if err != nil {
				return nil, err
			}
			in := bolting.CodeSlipInput{Preload: preload, Tension: a.force("tension"), Hole: hole, Surfaces: a.count("surfaces"), Friction: a.number("friction"), Service: a.truth("service")}
			s, err := bolting.CodeSlip(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("preload", float64(preload))
			r.set("resistance", float64(s))
			γ := "1.25"
			if in.Service {
				γ = "1.10"
			}
			r.work("F_p,C = 0.7 · %s MPa · %s mm² = %s", num(c.NominalTensile.Megapascals()), num(t.NominalArea.SquareMillimetres()), kN(preload))
			r.work("F_s,Rd = %s · %d · %s / %s · (%s − 0.8 · %s) = %s", num(hole.Share), in.Surfaces, num(in.Friction), γ, kN(preload), kN(in.Tension), kN(s))
			return r, nil
		},
	},
	{
		Name: "bolt-group", Title: "Shear and tension on the worst bolt of a pattern", Group: Bolting, Func: "bolting.ForcesOnBolts",
		Inputs: []Key{
			boltPlaces(),
			force("force-x", "0kN", "on the fitting, rearwards").or("0kN", "none"),
			force("force-y", "16kN", "on the fitting, to the left").or("0kN", "none"),
			force("down", "0kN", "on the fitting, downwards").or("0kN", "none"),
			inMM("at-x", "425mm", "where the force acts, in the datum of the bolts: x").or("0mm", "at the datum"),
			inMM("at-y", "0mm", "and y").or("0mm", "on the datum's line"),
			inMM("height", "0mm", "of its line of action above the bolts' plane").or("0mm", "in their plane"),
		},
		Outputs: []Output{
			{Name: "shear", Unit: "kN", Doc: "F_Q, on the bolt that has most"},
			{Name: "shear-bolt", Bare: "which bolt, in their order", Doc: "that bolt"},
			{Name: "tension", Unit: "kN", Doc: "F_A, on the bolt that has most; negative: pressed"},
			{Name: "tension-bolt", Bare: "which bolt, in their order", Doc: "that bolt"},
		},
		Formula:  "F_x = Q_x/n − M_z·y/I_p,   F_y = Q_y/n + M_z·x/I_p,   F_Q = √(F_x² + F_y²)\nF_A = N/n + M_y·x/Σx² + M_x·y/Σy²",
		Validity: "equal bolts under a rigid fitting, in a preloaded joint of which no row opens. Twist on a single bolt, or tilting across a single row, has no answer.",
		Source:   "elastic analysis of eccentric bolt groups, as in Shigley, Mechanical Engineering Design, chapter 8 (memory); checked against equilibrium and a least-squares solution",
		Evidence: rule.Derived,
		Sample:   []string{"bolt=x:75mm,y:60mm", "bolt=x:75mm,y:-60mm", "bolt=x:-75mm,y:60mm", "bolt=x:-75mm,y:-60mm", "force-y=16kN", "at-x=425mm"},
		names:    map[string]string{"bolts": "bolt", "place of a bolt": "bolt"},
		run: func(a *Args) (*Result, error) {
			pattern := a.pattern()
			g, err := bolting.GroupOf(pattern)
			if err != nil {
				return nil, err
			}
			load := g.LoadFrom(bolting.Applied{At: bolting.Point{X: a.length("at-x"), Y: a.length("at-y")}, Height: a.length("height"),
				X: a.force("force-x"), Y: a.force("force-y"), Down: a.force("down")})
			f, err := bolting.ForcesOnBolts(nil, pattern, load)
			if err != nil {
				return nil, err
			}
			r := a.result()
			most, pulled := f.Bolts[f.MostShear], f.Bolts[f.MostAxial]
			r.set("shear", float64(most.Shear))
			r.set("shear-bolt", float64(f.MostShear+1))
			r.set("tension", float64(pulled.Axial))
			r.set("tension-bolt", float64(f.MostAxial+1))
			r.work("centroid x %s, y %s; I_p = %s mm²", mm(g.Centroid.X), mm(g.Centroid.Y), num(g.Polar().SquareMillimetres()))
			r.work("M_z = %s N·m, M_y = %s N·m, M_x = %s N·m, N = %s", num(load.Twist), num(load.TiltX), num(load.TiltY), kN(load.Axial))
			r.work("bolt %d: F_Q = √((%s)² + (%s)²) = %s; bolt %d: F_A = %s", f.MostShear+1, kN(most.X), kN(most.Y), kN(most.Shear), f.MostAxial+1, kN(pulled.Axial))
			return r, nil
		},
	},
	{
		Name: "bolt-fatigue", Title: "Stress amplitude of a bolt under a swinging load", Group: Bolting, Func: "bolting.BoltFatigue",
		Inputs: keys(boltKeys()[:1], []Key{
			number("load-factor", "share of the load that the bolt feels", "0.096", "Φ"),
			force("upper", "18.75kN", "F_Ao, upper load on the bolt"),
			force("lower", "-18.75kN", "F_Au, lower load on the bolt"),
		}),
		Outputs: []Output{
			{Name: "amplitude", Unit: "MPa", Doc: "σ_a"},
			{Name: "endurance", Unit: "MPa", Doc: "σ_ASV, endured for ever"},
			{Name: "use", Bare: "amplitude over endurance", Doc: "above 1 it breaks in the long run"},
		},
		Formula:  "σ_a = Φ·(F_Ao − F_Au)/(2·AS)  ≤  σ_ASV = 0.85·(150/d + 45)",
		Validity: "threads rolled before heat treatment, 2·10⁶ swings and more, a joint that does not open, 0 ≤ Φ ≤ 1 and F_Ao ≥ F_Au.",
		Source:   "VDI 2230 Part 1, endurance limit of rolled threads (memory)",
		Evidence: rule.Memory,
		names:    map[string]string{"Φ": "load-factor", "upper load": "upper"},
		run: func(a *Args) (*Result, error) {
			t, err := bolting.FindThread(a.word("size"))
			if err != nil {
				return nil, err
			}
			in := bolting.FatigueInput{Thread: t, LoadFactor: a.number("load-factor"), Upper: a.force("upper"), Lower: a.force("lower")}
			f, err := bolting.BoltFatigue(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("amplitude", float64(f.Amplitude))
			r.set("endurance", float64(f.Endurance))
			r.set("use", f.Use)
			r.work("σ_a = %s · (%s − %s) / (2 · %s mm²) = %s MPa", num(in.LoadFactor), kN(in.Upper), kN(in.Lower), num(t.StressArea().SquareMillimetres()), num(f.Amplitude.Megapascals()))
			r.work("σ_ASV = 0.85 · (150/%s + 45) = %s MPa", num(t.Diameter.Millimetres()), num(f.Endurance.Megapascals()))
			return r, nil
		},
	},
	{
		Name: "mounting-check", Title: "Bolts under a fifth wheel at the approval's loads", Group: Bolting, Func: "bolting.CheckMounting",
		Inputs: []Key{
			compound("bolt", "place of each bolt: x rearwards, y to the left, from any datum",
				[]string{"x:-120mm,y:350mm", "x:-120mm,y:400mm", "x:-120mm,y:-350mm", "x:-120mm,y:-400mm", "x:0mm,y:350mm", "x:0mm,y:400mm", "x:0mm,y:-350mm", "x:0mm,y:-400mm",
					"x:120mm,y:350mm", "x:120mm,y:400mm", "x:120mm,y:-350mm", "x:120mm,y:-400mm"},
				inMM("x", "120mm", "rearwards"), inMM("y", "350mm", "to the left")),
			text("size", "M16", "thread, as stamped: M12 to M24, a fine one as M16x1.5"),
			force("d", "150kN", "D, rating of the fifth wheel"),
			mass("u", "20t", "U, rating of the fifth wheel"),
			flag("steered", "false", "approved for positive steering of the trailer").or("false", "the usual fifth wheel"),
			inMM("joint", "0mm", "x of the coupling joint in the datum of the bolts").or("0mm", "over the datum"),
			inMM("height", "200mm", "h, coupling joint above the bolts' plane"),
			force("preload", "62.44kN", "F_V, that can be counted on in each bolt: least, losses taken off"),
			number("load-factor", "share of the load that the bolt feels", "0.096", "Φ"),
			number("friction", "coefficient", "0.15", "μ_T, between feet and plate"),
		},
		Outputs: []Output{
			{Name: "slip-dynamic", Bare: "resistance over force", Doc: "least safety against slip under the loads of the dynamic test"},
			{Name: "slip-full", Bare: "resistance over force", Doc: "least safety against slip when D acts once; our own choice of load"},
			{Name: "stops-needed", Doc: "true where friction alone is not enough: below 1.2 dynamic or 1.0 at full D"},
			{Name: "tension", Unit: "kN", Doc: "greatest load along one bolt, of all load cases"},
			{Name: "opens", Doc: "true where a bolt's joint opens in some load case"},
			{Name: "fatigue-use", Bare: "amplitude over endurance", Doc: "of the worst bolt in the dynamic test"},
		},
		Formula:  "capacity = μ_T·(n·F_V + V),   S = capacity/H\nF_A = −V/n + H·h·x/Σx² on the worst bolt,   F_K = F_V − (1 − Φ)·F_A\nstops needed when S < 1.2 at the dynamic load or S < 1.0 at full D",
		Validity: "a rigid fitting on equal bolts, h ≥ 0, F_V ≥ 0, 0 ≤ Φ ≤ 1, 0 < μ_T ≤ 0.5. A single row across the vehicle cannot resist tilting and has no answer. Some laws ask for a positive device against shifting whatever friction holds.",
		Source:   "UN Regulation No. 55, Annex 6, 3.7.3.1 and 3.7.3.2, for the loads of the dynamic test; VDI 2230 Part 1 for slip and clamping; full D once, and the rule for stops, are common practice, no source",
		Evidence: rule.Practice,
		names: map[string]string{"bolts": "bolt", "place of a bolt": "bolt", "coupling joint": "joint", "D": "d", "U": "u", "Φ": "load-factor",
			"F_V": "preload", "shear": "d"},
		run: runMounting,
	},
}

func runMounting(a *Args) (*Result, error) {
	t, err := bolting.FindThread(a.word("size"))
	if err != nil {
		return nil, err
	}
	in := bolting.MountingInput{Pattern: a.pattern(), Joint: a.length("joint"), Height: a.length("height"),
		Rating: bolting.LoadInput{D: a.force("d"), U: a.mass("u"), Steered: a.truth("steered")},
		Thread: t, Preload: a.force("preload"), LoadFactor: a.number("load-factor"), Friction: a.number("friction")}
	m, err := bolting.CheckMounting(in)
	if err != nil {
		return nil, err
	}
	r := a.result()
	r.set("slip-dynamic", m.DynamicSlip)
	r.set("slip-full", m.FullSlip)
	r.truth("stops-needed", m.StopsNeeded)
	most := m.Cases[0].Axial
	for _, c := range m.Cases {
		most = max(most, c.Axial)
		safety := ""
		if c.Case.Longitudinal > 0 {
			safety = fmt.Sprintf(", slip capacity %s · (%d · %s + %s) = %s, S = %s", num(in.Friction), m.Group.Count, kN(in.Preload), kN(c.Case.Down), kN(c.Capacity), num(c.Safety))
		}
		r.work("%s: H = %s, V = %s%s; worst bolt F_A = %s, F_K = %s", c.Case.Name, kN(c.Case.Longitudinal), kN(c.Case.Down), safety, kN(c.Axial), kN(c.Clamp))
	}
	r.set("tension", float64(most))
	r.truth("opens", !m.AllClosed)
	r.set("fatigue-use", m.Fatigue.Use)
	if m.StopsNeeded {
		r.note("stops fore and aft of each foot, welded to the mounting plate and never to the frame's flanges, each side for %s", kN(m.StopForce))
	}
	r.note("full D once is our own choice of load, and lifting is from memory: they warn and certify nothing")
	return r, nil
}
