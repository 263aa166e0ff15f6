package exchange_test

import (
	"bytes"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"underpin/exchange"
	"underpin/record"
	"underpin/unit"
)

func at(t testing.TB, s string) exchange.Instant {
	t.Helper()
	i, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		t.Fatal(err)
	}
	return exchange.Instant(record.At(i))
}

// read is a reading of an odometer as the tests below write it: vehicle,
// instant, metres, unit.
func read(t testing.TB, who, when string, metres float64, in string) exchange.Reading {
	return exchange.Reading{Vehicle: who, Meter: record.Odometer, At: at(t, when), Distance: unit.Length(metres), GivenIn: in}
}

var berlin = func() *time.Location {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		panic(err)
	}
	return zone
}()

// strip leaves the places out, which are asked elsewhere.
func strip(all []exchange.Reading) []exchange.Reading {
	all = slices.Clone(all)
	for i := range all {
		all[i].Sheet, all[i].Row = "", 0
	}
	return all
}

// A mile is 1609.344 m (international yard and pound agreement, 1959); Berlin is
// an hour ahead of UTC in winter and two from the last Sunday of March to the last
// of October (time zone database).
func TestFeedsInTheFormsThatPeopleHave(t *testing.T) {
	const zulu = "2026-02-01T06:15:00Z"
	heron := func(metres float64, in string) []exchange.Reading {
		return []exchange.Reading{read(t, "heron-07", zulu, metres, in)}
	}
	for _, tt := range []struct {
		name, text string
		options    exchange.FeedOptions
		want       []exchange.Reading
	}{
		{"unit in the head", "vehicle,at,\"odometer, km\"\nheron-07," + zulu + ",123456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"unit in brackets", "vehicle,at,odometer (km)\nheron-07," + zulu + ",123456.7\n", exchange.FeedOptions{}, heron(123456.7e3, "km")},
		{"unit at the end of the head", "Vehicle,Timestamp,Odometer_km\nheron-07," + zulu + ",123456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"unit in the cell", "vehicle,at,odometer\nheron-07," + zulu + ",1000 mi\n", exchange.FeedOptions{}, heron(1609344, "mi")},
		{"unit in a column", "vehicle,at,meter,distance,unit\nheron-07," + zulu + ",odometer,1000,miles\n", exchange.FeedOptions{}, heron(1609344, "mi")},
		{"unit that was asked for", "vehicle,at,odometer\nheron-07," + zulu + ",123456789\n", exchange.FeedOptions{Unit: "m"}, heron(123456789, "m")},
		{"the cell's own unit goes before the head's", "vehicle,at,odometer_km\nheron-07," + zulu + ",1000 mi\n", exchange.FeedOptions{}, heron(1609344, "mi")},
		{"semicolons, decimal comma, byte order mark", "\ufeffvehicle;at;odometer (km)\nheron-07;" + zulu + ";123456,7\n", exchange.FeedOptions{}, heron(123456.7e3, "km")},
		{"tabs and lines ended twice", "vehicle\tat\todometer_km\r\nheron-07\t" + zulu + "\t123456\r\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"digits in groups", "vehicle,at,odometer_km\nheron-07," + zulu + ",123 456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"a spreadsheet's hint of the separator", "sep=;\nvehicle;at;odometer_km\nheron-07;" + zulu + ";123456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"an offset", "vehicle,at,odometer_km\nheron-07,2026-02-01T07:15:00+01:00,123456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"an offset without colon", "vehicle,at,odometer_km\nheron-07,2026-02-01 07:15+0100,123456\n", exchange.FeedOptions{}, heron(123456e3, "km")},
		{"a zone that was asked for", "vehicle,at,odometer_km\nheron-07,2026-02-01 07:15,123456\n", exchange.FeedOptions{Zone: berlin}, heron(123456e3, "km")},
		{"day and time as in Germany", "vehicle;date;time;odometer_km\nheron-07;01.02.2026;07:15;123456\n", exchange.FeedOptions{Zone: berlin}, heron(123456e3, "km")},
		{"a column and a meter of one's own", "vehicle,at,distance_km,driver\nheron-07," + zulu + ",123456,A. N. Other\n", exchange.FeedOptions{Meter: "odometer"}, heron(123456e3, "km")},
		{"text that would be a formula", "vehicle,at,odometer_km\n\"\"\"=heron\"\"\"," + zulu + ",1\n", exchange.FeedOptions{}, []exchange.Reading{read(t, "=heron", zulu, 1000, "km")}},
		{"the list alone", `[{"vehicle":"heron-07","meter":"odometer","at":"` + zulu + `","distance":"123456 km"}]`, exchange.FeedOptions{}, heron(123456e3, "km")},
		{"a clock that was put back: the first of the two", "vehicle,at,odometer_km\na,2026-10-25 02:30,1\n", exchange.FeedOptions{Zone: berlin},
			[]exchange.Reading{read(t, "a", "2026-10-25T00:30:00Z", 1000, "km")}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := exchange.ParseFeed("feed.csv", []byte(tt.text), tt.options)
			if len(f.Problems) > 0 {
				t.Fatal(f.Problems)
			}
			if diff := cmp.Diff(tt.want, strip(f.Readings)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestFeedOfTwoMetersAndDaysOnly(t *testing.T) {
	f := exchange.ParseFeed("f.csv", []byte("registration,date,hub_km,brake_km\nXX 12,2026-07-01,100,101\nXX 12,2026-07-02,,202\n"), exchange.FeedOptions{Zone: berlin})
	want := []exchange.Reading{
		{Registration: "XX 12", Meter: "hub", At: at(t, "2026-06-30T22:00:00Z"), Distance: 100e3, GivenIn: "km", Day: true, Row: 2},
		{Registration: "XX 12", Meter: "brake", At: at(t, "2026-06-30T22:00:00Z"), Distance: 101e3, GivenIn: "km", Day: true, Row: 2},
		{Registration: "XX 12", Meter: "brake", At: at(t, "2026-07-01T22:00:00Z"), Distance: 202e3, GivenIn: "km", Day: true, Row: 3},
	}
	if diff := cmp.Diff(want, f.Readings); diff != "" || f.Problems != nil {
		t.Error(f.Problems, diff)
	}
}

// The names are those of the standard as client code has them; the values are
// invented. handbook, odometer feeds: metres; names in either case of the first
// letter; moreDataAvailable.
const statuses = `{
 "vehicleStatusResponse": {"vehicleStatuses": [
  {"vin": "INVENTED000000001", "createdDateTime": "2026-02-01T06:15:00.250Z", "receivedDateTime": "2026-02-01T06:16:00Z", "hrTotalVehicleDistance": 123456789, "totalEngineHours": 4321.5, "snapshotData": {"gnssPosition": {"latitude": 1}}},
  {"vin": "INVENTED000000002", "createdDateTime": "2026-02-01T06:15:00Z"}
 ]},
 "moreDataAvailable": true
}`

func TestFeedOfTheOpenStandard(t *testing.T) {
	want := []exchange.Reading{{VIN: "INVENTED000000001", Meter: "odometer", At: at(t, "2026-02-01T06:15:00.25Z"), Distance: 123456789, GivenIn: "m", Row: 3}}
	capital := strings.NewReplacer(`"v`, `"V`, `"c`, `"C`, `"h`, `"H`, `"m`, `"M`).Replace(statuses)
	for _, text := range []string{statuses, capital} {
		f := exchange.ParseFeed("f.json", []byte(text), exchange.FeedOptions{})
		if diff := cmp.Diff(want, f.Readings); diff != "" || f.Problems != nil {
			t.Error(f.Problems, diff)
		}
		if !f.More || f.Without != 1 {
			t.Errorf("more data %t, %d without a distance; want true and 1", f.More, f.Without)
		}
	}
}

// What nothing says is asked for once, and nothing is guessed.
func TestFeedsAskForWhatIsNotSaid(t *testing.T) {
	for _, tt := range []struct{ name, text, ask, where string }{
		{"no unit", "vehicle,at,odometer\na,2026-02-01T06:00:00Z,1\na,2026-02-02T06:00:00Z,2\n", "unit", "f.csv:2:24"},
		{"no zone", "vehicle,at,odometer_km\na,2026-02-01 06:00,1\na,2026-02-02 06:00,2\n", "zone", "f.csv:2:3"},
		{"no meter", "vehicle,at,distance_km\na,2026-02-01T06:00:00Z,1\n", "meter", "f.csv:1:12"},
		{"no unit of a meter in JSON", `[{"vehicle":"a","meter":"hub","at":"2026-02-01T06:00:00Z","distance":5}]`, "unit", "f.csv:1:70"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := exchange.ParseFeed("f.csv", []byte(tt.text), exchange.FeedOptions{})
			if len(f.Problems) != 1 || f.Problems[0].Ask != tt.ask || f.Problems[0].Where() != tt.where {
				t.Errorf("%v, want one question for the %s at %s", f.Problems, tt.ask, tt.where)
			}
			if len(f.Readings) != 0 {
				t.Errorf("%d readings of which one thing is unknown", len(f.Readings))
			}
		})
	}
}

func TestFeedsRefuseWithThePlace(t *testing.T) {
	const head = "vehicle,at,odometer_km\n"
	const when = "2026-02-01T06:00:00Z"
	for _, tt := range []struct{ name, text, where, found, expected string }{
		{"a comma that may be two things", head + "a," + when + ",\"123,456\"\n", "f.csv:2:24 (odometer)", `"123,456"`, "a plain number"},
		{"a point that may be two things", "vehicle;at;odometer_km\na;" + when + ";123.456\n", "f.csv:2:24 (odometer)", "thousands mark", "decimal comma"},
		{"a meter that shows less than nothing", head + "a," + when + ",-5\n", "f.csv:2:24 (odometer)", `"-5" km`, "from 0"},
		{"more than a meter shows", head + "a," + when + ",10000001\n", "f.csv:2:24 (odometer)", `"10000001" km`, "10 000 000 km"},
		{"per cent", head + "a," + when + ",50%\n", "f.csv:2:24 (odometer)", `%`, "km, mi or m"},
		{"a word", head + "a," + when + ",broken\n", "f.csv:2:24 (odometer)", `broken`, "km, mi or m"},
		{"a unit of something else", head + "a," + when + ",5 kg\n", "f.csv:2:24 (odometer)", `"5 kg"`, "km, mi or m"},
		{"a head with another unit", "vehicle,at,\"odometer, kg\"\na," + when + ",1\n", "f.csv:1:12", `"kg"`, "km, mi or m"},
		{"a month that does not exist", head + "a,2026-13-01T06:00:00Z,1\n", "f.csv:2:3 (at)", "2026-13-01", "2026-05-31"},
		{"strokes", head + "a,3/4/2026 06:00,1\n", "f.csv:2:3 (at)", "two ways", "2026-05-31"},
		{"the year dot", head + "a,0001-01-01T00:00:00Z,1\n", "f.csv:2:3 (at)", "0001", "after 1990"},
		{"what is yet to come", head + "a,2036-01-01T00:00:00Z,1\n", "f.csv:2:3 (at)", "yet to come", "before 2026-03-01"},
		{"an hour that was skipped", head + "a,2026-03-29 02:30,1\n", "f.csv:2:3 (at)", "2026-03-29 02:30 in Europe/Berlin", "did not skip"},
		{"no vehicle", head + "," + when + ",1\n", "f.csv:2:1", "without a vehicle", "vin"},
		{"no time", head + "a,,1\n", "f.csv:2:1", "without a time", "when"},
		{"no distance", head + "a," + when + ",\n", "f.csv:2:1", "without a distance", "showed"},
		{"no head for the time", "vehicle,odometer_km\na,1\n", "f.csv:1:1", "no column of the time", "at"},
		{"a meter nobody knows", "vehicle,at,meter,distance_km\na," + when + ",sundial,1\n", "f.csv:2:24 (meter)", "sundial", "odometer, hub or brake"},
		{"a quote that is not closed", head + "\"a," + when + ",1\nb," + when + ",2\n", "f.csv:2:1", "not CSV", "doubled"},
		{"nothing", "", "f.csv", "nothing", "a head"},
		{"text of the wrong encoding", "vehicle,at,odometer_km\nM\xfcller," + when + ",1\n", "f.csv:2:2", "0xFC", "UTF-8"},
		{"text of two bytes", "\xff\xfev\x00e\x00", "f.csv", "UTF-16", "UTF-8"},
		{"an old workbook", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "f.csv", ".xls", ".xlsx"},
		{"a broken zip", "PK\x03\x04 and nothing", "f.csv", "broken workbook", ".xlsx"},
		{"JSON of something else", `{"trips": []}`, "f.csv:1:1", "without readings", "vehicleStatuses"},
		{"broken JSON", `{"reading": [{"vehicle": "a"`, "f.csv:1:29", "ends too early", "valid JSON"},
		{"a list of numbers", `{"reading": [1, 2]}`, "f.csv:1:14", "1", "a reading"},
		{"a field twice", `{"reading": [{"vehicle":"a","vehicle":"b"}]}`, "f.csv:1:29", `"vehicle"`, "each once"},
		{"a name of the standard twice", `{"vehicleStatuses": [{"vin":"a","Vin":"b"}]}`, "f.csv:1:33 (Vin)", "a second time", "each once"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := exchange.ParseFeed("f.csv", []byte(tt.text), exchange.FeedOptions{Zone: berlin, Now: time.Date(2026, 3, 31, 0, 0, 0, 0, time.UTC)})
			if tt.name == "what is yet to come" {
				f = exchange.ParseFeed("f.csv", []byte(tt.text), exchange.FeedOptions{Now: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)})
			}
			if len(f.Problems) == 0 {
				t.Fatalf("no problem; %d readings", len(f.Readings))
			}
			p := f.Problems[0]
			if p.Where() != tt.where || !strings.Contains(p.Found, tt.found) || !strings.Contains(p.Expected, tt.expected) {
				t.Errorf("%s\nwant %s: found … %s …; expected … %s …", p, tt.where, tt.found, tt.expected)
			}
		})
	}
}

// many writes n rows of CSV of which the one of this number is bad.
func many(n, bad int) []byte {
	var b bytes.Buffer
	b.WriteString("vehicle,at,odometer_km\n")
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range n {
		distance := fmt.Sprint(100_000 + i)
		if i+2 == bad {
			distance = "12E45 apples"
		}
		fmt.Fprintf(&b, "v-%d,%s,%s\n", i%100, start.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), distance)
	}
	return b.Bytes()
}

func TestOneBadRowOfTenThousandIsNamed(t *testing.T) {
	f := exchange.ParseFeed("f.csv", many(10_000, 7_777), exchange.FeedOptions{})
	if len(f.Problems) != 1 || f.Problems[0].Row != 7_777 || f.Problems[0].Column != "odometer" {
		t.Errorf("problems %v, want one in row 7777", f.Problems)
	}
	if len(f.Readings) != 9_999 {
		t.Errorf("%d readings, want the other 9999", len(f.Readings))
	}
}

// Ten thousand bad rows are told in a thousand and a sum.
func TestFeedOfNothingButBadRows(t *testing.T) {
	f := exchange.ParseFeed("f.csv", append([]byte("vehicle,at,odometer_km\n"), bytes.Repeat([]byte("a,never,1\n"), 10_000)...), exchange.FeedOptions{})
	if last := f.Problems[len(f.Problems)-1]; len(f.Problems) != 1001 || last.Found != "9000 more problems" {
		t.Errorf("%d problems, the last %v", len(f.Problems), last)
	}
}

// A workbook holds dates as numbers of days: 46054.260416666664 is 2026-02-01
// 06:15, counted from 1899-12-30 (day 1 is 1900-01-01, and 1900 is wrongly taken
// for a leap year). Checked by hand: 46054 days = 126 years of 365 days + 31 leap
// days + 31 days of January + 2.
func TestFeedOfAWorkbook(t *testing.T) {
	book := excelize.NewFile()
	defer book.Close()
	for cell, v := range map[string]any{"A1": "vehicle", "B1": "at", "C1": "odometer, km", "A2": "heron-07", "B2": 46054.260416666664, "C2": 123456.7, "A4": "heron-07", "B4": "2026-02-02T06:15:00Z", "C4": "1000 mi", "A5": "teal-12", "B5": 46055, "C5": "?"} {
		if err := book.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := book.Write(&b); err != nil {
		t.Fatal(err)
	}
	f := exchange.ParseFeed("f.xlsx", b.Bytes(), exchange.FeedOptions{Zone: time.UTC})
	want := []exchange.Reading{
		read(t, "heron-07", "2026-02-01T06:15:00Z", 123456.7e3, "km"),
		read(t, "heron-07", "2026-02-02T06:15:00Z", 1609344, "mi"),
	}
	if diff := cmp.Diff(want, strip(f.Readings)); diff != "" {
		t.Error(diff)
	}
	if len(f.Problems) != 1 || f.Problems[0].Where() != "f.xlsx: sheet Sheet1, row 5, column C (odometer)" {
		t.Errorf("problems %v, want one in C5", f.Problems)
	}
	f = exchange.ParseFeed("f.xlsx", b.Bytes(), exchange.FeedOptions{})
	if len(f.Problems) != 2 || f.Problems[0].Ask != "zone" {
		t.Errorf("problems %v, want the zone asked for once", f.Problems)
	}
}

func randomReadings(t *rapid.T) []exchange.Reading {
	all := make([]exchange.Reading, rapid.IntRange(0, 20).Draw(t, "n"))
	for i := range all {
		r := &all[i]
		r.Vehicle = "v-" + strings.TrimSpace(drawText(t))
		r.VIN, r.Registration = drawText(t), drawText(t)
		r.Meter = rapid.SampledFrom([]string{"odometer", "hub", "brake"}).Draw(t, "meter")
		r.At = exchange.Instant(rapid.Int64Range(631152000e6, 4e15).Draw(t, "at"))
		r.GivenIn = rapid.SampledFrom([]string{"km", "mi", "m"}).Draw(t, "unit")
		r.Distance = unit.Length(rapid.Int64Range(0, 10_000_000_000).Draw(t, "metres"))
		if r.GivenIn == "mi" {
			r.Distance = unit.Length(math.Floor(float64(r.Distance)/1609.344) * 1609.344)
		}
	}
	return all
}

func seq(all []exchange.Reading) iter.Seq2[exchange.Reading, error] {
	return func(yield func(exchange.Reading, error) bool) {
		for _, r := range all {
			if !yield(r, nil) {
				return
			}
		}
	}
}

func TestFeedsLoseNothing(t *testing.T) {
	for name, write := range map[string]func(io.Writer, iter.Seq2[exchange.Reading, error]) error{
		"CSV": exchange.WriteReadingsCSV, "workbook": exchange.WriteReadingsWorkbook, "JSON": exchange.WriteReadingsJSON,
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				all := randomReadings(t)
				var b bytes.Buffer
				if err := write(&b, seq(all)); err != nil {
					t.Fatal(err)
				}
				f := exchange.ParseFeed("f", b.Bytes(), exchange.FeedOptions{})
				if len(f.Problems) > 0 {
					t.Fatal(f.Problems)
				}
				if diff := same(all, strip(f.Readings)); diff != "" {
					t.Fatal(diff)
				}
			})
		})
	}
}

