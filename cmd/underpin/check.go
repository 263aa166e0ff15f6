package main

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
	"underpin/tomlfile"
)

type checkCmd struct {
	File   string `arg:"" optional:"" help:"Fleet file or rulebook file (TOML)."`
	JSON   bool   `name:"json" help:"Print the findings as JSON."`
	Fields bool   `help:"Print the field list of the fleet file."`
	Schema bool   `help:"Print the JSON Schema of the fleet file."`
}

// checked is what a sound file tells about itself.
type checked struct {
	File     string           `json:"file"`
	Kind     string           `json:"kind"` // fleet or rulebook
	Name     string           `json:"name"`
	Law      string           `json:"law,omitempty"`
	Tractors int              `json:"tractors,omitempty"`
	Trailers int              `json:"semi_trailers,omitempty"`
	Loads    int              `json:"loads,omitempty"`
	Rules    int              `json:"rules,omitempty"`
	Derived  []derivedFigure  `json:"derived"`
	Missing  []vehicleMissing `json:"missing"`
}

type derivedFigure struct {
	Vehicle string `json:"vehicle"`
	Field   string `json:"field"`
	Value   string `json:"value"`
	Working string `json:"working"`
	Check   string `json:"check,omitempty"`
}

type vehicleMissing struct {
	Vehicle string   `json:"vehicle"`
	Fields  []string `json:"fields"`
}

// Run validates the file. A sound file whose vehicles lack data is sound: the
// list tells what to measure.
func (c *checkCmd) Run(p *program) error {
	switch {
	case c.Fields:
		_, err := p.out.Write(exchange.FleetFields())
		return err
	case c.Schema:
		_, err := p.out.Write(exchange.FleetSchema())
		return err
	case c.File == "":
		return &usageError{"check needs a file, or --fields, or --schema"}
	}
	if isRulebook(c.File) {
		return c.rulebook(p)
	}
	f, err := exchange.ReadFleet(c.File)
	if err != nil {
		return err
	}
	out := checked{File: c.File, Kind: "fleet", Name: f.Name, Law: f.Law, Tractors: len(f.Tractors), Trailers: len(f.Trailers), Loads: len(f.Loads),
		Derived: []derivedFigure{}, Missing: []vehicleMissing{}}
	for _, d := range f.Derived {
		out.Derived = append(out.Derived, derivedFigure{d.Vehicle, d.Field, d.Value, d.Working, d.Check})
	}
	law := f.Law
	if law == "" {
		law = "eu"
	} else if _, err := exchange.OpenLaw(law, c.File); err != nil {
		return err
	}
	out.Missing, err = missingOf(f, c.File, law)
	if err != nil {
		return err
	}
	if c.JSON {
		return p.printJSON(out)
	}
	c.print(p, &out)
	return nil
}

// isRulebook tells a rulebook by its [book] table.
func isRulebook(path string) bool {
	data, err := tomlfile.Read(path, "a fleet file or a rulebook")
	if err != nil {
		return false // told when it is read as a fleet file
	}
	for line := range bytes.Lines(data) {
		if bytes.HasPrefix(bytes.TrimSpace(line), []byte("[book]")) {
			return true
		}
	}
	return false
}

func (c *checkCmd) rulebook(p *program) error {
	b, err := exchange.ReadLaw(c.File)
	if err != nil {
		return err
	}
	out := checked{File: c.File, Kind: "rulebook", Name: b.Name, Rules: len(b.Rules), Derived: []derivedFigure{}, Missing: []vehicleMissing{}}
	if c.JSON {
		return p.printJSON(out)
	}
	certify := 0
	for _, r := range b.Rules {
		if r.Evidence.Certifies() {
			certify++
		}
	}
	fmt.Fprintf(p.out, "%s is a sound rulebook: %s, %d rules, %d of which certify.\n", c.File, b.Title, len(b.Rules), certify)
	return nil
}

// missingOf asks for each vehicle, with one partner of the file, what a full
// answer lacks.
func missingOf(f *exchange.FleetFile, file, law string) ([]vehicleMissing, error) {
	out := []vehicleMissing{}
	if len(f.Tractors) == 0 || len(f.Trailers) == 0 {
		return out, nil
	}
	book, err := exchange.OpenLaw(law, file)
	if err != nil {
		return nil, err
	}
	lack := map[string][]string{}
	ask := func(t, s int) error {
		cases, err := assess.Cases(&f.Fleet, &f.Trailers[s], "empty", "laden")
		if err != nil {
			return err
		}
		p := assess.Compile(assess.Combination{Tractor: &f.Tractors[t], Trailer: &f.Trailers[s], Cases: cases, Law: book, Day: today()})
		for _, m := range p.Assess(assess.AimMargin).Missing {
			who, field, _ := strings.Cut(m, ": ")
			if !slices.Contains(lack[who], field) {
				lack[who] = append(lack[who], field)
			}
		}
		return nil
	}
	for t := range f.Tractors {
		if err := ask(t, 0); err != nil {
			return nil, err
		}
	}
	for s := range f.Trailers {
		if err := ask(0, s); err != nil {
			return nil, err
		}
	}
	add := func(who string) {
		if fields := lack[who]; len(fields) > 0 {
			out = append(out, vehicleMissing{who, fields})
		}
	}
	for i := range f.Tractors {
		add(f.Tractors[i].Called())
	}
	for i := range f.Trailers {
		add(f.Trailers[i].Called())
	}
	return out, nil
}

func (c *checkCmd) print(p *program, o *checked) {
	fmt.Fprintf(p.out, "%s is a sound fleet file: %d tractors, %d semi-trailers, %d named loads.\n", c.File, o.Tractors, o.Trailers, o.Loads)
	if o.Law == "" {
		fmt.Fprintf(p.out, "It names no law; one of %s can be given with --law.\n", strings.Join(rule.Names(), " "))
	}
	if len(o.Derived) > 0 {
		fmt.Fprintln(p.out, "\nDerived from the weighbridge tickets")
		for _, d := range o.Derived {
			paragraph(p.out, "  · ", "    ", fmt.Sprintf("%s, %s = %s = %s", d.Vehicle, d.Field, d.Value, d.Working))
			if d.Check != "" {
				paragraph(p.out, "    ▲ ", "      ", d.Check)
			}
		}
	}
	if len(o.Missing) == 0 {
		fmt.Fprintln(p.out, "\nNothing is missing for a full answer.")
		return
	}
	fmt.Fprintln(p.out, "\nMissing for a full answer")
	for _, m := range o.Missing {
		paragraph(p.out, "  ○ ", "      ", m.Vehicle+": "+strings.Join(m.Fields, "; "))
	}
}
