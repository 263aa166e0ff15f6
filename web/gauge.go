package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"underpin/fleet"
	"underpin/maintenance"
	"underpin/unit"
)

// takeKey is the name of a reading in the form.
func takeKey(measure string, take int) string { return "m-" + measure + "-" + itoa(take) }

// gauge shows the gauge sheet of a vehicle, and takes it filled in. What seems wrong
// comes back beside the reading with everything typed still there; what may be so
// all the same is confirmed with a reason.
func (s *site) gauge(w http.ResponseWriter, r *http.Request) {
	a := assetIn(r, "vehicle")
	var halves []maintenance.Half
	if h := r.FormValue("half"); h != "" {
		halves = []maintenance.Half{maintenance.Half(h)}
	}
	p, err := s.Register.GaugeSheet(r.Context(), a, halves...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x := p.Vehicle
	sp, first := gaugeSpec(p)
	first["meter"] = usualMeter(x.VehicleAdded.Vehicle)
	var names []string
	for _, h := range p.Halves {
		names = append(names, halfWords[string(h)])
	}
	lead := "Inches or millimetres, each with its unit: 50.1 mm, 1.97 in. What was not measured is left empty, and then the outcome cannot be told."
	if len(p.Laws) == 0 {
		lead += " No country is set in the register, so no law’s limit is held: the outcome cannot be told."
	}
	if p.Pin == 0 {
		lead += " The size of the pin is not known: enter it at the part or its type first."
	}
	s.act(w, r, &action{
		head: "Gauge sheet: " + vehicleTitle(x) + ", " + strings.Join(names, " and "), save: "Enter the sheet", back: hrefOf(x.Asset), when: true, lead: lead, spec: sp, typed: first,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) { return s.fillSheet(ctx, p, in) },
		after: func(*fleet.Done) string {
			page, err := s.Register.VehiclePage(r.Context(), a)
			if err != nil || page.Vehicle.Upkeep.Last() == nil {
				return hrefOf(a)
			}
			return outcomeHref(a, page.Vehicle.Upkeep.Last().ID)
		},
	})
}

// gaugeSpec asks for what a sheet asks, in its order.
func gaugeSpec(p *fleet.GaugePage) (spec, typed) {
	var sp spec
	first := typed{}
	add := func(part *formPart, f field) {
		sp.fields = append(sp.fields, f)
		part.Keys = append(part.Keys, f.Key)
	}
	before := formPart{Head: "Before you measure"}
	for _, t := range slices.Concat(p.Sheet.Prepare, p.Sheet.Cautions) {
		before.Doc += t.English + " "
	}
	apart := slices.Contains(p.Halves, maintenance.Tractor) || slices.Contains(p.Halves, maintenance.Trailer)
	if apart {
		add(&before, field{Key: "uncoupled", Label: "It is uncoupled", Sort: flagSort})
		add(&before, field{Key: "cleaned", Label: "Grease and dirt are off", Sort: flagSort})
	}
	add(&before, field{Key: "instrument", Label: "Gauge", Doc: "Its number, by which its calibration is found."})
	add(&before, field{Key: "calibrated", Label: "Calibrated until", Accept: "a day such as 2027-01-31"})
	sp.parts = append(sp.parts, before)
	for _, h := range p.Sheet.Halves {
		part := formPart{Head: "Measure: " + halfWords[string(h)]}
		for i := range p.Sheet.Rows {
			row := &p.Sheet.Rows[i]
			m := &row.Measure
			if m.Half != h {
				continue
			}
			doc := m.Where.English
			if n := newSize(row); n != "" {
				doc += " " + n
			}
			for k := range row.Limits {
				doc += " " + capital(rowLimit(&row.Limits[k])) + "."
			}
			if len(row.Limits) == 0 {
				doc += " No limit is known: enter it in the type record."
			}
			accept := map[unit.Dimension]string{unit.LengthDim: "such as 50.1 mm or 1.97 in", unit.AngleDim: "such as 0.5°", unit.Number: "a share as counted, such as 3 of 12"}[m.Dim]
			for take := range m.Takes {
				f := field{Key: takeKey(m.Key, take), Label: capital(m.Name.English), Accept: accept, Tape: m.Gauge.English}
				if t := m.Takes[take].English; t != "" {
					f.Label += ", " + t
				}
				if take == 0 {
					f.Doc = doc
				}
				add(&part, f)
			}
		}
		if h != maintenance.Trailer && slices.ContainsFunc(p.Sheet.Rows, func(r maintenance.Row) bool {
			return r.Measure.Half == h && (r.Measure.Key == maintenance.Play || r.Measure.Key == maintenance.LockPlay)
		}) && !slices.ContainsFunc(sp.fields, func(f field) bool { return f.Key == "travel" }) {
			add(&part, field{Key: "travel", Label: "Travel of the adjuster", Doc: "Is there travel left to set the lock?", Sort: choiceSort, Choices: []option{{Value: "left", Text: "left"}, {Value: "none", Text: "none left"}}})
		}
		sp.parts = append(sp.parts, part)
		look := formPart{Head: "Look: " + halfWords[string(h)], Doc: "Is it so? What nobody looked at is no pass."}
		for _, l := range p.Sheet.Looks {
			if l.Half != h {
				continue
			}
			f := field{Key: "l-" + l.Key, Label: capital(l.Name.English), Doc: l.Source + ".", Sort: choiceSort, Choices: []option{{Value: string(maintenance.Fine), Text: "no, in order"}, {Value: string(maintenance.Found), Text: "yes, found"}, {Value: string(maintenance.NotFitted), Text: "not fitted"}}}
			if l.Weight == maintenance.HardStop {
				f.Doc += " If so: do not use."
			}
			add(&look, f)
		}
		sp.parts = append(sp.parts, look)
	}
	after := formPart{Head: "Who measured"}
	add(&after, field{Key: "measured", Label: "Measured by", Doc: "Left out: you."})
	add(&after, field{Key: "workshop", Label: "Workshop", Doc: "When another’s: then you accept what it measured."})
	for _, f := range readingFields("", "", metersOf(p.Vehicle.VehicleAdded.Vehicle)) {
		add(&after, f)
	}
	add(&after, field{Key: "because", Label: "What is asked above is so, because", Doc: "Only when something is asked about a reading. Measure again first. It answers every question that was asked and that may be so; the reason stands in the records.", Sort: wordsSort})
	add(&after, field{Key: "asked", Label: "asked", Sort: hiddenSort})
	sp.parts = append(sp.parts, after)
	return sp, first
}

