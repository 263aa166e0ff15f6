package vehicle

import "underpin/unit"

// A Fleet is one fleet file.
type Fleet struct {
	Name     string         `toml:"name,omitempty" doc:"What the fleet is called."`
	Law      string         `toml:"law,omitempty" doc:"Rulebook that applies when none is named: eu, de, fr, uk, us, us-ca, au, nz or the name of a rulebook of your own."`
	Note     string         `toml:"note,omitempty" doc:"Anything a reader should know: where the figures come from."`
	Facts    map[string]any `toml:"facts,omitempty" doc:"Facts that hold for every load of this file unless the load says otherwise: traffic, network, intermodal and the others listed under Facts."`
	Tractors []Tractor      `toml:"tractor,omitempty" doc:"The tractors."`
	Trailers []SemiTrailer  `toml:"semi-trailer,omitempty" doc:"The semi-trailers."`
	Loads    []Load         `toml:"load,omitempty" doc:"Named loads. The cases empty and laden exist without being named."`
}

// A Tractor is the towing vehicle of an articulated combination.
type Tractor struct {
	ID          string              `toml:"id,omitempty" doc:"Short name used on the command line; small letters, digits and hyphens."`
	Name        string              `toml:"name,omitempty" doc:"Name shown to people."`
	Note        string              `toml:"note,omitempty" doc:"Anything a reader should know."`
	Axles       []Axle              `toml:"axle,omitempty" doc:"The axles, front to rear; the first is the datum."`
	Weighbridge *TractorTicket      `toml:"weighbridge,omitempty" doc:"A ticket of the tractor alone; the axle tares are derived from it when they are not given."`
	Certificate *TractorCertificate `toml:"certificate,omitempty" doc:"The certificate of conformity: the maker's range of leads, and what was not taped or weighed."`

	GrossPlate      *unit.Mass `toml:"gross-plate,omitempty" doc:"Permissible gross mass of the tractor, imposed load included." tape:"Statutory plate, the tractor's own gross mass." min:"2 t" max:"60 t"`
	TrainPlate      *unit.Mass `toml:"train-plate,omitempty" doc:"Permissible gross mass of the combination." tape:"Statutory plate, gross combination mass." min:"3 t" max:"250 t"`
	FifthWheelPlate *unit.Mass `toml:"fifth-wheel-plate,omitempty" doc:"Permissible load on the fifth wheel from the tractor's papers; not the mark on the coupling." tape:"Registration or certificate of conformity of the tractor, permissible vertical load at the coupling point." min:"1 t" max:"60 t"`

	FrontOverhang *unit.Length `toml:"front-overhang,omitempty" doc:"Front axle centre to the foremost point." tape:"Plumb the front hub centre and the bumper to the ground; measure along the frame." min:"200 mm" max:"3 m"`
	RearEnd       *unit.Length `toml:"rear-end,omitempty" doc:"Front axle centre to the rearmost point." tape:"Front hub centre to the end of the frame, lamps included." min:"2 m" max:"15 m"`
	Width         *unit.Length `toml:"width,omitempty" doc:"Overall width without mirrors." tape:"Across the widest point, mirrors left out." min:"1.5 m" max:"3.5 m"`
	Height        *unit.Length `toml:"height,omitempty" doc:"Ground to the highest point of cab, deflector or stack, unladen." tape:"Ground to the highest point, at driving level." min:"1.5 m" max:"5 m"`

	Fuel           string     `toml:"fuel,omitempty" doc:"diesel, gas (natural gas), alternative (another alternative fuel), battery or hydrogen; some laws allow more mass." oneof:"diesel gas alternative battery hydrogen"`
	TechnologyMass *unit.Mass `toml:"technology-mass,omitempty" doc:"Extra mass of an alternative-fuel or zero-emission drive, from the papers." min:"1 kg" max:"6 t"`

	Behind  []Obstacle `toml:"behind-cab,omitempty" doc:"What stands behind the cab, rearmost points only, each at its own height: cab back, deflector, stack, tank, spare wheel."`
	Corners []Corner   `toml:"rear-corner,omitempty" doc:"Points of frame end, wings and lamps that may swing against legs or pitch against the trailer."`

	FifthWheel FifthWheel `toml:"fifth-wheel,omitempty" doc:"The fifth wheel on this tractor."`
}

