package web_test

import (
	"net/http"
	"strings"
	"testing"

	"underpin/fleet"
	"underpin/record"
)

// Every page of a filled register comes, for somebody who may do everything.
func TestRegisterPages(t *testing.T) {
	y := newYard(t)
	y.demo()
	y.person("Ann Ahrens", "ann", record.Manager)
	ann := y.signIn("ann")
	for _, path := range []string{"/fleet", "/vehicles", "/vehicles?as=tractor", "/parts", "/types", "/depots", "/notices", "/records", "/accounts", "/account", "/find", "/find?q=heron",
		"/find?q=nothing-of-that-kind", "/pairing", "/matrix", "/vehicles/new?as=tractor", "/vehicles/new?as=semi-trailer", "/vehicles/new?as=dolly", "/parts/new", "/types/new", "/depots/new", "/notices/new", "/accounts/new",
		"/vehicles/" + y.number("heron-07").Name(), "/vehicles/" + y.number("heron-07").Name() + "/edit", "/vehicles/" + y.number("heron-07").Name() + "/fit",
		"/vehicles/" + y.number("marsh-23").Name() + "/couple"} {
		a := ann.get(path)
		if a.status != http.StatusOK && !(path == "/find?q=heron" && a.status == http.StatusSeeOther) {
			t.Errorf("%s: %d %.200s", path, a.status, a.text())
		}
		if strings.Contains(a.body, "%!") || strings.Contains(a.body, "ZgotmplZ") {
			t.Errorf("%s: a value was not printed: %.300s", path, a.body)
		}
	}
}

// A vehicle whose addition was taken back is still called what it was called, and is
// not said to be wrong.
func TestTakenBackVehicle(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	added := y.must(&fleet.AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": fleet.Text("reed-01")}}})
	y.must(&fleet.Undo{Meta: fleet.Meta{Reason: "there is no such lorry"}, Record: added.Record})
	a := y.signIn("ann").get("/vehicles/" + added.Asset.Name())
	if a.status != http.StatusOK || !strings.Contains(a.text(), "reed-01. ○ Not in the register") || strings.Contains(a.text(), "cannot be") {
		t.Errorf("%d %.500s", a.status, a.text())
	}
}
