package wear_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/wear"
)

const mk = "handbook chapter 05, section 10; limits are common practice"

func mmOf(v float64) unit.Length { return unit.Length(v) * unit.Millimetre }

var (
	nan = mmOf(math.NaN())
	inf = unit.Length(math.Inf(1))

	// Limits of section 10: they belong to these tests, the package has none.
	pin50  = wear.PinLimits{Neck: mmOf(50.8), NeckLimit: mmOf(49), CollarLimit: mmOf(71)}
	pin90  = wear.PinLimits{Neck: mmOf(89), NeckLimit: mmOf(86), CollarLimit: mmOf(112)}
	pinUS  = wear.PinLimits{Neck: mmOf(50.8), NeckLimit: mmOf(47.625), CollarLimit: mmOf(69.85)}
	lockEU = wear.LockLimits{Base: mmOf(0.3), Adjust: mmOf(2), Most: mmOf(2), Uncertainty: mmOf(0.1), Legal: inf}
)

func TestPinSizes(t *testing.T) {
	for _, tt := range []struct {
		row          string
		pin          wear.PinLimits
		neck, collar float64
		want         wear.PinState
		wear         float64
	}{
		{"1: new", pin50, 50.8, 73, wear.PinFit, 0},
		{"2: neck 49.1, watch", pin50, 49.1, 73, wear.PinAdvisory, 1.7},
		{"3: limit reached", pin50, 49.0, 73, wear.PinReplace, 1.8},
		{"4: below the ISO layer", pin50, 48.5, 73, wear.PinReplace, 2.3},
		{"5: passes the US rule", pinUS, 48.5, 73, wear.PinFit, 2.3},
		{"6: US limit reached", pinUS, 47.625, 73, wear.PinReplace, 3.175},
		{"7: US passes", pinUS, 47.7, 73, wear.PinAdvisory, 3.1},
		{"7: ISO fails", pin50, 47.7, 73, wear.PinReplace, 3.1},
		{"8: collar 71.0", pin50, 50.8, 71, wear.PinReplace, 0},
		{"9: collar 71.2 passes, near", pin50, 50.0, 71.2, wear.PinAdvisory, 0.8},
		{"10: collar 69.85, US", pinUS, 50.8, 69.85, wear.PinReplace, 0},
		{"11: 90 neck 86.0", pin90, 86, 114, wear.PinReplace, 3},
		{"12: 90, watch", pin90, 86.5, 112.5, wear.PinAdvisory, 2.5},
		{"13: 90 collar 112", pin90, 89, 112, wear.PinReplace, 0},
		{"advisory begins within 0.5 mm of the limit", pin50, 49.5, 73, wear.PinAdvisory, 1.3},
		{"and not before", pin50, 49.51, 71.51, wear.PinFit, 1.29},
	} {
		d := must(wear.Diagnose(tt.pin, lockEU, wear.Measured{Neck: mmOf(tt.neck), Collar: mmOf(tt.collar), Play: mmOf(tt.wear + 1), LockPlay: nan}))(t)
		if d.Pin != tt.want {
			t.Errorf("row %s: %s, want %s (%s)", tt.row, d.Pin, tt.want, mk)
		}
		near(t, "row "+tt.row+": w", d.PinWear.Millimetres(), tt.wear, 1e-9, mk)
		if replace := d.Do&wear.ReplacePin != 0; replace != (tt.want == wear.PinReplace) {
			t.Errorf("row %s: do %q", tt.row, d.Do)
		}
		if d.Do&wear.ReplacePin != 0 && d.Do&wear.Readjust == 0 {
			t.Errorf("row %s: a new pin without setting the lock", tt.row)
		}
		if d.Missing != 0 {
			t.Errorf("row %s: missing %q", tt.row, d.Missing)
		}
	}
}

