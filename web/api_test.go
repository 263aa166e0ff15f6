package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"underpin/fleet"
	"underpin/record"
)

// A program calls the interface by its document: it finds the operation there, and
// holds each answer against what is described.
type program struct {
	*yard
	token  string
	doc    map[string]any
	schema *jsonschema.Compiler
	ready  map[string]*jsonschema.Schema
	called map[string]bool // operations that succeeded
}

func (y *yard) program(token string) *program {
	y.Helper()
	a := y.visitor().get("/api/openapi.json")
	if a.status != http.StatusOK {
		y.Fatalf("the document: %d %s", a.status, a.body)
	}
	p := &program{yard: y, token: token, ready: map[string]*jsonschema.Schema{}, called: map[string]bool{}, schema: jsonschema.NewCompiler()}
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(a.body))
	if err != nil {
		y.Fatal(err)
	}
	p.doc = doc.(map[string]any)
	p.schema.AssertFormat()
	if err := p.schema.AddResource("openapi.json", doc); err != nil {
		y.Fatal(err)
	}
	return p
}

// issue makes a token for an account.
func (y *yard) issue(account record.Asset, scopes ...fleet.Permission) string {
	y.Helper()
	done := y.must(&fleet.IssueToken{Account: account, Title: "test", Scopes: scopes, Expires: record.At(time.Now().Add(time.Hour))})
	return done.Secret
}

// everyScope is all that a token may be limited to.
func everyScope() []fleet.Permission {
	return slices.DeleteFunc(fleet.Permissions(record.Manager), func(p fleet.Permission) bool { return p == fleet.Tokens || p == fleet.People })
}

type operation struct{ id, method, path string }

func (p *program) operations() []operation {
	var all []operation
	for path, item := range p.doc["paths"].(map[string]any) {
		for method, op := range item.(map[string]any) {
			all = append(all, operation{op.(map[string]any)["operationId"].(string), strings.ToUpper(method), path})
		}
	}
	slices.SortFunc(all, func(a, b operation) int { return strings.Compare(a.id, b.id) })
	return all
}

func (p *program) operation(id string) operation {
	p.Helper()
	for _, op := range p.operations() {
		if op.id == id {
			return op
		}
	}
	p.Fatalf("the document has no operation %s", id)
	return operation{}
}

// A call is one request. In a path {id} and {name} stand for ID.
type call struct {
	ID      string
	Query   string
	Body    any // as JSON; a string or bytes as they are
	Media   string
	IfMatch string
}

// ask calls an operation and holds the answer against the document.
func (p *program) ask(id string, c call, want int) map[string]any {
	p.Helper()
	op := p.operation(id)
	path := strings.NewReplacer("{id}", url.PathEscape(c.ID), "{name}", url.PathEscape(c.ID)).Replace(op.path)
	if c.Query != "" {
		path += "?" + c.Query
	}
	var body io.Reader
	switch b := c.Body.(type) {
	case nil:
	case string:
		body = strings.NewReader(b)
	case []byte:
		body = bytes.NewReader(b)
	default:
		raw, err := json.Marshal(b)
		if err != nil {
			p.Fatal(err)
		}
		body = bytes.NewReader(raw)
	}
	r, err := http.NewRequest(op.method, p.url+path, body)
	if err != nil {
		p.Fatal(err)
	}
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	for name, value := range map[string]string{"Content-Type": c.Media, "If-Match": c.IfMatch, "Authorization": "Bearer " + p.token} {
		if value != "" && value != "Bearer " {
			r.Header.Set(name, value)
		}
	}
	a := p.visitor().do(r)
	if a.status != want {
		p.Fatalf("%s %s: status %d, want %d: %.1500s", op.method, path, a.status, want, a.body)
	}
	if a.status < 300 {
		p.called[id] = true
	}
	media, _, _ := strings.Cut(a.head.Get("Content-Type"), ";")
	at := fmt.Sprintf("openapi.json#/paths/%s/%s/responses/%d/content/%s/schema", pointer(op.path), strings.ToLower(op.method), a.status, pointer(media))
	s := p.ready[at]
	if s == nil {
		if s, err = p.schema.Compile(at); err != nil {
			p.Fatalf("%s answered with %d and %s, which the document does not describe: %v", id, a.status, media, err)
		}
		p.ready[at] = s
	}
	if media != "application/json" {
		return map[string]any{"bytes": a.body}
	}
	value, err := jsonschema.UnmarshalJSON(strings.NewReader(a.body))
	if err != nil {
		p.Fatalf("%s: %v", id, err)
	}
	if err := s.Validate(value); err != nil {
		p.Errorf("%s: the answer is not as described: %v\n%.2000s", id, err, a.body)
	}
	m, ok := value.(map[string]any)
	if !ok {
		p.Fatalf("%s: the answer is no object: %.300s", id, a.body)
	}
	m["etag"] = a.head.Get("ETag")
	return m
}

