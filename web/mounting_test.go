package web

import (
	"bytes"
	"encoding/json"
	"html"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"underpin/examples"
	"underpin/mounting"
)

const (
	demoFitting  = "brief=heron-road&fitting=heron-plate"
	demoProposal = "brief=heron-road&base=angles&part=plate-40&part=wheel-150&at=3138"
)

func get(h http.Handler, address string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, address, nil))
	return w
}

// A brief is answered with a sentence and ranked proposals, each with what limits
// it, a drawing and a way to its specification.
func TestMountingPage(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	for path, says := range map[string][]string{
		"/mounting":                                                  {"mountings answer the brief.", "Chosen for this brief", "Fifth wheel 185 mm on a flat plate", "what limits it", `id="proposal-1-title"`, "/mounting/specification?aim=margin"},
		"/mounting?brief=heron-road&aim=mass":                        {"By the aim “least mass” the best is", "angles + plate-40 + wheel-150"},
		"/mounting?brief=swan-two-heights":                           {"lift raised 200", "Wanted heights, as in the parts file: high 1130"},
		"/mounting?own=1&trailer=weir-34&height=1400&within=2":       {"No mounting of the catalogue answers the brief.", "What came nearest", "wider"},
		"/mounting?own=1&trailer=weir-34&wished=weir-34":             {"answer the brief."},
		"/mounting?brief=heron-road&tractor=teal-12":                 {"Cannot tell.", "A chassis for tractor teal-12"},
		"/mounting?brief=heron-road&law=au":                          {"mounting"},
		"/mounting/specification?" + demoFitting:                     {"Draft, nothing stands against its approval.", "3 100 ± 5 mm", "260 N·m", "theoretical maximum, not a fitting torque", "Invented document 31, issue 2, page 4", "DRAFT, not approved for fitting", "Checks before handing over"},
		"/mounting/specification?" + demoFitting + "&by=B.+Carr":     {"Approved for fitting.", "By B. Carr"},
		"/mounting/specification?" + demoProposal:                    {"Draft, it cannot be told.", "not known: enter it from the part’s document; there is no default", "not entered: what is not bolted is not held"},
		"/mounting/specification?" + demoProposal + "&by=B.+Carr":    {"Not approved:", "DRAFT"},
		"/mounting/specification?" + demoProposal + "&tolerance=4mm": {"3 138 ± 4 mm"},
	} {
		w := get(h, path)
		body := strings.ReplaceAll(html.UnescapeString(w.Body.String()), "\u00a0", " ")
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", path, w.Code)
		}
		for _, s := range says {
			if !strings.Contains(body, s) {
				t.Errorf("%s lacks %q", path, s)
			}
		}
		if strings.Contains(path, "by=B.+Carr") && strings.Contains(path, demoFitting) && strings.Contains(body, "DRAFT") {
			t.Errorf("%s is approved and says DRAFT", path)
		}
	}
}

// The sheet and its drawings are files; the data is that of the command line.
func TestMountingFiles(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	for file, begins := range map[string]string{
		"specification.pdf": "%PDF-", "side.svg": "<?xml", "plan.pdf": "%PDF-", "side.png": "\x89PNG", "plan.dxf": "999", "holes-plate-12.dxf": "999", "holes-angles.svg": "<?xml",
	} {
		w := get(h, "/mounting/"+file+"?"+demoFitting+"&date=2026-11-25&number=M-7")
		name := w.Header().Get("Content-Disposition")
		if w.Code != http.StatusOK || !strings.HasPrefix(strings.TrimSpace(w.Body.String()), begins) || !strings.Contains(name, "heron-07-M-7-"+file) {
			t.Errorf("%s: %d, %q, %.20q", file, w.Code, name, w.Body.String())
		}
	}
	a, b := get(h, "/mounting/specification.pdf?"+demoFitting+"&date=2026-11-25"), get(h, "/mounting/specification.pdf?"+demoFitting+"&date=2026-11-25")
	if !bytes.Equal(a.Body.Bytes(), b.Body.Bytes()) {
		t.Error("the same question gives two papers")
	}
	w := get(h, "/mounting/specification.json?"+demoFitting)
	var s mounting.Specification
	if err := json.Unmarshal(w.Body.Bytes(), &s); err != nil || s.Form != mounting.Form || s.Answer != "fits" || w.Header().Get("Content-Type") != "application/json" {
		t.Errorf("the data: %v, form %q, answer %q", err, s.Form, s.Answer)
	}
	// Printed at a scale, a drawing is as large as the thing over the scale.
	one, ten := get(h, "/mounting/holes-plate-12.svg?"+demoFitting+"&scale=1"), get(h, "/mounting/holes-plate-12.svg?"+demoFitting+"&scale=10")
	if !strings.Contains(one.Body.String(), `data-scale="1"`) || !strings.Contains(ten.Body.String(), `data-scale="10"`) {
		t.Error("the scale that was asked for is not the drawing's")
	}
}

