package formula

import (
	"underpin/clearance"
	"underpin/rule"
	"underpin/unit"
)

// tiltKeys are one case of pitch, roll and bump that act at once.
func tiltKeys() []Key {
	return []Key{
		angle("pitch", "6deg", "β, towards the obstacle: nose-up for what lies behind the tilt axis, nose-down for what lies ahead"),
		angle("roll", "0deg", "α, to either side"),
		length("tilt-axis-depth", "90mm", "p, tilt axis below the plate face"),
		length("underside", "0mm", "t, trailer's underside above the plate face; below it negative"),
		length("bump", "0mm", "travel of the axle towards the frame"),
	}
}

func (a *Args) tilt() clearance.TiltCase {
	return clearance.TiltCase{Pitch: a.angle("pitch"), Roll: a.angle("roll"), Bump: a.length("bump"), TiltAxisDepth: a.length("tilt-axis-depth"), Underside: a.length("underside")}
}

func gapOutputs() []Output {
	return []Output{
		{Name: "gap", Unit: "m", Doc: "what is left; negative: interference"},
		{Name: "level", Unit: "m", Doc: "gap of the level vehicle without bump"},
		{Name: "pitch-loss", Unit: "m", Doc: "cost of the pitch alone"},
		{Name: "roll-loss", Unit: "m", Doc: "further cost of the roll"},
		{Name: "bump-loss", Unit: "m", Doc: "cost of the bump"},
	}
}

func (r *Result) gap(g clearance.TiltGap) {
	r.set("gap", float64(g.Gap))
	r.set("level", float64(g.Level))
	r.set("pitch-loss", float64(g.PitchLoss))
	r.set("roll-loss", float64(g.RollLoss))
	r.set("bump-loss", float64(g.BumpLoss))
	r.work("gap = %s − %s (pitch) − %s (roll) − %s (bump) = %s", mm(g.Level), mm(g.PitchLoss), mm(g.RollLoss), mm(g.BumpLoss), mm(g.Gap))
	r.note("one case of movements at once; gaps of several cases are not to be added up")
}

func rearPoints() Key {
	return compound("point", "each point of the tractor's rear: x behind the rear axle from which the lead is taken, y off the centre line", []string{"x:0.90m,y:0.40m", "x:0.62m,y:1.275m"},
		length("x", "0.9m", "behind the axle"), length("y", "0.4m", "off the centre line"))
}

func (a *Args) rearPoints() []clearance.RearPoint {
	all := a.all("point")
	points := make([]clearance.RearPoint, len(all))
	for i := range all {
		points[i] = clearance.RearPoint{BehindAxle: all[i].length(0), Offset: all[i].length(1)}
	}
	return points
}

