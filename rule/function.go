package rule

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"underpin/unit"
)

// A Function is a limit that the law gives as a formula. The list of names is
// closed; each takes its own parameters, in the rulebook, and reads its own
// facts.
type Function struct {
	Name          string
	Ties          Ties        // bridge-formula
	Outer         unit.Length // reference-wheelbase
	Inner         unit.Length // reference-wheelbase
	FittingRadius unit.Length // reference-wheelbase
	WholeGroup    bool        // fr-group-axle: the limit of the group, not of its axle
	Of            string      // lesser-of, axle-spread: the distance, a fact
	Share         float64     // lesser-of
	MostLength    unit.Length // lesser-of
	PerMetre      unit.Mass   // axle-spread
	Step          unit.Mass   // axle-spread
	MostMass      unit.Mass   // axle-spread
}

// outcome is what a function makes of the facts.
type outcome struct {
	value, eachAxle float64
	unit            unit.Unit
	working         string
	notCovered      string
}

// arguments hands facts to a function and keeps account of them.
type arguments struct {
	view    view
	why     []string
	missing []string
}

func (a *arguments) number(fact string) float64 {
	v, known, _ := a.view.lookup(fact)
	a.why = append(a.why, a.view.say(fact))
	if !known {
		a.missing = append(a.missing, a.view.missing(fact)...)
		return math.NaN()
	}
	return v.number
}

// a named function: which quantities' dimension it limits, which parameters it
// takes, and how it is evaluated once its facts are known.
type named struct {
	dim    unit.Dimension
	params []string
	apply  func(*Function, *arguments) outcome
}

var functions = map[string]named{
	"bridge-formula":      {unit.MassDim, []string{"ties"}, bridgeLimit},
	"reference-wheelbase": {unit.LengthDim, []string{"outer", "inner", "fitting-radius"}, wheelbaseLimit},
	"fr-group-axle":       {unit.MassDim, []string{"whole-group"}, frenchAxleLimit},
	"fr-drive-tandem":     {unit.MassDim, nil, frenchTandemLimit},
	"de-artic-gross":      {unit.MassDim, nil, articulatedLimit},
	"axle-spread":         {unit.MassDim, []string{"of", "per-metre", "step", "most"}, spreadLimit},
	"lesser-of":           {unit.LengthDim, []string{"of", "share", "most"}, lesserLimit},
}