// An Axle of either vehicle.
type Axle struct {
	At           *unit.Length `toml:"at,omitempty" doc:"Distance of the hub centre behind the datum: tractor, the front axle; semi-trailer, the kingpin." tape:"Hub centre to hub centre along the frame; semi-trailer: plumb the pin." min:"-1 m" max:"40 m"`
	Gap          *unit.Length `toml:"gap,omitempty" doc:"Instead of at: hub to hub from the axle before." tape:"Hub centre to hub centre on one side." min:"300 mm" max:"20 m"`
	Kind         string       `toml:"kind,omitempty" doc:"steer, drive or idle (carries, neither driven nor steered by the driver)." oneof:"steer drive idle"`
	Tare         *unit.Mass   `toml:"tare,omitempty" doc:"Load of this axle as weighed with the vehicle ready to drive and all axles down." tape:"Weighbridge, axle by axle." min:"100 kg" max:"15 t"`
	Plate        *unit.Mass   `toml:"plate,omitempty" doc:"Permissible mass of this axle." tape:"Statutory plate, line of this axle." min:"500 kg" max:"20 t"`
	RunningOrder *unit.Mass   `toml:"running-order,omitempty" doc:"Mass on this axle in running order, from the certificate; the tare where nobody has weighed." tape:"Certificate of conformity, distribution of the mass in running order among the axles (entry 13.1)." min:"100 kg" max:"15 t"`
	Share        *float64     `toml:"share,omitempty" doc:"Part of the load added to its group that this axle takes, 0 to 1; the shares of a group sum to 1. Left out in the whole group: equal." min:"0" max:"1"`
	Liftable     bool         `toml:"liftable,omitempty" doc:"The axle can be lifted."`
	Lifted       *bool        `toml:"lifted,omitempty" doc:"Whether a liftable axle is up as the vehicle is set now; left out: not stated."`
	TwinTyres    *bool        `toml:"twin-tyres,omitempty" doc:"Twin tyres on this axle."`
	Suspension   string       `toml:"suspension,omitempty" doc:"air, equivalent (recognised as equivalent to air) or other." oneof:"air equivalent other"`
	Steering     string       `toml:"steering,omitempty" doc:"Semi-trailer axle that steers: self (castors) or command (linked to the tractor)." oneof:"self command"`
	TyreRadius   *unit.Length `toml:"tyre-radius,omitempty" doc:"Ground to hub centre, laden." tape:"Ground to hub centre." min:"200 mm" max:"800 mm"`
}

// A TractorTicket is one visit to the weighbridge with the tractor alone,
// weighed the cumulative way.
type TractorTicket struct {
	Ticket    string     `toml:"ticket,omitempty" doc:"Number and date of the ticket; fuel and driver as noted on it."`
	FrontOn   *unit.Mass `toml:"front-on,omitempty" doc:"Reading with the front axle on the plate." min:"500 kg" max:"20 t"`
	TractorOn *unit.Mass `toml:"tractor-on,omitempty" doc:"Reading with the whole tractor on the plate." min:"1 t" max:"40 t"`
}

// A TrailerTicket is one visit with a tractor of this file and the empty
// semi-trailer, weighed the cumulative way.
type TrailerTicket struct {
	Ticket    string     `toml:"ticket,omitempty" doc:"Number and date of the ticket; fuel and driver as noted on it."`
	Tractor   string     `toml:"tractor,omitempty" doc:"Id of the tractor that pulled it; its own tare must be known in the same state of fuel and driver."`
	FrontOn   *unit.Mass `toml:"front-on,omitempty" doc:"Reading with the tractor's front axle on the plate; used as a check." min:"500 kg" max:"20 t"`
	TractorOn *unit.Mass `toml:"tractor-on,omitempty" doc:"Reading with the whole tractor on the plate, trailer coupled." min:"1 t" max:"60 t"`
	AllOn     *unit.Mass `toml:"all-on,omitempty" doc:"Reading with the whole combination on the plate." min:"2 t" max:"150 t"`
}

