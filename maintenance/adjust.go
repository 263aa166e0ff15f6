package maintenance

import "underpin/record"

// A Prerequisite must be true before a lock is adjusted.
type Prerequisite struct {
	Key  string
	Name Text
}

// Source: common practice, no source.
var prerequisites = [...]Prerequisite{
	{"true-pin", Text{"adjust.true-pin", "an unworn, true pin or the lock gauge of the type is in the lock"}},
	{"no-wedge", Text{"adjust.no-wedge", "the trailer has no forced steering: its wedge would set the lock wrong"}},
	{"level", Text{"adjust.level", "level, firm ground"}},
	{"clean", Text{"adjust.clean", "lock bare, without damage"}},
	{"in-limit", Text{"adjust.in-limit", "wear parts within their limits"}},
	{"not-the-pin", Text{"adjust.not-the-pin", "the play is the lock's, not the pin's"}},
	{"instructions", Text{"adjust.instructions", "the type's instructions for adjusting are at hand: turns and directions differ"}},
}

// Prerequisites lists what must be true before a lock is adjusted.
func Prerequisites() []Prerequisite { return append([]Prerequisite(nil), prerequisites[:]...) }

// MayAdjust tells whether a lock may be adjusted: every prerequisite is answered
// with yes. What is not is returned; what nobody answered counts as no.
func MayAdjust(yes map[string]bool) (bool, []Text) {
	var no []Text
	for _, p := range prerequisites {
		if !yes[p.Key] {
			no = append(no, p.Name)
		}
	}
	return len(no) == 0, no
}

// mustNot is what must never be done to a coupling.
//
// Source: common practice, no source; New Zealand VIRM, 12-1, for welded pins
// and 9-1 for used fasteners.
var mustNot = keyed("must-not",
	"Never weld, grind, turn down or build up a pin, a plate or a lock part.",
	"Never adjust the wear of a pin out of the play: with a good pin the lock may then not close.",
	"Never fit an adaptor between pin and jaw.",
	"Never use bolts and nuts a second time.",
	"Never adjust on a trailer with forced steering.",
	"Never adjust by several notches at once.",
	"Never straighten or ignore a bent lever.",
	"Never trust the handle alone: look at the jaws behind the pin.",
	"Never hammer or chain a lock open.")

// MustNot lists what must never be done.
func MustNot() []Text { return append([]Text(nil), mustNot...) }

// PartnersToCheck returns the partners of a worn-out or damaged part that it met
// since its last good measurement; all of them when there never was one. A
// partner that it is still coupled to counts as met now.
func PartnersToCheck(met []record.Partner, lastGood record.Time) []record.Partner {
	var out []record.Partner
	for _, p := range met {
		if lastGood == 0 || p.Last == 0 || p.Last > lastGood {
			out = append(out, p)
		}
	}
	return out
}
