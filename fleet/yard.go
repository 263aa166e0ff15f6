package fleet

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"underpin/record"
	"underpin/unit"
	"underpin/vehicle"
	yardcard "underpin/yard" // its own name is a type of the tests here
)

// A YardHalf is what the card of one vehicle may show to whoever holds its label:
// what the steps need, and nothing of other vehicles.
type YardHalf struct {
	Asset    record.Asset
	Number   string
	Name     string
	Tractor  bool
	Scrapped bool
	Blocks   []yardcard.Block
	Defects  []*record.Defect // reported and not closed
	facts    *parsed
}

// YardHalf answers what the card of a vehicle shows. It needs no account: the
// asset's name, which stands on the label, cannot be guessed.
func (r *Register) YardHalf(ctx context.Context, a record.Asset) (*YardHalf, error) {
	e, err := r.entityOf(ctx, a, record.VehicleAsset)
	if err != nil {
		return nil, err
	}
	v, err := e.Vehicle(record.Latest)
	if err != nil {
		return nil, err
	}
	h := &YardHalf{Asset: a, Number: v.Number(), Name: v.Name(), Tractor: v.VehicleAdded.Vehicle == record.Tractor, Scrapped: v.Scrapped != 0,
		Blocks: blocksOf(v), Defects: v.Yard.Open()}
	h.facts, _ = parse(v.VehicleAdded)
	return h, nil
}

// blocksOf says what keeps a vehicle out of use, worst first.
func blocksOf(v *record.Vehicle) (all []yardcard.Block) {
	for _, h := range v.Holds() {
		b := yardcard.Block{Unit: v.Number()}
		switch {
		case h.Verdict != record.VerdictDoNotUse:
			continue
		case h.Defect != nil:
			b.Why, b.Since = defectWords(h.Defect), h.Defect.At
		case h.Event != nil:
			b.Why, b.Since = strings.ReplaceAll(h.Event.Event, "-", " "), h.Event.At
		case h.Outcome != nil:
			b.Why, b.Since = strings.Join(h.Outcome.Reasons, "; "), h.Outcome.At
		}
		all = append(all, b)
	}
	return all
}

func defectWords(d *record.Defect) string {
	switch {
	case d.Words != "":
		return d.Words
	case d.State != "":
		return yardcard.Key(d.State).In(yardcard.English)
	}
	return "a defect that was photographed"
}

// YardPair is what a card of two vehicles is built from; nil is a half that is not
// at hand. Travelling height and setting are worked out elsewhere.
func YardPair(tractor, trailer *YardHalf) yardcard.Pair {
	var p yardcard.Pair
	f := &p.Facts
	if tractor != nil && tractor.facts != nil && tractor.facts.tractor != nil {
		t := tractor.facts.tractor
		w := &t.FifthWheel
		f.Opening, f.From, f.Securing = yardcard.Opening(w.Opening), yardcard.Place(w.OpenFrom), yardcard.Securing(w.Securing)
		f.Mark, f.Lamp, f.Display = yesNo(w.LockMark), yesNo(w.LockLamp), yesNo(w.CabDisplay)
		f.Height, f.Reach, f.ForWedge = yesNo(w.SetHeight), yesNo(w.LinesReach), yesNo(w.Wedge)
		f.Plate = map[string]yardcard.Plate{"pitch": yardcard.Pitching, "pitch-and-roll": yardcard.PitchingRolling}[w.Tilting]
		if w.Slider != nil {
			f.Slider = yardcard.Yes
		} else if w.At != nil {
			f.Slider = yardcard.No // a fixed one is said by its place without a travel
		}
		f.Lock, f.Tractor = wholeMM(w.Pin), suspension(t.Axles, "drive")
		for i, l := range w.Levels {
			if l.Set || i == 0 {
				p.Coupling = l.Unladen
			}
		}
	}
	if trailer != nil && trailer.facts != nil && trailer.facts.trailer != nil {
		t := trailer.facts.trailer
		f.Wedge, f.Pin, f.Trailer = yesNo(t.Wedge), wholeMM(t.Kingpin.Size), suspension(t.Axles, "")
		if t.Legs != nil {
			f.Legs, f.LegSides = yardcard.LegDrive(t.Legs.Drive), yardcard.LegSides(t.Legs.Sides)
		}
	}
	return p
}

func yesNo(b *bool) yardcard.YesNo {
	switch {
	case b == nil:
		return ""
	case *b:
		return yardcard.Yes
	}
	return yardcard.No
}

func wholeMM(l *unit.Length) int64 {
	if l == nil {
		return 0
	}
	return int64(l.Millimetres() + 0.5)
}

