package assess

import (
	"fmt"
	"math"
	"slices"

	"underpin/rule"
	"underpin/unit"
)

// Limits of law as findings: which apply, what is not verified, and where a
// rulebook says nothing.

// law adds a finding for every limit the law sets on a quantity in one case.
func (b *builder) law(quantity string, l line, facts rule.Facts, i info) {
	b.limits(b.p.Law.Limits(quantity, facts), l, i)
}

// limits adds the findings of the limits on one quantity of one thing.
func (b *builder) limits(limits []rule.Limit, l line, i info) {
	for k := range limits {
		b.lawful(&limits[k], l, i)
	}
	for _, lim := range unverified(limits) {
		b.unprovenRule(lim, i)
	}
}

// lawful adds the finding of one limit of the law.
func (b *builder) lawful(lim *rule.Limit, l line, i info) {
	r := lim.Rule
	l.sense = +1
	if r.Sense == rule.AtLeast {
		l.sense = -1
	}
	l.limit, l.sure = lim.SI, r.Unit.ToSI(lim.Sure)
	subject := i.title
	i.id = r.ID + i.id
	i.title = r.Title
	if subject != "" {
		i.title = subject + ": " + lowerFirst(r.Title)
	}
	i.quantity, i.unit, i.source = r.Quantity, r.Unit, r.Source()
	i.evidence, i.binding = lim.Evidence, lim.Evidence.Certifies()
	i.failed = r.Failed
	i.note = lim.Why
	i.missing = append(i.missing[:len(i.missing):len(i.missing)], b.wants(lim, i.group)...)
	if lim.NotCovered != "" {
		l.limit, l.sure = nan, math.Inf(int(l.sense))
		if !i.binding && mustBeLawful(r.Quantity) {
			// That there is no number is known, however the rest is founded.
			i.evidence, i.binding = rule.Derived, true
		}
	}
	if r.Unit.Dim == unit.LengthDim {
		i.scale = lengthScale
	}
	if i.scale == 0 {
		i.scale = math.Abs(l.limit)
	}
	if !(i.scale > 0) {
		i.scale = 1
	}
	b.st.lines = append(b.st.lines, l)
	b.st.infos = append(b.st.infos, i)
}

// wants names what a limit lacks to decide.
func (b *builder) wants(lim *rule.Limit, group string) []string {
	var out []string
	for _, fact := range lim.Missing {
		out = append(out, b.lacking(fact, group))
	}
	if lim.Doubt != "" && len(lim.Missing) == 0 {
		out = append(out, "certainty: "+lim.Doubt)
	}
	if lim.NotCovered != "" {
		out = append(out, "a limit: "+lim.NotCovered)
	}
	return out
}

// mustBeLawful tells whether a combination is lawful only if this quantity is:
// masses, lengths, height and the turning circle. The others decide nothing by
// themselves: the reference wheelbase is a short way to the circle that may be
// missed, width and swing-out are proven with each vehicle's approval and do not
// depend on what it is coupled to, and the position of the coupling and the
// steered share as laden are advice.
func mustBeLawful(quantity string) bool {
	switch quantity {
	case "reference-wheelbase", "swing-out", "width", "lead-behind-axle", "share-steer":
		return false
	}
	return true
}

// unverified returns the limits on one quantity of one thing when all that a
// pass could rest on is memory or practice: these can warn and cannot certify.
// A limit that an undeclared fact may take away is nothing to rest on either.
func unverified(limits []rule.Limit) []*rule.Limit {
	var weak []*rule.Limit
	for k := range limits {
		lim := &limits[k]
		switch {
		case !mustBeLawful(lim.Rule.Quantity):
			return nil
		case !lim.Evidence.Certifies():
			if lim.NotCovered == "" {
				weak = append(weak, lim)
			}
		case lim.NotCovered == "" && !math.IsInf(lim.Sure, 0):
			return nil
		}
	}
	return weak
}

