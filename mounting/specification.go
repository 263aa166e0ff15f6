package mounting

import (
	"encoding/json"
	"fmt"

	"underpin/rule"
)

// States of release.
const (
	Draft    = "draft"
	Approved = "approved for fitting"
)

// A Specification is the sheet that the fitter works from, as data: everything
// that is printed on it, in the order of printing. The same inputs give the
// same bytes.
//
// Lengths in fields named _mm and masses in fields named _kg are whole numbers;
// values, limits and margins of findings are not rounded. null is unknown.
type Specification struct {
	Form       string        `json:"form"`
	Title      Title         `json:"title"`
	Release    Release       `json:"release"`
	Answer     string        `json:"answer"` // over all binding findings
	Law        LawRow        `json:"law"`
	Tractor    VehicleRow    `json:"tractor"`
	Trailers   []VehicleRow  `json:"trailers"`
	Chassis    ChassisRow    `json:"chassis"`
	Properties []Property    `json:"properties"`
	Parts      []PartRow     `json:"parts"` // from below to the top
	Mass       *int          `json:"mass_kg"`
	Position   PositionRow   `json:"position"`
	Heights    []HeightRow   `json:"heights"`
	Findings   []Finding     `json:"findings"` // of the mounting itself
	Pairs      []PairRow     `json:"pairs"`    // by semi-trailer and load case
	Joints     []JointRow    `json:"joints"`
	Again      Due           `json:"retighten"`
	Checks     []Check       `json:"checks"` // before handing over
	Cautions   []Caution     `json:"cautions"`
	Others     []OtherRow    `json:"others"` // what else was possible
	Unknown    []string      `json:"unknown"`
	Assumed    []string      `json:"assumed"`
	Warnings   []string      `json:"warnings"` // findings that fail and do not decide
	Sources    []SourceRow   `json:"sources"`
	Evidence   []EvidenceRow `json:"evidence"` // what the marks mean
	Signatures []string      `json:"signatures"`
}

// Form is the name and number of this form of the data.
const Form = "underpin mounting specification 1"

// A Title is the title block.
type Title struct {
	Number   string `json:"number"`
	Revision string `json:"revision"`
	Date     string `json:"date"` // as entered; the program asks no clock
	Subject  string `json:"subject"`
	Fleet    string `json:"fleet"`
	Author   string `json:"author"`
	Checked  string `json:"checked"`
	Fitting  string `json:"fitting"`
	Brief    string `json:"brief"`
	Program  string `json:"program"` // version that made it, as told
}

// A Release is whether a sheet may be worked from.
type Release struct {
	State    string   `json:"state"` // draft or approved for fitting
	By       string   `json:"by"`
	On       string   `json:"on"`
	Warnings []string `json:"warnings"` // that stood when it was approved
}

// A LawRow is the law that the pairs were held against.
type LawRow struct {
	Name   string `json:"name"`
	Title  string `json:"title"`
	Text   string `json:"text_date"`
	Digest string `json:"digest"`
	Day    string `json:"day"`
}

// A VehicleRow is one vehicle.
type VehicleRow struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Note string `json:"note"`
}

// A ChassisRow is what the stack stands on.
type ChassisRow struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Guide string `json:"guide"`
	Base  string `json:"base"`
}

// A PartRow is one part of the stack.
type PartRow struct {
	ID       string     `json:"id"`
	Name     string     `json:"name"`
	Note     string     `json:"note"`
	Kind     string     `json:"kind"`
	Height   *int       `json:"height_mm"`
	Mass     *int       `json:"mass_kg"`
	D        *float64   `json:"d_kn"`
	U        *int       `json:"imposed_kg"`
	ReadFrom string     `json:"read_from"`
	Approval string     `json:"approval"`
	Middle   *int       `json:"middle_mm"` // behind the front axle
	Foot     []PlaceRow `json:"foot"`      // holes as entered, from the part's middle
	FootFrom string     `json:"foot_from"`
}

// A PlaceRow is one hole as entered, in millimetres.
type PlaceRow struct {
	Number int     `json:"number"`
	X      float64 `json:"x_mm"`
	Y      float64 `json:"y_mm"`
	D      float64 `json:"d_mm"`
}

// A PositionRow is where the coupling stands.
type PositionRow struct {
	At        *int     `json:"at_mm"` // front axle to the fifth wheel's centre; on a slider in its foremost position
	Lead      *int     `json:"lead_mm"`
	Datum     string   `json:"lead_datum"`
	Tolerance *int     `json:"tolerance_mm"`
	Travel    int      `json:"travel_mm"`
	Pitch     int      `json:"pitch_mm"`
	Lawful    [][2]int `json:"lawful_mm"` // positions lawful for every semi-trailer, whole millimetres rounded inwards
	Limits    []string `json:"limits"`
}

