package web

import (
	"net/http"

	"underpin/fleet"
	"underpin/record"
)

// A route is an address, and what a person must be allowed to do to be served
// there.
type route struct {
	pattern string           // as the router reads it
	need    fleet.Permission // or one of the two below
	serve   http.HandlerFunc
}

// What a route may need besides a permission of the register.
const (
	anyone   fleet.Permission = "anyone"    // also who is not signed in
	signedIn fleet.Permission = "signed in" // whoever is
)

// routes is the one table of addresses. Each stands here with what it needs, and
// the router is made from it, so that no page can be forgotten. Without a
// register nobody signs in, and every page is open to whoever reaches it.
func (s *site) routes() []route {
	all := []route{
		{"GET /{$}", anyone, s.home},
		{"GET /static/{file}", anyone, s.static},
		{"GET /healthz", anyone, s.healthz},
		{"GET /readyz", anyone, s.readyz},

		{"GET /pairing", fleet.Read, s.pairingPage},
		{"GET /pairing.json", fleet.Read, s.pairingJSON},
		{"GET /drawing/{file}", fleet.Read, s.drawingFile},
		{"GET /matrix", fleet.Read, s.matrixPage},
		{"GET /matrix.json", fleet.Read, s.matrixJSON},
		{"GET /mounting", fleet.Read, s.mountingPage},
		{"GET /mounting/specification", fleet.Read, s.specificationPage},
		{"GET /mounting/catalogue", fleet.Read, s.cataloguePage},
		{"GET /mounting/retrofit", fleet.Read, s.retrofitPage},
		{"GET /mounting/{file}", fleet.Read, s.mountingFile},

		{"GET /formulas", signedIn, s.formulasPage},
		{"GET /formulas/{name}", signedIn, s.formulaPage},
		{"GET /law", signedIn, s.lawsPage},
		{"GET /law/{name}", signedIn, s.lawPage},
	}
	if s.Register != nil {
		all = append(all, s.registerRoutes()...)
		all = append(all, s.yardRoutes()...)
	}
	return append(all, newAPI(s).routes...)
}

