package web_test

import (
	"io"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"underpin/fleet"
	"underpin/record"
	yardcard "underpin/yard"
)

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	res, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(b)
}

// The card of a label is read without an account, tells nothing of a vehicle whose
// label was not shown, says at once that a vehicle is out of use, and with its
// stylesheet is within 120 kB.
func TestCardOfALabel(t *testing.T) {
	y := newYard(t)
	y.demo()
	heron, marsh := y.number("heron-07"), y.number("marsh-23")
	at := y.url + "/vehicles/" + heron.Name() + "/card"
	code, page := get(t, at+"?lang=de")
	if code != 200 || !strings.Contains(page, "Vor dem Rückwärtsfahren") || !strings.Contains(page, "heron-07") {
		t.Fatalf("status %d: %.400s", code, page)
	}
	if strings.Contains(page, "marsh-23") {
		t.Error("the card tells of a vehicle whose label was not shown")
	}
	if code, page := get(t, at+"?with=marsh-23"); code != 404 || strings.Contains(page, marsh.Name()) {
		t.Errorf("nobody could name another vehicle by its number: status %d", code)
	}
	css, err := os.ReadFile("static/yard.css")
	if err != nil {
		t.Fatal(err)
	}
	if n := len(page) + len(css); n > 120_000 {
		t.Errorf("the first card is %d bytes", n)
	}
	if code, page := get(t, at+"?with="+marsh.Name()); code != 200 || !strings.Contains(page, "marsh-23") {
		t.Errorf("both labels: status %d %.300s", code, page)
	}
	y.must(&fleet.ReportDefect{Defect: yardcard.Defect{ID: record.NewID(time.Now(), [10]byte{1}), Asset: heron, Words: "<script>alert(1)</script>", DoNotUse: true, Name: "Ida", Phone: "p", At: record.At(time.Now())}})
	_, page = get(t, at)
	if !strings.Contains(page, "✕") || strings.Contains(page, "<script>alert") {
		t.Errorf("out of use: %.900s", page)
	}
	if code, _ := get(t, y.url+"/vehicles/nothing/card"); code != 404 {
		t.Errorf("a label that is none: status %d", code)
	}
}

// A card on a phone holds against axe and has large targets, and a driver enters a
// check without a script.
func TestCardOnAPhone(t *testing.T) {
	y := newYard(t)
	y.demo()
	y.person("Ida", "ida", record.Driver)
	heron, marsh := y.number("heron-07"), y.number("marsh-23")
	source, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	axe := string(source)
	ctx := browser(t, 390, 844)
	enter(t, ctx, y.url, "ida")
	do(t, ctx, chromedp.Navigate(y.url+"/vehicles/"+heron.Name()+"/card?with="+marsh.Name()+"&flow=couple"))
	if small := eval[int](t, ctx, `[...document.querySelectorAll('nav a, button, fieldset label, .sign, summary')].filter(e => e.getBoundingClientRect().height < 48).length`); small != 0 {
		t.Errorf("%d targets are lower than 48 px", small)
	}
	if wide := eval[bool](t, ctx, `document.documentElement.scrollWidth > innerWidth`); wide {
		t.Error("the page is wider than the phone")
	}
	accessibleHere(t, ctx, "card", 390, axe)
	if dir := os.Getenv("UNDERPIN_SCREENS"); dir != "" {
		shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(dir+"/yard-card.png", shot, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	do(t, ctx, chromedp.Click(".sign input"), chromedp.Click("form[method=post] button"), chromedp.WaitVisible(".out"))
	p, err := y.VehiclePage(y.ctx, marsh)
	if err != nil {
		t.Fatal(err)
	}
	if c := p.Vehicle.Yard.Checks; len(c) != 1 || c[0].Says == string(yardcard.MayDrive) || len(c[0].Skipped) == 0 || c[0].Signed != "Ida" {
		t.Errorf("an empty check is entered as %+v", c)
	}
	do(t, ctx, chromedp.Navigate(y.url+"/yard/labels"))
	if n := eval[int](t, ctx, `document.querySelectorAll('.labels svg path').length`); n < 2 {
		t.Errorf("%d labels", n)
	}
	accessibleHere(t, ctx, "labels", 390, axe)
}
