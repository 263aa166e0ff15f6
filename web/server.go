// Package web serves the pages and the JSON interface. It is the only package
// that knows HTTP. Pages work without script; the script that is there only
// saves pressing a button.
package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"time"

	"underpin/exchange"
)

// A Config is what a server needs.
type Config struct {
	Fleet *exchange.FleetFile
	Path  string // of the fleet file; own rulebooks are looked for beside it
	Demo  bool   // the fleet is the invented one, and each page says so
	Addr  string // host:port; empty means DefaultAddr, or a port after it when that is busy
	Out   io.Writer
	Log   *slog.Logger
}

// DefaultAddr is where the pages are served when nothing else is asked for:
// this machine only.
const DefaultAddr = "127.0.0.1:8417"

// portsTried is how many ports after a busy one are tried.
const portsTried = 20

// An AddrError says that the address cannot be served on.
type AddrError struct{ Addr, Why string }

func (e *AddrError) Error() string { return fmt.Sprintf("address %s: %s", e.Addr, e.Why) }

// Serve serves until the context ends, then lets running requests finish.
func Serve(ctx context.Context, c Config) error {
	listener, err := listen(c)
	if err != nil {
		return err
	}
	s := &http.Server{
		Handler: Handler(c), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second,
		WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
	}
	fmt.Fprintf(c.Out, "Underpin is served at http://%s/  (Ctrl-C ends it)\n", listener.Addr())
	done := make(chan error, 1)
	go func() { done <- s.Serve(listener) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		grace, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := s.Shutdown(grace); err != nil {
			return err
		}
		if err := <-done; !errors.Is(err, http.ErrServerClosed) {
			return err
		}
		return nil
	}
}

// listen opens the address. Without one of its own choosing it goes on to the
// next port while one is busy. The demo has no sign-in and is served to this
// machine only.
func listen(c Config) (net.Listener, error) {
	addr := c.Addr
	if addr == "" {
		addr = DefaultAddr
	}
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, &AddrError{addr, "expected host:port, such as " + DefaultAddr}
	}
	if ip := net.ParseIP(host); c.Demo && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, &AddrError{addr, "the demo has no sign-in and is served on this machine only; expected a loopback address such as " + DefaultAddr}
	}
	first, err := strconv.Atoi(port)
	if err != nil || first < 0 || first > 65535 {
		return nil, &AddrError{addr, "expected a port from 0 to 65535"}
	}
	for p := first; ; p++ {
		l, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(p)))
		if err == nil {
			return l, nil
		}
		if c.Addr != "" || p >= first+portsTried {
			return nil, &AddrError{net.JoinHostPort(host, strconv.Itoa(p)), "cannot be opened: " + err.Error()}
		}
	}
}
