package web_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"underpin/fleet"
	"underpin/record"
)

const hereText = `document.querySelector('main').innerText.replace(/\s+/g, ' ')`

// reads waits until the page says something.
func reads(t *testing.T, ctx context.Context, words string) {
	t.Helper()
	until(t, ctx, `document.readyState === 'complete' && `+hereText+`.includes(`+quoted(words)+`)`)
}

func quoted(s string) string { return "`" + strings.ReplaceAll(s, "`", "\\`") + "`" }

func valueOf(t *testing.T, ctx context.Context, name string) string {
	t.Helper()
	return eval[string](t, ctx, `document.querySelector('[name="`+name+`"]').value`)
}

// typeInto replaces what stands in a field, by the keyboard.
func typeInto(t *testing.T, ctx context.Context, name, text string) {
	t.Helper()
	sel := `[name="` + name + `"]`
	eval[bool](t, ctx, `(() => { const f = document.querySelector('[name="`+name+`"]'); f.focus(); f.select(); return true })()`)
	do(t, ctx, chromedp.SendKeys(sel, text))
}

// A vehicle is added with little known, and edited. What cannot be is told beside its
// field, with everything that was typed still there.
func TestBrowserAddsAndEdits(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	ctx := browser(t, 1280, 1000)
	enter(t, ctx, y.url, "ann")
	do(t, ctx, chromedp.Navigate(y.url+"/vehicles/new?as=tractor"))
	help := eval[string](t, ctx, `document.getElementById(document.querySelector('[name="width"]').getAttribute('aria-describedby').split(' ')[0]).innerText`)
	if !strings.Contains(help, "widest") {
		t.Errorf("beside the width stands %q, not how the tape is held", help)
	}
	typeInto(t, ctx, "id", "reed-01")
	typeInto(t, ctx, "name", "Reed")
	typeInto(t, ctx, "width", "2500 kg")
	do(t, ctx, chromedp.Click("button.main"))
	reads(t, ctx, "Not saved. One place needs another look; everything you typed is still here.")
	if valueOf(t, ctx, "id") != "reed-01" || valueOf(t, ctx, "name") != "Reed" || valueOf(t, ctx, "width") != "2500 kg" {
		t.Error("something that was typed is gone")
	}
	if wrong := eval[string](t, ctx, `document.querySelector('[name="width"]').closest('.ask-row').innerText`); !strings.Contains(wrong, "unit of mass") {
		t.Errorf("beside the field stands %q", wrong)
	}
	if bad := eval[string](t, ctx, `document.querySelector('[name="width"]').getAttribute('aria-invalid')`); bad != "true" {
		t.Error("the field is not marked as wrong for who does not see it")
	}
	typeInto(t, ctx, "width", "8ft 2in")
	do(t, ctx, chromedp.Click("button.main"))
	reads(t, ctx, "Entered.")
	reads(t, ctx, "are unknown")
	p, err := y.VehiclePage(y.ctx, y.number("reed-01"))
	if err != nil || string(p.Vehicle.Fields["width"]) != `"8ft 2in"` || string(p.Vehicle.Fields["name"]) != `"Reed"` || p.Vehicle.Fields["gross-plate"] != nil {
		t.Fatalf("what stands in the register: %v %v", p.Vehicle.Fields, err)
	}
	do(t, ctx, chromedp.Navigate(y.url+"/vehicles/"+y.number("reed-01").Name()+"/edit"))
	typeInto(t, ctx, "registration", "OS RD 1")
	do(t, ctx, chromedp.Click("button.main"))
	reads(t, ctx, "Entered.")
	reads(t, ctx, "OS RD 1")
	if h, err := y.History(y.ctx, y.number("reed-01"), 0, 10); err != nil || len(h.Events) != 2 || h.Events[0].Kind != "vehicle-changed" || h.Events[0].Who.Name != "Ann Ahrens" {
		t.Errorf("the history: %v %v", h, err)
	}
	// Undone from the history, with the reason.
	do(t, ctx, chromedp.Click(`#history a[href$="/undo"]`), chromedp.WaitVisible(`[name=".reason"]`))
	typeInto(t, ctx, ".reason", "it was the other one")
	do(t, ctx, chromedp.Click("button.main"))
	reads(t, ctx, "Entered.")
	if p, err := y.VehiclePage(y.ctx, y.number("reed-01")); err != nil || p.Vehicle.Registration != "" {
		t.Errorf("after the undo: %q %v", p.Vehicle.Registration, err)
	}
}

// Two people edit one vehicle: the second is told, sees all three versions, and loses
// nothing of what was typed.
func TestBrowserConflict(t *testing.T) {
	y := newYard(t)
	y.demo()
	y.person("Ann Ahrens", "ann", record.Engineer)
	y.person("Bo Berg", "bo", record.Engineer)
	heron := y.number("heron-07")
	edit := y.url + "/vehicles/" + heron.Name() + "/edit"
	ann, bo := browser(t, 1280, 1000), browser(t, 390, 844)
	enter(t, ann, y.url, "ann")
	enter(t, bo, y.url, "bo")
	do(t, ann, chromedp.Navigate(edit))
	do(t, bo, chromedp.Navigate(edit))
	typeInto(t, ann, "registration", "OS AA 1")
	typeInto(t, ann, "note", "the left door sticks")
	typeInto(t, bo, "registration", "OS BB 1")
	typeInto(t, bo, "vin", "W0000000000000001")
	do(t, ann, chromedp.Click("button.main"))
	reads(t, ann, "Entered.")
	do(t, bo, chromedp.Click("button.main"))
	reads(t, bo, "Changed meanwhile. Ann Ahrens changed this on")
	reads(t, bo, "Nothing is lost and nothing is saved yet.")
	for _, words := range []string{"OS AA 1", "OS BB 1", "W0000000000000001", "the left door sticks"} {
		reads(t, bo, words)
	}
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	accessibleHere(t, bo, "the conflict", 390, string(axe))
	screen(t, bo, "conflict-390")
	do(t, bo, chromedp.Click(`[name=".take.registration"][value="yours"]`), chromedp.Click("button.main"))
	reads(t, bo, "Entered.")
	p, err := y.VehiclePage(y.ctx, heron)
	if err != nil {
		t.Fatal(err)
	}
	if v := p.Vehicle; v.Registration != "OS BB 1" || v.VIN != "W0000000000000001" || !strings.Contains(string(v.Fields["note"]), "the left door sticks") {
		t.Errorf("in the end: %q %q %s", v.Registration, v.VIN, v.Fields["note"])
	}
}

