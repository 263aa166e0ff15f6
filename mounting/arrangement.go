package mounting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/rule"
	"underpin/unit"
)

// vsb6 is the Australian code whose figures on arrangement were read. Under
// Australian law they decide; elsewhere they are good practice and warn.
const vsb6 = "VSB6, section P, checklist P2"

func (m *mounted) australian() bool { return m.under("au") }

// american tells whether the rule on positive stops of the United States holds.
func (m *mounted) american() bool { return m.under("us") }

// under tells whether a law, or one that it is built on, is that of a country.
func (m *mounted) under(country string) bool {
	return slices.ContainsFunc(m.laws, func(law string) bool { return law == country || strings.HasPrefix(law, country+"-") })
}

// lawsOf are the names of a rulebook and of those that it is built on.
func lawsOf(b *rule.Book) []string {
	var out []string
	for ; b != nil; b = b.Parent {
		out = append(out, b.Name)
	}
	return out
}

// code makes a finding of the Australian code.
func (m *mounted) code(f rule.Finding) rule.Finding {
	f.Evidence, f.Source, f.Calc = rule.Read, vsb6, "geometry"
	if !m.australian() {
		f.Evidence, f.Source = rule.Practice, "common practice, no source in this law; figure as in the Australian "+vsb6
	}
	return f
}

// arrangement holds number, play and steel of a joint's bolts against the
// figures that were read.
func (m *mounted) arrangement(r *JointResult, upper *Part) {
	if len(r.Places) == 0 {
		return
	}
	if r.Thread.Diameter > 0 {
		play := math.Inf(-1)
		for _, p := range r.Places {
			play = math.Max(play, clean(float64(p.D-r.Thread.Diameter)*1e3)*1e-3)
		}
		f := m.code(rule.Finding{ID: r.id("hole-play"), Title: r.Title + ": play of the bolts in their holes", Sense: rule.AtMost, Unit: unit.MM,
			Working: fmt.Sprintf("largest hole less the thread's %s", mm(r.Thread.Diameter)),
			Note:    "Holes are drilled to fit, less than 1 mm over the bolt: never burnt out, never slotted."})
		limit := 1e-3
		if m.australian() { // the code says less than 1 mm
			limit = 0.999e-3
		}
		r.add(hold(f, play, limit))
		if play < 0 {
			f.ID, f.Title, f.Sense, f.Note = r.id("hole-fit"), r.Title+": bolts pass their holes", rule.AtLeast, "The bolt does not pass its hole."
			f.Evidence, f.Source, f.Working = rule.Derived, "plane geometry", ""
			least := math.Inf(1)
			for _, p := range r.Places {
				least = math.Min(least, float64(p.D-r.Thread.Diameter))
			}
			r.add(hold(f, least, 0))
		}
		m.number(r)
	}
	if upper != nil && upper.Kind == Plate && upper.Form == "flat" {
		f := m.code(rule.Finding{ID: "plate.thickness." + upper.ID, Title: upper.Title() + ": thickness of a flat plate", Sense: rule.AtLeast, Unit: unit.MM, Working: "as entered"})
		t := math.NaN()
		if upper.Thickness != nil {
			t = float64(*upper.Thickness)
		}
		r.add(hold(f, t, 12e-3, upper.Called()+": thickness"))
	}
}

// number counts the bolts of one side: four of 20 mm or six of 16 mm.
func (m *mounted) number(r *JointResult) {
	want := 0
	switch d := r.Thread.Diameter.Millimetres(); {
	case d > 19.5:
		want = 4
	case d > 15.5:
		want = 6
	default:
		return // the code names no smaller bolt
	}
	left, right := 0, 0
	for _, p := range r.Places {
		switch {
		case r.OnWeb:
			left++
			right++
		case p.Y > 0:
			left++
		case p.Y < 0:
			right++
		}
	}
	f := m.code(rule.Finding{ID: r.id("number"), Title: r.Title + ": bolts on each side", Sense: rule.AtLeast, Unit: unit.One,
		Working: fmt.Sprintf("%d on the left and %d on the right; four of 20 mm or six of 16 mm are asked for", left, right),
		Note:    "More bolts on each side."})
	r.add(hold(f, float64(min(left, right)), float64(want)))
}

// stops says whether positive stops hold the upper part fore and aft, where
// they are needed or the law asks for them.
func (m *mounted) stops(r *JointResult) (rule.Finding, bool) {
	f := rule.Finding{ID: "stops." + r.Joint.Upper, Title: r.Title + ": positive stops fore and aft", Sense: rule.AtLeast, Unit: unit.One, Evidence: rule.Practice, Calc: "slip-check",
		Source:  "common practice, no source: where friction holds less than 1.2 times the dynamic load or less than full D",
		Working: fmt.Sprintf("1 means fitted; each side sized for D = %s, welded to the mounting plate, never to a flange of the frame", kn(m.rating.D)),
		Note:    "Fit stops fore and aft of each foot, or fitted bolts: friction alone is not enough."}
	if c := r.Mounting; c != nil {
		f.Working = fmt.Sprintf("safety against slip by friction alone: %.3f in the dynamic test (1.2 wanted), %.3f at full D (1 wanted). ", c.DynamicSlip, c.FullSlip) + f.Working
	}
	needed := r.NeedsStop
	if m.american() {
		f.Evidence, f.Source = rule.Read, "49 CFR 393.70(b)(1)(i): a device that positively prevents the lower half from shifting"
		f.Note = "The law asks for a device that positively prevents shifting, whatever friction holds."
		needed = new(true)
	}
	if needed != nil && !*needed {
		return f, false
	}
	have := math.NaN()
	if s := r.Joint.Stops; s != nil && (*s || needed != nil) {
		have = float64(btoi(*s))
	}
	missing := r.Title + ": stops (whether positive stops are fitted)"
	if needed == nil && r.Joint.Stops != nil {
		missing = r.Title + ": whether friction alone is enough"
	}
	return hold(f, have, 1, missing), true
}

// gap holds the clearance between a plate on attachment angles and the frame's
// flange.
func (m *mounted) gap() (rule.Finding, bool) {
	if m.stack.Base != OnAngles {
		return rule.Finding{}, false
	}
	h, miss := m.chassis.baseHeight(OnAngles)
	v := float64(h)
	if len(miss) > 0 {
		v = math.NaN()
	}
	f := m.code(rule.Finding{ID: "flange-gap", Title: "Gap between the lowest part and the frame's flange", Sense: rule.AtLeast, Unit: unit.MM,
		Working: "upper face of the attachment angles over the frame's top; the plate lies on the angles alone",
		Note:    "The plate would lie on the flange: it must rest on the angles and stay clear of the frame."})
	return hold(f, v, 5e-3, miss...), true
}
