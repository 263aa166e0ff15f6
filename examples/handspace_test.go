package examples_test

import (
	"fmt"
	"math"

	"underpin/unit"
)

// rating: D = 0.6·g·T·R/(T + R − U), masses as plated, the imposed load in both.
func (h *hand) rating() {
	w := &h.t.FifthWheel
	T, R, U := h.num(h.t.GrossPlate, "tractor gross-plate"), h.num(h.s.GrossPlate, "trailer gross-plate"), h.num(h.s.PinPlate, "kingpin-plate")
	D := 0.6 * 9.81 * T * R / (T + R - U)
	h.most("D-value of the fifth wheel", D, h.num(w.D, "fifth wheel d-value"))
	h.most("D-value of the kingpin", D, h.num(h.s.Kingpin.D, "kingpin d-value"))
	if w.Mounting == nil {
		h.missing["mounting"] = true
	} else {
		h.most("D-value of the mounting", D, h.num(w.Mounting.D, "mounting d-value"))
		h.most("imposed load against the mounting", U, h.num(w.Mounting.Imposed, "mounting imposed"))
	}
	pin, jaw := h.num(h.s.Kingpin.Size, "kingpin size"), h.num(w.Pin, "fifth wheel pin")
	if !math.IsNaN(pin + jaw) {
		h.checks = append(h.checks, check{finding: "size of the kingpin against the jaw", value: pin, limit: jaw, equal: true})
	}
}

func (h *hand) swing() float64 {
	xf, w, r := h.num(h.s.FrontOverhang, "front-overhang"), h.num(h.s.Width, "trailer width"), h.num(h.s.Corner, "corner-radius")
	return math.Hypot(xf-r, w/2-r) + r
}

func (h *hand) lengths(set setting) {
	xr := h.num(h.s.RearEnd, "trailer rear-end")
	width := h.num(h.s.Width, "trailer width")
	longer := 0.0
	if h.fact("intermodal") == true && h.fact("container-ft") == int64(45) {
		longer = 0.15
	}
	if h.law == "us" {
		h.most("width", width, 102*float64(unit.Inch))
		return
	}
	h.most("overall length", h.num(h.t.FrontOverhang, "tractor front-overhang")+set.at+xr, 16.5+longer)
	h.most("kingpin to rear", xr, 12+longer)
	front := h.swing()
	for _, n := range h.s.Nose {
		front = math.Max(front, math.Hypot(float64(*n.Ahead), float64(*n.HalfWide)))
	}
	h.most("kingpin to any point in front", front, 2.04)
	most := 2.55
	if h.s.ConditionedBody != nil && *h.s.ConditionedBody {
		most = 2.60
	}
	h.most("width", width, most)
}

func (h *hand) heights(set setting, line float64) {
	if len(h.t.FifthWheel.Levels) == 0 {
		h.missing["level"] = true
		return
	}
	lv := &h.t.FifthWheel.Levels[set.level]
	Hk, ht := h.num(h.s.PlateHeight, "plate-height"), h.num(h.s.BodyHeight, "body-height")
	xf, xr := h.num(h.s.FrontOverhang, "front-overhang"), h.num(h.s.RearEnd, "trailer rear-end")
	top := func(Hc float64) float64 {
		sin, cos := math.Sincos(math.Atan((Hc - Hk) / line))
		return math.Max(h.num(h.t.Height, "tractor height"), Hc+ht*cos+math.Max(xf*sin, -xr*sin))
	}
	if h.law == "us" || h.law == "uk" {
		return
	}
	h.most("total height", math.Max(top(h.num(lv.Unladen, "unladen")), top(h.num(lv.Laden, "laden"))), 4)
	if raised := top(h.num(lv.Raised, "raised")); !math.IsNaN(raised) {
		h.checks = append(h.checks, check{finding: "total height, suspension raised", value: raised, limit: 4, warns: true})
	}
}

