package fleet

import (
	"maps"
	"slices"
	"strings"

	"underpin/assess"
	"underpin/record"
	"underpin/vehicle"
)

func sortedNames(f record.Fields) []string { return slices.Sorted(maps.Keys(f)) }

// checkSet holds a set of values against what its reader understands. Sets that
// this package does not read are taken as they come.
func checkSet(set string, values record.Fields) []Problem {
	switch set {
	case SettingsSet:
		f, problems := headOf(values, nil)
		return append(problems, factProblems("facts", f.Facts)...)
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
			problems = append(problems, factProblems(l.ID+".facts", l.Facts)...)
		}
		return problems
	}
	return nil
}

// factProblems holds declared facts against what a fleet file may declare.
func factProblems(where string, facts map[string]any) (problems []Problem) {
	_, bad := assess.DeclaredFacts(facts)
	for _, f := range bad {
		problems = append(problems, Problem{where + "." + f.Fact, f.Found, f.Expected})
	}
	return problems
}