// An Obstacle is a point behind the cab that the trailer's front may meet.
type Obstacle struct {
	Name   string       `toml:"name,omitempty" doc:"What it is: cab back, deflector, stack, tank."`
	At     *unit.Length `toml:"at,omitempty" doc:"Front axle centre to its rearmost point." tape:"Front hub centre to a plumb line from the rearmost point." min:"-3 m" max:"12 m"`
	Bottom *unit.Length `toml:"bottom,omitempty" doc:"Ground to its lowest point, laden." min:"0 mm" max:"5 m"`
	Top    *unit.Length `toml:"top,omitempty" doc:"Ground to its highest point, laden." min:"300 mm" max:"5 m"`
}

// A Corner is a point at the tractor's rear.
type Corner struct {
	Name     string       `toml:"name,omitempty" doc:"What it is: frame end, mudguard, lamp."`
	At       *unit.Length `toml:"at,omitempty" doc:"Front axle centre to the point." tape:"Front hub centre to a plumb line from the point." min:"1 m" max:"15 m"`
	HalfWide *unit.Length `toml:"half-width,omitempty" doc:"Centre line to the point." tape:"Half the distance across the two sides." min:"0 mm" max:"1.6 m"`
	Height   *unit.Length `toml:"height,omitempty" doc:"Ground to its top, laden." tape:"Ground to its top at driving level." min:"100 mm" max:"3 m"`
}

// A FifthWheel is the coupling on a tractor, with what it stands on.
type FifthWheel struct {
	At     *unit.Length `toml:"at,omitempty" doc:"Front axle centre to fifth wheel centre as it is set now. Left out on a slider: the setting is not stated." tape:"Front hub centre to the centre of the jaw." min:"500 mm" max:"15 m"`
	Slider *Slider      `toml:"slider,omitempty" doc:"Travel of a fifth wheel that can be moved along the frame; left out: fixed."`
	Levels []Level      `toml:"level,omitempty" doc:"Height of the top plate above ground, one entry for each driving level the chassis maker provides or each height of a height-adjustable coupling. The first is as set now unless set says otherwise."`

	D        *unit.Force  `toml:"d-value,omitempty" doc:"Marked D-value." tape:"Type plate of the fifth wheel." min:"20 kN" max:"1000 kN"`
	Imposed  *unit.Mass   `toml:"imposed,omitempty" doc:"Marked imposed load U." tape:"Type plate of the fifth wheel." min:"1 t" max:"100 t"`
	ReadFrom string       `toml:"read-from,omitempty" doc:"Where the marked values were read: plate, document or memory. Memory never certifies." oneof:"plate document memory"`
	Pin      *unit.Length `toml:"pin,omitempty" doc:"Kingpin size the jaw is made for, 50 mm (2 in) or 90 mm (3.5 in)." tape:"Type plate; else measure the jaw." min:"50 mm" max:"90 mm"`
	Class    string       `toml:"class,omitempty" doc:"Approval class as marked, such as G50-X."`

	Wedge      *bool        `toml:"steering-wedge,omitempty" doc:"Approved for a steering wedge (positive steering)."`
	Tilting    string       `toml:"tilting,omitempty" doc:"pitch (about the cross axis only) or pitch-and-roll." oneof:"pitch pitch-and-roll"`
	RollLocked *bool        `toml:"roll-lockable,omitempty" doc:"A pitching and rolling plate can be locked against roll."`
	TiltDepth  *unit.Length `toml:"tilt-axis-depth,omitempty" doc:"Tilt axis below the top plate's surface." tape:"Centre of the pivot to the top plate's surface, plate level." min:"10 mm" max:"300 mm"`

	// What a driver needs to know to work it; each left out is unknown.
	Opening    string `toml:"opening,omitempty" doc:"How it is opened: hand (a handle is pulled), one-hand (a handle with a lock that one hand works) or air (a cylinder pulls it)." oneof:"hand one-hand air"`
	OpenFrom   string `toml:"opened-from,omitempty" doc:"From where: left, right, either (a handle on each side), frame (a valve behind the cab) or cab." oneof:"left right either frame cab"`
	Securing   string `toml:"securing,omitempty" doc:"What secures the handle: flap (falls over it by itself), hook (a snap hook), padlock, clip (a spring clip) or inside (a second lock within, shown by its mark)." oneof:"flap hook padlock clip inside"`
	LockMark   *bool  `toml:"lock-mark,omitempty" doc:"A mark to see and feel shows that it is locked."`
	LockLamp   *bool  `toml:"lock-lamp,omitempty" doc:"A lamp at the coupling shows that it is locked."`
	CabDisplay *bool  `toml:"cab-display,omitempty" doc:"A display in the cab shows that it is locked."`
	SetHeight  *bool  `toml:"height-adjustable,omitempty" doc:"The height of the coupling itself can be set."`
	LinesReach *bool  `toml:"lines-in-reach,omitempty" doc:"Once coupled, the lines can be reached and joined."`

	Mounting *Rated `toml:"mounting,omitempty" doc:"Marked values of the mounting plate or slider under the fifth wheel; left out: unknown."`
}

