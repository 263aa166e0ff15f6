package web_test

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/record"
	"underpin/unit"
	"underpin/vehicle"
)

// bring sends files to the import page.
func (v *visitor) bring(files map[string][]byte, fields url.Values) answer {
	v.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, data := range files {
		part, err := w.CreateFormFile("file", name)
		if err != nil {
			v.Fatal(err)
		}
		part.Write(data)
	}
	for name, values := range fields {
		w.WriteField(name, values[0])
	}
	w.Close()
	r, err := http.NewRequest(http.MethodPost, v.url+"/import", &b)
	if err != nil {
		v.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return v.do(r)
}

var cells = regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`)

// table is the rows of a table of a page, as words.
func (a answer) table(id string) [][]string {
	_, rest, _ := strings.Cut(a.body, `id="`+id+`"`)
	_, body, _ := strings.Cut(rest, "<tbody>")
	body, _, _ = strings.Cut(body, "</tbody>")
	var rows [][]string
	for _, row := range strings.Split(body, "</tr>") {
		var words []string
		for _, c := range cells.FindAllStringSubmatch(row, -1) {
			words = append(words, html.UnescapeString(strings.Join(strings.Fields(tags.ReplaceAllString(c[1], " ")), " ")))
		}
		if words != nil {
			rows = append(rows, words)
		}
	}
	return rows
}

func length(mm float64) *unit.Length { l := unit.Length(mm / 1e3); return &l }

// A workbook is looked at first, with sheet, row and column of what is wrong; mended,
// it is entered, and brought again it changes nothing.
func TestImportPage(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	y.must(&fleet.AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": fleet.Text("reed-01"), "width": fleet.Text("2500 mm")}}})
	ann := y.signIn("ann")
	if a := ann.get("/import"); a.status != http.StatusOK || !strings.Contains(a.text(), "You see first what would change") {
		t.Fatalf("%d %s", a.status, a.text())
	}
	same := fleet.Tables{Register: exchange.Register{Fleet: vehicle.Fleet{Tractors: []vehicle.Tractor{{ID: "reed-01", Width: length(2500)}}}}}
	if data, err := exchange.WriteWorkbook(&same); err != nil {
		t.Fatal(err)
	} else if a := ann.bring(map[string][]byte{"same.xlsx": data}, nil); !strings.Contains(a.text(), "Nothing would change. 1 as they are.") {
		t.Errorf("2500 mm where 2.5 m stands is no change: %s", a.text())
	}
	tables := fleet.Tables{Register: exchange.Register{
		Fleet:  vehicle.Fleet{Tractors: []vehicle.Tractor{{ID: "reed-01", Width: length(2550)}, {ID: "reed-02"}}, Trailers: []vehicle.SemiTrailer{{ID: "sedge-01"}}},
		Depots: []exchange.Depot{{Name: "Osiermere"}},
		Papers: []exchange.Papers{{Vehicle: "reed-02", Registration: "OS RD 2", Depot: "Withybridge"}},
	}}
	book := func() map[string][]byte {
		data, err := exchange.WriteWorkbook(&tables)
		if err != nil {
			t.Fatal(err)
		}
		return map[string][]byte{"fleet.xlsx": data}
	}
	a := ann.bring(book(), nil)
	wrong := a.table("problems")
	if a.status != http.StatusOK || len(wrong) != 1 || !strings.Contains(wrong[0][0], "sheet papers, row ") || !strings.Contains(wrong[0][0], "column D") || wrong[0][1] != "depot" || !strings.Contains(wrong[0][2], "Withybridge") {
		t.Fatalf("a depot that nobody knows: %d %q %s", a.status, wrong, a.text())
	}
	if !strings.Contains(a.text(), "Nothing is entered yet") || strings.Contains(a.text(), "Enter all of it") || !strings.Contains(a.text(), "Enter the rows that are right") {
		t.Errorf("what can be done now: %s", a.text())
	}
	tables.Papers[0].Depot = "Osiermere"
	a = ann.bring(book(), url.Values{".reason": {"from the office’s list"}})
	rows := a.table("rows")
	if len(a.table("problems")) != 0 || len(rows) != 4 || !strings.Contains(a.text(), "Nothing is wrong. 3 new, 1 changed.") {
		t.Fatalf("mended: %q %s", rows, a.text())
	}
	found := false
	for _, r := range rows {
		found = found || strings.Contains(r[1], "reed-01") && strings.Contains(r[2], "changes") && strings.Contains(r[3], "Width: 2500 mm → 2.55 m") && strings.HasPrefix(r[0], "sheet tractor, row ")
	}
	if !found {
		t.Errorf("the change of reed-01 is not told: %q", rows)
	}
	if l, err := y.List(y.ctx, fleet.ListQuery{Kind: record.VehicleAsset}); err != nil || len(l.Items) != 1 {
		t.Fatalf("looking entered %d vehicles: %v", len(l.Items), err)
	}
	form := a.form()
	form.Set("do", "all")
	a = ann.post("/import", form)
	if a.status != http.StatusOK || !strings.Contains(a.text(), "Entered. 3 new, 1 changed.") {
		t.Fatalf("entered: %d %s", a.status, a.text())
	}
	p, err := y.VehiclePage(y.ctx, y.number("reed-02"))
	if err != nil || p.Vehicle.Registration != "OS RD 2" {
		t.Errorf("reed-02: %+v %v", p.Vehicle, err)
	}
	h, err := y.History(y.ctx, y.number("reed-01"), 0, 1)
	if err != nil || h.Events[0].Reason != "from the office’s list" || h.Events[0].Who.Name != "Ann Ahrens" {
		t.Errorf("the record: %+v %v", h.Events[0].Record, err)
	}
	if a := ann.bring(book(), nil); !strings.Contains(a.text(), "Nothing would change. 4 as they are.") {
		t.Errorf("once more: %s", a.text())
	}
}

// One bad row among many: nothing comes in unless asked, and the row is named.
func TestImportLeavesOutOneRow(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	ann := y.signIn("ann")
	var b strings.Builder
	b.WriteString("id,\"width, mm\"\n")
	for i := range 300 {
		width := "2500"
		if i == 210 {
			width = "250000"
		}
		b.WriteString("t-" + strings.Repeat("x", i%7) + string(rune('a'+i%26)) + "-" + strings.TrimLeft(strings.Repeat("0", 3), "0") + itoa(i) + "," + width + "\n")
	}
	a := ann.bring(map[string][]byte{"tractor.csv": []byte(b.String())}, nil)
	wrong := a.table("problems")
	if len(wrong) != 1 || wrong[0][0] != "✕ tractor.csv, row 212" || wrong[0][1] != "width" {
		t.Fatalf("%q %.500s", wrong, a.text())
	}
	if !strings.Contains(a.text(), "299 new") {
		t.Errorf("%.300s", a.text())
	}
	form := a.form()
	form.Set("do", "all")
	ann.post("/import", form)
	if l, err := y.List(y.ctx, fleet.ListQuery{Kind: record.VehicleAsset}); err != nil || len(l.Items) != 0 {
		t.Fatalf("with one wrong, %d came in: %v", len(l.Items), err)
	}
	form.Set("do", "good")
	if a := ann.post("/import", form); !strings.Contains(a.text(), "Entered.") || !strings.Contains(a.text(), "row 212") {
		t.Errorf("%.300s", a.text())
	}
	l, err := y.List(y.ctx, fleet.ListQuery{Kind: record.VehicleAsset, Limit: 500})
	if err != nil || len(l.Items) != 299 {
		t.Errorf("%d came in: %v", len(l.Items), err)
	}
}

func itoa(n int) string {
	if n == 0 {
		return "0"
	}
	var b []byte
	for ; n > 0; n /= 10 {
		b = append([]byte{byte('0' + n%10)}, b...)
	}
	return string(b)
}

// TOML, JSON and readings alone come in by the same page; what is no file is told.
func TestImportForms(t *testing.T) {
	y := newYard(t)
	y.person("Ann Ahrens", "ann", record.Engineer)
	y.person("Dan Dorn", "dan", record.Driver)
	ann := y.signIn("ann")
	for _, tt := range []struct{ name, text, says string }{
		{"fleet.toml", "[[tractor]]\nid = \"reed-01\"\nwidth = \"2500 mm\"\n", "Nothing is wrong. 1 new."},
		{"fleet.toml", "[[tractor]]\nid = \"reed-01\"\nwidht = \"2500 mm\"\n", "One place is wrong."},
		{"fleet.json", `{"tractor": [{"id": "reed-01"}]}`, "Nothing is wrong. 1 new."},
		{"fleet.json", `{"tractor": [`, "wrong."},
		{"fleet.xlsx", "this is no workbook", "One place is wrong."},
		{"fleet.pdf", "%PDF-1.4", "One place is wrong."},
		{"lorry.csv", "id\nreed-01\n", "One place is wrong."},
	} {
		if a := ann.bring(map[string][]byte{tt.name: []byte(tt.text)}, nil); a.status != http.StatusOK || !strings.Contains(a.text(), tt.says) || strings.Contains(a.body, "underpin-import-") {
			t.Errorf("%s %q: %d %.400s", tt.name, tt.text, a.status, a.text())
		}
	}
	if a := ann.bring(nil, nil); a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "Found no file") {
		t.Errorf("no file: %d %s", a.status, a.text())
	}
	y.must(&fleet.AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Registration: "OS-RD 1", Fields: record.Fields{"id": fleet.Text("reed-01")}}})
	feed := map[string][]byte{"telematics.csv": []byte("registration;date;odometer\nOS RD 1;2026-03-01T08:00:00Z;412300\nOS RD 9;2026-03-01T08:00:00Z;1\n")}
	a := ann.bring(feed, url.Values{"what": {"readings"}})
	if !strings.Contains(a.text(), "unit") || len(a.table("problems")) == 0 {
		t.Errorf("readings without a unit: %s", a.text())
	}
	a = ann.bring(feed, url.Values{"what": {"readings"}, "unit": {"km"}})
	wrong := a.table("problems")
	if len(wrong) != 1 || wrong[0][0] != "✕ telematics.csv, row 3" || !strings.Contains(wrong[0][2], "OS RD 9") {
		t.Fatalf("readings: %q %s", wrong, a.text())
	}
	form := a.form()
	form.Set("do", "good")
	if a := ann.post("/import", form); !strings.Contains(a.text(), "1 readings are new") {
		t.Errorf("readings: %s", a.text())
	}
	if a := y.signIn("dan").get("/import"); a.status != http.StatusForbidden {
		t.Errorf("a driver at the import: %d", a.status)
	}
}
