package rating_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/rating"
	"underpin/unit"
)

// connection is our own: a fifth wheel 152 kN / 20 t on a plate 150 kN / 20 t,
// and a pin of 165 kN, all read from their markings.
func connection() []rating.Part {
	return []rating.Part{
		{Kind: rating.FifthWheel, D: new(152 * kN), U: new(20 * t_), Evidence: rating.Read},
		{Kind: rating.MountingPlate, D: new(150 * kN), U: new(20 * t_), Evidence: rating.Read},
		{Kind: rating.Kingpin, D: new(165 * kN), Evidence: rating.Read},
	}
}

func TestWeakestPart(t *testing.T) {
	const src = "by definition: the least of the ratings in the row"
	for _, tt := range []struct {
		name      string
		change    func([]rating.Part) []rating.Part
		d         float64 // kN; 0: unknown
		dPart     int
		u         float64 // t
		certifies bool
		open      string // part of the reason
	}{
		{"all read", func(p []rating.Part) []rating.Part { return p }, 150, 1, 20, true, ""},
		{"weak pin", func(p []rating.Part) []rating.Part { p[2].D = new(108 * kN); return p }, 108, 2, 20, true, ""},
		{"pin's U is of no meaning", func(p []rating.Part) []rating.Part { p[2].U = new(1 * t_); return p }, 150, 1, 20, true, ""},
		{"pin unknown", func(p []rating.Part) []rating.Part { p[2].D = nil; return p }, 150, 1, 20, false, "D of the kingpin"},
		{"plate's U unknown", func(p []rating.Part) []rating.Part { p[1].U = nil; return p }, 150, 1, 20, false, "U of the mounting plate"},
		{"pin from memory", func(p []rating.Part) []rating.Part { p[2].Evidence = rating.Memory; return p }, 150, 1, 20, false, "kingpin"},
		{"pin by practice", func(p []rating.Part) []rating.Part { p[2].Evidence = rating.Practice; return p }, 150, 1, 20, false, "kingpin"},
		{"no mark of evidence", func(p []rating.Part) []rating.Part { p[0].Evidence = ""; return p }, 150, 1, 20, false, "fifth wheel"},
		{"no pin", func(p []rating.Part) []rating.Part { return p[:2] }, 150, 1, 20, false, "kingpin is missing"},
		{"no plate", func(p []rating.Part) []rating.Part { return []rating.Part{p[0], p[2]} }, 152, 0, 20, false, "mounting plate is missing"},
		{"no plate, by permission", func(p []rating.Part) []rating.Part { p[0].NoPlate = true; return []rating.Part{p[0], p[2]} }, 152, 0, 20, true, ""},
		{"no fifth wheel", func(p []rating.Part) []rating.Part { return p[1:] }, 150, 0, 20, false, "fifth wheel is missing"},
		{"nothing known", func(p []rating.Part) []rating.Part {
			for i := range p {
				p[i].D, p[i].U = nil, nil
			}
			return p
		}, 0, -1, 0, false, "not known"},
		{"wedge", func(p []rating.Part) []rating.Part {
			return append(p, rating.Part{Kind: rating.SteeringWedge, D: new(130 * kN), Evidence: rating.Derived})
		}, 130, 3, 20, true, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w, err := rating.WeakestPart(tt.change(connection()))
			if err != nil {
				t.Fatal(err)
			}
			if tt.d == 0 {
				if !math.IsNaN(float64(w.D)) || !math.IsNaN(float64(w.U)) {
					t.Errorf("D %v, U %v, want unknown", w.D, w.U)
				}
			} else {
				near(t, "D", w.D.Kilonewtons(), tt.d, 1e-9, src)
				near(t, "U", w.U.Tonnes(), tt.u, 1e-9, src)
			}
			if w.DPart != tt.dPart || w.Certifies != tt.certifies || !strings.Contains(w.Open, tt.open) || (w.Open == "") != tt.certifies {
				t.Errorf("%+v; want part %d, certifies %v, %q", w, tt.dPart, tt.certifies, tt.open)
			}
		})
	}
	_, err := rating.WeakestPart(nil)
	wantDomain(t, "no parts", err)
	_, err = rating.WeakestPart([]rating.Part{{Kind: "bolt"}})
	wantDomain(t, "unknown kind", err)
	p := connection()
	p[0].D = new(unit.Force(math.NaN()))
	_, err = rating.WeakestPart(p)
	wantDomain(t, "NaN", err)
}

