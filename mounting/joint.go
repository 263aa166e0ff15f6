package mounting

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"underpin/bolting"
	"underpin/rule"
	"underpin/unit"
)

// A JointResult is one bolted joint with all that is found of it.
type JointResult struct {
	Joint     *Joint
	Title     string
	OnWeb     bool
	Places    []Place // of the bolts; of a web joint, those of one side
	Order     []int   // numbers of the places in the order of tightening
	Thread    bolting.Thread
	Class     bolting.Class
	Band      *bolting.TorqueBand // nil while the torque or what it rests on is not known
	Maximum   unit.Torque         // theoretical maximum at the least friction; NaN unknown
	Factor    float64             // tightening factor; NaN unknown
	Most      unit.Force          // largest preload that the torque may give
	Least     unit.Force          // smallest
	Loss      unit.Force          // by embedding
	Counted   unit.Force          // least preload less the loss; NaN unknown
	Elastic   *bolting.Joint
	Mounting  *bolting.Mounting // of a joint that lies flat
	Web       []WebForce        // of a web joint
	Findings  []rule.Finding
	NeedsStop *bool // nil: cannot be told
	Missing   []string
}

// A WebForce is one load case on the bolts of one side.
type WebForce struct {
	Case  bolting.LoadCase
	Shear unit.Force // on the worst bolt
	Bolt  int        // its number
}

// A mounted is a fitting with what its joints are checked for.
type mounted struct {
	file    *File
	chassis *Chassis
	fitting *Fitting
	stack   Stack
	middles []unit.Length // of the parts, behind the front axle; on a slider for its foremost position
	raise   unit.Length   // highest position of a lift that is used
	rating  bolting.LoadInput
	rated   bool     // D and U are known
	laws    []string // the rulebook and what it is built on
	travel  unit.Length
}

const noRating = "D and U of the fifth wheel"

// joint checks one joint.
func (m *mounted) joint(j *Joint) JointResult {
	r := JointResult{Joint: j, Title: m.titled(j.Upper) + " on " + m.titled(j.Lower), Maximum: unit.Torque(math.NaN()), Factor: math.NaN(),
		Most: nanForce, Least: nanForce, Loss: nanForce, Counted: nanForce}
	upper, _ := m.file.joined(m.stack, j)
	var pattern *Pattern
	switch {
	case upper == nil:
		r.OnWeb, pattern = true, m.chassis.Angles.Web
	default:
		r.OnWeb, pattern = j.Lower == OnFrame, upper.Foot
	}
	r.Places = chosen(pattern.Places(), j.Holes)
	r.Order = Tightening(r.Places)
	m.bolts(&r)
	m.arrangement(&r, upper)
	switch {
	case len(r.Places) == 0:
		r.Missing = append(r.Missing, r.Title+": places of the bolts (the foot holes of "+j.Upper+")")
	case !m.rated:
		r.Missing = append(r.Missing, r.Title+": "+noRating)
	}
	if r.OnWeb {
		m.web(&r, upper)
	} else {
		m.flat(&r, upper)
	}
	return r
}

var nanForce = unit.Force(math.NaN())

func (m *mounted) titled(id string) string {
	if p := m.file.Part(id); p != nil {
		return p.Title()
	}
	switch id {
	case OnAngles:
		return "attachment angles"
	case OnFrame:
		return "frame"
	}
	return id
}

func chosen(places []Place, numbers []int) []Place {
	if len(numbers) == 0 {
		return places
	}
	var out []Place
	for _, p := range places {
		if slices.Contains(numbers, p.Number) {
			out = append(out, p)
		}
	}
	return out
}

// id makes the id of a joint's finding.
func (r *JointResult) id(what string) string {
	return "bolt." + what + "." + r.Joint.Upper
}

func (r *JointResult) add(f rule.Finding) { r.Findings = append(r.Findings, f) }

// lack notes what is missing of a joint, with its name.
func (r *JointResult) lack(known bool, field string) bool {
	if !known {
		r.Missing = append(r.Missing, r.Title+": "+field)
	}
	return known
}

const (
	byVDI   = "VDI 2230 Part 1"
	byISO   = "EN ISO 898-1"
	byTable = byVDI + "; " + byISO + "; ISO 724"
)

