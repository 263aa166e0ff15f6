package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"underpin/record"
)

// A person makes a token on a page, sees it once, a program uses it, and the person
// takes it back.
func TestTokenPage(t *testing.T) {
	y := newYard(t)
	y.person("Dan Dorn", "dan", record.Driver)
	y.person("Eve Ernst", "eve", record.Auditor)
	dan := y.signIn("dan")
	page := dan.get("/account/tokens/new")
	if page.status != http.StatusOK || !strings.Contains(page.body, `name="scope-report"`) || strings.Contains(page.body, `name="scope-design"`) || strings.Contains(page.body, `name="scope-people"`) {
		t.Fatalf("what a driver's token may do: %d %s", page.status, page.text())
	}
	form := page.form()
	if a := dan.post("/account/tokens/new", form); a.status != http.StatusUnprocessableEntity {
		t.Errorf("without a name: %d %s", a.status, a.text())
	}
	form.Set("title", "telematics")
	form.Set("scope-report", "yes")
	form.Set("scope-design", "yes") // which the form does not ask
	a := dan.post("/account/tokens/new", form)
	secret := regexp.MustCompile(`underpin_[\w-]+`).FindString(a.body)
	if a.status != http.StatusOK || secret == "" {
		t.Fatalf("%d %s", a.status, a.text())
	}
	if b := dan.get("/account"); strings.Contains(b.body, secret) || !strings.Contains(b.text(), "telematics") || !strings.Contains(b.text(), "read, report") || strings.Contains(b.text(), "design") {
		t.Errorf("the account: %s", b.text())
	}
	p := y.program(secret)
	if me := p.ask("me", call{}, 200); text(me, "name") != "Dan Dorn, by the token telematics" {
		t.Errorf("me: %v", me)
	}
	id := regexp.MustCompile(`name="token" value="([^"]+)"`).FindStringSubmatch(dan.get("/account").body)
	if id == nil {
		t.Fatal("no way to take it back")
	}
	if a := dan.post("/account/tokens", url.Values{"token": {id[1]}}); a.status != http.StatusSeeOther {
		t.Errorf("taking it back: %d %s", a.status, a.text())
	}
	p.ask("me", call{}, 401)
	if b := dan.get("/account?done=revoked"); !strings.Contains(b.text(), "The token is taken back.") || strings.Contains(b.body, `name="token"`) {
		t.Errorf("after that: %s", b.text())
	}
	eve := y.signIn("eve")
	if a := eve.get("/account/tokens/new"); a.status != http.StatusForbidden || strings.Contains(eve.get("/account").body, "/account/tokens/new") {
		t.Errorf("an auditor: %d", a.status)
	}
	bo := y.signIn("dan")
	if a := bo.post("/account/tokens", url.Values{"token": {"01900000-0000-7000-8000-000000000000"}}); a.status != http.StatusNotFound {
		t.Errorf("a token that is nobody's: %d", a.status)
	}
}