var clearanceTable = []*Calculation{
	{
		Name: "swing-radius", Title: "Radius that the trailer's front corner sweeps", Group: Clearance, Func: "clearance.SwingRadius",
		Inputs: []Key{
			length("overhang", "1.6m", "xf, front wall ahead of the kingpin"),
			length("width", "2.55m", "w, at the front wall"),
			length("corner", "30mm", "rc, radius of the vertical corner; 0mm for a sharp one"),
		},
		Outputs:  []Output{{Name: "radius", Unit: "m", Doc: "Rs"}},
		Formula:  "Rs = sqrt((xf − rc)² + (w/2 − rc)²) + rc",
		Validity: "w > 0, xf ≥ 0 and 0 ≤ rc ≤ min(xf, w/2). Ordinary turning points the corner straight ahead: no smaller articulation may be credited.",
		Source:   "plane geometry, derived; handbook chapter 04, 2.2",
		Evidence: rule.Derived,
		names:    map[string]string{"front overhang": "overhang", "corner radius": "corner"},
		run: func(a *Args) (*Result, error) {
			n := clearance.Nose{Overhang: a.length("overhang"), Width: a.length("width"), Corner: a.length("corner")}
			s, err := clearance.SwingRadius(n)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("radius", float64(s.Radius))
			r.work("Rs = √((%s − %s)² + (%s/2 − %s)²) + %s = %s", metres(n.Overhang), metres(n.Corner), metres(n.Width), metres(n.Corner), metres(n.Corner), metres(s.Radius))
			r.note("straight ahead from an articulation of %s; with a sharp corner %s", degrees(s.Bearing), metres(s.Sharp))
			return r, nil
		},
	},
	{
		Name: "longest-overhang", Title: "Longest front overhang inside a radius", Group: Clearance, Func: "clearance.LongestOverhang",
		Inputs: []Key{
			length("radius", "2.04m", "R, that the corners may not leave"),
			length("width", "2.55m", "w"),
			length("corner", "0mm", "rc, radius of the vertical corner; 0mm for a sharp one"),
		},
		Outputs:  []Output{{Name: "overhang", Unit: "m", Doc: "xf, of a flat front wall ahead of the kingpin"}},
		Formula:  "xf = sqrt((R − rc)² − (w/2 − rc)²) + rc",
		Validity: "w > 0, R > 0 and 0 ≤ rc ≤ w/2. A body wider than the circle has no such overhang.",
		Source:   "plane geometry, derived; handbook chapter 04, 2.2",
		Evidence: rule.Derived,
		names:    map[string]string{"corner radius": "corner"},
		run: func(a *Args) (*Result, error) {
			R, w, rc := a.length("radius"), a.length("width"), a.length("corner")
			xf, err := clearance.LongestOverhang(R, w, rc)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("overhang", float64(xf))
			r.work("xf = √((%s − %s)² − (%s/2 − %s)²) + %s = %s", metres(R), metres(rc), metres(w), metres(rc), metres(rc), metres(xf))
			return r, nil
		},
	},
	{
		Name: "nose-depth", Title: "Depth that a unit on the front wall may have", Group: Clearance, Func: "clearance.NoseDepth",
		Inputs: []Key{
			length("radius", "2.04m", "R, about the kingpin, that the unit may not leave"),
			length("overhang", "1.5925m", "xf, front wall ahead of the kingpin"),
			length("offset", "0.9m", "y, off the centre line"),
		},
		Outputs:  []Output{{Name: "depth", Unit: "m", Doc: "d, ahead of the wall; negative: the wall itself stands outside the radius there"}},
		Formula:  "d(y) = sqrt(R² − y²) − xf",
		Validity: "R > 0, xf ≥ 0 and |y| ≤ R.",
		Source:   "plane geometry, derived; handbook chapter 04, 2.2",
		Evidence: rule.Derived,
		names:    map[string]string{"y": "offset", "front overhang": "overhang"},
		run: func(a *Args) (*Result, error) {
			R, xf, y := a.length("radius"), a.length("overhang"), a.length("offset")
			d, err := clearance.NoseDepth(R, xf, y)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("depth", float64(d))
			r.work("d = √((%s)² − (%s)²) − %s = %s", metres(R), metres(y), metres(xf), metres(d))
			return r, nil
		},
	},
	{
		Name: "cab-gap", Title: "Gap between cab and the trailer's swinging corner", Group: Clearance, Func: "clearance.GapToCab",
		Inputs: []Key{
			length("cab-to-coupling", "2.225m", "Dc, coupling centre to the rearmost point of the cab, or of what is built on behind it, at this height"),
			length("swing-radius", "2.04m", "Rs, of the trailer's front at this height"),
			length("height", "250mm", "z, above the plate face"),
			angle("pitch", "6deg", "β, trailer nose-down against the tractor"),
			length("tilt-axis-depth", "88.9mm", "p, tilt axis below the plate face"),
		},
		Outputs: []Output{
			{Name: "reach", Unit: "m", Doc: "X, forward reach of the corner"},
			{Name: "gap", Unit: "m", Doc: "what is left; negative: collision"},
		},
		Formula:  "X   = Rs·cosβ + (z + p)·sinβ\ngap = Dc − X",
		Validity: "Dc ≥ 0, Rs > 0, |β| < 90°. Nose-down the reach grows with height: ask for the roof edge and the deflector too. The most forward position of a slider is the worst.",
		Source:   "SAE J701 has the same reach with β = 6°17′ and p = 3.50 in; derived in handbook chapter 04, 2.3",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			l := clearance.CabLayer{CabToCoupling: a.length("cab-to-coupling"), SwingRadius: a.length("swing-radius"), Height: a.length("height"),
				NoseDown: a.angle("pitch"), TiltAxisDepth: a.length("tilt-axis-depth")}
			g, err := clearance.GapToCab(l)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("reach", float64(g.Reach))
			r.set("gap", float64(g.Gap))
			r.work("X = %s · cos %s + (%s + %s) · sin %s = %s", metres(l.SwingRadius), degrees(l.NoseDown), metres(l.Height), metres(l.TiltAxisDepth), degrees(l.NoseDown), metres(g.Reach))
			r.work("gap = %s − %s = %s", metres(l.CabToCoupling), metres(g.Reach), mm(g.Gap))
			return r, nil
		},
	},
	{
		Name: "trailer-point", Title: "A point of the trailer in the tractor's axes", Group: Clearance, Func: "clearance.InTractor",
		Inputs: []Key{
			length("x", "1.5925m", "forward of the kingpin"),
			length("y", "1.275m", "to the left"),
			length("z", "0.25m", "above the plate face"),
			angle("yaw", "-20deg", "γ', trailer less tractor, about the kingpin: the negative of the articulation"),
			angle("pitch", "6deg", "β, nose-down positive"),
			angle("roll", "3deg", "α, left side up positive"),
			length("tilt-axis-depth", "88.9mm", "p, tilt axis below the plate face"),
		},
		Outputs: []Output{
			{Name: "x", Unit: "m", Doc: "forward of the kingpin"},
			{Name: "y", Unit: "m", Doc: "to the left"},
			{Name: "z", Unit: "m", Doc: "above the plate face"},
		},
		Formula:  "x1 = x·cosγ' − y·sinγ'    y1 = x·sinγ' + y·cosγ'    z1 = z + p\ny2 = y1·cosα − z1·sinα    z2 = y1·sinα + z1·cosα\nX  = x1·cosβ + z2·sinβ    Y  = y2                   Z  = −x1·sinβ + z2·cosβ − p",
		Validity: "any yaw, roll and pitch between −90° and 90°. The kingpin turns in the plate, the plate rolls on the tractor, then pitches on its tilt axis.",
		Source:   "plane geometry of the order of the joints, derived; handbook chapter 04, 2.1",
		Evidence: rule.Derived,
		names:    map[string]string{"p": "tilt-axis-depth"},
		run: func(a *Args) (*Result, error) {
			p, err := clearance.InTractor(clearance.Point{X: a.length("x"), Y: a.length("y"), Z: a.length("z")},
				clearance.Attitude{Yaw: a.angle("yaw"), NoseDown: a.angle("pitch"), LeftUp: a.angle("roll"), TiltAxisDepth: a.length("tilt-axis-depth")})
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("x", float64(p.X))
			r.set("y", float64(p.Y))
			r.set("z", float64(p.Z))
			r.work("(%s, %s, %s) turned by %s, rolled by %s, pitched by %s: (%s, %s, %s)", metres(a.length("x")), metres(a.length("y")), metres(a.length("z")),
				degrees(a.angle("yaw")), degrees(a.angle("roll")), degrees(a.angle("pitch")), metres(p.X), metres(p.Y), metres(p.Z))
			return r, nil
		},
	},
	{
		Name: "leg-gap", Title: "Gap between the tractor's rear and the landing legs", Group: Clearance, Func: "clearance.GapToLegs",
		Inputs: []Key{
			length("lead", "0.575m", "e, coupling ahead of the rear axle"),
			length("leg-radius", "2.3m", "Rleg, least horizontal distance from the kingpin to anything on the trailer below the plate"),
			rearPoints(),
		},
		Outputs: []Output{
			{Name: "radius", Unit: "m", Doc: "Rt, of the farthest point about the kingpin"},
			{Name: "gap", Unit: "m", Doc: "what is left; negative: collision"},
		},
		Formula:  "Rt  = max over the points of sqrt((e + xp)² + yp²)\ngap = Rleg − Rt",
		Validity: "Rleg > 0 and at least one point; the articulation is taken as unlimited. The most forward position of a slider is the worst.",
		Source:   "plane geometry, derived; SAE J701 has the same triangle. Handbook chapter 04, 2.4",
		Evidence: rule.Derived,
		names:    map[string]string{"rear points": "point", "point behind the axle": "x", "point off the centre line": "y"},
		run: func(a *Args) (*Result, error) {
			points := a.rearPoints()
			s, err := clearance.GapToLegs(a.length("lead"), a.length("leg-radius"), points)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("radius", float64(s.Radius))
			r.set("gap", float64(s.Gap))
			g := points[s.Governs]
			r.work("Rt = √((%s + %s)² + (%s)²) = %s, of point %d", metres(a.length("lead")), metres(g.BehindAxle), metres(g.Offset), metres(s.Radius), s.Governs+1)
			r.work("gap = %s − %s = %s", metres(a.length("leg-radius")), metres(s.Radius), mm(s.Gap))
			return r, nil
		},
	},
	{
		Name: "leg-leads", Title: "Leads that keep the rear clear of the landing legs", Group: Clearance, Func: "clearance.LegLeads",
		Inputs: []Key{
			length("leg-radius", "2.3m", "Rleg, kingpin to the legs, horizontally"),
			length("clearance", "100mm", "c, to be kept"),
			rearPoints(),
		},
		Outputs: []Output{
			{Name: "min", Unit: "m", Doc: "least lead ahead of the rear axle"},
			{Name: "max", Unit: "m", Doc: "greatest lead"},
		},
		Formula:  "e ≤ sqrt((Rleg − c)² − yp²) − xp\ne ≥ −sqrt((Rleg − c)² − yp²) − xp",
		Validity: "Rleg > 0, c ≥ 0 and at least one point. When no lead keeps the clearance there is no answer.",
		Source:   "plane geometry, derived: the gap to the legs solved for the lead; handbook chapter 04, 2.4",
		Evidence: rule.Derived,
		names:    map[string]string{"rear points": "point", "point behind the axle": "x", "point off the centre line": "y"},
		run: func(a *Args) (*Result, error) {
			points := a.rearPoints()
			l, err := clearance.LegLeads(a.length("leg-radius"), a.length("clearance"), points)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("min", float64(l.Min))
			r.set("max", float64(l.Max))
			g := points[l.Governs]
			r.work("e ≤ √((%s − %s)² − (%s)²) − %s = %s, of point %d", metres(a.length("leg-radius")), metres(a.length("clearance")), metres(g.Offset), metres(g.BehindAxle), metres(l.Max), l.Governs+1)
			return r, nil
		},
	},
	{
		Name: "frame-gap", Title: "Gap between the frame's end and a pitched trailer", Group: Clearance, Func: "clearance.GapOverFrame",
		Inputs: keys([]Key{
			length("distance", "1.475m", "d, of the obstacle from the tilt axis: behind it for nose-up, ahead of it for nose-down"),
			length("below", "0.235m", "h, top of the obstacle below the plate face"),
			length("offset", "0m", "y, its farthest point off the centre line"),
			flag("on-axle", "false", "it moves with the axle, as a mudguard does, so that the bump counts").or("false", "it stands on the frame"),
		}, tiltKeys()),
		Outputs:  gapOutputs(),
		Formula:  "gap = h + [(p + t)/cosα − |y|·tanα]/cosβ − p − d·tanβ",
		Validity: "d ≥ 0, 0 ≤ β < 90°, 0 ≤ α < 90°, a flat underside; then the yaw drops out.",
		Source:   "plane geometry, derived; handbook chapter 04, 2.5, which takes |y|·tanα for the roll; the division by cosβ follows from the order of roll and pitch",
		Evidence: rule.Derived,
		names:    map[string]string{"obstacle below the plate": "below"},
		run: func(a *Args) (*Result, error) {
			g, err := clearance.GapOverFrame(clearance.Obstacle{Distance: a.length("distance"), Below: a.length("below"), Offset: a.length("offset"), OnAxle: a.truth("on-axle")}, a.tilt())
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.gap(g)
			return r, nil
		},
	},
	{
		Name: "tyre-gap", Title: "Gap between a tractor tyre and a pitched trailer", Group: Clearance, Func: "clearance.GapOverTyre",
		Inputs: keys([]Key{
			length("distance", "0.575m", "e, wheel centre from the tilt axis: behind it for nose-up, ahead of it for nose-down"),
			length("wheel-height", "-0.66m", "zw, wheel centre above the plate face; it lies below, so negative"),
			length("tyre-radius", "0.51m", "Rt, free radius"),
			length("offset", "0m", "y, outer face of the tyre off the centre line"),
		}, tiltKeys()),
		Outputs:  gapOutputs(),
		Formula:  "gap = (p + t)/cosα − |y|·tanα − [e·sinβ + cosβ·(zw + p)] − Rt − bump",
		Validity: "e ≥ 0, Rt > 0, 0 ≤ β < 90°, 0 ≤ α < 90°, a flat underside. Measured square to the underside; the bump is taken in full, which is on the safe side.",
		Source:   "plane geometry, derived; handbook chapter 04, 2.5, which has (p + t) for (p + t)/cosα",
		Evidence: rule.Derived,
		names:    map[string]string{"wheel centre height": "wheel-height"},
		run: func(a *Args) (*Result, error) {
			g, err := clearance.GapOverTyre(clearance.Tyre{Distance: a.length("distance"), Height: a.length("wheel-height"), Radius: a.length("tyre-radius"), Offset: a.length("offset")}, a.tilt())
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.gap(g)
			return r, nil
		},
	},
	{
		Name: "j701-cab-distance", Title: "Cab to fifth wheel that SAE J701 needs", Group: Clearance, Func: "clearance.SAEJ701CabDistance",
		Inputs: []Key{
			quantity("height", unit.In, "40in", "H, above the plate face"),
			quantity("swing-radius", unit.In, "60in", "SR, of the trailer's front"),
		},
		Outputs:  []Output{{Name: "distance", Unit: "in", Doc: "CFW, fifth wheel to cab"}},
		Formula:  "CFW = (H + FWP)·sin 6°17′ + SR·cos 6°17′",
		Validity: "H ≥ 0 and SR > 0; FWP is 3.50 in, 6°17′ stands for a grade of 11 %.",
		Source:   "SAE J701 (formulas of the abstracts of the 1984 and the 2017 edition)",
		Evidence: rule.Read,
		names:    map[string]string{"H": "height", "SR": "swing-radius"},
		run: func(a *Args) (*Result, error) {
			H, SR := a.length("height"), a.length("swing-radius")
			d, err := clearance.SAEJ701CabDistance(H, SR)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("distance", float64(d))
			r.work("CFW = (%s + 3.5 in) · sin 6°17′ + %s · cos 6°17′ = %s", in(float64(H), unit.In), in(float64(SR), unit.In), in(float64(d), unit.In))
			return r, nil
		},
	},
	{
		Name: "j701-leg-distance", Title: "Kingpin to landing gear that SAE J701 needs", Group: Clearance, Func: "clearance.SAEJ701LegDistance",
		Inputs: []Key{
			quantity("width", unit.In, "102in", "W, over the tyres"),
			quantity("lead", unit.In, "0in", "FW, fifth wheel ahead of the rear axle"),
			quantity("tyre-radius", unit.In, "20.5in", "R, of the tyre"),
			quantity("clearance", unit.In, "4in", "C").or("4in", "that of the standard"),
		},
		Outputs:  []Output{{Name: "distance", Unit: "in", Doc: "LWC, kingpin to landing gear"}},
		Formula:  "LWC² = (W/2)² + (FW + R + C)²",
		Validity: "W > 0, R ≥ 0, C ≥ 0 and FW + R + C ≥ 0.",
		Source:   "SAE J701 (formulas of the abstracts)",
		Evidence: rule.Read,
		names:    map[string]string{"W": "width", "R": "tyre-radius", "C": "clearance", "FW + R + C": "lead"},
		run: func(a *Args) (*Result, error) {
			W, FW, R, C := a.length("width"), a.length("lead"), a.length("tyre-radius"), a.length("clearance")
			d, err := clearance.SAEJ701LegDistance(W, FW, R, C)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("distance", float64(d))
			inch := func(l unit.Length) string { return in(float64(l), unit.In) }
			r.work("LWC = √((%s/2)² + (%s + %s + %s)²) = %s", inch(W), inch(FW), inch(R), inch(C), inch(d))
			return r, nil
		},
	},
}
