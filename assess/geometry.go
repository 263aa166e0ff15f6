package assess

import (
	"fmt"
	"math"

	"underpin/clearance"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// frontRadius is the kingpin's distance from the farthest point of the
// semi-trailer's front, nose parts included.
func (b *builder) frontRadius() (float64, bool) {
	s := b.p.Trailer
	if s.FrontOverhang == nil || s.Width == nil {
		return nan, false
	}
	front, err := clearance.SwingRadius(clearance.Nose{Overhang: *s.FrontOverhang, Width: *s.Width, Corner: unit.Length(zeroIfNil(s.Corner))})
	if err != nil {
		return nan, false
	}
	r := float64(front.Radius)
	for i := range s.Nose {
		n := &s.Nose[i]
		if n.Ahead == nil || n.HalfWide == nil {
			return nan, false
		}
		r = math.Max(r, math.Hypot(float64(*n.Ahead), float64(*n.HalfWide)))
	}
	return r, true
}

// zeroIfNil serves the corner radius alone: unknown corners are taken as sharp,
// which is the larger radius.
func zeroIfNil(l *unit.Length) float64 {
	if l == nil {
		return 0
	}
	return float64(*l)
}

// lengthCalc names the calculation behind a length; what is only measured has
// none.
var lengthCalc = map[string]string{
	"length-combination": "combination-length", "radius-kingpin-front": "swing-radius", "front-projection": "swing-radius",
	"reference-wheelbase": "reference-wheelbase",
}

// lengths adds the findings on lengths and widths.
func (b *builder) lengths() {
	p, st := b.p, b.st
	t, s := p.Tractor, p.Trailer
	all := func(quantity, title string, l line, miss []string, work func(float64) string) {
		b.lawForAll(quantity, l, nil, info{title: title, missing: miss, working: work, calc: lengthCalc[quantity]})
	}
	flat := func(v float64) line { return line{a: v} }

	// af + x_k + xr, x_k = ref − lead.
	af, xr := value(t.FrontOverhang), value(s.RearEnd)
	miss := append(unknown(t, "front-overhang", t.FrontOverhang), unknown(s, "rear-end", s.RearEnd)...)
	all("length-combination", "", line{a: af + p.ref + xr, b: -1}, append(miss, b.positionMissing()...), func(lead float64) string {
		return fmt.Sprintf("front overhang %s + front axle to coupling %s + kingpin to rear end %s = %s", fmtMM(af), fmtMM(p.ref-lead), fmtMM(xr), fmtMM(af+p.ref-lead+xr))
	})
	all("length-kingpin-rear", "", flat(xr), unknown(s, "rear-end", s.RearEnd), func(float64) string {
		return "kingpin axis to the rearmost point, as measured: " + fmtMM(xr)
	})
	loadFront := value(s.Headboard) + xr
	all("length-load-front-rear", "", flat(loadFront), unknown(s, "headboard", s.Headboard, "rear-end", s.RearEnd), func(float64) string {
		return fmt.Sprintf("kingpin behind the inside of the headboard %s + kingpin to the rearmost point %s = %s", fmtMM(value(s.Headboard)), fmtMM(xr), fmtMM(loadFront))
	})
	missFront := unknown(s, "front-overhang", s.FrontOverhang, "width", s.Width)
	for i := range s.Nose {
		missFront = append(missFront, unknown(s, fmt.Sprintf("nose %d ahead", i+1), s.Nose[i].Ahead, fmt.Sprintf("nose %d half-width", i+1), s.Nose[i].HalfWide)...)
	}
	rf, _ := b.frontRadius()
	radius := func(float64) string {
		xf, w, rc := value(s.FrontOverhang), value(s.Width), zeroIfNil(s.Corner)
		text := fmt.Sprintf("√((x_f − r_c)² + (w/2 − r_c)²) + r_c, overhang %s, width %s, corner radius %s", fmtMM(xf), fmtMM(w), fmtMM(rc))
		if s.Corner == nil {
			text += " (not given: taken as sharp)"
		}
		if len(s.Nose) > 0 {
			text += fmt.Sprintf("; with %d part(s) ahead of the front wall", len(s.Nose))
		}
		return text + " = " + fmtMM(rf)
	}
	all("radius-kingpin-front", "", flat(rf), missFront, radius)
	all("front-projection", "", flat(rf), missFront, radius)

	n := len(st.trailer.bogie.at)
	last := st.trailer.bogie.at[n-1]
	axleMiss := axlesMissing(s)
	all("kingpin-to-rearmost-axle", "", flat(last), axleMiss, func(float64) string { return "kingpin axis to the last axle: " + fmtMM(last) })
	all("spread-kingpin-last-axle", "", flat(last), axleMiss, func(float64) string { return "kingpin axis to the last axle: " + fmtMM(last) })
	centre := mean(st.trailer.bogie.at)
	all("kingpin-to-bogie-centre", "", flat(centre), axleMiss, func(float64) string { return "kingpin axis to the middle of the axle group: " + fmtMM(centre) })

	// The rear overhang line leaves steering axles out, unless all steer.
	line0 := b.overhangLine()
	all("s-dimension", "", flat(line0), axleMiss, func(float64) string {
		return "kingpin axis to the middle of the axles that do not steer: " + fmtMM(line0)
	})
	all("forward-distance", "", flat(line0), axleMiss, func(float64) string {
		return "kingpin axis to the middle of the axles that do not steer: " + fmtMM(line0)
	})
	over := rule.Facts{"s-dimension": line0, "forward-distance": line0}
	b.lawForAll("rear-overhang", flat(xr-line0), over, info{missing: append(axleMiss, unknown(s, "rear-end", s.RearEnd)...),
		working: func(float64) string {
			return fmt.Sprintf("kingpin to rear end %s − kingpin to rear axis %s = %s", fmtMM(xr), fmtMM(line0), fmtMM(xr-line0))
		}})
	// The reference wheelbase is taken in the lift state that makes it longest.
	longest := math.Inf(-1)
	every := make([]int, len(s.Axles))
	for i := range every {
		every[i] = i
	}
	for _, up := range liftStates(s.Axles, every) {
		longest = math.Max(longest, unsteered(s, up))
	}
	all("reference-wheelbase", "", flat(longest), axleMiss, func(float64) string {
		return "kingpin axis to the middle of the axles that do not steer, in the lift state that makes it longest: " + fmtMM(longest)
	})

	b.lawForAll("width", flat(value(t.Width)), nil, info{title: "Tractor", id: ".tractor", missing: unknown(t, "width", t.Width),
		working: func(float64) string { return "as measured: " + fmtMM(value(t.Width)) }})
	b.lawForAll("width", flat(value(s.Width)), nil, info{title: "Semi-trailer", id: ".semi-trailer", missing: unknown(s, "width", s.Width),
		working: func(float64) string { return "as measured: " + fmtMM(value(s.Width)) }})

	// Rearmost axle of the tractor to the first of the semi-trailer.
	rearmost := st.tractor.rear.at[len(st.tractor.rear.at)-1]
	first := st.trailer.bogie.at[0]
	gap := line{a: first + p.ref - rearmost, b: -1}
	all("gap-axles-tractor-trailer", "", gap, append(axleMiss, b.positionMissing()...), func(lead float64) string {
		return fmt.Sprintf("kingpin to first axle %s − rearmost tractor axle behind the coupling %s = %s", fmtMM(first), fmtMM(rearmost-p.ref+lead), fmtMM(gap.a-lead))
	})
	spacing := line{a: last + p.ref - rearmost, b: -1}
	all("spacing-tractor-rear-trailer-rear", "", spacing, append(axleMiss, b.positionMissing()...), func(lead float64) string {
		return "rearmost tractor axle to rearmost semi-trailer axle: " + fmtMM(spacing.a-lead)
	})
	b.certificate()
	// How far the coupling stands behind the reaction line of the rear axles.
	behind := line{a: p.ref - st.tractor.rear.line, b: -1}
	all("lead-behind-axle", "", behind, b.positionMissing(), func(lead float64) string {
		return fmt.Sprintf("the coupling stands %s ahead of the rear axis", fmtMM(st.tractor.rear.line-p.ref+lead))
	})
	b.add(line{sense: -1, a: st.tractor.rear.line - p.ref, b: 1, limit: 0}, info{
		id: "caution.lead-behind", title: "Lead ahead of the rear axles' reaction line", cases: -1, unit: inMM, evidence: rule.Practice, calc: "axle-loads",
		source: "common practice, no source: never behind it in normal service", missing: b.positionMissing(), scale: gapScale, advisory: true,
		failed: "A coupling behind that line takes load off the front axle: steering and braking suffer.",
		working: func(lead float64) string {
			return fmt.Sprintf("reaction line %s behind the front axle − coupling %s", fmtMM(st.tractor.rear.line), fmtMM(p.ref-lead))
		}})
}

func mean(x []float64) (m float64) {
	for _, v := range x {
		m += v
	}
	return m / float64(len(x))
}

func axlesMissing(s *vehicle.SemiTrailer) []string {
	var out []string
	for i := range s.Axles {
		if _, ok := s.AxleAt(i); !ok {
			out = append(out, missing(s, fmt.Sprintf("axle %d at or gap", i+1)))
		}
	}
	return out
}

// unsteered is the middle of the axles on the ground that do not steer; NaN
// when all steer.
func unsteered(s *vehicle.SemiTrailer, up lifts) float64 {
	sum, n := 0.0, 0
	for i := range s.Axles {
		if up.has(i) || s.Axles[i].Steering != "" {
			continue
		}
		x, ok := s.AxleAt(i)
		if !ok {
			return nan
		}
		sum += float64(x)
		n++
	}
	return sum / float64(n)
}

// overhangLine is the rear axis of the laws that measure from it.
func (b *builder) overhangLine() float64 {
	if x := unsteered(b.p.Trailer, b.st.trailer.up); !math.IsNaN(x) {
		return x
	}
	return mean(b.st.trailer.bogie.at)
}

// level returns the coupling heights of the state's level.
func (b *builder) level() *vehicle.Level {
	if b.st.level < 0 {
		return &vehicle.Level{}
	}
	return &b.p.Tractor.FifthWheel.Levels[b.st.level]
}

// heights adds the findings on total height: the semi-trailer tilts when the
// coupling is not as high as its own level height.
func (b *builder) heights() {
	t, s, lv := b.p.Tractor, b.p.Trailer, b.level()
	b.lawForAll("height", line{a: value(t.Height)}, nil, info{title: "Tractor", id: ".tractor", missing: unknown(t, "height", t.Height),
		working: func(float64) string { return "as measured, unladen: " + fmtMM(value(t.Height)) }})
	for _, h := range []struct {
		name   string
		height *unit.Length
		raised bool
	}{{"unladen", lv.Unladen, false}, {"laden", lv.Laden, false}, {"suspension raised", lv.Raised, true}} {
		if h.raised && h.height == nil {
			continue // not every chassis says; the other two are asked for
		}
		miss := append(unknown(t, "fifth-wheel level "+h.name, h.height),
			unknown(s, "plate-height", s.PlateHeight, "body-height", s.BodyHeight, "front-overhang", s.FrontOverhang, "rear-end", s.RearEnd)...)
		miss = append(miss, axlesMissing(s)...)
		in := clearance.CoupledTrailer{
			CouplingHeight: unit.Length(value(h.height)), TrailerHeight: unit.Length(value(s.PlateHeight)), PinToBogie: unit.Length(b.st.trailer.bogie.line),
			BodyHeight: unit.Length(value(s.BodyHeight)), Front: unit.Length(value(s.FrontOverhang)), Rear: unit.Length(value(s.RearEnd)),
		}
		top := nan
		tilt, err := clearance.TrailerTilt(in)
		if err == nil {
			top = float64(tilt.Top())
		}
		i := info{title: "Semi-trailer, " + h.name, id: "." + Slug(h.name), missing: miss, calc: "trailer-tilt", working: func(float64) string {
			return fmt.Sprintf("tan β = (H_c − H_k)/L = (%s − %s)/%s, β = %s; front %s, rear %s",
				fmtMM(float64(in.CouplingHeight)), fmtMM(float64(in.TrailerHeight)), fmtM(float64(in.PinToBogie)), fmtDeg(float64(tilt.Angle)), fmtMM(float64(tilt.FrontTop)), fmtMM(float64(tilt.RearTop)))
		}}
		from := len(b.st.infos)
		b.lawForAll("height", line{a: top}, nil, i)
		for k := from; h.raised && k < len(b.st.infos); k++ { // raised is not driven; it warns
			b.st.infos[k].binding = false
			b.st.infos[k].failed = "Raised for coupling or loading it is over the limit: lower it to driving level before moving off."
		}
	}
}

// tiltDepth is where the plate's tilt axis lies below its surface: as measured,
// else SAE J701's figure as a labelled assumption.
func (b *builder) tiltDepth() (float64, string) {
	if d := b.p.Tractor.FifthWheel.TiltDepth; d != nil {
		return float64(*d), ""
	}
	return float64(clearance.SAEJ701TiltAxisDepth), " (tilt axis 88.9 mm below the plate assumed, SAE J701)"
}

// A front part of the semi-trailer that swings past the cab.
type swinging struct {
	name        string
	radius      float64
	bottom, top float64 // above the plate
}

// clearances adds the findings on the cab, the legs and the frame end.
func (b *builder) clearances() {
	b.cab()
	b.legs()
	b.frame()
	b.pitchAndRoll()
}

// cabPitch and cabRoom are the criterion the trade press reported of ISO 1726
// in 1990: 80 mm left with the trailer canted 6°. The standard was not read.
const (
	cabPitch = 6 * unit.Degree
	cabRoom  = 0.080
)

func (b *builder) cab() {
	p := b.p
	t, s, lv := p.Tractor, p.Trailer, b.level()
	base := append(unknown(s, "front-overhang", s.FrontOverhang, "width", s.Width, "body-height", s.BodyHeight),
		unknown(t, "fifth-wheel level laden", lv.Laden)...)
	base = append(base, b.positionMissing()...)
	if len(t.Behind) == 0 {
		b.add(line{sense: -1, a: nan, limit: 0}, info{id: "clear.cab", title: "Cab clear of the swinging front", cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "cab-gap", source: mechanics, missing: []string{missing(t, "behind-cab")}, scale: gapScale})
		return
	}
	parts := b.frontParts()
	hc := value(lv.Laden)
	depth, assumed := b.tiltDepth()
	met := false
	for k := range t.Behind {
		o := &t.Behind[k]
		name := o.Name
		if name == "" {
			name = fmt.Sprintf("point %d behind the cab", k+1)
		}
		miss := append(base[:len(base):len(base)], unknown(t, name+" at", o.At, name+" top", o.Top)...)
		at, top := value(o.At), value(o.Top)
		bottom := hc
		if o.Bottom != nil {
			bottom = float64(*o.Bottom)
		}
		level, reach, which := math.Inf(-1), math.Inf(-1), "front corner"
		for _, part := range parts {
			lo, hi := math.Max(bottom-hc, part.bottom), math.Min(top-hc, part.top)
			if hi <= lo && !math.IsNaN(hi) && !math.IsNaN(lo) {
				continue // they pass at different heights
			}
			if part.radius > level || math.IsNaN(part.radius) {
				level, which = part.radius, part.name
			}
			g, err := clearance.GapToCab(clearance.CabLayer{SwingRadius: unit.Length(part.radius), Height: unit.Length(hi), NoseDown: cabPitch, TiltAxisDepth: unit.Length(depth)})
			if err != nil {
				reach = nan
				continue
			}
			reach = math.Max(reach, float64(g.Reach))
		}
		if math.IsInf(level, -1) {
			continue // lower than everything that swings
		}
		met = true
		dc := p.ref - at
		b.add(line{sense: -1, a: dc - level, b: -1, limit: 0}, info{
			id: "clear.cab." + Slug(name), title: "Clear of the " + name + ", level", cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "cab-gap", source: mechanics, missing: miss, scale: gapScale,
			failed: "The " + which + " strikes the " + name + " in a turn.",
			working: func(lead float64) string {
				return fmt.Sprintf("coupling to %s %s − swing radius of the %s %s = %s; every articulation counts", name, fmtMM(dc-lead), which, fmtMM(level), fmtMM(dc-lead-level))
			}})
		b.add(line{sense: -1, a: dc - reach, b: -1, limit: cabRoom}, info{
			id: "clear.cab-pitched." + Slug(name), title: "Clear of the " + name + ", nose down 6°", cases: -1, unit: inMM, evidence: rule.Practice,
			calc: "cab-gap", source: "trade press on ISO 1726, 25 October 1990, p. 50; the standard not read: practice", missing: miss, scale: gapScale,
			failed: "On a ramp or over a hump the front comes closer than the 80 mm reported as usual.",
			working: func(lead float64) string {
				return fmt.Sprintf("reach X = R_s·cos 6° + (z + p)·sin 6° = %s at the highest overlap; coupling to %s %s − X = %s%s", fmtMM(reach), name, fmtMM(dc-lead), fmtMM(dc-lead-reach), assumed)
			}})
	}
	if !met { // what was taped stands above or below the front: what it meets is not known
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, part := range parts {
			lo, hi = math.Min(lo, hc+part.bottom), math.Max(hi, hc+part.top)
		}
		b.add(line{sense: -1, a: nan, limit: 0}, info{id: "clear.cab", title: "Cab clear of the swinging front", cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "cab-gap", source: mechanics, scale: gapScale,
			missing: []string{missing(t, fmt.Sprintf("behind-cab at the height of the semi-trailer's front, %s to %s above ground", fmtMM(lo), fmtMM(hi)))}})
	}
}

func (b *builder) frontParts() []swinging {
	s := b.p.Trailer
	parts := []swinging{{"front corner", nan, 0, value(s.BodyHeight)}}
	if s.FrontOverhang != nil && s.Width != nil {
		if front, err := clearance.SwingRadius(clearance.Nose{Overhang: *s.FrontOverhang, Width: *s.Width, Corner: unit.Length(zeroIfNil(s.Corner))}); err == nil {
			parts[0].radius = float64(front.Radius)
		}
	}
	for i := range s.Nose {
		n := &s.Nose[i]
		bottom, top := value(n.Bottom), value(n.Top)
		if math.IsNaN(bottom) {
			bottom = 0
		}
		if math.IsNaN(top) {
			top = value(s.BodyHeight)
		}
		name := n.Name
		if name == "" {
			name = "part ahead of the front wall"
		}
		parts = append(parts, swinging{name, math.Hypot(value(n.Ahead), value(n.HalfWide)), bottom, top})
	}
	return parts
}

// Slug is a name as it stands in the id of a finding: small letters, digits and
// hyphens.
func Slug(name string) string {
	out := []rune{}
	for _, r := range name {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			out = append(out, r)
		case r >= 'A' && r <= 'Z':
			out = append(out, r-'A'+'a')
		case len(out) > 0 && out[len(out)-1] != '-':
			out = append(out, '-')
		}
	}
	return string(out)
}

