package assess

import (
	"testing"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// The coupling stands 600 mm ahead of the drive axle. The maker's range is a limit
// of its own; with several rear axles its datum is from memory, and it warns.
func TestLeadOnTheCertificate(t *testing.T) {
	m := func(v float64) *unit.Length { return of(unit.Length(v)) }
	for _, tt := range []struct {
		name     string
		min, max *unit.Length
		tandem   bool
		answers  map[string]rule.Answer
		binding  bool
	}{
		{"within", m(0.45), m(0.75), false, map[string]rule.Answer{"certificate.lead-min": rule.Fits, "certificate.lead-max": rule.Fits}, true},
		{"at its ends", m(0.6), m(0.6), false, map[string]rule.Answer{"certificate.lead-min": rule.Fits, "certificate.lead-max": rule.Fits}, true},
		{"too far back", m(0.65), m(0.75), false, map[string]rule.Answer{"certificate.lead-min": rule.DoesNotFit, "certificate.lead-max": rule.Fits}, true},
		{"too far ahead", m(0.3), m(0.55), false, map[string]rule.Answer{"certificate.lead-min": rule.Fits, "certificate.lead-max": rule.DoesNotFit}, true},
		{"one end printed", nil, m(0.55), false, map[string]rule.Answer{"certificate.lead-max": rule.DoesNotFit}, true},
		{"a tandem, whose centre is 660 mm further back", m(0.3), m(0.55), true, map[string]rule.Answer{"certificate.lead-min": rule.Fits, "certificate.lead-max": rule.DoesNotFit}, false},
		{"none", nil, nil, false, map[string]rule.Answer{}, true},
	} {
		c := ownVehicles()
		c.Tractor.Certificate = &vehicle.TractorCertificate{LeadMin: tt.min, LeadMax: tt.max}
		if tt.tandem {
			c.Tractor.Axles = append(c.Tractor.Axles, vehicle.Axle{Gap: m(1.32), Kind: "drive"})
		}
		got := map[string]rule.Answer{}
		for _, f := range Compile(c).Assess(AimMargin).Findings {
			if f.ID == "certificate.lead-min" || f.ID == "certificate.lead-max" {
				got[f.ID] = f.Answer
				if f.Binding != tt.binding {
					t.Errorf("%s: %s binding %v, want %v", tt.name, f.ID, f.Binding, tt.binding)
				}
			}
		}
		if len(got) != len(tt.answers) {
			t.Errorf("%s: findings %v, want %v", tt.name, got, tt.answers)
		}
		for id, want := range tt.answers {
			if got[id] != want {
				t.Errorf("%s: %s %s, want %s", tt.name, id, got[id], want)
			}
		}
	}
}
