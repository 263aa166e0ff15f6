package assess

import (
	"fmt"

	"underpin/rule"
	"underpin/unit"
)

// nothingStands tells whether a group of axles has none on the ground, or nobody
// said which of the tractor's axles steer and drive. Nothing can be computed then;
// one finding names the axles.
func (b *builder) nothingStands() bool {
	p, st := b.p, b.st
	var miss missings
	for _, g := range []struct {
		state *groupState
		who   interface{ Called() string }
		field string
		has   bool
	}{
		{&st.tractor.front, p.Tractor, "axle (a front axle, steered)", len(p.front) > 0},
		{&st.tractor.rear, p.Tractor, "axle (a rear axle)", len(p.rear) > 0},
		{&st.trailer.bogie, p.Trailer, "axle", len(p.Trailer.Axles) > 0},
	} {
		switch {
		case !g.has:
			miss.add(missing(g.who, g.field))
		case len(g.state.axles) == 0:
			miss.add(missing(g.who, "axle on the ground (all of a group are lifted)"))
		}
	}
	for i := range p.Tractor.Axles { // what is driven decides groups, datum and limits
		if p.Tractor.Axles[i].Kind == "" {
			miss.add(missing(p.Tractor, fmt.Sprintf("axle %d kind", i+1)))
		}
	}
	if len(miss.list) == 0 {
		return false
	}
	st.turn.missing = miss.list
	b.add(line{sense: +1, a: nan, limit: nan}, info{id: "axles", title: "Axles on the ground", cases: -1, unit: unit.One, scale: 1, evidence: rule.Derived,
		binding: true, advisory: true, source: "statics: each vehicle needs something to stand on", missing: miss.list})
	return true
}