func (s *site) fillSheet(ctx context.Context, p *fleet.GaugePage, in *sent) (*fleet.Done, error) {
	text := func(key string) string { return textOf(in.values, key) }
	f := maintenance.Filled{Halves: p.Halves, Readings: map[string][]string{}, Looks: map[string]maintenance.LookAnswer{}, Confirmed: map[string]string{},
		Instrument: maintenance.Instrument{ID: text("instrument"), Calibrated: text("calibrated")},
		Uncoupled:  in.typed["uncoupled"] != "", Cleaned: in.typed["cleaned"] != "", Travel: text("travel"), Measured: text("measured"), Workshop: text("workshop")}
	for i := range p.Sheet.Rows {
		m := &p.Sheet.Rows[i].Measure
		var takes []string
		some := false
		for take := range m.Takes {
			t := text(takeKey(m.Key, take))
			takes, some = append(takes, t), some || t != ""
		}
		if some {
			f.Readings[m.Key] = takes
		}
	}
	for _, l := range p.Sheet.Looks {
		if v := text("l-" + l.Key); v != "" {
			f.Looks[l.Key] = maintenance.LookAnswer(v)
		}
	}
	if why := text("because"); why != "" {
		for key := range strings.FieldsSeq(in.typed["asked"]) {
			f.Confirmed[key] = why // only what was shown before may be confirmed
		}
	}
	c := &fleet.FillSheet{Meta: in.Meta, Vehicle: p.Vehicle.Asset, Filled: f, Reading: readingOf(in.values, "")}
	if p.Coupled != nil && slices.Contains(p.Halves, maintenance.Pair) {
		if c.Partner = p.Coupled.By; c.Partner == p.Vehicle.Asset {
			c.Partner = p.Coupled.Towed
		}
	}
	done, err := s.Register.Do(ctx, c)
	asked, is := errors.AsType[*fleet.Asked](err)
	if !is {
		return done, err
	}
	wrong := &fleet.Invalid{}
	keys := strings.Fields(in.typed["asked"])
	for _, q := range asked.Questions {
		where := map[bool]string{true: takeKey(q.Measure, max(q.Take, 0)), false: wholeQuestions[q.Key]}[q.Measure != ""]
		found := q.Say.String()
		if q.Proposed != "" {
			found += " (" + q.Proposed + "?)"
		}
		expected := "it to be put right"
		if !q.Refused {
			expected = "it measured again, or the reason below"
			if !slices.Contains(keys, q.Key) {
				keys = append(keys, q.Key)
			}
		}
		wrong.Problems = append(wrong.Problems, fleet.Problem{Where: where, Found: found, Expected: expected})
	}
	in.typed["asked"] = strings.Join(keys, " ")
	return nil, wrong
}

// wholeQuestions are the fields of questions about the sheet as a whole.
var wholeQuestions = map[string]string{"odometer.back": "metres", "sheet.coupled": "uncoupled", "sheet.greasy": "cleaned", "instrument.past": "calibrated", "instrument.unknown": "instrument", "day.future": whenName, "day.before-last": whenName, "day.unreadable": whenName}