// bolts finds thread, class, torque band and the preload to be counted on.
func (m *mounted) bolts(r *JointResult) {
	j := r.Joint
	ok := r.lack(j.Thread != "", "thread") && r.lack(j.Grade != "", "grade")
	if ok {
		var err error
		if r.Thread, err = bolting.FindThread(j.Thread); err != nil {
			ok = r.lack(false, "a thread of the table")
		} else if r.Class, err = bolting.FindClass(j.Grade, r.Thread.Diameter); err != nil {
			ok = r.lack(false, "a property class of the table")
		}
	}
	if ok && j.Washer != nil {
		r.Thread.Bearing = *j.Washer
	}
	hasTorque := r.lack(j.Torque != nil && j.Document != "", "torque, with the document that it stands in")
	hasFriction := r.lack(j.LeastFriction != nil && j.MostFriction != nil, "friction-least and friction-most of thread and head")
	if ok && hasFriction {
		if f, err := bolting.AssemblyPreload(bolting.PreloadInput{Thread: r.Thread, Class: r.Class, Friction: *j.LeastFriction, Utilisation: 0.9}); err == nil {
			if t, err := bolting.AssemblyTorque(bolting.TorqueInput{Thread: r.Thread, Preload: f.Force, ThreadFriction: *j.LeastFriction, HeadFriction: *j.LeastFriction}); err == nil {
				r.Maximum = t.Torque
			}
		}
	}
	if ok && hasTorque && hasFriction {
		b, err := bolting.CheckTorque(bolting.TorqueBandInput{Thread: r.Thread, Class: r.Class, Torque: *j.Torque, LeastFriction: *j.LeastFriction, MostFriction: *j.MostFriction})
		if err == nil {
			r.Band, r.Most = &b, b.Tightest.Preload
		} else {
			r.Missing = append(r.Missing, r.Title+": "+err.Error())
		}
	}
	m.torqueFindings(r)
	m.preload(r)
}

// torqueFindings hold the torque of the document against what the bolt can
// take. They decide whether the sheet may be approved: there is no default
// torque.
func (m *mounted) torqueFindings(r *JointResult) {
	ev := weakest(rule.Derived, ruled(r.Class.Evidence), ruled(r.Thread.BearingEvidence))
	if r.Thread.Diameter == 0 {
		ev = rule.Derived
	}
	if r.Joint.Washer != nil && r.Thread.Diameter > 0 {
		ev = weakest(rule.Derived, ruled(r.Class.Evidence)) // the bearing face is entered
	}
	torque, most, least := math.NaN(), math.NaN(), math.NaN()
	working := ""
	if r.Joint.Torque != nil {
		torque = float64(*r.Joint.Torque)
	}
	if r.Band != nil {
		most, least = float64(r.Band.Highest), float64(r.Band.Lowest)
		working = fmt.Sprintf("theoretical maximum, not a fitting torque: M_A = F_M·[0.159·P + 0.577·d2·μ + (dW + dh)/4·μ] at 90 %% of yield and μ %.3g is %s; entered %s from %s, which gives %s at μ %.3g and %s at μ %.3g",
			*r.Joint.LeastFriction, nm(r.Band.Highest), nm(*r.Joint.Torque), r.Joint.Document, kn(r.Band.Tightest.Preload), *r.Joint.LeastFriction, kn(r.Band.Loosest.Preload), *r.Joint.MostFriction)
	}
	r.add(hold(rule.Finding{ID: r.id("torque-most"), Title: r.Title + ": torque against the bolt's theoretical maximum", Sense: rule.AtMost, Unit: unit.NM,
		Evidence: ev, Calc: "bolt", Source: byTable, Working: working,
		Note: "The torque that was entered stresses the bolt beyond 90 % of its yield: look at thread, grade, friction and document again."},
		torque, most, r.Missing...))
	if r.Band == nil {
		// It must be entered, whatever the evidence of the table.
		f := &r.Findings[len(r.Findings)-1]
		f.Binding = true
		return
	}
	r.add(hold(rule.Finding{ID: r.id("torque-least"), Title: r.Title + ": torque against 60 % of the theoretical maximum", Sense: rule.AtLeast, Unit: unit.NM,
		Evidence: rule.Practice, Calc: "bolt", Source: "common practice, no source: below 60 % of the torque at 90 % of yield", Working: working,
		Note: "The torque that was entered is low for this bolt: look at thread, grade, friction and document again."},
		torque, least))
}

func nm(t unit.Torque) string { return unit.Format(float64(t), unit.NM, 0) }
func kn(f unit.Force) string  { return unit.Format(float64(f), unit.KN, 1) }

