package fleet

import (
	"reflect"
	"strings"

	"underpin/record"
	"underpin/vehicle"
)

// parsed is what the fleet file's fields of one vehicle come to; one of the three
// is set.
type parsed struct {
	tractor *vehicle.Tractor
	trailer *vehicle.SemiTrailer
	dolly   *Dolly
}

func (p *parsed) into() reflect.Value {
	switch {
	case p.tractor != nil:
		return reflect.ValueOf(p.tractor).Elem()
	case p.trailer != nil:
		return reflect.ValueOf(p.trailer).Elem()
	}
	return reflect.ValueOf(p.dolly).Elem()
}

func blank(kind string) *parsed {
	switch kind {
	case record.Tractor:
		return &parsed{tractor: new(vehicle.Tractor)}
	case record.SemiTrailer:
		return &parsed{trailer: new(vehicle.SemiTrailer)}
	case record.Dolly:
		return &parsed{dolly: new(Dolly)}
	}
	return nil
}

// parse reads the fields of a vehicle, with everything that does not fit.
func parse(v record.VehicleAdded) (*parsed, []Problem) {
	p := blank(v.Vehicle)
	if p == nil {
		return nil, []Problem{{"vehicle", show(encoded(v.Vehicle)), "one of tractor, semi-trailer, dolly"}}
	}
	var problems []Problem
	into := p.into()
	fill(into, encoded(v.Fields), "", func(where, found, expected string) {
		problems = append(problems, Problem{where, found, expected})
	})
	return p, problems
}

// checkVehicle holds the details of one vehicle against what such a vehicle can
// have. What is unknown is no problem. Tractor tells whether the register has a
// tractor of that number.
func checkVehicle(v record.VehicleAdded, tractor func(number string) bool) []Problem {
	p, problems := parse(v)
	if p == nil || len(problems) > 0 {
		return problems
	}
	var f vehicle.Fleet
	switch {
	case p.tractor != nil:
		f.Tractors = []vehicle.Tractor{*p.tractor}
		problems = append(problems, wrongs(&f, "tractor[0]", "")...)
	case p.trailer != nil:
		f.Trailers = []vehicle.SemiTrailer{*p.trailer}
		if w := p.trailer.Weighbridge; w != nil && tractor(w.Tractor) {
			f.Tractors = []vehicle.Tractor{{ID: w.Tractor}} // what else is wrong with it is not asked here
		}
		problems = append(problems, wrongs(&f, "semi-trailer[0]", "")...)
	default:
		// A dolly has the axles of a trailer and the fifth wheel of a tractor.
		d := p.dolly
		f.Trailers = []vehicle.SemiTrailer{{ID: d.ID, Axles: d.Axles, GrossPlate: d.GrossPlate, Width: d.Width}}
		f.Tractors = []vehicle.Tractor{{FifthWheel: d.FifthWheel}}
		problems = append(problems, wrongs(&f, "semi-trailer[0]", "")...)
		problems = append(problems, wrongs(&f, "tractor[0].fifth-wheel", "fifth-wheel")...)
	}
	return problems
}

// wrongs lists what Validate says below one path, with the path as a form of
// that vehicle names it.
func wrongs(f *vehicle.Fleet, path, as string) []Problem {
	var problems []Problem
	for _, e := range f.Validate() {
		rest, below := strings.CutPrefix(e.Path, path)
		if !below || rest != "" && rest[0] != '.' && rest[0] != '[' {
			continue
		}
		if rest == "" && noAxle(e.Found) {
			continue // not known yet
		}
		where := as + rest
		if as == "" {
			where = strings.TrimPrefix(rest, ".")
		}
		if where == "" && strings.HasPrefix(e.Found, "no id") {
			where = "id"
		}
		problems = append(problems, Problem{where, e.Found, e.Expected})
	}
	return problems
}

func noAxle(found string) bool { return found == "0 axles" || found == "no axle" }
