package mounting

import (
	"fmt"
	"math"

	"underpin/rule"
	"underpin/unit"
)

// guides are vehicle makers' body-builder guides, of which several were read.
const guides = "vehicle makers' body-builder guides"

// cautions of every sheet, in our own words.
var cautions = []Caution{
	{"guide", "The chassis maker's body-builder guide has the last word. Where it and this sheet differ, stop and ask.", string(rule.Read), guides},
	{"flange", "No welding on the side members, and no hole in a flange of frame or subframe.", string(rule.Read), guides},
	{"web", "Holes in the web only where the guide shows them; drilled, never burnt out, never slotted. Use holes that are there first.", string(rule.Read), "body-builder guide; " + vsb6},
	{"licensed", "Lengthening, cutting or strengthening the frame is no fitting work: it needs the chassis maker's consent, a workshop that is licensed for it, and often a new approval.", string(rule.Practice), noSource},
	{"rest", "A mounting plate rests on the attachment angles alone and not on the side members.", string(rule.Read), guides},
	{"stops", "Stops against shifting are welded to the mounting plate, never to the frame.", string(rule.Read), guides},
	{"new-bolts", "New bolts, nuts and washers each time. A bolt that has been tightened to its torque once is not used again.", string(rule.Read), "a truck maker's body-builder guide on towing units"},
	{"faces", "Faces that are bolted together are clean, flat and free of thick paint; what lies between them settles and takes the preload with it.", string(rule.Practice), noSource},
	{"theoretical", "The computed torque is a theoretical maximum of the bolt and no fitting torque. Tighten to the torque of the part's document.", string(rule.Practice), noSource},
	{"impact", "Bolts run up with an impact wrench alone do not count as tightened.", string(rule.Practice), noSource},
	{"support", "Never work under a semi-trailer that stands on its landing legs alone, under a raised body or under a tractor that only a jack holds. Support it, chock the wheels, take the key.", string(rule.Practice), noSource},
	{"lift", "A fifth wheel is heavy and turns over: lift it with gear that is made for it, and keep hands out of the jaw.", string(rule.Practice), noSource},
	{"battery", "Before any electric welding on the semi-trailer or on a loose part near the vehicle: follow the chassis maker's instructions on batteries and control units.", string(rule.Practice), noSource},
	{"no-adaptor", "No adaptor makes a kingpin fit a jaw of another size.", string(rule.Read), "NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(2)"},
}

// checks lists what is looked at before the vehicle is handed over, with the
// figures of this sheet.
func checks(s *Specification) []Check {
	num := func(v *int, u string) string {
		if v == nil {
			return ""
		}
		return unit.Digits(float64(*v), 0) + "\u00a0" + u
	}
	read, practice := string(rule.Read), string(rule.Practice)
	within := num(s.Position.At, "mm")
	if s.Position.Tolerance != nil && within != "" {
		within += " ± " + num(s.Position.Tolerance, "mm")
	}
	out := []Check{
		{"plates", "Type plates of fifth wheel and mounting plate are there, legible, and say what this sheet says.", "", read, "UN Regulation No. 55, Annex 4 (marking)"},
		{"position", "Front axle to the middle of the jaw, by tape, on both sides.", within, practice, noSource},
	}
	for _, h := range s.Heights {
		name := "Ground to top plate, plate level, tractor alone and at driving level"
		if h.Name != "" {
			name += " (" + h.Name + ")"
		}
		wanted := num(h.Unladen, "mm")
		if h.Tolerance != nil && h.Wanted != nil {
			wanted = fmt.Sprintf("%s planned; %s to %s allowed", wanted, unit.Digits(float64(*h.Wanted-*h.Tolerance), 0), num(new(*h.Wanted+*h.Tolerance), "mm"))
		}
		out = append(out, Check{"height", name + ".", wanted, practice, noSource})
	}
	if s.Chassis.Base == OnAngles {
		out = append(out, Check{"gap", "Gap between mounting plate and the frame's flange, all along.", "at least 5\u00a0mm", practice, "common practice, no source in every law; figure as in the Australian " + vsb6})
	}
	for i := range s.Joints {
		j := &s.Joints[i]
		wanted := ""
		if j.Torque != nil {
			wanted = fmt.Sprintf("%d × %s", j.Bolts, unit.Format(*j.Torque, unit.NM, 0))
		}
		out = append(out, Check{"torque", j.Title + ": every bolt tightened in the order of this sheet, with a wrench whose number and calibration are written down.", wanted, practice, noSource})
	}
	out = append(out,
		Check{"nuts", "A locked nut on every bolt, a hardened washer under every nut that turns.", "", practice, "common practice, no source in every law; as in the Australian " + vsb6},
		Check{"turn", "Tractor and semi-trailer turned against each other to both sides: lines, cables, mudguards and legs clear.", "", practice, noSource},
		Check{"tilt", "Plate tilted forwards, rearwards and to the sides: nothing strikes, the highest bolt heads included.", "", practice, noSource},
		Check{"lock", "Coupled, the lock closed, its indicator and its safety seen and felt, then a pull against the semi-trailer's brakes.", "", practice, noSource},
		Check{"plate", "Top plate greased or its inserts in place; the semi-trailer's plate lies on it without a gap.", "", practice, noSource},
		Check{"weigh", "Weighed again, front axle and whole tractor: the tares of this sheet were those of the fleet file.", "", practice, noSource},
		Check{"papers", "This sheet, the part's documents and the approvals lie with the vehicle's papers; a change that has to be entered there is entered.", "", practice, noSource},
	)
	if d := s.Again; d.Answer == string(rule.Fits) {
		text := ""
		if d.After != nil {
			text = num(d.After, "km")
		}
		if d.Days != nil {
			if text != "" {
				text += " or "
			}
			text += num(d.Days, "days")
		}
		out = append(out, Check{"retighten", "The retightening is entered as due.", text, string(rule.Read), d.Source})
	} else {
		out = append(out, Check{"retighten", "When the bolts are to be tightened again is not known: find it in the part's document and enter it.", "", practice, noSource})
	}
	return out
}

// marks says what the marks of evidence mean.
var marks = []EvidenceRow{
	{string(rule.Read), "read in the law, standard, plate or document that is cited"},
	{string(rule.Derived), "arithmetic or mechanics from what was read"},
	{string(rule.Practice), "common practice of the trade, no source: it warns and certifies nothing"},
	{string(rule.Memory), "not verified: it warns and certifies nothing"},
}

// signatures are the lines to sign on.
var signatures = []string{"Specified by", "Checked by", "Approved for fitting by", "Fitted by, wrench number", "Handed over to"}

// floorInt rounds a margin or limit in kilograms down.
func floorInt(v float64) *int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return new(int(unit.Floor(v, 0)))
}