// What is asked wrongly is told where and what was expected.
func TestMountingWrongQuestions(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	for _, tt := range []struct {
		path   string
		status int
		says   string
	}{
		{"/mounting?brief=nothing", 404, "one of heron-road"},
		{"/mounting?tractor=nobody", 404, "nobody"},
		{"/mounting?law=atlantis", 404, "one of au, de, eu"},
		{"/mounting?aim=beauty", 400, "one of margin, mass, trailers, headroom"},
		{"/mounting?height=tall", 400, "a length, such as 1150"},
		{"/mounting?height=NaN", 400, "a length"},
		{"/mounting?own=1&trailer=nobody", 404, "nobody"},
		{"/mounting?own=1&trailer=%3Cscript%3Ealert(1)%3C/script%3E", 404, "&lt;script&gt;"},
		{"/mounting/specification", 400, "a mounting chosen in the parts file"},
		{"/mounting/specification?fitting=nothing", 404, "one of heron-plate"},
		{"/mounting/specification?base=angles&part=nothing&at=3100", 400, "the id of a part of this file"},
		{"/mounting/specification?base=frame&part=wheel-150&at=3100", 400, "what it may stand on"},
		{"/mounting/specification?base=sky&part=wheel-150&at=3100", 400, "a base that the chassis has"},
		{"/mounting/specification?" + demoFitting + "&date=tomorrow", 400, "a day such as 2026-11-25"},
		{"/mounting/specification.pdf?" + demoFitting + "&by=me&on=soon", 400, "a day such as"},
		{"/mounting/side.pdf?" + demoFitting + "&scale=0", 400, "1 to 200"},
		{"/mounting/side.exe?" + demoFitting, 404, "no such page"},
		{"/mounting/holes-nothing.svg?" + demoFitting, 404, "no such page"},
	} {
		w := get(h, tt.path)
		if w.Code != tt.status || !strings.Contains(w.Body.String(), tt.says) {
			t.Errorf("%s: status %d, want %d; says %q: %t", tt.path, w.Code, tt.status, tt.says, strings.Contains(w.Body.String(), tt.says))
		}
		if strings.Contains(w.Body.String(), "<script>alert") {
			t.Errorf("%s lets a script through", tt.path)
		}
	}
}

// The parts file lies beside the fleet file; without one, or with a wrong one,
// the page says so.
func TestPartsFileBesideTheFleet(t *testing.T) {
	folder := t.TempDir()
	h := Handler(Config{Fleet: demo(t), Path: filepath.Join(folder, "fleet.toml")})
	if w := get(h, "/mounting"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "There is no catalogue of parts yet.") {
		t.Errorf("without a file: %d", w.Code)
	}
	write := func(data []byte) {
		if err := os.WriteFile(filepath.Join(folder, "parts.toml"), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write([]byte("[[part]]\nid = \"x\"\nkind = \"pedestal\"\n"))
	if w := get(h, "/mounting"); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "a part without height") {
		t.Errorf("with a wrong file: %d", w.Code)
	}
	write([]byte("[[prat]]\n"))
	if w := get(h, "/mounting"); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "prat") {
		t.Errorf("with an unreadable file: %d", w.Code)
	}
	data, err := examples.Files.ReadFile("parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	write(data)
	if w := get(h, "/mounting"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "answer the brief.") {
		t.Errorf("with the file: %d", w.Code)
	}
}

// Every address that a page leads to answers, so that no question is lost on the
// way.
func TestMountingLinksAnswer(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	tried := 0
	for _, from := range []string{"/mounting?brief=heron-road&aim=headroom", "/mounting/specification?" + demoFitting} {
		for _, part := range strings.Split(get(h, from).Body.String(), `href="`)[1:] {
			link, _, _ := strings.Cut(part, `"`)
			if !strings.HasPrefix(link, "/mounting") || strings.Contains(link, ".png") { // a picture takes long
				continue
			}
			link = html.UnescapeString(link)
			tried++
			if w := get(h, link); w.Code != http.StatusOK {
				t.Errorf("%s leads to %s: status %d", from, link, w.Code)
			}
		}
	}
	if tried < 15 {
		t.Errorf("%d links tried", tried)
	}
}

// A question goes into an address and comes back out of it.
func TestMountingQuestionComesBack(t *testing.T) {
	r := httptest.NewRequest(http.MethodGet, "/mounting?brief=b&aim=mass&own=1&trailer=x&trailer=y&wished=z&height=1150&within=12&base=angles&part=p&part=q&at=3100.5&number=N+1&by=%26", nil)
	a := readMountingAsk(r.URL.Query())
	again := readMountingAsk(httptest.NewRequest(http.MethodGet, "/mounting?"+a.query(), nil).URL.Query())
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(again)
	if !bytes.Equal(x, y) {
		t.Errorf("%s came back as %s", x, y)
	}
}
