package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"os/signal"
	"syscall"

	"underpin/examples"
	"underpin/exchange"
	"underpin/web"
)

type serveCmd struct {
	Demo  bool   `help:"Serve the invented demo fleet, to this machine only." xor:"fleet"`
	Fleet string `help:"Serve this fleet file." placeholder:"FILE" xor:"fleet" env:"UNDERPIN_FLEET"`
	Addr  string `help:"Address to serve on. Default: 127.0.0.1:8417, or the next free port." placeholder:"HOST:PORT" env:"UNDERPIN_ADDR"`
	Log   bool   `help:"Log each request to standard error." env:"UNDERPIN_LOG"`
}

func (c *serveCmd) Run(p *program) error {
	cfg := web.Config{Path: c.Fleet, Demo: c.Demo, Addr: c.Addr, Out: p.out}
	var err error
	switch {
	case c.Demo:
		cfg.Path = "demo.toml"
		var data []byte
		if data, err = examples.Files.ReadFile("demo.toml"); err == nil {
			cfg.Fleet, err = exchange.ParseFleet("demo.toml", data)
		}
	case c.Fleet != "":
		cfg.Fleet, err = exchange.ReadFleet(c.Fleet)
	default:
		return &usageError{"serve needs --demo or --fleet FILE"}
	}
	if err != nil {
		return err
	}
	if c.Log {
		cfg.Log = slog.New(slog.NewJSONHandler(p.err, nil))
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err = web.Serve(ctx, cfg)
	var addr *web.AddrError
	if errors.As(err, &addr) && c.Addr != "" {
		return &argError{"--addr", addr.Addr, addr.Why}
	}
	return err
}
