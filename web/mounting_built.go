package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"

	"underpin/fleet"
	"underpin/mounting"
	"underpin/record"
	"underpin/unit"
)

// enterBuilt asks what was measured when a mounting was fitted by a sheet.
func (s *site) enterBuilt(w http.ResponseWriter, r *http.Request) {
	p, ok := s.sheetOf(w, r)
	if !ok {
		return
	}
	x, sp := p.Vehicle, p.Data
	href := sheetHref(x.Asset, p.ID)
	if p.State != record.ApprovedSheet {
		s.errorPage(w, r, http.StatusConflict, "This sheet is a draft.", "Nothing is fitted by a draft: approve it for fitting first, then enter what was built.")
		return
	}
	s.act(w, r, &action{
		head: "As built: " + sheetName(&p.Sheet) + ", " + vehicleTitle(x), save: "Enter it", back: href, when: true,
		lead: "Enter what was measured after fitting. Pairings are reckoned with these values from then on, in place of the planned ones. What nobody measured is left empty, and is unknown: no answer is built on the plan. Each torque needs the number of the wrench.",
		spec: builtSpec(sp),
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.EnterBuilt{Meta: in.Meta, Vehicle: x.Asset, Specification: p.ID, Measured: builtOf(sp, in.values)})
		},
		after: func(*fleet.Done) string { return href },
	})
}

func lengthField(key, label, doc, tape string) field {
	return field{Key: key, Label: label, Doc: doc, Tape: tape, Sort: quantitySort, Dim: unit.LengthDim, Accept: "such as 3 103 mm"}
}

