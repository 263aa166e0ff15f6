package mounting

import (
	"fmt"
	"math"
	"slices"

	"underpin/rule"
)

// A Retrofit is something that can be added to a fitted coupling: what it
// needs, and what must be looked at again afterwards.
type Retrofit struct {
	ID    string   `json:"id"`
	Title string   `json:"title"`
	What  string   `json:"what"`
	Needs []Remark `json:"needs"`
	Again []Remark `json:"check_again"`
}

// A Remark is one sentence with its evidence.
type Remark struct {
	Text     string `json:"text"`
	Evidence string `json:"evidence"`
	Source   string `json:"source"`
}

func habit(text string) Remark { return Remark{text, string(rule.Practice), noSource} }

const annex5 = "UN Regulation No. 55, Annex 5, from memory"

// Retrofits lists what can be added.
func Retrofits() []Retrofit {
	papers := habit("Whether the papers or the approval change; the documents of the added part lie with the vehicle's.")
	return []Retrofit{
		{"automatic-greasing", "Automatic greasing", "A pump feeds grease to the top plate and the jaw while driving.",
			[]Remark{
				habit("A fifth wheel whose document shows where grease may be fed in; nothing is drilled that it does not show."),
				habit("Room for pump and reservoir on the frame, outside the zones that the chassis maker keeps free, and a supply where the guide allows one to be taken."),
				habit("Hoses long enough for tilting and for a slider's whole travel."),
				habit("The grease that the fifth wheel's document names."),
			},
			[]Remark{
				habit("Hoses clear of everything with the plate tilted, the tractor turned, and the slider at both ends."),
				habit("Grease comes out at every point; the jaw is still cleaned and looked at by hand, for grease hides wear and cracks."),
				habit("Inserts that are meant to run dry are not greased."),
				papers,
			}},
		{"lock-sensing", "Sensing of the lock", "The cab shows whether the jaw is closed and locked.",
			[]Remark{
				habit("A fifth wheel whose document shows the sensors' places."),
				{"A light in the driver's view: green for closed and doubly locked, and only for that; a fault never shows closed.", string(rule.Memory), annex5},
				habit("Wiring that the chassis maker's guide allows, loose enough for tilting and sliding."),
			},
			[]Remark{
				{"The mechanical indicator stays, and can still be seen and felt.", string(rule.Memory), annex5},
				habit("Shown rightly with the lock open, half closed and closed, with each sensor unplugged in turn."),
				habit("The pull test and the look under the plate are still done at every coupling."),
				papers,
			}},
		{"slider", "Slider", "The coupling is moved along the frame.",
			[]Remark{
				{"D and U of the slider at least those that are needed: every part of the chain bears the whole.", string(rule.Derived), "UN Regulation No. 55, Annex 4; the force goes through every part"},
				{"Height: the slider adds its own, so plate or pedestal below or above it become lower.", string(rule.Derived), "plane geometry"},
				habit("Holes that meet, above and below, and length of frame for the whole travel."),
				habit("Lines and cables for the foremost and the rearmost position."),
			},
			[]Remark{
				{"Coupling height, total height and tilt of every semi-trailer.", string(rule.Derived), "plane geometry"},
				{"Axle loads, shares and length at every slide position; the most forward is the worst for cab, legs and frame end, the most rearward for length.", string(rule.Derived), "elementary statics and plane geometry"},
				habit("Tare of both axles: weigh again."),
				{"Bolts of both joints, and positive stops: the slider's lock holds the coupling on the slider, not the slider on the frame.", string(rule.Derived), "mechanics of rigid bodies"},
				habit("Lock of the slider engages fully in every position, checked by pulling."),
				papers,
			}},
		{"lift", "Height adjustment", "The plate is raised or lowered for semi-trailers of different height.",
			[]Remark{
				{"D and U of the mounting at least those that are needed, in every position.", string(rule.Derived), "UN Regulation No. 55, Annex 4; the force goes through every part"},
				{"Height: its lowest position must still reach the lowest semi-trailer.", string(rule.Derived), "plane geometry"},
				habit("A supply of air, oil or current as the chassis maker's guide allows; a lock in each position that holds without it."),
				habit("Holes that meet, above and below."),
			},
			[]Remark{
				{"Coupling height, total height and tilt of every semi-trailer at its own position.", string(rule.Derived), "plane geometry"},
				{"Bolts: the higher the pull above them the more they are pulled upon, so they are checked in the highest position.", string(rule.Derived), "statics of the eccentric bolt group"},
				habit("Nothing can be moved while driving; what happens when the supply fails."),
				habit("Tare of both axles: weigh again."),
				papers,
			}},
	}
}

// An Advice is one retrofit for one fitted mounting.
type Advice struct {
	Retrofit
	Answer  string           `json:"answer"` // fits where the documents or the catalogue allow it
	Why     string           `json:"why"`
	Missing []string         `json:"missing"`
	Options []RetrofitOption `json:"options"`
}

