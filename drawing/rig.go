package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"underpin/assess"
	"underpin/clearance"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
	"underpin/vehicle"
)

// A size is a length in mm. One that is not known has a stand-in, so that the
// part can be drawn dashed somewhere.
type size struct {
	mm    float64
	known bool
}

// standIn are the plausible sizes, in mm, of what nobody has given. They place
// dashed lines and are never lettered. Common practice, no source.
const (
	standInOverhang    = 1400.0
	standInWheelbase   = 3700.0
	standInGap         = 1350.0
	standInFrameTail   = 850.0 // frame end behind the last axle
	standInCab         = 2150.0
	standInHeight      = 3500.0
	standInTyre        = 500.0
	standInCoupling    = 1150.0
	standInLead        = 500.0
	standInFirst       = 6400.0 // kingpin to the first axle
	standInTrailerGap  = 1310.0
	standInNose        = 1500.0
	standInTrailerTail = 2900.0
	standInBody        = 2700.0
	standInFlatBody    = 600.0
	standInFloor       = 110.0
	standInWidth       = 2550.0
	standInClear       = 2300.0
)

// wheels are those of one axle.
type wheels struct {
	at, r    size
	up, twin bool
	number   int // in its vehicle, from 1
	kind     string
	steers   bool
}

// A rig is a combination in one setting, in the drawing's millimetres.
type rig struct {
	figures
	p     *assess.Pairing
	r     *assess.Result
	o     Options
	text  lettering
	loads *assess.Loads // of the shown case; nil without cases
	load  *assess.Case

	overhang, frameEnd, frameTop, cabTop, tractorWide size
	tractor, trailer                                  []wheels
	ref, xk                                           size // drive axle and coupling, behind the front axle
	coupling, plate                                   size // heights of fifth wheel and of the trailer's own plate
	pinToBogie                                        size
	nose, tail, body, floor, trailerWide, clear       size
	tilt                                              unit.Angle
	tilted                                            bool // tilt is known

	missing []string // what is drawn dashed
}

func (g *rig) word(s string) string { return g.o.word(s) }

// take reads a length; an unknown one is noted under its name and gets its
// stand-in.
func (g *rig) take(name string, l *unit.Length, standIn float64) size {
	if l != nil && !math.IsNaN(float64(*l)) && !math.IsInf(float64(*l), 0) {
		return size{l.Millimetres(), true}
	}
	if name != "" {
		g.miss(g.word(name))
	}
	return size{standIn, false}
}

func (g *rig) miss(what string) {
	if !slices.Contains(g.missing, what) {
		g.missing = append(g.missing, what)
	}
}

func newRig(p *assess.Pairing, r *assess.Result, o Options) *rig {
	g := &rig{figures: figures{o.Units}, p: p, r: r, o: o, text: o.lettering()}
	g.pickCase()
	t, s := p.Tractor, p.Trailer
	g.overhang = g.take("front overhang of the tractor", t.FrontOverhang, standInOverhang)
	g.tractor = g.axles(t.Axles, r.Setting.TractorLifted, t.AxleAt, "tractor", standInWheelbase, standInGap)
	g.trailer = g.axles(s.Axles, r.Setting.TrailerLifted, s.AxleAt, "semi-trailer", standInFirst, standInTrailerGap)
	last := 0.0
	if n := len(g.tractor); n > 0 {
		last = g.tractor[n-1].at.mm
	}
	g.frameEnd = g.take("rear end of the tractor", t.RearEnd, last+standInFrameTail)
	g.cabTop = g.take("height of the tractor", t.Height, standInHeight)
	g.tractorWide = g.take("", t.Width, standInWidth)
	g.setCoupling()
	g.setTrailer(s)
	g.frameTop = size{math.Min(g.coupling.mm-235, 1000), false}
	least := math.Inf(1)
	for i := range t.Corners { // the frame is the corner nearest to the centre line
		c := &t.Corners[i]
		half := 0.0
		if c.HalfWide != nil {
			half = float64(*c.HalfWide)
		}
		if c.Height != nil && half < least {
			least = half
			g.frameTop = size{c.Height.Millimetres(), true}
		}
	}
	return g
}

func (g *rig) pickCase() {
	want := g.o.Case
	if want == "" {
		want = vehicle.CaseLaden
	}
	for pass := range 2 {
		for i := range g.p.Cases {
			if pass == 1 || g.p.Cases[i].ID == want {
				g.load = &g.p.Cases[i]
				for k := range g.r.Loads {
					if g.r.Loads[k].Case == g.load.ID {
						g.loads = &g.r.Loads[k]
					}
				}
				return
			}
		}
	}
}

