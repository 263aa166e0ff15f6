package vehicle

import (
	"fmt"
	"math"

	"underpin/unit"
)

// The entries are those of the model certificate in Regulation (EU) 2020/683,
// Annex VIII; their numbers and wording are from memory.

// A TractorCertificate is what the certificate of conformity of a tractor for
// semi-trailers prints and this program uses.
type TractorCertificate struct {
	Number          string       `toml:"number,omitempty" doc:"Number of the certificate, or its date."`
	LeadMin         *unit.Length `toml:"lead-min,omitempty" doc:"Least lead of the fifth wheel that the maker allows, ahead of the drive axle or the centre of the drive bogie." tape:"Certificate of conformity, fifth wheel lead (entry 8), the lower value; entry numbers are from memory." min:"-2 m" max:"5 m"`
	LeadMax         *unit.Length `toml:"lead-max,omitempty" doc:"Greatest lead that the maker allows." tape:"Certificate of conformity, fifth wheel lead (entry 8), the upper value." min:"-2 m" max:"5 m"`
	FrontToCoupling *unit.Length `toml:"front-to-coupling,omitempty" doc:"Front end of the tractor to the centre of the coupling, at the least lead where a range is printed." tape:"Certificate of conformity, front end to the centre of the coupling device (entry 9), the greater value." min:"1 m" max:"15 m"`
	CouplingToRear  *unit.Length `toml:"coupling-to-rear,omitempty" doc:"Centre of the coupling to the rear end of the tractor, at the least lead where a range is printed." tape:"Certificate of conformity, centre of the coupling device to the rear end (entry 10), the lesser value." min:"0 mm" max:"10 m"`
	D               *unit.Force  `toml:"d-value,omitempty" doc:"D-value of the coupling." tape:"Certificate of conformity, characteristic values (entry 45.1), D." min:"20 kN" max:"1000 kN"`
	Imposed         *unit.Mass   `toml:"imposed,omitempty" doc:"Imposed load U of the coupling." tape:"Certificate of conformity, characteristic values (entry 45.1), U." min:"1 t" max:"100 t"`
}

// A TrailerCertificate is what the certificate of conformity of a semi-trailer
// prints and this program uses.
type TrailerCertificate struct {
	Number         string       `toml:"number,omitempty" doc:"Number of the certificate, or its date."`
	Length         *unit.Length `toml:"length,omitempty" doc:"Length of the semi-trailer from end to end." tape:"Certificate of conformity, length (entry 5)." min:"3 m" max:"40 m"`
	CouplingToRear *unit.Length `toml:"coupling-to-rear,omitempty" doc:"Kingpin axis to the rear end." tape:"Certificate of conformity, centre of the coupling device to the rear end (entry 10)." min:"2 m" max:"35 m"`
	RunningPin     *unit.Mass   `toml:"running-pin,omitempty" doc:"What the empty semi-trailer lays on the coupling in running order." tape:"Certificate of conformity, distribution of the mass in running order (entry 13.1), at the coupling point." min:"0 kg" max:"20 t"`
	D              *unit.Force  `toml:"d-value,omitempty" doc:"D-value of the kingpin." tape:"Certificate of conformity, characteristic values (entry 45.1), D." min:"20 kN" max:"1000 kN"`
}

// farApart is how far a taped length and the certificate's may be from each other
// before one of them is of another vehicle. Common practice, no source.
const farApart = 50*unit.Millimetre + 1e-9

// A certified length is one that the certificate gives for a field of the tape.
type certified struct {
	of      string // of the certificate: "coupling-to-rear"
	field   string // "rear-end"
	taped   **unit.Length
	value   unit.Length
	working string
}

// CertifiedDatum tells whether the lead on a certificate is counted from where ours
// is: a single rear axle leaves no choice. With several it is taken so, from
// memory.
func (t *Tractor) CertifiedDatum() bool { _, rear := t.Groups(); return len(rear) == 1 }

// driveAt is the drive axle, or the middle of the drive axles.
func (t *Tractor) driveAt() (unit.Length, bool) {
	var sum unit.Length
	n := 0
	for i := range t.Axles {
		if t.Axles[i].Kind != "drive" {
			continue
		}
		x, ok := t.AxleAt(i)
		if !ok {
			return 0, false
		}
		sum += x
		n++
	}
	return sum / unit.Length(max(n, 1)), n > 0
}

