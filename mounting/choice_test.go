package mounting_test

import (
	"slices"
	"strings"
	"testing"

	"underpin/mounting"
	"underpin/rule"
)

func property(t *testing.T, ps []mounting.Property, id string) *mounting.Property {
	t.Helper()
	for i := range ps {
		if ps[i].ID == id {
			return &ps[i]
		}
	}
	return nil
}

// Each question moves its own property and no other.
func TestChoice(t *testing.T) {
	tests := []struct {
		name   string
		change func(*stores, *mounting.Task)
		id     string
		value  string // "" : the property is not there
		open   bool
	}{
		// D by hand: 9.81·0.6·18·36/(18 + 36 − 12) = 90.81 kN, rounded up.
		{"D", func(*stores, *mounting.Task) {}, "d", "at least 90.9 kN", false},
		{"D without a plate", func(_ *stores, k *mounting.Task) { k.Tractor.GrossPlate = nil }, "d", "not known", true},
		// 90.81/0.8 = 113.52, and 12 000/0.8.
		{"D on rough ground", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground, k.Brief.RoughUse = "rough", new(0.8) }, "d", "at least 113.6 kN", false},
		{"U on rough ground", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground, k.Brief.RoughUse = "mixed", new(0.8) }, "u", "at least 15 000 kg", false},
		{"U", func(*stores, *mounting.Task) {}, "u", "at least 12 000 kg", false},
		{"pin", func(*stores, *mounting.Task) {}, "pin", "50 mm", false},
		{"pin of both sizes", func(_ *stores, k *mounting.Task) { k.Brief.Trailers = append(k.Brief.Trailers, "sluice-46") }, "pin", "none serves all", false},
		{"pin unknown", func(s *stores, k *mounting.Task) {
			for _, id := range k.Brief.Trailers {
				v, _ := s.fleet.Trailer(id)
				v.Kingpin.Size = nil
			}
		}, "pin", "not known", true},
		{"no wedge", func(*stores, *mounting.Task) {}, "wedge", "not needed", false},
		{"a wedge later", func(_ *stores, k *mounting.Task) { k.Brief.Work.Steered = new(true) }, "wedge", "approved for a steering wedge", false},
		{"a wedge now", func(s *stores, _ *mounting.Task) {
			v, _ := s.fleet.Trailer("quay-37")
			v.Wedge = new(true)
		}, "wedge", "approved for a steering wedge", false},
		{"a wedge that nobody looked for", func(s *stores, k *mounting.Task) {
			k.Brief.Work.Steered = nil
			v, _ := s.fleet.Trailer("quay-37")
			v.Wedge = nil
		}, "wedge", "not known", true},
		{"rough and unset", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground = "rough" }, "rough-use", "not set", true},
		{"rough and set", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground, k.Brief.RoughUse = "rough", new(0.8) }, "rough-use", "80 % (your setting)", false},
		{"paved", func(*stores, *mounting.Task) {}, "rough-use", "", false},
		{"ground not said", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground = "" }, "rough-use", "not set", true},
		{"little twist", func(*stores, *mounting.Task) {}, "tilting", "pitching only", false},
		{"twist not said", func(_ *stores, k *mounting.Task) { k.Brief.Work.Twist = "" }, "tilting", "pitching only", true},
		{"much twist, soft trailers", func(_ *stores, k *mounting.Task) { k.Brief.Work.Twist = "much" }, "tilting", "pitching only", false},
		{"much twist, stiff trailers", func(s *stores, k *mounting.Task) { stiff(s, k); k.Brief.Work.Twist = "much" }, "tilting", "pitching and rolling", false},
		{"roll is locked then", func(s *stores, k *mounting.Task) { stiff(s, k); k.Brief.Work.Twist = "much" }, "roll-lock", "lockable, and locked for the road", false},
		{"and not without", func(*stores, *mounting.Task) {}, "roll-lock", "", false},
		{"bare bearings", func(*stores, *mounting.Task) {}, "cushioned", "not needed", false},
		{"cushions", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground = "mixed" }, "cushioned", "cushioned", false},
		{"cushions and low", func(_ *stores, k *mounting.Task) { k.Brief.Work.Ground, k.Brief.Work.Low = "rough", new(true) }, "cushioned", "cushioned, if the height allows", false},
		{"no jerks", func(*stores, *mounting.Task) {}, "fore-and-aft", "not needed", false},
		{"jerks", func(_ *stores, k *mounting.Task) { k.Brief.Work.Jerks = new(true) }, "fore-and-aft", "yielding", false},
		{"jerks not said", func(_ *stores, k *mounting.Task) { k.Brief.Work.Jerks = nil }, "fore-and-aft", "not known", true},
		{"one height", func(*stores, *mounting.Task) {}, "height", "driving level 1 150 mm unladen", false},
		{"no height", func(_ *stores, k *mounting.Task) { k.Brief.Heights = nil }, "height", "not known", true},
		{"fixed", func(*stores, *mounting.Task) {}, "moved", "fixed", false},
		{"slider", func(_ *stores, k *mounting.Task) { k.Brief.Work.Moved = new(true) }, "moved", "on a slider", false},
		{"moving not said", func(_ *stores, k *mounting.Task) { k.Brief.Work.Moved = nil }, "moved", "not known", true},
	}
	same, err := chosen(t, func(*stores, *mounting.Task) {})
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range tests {
		got, err := chosen(t, test.change)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		p := property(t, got, test.id)
		switch {
		case test.value == "" && p != nil:
			t.Errorf("%s: %s; expected nothing", test.name, p.Value)
		case test.value != "" && (p == nil || plain(p.Value) != test.value || (p.Open != "") != test.open):
			t.Errorf("%s: %+v; expected %q, open %v", test.name, p, test.value, test.open)
		}
		for i := range got {
			q := &got[i]
			if !strings.HasSuffix(q.Reason, ".") || q.Source == "" || !slices.Contains([]rule.Evidence{rule.Read, rule.Derived, rule.Practice, rule.Memory}, q.Evidence) {
				t.Errorf("%s: %s has reason %q, source %q, evidence %q", test.name, q.ID, q.Reason, q.Source, q.Evidence)
			}
			// What did not depend on the change says what it said.
			if was := property(t, same, q.ID); was != nil && independent(test.id, q.ID) && was.Value != q.Value {
				t.Errorf("%s moved %s too: from %q to %q", test.name, q.ID, was.Value, q.Value)
			}
		}
	}
}