func TestCheckParts(t *testing.T) {
	const src = "handbook chapter 01, 7"
	keep := func(p []rating.Part) {}
	for _, tt := range []struct {
		name   string
		change func([]rating.Part)
		need   rating.Need
		want   rating.Answer
		short  int
		warns  bool
		source string
	}{
		{"enough", keep, rating.Need{D: 119.4 * kN, U: 15 * t_}, rating.Fits, -1, false, src + ", 2 and 3"},
		{"equality", keep, rating.Need{D: 150 * kN, U: 20 * t_}, rating.Fits, -1, false, src + ", 2: equality is allowed"},
		{"D too much", keep, rating.Need{D: 151 * kN, U: 15 * t_}, rating.DoesNotFit, 1, false, src + ", 2"},
		{"U too much", keep, rating.Need{D: 100 * kN, U: 20.001 * t_}, rating.DoesNotFit, 0, false, src + ", 3"},
		{"pin unknown", func(p []rating.Part) { p[2].D = nil }, rating.Need{D: 100 * kN, U: 15 * t_}, rating.CannotTell, -1, false, "missing data is no pass"},
		{"pin unknown, plate too weak", func(p []rating.Part) { p[2].D = nil }, rating.Need{D: 151 * kN, U: 15 * t_}, rating.DoesNotFit, 1, false, "what is known and too weak decides"},
		{"pin from memory, enough", func(p []rating.Part) { p[2].Evidence = rating.Memory }, rating.Need{D: 100 * kN, U: 15 * t_}, rating.CannotTell, -1, false, "memory does not certify"},
		{"pin from memory, too weak", func(p []rating.Part) { p[2].Evidence, p[2].D = rating.Memory, new(90*kN) }, rating.Need{D: 100 * kN, U: 15 * t_}, rating.CannotTell, -1, true, "memory warns"},
		{"rough, nothing set", keep, rating.Need{D: 100 * kN, U: 15 * t_, Rough: true}, rating.CannotTell, -1, true, src + ", 4: no source gives a percentage"},
		{"rough, enough", keep, rating.Need{D: 100 * kN, U: 15 * t_, Rough: true, RoughUse: new(0.8)}, rating.Fits, -1, false, src + ", 4"},
		{"rough, too weak by the setting", keep, rating.Need{D: 130 * kN, U: 15 * t_, Rough: true, RoughUse: new(0.8)}, rating.CannotTell, -1, true, src + ", 4: 80 % of 150 kN is 120 kN"},
		{"setting without rough ground", keep, rating.Need{D: 130 * kN, U: 15 * t_, RoughUse: new(0.8)}, rating.Fits, -1, false, src + ", 4"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			parts := connection()
			tt.change(parts)
			s, err := rating.CheckParts(parts, tt.need)
			if err != nil {
				t.Fatal(err)
			}
			if s.Answer != tt.want || s.Short != tt.short || (s.Warn != "") != tt.warns {
				t.Errorf("%+v; want %s, short %d, warning %v (%s)", s, tt.want, tt.short, tt.warns, tt.source)
			}
		})
	}
	s, err := rating.CheckParts(connection(), rating.Need{D: 119.4 * kN, U: 15 * t_})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "margin of D, kN", s.DMargin.Kilonewtons(), 30.6, 1e-9, "hand: 150 − 119.4")
	near(t, "margin of U, t", s.UMargin.Tonnes(), 5, 1e-9, "hand: 20 − 15")
	nan := math.NaN()
	for _, need := range []rating.Need{{D: unit.Force(nan)}, {U: unit.Mass(nan)}, {D: -1}, {RoughUse: new(nan)}, {RoughUse: new(80.0)}, {RoughUse: new(0.0)}} {
		_, err := rating.CheckParts(connection(), need)
		wantDomain(t, fmt.Sprintf("%+v", need), err)
	}
}

// Whatever else holds, a connection with an open part never fits.
func TestOpenPartNeverCertifies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := connection()
		i := rapid.IntRange(0, len(parts)-1).Draw(t, "part")
		switch rapid.IntRange(0, 2).Draw(t, "lack") {
		case 0:
			parts[i].D = nil
		case 1:
			parts[i].Evidence = rapid.SampledFrom([]rating.Evidence{rating.Memory, rating.Practice, "", "sworn"}).Draw(t, "evidence")
		case 2:
			parts = append(parts[:i:i], parts[i+1:]...)
		}
		s, err := rating.CheckParts(parts, rating.Need{
			D: unit.Force(rapid.Float64Range(0, 200e3).Draw(t, "D")), U: unit.Mass(rapid.Float64Range(0, 25e3).Draw(t, "U")),
		})
		if err != nil {
			t.Fatal(err)
		}
		if s.Answer == rating.Fits || s.Certifies {
			t.Errorf("%+v", s)
		}
	})
}

func TestFindMarks(t *testing.T) {
	const src = "UN Regulation No. 55, Annex 4, table of markings"
	for kind, want := range map[rating.Kind]rating.Marks{
		rating.FifthWheel: {D: true, U: true}, rating.MountingPlate: {D: true, U: true}, rating.Kingpin: {D: true},
	} {
		got, err := rating.FindMarks(kind)
		if err != nil || got != want {
			t.Errorf("%s: %+v, %v; want %+v (%s)", kind, got, err, want, src)
		}
	}
	_, err := rating.FindMarks(rating.SteeringWedge)
	wantNoAnswer(t, "wedge", err)
}

func ExampleCheckParts() {
	s, err := rating.CheckParts([]rating.Part{
		{Kind: rating.FifthWheel, D: new(152 * unit.Kilonewton), U: new(20 * unit.Tonne), Evidence: rating.Read},
		{Kind: rating.MountingPlate, D: new(150 * unit.Kilonewton), U: new(20 * unit.Tonne), Evidence: rating.Read},
		{Kind: rating.Kingpin}, // nobody has read its plate
	}, rating.Need{D: 119.4 * unit.Kilonewton, U: 15 * unit.Tonne})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %s\n", s.Answer, s.Open)
	// Output: cannot-tell: D of the kingpin is not known
}
