package maintenance

import (
	"cmp"
	"math"

	"underpin/record"
	"underpin/unit"
	"underpin/wear"
)

// LockLimitsOf reads the plays of a coupling's type record: play-base,
// play-least, play-adjust, play-most and play-uncertainty. What it does not say
// is NaN; the uncertainty is 0.1 mm where it does not say, common practice, no
// source.
//
// A type with a least play instead of a base play is too tight below that.
func LockLimitsOf(types []record.TypeAdded) wear.LockLimits {
	nan := unit.Length(math.NaN())
	l := wear.LockLimits{Base: nan, Adjust: nan, Most: nan, Uncertainty: unit.Length(0.1 * mm), Legal: nan}
	least := nan
	for _, t := range types {
		if t.Part != record.FifthWheel {
			continue
		}
		for _, d := range t.Dimensions {
			into := map[string]*unit.Length{"play-base": &l.Base, "play-least": &least, "play-adjust": &l.Adjust, "play-most": &l.Most, "play-uncertainty": &l.Uncertainty}[d.Name]
			if into == nil {
				continue
			}
			if v, err := unit.Parse(cmp.Or(d.Limit, d.New), unit.LengthDim); err == nil {
				*into = unit.Length(v)
			}
		}
	}
	if least == least {
		// Too tight below the least play itself: Diagnose takes u off again.
		if !(l.Base-l.Uncertainty >= least) {
			l.Base = least + l.Uncertainty
		}
	}
	if l.Most != l.Most {
		l.Most = l.Adjust
	}
	return l
}

// lock judges the plays of pin and lock together.
func (j *judge) lock() {
	_, hasPlay := j.rowOf[Play]
	_, hasLock := j.rowOf[LockPlay]
	if !hasPlay && !hasLock {
		return
	}
	value := func(key string) unit.Length {
		if v, ok := j.values[key]; ok {
			return unit.Length(v)
		}
		return unit.Length(math.NaN())
	}
	pin := wear.PinLimits{Neck: unit.Length(math.NaN()), NeckLimit: unit.Length(math.NaN()), CollarLimit: unit.Length(math.NaN())}
	if n, ok := j.ask.Regime.newSize(PinNeck); ok {
		pin.Neck = unit.Length(n)
	}
	pin.NeckLimit, pin.CollarLimit = j.strictest(PinNeck), j.strictest(PinCollar)
	lock := LockLimitsOf(j.ask.Regime.Types)
	lock.Legal = unit.Length(math.Inf(1))
	for _, l := range j.limits {
		if l.Measure == Play && l.Layer == Law {
			lock.Legal = min(lock.Legal, unit.Length(l.Value))
		}
	}
	m := wear.Measured{Neck: value(PinNeck), Collar: value(PinCollar), Play: value(Play), LockPlay: value(LockPlay), Travel: j.travel}
	d, err := wear.Diagnose(pin, lock, m)
	if err != nil {
		j.lack(sayCannotDiagnose.with(err.Error()))
		return
	}
	j.out.Diagnosis = d
	if d.Missing&wear.WantLockLimits != 0 {
		j.lack(sayNoPlays.with())
	}
	play := unit.Format(float64(d.LockPlay), unit.MM, 2)
	if d.OverMost {
		j.because(DoNotUse, LockPlay, AdjustLockWork, sayOverMost.with(play, unit.Format(float64(lock.Most), unit.MM, 2)))
	}
	switch d.Lock {
	case wear.LockTight:
		j.because(DoNotUse, LockPlay, BackOffLock, sayTight.with(play))
	case wear.LockAdjust:
		j.because(Repair, LockPlay, AdjustLockWork, sayAdjust.with(play, unit.Format(float64(lock.Adjust), unit.MM, 2)))
	case wear.LockRenew:
		j.because(DoNotUse, LockPlay, RenewLockWork, sayRenew.with(play))
	case wear.LockOver:
		j.lack(sayNoTravel.with(play))
	case wear.LockUnknown:
		if d.Missing&wear.WantLockLimits == 0 && (hasLock || hasPlay) {
			j.lack(sayNotMeasured.with("play of the lock"))
		}
	}
	if d.Do&wear.LeaveSetting != 0 {
		j.because(Advisory, Play, "", sayPinsPlay.with(unit.Format(float64(m.Play), unit.MM, 2), unit.Format(float64(d.PinWear), unit.MM, 2)))
	}
	if d.Do&wear.LookFurther != 0 {
		j.because(CannotTell, Play, "isolate", sayLookFurther.with(unit.Format(float64(m.Play), unit.MM, 2), unit.Format(float64(d.Together), unit.MM, 2)))
	}
}

// strictest is the largest least size of a measure, of any layer.
func (j *judge) strictest(measure string) unit.Length {
	out := math.NaN()
	for _, l := range j.limits {
		if l.Measure == measure && (l.Fails == AtOrBelow || l.Fails == Below) && !(l.Value <= out) {
			out = l.Value
		}
	}
	return unit.Length(out)
}
