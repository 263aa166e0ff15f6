package mounting

import (
	"underpin/unit"
)

// A File is one parts file: chassis, the catalogue, and what is asked of them.
type File struct {
	Name     string    `toml:"name,omitempty" doc:"What the catalogue is called."`
	Note     string    `toml:"note,omitempty" doc:"Anything a reader should know: where the figures come from."`
	Chassis  []Chassis `toml:"chassis,omitempty" doc:"The chassis that couplings are mounted on."`
	Parts    []Part    `toml:"part,omitempty" doc:"The catalogue: plates, pedestals, brackets, sliders, height-adjustable mountings, fifth wheels."`
	Briefs   []Brief   `toml:"brief,omitempty" doc:"What is asked of a mounting."`
	Fittings []Fitting `toml:"fitting,omitempty" doc:"Chosen mountings, with their bolts."`
}

// The kinds of part.
const (
	FifthWheel = "fifth-wheel"
	Plate      = "mounting-plate"
	Pedestal   = "pedestal"
	Bracket    = "bracket"
	Slider     = "slider"
	Lift       = "lift"
)

var kinds = [...]string{FifthWheel, Plate, Pedestal, Bracket, Slider, Lift}

// The bases of a chassis that a stack may begin on.
const (
	OnFrame    = "frame"
	OnSubframe = "subframe"
	OnAngles   = "angles"
)

var bases = [...]string{OnFrame, OnSubframe, OnAngles}

// A Part is one part of the catalogue.
type Part struct {
	ID   string `toml:"id,omitempty" doc:"Short name; small letters, digits and hyphens."`
	Name string `toml:"name,omitempty" doc:"Name shown to people."`
	Note string `toml:"note,omitempty" doc:"Anything a reader should know."`
	Kind string `toml:"kind,omitempty" doc:"What it is: fifth-wheel, mounting-plate, pedestal, bracket (angle bracket on the side members), slider, lift (height-adjustable mounting)." oneof:"fifth-wheel mounting-plate pedestal bracket slider lift"`
	Form string `toml:"form,omitempty" doc:"Mounting plate: flat or ribbed." oneof:"flat ribbed"`

	Height    *unit.Length `toml:"height,omitempty" doc:"From the face that it stands on to the face that it offers; fifth wheel: bolting face to the top plate's surface; bracket: frame top to the face that it offers; lift: in its lowest position." tape:"Between the two faces, part laid on a flat table." min:"0 mm" max:"600 mm"`
	Mass      *unit.Mass   `toml:"mass,omitempty" doc:"Its mass." min:"1 kg" max:"2 t"`
	Ahead     *unit.Length `toml:"ahead,omitempty" doc:"Its middle to its foremost point." min:"0 mm" max:"3 m"`
	Behind    *unit.Length `toml:"behind,omitempty" doc:"Its middle to its rearmost point." min:"0 mm" max:"3 m"`
	Thickness *unit.Length `toml:"thickness,omitempty" doc:"Thickness of the steel where it is bolted down." min:"2 mm" max:"80 mm"`
	StandsOn  []string     `toml:"stands-on,omitempty" doc:"What it may stand on: frame, subframe, angles, kinds of part, or ids of parts."`

	D        *unit.Force `toml:"d-value,omitempty" doc:"Marked D-value." tape:"Type plate of the part." min:"20 kN" max:"1000 kN"`
	Imposed  *unit.Mass  `toml:"imposed,omitempty" doc:"Marked imposed load U." tape:"Type plate of the part." min:"1 t" max:"100 t"`
	ReadFrom string      `toml:"read-from,omitempty" doc:"Where the marked values were read: plate, document or memory; unknown where nobody has read them yet. Memory never certifies." oneof:"plate document memory unknown"`
	Approval string      `toml:"approval,omitempty" doc:"Approval number and class as marked."`

	Foot     *Pattern `toml:"foot,omitempty" doc:"Holes by which it is bolted to what it stands on."`
	Top      *Pattern `toml:"top,omitempty" doc:"Holes that it offers to what stands on it; of a slider from the middle of its carriage."`
	Material string   `toml:"material,omitempty" doc:"Steel or iron under the bolt heads, such as S355."`

	Pin        *unit.Length `toml:"pin,omitempty" doc:"Fifth wheel: kingpin size that the jaw is made for, 50 mm (2 in) or 90 mm (3.5 in)." tape:"Type plate; else measure the jaw." min:"50 mm" max:"90 mm"`
	Wedge      *bool        `toml:"steering-wedge,omitempty" doc:"Fifth wheel: approved for a steering wedge (positive steering)."`
	Tilting    string       `toml:"tilting,omitempty" doc:"Fifth wheel: pitch (about the cross axis only) or pitch-and-roll." oneof:"pitch pitch-and-roll"`
	RollLock   *bool        `toml:"roll-lockable,omitempty" doc:"Fifth wheel: a pitching and rolling plate can be locked against roll for the road."`
	Cushioned  *bool        `toml:"cushioned,omitempty" doc:"Fifth wheel: its bearings are cushioned."`
	ForeAft    *bool        `toml:"fore-and-aft,omitempty" doc:"Fifth wheel: yields along the frame under jerks."`
	TiltDepth  *unit.Length `toml:"tilt-axis-depth,omitempty" doc:"Fifth wheel: tilt axis below the top plate's surface." min:"10 mm" max:"300 mm"`
	JointDepth *unit.Length `toml:"joint-depth,omitempty" doc:"Fifth wheel: where the jaw takes the pin, below the top plate's surface; the line on which the pull acts." min:"0 mm" max:"150 mm"`

	Prepared []string `toml:"prepared-for,omitempty" doc:"Fifth wheel: what its document says can be added to it: automatic-greasing, lock-sensing."`

	Travel   *unit.Length `toml:"travel,omitempty" doc:"Slider: from the foremost slide position to the rearmost." min:"20 mm" max:"3 m"`
	Pitch    *unit.Length `toml:"pitch,omitempty" doc:"Slider: distance between two slide positions." min:"5 mm" max:"500 mm"`
	Foremost *unit.Length `toml:"foremost,omitempty" doc:"Slider: middle of the carriage in its foremost position, from the slider's middle; ahead is negative. Left out: the travel lies evenly about the middle." min:"-3 m" max:"3 m"`

	Stroke    *unit.Length  `toml:"stroke,omitempty" doc:"Lift: from its lowest position to its highest." min:"5 mm" max:"500 mm"`
	Positions []unit.Length `toml:"positions,omitempty" doc:"Lift: the heights that it locks in, above the lowest, the lowest included. Left out: any height of the stroke."`
}

