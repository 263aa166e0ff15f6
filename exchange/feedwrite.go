package exchange

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"iter"
	"reflect"
	"strconv"

	"github.com/xuri/excelize/v2"

	"underpin/unit"
)

// readingTable is the table that readings are.
func readingTable() *table {
	for _, t := range tablesOf(reflect.TypeFor[struct {
		Readings []Reading `toml:"reading" doc:"Odometers, hub meters and brake controllers as they were read."`
	}]()) {
		if t.name == "reading" {
			return t
		}
	}
	panic("exchange: readings are no table")
}

// readingHeads are the heads of the columns of readings, always in these units.
func readingHeads(t *table) []head {
	heads := make([]head, len(t.cols))
	for i, c := range t.cols {
		heads[i] = head{c.name, c}
		if u := c.unitOf(nil); u != unit.One {
			heads[i].text += ", " + u.Symbol
		}
	}
	return heads
}

func readingValues(t *table, r *Reading, into []value) []value {
	into = into[:0]
	v := reflect.ValueOf(r).Elem()
	for _, c := range t.cols {
		in, _ := reach(v, c.at)
		into = append(into, c.write(in, c.unitOf(nil)))
	}
	return into
}

// WriteReadingsCSV writes readings as CSV, which ParseFeed reads back unchanged.
func WriteReadingsCSV(w io.Writer, all iter.Seq2[Reading, error]) error {
	t := readingTable()
	out := csv.NewWriter(w)
	row := make([]string, len(t.cols))
	for i, h := range readingHeads(t) {
		row[i] = h.text
	}
	if err := out.Write(row); err != nil {
		return err
	}
	var values []value
	for r, err := range all {
		if err != nil {
			return err
		}
		values = readingValues(t, &r, values)
		for i, v := range values {
			row[i] = v.String()
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// WriteReadingsWorkbook writes readings as a workbook of one sheet. More than a
// sheet has rows are an error.
func WriteReadingsWorkbook(w io.Writer, all iter.Seq2[Reading, error]) error {
	t := readingTable()
	book, err := newBookWriter()
	if err != nil {
		return err
	}
	defer book.Close()
	if _, err := book.NewSheet(t.name); err != nil {
		return err
	}
	heads := readingHeads(t)
	cells := make([]any, len(heads))
	for i, h := range heads {
		if err := book.column(t.name, i+1, t, h); err != nil {
			return err
		}
		cells[i] = excelize.Cell{StyleID: book.bold, Value: h.text}
	}
	out, err := book.NewStreamWriter(t.name)
	if err != nil {
		return err
	}
	if err := out.SetRow("A1", cells); err != nil {
		return err
	}
	n := 1
	var values []value
	for r, err := range all {
		if err != nil {
			return err
		}
		if n++; n > excelize.TotalRows {
			return fmt.Errorf("more than %d readings, which no sheet holds: write them as CSV", excelize.TotalRows-1)
		}
		values = readingValues(t, &r, values)
		for i, v := range values {
			switch {
			case v.number != "":
				x, err := strconv.ParseFloat(v.number, 64)
				if err != nil {
					return err
				}
				cells[i] = x
			case v.text != "":
				cells[i] = v.text
			default:
				cells[i] = nil
			}
		}
		if err := out.SetRow(fmt.Sprintf("A%d", n), cells); err != nil {
			return err
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	return book.Write(w)
}

// WriteReadingsJSON writes readings as JSON of our own form.
func WriteReadingsJSON(w io.Writer, all iter.Seq2[Reading, error]) error {
	out := bufio.NewWriter(w)
	out.WriteString(`{"reading": [`) // errors stay in the writer until Flush
	first := true
	for r, err := range all {
		if err != nil {
			return err
		}
		if !first {
			out.WriteByte(',')
		}
		first = false
		j := jsonWriter{}
		j.write(reflect.ValueOf(&r).Elem(), "reading")
		if j.err != nil {
			return j.err
		}
		out.WriteString("\n  ")
		out.Write(bytes.ReplaceAll(j.Bytes(), []byte{'\n'}, nil))
	}
	out.WriteString("\n]}\n")
	return out.Flush()
}
