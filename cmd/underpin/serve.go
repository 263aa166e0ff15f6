package main

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"strings"
	"sync"

	"underpin/examples"
	"underpin/exchange"
	"underpin/fleet"
	"underpin/web"
)

type serveCmd struct {
	Demo  bool   `help:"Serve the invented demo fleet, to this machine only, without sign-in." xor:"fleet"`
	Fleet string `help:"Serve this fleet file, without a register." placeholder:"FILE" xor:"fleet" env:"UNDERPIN_FLEET"`
	where

	Addr       string `help:"Address to serve on. Default: 127.0.0.1:8417, or the next free port." placeholder:"HOST:PORT" env:"UNDERPIN_ADDR"`
	URL        string `name:"url" help:"Address that people use, where a proxy stands in between; https:// makes the cookies secure." placeholder:"URL" env:"UNDERPIN_URL"`
	Cert       string `help:"Certificate, to serve https without a proxy." placeholder:"FILE" env:"UNDERPIN_CERT"`
	Key        string `help:"Private key of the certificate." placeholder:"FILE" env:"UNDERPIN_KEY"`
	TrustProxy bool   `help:"Take the client's address from X-Forwarded-For, as the proxy sets it." env:"UNDERPIN_TRUST_PROXY"`
	Metrics    string `help:"Address to serve metrics on, without an account: keep it inside." placeholder:"HOST:PORT" env:"UNDERPIN_METRICS"`
	OIDCIssuer string `name:"oidc-issuer" help:"Identity provider (OpenID Connect) that people may sign in through as well, whose accounts a manager has entered." placeholder:"URL" env:"UNDERPIN_OIDC_ISSUER"`
	OIDCClient string `name:"oidc-client" help:"Id that the identity provider gave this program." placeholder:"ID" env:"UNDERPIN_OIDC_CLIENT"`
	OIDCSecret string `name:"oidc-secret-file" help:"File with the secret that the identity provider gave this program." placeholder:"FILE" env:"UNDERPIN_OIDC_SECRET_FILE"`
	OIDCName   string `name:"oidc-name" help:"What the sign-in page calls the identity provider." placeholder:"NAME" env:"UNDERPIN_OIDC_NAME"`
	SealKey    string `help:"Private key with which the records are sealed each night." placeholder:"FILE" env:"UNDERPIN_SEAL_KEY"`
	Log        bool   `help:"Log each request to standard error; without it only what went wrong." env:"UNDERPIN_LOG"`
}

func (c *serveCmd) Run(p *program) error {
	level := slog.LevelWarn
	if c.Log {
		level = slog.LevelInfo
	}
	log := slog.New(slog.NewJSONHandler(p.err, &slog.HandlerOptions{Level: level}))
	cfg := web.Config{Path: c.Fleet, Demo: c.Demo, Addr: c.Addr, URL: c.URL, Cert: c.Cert, Key: c.Key, TrustProxy: c.TrustProxy, MetricsAddr: c.Metrics, Out: p.out, Log: log}
	if err := c.check(); err != nil {
		return err
	}
	if c.Metrics != "" {
		cfg.Metrics = web.NewMetrics()
	}
	ctx, stop := interruptible()
	defer stop()
	var err error
	switch {
	case c.given():
		return c.register(ctx, p, cfg)
	case c.Demo:
		cfg.Path = "demo.toml"
		var data []byte
		if data, err = examples.Files.ReadFile("demo.toml"); err == nil {
			cfg.Fleet, err = exchange.ParseFleet("demo.toml", data)
		}
	case c.Fleet != "":
		cfg.Fleet, err = exchange.ReadFleet(c.Fleet)
	default:
		return &usageError{"serve needs --data DIR, --database URL, --fleet FILE or --demo"}
	}
	if err != nil {
		return err
	}
	return c.serve(ctx, cfg)
}

func (c *serveCmd) check() error {
	if c.URL != "" {
		u, err := url.Parse(c.URL)
		if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.Path != "" && u.Path != "/" {
			return &argError{"--url", fmt.Sprintf("%q", c.URL), "an address without a path, such as https://underpin.example"}
		}
	}
	if (c.Cert == "") != (c.Key == "") {
		return &usageError{"--cert and --key go together"}
	}
	if (c.OIDCIssuer == "") != (c.OIDCClient == "") || c.OIDCIssuer == "" && c.OIDCSecret+c.OIDCName != "" {
		return &usageError{"--oidc-issuer and --oidc-client go together, and what else begins with --oidc with them"}
	}
	if c.OIDCIssuer != "" {
		u, err := url.Parse(c.OIDCIssuer)
		local := err == nil && (u.Hostname() == "localhost" || u.Hostname() == "127.0.0.1" || u.Hostname() == "::1")
		if err != nil || u.Host == "" || u.Scheme != "https" && !(u.Scheme == "http" && local) {
			return &argError{"--oidc-issuer", fmt.Sprintf("%q", c.OIDCIssuer), "the https address of an identity provider, as it names itself"}
		}
		if !c.given() {
			return &usageError{"--oidc-issuer needs a register: --data DIR or --database URL"}
		}
	}
	return nil
}

// register serves the pages over a register, and does its nightly work.
func (c *serveCmd) register(ctx context.Context, p *program, cfg web.Config) error {
	var key ed25519.PrivateKey
	if c.SealKey != "" {
		var err error
		if key, err = readSealKey(c.SealKey); err != nil {
			return err
		}
	}
	provider, err := c.provider()
	if err != nil {
		return err
	}
	cfg.OIDC = provider
	r, st, err := c.open(ctx, cfg.Log)
	if err != nil {
		return err
	}
	cfg.Register, cfg.Path = r, "register"
	if cfg.First, err = r.FirstLink(ctx); err != nil {
		return errors.Join(err, st.Close())
	}
	ctx, stop := context.WithCancel(ctx)
	var nights sync.WaitGroup
	nights.Go(func() { r.RunNights(ctx, fleet.Night{Key: key, Log: cfg.Log}) })
	err = c.serve(ctx, cfg)
	stop()
	nights.Wait()
	return errors.Join(err, st.Close())
}

// provider is the identity provider that people may sign in through, or none.
func (c *serveCmd) provider() (*web.OIDC, error) {
	if c.OIDCIssuer == "" {
		return nil, nil
	}
	o := &web.OIDC{Issuer: c.OIDCIssuer, Client: c.OIDCClient, Name: c.OIDCName}
	if c.OIDCSecret != "" {
		text, err := os.ReadFile(c.OIDCSecret)
		if err != nil {
			return nil, err
		}
		if o.Secret = strings.TrimSpace(string(text)); o.Secret == "" {
			return nil, &argError{"--oidc-secret-file", c.OIDCSecret + ", which is empty", "the secret that the identity provider gave this program"}
		}
	}
	return o, nil
}

func (c *serveCmd) serve(ctx context.Context, cfg web.Config) error {
	err := web.Serve(ctx, cfg)
	var addr *web.AddrError
	if errors.As(err, &addr) {
		where := "--addr"
		if c.Metrics != "" && addr.Addr == c.Metrics {
			where = "--metrics"
		}
		return &addressError{where, addr}
	}
	return err
}

// An addressError says that the pages cannot be served where they were asked for.
type addressError struct {
	where string // the flag
	*web.AddrError
}