// functionNames lists the closed list, for messages.
func functionNames() []string {
	names := make([]string, 0, len(functions))
	for name := range functions {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func (f *Function) evaluate(a *arguments) outcome { return functions[f.Name].apply(f, a) }

// refused turns a formula's error into an outcome without a number.
func refused(err error) outcome {
	var none *unit.NoAnswerError
	if errors.As(err, &none) {
		return outcome{value: math.NaN(), notCovered: none.Why}
	}
	return outcome{value: math.NaN(), notCovered: err.Error()}
}

func bridgeLimit(f *Function, a *arguments) outcome {
	axles, spread := a.number("axles"), a.number("spread")
	if len(a.missing) > 0 {
		return outcome{}
	}
	if axles != math.Trunc(axles) || math.Abs(axles) > 1e6 {
		return outcome{value: math.NaN(), notCovered: "the number of axles is not a whole number"}
	}
	b, err := BridgeFormula(int(axles), unit.Length(spread), f.Ties)
	if err != nil {
		return refused(err)
	}
	return outcome{value: float64(b.Pounds), unit: unit.Lb, working: fmt.Sprintf(
		"500 · (%d·%d/%d + 12·%d + 36) = %s, to the nearest 500 lb, ties %s: %d lb",
		b.Feet, b.Axles, b.Axles-1, b.Axles, unit.Format(b.Raw*unit.Lb.SI, unit.Lb, 0), f.Ties, b.Pounds)}
}

func wheelbaseLimit(f *Function, a *arguments) outcome {
	width := a.number("trailer-width")
	if len(a.missing) > 0 {
		return outcome{}
	}
	w, err := ReferenceWheelbase(Ring{unit.Length(width), f.Outer, f.Inner, f.FittingRadius})
	if err != nil {
		return refused(err)
	}
	return outcome{value: float64(w.Limit), unit: unit.M, working: fmt.Sprintf(
		"√(%.3f² − %.3f²) = %.3f m", float64(w.Guide), float64(w.InnerCentre), float64(w.Limit))}
}

func frenchAxleLimit(f *Function, a *arguments) outcome {
	d := a.number("spacing")
	axles := 1.0
	if f.WholeGroup {
		axles = a.number("axles")
	}
	if len(a.missing) > 0 {
		return outcome{}
	}
	s, err := FrenchGroupAxle(unit.Length(d))
	if err != nil {
		return refused(err)
	}
	o := outcome{value: float64(s.Limit) * axles, unit: unit.KG,
		working: fmt.Sprintf("%.2f t on each axle of the group", s.Limit.Tonnes())}
	if f.WholeGroup {
		o.eachAxle = float64(s.Limit)
	}
	return o
}

func frenchTandemLimit(_ *Function, a *arguments) outcome {
	d := a.number("spacing")
	if len(a.missing) > 0 {
		return outcome{}
	}
	s, err := FrenchDriveTandem(unit.Length(d))
	if err != nil {
		return refused(err)
	}
	return outcome{value: float64(s.Limit), unit: unit.KG}
}

func articulatedLimit(_ *Function, a *arguments) outcome {
	p := Plates{
		TractorGross: unit.Mass(a.number("tractor-gross-plate")), TractorImposed: unit.Mass(a.number("tractor-imposed-plate")),
		TrailerGross: unit.Mass(a.number("trailer-gross-plate")), TrailerImposed: unit.Mass(a.number("trailer-imposed-plate")),
	}
	if len(a.missing) > 0 {
		return outcome{}
	}
	g, err := ArticulatedGross(p)
	if err != nil {
		return outcome{value: math.NaN(), notCovered: fmt.Sprintf("the plates do not go together: tractor %s with a permissible fifth-wheel load of %s, "+
			"semi-trailer %s with a permissible kingpin load of %s; each load must be more than zero and less than its vehicle's mass",
			unit.Plain(float64(p.TractorGross), unit.KG), unit.Plain(float64(p.TractorImposed), unit.KG),
			unit.Plain(float64(p.TrailerGross), unit.KG), unit.Plain(float64(p.TrailerImposed), unit.KG))}
	}
	return outcome{value: float64(g.Gross), unit: unit.KG, working: fmt.Sprintf("%.1f t + %.1f t − %.1f t = %.1f t",
		p.TractorGross.Tonnes(), p.TrailerGross.Tonnes(), g.Imposed.Tonnes(), g.Gross.Tonnes())}
}

func spreadLimit(f *Function, a *arguments) outcome {
	d := a.number(f.Of)
	if len(a.missing) > 0 {
		return outcome{}
	}
	s, err := AxleSpread(unit.Length(d), f.PerMetre, f.Step, f.MostMass)
	if err != nil {
		return refused(err)
	}
	return outcome{value: float64(s.Limit), unit: unit.KG, working: fmt.Sprintf("%s kg per m · %s = %.0f kg, at most %.0f kg",
		unit.Digits(float64(f.PerMetre), 0), unit.Plain(d, unit.M), float64(s.Raw), float64(f.MostMass))}
}

// lesserLimit is the lesser of a length and a share of another one.
func lesserLimit(f *Function, a *arguments) outcome {
	d := a.number(f.Of)
	if len(a.missing) > 0 {
		return outcome{}
	}
	if !(d > 0) {
		return outcome{value: math.NaN(), notCovered: f.Of + " is not positive"}
	}
	return outcome{value: math.Min(float64(f.MostLength), f.Share*d), unit: unit.M, working: fmt.Sprintf(
		"the lesser of %s and %.0f %% of %s", unit.Plain(float64(f.MostLength), unit.M), 100*f.Share, unit.Plain(d, unit.M))}
}