func pointer(s string) string {
	return url.PathEscape(strings.NewReplacer("~", "~0", "/", "~1").Replace(s))
}

// at reaches into an answer.
func at(v any, path ...any) any {
	for _, step := range path {
		switch s := step.(type) {
		case string:
			m, _ := v.(map[string]any)
			v = m[s]
		case int:
			l, _ := v.([]any)
			if s >= len(l) {
				return nil
			}
			v = l[s]
		}
	}
	return v
}

func text(v any, path ...any) string { return fmt.Sprint(at(v, path...)) }

// The document that is served is an OpenAPI 3.1 document: it is held against the
// schema that the OpenAPI Initiative publishes for them.
func TestAPIDocumentIsOpenAPI(t *testing.T) {
	p := newYard(t).program("")
	raw, err := os.ReadFile("testdata/oas31-schema.json")
	if err != nil {
		t.Fatal(err)
	}
	meta, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("oas31.json", meta); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("oas31.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(p.doc); err != nil {
		t.Error(err)
	}
	if p.doc["openapi"] != "3.1.0" {
		t.Errorf("openapi is %v", p.doc["openapi"])
	}
	seen := map[string]bool{}
	for _, op := range p.operations() {
		if seen[op.id] {
			t.Errorf("%s stands twice", op.id)
		}
		seen[op.id] = true
		o := at(p.doc, "paths", op.path, strings.ToLower(op.method))
		if text(o, "summary") == "" || at(o, "security") == nil {
			t.Errorf("%s has no summary, or does not say who may", op.id)
		}
		for _, name := range []string{"id", "name"} {
			if strings.Contains(op.path, "{"+name+"}") && !strings.Contains(fmt.Sprint(at(o, "parameters")), "in:path") {
				t.Errorf("%s does not describe {%s}", op.id, name)
			}
		}
		if ref := text(o, "responses", "422", "content", "application/json", "schema", "$ref"); !strings.HasSuffix(ref, "/ApiError") && !strings.HasSuffix(ref, "/APIError") {
			t.Errorf("%s describes its errors as %s", op.id, ref)
		}
	}
	bad := map[string]any{"openapi": "3.1.0", "paths": map[string]any{}}
	if s.Validate(bad) == nil {
		t.Error("a document without info passes: the schema does not bite")
	}
}

