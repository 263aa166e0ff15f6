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
	_ = fleet.Read
}
