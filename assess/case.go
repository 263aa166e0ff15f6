package assess

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"underpin/axleload"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// A Case is one state of load of a given semi-trailer.
type Case struct {
	ID, Name string
	Payload  unit.Mass   // NaN while unknown
	At       unit.Length // centre of the payload behind the kingpin; NaN while unknown
	Hindmost unit.Length // centre of the rearmost item behind the headboard; NaN while unknown
	Facts    rule.Facts
	Missing  []string // what would have to be known
	Doubts   []string // where a weighbridge ticket of the semi-trailer disagrees with what is given
}

// An UnknownNameError says that a name given by the user stands for nothing.
type UnknownNameError struct {
	Kind, Name string   // "load", "pallets"
	Known      []string // the names there are
}

func (e *UnknownNameError) Error() string {
	return fmt.Sprintf("found %s %q; expected one of %v", e.Kind, e.Name, e.Known)
}

// Cases returns the load cases of a semi-trailer: the named ones, or without
// names all there are: empty, laden and every load of the file that is meant for
// this semi-trailer.
//
// laden is the semi-trailer's stated payload at its stated centre. The centre
// behind the kingpin is x = s − a: s behind the inside of the headboard, a the
// kingpin behind the inside of the headboard.
func Cases(f *vehicle.Fleet, s *vehicle.SemiTrailer, names ...string) ([]Case, error) {
	known := []string{vehicle.CaseEmpty, vehicle.CaseLaden}
	meant := slices.Clone(known)
	for i := range f.Loads {
		l := &f.Loads[i]
		known = append(known, l.ID)
		if len(l.For) == 0 || slices.Contains(l.For, s.ID) {
			meant = append(meant, l.ID)
		}
	}
	if len(names) == 0 {
		names = meant
	}
	var cases []Case
	doubts := f.Doubts(s)
	for _, name := range names {
		c := Case{ID: name, Name: name, Facts: factsOf(f.Facts, nil), Hindmost: unit.Length(math.NaN()), Doubts: doubts}
		switch l, ok := f.Load(name); {
		case name == vehicle.CaseEmpty:
			// At zero mass the centre does not matter.
		case name == vehicle.CaseLaden:
			c.Payload, c.At = unit.Mass(math.NaN()), unit.Length(math.NaN())
			if s.Payload == nil || s.PayloadAt == nil {
				c.Missing = append(c.Missing, missing(s, "payload and payload-at (the case laden)"))
			} else {
				c.Payload, c.Hindmost = *s.Payload, *s.PayloadAt
				c.place(s, *s.PayloadAt)
			}
		case ok:
			c.Name = l.Name
			c.Facts = factsOf(f.Facts, l.Facts)
			at, ok := c.sum(l)
			if ok && c.Payload > 0 {
				c.place(s, at)
			}
		default:
			return nil, &UnknownNameError{"load", name, known}
		}
		if c.Name == "" {
			c.Name = c.ID
		}
		cases = append(cases, c)
	}
	return cases, nil
}

// sum adds up a named load and returns its centre behind the headboard.
func (c *Case) sum(l *vehicle.Load) (at unit.Length, ok bool) {
	if len(l.Items) == 0 {
		if l.Payload == nil || (l.At == nil && *l.Payload > 0) {
			c.Payload, c.At = unit.Mass(math.NaN()), unit.Length(math.NaN())
			c.Missing = append(c.Missing, "load "+l.ID+": payload and at, or items")
			return 0, false
		}
		if l.At != nil {
			at = *l.At
		}
		c.Payload, c.Hindmost = *l.Payload, at
		return at, true
	}
	items := make([]axleload.Item, len(l.Items))
	c.Hindmost = 0
	for i, it := range l.Items {
		if it.Mass == nil || it.At == nil {
			c.Payload, c.At, c.Hindmost = unit.Mass(math.NaN()), unit.Length(math.NaN()), unit.Length(math.NaN())
			c.Missing = append(c.Missing, fmt.Sprintf("load %s: item %d mass and at", l.ID, i+1))
			return 0, false
		}
		items[i] = axleload.Item{Mass: *it.Mass, At: *it.At}
		c.Hindmost = max(c.Hindmost, *it.At)
	}
	sum, err := axleload.LoadCentre(items)
	if err != nil { // no mass at all
		c.Payload = 0
		return 0, false
	}
	c.Payload = sum.Mass
	return sum.At, true
}

// place turns a centre behind the headboard into one behind the kingpin.
func (c *Case) place(s *vehicle.SemiTrailer, at unit.Length) {
	if s.Headboard == nil {
		c.At = unit.Length(math.NaN())
		c.Missing = append(c.Missing, missing(s, "headboard"))
		return
	}
	c.At = at - *s.Headboard
}

// factsOf reads what the file and the load declare; the load's word stands. What
// cannot be declared is refused where the file is read, and is unknown here.
func factsOf(file, load map[string]any) rule.Facts {
	all := map[string]any{}
	maps.Copy(all, file)
	maps.Copy(all, load)
	facts, _ := DeclaredFacts(all)
	return facts
}

// missing names a field of a vehicle for the list of what is not known.
func missing(v interface{ Called() string }, field string) string {
	return v.Called() + ": " + field
}
