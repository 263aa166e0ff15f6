package fleet

import (
	"strings"
	"testing"

	"underpin/exchange"
	"underpin/record"
)

// tables is a register in the tables that people fill in: JSON, the same fields as in
// a workbook.
const tables = `{"law": "eu",
"tractor": [{"id": "reed-01", "width": "2.5 m"}],
"semi-trailer": [{"id": "sedge-01"}],
"papers": [{"vehicle": "reed-01", "registration": "OS RD 1", "vin": "W0000000000000001", "depot": "Osiermere"}],
"depot": [{"name": "Osiermere", "address": "Reedbank 4", "time-zone": "Europe/Berlin"}],
"part-type": [{"name": "FW-152", "part": "fifth-wheel", "d-value": "152 kN", "imposed": "20 t", "pin": "50 mm", "document": "Fitting instructions (invented)", "edition": "2024-03",
  "dimension": [{"name": "lock-wear", "new": "50.8 mm", "limit": "53 mm", "sense": "max"}], "interval": [{"task": "grease", "distance": "10000 km"}], "torque": [{"where": "plate", "least": "260 N.m"}]}],
"part": [{"part": "fifth-wheel", "type": "FW-152", "serial": "4711", "vehicle": "reed-01", "place": "fifth-wheel", "fitted": "2026-03-01", "meter": "odometer", "fitted-at": "1000 km"},
  {"part": "kingpin", "serial": "K-1", "pin": "50 mm", "read-from": "plate", "depot": "Osiermere"}],
"reading": [{"vin": "W0000000000000001", "meter": "odometer", "at": "2026-03-02T08:00:00Z", "distance": "1100 km", "given-in": "km"}]}`

func TestTablesComeIn(t *testing.T) {
	y := newYard(t)
	read, problems := exchange.ParseJSON[exchange.Register]("register.json", []byte(tables))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	bring := func(how How) *DeliveryReport {
		t.Helper()
		d, err := y.TablesDelivery(y.ctx, read, "register.json")
		if err != nil {
			t.Fatal(err)
		}
		report, err := y.Import(y.ctx, d, how)
		if err != nil {
			t.Fatal(err)
		}
		return report
	}
	// The readings name a vehicle by what only this delivery tells of it.
	dry := bring(DryRun)
	if wrong := dry.Wrong(); len(wrong) != 1 || wrong[0].Column() != "reading[0].vehicle" || dry.Entered {
		t.Fatalf("the dry run: %v", wrong)
	}
	readings := read.Readings
	read.Readings = nil
	if report := bring(AllGood); !report.Entered || report.Counts[RowAdds] != 7 {
		t.Fatalf("entered: %v %v %v", report.Entered, report.Counts, report.Wrong())
	}
	read.Readings = readings
	if report := bring(AllGood); report.Readings.Entered != 1 || report.Counts[RowSame] != len(report.Rows) {
		t.Errorf("once more, with the readings: %v %+v", report.Counts, report.Readings)
	}
	v, err := y.VehiclePage(y.ctx, y.byNo("reed-01"))
	if err != nil {
		t.Fatal(err)
	}
	if v.Vehicle.VIN != "W0000000000000001" || len(v.Fitted) != 1 || *v.Fitted[0].FromReading.Metres != 1_000_000 || v.Ran.Known != 100_000 {
		t.Errorf("the vehicle: %+v, fitted %+v, ran %v", v.Vehicle.VehicleAdded, v.Fitted, v.Ran.Known)
	}
	p, err := y.PartPage(y.ctx, v.Fitted[0].Part)
	if err != nil {
		t.Fatal(err)
	}
	if p.Type == nil || *p.Type.D != 152_000 || *p.Type.Imposed != 20_000 || *p.Type.Pin != 50 || *p.Type.Intervals[0].Metres != 10_000_000 || p.Type.Source.Edition != "2024-03" {
		t.Errorf("its type: %+v", p.Type)
	}
}

// Whatever is wrong is told by the column of the table that it stands in.
func TestTablesTellTheColumn(t *testing.T) {
	y := newYard(t)
	for _, tt := range []struct{ from, to, column string }{
		{`"type": "FW-152", "serial": "4711"`, `"type": "FW-153", "serial": "4711"`, "part[0].type"},
		{`"vehicle": "reed-01", "place"`, `"vehicle": "reed-02", "place"`, "part[0].vehicle"},
		{`"read-from": "plate", `, ``, "part[1].read-from"},
		{`"edition": "2024-03"`, `"page": "7"`, "part-type[0].edition"},
		{`"depot": "Osiermere"}],
"depot"`, `"depot": "Elsewhere"}],
"depot"`, "tractor[0].depot"},
		{`"vin": "W0000000000000001", "meter"`, `"vin": "W0000000000000002", "meter"`, "reading[0].vehicle"},
	} {
		text := strings.Replace(tables, tt.from, tt.to, 1)
		if text == tables {
			t.Fatalf("%s is not in the tables", tt.from)
		}
		read, problems := exchange.ParseJSON[exchange.Register]("register.json", []byte(text))
		if len(problems) > 0 {
			t.Fatalf("%s: %v", tt.column, problems)
		}
		d, err := y.TablesDelivery(y.ctx, read, "register.json")
		if err != nil {
			t.Fatal(err)
		}
		report, err := y.Import(y.ctx, d, AllGood)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, p := range report.Wrong() {
			found = found || p.Column() == tt.column
		}
		if !found || report.Entered {
			t.Errorf("want %s among %v; entered %t", tt.column, report.Wrong(), report.Entered)
		}
	}
	if l, err := y.List(y.ctx, ListQuery{Kind: record.VehicleAsset}); err != nil || len(l.Items) != 0 {
		t.Errorf("%d vehicles came in: %v", len(l.Items), err)
	}
}
