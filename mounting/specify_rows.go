package mounting

import (
	"fmt"
	"slices"
	"strings"

	"underpin/rule"
)

func jointRow(r *JointResult) JointRow {
	j := r.Joint
	row := JointRow{Title: r.Title, Lower: j.Lower, Upper: j.Upper, Thread: r.Thread.Name, Grade: r.Class.Name, Bolts: len(r.Places), Places: placeRows(r.Places), OneSide: r.OnWeb,
		Document: j.Document, Method: j.Method, Lubricant: j.Lubricant, Order: ints(r.Order), Factor: number(r.Factor),
		OrderWhy: "from the middle outwards and crosswise, in steps, as far as the part's document says nothing else (common practice, no source)",
		Maximum:  number(float64(r.Maximum)), Preload: [2]*float64{number(float64(r.Least) / 1e3), number(float64(r.Most) / 1e3)}, Loss: number(float64(r.Loss) / 1e3),
		Friction: [2]*float64{j.LeastFriction, j.MostFriction}, Stops: j.Stops, StopsNeeded: r.NeedsStop, Findings: rowsOf(r.Findings)}
	if r.OnWeb {
		row.Bolts *= 2
	}
	if j.Washer != nil {
		row.Washer = number(clean(j.Washer.Millimetres()))
	}
	if j.Torque != nil {
		row.Torque = number(j.Torque.NewtonMetres())
	}
	if c := r.Mounting; c != nil {
		row.Slip = [2]*float64{number(c.DynamicSlip), number(c.FullSlip)}
	}
	if r.Band != nil {
		row.Lowest = number(r.Band.Lowest.NewtonMetres())
		switch {
		case r.Band.TooHigh:
			row.OutOf = fmt.Sprintf("%s is above the theoretical maximum of %s", nm(*j.Torque), nm(r.Band.Highest))
		case r.Band.TooLow:
			row.OutOf = fmt.Sprintf("%s is below 60 %% of the theoretical maximum, %s", nm(*j.Torque), nm(r.Band.Lowest))
		}
	}
	return row
}

func (b *sheet) again() { b.spec.Again = b.Fitting.due("", nil) }

// close gathers what is unknown, assumed, warned of and cited.
func (b *sheet) close() {
	s := b.spec
	s.Findings = rowsOf(b.found)
	s.Answer = string(s.answer())
	s.Assumed = append(slices.Clone(b.places.Assumed), b.ground.assumed...)
	s.Assumed = append(s.Assumed, "axle tares are taken as they stand in the fleet file, whatever mounting was weighed with them")
	if b.stack.Wheel().JointDepth == nil {
		s.Assumed = append(s.Assumed, "the pull is taken to act at the top plate's surface: joint-depth of the fifth wheel is not given")
	}
	s.Assumed = append(s.Assumed, "the bolts are checked for the ratings of the fifth wheel, in the load cases of its approval; no lateral force is known from a source")
	s.Unknown = append(s.Unknown, b.open...)
	seen := map[SourceRow]bool{}
	s.Sources, s.Warnings = []SourceRow{}, []string{}
	for i := range s.Pairs {
		if p := &s.Pairs[i]; p.Wished && p.Answer != string(rule.Fits) && p.Answer != string(rule.FitsIf) {
			s.Warnings = append(s.Warnings, fmt.Sprintf("wished and not served: %s, %s. %s", p.Trailer, p.CaseName, p.Told))
		}
	}
	s.each(func(where string, wished bool, f *Finding) {
		if k := (SourceRow{f.Source, f.Evidence}); f.Source != "" && !seen[k] {
			seen[k] = true
			s.Sources = append(s.Sources, k)
		}
		if wished {
			return
		}
		if f.Answer == string(rule.CannotTell) {
			s.Unknown = append(s.Unknown, f.Missing...)
		}
		if !f.Binding && f.Answer == string(rule.DoesNotFit) {
			text := f.Title
			if where != "" && !strings.Contains(f.Title, where) {
				text += " (" + where + ")"
			}
			if f.Case != "" && !strings.Contains(where, f.Case) {
				text += ", " + f.Case
			}
			if f.Note != "" {
				text += ": " + f.Note
			}
			s.Warnings = append(s.Warnings, text)
		}
	})
	for _, p := range s.Properties {
		if p.Open != "" {
			s.Unknown = append(s.Unknown, p.Open)
		}
	}
	s.Warnings = append(s.Warnings, against(s.Properties, b.stack)...)
	s.Unknown, s.Warnings, s.Assumed = once(s.Unknown), once(s.Warnings), once(s.Assumed)
	s.Checks = checks(s)
}

// once drops what stands a second time and keeps the order.
func once(in []string) []string {
	out := []string{}
	for _, v := range in {
		if !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// AddOthers puts what else was found on the sheet: the proposals that are not the
// fitting's own stack, at most so many.
func (s *Specification) AddOthers(f *Found, most int) {
	s.Others = []OtherRow{}
	for i := range f.Proposals {
		p := &f.Proposals[i]
		own := len(s.Parts) == len(p.Parts) && s.Chassis.Base == p.Base
		for k := range p.Parts {
			own = own && s.Parts[k].ID == p.Parts[k].ID
		}
		if own || len(s.Others) >= most {
			continue
		}
		row := OtherRow{Stack: p.Stack.String(), At: wholeMM(p.At), Margin: number(p.Margin), Answer: string(p.Answer), Why: list(p.Against)}
		if p.Weighed {
			row.Mass = nearestKG(p.Mass.Kilograms())
		}
		if len(p.Limits) > 0 {
			row.Limit = p.Limits[0].Text
		}
		s.Others = append(s.Others, row)
	}
}
