package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
)

// printSpecification prints the sheet for a terminal: what is fitted, where and
// how high, the bolts, and of the findings those that decide what to do.
func printSpecification(w io.Writer, r *mounting.Request, s *mounting.Specification, found *mounting.Found, all bool) {
	w = spaced{w}
	title := strings.TrimSpace("Mounting specification " + s.Title.Number)
	if s.Title.Revision != "" {
		title += ", revision " + s.Title.Revision
	}
	fmt.Fprintln(w, title)
	paragraph(w, "", "", fmt.Sprintf("%s for %s, chassis %s", cmp.Or(s.Title.Subject, s.Title.Brief), s.Tractor.Name, cmp.Or(s.Chassis.Name, s.Chassis.ID)))
	paragraph(w, "", "", s.Law.Title+", text of "+s.Law.Text)
	fmt.Fprintln(w)
	answer := rule.Answer(s.Answer)
	paragraph(w, marks[answer]+" ", "  ", specifiedAnswer(s))
	if s.Title.Fitting == "proposal" {
		paragraph(w, "  ", "  ", fmt.Sprintf("The best of %d proposals for the aim %s; its bolts are still to be entered.", found.Count, found.Aim))
	}
	fmt.Fprintln(w)
	printStack(w, s)
	printPlace(w, s)
	printBolts(w, s)
	printSheetFindings(w, s, all)
	printPairs(w, s)
	printList(w, "Not known", s.Unknown)
	printList(w, "Warnings that do not decide", s.Warnings)
	printList(w, "Taken for granted", s.Assumed)
	printOthers(w, s)
	fmt.Fprintln(w)
	paragraph(w, "", "", "Calculation is no proof of legality. The chassis maker's guide, the parts' documents and the local law have the last word.")
}

func specifiedAnswer(s *mounting.Specification) string {
	switch rule.Answer(s.Answer) {
	case rule.Fits:
		return "Every binding finding holds: it may be approved for fitting."
	case rule.DoesNotFit:
		return "Does not fit. " + openText(s)
	}
	return "Cannot tell. " + openText(s)
}

