package mounting

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"underpin/bolting"
	"underpin/unit"
	"underpin/vehicle"
)

var idPattern = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// A reporter notes what is wrong, where, and what to do.
type reporter func(path, found, expected string)

// Validate returns everything that is wrong with a parts file, each with what
// to do: values that no such part has, words and names that are not known,
// holes that run into each other, parts without rating, stacks that do not
// stand, threads and grades that the tables lack. Missing data is no error here
// except where nothing could be said without it.
func (f *File) Validate() []*vehicle.FieldError {
	var errs []*vehicle.FieldError
	bad := func(path, found, expected string) {
		errs = append(errs, &vehicle.FieldError{Path: path, Found: found, Expected: expected})
	}
	vehicle.CheckTags(reflect.ValueOf(f).Elem(), "", bad)
	ids := map[string]string{}
	id := func(path, kind, id string) {
		switch {
		case id == "":
			bad(path, "no id", "an id of small letters, digits and hyphens")
		case !idPattern.MatchString(id):
			bad(path+".id", fmt.Sprintf("id = %q", id), "small letters, digits and hyphens, such as plate-30")
		case slices.Contains(kinds[:], id) || slices.Contains(bases[:], id):
			bad(path+".id", fmt.Sprintf("id = %q", id), "another id: this word names a kind of part or a base")
		case ids[kind+id] != "":
			bad(path+".id", fmt.Sprintf("id = %q a second time", id), "an id of its own; "+ids[kind+id]+" has it already")
		}
		ids[kind+id] = path
	}
	tractors := map[string]string{}
	for i := range f.Chassis {
		c, path := &f.Chassis[i], fmt.Sprintf("chassis[%d]", i)
		id(path, "chassis ", c.ID)
		for k, t := range c.For {
			if other := tractors[t]; other != "" {
				bad(fmt.Sprintf("%s.for[%d]", path, k), fmt.Sprintf("tractor %q a second time", t), "one chassis for a tractor; "+other+" has it already")
			}
			tractors[t] = path
		}
		c.check(path, bad)
	}
	for i := range f.Parts {
		p, path := &f.Parts[i], fmt.Sprintf("part[%d]", i)
		id(path, "part ", p.ID)
		f.checkPart(p, path, bad)
	}
	for i := range f.Briefs {
		b, path := &f.Briefs[i], fmt.Sprintf("brief[%d]", i)
		id(path, "brief ", b.ID)
		b.check(path, bad)
	}
	for i := range f.Fittings {
		g, path := &f.Fittings[i], fmt.Sprintf("fitting[%d]", i)
		id(path, "fitting ", g.ID)
		f.checkFitting(g, path, bad)
	}
	return errs
}

func (p *Pattern) check(path string, bad reporter) {
	if p == nil {
		return
	}
	for i := range p.Rows {
		r, at := &p.Rows[i], fmt.Sprintf("%s.row[%d]", path, i)
		switch {
		case r.Count < 1 || r.Count > mostHoles:
			bad(at+".count", fmt.Sprintf("count = %d", r.Count), fmt.Sprintf("a number of holes from 1 to %d", mostHoles))
		case r.First == nil || r.Y == nil || r.D == nil:
			bad(at, "a row that lacks first, y or d", "first, y and d")
		case r.Count > 1 && r.Pitch == nil:
			bad(at, "a row of holes without pitch", "the pitch from hole to hole")
		}
	}
	for i := range p.Holes {
		if h := &p.Holes[i]; h.X == nil || h.Y == nil || h.D == nil {
			bad(fmt.Sprintf("%s.hole[%d]", path, i), "a hole that lacks x, y or d", "x, y and d")
		}
	}
	places := p.Places()
	if len(places) > mostHoles {
		bad(path, fmt.Sprintf("%d holes", len(places)), fmt.Sprintf("a pattern of at most %d holes", mostHoles))
		return
	}
	if a, b, found := overlap(places); found {
		bad(path, fmt.Sprintf("%s and %s, which run into each other with diameters of %s and %s", a, b, mm(a.D), mm(b.D)),
			"holes with steel between them: look at the drawing again, or leave one out")
	}
}

