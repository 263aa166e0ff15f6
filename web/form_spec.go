package web

import (
	"underpin/record"
	"underpin/unit"
)

// A formPart is a part of a form under one head, with the keys of its fields in
// their order.
type formPart struct {
	Head, Doc string
	Keys      []string
}

// A spec is all that a form of one kind of asset asks for.
type spec struct {
	fields []field
	parts  []formPart
}

// choicesOf makes a choice of words that say themselves.
func choicesOf(words ...string) []option {
	all := make([]option, len(words))
	for i, w := range words {
		all[i] = option{Value: w, Text: spaced(w)}
	}
	return all
}

var partKinds = []option{
	{Value: record.FifthWheel, Text: "fifth wheel"}, {Value: record.Kingpin, Text: "kingpin"},
	{Value: record.Mounting, Text: "mounting plate or slider"}, {Value: record.RubbingPlate, Text: "rubbing plate"},
}

var ratingFields = []field{
	{Key: "d_n", Label: "D-value", Doc: "The marked D-value.", Tape: "Type plate, or the lower face of the kingpin.", Accept: "1 kN to 10 000 kN", Sort: wholeSort, Dim: unit.ForceDim, Unit: unit.N},
	{Key: "imposed_kg", Label: "Imposed load U", Doc: "The marked load that may be laid on it.", Tape: "Type plate of the fifth wheel.", Accept: "100 kg to 1 000 t", Sort: wholeSort, Dim: unit.MassDim, Unit: unit.KG},
	{Key: "pin_mm", Label: "Kingpin size", Doc: "The size that it is, or that it takes: 50 mm (2 in) or 90 mm (3.5 in).", Tape: "Type plate; else measure the pin or the jaw.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.MM},
}

func partSpec(types, depots []option) spec {
	fields := []field{
		{Key: "part", Label: "Part", Doc: "What it is. It never changes.", Sort: choiceSort, Choices: partKinds, Must: true, Fixed: true},
		{Key: "type", Label: "Type", Doc: "Its type record, with what the maker’s instructions say.", Sort: choiceSort, Choices: types},
		{Key: "serial", Label: "Serial", Doc: "Serial number, as stamped. A safety notice finds the part by it.", Tape: "Type plate, or stamped beside it."},
		{Key: "marking", Label: "Approval marking", Doc: "As stamped, such as E1 55R-01 1234.", Tape: "Type plate, or the lower face of the kingpin."},
		{Key: "class", Label: "Class", Doc: "Approval class as marked, such as G50-X or H50-X.", Tape: "Type plate."},
	}
	fields = append(fields, ratingFields...)
	fields = append(fields,
		field{Key: "read_from", Label: "Read from", Doc: "Where the marked values were read. Memory never certifies.", Sort: choiceSort, Choices: choicesOf("plate", "document", "memory")},
		field{Key: "made", Label: "Made", Doc: "Date of making, as marked.", Tape: "Type plate."},
		field{Key: "depot", Label: "Depot", Doc: "Where it lies while it is not fitted.", Sort: choiceSort, Choices: depots},
		field{Key: "note", Label: "Note", Doc: "Anything a reader should know.", Sort: wordsSort})
	return spec{fields, []formPart{
		{"What it is", "", []string{"part", "type", "serial", "made", "depot", "note"}},
		{"What is marked on it", "What cannot be read stays unknown: a value from memory never makes a pass.", []string{"marking", "class", "d_n", "imposed_kg", "pin_mm", "read_from"}},
	}}
}

func sourceField(doc string) field {
	return field{Key: "source", Label: "Source", Doc: doc, Sort: tableSort, Fields: []field{
		{Key: "document", Label: "Document", Doc: "Title or number of the maker’s document."},
		{Key: "edition", Label: "Edition", Doc: "Edition or date, as printed."},
		{Key: "page", Label: "Page", Doc: "Page, table or clause."},
		{Key: "blob", Label: "Kept document", Sort: hiddenSort},
	}}
}

func typeSpec() spec {
	own := sourceField("Only where it is not the one above.")
	fields := []field{
		{Key: "part", Label: "Part", Doc: "What it is a type of. It never changes.", Sort: choiceSort, Choices: partKinds, Must: true, Fixed: true},
		{Key: "name", Label: "Name", Doc: "What the type is called on its plate.", Must: true},
		{Key: "maker", Label: "Maker", Doc: "Who makes it."},
		{Key: "marking", Label: "Approval marking", Doc: "Approval marking of the type, as stamped.", Tape: "Type plate."},
		{Key: "class", Label: "Class", Doc: "Approval class, such as G50-X.", Tape: "Type plate."},
	}
	fields = append(fields, ratingFields...)
	fields = append(fields,
		sourceField("Where everything below was copied from, unless it says otherwise. A number without a document and its edition is refused."),
		field{Key: "lubrication", Label: "Lubrication", Doc: "As the instructions call it."},
		field{Key: "note", Label: "Note", Doc: "Anything a reader should know.", Sort: wordsSort},
		field{Key: "dimensions", Label: "Dimensions", One: "dimension", Doc: "What is gauged, with its value when new and its limit.", Sort: listSort, Apart: true, Fields: []field{
			{Key: "name", Label: "Name", Doc: "Short, small letters: lock-wear.", Must: true},
			{Key: "what", Label: "What", Doc: "What is measured where, with which gauge."},
			{Key: "new", Label: "New", Doc: "As printed, with unit: 50.8 mm."},
			{Key: "limit", Label: "Limit", Doc: "As printed, with unit."},
			{Key: "sense", Label: "Replace", Doc: "When the limit is reached from which side.", Sort: choiceSort, Choices: []option{{Value: "max", Text: "above the limit"}, {Value: "min", Text: "below the limit"}}},
			{Key: "reached", Label: "When reached", Doc: "What to do, as the instructions say."},
			own,
		}},
		field{Key: "intervals", Label: "Intervals", One: "interval", Doc: "How often something is done; whichever comes first.", Sort: listSort, Apart: true, Fields: []field{
			{Key: "task", Label: "Task", Doc: "What is done: grease, inspect, check torque.", Must: true},
			{Key: "distance_m", Label: "Distance", Doc: "With unit: 10 000 km.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
			{Key: "months", Label: "Months", Sort: countSort},
			{Key: "days", Label: "Days", Sort: countSort},
			{Key: "once", Label: "Once only", Doc: "Once after fitting, and not again.", Sort: flagSort},
			{Key: "note", Label: "Note"},
			own,
		}},
		field{Key: "torques", Label: "Torques", One: "torque", Doc: "From the fitting instructions of the coupling and the vehicle, and from nowhere else.", Sort: listSort, Apart: true, Fields: []field{
			{Key: "where", Label: "Where", Doc: "Which fasteners.", Must: true},
			{Key: "thread", Label: "Thread", Doc: "Such as M16 × 1.5."},
			{Key: "grade", Label: "Grade", Doc: "Such as 10.9."},
			{Key: "least", Label: "Torque, or least", Doc: "As printed, with unit: 260 N.m.", Must: true},
			{Key: "most", Label: "Most", Doc: "Where a range is printed."},
			{Key: "note", Label: "Note", Doc: "Oiled or dry, retightening."},
			own,
		}})
	return spec{fields, []formPart{
		{"What it is", "", []string{"part", "name", "maker", "marking", "class", "d_n", "imposed_kg", "pin_mm", "note"}},
		{"Where it is from", "Copy from the instructions of exactly the type that is fitted. Nothing here has a default.", []string{"source", "lubrication"}},
		{"Dimensions and limits of wear", "", []string{"dimensions"}},
		{"Intervals", "", []string{"intervals"}},
		{"Torques", "", []string{"torques"}},
	}}
}

func depotSpec() spec {
	return spec{[]field{
		{Key: "name", Label: "Name", Doc: "What people call it.", Must: true},
		{Key: "address", Label: "Address", Sort: wordsSort},
		{Key: "time_zone", Label: "Time zone", Doc: "Such as Europe/Berlin; left out: the server’s."},
		{Key: "note", Label: "Note", Doc: "Anything a reader should know.", Sort: wordsSort},
	}, []formPart{{"", "", []string{"name", "address", "time_zone", "note"}}}}
}

func noticeSpec(types []option) spec {
	return spec{[]field{
		{Key: "title", Label: "Title", Doc: "What the notice is called.", Must: true},
		{Key: "part", Label: "Part", Doc: "What kind of part it is about. It never changes.", Sort: choiceSort, Choices: partKinds, Must: true, Fixed: true},
		{Key: "type", Label: "Type", Doc: "Left out: every type of that part.", Sort: choiceSort, Choices: types},
		{Key: "ranges", Label: "Serial ranges", One: "range", Doc: "Both ends included. Where no range and no serial is given, every serial is meant. A part whose serial is unknown, or is built otherwise, is always found: it must be looked at.", Sort: listSort, Fields: []field{
			{Key: "from", Label: "From", Must: true}, {Key: "to", Label: "To", Must: true},
		}},
		{Key: "serials", Label: "Single serials", Doc: "One a line.", Sort: linesSort},
		{Key: "action", Label: "What is to be done", Doc: "To each part.", Sort: wordsSort, Must: true},
		{Key: "text", Label: "Text", Doc: "What can happen and why.", Sort: wordsSort},
		sourceField("The notice as it came."),
	}, []formPart{
		{"The notice", "", []string{"title", "action", "text", "source"}},
		{"Which parts", "", []string{"part", "type", "ranges", "serials"}},
	}}
}
