package main

import (
	"fmt"
	"strings"

	"underpin/exchange"
	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// asBuilt is what was built beside what was specified.
type asBuilt struct {
	Answer      string                `json:"answer"`
	Differences []mounting.Difference `json:"differences"`
	Again       mounting.Due          `json:"retighten"`
	Missing     []string              `json:"missing"`
}

// built holds what was measured at the fitting against the sheet. Exit code: 0
// where all of it was built as specified, 1 where something is off, 3 where
// something was not measured.
func (c *specCmd) built(p *program, r *mounting.Request, s *mounting.Specification) error {
	measured, err := exchange.ReadBuilt(c.Built)
	if err != nil {
		return err
	}
	b, err := r.Apply(s, measured)
	if stack, ok := err.(*mounting.StackError); ok {
		return &argError{c.Built, stack.Found, stack.Do}
	}
	if err != nil {
		return err
	}
	a := asBuilt{string(b.Answer()), b.Differences, b.Again, append([]string{}, b.Missing...)}
	p.code = exitOf(b.Answer())
	if c.JSON {
		return p.printJSON(a)
	}
	w := spaced{p.out}
	fmt.Fprintln(w, strings.TrimSpace("As built, "+r.Tractor.Title()+" "+measured.Date))
	fmt.Fprintln(w)
	paragraph(w, marks[b.Answer()]+" ", "  ", map[rule.Answer]string{rule.Fits: "Built as specified.", rule.DoesNotFit: "Not built as specified.", rule.CannotTell: "Not everything was measured."}[b.Answer()])
	fmt.Fprintln(w)
	fmt.Fprintln(w, pad("  ", 44)+padLeft("planned", 11)+padLeft("measured", 12)+padLeft("off", 10))
	fmt.Fprintln(w, strings.Repeat("─", 78))
	for i := range a.Differences {
		d := &a.Differences[i]
		printRow(w, marks[rule.Answer(d.Answer)], d.Title, 42, padLeft(fraction(d.Planned, 0), 11)+padLeft(fraction(d.Measured, 0), 12)+padLeft(fraction(d.Off, 0), 10)+" "+d.Unit)
	}
	printList(w, "Missing", a.Missing)
	fmt.Fprintln(w)
	paragraph(w, "Bolts again  ", "             ", againText(&a.Again))
	block, err := exchange.WriteFleet(&vehicle.Fleet{Tractors: []vehicle.Tractor{{ID: r.Tractor.ID, FifthWheel: b.Tractor.FifthWheel}}})
	if err != nil {
		return err
	}
	fmt.Fprintln(w)
	paragraph(w, "", "", "For the fleet file, in place of the tractor's fifth wheel:")
	fmt.Fprintln(p.out)
	_, err = p.out.Write(block)
	return err
}

func againText(d *mounting.Due) string {
	if d.Answer != string(rule.Fits) {
		return "cannot be told; missing: " + strings.Join(d.Missing, "; ")
	}
	var at []string
	if d.Odometer != nil {
		at = append(at, "at "+unit.Digits(float64(*d.Odometer), 0)+" km on the odometer")
	}
	if d.Date != "" {
		at = append(at, "on "+d.Date)
	}
	return strings.Join(at, " or ") + " at the latest, by " + d.Source
}