// Every operation of the document is called, goes well, and answers as described.
func TestAPIEveryOperation(t *testing.T) {
	y := newYard(t)
	y.fill()
	p := y.program(y.issue(y.person("Ann Ahrens", "ann", record.Manager), everyScope()...))

	me := p.ask("me", call{}, 200)
	if !strings.HasPrefix(text(me, "name"), "Ann Ahrens") || text(me, "roles", 0) != record.Manager {
		t.Errorf("me: %v", me)
	}

	// UN Regulation No. 55: D = g·0.6·T·R/(T + R − U) = 9.81·0.6·18·36/42 kN.
	calc := p.ask("calculate", call{ID: "d-value", Body: map[string]any{"inputs": map[string]any{"tractor-gross": "18t", "trailer-gross": "36t", "imposed": "12t"}}}, 200)
	d, _ := at(calc, "outputs", "d", "value").(json.Number)
	if v, err := d.Float64(); err != nil || !(v > 90.80 && v < 90.82) {
		t.Errorf("D = %v", at(calc, "outputs", "d"))
	}
	list := p.ask("calculations", call{}, 200)
	if n := len(at(list, "calculations").([]any)); n < 40 {
		t.Errorf("%d calculations", n)
	}
	if sheet := p.ask("calculation", call{ID: "turn"}, 200); text(sheet, "name") != "turn" || text(sheet, "source") == "" {
		t.Errorf("the sheet of turn: %v", sheet)
	}
	if laws := p.ask("laws", call{}, 200); text(laws, "laws", 0, "name") == "<nil>" {
		t.Error("no laws")
	}
	law := p.ask("law", call{ID: "us-ca"}, 200)
	if text(law, "law", "parent") != "us" || len(at(law, "limits").([]any)) < 10 {
		t.Errorf("us-ca: %v", at(law, "law"))
	}

	pair := p.ask("pair", call{Query: "tractor=heron-07&trailer=marsh-23&law=eu&load=laden"}, 200)
	if text(pair, "tractor") != "heron-07" || text(pair, "law") != "eu" || len(at(pair, "findings").([]any)) < 10 {
		t.Errorf("pair: %.300v", pair)
	}
	moved := p.ask("pair", call{Query: "tractor=heron-07&trailer=marsh-23&law=eu&load=laden&lead=650"}, 200)
	if text(moved, "setting", "lead_mm") != "650" {
		t.Errorf("lead=650: %v", at(moved, "setting"))
	}
	matrix := p.ask("matrix", call{Query: "law=eu"}, 200)
	if len(at(matrix, "pairs").([]any)) < 20 {
		t.Errorf("matrix: %d pairs", len(at(matrix, "pairs").([]any)))
	}

	if found := p.ask("find", call{Query: "q=47110815"}, 200); text(found, "items", 0, "kind") != "part" {
		t.Errorf("find: %v", found)
	}
	first := p.ask("vehicles", call{Query: "limit=5&status=active"}, 200)
	if len(at(first, "items").([]any)) != 5 || text(first, "next") == "" {
		t.Errorf("five vehicles: %v", first)
	}
	second := p.ask("vehicles", call{Query: "limit=5&status=active&from=" + url.QueryEscape(text(first, "next"))}, 200)
	if text(second, "items", 0, "id") == text(first, "items", 0, "id") {
		t.Error("the second page begins as the first")
	}
	for _, kind := range []string{"parts", "types", "depots", "notices"} {
		l := p.ask(kind, call{}, 200)
		p.ask(strings.TrimSuffix(kind, "s"), call{ID: text(l, "items", 0, "id")}, 200)
	}
	p.ask("open-notices", call{}, 200)

	vehicle := p.ask("vehicle", call{ID: "heron-07"}, 200)
	if text(vehicle, "number") != "heron-07" || text(vehicle, "fitted", 0, "place") != "fifth-wheel" || text(vehicle, "etag") != `"`+text(vehicle, "head", "version")+`"` {
		t.Errorf("heron-07: %.500v", vehicle)
	}
	if len(at(vehicle, "doubts").([]any)) == 0 {
		t.Error("the reading with a digit too many is not questioned")
	}
	p.ask("mileage", call{ID: "heron-07", Query: "from=2020-01-01T00:00:00Z&to=" + url.QueryEscape(time.Now().UTC().Format(time.RFC3339))}, 200)
	h := p.ask("vehicle-records", call{ID: "heron-07", Query: "limit=2"}, 200)
	if text(h, "records", 0, "asset") != text(vehicle, "head", "asset") {
		t.Errorf("history: %v", h)
	}
	recent := p.ask("records", call{Query: "limit=3"}, 200)
	if len(at(recent, "records").([]any)) != 3 {
		t.Errorf("recent: %v", recent)
	}
	p.ask("record", call{ID: text(h, "records", 0, "id")}, 200)

	// A life: depot, type, vehicles, parts, coupled, fitted, corrected, scrapped.
	add := func(kind string, details map[string]any) string {
		t.Helper()
		done := p.ask("add-"+kind, call{Body: map[string]any{"details": details, "reason": "test"}}, 201)
		return text(done, "id")
	}
	depot := add("depot", map[string]any{"name": "Sedgeholm"})
	typ := add("type", map[string]any{"part": "kingpin", "name": "KP-50 of the test"})
	tractor := add("vehicle", map[string]any{"vehicle": "tractor", "depot": "depot/" + depot, "fields": map[string]any{"id": "reed-01", "width": "2500 mm"}})
	trailer := add("vehicle", map[string]any{"vehicle": "semi-trailer", "fields": map[string]any{"id": "sedge-01"}})
	part := add("part", map[string]any{"part": "kingpin", "type": "type/" + typ, "serial": "KP-1"})
	notice := add("notice", map[string]any{"title": "Look at it", "part": "kingpin", "type": "type/" + typ, "action": "gauge it"})

	change := func(kind, id string, details map[string]any) {
		t.Helper()
		was := p.ask(kind, call{ID: id}, 200)
		done := p.ask("change-"+kind, call{ID: id, IfMatch: text(was, "etag"), Body: map[string]any{"details": details}}, 200)
		if text(done, "record") == "<nil>" {
			t.Errorf("changing the %s entered nothing", kind)
		}
		if is := p.ask(kind, call{ID: id}, 200); text(is, "etag") == text(was, "etag") {
			t.Errorf("the %s has the same version after the change", kind)
		}
	}
	change("depot", depot, map[string]any{"name": "Sedgeholm", "address": "Reedbank 5"})
	change("type", typ, map[string]any{"part": "kingpin", "name": "KP-50 of the test", "class": "H50"})
	change("vehicle", "reed-01", map[string]any{"vehicle": "tractor", "registration": "OS RD 1", "fields": map[string]any{"id": "reed-01", "width": "2550 mm"}})
	change("part", part, map[string]any{"part": "kingpin", "type": "type/" + typ, "serial": "KP-1", "marking": "E1 55R-01 9999"})
	change("notice", notice, map[string]any{"title": "Look at it", "part": "kingpin", "type": "type/" + typ, "action": "gauge it, and replace it"})

	reading := func(km int) map[string]any { return map[string]any{"meter": "odometer", "metres": km * 1000} }
	fitted := p.ask("fit-part", call{ID: part, Body: map[string]any{"vehicle": "vehicle/" + trailer}}, 200)
	correct := map[string]any{"body": map[string]any{"vehicle": "vehicle/" + trailer, "place": "kingpin"}, "happened": time.Now().Add(-time.Hour).UTC().Format(time.RFC3339), "reason": "it was an hour ago"}
	p.ask("correct", call{ID: text(fitted, "record"), Body: correct}, 200)
	coupled := p.ask("couple", call{ID: "sedge-01", Body: map[string]any{"by": "vehicle/" + tractor, "by_reading": reading(100), "place": "Osiermere"}}, 200)
	p.ask("uncouple", call{ID: "sedge-01", Body: map[string]any{"by_reading": reading(150)}}, 200)
	if undone := p.ask("undo", call{ID: text(coupled, "record"), Body: map[string]any{"reason": "it was another"}}, 200); text(undone, "record") == "<nil>" {
		t.Error("undo entered nothing")
	}
	// The pin whose type nobody knows may be one of them: it stays open until seen to.
	n := p.ask("notice", call{ID: notice}, 200)
	if text(n, "open") != "2" {
		t.Errorf("the notice: %v", n)
	}
	for _, x := range at(n, "parts").([]any) {
		p.ask("close-notice-part", call{ID: notice, Body: map[string]any{"part": text(x, "part"), "done": "gauged, 49.9 mm"}}, 200)
	}
	if n := p.ask("notice", call{ID: notice}, 200); text(n, "open") != "0" || text(n, "parts", 0, "done", "done") != "gauged, 49.9 mm" {
		t.Errorf("the notice: %v", n)
	}
	p.ask("close-notice", call{ID: notice, Body: map[string]any{}}, 200)
	p.ask("remove-part", call{ID: part, Body: map[string]any{"depot": "depot/" + depot, "condition": "worn"}}, 200)
	p.ask("scrap-part", call{ID: part, Body: map[string]any{}}, 200)
	p.ask("replace-meter", call{ID: "reed-01", Body: map[string]any{"meter": "odometer", "old_m": 150_000, "new_m": 0}}, 200)
	doubt := at(vehicle, "doubts", 0)
	p.ask("judge-reading", call{ID: "heron-07", Body: map[string]any{"meter": text(doubt, "meter"), "at": text(doubt, "at"), "distance_m": at(doubt, "distance_m"), "decision": "leave-out"}}, 200)

	for _, kind := range []string{"part", "type", "depot", "notice"} {
		id := map[string]string{"part": part, "type": typ, "depot": depot, "notice": notice}[kind]
		p.ask(kind+"-records", call{ID: id}, 200)
	}

	now := time.Now().UTC()
	rows := map[string]any{"source": "test", "readings": []any{
		map[string]any{"vehicle": "reed-01", "at": now.Add(-30 * time.Minute).Format(time.RFC3339), "distance_m": 200_000},
		map[string]any{"vehicle": "vehicle/" + tractor, "meter": "odometer", "at": now.Add(-time.Minute).Format(time.RFC3339), "distance_m": 200_010, "unit": "km"},
	}}
	if report := p.ask("readings", call{Body: rows}, 200); text(report, "entered") != "2" {
		t.Errorf("readings: %v", report)
	}
	if report := p.ask("readings", call{Body: rows}, 200); text(report, "entered") != "0" || text(report, "repeated") != "2" {
		t.Errorf("the same readings again: %v", report)
	}
	p.ask("scrap-vehicle", call{ID: tractor, Body: map[string]any{"reading": map[string]any{"meter": "odometer", "metres": 200_020}}}, 200)
	empty := add("depot", map[string]any{"name": "Nowhere"})
	p.ask("close-depot", call{ID: empty, Body: map[string]any{}}, 200)

	delivery := `{"tractor": [{"id": "reed-02", "width": "2.5 m"}], "depot": [{"name": "Sedgeholm", "address": "Reedbank 6"}]}`
	dry := p.ask("import", call{Body: delivery, Media: "application/octet-stream"}, 200)
	if text(dry, "counts", "add") != "1" || text(dry, "counts", "change") != "1" || text(dry, "entered") != "false" {
		t.Errorf("the dry run: %v", dry)
	}
	p.ask("vehicle", call{ID: "reed-02"}, 404)
	if in := p.ask("import", call{Body: delivery, Media: "application/octet-stream", Query: "how=all-good&reason=test"}, 200); text(in, "entered") != "true" {
		t.Errorf("the import: %v", in)
	}
	p.ask("vehicle", call{ID: "reed-02"}, 200)
	wrong := p.ask("import", call{Body: strings.Replace(delivery, "2.5 m", "2.5 kg", 1), Media: "application/octet-stream", Query: "how=all-good"}, 422)
	if where := text(wrong, "error", "where"); !strings.HasPrefix(where, "delivery.json:1:") || !strings.Contains(where, "width") {
		t.Errorf("a mass for a width is at %s", where)
	}

	proof := p.ask("verify", call{Body: map[string]any{}}, 200)
	if text(proof, "good") != "true" || text(proof, "trusted") != "false" {
		t.Errorf("verify: %v", proof)
	}
	export := p.ask("export", call{}, 200)
	b := text(export, "bytes")
	m, err := fleet.CheckExport(strings.NewReader(b), int64(len(b)))
	if err != nil || m.Records < 30 {
		t.Errorf("the export: %v %v", m, err)
	}

	for _, op := range p.operations() {
		if !p.called[op.id] {
			t.Errorf("%s was not called: it is described and not proved", op.id)
		}
	}
}