func TestPinOrLock(t *testing.T) {
	us := lockEU
	us.Legal = mmOf(12.7)
	quebec := lockEU
	quebec.Legal = mmOf(12.8)
	maryland := lockEU
	maryland.Legal = mmOf(6.35)
	twoStep := wear.LockLimits{Base: mmOf(0.3), Adjust: mmOf(2.032), Most: mmOf(12.7), Uncertainty: mmOf(0.1), Legal: mmOf(12.7)}
	sixteenth := wear.LockLimits{Base: mmOf(1.5875), Adjust: mmOf(3.175), Most: mmOf(3.175), Uncertainty: mmOf(0.1), Legal: mmOf(12.7)}
	const legal = wear.LookFurther | wear.Prohibited
	for _, tt := range []struct {
		row        string
		lock       wear.LockLimits
		play, neck float64
		travel     wear.Travel
		lockPlay   float64
		state      wear.LockState
		do, never  wear.Actions
	}{
		{"26", lockEU, 1.5, 50.8, wear.TravelLeft, 1.5, wear.LockFit, 0, wear.AdjustLock | wear.LeaveSetting},
		{"27", lockEU, 2.6, 50.8, wear.TravelLeft, 2.6, wear.LockAdjust, wear.AdjustLock, wear.RenewLock},
		{"28: pin wear, do not adjust", lockEU, 2.6, 49.4, wear.TravelLeft, 1.2, wear.LockFit, wear.LeaveSetting, wear.AdjustLock},
		{"29: over-tight", lockEU, 1.2, 49.5, wear.TravelLeft, -0.1, wear.LockTight, wear.BackOff, wear.AdjustLock},
		{"30: adjust on a true pin, and look further", lockEU, 4.2, 49.3, wear.TravelLeft, 2.7, wear.LockAdjust, wear.AdjustLock | wear.LookFurther, wear.ReplacePin},
		{"31: adjuster exhausted", lockEU, 2.6, 50.8, wear.TravelNone, 2.6, wear.LockRenew, wear.RenewLock | wear.Readjust, wear.AdjustLock},
		{"32: 12.0 passes the law, fails the maker", us, 12.0, 50.8, wear.TravelLeft, 12, wear.LockAdjust, wear.LookFurther, wear.Prohibited},
		{"33: 12.7 exactly passes the law", us, 12.7, 50.8, wear.TravelLeft, 12.7, wear.LockAdjust, wear.LookFurther, wear.Prohibited},
		{"34: 12.9, US", us, 12.9, 50.8, wear.TravelLeft, 12.9, wear.LockAdjust, legal, 0},
		{"34: 12.9, Quebec", quebec, 12.9, 50.8, wear.TravelLeft, 12.9, wear.LockAdjust, legal, 0},
		{"35: 7.0, Maryland", maryland, 7.0, 50.8, wear.TravelLeft, 7, wear.LockAdjust, legal, 0},
		{"36: two-step type at 2.1", twoStep, 2.1, 50.8, wear.TravelLeft, 2.1, wear.LockAdjust, wear.AdjustLock, 0},
		{"36: and at 2.03", twoStep, 2.03, 50.8, wear.TravelLeft, 2.03, wear.LockFit, 0, wear.AdjustLock},
		{"37: sixteenth type set to 1.2", sixteenth, 1.2, 50.8, wear.TravelLeft, 1.2, wear.LockTight, wear.BackOff, wear.AdjustLock},
		{"6.1 R3: exactly at p_base − u", lockEU, 0.2, 50.8, wear.TravelLeft, 0.2, wear.LockFit, 0, wear.BackOff},
		{"6.1 R7: exactly 3.8", lockEU, 3.8, 50.8, wear.TravelLeft, 3.8, wear.LockAdjust, wear.AdjustLock, wear.LookFurther},
		{"6.1 R7: above 3.8", lockEU, 3.81, 50.8, wear.TravelLeft, 3.81, wear.LockAdjust, wear.LookFurther, 0},
	} {
		d := must(wear.Diagnose(pin50, tt.lock, wear.Measured{Neck: mmOf(tt.neck), Collar: mmOf(73), Play: mmOf(tt.play), LockPlay: nan, Travel: tt.travel}))(t)
		near(t, "row "+tt.row+": p_lock", d.LockPlay.Millimetres(), tt.lockPlay, 1e-9, mk)
		if d.Lock != tt.state {
			t.Errorf("row %s: lock %s, want %s (%s)", tt.row, d.Lock, tt.state, mk)
		}
		if over := tt.lockPlay > tt.lock.Most.Millimetres()+1e-6; d.OverMost != over {
			t.Errorf("row %s: over the most play: %v, want %v", tt.row, d.OverMost, over)
		}
		if d.Do&tt.do != tt.do || d.Do&tt.never != 0 {
			t.Errorf("row %s: do %q; want %q and never %q (%s)", tt.row, d.Do, tt.do, tt.never, mk)
		}
	}
	d := must(wear.Diagnose(pin90, lockEU, wear.Measured{Neck: mmOf(87), Collar: mmOf(114), Play: mmOf(5.01), LockPlay: nan}))(t)
	near(t, "90 mm: most play together", d.Together.Millimetres(), 5.0, 1e-9, "handbook chapter 05, 6.1, R7: 2.0 + 3.0")
	if d.Do&wear.LookFurther == 0 {
		t.Error("90 mm at 5.01 mm: another joint is not looked for")
	}
}

