package mounting

import (
	"fmt"
	"math"
	"slices"
	"time"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// AsBuilt is what was measured and done when a mounting was fitted. What is
// left out was not measured.
type AsBuilt struct {
	Date     string       `json:"date" toml:"date,omitempty"` // "2026-11-25"
	By       string       `json:"by" toml:"by,omitempty"`
	Odometer *unit.Length `json:"odometer" toml:"odometer,omitempty"`
	At       *unit.Length `json:"at" toml:"at,omitempty"` // front axle to the jaw's middle; on a slider in its foremost position
	Gap      *unit.Length `json:"gap" toml:"gap,omitempty"`

	Levels []BuiltLevel  `json:"levels" toml:"level,omitempty"`
	Plates []BuiltPlate  `json:"plates" toml:"plate,omitempty"`
	Torque []BuiltTorque `json:"torques" toml:"torque,omitempty"`
}

// A BuiltLevel is one measured coupling height.
type BuiltLevel struct {
	Name    string       `json:"name" toml:"name,omitempty"`
	Unladen *unit.Length `json:"unladen" toml:"unladen,omitempty"`
	Laden   *unit.Length `json:"laden" toml:"laden,omitempty"`
	Raised  *unit.Length `json:"raised" toml:"raised,omitempty"`
}

// A BuiltPlate is what a part's type plate says.
type BuiltPlate struct {
	Part     string      `json:"part" toml:"part,omitempty"`
	D        *unit.Force `json:"d" toml:"d-value,omitempty"`
	Imposed  *unit.Mass  `json:"imposed" toml:"imposed,omitempty"`
	Approval string      `json:"approval" toml:"approval,omitempty"`
	Serial   string      `json:"serial" toml:"serial,omitempty"`
}

// A BuiltTorque is the torque that a joint was tightened to.
type BuiltTorque struct {
	Upper  string       `json:"upper" toml:"upper,omitempty"` // as in the fitting's joint
	Torque *unit.Torque `json:"torque" toml:"torque,omitempty"`
	Wrench string       `json:"wrench" toml:"wrench,omitempty"` // its number
}

// A Difference is a planned value beside the one that was measured.
type Difference struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Planned  *float64 `json:"planned"`
	Measured *float64 `json:"measured"`
	Unit     string   `json:"unit"`
	Off      *float64 `json:"difference"` // measured less planned
	Allowed  *float64 `json:"allowed"`    // either way; null: nothing was said
	Answer   string   `json:"answer"`     // cannot-tell while something is missing
	Missing  []string `json:"missing"`
}

// Built is what follows from what was built.
type Built struct {
	Tractor     *vehicle.Tractor // with what was measured in place of what was planned
	Differences []Difference
	Again       Due
	Missing     []string
}