// Called returns how the part is named in lists of what is missing.
func (p *Part) Called() string { return "part " + p.ID }

// Title returns the name people know it by.
func (p *Part) Title() string {
	if p.Name != "" {
		return p.Name
	}
	return p.ID
}

// rated tells whether a part of this kind carries marks of its own: an angle
// bracket is judged by its bolts.
func (p *Part) rated() bool { return p.Kind != Bracket || p.D != nil || p.Imposed != nil }

// carriage returns where, from a slider's middle, the carriage stands in its
// foremost position, and the number of slide positions.
func (p *Part) carriage() (foremost, travel, pitch unit.Length) {
	if p.Kind != Slider || p.Travel == nil || p.Pitch == nil {
		return 0, 0, 0
	}
	steps := unit.Length(int(float64(*p.Travel / *p.Pitch) + 1e-6))
	pitch = *p.Pitch
	travel = steps * pitch
	foremost = -travel / 2
	if p.Foremost != nil {
		foremost = *p.Foremost
	}
	return foremost, travel, pitch
}

// A Chassis is what a stack begins on, and how high that stands.
type Chassis struct {
	ID    string   `toml:"id,omitempty" doc:"Short name; small letters, digits and hyphens."`
	Name  string   `toml:"name,omitempty" doc:"Name shown to people."`
	Note  string   `toml:"note,omitempty" doc:"Anything a reader should know."`
	For   []string `toml:"for,omitempty" doc:"Ids of the tractors of the fleet file that have this chassis."`
	Guide string   `toml:"guide,omitempty" doc:"Title, number and date of the chassis maker's body-builder guide that was at hand. It has the last word; without it nothing is approved."`

	From   *unit.Length `toml:"foremost,omitempty" doc:"Foremost place of the coupling's middle that the guide allows, from the front axle." min:"300 mm" max:"15 m"`
	To     *unit.Length `toml:"rearmost,omitempty" doc:"Rearmost place that the guide allows." min:"300 mm" max:"15 m"`
	Direct *bool        `toml:"without-plate,omitempty" doc:"The guide permits a fifth wheel without a mounting plate."`

	TyreRadius  *unit.Length `toml:"tyre-radius,omitempty" doc:"Rear axle, ground to hub centre, tractor alone and ready to drive." tape:"Ground to hub centre." min:"200 mm" max:"800 mm"`
	AxleToFrame *unit.Length `toml:"axle-to-frame,omitempty" doc:"Rear axle, hub centre to the frame's top at driving level." tape:"Hub centre to the top of the side member." min:"0 mm" max:"1 m"`
	FrameRear   *unit.Length `toml:"frame-rear,omitempty" doc:"Instead of both: ground to the frame's top above the rear axle, tractor alone, driving level." tape:"Ground to the top of the side member." min:"400 mm" max:"1600 mm"`
	FrameFront  *unit.Length `toml:"frame-front,omitempty" doc:"Ground to the frame's top above the front axle, in the same state. Left out: the frame is taken as level." tape:"Ground to the top of the side member." min:"400 mm" max:"1600 mm"`
	Raised      *unit.Length `toml:"raised,omitempty" doc:"How far the suspension can lift the frame above driving level." min:"0 mm" max:"400 mm"`
	SinkRear    *Sink        `toml:"sink-rear,omitempty" doc:"How far the frame sinks over the rear axle when load comes on."`
	SinkFront   *Sink        `toml:"sink-front,omitempty" doc:"The same over the front axle."`

	Frame    Frame     `toml:"frame,omitempty" doc:"The side members."`
	Subframe *Subframe `toml:"subframe,omitempty" doc:"The subframe on the side members; left out: none."`
	Angles   *Angles   `toml:"angles,omitempty" doc:"The attachment angles on the side members; left out: none."`
	Zones    []Zone    `toml:"zone,omitempty" doc:"Where the guide, or something that stands there, forbids."`
}

