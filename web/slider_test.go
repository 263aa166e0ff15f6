package web_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"underpin/examples"
	"underpin/exchange"
	"underpin/unit"
	"underpin/web"
)

// serving serves an example, changed.
func serving(t *testing.T, change func(*exchange.FleetFile)) string {
	t.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	change(f)
	s := httptest.NewServer(web.Handler(web.Config{Fleet: f, Path: "demo.toml", Demo: true}))
	t.Cleanup(s.Close)
	return s.URL
}

func body(t *testing.T, address string) (int, string) {
	t.Helper()
	answer, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ", "&#39;", "'").Replace(string(text))
}

// A lead that is no position is answered with the positions there are, and the page
// says for which it is shown; a program gets an error.
func TestLeadThatIsNoPosition(t *testing.T) {
	at := serving(t, func(*exchange.FleetFile) {}) + "/pairing"
	const pair = "?tractor=heron-07&trailer=weir-34&law=eu&load=laden"
	for lead, says := range map[string]string{
		"615":     "615 mm is no position: it lies between two notches, at 600 mm and 650 mm. Shown for 600 mm.",
		"9999999": "is no position: the slider's foremost is 750 mm ahead of the drive axle. Shown for 750 mm.",
		"-200":    "is no position: the slider's rearmost is 350 mm ahead of the drive axle. Shown for 350 mm.",
	} {
		if status, text := body(t, at+pair+"&lead="+lead); status != http.StatusOK || !strings.Contains(text, says) {
			t.Errorf("lead %s: %d, without %q", lead, status, says)
		}
		if status, text := body(t, at+".json"+pair+"&lead="+lead); status != http.StatusBadRequest || !strings.Contains(text, `"expected": "a position of the slider: `) {
			t.Errorf("lead %s as JSON: %d %s", lead, status, text)
		}
	}
	if _, text := body(t, at+pair+"&lead=650"); strings.Contains(text, "is no position") {
		t.Error("650 mm is a position")
	}
	// Without script the slider sends the number of its position, the rearmost is 0.
	if _, text := body(t, at+pair+"&stop=3"); !strings.Contains(text, "<output for=\"lead\">500 mm</output>") {
		t.Error("position 3 from the rearmost is a lead of 500 mm")
	}
}

// The slider of the page has the engine's positions, in inches rounded to millimetres
// too: 610 mm in six steps. What it is moved to is what the answer is for.
func TestSliderHasThePositionsOfTheEngine(t *testing.T) {
	l := func(mm float64) *unit.Length { v := unit.Length(mm * 1e-3); return &v }
	address := serving(t, func(f *exchange.FleetFile) {
		v, _ := f.Fleet.Tractor("heron-07")
		v.FifthWheel.Slider.Foremost, v.FifthWheel.Slider.Rearmost, v.FifthWheel.Slider.Pitch, v.FifthWheel.At = l(2950), l(3560), l(102), l(3153)
	})
	ctx := browser(t, 1280, 1000)
	do(t, ctx, chromedp.Navigate(address+"/pairing?tractor=heron-07&trailer=weir-34&law=eu&load=laden"))
	if got, want := eval[string](t, ctx, `document.getElementById('lead').dataset.stops`), "140 241.7 343.3 445 546.7 648.3 750"; got != want {
		t.Fatalf("positions %q, want %q", got, want)
	}
	if got := eval[string](t, ctx, `document.getElementById('lead').value`); got != "4" {
		t.Errorf("the slider stands at position %s; 3153 mm is number 4", got)
	}
	eval[bool](t, ctx, `(() => { const r = document.getElementById('lead'); r.focus(); r.stepUp(); r.dispatchEvent(new Event('input', {bubbles: true})); return true })()`)
	until(t, ctx, `location.search.includes('lead=648.3') && !document.querySelector('.no-position')`)
	if got := eval[string](t, ctx, `document.querySelector('form.slide output').textContent`); got != "648\u00a0mm" {
		t.Errorf("the page says %q", got)
	}
}

// While something is missing the page promises no range.
func TestUnknownRangeOnThePage(t *testing.T) {
	address := serving(t, func(*exchange.FleetFile) {})
	_, text := body(t, address+"/pairing?"+url.Values{"tractor": {"heron-07"}, "trailer": {"mire-61"}, "law": {"eu"}}.Encode())
	if !strings.Contains(text, "Lawful range: not known") || !strings.Contains(text, `class="lead-unknown"`) || strings.Contains(text, "lawful-part") {
		t.Error("the slider does not say that the lawful range is not known")
	}
}

// The demo says that it is one on paper too.
func TestPrintedDemoSaysSo(t *testing.T) {
	address := serving(t, func(*exchange.FleetFile) {})
	ctx := browser(t, 820, 1000)
	do(t, ctx, func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return chromedp.Void{}, err
	})
	for _, page := range []string{"/pairing?tractor=heron-07&trailer=weir-34&law=eu", "/matrix", "/formulas/turn"} {
		do(t, ctx, chromedp.Navigate(address+page))
		if got := eval[string](t, ctx, `(p => getComputedStyle(p).display === 'none' ? '' : p.innerText)(document.querySelector('.top .fleet'))`); !strings.Contains(got, "invented fleet") {
			t.Errorf("%s printed says %q", page, got)
		}
	}
}