// TestMatrix goes through the table of handbook chapter 05, 6.4.
func TestMatrix(t *testing.T) {
	const source = "handbook chapter 05, 6.4"
	for _, tt := range []struct {
		lockPlay float64
		travel   wear.Travel
		neck     float64
		do       wear.Actions
	}{
		{0.1, wear.TravelLeft, 50.5, wear.BackOff}, {0.1, wear.TravelLeft, 49.6, wear.BackOff}, {0.1, wear.TravelLeft, 49, wear.BackOff | wear.ReplacePin | wear.Readjust},
		{1.0, wear.TravelLeft, 50.5, 0}, {1.0, wear.TravelLeft, 49.6, wear.LeaveSetting}, {1.0, wear.TravelLeft, 49, wear.ReplacePin | wear.Readjust | wear.LeaveSetting},
		{2.1, wear.TravelLeft, 50.5, wear.AdjustLock}, {2.1, wear.TravelLeft, 49.6, wear.AdjustLock}, {2.1, wear.TravelLeft, 49, wear.AdjustLock | wear.ReplacePin | wear.Readjust},
		{2.1, wear.TravelNone, 50.5, wear.RenewLock | wear.Readjust}, {2.1, wear.TravelNone, 49.6, wear.RenewLock | wear.Readjust},
		{2.1, wear.TravelNone, 49, wear.RenewLock | wear.ReplacePin | wear.Readjust},
	} {
		d := must(wear.Diagnose(pin50, lockEU, wear.Measured{
			Neck: mmOf(tt.neck), Collar: mmOf(73), Play: mmOf(tt.lockPlay + 50.8 - tt.neck), LockPlay: nan, Travel: tt.travel,
		}))(t)
		got := d.Do &^ wear.LookFurther
		if got != tt.do {
			t.Errorf("p_lock %.1f, d %.1f, travel %d: %q, want %q (%s)", tt.lockPlay, tt.neck, tt.travel, got, tt.do, source)
		}
	}
}

func TestMissingIsNeverFit(t *testing.T) {
	whole := wear.Measured{Neck: mmOf(50.5), Collar: mmOf(73), Play: mmOf(1), LockPlay: nan, Travel: wear.TravelLeft}
	us := lockEU
	us.Legal = mmOf(12.7)
	for _, tt := range []struct {
		name   string
		change func(*wear.PinLimits, *wear.LockLimits, *wear.Measured)
		want   wear.Wants
		pin    wear.PinState
		lock   wear.LockState
	}{
		{"neck", func(_ *wear.PinLimits, _ *wear.LockLimits, m *wear.Measured) { m.Neck = nan }, wear.WantNeck, wear.PinUnknown, wear.LockUnknown},
		{"collar", func(_ *wear.PinLimits, _ *wear.LockLimits, m *wear.Measured) { m.Collar = nan }, wear.WantCollar, wear.PinUnknown, wear.LockFit},
		{"neck limit", func(p *wear.PinLimits, _ *wear.LockLimits, _ *wear.Measured) { p.NeckLimit = nan }, wear.WantNeckLimit, wear.PinUnknown, wear.LockFit},
		{"collar limit", func(p *wear.PinLimits, _ *wear.LockLimits, _ *wear.Measured) { p.CollarLimit = nan }, wear.WantCollarLimit, wear.PinUnknown, wear.LockFit},
		{"play", func(_ *wear.PinLimits, _ *wear.LockLimits, m *wear.Measured) { m.Play = nan }, wear.WantPlay, wear.PinFit, wear.LockUnknown},
		{"type record", func(_ *wear.PinLimits, l *wear.LockLimits, _ *wear.Measured) { l.Adjust = nan }, wear.WantLockLimits, wear.PinFit, wear.LockUnknown},
		{"most play", func(_ *wear.PinLimits, l *wear.LockLimits, _ *wear.Measured) { l.Most = nan }, wear.WantLockLimits, wear.PinFit, wear.LockUnknown},
		{"legal limit", func(_ *wear.PinLimits, l *wear.LockLimits, _ *wear.Measured) { l.Legal = nan }, wear.WantLegal, wear.PinFit, wear.LockFit},
		{"travel", func(_ *wear.PinLimits, _ *wear.LockLimits, m *wear.Measured) {
			m.Play, m.Travel = mmOf(2.6), wear.TravelUnknown
		}, wear.WantTravel, wear.PinFit, wear.LockOver},
		{"nothing", func(*wear.PinLimits, *wear.LockLimits, *wear.Measured) {}, 0, wear.PinFit, wear.LockFit},
	} {
		p, l, m := pin50, us, whole
		tt.change(&p, &l, &m)
		d := must(wear.Diagnose(p, l, m))(t)
		if d.Missing != tt.want || d.Pin != tt.pin || d.Lock != tt.lock {
			t.Errorf("without %s: pin %s, lock %s, missing %q; want %s, %s, %q", tt.name, d.Pin, d.Lock, d.Missing, tt.pin, tt.lock, tt.want)
		}
		if (tt.want == 0) != (len(d.Missing.List()) == 0) {
			t.Errorf("without %s: lists %q", tt.name, d.Missing.List())
		}
	}
	// What is known to be bad is said even when something else is missing.
	m := whole
	m.Neck, m.Collar = mmOf(48.9), nan
	if d := must(wear.Diagnose(pin50, us, m))(t); d.Pin != wear.PinReplace || d.Missing != wear.WantCollar {
		t.Errorf("neck below its limit, collar not measured: %s, missing %q", d.Pin, d.Missing)
	}
	m = whole
	m.LockPlay, m.Play = mmOf(2.4), nan
	if d := must(wear.Diagnose(pin50, us, m))(t); d.Lock != wear.LockAdjust || !d.Direct || d.Missing != wear.WantPlay {
		t.Errorf("lock measured with a reference pin: %s, direct %v, missing %q", d.Lock, d.Direct, d.Missing)
	}
	m = whole
	m.HardStop = true
	if d := must(wear.Diagnose(pin50, us, m))(t); d.Do&wear.Stop == 0 {
		t.Error("R1: a hard stop is lost")
	}
}

