package rule

import (
	"fmt"
	"math"
	"strings"

	"underpin/unit"
)

// A GroupQuery describes one axle or axle group.
type GroupQuery struct {
	Law       string      // an embedded rulebook
	Trailer   bool        // of the semi-trailer; otherwise of the motor vehicle
	Axles     int         // in the group
	Spacing   unit.Length // between neighbouring axles, all alike; without meaning for one axle
	Drive     bool        // it contains a driven axle
	TwinTyres bool
	Air       bool // air suspension, or one recognised as equivalent
}

// A GroupLimit is the limit on an axle group and what it rests on.
type GroupLimit struct {
	Value    float64 // in Unit
	Unit     unit.Unit
	Mass     unit.Mass
	EachAxle bool // the law limits each axle of the group, not the group
	Rule     *Rule
	Why      string
	Unless   []string // facts not asked for here that could bring a laxer limit
}

// AxleGroupLimit returns what a law allows on an axle or axle group, by that
// law's table. Facts that the query does not carry are taken at their stricter
// value and named in Unless. Domestic traffic is assumed, so that a national
// book answers with its own figures.
//
//	limit = table(law; motor vehicle or trailer, axles, spacing, driven,
//	twin tyres, air suspension)
//
// Where the law limits each axle of the group (France), that is the figure and
// EachAxle is set.
//
// Valid for 1 ≤ axles, and 0 < spacing for more than one axle; otherwise the
// error is a *unit.DomainError. What the table does not cover is never
// extrapolated: the error is a *unit.NoAnswerError. An unknown law is a
// *NotFoundError.
//
// Source: the rule of the rulebook that is returned with the limit.
func AxleGroupLimit(q GroupQuery) (GroupLimit, error) {
	b, err := Open(q.Law)
	if err != nil {
		return GroupLimit{}, err
	}
	return b.AxleGroup(q)
}

// AxleGroup is AxleGroupLimit for a book that is open already.
func (b *Book) AxleGroup(q GroupQuery) (GroupLimit, error) {
	const name = "axle-group-limit"
	switch {
	case !(1 <= q.Axles && q.Axles <= 100):
		return GroupLimit{}, &unit.DomainError{Formula: name, Input: "axles", Value: float64(q.Axles), Want: "1 ≤ axles ≤ 100"}
	case q.Axles > 1 && (!(q.Spacing > 0) || math.IsInf(float64(q.Spacing), 1)):
		return GroupLimit{}, &unit.DomainError{Formula: name, Input: "spacing", Value: float64(q.Spacing), Want: "0 < spacing"}
	}
	facts := Facts{"axles": q.Axles, "drive": q.Drive, "twin-tyres": q.TwinTyres, "suspension": "other", "traffic": "national", "two-tandems": false,
		"group": "trailer"}
	if q.Air {
		facts["suspension"] = "air"
	}
	if !q.Trailer {
		facts["group"] = "steer"
		if q.Drive {
			facts["group"] = "drive"
		}
	}
	quantities := []string{"mass-axle"}
	if q.Axles > 1 {
		facts["spacing"] = q.Spacing
		facts["spread"] = q.Spacing * unit.Length(q.Axles-1)
		quantities = []string{"mass-group", "mass-axle-range"}
	}
	var limits []Limit
	for _, quantity := range quantities {
		limits = append(limits, b.Limits(quantity, facts)...)
	}
	if len(limits) == 0 {
		return GroupLimit{}, &unit.NoAnswerError{Formula: name, Why: fmt.Sprintf("the rulebook %s has no limit for such an axle group", b.Name)}
	}
	least := -1
	for i := range limits {
		l := &limits[i]
		switch {
		case l.NotCovered != "":
			return GroupLimit{}, &unit.NoAnswerError{Formula: name, Why: l.NotCovered}
		case math.IsNaN(l.Value):
			return GroupLimit{}, &unit.NoAnswerError{Formula: name, Why: fmt.Sprintf("%s also needs %s", l.Rule.Title, strings.Join(l.Missing, ", "))}
		case least < 0 || l.SI < limits[least].SI:
			least = i
		}
	}
	l := &limits[least]
	g := GroupLimit{Value: l.Value, Unit: l.Rule.Unit, Mass: unit.Mass(l.SI), Rule: l.Rule, Why: l.Why, Unless: l.Missing}
	if !math.IsNaN(l.EachAxle) {
		g.Value, g.EachAxle = l.EachAxle, true
		g.Mass = unit.Mass(l.Rule.Unit.ToSI(l.EachAxle))
	}
	return g, nil
}
