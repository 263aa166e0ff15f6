package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"underpin/exchange"
	"underpin/vehicle"
)

type exportCmd struct {
	File string `arg:"" optional:"" help:"Fleet: TOML, workbook, JSON or a folder of CSV files. Left out: the register of --data or --database."`
	To   string `help:"Where to: OUT.xlsx, OUT.json, OUT.toml, or FOLDER/ for CSV. Of a register also OUT.csv (readings alone) and OUT.zip (everything, byte for byte)." placeholder:"OUT" required:""`
	where
	NoReadings bool `help:"Leave the readings of a register out of its tables."`
	JSON       bool `name:"json" help:"Print what was written as JSON."`
}

// written tells what an export wrote.
type written struct {
	File     string `json:"file"`
	Tractors int    `json:"tractors"`
	Trailers int    `json:"semi_trailers"`
	Loads    int    `json:"loads"`
}

// Run writes the fleet in another form. What was derived from weighbridge tickets
// is left out, so that it is never taken for given.
func (c *exportCmd) Run(p *program) error {
	if c.File == "" {
		if !c.given() {
			return &usageError{"export needs a fleet, or --data DIR or --database URL"}
		}
		return c.fromRegister(p)
	}
	f, err := exchange.OpenFleet(c.File)
	if err != nil {
		return err
	}
	if err := exchange.SaveFleet(c.To, f); err != nil {
		return err
	}
	w := written{c.To, len(f.Tractors), len(f.Trailers), len(f.Loads)}
	if c.JSON {
		return p.printJSON(w)
	}
	fmt.Fprintf(p.out, "%s holds %d tractors, %d semi-trailers, %d loads.\n", w.File, w.Tractors, w.Trailers, w.Loads)
	return nil
}

type importCmd struct {
	In string `arg:"" help:"Fleet or tables of a register: workbook (.xlsx), JSON, TOML or a folder of CSV files. Into a register also a delivery of readings, and a whole export (.zip)."`
	To string `help:"Fleet file that will hold what IN says." placeholder:"FLEET.toml"`
	where
	DryRun bool `help:"Print what would change and what is wrong, and write nothing."`
	JSON   bool `name:"json" help:"Print the changes as JSON."`
	intoRegister
}

// imported tells what an import changed or would change.
type imported struct {
	File     string              `json:"file"`
	Written  bool                `json:"written"`
	Kept     string              `json:"kept,omitempty"` // where the file stands as it was
	Changes  []exchange.Change   `json:"changes"`
	Problems []*exchange.Problem `json:"problems"`
}

// Run makes the fleet file say what IN says. Nothing is written unless all of IN
// is good, and the file as it was stays beside it.
func (c *importCmd) Run(p *program) error {
	if c.To == "" {
		if !c.given() {
			return &usageError{"import needs --data DIR or --database URL, or --to FLEET.toml"}
		}
		return c.enterInto(p)
	}
	if !strings.EqualFold(filepath.Ext(c.To), ".toml") {
		return &argError{"--to", fmt.Sprintf("%q", c.To), "a fleet file, FLEET.toml"}
	}
	was, there := new(vehicle.Fleet), true
	before, err := os.ReadFile(c.To)
	switch {
	case errors.Is(err, os.ErrNotExist):
		there = false
	case err == nil:
		was, err = exchange.OpenFleet(c.To)
		if err != nil {
			return err
		}
	default:
		return err
	}
	now, bad := exchange.OpenFleet(c.In)
	var problems exchange.Problems
	if bad != nil && !errors.As(bad, &problems) {
		return bad
	}
	out := imported{File: c.To, Changes: exchange.FleetChanges(was, now), Problems: problems}
	if bad != nil {
		// What has a problem was left out, and is not gone for that.
		out.Changes = slices.DeleteFunc(out.Changes, func(ch exchange.Change) bool { return ch.What == "removed" })
		if len(exchange.FleetChanges(new(vehicle.Fleet), now)) == 0 { // nothing could be read
			out.Changes = []exchange.Change{}
		}
	} else if !c.DryRun && (len(out.Changes) > 0 || !there) {
		if err := c.write(now, before, there, &out); err != nil {
			return err
		}
	}
	switch {
	case c.JSON && bad != nil:
		p.code = exitBadInput
		return p.printJSON(struct {
			Error failure `json:"error"`
			imported
		}{problemFailure(problems), out})
	case c.JSON:
		out.Problems = []*exchange.Problem{}
		return p.printJSON(out)
	case bad == nil || c.DryRun:
		out.print(p.out, there)
	}
	return bad
}