// A Slider is the travel of a fifth wheel along the frame.
type Slider struct {
	Foremost *unit.Length `toml:"foremost,omitempty" doc:"Front axle centre to the foremost slide position." min:"500 mm" max:"15 m"`
	Rearmost *unit.Length `toml:"rearmost,omitempty" doc:"Front axle centre to the rearmost slide position." min:"500 mm" max:"15 m"`
	Pitch    *unit.Length `toml:"pitch,omitempty" doc:"Distance between two slide positions." tape:"Between two neighbouring notches." min:"5 mm" max:"500 mm"`
}

// A Level is one height of the top plate above ground.
type Level struct {
	Name    string       `toml:"name,omitempty" doc:"What the level is called: driving level, low, high."`
	Set     bool         `toml:"set,omitempty" doc:"This level is the one set now."`
	Unladen *unit.Length `toml:"unladen,omitempty" doc:"Ground to top plate, tractor alone." tape:"Ground to the plate's surface at the jaw, plate level, driving level." min:"500 mm" max:"2 m"`
	Laden   *unit.Length `toml:"laden,omitempty" doc:"Ground to top plate, coupled and laden." tape:"As unladen, with the semi-trailer laden." min:"500 mm" max:"2 m"`
	Raised  *unit.Length `toml:"raised,omitempty" doc:"Ground to top plate with the suspension at its highest, for heights while coupling and manoeuvring." min:"500 mm" max:"2.2 m"`
}

// Rated is a part that carries marked values.
type Rated struct {
	D        *unit.Force `toml:"d-value,omitempty" doc:"Marked D-value." min:"20 kN" max:"1000 kN"`
	Imposed  *unit.Mass  `toml:"imposed,omitempty" doc:"Marked imposed load U." min:"1 t" max:"100 t"`
	ReadFrom string      `toml:"read-from,omitempty" doc:"Where the marked values were read: plate, document or memory." oneof:"plate document memory"`
}

