package main

import (
	"fmt"
	"time"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
)

type pairCmd struct {
	File    string   `arg:"" help:"Fleet file (TOML)."`
	Tractor string   `arg:"" help:"Id of the tractor."`
	Trailer string   `arg:"" help:"Id of the semi-trailer."`
	Law     string   `help:"Rulebook: eu de fr uk us us-ca au nz, or your own. Default: the file's law." placeholder:"NAME"`
	Load    []string `help:"Load case: empty, laden or a load of the file. Default: every one." placeholder:"NAME" sep:","`
	Aim     string   `help:"What a slide position is chosen by: margin, steering-load, shortest or smallest-gap." default:"margin" enum:"margin,steering-load,shortest,smallest-gap"`
	US      bool     `name:"us" help:"Print in US customary units."`
	All     bool     `help:"Print every finding with its working and source."`
	JSON    bool     `name:"json" help:"Print the answer as JSON."`
}

func (c *pairCmd) Run(p *program) error {
	f, err := exchange.ReadFleet(c.File)
	if err != nil {
		return err
	}
	pairing, err := compile(f, c.File, c.Tractor, c.Trailer, c.Law, c.Load)
	if err != nil {
		return err
	}
	r := pairing.Assess(assess.Aim(c.Aim))
	p.code = exitOf(r.Answer)
	if c.JSON {
		return p.printJSON(exchange.NewPairAnswer(pairing, r))
	}
	system := unit.Metric
	if c.US {
		system = unit.USCustomary
	}
	printPair(p.out, pairing, r, c.All, system)
	return nil
}

func exitOf(a rule.Answer) int {
	switch a {
	case rule.Fits:
		return exitFits
	case rule.FitsIf:
		return exitFitsIf
	case rule.DoesNotFit:
		return exitNo
	}
	return exitCannotTell
}

// compile finds the vehicles, the law and the loads by their names.
func compile(f *exchange.FleetFile, file, tractor, trailer, law string, loads []string) (*assess.Pairing, error) {
	t, ok := f.Tractor(tractor)
	if !ok {
		return nil, &assess.UnknownNameError{Kind: "tractor", Name: tractor, Known: ids(f, true)}
	}
	s, ok := f.Trailer(trailer)
	if !ok {
		return nil, &assess.UnknownNameError{Kind: "semi-trailer", Name: trailer, Known: ids(f, false)}
	}
	book, err := openLaw(f, file, law)
	if err != nil {
		return nil, err
	}
	cases, err := assess.Cases(&f.Fleet, s, loads...)
	if err != nil {
		return nil, err
	}
	return assess.Compile(assess.Combination{Tractor: t, Trailer: s, Cases: cases, Law: book, Day: today()}), nil
}

// today is the day that decides between rules of different dates, unless the
// file's facts declare another.
func today() string { return time.Now().Format(time.DateOnly) }

func openLaw(f *exchange.FleetFile, file, law string) (*rule.Book, error) {
	if law == "" {
		law = f.Law
	}
	if law == "" {
		return nil, &argError{"--law", "no law, here or in " + file, fmt.Sprintf("one of %v", rule.Names())}
	}
	if law == f.Law {
		return f.OpenLaw()
	}
	return exchange.OpenLaw(law, file)
}

func ids(f *exchange.FleetFile, tractors bool) []string {
	var out []string
	if tractors {
		for i := range f.Tractors {
			out = append(out, f.Tractors[i].ID)
		}
		return out
	}
	for i := range f.Trailers {
		out = append(out, f.Trailers[i].ID)
	}
	return out
}