func TestPinAndLock(t *testing.T) {
	for _, tt := range []struct {
		nominal, measured, play float64
		wear, lock              float64
		source                  string
	}{
		{50.8, 50.8, 1.5, 0, 1.5, "handbook chapter 05, row 26"},
		{50.8, 49.4, 2.6, 1.4, 1.2, "handbook chapter 05, row 28"},
		{50.8, 49.5, 1.2, 1.3, -0.1, "handbook chapter 05, row 29"},
		{50.8, 49.3, 4.2, 1.5, 2.7, "handbook chapter 05, row 30"},
		{89, 87.2, 2.5, 1.8, 0.7, "hand"},
		{50.8, 50.93, 0.3, -0.13, 0.43, "hand: a new pin at the top of its tolerance"},
	} {
		got := must(wear.PinAndLock(mmOf(tt.nominal), mmOf(tt.measured), mmOf(tt.play)))(t)
		near(t, "w", got.PinWear.Millimetres(), tt.wear, 1e-9, tt.source)
		near(t, "p_lock", got.LockPlay.Millimetres(), tt.lock, 1e-9, tt.source)
	}
	worn := must(wear.PinAndLock(mmOf(50.8), mmOf(48.2), 0))(t)
	near(t, "share", 100*worn.PinShare, 5.12, 5e-3, "NZ VIRM, unclassified vehicles: reject above 5 %; handbook chapter 05, row 48")
	for name, in := range map[string][3]float64{
		"another pin": {50.8, 89, 1}, "just above the tolerance": {50.8, 51.04, 1}, "no pin": {50.8, 0, 1}, "negative play": {50.8, 50, -0.1},
		"NaN nominal": {math.NaN(), 50, 1}, "NaN measured": {50.8, math.NaN(), 1}, "NaN play": {50.8, 50, math.NaN()}, "zero nominal": {0, 0, 1},
	} {
		var domain *unit.DomainError
		if _, err := wear.PinAndLock(mmOf(in[0]), mmOf(in[1]), mmOf(in[2])); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
	var domain *unit.DomainError
	if _, err := wear.Diagnose(pin50, lockEU, wear.Measured{Neck: mmOf(52), Collar: mmOf(73), Play: mmOf(1), LockPlay: nan}); !errors.As(err, &domain) {
		t.Errorf("a neck of 52 mm on a 50 mm pin: %v; want a DomainError", err)
	}
	if _, err := wear.Diagnose(pin50, lockEU, wear.Measured{Neck: mmOf(-1), Collar: mmOf(73), Play: mmOf(1), LockPlay: nan}); !errors.As(err, &domain) {
		t.Errorf("a negative neck: %v; want a DomainError", err)
	}
}

func TestPinTilt(t *testing.T) {
	for _, tt := range []struct {
		offset, length, want, tol float64
		source                    string
	}{
		{1.4, 84, 0.955, 5e-4, "handbook chapter 05, row 18: passes 1°"},
		{1.5, 84, 1.023, 5e-4, "handbook chapter 05, row 19: fails 1°"},
		{0.87, 50, 1, 5e-3, "handbook chapter 05, 1.2: 1° on 50 mm"},
		{1.47, 84, 1, 5e-3, "handbook chapter 05, 1.2: 1° on 84 mm"},
		{1.75, 100, 1, 5e-3, "handbook chapter 05, 1.2: 1° on 100 mm"},
		{0, 84, 0, 0, "hand"},
	} {
		got := must(wear.PinTilt(mmOf(tt.offset), mmOf(tt.length)))(t)
		near(t, fmt.Sprintf("tilt %g/%g", tt.offset, tt.length), got.Degrees(), tt.want, tt.tol, tt.source)
	}
	var domain *unit.DomainError
	for _, in := range [][2]float64{{-1, 84}, {1, 0}, {math.NaN(), 84}, {1, math.NaN()}} {
		if _, err := wear.PinTilt(mmOf(in[0]), mmOf(in[1])); !errors.As(err, &domain) {
			t.Errorf("%v: %v; want a DomainError", in, err)
		}
	}
}

// TestSharesAddUp: play is what the lock leaves and what the pin lost, and a lock
// gauged with a reference pin gives the same diagnosis.
func TestSharesAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		neck := mmOf(rapid.Float64Range(47, 50.9).Draw(rt, "neck"))
		play := mmOf(rapid.Float64Range(0, 15).Draw(rt, "play"))
		p, err := wear.PinAndLock(pin50.Neck, neck, play)
		if err != nil {
			rt.Fatal(err)
		}
		if !(math.Abs(float64(p.PinWear+p.LockPlay-play)) <= 1e-15) {
			rt.Errorf("%v + %v is not %v", p.PinWear, p.LockPlay, play)
		}
		m := wear.Measured{Neck: neck, Collar: mmOf(72), Play: play, LockPlay: nan, Travel: wear.TravelLeft}
		a, err := wear.Diagnose(pin50, lockEU, m)
		if err != nil {
			rt.Fatal(err)
		}
		m.LockPlay = p.LockPlay
		b, err := wear.Diagnose(pin50, lockEU, m)
		if err != nil {
			rt.Fatal(err)
		}
		if a.Lock != b.Lock || a.Do != b.Do || a.Pin != b.Pin {
			rt.Errorf("worked out %+v, measured %+v", a, b)
		}
		if a.Do&wear.AdjustLock != 0 && a.LockPlay <= mmOf(2) {
			rt.Errorf("adjusts %v mm of lock play", a.LockPlay.Millimetres())
		}
	})
}