// legs adds what the tractor's rear corners leave to whatever hangs below the
// trailer's plate, at every articulation.
func (b *builder) legs() {
	p := b.p
	t, s := p.Tractor, p.Trailer
	miss := append(unknown(s, "clear-radius", s.Clear), b.positionMissing()...)
	if len(t.Corners) == 0 {
		b.add(line{sense: -1, a: nan, limit: 0}, info{id: "clear.legs", title: "Rear corners clear of the legs", cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "leg-gap", source: mechanics, missing: append(miss, missing(t, "rear-corner")), scale: gapScale})
		return
	}
	clear := value(s.Clear)
	for k := range t.Corners {
		c := &t.Corners[k]
		name := c.Name
		if name == "" {
			name = fmt.Sprintf("rear corner %d", k+1)
		}
		x, y := value(c.At), value(c.HalfWide)
		b.add(line{form: corner, sense: -1, a: clear, b: x - p.ref, y: y, limit: 0}, info{
			id: "clear.legs." + Slug(name), title: "Legs clear of the " + name, cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "leg-gap", source: mechanics, missing: append(miss[:len(miss):len(miss)], unknown(t, name+" at", c.At, name+" half-width", c.HalfWide)...), scale: gapScale,
			failed: "The " + name + " strikes the legs, or what hangs beside them, in a turn.",
			working: func(lead float64) string {
				r := math.Hypot(x-p.ref+lead, y)
				return fmt.Sprintf("free radius about the pin %s − corner √(%s² + %s²) = %s", fmtMM(clear), fmtMM(x-p.ref+lead), fmtMM(y), fmtMM(clear-r))
			}})
	}
}