func FuzzParseFeed(f *testing.F) {
	f.Add(many(3, 3))
	f.Add([]byte(statuses))
	f.Add([]byte("registration;date;hub_km\nXX 12;01.02.2026;123,4\n"))
	f.Add([]byte(`{"reading":[{"vehicle":"a","meter":"hub","at":"2026-02-01T06:00:00Z","distance":"5 km"}]}`))
	var b bytes.Buffer
	if err := exchange.WriteReadingsWorkbook(&b, seq([]exchange.Reading{read(f, "a", "2026-02-01T06:15:00Z", 1000, "km")})); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		feed := exchange.ParseFeed("f", data, exchange.FeedOptions{Unit: "km", Zone: time.UTC, Meter: "odometer"})
		for _, p := range feed.Problems {
			if p.File != "f" || p.Found == "" || p.Expected == "" || p.Ask != "" {
				t.Fatalf("a problem that does not say what is wrong: %+v", p)
			}
		}
		for _, r := range feed.Readings {
			if r.Vehicle == "" && r.VIN == "" && r.Registration == "" || r.Meter == "" || r.At == 0 || r.GivenIn == "" || !(0 <= r.Distance && r.Distance <= 1e10) {
				t.Fatalf("not a reading: %+v", r)
			}
		}
		b.Reset()
		if err := exchange.WriteReadingsCSV(&b, seq(feed.Readings)); err != nil {
			t.Fatal(err)
		}
		again := exchange.ParseFeed("again", b.Bytes(), exchange.FeedOptions{})
		for i := range feed.Readings {
			feed.Readings[i].Day = false // is not written
		}
		if diff := same(strip(feed.Readings), strip(again.Readings)); diff != "" || len(again.Problems) > 0 {
			t.Fatal(again.Problems, diff)
		}
	})
}

func BenchmarkReadingsFromCSV(b *testing.B) {
	const n = 100_000
	data := many(n, 0)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if f := exchange.ParseFeed("f.csv", data, exchange.FeedOptions{}); len(f.Readings) != n {
			b.Fatal(f.Problems)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

func BenchmarkReadingsFromTheOpenStandard(b *testing.B) {
	const n = 20_000
	var s bytes.Buffer
	s.WriteString(`{"vehicleStatusResponse":{"vehicleStatuses":[`)
	for i := range n {
		if i > 0 {
			s.WriteByte(',')
		}
		fmt.Fprintf(&s, `{"vin":"INVENTED%09d","createdDateTime":"2026-02-01T06:15:00Z","hrTotalVehicleDistance":%d}`, i, i*1000)
	}
	s.WriteString("]}}")
	for b.Loop() {
		if f := exchange.ParseFeed("f.json", s.Bytes(), exchange.FeedOptions{}); len(f.Readings) != n {
			b.Fatal(f.Problems)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}