func (c *Chassis) check(path string, bad reporter) {
	if c.FrameRear != nil && (c.TyreRadius != nil || c.AxleToFrame != nil) {
		bad(path+".frame-rear", "frame-rear beside tyre-radius or axle-to-frame", "one way or the other: the tape to the frame's top, or radius and axle to frame")
	}
	ordered := func(at string, from, to *unit.Length) {
		if from != nil && to != nil && !(*from <= *to) {
			bad(path+at, fmt.Sprintf("%s behind %s", mm(*from), mm(*to)), "the front end first")
		}
	}
	ordered(".foremost", c.From, c.To)
	c.Frame.Holes.check(path+".frame.holes", bad)
	if s := c.Subframe; s != nil {
		ordered(".subframe.from", s.From, s.To)
		s.Holes.check(path+".subframe.holes", bad)
		if s.Height == nil {
			bad(path+".subframe", "a subframe without height", "height: frame top to the subframe's top")
		}
		material(s.Material, path+".subframe.material", bad)
	}
	if a := c.Angles; a != nil {
		ordered(".angles.from", a.From, a.To)
		a.Top.check(path+".angles.top", bad)
		a.Web.check(path+".angles.web", bad)
		if a.Height == nil {
			bad(path+".angles", "attachment angles without height", "height: frame top to the angles' upper face")
		}
		material(a.Material, path+".angles.material", bad)
	}
	material(c.Frame.Material, path+".frame.material", bad)
	for i := range c.Zones {
		z, at := &c.Zones[i], fmt.Sprintf("%s.zone[%d]", path, i)
		if z.From == nil || z.To == nil || !(*z.From <= *z.To) {
			bad(at, "a zone without two ends in order", "from and to, each from the front axle, the front end first")
		}
		if z.What == "" {
			bad(at, "a zone that does not say what is forbidden", "what = no-holes or keep-free")
		}
	}
	for _, s := range []struct {
		sink *Sink
		at   string
	}{{c.SinkRear, ".sink-rear"}, {c.SinkFront, ".sink-front"}} {
		if s.sink == nil {
			continue
		}
		if s.sink.Under == nil || s.sink.Tyres == nil || s.sink.Suspension == "" || s.sink.Suspension == "steel" && s.sink.Springs == nil {
			bad(path+s.at, "a sink that lacks suspension, under, tyres or, on steel, springs", "all of them: kind of suspension, added load, sink of tyres, give of springs")
		}
	}
}

// material refuses a name that the table of bearing pressures lacks.
func material(name, path string, bad reporter) {
	if name == "" {
		return
	}
	if _, err := bolting.FindMaterial(name); err != nil {
		bad(path, fmt.Sprintf("material = %q, which is not a plate material known here", name), expectedOf(err)+"; leave it out where it is another")
	}
}

// expectedOf takes what was expected out of a parse error.
func expectedOf(err error) string {
	if e, ok := err.(*unit.ParseError); ok {
		return e.Expected
	}
	return err.Error()
}

func (f *File) checkPart(p *Part, path string, bad reporter) {
	if p.Kind == "" {
		bad(path, "a part without kind", "kind = one of "+strings.Join(kinds[:], ", "))
		return
	}
	if p.Height == nil {
		bad(path, "a part without height", "height: the face that it stands on to the face that it offers")
	}
	if len(p.StandsOn) == 0 {
		bad(path, "a part that stands on nothing", "stands-on: frame, subframe, angles, kinds of part or ids of parts")
	}
	for i, word := range p.StandsOn {
		if slices.Contains(bases[:], word) || slices.Contains(kinds[:], word) && word != FifthWheel {
			continue
		}
		if other := f.Part(word); other == nil || other.Kind == FifthWheel || other == p {
			bad(fmt.Sprintf("%s.stands-on[%d]", path, i), fmt.Sprintf("stands-on %q", word), "frame, subframe, angles, a kind of part (not fifth-wheel) or the id of another part of this file")
		}
	}
	if p.rated() && p.ReadFrom != "unknown" && (p.D == nil || p.Imposed == nil) {
		bad(path, "a part without rating", "d-value and imposed from its plate, with read-from; or read-from = \"unknown\", and every stack with it stays open")
	}
	if p.D != nil && p.ReadFrom == "" {
		bad(path+".d-value", "a rating that does not say where it was read", "read-from = plate, document or memory")
	}
	if p.ReadFrom == "unknown" && (p.D != nil || p.Imposed != nil) {
		bad(path+".read-from", "read-from = \"unknown\" beside a rating", "plate, document or memory")
	}
	p.Foot.check(path+".foot", bad)
	p.Top.check(path+".top", bad)
	material(p.Material, path+".material", bad)
	only := func(kind string, given bool, field string) {
		if given && p.Kind != kind {
			bad(path+"."+field, field+" on a "+p.Kind, "nothing: only a "+kind+" has one")
		}
	}
	only(Plate, p.Form != "", "form")
	only(Slider, p.Travel != nil, "travel")
	only(Slider, p.Pitch != nil, "pitch")
	only(Slider, p.Foremost != nil, "foremost")
	only(Lift, p.Stroke != nil, "stroke")
	only(Lift, len(p.Positions) > 0, "positions")
	only(FifthWheel, p.Pin != nil, "pin")
	only(FifthWheel, p.Wedge != nil, "steering-wedge")
	only(FifthWheel, p.Tilting != "", "tilting")
	only(FifthWheel, p.RollLock != nil, "roll-lockable")
	only(FifthWheel, p.Cushioned != nil, "cushioned")
	only(FifthWheel, p.ForeAft != nil, "fore-and-aft")
	only(FifthWheel, p.TiltDepth != nil, "tilt-axis-depth")
	only(FifthWheel, p.JointDepth != nil, "joint-depth")
	only(FifthWheel, len(p.Prepared) > 0, "prepared-for")
	for i, w := range p.Prepared {
		if w != "automatic-greasing" && w != "lock-sensing" {
			bad(fmt.Sprintf("%s.prepared-for[%d]", path, i), fmt.Sprintf("prepared-for %q", w), "automatic-greasing or lock-sensing")
		}
	}
	if p.Kind == FifthWheel && p.Top != nil {
		bad(path+".top", "holes on top of a fifth wheel", "nothing: the semi-trailer lies there")
	}
	switch p.Kind {
	case Slider:
		if p.Travel == nil || p.Pitch == nil || *p.Pitch > *p.Travel+dust {
			bad(path, "a slider without travel and pitch, or with a pitch longer than its travel", "travel from the foremost to the rearmost slide position, and the pitch")
		}
	case Lift:
		if p.Stroke == nil {
			bad(path, "a height-adjustable mounting without stroke", "stroke from its lowest to its highest position")
			break
		}
		for i, h := range p.Positions {
			if !(0 <= h && h <= *p.Stroke+dust) || i > 0 && !(h > p.Positions[i-1]) {
				bad(fmt.Sprintf("%s.positions[%d]", path, i), "position "+mm(h), "rising heights from 0 mm to the stroke of "+mm(*p.Stroke))
			}
		}
	case FifthWheel:
		if p.Pin == nil {
			break
		}
		if sizeOf(p.Pin) == 0 {
			bad(path+".pin", "pin = "+mm(*p.Pin), "50 mm (2 in) or 90 mm (3.5 in), the two nominal sizes")
		}
	}
}

