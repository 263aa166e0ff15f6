package maintenance

import (
	"maps"
	"slices"
)

// Texts lists every fixed text of the package, each key once, for whoever
// translates. Keys do not change when the English is mended.
func Texts() []Text {
	var out []Text
	seen := map[string]bool{}
	add := func(texts ...Text) {
		for _, t := range texts {
			if t.Key != "" && t.English != "" && !seen[t.Key] {
				seen[t.Key] = true
				out = append(out, t)
			}
		}
	}
	for _, t := range tasks {
		add(t.Name, t.Why)
		add(t.Prepare...)
		add(t.Steps...)
		add(t.Cautions...)
	}
	for _, s := range []Setup{{Lubrication: ByHand, Slider: true, Permanent: true}, {Lubrication: Liner}, {Lubrication: Central}, {Lubrication: Cartridge}} {
		for _, i := range StartingIntervals(s) {
			add(i.Note)
		}
	}
	add(uses[:]...)
	add(dueStates[:]...)
	for _, e := range events {
		add(e.Name)
	}
	for _, list := range [][]Measure{measures[:], further[:]} {
		for _, m := range list {
			add(m.Name, m.Where, m.Gauge)
			add(m.Takes...)
		}
	}
	for _, l := range limits {
		add(l.Reached, l.Note)
	}
	add(prepareApart...)
	add(preparePair...)
	add(sheetCautions...)
	for _, l := range looks {
		add(l.Name)
	}
	add(verdicts[:]...)
	for _, p := range prerequisites {
		add(p.Name)
	}
	add(mustNot...)
	for _, s := range symptoms {
		add(s.Name)
		for _, c := range s.Causes {
			add(c.Name, c.Check, c.Action)
		}
	}
	add(closedAlways...)
	for _, c := range closedLocks {
		add(c.Evidence...)
		add(c.Traps...)
	}
	for _, w := range works {
		add(w.Name)
		add(w.Steps...)
		add(w.Cautions...)
		add(w.Parts...)
	}
	ord := NewOrder(Outcome{Work: []string{ReplacePinWork}}, nil)
	for _, it := range ord.Items {
		for _, s := range it.Steps {
			add(s.Text)
		}
	}
	add(sayings[:]...)
	for _, kind := range slices.Sorted(maps.Keys(named)) {
		add(named[kind]...)
	}
	for _, r := range remarks {
		add(r.Text)
	}
	return out
}
