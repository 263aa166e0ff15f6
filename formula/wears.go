package formula

import (
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

const perDistance = "mm per 100\u00a0000\u00a0km"

func distanceKey(name, example, doc string) Key { return quantity(name, unit.KM, example, doc) }

func (r *Result) rate(name string, v wear.Rate) { r.put(name, v.Per100000km(), "") }

func rate(v wear.Rate) string { return num(v.Per100000km()) + " " + perDistance }

var wearTable = []*Calculation{
	{
		Name: "pin-and-lock", Title: "How much play is the pin's and how much the lock's", Group: Wear, Func: "wear.PinAndLock",
		Inputs: []Key{
			inMM("nominal", "50.8mm", "d0, nominal diameter of the neck"),
			inMM("measured", "49.4mm", "d, smallest diameter measured, fore and aft"),
			inMM("play", "2.6mm", "p_meas, of this pin in the closed lock, trailer braked"),
		},
		Outputs: []Output{
			{Name: "pin-wear", Unit: "mm", Doc: "w; below 0 for a pin at the top of its tolerance"},
			{Name: "lock-play", Unit: "mm", Doc: "p_lock, play that a true pin would have; below 0 where the lock is set tight on a worn pin"},
		},
		Formula:  "w = d0 − d        p_lock = p_meas − w",
		Validity: "only the movement of pin against lock, 0 < d ≤ d0 + 0.23 mm and p_meas ≥ 0. A reference pin in the lock measures p_lock directly and is to be preferred.",
		Source:   "plane geometry, L = d + p_meas = d0 + p_lock; tolerance of a new pin from SAE J700",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			d0, d, p := a.length("nominal"), a.length("measured"), a.length("play")
			s, err := wear.PinAndLock(d0, d, p)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("pin-wear", float64(s.PinWear))
			r.set("lock-play", float64(s.LockPlay))
			r.work("w = %s − %s = %s", mm(d0), mm(d), mm(s.PinWear))
			r.work("p_lock = %s − %s = %s", mm(p), mm(s.PinWear), mm(s.LockPlay))
			r.note("play that comes from the pin is not adjusted out (common practice)")
			return r, nil
		},
	},
	{
		Name: "pin-tilt", Title: "How far a kingpin leans from the square", Group: Wear, Func: "wear.PinTilt",
		Inputs: []Key{
			inMM("offset", "1.4mm", "of the pin's end from the square line"),
			inMM("length", "84mm", "over which it was measured"),
		},
		Outputs:  []Output{{Name: "angle", Unit: "deg", Doc: "to be held against 1°, the limit of SAE J2228 as quoted in TM 9-2330-335-14&P"}},
		Formula:  "angle = atan(offset/length)",
		Validity: "offset ≥ 0 and length > 0.",
		Source:   "plane geometry; the limit of 1° is that of SAE J2228 as quoted in TM 9-2330-335-14&P",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			t, err := wear.PinTilt(a.length("offset"), a.length("length"))
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.set("angle", float64(t))
			r.work("angle = atan(%s/%s) = %s", mm(a.length("offset")), mm(a.length("length")), degrees(t))
			return r, nil
		},
	},
	{
		Name: "wear-two-sizes", Title: "Distance left from only two sizes: an indication", Group: Wear, Func: "wear.IndicateDistance",
		Inputs: []Key{
			inMM("new", "50.8mm", "size when new"),
			inMM("now", "50.2mm", "size now"),
			distanceKey("distance", "180000km", "run between the two"),
			inMM("limit", "49mm", "replace when the size reaches it"),
		},
		Outputs: []Output{
			{Name: "rate", Bare: perDistance, Doc: "total wear over total distance"},
			{Name: "distance", Unit: "km", Doc: "left to the limit: an indication, without interval"},
		},
		Formula:  "left = (now − limit) · distance/(new − now)",
		Validity: "distance > 0, new > now and limit > 0. At or below the limit nothing is left.",
		Source:   "total wear over total distance, handbook chapter 05, section 8",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			in := wear.IndicationInput{New: a.length("new"), Now: a.length("now"), Distance: a.length("distance"), Limit: a.length("limit")}
			b, left, err := wear.IndicateDistance(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.rate("rate", b)
			r.set("distance", float64(left))
			r.work("rate = (%s − %s) / %s = %s", mm(in.New), mm(in.Now), km(in.Distance), rate(b))
			r.work("left = (%s − %s) / rate = %s", mm(in.Now), mm(in.Limit), km(left))
			r.note("an indication: two sizes give no interval")
			return r, nil
		},
	},
	{
		Name: "wear-line", Title: "Wear rate and distance left from diameters of a pin", Group: Wear, Func: "wear.ForecastLine",
		Inputs: []Key{
			compound("reading", "each gauging: distance run, and the diameter read there",
				[]string{"0km:50.80mm", "50000km:50.68mm", "100000km:50.50mm", "150000km:50.37mm", "200000km:50.20mm"},
				distanceKey("distance", "50000km", "run"), inMM("diameter", "50.68mm", "read")).inOrder(),
			inMM("limit", "49mm", "replace when the diameter reaches it"),
			share("confidence", "95%", "one-sided").or("95%", "usual"),
		},
		Outputs: []Output{
			{Name: "rate", Bare: perDistance, Doc: "b, of the line of least squares"},
			{Name: "nominal-distance", Unit: "km", Doc: "left at that rate from the largest distance read"},
			{Name: "assured-distance", Unit: "km", Doc: "left at the upper bound of the rate with the confidence"},
		},
		Formula:  "d(x) = a − b·x by least squares,   b_hi = b + t(n−2)·s_b\nnominal = (d(x_now) − limit)/b,   assured = (d(x_now) − limit)/b_hi",
		Validity: "three readings or more of one pin with one gauge, distances ≥ 0, diameters and limit > 0, 0.5 ≤ confidence < 1. It takes the line for the truth and knows of no drift: wear-forecast is the more careful of the two. A pin that does not grow thinner has no answer.",
		Source:   "linear regression, textbook form, checked against NIST StRD, set Norris; the rule of three readings and the worked example from handbook chapter 05, section 8",
		Evidence: rule.Derived,
		run: func(a *Args) (*Result, error) {
			all := a.all("reading")
			in := wear.LineInput{Limit: a.length("limit"), Confidence: a.number("confidence")}
			for i := range all {
				in.Readings = append(in.Readings, wear.Gauging{Distance: all[i].length(0), Diameter: all[i].length(1)})
			}
			f, err := wear.ForecastLine(in)
			if err != nil {
				return nil, err
			}
			r := a.result()
			r.rate("rate", f.Rate)
			r.set("nominal-distance", float64(f.Nominal))
			r.set("assured-distance", float64(f.Assured))
			r.work("%d readings: b = %s, s_b = %s, t = %s, b_hi = %s", f.Line.N, rate(f.Rate), rate(f.RateSE), num(f.Quantile), rate(f.RateHigh))
			r.work("d(%s) = %s ,  (%s − %s) / b = %s ,  / b_hi = %s", km(f.At), mm(f.Fitted), mm(f.Fitted), mm(in.Limit), km(f.Nominal), km(f.Assured))
			if f.Reached {
				r.note("a reading, or the line, is at the limit: nothing is left")
			}
			r.note("never to be carried across a new pin or another gauge")
			return r, nil
		},
	},
	{
		Name: "wear-forecast", Title: "Wear now and the distance left, as quantiles", Group: Wear, Func: "wear.ForecastWear",
		Inputs: []Key{
			compound("reading", "each gauging of this part: distance in its life, and the cumulated wear read there, in the order of distance; without readings it is the forecast of a new part of the fleet",
				[]string{"200000km:0.85mm", "350000km:1.35mm"},
				distanceKey("distance", "200000km", "in the life of the part"), inMM("wear", "0.85mm", "cumulated, adjustments added")).inOrder().optional(),
			inMM("start", "0mm", "a0, wear that a new part reads"),
			inMM("start-sd", "0.05mm", "α, spread of it"),
			number("rate", perDistance, "0.30", "β, mean wear rate of the fleet"),
			number("rate-sd", perDistance, "0.08", "τ, spread of the rate between parts"),
			number("drift", "mm² per 100\u00a0000\u00a0km", "0.0025", "q, variance that wear gathers as the use changes"),
			inMM("gauge-sd", "0.10mm", "σ, error of one reading"),
			inMM("limit", "1.8mm", "L, of the wear"),
		},
		Outputs: []Output{
			{Name: "wear", Unit: "mm", Doc: "m_w, at the last reading"},
			{Name: "rate", Bare: perDistance, Doc: "m_b, of this part"},
			{Name: "q05", Unit: "km", Null: "no upper bound", Doc: "distance left that is undercut with probability 5 %: the careful one"},
			{Name: "q10", Unit: "km", Null: "no upper bound", Doc: "undercut with 10 %"},
			{Name: "q50", Unit: "km", Null: "no upper bound", Doc: "undercut with 50 %"},
			{Name: "q90", Unit: "km", Null: "no upper bound", Doc: "undercut with 90 %"},
			{Name: "q95", Unit: "km", Null: "no upper bound", Doc: "undercut with 95 %"},
		},
		Formula:  "P(d) = Φ( (m_w + m_b·d − L)/√(V_ww + 2d·V_wb + d²·V_bb + q·d) )\n(m_b² − z²·V_bb)·d² + [ 2·(m_w − L)·m_b − z²·(2·V_wb + q) ]·d + (m_w − L)² − z²·V_ww = 0",
		Validity: "readings in the order of distance, L above the start, rate > 0, spreads, drift and gauge error ≥ 0. No default rates: no public field data was found, so fleet values nobody measured are assumptions. Where the rate learnt is not above 0 there is no answer.",
		Source:   "Kalman filter and Fieller's quadratic, textbook forms; handbook chapter 06, B1.2 and B1.3",
		Evidence: rule.Derived,
		Sample: []string{"reading=200000km:0.85mm", "reading=350000km:1.35mm", "start=0mm", "start-sd=0.05mm", "rate=0.30", "rate-sd=0.08",
			"drift=0.0025", "gauge-sd=0.10mm", "limit=1.8mm"},
		run: runForecast,
	},
}