// problemFailure is how the first of several problems is told to programs.
func problemFailure(p exchange.Problems) failure {
	return failure{Exit: exitBadInput, Where: p[0].Where(), Found: p[0].Found, Expected: p[0].Expected, Missing: []string{}}
}

// write writes the fleet file, after it has proved that it reads back.
func (c *importCmd) write(f *vehicle.Fleet, before []byte, there bool, out *imported) error {
	data, err := exchange.WriteFleet(f)
	if err != nil {
		return err
	}
	if _, err := exchange.ParseFleet(c.To, data); err != nil {
		return fmt.Errorf("what would be written cannot be read: %w", err)
	}
	files := map[string][]byte{c.To: data}
	if there {
		out.Kept = freeName(c.To + ".old")
		files[out.Kept] = before
	}
	out.Written = true
	return exchange.WriteWhole(files)
}

// freeName adds a number to a name that is taken.
func freeName(name string) string {
	free := name
	for i := 2; ; i++ {
		if _, err := os.Lstat(free); errors.Is(err, os.ErrNotExist) {
			return free
		}
		free = fmt.Sprintf("%s-%d", name, i)
	}
}

// signs are the shapes of the changes; a word always stands beside them.
var signs = map[string]string{"added": "+", "removed": "−", "changed": "~", "moved": "↕"}

func (out *imported) print(w io.Writer, there bool) {
	switch {
	case len(out.Problems) > 0 && len(out.Changes) == 0:
	case len(out.Changes) == 0 && there:
		fmt.Fprintf(w, "%s says the same already.\n", out.File)
	case out.Written:
		fmt.Fprintf(w, "Changed in %s\n\n", out.File)
	default:
		fmt.Fprintf(w, "Would change in %s\n\n", out.File)
	}
	for _, ch := range out.Changes {
		fmt.Fprintf(w, "%s %s%s%s\n", signs[ch.What], pad(ch.What, 9), pad(ch.Kind, 14), ch.ID)
		if ch.What != "changed" {
			continue
		}
		for _, f := range ch.Fields {
			paragraph(w, "    ", "      ", fmt.Sprintf("%s: %s → %s", f.Field, orUnknown(f.Was), orUnknown(f.Now)))
		}
	}
	if len(out.Changes) > 0 {
		fmt.Fprintln(w)
		fmt.Fprintln(w, count(out.Changes))
	}
	if out.Kept != "" {
		fmt.Fprintf(w, "The file as it was, with its comments, is %s.\n", out.Kept)
	}
	if len(out.Problems) > 0 {
		paragraph(w, "", "", fmt.Sprintf("Nothing is written until what is wrong is mended: problems told beside this, %d. What has one is not among the changes, nor is what would be removed.", len(out.Problems)))
	}
}

func orUnknown(text string) string {
	if text == "" {
		return "unknown"
	}
	return text
}

// count sums the changes up in words.
func count(changes []exchange.Change) string {
	n := map[string]int{}
	for _, c := range changes {
		n[c.What]++
	}
	var parts []string
	for _, what := range []string{"added", "changed", "moved", "removed"} {
		if n[what] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[what], what))
		}
	}
	return strings.Join(parts, ", ") + "."
}
