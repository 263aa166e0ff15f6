package mounting

import "underpin/unit"

// An aim is what proposals are ranked by.
const (
	AimMass     = "mass"     // the lightest stack
	AimMargin   = "margin"   // the largest least margin
	AimTrailers = "trailers" // most of the wished semi-trailers served
	AimHeadroom = "headroom" // most height left under bridges
)

// A Brief is what is asked of a mounting.
type Brief struct {
	ID       string   `toml:"id,omitempty" doc:"Short name; small letters, digits and hyphens."`
	Name     string   `toml:"name,omitempty" doc:"Name shown to people."`
	Note     string   `toml:"note,omitempty" doc:"Anything a reader should know."`
	Tractor  string   `toml:"tractor,omitempty" doc:"Id of the tractor in the fleet file."`
	Trailers []string `toml:"trailers,omitempty" doc:"Ids of the semi-trailers that must work."`
	Wished   []string `toml:"wished,omitempty" doc:"Ids of semi-trailers that would be welcome: they are counted and exclude nothing."`
	Loads    []string `toml:"loads,omitempty" doc:"Load cases; left out: empty, laden and every load meant for the semi-trailer."`
	Law      string   `toml:"law,omitempty" doc:"Rulebook; left out: the fleet file's."`
	Heights  []Wanted `toml:"height,omitempty" doc:"The coupling heights that are wanted; more than one needs a height-adjustable mounting."`
	Aim      string   `toml:"aim,omitempty" doc:"What proposals are ranked by: margin (also when left out), mass, trailers, headroom." oneof:"margin mass trailers headroom"`

	From   *unit.Length `toml:"foremost,omitempty" doc:"Foremost place of the coupling that is wanted, from the front axle." min:"300 mm" max:"15 m"`
	To     *unit.Length `toml:"rearmost,omitempty" doc:"Rearmost place." min:"300 mm" max:"15 m"`
	Bridge *unit.Length `toml:"clear-height,omitempty" doc:"Lowest height to pass; left out: the limit of the law." min:"2 m" max:"6 m"`

	Work     Work     `toml:"work,omitempty" doc:"What the work is like."`
	RoughUse *float64 `toml:"rough-use,omitempty" doc:"Part of the marked D and U that may be used on rough ground, 0 to 1. Nothing that was read gives one: it is yours to set." min:"0.1" max:"1"`
}

// Wanted is one coupling height that is wanted.
type Wanted struct {
	Name      string       `toml:"name,omitempty" doc:"What the level is called: driving level, low, high."`
	Unladen   *unit.Length `toml:"unladen,omitempty" doc:"Ground to top plate, tractor alone." min:"500 mm" max:"2 m"`
	Laden     *unit.Length `toml:"laden,omitempty" doc:"Ground to top plate under the largest imposed load of the brief." min:"500 mm" max:"2 m"`
	Tolerance *unit.Length `toml:"tolerance,omitempty" doc:"How far the height may be off, either way." min:"0 mm" max:"150 mm"`
}

// Work is what the work is like, as independent questions.
type Work struct {
	Ground   string `toml:"ground,omitempty" doc:"How rough: paved, mixed (part of the way unpaved) or rough (building sites, forest, quarry)." oneof:"paved mixed rough"`
	Twist    string `toml:"twist,omitempty" doc:"How much the frame is twisted by the ground: little or much." oneof:"little much"`
	Low      *bool  `toml:"low,omitempty" doc:"The coupling has to be as low as it can."`
	Moved    *bool  `toml:"moved,omitempty" doc:"The coupling is moved along the frame from trip to trip."`
	Steered  *bool  `toml:"steered,omitempty" doc:"Semi-trailers with a steering wedge are pulled, now or later. Left out: as the semi-trailers of the brief say."`
	Jerks    *bool  `toml:"jerks,omitempty" doc:"The pull comes in jerks: stop and go with heavy loads, soft ground, tipping."`
	Adjusted *bool  `toml:"adjusted,omitempty" doc:"Semi-trailers of different heights are pulled in turn."`
}

// A Fitting is a chosen mounting.
type Fitting struct {
	ID      string   `toml:"id,omitempty" doc:"Short name; small letters, digits and hyphens."`
	Name    string   `toml:"name,omitempty" doc:"Name shown to people."`
	Note    string   `toml:"note,omitempty" doc:"Anything a reader should know."`
	Brief   string   `toml:"brief,omitempty" doc:"Id of the brief that it answers."`
	Chassis string   `toml:"chassis,omitempty" doc:"Id of the chassis; left out: the one that is for the brief's tractor."`
	Base    string   `toml:"base,omitempty" doc:"What the stack begins on: frame, subframe or angles." oneof:"frame subframe angles"`
	Parts   []string `toml:"parts,omitempty" doc:"Ids of the parts from below to the top, the fifth wheel last."`

	At        *unit.Length `toml:"at,omitempty" doc:"Front axle to the fifth wheel's centre; on a slider: in its foremost position." min:"300 mm" max:"15 m"`
	Tolerance *unit.Length `toml:"tolerance,omitempty" doc:"How far the position may be off, either way." min:"0 mm" max:"50 mm"`
	Joints    []Joint      `toml:"joint,omitempty" doc:"The bolted joints, from below to the top."`
	Again     *Again       `toml:"retighten,omitempty" doc:"When the bolts are to be tightened again, from the part's document."`
}

