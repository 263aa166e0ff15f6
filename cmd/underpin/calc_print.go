package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"underpin/formula"
	"underpin/unit"
)

// printCalculations lists every calculation by subject, one line each.
func printCalculations(w io.Writer) {
	longest := 0
	for _, c := range formula.All() {
		longest = max(longest, len(c.Name))
	}
	for i, g := range formula.Groups() {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, g)
		for _, c := range formula.All() {
			if c.Group == g {
				fmt.Fprintf(w, "  %s  %s\n", pad(c.Name, longest), c.Title)
			}
		}
	}
	fmt.Fprintln(w)
	paragraph(w, "", "", "underpin calc NAME prints the data sheet of one, with an example to copy; underpin calc NAME key=value ... runs it.")
}

const gutter = "            "

// labelled prints text with its label in the margin; what does not fit into a
// line goes on hang columns further in.
func labelled(w io.Writer, label, text string, hang int) {
	first := pad(label, len(gutter))
	if hang > 0 && widest(text) > width-len(gutter) {
		// Relations that are lined up want the whole width.
		fmt.Fprintln(w, label)
		for line := range strings.SplitSeq(text, "\n") {
			if utf8.RuneCountInString(line) <= width-2 {
				fmt.Fprintln(w, "  "+line)
			} else {
				paragraph(w, "  ", "    ", line)
			}
		}
		return
	}
	for line := range strings.SplitSeq(text, "\n") {
		if utf8.RuneCountInString(line) <= width-len(gutter) {
			fmt.Fprintln(w, first+line) // as it is: relations are lined up
		} else {
			paragraph(w, first, gutter+strings.Repeat(" ", hang), line)
		}
		first = gutter
	}
}

func widest(text string) int {
	most := 0
	for line := range strings.SplitSeq(text, "\n") {
		most = max(most, utf8.RuneCountInString(line))
	}
	return most
}

// printResult prints the outputs, and then the reasons.
func printResult(w io.Writer, c *formula.Calculation, r *formula.Result) {
	fmt.Fprintln(w, c.Title)
	fmt.Fprintln(w)
	longest, broadest := 0, 0
	cells := make([]string, len(r.Outputs))
	for i, v := range r.Outputs {
		longest = max(longest, len(v.Name))
		if _, isNumber := v.V.(float64); isNumber {
			cells[i] = shownValue(v, v.V.(float64))
			broadest = max(broadest, utf8.RuneCountInString(cells[i]))
		}
	}
	for i, v := range r.Outputs {
		name := "  " + pad(v.Name, longest) + "  "
		o, _ := c.Output(v.Name)
		switch x := v.V.(type) {
		case float64:
			of := v.Unit
			if o.Bare != "" {
				of = o.Bare
			}
			fmt.Fprintln(w, strings.TrimRight(name+padLeft(cells[i], broadest)+" "+of, " "))
		case bool:
			fmt.Fprintf(w, "%s%t\n", name, x)
		case nil:
			paragraph(w, name+unit.Unknown+" ", strings.Repeat(" ", utf8.RuneCountInString(name)+2), "("+o.Null+")")
		default:
			text := fmt.Sprint(x)
			if text == "" {
				text = "none"
			}
			paragraph(w, name, strings.Repeat(" ", utf8.RuneCountInString(name)), text)
		}
	}
	fmt.Fprintln(w)
	for _, n := range r.Notes {
		labelled(w, "Note", n, 0)
	}
	labelled(w, "Working", r.Working, 2)
	labelled(w, "Formula", c.Formula, 2)
	labelled(w, "Valid for", c.Validity, 0)
	labelled(w, "Source", r.Source, 0)
	labelled(w, "Evidence", string(r.Evidence), 0)
}

func shownValue(v formula.Value, x float64) string {
	s := unit.Digits(x, places(v))
	if v.Unit == "" && strings.Contains(s, ".") { // a count is no measurement
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// places is how many decimals a value is worth showing: a tenth of a kilogram,
// a tenth of a millimetre. --json does not round.
func places(v formula.Value) int {
	switch v.Unit {
	case "kg":
		return 1
	case "lb", "km":
		return 0
	case "m", "":
		return 4
	case "mm", "deg", "kN":
		return 3
	}
	return 2
}

// printSheet prints the data sheet of a calculation.
func printSheet(w io.Writer, c *formula.Calculation) {
	fmt.Fprintf(w, "%s: %s\n\nKeys\n", c.Name, c.Title)
	longest := 0
	for i := range c.Inputs {
		longest = max(longest, len(c.Inputs[i].Name))
	}
	for _, o := range c.Outputs {
		longest = max(longest, len(outputName(o)))
	}
	margin := strings.Repeat(" ", longest+4)
	for i := range c.Inputs {
		k := &c.Inputs[i]
		paragraph(w, "  "+pad(k.Name, longest)+"  ", margin, keyText(k))
	}
	fmt.Fprintln(w, "\nAnswers")
	for _, o := range c.Outputs {
		paragraph(w, "  "+pad(outputName(o), longest)+"  ", margin, outputText(o))
	}
	fmt.Fprintln(w)
	labelled(w, "Formula", c.Formula, 2)
	labelled(w, "Valid for", c.Validity, 0)
	labelled(w, "Source", c.Source, 0)
	labelled(w, "Evidence", string(c.Evidence), 0)
	fmt.Fprintln(w, "\nExample")
	printExample(w, c)
}

func keyText(k *formula.Key) string {
	s := k.Doc + ": " + k.Expected()
	if k.Bare != "" {
		s += " (" + k.Bare + ")"
	}
	switch {
	case k.Default != "":
		s += "; left out, " + k.Default + " is assumed: " + k.Why
	case k.Optional:
		s += "; may be left out"
	}
	if k.Repeat {
		s += "; may be given several times, the order counts"
	}
	return s
}

func outputName(o formula.Output) string {
	if o.Each {
		return o.Name + "1 " + o.Name + "2 ..."
	}
	return o.Name
}

func outputText(o formula.Output) string {
	s := o.Doc
	switch {
	case o.Bare != "":
		s += " (" + o.Bare + ")"
	case o.Unit != "":
		s += ", in " + o.Unit
	}
	if o.Null != "" {
		s += "; null: " + o.Null
	}
	return s
}

// printExample prints a command that can be copied into a shell.
func printExample(w io.Writer, c *formula.Calculation) {
	line := "  underpin calc " + c.Name
	for _, word := range c.Example() {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width-2 {
			fmt.Fprintln(w, line+` \`)
			line = "   "
		}
		line += " " + word
	}
	fmt.Fprintln(w, line)
}
