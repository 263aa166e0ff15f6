package web_test

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"underpin/examples"
	"underpin/exchange"
	"underpin/need"
	"underpin/web"
)

// server serves the demo fleet.
func server(t testing.TB) string {
	t.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(web.Handler(web.Config{Fleet: f, Path: "demo.toml", Demo: true}))
	t.Cleanup(s.Close)
	return s.URL
}

// browser opens a tab of the given size in a real Chromium.
func browser(t *testing.T, width, height int) context.Context {
	t.Helper()
	path := need.Chromium(t)
	allocator, cancel := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Headless, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(width, height),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	t.Cleanup(cancel)
	ctx, cancelTab := chromedp.NewContext(allocator)
	t.Cleanup(cancelTab)
	ctx, cancelTime := context.WithTimeout(ctx, 10*time.Minute)
	t.Cleanup(cancelTime)
	do(t, ctx, chromedp.EmulateViewport(int64(width), int64(height)))
	return ctx
}

func do(t *testing.T, ctx context.Context, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

func eval[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return v
}

// until waits for a condition of the page.
func until(t *testing.T, ctx context.Context, condition string) {
	t.Helper()
	for range 200 {
		if eval[bool](t, ctx, condition) {
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatalf("never true: %s", condition)
}

// The slider is moved with the keyboard, and the numbers, the drawing and the
// address follow.
func TestSliderMovesTheNumbers(t *testing.T) {
	url := server(t)
	ctx := browser(t, 1280, 1000)
	do(t, ctx, chromedp.Navigate(url+"/pairing?tractor=heron-07&trailer=marsh-23&law=eu&load=laden"))
	const front = `[...document.querySelectorAll('.finding')].find(f => f.querySelector('b').textContent === 'Front axle').querySelector('.f-value').textContent`
	before := eval[string](t, ctx, front)
	lead := eval[string](t, ctx, `(r => r.dataset.stops.split(' ')[r.value])(document.getElementById('lead'))`)
	if lead != "600" {
		t.Fatalf("the slider stands at %s, the fleet file says 600", lead)
	}
	eval[bool](t, ctx, `(() => { const r = document.getElementById('lead'); r.focus(); r.stepUp(); r.dispatchEvent(new Event('input', {bubbles: true})); return true })()`)
	until(t, ctx, `document.querySelector('form.slide output').textContent.startsWith('650') && `+front+` !== '`+before+`'`)
	after := eval[string](t, ctx, front)
	// 50 mm forward: K·50/3700 more on the front axle, 10 309 kg on the kingpin
	// (handbook chapter 03, 4.1: 139 kg).
	if kg(after)-kg(before) != 139 {
		t.Errorf("the front axle went from %s to %s; 50 mm forward add 139 kg", before, after)
	}
	if got := eval[string](t, ctx, `location.search`); !strings.Contains(got, "lead=650") {
		t.Errorf("the address says %s", got)
	}
	if got := eval[string](t, ctx, `document.activeElement.id`); got != "lead" {
		t.Errorf("the focus went to %q", got)
	}
	until(t, ctx, `document.querySelector('#side-figure svg').textContent.includes('650')`)
}

func kg(text string) int {
	n := 0
	for _, r := range text {
		if r >= '0' && r <= '9' {
			n = n*10 + int(r-'0')
		}
	}
	return n
}

// The fifth wheel is dragged on the drawing itself.
func TestFifthWheelIsDragged(t *testing.T) {
	url := server(t)
	ctx := browser(t, 1280, 1000)
	do(t, ctx, chromedp.Navigate(url+"/pairing?tractor=heron-07&trailer=marsh-23&law=eu&load=laden"))
	got := eval[string](t, ctx, `(async () => {
		const grip = document.querySelector('[data-lead-mm]'), b = grip.getBoundingClientRect(), x = b.x + b.width / 2, y = b.y + b.height / 2;
		const at = (type, dx) => grip.dispatchEvent(new PointerEvent(type, {bubbles: true, clientX: x + dx, clientY: y, pointerId: 1}));
		const answer = document.getElementById('answer');
		answer.setPointerCapture = () => {};
		at('pointerdown', 0);
		answer.dispatchEvent(new PointerEvent('pointermove', {bubbles: true, clientX: x - 40, clientY: y, pointerId: 1}));
		answer.dispatchEvent(new PointerEvent('pointerup', {bubbles: true, pointerId: 1}));
		return (r => r.dataset.stops.split(' ')[r.value])(document.getElementById('lead'));
	})()`)
	if kg(got) <= 600 {
		t.Errorf("dragged towards the cab, the lead is %s; want more than 600", got)
	}
}

// Every page is free of violations that axe finds, light and dark, on a desk
// and on a phone.
func TestPagesAreAccessible(t *testing.T) {
	url := server(t)
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []struct{ w, h int }{{1280, 1000}, {390, 844}} {
		ctx := browser(t, size.w, size.h)
		for _, path := range pages {
			accessible(t, ctx, url, path, size.w, string(axe))
		}
	}
}

// accessible holds one page against axe with everything unfolded, and against the
// width of the screen.
func accessible(t *testing.T, ctx context.Context, url, path string, width int, axe string) {
	t.Helper()
	do(t, ctx, chromedp.Navigate(url+path))
	accessibleHere(t, ctx, path, width, axe)
}

// accessibleHere holds the page that stands in the browser against axe.
func accessibleHere(t *testing.T, ctx context.Context, path string, width int, axe string) {
	t.Helper()
	type violation struct {
		ID     string `json:"id"`
		Impact string `json:"impact"`
		Nodes  []struct {
			HTML    string `json:"html"`
			Summary string `json:"failureSummary"`
		} `json:"nodes"`
	}
	eval[bool](t, ctx, `(() => { for (const d of document.querySelectorAll('details')) d.open = true; return true })()`)
	eval[bool](t, ctx, axe+"; true")
	for _, v := range eval[[]violation](t, ctx, `axe.run(document).then(r => r.violations)`) {
		for _, n := range v.Nodes {
			t.Errorf("%s at %d px: %s (%s): %s\n%s", path, width, v.ID, v.Impact, n.HTML, n.Summary)
		}
	}
	if wide := eval[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth`); wide {
		t.Errorf("%s is wider than %d px", path, width)
	}
}

// pages is an address of every page and state there is.
var pages = []string{
	"/pairing",
	"/pairing?tractor=heron-07&trailer=marsh-23&law=eu&load=laden",
	"/pairing?tractor=heron-07&trailer=marsh-23&law=us-ca&units=us",
	"/pairing?tractor=wren-36&trailer=mire-61&law=de",
	"/mounting", "/mounting?brief=swan-two-heights", "/mounting?brief=heron-quarry", "/mounting?own=1&trailer=fen-26&height=1400&within=5",
	"/mounting/specification?brief=heron-road&fitting=heron-plate",
	"/mounting/specification?brief=heron-road&base=angles&part=plate-30&part=wheel-150&at=3138",
	"/mounting/catalogue", "/mounting/retrofit?brief=heron-road&fitting=heron-plate", "/mounting/retrofit?brief=swan-two-heights&base=subframe&part=lift-200&part=wheel-150&at=3100",
	"/matrix", "/law", "/law/eu", "/law/us-ca", "/formulas", "/formulas/d-value", "/formulas/turn", "/formulas/chain-loads",
	"/formulas/d-value?tractor-gross=18&trailer-gross=36t", "/nothing",
}

// No page breaks the content policy: no inline style, script or foreign source.
func TestContentPolicyHolds(t *testing.T) {
	url := server(t)
	ctx := browser(t, 1280, 1000)
	for _, path := range pages {
		do(t, ctx, chromedp.Navigate(url+path))
		broken := eval[[]string](t, ctx, `new Promise(done => {
			const seen = [];
			const watch = new ReportingObserver(list => { for (const r of list) seen.push(r.type + ' ' + JSON.stringify(r.body)); }, {buffered: true, types: ['csp-violation']});
			watch.observe();
			setTimeout(() => { for (const r of watch.takeRecords()) seen.push(JSON.stringify(r.body)); done(seen) }, 30);
		})`)
		for _, b := range broken {
			t.Errorf("%s: %s", path, b)
		}
		if n := eval[int](t, ctx, `document.querySelectorAll('[style], style, script:not([src])').length`); n != 0 {
			t.Errorf("%s has %d inline styles or scripts", path, n)
		}
	}
}

// Screens are written where UNDERPIN_SCREENS names a folder, for looking at.
func TestScreens(t *testing.T) {
	folder := os.Getenv("UNDERPIN_SCREENS")
	if folder == "" {
		return
	}
	url := server(t)
	for _, w := range []int{1280, 820, 390} {
		ctx := browser(t, w, 1000)
		for i, path := range pages {
			do(t, ctx, chromedp.Navigate(url+path))
			if i == 1 {
				eval[bool](t, ctx, `(() => { for (const d of document.querySelectorAll('.more')) d.open = true; return true })()`)
			}
			shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(fmt.Sprintf("%s/%02d-%d.png", folder, i, w), shot, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