func plain(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

func chosen(t *testing.T, change func(*stores, *mounting.Task)) ([]mounting.Property, error) {
	s := demo(t)
	task := s.task(t, "heron-road")
	change(s, &task)
	return task.Choose()
}

func stiff(s *stores, k *mounting.Task) {
	for _, id := range slices.Concat(k.Brief.Trailers, k.Brief.Wished) {
		v, _ := s.fleet.Trailer(id)
		v.TorsionStiff = new(true)
	}
}

// independent tells which properties one question may not move: those that ask
// about other things. The ground and the trailers ask about several.
func independent(changed, other string) bool {
	alone := []string{"fore-and-aft", "moved", "height", "tilting"}
	return changed != other && slices.Contains(alone, changed) && slices.Contains([]string{"d", "u", "pin", "wedge", "cushioned", "fore-and-aft", "moved"}, other)
}

// Properties of practice and memory exclude nothing: they put a stack behind
// those that have them.
func TestWantedPropertiesOnlyRank(t *testing.T) {
	s := demo(t)
	task := s.task(t, "heron-road")
	bare, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	task.Brief.Work.Jerks = new(true)
	soft, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	if bare.Count != soft.Count {
		t.Errorf("%d stacks, and %d when jerks are told of", bare.Count, soft.Count)
	}
	if w := soft.Proposals[0].Wheel(); w.ID != "wheel-185-soft" || len(soft.Proposals[0].Against) != 0 {
		t.Errorf("first is %s, against %v", soft.Proposals[0].Stack, soft.Proposals[0].Against)
	}
	if got := soft.Proposals[1].Against; len(got) != 1 || !strings.Contains(got[0], "yield") {
		t.Errorf("second: against %v", got)
	}
	// What is marked excludes: a fifth wheel not approved for a wedge.
	task = demo(t).task(t, "heron-road")
	task.Brief.Work.Steered = new(true)
	steered, err := task.Search(0)
	if err != nil {
		t.Fatal(err)
	}
	for i := range steered.Proposals {
		if p := &steered.Proposals[i]; p.Answer == rule.Fits && p.Wheel().ID != "wheel-185" {
			t.Errorf("%s for a steering wedge", p.Stack)
		}
	}
	if len(steered.Proposals) == 0 {
		t.Error("nothing for a steering wedge")
	}
}