// A file is chosen, looked at with what is wrong in it, mended, looked at again and
// entered, in a browser.
func TestBrowserImports(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	ctx := browser(t, 390, 844)
	enter(t, ctx, y.url, "ann")
	file := filepath.Join(t.TempDir(), "tractor.csv")
	write := func(text string) {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	write("id;width, mm\nreed-01;2500\nreed-02;25000\n")
	do(t, ctx, chromedp.Navigate(y.url+"/fleet"), chromedp.Click(`a[href="/import"]`), chromedp.WaitVisible("#f-what"))
	do(t, ctx, chromedp.SetUploadFiles("#f-file", []string{file}), chromedp.Click("button.main"))
	reads(t, ctx, "One place is wrong. 1 new.")
	reads(t, ctx, "tractor.csv, row 3")
	accessibleHere(t, ctx, "what is wrong", 390, string(axe))
	screen(t, ctx, "import-wrong-390")
	write("id;width, mm\nreed-01;2500\nreed-02;2550\n")
	do(t, ctx, chromedp.Click(`a[href="/import"].plain`), chromedp.WaitVisible("#f-what"), chromedp.SetUploadFiles("#f-file", []string{file}), chromedp.Click("button.main"))
	reads(t, ctx, "Nothing is wrong. 2 new.")
	if l, err := y.List(y.ctx, fleet.ListQuery{Kind: record.VehicleAsset}); err != nil || len(l.Items) != 0 {
		t.Fatalf("looking entered %d vehicles: %v", len(l.Items), err)
	}
	accessibleHere(t, ctx, "what would change", 390, string(axe))
	screen(t, ctx, "import-390")
	do(t, ctx, chromedp.Click(`button[value="all"]`))
	reads(t, ctx, "Entered. 2 new.")
	accessibleHere(t, ctx, "what was brought in", 390, string(axe))
	y.number("reed-01")
	y.number("reed-02")
}

// Whatever somebody has in hand is found in the one field, from any page, by the
// keyboard.
func TestBrowserFinds(t *testing.T) {
	y := newYard(t)
	y.fill()
	y.person("Dan Dorn", "dan", record.Driver)
	ctx := browser(t, 1280, 1000)
	enter(t, ctx, y.url, "dan")
	for _, tt := range []struct{ typed, says string }{
		{"heron-07", "heron-07"}, // its number
		{"OS-HE 2300", "schwerlast-27"},
		{"os he 2300", "schwerlast-27"},
		{"47110815", "fifth wheel"},
		{"E1 55R-01 1234", "47110815"},
		{"lock bar", "Locking bar of FW-152 can crack"},
		{"pelican", "Nothing found"},
		{"locking bar", "Locking bar of FW-152 can crack"},
		{"osiermere", "Osiermere yard"},
		{"FW-152", "FW-152"},
		{"K-900127", "kingpin"},
	} {
		do(t, ctx, chromedp.Navigate(y.url+"/law"), chromedp.Click("#find"), chromedp.SendKeys("#find", tt.typed+"\r"))
		until(t, ctx, `location.pathname !== '/law' && document.readyState === 'complete'`)
		if text := eval[string](t, ctx, hereText); !strings.Contains(strings.ToLower(text), strings.ToLower(tt.says)) {
			t.Errorf("%q finds %.300s; want %q in it", tt.typed, text, tt.says)
		}
	}
	do(t, ctx, chromedp.Navigate(y.url+"/vehicles"), chromedp.KeyEvent("/"))
	if got := eval[string](t, ctx, `document.activeElement.id`); got != "find" {
		t.Errorf("the key / leads to %q", got)
	}
}

// Every page of the register is free of what axe finds, on a desk and on a phone, is
// no wider than the window, and breaks no content policy.
func TestRegisterPagesAreAccessible(t *testing.T) {
	y := newYard(t)
	y.fill()
	y.person("Ann Ahrens", "ann", record.Manager)
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []int{1280, 390} {
		ctx := browser(t, w, 900)
		do(t, ctx, chromedp.Navigate(y.url+"/sign-in"))
		accessibleHere(t, ctx, "/sign-in", w, string(axe))
		enter(t, ctx, y.url, "ann")
		for _, path := range y.registerPages() {
			do(t, ctx, chromedp.Navigate(y.url+path))
			accessibleHere(t, ctx, path, w, string(axe))
			if n := eval[int](t, ctx, `document.querySelectorAll('[style], style, script:not([src])').length`); n != 0 {
				t.Errorf("%s has %d inline styles or scripts", path, n)
			}
		}
	}
}

// screen writes what stands in the browser where UNDERPIN_SCREENS names a folder.
func screen(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	folder := os.Getenv("UNDERPIN_SCREENS")
	if folder == "" {
		return
	}
	shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), shot, 0o644); err != nil {
		t.Fatal(err)
	}
}