// axles places the axles of one vehicle. Behind one whose place is unknown the
// next are placed by guess too.
func (g *rig) axles(axles []vehicle.Axle, up []int, at func(int) (unit.Length, bool), of string, first, gap float64) []wheels {
	out := make([]wheels, len(axles))
	for i := range axles {
		a := &axles[i]
		w := wheels{number: i + 1, kind: a.Kind, up: slices.Contains(up, i+1), twin: a.TwinTyres != nil && *a.TwinTyres, steers: a.Steering != "" || a.Kind == "steer"}
		if x, ok := at(i); ok {
			w.at = size{x.Millimetres(), true}
		} else {
			switch {
			case i == 0:
				w.at.mm = first
			case of == "tractor" && i == 1:
				w.at.mm = first
			default:
				w.at.mm = out[i-1].at.mm + gap
			}
			if a.Gap != nil && i > 0 {
				w.at.mm = out[i-1].at.mm + a.Gap.Millimetres()
			}
			g.miss(fmt.Sprintf("%s %d", g.word("place of "+of+" axle"), i+1))
		}
		w.r = g.take("tyre radius", a.TyreRadius, standInTyre)
		out[i] = w
	}
	return out
}

// setCoupling places the fifth wheel as the result has it.
func (g *rig) setCoupling() {
	sum, n, known := 0.0, 0, true
	for _, w := range g.tractor {
		if w.kind == "drive" {
			sum, n, known = sum+w.at.mm, n+1, known && w.at.known
		}
	}
	switch {
	case n > 0:
		g.ref = size{sum / float64(n), known}
	case len(g.tractor) > 0:
		g.ref = size{g.tractor[len(g.tractor)-1].at.mm, false}
	default:
		g.ref = size{standInWheelbase, false}
	}
	switch at := float64(g.r.Setting.At); {
	case !math.IsNaN(at) && !math.IsInf(at, 0):
		g.xk = size{at * 1e3, true}
	case g.p.Tractor.FifthWheel.At != nil:
		g.xk = size{g.p.Tractor.FifthWheel.At.Millimetres(), true}
	default:
		g.xk = size{g.ref.mm - standInLead, false}
		g.miss(g.word("position of the fifth wheel"))
	}
	var level *vehicle.Level
	for i := range g.p.Tractor.FifthWheel.Levels {
		l := &g.p.Tractor.FifthWheel.Levels[i]
		if level == nil || (g.r.Setting.Level == "" && l.Set) || (g.r.Setting.Level != "" && l.Name == g.r.Setting.Level) {
			level = l
		}
	}
	if level == nil {
		level = &vehicle.Level{}
	}
	h := level.Laden
	if g.load != nil && g.load.Payload == 0 {
		h = level.Unladen
	}
	g.coupling = g.take("coupling height", h, standInCoupling)
}

func (g *rig) setTrailer(s *vehicle.SemiTrailer) {
	g.plate = g.take("plate height of the semi-trailer", s.PlateHeight, g.coupling.mm)
	if !g.coupling.known && g.plate.known {
		g.coupling.mm = g.plate.mm
	}
	g.nose = g.take("front overhang of the semi-trailer", s.FrontOverhang, standInNose)
	last := standInFirst
	if n := len(g.trailer); n > 0 {
		last = g.trailer[n-1].at.mm
	}
	g.tail = g.take("rear end of the semi-trailer", s.RearEnd, last+standInTrailerTail)
	body := standInBody
	switch s.Kind {
	case "flatbed", "low-loader", "step-frame":
		body = standInFlatBody
	}
	g.body = g.take("body height", s.BodyHeight, body)
	g.floor = g.take("", s.FloorHeight, math.Min(standInFloor, g.body.mm/2))
	g.trailerWide = g.take("", s.Width, standInWidth)
	g.clear = g.take("", s.Clear, standInClear)

	// The bogie carries in the middle of the axles that are down, by their parts.
	sum, parts, known := 0.0, 0.0, len(g.trailer) > 0
	for i, w := range g.trailer {
		if !w.up {
			sum, parts, known = sum+w.at.mm*s.Share(i), parts+s.Share(i), known && w.at.known
		}
	}
	g.pinToBogie = size{sum / parts, known}
	if !(parts > 0) || !(g.pinToBogie.mm > 0) {
		g.pinToBogie = size{math.Max(last, 1000), false}
	}
	if g.coupling.known && g.plate.known && g.pinToBogie.known {
		mm := func(v size) unit.Length { return unit.Length(v.mm / 1e3) }
		if tilt, err := clearance.TrailerTilt(clearance.CoupledTrailer{
			CouplingHeight: mm(g.coupling), TrailerHeight: mm(g.plate), PinToBogie: mm(g.pinToBogie),
			BodyHeight: unit.Length(math.Max(0, g.body.mm) / 1e3), Front: mm(g.nose), Rear: mm(g.tail),
		}); err == nil {
			g.tilt, g.tilted = tilt.Angle, true
		}
	}
}

