package fleet

import (
	"encoding/json"
	"fmt"
	"maps"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/mounting"
	"underpin/record"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// KeepCatalogue puts a parts file in the place of the one before. What is wrong
// with it comes back with line and column, and then nothing changes. The files
// before stay in the history.
type KeepCatalogue struct {
	Meta
	Name string // of the file
	Data []byte
}

func (*KeepCatalogue) spec() (Permission, string) { return Design, "catalogue-kept" }

func (c *KeepCatalogue) plan(s *step) error {
	f, err := parseParts(c.Name, c.Data)
	if err != nil {
		return err
	}
	blob, err := s.putBlob(c.Data)
	if err != nil {
		return err
	}
	s.done.Asset = catalogueAsset
	e, err := s.entity(catalogueAsset)
	if err != nil {
		return err
	}
	if e != nil {
		if now, err := e.Catalogue(record.Latest); err != nil {
			return err
		} else if now != nil && now.Blob == blob && now.Name == c.Name {
			return nil // it is in force already
		}
	}
	return s.enter(catalogueAsset, record.CatalogueKept{Name: c.Name, Bytes: int64(len(c.Data)), Blob: blob,
		Chassis: int64(len(f.Chassis)), Parts: int64(len(f.Parts)), Briefs: int64(len(f.Briefs)), Fittings: int64(len(f.Fittings))})
}

// KeepSpecification keeps a mounting specification of a tractor: as a draft, or
// approved for fitting. It is approved by the person who acts and by nobody else,
// and only while every finding that binds fits. A number and a revision are used
// once.
type KeepSpecification struct {
	Meta
	Vehicle record.Asset
	Request *mounting.Request
	Sheet   *mounting.Specification
	Paper   []byte // the sheet as it was printed
}

func (*KeepSpecification) spec() (Permission, string) { return Design, "specification-kept" }

func (c *KeepSpecification) plan(s *step) error {
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	sp := c.Sheet
	switch {
	case sp == nil || c.Request == nil:
		return invalid("", "sheet", "nothing", "a specification with the question that it answers")
	case sp.Tractor.ID != v.Number():
		return invalid("", "sheet", "a specification of "+sp.Tractor.ID, "one of "+v.Number())
	case !strings.HasPrefix(string(c.Paper[:min(len(c.Paper), 5)]), "%PDF-"):
		return invalid("", "paper", "no paper", "the sheet as it was printed, as PDF")
	}
	for _, have := range v.Sheets {
		if have.Number == sp.Title.Number && have.Revision == sp.Title.Revision {
			return invalid(v.Number(), "revision", fmt.Sprintf("%s, which %s kept on %s", called(sp.Title.Number, sp.Title.Revision), have.Who.Name, day(have.At)), "another revision: what was kept is never written over")
		}
	}
	body := record.SpecificationKept{Number: sp.Title.Number, Revision: sp.Title.Revision, State: record.DraftSheet, Answer: sp.Answer, Subject: sp.Title.Subject, Brief: sp.Title.Brief,
		Rulebook: sp.Law.Name, Program: s.r.world.Program}
	if sp.Release.State == mounting.Approved {
		if err := sp.Holds(); err != nil {
			return invalid(v.Number(), "approval", strings.TrimPrefix(err.Error(), "not approved: "), "a specification of which every finding that binds fits; keep it as a draft, or settle what is open")
		}
		if sp.Release.By != s.actor.Who.Name {
			return invalid(v.Number(), "approval", "the name "+sp.Release.By, s.actor.Who.Name+": who approves is who is signed in")
		}
		body.State, body.Warnings = record.ApprovedSheet, sp.Release.Warnings
	}
	st, err := c.Request.File.Stack(c.Request.Fitting)
	if err != nil {
		return err
	}
	if body.Stack = st.String(); sp.Position.At != nil {
		body.At = new(int64(*sp.Position.At))
	}
	if err := body.Rules.UnmarshalText([]byte(sp.Law.Digest)); err != nil {
		return err
	}
	data, err := sp.JSON()
	if err != nil {
		return err
	}
	in, err := NewInputs(c.Request, sp)
	if err != nil {
		return err
	}
	inputs, err := json.Marshal(in)
	if err != nil {
		return err
	}
	for _, b := range []struct {
		data []byte
		at   *record.Digest
	}{{inputs, &body.Inputs}, {data, &body.Sheet}, {c.Paper, &body.Paper}} {
		if *b.at, err = s.putBlob(b.data); err != nil {
			return err
		}
	}
	return s.enter(c.Vehicle, body)
}

func called(number, revision string) string {
	if revision == "" {
		return number
	}
	return number + " revision " + revision
}

// EnterBuilt says what was measured and done when a mounting was fitted by an
// approved specification. The tractor's fields take the measured values in place
// of the planned ones, so that pairings are reckoned with them; what was not
// measured is unknown from then on. The bolts are to be tightened again as the
// document that the specification names says; where none is named, that cannot be
// told and is asked for.
type EnterBuilt struct {
	Meta
	Vehicle       record.Asset
	Specification record.ID
	Measured      mounting.AsBuilt // its date is when it happened
}

func (*EnterBuilt) spec() (Permission, string) { return Fit, "mounting-built" }

func (c *EnterBuilt) plan(s *step) error {
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	sheet := sheetOf(v, c.Specification)
	switch {
	case sheet == nil:
		return &NotFound{What: "mounting specification of " + v.Number(), Name: string(c.Specification)}
	case sheet.State != record.ApprovedSheet:
		return invalid(v.Number(), "specification", called(sheet.Number, sheet.Revision)+", which is a draft", "one that is approved for fitting: nothing is fitted by a draft")
	}
	sp, in, err := s.r.kept(s.ctx, sheet)
	if err != nil {
		return err
	}
	q, err := in.Request(nil)
	if err != nil {
		return err
	}
	m := c.Measured
	m.Date, m.By = s.meta.Happened.Time().Local().Format(time.DateOnly), s.actor.Who.Name
	built, err := q.Apply(sp, &m)
	if stack, ok := err.(*mounting.StackError); ok {
		return invalid(v.Number(), "measured", stack.Found, stack.Do)
	}
	if err != nil {
		return err
	}
	body := record.MountingBuilt{Specification: c.Specification, Answer: string(built.Answer()), Retighten: retightenOf(&built.Again)}
	for i := range built.Differences {
		switch d := &built.Differences[i]; {
		case d.Answer == string(rule.DoesNotFit):
			s.warn(d.ID, d.Title+", which is off what was planned", "what the specification says; if it stays so, specify it anew as it is")
		case d.Answer == string(rule.CannotTell):
			s.warn(d.ID, "nothing known of "+strings.Join(d.Missing, ", "), "its value: from now on it is unknown")
		}
	}
	if body.Measured, err = exchange.WriteJSON(&m); err != nil {
		return err
	}
	if body.Differences, err = json.Marshal(built.Differences); err != nil {
		return err
	}
	if m.Odometer != nil {
		body.Reading = record.MeterReading{Meter: record.Odometer, Metres: new(int64(*m.Odometer))}
	}
	for _, missing := range body.Retighten.Missing {
		s.warn("retighten", "nothing known of "+missing, "the document of the part: without it nobody can tell when the bolts are tightened again")
	}
	d := v.VehicleAdded
	d.Fields = maps.Clone(d.Fields)
	wheel, err := wheelFields(built.Tractor)
	if err != nil {
		return err
	}
	d.Fields[wheelField] = wheel
	if err := s.checkVehicle(d, v.VehicleAdded); err != nil {
		return err
	}
	changes, err := between(v.VehicleAdded, d)
	if err != nil {
		return err
	}
	if !empty(changes) {
		body.Changed = []string{wheelField}
	}
	for _, f := range v.Fitted() {
		if f.Place == record.AtFifthWheel {
			sits := string(f.Part)
			if p, err := s.part("part", f.Part); err == nil {
				sits = (&Part{Part: *p}).title()
			}
			s.warn("plates", sits+", which is fitted as the fifth wheel", "that it is the one of this specification: its marked values go before those that were read now")
		}
	}
	if err := s.enter(c.Vehicle, body); err != nil || empty(changes) {
		return err
	}
	return s.enter(c.Vehicle, record.VehicleChanged{Changes: changes})
}

// wheelField is the field of the fleet file that a mounting is.
const wheelField = "fifth-wheel"

func retightenOf(d *mounting.Due) record.Retighten {
	r := record.Retighten{Day: d.Date, Document: d.Source, Missing: d.Missing}
	if d.Odometer != nil {
		r.At = new(int64(*d.Odometer) * 1000)
	}
	return r
}

// wheelFields writes a fifth wheel as the fields of a vehicle have it.
func wheelFields(t *vehicle.Tractor) (json.RawMessage, error) {
	whole, err := exchange.WriteJSON(&vehicle.Fleet{Tractors: []vehicle.Tractor{{ID: t.ID, FifthWheel: t.FifthWheel}}})
	if err != nil {
		return nil, err
	}
	var f struct {
		Tractor []map[string]json.RawMessage `json:"tractor"`
	}
	if err := json.Unmarshal(whole, &f); err != nil {
		return nil, err
	}
	if len(f.Tractor) != 1 || f.Tractor[0][wheelField] == nil {
		return json.RawMessage(`{}`), nil
	}
	return f.Tractor[0][wheelField], nil
}

func between(was, now any) (record.Changes, error) {
	a, err := flatten(was)
	if err != nil {
		return record.Changes{}, err
	}
	b, err := flatten(now)
	return changesBetween(a, b), err
}

// TightenBolts says that the bolts of a mounting were tightened again, each joint
// with its torque and the wrench's number. It ends what the fitting asked for.
type TightenBolts struct {
	Meta
	Vehicle record.Asset
	Built   record.ID
	Torques []record.JointTight
	Reading record.MeterReading
	Note    string
}

func (*TightenBolts) spec() (Permission, string) { return Fit, "bolts-tightened" }

func (c *TightenBolts) plan(s *step) error {
	v, err := s.inUse("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	if err := s.actor.at(v.Depot, v.Number()); err != nil {
		return err
	}
	if err := s.checkMeter(v, "reading", c.Reading); err != nil {
		return err
	}
	var built *record.Built
	for i := range v.Built {
		if v.Built[i].ID == c.Built {
			built = &v.Built[i]
		}
	}
	switch {
	case built == nil:
		return &NotFound{What: "fitting of a mounting to " + v.Number(), Name: string(c.Built)}
	case built.Tight != nil:
		return invalid(v.Number(), "built", fmt.Sprintf("bolts that %s tightened again on %s", built.Tight.Who.Name, day(built.Tight.At)), "a fitting whose bolts are still to be tightened again")
	}
	if sheet := sheetOf(v, built.Specification); sheet != nil {
		sp, _, err := s.r.kept(s.ctx, sheet)
		if err != nil {
			return err
		}
		if err := c.hold(s, sp); err != nil {
			return err
		}
	}
	return s.enter(c.Vehicle, record.BoltsTightened{Built: c.Built, Torques: c.Torques, Reading: c.Reading, Note: c.Note})
}

// hold holds the torques against the joints of the specification.
func (c *TightenBolts) hold(s *step, sp *mounting.Specification) error {
	given := map[string]string{}
	for _, t := range c.Torques {
		given[t.Joint] = t.Torque
	}
	for i := range sp.Joints {
		j := &sp.Joints[i]
		text, told := given[j.Upper]
		if !told {
			return invalid("", "torques", "nothing of "+j.Title, "the torque of every joint of the specification")
		}
		delete(given, j.Upper)
		was, err := unit.Parse(text, unit.TorqueDim)
		if err != nil {
			return invalid("", "torques", show(encoded(text)), "a torque with its unit, such as 260 N.m")
		}
		if want := j.Torque; want == nil || !(abs(unit.Torque(was).NewtonMetres()-*want) <= 1e-6) {
			s.warn("torques", text+" for "+j.Title, "the torque of the part's document, as the specification has it")
		}
	}
	for joint := range given {
		return invalid("", "torques", "a torque of "+joint, "a joint of the specification")
	}
	return nil
}

func abs(v float64) float64 { return max(v, -v) }