func TestDiagnosisDoesNotAllocate(t *testing.T) {
	m := wear.Measured{Neck: mmOf(49.4), Collar: mmOf(73), Play: mmOf(2.6), LockPlay: nan, Travel: wear.TravelLeft}
	if n := testing.AllocsPerRun(100, func() {
		if _, err := wear.Diagnose(pin50, lockEU, m); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func ExamplePinAndLock() {
	p, err := wear.PinAndLock(50.8*unit.Millimetre, 49.4*unit.Millimetre, 2.6*unit.Millimetre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("pin %.1f mm, lock %.1f mm\n", p.PinWear.Millimetres(), p.LockPlay.Millimetres())
	// Output: pin 1.4 mm, lock 1.2 mm
}

func ExampleDiagnose() {
	mm := unit.Millimetre
	unknown := unit.Length(math.NaN())
	d, err := wear.Diagnose(
		wear.PinLimits{Neck: 50.8 * mm, NeckLimit: 49 * mm, CollarLimit: 71 * mm},
		wear.LockLimits{Base: 0.3 * mm, Adjust: 2 * mm, Most: 2 * mm, Uncertainty: 0.1 * mm, Legal: unit.Length(math.Inf(1))},
		wear.Measured{Neck: 49.4 * mm, Collar: 72.6 * mm, Play: 2.6 * mm, LockPlay: unknown})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("pin %s, lock %s: %s\n", d.Pin, d.Lock, d.Do)
	// Output: pin advisory, lock fit: do not adjust the pin's wear out
}

func BenchmarkDiagnose(b *testing.B) {
	m := wear.Measured{Neck: mmOf(49.4), Collar: mmOf(73), Play: mmOf(2.6), LockPlay: nan, Travel: wear.TravelLeft}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.Diagnose(pin50, lockEU, m); err != nil {
			b.Fatal(err)
		}
	}
}
