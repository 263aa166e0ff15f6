package assess

import (
	"fmt"

	"underpin/unit"
)

// The working of a finding: the formula with the numbers in it.

func (b *builder) workImposed(c int) func(float64) string {
	l, s, cc := &b.st.loads[c], b.st.trailer, &b.p.Cases[c]
	return func(float64) string {
		tare := s.mass - s.bogie.sumTare()
		if cc.Payload == 0 {
			return fmt.Sprintf("K = K_e = %s", fmtKG(tare))
		}
		return fmt.Sprintf("K = K_e + P·(1 − x/L) = %s + %s·(1 − %s/%s) = %s",
			fmtKG(tare), fmtKG(float64(cc.Payload)), fmtM(float64(cc.At)), fmtM(s.bogie.line), fmtKG(l.imposed))
	}
}

func (b *builder) workTractor(c int) func(float64) string {
	l, t := &b.st.loads[c], b.st.tractor
	return func(float64) string {
		return fmt.Sprintf("tractor ready to drive %s + on the kingpin %s = %s", fmtKG(t.mass), fmtKG(l.imposed), fmtKG(l.tractor))
	}
}

func (b *builder) workTrailer(c int) func(float64) string {
	l, s := &b.st.loads[c], b.st.trailer
	return func(float64) string {
		return fmt.Sprintf("semi-trailer empty %s + payload %s = %s", fmtKG(s.mass), fmtKG(float64(b.p.Cases[c].Payload)), fmtKG(l.trailer))
	}
}

func (b *builder) workGross(c int) func(float64) string {
	l := &b.st.loads[c]
	return func(float64) string {
		return fmt.Sprintf("tractor %s + semi-trailer %s + payload %s = %s",
			fmtKG(b.st.tractor.mass), fmtKG(b.st.trailer.mass), fmtKG(float64(b.p.Cases[c].Payload)), fmtKG(l.gross))
	}
}

// workGroup explains the load on a whole group.
func (b *builder) workGroup(c int, group string) func(float64) string {
	l, t, s := &b.st.loads[c], b.st.tractor, b.st.trailer
	base := t.rear.line - t.front.line
	return func(lead float64) string {
		e := t.rear.line - (b.p.ref - lead)
		switch group {
		case "front":
			return fmt.Sprintf("F = F_e + K·e/L_T = %s + %s·%s/%s = %s (e from the reaction line of the rear axles)",
				fmtKG(t.front.sumTare()), fmtKG(l.imposed), fmtMM(e), fmtMM(base), fmtKG(l.front.at(lead)))
		case "rear":
			return fmt.Sprintf("R = R_e + K·(L_T − e)/L_T = %s + %s·(%s − %s)/%s = %s (e from the reaction line of the rear axles)",
				fmtKG(t.rear.sumTare()), fmtKG(l.imposed), fmtMM(base), fmtMM(e), fmtMM(base), fmtKG(l.rear.at(lead)))
		}
		cc := &b.p.Cases[c]
		if cc.Payload == 0 {
			return fmt.Sprintf("B = B_e = %s", fmtKG(l.bogie))
		}
		return fmt.Sprintf("B = B_e + P·x/L = %s + %s·%s/%s = %s", fmtKG(s.bogie.sumTare()), fmtKG(float64(cc.Payload)),
			fmtM(float64(cc.At)), fmtM(s.bogie.line), fmtKG(l.bogie))
	}
}

// workAxle explains the load on one axle: its group, and its share of what is
// added to it.
func (b *builder) workAxle(c, n int) func(float64) string {
	l := &b.st.loads[c]
	spot := l.at[n]
	g := map[string]*groupState{"front": &b.st.tractor.front, "rear": &b.st.tractor.rear, "bogie": &b.st.trailer.bogie}[spot.group]
	group := b.workGroup(c, spot.group)
	return func(lead float64) string {
		if len(g.axles) == 1 {
			return group(lead)
		}
		for k, i := range g.axles {
			if i == spot.index {
				return group(lead) + fmt.Sprintf("; this axle: tare %s + %.4g of what is added = %s", fmtKG(g.tare[k]), g.share[k], unit.Format(l.axle[n].at(lead), unit.KG, 0))
			}
		}
		return group(lead)
	}
}