// unprovenRule adds, once, that a limit is not verified: a finding that binds
// and cannot be told, beside the one that shows the number and warns.
func (b *builder) unprovenRule(lim *rule.Limit, i info) {
	if b.unproven[lim.Rule] {
		return
	}
	if b.unproven == nil {
		b.unproven = map[*rule.Rule]bool{}
	}
	b.unproven[lim.Rule] = true
	i.cases, i.id = -1, ""
	b.unprovenLine(lim, line{a: nan, limit: nan}, i)
}

func (b *builder) unprovenLine(lim *rule.Limit, l line, i info) {
	r := lim.Rule
	why := "is from memory and not verified"
	if lim.Evidence == rule.Practice {
		why = "is common practice and no law that was read"
	}
	number := ""
	if !math.IsNaN(lim.SI) && !math.IsInf(lim.SI, 0) {
		number = ", " + string(r.Sense) + " " + unit.Text(lim.SI, r.Unit)
	}
	l.sense = +1
	if r.Sense == rule.AtLeast {
		l.sense = -1
	}
	l.sure = nan
	b.st.lines = append(b.st.lines, l)
	b.st.infos = append(b.st.infos, info{
		id: "unverified." + r.ID + i.id, title: "Limit not verified: " + lowerFirst(r.Title), cases: i.cases, unit: r.Unit,
		quantity: r.Quantity, calc: i.calc, source: r.Source(), evidence: rule.Derived, binding: true, advisory: true, scale: 1,
		missing: append([]string{fmt.Sprintf("a verified limit: the limit %s: %s%s; check it in %s, %s", why, r.Title, number, r.Citation.Instrument, r.Citation.Point)}, b.wants(lim, i.group)...),
	})
}

// silent adds, for a quantity that must be lawful, that the rulebook has rules on
// it and none for this case: nothing was held against a limit, so nothing passed.
func (b *builder) silent(what, id string, c int, quantities ...string) {
	has := false
	for _, q := range quantities {
		has = has || b.p.Law.Has(q)
	}
	if !has {
		return
	}
	b.add(line{sense: +1, a: nan, limit: nan}, info{
		id: "no-limit." + id, title: what + ": no limit in the rulebook", cases: c, unit: inKG, quantity: quantities[0], evidence: rule.Derived, binding: true, advisory: true,
		source:  "rulebook " + b.p.Law.Name + ": none of its rules on this quantity holds here",
		missing: []string{fmt.Sprintf("a limit: the rulebook %s has no limit for this: %s; check it in the law", b.p.Law.Name, lowerFirst(what))}})
}

// Margins of different kinds are compared as multiples of what it is prudent to
// keep free when planning: 2 % of a limit of mass (handbook chapter 03, 9.6,
// common practice), and with it 20 mm of a lawful length and 50 mm of a gap
// between two vehicles (ours). The scales are these divided by 2 %.
const (
	lengthScale = 0.020 / 0.02 // m
	gapScale    = 0.050 / 0.02 // m
)

// lawForAll adds the law's findings on something that does not depend on the
// load.
func (b *builder) lawForAll(quantity string, l line, more rule.Facts, i info) {
	b.byCase(quantity, more, func(c int, limits []rule.Limit) {
		i.cases = c
		b.limits(limits, l, i)
	})
}

// byCase looks a quantity up for every load case. Where the facts of the load
// cases lead to the same limits, they stand once, for case −1.
func (b *builder) byCase(quantity string, more rule.Facts, each func(c int, limits []rule.Limit)) {
	byCase := make([][]rule.Limit, len(b.p.Cases))
	same := true
	for c := range b.p.Cases {
		byCase[c] = b.p.Law.Limits(quantity, b.facts(c, more))
		same = same && sameLimits(byCase[0], byCase[c])
	}
	for c := range byCase {
		if same {
			each(-1, byCase[c])
			return
		}
		each(c, byCase[c])
	}
}

func sameLimits(a, b []rule.Limit) bool {
	return slices.EqualFunc(a, b, sameLimit)
}

func sameLimit(x, y rule.Limit) bool {
	return x.Rule == y.Rule && same(x.SI, y.SI) && same(x.Sure, y.Sure) && x.NotCovered == y.NotCovered && x.Doubt == y.Doubt && slices.Equal(x.Missing, y.Missing)
}

func same(x, y float64) bool { return x == y || (math.IsNaN(x) && math.IsNaN(y)) }