// A RetrofitOption is one part of the catalogue that could be added.
type RetrofitOption struct {
	Part   string   `json:"part"`
	Stack  string   `json:"stack"`
	Height *int     `json:"height_change_mm"`
	Mass   *int     `json:"mass_change_kg"`
	Answer string   `json:"answer"`
	Open   []string `json:"open"`
}

// Advise says of each retrofit what it would need on this fitting, and which
// parts of the catalogue could be added: put in between two parts, or in place
// of one other than the fifth wheel.
func (r *Request) Advise() ([]Advice, error) {
	stack, err := r.File.Stack(r.Fitting)
	if err != nil {
		return nil, err
	}
	if err := stack.Check(r.Chassis); err != nil {
		return nil, err
	}
	needs, err := r.needs()
	if err != nil {
		return nil, err
	}
	s := newSearch(r.Chassis, r.Parts)
	s.asks, s.rough, s.use = r.asksOf(needs), r.Brief.Work.rough(), r.Brief.RoughUse
	s.judge()
	d, ok := datumOf(r.Tractor)
	if !ok {
		return nil, &NoPlaceError{r.Tractor.Called() + ": places of its axles and a drive axle, from which positions are counted"}
	}
	s.zone, _ = r.zone(d)
	var out []Advice
	for _, f := range Retrofits() {
		a := Advice{Retrofit: f, Missing: []string{}, Options: []RetrofitOption{}}
		switch f.ID {
		case "slider", "lift":
			if stack.part(f.ID) != nil {
				a.Answer, a.Why = string(rule.Fits), "It is fitted."
				break
			}
			a.Options = s.options(stack, f.ID)
			a.Answer, a.Why = string(rule.DoesNotFit), "No "+f.ID+" of the catalogue can be put into this stack."
			for _, o := range a.Options {
				if o.Answer == string(rule.Fits) {
					a.Answer, a.Why = o.Answer, "The catalogue has a part for it: make a new specification with it."
					break
				}
				a.Answer, a.Why = o.Answer, "The catalogue has a part for it, of which not all is known."
				a.Missing = append(a.Missing, o.Open...)
			}
			if a.Answer == string(rule.Fits) {
				a.Missing = []string{}
			}
			a.Missing = once(a.Missing)
		default:
			w := stack.Wheel()
			if slices.Contains(w.Prepared, f.ID) {
				a.Answer, a.Why = string(rule.Fits), "The document of "+w.Title()+" says that it can be added."
				break
			}
			a.Answer, a.Why = string(rule.CannotTell), "Whether the fifth wheel is made for it stands in its document."
			a.Missing = append(a.Missing, w.Called()+": prepared-for")
		}
		out = append(out, a)
	}
	return out, nil
}

// options are the stacks that a part of this kind could make of a fitted one.
func (s *search) options(stack Stack, kind string) []RetrofitOption {
	out := []RetrofitOption{}
	was, _ := stack.height(s.chassis)
	mass, weighed := stack.Mass()
	for i, p := range s.parts {
		if p.Kind != kind || s.verdict[i].out != "" {
			continue
		}
		for at := range stack.Parts {
			for _, instead := range []int{0, 1} {
				if instead == 1 && stack.Parts[at].Kind == FifthWheel {
					continue
				}
				parts := slices.Concat(stack.Parts[:at], []*Part{p}, stack.Parts[at+instead:])
				next := Stack{stack.Base, parts}
				if next.Check(s.chassis) != nil || s.weak(next) {
					continue
				}
				_, travel, _ := p.carriage()
				if len(s.stackSet(next).and(Spans{s.zone}.erode(travel))) == 0 {
					continue // no place for it on this chassis
				}
				o := RetrofitOption{Part: p.ID, Stack: next.String(), Open: []string{}}
				if h, missing := next.height(s.chassis); len(missing) == 0 {
					o.Height = new(int(math.Round(float64(h-was) * 1e3)))
				}
				if m, ok := next.Mass(); ok && weighed {
					o.Mass = new(int(math.Round(float64(m - mass))))
				}
				for _, q := range parts {
					o.Open = append(o.Open, s.verdictOf(q).open...)
				}
				for k := 1; k < len(parts); k++ {
					if len(parts[k].Foot.Places()) == 0 || len(parts[k-1].Top.Places()) == 0 {
						o.Open = append(o.Open, fmt.Sprintf("holes of %s and %s", parts[k-1].ID, parts[k].ID))
					}
				}
				o.Open = once(o.Open)
				o.Answer = string(answerOf(o.Open))
				out = append(out, o)
			}
		}
	}
	return out
}

func (s *search) verdictOf(p *Part) *verdict {
	for i, q := range s.parts {
		if q.ID == p.ID {
			return &s.verdict[i]
		}
	}
	return &verdict{open: []string{p.Called() + ": in the catalogue"}}
}

func (s *search) weak(st Stack) bool {
	return slices.ContainsFunc(st.Parts, func(p *Part) bool { return s.verdictOf(p).out != "" })
}
