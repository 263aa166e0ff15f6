package web_test

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/pelletier/go-toml/v2"

	"underpin/examples"
	"underpin/fleet"
	"underpin/record"
	"underpin/store"
	"underpin/web"
)

// A yard is a register of its own, served.
type yard struct {
	testing.TB
	*fleet.Register
	url string
	ctx context.Context // somebody who may do everything
}

const password = "correct horse battery staple"

func newYard(t testing.TB) *yard {
	t.Helper()
	st, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	r := fleet.New(st, fleet.World{Program: "test"})
	s := httptest.NewServer(web.Handler(web.Config{Register: r, Path: "register"}))
	t.Cleanup(s.Close)
	return &yard{t, r, s.URL, fleet.WithActor(context.WithoutCancel(t.Context()), fleet.Operator("test"))}
}

// must carries out a command that has to go well.
func (y *yard) must(c fleet.Command) *fleet.Done {
	y.Helper()
	done, err := y.Do(y.ctx, c)
	if err != nil {
		y.Fatalf("%T: %v", c, err)
	}
	return done
}

// demo brings the vehicles of the demo fleet into the register.
func (y *yard) demo() {
	y.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		y.Fatal(err)
	}
	var file struct {
		Name    string
		Law     string
		Tractor []map[string]any `toml:"tractor"`
		Trailer []map[string]any `toml:"semi-trailer"`
	}
	if err := toml.Unmarshal(data, &file); err != nil {
		y.Fatal(err)
	}
	d := fleet.Delivery{Settings: record.Fields{"name": fleet.Text(file.Name), "law": fleet.Text(file.Law)}}
	add := func(kind string, all []map[string]any) {
		for i, v := range all {
			fields := record.Fields{}
			for name, value := range v {
				raw, err := json.Marshal(value)
				if err != nil {
					y.Fatal(err)
				}
				fields[name] = raw
			}
			d.Vehicles = append(d.Vehicles, fleet.VehicleRow{Place: fleet.Place{Sheet: kind, Row: i}, Vehicle: kind, Fields: fields})
		}
	}
	add(record.Tractor, file.Tractor)
	add(record.SemiTrailer, file.Trailer)
	report, err := y.Import(y.ctx, d, fleet.AllGood)
	if err != nil || !report.Entered {
		y.Fatalf("the demo fleet was not taken: %v %v", err, report.Wrong())
	}
}

func (y *yard) number(n string) record.Asset {
	y.Helper()
	a, err := y.ByNumber(y.ctx, n)
	if err != nil {
		y.Fatal(err)
	}
	return a
}

// person makes an account with a password.
func (y *yard) person(name, login string, roles ...string) record.Asset {
	y.Helper()
	done := y.must(&fleet.AddAccount{Name: name, Login: login, Roles: roles})
	if _, err := y.Redeem(y.ctx, done.Secret, "", "", password, fleet.SignIn{Address: "test"}); err != nil {
		y.Fatal(err)
	}
	return done.Asset
}

// A visitor is a browser without script.
type visitor struct {
	testing.TB
	http.Client
	url string
}

func (y *yard) visitor() *visitor {
	jar, err := cookiejar.New(nil)
	if err != nil {
		y.Fatal(err)
	}
	return &visitor{y.TB, http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}, y.url}
}

// signIn signs somebody in.
func (y *yard) signIn(login string) *visitor {
	y.Helper()
	v := y.visitor()
	a := v.post("/sign-in", url.Values{"login": {login}, "password": {password}})
	if a.status != http.StatusSeeOther {
		y.Fatalf("%s was not signed in: %d %s", login, a.status, a.text())
	}
	return v
}

type answer struct {
	status int
	head   http.Header
	body   string
}

func (v *visitor) do(r *http.Request) answer {
	v.Helper()
	a, err := v.Do(r)
	if err != nil {
		v.Fatal(err)
	}
	defer a.Body.Close()
	body, err := io.ReadAll(a.Body)
	if err != nil {
		v.Fatal(err)
	}
	return answer{a.StatusCode, a.Header, string(body)}
}

