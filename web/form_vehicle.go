package web

import (
	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// labels are what people call a field where its key does not say it well: by the
// key within what it belongs to, else by the key alone.
var labels = map[string]string{
	"id": "Fleet number", "d-value": "D-value", "imposed": "Imposed load U", "train-plate": "Gross train plate",
	"fifth-wheel-plate": "Permissible load on the fifth wheel", "kingpin-plate": "Load plate at the kingpin", "bogie-plate": "Axle group plate", "tare-pin": "Tare at the kingpin", "tare-bogie": "Tare on the axles",
	"payload-at": "Centre of the payload", "axle": "Axles", "behind-cab": "What stands behind the cab", "rear-corner": "Rear corners", "nose": "What stands ahead of the front wall",
	"axle.at": "Behind the datum", "axle.gap": "Or: from the axle before", "fifth-wheel.at": "Position now", "fifth-wheel.level": "Heights of the top plate",
	"behind-cab.at": "Behind the front axle", "rear-corner.at": "Behind the front axle", "legs.behind": "Behind the kingpin",
	"weighbridge.tractor": "Behind which tractor", "pin": "Kingpin size", "kingpin.size": "Size", "read-from": "Read from", "set": "Set now", "kind": "Kind",
	"running-order": "In running order", "lead-min": "Least lead", "lead-max": "Greatest lead", "front-to-coupling": "Front end to the coupling",
	"coupling-to-rear": "Coupling to the rear end", "running-pin": "At the kingpin in running order",
	"clear-radius": "Clear behind the pin", "steering-wedge": "Steering wedge", "tilt-axis-depth": "Depth of the tilt axis",
}

// ones are what one item of a list is called.
var ones = map[string]string{"axle": "axle", "behind-cab": "obstacle", "rear-corner": "corner", "level": "level", "nose": "part"}

// fieldsFrom makes a form's fields of those that the fleet file has.
func fieldsFrom(from []fleet.Field, within string) []field {
	all := make([]field, 0, len(from))
	for _, x := range from {
		f := field{Key: x.Key, Label: capital(spaced(x.Key)), Doc: x.Doc, Tape: x.Tape}
		if label, ok := labels[x.Key]; ok {
			f.Label = label
		}
		if label, ok := labels[within+"."+x.Key]; ok {
			f.Label = label
		}
		switch {
		case x.Min != "" && x.Max != "":
			f.Accept = x.Min + " to " + x.Max
		case x.Min != "":
			f.Accept = "from " + x.Min
		}
		switch x.Sort {
		case "quantity":
			f.Sort, f.Dim = quantitySort, map[string]unit.Dimension{"length": unit.LengthDim, "mass": unit.MassDim, "force": unit.ForceDim}[x.Quantity]
		case "number":
			f.Sort = numberSort
		case "yes-no":
			f.Sort = yesNoSort
		case "choice":
			f.Sort, f.Choices = choiceSort, choicesOf(x.OneOf...)
		case "table":
			f.Sort = tableSort
		case "list":
			f.Sort, f.One = listSort, ones[x.Key]
			if f.One == "" {
				f.One = "item"
			}
		}
		if x.Key == "note" {
			f.Sort = wordsSort
		}
		f.Fields = fieldsFrom(x.Fields, x.Key)
		all = append(all, f)
	}
	return all
}

var vehicleFieldsOf = map[string][]field{
	record.Tractor:     makeVehicleFields(record.Tractor),
	record.SemiTrailer: makeVehicleFields(record.SemiTrailer),
	record.Dolly:       makeVehicleFields(record.Dolly),
}

// vehicleFields are the fields of one kind of vehicle: those of the register and
// those of the fleet file.
func vehicleFields(kind string) []field { return vehicleFieldsOf[kind] }

func makeVehicleFields(kind string) []field {
	own := []field{
		{Key: "registration", Label: "Registration", Doc: "As on the number plate."},
		{Key: "vin", Label: "VIN", Doc: "Vehicle identification number.", Tape: "Statutory plate, or stamped into the frame."},
		{Key: "depot", Label: "Depot", Doc: "Where it belongs.", Sort: choiceSort},
	}
	fields := fieldsFrom(fleet.FieldsOf(kind), kind)
	for i := range fields {
		if fields[i].Key == "id" {
			fields[i].Must = true
			fields[i].Doc = "What the fleet calls it, in small letters, digits and hyphens, such as heron-07. No second vehicle in use may have it."
		}
	}
	return append(own, fields...)
}

// vehicleParts puts the fields in the order in which a person meets them: papers
// at the desk, the tape in the yard, the weighbridge on the way.
var vehicleParts = map[string][]formPart{
	record.Tractor: {
		{"What it is", "", []string{"id", "name", "registration", "vin", "depot", "fuel", "note"}},
		{"Plates and papers", "", []string{"gross-plate", "train-plate", "fifth-wheel-plate", "technology-mass"}},
		{"Certificate of conformity", "What it prints stands in where nobody has taped or weighed, and limits the lead.", []string{"certificate"}},
		{"Axles", "Front to rear; the front axle is the datum of every distance.", []string{"axle"}},
		{"Weighbridge", "Tractor alone, weighed the cumulative way. The axle tares follow from it.", []string{"weighbridge"}},
		{"With the tape", "Along the frame, hub centres and points plumbed to the ground.", []string{"front-overhang", "rear-end", "width", "height", "behind-cab", "rear-corner"}},
		{"Fifth wheel", "What stands on the plate of the coupling; where a part is fitted in the register, its marking counts.", []string{"fifth-wheel"}},
	},
	record.SemiTrailer: {
		{"What it is", "", []string{"id", "name", "kind", "registration", "vin", "depot", "note"}},
		{"Plates and papers", "", []string{"kingpin-plate", "bogie-plate", "gross-plate", "payload", "payload-at"}},
		{"Certificate of conformity", "What it prints stands in where nobody has taped or weighed.", []string{"certificate"}},
		{"Axles", "Front to rear; the kingpin is the datum of every distance.", []string{"axle"}},
		{"Weighbridge", "Two tickets with the same tractor, or the two tares.", []string{"tare-pin", "tare-bogie", "weighbridge"}},
		{"With the tape", "From the kingpin axis, plumbed to the ground.", []string{"front-overhang", "corner-radius", "headboard", "load-length", "rear-end", "width", "plate-height", "body-height", "floor-height", "clear-radius", "nose", "legs"}},
		{"Kingpin", "Where a pin is fitted in the register, its marking counts.", []string{"kingpin"}},
		{"Equipment", "", []string{"conditioned-body", "torsionally-stiff", "steering-wedge"}},
	},
	record.Dolly: {
		{"What it is", "", []string{"id", "name", "registration", "vin", "depot", "note"}},
		{"Plates and papers", "", []string{"gross-plate"}},
		{"Axles", "Front to rear; the drawbar eye is the datum of every distance.", []string{"axle"}},
		{"With the tape", "", []string{"width"}},
		{"Fifth wheel", "", []string{"fifth-wheel"}},
	},
}

// vehicleSpec is the form of one kind of vehicle.
func vehicleSpec(kind string, depots []option) spec {
	fields := append([]field(nil), vehicleFields(kind)...)
	for i := range fields {
		if fields[i].Key == "depot" {
			fields[i].Choices = depots
		}
	}
	return spec{fields, vehicleParts[kind]}
}