// suspension is what all axles of a kind stand on; unknown where one is not known.
func suspension(axles []vehicle.Axle, kind string) yardcard.Suspension {
	var all yardcard.Suspension
	for _, a := range axles {
		if kind != "" && a.Kind != kind {
			continue
		}
		s := map[string]yardcard.Suspension{"air": yardcard.Air, "other": yardcard.Steel}[a.Suspension]
		if s == "" || all != "" && s != all {
			return ""
		}
		all = s
	}
	return all
}

// EnterCheck enters a driver's check and what follows from it: the beginning or
// the end of a coupled period, where the slider stands, how a trailer was left. Its
// id is the check's, so that a phone may send it as often as it likes.
type EnterCheck struct {
	Meta
	Check yardcard.Check
}

func (c *EnterCheck) meta() *Meta {
	c.Meta.ID = c.Check.ID
	return &c.Meta
}

func (*EnterCheck) spec() (Permission, string) { return Couples, "check-done" }

func (c *EnterCheck) plan(s *step) error {
	k := &c.Check
	if err := k.Validate(); err != nil {
		return invalid("", "check", err.Error(), "a check as the card leads to it")
	}
	for _, half := range []struct {
		where string
		v     yardcard.Vehicle
		tows  bool
	}{{"tractor", k.Tractor, true}, {"trailer", k.Trailer, false}} {
		if half.v.Asset == "" {
			continue
		}
		v, err := s.inUse(half.where, half.v.Asset)
		if err != nil {
			return err
		}
		if (v.VehicleAdded.Vehicle == record.Tractor) != half.tows {
			return invalid(v.Number(), half.where, "a "+v.VehicleAdded.Vehicle, "the other half")
		}
		if held := v.Held(); held == record.VerdictDoNotUse {
			s.warn(half.where, v.Number()+", which is out of use", "that it stays where it is")
		}
	}
	chain, guest := k.Trailer.Asset, ""
	for _, v := range []yardcard.Vehicle{k.Trailer, k.Tractor} {
		if v.Guest != nil {
			guest = v.Guest.Registration
		}
	}
	if chain == "" {
		if chain = k.Tractor.Asset; chain == "" {
			return invalid("", "tractor", "two guests", "at least one vehicle of the register")
		}
	}
	out, err := k.Outcome()
	if err != nil {
		return invalid("", "check", err.Error(), "a check as the card leads to it")
	}
	// The name under a check is that of whoever is known here, whatever the phone says.
	happened, sure := k.Happened()
	if sure = sure && happened <= s.now; sure {
		s.meta.Happened = happened
	}
	body := record.CheckDone{Flow: string(k.Flow), Tractor: k.Tractor.Asset, Trailer: k.Trailer.Asset, Guest: guest, Says: string(out.Says), Locked: string(out.Locked),
		Skipped: out.Skipped, Hasty: out.Hasty, Phone: k.Phone, Doubted: !sure || out.ClockMoved, Check: encoded(k)}
	if k.Signed != nil {
		body.Signed = s.actor.Who.Name
	}
	for _, w := range out.Why {
		body.Why = append(body.Why, strings.TrimSpace(w.Text.In(yardcard.English)+" "+w.Message.In(yardcard.English)))
	}
	seen := map[record.Digest]bool{}
	for _, a := range k.Answers {
		for _, d := range a.Photos {
			if !seen[d] {
				seen[d] = true
				body.Photos = append(body.Photos, d)
			}
		}
	}
	if err := s.enter(chain, body); err != nil {
		return err
	}
	return s.follows(k, out)
}

// follows enters what a check brings about.
func (s *step) follows(k *yardcard.Check, out yardcard.Outcome) error {
	if b, yes := k.Starts(out); yes {
		p, err := s.lastPeriod(k.Trailer.Asset, func(p *record.Period) bool { return p.Towed == k.Trailer.Asset })
		if err != nil {
			return err
		}
		if p != nil && p.To == 0 {
			s.warn("trailer", fmt.Sprintf("a period with %s that began %s and that nobody ended", p.By, p.From), "its end: the distance in it is not known")
		}
		if err := s.enter(k.Trailer.Asset, b); err != nil {
			return err
		}
	}
	if k.Flow == yardcard.Uncouple || k.Flow == yardcard.Drop {
		p, err := s.openPeriod(k.Trailer.Asset)
		if k.Trailer.Asset == "" || err != nil {
			return err
		}
		if p == nil || p.Towed != k.Trailer.Asset || p.From > s.meta.Happened {
			s.warn("trailer", "no coupled period that could end", "the check at which it was coupled")
		} else if b, yes := k.Ends(p.ID); yes {
			if err := s.enter(k.Trailer.Asset, b); err != nil {
				return err
			}
		}
	}
	if at := k.Number("slide-at"); at != nil && k.Flow == yardcard.Slide && k.Tractor.Asset != "" && k.Signed != nil {
		if err := s.enter(k.Tractor.Asset, record.SliderSet{Check: k.ID, LeadMM: *at}); err != nil {
			return err
		}
	}
	if k.Flow == yardcard.Drop && k.Trailer.Asset != "" && k.Signed != nil {
		return s.enter(k.Trailer.Asset, droppedBy(k))
	}
	return nil
}