// Apply returns the tractor with the measured values in place of the planned
// ones, the differences between both, and when the bolts are due again.
//
// What was not measured is not taken from the plan: a height or a plate that
// nobody read is unknown from now on, and pairings say so. An id that the
// fitting does not have is an error.
func (r *Request) Apply(s *Specification, a *AsBuilt) (*Built, error) {
	stack, err := r.File.Stack(r.Fitting)
	if err != nil {
		return nil, err
	}
	out := &Built{}
	c := &comparison{built: out}

	at := *r.Fitting
	at.At = a.At
	c.length("position", "Front axle to the fifth wheel's centre", r.Fitting.At, a.At, r.Fitting.Tolerance)
	if stack.Base == OnAngles {
		c.least("gap", "Gap between the lowest part and the frame's flange", a.Gap, 5e-3)
	}
	var levels []vehicle.Level
	for i := range s.Heights {
		h := &s.Heights[i]
		var m BuiltLevel
		for _, l := range a.Levels {
			if l.Name == h.Name {
				m = l
			}
		}
		levels = append(levels, vehicle.Level{Name: h.Name, Set: i == 0, Unladen: m.Unladen, Laden: m.Laden, Raised: m.Raised})
		name := "Coupling height"
		if h.Name != "" {
			name += ", " + h.Name
		}
		tolerance := ofMM(h.Tolerance)
		// The plan is what was wanted; where nothing was, what was computed.
		c.length("height.unladen"+slugged(h.Name), name+", unladen", or(ofMM(h.Wanted), ofMM(h.Unladen)), m.Unladen, tolerance)
		if h.WantedLow != nil || h.Laden != nil {
			c.length("height.laden"+slugged(h.Name), name+", laden", or(ofMM(h.WantedLow), ofMM(h.Laden)), m.Laden, tolerance)
		}
	}
	for _, l := range a.Levels {
		if !slices.ContainsFunc(s.Heights, func(h HeightRow) bool { return h.Name == l.Name }) {
			return nil, &StackError{0, fmt.Sprintf("a measured height called %q", l.Name), "the name of a height of the sheet"}
		}
	}
	read := Stack{Base: stack.Base}
	for _, p := range stack.Parts {
		q := *p
		if p.rated() {
			plate := plateOf(a.Plates, p.ID)
			q.D, q.Imposed, q.ReadFrom, q.Approval = plate.D, plate.Imposed, "plate", plate.Approval
			c.marks(p, &plate)
		}
		read.Parts = append(read.Parts, &q)
	}
	for _, p := range a.Plates {
		if !slices.ContainsFunc(stack.Parts, func(q *Part) bool { return q.ID == p.Part }) {
			return nil, &StackError{0, fmt.Sprintf("a plate of %q", p.Part), "a part of the stack: " + stack.String()}
		}
	}
	for i := range r.Fitting.Joints {
		j := &r.Fitting.Joints[i]
		var m BuiltTorque
		for _, t := range a.Torque {
			if t.Upper == j.Upper {
				m = t
			}
		}
		c.torque(j, &m)
	}
	for _, t := range a.Torque {
		if !slices.ContainsFunc(r.Fitting.Joints, func(j Joint) bool { return j.Upper == t.Upper }) {
			return nil, &StackError{0, fmt.Sprintf("a torque of the joint of %q", t.Upper), "the upper part of a joint of the fitting"}
		}
	}
	out.Tractor = fittedWith(r.Tractor, r.Chassis, read, &at, levels)
	out.Again = r.Fitting.due(a.Date, a.Odometer)
	for i := range out.Differences {
		out.Missing = append(out.Missing, out.Differences[i].Missing...)
	}
	out.Missing = once(out.Missing)
	return out, nil
}

// Answer is that of all differences together.
func (b *Built) Answer() rule.Answer {
	answer := rule.Fits
	for i := range b.Differences {
		switch rule.Answer(b.Differences[i].Answer) {
		case rule.DoesNotFit:
			return rule.DoesNotFit
		case rule.CannotTell:
			answer = rule.CannotTell
		}
	}
	return answer
}

func ofMM(v *int) *unit.Length {
	if v == nil {
		return nil
	}
	return new(unit.Length(float64(*v) * 1e-3))
}

func or(a, b *unit.Length) *unit.Length {
	if a != nil {
		return a
	}
	return b
}

func plateOf(plates []BuiltPlate, part string) BuiltPlate {
	for _, p := range plates {
		if p.Part == part {
			return p
		}
	}
	return BuiltPlate{Part: part}
}

// A comparison gathers differences.
type comparison struct{ built *Built }

func (c *comparison) add(d Difference) { c.built.Differences = append(c.built.Differences, d) }

// length compares a measured length with the planned one.
func (c *comparison) length(id, title string, planned, measured, allowed *unit.Length) {
	d := Difference{ID: id, Title: title, Unit: "mm", Planned: inMM(planned), Measured: inMM(measured), Allowed: inMM(allowed), Answer: string(rule.CannotTell), Missing: []string{}}
	if measured == nil {
		d.Missing = append(d.Missing, title+", as measured")
	}
	if planned == nil {
		d.Missing = append(d.Missing, title+", as planned")
	}
	if allowed == nil {
		d.Missing = append(d.Missing, title+": tolerance")
	}
	if measured != nil && planned != nil {
		off := *measured - *planned
		d.Off = inMM(&off)
		if allowed != nil {
			d.Answer = string(rule.Fits)
			if !(abs(off) <= *allowed+dust) {
				d.Answer = string(rule.DoesNotFit)
			}
		}
	}
	c.add(d)
}

// least holds a measured length against a least one.
func (c *comparison) least(id, title string, measured *unit.Length, least unit.Length) {
	d := Difference{ID: id, Title: title + ", at least", Unit: "mm", Planned: inMM(&least), Measured: inMM(measured), Answer: string(rule.CannotTell), Missing: []string{}}
	if measured == nil {
		d.Missing = append(d.Missing, title+", as measured")
	} else {
		off := *measured - least
		d.Off, d.Answer = inMM(&off), string(rule.Fits)
		if !(off >= -dust) {
			d.Answer = string(rule.DoesNotFit)
		}
	}
	c.add(d)
}