// A Joint is one bolted joint of a fitting.
type Joint struct {
	Lower string `toml:"lower,omitempty" doc:"What is below: frame, subframe, angles or the id of a part."`
	Upper string `toml:"upper,omitempty" doc:"What is bolted to it: the id of a part, or angles (attachment angles on the frame's web)."`
	Holes []int  `toml:"holes,omitempty" doc:"Numbers of the upper part's foot holes that are bolted, counted from 1 as entered; left out: all."`

	Thread string `toml:"thread,omitempty" doc:"Thread as on the bolt: M16, M16x1.5."`
	Grade  string `toml:"grade,omitempty" doc:"Property class on the head: 8.8, 10.9, 12.9."`

	Torque   *unit.Torque `toml:"torque,omitempty" doc:"Tightening torque from the part's document. There is no default." min:"20 N.m" max:"2000 N.m"`
	Document string       `toml:"torque-from,omitempty" doc:"Title, number, issue and page of the document that the torque stands in."`

	Lubricant     string   `toml:"lubricant,omitempty" doc:"State of the thread and under the head: dry, oiled, paste, coating."`
	LeastFriction *float64 `toml:"friction-least,omitempty" doc:"Least friction of thread and head for that state." min:"0.04" max:"0.4"`
	MostFriction  *float64 `toml:"friction-most,omitempty" doc:"Most friction of thread and head for that state." min:"0.04" max:"0.4"`
	Method        string   `toml:"method,omitempty" doc:"How it is tightened: yield or angle; hydraulic; torque wrench, set by test; torque wrench; power driver; impact wrench."`

	Washer     *unit.Length `toml:"washer,omitempty" doc:"Outer diameter of the hardened washer or of the flange head; left out: the plain head." min:"15 mm" max:"80 mm"`
	Shank      *unit.Length `toml:"shank,omitempty" doc:"Length of the grip that is plain shank." min:"0 mm" max:"300 mm"`
	Threaded   *unit.Length `toml:"threaded,omitempty" doc:"Length of the grip that is thread." min:"0 mm" max:"300 mm"`
	PlateWidth *unit.Length `toml:"clamped-width,omitempty" doc:"Diameter of the clamped steel around a bolt: twice the way to the nearest edge." min:"20 mm" max:"400 mm"`
	Roughness  string       `toml:"roughness,omitempty" doc:"Rz below 10, Rz 10 to 40 or Rz 40 to 160 (µm)."`
	Coated     *bool        `toml:"coated,omitempty" doc:"Paint or zinc lies between the faces."`
	Surface    string       `toml:"surface,omitempty" doc:"State of the faces: clean, unpainted; painted or unknown; class A to class D."`
	Material   string       `toml:"material,omitempty" doc:"Softest steel under head or nut; left out: the part's."`

	Stops *bool `toml:"stops,omitempty" doc:"Level joint: positive stops (thrust plates, stop blocks or fitted bolts) hold the upper part fore and aft."`

	Thickness *unit.Length   `toml:"thickness,omitempty" doc:"Web joint: thickness of the thinner of the two." min:"3 mm" max:"30 mm"`
	Tensile   *unit.Pressure `toml:"tensile,omitempty" doc:"Web joint: tensile strength of that steel." min:"300 MPa" max:"1200 MPa"`
	End       *unit.Length   `toml:"end-distance,omitempty" doc:"Web joint: centre of a hole to the nearest end, along the force." min:"10 mm" max:"300 mm"`
	Edge      *unit.Length   `toml:"edge-distance,omitempty" doc:"Web joint: centre of a hole to the nearest edge, across the force." min:"10 mm" max:"300 mm"`
	Plain     *bool          `toml:"shank-in-plane,omitempty" doc:"Web joint: plain shank, no thread, in the shear plane."`
}

// Again is when bolts are tightened again.
type Again struct {
	After    *unit.Length `toml:"after,omitempty" doc:"After this distance." min:"10 km" max:"100000 km"`
	Days     int          `toml:"days,omitempty" doc:"After this many days; whichever comes first."`
	Document string       `toml:"from,omitempty" doc:"Title, number, issue and page of the document that says so."`
}
