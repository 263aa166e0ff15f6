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
	"strings"
	"syscall"
	"time"

	"underpin/exchange"
	"underpin/fleet"
)

// A Config is what a server needs.
type Config struct {
	// Register is what the pages keep the fleet in. Without one they show Fleet, and
	// nobody signs in.
	Register   *fleet.Register
	Guest      *fleet.Actor // who acts where nobody is signed in; nil: nobody does
	URL        string       // address that people use, where a proxy stands before this one; https:// makes cookies secure
	TrustProxy bool         // the last entry of X-Forwarded-For is the client's address
	Metrics    *Metrics     // counts requests; nil: nothing does
	// MetricsAddr is the address that the metrics are served on, without an account;
	// empty: on none.
	MetricsAddr string
	// First is the secret of the one-time link with which the first account is made;
	// empty: there is one.
	First     string
	OIDC      *OIDC  // identity provider that people may sign in through as well; nil: none
	Cert, Key string // files with which https is served without a proxy; empty: http

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

// An AddrError says why an address cannot be served on, and what could be done.
type AddrError struct {
	Addr, Found, Expected string
	Malformed             bool // the address is none, or may not be: bad input, not the environment
}

func (e *AddrError) Error() string {
	return fmt.Sprintf("address %s: found %s; expected %s", e.Addr, e.Found, e.Expected)
}

// cannotOpen words why the system did not open an address.
func cannotOpen(addr string, err error) *AddrError {
	e := &AddrError{Addr: addr, Found: addr + ", which cannot be opened: " + err.Error(), Expected: "an address of this machine with a free port"}
	var unknown *net.DNSError
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		e.Found = addr + ", in use by another program"
		e.Expected = "a free port: end that program, or name another port, or name none and the next free one is taken"
	case errors.Is(err, syscall.EACCES), errors.Is(err, syscall.EPERM):
		e.Found, e.Expected = addr+", which this user may not open", "a port from 1024 up, or the right to open this one"
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		e.Found, e.Expected = addr+", which is no address of this machine", "127.0.0.1 for this machine alone, or one of its own addresses"
	case errors.As(err, &unknown):
		e.Found, e.Expected = addr+", a name that is not known here", "127.0.0.1 for this machine alone, or one of its own addresses"
	}
	return e
}

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
	if err := serveMetrics(ctx, c); err != nil {
		listener.Close()
		return err
	}
	scheme := "http://"
	if c.Cert != "" {
		scheme = "https://"
	}
	origin := scheme + listener.Addr().String()
	fmt.Fprintf(c.Out, "Underpin is served at %s/  (Ctrl-C ends it)\n", origin)
	if c.Register != nil {
		c.tellFirst(origin, listener.Addr())
	}
	done := make(chan error, 1)
	go func() {
		if c.Cert != "" {
			done <- s.ServeTLS(listener, c.Cert, c.Key)
			return
		}
		done <- s.Serve(listener)
	}()
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

// tellFirst prints the link with which the first account is made, and a warning
// where passwords would cross a network that others can read.
func (c *Config) tellFirst(origin string, at net.Addr) {
	if c.URL != "" {
		origin = strings.TrimSuffix(c.URL, "/")
	}
	tcp, ok := at.(*net.TCPAddr)
	if ok && !tcp.IP.IsLoopback() && !strings.HasPrefix(origin, "https://") {
		fmt.Fprintln(c.Out, "Caution: passwords would cross the network unencrypted. Serve https with --cert and --key, or put a proxy in front and name its address with --url https://...")
	}
	if c.First != "" {
		fmt.Fprintf(c.Out, "There is no account yet. Make the first one here; the link works once:\n  %s\n", welcomeLink(origin, c.First))
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
		return nil, &AddrError{addr, fmt.Sprintf("%q", addr), "host:port, such as " + DefaultAddr, true}
	}
	if ip := net.ParseIP(host); c.Demo && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, &AddrError{addr, fmt.Sprintf("%q for the demo, which has no sign-in", addr), "an address of this machine alone, such as " + DefaultAddr, true}
	}
	first, err := strconv.Atoi(port)
	if err != nil || first < 0 || first > 65535 {
		return nil, &AddrError{addr, fmt.Sprintf("port %q", port), "a port from 0 to 65535", true}
	}
	for p := first; ; p++ {
		at := net.JoinHostPort(host, strconv.Itoa(p))
		l, err := net.Listen("tcp", at)
		switch {
		case err == nil:
			return l, nil
		case c.Addr == "" && p < first+portsTried && errors.Is(err, syscall.EADDRINUSE):
			continue
		case c.Addr == "" && p > first:
			e := cannotOpen(at, err)
			e.Found = fmt.Sprintf("no free port from %d to %d", first, p)
			return nil, e
		}
		return nil, cannotOpen(at, err)
	}
}