func (h *hand) gaps(set setting) {
	const sixDegrees, p = 6 * math.Pi / 180, 0.09
	Rs := h.swing()
	if len(h.t.Behind) == 0 {
		h.missing["behind-cab"] = true
	}
	gap, pitched := math.NaN(), math.NaN()
	for _, o := range h.t.Behind {
		Dc := set.at - float64(*o.At)
		z := float64(*o.Top) - float64(*h.t.FifthWheel.Levels[set.level].Laden)
		reach := Rs
		z = math.Min(z, h.num(h.s.BodyHeight, "body-height"))
		for _, n := range h.s.Nose {
			if float64(*n.Bottom) < z {
				reach = math.Max(reach, math.Hypot(float64(*n.Ahead), float64(*n.HalfWide)))
			}
		}
		gap = least(gap, Dc-reach)
		pitched = least(pitched, Dc-(reach*math.Cos(sixDegrees)+(z+p)*math.Sin(sixDegrees)))
	}
	h.least("gap between the cab's back and the swinging nose", gap, 0)
	h.warn("the same gap, nose down 6°", pitched, 0)

	Rt := math.NaN()
	if len(h.t.Corners) == 0 {
		h.missing["rear-corner"] = true
	}
	over := math.NaN()
	for _, c := range h.t.Corners {
		dx, y := float64(*c.At)-set.at, float64(*c.HalfWide)
		if r := math.Hypot(dx, y); math.IsNaN(Rt) || r > Rt {
			Rt = r
		}
		if len(h.t.FifthWheel.Levels) > 0 {
			below := float64(*h.t.FifthWheel.Levels[set.level].Laden) - float64(*c.Height)
			angle := 4.5 * math.Pi / 180
			over = least(over, below+p/math.Cos(angle)-p-dx*math.Tan(angle))
		}
	}
	h.least("gap between the tractor's rear and the landing legs", h.num(h.s.Clear, "clear-radius")-Rt, 0)
	h.warn("gap over the tractor's rear, nose up 4.5°", over, 0)
}

func least(a, b float64) float64 {
	if math.IsNaN(a) || b < a {
		return b
	}
	return a
}

// circle leads the outer front corner once round 12.50 m from a straight, by
// plain Runge and Kutta in steps of one degree, and takes the least distance of
// the semi-trailer's inner side.
func (h *hand) circle(set setting) {
	if h.law == "us" {
		return
	}
	mean := func(n int, at func(int) (unit.Length, bool), skip func(int) bool) float64 {
		sum, k := 0.0, 0.0
		for i := range n {
			if x, _ := at(i); !skip(i) {
				sum, k = sum+float64(x), k+1
			}
		}
		return sum / k
	}
	L1 := mean(len(h.t.Axles), h.t.AxleAt, func(i int) bool { return h.t.Axles[i].Kind == "steer" || set.tractor>>i&1 == 1 })
	L2 := mean(len(h.s.Axles), h.s.AxleAt, func(i int) bool { return h.s.Axles[i].Steering != "" || set.trailer>>i&1 == 1 })
	const R = 12.5
	a, b, e := L1+h.num(h.t.FrontOverhang, "tractor front-overhang"), -h.num(h.t.Width, "tractor width")/2, L1-set.at
	w, xf, xr := h.num(h.s.Width, "trailer width"), h.num(h.s.FrontOverhang, "front-overhang"), h.num(h.s.RearEnd, "trailer rear-end")
	if math.IsNaN(a + b + w + xf + xr) {
		return
	}
	slope := func(s, θ, γ float64) (float64, float64) {
		φ := s/R - θ
		ω, v := math.Sin(φ)/a, math.Cos(φ)+b/a*math.Sin(φ)
		return ω, ω - (v*math.Sin(γ)+e*ω*math.Cos(γ))/L2
	}
	θ, γ, inner := 0.0, 0.0, math.Inf(1)
	const n = 360
	step := 2 * math.Pi * R / n
	for i := range n {
		s := float64(i) * step
		k1, l1 := slope(s, θ, γ)
		k2, l2 := slope(s+step/2, θ+step/2*k1, γ+step/2*l1)
		k3, l3 := slope(s+step/2, θ+step/2*k2, γ+step/2*l2)
		k4, l4 := slope(s+step, θ+step*k3, γ+step*l3)
		θ, γ = θ+step/6*(k1+2*k2+2*k3+k4), γ+step/6*(l1+2*l2+2*l3+l4)

		ψ := (s + step) / R
		sin, cos := math.Sincos(θ)
		hx, hy := R*math.Sin(ψ)-(a-e)*cos+b*sin, R*(1-math.Cos(ψ))-(a-e)*sin-b*cos
		sin, cos = math.Sincos(θ - γ)
		dx, dy := -hx, R-hy // the centre from the kingpin
		xc, yc := dx*cos+dy*sin, -dx*sin+dy*cos
		along := math.Max(0, math.Max(xc-xf, -xr-xc))
		inner = math.Min(inner, math.Hypot(along, yc-w/2))
	}
	h.least("inner radius in the 12.50 m circle", inner, 5.30)
}

