package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"os/user"
	"runtime/debug"
	"syscall"

	"underpin/fleet"
	"underpin/store"
)

// where says which register a command works on. It is embedded in each command
// that needs one.
type where struct {
	Data     string `help:"Folder that keeps the register (SQLite)." placeholder:"DIR" env:"UNDERPIN_DATA" xor:"fleet"`
	Database string `help:"PostgreSQL database that keeps the register, for several copies of the program." placeholder:"URL" env:"UNDERPIN_DATABASE" xor:"fleet"`
}

func (w *where) given() bool { return w.Data != "" || w.Database != "" }

// open opens the register; the caller closes the store.
func (w *where) open(ctx context.Context, log *slog.Logger) (*fleet.Register, store.Store, error) {
	var st store.Store
	var err error
	switch {
	case w.Database != "":
		st, err = store.OpenPostgres(ctx, w.Database, store.Options{Log: log})
	case w.Data != "":
		st, err = store.OpenSQLite(ctx, w.Data, store.Options{Log: log})
	default:
		return nil, nil, &usageError{"which register: --data DIR or --database URL"}
	}
	if err != nil {
		return nil, nil, err
	}
	return fleet.New(st, fleet.World{Program: version()}), st, nil
}

// there opens a register that must exist already: what only reads or proves shall
// not make an empty one.
func (w *where) there(ctx context.Context) (*fleet.Register, store.Store, error) {
	if w.Data != "" && w.Database == "" {
		switch there, err := store.Holds(w.Data); {
		case err != nil:
			return nil, nil, err
		case !there:
			return nil, nil, &argError{"--data", w.Data + ", where no register is", "the folder of a register; underpin serve --data makes one"}
		}
	}
	return w.open(ctx, nil)
}

// operator is whoever has the machine in hand, by the name of their account there.
func operator(ctx context.Context) context.Context {
	name := "operator"
	if u, err := user.Current(); err == nil && u.Username != "" {
		name = u.Username + " (command line)"
	}
	return fleet.WithActor(ctx, fleet.Operator(name))
}

// interruptible ends when the program is told to.
func interruptible() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
}

// version is the program's version, as it stands in records and exports.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && (v == "" || v == "(devel)") {
			v = s.Value
		}
	}
	if v == "" || v == "(devel)" {
		return "unreleased"
	}
	return v
}

// withRegister runs one command on a register as the operator.
func (w *where) withRegister(fn func(ctx context.Context, r *fleet.Register) error) error {
	ctx, stop := interruptible()
	defer stop()
	r, st, err := w.there(ctx)
	if err != nil {
		return err
	}
	err = fn(operator(ctx), r)
	if closing := st.Close(); err == nil && closing != nil {
		err = fmt.Errorf("the register could not be closed: %w", closing)
	}
	return err
}
