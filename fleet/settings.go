package fleet

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"underpin/record"
	"underpin/rule"
	"underpin/vehicle"
)

func sortedNames(f record.Fields) []string { return slices.Sorted(maps.Keys(f)) }

// checkSet holds a set of values against what its reader understands. Sets that
// this package does not read are taken as they come.
func checkSet(set string, values record.Fields) []Problem {
	switch set {
	case SettingsSet:
		f, problems := headOf(values, nil)
		if err := rule.Facts(f.Facts).Check(); err != nil {
			problems = append(problems, factProblem("facts", err))
		}
		return problems
	case LoadsSet:
		f, problems := headOf(nil, values)
		if len(problems) > 0 {
			return problems
		}
		for i := range f.Loads {
			l := &f.Loads[i]
			one := vehicle.Fleet{Loads: []vehicle.Load{*l}}
			for _, p := range wrongs(&one, "load[0]", l.ID) {
				if !strings.HasPrefix(p.Where, l.ID+".for[") { // which trailers there are is not asked here
					problems = append(problems, p)
				}
			}
			if err := rule.Facts(l.Facts).Check(); err != nil {
				problems = append(problems, factProblem(l.ID+".facts", err))
			}
		}
		return problems
	}
	return nil
}

func factProblem(where string, err error) Problem {
	if f, ok := err.(*rule.FactError); ok {
		return Problem{where + "." + f.Fact, f.Found, f.Expected}
	}
	return Problem{where, fmt.Sprint(err), "facts that the rulebooks know"}
}