// registerRoutes are those that there are with a register alone. A form is shown
// and sent at one address, and needs the same for both.
func (s *site) registerRoutes() []route {
	all := []route{
		{"GET /sign-in", anyone, s.signInPage},
		{"POST /sign-in", anyone, s.signIn},
		{"GET " + outsidePath, anyone, s.signInOutside},
		{"GET " + backPath, anyone, s.back},
		{"POST /sign-out", anyone, s.signOut},
		{"GET /welcome", anyone, s.welcome},
		{"POST /welcome", anyone, s.redeem},

		{"GET /account", signedIn, s.ownPage},
		{"POST /account/password", signedIn, s.changePassword},
		{"POST /account/sessions", signedIn, s.endOwnSession},
		{"POST /account/tokens", fleet.Tokens, s.revokeToken},

		{"GET /accounts", fleet.ReadPeople, s.accountsPage},
		{"GET /accounts/{id}", fleet.ReadPeople, s.accountPage},
		{"POST /accounts/{id}/sessions", fleet.People, s.endSessionOf},

		{"GET /fleet", fleet.Read, s.overview},
		{"GET /find", fleet.Read, s.findPage},
		{"GET /vehicles", fleet.Read, s.list(record.VehicleAsset)},
		{"GET /parts", fleet.Read, s.list(record.PartAsset)},
		{"GET /types", fleet.Read, s.list(record.TypeAsset)},
		{"GET /depots", fleet.Read, s.list(record.DepotAsset)},
		{"GET /notices", fleet.Read, s.list(record.NoticeAsset)},
		{"GET /vehicles/{id}", fleet.Read, s.vehiclePage},
		{"GET /vehicles/{id}/sheets/{sheet}", fleet.Read, s.keptPage},
		{"GET /vehicles/{id}/sheets/{sheet}/{file}", fleet.Read, s.keptFile},
		{"GET /parts/{id}", fleet.Read, s.partPage},
		{"GET /types/{id}", fleet.Read, s.typePage},
		{"GET /depots/{id}", fleet.Read, s.depotPage},
		{"GET /notices/{id}", fleet.Read, s.noticePage},
		{"GET /records", fleet.Read, s.recordsPage},
		{"GET /records/{id}", fleet.Read, s.recordPage},
		{"GET /documents/{id}", fleet.Read, s.document},
	}
	pages, forms := s.upkeepRoutes()
	all = append(all, pages...)
	for _, f := range append(forms, []route{
		{"/import", fleet.Import, s.importPage},
		{"/account/tokens/new", fleet.Tokens, s.issueToken},

		{"/accounts/new", fleet.People, s.addAccount},
		{"/accounts/{id}/edit", fleet.People, s.editAccount},
		{"/accounts/{id}/link", fleet.People, s.linkAccount},
		{"/accounts/{id}/close", fleet.People, s.closeAccount},

		{"/vehicles/new", fleet.Design, s.addVehicle},
		{"/vehicles/{id}/edit", fleet.Design, s.editVehicle},
		{"/vehicles/{id}/scrap", fleet.Design, s.scrapVehicle},
		{"/vehicles/{id}/reading", fleet.Report, s.enterReading},
		{"/vehicles/{id}/judge", fleet.Fit, s.judgeReading},
		{"/vehicles/{id}/meter", fleet.Fit, s.replaceMeter},
		{"/vehicles/{id}/fit", fleet.Fit, s.fitToVehicle},
		{"/vehicles/{id}/couple", fleet.Couples, s.couple},
		{"/vehicles/{id}/uncouple", fleet.Couples, s.uncouple},
		{"/vehicles/{id}/attach", fleet.Report, s.attach(record.VehicleAsset)},

		{"/mounting/catalogue/new", fleet.Design, s.bringCatalogue},
		{"/mounting/keep", fleet.Design, s.keepSheet},
		{"/vehicles/{id}/sheets/{sheet}/built", fleet.Fit, s.enterBuilt},
		{"/vehicles/{id}/built/{built}/tighten", fleet.Fit, s.tightenBolts},

		{"/parts/new", fleet.Fit, s.addPart},
		{"/parts/{id}/edit", fleet.Fit, s.editPart},
		{"/parts/{id}/fit", fleet.Fit, s.fitPart},
		{"/parts/{id}/remove", fleet.Fit, s.removePart},
		{"/parts/{id}/scrap", fleet.Fit, s.scrapPart},
		{"/parts/{id}/attach", fleet.Report, s.attach(record.PartAsset)},

		{"/types/new", fleet.Design, s.addType},
		{"/types/{id}/edit", fleet.Design, s.editType},
		{"/types/{id}/attach", fleet.Design, s.attach(record.TypeAsset)},

		{"/depots/new", fleet.Organise, s.addDepot},
		{"/depots/{id}/edit", fleet.Organise, s.editDepot},
		{"/depots/{id}/close", fleet.Organise, s.closeDepot},
		{"/depots/{id}/attach", fleet.Design, s.attach(record.DepotAsset)},

		{"/notices/new", fleet.Design, s.openNotice},
		{"/notices/{id}/edit", fleet.Design, s.editNotice},
		{"/notices/{id}/close", fleet.Design, s.closeNotice},
		{"/notices/{id}/parts/{part}", fleet.Fit, s.closeNoticePart},
		{"/notices/{id}/attach", fleet.Design, s.attach(record.NoticeAsset)},

		{"/records/{id}/undo", fleet.Report, s.undo},
		{"/records/{id}/correct", fleet.Report, s.correct},
	}...) {
		all = append(all, route{"GET " + f.pattern, f.need, f.serve}, route{"POST " + f.pattern, f.need, f.serve})
	}
	return all
}

// home leads to where the work is.
func (s *site) home(w http.ResponseWriter, r *http.Request) {
	if s.Register != nil {
		http.Redirect(w, r, "/fleet", http.StatusFound)
		return
	}
	http.Redirect(w, r, "/pairing", http.StatusFound)
}

// healthz tells that the program runs; whether it can do its work, readyz tells.
func (s *site) healthz(w http.ResponseWriter, _ *http.Request) { w.Write([]byte("ok\n")) }