// builtSpec asks for everything that the sheet has a planned value of.
func builtSpec(sp *mounting.Specification) spec {
	planned := func(v *int) string {
		if v == nil {
			return "Nothing was planned."
		}
		return "Planned: " + whole(v, "\u00a0mm") + "."
	}
	fields := []field{
		lengthField("at", "Front axle to the jaw’s middle", planned(sp.Position.At), "Front hub centre to the centre of the jaw, both sides; on a slider in its foremost position."),
	}
	if sp.Chassis.Base == mounting.OnAngles {
		fields = append(fields, lengthField("gap", "Gap between the mounting plate and the frame’s flange", "At least 5 mm, all along.", "Feeler or slip gauge, the least of all places."))
	}
	place := formPart{Head: "Position", Keys: []string{"at"}}
	if len(fields) > 1 {
		place.Keys = append(place.Keys, "gap")
	}
	heights := formPart{Head: "Height of the top plate", Doc: "Ground to the plate’s surface at the jaw, plate level."}
	for i := range sp.Heights {
		h := &sp.Heights[i]
		key := "level-" + strconv.Itoa(i)
		label := or(h.Name, "Coupling height")
		fields = append(fields, field{Key: key, Label: upperFirst(label), Sort: tableSort, Fields: []field{
			lengthField("unladen", "Unladen", planned(firstOf(h.Wanted, h.Unladen)), "Tractor alone, at this level."),
			lengthField("laden", "Laden", planned(firstOf(h.WantedLow, h.Laden)), "Coupled to the laden semi-trailer."),
			lengthField("raised", "Suspension raised", planned(h.Raised), "Tractor alone, suspension at its highest."),
		}})
		heights.Keys = append(heights.Keys, key)
	}
	plates := formPart{Head: "Type plates", Doc: "As read on the part that was fitted, not from the catalogue. A plate that cannot be read stays unknown."}
	torques := formPart{Head: "Torques", Doc: "As applied, with the number of the wrench by which its calibration is found."}
	for i := range sp.Parts {
		q := &sp.Parts[i]
		key := "plate-" + strconv.Itoa(i)
		fields = append(fields, field{Key: key, Label: q.Name, Sort: tableSort, Fields: []field{
			{Key: "d", Label: "D-value", Doc: "Planned with: " + decimals(q.D, 0) + " kN.", Sort: quantitySort, Dim: unit.ForceDim, Accept: "such as 152 kN"},
			{Key: "imposed", Label: "Imposed load U", Doc: "Planned with: " + whole(q.U, " kg") + ".", Sort: quantitySort, Dim: unit.MassDim, Accept: "such as 20 t"},
			{Key: "approval", Label: "Approval", Doc: "Number and class as marked."},
			{Key: "serial", Label: "Serial"},
		}})
		plates.Keys = append(plates.Keys, key)
	}
	for i := range sp.Joints {
		j := &sp.Joints[i]
		key := "torque-" + strconv.Itoa(i)
		fields = append(fields, torqueField(key, j))
		torques.Keys = append(torques.Keys, key)
	}
	fields = append(fields, field{Key: "odometer", Label: "Odometer", Doc: "Of the tractor when it was fitted. From it follows when the bolts are tightened again.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M, Accept: "such as 412 300 km"})
	torques.Keys = append(torques.Keys, "odometer")
	return spec{fields, []formPart{place, heights, plates, torques}}
}

func torqueField(key string, j *mounting.JointRow) field {
	doc := "The sheet gives none."
	if j.Torque != nil {
		doc = "By the sheet: " + unit.Digits(*j.Torque, 0) + " N·m."
		if j.Document != "" {
			doc += " " + j.Document + "."
		}
	}
	return field{Key: key, Label: upperFirst(j.Title), Sort: tableSort, Fields: []field{
		{Key: "torque", Label: "Torque", Doc: doc, Sort: quantitySort, Dim: unit.TorqueDim, Accept: "such as 260 N.m"},
		{Key: "wrench", Label: "Number of the wrench"},
	}}
}

func firstOf(a, b *int) *int {
	if a != nil {
		return a
	}
	return b
}

// within are the texts of a table that was typed.
func within(values map[string]json.RawMessage, key string) map[string]string {
	var m map[string]string
	_ = json.Unmarshal(values[key], &m) // texts that writeFields wrote, or nothing
	return m
}

// quantityOf reads a quantity that the form has read already.
func quantityOf[Q ~float64](text string, d unit.Dimension) *Q {
	v, err := unit.Parse(text, d)
	if text == "" || err != nil {
		return nil
	}
	return new(Q(v))
}

// builtOf makes what was typed a fitting.
func builtOf(sp *mounting.Specification, values map[string]json.RawMessage) mounting.AsBuilt {
	a := mounting.AsBuilt{At: quantityOf[unit.Length](textOf(values, "at"), unit.LengthDim), Gap: quantityOf[unit.Length](textOf(values, "gap"), unit.LengthDim)}
	var metres int64
	if raw := values["odometer"]; raw != nil && json.Unmarshal(raw, &metres) == nil {
		a.Odometer = new(unit.Length(metres))
	}
	for i := range sp.Heights {
		m := within(values, "level-"+strconv.Itoa(i))
		l := mounting.BuiltLevel{Name: sp.Heights[i].Name, Unladen: quantityOf[unit.Length](m["unladen"], unit.LengthDim),
			Laden: quantityOf[unit.Length](m["laden"], unit.LengthDim), Raised: quantityOf[unit.Length](m["raised"], unit.LengthDim)}
		if l.Unladen != nil || l.Laden != nil || l.Raised != nil {
			a.Levels = append(a.Levels, l)
		}
	}
	for i := range sp.Parts {
		if m := within(values, "plate-"+strconv.Itoa(i)); len(m) > 0 {
			a.Plates = append(a.Plates, mounting.BuiltPlate{Part: sp.Parts[i].ID, D: quantityOf[unit.Force](m["d"], unit.ForceDim), Imposed: quantityOf[unit.Mass](m["imposed"], unit.MassDim),
				Approval: m["approval"], Serial: m["serial"]})
		}
	}
	for i := range sp.Joints {
		if m := within(values, "torque-"+strconv.Itoa(i)); len(m) > 0 {
			a.Torque = append(a.Torque, mounting.BuiltTorque{Upper: sp.Joints[i].Upper, Torque: quantityOf[unit.Torque](m["torque"], unit.TorqueDim), Wrench: m["wrench"]})
		}
	}
	return a
}

// tightenBolts asks for the torques when the bolts are tightened again.
func (s *site) tightenBolts(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	id := record.ID(r.PathValue("built"))
	var built *record.Built
	for i := range x.Built {
		if x.Built[i].ID == id {
			built = &x.Built[i]
		}
	}
	if built == nil {
		s.fail(w, r, &fleet.NotFound{What: "fitting of a mounting", Name: string(id)})
		return
	}
	sheet, err := s.Register.SheetPage(r.Context(), x.Asset, built.Specification)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	sp := sheet.Data
	fields := readingFields("", "", metersOf(record.Tractor))
	for i := range sp.Joints {
		f := torqueField("torque-"+strconv.Itoa(i), &sp.Joints[i])
		for k := range f.Fields {
			f.Fields[k].Must = true
		}
		fields = append(fields, f)
	}
	fields = append(fields, field{Key: "note", Label: "Note", Doc: "What had moved, what was loose.", Sort: wordsSort})
	s.act(w, r, &action{
		head: "Bolts tightened again, " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true,
		lead: "Every joint of sheet " + sheetName(&sheet.Sheet) + ", in the order that it gives. A bolt that turned far, or a part that moved, has a cause: find it before the vehicle goes.",
		spec: one(fields...), typed: typed{"meter": record.Odometer},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.TightenBolts{Meta: in.Meta, Vehicle: x.Asset, Built: id, Reading: readingOf(in.values, ""), Note: textOf(in.values, "note")}
			for i := range sp.Joints {
				m := within(in.values, "torque-"+strconv.Itoa(i))
				c.Torques = append(c.Torques, record.JointTight{Joint: sp.Joints[i].Upper, Torque: m["torque"], Wrench: m["wrench"]})
			}
			return s.Register.Do(ctx, c)
		},
	})
}