// marks compares a type plate with what was planned: less than planned does not
// fit, more is welcome.
func (c *comparison) marks(p *Part, m *BuiltPlate) {
	one := func(id, what, u string, planned, measured *float64) {
		d := Difference{ID: id + "." + p.ID, Title: what + " on the plate of " + p.Title(), Unit: u, Planned: planned, Measured: measured, Answer: string(rule.CannotTell), Missing: []string{}}
		switch {
		case measured == nil:
			d.Missing = append(d.Missing, what+" on the plate of "+p.Title()+", as read")
		case planned == nil:
			d.Answer = string(rule.Fits) // nothing was planned with; the pairings decide
		default:
			d.Off, d.Answer = number(*measured-*planned), string(rule.Fits)
			if !(*measured >= *planned) {
				d.Answer = string(rule.DoesNotFit)
			}
		}
		c.add(d)
	}
	var pd, md, pu, mu *float64
	if p.D != nil {
		pd = number(p.D.Kilonewtons())
	}
	if m.D != nil {
		md = number(m.D.Kilonewtons())
	}
	if p.Imposed != nil {
		pu = number(p.Imposed.Kilograms())
	}
	if m.Imposed != nil {
		mu = number(m.Imposed.Kilograms())
	}
	one("d", "D", "kN", pd, md)
	one("imposed", "U", "kg", pu, mu)
}

// torque compares the torque that was applied with that of the document; one
// without the wrench's number counts as not told.
func (c *comparison) torque(j *Joint, m *BuiltTorque) {
	d := Difference{ID: "torque." + j.Upper, Title: "Torque of " + j.Upper + " on " + j.Lower, Unit: unit.NM.Symbol, Answer: string(rule.CannotTell), Missing: []string{}}
	if j.Torque != nil {
		d.Planned = number(j.Torque.NewtonMetres())
	} else {
		d.Missing = append(d.Missing, d.Title+", from the part's document")
	}
	if m.Torque != nil {
		d.Measured = number(m.Torque.NewtonMetres())
	} else {
		d.Missing = append(d.Missing, d.Title+", as applied")
	}
	if m.Wrench == "" {
		d.Missing = append(d.Missing, d.Title+": number of the wrench")
	}
	if d.Planned != nil && d.Measured != nil {
		d.Off = number(*d.Measured - *d.Planned)
		if len(d.Missing) == 0 {
			d.Answer = string(rule.Fits)
			if math.Abs(*d.Off) > 1e-9*math.Abs(*d.Planned) {
				d.Answer = string(rule.DoesNotFit)
			}
		}
	}
	c.add(d)
}

func inMM(l *unit.Length) *float64 {
	if l == nil {
		return nil
	}
	return number(clean(l.Millimetres()))
}

// due tells when the bolts are tightened again: by distance and days of the
// part's document as entered, counted from the day and the reading of the
// fitting. There is no interval of our own: without a document it cannot be
// told.
func (g *Fitting) due(fitted string, odometer *unit.Length) Due {
	d := Due{Answer: string(rule.CannotTell), Missing: []string{}}
	a := g.Again
	if a == nil || a.Document == "" || a.After == nil && a.Days == 0 {
		d.Missing = append(d.Missing, "fitting "+g.ID+": retighten (distance or days, from the part's document)")
		return d
	}
	d.Answer, d.Source = string(rule.Fits), a.Document
	if a.After != nil {
		d.After = new(int(math.Floor(float64(*a.After)/1e3 + 1e-9)))
		if odometer != nil {
			d.Odometer = new(int(math.Floor(float64(*odometer+*a.After)/1e3 + 1e-9)))
		}
	}
	if a.Days > 0 {
		d.Days = new(a.Days)
		if day, err := time.Parse(time.DateOnly, fitted); err == nil {
			d.Date = day.AddDate(0, 0, a.Days).Format(time.DateOnly)
		}
	}
	if fitted != "" || odometer != nil { // as built, both ends are wanted
		if a.After != nil && d.Odometer == nil {
			d.Missing = append(d.Missing, "reading of the odometer at the fitting")
		}
		if a.Days > 0 && d.Date == "" {
			d.Missing = append(d.Missing, "day of the fitting, such as 2026-11-25")
		}
		if len(d.Missing) > 0 {
			d.Answer = string(rule.CannotTell)
		}
	}
	return d
}
