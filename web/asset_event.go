package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"

	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
)

// What happens to vehicles and parts, each as one form.

func i64(n int64) string { return strconv.FormatInt(n, 10) }

// metersOf are the meters that a kind of vehicle can have.
func metersOf(kind string) []option {
	if kind == record.Tractor {
		return []option{{Value: record.Odometer, Text: "odometer"}, {Value: record.HubMeter, Text: "hub meter"}}
	}
	return []option{{Value: record.HubMeter, Text: "hub meter"}, {Value: record.Brake, Text: "brake controller"}}
}

func usualMeter(kind string) string {
	if kind == record.Tractor {
		return record.Odometer
	}
	return ""
}

// readingFields ask for what a meter showed.
func readingFields(prefix, of string, meters []option) []field {
	return []field{
		{Key: prefix + "metres", Label: capital(of + "reading"), Doc: "What the meter showed, with its unit. Not read: leave it empty; then the distance is a gap.", Accept: "such as 412 300 km or 256 191 mi", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
		{Key: prefix + "meter", Label: capital(of + "meter"), Doc: "Where it was read.", Sort: choiceSort, Choices: meters},
	}
}

// readingOf makes what was typed a reading.
func readingOf(values map[string]json.RawMessage, prefix string) record.MeterReading {
	var m record.MeterReading
	if raw := values[prefix+"metres"]; raw != nil {
		var n int64
		if json.Unmarshal(raw, &n) == nil {
			m.Metres = &n
			m.Meter = textOf(values, prefix+"meter")
		}
	}
	return m
}

// textOf is a text among values that writeFields wrote.
func textOf(values map[string]json.RawMessage, key string) string {
	var s string
	_ = json.Unmarshal(values[key], &s)
	return s
}

func assetOf(values map[string]json.RawMessage, key string) record.Asset {
	return record.Asset(textOf(values, key))
}

// one is a form of a single part.
func one(fields ...field) spec {
	p := formPart{}
	for _, f := range fields {
		p.Keys = append(p.Keys, f.Key)
	}
	return spec{fields, []formPart{p}}
}

// vehicleFor returns the vehicle that an address names, and its form of address.
func (s *site) vehicleFor(w http.ResponseWriter, r *http.Request) (*fleet.VehiclePage, bool) {
	p, err := s.Register.VehiclePage(r.Context(), assetIn(r, record.VehicleAsset))
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	return p, true
}

func (s *site) partFor(w http.ResponseWriter, r *http.Request) (*fleet.PartPage, bool) {
	p, err := s.Register.PartPage(r.Context(), assetIn(r, record.PartAsset))
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	return p, true
}

func (s *site) scrapVehicle(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	kind := x.VehicleAdded.Vehicle
	s.act(w, r, &action{
		head: "Scrap " + vehicleTitle(x), save: "Scrap it", back: hrefOf(x.Asset), when: true, reason: "Why", must: true,
		lead: "It leaves the lists of what is in use. Its history stays, and its fleet number becomes free.",
		spec: one(readingFields("", "", metersOf(kind))...), typed: typed{"meter": usualMeter(kind)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ScrapVehicle{Meta: in.Meta, Asset: x.Asset, Reading: readingOf(in.values, "")})
		},
	})
}

func (s *site) enterReading(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	kind := x.VehicleAdded.Vehicle
	fields := readingFields("", "", metersOf(kind))
	fields[0].Must, fields[0].Doc = true, "What the meter showed, with its unit."
	s.act(w, r, &action{
		head: "Enter a reading of " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true,
		lead: "It is entered as it was read. One that seems wrong is questioned and never silently changed.",
		spec: one(fields...), typed: typed{"meter": usualMeter(kind)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			m := readingOf(in.values, "")
			at := in.Happened
			if at == 0 {
				at = in.now()
			}
			delivery := fleet.Readings{ID: in.ID, Rows: []fleet.ReadingRow{
				{Vehicle: string(x.Asset), Meter: m.Meter, At: at, Metres: *m.Metres, Unit: unitTyped(in.typed["metres"])}}}
			delivery.Source = "entered by hand"
			rep, err := s.Register.EnterReadings(ctx, delivery)
			if err != nil {
				return nil, err
			}
			done := &fleet.Done{Asset: x.Asset, Record: in.ID, Repeated: rep.Repeated > 0}
			if len(rep.Wrong) > 0 {
				e := &fleet.Invalid{}
				for _, q := range rep.Wrong {
					where := map[string]string{"distance": "metres", "at": whenName}[q.Where]
					if where == "" {
						where = q.Where
					}
					e.Problems = append(e.Problems, fleet.Problem{Where: where, Found: q.Found, Expected: q.Expected})
				}
				return nil, e
			}
			for _, q := range rep.Questions {
				want := "a reading in line with those before; a technician or engineer can judge it on the vehicle’s page"
				if q.Proposed != nil {
					want = metresText(q.Proposed) + ", perhaps; a technician or engineer can judge it on the vehicle’s page"
				}
				done.Warnings = append(done.Warnings, fleet.Problem{Where: "metres", Found: metresText(&q.Metres) + " (" + q.Why + ")", Expected: want})
			}
			return done, nil
		},
	})
}