// preload finds what of the preload can be counted on: the largest over the
// tightening factor, no more than the torque gives at the most friction, less
// what embedding takes.
func (m *mounted) preload(r *JointResult) {
	j := r.Joint
	if r.Band == nil {
		return
	}
	if !r.lack(j.Method != "", "method of tightening") {
		return
	}
	method, err := bolting.FindMethod(j.Method)
	if err != nil {
		r.lack(false, err.Error())
		return
	}
	α, _, err := method.DesignFactor(j.Lubricant != "")
	if err != nil {
		r.lack(false, "a way of tightening that counts: "+err.Error())
		return
	}
	r.Factor = α
	least, err := bolting.LeastPreload(r.Most, α)
	if err != nil {
		return
	}
	r.Least = min(least, r.Band.Loosest.Preload)
	if !r.lack(j.Shank != nil && j.Threaded != nil && j.PlateWidth != nil, "shank, threaded and clamped-width") {
		return
	}
	e, err := bolting.ElasticJoint(bolting.JointInput{Thread: r.Thread, Shank: *j.Shank, Threaded: *j.Threaded, PlateWidth: *j.PlateWidth, Position: 0.5})
	if err != nil {
		r.lack(false, err.Error())
		return
	}
	r.Elastic = &e
	if !r.lack(j.Roughness != "" && j.Coated != nil, "roughness and coated") {
		return
	}
	z, err := bolting.EmbeddingLoss(bolting.EmbeddingInput{Joint: e, Roughness: j.Roughness, HeadFaces: 2, InnerFaces: 1, Shear: true, Coated: *j.Coated})
	var none *unit.NoAnswerError
	switch {
	case errors.As(err, &none) && m.fitting.Again != nil:
		// What the paint gives way is made good when the bolts are tightened
		// again; from then on the least preload is there.
		z.Loss = 0
	case err != nil:
		r.lack(false, "bare faces, or a retightening from the part's document: "+err.Error())
		return
	}
	r.Loss = z.Loss
	r.Counted = max(r.Least-r.Loss, 0)
}

// stopped tells whether positive stops take the pull.
func (r *JointResult) stopped() bool { return r.Joint.Stops != nil && *r.Joint.Stops }

// friction is what holds between the faces.
func (r *JointResult) friction() (float64, bool) {
	if !r.lack(r.Joint.Surface != "", "surface: state of the faces") {
		return 0, false
	}
	s, err := bolting.FindSurface(r.Joint.Surface)
	if err != nil {
		return 0, r.lack(false, err.Error())
	}
	return s.Friction, true
}

// flat checks a joint whose faces lie level: feet on a plate, plate on angles.
func (m *mounted) flat(r *JointResult, upper *Part) {
	m.pressure(r, upper)
	μ, ok := r.friction()
	if !ok || len(r.Places) == 0 || !m.rated || r.Elastic == nil || math.IsNaN(float64(r.Counted)) {
		m.untold(r)
		return
	}
	defer func() {
		if f, ok := m.stops(r); ok {
			r.add(f)
		}
	}()
	// On a slider the pull acts over the whole travel: both ends are checked,
	// and of each finding the worse is kept.
	var worst []rule.Finding
	needs := false
	for _, by := range m.pulls(upper) {
		in := bolting.MountingInput{Pattern: points(r.Places), Joint: by, Height: m.lever(upper), Rating: m.rating, Thread: r.Thread,
			Preload: r.Counted, LoadFactor: r.Elastic.LoadFactor, Friction: μ}
		c, err := bolting.CheckMounting(in)
		if err != nil {
			r.lack(false, err.Error())
			m.untold(r)
			return
		}
		fs := m.flatFindings(r, &c, &in, μ)
		if worst == nil {
			worst, r.Mounting = fs, &c
		}
		for i := range fs {
			if fs[i].Margin < worst[i].Margin {
				worst[i], r.Mounting = fs[i], &c
			}
		}
		needs = needs || c.StopsNeeded
	}
	r.NeedsStop = &needs
	r.Findings = append(r.Findings, worst...)
}

// untold adds, once, that the strength of a joint could not be computed. What
// it would rest on may only warn; that it was not even asked keeps the sheet a
// draft.
func (m *mounted) untold(r *JointResult) {
	if f, ok := m.stops(r); ok && r.Mounting == nil && !r.OnWeb {
		r.add(f)
	}
	f := hold(rule.Finding{ID: r.id("strength"), Title: r.Title + ": slip, separation and fatigue", Sense: rule.AtLeast, Unit: unit.One,
		Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + " (memory)"}, math.NaN(), 1, slices.Clone(r.Missing)...)
	f.Binding = true
	r.add(f)
}

