package web_test

import (
	"bytes"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"underpin/examples"
	"underpin/fleet"
	"underpin/need"
	"underpin/record"
)

// upload sends a form with a file.
func (v *visitor) upload(path, name string, data []byte, form url.Values) answer {
	v.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for key, all := range form {
		for _, value := range all {
			if err := w.WriteField(key, value); err != nil {
				v.Fatal(err)
			}
		}
	}
	part, err := w.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(data)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		v.Fatal(err)
	}
	r, err := http.NewRequest(http.MethodPost, v.url+path, &b)
	if err != nil {
		v.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return v.do(r)
}

const onRegister = "brief=heron-road&fitting=heron-plate&law=eu"

// keep keeps a sheet through its form and returns the address of its page.
func (v *visitor) keep(query string, change func(url.Values)) answer {
	v.Helper()
	form := v.get("/mounting/keep?" + query).form()
	change(form)
	return v.post("/mounting/keep?"+query, form)
}

func (v *visitor) approved(number, revision string) string {
	v.Helper()
	a := v.keep(onRegister, func(f url.Values) { f.Set("number", number); f.Set("revision", revision); f.Set("decision", "approve") })
	to, _, _ := strings.Cut(a.head.Get("Location"), "?")
	if a.status != http.StatusSeeOther || !strings.Contains(to, "/sheets/") {
		v.Fatalf("not kept: %d %s", a.status, a.text())
	}
	return to
}

// built is a form of a fitting, everything measured.
func built(f url.Values) {
	for key, value := range map[string]string{
		"at": "3103 mm", "gap": "8 mm", "odometer": "123456 km",
		"level-0.unladen": "1158 mm", "level-0.laden": "1139 mm", "level-0.raised": "1216 mm",
		"plate-0.d": "152 kN", "plate-0.imposed": "20 t", "plate-1.d": "152 kN", "plate-1.imposed": "20 t",
		"torque-0.torque": "260 N.m", "torque-0.wrench": "W 14", "torque-1.torque": "260 N.m", "torque-1.wrench": "W 14", "torque-2.torque": "260 N.m", "torque-2.wrench": "W 14",
	} {
		f.Set(key, value)
	}
}

func (y *yard) stores() {
	y.Helper()
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		y.Fatal(err)
	}
	y.must(&fleet.KeepCatalogue{Name: "parts.toml", Data: data})
}

func says(t *testing.T, a answer, status int, all ...string) {
	t.Helper()
	text := strings.ReplaceAll(unescape(a.text()), "\u00a0", " ")
	if a.status != status {
		t.Errorf("status %d, expected %d: %.1500s", a.status, status, text)
	}
	for _, s := range all {
		if !strings.Contains(text, s) {
			t.Errorf("the page lacks %q: %.1500s", s, text)
		}
	}
}