func (v *visitor) get(path string) answer {
	v.Helper()
	r, err := http.NewRequest(http.MethodGet, v.url+path, nil)
	if err != nil {
		v.Fatal(err)
	}
	return v.do(r)
}

func (v *visitor) post(path string, form url.Values) answer {
	v.Helper()
	r, err := http.NewRequest(http.MethodPost, v.url+path, strings.NewReader(form.Encode()))
	if err != nil {
		v.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return v.do(r)
}

var tags = regexp.MustCompile(`<[^>]*>`)

// text is the words of a page.
func (a answer) text() string {
	_, main, ok := strings.Cut(a.body, "<main")
	if !ok {
		main = a.body
	}
	return strings.Join(strings.Fields(tags.ReplaceAllString(main, " ")), " ")
}

var hidden = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)

// form is what the form of a page sends when nothing in it is changed.
func (a answer) form() url.Values {
	v := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(a.body, -1) {
		v.Add(unescape(m[1]), unescape(m[2]))
	}
	for _, m := range regexp.MustCompile(`<input id="[^"]*" name="([^"]*)" value="([^"]*)"`).FindAllStringSubmatch(a.body, -1) {
		v.Set(unescape(m[1]), unescape(m[2]))
	}
	for _, m := range regexp.MustCompile(`(?s)<select id="[^"]*" name="([^"]*)".*?</select>`).FindAllStringSubmatch(a.body, -1) {
		if o := regexp.MustCompile(`<option value="([^"]*)" selected`).FindStringSubmatch(m[0]); o != nil {
			v.Set(unescape(m[1]), unescape(o[1]))
		}
	}
	for _, m := range regexp.MustCompile(`(?s)<textarea id="[^"]*" name="([^"]*)"[^>]*>(.*?)</textarea>`).FindAllStringSubmatch(a.body, -1) {
		v.Set(unescape(m[1]), unescape(m[2]))
	}
	return v
}

func unescape(s string) string {
	return strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&#43;", "+", "&amp;", "&").Replace(s)
}

func whole(n int64) *int64 { return &n }

