package web_test

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"underpin/fleet"
	"underpin/record"
)

// enter signs in through the page.
func enter(t *testing.T, ctx context.Context, url, login string) {
	t.Helper()
	do(t, ctx, chromedp.Navigate(url+"/sign-in"), chromedp.SendKeys("#login", login), chromedp.SendKeys("#password", password), chromedp.Click("button.main"), chromedp.WaitVisible(".who"))
}

// registerPages are addresses of every page and state that there is with a
// register.
func (y *yard) registerPages() []string {
	y.Helper()
	heron, marsh, long := "/vehicles/"+y.number("heron-07").Name(), "/vehicles/"+y.number("marsh-23").Name(), "/vehicles/"+y.number("schwerlast-27").Name()
	first := func(kind string) string {
		l, err := y.List(y.ctx, fleet.ListQuery{Kind: kind})
		if err != nil || len(l.Items) == 0 {
			y.Fatalf("no %s: %v", kind, err)
		}
		return map[string]string{record.PartAsset: "/parts/", record.TypeAsset: "/types/", record.DepotAsset: "/depots/", record.NoticeAsset: "/notices/", record.AccountAsset: "/accounts/"}[kind] + l.Items[0].Asset.Name()
	}
	h, err := y.History(y.ctx, y.number("schwerlast-27"), 0, 10)
	if err != nil {
		y.Fatal(err)
	}
	var wheel string
	p, err := y.VehiclePage(y.ctx, y.number("heron-07"))
	if err != nil || len(p.Fitted) == 0 {
		y.Fatal("nothing is fitted", err)
	}
	wheel = "/parts/" + p.Fitted[0].Part.Name()
	return []string{
		"/fleet", "/vehicles", "/vehicles?as=dolly", "/parts?status=all", "/types", "/depots", "/notices", "/records",
		"/find?q=47", "/find?q=nowhere", "/find",
		heron, marsh, long, heron + "?units=us&done=entered", wheel, first(record.PartAsset), first(record.TypeAsset), first(record.DepotAsset), first(record.NoticeAsset),
		"/vehicles/new?as=tractor", heron + "/edit", marsh + "/edit", wheel + "/edit", first(record.TypeAsset) + "/edit", first(record.NoticeAsset) + "/edit", first(record.DepotAsset) + "/edit",
		heron + "/reading", heron + "/fit", marsh + "/uncouple", heron + "/attach", wheel + "/remove", heron + "/scrap",
		"/records/" + string(h.Events[0].ID), "/records/" + string(h.Events[0].ID) + "/undo", "/records/" + string(h.Events[len(h.Events)-1].ID),
		"/import", "/account", "/account/tokens/new", "/accounts", "/accounts/new", first(record.AccountAsset), first(record.AccountAsset) + "/edit", "/accounts/nobody", "/pairing", "/matrix",
	}
}

// Screens of the register are written where UNDERPIN_SCREENS names a folder, for
// looking at; dark where UNDERPIN_DARK is set.
func TestRegisterScreens(t *testing.T) {
	folder := os.Getenv("UNDERPIN_SCREENS")
	if folder == "" {
		return
	}
	y := newYard(t)
	y.fill()
	y.person("Ann-Kathrin Mustermann-Schwertfeger", "ann", record.Manager)
	for _, w := range []int{1280, 820, 390} {
		ctx := browser(t, w, 900)
		if os.Getenv("UNDERPIN_DARK") != "" {
			dark(t, ctx)
		}
		shoot := func(name string) {
			shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(fmt.Sprintf("%s/%s-%d.png", folder, name, w), shot, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		do(t, ctx, chromedp.Navigate(y.url+"/sign-in"))
		shoot("signin")
		enter(t, ctx, y.url, "ann")
		for i, path := range y.registerPages() {
			do(t, ctx, chromedp.Navigate(y.url+path))
			shoot(fmt.Sprintf("%02d", i))
		}
	}
}

// dark makes the browser prefer dark pages.
func dark(t *testing.T, ctx context.Context) {
	t.Helper()
	do(t, ctx, func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}})
		return chromedp.Void{}, err
	})
}