// pulls are the places of the pull along the upper part's own x: one, or on a
// slider both ends of the travel.
func (m *mounted) pulls(upper *Part) []unit.Length {
	i := slices.Index(m.stack.Parts, upper)
	top := m.middles[len(m.middles)-1]
	by := top - m.middles[i]
	slider := slices.IndexFunc(m.stack.Parts, func(p *Part) bool { return p.Kind == Slider })
	if m.travel > 0 && slider >= i {
		return []unit.Length{by, by + m.travel}
	}
	return []unit.Length{by}
}

// lever is the height of the line of pull above the face that a part stands on,
// a lift as high as it is used.
func (m *mounted) lever(upper *Part) unit.Length {
	i := max(slices.Index(m.stack.Parts, upper), 0)
	var h unit.Length
	for _, p := range m.stack.Parts[i:] {
		if p.Height != nil {
			h += *p.Height
		}
		if p.Kind == Lift {
			h += m.raise
		}
	}
	if d := m.stack.Wheel().JointDepth; d != nil {
		h -= *d
	}
	return max(h, 0)
}

func (m *mounted) flatFindings(r *JointResult, c *bolting.Mounting, in *bolting.MountingInput, μ float64) []rule.Finding {
	var out []rule.Finding
	const counted = "F_V = least preload less embedding"
	for i := range c.Cases {
		k := &c.Cases[i]
		if k.Case.Longitudinal > 0 && !r.stopped() { // stops take the pull where they are
			want := 1.0
			if k.Case.Swings {
				want = 1.2
			}
			out = append(out, hold(rule.Finding{ID: r.id(fmt.Sprintf("slip-%d", i+1)), Case: k.Case.Name, Title: r.Title + ": safety against slip", Sense: rule.AtLeast, Unit: unit.One,
				Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + "; loads " + k.Case.Source + "; friction of the faces and the safety asked for common practice, no source",
				Working: fmt.Sprintf("S = μ·(n·F_V + V)/H = %.3g·(%d·%s + %s)/%s = %.3f; %s", μ, c.Group.Count, kn(in.Preload), kn(k.Case.Down), kn(k.Case.Longitudinal), k.Safety, counted),
				Note:    "Friction alone does not hold this load: positive stops, more bolts or more preload."},
				k.Safety, want))
		}
		out = append(out, hold(rule.Finding{ID: r.id(fmt.Sprintf("clamp-%d", i+1)), Case: k.Case.Name, Title: r.Title + ": clamping left under the worst bolt", Sense: rule.AtLeast, Unit: unit.KN,
			Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + " (memory); loads " + k.Case.Source,
			Working: fmt.Sprintf("F_K = F_V − (1 − Φ)·F_A = %s − (1 − %.4g)·%s = %s; F_A = −V/n + H·h·x/Σx² on the worst bolt, h = %s", kn(in.Preload), in.LoadFactor, kn(k.Axial), kn(k.Clamp), showMM(in.Height)),
			Note:    "The joint opens under this load."},
			float64(k.Clamp), 0))
	}
	out = append(out, hold(rule.Finding{ID: r.id("fatigue"), Title: r.Title + ": stress swing of the worst bolt", Sense: rule.AtMost, Unit: unit.MPa,
		Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + ", endurance limit of rolled threads (memory); loads UN R55.01, Annex 6, 3.7.3",
		Working: fmt.Sprintf("σ_a = Φ·ΔF_A/(2·A_S) with Φ = %.4g; σ_A = 0.85·(150/d + 45) = %s", in.LoadFactor, unit.Format(float64(c.Fatigue.Endurance), unit.MPa, 1)),
		Note:    "The bolts tire: more bolts, a wider pattern or longer bolts."},
		float64(c.Fatigue.Amplitude), float64(c.Fatigue.Endurance)))
	axial := unit.Force(0)
	for i := range c.Cases {
		axial = max(axial, c.Cases[i].Axial)
	}
	if w, err := bolting.WorkingStress(bolting.WorkingInput{Thread: r.Thread, Class: r.Class, Preload: r.Most, Friction: *r.Joint.LeastFriction, LoadFactor: in.LoadFactor, Axial: axial}); err == nil {
		out = append(out, hold(rule.Finding{ID: r.id("working-stress"), Title: r.Title + ": stress of the worst bolt in service", Sense: rule.AtMost, Unit: unit.MPa,
			Evidence: rule.Memory, Calc: "bolt", Source: byVDI + ", working stress (memory)",
			Working: fmt.Sprintf("F_S = F_M + Φ·F_A = %s + %.4g·%s = %s; σ = √((F_S/A_S)² + 3·(0.5·τ)²) = %s", kn(r.Most), in.LoadFactor, kn(axial), kn(w.Bolt), unit.Format(float64(w.Equivalent), unit.MPa, 0))},
			float64(w.Equivalent), float64(r.Class.Yield)))
	}
	out = append(out, m.embedding(r, c, in, μ))
	return out
}