// The whole way on a register, without script: a catalogue comes in, a mounting is
// specified and approved by who is signed in, it is fitted, pairings take what was
// measured, and the bolts are due until they were tightened.
func TestMountingOnTheRegister(t *testing.T) {
	y := newYard(t)
	y.demo()
	y.person("Ann Engineer", "ann", record.Engineer)
	y.person("Tom Fitter", "tom", record.Technician)
	ann, tom := y.signIn("ann"), y.signIn("tom")

	says(t, ann.get("/mounting"), http.StatusOK, "There is no catalogue of parts yet.", "Bring in a parts file")
	if a := tom.get("/mounting"); strings.Contains(a.text(), "Bring in a parts file") || tom.get("/mounting/catalogue/new").status != http.StatusForbidden {
		t.Error("a technician may bring in a catalogue")
	}
	form := ann.get("/mounting/catalogue/new").form()
	says(t, ann.upload("/mounting/catalogue/new", "parts.toml", []byte("[[part]]\nid = \"x\"\nknd = \"slider\"\n"), form), http.StatusUnprocessableEntity, "parts.toml:3:1", "kind")
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	if a := ann.upload("/mounting/catalogue/new", "parts.toml", data, form); a.status != http.StatusSeeOther || a.head.Get("Location") != "/mounting/catalogue?done=entered" {
		t.Fatalf("the catalogue: %d %s %s", a.status, a.head.Get("Location"), a.text())
	}
	says(t, tom.get("/mounting/catalogue"), http.StatusOK, "brought in by Ann Engineer", "Fifth wheel, 185 mm", "Invented drawing 21, issue B", "Ordinary road work", "Two axles, 3 700 mm, attachment angles")
	says(t, tom.get("/mounting?brief=heron-road"), http.StatusOK, "answer the brief.")

	// Only who may, and only what holds.
	sheet := "/mounting/specification?" + onRegister
	if a := tom.get(sheet); strings.Contains(a.text(), "Keep or approve") || tom.get("/mounting/keep?"+onRegister).status != http.StatusForbidden {
		t.Error("a technician may approve")
	}
	says(t, ann.get(sheet), http.StatusOK, "Keep or approve this sheet", "What can be added to it")
	if a := ann.get(sheet + "&by=Somebody"); !strings.Contains(a.text(), "DRAFT") || strings.Contains(a.text(), "Approved for fitting.") {
		t.Error("a name in the address approves on a register")
	}
	open := "brief=heron-road&base=angles&part=plate-40&part=wheel-150&at=3138&law=eu"
	a := ann.get("/mounting/keep?" + open)
	says(t, a, http.StatusOK, "It cannot be approved:")
	if strings.Contains(a.body, `value="approve"`) {
		t.Error("an open sheet is offered for approval")
	}
	says(t, ann.keep(open, func(f url.Values) { f.Set("number", "M-6"); f.Set("decision", "approve") }), http.StatusUnprocessableEntity)
	if a := ann.keep(open, func(f url.Values) { f.Set("number", "M-6"); f.Set("decision", "draft") }); a.status != http.StatusSeeOther {
		t.Errorf("a draft is not kept: %d %s", a.status, a.text())
	} else {
		to, _, _ := strings.Cut(a.head.Get("Location"), "?")
		says(t, ann.get(to), http.StatusOK, "Draft, it cannot be told.", "not to be worked from")
		says(t, tom.get(to+"/built"), http.StatusConflict, "This sheet is a draft.")
		if text := paperText(t, ann.get(to+"/specification.pdf")); strings.Count(text, "DRAFT") < strings.Count(text, "\f") {
			t.Error("not every page of the draft is marked")
		}
	}
	kept := ann.approved("M-7", "A")
	says(t, tom.get(kept), http.StatusOK, "Approved for fitting.", "Approved by Ann Engineer", "Enter it as built", "260 N·m", "3 100 ± 5 mm")
	says(t, ann.keep(onRegister, func(f url.Values) { f.Set("number", "M-7"); f.Set("revision", "A"); f.Set("decision", "draft") }), http.StatusUnprocessableEntity, "another revision")
	paper := paperText(t, tom.get(kept+"/specification.pdf"))
	if !strings.Contains(paper, "Ann Engineer") || strings.Contains(paper, "DRAFT") {
		t.Errorf("the paper: %.600s", paper)
	}
	if a := tom.get(kept + "/specification.json"); a.status != http.StatusOK || !strings.Contains(a.body, `"state": "approved for fitting"`) {
		t.Errorf("the data: %d %.200s", a.status, a.body)
	}

	// As built: wrong input keeps what was typed; then the measured values count.
	form = tom.get(kept + "/built").form()
	built(form)
	form.Set("at", "far back")
	says(t, tom.post(kept+"/built", form), http.StatusUnprocessableEntity, "Not saved.")
	form.Set("at", "3103 mm")
	if a := tom.post(kept+"/built", form); a.status != http.StatusSeeOther {
		t.Fatalf("not entered: %d %s", a.status, a.text())
	}
	says(t, tom.get(kept), http.StatusOK, "As specified.", "3 103 mm", "+3 mm", "± 5 mm", "at 125 456 km on the odometer or on ", "Invented document 7, issue 3, page 12")
	now, err := y.Fleet(y.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if tr, _ := now.Tractor("heron-07"); tr.FifthWheel.At == nil || *tr.FifthWheel.At != 3.103 {
		t.Errorf("the fleet has %v", tr.FifthWheel.At)
	}
	says(t, tom.get("/pairing?tractor=heron-07&trailer=marsh-23&law=eu&load=laden"), http.StatusOK, "597 mm")
	vehicle := "/vehicles/" + y.number("heron-07").Name()
	says(t, tom.get(vehicle), http.StatusOK, "M-7, revision A", "M-6", "The bolts are to be tightened again at 125 456 km", "Enter it as done")
	says(t, tom.get("/fleet"), http.StatusOK, "Bolts to be tightened again", "Heron 07")
	body := tom.get(vehicle).body
	_, tighten, _ := strings.Cut(body, `href="`+vehicle+`/built/`)
	tighten, _, _ = strings.Cut(tighten, `"`)
	tighten = vehicle + "/built/" + tighten
	form = tom.get(tighten).form()
	form.Set("metres", "125000 km")
	says(t, tom.post(tighten, form), http.StatusUnprocessableEntity, "Not saved.")
	for _, k := range []string{"torque-0", "torque-1", "torque-2"} {
		form.Set(k+".torque", "260 N.m")
		form.Set(k+".wrench", "W 9")
	}
	if a := tom.post(tighten, form); a.status != http.StatusSeeOther {
		t.Fatalf("not entered: %d %s", a.status, a.text())
	}
	if a := tom.get(vehicle); strings.Contains(a.text(), "to be tightened again") || !strings.Contains(a.text(), "Tightened the bolts of the mounting again") {
		t.Error("still due after it was done, or not in the history")
	}
	says(t, tom.get(kept), http.StatusOK, "The bolts were tightened again by Tom Fitter")
	if a := tom.get("/fleet"); strings.Contains(a.text(), "Bolts to be tightened again") {
		t.Error("the first page asks for what was done")
	}
	says(t, tom.get("/mounting/retrofit?"+onRegister), http.StatusOK, "Automatic greasing", "What is looked at again", "Slider")
}

func paperText(t *testing.T, a answer) string {
	t.Helper()
	if a.status != http.StatusOK || !strings.HasPrefix(a.body, "%PDF-") {
		t.Fatalf("no paper: %d %.100s", a.status, a.body)
	}
	c := exec.Command(need.PDFText(t), "-layout", "-", "-")
	c.Stdin = strings.NewReader(a.body)
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// The pages of a mounting on a register, in every state, are free of violations
// that axe finds, on a desk and on a phone; written as pictures where
// UNDERPIN_SCREENS names a folder.
func TestMountingOnTheRegisterInABrowser(t *testing.T) {
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	y, empty := newYard(t), newYard(t)
	y.demo()
	y.stores()
	for _, one := range []*yard{y, empty} {
		one.person("Ann-Kathrin Mustermann-Schwertfeger", "ann", record.Engineer)
	}
	ann := y.signIn("ann")
	kept := ann.approved("M-7", "A")
	form := ann.get(kept + "/built").form()
	built(form)
	form.Set("level-0.unladen", "1163 mm") // off by more than is allowed
	form.Del("torque-1.wrench")
	says(t, ann.post(kept+"/built", form), http.StatusOK, "Entered. Look at this again.")
	a := ann.keep("brief=heron-road&base=angles&part=plate-40&part=wheel-150&at=3138&law=eu", func(f url.Values) { f.Set("number", "M-7"); f.Set("revision", "B"); f.Set("decision", "draft") })
	draft, _, _ := strings.Cut(a.head.Get("Location"), "?")
	heron := "/vehicles/" + y.number("heron-07").Name()
	_, tighten, _ := strings.Cut(ann.get(heron).body, `href="`+heron+`/built/`)
	tighten, _, _ = strings.Cut(tighten, `"`)
	shots := os.Getenv("UNDERPIN_SCREENS")
	for _, size := range []struct{ w, h int }{{1280, 1000}, {390, 844}} {
		for of, all := range map[*yard][]string{
			empty: {"/mounting", "/mounting/catalogue/new"},
			y:     {"/mounting/catalogue", "/mounting/specification?" + onRegister, "/mounting/keep?" + onRegister, kept, kept + "/built", draft, heron, heron + "/built/" + tighten},
		} {
			ctx := browser(t, size.w, size.h)
			enter(t, ctx, of.url, "ann")
			for i, path := range all {
				if shots == "" {
					accessible(t, ctx, of.url, path, size.w, string(axe))
					continue
				}
				do(t, ctx, chromedp.Navigate(of.url+path))
				shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err == nil {
					err = os.WriteFile(fmt.Sprintf("%s/kept-%d%02d-%d.png", shots, len(all), i, size.w), shot, 0o644)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// Printed from a browser, each page of a draft says that it is one, and no page of
// an approved sheet does.
func TestDraftIsMarkedOnEveryPrintedPage(t *testing.T) {
	url := server(t)
	ctx := browser(t, 1280, 1000)
	tool := need.PDFText(t)
	for query, draft := range map[string]bool{"": true, "&by=B.+Carr&on=2026-11-25": false} {
		do(t, ctx, chromedp.Navigate(url+"/mounting/specification?brief=heron-road&fitting=heron-plate&date=2026-11-25"+query))
		printed, err := chromedp.Run(ctx, chromedp.Action[[]byte](func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
			r, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true)})
			return r.Data, err
		}))
		if err != nil {
			t.Fatal(err)
		}
		c := exec.Command(tool, "-layout", "-", "-")
		c.Stdin = bytes.NewReader(printed)
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
		if len(pages) < 5 {
			t.Fatalf("%d pages", len(pages))
		}
		for i, text := range pages {
			if strings.Contains(text, "DRAFT, not approved for fitting") != draft || !strings.Contains(text, fmt.Sprintf("page %d of %d", i+1, len(pages))) {
				t.Errorf("draft %t: page %d says %.200s", draft, i+1, text)
			}
		}
	}
}
