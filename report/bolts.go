package report

import (
	"fmt"
	"strings"

	"underpin/drawing"
	"underpin/mounting"
	"underpin/scene"
	"underpin/unit"
)

// bolts is the section on the bolted joints: which bolts, which torque, in which
// order, beside the hole pattern as it was entered.
func (p *paper) bolts() error {
	var all []boltBlock
	faces := p.faces()
	for i := range faces {
		b, err := p.boltBlock(&faces[i])
		if err != nil {
			return err
		}
		all = append(all, b)
	}
	first := 30.0
	if len(all) > 0 {
		first = all[0].high + 14
	}
	p.section("Bolts", first)
	p.paragraph(sizeTable, false, scene.RoleInk, "Tighten to the torque of the part's document. The theoretical maximum is computed from the bolt alone; it is not a fitting torque.")
	if len(all) == 0 {
		p.paragraph(sizeTable, true, scene.RoleUnknown, "No bolts were entered.")
	}
	for i := range all {
		if err := p.placeBolts(&all[i]); err != nil {
			return err
		}
	}
	return nil
}

// faces are the bolted faces; without the request, those that have bolts.
func (p *paper) faces() []drawing.Face {
	if p.r != nil {
		return drawing.MountingFaces(p.r, p.s)
	}
	var out []drawing.Face
	for i := range p.s.Joints {
		j := &p.s.Joints[i]
		out = append(out, drawing.Face{Lower: j.Lower, Upper: j.Upper, Title: j.Title, OnWeb: j.OneSide, Joint: j})
	}
	return out
}

// A boltBlock is what is known of one face, and its holes.
type boltBlock struct {
	title      string
	words      []pair
	wide       float64 // of the words
	high       float64
	holes      *scene.Scene // nil: not drawn
	size       scene.Paper
	k          float64
	x          float64
	below      bool
	textHeight float64
}

const (
	boltLabel = 33.0
	holesWide = 84.0
)

// boltBlock lays a face out: its holes beside the words, or below where they
// would be too small to read.
func (p *paper) boltBlock(f *drawing.Face) (boltBlock, error) {
	b := boltBlock{title: upper(f.Title), words: p.boltPairs(f), wide: width}
	if p.r == nil {
		b.textHeight = p.pairsHeight(width, boltLabel, b.words)
		b.high = b.textHeight
		return b, nil
	}
	draw := func(o drawing.Options) (err error) {
		b.holes = drawing.MountingPattern(p.r, p.s, *f, o)
		b.holes.Pad = 5
		b.size, err = b.holes.SheetSize()
		return err
	}
	if err := draw(drawing.Options{Phone: true, Width: holesWide, NoBlock: true}); err != nil {
		return b, err
	}
	b.k = min(1, holesWide/b.size.W, 112/b.size.H)
	b.wide, b.x = width-holesWide-5, left+width-holesWide
	if holesWide/b.size.W < 0.8 {
		if err := draw(drawing.Options{Width: 150, NoBlock: true}); err != nil {
			return b, err
		}
		b.k, b.wide, b.x, b.below = min(1, width/b.size.W, 120/b.size.H), width, left, true
	}
	b.textHeight = p.pairsHeight(b.wide, boltLabel, b.words)
	b.high = max(b.textHeight, b.size.H*b.k+5)
	if b.below {
		b.high = b.textHeight + b.size.H*b.k + 6
	}
	return b, nil
}

func (p *paper) placeBolts(b *boltBlock) error {
	p.sub(b.title, b.high)
	y := p.y
	p.pairsAt(left, y, b.wide, boltLabel, b.words)
	p.y += b.textHeight
	if b.holes == nil {
		return nil
	}
	if b.below {
		y = p.y + 1
	}
	h, err := b.holes.Place(p.pdf, b.x, y, b.size.W*b.k)
	if err != nil {
		return err
	}
	how := fmt.Sprintf("scale 1:%g", b.holes.Scale())
	if b.k < 1 {
		how = "not to scale"
	}
	h += 0.5 + p.textAt(b.x, y+h+0.5, holesWide, sizeNote, false, scene.RoleMuted, "Holes as entered, "+how)
	p.y = max(p.y, y+h) + 1
	return nil
}

