package yard

import "underpin/rule"

// A Reason says why a step is asked for, and on what that rests.
type Reason struct {
	Why      Key           `json:"why"`
	Source   string        `json:"source"`
	Evidence rule.Evidence `json:"evidence"`
}

// A NeverState is one in which nobody drives, whatever else is right.
type NeverState struct {
	Key    Key // also its text
	Reason Reason
	ByData bool // known from the parts and not asked of a driver
}

// neverStates are the states that must never be driven.
//
// Source: handbook chapter 05, section 4.4, with the documents named in each row.
var neverStates = [...]NeverState{
	{Key: "never.gap", Reason: Reason{Why: "why.gap", Source: "Utah Administrative Code R714-162-10, which repeats the federal list; CDL manual 6.4", Evidence: rule.Read}},
	{Key: "never.jaws", Reason: Reason{Why: "why.jaws", Source: "CDL manual 6.4", Evidence: rule.Read}},
	{Key: "never.handle", Reason: Reason{Why: "why.handle", Source: "Utah Administrative Code R714-162-10", Evidence: rule.Read}},
	{Key: "never.safety", Reason: Reason{Why: "why.safety", Source: "DGUV Information 214-080; HSE workplace transport, coupling", Evidence: rule.Read}},
	{Key: "never.indicator", Reason: Reason{Why: "why.indicator", Source: "DGUV Information 214-080", Evidence: rule.Read}},
	{Key: "never.display", Reason: Reason{Why: "why.display", Source: "UN R55, Annex 5, from memory", Evidence: rule.Memory}},
	{Key: "never.pin", Reason: Reason{Why: "why.pin", Source: "TM 9-2330-335 for 1 degree of lean; the rest common practice, no source", Evidence: rule.Practice}},
	{Key: "never.crack", Reason: Reason{Why: "why.crack", Source: "Utah Administrative Code R714-162-10", Evidence: rule.Read}},
	{Key: "never.lock-part", Reason: Reason{Why: "why.lock-part", Source: "Utah Administrative Code R714-162-10", Evidence: rule.Read}},
	{Key: "never.size", Reason: Reason{Why: "why.size", Source: "NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145", Evidence: rule.Read}},
	{Key: "never.slider", Reason: Reason{Why: "why.slider", Source: "Utah Administrative Code R714-162-10", Evidence: rule.Read}},
	{Key: "never.mount", Reason: Reason{Why: "why.mount", Source: "Utah Administrative Code R714-162-10", Evidence: rule.Read}},
	{Key: "never.brakes", Reason: Reason{Why: "why.brakes", Source: "HSE workplace transport, coupling; report RR1069", Evidence: rule.Read}},
	{Key: "never.wear", ByData: true, Reason: Reason{Why: "why.wear", Source: "common practice, no source; the limit stands in the part's own record", Evidence: rule.Practice}},
	{Key: "never.wedge", Reason: Reason{Why: "why.wedge", Source: "DGUV Information 214-080", Evidence: rule.Read}},
	{Key: "never.event", Reason: Reason{Why: "why.event", Source: "common practice, no source", Evidence: rule.Practice}},
}

// NeverStates lists the states that must never be driven.
func NeverStates() []NeverState { return append([]NeverState(nil), neverStates[:]...) }

// never returns the reason of a state.
func never(k Key) Reason {
	for _, s := range neverStates {
		if s.Key == k {
			return s.Reason
		}
	}
	return Reason{}
}

// Reasons of the steps that no state of its own stands behind.
var (
	whyKeyOut = Reason{Why: "why.key-out", Source: "HSE workplace transport, coupling; report RR1069", Evidence: rule.Read}
	whyGround = Reason{Why: "why.ground", Source: "WorkSafe Queensland, coupling trailers; HSE workplace transport", Evidence: rule.Read}
	whyChocks = Reason{Why: "why.chocks", Source: "DGUV Information 214-080 and BGI 599", Evidence: rule.Read}
	whyLegs   = Reason{Why: "why.legs", Source: "common practice, no source", Evidence: rule.Practice}
	whyReady  = Reason{Why: "why.ready", Source: "CDL manual 6.4", Evidence: rule.Read}
	whyPlate  = Reason{Why: "why.plate", Source: "common practice, no source", Evidence: rule.Practice}
	whyAngle  = Reason{Why: "why.angle", Source: "BGI 599 (2003); the sign of degrees was lost in the copy that was read", Evidence: rule.Memory}
	// That the plate must lift the trailer was read; the 50 mm are practice, and
	// the weaker mark stands for both.
	whyHeight   = Reason{Why: "why.height", Source: "CDL manual 6.4; the 50 mm are common practice, no source", Evidence: rule.Practice}
	whySet      = Reason{Why: "why.height-set", Source: "common practice, no source", Evidence: rule.Practice}
	whyReach    = Reason{Why: "why.reach", Source: "common practice, no source", Evidence: rule.Practice}
	whyTug      = Reason{Why: "why.tug", Source: "CDL manual 6.4; HSE workplace transport, coupling", Evidence: rule.Read}
	whyBoth     = Reason{Why: "why.both", Source: "a German driving school's text; trade press on coupling by BG Verkehr (2021)", Evidence: rule.Read}
	whySupply   = Reason{Why: "why.supply-off", Source: "from memory; CDL manual 6.4", Evidence: rule.Memory}
	whySprings  = Reason{Why: "why.brakes", Source: "HSE report RR1069 in HSE workplace transport; that springs set a trailer's brakes without air is from memory", Evidence: rule.Memory}
	whyStill    = Reason{Why: "why.still", Source: "common practice, no source", Evidence: rule.Practice}
	whyAgain    = Reason{Why: "why.again", Source: "NRSPP trailer coupling guideline", Evidence: rule.Read}
	whyLevel    = Reason{Why: "why.level", Source: "common practice, no source", Evidence: rule.Practice}
	whyToday    = Reason{Why: "why.today", Source: "common practice, no source", Evidence: rule.Practice}
	whyLights   = Reason{Why: "why.lights", Source: "common practice, no source", Evidence: rule.Practice}
	whyOdometer = Reason{Why: "why.odometer", Source: "common practice, no source", Evidence: rule.Practice}
	whyPhoto    = Reason{Why: "why.photo", Source: "common practice, no source", Evidence: rule.Practice}
	whyRelease  = Reason{Why: "why.release", Source: "common practice, no source", Evidence: rule.Practice}
	whyDown     = Reason{Why: "why.legs-down", Source: "BGI 599 (2003), part c; CDL manual 6.4", Evidence: rule.Read}
	whyUnlock   = Reason{Why: "why.unlock", Source: "BGI 599 (2003), part c", Evidence: rule.Read}
	whyCarry    = Reason{Why: "why.carry", Source: "CDL manual 6.4", Evidence: rule.Read}
	whyLower    = Reason{Why: "why.lower", Source: "BGI 599 (2003), part c, steps 8 to 10", Evidence: rule.Read}
	whyStow     = Reason{Why: "why.stow", Source: "BGI 599 (2003), part c", Evidence: rule.Read}
	whyRecord   = Reason{Why: "why.record", Source: "common practice, no source", Evidence: rule.Practice}
	whyPinLock  = Reason{Why: "why.pin-lock", Source: "common practice, no source", Evidence: rule.Practice}
	whySlide    = Reason{Why: "why.slide", Source: "common practice, no source", Evidence: rule.Practice}
	whySwing    = Reason{Why: "why.swing", Source: "common practice, no source", Evidence: rule.Practice}
)