// certified lists the lengths that the tractor's certificate gives.
func (t *Tractor) certified() (out []certified) {
	c, w := t.Certificate, &t.FifthWheel
	if c == nil {
		return nil
	}
	drive, known := t.driveAt()
	known = known && t.CertifiedDatum()
	if w.Slider == nil && known && c.LeadMin != nil && c.LeadMax != nil && *c.LeadMin == *c.LeadMax {
		out = append(out, certified{"lead-min", "fifth-wheel.at", &w.At, drive - *c.LeadMin, fmt.Sprintf("drive axle %s − lead on the certificate %s", text(drive), text(*c.LeadMin))})
	}
	var at unit.Length
	var how string
	switch {
	case known && c.LeadMin != nil:
		at, how = drive-*c.LeadMin, fmt.Sprintf("coupling at the least lead on the certificate, %s", text(drive-*c.LeadMin))
	case w.Slider == nil && w.At != nil:
		at, how = *w.At, fmt.Sprintf("coupling at %s", text(*w.At))
	default:
		return out
	}
	if c.FrontToCoupling != nil {
		out = append(out, certified{"front-to-coupling", "front-overhang", &t.FrontOverhang, *c.FrontToCoupling - at, fmt.Sprintf("front end to coupling %s − %s", text(*c.FrontToCoupling), how)})
	}
	if c.CouplingToRear != nil {
		out = append(out, certified{"coupling-to-rear", "rear-end", &t.RearEnd, at + *c.CouplingToRear, fmt.Sprintf("%s + coupling to rear end %s", how, text(*c.CouplingToRear))})
	}
	return out
}

// certified lists the lengths that the semi-trailer's certificate gives.
func (s *SemiTrailer) certified() (out []certified) {
	c := s.Certificate
	if c == nil || c.CouplingToRear == nil {
		return nil
	}
	out = append(out, certified{"coupling-to-rear", "rear-end", &s.RearEnd, *c.CouplingToRear, "kingpin to rear end, from the certificate"})
	if c.Length != nil {
		out = append(out, certified{"length", "front-overhang", &s.FrontOverhang, *c.Length - *c.CouplingToRear, fmt.Sprintf("length %s − kingpin to rear end %s, both from the certificate", text(*c.Length), text(*c.CouplingToRear))})
	}
	return out
}

// certificates refuses what on a certificate contradicts itself or the tape.
func certificates(all []certified, path string, bad reporter) {
	for _, c := range all {
		if taped := *c.taped; taped != nil && math.Abs(float64(*taped-c.value)) > float64(farApart) {
			bad(path+".certificate."+c.of, fmt.Sprintf("%s that gives %s = %s beside %s as given (%s)", c.of, c.field, text(c.value), text(*taped), c.working),
				fmt.Sprintf("the two within %s of each other: tape again, or leave the wrong one out", text(farApart)))
		}
	}
}

func (t *Tractor) certificate(path string, bad reporter) {
	if c := t.Certificate; c != nil && c.LeadMin != nil && c.LeadMax != nil && *c.LeadMin > *c.LeadMax {
		bad(path+".certificate.lead-min", fmt.Sprintf("lead-min = %s above lead-max = %s", text(*c.LeadMin), text(*c.LeadMax)), "the least lead first")
		return
	}
	certificates(t.certified(), path, bad)
}

// fill takes over the lengths that nobody has taped.
func fill(id string, all []certified) (out []Derivation) {
	for _, c := range all {
		if *c.taped == nil && c.value > 0 {
			v := c.value
			*c.taped = &v
			out = append(out, Derivation{Vehicle: id, Field: c.field, Value: text(v), Working: c.working})
		}
	}
	return out
}

// notWeighed is said wherever masses of a certificate stand for weighed ones.
const notWeighed = "in running order, from the certificate: options fitted later are not in it; weigh to know"

func (t *Tractor) deriveCertified() []Derivation {
	out := fill(t.ID, t.certified())
	if t.running() {
		for i := range t.Axles {
			m := *t.Axles[i].RunningOrder
			t.Axles[i].Tare = &m
			out = append(out, Derivation{Vehicle: t.ID, Field: fmt.Sprintf("axle %d tare", i+1), Value: weight(m), Working: notWeighed})
		}
	}
	c, w := t.Certificate, &t.FifthWheel
	if c == nil {
		return out
	}
	unmarked := w.D == nil && w.Imposed == nil && w.ReadFrom == ""
	const from = "characteristic values of the coupling on the certificate"
	if w.D == nil && c.D != nil {
		d := *c.D
		w.D = &d
		out = append(out, Derivation{Vehicle: t.ID, Field: "fifth-wheel.d-value", Value: unit.Plain(float64(d), unit.KN), Working: from})
	}
	if w.Imposed == nil && c.Imposed != nil {
		u := *c.Imposed
		w.Imposed = &u
		out = append(out, Derivation{Vehicle: t.ID, Field: "fifth-wheel.imposed", Value: weight(u), Working: from})
	}
	if unmarked && (w.D != nil || w.Imposed != nil) {
		w.ReadFrom = "document"
	}
	return out
}