// droppedBy reads how a trailer was left from the answers.
func droppedBy(k *yardcard.Check) record.TrailerDropped {
	d := record.TrailerDropped{Check: k.ID, Place: k.Place}
	told := func(y yardcard.YesNo) string {
		if y == yardcard.Yes || y == yardcard.No {
			return string(y)
		}
		return ""
	}
	for _, a := range k.Answers {
		_, name, _ := strings.Cut(a.Step, "/")
		switch name {
		case "place":
			d.Place = a.Words
		case "stands-on":
			d.Ground = strings.TrimPrefix(string(a.Choice), "ground.")
		case "load-left":
			d.Load = strings.TrimPrefix(string(a.Choice), "load.")
		case "brake-still":
			d.Brake = told(a.Seen)
		case "chocks-still":
			d.Chocks = told(a.Seen)
		case "pin-lock":
			d.Lock = map[yardcard.Key]string{"pin-lock.on": "yes", "pin-lock.none": "no"}[a.Choice]
		}
	}
	return d
}

// ReportDefect enters a defect as a phone or a page sent it. A state that must
// never be driven takes the vehicle out of use, whatever else was said.
type ReportDefect struct {
	Meta
	Defect yardcard.Defect
}

func (c *ReportDefect) meta() *Meta {
	c.Meta.ID = c.Defect.ID
	return &c.Meta
}

func (*ReportDefect) spec() (Permission, string) { return Report, "defect-reported" }

func (c *ReportDefect) plan(s *step) error {
	d := &c.Defect
	if err := d.Validate(); err != nil {
		return invalid("", "defect", err.Error(), "words, a photo, a state or a tap on the drawing")
	}
	if _, err := s.inUse("asset", d.Asset); err != nil {
		return err
	}
	if at, sure := d.Clock.True(d.At); sure && at <= s.now {
		s.meta.Happened = at
	}
	body := record.DefectReported{Part: d.Part, Words: d.Words, State: string(d.State), DoNotUse: d.Stops(), Check: d.Check, By: d.Name, Phone: d.Phone, Photos: d.Photos}
	if p := d.Spot; p != nil {
		body.Drawing, body.X, body.Y = p.Drawing, &p.X, &p.Y
	}
	return s.enter(d.Asset, body)
}

// CloseDefect says that a technician saw to a defect. Nobody else can: it lets the
// vehicle run again.
type CloseDefect struct {
	Meta
	Vehicle record.Asset
	Defect  record.ID
	Done    string // what was found and done
}

func (*CloseDefect) spec() (Permission, string) { return Fit, "defect-closed" }

func (c *CloseDefect) plan(s *step) error {
	v, err := s.vehicle("vehicle", c.Vehicle)
	if err != nil {
		return err
	}
	d := v.Yard.Defect(c.Defect)
	switch {
	case d == nil:
		return &NotFound{What: "defect of " + v.Number(), Name: string(c.Defect)}
	case d.Closed != nil:
		return invalid(v.Number(), "defect", "one that was closed on "+day(d.Closed.At), "one that is open")
	case strings.TrimSpace(c.Done) == "":
		return invalid(v.Number(), "done", "nothing", "what was found and done")
	}
	return s.enter(c.Vehicle, record.DefectClosed{Defect: c.Defect, Done: c.Done})
}

// ReadCheck reads a check that was sent, strictly.
func ReadCheck(raw []byte) (k yardcard.Check, err error) { return k, readStrict(raw, &k) }

// ReadDefect reads a defect that was sent, strictly.
func ReadDefect(raw []byte) (d yardcard.Defect, err error) { return d, readStrict(raw, &d) }

func readStrict(raw []byte, into any) error {
	dec := json.NewDecoder(strings.NewReader(string(raw)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return invalid("", "body", err.Error(), "what the page sends")
	}
	return nil
}
