package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/assess"
	"underpin/rating"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// A Task is a brief with everything it is asked of.
type Task struct {
	Fleet   *vehicle.Fleet
	Tractor *vehicle.Tractor
	Chassis *Chassis
	Brief   *Brief
	Parts   []Part
	Law     *rule.Book
	Day     string // of the answer, "2026-11-25"; decides between rules of different dates; empty is unknown
}

// A Need is what one semi-trailer asks of a mounting.
type Need struct {
	Trailer *vehicle.SemiTrailer
	Wished  bool
	D       *unit.Force // required reference force; nil while a plate is unknown
	DValue  rating.DValue
	U       *unit.Mass  // permissible load at the kingpin, from its plate
	Pin     rating.Size // 0 unknown
	Missing []string
}

// needs lists what the semi-trailers of a brief ask, those that must work
// first. A name that the fleet does not have is an UnknownNameError.
func (t *Task) needs() ([]Need, error) {
	var out []Need
	for _, group := range []struct {
		ids    []string
		wished bool
	}{{t.Brief.Trailers, false}, {t.Brief.Wished, true}} {
		for _, id := range group.ids {
			s, ok := t.Fleet.Trailer(id)
			if !ok {
				return nil, &assess.UnknownNameError{Kind: "semi-trailer", Name: id, Known: trailerIDs(t.Fleet)}
			}
			out = append(out, t.needOf(s, group.wished))
		}
	}
	return out, nil
}

func trailerIDs(f *vehicle.Fleet) []string {
	var out []string
	for i := range f.Trailers {
		out = append(out, f.Trailers[i].ID)
	}
	return out
}

func (t *Task) needOf(s *vehicle.SemiTrailer, wished bool) Need {
	n := Need{Trailer: s, Wished: wished, U: s.PinPlate, Pin: sizeOf(s.Kingpin.Size)}
	lack := func(known bool, who interface{ Called() string }, field string) {
		if !known {
			n.Missing = append(n.Missing, who.Called()+": "+field)
		}
	}
	lack(t.Tractor.GrossPlate != nil, t.Tractor, "gross-plate")
	lack(s.GrossPlate != nil, s, "gross-plate")
	lack(s.PinPlate != nil, s, "kingpin-plate")
	lack(n.Pin != 0, s, "kingpin size")
	if t.Tractor.GrossPlate == nil || s.GrossPlate == nil || s.PinPlate == nil {
		return n
	}
	d, err := rating.RequiredD(*t.Tractor.GrossPlate, *s.GrossPlate, *s.PinPlate)
	if err != nil {
		n.Missing = append(n.Missing, fmt.Sprintf("plates of %s and %s that go together: %v", t.Tractor.ID, s.ID, err))
		return n
	}
	n.DValue, n.D = d, &d.D
	return n
}

// sizeOf rounds 2 in and 3.5 in to the nominal 50 and 90 that they are called
// by; 0 is unknown.
func sizeOf(l *unit.Length) rating.Size {
	if l == nil {
		return 0
	}
	switch v := float64(*l); {
	case 0.049 < v && v < 0.052:
		return rating.Size50
	case 0.088 < v && v < 0.091:
		return rating.Size90
	}
	return 0
}

// asks is what all semi-trailers that must work ask together.
type asks struct {
	d       float64 // N; the largest, 0 for none known
	u       float64 // kg
	sizes   []rating.Size
	wedge   bool
	missing []string
}

func (t *Task) asksOf(needs []Need) asks {
	var a asks
	for i := range needs {
		n := &needs[i]
		if n.Wished {
			continue
		}
		a.missing = append(a.missing, n.Missing...)
		if n.D != nil {
			a.d = math.Max(a.d, float64(*n.D))
		}
		if n.U != nil {
			a.u = math.Max(a.u, float64(*n.U))
		}
		if n.Pin != 0 && !slices.Contains(a.sizes, n.Pin) {
			a.sizes = append(a.sizes, n.Pin)
		}
		a.wedge = a.wedge || n.Trailer.Wedge != nil && *n.Trailer.Wedge
	}
	if s := t.Brief.Work.Steered; s != nil {
		a.wedge = a.wedge || *s
	}
	slices.Sort(a.sizes)
	slices.Sort(a.missing)
	a.missing = slices.Compact(a.missing)
	return a
}

// evidenceOf turns where a marked value was read into evidence.
func evidenceOf(readFrom string) rating.Evidence {
	switch readFrom {
	case "plate", "document":
		return rating.Read
	}
	return rating.Memory
}

// chain is a stack as package rating sees it: fifth wheel, whatever else is
// rated, and the kingpin.
func (s Stack) chain(c *Chassis, pin *vehicle.Kingpin) []rating.Part {
	var out []rating.Part
	plates := 0
	for _, p := range s.Parts {
		if p.Kind == FifthWheel || !p.rated() {
			continue
		}
		out = append(out, rating.Part{Kind: rating.MountingPlate, D: p.D, U: p.Imposed, Evidence: evidenceOf(p.ReadFrom)})
		plates++
	}
	w := s.Wheel()
	direct := plates == 0 && c != nil && c.Direct != nil && *c.Direct
	out = append(out, rating.Part{Kind: rating.FifthWheel, D: w.D, U: w.Imposed, Evidence: evidenceOf(w.ReadFrom), NoPlate: direct})
	if pin != nil {
		out = append(out, rating.Part{Kind: rating.Kingpin, D: pin.D, Evidence: evidenceOf(pin.ReadFrom)})
	}
	return out
}

// leastImposed is the least imposed load of the stack's rated parts; unknown
// ones do not count.
func (s Stack) leastImposed() unit.Mass {
	u := unit.Mass(math.Inf(1))
	for _, p := range s.Parts {
		if p.Imposed != nil {
			u = min(u, *p.Imposed)
		}
	}
	return u
}