func (b *Brief) check(path string, bad reporter) {
	for i := range b.Heights {
		w, at := &b.Heights[i], fmt.Sprintf("%s.height[%d]", path, i)
		if w.Unladen == nil && w.Laden == nil {
			bad(at, "a wanted height without a height", "unladen, laden or both")
		}
		if w.Tolerance == nil {
			bad(at, "a wanted height without tolerance", "tolerance: how far it may be off, either way")
		}
		if w.Unladen != nil && w.Laden != nil && *w.Laden > *w.Unladen {
			bad(at+".laden", fmt.Sprintf("laden = %s above unladen = %s", mm(*w.Laden), mm(*w.Unladen)), "a laden height that is not above the unladen one")
		}
		for k := range i {
			if b.Heights[k].Name == w.Name {
				bad(at, fmt.Sprintf("a second height called %q", w.Name), "a name for each height, such as high and low")
			}
		}
	}
	if b.From != nil && b.To != nil && !(*b.From <= *b.To) {
		bad(path+".foremost", fmt.Sprintf("%s behind %s", mm(*b.From), mm(*b.To)), "the front end first")
	}
	for i, t := range b.Trailers {
		if slices.Contains(b.Wished, t) {
			bad(fmt.Sprintf("%s.trailers[%d]", path, i), fmt.Sprintf("%q among trailers and wished", t), "one of them")
		}
	}
}

// Part returns the part with this id, or nil.
func (f *File) Part(id string) *Part {
	for i := range f.Parts {
		if f.Parts[i].ID == id {
			return &f.Parts[i]
		}
	}
	return nil
}

// Brief returns the brief with this id, or nil.
func (f *File) Brief(id string) *Brief {
	for i := range f.Briefs {
		if f.Briefs[i].ID == id {
			return &f.Briefs[i]
		}
	}
	return nil
}

// Fitting returns the fitting with this id, or nil.
func (f *File) Fitting(id string) *Fitting {
	for i := range f.Fittings {
		if f.Fittings[i].ID == id {
			return &f.Fittings[i]
		}
	}
	return nil
}

// ChassisOf returns the chassis of a tractor, or nil.
func (f *File) ChassisOf(tractor string) *Chassis {
	for i := range f.Chassis {
		if slices.Contains(f.Chassis[i].For, tractor) {
			return &f.Chassis[i]
		}
	}
	return nil
}

// ChassisNamed returns the chassis with this id, or nil.
func (f *File) ChassisNamed(id string) *Chassis {
	for i := range f.Chassis {
		if f.Chassis[i].ID == id {
			return &f.Chassis[i]
		}
	}
	return nil
}