// A SemiTrailer is the towed vehicle.
type SemiTrailer struct {
	ID          string              `toml:"id,omitempty" doc:"Short name used on the command line; small letters, digits and hyphens."`
	Name        string              `toml:"name,omitempty" doc:"Name shown to people."`
	Note        string              `toml:"note,omitempty" doc:"Anything a reader should know."`
	Kind        string              `toml:"kind,omitempty" doc:"What it is." oneof:"curtain-sider box reefer tank silo tipper skeletal flatbed low-loader step-frame walking-floor car-transporter livestock"`
	Axles       []Axle              `toml:"axle,omitempty" doc:"The axles, front to rear."`
	TarePin     *unit.Mass          `toml:"tare-pin,omitempty" doc:"What the empty semi-trailer lays on the fifth wheel." tape:"Two weighbridge tickets: tractor with the empty trailer less tractor alone." min:"0 kg" max:"20 t"`
	TareBogie   *unit.Mass          `toml:"tare-bogie,omitempty" doc:"What the empty semi-trailer lays on its own axles, all down." tape:"Weighbridge: all on, less tractor on." min:"500 kg" max:"40 t"`
	Certificate *TrailerCertificate `toml:"certificate,omitempty" doc:"The certificate of conformity: what was not taped or weighed is derived from it."`
	Weighbridge *TrailerTicket      `toml:"weighbridge,omitempty" doc:"A ticket with the empty semi-trailer; tare-pin and tare-bogie are derived from it when they are not given."`

	PinPlate   *unit.Mass   `toml:"kingpin-plate,omitempty" doc:"Permissible load at the kingpin; not gross less axles." tape:"Statutory plate of the semi-trailer, line of the kingpin (position 0)." min:"1 t" max:"60 t"`
	BogiePlate *unit.Mass   `toml:"bogie-plate,omitempty" doc:"Permissible mass of the axle group." tape:"Statutory plate." min:"2 t" max:"60 t"`
	GrossPlate *unit.Mass   `toml:"gross-plate,omitempty" doc:"Permissible gross mass of the semi-trailer, the load on the kingpin included." tape:"Statutory plate." min:"3 t" max:"150 t"`
	Payload    *unit.Mass   `toml:"payload,omitempty" doc:"Payload of the case laden." min:"1 kg" max:"120 t"`
	PayloadAt  *unit.Length `toml:"payload-at,omitempty" doc:"Centre of the payload of the case laden, behind the inside of the headboard." tape:"Half the load length for an even load." min:"0 mm" max:"30 m"`

	FrontOverhang *unit.Length `toml:"front-overhang,omitempty" doc:"Kingpin axis to the outside of the front wall, on the centre line." tape:"Plumb the pin and the front wall; measure along the centre line." min:"0 mm" max:"6 m"`
	Corner        *unit.Length `toml:"corner-radius,omitempty" doc:"Radius of the front corners; 0 mm for sharp ones." min:"0 mm" max:"1.3 m"`
	Headboard     *unit.Length `toml:"headboard,omitempty" doc:"Kingpin axis behind the inside of the headboard." tape:"Inside of the headboard to a plumb line from the pin." min:"-3 m" max:"6 m"`
	LoadLength    *unit.Length `toml:"load-length,omitempty" doc:"Inside length of the load space." tape:"Inside of the headboard to inside of the doors." min:"1 m" max:"30 m"`
	RearEnd       *unit.Length `toml:"rear-end,omitempty" doc:"Kingpin axis to the rearmost point." tape:"Plumb the pin; measure to the rearmost point of body or bumper." min:"2 m" max:"35 m"`
	Width         *unit.Length `toml:"width,omitempty" doc:"Overall width." min:"1.5 m" max:"4 m"`

	PlateHeight *unit.Length `toml:"plate-height,omitempty" doc:"Ground to the underside of the rubbing plate with the semi-trailer level on its axles." tape:"Ground to the rubbing plate at the pin, trailer level." min:"500 mm" max:"2 m"`
	BodyHeight  *unit.Length `toml:"body-height,omitempty" doc:"Rubbing plate to the highest point of the body." tape:"Total height when level, less plate height." min:"50 mm" max:"4 m"`
	FloorHeight *unit.Length `toml:"floor-height,omitempty" doc:"Rubbing plate to the load floor; for drawings." min:"-1 m" max:"1 m"`

	Nose  []NosePoint  `toml:"nose,omitempty" doc:"What stands ahead of the front wall: cooling unit, generator, hoses, spare wheel."`
	Legs  *Legs        `toml:"legs,omitempty" doc:"The landing legs."`
	Clear *unit.Length `toml:"clear-radius,omitempty" doc:"Least horizontal distance from the kingpin axis to anything behind it that hangs below the rubbing plate: legs, neck step, boxes." tape:"Swing a tape about the pin to the nearest thing below the plate." min:"500 mm" max:"10 m"`

	ConditionedBody *bool `toml:"conditioned-body,omitempty" doc:"Insulated body with walls of at least 45 mm, for controlled temperature."`
	TorsionStiff    *bool `toml:"torsionally-stiff,omitempty" doc:"The frame is stiff in torsion (tank, box), so that a pitching and rolling fifth wheel may be used."`
	Wedge           *bool `toml:"steering-wedge,omitempty" doc:"A steering wedge is fitted (positive steering)."`

	Kingpin Kingpin `toml:"kingpin,omitempty" doc:"The kingpin."`
}

