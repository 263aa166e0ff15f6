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
	"underpin/vehicle"
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
	Doubts   []string         `json:"doubts"` // where tickets disagree with what is given
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
	} else if _, err := f.OpenLaw(); err != nil {
		return err
	}
	out.Missing, err = missingOf(f, c.File, law)
	if err != nil {
		return err
	}
	out.Doubts = doubtsOf(&f.Fleet)
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
	for line := range bytes.Lines(bytes.TrimPrefix(data, tomlfile.ByteOrderMark)) {
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
	out := checked{File: c.File, Kind: "rulebook", Name: b.Name, Rules: len(b.Rules), Derived: []derivedFigure{}, Missing: []vehicleMissing{}, Doubts: []string{}}
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
	if out := firstVehicles(&f.Fleet); len(out) > 0 {
		return out, nil
	}
	out := []vehicleMissing{}
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
			if name, isFact := strings.CutPrefix(m, "fact "); isFact {
				who, field = factsTable, name
			}
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
	add(factsTable)
	return out, nil
}

// factsTable is where a file declares what holds for every load.
const factsTable = "facts"

// firstVehicles says what a file needs before there is a pair to ask about.
func firstVehicles(f *vehicle.Fleet) (out []vehicleMissing) {
	if len(f.Tractors) == 0 {
		out = append(out, vehicleMissing{"tractor", []string{"none yet: add [[tractor]] with an id and its axles, the first of kind steer"}})
	}
	if len(f.Trailers) == 0 {
		out = append(out, vehicleMissing{"semi-trailer", []string{"none yet: add [[semi-trailer]] with an id and its axles, each at its distance from the kingpin"}})
	}
	return out
}

// doubtsOf lists where tickets disagree with what else is given, but for what a
// derived figure says of itself.
func doubtsOf(f *vehicle.Fleet) []string {
	out := []string{}
	for i := range f.Tractors {
		out = append(out, f.Tractors[i].Doubts()...)
	}
	for i := range f.Trailers {
		out = append(out, f.Doubts(&f.Trailers[i])...)
	}
	return out
}

// several writes a number of things.
func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (c *checkCmd) print(p *program, o *checked) {
	fmt.Fprintf(p.out, "%s is a sound fleet file: %s, %s, %s.\n", c.File, several(o.Tractors, "tractor"), several(o.Trailers, "semi-trailer"), several(o.Loads, "named load"))
	if o.Law == "" {
		fmt.Fprintf(p.out, "It names no law; one of %s can be given with --law.\n", strings.Join(rule.Names(), " "))
	}
	if len(o.Derived) > 0 {
		fmt.Fprintln(p.out, "\nDerived from the weighbridge tickets")
		for _, d := range o.Derived {
			paragraph(p.out, "  · ", "    ", fmt.Sprintf("%s, %s = %s = %s", d.Vehicle, d.Field, d.Value, d.Working))
		}
	}
	if len(o.Doubts) > 0 {
		fmt.Fprintln(p.out, "\nTickets that disagree")
		for _, d := range o.Doubts {
			paragraph(p.out, "  ▲ ", "    ", d)
		}
	}
	if o.Tractors == 0 || o.Trailers == 0 {
		fmt.Fprintln(p.out, "\nThere is no pair to ask about. What to add:")
		for _, m := range o.Missing {
			paragraph(p.out, "  ○ ", "      ", m.Vehicle+": "+strings.Join(m.Fields, "; "))
		}
		fmt.Fprintln(p.out, "\nunderpin check --fields lists every field with how to take it.")
		return
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
