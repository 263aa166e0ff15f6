package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

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
			measured, err := (&builtForm{values: in.values}).as(sp)
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.EnterBuilt{Meta: in.Meta, Vehicle: x.Asset, Specification: p.ID, Measured: measured})
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

// A builtForm reads what was typed of a fitting, and notes what is no quantity.
type builtForm struct {
	values map[string]json.RawMessage
	wrong  []fleet.Problem
}

// text is a text at a path: at, or level-0.unladen.
func (f *builtForm) text(path string) string {
	key, member, nested := strings.Cut(path, ".")
	if !nested {
		return textOf(f.values, key)
	}
	var m map[string]string
	_ = json.Unmarshal(f.values[key], &m) // texts that writeFields wrote, or nothing
	return m[member]
}

func typedQuantity[Q ~float64](f *builtForm, path string, d unit.Dimension, expected string) *Q {
	text := f.text(path)
	if text == "" {
		return nil
	}
	v, err := unit.Parse(text, d)
	if err != nil {
		f.wrong = append(f.wrong, fleet.Problem{Where: path, Found: strconv.Quote(text), Expected: expected})
		return nil
	}
	return new(Q(v))
}

func (f *builtForm) length(path string) *unit.Length {
	return typedQuantity[unit.Length](f, path, unit.LengthDim, "a length with its unit, such as 3 103 mm")
}

// as makes what was typed a fitting.
func (f *builtForm) as(sp *mounting.Specification) (mounting.AsBuilt, error) {
	a := mounting.AsBuilt{At: f.length("at"), Gap: f.length("gap")}
	var metres int64
	if raw := f.values["odometer"]; raw != nil && json.Unmarshal(raw, &metres) == nil {
		a.Odometer = new(unit.Length(metres))
	}
	for i := range sp.Heights {
		key := "level-" + strconv.Itoa(i) + "."
		l := mounting.BuiltLevel{Name: sp.Heights[i].Name, Unladen: f.length(key + "unladen"), Laden: f.length(key + "laden"), Raised: f.length(key + "raised")}
		if l.Unladen != nil || l.Laden != nil || l.Raised != nil {
			a.Levels = append(a.Levels, l)
		}
	}
	for i := range sp.Parts {
		key := "plate-" + strconv.Itoa(i)
		if f.values[key] == nil {
			continue
		}
		a.Plates = append(a.Plates, mounting.BuiltPlate{Part: sp.Parts[i].ID, Approval: f.text(key + ".approval"), Serial: f.text(key + ".serial"),
			D:       typedQuantity[unit.Force](f, key+".d", unit.ForceDim, "a force with its unit, such as 152 kN"),
			Imposed: typedQuantity[unit.Mass](f, key+".imposed", unit.MassDim, "a mass with its unit, such as 20 t")})
	}
	for i := range sp.Joints {
		key := "torque-" + strconv.Itoa(i)
		if f.values[key] == nil {
			continue
		}
		a.Torque = append(a.Torque, mounting.BuiltTorque{Upper: sp.Joints[i].Upper, Wrench: f.text(key + ".wrench"),
			Torque: typedQuantity[unit.Torque](f, key+".torque", unit.TorqueDim, "a torque with its unit, such as 260 N.m")})
	}
	if len(f.wrong) > 0 {
		return a, &fleet.Invalid{Problems: f.wrong}
	}
	return a, nil
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
	torques := formPart{Head: "Torques", Doc: "As applied, with the number of the wrench by which its calibration is found."}
	for i := range sp.Joints {
		f := torqueField("torque-"+strconv.Itoa(i), &sp.Joints[i])
		for k := range f.Fields {
			f.Fields[k].Must = true
		}
		fields, torques.Keys = append(fields, f), append(torques.Keys, f.Key)
	}
	fields = append(fields, field{Key: "note", Label: "Note", Doc: "What had moved, what was loose.", Sort: wordsSort})
	s.act(w, r, &action{
		head: "Bolts tightened again, " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true,
		lead:  "Every joint of sheet " + sheetName(&sheet.Sheet) + ", in the order that it gives. A bolt that turned far, or a part that moved, has a cause: find it before the vehicle goes.",
		spec:  spec{fields, []formPart{torques, {Head: "Reading", Keys: []string{"metres", "meter"}}, {Head: "What was found", Keys: []string{"note"}}}},
		typed: typed{"meter": record.Odometer},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.TightenBolts{Meta: in.Meta, Vehicle: x.Asset, Built: id, Reading: readingOf(in.values, ""), Note: textOf(in.values, "note")}
			f := builtForm{values: in.values}
			for i := range sp.Joints {
				key := "torque-" + strconv.Itoa(i) + "."
				typedQuantity[unit.Torque](&f, key+"torque", unit.TorqueDim, "a torque with its unit, such as 260 N.m")
				c.Torques = append(c.Torques, record.JointTight{Joint: sp.Joints[i].Upper, Torque: f.text(key + "torque"), Wrench: f.text(key + "wrench")})
				if f.text(key+"torque") == "" || f.text(key+"wrench") == "" {
					f.wrong = append(f.wrong, fleet.Problem{Where: "torque-" + strconv.Itoa(i), Found: "not all of it", Expected: "the torque and the number of the wrench of every joint"})
				}
			}
			if len(f.wrong) > 0 {
				return nil, &fleet.Invalid{Problems: f.wrong}
			}
			return s.Register.Do(ctx, c)
		},
	})
}
