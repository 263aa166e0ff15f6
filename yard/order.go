package yard

import "underpin/rule"

// A Line joins the trailer to the tractor.
type Line string

const (
	Control  Line = "control"  // service brake
	Supply   Line = "supply"   // air; it releases the trailer's emergency brake
	Electric Line = "electric" // all plugs
)

// An Order is how a country does what is done differently elsewhere.
type Order struct {
	Country  string // as the rulebooks call it
	Colours  string // eu: yellow and red; us: blue and red; empty: said without
	Couple   []Line // in the order in which they are joined
	Ahead    int    // so many of them before reversing under the trailer
	Uncouple []Line // in the order in which they are taken off
	// Springs says that a trailer's parking brake is its spring brakes, which
	// hold without air and let go with it. From memory.
	Springs bool
	// TugLater puts the tug behind the looks and not before them.
	TugLater bool
	// HandleFirst puts the handle before the other looks.
	HandleFirst bool

	Joined, Parted Reason
}

var (
	supplyLast  = []Line{Control, Supply, Electric}
	supplyFirst = []Line{Supply, Control, Electric}

	joinedDE    = Reason{Why: "why.lines", Source: "a German driving school's text", Evidence: rule.Read}
	joinedElse  = Reason{Why: "why.lines", Source: "common practice, no source, as a German driving school's text has it", Evidence: rule.Practice}
	joinedUK    = Reason{Why: "why.lines", Source: "from memory", Evidence: rule.Memory}
	joinedUS    = Reason{Why: "why.lines-ahead", Source: "from memory; CDL manual 6.4", Evidence: rule.Memory}
	partedAll   = Reason{Why: "why.lines-off", Source: "from memory", Evidence: rule.Memory}
	partedOther = Reason{Why: "why.lines-off", Source: "common practice, no source", Evidence: rule.Practice}
)

// orders holds what each country does. Only the German order of joining was
// read; the others say so. That the British tug comes behind the looks, and that
// the Australian guide looks at the handle first, was read.
//
// Source: handbook chapter 05, section 4.1, steps 6 to 8; HSE workplace
// transport, coupling; NRSPP trailer coupling guideline.
var orders = [...]Order{
	{Country: "de", Colours: "eu", Couple: supplyLast, Uncouple: supplyFirst, Joined: joinedDE, Parted: partedAll},
	{Country: "eu", Colours: "eu", Couple: supplyLast, Uncouple: supplyFirst, Joined: joinedElse, Parted: partedAll},
	{Country: "fr", Colours: "eu", Couple: supplyLast, Uncouple: supplyFirst, Joined: joinedElse, Parted: partedAll},
	{Country: "uk", Colours: "eu", Couple: supplyLast, Uncouple: supplyFirst, TugLater: true, Joined: joinedUK, Parted: partedAll},
	{Country: "us", Colours: "us", Springs: true, Couple: supplyLast, Ahead: 2, Uncouple: supplyFirst, Joined: joinedUS, Parted: partedAll},
	{Country: "us-ca", Colours: "us", Springs: true, Couple: supplyLast, Ahead: 2, Uncouple: supplyFirst, Joined: joinedUS, Parted: partedAll},
	{Country: "au", Couple: supplyLast, Uncouple: supplyFirst, HandleFirst: true, Joined: joinedElse, Parted: partedOther},
	{Country: "nz", Couple: supplyLast, Uncouple: supplyFirst, Joined: joinedElse, Parted: partedOther},
}

// Orders lists the order of each country.
func Orders() []Order { return append([]Order(nil), orders[:]...) }

// FindOrder returns the order of a country, and whether there is one. Without
// one it is the common order, said without colours, and the tug counts twice:
// the looks stand behind it.
func FindOrder(country string) (Order, bool) {
	for _, o := range orders {
		if o.Country == country {
			return o, true
		}
	}
	return Order{Country: country, Couple: supplyLast, Uncouple: supplyFirst, Joined: joinedElse, Parted: partedOther}, false
}