// Called returns how the chassis is named in lists of what is missing.
func (c *Chassis) Called() string { return "chassis " + c.ID }

// A Sink is how far a frame sinks over an axle under a known load.
type Sink struct {
	Suspension string       `toml:"suspension,omitempty" doc:"air (keeps its level) or steel." oneof:"air steel"`
	Under      *unit.Mass   `toml:"under,omitempty" doc:"The load that came on this axle when the two were taken." tape:"Weighbridge, axle laden less axle alone." min:"100 kg" max:"20 t"`
	Tyres      *unit.Length `toml:"tyres,omitempty" doc:"How far the tyres sank." tape:"Hub centre to ground, before less after." min:"0 mm" max:"100 mm"`
	Springs    *unit.Length `toml:"springs,omitempty" doc:"How far the springs gave; left out with air at driving level." tape:"Hub centre to frame, before less after." min:"0 mm" max:"250 mm"`
}

// A Frame is the pair of side members.
type Frame struct {
	Width     *unit.Length   `toml:"width,omitempty" doc:"Over the outer faces of both side members." min:"500 mm" max:"1200 mm"`
	Flange    *unit.Length   `toml:"flange,omitempty" doc:"Width of the flange." min:"40 mm" max:"150 mm"`
	Thickness *unit.Length   `toml:"flange-thickness,omitempty" doc:"Thickness of the flange." min:"3 mm" max:"25 mm"`
	Web       *unit.Length   `toml:"web,omitempty" doc:"Thickness of the web." min:"3 mm" max:"25 mm"`
	Depth     *unit.Length   `toml:"depth,omitempty" doc:"Height of the side member." min:"100 mm" max:"500 mm"`
	Material  string         `toml:"material,omitempty" doc:"Steel of the side members, if known."`
	Tensile   *unit.Pressure `toml:"tensile,omitempty" doc:"Least tensile strength of that steel, from the guide." min:"300 MPa" max:"1200 MPa"`
	Holes     *Pattern       `toml:"holes,omitempty" doc:"Holes that there are in the web, x from the front axle, y over the frame's top (negative)."`
	Drill     *bool          `toml:"drill,omitempty" doc:"The guide permits new holes in the web; in flanges it never does."`
	Apart     *unit.Length   `toml:"hole-spacing,omitempty" doc:"Least distance between the centres of two holes that the guide asks for." min:"20 mm" max:"200 mm"`
}