// embedding holds the preload that is lost against what may be lost: what the
// least preload has over the clamping that the joint needs.
func (m *mounted) embedding(r *JointResult, c *bolting.Mounting, in *bolting.MountingInput, μ float64) rule.Finding {
	stops := r.stopped()
	var need unit.Force
	for i := range c.Cases {
		k := &c.Cases[i]
		if !k.Case.Swings {
			continue
		}
		shear := max(k.Case.Longitudinal-unit.Force(μ)*k.Case.Down, 0) / unit.Force(c.Group.Count)
		if stops {
			shear = 0
		}
		if f, err := bolting.RequiredClamp(bolting.RequiredClampInput{Shear: shear, Interfaces: 1, Friction: μ, Separation: max(k.Axial, 0)}); err == nil {
			need = max(need, f+unit.Force(1-in.LoadFactor)*max(k.Axial, 0))
		}
	}
	held := "slip and separation"
	if stops {
		held = "separation; stops take the slip"
	}
	return hold(rule.Finding{ID: r.id("embedding"), Title: r.Title + ": preload lost by embedding", Sense: rule.AtMost, Unit: unit.KN,
		Evidence: rule.Memory, Calc: "slip-check", Source: byVDI + ", table 5 and required clamp load (memory)",
		Working: fmt.Sprintf("F_Z = f_Z/(δ_S + δ_P) = %s; may be lost: least preload %s less the clamping needed against %s in the dynamic test, %s", kn(r.Loss), kn(r.Least), held, kn(need)),
		Note:    "What is lost as the faces settle leaves too little: tighten again after the first trips, bare the faces, or lengthen the bolts."},
		float64(r.Loss), float64(r.Least-need))
}

// pressure holds what the head presses on the steel under it.
func (m *mounted) pressure(r *JointResult, upper *Part) {
	name := r.Joint.Material
	if name == "" && upper != nil {
		name = upper.Material
	}
	f := rule.Finding{ID: r.id("pressure"), Title: r.Title + ": pressure under head and nut", Sense: rule.AtMost, Unit: unit.MPa,
		Evidence: rule.Derived, Calc: "bolt", Source: "VDI 2230:2003, limiting surface pressures, as reprinted in the technical part of a fastener catalogue",
		Note: "The head sinks in and the preload is lost: hardened washers or flange bolts."}
	if r.Band == nil {
		return // the torque's finding names what is missing
	}
	if name == "" {
		r.lack(false, "material under head and nut")
		r.add(hold(f, math.NaN(), math.NaN(), r.Title+": material under head and nut"))
		return
	}
	mat, err := bolting.FindMaterial(name)
	if err != nil {
		r.add(hold(f, math.NaN(), math.NaN(), r.Title+": "+err.Error()))
		return
	}
	p, err := bolting.HeadPressure(r.Most, r.Thread.Bearing, r.Thread.Hole)
	if err != nil {
		r.add(hold(f, math.NaN(), math.NaN(), r.Title+": "+err.Error()))
		return
	}
	bearing := ruled(r.Thread.BearingEvidence)
	if r.Joint.Washer != nil {
		bearing = rule.Derived // as entered
	}
	f.Evidence = weakest(rule.Derived, ruled(mat.Evidence), bearing, ruled(r.Class.Evidence))
	limit := mat.Limit
	f.Working = fmt.Sprintf("p = F/A_p = %s/(π/4·(%s² − %s²)), %s", kn(r.Most), mm(r.Thread.Bearing), mm(r.Thread.Hole), mat.Name)
	if limit == 0 { // only the older value is known, which goes with F/0.9
		limit, p = mat.Older, p/0.9
		f.Working += "; older value, with F/0.9"
	}
	r.add(hold(f, float64(p), float64(limit)))
}
