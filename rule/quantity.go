package rule

import "underpin/unit"

// A Quantity is a word of the vocabulary that rules are written in. Laws
// measure different distances under similar names, so each word says from
// where to where.
type Quantity struct {
	Name  string
	Dim   unit.Dimension
	Datum string
}

// Vocabulary lists the quantities that a rule can limit, in the order of the
// documentation. In a Limit and a Finding they stand in the law's own unit;
// Limit.SI is in SI.
//
// Valid for every rulebook; a rule that names another quantity is refused.
//
// Source: the laws' own definitions, each named in the rulebook that uses it.
func Vocabulary() []Quantity { return append([]Quantity(nil), quantities...) }

var quantities = []Quantity{
	{"length-combination", unit.LengthDim, "foremost point of the tractor to rearmost point of the semi-trailer, in a straight line ahead"},
	{"length-kingpin-rear", unit.LengthDim, "kingpin axis to the rearmost point of the semi-trailer (EU, UK; AU: articulation point to rear)"},
	{"length-load-front-rear", unit.LengthDim, "front of the load area to the rear of the semi-trailer (UK longer semi-trailers)"},
	{"radius-kingpin-front", unit.LengthDim, "kingpin axis to any point of the semi-trailer's front, horizontally: a radius, so the corners govern"},
	{"kingpin-to-rearmost-axle", unit.LengthDim, "kingpin axis to the centre of the semi-trailer's rearmost axle (California)"},
	{"kingpin-to-bogie-centre", unit.LengthDim, "kingpin axis to the centre of the semi-trailer's rear axle group (Wisconsin)"},
	{"s-dimension", unit.LengthDim, "front articulation point to the rear overhang line: the centre of the axle group, steerable axles left out (Australia)"},
	{"forward-distance", unit.LengthDim, "kingpin axis to the rear axis (New Zealand)"},
	{"rear-overhang", unit.LengthDim, "rear overhang line or rear axis to the rearmost point (Australia, New Zealand)"},
	{"front-projection", unit.LengthDim, "front articulation point to any point of the semi-trailer ahead of it: a radius (Australia, New Zealand)"},
	{"reference-wheelbase", unit.LengthDim, "kingpin axis to the centre of the non-steered axle or axle group, in the lift-axle state that makes it longest (EU type approval)"},
	{"width", unit.LengthDim, "over the widest points, without the parts the law leaves out"},
	{"height", unit.LengthDim, "ground to the highest point, in the highest of the laden, unladen and raised-suspension states"},
	{"ring-inner", unit.LengthDim, "centre of the turning circle to the innermost point of the swept ring, the foremost outer point being led on the rule's outer-radius"},
	{"ring-width", unit.LengthDim, "width of the swept ring on the rule's outer-radius"},
	{"swing-out", unit.LengthDim, "how far any part passes outside the tangent when the circle is entered from the straight"},
	{"gap-axles-tractor-trailer", unit.LengthDim, "rearmost axle of the tractor to the foremost axle of the trailer"},
	{"spread-kingpin-last-axle", unit.LengthDim, "kingpin axis to the centre of the semi-trailer's last axle (UK authorised weight)"},
	{"spacing-tractor-rear-trailer-rear", unit.LengthDim, "rearmost axle of the tractor to the rearmost axle of the semi-trailer (UK construction and use)"},
	{"lead-behind-axle", unit.LengthDim, "kingpin axis behind the tractor's rear axle or rear axis; negative when ahead of it, as it usually is"},
	{"mass-gross-combination", unit.MassDim, "all axles of tractor and semi-trailer together"},
	{"mass-gross-tractor", unit.MassDim, "all axles of the tractor, the load on the fifth wheel included"},
	{"mass-gross-trailer", unit.MassDim, "semi-trailer with its load, the load on the kingpin included"},
	{"mass-axle", unit.MassDim, "one axle on the ground"},
	{"mass-group", unit.MassDim, "one axle group (tandem, tri-axle) on the ground"},
	{"mass-axle-range", unit.MassDim, "every run of two or more consecutive axles i..j of the combination (United States)"},
	{"share-drive", unit.Number, "mass on the driving axles over the mass of the combination"},
	{"share-steer", unit.Number, "mass on the tractor's front steered axles over the tractor's mass, the load on the fifth wheel included"},
	{"share-trailer-axles", unit.Number, "mass on the semi-trailer's axles over the laden mass of the combination (ADR tank vehicles)"},
}

// signed tells whether a quantity can be negative: the coupling stands behind
// the axle or, negative, ahead of it.
func signed(quantity string) bool { return quantity == "lead-behind-axle" }

func quantityNamed(name string) (Quantity, bool) {
	for _, q := range quantities {
		if q.Name == name {
			return q, true
		}
	}
	return Quantity{}, false
}
