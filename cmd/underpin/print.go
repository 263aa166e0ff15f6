package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"underpin/assess"
	"underpin/rule"
	"underpin/unit"
)

// width is the terminal width that everything printed fits in.
const width = 80

// marks are the shapes of the answers; a word always stands beside them.
var marks = map[rule.Answer]string{rule.Fits: "●", rule.FitsIf: "▲", rule.DoesNotFit: "✕", rule.CannotTell: "○"}

// unproven is the shape of what holds against a figure that certifies nothing.
const unproven = "◇"

// mark is the shape of one finding: what fails without deciding is a caution.
func mark(f *assess.Finding) string {
	if f.Answer == rule.DoesNotFit && !f.Binding {
		return "▲"
	}
	if f.Unproven() {
		return unproven
	}
	return marks[f.Answer]
}

// wrap breaks text into lines of at most n characters.
func wrap(text string, n int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ' ' || r == '\n' }) {
		for r := []rune(word); len(r) > n; r = []rune(word) { // longer than a line by itself
			if line != "" {
				lines = append(lines, line)
			}
			lines, line, word = append(lines, string(r[:n])), "", string(r[n:])
		}
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= n:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	return append(lines, line)
}

// A spaced writes no-break spaces as plain ones: lines are broken already, and
// what is printed is searched and copied.
type spaced struct{ io.Writer }

func (w spaced) Write(b []byte) (int, error) {
	if _, err := w.Writer.Write(bytes.ReplaceAll(b, []byte("\u00a0"), []byte(" "))); err != nil {
		return 0, err
	}
	return len(b), nil
}

func pad(s string, n int) string {
	if k := n - utf8.RuneCountInString(s); k > 0 {
		return s + strings.Repeat(" ", k)
	}
	return s
}

func padLeft(s string, n int) string {
	if k := n - utf8.RuneCountInString(s); k > 0 {
		return strings.Repeat(" ", k) + s
	}
	return s
}

// paragraph prints wrapped text, the following lines indented.
func paragraph(w io.Writer, first, rest, text string) {
	for i, line := range wrap(text, width-utf8.RuneCountInString(rest)) {
		if i == 0 {
			fmt.Fprintln(w, first+line)
		} else {
			fmt.Fprintln(w, rest+line)
		}
	}
}

func printPair(w io.Writer, p *assess.Pairing, r *assess.Result, all bool, system unit.System) {
	w = spaced{w}
	paragraph(w, "", "", p.Tractor.Title()+" with "+p.Trailer.Title())
	paragraph(w, "", "", p.Law.Title+", "+p.Law.TextDateText())
	fmt.Fprintln(w)
	told := p.Tell(r, system)
	paragraph(w, marks[r.Answer]+" ", "  ", told.Word+" "+told.Lead)
	for _, a := range told.Advice {
		paragraph(w, "  ", "  ", a)
	}
	for _, l := range told.Loads {
		paragraph(w, "  · ", "    ", l)
	}
	fmt.Fprintln(w)
	printSetting(w, p, r, system)
	printLoads(w, r, system)
	printFindings(w, r, all, system)
	printList(w, "Missing", r.Missing)
	printList(w, "Cautions", r.Cautions)
	printList(w, "Taken for granted", r.Assumed)
	fmt.Fprintln(w)
	paragraph(w, "", "", "Calculation is no proof of legality: verify on an axle weighbridge. The makers' instructions and the local law have the last word.")
}

func printSetting(w io.Writer, p *assess.Pairing, r *assess.Result, system unit.System) {
	long := system.In(unit.MM)
	if math.IsNaN(float64(r.Setting.Lead)) {
		fmt.Fprintln(w, "Setting   the coupling's position is not known")
		fmt.Fprintln(w)
		return
	}
	how := "to be set"
	if r.AsSet {
		how = "as set"
	}
	paragraph(w, "Setting   ", "          ", fmt.Sprintf("fifth wheel %s, %s behind the front axle, %s",
		assess.Ahead(r.Setting.Lead, r.LeadDatum, system), unit.Format(float64(r.Setting.At), long, assess.Places(long)), how))
	if n := len(r.Setting.TractorLifted) + len(r.Setting.TrailerLifted); n > 0 {
		fmt.Fprintf(w, "          lifted: tractor axles %v, semi-trailer axles %v\n", r.Setting.TractorLifted, r.Setting.TrailerLifted)
	}
	if r.Setting.Level != "" {
		fmt.Fprintf(w, "          coupling level: %s\n", r.Setting.Level)
	}
	for i, aim := range assess.Aims {
		if lead, ok := r.Best[aim.Aim]; ok {
			first := "          "
			if i == 0 {
				first = "Best for  "
			}
			paragraph(w, first, "          ", fmt.Sprintf("%s: %s", aim.Text, unit.Format(float64(lead), long, assess.Places(long))))
		}
	}
	fmt.Fprintln(w)
}

