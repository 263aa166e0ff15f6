// Command underpin answers for fifth wheels and kingpins: whether a tractor, a
// semi-trailer, their coupling and a load go together under a law, and why.
//
// Exit codes: 0 done, or the answer is fits; 1 the answer is no; 2 bad input;
// 3 cannot tell; 4 the environment failed; 5 fits if a setting is made first.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/alecthomas/kong"

	"underpin/assess"
	"underpin/exchange"
	"underpin/fleet"
	"underpin/formula"
	"underpin/rule"
	"underpin/tomlfile"
	"underpin/unit"
)

// The exit codes, which other programs rely on.
const (
	exitFits        = 0
	exitNo          = 1
	exitBadInput    = 2
	exitCannotTell  = 3
	exitEnvironment = 4
	exitFitsIf      = 5
)

func main() {
	// What is alive is small, for a register stays in its database: collecting less
	// often takes a third off each answer of the slider. GOGC in the environment
	// has the last word.
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

type commands struct {
	Pair   pairCmd   `cmd:"" group:"answers" help:"Say whether a tractor and a semi-trailer go together, and why."`
	Matrix matrixCmd `cmd:"" group:"answers" help:"Pair every tractor of a file with every semi-trailer."`
	Spec   specCmd   `cmd:"" group:"answers" name:"specify" help:"Find the mountings that answer a brief, and specify one: parts, place, height, bolts, findings."`
	Check  checkCmd  `cmd:"" group:"answers" help:"Check a fleet file or a rulebook file; print what was derived and what is missing."`
	Calc   calcCmd   `cmd:"" group:"answers" help:"List the calculations, or run one: underpin calc d-value tractor-gross=18t trailer-gross=36t imposed=11t."`

	Serve   serveCmd   `cmd:"" group:"register" help:"Serve the pages and the JSON interface."`
	Import  importCmd  `cmd:"" group:"register" help:"Bring a fleet into a register or into a fleet file; --dry-run tells what would change."`
	Export  exportCmd  `cmd:"" group:"register" help:"Write a fleet file or a register as workbook, CSV, JSON, TOML or one whole export."`
	User    userCmd    `cmd:"" group:"register" help:"Add and list the people of a register, change what they may do, make one-time links."`
	Verify  verifyCmd  `cmd:"" group:"register" help:"Prove every record, document and seal of a register."`
	Seal    sealCmd    `cmd:"" group:"register" help:"Seal the records of a register, as is done each night."`
	Keygen  keygenCmd  `cmd:"" group:"register" help:"Make the key that the seals are signed with."`
	Backup  backupCmd  `cmd:"" group:"register" help:"Back up a register while it is at work."`
	Restore restoreCmd `cmd:"" group:"register" help:"Make a register of a backup."`
}

// program is what a command needs of the world.
type program struct {
	out, err io.Writer
	code     int // exit code of a command that went well
}

const exitHelp = `
Exit codes: 0 done, or the answer is fits; 1 the answer is no; 2 bad input;
3 cannot tell; 4 the environment failed; 5 fits if a setting is made first.`

// run is the whole program as a function, so that tests can start it.
func run(args []string, stdout, stderr io.Writer) int {
	p := &program{out: stdout, err: stderr}
	asJSON := false
	for _, a := range args {
		asJSON = asJSON || a == "--json" || a == "--json=true"
	}
	var c commands
	exited := -1
	parser, err := kong.New(&c,
		kong.Name("underpin"),
		kong.Description("Answers for fifth wheels and kingpins: pairings, limits, formulas."+exitHelp),
		kong.Vars{"roles": roleHelp},
		kong.ExplicitGroups([]kong.Group{{Key: "answers", Title: "Answers:"}, {Key: "register", Title: "The register, with --data DIR or --database URL:"}, {Key: "into", Title: "Into a register:"}}),
		kong.Writers(stdout, stderr), kong.Exit(func(code int) { exited = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 80}), kong.Bind(p))
	if err != nil {
		fmt.Fprintln(stderr, err)
		return exitEnvironment
	}
	ctx, err := parser.Parse(args)
	if exited >= 0 { // help was printed
		return exited
	}
	if err != nil {
		return p.fail(&usageError{err.Error()}, asJSON)
	}
	if err := ctx.Run(p); err != nil {
		return p.fail(err, asJSON)
	}
	return p.code
}

// A usageError says what was wrong with the words of the command.
type usageError struct{ why string }

func (e *usageError) Error() string { return e.why }

// A failure is an error as it is told: on stderr in words, or on stdout as
// JSON.
type failure struct {
	Exit     int      `json:"exit"`
	Where    string   `json:"where"`
	Found    string   `json:"found"`
	Expected string   `json:"expected"`
	Missing  []string `json:"missing"`
}

// fail tells an error and returns its exit code; the only place that turns
// errors into exit codes.
func (p *program) fail(err error, asJSON bool) int {
	f := failure{Exit: exitEnvironment, Found: err.Error(), Missing: []string{}}
	var (
		lines   []string
		toml    *tomlfile.Error
		invalid exchange.Invalid
		rows    exchange.Problems
		inputs  formula.Invalid
		name    *assess.UnknownNameError
		usage   *usageError
		arg     *argError
		domain  *unit.DomainError
		none    *unit.NoAnswerError
		book    *rule.NotFoundError
		fact    *rule.FactError
		wrong   *fleet.Invalid
		nobody  *fleet.NotFound
		conf    *fleet.Conflict
		denied  *fleet.NotAllowed
		addr    *addressError
	)
	switch {
	case errors.As(err, &invalid):
		toml = invalid[0]
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, toml.Where(), toml.Found, toml.Expected
		for _, e := range invalid {
			lines = append(lines, e.Error())
		}
	case errors.As(err, &rows):
		f = problemFailure(rows)
		for _, e := range rows {
			lines = append(lines, e.Error())
		}
	case errors.As(err, &inputs):
		f.Exit, f.Where, f.Found, f.Expected, f.Missing = exitBadInput, "calc "+inputs[0].Where(), inputs[0].Found, inputs[0].Expected, inputs.Missing()
		for _, e := range inputs {
			lines = append(lines, "calc "+strings.ReplaceAll(e.Error(), "\n", " "))
		}
	case errors.As(err, &toml):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, toml.Where(), toml.Found, toml.Expected
	case errors.As(err, &arg):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, arg.where, arg.found, arg.expected
	case errors.As(err, &name):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, name.Kind, fmt.Sprintf("%q", name.Name), "one of "+strings.Join(name.Known, ", ")
		if len(name.Known) == 0 {
			f.Expected = "a file that has a " + name.Kind + "; it has none"
		}
	case errors.As(err, &book):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, "--law", fmt.Sprintf("%q", book.Name), "one of "+strings.Join(book.Known, ", ")
	case errors.As(err, &fact):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, "fact "+fact.Fact, fact.Found, fact.Expected
	case errors.As(err, &domain):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, domain.Formula, fmt.Sprintf("%s = %.6g", domain.Input, domain.Value), domain.Want
	case errors.As(err, &none):
		f.Exit, f.Where, f.Found, f.Expected = exitCannotTell, none.Formula, none.Why, "a case that has an answer"
	case errors.As(err, &wrong):
		one := wrong.Problems[0]
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, strings.TrimSpace(wrong.Of+" "+one.Where), one.Found, one.Expected
		for _, p := range wrong.Problems {
			lines = append(lines, strings.TrimSpace(wrong.Of+" "+p.String()))
		}
	case errors.As(err, &addr):
		f.Where, f.Found, f.Expected = addr.where, addr.Found, addr.Expected
		if addr.Malformed {
			f.Exit = exitBadInput
		}
	case errors.As(err, &nobody):
		f.Exit, f.Where, f.Found, f.Expected = exitBadInput, nobody.What, fmt.Sprintf("%q", nobody.Name), "one that is in the register"
	case errors.As(err, &conf), errors.As(err, &denied):
		f.Exit, f.Found = exitBadInput, err.Error()
		lines = []string{err.Error()}
	case errors.As(err, &usage):
		f.Exit, f.Where, f.Expected = exitBadInput, "command line", "a command as underpin --help lists it"
		lines = []string{usage.why + " (underpin --help tells more)"}
	}
	if asJSON {
		enc := json.NewEncoder(p.out)
		enc.SetEscapeHTML(false)
		_ = enc.Encode(map[string]failure{"error": f})
		return f.Exit
	}
	if lines == nil {
		line := "found " + f.Found
		if f.Where != "" {
			line = f.Where + ": " + line
		}
		if f.Expected != "" {
			line += "; expected " + f.Expected
		}
		if f.Exit == exitEnvironment && f.Expected == "" {
			line = err.Error()
		}
		lines = []string{line}
	}
	for _, l := range lines {
		fmt.Fprintln(p.err, "underpin: "+l)
	}
	return f.Exit
}

// An argError says what is wrong with one argument.
type argError struct{ where, found, expected string }

func (e *argError) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.where, e.found, e.expected)
}

// printJSON writes v to stdout, indented.
func (p *program) printJSON(v any) error {
	enc := json.NewEncoder(p.out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