// running tells whether the axle tares are to be taken from the certificate: no
// axle has one, and no ticket gives them.
func (t *Tractor) running() bool {
	for i := range t.Axles {
		if t.Axles[i].Tare != nil || t.Axles[i].RunningOrder == nil {
			return false
		}
	}
	return len(t.Axles) > 0 && !t.weighs()
}

func (s *SemiTrailer) deriveCertified() []Derivation {
	out := fill(s.ID, s.certified())
	c := s.Certificate
	if c == nil {
		return out
	}
	if bogie, ok := s.runningBogie(); ok && c.RunningPin != nil && s.TarePin == nil && s.TareBogie == nil {
		pin := *c.RunningPin
		s.TarePin, s.TareBogie = &pin, &bogie
		out = append(out, Derivation{Vehicle: s.ID, Field: "tare-pin", Value: weight(pin), Working: notWeighed},
			Derivation{Vehicle: s.ID, Field: "tare-bogie", Value: weight(bogie), Working: "sum over the axles, " + notWeighed})
	}
	if c.D != nil && s.Kingpin.D == nil {
		d := *c.D
		s.Kingpin.D = &d
		if s.Kingpin.ReadFrom == "" {
			s.Kingpin.ReadFrom = "document"
		}
		out = append(out, Derivation{Vehicle: s.ID, Field: "kingpin.d-value", Value: unit.Plain(float64(d), unit.KN), Working: "characteristic values on the certificate"})
	}
	return out
}

// runningBogie is the mass in running order on all axles together.
func (s *SemiTrailer) runningBogie() (sum unit.Mass, ok bool) {
	for i := range s.Axles {
		if s.Axles[i].RunningOrder == nil {
			return 0, false
		}
		sum += *s.Axles[i].RunningOrder
	}
	return sum, len(s.Axles) > 0
}

// unlike is the part of a certificate's mass in running order by which a tare may
// differ before it is told. Common practice, no source.
const unlike = 0.05

// certifiedDoubts tells where tares are the certificate's, or far from it, and where
// the marks are others.
func (t *Tractor) certifiedDoubts() (out []string) {
	var tare, running unit.Mass
	same, all := true, len(t.Axles) > 0
	for i := range t.Axles {
		a := &t.Axles[i]
		if a.Tare == nil || a.RunningOrder == nil {
			all = false
			break
		}
		same = same && *a.Tare == *a.RunningOrder
		tare, running = tare+*a.Tare, running+*a.RunningOrder
	}
	if all {
		out = append(out, certifiedMass(t.Called(), "the axles' tare", tare, running, same)...)
	}
	if c := t.Certificate; c != nil {
		out = append(out, otherMark(t.Called(), "fifth wheel's D-value", unit.KN, t.FifthWheel.D, c.D)...)
		out = append(out, otherMark(t.Called(), "fifth wheel's imposed load", unit.KG, t.FifthWheel.Imposed, c.Imposed)...)
	}
	return out
}

func (s *SemiTrailer) certifiedDoubts() (out []string) {
	c := s.Certificate
	if c == nil {
		return nil
	}
	if bogie, ok := s.runningBogie(); ok && c.RunningPin != nil && s.TarePin != nil && s.TareBogie != nil {
		out = append(out, certifiedMass(s.Called(), "the tare", *s.TarePin+*s.TareBogie, *c.RunningPin+bogie, *s.TarePin == *c.RunningPin && *s.TareBogie == bogie)...)
	}
	return append(out, otherMark(s.Called(), "kingpin's D-value", unit.KN, s.Kingpin.D, c.D)...)
}

func certifiedMass(called, what string, tare, running unit.Mass, same bool) []string {
	switch {
	case same:
		return []string{fmt.Sprintf("%s: %s is not weighed: %s is its mass %s", called, what, weight(tare), notWeighed)}
	case math.Abs(float64(tare-running)) > unlike*float64(running):
		return []string{fmt.Sprintf("%s: %s is %s beside %s in running order on its certificate: one of them may be of another vehicle", called, what, weight(tare), weight(running))}
	}
	return nil
}

func otherMark[Q ~float64](called, what string, u unit.Unit, given, printed *Q) []string {
	if given == nil || printed == nil || math.Abs(float64(*given-*printed)) <= 1e-3*math.Abs(float64(*printed)) {
		return nil
	}
	return []string{fmt.Sprintf("%s: the %s is %s as given and %s on the certificate: the part was changed, or one was misread", called, what, unit.Plain(float64(*given), u), unit.Plain(float64(*printed), u))}
}
