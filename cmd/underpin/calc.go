package main

import (
	"errors"
	"fmt"
	"strings"

	"underpin/formula"
)

type calcCmd struct {
	Name string `arg:"" optional:"" help:"Calculation. Left out: lists them all."`
	// The words are taken as they come, so that --json may stand among them.
	Words []string `arg:"" optional:"" passthrough:"partial" name:"key=value" help:"Inputs with their units: tractor-gross=18t lead=600mm grade=10%. Left out: prints the data sheet."`
	JSON  bool     `name:"json" help:"Print the answer, or the list, as JSON."`
}

// Run lists the calculations, or runs one. It never exits with 1: a calculation
// is no question of yes or no.
func (c *calcCmd) Run(p *program) error {
	if c.Name == "" {
		if c.JSON {
			return p.printJSON(formula.List())
		}
		printCalculations(p.out)
		return nil
	}
	words, sheet := c.flags()
	calc, err := formula.Find(c.Name)
	var unknown *formula.UnknownError
	if errors.As(err, &unknown) {
		return &argError{"calc", fmt.Sprintf("%q", unknown.Name), unknown.Expected()}
	}
	if err != nil {
		return err
	}
	if sheet {
		printSheet(p.out, calc)
		return nil
	}
	args, result, err := calc.Answer(words)
	var invalid formula.Invalid
	switch {
	case errors.As(err, &invalid):
		if len(words) == 0 && !c.JSON {
			printSheet(p.err, calc)
			fmt.Fprintln(p.err)
			paragraph(p.err, "", "  ", "underpin: calc "+calc.Name+": found no "+strings.Join(invalid.Missing(), ", no "))
			p.code = exitBadInput
			return nil
		}
		return invalid
	case err != nil:
		return err
	case c.JSON:
		return p.printJSON(formula.Answer{Args: args, Result: result})
	}
	printResult(p.out, calc, result)
	return nil
}

// flags takes the flags out of the words.
func (c *calcCmd) flags() (words []string, sheet bool) {
	for _, w := range c.Words {
		switch w {
		case "--json", "--json=true":
			c.JSON = true
		case "--help", "-h":
			sheet = true
		default:
			words = append(words, w)
		}
	}
	return words, sheet
}