// openText is the first finding that keeps the sheet a draft.
func openText(s *mounting.Specification) string {
	err := s.Holds()
	if err == nil {
		return ""
	}
	text := strings.TrimPrefix(err.Error(), "not approved: ")
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

func figure(v *int) string {
	if v == nil {
		return unit.Unknown
	}
	return unit.Digits(float64(*v), 0)
}

func fraction(v *float64, places int) string {
	if v == nil {
		return unit.Unknown
	}
	return unit.Digits(*v, places)
}

func printStack(w io.Writer, s *mounting.Specification) {
	fmt.Fprintln(w, pad("  from below to the top", 40)+padLeft("height", 8)+padLeft("mass", 8)+padLeft("D", 9)+padLeft("U", 9))
	fmt.Fprintln(w, strings.Repeat("─", 78))
	fmt.Fprintln(w, "  "+s.Chassis.Base)
	for i := range s.Parts {
		p := &s.Parts[i]
		printRow(w, " ", p.Name, 38, padLeft(figure(p.Height), 8)+padLeft(figure(p.Mass), 8)+padLeft(fraction(p.D, 0), 9)+padLeft(figure(p.U), 9))
	}
	fmt.Fprintln(w, strings.Repeat(" ", 43)+"mm      kg       kN       kg")
	fmt.Fprintln(w)
}

func printPlace(w io.Writer, s *mounting.Specification) {
	q := &s.Position
	text := "not known"
	if q.At != nil {
		text = figure(q.At)
		if q.Tolerance != nil {
			text += " ± " + figure(q.Tolerance)
		}
		text += " mm behind the front axle"
		if q.Lead != nil {
			text += ", " + figure(q.Lead) + " mm ahead of the " + q.Datum
		}
		if q.Travel > 0 {
			text += fmt.Sprintf("; slide %d mm rearwards in steps of %d mm", q.Travel, q.Pitch)
		}
	}
	paragraph(w, "Position  ", "          ", text)
	var spans []string
	for _, l := range q.Lawful {
		spans = append(spans, figure(&l[0])+" to "+figure(&l[1])+" mm")
	}
	if len(spans) > 0 {
		paragraph(w, "          ", "          ", "lawful for every semi-trailer: "+strings.Join(spans, ", "))
	}
	for _, l := range q.Limits {
		paragraph(w, "          ", "          ", l)
	}
	for i := range s.Heights {
		h := &s.Heights[i]
		text := cmp.Or(h.Name, "coupling height") + ": " + figure(h.Unladen) + " mm unladen"
		if h.Wanted != nil && h.Tolerance != nil {
			text += ", wanted " + figure(h.Wanted) + " ± " + figure(h.Tolerance)
		}
		text += "; " + figure(h.Laden) + " mm laden"
		if h.Raise > 0 {
			text += fmt.Sprintf("; lift raised %d mm", h.Raise)
		}
		first := "          "
		if i == 0 {
			first = "Height    "
		}
		paragraph(w, first, "          ", text)
	}
	fmt.Fprintln(w)
}

func printBolts(w io.Writer, s *mounting.Specification) {
	if len(s.Joints) == 0 {
		return
	}
	fmt.Fprintln(w, "Bolts")
	for i := range s.Joints {
		j := &s.Joints[i]
		size := strings.TrimSpace(j.Thread + " " + j.Grade)
		if size == "" {
			size = "bolts not entered"
		}
		paragraph(w, "  · ", "    ", fmt.Sprintf("%s: %d × %s", j.Title, j.Bolts, size))
		torque := "torque not known: enter it from the part's document; there is no default"
		if j.Torque != nil {
			torque = fmt.Sprintf("torque %s N.m, %s", fraction(j.Torque, 0), j.Document)
		}
		paragraph(w, "    ", "    ", torque)
		if j.OutOf != "" {
			paragraph(w, "    ✕ ", "      ", j.OutOf)
		}
		if j.Maximum != nil {
			paragraph(w, "    ", "    ", fmt.Sprintf("theoretical maximum %s N.m, not a fitting torque", unit.Digits(unit.Floor(*j.Maximum, 0), 0)))
		}
		if len(j.Order) > 0 {
			paragraph(w, "    ", "    ", "order: "+strings.Join(strings.Fields(strings.Trim(fmt.Sprint(j.Order), "[]")), ", "))
		}
	}
	fmt.Fprintln(w)
}

// printSheetFindings prints the findings on the mounting and its joints: those
// that do not hold, or all of them.
func printSheetFindings(w io.Writer, s *mounting.Specification, all bool) {
	fmt.Fprintln(w, pad("  finding on the mounting", 46)+padLeft("value", 10)+padLeft("limit", 10)+padLeft("to spare", 13))
	fmt.Fprintln(w, strings.Repeat("─", 79))
	hold := 0
	one := func(f *mounting.Finding) {
		if !all && f.Answer == string(rule.Fits) {
			hold++
			return
		}
		printSheetFinding(w, f, all)
	}
	for i := range s.Findings {
		one(&s.Findings[i])
	}
	for i := range s.Joints {
		for k := range s.Joints[i].Findings {
			one(&s.Joints[i].Findings[k])
		}
	}
	if hold > 0 {
		fmt.Fprintf(w, "  %d findings hold; --all shows each with its working and source.\n", hold)
	}
	fmt.Fprintln(w)
}

func printSheetFinding(w io.Writer, f *mounting.Finding, all bool) {
	shape := marks[rule.Answer(f.Answer)]
	if f.Answer == string(rule.DoesNotFit) && !f.Binding {
		shape = "▲"
	}
	title := f.Title
	if f.Case != "" {
		title += ", " + f.Case
	}
	value, limit, spare := fraction(f.Value, 1), fraction(f.Limit, 1), unit.Unknown
	if f.Margin != nil {
		spare = strings.TrimSpace(unit.Digits(unit.Floor(*f.Margin, 1), 1) + " " + f.Unit)
	}
	if yesOrNo(f) {
		value, limit, spare = map[bool]string{true: "yes", false: "no"}[f.Value != nil && *f.Value >= 1], "yes", ""
		if f.Value == nil {
			value = unit.Unknown
		}
	}
	printRow(w, shape, title, 44, padLeft(value, 10)+padLeft(limit, 10)+strings.TrimRight(padLeft(spare, 13), " "))
	if f.Note != "" {
		paragraph(w, "    ", "    ", f.Note)
	}
	if len(f.Missing) > 0 {
		paragraph(w, "    missing  ", "             ", strings.Join(f.Missing, "; "))
	}
	if all {
		printGrounds(w, f.Working, f.Source, f.Evidence, f.Binding)
	}
}

// yesOrNo tells a finding whose value is 1 for yes.
func yesOrNo(f *mounting.Finding) bool {
	kind, _, _ := strings.Cut(f.ID, ".")
	switch kind {
	case "guide", "direct", "stops", "joint":
		return true
	}
	return false
}

// printPairs prints one line for each semi-trailer and load case.
func printPairs(w io.Writer, s *mounting.Specification) {
	fmt.Fprintln(w, pad("  semi-trailer", 24)+pad("load case", 14)+"in words")
	fmt.Fprintln(w, strings.Repeat("─", 79))
	for i := range s.Pairs {
		p := &s.Pairs[i]
		name := p.Trailer
		if p.Wished {
			name += " (wished)"
		}
		told := wrap(p.Told, width-39)
		for k := range told {
			left, kind := "", ""
			if k == 0 {
				left, kind = clip(name, 21), clip(p.CaseName, 13)
			}
			shape := " "
			if k == 0 {
				shape = marks[rule.Answer(p.Answer)]
			}
			fmt.Fprintln(w, strings.TrimRight(shape+" "+pad(left, 22)+pad(kind, 14)+told[k], " "))
		}
	}
}

func printOthers(w io.Writer, s *mounting.Specification) {
	if len(s.Others) == 0 {
		return
	}
	fmt.Fprintln(w, "\nWhat else was possible")
	for i := range s.Others {
		o := &s.Others[i]
		text := o.Stack + ", at " + figure(o.At) + " mm, " + figure(o.Mass) + " kg"
		if o.Limit != "" {
			text += "; " + o.Limit
		}
		if len(o.Why) > 0 {
			text += "; " + strings.Join(o.Why, "; ")
		}
		paragraph(w, "  "+marks[rule.Answer(o.Answer)]+" ", "    ", text)
	}
}

// printRelease tells what became of the sheet.
func printRelease(w io.Writer, s *mounting.Specification, refused error, pdf string, wrote bool) {
	w = spaced{w}
	fmt.Fprintln(w)
	switch {
	case refused != nil:
		text := strings.TrimPrefix(refused.Error(), "not approved: ")
		paragraph(w, "✕ ", "  ", "Not approved: "+text+".")
	case s.Release.State == mounting.Approved:
		paragraph(w, "● ", "  ", "Approved for fitting by "+s.Release.By+", "+s.Release.On+".")
	case s.Holds() == nil:
		paragraph(w, "▲ ", "  ", "A draft: nothing stands against its approval (--approved-by NAME).")
	default:
		paragraph(w, "▲ ", "  ", "A draft: it cannot be approved while findings are open.")
	}
	switch {
	case wrote:
		paragraph(w, "  ", "  ", "Written: "+pdf)
	case pdf != "":
		paragraph(w, "  ", "  ", pdf+" was not written, because findings are open; --draft writes it, marked as a draft on every page.")
	}
}

// printNone tells that no stack answers the brief, and what came nearest.
func printNone(w io.Writer, r *mounting.Request, a *none) {
	w = spaced{w}
	fmt.Fprintf(w, "Mounting for %s, brief %s\n\n", r.Tractor.Title(), r.Brief.ID)
	answer := rule.Answer(a.Answer)
	text := "No stack of the catalogue answers the brief."
	if answer == rule.CannotTell {
		text = "Cannot tell: what is missing decides whether a stack answers the brief."
	}
	paragraph(w, marks[answer]+" ", "  ", text)
	if len(a.Nearest) > 0 {
		fmt.Fprintln(w, "\nWhat came nearest")
		for _, m := range a.Nearest {
			paragraph(w, "  · ", "    ", m.Text)
		}
	}
	printList(w, "Missing", a.Missing)
	fmt.Fprintln(w, "\nWhat the coupling has to be")
	for i := range a.Wants {
		q := &a.Wants[i]
		paragraph(w, "  · ", "    ", q.Name+": "+q.Value+". "+q.Reason)
	}
}