// unitTyped is the unit in which a distance was typed.
func unitTyped(text string) string {
	for _, u := range []string{"km", "mi"} {
		if len(text) > 2 && text[len(text)-2:] == u {
			return u
		}
	}
	return "m"
}

// storedParts are the parts that can be fitted.
func (s *site) storedParts(ctx context.Context, kinds ...string) ([]option, error) {
	all, err := s.options(ctx, fleet.ListQuery{Kind: record.PartAsset, Status: []string{record.StatusStored}}, func(i *fleet.Item) string {
		part, _ := i.Line["part"].(string)
		for _, k := range kinds {
			if part == k {
				return ""
			}
		}
		return i.Title
	})
	kept := all[:0]
	for _, o := range all {
		if o.Text != "" {
			kept = append(kept, o)
		}
	}
	return kept, err
}

func (s *site) fitToVehicle(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	kind := x.VehicleAdded.Vehicle
	not := []string{record.Kingpin, record.RubbingPlate}
	if kind == record.SemiTrailer {
		not = []string{record.FifthWheel, record.Mounting}
	}
	parts, err := s.storedParts(r.Context(), not...)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	lead := "History follows the part: what it ran elsewhere comes with it."
	if len(parts) == 0 {
		lead = "No part of the register is in store that belongs on such a vehicle. Add the part first (Fleet, Parts), then fit it."
	}
	fields := append([]field{
		{Key: "part", Label: "Part", Doc: "Of those that are in store.", Sort: choiceSort, Choices: parts, Must: true},
		placeField,
	}, readingFields("", "", metersOf(kind))...)
	s.act(w, r, &action{
		head: "Fit a part to " + vehicleTitle(x), save: "Fit it", back: hrefOf(x.Asset), when: true, reason: "Note", lead: lead,
		spec: one(fields...), typed: typed{"meter": usualMeter(kind), "part": r.FormValue("part")},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.FitPart{Meta: in.Meta, Part: assetOf(in.values, "part"), Vehicle: x.Asset, Place: textOf(in.values, "place"), Reading: readingOf(in.values, "")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

var placeField = field{Key: "place", Label: "Place", Doc: "Left out: where such a part belongs. Another place in small letters and hyphens."}

func (s *site) fitPart(w http.ResponseWriter, r *http.Request) {
	p, ok := s.partFor(w, r)
	if !ok {
		return
	}
	fields := append([]field{
		{Key: "number", Label: "Vehicle", Doc: "Its fleet number, such as heron-07.", Must: true}, placeField,
	}, readingFields("", "", []option{{Value: record.Odometer, Text: "odometer"}, {Value: record.HubMeter, Text: "hub meter"}, {Value: record.Brake, Text: "brake controller"}})...)
	s.act(w, r, &action{
		head: "Fit " + partTitle(p.Part), save: "Fit it", back: hrefOf(p.Part.Asset), when: true, reason: "Note",
		lead: "History follows the part: what it ran elsewhere comes with it.",
		spec: one(fields...), typed: typed{"number": r.FormValue("vehicle")},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			vehicle, err := s.numbered(ctx, in, "number")
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.FitPart{Meta: in.Meta, Part: p.Part.Asset, Vehicle: vehicle, Place: textOf(in.values, "place"), Reading: readingOf(in.values, "")})
		},
	})
}

// numbered finds the vehicle whose number was typed.
func (s *site) numbered(ctx context.Context, in *sent, key string) (record.Asset, error) {
	a, err := s.Register.ByNumber(ctx, in.typed[key])
	if _, none := err.(*fleet.NotFound); none {
		return "", &fleet.Invalid{Problems: []fleet.Problem{{Where: key, Found: strconv.Quote(in.typed[key]), Expected: "the fleet number of a vehicle in use"}}}
	}
	return a, err
}

func (s *site) removePart(w http.ResponseWriter, r *http.Request) {
	p, ok := s.partFor(w, r)
	if !ok {
		return
	}
	on := p.Part.On()
	if on == nil {
		s.errorPage(w, r, http.StatusConflict, "It is not fitted.", "Only a part that sits on a vehicle can be removed.")
		return
	}
	depots, err := s.depotOptions(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	meters := []option{{Value: record.Odometer, Text: "odometer"}, {Value: record.HubMeter, Text: "hub meter"}, {Value: record.Brake, Text: "brake controller"}}
	fields := append(readingFields("", "", meters),
		field{Key: "depot", Label: "Lies at", Doc: "Where it lies now.", Sort: choiceSort, Choices: depots},
		field{Key: "condition", Label: "Condition", Doc: "What was found.", Sort: wordsSort})
	title := p.Sat[0].Title
	s.act(w, r, &action{
		head: "Remove " + partTitle(p.Part) + " from " + title, save: "Remove it", back: hrefOf(p.Part.Asset), when: true, reason: "Note",
		spec: one(fields...), typed: typed{"meter": on.FromReading.Meter},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.RemovePart{Meta: in.Meta, Part: p.Part.Asset, Reading: readingOf(in.values, ""), Depot: assetOf(in.values, "depot"), Condition: textOf(in.values, "condition")})
		},
	})
}

func (s *site) scrapPart(w http.ResponseWriter, r *http.Request) {
	p, ok := s.partFor(w, r)
	if !ok {
		return
	}
	s.act(w, r, &action{
		head: "Scrap " + partTitle(p.Part), save: "Scrap it", back: hrefOf(p.Part.Asset), when: true, reason: "Why", must: true,
		lead: "It is taken off first. Its history stays; a safety notice no longer asks for it.",
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.ScrapPart{Meta: in.Meta, Asset: p.Part.Asset})
		},
	})
}

