package assess

import (
	"fmt"

	"underpin/rule"
	"underpin/unit"
)

// certificate adds the range of leads for which the tractor's maker had it
// approved.
//
// On a tractor with one rear axle the lead is counted from it, and the limit
// binds. With several, the certificate's datum is taken to be the drive axle or
// the middle of the drive axles, from memory: it warns.
func (b *builder) certificate() {
	c := b.p.Tractor.Certificate
	if c == nil {
		return
	}
	ev, datum := rule.Read, ""
	if !b.p.Tractor.CertifiedDatum() {
		ev, datum = rule.Memory, "; taken from the "+b.p.LeadDatum()+", from memory"
	}
	limit := func(id, title string, sense int8, at *unit.Length) {
		if at == nil {
			return
		}
		b.add(line{sense: sense, b: 1, limit: float64(*at)}, info{
			id: "certificate." + id, title: title, cases: -1, unit: inMM, evidence: ev, binding: ev.Certifies(),
			source: "certificate of conformity of the tractor, fifth wheel lead", missing: b.positionMissing(), scale: lengthScale,
			failed: "The maker had the tractor approved for leads within the range on its certificate: ask the maker, or move the coupling.",
			working: func(lead float64) string {
				return fmt.Sprintf("the coupling stands %s ahead of the %s%s", fmtMM(lead), b.p.LeadDatum(), datum)
			}})
	}
	limit("lead-min", "Least lead on the certificate", -1, c.LeadMin)
	limit("lead-max", "Greatest lead on the certificate", +1, c.LeadMax)
}