// frame adds what is left between the tractor's rear corners and the
// semi-trailer's underside with both level.
func (b *builder) frame() {
	t, lv := b.p.Tractor, b.level()
	for k := range t.Corners {
		c := &t.Corners[k]
		name := c.Name
		if name == "" {
			name = fmt.Sprintf("rear corner %d", k+1)
		}
		hc, h := value(lv.Laden), value(c.Height)
		b.add(line{sense: -1, a: hc - h, limit: 0}, info{
			id: "clear.frame." + Slug(name), title: "Underside above the " + name + ", level", cases: -1, unit: inMM, evidence: rule.Derived, binding: true,
			calc: "frame-gap", source: mechanics, missing: append(unknown(t, "fifth-wheel level laden", lv.Laden), unknown(t, name+" height", c.Height)...), scale: gapScale,
			failed: "The semi-trailer's underside lies on the " + name + ".",
			working: func(float64) string {
				return fmt.Sprintf("top plate %s − top of the %s %s = %s", fmtMM(hc), name, fmtMM(h), fmtMM(hc-h))
			}})
	}
}

// pitchAndRoll adds the combined case of tilt: nose up and rolled at once, as
// one case, over each rear corner. The angles are not verified and only warn.
func (b *builder) pitchAndRoll() {
	p := b.p
	t, lv := p.Tractor, b.level()
	set := clearance.AngleSets[0]
	if lv.Laden != nil && *lv.Laden < 1.10 {
		set = clearance.AngleSets[1]
		set.Roll = clearance.AngleSets[0].Roll
	}
	depth, assumed := b.tiltDepth()
	tc := set.Rearward(clearance.Clearances{TiltAxisDepth: unit.Length(depth)})
	for k := range t.Corners {
		c := &t.Corners[k]
		if c.Height == nil || c.At == nil || c.HalfWide == nil || lv.Laden == nil {
			continue // the level gap names what is missing
		}
		name := c.Name
		if name == "" {
			name = fmt.Sprintf("rear corner %d", k+1)
		}
		x := float64(*c.At) - p.ref
		gap := func(lead float64) float64 {
			g, err := clearance.GapOverFrame(clearance.Obstacle{Distance: unit.Length(math.Max(0, x+lead)), Below: *lv.Laden - *c.Height, Offset: *c.HalfWide}, tc)
			if err != nil {
				return nan
			}
			return float64(g.Gap)
		}
		// Straight in the distance from the tilt axis.
		at0 := gap(1 - x)
		slope := gap(2-x) - at0
		b.add(line{sense: -1, a: at0 - slope*(1-x), b: slope, limit: 0}, info{
			id: "clear.tilt." + Slug(name), title: fmt.Sprintf("Underside above the %s, nose up %.3g° and rolled %.3g°", name, set.NoseUp.Degrees(), set.Roll.Degrees()),
			cases: -1, unit: inMM, evidence: rule.Memory, calc: "frame-gap", missing: b.positionMissing(), scale: gapScale,
			source: set.Source + "; angles not verified", failed: "Over a hump or a ramp's edge the underside may strike the " + name + ".",
			working: func(lead float64) string {
				return fmt.Sprintf("h + (p − |y|·tan α)/cos β − p − d·tan β with h %s, d %s, y %s = %s%s", fmtMM(float64(*lv.Laden-*c.Height)), fmtMM(x+lead), fmtMM(float64(*c.HalfWide)), fmtMM(gap(lead)), assumed)
			}})
	}
}