// A Subframe lies on the side members.
type Subframe struct {
	Height   *unit.Length `toml:"height,omitempty" doc:"Frame top to the subframe's top." min:"20 mm" max:"400 mm"`
	From     *unit.Length `toml:"from,omitempty" doc:"Its front end, from the front axle." min:"-1 m" max:"15 m"`
	To       *unit.Length `toml:"to,omitempty" doc:"Its rear end." min:"0 mm" max:"16 m"`
	Flange   *unit.Length `toml:"flange,omitempty" doc:"Width of its top flange." min:"40 mm" max:"200 mm"`
	Wall     *unit.Length `toml:"thickness,omitempty" doc:"Thickness of its top flange." min:"3 mm" max:"25 mm"`
	Material string       `toml:"material,omitempty" doc:"Its steel, if known."`
	Holes    *Pattern     `toml:"holes,omitempty" doc:"Holes in brackets or plates on its top that parts are bolted to, x from the front axle. None in the flange."`
	Held     string       `toml:"held,omitempty" doc:"How it is held on the side members: brackets (yields) or plates (shear-rigid)." oneof:"brackets plates"`
}

// Angles are the attachment angles that a chassis comes with, or that were
// fitted before.
type Angles struct {
	Height   *unit.Length   `toml:"height,omitempty" doc:"Frame top to the angles' upper face; the plate must lie on the angles and not on the frame." min:"0 mm" max:"150 mm"`
	From     *unit.Length   `toml:"from,omitempty" doc:"Front end, from the front axle." min:"0 mm" max:"15 m"`
	To       *unit.Length   `toml:"to,omitempty" doc:"Rear end." min:"0 mm" max:"16 m"`
	Wall     *unit.Length   `toml:"thickness,omitempty" doc:"Thickness of the legs." min:"3 mm" max:"30 mm"`
	Material string         `toml:"material,omitempty" doc:"Their steel, if known."`
	Tensile  *unit.Pressure `toml:"tensile,omitempty" doc:"Least tensile strength of that steel." min:"300 MPa" max:"1200 MPa"`
	Top      *Pattern       `toml:"top,omitempty" doc:"Holes of the upper legs, x from the front axle."`
	Web      *Pattern       `toml:"web,omitempty" doc:"Holes by which one angle is bolted to the web, x from the front axle, y over the frame's top (negative)."`
}

// A Zone is a stretch of the frame in which something is forbidden.
type Zone struct {
	Name string       `toml:"name,omitempty" doc:"What is there, or what the guide calls it."`
	What string       `toml:"what,omitempty" doc:"no-holes (nothing may be drilled) or keep-free (nothing may stand there)." oneof:"no-holes keep-free"`
	From *unit.Length `toml:"from,omitempty" doc:"Front end, from the front axle." min:"-3 m" max:"16 m"`
	To   *unit.Length `toml:"to,omitempty" doc:"Rear end." min:"-3 m" max:"16 m"`
}

// A Pattern is a set of holes as somebody read them off a drawing or a part.
type Pattern struct {
	Holes    []Hole `toml:"hole,omitempty" doc:"Single holes."`
	Rows     []Row  `toml:"row,omitempty" doc:"Rows of holes along the frame."`
	Mirrored bool   `toml:"mirrored,omitempty" doc:"Each hole stands on the other side of the centre line too."`
	From     string `toml:"read-from,omitempty" doc:"Where it was read: drawing with number and issue, or measured, by whom and when."`
}

// A Hole is one hole.
type Hole struct {
	X *unit.Length `toml:"x,omitempty" doc:"Rearwards; of a part from its middle, of a chassis from the front axle." min:"-3 m" max:"16 m"`
	Y *unit.Length `toml:"y,omitempty" doc:"To the left of the centre line; on a web over the frame's top." min:"-1 m" max:"1 m"`
	D *unit.Length `toml:"d,omitempty" doc:"Diameter." min:"6 mm" max:"60 mm"`
}

// A Row is a row of equal holes along the frame.
type Row struct {
	First *unit.Length `toml:"first,omitempty" doc:"x of the foremost hole." min:"-3 m" max:"16 m"`
	Y     *unit.Length `toml:"y,omitempty" doc:"y of the row." min:"-1 m" max:"1 m"`
	Pitch *unit.Length `toml:"pitch,omitempty" doc:"From hole to hole." min:"5 mm" max:"2 m"`
	Count int          `toml:"count,omitempty" doc:"Number of holes, 1 to 200."`
	D     *unit.Length `toml:"d,omitempty" doc:"Diameter." min:"6 mm" max:"60 mm"`
}