func runForecast(a *Args) (*Result, error) {
	p := wear.Prior{Start: a.length("start"), StartSD: a.length("start-sd"),
		Rate: wear.Rate(a.number("rate")) * wear.MillimetrePer100000km, RateSD: wear.Rate(a.number("rate-sd")) * wear.MillimetrePer100000km,
		Drift: wear.Drift(a.number("drift")) * wear.SquareMillimetrePer100000km, GaugeSD: a.length("gauge-sd")}
	all := a.all("reading")
	readings := make([]wear.Reading, len(all))
	for i := range all {
		readings[i] = wear.Reading{Distance: all[i].length(0), Wear: all[i].length(1)}
	}
	limit := a.length("limit")
	f, err := wear.ForecastWear(p, readings, limit)
	if err != nil {
		return nil, err
	}
	r := a.result()
	s := f.State
	r.set("wear", float64(s.Wear))
	r.rate("rate", s.Rate)
	r.set("q05", float64(f.Q05))
	r.set("q10", float64(f.Q10))
	r.set("q50", float64(f.Q50))
	r.set("q90", float64(f.Q90))
	r.set("q95", float64(f.Q95))
	r.work("at %s: m_w = %s ± %s, m_b = %s ± %s", km(s.At), mm(s.Wear), mm(s.WearSD()), rate(s.Rate), rate(s.RateSD()))
	r.work("median (%s − %s) / m_b = %s; with 5\u00a0%% %s, with 95\u00a0%% %s", mm(limit), mm(s.Wear), km(f.Q50), km(f.Q05), km(f.Q95))
	r.note("%s that the limit is reached already; %d readings", percent(f.AtLimit), s.Readings)
	if s.Readings == 0 {
		r.note("no reading of this part: a forecast from the fleet values alone")
	}
	if f.Doubtful {
		r.note("the model gives %s to a rate below 0: the spread of the rate is too wide to trust the upper quantiles", percent(f.FallingRate))
	}
	return r, nil
}