// printLoads prints what stands on each group of axles, and the limit on it.
func printLoads(w io.Writer, r *assess.Result, system unit.System) {
	u := system.In(unit.KG)
	kg := func(v float64) string { return unit.Digits(u.From(v), 0) }
	head := []string{"load, " + u.Symbol, "kingpin", "front", "rear", "bogie", "gross"}
	widths := []int{25, 9, 11, 11, 11, 11}
	row := func(cells []string) {
		var b strings.Builder
		for i, c := range cells {
			if i == 0 {
				b.WriteString(pad(clip(c, widths[0]), widths[0]))
				continue
			}
			b.WriteString(padLeft(c, widths[i]))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
	row(head)
	fmt.Fprintln(w, strings.Repeat("─", 78))
	for _, l := range r.Loads {
		cells := []string{l.CaseName, kg(l.Imposed)}
		limits := []string{"  lowest limit", ""}
		for _, g := range l.Groups {
			cells = append(cells, kg(g.KG))
			limits = append(limits, unit.Digits(unit.Floor(u.From(g.Limit), 0), 0))
		}
		row(append(cells, kg(l.Gross)))
		row(limits)
	}
	fmt.Fprintln(w)
}

func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

// printFindings prints the findings, tightest first. The short list is what
// fails or cannot be told and, up to a dozen in all, what holds and changes with
// the load or the position.
func printFindings(w io.Writer, r *assess.Result, all bool, system unit.System) {
	fmt.Fprintln(w, pad("  finding, tightest first", 46)+padLeft("value", 10)+padLeft("limit", 10)+padLeft("to spare", 13))
	fmt.Fprintln(w, strings.Repeat("─", 79))
	printed, left, doubt := 0, 0, false
	for i := range r.Findings {
		f := &r.Findings[i]
		if !all && f.Answer == rule.Fits && (printed >= 12 || !f.Varies) {
			left++
			continue
		}
		printFinding(w, f, all, system)
		printed++
		doubt = doubt || f.Unproven()
	}
	if doubt {
		paragraph(w, unproven+" ", "  ", "holds, but against common practice or a figure from memory: that certifies nothing.")
	}
	if left > 0 {
		fmt.Fprintf(w, "  %d more findings hold; --all shows each with its working and source.\n", left)
	}
}

func printFinding(w io.Writer, f *assess.Finding, all bool, system unit.System) {
	title := f.Title
	if f.CaseName != "" {
		title += ", " + f.CaseName
	}
	value, limit, spare := shown(f, system)
	printRow(w, mark(f), title, 44, padLeft(value, 10)+padLeft(limit, 10)+padLeft(spare, 13))
	if !all {
		return
	}
	if len(f.Missing) > 0 {
		paragraph(w, "    missing  ", "             ", strings.Join(f.Missing, "; "))
	}
	printGrounds(w, f.Working, f.Source, string(f.Evidence), f.Binding)
}

// printRow prints a row of a table: a shape, a title in a column as wide as said,
// and beside its first line the other cells.
func printRow(w io.Writer, shape, title string, wide int, cells string) {
	for i, line := range wrap(title, wide-1) {
		if i == 0 {
			fmt.Fprintln(w, shape+" "+pad(line, wide)+cells)
		} else {
			fmt.Fprintln(w, "  "+line)
		}
	}
}

// printGrounds prints what a finding rests on.
func printGrounds(w io.Writer, working, source, evidence string, binding bool) {
	if working != "" {
		paragraph(w, "    working  ", "             ", working)
	}
	binds := ""
	if !binding {
		binds = "; warns only"
	}
	paragraph(w, "    source   ", "             ", fmt.Sprintf("%s [%s%s]", source, evidence, binds))
}

// shown returns value, limit and margin as they are printed.
func shown(f *assess.Finding, system unit.System) (value, limit, spare string) {
	value, limit, spare, symbol := assess.Shown(f, system)
	if spare != unit.Unknown {
		spare += " " + symbol
	}
	return value, limit, spare
}

func printList(w io.Writer, title string, items []string) {
	if len(items) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for _, s := range items {
		paragraph(w, "  · ", "    ", s)
	}
}