// A HeightRow is one coupling height.
type HeightRow struct {
	Name      string `json:"name"`
	Wanted    *int   `json:"wanted_unladen_mm"`
	WantedLow *int   `json:"wanted_laden_mm"`
	Tolerance *int   `json:"tolerance_mm"`
	Unladen   *int   `json:"unladen_mm"`
	Laden     *int   `json:"laden_mm"`
	Raised    *int   `json:"raised_mm"`
	Raise     int    `json:"lift_mm"` // of a height-adjustable mounting, over its lowest position
	Working   string `json:"working"`
}

// A PairRow is one semi-trailer under one load case.
type PairRow struct {
	Trailer  string     `json:"trailer"`
	Wished   bool       `json:"wished"` // counted, and decides nothing
	Case     string     `json:"case"`
	CaseName string     `json:"case_name"`
	Answer   string     `json:"answer"`
	Setting  SettingRow `json:"setting"`
	Loads    []GroupRow `json:"loads"`
	Imposed  *int       `json:"imposed_kg"`
	Gross    *int       `json:"gross_kg"`
	Told     string     `json:"told"`
	Findings []Finding  `json:"findings"`
	Cautions []string   `json:"cautions"`
}

// A SettingRow is the setting that a pair's figures hold for.
type SettingRow struct {
	Lead          *int   `json:"lead_mm"`
	At            *int   `json:"at_mm"`
	Level         string `json:"level"`
	TractorLifted []int  `json:"tractor_lifted"`
	TrailerLifted []int  `json:"trailer_lifted"`
}

// A GroupRow is the load on a group of axles.
type GroupRow struct {
	ID    string `json:"id"`
	KG    *int   `json:"kg"`
	Limit *int   `json:"limit_kg"`
}

// A JointRow is one bolted joint.
type JointRow struct {
	Title       string      `json:"title"`
	Lower       string      `json:"lower"`
	Upper       string      `json:"upper"`
	Thread      string      `json:"thread"`
	Grade       string      `json:"grade"`
	Bolts       int         `json:"bolts"` // on both sides
	Places      []PlaceRow  `json:"places"`
	OneSide     bool        `json:"one_side"` // the places are those of one side of the frame
	Washer      *float64    `json:"washer_mm"`
	Torque      *float64    `json:"torque_nm"` // from the document; there is no default
	Document    string      `json:"torque_from"`
	Maximum     *float64    `json:"theoretical_maximum_nm"` // not a fitting torque
	Lowest      *float64    `json:"low_mark_nm"`
	OutOf       string      `json:"torque_outside"` // what is wrong with a torque outside the band
	Method      string      `json:"method"`
	Lubricant   string      `json:"lubricant"`
	Friction    [2]*float64 `json:"friction"`
	Factor      *float64    `json:"tightening_factor"`
	Preload     [2]*float64 `json:"preload_kn"` // least and most after tightening
	Loss        *float64    `json:"embedding_loss_kn"`
	Order       []int       `json:"order"` // numbers of the places, as they are tightened
	OrderWhy    string      `json:"order_why"`
	Stops       *bool       `json:"stops"`
	StopsNeeded *bool       `json:"stops_needed"`
	Slip        [2]*float64 `json:"slip_safety"` // by friction alone: in the dynamic test, at full D
	Findings    []Finding   `json:"findings"`
}

// A Due is when bolts are tightened again.
type Due struct {
	Answer   string   `json:"answer"` // fits where it is known, else cannot-tell
	After    *int     `json:"after_km"`
	Days     *int     `json:"days"`
	Date     string   `json:"date"`        // latest day, once the day of fitting is known
	Odometer *int     `json:"odometer_km"` // latest reading, once that of the fitting is known
	Source   string   `json:"source"`
	Missing  []string `json:"missing"`
}

// A Check is one thing to look at before a vehicle is handed over.
type Check struct {
	ID       string `json:"id"`
	Text     string `json:"text"`
	Wanted   string `json:"wanted"` // the figure that must come out, or empty
	Evidence string `json:"evidence"`
	Source   string `json:"source"`
}

// A Caution is a warning in our own words.
type Caution struct {
	ID       string `json:"id"`
	Text     string `json:"text"`
	Evidence string `json:"evidence"`
	Source   string `json:"source"`
}

