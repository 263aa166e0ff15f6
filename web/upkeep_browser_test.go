package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"underpin/fleet"
	"underpin/record"
)

// fine fills every reading and look of the gauge sheet that is open: nothing worn,
// nothing found.
const fine = `(() => {
	for (const f of document.querySelectorAll('main [name^="l-"]')) f.value = 'fine';
	for (const f of document.querySelectorAll('main [name^="m-"]')) {
		const n = f.name;
		f.value = n.includes('pin-neck') ? '50.8 mm' : n.includes('pin-collar') ? '73 mm' : n.includes('pin-height') ? '83 mm' : n.includes('tilt') ? '0 deg' : '0 mm';
	}
	for (const n of ['uncoupled', 'cleaned']) { const f = document.querySelector('main [name="' + n + '"]'); f.selectedIndex = f.options.length - 1 }
	document.querySelector('[name="instrument"]').value = 'C-4';
	document.querySelector('[name="calibrated"]').value = '2099-12-31';
	return true })()`

// The full round: due, gauge sheet, a question that loses nothing, out of use,
// repair signed step by step, measured again, returned, certificate, verified by its
// code.
func TestBrowserRound(t *testing.T) {
	y := newYard(t)
	y.demo()
	y.person("Ida Berg", "ida", record.Technician)
	doc := record.Source{Document: "Invented instructions 7", Edition: "2", Page: "12"}
	least := func(name, size string) record.Dimension {
		return record.Dimension{Name: name, Limit: size, Sense: "min", Source: doc}
	}
	most := func(name, size string) record.Dimension {
		return record.Dimension{Name: name, Limit: size, Sense: "max", Source: doc}
	}
	pinSize := int64(50)
	typ := y.must(&fleet.AddType{Details: record.TypeAdded{Part: record.Kingpin, Name: "KP-A", Ratings: record.Ratings{Pin: &pinSize}, Source: doc,
		Dimensions: []record.Dimension{least("pin-neck", "49 mm"), least("pin-collar", "71 mm"), least("pin-height", "82 mm"), most("pin-tilt", "1 deg"), most("pin-gouge", "1 mm"), most("pin-burr-length", "30 mm"),
			most("plate-bow-down-254", "2 mm"), most("plate-bow-down-483", "6 mm"), most("plate-bow-up-483", "6 mm"), most("plate-unevenness", "2 mm")},
		Torques: []record.Torque{{Where: "flange", Thread: "M14", Least: "190 N.m", Source: doc}}}}).Asset
	marsh := y.number("marsh-23")
	page, err := y.VehiclePage(y.ctx, marsh)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range page.Fitted {
		if f.Place == record.AtKingpin {
			y.must(&fleet.RemovePart{Part: f.Part})
		}
	}
	pin := y.must(&fleet.AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: "K-9", Type: typ}}).Asset
	y.must(&fleet.FitPart{Part: pin, Vehicle: marsh, Place: record.AtKingpin})
	here := y.url + "/vehicles/" + marsh.Name()
	ctx := browser(t, 820, 1100)
	enter(t, ctx, y.url, "ida")
	send := func() { // and wait for the page that comes of it
		eval[bool](t, ctx, `(() => { document.querySelector('main').dataset.old = '1'; return true })()`)
		do(t, ctx, chromedp.Click("button.main"))
		until(t, ctx, `document.readyState === 'complete' && !document.querySelector('main').dataset.old`)
	}
	do(t, ctx, chromedp.Navigate(y.url+"/due"))
	reads(t, ctx, "cannot tell")
	do(t, ctx, chromedp.Navigate(here+"/gauge"))
	eval[bool](t, ctx, fine)
	typeInto(t, ctx, "m-pin-neck-0", "1.92 mm")
	send()
	reads(t, ctx, "everything you typed is still here")
	if valueOf(t, ctx, "m-pin-neck-0") != "1.92 mm" || valueOf(t, ctx, "instrument") != "C-4" || valueOf(t, ctx, "l-pin-loose") != "fine" {
		t.Error("something that was typed is gone")
	}
	typeInto(t, ctx, "m-pin-neck-0", "1.92 in")
	typeInto(t, ctx, "m-pin-neck-1", "48.8 mm")
	for range 2 {
		send()
		until(t, ctx, `document.readyState === 'complete'`)
		if !strings.Contains(eval[string](t, ctx, hereText), "Not saved.") {
			break
		}
		typeInto(t, ctx, "because", "measured again, it is so")
	}
	if text := eval[string](t, ctx, hereText); strings.Contains(text, "Not saved.") {
		t.Fatalf("%.900s", text)
	}
	do(t, ctx, chromedp.Navigate(here))
	reads(t, ctx, "Do not use:")
	screen(t, ctx, "upkeep-held")
	do(t, ctx, chromedp.Navigate(y.url+"/pairing?tractor=heron-07&trailer=marsh-23"))
	reads(t, ctx, "Do not couple these.")
	v, err := y.VehiclePage(y.ctx, marsh)
	if err != nil {
		t.Fatal(err)
	}
	order := here + "/outcomes/" + string(v.Vehicle.Upkeep.Last().ID)
	do(t, ctx, chromedp.Navigate(order))
	reads(t, ctx, "What must not be done")
	screen(t, ctx, "upkeep-order")
	for range 60 {
		if !eval[bool](t, ctx, `!!document.querySelector('.sign button')`) {
			break
		}
		left := eval[int](t, ctx, `document.querySelectorAll('.sign').length`)
		eval[bool](t, ctx, `(() => { document.querySelector('.sign button').click(); return true })()`)
		for range 100 {
			if eval[int](t, ctx, `document.readyState === 'complete' ? document.querySelectorAll('.sign').length : -1`) == left-1 {
				break
			}
		}
	}
	do(t, ctx, chromedp.Navigate(here+"/return"))
	send()
	reads(t, ctx, "Not saved.")
	do(t, ctx, chromedp.Navigate(here+"/gauge"))
	eval[bool](t, ctx, fine)
	send()
	until(t, ctx, `document.readyState === 'complete'`)
	if strings.Contains(eval[string](t, ctx, hereText), "Not saved.") {
		typeInto(t, ctx, "because", "a new pin")
		send()
	}
	reads(t, ctx, "serviceable")
	do(t, ctx, chromedp.Navigate(here+"/return"))
	send()
	reads(t, ctx, "In use")
	if v, err = y.VehiclePage(y.ctx, marsh); err != nil || v.Vehicle.Upkeep.Held() != "" || len(v.Vehicle.Upkeep.Returns) != 1 {
		t.Fatalf("after the return: %+v %v", v.Vehicle.Upkeep, err)
	}
	do(t, ctx, chromedp.Navigate(here+"/outcomes/"+string(v.Vehicle.Upkeep.Last().ID)+"/certificate"))
	reads(t, ctx, "The register holds it.")
	screen(t, ctx, "upkeep-certificate")
	code := eval[string](t, ctx, `document.getElementById('certificate-code').innerText`)
	do(t, ctx, chromedp.Navigate(y.url+"/certificate?code="+code))
	reads(t, ctx, "The register holds it.")
	do(t, ctx, chromedp.Navigate(y.url+"/certificate?code="+code[:len(code)-2]+"zz"))
	reads(t, ctx, "The register does not hold it.")
}