// A NosePoint is a part that stands ahead of the front wall.
type NosePoint struct {
	Name     string       `toml:"name,omitempty" doc:"What it is."`
	Ahead    *unit.Length `toml:"ahead,omitempty" doc:"Kingpin axis to its foremost point." min:"0 mm" max:"6 m"`
	HalfWide *unit.Length `toml:"half-width,omitempty" doc:"Centre line to its outermost point at that depth." min:"0 mm" max:"1.6 m"`
	Bottom   *unit.Length `toml:"bottom,omitempty" doc:"Rubbing plate to its lowest point." min:"-1 m" max:"4 m"`
	Top      *unit.Length `toml:"top,omitempty" doc:"Rubbing plate to its highest point." min:"0 mm" max:"4 m"`
}

// Legs are the landing legs.
type Legs struct {
	Behind *unit.Length `toml:"behind,omitempty" doc:"Kingpin axis to the legs' centre." tape:"Plumb the pin; measure to the middle of the leg." min:"500 mm" max:"8 m"`
	Rating *unit.Mass   `toml:"rating,omitempty" doc:"Static load the pair of legs may carry." tape:"Plate of the legs." min:"2 t" max:"100 t"`
	Drive  string       `toml:"drive,omitempty" doc:"How the legs are worked: crank or motor." oneof:"crank motor"`
	Sides  string       `toml:"sides,omitempty" doc:"From where: one (both legs from one side) or both (each from its own side)." oneof:"one both"`
}

// A Kingpin is the pin under a semi-trailer.
type Kingpin struct {
	Size     *unit.Length `toml:"size,omitempty" doc:"Nominal size, 50 mm (2 in) or 90 mm (3.5 in)." tape:"Marking on the lower face." min:"50 mm" max:"90 mm"`
	D        *unit.Force  `toml:"d-value,omitempty" doc:"Marked D-value." tape:"Marking on the lower face of the pin." min:"20 kN" max:"1000 kN"`
	ReadFrom string       `toml:"read-from,omitempty" doc:"Where the marked value was read: plate, document or memory." oneof:"plate document memory"`
	Class    string       `toml:"class,omitempty" doc:"Approval class as marked, such as H50-X."`
}

// A Load is a named load case: items on the load floor, or one mass at one
// centre.
type Load struct {
	ID      string         `toml:"id,omitempty" doc:"Short name used on the command line."`
	Name    string         `toml:"name,omitempty" doc:"Name shown to people."`
	Note    string         `toml:"note,omitempty" doc:"Anything a reader should know."`
	For     []string       `toml:"for,omitempty" doc:"Ids of the semi-trailers it is meant for; left out: every one."`
	Payload *unit.Mass     `toml:"payload,omitempty" doc:"Mass of the whole load." min:"0 kg" max:"150 t"`
	At      *unit.Length   `toml:"at,omitempty" doc:"Centre of the load behind the inside of the headboard." min:"0 mm" max:"40 m"`
	Items   []Item         `toml:"item,omitempty" doc:"Rows of the load, front to rear, instead of payload and at."`
	Facts   map[string]any `toml:"facts,omitempty" doc:"Facts that hold for this load: traffic, network, intermodal, container-ft and the others listed under Facts."`
}

// An Item is one row or piece of a load.
type Item struct {
	Name string       `toml:"name,omitempty" doc:"What it is."`
	Mass *unit.Mass   `toml:"mass,omitempty" doc:"Its mass, packing included." min:"0 kg" max:"150 t"`
	At   *unit.Length `toml:"at,omitempty" doc:"Its centre behind the inside of the headboard." min:"0 mm" max:"40 m"`
}