// A result is the answer over all settings.
type result struct {
	answer  string
	set     setting
	now     []check
	missing []string
	best    setting // the first setting in which all holds
}

// all answers as the command will: as the vehicles are set, else in another
// setting, else not at all.
func (h *hand) all() result {
	var r result
	w := &h.t.FifthWheel
	stated := w.At != nil
	for i := range w.Levels {
		if w.Levels[i].Set {
			r.set.level = i
		}
	}
	lifts := func(n int, can func(int) bool, up func(int) *bool, set *uint) (masks []uint) {
		var bits uint
		for i := range n {
			if !can(i) {
				continue
			}
			bits |= 1 << i
			switch p := up(i); {
			case p == nil:
				stated = false
			case *p:
				*set |= 1 << i
			}
		}
		for m := range uint(1) << n {
			if m&^bits == 0 {
				masks = append(masks, m)
			}
		}
		return masks
	}
	t, s := h.t, h.s
	tractorLifts := lifts(len(t.Axles), func(i int) bool { return t.Axles[i].Liftable }, func(i int) *bool { return t.Axles[i].Lifted }, &r.set.tractor)
	trailerLifts := lifts(len(s.Axles), func(i int) bool { return s.Axles[i].Liftable }, func(i int) *bool { return s.Axles[i].Lifted }, &r.set.trailer)
	var places []float64
	if w.Slider != nil {
		for k := 0; ; k++ {
			x := math.Round((float64(*w.Slider.Foremost)+float64(k)*float64(*w.Slider.Pitch))*1e6) / 1e6
			if x > float64(*w.Slider.Rearmost)+1e-9 {
				break
			}
			places = append(places, x)
		}
	} else {
		places = []float64{h.num(w.At, "fifth wheel at")}
	}
	r.set.at = places[0]
	if w.At != nil {
		r.set.at = float64(*w.At)
	}
	r.now = h.run(r.set)
	for m := range h.missing {
		r.missing = append(r.missing, m)
	}
	if stated && holds(r.now) && len(r.missing) == 0 {
		r.answer, r.best = "fits", r.set
		return r
	}
	for _, at := range places {
		for level := range max(1, len(w.Levels)) {
			for _, a := range tractorLifts {
				for _, b := range trailerLifts {
					set := setting{at, level, a, b}
					if !holds(h.run(set)) {
						continue
					}
					r.answer, r.best = "fits-if", set
					if len(r.missing) > 0 {
						r.answer = "cannot-tell"
					}
					return r
				}
			}
		}
	}
	r.answer = "does-not-fit"
	return r
}

func holds(checks []check) bool {
	for _, c := range checks {
		if !c.warns && !c.holds() {
			return false
		}
	}
	return true
}

func (s setting) String() string {
	return fmt.Sprintf("at %.3f m, level %d, lifted %b and %b", s.at, s.level, s.tractor, s.trailer)
}