// boltPairs is all that is known of one joint. The torque comes first.
func (p *paper) boltPairs(f *drawing.Face) []pair {
	j := f.Joint
	if j == nil {
		return []pair{{label: "bolts", value: "not entered: what is not bolted is not held", role: scene.RoleUnknown, bold: true}}
	}
	unknown := func(label, value string) pair { return pair{label: label, value: value, role: scene.RoleUnknown} }
	var out []pair
	if j.Thread != "" && j.Bolts > 0 {
		v := fmt.Sprintf("%d\u00a0×\u00a0%s, %s", j.Bolts, j.Thread, j.Grade)
		if j.OneSide {
			v += fmt.Sprintf(", %d on each side", len(j.Places))
		}
		out = append(out, pair{label: "bolts", value: v, bold: true})
	} else {
		out = append(out, unknown("bolts", "thread, grade or holes not entered"))
	}
	if j.Washer != nil {
		out = append(out, pair{label: "washer, flange", value: "Ø\u00a0" + trimmed(*j.Washer) + "\u00a0mm"})
	}
	if j.Torque != nil && j.Document != "" {
		out = append(out, pair{label: "torque", value: unit.Digits(*j.Torque, 0) + "\u00a0N·m", bold: true}, pair{label: "stands in", value: j.Document})
	} else {
		out = append(out, unknown("torque", "not known: enter it from the part's document. There is no default."))
	}
	if j.OutOf != "" {
		out = append(out, pair{label: "torque outside the band", value: j.OutOf, role: scene.RoleFails})
	}
	maximum := unknown("theoretical maximum, not a fitting torque", "not known")
	if j.Maximum != nil {
		maximum = pair{label: maximum.label, value: unit.Digits(unit.Floor(*j.Maximum, 0), 0) + "\u00a0N·m"}
		if j.Friction[0] != nil {
			maximum.value += " at friction " + trimmed(*j.Friction[0])
		}
	}
	out = append(out, maximum)
	out = append(out, pair{label: "tightened with", value: joined(", ", or(j.Method, "not said"), j.Lubricant, friction(j.Friction))})
	if j.Factor != nil {
		out = append(out, pair{label: "tightening factor", value: trimmed(*j.Factor)})
	}
	if j.Preload[0] != nil && j.Preload[1] != nil {
		v := decimal(j.Preload[0], 1) + " to " + decimal(j.Preload[1], 1) + "\u00a0kN"
		if j.Loss != nil {
			v += ", " + decimal(j.Loss, 1) + "\u00a0kN lost by embedding"
		}
		out = append(out, pair{label: "preload of a bolt", value: v})
	}
	if j.Slip[0] != nil && j.Slip[1] != nil {
		out = append(out, pair{label: "safety against slip by friction alone", value: decimal(j.Slip[0], 2) + " in the dynamic test, " + decimal(j.Slip[1], 2) + " at full D"})
	}
	if !f.OnWeb {
		out = append(out, stops(j))
	}
	if len(j.Order) > 0 {
		var order []string
		for _, n := range j.Order {
			order = append(order, fmt.Sprint(n))
		}
		out = append(out, pair{label: "order of tightening, by hole", value: strings.Join(order, ", "), bold: true}, pair{label: "that order", value: j.OrderWhy})
	}
	return out
}

func stops(j *mounting.JointRow) pair {
	q := pair{label: "positive stops"}
	needed := "whether they are needed is not known"
	if j.StopsNeeded != nil {
		needed = "not needed by friction"
		if *j.StopsNeeded {
			needed = "needed: friction alone does not hold"
		}
	}
	switch {
	case j.Stops == nil:
		q.value, q.role = "not said whether fitted; "+needed, scene.RoleUnknown
	case *j.Stops:
		q.value = "to be fitted, fore and aft; " + needed
	default:
		q.value = "none; " + needed
	}
	return q
}

func friction(f [2]*float64) string {
	if f[0] == nil || f[1] == nil {
		return ""
	}
	return "friction " + trimmed(*f[0]) + " to " + trimmed(*f[1])
}

// trimmed letters a number with no more digits than it has, at most three.
func trimmed(v float64) string {
	s := unit.Digits(v, 3)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