// An OtherRow is another proposal that answered the same brief.
type OtherRow struct {
	Stack  string   `json:"stack"`
	At     *int     `json:"at_mm"`
	Mass   *int     `json:"mass_kg"`
	Margin *float64 `json:"margin"`
	Answer string   `json:"answer"`
	Limit  string   `json:"limit"`
	Why    []string `json:"against"`
}

// A SourceRow is a source that a finding of the sheet rests on.
type SourceRow struct {
	Source   string `json:"source"`
	Evidence string `json:"evidence"`
}

// An EvidenceRow says what a mark means.
type EvidenceRow struct {
	Mark string `json:"mark"`
	Text string `json:"text"`
}

// JSON writes the sheet as data, unless it does not stand.
func (s *Specification) JSON() ([]byte, error) {
	if err := s.Stands(); err != nil {
		return nil, err
	}
	b, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}

// A NotApprovedError says which finding keeps a sheet a draft.
type NotApprovedError struct {
	Where   string // empty for the mounting, else the semi-trailer and case, or the joint
	Finding Finding
	More    int // how many more there are
}

func (e *NotApprovedError) Error() string {
	text := fmt.Sprintf("not approved: %s is %s", e.Finding.Title, e.Finding.Answer)
	if e.Where != "" {
		text += " (" + e.Where + ")"
	}
	for i, m := range e.Finding.Missing {
		if i == 0 {
			text += "; missing: "
		} else {
			text += ", "
		}
		text += m
	}
	if e.More > 0 {
		text += fmt.Sprintf("; and %d more", e.More)
	}
	return text
}

// An UnsignedError says that nobody takes the release upon himself.
type UnsignedError struct{ Missing string }

func (e *UnsignedError) Error() string { return "not approved: " + e.Missing + " is missing" }

// Approve turns a draft into a sheet that is approved for fitting. It is
// refused with a *NotApprovedError that names the finding while any binding
// finding does not fit or cannot be told, and with an *UnsignedError while
// nobody signs. What only warns is kept with the release.
func (s *Specification) Approve(by, on string) error {
	r := Release{State: Approved, By: by, On: on, Warnings: list(append([]string(nil), s.Warnings...))}
	if err := s.allows(&r); err != nil {
		return err
	}
	s.Release = r
	return nil
}

// Stands tells whether the sheet may say what it says of its release: one that
// says approved while a binding finding does not hold, or that nobody signed, is
// not written in any form.
func (s *Specification) Stands() error { return s.allows(&s.Release) }

func (s *Specification) allows(r *Release) error {
	if r.State != Approved {
		return nil
	}
	if err := s.Holds(); err != nil {
		return err
	}
	switch {
	case r.By == "":
		return &UnsignedError{"the name of the person who approves"}
	case r.On == "":
		return &UnsignedError{"the day of the approval"}
	}
	return nil
}

// Holds tells whether every binding finding fits; the error is the first that
// does not.
func (s *Specification) Holds() error {
	var e *NotApprovedError
	s.each(func(where string, _ bool, f *Finding) {
		switch {
		case !f.open():
		case e == nil:
			e = &NotApprovedError{Where: where, Finding: *f}
		default:
			e.More++
		}
	})
	if e == nil && len(s.Findings)+len(s.Joints)+len(s.Pairs) == 0 {
		e = &NotApprovedError{Finding: Finding{ID: "nothing", Title: "a sheet on which nothing was looked at", Answer: string(rule.CannotTell), Binding: true}}
	}
	if e == nil {
		return nil
	}
	return e
}

// each visits every finding of the sheet in the order of printing.
func (s *Specification) each(visit func(where string, wished bool, f *Finding)) {
	for i := range s.Findings {
		visit("", false, &s.Findings[i])
	}
	for i := range s.Joints {
		for k := range s.Joints[i].Findings {
			visit(s.Joints[i].Title, false, &s.Joints[i].Findings[k])
		}
	}
	for i := range s.Pairs {
		p := &s.Pairs[i]
		for k := range p.Findings {
			visit(p.Trailer+", "+p.CaseName, p.Wished, &p.Findings[k])
		}
	}
}

// answer is that of all binding findings together.
func (s *Specification) answer() rule.Answer {
	a := rule.Fits
	s.each(func(_ string, _ bool, f *Finding) {
		switch {
		case !f.Binding:
		case f.Answer == string(rule.DoesNotFit):
			a = rule.DoesNotFit
		case f.Answer == string(rule.CannotTell) && a != rule.DoesNotFit:
			a = rule.CannotTell
		}
	})
	return a
}
