package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
)

type matrixCmd struct {
	File string `arg:"" help:"Fleet file (TOML)."`
	Law  string `help:"Rulebook. Default: the file's law." placeholder:"NAME"`
	JSON bool   `name:"json" help:"Print the matrix as JSON." xor:"form"`
	CSV  bool   `name:"csv" help:"Print the matrix as CSV." xor:"form"`
	XLSX string `name:"xlsx" help:"Write the matrix as a workbook." placeholder:"OUT" xor:"form"`
}

// Run prints the matrix. What a cell says never changes the exit code.
func (c *matrixCmd) Run(p *program) error {
	f, err := exchange.ReadFleet(c.File)
	if err != nil {
		return err
	}
	book, err := openLaw(f, c.File, c.Law)
	if err != nil {
		return err
	}
	cells, err := assess.Matrix(&f.Fleet, book, today())
	if err != nil {
		return err
	}
	answer := exchange.NewMatrixAnswer(book, cells)
	switch {
	case c.JSON:
		return p.printJSON(answer)
	case c.CSV:
		return answer.WriteCSV(p.out)
	case c.XLSX != "":
		data, err := answer.Workbook()
		if err != nil {
			return err
		}
		return os.WriteFile(c.XLSX, data, 0o644)
	}
	printMatrix(p.out, f, book, cells)
	return nil
}

// printMatrix prints a grid of shapes, then a line for each pair that does not
// simply fit. Semi-trailers are numbered so that the grid stays narrow.
func printMatrix(w io.Writer, f *exchange.FleetFile, book *rule.Book, cells []assess.Cell) {
	w = spaced{w}
	fmt.Fprintf(w, "%d tractors × %d semi-trailers, all load cases\n", len(f.Tractors), len(f.Trailers))
	paragraph(w, "", "", book.Title+", "+book.TextDateText())
	fmt.Fprintln(w, "● fits   ▲ fits if set so   ✕ does not fit   ○ cannot tell")
	fmt.Fprintln(w)
	const name, per = 24, 18 // columns of a block, so that 80 characters hold it
	n := len(f.Trailers)
	for from := 0; from < n; from += per {
		to := min(from+per, n)
		var head strings.Builder
		head.WriteString(pad("", name))
		for s := from; s < to; s++ {
			head.WriteString(padLeft(fmt.Sprint(s+1), 3))
		}
		fmt.Fprintln(w, head.String())
		for t := range f.Tractors {
			var row strings.Builder
			row.WriteString(pad(clip(f.Tractors[t].ID, name-1), name))
			for s := from; s < to; s++ {
				row.WriteString("  " + marks[cells[t*n+s].Result.Answer])
			}
			fmt.Fprintln(w, row.String())
		}
		fmt.Fprintln(w)
	}
	for s := range f.Trailers {
		fmt.Fprintf(w, "%s  %s\n", padLeft(fmt.Sprint(s+1), 3), f.Trailers[s].ID)
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, pad("  tractor, semi-trailer", 40)+"what decides")
	fmt.Fprintln(w, strings.Repeat("─", 79))
	for i := range cells {
		c := &cells[i]
		text := ""
		if g := c.Governs; g != nil {
			text = assess.Deciding(g, unit.Metric)
		}
		if len(c.Changes) > 0 {
			text = strings.Join(c.Changes, "; ")
		}
		pair := wrap(c.Tractor.ID+", "+c.Trailer.ID, 37)
		why := wrap(text, 39)
		for k := range max(len(pair), len(why)) {
			left, right, shape := "", "", " "
			if k < len(pair) {
				left = pair[k]
			}
			if k < len(why) {
				right = why[k]
			}
			if k == 0 {
				shape = marks[c.Result.Answer]
			}
			fmt.Fprintln(w, strings.TrimRight(shape+" "+pad(left, 38)+right, " "))
		}
	}
}
