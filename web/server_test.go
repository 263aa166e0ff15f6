package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"underpin/examples"
	"underpin/exchange"
	"underpin/fleet"
)

func demo(t testing.TB) *exchange.FleetFile {
	t.Helper()
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestBusyPortTakesTheNext(t *testing.T) {
	first, err := listen(Config{})
	if err != nil {
		t.Fatal(err)
	}
	defer first.Close()
	second, err := listen(Config{})
	if err != nil {
		t.Fatal(err)
	}
	defer second.Close()
	if a, b := first.Addr().(*net.TCPAddr).Port, second.Addr().(*net.TCPAddr).Port; b <= a || b > a+portsTried {
		t.Errorf("the second took port %d after %d", b, a)
	}
	var e *AddrError
	if _, err := listen(Config{Addr: first.Addr().String()}); !errors.As(err, &e) {
		t.Errorf("an address that was asked for and is busy: %v, want an *AddrError", err)
	}
}

// busy is an address that another server has.
func busy(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l.Addr().String()
}

func TestAddressesThatAreRefused(t *testing.T) {
	for _, tt := range []struct {
		c         Config
		why       string
		malformed bool
	}{
		{Config{Addr: "0.0.0.0:0", Demo: true}, "no sign-in", true},
		{Config{Addr: "example.invalid:0", Demo: true}, "no sign-in", true},
		{Config{Addr: "8417"}, "host:port", true},
		{Config{Addr: "127.0.0.1:http"}, "a port", true},
		{Config{Addr: "127.0.0.1:70000"}, "a port", true},
		// The rest is for the machine to decide. 192.0.2.0/24 is nobody's (RFC 5737).
		{Config{Addr: "192.0.2.1:0"}, "no address of this machine", false},
		{Config{Addr: busy(t)}, "in use by another program; expected a free port: end that program, or name another port", false},
	} {
		l, err := listen(tt.c)
		if err == nil {
			l.Close()
		}
		var e *AddrError
		if !errors.As(err, &e) || !strings.Contains(e.Error(), tt.why) || e.Malformed != tt.malformed {
			t.Errorf("%+v: %+v, want an *AddrError with %q, malformed %t", tt.c, e, tt.why, tt.malformed)
		}
	}
}

// The server prints its address, answers, and ends when it is told to.
func TestServeStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	var out bytes.Buffer
	done := make(chan error, 1)
	ready := make(chan string, 1)
	go func() {
		done <- Serve(ctx, Config{Fleet: demo(t), Path: "demo.toml", Demo: true, Addr: "127.0.0.1:0", Out: writerFunc(func(b []byte) (int, error) {
			out.Write(b)
			if _, rest, ok := strings.Cut(out.String(), "http://"); ok {
				if address, _, ok := strings.Cut(rest, "/"); ok {
					ready <- address
				}
			}
			return len(b), nil
		})})
	}()
	address := <-ready
	answer, err := http.Get("http://" + address + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(answer.Body)
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK || string(body) != "ok\n" {
		t.Errorf("healthz: %d %q", answer.StatusCode, body)
	}
	cancel()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("it did not stop")
	}
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(b []byte) (int, error) { return f(b) }

// What is asked wrongly gets a page or JSON that says what was found and what
// was expected; nothing makes the program fail.
func TestWrongQuestions(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	for _, tt := range []struct {
		path   string
		status int
		says   string
	}{
		{"/pairing?tractor=nobody", 404, "nobody"},
		{"/pairing?trailer=%3Cscript%3Ealert(1)%3C/script%3E", 404, "&lt;script&gt;"},
		{"/pairing?law=atlantis", 404, "one of au, de, eu"},
		{"/pairing?law=../../etc/passwd", 404, "one of au, de, eu"},
		{"/pairing?load=feathers", 404, "feathers"},
		{"/pairing?lead=far", 400, "a length, such as 600"},
		{"/pairing?lead=NaN", 400, "a length"},
		{"/pairing?lead=99999999", 200, "750"},
		{"/pairing?set=-4", 200, "Heron 07"},
		{"/pairing.json?law=atlantis", 404, `"exit": 2`},
		{"/law/atlantis", 404, "atlantis"},
		{"/formulas/nothing", 404, "no such page"},
		{"/formulas/d-value?tractor-gross=18&trailer-gross=36t&imposed=12t", 200, "the unit is missing"},
		{"/formulas/d-value?tractor-gross=18t", 200, "Not computed"},
		{"/drawing/side.exe", 404, "no such page"},
		{"/drawing/side.svg?tractor=nobody", 404, "nobody"},
		{"/static/../handler.go", 404, ""},
		{"/nothing", 404, "no such page"},
	} {
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.URL.Path, r.URL.RawQuery, _ = strings.Cut(tt.path, "?")
		h.ServeHTTP(w, r)
		if w.Code == http.StatusMovedPermanently || w.Code == http.StatusTemporaryRedirect {
			continue // the router cleaned the path
		}
		if w.Code != tt.status || !strings.Contains(w.Body.String(), tt.says) {
			t.Errorf("%s: status %d, want %d; body has %q: %t", tt.path, w.Code, tt.status, tt.says, strings.Contains(w.Body.String(), tt.says))
		}
		if strings.Contains(w.Body.String(), "<script>alert") {
			t.Errorf("%s lets a script through", tt.path)
		}
		if w.Header().Get("Content-Security-Policy") == "" {
			t.Errorf("%s has no content policy", tt.path)
		}
	}
}

// The JSON of the page is the JSON of the command line.
func TestPairingJSON(t *testing.T) {
	h := Handler(Config{Fleet: demo(t), Path: "demo.toml", Demo: true})
	for path, says := range map[string]string{
		"/pairing.json?tractor=heron-07&trailer=marsh-23&law=eu&load=laden": `"slider_range_mm": null`,
		"/matrix.json?law=eu": `"pairs": [`,
	} {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), says) || w.Header().Get("Content-Type") != "application/json" {
			t.Errorf("%s: %d %s", path, w.Code, w.Header().Get("Content-Type"))
		}
	}
	for _, file := range []string{"side.svg", "plan.pdf", "turning.png", "side.dxf"} {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/drawing/"+file+"?tractor=heron-07&trailer=marsh-23", nil))
		if w.Code != http.StatusOK || w.Body.Len() < 1000 {
			t.Errorf("%s: %d, %d bytes", file, w.Code, w.Body.Len())
		}
	}
}

// What is made when it is first asked for can be made: every page, and the
// interface with each of its operations.
func TestWhatIsMadeLater(t *testing.T) {
	for _, c := range []Config{{}, {Register: &fleet.Register{}}} {
		s := &site{Config: c, hash: hashes()}
		s.loadTemplates()
		for name := range titles {
			if _, err := s.pages[name](); err != nil {
				t.Error(err)
			}
		}
		a := newAPI(s)
		a.made()
		if len(a.routes) != len(a.serve)+1 { // and the document
			t.Errorf("%d routes, %d operations", len(a.routes), len(a.serve))
		}
		for _, r := range a.routes[:len(a.routes)-1] {
			if a.serve[r.pattern] == nil {
				t.Errorf("nothing serves %s", r.pattern)
			}
		}
	}
}