// lead is how far the coupling stands ahead of the drive axle.
func (g *rig) lead() size { return size{g.ref.mm - g.xk.mm, g.ref.known && g.xk.known} }

// on returns the place of a point of the semi-trailer as it is coupled: mm
// behind the kingpin and above the rubbing plate.
func (g *rig) on(behind, above float64) scene.Pt {
	sin, cos := math.Sincos(float64(g.tilt))
	return scene.Pt{X: g.xk.mm + behind*cos + above*sin, Y: g.coupling.mm + above*cos - behind*sin}
}

// travel is the range of leads that the slider allows, in mm; ok is false for a
// fixed coupling and while an end is unknown.
func (g *rig) travel() (lo, hi float64, ok bool) {
	if g.r.Fixed {
		return 0, 0, false
	}
	lo, hi = g.r.Travel[0].Millimetres(), g.r.Travel[1].Millimetres()
	return lo, hi, lo <= hi && !math.IsInf(lo, 0) && !math.IsInf(hi, 0)
}

// lawful returns the lawful leads in mm, and how they are to be understood.
type lawful struct {
	spans   [][2]float64
	certain bool // every binding finding was looked at and holds in there
	unknown bool // nothing fails for certain in there, and something is missing
}

// lawfulLeads reads the lawful range off the result. While something else fails
// or is missing it is the part that the position decides, which is drawn hollow.
func (g *rig) lawfulLeads() lawful {
	var l lawful
	add := func(r [2]unit.Length) {
		a, b := r[0].Millimetres(), r[1].Millimetres()
		if a <= b && !math.IsInf(a, 0) && !math.IsInf(b, 0) {
			l.spans = append(l.spans, [2]float64{a, b})
		}
	}
	switch {
	case len(g.r.Ranges) > 0:
		for _, r := range g.r.Ranges {
			add(r)
		}
		l.certain = true
	case g.r.Answer == rule.CannotTell:
		for _, r := range g.r.Possible {
			add(r)
		}
		l.unknown = true
	case g.r.LeadOnly != nil:
		add(*g.r.LeadOnly)
	}
	return l
}

// stands tells where the fifth wheel stands now, where that is stated and is not
// where it is drawn.
func (g *rig) stands() (lead float64, other bool) {
	lead = g.p.Now().Lead.Millimetres()
	if math.IsNaN(lead) || math.IsInf(lead, 0) {
		return 0, false
	}
	return lead, math.Abs(lead-g.lead().mm) > 0.5
}

// worst returns the state of the worst finding that of selects, among those of
// the shown case. NoRole is no finding.
func (g *rig) worst(of func(*assess.Finding) bool) scene.Role {
	rank := func(f *assess.Finding) int {
		switch {
		case f.Answer == rule.DoesNotFit && f.Binding:
			return 4
		case f.Answer == rule.DoesNotFit:
			return 3
		case f.Answer == rule.CannotTell && f.Binding:
			return 2
		}
		return 1
	}
	most := 0
	for i := range g.r.Findings {
		f := &g.r.Findings[i]
		if (f.Case == "" || (g.load != nil && f.Case == g.load.ID)) && of(f) {
			most = max(most, rank(f))
		}
	}
	return [...]scene.Role{scene.NoRole, scene.RoleHolds, scene.RoleUnknown, scene.RoleCaution, scene.RoleFails}[most]
}

// groupState is the state of a group of axles: of the findings on the group,
// and with its axles of those on each axle.
func (g *rig) groupState(id string, withAxles bool) scene.Role {
	return g.worst(func(f *assess.Finding) bool {
		return f.Group == id && f.Unit.Dim == unit.MassDim && (f.Axle == 0 || withAxles)
	})
}

// massFinding tells whether a finding is on a whole mass: by the id of its plate
// or the quantity of its law.
func massFinding(f *assess.Finding, plate, quantity string) bool {
	return f.ID == plate || (quantity != "" && f.Quantity == quantity)
}

// sign is the shape of a state in a line of letters.
func sign(r scene.Role) string {
	switch r {
	case scene.RoleFails:
		return "✕\u00a0"
	case scene.RoleCaution:
		return "▲\u00a0"
	case scene.RoleUnknown:
		return "○\u00a0"
	case scene.RoleHolds:
		return "●\u00a0"
	}
	return ""
}

// shade returns a layer as it is for what is known and dashed for what is not.
func (s size) layer(l scene.Layer) scene.Layer {
	if s.known {
		return l
	}
	return l.As(scene.RoleUnknown)
}

func both(a ...size) size {
	out := size{known: true}
	for _, s := range a {
		out.known = out.known && s.known
	}
	return out
}

func has(name string, words ...string) bool {
	name = strings.ToLower(name)
	for _, w := range words {
		if strings.Contains(name, w) {
			return true
		}
	}
	return false
}