// fill brings a year of life into the register: depots, a type, parts that were
// fitted and moved, coupled periods, readings, a notice, a photo, a long name.
func (y *yard) fill() {
	y.Helper()
	y.demo()
	ago := func(days int) fleet.Meta { return fleet.Meta{Happened: record.At(time.Now().AddDate(0, 0, -days))} }
	depot := y.must(&fleet.AddDepot{Details: record.DepotAdded{Name: "Osiermere yard", Address: "Reedbank 4\nOsiermere"}}).Asset
	y.must(&fleet.AddDepot{Details: record.DepotAdded{Name: "Donaudampfschifffahrtsumschlagplatz Niederbayern-Oberösterreich"}})
	long := y.must(&fleet.AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Registration: "OS-HE 2300", Depot: depot,
		Fields: record.Fields{"id": fleet.Text("schwerlast-27"), "name": fleet.Text("Sattelkraftfahrzeuganhängerverlängerungsstück 27"), "kind": fleet.Text("low-loader")}}}).Asset
	typ := y.must(&fleet.AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: "FW-152", Maker: "Weir & Withy (invented)", Class: "G50-X",
		Ratings:    record.Ratings{D: whole(152_000), Imposed: whole(20_000), Pin: whole(50)},
		Dimensions: []record.Dimension{{Name: "lock-wear", What: "across the lock, with the plug gauge", New: "50.8 mm", Limit: "53.0 mm", Sense: "max"}},
		Intervals:  []record.Interval{{Task: "grease", Metres: whole(10_000_000), Months: whole(3)}},
		Torques:    []record.Torque{{Where: "coupling to plate", Thread: "M16 × 1.5", Grade: "10.9", Least: "260 N.m"}},
		Source:     record.Source{Document: "Fitting instructions FW-152 (invented)", Edition: "2024-03"}}}).Asset
	heron, teal, marsh := y.number("heron-07"), y.number("teal-12"), y.number("marsh-23")
	wheel := y.must(&fleet.AddPart{Meta: ago(400), Details: record.PartAdded{Part: record.FifthWheel, Type: typ, Serial: "47110815", Marking: "E1 55R-01 1234", Class: "G50-X",
		Ratings: record.Ratings{D: whole(152_000), Imposed: whole(20_000), Pin: whole(50)}, ReadFrom: "plate", Depot: depot}}).Asset
	y.must(&fleet.AddPart{Details: record.PartAdded{Part: record.FifthWheel, Type: typ, Serial: "47110816", Depot: depot}})
	y.must(&fleet.AddPart{Details: record.PartAdded{Part: record.FifthWheel}})
	pin := y.must(&fleet.AddPart{Meta: ago(380), Details: record.PartAdded{Part: record.Kingpin, Serial: "K-900127", Ratings: record.Ratings{Pin: whole(50)}, ReadFrom: "plate"}}).Asset
	odometer := func(km int64) record.MeterReading {
		return record.MeterReading{Meter: record.Odometer, Metres: whole(km * 1000)}
	}
	y.must(&fleet.FitPart{Meta: ago(390), Part: wheel, Vehicle: teal, Reading: odometer(301_200)})
	y.must(&fleet.RemovePart{Meta: ago(210), Part: wheel, Reading: odometer(352_900), Depot: depot, Condition: "lock worn, wear ring replaced"})
	y.must(&fleet.FitPart{Meta: ago(200), Part: wheel, Vehicle: heron, Reading: odometer(412_300)})
	y.must(&fleet.FitPart{Meta: ago(370), Part: pin, Vehicle: marsh})
	y.must(&fleet.Couple{Meta: ago(150), Towed: marsh, By: heron, ByReading: odometer(430_100), Place: "Osiermere"})
	y.must(&fleet.Uncouple{Meta: ago(90), Towed: marsh, ByReading: odometer(449_800), Place: "Withybridge"})
	y.must(&fleet.Couple{Meta: ago(60), Towed: marsh, By: heron, ByReading: odometer(460_400), Place: "Withybridge"})
	var rows []fleet.ReadingRow
	for i, km := range []int64{412_500, 421_000, 430_200, 440_100, 449_900, 460_500, 4_705_000, 480_900} {
		rows = append(rows, fleet.ReadingRow{Place: fleet.Place{Row: i + 1}, Vehicle: "heron-07", Meter: record.Odometer, At: record.At(time.Now().AddDate(0, 0, -198+i*28)), Metres: km * 1000, Unit: "km"})
	}
	if rep, err := y.EnterReadings(y.ctx, fleet.Readings{Rows: rows}); err != nil || len(rep.Wrong) > 0 {
		y.Fatal(err, rep)
	}
	y.must(&fleet.OpenNotice{Meta: ago(20), Details: record.NoticeOpened{Title: "Locking bar of FW-152 can crack", Part: record.FifthWheel, Type: typ, Action: "Look at the weld of the locking bar; replace the bar where it is cracked.",
		Text: "A cracked bar can let the lock open.", Ranges: []record.SerialRange{{From: "47110800", To: "47110899"}}}})
	v, err := y.VehiclePage(y.ctx, long)
	if err != nil {
		y.Fatal(err)
	}
	d := v.Vehicle.VehicleAdded
	d.VIN = "WDB00000000000001"
	changed := y.must(&fleet.ChangeVehicle{Meta: fleet.Meta{Reason: "read off the frame"}, Asset: long, Version: v.Version, Details: d})
	y.must(&fleet.Undo{Meta: fleet.Meta{Reason: "it was the other trailer’s"}, Record: changed.Record})
}