func (s *site) couple(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	fields := append([]field{{Key: "number", Label: "To which vehicle", Doc: "Fleet number of the tractor, or of the dolly.", Must: true}},
		readingFields("by_", "its ", append(metersOf(record.Tractor), option{Value: record.Brake, Text: "brake controller"}))...)
	fields = append(fields, readingFields("", "own ", metersOf(record.SemiTrailer))...)
	fields = append(fields, field{Key: "place", Label: "Place", Doc: "Yard or town."})
	s.act(w, r, &action{
		head: "Couple " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true, reason: "Note",
		lead: "From these entries follows how far kingpin and coupling ran together.",
		spec: one(fields...), typed: typed{"by_meter": record.Odometer},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			by, err := s.numbered(ctx, in, "number")
			if err != nil {
				return nil, err
			}
			return s.Register.Do(ctx, &fleet.Couple{Meta: in.Meta, Towed: x.Asset, By: by, ByReading: readingOf(in.values, "by_"), Reading: readingOf(in.values, ""), Place: textOf(in.values, "place")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

func (s *site) uncouple(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	fields := append(readingFields("by_", "towing vehicle’s ", append(metersOf(record.Tractor), option{Value: record.Brake, Text: "brake controller"})),
		readingFields("", "own ", metersOf(record.SemiTrailer))...)
	fields = append(fields, field{Key: "place", Label: "Place", Doc: "Where it was left."})
	s.act(w, r, &action{
		head: "Uncouple " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), when: true, reason: "Note",
		spec: one(fields...), typed: typed{"by_meter": record.Odometer},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			return s.Register.Do(ctx, &fleet.Uncouple{Meta: in.Meta, Towed: x.Asset, ByReading: readingOf(in.values, "by_"), Reading: readingOf(in.values, ""), Place: textOf(in.values, "place")})
		},
		after: func(*fleet.Done) string { return hrefOf(x.Asset) },
	})
}

func (s *site) replaceMeter(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	kind := x.VehicleAdded.Vehicle
	fields := []field{
		{Key: "meter", Label: "Meter", Sort: choiceSort, Choices: metersOf(kind), Must: true},
		{Key: "old", Label: "Old one at the end", Doc: "Not read: leave it empty; then the distance across the change is a gap.", Accept: "such as 412 300 km", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M},
		{Key: "new", Label: "New one at the start", Doc: "0 km where it is new.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M, Must: true},
	}
	s.act(w, r, &action{
		head: "A meter of " + vehicleTitle(x) + " was replaced", save: "Enter it", back: hrefOf(x.Asset), when: true, reason: "Note",
		lead: "Distances go on across the change.",
		spec: one(fields...), typed: typed{"meter": usualMeter(kind)},
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.ReplaceMeter{Meta: in.Meta, Vehicle: x.Asset, Meter: textOf(in.values, "meter")}
			_ = json.Unmarshal(in.values["new"], &c.New)
			if raw := in.values["old"]; raw != nil {
				c.Old = new(int64)
				_ = json.Unmarshal(raw, c.Old)
			}
			return s.Register.Do(ctx, c)
		},
	})
}

func (s *site) judgeReading(w http.ResponseWriter, r *http.Request) {
	p, ok := s.vehicleFor(w, r)
	if !ok {
		return
	}
	x := p.Vehicle
	q := r.URL.Query()
	at, err := record.ParseTime(q.Get("at"))
	metres, err2 := strconv.ParseInt(q.Get("metres"), 10, 64)
	if err != nil || err2 != nil {
		s.fail(w, r, &badInput{"reading", q.Get("at") + " " + q.Get("metres"), "a reading of the vehicle"})
		return
	}
	start := typed{}
	if n, err := strconv.ParseInt(q.Get("proposed"), 10, 64); err == nil {
		start["read_as"] = unit.Text(float64(n), unit.KM)
	}
	s.act(w, r, &action{
		head: "Judge a reading of " + vehicleTitle(x), save: "Enter it", back: hrefOf(x.Asset), reason: "Why",
		lead: capital(metersNames[q.Get("meter")]) + ", " + metresText(&metres) + " on " + when(at) + ". The reading itself stays as it came; what you decide counts from now on.",
		spec: one(
			field{Key: "decision", Label: "It is", Sort: choiceSort, Must: true, Choices: []option{
				{Value: record.KeepReading, Text: "right: count it as it is"}, {Value: record.LeaveReading, Text: "wrong: leave it out"}, {Value: record.ReadAs, Text: "a slip: read it as"}}},
			field{Key: "read_as", Label: "Read it as", Doc: "Only where it is a slip.", Sort: wholeSort, Dim: unit.LengthDim, Unit: unit.M}),
		typed: start,
		do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
			c := &fleet.JudgeReading{Meta: in.Meta, Vehicle: x.Asset, Meter: q.Get("meter"), At: at, Metres: metres, Decision: textOf(in.values, "decision")}
			if raw := in.values["read_as"]; raw != nil && c.Decision == record.ReadAs {
				c.ReadAs = new(int64)
				_ = json.Unmarshal(raw, c.ReadAs)
			}
			return s.Register.Do(ctx, c)
		},
	})
}

// attach serves the form for a photo or paper beside an asset of any kind.
func (s *site) attach(kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		a := assetIn(r, kind)
		names, err := s.titles(r.Context(), a)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		s.act(w, r, &action{
			head: "Attach to " + nameOf(names, a), save: "Attach it", back: hrefOf(a), file: true, when: true,
			spec: one(
				field{Key: "title", Label: "Title", Doc: "What it shows.", Must: true},
				field{Key: "sort", Label: "What it is", Sort: choiceSort, Choices: choicesOf("photo", "certificate", "instructions", "plate", "other"), Must: true}),
			typed: typed{"sort": "photo"},
			do: func(ctx context.Context, in *sent) (*fleet.Done, error) {
				up, err := s.Register.Upload(ctx, in.file)
				if err != nil {
					return nil, err
				}
				return s.Register.Do(ctx, &fleet.Attach{Meta: in.Meta, Asset: a, Title: textOf(in.values, "title"), Sort: textOf(in.values, "sort"), Name: cutText(in.name, 200), File: *up})
			},
			after: func(*fleet.Done) string { return hrefOf(a) },
		})
	}
}

func cutText(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n])
	}
	return s
}

// now is the instant that the form was begun, which its id holds.
func (in *sent) now() record.Time { return record.At(timeNow()) }

// withQuery adds a value to an address.
func withQuery(path string, pairs ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			v.Set(pairs[i], pairs[i+1])
		}
	}
	if len(v) == 0 {
		return path
	}
	return path + "?" + v.Encode()
}
